"""What a debrief says of telling: what had to be told, what was, and how long it took. Needs no verdict."""

from collections.abc import Iterator

from checklist.reasoning.alerts import alerts
from checklist.session.events import Finished, Told
from checklist.session.session import Session
from checklist.session.standing import Alert
from checklist.session.state import Record, Stage
from checklist.summary.document import Sentence
from checklist.summary.grouping import numbers, titled
from checklist.summary.telling import tellings
from checklist.summary.timeline import minutes
from checklist.summary.told import told_by
from checklist.summary.untold import HOW_SOON, untold_and_corrected
from checklist.summary.words import sentence
from checklist.text import one_line


def telling(session: Session) -> Iterator[Sentence]:
    """Return an item for each finding that had to be told, urgent first, then what was corrected away."""
    for alert in alerts(session):
        yield _item(session, alert)
    yield from untold_and_corrected(session)


def untold_at_the_end(session: Session) -> tuple[Alert, ...]:
    """Return what somebody was still to be told when the examination ended, urgent ones first."""
    return tuple(alert for alert in alerts(session) if alert.is_open or _is_told_late(session, alert))


def label(alert: Alert) -> str:
    """Return the words of a finding in quotation marks."""
    return f'"{one_line(alert.finding.label)}"'


def _is_told_late(session: Session, alert: Alert) -> bool:
    """Whether it was told only after the end, although it was recorded before."""
    end = _end(session)
    if not end or all(record.event > end for record in _records(session, alert)):
        return False
    return any(event.n > end for event, _ in tellings(session, alert))


def _end(session: Session) -> int:
    """Return the number of the event that ended the examination; 0 while it has not ended."""
    return next((event.n for event in session.events if isinstance(event, Finished)), 0)


def _records(session: Session, alert: Alert) -> tuple[Record, ...]:
    records = session.state.records[alert.step.id]
    return tuple(records[entry] for entry in alert.entries)


def _item(session: Session, alert: Alert) -> Sentence:
    told = [event for event, _ in tellings(session, alert)]
    where = titled(alert.step, (entry for entry in alert.step.entries if entry.key in alert.entries))
    urgency = "urgent" if alert.finding.tell == "urgent" else "to report"
    parts = [f"{where}: {label(alert)}, {urgency}"]
    if alert in untold_at_the_end(session):
        when = "at the end" if session.state.stage is Stage.FINISHED else "so far"
        to_whom = session.protocol.tell_to(alert.finding)
        parts.append(f"not told {when}; to be told {HOW_SOON[alert.finding.tell]} to the {to_whom}")
    parts += [_told_words(session, alert, event) for event in told]
    events = (*(record.event for record in _records(session, alert)), *(event.n for event in told))
    return Sentence(text=" ".join(map(sentence, parts)), rests_on=numbers(events))


def _told_words(session: Session, alert: Alert, told: Told) -> str:
    """Say who was told and how long it took by the wall clock: a pause does not stop a patient's course."""
    first = min(record.at for record in _records(session, alert))
    seconds = (told.at - first).total_seconds()
    after = f"written down {minutes(seconds)} after the finding was" if seconds >= 0 else "before it changed"
    end = _end(session)
    late = ", after the end" if end and told.n > end else ""
    return f"told {told_by(session, told)}: {after}{late}"
