"""What must be told, how fast, to whom, and who was told already: observed words, no diagnosis."""

from collections.abc import Iterator, Sequence

from checklist.protocol.model import Entry
from checklist.reasoning.alerts import alerts, is_derived
from checklist.session.events import Told
from checklist.session.session import Session
from checklist.session.standing import Alert, is_told
from checklist.summary.document import Block, Form, Sentence
from checklist.summary.grouping import numbers, place_words
from checklist.summary.observed import finding_words
from checklist.summary.told import told_and_changed, told_by
from checklist.summary.untold import untold_and_corrected
from checklist.summary.words import sentence

HEADING = "TO REPORT"
URGENCY = {"urgent": "URGENT, tell at once", "report": "Report before leaving"}
NOTHING = "Nothing was recorded that this protocol marks to be told."


def to_report(session: Session) -> Block:
    """Return the block of what must be told: what is urgent first, then what was changed, told or not.

    In each part what is computed, and what belongs together, follows the findings on which it rests.
    """
    found = alerts(session)
    said = {event.n for alert in found for event, _ in tellings(session, alert)}
    items = (
        *_items(session, found),
        *untold_and_corrected(session),
        *told_and_changed(session, said),
        *only_considered(session),
    )
    if not items:
        return Block(heading=HEADING, sentences=(Sentence(text=NOTHING),))
    return Block(heading=HEADING, sentences=items, form=Form.ITEMS)


def _items(session: Session, found: Sequence[Alert]) -> Iterator[Sentence]:
    derived = [alert for alert in found if is_derived(alert.finding)]
    # The code of readings and patterns is loaded only where something follows from them.
    said_of = {}
    if derived:
        from checklist.summary.considered import derived_parts

        said_of = derived_parts(session)
    for alert in found:
        parts = said_of[alert.finding.id] if alert in derived else (what(session, alert),)
        yield _item(session, alert, parts)


def only_considered(session: Session) -> Iterator[Sentence]:
    """Return the complete patterns that nobody need be told of."""
    if session.protocol.patterns:
        from checklist.summary.considered import considered, considered_items

        yield from considered_items(each for each in considered(session) if each.tell == "note")


def _item(session: Session, alert: Alert, said: tuple[str, ...]) -> Sentence:
    records = session.state.records[alert.step.id]
    told = tuple(tellings(session, alert))
    first, *more = said
    parts = (
        f"{URGENCY[alert.finding.tell]}: {first}",
        *more,
        *(told_words(session, alert, event, entries) for event, entries in told),
        not_told_words(session, alert),
    )
    events = (*(records[entry].event for entry in alert.entries), *(event.n for event, _ in told))
    return Sentence(text=" ".join(sentence(part) for part in parts if part), rests_on=numbers(events))


def what(session: Session, alert: Alert) -> str:
    records = session.state.records[alert.step.id]
    return finding_words(alert.step, alert.finding.id, {entry: records[entry] for entry in alert.entries})


def tellings(session: Session, alert: Alert) -> Iterator[tuple[Told, tuple[Entry, ...]]]:
    """Return who was told of the alert, and of which of its entries."""
    if is_derived(alert.finding):
        if not alert.is_open:
            last = [event for event in session.state.told if alert.finding.id in event.findings][-1]
            yield last, _entries(alert)
        return
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


def told_words(session: Session, alert: Alert, event: Told, entries: tuple[Entry, ...]) -> str:
    of = "" if len(entries) == len(alert.entries) else f" of {place_words(alert.step, entries)}:"
    return f"told{of} {told_by(session, event)}"


def not_told_words(session: Session, alert: Alert) -> str:
    """Say of what nobody was told yet, and who is to be; one side told is not both."""
    left = tuple(entry for entry in alert.step.entries if entry.key in alert.untold)
    if not left:
        return ""
    of = "" if len(left) == len(alert.entries) else f" of {place_words(alert.step, left)}"
    return f"not yet told{of}; to be told: {session.protocol.tell_to(alert.finding)}"
