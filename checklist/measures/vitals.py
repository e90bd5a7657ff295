"""Vital signs but rates: reads what was typed, converts, compares with the limits. Pure.

One reading is no diagnosis: ranges are named as ranges, each with the source of its limits.
"""

import re
from collections.abc import Callable, Mapping
from math import inf
from typing import NamedTuple

from checklist.measures.limits import banded, unusual
from checklist.measures.reading import Meaning, Options, ReadingError, Remark
from checklist.measures.scores import mean_arterial, pulse_pressure
from checklist.measures.spec import PRACTICE
from checklist.measures.typed import NUMBER, match, plain_text, refused, rounded, short, within
from checklist.measures.vital_words import SYNONYMS, known_words


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


_PRESSURE_WORDS = frozenset((*_PRESSURE_SLOTS, *SYNONYMS, "over", "palp", "p"))


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
    pattern = r"(\d{1,3})(?: ?(?:/|-|over) ?| )(\d{1,3}|palp|p)( .*|mmhg.*)?"
    form = match(pattern, plain_text(text), _PRESSURE_FORM, _PRESSURE_WORDS)
    systolic = int(form[1])
    within(systolic, 30, 300, "a systolic pressure")
    where = known_words(form[3] or "", _PRESSURE_SLOTS, _PRESSURE_FORM)
    if form[2].startswith("p"):
        return _palpated(systolic, where, options)
    diastolic = int(form[2])
    within(diastolic, 0, 200, "a diastolic pressure")
    if diastolic >= systolic:
        raise ReadingError("type the higher pressure first, such as 118/76")
    place = _places(where)
    remarks, classes, words = _pressure_range(systolic, diastolic, options)
    words = words or f"; below the range called {_RANGES[options.text('scheme')][-1].name}"
    across = short(rounded(pulse_pressure(systolic, diastolic)))
    mean = short(rounded(mean_arterial(systolic, diastolic)))
    derived = f"pulse pressure {across} ({systolic} - {diastolic}), mean {mean} ({diastolic} + {across}/3)"
    return Meaning(
        text=" ".join((f"{systolic}/{diastolic}", *place)),
        words="; ".join((", ".join((f"{systolic} over {diastolic} mmHg", *place)), f"{derived}{words}")),
        chart=" ".join((f"{systolic}/{diastolic} mmHg", ", ".join(place))).strip(),
        classes=(*(classes or ("in-range",)), *_positions(where)),
        remarks=remarks,
        doubt=_pressure_doubt(systolic, diastolic),
        figures={"systolic_mmhg": systolic, "diastolic_mmhg": diastolic},
    )


def _places(where: list[str]) -> list[str]:
    return [f"{word} arm" if _PRESSURE_SLOTS[word] == "arm" else word for word in where]


def _positions(where: list[str]) -> list[str]:
    return [word for word in where if _PRESSURE_SLOTS[word] == "position"]


def _palpated(systolic: int, where: list[str], options: Options) -> Meaning:
    """Return a systolic pressure that was felt: nothing is derived from it, and no range is ruled out."""
    place = _places(where)
    remarks, classes, words = _pressure_range(systolic, None, options)
    said = ", ".join((f"systolic {systolic} mmHg by palpation", *place))
    return Meaning(
        text=" ".join((f"{systolic}/palp", *place)),
        words=f"{said}; diastolic not measured, no mean{words}",
        chart=said,
        classes=(*classes, *_positions(where)),
        remarks=remarks,
        doubt=_systolic_doubt(systolic),
        figures={"systolic_mmhg": systolic},
    )


