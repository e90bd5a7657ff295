"""Vital signs but rates: reads what was typed, converts, compares with the limits. Pure.

One reading is no diagnosis: ranges are named as ranges, each with the source of its limits.
"""

import re
from collections.abc import Callable, Mapping
from math import inf
from typing import NamedTuple

from checklist.measures.limits import PRACTICE, banded, unusual
from checklist.measures.reading import Meaning, Options, ReadingError, Remark
from checklist.measures.scores import mean_arterial, pulse_pressure
from checklist.measures.typed import NUMBER, match, plain_text, rounded, short, within
from checklist.measures.vital_words import known_words


def to_fahrenheit(degrees_c: float) -> float:
    """Return degrees Celsius as degrees Fahrenheit."""
    return degrees_c * 1.8 + 32


def to_celsius(degrees_f: float) -> float:
    """Return degrees Fahrenheit as degrees Celsius."""
    return (degrees_f - 32) / 1.8


# ------------------------------------------------------------------ pressures

_PRESSURE_SLOTS = {
    **dict.fromkeys(("sitting", "lying", "standing"), "position"),
    **dict.fromkeys(("right", "left"), "arm"),
}
_PRESSURE_FORM = "type systolic/diastolic, such as 118/76; or 118/76 sitting right arm"


class _Range(NamedTuple):
    """A range of blood pressure, reached by either pressure."""

    id: str
    name: str
    systolic: float
    diastolic: float
    tell: str


_RANGES = {
    "acc-aha": (
        _Range("stage-2", "stage 2", 140, 90, "report"),
        _Range("stage-1", "stage 1", 130, 80, "note"),
        _Range("elevated", "elevated", 120, inf, "note"),
    ),
    "esc-2024": (
        _Range("hypertension-range", "hypertension", 140, 90, "report"),
        _Range("elevated", "elevated", 120, 70, "note"),
    ),
}


def blood_pressure(text: str, options: Options) -> Meaning:
    """Read systolic and diastolic pressure in mmHg, with position and arm if they are given."""
    form = match(r"(\d{1,3}) ?(?:/|over) ?(\d{1,3})( .*|mmhg.*)?", plain_text(text), _PRESSURE_FORM)
    systolic, diastolic = int(form[1]), int(form[2])
    within(systolic, 30, 300, "a systolic pressure")
    within(diastolic, 0, 200, "a diastolic pressure")
    if diastolic >= systolic:
        raise ReadingError("type the higher pressure first, such as 118/76")
    where = known_words(form[3] or "", _PRESSURE_SLOTS, _PRESSURE_FORM)
    place = [f"{word} arm" if _PRESSURE_SLOTS[word] == "arm" else word for word in where]
    remarks, classes, words = _pressure_range(systolic, diastolic, options)
    across = short(rounded(pulse_pressure(systolic, diastolic)))
    mean = short(rounded(mean_arterial(systolic, diastolic)))
    derived = f"pulse pressure {across} ({systolic} - {diastolic}), mean {mean} ({diastolic} + {across}/3)"
    return Meaning(
        text=" ".join((f"{systolic}/{diastolic}", *place)),
        words="; ".join((", ".join((f"{systolic} over {diastolic} mmHg", *place)), derived, words)),
        chart=" ".join((f"{systolic}/{diastolic} mmHg", ", ".join(place))).strip(),
        classes=(*classes, *(word for word in where if _PRESSURE_SLOTS[word] == "position")),
        remarks=remarks,
        doubt=_pressure_doubt(systolic, diastolic),
        figures={"systolic_mmhg": systolic, "diastolic_mmhg": diastolic},
    )


