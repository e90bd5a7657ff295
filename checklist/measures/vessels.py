"""Murmurs, pulses, oedema, venous pressure, capillary refill and the ankle-brachial index. Pure."""

import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from math import radians, sin
from typing import NamedTuple

from checklist.measures.limits import source_of_both
from checklist.measures.reading import Facts, Meaning, Options, ReadingError, Remark, figures
from checklist.measures.typed import NUMBER, match, plain, plain_text, plus, rounded, short, within


def _told(text: str, limit: str, tell: str, options: Options) -> tuple[Remark, ...]:
    """Return the remark for what is beyond the option `limit`, told as fast as the option `tell` has it."""
    source = source_of_both(options, limit, tell)
    return (Remark(text=text, source=source, tell=options.text(tell)),)


_ROMAN = {"i": 1, "ii": 2, "iii": 3, "iv": 4, "v": 5, "vi": 6}
_MURMUR_FORM = "type 1/6 to 6/6, such as 2/6, 3 or iii; thrill or no thrill"
_MURMUR_WORDS = ("grade", "of", *_ROMAN, "thrill", "no", "with", "a")
_MURMURS = (
    "heard only with special attention",
    "faint but heard at once",
    "loud, without a thrill",
    "loud, with a thrill",
    "with a thrill, heard with only the rim of the stethoscope on the chest",
    "with a thrill, heard with the stethoscope lifted off the chest",
)


def murmur_grade(text: str, options: Options) -> Meaning:
    """Read a Levine grade of 1 to 6, and whether a thrill was felt, which is so from grade 4 on.

    Freeman and Levine 1933, quoted second hand. Raises ReadingError for anything else.
    """
    form = match(
        r"(?:grade )?([0-9]|[iv]{1,3})(?: ?(?:/|of) ?(?:6|vi))?(,? (no |with )?(?:a )?thrill)?",
        plain(text),
        _MURMUR_FORM,
        _MURMUR_WORDS,
    )
    grade = int(form[1]) if form[1].isdigit() else _ROMAN.get(form[1], 0)
    within(grade, 1, 6, "a murmur grade")
    thrill = form[3] != "no " if form[2] else None
    said = {None: "", True: " thrill", False: " no thrill"}[thrill]
    felt = {None: "", True: "; thrill felt", False: "; no thrill felt"}[thrill]
    return Meaning(
        text=f"{grade}/6{said}",
        words=f"murmur grade {grade} of 6 (Levine): {_MURMURS[grade - 1]}{felt}",
        chart=f"{grade}/6{',' * bool(said)}{said}",
        classes=(f"grade-{grade}", *(("thrill",) * (thrill is True))),
        remarks=_murmur_remarks(grade, options),
        doubt=_thrill_doubt(thrill, grade, options),
        figures={"murmur_grade": grade},
    )


def _murmur_remarks(grade: int, options: Options) -> tuple[Remark, ...]:
    least = options.number("report_from")
    if grade >= least:
        text = f"murmur grade {short(least)} of 6 or more"
        return (Remark(text=text, source=options.source("report_from"), tell="report"),)
    source = options.source("tell_murmur")
    return (Remark(text="a murmur", source=source, tell=options.text("tell_murmur")),)


def _thrill_doubt(thrill: bool | None, grade: int, options: Options) -> str:
    least = options.number("thrill_from")
    if thrill is None or thrill == (grade >= least):
        return ""
    return f"by the scale a thrill is felt from grade {short(least)} on, and not below"


_PULSE_FORM = "type 0, 1+, 2+, 3+; 4+ on the scale of 0 to 4+"
_PULSES: Mapping[str, tuple[tuple[str, str], ...]] = {
    "0-4": (
        ("absent", "absent"),
        ("weak", "weak"),
        ("in-range", "of usual strength"),
        ("strong", "strong"),
        ("bounding", "bounding"),
    ),
    "0-3": (
        ("absent", "absent"),
        ("weak", "weak"),
        ("in-range", "of usual strength"),
        ("bounding", "bounding"),
    ),
}
_PULSE_TELLS = {
    "absent": "tell_absent",
    "weak": "tell_weak",
    "strong": "tell_strong",
    "bounding": "tell_strong",
}


