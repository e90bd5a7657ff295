"""A session as one value: its header, its protocol, its events, and the state they add up to."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

from checklist.protocol.model import OTHER, Protocol
from checklist.session.events import (
    MARKS,
    RECALLS,
    TELLS,
    Amended,
    Event,
    Finished,
    Marked,
    Moved,
    Recalled,
    Recorded,
    Remarked,
    Retracted,
    Shown,
    Signed,
    Started,
    Told,
    Unknown,
)
from checklist.session.state import IllegalEventError, State, apply, fold

FORMAT = 1
PRACTICE, CARE = "practice", "care"
EXAMINATION, OBSERVATION, REHEARSAL = "examination", "observation", "rehearsal"
"""Modes: somebody examines and records, marks how somebody else examines, or rehearses without a patient."""

COMPUTED, COMPARED, PATTERN = "computed:", "compared:", "pattern:"
"""Begin the ids under which somebody is told of what follows from the record; no finding's id has a colon."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Header:
    """What is known before the clock starts. Persons are codes."""

    id: str
    created: datetime
    app_version: str
    participant: str
    examiner: str
    age: str = ""
    mode: str = EXAMINATION
    setting: str = PRACTICE
    missing: tuple[str, ...] = ()
    """Ids of the equipment that was not at hand."""
    fictional: bool = False
    """Whether the whole session is an invented example."""
    assessed: bool = False
    """Whether the performance counts: then the screen gives no hints before the end."""
    task: str = ""
    """In a rehearsal, what is rehearsed and where: `order`, `order eyes`, `content`, `patient`."""
    case: str = ""
    """In a rehearsal with a simulated patient, the id or the seed of the case."""
    deidentified: bool = False
    """Whether codes and dates were replaced, so that the session can be passed on."""
    observer: str = ""
    """Code of the one who marks, in an observation; there `examiner` is the one who is observed."""

    @property
    def is_simulated(self) -> bool:
        """Whether every output is marked as a simulated record."""
        return self.setting != CARE


@dataclass(frozen=True, kw_only=True)
class Session:
    """One run of one protocol."""

    header: Header
    protocol: Protocol
    table: Mapping[str, Any] = field(repr=False)
    """The protocol as its file's TOML table, which the session file carries in full."""
    events: tuple[Event, ...] = ()
    state: State = field(default_factory=State)

    def with_event(self, event: Event) -> "Session":
        """Return the session after one more event, or raise `IllegalEventError` and leave it as it was."""
        _check(self.protocol, self.events, event, is_signed=bool(self.state.signed))
        events = (*self.events, event)
        state = apply(self.state, event)
        if isinstance(event, Retracted):
            state = fold(events)
        return replace(self, events=events, state=state)

    def with_events(self, events: Sequence[Event]) -> "Session":
        """Return a new session after all of `events`, as when a file is read again."""
        is_signed = False
        for index, event in enumerate(events):
            _check(self.protocol, events[:index], event, is_signed=is_signed)
            is_signed = is_signed or isinstance(event, Signed)
        return replace(self, events=tuple(events), state=fold(events))


def _check(protocol: Protocol, before: Sequence[Event], event: Event, *, is_signed: bool) -> None:
    """Refuse an event out of number, or one that speaks of what the protocol or the session does not have."""
    if event.n != len(before) + 1:
        raise IllegalEventError(f"event {event.n}: expected number {len(before) + 1}")
    if is_signed and not isinstance(event, _AFTER_SIGNING):
        what = "the session is signed: it takes only amendments and who was told"
        raise IllegalEventError(f"event {event.n}: {what}")
    match event:
        case Started() | Moved() | Remarked():
            _check_step(protocol, event.n, event.step)
        case Marked() | Shown() | Recalled():
            _check_practice(protocol, event)
        case Recorded() | Amended():
            _check_step(protocol, event.n, event.step)
            for result in event.results:
                _check_parts(protocol, event.n, event.step, result.entries, result.findings)
                if result.reading and protocol.step_of[event.step].reading is None:
                    raise IllegalEventError(f"event {event.n}: step '{event.step}' takes no reading")
                if result.tell not in {"", *TELLS}:
                    raise IllegalEventError(f"event {event.n}: nothing is told '{result.tell}'")
        case Told():
            _check_step(protocol, event.n, event.step)
            known = tuple(
                finding
                for finding in event.findings
                if finding != OTHER and not _is_derived(protocol, event.step, finding)
            )
            _check_parts(protocol, event.n, event.step, event.entries, known)
        case Retracted():
            _check_retraction(before, event)
        case _:
            pass


def _check_practice(protocol: Protocol, event: Marked | Shown | Recalled) -> None:
    """Refuse a mark, or an answer in a rehearsal, that nobody knows."""
    for step in (event.step, *(event.steps if isinstance(event, Shown) else ())):
        _check_step(protocol, event.n, step)
    if isinstance(event, Marked):
        _check_word(event.n, event.mark, MARKS)
    elif isinstance(event, Recalled):
        _check_word(event.n, event.how, RECALLS)


def _is_derived(protocol: Protocol, step: str, name: str) -> bool:
    """Whether an id stands for something computed, compared or put together in this protocol."""
    kind, colon, rest = name.partition(":")
    match f"{kind}{colon}":
        case "computed:":
            return any(each.id == rest for each in protocol.computed)
        case "compared:":
            return rest == step
        case "pattern:":
            return any(each.id == rest.partition(":")[0] for each in protocol.patterns)
        case _:
            return False


_AFTER_SIGNING = (Amended, Told, Retracted, Signed, Unknown)


def _check_retraction(before: Sequence[Event], event: Retracted) -> None:
    """Only what was recorded, marked, remarked or told can be taken back, and only once.

    What was before the end, or before a signature, stays after it, so that then only what was told since
    can be.
    """
    taken_back = {earlier.event for earlier in before if isinstance(earlier, Retracted)}
    end = max((earlier.n for earlier in before if isinstance(earlier, Finished | Signed)), default=0)
    target = before[event.event - 1] if end < event.event <= len(before) else None
    if not isinstance(target, Recorded | Marked | Remarked | Told) or event.event in taken_back:
        raise IllegalEventError(f"event {event.n}: event {event.event} cannot be taken back")


def _check_word(n: int, word: str, known: Sequence[str]) -> None:
    if word not in known:
        raise IllegalEventError(f"event {n}: there is no mark '{word}'")


def _check_step(protocol: Protocol, n: int, step: str) -> None:
    if step not in protocol.step_of:
        raise IllegalEventError(f"event {n}: the protocol has no step '{step}'")


def _check_parts(
    protocol: Protocol, n: int, step: str, entries: tuple[str, ...], findings: tuple[str, ...]
) -> None:
    known = {entry.key for entry in protocol.step_of[step].entries}
    for entry in entries:
        if entry not in known:
            raise IllegalEventError(f"event {n}: step '{step}' has no entry '{entry}'")
    for finding in findings:
        if finding not in protocol.step_of[step].finding_of:
            raise IllegalEventError(f"event {n}: step '{step}' has no finding '{finding}'")
