"""The block of `progress` on simulated patients: what was found of what was there, one row for each.

Only finished ones whose case is known have a row. No curve and no target: cases differ.
"""

from collections.abc import Iterator, Sequence

from checklist.practice.run import Run
from checklist.summary.document import Block, Form, Sentence

MOST_ROWS = 20
"""Simulated patients that have a row, latest ones."""
HEADING = "SIMULATED PATIENTS: WHAT WAS FOUND"
_COUNT_CELLS = 12
_CAUTION = ("Cases differ in difficulty, so that rows do not", "compare strictly.")
_MEANING = (
    "found: things found of all that were there;",
    "false alarms: things recorded that were not there;",
    "told: things told as fast as needed,",
    "of all that must be told.",
)


def case_block(runs: Sequence[Run]) -> Block | None:
    """Return the block on the simulated patients among `runs`, oldest first; None where there is none."""
    judged = [run for run in runs if run.is_finished and run.case_there is not None]
    if not judged:
        return None
    return Block(
        heading=HEADING, sentences=tuple(Sentence(text=row) for row in _rows(judged)), form=Form.ROWS
    )


def _rows(judged: Sequence[Run]) -> Iterator[str]:
    shown = judged[-MOST_ROWS:]
    if earlier := len(judged) - len(shown):
        yield f"… {earlier} earlier"
    yield _row("", "found", "false alarms", "told")
    for run in shown:
        yield _row(
            f"{run.created:%Y-%m-%d}",
            _share(run.case_found, run.case_there),
            str(run.case_false_alarms),
            _share(run.case_told, run.case_due),
        )
    yield from _MEANING
    yield from _CAUTION


def _row(day: str, found: str, alarms: str, told: str) -> str:
    return f"{day:10} {found:>{_COUNT_CELLS}} {alarms:>{_COUNT_CELLS}} {told:>{_COUNT_CELLS}}"


def _share(part: int | None, whole: int | None) -> str:
    """Return `3 of 4`; nothing to find, or to tell, is no share."""
    return f"{part or 0} of {whole}" if whole else "none to judge"
