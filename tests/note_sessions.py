"""Sessions for the tests of the documents, made from compact scripts.

Everything here is invented: the practice volunteer P-014, the examiner E-02, the skills lab they met in, and
the protocols.
"""

import tomllib
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Any

from checklist.protocol.model import (
    Audience,
    Finding,
    Protocol,
    Section,
    Step,
    Telling,
)
from checklist.protocol.reader import read_table
from checklist.session.events import (
    Amended,
    Event,
    Finished,
    Interrupted,
    Left,
    Moved,
    Outcome,
    Paused,
    Recorded,
    Remarked,
    Reopened,
    Result,
    Resumed,
    Retracted,
    Started,
    Told,
)
from checklist.session.session import Header, Session
from checklist.summary.document import Form
from checklist.summary.note import note

GOLDEN = Path(__file__).parent / "golden"
BEGIN = datetime(2026, 3, 2, 14, 5, tzinfo=timezone(timedelta(hours=1)))


def read_protocol(path: Path) -> Protocol:
    protocol, flaws = read_table(tomllib.loads(path.read_text(encoding="utf-8")))
    assert protocol is not None, [str(flaw) for flaw in flaws]
    return protocol


def same(*entries: str, **fields: Any) -> Result:
    """As expected, at all entries when none is named."""
    return Result(entries=entries, outcome=Outcome.EXPECTED, **fields)


def differs(*entries: str, **fields: Any) -> Result:
    return Result(entries=entries, outcome=Outcome.DIFFERS, **fields)


def unseen(*entries: str, detail: str = "") -> Result:
    return Result(entries=entries, outcome=Outcome.UNSEEN, detail=detail)


def not_done(*entries: str, reason: str, detail: str = "") -> Result:
    return Result(entries=entries, outcome=Outcome.NOT_EXAMINED, reason=reason, detail=detail)


class Script:
    """Appends events: each takes the seconds that it is given, and the clock stands still when it should."""

    def __init__(self, protocol: Protocol, *, begin: datetime = BEGIN, **header: Any) -> None:
        usual: dict[str, Any] = {"participant": "P-014", "examiner": "E-02", "age": "18 to 64"}
        self.header = Header(id="invented", created=begin, app_version="0", **(usual | header))
        self.protocol = protocol
        self.at = begin
        self.clock = 0.0
        self.events: list[Event] = []

    @property
    def session(self) -> Session:
        return Session(header=self.header, protocol=self.protocol, table={}).with_events(self.events)

    def add(self, kind: type[Event], seconds: float = 0, *, away: float = 0, **fields: Any) -> int:
        """Append an event after `seconds` of examination and `away` seconds of none; return its number."""
        self.at += timedelta(seconds=seconds + away)
        self.clock += seconds
        self.events.append(kind(n=len(self.events) + 1, at=self.at, clock=self.clock, **fields))
        return len(self.events)

    def start(self) -> "Script":
        self.add(Started, step=self.protocol.steps[0].id)
        return self

    def record(self, step: str, *results: Result, seconds: float = 0) -> int:
        return self.add(Recorded, seconds, step=step, results=self._filled(step, results))

    def _filled(self, step: str, results: tuple[Result, ...]) -> tuple[Result, ...]:
        """Give a result without entries all entries of its step."""
        keys = tuple(entry.key for entry in self.protocol.step_of[step].entries)
        return tuple(replace(result, entries=result.entries or keys) for result in results)

    def walk(
        self,
        first: str = "",
        last: str = "",
        *,
        but: Mapping[str, tuple[Result, ...]] | None = None,
        pace: float = 1.0,
    ) -> "Script":
        """Go from `first` to `last` in order and record each step as expected, or as `but` says.

        A step takes its planned seconds times `pace`; conditional steps are passed over unless in `but`.
        """
        but = but or {}
        ids = [step.id for step in self.protocol]
        start = ids.index(first) if first else 0
        end = ids.index(last) if last else len(ids) - 1
        for step_id in ids[start : end + 1]:
            step = self.protocol.step_of[step_id]
            if step.only_if and step_id not in but:
                continue
            self.add(Moved, step=step_id)
            results = but.get(step_id, (same(),))
            if results:
                self.record(step_id, *results, seconds=step.seconds * pace)
        return self

    def remark(self, step: str, text: str) -> int:
        return self.add(Remarked, step=step, text=text)

    def told(self, step: str, entries: tuple[str, ...], findings: tuple[str, ...], whom: str) -> int:
        when = f"{self.at:%H:%M}"
        return self.add(Told, step=step, entries=entries, findings=findings, whom=whom, when=when)

    def undo(self, event: int) -> int:
        return self.add(Retracted, event=event)

    def pause(self, seconds: float) -> None:
        self.add(Paused)
        self.add(Resumed, away=seconds)

    def leave(self, seconds: float) -> None:
        self.add(Left)
        self.add(Reopened, away=seconds)

    def crash(self, seconds: float) -> None:
        self.add(Reopened, away=seconds)

    def stall(self, seconds: float) -> None:
        self.add(Interrupted, away=seconds, away_seconds=seconds)

    def finish(self) -> "Script":
        self.add(Finished)
        return self

    def amend(self, step: str, *results: Result, away: float, who: str = "E-02", why: str) -> int:
        return self.add(Amended, away=away, step=step, results=self._filled(step, results), who=who, why=why)


EARS_AND_NECK = read_protocol(GOLDEN / "ears-and-neck.toml")


def wholly_expected() -> Session:
    return Script(EARS_AND_NECK, fictional=True).start().walk().finish().session


