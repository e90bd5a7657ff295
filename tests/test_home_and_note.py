"""Home, preparation and note, by keys: a first-time user gets from one to the other."""

from pathlib import Path

import pytest

from checklist.session import store
from checklist.session.opening import Preparation, begin
from checklist.session.state import Stage
from checklist.tui.app import ChecklistApp
from checklist.tui.home import HomeScreen
from checklist.tui.prepare import PrepareScreen
from checklist.tui.screen import DrawnScreen
from tests.desk import LARGE, Desk, Seat, desk
from tests.helpers import PROTOCOL

__all__ = ["desk"]


def home(_: ChecklistApp) -> DrawnScreen:
    return HomeScreen()


async def prepared(seat: Seat) -> None:
    """Go from home to the first step of the own protocol `hand`, with everything at hand."""
    await seat.press("enter")
    await seat.type("P-014")
    await seat.type("S-07")
    await seat.press("a", "b")


def only_session(desk: Desk) -> store.Loaded:
    (summary,) = store.summaries()
    return store.load(summary.path)


def test_from_home_to_the_note_with_nothing_read_before(desk: Desk) -> None:
    desk.loaded()

    async def scenario(seat: Seat) -> None:
        assert "Hand" in seat.text("body")
        await prepared(seat)
        assert seat.place == "step"
        await seat.press("space", "space", "space", "w", "y")
        assert seat.place == "note"
        assert "SIMULATED RECORD" in seat.text("body")
        await seat.press("escape")
        assert "Finished" in seat.text("body")

    desk.run(home, scenario)

    session = only_session(desk).session
    assert session.state.stage is Stage.FINISHED
    assert (session.header.participant, session.header.examiner) == ("P-014", "S-07")
    assert session.header.setting == "practice"
    assert session.header.missing == ()


def test_what_is_not_ticked_is_missing_after_one_warning(desk: Desk) -> None:
    desk.loaded()

    async def scenario(seat: Seat) -> None:
        await seat.press("enter")
        await seat.type("P-014")
        await seat.type("S-07")
        await seat.press("b")
        assert "b again begins, but: nothing is ticked" in seat.text("speak")
        assert seat.place == "prepare"
        await seat.press("b")
        assert seat.place == "step"

    desk.run(home, scenario)

    assert only_session(desk).session.header.missing == ("light",)


