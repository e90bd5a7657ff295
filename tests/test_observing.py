"""Observing by keys: one key a step, in the order somebody else performs them; each mark is in the file."""

import errno
import os
from collections.abc import Awaitable, Callable

import pytest

from checklist.session import store
from checklist.session.events import Marked, Moved, Retracted
from checklist.session.opening import Preparation, begin, resume
from checklist.session.session import EXAMINATION, OBSERVATION, Session
from checklist.session.state import Stage
from checklist.tui.app import ChecklistApp, screen_of
from checklist.tui.home import HomeScreen
from checklist.tui.prepare import PrepareScreen
from checklist.tui.screen import DrawnScreen
from tests.desk import HEAD_AND_NECK, LARGE, SMALL, Desk, Seat, desk
from tests.helpers import PROTOCOL

__all__ = ["desk"]

Scenario = Callable[[Seat], Awaitable[None]]
CRITICAL = PROTOCOL.replace('id = "pulse"\n', 'id = "pulse"\ncritical = "a limb without a pulse is lost"\n')
IN_PATTERN = (
    PROTOCOL
    + """
[[pattern]]
id = "cut-and-cold"
all = [{ step = "look", is = "wound" }, { step = "pulse", is = "absent" }]
consider = "a wound that closes a vessel"
tell = "urgent"
source = "Invented for tests."
"""
)


def observe(
    desk: Desk,
    scenario: Scenario,
    text: str = PROTOCOL,
    *,
    size: tuple[int, int] = SMALL,
    mode: str = OBSERVATION,
    assessed: bool = False,
) -> Session:
    """Begin a session, play a scenario at its first step, and return what its file then holds."""
    preparation = Preparation(
        participant="P-014", examiner="S-07", observer="T-1", mode=mode, assessed=assessed
    )
    recorder = begin(desk.loaded(text), preparation, desk.time.clocks)

    def first(app: ChecklistApp) -> DrawnScreen:
        app.recorder = recorder
        return screen_of(recorder)

    desk.run(first, scenario, size)
    return store.load(recorder.path).session


def marks(session: Session) -> list[tuple[str, str]]:
    """Return what was marked, in the order in which it was written."""
    return [(event.step, event.mark) for event in session.events if isinstance(event, Marked)]


def standing(session: Session) -> dict[str, str]:
    return {step: event.mark for step, event in session.state.marks.items()}


def keys(*pressed: str) -> Scenario:
    async def scenario(seat: Seat) -> None:
        await seat.press(*pressed)

    return scenario


def home(_: ChecklistApp) -> DrawnScreen:
    return HomeScreen()


# One key a step.


@pytest.mark.parametrize(
    ("pressed", "mark"),
    [
        ("space", "done"),
        ("pagedown", "done"),
        ("e", "done"),
        ("p", "done after a prompt"),
        ("x", "not done"),
        ("v", "could not be seen"),
        ("n", "not applicable"),
    ],
)
def test_one_key_marks_a_step_and_goes_on(desk: Desk, pressed: str, mark: str) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press(pressed)
        assert f"Marked: Clean hands: {mark}" in seat.text("speak")
        assert mark in seat.text("body")

    session = observe(desk, scenario)

    assert marks(session) == [("wash", mark)]
    assert session.state.current == "look"
    assert not session.state.records, "a mark is no record of a patient"


