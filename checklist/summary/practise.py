"""The document that says what to practise next, and why. Praises nothing, and predicts no result.

In ten minutes or less it says three things at most, and nothing else.
"""

from collections.abc import Iterator, Mapping
from datetime import datetime

from checklist.practice.history import History
from checklist.practice.plan import DUE_BELOW, SHORT_MINUTES, TRY_SECONDS, Item, Plan, Why, plan
from checklist.practice.recall import Estimate, estimates
from checklist.practice.run import HINT_MARK, PLACE_MARK
from checklist.protocol.model import Step
from checklist.summary.document import Block, Form, Note, Sentence
from checklist.summary.timeline import fitted, minutes
from checklist.summary.words import sentence
from checklist.text import one_line

NOT_FOR_THE_RECORD = "PRACTICE – for the one who practises; no part of a patient's record"
NAME_CELLS, BAR_CELLS = 26, 20
MOST_PACE = 99.9
"""What is slower is shown as this: no step takes so long."""
_MISSED = {HINT_MARK: "with a hint", PLACE_MARK: "recalled out of place"}
"""How a step was missed, where more is known of it."""
EMPTY, RANGE, ESTIMATE = "·", "─", "█"


def practise(past: History, minutes_today: float, now: datetime) -> Note:
    """Return what to practise in the minutes that there are today."""
    known = _known(past, now)
    found = plan(past.protocol, known, minutes_today)
    return Note(
        title=f"{past.protocol.title}: what to practise next",
        banner=(NOT_FOR_THE_RECORD,),
        blocks=tuple(_blocks(past, known, found, now)),
    )


def _known(past: History, now: datetime) -> Mapping[str, Estimate]:
    """Return the estimates of the steps that the protocol still has."""
    found = estimates(past.runs, now)
    return {step.id: found[step.id] for step in past.protocol if step.id in found}


def _blocks(past: History, known: Mapping[str, Estimate], found: Plan, now: datetime) -> Iterator[Block]:
    is_short = found.minutes <= SHORT_MINUTES
    if not is_short or not past.runs:
        yield Block(sentences=tuple(circumstances(past, len(known))))
    yield _today(found, now)
    if is_short:
        return
    if found.items:
        yield Block(heading="IN WHICH ORDER", sentences=tuple(_order(found)))
    if found.later:
        yield Block(heading="NOT DUE TODAY", sentences=tuple(_later(found)))
    if known:
        yield _table(past, known)
    yield Block(heading="HOW THIS IS COMPUTED", sentences=tuple(map(_sentence, _FORMULAS)), form=Form.ITEMS)


def circumstances(past: History, tested: int | None = None) -> Iterator[Sentence]:
    """Say whose runs these are, how many and of when, and what was left aside."""
    if not past.runs:
        whose = f" of examiner {past.examiner}" if past.examiner else ""
        yield _sentence(f"there is no history{whose} yet: nothing is known of any step")
    else:
        first, last = past.runs[0].created, past.runs[-1].created
        span = f"{first:%Y-%m-%d}" if first.date() == last.date() else f"{first:%Y-%m-%d} to {last:%Y-%m-%d}"
        yield _sentence(f"examiner {past.examiner}; {counted(len(past.runs), 'session')}, {span}")
        if tested is not None:
            steps = len(past.protocol.steps)
            yield _sentence(f"of {counted(steps, 'step')}, {tested} tested, {steps - tested} not yet tested")
    if past.others:
        others = ", ".join(past.others[:5]) + (", …" if len(past.others) > 5 else "")
        yield _sentence(f"sessions of other examiners' codes were left aside: {others}")
    if past.unreadable:
        yield _sentence(f"{counted(past.unreadable, 'file')} could not be read")


def counted(number: int, thing: str) -> str:
    """Return a number with its noun: `1 step`, `2 steps`."""
    return f"{number} {thing}{'' if number == 1 else 's'}"


def _sentence(text: str) -> Sentence:
    return Sentence(text=sentence(text))


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
    share = f"recalled {estimate.recalled} of {estimate.tested}"
    if item.why is Why.MISSED:
        how = _MISSED.get(estimate.last_mark, "not recalled")
        return f"{critical}{how} last time, {_ago(estimate.last_seen, now)}; {share}"
    left = f"about {100 * estimate.retained:.0f} % is expected to be left"
    improving = "improving; " if estimate.recalled == 1 else ""
    return f"{critical}{improving}last recalled {_ago(estimate.last_seen, now)}, {left}; {share}"