def test_a_folder_that_cannot_be_written_is_said_before_the_clock_starts(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk.loaded()
    (desk.folder / "sessions").write_text("in the way", encoding="utf-8")

    async def scenario(seat: Seat) -> None:
        await prepared(seat)
        assert seat.place == "prepare"
        assert "cannot be created: File exists" in seat.text("speak")

    desk.run(home, scenario, LARGE)


def test_the_clock_does_not_start_without_codes(desk: Desk) -> None:
    desk.loaded()

    async def scenario(seat: Seat) -> None:
        await seat.press("enter")
        await seat.pilot.press("escape")
        await seat.press("b")
        assert "Participant code is needed" in seat.text("speak")

    desk.run(home, scenario)

    assert store.summaries() == []


def test_a_code_that_looks_like_a_name_is_asked_about(desk: Desk) -> None:
    desk.loaded()

    async def scenario(seat: Seat) -> None:
        await seat.press("enter")
        await seat.type("Maria Example")
        assert "looks like a name" in seat.text("speak")
        assert seat.place == "typing", "the line stays open"
        await seat.pilot.press("ctrl+u")
        await seat.type("P-1")
        await seat.type("S-07")
        await seat.press("a", "b")

    desk.run(home, scenario)

    assert only_session(desk).session.header.participant == "P-1"


def test_a_code_that_looks_like_a_name_is_kept_when_it_is_taken_twice(desk: Desk) -> None:
    desk.loaded()

    async def scenario(seat: Seat) -> None:
        await seat.press("enter")
        await seat.type("Maria Example")
        await seat.press("enter")
        await seat.type("S-07")
        await seat.press("a", "b", "b")

    desk.run(home, scenario)

    assert only_session(desk).session.header.participant == "Maria Example"


def test_what_was_answered_is_still_there_after_going_back(desk: Desk) -> None:
    desk.loaded()

    async def scenario(seat: Seat) -> None:
        await seat.press("enter")
        await seat.type("P-014")
        await seat.press("escape", "escape", "enter")
        assert "P-014" in seat.text("body")

    desk.run(home, scenario)


def test_all_cautions_can_be_read_before_the_clock_starts(desk: Desk) -> None:
    cautions = "".join(f'"Caution number {number}.", ' for number in range(9))
    loaded = desk.loaded(PROTOCOL.replace("scope =", f"cautions = [{cautions}]\nscope ="))

    async def scenario(seat: Seat) -> None:
        await seat.pilot.press("escape")
        await seat.press("c")
        assert "Caution number 0." in seat.text("body")
        await seat.press("pagedown", "pagedown", "pagedown")
        assert "Caution number 8." in seat.text("body")
        await seat.press("c")
        assert "Participant code" in seat.text("body")

    desk.run(lambda _: PrepareScreen(loaded), scenario)


def test_care_is_a_choice_and_never_the_default(desk: Desk) -> None:
    loaded = desk.loaded()

    async def scenario(seat: Seat) -> None:
        await seat.type("P-014")
        await seat.type("S-07")
        assert "practice" in seat.text("body")
        await seat.press("enter")
        assert "Care makes a patient's record" in seat.text("speak")
        await seat.press("enter", "a", "b")
        assert "CARE" in seat.text("head")

    desk.run(lambda _: PrepareScreen(loaded), scenario)

    assert only_session(desk).session.header.setting == "care"


def test_going_back_from_the_preparation_begins_nothing(desk: Desk) -> None:
    desk.loaded()

    async def scenario(seat: Seat) -> None:
        await seat.press("enter")
        await seat.pilot.press("escape")
        await seat.press("escape")
        assert seat.place == "home"

    desk.run(home, scenario)

    assert store.summaries() == []


def test_a_note_is_saved_to_a_new_file_only(desk: Desk, tmp_path: Path) -> None:
    desk.loaded()
    target = tmp_path / "note.txt"

    async def scenario(seat: Seat) -> None:
        await prepared(seat)
        await seat.press("space", "w", "y")
        for said in ("Saved", "exists already"):
            await seat.press("s")
            await seat.pilot.press("ctrl+u")
            await seat.type(str(target))
            assert said in seat.text("speak")

    desk.run(home, scenario, LARGE)

    assert "SIMULATED RECORD" in target.read_text(encoding="utf-8")
    assert target.stat().st_mode & 0o777 == 0o600


def test_a_note_is_copied_to_the_clipboard(desk: Desk) -> None:
    desk.loaded()

    async def scenario(seat: Seat) -> None:
        await prepared(seat)
        await seat.press("space", "w", "y", "c")
        assert "SIMULATED RECORD" in seat.app.clipboard

    desk.run(home, scenario)


def test_the_timeline_is_one_key_from_the_note(desk: Desk) -> None:
    desk.loaded()

    async def scenario(seat: Seat) -> None:
        await prepared(seat)
        desk.time.passes(9)
        await seat.press("space", "w", "y", "n")
        assert "Clean hands" in seat.text("body")
        assert "0:09" in seat.text("body")

    desk.run(home, scenario)


def test_who_was_told_can_be_answered_after_the_end(desk: Desk) -> None:
    desk.loaded()

    async def scenario(seat: Seat) -> None:
        await prepared(seat)
        await seat.press("space", "2", "r", "space", "w", "y")
        assert "1 not yet told" in seat.text("speak")
        await seat.press("t", "t")
        await seat.type("N-12")
        assert seat.place == "note"
        assert "N-12" in seat.text("body")
        assert "not yet told" not in seat.text("speak")

    desk.run(home, scenario)

    assert only_session(desk).session.state.told[0].whom == "N-12"


def test_the_example_is_shown_and_not_kept(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("e")
        assert "INVENTED EXAMPLE" in seat.text("body")
        await seat.press("escape")
        assert seat.place == "home"

    desk.run(home, scenario)

    assert store.summaries() == []


def test_a_broken_protocol_is_explained_and_not_opened(desk: Desk) -> None:
    desk.loaded()
    (desk.folder / "protocols" / "hand.toml").write_text("format = 1\ntitle = ", encoding="utf-8")

    async def scenario(seat: Seat) -> None:
        await seat.press("enter")
        assert "hand.toml" in seat.text()
        assert seat.place == "home"

    desk.run(home, scenario, LARGE)


def test_a_broken_session_is_listed_with_its_problem(desk: Desk) -> None:
    folder = store.sessions_folder()
    folder.mkdir(parents=True)
    (folder / "20260302-140000-hand-0000.toml").write_text("nothing of ours\n", encoding="utf-8")

    async def scenario(seat: Seat) -> None:
        assert "20260302-140000-hand-0000.toml" in seat.text("body")
        await seat.press("enter")
        assert seat.place == "home"

    desk.run(home, scenario, LARGE)


def test_wrong_keys_at_home_are_answered(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("x")
        assert "'x' does nothing here" in seat.text("speak")
        await seat.press("n")
        assert "Choose a session to read." in seat.text("speak")

    desk.run(home, scenario)


def test_a_protocol_is_rehearsed_from_home_and_looked_back_on(desk: Desk) -> None:
    desk.loaded()

    async def scenario(seat: Seat) -> None:
        foot = seat.text("foot")
        assert "r rehearse" in foot and "w what next" in foot and "p progress" in foot
        await seat.press("r", "enter")
        assert seat.app.screen.__class__.__name__ == "RehearseScreen"
        await seat.press("q")
        assert seat.place == "home"
        await go_to(seat, "2 minutes, own")
        await seat.press("w")
        assert seat.place == "read"
        assert "What to practise" in seat.text("head")
        await seat.press("n")
        assert "Progress" in seat.text("head")
        await seat.press("q")
        assert seat.place == "home"

    desk.run(lambda _: HomeScreen(), scenario)
    (session,) = store.summaries()
    assert session.mode == "rehearsal"


def test_an_unfinished_rehearsal_is_taken_up_and_not_read(desk: Desk) -> None:
    desk.loaded()

    async def scenario(seat: Seat) -> None:
        await seat.press("r", "enter", "q")
        await go_to(seat, "rehearsal: order")
        assert "times" not in seat.text("foot")
        for key in ("n", "t"):
            await seat.press(key)
            assert seat.place == "home"
            assert "Not finished; Enter takes it up." in seat.text("speak")
        await seat.press("enter")
        assert seat.app.screen.__class__.__name__ == "RehearseScreen"

    desk.run(home, scenario)


def kept(desk: Desk, **preparation: str) -> Path:
    """Keep a finished session in which nothing was done, a minute later than what was before."""
    desk.time.passes(60)
    usual = {"participant": "", "examiner": "S-07"}
    made = Preparation(**(usual | preparation))  # type: ignore[arg-type]
    recorder = begin(desk.loaded(), made, desk.time.clocks)
    recorder.finish()
    recorder.leave()
    return recorder.path


@pytest.mark.parametrize(
    ("preparation", "line"),
    [
        ({"participant": "P-014"}, "Hand P-014 practice, 0:00 min"),
        ({"mode": "observation", "observer": "T-1"}, "Hand observation of S-07, practice, 0:00 min"),
        (
            {"mode": "observation", "observer": "T-1", "participant": "P-014"},
            "Hand P-014 observation, practice, 0:00 min",
        ),
        ({"mode": "rehearsal", "task": "order"}, "Hand S-07, rehearsal: order, 0:00 min"),
        ({"mode": "rehearsal", "task": "order typed=yes"}, "Hand S-07, rehearsal: order, typed, 0:00 min"),
        (
            {"mode": "rehearsal", "task": "left-out", "examiner": ""},
            "Hand rehearsal: what was left out, 0:00 min",
        ),
        ({"mode": "rehearsal", "task": "content"}, "Hand S-07, rehearsal: content, 0:00 min"),
        (
            {"mode": "rehearsal", "task": "patient", "case": "seed 7"},
            "Hand S-07, simulated patient, 0:00 min",
        ),
    ],
)
def test_a_session_is_listed_by_what_it_was_and_whose(
    desk: Desk, preparation: dict[str, str], line: str
) -> None:
    kept(desk, **preparation)

    async def scenario(seat: Seat) -> None:
        shown = [" ".join(each.split()) for each in seat.text("body").splitlines()]
        assert f"2026-03-02 14:01 {line}" in shown

    desk.run(home, scenario)


def test_what_is_finished_is_read_as_what_it_is(desk: Desk) -> None:
    """Only an examination has a note; the footer says what a key opens, and so does the heading."""
    kept(desk, participant="P-014")
    kept(desk, mode="observation", observer="T-1")
    kept(desk, mode="rehearsal", task="order")

    async def scenario(seat: Seat) -> None:
        assert "Finished: Enter reads the note, or how it went" in seat.text("body")
        await go_to(seat, "P-014")
        assert "n note" in seat.text("foot") and "t times" in seat.text("foot")
        await go_to(seat, "observation of S-07")
        assert "n debrief" in seat.text("foot") and "t times" in seat.text("foot")
        await seat.press("n")
        assert "Debrief" in seat.text("head")
        await seat.press("escape")
        await go_to(seat, "rehearsal: order")
        for label in ("note", "debrief", "times"):
            assert label not in seat.text("foot")
        await seat.press("enter")
        assert seat.place == "rehearsed"

    desk.run(home, scenario)


@pytest.mark.parametrize(
    ("key", "head"), [("r", "Rehearse: Hand"), ("w", "What to practise"), ("p", "Progress: Hand")]
)
def test_on_a_session_the_keys_take_its_protocol(desk: Desk, key: str, head: str) -> None:
    kept(desk, participant="P-014")

    async def scenario(seat: Seat) -> None:
        await go_to(seat, "P-014")
        await seat.press(key)
        assert head in seat.text("head")

    desk.run(home, scenario)


@pytest.mark.parametrize("key", ["r", "w", "p"])
def test_a_session_whose_protocol_is_gone_says_so(desk: Desk, key: str) -> None:
    kept(desk, participant="P-014")
    (desk.folder / "protocols" / "hand.toml").unlink()

    async def scenario(seat: Seat) -> None:
        await go_to(seat, "P-014")
        await seat.press(key)
        assert "The protocol of this session is not on this computer." in seat.text("speak")
        assert seat.place == "home"

    desk.run(home, scenario)


def test_a_session_with_a_damaged_top_is_listed_all_the_same(desk: Desk) -> None:
    path = kept(desk, mode="rehearsal", task="order")
    path.write_text("nothing of ours\n", encoding="utf-8")

    async def scenario(seat: Seat) -> None:
        await go_to(seat, path.name)
        await seat.press("r")
        assert "not on this computer" in seat.text("speak")

    desk.run(home, scenario, LARGE)


async def go_to(seat: Seat, text: str) -> None:
    """Move the mark to the line that holds a text."""
    await seat.press(*["up"] * 10)
    for _ in range(40):
        if any("▸" in line and text in line for line in seat.text("body").splitlines()):
            return
        await seat.press("down")
    raise AssertionError(seat.text("body"))
