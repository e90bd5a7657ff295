"""Takes session files out of the folder: into one zip file, and off this disk.

An archive is for its owner alone, is never written over a file that exists, and is read back and compared
before it counts.
A file is removed while its lock is held, so that no program that is recording loses it.
"""

import contextlib
import hashlib
import os
import stat
import time
import zipfile
import zlib
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import IO

from checklist.errors import ChecklistError
from checklist.session.codec import whole_length
from checklist.session.lock import Lock, LockHeldError, acquire
from checklist.session.store import SUFFIX, sessions_folder
from checklist.text import one_line

_EARLIEST = (1980, 1, 1, 0, 0, 0)
"""No zip file knows an earlier time."""
_PRIVATE = 0o600


class ArchiveError(ChecklistError):
    """Session files could not be archived or removed; the text is one line."""

    def __init__(self, path: Path, what: str) -> None:
        super().__init__(one_line(f"{path}: {what}"), one_line(what))


def beside(path: Path) -> tuple[Path, ...]:
    """Return the torn ends that are kept beside a session file, in order."""
    try:
        found = [each for each in path.parent.iterdir() if each.name.startswith(f"{path.name}.torn-")]
    except OSError as error:
        raise ArchiveError(path.parent, f"cannot be read: {error.strerror}") from None
    return tuple(sorted(found))


def demand_session(path: Path) -> None:
    """Refuse to remove what is no session file: a link, or a file elsewhere that does not begin as one."""
    if path.is_symlink():
        raise ArchiveError(path, "a link; name the file that it points to")
    is_at_home = path.suffix == SUFFIX and path.absolute().parent == sessions_folder().absolute()
    if not is_at_home and not whole_length(_content(path)):
        raise ArchiveError(path, "not a session file")


def demand_closed(path: Path) -> None:
    """Refuse a session that is open in another program."""
    with _held(path):
        pass


def remove(path: Path, digests: Mapping[Path, str] | None = None) -> None:
    """Remove a session file, its torn ends and its lock file; with `digests`, only as they were then."""
    demand_session(path)
    with _held(path):
        files = (*beside(path), path)
        for each in files:
            if digests is not None and digests.get(each) != _digest(_content(each)):
                raise ArchiveError(each, "changed since it was archived; it was left where it is")
        for each in files:
            try:
                each.unlink()
            except OSError as error:
                raise ArchiveError(each, f"cannot be removed: {error.strerror}") from None


@contextlib.contextmanager
def _held(path: Path) -> Iterator[Lock]:
    """Hold the lock of a session; its file goes with it, unless there was one and the body fails."""
    beside_it = path.with_name(f"{path.name}.lock")
    was_there = beside_it.exists()
    try:
        lock = acquire(beside_it)
    except LockHeldError as error:
        by = f"the program with process id {error.pid}" if error.pid else "another program"
        raise ArchiveError(path, f"open in {by}; close it there first") from None
    except OSError as error:
        raise ArchiveError(path, f"cannot be locked: {error.strerror}") from None
    try:
        yield lock
    finally:
        # A clock that a crash left there is kept for as long as the session is.
        lock.release(keep_clock=was_there and path.exists())


def write_archive(archive: Path, sessions: Sequence[Path]) -> dict[Path, str]:
    """Write session files with their torn ends to a new zip file, read it back, and return their digests.

    What cannot be written and verified whole is not left behind.
    """
    files = [each for path in sessions for each in (path, *beside(path))]
    names = Counter(each.name for each in files)
    if twice := [name for name, count in names.items() if count > 1]:
        raise ArchiveError(archive, f"two sessions are called {twice[0]}; archive them apart")
    fd = _opened(archive)
    try:
        with os.fdopen(fd, "w+b") as file:
            digests = _written(file, files)
            file.flush()
            os.fsync(file.fileno())
        _verify(archive, {path.name: digest for path, digest in digests.items()})
    except BaseException as error:
        with contextlib.suppress(OSError):
            archive.unlink()
        if isinstance(error, OSError):
            raise ArchiveError(archive, f"cannot be written: {error.strerror or error}") from None
        raise
    return digests


def _opened(archive: Path) -> int:
    try:
        return os.open(archive, os.O_RDWR | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), _PRIVATE)
    except FileExistsError:
        raise ArchiveError(archive, "exists already; choose another name") from None
    except OSError as error:
        raise ArchiveError(archive, f"cannot be written: {error.strerror}") from None


def _written(file: IO[bytes], files: Sequence[Path]) -> dict[Path, str]:
    digests = {}
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        for path in files:
            data = _content(path)
            archive.writestr(_member(path), data)
            digests[path] = _digest(data)
    return digests


def _member(path: Path) -> zipfile.ZipInfo:
    """Return the entry of a file: its name without a folder, its time, and for its owner alone."""
    changed = time.localtime(path.stat().st_mtime)[:6]
    member = zipfile.ZipInfo(path.name, max(changed, _EARLIEST))
    member.compress_type = zipfile.ZIP_DEFLATED
    member.external_attr = (stat.S_IFREG | _PRIVATE) << 16
    return member


def _verify(archive: Path, digests: Mapping[str, str]) -> None:
    """Read an archive back from the disk and compare all that is in it."""
    if read_digests(archive) != digests:
        raise ArchiveError(archive, "does not hold what was written to it; the disk may be failing")


def read_digests(archive: Path) -> dict[str, str]:
    """Return the SHA-256 of each file in an archive, by its name; raises ArchiveError."""
    try:
        with zipfile.ZipFile(archive) as opened:
            return {name: _digest(opened.read(name)) for name in opened.namelist()}
    except (zipfile.BadZipFile, zlib.error) as error:
        raise ArchiveError(archive, f"cannot be read back: {error}") from None


def _content(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise ArchiveError(path, f"cannot be read: {error.strerror}") from None


def _digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()
