"""What a debrief says of the next time: acts done as planned, and what to practise first and why.

Speaks of acts, never of the person; says nothing that no record supports.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import IntEnum

from checklist.practice.figures import Figures
from checklist.practice.order import Breach
from checklist.practice.score import EXCUSED, MISSED, PERFORMED, Fate, Item, Standing
from checklist.protocol.model import Step
from checklist.summary.document import Sentence
from checklist.summary.grouping import numbers
from checklist.summary.timeline import minutes
from checklist.summary.words import in_row, sentence, uncapitalised

MOST = 3
"""How many strengths are named, and how many things to practise: more at once are not practised."""

WHOLE = (Fate.DONE, Fate.OUT_OF_ORDER)


class Weight(IntEnum):
    """What matters more comes first. Our own order, no source: harm, then what is missed, then the rest."""

    CRITICAL = 1
    ORDER = 2
    CRITICAL_FLAW = 3
    HYGIENE = 4
    INCORRECT = 5
    URGENT = 6
    HASTY = 7
    SIDE = 8
    REPORT = 9
    MISSED = 10
    PROMPTED = 11
    TIME = 12


@dataclass(frozen=True, kw_only=True, slots=True)
class Advice:
    """One thing to do differently, and why."""

    weight: Weight
    act: str
    why: str
    rests_on: tuple[int, ...] = ()
    share: float = 1.0
    """The step's weight: among things that matter alike, the heavier one comes first."""

    @property
    def sentence(self) -> Sentence:
        text = f"{self.act.rstrip(' .')}. Why: {sentence(self.why)[:1].lower()}{sentence(self.why)[1:]}"
        return Sentence(text=sentence(text), rests_on=self.rests_on)


def advice(figures: Figures) -> tuple[Advice, ...]:
    """Return everything that can be done differently, what matters most first."""
    found = [*_steps(figures), *_orders(figures), *_hasty(figures), *_time(figures)]
    return tuple(sorted(found, key=lambda each: (each.weight, -each.share)))


def _steps(figures: Figures) -> Iterator[Advice]:
    missed_critical = figures.score.critical_missed
    for item in figures.score.items:
        found = Weight.CRITICAL if item in missed_critical else _weight(item)
        if found:
            yield Advice(
                weight=found,
                act=_act(item),
                why=_why(item),
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
    "hygiene": "hands carry what they touched to the next place and to the next person",
    "tell": "the patient can agree to, ask about or refuse only what was said",
    "ask": "what nobody asks about is often not told",
}
_WHY_EXAMINE = "what was not examined cannot be told from what is as expected"
"""These are used where the protocol gives no reason of its own; common practice, no source."""


def _why(item: Item) -> str:
    own = why(item.step)
    if item.fate is Fate.PARTIAL and item.step.sides and own == _WHY_EXAMINE:
        return _WHY_SIDES
    return own


def why(step: Step) -> str:
    """Return why a step matters: the protocol's reason, then what it can find, then a general one."""
    if step.critical:
        return step.critical
    for tell, words in (("urgent", "must be told at once"), ("report", "must be reported")):
        label = next((finding.label for finding in step.findings if finding.tell == tell), "")
        if label:
            return f'it can find "{label}", which {words}'
    return _WHY.get(step.technique, _WHY_EXAMINE)


def _orders(figures: Figures) -> Iterator[Advice]:
    for (late, reason), found in by_late_step(figures.order.breaches).items():
        early = in_row(uncapitalised(each.early.step.title) for each in found)
        yield Advice(
            weight=Weight.ORDER,
            act=f"{late.title} before: {early}",
            why=reason,
            rests_on=numbers(each for breach in found for each in (breach.early.event, breach.late.event)),
            share=max(each.early.step.weight for each in found),
        )


def by_late_step(breaches: Sequence[Breach]) -> dict[tuple[Step, str], list[Breach]]:
    """Group broken constraints by the step that should have come first, and the reason."""
    found: dict[tuple[str, str], list[Breach]] = {}
    for breach in breaches:
        found.setdefault((breach.late.step.id, breach.why), []).append(breach)
    return _keyed_by_step(found)


def _keyed_by_step(found: dict[tuple[str, str], list[Breach]]) -> dict[tuple[Step, str], list[Breach]]:
    return {(rows[0].late.step, reason): rows for (_, reason), rows in found.items()}


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
    done = [item for item in figures.score.items if item.fate in PERFORMED]
    if done:
        names = in_row(uncapitalised(item.step.title) for item in done[:MOST])
        yield _resting(f"recorded as done: {names}", done[:MOST])
    else:
        yield Sentence(text="Nothing is recorded as done, so that no record supports one.")


def _resting(text: str, items: Sequence[Item]) -> Sentence:
    rests_on = numbers(event for item in items for event in item.rests_on)
    return Sentence(text=sentence(text), rests_on=rests_on)


def _critical_done(figures: Figures) -> Iterator[Sentence]:
    done = [item for item in figures.score.items if item.step.critical and item.fate in PERFORMED]
    if done and figures.score.critical is Standing.MET:
        count = "The one critical step that counts" if len(done) == 1 else f"All {len(done)} critical steps"
        names = in_row(uncapitalised(item.step.title) for item in done[:MOST])
        more = f"; and {len(done) - MOST} more" if len(done) > MOST else ""
        yield _resting(f"{count} done: {names}{more}", done)


def _hands(figures: Figures) -> Iterator[Sentence]:
    hygiene = figures.pace.hygiene
    before, after = hygiene.before_first_touch, hygiene.after_last_touch
    if before and after:
        text = f"hands cleaned before the first touch ({minutes(before.clock)})"
        text += f" and after the last one ({minutes(after.clock)})"
        yield Sentence(text=sentence(text), rests_on=numbers((before.event, after.event)))


def _kept_order(figures: Figures) -> Iterator[Sentence]:
    done = {each.step.id: each for each in figures.order.performed}
    asked = [
        (each, done[after.step]) for each in done.values() for after in each.step.after if after.step in done
    ]
    if asked and not figures.order.breaches:
        kept = "the one rule of order" if len(asked) == 1 else f"all {len(asked)} rules of order"
        rests_on = numbers(event for pair in asked for event in (pair[0].event, pair[1].event))
        yield Sentence(text=sentence(f"{kept} between steps that were done kept"), rests_on=rests_on)


def _both_sides(figures: Figures) -> Iterator[Sentence]:
    sided = [item for item in figures.score.items if item.step.sides and item.counts]
    if len(sided) > 1 and all(item.fate in WHOLE for item in sided):
        yield _resting(f"right and left both done at all {len(sided)} steps that have sides", sided)


def _whole_sections(figures: Figures) -> Iterator[Sentence]:
    whole: list[str] = []
    items: list[Item] = []
    for section in figures.session.protocol.sections:
        own = [item for item in figures.score.items if item.step in section.steps]
        counted = [item for item in own if item.fate is not Fate.NOT_APPLICABLE]
        if counted and all(item.fate in WHOLE for item in counted):
            whole.append(section.title)
            items += counted
    if whole:
        yield _resting(f"every step done of: {in_row(whole)}", items)


_STRENGTHS = (_critical_done, _hands, _kept_order, _both_sides, _whole_sections)
"""In the order in which they matter."""
