"""What several tests need: a small invented protocol, a header, and events with rising numbers and times."""

import tomllib
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

from hypothesis import strategies as st

from checklist.protocol.model import Protocol
from checklist.protocol.reader import read_table
from checklist.session.events import (
    REASONS,
    Event,
    Finished,
    Interrupted,
    Left,
    Marked,
    Moved,
    Outcome,
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
from checklist.session.session import Header, Session
from checklist.session.state import Stage

PROTOCOL = """
format = 1
id = "hand"
title = "Hand"
version = "1.0.0"
reviewed = 2026-01-31
target_minutes = 2
scope = "An invented protocol for tests."
sources = ["Invented for tests."]

[for]
population = "adults"

[tell]
report = "charge nurse"
urgent = "rapid response team"

[[equipment]]
id = "light"
name = "Light"

[[section]]
id = "opening"
title = "Opening"
phase = "prepare"

[[section.step]]
id = "wash"
title = "Clean hands"
technique = "hygiene"
do = "Clean your hands."
seconds = 20

[[section]]
id = "hand"
title = "Hand"

[[section.step]]
id = "look"
title = "Look at the skin"
technique = "inspect"
sides = "both"
do = "Look at both sides of each hand."
expect = "Even colour, no wounds"
subject = "hand"
subjects = "hands"
chart = "evenly coloured without wounds"
seconds = 30
needs = ["light"]
may_be_unseen = true
finding = [
  { id = "scar", label = "Old scar", chart = "with a healed scar" },
  { id = "wound", label = "Open wound", chart = "with an open wound", tell = "report" },
  { id = "blue", label = "Blue colour", chart = "blue", tell = "urgent" },
]

[[section.step]]
id = "pulse"
title = "Feel the pulses"
technique = "palpate"
sites = ["radial", "ulnar"]
do = "Feel each pulse."
expect = "Felt at both places"
subject = "pulse"
chart = "felt at the {site} artery"
seconds = 40
after = [{ step = "look", why = "look before you touch" }]
finding = [{ id = "absent", label = "Not felt", chart = "not felt at the {site} artery", tell = "urgent" }]

[[section.step]]
id = "grip"
title = "Test the grip"
technique = "test"
only_if = "the person can follow a request"
do = "Ask the person to press your fingers."
expect = "Firm and equal"
subject = "grip"
chart = "firm"
seconds = 10
finding = [{ id = "weak", label = "Weak", chart = "weak", tell = "report" }]
"""
"""Four steps: one act, one with sides, one with sites, one conditional."""

BEGIN = datetime(2026, 3, 2, 14, 22, 33, tzinfo=UTC)


def protocol_table(text: str = PROTOCOL) -> dict[str, Any]:
    return tomllib.loads(text)


def protocol(text: str = PROTOCOL) -> Protocol:
    found, flaws = read_table(protocol_table(text))
    assert found is not None, [str(flaw) for flaw in flaws]
    return found


def header(**changes: Any) -> Header:
    usual = Header(
        id="20260302-142233-hand-4f2a",
        created=BEGIN,
        app_version="0.1.0",
        participant="P-014",
        examiner="E-2",
    )
    return replace(usual, **changes)


def new_session(**changes: Any) -> Session:
    """A session to which nothing has happened; `changes` go to its header."""
    return Session(header=header(**changes), protocol=protocol(), table=protocol_table())


class Script:
    """Makes events one after another: each has the next number and happens some seconds after the one before.

    The clock runs as it does in use: not before the start, and neither in a pause nor away.
    """

    def __init__(self) -> None:
        self.events: list[Event] = []
        self.at = BEGIN
        self.clock = 0.0
        self._runs = False

    def add(self, cls: type[Event], *, after: float = 5.0, **fields: Any) -> Event:
        self.at += timedelta(seconds=after)
        # A program that died was away, however the session stood.
        if self._runs and cls is not Reopened:
            self.clock += after
        event = cls(n=len(self.events) + 1, at=self.at, clock=self.clock, **fields)
        self.events.append(event)
        if cls in {Started, Resumed, Reopened}:
            self._runs = True
        elif cls in {Paused, Left, Finished}:
            self._runs = False
        return event


def script(*parts: tuple[type[Event], dict[str, Any]]) -> list[Event]:
    """Events from pairs of class and fields, five seconds apart."""
    made = Script()
    for cls, fields in parts:
        made.add(cls, **fields)
    return made.events


def result(*entries: str, outcome: Outcome = Outcome.EXPECTED, **fields: Any) -> Result:
    return Result(entries=entries or ("whole",), outcome=outcome, **fields)


def differs(*entries: str, findings: tuple[str, ...] = (), **fields: Any) -> Result:
    return result(*entries, outcome=Outcome.DIFFERS, findings=findings, **fields)


def not_examined(*entries: str, reason: str) -> Result:
    return result(*entries, outcome=Outcome.NOT_EXAMINED, reason=reason)


def a_whole_examination() -> list[Event]:
    """Every kind of event but `amended` and unknown ones, with words that are hard on a file format."""
    look = {"step": "look"}
    wound = {"entries": ("left",), "findings": ("wound",)}
    return script(
        (Started, {"step": "wash"}),
        (Recorded, {"step": "wash", "results": (result(),)}),
        (Moved, look),
        (Recorded, {**look, "results": (result("right"), differs("left", findings=("wound",)))}),
        (Retracted, {"event": 4}),
        (Recorded, {**look, "results": (differs("left", findings=("wound",), detail='3 mm "raw"'),)}),
        (Remarked, {**look, "text": "„Zwickt\n# end of event 3\n[[event]]\nn = 4 🙂 \\ '''"}),
        (Told, {**look, **wound, "whom": "charge nurse", "when": "14:23"}),
        (Paused, {}),
        (Resumed, {}),
        (Interrupted, {"away_seconds": 61.5}),
        (Left, {}),
        (Reopened, {}),
        (Finished, {}),
    )


@st.composite
def histories(draw: st.DrawFn, session: Session, longest: int = 25) -> list[Event]:
    """Events such as a program that keeps the rules writes: crashes, undo, pauses, wall-clock jumps."""
    made = Script()
    current = session
    for _ in range(draw(st.integers(0, longest))):
        cls, fields = draw(st.sampled_from(_possible(current)))
        if cls is Recorded:
            fields = draw(_recordings(current.protocol))
        made.at += timedelta(seconds=draw(st.sampled_from([0, 0, 0, 0, -7200, 3600])))
        event = made.add(cls, after=draw(st.sampled_from([0.0, 0.125, 1.5, 9.0])), **fields)
        current = current.with_event(event)
    return made.events


def _possible(session: Session) -> list[tuple[type[Event], dict[str, Any]]]:
    """What may happen next, each with fields that fit; a recording gets its fields later."""
    here = {"step": session.state.current}
    wound = {"step": "look", "entries": ("left",), "findings": ("wound",)}
    told = (Told, {**wound, "whom": "charge nurse", "when": "10:00"})
    match session.state.stage:
        case Stage.NEW:
            return [(Started, {"step": "wash"})]
        case Stage.RUNNING:
            undo: list[tuple[type[Event], dict[str, Any]]] = [
                (Retracted, {"event": n}) for n in session.state.undoable
            ]
            steps: list[tuple[type[Event], dict[str, Any]]] = [
                (Moved, {"step": step.id}) for step in session.protocol
            ]
            away = (Interrupted, {"away_seconds": 30.0})
            mark = (Marked, {**here, "mark": "done after a prompt", "detail": ""})
            rare = [(Paused, {}), (Left, {}), (Reopened, {}), (Finished, {}), away]
            remark = (Remarked, {**here, "text": "…"})
            return [*steps, *undo, told, *[(Recorded, {})] * 6, remark, mark, *rare]
        case Stage.PAUSED:
            return [(Resumed, {}), (Resumed, {}), told, (Left, {}), (Reopened, {}), (Finished, {})]
        case Stage.AWAY:
            return [(Reopened, {})]
        case Stage.FINISHED:
            return [told, told, *[(Retracted, {"event": n}) for n in session.state.undoable]]


@st.composite
def _recordings(draw: st.DrawFn, protocol: Protocol) -> dict[str, Any]:
    step = draw(st.sampled_from(protocol.steps))
    outcome = draw(st.sampled_from(list(Outcome)))
    ids = [finding.id for finding in step.findings] if outcome is Outcome.DIFFERS else []
    keys = [entry.key for entry in step.entries]
    given = Result(
        entries=tuple(draw(st.lists(st.sampled_from(keys), min_size=1, unique=True))),
        outcome=outcome,
        findings=tuple(draw(st.lists(st.sampled_from(ids), unique=True))) if ids else (),
        reason=draw(st.sampled_from(REASONS)) if outcome is Outcome.NOT_EXAMINED else "",
    )
    return {"step": step.id, "results": (given,)}
