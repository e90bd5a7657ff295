"""Sessions over weeks: time, steps, critical misses, order, and what gets worse; what is drawn, and the text.

`parts` chooses the runs and finds the words, for every rendering. Needs no colour. Praises nothing, and
predicts no result.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from statistics import median

from checklist.practice.history import History
from checklist.practice.learning import FEWEST_RUNS, Learning, Worse, learning, limit, worse
from checklist.practice.run import Run
from checklist.session.session import REHEARSAL
from checklist.summary.case_progress import case_block
from checklist.summary.document import Block, Form, Note, Sentence
from checklist.summary.practise import NOT_FOR_THE_RECORD, circumstances, counted
from checklist.summary.timeline import SHOWN_SECONDS, fitted, minutes
from checklist.summary.words import sentence
from checklist.text import one_line

MOST_ROWS = 20
"""Runs of one kind that have a row, latest ones."""
BAR_CELLS, TITLE_CELLS = 30, 32
SHARE_CELLS, CRITICAL_CELLS, ORDER_CELLS = 20, 12, 18
WHOLE_REACH = 90.0
"""Per cent of the steps that a run must have come to for its time to count. Our own rule, no source."""
TIME, LIMIT, FITTED, SESSION, EMPTY, MORE = "█", "|", "o", "■", "·", "+"
MOST_WEEKS, MOST_MARKS = 12, 60
"""Latest weeks that have a row, and marks in it."""
FARTHEST_DAYS = 730.0
"""No day is named that is farther off."""
_WEEK_DAYS = 7


@dataclass(frozen=True, kw_only=True, slots=True)
class Weeks:
    """How many sessions each of the last weeks had, weeks without one included."""

    earlier: int
    """Sessions before the weeks that are shown."""
    counts: tuple[tuple[date, int], ...]
    """The Monday of each week, oldest first, and its sessions."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Point:
    """A run among those of its kind."""

    number: int
    """From 1, as everything that is shown names it."""
    run: Run
    is_timed: bool
    """Whether its time is compared: it came to enough of the steps."""
    curves: tuple[float, float] | None
    """Seconds by the nearer and by the other curve; None without curves, and where the time is left out."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Kind:
    """The finished runs that can be compared with each other."""

    name: str
    points: tuple[Point, ...]
    """Oldest first, at least one."""
    target: float | None
    found: Learning | None
    """The fitted curves; None where there are none to show."""
    sentences: tuple[Sentence, ...]
    """What there is to say of the times."""

    @property
    def next(self) -> tuple[float, float] | None:
        """Seconds of the next run by the nearer and by the other curve."""
        return self.found.next if self.found else None

    @property
    def steps(self) -> str:
        """What the share of the steps is a share of."""
        run = self.points[0].run
        return "steps recalled" if run.mode == REHEARSAL and not run.is_of_patient else "steps done"


def progress(past: History) -> Note:
    """Return how the runs of one person on one protocol went over time."""
    return Note(title=title(past), banner=(NOT_FOR_THE_RECORD,), blocks=tuple(_blocks(past)))


def title(past: History) -> str:
    """Return what the document is called."""
    return f"{past.protocol.title}: progress"


def parts(past: History) -> Iterator[Weeks | Kind | Block]:
    """Return what the document shows, in order: pictures as figures to be drawn, all else as blocks."""
    yield Block(sentences=tuple(circumstances(past)))
    if not past.runs:
        return
    yield _weeks(past.runs)
    kinds = tuple(_kinds(past))
    yield from kinds
    if found := case_block(past.runs):
        yield found
    yield _worse_block(past)
    yield _critical(past)
    yield _items("HOW TO READ THIS", _reading(kinds))
    yield _items("LIMITS", _LIMITS)
    yield _items("FORMULAS", _formulas(kinds))


def _sentence(text: str) -> Sentence:
    return Sentence(text=sentence(text))


def _items(heading: str, texts: Iterator[str] | Sequence[str]) -> Block:
    return Block(heading=heading, sentences=tuple(map(_sentence, texts)), form=Form.ITEMS)


# What is drawn


def _weeks(runs: Sequence[Run]) -> Weeks:
    weeks = [_monday(run.created.date()) for run in runs]
    first, last = min(weeks), max(weeks)
    shown = [last - timedelta(days=_WEEK_DAYS * back) for back in reversed(range(MOST_WEEKS))]
    return Weeks(
        earlier=sum(week < shown[0] for week in weeks),
        counts=tuple((week, weeks.count(week)) for week in shown if week >= first),
    )


def _monday(day: date) -> date:
    return day - timedelta(days=day.weekday())


def _kinds(past: History) -> Iterator[Kind]:
    for name in dict.fromkeys(run.kind for run in past.runs):
        runs = [run for run in past.runs if run.kind == name and run.is_finished and run.steps]
        if runs:
            yield _kind(past, one_line(name), runs)


def _kind(past: History, name: str, runs: Sequence[Run]) -> Kind:
    """A rehearsal has no target: saying the steps takes less time than doing them, and cases differ."""
    target = None if runs[0].mode == REHEARSAL else past.protocol.target_seconds
    whole = [run for run in runs if run.reach >= WHOLE_REACH]
    found = None if runs[0].is_of_patient else learning([run.seconds for run in whole])
    shown = found if found and found.is_falling else None
    return Kind(
        name=name,
        points=tuple(_points(runs, shown)),
        target=target,
        found=shown,
        sentences=tuple(map(_sentence, _time(runs, whole, found, target))),
    )


def _points(runs: Sequence[Run], found: Learning | None) -> Iterator[Point]:
    timed = 0
    for number, run in enumerate(runs, start=1):
        is_timed = run.reach >= WHOLE_REACH
        timed += is_timed
        curves = (found.chosen.at(timed), found.other.at(timed)) if found and is_timed else None
        yield Point(number=number, run=run, is_timed=is_timed, curves=curves)


# What is said of the times


def _time(
    runs: Sequence[Run], whole: Sequence[Run], found: Learning | None, target: float | None
) -> Iterator[str]:
    if left := len(runs) - len(whole):
        be = "is" if left == 1 else "are"
        yield (
            f"{counted(left, 'run')} that came to fewer than {WHOLE_REACH:g} % of the steps"
            f" {be} left out of the times"
        )
    if not whole:
        return
    seconds = [run.seconds for run in whole]
    yield f"fastest {minutes(min(seconds))}, latest {minutes(seconds[-1])}"
    if target:
        within = sum(each <= target for each in seconds[-FEWEST_RUNS:])
        latest = min(len(seconds), FEWEST_RUNS)
        yield f"target {minutes(target)}; within it {within} of the latest {counted(latest, 'run')}"
    if runs[0].is_of_patient:
        yield "cases differ, so no curve is fitted to these times"
    else:
        yield from _curve(runs, whole, found, target)


def _curve(
    runs: Sequence[Run], whole: Sequence[Run], found: Learning | None, target: float | None
) -> Iterator[str]:
    if found is None:
        yield f"a curve is fitted from {FEWEST_RUNS} runs on; there {_are(len(whole))}"
        return
    if not found.is_falling:
        yield "the times are not falling, so no curve is shown"
        return
    yield f"improving: the times fall{_level(found)}"
    yield _next(*found.next)
    off = max(abs(each - found.chosen.at(run)) for run, each in enumerate(found.seconds, start=1))
    if off >= SHOWN_SECONDS:
        yield f"runs so far were up to {minutes(off)} off the nearer curve"
    if _shown(min(found.next)) < _shown(min(found.seconds)):
        yield "this is below the fastest time so far, and so beyond what was seen"
    if target:
        yield from _limit(runs, whole, found, target)


def _are(number: int) -> str:
    return f"is {number}" if number == 1 else f"are {number}"


def _level(found: Learning) -> str:
    level = found.chosen.level
    return f"; by the nearer curve they level off at {minutes(level)}" if level >= SHOWN_SECONDS else ""


def _next(nearer: float, other: float) -> str:
    """Say what the curves give for the next run; what lies between them is that of the times as shown."""
    if not (apart := abs(_shown(nearer) - _shown(other))):
        return f"next run: {minutes(nearer)} by both curves; how uncertain this is they do not tell"
    return (
        f"next run: {minutes(nearer)} by the nearer curve, {minutes(other)} by the other one;"
        f" the {minutes(apart)} between them is how uncertain this is at least"
    )


def _shown(seconds: float) -> int:
    """Return the whole seconds of a time as it is shown, so that the reader's sum comes out."""
    whole, rest = minutes(seconds).split(":")
    return 60 * int(whole) + int(rest)


