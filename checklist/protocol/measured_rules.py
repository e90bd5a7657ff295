"""Rules that hold between the readings, computations and patterns of a protocol and its steps. Pure."""

import re
from collections.abc import Iterable, Iterator

from checklist.measures import catalogue
from checklist.measures.contradictions import contradictions
from checklist.measures.spec import Computation, Kind
from checklist.protocol.model import (
    OTHER_SIDE,
    OUTCOME_VALUES,
    SIDE,
    SIDES,
    Computed,
    Condition,
    Pattern,
    Protocol,
    Reading,
    Step,
)
from checklist.protocol.problems import Flaw, Place, did_you_mean, listed, quoted

MOST_LISTED = 20
"""Names that a message lists when none is near."""


def computed_ids_are_used_once(protocol: Protocol) -> Iterator[Flaw]:
    first = {step.id: at for at, step in _steps(protocol)}
    for i, each in enumerate(protocol.computed):
        at: Place = ("computed", i, "id")
        if each.id in first:
            what, hint = f"id {quoted(each.id)} is used twice", "steps and computations share their ids"
            yield Flaw(at=at, what=what, hint=hint, see=first[each.id])
        elif each.id:
            first[each.id] = at


def _steps(protocol: Protocol) -> Iterator[tuple[Place, Step]]:
    for i, section in enumerate(protocol.sections):
        for j, step in enumerate(section.steps):
            if step.id:
                yield ("section", i, "step", j, "id"), step


def pattern_ids_are_used_once(protocol: Protocol) -> Iterator[Flaw]:
    first: dict[str, Place] = {}
    for i, each in enumerate(protocol.patterns):
        at: Place = ("pattern", i, "id")
        if each.id in first:
            yield Flaw(at=at, what=f"pattern id {quoted(each.id)} is used twice", see=first[each.id])
        elif each.id:
            first[each.id] = at


def computations_have_their_inputs(protocol: Protocol) -> Iterator[Flaw]:
    for at, each, kind in _computed(protocol):
        names = (*kind.needs, *kind.takes)
        for name, step in each.inputs:
            if name not in names:
                what = f"{quoted(each.kind)} has no input {quoted(name)}"
                yield Flaw(at=(*at, name), what=what, hint=_hint(name, names, "inputs are"))
            elif step and step not in protocol.step_of:
                yield _unknown((*at, name), "step", step, protocol.step_of)
        given = dict(each.inputs)
        if missing := [name for name in kind.needs if name not in given]:
            what = f"{quoted(each.kind)} needs the input {listed(missing)}"
            yield Flaw(at=at, what=what, hint="name the step of each")


def _computed(protocol: Protocol) -> Iterator[tuple[Place, Computed, Computation]]:
    for i, each in enumerate(protocol.computed):
        kind = catalogue.COMPUTATIONS.get(each.kind)
        # What is missing or empty was reported.
        if kind and each.inputs:
            yield ("computed", i, "from"), each, kind


def inputs_have_their_kind_of_reading(protocol: Protocol) -> Iterator[Flaw]:
    """Yield the inputs from whose steps nothing can be computed: without a reading, or with another one."""
    for at, each, kind in _computed(protocol):
        for name, step_id in each.inputs:
            step = protocol.step_of.get(step_id)
            reading = step.reading.kind if step and step.reading else None
            wanted = kind.reads.get(name, ()) if reading is None else _kinds(kind, name)
            if step is None or not wanted or reading in (*wanted, ""):
                # A step that is not there, or a kind that is not known, was reported.
                continue
            takes = f"the reading {quoted(reading)}" if reading else "no reading"
            what = f"step {quoted(step_id)} takes {takes}, from which {quoted(name)} cannot be computed"
            yield Flaw(at=(*at, name), what=what, hint=_step_to_name(wanted, protocol))


def _kinds(kind: Computation, name: str) -> tuple[str, ...]:
    return kind.reads.get(name) or kind.may_read.get(name, ())


def _step_to_name(kinds: tuple[str, ...], protocol: Protocol) -> str:
    """Return what to name instead, with the first step that would do."""
    near = next((step.id for step in protocol if step.reading and step.reading.kind in kinds), "")
    such = f", such as {quoted(near)}" if near else ""
    return f"name a step with the reading {' or '.join(map(quoted, kinds))}{such}"


def options_do_not_contradict(protocol: Protocol) -> Iterator[Flaw]:
    for i, section in enumerate(protocol.sections):
        for j, step in enumerate(section.steps):
            kind = catalogue.KINDS.get(step.reading.kind) if step.reading else None
            if step.reading and kind:
                yield from _contradicting(("section", i, "step", j, "reading"), kind, step.reading)
    for i, each in enumerate(protocol.computed):
        if computation := catalogue.COMPUTATIONS.get(each.kind):
            yield from _contradicting(("computed", i), computation, each)


def _contradicting(at: Place, of: Kind | Computation, sets: Reading | Computed) -> Iterator[Flaw]:
    for option, what, hint, item in contradictions(of, dict(sets.options)):
        place = (*at, option) if item is None else (*at, option, item)
        yield Flaw(at=place, what=what, hint=hint)


_BRACES = re.compile(r"\{[^{}]*\}|[{}]")


def words_of_patterns_can_be_filled(protocol: Protocol) -> Iterator[Flaw]:
    for i, pattern in enumerate(protocol.patterns):
        for written in dict.fromkeys(_BRACES.findall(pattern.consider)):
            if flaw := _placeholder(("pattern", i, "consider"), written, pattern):
                yield flaw


