"""Acts of the examiner: what was said and done to the patient besides examining. Acts find nothing."""

from collections.abc import Iterator, Sequence

from checklist.protocol.model import Step
from checklist.reasoning.alerts import open_alerts
from checklist.session.events import Outcome
from checklist.session.session import Session
from checklist.summary.document import Sentence
from checklist.summary.grouping import Group, groups, numbers
from checklist.summary.prose import clause_text, clauses
from checklist.summary.undone import not_examined
from checklist.summary.words import in_row, sentence, uncapitalised

_TELL = "tell"
_ACTS = (_TELL, "hygiene")


def is_act(step: Step) -> bool:
    """Whether the step is something the examiner does or says, rather than a look for a finding."""
    return step.technique in _ACTS


def conduct(session: Session, acts: Sequence[Step]) -> Iterator[Sentence]:
    """Return what was done in one sentence, then what was done otherwise, then what was not done and why.

    Last comes how much was to be told of which no telling is recorded, where something was said to others.
    """
    found = [group for step in acts for group in groups(step, session.state.records.get(step.id, {}))]
    done = [group for group in found if _is_plainly_done(group)]
    if done:
        rests_on = numbers(event for group in done for event in group.rests_on)
        yield Sentence(text=sentence(f"Done: {'; '.join(map(act_words, done))}"), rests_on=rests_on)
    for group in found:
        if group.result.outcome in (Outcome.EXPECTED, Outcome.DIFFERS) and group not in done:
            yield Sentence(text=sentence(act_words(group)), rests_on=group.rests_on)
    yield from not_examined(session, acts, "not done, ")
    if any(group.step.technique == _TELL for group in done):
        yield from _without_a_telling(session)


def _without_a_telling(session: Session) -> Iterator[Sentence]:
    """Keep what was said to others from being read as if what was to be told had been told."""
    waiting = open_alerts(session)
    if waiting:
        count = len(waiting)
        words = "1 finding to be told has" if count == 1 else f"{count} findings to be told have"
        records = session.state.records
        rests_on = numbers(records[alert.step.id][entry].event for alert in waiting for entry in alert.untold)
        yield Sentence(text=f"{words} no record of being told.", rests_on=rests_on)


def _is_plainly_done(group: Group) -> bool:
    return group.result.outcome is Outcome.EXPECTED and not group.result.detail


def act_words(group: Group) -> str:
    """Return what was done: in the chart's words when the act has some, else by its title."""
    is_worded = bool(group.step.subject and group.step.chart) or bool(group.result.reading)
    if group.result.outcome is Outcome.EXPECTED and not is_worded:
        mark = f" [{group.mark}]" if group.mark else ""
        detail = f": {group.result.detail}" if group.result.detail else ""
        return f"{uncapitalised(group.step.title)}{mark}{detail}"
    return in_row(clause_text(clause) for clause in clauses(group))
