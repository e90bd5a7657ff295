"""The things that can happen in a session, as frozen values named in the past tense.

Nothing here knows how events are written to a file, or what they add up to.
`clock` counts seconds of examination: it stands still while the session is paused, the machine sleeps or the
program is closed, and no jump of the wall clock `at` can move it.
Kinds without fields of their own are made without the decorator, which takes a third of a millisecond each.
"""

from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from typing import Any, ClassVar


class Outcome(StrEnum):
    """What was recorded for an entry. An entry without one was not reached, and is never charted."""

    EXPECTED = "as expected"
    DIFFERS = "differs"
    UNSEEN = "attempted, not seen"
    NOT_EXAMINED = "not examined"


NOT_INDICATED = "not indicated"
REASONS = ("declined", "unable", "deferred", NOT_INDICATED, "not available", "out of time")
"""Why an entry was not examined; any other reason is the examiner's own text."""
MARKS = (
    "done",
    "done after a prompt",
    "done incorrectly",
    "not done",
    "could not be seen",
    "not applicable",
)
"""How an observer marks a step that somebody else performed."""
RECALLS = ("recalled", "recalled out of place", "recalled with a hint", "not recalled")
"""How a rehearsed step came to mind, best first; the first answer counts, and can only be lowered."""
TELLS = ("report", "urgent")
"""How fast the examiner's own words must be told, when they are marked."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Result:
    """One outcome, given to one or several entries of a step at once."""

    entries: tuple[str, ...]
    """Keys of the entries; see `Entry.key`."""
    outcome: Outcome
    findings: tuple[str, ...] = ()
    detail: str = ""
    """The examiner's own words: what differs, or what was attempted."""
    tell: str = ""
    """How fast the free text must be told, when the examiner marked it: `report`, `urgent` or empty."""
    reason: str = ""
    """Why not examined."""
    reading: str = ""
    """What was measured, as typed, in the canonical form of the step's kind of reading."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Event:
    """Something that happened: its number (from 1), when by the wall, and when by the examination clock."""

    kind: ClassVar[str] = ""
    n: int
    at: datetime
    clock: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Started(Event):
    """The clock was started at `step`."""

    kind: ClassVar[str] = "started"
    step: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Moved(Event):
    """The examiner went to `step`."""

    kind: ClassVar[str] = "moved"
    step: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Recorded(Event):
    """One confirmed act of recording: everything that one key or one sheet gave to entries of `step`."""

    kind: ClassVar[str] = "recorded"
    step: str
    results: tuple[Result, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Remarked(Event):
    """The examiner's own words about `step`, for the note."""

    kind: ClassVar[str] = "remarked"
    step: str
    text: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Told(Event):
    """Findings of `step` were told to `whom` (a role or a code) at `when` (24-hour time)."""

    kind: ClassVar[str] = "told"
    step: str
    entries: tuple[str, ...]
    findings: tuple[str, ...]
    whom: str
    when: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Retracted(Event):
    """The event with the number `event` was taken back. It stays in the file."""

    kind: ClassVar[str] = "retracted"
    event: int


class Paused(Event):
    """The examiner stopped the clock."""

    __slots__ = ()
    kind: ClassVar[str] = "paused"


class Resumed(Event):
    """The examiner started the clock again."""

    __slots__ = ()
    kind: ClassVar[str] = "resumed"


@dataclass(frozen=True, kw_only=True, slots=True)
class Interrupted(Event):
    """The program stood still for `away_seconds` (a sleeping machine, a stopped program); noticed now."""

    kind: ClassVar[str] = "interrupted"
    away_seconds: float


class Left(Event):
    """The examiner left the session unfinished."""

    __slots__ = ()
    kind: ClassVar[str] = "left"


class Reopened(Event):
    """The session was taken up again after the program had been closed, or had died."""

    __slots__ = ()
    kind: ClassVar[str] = "reopened"


class Finished(Event):
    """The examination is over. What is recorded from here on is an amendment."""

    __slots__ = ()
    kind: ClassVar[str] = "finished"


@dataclass(frozen=True, kw_only=True, slots=True)
class Amended(Event):
    """Entries of `step` were recorded or changed after the end: by `who` (a code) and `why`."""

    kind: ClassVar[str] = "amended"
    step: str
    results: tuple[Result, ...]
    who: str
    why: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Marked(Event):
    """An observer marked how `step` was performed; `detail` says what was incorrect, or the prompt."""

    kind: ClassVar[str] = "marked"
    step: str
    mark: str
    """One of `MARKS`."""
    detail: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Recalled(Event):
    """In a rehearsal, somebody tried to recall `what` of `step`, and says `how` it went."""

    kind: ClassVar[str] = "recalled"
    step: str
    what: str
    """`order` for what comes next, or the key of the protocol that was asked for, such as `expect`."""
    how: str
    """One of `RECALLS`."""
    hints: int
    """How many hints were looked at."""
    typed: str
    """What was typed instead of said aloud; empty when it was said."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Shown(Event):
    """In a rehearsal, something of the answer to a question is about to be seen: a hint, or the answer."""

    kind: ClassVar[str] = "shown"
    step: str
    """The step that is asked for or about."""
    what: str
    """As in `Recalled`."""
    steps: tuple[str, ...]
    """All steps that something is seen of: where several belong together in any order, those too."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Signed(Event):
    """The session was closed by `who` (initials or a code).

    From here on it takes only amendments, and who was told.

    `digest` is the SHA-256 of all bytes of the file up to the end of this event, itself left out, so that
    later changes of them show.
    """

    kind: ClassVar[str] = "signed"
    who: str
    digest: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Unknown(Event):
    """An event of a kind that this version does not know. Kept, counted, and otherwise passed over."""

    name: str
    fields: dict[str, Any] = field(hash=False)


EVENT_KINDS: dict[str, type[Event]] = {
    cls.kind: cls
    for cls in (
        Started,
        Moved,
        Recorded,
        Remarked,
        Told,
        Retracted,
        Paused,
        Resumed,
        Interrupted,
        Left,
        Reopened,
        Finished,
        Amended,
        Marked,
        Shown,
        Recalled,
        Signed,
    )
}