def _ago(at: datetime, now: datetime) -> str:
    days = (now.astimezone(at.tzinfo).date() - at.date()).days
    if days <= 0:
        return "today"
    return "yesterday" if days == 1 else f"{days} days ago"


def _order(found: Plan) -> Iterator[Sentence]:
    yield _sentence("in the protocol's order, chosen by need: say each aloud from memory before you look")
    yield _sentence("what you miss, take again at the end")
    yield _sentence(f"planned: {minutes(found.seconds)}, and {TRY_SECONDS:g} s for each step taken again")
    if found.left:
        be = "is" if found.left == 1 else "are"
        yield _sentence(f"{counted(found.left, 'more step')} {be} due and did not fit")


def _later(found: Plan) -> Iterator[Sentence]:
    step, at = found.later[0]
    many = counted(len(found.later), "step")
    yield _sentence(f"{many}, recalled recently: to wait makes the next recall worth more")
    yield _sentence(f"next due: {step.title}, {at:%Y-%m-%d}")


def _table(past: History, known: Mapping[str, Estimate]) -> Block:
    rows = [_row("", "interval", ("est.", "tests", "last seen", "pace"))]
    for section in past.protocol.sections:
        rows.append(one_line(section.title).upper())
        rows += [_step_row(step, known.get(step.id)) for step in section.steps]
    heading = f"EVERY STEP: {RANGE} 95 % INTERVAL FROM 0 TO 100 %, {ESTIMATE} ESTIMATE, ! CRITICAL"
    return Block(heading=heading, sentences=tuple(Sentence(text=row) for row in rows), form=Form.ROWS)


def _step_row(step: Step, estimate: Estimate | None) -> str:
    name = f"{'!' if step.critical else ' '} {one_line(step.title)}"
    if estimate is None:
        return f"{fitted(name, NAME_CELLS)} not yet tested"
    pace = f"{min(MOST_PACE, estimate.seconds / step.seconds):.1f} ×" if estimate.seconds else ""
    tests = f"{estimate.recalled}/{estimate.tested}"
    figures = (f"{100 * estimate.mean:.0f} %", tests, f"{estimate.last_seen:%Y-%m-%d}", pace)
    return _row(name, _bar(estimate), figures)


def _row(name: str, bar: str, figures: tuple[str, str, str, str]) -> str:
    mean, tests, seen, pace = figures
    return f"{fitted(name, NAME_CELLS)} {bar:{BAR_CELLS}} {mean:>5} {tests:>7} {seen:10} {pace:>6}".rstrip()


def _bar(estimate: Estimate) -> str:
    low, mean, high = (_cell(share) for share in (estimate.low, estimate.mean, estimate.high))
    cells = (RANGE if low <= cell <= high else EMPTY for cell in range(BAR_CELLS))
    return "".join(ESTIMATE if cell == mean else drawn for cell, drawn in enumerate(cells))


def _cell(share: float) -> int:
    return min(BAR_CELLS - 1, int(share * BAR_CELLS))


_FORMULAS = (
    "estimate: a/(a + b), with the interval between the 2.5 % and 97.5 % quantiles of Beta(a, b)",
    "in it, a is 1 plus, for each recall, 2^(-d/h), d days ago",
    "in it, b is 1 plus, for each miss, 2^(-g/28), g days from it to the last recall after it",
    "the half-life h, in days, is 2^(1 + r/2 - m/2), between 15 minutes and 274 days; r and m are the days on"
    " which the first test was a recall or a miss",
    "an examination counts half, because the screen names the step that comes next",
    "a hint, a wrong place, a prompt, and a step done incorrectly or in part are no recall; what was not"
    " touched, or marked as recalled in less than a second, says nothing",
    f"due is what was missed last, was never tested, or of which 2^(-d/h) is below {100 * DUE_BELOW:g} %",
    "due steps are chosen by need, 1 minus the lower bound of the interval, twice that for a critical"
    " step, in the protocol's order; a conditional step not yet tested is left out",
    "pace: the median time at the step where it was done as planned, beside the time planned",
    "sources: the half-life after Settles and Meeder 2016, from memory; spacing after Latimier, Peyre and"
    " Ramus 2021, abstract read; the other numbers are our own choice",
    "estimates say nothing of how an examination will be judged",
)
