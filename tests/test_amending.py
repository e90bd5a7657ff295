"""Amending and signing by keys: late entries and corrections with who and why, and nothing lost or forged."""

from pathlib import Path

import pytest

from checklist.cli import main
from checklist.session import closing, store
from checklist.session.events import Amended, Outcome, Result
from checklist.session.opening import Preparation, begin
from checklist.session.session import OBSERVATION, Session
from checklist.tui.amend import AmendScreen
from checklist.tui.app import ChecklistApp
from checklist.tui.draw import Drawn
from checklist.tui.note import NoteScreen
from checklist.tui.screen import DrawnScreen
from tests.desk import Desk, Seat, desk
from tests.helpers import PROTOCOL
from tests.terminal import Terminal

__all__ = ["desk"]

WITH_READING = (
    PROTOCOL
    + """
[[section.step]]
id = "temperature"
title = "Take the temperature"
technique = "measure"
do = "Take it in the ear."
expect = "In range"
subject = "temperature"
chart = "in range"

[section.step.reading]
kind = "temperature"
"""
)


def made(desk: Desk, *results: Result, text: str = PROTOCOL, mode: str = "examination") -> Path:
    """A finished session, with these results for the step `look`."""
    preparation = Preparation(participant="P-014", examiner="S-07", mode=mode)
    recorder = begin(desk.loaded(text), preparation, desk.time.clocks)
    if results:
        recorder.record("look", *results)
    recorder.finish()
    recorder.leave()
    desk.time.passes(3600)
    return recorder.path


def right(outcome: Outcome = Outcome.EXPECTED, **fields: object) -> Result:
    return Result(entries=("right",), outcome=outcome, **fields)  # type: ignore[arg-type]


def loaded(path: Path) -> Session:
    return store.load(path).session


def amendments(path: Path) -> list[Amended]:
    return [event for event in loaded(path).events if isinstance(event, Amended)]


def amending(desk: Desk, path: Path, scenario: object) -> None:
    """Play a scenario that begins at the list of steps."""

    def first(app: ChecklistApp) -> DrawnScreen:
        app.recorder = closing.reopened_to_amend(path, desk.time.clocks)
        return AmendScreen(app.recorder)

    desk.run(first, scenario)  # type: ignore[arg-type]


def reading(desk: Desk, path: Path, scenario: object) -> None:
    """Play a scenario that begins at the note."""
    desk.run(lambda _: NoteScreen(loaded(path), path), scenario)  # type: ignore[arg-type]


def spoken(seat: Seat) -> str:
    """What the screen says above the keys, as one line."""
    return " ".join(seat.text("speak").split())


async def at_step(seat: Seat, typed: str) -> None:
    """Find a step by typing, and open it."""
    await seat.press("f")
    await seat.type(typed)
    assert seat.place == "amend"


async def written(seat: Seat, who: str = "AB", why: str = "wrong key") -> None:
    await seat.type(who)
    await seat.type(why)


# What is amended


def test_a_correction_keeps_the_original_legible(desk: Desk) -> None:
    path = made(desk, right())

    async def scenario(seat: Seat) -> None:
        await at_step(seat, "skin")
        assert "2026-03-02 14:00  as expected" in seat.text("body")
        await seat.press("down", "d", "1", "enter")
        assert seat.place == "typing"
        assert "Correction: Look at the skin: right differs: Old scar" in seat.text("body")
        await written(seat)
        assert "Written. Correction: Look at the skin: right differs: Old scar" in spoken(seat)
        assert "differs: Old scar (correction by AB: wrong key)" in seat.text("body")
        assert "2026-03-02 14:00  as expected" in seat.text("body")

    amending(desk, path, scenario)
    (event,) = amendments(path)

    assert (event.step, event.who, event.why) == ("look", "AB", "wrong key")
    assert event.results == (right(Outcome.DIFFERS, findings=("scar",)),)
    assert f"{event.at:%H:%M}" == "15:00"


def test_what_was_not_recorded_is_a_late_entry(desk: Desk) -> None:
    path = made(desk, right())

    async def scenario(seat: Seat) -> None:
        await at_step(seat, "skin")
        assert "nothing recorded" in seat.text("body")
        await seat.press("e")
        await written(seat, why="forgotten")
        assert "Written. Late entry: Look at the skin: left as expected" in spoken(seat)

    amending(desk, path, scenario)
    (event,) = amendments(path)

    assert event.results == (Result(entries=("left",), outcome=Outcome.EXPECTED),)
    assert loaded(path).state.records["look"]["right"].amendment is None