def pulse_strength(text: str, options: Options) -> Meaning:
    """Read a grade of 0 to 4+ or 0 to 3+, as the option `scale` has it. Raises ReadingError for others."""
    form = match(r"(?:grade )?\+?([0-9])(?: ?\+)?(?: ?/ ?([34])\+?)?", plain(text), _PULSE_FORM, ("grade",))
    grade, scale = int(form[1]), options.text("scale")
    grades, name = _PULSES[scale], f"{scale}+ scale"
    if form[2] and int(form[2]) != len(grades) - 1:
        raise ReadingError(f"pulses here are graded on the {name}")
    within(grade, 0, len(grades) - 1, f"a pulse on the {name}")
    kind, said = grades[grade]
    tell = _PULSE_TELLS.get(kind)
    return Meaning(
        text=plus(grade),
        words=f"pulse {plus(grade)} on the {name}: {said}",
        chart=f"{plus(grade)} on the {name}",
        classes=(kind,),
        remarks=_told(f"pulse {said}", "scale", tell, options) if tell else (),
        figures={"pulse_grade": grade},
    )


def _by_site(facts: Facts, figure: str) -> dict[str, tuple[int, int]]:
    """Return the grades on the right and on the left of each site that has both."""
    grades = {place: int(grade) for place, grade in figures(facts, figure).items()}
    return {
        site: (grade, grades["left", site])
        for (side, site), grade in grades.items()
        if side == "right" and ("left", site) in grades
    }


def _inputs(by_site: Mapping[str, tuple[int, int]]) -> str:
    return "; ".join(
        f"{_site_name(site)}: right {plus(right)}, left {plus(left)}".removeprefix(": ")
        for site, (right, left) in by_site.items()
    )


def _site_name(site: str) -> str:
    return site.replace("-", " ").replace("_", " ")


def pulses_together(facts: Facts, options: Options) -> Meaning | None:
    """Return on which side a pulse is weaker, site by site; None without a site felt on both sides."""
    by_site = _by_site(facts, "pulse_grade")
    if not by_site:
        return None
    sides = tuple(
        side
        for side, is_weaker in (
            ("right", any(right < left for right, left in by_site.values())),
            ("left", any(left < right for right, left in by_site.values())),
        )
        if is_weaker
    )
    said = f"weaker on the {' and at another site on the '.join(sides)}" if sides else "same on both sides"
    return Meaning(
        text="",
        words=f"{_inputs(by_site)}: {said} ({options.text('scale')}+ scale)",
        chart=f"{_inputs(by_site)} ({options.text('scale')}+ scale), {said}",
        classes=tuple(f"{side}-weaker" for side in sides) or ("same",),
        remarks=_told(f"pulse {said}", "scale", "tell_different", options) if sides else (),
    )


_OEDEMA_FORM = "type 0 to 4+, such as 2+; or the depth, such as 4 mm"


def oedema_grade(text: str, options: Options) -> Meaning:
    """Read a grade of 0 to 4+, or the depth of the pit in mm or cm, which is given the nearest grade.

    Raises ReadingError for anything else.
    """
    typed, depths = plain_text(text), sorted(options.numbers("depths_mm"))[:4]
    if form := re.fullmatch(rf"{NUMBER} ?(mm|cm)(?: deep)?", typed, re.ASCII):
        depth = rounded(float(form[1]) * (10 if form[2] == "cm" else 1), 1)
        within(depth, 0, 40, "a pit", "mm")
        grade = pit_grade(depth, depths)
        said = f"pit of {short(depth)} mm, grade {plus(grade)} by the nearest of {_listed(depths)}"
        doubt = "" if depth <= 15 else f"a pit of {short(depth)} mm is unusual"
        chart = f"{plus(grade)}, pit {short(depth)} mm"
        return replace(_oedema(grade, f"{short(depth)} mm", said, chart, options), doubt=doubt)
    form = match(r"(?:grade )?\+?([0-9]|none)(?: ?\+)?(?: ?/ ?4\+?)?", typed, _OEDEMA_FORM, ("grade", "none"))
    grade = 0 if form[1] == "none" else int(form[1])
    within(grade, 0, len(depths), "an oedema grade")
    said = f"grade {plus(grade)}: pit of about {short(depths[grade - 1])} mm" if grade else "grade 0: no pit"
    return _oedema(grade, plus(grade), said, f"{plus(grade)} on the 0-4+ scale", options)


