"""The roll-up of the cranial nerves in words: short, and never that a nerve is intact."""

from collections.abc import Iterable, Iterator, Sequence

from checklist.protocol.model import SIDES, Step
from checklist.reasoning.nerves import Nerve, Part
from checklist.summary.grouping import place_words
from checklist.summary.words import joined

FEW = 4
"""Steps that are named; more are counted, since the note names each of them elsewhere."""


def roll_up_words(nerves: Sequence[Nerve]) -> tuple[str, ...]:
    """Return one sentence for all nerves wholly as expected, one for each other, one for those not examined.

    What is as expected stands last in the sentence of a nerve, lest the eye take it for the whole.
    """
    expected = [nerve.number for nerve in nerves if nerve.is_as_expected]
    others = [nerve for nerve in nerves if nerve.is_examined and not nerve.is_as_expected]
    unexamined = [nerve for nerve in nerves if not nerve.is_examined]
    return (
        *_row("as expected in all that was recorded", expected),
        *(f"{nerve.number} {'; '.join(_parts(nerve))}" for nerve in others),
        *_row(_not_examined(step for nerve in unexamined for step in nerve.unexamined), _numbers(unexamined)),
    )


def _numbers(nerves: Iterable[Nerve]) -> list[str]:
    return [nerve.number for nerve in nerves]


def _row(label: str, items: Sequence[str]) -> tuple[str, ...]:
    return (f"{label}: {', '.join(items)}",) if items else ()


def _parts(nerve: Nerve) -> Iterator[str]:
    yield from _row("differs", [_placed(part) for part in nerve.differing])
    yield from _row("only in part", [_placed(part, _not_examined([part.step])) for part in nerve.partial])
    yield from _counted(_not_examined(nerve.unexamined), nerve.unexamined)
    yield from _counted("as expected", nerve.expected)


def _counted(label: str, steps: Sequence[Step]) -> tuple[str, ...]:
    if len(steps) > FEW:
        return (f"{label}: {len(steps)} steps",)
    return _row(label, [step.title for step in steps])


def _placed(part: Part, what: str = "") -> str:
    """Name a step with the entries in question in brackets."""
    where = place_words(part.step, part.entries) or (joined(SIDES) if part.step.sides else "")
    inside = " ".join(filter(None, (where, what)))
    return part.step.title + (f" ({inside})" if inside else "")


def _not_examined(steps: Iterable[Step]) -> str:
    """Name what has no finding: where a step allows it, an attempt may have been made."""
    return "not examined or not seen" if any(step.may_be_unseen for step in steps) else "not examined"
