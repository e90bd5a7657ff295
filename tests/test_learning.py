"""Curves of total time by run, and steps that get worse."""

import random
from collections.abc import Sequence
from itertools import combinations, pairwise
from math import comb, exp, inf

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy import stats
from scipy.optimize import curve_fit

from checklist.practice.learning import (
    Curve,
    Learning,
    Limit,
    Shape,
    Worse,
    aic,
    aicc,
    chance_of_fewer,
    chance_of_slower,
    compared,
    fit,
    golden,
    is_within,
    learning,
    less_recalled,
    limit,
    slower,
)
from checklist.practice.run import Run
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


def halving(level: float, gain: float, runs: int) -> list[float]:
    return [level + gain * 0.5 ** (n - 1) for n in range(1, runs + 1)]


def fitted(seconds: Sequence[float]) -> Learning:
    found = learning(seconds)
    assert found is not None
    return found


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

    def test_without_a_trend_two_numbers_are_fitted(self) -> None:
        # 8 ln(100/8) + 4 + 12/5, by hand.
        assert aicc(100, 8, 2) == pytest.approx(20.206 + 6.4, abs=0.001)

    @pytest.mark.parametrize("seconds", [(300, 310, 320, 330, 340), (300,) * 5, (300,) * 9])
    def test_times_that_rise_or_stay_do_not_fall(self, seconds: tuple[float, ...]) -> None:
        assert not fitted(seconds).is_falling

    def test_what_falls_by_less_than_is_shown_does_not_fall(self) -> None:
        assert not fitted([300 + 0.8 * 0.5**n for n in range(8)]).is_falling

    def test_a_fall_must_be_worth_its_numbers(self) -> None:
        """By AICc two more numbers pay with eight runs from 6.5 times smaller squares on."""
        # Squares about the mean of EIGHT: 44 120; about the curve 245.
        assert fitted(EIGHT).is_falling
        # About the mean 470: 5 400; one value alone lies high, and the curve leaves the noise of the others.
        noisy = (520.0, 440.0, 490.0, 450.0, 480.0, 440.0, 490.0, 450.0)
        assert not fitted(noisy).is_falling

    def test_with_five_runs_the_curve_must_be_as_close_as_aicc_asks_of_six(self) -> None:
        # 300 + 160, 80, 40, 20, 10 with a second more or less: squares 15 000 about the mean, 4 at most about
        # the curve; with 12 s more or less, 600 about it at most, and more than 15 000 / 786 = 19.
        exact = halving(300, 160, 5)
        close = [each + off for each, off in zip(exact, (1, -1, 1, -1, 0), strict=True)]
        wide = [each + off for each, off in zip(exact, (12, -12, 12, -12, 12), strict=True)]
        assert fitted(close).is_falling
        assert not fitted(wide).is_falling

    def test_scatter_is_the_residual_standard_deviation(self) -> None:
        # The root of 244.91 / (8 - 3).
        assert fitted(EIGHT).scatter == pytest.approx(7.0, abs=0.01)


class TestSlowerLately:
    """The issue is whether a falling curve may say anything of the next run."""

    def test_times_that_rise_again_leave_the_curve(self) -> None:
        found = fitted((1900, 1600, 1400, 1250, 1200, 1230, 1300, 1400, 1500))
        assert found.is_falling
        assert found.is_slower_lately

    def test_three_runs_above_the_curve_leave_it(self) -> None:
        # Levelled off at 600 for long, then three of 690: about 600 + 3/20 of 90 is the curve's level.
        times = (1400, 1000, 800, 700, 650, 620, *(600,) * 12, 690, 700, 690)
        found = fitted(times)
        assert found.is_falling
        assert found.is_slower_lately

    @pytest.mark.parametrize(
        "times",
        [
            EIGHT,
            halving(300, 160, 9),
            (*EIGHT, 398.0, 399.0),  # a little above, within the scatter
            (*EIGHT, 430.0),  # one run alone
        ],
    )
    def test_what_goes_on_as_it_did_does_not(self, times: Sequence[float]) -> None:
        assert not fitted(times).is_slower_lately


