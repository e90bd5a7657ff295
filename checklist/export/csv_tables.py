"""The events and the items of a session as CSV by RFC 4180: UTF-8, a header row, one type a column.

A text can neither become a formula nor be taken for a number, a date or a missing value: see `guarded`.
Decides nothing: outcomes, words and times are those of the session.
"""

import csv
import io
import re
from collections.abc import Iterable, Iterator
from datetime import datetime, time

from checklist.protocol.model import Entry, Step
from checklist.session.events import Amended, Event, Recorded, Result, Retracted, Unknown
from checklist.session.readings import in_short
from checklist.session.session import Session
from checklist.session.standing import findings_of, is_set_aside
from checklist.session.state import Record
from checklist.text import one_line


class Plain(str):
    """A text of the program's own, written as it is."""

    __slots__ = ()


Cell = str | int | float | bool | datetime | time | None
Row = dict[str, Cell]

EVENT_COLUMNS = (
    "session",
    "simulated",
    "event",
    "result",
    "kind",
    "at",
    "clock_seconds",
    "step",
    "title",
    "entries",
    "outcome",
    "findings",
    "reading",
    "own_words",
    "tell",
    "reason",
    "mark",
    "who",
    "told_at",
    "refers_to",
    "away_seconds",
    "taken_back",
)
ITEM_COLUMNS = (
    "session",
    "simulated",
    "examiner",
    "observer",
    "protocol",
    "version",
    "step",
    "title",
    "section",
    "side",
    "site",
    "state",
    "outcome",
    "findings",
    "finding_labels",
    "reading",
    "reading_chart",
    "own_words",
    "reason",
    "tell",
    "mark",
    "mark_words",
    "step_seconds",
    "planned_seconds",
    "event",
    "at",
    "amended",
    "original_outcome",
    "original_findings",
    "amended_by",
    "amended_why",
)
RECORDED, NOT_REACHED, NOT_TRIGGERED = "recorded", "not reached", "only if indicated"
"""States of items: with a record or a mark, without one, and without one at a conditional step."""
SEPARATOR = "; "
"""Between the parts of a cell that holds several."""


def events_csv(session: Session) -> str:
    """Return all events in order, one row each; an act of recording has a row for each of its results."""
    return _table(EVENT_COLUMNS, _event_rows(session))


def items_csv(session: Session) -> str:
    """Return one row for each step, side and site of the protocol, in listed order, whatever its outcome."""
    return _table(ITEM_COLUMNS, _item_rows(session))


_FORMULA = ("=", "+", "-", "@", "＝", "＋", "－", "＠", "'")
_PART = r"[\d\s.,:/%–+\-$€£¥()TtZz]*"
_NUMBER_LIKE = re.compile(
    # A number, an amount, a date or a time in figures; then a date with the name of its month.
    rf"{_PART}\d{_PART}(?:[eE][+-]?\d+)?(?:\s*[ap]\.?m?\.?)?"
    r"|(?=.*\d)[\d\s.,/-]*(?:jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|may|june?|july?|aug(?:ust)?"
    r"|sept?(?:ember)?|oct(?:ober)?|nov(?:ember)?|dec(?:ember)?)[\d\s.,/-]*",
    re.IGNORECASE,
)
_MISSING = frozenset(
    {
        "true",
        "false",
        "nan",
        "na",
        "n/a",
        "<na>",
        "#na",
        "#n/a",
        "#n/a n/a",
        "1.#ind",
        "1.#qnan",
        "null",
        "none",
        "inf",
        "infinity",
    }
)


def guarded(text: str) -> str:
    """Return a text as one line that no spreadsheet and no data frame takes for anything but text.

    An apostrophe goes before what begins as a formula or with an apostrophe, what looks like a number, a date
    or a time, and the words that stand for true, false or a missing value.
    So the text is had back by taking one leading apostrophe off.
    """
    text = one_line(text)
    is_taken = text.startswith(_FORMULA) or _NUMBER_LIKE.fullmatch(text) or text.lower() in _MISSING
    return f"'{text}" if is_taken else text


def _table(columns: tuple[str, ...], rows: Iterable[Row]) -> str:
    file = io.StringIO(newline="")
    writer = csv.writer(file, dialect="excel", lineterminator="\r\n")
    writer.writerow(columns)
    writer.writerows([_cell(row.get(column)) for column in columns] for row in rows)
    return file.getvalue()


def _cell(value: Cell) -> str:
    match value:
        case None:
            return ""
        case Plain():
            return str(value)
        case bool():
            return "true" if value else "false"
        case float():
            return f"{value:.3f}"
        case int():
            return str(value)
        case datetime():
            return value.isoformat()
        case time():
            return value.isoformat(timespec="minutes")
        case _:
            return guarded(value)


# ------------------------------------------------------------------ events


def _event_rows(session: Session) -> Iterator[Row]:
    taken_back = {event.event for event in session.events if isinstance(event, Retracted)}
    for event in session.events:
        row = _event_row(session, event) | {"taken_back": event.n in taken_back}
        if isinstance(event, Recorded | Amended):
            for number, result in enumerate(event.results, start=1):
                yield row | {"result": number} | _result_cells(result)
        else:
            yield row


