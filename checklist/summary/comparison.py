"""Two records of one performance side by side: how far they agree, where they differ, what was left out.

Figures and words of both records; no verdict on either, and never a patient's note.
Its sentences rest on two sessions, and so carry no event numbers.
"""

from collections.abc import Iterable, Iterator
from statistics import median

from checklist.practice.agreement import FEWEST, Agreement, Figure, agreement, band
from checklist.practice.pairing import (
    CATEGORIES,
    DONE,
    IN_PART,
    INCORRECT,
    NOT_DONE,
    NOTHING,
    PROMPTED,
    SCALE,
    Comparison,
    Item,
    Kind,
    StepTime,
)
from checklist.protocol.model import OTHER, Step
from checklist.session.events import Outcome, Result
from checklist.session.readings import in_short
from checklist.session.session import OBSERVATION, Session
from checklist.session.standing import open_entries
from checklist.session.state import Record, Stage
from checklist.summary.document import Block, Form, Note, Sentence
from checklist.summary.particulars import FICTIONAL, SIMULATED, day_of, examination_seconds
from checklist.summary.words import joined, sentence, uncapitalised

LETTERS = ("A", "B")
"""The first and the second record, as they were named."""
LARGEST = 3
"""How many differences of time are listed."""
UNITS = {Kind.MARKS: "step", Kind.SELF: "step", Kind.OUTCOMES: "entry"}
MANY = {"step": "steps", "entry": "entries"}
APART = "DIFFERENT TIMES – the two records do not overlap in time: they may not be of one performance"


def comparison(compared: Comparison) -> Note:
    """Return the two records side by side."""
    return Note(
        title=f"{compared.protocol.title}: two records compared",
        banner=tuple(_banner(compared)),
        blocks=tuple(block for block in _blocks(compared) if block.sentences),
    )


def _banner(compared: Comparison) -> Iterator[str]:
    if any(session.header.is_simulated for session in compared.sessions):
        yield SIMULATED
    if any(session.header.fictional for session in compared.sessions):
        yield FICTIONAL
    if compared.is_apart:
        yield APART
    for letter, session in zip(LETTERS, compared.sessions, strict=True):
        if session.state.stage is not Stage.FINISHED:
            yield f"UNFINISHED – record {letter}, {session.state.stage}: this is what was recorded so far"


def _blocks(compared: Comparison) -> Iterator[Block]:
    yield _block("", _who(compared), Form.PARAGRAPH)
    yield _block("AGREEMENT", _figures(compared))
    yield _block("TIME", _times(compared))
    yield from _differences(compared)
    if compared.kind is Kind.OUTCOMES:
        alike = [item for item in compared.items if not item.differs and _is_unlike(compared, item)]
        yield _block("SAME OUTCOME, OTHERWISE RECORDED", (_side_by_side(compared, item) for item in alike))
    yield _block("LEFT OUT", _left_out(compared))
    yield _block("HOW TO READ THE FIGURES", _explained(compared), Form.PARAGRAPH)


def _block(heading: str, texts: Iterable[str], form: Form = Form.ITEMS) -> Block:
    return Block(heading=heading, sentences=tuple(Sentence(text=sentence(text)) for text in texts), form=form)


# who


def _who(compared: Comparison) -> Iterator[str]:
    protocol = compared.protocol
    yield f"Protocol {protocol.id}, version {protocol.version}"
    for letter, session in zip(LETTERS, compared.sessions, strict=True):
        yield f"{letter}: {_record(session)}"
    yield from _cautions(compared)


def _record(session: Session) -> str:
    header = session.header
    by = f"recorded by examiner {header.examiner}"
    if header.mode == OBSERVATION:
        observer = f"observer {header.observer}" if header.observer else "an observer without a code"
        by = f"{observer} on examiner {header.examiner}"
    return f"{by}, participant {header.participant}, {day_of(session)}, session {header.id}"


def _cautions(compared: Comparison) -> Iterator[str]:
    """Say what speaks against two records of one performance."""
    first, second = (session.header for session in compared.sessions)
    if first.participant != second.participant:
        yield "The participants differ: is this one performance?"
    if compared.kind is not Kind.OUTCOMES and first.examiner != second.examiner:
        yield "The examiners differ: is this one performance?"
    if compared.sessions[0].protocol != compared.sessions[1].protocol:
        yield "The wording of the protocol differs between the two, though its version does not"


# figures


