"""How a rehearsal with a simulated patient went, beside what was there. Pure; judges by the case alone.

There is no one number: what was found, missed, or recorded though it was not there, whether the
side was right, and whether what must be told was told, and how fast, are each said for themselves.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from checklist.practice.cases import Case, Due, There, flawless, mirrored, what_is_there
from checklist.practice.descriptions import JUDGED
from checklist.protocol.model import OTHER, URGENCIES, Entry, Protocol, Step
from checklist.reasoning.alerts import alerts, is_derived
from checklist.reasoning.facts import known
from checklist.reasoning.patterns import Match, matches
from checklist.session import readings
from checklist.session.events import TELLS, Outcome, Result
from checklist.session.session import COMPUTED, Session
from checklist.session.standing import Alert
from checklist.session.state import Record

SAID = {"urgent": "at once", "report": "before leaving", "note": "only written down"}
"""How fast the learner would tell something, as the session keeps it in front of whom."""


def whom(protocol: Protocol, tell: str) -> str:
    """Return what the session keeps of a decision how fast something is told."""
    to = {"urgent": protocol.telling.urgent, "report": protocol.telling.report}.get(tell, "")
    return f"{SAID[tell]}: {to}" if to else SAID[tell]


def _tell_of(told: str) -> str:
    return next((tell for tell, words in SAID.items() if told.partition(":")[0] == words), "")


class Fate(StrEnum):
    """What became of something that was there."""

    FOUND = "found"
    IN_PART = "found in part"
    IN_WORDS = "described in own words"
    OTHERWISE = "recorded as something else"
    OTHER_SIDE = "recorded on the other side"
    OTHER_PLACE = "recorded at another place"
    MISSED = "examined, and recorded as expected"
    NOT_SEEN = "attempted, not seen"
    NOT_EXAMINED = "not examined"


IS_EXAMINED = frozenset(Fate) - {Fate.NOT_SEEN, Fate.NOT_EXAMINED}
IS_FOUND = frozenset((Fate.FOUND, Fate.IN_PART, Fate.IN_WORDS))
HAS_OWN_SIDE = IS_FOUND | {Fate.OTHERWISE}


@dataclass(frozen=True, kw_only=True, slots=True)
class Item:
    """Something that was there, and what became of it."""

    there: There
    fate: Fate
    recorded: Result | None = None
    rests_on: tuple[int, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class FalseAlarm:
    """Something recorded as differing where all was as expected."""

    step: Step
    entry: Entry
    recorded: Result
    rests_on: tuple[int, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Misread:
    """A reading that was typed otherwise than it was given."""

    step: Step
    entry: Entry
    given: str
    typed: str
    rests_on: tuple[int, ...]


class Speed(StrEnum):
    """How the learner would tell something that must be told."""

    RIGHT = "told, as fast as needed"
    TOO_SLOW = "told too slowly"
    TOO_FAST = "told faster than needed"
    OTHER_SIDE = "told of the other side"
    OTHER_PLACE = "told of another place"
    NOT_TOLD = "recorded, and not told"
    NOT_RECORDED = "nothing recorded that could be told"


@dataclass(frozen=True, kw_only=True, slots=True)
class Tellable:
    """A recorded difference that the learner can decide about."""

    step: Step
    finding: str
    """Id of the finding, or `other` for own words and for a reading."""
    label: str
    entries: tuple[str, ...]
    said: str = ""
    there: tuple[There, ...] = ()
    """What was at these entries and differed or could not be seen, once the case is known."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Telling:
    """Something that must be told, and how fast the learner would."""

    due: Due
    said: str
    """One of the urgencies; empty when nothing was decided."""
    speed: Speed
    by: tuple[Tellable, ...] = ()
    """What was recorded of it and would be told so."""


@dataclass(frozen=True, kw_only=True, slots=True)
class CaseScore:
    """Each figure for itself."""

    items: tuple[Item, ...]
    """All that differed and was no decoy, in listed order."""
    decoys: tuple[Item, ...]
    false_alarms: tuple[FalseAlarm, ...]
    misread: tuple[Misread, ...]
    tellings: tuple[Telling, ...]
    over_told: tuple[Tellable, ...]
    """What the learner would tell, and need only be written down."""

    def is_false(self, told: Tellable) -> bool:
        """Whether nothing was where something that can be told was recorded."""
        false = {(each.step.id, each.entry.key) for each in self.false_alarms}
        return all((told.step.id, entry) in false for entry in told.entries)

    def of(self, *fates: Fate) -> tuple[Item, ...]:
        return tuple(item for item in self.items if item.fate in fates)

    @property
    def sided(self) -> tuple[Item, ...]:
        """What has a side and was recorded somewhere."""
        fates = HAS_OWN_SIDE | {Fate.OTHER_SIDE}
        return tuple(item for item in self.items if item.there.has_a_side and item.fate in fates)


