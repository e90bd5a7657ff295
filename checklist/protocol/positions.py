"""Where each key of a TOML text stands: a map from its place in the parsed value to line and column.

The standard parser keeps no positions, so a second, simpler reading finds them, and only when there is
something to report.
It takes for granted that the parser accepted the text; it judges nothing and computes no values.
"""

import re
import tomllib
from bisect import bisect_right
from contextlib import suppress
from dataclasses import dataclass
from itertools import chain

from checklist.protocol.problems import Place

Position = tuple[int, int]
"""Line and column, both from 1, in characters."""
Mark = tuple[Place, int]
"""A place and the offset at which the text mentions it."""

_SPACE = re.compile(r"[ \t]*+")
_BLANK = re.compile(r"(?:[ \t\n]++|#[^\n]*+)*+")
_BETWEEN = re.compile(r"(?:[ \t\n,]++|#[^\n]*+)*+")
_SCALAR = re.compile(
    r'"""(?:\\.|(?!""")[^\\])*+"{3,5}'
    r"|'''(?:(?!''').)*+'{3,5}"
    r'|"(?!"")(?:\\.|[^"\\\n])*+"'
    r"|'(?!'')[^'\n]*+'"
    r"|(?![\"'])[^,\]}\n#]++",
    re.DOTALL,
)
_KEY = re.compile(r'"(?:\\.|[^"\\])*+"|\'[^\']*+\'|[A-Za-z0-9_-]++')
_DOT = re.compile(r"[ \t]*+\.[ \t]*+")
_EQUALS = re.compile(r"[ \t]*+=[ \t]*+")
_CLOSE_HEADER = re.compile(r"[ \t]*+\]{1,2}")


def positions(text: str) -> dict[Place, Position]:
    """Return the position of every place in the value that `text` parses to.

    A key stands where it is first written, an element of a list where the element begins, and an element of
    an array of tables where its `[[` stands.
    """
    scan = _scanned(text)
    first: dict[Place, int] = {}
    for place, offset in scan.marks:
        first.setdefault(place, offset)
    locate = _Lines(scan.text)
    return {place: locate(offset) for place, offset in first.items()}


def repeated(text: str) -> tuple[Place, Position, Position] | None:
    """Return the place that the last statement of `text` writes again, its position, and the earlier one.

    `text` ends where the parser found the repetition.
    """
    scan = _scanned(text)
    first: dict[Place, int] = {}
    again: dict[int, Mark] = {}
    for index, (place, offset) in enumerate(scan.marks):
        if first.setdefault(place, offset) != offset:
            again[index] = (place, offset)
    # The key of the statement comes before what stands in its value.
    for index in chain(reversed(scan.statement), reversed(range(len(scan.marks)))):
        if index in again:
            place, offset = again[index]
            locate = _Lines(scan.text)
            return place, locate(offset), locate(first[place])
    return None


def latest_key(text: str) -> tuple[Place, Position] | None:
    """Return the key of the last statement of `text`, which may end in the middle of its value."""
    scan = _scanned(text)
    if not scan.statement:
        return None
    place, offset = scan.marks[scan.statement[-1]]
    return place, _Lines(scan.text)(offset)


class _Lines:
    """Turns offsets of a text into positions."""

    def __init__(self, text: str) -> None:
        self._starts = [0, *(match.end() for match in re.finditer("\n", text))]

    def __call__(self, offset: int) -> Position:
        line = bisect_right(self._starts, offset)
        return line, offset - self._starts[line - 1] + 1


def _scanned(text: str) -> "_Scan":
    scan = _Scan(text.replace("\r\n", "\n"))
    # A text that ends in the middle: what was found so far is right.
    with suppress(_LostError):
        scan.document()
    return scan


class _LostError(Exception):
    """The text is not the TOML that the scan takes for granted."""


@dataclass(slots=True)
class _Open:
    """A list or an inline table that is not closed yet."""

    place: Place
    is_list: bool
    elements: int = 0


class _Scan:
    """One pass over a text. Nesting is kept in a list, so its depth is bounded by memory alone."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.marks: list[Mark] = []
        self.statement = range(0)
        """Indices of the marks that the key or the header of the last statement left."""
        self._at = 0
        self._table: Place = ()
        self._elements: dict[Place, int] = {}
        """Index of the latest element of each array of tables."""

    def document(self) -> None:
        while self._skip(_BLANK) < len(self.text):
            if self._next() == "[":
                self._header()
            else:
                self._key_and_value(self._table)

    def _next(self) -> str:
        return self.text[self._at : self._at + 1]

    def _skip(self, pattern: re.Pattern[str]) -> int:
        """Move behind `pattern`, which must stand here, and return where that is."""
        match = pattern.match(self.text, self._at)
        if match is None:
            raise _LostError
        self._at = match.end()
        return self._at

    def _header(self) -> None:
        start, before = self._at, len(self.marks)
        is_element = self.text.startswith("[[", start)
        self._at += 2 if is_element else 1
        self._skip(_SPACE)
        place = self._dotted(())
        self.statement = range(before, len(self.marks))
        self._skip(_CLOSE_HEADER)
        if is_element:
            self._elements[place] = self._elements.get(place, -1) + 1
            self.marks.append((self._inside(place), start))
        self._table = self._inside(place)

    def _inside(self, place: Place) -> Place:
        """Return the place that a key below `place` belongs to: the latest element of an array of tables."""
        return (*place, self._elements[place]) if place in self._elements else place

    def _dotted(self, place: Place) -> Place:
        """Read a key of one or more parts below `place`, and return the place of the last part."""
        while True:
            start = self._at
            self._skip(_KEY)
            place = (*place, _key(self.text[start : self._at]))
            self.marks.append((place, start))
            if not _DOT.match(self.text, self._at):
                return place
            self._skip(_DOT)
            place = self._inside(place)

    def _key_and_value(self, table: Place) -> None:
        before = len(self.marks)
        place = self._dotted(table)
        self.statement = range(before, len(self.marks))
        self._skip(_EQUALS)
        self._value(place)

    def _value(self, place: Place) -> None:
        around: list[_Open] = []
        inner: Place | None = place
        while inner is not None:
            opening = self._next()
            if opening in ("[", "{"):
                self._at += 1
                around.append(_Open(inner, opening == "["))
            else:
                self._skip(_SCALAR)
            inner = self._next_value(around)

    def _next_value(self, around: list[_Open]) -> Place | None:
        """Close what closes here, and return the place of the next value inside what is still open."""
        while around:
            self._skip(_BETWEEN)
            if self._next() in ("]", "}"):
                self._at += 1
                around.pop()
            else:
                return self._element(around[-1])
        return None

    def _element(self, inside: _Open) -> Place:
        if inside.is_list:
            place = (*inside.place, inside.elements)
            inside.elements += 1
            self.marks.append((place, self._at))
            return place
        place = self._dotted(inside.place)
        self._skip(_EQUALS)
        return place


def _key(written: str) -> str:
    """Return the key that a bare or quoted part of a key stands for."""
    if written[0] == "'":
        return written[1:-1]
    if written[0] == '"':
        try:
            return str(tomllib.loads(f"key = {written}")["key"])
        except tomllib.TOMLDecodeError:
            raise _LostError from None
    return written
