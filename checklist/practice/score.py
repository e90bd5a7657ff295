"""What became of each step, and the figures that follow: coverage, weighted score, critical misses, verdict.

Figures stay apart: there is no number that blends them, and a pass needs every condition for itself.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from math import isclose

from checklist.practice.order import DONE_OUTCOMES, before_the_end, breaches, is_set_aside, performed
from checklist.practice.pace import RUSHED_SHARE, elapsed_seconds, hasty
from checklist.protocol.model import Step
from checklist.session.events import NOT_INDICATED, REASONS, Marked, Outcome
from checklist.session.session import OBSERVATION, Session
from checklist.session.state import Record, Stage


class Fate(StrEnum):
    """What became of a step: each step has exactly one, so that the numbers add up."""

    DONE = "done"
    OUT_OF_ORDER = "done, out of order"
    PARTIAL = "done in part"
    PROMPTED = "done after a prompt"
    INCORRECT = "done incorrectly"
    NOT_DONE = "not done"
    OUT_OF_TIME = "not done, out of time"
    UNABLE = "not done, unable"
    DEFERRED = "not done, deferred"
    OTHER_REASON = "not done, another reason"
    LATE = "recorded only after the end"
    UNMARKED = "not marked"
    UNSEEN = "could not be seen"
    DECLINED = "declined"
    UNAVAILABLE = "equipment missing"
    NOT_INDICATED = "said to be not indicated"
    NOT_APPLICABLE = "not applicable"


PERFORMED = frozenset({Fate.DONE, Fate.OUT_OF_ORDER, Fate.PARTIAL, Fate.PROMPTED, Fate.INCORRECT})
MISSED = frozenset({Fate.NOT_DONE, Fate.OUT_OF_TIME, Fate.LATE})
"""Count with nothing. What was written after the end raises nothing: it says nothing of how it went."""
EXCUSED = frozenset({Fate.DECLINED, Fate.UNAVAILABLE, Fate.UNABLE, Fate.NOT_APPLICABLE})
"""Leave the count: not in the sum that is reached, nor in the one that could be."""
OPEN = frozenset({Fate.UNSEEN, Fate.UNMARKED, Fate.DEFERRED, Fate.OTHER_REASON, Fate.NOT_INDICATED})
"""Leave the count until a marker has ruled on them."""
_OF_MARK = {
    "done": Fate.DONE,
    "done after a prompt": Fate.PROMPTED,
    "done incorrectly": Fate.INCORRECT,
    "not done": Fate.NOT_DONE,
    "could not be seen": Fate.UNSEEN,
    "not applicable": Fate.NOT_APPLICABLE,
}
_OF_REASON = {
    "declined": Fate.DECLINED,
    "unable": Fate.UNABLE,
    "deferred": Fate.DEFERRED,
    NOT_INDICATED: Fate.NOT_INDICATED,
    "not available": Fate.UNAVAILABLE,
    "out of time": Fate.OUT_OF_TIME,
}


@dataclass(frozen=True, kw_only=True, slots=True)
class Share:
    """How much of a step's weight it brings: 0 to 1, or None where it leaves the count."""

    now: float | None
    lowest: float | None
    """When a marker rules every open question against it."""
    highest: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class Item:
    """One step of the protocol, and what became of it."""

    step: Step
    fate: Fate
    share: Share
    rests_on: tuple[int, ...]
    left_out: tuple[tuple[str, Fate], ...] = ()
    """Of a step done in part, the keys of the entries that were not done, each with what became of it."""
    detail: str = ""
    """Own words of who marked or recorded it."""
    is_late: bool = False
    """Whether an entry was recorded only after the end; it counts as if it were not recorded."""

    @property
    def counts(self) -> bool:
        return self.share.now is not None


class Standing(StrEnum):
    """How a condition stands."""

    MET = "met"
    NOT_MET = "not met"
    OPEN = "not decided"
    NOT_ASKED = "not asked"


@dataclass(frozen=True, kw_only=True, slots=True)
class Score:
    """The figures of one performance, each for itself."""

    items: tuple[Item, ...]
    """Every step of the protocol, in listed order."""
    per_cent: float | None
    """Weighted, of the steps that count; None where none has a weight."""
    lowest: float | None
    highest: float | None
    """What it can still become by a marker's rulings."""
    coverage: float | None
    """Per cent of the steps that count that were done, those done in part by their share; no weights."""
    critical_missed: tuple[Item, ...]
    critical_open: tuple[Item, ...]
    """Critical steps on which a marker must rule."""
    to_rule: tuple[Item, ...]
    """Every step on which a marker must rule, in listed order."""
    reached: float
    possible: float
    """The sum of the weights that count: what was reached of it, and the whole."""
    hasty: tuple[Item, ...]
    """Steps that count and were recorded faster than they can be examined, in listed order."""
    is_rushed: bool
    """Whether they are so many that a marker must rule before a condition is met."""
    cut: Standing
    """Of a session that is not finished nothing is decided yet."""
    critical: Standing
    time: Standing

    @property
    def verdict(self) -> Standing:
        """All conditions together: one that is not met decides."""
        found = {self.cut, self.critical, self.time}
        return next((each for each in (Standing.NOT_MET, Standing.OPEN) if each in found), Standing.MET)

    def of(self, *fates: Fate) -> tuple[Item, ...]:
        """Return the items with one of these fates."""
        return tuple(item for item in self.items if item.fate in fates)


