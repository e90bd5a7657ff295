"""What several vital signs come to together: early-warning score, change on standing, body mass index. Pure.

Nothing is concluded from an input that is missing: then there is no score.
"""

from bisect import bisect_right
from collections.abc import Callable, Iterable, Mapping
from itertools import pairwise
from math import inf
from typing import NamedTuple

from checklist.measures.reading import Facts, Meaning, Options, Remark
from checklist.measures.spec import PRACTICE
from checklist.measures.typed import rounded

Inputs = Mapping[str, Facts]


def mean_arterial(systolic: float, diastolic: float) -> float:
    """Return the mean arterial pressure in the unit of both: a third of the way up from diastolic."""
    return diastolic + (systolic - diastolic) / 3


def pulse_pressure(systolic: float, diastolic: float) -> float:
    """Return the difference of both pressures, in their unit."""
    return systolic - diastolic


def body_mass_index(kg: float, metres: float) -> float:
    """Return kilograms per square metre."""
    return kg / metres**2


def _meanings(facts: Facts) -> list[Meaning]:
    """Return what was measured, in an order that does not depend on which side comes first."""
    return sorted((fact.meaning for fact in facts.values() if fact.meaning), key=lambda each: each.text)


# ------------------------------------------------------------------ early-warning score

Bands = tuple[tuple[float, int], ...]
"""Lowest value of each band with its points, from the top. RCP 2017, NEWS2 chart 1, read in a copy."""

RESPIRATIONS: Bands = ((25, 3), (21, 2), (12, 0), (9, 1), (-inf, 3))
SATURATION_1: Bands = ((96, 0), (94, 1), (92, 2), (-inf, 3))
SATURATION_2_ON_AIR: Bands = ((88, 0), (86, 1), (84, 2), (-inf, 3))
SATURATION_2_ON_OXYGEN: Bands = ((97, 3), (95, 2), (93, 1), *SATURATION_2_ON_AIR)
SYSTOLIC: Bands = ((220, 3), (111, 0), (101, 1), (91, 2), (-inf, 3))
PULSE: Bands = ((131, 3), (111, 2), (91, 1), (51, 0), (41, 1), (-inf, 3))
TEMPERATURE: Bands = ((39.1, 2), (38.1, 1), (36.1, 0), (35.1, 1), (-inf, 3))
OXYGEN_POINTS = 2
MOST_POINTS = 3
"""Of one parameter, at which a review is urgent whatever the sum. Oxygen alone does not reach it."""


def points(bands: Bands, value: float) -> int:
    """Return the points of `value`, which is whole, or of one decimal for a temperature."""
    return next(scored for lowest, scored in bands if value >= lowest)


class Scored(NamedTuple):
    """One parameter of the score, as it is written down, with its points."""

    name: str
    points: int


def early_warning(inputs: Inputs, options: Options) -> Meaning | None:
    """Return the NEWS2 score; None unless all seven parameters were measured.

    Of a parameter measured more than once, as the pressure at both arms, the one with most points counts.
    """
    scored = _scored(inputs, options.number("saturation_scale") == 2)
    if scored is None:
        return None
    total = sum(each.points for each in scored)
    is_single = any(each.points == MOST_POINTS for each in scored)
    given = ", ".join(f"{each.name} = {each.points}" for each in scored)
    remark, classes = _response(total, is_single, options)
    return Meaning(
        text="",
        words=f"early-warning score {total}: {given}",
        chart=f"early-warning score (NEWS2) {total}: {given}",
        classes=classes,
        remarks=(remark, *_cautions(options)),
        figures={"early_warning_score": total},
    )