def test_one_amendment_can_be_both(desk: Desk) -> None:
    path = made(desk, right())

    async def scenario(seat: Seat) -> None:
        await at_step(seat, "skin")
        await seat.press("x", "z", "1")
        await written(seat)
        assert "Late entry and correction: Look at the skin: not examined: declined" in spoken(seat)

    amending(desk, path, scenario)
    (event,) = amendments(path)

    both = Result(entries=("right", "left"), outcome=Outcome.NOT_EXAMINED, reason="declined")
    assert event.results == (both,)


def test_every_outcome_has_its_key(desk: Desk) -> None:
    path = made(desk, right())

    async def scenario(seat: Seat) -> None:
        await at_step(seat, "skin")
        await seat.press("down", "v", "t")
        await seat.type("bandage")
        await seat.press("enter")
        await written(seat)
        await seat.press("down", "down", "3", "enter", "enter")
        await seat.type("wrong key")
        await seat.press("down", "down", "x", "t")
        await seat.type("in a cast")
        await seat.press("enter")
        await seat.type("wrong key")

    amending(desk, path, scenario)

    left = ("left",)
    assert [event.results for event in amendments(path)] == [
        (right(Outcome.UNSEEN, detail="bandage"),),
        (Result(entries=left, outcome=Outcome.DIFFERS, findings=("blue",)),),
        (Result(entries=left, outcome=Outcome.NOT_EXAMINED, reason="in a cast"),),
    ]


def test_a_reading_is_typed_as_in_an_examination(desk: Desk) -> None:
    path = made(desk, text=WITH_READING)

    async def scenario(seat: Seat) -> None:
        await at_step(seat, "temperature")
        await seat.press("enter")
        assert seat.place == "reading"
        await seat.type("36.8")
        await written(seat)
        await seat.press("e")
        assert seat.place == "reading", "a reading that is wanted is asked for"
        await seat.press("escape")
        assert seat.place == "amend"

    amending(desk, path, scenario)
    (event,) = amendments(path)
    (given,) = event.results

    assert (given.outcome, given.reading[:4]) == (Outcome.EXPECTED, "36.8")


def test_what_stands_already_is_not_written_again(desk: Desk) -> None:
    path = made(desk, right())

    async def scenario(seat: Seat) -> None:
        await at_step(seat, "skin")
        await seat.press("down", "e")
        assert seat.place == "amend"
        assert "what stands already" in spoken(seat)

    amending(desk, path, scenario)
    assert amendments(path) == []


# Who and why


def test_neither_who_nor_why_may_be_empty(desk: Desk) -> None:
    path = made(desk)

    async def scenario(seat: Seat) -> None:
        await at_step(seat, "hands")
        await seat.press("e")
        await seat.type("  ")
        assert "initials or a code are needed" in spoken(seat)
        await seat.type("A" * 25)
        assert "at most 24" in spoken(seat)
        await seat.press(*["backspace"] * 25)
        await seat.type("AB")
        for why in ("", "   "):
            await seat.type(why)
            assert "says why" in spoken(seat)
        assert amendments(path) == []
        await seat.type("forgotten")

    amending(desk, path, scenario)
    assert [(event.who, event.why) for event in amendments(path)] == [("AB", "forgotten")]


def test_a_name_is_not_kept_as_who_amends_however_often_it_is_typed(desk: Desk) -> None:
    path = made(desk)

    async def scenario(seat: Seat) -> None:
        await at_step(seat, "hands")
        await seat.press("e")
        await seat.type("Mary Smith")
        assert "looks like a name; type initials (up to four capitals) or a code" in spoken(seat)
        await seat.press("enter", "enter")
        assert "Not kept" in spoken(seat)
        await seat.press(*["backspace"] * 10)
        await seat.type("ABCD")
        await seat.type("forgotten")

    amending(desk, path, scenario)
    assert [event.who for event in amendments(path)] == ["ABCD"]


@pytest.mark.parametrize(
    ("who", "is_kept"),
    [
        *((who, True) for who in ("AB", "ab", "ABCD", "A.B.", "P-014", "E-2")),
        *((who, False) for who in ("Mary", "Mary Smith", "ABCDE", "a@b", "")),
    ],
)
def test_initials_and_codes_can_stand_as_who_amends_and_names_cannot(who: str, is_kept: bool) -> None:
    assert (closing.amender_fault(who) == "") is is_kept


