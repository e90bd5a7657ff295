"""What a debrief says of the next time: acts done as planned, and what to practise first and why.

Speaks of acts, never of the person; says nothing that no record supports.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import IntEnum

from checklist.practice.figures import Figures
from checklist.practice.order import Breach, Performance
from checklist.practice.score import EXCUSED, MISSED, PERFORMED, Fate, Item, Standing
from checklist.protocol.model import Protocol, Step
from checklist.session.state import Stage
from checklist.summary.debrief_telling import label, untold_at_the_end
from checklist.summary.document import Sentence
from checklist.summary.grouping import numbers
from checklist.summary.timeline import minutes
from checklist.summary.untold import HOW_SOON
from checklist.summary.words import in_row, sentence, uncapitalised

MOST = 3
"""How many strengths are named, and how many things to practise: more at once are not practised."""

WHOLE = (Fate.DONE, Fate.OUT_OF_ORDER)


class Weight(IntEnum):
    """What matters more comes first. Our own order, no source: harm, then what is missed, then the rest."""

    UNTOLD_URGENT = 1
    CRITICAL = 2
    ORDER = 3
    CRITICAL_FLAW = 4
    UNTOLD = 5
    HYGIENE = 6
    INCORRECT = 7
    URGENT = 8
    HASTY = 9
    SIDE = 10
    REPORT = 11
    MISSED = 12
    PROMPTED = 13
    TIME = 14


@dataclass(frozen=True, kw_only=True, slots=True)
class Advice:
    """One thing to do differently, and why."""

    weight: Weight
    act: str
    why: str
    """Empty where the act says it already."""
    rests_on: tuple[int, ...] = ()
    share: float = 1.0
    """The step's weight: among things that matter alike, the heavier one comes first."""

    @property
    def sentence(self) -> Sentence:
        if not self.why:
            return Sentence(text=sentence(self.act), rests_on=self.rests_on)
        text = f"{self.act.rstrip(' .')}. Why: {sentence(self.why)[:1].lower()}{sentence(self.why)[1:]}"
        return Sentence(text=sentence(text), rests_on=self.rests_on)


def advice(figures: Figures) -> tuple[Advice, ...]:
    """Return everything that can be done differently, what matters most first."""
    made = (_untold, _steps, _orders, _hasty, _time)
    found = [each for make in made for each in make(figures)]
    return tuple(sorted(found, key=lambda each: (each.weight, -each.share)))


def _untold(figures: Figures) -> Iterator[Advice]:
    session = figures.session
    for alert in untold_at_the_end(session):
        is_urgent = alert.finding.tell == "urgent"
        soon = HOW_SOON[alert.finding.tell]
        records = session.state.records[alert.step.id]
        yield Advice(
            weight=Weight.UNTOLD_URGENT if is_urgent else Weight.UNTOLD,
            act=f"Tell the {session.protocol.tell_to(alert.finding)} {soon} of {label(alert)}"
            f" ({uncapitalised(alert.step.title)}; not told before the end)",
            why="nobody can act on what they were not told",
            rests_on=numbers(records[entry].event for entry in alert.entries),
            share=alert.step.weight,
        )


def _steps(figures: Figures) -> Iterator[Advice]:
    missed_critical = figures.score.critical_missed
    for item in figures.score.items:
        found = Weight.CRITICAL if item in missed_critical else _weight(item)
        if found:
            yield Advice(
                weight=found,
                act=_act(item),
                why=_why(item, figures.session.protocol),
                rests_on=item.rests_on,
                share=item.step.weight,
            )


def _weight(item: Item) -> Weight | None:
    """Return how much a step matters; None where nothing is to be done differently."""
    match item.fate:
        case Fate.INCORRECT | Fate.PROMPTED if item.step.critical:
            return Weight.CRITICAL_FLAW
        case Fate.PARTIAL if item.step.critical and _is_left_out(item):
            return Weight.CRITICAL_FLAW
        case Fate.INCORRECT:
            return Weight.INCORRECT
        case Fate.PROMPTED:
            return Weight.PROMPTED
        case Fate.PARTIAL if _is_left_out(item):
            return Weight.SIDE
        case fate if fate in MISSED:
            return _weight_missed(item.step)
        case _:
            return None


def _weight_missed(step: Step) -> Weight:
    tells = {finding.tell for finding in step.findings}
    if step.technique == "hygiene":
        return Weight.HYGIENE
    if "urgent" in tells:
        return Weight.URGENT
    return Weight.REPORT if "report" in tells else Weight.MISSED


