"""Acuity as it is typed: fractions, decimals, logMAR, fingers, hand, light; with or without correction. Pure.

Forms only: what an acuity means on a chart is not decided here.
"""

import re
from typing import NamedTuple

from checklist.measures.chart_lines import logmar
from checklist.measures.reading import ReadingError
from checklist.measures.typed import plain_text, refused, unknown_word, within

_FORM = "type 20/25-2, 6/9, 0.8, 0.3 logmar, cf 2 ft, hm, lp or nlp; then sc, cc or ph"

# ------------------------------------------------------------------ correction

_WORN = {
    "sc": ("sc", "without correction", "uncorrected", "unaided"),
    "cc": ("cc", "with correction", "corrected", "aided"),
    "ph": ("ph", "through pinhole", "with pinhole", "pinhole"),
}
_WORN_OF = {name: key for key, names in _WORN.items() for name in names}
_WORN_WORD = re.compile(
    rf"(?<![a-z])(?:{'|'.join(sorted(_WORN_OF, key=len, reverse=True))})(?![a-z])", re.ASCII
)


class Worn(NamedTuple):
    """What was before the eye; nothing is assumed where nothing was said."""

    correction: str = ""
    """`sc` without, `cc` with; empty when it was not said."""
    is_pinhole: bool = False

    @property
    def text(self) -> str:
        return "".join(f" {word}" for word in (self.correction, "ph" if self.is_pinhole else "") if word)

    @property
    def words(self) -> str:
        """What to add to the value, with a space before it."""
        spelled = {"sc": " without correction", "cc": " with correction", "": ""}[self.correction]
        return f"{spelled} through pinhole" if self.is_pinhole else spelled

    @property
    def classes(self) -> tuple[str, ...]:
        named = {"sc": ("without-correction",), "cc": ("with-correction",), "": ()}[self.correction]
        return (*named, "pinhole") if self.is_pinhole else named


def worn(typed: str) -> tuple[str, Worn]:
    """Return a plain text without what was worn, and what was worn; raises ReadingError when it is both."""
    found = [_WORN_OF[word] for word in _WORN_WORD.findall(typed)]
    if len(set(found)) < len(found) or {"sc", "cc"} <= set(found):
        raise ReadingError("type sc or cc once: without or with correction; ph for pinhole")
    rest = " ".join(_WORN_WORD.sub(" ", typed).split()).rstrip(",; ")
    return rest, Worn("sc" if "sc" in found else "cc" if "cc" in found else "", "ph" in found)


# ------------------------------------------------------------------ numbers and lengths

NUMBER = r"((?:\d{1,4})?\.\d{1,4}|\d{1,4})"
"""A number as a group of a pattern; nothing need stand before its point."""

METRES = {"m": 1.0, "cm": 0.01, "ft": 0.3048, "in": 0.0254}
_UNITS = {"'": "ft", "feet": "ft", "foot": "ft", '"': "in", "inches": "in", "inch": "in", "metres": "m"}
_UNITS |= {"meters": "m", "metre": "m", "meter": "m"}
UNIT = r"(cm|metres|metre|meters|meter|m|ft|feet|foot|'|inches|inch|in|\")"
_SPELLED = {"m": "metre", "cm": "centimetre", "ft": "foot", "in": "inch"}


class Length(NamedTuple):
    """A distance as it was typed."""

    value: float
    unit: str

    @property
    def metres(self) -> float:
        return self.value * METRES[self.unit]

    @property
    def text(self) -> str:
        return f"{full(self.value)} {self.unit}"

    @property
    def words(self) -> str:
        spelled = _SPELLED[self.unit]
        if self.value == 1:
            return f"1 {spelled}"
        plural = {"foot": "feet", "inch": "inches"}.get(spelled, f"{spelled}s")
        return f"{full(self.value)} {plural}"


def length(value: str, unit: str) -> Length:
    return Length(float(value), _UNITS.get(unit, unit))


def full(value: float) -> str:
    """Return a number with all that was typed of it, up to four decimals."""
    return f"{value:.4f}".rstrip("0").rstrip(".")


def figures(value: float) -> str:
    """Return a number in three figures, or whole when it has more before the point."""
    if value >= 100:
        return f"{value:.0f}"
    return f"{value:.3g}"


# ------------------------------------------------------------------ the value


class Acuity(NamedTuple):
    """An acuity as it was typed, without what was worn."""

    level: str
    """`letters`, `cf`, `hm`, `lp` or `nlp`, best first."""
    text: str
    words: str
    """The value in full."""
    exact: float | None = None
    """LogMAR by arithmetic, letters missed or extra left aside; None where no letter was read."""
    distance: float | None = None
    """What a typed fraction starts with."""
    size: float | None = None
    """What it ends with."""
    missed: int = 0
    """Letters missed of the line; extra letters of the next line are negative."""
    is_logmar: bool = False
    at: Length | None = None
    """How far fingers or hand were, when it was typed."""

    @property
    def chart(self) -> str:
        """The value as it is written in a note."""
        return f"{self.words.removesuffix(_suffix_words(self.missed))}{_suffix(self.missed)}"


LEVELS = ("letters", "cf", "hm", "lp", "nlp")

_MISSED = r"(?: ?([+-]) ?(\d{1,2}))?"
_FRACTION = re.compile(rf"{NUMBER} ?/ ?{NUMBER}{_MISSED}", re.ASCII)
_DECIMAL = re.compile(rf"(?:decimal )?{NUMBER}{_MISSED}", re.ASCII)
_LOGMAR = re.compile(rf"logmar ?(-?) ?{NUMBER}|(-?) ?{NUMBER} ?logmar", re.ASCII)
_WHAT = "(cf|hm|count(?:ing|s)? fingers?|hand (?:motions?|movements?))"
_SHOWN = re.compile(rf"{_WHAT} ?(?:(?:at|@) ?)?(?:{NUMBER} ?{UNIT})?", re.ASCII)
_LIGHT = re.compile(
    r"(?:lp|pl|light perception|perception of light)(?: (with|without) proj(?:ection)?)?", re.ASCII
)
_NO_LIGHT = ("nlp", "npl", "no light perception", "no perception of light")


