"""Late entries and corrections: who wrote what, when and why, with the original wording kept legible."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime

from checklist.protocol.model import Entry, Step
from checklist.session.events import Outcome
from checklist.session.session import Session
from checklist.session.standing import late_and_corrected
from checklist.session.state import Record
from checklist.summary.conduct import act_words, is_act
from checklist.summary.document import Sentence
from checklist.summary.grouping import Group, Records, comparable, groups, mark, numbers, titled
from checklist.summary.prose import clause_text, clauses
from checklist.summary.undone import NO_REASON
from checklist.summary.words import in_row, sentence

NOTHING_BEFORE = "Nothing was recorded during the examination"
LABELS = {"late entry": "late entry", "corrected": "correction"}


def amendments(session: Session) -> Iterator[Sentence]:
    """Return an item for each entry that was written after the end; those with one history share it."""
    alike: dict[tuple[object, ...], list[tuple[Step, str, Record]]] = {}
    for step, key, record in late_and_corrected(session):
        alike.setdefault(_signature(step, record), []).append((step, key, record))
    for found in alike.values():
        yield _item(found)


def _item(found: list[tuple[Step, str, Record]]) -> Sentence:
    step, _, record = found[0]
    keys = {key for _, key, _ in found}
    entries = tuple(entry for entry in step.entries if entry.key in keys)
    text = " ".join(sentence(part) for part in _history(step, entries, record))
    events = (version.event for *_, each in found for version in _versions(each))
    return Sentence(text=text, rests_on=numbers(events))


def _versions(record: Record) -> tuple[Record, ...]:
    """Return what stood for an entry since the end of the examination, newest first.

    What was recorded anew before the end is no correction: the original is what stood then.
    """
    earlier = record.replaced if record.amendment else None
    return (record, *_versions(earlier)) if earlier else (record,)


def _signature(step: Step, record: Record) -> tuple[object, ...]:
    """Return what two entries must share to be told of together: amendments, minutes and results."""
    return tuple(
        (_minute(each.at), comparable(step, each.result), each.amendment) for each in _versions(record)
    )


def _minute(at: datetime) -> str:
    return f"{at:%Y-%m-%d %H:%M}"


def _history(step: Step, entries: tuple[Entry, ...], newest: Record) -> Iterator[str]:
    for each in _versions(newest):
        words = wording(step, {entry.key: each for entry in entries})
        if not each.amendment:
            yield f"original of {_minute(each.at)}: {words}"
            continue
        before = "" if each is newest else "before that, "
        yield f"{before}{LABELS[mark(each)]} of {_minute(each.at)} by {each.amendment.who}"
        yield f"reason: {each.amendment.why or 'none given'}"
        yield words
    if each.amendment:
        yield NOTHING_BEFORE


def wording(step: Step, records: Records) -> str:
    """Return what records say about their entries, whatever their outcomes, without any mark."""
    unmarked = {key: replace(record, amendment=None) for key, record in records.items()}
    return in_row(_group_words(group) for group in groups(step, unmarked))


def _group_words(group: Group) -> str:
    result, name = group.result, titled(group.step, group.entries)
    own_words = f": {result.detail}" if result.detail else ""
    match result.outcome:
        case Outcome.UNSEEN:
            return f"{name} attempted, not seen{own_words}"
        case Outcome.NOT_EXAMINED:
            return f"{name} not examined, {result.reason or NO_REASON}{own_words}"
        case _ if is_act(group.step):
            return f"{act_words(group)}, done" if result.outcome is Outcome.EXPECTED else act_words(group)
        case _:
            return in_row(clause_text(clause) for clause in clauses(group))
