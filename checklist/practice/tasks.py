"""Builds the task of a rehearsal from what somebody wants, or says in one line why it cannot be. Pure.

What is drawn follows from a seed; what an earlier session left out is read from that session.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from checklist.errors import ChecklistError
from checklist.practice.rehearsal import (
    CONTENT,
    GAPS,
    LEFT_OUT,
    ORDER,
    SHORTEST_RANDOM,
    Task,
    drawn_start,
    has_content,
    left_out,
    scope,
    task_of,
    whole,
)
from checklist.protocol.model import Protocol, Step
from checklist.protocol.problems import in_brackets, listed
from checklist.session.session import REHEARSAL, Session
from checklist.text import one_line

RANDOM = "random"
"""Begins at a step that is drawn."""
FEWEST_WITH_GAPS = 3
"""Steps of a run of which some are left out; of fewer, nothing would be left to see."""
MOST_NEAR = 3
"""Ids that a message offers in place of one that is not known."""
_LABELS = {
    ORDER: "order",
    GAPS: "around some steps",
    LEFT_OUT: "what was left out",
    CONTENT: "content",
}


class TaskError(ChecklistError):
    """Something to rehearse that the protocol, or the earlier session, does not hold."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Wish:
    """What somebody wants to rehearse, before it is known whether it can be."""

    kind: str = ORDER
    section: str = ""
    begin_at: str = ""
    """Id of a step, or `random`."""
    around: tuple[str, ...] = ()
    """Ids of the steps around which is asked."""
    is_typed: bool = False


def task(protocol: Protocol, wish: Wish, seed: str) -> Task:
    """Return what is to be rehearsed; raises TaskError when the protocol lacks it or has nothing to ask."""
    _demand_section(protocol, wish.section)
    if wish.kind != CONTENT and not scope(protocol, wish.section):
        raise TaskError("every step there depends on what is found; none has a place in the order")
    if wish.kind == CONTENT and not has_content(protocol, wish.section):
        raise TaskError("there is nothing to ask of these steps but their titles")
    if wish.kind == LEFT_OUT and len(scope(protocol, wish.section)) < FEWEST_WITH_GAPS:
        raise TaskError(f"a run with gaps needs {FEWEST_WITH_GAPS} steps that always belong to it")
    around = here(protocol, wish.section, wish.around)
    if wish.kind == GAPS and not around:
        raise TaskError("none of these steps is asked for here")
    return Task(
        kind=wish.kind,
        section=wish.section,
        start=_start(protocol, wish, seed),
        around=around if wish.kind == GAPS else (),
        # What was left out is always typed: to say it aloud would leave nothing to compare.
        is_typed=wish.is_typed and wish.kind != LEFT_OUT,
    )


def here(protocol: Protocol, section: str, steps: Iterable[str]) -> tuple[str, ...]:
    """Return those of the steps that belong to the section, or to the whole."""
    asked = {step.id for step in whole(protocol, section)}
    return tuple(each for each in steps if each in asked)


def missed(protocol: Protocol, section: str, earlier: Session, name: str) -> tuple[str, ...]:
    """Return the ids of the steps that an earlier session of the protocol left out.

    Raises TaskError, which calls the session by `name`, when it left out nothing that is asked for here.
    """
    if earlier.protocol.id != protocol.id:
        raise TaskError(f"{name} is of protocol '{earlier.protocol.id}', not '{protocol.id}'")
    if found := here(protocol, section, (step.id for step in left_out(earlier))):
        return found
    raise TaskError(f"{name} left out no step that is asked for here")


def can_draw(protocol: Protocol, section: str) -> bool:
    """Whether there is more than one step at which a random start could lie."""
    return len(scope(protocol, section)) > SHORTEST_RANDOM


def label(words: str) -> str:
    """Return in plain words what a rehearsal with this task in its header is: `rehearsal: order, typed`."""
    found = task_of(words)
    if found is None:
        # What a case is takes as long to load as all else here, and home shows these words.
        from checklist.practice.cases import TASK

        return "simulated patient" if words == TASK else REHEARSAL
    parts = [_LABELS[found.kind]]
    parts += ["one section"] if found.section else []
    parts += ["from a later step"] if found.start else []
    parts += ["typed"] if found.is_typed and found.kind != LEFT_OUT else []
    return f"{REHEARSAL}: {', '.join(parts)}"


def _demand_section(protocol: Protocol, section: str) -> None:
    if section and section not in {each.id for each in protocol.sections}:
        known = ", ".join(each.id for each in protocol.sections)
        raise TaskError(f"this protocol has no section '{one_line(section)}'; it has {known}")


def _start(protocol: Protocol, wish: Wish, seed: str) -> str:
    if wish.begin_at == RANDOM:
        return drawn_start(protocol, wish.section, seed)
    if wish.begin_at and wish.begin_at not in {step.id for step in scope(protocol, wish.section)}:
        raise TaskError(_no_start(protocol, wish))
    return wish.begin_at


def _no_start(protocol: Protocol, wish: Wish) -> str:
    """Say why a step is none to begin at: it is not there, or has no fixed place in what is asked."""
    what = f"there is no step '{one_line(wish.begin_at)}' to begin at"
    step = protocol.step_of.get(wish.begin_at)
    if step is None:
        near = listed(nearest_steps(wish.begin_at, scope(protocol, wish.section)))
        return what + in_brackets(f"did you mean {near}?" if near else _WHERE_IDS_ARE)
    if step.only_if:
        return f"{what}: it depends on what is found"
    return f"{what}: it is in section '{protocol.section_of[step.id].id}', not in '{wish.section}'"


_WHERE_IDS_ARE = "the protocol's file gives the id of each step"


def nearest_steps(typed: str, steps: Sequence[Step]) -> list[str]:
    """Return the ids that are nearest to what was typed, or else those whose titles hold all its words."""
    # Only wanted when something is wrong, and slow to import.
    from difflib import get_close_matches

    if near := get_close_matches(typed[:100], [step.id for step in steps], n=MOST_NEAR):
        return near
    words = typed.casefold().replace("-", " ").split()
    fitting = [step.id for step in steps if words and all(word in step.title.casefold() for word in words)]
    return fitting[:MOST_NEAR]
