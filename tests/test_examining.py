"""The examining screen, by keys: what is recorded is what was pressed, and the screen says so."""

import errno
import os
from collections.abc import Mapping

import pytest
from textual.events import Key, Paste

from checklist.session.events import Interrupted, Moved, Outcome, Recorded, Retracted
from checklist.session.opening import Preparation, begin
from checklist.session.session import Session
from checklist.session.state import Stage
from checklist.tui.app import ChecklistApp
from checklist.tui.examine import ExamineScreen
from checklist.tui.screen import DrawnScreen
from tests.desk import Desk, Seat, desk
from tests.helpers import PROTOCOL

__all__ = ["desk"]


def recorded(session: Session, step: str) -> Mapping[str, tuple[str, tuple[str, ...]]]:
    """Return outcome and findings of each entry of a step."""
    return {
        entry: (str(record.result.outcome), record.result.findings)
        for entry, record in session.state.records.get(step, {}).items()
    }


EXPECTED = ("as expected", ())


def test_one_key_records_as_expected_and_goes_on(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        assert "Clean hands" in seat.text("body")
        await seat.press("space")
        assert "Look at the skin" in seat.text("body")
        assert "Recorded: Clean hands: as expected" in seat.text("speak")

    session = desk.examine(scenario)

    assert recorded(session, "wash") == {"whole": EXPECTED}
    assert session.state.current == "look"


def test_the_clicker_goes_on_and_back(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("pagedown", "pagedown", "pageup")
        assert "Look at the skin" in seat.text("body")

    session = desk.examine(scenario)

    assert recorded(session, "look") == {"right": EXPECTED, "left": EXPECTED}


def test_moving_on_records_nothing(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("right", "right", "left", "s")

    session = desk.examine(scenario)

    assert session.state.records == {}
    assert [event.step for event in session.events if isinstance(event, Moved)] == ["look", "pulse", "look"]


def test_one_side_differs_and_the_other_is_as_expected_without_retyping(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", "d", "r", "1", "space")
        assert "Feel the pulses" in seat.text("body")

    session = desk.examine(scenario)

    assert recorded(session, "look") == {"right": ("differs", ("scar",)), "left": EXPECTED}


def test_a_sheet_taken_with_enter_leaves_the_other_side_open(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", "d", "l", "2", "1", "enter")
        assert "left" in seat.text("body")
        assert "open; space: as expected" in seat.text("body")
        await seat.press("space")

    session = desk.examine(scenario)

    assert recorded(session, "look") == {"left": ("differs", ("scar", "wound")), "right": EXPECTED}
    assert session.state.current == "pulse"


def test_a_known_finding_takes_two_keys(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("right", "right", "right", "1", "enter")

    session = desk.examine(scenario)

    assert recorded(session, "grip") == {"whole": ("differs", ("weak",))}


def test_a_sheet_without_a_side_asks_which_and_records_nothing(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", "2", "enter")
        assert "Where? r for right, l for left, z for all." in seat.text("speak")
        assert seat.place == "sheet"
        await seat.press("escape")
        assert seat.place == "step"

    session = desk.examine(scenario)

    assert recorded(session, "look") == {}


def test_a_sheet_without_a_finding_asks_what_differs(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", "d", "r", "enter")
        assert "What differs?" in seat.text("speak")

    assert recorded(desk.examine(scenario), "look") == {}


def test_a_number_without_a_finding_is_answered(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", "9")
        assert "There is no finding 9 here" in seat.text("speak")

    assert recorded(desk.examine(scenario), "look") == {}


def test_own_words_are_kept_and_can_be_marked_to_be_told(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", "d", "r", "t")
        await seat.type("dark spot 4 mm")
        assert "dark spot 4 mm" in seat.text("body")
        await seat.press("y", "enter")
        assert "t when told. Report: dark spot 4 mm – Look at the skin (right)" in seat.text("speak")

    session = desk.examine(scenario)

    result = session.state.records["look"]["right"].result
    assert (result.outcome, result.detail, result.tell) == (Outcome.DIFFERS, "dark spot 4 mm", "report")


def test_sites_are_marked_by_letter(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("right", "right", "d", "b", "1", "space")

    session = desk.examine(scenario)

    assert recorded(session, "pulse") == {"ulnar": ("differs", ("absent",)), "radial": EXPECTED}


def test_a_reason_takes_one_key(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("x", "1")
        assert "Recorded: Clean hands: not examined: declined" in seat.text("speak")

    session = desk.examine(scenario)

    result = session.state.records["wash"]["whole"].result
    assert (result.outcome, result.reason) == (Outcome.NOT_EXAMINED, "declined")


def test_another_reason_is_typed(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("right", "x", "l", "t")
        await seat.type("bandage on the hand")

    session = desk.examine(scenario)

    assert list(session.state.records["look"]) == ["left"]
    assert session.state.records["look"]["left"].result.reason == "bandage on the hand"


def test_attempted_not_seen_is_offered_only_where_the_protocol_has_it(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        assert "not seen" not in seat.text("foot")
        await seat.press("v")
        assert "This step has no 'attempted, not seen'" in seat.text("speak")
        await seat.press("space", "v", "r", "enter")

    session = desk.examine(scenario)

    assert recorded(session, "look") == {"right": ("attempted, not seen", ())}


def test_one_entry_can_be_chosen_recorded_and_changed_afterwards(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", "down", "down", "e")
        assert "open; space: as expected" in seat.text("body")
        await seat.press("space", "left", "down", "d", "3", "enter")
        assert "(changed)" in seat.text("speak")

    session = desk.examine(scenario)

    assert recorded(session, "look") == {"left": EXPECTED, "right": ("differs", ("blue",))}


def test_space_records_only_the_entry_that_is_chosen(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", "down")
        assert seat.text("body").count("space: as expected") == 1
        await seat.press("space")

    assert recorded(desk.examine(scenario), "look") == {"right": EXPECTED}


def test_what_differs_is_not_overwritten_by_the_keys_for_as_expected(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", "d", "r", "3", "space", "left", "e")
        assert "Nothing is open here" in seat.text("speak")
        await seat.press("down", "space")
        assert "Already recorded" in seat.text("speak")

    assert recorded(desk.examine(scenario), "look") == {"right": ("differs", ("blue",)), "left": EXPECTED}


def test_a_conditional_step_is_not_done_by_rhythm(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("right", "right", "right")
        assert "open; space: not indicated, e: as expected" in seat.text("body")
        assert "space not indicated" in seat.text("foot")
        await seat.press("space")

    session = desk.examine(scenario)

    assert session.state.records["grip"]["whole"].result.reason == "not indicated"


def test_a_conditional_step_that_is_indicated_is_recorded_by_its_own_key(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("right", "right", "right", "e")

    assert recorded(desk.examine(scenario), "grip") == {"whole": EXPECTED}


def test_the_first_side_pressed_is_the_one_that_is_meant(desk: Desk) -> None:
    """A sheet that opens with both sides marked does not unmark the side that is named."""

    async def scenario(seat: Seat) -> None:
        await seat.press("space", "v", "r", "enter", "x", "l", "2")

    assert recorded(desk.examine(scenario), "look") == {
        "right": ("attempted, not seen", ()),
        "left": ("not examined", ()),
    }


def test_a_reason_is_given_to_open_entries_only(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("right", "right", "d", "a", "1", "enter", "x", "1")

    session = desk.examine(scenario)

    assert recorded(session, "pulse") == {"radial": ("differs", ("absent",)), "ulnar": ("not examined", ())}


def test_an_entry_that_differs_brings_its_findings_back_to_the_sheet(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", "d", "r", "1", "space", "left", "down", "d")
        assert "[x] 1 Old scar" in seat.text("body")

    desk.examine(scenario)


def test_space_on_a_recorded_step_changes_nothing(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("x", "1", "left", "space")
        assert "Already recorded; nothing changed." in seat.text("speak")

    session = desk.examine(scenario)

    assert recorded(session, "wash") == {"whole": ("not examined", ())}


def test_undo_takes_back_one_act_and_returns_to_its_step(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", "d", "r", "1", "space", "u")
        assert "u again takes back: Look at the skin: right differs: Old scar" in seat.text("speak")
        await seat.press("u")
        assert "Taken back: Look at the skin" in seat.text("speak")
        assert "Look at the skin" in seat.text("body")
        await seat.press("u", "u")
        assert "There is nothing to take back." in seat.text("speak")

    session = desk.examine(scenario)

    assert session.state.records == {}
    assert session.state.current == "wash"
    assert sum(isinstance(event, Recorded) for event in session.events) == 2
    assert sum(isinstance(event, Retracted) for event in session.events) == 2


def test_taking_back_what_cost_more_than_a_key_is_asked_about_anew_after_another_key(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", "d", "r", "1", "space", "u", "right", "u")
        assert "u again takes back" in seat.text("speak")

    assert recorded(desk.examine(scenario), "look") == {"right": ("differs", ("scar",)), "left": EXPECTED}


def test_a_remark_goes_to_the_step(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("right", "m")
        await seat.type("ring on the left hand")

    session = desk.examine(scenario)

    assert [(remark.step, remark.text) for remark in session.state.remarks] == [
        ("look", "ring on the left hand")
    ]


def test_an_escaped_line_keeps_nothing(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("m")
        await seat.pilot.press("a", "b", "escape")
        assert seat.place == "step"

    assert desk.examine(scenario).state.remarks == ()


def test_keys_typed_into_a_line_do_not_act(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("m")
        await seat.type("dxupq space?")

    session = desk.examine(scenario)

    assert session.state.records == {}
    assert session.state.remarks[0].text == "dxupq space?"


def test_a_step_is_found_by_typing(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("f")
        await seat.type("grip")
        assert "Test the grip" in seat.text("body")
        assert seat.place == "step"

    assert desk.examine(scenario).state.current == "grip"


def test_the_outline_shows_what_is_recorded_and_goes_there(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", "d", "r", "1", "enter", "o")
        assert "differs; left open" in seat.text("body")
        await seat.press("down", "enter")

    assert desk.examine(scenario).state.current == "pulse"


def test_a_pause_is_not_examination_time(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        desk.time.passes(5)
        await seat.press("p")
        assert "Paused" in seat.text("body")
        desk.time.passes(600)
        await seat.press("space")
        desk.time.passes(4)
        await seat.press("space")

    session = desk.examine(scenario)

    assert session.state.seconds == {"wash": 9.0}
    assert [(gap.cause, (gap.end - gap.start).seconds) for gap in session.state.interruptions if gap.end] == [
        ("paused", 600)
    ]


def test_a_sleep_of_the_machine_is_not_examination_time(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        desk.time.passes(5)
        await seat.press("space")
        desk.time.passes(3600)
        await seat.press("space")

    session = desk.examine(scenario)

    assert session.state.clock == 5.0
    assert [event.away_seconds for event in session.events if isinstance(event, Interrupted)] == [3600.0]


def test_an_urgent_finding_asks_at_once_and_does_not_stop_the_examination(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", "3", "r", "space")
        assert "TELL AT ONCE" in seat.text("speak")
        assert "TELL AT ONCE: Blue colour – Look at the skin (right)" in seat.text("speak")
        assert "Feel the pulses" in seat.text("body")
        await seat.press("space")
        assert "TELL AT ONCE" in seat.text("speak")
        desk.time.passes(300)
        await seat.press("t", "t")
        await seat.type("N-12 14:02")
        assert "TELL AT ONCE" not in seat.text("speak")

    session = desk.examine(scenario)

    told = session.state.told[0]
    assert (told.step, told.entries, told.findings, told.whom, told.when) == (
        "look",
        ("right",),
        ("blue",),
        "N-12",
        "14:02",
    )


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("N-12 25:99", "'25:99' is no time of day"),
        ("N-12 1405", "'1405' is no time of day"),
        ("N-12 13:59", "13:59 is not between the finding (14:00) and now (14:05)"),
        ("N-12 14:06", "14:06 is not between the finding (14:00) and now (14:05)"),
        ("14:02", "Nobody named"),
    ],
)
def test_an_answer_that_cannot_be_is_not_kept(desk: Desk, typed: str, said: str) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", "3", "r", "space")
        desk.time.passes(300)
        await seat.press("t", "t")
        await seat.type(typed)
        assert said in seat.text("speak").replace("\n ", " ")

    assert desk.examine(scenario).state.told == ()


def test_one_answer_answers_one_finding(desk: Desk) -> None:
    """A key that bounces does not answer the next question too."""
    roles = PROTOCOL.replace('urgent = "rapid response team"', 'urgent = "team"\nroles = ["instructor"]')

    async def scenario(seat: Seat) -> None:
        await seat.press("space", "3", "2", "r", "space", "t", "1", "1")

    session = desk.examine(scenario, loaded=desk.loaded(roles))

    assert [told.findings for told in session.state.told] == [("blue",)]


def test_what_was_not_told_is_listed_at_the_end(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", "2", "l", "space", "w")
        assert "Who was told?" in seat.text("body")
        assert "Report: Open wound – Look at the skin (left) → charge nurse" in seat.text("body")

    desk.examine(scenario)


def test_finishing_lists_what_is_open_and_lets_it_stand(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", "d", "r", "1", "enter", "w")
        body = seat.text("body")
        assert "Half recorded: 1" in body
        assert "left open" in body
        assert "Not reached: 1" in body
        assert "Feel the pulses" in body
        assert "Test the grip" not in body, "a condition that did not arise is not a gap"
        await seat.press("w")
        assert seat.place == "finish", "a bouncing key does not end the examination"
        await seat.press("y")
        assert seat.place == "note"

    session = desk.examine(scenario)

    assert session.state.stage is Stage.FINISHED
    assert "pulse" not in session.state.records


def test_a_gap_can_be_gone_to_from_the_end(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("w", "down", "enter")
        assert seat.place == "step"

    assert desk.examine(scenario).state.current == "look"


def test_recording_the_last_step_leads_to_the_end(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", "space", "space", "space")
        assert seat.place == "finish"

    assert recorded(desk.examine(scenario), "grip") == {"whole": ("not examined", ())}


def test_order_and_its_reason_are_shown_while_they_are_not_met(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("right", "right")
        assert "Not yet   Look at the skin: look before you touch." in seat.text("body")
        await seat.press("left", "space")
        assert "Not yet" not in seat.text("body")

    desk.examine(scenario)


def test_missing_equipment_marks_the_step_that_needs_it(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("right")
        assert "Not at hand: Light" in seat.text("body")

    desk.examine(scenario, missing=("light",))


def test_a_key_without_a_meaning_is_answered(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("z")
        assert "'z' does nothing here. ? shows the keys." in seat.text("speak")

    desk.examine(scenario)


def test_the_help_shows_the_keys_that_work_here(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("question_mark")
        assert "Record what is open as expected, go on" in seat.text("body")
        await seat.press("x", "x")
        assert "Any key closes this list." in seat.text("body")
        await seat.press("x")
        assert seat.place == "step", "any key only reads on, and then closes the list"
        await seat.press("x", "question_mark")
        assert "Record with this reason" in seat.text("body")

    assert desk.examine(scenario).state.records == {}


def test_leaving_keeps_the_session_and_taking_it_up_goes_on_where_it_stood(desk: Desk) -> None:
    async def leaving(seat: Seat) -> None:
        desk.time.passes(7)
        await seat.press("space")
        desk.time.passes(3)
        await seat.press("q")
        assert seat.place == "home"
        assert "Unfinished" in seat.text("body")
        desk.time.passes(1800)
        await seat.press("enter")
        assert "Look at the skin" in seat.text("body")
        assert "0:03" in seat.text("head")
        await seat.press("space")

    session = desk.examine(leaving)

    assert session.state.seconds == {"wash": 7.0, "look": 3.0}
    assert [gap.cause for gap in session.state.interruptions] == ["program closed"]


def test_a_failed_write_is_said_and_nothing_stands(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        recorder = seat.app.recorder
        assert recorder is not None
        away = recorder.path.with_suffix(".away")
        recorder.path.rename(away)
        await seat.press("space")
        assert "NOT RECORDED" in seat.text("speak")
        assert "Clean hands" in seat.text("body")
        away.rename(recorder.path)
        await seat.press("space")
        assert "Recorded: Clean hands" in seat.text("speak")

    assert recorded(desk.examine(scenario), "wash") == {"whole": EXPECTED}


def test_a_full_disk_is_said_and_loses_nothing_already_written(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    write = os.write

    def full(fd: int, data: bytes) -> int:
        if b"[[event]]" in data:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return write(fd, data)

    async def scenario(seat: Seat) -> None:
        await seat.press("space")
        monkeypatch.setattr(os, "write", full)
        await seat.press("space")
        assert "NOT RECORDED" in seat.text("speak")
        assert "free some space" in seat.text("speak").replace("\n ", " ")
        assert "Look at the skin" in seat.text("body")
        assert "open; space: as expected" in seat.text("body")
        monkeypatch.setattr(os, "write", write)

    session = desk.examine(scenario)

    assert recorded(session, "wash") == {"whole": EXPECTED}
    assert recorded(session, "look") == {}


def test_a_hundred_keys_at_once_are_all_recorded(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press(*(["space", "left"] * 50))

    session = desk.examine(scenario)

    assert recorded(session, "wash") == {"whole": EXPECTED}
    assert sum(isinstance(event, Moved) for event in session.events) == 100


def test_in_a_window_that_is_too_small_no_key_records_unseen(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        assert "too small" in seat.text("body").replace("\n", " ")
        await seat.press("space")

    assert recorded(desk.examine(scenario, size=(40, 12)), "wash") == {}


def test_what_does_not_fit_is_read_before_it_is_recorded(desk: Desk) -> None:
    long = PROTOCOL.replace(
        "Clean your hands.", "Rub every surface of both hands, slowly and with care. " * 30
    )

    async def scenario(seat: Seat) -> None:
        assert "more lines below" in seat.text("body")
        await seat.press("space")
        assert "There is more to read" in seat.text("speak")
        await seat.press(*["space"] * 4)

    session = desk.examine(scenario, loaded=desk.loaded(long))

    assert recorded(session, "wash") == {"whole": EXPECTED}


def test_a_critical_step_that_is_not_done_says_stop(desk: Desk) -> None:
    critical = PROTOCOL.replace('title = "Clean hands"', 'title = "Clean hands"\ncritical = "germs travel"')

    async def scenario(seat: Seat) -> None:
        await seat.press("x", "1")
        assert "CRITICAL and not done: Clean hands: germs travel." in seat.text("speak")

    desk.examine(scenario, loaded=desk.loaded(critical))


def test_a_line_typed_in_one_burst_with_its_keys_is_taken_in_order(desk: Desk) -> None:
    """As on a slow line, or by a fast typist: no key is lost, and none means what it did before."""

    async def scenario(seat: Seat) -> None:
        for key, character in (
            ("m", "m"),
            *(zip("hello", "hello", strict=True)),
            ("enter", None),
            ("space", " "),
        ):
            seat.app.post_message(Key(key, character))
        await seat.pilot.pause()

    session = desk.examine(scenario)

    assert [remark.text for remark in session.state.remarks] == ["hello"]
    assert recorded(session, "wash") == {"whole": EXPECTED}


def test_a_pasted_text_becomes_one_line(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("m")
        seat.app.post_message(Paste("first\nsecond\r\nthird\x1b[31m"))
        await seat.press("enter")

    (remark,) = desk.examine(scenario).state.remarks

    assert remark.text == "first second third\ufffd[31m"


def test_a_text_pasted_where_no_line_is_open_does_nothing(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        seat.app.post_message(Paste("x1 d"))
        await seat.pilot.pause()
        assert "The pasted text was left out" in seat.text("speak")

    assert desk.examine(scenario).state.records == {}


def test_markup_and_escape_sequences_in_a_protocol_are_only_text(desk: Desk) -> None:
    hostile = PROTOCOL.replace("Clean your hands.", "[/b] [@click=app.quit]Clean[/] your [hands].")

    async def scenario(seat: Seat) -> None:
        assert "[/b] [@click=app.quit]Clean[/] your [hands]." in seat.text("body")

    desk.examine(scenario, loaded=desk.loaded(hostile))


def test_own_words_that_look_like_a_person_are_kept_and_warned_of(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("m")
        await seat.type("Mrs Invented Example asked for water")
        assert "looks like a name" in seat.text("speak")

    (remark,) = desk.examine(scenario).state.remarks
    assert remark.text == "Mrs Invented Example asked for water"


def test_an_assessed_examination_shows_no_list_of_what_is_open(desk: Desk) -> None:
    recorder = begin(
        desk.loaded(),
        Preparation(participant="P-014", examiner="S-07", assessed=True),
        desk.time.clocks,
    )

    async def scenario(seat: Seat) -> None:
        await seat.press("space", "o")
        assert "as expected" in seat.text("body")
        assert "open" not in seat.text("body")
        assert "1 done" in seat.text("head")
        assert "of 3 done" not in seat.text("head")

    def first(app: ChecklistApp) -> DrawnScreen:
        app.recorder = recorder
        return ExamineScreen(recorder)

    desk.run(first, scenario)
