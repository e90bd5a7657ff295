"""Readings at the bedside, by keys: typed with an echo, tapped, counted, timed; what is then on file."""

import pytest
from textual.events import Paste

from checklist.protocol.library import Loaded
from checklist.session.events import Outcome
from checklist.session.session import Session
from checklist.summary.document import plain_text
from checklist.summary.note import note
from checklist.tui.examine import ExamineScreen
from tests.desk import Desk, Seat, desk
from tests.helpers import PROTOCOL

__all__ = ["desk"]

MEASURED = (
    PROTOCOL.partition('[[section.step]]\nid = "look"')[0].replace('id = "hand"', 'id = "measured"', 1)
    + """
[[section.step]]
id = "pupils"
title = "Measure the pupils"
technique = "measure"
sides = "both"
do = "Hold the gauge beside each eye."
expect = "2 to 4 mm in bright light"
subject = "pupil"
subjects = "pupils"
chart = "{reading}"
finding = [{ id = "odd", label = "Not round", chart = "not round", tell = "report" }]
[section.step.reading]
kind = "pupil-size"

[[section.step]]
id = "pulse"
title = "Count the pulse"
technique = "measure"
do = "Two fingers on the artery."
expect = "60 to 100 a minute, regular"
subject = "pulse"
chart = "{reading}"
[section.step.reading]
kind = "pulse-rate"

[[section.step]]
id = "fork"
title = "Fork by bone and air"
technique = "test"
sides = "both"
do = "Foot of the fork on the mastoid; silent there, prongs at the canal."
expect = "Heard longer by air"
subject = "ear"
subjects = "ears"
chart = "hearing longer by air than bone"
[section.step.reading]
kind = "rinne"
wanted = "differs"

[[pattern]]
id = "odd-and-fast"
all = [{ step = "pupils", side = "{side}", is = "odd" }, { step = "pulse", is = "above" }]
consider = "{side} pupil not round, with a fast pulse: report both"
tell = "report"
source = "invented for tests"
"""
)


def measured(desk: Desk) -> Loaded:
    return desk.loaded(MEASURED, "measured")


async def at_pupils(seat: Seat) -> None:
    """Go past the hand hygiene, which has no reading."""
    await seat.press("space")


