"""A session as one value: its header, its protocol, its events, and the state they add up to."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

from checklist.protocol.model import OTHER, Protocol
from checklist.session.events import (
    TELLS,
    Amended,
    Event,
    Finished,
    Moved,
    Recorded,
    Remarked,
    Retracted,
    Started,
    Told,
)
from checklist.session.state import IllegalEventError, State, apply, fold

FORMAT = 1
PRACTICE, CARE = "practice", "care"


@dataclass(frozen=True, kw_only=True, slots=True)
class Header:
    """What is known before the clock starts. Persons are codes."""

    id: str
    created: datetime
    app_version: str
    participant: str
    examiner: str
    age: str = ""
    mode: str = "examination"
    setting: str = PRACTICE
    missing: tuple[str, ...] = ()
    """Ids of the equipment that was not at hand."""
    fictional: bool = False
    """Whether the whole session is an invented example."""

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
        _check(self.protocol, self.events, event)
        events = (*self.events, event)
        state = apply(self.state, event)
        if isinstance(event, Retracted):
            state = fold(events)
        return replace(self, events=events, state=state)

    def with_events(self, events: Sequence[Event]) -> "Session":
        """Return a new session after all of `events`, as when a file is read again."""
        for index, event in enumerate(events):
            _check(self.protocol, events[:index], event)
        return replace(self, events=tuple(events), state=fold(events))


def _check(protocol: Protocol, before: Sequence[Event], event: Event) -> None:
    """Refuse an event out of number, or one that speaks of what the protocol or the session does not have."""
    if event.n != len(before) + 1:
        raise IllegalEventError(f"event {event.n}: expected number {len(before) + 1}")
    match event:
        case Started() | Moved() | Remarked():
            _check_step(protocol, event.n, event.step)
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
            known = tuple(finding for finding in event.findings if finding != OTHER)
            _check_parts(protocol, event.n, event.step, event.entries, known)
        case Retracted():
            _check_retraction(before, event)
        case _:
            pass


def _check_retraction(before: Sequence[Event], event: Retracted) -> None:
    """Only what was recorded, remarked or told can be taken back, and only once.

    What was before the end stays after it, so that then only what was told since can be.
    """
    taken_back = {earlier.event for earlier in before if isinstance(earlier, Retracted)}
    end = next((earlier.n for earlier in before if isinstance(earlier, Finished)), 0)
    target = before[event.event - 1] if end < event.event <= len(before) else None
    if not isinstance(target, Recorded | Remarked | Told) or event.event in taken_back:
        raise IllegalEventError(f"event {event.n}: event {event.event} cannot be taken back")


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
