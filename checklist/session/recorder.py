"""A session being recorded: accept the event, write it, and only then let it stand.

The readings of the clocks are handed in as functions, so that the app, the demonstration and the tests record
through the same code.
"""

import contextlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, Protocol

from checklist.errors import ChecklistError
from checklist.session import clock as examination_clock
from checklist.session.clock import Clock
from checklist.session.events import (
    Amended,
    Event,
    Finished,
    Interrupted,
    Left,
    Marked,
    Moved,
    Paused,
    Recalled,
    Recorded,
    Remarked,
    Reopened,
    Result,
    Resumed,
    Retracted,
    Shown,
    Signed,
    Started,
    Told,
)
from checklist.session.session import Session
from checklist.session.state import IllegalEventError, Stage
from checklist.text import one_line

_Part = tuple[type[Event], dict[str, Any]]
"""Kind and fields of an event to be; what is not among them is given when it is written."""
_DRAINING_SECONDS = 2.0
"""How long the person waits for the disk before the program is stopped."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Clocks:
    """How the time is read."""

    counter: Callable[[], float]
    """Seconds that never jump, and that run on while the machine sleeps."""
    now: Callable[[], datetime]
    """The wall clock, with its offset."""


class Journalling(Protocol):
    """What a recorder needs of a journal."""

    path: Path

    def write(self, events: Sequence[Event]) -> None: ...
    def tick(self, clock_seconds: float) -> None: ...
    def health(self) -> str: ...
    def digest(self, signature: Event) -> str: ...
    def drain(self, timeout: float) -> bool: ...
    def close(self, *, keep_clock: bool = False) -> None: ...


class Recorder:
    """Keeps the current session, its journal and its clock together."""

    def __init__(
        self, session: Session, journal: Journalling, clocks: Clocks, *, elapsed: float = 0.0
    ) -> None:
        self.session = session
        self.path = journal.path
        self.notice = ""
        """What the examiner should know of how the session was opened."""
        self._journal = journal
        self._clocks = clocks
        self._clock = Clock(elapsed=max(elapsed, session.state.clock))
        self._unwritten: tuple[_Part, ...] = ()
        """Interruptions that were noticed and are not in the file yet."""

    @property
    def seconds(self) -> float:
        """Seconds of examination up to now; to ask for them writes and changes nothing."""
        return examination_clock.read(self._clock, self._clocks.counter())[0].elapsed

    def start(self) -> None:
        """Start the clock at the first step."""
        self._commit((Started, {"step": self.session.protocol.steps[0].id}))
        self._run()

    def reopen(self) -> None:
        """Take a session up again where it stood."""
        self._commit((Reopened, {}))
        self._run()

    def go(self, step: str) -> None:
        """Go to a step; going to where one is already is nothing."""
        if step != self.session.state.current:
            self._commit((Moved, {"step": step}))

    def record(self, step: str, *results: Result, then: str = "") -> None:
        """Record results for a step, and go to the step `then` in the same write."""
        parts: list[_Part] = [(Recorded, {"step": step, "results": results})]
        if then and then != self.session.state.current:
            parts.append((Moved, {"step": then}))
        self._commit(*parts)

    def remark(self, step: str, text: str) -> None:
        self._commit((Remarked, {"step": step, "text": text}))

    def mark(self, step: str, mark: str, detail: str = "", then: str = "") -> None:
        """Mark how a step was performed by the one who is observed, and go to the step `then`."""
        parts: list[_Part] = [(Marked, {"step": step, "mark": mark, "detail": one_line(detail)})]
        if then and then != self.session.state.current:
            parts.append((Moved, {"step": then}))
        self._commit(*parts)

    def show(self, step: str, what: str, steps: Sequence[str]) -> None:
        """Record that something of an answer is about to be seen, of all `steps`."""
        self._commit((Shown, {"step": step, "what": what, "steps": tuple(steps)}))

    def recall(self, step: str, how: str, *, what: str = "order", hints: int = 0, typed: str = "") -> None:
        """Record how something of a step came to mind in a rehearsal."""
        recalled = {"step": step, "what": what, "how": how, "hints": hints, "typed": one_line(typed)}
        self._commit((Recalled, recalled))

    def tell(self, step: str, entries: tuple[str, ...], finding: str, whom: str, when: str = "") -> None:
        """Record that a finding was told; `when` is 24-hour time, now if empty."""
        when = when or f"{self._clocks.now():%H:%M}"
        told = {"step": step, "entries": entries, "findings": (finding,), "whom": whom, "when": when}
        self._commit((Told, told))

    def undo(self) -> Event | None:
        """Take back the last thing recorded, and go to its step; None when there is nothing."""
        if not self.session.state.undoable:
            return None
        event = self.session.events[self.session.state.undoable[-1] - 1]
        parts: list[_Part] = [(Retracted, {"event": event.n})]
        if isinstance(event, Recorded | Marked | Remarked) and event.step != self.session.state.current:
            parts.append((Moved, {"step": event.step}))
        self._commit(*parts)
        return event

    def pause(self) -> None:
        self._commit((Paused, {}))
        self._clock = examination_clock.stop(self._clock)

    def go_on(self) -> None:
        self._commit((Resumed, {}))
        self._run()

    def finish(self) -> None:
        self._commit((Finished, {}))
        self._clock = examination_clock.stop(self._clock)

    def amend(self, step: str, results: Sequence[Result], who: str, why: str) -> None:
        """Record a late entry or a correction after the end; `who` is a code, and neither may be empty."""
        who, why = one_line(who), one_line(why)
        if not (who and why):
            raise IllegalEventError("an amendment says who makes it, and why")
        self._commit((Amended, {"step": step, "results": tuple(results), "who": who, "why": why}))

    def sign(self, who: str) -> None:
        """Close a finished session with initials or a code; it then takes only amendments and tellings."""
        who = one_line(who)
        if not who:
            raise IllegalEventError("a session is closed by somebody: type initials or a code")
        if self.session.state.stage is not Stage.FINISHED:
            raise IllegalEventError("only a finished session is signed")
        # What the digest is made over is what is written: number and times are settled before.
        self._append()
        fields = {**self._stamp(), "who": who}
        fields["clock"] = max(fields["clock"], self.session.state.clock)
        unsealed = Signed(n=len(self.session.events) + 1, **fields, digest="")
        self._append((Signed, {**fields, "digest": self._journal.digest(unsealed)}))

    def leave(self) -> None:
        """Leave, finished or not, and close the file.

        Raises JournalError when that was not written, or may not be durable; the lock then keeps the clock.
        """
        try:
            if self.session.state.stage in {Stage.RUNNING, Stage.PAUSED}:
                self._commit((Left, {}))
        except BaseException:
            self._note_clock()
            with contextlib.suppress(ChecklistError):  # What came first says more.
                self._journal.close(keep_clock=True)
            raise
        self._note_clock()
        self._journal.close()

    def stand_still(self) -> None:
        """Make ready for the program to be stopped: all is on disk, and the clock waits for the next tick.

        What passes until that tick, or the next thing recorded, is no examination but an interruption.
        """
        self._read()
        self._note_clock()
        self._clock = examination_clock.hold(self._clock)
        self._journal.drain(_DRAINING_SECONDS)

    def tick(self) -> str:
        """Let a second pass; return what is wrong with the file, or an empty text.

        An interruption that is noticed now is written; when that fails, with the next thing recorded.
        """
        is_new = self._read()
        self._note_clock()
        if is_new:
            self._append()
        return self._journal.health()

    def _note_clock(self) -> None:
        """Note where the clock stands, for after a crash."""
        if self._clock.is_running:
            self._journal.tick(self._clock.elapsed)

    def _run(self) -> None:
        self._clock = examination_clock.run(self._clock, self._clocks.counter())

    def _read(self) -> bool:
        """Bring the clock up to date; return whether a silence was left out, which is to be written."""
        self._clock, away = examination_clock.read(self._clock, self._clocks.counter())
        if away:
            # With the time of now, since it may be written later.
            noticed = {**self._stamp(), "away_seconds": round(away, 3)}
            self._unwritten = (*self._unwritten, (Interrupted, noticed))
        return away > 0

    def _stamp(self) -> dict[str, Any]:
        return {"at": self._clocks.now().replace(microsecond=0), "clock": round(self._clock.elapsed, 3)}

    def _commit(self, *parts: _Part) -> None:
        self._read()
        self._append(*parts)

    def _append(self, *parts: _Part) -> None:
        """Accept all, write all, then let them stand; a refusal or a failed write leaves all as it was."""
        session, now = self.session, self._stamp()
        for cls, values in (*self._unwritten, *parts):
            fields = {**now, **values, "n": len(session.events) + 1}
            fields["clock"] = max(fields["clock"], session.state.clock)
            session = session.with_event(cls(**fields))
        self._journal.write(session.events[len(self.session.events) :])
        self.session, self._unwritten = session, ()
