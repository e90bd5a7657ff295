"""The order of a performance beside the order of its protocol.

Compared are the steps that were done, in the order in which each was first recorded or marked. A step
that was not done has no place among them; it breaks a rule of order when one was done that needs it first.
"""

from bisect import bisect_right, insort
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import comb, sqrt

from checklist.protocol.model import Protocol, Step
from checklist.session.events import NOT_INDICATED, Marked, Outcome, Recorded, Retracted
from checklist.session.session import OBSERVATION, Session
from checklist.session.state import Record

DONE_OUTCOMES = frozenset({Outcome.EXPECTED, Outcome.DIFFERS, Outcome.UNSEEN})
"""What is recorded of an entry that was examined; *attempted, not seen* was attempted."""
DONE_MARKS = frozenset({"done", "done after a prompt", "done incorrectly"})


@dataclass(frozen=True, kw_only=True, slots=True)
class Performance:
    """When a step was first recorded or marked as done."""

    step: Step
    event: int
    clock: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Breach:
    """A step that was done before one that it should have come after, or without it."""

    early: Performance
    first: Step
    """What should have come first."""
    late: Performance | None
    """When that was done; None where it never was, for no reason that excuses it."""
    why: str

    @property
    def events(self) -> tuple[int, ...]:
        """The events that it rests on."""
        return (self.early.event, *([self.late.event] if self.late else []))


@dataclass(frozen=True, kw_only=True, slots=True)
class Order:
    """How the order done differs from the order planned."""

    performed: tuple[Performance, ...]
    inversions: int
    """Pairs of steps in the wrong order."""
    pairs: int
    """Pairs that have an order: those within one free order have none."""
    moved: tuple[Step, ...]
    """The fewest steps that, put elsewhere, give the planned order; it can be possible with others too."""
    tau: float | None
    """Kendall's tau-b; None where nothing can be compared."""
    tau_as_planned: float
    """What tau-b is in the planned order: 1, or less where steps in free order tie."""
    breaches: tuple[Breach, ...]


def order(session: Session) -> Order:
    """Compare the order in which steps were done with the protocol's."""
    done = performed(session)
    ranks = planned_ranks(session.protocol, [each.step.id for each in done])
    every_pair = comb(len(ranks), 2)
    pairs = every_pair - sum(comb(tied, 2) for tied in Counter(ranks).values())
    kept = set(longest_run(ranks))
    return Order(
        performed=done,
        inversions=inversions(ranks),
        pairs=pairs,
        moved=tuple(each.step for place, each in enumerate(done) if place not in kept),
        tau=tau_b(ranks, range(len(ranks))),
        tau_as_planned=sqrt(pairs / every_pair) if every_pair else 1.0,
        breaches=breaches(session, done),
    )


def performed(session: Session) -> tuple[Performance, ...]:
    """Return the steps that were done at least in part, in the order of their first record or mark as done.

    What was recorded after the end has no place in the order.
    """
    taken_back = {event.event for event in session.events if isinstance(event, Retracted)}
    found: dict[str, Performance] = {}
    for event in session.events:
        if event.n in taken_back or not isinstance(event, Recorded | Marked) or event.step in found:
            continue
        if _says_done(event) and is_performed(session, event.step):
            step = session.protocol.step_of[event.step]
            found[event.step] = Performance(step=step, event=event.n, clock=event.clock)
    return tuple(found.values())


def _says_done(event: Recorded | Marked) -> bool:
    if isinstance(event, Marked):
        return event.mark in DONE_MARKS
    return any(result.outcome in DONE_OUTCOMES for result in event.results)


def is_performed(session: Session, step_id: str) -> bool:
    """Whether what stands says that the step was done, at least in part; a mark outranks the records."""
    if mark := session.state.marks.get(step_id):
        return mark.mark in DONE_MARKS
    records = map(before_the_end, session.state.records.get(step_id, {}).values())
    return any(record and record.result.outcome in DONE_OUTCOMES for record in records)


def before_the_end(record: Record) -> Record | None:
    """Return what stood for an entry when the examination ended: amendments say nothing of how it went."""
    found: Record | None = record
    while found and found.amendment:
        found = found.replaced
    return found


