"""The debrief of a performance: what was done and what was not, and what to do differently next time.

Describes acts and judges no person. Gives no number that blends others, and nothing for a patient's record.
"""

from collections.abc import Iterable, Iterator, Sequence

from checklist.errors import ChecklistError
from checklist.practice.figures import Figures, figures
from checklist.practice.pace import FEWEST_SESSIONS, HASTY_SECONDS, HASTY_SHARE, Hygiene
from checklist.practice.score import EXCUSED, OPEN, Fate, Item, Standing, counts
from checklist.protocol.model import Entry, Step
from checklist.session.session import EXAMINATION, OBSERVATION, Session
from checklist.session.standing import late_and_corrected
from checklist.summary.debrief_advice import MOST, advice, by_late_step, strengths
from checklist.summary.debrief_picture import picture, times
from checklist.summary.document import Block, Form, Note, Sentence
from checklist.summary.grouping import numbers, place_words
from checklist.summary.particulars import banner, particulars
from checklist.summary.timeline import minutes
from checklist.summary.words import in_row, sentence, uncapitalised
from checklist.text import one_line

NOT_FOR_THE_RECORD = "DEBRIEF – for the one who examined and those who teach; no part of a patient's record"


class NoDebriefError(ChecklistError):
    """A session in which nothing was performed that could be debriefed."""


def debrief(session: Session, history: Sequence[Session] = ()) -> Note:
    """Return the debrief of an examination or an observation.

    `history` holds other sessions: those of the same protocol, mode and examiner's code that came earlier are
    compared. Raises NoDebriefError for any other mode.
    """
    mode = session.header.mode
    if mode not in {EXAMINATION, OBSERVATION}:
        what = f"this session's mode is '{one_line(mode)}'"
        raise NoDebriefError(f"{what}: only an examination or an observation is debriefed")
    return Note(
        title=f"{session.protocol.title}: debrief",
        banner=(*banner(session), NOT_FOR_THE_RECORD),
        blocks=tuple(_blocks(figures(session, history))),
    )


def _blocks(found: Figures) -> Iterator[Block]:
    yield Block(sentences=(*particulars(found.session), *_circumstances(found.session)))
    yield _items("DONE AS PLANNED", strengths(found))
    yield _items("CONDITIONS, EACH FOR ITSELF", _conditions(found))
    yield from _filled("CRITICAL STEPS MISSED", map(_critical, found.score.critical_missed))
    yield _items("WHAT TO DO DIFFERENTLY NEXT TIME", _practise(found))
    yield from _filled("FOR A MARKER TO RULE ON", _questions(found))
    yield _items("WHAT BECAME OF EACH STEP", _fates(found))
    yield from _filled("SIDES AND SITES LEFT OUT", _left_out(found))
    yield _items("ORDER", _order(found))
    yield picture(found)
    yield times(found)
    yield Block(sentences=tuple(_about_times(found)))
    yield from _filled("RECORDED FASTER THAN EXAMINED", _hasty(found))
    yield _items("HANDS", _hands(found.pace.hygiene))
    yield Block(heading="LIMITS", sentences=tuple(_limits(found.session)))


def _items(heading: str, sentences: Iterable[Sentence]) -> Block:
    return Block(heading=heading, sentences=tuple(sentences), form=Form.ITEMS)


def _filled(heading: str, sentences: Iterable[Sentence]) -> Iterator[Block]:
    if sentences := tuple(sentences):
        yield _items(heading, sentences)


def _circumstances(session: Session) -> Iterator[Sentence]:
    if session.header.mode == OBSERVATION:
        yield Sentence(text=sentence(f"marked by observer {session.header.observer or 'without a code'}"))
    if session.header.assessed:
        yield Sentence(text="Assessed: the screen gave no hints.")


# Conditions


def _conditions(found: Figures) -> Iterator[Sentence]:
    yield Sentence(text=sentence(_cut(found)))
    yield Sentence(text=sentence(_critical_steps(found)))
    yield Sentence(text=sentence(_time(found)))
    yield Sentence(text=sentence(f"all conditions must be met; together: {found.score.verdict}"))
    yield Sentence(text=sentence(_coverage(found)))


def _cut(found: Figures) -> str:
    score, cut = found.score, found.session.protocol.assess.cut
    if score.per_cent is None:
        return f"weighted score: none, because no step counts; cut {cut:g} %: {score.cut}"
    text = f"weighted score {_per_cent(score.per_cent, cut)}"
    if score.lowest is not None and score.highest is not None and score.lowest != score.highest:
        low, high = _per_cent(score.lowest, cut), _per_cent(score.highest, cut)
        text += f", by a marker's rulings from {low} to {high}"
    return f"{text}; cut {cut:g} %: {score.cut}"


def _per_cent(value: float, cut: float) -> str:
    """Round to one digit, or to as many as keep a figure below the cut from looking as if it reached it."""
    decimals = next(
        (each for each in range(1, 7) if (round(value, each) >= cut) == (round(value, 6) >= cut)), 6
    )
    return f"{round(value, decimals):.{decimals}f}".rstrip("0").rstrip(".") + " %"