def _pressure_range(
    systolic: float, diastolic: float, options: Options
) -> tuple[tuple[Remark, ...], tuple[str, ...], str]:
    """Return remarks, classes and words of the highest range that either pressure reaches."""
    remarks: list[Remark] = []
    classes: list[str] = []
    low, ranges = options.number("low_systolic"), _RANGES[options.text("scheme")]
    if systolic < low:
        text = f"systolic below {short(low)} mmHg"
        remarks.append(Remark(text=text, source=options.source("low_systolic"), tell="urgent"))
        classes.append("below")
    high = _severe(systolic, diastolic, options)
    for each in ranges:
        if not high and (systolic >= each.systolic or diastolic >= each.diastolic):
            text = f"in the range called {each.name} ({_reached(each)}); one reading"
            high = (each, Remark(text=text, source=options.source("scheme"), tell=each.tell))
    if high:
        remarks.append(high[1])
        classes += ["above", high[0].id]
        return tuple(remarks), tuple(classes), f"in the range called {high[0].name}"
    return tuple(remarks), tuple(classes or ("in-range",)), f"below the range called {ranges[-1].name}"


def _severe(systolic: float, diastolic: float, options: Options) -> tuple[_Range, Remark] | None:
    limits = options.number("severe_systolic"), options.number("severe_diastolic")
    if systolic <= limits[0] and diastolic <= limits[1]:
        return None
    text = f"in the range called severe (systolic above {short(limits[0])} or diastolic above"
    source = options.source("severe_systolic")
    remark = Remark(text=f"{text} {short(limits[1])}); measure again", source=source, tell="urgent")
    return _Range("severe", "severe", *limits, "urgent"), remark


def _reached(each: _Range) -> str:
    either = f" or diastolic from {short(each.diastolic)}" if each.diastolic < inf else ""
    return f"systolic from {short(each.systolic)}{either}"


def _pressure_doubt(systolic: int, diastolic: int) -> str:
    if systolic - diastolic < 15:
        return f"a pulse pressure of {systolic - diastolic} mmHg is unusual"
    if not 60 <= systolic <= 250:
        return f"a systolic pressure of {systolic} mmHg is unusual"
    return "" if 30 <= diastolic <= 150 else f"a diastolic pressure of {diastolic} mmHg is unusual"


def systolic_pressure(text: str, options: Options) -> Meaning:
    """Read one systolic pressure in mmHg, as it is taken at an ankle or an arm."""
    form = match(r"(\d{1,3})(?: ?mm ?hg)?", plain_text(text), "type the pressure in mmHg, such as 128")
    value = int(form[1])
    within(value, 20, 350, "a systolic pressure")
    return Meaning(
        text=str(value),
        words=f"systolic pressure {value} millimetres of mercury",
        chart=f"systolic {value} mmHg",
        doubt=unusual(value, options, f"a systolic pressure of {value} mmHg"),
        figures={"systolic_mmhg": value},
    )


# ------------------------------------------------------------------ temperature

_ROUTES = {
    "oral": "by mouth",
    "ear": "by ear",
    "axilla": "in the armpit",
    "rectal": "by rectum",
    "forehead": "at the forehead",
}
_OUTSIDE = ("axilla", "forehead")
_TEMPERATURE_FORM = "type degrees, such as 37.2; 99 F; or 38.4 C ear"
_CELSIUS, _FAHRENHEIT = (25.0, 45.0), (77.0, 113.0)


def temperature(text: str, options: Options) -> Meaning:
    """Read a temperature; without a unit it is taken by the only scale that it is possible on."""
    pattern = rf"{NUMBER} ?°? ?(celsius|fahrenheit|c|f)?(?: (.*))?"
    form = match(pattern, plain_text(text), _TEMPERATURE_FORM)
    value, unit = rounded(float(form[1]), 1), (form[2] or "").upper()[:1]
    if not unit and _CELSIUS[1] < value < _FAHRENHEIT[0]:
        raise ReadingError(_TEMPERATURE_FORM)
    unit = unit or ("F" if value > _CELSIUS[1] else "C")
    within(value, *(_CELSIUS if unit == "C" else _FAHRENHEIT), f"a temperature in {_UNITS[unit]}")
    route = known_words(form[3] or "", dict.fromkeys(_ROUTES, "route"), _TEMPERATURE_FORM)
    return _temperature(value, unit, "".join(route), options)