def _pressure_range(
    systolic: float, diastolic: float | None, options: Options
) -> tuple[tuple[Remark, ...], tuple[str, ...], str]:
    """Return remarks, classes and words of the highest range that is reached; all empty for none."""
    remarks: list[Remark] = []
    classes: list[str] = []
    low, ranges = options.number("low_systolic"), _RANGES[options.text("scheme")]
    if systolic < low:
        text = f"systolic below {short(low)} mmHg"
        remarks.append(Remark(text=text, source=options.source("low_systolic"), tell="urgent"))
        classes.append("below")
    high = _severe(systolic, diastolic, options)
    for each in ranges:
        if not high and (systolic >= each.systolic or (diastolic or 0) >= each.diastolic):
            text = f"in the range called {each.name} ({_reached(each, diastolic)}); one reading"
            high = (each, Remark(text=text, source=options.source("scheme"), tell=each.tell))
    if high:
        remarks.append(high[1])
        classes += ["above", high[0].id]
        return tuple(remarks), tuple(classes), f"; in the range called {high[0].name}"
    return tuple(remarks), tuple(classes), ""


def _severe(systolic: float, diastolic: float | None, options: Options) -> tuple[_Range, Remark] | None:
    limits = options.number("severe_systolic"), options.number("severe_diastolic")
    if systolic <= limits[0] and (diastolic or 0) <= limits[1]:
        return None
    either = "" if diastolic is None else f" or diastolic above {short(limits[1])}"
    text = f"in the range called severe (systolic above {short(limits[0])}{either}); measure again"
    source = options.source("severe_systolic" if systolic > limits[0] else "severe_diastolic")
    return _Range("severe", "severe", *limits, "urgent"), Remark(text=text, source=source, tell="urgent")


def _reached(each: _Range, diastolic: float | None) -> str:
    is_either = diastolic is not None and each.diastolic < inf
    either = f" or diastolic from {short(each.diastolic)}" if is_either else ""
    return f"systolic from {short(each.systolic)}{either}"


def _pressure_doubt(systolic: int, diastolic: int) -> str:
    if systolic - diastolic < 15:
        return f"a pulse pressure of {systolic - diastolic} mmHg is unusual"
    if doubt := _systolic_doubt(systolic):
        return doubt
    return "" if 30 <= diastolic <= 150 else f"a diastolic pressure of {diastolic} mmHg is unusual"


def _systolic_doubt(systolic: int) -> str:
    return "" if 60 <= systolic <= 250 else f"a systolic pressure of {systolic} mmHg is unusual"


def systolic_pressure(text: str, options: Options) -> Meaning:
    """Read one systolic pressure in mmHg, as it is taken at an ankle or an arm."""
    accepted = "type the pressure in mmHg, such as 128"
    form = match(r"(\d{1,3})(?: ?mm ?hg)?", plain_text(text), accepted, ("mmhg", "mm", "hg"))
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
    pattern = rf"{NUMBER} ?°? ?(celsius|fahrenheit|c|f)?(?:[ ,;]+(.*))?"
    form = match(pattern, plain_text(text), _TEMPERATURE_FORM, _TEMPERATURE_WORDS)
    value, unit = rounded(float(form[1]), 1), (form[2] or "").upper()[:1]
    _check_point(form[1], unit)
    if not unit and _CELSIUS[1] < value < _FAHRENHEIT[0]:
        raise ReadingError(_TEMPERATURE_FORM)
    unit = unit or ("F" if value > _CELSIUS[1] else "C")
    within(value, *(_CELSIUS if unit == "C" else _FAHRENHEIT), f"a temperature in {_UNITS[unit]}")
    route = known_words(form[3] or "", dict.fromkeys(_ROUTES, "route"), _TEMPERATURE_FORM)
    return _temperature(value, unit, "".join(route), options)


_UNITS = {"C": "Celsius", "F": "Fahrenheit"}
_TEMPERATURE_WORDS = frozenset(("celsius", "fahrenheit", "c", "f", *_ROUTES))


