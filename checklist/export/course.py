"""Where the examiner was, second by second: visits to steps, and what was no examination as gaps between.

Seconds here run on through a pause, as a recording does; the examination clock of the events does not.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

from checklist.session.events import (
    Event,
    Finished,
    Interrupted,
    Left,
    Marked,
    Moved,
    Paused,
    Recorded,
    Remarked,
    Reopened,
    Resumed,
    Started,
)
from checklist.session.session import Session

LEAST_SECONDS = 0.5
"""A visit that is shorter and in which nothing was recorded is passing by."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Visit:
    """An unbroken time at one step, in seconds since the start of the examination."""

    step: str
    start: float
    end: float
    is_used: bool = False
    """Whether something was recorded, marked or remarked in it."""

    @property
    def counts(self) -> bool:
        return self.end > self.start and (self.is_used or self.end - self.start >= LEAST_SECONDS)


def course(session: Session) -> tuple[Visit, ...]:
    """Return the visits in order; they never overlap, and none is in passing."""
    return tuple(visit for visit in _joined(_at_steps(session.events)) if visit.counts)


def _at_steps(events: tuple[Event, ...]) -> Iterator[Visit]:
    """Return whole visits, those in passing included: from the arrival at a step to the next, or to a gap."""
    last: Visit | None = None
    for visit in _visits(events):
        if last and last.step == visit.step and last.end == visit.start:
            last = replace(last, end=visit.end, is_used=last.is_used or visit.is_used)
            continue
        if last:
            yield last
        last = visit
    if last:
        yield last


def _visits(events: tuple[Event, ...]) -> Iterator[Visit]:
    """Return the stretches of examination between events, each at one step."""
    time, step, runs = 0.0, "", False
    for before, event in pairwise(events):
        step = before.step if isinstance(before, Started | Moved) else step
        runs = _runs_after(before, runs)
        examined = event.clock - before.clock
        if runs:
            used = isinstance(event, Recorded | Marked | Remarked)
            yield Visit(step=step, start=time, end=time + examined, is_used=used)
        time += examined + _gap(before, event, runs)


def _runs_after(event: Event, runs: bool) -> bool:
    if isinstance(event, Started | Resumed | Reopened):
        return True
    return runs and not isinstance(event, Paused | Left | Finished)


def _gap(before: Event, event: Event, runs: bool) -> float:
    """Return the seconds between two events that were no examination; a wall clock set back gives none."""
    if isinstance(event, Interrupted):
        return event.away_seconds
    if runs and not isinstance(event, Reopened):
        return 0.0
    passed = (event.at - before.at).total_seconds()
    return max(0.0, passed - (event.clock - before.clock))


def _joined(visits: Iterable[Visit]) -> list[Visit]:
    """Join what follows without a gap at the same step; what is passed by belongs to the visit before it."""
    kept: list[Visit] = []
    for visit in visits:
        follows = bool(kept) and kept[-1].end == visit.start
        if follows and (visit.step == kept[-1].step or not visit.counts):
            used = kept[-1].is_used or (visit.is_used and visit.step == kept[-1].step)
            kept[-1] = replace(kept[-1], end=visit.end, is_used=used)
        else:
            kept.append(visit)
    return kept