def _scored(inputs: Inputs, is_scale_2: bool) -> tuple[Scored, ...] | None:
    gas = _worst(_gas(each) for each in _meanings(inputs["gas"]))
    if gas is None:
        return None
    saturation, scale = SATURATION_1, "scale 1"
    if is_scale_2:
        saturation, scale = (SATURATION_2_ON_OXYGEN if gas.points else SATURATION_2_ON_AIR), "scale 2"
    found = (
        _banded(inputs["respirations"], "respirations_per_minute", RESPIRATIONS, "respirations {:.0f}"),
        _banded(inputs["saturation"], "saturation_percent", saturation, f"saturation {{:.0f}} % on {scale}"),
        gas,
        _banded(inputs["pressure"], "systolic_mmhg", SYSTOLIC, "systolic {:.0f}"),
        _banded(inputs["pulse"], "pulse_per_minute", PULSE, "pulse {:.0f}"),
        _worst(_response_level(each) for each in _meanings(inputs["consciousness"])),
        _banded(inputs["temperature"], "temperature_c", TEMPERATURE, "temperature {:.1f}"),
    )
    complete = tuple(each for each in found if each)
    return complete if len(complete) == len(found) else None


def _worst(found: Iterable[Scored | None]) -> Scored | None:
    return max((each for each in found if each), key=lambda each: each.points, default=None)


def _banded(facts: Facts, figure: str, bands: Bands, name: str) -> Scored | None:
    values = (each.figures[figure] for each in _meanings(facts) if figure in each.figures)
    return _worst(Scored(name.format(value), points(bands, value)) for value in values)


def _gas(meaning: Meaning) -> Scored | None:
    if "air" in meaning.classes:
        return Scored("air", 0)
    return Scored("oxygen", OXYGEN_POINTS) if "oxygen" in meaning.classes else None


def _response_level(meaning: Meaning) -> Scored | None:
    if "alert" in meaning.classes:
        return Scored("alert", 0)
    return Scored(meaning.words, MOST_POINTS) if "not-alert" in meaning.classes else None


def _response(total: int, is_single: bool, options: Options) -> tuple[Remark, tuple[str, ...]]:
    """Return what the score asks for, and its classes."""
    single = ("single-three",) if is_single else ()
    urgent, emergency = options.number("urgent_from"), options.number("emergency_from")
    source = options.source("urgent_from")
    if total >= emergency:
        text = f"{emergency:.0f} or more: emergency response, continuous observation"
        remark = Remark(text=text, source=options.source("emergency_from"), tell="urgent")
        return remark, ("urgent-response", "emergency-response", *single)
    if total >= urgent:
        text = f"{urgent:.0f} or more: urgent response, observations at least hourly"
        return Remark(text=text, source=source, tell="urgent"), ("urgent-response", *single)
    if is_single:
        text = "3 in one parameter: urgent review, observations at least hourly"
        return Remark(text=text, source=source, tell="urgent"), ("low", *single)
    if total:
        text = (
            f"below {urgent:.0f}: assessment by a registered nurse, observations at least every 4 to 6 hours"
        )
        return Remark(text=text, source=source, tell="note"), ("low",)
    return Remark(text="0: observations at least every 12 hours", source=source), ("zero",)


def _cautions(options: Options) -> tuple[Remark, ...]:
    limits = Remark(text="not for under 16s or pregnancy", source="from memory: RCP 2017")
    if options.number("saturation_scale") != 2:
        return (limits,)
    text = "scale 2 only by a clinician's decision, for a saturation target of 88 to 92 %"
    return limits, Remark(text=text, source=options.source("saturation_scale"))


# ------------------------------------------------------------------ lying to standing


class _Pair(NamedTuple):
    """The same measurement, lying and standing."""

    lying: Meaning
    standing: Meaning

    def change(self, figure: str) -> float:
        return self.standing.figures[figure] - self.lying.figures[figure]

    def span(self, figure: str) -> str:
        return f"{self.lying.figures[figure]:.0f} to {self.standing.figures[figure]:.0f}"


