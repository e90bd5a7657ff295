"""The runs that are shown together, and what their times say: no more than chance leaves. Draws nothing.

What is said of runs to come is what the curves give, with what is uncertain at least; no result is predicted.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from statistics import median

from checklist.practice.history import History
from checklist.practice.learning import (
    FEWEST_RUNS,
    Learning,
    Limit,
    is_within,
    learning,
    limit,
    slower,
    whole_seconds,
)
from checklist.practice.rehearsal import GAPS, LEFT_OUT, ORDER, task_of
from checklist.practice.run import RECALLED_MARK, Run
from checklist.practice.tasks import label
from checklist.session.session import REHEARSAL
from checklist.summary.document import Sentence
from checklist.summary.practise import counted
from checklist.summary.timeline import minutes
from checklist.summary.words import joined, sentence

WHOLE_REACH = 90.0
"""Per cent of the steps that a run must have done for its time to count. Our own rule, no source."""
FARTHEST_DAYS = 730.0
"""No day is named that is farther off."""
LONG_GAP, LONG_GAP_DAYS, MOST_GAPS = 5.0, 1.0, 3
"""A gap is long from so many usual ones on, and a day; so many are named. Our own rule, no source."""
STALE_GAPS = 3.0
"""No day is named when the latest run is more than so many usual gaps ago. Our own rule, no source."""
PART = f"{REHEARSAL}: part of the order"
_DAY_SECONDS = 86_400.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Point:
    """A run among those of its kind."""

    number: int
    """From 1, as everything that is shown names it."""
    run: Run
    timed: int | None
    """Its number among those whose times are compared; None for one that did too few of the steps."""
    curves: tuple[float, float] | None
    """Seconds by the nearer and by the other curve; None without curves, and where the time is left out."""
    share: float | None
    """Per cent of the steps that were done; in a rehearsal, of those asked for that were recalled."""
    gap_days: float | None
    """Days since the run before, where that is a long gap."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Kind:
    """The finished runs that are shown together."""

    name: str
    points: tuple[Point, ...]
    """Oldest first, at least one."""
    target: float | None
    found: Learning | None
    """The fitted curves; None where there are none to show."""
    rise: tuple[float, float] | None
    """The usual time before and of the latest runs, where it rose."""
    is_alike: bool
    """Whether all asked for the same, so that their times can be compared."""
    sentences: tuple[Sentence, ...]
    """What there is to say of the times."""

    @property
    def next(self) -> tuple[float, float] | None:
        """Seconds of the next run by the nearer and the other curve; None where chance may have made them."""
        return self.found.next if self.found and self.found.is_falling else None

    @property
    def is_recall(self) -> bool:
        """Whether steps were recalled, and not done."""
        return _is_recall(self.points[0].run)

    @property
    def steps(self) -> str:
        """What the share of the steps is a share of."""
        return "steps recalled" if self.is_recall else "steps done"


def run_kinds(past: History, now: datetime | None) -> Iterator[Kind]:
    """Return the kinds of finished runs, in the order in which they were first begun."""
    groups: dict[str, list[Run]] = {}
    for run in past.runs:
        groups.setdefault(_group(run), [])
        if run.is_finished and run.steps:
            groups[_group(run)].append(run)
    for name, runs in groups.items():
        if runs:
            yield _kind(past, name, runs, now)


def _group(run: Run) -> str:
    """Return in plain words which runs a run is shown with; typed and said rehearsals stand together."""
    if run.mode != REHEARSAL:
        return run.mode
    task = task_of(run.task)
    if task and task.kind == ORDER and (task.section or task.start):
        return PART
    return label(task.kind if task else run.task)


def _is_recall(run: Run) -> bool:
    return run.mode == REHEARSAL and not run.is_of_patient


def _is_piece(run: Run) -> bool:
    """Whether a rehearsal asks for a part that no share of the whole says anything of."""
    task = task_of(run.task) if _is_recall(run) else None
    return task is not None and (bool(task.start) or task.kind in (GAPS, LEFT_OUT))


def _is_alike(runs: Sequence[Run]) -> bool:
    """Whether all asked for the same: cases differ, and so do parts."""
    if any(run.is_of_patient or _is_piece(run) for run in runs):
        return False
    tasks = [task_of(run.task) if _is_recall(run) else None for run in runs]
    return len({task.section if task else "" for task in tasks}) == 1


def _is_timed(run: Run) -> bool:
    return _is_piece(run) or run.reach >= WHOLE_REACH