def test_every_mark_is_in_the_file_when_it_is_shown(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        (summary,) = store.summaries()
        for pressed, count in (("space", 1), ("x", 2), ("p", 3)):
            await seat.press(pressed)
            assert f"{count} of 3 marked" in seat.text("head")
            assert len(store.load(summary.path).session.state.marks) == count

    observe(desk, scenario)


def test_what_was_incorrect_is_typed_and_may_be_left_empty(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("i")
        await seat.type("no soap, 5 seconds")
        assert "Marked: Clean hands: done incorrectly: no soap, 5 seconds" in seat.text("speak")
        await seat.press("i", "enter")

    session = observe(desk, scenario)

    assert [(event.step, event.mark, event.detail) for event in session.state.marks.values()] == [
        ("wash", "done incorrectly", "no soap, 5 seconds"),
        ("look", "done incorrectly", ""),
    ]


def test_a_line_that_is_left_marks_nothing(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("i", "p", "x")
        await seat.pilot.press("escape")
        assert seat.place == "observe"

    assert marks(observe(desk, scenario)) == []


def test_a_conditional_step_is_not_done_by_rhythm(desk: Desk) -> None:
    """The common key says so in the footer; another one marks it as done."""

    async def scenario(seat: Seat) -> None:
        await seat.press("space", "space", "space")
        assert "space not applicable" in seat.text("foot")
        assert "the person can follow a request" in seat.text("body")
        await seat.press("space", "backspace", "e")

    session = observe(desk, scenario)

    assert marks(session)[-2:] == [("grip", "not applicable"), ("grip", "done")]


def test_the_common_key_never_changes_a_mark(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("x", "up", "space")
        assert "Already marked; nothing changed." in seat.text("speak")

    session = observe(desk, scenario)

    assert standing(session) == {"wash": "not done"}
    assert session.state.current == "look"


def test_a_mark_is_changed_by_another_and_the_first_stays_in_the_file(desk: Desk) -> None:
    session = observe(desk, keys("x", "up", "p"))

    assert marks(session) == [("wash", "not done"), ("wash", "done after a prompt")]
    assert standing(session) == {"wash": "done after a prompt"}


def test_a_hundred_keys_at_once_are_all_marked(desk: Desk) -> None:
    steps = "".join(
        f'[[section.step]]\nid = "more-{n}"\ntitle = "More {n}"\ntechnique = "inspect"\ndo = "Look."\n'
        f'expect = "Even"\nsubject = "place {n}"\nchart = "even"\n'
        for n in range(120)
    )

    session = observe(desk, keys("space", "x", *["space"] * 98), PROTOCOL + steps)

    assert len(session.state.marks) == 100
    assert list(standing(session).values()).count("not done") == 1


# What a critical step says.


@pytest.mark.parametrize(
    ("pressed", "said"),
    [
        (("x",), "CRITICAL and not done: Feel the pulses: a limb without a pulse is lost"),
        (("i", "enter"), "CRITICAL and done incorrectly: Feel the pulses: a limb without a pulse is lost"),
        (("p",), "Marked: Feel the pulses: done after a prompt"),
    ],
)
def test_a_critical_step_that_fails_is_said(desk: Desk, pressed: tuple[str, ...], said: str) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", "space")
        assert "a limb without a pulse is lost" in seat.text("body")
        await seat.press(*pressed)
        assert said in seat.text("speak").replace("\n ", " ")

    observe(desk, scenario, CRITICAL, size=LARGE)


# The order in which it is performed.


def test_steps_are_marked_in_the_order_performed_by_jumping(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", "f")
        await seat.type("puls")
        assert seat.place == "observe"
        await seat.press("space")
        await seat.press("g", "p")

    session = observe(desk, scenario)

    assert marks(session) == [("wash", "done"), ("pulse", "done"), ("look", "done after a prompt")]
    assert session.state.current == "grip", "what is marked already is passed over"


def test_a_search_that_is_left_or_finds_nothing_stays_where_it_was(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", "f")
        await seat.pilot.press("escape")
        assert seat.place == "observe"
        await seat.press("f")
        await seat.type("nothing like it")
        assert "Nothing is chosen." in seat.text("speak")
        assert seat.place == "observe"

    assert observe(desk, scenario).state.current == "look"


def test_arrows_move_without_marking(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("down", "right", "up", "left", "up")
        assert "This is the first step." in seat.text("speak")
        await seat.press("s")

    session = observe(desk, scenario)

    assert marks(session) == []
    assert session.state.current == "look"
    assert [event.step for event in session.events if isinstance(event, Moved)] == [
        "look",
        "pulse",
        "look",
        "wash",
        "look",
    ]


# Several at once.


def test_one_mark_is_for_several_steps_in_their_order(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("b", "down", "down")
        assert seat.place == "marking"
        assert "The next mark is for 3 steps." in seat.text("body")
        await seat.press("x")
        assert "Marked: 3 steps: not done" in seat.text("speak")

    session = observe(desk, scenario)

    assert marks(session) == [("wash", "not done"), ("look", "not done"), ("pulse", "not done")]
    assert session.state.current == "grip"


def test_one_key_takes_back_what_one_key_marked(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("p", "b", "down", "space", "u")
        assert "Taken back: 2 marks" in seat.text("speak")

    session = observe(desk, scenario)

    assert standing(session) == {"wash": "done after a prompt"}
    assert session.state.current == "look"
    assert sum(isinstance(event, Retracted) for event in session.events) == 2


def test_of_several_those_marked_before_keep_their_mark(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("down", "x", "up", "up", "b", "down", "down")
        assert "The next mark is for 2 of 3 steps; 1 has one and keeps it." in seat.text("body")
        await seat.press("space")
        assert "Marked: 2 steps: done; 1 marked before stays as it is" in seat.text("speak")

    session = observe(desk, scenario)

    assert standing(session) == {"wash": "done", "look": "not done", "pulse": "done"}


def test_how_many_of_several_are_marked_how_is_said(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("x", "down", "b", "down", "space")
        assert "Marked: 1 step: done; 1 step: not applicable" in seat.text("speak")
        await seat.press("escape", "up", "up", "b", "down", "down")
        assert "The next mark is for 1 of 3 steps; 2 have one and keep it." in seat.text("body")
        await seat.press("p")
        assert "Marked: 1 step: done after a prompt; 2 marked before" in seat.text("speak")
        await seat.press("escape", "up", "up", "b", "down")
        assert "All 2 are marked already and stay as they are." in seat.text("body")

    session = observe(desk, scenario)

    assert standing(session) == {
        "wash": "not done",
        "look": "done after a prompt",
        "pulse": "done",
        "grip": "not applicable",
    }


def test_several_can_be_chosen_upwards_and_given_up(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("down", "b", "up")
        assert "The next mark is for 2 steps." in seat.text("body")
        await seat.press("b")
        assert seat.place == "observe"
        await seat.press("b", "up", "space")

    session = observe(desk, scenario)

    assert marks(session) == [("wash", "done"), ("look", "done")]


def test_what_could_not_be_written_has_no_mark_and_can_be_tried_again(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The disk is full after the first of three marks: that one stands, and the same key goes on from it."""
    write = os.write
    written: list[int] = []

    def full(fd: int, data: bytes) -> int:
        if b'kind = "marked"' in data:
            written.append(fd)
            if len(written) == 2:
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return write(fd, data)

    async def scenario(seat: Seat) -> None:
        monkeypatch.setattr(os, "write", full)
        await seat.press("b", "down", "down", "x")
        assert "NOT RECORDED" in seat.text("speak")
        assert "1 of 3 marked" in seat.text("head")
        assert seat.place == "marking"
        await seat.press("x")

    session = observe(desk, scenario)

    assert marks(session) == [("wash", "not done"), ("look", "not done"), ("pulse", "not done")]


# Undo, remarks, the clock.


def test_undo_takes_back_the_last_mark_and_goes_there(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", "x", "u")
        assert "Taken back: Look at the skin: not done" in seat.text("speak")
        await seat.press("u", "u")
        assert "There is nothing to take back." in seat.text("speak")

    session = observe(desk, scenario)

    assert standing(session) == {}
    assert session.state.current == "wash"


def test_typed_words_are_asked_about_before_they_are_taken_back(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("m")
        await seat.type("spoke to the wall")
        assert "Remark kept: spoke to the wall" in seat.text("speak")
        await seat.press("u")
        assert "u again takes back: remark “spoke to the wall”" in seat.text("speak")
        await seat.press("space")
        await seat.press("i")
        await seat.type("one side")
        await seat.press("u")
        assert "u again takes back: Look at the skin: done incorrectly: one side" in seat.text("speak")
        await seat.press("u")

    session = observe(desk, scenario)

    assert standing(session) == {"wash": "done"}
    assert [remark.text for remark in session.state.remarks] == ["spoke to the wall"]


def test_the_clock_runs_against_the_plan_and_stands_still_in_a_pause(desk: Desk) -> None:
    """8 s for the first step, and 30 and 40 s planned for the rest without the conditional one: 78 s."""

    async def scenario(seat: Seat) -> None:
        desk.time.passes(8)
        await seat.press("space")
        assert "total 0:08/2:00" in seat.text("head")
        assert "section 0:00/1:10" in seat.text("head")
        assert "forecast 1:18" in seat.text("head")
        await seat.press("c")
        desk.time.passes(600)
        await seat.press("space")
        assert "total 0:08/2:00" in seat.text("head")
        assert "forecast 1:18" in seat.text("head")

    observe(desk, scenario)


# The end.


def test_the_finish_list_names_what_has_no_mark(desk: Desk) -> None:
    """The common key does nothing there, so that a row of keys cannot go on marking."""

    async def scenario(seat: Seat) -> None:
        await seat.press("space", "down", "x", "space")
        assert seat.place == "unmarked"
        assert "Without a mark: 1." in seat.text("body")
        assert "Look at the skin" in seat.text("body")
        assert "Clean hands" not in seat.text("body")
        await seat.press("space", "space")
        assert seat.place == "unmarked"
        await seat.press("enter")
        assert seat.place == "observe"
        await seat.press("v", "w")
        assert "Every step has a mark." in seat.text("body")

    session = observe(desk, scenario)

    assert standing(session) == {
        "wash": "done",
        "pulse": "not done",
        "grip": "not applicable",
        "look": "could not be seen",
    }
    assert session.state.stage is Stage.RUNNING


def test_an_assessed_performance_does_not_keep_from_the_observer_what_has_no_mark(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", "w")
        assert "Without a mark: 2." in seat.text("body")
        assert "Look at the skin" in seat.text("body")
        assert "Feel the pulses" in seat.text("body")

    observe(desk, scenario, assessed=True)


def test_the_finish_list_says_how_many_more_there_are_than_fit(desk: Desk) -> None:
    """Beside the three steps of the protocol that want a mark, as many again as fill the screen and more."""
    text = PROTOCOL + "".join(
        f'[[section.step]]\nid = "more-{n}"\ntitle = "More {n:02}"\ntechnique = "inspect"\ndo = "Look."\n'
        f'expect = "Even"\nsubject = "place {n}"\nchart = "even"\n'
        for n in range(40)
    )

    async def scenario(seat: Seat) -> None:
        def shown() -> int:
            titles = ("Clean hands", "Look at the skin", "Feel the pulses", "More ")
            lines = seat.text("body").splitlines()
            return sum(line.lstrip(" ▸").startswith(titles) for line in lines)

        await seat.press("w")
        assert "Without a mark: 43." in seat.text("body")
        assert f"{43 - shown()} more below" in seat.text("body")
        await seat.press(*["down"] * 42)
        assert "▸  More 39" in seat.text("body")
        assert f"{43 - shown()} more above" in seat.text("body")
        assert "below" not in seat.text("body")

    observe(desk, scenario, text)


def test_finishing_opens_a_document_that_is_no_note(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", "w", "y")
        assert seat.place == "note"
        assert not seat.text("head").lstrip().startswith("Note")
        await seat.press("n")
        assert not seat.text("head").lstrip().startswith("Note")

    assert observe(desk, scenario).state.stage is Stage.FINISHED


def test_a_finished_observation_is_read_from_home_and_has_no_note(desk: Desk) -> None:
    observe(desk, keys("space", "w", "y"))

    async def scenario(seat: Seat) -> None:
        assert "observation, practice" in seat.text("body")
        for opened in ("n", "enter"):
            await seat.press("pagedown", "pagedown", opened)
            assert seat.place == "note"
            assert not seat.text("head").lstrip().startswith("Note")
            await seat.press("q")

    desk.run(home, scenario)


# From home, and back to it.


def test_an_observation_is_prepared_at_home(desk: Desk) -> None:
    desk.loaded()

    async def scenario(seat: Seat) -> None:
        await seat.press("enter")
        await seat.type("P-014")
        await seat.type("S-07")
        await seat.press("down")
        assert "examination: you examine" in seat.text("body")
        await seat.press("space")
        assert "observation: you mark" in seat.text("body")
        assert seat.place == "typing", "an observer has a code"
        await seat.type("T-1")
        await seat.press("down", "down", "space")
        assert "Assessed" in seat.text("body")
        await seat.press("a", "b")
        assert seat.place == "observe"
        assert "Observing S-07" in seat.text("head")

    desk.run(home, scenario)

    (summary,) = store.summaries()
    header = store.load(summary.path).session.header
    assert (header.participant, header.examiner, header.observer) == ("P-014", "S-07", "T-1")
    assert (header.mode, header.assessed) == (OBSERVATION, True)


def test_an_observer_need_not_know_who_is_examined_but_who_examines(desk: Desk) -> None:
    loaded = desk.loaded()

    async def scenario(seat: Seat) -> None:
        await seat.pilot.press("escape")
        await seat.press("down", "down", "down", "space")
        assert "Examiner code" in seat.text()
        await seat.type("S-07")
        assert seat.place == "typing", "the observer's code is next"
        await seat.pilot.press("escape")
        await seat.press("b")
        assert "Observer code is needed." in seat.text("speak")
        await seat.press("enter")
        await seat.type("Anna Example")
        assert "looks like a name" in seat.text("speak")
        await seat.pilot.press("ctrl+u")
        await seat.type("T-1")
        await seat.press("a", "b")
        assert seat.place == "observe"

    desk.run(lambda _: PrepareScreen(loaded), scenario)


def test_an_observer_with_the_code_of_the_examiner_is_asked_about_once(desk: Desk) -> None:
    loaded = desk.loaded()

    async def scenario(seat: Seat) -> None:
        await seat.type("P-014")
        await seat.type("S-07")
        await seat.press("down", "space")
        await seat.type("s-07")
        await seat.press("a", "b")
        assert "the observer code is the examiner code" in seat.text("speak")
        assert seat.place == "prepare"
        await seat.press("b")
        assert seat.place == "observe"

    desk.run(lambda _: PrepareScreen(loaded), scenario)


def test_an_examination_that_was_prepared_to_be_observed_names_no_observer(desk: Desk) -> None:
    loaded = desk.loaded()

    async def scenario(seat: Seat) -> None:
        await seat.type("P-014")
        await seat.type("S-07")
        await seat.press("down", "space")
        await seat.type("T-1")
        await seat.press("down", "space")
        assert "Observer code" not in seat.text("body")
        await seat.press("a", "b")
        assert seat.place == "step"

    desk.run(lambda _: PrepareScreen(loaded), scenario)

    (summary,) = store.summaries()
    header = store.load(summary.path).session.header
    assert (header.mode, header.observer, header.assessed) == (EXAMINATION, "", False)


def test_an_observation_left_unfinished_goes_on_where_it_stood(desk: Desk) -> None:
    observe(desk, keys("space", "x", "q"))

    async def scenario(seat: Seat) -> None:
        assert "observation, practice" in seat.text("body")
        await seat.press("enter")
        assert seat.place == "observe"
        assert "2 of 3 marked" in seat.text("head")
        await seat.press("u", "p")

    desk.run(home, scenario)

    (summary,) = store.summaries()
    assert standing(store.load(summary.path).session) == {"wash": "done", "look": "done after a prompt"}


def test_a_session_of_a_mode_to_come_is_explained_and_left_alone(desk: Desk) -> None:
    observe(desk, keys("space", "q"), mode=EXAMINATION)
    (summary,) = store.summaries()
    foreign = summary.path.read_bytes().replace(b'mode = "examination"', b'mode = "by telephone"')
    summary.path.write_bytes(foreign)

    async def scenario(seat: Seat) -> None:
        await seat.press("enter")
        assert seat.place == "home"
        assert "this session's mode is 'by telephone', which cannot be gone on with here" in seat.text()

    desk.run(home, scenario, LARGE)

    assert summary.path.read_bytes() == foreign


# How it looks.


@pytest.mark.parametrize("size", [(60, 20), SMALL, LARGE])
def test_the_step_and_the_ways_to_mark_it_are_in_sight_at_every_step(
    desk: Desk, size: tuple[int, int]
) -> None:
    text = HEAD_AND_NECK.read_text(encoding="utf-8").replace('id = "head-and-neck"', 'id = "hand"', 1)
    titles = [step.title for step in desk.loaded(text).protocol.steps[:40]]

    async def scenario(seat: Seat) -> None:
        for title in titles:
            assert f"▸ {title}"[:34] in seat.text("body")
            assert "Expect" in seat.text("body") or "Do" in seat.text("body")
            await seat.press("down")
        for wanted in ("space done", "p after a prompt", "i incorrectly", "x not done", "? keys", "q leave"):
            assert wanted in seat.text("foot")

    observe(desk, scenario, text, size=size)


def test_the_clock_line_moves_by_itself(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        screen = seat.app.screen
        assert hasattr(screen, "tick")
        desk.time.passes(7)
        screen.tick()
        assert "total 0:07" in seat.text("head")

    observe(desk, scenario)


# Assessed: no hints before the end.


@pytest.mark.parametrize(("assessed", "is_hinted"), [(False, True), (True, False)])
def test_an_assessed_examination_gives_no_hints(desk: Desk, assessed: bool, is_hinted: bool) -> None:
    """Nothing of what should have come first, what belongs together, what was left out; the rest is said."""

    async def scenario(seat: Seat) -> None:
        await seat.press("space", "right")
        assert ("Not yet" in seat.text("body")) is is_hinted
        await seat.press("left", "2", "r", "space", "1", "a", "enter")
        assert ("wound that closes a vessel" in seat.text("speak")) is is_hinted
        await seat.press("g")
        assert ("wound that closes a vessel" in seat.text("body")) is is_hinted
        await seat.press("escape", "w")
        assert "TELL AT ONCE: Not felt" in seat.text("body"), "who was told is still asked"
        assert ("Half recorded" in seat.text("body")) is is_hinted

    observe(desk, scenario, IN_PATTERN, size=LARGE, mode=EXAMINATION, assessed=assessed)


def test_an_assessed_examination_is_finished_without_a_list_of_gaps(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("space", "w")
        assert "y finishes for good" in seat.text("body")
        assert "Look at the skin" not in seat.text("body")
        await seat.press("y")
        assert seat.place == "note"

    assert observe(desk, scenario, mode=EXAMINATION, assessed=True).state.stage is Stage.FINISHED


def test_an_observation_survives_being_closed_in_the_middle_of_several_marks(desk: Desk) -> None:
    """Each mark is an event of its own: whatever is in the file stands, the rest has no mark."""
    session = observe(desk, keys("b", "down", "down", "x", "q"))
    (summary,) = store.summaries()
    data = summary.path.read_bytes()
    third = next(event.n for event in session.events if isinstance(event, Marked) and event.step == "pulse")
    summary.path.write_bytes(data[: data.index(f"# end of event {third}\n".encode())])

    recorder = resume(summary.path, desk.time.clocks)
    recorder.leave()

    assert standing(recorder.session) == {"wash": "not done", "look": "not done"}
