"""Progress as one HTML page to print: the words of the progress, and its figures drawn. Chooses no runs.

Every figure that is drawn stands beside its picture too, and each picture says in words what it shows.
A picture is WIDTH units wide, of which the plot has PLOT; all pictures of one kind of run share their runs.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from math import ceil

from checklist.export.markup import Html, block, element, page, table, worded
from checklist.practice.history import History
from checklist.summary.document import Block
from checklist.summary.practise import NOT_FOR_THE_RECORD, counted
from checklist.summary.progress import Weeks, moved_of, parts, share_of, time_of, title
from checklist.summary.run_kinds import Kind, Point, day_count
from checklist.summary.timeline import minutes

WIDTH, LEFT, PLOT, TOP = 670, 50, 480, 20
"""The right margin, for the names of lines, is what remains."""
BELOW = 18
"""Under the plot, for the ticks; the name of their axis stands in the right margin."""
TALL, LOW = 160, 60
"""Heights of a plot."""
LINE_HEIGHT = 13
"""Between two names of lines at least."""
AXIS_NAME = 24
"""From the plot to the name of its axis of places, so that it does not touch the last label."""
CURVE_POINTS = 120
"""Of a whole curve, at least, so that it looks as smooth as it is."""
FEWEST_POINTS = 2
"""Runs from which on there are pictures."""
FEW_ROWS = 12
"""A table of so many rows is not cut between two pages."""
WIDEST_BAR, LARGEST_POINT, SMALLEST_POINT = 14.0, 3.0, 1.5
MOST_RUN_TICKS, MOST_TICKS = 10, 4
TIME_STEPS = (1, 2, 5, 10, 15, 30, 60, 120, 180, 300, 600, 900, 1200, 1800, 3600)
"""Seconds between two ticks; beyond them whole hours as `_round_step` has them."""
STYLE = """
figure { margin: 2mm 0 3mm; break-inside: avoid; }
figcaption { font-size: 9.5pt; }
svg text { font: 11px sans-serif; fill: #000; }
.end { text-anchor: end; }
.mid { text-anchor: middle; }
.axis { stroke: #000; stroke-width: 1; }
.tick { stroke: #ccc; stroke-width: 0.6; }
.leader { fill: none; stroke: #777; stroke-width: 0.6; }
.target { stroke: #000; stroke-width: 1.2; stroke-dasharray: 8 3 2 3; }
.scatter { fill: #ddd; stroke: none; }
.between { fill: #aaa; stroke: none; }
.gap { stroke: #000; stroke-width: 0.8; stroke-dasharray: 1 3; }
.nearer { fill: none; stroke: #333; stroke-width: 1.6; }
.other { fill: none; stroke: #333; stroke-width: 1.2; stroke-dasharray: 4 3; }
.point { fill: #000; stroke: none; }
.bar { fill: #555; stroke: none; }
.left-out { fill: #fff; stroke: #000; stroke-width: 1; }
.runs .run { width: 10mm; }
.runs .day { width: 22mm; white-space: nowrap; }
.few { break-inside: avoid; }
.runs td, .runs th { text-align: right; }
"""


@dataclass(frozen=True, kw_only=True, slots=True)
class Plot:
    """The area of a picture in which figures are drawn, and its scales."""

    height: float
    top: float
    """The figure at the upper edge; the lower edge is 0."""
    slots: int
    """Places side by side, from 1."""
    ticks: tuple[tuple[float, str], ...]

    @property
    def bottom(self) -> float:
        return TOP + self.height

    @property
    def slot(self) -> float:
        return PLOT / self.slots

    def x(self, place: float) -> float:
        """Return the middle of a place."""
        return LEFT + self.slot * (place - 0.5)

    def y(self, figure: float) -> float:
        return TOP + self.height * (1 - figure / self.top)


def progress_page(past: History, now: datetime | None = None) -> str:
    """Return the page on the runs of one person on one protocol; `now` tells what has passed."""
    head, *rest = parts(past, now)
    sections = [element("section", element("h1", title(past)), *_part(head), class_="opening")]
    sections += [_section(part) for part in rest]
    return page(title(past), STYLE, (NOT_FOR_THE_RECORD,), *sections)


def _section(part: Weeks | Kind | Block) -> Html:
    return element("section", *_part(part), class_="kind" if isinstance(part, Kind) else "words")


def _part(part: Weeks | Kind | Block) -> Iterator[Html]:
    match part:
        case Weeks():
            yield from _weeks(part)
        case Kind():
            yield from _kind(part)
        case Block():
            yield from block(part)


# ------------------------------------------------------------------ sessions in each week


def _weeks(weeks: Weeks) -> Iterator[Html]:
    yield element("h2", "SESSIONS IN EACH WEEK")
    counts = [sessions for _, sessions in weeks.counts]
    plot = _counting(counts, len(counts))
    labels = [(place, f"{monday:%m-%d}") for place, (monday, _) in enumerate(weeks.counts, start=1)]
    drawn = [*_bars(plot, counts), *_below(plot, labels, "from Monday")]
    be = "is" if weeks.earlier == 1 else "are"
    legend = f"{counted(weeks.earlier, 'earlier session')} {be} not drawn." if weeks.earlier else ""
    yield _figure("sessions", f"Sessions in each of {counted(len(counts), 'week')}", plot, drawn, legend)
    figures = [f"{monday:%Y-%m-%d}: {sessions}" for monday, sessions in weeks.counts]
    earlier = [f"earlier: {weeks.earlier}"] if weeks.earlier else []
    yield element("p", *worded("; ".join([*earlier, *figures])), ".")


# ------------------------------------------------------------------ one kind of runs


def _kind(kind: Kind) -> Iterator[Html]:
    yield element("h2", kind.name.upper())
    if kind.sentences:
        yield element("ul", *(element("li", *worded(sentence.text)) for sentence in kind.sentences))
    if len(kind.points) >= FEWEST_POINTS:
        yield from _pictures(kind)
    yield _figures(kind)


def _pictures(kind: Kind) -> Iterator[Html]:
    """Return what can be drawn: of what nothing is known there is no picture."""
    yield _times(kind)
    runs = [point.run for point in kind.points]
    share = Plot(height=LOW, top=100.0, slots=_slots(kind), ticks=((0, "0"), (50, "50"), (100, "100")))
    yield from _by_run(kind, f"{kind.steps}, per cent", share, [point.share for point in kind.points])
    missed = [float(len(run.critical_missed)) for run in runs]
    yield from _by_run(kind, "critical steps missed", _counting(missed, _slots(kind)), missed)
    moved = [run.moved for run in runs]
    yield from _by_run(kind, "steps out of order", _counting(moved, _slots(kind)), moved)


def _slots(kind: Kind) -> int:
    """Return the places on the axis of runs: where something is said of it there is one for the next run."""
    return len(kind.points) + bool(kind.next)


def _figures(kind: Kind) -> Html:
    names = ["run", "day", "time"]
    names += ["by nearer curve", "by other curve"] if kind.found else []
    names += [kind.steps, "critical missed", "out of order"]
    rows = [_row(kind, point) for point in kind.points]
    if kind.next:
        rows.append(["next", "", "", *map(minutes, kind.next), "", "", ""])
    few = " few" if len(rows) <= FEW_ROWS else ""
    return table([(name, name if name in ("run", "day") else "") for name in names], rows, f"runs{few}")


def _row(kind: Kind, point: Point) -> list[str]:
    by_curves = map(minutes, point.curves) if point.curves else ("–", "–")
    run = point.run
    return [
        str(point.number),
        f"{run.created:%Y-%m-%d}",
        time_of(point).strip(),
        *(by_curves if kind.found else ()),
        share_of(point),
        str(len(run.critical_missed)),
        moved_of(run),
    ]


def _by_run(kind: Kind, name: str, plot: Plot, values: Sequence[float | None]) -> Iterator[Html]:
    known = [f"{value:.0f}" for value in values if value is not None]
    if known:
        drawn = [*_gaps(kind, plot), *_bars(plot, values), *_run_axis(plot, len(kind.points))]
        yield _figure(name, f"{name} by run: first {known[0]}, latest {known[-1]}", plot, drawn)


# ------------------------------------------------------------------ the picture of times


def _times(kind: Kind) -> Html:
    plot = _timing(kind)
    drawn = [*_curves(kind, plot), *_gaps(kind, plot), *_target(kind, plot)]
    drawn += [_dot(plot, point) for point in kind.points]
    drawn += [*_names(kind, plot), *_run_axis(plot, len(kind.points), has_next=bool(kind.next))]
    return _figure("time, minutes:seconds", _said(kind), plot, drawn, _legend(kind))


def _timing(kind: Kind) -> Plot:
    seconds = [point.run.seconds for point in kind.points]
    seconds += [at for _, edges in _band(kind) for at in edges]
    largest = max(1.0, kind.target or 0.0, *seconds)
    step = next((each for each in TIME_STEPS if each * MOST_TICKS >= largest), 0)
    step = step or 3600 * _round_step(largest / 3600, MOST_TICKS)
    top = step * ceil(largest / step)
    ticks = tuple((at, minutes(at)) for at in range(0, top + 1, step))
    return Plot(height=TALL, top=top, slots=_slots(kind), ticks=ticks)


def _said(kind: Kind) -> str:
    first, latest = kind.points[0], kind.points[-1]
    said = [f"time by run: first {minutes(first.run.seconds)}, latest {minutes(latest.run.seconds)}"]
    said += [f"target {minutes(kind.target)}"] if kind.target else []
    if kind.next:
        nearer, other = map(minutes, kind.next)
        said.append(f"next run {nearer} by the nearer curve, {other} by the other one")
    return "; ".join(said)


def _legend(kind: Kind) -> str:
    said = ["Points: time of a run"]
    if any(point.timed is None for point in kind.points):
        said.append("ring: left out of the times")
    if kind.target:
        said.append("line of dashes and dots: target")
    if any(point.gap_days for point in kind.points):
        said.append("upright dotted line: a long time without a run")
    if kind.found:
        said += ["unbroken line: nearer curve", "dashed line: other curve", "dark grey: between both"]
        said.append(
            f"light grey: by how much runs scatter around them, {minutes(kind.found.scatter)} to either side"
        )
        if kind.next:
            said.append("the times of runs to come are at least as uncertain as both greys together")
    return "; ".join(said) + "."


def _dot(plot: Plot, point: Point) -> Html:
    radius = max(SMALLEST_POINT, min(LARGEST_POINT, plot.slot / 3))
    x, y = plot.x(point.number), plot.y(point.run.seconds)
    kind = "point" if point.timed else "left-out"
    return element("circle", class_=kind, cx=_number(x), cy=_number(y), r=_number(radius))


def _target(kind: Kind, plot: Plot) -> Iterator[Html]:
    if kind.target:
        yield _line("target", LEFT, plot.y(kind.target), LEFT + PLOT, plot.y(kind.target))


def _gaps(kind: Kind, plot: Plot) -> Iterator[Html]:
    """Return an upright line before each run that came long after the one before it."""
    for point in kind.points:
        if point.gap_days:
            x = plot.x(point.number - 0.5)
            words = element("title", f"{day_count(point.gap_days)} without a run")
            yield _line("gap", x, TOP, x, plot.bottom, words)


def _curves(kind: Kind, plot: Plot) -> Iterator[Html]:
    """Return how far runs scatter, the area between both curves, and the curves, to their end."""
    if not kind.found:
        return
    along = list(_along(kind))
    band = _band(kind)
    high = [(plot.x(place), plot.y(edges[1])) for place, edges in band]
    low = [(plot.x(place), plot.y(edges[0])) for place, edges in band]
    nearer, other = (
        [(plot.x(place), plot.y(curve.at(run))) for place, run in along]
        for curve in (kind.found.chosen, kind.found.other)
    )
    yield element("polygon", class_="scatter", points=_path([*high, *low[::-1]]))
    yield element("polygon", class_="between", points=_path([*nearer, *other[::-1]]))
    yield element("polyline", class_="other", points=_path(other))
    yield element("polyline", class_="nearer", points=_path(nearer))


def _along(kind: Kind) -> Iterator[tuple[float, float]]:
    """Return places from the first run compared to the last or next one, each with its run of the curves."""
    stops = [(float(point.number), float(point.timed)) for point in kind.points if point.timed]
    if kind.next:
        stops.append((len(kind.points) + 1.0, len(stops) + 1.0))
    pieces = ceil(CURVE_POINTS / len(stops))
    for (place, run), (next_place, _) in pairwise(stops):
        for piece in range(pieces):
            yield place + (next_place - place) * piece / pieces, run + piece / pieces
    yield stops[-1]


def _band(kind: Kind) -> list[tuple[float, tuple[float, float]]]:
    """Return for each place the least and the most seconds of both curves with the scatter around them."""
    if not kind.found:
        return []
    found = kind.found
    both = [(place, (found.chosen.at(run), found.other.at(run))) for place, run in _along(kind)]
    return [(place, (max(0.0, min(at) - found.scatter), max(at) + found.scatter)) for place, at in both]


def _names(kind: Kind, plot: Plot) -> Iterator[Html]:
    """Return what the lines are called, in the right margin, each with a line to its end."""
    edge = LEFT + PLOT
    named: list[tuple[str, float, float]] = []
    if kind.target:
        named.append((f"target {minutes(kind.target)}", edge, plot.y(kind.target)))
    if kind.next:
        end = plot.x(len(kind.points) + 1)
        names = (f"nearer curve {minutes(kind.next[0])}", f"other curve {minutes(kind.next[1])}")
        named += [(name, end, plot.y(at)) for name, at in zip(names, kind.next, strict=True)]
    named.sort(key=lambda each: each[2])
    heights = _spread([y for _, _, y in named], plot.bottom - 4)
    for (name, x, y), height in zip(named, heights, strict=True):
        way = _path([(x, y), (edge + 4, height), (edge + 8, height)])
        yield element("polyline", class_="leader", points=way)
        yield _text(name, edge + 11, height + 4)


def _spread(heights: Sequence[float], bottom: float) -> list[float]:
    """Return heights, top first, moved apart so that a line of words fits each, none below the plot."""
    placed: list[float] = []
    for height in heights:
        placed.append(max(height, placed[-1] + LINE_HEIGHT) if placed else height)
    limit = bottom
    for place in reversed(range(len(placed))):
        placed[place] = min(placed[place], limit)
        limit = placed[place] - LINE_HEIGHT
    return placed


# ------------------------------------------------------------------ plots, axes, marks


def _counting(values: Iterable[float | None], slots: int) -> Plot:
    """Return a plot of counts, with ticks at whole numbers."""
    largest = int(max([1, *(value for value in values if value is not None)]))
    step = _round_step(largest, MOST_TICKS)
    top = step * ceil(largest / step)
    ticks = tuple((at, str(at)) for at in range(0, top + 1, step))
    return Plot(height=LOW, top=top, slots=slots, ticks=ticks)


def _round_step(largest: float, most: int) -> int:
    """Return the smallest of 1, 2, 5, 10, 20, 50 … that goes into `largest` so many times at most."""
    power = 1
    while True:
        for digit in (1, 2, 5):
            if digit * power * most >= largest:
                return digit * power
        power *= 10


def _bars(plot: Plot, values: Sequence[float | None]) -> Iterator[Html]:
    width = min(WIDEST_BAR, 0.7 * plot.slot)
    for place, value in enumerate(values, start=1):
        if value:
            y = plot.y(value)
            yield element(
                "rect",
                class_="bar",
                x=_number(plot.x(place) - width / 2),
                y=_number(y),
                width=_number(width),
                height=_number(plot.bottom - y),
            )


def _run_axis(plot: Plot, runs: int, *, has_next: bool = False) -> Iterator[Html]:
    step = _round_step(runs, MOST_RUN_TICKS)
    numbers = [1, *(number for number in range(step, runs + 1, step) if number > 1)]
    labels = [(number, str(number)) for number in numbers if not _is_crowded(number, numbers, plot)]
    if has_next:
        labels = [each for each in labels if (plot.slots - each[0]) * plot.slot >= 2 * LINE_HEIGHT]
        labels.append((plot.slots, "next"))
    return _below(plot, labels, "run")


def _is_crowded(number: int, numbers: Sequence[int], plot: Plot) -> bool:
    """Whether the label of a tick would touch that of the first run."""
    return number > numbers[0] and (number - numbers[0]) * plot.slot < 2 * LINE_HEIGHT


def _below(plot: Plot, labels: Sequence[tuple[int, str]], name: str) -> Iterator[Html]:
    """Return the axis of places with its labels and its name."""
    yield _line("axis", LEFT, plot.bottom, LEFT + PLOT, plot.bottom)
    for place, label in labels:
        yield _line("axis", plot.x(place), plot.bottom, plot.x(place), plot.bottom + 3)
        yield _text(label, plot.x(place), plot.bottom + 14, "mid")
    yield _text(name, LEFT + PLOT + AXIS_NAME, plot.bottom + 14)


def _beside(plot: Plot, name: str) -> Iterator[Html]:
    """Return the axis of figures with its ticks and its name."""
    for at, label in plot.ticks:
        yield _line("tick", LEFT, plot.y(at), LEFT + PLOT, plot.y(at))
        yield _text(label, LEFT - 6, plot.y(at) + 4, "end")
    yield _line("axis", LEFT, TOP, LEFT, plot.bottom)
    yield _text(name, 0, 10)


def _figure(name: str, said: str, plot: Plot, drawn: Iterable[Html], legend: str = "") -> Html:
    height = plot.bottom + BELOW
    picture = element(
        "svg",
        *_beside(plot, name),
        *drawn,
        viewBox=f"0 0 {WIDTH} {height:g}",
        role="img",
        aria_label=said,
    )
    caption = [element("figcaption", *worded(legend))] if legend else []
    return element("figure", picture, *caption)


def _text(words: str, x: float, y: float, kind: str = "") -> Html:
    named = {"class_": kind} if kind else {}
    return element("text", words, x=_number(x), y=_number(y), **named)


def _line(kind: str, x1: float, y1: float, x2: float, y2: float, *inside: Html) -> Html:
    ends = {"x1": _number(x1), "y1": _number(y1), "x2": _number(x2), "y2": _number(y2)}
    return element("line", *inside, class_=kind, **ends)


def _path(points: Iterable[tuple[float, float]]) -> str:
    return " ".join(f"{_number(x)},{_number(y)}" for x, y in points)


def _number(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")