def score(session: Session, case: Case) -> CaseScore:
    """Judge a session of a simulated patient, finished or not."""
    there = what_is_there(case, session.protocol)
    differing = [each for each in _in_order(session.protocol, there) if not each.is_as_expected]
    items = [_item(session, each, there) for each in differing]
    aims = [_aim(each, differing) for each in due(case, session.protocol)]
    recorded = [_beside(each, there) for each in tellable(session)]
    return CaseScore(
        items=tuple(item for item in items if not item.there.is_decoy),
        decoys=tuple(item for item in items if item.there.is_decoy),
        false_alarms=tuple(_false_alarms(session, there)),
        misread=tuple(_misread(session, there)),
        tellings=tuple(_telling(aim, recorded, aims) for aim in aims),
        over_told=tuple(_over_told(recorded, aims)),
    )


ThereBy = Mapping[tuple[str, str], There]


def _in_order(protocol: Protocol, there: ThereBy) -> Iterator[There]:
    for step in protocol:
        for entry in step.entries:
            if found := there.get((step.id, entry.key)):
                yield found


def _record(session: Session, step: str, entry: str) -> Record | None:
    return session.state.records.get(step, {}).get(entry)


# What was there.


def _item(session: Session, there: There, all_there: ThereBy) -> Item:
    record = _record(session, there.step.id, there.entry.key)
    fate = _fate(there, record.result) if record else Fate.NOT_EXAMINED
    if fate in (Fate.MISSED, Fate.NOT_EXAMINED, Fate.NOT_SEEN):
        fate = _misplaced(session, there, all_there) or fate
    return Item(
        there=there,
        fate=fate,
        recorded=record.result if record else None,
        rests_on=(record.event,) if record else (),
    )


def _fate(there: There, result: Result) -> Fate:
    match result.outcome:
        case Outcome.NOT_EXAMINED:
            return Fate.NOT_EXAMINED
        case Outcome.UNSEEN:
            return Fate.FOUND if there.is_unseen else Fate.NOT_SEEN
        case Outcome.EXPECTED:
            return Fate.MISSED
    return _of_difference(there, result)


def _of_difference(there: There, result: Result) -> Fate:
    wanted, recorded = set(there.findings), set(result.findings)
    if there.is_unseen:
        return Fate.OTHERWISE
    if not wanted:
        return Fate.FOUND if _same_reading(there.step, there.reading, result.reading) else Fate.IN_WORDS
    if wanted <= recorded:
        return Fate.FOUND
    if wanted & recorded:
        return Fate.IN_PART
    if recorded & {mirrored(each) for each in wanted}:
        return Fate.OTHER_SIDE
    return Fate.OTHERWISE if recorded else Fate.IN_WORDS


def _same_reading(step: Step, given: str, typed: str) -> bool:
    """Whether two readings mean the same, as far as the kind puts them into classes."""
    if not given or not typed:
        return given == typed
    one = readings.meaning(step, _read(given))
    other = readings.meaning(step, _read(typed))
    return one is not None and other is not None and (one.text == other.text)


def _read(text: str) -> Result:
    return Result(entries=(), outcome=Outcome.DIFFERS, reading=text)


def _misplaced(session: Session, there: There, all_there: ThereBy) -> Fate | None:
    """Return that what was here was recorded at another entry of the step, where it was not."""
    for entry in there.step.entries:
        record = _record(session, there.step.id, entry.key)
        if entry == there.entry or record is None:
            continue
        own = all_there.get((there.step.id, entry.key))
        if set(there.findings) & set(record.result.findings) - set(own.findings if own else ()):
            is_other_side = entry.side != there.entry.side and entry.site == there.entry.site
            return Fate.OTHER_SIDE if is_other_side else Fate.OTHER_PLACE
    return None


# What was not there.


def _false_alarms(session: Session, there: ThereBy) -> Iterator[FalseAlarm]:
    for step in session.protocol:
        for entry in step.entries:
            record, found = _record(session, step.id, entry.key), there.get((step.id, entry.key))
            if (
                not record
                or record.result.outcome is not Outcome.DIFFERS
                or (found and not found.is_as_expected)
            ):
                continue
            if not _belongs_elsewhere(session, step, record.result, there):
                yield FalseAlarm(step=step, entry=entry, recorded=record.result, rests_on=(record.event,))


