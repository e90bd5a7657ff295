"""What the catalogue says of power, reflexes, the coma scale, murmurs, pulses, oedema and vessels."""

from checklist.measures.spec import PRACTICE, Computation, Kind, Option, told

_MRC = "Medical Research Council scale, as World J Orthop 2017;8:21 prints it"
_COMA = "from memory: Teasdale et al. 2014; bands quoted second hand"
_LEVINE = "Freeman and Levine 1933, quoted second hand"
_LOUD = "encyclopedic copy of the Levine scale; no study read"
_INDEX = "2016 AHA/ACC guideline on peripheral artery disease, recommendation read"


def _grades(*numbers: int) -> tuple[str, ...]:
    return tuple(f"grade-{number}" for number in numbers)


_POWER = Kind(
    id="muscle-power",
    module="power",
    title="Muscle power",
    accepts="0 to 5 on the MRC scale, also 4- and 4+; such as 4+ or 5/5",
    classes=(*_grades(0, 1, 2, 3, 4, 5), "reduced"),
    options=(
        Option("full_grade", 5, "grade below which power counts as reduced", _MRC, lowest=1, highest=5),
        told("tell_reduced", "report", "power below the full grade"),
    ),
)

_REFLEX = Kind(
    id="tendon-reflex",
    module="power",
    title="Tendon reflex",
    accepts="0, 1+, 2+, 3+, 4+; 4+ clonus",
    classes=("absent", "reduced", "middle", "brisk", "clonus"),
    options=(
        Option(
            "scale",
            "usual",
            "scale of the grades: on the usual one 2+ is the middle, on the NINDS one 2 and 3 both are",
            "usual: teaching page of a medical school, quoted second hand; ninds: from memory: Hallett 1993",
            choices=("usual", "ninds"),
        ),
        told("tell_absent", "note", "an absent reflex"),
        told("tell_brisk", "note", "a reflex above the middle of the scale"),
        told("tell_clonus", "report", "clonus"),
    ),
)

_COMA_SCALE = Kind(
    id="coma-scale",
    module="power",
    title="Glasgow coma scale",
    accepts="E4 V5 M6 or 4 5 6; nt not testable, V t tube, E c eyes closed",
    classes=("full", "below-15", "mild", "moderate", "severe", "untestable-part"),
    options=(
        Option("report_below", 15, "total below which it is reported", PRACTICE, lowest=3, highest=16),
        Option("mild_from", 13, "lowest total of the band called mild", _COMA, lowest=3, highest=15),
        Option("moderate_from", 9, "lowest total of the band called moderate", _COMA, lowest=3, highest=15),
        Option(
            "urgent_to",
            12,
            "highest total that is urgent",
            f"bands called moderate and severe, {_COMA}; that they are urgent: {PRACTICE}",
            lowest=2,
            highest=15,
        ),
        told("tell_untestable", "note", "a part that could not be tested"),
    ),
    rising=(("moderate_from", "mild_from"),),
)

_MURMUR = Kind(
    id="murmur-grade",
    module="vessels",
    title="Murmur grade",
    accepts="1/6 to 6/6, 3 or iii; add thrill or no thrill",
    classes=(*_grades(1, 2, 3, 4, 5, 6), "thrill"),
    options=(
        Option("thrill_from", 4, "lowest grade with a thrill", _LEVINE, lowest=1, highest=6),
        Option("report_from", 3, "grade from which it is reported", _LOUD, lowest=1, highest=7),
        told("tell_murmur", "note", "a murmur of a lower grade"),
    ),
)

_PULSE = Kind(
    id="pulse-strength",
    module="vessels",
    title="Pulse strength",
    accepts="0, 1+, 2+, 3+; 4+ on the scale of 0 to 4+",
    classes=("absent", "weak", "in-range", "strong", "bounding"),
    together=("same", "right-weaker", "left-weaker"),
    options=(
        Option(
            "scale",
            "0-4",
            "scale of the grades: 3+ is strong on 0-4 and bounding on 0-3; some texts differ on 3+ and 4+",
            PRACTICE,
            choices=("0-4", "0-3"),
        ),
        told("tell_absent", "report", "an absent pulse"),
        told("tell_weak", "report", "a weak pulse"),
        told("tell_strong", "note", "a strong or bounding pulse"),
        told("tell_different", "report", "a pulse weaker on one side"),
    ),
)

