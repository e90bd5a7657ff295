"""Muscle power, tendon reflexes and the Glasgow coma scale, each with its scale named. Pure."""

from collections.abc import Callable, Mapping
from typing import NamedTuple

from checklist.measures.limits import remark, source_of_both
from checklist.measures.reading import Meaning, Options, ReadingError, Remark
from checklist.measures.typed import match, plain, short, within

_POWER_FORM = "type 0 to 5, 4- or 4+, such as 4+ or 5/5"
_POWER_WORDS = (
    "no contraction",
    "flicker of contraction",
    "moves with gravity eliminated",
    "moves against gravity",
    "moves against gravity and resistance",
    "full power",
)
_SHADES = {"": "", "-": ", slight resistance", "+": ", strong resistance"}


def muscle_power(text: str, options: Options) -> Meaning:
    """Read a grade of 0 to 5 on the Medical Research Council scale; 4 alone has 4- and 4+.

    The sub-grades are common practice. Raises ReadingError for anything else.
    """
    form = match(
        r"(?:grade |mrc |power )?([0-9])([+-]?)(?: ?(?:/|of) ?5)?",
        plain(text),
        _POWER_FORM,
        ("grade", "mrc", "power", "of"),
    )
    grade, shade = int(form[1]), form[2]
    within(grade, 0, 5, "a grade of power")
    if shade and grade != 4:
        raise ReadingError("only grade 4 is parted, into 4-, 4 and 4+")
    full = options.number("full_grade")
    is_reduced = grade < full
    below = Remark(
        text=f"power below {short(full)} of 5 (MRC)",
        source=source_of_both(options, "full_grade", "tell_reduced"),
        tell=options.text("tell_reduced"),
    )
    return Meaning(
        text=f"{grade}{shade}",
        words=f"power {grade}{shade} of 5 (MRC scale): {_POWER_WORDS[grade]}{_SHADES[shade]}",
        chart=f"{grade}{shade}/5 on the MRC scale",
        classes=(f"grade-{grade}", *(("reduced",) * is_reduced)),
        remarks=(below,) * is_reduced,
        figures={"power_grade": grade},
    )


class _Step(NamedTuple):
    """What a grade of reflex means on its scale."""

    words: str
    classes: tuple[str, ...]


_REFLEX_FORM = "type 0, 1+, 2+, 3+ or 4+; 4+ clonus"
_REFLEXES: Mapping[str, tuple[_Step, ...]] = {
    "usual": (
        _Step("absent", ("absent",)),
        _Step("diminished", ("reduced",)),
        _Step("middle of the scale", ("middle",)),
        _Step("brisk, not by itself out of the usual range", ("brisk",)),
        _Step("very brisk, with clonus", ("brisk", "clonus")),
    ),
    "ninds": (
        _Step("absent", ("absent",)),
        _Step("slight, or only with reinforcement", ("reduced",)),
        _Step("in the lower half of the usual range", ("middle",)),
        _Step("in the upper half of the usual range", ("middle",)),
        _Step("enhanced, above the usual range", ("brisk",)),
    ),
}
_SCALE_NAMES = {"usual": "usual 0-4+ scale", "ninds": "NINDS 0-4+ scale"}


def tendon_reflex(text: str, options: Options) -> Meaning:
    """Read a grade of 0 to 4+ on the scale that the option `scale` names.

    On the usual scale 4+ has clonus by its definition; on the NINDS scale it is noted when it is there.
    Raises ReadingError for anything else.
    """
    form = match(
        r"(?:grade )?\+?([0-9]) ?\+?(?: ?/ ?4\+?)?( (?:with )?clonus)?",
        plain(text),
        _REFLEX_FORM,
        ("grade", "with", "clonus"),
    )
    grade, scale = int(form[1]), options.text("scale")
    within(grade, 0, 4, "a grade of reflex")
    if form[2] and grade < 4:
        raise ReadingError("a reflex with clonus is graded 4+")
    name, step = f"{grade}+" if grade else "0", _REFLEXES[scale][grade]
    if form[2] and "clonus" not in step.classes:
        step, clonus = _Step(f"{step.words}, with clonus", (*step.classes, "clonus")), " clonus"
    else:
        clonus = ""
    return Meaning(
        text=f"{name}{clonus}",
        words=f"reflex {name} on the {_SCALE_NAMES[scale]}: {step.words}",
        chart=f"{name}{' with' * bool(clonus)}{clonus} on the {_SCALE_NAMES[scale]}",
        classes=step.classes,
        remarks=_reflex_remarks(step.classes, options),
        figures={"reflex_grade": grade},
    )


_REFLEX_TOLD = (
    ("clonus", "clonus", "tell_clonus"),
    ("brisk", "above the middle of the scale", "tell_brisk"),
    ("absent", "reflex absent", "tell_absent"),
)


def _reflex_remarks(classes: tuple[str, ...], options: Options) -> tuple[Remark, ...]:
    for name, said, option in _REFLEX_TOLD:
        if name in classes:
            source = source_of_both(options, "scale", option)
            return (Remark(text=said, source=source, tell=options.text(option)),)
    return ()


class _Part(NamedTuple):
    """One of the three parts of the coma scale."""

    letter: str
    name: str
    untestable: Mapping[str, str]
    """What is typed when it could not be tested, and why in words."""
    answers: tuple[str, ...]
    """In words, from 1 up."""


