"""A session without what points at a person, as a session of the same format.

Codes become `P-1`, `E-1`, `O-1`; times count from the first moment of 2000-01-01 in UTC; the id is made anew.
Words that somebody typed are left out unless they are asked for.
The list that this follows is 45 CFR 164.514(b)(2), the identifiers to remove under the Safe Harbor method.
It is no certificate: what was recorded may be rare enough to be recognised, and the protocol stays as it is.
"""

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

from checklist.errors import ChecklistError
from checklist.session import readings
from checklist.session.events import (
    REASONS,
    Amended,
    Event,
    Marked,
    Recorded,
    Remarked,
    Result,
    Retracted,
    Signed,
    Told,
    Unknown,
)
from checklist.session.session import Header, Session

FIRST_MOMENT = datetime(2000, 1, 1, tzinfo=UTC)
LEFT_OUT = "[words left out]"
_LONGEST = timedelta(days=36_500)
NOT_NAMED = "somebody not named here"
"""Stands for who was told, when that is no role of the protocol and no code of the session."""


class DeidentifyError(ChecklistError):
    """A session that cannot be passed on without what points at a person."""


def deidentified(session: Session, *, keep_text: bool = False, mark: str = "0000") -> Session:
    """Return the session without codes, dates and, unless `keep_text`, without words that were typed.

    `mark` ends the new id: random characters, which tell files apart and lead back to none.
    Signatures go, because the bytes that they were made over do; so do events of unknown kinds, because what
    they hold cannot be judged.
    """
    codes = _codes(session)
    kept = [event for event in session.events if not isinstance(event, Signed | Unknown)]
    new_number = {event.n: number for number, event in enumerate(kept, start=1)}
    shift = FIRST_MOMENT - session.header.created
    events = []
    for event in kept:
        # First, since what follows moves times by the same shift and has none that lie further apart.
        at = _moved(event.at, shift)
        changes = _without_codes(session, event, codes, shift)
        if isinstance(event, Retracted):
            changes["event"] = new_number[event.event]
        if not keep_text:
            changes |= _without_words(session, event)
        events.append(replace(event, n=new_number[event.n], at=at, **changes))
    header = _header(session, codes, mark)
    return Session(header=header, protocol=session.protocol, table=session.table).with_events(events)


def _moved(at: datetime, shift: timedelta) -> datetime:
    """Return a time moved, as a session file can hold it."""
    if abs((at - FIRST_MOMENT) + shift) > _LONGEST:
        raise DeidentifyError("its times lie more than a hundred years apart: no session to pass on")
    return (at + shift).astimezone(UTC)


def typed_words(session: Session) -> Iterator[tuple[int, str]]:
    """Return every text that somebody typed, codes and roles apart, with the number of its event."""
    for event in session.events:
        yield from ((event.n, text) for text in _typed(session, event) if text not in {"", LEFT_OUT})


def _typed(session: Session, event: Event) -> Iterator[str]:
    match event:
        case Recorded() | Amended():
            for result in event.results:
                yield result.detail
                yield "" if result.reason in REASONS else result.reason
                yield "" if _is_read(session, event, result) else result.reading
            if isinstance(event, Amended):
                yield event.why
        case Remarked(text=text) | Marked(detail=text):
            yield text
        case _:
            pass


def _is_read(session: Session, event: Recorded | Amended, result: Result) -> bool:
    return readings.meaning(session.protocol.step_of[event.step], result) is not None


def _codes(session: Session) -> dict[str, str]:
    """Return the new code of each code in the session; one person keeps one code."""
    header = session.header
    codes: dict[str, str] = {}
    for old, new in ((header.participant, "P-1"), (header.examiner, "E-1"), (header.observer, "O-1")):
        if old:
            codes.setdefault(old, new)
    for event in session.events:
        if isinstance(event, Amended) and event.who:
            others = sum(code.startswith("E-") for code in codes.values())
            codes.setdefault(event.who, f"E-{others + 1}")
    return codes


def _header(session: Session, codes: dict[str, str], mark: str) -> Header:
    header = session.header
    return replace(
        header,
        id=f"{FIRST_MOMENT:%Y%m%d-%H%M%S}-{session.protocol.id}-{mark}",
        deidentified=True,
        created=FIRST_MOMENT,
        participant=codes.get(header.participant, ""),
        examiner=codes.get(header.examiner, ""),
        observer=codes.get(header.observer, ""),
    )


def _without_codes(session: Session, event: Event, codes: dict[str, str], shift: timedelta) -> dict[str, Any]:
    match event:
        case Told():
            is_role = event.whom in _roles(session)
            whom = event.whom if is_role or not event.whom else codes.get(event.whom, NOT_NAMED)
            return {"whom": whom, "when": _shifted(event, shift)}
        case Amended():
            return {"who": codes.get(event.who, "")}
        case _:
            return {}


def _roles(session: Session) -> set[str]:
    protocol = session.protocol
    own = {finding.to for step in protocol for finding in step.findings}
    return {protocol.telling.report, protocol.telling.urgent, *protocol.telling.roles, *own}


def _shifted(told: Told, shift: timedelta) -> str:
    """Return the 24-hour time of a telling, moved as all times are; what is no time of day is left out."""
    try:
        typed = datetime.strptime(told.when, "%H:%M").time()
    except ValueError:
        return ""
    return f"{(datetime.combine(told.at, typed, told.at.tzinfo) + shift).astimezone(UTC):%H:%M}"


def _without_words(session: Session, event: Event) -> dict[str, Any]:
    match event:
        case Recorded():
            return {"results": _results(session, event)}
        case Amended():
            return {"results": _results(session, event), "why": event.why and LEFT_OUT}
        case Remarked():
            return {"text": LEFT_OUT}
        case Marked():
            return {"detail": event.detail and LEFT_OUT}
        case _:
            return {}


def _results(session: Session, event: Recorded | Amended) -> tuple[Result, ...]:
    """Return the results with a mark where words were, so that nothing seems to have been left unsaid."""
    return tuple(
        replace(
            result,
            detail=result.detail and LEFT_OUT,
            reason=result.reason if result.reason in {"", *REASONS} else LEFT_OUT,
            reading=result.reading if _is_read(session, event, result) else result.reading and LEFT_OUT,
        )
        for result in event.results
    )
