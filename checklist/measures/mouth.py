"""Mouth and jaw: tonsil grade by eye or from measured widths, and how far the jaw opens. Pure."""

import re
from collections.abc import Callable, Mapping

from checklist.measures.limits import remark, source_of_both
from checklist.measures.reading import Facts, Meaning, Options, ReadingError, Remark
from checklist.measures.typed import SHORT_NUMBER, match, plain, plus, pointed, rounded, short, within

_TONSIL_FORM = "type 0 to 4, such as 2+; removed; or gap/pillars measured, such as 8/28 mm"
_TONSIL_GRADE = r"(?:grade |size )?\+?([0-9])(?: ?\+)?(?: ?/ ?4\+?)?"
_TONSIL_WORDS = frozenset(("grade", "size", "mm", "cm", "of", "removed", "absent", "tonsillectomy"))
_WIDTHS = rf"{SHORT_NUMBER} ?(?:mm|cm)? ?(?:/|of) ?{SHORT_NUMBER} ?(mm|cm)?"


def tonsil_grade(text: str, options: Options) -> Meaning:
    """Read a grade of 0 to 4+, or the gap between the tonsils over the distance between the pillars.

    The widths are in mm, or in cm when that is said. The gap lies between both tonsils, so that the share
    they give is that of both together. Raises ReadingError for anything else.
    """
    typed = pointed(plain(text))
    if typed in ("removed", "absent", "tonsillectomy"):
        return _tonsil(0, "removed", "removed", "removed", options)
    if form := re.fullmatch(_WIDTHS, typed):
        factor = 10 if form[3] == "cm" else 1
        return _measured(rounded(factor * float(form[1]), 1), rounded(factor * float(form[2]), 1), options)
    form = match(_TONSIL_GRADE, typed, _TONSIL_FORM, _TONSIL_WORDS)
    grade = int(form[1])
    if grade > 4:
        raise ReadingError("a tonsil grade is possible from 0 to 4")
    name = plus(grade)
    return _tonsil(grade, name, f"grade {name}: {_shares(options)[grade]}", name, options)


def occlusion_percent(gap_mm: float, pillars_mm: float) -> float:
    """Return the share of the width between the pillars that the tonsils take, in percent.

    Brodsky 1989, quoted second hand.
    """
    return 100 * (pillars_mm - gap_mm) / pillars_mm


def grade_of(percent: float, two_from: float, three_from: float, four_above: float) -> int:
    """Return the grade for a share in percent: the lower limits of 2 and 3 belong to them, that of 4 to 3."""
    if percent <= 0:
        return 0
    if percent < two_from:
        return 1
    if percent < three_from:
        return 2
    return 3 if percent <= four_above else 4


def _limits(options: Options) -> tuple[float, float, float]:
    return options.number("grade_2_from"), options.number("grade_3_from"), options.number("grade_4_above")


def _shares(options: Options) -> tuple[str, ...]:
    """Return in words what each grade takes of the width."""
    two, three, four = (short(limit) for limit in _limits(options))
    return (
        "within the pillars, or removed",
        f"under {two} % of the width between the pillars",
        f"{two} to under {three} % of the width between the pillars",
        f"{three} to {four} % of the width between the pillars",
        f"over {four} % of the width between the pillars",
    )


def _measured(gap: float, pillars: float, options: Options) -> Meaning:
    within(pillars, 10, 80, "a distance between the pillars", "mm")
    if gap > pillars:
        raise ReadingError("the gap comes first and is no wider than the distance between the pillars")
    # Widths are in tenths of a mm; so rounded, a share at a limit is on it.
    percent = round(occlusion_percent(gap, pillars), 9)
    name = plus(grade := grade_of(percent, *_limits(options)))
    share = f"{short(rounded(percent, 1))} %"
    text = f"{short(gap)}/{short(pillars)} mm"
    words = (
        f"gap of {short(gap)} mm over {short(pillars)} mm between the pillars: both tonsils together take "
        f"{share}, grade {name}"
    )
    found = _tonsil(grade, text, words, f"{name}, both together {share} of the width", options)
    return Meaning(
        text=found.text,
        words=found.words,
        chart=found.chart,
        classes=(*found.classes, "both-together"),
        remarks=found.remarks,
        doubt="" if 15 <= pillars <= 50 else f"{short(pillars)} mm between the pillars is unusual",
        figures={**found.figures, "occlusion_percent": percent},
    )


