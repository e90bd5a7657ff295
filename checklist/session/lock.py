"""The lock file beside a session file: one program at a time, and the clock for after a crash.

The operating system holds the lock and drops it when its holder dies, however that happens.
The file is removed on a clean release; one that is left over is the trace of a crash, and never in the way.
"""

import contextlib
import errno
import os
import re
import sys
from pathlib import Path

from checklist.session.clock import LONGEST_SECONDS

_TEXT = "pid {pid:>10}\nclock {clock:>14.3f}\n"
"""Of fixed width, so that rewriting it in place needs no space on the disk and leaves nothing of the old."""
_PATTERN = re.compile(rb"pid +(\d+)\nclock +(\d+\.\d+)\n")
_FLAGS = os.O_RDWR | os.O_CREAT | getattr(os, "O_BINARY", 0) | getattr(os, "O_NOFOLLOW", 0)
_LONGEST_LEFT = LONGEST_SECONDS / 2
"""So that the clock can run on from there, and its events be read again."""
_HELD = {errno.EAGAIN, errno.EACCES, errno.EDEADLK}

if sys.platform == "win32":
    import msvcrt

    def _try_lock(fd: int) -> None:
        # Far behind the text, because a locked byte cannot be read by others here.
        os.lseek(fd, 1 << 20, os.SEEK_SET)
        msvcrt.locking(fd, msvcrt.LK_NBLCK, 1)
else:
    import fcntl

    def _try_lock(fd: int) -> None:
        fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)


class LockHeldError(Exception):
    """Another program, or this one, holds the lock; `pid` is 0 when its number could not be read."""

    def __init__(self, pid: int) -> None:
        super().__init__(pid)
        self.pid = pid


class Lock:
    """A lock that is held. Made by `acquire`."""

    def __init__(self, path: Path, fd: int) -> None:
        self._path = path
        self._fd = fd
        _, self.left_clock = _read(fd)
        """Where the clock of the holder before stood when it died, in seconds; None after a clean release."""
        with contextlib.suppress(OSError):  # Away with more than that, such as zeros after a loss of power.
            os.ftruncate(fd, len(_TEXT.format(pid=0, clock=0.0)))
        self.tick(self.left_clock or 0.0)

    def tick(self, clock_seconds: float) -> None:
        """Note where the clock stands, for after a crash."""
        text = _TEXT.format(pid=os.getpid(), clock=clock_seconds).encode()
        # The note is a convenience: after a crash without it the clock stands at the last event.
        with contextlib.suppress(OSError):
            os.lseek(self._fd, 0, os.SEEK_SET)
            os.write(self._fd, text)

    def release(self, *, keep_clock: bool = False) -> None:
        """Remove the file, then let go: whoever opened it meanwhile finds it gone and makes a new one.

        With `keep_clock` it is left, as after a crash, for the clock that no event holds.
        """
        # A late tick must not write to whatever file gets the number next.
        fd, self._fd = self._fd, -1
        if sys.platform == "win32":  # An open file cannot be removed there.
            os.close(fd)
        if not keep_clock:
            with contextlib.suppress(OSError):
                self._path.unlink()
        if sys.platform != "win32":
            os.close(fd)


def acquire(path: Path) -> Lock:
    """Take the lock at `path`, or raise LockHeldError, or OSError when the disk cannot lock."""
    while True:
        fd = os.open(path, _FLAGS, 0o600)
        try:
            _try_lock(fd)
        except OSError as error:
            pid, _ = _read(fd)
            os.close(fd)
            if error.errno in _HELD:
                raise LockHeldError(pid) from None
            raise
        if _is_at(path, fd):
            return Lock(path, fd)
        os.close(fd)  # Its holder removed it between our opening and our locking.


def _is_at(path: Path, fd: int) -> bool:
    try:
        return os.path.samestat(os.fstat(fd), path.stat())
    except FileNotFoundError:
        return False


def _read(fd: int) -> tuple[int, float | None]:
    """Return pid and clock of a lock file, 0 and None where it does not say."""
    with contextlib.suppress(OSError, ValueError):
        os.lseek(fd, 0, os.SEEK_SET)
        if found := _PATTERN.fullmatch(os.read(fd, 100)):
            clock = float(found[2])
            return int(found[1]), clock if clock < _LONGEST_LEFT else None
    return 0, None
