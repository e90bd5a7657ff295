"""Rehearsing by keys: what comes next is recalled, shown and marked; each mark is in the file."""

from collections.abc import Awaitable, Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from checklist import cli
from checklist.practice import rehearsal
from checklist.practice.rehearsal import Task, task_of, task_words
from checklist.practice.run import run
from checklist.protocol.library import load as load_protocol
from checklist.protocol.model import Protocol
from checklist.session import store
from checklist.session.events import Recalled, Shown, Started
from checklist.session.opening import Preparation, begin, resume
from checklist.session.session import REHEARSAL, Header, Session
from checklist.session.state import Stage
from checklist.tui.app import ChecklistApp, screen_of
from checklist.tui.home import HomeScreen
from checklist.tui.rehearse import RehearseScreen
from checklist.tui.rehearsed import RehearsedScreen
from checklist.tui.screen import DrawnScreen
from tests.desk import HEAD_AND_NECK, SMALL, Desk, Seat, desk
from tests.helpers import PROTOCOL
from tests.helpers import protocol as read_protocol
from tests.terminal import Terminal

__all__ = ["desk"]

Scenario = Callable[[Seat], Awaitable[None]]
FREE = PROTOCOL.replace(
    'id = "hand"\ntitle = "Hand"\n\n[[section.step]]',
    'id = "hand"\ntitle = "Hand"\nfree_order = [{ steps = ["look", "warmth"], why = "neither disturbs" }]\n'
    "\n[[section.step]]",
).replace(
    '[[section.step]]\nid = "pulse"',
    '[[section.step]]\nid = "warmth"\ntitle = "Compare the warmth"\ntechnique = "palpate"\n'
    'do = "Feel with the back of your hand."\nexpect = "Warm alike"\nsubject = "hands"\nchart = "warm"\n\n'
    '[[section.step]]\nid = "pulse"\nalso = ["radial and ulnar arteries"]',
)


def begun(protocol: Protocol) -> Session:
    at = datetime(2026, 3, 2, 14, tzinfo=UTC)
    header = Header(
        id="20260302-140000-x-0000",
        created=at,
        app_version="",
        participant="",
        examiner="",
        mode=REHEARSAL,
        fictional=False,
        task="order",
        case="",
    )
    started = Started(n=1, at=at, clock=0.0, step=protocol.steps[0].id)
    return Session(header=header, protocol=protocol, table={}).with_events([started])


def shown(session: Session, steps: list[str], what: str) -> Shown:
    """Steps are about to be seen, after ten seconds of saying them."""
    last = session.events[-1]
    return Shown(
        n=last.n + 1, at=last.at, clock=last.clock + 10, step=steps[0], what=what, steps=tuple(steps)
    )


def recalled(session: Session, step: str, what: str) -> Recalled:
    last = session.events[-1]
    return Recalled(
        n=last.n + 1,
        at=last.at,
        clock=last.clock,
        step=step,
        what=what,
        how="recalled",
        hints=0,
        typed="",
    )


def rehearse(
    desk: Desk, scenario: Scenario, task: str = "order", text: str = PROTOCOL, size: tuple[int, int] = SMALL
) -> Session:
    """Begin a rehearsal, play a scenario at its first question, and return what its file then holds."""
    preparation = Preparation(participant="", examiner="S-07", mode=REHEARSAL, task=task)
    name = "head-and-neck" if 'id = "head-and-neck"' in text else "hand"
    recorder = begin(desk.loaded(text, name), preparation, desk.time.clocks)

    def first(app: ChecklistApp) -> DrawnScreen:
        app.recorder = recorder
        return screen_of(recorder)

    desk.run(first, scenario, size)
    return store.load(recorder.path).session


def go_on(desk: Desk, path: Path, scenario: Scenario) -> Session:
    recorder = resume(path, desk.time.clocks)

    def first(app: ChecklistApp) -> DrawnScreen:
        app.recorder = recorder
        return screen_of(recorder)

    desk.run(first, scenario)
    return store.load(path).session


def keys(*pressed: str) -> Scenario:
    async def scenario(seat: Seat) -> None:
        await seat.press(*pressed)

    return scenario


async def passes(desk: Desk, seat: Seat, seconds: float) -> None:
    """Let time pass as it does with the program running: nothing of it is taken for a sleep."""
    screen = seat.app.screen
    assert isinstance(screen, RehearseScreen)
    for _ in range(5):
        desk.time.passes(seconds / 5)
        screen.tick()
    await seat.pilot.pause()


def recalls(session: Session) -> list[tuple[str, str]]:
    return [(each.step, each.how) for each in session.state.recalls]


