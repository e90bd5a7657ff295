"""What the tests of acuity share: reading and computing with the kinds of sight, both eyes, a log chart."""

from checklist.measures import catalogue
from checklist.measures.reading import Fact, Facts, Meaning, Options, OptionValue
from checklist.measures.sight_kinds import COMPUTATIONS, KINDS
from checklist.measures.spec import Kind
from tests.measures.eyes import both

KIND = {kind.id: kind for kind in KINDS}
BETTER = COMPUTATIONS[0]

LOG_LINES = (200.0, 160.0, 125.0, 100.0, 80.0, 63.0, 50.0, 40.0, 32.0, 25.0, 20.0, 16.0, 12.5, 10.0)
"""A chart in even steps, as DICOM PS3.17 Table RR-1 prints its lines; a protocol sets it."""


def given(kind: Kind, **values: OptionValue) -> Options:
    return catalogue.options(kind, values, "a test")


def read(kind: str, text: str, **values: OptionValue) -> Meaning:
    found = catalogue.read(KIND[kind], text, given(KIND[kind], **values))
    assert set(found.classes) <= set(KIND[kind].classes)
    assert set(values) <= {option.name for option in KIND[kind].options}
    return found


def distance(text: str, **values: OptionValue) -> Meaning:
    return read("distance-acuity", text, **values)


def on_log_chart(text: str) -> Meaning:
    """Read on a chart of five letters a line in even steps."""
    return distance(text, lines=LOG_LINES, letters_per_line=5)


def near(text: str, **values: OptionValue) -> Meaning:
    return read("near-acuity", text, **values)


def eyes(right: str, left: str, **values: OptionValue) -> dict[tuple[str, str], Fact]:
    """Return the facts of both eyes measured at distance."""
    return both(*(Fact(is_expected=True, meaning=distance(text, **values)) for text in (right, left)))


def together(facts: Facts, **values: OptionValue) -> Meaning | None:
    kind = KIND["distance-acuity"]
    found = catalogue.together(kind, facts, given(kind, **values))
    assert found is None or set(found.classes) <= set(kind.together)
    return found


def compared(right: str, left: str, **values: OptionValue) -> Meaning:
    found = together(eyes(right, left, **values), **values)
    assert found is not None
    assert found.text == ""
    return found


def better(facts: Facts, **values: OptionValue) -> Meaning | None:
    found = catalogue.compute(BETTER, {"acuity": facts}, catalogue.options(BETTER, values, "a test"))
    assert found is None or (set(found.classes) <= set(BETTER.classes) and found.text == "")
    return found
