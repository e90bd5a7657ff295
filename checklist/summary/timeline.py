"""Where the time of a session went: figures and bars beside the plan, and no judgement of them."""

import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import floor

from checklist.protocol.model import Section, Step
from checklist.session.events import (
    Amended,
    Event,
    Finished,
    Marked,
    Moved,
    Outcome,
    Recorded,
    Retracted,
    Started,
)
from checklist.session.session import OBSERVATION, Session
from checklist.session.standing import is_complete, is_set_aside
from checklist.session.state import outcomes
from checklist.summary.document import Block, Form, Note, Sentence
from checklist.summary.particulars import banner, examination_seconds, particulars
from checklist.summary.words import sentence
from checklist.text import one_line

NAME_CELLS, OUTCOME_CELLS, TIME_CELLS, BAR_CELLS = 33, 11, 7, 15
"""Columns of a row: with the spaces between them 77 cells, so that a row fits 80 with a margin."""
SCALES = (1, 2, 5, 10, 15, 20, 30, 60, 120, 300, 600, 1800, 3600)
"""Seconds that one mark of a bar may stand for."""
SHOWN_SECONDS = 0.5
"""What is less rounds to 0:00, and counts as no time."""
WEIGHTS = {
    Outcome.DIFFERS: "differs",
    Outcome.UNSEEN: "not seen",
    Outcome.NOT_EXAMINED: "not done",
    Outcome.EXPECTED: "expected",
}
"""Outcomes of entries in a word; of several at one step the first of this order stands for all."""
MARK_WORDS = {
    "done": "done",
    "done after a prompt": "prompted",
    "done incorrectly": "incorrect",
    "not done": "not done",
    "could not be seen": "not seen",
    "not applicable": "not applic.",
}
"""An observer's marks as the column has room for them."""
LEGEND = (
    "Times are minutes and seconds of examination. "
    "Bars: = within the plan, + beyond it, . planned and not used, > cut short; – not triggered; "
    "… recorded in part."
)

OBSERVED = "Outcomes are an observer's marks, times those of marking; not applic. is not applicable."


def timeline(session: Session) -> Note:
    """Return each step's outcome and time in the order recorded, section totals and the total."""
    return Note(
        title=f"{session.protocol.title}: timeline",
        banner=banner(session),
        blocks=tuple(_blocks(session)),
    )


def _blocks(session: Session) -> Iterator[Block]:
    about = [Sentence(text=LEGEND)]
    if _is_observed(session):
        about.append(Sentence(text=OBSERVED))
    yield Block(sentences=(*particulars(session), *about))
    yield from (_block(table) for table in tables(session))
    if untouched := no_time(session):
        yield Block(heading="NO TIME SPENT", sentences=untouched)


