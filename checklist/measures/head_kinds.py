"""What the catalogue says of head and neck: hearing, tonsils, jaw, nodes, thyroid, face."""

from checklist.measures.spec import PRACTICE, Computation, Kind, Option, told

_FORKS = "primary-care reference, quoted second hand"
_NODES = "Gaddey and Riegel 2016, abstract read"
_TONSILS = "Brodsky 1989, quoted second hand"

_NODE_GROUPS = (
    "preauricular",
    "posterior-auricular",
    "occipital",
    "tonsillar",
    "submandibular",
    "submental",
    "superficial-cervical",
    "anterior-cervical",
    "deep-cervical",
    "posterior-cervical",
    "supraclavicular",
    "infraclavicular",
    "axillary",
    "epitrochlear",
    "inguinal",
    "popliteal",
    "iliac",
)


def _percent(name: str, default: float, about: str) -> Option:
    return Option(name, default, about, _TONSILS, lowest=0, highest=100)


def _cm(name: str, default: float, about: str, source: str) -> Option:
    return Option(name, default, about, source, lowest=0, highest=20)


def _sides(*names: str) -> tuple[str, ...]:
    return tuple(f"{name}-{side}" for name in names for side in ("right", "left"))


_WHISPER = Kind(
    id="whispered-voice",
    module="hearing",
    title="Whispered voice",
    accepts="3/3; or with a new set 2/3 1/3; other sets for each ear",
    classes=("passes", "passes-at-once", "fails"),
    options=(
        Option(
            "pass_of_six",
            3,
            "items of 6 that pass, over two sets",
            "WHO 2021, hearing screening, annex 3; Pirozzo et al. 2003",
            lowest=1,
            highest=6,
        ),
        told("tell_fails", "report", "fewer items"),
    ),
)

_WEBER = Kind(
    id="weber",
    module="hearing",
    title="Weber test",
    accepts="m (midline), r, l, not heard, vague",
    classes=("midline", "right", "left", "not-heard", "vague"),
    options=(
        told("tell_side", "report", "one side heard louder"),
        told("tell_not_heard", "report", "a fork not heard"),
    ),
)

_RINNE = Kind(
    id="rinne",
    module="hearing",
    title="Rinne test",
    accepts="ac>bc, ac=bc, bc>ac; seconds by air/bone 40/20; not heard",
    timing="seconds",
    phases=("bone", "then air"),
    classes=("air-longer", "equal", "bone-longer", "not-heard", "unsure"),
    options=(
        Option(
            "equal_within_seconds",
            1,
            "times no further apart are equal, seconds",
            f"{PRACTICE}: times taken by hand",
            highest=10,
        ),
        Option(
            "usual_ratio",
            2,
            "how many times longer by air than by bone is usual",
            "common practice, quoted second hand",
            lowest=1,
            highest=5,
        ),
        told("tell_equal", "report", "air equal to bone", "Burkey et al. 1998, abstract read"),
        told("tell_bone", "report", "bone longer, or nothing heard", _FORKS),
        told("tell_unsure", "note", "a changing answer"),
    ),
)

_TONSIL = Kind(
    id="tonsil-grade",
    module="mouth",
    title="Tonsil grade",
    accepts="0 to 4, 2+; or gap/pillars 8/28 mm; not while gagging",
    classes=("grade-0", "grade-1", "grade-2", "grade-3", "grade-4", "both-together"),
    together=("same", "larger-right", "larger-left"),
    options=(
        _percent("grade_2_from", 25, "least share of the width that is 2+, percent"),
        _percent(
            "grade_3_from", 50, "least share of the width that is 3+, percent; some copies count it as 2+"
        ),
        _percent("grade_4_above", 75, "share of the width above which it is 4+, percent"),
        Option("note_from", 2, "least grade that is noted", PRACTICE, lowest=1, highest=5),
        Option("report_from", 3, "least grade that is reported", PRACTICE, lowest=1, highest=5),
        Option("larger_by", 1, "grades by which one is called larger", PRACTICE, lowest=1, highest=4),
        told("tell_larger", "report", "one larger tonsil"),
    ),
    rising=(("grade_2_from", "grade_3_from", "grade_4_above"),),
)

_JAW = Kind(
    id="jaw-opening",
    module="mouth",
    title="Jaw opening",
    accepts="mm, such as 42; 4.2 cm; or 3 fingers",
    classes=("limited", "in-range"),
    options=(
        Option(
            "least_mm",
            35,
            "least opening, mm",
            "35 mm in some texts, 40 in others, quoted second hand",
            lowest=10,
            highest=60,
        ),
        Option(
            "least_fingers",
            3,
            "least own fingers that fit",
            "Zawawi et al. 2003, abstract read",
            lowest=1,
            highest=4,
        ),
        told("tell_limited", "report", "a smaller opening"),
    ),
)

