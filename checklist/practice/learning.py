"""How the total time falls from run to run: an exponential and a power curve, and what gets worse.

    exponential  T(n) = A + B e^(-c(n-1))      power  T(n) = A + B n^(-a)      n = 1, 2, 3 …, A and B >= 0

Both are fitted by least squares: for a given rate the best A and B follow from two linear equations, and the
rate is found by a grid and golden-section search. The one with the lower AICc = N ln(SSE/N) + 2k + 2k(k+1)/
(N-k-1) is nearer, k = 4 (A, B, the rate, the variance); as both have as many parameters, the smaller SSE
decides. Times are said to fall only where the nearer curve has a lower AICc than no trend at all, k = 2 (mean
and variance). With five runs AICc of a curve is not defined: there it must be as close as AICc asks of six.
The gap between the two curves and the scatter of the runs is the least that is uncertain. Nothing is shown
below five runs, and nothing is said of passing.

What gets worse is found by two exact tests of the last three against those before, at a chance of 1 %.

Sources: A. Heathcote, S. Brown and D. J. K. Mewhort, The power law repealed, Psychonomic Bulletin & Review
2000 (abstract read, equation from memory): one person's times follow the exponential more often.
AICc: Hurvich and Tsai 1989; Fisher's exact test; Mann and Whitney 1947, exact with midranks: from memory.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Container, Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from math import comb, exp, floor, inf, log, sqrt
from statistics import median

from checklist.practice.run import RECALLED_MARK, Run
from checklist.session.session import REHEARSAL

FEWEST_RUNS = 5
PARAMETERS, FLAT_PARAMETERS = 4, 2
FITTED = 3
"""Numbers of a curve that are fitted: level, gain and rate."""
CLOSENESS = exp(40 / 6)
"""How many times smaller than without a curve the sum of squares must be with five runs: what AICc asks of
six, from 6 ln(SSE/6) + 8 + 40 < 6 ln(SSE0/6) + 4 + 4. Our own rule, no source."""
LEAST_FALL = 1.0
"""Seconds over all runs; less is not shown as a fall."""
SLOWER_RUNS = 3
"""Latest runs that are looked at for times that rise again. Our own rule, no source."""
HORIZON = 2
"""Nothing is said beyond so many times the runs that there were."""
RECENT = 3
"""Latest tests or times of a step that are compared with all before them. Our own rule, no source."""
FEWEST_COMPARED = 10
"""Tests, or times, from which on they are compared: with fewer no three can be so rare, 1 in 84 at best."""
MOST_COMPARED = 200
"""Latest times that are compared. Our own rule, no source."""
CHANCE = 0.01
"""How often at most chance alone may do what is called worse. Our own rule, no source."""
RISE, RISE_SECONDS = 1.2, 3.0
"""How many times the median before, and seconds above it, the latest one must be. Our own rule, no source."""
_HAIR = 1e-9
"""What binary fractions round away."""


def whole_seconds(seconds: float) -> int:
    """Return a time as it is shown, so that what is compared is what is read."""
    return floor(seconds + 0.5)


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
        return aicc(self.sse, self.runs, PARAMETERS)


def aic(sse: float, runs: int, parameters: int = PARAMETERS) -> float:
    """Return N ln(SSE/N) + 2k."""
    return (runs * log(sse / runs) if sse > 0 else -inf) + 2 * parameters


def aicc(sse: float, runs: int, parameters: int) -> float:
    """Return AIC with its correction for few runs; infinite where there are too few."""
    spare = runs - parameters - 1
    return aic(sse, runs, parameters) + 2 * parameters * (parameters + 1) / spare if spare > 0 else inf


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
    def has_fall(self) -> bool:
        """Whether the nearer curve falls by a second that is shown; by chance it may."""
        return self.chosen.at(1) - self.chosen.at(len(self.seconds)) >= LEAST_FALL

    @property
    def is_falling(self) -> bool:
        """Whether the times fall by more than chance would give."""
        runs = len(self.seconds)
        if not self.has_fall:
            return False
        mean = sum(self.seconds) / runs
        flat = sum((each - mean) ** 2 for each in self.seconds)
        if runs == FEWEST_RUNS:
            return self.chosen.sse * CLOSENESS < flat
        return self.chosen.aicc < aicc(flat, runs, FLAT_PARAMETERS)

    @property
    def scatter(self) -> float:
        """Seconds that a run typically lies off the chosen curve: the residual standard deviation."""
        return sqrt(self.chosen.sse / (len(self.seconds) - FITTED))

    @property
    def is_slower_lately(self) -> bool:
        """Whether the latest runs leave the chosen curve upwards, so that it says nothing of the next one.

        All three lie above it, on average by more than the scatter; or each took longer than the one before,
        and the last one lies above it by more than the scatter.
        """
        runs = len(self.seconds)
        above = [self.seconds[at] - self.chosen.at(at + 1) for at in range(runs - SLOWER_RUNS, runs)]
        # A curve through all runs has no scatter but that of rounding.
        most = max(self.scatter, 0.5)
        latest = self.seconds[-SLOWER_RUNS - 1 :]
        is_rising = all(one < other for one, other in pairwise(latest))
        return (min(above) > 0 and sum(above) / len(above) > most) or (is_rising and above[-1] > most)

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
    is_likely: bool
    """Whether both curves come down to it, and level off below it by more than the scatter."""
    is_beyond_fastest: bool
    """Whether the limit is below the fastest time so far, so that the curves are followed beyond it."""


def limit(found: Learning, seconds: float) -> Limit:
    """Return from which run on the curves are within a limit; looks no further than twice the runs so far."""
    runs, horizon = len(found.seconds), HORIZON * len(found.seconds)
    chosen, other = (_first_within(curve, seconds, runs, horizon) for curve in (found.chosen, found.other))
    level = max(found.chosen.level, found.other.level)
    return Limit(
        seconds=seconds,
        chosen_run=chosen,
        other_run=other,
        horizon=horizon,
        is_likely=None not in (chosen, other) and level < seconds - found.scatter,
        is_beyond_fastest=whole_seconds(seconds) < whole_seconds(min(found.seconds)),
    )


def is_within(seconds: float, most: float) -> bool:
    """Whether a time is within a limit, both as they are shown."""
    return whole_seconds(seconds) <= whole_seconds(most)


def _first_within(curve: Curve, seconds: float, runs: int, horizon: int) -> int | None:
    return next((run for run in range(runs + 1, horizon + 1) if is_within(curve.at(run), seconds)), None)


@dataclass(frozen=True, kw_only=True, slots=True)
class Worse:
    """A step that was recalled less, or took longer, lately than before."""

    step: str
    recall: tuple[int, int, int, int] | None
    """Recalled and tested before, recalled and tested lately; None when recall did not fall."""
    seconds: tuple[float, float] | None
    """The median time before and lately; None when the time did not rise."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Compared:
    """What the latest tests and times of all steps come to, beside those before."""

    worse: tuple[Worse, ...]
    comparisons: int
    """How many there were, of recall and of time; chance alone names one in a hundred of them at most."""


