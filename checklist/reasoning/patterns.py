"""Which patterns of a protocol are complete in what is known of an examination. Pure.

A complete pattern is something to consider and report, never a diagnosis.
Nothing is concluded from what was not examined: what is unknown neither completes a pattern nor rules
anything out.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from checklist.measures import catalogue
from checklist.measures.reading import Fact, Sided
from checklist.protocol.model import (
    OTHER_SIDE,
    OUTCOME_VALUES,
    SIDE,
    SIDES,
    URGENCIES,
    Condition,
    Pattern,
    Protocol,
    Step,
)
from checklist.reasoning.facts import Known

Places = tuple[Sided, ...]
"""Entries of one step; empty for a computation."""
Evidence = Sequence[tuple[str, Places]]


@dataclass(frozen=True, kw_only=True, slots=True)
class Match:
    """A pattern that is complete, for one side when it speaks of one."""

    pattern: Pattern
    side: str = ""
    """What `{side}` stands for, `right` or `left`; empty for a pattern that does not use it."""
    words: str
    """What to consider, with the sides filled in."""
    rests_on: tuple[tuple[str, Places], ...]
    """Steps, then computations, as listed, each with the entries that made the pattern complete."""


def matches(protocol: Protocol, found: Mapping[str, Known]) -> tuple[Match, ...]:
    """Return the patterns that are complete: the most urgent first, then as listed, right before left."""
    complete = (match for pattern in protocol.patterns for match in _matches(pattern, protocol, found))
    return tuple(sorted(complete, key=lambda match: -URGENCIES.index(match.pattern.tell)))


def _matches(pattern: Pattern, protocol: Protocol, found: Mapping[str, Known]) -> Iterator[Match]:
    # Most patterns end here, and all of them are tried at every key.
    if any(each.step not in found for each in (*pattern.every, *pattern.none)):
        return
    for side in SIDES if _is_sided(pattern) else ("",):
        asked = _for_side(pattern, side)
        evidence = _evidence(asked, protocol, found)
        if evidence is not None:
            rests_on = _as_listed(protocol, evidence)
            yield Match(pattern=pattern, side=side, words=asked.consider, rests_on=rests_on)


def _is_sided(pattern: Pattern) -> bool:
    of_conditions = ((each.side, each.site, *each.values) for each in pattern.conditions)
    texts = (pattern.consider, *(text for texts in of_conditions for text in texts))
    return any(variable in text for text in texts for variable in (SIDE, OTHER_SIDE))


def _for_side(pattern: Pattern, side: str) -> Pattern:
    """Put `side`, and the one opposite to it, in the place of the variables."""
    if not side:
        return pattern
    right, left = SIDES
    other = left if side == right else right

    def filled(text: str) -> str:
        return text.replace(SIDE, side).replace(OTHER_SIDE, other)

    def asked(conditions: Sequence[Condition]) -> tuple[Condition, ...]:
        return tuple(
            replace(
                each,
                values=tuple(filled(value) for value in each.values),
                side=filled(each.side),
                site=filled(each.site),
            )
            for each in conditions
        )

    return replace(
        pattern,
        every=asked(pattern.every),
        some=asked(pattern.some),
        none=asked(pattern.none),
        consider=filled(pattern.consider),
    )


def _evidence(pattern: Pattern, protocol: Protocol, found: Mapping[str, Known]) -> Evidence | None:
    """Return what makes the pattern complete; None when it is not."""
    every = [(each.step, _present(each, protocol, found)) for each in pattern.every]
    some = [(each.step, _present(each, protocol, found)) for each in pattern.some]
    none = [(each.step, _absent(each, protocol, found)) for each in pattern.none]
    if any(places is None for _, places in (*every, *none)):
        return None
    if some and all(places is None for _, places in some):
        return None
    return [(step, places) for step, places in (*every, *some, *none) if places is not None]


def _present(condition: Condition, protocol: Protocol, found: Mapping[str, Known]) -> Places | None:
    """Return the entries that have one of the values; None when none has, or none was examined."""
    known = found.get(condition.step)
    if known is None:
        return None
    if _is_of_all(condition) and _comes_to(known, condition.values):
        return tuple(known.facts)
    places = tuple(
        place
        for place in _in_question(condition, protocol)
        if place in known.facts and _has(known.facts[place], condition.values)
    )
    return places or None


def _is_of_all(condition: Condition) -> bool:
    """Whether it asks for the step as a whole: what the entries mean together belongs to no one side."""
    return not condition.side and not condition.site


def _comes_to(known: Known, values: Sequence[str]) -> bool:
    return known.together is not None and not set(values).isdisjoint(known.together.classes)


def _has(fact: Fact, values: Sequence[str]) -> bool:
    expected, differs = OUTCOME_VALUES
    outcome = expected if fact.is_expected else differs
    return outcome in values or not fact.classes.isdisjoint(values)


def _in_question(condition: Condition, protocol: Protocol) -> Places:
    step = protocol.step_of.get(condition.step)
    return tuple(
        (entry.side, entry.site)
        for entry in (step.entries if step else ())
        if condition.side in ("", entry.side) and condition.site in ("", entry.site)
    )


def _absent(condition: Condition, protocol: Protocol, found: Mapping[str, Known]) -> Places | None:
    """Return the entries in question when each was examined and has none of the values; None otherwise."""
    known = found.get(condition.step)
    if known is None or _present(condition, protocol, found) is not None:
        return None
    places = _in_question(condition, protocol)
    if any(place not in known.facts for place in places):
        return None
    step = protocol.step_of.get(condition.step)
    if step and not all(_would_show(value, step, known, places) for value in condition.values):
        return None
    return places


def _would_show(value: str, step: Step, known: Known, places: Places) -> bool:
    """Whether a value, if it were so, could be seen in what was recorded.

    A class cannot be seen without a reading, nor a finding where something differs in own words or in the
    reading alone.
    """
    kind = catalogue.KINDS[step.reading.kind] if step.reading else None
    facts = [known.facts[place] for place in places]
    if kind and value in kind.together and known.together is None:
        return False
    if kind and value in kind.classes and any(fact.meaning is None for fact in facts):
        return False
    listed = step.finding_of.keys()
    return value not in listed or all(fact.is_expected or fact.classes & listed for fact in facts)


def _as_listed(protocol: Protocol, evidence: Evidence) -> tuple[tuple[str, Places], ...]:
    """Put together what is known of one step, in the order of the protocol."""
    made_so: dict[str, set[Sided]] = {}
    for name, places in evidence:
        made_so.setdefault(name, set()).update(places)
    of_steps = tuple(
        (step.id, tuple(place for place in _entries(step) if place in made_so[step.id]))
        for step in protocol
        if step.id in made_so
    )
    return (*of_steps, *((each.id, ()) for each in protocol.computed if each.id in made_so))


def _entries(step: Step) -> Places:
    return tuple((entry.side, entry.site) for entry in step.entries)
