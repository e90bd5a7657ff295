"""What the catalogue says of vital signs: what can be typed, the limits with their sources, the classes."""

from itertools import product

from checklist.measures.spec import Computation, Kind, Option

_USUAL = "common practice, no source: adults at rest"
_CHART = "RCP 2017, NEWS2 chart 1"
_LIKELY = "common practice, no source: adults"
_BANDS = ("far-below", "below", "in-range", "above", "far-above")

_ABOUT = {
    "usual": "noted when {}",
    "report": "reported when {}",
    "urgent": "told at once when {}",
}


def _limits(
    unit: str,
    *,
    usual: tuple[float, ...],
    report: tuple[float, ...],
    urgent: tuple[float, ...],
    source: str | tuple[str, str],
) -> tuple[Option, ...]:
    """Return the options of a banded value: the lowest and, where there is one, the highest in each band.

    The source may be another one below than above.
    """
    sources = (source, source) if isinstance(source, str) else source
    given = {"usual": (usual, (_USUAL, _USUAL)), "report": (report, sources), "urgent": (urgent, sources)}
    return tuple(
        Option(f"{name}_{end}", value, f"{_ABOUT[name].format(word)}, {unit}", source_of_end)
        for name, (values, both) in given.items()
        for end, word, value, source_of_end in zip(
            ("low", "high"), ("below", "above"), values, both, strict=False
        )
    )


_LOW_LIMITS, _HIGH_LIMITS = (
    ("urgent_low", "report_low", "usual_low"),
    ("usual_high", "report_high", "urgent_high"),
)
_SIDES_OF_BANDS = tuple(product(_LOW_LIMITS, _HIGH_LIMITS))
_BANDS_IN_ORDER = ((*_LOW_LIMITS, *_HIGH_LIMITS),)


def _likely(unit: str, low: float, high: float) -> tuple[Option, ...]:
    return (
        Option("likely_low", low, f"asked about when below, {unit}", _LIKELY),
        Option("likely_high", high, f"asked about when above, {unit}", _LIKELY),
    )


_PRESSURE = Kind(
    id="blood-pressure",
    module="vitals",
    title="Blood pressure",
    accepts="118/76; 118/76 sitting right arm",
    classes=(
        "below",
        "in-range",
        "above",
        "elevated",
        "stage-1",
        "stage-2",
        "hypertension-range",
        "severe",
        "sitting",
        "lying",
        "standing",
    ),
    options=(
        Option(
            "scheme",
            "acc-aha",
            "whose ranges are named",
            "2017 ACC/AHA guideline, kept in 2025, quoted second hand",
            choices=("acc-aha", "esc-2024"),
        ),
        Option(
            "severe_systolic",
            180,
            "told at once when systolic is above, mmHg",
            "2025 AHA/ACC guideline, quoted second hand",
        ),
        Option(
            "severe_diastolic",
            120,
            "told at once when diastolic is above, mmHg",
            "2025 AHA/ACC guideline, quoted second hand",
        ),
        Option("low_systolic", 91, "told at once when systolic is below, mmHg", _CHART),
    ),
    rising=(("low_systolic", "severe_systolic"), ("severe_diastolic", "severe_systolic")),
)

_RATE_FORMS = "{0}; {0} irregular; {1} in {2} s"

_PULSE = Kind(
    id="pulse-rate",
    module="rates",
    title="Pulse rate",
    accepts=_RATE_FORMS.format(72, 18, 15),
    timing="rate",
    classes=(*_BANDS, "regular", "irregular"),
    options=(
        *_limits("a minute", usual=(60, 100), report=(51, 110), urgent=(41, 130), source=_CHART),
        *_likely("a minute", 30, 220),
    ),
    rising=(*_SIDES_OF_BANDS, ("likely_low", "likely_high")),
    bands=_BANDS_IN_ORDER,
)

_RESPIRATIONS = Kind(
    id="respiratory-rate",
    module="rates",
    title="Respiratory rate",
    accepts=_RATE_FORMS.format(16, 8, 30),
    timing="rate",
    classes=(*_BANDS, "regular", "irregular"),
    options=(
        *_limits("a minute", usual=(12, 20), report=(9, 20), urgent=(9, 24), source=_CHART),
        *_likely("a minute", 6, 60),
        Option(
            "least_seconds", 30, "seconds to count for, at least", "common practice, no source: 30 or 60 s"
        ),
    ),
    rising=(*_SIDES_OF_BANDS, ("likely_low", "likely_high")),
    bands=_BANDS_IN_ORDER,
)

_TEMPERATURE = Kind(
    id="temperature",
    module="vitals",
    title="Temperature",
    accepts="37.2; 99 F; 38.4 C ear (oral, ear, axilla, rectal, forehead)",
    classes=_BANDS,
    options=(
        *_limits(
            "degrees Celsius",
            usual=(36.1, 37.5),
            report=(35.1, 37.9),
            urgent=(35.1, 40.9),
            source=(_CHART, "common practice, no source"),
        ),
        *_likely("degrees Celsius", 34, 41.5),
    ),
    rising=(*_SIDES_OF_BANDS, ("likely_low", "likely_high")),
    bands=_BANDS_IN_ORDER,
)

_SATURATION = Kind(
    id="oxygen-saturation",
    module="vitals",
    title="Oxygen saturation",
    accepts="97; 94 %",
    classes=("far-below", "below", "in-range"),
    options=(
        *_limits("per cent", usual=(96,), report=(94,), urgent=(92,), source=f"{_CHART}, scale 1"),
        Option("likely_low", 70, "asked about when below, per cent", _LIKELY),
    ),
    bands=(_LOW_LIMITS,),
)

