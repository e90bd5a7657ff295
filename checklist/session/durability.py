"""Makes what was written to a file durable, in a thread of its own, and says how far behind it is.

A write survives the death of the program; only this survives a loss of power.
A disk may take long over it, and the screen must not wait for that.
"""

import os
import sys
import threading
import time

BEHIND_SECONDS = 1.0
"""How long a write may wait before the screen says so."""

if sys.platform == "darwin":
    import fcntl

    def make_durable(fd: int) -> None:
        """Return when the file's content is on the medium, or raise OSError."""
        try:
            # Here fsync only reaches the drive's own memory.
            fcntl.fcntl(fd, fcntl.F_FULLFSYNC)
        except OSError:  # Some file systems do not have it.
            os.fsync(fd)
else:

    def make_durable(fd: int) -> None:
        """Return when the file's content is on the medium, or raise OSError."""
        os.fsync(fd)


class Durability:
    """The thread for one open file. Requests that come while it works are met by its next round together."""

    def __init__(self, fd: int) -> None:
        self._fd = fd
        self._changed = threading.Condition()
        self._asked = self._met = 0
        self._waiting_since = 0.0
        self._stopping = False
        self._problem = ""
        self._thread = threading.Thread(target=self._run, name="make durable", daemon=True)
        self._thread.start()

    def ask(self) -> None:
        """Ask for everything written so far to be made durable, and do not wait."""
        with self._changed:
            if self._asked == self._met:
                self._waiting_since = time.monotonic()
            self._asked += 1
            self._changed.notify_all()

    def health(self) -> str:
        """Say what is wrong, for the screen; empty when all is durable or was asked for just now."""
        with self._changed:
            if self._problem:
                return f"the disk refused to make the record durable: {self._problem}"
            behind = time.monotonic() - self._waiting_since if self._asked > self._met else 0.0
        return f"not yet on disk for {behind:.0f} s" if behind >= BEHIND_SECONDS else ""

    def drain(self, timeout: float) -> bool:
        """Wait until all that was asked for is met; return whether it is durable now."""
        with self._changed:
            met = self._changed.wait_for(lambda: self._met >= self._asked, timeout)
            return met and not self._problem

    def stop(self, timeout: float) -> bool:
        """End the thread after what was asked for; return whether it has ended and the file may close."""
        with self._changed:
            self._stopping = True
            self._changed.notify_all()
        self._thread.join(timeout)
        return not self._thread.is_alive()

    def _run(self) -> None:
        while number := self._next():
            started = time.monotonic()
            problem = _try(self._fd)
            with self._changed:
                # Once refused it stays so: a later success says nothing about what was refused before.
                self._problem = self._problem or problem
                self._met, self._waiting_since = number, started
                self._changed.notify_all()

    def _next(self) -> int:
        """Wait for work; return the number of the last request, or 0 when there will be no more."""
        with self._changed:
            self._changed.wait_for(lambda: self._asked > self._met or self._stopping)
            return self._asked if self._asked > self._met else 0


def _try(fd: int) -> str:
    try:
        make_durable(fd)
    except OSError as error:
        return error.strerror or str(error)
    return ""
