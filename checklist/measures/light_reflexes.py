"""Light reflexes as a record of four cells, and the summary phrase of the pupils. Pure.

The side of a light test names the eye that the light shines into: direct is that eye's own pupil, consensual
the pupil of the other eye. Nothing is concluded from fewer than four cells, and nothing is said of what was
not tested.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from itertools import product
from typing import NamedTuple

from checklist.measures.eye_parts import Inputs, computation, concluded, in_row, is_there
from checklist.measures.pupils import Pair, pairs
from checklist.measures.reading import OTHER_SIDE_OF, SIDES, Fact, Facts, Meaning, Options, Remark
from checklist.measures.typed import short

Cell = tuple[str, str]
"""The eye that is lit, and the pupil that is watched."""
CELLS: tuple[Cell, ...] = tuple(product(SIDES, SIDES))
LIMBS = tuple(f"{limb}-{side}" for limb in ("afferent", "efferent") for side in SIDES)
Record = Mapping[Cell, bool]

_RULE = "neuroexam.com, pupillary responses: constricts when the lit eye conducts and the pupil can"


def response(lit: str, pupil: str, lost: Iterable[str]) -> bool:
    """Return whether a pupil constricts to light in an eye, when the limbs in `lost` are out."""
    return f"afferent-{lit}" not in lost and f"efferent-{pupil}" not in lost


def explanations(record: Record) -> list[frozenset[str]]:
    """Return every smallest set of lost limbs that would give this record."""
    sets = (
        frozenset(limb for limb, is_lost in zip(LIMBS, each, strict=True) if is_lost)
        for each in product((False, True), repeat=len(LIMBS))
    )
    fits = [lost for lost in sets if all(response(*cell, lost) == record[cell] for cell in CELLS)]
    smallest = [lost for lost in fits if not any(other < lost for other in fits)]
    return sorted(smallest, key=sorted)


def light_reflexes(inputs: Inputs, options: Options) -> Meaning | None:
    """Return the pattern of the four cells, and what the swinging light adds."""
    facts = _cells(inputs)
    off, on = options.texts("not_constricting"), options.texts("constricting")
    seen = {cell: is_there(facts.get(cell), off, on) for cell in CELLS}
    shown = _shown(seen)
    swing = _swinging(inputs.get("swinging", {}), options)
    record = {cell: value for cell, value in seen.items() if value is not None}
    if len(record) < len(CELLS):
        said = "not all four responses are known: no pattern concluded"
        return _worded((said, shown), ("incomplete",), (), swing)
    fixed = [facts[cell] for cell in CELLS if not record[cell]]
    return _pattern(record, fixed, shown, swing, options)


def _cells(inputs: Inputs) -> dict[Cell, Fact]:
    direct, consensual = inputs["direct"], inputs["consensual"]
    of_lit = {(side, side): direct.get((side, "")) for side in SIDES}
    of_other = {(side, OTHER_SIDE_OF[side]): consensual.get((side, "")) for side in SIDES}
    return {cell: fact for cell, fact in (*of_lit.items(), *of_other.items()) if fact}


_SEEN = {True: "constricts", False: "does not", None: "not known"}


def _shown(seen: Mapping[Cell, bool | None]) -> str:
    """Return the four cells in words."""
    rows = (
        f"light in {lit} eye: {', '.join(f'{pupil} pupil {_SEEN[seen[lit, pupil]]}' for pupil in SIDES)}"
        for lit in SIDES
    )
    return "; ".join(rows)


class _Swing(NamedTuple):
    """What the swinging light shows."""

    words: str = ""
    classes: tuple[str, ...] = ()
    side: str = ""
    """The eye with a relative afferent defect."""
    remarks: tuple[Remark, ...] = ()


def _swinging(facts: Facts, options: Options) -> _Swing:
    off, on = options.texts("widening"), options.texts("steady")
    steady = {side: is_there(facts.get((side, "")), off, on) for side in SIDES}
    wide = [side for side in SIDES if steady[side] is False]
    if not wide:
        return _Swing("no pupil widens on swinging light") if all(steady.values()) else _Swing()
    if len(wide) == len(SIDES):
        return _Swing("both pupils widen on swinging light, but a relative defect is of one eye: test again")
    side = wide[0]
    said, tell = concluded(f"relative afferent defect, {side}", [facts[side, ""]], options)
    text = f"consider: {side} retina or optic nerve, compared with the other"
    remark = Remark(text=text, source="Bell 1993", tell=tell)
    return _Swing(f"swinging light: {said}", (f"relative-afferent-{side}",), side, (remark,))


def _worded(
    parts: Iterable[str], classes: Iterable[str], remarks: Iterable[Remark], swing: _Swing
) -> Meaning:
    words = "; ".join(filter(None, (*parts, swing.words)))
    return computation(words, words, (*classes, *swing.classes), (*remarks, *swing.remarks))


def _pattern(record: Record, fixed: list[Fact], shown: str, swing: _Swing, options: Options) -> Meaning:
    found = explanations(record)
    classes = tuple(_classes(record, found))
    if all(record.values()):
        return _worded(("all four responses constrict", shown), classes, (), swing)
    said, tell = concluded(_name(found), fixed, options)
    remark = Remark(text=_sites(found), source=_RULE, tell=tell)
    contradiction = _contradiction(found, swing)
    if contradiction:
        classes = (*classes, "swinging-contradicts")
    return _worded((said, shown, contradiction), classes, (remark,), swing)


def _classes(record: Record, found: list[frozenset[str]]) -> Iterator[str]:
    if all(record.values()):
        yield "all-constrict"
    elif not any(record.values()):
        yield "none-constrict"
    yield from (limb for limb in LIMBS if found and all(limb in lost for lost in found))
    if not found:
        yield "not-explained"
    if all(len(lost) > 1 for lost in found):
        yield "no-single-lesion"


_PLACES = {"afferent": ("retina or optic nerve", ""), "efferent": ("third nerve or iris", ", or drops")}
_BOTH = "two-sided"
_UNFIT = "light responses that no loss of nerve in or out explains"


def _name(found: list[frozenset[str]]) -> str:
    """Return what is lost: `right afferent and left efferent loss`."""
    named = (f"{in_row(f'{side} {limb}' for limb, side in _lost(lost))} loss" for lost in found)
    return ", or of ".join(named) or _UNFIT


def _sites(found: list[frozenset[str]]) -> str:
    """Return where to look for it."""
    named = (in_row(_place(limb, side) for limb, side in _lost(lost)) for lost in found)
    where = "; or ".join(named)
    return f"consider: {where}" if where else "one response alone does not fit: test again"


def _lost(lost: frozenset[str]) -> Iterator[tuple[str, str]]:
    """Yield the limbs that are lost, each with its side or as two-sided."""
    for limb in _PLACES:
        sides = [side for side in SIDES if f"{limb}-{side}" in lost]
        if sides:
            yield limb, sides[0] if len(sides) == 1 else _BOTH


def _place(limb: str, side: str) -> str:
    name, also = _PLACES[limb]
    return f"{name} on both sides{also}" if side == _BOTH else f"{side} {name}{also}"


def _contradiction(found: list[frozenset[str]], swing: _Swing) -> str:
    """Return that the swinging light shows the other eye than the one that does not conduct."""
    afferent = [side for side in SIDES if found and all(f"afferent-{side}" in lost for lost in found)]
    if not swing.side or not afferent or swing.side in afferent:
        return ""
    return "the swinging light points to the other eye: test again"


# ------------------------------------------------------------------ the phrase


class _Part(NamedTuple):
    """One element of the phrase, which is said when nothing is missing and nothing differs."""

    missing: str
    """What was not tested, with the side when it is one; empty when both were."""
    differs: str
    """What is not as expected; empty when all that was tested is."""


def pupil_summary(inputs: Inputs, options: Options) -> Meaning | None:
    """Return `pupils equal, round, reactive to light and to near`, of what was tested and as expected."""
    if not any(inputs.values()):
        return None
    sizes = pairs(inputs.get("size", {}))
    parts = {"equal": _equality(inputs, sizes, options)}
    parts |= {name: _both(words, inputs.get(name, {})) for name, words in _TESTED.items()}
    differs = [part.differs for part in parts.values() if part.differs]
    differs += [part.differs for part in (_both("size", inputs.get("size", {})),) if part.differs]
    missing = [part.missing for part in parts.values() if part.missing]
    said = _phrase({name for name, part in parts.items() if part == _SAID}, sizes)
    measured = "; ".join(pair.words for pair in sizes)
    lists = (("not as expected", differs), ("not tested", missing))
    rest = (f"{label}: {', '.join(names)}" for label, names in lists if names)
    words = "; ".join(filter(None, (said, measured, *rest)))
    return computation(words, words, _summary_classes(differs, missing))


_SAID = _Part("", "")
_TESTED = {
    "shape": "shape",
    "light": "direct light",
    "consensual": "consensual light",
    "near": "near response",
}


def _both(name: str, facts: Facts) -> _Part:
    """Return which sides were not tested, and which of those that were are not as expected."""
    missing = [side for side in SIDES if not any(key[0] == side for key in facts)]
    differing = {side for (side, _), fact in facts.items() if not fact.is_expected}
    return _Part(*(_sided(name, [side for side in SIDES if side in sides]) for sides in (missing, differing)))


def _sided(name: str, sides: list[str]) -> str:
    """Return the name with its side; without one for both, and empty for neither."""
    return f"{name} {sides[0]}" if len(sides) == 1 else name if sides else ""


def _equality(inputs: Inputs, sizes: list[Pair], options: Options) -> _Part:
    compared = inputs.get("compare", {})
    limit = options.number("anisocoria_limit")
    is_equal = all(fact.is_expected for fact in compared.values()) and all(
        abs(pair.difference_mm) <= limit for pair in sizes
    )
    return _Part("" if compared or sizes else "equality", "" if is_equal else "equality")


def _phrase(said: set[str], sizes: list[Pair]) -> str:
    """Return the elements that may be said, in the usual order."""
    widest = max((abs(pair.difference_mm) for pair in sizes), default=0)
    equal = f"equal within {short(widest)} mm" if widest else "equal"
    light = {
        frozenset(("light", "consensual")): "to light",
        frozenset(("light",)): "to direct light",
        frozenset(("consensual",)): "to consensual light",
    }.get(frozenset(said & {"light", "consensual"}))
    reactive = in_row(filter(None, (light, "to near" if "near" in said else "")))
    words = (
        equal if "equal" in said else "",
        "round" if "shape" in said else "",
        f"reactive {reactive}" if reactive else "",
    )
    row = ", ".join(filter(None, words))
    return f"pupils {row}" if row else ""


def _summary_classes(differs: list[str], missing: list[str]) -> Iterator[str]:
    if differs:
        yield "differs"
    if missing:
        yield "incomplete"
    if not differs and not missing:
        yield "all-as-expected"


COMPUTATIONS: Mapping[str, Callable[[Inputs, Options], Meaning | None]] = {
    "light-reflexes": light_reflexes,
    "pupil-summary": pupil_summary,
}
