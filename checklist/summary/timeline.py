"""Where the time of a session went: figures and bars beside the plan, and no judgement of them."""

import unicodedata
from collections.abc import Iterable, Iterator
from math import floor

from checklist.protocol.model import Section, Step
from checklist.session.events import Event, Finished, Moved, Recorded, Started
from checklist.session.session import Session
from checklist.session.standing import is_set_aside, section_target
from checklist.summary.document import Block, Form, Note, Sentence
from checklist.summary.particulars import banner, examination_seconds, particulars
from checklist.summary.words import sentence
from checklist.text import one_line

NAME_CELLS, TIME_CELLS, BAR_CELLS = 40, 7, 20
"""Columns of a row: with the spaces between them 77 cells, so that a row fits 80 with a margin."""
SCALES = (1, 2, 5, 10, 15, 20, 30, 60, 120, 300, 600, 1800, 3600)
"""Seconds that one character of a bar may stand for."""
LEGEND = (
    "Times are minutes and seconds of examination. "
    "Bars: = within the plan, + beyond it, . planned and not used, > cut short; – not triggered."
)


def timeline(session: Session) -> Note:
    """Return each step's time in the order performed, section totals and the total, against the plan."""
    visits = _visits(session.events)
    return Note(
        title=f"{session.protocol.title}: timeline",
        banner=banner(session),
        blocks=tuple(_blocks(session, visits)),
    )


def _visits(events: Iterable[Event]) -> dict[str, tuple[int, ...]]:
    """Return the steps in the order of their first visit, each with the numbers of the events at it."""
    visits: dict[str, tuple[int, ...]] = {}
    for event in events:
        if isinstance(event, Started | Moved | Recorded):
            visits[event.step] = (*visits.get(event.step, ()), event.n)
    return visits


def _blocks(session: Session, visits: dict[str, tuple[int, ...]]) -> Iterator[Block]:
    yield Block(sentences=(*particulars(session), Sentence(text=LEGEND)))
    if visits:
        yield _table("STEPS IN THE ORDER PERFORMED", _step_rows(session, visits))
    yield _table("SECTIONS", _section_rows(session, visits))
    yield _table("TOTAL", _total_rows(session))
    if missed := tuple(_never_visited(session, visits)):
        yield Block(heading="NEVER VISITED", sentences=missed)


Row = tuple[str, float, float, tuple[int, ...]]
"""Name, seconds spent, seconds planned, and the events that it rests on."""


def _step_rows(session: Session, visits: dict[str, tuple[int, ...]]) -> Iterator[Row]:
    for step_id, numbers in visits.items():
        step = session.protocol.step_of[step_id]
        planned = 0.0 if is_set_aside(session, step) else float(step.seconds)
        yield step.title, session.state.seconds.get(step_id, 0.0), planned, numbers


def _section_rows(session: Session, visits: dict[str, tuple[int, ...]]) -> Iterator[Row]:
    for section in session.protocol.sections:
        spent = sum(session.state.seconds.get(step.id, 0.0) for step in section.steps)
        numbers = sorted(n for step in section.steps for n in visits.get(step.id, ()))
        yield section.title, spent, section_target(session, section), tuple(numbers)


def _total_rows(session: Session) -> Iterator[Row]:
    ended = tuple(event.n for event in session.events if isinstance(event, Finished))
    yield "Whole examination", examination_seconds(session), session.protocol.target_seconds, ended


def _table(heading: str, rows: Iterable[Row]) -> Block:
    """Return rows whose columns are aligned by character cells, under a head that gives the scale."""
    rows = tuple(rows)
    scale = _scale(max(planned for _, _, planned, _ in rows))
    head = Sentence(text=_columns("", "spent", "planned", f"one character {scale} s"))
    return Block(heading=heading, sentences=(head, *(_row(row, scale) for row in rows)), form=Form.ROWS)


def _row(row: Row, scale: int) -> Sentence:
    name, spent, planned, rests_on = row
    text = _columns(
        one_line(name), _minutes(spent), _minutes(planned) if planned else "–", _bar(spent, planned, scale)
    )
    return Sentence(text=text, rests_on=rests_on)


def _columns(name: str, spent: str, planned: str, bar: str) -> str:
    return f"{_fitted(name, NAME_CELLS)} {spent:>{TIME_CELLS}} {planned:>{TIME_CELLS}} {bar}".rstrip()


def _scale(longest_plan: float) -> int:
    """Return seconds a character such that the longest plan fills half a bar at most.

    Time spent has no say in it: one forgotten pause would make every other bar a stub.
    """
    return next((scale for scale in SCALES if longest_plan <= scale * BAR_CELLS / 2), SCALES[-1])


def _bar(spent: float, planned: float, scale: int) -> str:
    took, plan = _characters(spent, scale), _characters(planned, scale)
    bar = "=" * min(took, plan) + "+" * (took - plan) + "." * (plan - took)
    return bar if len(bar) <= BAR_CELLS else bar[: BAR_CELLS - 1] + ">"


def _characters(seconds: float, scale: int) -> int:
    """Round to whole characters; what is more than nothing shows."""
    return max(1, floor(seconds / scale + 0.5)) if seconds > 0 else 0


def _minutes(seconds: float) -> str:
    """Return whole seconds as minutes and seconds: `1:05`."""
    whole = floor(seconds + 0.5)
    return f"{whole // 60}:{whole % 60:02}"


def _fitted(text: str, cells: int) -> str:
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


def _never_visited(session: Session, visits: dict[str, tuple[int, ...]]) -> Iterator[Sentence]:
    """Name the steps that the examiner was never at; conditional ones that were set aside are not missed."""
    for section in session.protocol.sections:
        missed = [step for step in section.steps if _is_missed(session, step, visits)]
        if missed:
            names = "; ".join(step.title for step in missed)
            whole = _is_whole(section, visits)
            yield Sentence(text=sentence(f"{section.title}: {'whole section' if whole else names}"))


def _is_missed(session: Session, step: Step, visits: dict[str, tuple[int, ...]]) -> bool:
    return step.id not in visits and not is_set_aside(session, step)


def _is_whole(section: Section, visits: dict[str, tuple[int, ...]]) -> bool:
    return not any(step.id in visits for step in section.steps)
