"""What a debrief leaves to a marker: questions that the record cannot answer, and why it cannot."""

from collections.abc import Iterator, Sequence

from checklist.practice.figures import Figures
from checklist.practice.pace import BURST_SECONDS, HASTY_SECONDS, HASTY_SHARE, RUSHED_SHARE
from checklist.practice.score import OPEN, Fate, Item, Score
from checklist.session.standing import late_and_corrected
from checklist.summary.document import Sentence
from checklist.summary.grouping import numbers
from checklist.summary.words import in_row, sentence, uncapitalised
from checklist.text import one_line

TOO_FAST = "RECORDED FASTER THAN EXAMINED"
MOST_NAMED = 8
"""Steps recorded too fast that are named where a marker is asked; more stand only under their own heading."""


def questions(found: Figures) -> Iterator[Sentence]:
    """Return what a marker is asked: what is critical and has no mark first."""
    yield from _too_fast(found)
    unmarked = found.score.of(Fate.UNMARKED)
    yield from _unmarked("critical and not marked", [item for item in unmarked if item.step.critical])
    yield from _unmarked("not marked", [item for item in unmarked if not item.step.critical])
    for item in found.score.to_rule:
        if item.fate is not Fate.UNMARKED:
            yield Sentence(text=f"{item.step.title}: {_question(item)}", rests_on=item.rests_on)
    yield from _changed(found)


def _too_fast(found: Figures) -> Iterator[Sentence]:
    if not found.score.is_rushed:
        return
    items = found.score.hasty
    ids = {item.step.id for item in items}
    were = "Was it" if len(items) == 1 else "Were they"
    names = f": {_titles(items)}" if len(items) <= MOST_NAMED else f", named under {TOO_FAST}"
    yield Sentence(
        text=sentence(f"{too_fast_words(found.score)}{names}. {were} examined?"),
        rests_on=numbers(each.event for each in found.pace.hasty if each.step.id in ids),
    )


def too_fast_words(score: Score) -> str:
    """Say how many steps were recorded too fast."""
    if len(score.hasty) == 1:
        return "1 step was recorded faster than it can be examined"
    return f"{len(score.hasty)} steps were recorded faster than they can be examined"


def _titles(items: Sequence[Item]) -> str:
    return in_row(uncapitalised(item.step.title) for item in items)


def _unmarked(what: str, items: Sequence[Item]) -> Iterator[Sentence]:
    if items:
        were = "Was it" if len(items) == 1 else "Were they"
        yield Sentence(text=sentence(f"{what}: {_titles(items)}. {were} done?"))


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
        case _ if item.is_late:
            counted = "counted as not done" if item.counts else "not counted"
            return f"recorded only after the end; {counted}. Was it done before?"
        case fate if fate in OPEN:
            return f"{fate}{detail}. Is that a reason to leave it out of the count?"
        case fate:
            return f"{fate}{detail}. Does it count as missed?"


def _changed(found: Figures) -> Iterator[Sentence]:
    changed: dict[str, list[int]] = {}
    for step, _, record in late_and_corrected(found.session):
        if record.replaced:
            changed.setdefault(step.title, []).append(record.event)
    for title, events in changed.items():
        text = f"{title}: changed after the end; counted as it stood before. Which of the two stands?"
        yield Sentence(text=text, rests_on=numbers(events))


def hasty(found: Figures) -> Iterator[Sentence]:
    """Name the entries that were recorded too fast, and the rule."""
    for each in found.pace.hasty:
        text = f"{each.step.title}: recorded after {each.seconds:.1f} s at the step, planned"
        yield Sentence(text=f"{text} {each.step.seconds} s.", rests_on=(each.event,))
    if found.pace.hasty:
        yield Sentence(
            text=f"Rule: under {HASTY_SHARE * 100:g} % of the planned time at the step, and under"
            f" {HASTY_SECONDS:g} s after the event before; where that concerns {RUSHED_SHARE * 100:g} % of"
            " the steps that count or more, score and critical steps are met only by a marker's ruling."
            " Our own rule, no source; steps examined first and recorded in a row look the same."
        )


def bursts(found: Figures) -> Iterator[Sentence]:
    """Name what an observer marked in bursts, and the rule."""
    marks = found.pace.bursts
    if marks:
        step_of = found.session.protocol.step_of
        names = in_row(uncapitalised(step_of[mark.step].title) for mark in marks)
        yield Sentence(
            text=sentence(
                f"{len(marks)} marks were made faster than the acts can be performed: {names}. Rule: each"
                f" within {BURST_SECONDS:g} s of another. Our own rule, no source; acts seen first and marked"
                " in a row, or as a range, look the same"
            ),
            rests_on=numbers(mark.n for mark in marks),
        )
