"""How a rehearsal by recall went, to be read on the screen or printed. Counts and words, no score.

What was not asked is neither known nor failed, and is not mentioned as missed.
"""

from collections.abc import Iterable, Iterator

from checklist.errors import ChecklistError
from checklist.practice import rehearsal
from checklist.practice.rehearsal import ADDED, CONTENT, GAPS, LEFT_OUT, ORDER, WHICH, Outline, Task
from checklist.session.events import Recalled
from checklist.session.session import Session
from checklist.session.state import Stage
from checklist.summary.document import Block, Form, Note, Sentence
from checklist.summary.particulars import FICTIONAL
from checklist.summary.practise import NOT_FOR_THE_RECORD, counted
from checklist.summary.timeline import minutes
from checklist.summary.words import sentence

TASK_WORDS = {
    ORDER: "the order",
    GAPS: "around some steps",
    LEFT_OUT: "what was left out?",
    CONTENT: "the content",
}
ABOUT = {
    "expect": "what is expected",
    "technique": "technique",
    "needs": "equipment",
    "covers": "what it covers",
    "caution": "caution",
    "say": "what is said",
    "only_if": "when it is added",
    ADDED: "added on its condition",
    WHICH: "which step it is",
}


def rehearsed(session: Session) -> Note:
    """Return how a rehearsal went so far."""
    figures, task = rehearsal.outline(session), rehearsal.task_in(session)
    blocks = (
        Block(sentences=tuple(_circumstances(session, task))),
        Block(heading="HOW IT CAME TO MIND", sentences=tuple(_counts(figures)), form=Form.ITEMS),
        Block(heading="TIME", sentences=tuple(_time(figures, task))),
        *_missed(session, figures),
        *_listed(session, "OUT OF PLACE", figures.misplaced),
        *_listed(session, "WITH A HINT", figures.hinted),
        *_listed(session, "SAID TO BE LEFT OUT, AND WAS NOT", figures.misnamed),
        *_listed(session, "MARKED IN LESS THAN A SECOND", figures.hasty),
    )
    return Note(
        title=f"{session.protocol.title}: how the rehearsal went",
        banner=(NOT_FOR_THE_RECORD, *((FICTIONAL,) if session.header.fictional else ())),
        blocks=tuple(block for block in blocks if block.sentences),
    )


def demand_finished(session: Session) -> None:
    """Refuse a rehearsal that is not over: what is told of it would give its answers away."""
    if session.state.stage is not Stage.FINISHED:
        raise ChecklistError("this rehearsal is not finished; 'checklist resume' goes on with it")


def _sentence(text: str) -> Sentence:
    return Sentence(text=sentence(text))


def _circumstances(session: Session, task: Task) -> Iterator[Sentence]:
    header = session.header
    who = f"rehearsed by {header.examiner}" if header.examiner else "rehearsed without a code"
    yield _sentence(f"{who}, {header.created:%Y-%m-%d %H:%M}, without a patient")
    yield _sentence(f"task: {task_in_words(session, task)}")


def task_in_words(session: Session, task: Task) -> str:
    """Return what was rehearsed: `the order, section Eyes, typed`."""
    titles = {section.id: section.title for section in session.protocol.sections}
    start = session.protocol.step_of.get(task.start)
    parts = [TASK_WORDS[task.kind]]
    parts += [f"section {titles.get(task.section, task.section)}"] if task.section else []
    parts += [f"from: {start.title}"] if start else []
    return ", ".join([*parts, *(["typed"] if task.is_typed else [])])


def _counts(figures: Outline) -> Iterator[Sentence]:
    if not figures.asked:
        yield _sentence("nothing was answered, so nothing can be said")
    for how, count in figures.counts:
        yield Sentence(text=f"{count} {how}.")
    if left := figures.of - figures.asked:
        yield Sentence(text=f"{left} not asked: neither known nor failed.")


def _time(figures: Outline, task: Task) -> Iterator[Sentence]:
    if not figures.asked:
        return
    yield Sentence(text=f"{minutes(figures.seconds)}.")
    if task.kind in {ORDER, GAPS}:
        steps = counted(figures.asked, "step")
        yield _sentence(f"planned to perform the {steps}: {minutes(figures.planned)}")
    if figures.hasty:
        text = "marked as recalled in less than a second: too short to say it, and no sign that it is known"
        yield Sentence(text=f"{len(figures.hasty)} {text}.")


def _missed(session: Session, figures: Outline) -> Iterator[Block]:
    for section, missed in figures.missed:
        yield from _listed(session, f"NOT RECALLED: {section.upper()}", missed)


def _listed(session: Session, heading: str, recalls: Iterable[Recalled]) -> Iterator[Block]:
    sentences = tuple(
        _sentence(f"{said_of(session, each)}{f'; typed: {each.typed}' if each.typed else ''}")
        for each in recalls
    )
    yield Block(heading=heading, sentences=sentences, form=Form.ITEMS)


def said_of(session: Session, recalled: Recalled) -> str:
    """Name what was asked: the step, and what of it."""
    step = session.protocol.step_of[recalled.step]
    title = f"{step.title} (critical)" if step.critical else step.title
    about = ABOUT.get(recalled.what, "")
    return f"{title}: {about}" if about else title
