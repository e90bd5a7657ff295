"""Facial weakness: whether the forehead of a weak side is spared, from findings of each movement. Pure.

What is spared or weak is what was examined; weakness that is long known, or that injections explain, is not
judged, and a forehead that was not judged is never called spared.
"""

from collections.abc import Callable, Mapping

from checklist.measures.head_parts import expected_unsaid
from checklist.measures.reading import SIDES, Fact, Facts, Meaning, Options, Remark

WEAK, FULL, UNKNOWN = "weak", "full", "not judged"
_PARTS = {"brows": "brow", "eyes": "eye closure", "smile": "smile", "cheeks": "cheek"}


def pattern_of(brow: str, eye: str, mouth: str) -> str:
    """Return what a side shows, from `weak`, `full` or `not judged` of forehead, eye closure and mouth.

    `central`: mouth weak, forehead spared; `peripheral`: both weak; `partial`: weak, but neither of these;
    `none`; `undetermined` when something that decides was not judged. Eye closure decides nothing between
    the first two, as it can be weak in both. Standard neurology texts, quoted second hand.
    """
    if mouth == WEAK and brow != UNKNOWN:
        return "central" if brow == FULL else "peripheral"
    if UNKNOWN in (brow, mouth):
        return "undetermined"
    if WEAK in (brow, eye):
        return "partial"
    return "undetermined" if eye == UNKNOWN else "none"


def mouth_of(smile: str, cheek: str) -> str:
    """Return the state of the mouth: weak in either movement; a full cheek alone does not make it full."""
    return WEAK if WEAK in (smile, cheek) else smile


def facial_weakness(inputs: Mapping[str, Facts], options: Options) -> Meaning | None:
    """Return the pattern of each side, right and left apart."""
    states = {side: _states(inputs, side, options) for side in SIDES}
    patterns = {
        side: pattern_of(each["brows"], each["eyes"], mouth_of(each["smile"], each.get("cheeks", UNKNOWN)))
        for side, each in states.items()
    }
    weak = [side for side in SIDES if WEAK in states[side].values()]
    if not weak:
        return _no_weakness(patterns, states)
    said = "; ".join(f"{side}: {_SAID[patterns[side]]}" for side in weak)
    both = "; both sides weak, so neither can be compared with the other" if len(weak) == 2 else ""
    inputs_said = "; ".join(f"{side} {_listed(states[side])}" for side in SIDES)
    tell = options.text("tell")
    do = {"report": ". Consider and report", "urgent": ". Tell at once"}.get(tell, "")
    return Meaning(
        text="",
        words=f"{inputs_said}. {said}{both}{do}",
        chart=f"{inputs_said}; {said}{both}",
        classes=_classes(patterns, states),
        remarks=(Remark(text=f"{said}{both}", source=options.source("tell"), tell=tell),),
    )


_SAID = {
    "central": "forehead spared, pattern called central",
    "peripheral": "forehead weak as well, pattern called peripheral",
    "partial": "weak in part, neither pattern",
    "undetermined": "weak, pattern open as not all was judged",
}


def _states(inputs: Mapping[str, Facts], side: str, options: Options) -> dict[str, str]:
    """Return the state of each movement on a side; a movement with no step of its own is left out."""
    return {name: _state(inputs[name].get((side, "")), name, options) for name in _PARTS if name in inputs}


def _state(fact: Fact | None, name: str, options: Options) -> str:
    if fact is None:
        return UNKNOWN
    if fact.classes & frozenset(options.texts(f"{name}_weak")):
        return WEAK
    return FULL if expected_unsaid(fact) else UNKNOWN


def _listed(states: Mapping[str, str]) -> str:
    """Return the movements of a side grouped by their state: `brow, smile weak, eye closure full`."""
    groups = {
        state: [_PARTS[name] for name in states if states[name] == state] for state in (WEAK, FULL, UNKNOWN)
    }
    return ", ".join(f"{', '.join(names)} {state}" for state, names in groups.items() if names)


def _classes(patterns: Mapping[str, str], states: Mapping[str, Mapping[str, str]]) -> tuple[str, ...]:
    shown = tuple(f"{patterns[side]}-{side}" for side in SIDES if patterns[side] != "none")
    eyes = tuple(f"eye-weak-{side}" for side in SIDES if states[side]["eyes"] == WEAK)
    both = ("both-sides",) if all(WEAK in states[side].values() for side in SIDES) else ()
    return (*shown, *eyes, *both)


def _no_weakness(patterns: Mapping[str, str], states: Mapping[str, Mapping[str, str]]) -> Meaning | None:
    """Return that no movement was weak, and what was not judged; None when nothing was."""
    if not any(FULL in each.values() for each in states.values()):
        return None
    said = "; ".join(f"{side} {_listed(states[side])}" for side in SIDES)
    return Meaning(text="", words=said, chart=said, classes=_classes(patterns, states) or ("none-weak",))


COMPUTATIONS: Mapping[str, Callable[[Mapping[str, Facts], Options], Meaning | None]] = {
    "facial-weakness": facial_weakness,
}
