"""What a rehearsal asks, in which order, and how it went. Pure: the task and a session in, values out.

What is asked follows from the session alone: its protocol, its task and its id, which seeds what is drawn.
So a rehearsal that is taken up again asks on where it stood.
"""

from collections import Counter
from collections.abc import Container, Iterable, Iterator, Sequence
from dataclasses import dataclass
from hashlib import sha256
from itertools import pairwise, takewhile

from checklist.practice.order import is_left_out
from checklist.practice.typed_step import tells_technique
from checklist.protocol.model import Protocol, Step
from checklist.session.events import RECALLS, Recalled, Shown
from checklist.session.session import REHEARSAL, Session

ORDER, GAPS, LEFT_OUT, CONTENT = "order", "gaps", "left-out", "content"
KINDS = (ORDER, GAPS, LEFT_OUT, CONTENT)
"""First words of the tasks that ask by recall."""
RECALLED, OUT_OF_PLACE, WITH_HINT, NOT_RECALLED = RECALLS
ASPECTS = ("expect", "technique", "needs", "covers", "caution", "say", "only_if")
"""What can be asked of a step, by its key in the protocol."""
ADDED = "added"
"""The conditional step that is added here: in the order its condition is shown, and the step is asked for."""
NAMED = "named"
"""A step that was said to be left out, and was not: no question, but told at the end."""
WHICH = "which"
"""The other way round: what is expected is shown, and the step is asked for."""
BY_STEP = frozenset({ORDER, ADDED, LEFT_OUT, WHICH})
"""What is answered by a step."""
FEWEST_LEFT_OUT, MOST_LEFT_OUT = 3, 5
SHORTEST_RANDOM = 5
"""Steps that a random starting point leaves to be said, where the protocol has as many."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Task:
    """What is rehearsed, and where: what the header of a session holds as `task`."""

    kind: str
    section: str = ""
    start: str = ""
    """Id of the step to begin at."""
    around: tuple[str, ...] = ()
    """Ids of the steps that were left out earlier."""
    is_typed: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class Question:
    """One thing to bring to mind."""

    step: Step
    what: str = ORDER
    cue: Step | None = None
    """The step that comes before, where it was not what was asked last."""
    beside: tuple[Step, ...] = ()
    """Steps that may be done in any order with this one, and are not asked for."""


def task_words(task: Task) -> str:
    """Return a task as a header holds it: `order eyes`, `gaps around=look,pulse`."""
    words = [task.kind, task.section]
    words += [f"from={task.start}"] if task.start else []
    words += [f"around={','.join(task.around)}"] if task.around else []
    words += ["typed=yes"] if task.is_typed else []
    return " ".join(filter(None, words))


def task_of(text: str) -> Task | None:
    """Return the task that a header holds; None for one that does not ask by recall."""
    kind, *words = text.split() or [""]
    if kind not in KINDS:
        return None
    options = dict(word.split("=", 1) for word in words if "=" in word)
    return Task(
        kind=kind,
        section=next((word for word in words if "=" not in word), ""),
        start=options.get("from", ""),
        around=tuple(filter(None, options.get("around", "").split(","))),
        is_typed=options.get("typed") == "yes" or kind == LEFT_OUT,
    )


def is_recall(session: Session) -> bool:
    """Whether a session is a rehearsal that asks by recall."""
    return session.header.mode == REHEARSAL and task_of(session.header.task) is not None


def task_in(session: Session) -> Task:
    return task_of(session.header.task) or Task(kind=ORDER)


# Which steps there are to ask.


def scope(protocol: Protocol, section: str = "") -> tuple[Step, ...]:
    """Return the steps that always belong to the order; conditional ones depend on what is found."""
    return tuple(step for step in whole(protocol, section) if not step.only_if)


def left_out(session: Session) -> tuple[Step, ...]:
    """Return the steps of an earlier session that were left out.

    In a rehearsal by recall these are those that were not recalled, or at another place.
    """
    if is_recall(session):
        missed = {each.step for each in answers(session) if each.how in {NOT_RECALLED, OUT_OF_PLACE}}
        return tuple(step for step in session.protocol if step.id in missed)
    return tuple(step for step in scope(session.protocol) if is_left_out(session, step))


def has_content(protocol: Protocol, section: str) -> bool:
    """Whether there is anything to ask of the steps but their order."""
    return any(_asked_of(protocol, step, is_telling=False) for step in whole(protocol, section))


def drawn_start(protocol: Protocol, section: str, seed: str) -> str:
    """Return a step to begin at, with some steps still to come."""
    steps = scope(protocol, section)
    return drawn(seed, [step.id for step in steps[: max(1, len(steps) - SHORTEST_RANDOM + 1)]])[0]


def drawn(seed: str, names: Iterable[str]) -> list[str]:
    """Return names in an order that looks like chance: by the SHA-256 of seed and name.

    It is the same on every machine and with every version of Python, so that what was begun can be taken up.
    """
    return sorted(names, key=lambda name: sha256(f"{seed} {name}".encode()).digest())


def questions(session: Session) -> tuple[Question, ...]:
    """Return all that the rehearsal asks, in order."""
    task = task_in(session)
    match task.kind:
        case "content":
            return _content(session, task)
        case "left-out":
            return tuple(Question(step=step, what=LEFT_OUT) for step in _drawn_out(session, task))
        case _:
            return tuple(_in_order(session.protocol, _to_ask(session.protocol, task)))


def _to_ask(protocol: Protocol, task: Task) -> tuple[Step, ...]:
    """Return the steps to ask for in order; around a gap, with its neighbours that always belong to it."""
    every = whole(protocol, task.section)
    if task.kind == GAPS:
        near = {each for step in every if step.id in task.around for each in _neighbours(every, step)}
        return tuple(step for step in every if step.id in near)
    starts = [place for place, step in enumerate(every) if step.id == task.start]
    return every[starts[0] :] if starts else every


def _neighbours(steps: Sequence[Step], step: Step) -> tuple[str, ...]:
    """Return the ids of a step and of the nearest steps before and after it that are not conditional."""
    place = steps.index(step)
    before = next((each.id for each in reversed(steps[:place]) if not each.only_if), step.id)
    after = next((each.id for each in steps[place + 1 :] if not each.only_if), step.id)
    return before, step.id, after


def _in_order(protocol: Protocol, steps: Sequence[Step]) -> Iterator[Question]:
    """Ask for each step after what comes before; for a conditional one by its condition."""
    before_of = {later.id: earlier for earlier, later in pairwise(scope(protocol))}
    asked = {step.id for step in steps}
    last: Step | None = None
    before: Step | None = None
    for step in steps:
        if step.only_if:
            yield Question(step=step, what=ADDED, cue=before)
        else:
            group = in_any_order(protocol, step)
            beside = tuple(protocol.step_of[each] for each in group if each not in asked)
            # Within a group nothing comes before: what does is before the whole of it.
            neighbour = before_of.get(group[0] if beside else step.id)
            yield Question(step=step, cue=neighbour if neighbour is not last else None, beside=beside)
            before = step
        last = step


def _content(session: Session, task: Task) -> tuple[Question, ...]:
    """Return one question a step, shuffled: in the order of the protocol one answer gives the next away."""
    steps = whole(session.protocol, task.section)
    seed, expected = session.header.id, Counter(step.expect for step in session.protocol)
    asked = {
        step.id: Question(step=step, what=drawn(f"{seed} {step.id}", kinds)[0])
        for step in steps
        if (kinds := _asked_of(session.protocol, step, is_telling=expected[step.expect] == 1))
    }
    return tuple(asked[step] for step in drawn(seed, asked))


def _asked_of(protocol: Protocol, step: Step, *, is_telling: bool) -> tuple[str, ...]:
    """Return what is asked of a step: not for its equipment where that is only a quality of the room."""
    own = aspects(step, is_telling=is_telling)
    return own if _instruments(protocol, step) else tuple(key for key in own if key != "needs")


def whole(protocol: Protocol, section: str) -> tuple[Step, ...]:
    """Return all steps of a section, or of the protocol."""
    return next((each.steps for each in protocol.sections if each.id == section), protocol.steps)


_NO_TECHNIQUES = frozenset({"tell", "hygiene"})


def aspects(step: Step, *, is_telling: bool) -> tuple[str, ...]:
    """Return what can be asked of a step: what it has, and the step itself where what it expects tells it.

    Not asked is a technique that the title says, or that is none of examining.
    """
    own = tuple(key for key in ASPECTS if getattr(step, key))
    if step.technique in _NO_TECHNIQUES or tells_technique(step.title, step.technique):
        own = tuple(key for key in own if key != "technique")
    return (*own, WHICH) if step.expect and is_telling else own


def _drawn_out(session: Session, task: Task) -> tuple[Step, ...]:
    """Return the steps that the shown run lacks, in order: 3 to 5, fewer where there are few steps."""
    steps = scope(session.protocol, task.section)
    seed = session.header.id
    wanted = int(drawn(seed, [str(count) for count in range(FEWEST_LEFT_OUT, MOST_LEFT_OUT + 1)])[0])
    chosen = drawn(seed, [step.id for step in steps])[: max(1, min(wanted, len(steps) // 3))]
    return tuple(step for step in steps if step.id in chosen)


def shown_run(session: Session) -> tuple[Step, ...]:
    """Return the run with gaps: the steps in order, without those that were drawn and are not answered."""
    answered = {each.step for each in answers(session)}
    hidden = {question.step.id for question in questions(session)} - answered
    return tuple(step for step in scope(session.protocol, task_in(session).section) if step.id not in hidden)


# Where a rehearsal stands.


def answers(session: Session) -> tuple[Recalled, ...]:
    """Return the answers to what was asked, in the order in which they were first given."""
    return tuple(each for each in session.state.recalls if each.what != NAMED)


def open_questions(session: Session) -> tuple[Question, ...]:
    """Return what has no answer yet, in order."""
    answered = {(each.step, each.what) for each in session.state.recalls}
    return tuple(each for each in questions(session) if (each.step.id, each.what) not in answered)


def shown_already(session: Session, question: Question) -> int:
    """Return how often something of the answer was shown before.

    What is shown is written first, so that leaving and coming back makes no hint unseen.
    """
    return sum(
        isinstance(event, Shown) and event.what == question.what and question.step.id in event.steps
        for event in session.events
    )


def together(session: Session, question: Question) -> tuple[Question, ...]:
    """Return the open questions that are asked, shown and marked with this one, itself among them, in order.

    Steps that may be done in any order have no order to recall: to show one of them alone would give the
    next answers away, or call a right one wrong.
    """
    if question.what not in {ORDER, ADDED}:
        return (question,)
    group = in_any_order(session.protocol, question.step)
    condition = question.step.only_if
    return tuple(
        each
        for each in open_questions(session)
        if each.what == question.what and each.step.id in group and each.step.only_if == condition
    )


def in_any_order(protocol: Protocol, step: Step) -> tuple[str, ...]:
    """Return the ids of the steps that may be done in any order with this one, itself among them, in order.

    Steps of one free order with a fixed step between them have an order to each other; conditional steps are
    none that are between.
    """
    steps = [each for each in protocol.section_of[step.id].steps if bool(each.only_if) == bool(step.only_if)]
    groups = protocol.section_of[step.id].free_order
    free = next((set(group.steps) for group in groups if step.id in group.steps), {step.id})
    place = steps.index(step)
    before = takewhile(lambda each: each.id in free, reversed(steps[:place]))
    after = takewhile(lambda each: each.id in free, steps[place:])
    return tuple(each.id for each in (*reversed(tuple(before)), *after))


# Hints: each says more than the one before, and none the whole.


def hints(session: Session, question: Question) -> tuple[str, ...]:
    """Return the hints to a question, in the order in which they are shown."""
    step = question.step
    if question.what in BY_STEP:
        section = session.protocol.section_of[step.id].title
        known = bool(task_in(session).section)
        section_hint = () if known else (f"Section: {section}",)
        return (*section_hint, f"Technique: {step.technique}", f"It begins: {first_words(step.title)}")
    return (f"It begins: {first_words(answer(session.protocol, question))}",)


def first_words(text: str) -> str:
    """Return the first two words of a long text, one of a short one, and a letter of one or two words."""
    words = text.split()
    if len(words) < FEW_WORDS:
        return f"{text[:1]}…"
    return f"{' '.join(words[: 2 if len(words) > FEW_WORDS else 1])} …"


FEW_WORDS = 3


def answer(protocol: Protocol, question: Question) -> str:
    """Return what is to be brought to mind."""
    step = question.step
    match question.what:
        case "needs":
            return "; ".join((*_instruments(protocol, step), *_of_the_room(protocol, step)))
        case "covers":
            return ", ".join(step.covers)
        case "expect" | "technique" | "caution" | "say" | "only_if":
            return str(getattr(step, question.what))
        case _:
            return step.title


def _instruments(protocol: Protocol, step: Step) -> tuple[str, ...]:
    needed = (protocol.equipment_of[each] for each in step.needs)
    return tuple(each.name for each in needed if not each.room)


def _of_the_room(protocol: Protocol, step: Step) -> tuple[str, ...]:
    needed = (protocol.equipment_of[each] for each in step.needs)
    return tuple(f"and of the room: {each.name}" for each in needed if each.room)


# How it went.


@dataclass(frozen=True, kw_only=True, slots=True)
class Outline:
    """How a rehearsal went, in counts; what was not asked is neither known nor failed."""

    asked: int
    """Questions with an answer."""
    of: int
    counts: tuple[tuple[str, int], ...]
    """How it came to mind → how often, for those that occur."""
    missed: tuple[tuple[str, tuple[Recalled, ...]], ...]
    """Title of the section → what was not recalled there, in the order of the protocol."""
    hinted: tuple[Recalled, ...]
    misplaced: tuple[Recalled, ...]
    misnamed: tuple[Recalled, ...]
    """Said to be left out of a run, and not."""
    seconds: float
    """The clock stands still while it is read how it went."""
    planned: float
    """Seconds that are planned to perform the steps that were asked for."""
    hasty: tuple[Recalled, ...]
    """Answers that came too soon after the one before for the words to be said."""


HASTY_SECONDS = 1.0
"""No step is said, looked at and marked in less; common practice, no source."""


def outline(session: Session) -> Outline:
    """Return how the rehearsal went so far."""
    recalls = answers(session)
    hows = [each.how for each in recalls]
    return Outline(
        asked=len(recalls),
        of=len(questions(session)),
        counts=tuple((how, hows.count(how)) for how in RECALLS if how in hows),
        missed=tuple(_by_section(session.protocol, _of(recalls, NOT_RECALLED))),
        hinted=_of(recalls, WITH_HINT),
        misplaced=_of(recalls, OUT_OF_PLACE),
        misnamed=tuple(each for each in session.state.recalls if each.what == NAMED),
        seconds=session.state.clock,
        planned=planned_for(session.protocol, {each.step for each in recalls}),
        hasty=hasty(session),
    )


def _of(recalls: Iterable[Recalled], how: str) -> tuple[Recalled, ...]:
    return tuple(each for each in recalls if each.how == how)


def _by_section(protocol: Protocol, missed: Sequence[Recalled]) -> Iterator[tuple[str, tuple[Recalled, ...]]]:
    for section in protocol.sections:
        ids = [step.id for step in section.steps]
        found = sorted((each for each in missed if each.step in ids), key=lambda each: ids.index(each.step))
        if found:
            yield section.title, tuple(found)


def planned_for(protocol: Protocol, steps: Container[str]) -> float:
    """Return the seconds that the protocol plans for these steps."""
    return float(sum(step.seconds for step in protocol if step.id in steps))


def hasty(session: Session) -> tuple[Recalled, ...]:
    """Return the answers marked as recalled sooner after the one before than the words can be said.

    Steps that were shown together were said before that, and are marked one after the other.
    """
    recalls = answers(session)
    return tuple(
        later
        for before, later in pairwise(recalls)
        if later.clock - before.clock < HASTY_SECONDS
        and later.how == RECALLED
        and not later.typed
        and not _is_shown(session, later, before.n)
    )


def _is_shown(session: Session, recalled: Recalled, until: int) -> bool:
    """Whether the answer was seen before the event of this number."""
    return any(
        isinstance(event, Shown) and event.what == recalled.what and recalled.step in event.steps
        for event in session.events[:until]
    )
