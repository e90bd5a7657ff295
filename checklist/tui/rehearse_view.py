"""What is seen in a rehearsal: what is asked, the answer, and what was answered. Pure: lines out."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from checklist.practice import rehearsal
from checklist.practice.rehearsal import ADDED, GAPS, LEFT_OUT, ORDER, WHICH, Question
from checklist.protocol.model import Step
from checklist.session.session import Session
from checklist.summary.document import plain_text
from checklist.summary.practise import counted
from checklist.summary.rehearsed import TASK_WORDS, rehearsed, said_of
from checklist.summary.timeline import minutes
from checklist.tui.draw import BLANK, Line, labelled, spread, window, wrap
from checklist.tui.step_view import minutes as by_the_clock

ASKED = {
    "expect": "What is expected?",
    "technique": "By which technique?",
    "needs": "Which equipment?",
    "covers": "What does it cover?",
    "caution": "Which caution?",
    "say": "What is said to the person?",
    "only_if": "When is this step added?",
    ADDED: "Which step is added here?",
    WHICH: "At which step is this expected?",
}
ONE = 1
ROWS_BESIDE = 11
"""Rows that an answer needs beside the list of steps that are shown together."""
FEWEST_TOGETHER = 7
"""Rows of that list at least."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Sight:
    """What a rehearsal shows now."""

    question: Question | None
    """What is asked; None when all is answered."""
    hints: int = 0
    is_revealed: bool = False


def head_lines(session: Session, clock: float, width: int) -> list[Line]:
    """Return what is rehearsed, how much was recalled so far, and how the time runs."""
    task, figures = rehearsal.task_in(session), rehearsal.outline(session)
    left = f"Rehearsal: {TASK_WORDS[task.kind]}   {session.protocol.title}"
    recalled = dict(figures.counts).get(rehearsal.RECALLED, 0)
    right = f"{recalled} recalled   NO PATIENT "
    times = [("time ", "quiet"), (by_the_clock(clock), "strong")]
    times.append((f"   {figures.asked} of {figures.of} answered", "quiet"))
    if task.kind in {ORDER, GAPS} and figures.asked:
        times.append((f"   {minutes(figures.planned)} planned to perform them", "quiet"))
    return [spread([(left, "bar")], [(right, "bar")], width), tuple(times)]


# Asking and answering.


def question_lines(session: Session, sight: Sight, width: int, height: int) -> list[Line]:
    """Return what is asked, with the hints looked at, or with its answer."""
    question = sight.question
    if question is None:
        return [(("Everything that was asked has an answer.", "strong"),)]
    if question.what == LEFT_OUT:
        title, *run = _left_out_lines(session, width)
        return [title, *_hint_lines(session, question, sight.hints, width), *run]
    asked = _asked(session, question, width)
    hinted = _hint_lines(session, question, sight.hints, width)
    rows = max(FEWEST_TOGETHER, height - ROWS_BESIDE)
    answered = _answer_lines(session, question, width, rows) if sight.is_revealed else []
    return [*asked, *hinted, *answered]


def _asked(session: Session, question: Question, width: int) -> list[Line]:
    step, what = question.step, question.what
    section = session.protocol.section_of[step.id].title
    if what in {ORDER, ADDED}:
        return _asked_in_order(session, question, width)
    title: Line = ((ASKED[what], "title"),)
    if what == WHICH:
        return [title, BLANK, *labelled("Expect", step.expect, width, "strong")]
    return [
        title,
        BLANK,
        *labelled("Step", step.title, width, "strong"),
        *labelled("Section", section, width),
    ]