def _placeholder(at: Place, written: str, pattern: Pattern) -> Flaw | None:
    known = (SIDE, OTHER_SIDE)
    if written in known:
        if any(_is_sided(condition) for condition in pattern.conditions):
            return None
        what = f"{quoted(written)} in 'consider', but no condition depends on a side"
        return Flaw(at=at, what=what, hint=f'write side = "{SIDE}" in a condition, or leave it out')
    label = f"placeholders are {', '.join(known)}"
    if len(written) == 1:
        return Flaw(at=at, what=f"a single {quoted(written)} in 'consider'", hint=label)
    what = f"unknown placeholder {quoted(written)} in 'consider'"
    return Flaw(at=at, what=what, hint=did_you_mean(written, known) or label)


def _is_sided(condition: Condition) -> bool:
    texts = (condition.side, condition.site, *condition.values)
    return any(variable in text for text in texts for variable in (SIDE, OTHER_SIDE))


def patterns_speak_of_what_is_there(protocol: Protocol) -> Iterator[Flaw]:
    computed = {each.id: each.kind for each in protocol.computed if each.id}
    for i, pattern in enumerate(protocol.patterns):
        for key, k, condition in _places(pattern):
            at: Place = ("pattern", i, key, k)
            if not condition.step:
                # It was reported as missing or wrong.
                continue
            if condition.step in protocol.step_of:
                yield from _condition(at, condition, protocol.step_of[condition.step])
            elif condition.step in computed:
                yield from _computed_condition(at, condition, computed[condition.step])
            else:
                known = (*protocol.step_of, *computed)
                yield _unknown((*at, "step"), "step or computation", condition.step, known)


def _places(pattern: Pattern) -> Iterator[tuple[str, int, Condition]]:
    lists = (("all", pattern.every), ("any", pattern.some), ("none", pattern.none))
    for key, conditions in lists:
        for k, condition in enumerate(conditions):
            yield key, k, condition


def _condition(at: Place, condition: Condition, step: Step) -> Iterator[Flaw]:
    if condition.side and not step.sides:
        yield Flaw(at=(*at, "side"), what=f"step {quoted(step.id)} has no sides", hint="leave 'side' out")
    if condition.site and not step.sites:
        yield Flaw(at=(*at, "site"), what=f"step {quoted(step.id)} has no sites", hint="leave 'site' out")
    elif condition.site:
        for site in _turned(condition.site):
            if site not in step.sites:
                yield _unknown((*at, "site"), "site", site, step.sites, f" of {quoted(step.id)}")
    kind = catalogue.KINDS.get(step.reading.kind) if step.reading else None
    if step.reading and kind is None:
        # What its readings can be is not known, and was reported.
        return
    at_entries = (*step.finding_of, *OUTCOME_VALUES, *(kind.classes if kind else ()))
    together = kind.together if kind else ()
    yield from _values(at, condition, (*at_entries, *together))
    if condition.side or condition.site:
        yield from _compared(at, condition, set(together) - set(at_entries))


def _compared(at: Place, condition: Condition, together: set[str]) -> Iterator[Flaw]:
    for value in condition.values:
        if not together.isdisjoint(_turned(value)):
            key = "side" if condition.side else "site"
            what = f"{quoted(value)} is what all entries of step {quoted(condition.step)} mean together"
            yield Flaw(at=(*at, "is"), what=what, hint=f"leave {quoted(key)} out")


def _computed_condition(at: Place, condition: Condition, kind: str) -> Iterator[Flaw]:
    for key in ("side", "site"):
        if getattr(condition, key):
            what = f"{quoted(condition.step)} is computed and has no {key}s"
            yield Flaw(at=(*at, key), what=what, hint=f"leave {quoted(key)} out")
    if kind in catalogue.COMPUTATIONS:
        yield from _values(at, condition, catalogue.COMPUTATIONS[kind].classes)


def _values(at: Place, condition: Condition, known: tuple[str, ...]) -> Iterator[Flaw]:
    for value in condition.values:
        for meant in _turned(value):
            if meant not in known:
                yield _unknown((*at, "is"), "value", meant, known, f" of {quoted(condition.step)}")


def _turned(text: str) -> tuple[str, ...]:
    """Return a text of a pattern for the right and for the left side; once when it speaks of none."""
    turns = (SIDES, SIDES[::-1])
    return tuple(dict.fromkeys(text.replace(SIDE, side).replace(OTHER_SIDE, other) for side, other in turns))


def _unknown(at: Place, kind: str, name: str, known: Iterable[str], of: str = "") -> Flaw:
    hint = _hint(name, [each for each in known if each], "known:")
    return Flaw(at=at, what=f"unknown {kind} {quoted(name)}{of}", hint=hint)


def _hint(name: str, known: Iterable[str], label: str) -> str:
    names = tuple(known)
    few = f"{label} {listed(names)}" if 0 < len(names) <= MOST_LISTED else ""
    return did_you_mean(name, names) or few


RULES = (
    computed_ids_are_used_once,
    pattern_ids_are_used_once,
    computations_have_their_inputs,
    inputs_have_their_kind_of_reading,
    options_do_not_contradict,
    words_of_patterns_can_be_filled,
    patterns_speak_of_what_is_there,
)