def test_the_note_of_a_file_that_was_changed_since_it_was_signed_says_so(desk: Desk) -> None:
    path = made(desk, right())
    closing.sign(path, "AB", desk.time.clocks)

    async def untouched(seat: Seat) -> None:
        assert "changed since" not in spoken(seat)

    async def touched(seat: Seat) -> None:
        assert "The file was changed since AB signed it; 'checklist verify' says more." in spoken(seat)

    reading(desk, path, untouched)
    path.write_bytes(path.read_bytes().replace(b"P-014", b"P-015"))
    reading(desk, path, touched)


def test_who_amended_last_is_offered_again(desk: Desk) -> None:
    path = made(desk)

    async def scenario(seat: Seat) -> None:
        await at_step(seat, "hands")
        await seat.press("e")
        await written(seat)
        await seat.press("escape")
        await at_step(seat, "skin")
        await seat.press("e", "enter")
        await seat.type("forgotten")

    amending(desk, path, scenario)
    assert [(event.step, event.who) for event in amendments(path)] == [("wash", "AB"), ("look", "AB")]


@pytest.mark.parametrize("keys", [(), ("A", "B"), ("A", "B", "enter"), ("A", "B", "enter", "x")])
def test_escape_leaves_without_writing_wherever_it_is_pressed(desk: Desk, keys: tuple[str, ...]) -> None:
    path = made(desk)
    before = path.read_bytes()

    async def scenario(seat: Seat) -> None:
        await at_step(seat, "hands")
        await seat.press("e", *keys, "escape")
        assert "Nothing was written." in spoken(seat)
        assert seat.place == "amend"
        await seat.press("escape")
        assert seat.place == "amend_list"
        await seat.press("escape")
        assert seat.place == "note"

    amending(desk, path, scenario)
    assert path.read_bytes() == before


def test_escape_leaves_a_sheet_and_the_finding_of_steps(desk: Desk) -> None:
    path = made(desk)
    before = path.read_bytes()

    async def scenario(seat: Seat) -> None:
        await seat.press("f", "p", "u", "escape")
        assert seat.place == "amend_list"
        assert "All steps" in seat.text("body")
        await at_step(seat, "skin")
        await seat.press("d", "1", "escape")
        assert seat.place == "amend"

    amending(desk, path, scenario)
    assert path.read_bytes() == before


# From the note, and who may


def test_the_note_leads_to_amending_and_back_to_itself(desk: Desk) -> None:
    path = made(desk, right())

    async def scenario(seat: Seat) -> None:
        assert "a amend" in seat.text("foot")
        await seat.press("a")
        assert seat.place == "amend_list"
        await at_step(seat, "skin")
        await seat.press("e")
        await written(seat, why="forgotten")
        await seat.press("escape", "escape")
        assert seat.place == "note"
        await seat.press("pagedown")
        assert "reason: forgotten" in seat.text("body").lower()
        await seat.press("a")
        assert seat.place == "amend_list", "the file was let go of"

    reading(desk, path, scenario)


def test_an_unfinished_session_is_gone_on_with_instead(
    desk: Desk, capsys: pytest.CaptureFixture[str]
) -> None:
    recorder = begin(desk.loaded(), Preparation(participant="P-014", examiner="S-07"), desk.time.clocks)
    recorder.leave()
    before = recorder.path.read_bytes()

    async def scenario(seat: Seat) -> None:
        assert "a amend" not in seat.text("foot")
        await seat.press("a")
        assert "Not amended: the session is left unfinished" in spoken(seat)
        await seat.press("z")
        assert "Not signed: the session is left unfinished" in spoken(seat)

    reading(desk, recorder.path, scenario)
    assert main(["amend", recorder.path.stem]) == 1
    assert "the session is left unfinished: it is changed by going on with it" in capsys.readouterr().err
    assert main(["amend"]) == 1
    assert capsys.readouterr().err == "checklist: there is no finished session; 'checklist' begins one\n"
    assert recorder.path.read_bytes() == before


def test_marks_are_not_amended(desk: Desk, capsys: pytest.CaptureFixture[str]) -> None:
    path = made(desk, mode=OBSERVATION)

    assert main(["amend", str(path)]) == 1
    assert "marks of an observation are not amended" in capsys.readouterr().err


def test_the_command_opens_the_app_at_the_steps(desk: Desk) -> None:
    path = made(desk, right())
    with Terminal(["amend"], desk.folder) as terminal:
        terminal.wait_for("Amend: Hand")
        terminal.send("fskin\r")
        terminal.wait_for("nothing recorded")
        terminal.send("eAB\rforgotten\r")
        terminal.wait_for("Written.")

    assert [event.why for event in amendments(path)] == ["forgotten"]


# Signing in the app


