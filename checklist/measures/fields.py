"""Visual fields by confrontation: the pattern of the quadrants missed and where on the pathway to look. Pure.

Refuses to conclude anything from fewer than all eight quadrants. Fields are the patient's own: the outer
quadrants are the temporal ones, and the right half-field is right outer with left inner.
"""

from collections.abc import Callable, Iterator, Mapping, Set
from typing import NamedTuple

from checklist.measures.eye_parts import Inputs, computation, concluded, in_row, is_there
from checklist.measures.reading import OTHER_SIDE_OF, SIDES, Fact, Facts, Meaning, Options, Remark

QUADRANTS = ("upper outer", "lower outer", "upper inner", "lower inner")
"""In the order of the option `quadrants`, which holds what the sites of the step are called."""
LEVELS = ("upper", "lower")
EYE = frozenset(QUADRANTS)
OUTER, INNER = (frozenset(each for each in QUADRANTS if half in each) for half in ("outer", "inner"))
UPPER, LOWER = (frozenset(each for each in QUADRANTS if level in each) for level in LEVELS)

_TABLE = "AJNR 2007;28:3-8, table 1"
_SITES = "Radiopaedia, visual pathway deficits"
_MEMORY = "from memory: standard teaching"
_LOW = "confrontation has low sensitivity: quadrants counted do not rule out a loss"
_LIMITS = Remark(text=_LOW, source="Johnson and Baloh 1991: half of the losses found; Kerr 2010")

Missed = Mapping[str, frozenset[str]]
"""The quadrants missed, by eye."""


class Pattern(NamedTuple):
    """What a full record of eight quadrants comes to."""

    name: str
    """In words; empty when nothing was missed."""
    site: str
    """Where on the pathway to look."""
    source: str
    classes: tuple[str, ...]


FULL = Pattern("", "", "", ("full",))
_UNSETTLED = Pattern("loss in both eyes that fits no single site", "not localised", _TABLE, ("other",))


def pattern(missed: Missed) -> Pattern:
    """Return the pattern of what was missed, from the quadrants of each eye; none missed is full."""
    right, left = (missed[side] for side in SIDES)
    if not right and not left:
        return FULL
    if not right or not left:
        return _one_eye("right" if right else "left", right or left)
    for rule in (_altitudinal, _junctional, _halves):
        if found := rule(missed):
            return found
    return _UNSETTLED


def _one_eye(side: str, lost: frozenset[str]) -> Pattern:
    shapes = {
        EYE: ("all quadrants", ("whole-eye",)),
        UPPER: ("the upper half (altitudinal)", ("altitudinal-upper",)),
        LOWER: ("the lower half (altitudinal)", ("altitudinal-lower",)),
    }
    shape, classes = shapes.get(lost, ("some quadrants", ()))
    site = f"{side} retina or optic nerve, before the chiasm"
    return Pattern(f"loss in the {side} eye alone, {shape}", site, _SITES, (f"one-eye-{side}", *classes))


def _altitudinal(missed: Missed) -> Pattern | None:
    right, left = (missed[side] for side in SIDES)
    if right != left or right not in (UPPER, LOWER, EYE):
        return None
    if right == EYE:
        site = "both eyes or optic nerves, the chiasm, or both occipital lobes; not localised"
        return Pattern("loss of all quadrants of both eyes", site, _MEMORY, ("whole-both",))
    level = "upper" if right == UPPER else "lower"
    site = "both retinas or optic nerves, or both occipital lobes"
    return Pattern(f"loss of the {level} half in both eyes", site, _MEMORY, (f"altitudinal-{level}",))


def _junctional(missed: Missed) -> Pattern | None:
    """One eye lost, and of the other the upper outer quadrant or the outer half."""
    for side in SIDES:
        if missed[side] == EYE and missed[OTHER_SIDE_OF[side]] in (OUTER, OUTER & UPPER):
            name = f"loss of the {side} eye with outer loss in the {OTHER_SIDE_OF[side]} eye"
            site = f"junction of the {side} optic nerve with the chiasm"
            return Pattern(name, site, _TABLE, (f"junctional-{side}",))
    return None


class _Half(NamedTuple):
    """The halves of the two eyes that are lost together."""

    name: str
    id: str
    right: frozenset[str]
    left: frozenset[str]


_HALVES = (
    _Half("outer (bitemporal)", "bitemporal", OUTER, OUTER),
    _Half("inner (binasal)", "binasal", INNER, INNER),
    _Half("right-sided (homonymous)", "homonymous-right", OUTER, INNER),
    _Half("left-sided (homonymous)", "homonymous-left", INNER, OUTER),
)


def _halves(missed: Missed) -> Pattern | None:
    """Return the pattern of losses within one pair of halves that share at least their level."""
    levels = [_levels(missed[side]) for side in SIDES]
    for half in _HALVES:
        if missed["right"] <= half.right and missed["left"] <= half.left and levels[0] & levels[1]:
            return _half(half, *levels)
    return None


