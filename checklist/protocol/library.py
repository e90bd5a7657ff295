"""The protocols on this computer: bundled ones and a person's own. Alone in this package, it opens files."""

import re
import stat
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from checklist import toml
from checklist.folders import bundled_protocols, own_protocols
from checklist.protocol.dotted import long_key
from checklist.protocol.fields import MINUTES, TITLE_LENGTH, Fields, Notes, is_id
from checklist.protocol.model import Protocol
from checklist.protocol.problems import Problem, ProtocolError, did_you_mean, listed
from checklist.protocol.reader import Parsed, read_text

LARGEST = 2_000_000
"""Bytes of a protocol file."""
OWN, BUNDLED = "own", "bundled"


@dataclass(frozen=True, kw_only=True)
class Loaded:
    """A protocol with the table it was read from, which a session carries in full."""

    protocol: Protocol
    table: Mapping[str, Any] = field(repr=False)
    path: Path


@dataclass(frozen=True, kw_only=True, slots=True)
class Headline:
    """What a list of protocols says of one of them."""

    id: str
    title: str = ""
    version: str = ""
    summary: str = ""
    target_minutes: float = 0
    path: Path
    origin: str
    problem: str = ""
    """Why the protocol cannot be used, as far as a look at its first lines tells."""


def check(path: Path) -> list[Problem]:
    """Return all problems of a protocol file; one that cannot be read at all is a problem too."""
    try:
        return list(_reading(path).problems)
    except ProtocolError as error:
        return list(error.problems)


def load(path: Path) -> Protocol:
    """Return the protocol of a file, or raise ProtocolError with all problems of it."""
    return load_table(path).protocol


def load_table(path: Path) -> Loaded:
    """Return the protocol of a file with its table, or raise ProtocolError with all problems of it."""
    reading = _reading(path)
    if reading.protocol is None or reading.table is None:
        raise ProtocolError(reading.problems)
    return Loaded(protocol=reading.protocol, table=reading.table, path=path)


def find(name: str) -> Path:
    """Return the file of the protocol with the id `name`, or the path that `name` is."""
    paths = _paths()
    if name in paths:
        return paths[name][0]
    if Path(name).is_file() or not is_id(name):
        return Path(name)
    hint = did_you_mean(name, paths) or (f"known: {listed(paths)}" if paths else "")
    raise ProtocolError([Problem(file=name, what="no protocol has this id", hint=hint)])


def headlines() -> list[Headline]:
    """Return what a list says of each protocol, own ones first; parses little of each file."""
    return [_headline(name, path, origin) for name, (path, origin) in _paths().items()]


def _paths() -> dict[str, tuple[Path, str]]:
    """Return file and origin of each protocol by its id; an own one takes the place of a bundled one."""
    found: dict[str, tuple[Path, str]] = {}
    for origin, folder in ((OWN, own_protocols()), (BUNDLED, bundled_protocols())):
        for path in sorted(folder.glob("*.toml")):
            found.setdefault(path.stem, (path, origin))
    return found


def _reading(path: Path) -> Parsed:
    folders = (own_protocols(), bundled_protocols())
    is_listed = path.suffix == ".toml" and path.absolute().parent in folders
    return read_text(_text(path), str(path), expected_id=path.stem if is_listed else None)


def _headline(name: str, path: Path, origin: str) -> Headline:
    try:
        table = _first_table(path)
    except ProtocolError as error:
        problem = error.problems[0]
        return Headline(id=name, path=path, origin=origin, problem=problem.what)
    notes = Notes()
    fields = Fields(table, notes)
    headline = Headline(
        id=name,
        title=fields.text("title", needed=True, longest=TITLE_LENGTH),
        version=fields.text("version", needed=True),
        summary=fields.text("summary"),
        target_minutes=fields.number("target_minutes", *MINUTES),
        path=path,
        origin=origin,
    )
    fields.report_missing()
    return replace(headline, problem=notes.flaws[0].what) if notes.flaws else headline


_SECTIONS = re.compile(rb"^[ \t]*\[\[[ \t]*section\b", re.MULTILINE)


def _first_table(path: Path) -> Mapping[str, Any]:
    """Return the table of what stands above the first section; of all, when that alone is not TOML."""
    sections = _SECTIONS.search(data := _bytes(path))
    if sections:
        try:
            head = data[: sections.start()].decode("utf-8-sig")
            if not long_key(head):
                return toml.loads(head)
        except ValueError:
            pass
    reading = read_text(_decoded(path, data), str(path))
    if reading.table is None:
        raise ProtocolError(reading.problems)
    return reading.table


def _text(path: Path) -> str:
    """Return the text of a protocol file, or raise ProtocolError when it is not a readable file of text."""
    return _decoded(path, _bytes(path))


def _decoded(path: Path, data: bytes) -> str:
    if not data.strip():
        raise _error(path, "the file is empty")
    try:
        # An editor may have put a byte order mark in front, which TOML does not know.
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        what = f"byte {error.start + 1} of the file, 0x{data[error.start]:02X}, is not UTF-8"
        raise _error(path, what, "save the file as UTF-8", line) from None


def _bytes(path: Path) -> bytes:
    try:
        status = path.stat()
        if stat.S_ISDIR(status.st_mode):
            raise _error(path, "a folder, not a file")
        if not stat.S_ISREG(status.st_mode):
            raise _error(path, "a pipe or a device, not a file")
        if status.st_size > LARGEST:
            size = f"{status.st_size / 1e6:.1f} MB"
            raise _error(path, f"the file is too large: {size}", f"at most {LARGEST / 1e6:.0f} MB")
        with path.open("rb") as file:
            return file.read(LARGEST)
    except FileNotFoundError:
        raise _error(path, "no such file") from None
    except OSError as error:
        raise _error(path, f"the file cannot be read: {error.strerror}") from None


def _error(path: Path, what: str, hint: str = "", line: int | None = None) -> ProtocolError:
    return ProtocolError([Problem(file=str(path), what=what, hint=hint, line=line)])
