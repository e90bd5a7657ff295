"""Who, when and how long: the lines that head every document of a session. Judges no time."""

from collections.abc import Iterator
from datetime import date, datetime

from checklist.session.events import (
    Amended,
    Event,
    Finished,
    Interrupted,
    Left,
    Paused,
    Reopened,
    Resumed,
    Started,
)
from checklist.session.session import Session
from checklist.session.state import Interruption, Stage
from checklist.summary.document import Sentence
from checklist.summary.words import sentence

SIMULATED = "SIMULATED RECORD – practice, not a patient's record"
FICTIONAL = "INVENTED EXAMPLE – no real person, place or event"

DEIDENTIFIED = "DE-IDENTIFIED – codes and dates were replaced"


def banner(session: Session) -> tuple[str, ...]:
    """Return what every page must say before anything else."""
    lines = (
        SIMULATED if session.header.is_simulated else "",
        FICTIONAL if session.header.fictional else "",
        DEIDENTIFIED if session.header.deidentified else "",
        "" if session.state.stage is Stage.FINISHED else _unfinished(session.state.stage),
    )
    return tuple(filter(None, lines))


def _unfinished(stage: Stage) -> str:
    return f"UNFINISHED – {stage}: this is what was recorded so far"


def particulars(session: Session) -> tuple[Sentence, ...]:
    """Return codes, date, times, minutes and interruptions as sentences."""
    header = session.header
    age = f"age band {header.age}" if header.age else ""
    participant = f"participant {header.participant}" if header.participant else ""
    who = (participant, age, f"examiner {header.examiner}")
    sentences = [Sentence(text=sentence(", ".join(filter(None, who))))]
    started = _first(session, Started)
    if not started:
        return (*sentences, Sentence(text=f"{header.created:%Y-%m-%d}, not started."))
    ended = _first(session, Finished)
    events = tuple(event.n for event in (started, ended) if event)
    when = sentence(f"{_span(started.at, ended)}; {_minutes(session)}")
    sentences.append(Sentence(text=when, rests_on=events))
    if session.state.interruptions:
        text = sentence(f"interrupted: {interruptions(session, started.at.date())}")
        sentences.append(Sentence(text=text, rests_on=_interrupting(session)))
    return (*sentences, *_signed(session, started.at))


def _signed(session: Session, start: datetime) -> Iterator[Sentence]:
    """Return who closed the session and when, and whether it was amended since; nothing while nobody did."""
    signed = session.state.signed
    if not signed:
        return
    by = (f"by {each.who}, {each.at:%Y-%m-%d %H:%M}{_other_offset(each.at, start)}" for each in signed)
    amended = [event.n for event in session.events[signed[-1].n :] if isinstance(event, Amended)]
    since = "; amended since then" if amended else ""
    events = (*(each.n for each in signed), *amended)
    yield Sentence(text=sentence(f"signed {'; '.join(by)}{since}"), rests_on=events)


def _other_offset(at: datetime, start: datetime) -> str:
    return _offset(at) if at.utcoffset() != start.utcoffset() else ""


def _first(session: Session, kind: type[Event]) -> Event | None:
    return next((event for event in session.events if isinstance(event, kind)), None)


def _span(start: datetime, ended: Event | None) -> str:
    """Return date, 24-hour times and offset: `2026-03-02, 14:05–14:27 (UTC+01:00)`."""
    if not ended:
        return f"{start:%Y-%m-%d}, from {start:%H:%M}{_offset(start)}, not finished"
    if start.utcoffset() != ended.at.utcoffset():
        until = f"{clock_time(ended.at, start.date())}{_offset(ended.at)}"
        return f"{start:%Y-%m-%d}, {start:%H:%M}{_offset(start)} to {until}"
    return f"{start:%Y-%m-%d}, {_from_to(start, ended.at, start.date())}{_offset(start)}"


def _offset(at: datetime) -> str:
    found = f"{at:%z}"
    return f" (UTC{found[:3]}:{found[3:5]})" if found else ""


def clock_time(at: datetime, day: date) -> str:
    """Return the 24-hour time, with its date in front when that is not `day`."""
    return f"{at:%H:%M}" if at.date() == day else f"{at:%Y-%m-%d %H:%M}"


def _from_to(start: datetime, end: datetime | None, day: date) -> str:
    first = clock_time(start, day)
    if not end:
        return f"from {first}"
    if end.date() != start.date():
        return f"{first} to {clock_time(end, day)}"
    return first if f"{end:%H:%M}" == f"{start:%H:%M}" else f"{first}–{end:%H:%M}"


def examination_seconds(session: Session) -> float:
    """Return the seconds of examination: what came after the end is none."""
    ended = _first(session, Finished)
    return ended.clock if ended else session.state.clock


def day_of(session: Session) -> date:
    """Return the day of the examination: times of any other are given with their date."""
    started = _first(session, Started)
    return started.at.date() if started else session.header.created.date()


def _minutes(session: Session) -> str:
    minutes = round(examination_seconds(session) / 60)
    if minutes < 1:
        return "less than a minute of examination"
    return f"{minutes} minute{'s' if minutes > 1 else ''} of examination"


def interruptions(session: Session, day: date) -> str:
    """Return the interruptions by cause, each with its times: `paused 14:12–14:14, 14:20`."""
    by_cause: dict[str, list[Interruption]] = {}
    for gap in session.state.interruptions:
        by_cause.setdefault(gap.cause, []).append(gap)
    return "; ".join(
        f"{cause} {', '.join(_from_to(gap.start, gap.end, day) for gap in gaps)}"
        for cause, gaps in by_cause.items()
    )


_INTERRUPTING = (Paused, Resumed, Left, Reopened, Interrupted)


def _interrupting(session: Session) -> tuple[int, ...]:
    return tuple(_numbers(session.events))


def _numbers(events: tuple[Event, ...]) -> Iterator[int]:
    for event in events:
        if isinstance(event, _INTERRUPTING):
            yield event.n
