"""Choosing a rehearsal by keys: what can be begun begins as its file then says; what cannot says why."""

from collections.abc import Awaitable, Callable, Sequence
from pathlib import Path

import pytest

from checklist.practice.library import made
from checklist.practice.rehearsal import scope, task_of
from checklist.practice.rehearsing import patient_of_seed
from checklist.protocol.library import load
from checklist.session import store
from checklist.session.opening import Preparation, begin
from checklist.session.session import OBSERVATION, REHEARSAL, Header
from checklist.tui.app import ChecklistApp
from checklist.tui.home import HomeScreen
from checklist.tui.rehearsals import RehearsalsScreen
from checklist.tui.screen import DrawnScreen
from tests.desk import HEAD_AND_NECK, SMALL, Desk, Seat, desk
from tests.helpers import PROTOCOL

__all__ = ["desk"]

Scenario = Callable[[Seat], Awaitable[None]]
CASE = """format = 1
id = "sore-hand"
title = "The open wound"
protocol = "hand"
story = "Invented: somebody holds one hand."

[[truth]]
step = "look"
side = "left"
finding = "wound"
"""


def choose(
    desk: Desk, scenario: Scenario, text: str = PROTOCOL, name: str = "hand", size: tuple[int, int] = SMALL
) -> None:
    """Open the list of a protocol, and play a scenario."""
    loaded = desk.loaded(text, name)

    def first(_: ChecklistApp) -> DrawnScreen:
        return RehearsalsScreen(loaded)

    desk.run(first, scenario, size)


def begun(desk: Desk, *keys: str, text: str = PROTOCOL, name: str = "hand") -> Header:
    """Press keys in the list, and return the header of the session that they began."""
    before = {each.path for each in store.summaries()}

    async def scenario(seat: Seat) -> None:
        await seat.press(*keys)

    choose(desk, scenario, text, name)
    (path,) = {each.path for each in store.summaries()} - before
    return store.load(path).session.header


def row(seat: Seat, text: str) -> str:
    """Return the line of the list that holds a text."""
    (line,) = [line for line in seat.text("body").splitlines() if text in line]
    return line


async def go_to(seat: Seat, text: str) -> None:
    """Move the mark to the line that holds a text."""
    await seat.press(*["up"] * 20)
    for _ in range(20):
        if "▸" in row(seat, text):
            return
        await seat.press("down")
    raise AssertionError(seat.text("body"))


def examined(desk: Desk, *keys: str, examiner: str = "S-07") -> None:
    """Examine by the keys, under a code, a minute later than what was before."""
    desk.time.passes(60)
    preparation = Preparation(participant="P-014", examiner=examiner)
    recorder = begin(desk.loaded(), preparation, desk.time.clocks)

    def first(app: ChecklistApp) -> DrawnScreen:
        from checklist.tui.examine import ExamineScreen

        app.recorder = recorder
        return ExamineScreen(recorder)

    async def scenario(seat: Seat) -> None:
        await seat.press(*keys)

    desk.run(first, scenario)


def session(desk: Desk, *, is_finished: bool = True, not_done: Sequence[str] = (), **changes: str) -> None:
    """Begin a session in which nothing is done, a minute after what was before and before what comes.

    Of sessions begun in one second, nobody could say which is the latest.
    """
    desk.time.passes(60)
    usual = {"participant": "", "examiner": "S-07"}
    recorder = begin(desk.loaded(), Preparation(**(usual | changes)), desk.time.clocks)  # type: ignore[arg-type]
    for step in not_done:
        recorder.mark(step, "not done")
    if is_finished:
        recorder.finish()
    recorder.leave()
    desk.time.passes(60)


def a_case(desk: Desk, text: str = CASE) -> Path:
    path = desk.folder / "cases" / "sore-hand.toml"
    path.parent.mkdir()
    path.write_text(text, encoding="utf-8")
    return path


# Opening and leaving.


def test_home_opens_the_list_and_escape_goes_home_without_a_trace(desk: Desk) -> None:
    desk.loaded()

    async def scenario(seat: Seat) -> None:
        await seat.press("r")
        assert "Rehearse: Hand" in seat.text("head")
        assert "NO PATIENT" in seat.text("head")
        for shown in ("Section", "Answers", "Code", "Recall the order", "Recall the content", "Progress"):
            assert shown in seat.text("body")
        await seat.press("escape")
        assert seat.place == "home"

    desk.run(lambda _: HomeScreen(), scenario)

    assert store.summaries() == []


