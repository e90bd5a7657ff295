"""The one place that writes session files.

A session file only grows: a header, then events, each block in one write, and always ends on a whole event.
`write` returns when the operating system has the bytes, so that a killed program loses nothing;
a thread makes them durable at once after, and `health` says when that fails or falls behind.
Nothing here knows what the events mean.
"""

import contextlib
import errno
import os
import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from checklist.errors import ChecklistError
from checklist.folders import private_folder
from checklist.session.codec import LARGEST_BYTES, encode_event, encode_header, last_event, whole_length
from checklist.session.durability import Durability, make_durable
from checklist.session.events import Event
from checklist.session.lock import Lock, LockHeldError, acquire
from checklist.session.seal import digest
from checklist.session.session import Header
from checklist.text import one_line

_FLAGS = os.O_RDWR | os.O_APPEND | getattr(os, "O_BINARY", 0)
_CLOSING_SECONDS = 10.0


class JournalError(ChecklistError):
    """The record could not be written. The text is one sentence: which file, what failed, what to do."""

    def __init__(self, path: Path, what: str) -> None:
        super().__init__(one_line(f"{path}: {what}"), one_line(what))


@dataclass(frozen=True, kw_only=True, slots=True)
class Reopened:
    """A journal to go on with, and what the end of the program before left behind."""

    journal: "Journal"
    clock: float
    """Seconds at which the examination clock stood."""
    cut: Path | None
    """Where the bytes of a torn event were put, when the file ended in one."""


class Journal:
    """One open session file that this program alone writes. Made by `create` or `reopen`; to be closed."""

    def __init__(self, path: Path, fd: int, lock: Lock) -> None:
        self.path = path
        self._fd = fd
        self._size = os.fstat(fd).st_size
        self._is_torn = False
        """Whether part of a failed write could not be taken back yet."""
        self._lock = lock
        self._durability = Durability(fd)

    @classmethod
    def create(cls, path: Path, header: Header, table: Mapping[str, Any]) -> "Journal":
        """Start a new file with its header, durable on return; raise JournalError when that cannot be."""
        with _explained(path, "cannot be created"):
            private_folder(path.parent)
            with _locked(path) as lock:
                return cls(path, _created(path, encode_header(header, table).encode()), lock)

    @classmethod
    def reopen(cls, path: Path) -> Reopened:
        """Go on with a file, after cutting a torn end off it; raise JournalError when that cannot be."""
        with _explained(path, "cannot be reopened"):
            if not path.is_file():
                raise FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT))
            with _locked(path) as lock:
                fd = os.open(path, _FLAGS)
                try:
                    cut, clock = _mended(path, fd)
                except BaseException:
                    os.close(fd)
                    raise
                clock = max(clock, lock.left_clock or 0.0)
                lock.tick(clock)
                return Reopened(journal=cls(path, fd, lock), clock=clock, cut=cut)

    @property
    def size(self) -> int:
        """Bytes of the file; all of them are whole."""
        return self._size

    def write(self, events: Sequence[Event]) -> None:
        """Append events in one go; on return a killed program loses none of them.

        Raises JournalError; then the file is as it was before, and writing may be tried again.
        """
        block = "".join(encode_event(event) for event in events).encode()
        with _explained(self.path, "cannot be written"):
            self._check_place()
            if self._is_torn:
                self._take_back()
            try:
                _write_all(self._fd, block)
            except OSError:
                self._is_torn = True
                with contextlib.suppress(OSError):
                    self._take_back()
                raise
            self._size += len(block)
        self._durability.ask()

    def _check_place(self) -> None:
        """Refuse to write where nobody would find it, or after what somebody else wrote."""
        here = os.fstat(self._fd)
        if not os.path.samestat(here, self.path.stat()):
            raise JournalError(self.path, f"was replaced by another file; {_ANEW}")
        is_longer = here.st_size > self._size and not self._is_torn
        if is_longer or here.st_size < self._size:
            raise JournalError(self.path, f"was changed by another program; {_ANEW}")

    def _take_back(self) -> None:
        os.ftruncate(self._fd, self._size)
        self._is_torn = False

    def tick(self, clock_seconds: float) -> None:
        """Note where the examination clock stands, for after a crash; cheap enough for once a second."""
        self._lock.tick(clock_seconds)

    def digest(self, signature: Event) -> str:
        """Return the SHA-256 of the file as `signature` will end it, which holds no digest yet.

        Raises JournalError when the file cannot be read.
        """
        with _explained(self.path, "cannot be read"):
            self._check_place()
            return digest(self.path.read_bytes()[: self._size] + encode_event(signature).encode())

    def health(self) -> str:
        """Say how the record is threatened, for the screen; empty when it is not."""
        return self._durability.health()

    def drain(self, timeout: float) -> bool:
        """Wait until everything written is durable; return whether it is."""
        return self._durability.drain(timeout)

    def close(self, *, keep_clock: bool = False) -> None:
        """Wait for durability, then let go of the file and its lock. A closed journal may be closed again.

        Raises JournalError when what was written may not be durable. Then, and with `keep_clock`, the lock
        file is left behind with the clock in it, as after a crash.
        """
        fd, self._fd = self._fd, -1
        if fd < 0:
            return
        has_ended = self._durability.stop(_CLOSING_SECONDS)
        is_durable = has_ended and self._durability.drain(0)
        # A thread that hangs in a dead disk keeps file and lock until the program ends.
        if has_ended:
            os.close(fd)
            self._lock.release(keep_clock=keep_clock or not is_durable)
        if not is_durable:
            what = self.health() or "not yet on disk"
            raise JournalError(self.path, f"closed, but what was recorded last may be lost: {what}")


