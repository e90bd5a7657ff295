"""Where sessions live, and how they are found and read. Writes nothing; the journal does.

A session's id is the name of its file: local time, protocol, and a random part.
A text that names a session is compared with the files that are there; it is never made into a path.
"""

import os
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, BinaryIO

from checklist.errors import ChecklistError
from checklist.folders import data_folder
from checklist.protocol.model import Protocol
from checklist.protocol.problems import did_you_mean, in_brackets
from checklist.protocol.reader import read_table
from checklist.session.codec import (
    LARGEST_BYTES,
    SessionFormatError,
    decode,
    decode_header,
    last_event,
    whole_events,
    whole_length,
)
from checklist.session.events import EVENT_KINDS
from checklist.session.readings import of_a_later_version
from checklist.session.session import FORMAT, Header, Session
from checklist.session.state import IllegalEventError
from checklist.text import one_line

SUFFIX = ".toml"
_ID = re.compile(r"\d{8}-\d{6}-[a-z][a-z0-9-]*-[0-9a-f]{4}")


class SessionError(ChecklistError):
    """A session that cannot be found or read."""

    def __init__(self, what: str, path: Path | None = None) -> None:
        super().__init__(one_line(f"{path}: {what}" if path else what), one_line(what))


@dataclass(frozen=True, kw_only=True, slots=True)
class Loaded:
    """A session as its file has it."""

    session: Session
    path: Path
    whole_bytes: int
    """How many bytes of the file were read: the header and all whole events."""
    torn_bytes: int
    """How many bytes at the end were no whole event, and were passed over."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Summary:
    """One line of a list of sessions. With a `problem`, the rest but id, path and created is empty."""

    id: str
    path: Path
    created: datetime
    protocol: str = ""
    """Id of the protocol."""
    title: str = ""
    """Of the protocol."""
    setting: str = ""
    mode: str = ""
    task: str = ""
    participant: str = ""
    examiner: str = ""
    is_fictional: bool = False
    events: int = 0
    clock: float = 0.0
    """Of the last event, in seconds of examination."""
    is_finished: bool = False
    problem: str = ""


def sessions_folder() -> Path:
    """Return the folder of session files; it may not exist yet."""
    return data_folder() / "sessions"


def new_id(protocol_id: str, created: datetime) -> str:
    """Return an id for a session begun at the local time `created`."""
    return f"{created:%Y%m%d-%H%M%S}-{protocol_id}-{os.urandom(2).hex()}"


def load(path: Path) -> Loaded:
    """Read a session file, with its events folded; raises SessionError."""
    data = content(path)
    whole = whole_length(data)
    text = _text(path, data[:whole] if whole else data)
    if not whole:
        raise SessionError(_foreign(text), path)
    try:
        header, table, events = decode(text)
        session = Session(header=header, protocol=_protocol(path, table), table=table).with_events(events)
    except (SessionFormatError, IllegalEventError) as error:
        raise SessionError(str(error), path) from None
    return Loaded(session=session, path=path, whole_bytes=whole, torn_bytes=len(data) - whole)


def _protocol(path: Path, table: Mapping[str, Any]) -> Protocol:
    protocol, flaws = read_table(table)
    if protocol is None:
        raise SessionError(of_a_later_version(table) or f"its protocol is damaged: {flaws[0]}", path)
    return protocol


def _demand_file(path: Path) -> None:
    try:
        if path.is_dir():
            raise SessionError("a folder, not a session file", path)
        if not path.is_file():
            raise SessionError("no such session file", path)
    except OSError as error:
        raise SessionError(f"cannot be read: {error.strerror}", path) from None


def content(path: Path) -> bytes:
    """Return the bytes of a session file; raises SessionError for what is none, or too large for one."""
    _demand_file(path)
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST_BYTES + 1)
    except OSError as error:
        raise SessionError(f"cannot be read: {error.strerror}", path) from None
    if len(data) > LARGEST_BYTES:
        raise SessionError(f"larger than {LARGEST_BYTES // 1_000_000} MB, so not a session file", path)
    return data


def _text(path: Path, data: bytes) -> str:
    try:
        return data.decode()
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise SessionError(f"not UTF-8 in line {line}", path) from None


def _foreign(text: str) -> str:
    """Say what a file without a whole header is."""
    found = re.search(r"^format *= *(\d+)", text, re.MULTILINE)
    if found and found[1] != str(FORMAT):
        return f"session format {found[1]}; this version reads format {FORMAT}"
    return "not a session file, or its first part is damaged"


def summaries() -> list[Summary]:
    """Return all sessions, newest first by the time in their names. Reads little of each file.

    A file that cannot be read has a place in the list too; raises SessionError only for the folder.
    """
    return [_summary(path) for path in _files()]


def _files() -> list[Path]:
    """Return the session files, newest first; files with names of another making come last."""
    folder = sessions_folder()
    try:
        found = [path for path in folder.iterdir() if path.suffix == SUFFIX]
    except FileNotFoundError:
        return []
    except OSError as error:
        raise SessionError(f"cannot be read: {error.strerror}", folder) from None
    return sorted(found, key=lambda path: (bool(_ID.fullmatch(path.stem)), path.stem), reverse=True)


def _summary(path: Path) -> Summary:
    name = one_line(path.stem)
    try:
        _demand_file(path)
        with path.open("rb") as file:
            header, protocol, title = _head(file)
            events, clock, is_finished = _ending(file)
    except SessionError as error:
        return Summary(id=name, path=path, created=_changed(path), problem=error.what)
    except (OSError, SessionFormatError) as error:
        return Summary(id=name, path=path, created=_changed(path), problem=one_line(str(error)))
    return Summary(
        id=name,
        path=path,
        created=header.created,
        protocol=protocol,
        title=title,
        setting=header.setting,
        mode=header.mode,
        task=header.task,
        participant=header.participant,
        examiner=header.examiner,
        is_fictional=header.fictional,
        events=events,
        clock=clock,
        is_finished=is_finished,
    )


def _changed(path: Path) -> datetime:
    try:
        return datetime.fromtimestamp(path.stat().st_mtime, UTC).astimezone()
    except OSError:
        return datetime.fromtimestamp(0, UTC)


_HEAD_BYTES = 65_536
_PROTOCOL = re.compile(r"^\[protocol\]$", re.MULTILINE)
_NEXT_TABLE = re.compile(r"^\[", re.MULTILINE)
_ID_AND_TITLE = re.compile(r"^(?:id|title) *=.*$", re.MULTILINE)


def _head(file: BinaryIO) -> tuple[Header, str, str]:
    """Return the header, and the protocol's id and title, from the beginning of a session file."""
    text = file.read(_HEAD_BYTES).decode(errors="replace").replace("\r\n", "\n")
    start = _PROTOCOL.search(text)
    if start is None:
        raise SessionError(_foreign(text))
    own = _NEXT_TABLE.split(text[start.end() :], maxsplit=1)[0]
    written: dict[str, object] = {}
    try:
        for line in _ID_AND_TITLE.findall(own):
            written |= tomllib.loads(line)
    except tomllib.TOMLDecodeError as error:
        raise SessionFormatError(f"not valid TOML: {error}") from None
    for key in ("id", "title"):
        if key not in written:
            raise SessionError(f"its protocol has no {key}")
    protocol, title = (one_line(str(written[key])) for key in ("id", "title"))
    return decode_header(text[: start.start()]), protocol, title


