"""Time of a performance: by step and section, beside the plan and the person's own earlier sessions.

Also what only time shows: entries made faster than the manoeuvre can be done, and when hands were cleaned.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from statistics import median, quantiles

from checklist.practice.order import DONE_OUTCOMES, Performance, is_set_aside, performed
from checklist.protocol.model import Section, Step
from checklist.session.events import (
    Finished,
    Left,
    Marked,
    Moved,
    Paused,
    Recorded,
    Reopened,
    Resumed,
    Retracted,
    Started,
)
from checklist.session.session import OBSERVATION, Session
from checklist.session.state import Stage, State, apply

FEWEST_SESSIONS = 5
"""Earlier times of a step from which on one is called slow; common practice, no source."""
FENCE = 1.5
"""Slow is what lies more than so many interquartile ranges above the upper quartile; common practice."""
HASTY_SHARE, HASTY_SECONDS = 0.2, 3.0
"""An entry is hasty when it is recorded within this share of the step's planned time at the step, and within
so many seconds of the event before it. Our own rule, no source."""
RUSHED_SHARE = 0.1
"""Hasty entries at this share of the steps that count leave the result undecided. Our own rule, no source."""
BURST_SECONDS = 1.0
"""Marks at several steps, each within so many seconds of the last, are a burst. Our own rule, no source."""
TOUCHING = frozenset({"palpate", "percuss", "auscultate", "measure", "test"})
"""Techniques that as a rule touch the patient. Our own rule, no source."""
_NO_TIME = 0.5
"""Seconds: what is less is shown as 0:00 and is no time of a step."""


@dataclass(frozen=True, kw_only=True, slots=True)
class StepTime:
    """Seconds at one step, beside the plan and the earlier sessions."""

    step: Step
    seconds: float
    planned: float
    earlier: tuple[float, ...]
    """Seconds at the step in earlier sessions in which it was done, oldest first."""

    @property
    def usual(self) -> float | None:
        """The median of the earlier times."""
        return median(self.earlier) if self.earlier else None

    @property
    def fence(self) -> float | None:
        """Above which time the step is slow; None while there are too few earlier times."""
        if len(self.earlier) < FEWEST_SESSIONS:
            return None
        lower, _, upper = quantiles(self.earlier, n=4, method="inclusive")
        return upper + FENCE * (upper - lower)

    @property
    def is_slow(self) -> bool:
        return self.fence is not None and self.seconds > self.fence


@dataclass(frozen=True, kw_only=True, slots=True)
class SectionTime:
    """Seconds in one section."""

    section: Section
    seconds: float
    planned: float
    spans: tuple[tuple[float, float], ...]
    """When the examiner was in it: from and to, on the examination clock."""
    earlier: tuple[float, ...]
    """Seconds in earlier sessions in which a step of it was done, oldest first."""

    @property
    def usual(self) -> float | None:
        """The median of the earlier times."""
        return median(self.earlier) if self.earlier else None


@dataclass(frozen=True, kw_only=True, slots=True)
class Hasty:
    """An entry that was recorded faster than the manoeuvre can be done."""

    step: Step
    event: int
    seconds: float
    """At the step until then."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Hygiene:
    """When hands were cleaned, as recorded."""

    done: tuple[Performance, ...]
    """Steps that clean hands and were done, in the order done; equipment is not hands."""
    missed: tuple[Step, ...]
    """Steps that clean hands and were not done; conditional ones that were not triggered are not missed."""
    first_touch: Performance | None
    """The first step done that as a rule touches the patient."""
    last_touch: Performance | None
    before_first_touch: Performance | None
    after_last_touch: Performance | None
    cued: tuple[Performance, ...]
    """Steps done that carry a cue for hands or gloves; whether it was followed is not recorded apart."""
    gloves_kept: Performance | None
    """A step done in gloves with no step after it that takes them off, where the protocol has one."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Pace:
    """Where the time went."""

    total: float
    target: float
    steps: tuple[StepTime, ...]
    """Steps that were done or took time, in listed order."""
    sections: tuple[SectionTime, ...]
    sessions: int
    """How many earlier sessions of the person were compared."""
    hasty: tuple[Hasty, ...]
    bursts: tuple[Marked, ...]
    """Of an observation, the first mark of each step that was marked in a burst with others."""
    hygiene: Hygiene


def pace(session: Session, history: Sequence[Session] = ()) -> Pace:
    """Return the times of a session; of `history`, what is comparable and earlier counts."""
    earlier = comparable(session, history)
    return Pace(
        total=elapsed_seconds(session),
        target=session.protocol.target_seconds,
        steps=tuple(_step_times(session, earlier)),
        sections=tuple(_section_times(session, earlier)),
        sessions=len(earlier),
        hasty=hasty(session),
        bursts=tuple(_bursts(session)),
        hygiene=_hygiene(session),
    )


def elapsed_seconds(session: Session) -> float:
    """Return the seconds of examination; what was written after the end is none."""
    ended = (event.clock for event in session.events if isinstance(event, Finished))
    return next(ended, session.state.clock)


def comparable(session: Session, history: Sequence[Session]) -> tuple[Session, ...]:
    """Return the earlier finished sessions of the same protocol, mode and examiner's code, oldest first."""
    own = session.header
    found = [
        other
        for other in history
        if other.protocol.id == session.protocol.id
        and (other.header.examiner, other.header.mode) == (own.examiner, own.mode)
        and other.header.created < own.created
        and other.state.stage is Stage.FINISHED
    ]
    return tuple(sorted(found, key=lambda other: other.header.created))