def _figures(compared: Comparison) -> Iterator[str]:
    kind = compared.kind
    found = agreement(compared.pairs, CATEGORIES[kind], ordered=kind is Kind.MARKS)
    yield _share(found, UNITS[kind], "The same, attempted or not" if kind is Kind.SELF else "The same")
    yield f"Kappa: {_coefficient(found.kappa, found)}"
    if found.linear and found.quadratic:
        yield f"Kappa, linear weights: {_coefficient(found.linear, found)}"
        yield f"Kappa, quadratic weights: {_coefficient(found.quadratic, found)}"
    yield f"AC1: {_coefficient(found.ac1, found)}"


def _share(found: Agreement, unit: str, label: str) -> str:
    if found.share.value is None or found.share.interval is None:
        return f"{label}: undefined (n 0): no {unit} was rated in both"
    low, high = (round(100 * limit) for limit in found.share.interval)
    units = unit if found.n == 1 else MANY[unit]
    of = f"{found.same} of {found.n} {units}, {100 * found.share.value:.0f} %"
    return f"{label}: {of} (95 % interval {low} to {high} %, n {found.n})"


def _coefficient(figure: Figure, found: Agreement) -> str:
    """Return a figure in one line; an interval and a word only where there are enough items for both."""
    if figure.value is None:
        why = "both used one category alone" if found.n else "nothing was rated in both"
        few = f", and too few: from {FEWEST} on" if found.is_too_few else ""
        return f"undefined (n {found.n}{few}): {why}"
    value = _places(figure.value)
    if found.is_too_few:
        return f"{value} (n {found.n}): too few for an interval or a word, which take {FEWEST}"
    if figure.interval is None:
        why = "it cannot be computed when all items agree, or none"
        return f"{value} (n {found.n}): no interval: {why}"
    low, high = map(_places, figure.interval)
    return f"{value} (95 % interval {low} to {high}, n {found.n}): {band(figure.value)}"


def _places(value: float) -> str:
    return f"{value:.2f}".replace("-0.00", "0.00")


# time


def _times(compared: Comparison) -> Iterator[str]:
    whole = [_minutes(examination_seconds(session)) for session in compared.sessions]
    yield f"Whole: A {whole[0]}, B {whole[1]}"
    times = compared.times
    if not times:
        yield "No step is recorded and timed in both"
        return
    steps = "step is" if len(times) == 1 else "steps are"
    middle = f"median of A minus B {_signed(median(time.difference for time in times))} s"
    differing = sorted(
        (time for time in times if round(time.difference)), key=lambda time: -abs(time.difference)
    )
    count = f"{len(times)} {steps} recorded and timed in both"
    yield f"{count}: {middle}; {_how_many_differ(len(differing))}"
    yield from map(_time, differing[:LARGEST])


def _how_many_differ(count: int) -> str:
    if count > LARGEST:
        return f"{count} differ, of which these are the largest three"
    return f"{count or 'none'} {'differ' if count > 1 else 'differs'}"


def _time(time: StepTime) -> str:
    first, second = map(_minutes, time.seconds)
    return f"{time.step.title}: A {first}, B {second} ({_signed(time.difference)} s)"


def _signed(seconds: float) -> str:
    """Return whole seconds with their sign; halves go to the even neighbour, so that the sign turns."""
    return f"{round(seconds):+}" if round(seconds) else "0"


def _minutes(seconds: float) -> str:
    whole = round(seconds)
    return f"{whole // 60}:{whole % 60:02}"


# items


def _differences(compared: Comparison) -> Iterator[Block]:
    if compared.kind is not Kind.SELF:
        yield _block("DIFFERENT", _listed(compared, [item for item in compared.items if item.differs]))
        return
    own = 1 if compared.sessions[0].header.mode == OBSERVATION else 0
    for heading, owns, marks in _SELF_BLOCKS:
        items = [item for item in compared.items if item.said[own] in owns and item.said[1 - own] in marks]
        yield _block(heading, _listed(compared, items))


_UNDONE = (NOT_DONE, NOTHING)
_SELF_BLOCKS = (
    ("OWN RECORD SAYS DONE, THE OBSERVER: AFTER A PROMPT", (DONE,), (PROMPTED,)),
    ("OWN RECORD SAYS DONE, THE OBSERVER: INCORRECTLY", (DONE,), (INCORRECT,)),
    ("OWN RECORD SAYS DONE, THE OBSERVER: NOT DONE", (DONE,), (NOT_DONE,)),
    ("OWN RECORD SAYS DONE IN PART", (IN_PART,), SCALE),
    ("THE OBSERVER SAYS DONE, OWN RECORD NOT", _UNDONE, (DONE,)),
    ("THE OBSERVER SAYS AFTER A PROMPT OR INCORRECTLY, OWN RECORD NOT", _UNDONE, (PROMPTED, INCORRECT)),
)
"""Headings, each with what the own record and what the observer says of the steps under it."""


