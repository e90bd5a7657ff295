"""A session being recorded: accept the event, write it, and only then let it stand.

The readings of the clocks are handed in as functions, so that the app, the demonstration and the tests record
through the same code.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, Protocol

from checklist.session import clock as examination_clock
from checklist.session.clock import Clock
from checklist.session.events import (
    Event,
    Finished,
    Interrupted,
    Left,
    Moved,
    Paused,
    Recorded,
    Remarked,
    Reopened,
    Result,
    Resumed,
    Retracted,
    Started,
    Told,
)
from checklist.session.session import Session
from checklist.session.state import Stage


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
    def close(self) -> None: ...


class Recorder:
    """Keeps the current session, its journal and its clock together."""

    def __init__(
        self, session: Session, journal: Journalling, clocks: Clocks, *, elapsed: float = 0.0
    ) -> None:
        self.session = session
        self.path = journal.path
        self._journal = journal
        self._clocks = clocks
        self._clock = Clock(elapsed=max(elapsed, session.state.clock))

    @property
    def seconds(self) -> float:
        """Seconds of examination up to now."""
        self._read()
        return self._clock.elapsed

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
        parts: list[tuple[type[Event], dict[str, Any]]] = [(Recorded, {"step": step, "results": results})]
        if then and then != self.session.state.current:
            parts.append((Moved, {"step": then}))
        self._commit(*parts)

    def remark(self, step: str, text: str) -> None:
        self._commit((Remarked, {"step": step, "text": text}))

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
        parts: list[tuple[type[Event], dict[str, Any]]] = [(Retracted, {"event": event.n})]
        if isinstance(event, Recorded | Remarked) and event.step != self.session.state.current:
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

    def leave(self) -> None:
        """Leave, finished or not, and close the file."""
        try:
            if self.session.state.stage in {Stage.RUNNING, Stage.PAUSED}:
                self._commit((Left, {}))
        finally:
            self._journal.close()

    def tick(self) -> str:
        """Let a second pass; return what is wrong with the file, or an empty text."""
        self._read()
        if self._clock.is_running:
            self._journal.tick(self._clock.elapsed)
        return self._journal.health()

    def _run(self) -> None:
        self._clock = examination_clock.run(self._clock, self._clocks.counter())

    def _read(self) -> None:
        """Bring the clock up to date; a silence that was left out is recorded as an interruption."""
        self._clock, away = examination_clock.read(self._clock, self._clocks.counter())
        if away:
            self._append((Interrupted, {"away_seconds": round(away, 3)}))

    def _commit(self, *parts: tuple[type[Event], dict[str, Any]]) -> None:
        self._read()
        self._append(*parts)

    def _append(self, *parts: tuple[type[Event], dict[str, Any]]) -> None:
        """Accept all, write all, then let them stand; a refusal or a failed write leaves all as it was."""
        session = self.session
        at = self._clocks.now().replace(microsecond=0)
        clock = round(self._clock.elapsed, 3)
        for cls, values in parts:
            stamp: dict[str, Any] = {
                "n": len(session.events) + 1,
                "at": at,
                "clock": max(clock, session.state.clock),
            }
            session = session.with_event(cls(**stamp, **values))
        self._journal.write(session.events[len(self.session.events) :])
        self.session = session