def _step_times(session: Session, earlier: Sequence[Session]) -> Iterator[StepTime]:
    done = {each.step.id for each in performed(session)}
    past = [(other.state.seconds, {each.step.id for each in performed(other)}) for other in earlier]
    for step in session.protocol:
        seconds = session.state.seconds.get(step.id, 0.0)
        if step.id in done or seconds >= _NO_TIME:
            yield StepTime(
                step=step,
                seconds=seconds,
                planned=0.0 if is_unplanned(session, step) else float(step.seconds),
                earlier=tuple(times.get(step.id, 0.0) for times, did in past if step.id in did),
            )


def is_unplanned(session: Session, step: Step) -> bool:
    """Whether a conditional step was not triggered, so that it had no time of its own in the plan."""
    return is_set_aside(session, step)


def _section_times(session: Session, earlier: Sequence[Session]) -> Iterator[SectionTime]:
    spans: dict[str, list[tuple[float, float]]] = {}
    for state, clock in _running(session):
        inside = session.protocol.section_of[state.current]
        spans.setdefault(inside.id, []).append((state.clock, clock))
    for section in session.protocol.sections:
        own = tuple(spans.get(section.id, ()))
        yield SectionTime(
            section=section,
            seconds=sum(end - start for start, end in own),
            planned=planned_seconds(session, section),
            spans=own,
            earlier=tuple(_earlier_in(section, earlier)),
        )


def _earlier_in(section: Section, earlier: Sequence[Session]) -> Iterator[float]:
    ids = {step.id for step in section.steps}
    for other in earlier:
        if any(each.step.id in ids for each in performed(other)):
            yield sum(seconds for step, seconds in other.state.seconds.items() if step in ids)


def planned_seconds(session: Session, section: Section) -> float:
    """Return the planned seconds of a section, without conditional steps that were not triggered."""
    return float(sum(step.seconds for step in section.steps if not is_unplanned(session, step)))


def _running(session: Session) -> Iterator[tuple[State, float]]:
    """Return the state before each event while the clock ran, and the clock at the event."""
    state = State()
    for event in session.events:
        if state.stage is Stage.RUNNING and event.clock > state.clock:
            yield state, event.clock
        state = apply(state, event)


def hasty(session: Session) -> tuple[Hasty, ...]:
    """Return the entries that were recorded faster than the manoeuvre can be done, in the order recorded.

    Marks of an observer are no entries: somebody else was examining.
    """
    return tuple(_hasty(session))