def _levels(lost: frozenset[str]) -> frozenset[str]:
    return frozenset(level for level in LEVELS if any(level in each for each in lost))


def _half(half: _Half, right: frozenset[str], left: frozenset[str]) -> Pattern:
    extent = "unequal" if right != left else "complete" if len(right) == len(LEVELS) else min(right)
    names = {
        "complete": f"loss of the {half.name} halves of both eyes",
        "unequal": f"loss in the {half.name} halves, not alike in both eyes",
    }
    name = names.get(extent, f"loss of the {half.name} {extent} quadrants of both eyes")
    site, source = _site(half.id, extent)
    return Pattern(name, site, source, (half.id, f"{half.id}-{extent}"))


def _site(half: str, extent: str) -> tuple[str, str]:
    if half == "bitemporal":
        return "optic chiasm", _TABLE
    if half == "binasal":
        return "outer sides of the chiasm, or both eyes or optic nerves (rare)", _SITES
    lesion = OTHER_SIDE_OF[half.removeprefix("homonymous-")]
    sites = {
        "complete": f"behind the chiasm on the {lesion}, not localised further",
        "unequal": f"behind the chiasm on the {lesion}; optic tract or geniculate body",
        "upper": f"{lesion} temporal lobe, or lower bank of the {lesion} occipital lobe",
        "lower": f"{lesion} parietal lobe, or upper bank of the {lesion} occipital lobe",
    }
    return sites[extent], _TABLE


# ------------------------------------------------------------------ from findings


def visual_fields(inputs: Inputs, options: Options) -> Meaning | None:
    """Return pattern and site from the eight quadrants; only what is missing when they are not all known."""
    facts = _facts(inputs["fields"], options)
    off, on = options.texts("missed"), options.texts("seen")
    seen = {key: is_there(facts.get(key), off, on) for key in _keys()}
    missed = {side: frozenset(each for each in QUADRANTS if seen[side, each] is False) for side in SIDES}
    lifted = _but_seen(facts, seen)
    counted = f"; counted {lifted}" if lifted else ""
    if None in seen.values():
        words = f"{_listed(missed)}{counted}; not tested or not clear: {_open(seen)}; no pattern concluded"
        return computation(words, words, ("incomplete",), (_LIMITS,))
    return _concluded(missed, lifted, [facts[key] for key, value in seen.items() if not value], options)


_LIFTED = "lid-or-brow"


def _but_seen(facts: Mapping[tuple[str, str], Fact], seen: Mapping[tuple[str, str], bool | None]) -> str:
    """Return in which quadrants that count as seen something differed all the same; empty for none."""
    found = {key: facts[key] for key, value in seen.items() if value and not facts[key].is_expected}
    lifted = {key for key, fact in found.items() if _LIFTED in fact.classes}
    parts = (
        (lifted, "only after lifting lid or brow"),
        (found.keys() - lifted, "with a finding recorded"),
    )
    return ", ".join(f"in {_quadrants(keys)} {how}" for keys, how in parts if keys)


def _quadrants(keys: Set[tuple[str, str]]) -> str:
    lost = {side: frozenset(each for each in QUADRANTS if (side, each) in keys) for side in SIDES}
    return "; ".join(f"{side} eye {in_row(_row(lost[side]))}" for side in SIDES if lost[side])


def _concluded(missed: Missed, lifted: str, facts: list[Fact], options: Options) -> Meaning:
    found = pattern(missed)
    if not found.name:
        words = f"fingers counted in all eight quadrants{f', {lifted}' * bool(lifted)}"
        return computation(f"{words}; {_LOW}", words, found.classes, (_LIMITS,))
    said, tell = concluded(found.name, facts, options)
    words = f"{said}; {_listed(missed)}{f'; counted {lifted}' * bool(lifted)}"
    where = Remark(text=f"consider: {found.site}", source=found.source, tell=tell)
    return computation(f"{words}; {found.site}; {_LOW}", words, found.classes, (where, _LIMITS))


def _keys() -> Iterator[tuple[str, str]]:
    return ((side, each) for side in SIDES for each in QUADRANTS)


def _facts(facts: Facts, options: Options) -> dict[tuple[str, str], Fact]:
    """Return the facts by eye and quadrant, whatever the sites of the step are called."""
    named = dict(zip(options.texts("quadrants"), QUADRANTS, strict=False))
    return {(side, named[site]): fact for (side, site), fact in facts.items() if site in named}


def _listed(missed: Missed) -> str:
    parts = [f"{side} eye {in_row(_row(missed[side]))}" for side in SIDES if missed[side]]
    return f"missed: {'; '.join(parts)}" if parts else "none missed"


def _row(lost: frozenset[str]) -> Iterator[str]:
    return (each for each in QUADRANTS if each in lost)


def _open(seen: Mapping[tuple[str, str], bool | None]) -> str:
    return _quadrants({key for key, value in seen.items() if value is None})


COMPUTATIONS: Mapping[str, Callable[[Inputs, Options], Meaning | None]] = {"visual-fields": visual_fields}
