"""One past session as practice looks back on it: which steps were tested and how, and what it took.

Holds codes, step ids and figures; nothing that was found, and no words. Judges nothing that was not touched.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields
from datetime import datetime
from typing import Any

from checklist.practice.order import order
from checklist.practice.pace import elapsed_seconds
from checklist.practice.rehearsal import (
    HASTY_SECONDS,
    ORDER,
    OUT_OF_PLACE,
    RECALLED,
    WITH_HINT,
    scope,
    task_in,
)
from checklist.practice.score import MISSED, PERFORMED, Fate, Score, score
from checklist.session.events import Recalled
from checklist.session.session import REHEARSAL, Session
from checklist.session.state import Stage

VERSION = "2"
"""Of what a run says of a session: to be raised when the same session would say something else."""
RECALLED_MARK, MISSED_MARK = "+", "-"
HINT_MARK, PLACE_MARK = "?", "~"
"""Misses too, of which more is known: recalled with a hint, and out of place."""
_MARKS = {RECALLED: RECALLED_MARK, WITH_HINT: HINT_MARK, OUT_OF_PLACE: PLACE_MARK}
_TRIED = PERFORMED | (MISSED - {Fate.OUT_OF_TIME})
"""Fates that say something of recall; who ran out of time may have known what comes next."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Trial:
    """One time that a step was to be recalled or done."""

    step: str
    is_recalled: bool
    """Done as planned, or recalled at its place without a hint; everything else that was tried is not."""
    seconds: float
    """At the step in the whole session."""


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
    """For each of them `+` when recalled or done as planned, `?` with a hint, `~` out of place, else `-`."""
    times: tuple[float, ...]
    """For each of them the seconds spent at the step."""

    @property
    def trials(self) -> Iterator[Trial]:
        for step, mark, seconds in zip(self.steps, self.marks, self.times, strict=True):
            yield Trial(step=step, is_recalled=mark == RECALLED_MARK, seconds=seconds)

    @property
    def kind(self) -> str:
        """Which runs it can be compared with: its mode, and in a rehearsal the task."""
        return f"{self.mode}, {self.task}" if self.task else self.mode


def run(session: Session) -> Run:
    """Return what a session says; of one that is not finished, what was not touched says nothing."""
    header = session.header
    found = _rehearsed(session) if header.mode == REHEARSAL else _performed(session)
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

    The share is of the steps of the section, or of all, that always belong to the order: conditional ones are
    not asked for in it, and count where they were asked for.
    """
    first: dict[tuple[str, str], str] = {}
    for recall in _answers(session):
        first.setdefault((recall.step, recall.what), recall.how)
    known = {step for (step, _), how in first.items() if how == RECALLED}
    known -= {step for (step, _), how in first.items() if how != RECALLED}
    asked = {step for step, _ in first}
    whole = asked | {step.id for step in scope(session.protocol, task_in(session).section)}
    missed = (step.id for step in session.protocol if step.critical and step.id in asked - known)
    return {
        "coverage": _per_cent(len(known), len(whole)),
        "reach": _per_cent(len(asked), len(whole)) or 0.0,
        "critical_missed": tuple(missed),
        "moved": _out_of_place(first),
        **_columns(session, [(step, _MARKS.get(how, MISSED_MARK)) for (step, _), how in first.items()]),
    }


def _answers(session: Session) -> Iterator[Recalled]:
    """Leave out what was marked as recalled too soon for the words to be said: it says nothing either way."""
    before: float | None = None
    for recall in session.state.recalls:
        is_said = recall.how == RECALLED and not recall.typed
        if not (is_said and before is not None and recall.clock - before < HASTY_SECONDS):
            yield recall
        before = recall.clock


def _out_of_place(first: Mapping[tuple[str, str], str]) -> int | None:
    of_order = [how for (_, what), how in first.items() if what == ORDER]
    return of_order.count(OUT_OF_PLACE) if len(of_order) > 1 else None


def _performed(session: Session) -> dict[str, Any]:
    found, arranged = score(session), order(session)
    is_over = session.state.stage is Stage.FINISHED
    missed = found.critical_missed if is_over else ()
    return {
        "coverage": found.coverage,
        "reach": found.coverage or 0.0,
        "critical_missed": tuple(item.step.id for item in missed),
        "moved": len(arranged.moved) if len(arranged.performed) > 1 else None,
        **_columns(session, list(_tested(found, is_over=is_over))),
    }


def _tested(found: Score, *, is_over: bool) -> Iterator[tuple[str, str]]:
    """A step done in part is done when only excused entries are open; under way it may still become whole."""
    for item in found.items:
        is_part = item.fate is Fate.PARTIAL
        if item.fate in _TRIED and (is_over or (item.rests_on and not is_part)):
            is_done = item.fate is Fate.DONE or (is_part and item.share.now == 1)
            yield item.step.id, RECALLED_MARK if is_done else MISSED_MARK


def _columns(session: Session, tests: list[tuple[str, str]]) -> dict[str, Any]:
    spent = session.state.seconds
    return {
        "steps": tuple(step for step, _ in tests),
        "marks": "".join(mark for _, mark in tests),
        "times": tuple(round(spent.get(step, 0.0), 1) for step, _ in tests),
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


def from_plain(values: Mapping[str, Any]) -> Run:
    """Return the run that `plain` was made of; raises KeyError, TypeError or ValueError for anything else."""
    made = Run(
        **{
            **values,
            "created": datetime.fromisoformat(values["created"]),
            "steps": tuple(values["steps"].split()),
            "critical_missed": tuple(values["critical_missed"].split()),
            "times": tuple(map(float, values["times"])),
        }
    )
    if not len(made.steps) == len(made.marks) == len(made.times):
        raise ValueError("a run whose columns differ in length")
    return made