def test_all_that_can_be_done_stands_on_the_smallest_usual_screen(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        assert "more lines below" not in seat.text("body")
        assert "quiet-left-ear" in seat.text("body")
        assert "Progress" in seat.text("body")
        foot = seat.text("foot")
        for key in ("Enter begin", "s section", "t said or typed", "c code", "w what next", "p progress"):
            assert key in foot

    choose(desk, scenario, HEAD_AND_NECK.read_text(encoding="utf-8"), "head-and-neck")


# What is begun.


def test_the_first_row_begins_the_whole_order_said_aloud_without_a_code(desk: Desk) -> None:
    header = begun(desk, "enter")

    assert (header.mode, header.task, header.examiner) == (REHEARSAL, "order", "")


@pytest.mark.parametrize(
    ("keys", "task"),
    [
        (("t", "enter"), "order typed=yes"),
        (("t", "t", "enter"), "order"),
        (("s", "enter"), "order opening"),
        (("s", "s", "enter"), "order hand"),
        (("s", "s", "s", "enter"), "order"),
        (("left", "enter"), "order hand"),
        (("s", "t", "enter"), "order opening typed=yes"),
        (("down", "down", "down", "enter"), "left-out"),
        (("t", "down", "down", "down", "enter"), "left-out"),
        (("down", "down", "down", "down", "enter"), "content"),
        (("s", "s", "down", "down", "down", "down", "space"), "content hand"),
    ],
)
def test_settings_and_row_are_what_is_rehearsed(desk: Desk, keys: tuple[str, ...], task: str) -> None:
    assert begun(desk, *keys).task == task


def test_a_random_start_lies_in_the_chosen_section(desk: Desk) -> None:
    text = HEAD_AND_NECK.read_text(encoding="utf-8")
    header = begun(desk, "left", "left", "down", "enter", text=text, name="head-and-neck")

    task = task_of(header.task)
    assert task is not None
    protocol = desk.loaded(text, "head-and-neck").protocol
    assert task.section == protocol.sections[-2].id
    assert task.start in {step.id for step in scope(protocol, task.section)}


def test_too_few_steps_for_a_random_start_begin_nothing(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("down")
        assert "too few steps to draw one" in row(seat, "random step")
        await seat.press("enter")
        assert "too few steps to draw one" in seat.text("speak")
        assert seat.place == "rehearsals"

    choose(desk, scenario)

    assert store.summaries() == []


def test_a_section_of_conditional_steps_alone_has_content_and_no_order(desk: Desk) -> None:
    text = PROTOCOL.replace(
        'id = "wash"\ntitle = "Clean hands"', 'id = "wash"\nonly_if = "asked"\ntitle = "Clean hands"'
    )

    async def scenario(seat: Seat) -> None:
        await seat.press("s")
        for name in ("Recall the order  ", "random step", "Around what", "A run with gaps"):
            assert "conditional steps only" in row(seat, name)
        assert "conditional steps only" not in row(seat, "Recall the content")

    choose(desk, scenario, text)


# Around what was left out.


def test_what_the_latest_examination_left_out_is_counted_dated_and_rehearsed(desk: Desk) -> None:
    examined(desk, "space", "w", "y")

    async def scenario(seat: Seat) -> None:
        assert "2 steps, examination of 2026-03-02" in row(seat, "Around what was left out last time")

    choose(desk, scenario)
    header = begun(desk, "down", "down", "enter")
    assert (header.task, header.examiner) == ("gaps around=look,pulse", "S-07")


def test_what_was_left_out_is_counted_in_the_chosen_section(desk: Desk) -> None:
    examined(desk, "space", "w", "y")

    async def scenario(seat: Seat) -> None:
        await go_to(seat, "Around what")
        await seat.press("s")
        assert "none of it in this section" in row(seat, "Around what")
        await seat.press("enter")
        assert seat.place == "rehearsals"
        await seat.press("s")
        assert "2 steps" in row(seat, "Around what")

    choose(desk, scenario)


def test_only_the_latest_says_what_was_left_out(desk: Desk) -> None:
    examined(desk, "space", "w", "y")
    examined(desk, "space", "space", "space", "w", "y")

    async def scenario(seat: Seat) -> None:
        assert "nothing left out on 2026-03-02" in row(seat, "Around what")

    choose(desk, scenario)


@pytest.mark.parametrize(
    "later",
    [
        {"participant": "P-014", "is_finished": False},
        {"participant": "P-014", "examiner": "S-08"},
        {"mode": REHEARSAL, "task": "content"},
        {"mode": REHEARSAL, "task": "patient", "case": "seed 1"},
    ],
    ids=["unfinished", "of somebody else", "of the content", "simulated patient"],
)
def test_other_sessions_say_nothing_of_what_i_left_out(desk: Desk, later: dict[str, str]) -> None:
    examined(desk, "space", "space", "w", "y")
    session(desk, **later)  # type: ignore[arg-type]

    async def scenario(seat: Seat) -> None:
        await seat.press("c", "ctrl+u")
        await seat.type("S-07")
        assert "1 step, examination" in row(seat, "Around what")

    choose(desk, scenario)


def test_an_observation_of_me_says_what_was_left_out(desk: Desk) -> None:
    session(desk, mode=OBSERVATION, observer="T-1", not_done=("look", "pulse"))

    async def scenario(seat: Seat) -> None:
        assert "nothing finished without a code yet" in row(seat, "Around what"), "its code is not offered"
        await seat.press("c")
        await seat.type("s-07")
        assert "2 steps, observation of 2026-03-02" in row(seat, "Around what")

    choose(desk, scenario)


def test_a_rehearsal_of_the_order_says_what_was_not_recalled(desk: Desk) -> None:
    async def miss(seat: Seat) -> None:
        await seat.press("enter", "space", "space", "space", "x", "w", "y")

    choose(desk, miss)

    async def scenario(seat: Seat) -> None:
        assert "1 step, rehearsal of 2026-03-02" in row(seat, "Around what")

    choose(desk, scenario)


def test_a_session_that_cannot_be_read_is_passed_over(desk: Desk) -> None:
    examined(desk, "space", "space", "w", "y")
    session(desk, participant="P-014")
    path = store.find()
    damaged = path.read_text(encoding="utf-8").replace("n = 1\n", "n = 8\n", 1)
    path.write_text(damaged, encoding="utf-8")
    with pytest.raises(store.SessionError):
        store.load(path)

    async def scenario(seat: Seat) -> None:
        assert "1 step, examination" in row(seat, "Around what")

    choose(desk, scenario)


# The code.


def test_the_code_of_the_latest_own_session_is_offered(desk: Desk) -> None:
    session(desk, participant="P-014", examiner="S-06")
    session(desk, mode=REHEARSAL, task="content", examiner="S-07")
    session(desk, mode=REHEARSAL, task="content", examiner="")
    session(desk, mode=OBSERVATION, examiner="S-99", observer="S-07")

    assert begun(desk, "enter").examiner == "S-07"


def test_a_code_is_typed_and_may_be_left_empty(desk: Desk) -> None:
    session(desk, participant="P-014", examiner="S-06")

    async def scenario(seat: Seat) -> None:
        await seat.press("c", "ctrl+u")
        await seat.type("S-12")
        assert "S-12" in row(seat, "Code ")
        await seat.press("c", "ctrl+u", "enter")
        assert "none" in row(seat, "Code ")
        await seat.press("enter")

    choose(desk, scenario)

    assert store.load(store.find()).session.header.examiner == ""


def test_a_code_that_looks_like_a_name_is_asked_about_and_again_at_the_begin(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press("c")
        await seat.type("Maria Example")
        assert "looks like a name. Use a made-up code; Enter again keeps it." in seat.text("speak")
        assert seat.place == "typing", "the line stays open"
        await seat.press("enter")
        assert "Maria Example" in row(seat, "Code ")
        await seat.press("t", "enter")
        assert "Enter again begins, but: code looks like a name" in seat.text("speak")
        assert store.summaries() == []
        await seat.press("enter")

    choose(desk, scenario)

    (summary,) = store.summaries()
    assert store.load(summary.path).session.header.examiner == "Maria Example"


def test_an_offered_code_that_looks_like_a_name_is_asked_about_before_it_begins(desk: Desk) -> None:
    session(desk, participant="P-014", examiner="Maria Example")

    async def scenario(seat: Seat) -> None:
        await seat.press("enter")
        assert seat.place == "rehearsals"
        await seat.press("down", "up", "enter")
        assert "Enter again begins" in seat.text("speak"), "another key takes the question back"

    choose(desk, scenario)

    assert len(store.summaries()) == 1


def test_what_was_set_is_still_there_after_going_home(desk: Desk) -> None:
    desk.loaded()

    async def scenario(seat: Seat) -> None:
        await seat.press("r", "s", "t", "c")
        await seat.type("S-12")
        await seat.press("escape", "r")
        assert "Opening" in row(seat, "Section ")
        assert "typed" in row(seat, "Answers ")
        assert "S-12" in row(seat, "Code ")

    desk.run(lambda _: HomeScreen(), scenario)


def test_a_section_that_is_gone_is_no_longer_set(desk: Desk) -> None:
    desk.loaded()

    async def scenario(seat: Seat) -> None:
        await seat.press("r", "s", "escape")
        desk.loaded(PROTOCOL.replace('id = "opening"', 'id = "begin"'))
        await seat.press("r")
        assert "all 2 sections" in row(seat, "Section ")

    desk.run(lambda _: HomeScreen(), scenario)


# Simulated patients.


def test_any_patient_is_drawn_by_a_seed(desk: Desk) -> None:
    text = HEAD_AND_NECK.read_text(encoding="utf-8")
    header = begun(desk, *["down"] * 5, "enter", text=text, name="head-and-neck")

    assert header.task == "patient"
    word, number, digest = header.case.split()
    assert digest.startswith("#")
    assert word == "seed" and 0 <= int(number) < 10_000


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_patient_of_a_seed_is_the_one_that_its_session_is_judged_by(seed: int) -> None:
    protocol = load(HEAD_AND_NECK)

    assert patient_of_seed(protocol, seed).case == made(protocol, seed)


def test_without_patterns_no_patient_can_be_made(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        await go_to(seat, "Simulated patient: any")
        await seat.press("enter")
        assert "the protocol has no patterns" in seat.text("speak")

    choose(desk, scenario)

    assert store.summaries() == []


def test_a_case_is_named_by_its_id_and_begins_as_such(desk: Desk) -> None:
    a_case(desk)

    async def scenario(seat: Seat) -> None:
        assert "own" in row(seat, "Simulated patient: sore-hand")
        assert "wound" not in seat.text(), "its title would tell what to find"
        assert "quiet-left-ear" not in seat.text(), "cases of other protocols are not listed"
        await go_to(seat, "sore-hand")
        await seat.press("enter")

    choose(desk, scenario)

    header = store.load(store.find()).session.header
    assert (header.mode, header.task) == (REHEARSAL, "patient")
    assert header.case.startswith("sore-hand #")


def test_a_patient_does_not_go_with_one_section(desk: Desk) -> None:
    a_case(desk)

    async def scenario(seat: Seat) -> None:
        await go_to(seat, "sore-hand")
        await seat.press("s", "enter")
        assert "a patient takes the whole protocol" in seat.text("speak")

    choose(desk, scenario)

    assert store.summaries() == []


def test_a_case_that_cannot_be_used_says_why(desk: Desk) -> None:
    a_case(desk, CASE.replace('finding = "wound"', 'finding = "wounds"'))

    async def scenario(seat: Seat) -> None:
        await go_to(seat, "sore-hand")
        await seat.press("enter")
        assert "step 'look' has no finding 'wounds'" in seat.text("speak")

    choose(desk, scenario)

    assert store.summaries() == []


# Looking back.


@pytest.mark.parametrize(
    ("key", "text", "title"),
    [("w", "What to practise next", "What to practise in 20 minutes"), ("p", "Progress", "Progress")],
)
def test_looking_back_is_a_row_and_a_key(desk: Desk, key: str, text: str, title: str) -> None:
    async def by_key(seat: Seat) -> None:
        await seat.press(key)
        assert f"{title}: Hand" in seat.text("head")

    async def by_row(seat: Seat) -> None:
        await go_to(seat, text)
        await seat.press("enter")
        assert f"{title}: Hand" in seat.text("head")

    choose(desk, by_key)
    choose(desk, by_row)


def test_looking_back_is_on_the_sessions_under_the_code(desk: Desk) -> None:
    session(desk, participant="P-014", examiner="S-06")
    session(desk, participant="P-014", examiner="S-07")

    async def scenario(seat: Seat) -> None:
        await seat.press("c", "ctrl+u")
        await seat.type("S-06")
        await seat.press("p")
        assert "S-06" in seat.text("head")

    choose(desk, scenario)