_UNITS = {"C": "Celsius", "F": "Fahrenheit"}


def _temperature(value: float, unit: str, route: str, options: Options) -> Meaning:
    inside = rounded(to_celsius(value), 1) if unit == "F" else value
    other = f"{inside:.1f}" if unit == "F" else f"{to_fahrenheit(value):.1f}"
    swapped = "C" if unit == "F" else "F"
    by = f" {_ROUTES[route]}" if route else ""
    remarks, classes = banded(inside, options, " °C")
    if route in _OUTSIDE:
        text = "taken at the skin, which is often cooler than inside; limits are not adjusted"
        remarks = (*remarks, Remark(text=text, source=PRACTICE))
    return Meaning(
        text=f"{value:.1f} {unit} {route}".strip(),
        words=f"{value:.1f} degrees {_UNITS[unit]} ({other} degrees {_UNITS[swapped]}){by}",
        chart=f"{value:.1f} °{unit}{f' ({other} °C)' if unit == 'F' else ''}{by}",
        classes=classes,
        remarks=remarks,
        doubt=unusual(inside, options, f"a temperature of {inside:.1f} °C"),
        figures={"temperature_c": inside},
    )


# ------------------------------------------------------------------ oxygen, consciousness, pain


def oxygen_saturation(text: str, options: Options) -> Meaning:
    """Read a saturation in whole per cent: to round one would move it across the limits."""
    form = match(r"(\d{1,3}) ?%?", plain_text(text), "type whole per cent, such as 97")
    value = int(form[1])
    within(value, 30, 100, "a saturation in per cent")
    remarks, classes = banded(value, options, " %")
    return Meaning(
        text=f"{value} %",
        words=f"oxygen saturation {value} per cent",
        chart=f"{value} %",
        classes=classes,
        remarks=remarks,
        doubt=unusual(value, options, f"a saturation of {value} %"),
        figures={"saturation_percent": value},
    )


_DEVICES = {
    "nasal": "by nasal cannula",
    "mask": "by mask",
    "venturi": "by venturi mask",
    "reservoir": "by mask with reservoir",
}
_GAS_FORM = "type air; litres, such as 2 L; or per cent, such as 28 %; then nasal, mask, venturi or reservoir"
_AIR_PERCENT = 21


def breathing_gas(text: str, options: Options) -> Meaning:
    """Read what is breathed: air, or oxygen by litres a minute or by per cent, with the device if given."""
    plain = plain_text(text)
    if re.fullmatch(r"(room )?air|21 ?%", plain):
        return Meaning(
            text="air",
            words="breathing air",
            chart="on air",
            classes=("air",),
            figures={"oxygen_percent": 21},
        )
    pattern = rf"{NUMBER} ?(%|l/min|lpm|litres|liters|litre|liter|l)(?: (.*))?"
    form = match(pattern, plain, _GAS_FORM)
    rest = form[3] or ""
    # A kind of mask is named by its first word alone.
    rest = re.sub(r"\b(venturi|reservoir) mask\b", r"\1", rest)
    device = "".join(known_words(rest, dict.fromkeys(_DEVICES, "device"), _GAS_FORM))
    value = rounded(float(form[1]), 2)
    return _oxygen(value, form[2] == "%", device, options)


def _oxygen(value: float, is_percent: bool, device: str, options: Options) -> Meaning:
    if is_percent:
        within(value, _AIR_PERCENT + 1, 100, "inspired oxygen in per cent")
    else:
        within(value, 0.05, 80, "oxygen in litres a minute")
    by = f" {_DEVICES[device]}" if device else ""
    number = short(value)
    words = f"{number} per cent oxygen" if is_percent else f"{number} litres of oxygen a minute"
    doubt = "" if is_percent else unusual(value, options, f"a flow of {number} L/min")
    return Meaning(
        text=f"{number} {'%' if is_percent else 'L'} {device}".strip(),
        words=f"breathing {words}{by}",
        chart=f"on oxygen {number} {'%' if is_percent else 'L/min'}{by}",
        classes=("oxygen",),
        doubt=doubt,
        figures={"oxygen_percent" if is_percent else "oxygen_l_per_minute": value},
    )