_NODE = Kind(
    id="lymph-node",
    module="neck",
    title="Lymph node",
    accepts="1.5 cm round rubbery mobile tender; 2 nodes 0.5 1 cm; none",
    classes=(
        "not-felt",
        "felt",
        "small",
        "large",
        "any-size",
        "hard",
        "matted",
        "tender",
        "not-mobile",
        "several",
    ),
    options=(
        Option("group", "general", "the group that is felt", choices=("general", *_NODE_GROUPS)),
        _cm("general_above_cm", 1, "large above, cm", _NODES),
        _cm("epitrochlear_above_cm", 0.5, "large above at the elbow, cm", _NODES),
        _cm(
            "inguinal_above_cm",
            1.5,
            "large above in the groin, cm",
            "1 to 1.5 cm by text, quoted second hand",
        ),
        Option(
            "any_size",
            ("supraclavicular", "popliteal", "iliac"),
            "groups of which any is told",
            _NODES,
            choices=_NODE_GROUPS,
        ),
        told("tell_large", "report", "a node above the size rule", _NODES),
        told("tell_feel", "report", "a hard, fixed, matted or tender node"),
        told("tell_felt", "note", "any other node felt"),
    ),
)

_GOITRE = Kind(
    id="goitre-grade",
    module="neck",
    title="Goitre grade",
    accepts="0 none, 1 felt, 2 seen with the neck not extended",
    classes=("grade-0", "grade-1", "grade-2", "felt", "visible"),
    options=(
        Option(
            "report_from",
            1,
            "least grade that is reported",
            "WHO, UNICEF and ICCIDD 1994, quoted second hand; told: common practice, no source",
            lowest=1,
            highest=3,
        ),
    ),
)

KINDS: tuple[Kind, ...] = (_WHISPER, _WEBER, _RINNE, _TONSIL, _JAW, _NODE, _GOITRE)


def _ids(name: str, ids: tuple[str, ...], about: str) -> Option:
    return Option(name, ids, f"findings and classes that mean: {about}")


_FORK_TESTS = Computation(
    id="fork-tests",
    module="forks",
    title="Weber and Rinne together",
    needs=("weber", "rinne"),
    takes=("whisper",),
    may_read={"weber": ("weber",), "rinne": ("rinne",), "whisper": ("whispered-voice",)},
    classes=(
        "no-difference",
        "equal-loss",
        "conductive-both",
        *_sides("conductive", "sensorineural", "false-negative", "weber-contradicts-rinne"),
        "inconsistent",
        "whisper-disagrees",
        "incomplete",
        "unclear",
        "sudden",
    ),
    options=(
        Option(
            "equal_counts",
            True,
            "whether air equal to bone counts as turned",
            "Burkey et al. 1998, abstract read",
        ),
        told("tell_pattern", "report", "a pattern", _FORKS),
        told("tell_sudden", "urgent", "a pattern with sudden loss reported"),
        _ids("weber_midline", ("midline",), "heard in the middle"),
        _ids("weber_right", ("right", "right-sudden"), "louder on the right"),
        _ids("weber_left", ("left", "left-sudden"), "louder on the left"),
        _ids("weber_not_heard", ("not-heard",), "not heard"),
        _ids("rinne_air", ("air-longer",), "longer by air"),
        _ids("rinne_equal", ("equal",), "equally long"),
        _ids("rinne_bone", ("bone-longer",), "longer by bone"),
        _ids("rinne_not_heard", ("not-heard",), "not heard by air or bone"),
        _ids("whisper_fails", ("fails", "known", "sudden"), "whispered items missed"),
        _ids("sudden", ("right-sudden", "left-sudden", "sudden"), "sudden loss reported"),
    ),
    apart=(
        ("weber_midline", "weber_right", "weber_left", "weber_not_heard"),
        ("rinne_air", "rinne_equal", "rinne_bone", "rinne_not_heard"),
    ),
)

_FACE = Computation(
    id="facial-weakness",
    module="face",
    title="Facial weakness",
    needs=("brows", "eyes", "smile"),
    takes=("cheeks",),
    classes=(
        *_sides("central", "peripheral", "partial", "undetermined", "eye-weak"),
        "both-sides",
        "none-weak",
    ),
    options=(
        told(
            "tell",
            "urgent",
            "weakness on one side",
            "standard neurology texts, quoted second hand; told: common practice, no source",
        ),
        _ids("brows_weak", ("weak", "none"), "brow rises less, or not"),
        _ids("eyes_weak", ("weak", "gap"), "eye closes with less force, or not"),
        _ids("smile_weak", ("weak", "none"), "mouth corner rises less, or not"),
        _ids("cheeks_weak", ("leak",), "air leaks at the mouth corner"),
    ),
)

_GENERALISED = Computation(
    id="generalised-nodes",
    module="neck",
    title="Regions with large nodes",
    needs=(),
    takes=_NODE_GROUPS,
    may_read=dict.fromkeys(_NODE_GROUPS, ("lymph-node",)),
    classes=("none-large", "too-few-felt", "localised", "generalised"),
    options=(
        Option("regions_from", 2, "regions from which it is called generalised", _NODES, lowest=2, highest=6),
        Option(
            "any_size",
            ("supraclavicular", "popliteal", "iliac"),
            "groups of which any counts",
            _NODES,
            choices=_NODE_GROUPS,
        ),
        told("tell_generalised", "report", "large nodes in several regions"),
        _ids("large", ("large",), "above the size rule"),
        _ids("felt", ("felt", "small", "tender", "large", "hard", "not-mobile"), "any node felt"),
    ),
)

COMPUTATIONS: tuple[Computation, ...] = (_FORK_TESTS, _FACE, _GENERALISED)
