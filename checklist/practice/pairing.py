"""Two sessions of one performance, side by side: what can be compared, item by item, and what cannot.

Each pair keeps the order in which the sessions were given, so that the other order gives the mirror image.
Computes no figure of agreement, and has no words for a document.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from checklist.errors import ChecklistError
from checklist.protocol.model import Protocol, Step
from checklist.session.events import NOT_INDICATED, Outcome, Started
from checklist.session.session import EXAMINATION, OBSERVATION, Session
from checklist.session.standing import is_set_aside
from checklist.text import one_line

SCALE = ("not done", "done incorrectly", "done after a prompt", "done")
"""Marks that are compared, worst first; the other two say that there was nothing to judge."""
DONE, NOT_DONE, IN_PART = "done", "not done", "done in part"
PROMPTED, INCORRECT = "done after a prompt", "done incorrectly"
NOTHING = "nothing recorded"
NO_MARK = "no mark"
NOT_TRIGGERED = "not triggered"
SHOWN_SECONDS = 0.5
"""What is less rounds to 0:00, and counts as no time."""


class ComparisonError(ChecklistError):
    """Two sessions that are no two records of one performance."""


class Kind(StrEnum):
    """What is compared."""

    MARKS = "marks"
    """Two observers' marks, step by step."""
    SELF = "self"
    """The examinee's own record and an observer's marks: step by step, attempted or not."""
    OUTCOMES = "outcomes"
    """Two examination records, entry by entry."""


CATEGORIES = {
    Kind.MARKS: SCALE,
    Kind.SELF: (NOT_DONE, DONE),
    Kind.OUTCOMES: tuple(str(outcome) for outcome in Outcome),
}


@dataclass(frozen=True, kw_only=True, slots=True)
class Item:
    """One step or entry as both records have it."""

    step: Step
    entry: str = ""
    """Key of the entry; empty where steps are compared as wholes."""
    said: tuple[str, str]
    """What each record says, in its own terms."""
    rated: tuple[str, str] | None = None
    """The same as categories; None for what cannot be compared."""

    @property
    def differs(self) -> bool:
        return self.rated is not None and self.rated[0] != self.rated[1]


@dataclass(frozen=True, kw_only=True, slots=True)
class StepTime:
    """A step with the seconds spent at it in each record."""

    step: Step
    seconds: tuple[float, float]

    @property
    def difference(self) -> float:
        """Seconds that the first took longer than the second."""
        return self.seconds[0] - self.seconds[1]


@dataclass(frozen=True, kw_only=True)
class Comparison:
    """Two sessions side by side."""

    kind: Kind
    sessions: tuple[Session, Session]
    items: tuple[Item, ...]
    """What both rated, in listed order."""
    left_out: tuple[Item, ...]
    """What one of them did not rate, in listed order."""
    times: tuple[StepTime, ...]
    """Steps that are recorded or marked in both and have a time in both."""

    @property
    def protocol(self) -> Protocol:
        return self.sessions[0].protocol

    @property
    def pairs(self) -> tuple[tuple[str, str], ...]:
        return tuple(item.rated for item in self.items if item.rated)

    @property
    def is_apart(self) -> bool:
        """Whether one record began, by the wall clock, after the other had ended."""
        spans = [span for session in self.sessions if (span := _span(session))]
        return len(spans) == 2 and max(begin for begin, _ in spans) > min(end for _, end in spans)


def compare(first: Session, second: Session) -> Comparison:
    """Pair two sessions; raises ComparisonError when they are no two records of one protocol."""
    _demand_two(first, second)
    kind = _kind(first, second)
    found = tuple(_ITEMS[kind](first, second))
    return Comparison(
        kind=kind,
        sessions=(first, second),
        items=tuple(item for item in found if item.rated),
        left_out=tuple(item for item in found if not item.rated),
        times=tuple(_times(first, second)),
    )


def _demand_two(first: Session, second: Session) -> None:
    if first.header.id == second.header.id:
        raise ComparisonError(f"both are the session {one_line(first.header.id)}; name two")
    names = [f"{session.protocol.id} {session.protocol.version}" for session in (first, second)]
    if names[0] != names[1]:
        text = f"the sessions are of different protocols: {names[0]} and {names[1]}; name two of one"
        raise ComparisonError(one_line(text))
    if _parts(first.protocol) != _parts(second.protocol):
        text = f"the sessions have different steps, though both say {names[0]}; name two of one protocol"
        raise ComparisonError(one_line(text))