_RESPONSES = {
    "alert": ("alert", "alert"),
    "new confusion": ("new-confusion", "newly confused"),
    "confusion": ("new-confusion", "newly confused"),
    "confused": ("new-confusion", "newly confused"),
    "voice": ("voice", "responds to voice"),
    "pain": ("pain", "responds to pain only"),
    "unresponsive": ("unresponsive", "responds neither to voice nor to pain"),
}


def consciousness(text: str, options: Options) -> Meaning:
    """Read the level of response, by its first letters."""
    plain = plain_text(text)
    found = next((value for name, value in _RESPONSES.items() if plain and name.startswith(plain)), None)
    if not found:
        raise ReadingError(
            "type alert, confusion (new), voice, pain or unresponsive; the first letter will do"
        )
    response, words = found
    if response == "alert":
        return Meaning(text="alert", words="alert", chart="alert", classes=("alert",))
    source, tell = options.source("tell_not_alert"), options.text("tell_not_alert")
    return Meaning(
        text=response.replace("-", " "),
        words=words,
        chart=words,
        classes=("not-alert", response),
        remarks=(Remark(text=f"not alert: {words}", source=source, tell=tell),),
    )


_PAIN_FORM = "type 0 to 10, such as 4; or 3 at rest, 6 on movement"
_PAIN_PART = (
    r"(\d{1,2})(?: ?/ ?10| of 10| out of 10)?(?: (at rest|rest|resting|on movement|movement|moving))?"
)


def pain_score(text: str, options: Options) -> Meaning:
    """Read a score of the patient's own from 0 to 10, at rest, on movement, or both."""
    parts = [_pain_part(part) for part in re.split(r" ?[,;] ?| and ", plain_text(text))]
    when = [condition for _, condition in parts]
    if len(parts) > 2 or len(set(when)) < len(parts) or (len(parts) == 2 and "" in when):
        raise ReadingError(_PAIN_FORM)
    parts.sort(key=lambda part: part[1] == "on movement")
    worst = max(score for score, _ in parts)
    remarks, classes = _pain_band(worst, options)
    return Meaning(
        text=", ".join(f"{score} {condition}".strip() for score, condition in parts),
        words="pain " + ", ".join(f"{score} out of 10 {condition}".strip() for score, condition in parts),
        chart="pain " + ", ".join(f"{score}/10 {condition}".strip() for score, condition in parts),
        classes=classes,
        remarks=remarks,
        figures={_PAIN_FIGURES[condition]: score for score, condition in parts} | {"pain_0_to_10": worst},
    )


_PAIN_FIGURES = {"": "pain_0_to_10", "at rest": "pain_at_rest_0_to_10", "on movement": "pain_moving_0_to_10"}


def _pain_part(text: str) -> tuple[int, str]:
    form = match(_PAIN_PART, text, _PAIN_FORM)
    score, condition = int(form[1]), form[2] or ""
    within(score, 0, 10, "a pain score")
    if condition:
        condition = "at rest" if "rest" in condition else "on movement"
    return score, condition


def _pain_band(score: int, options: Options) -> tuple[tuple[Remark, ...], tuple[str, ...]]:
    for name, tell in (("severe", "report"), ("moderate", "note")):
        limit = options.number(f"{name}_from")
        if score >= limit:
            source = options.source(f"{name}_from")
            text = f"in the range called {name} ({short(limit)} or more)"
            return (Remark(text=text, source=source, tell=tell),), (name,)
    return (), ("mild" if score else "none",)


READERS: Mapping[str, Callable[[str, Options], Meaning]] = {
    "blood-pressure": blood_pressure,
    "systolic-pressure": systolic_pressure,
    "temperature": temperature,
    "oxygen-saturation": oxygen_saturation,
    "breathing-gas": breathing_gas,
    "consciousness": consciousness,
    "pain-score": pain_score,
}