def orthostatic_change(inputs: Inputs, options: Options) -> Meaning | None:
    """Return what pressure, and pulse if it was taken, did from lying to standing.

    Readings are compared at the same arm. Of several arms the one with the greater systolic drop counts.
    """
    found = _pairs(inputs["lying"], inputs["standing"], ("systolic_mmhg", "diastolic_mmhg"))
    pairs = [pair for pair in found if not _is_contradicted(pair)]
    if not pairs:
        return None
    pair = min(pairs, key=lambda each: (each.change("systolic_mmhg"), each.change("diastolic_mmhg")))
    pulses = _pairs(inputs.get("lying_pulse", {}), inputs.get("standing_pulse", {}), ("pulse_per_minute",))
    pulse = max(pulses, key=lambda each: each.change("pulse_per_minute"), default=None)
    words = f"{_moved(pair)}; {_pulse_moved(pulse)}"
    remarks, classes = _standing_remarks(pair, pulse, options)
    return Meaning(
        text="",
        words=words,
        chart=words,
        classes=classes,
        remarks=remarks,
        figures={
            "systolic_drop_mmhg": -pair.change("systolic_mmhg"),
            "diastolic_drop_mmhg": -pair.change("diastolic_mmhg"),
            **({"pulse_rise_per_minute": pulse.change("pulse_per_minute")} if pulse else {}),
        },
    )


def _pairs(lying: Facts, standing: Facts, figures: tuple[str, ...]) -> list[_Pair]:
    """Return the pairs at the same entry; where each has but one, that is the pair, unless sides differ."""
    before, after = (
        {key: fact.meaning for key, fact in facts.items() if fact.meaning and _has(fact.meaning, figures)}
        for facts in (lying, standing)
    )
    sides = {side for side, _ in (*before, *after) if side}
    if len(before) == len(after) == 1 and len(sides) < 2:
        return [_Pair(*before.values(), *after.values())]
    pairs = [_Pair(before[key], after[key]) for key in before if key in after]
    return sorted(pairs, key=lambda each: (each.lying.text, each.standing.text))


def _has(meaning: Meaning, figures: tuple[str, ...]) -> bool:
    return all(figure in meaning.figures for figure in figures)


def _is_contradicted(pair: _Pair) -> bool:
    """Whether what was typed says the other position than the step that it was typed at."""
    return "standing" in pair.lying.classes or "lying" in pair.standing.classes


def _moved(pair: _Pair) -> str:
    before, after = pair.lying.figures, pair.standing.figures
    lying = f"{before['systolic_mmhg']:.0f}/{before['diastolic_mmhg']:.0f}"
    standing = f"{after['systolic_mmhg']:.0f}/{after['diastolic_mmhg']:.0f}"
    systolic, diastolic = _signed(pair.change("systolic_mmhg")), _signed(pair.change("diastolic_mmhg"))
    return f"lying {lying}, standing {standing} mmHg: systolic {systolic}, diastolic {diastolic}"


def _signed(change: float) -> str:
    if not change:
        return "unchanged"
    return f"{'up' if change > 0 else 'down'} {abs(change):.0f}"


def _pulse_moved(pulse: _Pair | None) -> str:
    if not pulse:
        return "pulse not compared"
    return f"pulse {pulse.span('pulse_per_minute')}: {_signed(pulse.change('pulse_per_minute'))}"


def _standing_remarks(
    pair: _Pair, pulse: _Pair | None, options: Options
) -> tuple[tuple[Remark, ...], tuple[str, ...]]:
    remarks: list[Remark] = []
    classes: list[str] = []
    for name in ("systolic", "diastolic"):
        limit = options.number(f"{name}_drop")
        if -pair.change(f"{name}_mmhg") >= limit:
            text, source = f"{name} down {limit:.0f} mmHg or more", options.source(f"{name}_drop")
            remarks.append(Remark(text=text, source=source, tell="report"))
            classes += ["drop"] * ("drop" not in classes) + [f"drop-{name}"]
    rise = options.number("pulse_rise")
    if pulse and pulse.change("pulse_per_minute") >= rise:
        text, source = f"pulse up {rise:.0f} a minute or more", options.source("pulse_rise")
        remarks.append(Remark(text=text, source=source, tell="report"))
        classes.append("pulse-rise")
    if "sitting" in (*pair.lying.classes, *pair.standing.classes):
        text = "one reading was taken sitting; the limits are for lying to standing"
        remarks.append(Remark(text=text, source=options.source("systolic_drop")))
    if all(any(arm in each.text for each in pair) for arm in ("right arm", "left arm")):
        text = "taken at different arms, which may differ by themselves"
        remarks.append(Remark(text=text, source=PRACTICE))
    return tuple(remarks), tuple(classes or ("in-range",))


