"""What the tests of head and neck share: reading through the catalogue, and the laws of every kind."""

import tomllib
from collections.abc import Mapping
from pathlib import Path

from hypothesis import strategies as st

from checklist.measures import catalogue
from checklist.measures.reading import TELLS, Fact, Facts, Meaning, OptionValue, ReadingError

PROTOCOL = Path(__file__).parents[2] / "protocols" / "head-and-neck.toml"
SIDES = ("right", "left")
SWAP = {"right": "left", "left": "right"}


def read(kind: str, text: str, **options: OptionValue) -> Meaning:
    """Read a text; its classes must be among those of the catalogue."""
    known = catalogue.KINDS[kind]
    meaning = catalogue.read(known, text, catalogue.options(known, options, "as set"))
    assert set(meaning.classes) <= set(known.classes)
    return meaning


def compute(kind: str, inputs: Mapping[str, Facts], **options: OptionValue) -> Meaning | None:
    """Compute; the classes must be among those of the catalogue."""
    known = catalogue.COMPUTATIONS[kind]
    meaning = catalogue.compute(known, inputs, catalogue.options(known, options, "as set"))
    assert meaning is None or set(meaning.classes) <= set(known.classes)
    return meaning


def found(*classes: str) -> Fact:
    """An entry that differs, with these findings or classes."""
    return Fact(is_expected=False, classes=frozenset(classes))


def expected() -> Fact:
    """An entry recorded as expected, without a finding or a reading."""
    return Fact(is_expected=True)


def measured(kind: str, text: str) -> Fact:
    meaning = read(kind, text)
    return Fact(is_expected=not meaning.tell, classes=frozenset(meaning.classes), meaning=meaning)


def holds_the_laws(kind: str, text: str, **options: OptionValue) -> bool:
    """Check what holds of any text: refused in one short line, or read again to the same. True when read."""
    try:
        meaning = read(kind, text, **options)
    except ReadingError as error:
        assert 0 < len(str(error)) <= 120 and "\n" not in str(error)
        return False
    assert read(kind, meaning.text, **options) == meaning
    assert meaning.text.isascii() and meaning.words and meaning.chart
    assert meaning.classes
    assert all(remark.source and remark.text and remark.tell in TELLS for remark in meaning.remarks)
    words = f"{meaning.words} {meaning.chart}".casefold().split()
    assert not {"normal", "good", "fine", "wnl", "positive", "negative"} & set(words)
    return True


def texts(alphabet: str) -> st.SearchStrategy[str]:
    """Any text, and text of the letters that a kind reads."""
    return st.one_of(st.text(max_size=20), st.text(alphabet=alphabet, max_size=16))


def refusal(kind: str, text: str, **options: OptionValue) -> str:
    """Return why a text is refused; fails when it is read."""
    try:
        meaning = read(kind, text, **options)
    except ReadingError as error:
        return str(error)
    raise AssertionError(f"{text!r} was read as {meaning.text!r}")


def findings(step_id: str) -> set[str]:
    """Return the ids of the findings of a step of the bundled protocol, as its file has them."""
    protocol = tomllib.loads(PROTOCOL.read_text(encoding="utf-8"))
    steps = {step["id"]: step for section in protocol["section"] for step in section["step"]}
    return {each["id"] for each in steps[step_id]["finding"]}
