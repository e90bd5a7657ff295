"""Height and weight, in the units that they are measured in. Pure."""

import re
from collections.abc import Callable, Mapping

from checklist.measures.limits import unusual
from checklist.measures.reading import Meaning, Options, ReadingError
from checklist.measures.typed import NUMBER, match, plain_text, rounded, short, within

KG_PER_LB = 0.45359237
CM_PER_INCH = 2.54
LB_PER_STONE = 14

_HEIGHT_FORM = "type cm, such as 172; 1.72 m; or 5 ft 8 in"
_FEET = r"(\d) ?(?:ft|feet|foot|')(?: ?(\d{1,2}(?:\.\d{1,2})?) ?(?:in|inch|inches|\"|'')?)?"
_HEIGHT_WORDS = ("cm", "m", "in", "inch", "inches", "ft", "feet", "foot")
_BARE_CM = (100.0, 280.0)
_BARE_M = (0.5, 2.8)


def body_height(text: str, options: Options) -> Meaning:
    """Read a height; a bare number only where it can be nothing but centimetres or metres."""
    plain = plain_text(text)
    if form := re.fullmatch(_FEET, plain, re.ASCII):
        feet, inches = int(form[1]), rounded(float(form[2] or 0), 2)
        if inches >= 12:
            raise ReadingError("inches beside feet are below 12")
        whole = f"{feet} feet {short(inches)} inches"
        return _height(f"{feet} ft {short(inches)} in", (12 * feet + inches) * CM_PER_INCH, whole, options)
    form = match(rf"{NUMBER} ?(cm|m|inches|inch|in|\")?", plain, _HEIGHT_FORM, _HEIGHT_WORDS)
    unit = _length_unit(form[2], float(form[1]))
    value = rounded(float(form[1]), 3 if unit == "m" else 2)
    number = _metres(value) if unit == "m" else short(value)
    return _height(
        f"{number} {unit}", value * _CM_PER[unit], f"{number} {_LENGTHS[unit]}", options, unit == "in"
    )


_CM_PER = {"cm": 1.0, "m": 100.0, "in": CM_PER_INCH}
_LENGTHS = {"cm": "centimetres", "m": "metres", "in": "inches"}


def _length_unit(typed: str | None, value: float) -> str:
    if typed:
        return typed if typed in _CM_PER else "in"
    if _BARE_CM[0] <= value <= _BARE_CM[1]:
        return "cm"
    if _BARE_M[0] <= value <= _BARE_M[1]:
        return "m"
    raise ReadingError(_HEIGHT_FORM)


def _metres(value: float) -> str:
    """Return metres with two decimals, or with a third where there is one."""
    return f"{value:.3f}".removesuffix("0")


def _height(text: str, cm: float, whole: str, options: Options, is_inches: bool = False) -> Meaning:
    within(cm, 20, 280, "a height in cm")
    is_metric = "ft" not in text and not is_inches
    tenths = round(cm / CM_PER_INCH * 10)
    imperial = f"{tenths // 120} ft {short(tenths % 120 / 10)} in"
    other = imperial if is_metric else f"{short(rounded(cm, 1))} cm"
    return Meaning(
        text=text,
        words=f"{whole} ({other})",
        chart=text if is_metric else f"{text} ({other})",
        doubt=unusual(cm, options, f"a height of {short(rounded(cm, 1))} cm"),
        figures={"height_m": cm / 100},
    )


_WEIGHT_FORM = "type the unit as well, such as 70 kg; 154 lb; or 11 st 4 lb"
_WEIGHT_WORDS = ("kg", "kilograms", "lb", "lbs", "pounds", "st", "stone")
_STONES = rf"(\d{{1,3}}) ?(?:st|stone)(?: ?{NUMBER} ?(?:lb|lbs|pounds)?)?"


def body_weight(text: str, options: Options) -> Meaning:
    """Read a weight with its unit: a bare number may be kilograms as well as pounds."""
    plain = plain_text(text)
    if form := re.fullmatch(_STONES, plain, re.ASCII):
        stones, pounds = int(form[1]), rounded(float(form[2] or 0), 2)
        if pounds >= LB_PER_STONE:
            raise ReadingError("pounds beside stones are below 14")
        whole = f"{stones} stone {short(pounds)} pound{'s' * (pounds != 1)}"
        kg = (stones * LB_PER_STONE + pounds) * KG_PER_LB
        return _weight(f"{stones} st {short(pounds)} lb", kg, whole, options)
    form = match(rf"{NUMBER} ?(kg|lbs|lb|pounds|kilograms)", plain, _WEIGHT_FORM, _WEIGHT_WORDS)
    value, is_metric = rounded(float(form[1]), 2), form[2].startswith("k")
    number = short(value)
    if is_metric:
        return _weight(f"{number} kg", value, f"{number} kilograms", options)
    return _weight(f"{number} lb", value * KG_PER_LB, f"{number} pounds", options)


def _weight(text: str, kg: float, whole: str, options: Options) -> Meaning:
    within(kg, 0.2, 650, "a weight in kg")
    is_metric = text.endswith("kg")
    metric = f"{short(rounded(kg, 1))} kg"
    other = f"{short(rounded(kg / KG_PER_LB, 1))} lb" if is_metric else metric
    return Meaning(
        text=text,
        words=f"{whole} ({other})",
        chart=text if is_metric else f"{text} ({other})",
        doubt=unusual(kg, options, f"a weight of {metric}"),
        figures={"weight_kg": kg},
    )


READERS: Mapping[str, Callable[[str, Options], Meaning]] = {
    "body-height": body_height,
    "body-weight": body_weight,
}