def _belongs_elsewhere(session: Session, step: Step, result: Result, there: ThereBy) -> bool:
    """Whether what is recorded here is at another entry of the step, where it was not recorded."""
    for entry in step.entries:
        found = there.get((step.id, entry.key))
        if found and set(found.findings) & set(result.findings):
            item = _item(session, found, there)
            if item.fate in (Fate.OTHER_SIDE, Fate.OTHER_PLACE):
                return True
    return False


def _misread(session: Session, there: ThereBy) -> Iterator[Misread]:
    for each in _in_order(session.protocol, there):
        record = _record(session, each.step.id, each.entry.key)
        typed = record.result.reading if record else ""
        if record and each.reading and typed and _is_misread(each.step, each.reading, typed):
            yield Misread(
                step=each.step, entry=each.entry, given=each.reading, typed=typed, rests_on=(record.event,)
            )


def _is_misread(step: Step, given: str, typed: str) -> bool:
    """Whether a reading was typed otherwise; of one that is judged, so that it is told otherwise."""
    if step.reading and step.reading.kind in JUDGED:
        one, other = readings.meaning(step, _read(given)), readings.meaning(step, _read(typed))
        return one is None or other is None or one.tell != other.tell
    return not _same_reading(step, given, typed)


# What must be told, and how fast.


Places = dict[str, tuple[str, ...]]
"""Step id → keys of the entries at which something differs."""


def due(case: Case, protocol: Protocol) -> tuple[Due, ...]:
    """Return what must be told: what the case says, or what follows from a flawless examination of it."""
    if case.report:
        return case.report
    session = flawless(case, protocol)
    there = [each for each in _in_order(protocol, what_is_there(case, protocol)) if each.differs]
    differing = _places(there)
    # A note on one side is not what a computation says of the other.
    telling = differing | _places([each for each in there if _is_told(each)])
    return (*_due_findings(session, telling), *_due_patterns(session, differing))


def _places(there: Sequence[There]) -> Places:
    places: dict[str, tuple[str, ...]] = {}
    for each in there:
        places[each.step.id] = (*places.get(each.step.id, ()), each.entry.key)
    return places


def _is_told(there: There) -> bool:
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
            yield _due_of(finding.label, finding.tell, steps, differing)


def _alert_words(alert: Alert) -> str:
    entries = [each.label for each in alert.step.entries if each.key in alert.entries and each.label]
    where = f", {' and '.join(entries)}" if entries else ""
    return f"{alert.step.title}{where}: {alert.finding.label}"


def _due_of(what: str, tell: str, steps: Sequence[str], differing: Places) -> Due:
    """Return something due that rests on several steps, where they differ; on all, where none does."""
    named = tuple(step for step in dict.fromkeys(steps) if step in differing)
    entries = tuple((step, differing[step]) for step in named)
    return Due(what=what, tell=tell, steps=named or tuple(dict.fromkeys(steps)), entries=entries)


def _due_patterns(session: Session, differing: Places) -> Iterator[Due]:
    inputs_of = session.protocol.inputs_of
    for match in matches(session.protocol, known(session)):
        if match.pattern.tell != "note":
            steps = [step for name, _ in match.rests_on for step in inputs_of.get(name, (name,))]
            yield _due_of(match.words, match.pattern.tell, steps, _narrowed(match, differing))


def _narrowed(match: Match, differing: Places) -> Places:
    """Return the entries that differ; of a step that the pattern names, those that made it complete."""
    narrow = dict(differing)
    for name, sided in match.rests_on:
        keys = {Entry(side=side, site=site).key for side, site in sided}
        if kept := tuple(each for each in differing.get(name, ()) if each in keys):
            narrow[name] = kept
    return narrow


def tellable(session: Session) -> tuple[Tellable, ...]:
    """Return each recorded difference, with how fast the learner would tell it, in listed order."""
    return tuple(each for step in session.protocol for each in _tellable_at(session, step))


def _tellable_at(session: Session, step: Step) -> Iterator[Tellable]:
    found: dict[tuple[str, str], list[str]] = {}
    for entry in step.entries:
        record = _record(session, step.id, entry.key)
        if record and record.result.outcome is Outcome.DIFFERS:
            for named in _named(step, record.result):
                found.setdefault(named, []).append(entry.key)
    for (finding, label), entries in found.items():
        said = _said(session, step, finding, entries)
        yield Tellable(step=step, finding=finding, label=label, entries=tuple(entries), said=said)


def _named(step: Step, result: Result) -> Iterator[tuple[str, str]]:
    for finding in result.findings:
        yield finding, step.finding_of[finding].label
    if not result.findings:
        yield OTHER, "; ".join(filter(None, (readings.in_short(step, result), result.detail)))