def _tonsil(grade: int, text: str, words: str, chart: str, options: Options) -> Meaning:
    remarks: tuple[Remark, ...] = ()
    for limit, tell in (("report_from", "report"), ("note_from", "note")):
        if grade >= options.number(limit) and not remarks:
            least = f"{plus(int(options.number(limit)))} or more"
            source = source_of_both(options, "grade_2_from", limit)
            remarks = (Remark(text=least, source=source, tell=tell),)
    return Meaning(
        text=text,
        words=f"{words}; gagging makes it larger" if grade > 1 else words,
        chart=chart,
        classes=(f"grade-{grade}",),
        remarks=remarks,
        figures={"tonsil_grade": grade},
    )


def tonsils_together(facts: Facts, options: Options) -> Meaning | None:
    """Return whether one tonsil was graded larger; measured widths are those of both, and tell nothing."""
    grades = {
        side: int(fact.meaning.figures["tonsil_grade"])
        for (side, _), fact in facts.items()
        if side and fact.meaning and "both-together" not in fact.meaning.classes
    }
    if set(grades) != {"right", "left"}:
        return None
    right, left = grades["right"], grades["left"]
    inputs = f"right {plus(right)}, left {plus(left)}"
    if right == left:
        return Meaning(text="", words=f"{inputs}: same grade", chart=inputs, classes=("same",))
    side = "right" if right > left else "left"
    difference = abs(right - left)
    said = f"larger on the {side} by {difference} grade{'s' * (difference > 1)}"
    remarks = (remark(said, options, "tell_larger"),) * (difference >= options.number("larger_by"))
    return Meaning(
        text="",
        words=f"{inputs}: {said}",
        chart=f"{inputs}, {said}",
        classes=(f"larger-{side}",),
        remarks=remarks,
    )


_JAW_FORM = "type mm, such as 42; 4.2 cm; or 3 fingers"
_JAW_WORDS = (
    "mm",
    "cm",
    "own",
    "finger",
    "fingers",
    "fingerbreadth",
    "fingerbreadths",
    "width",
    "widths",
    "fb",
)
_FINGERS = r"([0-9](?:\.[05])?) ?(?:own )?(?:fingers?|fingerbreadths?|finger widths?|fb)"


def jaw_opening(text: str, options: Options) -> Meaning:
    """Read the distance between the edges of the front teeth, or how many own fingers fit between them.

    A bare number is mm from 10 on; below, it could be cm or fingers, and the unit is asked for.
    """
    typed = pointed(plain(text))
    if form := re.fullmatch(_FINGERS, typed):
        return _fingers(float(form[1]), options)
    form = match(rf"{SHORT_NUMBER} ?(mm|cm)?", typed, _JAW_FORM, _JAW_WORDS)
    value = float(form[1])
    if not form[2] and value < 10:
        raise ReadingError(f"{form[1]} of what? {_JAW_FORM}")
    mm = rounded(10 * value if form[2] == "cm" else value, 1)
    within(mm, 0, 100, "a jaw opening", "mm")
    least, name = options.number("least_mm"), short(mm)
    return Meaning(
        text=f"{name} mm",
        words=f"{name} millimetres ({short(mm / 10)} cm) between the edges of the front teeth",
        chart=f"opening {name} mm",
        classes=("limited",) if mm < least else ("in-range",),
        remarks=_limited(f"less than {short(least)} mm", "least_mm", options) if mm < least else (),
        doubt="" if 15 <= mm <= 70 else f"a jaw opening of {name} mm is unusual",
        figures={"jaw_opening_mm": mm},
    )


def _fingers(count: float, options: Options) -> Meaning:
    within(count, 0, 4, "a jaw opening", "fingers")
    least, name = options.number("least_fingers"), short(count)
    fingers = f"finger{'s' * (count != 1)}"
    return Meaning(
        text=f"{name} {fingers}",
        words=f"{name} of the patient's own fingers between the front teeth",
        chart=f"opening {name} own {fingers}",
        classes=("limited",) if count < least else ("in-range",),
        remarks=_limited(f"fewer than {short(least)} own fingers", "least_fingers", options)
        if count < least
        else (),
        figures={"jaw_opening_fingers": count},
    )


def _limited(text: str, limit: str, options: Options) -> tuple[Remark, ...]:
    return (remark(text, options, "tell_limited", limit),)


READERS: Mapping[str, Callable[[str, Options], Meaning]] = {
    "tonsil-grade": tonsil_grade,
    "jaw-opening": jaw_opening,
}
TOGETHER: Mapping[str, Callable[[Facts, Options], Meaning | None]] = {"tonsil-grade": tonsils_together}
