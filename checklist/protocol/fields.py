"""One TOML table on its way into the model: hands out checked values by key and notes every flaw. Pure.

In place of a value that is missing or wrong a getter returns an empty one, so that the rest of the file is
read and judged as well.
"""

import re
from collections.abc import Container, Mapping, Sequence
from datetime import date, datetime

from checklist.protocol.problems import Flaw, Place, did_you_mean, found, listed, nearest, quoted
from checklist.text import clean, one_line

ID_LENGTH = 60
TITLE_LENGTH = 60
SITE_LENGTH = 40
MINUTES = (0.1, 600)
"""Shortest and longest examination."""
MOST = 100
"""Unknown keys that are listed of one table."""
LONGEST = 2000
"""Characters of any text."""

TOP = ""
"""Name of the table that holds all others."""

_ID = re.compile(r"[a-z][a-z0-9-]*")


def is_id(text: str) -> bool:
    return bool(_ID.fullmatch(text)) and len(text) <= ID_LENGTH


class Notes:
    """What all tables of one protocol note down: flaws, and the keys that each kind of table takes."""

    def __init__(self) -> None:
        self.flaws: list[Flaw] = []
        self.keys: dict[str, dict[str, None]] = {}
        self._closed: list[Fields] = []

    def add(self, at: Place, what: str, hint: str = "") -> None:
        self.flaws.append(Flaw(at=at, what=what, hint=hint))

    def close(self, fields: "Fields") -> None:
        self._closed.append(fields)

    def settle(self) -> list[Flaw]:
        """Return all flaws, once every table is closed: only then it is known which table takes which key."""
        for fields in self._closed:
            fields.report()
        return self.flaws


