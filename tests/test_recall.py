"""How well a step is recalled, as far as past runs tell."""

from collections.abc import Sequence
from datetime import date, timedelta
from random import Random
from statistics import fmean, median

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from checklist.practice.beta import probability, quantile
from checklist.practice.recall import Estimate, Evidence, counts, estimates, half_life, retention
from checklist.practice.run import Run
from tests.practice_runs import NOW, a_run

SHAPES = st.floats(0.5, 2000)


class TestBeta:
    @given(a=SHAPES, b=SHAPES, p=st.sampled_from([0.001, 0.025, 0.5, 0.975, 0.999]))
    def test_quantiles_are_those_of_scipy(self, a: float, b: float, p: float) -> None:
        assert quantile(p, a, b) == pytest.approx(float(stats.beta.ppf(p, a, b)), rel=1e-7, abs=1e-10)

    @given(a=SHAPES, b=SHAPES, x=st.floats(0, 1))
    def test_probabilities_are_those_of_scipy(self, a: float, b: float, x: float) -> None:
        assert probability(x, a, b) == pytest.approx(float(stats.beta.cdf(x, a, b)), rel=1e-7, abs=1e-10)

    @pytest.mark.parametrize(
        ("a", "b", "mean", "low", "high"),
        [
            # Textbook posteriors, computed with SciPy 1.17: uniform prior with 3 of 4, 5 of 5 and 0 of 2
            # done, and the Jeffreys prior with 3 of 4.
            (4, 2, 0.666667, 0.2836, 0.9473),
            (6, 1, 0.857143, 0.5407, 0.9958),
            (1, 3, 0.25, 0.0084, 0.7076),
            (3.5, 1.5, 0.7, 0.2838, 0.9715),
        ],
    )
    def test_intervals_of_few_observations(
        self, a: float, b: float, mean: float, low: float, high: float
    ) -> None:
        assert a / (a + b) == pytest.approx(mean, abs=1e-6)
        assert (quantile(0.025, a, b), quantile(0.975, a, b)) == pytest.approx((low, high), abs=5e-5)

    def test_the_probability_of_more_than_eight_tenths(self) -> None:
        # 3 done and 1 missed with a uniform prior; SciPy 1.17: 0.2627.
        assert 1 - probability(0.8, 4, 2) == pytest.approx(0.2627, abs=5e-5)


class TestHalfLife:
    @pytest.mark.parametrize(
        ("h", "days", "left"), [(4, 2, 0.707107), (4, 4, 0.5), (1, 3, 0.125), (10, 1.520031, 0.9)]
    )
    def test_half_is_left_after_a_half_life(self, h: float, days: float, left: float) -> None:
        # 2^(-d/h), by hand.
        assert retention(days, h) == pytest.approx(left, abs=1e-6)

    def test_days_of_recall_lengthen_it_and_days_of_misses_shorten_it(self) -> None:
        # 2^(1 + r/2 - m/2), by hand.
        assert half_life(0, 0) == pytest.approx(2)
        assert half_life(4, 0) == pytest.approx(8)
        assert half_life(1, 3) == pytest.approx(1)

    def test_it_stays_between_a_quarter_of_an_hour_and_274_days(self) -> None:
        assert half_life(1000, 0) == 274
        assert half_life(0, 1000) == pytest.approx(15 / 1440)


def one(runs: list[Run], step: str = "look") -> Estimate:
    return estimates(runs, NOW)[step]