def is_set_aside(session: Session, step: Step) -> bool:
    """Whether a conditional step was not triggered before the end; a late entry triggers none."""
    if not step.only_if:
        return False
    if mark := session.state.marks.get(step.id):
        return mark.mark == "not applicable"
    records = map(before_the_end, session.state.records.get(step.id, {}).values())
    return all(
        record.result.outcome is Outcome.NOT_EXAMINED and record.result.reason == NOT_INDICATED
        for record in records
        if record
    )


def is_left_out(session: Session, step: Step) -> bool:
    """Whether a step was not done at all, and nothing recorded says why but that time ran out.

    What an observer did not mark or could not see may have been done.
    """
    if mark := session.state.marks.get(step.id):
        return mark.mark == "not done"
    if session.header.mode == OBSERVATION or is_set_aside(session, step):
        return False
    records = map(before_the_end, session.state.records.get(step.id, {}).values())
    return all(
        record.result.outcome is Outcome.NOT_EXAMINED and record.result.reason == "out of time"
        for record in records
        if record
    )


def planned_ranks(protocol: Protocol, done: Sequence[str]) -> tuple[int, ...]:
    """Return the planned place of each step of `done`; neighbours in one free order share a place."""
    place_of: dict[str, int] = {}
    before: tuple[int, int] | None = None
    for step_id in sorted(done, key=protocol.position_of.__getitem__):
        group = _free_order(protocol, step_id)
        if group is None or group != before:
            place = protocol.position_of[step_id]
        place_of[step_id] = place
        before = group
    return tuple(place_of[step_id] for step_id in done)


def _free_order(protocol: Protocol, step_id: str) -> tuple[int, int] | None:
    """Name the first free order that holds the step, by its section and its place there."""
    section = protocol.section_of[step_id]
    groups = (number for number, group in enumerate(section.free_order) if step_id in group.steps)
    number = next(groups, None)
    return None if number is None else (protocol.sections.index(section), number)


def inversions(ranks: Sequence[int]) -> int:
    """Count the pairs of which the later one has the lower rank."""
    seen: list[int] = []
    wrong = 0
    for rank in ranks:
        wrong += len(seen) - bisect_right(seen, rank)
        insort(seen, rank)
    return wrong


def longest_run(ranks: Sequence[int]) -> tuple[int, ...]:
    """Return the places of a longest subsequence that never falls (patience sorting)."""
    tops: list[int] = []
    top_places: list[int] = []
    before: list[int | None] = []
    for place, rank in enumerate(ranks):
        pile = bisect_right(tops, rank)
        before.append(top_places[pile - 1] if pile else None)
        tops[pile:] = [rank, *tops[pile + 1 :]]
        top_places[pile:] = [place, *top_places[pile + 1 :]]
    run: list[int] = []
    place_before = top_places[-1] if top_places else None
    while place_before is not None:
        run.append(place_before)
        place_before = before[place_before]
    return tuple(reversed(run))


def tau_b(first: Sequence[float], second: Sequence[float]) -> float | None:
    """Return Kendall's tau-b of two rankings of the same things; None where one of them ranks nothing.

    (P - Q) / sqrt((P + Q + T)(P + Q + U)): pairs in the same and in the other order, and tied in one only.
    """
    same = other = tied_first = tied_second = 0
    for (a, b), (c, d) in combinations(zip(first, second, strict=True), 2):
        way = (a - c) * (b - d)
        same += way > 0
        other += way < 0
        tied_first += a == c and b != d
        tied_second += a != c and b == d
    ranked = (same + other + tied_first) * (same + other + tied_second)
    return (same - other) / sqrt(ranked) if ranked else None


def breaches(session: Session, done: Sequence[Performance]) -> tuple[Breach, ...]:
    """Return the constraints that steps broke that were done: their prerequisite came later, or never."""
    return tuple(_breaches(session, done))


def _breaches(session: Session, done: Sequence[Performance]) -> Iterator[Breach]:
    place_of = {each.step.id: place for place, each in enumerate(done)}
    for place, early in enumerate(done):
        for after in early.step.after:
            first = session.protocol.step_of[after.step]
            at = place_of.get(first.id)
            if (at is None and is_left_out(session, first)) or (at is not None and at > place):
                late = None if at is None else done[at]
                yield Breach(early=early, first=first, late=late, why=after.why)
