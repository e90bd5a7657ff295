"""`checklist debrief`, the sessions that it compares with, and the debrief on the screen."""

from datetime import timedelta
from pathlib import Path

import pytest

from checklist.cli import main
from checklist.protocol.library import load_table
from checklist.session import store
from checklist.session.earlier import MOST, earlier
from checklist.session.events import Outcome, Result
from checklist.session.opening import Preparation, begin
from checklist.session.recorder import Recorder
from checklist.session.session import OBSERVATION
from checklist.tui.note import NoteScreen
from tests.desk import Desk, Seat, StillTime, desk
from tests.helpers import PROTOCOL

__all__ = ["desk"]

WASHED = Result(entries=("whole",), outcome=Outcome.EXPECTED)


class Lab:
    """Records sessions into the store, a day apart."""

    def __init__(self, folder: Path) -> None:
        self.time = StillTime()
        self.folder = folder
        self.loaded = load_table(self._protocol(PROTOCOL, "hand"))

    def _protocol(self, text: str, name: str) -> Path:
        path = self.folder / f"{name}.toml"
        path.write_text(text, encoding="utf-8")
        return path

    def begun(self, **preparation: str) -> Recorder:
        self.time.wall += timedelta(days=1)
        usual = {"participant": "P-014", "examiner": "S-07"}
        return begin(self.loaded, Preparation(**(usual | preparation)), self.time.clocks)  # type: ignore[arg-type]

    def washed(self, seconds: int, **preparation: str) -> Path:
        """A finished session in which cleaning the hands took so long."""
        recorder = self.begun(**preparation)
        for _ in range(seconds):
            self.time.passes(1)
            recorder.tick()
        if preparation.get("mode") == OBSERVATION:
            recorder.mark("wash", "done")
        else:
            recorder.record("wash", WASHED)
        recorder.finish()
        recorder.leave()
        return recorder.path


