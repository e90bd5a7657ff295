"""Order of a performance: what moved, how scrambled it was, which rules of order were broken."""

import math
from itertools import combinations, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import kendalltau

from checklist.practice.order import inversions, longest_run, order, planned_ranks, tau_b
from tests.note_sessions import Script, differs, not_done, same
from tests.practice_sessions import (
    MOUTH_AND_NECK,
    done_in_order,
    examined,
    mark,
    observed,
    row_of,
    visit,
)

ORDERS = [
    ([0, 2, 1, 3, 4], 1, 0.8, 4),
    ([1, 2, 3, 4, 0], 4, 0.2, 4),
    ([5, 0, 1, 2, 3, 4], 5, 1 / 3, 5),
    ([4, 3, 2, 1, 0], 10, -1.0, 1),
    ([0, 1, 2, 3, 4], 0, 1.0, 5),
]
"""Order, inversions D, tau = 1 - 4D/(n(n-1)), longest run; each by hand from its definition."""


@pytest.mark.parametrize(("done", "wrong", "tau", "run"), ORDERS)
def test_an_order_has_its_known_figures(done: list[int], wrong: int, tau: float, run: int) -> None:
    found = order(done_in_order(row_of(len(done)), done))

    assert found.inversions == wrong
    assert found.tau == pytest.approx(tau, abs=1e-9)
    assert len(found.moved) == len(done) - run
    assert found.pairs == math.comb(len(done), 2)


@pytest.mark.parametrize(
    ("ranks", "length"),
    [
        # The first two are textbook examples, of which the second has an equal pair: 5 6 6 9 is no longer.
        ([0, 8, 4, 12, 2, 10, 6, 14, 1, 9, 5, 13, 3, 11, 7, 15], 6),
        ([5, 2, 8, 6, 3, 6, 9, 7], 4),
        ([3, 3, 3], 3),
        ([], 0),
    ],
)
def test_the_longest_run_has_its_known_length(ranks: list[int], length: int) -> None:
    assert len(longest_run(ranks)) == length


@given(st.lists(st.integers(0, 7), max_size=10))
def test_the_longest_run_never_falls_and_nothing_longer_does(ranks: list[int]) -> None:
    run = longest_run(ranks)
    best = max(
        size
        for size in range(len(ranks) + 1)
        for chosen in combinations(ranks, size)
        if all(a <= b for a, b in pairwise(chosen))
    )

    assert list(run) == sorted(set(run))
    assert all(ranks[a] <= ranks[b] for a, b in pairwise(run))
    assert len(run) == best


@pytest.mark.parametrize(
    ("first", "second", "tau"),
    [
        ([12, 2, 1, 12, 2], [1, 4, 7, 1, 0], -0.4714045),  # the example in SciPy's documentation
        ([1, 2, 2, 4, 5], [1, 2, 3, 4, 5], 0.948683),
    ],
)
def test_tau_b_has_its_published_values(first: list[int], second: list[int], tau: float) -> None:
    assert tau_b(first, second) == pytest.approx(tau, abs=1e-6)


@given(st.lists(st.tuples(st.integers(0, 9), st.integers(0, 9)), min_size=2, max_size=40))
def test_tau_b_is_that_of_a_statistical_library(pairs: list[tuple[int, int]]) -> None:
    first, second = zip(*pairs, strict=True)
    if len(set(first)) == 1 or len(set(second)) == 1:
        assert tau_b(first, second) is None
    else:
        assert tau_b(first, second) == pytest.approx(kendalltau(first, second).statistic, abs=1e-9)


@given(st.permutations(range(9)))
def test_inversions_and_tau_of_a_permutation_agree(done: list[int]) -> None:
    wrong = sum(a > b for a, b in combinations(done, 2))

    assert inversions(done) == wrong
    assert tau_b(done, range(9)) == pytest.approx(1 - 4 * wrong / (9 * 8), abs=1e-9)
    assert tau_b(done, range(9)) == pytest.approx(kendalltau(done, range(9)).statistic, abs=1e-9)


@pytest.mark.parametrize("done", [[], [1]])
def test_fewer_than_two_steps_have_no_correlation(done: list[int]) -> None:
    found = order(done_in_order(row_of(3), done))

    assert (found.tau, found.inversions, found.moved) == (None, 0, ())