_GAS = Kind(
    id="breathing-gas",
    module="vitals",
    title="Air or oxygen",
    accepts="air; 2 L; 28 %; 2 L nasal (nasal, mask, venturi, reservoir)",
    classes=("air", "oxygen"),
    options=(Option("likely_high", 15, "asked about when above, litres a minute", _LIKELY),),
)

_CONSCIOUSNESS = Kind(
    id="consciousness",
    module="vitals",
    title="Consciousness",
    accepts="first letter: alert, confusion (new), voice, pain, unresponsive",
    classes=("alert", "not-alert", "new-confusion", "voice", "pain", "unresponsive"),
    options=(Option("tell_not_alert", "urgent", "how fast", _CHART, choices=("note", "report", "urgent")),),
)

_PAIN = Kind(
    id="pain-score",
    module="vitals",
    title="Pain score, 0 to 10",
    accepts="4; 4/10; 3 at rest, 6 on movement",
    classes=("none", "mild", "moderate", "severe"),
    options=(
        Option("moderate_from", 4, "noted from this score on", "common practice, no source: cut-offs vary"),
        Option("severe_from", 7, "reported from this score on", "common practice, no source: cut-offs vary"),
    ),
    rising=(("moderate_from", "severe_from"),),
)

_HEIGHT = Kind(
    id="body-height",
    module="stature",
    title="Height",
    accepts="172; 172 cm; 1.72 m; 5 ft 8 in",
    options=_likely("centimetres", 130, 220),
    rising=(("likely_low", "likely_high"),),
)

_WEIGHT = Kind(
    id="body-weight",
    module="stature",
    title="Weight",
    accepts="70 kg; 154 lb; 11 st 4 lb",
    options=_likely("kilograms", 35, 250),
    rising=(("likely_low", "likely_high"),),
)

_SYSTOLIC = Kind(
    id="systolic-pressure",
    module="vitals",
    title="Systolic pressure",
    accepts="128; 128 mmHg",
    options=_likely("mmHg", 50, 250),
    rising=(("likely_low", "likely_high"),),
)

KINDS: tuple[Kind, ...] = (
    _PRESSURE,
    _PULSE,
    _RESPIRATIONS,
    _TEMPERATURE,
    _SATURATION,
    _GAS,
    _CONSCIOUSNESS,
    _PAIN,
    _HEIGHT,
    _WEIGHT,
    _SYSTOLIC,
)

_RESPONSES = "RCP 2017, NEWS2 chart 4"

_EARLY_WARNING = Computation(
    id="early-warning-score",
    module="scores",
    title="Early-warning score (NEWS2)",
    needs=("respirations", "saturation", "gas", "pressure", "pulse", "consciousness", "temperature"),
    reads={
        "respirations": ("respiratory-rate",),
        "saturation": ("oxygen-saturation",),
        "gas": ("breathing-gas",),
        "pressure": ("blood-pressure", "systolic-pressure"),
        "pulse": ("pulse-rate",),
        "consciousness": ("consciousness",),
        "temperature": ("temperature",),
    },
    classes=("zero", "low", "single-three", "urgent-response", "emergency-response"),
    options=(
        Option(
            "saturation_scale",
            1,
            "1; or 2, by a clinician's decision, for a target of 88 to 92 %",
            _CHART,
            lowest=1,
            highest=2,
        ),
        Option("urgent_from", 5, "score of the urgent response", _RESPONSES, lowest=1, highest=20),
        Option("emergency_from", 7, "score of the emergency response", _RESPONSES, lowest=1, highest=20),
    ),
    rising=(("urgent_from", "emergency_from"),),
)

_CONSENSUS = "Freeman 2011, quoted second hand"

_ORTHOSTATIC = Computation(
    id="orthostatic-change",
    module="scores",
    title="Change from lying to standing",
    needs=("lying", "standing"),
    takes=("lying_pulse", "standing_pulse"),
    reads={
        **dict.fromkeys(("lying", "standing"), ("blood-pressure",)),
        **dict.fromkeys(("lying_pulse", "standing_pulse"), ("pulse-rate",)),
    },
    classes=("in-range", "drop", "drop-systolic", "drop-diastolic", "pulse-rise"),
    options=(
        Option("systolic_drop", 20, "reported from this drop on, mmHg", _CONSENSUS),
        Option("diastolic_drop", 10, "reported from this drop on, mmHg", _CONSENSUS),
        Option("pulse_rise", 30, "reported from this rise on, a minute", _CONSENSUS),
    ),
)

_BODY_MASS = Computation(
    id="body-mass-index",
    module="scores",
    title="Body mass index",
    needs=("height", "weight"),
    reads={"height": ("body-height",), "weight": ("body-weight",)},
    classes=(
        "severe-thinness",
        "moderate-thinness",
        "mild-thinness",
        "below",
        "in-range",
        "above",
        "pre-obese",
        "obese-1",
        "obese-2",
        "obese-3",
    ),
    options=(
        Option("asian_action_points", False, "name the further points for Asian populations as well"),
        Option(
            "action_points",
            (23.0, 27.5, 32.5, 37.5),
            "further points for Asian populations, kg/m2, ascending",
            "WHO expert consultation 2004, read in a copy",
            is_rising=True,
        ),
    ),
)

COMPUTATIONS: tuple[Computation, ...] = (_EARLY_WARNING, _ORTHOSTATIC, _BODY_MASS)