def _is_left_out(item: Item) -> bool:
    """Whether an entry was left out for no reason that excuses it."""
    return any(fate not in EXCUSED for _, fate in item.left_out)


def _act(item: Item) -> str:
    title = item.step.title
    match item.fate:
        case Fate.INCORRECT:
            detail = f" this time: {item.detail}" if item.detail else ""
            return f"{title}, as the protocol describes it (done incorrectly{detail})"
        case Fate.PROMPTED:
            return f"{title}, without a prompt"
        case Fate.PARTIAL:
            return f"{title}, at every side and site"
        case _:
            return f"{title} ({item.fate})"


_WHY_SIDES = "one side says nothing of the other"
_WHY = {
    "hygiene": "what is not cleaned carries on what it touched",
    "tell": "what is not said, handed over or written down is lost to those who care next",
    "ask": "what nobody asks about is often not told",
}
_WHY_EXAMINE = "what was not examined cannot be told from what is as expected"
"""Each is true of every step of its technique, and used where the protocol gives no reason of its own;
common practice, no source."""


def _why(item: Item, protocol: Protocol) -> str:
    own = why(item.step, protocol)
    if item.fate is Fate.PARTIAL and item.step.sides and own == _WHY_EXAMINE:
        return _WHY_SIDES
    return own


def why(step: Step, protocol: Protocol) -> str:
    """Return why a step matters: it is critical, can find something, others wait for it, or in general."""
    if step.critical:
        return step.critical
    for tell, words in (("urgent", "must be told at once"), ("report", "must be reported")):
        label = next((finding.label for finding in step.findings if finding.tell == tell), "")
        if label:
            return f'it can find "{label}", which {words}'
    waiting = (after.why for other in protocol for after in other.after if after.step == step.id)
    return next(filter(None, waiting), _WHY.get(step.technique, _WHY_EXAMINE))


def _orders(figures: Figures) -> Iterator[Advice]:
    for found in by_first_step(figures.order.breaches):
        yield Advice(
            weight=Weight.ORDER,
            act=order_words(figures, found),
            why="",
            rests_on=numbers(event for breach in found for event in breach.events),
            share=max(each.early.step.weight for each in found),
        )


def order_words(figures: Figures, found: Sequence[Breach], *, timed: bool = False) -> str:
    """Say what came too early, and why; `found` broke one rule alike."""

    def named(each: Performance) -> str:
        return uncapitalised(each.step.title) + (f" ({minutes(each.clock)})" if timed else "")

    early = in_row(named(each.early) for each in found)
    first, late, reason = found[0].first, found[0].late, found[0].why
    if late:
        return f"{early} came before {named(late)}: should come after it, because {reason}"
    never = "never came" if figures.session.state.stage is Stage.FINISHED else "has not come"
    return f"{early} came, {uncapitalised(first.title)} {never}: it should come first, because {reason}"


def by_first_step(breaches: Sequence[Breach]) -> tuple[tuple[Breach, ...], ...]:
    """Group broken constraints by the step that should have come first, and the reason."""
    found: dict[tuple[str, str], list[Breach]] = {}
    for breach in breaches:
        found.setdefault((breach.first.id, breach.why), []).append(breach)
    return tuple(map(tuple, found.values()))


def _hasty(figures: Figures) -> Iterator[Advice]:
    hasty = figures.pace.hasty
    if hasty:
        entries = "an entry" if len(hasty) == 1 else f"{len(hasty)} entries"
        yield Advice(
            weight=Weight.HASTY,
            act=f"Record each step when it has been examined ({entries} faster than the manoeuvre)",
            why="whoever reads the record acts on what was in truth not looked at",
            rests_on=tuple(each.event for each in hasty),
        )


def _time(figures: Figures) -> Iterator[Advice]:
    pace = figures.pace
    if pace.total > pace.target:
        over = minutes(pace.total - pace.target)
        over_plan = [each for each in pace.steps if each.planned and each.seconds > each.planned]
        longest = max(over_plan, key=lambda each: each.seconds - each.planned, default=None)
        where = f", most of it at: {uncapitalised(longest.step.title)}" if longest else ""
        yield Advice(
            weight=Weight.TIME,
            act=f"Stay within {minutes(pace.target)} ({over} over{where})",
            why="what stands last is hurried or left out when the time is over",
        )


def strengths(figures: Figures) -> tuple[Sentence, ...]:
    """Return up to three acts that went as planned, each resting on records; say so where there is none."""
    found = [each for make in _STRENGTHS for each in make(figures)][:MOST]
    return tuple(found or _some_done(figures))


