"""Writes a document to a file that is not there yet, or prints it."""

import contextlib
import os
import sys
from pathlib import Path

from checklist.errors import ChecklistError


class OutputError(ChecklistError):
    """A document could not be written; the text is one line with the file's name."""


def write_new(path: Path, text: str, *, newline: str | None = None) -> None:
    """Write `text` to a new file that only its owner can read; never over a file that exists.

    A `~` at the beginning is the home folder. What cannot be written whole is not left behind.
    `newline` is as for `open`: empty for a format with line ends of its own.
    """
    try:
        path = path.expanduser()
        fd = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except RuntimeError:
        raise OutputError(f"{path}: there is no such user; write the folder in full") from None
    except FileExistsError:
        raise OutputError(f"{path}: exists already; choose another name") from None
    except OSError as error:
        raise OutputError(f"{path}: cannot be written: {error.strerror}") from None
    try:
        with os.fdopen(fd, "w", encoding="utf-8", newline=newline) as file:
            file.write(text)
    except OSError as error:
        with contextlib.suppress(OSError):
            path.unlink()
        raise OutputError(f"{path}: cannot be written: {error.strerror}") from None


def put_as_is(text: str, file: str | None) -> None:
    """Print a text that is UTF-8 with the line ends that it has, whatever the terminal is set to.

    With `file`, write it to that new file instead; raises OutputError as `write_new`.
    """
    if file:
        write_new(Path(file), text, newline="")
        return
    if hasattr(sys.stdout, "reconfigure"):
        sys.stdout.reconfigure(encoding="utf-8", newline="")
    sys.stdout.write(text)
