"""A wish becomes a task, or one line that says why it cannot; what is drawn follows from the seed."""

from dataclasses import replace

import pytest

from checklist.practice.rehearsal import CONTENT, GAPS, LEFT_OUT, ORDER, Task
from checklist.practice.tasks import (
    RANDOM,
    TaskError,
    Wish,
    can_draw,
    here,
    label,
    missed,
    nearest_steps,
    task,
)
from checklist.protocol.library import load
from checklist.session.session import Session
from tests.desk import HEAD_AND_NECK
from tests.helpers import PROTOCOL, new_session, protocol
from tests.practice_sessions import done_in_order, row_of

HAND = protocol()
NO_ORDER = PROTOCOL.replace(
    'id = "wash"\ntitle = "Clean hands"', 'id = "wash"\nonly_if = "asked"\ntitle = "Clean hands"'
)
ROW = row_of(7)


def error(wish: Wish) -> str:
    with pytest.raises(TaskError) as caught:
        task(HAND, wish, "seed")
    return str(caught.value)


@pytest.mark.parametrize(
    ("wish", "expected"),
    [
        (Wish(), Task(kind="order")),
        (Wish(section="hand", is_typed=True), Task(kind="order", section="hand", is_typed=True)),
        (Wish(begin_at="look"), Task(kind="order", start="look")),
        (Wish(kind=GAPS, around=("pulse", "foot", "grip")), Task(kind="gaps", around=("pulse", "grip"))),
        (Wish(kind=CONTENT, section="hand"), Task(kind="content", section="hand")),
        (Wish(kind=LEFT_OUT, is_typed=True), Task(kind="left-out")),
    ],
)
def test_a_wish_becomes_a_task(wish: Wish, expected: Task) -> None:
    assert task(HAND, wish, "seed") == expected


def test_a_random_start_follows_from_the_seed_and_leaves_five_steps_at_least() -> None:
    starts = [task(ROW, Wish(begin_at=RANDOM), str(number)).start for number in range(60)]

    assert starts == [task(ROW, Wish(begin_at=RANDOM), str(number)).start for number in range(60)]
    assert set(starts) == {"s0", "s1", "s2"}


def test_there_is_something_to_draw_where_more_than_one_start_is_possible() -> None:
    assert can_draw(row_of(6), "")
    assert not can_draw(row_of(5), "")


def test_a_section_that_is_not_there_is_named_with_those_that_are() -> None:
    assert error(Wish(section="foot")) == "this protocol has no section 'foot'; it has opening, hand"


def test_a_section_of_conditional_steps_has_no_order_but_content() -> None:
    found = protocol(NO_ORDER)

    with pytest.raises(TaskError, match="every step there depends on what is found"):
        task(found, Wish(section="opening"), "seed")
    assert task(found, Wish(kind=CONTENT, section="opening"), "seed").kind == CONTENT


@pytest.mark.parametrize(
    ("typed", "section", "message"),
    [
        ("puls", "", "there is no step 'puls' to begin at (did you mean 'pulse'?)"),
        ("the skin", "", "there is no step 'the skin' to begin at (did you mean 'look'?)"),
        (
            "liver",
            "",
            "there is no step 'liver' to begin at (the protocol's file gives the id of each step)",
        ),
        ("grip", "", "there is no step 'grip' to begin at: it depends on what is found"),
        (
            "wash",
            "hand",
            "there is no step 'wash' to begin at: it is in section 'opening', not in 'hand'",
        ),
    ],
)
def test_a_start_that_cannot_be_says_which_could(typed: str, section: str, message: str) -> None:
    assert error(Wish(begin_at=typed, section=section)) == message


def test_three_near_ids_at_most_are_offered() -> None:
    steps = load(HEAD_AND_NECK).steps

    near = nearest_steps("inspect-eyelid", steps)

    assert near[0] == "inspect-eyelids"
    assert 1 < len(near) <= 3


def test_gaps_need_a_step_that_is_asked_for_here() -> None:
    assert error(Wish(kind=GAPS, around=("pulse",), section="opening")) == (
        "none of these steps is asked for here"
    )
    assert here(HAND, "hand", ("wash", "pulse", "grip", "foot")) == ("pulse", "grip")


def test_what_an_earlier_session_left_out_is_found_or_its_lack_is_said() -> None:
    earlier = done_in_order(ROW, [0, 1, 3, 4, 6])

    assert missed(ROW, "", earlier, "x.toml") == ("s2", "s5")
    with pytest.raises(TaskError, match=r"^x\.toml left out no step that is asked for here$"):
        missed(ROW, "", done_in_order(ROW, range(7)), "x.toml")
    other: Session = new_session()
    with pytest.raises(TaskError, match=rf"^x\.toml is of protocol 'hand', not '{ROW.id}'$"):
        missed(ROW, "", other, "x.toml")


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("order", "rehearsal: order"),
        ("order typed=yes", "rehearsal: order, typed"),
        ("order eyes from=look", "rehearsal: order, one section, from a later step"),
        ("gaps around=look,pulse", "rehearsal: around some steps"),
        ("left-out", "rehearsal: what was left out"),
        ("content hand", "rehearsal: content, one section"),
        ("patient", "simulated patient"),
        ("of a later version", "rehearsal"),
        ("", "rehearsal"),
    ],
)
def test_a_task_is_said_in_plain_words(words: str, expected: str) -> None:
    assert label(words) == expected


def test_the_order_is_what_is_wanted_when_nothing_is_said() -> None:
    assert replace(Wish(), kind=ORDER) == Wish()