async def signing(seat: Seat, who: str = "AB") -> None:
    await seat.press("z")
    await seat.type(who)


def test_signing_asks_once_more_and_then_shows_who_signed(desk: Desk) -> None:
    path = made(desk, right())

    async def scenario(seat: Seat) -> None:
        await signing(seat)
        assert "from then on it takes only amendments and who was told. Enter again signs as AB." in spoken(
            seat
        )
        assert loaded(path).state.signed == ()
        await seat.press("enter")
        assert "Signed by AB, 2026-03-02 15:00." in " ".join(seat.text("body").split())
        await signing(seat)
        assert "AB has signed it already" in spoken(seat)

    reading(desk, path, scenario)
    assert [each.who for each in loaded(path).state.signed] == ["AB"]


@pytest.mark.parametrize("keys", [("escape",), ("A", "escape"), ("A", "B", "enter", "escape")])
def test_escape_leaves_without_signing(desk: Desk, keys: tuple[str, ...]) -> None:
    path = made(desk, right())
    before = path.read_bytes()

    async def scenario(seat: Seat) -> None:
        await seat.press("z", *keys)
        assert seat.place == "note"

    reading(desk, path, scenario)
    assert path.read_bytes() == before


def test_who_signs_is_no_person_by_name_unless_it_is_kept(desk: Desk) -> None:
    path = made(desk, right())

    async def scenario(seat: Seat) -> None:
        await signing(seat, "Mary Smith")
        assert "looks like a name" in spoken(seat)
        await seat.press("enter")
        assert "Enter again signs as Mary Smith." in spoken(seat)
        await seat.press("enter")

    reading(desk, path, scenario)
    assert [each.who for each in loaded(path).state.signed] == ["Mary Smith"]


def test_what_is_not_told_is_named_before_and_can_be_answered_after(desk: Desk) -> None:
    path = made(desk, right(Outcome.DIFFERS, findings=("wound",)))

    async def scenario(seat: Seat) -> None:
        assert "t told" in seat.text("foot")
        await seat.press("z")
        assert "Not yet told." in spoken(seat)
        assert "Open wound" in spoken(seat)
        await seat.type("AB")
        assert "1 not yet told; that can still be recorded after signing." in spoken(seat)
        await seat.press("enter")
        assert "t told" in seat.text("foot")
        await seat.press("t", "t")
        await seat.type("N-12")
        assert seat.place == "note"
        assert "N-12" in seat.text("body")
        assert "not yet told" not in seat.text("speak")

    reading(desk, path, scenario)


def test_an_amendment_that_must_be_told_says_how_it_can_be_answered(desk: Desk) -> None:
    path = made(desk, right())

    async def wound(seat: Seat, keys: str, told: str) -> None:
        await at_step(seat, "skin")
        await seat.press(*keys, "enter")
        await seat.type("AB")
        assert seat.app.screen.query_one("#type", Drawn).plain().strip() == "Why"
        await seat.type("seen late")
        assert told in spoken(seat)
        await seat.press("escape", "escape")

    async def before(seat: Seat) -> None:
        await wound(seat, "2r", "REPORT IT; t in the note answers whom. Written. Correction: ")

    async def after(seat: Seat) -> None:
        await wound(seat, "3l", "TELL IT AT ONCE; t in the note answers whom. Written. Late")

    amending(desk, path, before)
    closing.sign(path, "CD", desk.time.clocks)
    amending(desk, path, after)
    assert [event.why for event in amendments(path)] == ["seen late", "seen late"]


def test_a_step_with_many_entries_shows_the_chosen_one_in_full(desk: Desk) -> None:
    """Of the others what stands; what is below the window is scrolled to."""
    sites = ", ".join(f'"place {number}"' for number in range(1, 10))
    path = made(
        desk, text=PROTOCOL.replace('sites = ["radial", "ulnar"]', f'sites = [{sites}]\nsides = "both"')
    )

    async def scenario(seat: Seat) -> None:
        await at_step(seat, "pulse")
        await seat.press("down", "e", "A", "B", "enter", "w", "enter")
        assert "late entry by AB: w" in seat.text("body")
        await seat.press("pagedown")
        assert "1 Not felt" in seat.text("body")
        await seat.press("up")
        assert "left place 9" in seat.text("body")
        await seat.press("pageup", "pageup", "down", "down", "down", "e", "enter", "w", "enter")
        assert seat.text("body").count("late entry by AB") == 2

    amending(desk, path, scenario)
    assert [event.results[0].entries for event in amendments(path)] == [("right/place 1",), ("left/place 1",)]