def test_the_common_key_asks_for_the_reading_and_each_side_follows_the_other(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pupils(seat)
        assert "Enter: type" in seat.text("body")
        await seat.press("space")
        assert seat.place == "reading"
        await seat.press("3")
        assert "right: " in seat.text("speak"), "the echo says at once what is understood"
        assert "3 millimetres" in seat.text("speak")
        await seat.press("enter")
        assert seat.place == "reading", "the left side is asked for next"
        await seat.press("4", "enter")
        assert "Count the pulse" in seat.text("body")

    records = desk.examine(scenario, measured(desk)).state.records["pupils"]

    assert [records[side].result.reading for side in ("right", "left")] == ["3", "4"]
    assert {record.result.outcome for record in records.values()} == {Outcome.EXPECTED}


def test_what_is_no_reading_is_said_while_it_is_typed_and_is_not_kept(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pupils(seat)
        await seat.press("enter")
        await seat.type("wide")
        assert "Not kept" in seat.text("speak")
        assert "mm" in seat.text("speak"), "what is accepted instead"
        assert seat.place == "reading", "the line stays open with what was typed"
        await seat.press("escape")
        assert seat.place == "step"

    assert "pupils" not in desk.examine(scenario, measured(desk)).state.records


def test_an_impossible_value_is_refused_however_often_it_is_taken(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pupils(seat)
        await seat.press("enter")
        await seat.type("40")
        await seat.press("enter", "enter")
        assert "Not kept" in seat.text("speak")

    assert "pupils" not in desk.examine(scenario, measured(desk)).state.records


def test_an_unlikely_value_is_asked_about_once(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pupils(seat)
        await seat.press("space", "escape", "right")
        await seat.press("enter")
        await seat.type("240")
        assert "Enter again keeps it" in seat.text("speak")
        await seat.press("enter")
        assert seat.place == "sheet", "it is out of range too"
        await seat.press("enter")

    result = desk.examine(scenario, measured(desk)).state.records["pulse"]["whole"].result
    assert (result.reading, result.outcome) == ("240", Outcome.DIFFERS)


def test_out_of_range_shows_range_and_source_and_the_examiner_decides(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pupils(seat)
        await seat.press("right", "enter")
        await seat.type("48")
        assert seat.place == "sheet"
        sheet = seat.text("body")
        assert "Range" in sheet
        assert "60" in sheet, "the limit it is below"
        assert "k as expected" in seat.text("foot")
        await seat.press("k")

    result = desk.examine(scenario, measured(desk)).state.records["pulse"]["whole"].result
    assert (result.reading, result.outcome) == ("48", Outcome.EXPECTED)


def test_a_reading_and_a_finding_go_together(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pupils(seat)
        await seat.press("enter", "3", "tab")
        assert seat.place == "sheet"
        await seat.press("1", "enter")
        assert seat.place == "reading", "the other side is still to be measured"
        await seat.press("3", "enter")

    session = desk.examine(scenario, measured(desk))
    records = session.state.records["pupils"]

    assert records["right"].result.findings == ("odd",)
    assert records["right"].result.reading == records["left"].result.reading == "3"
    assert "right pupil not round (3 mm)" in one_line(session).casefold()


def test_without_a_value_the_note_says_so(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pupils(seat)
        await seat.press("space", "space", "space")
        assert "Count the pulse" in seat.text("body"), "each side is left without a value"

    session = desk.examine(scenario, measured(desk))

    assert not any(record.result.reading for record in session.state.records["pupils"].values())
    assert "pupils as expected, value not recorded bilaterally" in one_line(session).casefold()


def test_a_pulse_is_tapped(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pupils(seat)
        await seat.press("right", "c")
        assert seat.place == "timing"
        for _ in range(11):
            await seat.press("space")
            desk.time.passes(0.75)
        assert "80" in seat.text("body"), "60 / 0.75 s"
        await seat.press("enter")
        assert seat.place == "reading", "it is confirmed like what is typed"
        await seat.press("enter")
        assert "30 s is usual" in seat.text("speak"), "so short a time is asked about once"
        await seat.press("enter")

    reading = desk.examine(scenario, measured(desk)).state.records["pulse"]["whole"].result.reading
    assert reading.startswith("80 ")
    assert "irregular" not in reading


def test_a_pause_is_not_measured(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pupils(seat)
        await seat.press("right", "c")
        for _ in range(6):
            await seat.press("space")
            await passes(desk, seat, 0.75)
        await seat.press("p")
        await passes(desk, seat, 60)
        await seat.press("space")
        assert seat.place == "timing", "what was tapped before is kept"
        for _ in range(6):
            await seat.press("space")
            await passes(desk, seat, 0.75)
        await seat.press("enter", "enter", "enter")

    reading = desk.examine(scenario, measured(desk)).state.records["pulse"]["whole"].result.reading
    assert reading.startswith("80 "), "a beat every 0.75 s, with a pause of a minute between"


def test_leaving_amid_a_timing_loses_nothing_that_was_recorded(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pupils(seat)
        await seat.press("enter", "3", "enter", "escape", "right", "c", "space", "ctrl+q")

    records = desk.examine(scenario, measured(desk)).state.records
    assert records["pupils"]["right"].result.reading == "3"
    assert "pulse" not in records


def test_too_few_beats_make_no_rate(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pupils(seat)
        await seat.press("right", "c", "space")
        desk.time.passes(1)
        await seat.press("space", "enter")
        assert seat.place == "timing"
        assert "Too little" in seat.text("speak")
        await seat.press("q")
        assert seat.place == "step"

    assert "pulse" not in desk.examine(scenario, measured(desk)).state.records


def test_a_count_against_the_silent_clock_is_typed_when_it_has_run_out(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pupils(seat)
        await seat.press("right", "c", "3")
        await passes(desk, seat, 29)
        assert "1 s of 30 s left" in seat.text("body")
        await passes(desk, seat, 1)
        assert seat.place == "reading"
        await seat.press("3", "6", "enter")

    reading = desk.examine(scenario, measured(desk)).state.records["pulse"]["whole"].result.reading
    assert reading == "36 in 30 s"


def test_taps_within_the_silent_clock_are_counted(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pupils(seat)
        await seat.press("right", "c", "3")
        for _ in range(40):
            await seat.press("space")
            await passes(desk, seat, 0.75)
        await seat.press("enter")

    reading = desk.examine(scenario, measured(desk)).state.records["pulse"]["whole"].result.reading
    assert reading == "40 in 30 s"


def test_the_stop_watch_takes_one_time_after_another(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pupils(seat)
        await seat.press("right", "right", "c", "space")
        assert "bone" in seat.text("body")
        await passes(desk, seat, 15)
        await seat.press("space", "enter")
        assert "Next: then air" in seat.text("speak")
        await seat.press("space")
        await passes(desk, seat, 15.5)
        await seat.press("space", "enter")
        assert "right: " in seat.text("speak")
        await seat.press("enter", "escape")

    records = desk.examine(scenario, measured(desk)).state.records["fork"]
    assert list(records) == ["right"]
    assert records["right"].result.reading == "bone 15 s then air 15.5 s"
    assert records["right"].result.outcome is Outcome.EXPECTED


def test_a_stop_watch_that_was_stopped_does_not_go_on(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pupils(seat)
        await seat.press("right", "right", "c", "space")
        await passes(desk, seat, 15)
        await seat.press("space")
        await passes(desk, seat, 5)
        await seat.press("space")
        assert "15.0 s" in seat.text("body")
        assert "It was stopped" in seat.text("speak")

    desk.examine(scenario, measured(desk))


def test_a_key_held_down_is_timed_from_press_to_release(desk: Desk) -> None:
    """A terminal tells no release: the repeats of the key stop."""

    async def scenario(seat: Seat) -> None:
        await at_pupils(seat)
        await seat.press("right", "right", "c", "space")
        desk.time.passes(0.5)
        for _ in range(50):
            await seat.press("space")
            desk.time.passes(0.03)
        assert "2.0 s" in seat.text("body"), "0.5 s until the key repeats, then 49 times 0.03 s"

    desk.examine(scenario, measured(desk))


def test_a_reading_that_is_only_for_what_differs_is_not_asked_for(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pupils(seat)
        await seat.press("right", "right", "space")
        assert seat.place == "finish"

    assert desk.examine(scenario, measured(desk)).state.records["fork"]["right"].result.reading == ""


def test_a_line_typed_full_is_no_reading(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pupils(seat)
        await seat.press("enter")
        await seat.type("9" * 600)
        assert "Not kept" in seat.text("speak")

    desk.examine(scenario, measured(desk))


def test_a_reading_is_taken_back_after_a_question(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pupils(seat)
        await seat.press("enter", "3", "enter", "escape", "u")
        assert "again takes back" in seat.text("speak")
        await seat.press("u")

    assert desk.examine(scenario, measured(desk)).state.records.get("pupils", {}) == {}


async def at_pulse(seat: Seat) -> None:
    """Go past the pupils to a step with one entry, and open the line for its reading."""
    await at_pupils(seat)
    await seat.press("right", "enter")


def test_a_clicker_does_not_throw_away_what_is_typed(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pulse(seat)
        await seat.press("3", "0", "pagedown")
        assert "A reading is typed" in seat.text("speak")
        await seat.press("enter", "enter")

    result = desk.examine(scenario, measured(desk)).state.records["pulse"]["whole"].result
    assert (result.reading, result.outcome, result.tell) == ("30", Outcome.DIFFERS, "urgent")


def test_as_expected_all_the_same_is_recorded_somewhere_or_not_at_all(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pupils(seat)
        await seat.press("d", "m")
        await seat.type("8")
        await seat.press("k")
        assert "Where?" in seat.text("speak")
        assert seat.place == "sheet"
        await seat.press("l", "k")
        assert seat.place == "reading", "the right side is asked for"
        assert "space as expected, no value" in seat.text("foot")

    records = desk.examine(scenario, measured(desk)).state.records["pupils"]
    assert {side: record.result.reading for side, record in records.items()} == {"left": "8"}


def test_as_expected_all_the_same_drops_no_finding(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pupils(seat)
        await seat.press("enter", "8", "enter", "1", "k")
        assert "it differs" in seat.text("speak")
        await seat.press("enter")

    result = desk.examine(scenario, measured(desk)).state.records["pupils"]["right"].result
    assert (result.outcome, result.findings, result.reading) == (Outcome.DIFFERS, ("odd",), "8")


def test_a_reading_typed_anew_is_told_as_fast_as_that_one_asks_for(desk: Desk) -> None:
    """RCP 2017, NEWS2 chart 1: a pulse of 111 to 130 scores 2, one of 40 or less scores 3."""

    async def scenario(seat: Seat) -> None:
        await at_pulse(seat)
        await seat.type("125")
        await retyped(seat, "72")
        assert "How fast" not in seat.text("body"), "what is in range is told to nobody"
        await retyped(seat, "125")
        await retyped(seat, "30")
        await seat.press("enter")

    assert desk.examine(scenario, measured(desk)).state.records["pulse"]["whole"].result.tell == "urgent"


def test_a_reading_is_told_with_the_words_beside_it(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pulse(seat)
        await seat.type("125")
        await seat.press("t")
        await seat.type("thready")
        await seat.press("enter", "escape", "t")
        assert "Report: 125/min; thready – Count the pulse" in seat.text("body")

    desk.examine(scenario, measured(desk))


@pytest.mark.parametrize(("typed", "place"), [("72", "reading"), ("30", "sheet")])
def test_a_reading_that_could_not_be_written_is_not_lost(desk: Desk, typed: str, place: str) -> None:
    async def scenario(seat: Seat) -> None:
        recorder = seat.app.recorder
        assert recorder is not None
        await at_pulse(seat)
        away = recorder.path.with_suffix(".away")
        recorder.path.rename(away)
        await seat.type(typed)
        if place == "sheet":
            await seat.press("enter")
        assert "NOT RECORDED" in seat.text("speak")
        assert seat.place == place
        away.rename(recorder.path)
        await seat.press("enter")

    assert desk.examine(scenario, measured(desk)).state.records["pulse"]["whole"].result.reading == typed


def test_out_of_range_is_seen_in_the_smallest_window_too(desk: Desk) -> None:
    text = MEASURED.replace('kind = "pulse-rate"', 'kind = "blood-pressure"')

    async def scenario(seat: Seat) -> None:
        await at_pulse(seat)
        seat.app.post_message(Paste("218/116 sitting right arm"))
        await seat.pilot.pause()
        assert "OUT OF RANGE" in seat.text("speak")

    desk.examine(scenario, desk.loaded(text, "measured"), size=(60, 20))


async def retyped(seat: Seat, text: str) -> None:
    """Type another reading on the sheet."""
    await seat.press("m", "ctrl+u")
    await seat.type(text)


def test_emptied_words_leave_a_reading_to_be_told(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pulse(seat)
        await seat.type("30")
        await seat.press("t", "enter", "enter")

    assert desk.examine(scenario, measured(desk)).state.records["pulse"]["whole"].result.tell == "urgent"


def test_that_a_reading_is_told_to_nobody_is_seen(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pulse(seat)
        await seat.type("30")
        await seat.press("y")
        assert "write down only" in seat.text("body")
        await seat.press("enter")

    assert desk.examine(scenario, measured(desk)).state.records["pulse"]["whole"].result.tell == ""


def test_a_reading_taken_anew_keeps_the_finding(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pupils(seat)
        await seat.press("enter", "3", "tab", "1", "enter", "escape", "down", "enter")
        await seat.press("ctrl+u", "4", "enter")
        assert "[x] 1 Not round" in seat.text("body")
        await seat.press("enter")

    result = desk.examine(scenario, measured(desk)).state.records["pupils"]["right"].result
    assert (result.outcome, result.findings, result.reading) == (Outcome.DIFFERS, ("odd",), "4")


def test_a_finding_added_later_keeps_the_reading(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pupils(seat)
        await seat.press("enter", "3", "enter", "escape", "down", "1", "enter")

    result = desk.examine(scenario, measured(desk)).state.records["pupils"]["right"].result
    assert (result.outcome, result.findings, result.reading) == (Outcome.DIFFERS, ("odd",), "3")


def test_a_reading_is_still_told_when_the_finding_told_as_fast_is_unmarked(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pupils(seat)
        await seat.press("enter", "9", "enter", "1", "enter", "escape", "down", "d", "1", "enter")

    result = desk.examine(scenario, measured(desk)).state.records["pupils"]["right"].result
    assert (result.findings, result.reading, result.tell) == ((), "9", "report")


def test_an_unlikely_value_is_asked_about_on_each_side(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pupils(seat)
        await seat.press("enter")
        for _ in range(2):
            await seat.type("9.5")
            assert "again keeps it" in seat.text("speak")
            await seat.press("enter", "enter")

    assert len(desk.examine(scenario, measured(desk)).state.records["pupils"]) == 2


def test_a_silent_clock_that_runs_out_as_the_pause_begins_asks_after_it(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pupils(seat)
        await seat.press("right", "c", "3")
        await passes(desk, seat, 29.5)
        desk.time.passes(0.6)
        await seat.press("p")
        await passes(desk, seat, 2)
        assert seat.place == "paused"
        await seat.press("space")
        await passes(desk, seat, 0.1)
        assert seat.place == "reading"
        await seat.press("3", "6", "enter")

    reading = desk.examine(scenario, measured(desk)).state.records["pulse"]["whole"].result.reading
    assert reading == "36 in 30 s"


async def odd_and_fast(seat: Seat) -> None:
    """Record what completes the pattern for the left side."""
    await seat.press("space", "3", "enter", "3", "tab", "1", "enter")
    await seat.press("enter", "1", "1", "2", "enter", "enter")


def test_a_pattern_is_shown_as_soon_as_it_is_complete(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pupils(seat)
        await odd_and_fast(seat)
        assert "Left pupil not round, with a fast pulse" in seat.text("speak")
        await seat.press("g")
        shown = " ".join(seat.text("body").split())
        assert seat.place == "together"
        assert "Rests on: left pupil not round (3 mm); pulse 112/min" in shown
        assert "Source: invented for tests" in shown
        assert "right pupil not round" not in shown
        await seat.press("g")
        assert seat.place == "step"

    session = desk.examine(scenario, measured(desk))
    assert "Report before leaving: consider: left pupil not round, with a fast pulse" in one_line(session)


def test_a_pattern_that_was_taken_back_is_gone_and_is_shown_again_when_it_comes_again(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pupils(seat)
        await odd_and_fast(seat)
        await seat.press("u", "u", "g")
        assert "not round" not in seat.text("body")
        await seat.press("g", "enter", "1", "1", "2", "enter", "enter")
        assert "Left pupil not round, with a fast pulse" in seat.text("speak")

    desk.examine(scenario, measured(desk))


async def passes(desk: Desk, seat: Seat, seconds: float) -> None:
    """Let time pass, with the screen looking at it as its timers do."""
    screen = seat.app.screen
    assert isinstance(screen, ExamineScreen)
    while seconds > 0:
        desk.time.passes(min(1.0, seconds))
        seconds -= 1.0
        screen.tick()
        screen.timing_ticked()
    await seat.pilot.pause()


def one_line(session: Session) -> str:
    return " ".join(plain_text(note(session), 400).split())


def test_a_digit_begins_the_reading_that_is_open_and_marks_no_finding(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pupils(seat)
        assert "d, then" in seat.text("body"), "the findings are a key farther"
        await seat.press("3", "enter", "4", "enter")
        assert "Count the pulse" in seat.text("body")
        await seat.press("7", "2", "enter")

    records = desk.examine(scenario, measured(desk)).state.records
    assert [records["pupils"][side].result.reading for side in ("right", "left")] == ["3", "4"]
    assert records["pupils"]["right"].result.findings == ()
    assert records["pulse"]["whole"].result.reading == "72"


def test_out_of_range_at_once_is_kept_as_expected_by_a_second_press_alone(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pupils(seat)
        await seat.press("right", "3", "6", "enter", "k")
        assert "again records it as expected" in seat.text("speak")
        assert seat.place == "sheet"
        await seat.press("k")

    result = desk.examine(scenario, measured(desk)).state.records["pulse"]["whole"].result
    assert (result.reading, result.outcome) == ("36", Outcome.EXPECTED)


def test_what_compares_out_of_range_is_said_at_once_waits_to_be_told_and_is_told(desk: Desk) -> None:
    """Each eye alone is in range; that they differ is told, until somebody was told of just that."""

    async def scenario(seat: Seat) -> None:
        await at_pupils(seat)
        await seat.press("3", "enter", "5", "enter")
        assert "differ by more than 1 mm" in seat.text("speak")
        await seat.press("right")
        assert "when told" in seat.text("speak")
        await seat.press("t", "t")
        await seat.type("N-12")
        assert "when told" not in seat.text("speak")

    session = desk.examine(scenario, measured(desk))
    assert [told.findings for told in session.state.told] == [("compared:pupils",)]
    assert "Told N-12" in one_line(session)


def test_a_reading_that_is_optional_is_asked_for_on_the_other_side_once_one_was_typed(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pupils(seat)
        await seat.press("right", "right", "enter")
        await seat.type("40/20")
        assert seat.place == "reading"
        await seat.press("space")

    records = desk.examine(scenario, measured(desk)).state.records["fork"]
    assert [records[side].result.reading for side in ("right", "left")] == ["air 40 s bone 20 s", ""]


def test_what_is_recorded_is_not_wiped_out_by_a_reason_without_a_place(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await at_pupils(seat)
        await seat.press("3", "enter", "4", "enter", "left", "x", "4")
        assert "Where?" in seat.text("speak")

    records = desk.examine(scenario, measured(desk)).state.records["pupils"]
    assert [records[side].result.reading for side in ("right", "left")] == ["3", "4"]