def _some_done(figures: Figures) -> Iterator[Sentence]:
    """Say what was done as planned; what was too fast, incorrect or prompted is no strength."""
    sound = [item for item in figures.score.items if item.fate is Fate.DONE and not _is_flawed(figures, item)]
    if sound:
        names = in_row(uncapitalised(item.step.title) for item in sound[:MOST])
        more = f"; and {len(sound) - MOST} more" if len(sound) > MOST else ""
        yield _resting(f"recorded in time and in order: {names}{more}", sound)
    elif any(item.fate in PERFORMED for item in figures.score.items):
        yield Sentence(
            text="Nothing is recorded as done in time and in order, so that no record supports one."
        )
    else:
        yield Sentence(text="Nothing is recorded as done, so that no record supports one.")


def _is_flawed(figures: Figures, *items: Item) -> bool:
    """Whether one of some steps is listed as too fast, done incorrectly or prompted."""
    fast = _too_fast(figures)
    return any(item.fate in (Fate.INCORRECT, Fate.PROMPTED) or item.step.id in fast for item in items)


def _too_fast(figures: Figures) -> frozenset[str]:
    pace = figures.pace
    return frozenset((*(each.step.id for each in pace.hasty), *(mark.step for mark in pace.bursts)))


def _resting(text: str, items: Sequence[Item]) -> Sentence:
    rests_on = numbers(event for item in items for event in item.rests_on)
    return Sentence(text=sentence(text), rests_on=rests_on)


def _critical_done(figures: Figures) -> Iterator[Sentence]:
    done = [item for item in figures.score.items if item.step.critical and item.fate in PERFORMED]
    if done and figures.score.critical is Standing.MET and not _is_flawed(figures, *done):
        count = "The one critical step that counts" if len(done) == 1 else f"All {len(done)} critical steps"
        names = in_row(uncapitalised(item.step.title) for item in done[:MOST])
        more = f"; and {len(done) - MOST} more" if len(done) > MOST else ""
        yield _resting(f"{count} done: {names}{more}", done)


def _hands(figures: Figures) -> Iterator[Sentence]:
    hygiene = figures.pace.hygiene
    before, after = hygiene.before_first_touch, hygiene.after_last_touch
    if before and after and not _are_flawed(figures, before, after):
        text = f"hands cleaned before the first touch ({minutes(before.clock)})"
        text += f" and after the last one ({minutes(after.clock)})"
        yield Sentence(text=sentence(text), rests_on=numbers((before.event, after.event)))


def _are_flawed(figures: Figures, *done: Performance) -> bool:
    item_of = {item.step.id: item for item in figures.score.items}
    return _is_flawed(figures, *(item_of[each.step.id] for each in done))


def _kept_order(figures: Figures) -> Iterator[Sentence]:
    done = {each.step.id: each for each in figures.order.performed}
    asked = [
        (each, done[after.step]) for each in done.values() for after in each.step.after if after.step in done
    ]
    if (
        asked
        and not figures.order.breaches
        and not _are_flawed(figures, *(one for pair in asked for one in pair))
    ):
        kept = "the one rule of order" if len(asked) == 1 else f"all {len(asked)} rules of order"
        rests_on = numbers(event for pair in asked for event in (pair[0].event, pair[1].event))
        yield Sentence(text=sentence(f"{kept} between steps that were done kept"), rests_on=rests_on)


def _both_sides(figures: Figures) -> Iterator[Sentence]:
    sided = [item for item in figures.score.items if item.step.sides and item.counts]
    if len(sided) > 1 and all(item.fate in WHOLE and not _is_flawed(figures, item) for item in sided):
        yield _resting(f"right and left both done at all {len(sided)} steps that have sides", sided)


def _whole_sections(figures: Figures) -> Iterator[Sentence]:
    whole: list[str] = []
    items: list[Item] = []
    for section in figures.session.protocol.sections:
        own = [item for item in figures.score.items if item.step in section.steps]
        counted = [item for item in own if item.fate is not Fate.NOT_APPLICABLE]
        if counted and all(item.fate in WHOLE for item in counted) and not _is_flawed(figures, *counted):
            whole.append(section.title)
            items += counted
    if whole:
        yield _resting(f"every step done of: {in_row(whole)}", items)


_STRENGTHS = (_critical_done, _hands, _kept_order, _both_sides, _whole_sections)
"""In the order in which they matter."""
