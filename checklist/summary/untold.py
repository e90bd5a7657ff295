"""What was to be told, was not, and was then corrected away: somebody may still have to hear of it.

A correction changes what stands; it unsays neither that a finding waited to be told, nor that nobody was.
"""

from collections.abc import Iterator
from dataclasses import replace

from checklist.protocol.model import OTHER
from checklist.reasoning.alerts import alerts, is_derived, open_alerts
from checklist.session.events import Amended, Retracted
from checklist.session.session import PATTERN, Session
from checklist.session.standing import Alert
from checklist.session.state import fold
from checklist.summary.amendments import wording
from checklist.summary.document import Sentence
from checklist.summary.grouping import numbers
from checklist.summary.observed import finding_words
from checklist.summary.particulars import clock_time, day_of
from checklist.summary.words import sentence, uncapitalised

_Key = tuple[str, ...]
HOW_SOON = {"urgent": "at once", "report": "before leaving"}


def untold_and_corrected(session: Session) -> tuple[Sentence, ...]:
    """Return an item for each finding that nobody was told of before an amendment took it away, urgent first.

    What a later amendment put back is not among them: it stands, and is told as what stands.
    """
    stands = _held(session)
    found = [
        (event, before, alert)
        for event in session.events
        if isinstance(event, Amended)
        for before, alert in _taken_away(session, event, stands)
    ]
    found.sort(key=lambda each: each[2].finding.tell != "urgent")
    return tuple(_item(session, event, before, alert) for event, before, alert in found)


def _taken_away(session: Session, event: Amended, stands: set[_Key]) -> Iterator[tuple[Session, Alert]]:
    """Return what waited to be told before an amendment and stands neither after it nor now, and when."""
    before = _as_of(session, event.n - 1)
    left = stands | _held(_as_of(session, event.n))
    for alert in open_alerts(before):
        if gone := tuple(entry for entry in alert.untold if _key(alert, entry) not in left):
            yield before, replace(alert, entries=gone, untold=gone)


def _as_of(session: Session, last: int) -> Session:
    """Return the session as it was after event `last`, without what was taken back at any time."""
    events = session.events[:last]
    later = [event for event in session.events[last:] if isinstance(event, Retracted)]
    return replace(session, events=events, state=fold((*events, *later)))


def _held(session: Session) -> set[_Key]:
    return {_key(alert, entry) for alert in alerts(session) for entry in alert.entries}


def _key(alert: Alert, entry: str) -> _Key:
    """Return what makes something to be told the same; own words are the same while they are unchanged."""
    finding = alert.finding
    if is_derived(finding):
        return (finding.id, finding.tell)
    return (alert.step.id, entry, finding.id, finding.tell, finding.label if finding.id == OTHER else "")


def _item(session: Session, event: Amended, before: Session, alert: Alert) -> Sentence:
    step = session.protocol.step_of[event.step]
    after = _as_of(session, event.n).state.records[event.step]
    amended = {entry for result in event.results for entry in result.entries}
    # Of a finding of the step itself only its own entries; what was computed rests on all that was amended.
    shown = amended if is_derived(alert.finding) else amended & set(alert.entries)
    time = clock_time(event.at, day_of(session))
    to_whom = session.protocol.tell_to(alert.finding)
    parts = (
        f"was to be told {HOW_SOON[alert.finding.tell]} ({to_whom}) and was not, then corrected {time}"
        f" by {event.who} to: {wording(step, {entry: after[entry] for entry in shown})}",
        f"original: {_original(before, alert)}",
        f"reason: {event.why or 'none given'}",
    )
    held = before.state.records.get(alert.step.id, {})
    events = (event.n, *(held[entry].event for entry in alert.entries if entry in held))
    return Sentence(text=" ".join(map(sentence, parts)), rests_on=numbers(events))


def _original(before: Session, alert: Alert) -> str:
    if is_derived(alert.finding):
        words = alert.finding.label
        return f"consider: {uncapitalised(words)}" if alert.finding.id.startswith(PATTERN) else words
    records = before.state.records[alert.step.id]
    return finding_words(alert.step, alert.finding.id, {entry: records[entry] for entry in alert.entries})