def _said(session: Session, step: Step, finding: str, entries: Sequence[str]) -> str:
    """Return the last decision about something recorded; own words and readings as they stand now."""
    for told in reversed(session.state.told):
        if told.step == step.id and finding in told.findings and set(entries) <= set(told.entries):
            return _tell_of(told.whom)
    return ""


# Whether what is due was told, and of the right place.


@dataclass(frozen=True, kw_only=True, slots=True)
class Aim:
    """Something due, with what there was to tell about."""

    due: Due
    there: Mapping[str, Mapping[str, There]]
    """Step id → key of the entry → what was there; steps where nothing was are not in it."""


def _aim(each: Due, differing: Sequence[There]) -> Aim:
    entries = dict(each.entries)
    there: dict[str, dict[str, There]] = {}
    for found in differing:
        step, entry = found.step.id, found.entry
        if step not in each.steps or not found.differs or found.is_decoy:
            continue
        if entry.key in entries.get(step, (entry.key,)) and _is_on(each, entry):
            there.setdefault(step, {})[entry.key] = found
    return Aim(due=each, there=there)


def _is_on(each: Due, entry: Entry) -> bool:
    return not (each.side and entry.side) or each.side == entry.side


def _beside(told: Tellable, there: ThereBy) -> Tellable:
    """Return something recorded with what was there at its entries."""
    found = [there.get((told.step.id, entry)) for entry in told.entries]
    return replace(told, there=tuple(each for each in found if each and not each.is_as_expected))


def _place(told: Tellable, aim: Aim) -> Speed | None:
    """Return RIGHT for what was recorded where it was, or how it was misplaced; None for something else."""
    if told.step.id not in aim.due.steps:
        return None
    recorded = [each for each in told.step.entries if each.key in told.entries]
    if not aim.there:
        # The case says what is due and not where: anything recorded at the steps will do.
        return Speed.RIGHT if any(_is_on(aim.due, each) for each in recorded) else Speed.OTHER_SIDE
    wanted = aim.there.get(told.step.id, {})
    findings = {finding for there in wanted.values() for finding in there.findings}
    if wanted.keys() & set(told.entries):
        is_mirrored = told.finding not in findings and mirrored(told.finding) in findings
        return Speed.OTHER_SIDE if is_mirrored else Speed.RIGHT
    if told.finding not in findings or any(told.finding in there.findings for there in told.there):
        return None
    sides = {there.entry.side for there in wanted.values()}
    return Speed.OTHER_PLACE if any(each.side in sides for each in recorded) else Speed.OTHER_SIDE


def _telling(aim: Aim, recorded: Sequence[Tellable], aims: Sequence[Aim]) -> Telling:
    placed = [(place, each) for each in recorded if (place := _place(each, aim))]
    here = [each for place, each in placed if place is Speed.RIGHT]
    elsewhere = [(place, each) for place, each in placed if place is not Speed.RIGHT]
    if _rank(_fastest(here)) <= 0 and _rank(said := _fastest([each for _, each in elsewhere])) > 0:
        so = [(place, each) for place, each in elsewhere if each.said == said]
        return Telling(due=aim.due, said=said or "", speed=so[0][0], by=tuple(each for _, each in so))
    said = _fastest(here or [each for _, each in elsewhere])
    by = tuple(each for each in here if each.said == said)
    return Telling(due=aim.due, said=said or "", speed=_speed(aim.due, said, aims), by=by)


def _fastest(recorded: Sequence[Tellable]) -> str | None:
    """Return how fast the fastest would be told; empty where all is undecided, None where nothing is."""
    return max((each.said for each in recorded), key=_rank, default=None)


def _rank(tell: str | None) -> int:
    return URGENCIES.index(tell) if tell in URGENCIES else -1


def _speed(each: Due, said: str | None, aims: Sequence[Aim]) -> Speed:
    if said is None:
        return Speed.NOT_RECORDED
    if _rank(said) <= 0:
        return Speed.NOT_TOLD
    if _rank(said) < _rank(each.tell):
        return Speed.TOO_SLOW
    # What belongs to something that hurries more is told with it.
    fastest = max(_rank(aim.due.tell) for aim in aims if set(aim.due.steps) & set(each.steps))
    return Speed.TOO_FAST if _rank(said) > fastest else Speed.RIGHT


def _over_told(recorded: Sequence[Tellable], aims: Sequence[Aim]) -> Iterator[Tellable]:
    """Yield what the learner would tell although nothing that is due is served by it."""
    for each in recorded:
        if _rank(each.said) > 0 and not any(_place(each, aim) for aim in aims):
            yield each