def score(session: Session) -> Score:
    """Return what became of every step, and the figures that follow."""
    early = {breach.early.step.id for breach in breaches(session, performed(session))}
    items = tuple(_item(session, step, early) for step in session.protocol)
    fast = _fast(session, items)
    is_rushed = bool(fast) and len(fast) >= RUSHED_SHARE * sum(item.counts for item in items)
    if is_rushed:
        items = tuple(_doubted(item) if item.step.id in fast else item for item in items)
    is_over = session.state.stage is Stage.FINISHED
    lowest = _per_cent((item.step.weight, item.share.lowest) for item in items)
    highest = _per_cent((item.step.weight, item.share.highest) for item in items)
    missed = tuple(item for item in items if item.step.critical and _is_critical_miss(item))
    asked = tuple(item for item in items if _is_asked(item, fast if is_rushed else frozenset()))
    open_critical = tuple(item for item in asked if item.step.critical and item not in missed)
    counted = [item for item in items if item.share.now is not None]
    cut = _reached(session.protocol.assess.cut, lowest, highest) if is_over else Standing.OPEN
    critical = _critical(missed, open_critical) if is_over else Standing.OPEN
    return Score(
        items=items,
        per_cent=_per_cent((item.step.weight, item.share.now) for item in items),
        lowest=lowest,
        highest=highest,
        coverage=_per_cent((1, _covered(item)) for item in items),
        critical_missed=missed,
        critical_open=open_critical,
        to_rule=tuple(item for item in asked if item.is_late or item not in missed),
        reached=sum(item.step.weight * (item.share.now or 0.0) for item in counted),
        possible=sum(item.step.weight for item in counted),
        hasty=tuple(item for item in items if item.step.id in fast),
        is_rushed=is_rushed,
        cut=_undecided(cut) if is_rushed else cut,
        critical=_undecided(critical) if is_rushed else critical,
        time=_in_time(session),
    )


def _fast(session: Session, items: Iterable[Item]) -> frozenset[str]:
    """Name the steps that count and were recorded too fast; a marker's mark has ruled on a step already."""
    fast = {each.step.id for each in hasty(session)} - session.state.marks.keys()
    return frozenset(item.step.id for item in items if item.step.id in fast and item.counts)


def _doubted(item: Item) -> Item:
    """A marker may rule that a step recorded too fast was not examined at all."""
    return replace(item, share=replace(item.share, lowest=0.0))


def _undecided(standing: Standing) -> Standing:
    """What was recorded too fast cannot make up for what is not met."""
    return Standing.OPEN if standing is Standing.MET else standing


def _per_cent(shares: Iterable[tuple[float, float | None]]) -> float | None:
    """Return 100 × sum of weight × share / sum of weights, over what counts."""
    counted = [(weight, share) for weight, share in shares if share is not None]
    whole = sum(weight for weight, _ in counted)
    return 100 * sum(weight * share for weight, share in counted) / whole if whole else None


def _covered(item: Item) -> float | None:
    """A step done incorrectly or after a prompt was done: quality is the score's business."""
    return 1.0 if item.fate in (Fate.PROMPTED, Fate.INCORRECT) else item.share.now


def _is_critical_miss(item: Item) -> bool:
    """Done incorrectly, and nothing of its weight kept, is as if it were not done."""
    return item.fate in MISSED or (item.fate is Fate.INCORRECT and item.share.now == 0)


def _is_asked(item: Item, fast: frozenset[str]) -> bool:
    """Whether a marker must rule: on what is open or late, and on a critical step neither done nor missed.

    Steps recorded too fast are ruled on together.
    """
    if item.is_late or item.fate in OPEN:
        return True
    if item.share.lowest != item.share.highest and item.step.id not in fast:
        return True
    in_doubt = (EXCUSED - {Fate.NOT_APPLICABLE}) | {Fate.PARTIAL, Fate.INCORRECT}
    return bool(item.step.critical) and item.fate in in_doubt


def _reached(cut: float, lowest: float | None, highest: float | None) -> Standing:
    """A hair below the cut by the rounding of binary fractions is at the cut."""
    if lowest is None or highest is None:
        return Standing.OPEN
    if lowest >= cut or isclose(lowest, cut):
        return Standing.MET
    return Standing.OPEN if highest >= cut or isclose(highest, cut) else Standing.NOT_MET


def _critical(missed: tuple[Item, ...], asked: tuple[Item, ...]) -> Standing:
    if missed:
        return Standing.NOT_MET
    return Standing.OPEN if asked else Standing.MET


