"""What was recorded of each cranial nerve, put together from the steps that say they cover it. Pure.

It says which steps were recorded and how, and which were not; never that a nerve is intact.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from checklist.protocol.model import Entry, Protocol, Step
from checklist.reasoning.facts import Known

NUMBERS = ("I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX", "X", "XI", "XII")
TAG = "CN "
"""Before the number in the tags of a step: `CN VII`."""
# What the patient reports tests no nerve: "no trouble smelling" must not stand as the first nerve examined.
# To tell something and to clean hands examines nothing.
_TESTS_NOTHING = ("ask", "tell", "hygiene")


@dataclass(frozen=True, kw_only=True, slots=True)
class Part:
    """Some entries of a step."""

    step: Step
    entries: tuple[Entry, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Nerve:
    """One cranial nerve, and the steps that cover it, each in the order of the protocol."""

    number: str
    expected: tuple[Step, ...] = ()
    """Recorded as expected at every entry."""
    differing: tuple[Part, ...] = ()
    """With the entries that differ."""
    partial: tuple[Part, ...] = ()
    """Examined at some entries, with those that were not; what was may differ, and is then in both."""
    unexamined: tuple[Step, ...] = ()

    @property
    def is_examined(self) -> bool:
        return bool(self.expected or self.differing or self.partial)

    @property
    def is_as_expected(self) -> bool:
        """Whether every step that covers it was recorded as expected, on every side and at every site."""
        return bool(self.expected) and not (self.differing or self.partial or self.unexamined)


def cranial_nerves(protocol: Protocol, found: Mapping[str, Known]) -> tuple[Nerve, ...]:
    """Return the nerves that steps of the protocol test, from I to XII."""
    covering = {number: tuple(_covering(protocol, number)) for number in NUMBERS}
    return tuple(_nerve(number, steps, found) for number, steps in covering.items() if steps)


def _covering(protocol: Protocol, number: str) -> Iterator[Step]:
    for step in protocol:
        if f"{TAG}{number}" in step.covers and step.technique not in _TESTS_NOTHING:
            yield step


def _nerve(number: str, steps: tuple[Step, ...], found: Mapping[str, Known]) -> Nerve:
    recorded = tuple(step for step in steps if step.id in found)
    differing = tuple(part for step in recorded if (part := _differing(step, found[step.id])).entries)
    partial = tuple(part for step in recorded if (part := _missing(step, found[step.id])).entries)
    not_wholly_expected = {part.step.id for part in (*differing, *partial)}
    return Nerve(
        number=number,
        expected=tuple(step for step in recorded if step.id not in not_wholly_expected),
        differing=differing,
        partial=partial,
        unexamined=_unexamined(steps, found),
    )


def _differing(step: Step, known: Known) -> Part:
    facts = known.facts
    differ = (
        each for each in step.entries if (fact := facts.get((each.side, each.site))) and not fact.is_expected
    )
    return Part(step=step, entries=tuple(differ))


def _missing(step: Step, known: Known) -> Part:
    missing = (each for each in step.entries if (each.side, each.site) not in known.facts)
    return Part(step=step, entries=tuple(missing))


def _unexamined(steps: tuple[Step, ...], found: Mapping[str, Known]) -> tuple[Step, ...]:
    """Return the steps of which nothing was examined.

    A conditional step is in no count until something is recorded for it, and so it is missed here only where
    a nerve has no other.
    """
    unexamined = tuple(step for step in steps if step.id not in found)
    if all(step.only_if for step in steps) and unexamined == steps:
        return unexamined
    return tuple(step for step in unexamined if not step.only_if)
