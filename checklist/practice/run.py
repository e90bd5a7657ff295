"""One past session as practice looks back on it: which steps were tested and how, and what it took.

Holds codes, step ids and figures; nothing that was found, and no words. Of what was not touched it judges
nothing but what was passed by.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields
from datetime import datetime
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from checklist.practice.cases import TASK, Case
from checklist.practice.order import longest_run, performed, planned_ranks
from checklist.practice.pace import elapsed_seconds
from checklist.practice.rehearsal import (
    ORDER,
    OUT_OF_PLACE,
    RECALLED,
    WITH_HINT,
    answers,
    hasty,
    questions,
)
from checklist.practice.score import MISSED, PERFORMED, Fate, Item, Score, score
from checklist.protocol.model import Protocol
from checklist.session.session import EXAMINATION, REHEARSAL, Session
from checklist.session.state import Stage

if TYPE_CHECKING:
    # Needed where a session is read anew, and looking back reads none.
    from checklist.practice.case_score import CaseScore

VERSION = "5"
"""Of what a run says of a session: to be raised when the same session would say something else."""
RECALLED_MARK, MISSED_MARK = "+", "-"
HINT_MARK, PLACE_MARK = "?", "~"
"""Misses of a rehearsal of which more is known: recalled with a hint, and out of place."""
WRONG_MARK, UNPLANNED_MARK, LEFT_OUT_MARK = "/", "!", "o"
"""Misses where steps are done: what a simulated patient shows was recorded otherwise; done, but not as
planned; and left out, which says nothing of what would have been recalled."""
_MARKS = {RECALLED: RECALLED_MARK, WITH_HINT: HINT_MARK, OUT_OF_PLACE: PLACE_MARK}
_LEFT_OUT = MISSED - {Fate.OUT_OF_TIME}
"""Fates that say something of recall; who ran out of time may have known what comes next."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Run:
    """What one session says of recall, coverage, order and time."""

    id: str
    created: datetime
    protocol: str
    mode: str
    task: str
    examiner: str
    is_finished: bool
    is_fictional: bool
    seconds: float
    coverage: float | None
    """Per cent of the steps that count that were done; in a rehearsal, that were recalled."""
    reach: float
    """Per cent of the steps that were done, or in a rehearsal asked for, but for those marked too soon."""
    critical_missed: tuple[str, ...]
    moved: int | None
    """The fewest steps that were out of order; None where fewer than two were done."""
    steps: tuple[str, ...]
    """Ids of the steps that were tested, one for each test."""
    marks: str
    """For each of them `+` when recalled or done as planned, `?` recalled with a hint, `~` out of place, `/`
    done, but recorded otherwise than a simulated patient shows, `!` done, but not as planned, `o` left out,
    `-` not recalled."""
    times: tuple[float, ...]
    """For each of them the seconds spent at the step."""
    case_there: int | None = None
    """Things that a simulated patient shows, of which the case asks; None, as all below, without a case."""
    case_found: int | None = None
    """How many of them were found."""
    case_false_alarms: int | None = None
    """Things recorded that were not there."""
    case_due: int | None = None
    """Things that must be told."""
    case_told: int | None = None
    """How many of them were told as fast as needed."""

    @property
    def is_named(self) -> bool:
        """Whether the screen named the step that came next, as it does for all who examine and record."""
        return self.mode == EXAMINATION or self.is_of_patient

    @property
    def is_performed(self) -> bool:
        """Whether its steps were done, rather than recalled."""
        return self.mode != REHEARSAL or self.is_of_patient

    @property
    def is_of_patient(self) -> bool:
        """Whether it is a rehearsal with a simulated patient."""
        return self.mode == REHEARSAL and self.task == TASK


def run(session: Session, case: Case | None = None) -> Run:
    """Return what a session says; of one that is not finished, what was not touched says nothing.

    `case` is what its simulated patient shows; without it only what was performed is known.
    """
    header = session.header
    is_asked = header.mode == REHEARSAL and header.task != TASK
    found = _rehearsed(session) if is_asked else _performed(session, case)
    return Run(
        id=header.id,
        created=header.created,
        protocol=session.protocol.id,
        mode=header.mode,
        task=header.task,
        examiner=header.examiner,
        is_finished=session.state.stage is Stage.FINISHED,
        is_fictional=header.fictional,
        seconds=elapsed_seconds(session),
        **found,
    )


def _rehearsed(session: Session) -> dict[str, Any]:
    """The first answer counts, for each thing that was asked of a step.

    The share is of the steps that the rehearsal asks for, conditional ones where they have an answer.
    What was marked as recalled too soon for the words to be said says nothing either way.
    """
    too_soon = hasty(session)
    first = {(each.step, each.what): each.how for each in answers(session) if each not in too_soon}
    known = {step for (step, _), how in first.items() if how == RECALLED}
    known -= {step for (step, _), how in first.items() if how != RECALLED}
    asked = {step for step, _ in first}
    whole = asked | {each.step.id for each in questions(session) if not each.step.only_if}
    missed = (step.id for step in session.protocol if step.critical and step.id in asked - known)
    return {
        "coverage": _per_cent(len(known), len(whole)),
        "reach": _per_cent(len(asked), len(whole)) or 0.0,
        "critical_missed": tuple(missed),
        "moved": _out_of_place(first),
        **_columns(session, [(step, _MARKS.get(how, MISSED_MARK)) for (step, _), how in first.items()]),
    }