_OEDEMA = Kind(
    id="oedema-grade",
    module="vessels",
    title="Pitting oedema",
    accepts="0, 1+ to 4+; or depth of the pit, such as 4 mm",
    classes=(*_grades(0, 1, 2, 3, 4), "pitting"),
    together=("none", "same", "right-more", "left-more", "right-only", "left-only"),
    options=(
        Option(
            "depths_mm",
            (2.0, 4.0, 6.0, 8.0),
            "depth of grades 1+ to 4+ in mm; a depth between two has the nearer grade, half-way the higher; "
            "any pit is 1+ at least",
            "teaching texts, quoted second hand; their copies disagree",
            lowest=0.1,
            highest=30,
            items=4,
            is_rising=True,
        ),
        Option("report_from", 2, "grade from which it is reported", PRACTICE, lowest=1, highest=5),
        told("tell_lower", "note", "oedema of a lower grade"),
        told("tell_one_side", "report", "oedema on one side only, or more on one side"),
    ),
)

_VENOUS = Kind(
    id="venous-pressure",
    module="vessels",
    title="Jugular venous pressure",
    accepts="cm above the sternal angle: 3; 2 below; 4 cm along 45",
    classes=("in-range", "above", "below-the-angle"),
    options=(
        Option(
            "upper_limit_cm",
            3,
            "highest height above the sternal angle within the range, in cm; other texts have 4 or 5",
            "teaching texts, quoted second hand; others have 4 or 5 cm",
            lowest=0,
            highest=10,
        ),
        Option(
            "add_cm",
            5,
            "fixed depth of the right atrium below the sternal angle, in cm; one published method has "
            "5, 8 and 10 cm at 0, 30 and 45 degrees (Heart Fail Clin 2017;13:427-444)",
            "Clinical Methods, chapter 19, quoted second hand",
            lowest=0,
            highest=15,
        ),
        told("tell_above", "report", "a height above the limit"),
    ),
)

_REFILL = Kind(
    id="capillary-refill",
    module="vessels",
    title="Capillary refill",
    accepts="seconds: 1.4 or 1.4 s; <2; >4",
    timing="seconds",
    classes=("in-range", "slow"),
    options=(
        Option(
            "limit_s",
            2,
            "longest time within the range, in seconds; of healthy people 95 in 100 are within 2.9 s "
            "(adult women) and 4.5 s (elderly)",
            "common practice; of healthy children and adult men 4 in 100 exceed it: "
            "Schriger and Baraff 1988, abstract read",
            lowest=0.5,
            highest=10,
        ),
        told("tell_slow", "report", "a longer time"),
    ),
)

KINDS: tuple[Kind, ...] = (_POWER, _REFLEX, _COMA_SCALE, _MURMUR, _PULSE, _OEDEMA, _VENOUS, _REFILL)

_INDEX_CLASSES = ("noncompressible", "in-range", "borderline", "below", "severe")


def _limit(name: str, default: float, about: str, source: str = _INDEX) -> Option:
    return Option(name, default, about, source, lowest=0, highest=3)


COMPUTATIONS: tuple[Computation, ...] = (
    Computation(
        id="ankle-brachial-index",
        module="vessels",
        title="Ankle-brachial index",
        needs=("arms", "ankles"),
        reads=dict.fromkeys(("arms", "ankles"), ("systolic-pressure", "blood-pressure")),
        classes=(
            *_INDEX_CLASSES,
            *(f"right-{each}" for each in _INDEX_CLASSES),
            *(f"left-{each}" for each in _INDEX_CLASSES),
        ),
        options=(
            _limit(
                "noncompressible_above",
                1.40,
                "index above which the arteries do not compress; older charts have 1.30",
            ),
            _limit("in_range_from", 1.00, "lowest index within the range"),
            _limit("borderline_from", 0.91, "lowest index of the borderline band"),
            _limit(
                "severe_below",
                0.40,
                "index below which it is told at once",
                "Oxford American Handbook of Cardiology, quoted second hand",
            ),
            told("tell_noncompressible", "report", "an index too high to use"),
            told("tell_borderline", "note", "a borderline index"),
            told("tell_below", "report", "an index below the borderline band"),
            told("tell_severe", "urgent", "an index in the lowest band"),
        ),
        rising=(("severe_below", "borderline_from", "in_range_from", "noncompressible_above"),),
    ),
)