class TestChance:
    """Simulated histories, with fixed seeds: how often chance alone is taken for something."""

    @pytest.mark.parametrize("runs", [5, 6, 8, 12, 20])
    def test_without_a_trend_one_history_in_ten_at_most_is_said_to_fall(self, runs: int) -> None:
        draw = random.Random(runs)
        made = (fitted([draw.gauss(1300, 80) for _ in range(runs)]) for _ in range(100))
        assert sum(each.is_falling for each in made) <= 10

    @pytest.mark.parametrize("runs", [8, 12])
    def test_times_that_do_fall_are_seen_to_fall(self, runs: int) -> None:
        draw = random.Random(runs)
        falling = [
            fitted([(1000 + 900 * exp(-0.3 * n)) * draw.gauss(1, 0.03) for n in range(runs)])
            for _ in range(50)
        ]
        assert sum(each.is_falling for each in falling) >= 45
        assert sum(each.is_slower_lately for each in falling) <= 10

    def test_who_levels_off_above_the_target_is_seldom_told_that_it_is_likely_to_be_met(self) -> None:
        draw = random.Random(3)
        made = (
            fitted([(1260 + 700 * exp(-0.4 * n)) * draw.gauss(1, 0.04) for n in range(8)]) for _ in range(100)
        )
        assert sum(limit(each, 1200).is_likely for each in made if each.is_falling) <= 20

    def test_where_nothing_changes_one_comparison_in_a_hundred_at_most_is_named(self) -> None:
        draw = random.Random(11)
        times = ([20 * exp(draw.gauss(0, 0.2)) for _ in range(20)] for _ in range(2000))
        tests = ([draw.random() < 0.8 for _ in range(20)] for _ in range(2000))
        # 1 in 100 of 2000 is 20; three standard deviations more are 33.
        assert 0 < sum(slower(each) is not None for each in times) <= 33
        assert sum(less_recalled(each) is not None for each in tests) <= 33


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


class TestLikely:
    def test_it_takes_both_curves_and_a_level_below_the_limit_by_more_than_the_scatter(self) -> None:
        # The levels are 386.2 and 133.4, and the scatter is 7.0; the curves give 392.8 and 381.2 for run 9.
        found = fitted(EIGHT)
        assert limit(found, 394) == Limit(
            seconds=394, chosen_run=9, other_run=9, horizon=16, is_likely=True, is_beyond_fastest=True
        )
        assert limit(found, 393) == Limit(
            seconds=393, chosen_run=9, other_run=9, horizon=16, is_likely=False, is_beyond_fastest=True
        )

    def test_one_curve_alone_makes_nothing_likely(self) -> None:
        # The exponential curve never comes below 386; 133.41 + 489.25 × 10^-0.3096 is 373.
        reached = limit(fitted(EIGHT), 380)
        assert (reached.chosen_run, reached.other_run, reached.is_likely) == (None, 10, False)

    def test_times_are_compared_as_they_are_shown(self) -> None:
        assert is_within(1200.3, 1200)
        assert is_within(1200.49, 1200)
        assert not is_within(1200.5, 1200)
        assert not is_within(1201, 1200)


def worse(runs: Sequence[Run], known: Sequence[str] = ("look",)) -> tuple[Worse, ...]:
    return compared(runs, known).worse


def recalls(*recalled: bool) -> list[Run]:
    return [a_run(50 - day, {"look": each}) for day, each in enumerate(recalled)]


def took(*seconds: float) -> list[Run]:
    return [timed(50 - day, each) for day, each in enumerate(seconds)]


SEVEN = (10, 11, 12, 10, 11, 12, 11)
"""Seconds at a step, seven times."""


