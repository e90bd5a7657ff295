"""Rates from taps, against published quantiles, an independent regression, and closed forms."""

from math import sqrt

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats

from checklist.measures.timing import advice, counted, held, t_quantile, tapped, tapped_text

STEADY = [i * 0.8 for i in range(26)]
"""A beat each 0.8 s for 20 s: 75 a minute."""


def intervals(shortest: float = 0.2, longest: float = 8.0) -> st.SearchStrategy[list[float]]:
    return st.lists(st.floats(shortest, longest), min_size=3, max_size=80)


def times(gaps: list[float], start: float = 100.0) -> list[float]:
    return [start + sum(gaps[:i]) for i in range(len(gaps) + 1)]


def test_a_steady_tap_gives_the_rate_of_its_interval() -> None:
    rate = tapped(STEADY)
    assert rate is not None
    assert rate.per_minute == pytest.approx(75)
    assert rate.uncertainty_per_minute == pytest.approx(0, abs=1e-9)
    assert (rate.beats, rate.is_irregular) == (26, False)
    assert rate.seconds == pytest.approx(20)
    assert rate.variation == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("taps", range(4))
def test_fewer_than_four_taps_give_no_rate(taps: int) -> None:
    assert tapped(STEADY[:taps]) is None


def test_four_taps_give_a_rate() -> None:
    assert tapped(STEADY[:4]) is not None


@given(intervals())
def test_rate_and_uncertainty_are_those_of_the_regression_line(gaps: list[float]) -> None:
    rate = tapped(times(gaps), irregular_variation=100)
    line = stats.linregress(range(len(gaps) + 1), times(gaps))
    assert rate is not None
    assert rate.per_minute == pytest.approx(60 / line.slope)
    error = stats.t.ppf(0.975, len(gaps) - 1) * line.stderr
    assert rate.uncertainty_per_minute == pytest.approx(60 * error / line.slope**2, rel=0.001, abs=1e-4)


@given(intervals())
def test_an_uneven_beat_is_as_uncertain_as_its_mean_interval(gaps: list[float]) -> None:
    rate = tapped(times(gaps), irregular_variation=-1)
    line = stats.linregress(range(len(gaps) + 1), times(gaps))
    assert rate is not None
    assert rate.is_irregular
    error = stats.t.ppf(0.975, len(gaps) - 1) * float(stats.sem(gaps))
    assert rate.uncertainty_per_minute == pytest.approx(60 * error / line.slope**2, rel=0.001, abs=1e-4)


@given(intervals())
def test_variation_is_the_coefficient_of_variation_of_the_intervals(gaps: list[float]) -> None:
    rate = tapped(times(gaps))
    assert rate is not None
    assert rate.variation == pytest.approx(float(stats.variation(gaps, ddof=1)), abs=1e-9)
    assume(abs(rate.variation - 0.15) > 1e-6)
    assert rate.is_irregular == (rate.variation > 0.15)


@given(intervals(), st.floats(-1e5, 1e5))
def test_when_the_tapping_began_does_not_matter(gaps: list[float], start: float) -> None:
    first, second = tapped(times(gaps, 0.0)), tapped(times(gaps, start))
    assert first is not None
    assert second is not None
    assert second.per_minute == pytest.approx(first.per_minute, rel=1e-6)


def test_the_repeats_of_a_held_key_count_once() -> None:
    with_repeats = sorted([*STEADY, *(5 * 0.8 + 0.03 * i for i in range(1, 8))])
    assert tapped(with_repeats) == tapped(STEADY)


def test_a_key_that_is_held_all_the_time_is_no_tapping() -> None:
    assert tapped([i * 0.033 for i in range(300)]) is None


def test_presses_are_apart_from_0_15_seconds_on() -> None:
    assert tapped([0, 0.25, 0.5, 0.75]) is not None
    assert tapped([0, 0.15, 0.375, 0.75]) is not None
    assert tapped([0, 0.14, 0.375, 0.75]) is None


@pytest.mark.parametrize("degrees", [*range(1, 60), 120, 1000, 100_000])
def test_quantiles_are_those_of_students_t(degrees: int) -> None:
    assert t_quantile(degrees) == pytest.approx(float(stats.t.ppf(0.975, degrees)), abs=0.001)


def test_an_alternating_beat_has_the_variation_of_the_closed_form() -> None:
    """Gaps of 0.7 and 0.9 s, n of each: the deviation is 0.1 * sqrt(2n / (2n - 1))."""
    rate = tapped(times([0.7, 0.9] * 10))
    assert rate is not None
    assert rate.variation == pytest.approx(0.1 * sqrt(20 / 19) / 0.8)
    assert not rate.is_irregular


@pytest.mark.parametrize(
    ("count", "seconds", "expected"), [(18, 15, 72), (36, 30, 72), (72, 60, 72), (8, 30, 16), (0, 60, 0)]
)
def test_a_count_is_scaled_to_a_minute(count: int, seconds: int, expected: int) -> None:
    assert counted(count, seconds) == expected


@pytest.mark.parametrize(("count", "seconds"), [(1, 0), (1, -1), (-1, 15)])
def test_what_is_no_count_is_refused(count: int, seconds: int) -> None:
    with pytest.raises(ValueError, match="no rate"):
        counted(count, seconds)


@pytest.mark.parametrize(
    ("presses", "seconds"),
    [([], 0), ([7.0], 0), ([7.0, 9.5], 2.5), ([7.0, 7.5, 7.53, 7.56, 9.47, 9.5], 2.5)],
    ids=["no press", "one press", "pressed twice", "held down"],
)
def test_a_stop_watch_gives_the_same_pressed_twice_and_held(presses: list[float], seconds: float) -> None:
    assert held(presses) == pytest.approx(seconds)


def test_the_text_of_a_tapped_rate_is_whole_and_never_certain() -> None:
    rate = tapped(STEADY)
    assert rate is not None
    assert tapped_text(rate) == "75 +-1 over 20 s, variation 0 %"
    rough = rate._replace(per_minute=71.6, uncertainty_per_minute=2.01, variation=0.214, is_irregular=True)
    assert tapped_text(rough) == "72 +-3 over 20 s, variation 21 % irregular"


def test_an_irregular_rate_is_to_be_counted_for_a_full_minute() -> None:
    gaps = [0.5, 1.0, 0.6, 1.3] * 5
    rate = tapped(times(gaps))
    assert rate is not None
    assert advice(rate) == "irregular: count a full minute"
    assert advice(rate._replace(seconds=60)) == ""
    assert advice(rate._replace(is_irregular=False)) == ""
