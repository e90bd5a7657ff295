"""Curves of total time by run, and steps that get worse."""

from itertools import pairwise
from math import inf

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import curve_fit

from checklist.practice.learning import Curve, Shape, aic, fit, golden, learning, limit, worse
from tests.practice_runs import a_run, timed

Numbers = NDArray[np.float64]
EIGHT = (620.0, 540.0, 470.0, 455.0, 430.0, 410.0, 400.0, 396.0)
"""Seconds of eight runs, invented; the fits of them below were made with scipy.optimize.curve_fit."""


def by_scipy(shape: Shape, seconds: tuple[float, ...]) -> tuple[float, float]:
    """Return the smallest sum of squares that SciPy finds, and what it gives for the run after."""
    runs = np.arange(1, len(seconds) + 1, dtype=float)

    def curve(n: Numbers, level: float, gain: float, rate: float) -> Numbers:
        return level + gain * (np.exp(-rate * (n - 1)) if shape is Shape.EXPONENTIAL else n**-rate)

    best = (inf, 0.0)
    for rate in (0.05, 0.3, 1.0):
        found, _ = curve_fit(
            curve,
            runs,
            seconds,
            p0=(min(seconds) / 2, max(seconds), rate),
            bounds=([0, 0, 1e-3], [inf, inf, 10]),
            max_nfev=20_000,
        )
        sse = float(((curve(runs, *found) - np.array(seconds)) ** 2).sum())
        best = min(best, (sse, float(curve(np.array([len(seconds) + 1.0]), *found)[0])))
    return best


class TestFit:
    def test_an_exponential_curve_through_eight_runs(self) -> None:
        found = fit(Shape.EXPONENTIAL, EIGHT)
        assert (found.level, found.gain) == pytest.approx((386.23, 233.92), abs=0.01)
        assert found.rate == pytest.approx(0.4466, abs=1e-4)
        assert found.sse == pytest.approx(244.91, abs=0.01)
        assert found.at(9) == pytest.approx(392.8, abs=0.05)

    def test_a_power_curve_through_eight_runs(self) -> None:
        found = fit(Shape.POWER, EIGHT)
        assert (found.level, found.gain) == pytest.approx((133.41, 489.25), abs=0.02)
        assert found.rate == pytest.approx(0.3096, abs=1e-4)
        assert found.sse == pytest.approx(343.21, abs=0.01)
        assert found.at(9) == pytest.approx(381.2, abs=0.05)

    def test_aic_and_aicc_by_their_formulas(self) -> None:
        # 8 ln(SSE/8) + 8, and with 40/3 more the AICc; by hand from the sums of squares.
        assert aic(244.91, 8) == pytest.approx(35.37, abs=0.005)
        assert aic(343.21, 8) == pytest.approx(38.07, abs=0.005)
        assert fit(Shape.EXPONENTIAL, EIGHT).aicc == pytest.approx(48.70, abs=0.005)
        assert fit(Shape.POWER, EIGHT).aicc == pytest.approx(51.40, abs=0.005)

    def test_a_power_curve_is_found_again(self) -> None:
        # 600 n^-0.3, by hand.
        seconds = (600, 487.351, 431.534, 395.852, 370.220, 350.514, 334.674, 321.532)
        found = fit(Shape.POWER, seconds)
        assert (found.level, found.gain, found.rate) == pytest.approx((0, 600, 0.3), abs=0.02)

    def test_an_exponential_curve_is_found_again(self) -> None:
        # 300 + 2^(8 - n): halves its distance from 300 with each run, so the rate is ln 2.
        found = fit(Shape.EXPONENTIAL, [300 + 2.0 ** (8 - n) for n in range(1, 9)])
        assert (found.level, found.gain, found.rate) == pytest.approx((300, 128, 0.693147), abs=1e-4)

    @pytest.mark.parametrize("shape", list(Shape))
    @pytest.mark.parametrize(
        "seconds",
        [
            (900, 610, 640, 520, 505),
            (1805, 1420, 1500, 1190, 1210, 1001, 1130, 998, 940, 1010),
            (700, 690, 705, 640, 655, 610, 600, 590, 595, 570, 560, 575),
            (400, 250, 210, 205, 201, 200.5, 200.2),
        ],
    )
    def test_no_fit_of_scipy_is_closer(self, seconds: tuple[float, ...], shape: Shape) -> None:
        theirs, _ = by_scipy(shape, seconds)
        assert fit(shape, seconds).sse <= theirs * (1 + 1e-6) + 1e-6

    def test_scipy_gives_the_same_next_run(self) -> None:
        for shape in Shape:
            sse, after = by_scipy(shape, EIGHT)
            assert fit(shape, EIGHT).sse == pytest.approx(sse, rel=1e-6)
            assert fit(shape, EIGHT).at(9) == pytest.approx(after, abs=0.01)

    @given(st.lists(st.floats(0, 1e5), min_size=3, max_size=20), st.sampled_from(list(Shape)))
    def test_a_curve_never_rises_and_never_falls_below_its_level(
        self, seconds: list[float], shape: Shape
    ) -> None:
        found = fit(shape, seconds)
        times = [found.at(run) for run in range(1, 41)]
        assert all(later <= earlier + 1e-6 for earlier, later in pairwise(times))
        assert min(times) >= found.level - 1e-6 >= -1e-6

    def test_golden_section_finds_the_lowest_point(self) -> None:
        assert golden(lambda x: (x - 1.25) ** 2, -3, 4) == pytest.approx(1.25, abs=1e-7)


