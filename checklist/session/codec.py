"""Session files as text: events to TOML blocks and back. Pure; journal and store do the reading and writing.

A file is a header, then one `[[event]]` block for each event, each closed by an explicit last line.
What follows the last such line is a torn tail and is never read as an event.
"""

import re
from collections.abc import Mapping
from dataclasses import fields
from datetime import datetime
from typing import Any

import tomli_w

from checklist import toml
from checklist.protocol.dotted import MOST_PARTS, long_key
from checklist.session.clock import LONGEST_SECONDS
from checklist.session.events import EVENT_KINDS, TELLS, Amended, Event, Outcome, Recorded, Result, Unknown
from checklist.session.session import FORMAT, Header
from checklist.text import clean, one_line

LARGEST_BYTES = 50_000_000
"""A larger file is no session, and is not read."""
HEADER_END = "# end of header\n"
# An editor may have turned the line ends round.
_HEADER_END = re.compile(rb"^# end of header\r?\n", re.MULTILINE)
_EVENT_END = re.compile(rb"^# end of event \d+\r?\n", re.MULTILINE)
_EVENT_START = b"\n[[event]]"


class SessionFormatError(ValueError):
    """A session file whose content is not what the format says; the text says where and what."""


def encode_header(header: Header, table: Mapping[str, Any]) -> str:
    """Return the first part of a session file: who, when, and the protocol in full."""
    own = {"format": FORMAT, **{f.name: _cleaned(getattr(header, f.name)) for f in fields(header)}}
    return tomli_w.dumps(own) + "\n" + tomli_w.dumps({"protocol": dict(table)}) + HEADER_END


def encode_event(event: Event) -> str:
    """Return the block of one event, beginning with an empty line and ending with its closing line."""
    # Written as a table, so that tables inside it get their full names, and then made one of a list.
    own = tomli_w.dumps({"event": _plain(event)})
    blocks = ["\n", own.replace("[event]", "[[event]]", 1)]
    if isinstance(event, Recorded | Amended):
        for result in event.results:
            blocks += ["\n[[event.results]]\n", tomli_w.dumps(_plain_result(result))]
    return "".join(blocks) + f"# end of event {event.n}\n"


def _plain(event: Event) -> dict[str, Any]:
    """Return what an event holds but its results, cleaned as it will be when it is read again."""
    if isinstance(event, Unknown):
        own = {"n": event.n, "kind": event.name, "at": event.at, "clock": event.clock}
        return {key: _cleaned(value) for key, value in (own | event.fields).items()}
    own = {"n": event.n, "kind": event.kind}
    for spec in fields(event):
        if spec.name != "results":
            own[spec.name] = _cleaned(getattr(event, spec.name))
    return own


def _plain_result(result: Result) -> dict[str, Any]:
    """Leave out what is empty, so that a person can read the file."""
    values = {"entries": _cleaned(result.entries), "outcome": result.outcome.value}
    for key in ("findings", "detail", "tell", "reason", "reading"):
        if value := getattr(result, key):
            values[key] = _cleaned(value)
    return values


def whole_length(data: bytes) -> int:
    """Return how many bytes are whole: the header and every closed event; 0 without a whole header."""
    # To look for fixed bytes first is far quicker in a header of this size.
    header = _HEADER_END.search(data, max(0, data.find(HEADER_END.strip().encode())))
    return _closed_at(data, header.end()) if header else 0


def whole_events(tail: bytes) -> bytes:
    """Return the events in the last bytes of a file, of which the first may lack its beginning."""
    return tail[: _closed_at(tail, 0)]


def _closed_at(data: bytes, start: int) -> int:
    """Return where the last closed event after `start` ends."""
    for match in _EVENT_END.finditer(data, start):
        start = match.end()
    return start


def last_event(data: bytes) -> Event | None:
    """Return the last of whole events; None when there is none, or it cannot be read."""
    start = data.rfind(_EVENT_START)
    if start < 0:
        return None
    try:
        block = toml.loads(data[start:].decode())["event"][0]
        return _event(block, block.get("n"))
    except (ValueError, RecursionError):
        return None


def decode(text: str) -> tuple[Header, dict[str, Any], tuple[Event, ...]]:
    """Return header, protocol table and events of the whole part of a session file.

    Raises SessionFormatError for anything else than what `encode_header` and `encode_event` write.
    """
    table = _parsed(text)
    protocol = table.get("protocol")
    if not isinstance(protocol, dict):
        raise SessionFormatError("no [protocol] table: not a session file")
    raw = table.get("event", [])
    if not isinstance(raw, list) or not all(isinstance(block, dict) for block in raw):
        raise SessionFormatError("'event' is not a list of tables")
    return _header(table), protocol, tuple(_event(block, n) for n, block in enumerate(raw, start=1))


def decode_header(text: str) -> Header:
    """Return the header alone, from the text before the protocol's table; raises SessionFormatError."""
    return _header(_parsed(text))


def _parsed(text: str) -> dict[str, Any]:
    if line := long_key(text):
        raise SessionFormatError(f"line {line}: a key has more than {MOST_PARTS} dotted parts")
    try:
        table = toml.loads(text)
    except (ValueError, RecursionError) as error:
        # Not TOMLDecodeError alone: endless digits and brackets raise what lies under tomllib.
        raise SessionFormatError(f"not valid TOML: {error}") from None
    found = table.get("format")
    if found is None:
        raise SessionFormatError("not a session file")
    if found != FORMAT or isinstance(found, bool):
        raise SessionFormatError(f"session format {found!r}; this version reads format {FORMAT}")
    return table


