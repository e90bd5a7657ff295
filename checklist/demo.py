"""An invented, finished examination, recorded through the same code as a real one. Nobody was examined.

The scene: a volunteer at a practice evening, code P-014, whose left ear canal is blocked by wax.
"""

import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

from checklist.protocol.library import Loaded, load_table
from checklist.protocol.model import Step
from checklist.reasoning.alerts import open_alerts
from checklist.session.events import Outcome, Result
from checklist.session.opening import Preparation, begin
from checklist.session.recorder import Clocks, Recorder
from checklist.session.session import Session

PROTOCOL = "head-and-neck"
_BEGINS = datetime(2026, 3, 4, 18, 2, 10, tzinfo=UTC)
_READ_EVERY_SECONDS = 5.0
_PAUSE_SECONDS = 95.0


def _differs(*entries: str, findings: tuple[str, ...], detail: str = "", reading: str = "") -> Result:
    return Result(entries=entries, outcome=Outcome.DIFFERS, findings=findings, detail=detail, reading=reading)


def _measured(*entries: str, reading: str) -> Result:
    return Result(entries=entries, outcome=Outcome.EXPECTED, reading=reading)


def _unseen(*entries: str, because: str) -> Result:
    return Result(entries=entries, outcome=Outcome.UNSEEN, detail=because)


_WAX = _unseen("left", because="wax fills the canal")
_DIM = _unseen("left", because="pupil small in room light")
DIFFERENT: dict[str, tuple[Result, ...]] = {
    "ask-vision": (_differs("whole", findings=("glasses",), detail="reading glasses for two years"),),
    "ask-lens-status": (_differs("whole", findings=("reading-glasses",)),),
    "ask-hearing": (_differs("whole", findings=("gradual",), detail="left ear 'full' for three weeks"),),
    "palpate-jaw-joint": (_differs("right", findings=("click",)),),
    "measure-jaw-opening": (_measured("whole", reading="46 mm"),),
    "measure-distance-acuity": (
        _measured("right", reading="20/20 sc"),
        _measured("left", reading="20/25-1 sc"),
    ),
    "measure-near-acuity": (_differs("right", "left", findings=("arm-stretched",), reading="N6 at 60 cm"),),
    "measure-pupil-size": (_measured("right", "left", reading="3.5 mm"),),
    "inspect-maculas": (_DIM,),
    "inspect-ear-canals": (_differs("left", findings=("wax-full",)),),
    "inspect-eardrum-colour": (_WAX,),
    "inspect-eardrum-position": (_WAX,),
    "inspect-eardrum-surface": (_WAX,),
    "inspect-eardrum-light-reflex": (_WAX,),
    "test-whispered-voice": (
        _measured("right", reading="3/3"),
        _differs("left", findings=("fails",), reading="1/3 1/3"),
    ),
    "inspect-tonsils": (_measured("right", "left", reading="1+"),),
    "test-weber": (_differs("whole", findings=("left",)),),
    "test-rinne": (_differs("left", findings=("bone-longer",)),),
}
"""What is not as expected, and what was measured; every other entry is as expected."""
DECLINED = "test-smell"
REMARK = ("test-whispered-voice", "Volunteer asked for the right ear to be tested first.")
PAUSED_BEFORE = "inspect-auricles"


class _Scene:
    """A time of its own: nothing passes but what is told."""

    def __init__(self) -> None:
        self.seconds = 0.0

    def counter(self) -> float:
        return self.seconds

    def now(self) -> datetime:
        return _BEGINS + timedelta(seconds=self.seconds)

    def pass_time(self, recorder: Recorder, seconds: float) -> None:
        while seconds > 0:
            step = min(seconds, _READ_EVERY_SECONDS)
            self.seconds += step
            seconds -= step
            recorder.tick()


def example(folder: Path | None = None) -> Session:
    """Record the example and return it; its file stays in `folder`, or goes when there is none."""
    if folder is None:
        with tempfile.TemporaryDirectory(prefix="exam-checklist-example-") as passing:
            return example(Path(passing))
    scene = _Scene()
    recorder = begin(
        _bundled(),
        Preparation(participant="P-014", examiner="S-07", age="40 to 64", fictional=True),
        Clocks(counter=scene.counter, now=scene.now),
        folder,
    )
    _examine(recorder, scene)
    recorder.finish()
    session = recorder.session
    recorder.leave()
    return session


def _bundled() -> Loaded:
    """Return the bundled protocol, whatever the user put in its place."""
    from checklist.folders import bundled_protocols

    return load_table(bundled_protocols() / f"{PROTOCOL}.toml")


def _examine(recorder: Recorder, scene: _Scene) -> None:
    steps = [step for step in recorder.session.protocol if not step.only_if]
    for index, step in enumerate(steps):
        if step.id == PAUSED_BEFORE:
            recorder.pause()
            scene.pass_time(recorder, _PAUSE_SECONDS)
            recorder.go_on()
        recorder.go(step.id)
        # Somewhat faster or slower than planned, the same every time.
        scene.pass_time(recorder, round(step.seconds * (0.75 + index * 7 % 5 / 10), 1))
        recorder.record(step.id, *_results(step))
        if step.id == REMARK[0]:
            recorder.remark(*REMARK)
    for alert in open_alerts(recorder.session):
        recorder.tell(alert.step.id, alert.untold, alert.finding.id, "instructor")


def _results(step: Step) -> list[Result]:
    if step.id == DECLINED:
        entries = tuple(entry.key for entry in step.entries)
        return [Result(entries=entries, outcome=Outcome.NOT_EXAMINED, reason="declined")]
    different = list(DIFFERENT.get(step.id, ()))
    taken = {entry for result in different for entry in result.entries}
    rest = tuple(entry.key for entry in step.entries if entry.key not in taken)
    return [*different, *([Result(entries=rest, outcome=Outcome.EXPECTED)] if rest else [])]
