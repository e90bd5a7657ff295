"""Rates and durations from the times of key presses. Pure: the clock is read elsewhere.

Times are seconds of a monotonic clock, in ascending order. Nothing is said of what was tapped: the kinds of
reading do that, from the text that `tapped_text` gives.
"""

from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import ceil, fsum, sqrt
from typing import NamedTuple

FEWEST_TAPS = 4
"""Two are needed for a rate, three for its error, and four before that error is of use."""
REPEAT_SECONDS = 0.15
"""Closer presses are the repeats of a held key, which terminals send about 30 times a second."""
IRREGULAR_VARIATION = 0.15
IRREGULAR_SOURCE = "common practice, no source: limit of 15 % chosen for taps by hand"
FULL_COUNT = "irregular: count a full minute"


class TappedRate(NamedTuple):
    """A rate that was tapped along with a pulse or a breath."""

    per_minute: float
    uncertainty_per_minute: float
    """Half the width of the 95 % interval of the rate."""
    beats: int
    """Taps that counted, the first and the last included."""
    seconds: float
    """From the first tap to the last."""
    variation: float
    """Standard deviation of the intervals as a part of their mean."""
    is_irregular: bool


def tapped(times: Sequence[float], irregular_variation: float = IRREGULAR_VARIATION) -> TappedRate | None:
    """Return the rate that was tapped; None for fewer than four taps.

    The rate is that of the least-squares line through tap time against beat number: unlike a count it does
    not depend on where the counting stopped, and each tap a little early or late is averaged out. Its
    uncertainty is that of the slope. The slope's error supposes that taps stray from an even beat; where the
    beat itself is uneven that is far too little, so there the error of the mean interval stands.

    Regularity is judged by the coefficient of variation. Differences of successive intervals (RMSSD over
    mean), with which recorded heart beats are judged, grow with the hand's own unevenness by the root of six
    instead of two, and would call many a steady pulse irregular.
    """
    beats = tuple(single_presses(times))
    if len(beats) < FEWEST_TAPS:
        return None
    slope, slope_error = _line(beats)
    mean, deviation = _spread([later - sooner for sooner, later in pairwise(beats)])
    variation = deviation / mean
    is_irregular = variation > irregular_variation
    mean_error = deviation / sqrt(len(beats) - 1)
    error = t_quantile(len(beats) - 2) * (mean_error if is_irregular else slope_error)
    return TappedRate(
        per_minute=60 / slope,
        # The rate is 60 / slope, so its error is the slope's times the derivative of that.
        uncertainty_per_minute=60 * error / slope**2,
        beats=len(beats),
        seconds=beats[-1] - beats[0],
        variation=variation,
        is_irregular=is_irregular,
    )


def counted(count: float, seconds: float) -> float:
    """Return the rate per minute of `count` beats in `seconds`; raises ValueError when that is none."""
    if seconds <= 0 or count < 0:
        raise ValueError(f"{count} in {seconds} s is no rate")
    return count * 60 / seconds


def held(times: Sequence[float]) -> float:
    """Return the seconds from the first press to the last: pressed twice, or held down; 0 for fewer."""
    return times[-1] - times[0] if times else 0.0


TAPPED_TEXT = r"(\d{1,3}) ?(?:\+-|\+/-) ?(\d{1,3}) over (\d{1,4}) ?s ?[,.]? variation (\d{1,4}) ?%"
"""The text of a tapped rate, in plain form: rate, its error, seconds, and variation in per cent."""


def tapped_text(rate: TappedRate) -> str:
    """Return a tapped rate as the rate kinds read it: `72 +-2 over 20 s, variation 4 %`.

    All is whole; the uncertainty is rounded up and never 0, as the rate itself is a rounded one.
    """
    uncertainty = max(1, ceil(rate.uncertainty_per_minute))
    text = f"{rate.per_minute:.0f} +-{uncertainty} over {rate.seconds:.0f} s"
    return f"{text}, variation {rate.variation:.0%}".replace("%", " %") + " irregular" * rate.is_irregular


def advice(rate: TappedRate) -> str:
    """Return what to do before the rate is relied on; empty for nothing."""
    return FULL_COUNT if rate.is_irregular and rate.seconds < 60 else ""


_T_QUANTILES = (12.7062, 4.3027, 3.1824, 2.7764, 2.5706, 2.4469, 2.3646, 2.3060, 2.2622, 2.2281)
_NORMAL_QUANTILE = 1.959964


def t_quantile(degrees: int) -> float:
    """Return the 97.5 % quantile of Student's t: tables up to 10 degrees of freedom, then its expansion.

    Abramowitz and Stegun 1964, 26.7.5, from memory; good to 0.001 there.
    """
    if degrees <= len(_T_QUANTILES):
        return _T_QUANTILES[degrees - 1]
    z = _NORMAL_QUANTILE
    first = (z**3 + z) / 4
    second = (5 * z**5 + 16 * z**3 + 3 * z) / 96
    third = (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / 384
    return z + first / degrees + second / degrees**2 + third / degrees**3


def single_presses(times: Sequence[float]) -> Iterator[float]:
    """Yield the presses that count: the repeats of a held key are one with the first of them."""
    last = float("-inf")
    for time in times:
        if time - last >= REPEAT_SECONDS:
            yield time
        last = time


def _line(times: Sequence[float]) -> tuple[float, float]:
    """Return the slope of the line through times against 0, 1, 2…, and its standard error."""
    middle, mean = (len(times) - 1) / 2, fsum(times) / len(times)
    spread = fsum((i - middle) ** 2 for i in range(len(times)))
    slope = fsum((i - middle) * (time - mean) for i, time in enumerate(times)) / spread
    missed = fsum((time - mean - slope * (i - middle)) ** 2 for i, time in enumerate(times))
    return slope, sqrt(missed / (len(times) - 2) / spread)


def _spread(values: Sequence[float]) -> tuple[float, float]:
    """Return mean and standard deviation of a sample."""
    mean = fsum(values) / len(values)
    return mean, sqrt(fsum((value - mean) ** 2 for value in values) / (len(values) - 1))
