"""The times of a debrief: a picture of the examination, planned and actual on one axis, and a table.

Needs no colour: planned is `·`, actual is `█`.
"""

from collections.abc import Iterator, Sequence

from checklist.practice.figures import Figures
from checklist.practice.pace import Pace, SectionTime, StepTime
from checklist.summary.document import Block, Form, Sentence
from checklist.summary.timeline import fitted, minutes
from checklist.text import one_line

NAME_CELLS, BAR_CELLS = 18, 44
"""With what stands between them 77 cells, so that a row fits 80 with a margin."""
STEP_CELLS = 44
SCALES = (1, 2, 5, 10, 15, 20, 30, 60, 120, 300, 600, 1800, 3600)
"""Seconds that one mark may stand for."""
TICKS = (10, 20, 30, 60, 120, 300, 600, 1200, 1800, 3600, 7200)
"""Seconds between two figures of the axis."""
TICK_CELLS = 8
"""The fewest cells between two figures."""
LEAST_SECONDS = 0.5
"""In a cell: less is not shown."""
PLANNED, ACTUAL, TARGET = "·", "█", "^"


def picture(figures: Figures) -> Block:
    """Return for each section when it was planned and when the examiner was in it."""
    scale = _scale(figures.pace)
    rows = [f"{'':{NAME_CELLS}} {'':14} {_axis(scale, _longest(figures.pace))}"]
    start = 0.0
    for each in figures.pace.sections:
        rows += _section_rows(each, start, scale)
        start += each.planned
    mark = " " * int(figures.pace.target / scale) + TARGET
    rows.append(_row("Target", "", figures.pace.target, mark))
    heading = (
        f"TIMELINE: {PLANNED} PLANNED, {ACTUAL} ACTUAL; ONE MARK {scale} S; {TARGET} TARGET TIME OF THE WHOLE"
    )
    return Block(heading=heading, sentences=tuple(Sentence(text=row) for row in rows), form=Form.ROWS)


def _longest(pace: Pace) -> float:
    return max(pace.total, pace.target, sum(each.planned for each in pace.sections))


def _scale(pace: Pace) -> int:
    longest = _longest(pace)
    return next((each for each in SCALES if longest < each * BAR_CELLS), int(longest // BAR_CELLS) + 1)


def _axis(scale: int, longest: float) -> str:
    """Return minutes and seconds of examination, each over the cell in which it begins."""
    tick = next((each for each in TICKS if each >= scale * TICK_CELLS), scale * TICK_CELLS)
    axis = ""
    for count in range(int(longest // tick) + 1):
        label = minutes(count * tick)
        if count * tick // scale + len(label) <= BAR_CELLS:
            axis = axis.ljust(count * tick // scale) + label
    return axis


def _section_rows(each: SectionTime, start: float, scale: int) -> Iterator[str]:
    title = one_line(each.section.title)
    yield _row(title, "planned", each.planned, _bar([(start, start + each.planned)], PLANNED, scale))
    yield _row("", "actual", each.seconds, _bar(each.spans, ACTUAL, scale))


def _row(name: str, what: str, seconds: float, bar: str) -> str:
    return f"{fitted(name, NAME_CELLS)} {what:7} {minutes(seconds):>6} {bar}".rstrip()


def _bar(spans: Sequence[tuple[float, float]], mark: str, scale: int) -> str:
    cells = int(max((end for _, end in spans), default=0.0) / scale) + 1
    times = (_inside(spans, cell * scale, (cell + 1) * scale) for cell in range(cells))
    return "".join(mark if seconds >= LEAST_SECONDS else " " for seconds in times)


def _inside(spans: Sequence[tuple[float, float]], start: float, end: float) -> float:
    return sum(max(0.0, min(end, last) - max(start, first)) for first, last in spans)


def times(figures: Figures) -> Block:
    """Return the time of each section and of its steps beside the plan and the earlier sessions."""
    pace = figures.pace
    rows = [_columns("", ("spent", "planned", "usual", "n"))]
    for section in pace.sections:
        own = [each for each in pace.steps if each.step in section.section.steps]
        rows.append(_times_row(one_line(section.section.title).upper(), section))
        rows += [_times_row(f"  {one_line(each.step.title)}", each) for each in own]
    planned = sum(section.planned for section in pace.sections)
    rows.append(_columns("WHOLE EXAMINATION", (minutes(pace.total), minutes(planned), "", "")))
    rows.append(_columns("TARGET TIME OF THE WHOLE", ("", minutes(pace.target), "", "")))
    return Block(heading="TIME", sentences=tuple(Sentence(text=row) for row in rows), form=Form.ROWS)


def _times_row(name: str, each: StepTime | SectionTime) -> str:
    usual = minutes(each.usual) if each.usual is not None else "–"
    planned = minutes(each.planned) if each.planned else "–"
    slow = " slow" if isinstance(each, StepTime) and each.is_slow else ""
    return _columns(name, (minutes(each.seconds), planned, usual, str(len(each.earlier)))) + slow


def _columns(name: str, figures: tuple[str, str, str, str]) -> str:
    spent, planned, usual, number = figures
    return f"{fitted(name, STEP_CELLS)} {spent:>7} {planned:>7} {usual:>7} {number:>3}".rstrip()