def _critical_steps(found: Figures) -> str:
    critical = [item for item in found.score.items if item.step.critical and item.fate not in EXCUSED]
    if not critical:
        return f"critical steps: none in the count: {found.score.critical}"
    missed, asked = len(found.score.critical_missed), len(found.score.critical_open)
    open_too = f", {asked} to be ruled on" if asked else ""
    return f"critical steps missed: {missed} of {len(critical)}{open_too}: {found.score.critical}"


def _time(found: Figures) -> str:
    spent = f"time {minutes(found.pace.total)} of {minutes(found.pace.target)}"
    if found.score.time is Standing.NOT_ASKED:
        return f"{spent}; the limit is soft: no condition"
    return f"{spent}; the limit is hard: {found.score.time}"


def _coverage(found: Figures) -> str:
    score = found.score
    if score.coverage is None:
        return "coverage, no condition: no step counts"
    counted = [item for item in score.items if item.counts]
    done = sum(bool(item.share.now) or item.fate in (Fate.PROMPTED, Fate.INCORRECT) for item in counted)
    part = len(score.of(Fate.PARTIAL))
    in_part = f", {part} of them in part" if part else ""
    return (
        f"coverage, no condition: {done} of the {len(counted)} steps that count done{in_part};"
        f" by sides and sites {_per_cent(score.coverage, 100)}"
    )


def _critical(item: Item) -> Sentence:
    return Sentence(
        text=sentence(f"{item.step.title} ({item.fate}): {item.step.critical}"), rests_on=item.rests_on
    )


# What to practise, what to rule on


def _practise(found: Figures) -> Iterator[Sentence]:
    all_of_it = advice(found)
    for each in all_of_it[:MOST]:
        yield each.sentence
    if not all_of_it:
        yield Sentence(text="Nothing that the record shows; repeat it, and have it observed.")
    if len(all_of_it) > MOST:
        yield Sentence(text=sentence(f"after these, {len(all_of_it) - MOST} more; all of it stands below"))


def _questions(found: Figures) -> Iterator[Sentence]:
    for item in found.score.to_rule:
        yield Sentence(text=f"{item.step.title}: {_question(item)}", rests_on=item.rests_on)
    changed: dict[str, list[int]] = {}
    for step, _, record in late_and_corrected(found.session):
        if record.replaced:
            changed.setdefault(step.title, []).append(record.event)
    for title, events in changed.items():
        text = f"{title}: changed after the end; counted as it stood before. Which of the two stands?"
        yield Sentence(text=text, rests_on=numbers(events))


def _question(item: Item) -> str:
    detail = f" ({one_line(item.detail)})" if item.detail else ""
    match item.fate:
        case Fate.PARTIAL:
            left = in_row(dict.fromkeys(str(fate) for _, fate in item.left_out))
            return f"done in part, the rest {left}{detail}. Does it count as done?"
        case Fate.INCORRECT:
            return f"done incorrectly{detail}, and it is critical. Was it safe?"
        case Fate.UNSEEN:
            return f"could not be seen{detail}. Was it done?"
        case Fate.UNMARKED:
            return "not marked. Was it done?"
        case Fate.LATE:
            return "recorded only after the end. Was it done before?"
        case fate if fate in OPEN:
            return f"{fate}{detail}. Is that a reason to leave it out of the count?"
        case fate:
            return f"{fate}{detail}. Does it count as missed?"


# What became of each step


def _fates(found: Figures) -> Iterator[Sentence]:
    numbers_of = counts(found.score)
    for fate, number in numbers_of.items():
        own = found.score.of(fate)
        names = "" if fate is Fate.DONE else f": {in_row(map(_named, own))}"
        yield Sentence(
            text=sentence(f"{fate}{_counting(fate)}, {number}{names}"),
            rests_on=numbers(event for item in own for event in item.rests_on),
        )
    counted = sum(item.counts for item in found.score.items)
    total = sum(numbers_of.values())
    yield Sentence(text=f"Together {total}: {counted} count, {total - counted} do not.")


def _counting(fate: Fate) -> str:
    if fate in OPEN:
        return " (out of the count until ruled on)"
    return " (out of the count)" if fate in EXCUSED else ""


def _named(item: Item) -> str:
    words = f" ({one_line(item.detail)})" if item.detail else ""
    return f"{uncapitalised(item.step.title)}{words}"


def _left_out(found: Figures) -> Iterator[Sentence]:
    for item in found.score.of(Fate.PARTIAL):
        by_fate: dict[Fate, list[Entry]] = {}
        for entry in item.step.entries:
            if fate := dict(item.left_out).get(entry.key):
                by_fate.setdefault(fate, []).append(entry)
        places = "; ".join(f"{place_words(item.step, left)} {fate}" for fate, left in by_fate.items())
        yield Sentence(text=sentence(f"{item.step.title}: {places}"), rests_on=item.rests_on)


# Order