def _listed(compared: Comparison, items: list[Item]) -> Iterator[str]:
    yield from (_side_by_side(compared, item) for item in items)
    if not items and compared.items:
        yield "None"


def _side_by_side(compared: Comparison, item: Item) -> str:
    first, second = (
        _words(session, item, said) for session, said in zip(compared.sessions, item.said, strict=True)
    )
    return f"{_name(item)} – A: {first}; B: {second}"


def _name(item: Item) -> str:
    label = next((entry.label for entry in item.step.entries if entry.key == item.entry), "")
    return f"{item.step.title} ({label})" if label else item.step.title


def _words(session: Session, item: Item, said: str) -> str:
    """Return what a record says of an item, with what was written beside it."""
    if session.header.mode == OBSERVATION:
        marked = session.state.marks.get(item.step.id)
        return f"{said}: {marked.detail}" if marked and marked.detail else said
    records = session.state.records.get(item.step.id, {})
    if item.entry:
        record = records.get(item.entry)
        return f"{_result_words(item.step, record, said)}{_late([record])}" if record else said
    if said == IN_PART:
        return f"{said}, without {_missing(session, item.step)}{_late(records.values())}"
    reasons = dict.fromkeys(record.result.reason for record in records.values() if record.result.reason)
    why = f": {', '.join(reasons)}" if said == NOT_DONE and reasons else ""
    return f"{said}{why}{_late(records.values())}"


def _missing(session: Session, step: Step) -> str:
    still_open = {entry.key for entry in open_entries(session, step)}
    records = session.state.records[step.id]
    return joined(
        [
            entry.label
            for entry in step.entries
            if entry.key in still_open or records[entry.key].result.outcome is Outcome.NOT_EXAMINED
        ]
    )


def _late(records: Iterable[Record]) -> str:
    return " (written after the end)" if any(record.amendment for record in records) else ""


def _result_words(step: Step, record: Record, said: str) -> str:
    result = record.result
    findings = (uncapitalised(step.finding_of[finding].label) for finding in result.findings)
    parts = [*findings, in_short(step, result), result.detail, result.reason]
    words = ", ".join(filter(None, parts))
    return f"{said}: {words}" if words else said


def _is_unlike(compared: Comparison, item: Item) -> bool:
    first, second = (
        _compared(session.state.records[item.step.id][item.entry].result) for session in compared.sessions
    )
    return first != second


def _compared(result: Result) -> tuple[frozenset[str], str, str]:
    """Return what of a result can be compared: of own words only that they stand alone."""
    findings = result.findings or ((OTHER,) if result.outcome is Outcome.DIFFERS else ())
    return frozenset(findings), result.reading, result.reason


def _left_out(compared: Comparison) -> Iterator[str]:
    """Name what was not rated in both, by what each record says of it."""
    groups: dict[tuple[str, str], list[str]] = {}
    for item in compared.left_out:
        groups.setdefault(item.said, []).append(_name(item))
    for (first, second), names in groups.items():
        said = f"{first} in both" if first == second else f"A {first}, B {second}"
        yield f"{said} ({len(names)}): {'; '.join(names)}"


# explanation


_WHAT = {
    Kind.MARKS: "A step counts as the same when both gave it the same mark;"
    " steps without a mark, not applicable or not seen are left out",
    Kind.SELF: "A step counts as the same when both have it attempted, or neither has. Attempted means, in"
    " the own record, that a side or site was examined, whatever was found, and in the observer's, that it"
    " was marked done, done after a prompt or done incorrectly; a step not done or without an entry in the"
    " own record counts as not attempted. How it was done does not enter the figures: it is listed under its"
    " own headings. Steps without a mark, not applicable, not seen or not indicated are left out",
    Kind.OUTCOMES: "An entry, one side and site of a step, counts as the same when its outcome is the same,"
    " whatever the words",
}


def _explained(compared: Comparison) -> Iterator[str]:
    yield _WHAT[compared.kind]
    yield (
        "Kappa sets agreement against what chance would give, from how often each category was used:"
        " where nearly everything falls into one, it is low or undefined though the records agree, and AC1 is"
        " steadier"
    )
    if compared.kind is Kind.MARKS:
        yield (
            "Weights count a difference by its distance on the scale not done, done incorrectly, done after a"
            " prompt, done; quadratic ones by its square"
        )
    yield (
        "Intervals are after Wilson (1927) for the share, Fleiss, Cohen and Everitt (1969) for kappa and Gwet"
        " (2008) for AC1; they take items as independent, which those of one performance are not quite"
    )
    yield "The words from poor to almost perfect are conventions of Landis and Koch (1977), and no verdict"
