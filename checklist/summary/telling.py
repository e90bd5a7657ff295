"""What must be told, how fast, to whom, and who was told already: observed words, no diagnosis."""

from collections.abc import Iterator

from checklist.protocol.model import URGENCIES, Entry
from checklist.session.events import Told
from checklist.session.session import Session
from checklist.session.standing import Alert, alerts, is_told
from checklist.summary.document import Block, Form, Sentence
from checklist.summary.grouping import numbers, place_words
from checklist.summary.observed import finding_words
from checklist.summary.told import told_and_changed, told_by
from checklist.summary.words import sentence

HEADING = "TO REPORT"
URGENCY = {"urgent": "URGENT, tell at once", "report": "Report before leaving"}
NOTHING = "Nothing was recorded that this protocol marks to be told."


def to_report(session: Session) -> Block:
    """Return the block of what must be told: what is urgent first, then what was told and was changed.

    In each part the complete patterns follow the findings on which they rest.
    """
    found, patterns = alerts(session), _patterns(session)
    said = {event.n for alert in found for event, _ in _tellings(session, alert)}
    items = (
        *(_item(session, alert) for alert in found if alert.finding.tell == "urgent"),
        *patterns["urgent"],
        *(_item(session, alert) for alert in found if alert.finding.tell != "urgent"),
        *patterns["report"],
        *told_and_changed(session, said),
        *patterns["note"],
    )
    if not items:
        return Block(heading=HEADING, sentences=(Sentence(text=NOTHING),))
    return Block(heading=HEADING, sentences=items, form=Form.ITEMS)


def _patterns(session: Session) -> dict[str, tuple[Sentence, ...]]:
    """Return the complete patterns by how fast they are told."""
    if not session.protocol.patterns:
        return dict.fromkeys(URGENCIES, ())
    from checklist.summary.considered import considered, considered_items

    found = considered(session)
    return {tell: tuple(considered_items(each for each in found if each.tell == tell)) for tell in URGENCIES}


def _item(session: Session, alert: Alert) -> Sentence:
    records = session.state.records[alert.step.id]
    told = tuple(_tellings(session, alert))
    parts = (
        f"{URGENCY[alert.finding.tell]}: {_what(session, alert)}",
        *(_told_words(session, alert, event, entries) for event, entries in told),
        _not_told_words(session, alert),
    )
    events = (*(records[entry].event for entry in alert.entries), *(event.n for event, _ in told))
    return Sentence(text=" ".join(sentence(part) for part in parts if part), rests_on=numbers(events))


def _what(session: Session, alert: Alert) -> str:
    records = session.state.records[alert.step.id]
    return finding_words(alert.step, alert.finding.id, {entry: records[entry] for entry in alert.entries})


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


def _told_words(session: Session, alert: Alert, event: Told, entries: tuple[Entry, ...]) -> str:
    of = "" if len(entries) == len(alert.entries) else f" of {place_words(alert.step, entries)}:"
    return f"told{of} {told_by(session, event)}"


def _not_told_words(session: Session, alert: Alert) -> str:
    """Say of what nobody was told yet, and who is to be; one side told is not both."""
    left = tuple(entry for entry in alert.step.entries if entry.key in alert.untold)
    if not left:
        return ""
    of = "" if len(left) == len(alert.entries) else f" of {place_words(alert.step, left)}"
    return f"not yet told{of}; to be told: {session.protocol.tell_to(alert.finding)}"