def _order(found: Figures) -> Iterator[Sentence]:
    order = found.order
    for (late, why), breaches in by_late_step(order.breaches).items():
        early = in_row(
            f"{uncapitalised(each.early.step.title)} ({minutes(each.early.clock)})" for each in breaches
        )
        text = f"{late.title} ({minutes(breaches[0].late.clock)}) came after: {early}. Rule: {why}"
        rests_on = numbers(each for one in breaches for each in (one.early.event, one.late.event))
        yield Sentence(text=sentence(text), rests_on=rests_on)
    if not order.breaches:
        yield Sentence(text="No rule of order was broken between steps that were done.")
    yield Sentence(text=sentence(_moved(order.moved, len(order.performed))))
    if order.tau is not None:
        text = f"pairs of steps in the wrong order: {order.inversions} of {order.pairs}; "
        best = f"{order.tau_as_planned:.2f}"
        text += f"rank correlation {order.tau:.2f} (tau-b: {best} is as planned, 0 without order,"
        text += f" -{best} reversed{'; steps in free order tie' if order.tau_as_planned < 1 else ''})"
        yield Sentence(text=sentence(text))


def _moved(moved: Sequence[Step], done: int) -> str:
    if not moved:
        return f"of {done} steps done, none was moved"
    names = in_row(uncapitalised(step.title) for step in moved)
    return f"of {done} steps done, {len(moved)} moved (the fewest that explain the order): {names}"


# Time


def _about_times(found: Figures) -> Iterator[Sentence]:
    pace = found.pace
    code = found.session.header.examiner
    yield Sentence(
        text=f"Usual: the median of earlier finished sessions of this protocol by {code}, {pace.sessions}"
        " of them here; n: in how many the step was done."
    )
    yield Sentence(
        text=f"Slow: above the upper quartile by more than 1.5 interquartile ranges, said from"
        f" {FEWEST_SESSIONS} earlier times on."
    )


def _hasty(found: Figures) -> Iterator[Sentence]:
    for each in found.pace.hasty:
        text = f"{each.step.title}: recorded after {each.seconds:.1f} s at the step, planned"
        yield Sentence(text=f"{text} {each.step.seconds} s.", rests_on=(each.event,))
    if found.pace.hasty:
        yield Sentence(
            text=f"Rule: under {HASTY_SHARE * 100:g} % of the planned time at the step, and under"
            f" {HASTY_SECONDS:g} s after the event before. Our own rule, no source; steps examined first and"
            " recorded in a row look the same."
        )


def _hands(hygiene: Hygiene) -> Iterator[Sentence]:
    for each in hygiene.done:
        yield Sentence(text=sentence(f"{each.step.title}, {minutes(each.clock)}"), rests_on=(each.event,))
    for step in hygiene.missed:
        yield Sentence(text=sentence(f"{step.title}: not recorded as done"))
    yield from _touches(hygiene)
    if hygiene.gloves_kept:
        each = hygiene.gloves_kept
        yield Sentence(
            text=sentence(f"{each.step.title}, {minutes(each.clock)}: no step after it takes the gloves off"),
            rests_on=(each.event,),
        )
    if hygiene.cued:
        names = in_row(f"{uncapitalised(each.step.title)} ({each.step.hands})" for each in hygiene.cued)
        yield Sentence(
            text=sentence(f"cues given with a step, not recorded apart: {names}"),
            rests_on=numbers(each.event for each in hygiene.cued),
        )


def _touches(hygiene: Hygiene) -> Iterator[Sentence]:
    """Say whether hands were cleaned around the touches; no touch, nothing to say."""
    first, last = hygiene.first_touch, hygiene.last_touch
    if not first or not last:
        yield Sentence(text="No step was done that as a rule touches the patient.")
        return
    if not hygiene.before_first_touch:
        text = f"no cleaning of hands recorded before the first touch: {uncapitalised(first.step.title)}"
        yield Sentence(text=sentence(f"{text}, {minutes(first.clock)}"), rests_on=(first.event,))
    if not hygiene.after_last_touch:
        text = f"no cleaning of hands recorded after the last touch: {uncapitalised(last.step.title)}"
        yield Sentence(text=sentence(f"{text}, {minutes(last.clock)}"), rests_on=(last.event,))


# Limits

_LIMITS = (
    "A marker's ruling outranks the count.",
    "Knowing the steps is not hands-on skill: the record shows what was recorded, not how well hands did it.",
    "Declined, unable and missing equipment leave the count; not done and out of time count with nothing.",
)
_OF_MODE = {
    EXAMINATION: "Recorded by the one who examined; order and times are those of recording.",
    OBSERVATION: "Marks are those of one observer; order and times are those of marking.",
}
_ABOUT = "A learning aid: local policy, scope of practice and the licensed clinician decide."


def _limits(session: Session) -> Iterator[Sentence]:
    for text in (*_LIMITS, _OF_MODE[session.header.mode], _ABOUT):
        yield Sentence(text=text)
    protocol = session.protocol
    source = (
        f"steps, weights, cut and limit: protocol version {protocol.version}, reviewed {protocol.reviewed}"
    )
    yield Sentence(text=sentence(source))
