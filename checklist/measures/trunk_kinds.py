"""What the catalogue says of chest, abdomen, joints and feet: what can be typed, limits, sources, classes."""

from checklist.measures.spec import PRACTICE, Computation, Kind, Option, told

_BANDS = ("below", "in-range", "above")
_SPAN = "physical diagnosis texts, quoted second hand; up to 15 cm in reports"
_STERNAL = "physical diagnosis texts, from memory"
_EXCURSION = "Bates, from memory; 3 to 5 and 4 to 5 cm in copies, 7 to 8 cm in the fit, quoted second hand"
_WEAK = "weak evidence (Baid 2009, quoted second hand)"
_SOUNDS = f"nursing texts, from memory; 5 to 30 or 35 in others; {_WEAK}"
_SILENCE = f"nursing texts, from memory; 2, 3 or 7 minutes, a quadrant or in all, in others; {_WEAK}"
_FEET = "IWGDF guideline, quoted second hand"


def _cm(name: str, default: float, about: str, source: str) -> Option:
    return Option(name, default, f"{about}, cm", source, lowest=0, highest=40)


_LIVER = Kind(
    id="liver-span",
    module="abdomen_chest",
    title="Liver span",
    accepts="10; 10 cm; 105 mm; 7 cm midsternal",
    classes=_BANDS,
    options=(
        Option(
            "line",
            "mid-clavicular",
            "along which line it was percussed, when none is typed",
            choices=("mid-clavicular", "midsternal"),
        ),
        _cm("lowest_cm", 6, "told when below, mid-clavicular", _SPAN),
        _cm("highest_cm", 12, "told when above, mid-clavicular", _SPAN),
        _cm("midsternal_lowest_cm", 4, "told when below, midsternal", _STERNAL),
        _cm("midsternal_highest_cm", 8, "told when above, midsternal", _STERNAL),
        Option(
            "percussion_error_cm",
            (2.0, 3.0),
            "by how much percussion is off, cm: lowest and highest",
            "physical diagnosis texts, quoted second hand",
            highest=10,
            items=2,
            is_rising=True,
        ),
        _cm("likely_low", 4, "asked about when below", PRACTICE),
        _cm("likely_high", 20, "asked about when above", PRACTICE),
        told("tell_below", "report", "a smaller span"),
        told("tell_above", "report", "a larger span"),
    ),
    rising=(
        ("lowest_cm", "highest_cm"),
        ("midsternal_lowest_cm", "midsternal_highest_cm"),
        ("likely_low", "likely_high"),
    ),
)

_DIAPHRAGM = Kind(
    id="diaphragm-excursion",
    module="abdomen_chest",
    title="Diaphragm excursion",
    accepts="4.5 cm; 45 mm; levels breathed out/in, such as 3/8 cm",
    classes=_BANDS,
    together=("alike", "less-right", "less-left"),
    options=(
        _cm("lowest_cm", 3, "told when below", _EXCURSION),
        _cm("highest_cm", 5.5, "told when above", _EXCURSION),
        _cm("sides_apart_cm", 2, "sides are told apart from this difference on", PRACTICE),
        _cm("likely_high", 9, "asked about when above", PRACTICE),
        told("tell_below", "report", "a smaller excursion"),
        told("tell_above", "", "a larger excursion"),
        told("tell_apart", "report", "a difference of the sides"),
    ),
    rising=(("lowest_cm", "highest_cm"),),
)

_BOWEL = Kind(
    id="bowel-sounds",
    module="abdomen_chest",
    title="Bowel sounds",
    accepts="12; 15 in 60 s; none in 5 min",
    timing="rate",
    classes=("absent", *_BANDS),
    options=(
        Option("lowest_per_minute", 5, "told when below, a minute", _SOUNDS, highest=200),
        Option("highest_per_minute", 34, "told when above, a minute", _SOUNDS, highest=200),
        Option("absent_minutes", 5, "minutes of silence before none is said", _SILENCE, 0.5, 60),
        Option("likely_high", 100, "asked about when above, a minute", PRACTICE, highest=200),
        told("tell_absent", "urgent", "silence for the full time"),
        told("tell_below", "report", "a lower rate, or silence for less than the full time"),
        told("tell_above", "note", "a higher rate"),
    ),
    rising=(("lowest_per_minute", "highest_per_minute"),),
)

_MOTIONS = (
    *("neck-flexion", "neck-extension", "neck-side-bend", "neck-rotation"),
    *("trunk-flexion", "trunk-extension", "trunk-side-bend", "trunk-rotation"),
    *("shoulder-flexion", "shoulder-extension", "shoulder-abduction"),
    *("shoulder-internal-rotation", "shoulder-external-rotation"),
    *("elbow-flexion", "elbow-extension", "forearm-pronation", "forearm-supination"),
    *("wrist-flexion", "wrist-extension", "wrist-radial-deviation", "wrist-ulnar-deviation"),
    *("hip-flexion", "hip-extension", "hip-abduction", "hip-adduction"),
    *("hip-internal-rotation", "hip-external-rotation", "knee-flexion", "knee-extension"),
    *("ankle-dorsiflexion", "ankle-plantarflexion", "foot-inversion", "foot-eversion"),
)

_JOINT = Kind(
    id="joint-range",
    module="joints",
    title="Joint range",
    accepts="60; 0-120; 10-120 lacks 10 of extension; 5-0-130 goes 5 past",
    classes=("full", "less-than-full", "beyond", "short-of-neutral", "no-reference"),
    together=("alike", "less-right", "less-left"),
    options=(
        Option("motion", "", "which motion; empty for none that has a reference", choices=("", *_MOTIONS)),
        Option(
            "full_degrees",
            0,
            "a full range of this motion, degrees; 0 for the one of its table",
            PRACTICE,
            highest=200,
        ),
        Option(
            "report_below_percent",
            0,
            "reported when below this share of full, percent; 0 for never",
            PRACTICE,
            highest=100,
        ),
        Option("sides_apart", 10, "sides are told apart from this difference on, degrees", PRACTICE, 1, 180),
        Option("likely_beyond", 30, "asked about when this much beyond full, degrees", PRACTICE, 0, 200),
        told("tell_apart", "note", "a difference of the sides"),
    ),
)

_MONOFILAMENT = Kind(
    id="monofilament",
    module="joints",
    title="Monofilament, 10 g",
    accepts="3/3 sites felt; answers a site, y right, n wrong: yyn yyy yny",
    classes=("felt-at-all", "not-felt-somewhere", "sites-missing"),
    options=(
        Option(
            "sites",
            ("great toe", "first metatarsal head", "fifth metatarsal head"),
            "sites of a foot, in the order in which their answers are typed",
            _FEET,
        ),
        Option("right_needed", 2, "right answers of 3 with which a site is felt", _FEET, 1, 3),
        told("tell_not_felt", "report", "a site not felt"),
        told("tell_missing", "note", "a site not tested"),
    ),
)

KINDS: tuple[Kind, ...] = (_LIVER, _DIAPHRAGM, _BOWEL, _JOINT, _MONOFILAMENT)
COMPUTATIONS: tuple[Computation, ...] = ()
