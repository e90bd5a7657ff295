"""Performances for the tests of score, order, pace and debrief, made from compact scripts. All invented."""

from collections.abc import Mapping, Sequence
from datetime import timedelta

from checklist.protocol.model import After, FreeOrder, Protocol, Section
from checklist.session.events import Marked, Moved, Result
from checklist.session.session import OBSERVATION, Session
from tests.note_sessions import (
    BEGIN,
    GOLDEN,
    Script,
    differs,
    not_done,
    protocol_of,
    read_protocol,
    same,
    step,
)

MOUTH_AND_NECK = read_protocol(GOLDEN / "mouth-and-neck.toml")


def visit(script: Script, step_id: str, seconds: float, *results: Result) -> None:
    """Go to a step, stay there, and record."""
    script.add(Moved, step=step_id)
    script.record(step_id, *(results or (same(),)), seconds=seconds)


def mark(script: Script, step_id: str, seconds: float, given: str, detail: str = "") -> int:
    """Go to a step, stay there, and mark it."""
    script.add(Moved, step=step_id)
    return script.add(Marked, seconds, step=step_id, mark=given, detail=detail)


def examined() -> Session:
    """Out of order, one side left out, one entry too fast, gloves not taken off, thanks deferred."""
    script = Script(MOUTH_AND_NECK, assessed=True).start()
    script.record("hands", same(), seconds=20)
    visit(script, "consent", 10)
    visit(script, "identity", 10)
    visit(script, "look", 20)
    visit(script, "feel", 30, differs("right", findings=("weak",)), same("left"))
    visit(script, "listen", 30, same("right"))
    visit(script, "tongue", 2)
    visit(script, "gloves-off", 8, not_done(reason="out of time"))
    visit(script, "hands-after", 20)
    visit(script, "thank", 10, not_done(reason="deferred", detail="asleep"))
    return script.finish().session


def before_that(look_seconds: Sequence[float]) -> tuple[Session, ...]:
    """Earlier sessions of the same examiner, a day apart, that got as far as the inspection."""
    return tuple(_earlier(seconds, days) for days, seconds in enumerate(look_seconds, 1))


def _earlier(seconds: float, days: int) -> Session:
    script = Script(MOUTH_AND_NECK, begin=BEGIN - timedelta(days=days)).start()
    script.record("hands", same(), seconds=20)
    visit(script, "look", seconds)
    return script.finish().session


def observed() -> Session:
    """Marked by an observer: prompted, incorrect, unseen, one step without a mark, and over the time."""
    script = Script(MOUTH_AND_NECK, mode=OBSERVATION, observer="O-7").start()
    script.add(Marked, 20, step="hands", mark="done", detail="")
    mark(script, "identity", 15, "done after a prompt", "asked who this is")
    mark(script, "consent", 5, "not done")
    mark(script, "look", 20, "done")
    mark(script, "listen", 40, "could not be seen")
    mark(script, "feel", 60, "done incorrectly", "both sides at once")
    mark(script, "tongue", 10, "not applicable")
    mark(script, "hands-after", 60, "done")
    mark(script, "thank", 20, "done")
    return script.finish().session


def row_of(count: int, *, after: Mapping[str, str] | None = None, free: Sequence[str] = ()) -> Protocol:
    """A protocol of steps s0, s1, … in one section; `after` is step → the one that comes before it."""
    ids = [f"s{number}" for number in range(count)]
    made = (
        step(each, after=(After(step=after[each], why=f"{after[each]} first"),))
        if after and each in after
        else step(each)
        for each in ids
    )
    orders = (FreeOrder(steps=tuple(free), why="any"),) if free else ()
    section = Section(id="row", title="Row", steps=tuple(made), free_order=orders)
    return protocol_of(sections=(section,))


def done_in_order(protocol: Protocol, order: Sequence[int]) -> Session:
    """A session in which the steps with these numbers were done one after another."""
    script = Script(protocol).start()
    for number in order:
        visit(script, f"s{number}", 15)
    return script.finish().session