def acuity(typed: str) -> Acuity:
    """Return the acuity of a plain text; raises ReadingError for what is none, or is not possible."""
    if found := _FRACTION.fullmatch(typed):
        return _fraction(*found.groups())
    if found := _LOGMAR.fullmatch(typed):
        return _logmar(float((found[1] or found[3] or "") + (found[2] or found[4])))
    if found := _DECIMAL.fullmatch(typed):
        return _decimal(*found.groups())
    if found := _SHOWN.fullmatch(typed):
        return _shown(*found.groups())
    if found := _LIGHT.fullmatch(typed):
        projection = f" {found[1]} projection" if found[1] else ""
        return Acuity("lp", f"lp{projection}", f"light perception{projection}")
    if typed in _NO_LIGHT:
        return Acuity("nlp", "nlp", "no light perception")
    if found := _NO_UNIT.fullmatch(typed):
        raise ReadingError(f"{found[2]} of which unit? type cf 2 ft, or cf 60 cm")
    raise refused(typed, _KNOWN, _SHORT_FORM if unknown_word(typed, _KNOWN) else _FORM)


_NO_UNIT = re.compile(rf"{_WHAT} ?(?:at|@)? ?{NUMBER}", re.ASCII)
_SHORT_FORM = "type 20/25-2, 6/9, 0.8, cf 2 ft, hm, lp or nlp; then sc, cc or ph"
_KNOWN = frozenset(
    (
        *("cf", "hm", "lp", "pl", "nlp", "npl", "count", "counts", "counting", "finger", "fingers", "hand"),
        *("motion", "motions", "movement", "movements", "no", "light", "perception", "of", "with", "without"),
        *("proj", "projection", "at", "logmar", "decimal", *METRES, *_UNITS),
    )
)
_TWO_VALUES = re.compile(r"[0-9] ?/ ?[0-9.]+[^ /]*[ ,;].*[0-9] ?/ ?[0-9]")


def check_one(typed: str) -> None:
    """Raise ReadingError for two fractions: which of them is the acuity of the eye is not guessed."""
    if _TWO_VALUES.search(typed):
        raise ReadingError("one value a line: type the one with usual correction; pinhole as its own")


def plain_acuity(text: str) -> str:
    """Return a text in the plain form that is read here, with a hyphen for each kind of minus."""
    return plain_text(re.sub("[\u2212\u2013]", "-", text))


_NEAREST, _FARTHEST = 0.25, 40.0
_BEST, _WORST, _BEST_DECIMAL = -0.5, 3.0, 3.1
"""The acuities that are possible, logMAR."""


def _possible(exact: float) -> None:
    if not _BEST - 1e-9 <= exact <= _WORST + 1e-9:
        raise ReadingError("possible is 20/6.4 to 20/20000, decimal 3.1 to 0.001, logMAR -0.5 to 3")


def _fraction(distance: str, size: str, sign: str | None, letters: str | None) -> Acuity:
    start, end = float(distance), float(size)
    within(start, _NEAREST, _FARTHEST, "the distance before the stroke")
    _possible(logmar(start, end) if end else _WORST + 1)
    missed = _letters(sign, letters)
    value = f"{full(start)}/{full(end)}"
    return Acuity(
        "letters",
        f"{value}{_suffix(missed)}",
        f"{value}{_suffix_words(missed)}",
        logmar(start, end),
        start,
        end,
        missed,
    )


def _decimal(value: str, sign: str | None, letters: str | None) -> Acuity:
    number = float(value)
    if number > _BEST_DECIMAL:
        # A line without its fraction, as in `25`, is more likely meant than an acuity that nobody has.
        raise ReadingError(_FORM)
    _possible(logmar(number, 1) if number else _WORST + 1)
    missed = _letters(sign, letters)
    return Acuity(
        "letters",
        f"{full(number)}{_suffix(missed)}",
        f"decimal {full(number)}{_suffix_words(missed)}",
        logmar(number, 1),
        missed=missed,
    )


def _logmar(value: float) -> Acuity:
    _possible(value)
    # There is no zero below zero.
    value += 0.0
    return Acuity("letters", f"{full(value)} logmar", f"{full(value)} logMAR", value, is_logmar=True)


def _letters(sign: str | None, letters: str | None) -> int:
    if not letters:
        return 0
    count = int(letters)
    within(count, 1, 9, "a number of letters missed or extra")
    return count if sign == "-" else -count


def _suffix(missed: int) -> str:
    return f"{-missed:+d}" if missed else ""


def _suffix_words(missed: int) -> str:
    if not missed:
        return ""
    letters = f"{abs(missed)} letter{'' if abs(missed) == 1 else 's'}"
    return f" less {letters}" if missed > 0 else f" plus {letters}"


_FARTHEST_SHOWN = 6.1


def _shown(what: str, value: str | None, unit: str | None) -> Acuity:
    level = "cf" if what.startswith("c") else "hm"
    name = "counting fingers" if level == "cf" else "hand motion"
    if not value or not unit:
        return Acuity(level, level, name)
    at = length(value, unit)
    if not 0.05 <= at.metres <= _FARTHEST_SHOWN:
        raise ReadingError(f"{name} is possible from 5 cm to 6 m or 20 ft")
    return Acuity(level, f"{level} {at.text}", f"{name} at {at.words}", at=at)