class TestEstimate:
    def test_a_step_never_tested_has_none(self) -> None:
        assert estimates([], NOW) == {}
        assert "grip" not in estimates([a_run(1, {"look": True})], NOW)

    def test_one_recall_just_now(self) -> None:
        # Beta(2, 1): mean 2/3; its quantiles are the square roots of .025 and .975.
        found = one([a_run(0, {"look": True})])
        assert (found.mean, found.low, found.high) == pytest.approx((2 / 3, 0.025**0.5, 0.975**0.5))
        assert (found.recalled, found.tested, found.last_seen, found.last_recalled) == (1, 1, NOW, True)

    def test_a_recall_counts_half_after_its_half_life(self) -> None:
        # One day of recall: h = 2^1.5 days; so a = 1 + 1/2, b = 1.
        found = one([a_run(2**1.5, {"look": True})])
        assert found.half_life == pytest.approx(2**1.5)
        assert found.mean == pytest.approx(1.5 / 2.5)
        assert found.retained == pytest.approx(0.5)

    def test_a_miss_is_outdated_by_a_recall_28_days_later_and_by_nothing_else(self) -> None:
        alone = one([a_run(300, {"look": False})])
        assert alone.mean == pytest.approx(1 / 3)
        # a = 2, b = 1.5.
        assert one([a_run(28, {"look": False}), a_run(0, {"look": True})]).mean == pytest.approx(2 / 3.5)

    def test_an_examination_counts_half(self) -> None:
        # a = 1.5, b = 1, and h = 2^1.25.
        found = one([a_run(0, {"look": True}, mode="examination", task="")])
        assert found.mean == pytest.approx(1.5 / 2.5)
        assert found.half_life == pytest.approx(2**1.25)

    def test_so_does_a_simulated_patient_and_its_times_are_no_pace(self) -> None:
        found = one([a_run(0, {"look": True}, mode="rehearsal", task="patient", times=(20.0,))])
        assert found.mean == pytest.approx(1.5 / 2.5)
        assert found.half_life == pytest.approx(2**1.25)
        assert found.seconds is None

    def test_many_recalls_in_one_evening_are_one_day(self) -> None:
        evening = [a_run(hour / 24, {"look": True}) for hour in range(5)]
        assert one(evening).half_life == pytest.approx(2**1.5)
        assert one(evening).mean == pytest.approx(6 / 7, abs=0.01)

    def test_the_first_answer_of_a_day_decides_what_the_day_was(self) -> None:
        assert one([a_run(0.1, {"look": False}), a_run(0, {"look": True})]).half_life == pytest.approx(2**0.5)

    def test_a_day_weighs_as_much_as_its_weightiest_test(self) -> None:
        day = [a_run(0.1, {"look": True}, mode="examination", task=""), a_run(0, {"look": True})]
        assert one(day).half_life == pytest.approx(2**1.5)

    def test_pace_is_the_median_time_where_it_was_done_and_not_rehearsed(self) -> None:
        runs = [
            a_run(day, {"look": day != 9}, mode="examination", times=(seconds,))
            for day, seconds in ((1, 30.0), (2, 50.0), (3, 34.0), (9, 999.0))
        ]
        assert one([*runs, a_run(4, {"look": True}, times=(2.0,))]).seconds == 34.0
        assert one([a_run(4, {"look": True}, times=(2.0,))]).seconds is None

    def test_it_says_how_many_tests_were_performances_and_whether_the_last_was(self) -> None:
        recalled = a_run(1, {"look": True})
        done = a_run(2, {"look": True, "wash": True}, mode="observation", task="")
        of_patient = a_run(3, {"look": False}, task="patient")
        found = one([recalled, done, of_patient])
        assert (found.tested, found.performed, found.last_performed) == (3, 2, False)
        found = one([recalled, done], "wash")
        assert (found.tested, found.performed, found.last_performed) == (1, 1, True)

    @pytest.mark.parametrize(("share", "said"), [(0.5, 0.24), (0.7, 0.61)])
    def test_it_is_lower_than_the_share_of_a_constant_recaller_by_as_much_as_is_said(
        self, share: float, said: float
    ) -> None:
        """20 tests three days apart; what is said was found by another simulation than this one."""
        chance = Random(4)
        means = [
            one([a_run(3 * days, {"look": chance.random() < share}) for days in range(20, 0, -1)]).mean
            for _ in range(1000)
        ]
        assert fmean(means) == pytest.approx(said, abs=0.03)

    def test_a_run_of_the_future_counts_as_of_now(self) -> None:
        assert one([a_run(-30, {"look": True})]).mean == pytest.approx(2 / 3)


HISTORIES = st.lists(
    st.tuples(st.floats(0, 900), st.booleans(), st.sampled_from(["rehearsal", "examination", "observation"])),
    min_size=1,
    max_size=12,
)


def runs_of(history: list[tuple[float, bool, str]]) -> list[Run]:
    return [a_run(days, {"look": is_recalled}, mode=mode) for days, is_recalled, mode in history]


def recent_last(days_ago: list[float]) -> list[Evidence]:
    return [Evidence(days_ago=days, weight=1.0) for days in sorted(days_ago, reverse=True)]


class TestLaws:
    @given(history=HISTORIES, days=st.floats(0, 900), mode=st.sampled_from(["rehearsal", "examination"]))
    def test_a_further_recall_never_lowers_the_estimate(
        self, history: list[tuple[float, bool, str]], days: float, mode: str
    ) -> None:
        before = one(runs_of(history))
        after = one([*runs_of(history), a_run(days, {"look": True}, mode=mode)])
        assert after.mean >= before.mean - 1e-12
        assert after.low >= before.low - 1e-9

    @given(history=HISTORIES, days=st.floats(0, 900))
    def test_a_further_miss_never_raises_it(
        self, history: list[tuple[float, bool, str]], days: float
    ) -> None:
        after = one([*runs_of(history), a_run(days, {"look": False})])
        assert after.mean <= one(runs_of(history)).mean + 1e-12

    @given(history=HISTORIES, wait=st.floats(0, 900))
    def test_waiting_never_raises_it(self, history: list[tuple[float, bool, str]], wait: float) -> None:
        later = estimates(runs_of(history), NOW + timedelta(days=wait))["look"]
        now = one(runs_of(history))
        assert later.mean <= now.mean + 1e-12
        assert later.retained <= now.retained + 1e-12

    @given(history=HISTORIES)
    def test_the_estimate_lies_in_its_interval_and_everything_between_0_and_1(
        self, history: list[tuple[float, bool, str]]
    ) -> None:
        found = one(runs_of(history))
        assert 0 <= found.low < found.mean < found.high <= 1
        assert found.tested == len(history)

    @given(recalls=st.lists(st.floats(0, 900)), misses=st.lists(st.floats(0, 900)), h=st.floats(0.01, 274))
    def test_what_is_counted_is_never_more_than_what_was_tested(
        self, recalls: list[float], misses: list[float], h: float
    ) -> None:
        a, b = counts(recent_last(recalls), recent_last(misses), h)
        assert 1 <= a <= 1 + len(recalls)
        assert 1 <= b <= 1 + len(misses)


