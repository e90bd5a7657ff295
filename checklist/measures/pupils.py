"""Pupils: size in each light, difference between the two, grade of a relative afferent defect. Pure.

A grade says how a pupil moved; it does not say why.
"""

from collections.abc import Callable, Iterator, Mapping
from typing import NamedTuple

from checklist.measures.eye_parts import computation
from checklist.measures.limits import unusual
from checklist.measures.reading import SIDES, Facts, Meaning, Options, ReadingError, Remark, figures
from checklist.measures.typed import NUMBER, match, plain_text, refused, short, within

# ------------------------------------------------------------------ size

_SIZE_FORM = "type the size in mm, such as 3 or 3.5"
_SMALLEST, _LARGEST = 0.5, 10.0


def pupil_size(text: str, options: Options) -> Meaning:
    """Read the diameter of a pupil in mm, to the step of the gauge."""
    form = match(rf"{NUMBER} ?(?:mms?|millimet(?:re|er)s?)?", plain_text(text), _SIZE_FORM, ("mm",))
    size, step = float(form[1]), options.number("step")
    within(size, _SMALLEST, _LARGEST, "a pupil in mm")
    if abs(size / step - round(size / step)) > 1e-6:
        raise ReadingError(f"type the size to the nearest {short(step)} mm, such as 3 or 3.5")
    remarks, classes = _range(size, "sites_are_light" if options.flag("sites_are_light") else "", options)
    return Meaning(
        text=short(size),
        words=f"pupil {short(size)} millimetres across",
        chart=f"{short(size)} mm",
        classes=classes,
        remarks=remarks,
        doubt=unusual(size, options, f"a pupil of {short(size)} mm"),
        figures={"pupil_mm": size},
    )


class _Span(NamedTuple):
    """Options that hold the lowest and the highest size, and the light that they are for."""

    low: str
    high: str
    light: str


_SPANS = {
    "": _Span("low", "high", "in room light"),
    "sites_are_light": _Span("bright_low", "dim_high", "in any light"),
    "bright": _Span("bright_low", "bright_high", "in bright light"),
    "dim": _Span("dim_low", "dim_high", "in dim light"),
}


def _range(size: float, light: str, options: Options) -> tuple[tuple[Remark, ...], tuple[str, ...]]:
    span = _SPANS[light]
    for word, option, is_out in (
        ("below", span.low, size < options.number(span.low)),
        ("above", span.high, size > options.number(span.high)),
    ):
        if is_out:
            text = f"{word} {short(options.number(option))} mm {span.light}"
            return (Remark(text=text, source=options.source(option), tell="report"),), (word,)
    return (), ("in-range",)


# ------------------------------------------------------------------ both pupils


class Pair(NamedTuple):
    """Both pupils in one light."""

    site: str
    right_mm: float
    left_mm: float

    @property
    def difference_mm(self) -> float:
        """Right less left, in mm."""
        return self.right_mm - self.left_mm

    @property
    def words(self) -> str:
        sizes = f"right {short(self.right_mm)} mm, left {short(self.left_mm)} mm"
        return f"{self.site}: {sizes}" if self.site else sizes


def pairs(facts: Facts) -> list[Pair]:
    """Return the sizes of both pupils, for each light in which both were measured."""
    sizes = figures(facts, "pupil_mm")
    sites = dict.fromkeys(site for _, site in facts)
    both = (site for site in sites if all((side, site) in sizes for side in SIDES))
    return [Pair(site, *(sizes[side, site] for side in SIDES)) for site in both]


def compared_sizes(facts: Facts, options: Options) -> Meaning | None:
    """Return the difference of the pupils in each light, and in which light it is larger."""
    found = pairs(facts)
    if not found:
        return None
    words = "; ".join(f"{pair.words} ({_difference(pair)})" for pair in found)
    trend, classes = _trend(found, options)
    limit = options.number("anisocoria_limit")
    wide = [pair for pair in found if abs(pair.difference_mm) > limit]
    return computation(
        "; ".join(filter(None, (words, trend))),
        "; ".join(filter(None, (words, trend))),
        (*_larger(found), *(["anisocoria"] if wide else []), *classes),
        (*_out_of_range(found, options), *_unequal(wide, options), *_trend_remark(classes)),
        {"largest_difference_mm": max(abs(pair.difference_mm) for pair in found)},
    )


def _difference(pair: Pair) -> str:
    if not pair.difference_mm:
        return "equal"
    return f"{'right' if pair.difference_mm > 0 else 'left'} larger by {short(abs(pair.difference_mm))} mm"


def _larger(found: list[Pair]) -> Iterator[str]:
    if not any(pair.difference_mm for pair in found):
        yield "equal"
    if any(pair.difference_mm > 0 for pair in found):
        yield "right-larger"
    if any(pair.difference_mm < 0 for pair in found):
        yield "left-larger"


def _unequal(wide: list[Pair], options: Options) -> Iterator[Remark]:
    if wide:
        text = f"differ by more than {short(options.number('anisocoria_limit'))} mm"
        yield Remark(text=text, source=options.source("anisocoria_limit"), tell="report")


def _out_of_range(found: list[Pair], options: Options) -> Iterator[Remark]:
    """Yield what is out of range for the light that its site names."""
    for pair in found:
        light = _light(pair.site, options)
        for side, size in zip(SIDES, (pair.right_mm, pair.left_mm), strict=True):
            for remark in _range(size, light, options)[0] if light else ():
                yield Remark(text=f"{side} {remark.text}", source=remark.source, tell=remark.tell)


