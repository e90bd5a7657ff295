"""Sessions over weeks: time, steps, critical misses, order, and what gets worse; what is drawn, and the text.

`parts` chooses the runs and finds the words, for every rendering. Needs no colour. Praises nothing, and
predicts no result.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from checklist.practice.history import History
from checklist.practice.learning import FEWEST_COMPARED, FEWEST_RUNS, RECENT, Worse, compared, is_within
from checklist.practice.rehearsal import task_of
from checklist.practice.run import Run
from checklist.summary.case_progress import case_block
from checklist.summary.document import Block, Form, Note, Sentence
from checklist.summary.practise import NOT_FOR_THE_RECORD, circumstances, counted
from checklist.summary.run_kinds import WHOLE_REACH, Kind, Point, day_count, run_kinds
from checklist.summary.timeline import fitted, minutes
from checklist.summary.words import sentence

MOST_ROWS = 20
"""Runs of one kind that have a row, latest ones."""
BAR_CELLS, TITLE_CELLS = 30, 32
SHARE_CELLS, CRITICAL_CELLS, ORDER_CELLS = 14, 11, 10
"""With these a row has 59 cells at most."""
TIME, LIMIT, FITTED, SESSION, EMPTY, MORE = "█", "|", "o", "■", "·", "+"
MOST_WEEKS, MOST_MARKS = 12, 40
"""Latest weeks that have a row, and marks in it."""
_WEEK_DAYS = 7


@dataclass(frozen=True, kw_only=True, slots=True)
class Weeks:
    """How many sessions each of the last weeks had, weeks without one included."""

    earlier: int
    """Sessions before the weeks that are shown."""
    counts: tuple[tuple[date, int], ...]
    """The Monday of each week, oldest first, and its sessions."""


def progress(past: History, now: datetime | None = None) -> Note:
    """Return how the runs of one person on one protocol went over time; `now` tells what has passed."""
    return Note(title=title(past), banner=(NOT_FOR_THE_RECORD,), blocks=tuple(_blocks(past, now)))


def title(past: History) -> str:
    """Return what the document is called."""
    return f"{past.protocol.title}: progress"


def parts(past: History, now: datetime | None = None) -> Iterator[Weeks | Kind | Block]:
    """Return what the document shows, in order: pictures as figures to be drawn, all else as blocks."""
    yield Block(sentences=tuple(circumstances(past)))
    if not past.runs:
        return
    kinds = tuple(run_kinds(past, now))
    yield from _items("WORDS", _words(kinds))
    yield _weeks(past.runs)
    yield from kinds
    if found := case_block(past.runs):
        yield found
    lately = compared(past.runs, past.protocol.step_of)
    comparisons = lately.comparisons + sum(_is_compared(kind) for kind in kinds)
    yield from _items("GETTING WORSE", _worse(past, kinds, lately.worse, comparisons))
    yield from _items("CRITICAL STEPS MISSED", _critical(past))
    yield from _items("HOW TO READ THIS", _reading(kinds))
    yield from _items("LIMITS", _limits(kinds))
    yield from _items("FORMULAS", _formulas(kinds, comparisons))


def _sentence(text: str) -> Sentence:
    return Sentence(text=sentence(text))


def _items(heading: str, texts: Iterator[str]) -> Iterator[Block]:
    """Return the texts under a heading; where there are none, nothing."""
    if sentences := tuple(map(_sentence, texts)):
        yield Block(heading=heading, sentences=sentences, form=Form.ITEMS)


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


# The text


def _blocks(past: History, now: datetime | None) -> Iterator[Block]:
    for part in parts(past, now):
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
        yield f"{monday:%Y-%m-%d} {sessions:>4} {_marks(sessions, MOST_MARKS)}".rstrip()


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
        if point.gap_days:
            yield f"   … {day_count(point.gap_days)}"
        bar = _bar(point, kind.target, longest)
        when = f"{point.number:>4} {point.run.created:%Y-%m-%d}"
        yield f"{when} {time_of(point):>8} {bar}".rstrip()


def time_of(point: Point) -> str:
    """Return the time of a run, in brackets where it is not compared."""
    time = minutes(point.run.seconds)
    return f"{time} " if point.timed else f"({time})"


def _bar(point: Point, target: float | None, longest: float) -> str:
    """Return the bar of a time; one that is over the target, if only by a second, goes on beyond its mark."""
    filled = _cell(point.run.seconds, longest)
    curve = min(BAR_CELLS, _cell(point.curves[0], longest)) if point.curves else None
    at = _cell(target, longest) if target else None
    if at is not None and target:
        if curve is not None and point.curves and curve in (at, at + 1):
            curve = max(0, at - 1) if is_within(point.curves[0], target) else at + 1
        is_over = not is_within(point.run.seconds, target)
        filled = max(filled, at + 2 + (curve == at + 1)) if is_over else min(filled, at)
    cells = [TIME if place < filled else " " for place in range(BAR_CELLS + 3)]
    if curve is not None:
        cells[curve] = FITTED
    if at is not None:
        cells[at] = LIMIT
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
        yield f"{point.number:>4}  {share_of(point):>5} {_share_bar(point)}  {missed}  {moved}".rstrip()


def share_of(point: Point) -> str:
    """Return the share of the steps in per cent, or a dash; only of all of them 100."""
    if point.share is None:
        return "–"
    return f"{point.share if point.share >= 100 else min(point.share, 99):.0f} %"


def moved_of(run: Run) -> str:
    """Return how many steps were out of order, or a dash."""
    return "–" if run.moved is None else str(run.moved)


def _share_bar(point: Point) -> str:
    if point.share is None:
        return " " * SHARE_CELLS
    # Rounded down: only a whole bar says that nothing was left out.
    return (TIME * int(SHARE_CELLS * point.share / 100)).ljust(SHARE_CELLS, EMPTY)


def _marks(count: int, cells: int) -> str:
    """Return as many marks; where there is no room for them the last one says that there are more."""
    marks = SESSION * count if count <= cells else SESSION * (cells - 1) + MORE
    return marks.ljust(cells)


# Steps


def _is_compared(kind: Kind) -> bool:
    return kind.is_alike and sum(point.timed is not None for point in kind.points) >= FEWEST_COMPARED


def _worse(past: History, kinds: Sequence[Kind], found: Sequence[Worse], comparisons: int) -> Iterator[str]:
    """Name what gets worse, and say how much of it chance alone would name."""
    if not comparisons:
        yield f"nothing can be said yet: that takes {FEWEST_COMPARED} tests of a step at least"
        return
    risen = [(kind.name, kind.rise) for kind in kinds if kind.rise]
    for name, (before, lately) in risen:
        took = f"about {minutes(lately)} in the latest {RECENT} runs, {minutes(before)} before"
        yield f"whole time, {name}: {took}"
    for each in sorted(found, key=lambda each: past.protocol.position_of[each.step]):
        yield f"{past.protocol.step_of[each.step].title}: {_how(each)}"
    if not risen and not found:
        yield "nothing, as far as these sessions tell"
    by_chance = comparisons / 100
    yield (
        f"{counted(comparisons, 'comparison')} {'was' if comparisons == 1 else 'were'} made for this; where"
        f" nothing changes, chance alone names up to {by_chance:{'.1f' if by_chance >= 1 else '.2g'}} of them"
        " on average"
    )


def _how(each: Worse) -> str:
    said = []
    if each.recall:
        before, of_before, lately, of_lately = each.recall
        said.append(
            f"recalled or done in {lately} of the last {of_lately} tests, {before} of {of_before} before"
        )
    if each.seconds:
        usual, latest = map(minutes, each.seconds)
        said.append(f"about {latest} the latest {RECENT} times when it was done, {usual} before")
    return "; ".join(said)


def _critical(past: History) -> Iterator[str]:
    """Return the critical steps that were missed, each with how often and when last."""
    known = past.protocol.step_of
    missed: dict[str, list[Run]] = {}
    for run in past.runs:
        for step in run.critical_missed:
            if step in known:
                missed.setdefault(step, []).append(run)
    for step in sorted(missed, key=lambda step: past.protocol.position_of[step]):
        last = f"{missed[step][-1].created:%Y-%m-%d}"
        yield f"{known[step].title}: in {counted(len(missed[step]), 'session')}, last {last}"
    if not missed:
        yield "none in these sessions"


# What the words mean, how it is read, what limits it, and how it is computed


def _words(kinds: Sequence[Kind]) -> Iterator[str]:
    """Explain what is used from here on, and nothing else."""
    if not kinds:
        return
    yield "run: one finished session; those that are shown together are numbered from the oldest on"
    yield "critical step: one that the protocol marks so, with what follows when it is missed"
    if any(kind.target for kind in kinds):
        yield "target time: what the protocol plans for the whole examination of a person"
    if any(kind.found for kind in kinds):
        yield (
            "curves: two ways in which times fall with practice, drawn through the times of the runs; the"
            " nearer one lies nearer to them, the other one is shown beside it, and both are guesses"
        )
        yield (
            "scatter: how far a run typically lies off the nearer curve, to either side; about one run in"
            " three lies farther off"
        )


def _reading(kinds: Sequence[Kind]) -> Iterator[str]:
    points = [point for kind in kinds for point in kind.points]
    if any(point.timed is None for point in points):
        yield (
            f"time in brackets: the run did fewer than {WHOLE_REACH:g} % of the steps, or a rehearsal asked"
            " for fewer, so that its time is compared with no other"
        )
    if any(point.gap_days for point in points):
        yield (
            "days between two rows: a long time without a run of this kind; curves and days to come rest on"
            " even practice"
        )
    if any(not kind.is_recall for kind in kinds):
        yield "steps done: the share that was done of those that count"
    if any(kind.is_recall for kind in kinds):
        yield "steps recalled: the share that was recalled of those that the rehearsal asks for"
    yield from _reading_misses(kinds)
    if points:
        yield (
            "out of order: the fewest steps that would have to be moved to get the order of the protocol"
            + (
                "; in a rehearsal, the steps that were recalled out of place"
                if any(kind.is_recall for kind in kinds)
                else ""
            )
        )
    if any(map(_is_mixed, kinds)):
        yield "rehearsals that are typed and said stand together, though typing takes longer"


def _is_mixed(kind: Kind) -> bool:
    """Whether rehearsals of the kind were both typed and said."""
    tasks = (task_of(point.run.task) for point in kind.points if kind.is_recall)
    return len({task.is_typed for task in tasks if task}) > 1


def _reading_misses(kinds: Sequence[Kind]) -> Iterator[str]:
    missed = {kind.is_recall for kind in kinds for point in kind.points if point.run.critical_missed}
    if False in missed:
        yield (
            "critical missed: critical steps that were not done, or were done incorrectly so that nothing of"
            " them counts; the share has these as done, so that 100 % can stand beside a miss"
        )
    if True in missed:
        yield (
            "critical missed in a rehearsal: critical steps that were asked for and not recalled, or only"
            " with a hint or out of place"
        )


def _limits(kinds: Sequence[Kind]) -> Iterator[str]:
    yield "sessions under way have no row, and invented examples are left out"
    if any(kind.target is None for kind in kinds):
        yield (
            "rehearsals and simulated patients have no target time: it is for the whole examination of a"
            " person"
        )
    if any(kind.found for kind in kinds):
        yield (
            "what the curves say of runs to come is a guess, and where it is faster than any run so far"
            " nothing that was seen supports it"
        )
        yield "a curve describes times, not how an examination will be judged"


def _formulas(kinds: Sequence[Kind], comparisons: int) -> Iterator[str]:
    if named := [f"{kind.name}, the {kind.found.chosen.shape} one" for kind in kinds if kind.found]:
        yield f"the nearer curve is: {'; '.join(named)}"
    if any(
        kind.is_alike and sum(bool(point.timed) for point in kind.points) >= FEWEST_RUNS for kind in kinds
    ):
        yield from _FALL
    if named:
        yield from _CURVES
    if comparisons:
        yield from _WORSE


_FALL = (
    "exponential curve, what is left to gain falls by the same share from run to run:"
    " T(n) = A + B e^(-c(n-1)), with T the time of run n of those compared, and A where it levels off",
    "power curve, each run takes off a smaller share of what is left to gain: T(n) = A + B n^(-a)",
    "fit of both curves: the A, B and c or a, none below 0, at which the squares of the distances between"
    " curve and times have the smallest sum (least squares)",
    "choice of the nearer curve: the smaller of both sums; AICc, which weighs a fit against how many numbers"
    " were fitted, comes to the same, since both curves have as many (Hurvich and Tsai 1989, from memory)",
    "times fall by more than chance would give: AICc of the nearer curve (four numbers) is lower than that of"
    " no trend (two numbers, the mean and the variance); with five runs, where it is not defined, the sum of"
    " squares must be 786 times smaller than without a curve, which is what AICc asks of six runs; our own"
    " rule, no source",
    "latest runs slower than the curve: the latest three all lie above it, on average by more than the"
    " scatter; or each took longer than the run before it, and the last lies above it by more than the"
    " scatter; our own rule, no source",
)
_CURVES = (
    "scatter: the residual standard deviation, the square root of the sum of squares about the nearer curve"
    " divided by the number of runs less three",
    "which curve is more usual: the times of one person follow the exponential one more often (Heathcote,"
    " Brown and Mewhort 2000, abstract read)",
    "target time met: the first run at which a curve is within it, looked for up to twice as many runs as"
    " were compared; likely where both curves come down to it, and level off below it by more than the"
    " scatter; the day follows from the median time between these runs, and is left out when the latest run"
    " is more than three of these ago; our own rule, no source",
)
_WORSE = (
    "getting worse, recalled or done less often: the last three tests beside all before, by Fisher's exact"
    " test, one side, at a chance of 1 % (from memory); the 1 % and the three are our own rule, no source",
    "getting worse, taking longer: the last three times beside those before, 197 at most, by the exact"
    " Mann-Whitney test, one side, at a chance of 1 % (from memory), and the median a fifth and three seconds"
    " longer at least; our own rule, no source",
    f"fewest tests: with fewer than {FEWEST_COMPARED} no three can be as rare as 1 in 100",
)