def _hasty(session: Session) -> Iterator[Hasty]:
    if session.header.mode == OBSERVATION:
        return
    taken_back = {event.event for event in session.events if isinstance(event, Retracted)}
    spent: dict[str, float] = {}
    clock, current, is_running = 0.0, "", False
    for event in session.events:
        since, clock = event.clock - clock, event.clock
        if is_running:
            spent[current] = spent.get(current, 0.0) + since
        if isinstance(event, Recorded) and event.n not in taken_back and _is_done(event):
            step = session.protocol.step_of[event.step]
            seconds = spent.get(step.id, 0.0)
            if seconds < HASTY_SHARE * step.seconds and since < HASTY_SECONDS:
                yield Hasty(step=step, event=event.n, seconds=seconds)
        if isinstance(event, Started | Moved):
            current = event.step
        # The whole state would tell too, and takes as long as to read the session.
        if isinstance(event, _STARTS_TIME | _STOPS_TIME):
            is_running = isinstance(event, _STARTS_TIME)


_STARTS_TIME = Started | Resumed | Reopened
_STOPS_TIME = Paused | Left | Finished


def _bursts(session: Session) -> Iterator[Marked]:
    """A range marked with one key is a burst; a mark that is changed at once is none."""
    if session.header.mode != OBSERVATION:
        return
    burst: dict[str, Marked] = {}
    last: float | None = None
    for event in _marks(session):
        if last is not None and event.clock - last > BURST_SECONDS:
            yield from _several(burst)
            burst = {}
        burst.setdefault(event.step, event)
        last = event.clock
    yield from _several(burst)


def _marks(session: Session) -> Iterator[Marked]:
    taken_back = {event.event for event in session.events if isinstance(event, Retracted)}
    for event in session.events:
        if isinstance(event, Marked) and event.n not in taken_back:
            yield event


def _several(burst: dict[str, Marked]) -> Iterator[Marked]:
    if len(burst) > 1:
        yield from burst.values()


def _is_done(event: Recorded) -> bool:
    return any(result.outcome in DONE_OUTCOMES for result in event.results)


def _hygiene(session: Session) -> Hygiene:
    done = performed(session)
    place_of = {each.step.id: place for place, each in enumerate(done)}
    cleans_hands = _hand_steps(session)
    washes = tuple(each for each in done if each.step.id in cleans_hands)
    touches = [each for each in done if each.step.technique in TOUCHING]
    first, last = (touches[0], touches[-1]) if touches else (None, None)
    before = [each for each in washes if first and place_of[each.step.id] < place_of[first.step.id]]
    after = [each for each in washes if last and place_of[each.step.id] > place_of[last.step.id]]
    missed = (step for step in session.protocol if step.id in cleans_hands and step.id not in place_of)
    return Hygiene(
        done=washes,
        missed=tuple(step for step in missed if not is_unplanned(session, step)),
        first_touch=first,
        last_touch=last,
        before_first_touch=before[0] if before else None,
        after_last_touch=after[0] if after else None,
        cued=tuple(each for each in done if each.step.hands and each.step.id not in cleans_hands),
        gloves_kept=_gloves_kept(session, done),
    )


def _hand_steps(session: Session) -> frozenset[str]:
    """Return the steps that clean hands: hygiene with a cue for hands, or all hygiene where none has one."""
    hygiene = [step for step in session.protocol if step.technique == "hygiene"]
    cued = [step for step in hygiene if step.hands in _CLEANING]
    return frozenset(step.id for step in cued or hygiene)


_CLEANING = frozenset({"clean", "gloves off"})


def _gloves_kept(session: Session, done: Sequence[Performance]) -> Performance | None:
    if not any(step.hands == "gloves off" for step in session.protocol):
        return None
    kept: Performance | None = None
    for each in done:
        if each.step.hands == "gloves on":
            kept = each
        elif each.step.hands == "gloves off":
            kept = None
    return kept