def test_steps_in_free_order_can_change_places_and_count_as_no_pair() -> None:
    protocol = row_of(4, free=("s1", "s2"))
    found = order(done_in_order(protocol, [0, 2, 1, 3]))

    assert (found.inversions, found.pairs, found.moved) == (0, 5, ())
    # Pairs in order 5, tied in the plan 1: 5 / sqrt(5 × 6), which is all that there can be.
    assert found.tau == pytest.approx(5 / math.sqrt(30))
    assert found.tau_as_planned == pytest.approx(5 / math.sqrt(30))


def test_a_step_between_two_of_a_free_order_keeps_its_place() -> None:
    protocol = row_of(3, free=("s0", "s2"))

    assert planned_ranks(protocol, ["s0", "s1", "s2"]) == (0, 1, 2)
    assert planned_ranks(protocol, ["s2", "s0"]) == (0, 0)


def test_a_broken_rule_names_both_steps_and_its_reason() -> None:
    session = examined()
    [breach] = order(session).breaches

    assert breach.late is not None
    assert (breach.early.step.id, breach.late.step.id) == ("feel", "listen")
    assert breach.why == "pressing first can change what is heard"
    assert (breach.early.clock, breach.late.clock) == (90, 120)
    recorded = {event.n: event for event in session.events}
    assert getattr(recorded[breach.early.event], "step", "") == "feel"


def test_a_rule_is_broken_by_what_came_too_late_or_never() -> None:
    protocol = row_of(3, after={"s2": "s0"})

    [never] = order(done_in_order(protocol, [2, 1])).breaches
    assert (never.early.step.id, never.first.id, never.late) == ("s2", "s0", None)
    assert order(done_in_order(protocol, [1])).breaches == ()
    assert [each.why for each in order(done_in_order(protocol, [2, 0])).breaches] == ["s0 first"]


@pytest.mark.parametrize(
    ("reason", "number"), [("declined", 0), ("unable", 0), ("deferred", 0), ("out of time", 1)]
)
def test_what_was_left_out_for_a_reason_breaks_no_rule(reason: str, number: int) -> None:
    script = Script(row_of(2, after={"s1": "s0"})).start()
    visit(script, "s0", 15, not_done(reason=reason))
    visit(script, "s1", 15)

    assert len(order(script.finish().session).breaches) == number


@pytest.mark.parametrize(
    ("given_mark", "number"), [("not done", 1), ("could not be seen", 0), ("not applicable", 0), ("", 0)]
)
def test_what_an_observer_did_not_see_breaks_no_rule(given_mark: str, number: int) -> None:
    script = Script(row_of(2, after={"s1": "s0"}), mode="observation", observer="O-7").start()
    if given_mark:
        mark(script, "s0", 15, given_mark)
    mark(script, "s1", 15, "done")

    assert len(order(script.finish().session).breaches) == number


def test_the_first_performance_counts_and_not_a_later_one() -> None:
    script = Script(row_of(3)).start()
    for step_id in ("s1", "s0", "s2", "s1"):
        visit(script, step_id, 15, differs(detail="again"))

    assert [each.step.id for each in order(script.session).performed] == ["s1", "s0", "s2"]


def test_what_was_taken_back_refused_or_written_after_the_end_has_no_place() -> None:
    script = Script(row_of(4)).start()
    script.undo(script.record("s1", same(), seconds=5))
    visit(script, "s0", 5)
    visit(script, "s1", 5)
    visit(script, "s2", 5, not_done(reason="declined"))
    script.finish()
    script.amend("s3", same(), away=60, why="forgot the key")

    assert [each.step.id for each in order(script.session).performed] == ["s0", "s1"]


def test_an_amendment_does_not_undo_a_performance() -> None:
    script = Script(row_of(2)).start()
    visit(script, "s0", 5)
    script.finish()
    script.amend("s0", not_done(reason="declined"), away=60, why="wrong key")

    assert [each.step.id for each in order(script.session).performed] == ["s0"]


def test_marks_give_the_order_of_an_observation() -> None:
    assert [each.step.id for each in order(observed()).performed] == [
        "hands",
        "identity",
        "look",
        "feel",
        "hands-after",
        "thank",
    ]


def test_a_mark_changed_to_not_done_takes_the_step_out() -> None:
    script = Script(MOUTH_AND_NECK, mode="observation", observer="O-7").start()
    mark(script, "hands", 5, "done")
    mark(script, "look", 5, "done")
    mark(script, "hands", 5, "not done")

    assert [each.step.id for each in order(script.session).performed] == ["look"]
