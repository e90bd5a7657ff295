"""What the cover tests and the six positions of gaze come to: tropia or phoria, muscles and nerves. Pure.

An eye that falls short may be weak or held back: the muscle and nerve named are what to consider first.
Nothing is concluded from positions or sides that were not tested.
"""

from collections.abc import Callable, Iterator, Mapping
from typing import NamedTuple

from checklist.measures.alignment import MOVEMENTS, WAS
from checklist.measures.eye_parts import Inputs, computation, concluded, in_row
from checklist.measures.reading import SIDES, Fact, Facts, Meaning, Options, Remark
from checklist.measures.spec import PRACTICE

# ------------------------------------------------------------------ six positions

POSITIONS = (
    "right gaze",
    "up-and-right gaze",
    "down-and-right gaze",
    "left gaze",
    "up-and-left gaze",
    "down-and-left gaze",
)
"""In the order of the option `positions`, which holds what the sites of the step are called."""

_ANATOMY = "FRCOphth revision notes, cardinal positions; nerves: standard anatomy"

Cell = tuple[str, str]
"""Eye and position."""


class Muscle(NamedTuple):
    """The muscle that a position tests in one eye, and its nerve."""

    name: str
    nerve: str


_OUTWARD = {
    "": Muscle("lateral rectus", "sixth"),
    "up": Muscle("superior rectus", "third"),
    "down": Muscle("inferior rectus", "third"),
}
_INWARD = {
    "": Muscle("medial rectus", "third"),
    "up": Muscle("inferior oblique", "third"),
    "down": Muscle("superior oblique", "fourth"),
}


def muscle(side: str, position: str) -> Muscle:
    """Return the muscle that a position tests in the eye of a side."""
    level = position.partition("-")[0] if "-" in position else ""
    return (_OUTWARD if side in position else _INWARD)[level]


def eye_movements(inputs: Inputs, options: Options) -> Meaning | None:
    """Return which eye falls short where, and the muscles and nerves that those positions test."""
    facts = _positions(inputs["positions"], options)
    full = {(side, each): _is_full(side, facts.get(each), options) for each in POSITIONS for side in SIDES}
    short = [cell for cell, is_full in full.items() if is_full is False]
    unknown = _unknown(full, facts)
    if not short:
        words = (
            f"no eye recorded as falling short; {unknown}"
            if unknown
            else "both eyes full in all six positions"
        )
        return computation(words, words, ("incomplete",) if unknown else ("full",))
    names = [nerve for side in SIDES for nerve in _nerves(side, short)]
    said, tell = concluded(in_row(names), _short_facts(short, facts), options)
    words = "; ".join(filter(None, (said, *_muscles(short), _together(short), unknown)))
    remark = Remark(
        text="weak, or held back: consider the muscle, its nerve, the orbit", source=_ANATOMY, tell=tell
    )
    return computation(words, words, (*_classes(short), *(["incomplete"] if unknown else [])), (remark,))


def _positions(facts: Facts, options: Options) -> dict[str, Fact]:
    """Return the facts by position, whatever the sites of the step are called."""
    named = dict(zip(options.texts("positions"), POSITIONS, strict=False))
    return {named[site]: fact for (_, site), fact in facts.items() if site in named}


def _is_full(side: str, fact: Fact | None, options: Options) -> bool | None:
    """Whether the eye of a side moved fully; a finding that names an eye clears the other."""
    if fact is None:
        return None
    short = {each: options.texts(f"{each}_short") for each in (*SIDES, "both")}
    found = {each for each, ids in short.items() if not fact.classes.isdisjoint(ids)}
    if side in found or "both" in found:
        return False
    is_clear = fact.is_expected or found or not fact.classes.isdisjoint(options.texts("full"))
    return True if is_clear else None


def _short_facts(short: list[Cell], facts: Mapping[str, Fact]) -> list[Fact]:
    return [facts[position] for position in dict.fromkeys(position for _, position in short)]


def _by_nerve(side: str, short: list[Cell]) -> dict[str, list[str]]:
    """Return the positions in which an eye falls short, by the nerve of the muscle."""
    found: dict[str, list[str]] = {}
    for each, position in short:
        if each == side:
            found.setdefault(muscle(side, position).nerve, []).append(position)
    return {nerve: found[nerve] for nerve in ("third", "fourth", "sixth") if nerve in found}


_OF_NERVE = {"third": 4, "fourth": 1, "sixth": 1}


def _nerves(side: str, short: list[Cell]) -> Iterator[str]:
    for nerve, positions in _by_nerve(side, short).items():
        extent = "" if len(positions) == _OF_NERVE[nerve] else " in part"
        yield f"{side} {nerve} nerve weakness{extent}"


def _muscles(short: list[Cell]) -> Iterator[str]:
    for side in SIDES:
        row = [f"{muscle(side, where).name} ({where})" for each, where in short if each == side]
        if row:
            yield f"{side} eye short: {', '.join(row)}"


def _together(short: list[Cell]) -> str:
    both = [each for each in POSITIONS if all((side, each) in short for side in SIDES)]
    return f"both eyes short in {in_row(both)}: consider gaze itself" if both else ""


def _classes(short: list[Cell]) -> Iterator[str]:
    for side in SIDES:
        for nerve, positions in _by_nerve(side, short).items():
            yield f"{nerve}-{side}"
            if len(positions) == _OF_NERVE["third"]:
                yield f"third-{side}-whole"
    if _together(short):
        yield "gaze-short"


