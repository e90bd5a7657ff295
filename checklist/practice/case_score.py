"""How a rehearsal with a simulated patient went, beside what was there. Pure; judges by the case alone.

There is no one number: what was found, missed, or recorded though it was not there, whether the
side was right, and whether what must be told was told, and how fast, are each said for themselves.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from checklist.practice.case_due import Aim, ThereBy, aims, in_order, must_be_told, rank
from checklist.practice.cases import Case, There, what_is_there
from checklist.practice.descriptions import JUDGED
from checklist.practice.fitting import with_values_if_done
from checklist.protocol.model import OTHER, SIDES, Entry, Protocol, Step
from checklist.session import readings
from checklist.session.events import Outcome, Result
from checklist.session.session import Session
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
    BY_READING = "found, by its reading"
    IN_PART = "found in part"
    IN_WORDS = "described in own words"
    OTHERWISE = "recorded as something else"
    OTHER_SIDE = "recorded on the other side"
    OTHER_PLACE = "recorded at another place"
    MISSED = "examined, and recorded as expected"
    NOT_SEEN = "attempted, not seen"
    NOT_EXAMINED = "not examined"


IS_EXAMINED = frozenset(Fate) - {Fate.NOT_SEEN, Fate.NOT_EXAMINED}
IS_FOUND = frozenset((Fate.FOUND, Fate.BY_READING, Fate.IN_PART, Fate.IN_WORDS))
HAS_OWN_SIDE = IS_FOUND | {Fate.OTHERWISE}


@dataclass(frozen=True, kw_only=True, slots=True)
class Item:
    """Something that was there, and what became of it."""

    there: There
    fate: Fate
    recorded: Result | None = None
    rests_on: tuple[int, ...] = ()
    at: Entry | None = None
    """Where it was recorded, when that was at another entry."""
    must_be_told: bool = False
    """Whether it is told, by itself or with what it is part of; else it is only written down."""


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
    """Something that must be told, once for all that is told with it, and how fast the learner would."""

    aim: Aim
    said: str
    """One of the urgencies; empty when nothing was decided."""
    speed: Speed
    by: tuple[Tellable, ...] = ()
    """What was recorded of it and would be told so."""
    untold: tuple[Tellable, ...] = ()
    """What was recorded of it and not told, though the rest was."""
    elsewhere: tuple[Tellable, ...] = ()
    """What was told of the other side or of another place, though the rest was told of the right one."""


@dataclass(frozen=True, kw_only=True, slots=True)
class CaseScore:
    """Each figure for itself."""

    items: tuple[Item, ...]
    """All that differed and was no decoy, in listed order."""
    decoys: tuple[Item, ...]
    left_out: tuple[Item, ...]
    """What was not examined any more after something was rightly told at once: of neither of the two."""
    false_alarms: tuple[FalseAlarm, ...]
    misread: tuple[Misread, ...]
    tellings: tuple[Telling, ...]
    left_untold: tuple[Telling, ...]
    """What could not be told, as it was left out so; not among the tellings."""
    over_told: tuple[Tellable, ...]
    """What the learner would tell, and need only be written down."""

    @property
    def shown(self) -> tuple[Item, ...]:
        """All that there was, decoys as well."""
        return (*self.items, *self.decoys)

    @property
    def counted(self) -> tuple[Item, ...]:
        """All that there was to find; what cannot be seen follows from what is before it, and is left out."""
        return tuple(item for item in self.shown if not item.there.is_unseen)

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
        return tuple(item for item in self.counted if item.there.has_a_side and item.fate in fates)


def score(session: Session, case: Case) -> CaseScore:
    """Judge a session of a simulated patient, finished or not."""
    protocol = session.protocol
    there = with_values_if_done(protocol, what_is_there(case, protocol))
    due = aims(case, protocol, there)
    asked = [each for each in in_order(protocol, there) if not each.is_if_done]
    items = [_item(session, each, there, due) for each in asked if not each.is_as_expected]
    recorded = [_beside(each, there) for each in tellable(session)]
    tellings = [_telling(aim, recorded, due) for aim in due]
    is_after = _left_after(session, tellings)
    left_out = [item for item in items if item.fate is Fate.NOT_EXAMINED and is_after(item.there.step.id)]
    untold = [each for each in tellings if _is_left_out(session, each, is_after)]
    return CaseScore(
        items=tuple(item for item in items if not item.there.is_decoy and item not in left_out),
        decoys=tuple(item for item in items if item.there.is_decoy and item not in left_out),
        left_out=tuple(left_out),
        false_alarms=tuple(_false_alarms(session, there)),
        misread=tuple(_misread(session, there)),
        tellings=tuple(each for each in tellings if each not in untold),
        left_untold=tuple(untold),
        over_told=tuple(_over_told(recorded, due)),
    )


def _left_after(session: Session, tellings: Sequence[Telling]) -> Callable[[str], bool]:
    """Return whether a step comes after the first one of which something was rightly told at once."""
    position_of = session.protocol.position_of
    at_once = [each for each in tellings if each.aim.tell == "urgent" and each.speed is Speed.RIGHT]
    first = min((position_of[told.step.id] for each in at_once for told in each.by), default=None)
    return lambda step: first is not None and position_of[step] > first


def _is_left_out(session: Session, each: Telling, is_after: Callable[[str], bool]) -> bool:
    steps = each.aim.steps
    return each.speed is Speed.NOT_RECORDED and not was_examined(session, steps) and all(map(is_after, steps))


def was_examined(session: Session, steps: Iterable[str]) -> bool:
    """Whether anything was examined at any of these steps."""
    records = session.state.records
    return any(
        record.result.outcome is not Outcome.NOT_EXAMINED
        for step in steps
        for record in records.get(step, {}).values()
    )


def _record(session: Session, step: str, entry: str) -> Record | None:
    return session.state.records.get(step, {}).get(entry)


# What was there.


def _item(session: Session, there: There, all_there: ThereBy, due: Sequence[Aim] = ()) -> Item:
    record = _record(session, there.step.id, there.entry.key)
    fate, at = _fate(there, record.result) if record else Fate.NOT_EXAMINED, None
    if fate in (Fate.MISSED, Fate.NOT_EXAMINED, Fate.NOT_SEEN):
        fate, at = _misplaced(session, there, all_there) or (fate, None)
    return Item(
        there=there,
        fate=fate,
        recorded=record.result if record else None,
        rests_on=(record.event,) if record else (),
        at=at,
        must_be_told=must_be_told(there, due),
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
        return Fate.FOUND if _is_read(there, result) else _otherwise(result)
    if wanted <= recorded:
        return Fate.FOUND
    if wanted & recorded:
        return Fate.IN_PART
    if _names_other_side(recorded, wanted):
        return Fate.OTHER_SIDE
    if recorded:
        return Fate.OTHERWISE
    return Fate.BY_READING if _is_read(there, result) else _otherwise(result)


def _names_other_side(recorded: Iterable[str], there: Iterable[str]) -> bool:
    """Whether ids of findings name one side, and those of what is there the other: left larger for right."""
    said, so = _sides_named(recorded), _sides_named(there)
    return bool(said and so) and not said & so


def _sides_named(names: Iterable[str]) -> set[str]:
    return {word for name in names for word in name.split("-")} & set(SIDES)


def _otherwise(result: Result) -> Fate:
    """Return what became of something that neither a finding nor a reading tells; words are compared."""
    return Fate.IN_WORDS if result.detail else Fate.OTHERWISE


def _is_read(there: There, result: Result) -> bool:
    """Whether the reading that was typed tells of it: it is the one given, or told just as that one is."""
    if not there.reading or not result.reading:
        return False
    one, other = (readings.meaning(there.step, _read(each)) for each in (there.reading, result.reading))
    return one is not None and other is not None and bool(one.tell) and one.tell == other.tell


def _same_reading(step: Step, given: str, typed: str) -> bool:
    """Whether two readings mean the same, as far as the kind puts them into classes."""
    if not given or not typed:
        return given == typed
    one = readings.meaning(step, _read(given))
    other = readings.meaning(step, _read(typed))
    return one is not None and other is not None and (one.text == other.text)


def _read(text: str) -> Result:
    return Result(entries=(), outcome=Outcome.DIFFERS, reading=text)


def _misplaced(session: Session, there: There, all_there: ThereBy) -> tuple[Fate, Entry] | None:
    """Return that what was here was recorded at another entry of the step, where it was not, and at which."""
    for entry in there.step.entries:
        record = _record(session, there.step.id, entry.key)
        if entry == there.entry or record is None:
            continue
        own = all_there.get((there.step.id, entry.key))
        if set(there.findings) & set(record.result.findings) - set(own.findings if own else ()):
            is_other_side = entry.side != there.entry.side and entry.site == there.entry.site
            return (Fate.OTHER_SIDE if is_other_side else Fate.OTHER_PLACE), entry
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
    for each in in_order(session.protocol, there):
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


def _beside(told: Tellable, there: ThereBy) -> Tellable:
    """Return something recorded with what was there at its entries."""
    found = [there.get((told.step.id, entry)) for entry in told.entries]
    return replace(told, there=tuple(each for each in found if each and not each.is_as_expected))


def _place(told: Tellable, aim: Aim) -> Speed | None:
    """Return RIGHT for what was recorded where it was, or how it was misplaced; None for something else."""
    if told.step.id not in aim.steps:
        return None
    recorded = [each for each in told.step.entries if each.key in told.entries]
    if not aim.there:
        # The case says what is due and not where: anything recorded at the steps will do.
        is_here = any(aim.is_about(told.step.id, each) for each in recorded)
        return Speed.RIGHT if is_here else Speed.OTHER_SIDE
    wanted = aim.there.get(told.step.id, {})
    findings = {finding for there in wanted.values() for finding in there.findings}
    if wanted.keys() & set(told.entries):
        is_other_side = _names_other_side([told.finding], findings)
        return Speed.OTHER_SIDE if is_other_side else Speed.RIGHT
    if told.finding not in findings or any(told.finding in there.findings for there in told.there):
        return None
    sides = {there.entry.side for there in wanted.values()}
    return Speed.OTHER_PLACE if any(each.side in sides for each in recorded) else Speed.OTHER_SIDE


def _telling(aim: Aim, recorded: Sequence[Tellable], due: Sequence[Aim]) -> Telling:
    placed = [(place, each) for each in recorded if (place := _place(each, aim))]
    here = [each for place, each in placed if place is Speed.RIGHT]
    elsewhere = [(place, each) for place, each in placed if place is not Speed.RIGHT]
    if rank(_fastest(here)) <= 0 and rank(said := _fastest([each for _, each in elsewhere])) > 0:
        so = [(place, each) for place, each in elsewhere if each.said == said]
        return Telling(aim=aim, said=said or "", speed=so[0][0], by=tuple(each for _, each in so))
    said = _fastest(here or [each for _, each in elsewhere])
    by = tuple(each for each in here if each.said == said)
    return Telling(
        aim=aim,
        said=said or "",
        speed=_speed(aim, said, due),
        by=by,
        untold=tuple(each for each in here if rank(each.said) <= 0 < rank(said)),
        elsewhere=tuple(each for _, each in elsewhere if here and rank(each.said) > 0),
    )


def _fastest(recorded: Sequence[Tellable]) -> str | None:
    """Return how fast the fastest would be told; empty where all is undecided, None where nothing is."""
    return max((each.said for each in recorded), key=rank, default=None)


def _speed(each: Aim, said: str | None, due: Sequence[Aim]) -> Speed:
    if said is None:
        return Speed.NOT_RECORDED
    if rank(said) <= 0:
        return Speed.NOT_TOLD
    if rank(said) < rank(each.tell):
        return Speed.TOO_SLOW
    # What belongs to something that hurries more is told with it.
    fastest = max(rank(aim.tell) for aim in due if set(aim.steps) & set(each.steps))
    return Speed.TOO_FAST if rank(said) > fastest else Speed.RIGHT


def _over_told(recorded: Sequence[Tellable], due: Sequence[Aim]) -> Iterator[Tellable]:
    """Yield what the learner would tell although nothing that is due is served by it.

    A value that was shown where the case asks for nothing may be told, as it stands.
    """
    for each in recorded:
        is_shown = any(there.is_if_done for there in each.there)
        if rank(each.said) > 0 and not is_shown and not any(_place(each, aim) for aim in due):
            yield each