class TestLearning:
    def test_below_five_runs_there_is_no_curve(self) -> None:
        assert learning(EIGHT[:4]) is None
        assert learning(EIGHT[:5]) is not None

    def test_the_curve_with_the_lower_aicc_is_chosen_and_the_other_gives_the_gap(self) -> None:
        found = learning(EIGHT)
        assert found is not None
        assert (found.chosen.shape, found.other.shape) == (Shape.EXPONENTIAL, Shape.POWER)
        assert found.chosen.aicc < found.other.aicc
        assert found.next == pytest.approx((392.8, 381.2), abs=0.05)

    def test_with_five_runs_aicc_is_not_defined(self) -> None:
        assert fit(Shape.POWER, EIGHT[:5]).aicc == inf

    @pytest.mark.parametrize("seconds", [(300, 310, 320, 330, 340), (300,) * 5])
    def test_times_that_rise_or_stay_have_no_falling_curve(self, seconds: tuple[float, ...]) -> None:
        found = learning(seconds)
        assert found is not None
        assert not found.is_falling


def halving(level: float, gain: float, runs: int) -> list[float]:
    return [level + gain * 0.5 ** (n - 1) for n in range(1, runs + 1)]


class TestLimit:
    def test_the_first_run_within_the_limit_is_named(self) -> None:
        # 300 + 128, 64, 32, 16, 8, then 4, 2, 1: within 303 from run 7 (302) on.
        found = learning(halving(300, 128, 5))
        assert found is not None
        reached = limit(found, 303)
        assert (reached.chosen_run, reached.horizon) == (7, 10)
        assert reached.is_beyond_fastest

    def test_below_the_level_of_the_curve_it_is_never_reached(self) -> None:
        found = learning(halving(300, 128, 5))
        assert found is not None
        assert limit(found, 290).chosen_run is None

    def test_nothing_is_said_beyond_twice_the_runs(self) -> None:
        # In a straight line 900, 890, 880, 870, 860 the limit of 700 would come at run 21.
        found = learning([900, 890, 880, 870, 860])
        assert found is not None
        reached = limit(found, 700)
        assert (reached.chosen_run, reached.other_run) == (None, None)

    def test_a_limit_that_was_met_before_is_not_beyond_the_fastest(self) -> None:
        found = learning([500, 450, 300, 430, 420, 410])
        assert found is not None
        assert not limit(found, 310).is_beyond_fastest

    def test_a_curve_gives_its_level_and_gain_at_the_first_run(self) -> None:
        curve = Curve(shape=Shape.POWER, level=100, gain=50, rate=1, sse=0, runs=5)
        assert (curve.at(1), curve.at(2)) == (150, 125)


class TestWorse:
    def test_two_misses_of_the_last_three_after_recalls_are_worse(self) -> None:
        runs = [a_run(20 - day, {"look": day < 5 or day == 6}) for day in range(1, 8)]
        [found] = worse(runs)
        assert (found.step, found.recall, found.seconds) == ("look", (4, 4, 1, 3), None)

    def test_one_miss_is_not(self) -> None:
        assert worse([a_run(20 - day, {"look": day != 7}) for day in range(1, 8)]) == ()

    def test_with_fewer_than_three_tests_before_nothing_is_said(self) -> None:
        assert worse([a_run(20 - day, {"look": day < 3}) for day in range(1, 6)]) == ()

    def test_who_never_recalled_it_is_not_getting_worse(self) -> None:
        assert worse([a_run(20 - day, {"look": False}) for day in range(1, 9)]) == ()

    def test_a_median_time_above_the_fence_of_five_times_before_is_worse(self) -> None:
        # Before: quartiles 10 and 12, fence 15, median 11. Lately: median 16.
        times = [10, 10, 11, 12, 12, 16, 16, 17]
        [found] = worse([timed(20 - day, seconds) for day, seconds in enumerate(times)])
        assert found.seconds == (11, 16)

    @pytest.mark.parametrize(
        "times",
        [
            [10, 10, 11, 12, 12, 15, 15, 15],  # at the fence
            [100, 100, 100, 100, 100, 110, 110, 110],  # less than a fifth more
            [10, 10, 12, 12, 60, 60, 60],  # only four before
        ],
    )
    def test_a_little_longer_is_not(self, times: list[float]) -> None:
        assert worse([timed(20 - day, seconds) for day, seconds in enumerate(times)]) == ()

    def test_times_of_rehearsals_and_of_misses_do_not_count(self) -> None:
        runs = [timed(20 - day, 10) for day in range(5)]
        said = [a_run(5 - day, {"look": True}, times=(60.0,)) for day in range(3)]
        assert worse([*runs, *said]) == ()
