"""Weber and Rinne together: the pattern of the two, checked against the whispered voice. Pure.

It names a pattern and what contradicts it; which ear is how deaf, and why, is for audiometry to say.
"""

from collections.abc import Callable, Iterator, Mapping
from typing import NamedTuple

from checklist.measures.head_parts import expected_unsaid
from checklist.measures.hearing import AIR, BONE, CHARTED, EQUAL, NOT_HEARD
from checklist.measures.limits import remark as told
from checklist.measures.reading import OTHER_SIDE_OF, SIDES, Fact, Facts, Meaning, Options, Remark

MIDLINE = "midline"


def fork_pattern(weber_to: str, rinne_right: str, rinne_left: str) -> tuple[str, ...]:
    """Return the classes of Weber (`midline`, `right`, `left`) with Rinne (`air`, `equal`, `bone`) per ear.

    Weber goes to the ear with a conductive loss and away from one with a sensorineural loss; Rinne turns, or
    is equal, in an ear with a conductive loss. An ear that hears nothing turns it too, as the other one hears
    the bone: then Weber goes away from it. Primary-care reference, quoted second hand; equal counts as
    turned: Burkey et al. 1998, abstract read.
    """
    ears = {"right": rinne_right, "left": rinne_left}
    turned = [side for side in SIDES if ears[side] != AIR]
    if len(turned) == 2:
        away = OTHER_SIDE_OF.get(weber_to, "")
        return ("conductive-both", *((f"false-negative-{away}",) if away and ears[away] == BONE else ()))
    if not turned:
        return ("no-difference",) if weber_to == MIDLINE else (f"sensorineural-{OTHER_SIDE_OF[weber_to]}",)
    (ear,) = turned
    if weber_to == ear:
        return (f"conductive-{ear}",)
    explained = weber_to != MIDLINE and ears[ear] == BONE
    return (f"weber-contradicts-rinne-{ear}", f"false-negative-{ear}" if explained else "inconsistent")


class _Forks(NamedTuple):
    """What was heard where; an empty state is no clear answer, and None was not tested."""

    weber: str
    rinne: Mapping[str, str | None]
    missed: frozenset[str]
    """The ears that missed the whispered voice."""
    heard: frozenset[str]
    """The ears that passed it."""
    inputs: str
    is_sudden: bool


def fork_tests(inputs: Mapping[str, Facts], options: Options) -> Meaning | None:
    """Return the pattern of Weber and Rinne, checked against the whispered voice where that was done."""
    if ("", "") not in inputs["weber"]:
        return None
    forks = _forks(inputs, options)
    if untested := [side for side in SIDES if forks.rinne[side] is None]:
        return _no_pattern(forks, f"Rinne not tested on the {' and '.join(untested)}", "incomplete", options)
    right, left = (forks.rinne[side] or "" for side in SIDES)
    if forks.weber not in (MIDLINE, *SIDES) or not {right, left} <= {AIR, EQUAL, BONE}:
        return _no_pattern(forks, "no pattern from these answers", "unclear", options)
    if not options.flag("equal_counts"):
        right, left = (AIR if each == EQUAL else each for each in (right, left))
    classes = _with_whisper(fork_pattern(forks.weber, right, left), forks)
    return _pattern(classes, forks, EQUAL in (right, left), options)


def _forks(inputs: Mapping[str, Facts], options: Options) -> _Forks:
    weber_fact, rinne_facts, whisper = inputs["weber"][("", "")], inputs["rinne"], inputs.get("whisper", {})
    weber_to = _answer(weber_fact, _ids(options, "weber", (MIDLINE, *SIDES, NOT_HEARD)), MIDLINE)
    rinne_ids = _ids(options, "rinne", (AIR, EQUAL, BONE, NOT_HEARD))
    states = {
        side: _answer(rinne_facts[(side, "")], rinne_ids, AIR) if (side, "") in rinne_facts else None
        for side in SIDES
    }
    fails = frozenset(options.texts("whisper_fails"))
    ears = {side: whisper[(side, "")] for side in SIDES if (side, "") in whisper}
    missed = frozenset(side for side, fact in ears.items() if fact.classes & fails)
    heard = frozenset(
        side
        for side, fact in ears.items()
        if side not in missed and ("passes" in fact.classes or expected_unsaid(fact))
    )
    sudden = frozenset(options.texts("sudden"))
    every = (weber_fact, *rinne_facts.values(), *whisper.values())
    return _Forks(
        weber=weber_to,
        rinne=states,
        missed=missed,
        heard=heard,
        inputs="; ".join(_inputs(weber_to, states, missed, heard)),
        is_sudden=any(fact.classes & sudden for fact in every),
    )


