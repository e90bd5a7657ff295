"""Readings in the words of the note: value, unit, condition; out of range, the reference as well.

What could not be understood is said as it was typed; a value that was not recorded is said to be so.
"""

import re
from typing import TYPE_CHECKING

from checklist.protocol.model import Step
from checklist.session import readings
from checklist.session.events import Outcome, Result

if TYPE_CHECKING:
    from checklist.measures.reading import Meaning

READING = "{reading}"
_WITH_COMMA = re.compile(r",? ?\{reading\}$|\{reading\},? ?")
_NO_VALUE = "value not recorded"
_NO_BRACES = str.maketrans("{}", "()")


def with_reading(
    step: Step, result: Result, predicates: tuple[str, ...], *, has_reference: bool
) -> tuple[str, ...]:
    """Put the reading where the first predicate wants it, or in brackets after the last one."""
    value, reference = _said(step, result, has_reference=has_reference)
    alone = f"{value} ({reference})" if reference else value
    if not predicates:
        return (alone,) if value else ()
    places = [index for index, each in enumerate(predicates) if READING in each]
    if not value:
        missing = _NO_VALUE if result.outcome is Outcome.DIFFERS else f"as expected, {_NO_VALUE}"
        return tuple(each.replace(READING, missing) for each in predicates)
    if places:
        # Said once, however many findings have a place for it; one that says nothing else is left out.
        said = (
            each.replace(READING, alone) if index == places[0] else _WITH_COMMA.sub("", each)
            for index, each in enumerate(predicates)
        )
        return tuple(filter(None, said))
    *most, last = predicates
    return (*most, f"{last} ({'; '.join(filter(None, (value, reference)))})")


def _said(step: Step, result: Result, *, has_reference: bool) -> tuple[str, str]:
    """Return a reading as charted, and what is out of range with the reference used."""
    meaning = readings.meaning(step, result)
    if meaning is None:
        return result.reading.translate(_NO_BRACES), ""
    return meaning.chart, out_of_range(meaning) if has_reference else ""


def is_told(step: Step, result: Result) -> bool:
    """Whether a result is told to somebody, so that the reference stands with what is to be reported."""
    return bool(result.tell) or any(step.finding_of[each].tell != "note" for each in result.findings)


def out_of_range(meaning: "Meaning") -> str:
    """Return what is out of range, each with its source; empty when nothing is."""
    said_of: dict[str, list[str]] = {}
    for remark in meaning.remarks:
        if remark.tell:
            said = said_of.setdefault(remark.source, [])
            if remark.text not in meaning.chart:
                said.append(remark.text)
    return "; ".join(": ".join(filter(None, ("; ".join(texts), source))) for source, texts in said_of.items())
