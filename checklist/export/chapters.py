"""Chapters of a recording as WebVTT: sections, and within them steps, where the examiner was at them.

After W3C, WebVTT: The Web Video Text Tracks Format (chapters: disjoint, or one wholly within the other).
Says where to look and nothing of what was found.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from checklist.errors import ChecklistError
from checklist.export.course import Visit, course
from checklist.session.session import Session
from checklist.summary.particulars import banner
from checklist.text import one_line


class NoChaptersError(ChecklistError):
    """A session, or an offset, that leaves no chapter."""


@dataclass(frozen=True, kw_only=True, slots=True)
class _Cue:
    name: str
    start: int
    """Milliseconds."""
    end: int
    text: str


def chapters(session: Session, offset: float = 0.0) -> str:
    """Return the chapters of a recording in which the examination began at `offset` seconds.

    What lies before the recording is left out. Raises NoChaptersError when nothing is left.
    """
    cues = list(_cues(session, _moved(course(session), offset)))
    if not cues:
        raise NoChaptersError(
            "no chapter: with this offset all of the examination lies before the recording"
            if course(session)
            else "no chapter: no time was spent at any step"
        )
    opening = [f"NOTE {_safe(line)}" for line in (*banner(session), f"{session.protocol.title}: chapters")]
    return "\n\n".join(["WEBVTT", *opening, *_named_apart(cues)]) + "\n"


def _moved(visits: tuple[Visit, ...], offset: float) -> Iterator[tuple[str, int, int]]:
    """Return step, start and end in milliseconds of the recording."""
    for visit in visits:
        start, end = (max(0, _milliseconds(time + offset)) for time in (visit.start, visit.end))
        if end > start:
            yield visit.step, start, end


def _milliseconds(seconds: float) -> int:
    return int(seconds * 1000 + 0.5) if seconds > 0 else 0


def _cues(session: Session, visits: Iterator[tuple[str, int, int]]) -> Iterator[_Cue]:
    """Return for each row of visits to one section a cue for the section, then those of its steps."""
    protocol = session.protocol
    row: list[_Cue] = []
    section = None
    for step_id, start, end in visits:
        own = protocol.section_of[step_id]
        if row and section and (own is not section or row[-1].end != start):
            yield from (_around(section.id, section.title, row), *row)
            row = []
        section = own
        row.append(_Cue(name=step_id, start=start, end=end, text=protocol.step_of[step_id].title))
    if row and section:
        yield from (_around(section.id, section.title, row), *row)


def _around(name: str, title: str, row: list[_Cue]) -> _Cue:
    return _Cue(name=f"section.{name}", start=row[0].start, end=row[-1].end, text=title)


def _named_apart(cues: list[_Cue]) -> Iterator[str]:
    """Return the cues as text; a place visited again has its number behind its name, and says so."""
    seen: dict[str, int] = {}
    for cue in cues:
        count = seen[cue.name] = seen.get(cue.name, 0) + 1
        name = cue.name if count == 1 else f"{cue.name}.{count}"
        text = _safe(cue.text) if count == 1 else f"{_safe(cue.text)}, continued"
        yield f"{name}\n{_timestamp(cue.start)} --> {_timestamp(cue.end)}\n{text}"


def _timestamp(milliseconds: int) -> str:
    seconds, fraction = divmod(milliseconds, 1000)
    minutes, second = divmod(seconds, 60)
    hours, minute = divmod(minutes, 60)
    return f"{hours:02}:{minute:02}:{second:02}.{fraction:03}"


def _safe(text: str) -> str:
    """Return a text as one line without tags and arrows."""
    return one_line(text).replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
