"""What must be told of a simulated patient, and what of it is one telling. Pure.

It is what the case says, or what follows from a flawless examination of it by the protocol. Things that mean
something together are told together: nobody decides about a score or a pattern apart from what it rests on.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from checklist.practice.cases import Case, Due, There, flawless, what_is_there
from checklist.protocol.model import URGENCIES, Entry, Protocol
from checklist.reasoning.alerts import alerts, is_derived
from checklist.reasoning.facts import known
from checklist.reasoning.patterns import Match, matches
from checklist.session.events import TELLS
from checklist.session.session import COMPUTED, Session
from checklist.session.standing import Alert

ThereBy = Mapping[tuple[str, str], There]


def in_order(protocol: Protocol, there: ThereBy) -> Iterator[There]:
    for step in protocol:
        for entry in step.entries:
            if found := there.get((step.id, entry.key)):
                yield found


def rank(tell: str | None) -> int:
    return URGENCIES.index(tell) if tell in URGENCIES else -1


Places = dict[str, tuple[str, ...]]
"""Step id → keys of the entries at which something differs."""


def due(case: Case, protocol: Protocol) -> tuple[Due, ...]:
    """Return what must be told: what the case says, or what follows from a flawless examination of it."""
    if case.report:
        return case.report
    session = flawless(case, protocol)
    there = [each for each in in_order(protocol, what_is_there(case, protocol)) if each.differs]
    differing = _places(there)
    # A note on one side is not what a computation says of the other.
    telling = differing | _places([each for each in there if is_told(each)])
    return (*_due_findings(session, telling), *_due_patterns(session, differing))


def _places(there: Sequence[There]) -> Places:
    places: dict[str, tuple[str, ...]] = {}
    for each in there:
        places[each.step.id] = (*places.get(each.step.id, ()), each.entry.key)
    return places


def is_told(there: There) -> bool:
    """Whether something there is told by itself."""
    return bool(there.result.tell) or any(
        there.step.finding_of[each].tell in TELLS for each in there.findings
    )


def _due_findings(session: Session, differing: Places) -> Iterator[Due]:
    inputs_of = session.protocol.inputs_of
    for alert in alerts(session):
        finding = alert.finding
        if not is_derived(finding):
            entries = ((alert.step.id, alert.entries),)
            yield Due(what=_alert_words(alert), tell=finding.tell, steps=(alert.step.id,), entries=entries)
        elif finding.id.startswith(COMPUTED):
            steps = inputs_of.get(finding.id.removeprefix(COMPUTED), ())
            yield _meaning(finding.label, finding.tell, steps, differing)


def _alert_words(alert: Alert) -> str:
    entries = [each.label for each in alert.step.entries if each.key in alert.entries and each.label]
    where = f", {' and '.join(entries)}" if entries else ""
    return f"{alert.step.title}{where}: {alert.finding.label}"


def _meaning(what: str, tell: str, steps: Sequence[str], differing: Places) -> Due:
    """Return something due that rests on several steps, where they differ; on all, where none does."""
    named = tuple(step for step in dict.fromkeys(steps) if step in differing)
    entries = tuple((step, differing[step]) for step in named)
    asked = named or tuple(dict.fromkeys(steps))
    return Due(what=what, tell=tell, steps=asked, entries=entries, is_meaning=True)


def _due_patterns(session: Session, differing: Places) -> Iterator[Due]:
    inputs_of = session.protocol.inputs_of
    for match in matches(session.protocol, known(session)):
        if match.pattern.tell != "note":
            steps = [step for name, _ in match.rests_on for step in inputs_of.get(name, (name,))]
            yield _meaning(match.words, match.pattern.tell, steps, _narrowed(match, differing))


def _narrowed(match: Match, differing: Places) -> Places:
    """Return the entries that differ; of a step that the pattern names, those that made it complete."""
    narrow = dict(differing)
    for name, sided in match.rests_on:
        keys = {Entry(side=side, site=site).key for side, site in sided}
        if kept := tuple(each for each in differing.get(name, ()) if each in keys):
            narrow[name] = kept
    return narrow


# What is told as one.


@dataclass(frozen=True, kw_only=True, slots=True)
class Aim:
    """One telling: what it is about, what that means, and what there is to tell of."""

    parts: tuple[Due, ...]
    """What somebody records and tells; of what only means something, that."""
    means: tuple[Due, ...]
    """What the parts mean together."""
    there: Mapping[str, Mapping[str, There]]
    """Step id → key of the entry → what was there; steps where nothing was are not in it."""

    @property
    def tell(self) -> str:
        """Return how fast it is told: what belongs to something that hurries is told with it."""
        return max((each.tell for each in (*self.parts, *self.means)), key=rank)

    @property
    def what(self) -> str:
        return "; ".join(dict.fromkeys(each.what.rstrip(".") for each in self.parts))

    @property
    def steps(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(step for each in (*self.parts, *self.means) for step in each.steps))

    def is_about(self, step: str, entry: Entry) -> bool:
        """Whether something recorded at an entry is about it, where the case does not say what is there."""
        return any(step in each.steps and _is_on(each, entry) for each in (*self.parts, *self.means))


def aims(case: Case, protocol: Protocol, there: ThereBy) -> tuple[Aim, ...]:
    """Return what must be told, one for each telling, in the order of what is due."""
    differing = [each for each in in_order(protocol, there) if each.differs and not each.is_if_done]
    dues = [(each, _there_for(each, differing)) for each in due(case, protocol)]
    groups: list[list[int]] = []
    for number, (each, places) in enumerate(dues):
        joined = [group for group in groups if any(_is_one(dues[n], (each, places)) for n in group)]
        groups = [group for group in groups if group not in joined]
        groups.append(sorted([*(n for group in joined for n in group), number]))
    return tuple(_aim([dues[n] for n in group]) for group in sorted(groups))


WithThere = tuple[Due, Mapping[str, Mapping[str, There]]]


def _aim(dues: Sequence[WithThere]) -> Aim:
    there: dict[str, dict[str, There]] = {}
    for _, found in dues:
        for step, by_entry in found.items():
            there.setdefault(step, {}).update(by_entry)
    parts = tuple(each for each, _ in dues if not each.is_meaning)
    means = tuple(each for each, _ in dues if each.is_meaning)
    return Aim(parts=parts or means, means=means if parts else (), there=there)


def _is_one(one: WithThere, other: WithThere) -> bool:
    """Whether two things due are told with the same words: one covers the other, or means it."""
    first, second = _places_of(one), _places_of(other)
    if one[0].is_meaning or other[0].is_meaning:
        return bool(first & second)
    return first <= second or second <= first


def _places_of(due_there: WithThere) -> set[tuple[str, str]]:
    each, there = due_there
    places = {(step, entry) for step, by_entry in there.items() for entry in by_entry}
    # A case may say what is due at steps at which it names nothing.
    return places or {(step, each.side) for step in each.steps}


def _there_for(each: Due, differing: Sequence[There]) -> dict[str, dict[str, There]]:
    entries = dict(each.entries)
    there: dict[str, dict[str, There]] = {}
    for found in differing:
        step, entry = found.step.id, found.entry
        if step not in each.steps or found.is_decoy:
            continue
        if entry.key in entries.get(step, (entry.key,)) and _is_on(each, entry):
            there.setdefault(step, {})[entry.key] = found
    return there


def _is_on(each: Due, entry: Entry) -> bool:
    return not (each.side and entry.side) or each.side == entry.side


def must_be_told(there: There, tellings: Sequence[Aim]) -> bool:
    """Whether something there is told, by itself or with what it is part of."""
    own = not there.is_unseen and not there.is_decoy and is_told(there)
    return own or any(there.entry.key in aim.there.get(there.step.id, {}) for aim in tellings)
