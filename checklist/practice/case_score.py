"""How a rehearsal with a simulated patient went, beside what was there. Pure; judges by the case alone.

There is no one number: what was found, missed, or recorded though it was not there, whether the
side was right, and whether what must be told was told, and how fast, are each said for themselves.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from checklist.practice.cases import Case, Due, There, flawless, what_is_there
from checklist.protocol.model import OTHER, URGENCIES, Entry, Protocol, Step
from checklist.reasoning.alerts import alerts, is_derived
from checklist.reasoning.facts import known
from checklist.reasoning.patterns import matches
from checklist.session import readings
from checklist.session.events import Outcome, Result
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
    NOT_TOLD = "recorded, and not told"
    NOT_RECORDED = "nothing recorded that could be told"


@dataclass(frozen=True, kw_only=True, slots=True)
class Telling:
    """Something that must be told, and how fast the learner would."""

    due: Due
    said: str
    """One of the urgencies; empty when nothing was decided."""
    speed: Speed


@dataclass(frozen=True, kw_only=True, slots=True)
class Tellable:
    """A recorded difference that the learner can decide about."""

    step: Step
    finding: str
    """Id of the finding, or `other` for own words and for a reading."""
    label: str
    entries: tuple[str, ...]
    said: str = ""


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
        return _is_false(told, self.false_alarms)

    def of(self, *fates: Fate) -> tuple[Item, ...]:
        return tuple(item for item in self.items if item.fate in fates)

    @property
    def sided(self) -> tuple[Item, ...]:
        """What has a side and was recorded somewhere."""
        fates = HAS_OWN_SIDE | {Fate.OTHER_SIDE}
        return tuple(item for item in self.items if item.there.entry.side and item.fate in fates)


def score(session: Session, case: Case) -> CaseScore:
    """Judge a session of a simulated patient, finished or not."""
    there = what_is_there(case, session.protocol)
    differing = [each for each in _in_order(session.protocol, there) if not each.is_as_expected]
    items = [_item(session, each) for each in differing]
    alarms = tuple(_false_alarms(session, there))
    sides, dues = _sides(differing), due(case, session.protocol)
    return CaseScore(
        items=tuple(item for item in items if not item.there.is_decoy),
        decoys=tuple(item for item in items if item.there.is_decoy),
        false_alarms=alarms,
        misread=tuple(_misread(session, there)),
        tellings=tuple(_tellings(session, dues, sides, alarms)),
        over_told=tuple(_over_told(session, dues, sides, alarms)),
    )


Sides = Mapping[str, frozenset[str]]
"""By step id, the sides on which something was; a step where all was as expected is not in it."""


def _sides(differing: Sequence[There]) -> Sides:
    sides: dict[str, frozenset[str]] = {}
    for each in differing:
        sides[each.step.id] = sides.get(each.step.id, frozenset()) | {each.entry.side}
    return sides


ThereBy = Mapping[tuple[str, str], There]


def _in_order(protocol: Protocol, there: ThereBy) -> Iterator[There]:
    for step in protocol:
        for entry in step.entries:
            if found := there.get((step.id, entry.key)):
                yield found


def _record(session: Session, step: str, entry: str) -> Record | None:
    return session.state.records.get(step, {}).get(entry)


# What was there.


def _item(session: Session, there: There) -> Item:
    record = _record(session, there.step.id, there.entry.key)
    fate = _fate(there, record.result) if record else Fate.NOT_EXAMINED
    if fate in (Fate.MISSED, Fate.NOT_EXAMINED, Fate.NOT_SEEN):
        fate = _misplaced(session, there) or fate
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


def _misplaced(session: Session, there: There) -> Fate | None:
    """Return that what was here was recorded at another entry of the step, where it was not."""
    for entry in there.step.entries:
        record = _record(session, there.step.id, entry.key)
        if entry != there.entry and record and set(there.findings) & set(record.result.findings):
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
            item = _item(session, found)
            if item.fate in (Fate.OTHER_SIDE, Fate.OTHER_PLACE):
                return True
    return False


def _misread(session: Session, there: ThereBy) -> Iterator[Misread]:
    for each in _in_order(session.protocol, there):
        record = _record(session, each.step.id, each.entry.key)
        typed = record.result.reading if record else ""
        if record and each.reading and typed and not _same_reading(each.step, each.reading, typed):
            yield Misread(
                step=each.step, entry=each.entry, given=each.reading, typed=typed, rests_on=(record.event,)
            )


# What must be told, and how fast.


def due(case: Case, protocol: Protocol) -> tuple[Due, ...]:
    """Return what must be told: what the case says, or what follows from a flawless examination of it."""
    if case.report:
        return case.report
    session = flawless(case, protocol)
    differing = {each.step.id for each in what_is_there(case, protocol).values() if each.differs}
    return (*_due_findings(session, differing), *_due_patterns(session, differing))


def _due_findings(session: Session, differing: set[str]) -> Iterator[Due]:
    inputs_of = {each.id: [step for _, step in each.inputs] for each in session.protocol.computed}
    for alert in alerts(session):
        name = alert.finding.id
        if not is_derived(alert.finding):
            yield Due(what=_alert_words(alert), tell=alert.finding.tell, steps=(alert.step.id,))
        elif name.startswith(COMPUTED):
            steps = inputs_of.get(name.removeprefix(COMPUTED), [])
            yield Due(what=alert.finding.label, tell=alert.finding.tell, steps=_of(steps, differing))


def _alert_words(alert: Alert) -> str:
    entries = [each.label for each in alert.step.entries if each.key in alert.entries and each.label]
    where = f", {' and '.join(entries)}" if entries else ""
    return f"{alert.step.title}{where}: {alert.finding.label}"


def _of(steps: Sequence[str], differing: set[str]) -> tuple[str, ...]:
    return tuple(step for step in steps if step in differing) or tuple(steps)


def _due_patterns(session: Session, differing: set[str]) -> Iterator[Due]:
    inputs_of = {each.id: [step for _, step in each.inputs] for each in session.protocol.computed}
    for match in matches(session.protocol, known(session)):
        if match.pattern.tell != "note":
            steps = [step for name, _ in match.rests_on for step in inputs_of.get(name, [name])]
            yield Due(what=match.words, tell=match.pattern.tell, steps=_of(steps, differing))


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


def _tellings(
    session: Session, dues: Sequence[Due], sides: Sides, alarms: Sequence[FalseAlarm]
) -> Iterator[Telling]:
    recorded = [
        each for each in tellable(session) if each.step.id not in sides or not _is_false(each, alarms)
    ]
    here = _said_at(each for each in recorded if _is_on_its_side(each, sides))
    there = _said_at(each for each in recorded if not _is_on_its_side(each, sides))
    for each in dues:
        said, elsewhere = _fastest(each, here), _fastest(each, there)
        speed = _speed(each, said if said is not None else elsewhere, dues)
        if _rank(said or "") <= 0 < _rank(elsewhere or ""):
            speed = Speed.OTHER_SIDE
        yield Telling(due=each, said=said or elsewhere or "", speed=speed)


def _is_false(told: Tellable, alarms: Sequence[FalseAlarm]) -> bool:
    false = {(each.step.id, each.entry.key) for each in alarms}
    return all((told.step.id, entry) in false for entry in told.entries)


def _is_on_its_side(told: Tellable, sides: Sides) -> bool:
    """Whether something was on a side that is told of; where nothing was, any side will do."""
    side_of = {entry.key: entry.side for entry in told.step.entries}
    wanted = sides.get(told.step.id)
    return wanted is None or any(side_of[entry] in wanted for entry in told.entries)


def _said_at(recorded: Iterable[Tellable]) -> dict[str, str]:
    said: dict[str, str] = {}
    for each in recorded:
        said[each.step.id] = max(said.get(each.step.id, ""), each.said, key=_rank)
    return said


def _fastest(of: Due, said_at: Mapping[str, str]) -> str | None:
    return max((said_at[step] for step in of.steps if step in said_at), key=_rank, default=None)


def _rank(tell: str) -> int:
    return URGENCIES.index(tell) if tell in URGENCIES else -1


def _speed(each: Due, said: str | None, dues: Sequence[Due]) -> Speed:
    if said is None:
        return Speed.NOT_RECORDED
    if _rank(said) <= 0:
        return Speed.NOT_TOLD
    if _rank(said) < _rank(each.tell):
        return Speed.TOO_SLOW
    # What belongs to something that hurries more is told with it.
    fastest = max(_rank(other.tell) for other in dues if set(other.steps) & set(each.steps))
    return Speed.TOO_FAST if _rank(said) > fastest else Speed.RIGHT


def _over_told(
    session: Session, dues: Sequence[Due], sides: Sides, alarms: Sequence[FalseAlarm]
) -> Iterator[Tellable]:
    needed = {step for each in dues for step in each.steps}
    for each in tellable(session):
        is_beside = each.step.id in sides and _is_false(each, alarms)
        if _rank(each.said) > 0 and (each.step.id not in needed or is_beside):
            yield each
