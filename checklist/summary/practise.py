"""The document that says what to practise next, and why. Praises nothing, and predicts no result.

In ten minutes or less it says whose plan it is, three things at most, and nothing else. What is read first
needs no statistics; the formulas stand last. What is not on the page is not explained.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from checklist.practice.history import History, up_to
from checklist.practice.plan import DUE_BELOW, SHORT_MINUTES, TRY_SECONDS, Item, Plan, Why, plan
from checklist.practice.recall import Estimate, estimates
from checklist.practice.run import HINT_MARK, LEFT_OUT_MARK, PLACE_MARK, UNPLANNED_MARK, WRONG_MARK
from checklist.protocol.model import Protocol, Step
from checklist.summary.document import TEXT_WIDTH, Block, Form, Note, Sentence
from checklist.summary.timeline import fitted, minutes
from checklist.summary.words import sentence
from checklist.text import one_line

NOT_FOR_THE_RECORD = "PRACTICE – for the learner; no part of a patient's record"
MOST_PACE = 99.9
"""What is slower is shown as this: no step takes so long."""
MOST_NAMES = 3
"""Files that are named."""
IMPROVING_LEFT = 0.5
"""A step is called improving while at least so much is expected to be left of its one recall.

Our own rule, no source.
"""
_MISSED = {
    HINT_MARK: "recalled with a hint",
    PLACE_MARK: "recalled out of place",
    WRONG_MARK: "done at a simulated patient and recorded wrongly",
    UNPLANNED_MARK: "done, but not as planned,",
    LEFT_OUT_MARK: "left out",
}
"""How a step was missed, where more is known of it."""
EMPTY, RANGE, ESTIMATE = "·", "─", "█"


@dataclass(frozen=True, kw_only=True, slots=True)
class _Columns:
    """Cells of the columns of the table that differ."""

    name: int
    bar: int
    tests: int


_WIDE, _NARROW = _Columns(name=26, bar=20, tests=7), _Columns(name=20, bar=9, tests=5)
_WIDE_FROM, _LEAST = 79, 60
"""Cells of a whole row in either."""


def practise(past: History, minutes_today: float, now: datetime, width: int = TEXT_WIDTH) -> Note:
    """Return what to practise in the minutes that there are today, with rows for lines of `width`.

    Sessions dated after today are left aside.
    """
    past = up_to(past, now)
    known = _known(past, now)
    found = plan(past.protocol, known, minutes_today)
    is_wide = width >= _WIDE_FROM
    return Note(
        title=f"{past.protocol.title}: what to practise next",
        banner=(NOT_FOR_THE_RECORD,),
        blocks=tuple(_blocks(past, known, found, now, _WIDE if is_wide else _NARROW)),
    )


def _known(past: History, now: datetime) -> Mapping[str, Estimate]:
    """Return the estimates of the steps that the protocol still has."""
    found = estimates(past.runs, now)
    return {step.id: found[step.id] for step in past.protocol if step.id in found}


def _blocks(
    past: History, known: Mapping[str, Estimate], found: Plan, now: datetime, columns: _Columns
) -> Iterator[Block]:
    if found.minutes <= SHORT_MINUTES:
        yield Block(sentences=(_sentence(_in_short(past)),))
        yield _today(found, now)
        return
    yield Block(sentences=(*circumstances(past, len(known)), *_critical(past.protocol, known, found)))
    yield _today(found, now)
    if found.items:
        yield Block(heading="IN WHICH ORDER", sentences=tuple(_order(found)))
    if found.later:
        yield Block(heading="NOT DUE TODAY", sentences=tuple(_later(found, known)))
    if known:
        yield _table(past, known, columns)
    yield _items("HOW TO READ THIS", tuple(_reading(past.protocol, known)))
    if known:
        yield _items("FORMULAS", (*_FORMULAS, *_PACE_FORMULA * _is_paced(known), _SOURCES))


# Whose plan it is


def circumstances(past: History, tested: int | None = None) -> Iterator[Sentence]:
    """Say whose runs these are, how many and of when, and what was left aside."""
    if not past.runs:
        yield _sentence(f"{_no_history(past)}: nothing is known of any step")
    else:
        first, last = past.runs[0].created, past.runs[-1].created
        span = f"{first:%Y-%m-%d}" if first.date() == last.date() else f"{first:%Y-%m-%d} to {last:%Y-%m-%d}"
        yield _sentence(f"{_whose(past)}, {span}")
        if tested is not None:
            steps = len(past.protocol.steps)
            yield _sentence(f"of {counted(steps, 'step')}, {tested} tested, {steps - tested} not yet tested")
    if past.others:
        yield _sentence(f"sessions of other examiners' codes were left aside: {_codes(past.others)}")
    yield from map(_sentence, _left_aside(past))


def _whose(past: History) -> str:
    whose = f"examiner {past.examiner}" if past.examiner else "no examiner code"
    return f"{whose}; {counted(len(past.runs), 'session')}"


def _no_history(past: History) -> str:
    return f"there is no history{f' of examiner {past.examiner}' if past.examiner else ''} yet"


def _codes(others: Sequence[str]) -> str:
    return ", ".join(code or "no code" for code in others[:5]) + (", …" if len(others) > 5 else "")


def _left_aside(past: History) -> Iterator[str]:
    if past.ahead:
        is_one = past.ahead == 1
        be, were = ("is", "was") if is_one else ("are", "were")
        yield f"{counted(past.ahead, 'session')} {be} dated after today and {were} left aside"
    if past.unreadable:
        yield f"{counted(len(past.unreadable), 'file')} could not be read"
        named = ", ".join(map(one_line, past.unreadable[:MOST_NAMES]))
        more = len(past.unreadable) - MOST_NAMES
        be = "it is" if len(past.unreadable) == 1 else "they are"
        yield f"{be} {named}{f' and {more} more' if more > 0 else ''}"


def _in_short(past: History) -> str:
    """Say in one line whose plan it is, and what was left aside."""
    aside = [f"codes {_codes(past.others)}"] if past.others else []
    aside += [f"{past.ahead} dated after today"] if past.ahead else []
    aside += [counted(len(past.unreadable), "unreadable file")] if past.unreadable else []
    whose = _whose(past) if past.runs else _no_history(past)
    return whose + (f"; left aside: {', '.join(aside)}" if aside else "")


def _critical(protocol: Protocol, known: Collection[str], found: Plan) -> Iterator[Sentence]:
    if (known or found.items) and any(step.critical for step in protocol):
        yield _sentence("critical is a step of which the protocol says why it must not be left out")


def counted(number: int, thing: str) -> str:
    """Return a number with its noun: `1 step`, `2 steps`."""
    return f"{number} {thing}{'' if number == 1 else 's'}"


def _sentence(text: str) -> Sentence:
    return Sentence(text=sentence(text))


def _items(heading: str, texts: Sequence[str]) -> Block:
    return Block(heading=heading, sentences=tuple(map(_sentence, texts)), form=Form.ITEMS)


def _today(found: Plan, now: datetime) -> Block:
    heading = f"TODAY, {found.minutes:g} MINUTE{'' if found.minutes == 1 else 'S'}"
    if not found.items:
        nothing = "no step is due" if not found.left else "too little time for a step"
        return Block(heading=heading, sentences=(_sentence(nothing),))
    sentences = tuple(_sentence(f"{item.step.title}: {reason(item, now)}") for item in found.items)
    return Block(heading=heading, sentences=sentences, form=Form.ITEMS)


def reason(item: Item, now: datetime) -> str:
    """Say in one line why a step is due."""
    critical = "critical; " if item.step.critical else ""
    estimate = item.estimate
    if estimate is None:
        return f"{critical}not yet tested"
    ago = _ago(estimate.last_seen, now)
    if item.why is Why.MISSED:
        how = _MISSED.get(estimate.last_mark, "not recalled")
        return f"{critical}{how} last time, {ago}; {_share(estimate)}"
    last = "done" if estimate.last_performed else "recalled"
    left = f"about {100 * estimate.retained:.0f} % of that is expected to be left"
    improving = "improving; " if _is_improving(estimate) else ""
    return f"{critical}{improving}last {last} {ago}, {left}; {_share(estimate)}"


def _share(estimate: Estimate) -> str:
    """Say how many tests went as planned, in the words of where they took place."""
    how = _how([estimate])
    return f"{'done as planned' if how == 'done' else how} {estimate.recalled} of {estimate.tested}"


def _how(tested: Collection[Estimate]) -> str:
    performed, tests = sum(each.performed for each in tested), sum(each.tested for each in tested)
    if not performed:
        return "recalled"
    return "done" if performed == tests else "recalled or done"


def _is_improving(estimate: Estimate) -> bool:
    """Whether the last test is the only recall after misses; long ago, it says nothing of today."""
    is_first = estimate.last_recalled and estimate.recalled == 1 and estimate.tested > 1
    return is_first and estimate.retained >= IMPROVING_LEFT


def _ago(at: datetime, now: datetime) -> str:
    days = (now.astimezone(at.tzinfo).date() - at.date()).days
    if days <= 0:
        return "today"
    return "yesterday" if days == 1 else f"{days} days ago"


def _order(found: Plan) -> Iterator[Sentence]:
    first = ["critical steps"] if any(item.step.critical for item in found.items) else []
    first += ["those missed last"] if any(item.why is Why.MISSED for item in found.items) else []
    if first:
        come = f"{' and '.join(first)} come first, then the rest"
        yield _sentence(f"{come}, each part in the protocol's order")
    else:
        yield _sentence("the steps come in the protocol's order")
    yield _sentence("say each aloud from memory before you look; what you miss, take again at the end")
    yield _sentence(f"planned: {minutes(found.seconds)}, and {TRY_SECONDS:g} s for each step taken again")
    if found.left:
        be = "is" if found.left == 1 else "are"
        yield _sentence(f"{counted(found.left, 'more step')} {be} due and did not fit")


def _later(found: Plan, known: Mapping[str, Estimate]) -> Iterator[Sentence]:
    step, at = found.later[0]
    many = counted(len(found.later), "step")
    how = _how([known[each.id] for each, _ in found.later])
    yield _sentence(f"{many}, {how} recently: to wait makes the next recall worth more")
    yield _sentence(f"next due: {step.title}, {at:%Y-%m-%d}")


# The table


def _table(past: History, known: Mapping[str, Estimate], columns: _Columns) -> Block:
    scale = f"{'0 %':{columns.bar - 5}}100 %"
    is_paced = _is_paced(known)
    rows = [_PACE] if is_paced else []
    rows.append(_row("", scale, ("est.", "tests", "last seen", "pace" if is_paced else ""), columns))
    for section in past.protocol.sections:
        rows.append(fitted(one_line(section.title).upper(), _LEAST).rstrip())
        rows += [_step_row(step, known.get(step.id), columns) for step in section.steps]
    heading = f"EVERY STEP: {ESTIMATE} ESTIMATE, {RANGE} HOW UNCERTAIN IT IS, ! CRITICAL"
    return Block(heading=heading, sentences=tuple(Sentence(text=row) for row in rows), form=Form.ROWS)


def _is_paced(known: Mapping[str, Estimate]) -> bool:
    return any(each.seconds for each in known.values())


def _step_row(step: Step, estimate: Estimate | None, columns: _Columns) -> str:
    name = f"{'!' if step.critical else ' '} {one_line(step.title)}"
    if estimate is None:
        return f"{fitted(name, columns.name)} not yet tested"
    pace = f"{min(MOST_PACE, estimate.seconds / step.seconds):.1f} ×" if estimate.seconds else ""
    tests = f"{estimate.recalled}/{estimate.tested}"
    figures = (f"{100 * estimate.mean:.0f} %", tests, f"{estimate.last_seen:%Y-%m-%d}", pace)
    return _row(name, _bar(estimate, columns.bar), figures, columns)


def _row(name: str, bar: str, figures: tuple[str, str, str, str], columns: _Columns) -> str:
    mean, tests, seen, pace = figures
    drawn = f"{fitted(name, columns.name)} {bar:{columns.bar}}"
    return f"{drawn} {mean:>5} {tests:>{columns.tests}} {seen:10} {pace:>6}".rstrip()


def _bar(estimate: Estimate, cells: int) -> str:
    low, mean, high = (
        min(cells - 1, int(share * cells)) for share in (estimate.low, estimate.mean, estimate.high)
    )
    drawn = (RANGE if low <= cell <= high else EMPTY for cell in range(cells))
    return "".join(ESTIMATE if cell == mean else each for cell, each in enumerate(drawn))


# How to read it


_PACE = "pace: usual by planned time; 1.5 × is half as long again"


def _reading(protocol: Protocol, known: Collection[str]) -> Iterator[str]:
    if not known:
        yield _DUE_UNTESTED
    else:
        yield from _READING
    if any(step.only_if for step in protocol):
        yield "a conditional step not yet tested is not chosen"
    if known:
        yield "estimates say nothing of how an examination will be judged"


_DUE_UNTESTED = "due is a step that was never tested; critical ones are chosen rather than others"
_READING = (
    "est. is a cautious estimate of recalling the step, or doing it as planned: it starts at 50 %,"
    " and what was missed fades more slowly than what was recalled; the line"
    f" {RANGE} around it is long where few tests tell little",
    "so it is not how often you would recall the step: simulated learners who recalled half of the time, in"
    " 20 tests three days apart, got 24 % on average, and those who recalled 7 times in 10 got 61 %",
    "what is expected to be left is a share of what was recalled or done that last time; where little of it"
    " is left and nothing was missed, est. is near 50 %: nothing speaks for or against recall any more",
    "tests: 3/4 says that the step was recalled, or done as planned, in 3 of 4 tests",
    "what was recalled long ago counts less and less; what was missed counts less only once the step was"
    " recalled again; so waiting raises no estimate",
    "a step is missed, too, when it was recalled with a hint or at a wrong place; when it was left out; when"
    " it was done out of order, that is, before what it must follow, after a prompt, incorrectly or in part;"
    " and with a simulated patient when something that was there was not found, or something was recorded"
    " that was not",
    "a step was left out when that was recorded, or when the performance was finished and went on to later"
    " steps; what else was not touched, or was marked as recalled in less than a second, says nothing",
    "an examination counts half, and so does a simulated patient, because the screen names the step that"
    " comes next",
    "improving is a step that was recalled or done as planned for the first time, after misses, and of which"
    " half or more is expected to be left",
    "due is a step that was never tested, was missed last, or of which less than about two thirds is expected"
    " to be left; of the due ones those are chosen that may be recalled least, critical ones rather than"
    " others",
)
_FORMULAS = (
    "estimate: a/(a + b)",
    "what speaks for recall, a: 1 plus, for each recall, its weight times 2^(-d/h), d days ago",
    "what speaks against it, b: 1 plus, for each miss, its weight times 2^(-g/28), g days from it to the last"
    " recall after it",
    "weight of a test: 1, and 1/2 where the screen names the step that comes next",
    "half-life h, the days after which half of what was recalled is expected to be left: 2^(1 + r/2 - m/2),"
    " between 15 minutes and 274 days; r and m are the days on which the first test was a recall or a miss,"
    " by weight",
    "how uncertain an estimate is: by this model, the line holds the share of recall with a probability of"
    " 95 %, from the 2.5 % to the 97.5 % quantile of the Beta distribution of a and b, the values below which"
    " the share lies with those probabilities",
    f"due: 2^(-d/h), d days after the last recall, is below {100 * DUE_BELOW:g} %",
    "need, by which due steps are chosen: 1 minus the lower end of the line, twice that for a critical step",
)
_PACE_FORMULA = ("pace: the median time at the step where it was done as planned, by the time planned",)
_SOURCES = (
    "sources: the half-life after Settles and Meeder 2016, from memory; spacing after Latimier, Peyre and"
    " Ramus 2021, abstract read; the other numbers are our own choice"
)
