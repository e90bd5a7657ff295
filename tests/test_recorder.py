"""A session being recorded: nothing stands that is not written, and no interruption is lost."""

from collections.abc import Sequence
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from checklist.session import store
from checklist.session.events import Amended, Event, Interrupted, Outcome, Retracted, Told
from checklist.session.journal import Journal, JournalError
from checklist.session.opening import Preparation, begin, resume
from checklist.session.recorder import Recorder
from checklist.session.state import IllegalEventError, Stage
from tests.desk import Desk, StillTime, desk
from tests.helpers import differs, result

__all__ = ["desk"]


@pytest.fixture
def recorder(desk: Desk) -> Recorder:
    return begin(desk.loaded(), Preparation(participant="P-014", examiner="E-2"), desk.time.clocks)


class FullDisk:
    """A disk that takes nothing while it is full."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.is_full = True
        self.attempts = 0
        real = Journal.write

        def write(journal: Journal, events: Sequence[Event]) -> None:
            self.attempts += 1
            if self.is_full:
                raise JournalError(journal.path, "cannot be written: no space")
            real(journal, events)

        monkeypatch.setattr(Journal, "write", write)


def kinds(recorder: Recorder) -> list[str]:
    """What the file holds."""
    return [event.kind for event in store.load(recorder.path).session.events]


def ticking(recorder: Recorder, time: StillTime, seconds: int) -> None:
    for _ in range(seconds):
        time.passes(1)
        recorder.tick()


# The clock and its interruptions


def test_to_ask_for_the_seconds_writes_nothing_and_changes_nothing(
    desk: Desk, recorder: Recorder, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Neither in a silence, on a disk that takes nothing."""
    disk = FullDisk(monkeypatch)
    desk.time.passes(4)
    found = [recorder.seconds, recorder.seconds]
    desk.time.passes(60)
    found += [recorder.seconds, recorder.seconds]

    assert found == [4.0, 4.0, 0.0, 0.0]
    assert disk.attempts == 0
    assert len(recorder.session.events) == 1


def test_a_silence_is_an_interruption_once_a_tick_notices_it(desk: Desk, recorder: Recorder) -> None:
    ticking(recorder, desk.time, 3)
    desk.time.passes(60)
    recorder.tick()
    ticking(recorder, desk.time, 2)
    event = recorder.session.events[-1]

    assert recorder.seconds == 5.0
    assert kinds(recorder) == ["started", "interrupted"]
    assert isinstance(event, Interrupted) and (event.away_seconds, event.clock) == (60.0, 3.0)