class TestWorse:
    def test_three_misses_after_seven_recalls_are_worse(self) -> None:
        # One order in 120: 0.83 %.
        [found] = worse(recalls(*[True] * 7, *[False] * 3))
        assert (found.step, found.recall, found.seconds) == ("look", (7, 7, 0, 3), None)

    @pytest.mark.parametrize(
        "tests",
        [
            [*[True] * 6, *[False] * 3],  # one in 84
            [False, *[True] * 8, *[False] * 3],  # 4 of 220
            [*[True] * 9, False, True, False],  # 10 of 220
            [*[True, False] * 5, *[False] * 3],  # 56 of 286
            [False] * 20,
            [True] * 20,
        ],
    )
    def test_what_chance_does_more_often_is_not(self, tests: list[bool]) -> None:
        assert worse(recalls(*tests)) == ()

    def test_the_latest_three_times_longer_than_all_seven_before_are_worse(self) -> None:
        # One order in 120; medians 11 and 16, five seconds and nearly a half more.
        [found] = worse(took(*SEVEN, 16, 17, 15))
        assert (found.step, found.recall, found.seconds) == ("look", None, (11, 16))

    @pytest.mark.parametrize(
        "times",
        [
            (*SEVEN[1:], 16, 17, 15),  # nine times: one in 84
            (*SEVEN[:6], 15, 16, 17, 14.9),  # 2 of 120: one before was longer than one of them
            (*SEVEN, 13, 13.9, 14),  # less than three seconds more
            (*(10 * each for each in SEVEN), 125, 130, 130),  # 130 is less than a fifth above 110
            (*SEVEN, 16, 17, 11),  # one of three was as usual
        ],
    )
    def test_a_little_longer_is_not(self, times: Sequence[float]) -> None:
        assert worse(took(*times)) == ()

    def test_a_fifth_more_is_enough(self) -> None:
        [found] = worse(took(*(10 * each for each in SEVEN), 132, 132, 132))
        assert found.seconds == (110, 132)

    def test_times_of_rehearsals_and_of_misses_do_not_count(self) -> None:
        runs = [timed(20 - day, 10) for day in range(8)]
        said = [a_run(5 - day, {"look": True}, times=(60.0,)) for day in range(3)]
        assert worse([*runs, *said]) == ()

    def test_comparisons_are_counted_from_ten_on(self) -> None:
        """Ten examinations are ten tests of recall, and ten times."""
        assert compared(took(*SEVEN, 11, 11), ["look"]).comparisons == 0
        assert compared(took(*SEVEN, 11, 11, 11), ["look"]).comparisons == 2
        assert compared(recalls(*[True] * 10), ["look"]).comparisons == 1

    def test_steps_that_are_no_longer_known_are_left_aside(self) -> None:
        assert compared(took(*SEVEN, 16, 17, 15), ["wash"]).comparisons == 0
        assert worse(took(*SEVEN, 16, 17, 15), ["wash"]) == ()


class TestExactTests:
    @pytest.mark.parametrize("tested", [(7, 7, 0), (9, 10, 1), (5, 12, 0), (3, 8, 2), (0, 9, 0), (9, 9, 3)])
    def test_fisher_is_that_of_scipy(self, tested: tuple[int, int, int]) -> None:
        before, of, lately = tested
        ours = chance_of_fewer(marks(before, of), marks(lately, 3))
        table = np.array([[lately, 3 - lately], [before, of - before]])
        assert ours == pytest.approx(stats.fisher_exact(table, alternative="less").pvalue, rel=1e-9)

    @pytest.mark.parametrize("seed", range(8))
    def test_mann_and_whitney_is_that_of_scipy(self, seed: int) -> None:
        draw = random.Random(seed)
        before = [draw.gauss(20, 4) for _ in range(draw.randint(7, 60))]
        lately = [draw.gauss(24, 4) for _ in range(3)]
        theirs = stats.mannwhitneyu(lately, before, alternative="greater", method="exact")
        assert chance_of_slower(before, lately) == pytest.approx(theirs.pvalue, rel=1e-9)

    @pytest.mark.parametrize(
        ("before", "lately"),
        [([10, 10, 11, 12, 12, 12, 13], [12, 13, 13]), ([5] * 8, [5] * 3), ([5] * 8, [6] * 3)],
    )
    def test_equal_times_share_their_rank(self, before: list[float], lately: list[float]) -> None:
        """All threes of SciPy's midranks, counted one by one."""
        ranks = stats.rankdata([*before, *lately])
        threes = [sum(three) for three in combinations(ranks, 3)]
        rare = sum(each >= sum(ranks[-3:]) - 1e-9 for each in threes)
        assert chance_of_slower(before, lately) == pytest.approx(rare / comb(len(ranks), 3))

    def test_ten_without_equals_have_a_chance_of_one_in_120(self) -> None:
        assert chance_of_slower(range(7), [7, 8, 9]) == pytest.approx(1 / 120)
        assert chance_of_fewer([True] * 7, [False] * 3) == pytest.approx(1 / 120)


def marks(recalled: int, of: int) -> list[bool]:
    return [True] * recalled + [False] * (of - recalled)
