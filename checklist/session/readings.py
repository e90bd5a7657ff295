"""The readings of a session: the text that was typed, and what it means by the step's kind of reading.

The code of the kinds is loaded when the first reading is asked for.
"""

from collections.abc import Container, Iterator, Mapping
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from checklist.protocol.fields import is_id
from checklist.protocol.model import Reading, Step
from checklist.protocol.problems import quoted
from checklist.session.events import Result

if TYPE_CHECKING:
    from checklist.measures.reading import Meaning, Options
    from checklist.measures.spec import Kind


def kind_of(reading: Reading) -> "Kind":
    from checklist.measures import catalogue

    return catalogue.KINDS[reading.kind]


@lru_cache(maxsize=256)
def options_of(reading: Reading) -> "Options":
    """Return the options of a step's reading: what its protocol sets, over the defaults."""
    from checklist.measures import catalogue

    return catalogue.options(catalogue.KINDS[reading.kind], dict(reading.options), reading.source)


@lru_cache(maxsize=1024)
def understood(reading: Reading, text: str) -> "Meaning":
    """Return what a typed text means; raises ReadingError when it is no such reading."""
    from checklist.measures import catalogue

    return catalogue.read(catalogue.KINDS[reading.kind], text, options_of(reading))


def of_a_later_version(table: Mapping[str, Any]) -> str:
    """Say which kind of reading or of computation in a protocol's table is not known; empty when all are.

    Such a protocol is refused whole: without the kind its limits, and who is to be told, would be missing
    without a word.
    """
    from checklist.measures import catalogue

    sections = (each for section in _tables(table, "section") for each in _tables(section, "step"))
    readings = [step["reading"] for step in sections if isinstance(step.get("reading"), Mapping)]
    for what, known, tables in (
        ("reading", catalogue.KINDS, readings),
        ("computation", catalogue.COMPUTATIONS, list(_tables(table, "computed"))),
    ):
        if name := next(_unknown_kinds(tables, known), ""):
            return (
                f"a later version made it: this one does not know the {what} {quoted(name)} of its protocol"
            )
    return ""


def _tables(table: Mapping[str, Any], key: str) -> Iterator[Mapping[str, Any]]:
    found = table.get(key)
    for each in found if isinstance(found, list) else ():
        if isinstance(each, Mapping):
            yield each


def _unknown_kinds(tables: list[Mapping[str, Any]], known: Container[str]) -> Iterator[str]:
    """Yield what could be the name of a kind, and is not known; anything else is a damage."""
    for each in tables:
        kind = each.get("kind")
        if isinstance(kind, str) and is_id(kind) and kind not in known:
            yield kind


def meaning(step: Step, result: Result) -> "Meaning | None":
    """Return what the reading of a result means; None without one, or when it cannot be understood.

    A file that was changed by hand may hold any text: it is then shown as it stands, and nothing rests on it.
    """
    if not result.reading or step.reading is None:
        return None
    from checklist.measures.reading import ReadingError

    try:
        return understood(step.reading, result.reading)
    except ReadingError:
        return None


def in_short(step: Step, result: Result) -> str:
    """Return the reading of a result as it is charted; empty without one."""
    found = meaning(step, result)
    return found.chart if found else result.reading


def is_wanted(step: Step) -> bool:
    """Whether a reading is typed whenever an entry of the step is recorded."""
    return step.reading is not None and step.reading.wanted == "always"
