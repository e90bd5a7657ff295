"""How the total time falls from run to run: an exponential and a power curve, and steps that get worse.

    exponential  T(n) = A + B e^(-c(n-1))      power  T(n) = A + B n^(-a)      n = 1, 2, 3 …, A and B >= 0

Both are fitted by least squares: for a given rate the best A and B follow from two linear equations, and the
rate is found by a grid and golden-section search. The one with the lower AICc = N ln(SSE/N) + 2k + 2k(k+1)/
(N-k-1) is chosen, k = 4 (A, B, the rate, the variance). With five runs AICc is not defined; as both have as
many parameters, the smaller SSE decides, as it does with more runs. The gap between the two is shown as the
uncertainty. Nothing is shown below five runs, and nothing is said of passing.

Sources: A. Heathcote, S. Brown and D. J. K. Mewhort, The power law repealed, Psychonomic Bulletin & Review
2000 (abstract read, equation from memory): one person's times follow the exponential more often.
AICc: Hurvich and Tsai 1989, from memory.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import exp, inf, log, sqrt
from statistics import median, quantiles

from checklist.practice.pace import FENCE, FEWEST_SESSIONS
from checklist.practice.run import RECALLED_MARK, Run
from checklist.session.session import REHEARSAL

FEWEST_RUNS = 5
PARAMETERS = 4
HORIZON = 2
"""Nothing is said beyond so many times the runs that there were."""
RECENT = 3
"""Latest tests or times of a step that are compared with all before them. Our own rule, no source."""
FALL = 1 / 3
"""The share of recall that a step must lose to be called worse. Our own rule, no source."""
RISE = 1.2
"""How many times the median before the latest median must be at least. Our own rule, no source."""


class Shape(StrEnum):
    """The form of a curve."""

    EXPONENTIAL = "exponential"
    POWER = "power"


def _decay(shape: Shape, rate: float, run: float) -> float:
    return exp(-rate * (run - 1)) if shape is Shape.EXPONENTIAL else float(run**-rate)


@dataclass(frozen=True, kw_only=True, slots=True)
class Curve:
    """A fitted curve of seconds by run."""

    shape: Shape
    level: float
    """A: seconds that it levels off at."""
    gain: float
    """B."""
    rate: float
    """c, or a."""
    sse: float
    runs: int

    def at(self, run: float) -> float:
        """Return the seconds of run number `run`, from 1."""
        return self.level + self.gain * _decay(self.shape, self.rate, run)

    @property
    def aicc(self) -> float:
        """Return AICc; infinite where there are too few runs for it, minus infinite for a perfect fit."""
        spare = self.runs - PARAMETERS - 1
        if spare <= 0:
            return inf
        return aic(self.sse, self.runs) + 2 * PARAMETERS * (PARAMETERS + 1) / spare


def aic(sse: float, runs: int) -> float:
    """Return N ln(SSE/N) + 2k."""
    return (runs * log(sse / runs) if sse > 0 else -inf) + 2 * PARAMETERS


_RATES = (1e-3, 10.0)
_GRID = 60
_GOLDEN = (sqrt(5) - 1) / 2


def fit(shape: Shape, seconds: Sequence[float]) -> Curve:
    """Return the least-squares curve of one shape through the times of runs 1, 2, 3 …; needs three."""
    low, high = map(log, _RATES)
    grid = [low + (high - low) * place / _GRID for place in range(_GRID + 1)]

    def error(log_rate: float) -> float:
        return _linear(shape, exp(log_rate), seconds).sse

    best = min(grid, key=error)
    width = (high - low) / _GRID
    found = golden(error, max(low, best - width), min(high, best + width))
    return _linear(shape, exp(found), seconds)


def golden(error: Callable[[float], float], low: float, high: float) -> float:
    """Return where a function with one dip between `low` and `high` is smallest, by golden section."""
    a, b = high - _GOLDEN * (high - low), low + _GOLDEN * (high - low)
    at_a, at_b = error(a), error(b)
    while high - low > 1e-10:
        if at_a <= at_b:
            high, b, at_b = b, a, at_a
            a = high - _GOLDEN * (high - low)
            at_a = error(a)
        else:
            low, a, at_a = a, b, at_b
            b = low + _GOLDEN * (high - low)
            at_b = error(b)
    return (low + high) / 2


def _linear(shape: Shape, rate: float, seconds: Sequence[float]) -> Curve:
    """Return the best level and gain for a given rate, neither below nought."""
    xs = [_decay(shape, rate, run) for run in range(1, len(seconds) + 1)]
    count, mean_x, mean_y = len(xs), sum(xs) / len(xs), sum(seconds) / len(xs)
    spread = sum((x - mean_x) ** 2 for x in xs)
    shared = sum((x - mean_x) * (y - mean_y) for x, y in zip(xs, seconds, strict=True))
    gain = max(0.0, shared / spread) if spread > 0 else 0.0
    level = mean_y - gain * mean_x
    if level < 0:
        level, gain = 0.0, sum(x * y for x, y in zip(xs, seconds, strict=True)) / sum(x * x for x in xs)
    sse = sum((y - level - gain * x) ** 2 for x, y in zip(xs, seconds, strict=True))
    return Curve(shape=shape, level=level, gain=gain, rate=rate, sse=sse, runs=count)


@dataclass(frozen=True, kw_only=True, slots=True)
class Learning:
    """Both curves through the times of comparable runs."""

    seconds: tuple[float, ...]
    chosen: Curve
    other: Curve

    @property
    def is_falling(self) -> bool:
        """Whether the chosen curve falls by a second or more over the runs that there were."""
        return self.chosen.at(1) - self.chosen.at(len(self.seconds)) >= 1

    @property
    def next(self) -> tuple[float, float]:
        """What the chosen and the other curve give for the next run; the gap is the uncertainty."""
        return self.chosen.at(len(self.seconds) + 1), self.other.at(len(self.seconds) + 1)


def learning(seconds: Sequence[float]) -> Learning | None:
    """Return the curves through the times of runs in their order; None below five runs."""
    if len(seconds) < FEWEST_RUNS:
        return None
    chosen, other = sorted((fit(shape, seconds) for shape in Shape), key=lambda curve: curve.sse)
    return Learning(seconds=tuple(seconds), chosen=chosen, other=other)


@dataclass(frozen=True, kw_only=True, slots=True)
class Limit:
    """When the curves come down to a time limit."""

    seconds: float
    chosen_run: int | None
    """The first run of the chosen curve within the limit; None within the horizon."""
    other_run: int | None
    horizon: int
    """The last run that was looked at."""
    is_beyond_fastest: bool
    """Whether the limit is below the fastest time so far, so that the curves are followed beyond it."""


def limit(found: Learning, seconds: float) -> Limit:
    """Return from which run on the curves are within a limit; looks no further than twice the runs so far."""
    horizon = HORIZON * len(found.seconds)
    return Limit(
        seconds=seconds,
        chosen_run=_first_within(found.chosen, seconds, len(found.seconds), horizon),
        other_run=_first_within(found.other, seconds, len(found.seconds), horizon),
        horizon=horizon,
        is_beyond_fastest=seconds < min(found.seconds),
    )


def _first_within(curve: Curve, seconds: float, runs: int, horizon: int) -> int | None:
    return next((run for run in range(runs + 1, horizon + 1) if curve.at(run) <= seconds), None)


@dataclass(frozen=True, kw_only=True, slots=True)
class Worse:
    """A step that was recalled less, or took longer, lately than before."""

    step: str
    recall: tuple[int, int, int, int] | None
    """Recalled and tested before, recalled and tested lately; None when recall did not fall."""
    seconds: tuple[float, float] | None
    """The median time before and lately; None when the time did not rise."""


def worse(runs: Iterable[Run]) -> tuple[Worse, ...]:
    """Return the steps that are getting worse: the last three tests beside those before, and so the times.

    Recall is worse when at least two of the last three were missed, and the share fell by a third or more,
    from at least three tests before. Time is worse when the median of the last three lies above the upper
    quartile of at least five before by more than one and a half interquartile ranges, and a fifth or more
    above their median.
    """
    tests: dict[str, list[bool]] = {}
    times: dict[str, list[float]] = {}
    for run in sorted(runs, key=lambda each: each.created):
        for step, mark, seconds in zip(run.steps, run.marks, run.times, strict=True):
            tests.setdefault(step, []).append(mark == RECALLED_MARK)
            if run.mode != REHEARSAL and mark == RECALLED_MARK and seconds:
                times.setdefault(step, []).append(seconds)
    found = (_worse(step, each, times.get(step, ())) for step, each in tests.items())
    return tuple(each for each in found if each.recall or each.seconds)


def _worse(step: str, tests: Sequence[bool], times: Sequence[float]) -> Worse:
    return Worse(step=step, recall=_less_recalled(tests), seconds=_slower(times))


def _less_recalled(tests: Sequence[bool]) -> tuple[int, int, int, int] | None:
    before, lately = tests[:-RECENT], tests[-RECENT:]
    if len(before) < RECENT:
        return None
    has_fallen = sum(before) / len(before) - sum(lately) / len(lately) >= FALL - 1e-9
    is_worse = has_fallen and len(lately) - sum(lately) >= 2
    return (sum(before), len(before), sum(lately), len(lately)) if is_worse else None


def _slower(times: Sequence[float]) -> tuple[float, float] | None:
    before, lately = times[:-RECENT], times[-RECENT:]
    if len(before) < FEWEST_SESSIONS:
        return None
    lower, _, upper = quantiles(before, n=4, method="inclusive")
    fence = max(upper + FENCE * (upper - lower), RISE * median(before))
    is_slow = median(lately) > fence
    return (median(before), median(lately)) if is_slow else None
