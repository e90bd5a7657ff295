"""What a typed answer in a rehearsal comes to: which steps are marked, how, and what is said. Pure.

Only the first answer to a question counts in full: a second try is one with a hint. Of steps that may come in
any order none is taken as missed while others can be named; what stays unnamed is seen and marked at the end.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from checklist.practice.rehearsal import (
    ADDED,
    LEFT_OUT,
    NAMED,
    NOT_RECALLED,
    ORDER,
    OUT_OF_PLACE,
    RECALLED,
    WITH_HINT,
    Question,
    answers,
    open_questions,
    questions,
    shown_already,
    shown_run,
    together,
)
from checklist.practice.typed_step import Meant, meant
from checklist.protocol.model import Step
from checklist.session.session import Session


@dataclass(frozen=True, kw_only=True, slots=True)
class Mark:
    """What is to be recorded of a step."""

    step: Step
    how: str
    what: str
    hints: int = 0


@dataclass(frozen=True, kw_only=True, slots=True)
class Verdict:
    """What becomes of a typed answer."""

    marks: tuple[Mark, ...] = ()
    note: str = ""
    """What is said; empty where the mark says all."""
    is_tried_again: bool = False
    """Whether the question stays for one more try, with a hint."""


def verdict(session: Session, question: Question, typed: str, *, is_last_try: bool) -> Verdict:
    """Compare what was typed with the protocol; `is_last_try` is whether the try before missed already."""
    found = _found(session, question, typed)
    if found.is_unclear and not any(_is_named(step, typed) for step in found.steps):
        return Verdict(note="That fits several steps alike: type more of it.")
    if question.what == LEFT_OUT:
        return _of_a_gap(session, found.steps)
    if right := _right(session, question, found.steps):
        return Verdict(marks=(right,))
    if len(together(session, question)) > 1:
        return _astray_in_group(session, question, found.steps)
    return _astray(session, question, found.steps, is_last_try=is_last_try)


# Which step is meant.


def _found(session: Session, question: Question, typed: str) -> Meant:
    """Return the steps meant: of those that the rehearsal asks for, or else of all.

    Of several that fit alike, those that could come here go first, then those without an answer.
    """
    asked = [each.step for each in questions(session)]
    found = meant(typed, asked)
    if not found.steps:
        found = meant(typed, session.protocol)
    if exact := tuple(step for step in found.steps if _is_named(step, typed)):
        found = Meant(steps=exact)
    answered = {each.step for each in answers(session)}
    here = {each.step.id for each in together(session, question)}
    section = {step.id for step in session.protocol.section_of[question.step.id].steps}
    for near in (here, section - answered, _ids(session.protocol) - answered):
        if narrowed := tuple(step for step in found.steps if step.id in near):
            return Meant(steps=narrowed)
    return found


def _ids(steps: Iterable[Step]) -> set[str]:
    return {step.id for step in steps}


def _is_named(step: Step, typed: str) -> bool:
    return any(name.casefold() == typed.casefold() for name in (step.title, *step.also))


# What it comes to.


def _right(session: Session, question: Question, steps: Sequence[Step]) -> Mark | None:
    """Return the mark of the step asked for, or of one that may as well come here; None for any other."""
    here = together(session, question)
    named = next((each for each in (question, *here) if each.step in steps), None)
    if named is None:
        return None
    hints = shown_already(session, named)
    return Mark(step=named.step, how=WITH_HINT if hints else RECALLED, what=question.what, hints=hints)


def _astray(session: Session, question: Question, steps: Sequence[Step], *, is_last_try: bool) -> Verdict:
    named = steps[0] if steps else None
    is_ordered = question.what in {ORDER, ADDED}
    if named and is_ordered and named.only_if and question.what == ORDER:
        return Verdict(note=f"{named.title}: only if {named.only_if}. What comes next without it?")
    hints = shown_already(session, question)
    if not is_ordered and named:
        missed = Mark(step=question.step, how=NOT_RECALLED, what=question.what, hints=hints)
        return Verdict(marks=(missed,), note=_not_recalled(question, named))
    if is_last_try or hints:
        return _missed(session, question, named, hints)
    why = _where(session, question, named) if named else "Nothing in the protocol is near to it."
    return Verdict(
        marks=tuple(_misplaced(session, question, named)),
        note=f"{why} One more try, with a hint.",
        is_tried_again=True,
    )


def _missed(session: Session, question: Question, named: Step | None, hints: int) -> Verdict:
    """Return that the step was not recalled; a later one that was named was, at its place or not."""
    missed = Mark(step=question.step, how=NOT_RECALLED, what=question.what, hints=hints)
    after = [each for each in open_questions(session) if each.step != question.step]
    marks = [missed]
    next_ones = together(session, after[0]) if after and after[0].what == ORDER else ()
    if named and named in [each.step for each in next_ones]:
        marks.append(Mark(step=named, how=RECALLED, what=ORDER))
    else:
        marks += _misplaced(session, question, named)
    return Verdict(marks=tuple(marks), note=_not_recalled(question, named))


def _not_recalled(question: Question, named: Step | None) -> str:
    instead = f", not {named.title}" if named else ""
    return f"{NOT_RECALLED.capitalize()}: {question.step.title} was asked for{instead}"


def _misplaced(session: Session, question: Question, named: Step | None) -> Iterator[Mark]:
    """Yield the mark of a step that is still to come, named before its turn."""
    to_come = (each for each in open_questions(session) if each.what == ORDER and each.step != question.step)
    if question.what in {ORDER, ADDED} and named in [each.step for each in to_come]:
        assert named is not None
        yield Mark(step=named, how=OUT_OF_PLACE, what=ORDER)


def _astray_in_group(session: Session, question: Question, steps: Sequence[Step]) -> Verdict:
    """Take none of several as missed: the others can still be named."""
    if not steps:
        return Verdict(note="Nothing in the protocol is near to it.")
    marks = tuple(_misplaced(session, question, steps[0]))
    return Verdict(marks=marks, note=_where(session, question, steps[0]))


def _where(session: Session, question: Question, named: Step) -> str:
    """Say where a step that does not come here stands."""
    if named.only_if:
        return f"{named.title}: only if {named.only_if}."
    position = session.protocol.position_of
    if named.id in {each.step for each in answers(session)}:
        return f"{named.title} was before."
    if position[named.id] < position[question.step.id]:
        return f"{named.title} comes before."
    is_asked = named in [each.step for each in open_questions(session)]
    return f"{named.title} comes later{', and is out of place' if is_asked else ''}."


def _of_a_gap(session: Session, steps: Sequence[Step]) -> Verdict:
    """Return what naming a step that a shown run lacks comes to; a wrong name is told at the end.

    Otherwise one could name all steps till some fit.
    """
    missing = [each for each in open_questions(session) if each.step in steps]
    if missing:
        hints = shown_already(session, missing[0])
        how = WITH_HINT if hints else RECALLED
        return Verdict(marks=(Mark(step=missing[0].step, how=how, what=LEFT_OUT, hints=hints),))
    if not steps:
        return Verdict(note="Nothing in the protocol is near to it.")
    named = steps[0]
    if named.id in {each.step for each in answers(session)}:
        return Verdict(note=f"{named.title} was named already.")
    if named not in shown_run(session):
        why = f": only if {named.only_if}" if named.only_if else ""
        return Verdict(note=f"{named.title} is no part of this run{why}.")
    wrong = Mark(step=named, how=NOT_RECALLED, what=NAMED)
    return Verdict(marks=(wrong,), note=f"{named.title} is not left out; it stands in the run.")