_TAIL_BYTES = 4096
_KIND = re.compile(rb'^kind = "([^"\n]*)"', re.MULTILINE)
_CLOSED = {"finished", "amended", "signed"}
_TELLS_NOTHING = {"told", "retracted"}
"""Kinds that can happen both before and after the end."""


def _ending(file: BinaryIO) -> tuple[int, float, bool]:
    """Return number and clock of the last event, and whether the session is finished.

    The last few events tell; all are read only where they do not.
    """
    size = file.seek(0, os.SEEK_END)
    for start in (max(0, size - _TAIL_BYTES), 0):
        file.seek(start)
        tail = whole_events(file.read())
        kinds = {kind.decode(errors="replace") for kind in _KIND.findall(tail)}
        event = last_event(tail)
        if event and kinds & (EVENT_KINDS.keys() - _TELLS_NOTHING):
            return event.n, event.clock, bool(kinds & _CLOSED)
    return (event.n, event.clock, False) if event else (0, 0.0, False)


def _latest() -> Path:
    files = _files()
    if not files:
        raise SessionError("there is no session yet", sessions_folder())
    return files[0]


def find(text: str | None = None) -> Path:
    """Return the session file that `text` names: a path, an id, the beginning of one; None: the newest.

    Raises SessionError.
    """
    if text is None:
        return _latest()
    named = Path(text)
    if named.name != text or named.suffix == SUFFIX:
        _demand_file(named)
        return named
    files = _files()
    matches = [path for path in files if text and path.stem.startswith(text)]
    exact = [path for path in matches if path.stem == text]
    if len(matches) == 1 or exact:
        return (exact or matches)[0]
    if not matches:
        hint = in_brackets(did_you_mean(text, [path.stem for path in files]))
        raise SessionError(f"no session is called '{text}'{hint}")
    names = ", ".join(path.stem for path in matches[:3]) + (", …" if len(matches) > 3 else "")
    raise SessionError(f"'{text}' begins the names of {len(matches)} sessions; type more of one: {names}")
