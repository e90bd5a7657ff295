"""What an observer sees of an examination that somebody else performs: the steps, and what each asks for.

Pure: a session in, lines out. What is marked is said in words; nothing of it is a patient's record.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace

from checklist.protocol.model import Section, Step
from checklist.session.events import Event, Marked, Remarked
from checklist.session.session import Session
from checklist.session.standing import Pace, Tally, pace
from checklist.tui import lists
from checklist.tui.draw import BLANK, Line, Part, crop, labelled, spread, window
from checklist.tui.lists import Row
from checklist.tui.step_view import clock_line

DONE, PROMPTED, INCORRECT, NOT_DONE, UNSEEN, NOT_APPLICABLE = (
    "done",
    "done after a prompt",
    "done incorrectly",
    "not done",
    "could not be seen",
    "not applicable",
)
"""The marks, as `session.events.MARKS` has them."""
FAILED = frozenset({INCORRECT, NOT_DONE})
"""Marks that a critical step must not have."""
TITLE_CELLS = 34
"""Room for a step's title, beside what is expected of it."""
LIST_ROWS = 7
"""Rows that the list of steps keeps, however long the text about one step is."""


def mark_of(session: Session, step: Step) -> str:
    """Return how a step is marked; empty where it is not."""
    marked = session.state.marks.get(step.id)
    return marked.mark if marked else ""


def unmarked(session: Session) -> tuple[Step, ...]:
    """Return the steps that still want a mark: without the conditional ones, which need none if not done."""
    return tuple(step for step in session.protocol if not step.only_if and not mark_of(session, step))


def next_unmarked(session: Session, step: Step) -> str:
    """Return the id of the first step after `step` that has no mark; empty if there is none."""
    following = session.protocol.steps[session.protocol.position_of[step.id] + 1 :]
    return next((each.id for each in following if not mark_of(session, each)), "")


def by_rhythm(step: Step) -> str:
    """Return what the common key marks: what is only done if indicated is not marked as done by rhythm."""
    return NOT_APPLICABLE if step.only_if else DONE


def marked_words(session: Session, event: Event) -> str:
    """Say what an event marked or remarked: `Clean hands: done incorrectly: no soap`."""
    match event:
        case Marked():
            parts = (session.protocol.step_of[event.step].title, event.mark, event.detail)
            return ": ".join(part for part in parts if part)
        case Remarked():
            return f"remark “{event.text}”"
        case _:
            return event.kind


def marking_tally(session: Session) -> Tally:
    """Count the marked steps among those that want a mark or have one."""
    done = len(session.state.marks)
    return Tally(done=done, of=done + len(unmarked(session)))


def marking_pace(session: Session, clock: float) -> Pace:
    """Return the times at `clock`; the forecast takes what has no mark as planned."""
    times = pace(session, clock)
    current = session.state.current
    spent = {**session.state.seconds, current: times.step}
    left = sum(max(0.0, step.seconds - spent.get(step.id, 0.0)) for step in unmarked(session))
    section = session.protocol.section_of[current]
    return replace(times, section_target=_planned(session, section), forecast=clock + left)


def _planned(session: Session, section: Section) -> float:
    """Return the planned seconds of a section, without conditional steps that were not performed."""
    return float(
        sum(
            step.seconds
            for step in section.steps
            if not step.only_if or mark_of(session, step) not in {"", NOT_APPLICABLE}
        )
    )


def head_lines(session: Session, step: Step, clock: float, width: int) -> list[Line]:
    """Return who is observed, where we are, and how the time runs."""
    section = session.protocol.section_of[step.id]
    place = section.steps.index(step) + 1
    tally, header = marking_tally(session), session.header
    marker = "PRACTICE" if header.is_simulated else "CARE"
    left = f"Observing {header.examiner}   {section.title} {place} of {len(section.steps)}"
    right = f"{tally.done} of {tally.of} marked   {marker} "
    times = clock_line(step, marking_pace(session, clock), width)
    return [spread([(left, "bar")], [(right, "bar")], width), times]


def observe_lines(session: Session, chosen: Sequence[Step], width: int, height: int) -> list[Line]:
    """Return the steps around the last of `chosen`, which the next mark is for, and what that one asks."""
    about = list(_about(session, chosen, width))[: max(0, height - LIST_ROWS - 1)]
    return [*_step_lines(session, chosen, width, height - len(about) - 1), BLANK, *about]


def _step_lines(session: Session, chosen: Sequence[Step], width: int, height: int) -> list[Line]:
    rows: list[Section | Step] = []
    for section in session.protocol.sections:
        rows += [section, *section.steps]
    places = window(len(rows), rows.index(chosen[-1]), height)
    return [_row_line(session, rows[place], chosen, width) for place in places]