def pit_grade(depth_mm: float, depths_mm: list[float]) -> int:
    """Return the grade, from 1 up, whose depth in mm is nearest, half-way the higher; 0 without a pit."""
    if depth_mm <= 0:
        return 0
    grades = range(1, len(depths_mm) + 1)
    # Depths have tenths; rounded, a depth half-way is as near to both.
    return min(grades, key=lambda grade: (round(abs(depths_mm[grade - 1] - depth_mm), 9), -grade), default=0)


def _listed(depths: list[float]) -> str:
    return f"{', '.join(short(depth) for depth in depths)} mm"


def _oedema(grade: int, text: str, said: str, chart: str, options: Options) -> Meaning:
    least = options.number("report_from")
    remarks: tuple[Remark, ...] = ()
    if grade >= least:
        source = options.source("report_from")
        remarks = (Remark(text=f"pitting oedema {short(least)}+ or more", source=source, tell="report"),)
    elif grade:
        remarks = _told("pitting oedema", "depths_mm", "tell_lower", options)
    return Meaning(
        text=text,
        words=f"oedema {said} (0-4+ scale)",
        chart=chart,
        classes=(f"grade-{grade}", *(("pitting",) * (grade > 0))),
        remarks=remarks,
        figures={"oedema_grade": grade},
    )


def oedema_together(facts: Facts, options: Options) -> Meaning | None:
    """Return on which side oedema is more, or alone; None without a site pressed on both sides.

    Where sites differ, the highest grade of each side is compared.
    """
    by_site = _by_site(facts, "oedema_grade")
    if not by_site:
        return None
    right, left = (max(grades) for grades in zip(*by_site.values(), strict=True))
    classes, said = _oedema_sides(right, left)
    differs = right != left
    return Meaning(
        text="",
        words=f"{_inputs(by_site)}: {said} (0-4+ scale)",
        chart=f"{_inputs(by_site)} (0-4+ scale), {said}",
        classes=classes,
        remarks=_told(f"pitting oedema {said}", "depths_mm", "tell_one_side", options) if differs else (),
    )


def _oedema_sides(right: int, left: int) -> tuple[tuple[str, ...], str]:
    if right == left:
        return (
            (("same",), "same highest grade on both sides") if right else (("none",), "none on either side")
        )
    side = "right" if right > left else "left"
    if min(right, left):
        return (f"{side}-more",), f"more on the {side}"
    return (f"{side}-more", f"{side}-only"), f"on the {side} side only"


_VENOUS_FORM = "type cm above the sternal angle: 3; 3 at 45; 2 below; or 4 cm along 45"
_VENOUS_WORDS = ("cm", "along", "at", "deg", "degrees", "above", "below", "the", "sternal", "angle")
_UNIT = "(?: ?cm)?"


def vein_height_cm(length_cm: float, head_up_degrees: float) -> float:
    """Return the vertical height of a length measured along the vein, with the head up by an angle."""
    return length_cm * sin(radians(head_up_degrees))


def water_to_mercury(cm_water: float) -> float:
    """Return a pressure in cm of water as mmHg; mercury is taken as 13.6 times as dense."""
    return cm_water / 1.36


