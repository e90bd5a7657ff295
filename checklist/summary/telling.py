"""What must be told, how fast, to whom, and who was told already: observed words, no diagnosis."""

import re
from collections.abc import Iterator
from dataclasses import replace

from checklist.protocol.model import OTHER, Entry
from checklist.session.events import Outcome, Told
from checklist.session.session import Session
from checklist.session.standing import Alert, alerts, is_told
from checklist.session.state import Record
from checklist.summary.document import Block, Form, Sentence
from checklist.summary.grouping import groups, numbers, place_words
from checklist.summary.prose import clause_text, clauses
from checklist.summary.words import SAID, in_row, sentence

HEADING = "TO REPORT"
URGENCY = {"urgent": "URGENT, tell at once", "report": "Report before leaving"}
PATIENT, REPORTED = "patient", "reported by the patient"
NOTHING = "Nothing was recorded that this protocol marks to be told."


def to_report(session: Session) -> Block:
    """Return the block of what must be told: urgent findings first."""
    items = tuple(_item(session, alert) for alert in alerts(session))
    if not items:
        return Block(heading=HEADING, sentences=(Sentence(text=NOTHING),))
    return Block(heading=HEADING, sentences=items, form=Form.ITEMS)


def _item(session: Session, alert: Alert) -> Sentence:
    records = session.state.records[alert.step.id]
    told = tuple(_tellings(session, alert))
    parts = (
        f"{URGENCY[alert.finding.tell]}: {_with_source(alert, _what(session, alert))}",
        *(_told_words(alert, event, entries) for event, entries in told),
        _not_told_words(session, alert),
    )
    events = (*(records[entry].event for entry in alert.entries), *(event.n for event, _ in told))
    return Sentence(text=" ".join(sentence(part) for part in parts if part), rests_on=numbers(events))


def _what(session: Session, alert: Alert) -> str:
    records = session.state.records[alert.step.id]
    told_of = {entry: _narrowed(records[entry], alert.finding.id) for entry in alert.entries}
    found = (clause for group in groups(alert.step, told_of) for clause in clauses(group))
    return in_row(clause_text(clause) for clause in found)


def _with_source(alert: Alert, words: str) -> str:
    """Say of an answer that it is the patient's, unless it begins `patient reports` by itself."""
    if not alert.step.is_asked or words.startswith(tuple(f"{PATIENT} {verb} " for verb in SAID)):
        return words
    # Own words follow the bare subject: `patient: since Monday`.
    own_words = alert.step.subject == PATIENT and re.match(rf"{PATIENT}(?=:| \[)", words)
    return f"{REPORTED}{words.removeprefix(PATIENT)}" if own_words else f"{REPORTED}: {words}"


def _narrowed(record: Record, finding: str) -> Record:
    """Return the record as if the finding stood alone in it, with the words that belong to it."""
    result = record.result
    own_words = result.detail if finding == OTHER or not result.tell else ""
    findings = () if finding == OTHER else (finding,)
    alone = replace(result, outcome=Outcome.DIFFERS, findings=findings, detail=own_words, tell="", reason="")
    return replace(record, result=alone)


def _tellings(session: Session, alert: Alert) -> Iterator[tuple[Told, tuple[Entry, ...]]]:
    """Return who was told of the alert, and of which of its entries."""
    for event in session.state.told:
        entries = tuple(
            entry
            for entry in _entries(alert)
            if is_told(session, alert.step, alert.finding, entry.key, event)
        )
        if entries:
            yield event, entries


def _entries(alert: Alert) -> tuple[Entry, ...]:
    return tuple(entry for entry in alert.step.entries if entry.key in alert.entries)


def _told_words(alert: Alert, event: Told, entries: tuple[Entry, ...]) -> str:
    of = "" if len(entries) == len(alert.entries) else f" of {place_words(alert.step, entries)}:"
    return f"told{of} {', '.join(filter(None, (event.whom, event.when)))}"


def _not_told_words(session: Session, alert: Alert) -> str:
    """Say of what nobody was told yet, and who is to be; one side told is not both."""
    left = tuple(entry for entry in alert.step.entries if entry.key in alert.untold)
    if not left:
        return ""
    of = "" if len(left) == len(alert.entries) else f" of {place_words(alert.step, left)}"
    return f"not yet told{of}; to be told: {session.protocol.tell_to(alert.finding)}"