def _row_line(session: Session, row: Section | Step, chosen: Sequence[Step], width: int) -> Line:
    """Return one line of the list: the title, what is expected, and the mark."""
    if isinstance(row, Section):
        return ((row.title, "strong"),)
    is_chosen = row in chosen
    mark, look = _standing(session, row)
    title = f"{'▸' if is_chosen else ' '} {crop(row.title, TITLE_CELLS):<{TITLE_CELLS}}  "
    parts: list[Part] = [(title, "cursor" if is_chosen else ""), (row.expect, "quiet")]
    return spread(parts, [(f" {mark}", look)], width)


def _standing(session: Session, step: Step) -> tuple[str, str]:
    """Return the mark of a step, or what is to be known where it has none, and its look."""
    mark = mark_of(session, step)
    if not mark:
        return ("only if indicated" if step.only_if else "–"), "quiet"
    return mark, "warn" if mark in FAILED else "strong"


def _about(session: Session, chosen: Sequence[Step], width: int) -> Iterator[Line]:
    """Return what is to be known of the step, or of the several, that the next mark is for."""
    if len(chosen) > 1:
        yield from labelled("Several", _several_words(session, chosen), width, "strong")
    step = chosen[-1]
    if step.critical:
        yield from labelled("Critical", step.critical, width, "strong", "warn")
    if step.only_if:
        yield from labelled("Only if", step.only_if, width, "strong")
    if marked := session.state.marks.get(step.id):
        yield from labelled("Marked", ": ".join(filter(None, (marked.mark, marked.detail))), width, "strong")
    if step.expect:
        yield from labelled("Expect", step.expect, width, "strong")
    yield from labelled("Do", step.do, width)


def _several_words(session: Session, chosen: Sequence[Step]) -> str:
    """Say how many of several steps the next mark is for: those that have one keep it."""
    kept = sum(bool(mark_of(session, step)) for step in chosen)
    if not kept:
        return f"The next mark is for {steps_in_words(len(chosen))}."
    wanting = len(chosen) - kept
    if not wanting:
        return f"All {len(chosen)} are marked already and stay as they are."
    keep = "has one and keeps it" if kept == 1 else "have one and keep it"
    return f"The next mark is for {wanting} of {len(chosen)} steps; {kept} {keep}."


def steps_in_words(count: int) -> str:
    return f"{count} step{'' if count == 1 else 's'}"


def kept_words(count: int) -> str:
    """Say that steps keep the marks they have: `1 marked before stays as it is`."""
    return f"{count} marked before {'stays as it is' if count == 1 else 'stay as they are'}"


def tally_words(marks: Sequence[str]) -> str:
    """Say how many steps were marked how: `2 steps: done; 1 step: not applicable`."""
    return "; ".join(f"{steps_in_words(count)}: {mark}" for mark, count in Counter(marks).items())


def search_rows(session: Session, typed: str) -> list[Row]:
    """Return the steps that hold all words typed, by section, each with its mark."""
    step_of = session.protocol.step_of
    return [
        replace(row, note=_standing(session, step_of[row.step])[0]) if row.step else row
        for row in lists.outline_rows(session, typed)
    ]


def finish_rows(session: Session) -> list[Row]:
    """Return the steps without a mark, each with its section.

    In an assessed performance too: it is not the observer who is assessed.
    """
    section_of = session.protocol.section_of
    return [
        Row(text=f"  {step.title}", note=section_of[step.id].title, step=step.id)
        for step in unmarked(session)
    ]


def finish_lines(title: str, rows: Sequence[Row], cursor: int, width: int, height: int) -> list[Line]:
    """Return the steps without a mark around the cursor, and how many more there are than fit."""
    lines = lists.list_lines(title, rows, cursor, width, height)
    head = len(lists.list_lines(title, (), 0, width, height))
    if len(lines) - head == len(rows):
        return lines
    shown = window(len(rows), cursor, height - head - 1)
    more = ((shown.start, "above"), (len(rows) - shown.stop, "below"))
    words = ", ".join(f"{count} more {where}" for count, where in more if count)
    return [*lists.list_lines(title, rows, cursor, width, height - 1), ((f"  {words}", "quiet"),)]


def critical_words(step: Step, mark: str) -> str:
    """Return what is said, to the observer alone, when a critical step was not done or done incorrectly."""
    return f"CRITICAL and {mark}: {step.title}: {step.critical}" if step.critical and mark in FAILED else ""
