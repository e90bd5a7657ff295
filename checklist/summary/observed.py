"""One finding in the words in which it is told: as charted, with whose words they are."""

import re
from collections.abc import Mapping
from dataclasses import replace

from checklist.protocol.model import OTHER, Step
from checklist.session.events import Outcome
from checklist.session.state import Record
from checklist.summary.grouping import groups
from checklist.summary.prose import clause_text, clauses
from checklist.summary.words import SAID, in_row

PATIENT, REPORTED = "patient", "reported by the patient"


def finding_words(step: Step, finding: str, records: Mapping[str, Record]) -> str:
    """Return what a finding says at the entries of `records`, which all hold it."""
    alone = {entry: _narrowed(record, finding) for entry, record in records.items()}
    found = (clause for group in groups(step, alone) for clause in clauses(group, is_report=True))
    return _with_source(step, in_row(clause_text(clause) for clause in found))


def _narrowed(record: Record, finding: str) -> Record:
    """Return the record as if the finding stood alone in it, with the words that belong to it."""
    result = record.result
    own_words = result.detail if finding == OTHER or not result.tell else ""
    findings = () if finding == OTHER else (finding,)
    alone = replace(result, outcome=Outcome.DIFFERS, findings=findings, detail=own_words, tell="", reason="")
    return replace(record, result=alone)


def _with_source(step: Step, words: str) -> str:
    """Say of an answer that it is the patient's, unless it begins `patient reports` by itself."""
    if not step.is_asked or words.startswith(tuple(f"{PATIENT} {verb} " for verb in SAID)):
        return words
    # Own words follow the bare subject: `patient: since Monday`.
    own_words = step.subject == PATIENT and re.match(rf"{PATIENT}(?=:| \[)", words)
    return f"{REPORTED}{words.removeprefix(PATIENT)}" if own_words else f"{REPORTED}: {words}"