def _limit(runs: Sequence[Run], whole: Sequence[Run], found: Learning, target: float) -> Iterator[str]:
    """Say when the curves come down to the target time, and what that rests on."""
    if found.chosen.at(len(whole)) <= target:
        yield "the nearer curve is within the target time already"
        return
    reached = limit(found, target)
    ahead = f"within the next {counted(reached.horizon - len(whole), 'run')}"
    met = sorted(run - len(whole) for run in (reached.chosen_run, reached.other_run) if run is not None)
    if not met:
        yield f"neither curve comes down to the target time {ahead}"
        return
    by = f"run {len(runs) + met[0]}" + (f" to {len(runs) + met[-1]}" if met[0] != met[-1] else "")
    if len(met) == 1:
        one, other = ("nearer", "other") if reached.chosen_run else ("other", "nearer")
        by += f" by the {one} curve, and by the {other} one not {ahead},"
    yield f"the target time is likely to be met from {by} on; {_when(whole, met[0])}"
    if reached.is_beyond_fastest:
        yield "no run was as fast so far: this follows the curves beyond what was seen"


def _when(whole: Sequence[Run], ahead: int) -> str:
    """Return the day of a run so many runs ahead, if runs go on as often as they did."""
    gaps = [(later.created - earlier.created).total_seconds() for earlier, later in pairwise(whole)]
    days = median(gaps) / 86_400 * ahead
    if days > FARTHEST_DAYS:
        return "with runs as often as so far, years from now"
    return f"with runs as often as so far, about {whole[-1].created + timedelta(days=days):%Y-%m-%d}"