def _share(run: Run) -> float | None:
    """Return the per cent of the steps that were done, or recalled of those that were asked for."""
    if not _is_piece(run):
        return run.coverage
    missed = {step for step, mark in zip(run.steps, run.marks, strict=True) if mark != RECALLED_MARK}
    asked = set(run.steps)
    return 100 * (len(asked) - len(missed)) / len(asked)


def _kind(past: History, name: str, runs: Sequence[Run], now: datetime | None) -> Kind:
    """A rehearsal has no target: saying the steps takes less time than doing them, and cases differ."""
    target = None if runs[0].mode == REHEARSAL else past.protocol.target_seconds
    is_alike = _is_alike(runs)
    whole = [run for run in runs if _is_timed(run)]
    found = learning([run.seconds for run in whole]) if is_alike else None
    shown = found if found and found.has_fall and not found.is_slower_lately else None
    points = tuple(_points(runs, shown))
    said = [*_time(runs, whole, target), *_curve(whole, found, is_alike=is_alike)]
    if shown and shown.is_falling:
        said += _next(shown)
        said += _limit(runs, whole, shown, target, now) if target else ()
    said += _long_gaps(points)
    return Kind(
        name=name,
        points=points,
        target=target,
        found=shown,
        rise=slower([run.seconds for run in whole]) if is_alike else None,
        is_alike=is_alike,
        sentences=tuple(Sentence(text=sentence(text)) for text in said),
    )


def _points(runs: Sequence[Run], found: Learning | None) -> Iterator[Point]:
    count = 0
    usual = _usual_gap(runs)
    for number, run in enumerate(runs, start=1):
        count += _is_timed(run)
        timed = count if _is_timed(run) else None
        days = _days(runs[number - 2], run) if number > 1 else 0.0
        yield Point(
            number=number,
            run=run,
            timed=timed,
            curves=(found.chosen.at(timed), found.other.at(timed)) if found and timed else None,
            share=_share(run),
            gap_days=days if days > max(LONG_GAP * usual, LONG_GAP_DAYS) else None,
        )


def _days(earlier: Run, later: Run) -> float:
    return (later.created - earlier.created).total_seconds() / _DAY_SECONDS


def _usual_gap(runs: Sequence[Run]) -> float:
    """Return the days that usually lie between two runs; 0 where there is one."""
    return median(_days(*each) for each in pairwise(runs)) if len(runs) > 1 else 0.0


# What is said of the times


def _time(runs: Sequence[Run], whole: Sequence[Run], target: float | None) -> Iterator[str]:
    left = len(runs) - len(whole)
    if left:
        be, did = ("is" if left == 1 else "are"), ("asked for" if _is_recall(runs[0]) else "did")
        yield (
            f"{counted(left, 'run')} that {did} fewer than {WHOLE_REACH:g} % of the steps"
            f" {be} left out of the times"
        )
    if whole and not any(map(_is_piece, whole)):
        seconds = [run.seconds for run in whole]
        yield f"fastest {minutes(min(seconds))}, latest {minutes(seconds[-1])}"
        if target:
            yield f"target {minutes(target)}; {_within(seconds, target, ' compared' if left else '')}"


def _within(seconds: Sequence[float], target: float, which: str) -> str:
    latest = seconds[-FEWEST_RUNS:]
    within = sum(is_within(each, target) for each in latest)
    if len(latest) == 1:
        return f"the one run{which} is {'' if within else 'not '}within it"
    of = "" if len(latest) == len(seconds) else "the latest "
    return f"within it {within or 'none'} of {of}{len(latest)} runs{which}"


def _curve(whole: Sequence[Run], found: Learning | None, *, is_alike: bool) -> Iterator[str]:
    """Say whether the times fall, and what stands against it."""
    if not whole:
        return
    if not is_alike:
        what = "cases differ" if whole[0].is_of_patient else "what is asked differs from run to run"
        yield f"{what}, so no curve is fitted to these times"
    elif found is None:
        be = "is" if len(whole) == 1 else "are"
        yield f"a curve is fitted from {FEWEST_RUNS} runs on; there {be} {len(whole)}"
    elif not found.has_fall:
        yield "the times do not fall, so no curve is shown"
    elif found.is_slower_lately:
        yield (
            "the latest runs are slower than a curve through the times, so none is shown, and nothing is"
            " concluded of runs to come"
        )
    elif not found.is_falling:
        yield (
            "the times do not fall by more than chance would give: the curves show what fits so far, and"
            " nothing is concluded of runs to come"
        )
    else:
        yield f"the times fall{_level(found)}"


