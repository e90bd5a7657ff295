"""The debrief of a performance: what was done and what was not, and what to do differently next time.

Describes acts and judges no person. Gives no number that blends others, and nothing for a patient's record.
"""

from collections.abc import Iterable, Iterator, Sequence

from checklist.errors import ChecklistError
from checklist.practice.figures import Figures, figures
from checklist.practice.order import Order
from checklist.practice.pace import FEWEST_SESSIONS, Hygiene
from checklist.practice.score import EXCUSED, OPEN, Fate, Item, Score, Standing, counts
from checklist.protocol.model import Assessment, Entry, Protocol, Step
from checklist.session.session import EXAMINATION, OBSERVATION, Session
from checklist.summary.debrief_advice import MOST, advice, by_first_step, order_words, strengths
from checklist.summary.debrief_picture import picture, times
from checklist.summary.debrief_rulings import TOO_FAST, bursts, hasty, questions, too_fast_words
from checklist.summary.debrief_telling import telling
from checklist.summary.document import Block, Form, Note, Sentence
from checklist.summary.grouping import numbers, place_words
from checklist.summary.particulars import banner, particulars
from checklist.summary.timeline import minutes
from checklist.summary.words import in_row, sentence, uncapitalised
from checklist.text import one_line

NOT_FOR_THE_RECORD = "DEBRIEF – for learning and teaching; no part of a patient's record"


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
    yield from _filled("TELLING", telling(found.session))
    yield from _filled("FOR A MARKER TO RULE ON", questions(found))
    yield from _filled(_REMARKS[found.session.header.mode], _remarks(found.session))
    yield _items("WHAT BECAME OF EACH STEP", _fates(found))
    yield from _filled("SIDES AND SITES LEFT OUT", _left_out(found))
    yield _items("ORDER", _order(found))
    yield picture(found)
    yield times(found)
    yield Block(sentences=tuple(_about_times(found)))
    yield from _filled(TOO_FAST, hasty(found))
    yield from _filled("MARKED FASTER THAN PERFORMED", bursts(found))
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
        yield Sentence(text=_ASSESSED)


_ASSESSED = (
    "Assessed: the screen gave no open prerequisites, no list of gaps and nothing of what belongs together;"
    " do, say and expect were shown."
)
_REMARKS = {
    EXAMINATION: "REMARKS OF THE ONE WHO EXAMINED",
    OBSERVATION: "REMARKS OF THE OBSERVER",
}


def _remarks(session: Session) -> Iterator[Sentence]:
    for remark in session.state.remarks:
        title = session.protocol.step_of[remark.step].title
        yield Sentence(
            text=sentence(f"{title} ({minutes(remark.clock)}): {remark.text}"), rests_on=(remark.n,)
        )


# Conditions


def _conditions(found: Figures) -> Iterator[Sentence]:
    yield Sentence(text=sentence(_cut(found)))
    yield Sentence(text=sentence(_critical_steps(found)))
    yield Sentence(text=sentence(_time(found)))
    yield Sentence(text=sentence(f"all conditions must be met; together: {found.score.verdict}"))
    yield Sentence(text=sentence(_coverage(found)))
    yield Sentence(text=sentence(_shares(found.session.protocol.assess)))
    yield from _exceptions(found.session.protocol)


def _cut(found: Figures) -> str:
    score, cut = found.score, found.session.protocol.assess.cut
    if score.per_cent is None:
        return f"weighted score: none, because no step counts; cut {cut:g} %: {score.cut}"
    total = f"{_plain(score.reached)} of {_plain(score.possible)}"
    text = f"weighted score {_per_cent(score.per_cent, cut)} ({total})"
    if score.lowest is not None and score.highest is not None and score.lowest != score.highest:
        low, high = _per_cent(score.lowest, cut), _per_cent(score.highest, cut)
        text += f", by a marker's rulings from {low} to {high}"
    return f"{text}; cut {cut:g} %: {score.cut}{_why_open(score, score.cut)}"


def _why_open(score: Score, standing: Standing) -> str:
    is_open = score.is_rushed and standing is Standing.OPEN
    return f": {too_fast_words(score)}; a marker rules" if is_open else ""


def _plain(value: float) -> str:
    return f"{round(value, 2):g}"


def _shares(assess: Assessment) -> str:
    return (
        "each step counts its weight (1 unless the protocol says otherwise);"
        f" done after a prompt {_part(assess.prompted)}, done incorrectly {_part(assess.incorrect)},"
        " done in part by the share of its sides and sites"
    )


def _part(share: float) -> str:
    return {0.25: "¼", 0.5: "½", 0.75: "¾"}.get(share, f"{share:g}")


def _exceptions(protocol: Protocol) -> Iterator[Sentence]:
    """Name what is not as for all steps, so that the score can be worked out again."""
    heavy = [f"{uncapitalised(step.title)} {_plain(step.weight)}" for step in protocol if step.weight != 1]
    if heavy:
        yield Sentence(text=sentence(f"weights other than 1: {in_row(heavy)}"))
    for what in ("prompted", "incorrect"):
        own = [(step.title, getattr(step, what)) for step in protocol]
        shares = [f"{uncapitalised(title)} {_part(share)}" for title, share in own if share is not None]
        if shares:
            name = "done after a prompt" if what == "prompted" else "done incorrectly"
            yield Sentence(text=sentence(f"{name}, other shares: {in_row(shares)}"))


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
    standing = found.score.critical
    missed, asked = len(found.score.critical_missed), len(found.score.critical_open)
    open_too = f", {asked} to be ruled on" if asked else ""
    stands = f"{standing}{_why_open(found.score, standing)}"
    return f"critical steps missed: {missed} of {len(critical)}{open_too}: {stands}"


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
    part, wrong = (sum(item.fate is fate for item in counted) for fate in (Fate.PARTIAL, Fate.INCORRECT))
    how = f", {part} of them in part" if part else ""
    how += f", {wrong} of them incorrectly" if wrong else ""
    return (
        f"coverage, no condition: {done} of the {len(counted)} steps that count attempted{how};"
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
    if found.session.header.mode == OBSERVATION:
        yield Sentence(text="The order is that of the marks; a range marked later counts as later.")
    for breaches in by_first_step(order.breaches):
        yield Sentence(
            text=sentence(order_words(found, breaches, timed=True)),
            rests_on=numbers(event for one in breaches for event in one.events),
        )
    if not order.breaches:
        yield Sentence(text="No rule of order was broken by a step that was done.")
    yield Sentence(text=sentence(_moved(order.moved, len(order.performed))))
    if order.tau is not None and order.pairs:
        yield Sentence(text=_pairs(order))


def _pairs(order: Order) -> str:
    """Say it plainly first; the coefficient, for those who want it, stands in brackets."""
    kept = _per_cent(100 * (order.pairs - order.inversions) / order.pairs, 100)
    ties = "; steps in free order tie" if order.tau_as_planned < 1 else ""
    return (
        f"Of all {order.pairs} pairs of steps that have an order, {kept} were in the planned one"
        f" (tau-b {order.tau:.2f}; as planned it is {order.tau_as_planned:.2f}{ties})."
    )


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
    "Declined, unable and missing equipment leave the count; not done, out of time and"
    " recorded only after the end count with nothing.",
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
