"""What is seen in a rehearsal: what is asked, the answer, what was answered, and how it went.

Pure: a session in, lines out. Counts and words, no score: what was not asked is not mentioned as missed.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from checklist.practice import rehearsal
from checklist.practice.rehearsal import CONTENT, GAPS, LEFT_OUT, ORDER, WHICH, Question
from checklist.protocol.model import Step
from checklist.session.events import Recalled
from checklist.session.session import Session
from checklist.tui.draw import BLANK, Line, labelled, spread, wrap
from checklist.tui.step_view import minutes

TASK_WORDS = {
    ORDER: "the order",
    GAPS: "around what was left out",
    LEFT_OUT: "what was left out?",
    CONTENT: "the content",
}
ASKED = {
    "expect": "What is expected?",
    "technique": "By which technique?",
    "needs": "Which equipment?",
    "covers": "What does it cover?",
    "caution": "Which caution?",
    "say": "What is said to the person?",
    WHICH: "At which step is this expected?",
}
ABOUT = {
    "expect": "what is expected",
    "technique": "technique",
    "needs": "equipment",
    "covers": "what it covers",
    "caution": "caution",
    "say": "what is said",
    WHICH: "which step it is",
}
FEW = 1


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
    right = f"{dict(figures.counts).get(rehearsal.RECALLED, 0)} recalled   NO PATIENT "
    times = [("time ", "quiet"), (minutes(clock), "strong")]
    if task.kind in {ORDER, GAPS}:
        pace = f"   target pace {minutes(figures.planned)} for {_steps(figures.asked)}"
        times.append((pace if figures.asked else "", "quiet"))
    return [spread([(left, "bar")], [(right, "bar")], width), tuple(times)]


def _steps(count: int) -> str:
    return f"{count} step{'' if count == FEW else 's'}"


# Asking and answering.


def question_lines(session: Session, sight: Sight, width: int) -> list[Line]:
    """Return what is asked, with the hints looked at, or with its answer."""
    question = sight.question
    if question is None:
        return [(("Everything that was asked has an answer.", "strong"),)]
    if question.what == LEFT_OUT:
        title, *run = _left_out_lines(session, width)
        return [title, *_hint_lines(session, question, sight.hints, width), *run]
    asked = _asked(session, question, width)
    hinted = _hint_lines(session, question, sight.hints, width)
    answered = _answer_lines(session, question, width) if sight.is_revealed else []
    return [*asked, *hinted, *answered]


def _asked(session: Session, question: Question, width: int) -> list[Line]:
    step, what = question.step, question.what
    section = session.protocol.section_of[step.id].title
    if what == ORDER:
        lines: list[Line] = [(("Which step comes next?", "title"),), BLANK]
        if rehearsal.task_in(session).section:
            lines += labelled("Section", section, width, "strong")
        if question.cue:
            lines += labelled("After", question.cue.title, width, "strong")
        return lines
    title: Line = ((ASKED[what], "title"),)
    if what == WHICH:
        return [title, BLANK, *labelled("Expect", step.expect, width, "strong")]
    return [
        title,
        BLANK,
        *labelled("Step", step.title, width, "strong"),
        *labelled("Section", section, width),
    ]


def _hint_lines(session: Session, question: Question, count: int, width: int) -> list[Line]:
    shown = rehearsal.hints(session, question)[:count]
    return [line for hint in shown for line in labelled("Hint", hint, width, "strong", "warn")]


def _answer_lines(session: Session, question: Question, width: int) -> Iterator[Line]:
    step = question.step
    yield BLANK
    for line in wrap(rehearsal.answer(session.protocol, question), width):
        yield ((line, "bar"),)
    yield BLANK
    if question.what not in {ORDER, WHICH}:
        return
    yield from labelled("Section", session.protocol.section_of[step.id].title, width)
    if others := _free_others(session, step):
        yield from labelled("Any order", "; ".join(others), width)
    for label, text in (("Do", step.do), ("Say", step.say), ("Expect", step.expect)):
        if text:
            yield from labelled(label, text, width)


def _free_others(session: Session, step: Step) -> list[str]:
    """Return the steps that may as well come here, and are not answered."""
    answered = {each.step for each in session.state.recalls}
    group = rehearsal.in_any_order(session.protocol, step)
    return [
        session.protocol.step_of[each].title for each in group if each != step.id and each not in answered
    ]


def _left_out_lines(session: Session, width: int) -> Iterator[Line]:
    """Return the run with its gaps; a step that was named since stands in its place, marked."""
    left = len(rehearsal.open_questions(session))
    named = {each.step: each.how for each in session.state.recalls}
    yield ((f"From this run {_steps(left)} {'is' if left == FEW else 'are'} left out. Which?", "title"),)
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
    if not session.state.recalls:
        return [(("Nothing was answered yet.", "quiet"),)]
    lines: list[Line] = [(("Answered so far, the latest first. The first answer counts.", "strong"),), BLANK]
    for each in reversed(session.state.recalls):
        lines.append(spread([(said_of(session, each), "")], [(f" {each.how}", _look(each.how))], width))
    return lines


def _look(how: str) -> str:
    return "quiet" if how == rehearsal.RECALLED else "strong"


def said_of(session: Session, recalled: Recalled) -> str:
    """Name what was asked: the step, and what of it."""
    title = session.protocol.step_of[recalled.step].title
    about = ABOUT.get(recalled.what, "")
    return f"{title}: {about}" if about else title


def end_lines(session: Session, width: int) -> list[Line]:
    """Return how it went: counts in words, what was not recalled by section, and the time."""
    figures = rehearsal.outline(session)
    lines: list[Line] = [((f"Rehearsed: {TASK_WORDS[rehearsal.task_in(session).kind]}", "title"),), BLANK]
    if not figures.asked:
        return [*lines, (("Nothing was answered, so nothing can be said.", ""),)]
    for how, count in figures.counts:
        lines += labelled(f"{count}", how, width, "strong", "strong")
    if left := figures.of - figures.asked:
        lines += labelled(f"{left}", "not asked: neither known nor failed", width, "quiet")
    lines += [BLANK, *_time_lines(session, figures, width)]
    for section, missed in figures.missed:
        lines += [BLANK, ((f"Not recalled: {section}", "strong"),), *_list(session, missed, width)]
    for title, recalls in (("Out of place", figures.misplaced), ("With a hint", figures.hinted)):
        if recalls:
            lines += [BLANK, ((title, "strong"),), *_list(session, recalls, width)]
    return lines


def _time_lines(session: Session, figures: rehearsal.Outline, width: int) -> Iterator[Line]:
    yield from labelled("Time", minutes(figures.seconds), width, "strong")
    if rehearsal.task_in(session).kind in {ORDER, GAPS}:
        text = f"{minutes(figures.planned)} for performing {_steps(figures.asked)}"
        yield from labelled("Target", text, width)
    if figures.hasty:
        text = f"{figures.hasty} marked as recalled in less than a second: too short to be said aloud."
        yield from labelled("Note", text, width, "warn")


def _list(session: Session, recalls: Sequence[Recalled], width: int) -> Iterator[Line]:
    for each in recalls:
        typed = f"   typed: {each.typed}" if each.typed else ""
        for line in wrap(f"{said_of(session, each)}{typed}", width - 2):
            yield ((f"  {line}", ""),)