def _ids(options: Options, test: str, states: tuple[str, ...]) -> Mapping[str, frozenset[str]]:
    return {state: frozenset(options.texts(f"{test}_{state.replace(' ', '_')}")) for state in states}


def _answer(fact: Fact, ids: Mapping[str, frozenset[str]], expected: str) -> str:
    """Return the one state that the finding or the reading stands for; empty when there is none, or two."""
    found = [state for state, known in ids.items() if fact.classes & known]
    if len(found) == 1:
        return found[0]
    return expected if expected_unsaid(fact) else ""


def _inputs(
    weber_to: str, states: Mapping[str, str | None], missed: frozenset[str], heard: frozenset[str]
) -> Iterator[str]:
    yield f"Weber {weber_to or 'not clear'}"
    names = {None: "not tested", "": "not clear"} | CHARTED
    yield "Rinne " + ", ".join(f"{side} {names[states[side]]}" for side in SIDES)
    if whisper := [
        f"{side} {'missed' if side in missed else 'passed'}" for side in SIDES if side in missed | heard
    ]:
        yield "whisper " + ", ".join(whisper)


def _with_whisper(classes: tuple[str, ...], forks: _Forks) -> tuple[str, ...]:
    """Return the classes with what the whispered voice adds: which ear hears worse, where one does."""
    both = len(forks.missed) == 2
    worse = next(iter(forks.missed)) if len(forks.missed) == 1 and len(forks.heard) == 1 else ""
    if classes == ("no-difference",):
        return ("equal-loss",) if both else (*classes, *(("whisper-disagrees",) if worse else ()))
    if not worse or {"conductive-both", "inconsistent"} & set(classes):
        return classes
    if classes[0] == f"sensorineural-{OTHER_SIDE_OF[worse]}":
        # Heard louder in the ear that hears worse: what is left is a conductive loss too small to turn Rinne.
        return (f"conductive-{worse}",)
    return classes if classes[0].endswith(worse) else (*classes, "whisper-disagrees")


def _pattern(classes: tuple[str, ...], forks: _Forks, with_equal: bool, options: Options) -> Meaning:
    said = "; ".join(_SAID[each.rsplit("-", 1)[0] if each.endswith(SIDES) else each] for each in classes)
    ear = next((side for side in SIDES for each in classes if each.endswith(side)), "")
    said = said.format(ear=ear, other=OTHER_SIDE_OF.get(ear, ""))
    tell = options.text("tell_pattern") if classes != ("no-difference",) else ""
    source = options.source("tell_pattern")
    if with_equal:
        source = f"{source}; equal: {options.source('equal_counts')}"
    return _meaning(forks, said, classes, Remark(text=said, source=source, tell=tell), options)


_SAID = {
    "no-difference": "no difference between the ears; equal loss on both sides is the same to a fork",
    "equal-loss": "pattern of equal loss on both sides, with air longer",
    "conductive": "pattern of conductive loss on the {ear}",
    "conductive-both": "pattern of conductive loss on both sides",
    "sensorineural": "pattern of sensorineural loss on the {ear}, or a small conductive loss on the {other}",
    "false-negative": "the {other} ear may be what hears the bone, as in severe sensorineural loss",
    "inconsistent": "inconsistent, repeat the tests",
    "weber-contradicts-rinne": "Weber contradicts Rinne on the {ear}",
    "whisper-disagrees": "the whispered voice disagrees",
}


def _no_pattern(forks: _Forks, why: str, found: str, options: Options) -> Meaning:
    remark = Remark(text=why, source=options.source("tell_pattern"), tell="note")
    return _meaning(forks, why, (found,), remark, options)


def _meaning(forks: _Forks, said: str, classes: tuple[str, ...], remark: Remark, options: Options) -> Meaning:
    if forks.is_sudden:
        text = f"{said}; sudden hearing loss reported"
        remark = told(text, options, "tell_sudden")
        classes = (*classes, "sudden")
    do = {"report": ": consider and report", "urgent": ": tell at once"}.get(remark.tell, "")
    return Meaning(
        text="",
        words=f"{forks.inputs}: {remark.text}{do}",
        chart=f"{forks.inputs}: {said}",
        classes=classes,
        remarks=(remark,),
    )


COMPUTATIONS: Mapping[str, Callable[[Mapping[str, Facts], Options], Meaning | None]] = {
    "fork-tests": fork_tests,
}
