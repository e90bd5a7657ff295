"""How well each step is recalled, estimated from all past runs. Says nothing of a step never tested.

The formulas, with t in days and `now` the moment of asking:

    h = 2^(1 + r/2 - m/2) days            half-life of what was recalled
    a = 1 + sum over recalls of w 2^(-(now - t)/h)
    b = 1 + sum over misses of w 2^(-g/28)
    estimate a/(a + b), interval from the 2.5 % and 97.5 % quantiles of Beta(a, b)

r and m count the days on which the first test of the step was a recall or a miss, each by its weight w.
g is the time from a miss to the last recall after it, 0 when there was none: a miss is outdated by recalling,
never by waiting. So waiting never raises the estimate, and a further recall never lowers it.

The estimate is cautious by construction, and not the share of recalls: it starts at one half, and misses fade
more slowly than recalls. In simulation (tests/test_recall.py) constant recallers of 0.5 get about 0.24, of
0.7 about 0.6. The interval holds what it says by this model alone.

Sources. A uniform prior and Bernoulli trials: textbook, no source. A half-life, 2^(-d/h) with h =
2^(theta x): B. Settles and B. Meeder, A Trainable Spaced Repetition Model for Language Learning, ACL 2016,
from memory; the limits of h, 15 minutes to 274 days, are those of their published code. Theta (1, 1/2, -1/2),
the 28 days and the weights are our own choice, no source.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from itertools import repeat
from math import exp2
from statistics import median
from typing import NamedTuple

from checklist.practice.beta import quantile
from checklist.practice.run import RECALLED_MARK, Run
from checklist.session.session import REHEARSAL

SHORTEST_DAYS, LONGEST_DAYS = 15 / (24 * 60), 274.0
MISS_HALF_LIFE_DAYS = 28.0
NAMED_WEIGHT = 0.5
"""Where the screen names the step that comes next, as in an examination. Our own rule, no source."""
_DAY = 86_400.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Estimate:
    """What the past runs say of one step that was tested."""

    step: str
    mean: float
    low: float
    high: float
    """The interval that, by this model, holds the share of recall with probability 95 %."""
    recalled: int
    """Tests that were a recall, or in which the step was done as planned."""
    tested: int
    performed: int
    """Tests in which the step was to be done, rather than recalled."""
    last_seen: datetime
    last_recalled: bool
    """Whether the last test was a recall."""
    last_mark: str
    """How the last test went, by a mark of `practice/run.py`."""
    last_performed: bool
    """Whether the step was to be done in the last test, rather than recalled."""
    half_life: float
    """Days after which half of what was recalled is expected to be left."""
    retained: float
    """2^(-d/h), d the days since it was last recalled; 0 when it never was."""
    seconds: float | None
    """The median time at the step where it was performed, not rehearsed."""


class Evidence(NamedTuple):
    """What a run says of each step that was recalled in it, or of each that was missed."""

    days_ago: float
    weight: float


class _Tested(NamedTuple):
    """The tests of one step, oldest first."""

    recalls: list[Evidence]
    misses: list[Evidence]
    times: list[float]
    """At the step, where it was performed as planned and not rehearsed."""


def estimates(runs: Iterable[Run], now: datetime) -> Mapping[str, Estimate]:
    """Return the estimate of each step that was tested, by step id; a run of the future counts as of now."""
    runs = sorted(runs, key=lambda each: each.created)
    tested = _tested(runs, now)
    recalled, missed = days_of(runs)
    performed: Counter[str] = Counter()
    last: dict[str, tuple[str, Run]] = {}
    for run in runs:
        performed.update(run.steps if run.is_performed else ())
        last.update(zip(run.steps, zip(run.marks, repeat(run)), strict=False))
    return {
        step: _estimate(
            step,
            tests,
            half_life(recalled.get(step, 0.0), missed.get(step, 0.0)),
            performed[step],
            last[step],
        )
        for step, tests in tested.items()
    }


def _tested(runs: Iterable[Run], now: datetime) -> Mapping[str, _Tested]:
    """Return the tests by step id. What a run says is made once for all of its steps, as there are many."""
    tested: dict[str, _Tested] = defaultdict(lambda: _Tested([], [], []))
    for run in runs:
        days_ago = max(0.0, (now - run.created).total_seconds() / _DAY)
        evidence = Evidence(days_ago=days_ago, weight=_weight(run))
        is_timed = run.mode != REHEARSAL
        for step, mark, seconds in zip(run.steps, run.marks, run.times, strict=True):
            recalls, misses, times = tested[step]
            if mark != RECALLED_MARK:
                misses.append(evidence)
                continue
            recalls.append(evidence)
            if is_timed and seconds:
                times.append(seconds)
    return tested


def _weight(run: Run) -> float:
    return NAMED_WEIGHT if run.is_named else 1.0


def half_life(recalled: float, missed: float) -> float:
    """Return h in days after so many days on which the step was recalled, and was missed."""
    exponent = min(60.0, max(-60.0, 1 + recalled / 2 - missed / 2))
    return min(LONGEST_DAYS, max(SHORTEST_DAYS, exp2(exponent)))


def retention(days: float, half_life: float) -> float:
    """Return 2^(-d/h): the share that is expected to be left after `days`."""
    return exp2(-days / half_life)


def _estimate(step: str, tests: _Tested, h: float, performed: int, last: tuple[str, Run]) -> Estimate:
    recalls, misses, times = tests
    a, b = counts(recalls, misses, h)
    last_mark, run = last
    return Estimate(
        step=step,
        mean=a / (a + b),
        low=quantile(0.025, a, b),
        high=quantile(0.975, a, b),
        recalled=len(recalls),
        tested=len(recalls) + len(misses),
        performed=performed,
        last_seen=run.created,
        last_recalled=last_mark == RECALLED_MARK,
        last_mark=last_mark,
        last_performed=run.is_performed,
        half_life=h,
        retained=retention(recalls[-1].days_ago, h) if recalls else 0.0,
        seconds=median(times) if times else None,
    )


def days_of(runs: Iterable[Run]) -> tuple[Mapping[str, float], Mapping[str, float]]:
    """Return r and m of each step: the days on which its first test was a recall, and a miss, by weight.

    The runs come oldest first. A day weighs as much as the weightiest of its tests that went like the first.
    """
    days: dict[date, dict[str, tuple[bool, float]]] = defaultdict(dict)
    for run in runs:
        first, weight = days[run.created.date()], _weight(run)
        for step, mark in zip(run.steps, run.marks, strict=True):
            known = first.get(step)
            is_recalled = mark == RECALLED_MARK
            if known is None or (weight > known[1] and is_recalled == known[0]):
                first[step] = (is_recalled, weight)
    recalled: dict[str, float] = defaultdict(float)
    missed: dict[str, float] = defaultdict(float)
    for first in days.values():
        for step, (was_recalled, weight) in first.items():
            (recalled if was_recalled else missed)[step] += weight
    return recalled, missed


def counts(recalls: Sequence[Evidence], misses: Sequence[Evidence], half_life: float) -> tuple[float, float]:
    """Return a and b of the Beta distribution, from what was recalled and missed, oldest first."""
    a = 1 + sum([weight * exp2(-days_ago / half_life) for days_ago, weight in recalls])
    if not recalls:
        return a, 1 + sum([weight for _, weight in misses])
    latest = recalls[-1].days_ago
    gaps = [(max(0.0, days_ago - latest), weight) for days_ago, weight in misses]
    return a, 1 + sum([weight * exp2(-gap / MISS_HALF_LIFE_DAYS) for gap, weight in gaps])
