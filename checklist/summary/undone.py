"""What has no finding: attempted and not seen, not examined and why, not reached. Nothing here is charted."""

from collections.abc import Iterable, Iterator, Mapping

from checklist.protocol.model import Section, Step
from checklist.session.events import REASONS, Outcome
from checklist.session.session import Session
from checklist.session.standing import Gap, gaps, is_set_aside
from checklist.summary.document import Sentence
from checklist.summary.grouping import Group, groups, numbers, place_words, titled
from checklist.summary.words import sentence

NO_REASON = "no reason recorded"


def unseen(session: Session) -> Iterator[Sentence]:
    """Say what was attempted and not seen."""
    yield from listed("", _with_outcome(session, session.protocol, Outcome.UNSEEN))


def not_examined(session: Session, steps: Iterable[Step], label: str = "") -> Iterator[Sentence]:
    """Say which of `steps` were not examined, by reason; conditional ones set aside are passed over."""
    by_reason: dict[str, list[Group]] = {reason: [] for reason in REASONS}
    for group in _with_outcome(session, steps, Outcome.NOT_EXAMINED):
        if not is_set_aside(session, group.step):
            by_reason.setdefault(group.result.reason or NO_REASON, []).append(group)
    for reason, found in by_reason.items():
        yield from listed(f"{label}{reason}: ", found)


def _with_outcome(session: Session, steps: Iterable[Step], outcome: Outcome) -> Iterator[Group]:
    for step in steps:
        found = groups(step, session.state.records.get(step.id, {}))
        yield from (group for group in found if group.result.outcome is outcome)


def listed(label: str, found: Iterable[Group]) -> Iterator[Sentence]:
    """Name groups by their titles in one sentence; one with the examiner's own words has its own."""
    found = tuple(found)
    plain = [group for group in found if not group.result.detail]
    if plain:
        names = "; ".join(titled(group.step, group.entries, group.mark) for group in plain)
        rests_on = numbers(event for group in plain for event in group.rests_on)
        yield Sentence(text=sentence(f"{label}{names}"), rests_on=rests_on)
    for group in found:
        if group.result.detail:
            name = titled(group.step, group.entries, group.mark)
            yield Sentence(text=sentence(f"{label}{name}: {group.result.detail}"), rests_on=group.rests_on)


def not_reached(session: Session) -> Iterator[Sentence]:
    """Say by section which steps have no outcome, and of half recorded ones which side or site has none."""
    by_section: dict[str, list[Gap]] = {}
    for gap in gaps(session):
        by_section.setdefault(session.protocol.section_of[gap.step.id].id, []).append(gap)
    whole = [section for section in session.protocol.sections if _is_whole(session, section, by_section)]
    if whole:
        label = "whole section" if len(whole) == 1 else "whole sections"
        yield Sentence(text=sentence(f"{label}: {'; '.join(section.title for section in whole)}"))
    for section in session.protocol.sections:
        if section.id in by_section and section not in whole:
            yield _section_gaps(session, section, by_section[section.id])


def _is_whole(session: Session, section: Section, found: Mapping[str, list[Gap]]) -> bool:
    return section.id in found and not any(step.id in session.state.records for step in section.steps)


def _section_gaps(session: Session, section: Section, found: list[Gap]) -> Sentence:
    names = "; ".join(_gap_words(gap) for gap in found)
    events = (record.event for gap in found for record in session.state.records.get(gap.step.id, {}).values())
    return Sentence(text=sentence(f"{section.title}: {names}"), rests_on=numbers(events))


def _gap_words(gap: Gap) -> str:
    if not gap.is_partial:
        return gap.step.title
    return f"{gap.step.title} ({place_words(gap.step, gap.entries)} not recorded)"
