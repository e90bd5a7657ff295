"""Begins rehearsals, and reads for them what past sessions hold. Builds no task, and writes nothing else."""

import contextlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from secrets import randbelow

from checklist.practice import library as cases
from checklist.practice.cases import TASK as PATIENT
from checklist.practice.cases import Case
from checklist.practice.rehearsal import CONTENT, Task, left_out, task_of, task_words
from checklist.practice.tasks import missed
from checklist.protocol.library import Loaded
from checklist.protocol.model import Protocol
from checklist.session import store
from checklist.session.opening import MACHINE, Preparation, begin
from checklist.session.recorder import Clocks, Recorder
from checklist.session.session import EXAMINATION, OBSERVATION, REHEARSAL
from checklist.text import same_code

SEEDS = 10_000
"""Seeds that are drawn when none is given: short enough to be told to somebody else."""


def begin_recall(loaded: Loaded, task: Task, examiner: str, clocks: Clocks = MACHINE) -> Recorder:
    """Begin a rehearsal by recall; what is asked is written into its header."""
    preparation = Preparation(participant="", examiner=examiner, mode=REHEARSAL, task=task_words(task))
    return begin(loaded, preparation, clocks)


# Simulated patients.


@dataclass(frozen=True, kw_only=True, slots=True)
class Patient:
    """A simulated patient that fits the protocol: of a case file, or made from a seed."""

    case: Case
    path: Path | None = None
    """The case file."""
    seed: int = 0


def patient_of_case(protocol: Protocol, path: Path) -> Patient:
    """Return the patient of a case file; raises ChecklistError when it is not for this protocol."""
    case = cases.load(path)
    cases.check_steps(case, protocol)
    return Patient(case=case, path=path)


def patient_of_seed(protocol: Protocol, seed: int | None = None) -> Patient:
    """Return the patient of a seed; without one it is drawn. Raises NoCaseError when none can be made."""
    chosen = randbelow(SEEDS) if seed is None else seed
    return Patient(case=cases.made(protocol, chosen), seed=chosen)


def begin_patient(loaded: Loaded, patient: Patient, examiner: str, clocks: Clocks = MACHINE) -> Recorder:
    """Begin a rehearsal with a simulated patient; a case file from elsewhere is kept among the own cases."""
    named = cases.kept(patient.path) if patient.path else cases.named_seed(patient.seed)
    preparation = Preparation(
        participant="",
        examiner=examiner,
        age=patient.case.age,
        mode=REHEARSAL,
        task=PATIENT,
        case=cases.stamped(named, patient.case),
    )
    return begin(loaded, preparation, clocks)


# What past sessions hold.


@dataclass(frozen=True, kw_only=True, slots=True)
class LastTime:
    """The latest finished run of a protocol that says what was left out."""

    mode: str
    created: datetime
    steps: tuple[str, ...]
    """Ids of the steps that were left out; in a rehearsal, of those that were not recalled."""


def missed_in(named: str, protocol: Protocol, section: str) -> tuple[str, ...]:
    """Return the steps that the session called `named` left out; raises ChecklistError when there is none."""
    path = store.find(named)
    return missed(protocol, section, store.load(path).session, path.name)


def own_code(past: Sequence[store.Summary]) -> str:
    """Return the examiner code of the latest session of one's own; an observation is of somebody else."""
    own = (each for each in past if each.mode != OBSERVATION and not each.is_fictional)
    return next((each.examiner for each in own if each.examiner), "")


def last_time(past: Sequence[store.Summary], protocol: Protocol, examiner: str) -> LastTime | None:
    """Return the latest finished examination, observation or rehearsal of the order under a code.

    `past` is newest first; None when there is none that can be read.
    """
    for each in past:
        if each.protocol == protocol.id and _tells_order(each, examiner):
            with contextlib.suppress(store.SessionError):
                session = store.load(each.path).session
                steps = tuple(step.id for step in left_out(session))
                return LastTime(mode=session.header.mode, created=session.header.created, steps=steps)
    return None


def _tells_order(run: store.Summary, examiner: str) -> bool:
    """Whether a session tells which steps somebody left out of the order."""
    if not run.is_finished or run.is_fictional or not same_code(run.examiner, examiner):
        return False
    if run.mode != REHEARSAL:
        return run.mode in {EXAMINATION, OBSERVATION}
    task = task_of(run.task)
    return task is not None and task.kind != CONTENT
