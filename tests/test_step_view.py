"""The step as lines: everything that the examiner needs is there at 80 × 24, for every bundled step."""

from datetime import UTC, datetime
from pathlib import Path

import pytest
from rich.cells import cell_len

from checklist.protocol.library import Loaded, load_table
from checklist.protocol.model import Step
from checklist.session.session import Header, Session
from checklist.tui.draw import Line
from checklist.tui.step_view import HANDS_WORDS, StepSight, minutes, step_lines

PROTOCOLS = sorted((Path(__file__).parent.parent / "protocols").glob("*.toml"))
WIDTH, ROWS = 78, 18
"""What 80 × 24 leaves for a step: a cell at either edge, two rows each for place, speech and keys."""


def session(loaded: Loaded) -> Session:
    header = Header(
        id="x",
        created=datetime(2026, 3, 2, tzinfo=UTC),
        app_version="0",
        participant="P-1",
        examiner="S-1",
        missing=tuple(item.id for item in loaded.protocol.equipment),
    )
    return Session(header=header, protocol=loaded.protocol, table=loaded.table)


def text(lines: list[Line]) -> str:
    """Return the words of lines, however they are broken."""
    return " ".join("".join(part for part, _ in line) for line in lines)


def folded(words: str) -> str:
    return "".join(words.split())


def needed(step: Step) -> list[str]:
    """Return the texts without which the step cannot be done."""
    hands = HANDS_WORDS[step.hands] if step.hands else ""
    return [step.title, step.caution, step.critical, step.only_if, hands, step.do, step.say, step.expect]


@pytest.mark.parametrize("path", PROTOCOLS, ids=lambda path: path.stem)
def test_every_bundled_step_is_whole_at_80_by_24(path: Path) -> None:
    """Even with nothing recorded before it and all its equipment missing, which takes the most room."""
    loaded = load_table(path)

    for step in loaded.protocol:
        lines = step_lines(StepSight(session=session(loaded), step=step), WIDTH, ROWS)

        assert len(lines) <= ROWS, f"{step.id} takes {len(lines)} rows"
        assert all(sum(cell_len(part) for part, _ in line) <= WIDTH for line in lines), step.id
        for words in needed(step):
            assert folded(words) in folded(text(lines)), f"{step.id}: {words}"
        for entry in step.entries:
            assert entry.label in text(lines), f"{step.id}: {entry.label}"


@pytest.mark.parametrize("path", PROTOCOLS, ids=lambda path: path.stem)
def test_every_bundled_step_is_whole_with_its_findings_when_there_is_room(path: Path) -> None:
    loaded = load_table(path)

    for step in loaded.protocol:
        lines = step_lines(StepSight(session=session(loaded), step=step), 118, 34)

        assert len(lines) <= 34, step.id
        for finding in step.findings:
            assert finding.label[:30] in text(lines), f"{step.id}: {finding.label}"


@pytest.mark.parametrize(
    ("seconds", "shown"), [(0.0, "0:00"), (59.9, "0:59"), (60.0, "1:00"), (3600.0, "60:00")]
)
def test_minutes_count_whole_seconds_that_have_passed(seconds: float, shown: str) -> None:
    assert minutes(seconds) == shown