def test_an_interruption_whose_write_fails_is_written_with_the_next_thing_recorded(
    desk: Desk, recorder: Recorder, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It keeps the time at which it was noticed."""
    disk = FullDisk(monkeypatch)
    ticking(recorder, desk.time, 3)
    desk.time.passes(600)
    noticed = desk.time.wall
    with pytest.raises(JournalError):
        recorder.tick()
    ticking(recorder, desk.time, 5)
    with pytest.raises(JournalError):
        recorder.record("wash", result())
    disk.is_full = False
    recorder.record("wash", result())
    recorder.record("look", result("left"))
    (gap,) = store.load(recorder.path).session.state.interruptions

    assert kinds(recorder) == ["started", "interrupted", "recorded", "recorded"]
    assert (gap.start, gap.end) == (noticed - timedelta(seconds=600), noticed)
    assert [event.clock for event in recorder.session.events] == [0.0, 3.0, 8.0, 8.0]


def test_a_failed_write_of_an_interruption_is_not_tried_again_at_every_tick(
    desk: Desk, recorder: Recorder, monkeypatch: pytest.MonkeyPatch
) -> None:
    """So that what is wrong does not cover every other message."""
    disk = FullDisk(monkeypatch)
    desk.time.passes(600)
    with pytest.raises(JournalError):
        recorder.tick()
    ticking(recorder, desk.time, 5)
    assert disk.attempts == 1


def test_two_interruptions_that_wait_are_both_written(
    desk: Desk, recorder: Recorder, monkeypatch: pytest.MonkeyPatch
) -> None:
    disk = FullDisk(monkeypatch)
    for seconds in (100, 200):
        desk.time.passes(seconds)
        with pytest.raises(JournalError):
            recorder.tick()
    disk.is_full = False
    recorder.pause()
    away = [event.away_seconds for event in recorder.session.events if isinstance(event, Interrupted)]

    assert away == [100.0, 200.0]
    assert kinds(recorder)[-1] == "paused"


@pytest.mark.parametrize("away", [3, 3600])
def test_a_program_that_is_stopped_counts_nothing_until_it_goes_on(
    desk: Desk, recorder: Recorder, away: int
) -> None:
    desk.time.passes(5)
    recorder.stand_still()
    before = kinds(recorder)
    desk.time.passes(away)
    shown = recorder.seconds
    recorder.tick()
    ticking(recorder, desk.time, 2)
    (event,) = [event for event in recorder.session.events if isinstance(event, Interrupted)]

    assert before == ["started"]
    assert (shown, recorder.seconds) == (5.0, 7.0)
    assert (event.away_seconds, event.clock) == (float(away), 5.0)


def test_a_program_that_is_stopped_and_killed_keeps_its_second(desk: Desk, recorder: Recorder) -> None:
    desk.time.passes(5)
    recorder.stand_still()
    noted = recorder.path.with_name(recorder.path.name + ".lock").read_text()
    assert noted.splitlines()[1].split() == ["clock", "5.000"]


def test_a_pause_that_is_stopped_stays_a_pause(desk: Desk, recorder: Recorder) -> None:
    recorder.pause()
    recorder.stand_still()
    desk.time.passes(100)
    recorder.tick()
    recorder.go_on()
    desk.time.passes(2)
    assert recorder.seconds == 2.0
    assert kinds(recorder) == ["started", "paused", "resumed"]


def test_all_is_on_disk_before_the_program_is_stopped(
    recorder: Recorder, monkeypatch: pytest.MonkeyPatch
) -> None:
    drained: list[bool] = []
    real = Journal.drain
    monkeypatch.setattr(Journal, "drain", lambda self, timeout: drained.append(real(self, timeout)))
    recorder.record("wash", result())
    recorder.stand_still()
    assert drained == [True]


# Leaving


def test_a_clean_end_leaves_no_lock(desk: Desk, recorder: Recorder) -> None:
    recorder.leave()
    assert kinds(recorder) == ["started", "left"]
    assert [path.name for path in recorder.path.parent.iterdir()] == [recorder.path.name]


def test_leaving_that_cannot_be_written_says_so_and_loses_no_second(
    desk: Desk, recorder: Recorder, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The time away begins where the clock stood."""
    disk = FullDisk(monkeypatch)
    ticking(recorder, desk.time, 30)
    desk.time.passes(5)
    left_at = desk.time.wall
    with pytest.raises(JournalError, match="no space"):
        recorder.leave()
    disk.is_full = False
    desk.time.passes(100)
    again = resume(recorder.path, desk.time.clocks)
    (gap,) = again.session.state.interruptions
    again.leave()

    assert again.seconds == 35.0
    assert (gap.start, gap.end) == (left_at, left_at + timedelta(seconds=100))


def test_leaving_a_disk_that_refuses_says_so(recorder: Recorder, monkeypatch: pytest.MonkeyPatch) -> None:
    from checklist.session import durability

    def refuse(_: int) -> None:
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(durability, "make_durable", refuse)
    with pytest.raises(
        JournalError, match="closed, but what was recorded last may be lost: the disk refused"
    ):
        recorder.leave()
    assert kinds(recorder) == ["started", "left"]


# After the end


@pytest.fixture
def finished(desk: Desk, recorder: Recorder) -> Recorder:
    """A finished session, opened again."""
    recorder.record("look", differs("left", findings=("wound",)))
    recorder.finish()
    recorder.leave()
    return resume(recorder.path, desk.time.clocks)


def test_a_wrong_answer_after_the_end_can_be_taken_back(finished: Recorder) -> None:
    finished.tell("look", ("left",), "wound", "charge nurse", "14:05")
    taken_back = finished.undo()
    nothing_more = finished.undo()
    finished.leave()
    read = store.load(finished.path).session

    assert isinstance(taken_back, Told)
    assert nothing_more is None
    assert isinstance(read.events[-1], Retracted)
    assert read.state.told == ()
    assert read.state.stage is Stage.FINISHED


def test_an_amendment_says_who_and_why(desk: Desk, finished: Recorder) -> None:
    desk.time.passes(3600)
    finished.amend("look", [result("left"), result("right")], " E-2 ", "misread\nthe side")
    finished.leave()
    read = store.load(finished.path).session
    amended = read.events[-1]

    assert isinstance(amended, Amended) and (amended.who, amended.why) == ("E-2", "misread the side")
    assert {entry: record.result.outcome for entry, record in read.state.records["look"].items()} == {
        "left": Outcome.EXPECTED,
        "right": Outcome.EXPECTED,
    }
    assert amended.clock == 0.0


@pytest.mark.parametrize(("who", "why"), [("", "late"), ("E-2", ""), (" ", "late"), ("E-2", "\n")])
def test_an_amendment_without_who_or_why_is_refused(finished: Recorder, who: str, why: str) -> None:
    before = kinds(finished)
    with pytest.raises(IllegalEventError, match="an amendment says who makes it, and why"):
        finished.amend("look", [result("left")], who, why)
    assert kinds(finished) == before


def test_an_examination_under_way_is_not_amended(recorder: Recorder) -> None:
    with pytest.raises(IllegalEventError, match="cannot be 'amended' while the session is under way"):
        recorder.amend("look", [result("left")], "E-2", "late")


# Opening


def test_a_session_that_cannot_be_started_is_let_go(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    disk = FullDisk(monkeypatch)
    with pytest.raises(JournalError, match="no space"):
        begin(desk.loaded(), Preparation(participant="P", examiner="E"), desk.time.clocks)
    disk.is_full = False
    (path,) = (desk.folder / "sessions").iterdir()
    again = resume(path, desk.time.clocks)
    again.leave()

    assert kinds(again) == ["started", "left"]


def test_a_session_that_cannot_be_taken_up_keeps_its_second(
    desk: Desk, recorder: Recorder, monkeypatch: pytest.MonkeyPatch
) -> None:
    disk = FullDisk(monkeypatch)
    desk.time.passes(9)
    with pytest.raises(JournalError):
        recorder.leave()
    with pytest.raises(JournalError):
        resume(recorder.path, desk.time.clocks)
    disk.is_full = False
    again = resume(recorder.path, desk.time.clocks)
    again.leave()

    assert again.seconds == 9.0


def test_codes_are_kept_on_one_line(desk: Desk) -> None:
    preparation = Preparation(participant=" P-014\n", examiner="E\x1b-2", age="18  to 64")
    recorder = begin(desk.loaded(), preparation, desk.time.clocks)
    recorder.leave()
    for header in (recorder.session.header, store.load(recorder.path).session.header):
        assert (header.participant, header.examiner, header.age) == ("P-014", "E\ufffd-2", "18 to 64")


def test_a_torn_end_is_said_on_opening(desk: Desk, recorder: Recorder) -> None:
    recorder.leave()
    with recorder.path.open("ab") as file:
        file.write(b"\n[[event]]\nn = 3")
    torn = resume(recorder.path, desk.time.clocks)
    torn.leave()
    whole = resume(recorder.path, desk.time.clocks)
    whole.leave()

    assert recorder.notice == whole.notice == ""
    assert torn.notice == (
        f"The file ended in a torn event (16 bytes), which is kept as {recorder.path.name}.torn-1;"
        " everything before it stands."
    )


def modes(*paths: Path) -> list[int]:
    return [path.stat().st_mode & 0o777 for path in paths]


def test_a_session_that_others_could_read_is_private_once_it_is_reopened(
    desk: Desk, recorder: Recorder
) -> None:
    recorder.leave()
    folder = recorder.path.parent
    recorder.path.chmod(0o644)
    folder.chmod(0o755)
    resume(recorder.path, desk.time.clocks).leave()
    assert modes(recorder.path, folder) == [0o600, 0o700]


def test_a_folder_of_the_users_own_is_left_as_it_is(desk: Desk, recorder: Recorder) -> None:
    recorder.leave()
    folder = desk.folder / "mine"
    folder.mkdir()
    folder.chmod(0o755)
    moved: Any = recorder.path.rename(folder / recorder.path.name)
    moved.chmod(0o644)
    resume(moved, desk.time.clocks).leave()
    assert modes(moved, folder) == [0o600, 0o755]
