"""What to practise in the minutes that there are."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklist.practice.plan import Plan, Why, due_at, plan
from checklist.practice.recall import Estimate, estimates
from checklist.practice.run import Run
from checklist.protocol.model import Protocol, Section, Step
from tests.note_sessions import protocol_of, step
from tests.practice_runs import NOW, a_run


def row(*steps: Step) -> Protocol:
    return protocol_of(sections=(Section(id="row", title="Row", steps=steps),))


PLAIN = row(step("a"), step("b"), step("c"), step("d"))
MIXED = row(step("a"), step("b", critical="harm"), step("c", only_if="asked"), step("d", critical="harm"))


def planned(protocol: Protocol, minutes: float, *runs: Run) -> Plan:
    return plan(protocol, estimates(runs, NOW), minutes)


def ids(found: Plan) -> list[str]:
    return [item.step.id for item in found.items]


def by_need(protocol: Protocol, *runs: Run) -> list[str]:
    """Return which step the time for one more try adds to the plan, each time; four steps at most."""
    found: list[str] = []
    for minutes in (0.4, 0.7, 1.1, 60):
        found += [each for each in ids(planned(protocol, minutes, *runs)) if each not in found]
    return found


class TestWhatIsDue:
    def test_with_no_history_critical_steps_are_chosen_first_and_conditional_ones_not_at_all(self) -> None:
        found = planned(MIXED, 60)
        assert by_need(MIXED) == ["b", "d", "a"]
        assert {item.why for item in found.items} == {Why.UNTESTED}
        assert found.later == ()

    def test_a_conditional_step_is_due_once_it_was_tested_and_missed(self) -> None:
        assert ids(planned(MIXED, 60, a_run(1, {"c": False}))) == ["b", "c", "d", "a"]

    def test_what_was_recalled_just_now_is_not_due_and_waits_for_its_day(self) -> None:
        found = planned(PLAIN, 60, a_run(0, {"a": True, "b": False}))
        assert ids(found) == ["b", "c", "d"]
        # h = 2^1.5 days, and 0.65 = 2^(-d/h): d = 2^1.5 × 0.621488 = 1.757835 days.
        [(waiting, at)] = found.later
        assert waiting.id == "a"
        assert (at - NOW).total_seconds() == pytest.approx(1.757835 * 86_400, abs=1)

    def test_a_step_is_due_when_less_than_65_percent_is_expected_to_be_left(self) -> None:
        # h = 2^1.5 days: 2^(-1.7/h) = 0.659, 2^(-1.8/h) = 0.643.
        assert ids(planned(PLAIN, 60, a_run(1.7, {"a": True}), a_run(1.8, {"b": True}))) == ["b", "c", "d"]

    def test_what_was_missed_is_chosen_before_what_was_never_tested_and_that_before_what_fades(self) -> None:
        runs = (a_run(5, {"a": True, "c": False, "d": True}), a_run(4, {"d": True}))
        assert by_need(PLAIN, *runs) == ["c", "b", "a", "d"]
        assert {item.step.id: item.why for item in planned(PLAIN, 60, *runs).items} == {
            "c": Why.MISSED,
            "b": Why.UNTESTED,
            "a": Why.FADING,
            "d": Why.FADING,
        }

    def test_of_two_alike_the_one_unseen_longest_is_chosen_first(self) -> None:
        # Misses do not age by waiting, so that their estimates are the same.
        runs = (a_run(3, {"a": False, "c": True, "d": True}), a_run(9, {"b": False}))
        assert by_need(PLAIN, *runs)[:2] == ["b", "a"]

    def test_critical_and_missed_steps_are_taken_first_each_part_in_the_order_of_the_protocol(self) -> None:
        runs = (a_run(1, {"c": False, "d": False}), a_run(2, {"a": False}))
        assert by_need(PLAIN, *runs) == ["a", "c", "d", "b"]
        assert ids(planned(PLAIN, 60, *runs)) == ["a", "c", "d", "b"]
        assert ids(planned(MIXED, 60)) == ["b", "d", "a"]
        assert (by_need(MIXED, *runs)[:2], ids(planned(MIXED, 0.7, *runs))) == (["d", "b"], ["b", "d"])

    def test_a_step_that_another_version_had_is_passed_over(self) -> None:
        assert ids(planned(PLAIN, 60, a_run(1, {"gone": False}))) == ["a", "b", "c", "d"]


class TestMinutes:
    def test_each_step_takes_one_try_of_20_seconds_whatever_makes_it_due(self) -> None:
        assert planned(PLAIN, 60, a_run(5, {"a": True, "b": False})).seconds == 80

    def test_what_does_not_fit_is_counted(self) -> None:
        found = planned(PLAIN, 0.7)
        assert (ids(found), found.left, found.seconds) == (["a", "b"], 2, 40)

    def test_in_ten_minutes_there_are_three_things_and_no_more(self) -> None:
        assert len(planned(PLAIN, 10).items) == 3
        assert len(planned(PLAIN, 11).items) == 4

    def test_too_little_time_for_anything_is_an_empty_plan(self) -> None:
        assert (ids(planned(PLAIN, 0.3)), planned(PLAIN, 0.3).left) == ([], 4)


@st.composite
def histories(draw: st.DrawFn) -> list[Run]:
    some = st.dictionaries(st.sampled_from("abcd"), st.booleans(), max_size=4)
    return [a_run(draw(st.floats(0, 400)), draw(some)) for _ in range(draw(st.integers(0, 6)))]


class TestLaws:
    @given(runs=histories(), minutes=st.floats(0, 30))
    def test_the_plan_fits_the_minutes(self, runs: list[Run], minutes: float) -> None:
        found = planned(MIXED, minutes, *runs)
        assert found.seconds <= minutes * 60
        assert minutes > 10 or len(found.items) <= 3

    @given(runs=histories(), minutes=st.floats(0, 30))
    def test_every_step_but_an_untested_conditional_one_is_planned_or_left_or_waits(
        self, runs: list[Run], minutes: float
    ) -> None:
        found = planned(MIXED, minutes, *runs)
        assert len(found.items) + found.left + len(found.later) == (
            4 if any("c" in run.steps for run in runs) else 3
        )
        assert len(ids(found)) == len(set(ids(found)))
        first = [item for item in found.items if item.step.critical or item.why is Why.MISSED]
        assert found.items[: len(first)] == tuple(first)
        for part in (ids(found)[: len(first)], ids(found)[len(first) :]):
            assert part == sorted(part)  # in the protocol's order

    @given(runs=histories(), minutes=st.floats(0, 30))
    def test_at_equal_recall_a_critical_step_is_chosen_before_another(
        self, runs: list[Run], minutes: float
    ) -> None:
        """Both steps get the history of `a`, and the critical one stands behind in the list."""
        same = [
            a_run(
                number,
                {"a": run.marks[run.steps.index("a")] == "+", "b": run.marks[run.steps.index("a")] == "+"},
            )
            for number, run in enumerate(runs)
            if "a" in run.steps
        ]
        found = ids(planned(row(step("a"), step("b", critical="harm")), minutes, *same))
        assert "a" not in found or "b" in found

    @given(runs=histories())
    def test_nothing_waits_that_was_missed_last(self, runs: list[Run]) -> None:
        known: dict[str, Estimate] = dict(estimates(runs, NOW))
        for waiting, at in plan(MIXED, known, 30).later:
            assert known[waiting.id].last_recalled
            assert at == due_at(known[waiting.id])
            assert at > NOW