class Fields:
    """The keys of one table. What is asked for is what such a table takes."""

    def __init__(self, values: Mapping[str, object], notes: Notes, name: str = TOP, at: Place = ()) -> None:
        self._values = values
        self._notes = notes
        self._name = name
        self._at = at
        self._asked = notes.keys.setdefault(name, {})
        self._missing: dict[str, str] = {}
        self._is_open = False

    def text(self, key: str, *, needed: bool = False, longest: int = LONGEST) -> str:
        value = self._get(key, needed)
        if value is None:
            return ""
        if sound := _sound(value, longest):
            return sound
        advice = "write the text" if needed else "write the text, or leave the key out"
        return self._text((*self._at, key), quoted(key), value, longest, advice)

    def texts(self, key: str, *, needed: bool = False, longest: int = LONGEST) -> tuple[str, ...]:
        """Return the texts of a list; a list that is needed holds at least one."""
        return tuple(
            _sound(value, longest)
            or self._text(at, name, value, longest, "write the text, or leave it out of the list")
            for at, name, value in self._elements(key, needed, 'a list of texts, such as ["…", "…"]')
        )

    def id(self, key: str = "id") -> str:
        value = self._get(key, needed=True)
        if isinstance(value, str) and is_id(value):
            return value
        return "" if value is None else self._id((*self._at, key), quoted(key), value)

    def ids(self, key: str, *, needed: bool = False) -> tuple[str, ...]:
        elements = self._elements(key, needed, 'a list of ids, such as ["…", "…"]')
        return tuple(self._id(at, name, value) for at, name, value in elements)

    def choice(
        self, key: str, choices: Sequence[str], *, default: str | None = None, advice: str = ""
    ) -> str:
        """Return one of `choices`; without a default the key is needed.

        `advice` stands in a message in the place of all choices.
        """
        value = self._get(key, needed=default is None)
        if value is None:
            return default or ""
        if value in choices and isinstance(value, str):
            return value
        near = did_you_mean(value, choices) if isinstance(value, str) else ""
        self._expected(key, value, near or advice or f"expected one of {listed(choices)}")
        return default or ""

    def flag(self, key: str) -> bool:
        value = self._get(key, needed=False)
        if value is None or isinstance(value, bool):
            return bool(value)
        self._expected(key, value, "expected true or false, without quotes")
        return False

    def whole(self, key: str, lowest: int, highest: int, *, default: int) -> int:
        value = self._get(key, needed=False)
        if value is None:
            return default
        if isinstance(value, int) and not isinstance(value, bool) and lowest <= value <= highest:
            return value
        bounds = f"a whole number from {lowest} to {highest}" if lowest < highest else f"the number {lowest}"
        self._expected(key, value, f"expected {bounds}")
        return default

    def number(self, key: str, lowest: float, highest: float, *, default: float | None = None) -> float:
        """Return a number from `lowest` to `highest`; without a default the key is needed."""
        value = self._get(key, needed=default is None)
        if value is None:
            return default or 0
        # No comparison holds for `nan`.
        if isinstance(value, int | float) and not isinstance(value, bool) and lowest <= value <= highest:
            return value
        self._expected(key, value, _bounds(lowest, highest))
        return default or 0

    def numbers(self, key: str, lowest: float, highest: float) -> tuple[float, ...]:
        """Return the numbers of a list, each from `lowest` to `highest`; a list that is there holds some."""
        sound = []
        for at, name, value in self._elements(key, self.has(key), "a list of numbers, such as [20, 40]"):
            if isinstance(value, int | float) and not isinstance(value, bool) and lowest <= value <= highest:
                sound.append(float(value))
            else:
                hint = _bounds(lowest, highest)
                self._notes.add(at, f"{name} is {found(value)}", hint)
        return tuple(sound)

    def pairs(self, key: str, example: str) -> tuple[tuple[str, str], ...]:
        """Return the names and ids of a table that maps one to the other, which is needed."""
        value = self._get(key, needed=True)
        if value is None:
            return ()
        if not isinstance(value, Mapping):
            self._expected(key, value, f"expected a table such as {example}")
            return ()
        if not value:
            self._notes.add((*self._at, key), f"{quoted(key)} is an empty table", f"write {example}")
        return tuple(
            (name, self._id((*self._at, key, name), quoted(name), each)) for name, each in value.items()
        )

    def one_or_texts(self, key: str) -> tuple[str, ...]:
        """Return a text, or the texts of a list; one or the other is needed."""
        if isinstance(self._values.get(key), list):
            return tuple(filter(None, self.texts(key, needed=True)))
        return tuple(filter(None, (self.text(key, needed=True),)))

    def has(self, key: str) -> bool:
        return key in self._values

    def day(self, key: str) -> str:
        value = self._get(key, needed=True)
        # A TOML date with a time is a kind of date in Python, but not in the format.
        if isinstance(value, date) and not isinstance(value, datetime):
            return value.isoformat()
        if value is not None:
            self._expected(key, value, "expected a date without quotes, such as 2025-01-31")
        return ""

    def table(self, key: str) -> "Fields":
        """Return the table that is needed under `key`; an empty, silent one when there is none."""
        value = self._get(key, needed=False)
        self.require(key, f"missing table [{key}]")
        if value is not None and not isinstance(value, Mapping):
            self._expected(key, value, f"expected a table, written [{key}]")
        return self._inner(value, f"[{key}]", (*self._at, key))

    def table_if_any(self, key: str, header: str) -> "Fields | None":
        """Return the table under `key`, or None when there is none."""
        value = self._get(key, needed=False)
        if value is None:
            return None
        if not isinstance(value, Mapping):
            self._expected(key, value, f"expected a table, written {header}")
        return self._inner(value, header, (*self._at, key))

    def tables(self, key: str, header: str, *, needed: bool = False) -> list["Fields"]:
        """Return tables that are each written under the same `header`."""
        if needed:
            self.require(key, f"no {header}")
        return self._tables(key, needed, header, f"each written {header}")

    def inline_tables(self, key: str, example: str, *, needed: bool = False) -> list["Fields"]:
        """Return tables that are written as a list of inline tables."""
        return self._tables(key, needed, f"an item of {quoted(key)}", f"such as {example}")

    def kind(self, kinds: Sequence[str]) -> str:
        """Return the kind of the table, on which it depends which other keys it takes."""
        kind = self.choice("kind", kinds, advice="'checklist protocol readings' lists the kinds")
        self._is_open = not kind
        if kind:
            self._name += f"{_OF_KIND}{quoted(kind)}"
            self._asked = self._notes.keys.setdefault(self._name, {})
            self._asked["kind"] = None
        return kind

    def require(self, key: str, what: str = "") -> None:
        """Note that `key` is missing, when it is."""
        if key not in self._values:
            where = f"in {self._name}" if self._name else "at the top level, above the first [table]"
            self._missing[key] = what or f"missing key {quoted(key)} {where}"

    def close(self) -> None:
        """Say that nothing more is asked for."""
        self._notes.close(self)

    def report(self) -> None:
        """Note the keys that such a table does not take, and the needed ones that it lacks."""
        strangers = [key for key in self._values if key not in self._asked]
        if self._is_open:
            # Of a kind that is not known only the common keys are: a stranger may well be one of the others.
            strangers = [key for key in strangers if nearest(key, self._missing)]
        meant = {self._stranger(key) for key in strangers[:MOST]}
        if len(strangers) > MOST:
            self._notes.add((*self._at, strangers[MOST]), f"{len(strangers)} unknown keys in one table")
        self.report_missing(meant)

    def report_missing(self, meant: Container[str] = ()) -> None:
        """Note the needed keys that the table lacks, but for those that were `meant` by another."""
        for key, what in self._missing.items():
            if key not in meant:
                self._notes.add(self._at, what)

    def _stranger(self, key: str) -> str:
        """Report an unknown key, and return the known one that was probably meant."""
        homes = [name for name, keys in self._notes.keys.items() if key in keys]
        near = nearest(key, self._asked)
        headers = {_header(name) for name in homes}
        if len(headers) == 1 and (len(homes) == 1 or _header(self._name) not in headers):
            near = ""
            home = homes[0] if len(homes) == 1 else _header(homes[0])
            hint = f"a key of {home or 'the top level: write it above the first [table]'}"
        elif near:
            hint = f"did you mean {quoted(near)}?"
        else:
            hint = f"keys here: {', '.join(self._asked)}"
        self._notes.add((*self._at, key), f"unknown key {quoted(key)}", hint)
        return near

    def _get(self, key: str, needed: bool) -> object:
        """Return the value of `key`; None, which no TOML value is, when it is missing."""
        self._asked[key] = None
        if needed:
            self.require(key)
        return self._values.get(key)

    def _tables(self, key: str, needed: bool, name: str, how: str) -> list["Fields"]:
        elements = self._elements(key, needed, f"tables, {how}")
        for at, label, value in elements:
            if not isinstance(value, Mapping):
                self._notes.add(at, f"{label} is {found(value)}", f"expected a table, {how}")
        return [self._inner(value, name, at) for at, _, value in elements]

    def _inner(self, value: object, name: str, at: Place) -> "Fields":
        if isinstance(value, Mapping):
            return Fields(value, self._notes, name, at)
        # What is not a table is reported as such, and not for each key that it lacks.
        return Fields({}, Notes(), name, at)

    def _expected(self, key: str, value: object, hint: str) -> None:
        self._notes.add((*self._at, key), f"{quoted(key)} is {found(value)}", hint)

    def _elements(self, key: str, needed: bool, expected: str) -> list[tuple[Place, str, object]]:
        """Return the elements of a list, each with its place and its name in messages."""
        value = self._get(key, needed and key not in self._missing)
        if value is None:
            return []
        if not isinstance(value, list):
            self._expected(key, value, f"expected {expected}")
            return []
        if needed and not value:
            self._notes.add((*self._at, key), f"{quoted(key)} is an empty list", "write at least one item")
        name = quoted(key)
        return [((*self._at, key, n), f"item {n + 1} of {name}", each) for n, each in enumerate(value)]

    def _text(self, at: Place, name: str, value: object, longest: int, advice: str) -> str:
        if not isinstance(value, str):
            self._notes.add(at, f"{name} is {found(value)}", "expected text in quotes")
            return ""
        if unsafe := _unsafe(value):
            self._notes.add(at, f"{name} holds the control character {unsafe}", "delete it")
        text = one_line(value)
        if not text:
            self._notes.add(at, f"{name} is empty", advice)
        elif len(text) > longest:
            self._notes.add(at, f"{name} has {len(text)} characters", f"at most {longest}")
        return text

    def _id(self, at: Place, name: str, value: object) -> str:
        if not isinstance(value, str):
            self._notes.add(at, f"{name} is {found(value)}", f"expected an id in quotes: {_ID_WORDS}")
        elif not _ID.fullmatch(value):
            self._notes.add(at, f"{name} is {found(value)}", f"expected an id: {_ID_WORDS}")
        elif len(value) > ID_LENGTH:
            self._notes.add(at, f"{name} has {len(value)} characters", f"at most {ID_LENGTH}")
        else:
            return value
        return ""


_OF_KIND = " of kind "


def _header(name: str) -> str:
    """Return the name of a table without the kind that it is of."""
    return name.partition(_OF_KIND)[0]


def _bounds(lowest: float, highest: float) -> str:
    return f"expected a number from {lowest:.15g} to {highest:.15g}"


_ID_WORDS = "lower-case letters, digits and hyphens, beginning with a letter"


def _sound(value: object, longest: int) -> str:
    """Return a text of which nothing is to be noted, on one line; empty when there may be something."""
    # Almost all texts are sound, and a large protocol has thousands: what messages need is not made for them.
    if isinstance(value, str) and value.isprintable() and len(value) <= longest:
        return one_line(value)
    return ""


def _unsafe(text: str) -> str:
    """Name the first character that must not reach a terminal."""
    for before, after in zip(text, clean(text), strict=True):
        if before != after:
            return f"U+{ord(before):04X}"
    return ""
