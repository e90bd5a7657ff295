"""What can be wrong with a protocol file, and how it is said. Pure; finds nothing wrong by itself.

A *flaw* stands at a place in the TOML table; a *problem* stands at a line of a file.
A protocol that comes out of a session file has flaws but no file of its own.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from itertools import islice

from checklist.errors import ChecklistError
from checklist.text import one_line

Place = tuple[str | int, ...]
"""Keys and list indices from the top level down: `("section", 2, "step", 0, "expect")`."""

_LAST_PART = re.compile(r"[\\/]")
_SHOWN = 40
"""Characters of a value that a message repeats."""
_COMPARED = 500
"""Names, and characters of a name, that are compared to find the nearest spelling."""
_LARGE = 10**18
"""Whole numbers above it are not repeated: Python refuses to write those of more than 4300 digits."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Flaw:
    """Something wrong at a place in a protocol's table."""

    at: Place
    what: str
    hint: str = ""
    see: Place | None = None
    """Another place that matters, such as the first use of a name that is used twice."""

    def __str__(self) -> str:
        where = place_words(self.at)
        return one_line(f"{where}: {self.what}" if where else self.what) + in_brackets(self.hint)


@dataclass(frozen=True, kw_only=True, slots=True)
class Problem:
    """Something wrong in a file. Line and column count from 1; a problem of the whole file has neither."""

    file: str
    what: str
    hint: str = ""
    line: int | None = None
    column: int | None = None

    def __str__(self) -> str:
        where = ":".join(str(part) for part in (self.file, self.line, self.column) if part is not None)
        return one_line(f"{where}: {self.what}") + in_brackets(self.hint)


class ProtocolError(ChecklistError):
    """A protocol that cannot be used, with everything that is wrong with it."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = tuple(problems)
        named = tuple(replace(problem, file=_LAST_PART.split(problem.file)[-1]) for problem in self.problems)
        super().__init__(_summary(self.problems), _summary(named))


def _summary(problems: Sequence[Problem]) -> str:
    first = problems[0]
    if len(problems) == 1:
        return str(first)
    count = f"{len(problems)} problems, which 'checklist protocol check' lists"
    return one_line(f"{first.file}: {count}; the first: {first}")


def in_brackets(hint: str) -> str:
    return f" ({one_line(hint)})" if hint else ""


def place_words(at: Place) -> str:
    """Return a place as a person counts: `section 3, step 1, expect`."""
    words: list[str] = []
    for part in at:
        if isinstance(part, int) and words:
            words[-1] += f" {part + 1}"
        else:
            words.append(str(part))
    return ", ".join(words)


def quoted(text: str) -> str:
    """Return a name or a text from a file in quotes, cut when it is long."""
    shown = one_line(text)
    return f"'{shown}'" if len(shown) <= _SHOWN else f"'{shown[: _SHOWN - 1]}…'"


def listed(names: Iterable[str]) -> str:
    return ", ".join(quoted(name) for name in names)


def found(value: object) -> str:
    """Say in an author's words what a TOML value is."""
    match value:
        case bool():
            return "true" if value else "false"
        case str():
            return f"the text {quoted(value)}"
        case int() if abs(value) > _LARGE:
            return "a number of very many digits"
        case int() | float():
            return f"the number {value}"
        case datetime():
            return "a date with a time"
        case date():
            return "a date"
        case time():
            return "a time"
        case list():
            return "a list"
        case _:
            return "a table"


def nearest(word: str, known: Iterable[str]) -> str:
    """Return the known spelling nearest to `word`, or an empty text when none is near."""
    # Only wanted when something is wrong, and slow to import.
    from difflib import get_close_matches

    return next(iter(get_close_matches(word[:_COMPARED], list(islice(known, _COMPARED)), n=1)), "")


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """Return a hint that names the nearest known spelling, or an empty text when none is near."""
    near = nearest(word, known)
    return f"did you mean {quoted(near)}?" if near else ""