# The text


def _blocks(past: History) -> Iterator[Block]:
    for part in parts(past):
        match part:
            case Weeks():
                yield _rows("SESSIONS IN EACH WEEK FROM MONDAY", _week_rows(part))
            case Kind():
                yield from _kind_blocks(part)
            case Block():
                yield part


def _rows(heading: str, rows: Iterator[str]) -> Block:
    return Block(heading=heading, sentences=tuple(Sentence(text=row) for row in rows), form=Form.ROWS)


def _week_rows(weeks: Weeks) -> Iterator[str]:
    if weeks.earlier:
        yield f"earlier    {weeks.earlier:>4}"
    for monday, sessions in weeks.counts:
        yield f"{monday:%Y-%m-%d} {sessions:>4} {SESSION * min(sessions, MOST_MARKS)}".rstrip()


def _kind_blocks(kind: Kind) -> Iterator[Block]:
    name = fitted(kind.name, TITLE_CELLS).rstrip().upper()
    marks = [f"{TIME} TIME"]
    marks += [f"{LIMIT} TARGET TIME"] if kind.target else []
    marks += [f"{FITTED} NEARER CURVE"] if kind.found else []
    yield _rows(f"{name}: {', '.join(marks)}", _time_rows(kind))
    if kind.sentences:
        yield Block(heading=f"{name}: WHAT THE TIMES SAY", sentences=kind.sentences, form=Form.ITEMS)
    yield _rows(f"{name}: STEPS", _step_rows(kind))


def _earlier(kind: Kind) -> Iterator[str]:
    if (earlier := len(kind.points) - MOST_ROWS) > 0:
        yield f"… {counted(earlier, 'earlier run')}"


def _time_rows(kind: Kind) -> Iterator[str]:
    shown = kind.points[-MOST_ROWS:]
    longest = max(kind.target or 0.0, *(point.run.seconds for point in shown))
    yield from _earlier(kind)
    yield f"{'run':>4} {'day':10} {'time':>8}"
    for point in shown:
        bar = _bar(point, kind.target, longest)
        when = f"{point.number:>4} {point.run.created:%Y-%m-%d}"
        yield f"{when} {time_of(point):>8} {bar}".rstrip()


def time_of(point: Point) -> str:
    """Return the time of a run, in brackets where it is not compared."""
    time = minutes(point.run.seconds)
    return f"{time} " if point.is_timed else f"({time})"


def _bar(point: Point, target: float | None, longest: float) -> str:
    filled = _cell(point.run.seconds, longest)
    cells = [TIME if place < filled else " " for place in range(BAR_CELLS + 1)]
    if target:
        cells[_cell(target, longest)] = LIMIT
    if point.curves:
        cells[min(BAR_CELLS, _cell(point.curves[0], longest))] = FITTED
    return "".join(cells)


def _cell(seconds: float, longest: float) -> int:
    return round(BAR_CELLS * seconds / longest) if longest else 0


def _step_rows(kind: Kind) -> Iterator[str]:
    yield from _earlier(kind)
    share, critical = f"{kind.steps:{SHARE_CELLS + 6}}", f"{'critical missed':{CRITICAL_CELLS + 4}}"
    yield f"{'run':>4}  {share}  {critical}  out of order"
    for point in kind.points[-MOST_ROWS:]:
        run = point.run
        missed = f"{len(run.critical_missed):>3} {_marks(len(run.critical_missed), CRITICAL_CELLS)}"
        moved = f"{moved_of(run):>3} {_marks(run.moved or 0, ORDER_CELLS)}"
        yield f"{point.number:>4}  {share_of(run):>5} {_share_bar(run)}  {missed}  {moved}".rstrip()


def share_of(run: Run) -> str:
    """Return the share of the steps in per cent, or a dash."""
    return "–" if run.coverage is None else f"{run.coverage:.0f} %"


def moved_of(run: Run) -> str:
    """Return how many steps were out of order, or a dash."""
    return "–" if run.moved is None else str(run.moved)