def venous_pressure(text: str, options: Options) -> Meaning:
    """Read the top of the vein in cm above (or below) the sternal angle, upright or along the vein.

    Heights are rounded to 0.1 cm before they are compared. Raises ReadingError for anything else.
    """
    typed = plain_text(text).replace("−", "-")
    if form := re.fullmatch(
        rf"{NUMBER}{_UNIT} along (?:at )?([0-9]{{1,2}}) ?(?:deg|degrees|°)?", typed, re.ASCII
    ):
        length, angle = rounded(float(form[1]), 1), int(form[2])
        within(length, 0, 40, "a length along the vein", "cm")
        within(angle, 10, 90, "a head-up angle", "degrees")
        height = rounded(vein_height_cm(length, angle), 1)
        along = f"{short(length)} cm along the vein at {angle} degrees: "
        return _venous(height, f"{short(length)} cm along {angle}", along, options)
    form = match(
        rf"([-+]?){NUMBER}{_UNIT}(?: (above|below)(?: (?:the )?(?:sternal )?angle)?)?"
        r"(?: at ([0-9]{1,2}) ?(?:deg|degrees|°)?)?",
        typed,
        _VENOUS_FORM,
        _VENOUS_WORDS,
    )
    if form[1] and form[3]:
        raise ReadingError(f"a sign, or above or below, not both: {_VENOUS_FORM}")
    value = rounded(float(form[2]), 1)
    height = -value if value and (form[1] == "-" or form[3] == "below") else value
    if not form[4]:
        return _venous(height, f"{short(height)} cm", "", options)
    within(int(form[4]), 0, 90, "a head-up angle", "degrees")
    return _venous(
        height, f"{short(height)} cm at {int(form[4])}", f"head up {int(form[4])} degrees: ", options
    )


def _venous(height: float, text: str, along: str, options: Options) -> Meaning:
    within(height, -15, 30, "a height", "cm")
    limit, add = options.number("upper_limit_cm"), options.number("add_cm")
    water = rounded(height + add, 1)
    mercury = short(rounded(water_to_mercury(water), 1))
    where = f"{short(abs(height))} cm {'below' if height < 0 else 'above'} the sternal angle"
    pressure = f"about {short(water)} cm H2O ({short(add)} added by a fixed depth), {mercury} mmHg"
    kind = "above" if height > limit else "below-the-angle" if height < 0 else "in-range"
    return Meaning(
        text=text,
        words=f"{along}{where}; {pressure}",
        chart=f"{where}{f' ({text})' if along else ''}, about {short(water)} cm H2O",
        classes=(kind,),
        remarks=_told(
            f"venous pressure above {short(limit)} cm over the sternal angle",
            "upper_limit_cm",
            "tell_above",
            options,
        )
        * (kind == "above"),
        doubt="" if -5 <= height <= 15 else f"a vein {where} is unusual",
        figures={"venous_height_cm": height, "venous_pressure_cm_water": water},
    )


_REFILL_FORM = "type seconds, such as 1.4 s; or <2"


def capillary_refill(text: str, options: Options) -> Meaning:
    """Read seconds, to the hundredth; or a bound, such as `<2`, that tells on which side of the limit it is.

    A time at the limit is within it. Raises ReadingError for anything else.
    """
    form = match(
        rf"([<>]?) ?{NUMBER} ?(?:s|sec|secs|seconds?)?",
        plain_text(text),
        _REFILL_FORM,
        ("s", "sec", "secs", "second", "seconds"),
    )
    bound, seconds, limit = form[1], rounded(float(form[2]), 2), options.number("limit_s")
    within(seconds, 0, 60, "a refill", "s")
    if (bound == "<" and not 0 < seconds <= limit) or (bound == ">" and seconds < limit):
        raise ReadingError(
            f"{bound}{short(seconds)} does not tell on which side of {short(limit)} s; type seconds"
        )
    is_slow = bound == ">" or seconds > limit
    than = {"<": "less than ", ">": "more than ", "": ""}[bound]
    return Meaning(
        text=f"{bound}{short(seconds)} s",
        words=f"capillary refill in {than}{short(seconds)} seconds; limit {short(limit)} s",
        chart=f"{bound}{short(seconds)} s",
        classes=("slow",) if is_slow else ("in-range",),
        remarks=_told(f"capillary refill above {short(limit)} s", "limit_s", "tell_slow", options) * is_slow,
        doubt="" if 0 < seconds <= 10 else f"a refill of {short(seconds)} s is unusual",
        figures={} if bound else {"refill_seconds": seconds},
    )


class _Leg(NamedTuple):
    """What the index of one leg came to."""

    side: str
    words: str
    chart: str
    ratio: float
    kind: str


def ankle_brachial(ankle_mmhg: float, arm_mmhg: float) -> float:
    """Return the ratio of two systolic pressures to two decimals, halves up; the class is of this number.

    The 2016 AHA/ACC guideline on peripheral artery disease records two decimals.
    """
    return rounded(ankle_mmhg / arm_mmhg, 2)