def _event_row(session: Session, event: Event) -> dict[str, Cell]:
    step = session.protocol.step_of.get(getattr(event, "step", ""))
    return {
        **_of_session(session),
        "event": event.n,
        "kind": event.name if isinstance(event, Unknown) else event.kind,
        "at": event.at,
        "clock_seconds": float(event.clock),
        "step": step.id if step else "",
        "title": step.title if step else "",
        **_own_cells(event),
    }


_NAMES = {
    "text": "own_words",
    "detail": "own_words",
    "why": "reason",
    "mark": "mark",
    "who": "who",
    "whom": "who",
    "when": "told_at",
    "event": "refers_to",
    "away_seconds": "away_seconds",
    "entries": "entries",
    "findings": "findings",
}
"""Fields of events that have a column, and which."""


def _own_cells(event: Event) -> dict[str, Cell]:
    if isinstance(event, Unknown):
        return {}
    fields = {name: getattr(event, name) for name in _NAMES if hasattr(event, name)}
    return {_NAMES[name]: _own_cell(name, value) for name, value in fields.items()}


def _own_cell(name: str, value: str | float | tuple[str, ...]) -> Cell:
    if isinstance(value, tuple):
        return SEPARATOR.join(value)
    return _clock_time(str(value)) if name == "when" else value


def _clock_time(text: str) -> time | str:
    """Return a 24-hour time as one; a file that was changed by hand may hold any text there."""
    try:
        return datetime.strptime(text, "%H:%M").time()
    except ValueError:
        return text


def _result_cells(result: Result) -> Row:
    return {
        "entries": SEPARATOR.join(result.entries),
        "outcome": result.outcome.value,
        "findings": SEPARATOR.join(result.findings),
        "reading": result.reading,
        "own_words": result.detail,
        "tell": result.tell,
        # Why it was amended, if it was, stands with the event; why it was not examined stands here.
        **({"reason": result.reason} if result.reason else {}),
    }


def _of_session(session: Session) -> dict[str, Cell]:
    return {"session": session.header.id, "simulated": session.header.is_simulated}


# ------------------------------------------------------------------ items


def _item_rows(session: Session) -> Iterator[Row]:
    for step in session.protocol:
        shared = _step_cells(session, step)
        records = session.state.records.get(step.id, {})
        for number, entry in enumerate(step.entries):
            record = records.get(entry.key)
            own = _record_cells(step, record) if record else {"state": _state(session, step)}
            times = {} if number else _times(session, step)
            yield {**shared, **_place(entry), **times, "amended": False, **own}


def _step_cells(session: Session, step: Step) -> dict[str, Cell]:
    mark = session.state.marks.get(step.id)
    return {
        **_of_session(session),
        "examiner": session.header.examiner,
        "observer": session.header.observer,
        "protocol": session.protocol.id,
        "version": _version(session.protocol.version),
        "step": step.id,
        "title": step.title,
        "section": session.protocol.section_of[step.id].title,
        "mark": mark.mark if mark else "",
        "mark_words": mark.detail if mark else "",
        # An entry that was recorded has its own event and time, which go over these.
        "event": mark.n if mark else None,
        "at": mark.at if mark else None,
    }


def _times(session: Session, step: Step) -> Row:
    """Return the seconds of a step, which stand in its first row alone, so that a column adds up."""
    spent = float(session.state.seconds.get(step.id, 0))
    return {"step_seconds": spent, "planned_seconds": step.seconds}


_VERSION = re.compile(r"\w[\w.+-]*", re.ASCII)


def _version(text: str) -> Cell:
    """Return a version plainly where it is written as one; anybody may have written the protocol."""
    return Plain(text) if _VERSION.fullmatch(text) and text.lower() not in _MISSING else text


def _place(entry: Entry) -> Row:
    return {"side": entry.side, "site": entry.site}


def _state(session: Session, step: Step) -> str:
    """Return the state of an item without a record; in an observation a mark of its step is one."""
    if step.id in session.state.marks:
        return RECORDED
    return NOT_TRIGGERED if is_set_aside(session, step) else NOT_REACHED


def _record_cells(step: Step, record: Record) -> Row:
    result = record.result
    tells = [finding.tell for finding in findings_of(step, result)]
    return {
        "state": RECORDED,
        "outcome": result.outcome.value,
        "findings": SEPARATOR.join(result.findings),
        "finding_labels": SEPARATOR.join(step.finding_of[each].label for each in result.findings),
        "reading": result.reading,
        "reading_chart": in_short(step, result),
        "own_words": result.detail,
        "reason": result.reason,
        "tell": next((each for each in ("urgent", "report", "note") if each in tells), ""),
        "event": record.event,
        "at": record.at,
        "amended": record.amendment is not None,
        **_amendment_cells(record),
    }


def _amendment_cells(record: Record) -> Row:
    """Return who amended last and why, and what stood at the end; nothing did where it is a late entry."""
    if record.amendment is None:
        return {}
    original: Record | None = record
    while original and original.amendment:
        original = original.replaced
    return {
        "original_outcome": original.result.outcome.value if original else "",
        "original_findings": SEPARATOR.join(original.result.findings) if original else "",
        "amended_by": record.amendment.who,
        "amended_why": record.amendment.why,
    }
