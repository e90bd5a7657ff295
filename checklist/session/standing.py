"""Where an examination stands: what is left, what must be told, how the time runs."""

from collections.abc import Iterator
from dataclasses import dataclass

from checklist.protocol.model import OTHER, Entry, Finding, Section, Step
from checklist.session.events import NOT_INDICATED, Amended, Outcome, Recorded, Result, Retracted, Told
from checklist.session.readings import in_short
from checklist.session.session import Session
from checklist.session.state import Record


def open_entries(session: Session, step: Step) -> tuple[Entry, ...]:
    """Return the entries of `step` that have no outcome yet."""
    recorded = session.state.records.get(step.id, {})
    return tuple(entry for entry in step.entries if entry.key not in recorded)


def is_set_aside(session: Session, step: Step) -> bool:
    """Whether a conditional step was not triggered: nothing recorded, or recorded as not indicated."""
    if not step.only_if:
        return False
    records = session.state.records.get(step.id, {}).values()
    return all(
        record.result.outcome is Outcome.NOT_EXAMINED and record.result.reason == NOT_INDICATED
        for record in records
    )


def is_complete(session: Session, step: Step) -> bool:
    """Whether every entry has an outcome."""
    # Nothing is recorded for other entries than the step's own, and this is asked of all steps at every key.
    return len(session.state.records.get(step.id, ())) == len(step.entries)


@dataclass(frozen=True, kw_only=True, slots=True)
class Gap:
    """A step with entries that have no outcome."""

    step: Step
    entries: tuple[Entry, ...]
    is_partial: bool
    """Whether other entries of the step do have one: a side or a site was left out."""


def gaps(session: Session) -> tuple[Gap, ...]:
    """Return the steps that were not reached or half recorded, in listed order."""
    return tuple(_gaps(session))


def _gaps(session: Session) -> Iterator[Gap]:
    for step in session.protocol:
        entries = open_entries(session, step)
        partial = len(entries) < len(step.entries)
        if entries and (partial or not step.only_if):
            yield Gap(step=step, entries=entries, is_partial=partial)


@dataclass(frozen=True, kw_only=True, slots=True)
class Alert:
    """A recorded finding that must be told, with the entries it was found at."""

    step: Step
    finding: Finding
    """For free text that the examiner marked, a finding with the id `other` made of that text."""
    entries: tuple[str, ...]
    untold: tuple[str, ...]
    """Those of the entries that nobody was told of yet; one side told is not both."""

    @property
    def is_open(self) -> bool:
        return bool(self.untold)


def alerts(session: Session) -> tuple[Alert, ...]:
    """Return every recorded finding that must be told: urgent ones first, then in listed order."""
    records = session.state.records
    found = [alert for step in session.protocol if step.id in records for alert in _alerts_of(session, step)]
    return tuple(sorted(found, key=lambda alert: alert.finding.tell != "urgent"))


def open_alerts(session: Session) -> tuple[Alert, ...]:
    """Return the alerts of which somebody is still to be told."""
    return tuple(alert for alert in alerts(session) if alert.is_open)


def _alerts_of(session: Session, step: Step) -> Iterator[Alert]:
    found: dict[Finding, list[str]] = {}
    for entry, record in session.state.records.get(step.id, {}).items():
        for finding in findings_of(step, record.result):
            if finding.tell != "note":
                found.setdefault(finding, []).append(entry)
    for finding, entries in found.items():
        untold = tuple(
            entry
            for entry in entries
            if not any(is_told(session, step, finding, entry, told) for told in session.state.told)
        )
        yield Alert(step=step, finding=finding, entries=tuple(entries), untold=untold)


def is_told(session: Session, step: Step, finding: Finding, entry: str, told: Told) -> bool:
    """Whether `told` was about this finding at this entry.

    Own words are told as they stood then: changed or taken back afterwards, what stands has not been told.
    So is a reading, which is told with the finding that stands beside it.
    """
    if told.step != step.id or finding.id not in told.findings or entry not in told.entries:
        return False
    if finding.id != OTHER and step.reading is None:
        return True
    stands, (event, reading) = session.state.records[step.id][entry], _stood(session, told, entry)
    return stands.event == event if finding.id == OTHER else stands.result.reading == reading