_LATER = {"assessed", "observer", "task", "case", "deidentified"}
"""Keys of the header that older files lack."""


def _header(table: dict[str, Any]) -> Header:
    values = {}
    for spec in fields(Header):
        if spec.name not in table and spec.name in _LATER:
            continue
        if spec.name not in table:
            raise SessionFormatError(f"header: missing key '{spec.name}'")
        values[spec.name] = _cleaned(table[spec.name])
    _demand_moment("header", "created", values["created"])
    for key in ("fictional", "assessed", "deidentified"):
        _demand("header", key, values.get(key, False), bool)
    values["missing"] = _texts("header", "missing", values["missing"])
    for key in (
        "id",
        "app_version",
        "participant",
        "examiner",
        "age",
        "mode",
        "setting",
        "observer",
        "task",
        "case",
    ):
        _demand("header", key, values.get(key, ""), str)
        values[key] = one_line(values.get(key, ""))
    return Header(**values)


def _event(block: dict[str, Any], n: int) -> Event:
    where = f"event {n}"
    values = _cleaned(block)
    kind = values.pop("kind", None)
    _demand(where, "n", values.get("n"), int)
    if values["n"] != n:
        raise SessionFormatError(f"{where}: numbered {values['n']}")
    _demand(where, "kind", kind, str)
    _demand_moment(where, "at", values.get("at"))
    _demand_seconds(where, "clock", values.get("clock"))
    cls = EVENT_KINDS.get(kind)
    if cls is None:
        base = {key: values.pop(key) for key in _OF_ALL}
        return Unknown(**base, name=kind, fields=values)
    return cls(**_fields(cls, where, values))


_OF_ALL = ("n", "at", "clock")
"""What every event has; demanded before the rest."""


_NAMES = {cls: frozenset(spec.name for spec in fields(cls)) for cls in EVENT_KINDS.values()}


def _fields(cls: type[Event], where: str, values: dict[str, Any]) -> dict[str, Any]:
    names = _NAMES[cls]
    if missing := names - values.keys():
        raise SessionFormatError(f"{where}: missing key '{sorted(missing)[0]}'")
    # Keys that a later version may have added are passed over.
    return {name: values[name] if name in _OF_ALL else _value(where, name, values[name]) for name in names}


def _value(where: str, name: str, value: Any) -> Any:
    match name:
        case "results":
            if not isinstance(value, list) or not value:
                raise SessionFormatError(f"{where}: 'results' is not a list of tables")
            return tuple(_result(where, result) for result in value)
        case "entries" | "findings" | "steps":
            return _texts(where, name, value)
        case "away_seconds":
            _demand_seconds(where, name, value)
        case "event" | "hints":
            _demand(where, name, value, int)
        case _:
            _demand(where, name, value, str)
    return value


def _result(where: str, table: Any) -> Result:
    if not isinstance(table, dict):
        raise SessionFormatError(f"{where}: a result is not a table")
    try:
        outcome = Outcome(str(table.get("outcome")))
    except ValueError:
        known = ", ".join(f"'{each}'" for each in Outcome)
        raise SessionFormatError(f"{where}: outcome {table.get('outcome')!r} is none of {known}") from None
    texts = {key: table.get(key, "") for key in ("detail", "tell", "reason", "reading")}
    for key, text in texts.items():
        _demand(where, key, text, str)
    if texts["tell"] not in {"", *TELLS}:
        known = ", ".join(f"'{each}'" for each in TELLS)
        raise SessionFormatError(f"{where}: 'tell' is {texts['tell']!r}, which is none of {known}")
    return Result(
        entries=_texts(where, "entries", table.get("entries")),
        outcome=outcome,
        findings=_texts(where, "findings", table.get("findings", [])),
        **texts,
    )


def _cleaned(value: Any) -> Any:
    """Return a TOML value with every text in it safe for a terminal: anyone may have written the file."""
    match value:
        case str():
            return clean(value)
        case list() | tuple():
            return [_cleaned(each) for each in value]
        case dict():
            return {clean(key): _cleaned(each) for key, each in value.items()}
        case _:
            return value


def _texts(where: str, key: str, value: Any) -> tuple[str, ...]:
    if not isinstance(value, list) or not all(isinstance(each, str) for each in value):
        raise SessionFormatError(f"{where}: '{key}' is not a list of texts")
    return tuple(value)


def _demand(where: str, key: str, value: Any, kinds: type | tuple[type, ...]) -> None:
    if not isinstance(value, kinds) or (isinstance(value, bool) and kinds is not bool):
        raise SessionFormatError(f"{where}: '{key}' is {value!r}, which is not of the right type")


def _demand_seconds(where: str, key: str, value: Any) -> None:
    """Refuse what no clock shows, and what would break the arithmetic of times: nan, inf, huge numbers."""
    _demand(where, key, value, (int, float))
    if not 0 <= value < LONGEST_SECONDS:
        raise SessionFormatError(f"{where}: '{key}' is {value!r}, which is no time in seconds")


def _demand_moment(where: str, key: str, value: Any) -> None:
    """Refuse a time that cannot be compared or shifted: without an offset, or at the ends of the calendar."""
    _demand(where, key, value, datetime)
    if value.tzinfo is None or not 1900 <= value.year < 9000:
        raise SessionFormatError(f"{where}: '{key}' is {value}, which is no date and time with an offset")
