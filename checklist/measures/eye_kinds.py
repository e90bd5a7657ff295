"""What the catalogue says of pupils, alignment and movement of the eyes, and visual fields."""

from checklist.measures.spec import PRACTICE, Computation, Kind, Option

_SPECTOR = "Spector 1990, quoted second hand"
_LIMIT = "Walsh and Hoyt, quoted second hand: up to 1 mm"
_SCHEIMAN = "Scheiman 2003"


def _sizes(name: str, low: float, high: float, light: str, source: str) -> tuple[Option, Option]:
    return (
        Option(f"{name}low", low, f"reported when below {light}, mm", source),
        Option(f"{name}high", high, f"reported when above {light}, mm", source),
    )


def _telling(default: str, *known: str) -> tuple[Option, Option]:
    """Return the options of how fast a pattern is told, and of the findings that were known before."""
    about = "how fast a pattern is told that was not known before"
    return (
        Option("tell", default, about, PRACTICE, choices=("note", "report", "urgent")),
        Option("known", known, "findings that say known before and unchanged"),
    )


_ANISOCORIA = Option(
    "anisocoria_limit", 1.0, "reported when the pupils differ by more, mm", _LIMIT, highest=5
)

_PUPIL = Kind(
    id="pupil-size",
    module="pupils",
    title="Pupil size",
    accepts="3; 3.5 mm",
    classes=("below", "in-range", "above"),
    together=("equal", "right-larger", "left-larger", "anisocoria", "larger-in-dark", "larger-in-light"),
    options=(
        Option("step", 0.5, "sizes are read to the nearest, mm", PRACTICE, lowest=0.1, highest=1),
        *_sizes("", 2, 6, "in room light", PRACTICE),
        Option("sites_are_light", False, "the sites of the step are levels of light"),
        *_sizes("bright_", 2, 4, "in bright light", _SPECTOR),
        *_sizes("dim_", 4, 8, "in the dark", _SPECTOR),
        Option("bright_sites", ("bright light", "bright", "light"), "names of sites that mean bright light"),
        Option("dim_sites", ("dim light", "dim", "dark"), "names of sites that mean dim light"),
        _ANISOCORIA,
        Option("likely_low", 1, "asked about when below, mm", PRACTICE),
        Option("likely_high", 9, "asked about when above, mm", PRACTICE),
    ),
    rising=(
        ("low", "high"),
        ("bright_low", "bright_high"),
        ("dim_low", "dim_high"),
        ("bright_low", "dim_high"),
        ("likely_low", "likely_high"),
    ),
    apart=(("bright_sites", "dim_sites"),),
)

_AFFERENT = Kind(
    id="afferent-defect",
    module="pupils",
    title="Relative afferent pupillary defect",
    accepts="0; III (grades I to V); 2+ (1+ to 4+)",
    classes=("none", "present", "immediate", "no-constriction"),
    options=(
        Option(
            "scale",
            "either",
            "which grades are taken: I to V of Bell 1993, 1+ to 4+, or either",
            choices=("either", "bell", "plus"),
        ),
    ),
)

_REFLEX = Kind(
    id="corneal-reflex",
    module="alignment",
    title="Displacement of the corneal light reflex",
    accepts="0; 1.5 in; 2 temporal; 0.5 up; 1 in 0.5 up",
    classes=("centred", "in-range", "exo", "eso", "hypo", "hyper"),
    together=("alike", "unlike", "exo", "eso", "right-hyper", "left-hyper"),
    options=(
        Option("prism_per_mm", 22, "prism dioptres for each mm", "Carter 1977", lowest=5, highest=40),
        Option(
            "spread_low",
            14,
            "least between people, prism dioptres for each mm",
            "Binocul Vis Strabismus Q 2006;21:45",
        ),
        Option(
            "spread_high",
            24,
            "most between people, prism dioptres for each mm",
            "Binocul Vis Strabismus Q 2006;21:45",
        ),
        Option(
            "usual_nasal",
            0.5,
            "usual in both eyes alike up to this, mm towards the nose",
            PRACTICE,
            highest=2,
        ),
        Option("likely_high", 5, "asked about when above, mm", PRACTICE),
    ),
    rising=(("spread_low", "prism_per_mm", "spread_high"),),
)

_COVER = Kind(
    id="cover-movement",
    module="alignment",
    title="Movement on cover or uncover test",
    accepts="none; in; out; up; down; in and up",
    classes=("none", "in", "out", "up", "down", "exo", "eso", "hypo", "hyper"),
    options=(
        Option(
            "test",
            "cover",
            "cover: the eye watched as the other is covered; uncover: as its own cover is lifted",
            choices=("cover", "uncover"),
        ),
    ),
)

_CONVERGENCE = Kind(
    id="convergence",
    module="alignment",
    title="Near point of convergence",
    accepts="6; 6/9 (break/recovery in cm); nose",
    classes=("within-research", "beyond-research", "within-customary", "beyond-customary"),
    options=(
        Option("research_break", 5, "limit of the break in adults, cm", _SCHEIMAN),
        Option("research_recovery", 7, "limit of the recovery in adults, cm", _SCHEIMAN),
        Option(
            "customary_break",
            10,
            "reported when the break is beyond, cm",
            "customary limit, named in Hayes 1998",
        ),
        Option("likely_high", 40, "asked about when the break is beyond, cm", PRACTICE),
    ),
    rising=(("research_break", "research_recovery"),),
)