def _stood(session: Session, told: Told, entry: str) -> tuple[int, str]:
    """Return the number of the event that stood for an entry when `told` happened, and its reading.

    They are 0 and empty when none stood.
    """
    earlier = session.events[: told.n - 1]
    taken_back = {event.event for event in earlier if isinstance(event, Retracted)}
    return max(
        (
            (event.n, result.reading)
            for event in earlier
            if isinstance(event, Recorded | Amended) and event.step == told.step and event.n not in taken_back
            for result in event.results
            if entry in result.entries
        ),
        default=(0, ""),
    )


def findings_of(step: Step, result: Result) -> tuple[Finding, ...]:
    """Return the findings of a result, with words or a reading that must be told as a finding `other`."""
    listed = tuple(step.finding_of[finding] for finding in result.findings)
    if not result.tell:
        return listed
    words = "; ".join(filter(None, (in_short(step, result), result.detail)))
    return (*listed, Finding(id=OTHER, label=words, chart=words, tell=result.tell))


def unmet(session: Session, step: Step) -> tuple[tuple[Step, str], ...]:
    """Return the steps that should come before `step` and have no outcome yet, each with its reason."""
    return tuple(
        (session.protocol.step_of[after.step], after.why)
        for after in step.after
        if after.step not in session.state.records
        and not is_set_aside(session, session.protocol.step_of[after.step])
    )


def missing_equipment(session: Session, step: Step) -> tuple[str, ...]:
    """Return the names of what `step` needs and the preparation found missing."""
    return tuple(
        session.protocol.equipment_of[item].name for item in step.needs if item in session.header.missing
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class Pace:
    """Time of an examination under way, in seconds of examination."""

    step: float
    section: float
    section_target: float
    total: float
    total_target: float
    forecast: float
    """When the examination would be over if what is left goes at the pace of what is done."""


_PACE_LIMITS = (0.5, 2.0)
_PACE_HALF_KNOWN_AFTER_SECONDS = 300.0
"""Planned seconds of complete steps after which the pace so far counts half."""


def pace(session: Session, clock: float) -> Pace:
    """Return the times at `clock` (seconds of examination)."""
    spent = dict(session.state.seconds)
    current = session.state.current
    if current:
        spent[current] = spent.get(current, 0.0) + clock - session.state.clock
    section = session.protocol.section_of[current] if current else None
    return Pace(
        step=spent.get(current, 0.0),
        section=sum(spent.get(step.id, 0.0) for step in section.steps) if section else 0.0,
        section_target=section_target(session, section) if section else 0.0,
        total=clock,
        total_target=session.protocol.target_seconds,
        forecast=clock + _left_seconds(session, spent),
    )


def section_target(session: Session, section: Section) -> float:
    """Return the planned seconds of a section, without conditional steps that were not triggered."""
    return float(sum(step.seconds for step in section.steps if not is_set_aside(session, step)))


def _left_seconds(session: Session, spent: dict[str, float]) -> float:
    """Return what the open steps will take: as planned, times the pace that is to be expected.

    Expected is 1 + (observed - 1) * planned / (planned + 300): of `planned` seconds of complete steps, few
    hardly move it, and many make it the pace observed. Our own choice, no source.
    """
    left = planned = taken = 0.0
    for step in session.protocol:
        if is_set_aside(session, step):
            continue
        if is_complete(session, step):
            planned += step.seconds
            taken += spent.get(step.id, 0.0)
        else:
            left += max(0.0, step.seconds - spent.get(step.id, 0.0))
    if not planned:
        return left
    low, high = _PACE_LIMITS
    observed = min(high, max(low, taken / planned))
    return left * (1 + (observed - 1) * planned / (planned + _PACE_HALF_KNOWN_AFTER_SECONDS))


@dataclass(frozen=True, kw_only=True, slots=True)
class Tally:
    """How many steps count, and how many of them have an outcome at every entry."""

    done: int
    of: int


def tally(session: Session) -> Tally:
    """Count the steps, without conditional steps that were not triggered."""
    counted = [step for step in session.protocol if not is_set_aside(session, step)]
    return Tally(done=sum(is_complete(session, step) for step in counted), of=len(counted))


def late_and_corrected(session: Session) -> tuple[tuple[Step, str, Record], ...]:
    """Return each amended entry that stands: its step, entry key and record."""
    return tuple(
        (step, entry, record)
        for step in session.protocol
        for entry, record in session.state.records.get(step.id, {}).items()
        if record.amendment
    )