@dataclass(frozen=True, kw_only=True, slots=True)
class Row:
    """One line of a table, and the events that it rests on."""

    name: str
    outcome: str
    spent: float
    planned: float
    rests_on: tuple[int, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Table:
    """Times beside their plans under one heading."""

    heading: str
    outcome: str
    """What the rows' outcomes are: the head of that column."""
    rows: tuple[Row, ...]


def tables(session: Session) -> tuple[Table, ...]:
    """Return the tables of the timeline: steps in the order recorded, those looked at, sections, total."""
    events = _events_at(session)
    recorded = tuple(_step_row(session, step, events) for step in _recorded(session))
    looked = tuple(_step_row(session, step, events) for step in _looked_at(session, events))
    made = "marked" if _is_observed(session) else "recorded"
    found = (
        Table(heading=f"STEPS IN THE ORDER {made.upper()}", outcome="outcome", rows=recorded),
        Table(heading=f"LOOKED AT, NOTHING {made.upper()}", outcome="", rows=looked),
        Table(heading="SECTIONS", outcome=made, rows=tuple(_section_rows(session, events))),
        Table(heading="TOTAL", outcome=made, rows=tuple(_total_rows(session))),
    )
    return tuple(table for table in found if table.rows)


def _is_observed(session: Session) -> bool:
    return session.header.mode == OBSERVATION


def _observed_marks(session: Session) -> Mapping[str, Marked]:
    """Marks are outcomes where somebody observed; on an examiner they stand in no paper of the patient."""
    return session.state.marks if _is_observed(session) else {}


def _has_outcome(session: Session, step: Step) -> bool:
    return step.id in session.state.records or step.id in _observed_marks(session)


def _is_whole_outcome(session: Session, step: Step) -> bool:
    return step.id in _observed_marks(session) or is_complete(session, step)


def _is_aside(session: Session, step: Step) -> bool:
    """Whether a conditional step was not triggered: one that was marked was, unless as not applicable."""
    if step.only_if and (mark := _observed_marks(session).get(step.id)):
        return mark.mark == "not applicable"
    return is_set_aside(session, step)


def _events_at(session: Session) -> dict[str, tuple[int, ...]]:
    """Return the steps in the order of their first visit, each with its events that were not taken back."""
    found: dict[str, tuple[int, ...]] = {}
    for event in _standing_events(session):
        if isinstance(event, Started | Moved | Recorded | Amended | Marked):
            found[event.step] = (*found.get(event.step, ()), event.n)
    return found


def _standing_events(session: Session) -> Iterator[Event]:
    taken_back = {event.event for event in session.events if isinstance(event, Retracted)}
    yield from (event for event in session.events if event.n not in taken_back)


def _recorded(session: Session) -> tuple[Step, ...]:
    """Return the steps with an outcome in the order of their first record; one made again keeps its place."""
    standing = _standing_events(session)
    order = dict.fromkeys(event.step for event in standing if isinstance(event, Recorded | Amended | Marked))
    steps = (session.protocol.step_of[step_id] for step_id in order)
    return tuple(step for step in steps if _has_outcome(session, step))


def _looked_at(session: Session, visits: Iterable[str]) -> tuple[Step, ...]:
    """Return the steps that took time and have no outcome, in the order of their first visit."""
    steps = (session.protocol.step_of[step_id] for step_id in visits)
    return tuple(
        step for step in steps if not _has_outcome(session, step) and _spent(session, step) >= SHOWN_SECONDS
    )


def _spent(session: Session, step: Step) -> float:
    return session.state.seconds.get(step.id, 0.0)


def _step_row(session: Session, step: Step, events: dict[str, tuple[int, ...]]) -> Row:
    return Row(
        name=step.title,
        outcome=_outcome(session, step),
        spent=_spent(session, step),
        planned=0.0 if _is_aside(session, step) else float(step.seconds),
        rests_on=events[step.id],
    )


def _outcome(session: Session, step: Step) -> str:
    if mark := _observed_marks(session).get(step.id):
        return MARK_WORDS[mark.mark]
    found = set(outcomes(session.state, step.id).values())
    word = next((words for outcome, words in WEIGHTS.items() if outcome in found), "")
    return f"{word}…" if word and not is_complete(session, step) else word


def _section_rows(session: Session, events: dict[str, tuple[int, ...]]) -> Iterator[Row]:
    for section in session.protocol.sections:
        counted = [step for step in section.steps if not _is_aside(session, step)]
        yield Row(
            name=section.title,
            outcome=_done(session, counted),
            spent=sum(_spent(session, step) for step in section.steps),
            planned=float(sum(step.seconds for step in counted)),
            rests_on=tuple(sorted(n for step in section.steps for n in events.get(step.id, ()))),
        )


def _total_rows(session: Session) -> Iterator[Row]:
    counted = [step for step in session.protocol if not _is_aside(session, step)]
    yield Row(
        name="Whole examination",
        outcome=_done(session, counted),
        spent=examination_seconds(session),
        planned=session.protocol.target_seconds,
        rests_on=tuple(event.n for event in session.events if isinstance(event, Finished)),
    )


def _done(session: Session, counted: Sequence[Step]) -> str:
    done = sum(_is_whole_outcome(session, step) for step in counted)
    return f"{done} of {len(counted)}" if counted else "–"


def _block(table: Table) -> Block:
    """Return rows whose columns are aligned by character cells, under a head that gives the scale."""
    scale = _scale(max(row.planned for row in table.rows))
    head = Sentence(text=_columns("", table.outcome, "spent", "planned", f"one mark {scale} s"))
    lines = (_line(row, scale) for row in table.rows)
    return Block(heading=table.heading, sentences=(head, *lines), form=Form.ROWS)


def _line(row: Row, scale: int) -> Sentence:
    planned = minutes(row.planned) if row.planned else "–"
    bar = _bar(row.spent, row.planned, scale)
    text = _columns(one_line(row.name), row.outcome, minutes(row.spent), planned, bar)
    return Sentence(text=text, rests_on=row.rests_on)


def _columns(name: str, outcome: str, spent: str, planned: str, bar: str) -> str:
    times = f"{spent:>{TIME_CELLS}} {planned:>{TIME_CELLS}}"
    return f"{fitted(name, NAME_CELLS)} {fitted(outcome, OUTCOME_CELLS)} {times} {bar}".rstrip()


def _scale(longest_plan: float) -> int:
    """Return seconds a mark such that the longest plan fills half a bar at most.

    Time spent has no say in it: one forgotten pause would make every other bar a stub.
    """
    return next((scale for scale in SCALES if longest_plan <= scale * BAR_CELLS / 2), SCALES[-1])


def _bar(spent: float, planned: float, scale: int) -> str:
    took, plan = _marks(spent, scale), _marks(planned, scale)
    bar = "=" * min(took, plan) + "+" * (took - plan) + "." * (plan - took)
    return bar if len(bar) <= BAR_CELLS else bar[: BAR_CELLS - 1] + ">"


def _marks(seconds: float, scale: int) -> int:
    """Round to whole marks; what is shown as a second or more has one at least."""
    return max(1, floor(seconds / scale + 0.5)) if seconds >= SHOWN_SECONDS else 0


def minutes(seconds: float) -> str:
    """Return whole seconds as minutes and seconds: `1:05`."""
    whole = floor(seconds + 0.5)
    return f"{whole // 60}:{whole % 60:02}"


def fitted(text: str, cells: int) -> str:
    """Return `text` cut or padded to a number of character cells."""
    if _cells(text) > cells:
        while _cells(text) > cells - 1:
            text = text[:-1]
        text += "…"
    return text + " " * (cells - _cells(text))


def _cells(text: str) -> int:
    """Count the cells of a terminal: wide characters take two, combining ones none."""
    wide = sum(unicodedata.east_asian_width(character) in "WF" for character in text)
    return len(text) + wide - sum(unicodedata.combining(character) > 0 for character in text)


def no_time(session: Session) -> tuple[Sentence, ...]:
    """Name the steps that took no time and have no outcome, by section."""
    return tuple(_no_time(session))


def _no_time(session: Session) -> Iterator[Sentence]:
    """Name the steps that took no time and have no outcome; conditional ones set aside are not missed."""
    for section in session.protocol.sections:
        missed = [step for step in section.steps if _is_missed(session, step)]
        if missed:
            names = "; ".join(step.title for step in missed)
            whole = _is_whole(session, section)
            yield Sentence(text=sentence(f"{section.title}: {'whole section' if whole else names}"))


def _is_missed(session: Session, step: Step) -> bool:
    return _is_untouched(session, step) and not _is_aside(session, step)


def _is_untouched(session: Session, step: Step) -> bool:
    return not _has_outcome(session, step) and _spent(session, step) < SHOWN_SECONDS


def _is_whole(session: Session, section: Section) -> bool:
    return all(_is_untouched(session, step) for step in section.steps)
