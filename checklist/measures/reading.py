"""What every kind of reading gives back, and how it says that it was not understood. Pure.

A kind turns the short text that a clinician types into a `Meaning`.
`Options`, which a protocol may set, tell it with which limits and scales.
Only the text is kept in a session file; all else is computed again.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

OptionValue = bool | float | str | tuple[str, ...] | tuple[float, ...]
Sided = tuple[str, str]
"""Side and site of an entry; either may be empty."""

SIDES = ("right", "left")
OTHER_SIDE_OF = dict(zip(SIDES, reversed(SIDES), strict=True))

TELLS = ("", "note", "report", "urgent")
"""How fast something out of range is told, slowest first; empty when nothing is out of range."""


class ReadingError(ValueError):
    """A text that is no such reading, or an impossible value; the text says what and what instead."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Remark:
    """What a reading means beyond its value, with the reference used."""

    text: str
    """As the note says it, such as `above 4 mm in bright light`; no diagnosis, no verdict."""
    source: str
    """Short, and honest on how sure it is: `Spector 1990, quoted second hand`."""
    tell: str = ""
    """One of `TELLS`: empty for what is only of interest, and otherwise how fast it is told."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Meaning:
    """A reading that was understood."""

    text: str
    """The canonical short form. To read it again gives an equal meaning."""
    words: str
    """In full, for the echo on the screen while it is typed."""
    chart: str
    """As a clinician writes it in the note: value, unit, condition; no side and no subject."""
    classes: tuple[str, ...] = ()
    """What patterns can ask for; each is among the `classes` that the catalogue lists for the kind."""
    remarks: tuple[Remark, ...] = ()
    doubt: str = ""
    """Why the value is unlikely, so that it is asked about once; empty for a likely one."""
    figures: Mapping[str, float] = field(default_factory=dict, hash=False)
    """Numbers that others compute with, by name with unit: `systolic_mmhg`."""

    @property
    def tell(self) -> str:
        """How fast the remark that hurries most is told; empty when nothing is out of range."""
        return max((remark.tell for remark in self.remarks), key=TELLS.index, default="")


@dataclass(frozen=True, kw_only=True, slots=True)
class Fact:
    """What was recorded for one entry that was examined."""

    is_expected: bool
    classes: frozenset[str] = frozenset()
    """Ids of its findings, and the classes of its reading."""
    meaning: Meaning | None = None


Facts = Mapping[Sided, Fact]
"""The examined entries of one step. What was not examined is not there."""


def figures(facts: Facts, name: str) -> dict[Sided, float]:
    """Return a number of the readings of a step by side and site; entries without it are not there."""
    return {
        place: fact.meaning.figures[name]
        for place, fact in facts.items()
        if fact.meaning and name in fact.meaning.figures
    }


@dataclass(frozen=True, kw_only=True, slots=True)
class Options:
    """The options of a kind: those that a protocol sets over the defaults of the catalogue."""

    values: Mapping[str, OptionValue]
    sources: Mapping[str, str]
    """Where each value comes from: the default's source, or what the protocol names for what it sets."""

    def number(self, name: str) -> float:
        value = self.values[name]
        assert isinstance(value, int | float)
        return value

    def text(self, name: str) -> str:
        value = self.values[name]
        assert isinstance(value, str)
        return value

    def flag(self, name: str) -> bool:
        return self.values[name] is True

    def texts(self, name: str) -> tuple[str, ...]:
        value = self.values[name]
        assert isinstance(value, tuple)
        return tuple(str(each) for each in value)

    def numbers(self, name: str) -> tuple[float, ...]:
        value = self.values[name]
        assert isinstance(value, tuple)
        return tuple(float(each) for each in value)

    def source(self, name: str) -> str:
        return self.sources[name]
