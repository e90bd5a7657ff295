"""How well each step is recalled, estimated from all past runs. Says nothing of a step never tested.

The formulas, with t in days and `now` the moment of asking:

    h = 2^(1 + r/2 - m/2) days            half-life of what was recalled
    a = 1 + sum over recalls of w 2^(-(now - t)/h)
    b = 1 + sum over misses of w 2^(-g/28)
    estimate a/(a + b), interval from the 2.5 % and 97.5 % quantiles of Beta(a, b)

r and m count the days on which the first test of the step was a recall or a miss, each by its weight w.
g is the time from a miss to the last recall after it, 0 when there was none: a miss is outdated by recalling,
never by waiting. So waiting never raises the estimate, and a further recall never lowers it.

Sources. A uniform prior and Bernoulli trials: textbook, no source. A half-life, 2^(-d/h) with h =
2^(theta x): B. Settles and B. Meeder, A Trainable Spaced Repetition Model for Language Learning, ACL 2016,
from memory; the limits of h, 15 minutes to 274 days, are those of their published code. Theta (1, 1/2, -1/2),
the 28 days and the weights are our own choice, no source.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from math import exp2
from statistics import median
from typing import NamedTuple

from checklist.practice.beta import quantile
from checklist.practice.run import RECALLED_MARK, Run
from checklist.session.session import EXAMINATION, REHEARSAL

SHORTEST_DAYS, LONGEST_DAYS = 15 / (24 * 60), 274.0
MISS_HALF_LIFE_DAYS = 28.0
NAMED_WEIGHT = 0.5
"""Of an examination: the screen names the step that comes next. Our own rule, no source."""
_DAY = 86_400.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Estimate:
    """What the past runs say of one step that was tested."""

    step: str
    mean: float
    low: float
    high: float
    """The interval that holds the share of recall with probability 95 %."""
    recalled: int
    tested: int
    last_seen: datetime
    last_recalled: bool
    """Whether the last test was a recall."""
    last_mark: str
    """How the last test went, by a mark of `practice/run.py`."""
    half_life: float
    """Days after which half of what was recalled is expected to be left."""
    retained: float
    """2^(-d/h), d the days since it was last recalled; 0 when it never was."""
    seconds: float | None
    """The median time at the step where it was performed, not rehearsed."""


class Evidence(NamedTuple):
    """One test of a step, as the estimate sees it."""

    days_ago: float
    is_recalled: bool
    weight: float
    at: datetime


def estimates(runs: Iterable[Run], now: datetime) -> Mapping[str, Estimate]:
    """Return the estimate of each step that was tested, by step id; a run of the future counts as of now."""
    tests: dict[str, list[Evidence]] = {}
    times: dict[str, list[float]] = {}
    marks: dict[str, str] = {}
    for run in sorted(runs, key=lambda each: each.created):
        recall, miss = (_test(run, now, is_recalled=is_recalled) for is_recalled in (True, False))
        for step, mark in zip(run.steps, run.marks, strict=True):
            marks[step] = mark
            tests.setdefault(step, []).append(recall if mark == RECALLED_MARK else miss)
        if run.mode != REHEARSAL:
            for trial in run.trials:
                if trial.is_recalled and trial.seconds:
                    times.setdefault(trial.step, []).append(trial.seconds)
    return {step: _estimate(step, each, times.get(step, ()), marks[step]) for step, each in tests.items()}


def _test(run: Run, now: datetime, *, is_recalled: bool) -> Evidence:
    days_ago = max(0.0, (now - run.created).total_seconds() / _DAY)
    weight = NAMED_WEIGHT if run.mode == EXAMINATION else 1.0
    return Evidence(days_ago=days_ago, is_recalled=is_recalled, weight=weight, at=run.created)


def half_life(recalled: float, missed: float) -> float:
    """Return h in days after so many days on which the step was recalled, and was missed."""
    exponent = min(60.0, max(-60.0, 1 + recalled / 2 - missed / 2))
    return min(LONGEST_DAYS, max(SHORTEST_DAYS, exp2(exponent)))


def retention(days: float, half_life: float) -> float:
    """Return 2^(-d/h): the share that is expected to be left after `days`."""
    return exp2(-days / half_life)


def _estimate(step: str, tests: Sequence[Evidence], times: Sequence[float], last_mark: str) -> Estimate:
    h = half_life(*days_of(tests))
    a, b = counts(tests, h)
    latest = min((test.days_ago for test in tests if test.is_recalled), default=None)
    return Estimate(
        step=step,
        mean=a / (a + b),
        low=quantile(0.025, a, b),
        high=quantile(0.975, a, b),
        recalled=sum(test.is_recalled for test in tests),
        tested=len(tests),
        last_seen=tests[-1].at,
        last_recalled=tests[-1].is_recalled,
        last_mark=last_mark,
        half_life=h,
        retained=0.0 if latest is None else retention(latest, h),
        seconds=median(times) if times else None,
    )


def days_of(tests: Iterable[Evidence]) -> tuple[float, float]:
    """Return r and m: the days on which the first test was a recall, and a miss, each by its weight.

    A day weighs as much as the weightiest of its tests that went as the first one did.
    """
    days: dict[date, tuple[bool, float]] = {}
    for test in tests:
        first, most = days.setdefault(test.at.date(), (test.is_recalled, test.weight))
        if test.is_recalled == first and test.weight > most:
            days[test.at.date()] = (first, test.weight)
    recalled = sum(weight for was_recalled, weight in days.values() if was_recalled)
    return recalled, sum(weight for was_recalled, weight in days.values() if not was_recalled)


def counts(tests: Iterable[Evidence], half_life: float) -> tuple[float, float]:
    """Return a and b of the Beta distribution."""
    tests = tuple(tests)
    a = b = 1.0
    latest = min((test.days_ago for test in tests if test.is_recalled), default=None)
    for days_ago, is_recalled, weight, _ in tests:
        if is_recalled:
            a += weight * exp2(-days_ago / half_life)
        else:
            gap = 0.0 if latest is None else max(0.0, days_ago - latest)
            b += weight * exp2(-gap / MISS_HALF_LIFE_DAYS)
    return a, b