def _parts(protocol: Protocol) -> list[tuple[str, tuple[str, ...], bool]]:
    """Return what items are made of: two protocols with the same can be paired, whatever their wording."""
    return [
        (step.id, tuple(entry.key for entry in step.entries), bool(step.only_if)) for step in protocol.steps
    ]


def _kind(first: Session, second: Session) -> Kind:
    modes = {first.header.mode, second.header.mode}
    if unknown := modes - {EXAMINATION, OBSERVATION}:
        text = f"a session of the mode '{min(unknown)}' cannot be compared; '{EXAMINATION}' and"
        raise ComparisonError(one_line(f"{text} '{OBSERVATION}' can"))
    if len(modes) == 2:
        return Kind.SELF
    return Kind.MARKS if OBSERVATION in modes else Kind.OUTCOMES


def _mark_items(first: Session, second: Session) -> Iterator[Item]:
    for step in first.protocol:
        said = (_mark(first, step), _mark(second, step))
        yield Item(step=step, said=said, rated=said if set(said) <= set(SCALE) else None)


def _mark(session: Session, step: Step) -> str:
    marked = session.state.marks.get(step.id)
    return marked.mark if marked else NO_MARK


def _self_items(first: Session, second: Session) -> Iterator[Item]:
    for step in first.protocol:
        said = (_done(first, step), _done(second, step))
        comparable = all(_is_judged(session, step) for session in (first, second))
        rated = (_plain(said[0]), _plain(said[1])) if comparable else None
        yield Item(step=step, said=said, rated=rated)


def _plain(said: str) -> str:
    """Return whether a step was attempted: examined at least in part, however well and with whatever help."""
    return DONE if said in _ATTEMPTED else NOT_DONE


_ATTEMPTED = frozenset({DONE, PROMPTED, INCORRECT, IN_PART})


def _is_judged(session: Session, step: Step) -> bool:
    if session.header.mode == OBSERVATION:
        return _mark(session, step) in SCALE
    return not is_set_aside(session, step)


def _done(session: Session, step: Step) -> str:
    """Return the observer's mark, or how much of the step the examinee recorded as examined."""
    if session.header.mode == OBSERVATION:
        return _mark(session, step)
    records = session.state.records.get(step.id, {})
    if not records:
        return NOT_TRIGGERED if step.only_if else NOTHING
    if is_set_aside(session, step):
        return NOT_INDICATED
    examined = [r for r in records.values() if r.result.outcome is not Outcome.NOT_EXAMINED]
    if not examined:
        return NOT_DONE
    return DONE if len(examined) == len(step.entries) else IN_PART


def _outcome_items(first: Session, second: Session) -> Iterator[Item]:
    for step in first.protocol:
        set_aside = is_set_aside(first, step) or is_set_aside(second, step)
        for entry in step.entries:
            said = (_outcome(first, step, entry.key), _outcome(second, step, entry.key))
            comparable = not set_aside and set(said) <= set(CATEGORIES[Kind.OUTCOMES])
            yield Item(step=step, entry=entry.key, said=said, rated=said if comparable else None)


def _outcome(session: Session, step: Step, entry: str) -> str:
    record = session.state.records.get(step.id, {}).get(entry)
    if record:
        return NOT_INDICATED if is_set_aside(session, step) else str(record.result.outcome)
    return NOT_TRIGGERED if is_set_aside(session, step) else NOTHING


_ITEMS = {Kind.MARKS: _mark_items, Kind.SELF: _self_items, Kind.OUTCOMES: _outcome_items}


def _times(first: Session, second: Session) -> Iterator[StepTime]:
    for step in first.protocol:
        seconds = (first.state.seconds.get(step.id, 0.0), second.state.seconds.get(step.id, 0.0))
        if min(seconds) >= SHOWN_SECONDS and _has(first, step) and _has(second, step):
            yield StepTime(step=step, seconds=seconds)


def _has(session: Session, step: Step) -> bool:
    """Whether something stands for a step: where nothing does, its time is only that of passing by."""
    state = session.state
    return step.id in (state.marks if session.header.mode == OBSERVATION else state.records)


def _span(session: Session) -> tuple[datetime, datetime] | None:
    """Return when a session began and when it was finished, or its last event; None if it never began."""
    began = next((event.at for event in session.events if isinstance(event, Started)), None)
    ended = session.state.finished_at or session.state.at
    return (began, ended) if began and ended else None
