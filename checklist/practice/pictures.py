"""How a class of a computation looks at the steps that it is computed from. Pure.

For the tests of which textbooks give the whole picture there is a recipe; for the rest, findings are tried.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from random import Random

from checklist.measures import catalogue
from checklist.measures.reading import OTHER_SIDE_OF, Fact, Options
from checklist.practice.cases import Truth
from checklist.practice.fitting import fitting
from checklist.protocol.model import SIDES, Entry, Step
from checklist.session import readings

_TRIED = 300
_MOST_ENTRIES = 4
Steps = Mapping[str, Step]
"""The steps of a computation by the name of the input."""
Truths = tuple[Truth, ...]


@dataclass(frozen=True, slots=True)
class Asked:
    """What a picture is made for: a computation with its steps and options, the side, and the chance."""

    kind: str
    steps: Steps
    given: Options
    side: str
    rng: Random

    @property
    def other(self) -> str:
        return OTHER_SIDE_OF[self.side]


Recipe = Callable[[Asked], Truths | None]


def _shows(asked: Asked, name: str, option: str, side: str) -> Truths | None:
    """Return a truth in which the input shows one of the findings that the option lists; new ones first."""
    step = asked.steps[name]
    listed = [each for each in step.findings if each.id in asked.given.texts(option)]
    told = [each.id for each in listed if each.tell != "note"] or [each.id for each in listed]
    plain = [each for each in told if not each.endswith("sudden")] or told
    if not plain:
        return None
    finding = asked.rng.choice(plain)
    reading = fitting(step, finding)
    if reading is None:
        return None
    return (Truth(step=step.id, side=side if step.sides else "", findings=(finding,), reading=reading),)


def _all(*parts: Truths | None) -> Truths | None:
    if any(part is None for part in parts):
        return None
    return tuple(truth for part in parts if part for truth in part)


# Weber and Rinne: louder in the ear with a conductive loss, where bone is heard longer; away from an ear with
# a sensorineural loss, where air is heard longer. Primary-care reference, quoted second hand. The ear that
# hears less misses whispered items either way.


def _conductive(asked: Asked) -> Truths | None:
    return _all(
        _whisper(asked),
        _shows(asked, "weber", f"weber_{asked.side}", ""),
        _shows(asked, "rinne", "rinne_bone", asked.side),
    )


def _sensorineural(asked: Asked) -> Truths | None:
    return _all(
        _whisper(asked),
        _shows(asked, "weber", f"weber_{asked.other}", ""),
    )


def _whisper(asked: Asked) -> Truths | None:
    return _shows(asked, "whisper", "whisper_fails", asked.side) if "whisper" in asked.steps else ()


# A weak face: the forehead is spared, or weak as well. Standard neurology texts, quoted second hand.


def _central(asked: Asked) -> Truths | None:
    names = [name for name in ("smile", "cheeks") if name in asked.steps]
    return _all(*(_shows(asked, name, f"{name}_weak", asked.side) for name in names))


def _peripheral(asked: Asked) -> Truths | None:
    names = [name for name in ("brows", "eyes", "smile", "cheeks") if name in asked.steps]
    return _all(*(_shows(asked, name, f"{name}_weak", asked.side) for name in names))


# Light reflexes: the side of a test is the eye that is lit. An eye that does not conduct moves neither pupil;
# a pupil that cannot move stays, whichever eye is lit. neuroexam.com, pupillary responses, read.


def _afferent(asked: Asked) -> Truths | None:
    return _all(
        _still(asked.steps, "direct", asked.side),
        _still(asked.steps, "consensual", asked.side),
        _relative_afferent(asked),
    )


def _efferent(asked: Asked) -> Truths | None:
    return _all(_still(asked.steps, "direct", asked.side), _still(asked.steps, "consensual", asked.other))


def _relative_afferent(asked: Asked) -> Truths | None:
    return _shows(asked, "swinging", "widening", asked.side) if "swinging" in asked.steps else ()


def _still(steps: Steps, name: str, lit: str) -> Truths | None:
    """Return that nothing constricts there: a pupil that is only slow would leave the picture open."""
    step = steps[name]
    return (Truth(step=step.id, side=lit, findings=("none",)),) if "none" in step.finding_of else None


RECIPES: Mapping[str, Mapping[str, Recipe]] = {
    "fork-tests": {"conductive": _conductive, "sensorineural": _sensorineural},
    "facial-weakness": {"central": _central, "peripheral": _peripheral},
    "light-reflexes": {
        "afferent": _afferent,
        "efferent": _efferent,
        "relative-afferent": _relative_afferent,
    },
}
"""By kind of computation and class without its side."""


# Change on standing: by 20 systolic or 10 diastolic, and still above what is told by itself. The limits are
# those of the kind of computation, which names their source.

_FALLS = (("118/76", "94/64"), ("116/74", "92/70"), ("118/78", "108/66"))
"""Pressures lying and standing: both fall, the systolic alone, the diastolic alone."""
_FALL = "fall-no-signs"


def fallen(asked: Asked, value: str) -> Truths | None:
    """Return pressures that come to a class of the change on standing; None where none is known."""
    lying, standing = (asked.steps[name] for name in ("lying", "standing"))
    if not all(step.reading and step.reading.kind == "blood-pressure" for step in (lying, standing)):
        return None
    for before, after in _FALLS:
        inputs = {"lying": _measured(lying, before), "standing": _measured(standing, after)}
        meaning = catalogue.compute(catalogue.COMPUTATIONS[asked.kind], inputs, asked.given)
        if meaning and value in meaning.classes:
            findings = (_FALL,) if _FALL in standing.finding_of else ()
            return (
                Truth(step=lying.id, reading=before),
                Truth(step=standing.id, findings=findings, reading=after),
            )
    return None


def _measured(step: Step, text: str) -> dict[tuple[str, str], Fact]:
    assert step.reading is not None
    return {("", ""): Fact(is_expected=True, meaning=readings.understood(step.reading, text))}


def searched(asked: Asked, value: str) -> Truths | None:
    """Return as few findings as possible, found by trying, that make a computation come to a class."""
    places = [(step, entry) for step in asked.steps.values() for entry in step.entries if step.findings]
    if asked.side in SIDES:
        places = [place for place in places if place[1].side in ("", asked.side)]
    for tried in range(_TRIED if places else 0):
        count = 1 + tried * _MOST_ENTRIES // _TRIED
        chosen = asked.rng.sample(places, min(count, len(places)))
        changed = {(step.id, entry): asked.rng.choice(step.findings).id for step, entry in chosen}
        if _comes_to(asked, value, changed):
            return _truths(asked.steps, changed)
    return None


Changed = Mapping[tuple[str, Entry], str]


def _comes_to(asked: Asked, value: str, changed: Changed) -> bool:
    inputs = {name: _facts(step, changed) for name, step in asked.steps.items()}
    meaning = catalogue.compute(catalogue.COMPUTATIONS[asked.kind], inputs, asked.given)
    return meaning is not None and value in meaning.classes


def _facts(step: Step, changed: Changed) -> dict[tuple[str, str], Fact]:
    return {
        (entry.side, entry.site): Fact(
            is_expected=(step.id, entry) not in changed,
            classes=frozenset(filter(None, (changed.get((step.id, entry), ""),))),
        )
        for entry in step.entries
    }


def _truths(steps: Steps, changed: Changed) -> Truths | None:
    step_of: Mapping[str, Step] = {step.id: step for step in steps.values()}
    made: Sequence[tuple[tuple[str, Entry], str, str | None]] = [
        (place, finding, fitting(step_of[place[0]], finding)) for place, finding in changed.items()
    ]
    if any(reading is None for _, _, reading in made):
        return None
    return tuple(
        Truth(step=step, side=entry.side, site=entry.site, findings=(finding,), reading=reading or "")
        for (step, entry), finding, reading in made
    )