@contextlib.contextmanager
def _locked(path: Path) -> Iterator[Lock]:
    """Hold the lock of a session file; let go of it only when the body fails."""
    lock = acquire(path.with_name(path.name + ".lock"))
    try:
        yield lock
    except BaseException:
        lock.release()
        raise


def _created(path: Path, data: bytes) -> int:
    """Create a file that is not there yet with `data`, whole and durable or not at all; return it open."""
    fd = os.open(path, _FLAGS | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        _write_all(fd, data)
        make_durable(fd)
        _make_folder_durable(path.parent)
    except BaseException:
        os.close(fd)
        path.unlink()
        raise
    return fd


def _mended(path: Path, fd: int) -> tuple[Path | None, float]:
    """Cut a torn end off, keeping it beside the file; return where it is kept, and the last event's clock."""
    data = path.read_bytes() if os.fstat(fd).st_size <= LARGEST_BYTES else b""
    whole = whole_length(data)
    if not whole:
        raise JournalError(path, "not a session file; it was left as it is")
    last = last_event(data[:whole])
    cut = None
    if whole < len(data):
        cut = _kept(path, data[whole:])
        os.ftruncate(fd, whole)
        make_durable(fd)
    return cut, last.clock if last else 0.0


def _kept(path: Path, tail: bytes) -> Path:
    """Write torn bytes to the first free name beside the file."""
    n = 1
    while True:
        kept = path.with_name(f"{path.name}.torn-{n}")
        try:
            os.close(_created(kept, tail))
        except FileExistsError:
            n += 1
        else:
            return kept


def _write_all(fd: int, data: bytes) -> None:
    while data:
        written = os.write(fd, data)
        if not written:
            raise OSError(errno.EIO, os.strerror(errno.EIO))
        data = data[written:]


def _make_folder_durable(folder: Path) -> None:
    """Make the file's name durable too, where folders can be opened."""
    if sys.platform == "win32":
        return
    fd = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(fd)
    finally:
        os.close(fd)


_ANEW = "leave, and take the session up again"
_SPACE = "free some space on this disk, then try again"
_ELSEWHERE = "name another folder in EXAM_CHECKLIST_HOME"
_PLACE = "make it writable for you, or name another folder in EXAM_CHECKLIST_HOME"
_ADVICE = {
    errno.ENOSPC: _SPACE,
    errno.EDQUOT: _SPACE,
    errno.EFBIG: "raise the limit on the size of files, then try again",
    errno.EROFS: _PLACE,
    errno.EACCES: _PLACE,
    errno.EPERM: _PLACE,
    errno.ENOENT: "put back what is missing, then try again",
    errno.EEXIST: "move away what is there, then try again",
    errno.ENOTDIR: _ELSEWHERE,
    # What a disk that cannot lock files says.
    errno.ENOLCK: _ELSEWHERE,
    errno.EOPNOTSUPP: _ELSEWHERE,
}
_OTHERWISE = "the disk may be failing: write on paper until it is mended"


@contextlib.contextmanager
def _explained(path: Path, what: str) -> Iterator[None]:
    """Turn what the system refuses into one sentence that says what to do."""
    try:
        yield
    except LockHeldError as error:
        raise JournalError(path, _holder(error.pid)) from None
    except OSError as error:
        reason = error.strerror or str(error)
        if error.filename and Path(error.filename) != path:
            reason += f" ({error.filename})"
        advice = _ADVICE.get(error.errno or 0, _OTHERWISE)
        raise JournalError(path, f"{what}: {reason}; {advice}") from error


def _holder(pid: int) -> str:
    if pid == os.getpid():
        return "already open in this program; close it there first"
    by = f"by the program with process id {pid}" if pid else "by another program"
    return f"open {by}; close it there first"
