"""What to practise in the minutes that there are: critical and weak steps by preference. Predicts nothing.

A step is due when it was never tested, was missed when last tested, or when less than about two thirds of it
is expected to be left: 2^(-d/h) < 0.65, d days after it was last recalled (`practice/recall.py`). Due steps
are chosen by need = 1 - lower bound of the estimate, twice that for a critical step; at equal need, those
unseen longest come first, then the listed order. A conditional step never tested is left out: what is
rehearsed is the order, to which it does not always belong. Another step never tested has the lower bound of
Beta(1, 1).
Of the chosen steps, critical ones and those missed last are taken first, then the rest, each part in the
protocol's order, which also rehearses what follows what, once each; what is missed is taken again after all
others, in time that the plan does not count.

Sources. Spacing: A. Latimier, H. Peyre and F. Ramus, Educational Psychology Review 2021 (abstract read):
spaced beside massed recall g = 0.74, expanding beside equal gaps no difference. Twofold need, 20
seconds for a try and three things for ten minutes are our own choice, no source. So are 0.65, one try and the
protocol's order: they were chosen by the simulation in tests/learners.py, as they reach the order in fewer
minutes than 0.9, two tries and the order of need. The cost: a week later somewhat less is kept. To begin with
critical and missed steps made no difference there.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from math import log2

from checklist.practice.beta import quantile
from checklist.practice.recall import Estimate
from checklist.protocol.model import Protocol, Step

DUE_BELOW = 0.65
CRITICAL_NEED = 2.0
TRY_SECONDS = 20.0
"""To say a step aloud with what is expected, look, and mark it."""
SHORT_MINUTES, FEW_THINGS = 10, 3
"""In so few minutes no more than three things are named: an examination may be near."""
UNTESTED_LOW = quantile(0.025, 1, 1)


class Why(StrEnum):
    """Why a step is due."""

    UNTESTED = "not yet tested"
    MISSED = "missed last time"
    FADING = "fading"


@dataclass(frozen=True, kw_only=True, slots=True)
class Item:
    """A step to practise."""

    step: Step
    why: Why
    estimate: Estimate | None
    """None when it was never tested."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Plan:
    """What to practise today."""

    minutes: float
    items: tuple[Item, ...]
    """Chosen by need, in the order in which they are taken: what cannot wait first."""
    left: int
    """How many steps are due but do not fit."""
    later: tuple[tuple[Step, datetime], ...]
    """Steps that are not due, with the time when they will be, soonest first."""

    @property
    def seconds(self) -> float:
        """Return the time for one try of each; what is missed is taken again, and comes on top."""
        return len(self.items) * TRY_SECONDS


def plan(protocol: Protocol, known: Mapping[str, Estimate], minutes: float) -> Plan:
    """Return what to practise in `minutes`, from the estimates of the steps that were tested."""
    due = sorted(_due(protocol, known), key=lambda item: _rank(protocol, item))
    chosen = due[: _most(minutes)]
    later = ((step, due_at(known[step.id])) for step in protocol if _waits(known.get(step.id)))
    return Plan(
        minutes=minutes,
        items=tuple(sorted(chosen, key=lambda item: (can_wait(item), protocol.position_of[item.step.id]))),
        left=len(due) - len(chosen),
        later=tuple(sorted(later, key=lambda each: each[1])),
    )


def can_wait(item: Item) -> bool:
    """Whether a step is neither critical nor missed last, so that it is taken after those."""
    return not item.step.critical and item.why is not Why.MISSED


def _due(protocol: Protocol, known: Mapping[str, Estimate]) -> Iterable[Item]:
    for step in protocol:
        estimate = known.get(step.id)
        if (why := _why(estimate)) and not (why is Why.UNTESTED and step.only_if):
            yield Item(step=step, why=why, estimate=estimate)


def _why(estimate: Estimate | None) -> Why | None:
    if estimate is None:
        return Why.UNTESTED
    if not estimate.last_recalled:
        return Why.MISSED
    return Why.FADING if estimate.retained < DUE_BELOW else None


def _waits(estimate: Estimate | None) -> bool:
    return estimate is not None and not _why(estimate)


def _rank(protocol: Protocol, item: Item) -> tuple[float, float, int]:
    low = item.estimate.low if item.estimate else UNTESTED_LOW
    need = (1 - low) * (CRITICAL_NEED if item.step.critical else 1.0)
    seen = item.estimate.last_seen.timestamp() if item.estimate else 0.0
    return -need, seen, protocol.position_of[item.step.id]


def _most(minutes: float) -> int:
    fitting = max(0, int(minutes * 60 // TRY_SECONDS))
    return min(fitting, FEW_THINGS) if minutes <= SHORT_MINUTES else fitting


def due_at(estimate: Estimate) -> datetime:
    """Return when about two thirds of what was last recalled is expected to be left."""
    return estimate.last_seen + timedelta(days=estimate.half_life * -log2(DUE_BELOW))