MARKS = st.sampled_from("+-?~/!o")
RUNS = st.lists(
    st.builds(
        lambda days, tests, mode, task: a_run(
            days,
            {},
            mode=mode,
            task=task if mode == "rehearsal" else "",
            steps=tuple(step for step, _, _ in tests),
            marks="".join(mark for _, mark, _ in tests),
            times=tuple(seconds for _, _, seconds in tests),
        ),
        # Days in steps of an eighth: some runs share a day, some the very moment.
        days=st.integers(-8, 8 * 60).map(lambda eighths: eighths / 8),
        tests=st.lists(
            st.tuples(st.sampled_from(["look", "wash", "grip"]), MARKS, st.sampled_from([0.0, 4.5, 30.0])),
            max_size=6,
        ),
        mode=st.sampled_from(["rehearsal", "examination", "observation"]),
        task=st.sampled_from(["order", "content", "patient"]),
    ),
    max_size=20,
)


class TestPlainFormula:
    """The formulas at the head of the module, written out test by test, slowly."""

    @given(runs=RUNS)
    def test_every_estimate_is_that_of_the_formulas(self, runs: list[Run]) -> None:
        found = estimates(runs, NOW)
        assert found.keys() == {step for run in runs for step in run.steps}
        for step, each in found.items():
            tests = history_of(step, runs)
            r, m = days_by_hand(tests)
            h = min(274.0, max(15 / 1440, 2 ** (1 + r / 2 - m / 2)))
            a, b = sums_by_hand(tests, h)
            assert each.half_life == pytest.approx(h, rel=1e-12)
            assert each.mean == pytest.approx(a / (a + b), abs=1e-9)
            assert each.low == pytest.approx(float(stats.beta.ppf(0.025, a, b)), abs=1e-9)
            assert each.high == pytest.approx(float(stats.beta.ppf(0.975, a, b)), abs=1e-9)
            assert (each.recalled, each.tested) == (sum(mark == "+" for _, mark, _, _ in tests), len(tests))
            assert (each.last_mark, each.last_recalled) == (tests[-1][1], tests[-1][1] == "+")
            assert each.retained == pytest.approx(
                max((2 ** (-days / h) for days, mark, _, _ in tests if mark == "+"), default=0.0), abs=1e-12
            )

    @given(runs=RUNS)
    def test_pace_is_the_median_of_the_times_of_steps_performed_as_planned(self, runs: list[Run]) -> None:
        for step, each in estimates(runs, NOW).items():
            times = [
                seconds
                for run in runs
                if run.mode != "rehearsal"
                for name, mark, seconds in zip(run.steps, run.marks, run.times, strict=True)
                if name == step and mark == "+" and seconds
            ]
            assert each.seconds == (median(times) if times else None)


Test = tuple[float, str, float, date]
"""Days ago, mark, weight, and day of one test."""


def history_of(step: str, runs: Sequence[Run]) -> list[Test]:
    """Return the tests of a step, oldest first."""
    return [
        (max(0.0, (NOW - run.created).total_seconds() / 86_400), mark, weight_of(run), run.created.date())
        for run in sorted(runs, key=lambda run: run.created)
        for name, mark in zip(run.steps, run.marks, strict=True)
        if name == step
    ]


def weight_of(run: Run) -> float:
    return 0.5 if run.mode == "examination" or run.task == "patient" else 1.0


def days_by_hand(tests: Sequence[Test]) -> tuple[float, float]:
    """Return r and m: each day by its first test, with the highest weight of those that went like it."""
    r = m = 0.0
    for day in {day for *_, day in tests}:
        of_day = [(mark == "+", weight) for _, mark, weight, on in tests if on == day]
        first = of_day[0][0]
        weight = max(weight for is_recalled, weight in of_day if is_recalled is first)
        r, m = (r + weight, m) if first else (r, m + weight)
    return r, m


def sums_by_hand(tests: Sequence[Test], h: float) -> tuple[float, float]:
    latest = min((days for days, mark, _, _ in tests if mark == "+"), default=None)
    a = b = 1.0
    for days, mark, weight, _ in tests:
        if mark == "+":
            a += weight * 2 ** (-days / h)
        else:
            b += weight * 2 ** (-(0.0 if latest is None else max(0.0, days - latest)) / 28)
    return a, b