def compared(runs: Iterable[Run], known: Container[str]) -> Compared:
    """Return which known steps get worse: the last three tests beside those before, and so the times."""
    tests: dict[str, list[bool]] = {}
    times: dict[str, list[float]] = {}
    for run in sorted(runs, key=lambda each: each.created):
        for step, mark, seconds in zip(run.steps, run.marks, run.times, strict=True):
            if step not in known:
                continue
            tests.setdefault(step, []).append(mark == RECALLED_MARK)
            if run.mode != REHEARSAL and mark == RECALLED_MARK and seconds:
                times.setdefault(step, []).append(seconds)
    found = (
        Worse(step=step, recall=less_recalled(each), seconds=slower(times.get(step, ())))
        for step, each in tests.items()
    )
    counts = [len(each) for each in tests.values()] + [len(each) for each in times.values()]
    return Compared(
        worse=tuple(each for each in found if each.recall or each.seconds),
        comparisons=sum(count >= FEWEST_COMPARED for count in counts),
    )


def less_recalled(tests: Sequence[bool]) -> tuple[int, int, int, int] | None:
    """Return how many were recalled before, of how many, and lately; None unless that is rare by chance."""
    before, lately = tests[:-RECENT], tests[-RECENT:]
    if len(tests) < FEWEST_COMPARED or chance_of_fewer(before, lately) > CHANCE + _HAIR:
        return None
    return sum(before), len(before), sum(lately), len(lately)


def chance_of_fewer(before: Sequence[bool], lately: Sequence[bool]) -> float:
    """Return how often chance puts as few recalls among the latest, or fewer: Fisher, exact, one side."""
    recalled, tested, recent = sum(before) + sum(lately), len(before) + len(lately), len(lately)
    ways = (comb(recalled, few) * comb(tested - recalled, recent - few) for few in range(sum(lately) + 1))
    return sum(ways) / comb(tested, recent)


def slower(times: Sequence[float]) -> tuple[float, float] | None:
    """Return the median before and of the last three; None unless longer, and seldom so by chance."""
    before, lately = times[-MOST_COMPARED:-RECENT], times[-RECENT:]
    if len(times) < FEWEST_COMPARED:
        return None
    usual, latest = median(before), median(lately)
    if latest < max(RISE * usual, usual + RISE_SECONDS) - _HAIR:
        return None
    return (usual, latest) if chance_of_slower(before, lately) <= CHANCE + _HAIR else None


def chance_of_slower(before: Sequence[float], lately: Sequence[float]) -> float:
    """Return how often chance puts the latest three as high, or higher: Mann-Whitney, exact, one side.

    Equal times share their rank, and the chance is that among all threes of these very ranks.
    """
    ordered = sorted((*before, *lately))

    def rank(seconds: float) -> int:
        """Return twice the rank, so that a shared one is whole."""
        return bisect_left(ordered, seconds) + bisect_right(ordered, seconds) + 1

    least = sum(map(rank, lately))
    return _threes([rank(each) for each in ordered], least) / comb(len(ordered), RECENT)


def _threes(ranks: Sequence[int], least: int) -> int:
    """Return how many threes of the ranks, lowest first, add up to `least` or more."""
    count = 0
    for high in range(RECENT - 1, len(ranks)):
        low, middle = 0, high - 1
        while low < middle:
            if ranks[low] + ranks[middle] + ranks[high] >= least:
                count += middle - low
                middle -= 1
            else:
                low += 1
    return count