def _check_point(typed: str, unit: str) -> None:
    """Raise ReadingError for a number that is a temperature once it has its decimal point, such as 372."""
    tenth, ranges = float(typed) / 10, {"C": _CELSIUS, "F": _FAHRENHEIT}
    scales = [ranges[unit]] if unit else list(ranges.values())
    if "." not in typed and tenth > 20 and any(low <= tenth <= high for low, high in scales):
        raise ReadingError(f"decimal point missing: {tenth:.1f} meant? {_TEMPERATURE_FORM}")


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
    """Read a saturation in whole per cent: to round one would move it across the limits.

    Air may stand beside it; that is kept as typed, and not used, as the gas is a reading of its own.
    """
    plain = plain_text(text)
    accepted = f"{_SATURATION_FORM}{'; air or oxygen is recorded apart' * bool(re.search('[a-z]', plain))}"
    known = ("on", "room", "air", "ra", "oxygen", "l")
    form = match(r"(\d{1,3}) ?%?(?: ?(?:on )?(room air|air|ra))?", plain, accepted, known)
    value, on_air = int(form[1]), " on air" if form[2] else ""
    within(value, 30, 100, "a saturation in per cent")
    remarks, classes = banded(value, options, " %")
    return Meaning(
        text=f"{value} %{on_air}",
        words=f"oxygen saturation {value} per cent{_APART * bool(on_air)}",
        chart=f"{value} %",
        classes=classes,
        remarks=remarks,
        doubt=unusual(value, options, f"a saturation of {value} %"),
        figures={"saturation_percent": value},
    )


_SATURATION_FORM = "type whole per cent, such as 97"
_APART = "; air is recorded apart, not taken from here"
_LITRES = ("litres", "liters", "litre", "liter")
_DEVICES = {
    "nasal": "by nasal cannula",
    "mask": "by mask",
    "venturi": "by venturi mask",
    "reservoir": "by mask with reservoir",
}
_GAS_FORM = "type air; 2 L; or 28 %; then nasal, mask, venturi or reservoir"
_GAS_WORDS = frozenset((*_DEVICES, *SYNONYMS, "room", "ra", "on", "l", "min", "lpm", *_LITRES))
_AIR_PERCENT = 21


def breathing_gas(text: str, options: Options) -> Meaning:
    """Read what is breathed: air, or oxygen by litres a minute or by per cent, with the device if given."""
    plain = plain_text(text).removeprefix("on ")
    if re.fullmatch(r"(room )?air|ra|21 ?%", plain):
        return Meaning(
            text="air",
            words="breathing air",
            chart="on air",
            classes=("air",),
            figures={"oxygen_percent": 21},
        )
    pattern = rf"{NUMBER} ?(%|l/min|lpm|{'|'.join(_LITRES)}|l)(?: (.*))?"
    form = match(pattern, plain, _GAS_FORM, _GAS_WORDS)
    rest = form[3] or ""
    # A kind of mask is named by its first word alone.
    rest = re.sub(r"\b(venturi|reservoir|nrb|non-rebreather) mask\b", r"\1", rest)
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


_RESPONSE_FORM = "type a alert, c new confusion, v voice, p pain or u unresponsive"


def consciousness(text: str, options: Options) -> Meaning:
    """Read the level of response, by its first letters."""
    plain = plain_text(text)
    found = next((value for name, value in _RESPONSES.items() if plain and name.startswith(plain)), None)
    if not found:
        raise refused(plain, " ".join(_RESPONSES).split(), _RESPONSE_FORM)
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


_PAIN_WORDS = frozenset(("of", "out", "at", "rest", "resting", "on", "movement", "moving", "and"))


def pain_score(text: str, options: Options) -> Meaning:
    """Read a score of the patient's own from 0 to 10, at rest, on movement, or both."""
    apart = re.sub(r"\b(rest|resting|movement|moving) (?=\d)", r"\1, ", plain_text(text))
    parts = [_pain_part(part) for part in re.split(r" ?[,;] ?| and ", apart)]
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
    form = match(_PAIN_PART, text, _PAIN_FORM, _PAIN_WORDS)
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
