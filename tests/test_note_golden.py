"""The notes and timelines of whole sessions, word for word, as plain text and as Markdown.

The golden texts were written by hand from the protocol and the script of each session; none is our output.
A changed golden file is a changed promise.
"""

from collections.abc import Callable

import pytest

from checklist.session.session import Session
from checklist.summary.document import markdown, plain_text
from checklist.summary.note import note
from checklist.summary.timeline import timeline
from tests import note_sessions as made

NOTES: dict[str, Callable[[], Session]] = {
    "wholly-expected": made.wholly_expected,
    "two-differences": made.two_differences_and_a_declined_step,
    "interrupted": made.interrupted_and_resumed,
    "mostly-not-reached": made.mostly_not_reached,
}
TIMELINES: dict[str, Callable[[], Session]] = {"mostly-not-reached-timeline": made.mostly_not_reached}


def golden(name: str) -> str:
    return (made.GOLDEN / name).read_text(encoding="utf-8")


@pytest.mark.parametrize("name", NOTES)
def test_the_note_reads_as_its_golden_text(name: str) -> None:
    assert plain_text(note(NOTES[name]())) == golden(f"{name}.txt")


@pytest.mark.parametrize("name", NOTES)
def test_the_note_in_markdown_reads_as_its_golden_text(name: str) -> None:
    assert markdown(note(NOTES[name]())) == golden(f"{name}.md")


@pytest.mark.parametrize("name", TIMELINES)
def test_the_timeline_reads_as_its_golden_text(name: str) -> None:
    assert plain_text(timeline(TIMELINES[name]())) == golden(f"{name}.txt")
