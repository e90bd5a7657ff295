"""What the events of a session add up to.

`fold` is the only way from events to a state; live use and re-reading a file go through it alike.
`LEGAL` says which event may follow in which stage; an event that may not raises `IllegalEventError` and
changes nothing.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Any

from checklist.session.events import (
    RECALLS,
    Amended,
    Event,
    Finished,
    Interrupted,
    Left,
    Marked,
    Moved,
    Outcome,
    Paused,
    Recalled,
    Recorded,
    Remarked,
    Reopened,
    Result,
    Resumed,
    Retracted,
    Shown,
    Signed,
    Started,
    Told,
    Unknown,
)


class Stage(StrEnum):
    """Where a session stands as a whole."""

    NEW = "not started"
    RUNNING = "under way"
    PAUSED = "paused"
    AWAY = "left unfinished"
    FINISHED = "finished"


_ANY_TIME = {Reopened, Unknown}
LEGAL: dict[Stage, frozenset[type[Event]]] = {
    Stage.NEW: frozenset({Started, Unknown}),
    Stage.RUNNING: frozenset(
        {
            Moved,
            Recorded,
            Marked,
            Shown,
            Recalled,
            Remarked,
            Told,
            Retracted,
            Paused,
            Interrupted,
            Left,
            Finished,
            *_ANY_TIME,
        }
    ),
    Stage.PAUSED: frozenset({Resumed, Told, Left, Finished, *_ANY_TIME}),
    Stage.AWAY: frozenset(_ANY_TIME),
    # What is retracted after the end, or a signature, is a telling from after it; `Session` sees to that.
    Stage.FINISHED: frozenset({Told, Retracted, Amended, Signed, Unknown}),
}


class IllegalEventError(ValueError):
    """An event that may not happen at this stage, or that speaks of what is not there."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Record:
    """The outcome that stands for one entry, and the event that it rests on."""

    result: Result
    event: int
    at: datetime
    clock: float
    amendment: Amended | None = None
    replaced: "Record | None" = None
    """What stood for the entry before; None where nothing did, so that an amendment is a late entry."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Interruption:
    """A time that does not count as examination, by the wall clock."""

    cause: str
    start: datetime
    end: datetime | None = None
    """None while it lasts."""


@dataclass(frozen=True, kw_only=True, slots=True)
class State:
    """Where a session stands after some events."""

    stage: Stage = Stage.NEW
    current: str = ""
    """Id of the step that the examiner is at."""
    clock: float = 0.0
    at: datetime | None = None
    records: Mapping[str, Mapping[str, Record]] = field(default_factory=dict)
    """Step id → entry key → what stands for it."""
    seconds: Mapping[str, float] = field(default_factory=dict)
    """Step id → seconds of examination spent at it."""
    marks: Mapping[str, Marked] = field(default_factory=dict)
    """Step id → how an observer marked it."""
    recalls: tuple[Recalled, ...] = ()
    """What was recalled in a rehearsal, in order; one answer to each question."""
    remarks: tuple[Remarked, ...] = ()
    told: tuple[Told, ...] = ()
    interruptions: tuple[Interruption, ...] = ()
    undoable: tuple[int, ...] = ()
    """Numbers of the events that undo can take back, oldest first."""
    finished_at: datetime | None = None
    signed: tuple[Signed, ...] = ()
    """Who closed the session, and when; more than once when it was amended in between."""


def fold(events: Iterable[Event], state: State | None = None) -> State:
    """Return the state after `events`; retracted ones only let time pass."""
    events = tuple(events)
    retracted = {event.event for event in events if isinstance(event, Retracted)}
    state = state or State()
    for event in events:
        state = replace(state, **_passed(state, event)) if event.n in retracted else apply(state, event)
    return state


def apply(state: State, event: Event) -> State:
    """Return the state after one more event that retracts nothing.

    A `Retracted` reaches back, so that it takes a fold of the whole: here it only lets time pass.
    """
    if type(event) not in LEGAL[state.stage]:
        msg = f"event {event.n}: cannot be '{_name(event)}' while the session is {state.stage}"
        raise IllegalEventError(msg)
    # One new state for each event, not one for the time and one for the rest: a session has hundreds.
    return replace(state, **_passed(state, event), **_effect(state, event))


Changes = dict[str, Any]
"""Fields of a state that an event gives another value."""


def _name(event: Event) -> str:
    return event.name if isinstance(event, Unknown) else event.kind


def _passed(state: State, event: Event) -> Changes:
    """Let the clock run to the event, on the account of the step that the examiner was at."""
    spent = event.clock - state.clock
    if spent < 0:
        msg = f"event {event.n}: its clock {event.clock} is before the {state.clock} of the event before it"
        raise IllegalEventError(msg)
    passed: Changes = {"clock": event.clock, "at": event.at}
    if spent and state.stage is Stage.RUNNING:
        seconds = state.seconds
        passed["seconds"] = {**seconds, state.current: seconds.get(state.current, 0.0) + spent}
    return passed


def _effect(state: State, event: Event) -> Changes:
    match event:
        case Recorded() | Amended():
            return _recorded(state, event)
        case Marked():
            return {"marks": {**state.marks, event.step: event}, "undoable": (*state.undoable, event.n)}
        case Remarked():
            return {"remarks": (*state.remarks, event), "undoable": (*state.undoable, event.n)}
        case Told():
            return {"told": (*state.told, event), "undoable": (*state.undoable, event.n)}
        case Recalled():
            return {"recalls": _with_recall(state.recalls, event)}
        case Signed():
            return {"signed": (*state.signed, event), "undoable": ()}
        case _:
            return _course(state, event)


def _with_recall(recalls: tuple[Recalled, ...], event: Recalled) -> tuple[Recalled, ...]:
    """Return the answers with one more: the first one counts, and a later one can only make less of it."""
    for place, first in enumerate(recalls):
        if first.step == event.step and first.what == event.what:
            lower = replace(first, how=max(first.how, event.how, key=RECALLS.index))
            return (*recalls[:place], lower, *recalls[place + 1 :])
    return (*recalls, event)


def _course(state: State, event: Event) -> Changes:
    """Return what an event changes that records nothing: where the examiner is, and whether time runs."""
    match event:
        case Started():
            return {"stage": Stage.RUNNING, "current": event.step}
        case Moved():
            return {"current": event.step}
        case Paused():
            return _away(state.interruptions, Stage.PAUSED, "paused", event.at)
        case Left():
            return _away(_back(state.interruptions, event.at), Stage.AWAY, "program closed", event.at)
        case Resumed():
            return {"interruptions": _back(state.interruptions, event.at), "stage": Stage.RUNNING}
        case Reopened():
            return _reopened(state, event)
        case Interrupted():
            start = event.at - timedelta(seconds=event.away_seconds)
            gap = Interruption(cause="machine or program stood still", start=start, end=event.at)
            return {"interruptions": (*state.interruptions, gap)}
        case Finished():
            gaps = _back(state.interruptions, event.at)
            return {
                "interruptions": gaps,
                "stage": Stage.FINISHED,
                "finished_at": event.at,
                "undoable": (),
            }
        case _:
            return {}


def _recorded(state: State, event: Recorded | Amended) -> Changes:
    amendment = event if isinstance(event, Amended) else None
    of_step = dict(state.records.get(event.step, {}))
    for result in event.results:
        for entry in result.entries:
            of_step[entry] = Record(
                result=result,
                event=event.n,
                at=event.at,
                clock=event.clock,
                amendment=amendment,
                replaced=of_step.get(entry),
            )
    undoable = state.undoable if amendment else (*state.undoable, event.n)
    return {"records": {**state.records, event.step: of_step}, "undoable": undoable}


Gaps = tuple[Interruption, ...]


def _away(gaps: Gaps, stage: Stage, cause: str, start: datetime) -> Changes:
    return {"stage": stage, "interruptions": (*gaps, Interruption(cause=cause, start=start))}


def _back(gaps: Gaps, end: datetime) -> Gaps:
    """End the interruption that still lasts, if there is one."""
    *earlier, last = gaps or (None,)
    if last is None or last.end is not None:
        return gaps
    return (*[gap for gap in earlier if gap], replace(last, end=end))


def _reopened(state: State, event: Reopened) -> Changes:
    """Take up again; a program that died without leaving was away since its clock stood still."""
    if state.stage is Stage.RUNNING and state.at is not None:
        # The lock carried the clock on after the last event: that time was examination.
        start = state.at + timedelta(seconds=event.clock - state.clock)
        gap = Interruption(cause="program ended unexpectedly", start=start, end=event.at)
        return {"interruptions": (*state.interruptions, gap)}
    return {"interruptions": _back(state.interruptions, event.at), "stage": Stage.RUNNING}


def outcomes(state: State, step: str) -> dict[str, Outcome]:
    """Return the outcome of each recorded entry of a step, by entry key."""
    return {entry: record.result.outcome for entry, record in state.records.get(step, {}).items()}