def _level(found: Learning) -> str:
    """Say where the times level off, unless that is far below all that was seen."""
    level = found.chosen.level
    if level < min(found.seconds) - found.scatter or not whole_seconds(level):
        return ""
    return f"; by the nearer curve they level off at {minutes(level)}"


def _next(found: Learning) -> Iterator[str]:
    """Say what the curves give for the next run; what lies between them is that of the times as shown."""
    nearer, other = map(whole_seconds, found.next)
    apart, scatter = abs(nearer - other), whole_seconds(found.scatter)
    by = f"{minutes(nearer)} by both curves"
    by = f"{minutes(nearer)} by the nearer curve, {minutes(other)} by the other one" if apart else by
    least = [f"by the {minutes(apart)} between them"] if apart else []
    least += [f"by {minutes(scatter)} of scatter on either side"] if scatter else []
    uncertain = f"uncertain at least {joined(least)}" if least else "how uncertain this is they do not tell"
    yield f"next run: {by}; {uncertain}"
    fastest = whole_seconds(min(found.seconds))
    if which := _which_below(nearer < fastest, other < fastest, is_one=not apart):
        yield f"{which} below the fastest time so far, and so beyond what was seen"


def _which_below(is_nearer: bool, is_other: bool, *, is_one: bool) -> str:
    if is_nearer and is_other:
        return "this is" if is_one else "both are"
    one = "nearer" if is_nearer else "other"
    return f"the time by the {one} curve is" if is_nearer or is_other else ""


def _limit(
    runs: Sequence[Run], whole: Sequence[Run], found: Learning, target: float, now: datetime | None
) -> Iterator[str]:
    """Say when the curves come down to the target time, and what that rests on."""
    if is_within(found.chosen.at(len(whole)), target):
        yield "the nearer curve is within the target time already"
        return
    reached = limit(found, target)
    met = sorted(run - len(whole) for run in (reached.chosen_run, reached.other_run) if run is not None)
    ahead = f"within the next {counted(reached.horizon - len(whole), 'run')}"
    if not met:
        yield f"neither curve comes down to the target time {ahead}"
        return
    days, why = _when(runs, whole, met, now)
    numbers = " to ".join(str(number) for number in dict.fromkeys(len(runs) + run for run in met))
    yield _met(reached, f"run {numbers}{days}", ahead)
    if why:
        yield f"no day is named: {why}"
    if reached.is_beyond_fastest:
        yield "no run was as fast so far: this follows the curves beyond what was seen"


def _met(reached: Limit, when: str, ahead: str) -> str:
    if reached.is_likely:
        return f"the target time is likely to be met: the curves come down to it at {when}"
    if None not in (reached.chosen_run, reached.other_run):
        return f"the curves come down to the target time at {when}"
    one, other = ("nearer", "other") if reached.chosen_run else ("other", "nearer")
    return f"the {one} curve comes down to the target time at {when}, the {other} one not {ahead}"


def _when(
    runs: Sequence[Run], whole: Sequence[Run], ahead: Sequence[int], now: datetime | None
) -> tuple[str, str]:
    """Return the days of runs ahead, if runs go on as often as they did; or why none is named."""
    usual, last = _usual_gap(whole), whole[-1].created
    since = (now - runs[-1].created).total_seconds() / _DAY_SECONDS if now else 0.0
    if since > STALE_GAPS * usual:
        return "", f"the latest run was {day_count(since)} ago, and the usual gap is {day_count(usual)}"
    if usual * ahead[-1] > FARTHEST_DAYS:
        return " (years from now with runs as often as so far)", ""
    days = [last + timedelta(days=usual * each) for each in ahead]
    if now and days[0].date() < now.astimezone(last.tzinfo).date():
        return "", "with runs as often as so far it would have passed"
    about = " to ".join(dict.fromkeys(f"{each:%Y-%m-%d}" for each in days))
    return f" (about {about} with runs as often as so far)", ""


def day_count(days: float) -> str:
    """Return whole days in words."""
    return counted(round(days), "day") if round(days) else "less than a day"


def _long_gaps(points: Sequence[Point]) -> Iterator[str]:
    found = [(point.gap_days, point.number) for point in points if point.gap_days]
    if not found:
        return
    named = [f"{day_count(days)} before run {number}" for days, number in found[-MOST_GAPS:]]
    more = f", and {len(found) - MOST_GAPS} more" if len(found) > MOST_GAPS else ""
    usual = day_count(_usual_gap([point.run for point in points]))
    yield f"practice was uneven: {', '.join(named)}{more}; the usual gap is {usual}"
