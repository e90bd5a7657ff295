"""The document that shows sessions over weeks: time, coverage, critical misses, order, and what gets worse.

Needs no colour. Praises nothing, and predicts no result.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from itertools import pairwise
from statistics import median

from checklist.practice.history import History
from checklist.practice.learning import FEWEST_RUNS, Learning, Worse, learning, limit, worse
from checklist.practice.run import Run
from checklist.session.session import REHEARSAL
from checklist.summary.document import Block, Form, Note, Sentence
from checklist.summary.practise import NOT_FOR_THE_RECORD, circumstances, counted
from checklist.summary.timeline import fitted, minutes
from checklist.summary.words import sentence
from checklist.text import one_line

MOST_ROWS = 20
"""Runs of one kind that have a row, latest ones."""
BAR_CELLS, TITLE_CELLS = 30, 32
WHOLE_REACH = 90.0
"""Per cent of the steps that a run must have come to for its time to count. Our own rule, no source."""
TIME, LIMIT, FITTED, SESSION = "█", "|", "o", "■"
MOST_WEEKS, MOST_MARKS = 12, 60
"""Latest weeks that have a row, and marks in it."""
FARTHEST_DAYS = 730.0
"""No day is named that is farther off."""
_WEEK_DAYS = 7


def progress(past: History) -> Note:
    """Return how the runs of one person on one protocol went over time."""
    return Note(
        title=f"{past.protocol.title}: progress",
        banner=(NOT_FOR_THE_RECORD,),
        blocks=tuple(_blocks(past)),
    )


def _blocks(past: History) -> Iterator[Block]:
    yield Block(sentences=tuple(circumstances(past)))
    if not past.runs:
        return
    yield _weeks(past.runs)
    for kind in dict.fromkeys(run.kind for run in past.runs):
        runs = [run for run in past.runs if run.kind == kind and run.is_finished and run.steps]
        if runs:
            yield from _of_kind(past, kind, runs)
    yield _worse_block(past)
    yield _critical(past)
    yield Block(heading="LIMITS", sentences=tuple(map(_sentence, _LIMITS)))


def _sentence(text: str) -> Sentence:
    return Sentence(text=sentence(text))


def _rows(heading: str, rows: Sequence[str]) -> Block:
    return Block(heading=heading, sentences=tuple(Sentence(text=row) for row in rows), form=Form.ROWS)


def _weeks(runs: Sequence[Run]) -> Block:
    """Return how many sessions each of the last weeks had, weeks without one included."""
    weeks = [_monday(run.created) for run in runs]
    first, last = min(weeks), max(weeks)
    shown = [last - timedelta(days=_WEEK_DAYS * back) for back in reversed(range(MOST_WEEKS))]
    earlier = sum(week < shown[0] for week in weeks)
    rows = [f"earlier    {earlier:>4}"] if earlier else []
    for week in shown:
        if week >= first:
            count = weeks.count(week)
            rows.append(f"{week:%Y-%m-%d} {count:>4} {SESSION * min(count, MOST_MARKS)}".rstrip())
    return _rows("SESSIONS IN EACH WEEK FROM MONDAY", rows)


def _monday(at: datetime) -> datetime:
    day = datetime(at.year, at.month, at.day)
    return day - timedelta(days=day.weekday())


# Runs of one kind


def _of_kind(past: History, kind: str, runs: Sequence[Run]) -> Iterator[Block]:
    """A rehearsal has no time limit: saying the steps takes less time than doing them."""
    title = fitted(one_line(kind), TITLE_CELLS).rstrip().upper()
    target = None if runs[0].mode == REHEARSAL else past.protocol.target_seconds
    whole = [run for run in runs if run.reach >= WHOLE_REACH]
    found = learning([run.seconds for run in whole])
    curve = found if found and found.is_falling else None
    yield _rows(_heading(title, curve, target), list(_run_rows(runs, whole, curve, target)))
    if sentences := tuple(_time(runs, whole, found, target)):
        yield Block(heading=f"TIME, {title}", sentences=sentences)


def _heading(title: str, curve: Learning | None, target: float | None) -> str:
    marks = [f"{TIME} TIME"]
    marks += [f"{LIMIT} TARGET TIME"] if target else []
    marks += [f"{FITTED} FITTED CURVE"] if curve else []
    return f"{title}: {', '.join(marks)}"


def _run_rows(
    runs: Sequence[Run], whole: Sequence[Run], curve: Learning | None, target: float | None
) -> Iterator[str]:
    shown = runs[-MOST_ROWS:]
    longest = max(target or 0.0, *(run.seconds for run in shown))
    number_of = {run.id: number for number, run in enumerate(whole, start=1)}
    if earlier := len(runs) - len(shown):
        yield f"… {counted(earlier, 'earlier run')}"
    yield f"{'':10} {'time':>6} {'':{BAR_CELLS + 1}} {'steps':>5} {'crit.':>5} {'order':>5}"
    for run in shown:
        number = number_of.get(run.id)
        by_curve = curve.chosen.at(number) if curve and number else None
        yield _run_row(run, _bar(run.seconds, target, by_curve, longest))


def _run_row(run: Run, bar: str) -> str:
    done = "–" if run.coverage is None else f"{run.coverage:.0f} %"
    moved = "–" if run.moved is None else str(run.moved)
    when = f"{run.created:%Y-%m-%d} {minutes(run.seconds):>6}"
    return f"{when} {bar} {done:>5} {len(run.critical_missed):>5} {moved:>5}"


def _bar(seconds: float, target: float | None, by_curve: float | None, longest: float) -> str:
    cells = [TIME if place < _cell(seconds, longest) else " " for place in range(BAR_CELLS + 1)]
    if target:
        cells[_cell(target, longest)] = LIMIT
    if by_curve is not None:
        cells[min(BAR_CELLS, _cell(by_curve, longest))] = FITTED
    return "".join(cells)


def _cell(seconds: float, longest: float) -> int:
    return round(BAR_CELLS * seconds / longest) if longest else 0


def _time(
    runs: Sequence[Run], whole: Sequence[Run], found: Learning | None, target: float | None
) -> Iterator[Sentence]:
    if left := len(runs) - len(whole):
        be = "is" if left == 1 else "are"
        yield _sentence(
            f"{counted(left, 'run')} that came to fewer than {WHOLE_REACH:g} % of the steps"
            f" {be} left out of the times"
        )
    if not whole:
        return
    seconds = [run.seconds for run in whole]
    yield _sentence(f"fastest {minutes(min(seconds))}, latest {minutes(seconds[-1])}")
    if target:
        within = sum(each <= target for each in seconds[-FEWEST_RUNS:])
        latest = min(len(seconds), FEWEST_RUNS)
        yield _sentence(
            f"target {minutes(target)}; within it {within} of the latest {counted(latest, 'run')}"
        )
    yield from _curve(whole, found, target)


def _curve(whole: Sequence[Run], found: Learning | None, target: float | None) -> Iterator[Sentence]:
    if found is None:
        yield _sentence(f"a curve is fitted from {FEWEST_RUNS} runs on; there {_are(len(whole))}")
        return
    if not found.is_falling:
        yield _sentence("the times are not falling, so no curve is shown")
        return
    low, high = sorted(found.next)
    shape, other = found.chosen.shape, found.other.shape
    yield _sentence(
        f"improving: the times fall, nearest to the {shape} curve, which levels off at"
        f" {minutes(found.chosen.level)}"
    )
    yield _sentence(
        f"next run: {minutes(found.next[0])} by the {shape}, {minutes(found.next[1])} by the {other} curve;"
        f" the {minutes(high - low)} between them are how uncertain this is at least"
    )
    if low < min(found.seconds):
        yield _sentence("this is below the fastest time so far, and so beyond what was seen")
    if target:
        yield from _limit(whole, found, target)


def _are(number: int) -> str:
    return f"is {number}" if number == 1 else f"are {number}"


def _limit(whole: Sequence[Run], found: Learning, target: float) -> Iterator[Sentence]:
    """Say when the curves come down to the target time, and what that rests on."""
    if found.chosen.at(len(found.seconds)) <= target:
        yield _sentence("the curve is within the target time already")
        return
    reached = limit(found, target)
    runs = sorted(run for run in (reached.chosen_run, reached.other_run) if run is not None)
    if not runs:
        yield _sentence(f"neither curve comes down to the target time within {reached.horizon} runs")
        return
    by = f"run {runs[0]}" if runs[0] == runs[-1] else f"run {runs[0]} to {runs[-1]}"
    if len(runs) == 1:
        shape = found.chosen.shape if reached.chosen_run else found.other.shape
        by += f" by the {shape} curve, and by the other one not within {reached.horizon} runs"
    yield _sentence(f"the target time is likely to be met from {by} on; {_when(whole, runs[0])}")
    if reached.is_beyond_fastest:
        yield _sentence("no run was as fast so far: this follows the curves beyond what was seen")


def _when(whole: Sequence[Run], run: int) -> str:
    """Return the day of a run to come, if runs go on as often as they did."""
    gaps = [(later.created - earlier.created).total_seconds() for earlier, later in pairwise(whole)]
    days = median(gaps) / 86_400 * (run - len(whole))
    if days > FARTHEST_DAYS:
        return "with runs as often as so far, years from now"
    return f"with runs as often as so far, about {whole[-1].created + timedelta(days=days):%Y-%m-%d}"


# Steps


def _worse_block(past: History) -> Block:
    found = [each for each in worse(past.runs) if each.step in past.protocol.step_of]
    found.sort(key=lambda each: past.protocol.position_of[each.step])
    sentences = [_sentence(f"{past.protocol.step_of[each.step].title}: {_how(each)}") for each in found]
    return Block(
        heading="GETTING WORSE",
        sentences=tuple(sentences) or (_sentence("no step, as far as the tests tell"),),
        form=Form.ITEMS,
    )


def _how(each: Worse) -> str:
    parts = []
    if each.recall:
        before, of_before, lately, of_lately = each.recall
        parts.append(f"recalled {lately} of the last {of_lately}, {before} of {of_before} before")
    if each.seconds:
        before_seconds, lately_seconds = each.seconds
        parts.append(f"takes {minutes(lately_seconds)}, {minutes(before_seconds)} before")
    return "; ".join(parts)


def _critical(past: History) -> Block:
    """Return the critical steps that were missed, each with the runs in which it was."""
    known = past.protocol.step_of
    missed: dict[str, list[Run]] = {}
    for run in past.runs:
        for step in run.critical_missed:
            if step in known:
                missed.setdefault(step, []).append(run)
    order = sorted(missed, key=lambda step: past.protocol.position_of[step])
    sentences = [
        _sentence(
            f"{known[step].title}: in {counted(len(missed[step]), 'session')},"
            f" last {missed[step][-1].created:%Y-%m-%d}"
        )
        for step in order
    ]
    return Block(
        heading="CRITICAL STEPS MISSED",
        sentences=tuple(sentences) or (_sentence("none in these sessions"),),
        form=Form.ITEMS,
    )


_LIMITS = (
    "steps: the share that was done of those that count, or recalled of those that a rehearsal asks;"
    " crit.: critical steps missed; order: the fewest steps that were out of place",
    "times of sessions under way and of invented examples are left out",
    "curves: exponential A + B e^(-c(n-1)) and power A + B n^(-a), least squares, chosen by AICc",
    "one person's times follow the exponential more often than the power curve: Heathcote, Brown and Mewhort"
    " 2000, abstract read",
    "worse: two of the last three tests were missed and the share recalled fell by a third or more; or the"
    " median of the last three times is a fifth above the one before and more than 1.5 interquartile ranges"
    " above the upper quartile before; our own rule, no source",
    "a curve describes times, not how an examination will be judged",
)
