"""Acuity near: size of print, distance of the card, the angle it comes to; the limit for near vision. Pure.

Numbers on cards are not all true to size, and J-numbers have none: those are kept as text and not compared.
"""

import re
from collections.abc import Callable, Mapping
from typing import NamedTuple

from checklist.measures.acuity_text import (
    METRES,
    NUMBER,
    UNIT,
    Length,
    Worn,
    figures,
    full,
    length,
    plain_acuity,
    worn,
)
from checklist.measures.limits import unusual
from checklist.measures.reading import Meaning, Options, Remark
from checklist.measures.typed import refused, short, within

_FORM = "type N6, 0.8 M, 20/40 or J2; then at 33 cm if that is not the card's; or none"
_AT = re.compile(rf"(.+?) ?(?:\b(?:at|@)|@) ?{NUMBER} ?{UNIT}", re.ASCII)
_BESIDE = re.compile(rf"(.+?) {NUMBER} ?(cm|inches|inch|in|\")", re.ASCII)
"""A distance without `at`: not in metres, as `N6 0.8 M` would be the size of the print twice."""
_POINTS = re.compile(rf"n ?{NUMBER}", re.ASCII)
_M_UNITS = re.compile(rf"(?:m ?{NUMBER}|{NUMBER} ?m)", re.ASCII)
_FRACTION = re.compile(rf"(?:near )?(20|6) ?/ ?{NUMBER}(?: near)?", re.ASCII)
_JAEGER = re.compile(r"j ?(\d{1,2}\+?)", re.ASCII)
_NO_PRINT = ("none", "no print")
_KNOWN = frozenset(("n", "m", "j", "near", "at", "none", "no", "print", *METRES))


class Print(NamedTuple):
    """A size of print as it was typed."""

    text: str
    words: str
    m_units: float | None
    """Its size by arithmetic; None where the notation has no size, or nothing was read."""
    named: float | None = None
    """The size that its name stands for on cards, where that differs: N6 is 0.75 M and called 0.8 M."""


_NAMED: Mapping[float, float] = {6: 0.8, 3: 0.4}
"""N6 and N3 as cards name them (near equivalence sheet, quoted second hand)."""


def m_units(points: float) -> float:
    """Return the size of N-point print: N8 is 1 M (near equivalence sheet, quoted second hand)."""
    return points / 8


def distance_equal(size: float, distance_cm: float) -> float:
    """Return what 20/ ends with for print of `size` M read from `distance_cm`: 1 M at 40 cm is 50."""
    return 20 * size * 100 / distance_cm


def near_acuity(text: str, options: Options) -> Meaning:
    """Read the smallest print read near, and how far the card was."""
    typed, before = worn(plain_acuity(text))
    found = _AT.fullmatch(typed) or _BESIDE.fullmatch(typed)
    at = _distance(found[2], found[3]) if found else None
    size = _print(found[1] if found else typed, options)
    remarks, classes = _compared(size, at, options)
    return Meaning(
        text=f"{size.text}{f' at {at.text}' if at else ''}{before.text}",
        words=_words(size, at, before, options),
        chart=f"{size.words} {_at_words(at, options)}{before.words}",
        classes=(*classes, *before.classes),
        remarks=remarks,
        doubt=unusual(at.metres * 100, options, f"a card at {at.text}") if at else "",
        figures=_figures(size, at, options),
    )


def _distance(value: str, unit: str) -> Length:
    at = length(value, unit)
    within(at.metres * 100, 5, 200, "the distance of the card in cm")
    return at


def _print(typed: str, options: Options) -> Print:
    if found := _POINTS.fullmatch(typed):
        points = float(found[1])
        within(points, 1, 200, "print in N points")
        return Print(f"N{full(points)}", f"N{full(points)} print", m_units(points), _NAMED.get(points))
    if found := _M_UNITS.fullmatch(typed):
        size = float(found[1] or found[2])
        within(size, 0.1, 25, "print in M units")
        return Print(f"{full(size)} M", f"{full(size)} M print", size)
    if found := _FRACTION.fullmatch(typed):
        return _fraction(int(found[1]), float(found[2]), options)
    if found := _JAEGER.fullmatch(typed):
        return Print(f"J{found[1]}", f"J{found[1]} print", None)
    if typed in _NO_PRINT:
        return Print("none", "no print read", None)
    raise refused(typed, _KNOWN, _FORM)


def _fraction(top: int, end: float, options: Options) -> Print:
    """Return letters named by the angle that they have at the distance of the card."""
    within(20 * end / top, 6.4, 2000, "near acuity as 20 over")
    size = options.number("card_distance_cm") / 100 * end / top
    return Print(f"{top}/{full(end)}", f"{top}/{full(end)} near letters", size)


def _at_cm(at: Length | None, options: Options) -> float:
    return at.metres * 100 if at else options.number("card_distance_cm")


def _at_words(at: Length | None, options: Options) -> str:
    return f"at {at.text}" if at else f"at {short(options.number('card_distance_cm'))} cm"


def _words(size: Print, at: Length | None, before: Worn, options: Options) -> str:
    lead = f"{size.words} {_at_words(at, options)}{before.words}"
    if size.m_units is None:
        return lead if size.text == "none" else f"{lead}; J-numbers have no standard size, kept as text"
    named = f", called {short(size.named)} M" if size.named and size.named != size.m_units else ""
    angle = figures(distance_equal(size.m_units, _at_cm(at, options)))
    unit = "" if size.text.endswith("M") else f"{figures(size.m_units)} M{named}; "
    return f"{lead}: {unit}the angle of 20/{angle} at distance"


def _figures(size: Print, at: Length | None, options: Options) -> dict[str, float]:
    sizes = {} if size.m_units is None else {"print_m_units": size.m_units}
    return {"card_cm": _at_cm(at, options)} | sizes


_ONE_DISTANCE_CM = 2.0
"""Distances within this are the same: 16 in is 40.6 cm."""


def _compared(size: Print, at: Length | None, options: Options) -> tuple[tuple[Remark, ...], tuple[str, ...]]:
    limit = options.number("limit_m")
    tell, source = options.text("tell"), options.source("limit_m")
    if size.text == "none":
        return (Remark(text="no print read", source=source, tell=tell),), ("worse-than-limit", "no-print")
    if size.m_units is None:
        return (), ("unsized",)
    cm = options.number("limit_distance_cm")
    if abs(_at_cm(at, options) - cm) > _ONE_DISTANCE_CM:
        return (Remark(text=f"not compared: the limit is for {short(cm)} cm", source=source),), (
            "other-distance",
        )
    if size.m_units > limit + 1e-6:
        text = f"print above {short(limit)} M at {short(cm)} cm"
        return (Remark(text=text, source=source, tell=tell),), ("worse-than-limit",)
    return (), ("in-range",)


READERS: Mapping[str, Callable[[str, Options], Meaning]] = {"near-acuity": near_acuity}
TOGETHER: Mapping[str, Callable[..., Meaning | None]] = {}
