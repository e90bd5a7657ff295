"""Who was told and when, and what somebody was told of that the record no longer says.

A change of the record unsays nothing: the person who was told may still act on it.
"""

from collections.abc import Container, Iterator, Mapping
from dataclasses import replace
from datetime import timedelta

from checklist.protocol.model import OTHER, Step
from checklist.session.events import Amended, Recorded, Result, Retracted, Told
from checklist.session.session import Session
from checklist.session.state import Record
from checklist.summary.amendments import wording
from checklist.summary.document import Sentence
from checklist.summary.grouping import Records, numbers, place_words, titled
from checklist.summary.observed import finding_words
from checklist.summary.particulars import clock_time, day_of
from checklist.summary.words import in_row, sentence


def told_by(session: Session, told: Told) -> str:
    """Return who was told and when, with the date when that is not the day of the examination."""
    # A time of day that is later than that of writing it down can only be of the day before.
    is_day_before = told.when > f"{told.at:%H:%M}"
    day = told.at.date() - timedelta(days=is_day_before)
    date = "" if day == day_of(session) else f"{day:%Y-%m-%d} "
    return ", ".join(filter(None, (told.whom, told.when and f"{date}{told.when}")))


def told_and_changed(session: Session, said: Container[int]) -> Iterator[Sentence]:
    """Return an item for each telling of something that no longer stands.

    Nor is a telling lost that has no finding at all, unless it is among those that were `said`.
    """
    for told in session.state.told:
        step = session.protocol.step_of[told.step]
        if changed := _changed(session, told):
            yield _item(session, step, told, changed)
        elif told.n not in said:
            named = titled(step, (entry for entry in step.entries if entry.key in told.entries))
            yield Sentence(text=sentence(f"told {told_by(session, told)}, about {named}"), rests_on=(told.n,))


def _changed(session: Session, told: Told) -> dict[str, dict[str, Record]]:
    """Return the findings that were told and no longer stand, each with the records that were told of."""
    now = session.state.records.get(told.step, {})
    changed: dict[str, dict[str, Record]] = {}
    for entry, record in _records_at(session, told).items():
        for finding in told.findings:
            was_told = entry in told.entries and _holds(record.result, finding)
            if was_told and not _still_stands(now.get(entry), record, finding):
                changed.setdefault(finding, {})[entry] = record
    return changed


def _records_at(session: Session, told: Told) -> dict[str, Record]:
    """Return what stood for the entries of a step when somebody was told of it."""
    before = session.events[: told.n - 1]
    taken_back = {event.event for event in before if isinstance(event, Retracted)}
    found: dict[str, Record] = {}
    for event in before:
        if isinstance(event, Recorded | Amended) and event.step == told.step and event.n not in taken_back:
            for result in event.results:
                record = Record(result=result, event=event.n, at=event.at, clock=event.clock)
                found |= dict.fromkeys(result.entries, record)
    return found


def _holds(result: Result, finding: str) -> bool:
    return bool(result.tell) if finding == OTHER else finding in result.findings


def _still_stands(now: Record | None, then: Record, finding: str) -> bool:
    """Whether a finding stands as it was told, with its reading; own words only in the record told of."""
    if now is None or not _holds(now.result, finding):
        return False
    return now.event == then.event if finding == OTHER else now.result.reading == then.result.reading


def _item(session: Session, step: Step, told: Told, changed: Mapping[str, Records]) -> Sentence:
    taken_back = frozenset(event.event for event in session.events if isinstance(event, Retracted))
    what = in_row(_told_words(step, finding, records, taken_back) for finding, records in changed.items())
    entries = [entry.key for entry in step.entries if any(entry.key in each for each in changed.values())]
    records = session.state.records.get(step.id, {})
    parts = (
        f"told {told_by(session, told)}, of what was changed afterwards: {what}",
        *_now_words(session, step, told, entries),
    )
    before = {record.event for each in changed.values() for record in each.values()} - taken_back
    events = (told.n, *before, *(records[entry].event for entry in entries if entry in records))
    return Sentence(text=" ".join(map(sentence, parts)), rests_on=numbers(events))


def _told_words(step: Step, finding: str, records: Records, taken_back: frozenset[int]) -> str:
    """Return what was told; own words that were taken back are not repeated."""
    kept = {entry: record for entry, record in records.items() if record.event not in taken_back}
    gone = {entry: _without_words(record) for entry, record in records.items() if entry not in kept}
    if finding != OTHER:
        return finding_words(step, finding, {**kept, **gone})
    about = f"own words about {titled(step, (entry for entry in step.entries if entry.key in gone))}"
    return in_row([*([finding_words(step, finding, kept)] if kept else []), *([about] if gone else [])])


def _without_words(record: Record) -> Record:
    return replace(record, result=replace(record.result, detail=""))


def _now_words(session: Session, step: Step, told: Told, entries: list[str]) -> Iterator[str]:
    """Say what stands at the entries now, and since when: one part for each act of recording."""
    records = session.state.records.get(step.id, {})
    by_event: dict[int, dict[str, Record]] = {}
    for entry in entries:
        if record := records.get(entry):
            by_event.setdefault(record.event, {})[entry] = record
    for n, found in sorted(by_event.items()):
        time = clock_time(session.events[n - 1].at, day_of(session))
        label = f"recorded anew at {time}"
        if n < told.n:
            label = f"that record was taken back; what stands is of {time}"
        yield f"{label}: {wording(step, found)}"
    if left := [entry for entry in step.entries if entry.key in entries and entry.key not in records]:
        where = place_words(step, left) if by_event else ""
        yield f"that record{where and f' ({where})'} was taken back, and none stands"