def _out_of_place(first: Mapping[tuple[str, str], str]) -> int | None:
    of_order = [how for (_, what), how in first.items() if what == ORDER]
    return of_order.count(OUT_OF_PLACE) if len(of_order) > 1 else None


def _performed(session: Session, case: Case | None) -> dict[str, Any]:
    found = score(session)
    is_over = session.state.stage is Stage.FINISHED
    missed = found.critical_missed if is_over else ()
    tests = dict(_tests(session.protocol, found, is_over=is_over))
    figures: dict[str, int] = {}
    if case:
        # A simulated patient is seldom among the sessions that are read, and costs time to import.
        from checklist.practice.case_score import score as case_score

        judged = case_score(session, case)
        figures = _case_figures(judged)
        tests |= {step: WRONG_MARK for step in _recorded_wrongly(judged) if tests.get(step) == RECALLED_MARK}
    return {
        "coverage": found.coverage,
        "reach": found.coverage or 0.0,
        "critical_missed": tuple(item.step.id for item in missed),
        "moved": _moved(session),
        **figures,
        **_columns(session, list(tests.items())),
    }


def _moved(session: Session) -> int | None:
    done = [each.step.id for each in performed(session)]
    return len(done) - len(longest_run(planned_ranks(session.protocol, done))) if len(done) > 1 else None


def _case_figures(judged: "CaseScore") -> dict[str, int]:
    from checklist.practice.case_score import IS_FOUND, Speed

    return {
        "case_there": len(judged.items),
        "case_found": len(judged.of(*IS_FOUND)),
        "case_false_alarms": len(judged.false_alarms),
        "case_due": len(judged.tellings),
        "case_told": sum(each.speed is Speed.RIGHT for each in judged.tellings),
    }


def _recorded_wrongly(judged: "CaseScore") -> set[str]:
    """Return the steps at which what was there was examined and not found, or something was not there.

    What draws attention and need only be written down was there too.
    """
    from checklist.practice.case_score import IS_FOUND
    from checklist.practice.case_score import Fate as CaseFate

    wrong = frozenset(CaseFate) - IS_FOUND - {CaseFate.NOT_EXAMINED}
    shown = (*judged.items, *judged.decoys)
    missed = {item.there.step.id for item in shown if item.fate in wrong}
    return missed | {alarm.step.id for alarm in judged.false_alarms}


def _tests(protocol: Protocol, found: Score, *, is_over: bool) -> Iterator[tuple[str, str]]:
    """A step done in part is done when only excused entries are open; under way it may still become whole.

    What was not touched is a miss where it was passed by, which only the end shows.
    """
    passed = _passed_by(protocol, found) if is_over else frozenset()
    for item in found.items:
        is_part = item.fate is Fate.PARTIAL
        is_whole = item.fate is Fate.DONE or (is_part and item.share.now == 1)
        if item.fate in PERFORMED and (is_over or not is_part):
            yield item.step.id, RECALLED_MARK if is_whole else UNPLANNED_MARK
        elif item.fate in _LEFT_OUT and (_is_touched(item) or item.step.id in passed):
            yield item.step.id, LEFT_OUT_MARK


def _passed_by(protocol: Protocol, found: Score) -> frozenset[str]:
    """Name the steps that come before the last one that was touched, by their planned places.

    Where a performance ended early, nothing says whether what follows would have been done. Steps in any
    order share a place, so that those left of the last such group may have been still to come, too.
    """
    ids = [item.step.id for item in found.items]
    place_of = dict(zip(ids, planned_ranks(protocol, ids), strict=True))
    last = max((place_of[item.step.id] for item in found.items if _is_touched(item)), default=0)
    return frozenset(step for step, place in place_of.items() if place < last)


def _is_touched(item: Item) -> bool:
    """Whether the examiner or observer said something of the step before the end, but that time ran out."""
    return bool(item.rests_on) and item.fate not in (Fate.LATE, Fate.OUT_OF_TIME)


def _columns(session: Session, tests: list[tuple[str, str]]) -> dict[str, Any]:
    spent = session.state.seconds
    return {
        "steps": tuple(step for step, _ in tests),
        "marks": "".join(mark for _, mark in tests),
        "times": tuple(round(spent.get(step, 0.0), 2) for step, _ in tests),
    }


def _per_cent(part: int, whole: int) -> float | None:
    return 100 * part / whole if whole else None


def plain(found: Run) -> dict[str, Any]:
    """Return a run as plain values that JSON can hold."""
    values: dict[str, Any] = {spec.name: getattr(found, spec.name) for spec in fields(Run)}
    return values | {
        "created": found.created.isoformat(),
        "steps": " ".join(found.steps),
        "critical_missed": " ".join(found.critical_missed),
    }


@lru_cache(maxsize=256)
def _ids(text: str) -> tuple[str, ...]:
    """Most runs of a protocol test the same steps."""
    return tuple(text.split())


def from_plain(values: Mapping[str, Any]) -> Run:
    """Return the run that `plain` was made of; raises KeyError, TypeError or ValueError for anything else."""
    made = Run(
        **{
            **values,
            "created": datetime.fromisoformat(values["created"]),
            "steps": _ids(values["steps"]),
            "critical_missed": tuple(values["critical_missed"].split()),
            "times": tuple(map(float, values["times"])),
        }
    )
    if not len(made.steps) == len(made.marks) == len(made.times):
        raise ValueError("a run whose columns differ in length")
    return made
