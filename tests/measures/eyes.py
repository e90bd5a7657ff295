"""What the tests of the eyes share: reading and computing through the catalogue, facts, the other side."""

import re
from collections.abc import Mapping

from checklist.measures import catalogue
from checklist.measures.reading import Fact, Facts, Meaning, OptionValue

SIDES = ("right", "left")
EXPECTED = Fact(is_expected=True)


def read(kind: str, text: str, **values: OptionValue) -> Meaning:
    of = catalogue.KINDS[kind]
    return catalogue.read(of, text, catalogue.options(of, values, "a test"))


def together(kind: str, facts: Facts, **values: OptionValue) -> Meaning | None:
    of = catalogue.KINDS[kind]
    return catalogue.together(of, facts, catalogue.options(of, values, "a test"))


def compute(kind: str, inputs: Mapping[str, Facts], **values: OptionValue) -> Meaning | None:
    of = catalogue.COMPUTATIONS[kind]
    return catalogue.compute(of, inputs, catalogue.options(of, values, "a test"))


def computed(kind: str, inputs: Mapping[str, Facts], **values: OptionValue) -> Meaning:
    """Return what the inputs come to, which is something, and in the classes that the catalogue lists."""
    found = compute(kind, inputs, **values)
    assert found is not None
    assert set(found.classes) <= set(catalogue.COMPUTATIONS[kind].classes)
    assert found.text == ""
    return found


def differs(*findings: str) -> Fact:
    return Fact(is_expected=False, classes=frozenset(findings))


def both(right: Fact | None, left: Fact | None) -> dict[tuple[str, str], Fact]:
    """Return the facts of two sides; None where it was not examined."""
    return {(side, ""): fact for side, fact in zip(SIDES, (right, left), strict=True) if fact}


def sizes(right: float, left: float, site: str = "") -> dict[tuple[str, str], Fact]:
    """Return the facts of both pupils measured, in mm."""
    return {
        (side, site): Fact(is_expected=True, meaning=read("pupil-size", str(size)))
        for side, size in zip(SIDES, (right, left), strict=True)
    }


def swapped(facts: Facts) -> dict[tuple[str, str], Fact]:
    return {(mirrored(side), site): fact for (side, site), fact in facts.items()}


def mirrored(text: str) -> str:
    return re.sub(r"\b(right|left)\b", lambda found: {"right": "left", "left": "right"}[found[0]], text)
