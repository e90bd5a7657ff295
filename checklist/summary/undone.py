"""What has no finding: attempted and not seen, not examined and why, not reached. Nothing here is charted."""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence

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
        yield from listed(f"{label}{reason}", found)


def _with_outcome(session: Session, steps: Iterable[Step], outcome: Outcome) -> Iterator[Group]:
    for step in steps:
        found = groups(step, session.state.records.get(step.id, {}))
        yield from (group for group in found if group.result.outcome is outcome)


def listed(label: str, found: Iterable[Group]) -> Iterator[Sentence]:
    """Name groups by their titles, saying once what several share: the place, the examiner's own words."""
    found = tuple(found)
    alike: dict[tuple[str, str], list[Group]] = {}
    for group in found:
        alike.setdefault(_place_and_words(group), []).append(group)
    shared = {key: rows for key, rows in alike.items() if _can_share(*key, rows)}
    rest = [group for group in found if _place_and_words(group) not in shared]
    if plain := [group for group in rest if not group.result.detail]:
        yield _named(label, plain)
    for (place, detail), rows in shared.items():
        parts = (label, place, detail.rstrip(" .,;:"))
        yield _named(", ".join(filter(None, parts)), rows, without_place=True)
    for group in rest:
        if group.result.detail:
            yield _named(label, [group], f": {group.result.detail}")


def _place_and_words(group: Group) -> tuple[str, str]:
    return place_words(group.step, group.entries), group.result.detail


def _can_share(place: str, detail: str, rows: Sequence[Group]) -> bool:
    """Whether place and words can stand in front of several titles, and still be read as one label."""
    return len(rows) > 1 and bool(place or detail) and not _SEVERAL.search(f"{place} {detail.rstrip(' .')}")


_SEVERAL = re.compile(r"[.,;:!?]")


def _named(
    label: str, found: Sequence[Group], own_words: str = "", *, without_place: bool = False
) -> Sentence:
    names = "; ".join(
        titled(group.step, () if without_place else group.entries, group.mark) for group in found
    )
    rests_on = numbers(event for group in found for event in group.rests_on)
    return Sentence(text=sentence(f"{label}{label and ': '}{names}{own_words}"), rests_on=rests_on)


def in_part(session: Session) -> Iterator[Sentence]:
    """Say by section of which steps some entries have an outcome, and which side or site has none."""
    by_section = _by_section(session, (gap for gap in gaps(session) if gap.is_partial))
    for section in session.protocol.sections:
        if section.id in by_section:
            yield _section_gaps(session, section, by_section[section.id])


def _by_section(session: Session, found: Iterable[Gap]) -> dict[str, list[Gap]]:
    by_section: dict[str, list[Gap]] = {}
    for gap in found:
        by_section.setdefault(session.protocol.section_of[gap.step.id].id, []).append(gap)
    return by_section


def not_reached(session: Session) -> Iterator[Sentence]:
    """Say by section which steps have no outcome at all."""
    by_section = _by_section(session, (gap for gap in gaps(session) if not gap.is_partial))
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