def _light(site: str, options: Options) -> str:
    """Return which light a site means: `bright`, `dim` or, for any other, nothing."""
    named = (light for light in ("bright", "dim") if site in options.texts(f"{light}_sites"))
    return next(named, "")


def _trend(found: list[Pair], options: Options) -> tuple[str, tuple[str, ...]]:
    """Return in which light the difference is larger, where one pupil is the larger in both."""
    by_light = {_light(pair.site, options): pair.difference_mm for pair in found}
    if "bright" not in by_light or "dim" not in by_light:
        return "", ()
    bright, dim = by_light["bright"], by_light["dim"]
    if bright * dim < 0:
        return "the larger pupil is not the same in both lights: measure again", ()
    if abs(bright) == abs(dim):
        return f"difference the same in bright and dim light ({short(abs(dim))} mm)", ()
    is_dark = abs(dim) > abs(bright)
    text = f"difference larger in {'dim' if is_dark else 'bright'} light"
    amounts = f"({short(abs(bright))} mm bright, {short(abs(dim))} mm dim)"
    return f"{text} {amounts}", ("larger-in-dark" if is_dark else "larger-in-light",)


_LIGHTS = "University of Calgary scheme of unequal pupils"
_TRENDS = {
    "larger-in-dark": "consider the smaller pupil, which widens less (sympathetic); look for a lid droop",
    "larger-in-light": "consider the larger pupil, which narrows less (third nerve, iris, drops)",
}


def _trend_remark(classes: tuple[str, ...]) -> Iterator[Remark]:
    for each in classes:
        yield Remark(text=_TRENDS[each], source=_LIGHTS, tell="note")


# ------------------------------------------------------------------ relative afferent defect


class Grade(NamedTuple):
    """A grade of a relative afferent defect: what is seen as the light swings, and the filter it equals."""

    name: str
    sign: str
    filter: str
    source: str
    log_units: float | None
    """Density of the filter before the other eye that balances the two; None where that is no one number."""
    classes: tuple[str, ...]


_SEEN, _AT_ONCE, _NEVER = ("present",), ("present", "immediate"), ("present", "immediate", "no-constriction")
_BELL = "Bell 1993"
_PLUS = "signs: common practice, no source; filters: Yotharak and Aui-Aree 2012"
GRADES = {
    "0": Grade("none", "no relative afferent defect seen", "", _BELL, 0, ("none",)),
    "I": Grade("grade I of V", "weak constriction, then widens more", "0.4", _BELL, 0.4, _SEEN),
    "II": Grade("grade II of V", "stalls, then widens more", "0.7", _BELL, 0.7, _SEEN),
    "III": Grade("grade III of V", "widens at once", "1.1", _BELL, 1.1, _AT_ONCE),
    "IV": Grade(
        "grade IV of V", "widens at once after 6 s of light in the other eye", "2.0", _BELL, 2.0, _AT_ONCE
    ),
    "V": Grade("grade V of V", "widens at once and never constricts", "infinite", _BELL, None, _NEVER),
    "1+": Grade("1+ of 4+", "weak constriction, then widens", "up to 0.6", _PLUS, None, _SEEN),
    "2+": Grade("2+ of 4+", "no change, then widens", "0.6 to 0.9", _PLUS, None, _SEEN),
    "3+": Grade("3+ of 4+", "widens at once", "1.2 to 1.5", _PLUS, None, _AT_ONCE),
    "4+": Grade("4+ of 4+", "widens at once and never constricts", "1.8 or more", _PLUS, None, _NEVER),
}
_NONE = ("0", "none", "no")
_GRADE_WORDS = ("grade", *_NONE, "i", "ii", "iii", "iv", "v")
_ACCEPTED = {
    "either": "type 0, I to V (Bell), or 1+ to 4+",
    "bell": "type 0, or I to V (Bell)",
    "plus": "type 0, or 1+ to 4+",
}


def afferent_defect(text: str, options: Options) -> Meaning:
    """Read the grade of a relative afferent defect, on the scale that its form shows."""
    scale = options.text("scale")
    key = _grade_key(plain_text(text).removeprefix("grade ").replace(" ", ""), scale)
    if key not in GRADES or (scale == "bell" and "+" in key) or (scale == "plus" and key[0] in "IV"):
        raise refused(plain_text(text), _GRADE_WORDS, _ACCEPTED[scale])
    grade = GRADES[key]
    equal = f"; filter of {grade.filter} log units" if grade.filter else ""
    lead = grade.sign if key == "0" else f"relative afferent defect, {grade.name}: {grade.sign}"
    return Meaning(
        text=key,
        words=f"{lead}{equal}",
        chart=grade.sign if key == "0" else f"relative afferent defect {grade.name} ({grade.sign})",
        classes=grade.classes,
        remarks=()
        if key == "0"
        else (Remark(text=f"{grade.name}: {grade.sign}{equal}", source=grade.source, tell="report"),),
        figures={} if grade.log_units is None else {"filter_log_units": grade.log_units},
    )


def _grade_key(typed: str, scale: str) -> str:
    """Return the grade in its canonical form; a plain digit says its scale only where there is but one."""
    if typed in _NONE:
        return "0"
    if typed in ("1", "2", "3", "4", "5") and scale != "either":
        return f"{typed}+" if scale == "plus" else ("I", "II", "III", "IV", "V")[int(typed) - 1]
    return typed.upper()


READERS: Mapping[str, Callable[[str, Options], Meaning]] = {
    "pupil-size": pupil_size,
    "afferent-defect": afferent_defect,
}
TOGETHER: Mapping[str, Callable[[Facts, Options], Meaning | None]] = {"pupil-size": compared_sizes}