def _in_time(session: Session) -> Standing:
    """Only a hard limit is a condition; a session under way can still go over it."""
    if session.protocol.assess.limit != "hard":
        return Standing.NOT_ASKED
    if elapsed_seconds(session) > session.protocol.target_seconds:
        return Standing.NOT_MET
    return Standing.MET if session.state.stage is Stage.FINISHED else Standing.OPEN


def _item(session: Session, step: Step, early: set[str]) -> Item:
    """A mark outranks the records: a marker's ruling is above the count."""
    mark = session.state.marks.get(step.id)
    if mark:
        return _marked(session, step, mark, early)
    if session.header.mode == OBSERVATION:
        fate = Fate.NOT_APPLICABLE if step.only_if else Fate.UNMARKED
        return Item(step=step, fate=fate, share=_share_of(session, step, fate), rests_on=())
    return _recorded(session, step, early)


def _marked(session: Session, step: Step, mark: Marked, early: set[str]) -> Item:
    fate = _OF_MARK[mark.mark]
    if fate is Fate.DONE and step.id in early:
        fate = Fate.OUT_OF_ORDER
    share = _share_of(session, step, fate)
    return Item(step=step, fate=fate, share=share, rests_on=(mark.n,), detail=mark.detail)


def _share_of(session: Session, step: Step, fate: Fate) -> Share:
    assess = session.protocol.assess
    if fate in OPEN:
        return Share(now=None, lowest=0.0, highest=1.0)
    if fate in EXCUSED:
        return Share(now=None, lowest=None, highest=None)
    whole = 0.0 if fate in MISSED else 1.0
    if fate is Fate.PROMPTED:
        whole = assess.prompted if step.prompted is None else step.prompted
    elif fate is Fate.INCORRECT:
        whole = assess.incorrect if step.incorrect is None else step.incorrect
    return Share(now=whole, lowest=whole, highest=whole)


def _recorded(session: Session, step: Step, early: set[str]) -> Item:
    """Judge a step by its entries: done, left out, excused or open."""
    records = session.state.records.get(step.id, {})
    events = tuple(sorted({record.event for record in records.values()}))
    is_late = any(before_the_end(record) is None for record in records.values())
    if is_set_aside(session, step):
        share = _share_of(session, step, Fate.NOT_APPLICABLE)
        return Item(step=step, fate=Fate.NOT_APPLICABLE, share=share, rests_on=events, is_late=is_late)
    fates = {entry.key: _entry_fate(records.get(entry.key)) for entry in step.entries}
    left_out = tuple((key, fate) for key, fate in fates.items() if fate is not Fate.DONE)
    if len(left_out) == len(fates):
        fate, left_out = _worst(fates.values()), ()
    elif left_out:
        fate = Fate.PARTIAL
    else:
        fate = Fate.OUT_OF_ORDER if step.id in early else Fate.DONE
    details = dict.fromkeys(_words(record) for record in records.values())
    return Item(
        step=step,
        fate=fate,
        share=_entry_share(fates.values()),
        rests_on=events,
        left_out=left_out,
        detail="; ".join(filter(None, details)),
        is_late=is_late,
    )


def _words(record: Record) -> str:
    """Return why an entry was not examined, where that is in the examiner's own words."""
    result = record.result
    if result.outcome is not Outcome.NOT_EXAMINED:
        return ""
    return result.detail if result.reason in REASONS else result.reason


def _entry_fate(record: Record | None) -> Fate:
    if record is None:
        return Fate.NOT_DONE
    found = before_the_end(record)
    if found is None:
        return Fate.LATE
    if found.result.outcome in DONE_OUTCOMES:
        return Fate.DONE
    return _OF_REASON.get(found.result.reason, Fate.OTHER_REASON)


def _worst(fates: Iterable[Fate]) -> Fate:
    """Of entries that were all not done, name the step by what counts most against it."""
    found = set(fates)
    ranked = (fate for group in (MISSED, OPEN, EXCUSED) for fate in Fate if fate in group)
    return next(fate for fate in ranked if fate in found)


def _entry_share(fates: Iterable[Fate]) -> Share:
    fates = tuple(fates)
    done = sum(fate is Fate.DONE for fate in fates)
    missed = sum(fate in MISSED for fate in fates)
    asked = sum(fate in OPEN for fate in fates)
    return Share(
        now=_ratio(done, done + missed),
        lowest=_ratio(done, done + missed + asked),
        highest=_ratio(done + asked, done + missed + asked),
    )


def _ratio(part: int, whole: int) -> float | None:
    return part / whole if whole else None


def counts(found: Score) -> Mapping[Fate, int]:
    """Return how many steps had each fate that occurs; together they are all steps of the protocol."""
    return dict(_counts(found))


def _counts(found: Score) -> Iterator[tuple[Fate, int]]:
    for fate in Fate:
        if number := sum(item.fate is fate for item in found.items):
            yield fate, number
