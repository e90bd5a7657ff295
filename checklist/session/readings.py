"""The readings of a session: the text that was typed, and what it means by the step's kind of reading.

The code of the kinds is loaded when the first reading is asked for.
"""

from functools import lru_cache
from typing import TYPE_CHECKING

from checklist.protocol.model import Reading, Step
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