def _asked_in_order(session: Session, question: Question, width: int) -> list[Line]:
    together = rehearsal.together(session, question)
    first, section = together[0], rehearsal.task_in(session).section
    lines: list[Line] = [((_title_in_order(first, len(together)), "title"),), BLANK]
    if section:
        title = session.protocol.section_of[question.step.id].title
        lines += labelled("Section", title, width, "strong")
    if first.cue:
        lines += labelled("After", first.cue.title, width, "strong")
    if first.beside:
        lines += labelled("With", "; ".join(step.title for step in first.beside), width, "strong")
    if first.what == ADDED:
        lines += labelled("Only if", first.step.only_if, width, "strong")
    if not rehearsal.answers(session):
        begin = "" if first.cue else "From the beginning. "
        lines += labelled("", f"{begin}Say it aloud, and look only then.", width, "quiet")
    return lines


def _title_in_order(first: Question, several: int) -> str:
    if several > ONE:
        come = "are added here" if first.what == ADDED else "come next"
        return f"Which {several} steps {come}, in any order?"
    if first.beside:
        return "Which step goes with these, in any order?"
    return ASKED.get(first.what, "Which step comes next?")


def _hint_lines(session: Session, question: Question, count: int, width: int) -> list[Line]:
    shown = rehearsal.hints(session, question)[:count]
    to_one = "" if len(rehearsal.together(session, question)) == ONE else "to one of them: "
    return [line for hint in shown for line in labelled("Hint", f"{to_one}{hint}", width, "strong", "warn")]


def _answer_lines(session: Session, question: Question, width: int, rows: int) -> Iterator[Line]:
    yield BLANK
    several = rehearsal.together(session, question)
    if len(several) > ONE:
        yield from _several_lines(several, question.step, width, rows)
    else:
        for line in wrap(rehearsal.answer(session.protocol, question), width):
            yield ((line, "bar"),)
    yield BLANK
    step = question.step
    if question.what not in {ORDER, ADDED, WHICH}:
        return
    if not rehearsal.task_in(session).section:
        yield from labelled("Section", session.protocol.section_of[step.id].title, width)
    for label, text in (("Do", step.do), ("Say", step.say), ("Expect", step.expect)):
        if text:
            yield from labelled(label, text, width)


def _several_lines(several: Sequence[Question], step: Step, width: int, rows: int) -> Iterator[Line]:
    """Return the steps that are answered together, with the one that is marked next."""
    yield ((f"In any order; {counted(len(several), 'step')} to mark:", "strong"),)
    steps = [each.step for each in several]
    for place in window(len(steps), steps.index(step), rows):
        mark, look = ("▸", "bar") if steps[place] == step else (" ", "")
        yield spread([(f"{mark} {steps[place].title}", look)], [], width)


def _left_out_lines(session: Session, width: int) -> Iterator[Line]:
    """Return the run with its gaps; a step that was named since stands in its place, marked."""
    left = len(rehearsal.open_questions(session))
    many = f"{counted(left, 'step')} {'is' if left == ONE else 'are'}"
    named = {each.step: each.how for each in rehearsal.answers(session)}
    yield ((f"From this run {many} left out. Which?", "title"),)
    section = ""
    for step in rehearsal.shown_run(session):
        title = session.protocol.section_of[step.id].title
        if title != section:
            section = title
            yield ((title, "strong"),)
        note = named.get(step.id, "")
        yield spread(
            [(f"  {step.title}", "strong" if note else "")], [(note, "strong")] if note else [], width
        )


# Looking back, and the end.


def back_lines(session: Session, width: int) -> list[Line]:
    """Return what was answered, in the order in which it was, and how; the last first seen."""
    answers = rehearsal.answers(session)
    if not answers:
        return [(("Nothing was answered yet.", "quiet"),)]
    lines: list[Line] = [(("Answered so far, the latest first.", "strong"),), BLANK]
    for each in reversed(answers):
        lines.append(spread([(said_of(session, each), "")], [(f" {each.how}", _look(each.how))], width))
    return lines


def _look(how: str) -> str:
    return "quiet" if how == rehearsal.RECALLED else "strong"


def end_lines(session: Session, width: int) -> list[Line]:
    """Return how it went so far."""
    return [((line, ""),) for line in plain_text(rehearsed(session), width).splitlines()]