# ------------------------------------------------------------------ body mass index

BODY_MASS_LIMITS = (16.0, 17.0, 18.5, 25.0, 30.0, 35.0, 40.0)
BODY_MASS_SOURCE = "WHO 1995, 2000 and 2004, read in a copy; adults"


class _Mass(NamedTuple):
    """A range of the body mass index."""

    name: str
    classes: tuple[str, ...]
    tell: str


_MASSES = (
    _Mass("severe thinness", ("below", "severe-thinness"), "report"),
    _Mass("moderate thinness", ("below", "moderate-thinness"), "note"),
    _Mass("mild thinness", ("below", "mild-thinness"), "note"),
    _Mass("", ("in-range",), ""),
    _Mass("pre-obese", ("above", "pre-obese"), "note"),
    _Mass("obese class I", ("above", "obese-1"), "note"),
    _Mass("obese class II", ("above", "obese-2"), "note"),
    _Mass("obese class III", ("above", "obese-3"), "note"),
)


def body_mass(inputs: Inputs, options: Options) -> Meaning | None:
    """Return the body mass index and its WHO range, by the value before it is rounded."""
    height, weight = (
        [each.figures[figure] for each in _meanings(inputs[name]) if figure in each.figures]
        for name, figure in (("height", "height_m"), ("weight", "weight_kg"))
    )
    if len(height) != 1 or len(weight) != 1:
        return None
    # Closer than a millionth is the same: 42.25 kg at 1.30 m are 25, and not a hair below it.
    index = round(body_mass_index(weight[0], height[0]), 6)
    remarks, classes, name = _mass_range(index, options)
    # Cut, not rounded: 24.997 is below 25 and has to look it.
    shown = f"{int(index * 100 + 1e-6) / 100:.2f}"
    said = f"({weight[0]:.1f} kg at {height[0]:.2f} m), {name}"
    charted = shown if _is_near_limit(index, options) else f"{rounded(index, 1):.1f}"
    return Meaning(
        text="",
        words=f"body mass index {shown} {said}",
        chart=f"body mass index {charted} {said}",
        classes=classes,
        remarks=remarks,
        figures={"bmi_kg_per_m2": index},
    )


def _is_near_limit(index: float, options: Options) -> bool:
    """Whether one decimal could show the index on the other side of a limit, or at it."""
    points = options.numbers("action_points") if options.flag("asian_action_points") else ()
    return any(abs(index - limit) <= 0.05 + 1e-9 for limit in (*BODY_MASS_LIMITS, *points))


def _mass_range(index: float, options: Options) -> tuple[tuple[Remark, ...], tuple[str, ...], str]:
    found = bisect_right(BODY_MASS_LIMITS, index)
    mass, (low, high) = _MASSES[found], list(pairwise((0.0, *BODY_MASS_LIMITS, inf)))[found]
    span = f"{low:g} to below {high:g}" if low > 0 and high < inf else ""
    span = span or (f"below {high:g}" if high < inf else f"from {low:g}")
    name = f"in the range called {mass.name} ({span})" if mass.name else f"in the range {span}"
    remarks = [Remark(text=name, source=BODY_MASS_SOURCE, tell=mass.tell)] if mass.name else []
    reached = [point for point in options.numbers("action_points") if index >= point]
    if options.flag("asian_action_points") and reached:
        text = f"at or above the action point {max(reached):g} for Asian populations"
        remarks.append(Remark(text=text, source=options.source("action_points"), tell="note"))
    return tuple(remarks), mass.classes, name


COMPUTATIONS: Mapping[str, Callable[[Inputs, Options], Meaning | None]] = {
    "early-warning-score": early_warning,
    "orthostatic-change": orthostatic_change,
    "body-mass-index": body_mass,
}
