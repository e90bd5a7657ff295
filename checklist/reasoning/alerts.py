"""Everything that must be told: recorded findings, what is computed out of range, and complete patterns.

What is computed or belongs together is told like a finding of the step that completed it.
Its id holds a colon, which no finding's id does.
"""

from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache
from typing import TYPE_CHECKING

from checklist.protocol.model import Finding
from checklist.reasoning.same import Same
from checklist.session import standing
from checklist.session.events import TELLS
from checklist.session.session import COMPARED, COMPUTED, PATTERN, Session
from checklist.session.standing import Alert

if TYPE_CHECKING:
    from checklist.reasoning.facts import Known
    from checklist.reasoning.patterns import Match


def is_derived(finding: Finding) -> bool:
    """Whether a finding was not recorded as such, but follows from what was."""
    return ":" in finding.id


def alerts(session: Session) -> tuple[Alert, ...]:
    """Return everything that must be told: urgent first, then findings in listed order, then what follows."""
    return _alerts(Same(session))


def open_alerts(session: Session) -> tuple[Alert, ...]:
    """Return the alerts of which somebody is still to be told."""
    return tuple(alert for alert in alerts(session) if alert.is_open)


@lru_cache(maxsize=4)
def _alerts(same: Same) -> tuple[Alert, ...]:
    session = same.session
    recorded = standing.alerts(session)
    protocol = session.protocol
    if not (protocol.computed or protocol.patterns or any(step.reading for step in protocol)):
        return recorded
    # The code of readings and patterns is loaded only where something follows from them.
    from checklist.reasoning.facts import known

    found = known(session)
    derived = (*_out_of_range(session, found), *_patterns(session, found))
    return tuple(sorted((*recorded, *derived), key=lambda alert: alert.finding.tell != "urgent"))


def _out_of_range(session: Session, found: Mapping[str, "Known"]) -> Iterator[Alert]:
    protocol = session.protocol
    titles = {each.id: each.title for each in protocol.computed}
    for name, each in found.items():
        meaning = each.together
        if meaning and meaning.tell in TELLS:
            kind = COMPUTED if name in protocol.inputs_of else COMPARED
            title = titles.get(name, "")
            finding = _finding(f"{kind}{name}", titled(title, meaning.chart), meaning.tell)
            yield _alert(session, finding, protocol.inputs_of.get(name, (name,)))


def titled(title: str, words: str) -> str:
    """Put a title before words that do not begin with it already."""
    return words if words.casefold().startswith(title.casefold()) else f"{title}: {words}"


def _patterns(session: Session, found: Mapping[str, "Known"]) -> Iterator[Alert]:
    from checklist.reasoning.patterns import matches

    inputs_of = session.protocol.inputs_of
    for match in matches(session.protocol, found):
        if match.pattern.tell in TELLS:
            steps = [step for named, _ in match.rests_on for step in inputs_of.get(named, (named,))]
            yield _alert(session, _finding(pattern_id(match), match.words, match.pattern.tell), steps)


def pattern_id(match: "Match") -> str:
    """Return the id under which somebody is told of a complete pattern."""
    return PATTERN + ":".join(filter(None, (match.pattern.id, match.side)))


def _finding(name: str, words: str, tell: str) -> Finding:
    return Finding(id=name, label=words, chart=words, tell=tell)


def _alert(session: Session, finding: Finding, names: Iterable[str]) -> Alert:
    """Return the alert at the step that was recorded last of those on which it rests."""
    records = session.state.records
    steps = [name for name in names if name in records]
    last_of = {name: max(record.event for record in records[name].values()) for name in steps}
    step = session.protocol.step_of[max(steps, key=last_of.__getitem__)]
    entries = tuple(records[step.id])
    # What was told before anything of it changed was told of something else.
    is_told = any(
        finding.id in told.findings and told.n > max(last_of.values()) for told in session.state.told
    )
    return Alert(step=step, finding=finding, entries=entries, untold=() if is_told else entries)