@pytest.fixture
def lab(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Lab:
    monkeypatch.setenv("EXAM_CHECKLIST_HOME", str(tmp_path))
    return Lab(tmp_path)


class TestEarlier:
    def test_the_finished_sessions_before_this_one_are_read_newest_first(self, lab: Lab) -> None:
        paths = [lab.washed(seconds) for seconds in (10, 11, 12)]
        begun = lab.begun()
        begun.leave()
        own = store.load(lab.washed(20)).session
        lab.washed(30)

        assert [other.header.id for other in earlier(own)] == [path.stem for path in reversed(paths)]

    def test_a_file_that_cannot_be_read_is_passed_over(self, lab: Lab) -> None:
        good = lab.washed(10)
        broken = lab.washed(11)
        own = store.load(lab.washed(20)).session
        text = broken.read_text(encoding="utf-8")
        broken.write_text(text.replace('step = "wash"', 'step = "gone"'), encoding="utf-8")
        (broken.parent / "notes.toml").write_text("no session", encoding="utf-8")

        assert [other.header.id for other in earlier(own)] == [good.stem]

    def test_observations_and_examinations_do_not_mix(self, lab: Lab) -> None:
        observed = lab.washed(10, mode=OBSERVATION, observer="O-7")
        lab.washed(11)
        own = store.load(lab.washed(12, mode=OBSERVATION, observer="O-7")).session

        assert [other.header.id for other in earlier(own)] == [observed.stem]

    def test_no_more_than_the_latest_are_read(self, lab: Lab, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr("checklist.session.earlier.MOST", 2)
        _, *latest = [lab.washed(seconds) for seconds in (10, 11, 12)]
        own = store.load(lab.washed(20)).session

        assert [other.header.id for other in earlier(own)] == [path.stem for path in reversed(latest)]
        assert MOST == 50


class TestCommand:
    def test_the_latest_session_is_debriefed_beside_the_earlier_ones(
        self, lab: Lab, capsys: pytest.CaptureFixture[str]
    ) -> None:
        for seconds in (10, 12, 12, 14, 16):
            lab.washed(seconds)
        lab.washed(25)

        assert main(["debrief"]) == 0
        out = capsys.readouterr().out
        assert out.startswith("SIMULATED RECORD")
        assert "Hand: debrief." in out
        [row] = [line for line in out.splitlines() if line.startswith("  Clean hands")]
        assert row.split() == ["Clean", "hands", "0:25", "0:20", "0:12", "5", "slow"]

    def test_it_is_written_as_markdown_to_a_new_file_and_never_over_one(
        self, lab: Lab, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        path = lab.washed(10)
        target = tmp_path / "debrief.md"

        assert main(["debrief", path.stem, "--markdown", "--output", str(target)]) == 0
        assert "# Hand: debrief" in target.read_text(encoding="utf-8")
        assert main(["debrief", path.stem, "--output", str(target)]) == 1
        assert len(capsys.readouterr().err.splitlines()) == 1

    @pytest.mark.parametrize(
        ("old", "new"),
        [
            ('mode = "examination"', 'mode = "rehearsal"'),
            ("format = 1", "format = 9"),
            ("n = 2", "n = 7"),
            ('step = "wash"', 'step = "gone"'),
            ('technique = "hygiene"', 'technique = "juggle"'),
        ],
    )
    def test_a_session_that_cannot_be_debriefed_gets_one_line(
        self, lab: Lab, capsys: pytest.CaptureFixture[str], old: str, new: str
    ) -> None:
        path = lab.washed(10)
        text = path.read_text(encoding="utf-8")
        assert old in text
        path.write_text(text.replace(old, new), encoding="utf-8")

        assert main(["debrief", str(path)]) == 1
        shown = capsys.readouterr()
        assert shown.out == ""
        assert shown.err.startswith("checklist: ")
        assert len(shown.err.splitlines()) == 1

    def test_a_torn_session_is_debriefed_as_far_as_it_goes_and_says_so(
        self, lab: Lab, capsys: pytest.CaptureFixture[str]
    ) -> None:
        path = lab.washed(10)
        path.write_bytes(path.read_bytes()[:-20])

        assert main(["debrief", str(path)]) == 0
        shown = capsys.readouterr()
        assert "UNFINISHED" in shown.out
        assert "were passed over" in shown.err

    @pytest.mark.usefixtures("lab")
    def test_a_name_that_is_no_session_gets_one_line(self, capsys: pytest.CaptureFixture[str]) -> None:
        assert main(["debrief"]) == 1
        assert main(["debrief", "2026"]) == 1
        assert len(capsys.readouterr().err.splitlines()) == 2


def test_one_key_goes_from_note_to_times_to_debrief_and_back(desk: Desk) -> None:
    lab = Lab(desk.folder)
    lab.washed(10)
    path = lab.washed(20)

    async def scenario(seat: Seat) -> None:
        titles = []
        for _ in range(4):
            titles.append(seat.text("head").split(":")[0].strip())
            await seat.press("n")
        assert titles == ["Note", "Timeline", "Debrief", "Note"]
        await seat.press("n")
        assert "DONE AS PLANNED" in seat.text("body")

    desk.run(lambda _: NoteScreen(store.load(path).session, path), scenario)


def test_an_observation_has_times_and_debrief_and_no_note(desk: Desk) -> None:
    path = Lab(desk.folder).washed(20, mode=OBSERVATION, observer="O-7")

    async def scenario(seat: Seat) -> None:
        titles = []
        for _ in range(3):
            titles.append(seat.text("head").split(":")[0].strip())
            await seat.press("n")
        assert titles == ["Debrief", "Timeline", "Debrief"]

    desk.run(lambda _: NoteScreen(store.load(path).session, path), scenario)


def test_where_nothing_was_performed_there_are_times_alone(desk: Desk) -> None:
    path = Lab(desk.folder).washed(20)
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace('mode = "examination"', 'mode = "rehearsal"'), encoding="utf-8")

    async def scenario(seat: Seat) -> None:
        assert seat.text("head").strip().startswith("Timeline")
        await seat.press("n")
        assert seat.text("head").strip().startswith("Timeline")

    desk.run(lambda _: NoteScreen(store.load(path).session, path), scenario)


def test_the_debrief_is_saved_under_its_own_name(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    path = Lab(desk.folder).washed(20)
    monkeypatch.chdir(desk.folder)

    async def scenario(seat: Seat) -> None:
        await seat.press("n", "n", "s", "enter")

    desk.run(lambda _: NoteScreen(store.load(path).session, path), scenario)

    saved = desk.folder / f"{path.stem}-debrief.txt"
    assert "Hand: debrief." in saved.read_text(encoding="utf-8")