_NOT_TESTABLE = "not testable"
_PARTS = (
    _Part(
        "e",
        "eyes",
        {"nt": _NOT_TESTABLE, "c": f"{_NOT_TESTABLE} (closed by swelling or dressing)"},
        ("do not open", "open to pressure", "open to sound", "open spontaneously"),
    ),
    _Part(
        "v",
        "verbal",
        {"nt": _NOT_TESTABLE, "t": f"{_NOT_TESTABLE} (tube)"},
        ("none", "sounds", "words", "confused", "orientated"),
    ),
    _Part(
        "m",
        "motor",
        {"nt": _NOT_TESTABLE},
        ("none", "extension", "abnormal flexion", "withdraws", "localises", "obeys"),
    ),
)
_COMA_FORM = "type E4 V5 M6 or 4 5 6; nt for a part not testable"
# As they can touch each other: `ecv5`, `vtm6`.
_COMA_WORDS = {
    "gcs",
    *(
        f"{letter}{why}{after}"
        for letter in ("", *"evm")
        for why in ("", "nt", "c", "t")
        for after in ("", *"vm")
    ),
}
_COMA = (
    r"(?:gcs )?e?[ :=]?([0-9]|nt|c)[ ,/]*v?[ :=]?([0-9]|nt|t)[ ,/]*m?[ :=]?([0-9]|nt)(?: ?= ?([0-9]{1,2}))?"
)


def coma_total(eyes: int, verbal: int, motor: int) -> int:
    """Return the total of the Glasgow coma scale, 3 to 15. Teasdale et al. 2014, from memory."""
    return eyes + verbal + motor


def coma_pupils_score(total: int, unreactive_pupils: int) -> int:
    """Return the coma scale total less the pupils (0 to 2) that do not react to light, 1 to 15.

    Brennan, Murray and Teasdale, J Neurosurg 2018;128:1612-1620. Raises ValueError out of range.
    """
    if not (3 <= total <= 15 and 0 <= unreactive_pupils <= 2):
        raise ValueError("a total is possible from 3 to 15, and 0 to 2 pupils")
    return total - unreactive_pupils


def coma_scale(text: str, options: Options) -> Meaning:
    """Read eyes, verbal and motor answers; a total alone is refused, for the parts are what is reported.

    With a part that could not be tested there is no total. Raises ReadingError for anything else.
    """
    typed = plain(text)
    if typed.isascii() and typed.isdigit() and len(typed) <= 2:
        raise ReadingError(f"a total alone does not do: {_COMA_FORM}")
    form = match(_COMA, typed, _COMA_FORM, _COMA_WORDS)
    given = (form[1], form[2], form[3])
    for part, value in zip(_PARTS, given, strict=True):
        if value.isdigit():
            within(int(value), 1, len(part.answers), f"{part.name} ({part.letter.upper()})")
    scores = [int(value) for value in given if value.isdigit()]
    total = coma_total(*scores) if len(scores) == 3 else None
    if form[4] and total != int(form[4]):
        raise ReadingError("the total does not fit the parts; type the parts alone")
    return _coma_meaning(given, total, options)


def _coma_meaning(given: tuple[str, ...], total: int | None, options: Options) -> Meaning:
    parts = tuple(zip(_PARTS, given, strict=True))
    text = " ".join(f"{part.letter.upper()}{value.upper()}" for part, value in parts)
    said = ", ".join(_answer(part, value) for part, value in parts)
    # An untested part has at most its highest score, so that the total is at most this.
    most = sum(int(value) if value.isdigit() else len(part.answers) for part, value in parts)
    ending = f"total {total} of 15" if total is not None else "no total"
    name = str(total) if total is not None else "no total"
    figures = {f"{part.name}_score": int(value) for part, value in parts if value.isdigit()}
    return Meaning(
        text=text,
        words=f"{said}; {ending}",
        chart=f"{name} ({text})",
        classes=("untestable-part",) if total is None else _coma_band(total, options),
        remarks=_coma_remarks(total, most, options),
        figures=figures if total is None else {**figures, "coma_total": total},
    )


def _answer(part: _Part, value: str) -> str:
    if value.isdigit():
        return f"{part.name} {value} ({part.answers[int(value) - 1]})"
    return f"{part.name} {part.untestable[value]}"


def _coma_band(total: int, options: Options) -> tuple[str, ...]:
    """Return the classes of a total; the published mild band takes in 15, which here is `full` alone."""
    if total == 15:
        return ("full",)
    if total >= options.number("mild_from"):
        return ("below-15", "mild")
    return ("below-15", "moderate" if total >= options.number("moderate_from") else "severe")


def _coma_remarks(total: int | None, most: int, options: Options) -> tuple[Remark, ...]:
    untested = remark("no total: a part could not be tested", options, "tell_untestable", "mild_from")
    known = () if total is not None else (untested,)
    least = "" if total is not None else ", whatever the untested part"
    urgent, report = options.number("urgent_to"), options.number("report_below")
    if most <= urgent:
        text = f"total {short(urgent)} or less{least}"
        return (*known, Remark(text=text, source=options.source("urgent_to"), tell="urgent"))
    if most < report:
        text = f"total below {short(report)}{least}"
        return (*known, Remark(text=text, source=options.source("report_below"), tell="report"))
    return known


READERS: Mapping[str, Callable[[str, Options], Meaning]] = {
    "muscle-power": muscle_power,
    "tendon-reflex": tendon_reflex,
    "coma-scale": coma_scale,
}
