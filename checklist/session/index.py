"""A derived index of the session files: what was computed of each, so that thousands need not be read again.

It is never the record: it can be deleted at any time, comes back by itself, and is passed over when it is
damaged or cannot be written. An entry holds for a file of the same name, size and time of change.
"""

import contextlib
import json
import os
import zlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from checklist.folders import data_folder, private_folder
from checklist.protocol.model import Protocol
from checklist.session.codec import HEADER_END, SessionFormatError, decode, whole_length
from checklist.session.session import Session
from checklist.session.state import IllegalEventError
from checklist.session.store import SUFFIX, SessionError, content, load, sessions_folder

FORMAT = 2
_Key = tuple[str, int, int]
"""Name, size in bytes and time of change in nanoseconds of a session file."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Entry:
    """What is known of one session file."""

    id: str
    created: datetime
    protocol: str
    """Id of the protocol."""
    examiner: str
    is_fictional: bool
    written: bytes
    """What `measure` returned, as JSON: to read that of thousands of others would take most of the time."""

    @property
    def value(self) -> Mapping[str, Any]:
        """What `measure` returned."""
        value: Mapping[str, Any] = json.loads(self.written)
        return value


_Entries = dict[_Key, Entry | None]


@dataclass(frozen=True, kw_only=True, slots=True)
class Index:
    """What is known of all session files."""

    entries: tuple[Entry, ...]
    """One for each file that can be read, in the order of their names."""
    unreadable: tuple[str, ...]
    """Names of the files that cannot be read as sessions."""

    @property
    def values(self) -> tuple[Mapping[str, Any], ...]:
        """What `measure` returned for each."""
        return tuple(entry.value for entry in self.entries)


def index_file() -> Path:
    return data_folder() / "cache" / "sessions.index"


def forget() -> None:
    """Remove the index, as when sessions are deleted: what it says of them goes with them."""
    with contextlib.suppress(OSError):
        index_file().unlink()


def read(
    measure: Callable[[Session], Mapping[str, Any]],
    version: str,
    on_reading: Callable[[int], None] = lambda _: None,
) -> Index:
    """Return what `measure` says of every session, asking it only of files that are new or changed.

    What it returns must survive JSON; `version` names what it computes, and another one voids the index.
    `on_reading` is told how many files have to be read. Raises SessionError when the folder cannot be read.
    """
    keys, path = _keys(), index_file()
    stored = _read(path, version)
    known = {key: stored[key] for key in keys if key in stored}
    missing = [key for key in keys if key not in known]
    if missing:
        on_reading(len(missing))
    reader = _Reader()
    try:
        for key in missing:
            known[key] = reader.measured(sessions_folder() / key[0], measure)
    finally:
        # What was read before somebody stopped it need not be read again.
        if known.keys() != stored.keys():
            _write(path, version, known)
    entries = {key: known[key] for key in keys}
    return Index(
        entries=tuple(entry for entry in entries.values() if entry is not None),
        unreadable=tuple(name for (name, _, _), entry in entries.items() if entry is None),
    )


def _keys() -> list[_Key]:
    folder = sessions_folder()
    found = []
    try:
        with os.scandir(folder) as files:
            for file in files:
                if file.name.endswith(SUFFIX):
                    with contextlib.suppress(FileNotFoundError):
                        status = file.stat()
                        found.append((file.name, status.st_size, status.st_mtime_ns))
    except FileNotFoundError:
        return []
    except OSError as error:
        raise SessionError(f"cannot be read: {error.strerror}", folder) from None
    return sorted(found)


def _read(path: Path, version: str) -> _Entries:
    """Return the entries of the index file; none when it is missing, damaged, or of another version."""
    try:
        data = path.read_bytes()
        head, _, body = data.partition(b"\n")
        if head != _head(version, body):
            return {}
        return dict(map(_entry, body.splitlines()))
    except (OSError, ValueError, TypeError, RecursionError):
        return {}


def _entry(line: bytes) -> tuple[_Key, Entry | None]:
    """Read a line: whose file and session it is, a tab, and what was measured, which is left as it is.

    JSON has no tab and no line end but between its parts.
    """
    about, _, written = line.partition(b"\t")
    name, size, changed, *own = json.loads(about)
    if not written:
        return (name, size, changed), None
    id_, created, protocol, examiner, is_fictional = own
    entry = Entry(
        id=id_,
        created=datetime.fromisoformat(created),
        protocol=protocol,
        examiner=examiner,
        is_fictional=is_fictional,
        written=written,
    )
    return (name, size, changed), entry


def _line(key: _Key, entry: Entry | None) -> bytes:
    if entry is None:
        return json.dumps(key).encode()
    own = (entry.id, entry.created.isoformat(), entry.protocol, entry.examiner, entry.is_fictional)
    return json.dumps([*key, *own]).encode() + b"\t" + entry.written


def _head(version: str, body: bytes) -> bytes:
    return f"checklist index {FORMAT} {version} {zlib.crc32(body):08x}".encode()


def _write(path: Path, version: str, entries: _Entries) -> None:
    """Put a new index in the old one's place, whole or not at all; where that fails, there is none."""
    body = b"".join(_line(key, entry) + b"\n" for key, entry in entries.items())
    beside = path.with_name(f"{path.name}.{os.getpid()}")
    with contextlib.suppress(OSError):
        private_folder(path.parent)
        fd = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_TRUNC | getattr(os, "O_BINARY", 0), 0o600)
        try:
            with os.fdopen(fd, "wb") as file:
                file.write(_head(version, body) + b"\n" + body)
            beside.replace(path)
        except OSError:
            beside.unlink()


class _Reader:
    """Reads many session files; a protocol that several of them carry, letter for letter, is read once."""

    def __init__(self) -> None:
        self._known: dict[bytes, tuple[Protocol, Mapping[str, Any]]] = {}

    def measured(self, path: Path, measure: Callable[[Session], Mapping[str, Any]]) -> Entry | None:
        try:
            session = self._session(path)
        except SessionError:
            return None
        header = session.header
        return Entry(
            id=header.id,
            created=header.created,
            protocol=session.protocol.id,
            examiner=header.examiner,
            is_fictional=header.fictional,
            written=json.dumps(measure(session), separators=(",", ":")).encode(),
        )

    def _session(self, path: Path) -> Session:
        parts = _parts(content(path))
        if parts is None:
            return load(path).session
        own, table, events = parts
        if table in self._known:
            with contextlib.suppress(SessionFormatError, IllegalEventError, UnicodeDecodeError):
                protocol, plain = self._known[table]
                header, _, found = decode((own + _PROTOCOL + events).decode())
                return Session(header=header, protocol=protocol, table=plain).with_events(found)
        session = load(path).session
        self._known[table] = (session.protocol, session.table)
        return session


_PROTOCOL = b"\n[protocol]\n"
_END = HEADER_END.encode()


def _parts(data: bytes) -> tuple[bytes, bytes, bytes] | None:
    """Return the header's own keys, the protocol's table and the whole events; None for anything unusual."""
    whole = data[: whole_length(data)]
    start, end = whole.find(_PROTOCOL), whole.find(b"\n" + _END)
    if not 0 <= start < end:
        return None
    return whole[:start], whole[start:end], whole[end + 1 :]