def index_class(index: float, options: Options) -> str:
    """Return the band of an index of two decimals; in the lowest band it is `severe`, which is also below."""
    if index > options.number("noncompressible_above"):
        return "noncompressible"
    for name, kind in (("in_range_from", "in-range"), ("borderline_from", "borderline")):
        if index >= options.number(name):
            return kind
    return "severe" if index < options.number("severe_below") else "below"


def ankle_brachial_index(inputs: Mapping[str, Facts], options: Options) -> Meaning | None:
    """Return for each leg its higher ankle pressure over the higher arm pressure.

    None without a pressure at an arm and at an ankle. What was not measured is said.
    """
    arms, ankles = (figures(inputs.get(name, {}), "systolic_mmhg") for name in ("arms", "ankles"))
    arm = max(arms.values(), default=0)
    if arm <= 0 or not ankles:
        return None
    held = sorted({side for side, _ in arms if side})
    only = f", only the {held[0]} arm measured" if len(held) == 1 else ""
    sides = [side for side in ("right", "left", "") if any(each == side for each, _ in ankles)]
    legs = [
        _leg(side, {site: value for (each, site), value in ankles.items() if each == side}, arm, options)
        for side in sides
    ]
    return Meaning(
        text="",
        words=f"ankle-brachial index: {'; '.join(leg.words for leg in legs)}; arm {short(arm)} mmHg{only}",
        chart=f"ankle-brachial index {'; '.join(leg.chart for leg in legs)}{only}",
        classes=tuple(name for leg in legs for name in _index_classes(leg)),
        remarks=tuple(remark for leg in legs for remark in _index_remarks(leg, options)),
        figures={f"{leg.side}_ankle_brachial_index".lstrip("_"): leg.ratio for leg in legs},
    )


def _leg(side: str, arteries: Mapping[str, float], arm: float, options: Options) -> _Leg:
    """Return the index of a leg; with fewer than two arteries it says which was used."""
    ankle = max(arteries.values())
    ratio = ankle_brachial(ankle, arm)
    highest = " and ".join(_site_name(site) for site, value in arteries.items() if value == ankle and site)
    used = highest or "artery not named"
    if len(arteries) < 2:
        used = f"{used}, only artery measured"
    inputs = f"{short(ankle)}/{short(arm)}"
    return _Leg(
        side=side,
        words=f"{side} {inputs} = {ratio:.2f} ({used})".strip(),
        chart=f"{side} {ratio:.2f} ({inputs} mmHg, {used})".strip(),
        ratio=ratio,
        kind=index_class(ratio, options),
    )


def _index_classes(leg: _Leg) -> tuple[str, ...]:
    kinds = ("below", "severe") if leg.kind == "severe" else (leg.kind,)
    return tuple(f"{leg.side}-{kind}".lstrip("-") for kind in kinds)


_INDEX_TOLD = {
    "noncompressible": ("above", "noncompressible_above", "tell_noncompressible"),
    "borderline": ("below", "in_range_from", "tell_borderline"),
    "below": ("below", "borderline_from", "tell_below"),
    "severe": ("below", "severe_below", "tell_severe"),
}


def _index_remarks(leg: _Leg, options: Options) -> tuple[Remark, ...]:
    if leg.kind not in _INDEX_TOLD:
        return ()
    word, limit, tell = _INDEX_TOLD[leg.kind]
    text = f"{leg.side} index {word} {options.number(limit):.2f}".strip()
    if leg.kind == "noncompressible":
        text = f"{text}: the arteries may not compress; a toe index is the usual next measure"
    return _told(text, limit, tell, options)


READERS: Mapping[str, Callable[[str, Options], Meaning]] = {
    "murmur-grade": murmur_grade,
    "pulse-strength": pulse_strength,
    "oedema-grade": oedema_grade,
    "venous-pressure": venous_pressure,
    "capillary-refill": capillary_refill,
}
TOGETHER: Mapping[str, Callable[[Facts, Options], Meaning | None]] = {
    "pulse-strength": pulses_together,
    "oedema-grade": oedema_together,
}
COMPUTATIONS: Mapping[str, Callable[[Mapping[str, Facts], Options], Meaning | None]] = {
    "ankle-brachial-index": ankle_brachial_index,
}
