"""The program in a real terminal: a pty, and a terminal emulator that reads what is painted."""

import fcntl
import os
import pty
import select
import signal
import struct
import sys
import termios
import time
from collections.abc import Sequence
from pathlib import Path
from types import TracebackType

import pyte

_QUERY_ANSWERS = ((b"\x1b[?2026$p", b"\x1b[?2026;1$y"), (b"\x1b[?2048$p", b"\x1b[?2048;0$y"))
"""What Textual asks a terminal at start: synchronized output yes, in-band resize no."""


class Terminal:
    """One run of a program in a terminal of its own; use it in a `with` statement."""

    def __init__(
        self,
        arguments: Sequence[str],
        home: Path,
        *,
        columns: int = 80,
        rows: int = 24,
        term: str = "xterm-256color",
        no_color: bool = False,
        program: Sequence[str] = (sys.executable, "-m", "checklist"),
    ) -> None:
        self._screen = pyte.Screen(columns, rows)
        self._stream = pyte.ByteStream(self._screen)
        self.painted = b""
        """Everything that the program has written, in its order."""
        environment = {**os.environ, "TERM": term, "EXAM_CHECKLIST_HOME": str(home), "COLORTERM": ""}
        for name in ("NO_COLOR", "COLUMNS", "LINES"):
            environment.pop(name, None)
        if no_color:
            environment["NO_COLOR"] = "1"
        self.pid, self._fd = pty.fork()
        if self.pid == 0:
            os.execve(program[0], [*program, *arguments], environment)
        self._set_size(columns, rows)
        self.exit_code: int | None = None

    def __enter__(self) -> "Terminal":
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self.exit_code is None:
            self.kill()
        os.close(self._fd)

    @property
    def text(self) -> str:
        """What stands on the screen."""
        return "\n".join(line.rstrip() for line in self._screen.display)

    def resize(self, columns: int, rows: int) -> None:
        self._screen.resize(rows, columns)
        self._set_size(columns, rows)

    def _set_size(self, columns: int, rows: int) -> None:
        fcntl.ioctl(self._fd, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))

    def send(self, keys: str) -> None:
        os.write(self._fd, keys.encode())

    def read(self, seconds: float) -> bool:
        """Take in what is painted within `seconds`; return whether there was something."""
        ready, _, _ = select.select([self._fd], [], [], max(0.0, seconds))
        if not ready:
            return False
        try:
            data = os.read(self._fd, 65536)
        except OSError:
            # The other end is closed: the program is gone.
            return False
        for query, answer in _QUERY_ANSWERS:
            if query in data:
                os.write(self._fd, answer)
        self.painted += data
        self._stream.feed(data)
        return bool(data)

    def wait_for(self, text: str, seconds: float = 20.0) -> None:
        """Wait until `text` stands on the screen."""
        end = time.monotonic() + seconds
        while text not in self.text:
            left = end - time.monotonic()
            if left <= 0:
                raise AssertionError(f"{text!r} did not appear; the screen is:\n{self.text}")
            if not self.read(min(left, 0.2)) and self._is_gone():
                raise AssertionError(f"the program ended before {text!r} appeared:\n{self.text}")

    def settle(self, silence: float = 0.1) -> None:
        """Wait until nothing has been painted for `silence` seconds."""
        while self.read(silence):
            pass

    def kill(self, number: signal.Signals = signal.SIGKILL) -> int:
        """End the program with a signal, and return its wait status."""
        os.kill(self.pid, number)
        return self.wait()

    def wait(self) -> int:
        """Wait until the program has ended, taking in what it still paints; return its exit code."""
        while not self._is_gone():
            self.read(0.05)
        while self.read(0.0):
            pass
        assert self.exit_code is not None
        return self.exit_code

    def _is_gone(self) -> bool:
        if self.exit_code is None:
            pid, status = os.waitpid(self.pid, os.WNOHANG)
            if pid:
                self.exit_code = os.waitstatus_to_exitcode(status)
        return self.exit_code is not None