def _unknown(full: Mapping[Cell, bool | None], facts: Mapping[str, Fact]) -> str:
    """Return the positions that were not tested, and those where no eye was named."""
    missing = [each for each in POSITIONS if each not in facts]
    open_at = [each for each in POSITIONS if each in facts and full["right", each] is None]
    parts = (
        f"not tested: {', '.join(missing)}" if missing else "",
        f"differs without an eye named: {', '.join(open_at)}" if open_at else "",
    )
    return "; ".join(filter(None, parts))


# ------------------------------------------------------------------ cover and uncover

DIRECTIONS = ("in", "out", "up", "down", "vertical")
_HAD_BEEN = {**WAS, "vertical": "vertical "}


class _Seen(NamedTuple):
    """How the eye of a side moved; no direction where it moved and none was recorded."""

    side: str
    directions: tuple[str, ...]
    fact: Fact

    def turned(self, kind: str) -> str:
        """Return what the movement is called: `exotropia`, `exophoria and hyperphoria`, `tropia`."""
        return in_row(f"{_HAD_BEEN[each]}{kind}" for each in self.directions) or kind

    def names(self, kind: str) -> list[str]:
        return [kind, *(f"{_HAD_BEEN[each]}{kind}".replace(" ", "-") for each in self.directions)]


def eye_alignment(inputs: Inputs, options: Options) -> Meaning | None:
    """Return tropia by eye and direction; phoria only where both eyes were steady on the cover test."""
    cover, uncover = inputs["cover"], inputs.get("uncover", {})
    tropias = list(_moved(cover, options))
    settled = [side for side in SIDES if _is_settled(side, cover, options)]
    back = list(_moved(uncover, options))
    stays = [side for side in SIDES if (side, "") in uncover and _has(uncover[side, ""], "stays", options)]
    found = [_tropia(each, options) for each in tropias]
    if back and len(settled) == len(SIDES) and not tropias:
        found += [_phoria(each) for each in back]
    elif back:
        found.append(_unnamed(back, bool(tropias)))
    found += [_stays(side, uncover[side, ""], options) for side in stays]
    gaps = _gaps(settled, uncover)
    if not found and len(settled) == len(SIDES):
        found.append(_Part("no movement as the other eye was covered", ("steady",)))
    words = "; ".join((*(part.words for part in found), *gaps))
    classes = [each for part in found for each in part.classes]
    remarks = [part.remark for part in found if part.remark]
    return computation(words, words, (*classes, *(["incomplete"] if gaps else [])), dict.fromkeys(remarks))


class _Part(NamedTuple):
    """One thing that the cover tests come to."""

    words: str
    classes: tuple[str, ...]
    remark: Remark | None = None


def _has(fact: Fact, option: str, options: Options) -> bool:
    return not fact.classes.isdisjoint(options.texts(option))


def _moved(facts: Facts, options: Options) -> Iterator[_Seen]:
    for side in SIDES:
        fact = facts.get((side, ""))
        if fact is None:
            continue
        directions = tuple(each for each in DIRECTIONS if _has(fact, each, options))
        if directions or _has(fact, "moved", options):
            yield _Seen(side, directions, fact)


def _is_settled(side: str, facts: Facts, options: Options) -> bool:
    """Whether it is known if the eye of a side moved."""
    fact = facts.get((side, ""))
    if fact is None:
        return False
    return fact.is_expected or any(_has(fact, each, options) for each in (*DIRECTIONS, "moved", "steady"))


def _tropia(seen: _Seen, options: Options) -> _Part:
    kind = seen.turned("tropia")
    said, tell = concluded(f"{kind}, {seen.side} eye", [seen.fact], options)
    sided = (f"{name}-{seen.side}" for name in seen.names("tropia"))
    text = f"{seen.side} eye moved to fix as the other was covered"
    remark = Remark(text=text, source=MOVEMENTS, tell=tell)
    return _Part(said, ("tropia", *sided), remark)


def _phoria(seen: _Seen) -> _Part:
    words = f"pattern of {seen.turned('phoria')}: consider ({seen.side} eye moved back on uncovering)"
    text = "a phoria is common; consider it where there are complaints"
    remark = Remark(text=text, source=PRACTICE, tell="note")
    return _Part(words, tuple(seen.names("phoria")), remark)


def _unnamed(back: list[_Seen], is_tropia: bool) -> _Part:
    sides = in_row(each.side for each in back)
    why = "beside a tropia" if is_tropia else "without a cover test of both eyes"
    return _Part(f"movement on uncovering, {sides}: no phoria named {why}", ())


def _stays(side: str, fact: Fact, options: Options) -> _Part:
    said, tell = concluded(f"a turn that stays on uncovering, {side} eye", [fact], options)
    text = f"{side} eye stays turned: consider a tropia, repeat the cover test"
    return _Part(said, (f"stays-turned-{side}",), Remark(text=text, source=PRACTICE, tell=tell))


def _gaps(settled: list[str], uncover: Facts) -> list[str]:
    """Return what was not tested, or not clear."""
    open_sides = [side for side in SIDES if side not in settled]
    untested = [side for side in SIDES if (side, "") not in uncover]
    gaps = [f"cover test not tested or not clear: {in_row(open_sides)}"] if open_sides else []
    return [*gaps, *([f"uncover test not tested: {in_row(untested)}"] if untested else [])]


COMPUTATIONS: Mapping[str, Callable[[Inputs, Options], Meaning | None]] = {
    "eye-movements": eye_movements,
    "eye-alignment": eye_alignment,
}