# Saying the order aloud.


def test_the_protocol_is_hidden_until_a_key_shows_the_step(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        for word in ("Clean hands", "Look at the skin", "Opening", "hygiene"):
            assert word not in seat.text()
        await seat.press("space")
        assert "Clean hands" in seat.text("body")
        assert "Look at the skin" not in seat.text()

    session = rehearse(desk, scenario)

    assert recalls(session) == []


@pytest.mark.parametrize(
    ("pressed", "how"),
    [
        ("space", "recalled"),
        ("o", "recalled out of place"),
        ("x", "not recalled"),
    ],
)
def test_one_key_marks_and_asks_for_the_next(desk: Desk, pressed: str, how: str) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", pressed)
        (summary,) = store.summaries()
        assert recalls(store.load(summary.path).session) == [("wash", how)], "written before it is shown"
        assert f"{how.capitalize()}: Clean hands" in seat.text("speak")
        assert "Which step comes next?" in seat.text("body")

    session = rehearse(desk, scenario)

    assert recalls(session) == [("wash", how)]
    assert [(e.what, e.hints, e.typed) for e in session.state.recalls] == [("order", 0, "")]
    assert not session.state.records and not session.state.marks


def test_one_key_a_step_at_the_speed_of_speech(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("enter", "enter", "enter", "enter")
        assert "Which step is added here?" in seat.text("body"), "a condition is read before it is answered"
        await seat.press("enter", "enter")
        assert seat.place == "recall_finish"

    session = rehearse(desk, scenario)

    assert recalls(session) == [(step, "recalled") for step in ("wash", "look", "pulse", "grip")]


def test_a_conditional_step_is_asked_for_by_its_condition(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("enter", "enter", "enter", "enter")
        asked = " ".join(seat.text("body").split())
        assert (
            "Which step is added here? After Feel the pulses Only if the person can follow a request" in asked
        )
        assert "Test the grip" not in seat.text()
        await seat.press("space", "x")

    session = rehearse(desk, scenario)

    last = session.state.recalls[-1]
    assert (last.step, last.what, last.how) == ("grip", "added", "not recalled")


# Steps in any order.


def test_steps_in_any_order_are_asked_for_shown_and_marked_together(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", "space")
        assert "Which 2 steps come next, in any order?" in seat.text("body")
        assert "Look at the skin" not in seat.text("body") and "warmth" not in seat.text("body")
        await seat.press("space")
        assert "▸ Look at the skin" in seat.text("body") and "  Compare the warmth" in seat.text("body")
        await seat.press("x")
        assert "Compare the warmth" in seat.text("body") and "Look at" not in seat.text("body")
        await seat.press("space")
        assert "Which step comes next?" in seat.text("body") and "pulses" not in seat.text("body")

    session = rehearse(desk, scenario, "order", FREE)

    assert recalls(session) == [("wash", "recalled"), ("look", "not recalled"), ("warmth", "recalled")]


def test_what_was_shown_together_and_not_marked_was_seen(desk: Desk) -> None:
    rehearse(desk, keys("space", "space", "space", "space", "ctrl+q"), "order", FREE)
    (summary,) = store.summaries()

    session = go_on(desk, summary.path, keys("space", "space"))

    assert recalls(session)[1:] == [("look", "recalled"), ("warmth", "recalled with a hint")]


def test_of_several_that_are_shown_any_can_be_marked_first(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", "space", "space", "down")
        assert "▸ Compare the warmth" in seat.text("body")
        await seat.press("down", "x")
        assert "Look at the skin" in seat.text("body") and "warmth" not in seat.text("body")
        await seat.press("space")

    session = rehearse(desk, scenario, "order", FREE)

    assert recalls(session)[1:] == [("warmth", "not recalled"), ("look", "recalled")]


def test_conditional_steps_in_any_order_go_together_where_their_condition_is_the_same(desk: Desk) -> None:
    text = FREE.replace('steps = ["look", "warmth"]', 'steps = ["pulse", "grip"]').replace(
        '[[section.step]]\nid = "pulse"',
        '[[section.step]]\nid = "pulse"\nonly_if = "the person can follow a request"',
    )

    async def scenario(seat: Seat) -> None:
        for typed in ("clean hands", "look at the skin", "compare the warmth"):
            await seat.type(typed)
        assert "Which 2 steps are added here, in any order?" in seat.text("body")
        await seat.type("grip")
        await seat.type("pulses")

    session = rehearse(desk, scenario, "order typed=yes", text)

    assert [(e.step, e.how, e.what) for e in session.state.recalls][3:] == [
        ("grip", "recalled", "added"),
        ("pulse", "recalled", "added"),
    ]


@pytest.mark.parametrize("name", ["head-and-neck", "abdomen", "vital-signs"])
def test_a_run_in_which_all_is_said_is_recalled_as_a_whole(name: str) -> None:
    """Shown and marked as a person does who knows it all: no step is called seen before it was asked for."""
    protocol = load_protocol(HEAD_AND_NECK.with_name(f"{name}.toml"))
    session = begun(protocol)
    while asked := rehearsal.open_questions(session):
        several = rehearsal.together(session, asked[0])
        session = session.with_event(shown(session, [each.step.id for each in several], asked[0].what))
        for each in several:
            assert rehearsal.shown_already(session, each) == 1
            session = session.with_event(recalled(session, each.step.id, each.what))

    assert [each.how for each in session.state.recalls] == ["recalled"] * len(protocol.steps)
    assert not rehearsal.hasty(session)


def test_steps_of_one_free_order_with_a_fixed_one_between_are_asked_apart() -> None:
    protocol = load_protocol(HEAD_AND_NECK.with_name("vital-signs.toml"))
    together = {step.id: rehearsal.in_any_order(protocol, step) for step in protocol}

    assert together["compare-radial-pulses"] == ("measure-temperature", "compare-radial-pulses")
    assert together["press-shins"] == ("time-capillary-refill", "press-shins", "inspect-arms")
    assert together["count-pulse"] == ("count-pulse",)


def test_a_hint_to_one_of_several_is_none_to_the_others(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", "space", "h")
        assert "to one of them: Section: Hand" in seat.text("body")
        await seat.press("space", "space", "space")

    session = rehearse(desk, scenario, "order", FREE)

    assert recalls(session)[1:] == [("look", "recalled with a hint"), ("warmth", "recalled")]


def test_steps_shown_together_are_marked_as_fast_as_one_likes(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", "space")
        await passes(desk, seat, 6)
        await seat.press("space", "space", "space", "space", "space")

    session = rehearse(desk, scenario, "order", FREE)

    assert [each.step for each in rehearsal.hasty(session)] == ["pulse"]
    assert dict(zip(run(session).steps, run(session).marks, strict=True)) == {
        "wash": "+",
        "look": "+",
        "warmth": "+",
    }


def test_a_gap_within_a_free_order_shows_what_goes_with_it(desk: Desk) -> None:
    text = FREE.replace('steps = ["look", "warmth"]', 'steps = ["warmth", "pulse"]')

    async def scenario(seat: Seat) -> None:
        body = " ".join(seat.text("body").split())
        said = "Which step goes with these, in any order? After Look at the skin With Compare the warmth"
        assert said in body
        await seat.press("space", "space")

    session = rehearse(desk, scenario, "order from=pulse", text)

    assert recalls(session) == [("pulse", "recalled")]


# A slip of the hand.


def test_the_last_answer_can_be_lowered_and_never_raised(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("u")
        assert "Nothing was answered yet" in seat.text("speak")
        await seat.press("enter", "enter", "u")
        assert "Lowered: Clean hands: not recalled" in seat.text("speak")
        assert "Look at the skin" in seat.text("body"), "the answer that is shown stays"
        await seat.press("u")
        assert "a mark is never raised" in seat.text("speak")
        await seat.press("space", "enter", "enter", "enter", "enter", "u")
        assert seat.place == "recall_finish"
        assert "not recalled" in seat.text("body")

    session = rehearse(desk, scenario)

    assert recalls(session) == [
        ("wash", "not recalled"),
        ("look", "recalled"),
        ("pulse", "recalled"),
        ("grip", "not recalled"),
    ]


def test_hints_go_from_the_section_to_the_first_words_and_are_no_recall(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", "space")
        for shown, hidden in (("Hand", "inspect"), ("inspect", "Look"), ("Look at …", "skin")):
            await seat.press("h")
            assert shown in seat.text("body") and hidden not in seat.text("body")
        await seat.press("h")
        assert "There are no more hints" in seat.text("speak")
        await seat.press("space", "o")
        assert "recalled with a hint, or not recalled" in seat.text("speak")
        assert "out of place" not in seat.text("foot")
        assert "with a hint" in seat.text("foot")
        await seat.press("space")

    session = rehearse(desk, scenario)

    assert recalls(session) == [("wash", "recalled"), ("look", "recalled with a hint")]
    assert session.state.recalls[1].hints == 3


def test_the_first_answer_counts_and_looking_back_changes_nothing(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", "x", "b")
        assert "Clean hands" in seat.text("body") and "not recalled" in seat.text("body")
        await seat.press("x", "o", "b")
        assert seat.place == "recall"

    assert recalls(rehearse(desk, scenario)) == [("wash", "not recalled")]


def test_how_many_were_recalled_and_the_target_pace_are_always_seen(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", "space")
        await passes(desk, seat, 45)
        await seat.press("space", "x")
        assert "1 recalled" in seat.text("head")
        assert "time 0:45" in seat.text("head")
        # 20 and 30 seconds.
        assert "2 of 4 answered   0:50 planned to perform them" in seat.text("head")

    rehearse(desk, scenario)


# Leaving and coming back.


def test_a_rehearsal_goes_on_where_it_stood(desk: Desk) -> None:
    session = rehearse(desk, keys("space", "x", "q"))
    (summary,) = store.summaries()
    assert session.state.stage is Stage.AWAY

    async def scenario(seat: Seat) -> None:
        assert "Which step comes next?" in seat.text("body")
        await seat.press("space")
        assert "Look at the skin" in seat.text("body")
        await seat.press("space")

    assert recalls(go_on(desk, summary.path, scenario)) == [("wash", "not recalled"), ("look", "recalled")]


@pytest.mark.parametrize("shown", ["h", "space"])
@pytest.mark.parametrize("first", [(), ("space", "space")])
def test_what_was_shown_before_leaving_is_not_forgotten(
    desk: Desk, shown: str, first: tuple[str, ...]
) -> None:
    rehearse(desk, keys(*first, shown, "ctrl+q"))
    (summary,) = store.summaries()

    session = go_on(desk, summary.path, keys("space", "space"))

    last = session.state.recalls[-1]
    assert (last.how, last.hints) == ("recalled with a hint", 1)


def test_leaving_with_an_unmarked_answer_is_asked_about(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", "q")
        assert "Not marked yet. q again leaves" in seat.text("speak")
        await seat.press("x")
        await seat.press("space", "q", "q")
        assert isinstance(seat.app.screen, HomeScreen)

    assert recalls(rehearse(desk, scenario)) == [("wash", "not recalled")]


def test_the_clock_stands_still_in_a_pause(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("p")
        desk.time.passes(600)
        await seat.press("space", "space")
        desk.time.passes(5)
        await seat.press("space")

    assert rehearse(desk, scenario).state.clock == 5.0


# Typing.


def test_the_expected_step_is_taken_with_slips_and_by_other_names(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.type("clean hnads")
        assert "Recalled: Clean hands" in seat.text("speak")
        await seat.type("inspect the skin")
        await seat.type("compare warmth")
        await seat.type("radial and ulnar artery")
        await seat.type("grip")
        assert seat.place == "recall_finish"

    session = rehearse(desk, scenario, "order typed=yes", FREE)

    assert recalls(session) == [(step, "recalled") for step in ("wash", "look", "warmth", "pulse", "grip")]
    assert session.state.recalls[3].typed == "radial and ulnar artery"


def test_a_later_step_is_out_of_place_and_the_one_that_is_due_is_still_asked_for(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.type("feel the pulses")
        assert "Feel the pulses comes later, and is out of place. One more try" in seat.text("speak")
        assert "Clean hands" not in seat.text()
        await seat.type("clean hands")
        await seat.type("look at the skin")

    session = rehearse(desk, scenario, "order typed=yes")

    assert [(each.step, each.how, each.hints) for each in session.state.recalls] == [
        ("pulse", "recalled out of place", 0),
        ("wash", "recalled with a hint", 1),
        ("look", "recalled", 0),
    ]


@pytest.mark.parametrize(
    ("typed", "how"), [("feel the pulses", "recalled out of place"), ("look at the skin", "recalled")]
)
def test_a_later_step_after_a_hint_is_no_second_try_and_is_not_lost(desk: Desk, typed: str, how: str) -> None:
    """What comes right after the missed one is at its place."""

    async def scenario(seat: Seat) -> None:
        await seat.press("tab")
        await seat.type(typed)
        assert "Not recalled: Clean hands was asked for, not" in seat.text("speak")

    session = rehearse(desk, scenario, "order typed=yes")

    assert [each.how for each in session.state.recalls] == ["not recalled", how]
    assert session.state.recalls[1].typed == typed


def test_a_step_of_another_part_is_no_answer_here(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.type("clean hands")
        assert "Clean hands comes before. One more try, with a hint." in seat.text("speak")
        await seat.type("look at the skin")

    assert recalls(rehearse(desk, scenario, "order hand typed=yes")) == [("look", "recalled with a hint")]


def test_steps_in_free_order_may_be_typed_in_any_order(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.type("clean hands")
        await seat.type("compare the warmth")
        await seat.type("look at the skin")

    assert recalls(rehearse(desk, scenario, "order typed=yes", FREE)) == [
        ("wash", "recalled"),
        ("warmth", "recalled"),
        ("look", "recalled"),
    ]


def test_hints_to_a_step_stay_with_it_when_another_is_typed_in_its_place(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.type("clean hands")
        await seat.press("tab", "tab")
        await seat.type("compare the warmth")
        await seat.type("look at the skin")

    session = rehearse(desk, scenario, "order typed=yes", FREE)

    assert [(e.step, e.how, e.hints) for e in session.state.recalls] == [
        ("wash", "recalled", 0),
        ("warmth", "recalled", 0),
        ("look", "recalled with a hint", 2),
    ]


@pytest.mark.parametrize(
    ("second", "how"), [("clean hands", "recalled with a hint"), ("palpate spleen", "not recalled")]
)
def test_what_is_near_to_nothing_is_tried_once_more_with_a_hint(desk: Desk, second: str, how: str) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.type("palpate the liver")
        assert "Nothing in the protocol is near to it. One more try, with a hint." in seat.text("speak")
        assert "Section: Opening" in seat.text("body")
        await seat.type(second)
        assert "Clean hands" in seat.text("speak")

    assert recalls(rehearse(desk, scenario, "order typed=yes")) == [("wash", how)]


def test_what_fits_several_or_is_conditional_or_empty_is_no_answer(desk: Desk) -> None:
    text = PROTOCOL.replace('title = "Look at the skin"', 'title = "Feel the nails"').replace(
        'title = "Feel the pulses"', 'title = "Feel the nerves"'
    )

    async def scenario(seat: Seat) -> None:
        await seat.type("")
        assert "Nothing was typed" in seat.text("speak")
        await seat.type("feel")
        assert "fits several steps alike" in seat.text("speak")
        await seat.type("test the grip")
        assert "only if the person can follow a request" in seat.text("speak")
        await seat.type("clean hands")

    assert recalls(rehearse(desk, scenario, "order typed=yes", text)) == [("wash", "recalled")]


def test_escape_gives_all_other_keys(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.pilot.press("escape")
        await seat.press("space", "x")
        assert seat.place == "recall", "words must not become keys, nor keys words"
        await seat.press("t")
        await seat.type("look at the skin")
        assert seat.place == "recall_typing"

    assert recalls(rehearse(desk, scenario, "order typed=yes")) == [
        ("wash", "not recalled"),
        ("look", "recalled"),
    ]


def test_a_line_opened_once_stays_open_for_the_steps_to_come(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("t")
        await seat.type("clean hands")
        await seat.type("look at the skin")

    assert recalls(rehearse(desk, scenario)) == [("wash", "recalled"), ("look", "recalled")]


def test_of_steps_in_any_order_none_is_missed_by_a_wrong_line(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.type("clean hands")
        for typed, said in (
            ("palpate the liver", "Nothing in the protocol is near to it."),
            ("clean hands", "Clean hands was before."),
            ("test the grip", "Test the grip: only if the person can follow a request."),
        ):
            await seat.type(typed)
            assert said in seat.text("speak")
            assert "Hint" not in seat.text("body")
        await seat.type("feel the pulses")
        assert "Feel the pulses comes later, and is out of place." in seat.text("speak")
        await seat.type("compare the warmth")

    assert recalls(rehearse(desk, scenario, "order typed=yes", FREE)) == [
        ("wash", "recalled"),
        ("pulse", "recalled out of place"),
        ("warmth", "recalled"),
    ]


def test_a_conditional_step_gets_a_second_try_like_any_other(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        for typed in ("clean hands", "look at the skin", "feel the pulses", "palpate the liver", "grip"):
            await seat.type(typed)

    assert recalls(rehearse(desk, scenario, "order typed=yes"))[3:] == [("grip", "recalled with a hint")]


# One section, another beginning, the gaps of an earlier session.


def test_one_section_shows_its_title_and_asks_its_steps(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        assert "Hand" in seat.text("body")
        await seat.press("h")
        assert "Technique: inspect" in seat.text("body"), "the section is known"
        await seat.press("space", "x", "space", "space", "space", "space")
        assert seat.place == "recall_finish"

    assert recalls(rehearse(desk, scenario, "order hand")) == [
        ("look", "not recalled"),
        ("pulse", "recalled"),
        ("grip", "recalled"),
    ]


def test_from_another_step_the_one_before_is_told(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        assert "Look at the skin" in seat.text("body")
        await seat.press("space", "space")

    assert recalls(rehearse(desk, scenario, "order from=pulse")) == [("pulse", "recalled")]


def test_around_a_gap_its_neighbours_are_asked(desk: Desk) -> None:
    session = rehearse(desk, keys("q"), "gaps around=ask-vision")
    header = replace(session.header, task="gaps around=test-rinne")
    head = read_protocol(HEAD_AND_NECK.read_text(encoding="utf-8"))

    asked = rehearsal.questions(replace(session, header=header, protocol=head))

    assert [each.step.id for each in asked] == ["test-weber", "test-rinne", "inspect-nose"]
    assert [each.cue.id if each.cue else "" for each in asked] == [
        "inspect-eardrum-light-reflex",
        "inspect-eardrum-light-reflex",
        "",
    ], "before the whole of what may be done in any order"
    assert [[step.id for step in each.beside] for each in asked][:2] == [["test-whispered-voice"]] * 2


def test_what_was_left_out_is_what_was_not_done_or_not_recalled(desk: Desk) -> None:
    rehearsed = rehearse(desk, keys("space", "x", "space", "space"))
    examined = desk.examine(keys("right", "space", "q"))

    assert [step.id for step in rehearsal.left_out(rehearsed)] == ["wash"]
    assert [step.id for step in rehearsal.left_out(examined)] == ["wash", "pulse"]


# What did I leave out?


def head_and_neck() -> str:
    return HEAD_AND_NECK.read_text(encoding="utf-8")


def test_a_run_with_three_to_five_gaps_is_shown_and_they_are_named(desk: Desk) -> None:
    drawn: list[str] = []

    async def scenario(seat: Seat) -> None:
        screen = seat.app.screen
        assert isinstance(screen, RehearseScreen)
        missing = [each.step for each in rehearsal.questions(screen.session)]
        drawn.extend(step.id for step in missing)
        shown = seat.text("body")
        assert f"{len(missing)} steps are left out" in shown
        assert all(f"  {step.title}" not in shown.splitlines() for step in missing)
        for step in reversed(missing[1:]):
            await seat.type(step.title)
        await seat.pilot.press("escape")
        await seat.press("h", "space")

    session = rehearse(desk, scenario, "left-out eyes", head_and_neck(), (120, 60))

    assert 3 <= len(drawn) <= 5
    expected = [(step, "recalled") for step in reversed(drawn[1:])]
    assert recalls(session) == [*expected, (drawn[0], "not recalled")]
    assert {each.what for each in session.state.recalls} == {"left-out"}


def test_a_step_that_is_in_the_run_is_no_answer_and_is_told_at_the_end(desk: Desk) -> None:
    titles: list[str] = []

    async def scenario(seat: Seat) -> None:
        screen = seat.app.screen
        assert isinstance(screen, RehearseScreen)
        there = rehearsal.shown_run(screen.session)[0]
        titles.append(there.title)
        await seat.type(there.title)
        assert f"{there.title} is not left out; it stands in the run" in seat.text("speak")
        assert "1 step is left out" in seat.text("body") and there.title in seat.text("body")
        await seat.pilot.press("escape")
        await seat.press("w")
        assert f"SAID TO BE LEFT OUT, AND WAS NOT\n - {there.title}" in seat.text("body")

    session = rehearse(desk, scenario, "left-out")

    assert rehearsal.answers(session) == ()
    assert [(each.what, each.typed) for each in session.state.recalls] == [("named", titles[0])]


def test_a_conditional_step_is_no_part_of_a_run_with_gaps_and_naming_it_costs_nothing(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.type("test the grip")
        said = "Test the grip is no part of this run: only if the person can follow a request."
        assert said in seat.text("speak")

    assert not rehearse(desk, scenario, "left-out").state.recalls


def test_the_gaps_are_the_same_when_it_is_taken_up_again(desk: Desk) -> None:
    async def leave(seat: Seat) -> None:
        await seat.pilot.press("escape")
        await seat.press("q")

    before = rehearse(desk, leave, "left-out", head_and_neck())
    (summary,) = store.summaries()
    after = go_on(desk, summary.path, keys())

    assert rehearsal.questions(before) == rehearsal.questions(after)


# The content.


def test_each_step_is_asked_for_one_thing_that_it_has(desk: Desk) -> None:
    session = rehearse(desk, keys("space", "x"), "content", head_and_neck())
    asked = rehearsal.questions(session)

    without = {step.id for step in session.protocol} - {each.step.id for each in asked}
    assert len(asked) == len({each.step.id for each in asked})
    for step in map(session.protocol.step_of.__getitem__, without):
        assert step.technique in {"tell", "hygiene"}, "nothing else is left out"
        assert not any((step.expect, step.say, step.covers, step.caution, step.only_if))
    told = [each.step for each in asked if each.what == "technique"]
    assert not [step.id for step in told if step.title.split()[0].casefold() == step.technique]
    others = (replace(session, header=replace(session.header, id=f"{number}")) for number in range(20))
    all_asked = [each for other in others for each in rehearsal.questions(other)]
    assert {each.what for each in all_asked} == {*rehearsal.ASPECTS, "which"}
    assert all(each.what == "which" or getattr(each.step, each.what) for each in asked)
    assert recalls(session) == [(asked[0].step.id, "not recalled")]
    assert session.state.recalls[0].what == asked[0].what


def test_content_shows_the_step_and_hides_what_is_asked(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        for _ in range(3):
            screen = seat.app.screen
            assert isinstance(screen, RehearseScreen) and screen.question
            answer = rehearsal.answer(screen.session.protocol, screen.question)
            asked = screen.question.step
            given = asked.expect if screen.question.what == "which" else asked.title
            assert given in seat.text("body")
            assert answer not in seat.text("body")
            assert "out of place" not in seat.text("foot")
            await seat.press("space")
            assert answer in seat.text("body")
            await seat.press("space")

    session = rehearse(desk, scenario, "content")

    assert [each.how for each in session.state.recalls] == ["recalled"] * 3


def test_a_step_is_only_asked_for_by_an_expectation_of_its_own(desk: Desk) -> None:
    text = PROTOCOL.replace('expect = "Felt at both places"', 'expect = "Even colour, no wounds"')
    asked = {"which": set[str](), "expect": set[str]()}
    for _ in range(60):
        for each in rehearsal.questions(rehearse_nothing(desk, text)):
            asked.setdefault(each.what, set()).add(each.step.id)

    assert asked["which"] == {"grip"}, "two others expect the same"
    assert asked["expect"] == {"look", "pulse", "grip"}


def rehearse_nothing(desk: Desk, text: str) -> Session:
    preparation = Preparation(participant="", examiner="", mode=REHEARSAL, task="content")
    # Each begins in a second of its own, so that no two get the same id.
    desk.time.passes(1)
    recorder = begin(desk.loaded(text), preparation, desk.time.clocks)
    recorder.leave()
    return recorder.session


# The end.


def test_the_end_says_in_words_how_it_went(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", "space")
        await passes(desk, seat, 40)
        await seat.press("space", "x", "w")
        await passes(desk, seat, 20)
        body = seat.text("body")
        assert "not asked: neither known nor failed" in body
        await seat.press("y")
        assert isinstance(seat.app.screen, RehearsedScreen)
        body = " ".join(seat.text("body").split())
        assert "1 recalled. - 1 not recalled. - 2 not asked" in body
        assert "TIME. 0:40. Planned to perform the 2 steps: 0:50." in body
        assert "NOT RECALLED: HAND - Look at the skin" in body
        assert "NO PATIENT" in seat.text("head")
        for word in ("score", "%", "well done", "passed"):
            assert word not in seat.text().casefold()

    assert rehearse(desk, scenario).state.stage is Stage.FINISHED


def test_marks_faster_than_speech_are_said(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("enter", "enter")
        desk.time.passes(3)
        await seat.press("enter", "enter", "space", "x", "y")
        # The second mark came three seconds after the first, the third at once.
        assert "1 marked as recalled in less than a second" in " ".join(seat.text("body").split())

    rehearse(desk, scenario)


def test_home_lists_a_rehearsal_as_such_and_reads_how_it_went(desk: Desk) -> None:
    rehearse(desk, keys("space", "x", "w", "y"))

    async def scenario(seat: Seat) -> None:
        assert "rehearsal: order" in seat.text("body")
        for _ in range(9):
            await seat.press("down")
        await seat.press("n")
        assert isinstance(seat.app.screen, RehearsedScreen)
        assert "NOT RECALLED: OPENING" in seat.text("body")

    desk.run(lambda _: HomeScreen(), scenario)


def test_a_rehearsal_with_a_task_to_come_is_explained_and_left_alone(desk: Desk) -> None:
    rehearse(desk, keys("q"))
    (summary,) = store.summaries()
    foreign = summary.path.read_bytes().replace(b'task = "order"', b'task = "by telephone"')
    summary.path.write_bytes(foreign)

    async def scenario(seat: Seat) -> None:
        await seat.press("enter")
        assert "cannot be gone on with here" in seat.text()

    desk.run(lambda _: HomeScreen(), scenario)
    assert summary.path.read_bytes() == foreign


# The command and the task.


@pytest.mark.parametrize(
    "task",
    [
        Task(kind="order"),
        Task(kind="order", section="eyes", start="look", is_typed=True),
        Task(kind="gaps", around=("look", "pulse")),
        Task(kind="left-out", section="typed", is_typed=True),
        Task(kind="content", section="hand"),
    ],
)
def test_a_task_is_read_as_it_was_written(task: Task) -> None:
    assert task_of(task_words(replace(task, is_typed=task.is_typed))) == task


def test_a_task_of_another_kind_is_none_of_recall() -> None:
    assert [task_of(text) for text in ("patient", "", "orders")] == [None, None, None]


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("--section", "foot"), "no section 'foot'; it has opening, hand"),
        (("--from", "foot"), "no step 'foot' to begin at"),
        (("--from", "grip"), "no step 'grip' to begin at"),
        (("--content", "--left-out"), "--content and --left-out do not go together"),
        (("--from", "look", "--content"), "--content and --from do not go together"),
        (("--gaps", "nowhere"), "nowhere"),
        (("--examiner", "Jane Miller"), "made-up code"),
    ],
)
def test_a_command_that_cannot_be_is_one_line(
    desk: Desk, capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], message: str
) -> None:
    loaded = desk.loaded()
    path = desk.folder / "protocols" / f"{loaded.protocol.id}.toml"

    assert cli.main(["rehearse", str(path), *arguments]) == 1

    (line,) = capsys.readouterr().err.splitlines()
    assert message in line
    assert not store.summaries()


def test_gaps_are_taken_from_a_session_of_the_same_protocol(
    desk: Desk, capsys: pytest.CaptureFixture[str]
) -> None:
    whole = desk.examine(keys("space", "space", "space", "q")).header.id
    other = rehearse(desk, keys("space", "x", "q"), text=HEAD_AND_NECK.read_text(encoding="utf-8")).header.id
    missed = rehearse(desk, keys("space", "x", "q")).header.id
    said = []
    for session in (whole, other, missed):
        assert cli.main(["rehearse", "hand", "--gaps", session]) == 1
        said.append(capsys.readouterr().err)

    assert "left out no step that is asked for here" in said[0]
    assert "is of protocol 'head-and-neck', not 'hand'" in said[1]
    assert "needs a terminal" in said[2], "nothing else is wrong"
    assert len(store.summaries()) == 3


def test_a_rehearsal_survives_a_kill_and_is_read_when_it_is_finished(
    desk: Desk, capsys: pytest.CaptureFixture[str]
) -> None:
    """The first hint of the step was shown before the kill, so it is no plain recall afterwards."""
    desk.loaded()
    with Terminal(["rehearse", "hand", "--section", "hand", "--examiner", "S-07"], desk.folder) as terminal:
        terminal.wait_for("Which step comes next?")
        terminal.send("  ")
        terminal.wait_for("Recalled: Look at the skin")
        terminal.send("h")
        terminal.wait_for("Technique: palpate")
        terminal.kill()
    (summary,) = store.summaries()
    header = store.load(summary.path).session.header
    assert (header.mode, header.task, header.examiner) == (REHEARSAL, "order hand", "S-07")

    with Terminal(["resume"], desk.folder) as terminal:
        terminal.wait_for("1 recalled")
        terminal.send("  ")
        terminal.wait_for("Which step is added here?")
        terminal.send("  ")
        terminal.wait_for("Everything that was asked has an answer")
        terminal.send("y")
        terminal.wait_for("After the rehearsal")
        terminal.send("qq")
        assert terminal.wait() == 0
    session = store.load(summary.path).session
    assert recalls(session) == [("look", "recalled"), ("pulse", "recalled with a hint"), ("grip", "recalled")]
    assert cli.main(["resume", session.header.id]) == 1
    assert "is finished; 'checklist' opens it and says how it went" in capsys.readouterr().err


def test_events_of_a_rehearsal_are_no_examination(desk: Desk) -> None:
    session = rehearse(desk, keys("enter", "enter", "w", "y"))

    assert [each.step for each in session.events if isinstance(each, Recalled)] == ["wash"]
    assert session.header.mode == REHEARSAL and session.header.task == "order"