def _share_bar(run: Run) -> str:
    if run.coverage is None:
        return " " * SHARE_CELLS
    # Rounded down: only a whole bar says that nothing was left out.
    return (TIME * int(SHARE_CELLS * run.coverage / 100)).ljust(SHARE_CELLS, EMPTY)


def _marks(count: int, cells: int) -> str:
    """Return as many marks; where there is no room for them the last one says that there are more."""
    marks = SESSION * count if count <= cells else SESSION * (cells - 1) + MORE
    return marks.ljust(cells)


# Steps


def _worse_block(past: History) -> Block:
    found = [each for each in worse(past.runs) if each.step in past.protocol.step_of]
    found.sort(key=lambda each: past.protocol.position_of[each.step])
    texts = [f"{past.protocol.step_of[each.step].title}: {_how(each)}" for each in found]
    return _items("GETTING WORSE", texts or ("no step, as far as these sessions tell",))


def _how(each: Worse) -> str:
    said = []
    if each.recall:
        before, of_before, lately, of_lately = each.recall
        said.append(f"recalled or done in {lately} of the last {of_lately}, {before} of {of_before} before")
    if each.seconds:
        before_seconds, lately_seconds = each.seconds
        said.append(f"takes {minutes(lately_seconds)} lately, {minutes(before_seconds)} before")
    return "; ".join(said)


def _critical(past: History) -> Block:
    """Return the critical steps that were missed, each with how often and when last."""
    known = past.protocol.step_of
    missed: dict[str, list[Run]] = {}
    for run in past.runs:
        for step in run.critical_missed:
            if step in known:
                missed.setdefault(step, []).append(run)
    order = sorted(missed, key=lambda step: past.protocol.position_of[step])
    texts = [
        f"{known[step].title}: in {counted(len(missed[step]), 'session')},"
        f" last {missed[step][-1].created:%Y-%m-%d}"
        for step in order
    ]
    return _items("CRITICAL STEPS MISSED", texts or ("none in these sessions",))


# How it is read, what limits it, and how it is computed


def _reading(kinds: Sequence[Kind]) -> Iterator[str]:
    if any(not point.is_timed for kind in kinds for point in kind.points):
        yield (
            f"time in brackets: the run came to fewer than {WHOLE_REACH:g} % of the steps, so that its time"
            " is compared with no other"
        )
    if any(kind.found for kind in kinds):
        yield (
            "curves: two ways in which times fall with practice, drawn through the times; the nearer one lies"
            " nearer to them, and both are guesses"
        )
    yield (
        "steps: the share that was done of those that count, or recalled of those that a rehearsal asks for"
    )
    yield (
        "out of order: the fewest steps that would have to be moved to get the order of the protocol; in a"
        " rehearsal, the steps that were recalled out of place"
    )


_LIMITS = (
    "times of sessions under way and of invented examples are left out",
    "rehearsals and simulated patients have no target time: it is for the whole examination of a person",
    "what the curves say of runs to come is a guess, and where it is faster than any run so far nothing"
    " that was seen supports it",
    "a curve describes times, not how an examination will be judged",
)


def _formulas(kinds: Sequence[Kind]) -> Iterator[str]:
    if named := [f"{kind.name}, the {kind.found.chosen.shape} one" for kind in kinds if kind.found]:
        yield f"the nearer curve is: {'; '.join(named)}"
        yield from _CURVES
    yield from _WORSE


_CURVES = (
    "exponential curve, what is left to gain falls by the same share from run to run:"
    " T(n) = A + B e^(-c(n-1)), with T the time of run n of those compared, and A where it levels off",
    "power curve, each run takes off a smaller share of what is left to gain: T(n) = A + B n^(-a)",
    "fit of both curves: the A, B and c or a, none below 0, at which the squares of the distances between"
    " curve and times have the smallest sum (least squares)",
    "choice of the nearer curve: the smaller of both sums; AICc, which weighs a fit against how many numbers"
    " were fitted, comes to the same, since both curves have as many (Hurvich and Tsai 1989, from memory)",
    "which curve is more usual: the times of one person follow the exponential one more often (Heathcote,"
    " Brown and Mewhort 2000, abstract read)",
    "target time met: the first run at which a curve is within it, looked for up to twice as many runs as"
    " were compared; the day follows from the median time between these runs",
)
_WORSE = (
    "getting worse, recalled or done less often: missed in two of the last three tests at least, and the"
    " share lower by 33 points of a hundred or more than in three or more tests before; our own rule, no"
    " source",
    "getting worse, taking longer: the median of the last three times is above 1.2 times the median of five"
    " or more before, and above their upper quartile by more than 1.5 times their interquartile range; our"
    " own rule, no source",
)