KINDS: tuple[Kind, ...] = (_PUPIL, _AFFERENT, _REFLEX, _COVER, _CONVERGENCE)

_SIDED_LIMBS = ("afferent-right", "afferent-left", "efferent-right", "efferent-left")

_LIGHT = Computation(
    id="light-reflexes",
    module="light_reflexes",
    title="Light reflexes",
    needs=("direct", "consensual"),
    takes=("swinging",),
    may_read={"swinging": ("afferent-defect",)},
    classes=(
        "all-constrict",
        "none-constrict",
        *_SIDED_LIMBS,
        "no-single-lesion",
        "not-explained",
        "relative-afferent-right",
        "relative-afferent-left",
        "swinging-contradicts",
        "incomplete",
    ),
    options=(
        Option("not_constricting", ("none", "slow", "known"), "findings that count as not constricting"),
        Option("constricting", ("wavers", "small-older"), "findings that count as constricting"),
        Option(
            "widening",
            ("escape", "dilates", "known", "present"),
            "findings of the swinging light that say it widens",
        ),
        Option("steady", ("wavers", "none"), "findings of the swinging light that do not"),
        *_telling("urgent", "known"),
    ),
    apart=(("not_constricting", "constricting"), ("widening", "steady")),
)

_SUMMARY = Computation(
    id="pupil-summary",
    module="light_reflexes",
    title="Pupils in one phrase",
    needs=(),
    takes=("compare", "size", "shape", "light", "consensual", "near"),
    reads={"size": ("pupil-size",)},
    classes=("all-as-expected", "differs", "incomplete"),
    options=(_ANISOCORIA,),
)

_GAZE = (
    "right gaze",
    "up-and-right gaze",
    "down-and-right gaze",
    "left gaze",
    "up-and-left gaze",
    "down-and-left gaze",
)
_MOVEMENTS = Computation(
    id="eye-movements",
    module="gaze",
    title="Six positions of gaze",
    needs=("positions",),
    classes=(
        "full",
        *(f"{nerve}-{side}" for nerve in ("third", "fourth", "sixth") for side in ("right", "left")),
        "third-right-whole",
        "third-left-whole",
        "gaze-short",
        "incomplete",
    ),
    options=(
        Option(
            "positions",
            _GAZE,
            "names of the sites: right, up and right, down and right, left, up and left, down and left",
            items=6,
        ),
        Option("right_short", ("right-short", "right-known"), "findings that say the right eye falls short"),
        Option("left_short", ("left-short", "left-known"), "findings that say the left eye falls short"),
        Option("both_short", ("both-short",), "findings that say both eyes fall short"),
        Option("full", ("older-upgaze",), "findings that differ otherwise"),
        *_telling("urgent", "right-known", "left-known"),
    ),
    apart=(("right_short", "left_short", "both_short", "full"),),
)

_TURNS = ("exo", "eso", "hyper", "hypo", "vertical-")
_ALIGNMENT = Computation(
    id="eye-alignment",
    module="gaze",
    title="Alignment of the eyes",
    needs=("cover",),
    takes=("uncover",),
    may_read={"cover": ("cover-movement",), "uncover": ("cover-movement",)},
    classes=(
        "steady",
        "tropia",
        *(f"{turn}tropia-{side}" for turn in ("", *_TURNS) for side in ("right", "left")),
        *(f"{turn}phoria" for turn in ("", *_TURNS)),
        "stays-turned-right",
        "stays-turned-left",
        "incomplete",
    ),
    options=(
        Option("in", ("in", "back-in"), "findings that say it moved in"),
        Option("out", ("out", "back-out"), "findings that say it moved out"),
        Option("up", ("up",), "findings that say it moved up"),
        Option("down", ("down",), "findings that say it moved down"),
        Option("vertical", ("vertical",), "findings that say it moved up or down"),
        Option("moved", ("known", "new-double"), "findings that say it moved, without a direction"),
        Option("stays", ("stays",), "findings that say it stays turned when uncovered"),
        Option("steady", ("none",), "findings that say it did not move"),
        *_telling("report", "known"),
    ),
    apart=(("in", "out", "steady"), ("up", "down", "steady"), ("vertical", "steady"), ("moved", "steady")),
)

_HALVES = ("bitemporal", "binasal", "homonymous-right", "homonymous-left")
_FIELDS = Computation(
    id="visual-fields",
    module="fields",
    title="Visual fields by confrontation",
    needs=("fields",),
    classes=(
        "full",
        "incomplete",
        "other",
        "one-eye-right",
        "one-eye-left",
        "whole-eye",
        "whole-both",
        "altitudinal-upper",
        "altitudinal-lower",
        "junctional-right",
        "junctional-left",
        *(
            name
            for half in _HALVES
            for name in (half, *(f"{half}-{extent}" for extent in ("complete", "upper", "lower", "unequal")))
        ),
    ),
    options=(
        Option(
            "quadrants",
            ("upper outer quadrant", "lower outer quadrant", "upper inner quadrant", "lower inner quadrant"),
            "names of the sites: upper outer, lower outer, upper inner, lower inner",
            items=4,
        ),
        Option("missed", ("not-counted", "movement-only", "known-loss"), "findings that count as missed"),
        Option("seen", ("lid-or-brow",), "findings that differ though the quadrant is seen"),
        *_telling("urgent", "known-loss"),
    ),
    apart=(("missed", "seen"),),
)

COMPUTATIONS: tuple[Computation, ...] = (_LIGHT, _SUMMARY, _MOVEMENTS, _ALIGNMENT, _FIELDS)