def two_differences_and_a_declined_step() -> Session:
    script = Script(EARS_AND_NECK).start()
    red = differs("right", findings=("red",), detail="upper half, no discharge")
    script.walk(last="eardrum", but={"eardrum": (red, same("left"))})
    script.told("eardrum", ("right",), ("red",), "nurse in charge")
    script.walk("whisper", "sharp-touch", but={"sharp-touch": (not_done(reason="declined"),)})
    script.remark("sharp-touch", "Asked twice; prefers not to be touched with the stick.")
    small = differs("left", findings=("small",), detail="1 cm, soft, moves")
    script.walk("sinuses", but={"nodes-preauricular": (small, same("right"))})
    return script.finish().session


def interrupted_and_resumed() -> Session:
    """Paused, left overnight, stalled and crashed; one record taken back, two written after the end."""
    script = Script(EARS_AND_NECK).start().walk(last="ask-hearing")
    script.pause(120)
    script.walk("auricle", "auricle")
    script.undo(script.record("auricle", differs("left", detail="scratched")))
    script.leave(20 * 3600)
    script.walk(
        "tragus", "eardrum", but={"eardrum": (same("right"), unseen("left", detail="wax in the way"))}
    )
    script.stall(45)
    script.crash(300)
    script.walk("whisper", but={"sinuses": ()}, pace=1.0).finish()
    script.amend("sinuses", same(), away=600, why="forgot to press the key")
    off = differs(detail="slightly to the right")
    script.amend("trachea", off, away=60, who="E-03", why="wrong key")
    return script.session


def mostly_not_reached() -> Session:
    script = Script(EARS_AND_NECK).start()
    one = differs(findings=("one",))
    script.walk(last="consent", but={"identity": (one,), "consent": ()})
    pain = differs(findings=("pain",), detail='"stabbing" since Monday')
    script.walk("ask-pain", "ask-pain", but={"ask-pain": (pain,)})
    script.walk("auricle", "auricle", but={"auricle": (same("right"),)})
    some = same("right/forehead", "left/forehead", "right/cheek")
    script.walk("light-touch", "light-touch", but={"light-touch": (some,)})
    script.add(Left)
    return script.session


def step(step_id: str, *, findings: Mapping[str, str] | None = None, **fields: Any) -> Step:
    """A step to look at, as short as a test needs it; findings are id → chart wording, only noted."""
    made = tuple(Finding(id=key, label=chart, chart=chart) for key, chart in (findings or {}).items())
    usual = {"title": step_id, "technique": "inspect", "do": "Look.", "expect": "As it is.", "findings": made}
    return Step(id=step_id, **(usual | fields))


def protocol_of(*steps: Step, **fields: Any) -> Protocol:
    """A protocol of one region."""
    usual: dict[str, Any] = {
        "id": "invented",
        "title": "Invented",
        "version": "1",
        "reviewed": "2026-01-31",
        "target_minutes": 5,
        "scope": "For tests.",
        "audience": Audience(population="nobody"),
        "telling": Telling(report="nurse in charge", urgent="physician on call"),
        "sources": ("invented",),
        "sections": (Section(id="region", title="Region", steps=steps),),
    }
    return Protocol(**(usual | fields))


def block(script: Script, heading: str) -> list[str]:
    """The sentences under a heading; under a group of regions, each region as one text."""
    blocks = note(script.session).blocks
    index = next((i for i, each in enumerate(blocks) if each.heading == heading), None)
    if index is None:
        return []
    if blocks[index].form is not Form.GROUP:
        return [sentence.text for sentence in blocks[index].sentences]
    regions = []
    for each in blocks[index + 1 :]:
        if each.form is not Form.REGION:
            break
        regions.append(f"{each.heading}: {' '.join(sentence.text for sentence in each.sentences)}")
    return regions


PUPIL = Step(
    id="pupil",
    title="Look at the pupils",
    technique="inspect",
    sides=True,
    may_be_unseen=True,
    do="Look.",
    expect="Round",
    subject="pupil",
    subjects="pupils",
    chart="round",
    findings=(
        Finding(id="oval", label="Oval", chart="oval"),
        Finding(id="slow", label="Slow", chart="slow to light", tell="report"),
        Finding(id="fixed", label="Fixed", chart="fixed", tell="urgent", to="rapid response team"),
    ),
)
LENS = replace(PUPIL, id="lens", title="Look at the lenses", subject="lens", subjects="lenses", chart="clear")
NECK = Step(
    id="neck",
    title="Bend the neck",
    technique="test",
    do="Bend.",
    expect="Free",
    subject="neck",
    chart="bending freely",
    findings=(Finding(id="stiff", label="Stiff", chart="stiff", tell="urgent"),),
)
ASK = Step(
    id="ask",
    title="Ask about headache",
    technique="ask",
    do="Ask.",
    expect="None",
    subject="patient",
    chart="reports no headache",
    findings=(Finding(id="ache", label="Headache", chart="reports headache", tell="report"),),
)
WASH = Step(id="wash", title="Clean hands", technique="hygiene", do="Rub.")
AGREE = Step(
    id="agree",
    title="Ask consent",
    technique="tell",
    do="Ask.",
    subject="consent",
    chart="given",
    findings=(Finding(id="part", label="In part", chart="given in part"),),
)
EXTRA = step("extra", title="Extra look", subject="lid", chart="smooth", only_if="the lid itches")
PROTOCOL = protocol_of(WASH, AGREE, ASK, PUPIL, NECK, EXTRA)
