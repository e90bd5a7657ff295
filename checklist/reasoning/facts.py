"""What is known of an examination, step by step, in the form in which computations and patterns ask for it.

Only what was examined is known: an entry that was not reached, not examined or not seen is not there.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from checklist.measures import catalogue
from checklist.measures.reading import Fact, Facts, Meaning
from checklist.protocol.model import Computed, Step
from checklist.reasoning.same import Same
from checklist.session import readings
from checklist.session.events import Outcome
from checklist.session.session import Session
from checklist.session.state import Record

EXAMINED = (Outcome.EXPECTED, Outcome.DIFFERS)


@dataclass(frozen=True, kw_only=True, slots=True)
class Known:
    """What is known of one step, or what one computation came to."""

    facts: Facts
    """By side and site; empty for a computation."""
    together: Meaning | None = None
    """What the entries mean together."""


def known(session: Session) -> Mapping[str, Known]:
    """Return what is known, by the id of the step or the computation; what is not known is not there."""
    return _known_of(Same(session))


@lru_cache(maxsize=4)
def _known_of(same: Same) -> Mapping[str, Known]:
    session = same.session
    protocol, records = session.protocol, session.state.records
    found = {step.id: _known(step, records[step.id]) for step in protocol if step.id in records}
    found = {step: each for step, each in found.items() if each.facts}
    for computed in protocol.computed:
        if meaning := _computed(computed, found):
            found[computed.id] = Known(facts={}, together=meaning)
    return found


def _known(step: Step, records: Mapping[str, Record]) -> Known:
    facts = {
        (entry.side, entry.site): _fact(step, records[entry.key])
        for entry in step.entries
        if entry.key in records and records[entry.key].result.outcome in EXAMINED
    }
    together = None
    if step.reading and facts:
        together = catalogue.together(
            readings.kind_of(step.reading), facts, readings.options_of(step.reading)
        )
    return Known(facts=facts, together=together)


def _fact(step: Step, record: Record) -> Fact:
    meaning = readings.meaning(step, record.result)
    classes = meaning.classes if meaning else ()
    return Fact(
        is_expected=record.result.outcome is Outcome.EXPECTED,
        classes=frozenset((*record.result.findings, *classes)),
        meaning=meaning,
    )


def _computed(computed: Computed, found: Mapping[str, Known]) -> Meaning | None:
    kind = catalogue.COMPUTATIONS[computed.kind]
    inputs = {name: found[step].facts for name, step in computed.inputs if step in found}
    given = catalogue.options(kind, dict(computed.options), computed.source)
    return catalogue.compute(kind, inputs, given)
