"""The document that says what to practise next, and why. Praises nothing, and predicts no result.

In ten minutes or less it says three things at most, and nothing else. What is read first needs no statistics;
the formulas stand last.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime

from checklist.practice.history import History
from checklist.practice.plan import DUE_BELOW, SHORT_MINUTES, TRY_SECONDS, Item, Plan, Why, plan
from checklist.practice.recall import Estimate, estimates
from checklist.practice.run import HINT_MARK, PLACE_MARK, WRONG_MARK
from checklist.protocol.model import Step
from checklist.summary.document import Block, Form, Note, Sentence
from checklist.summary.timeline import fitted, minutes
from checklist.summary.words import sentence
from checklist.text import one_line

NOT_FOR_THE_RECORD = "PRACTICE – for the one who practises; no part of a patient's record"
NAME_CELLS, BAR_CELLS = 26, 20
MOST_PACE = 99.9
"""What is slower is shown as this: no step takes so long."""
_MISSED = {
    HINT_MARK: "with a hint",
    PLACE_MARK: "recalled out of place",
    WRONG_MARK: "done at a simulated patient and recorded wrongly",
}
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
    yield _items("HOW TO READ THIS", _READING)
    yield _items("FORMULAS", _FORMULAS)


def circumstances(past: History, tested: int | None = None) -> Iterator[Sentence]:
    """Say whose runs these are, how many and of when, and what was left aside."""
    if not past.runs:
        whose = f" of examiner {past.examiner}" if past.examiner else ""
        yield _sentence(f"there is no history{whose} yet: nothing is known of any step")
    else:
        first, last = past.runs[0].created, past.runs[-1].created
        span = f"{first:%Y-%m-%d}" if first.date() == last.date() else f"{first:%Y-%m-%d} to {last:%Y-%m-%d}"
        whose = f"examiner {past.examiner}" if past.examiner else "no examiner code"
        yield _sentence(f"{whose}; {counted(len(past.runs), 'session')}, {span}")
        if tested is not None:
            steps = len(past.protocol.steps)
            yield _sentence(f"of {counted(steps, 'step')}, {tested} tested, {steps - tested} not yet tested")
    if past.others:
        named = [code or "no code" for code in past.others[:5]]
        others = ", ".join(named) + (", …" if len(past.others) > 5 else "")
        yield _sentence(f"sessions of other examiners' codes were left aside: {others}")
    if past.unreadable:
        yield _sentence(f"{counted(past.unreadable, 'file')} could not be read")


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
    yield _sentence(
        "critical steps and those missed last come first, then the rest, each part in the protocol's order"
    )
    yield _sentence("say each aloud from memory before you look; what you miss, take again at the end")
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
    scale = f"{'0 %':{BAR_CELLS - 5}}100 %"
    rows = [_row("", scale, ("est.", "tests", "last seen", "pace"))]
    for section in past.protocol.sections:
        rows.append(one_line(section.title).upper())
        rows += [_step_row(step, known.get(step.id)) for step in section.steps]
    heading = f"EVERY STEP: {ESTIMATE} ESTIMATE, {RANGE} HOW UNCERTAIN IT IS, ! CRITICAL"
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


_READING = (
    "est. is the estimate: how often you would recall or do the step as planned, as far as past sessions"
    f" tell; the line {RANGE} around it is long where few tests tell little",
    "tests: 3/4 says that the step was recalled, or done as planned, in 3 of 4 tests",
    "pace: the usual time at the step, beside the time planned; 1.5 × is half as long again",
    "what was recalled long ago counts less and less; what was missed counts less only once the step was"
    " recalled again; so waiting raises no estimate",
    "a step is missed, too, when it was recalled with a hint or at a wrong place, or was done after a prompt,"
    " incorrectly or in part, and with a simulated patient when something that was there was not found, or"
    " something was recorded that was not",
    "what was not touched, or marked as recalled in less than a second, says nothing",
    "an examination counts half, and so does a simulated patient, because the screen names the step that"
    " comes next",
    "due is a step that was never tested, was missed last, or of which less than about two thirds is expected"
    " to be left; of the due ones those are chosen that may be recalled least, critical ones rather than"
    " others; a conditional step not yet tested is left out",
    "estimates say nothing of how an examination will be judged",
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
    "how uncertain an estimate is: the line holds the share of recall with a probability of 95 %, from the"
    " 2.5 % to the 97.5 % quantile of the Beta distribution of a and b, the values below which the share lies"
    " with those probabilities",
    f"due: 2^(-d/h), d days after the last recall, is below {100 * DUE_BELOW:g} %",
    "need, by which due steps are chosen: 1 minus the lower end of the line, twice that for a critical step",
    "pace: the median time at the step where it was done as planned, divided by the time planned",
    "sources: the half-life after Settles and Meeder 2016, from memory; spacing after Latimier, Peyre and"
    " Ramus 2021, abstract read; the other numbers are our own choice",
)
