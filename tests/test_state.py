"""What events add up to: one fold, live and on re-reading; illegal events refused; time accounted for."""

from copy import deepcopy
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklist.session.events import (
    EVENT_KINDS,
    Amended,
    Event,
    Finished,
    Interrupted,
    Left,
    Marked,
    Moved,
    Outcome,
    Paused,
    Recalled,
    Recorded,
    Remarked,
    Reopened,
    Resumed,
    Retracted,
    Shown,
    Signed,
    Started,
    Told,
    Unknown,
)
from checklist.session.session import Session
from checklist.session.state import IllegalEventError, Interruption, Stage, fold, outcomes
from tests.helpers import (
    BEGIN,
    Script,
    a_whole_examination,
    differs,
    histories,
    new_session,
    not_examined,
    result,
    script,
)

NEW = new_session()
START = (Started, {"step": "wash"})
LOOK: dict[str, Any] = {"step": "look"}
Part = tuple[type[Event], dict[str, Any]]


def recorded(*results: Any, step: str = "look") -> Part:
    return Recorded, {"step": step, "results": results}


def session_after(*parts: Part) -> Session:
    return NEW.with_events(script(*parts))


def at_second(seconds: float) -> Any:
    return BEGIN + timedelta(seconds=seconds)


# One fold


@given(histories(NEW))
def test_a_session_read_again_is_the_session_as_it_was_live(events: list[Event]) -> None:
    live = NEW
    for event in events:
        live = live.with_event(event)

    assert live == NEW.with_events(events)
    assert live.events == tuple(events)


@given(histories(NEW))
def test_what_stands_for_an_entry_is_the_last_thing_recorded_and_not_taken_back(events: list[Event]) -> None:
    taken_back = {event.event for event in events if isinstance(event, Retracted)}
    stands: dict[str, dict[str, Outcome]] = {}
    for event in events:
        if isinstance(event, Recorded) and event.n not in taken_back:
            for given_result in event.results:
                for entry in given_result.entries:
                    stands.setdefault(event.step, {})[entry] = given_result.outcome
    state = NEW.with_events(events).state

    assert {step: outcomes(state, step) for step in state.records} == stands
    assert [remark.n for remark in state.remarks] == [
        event.n for event in events if isinstance(event, Remarked) and event.n not in taken_back
    ]
    assert [told.n for told in state.told] == [
        event.n for event in events if isinstance(event, Told) and event.n not in taken_back
    ]


def test_every_setting_but_care_is_marked_as_simulated() -> None:
    assert [new_session(setting=each).header.is_simulated for each in ("practice", "care", "")] == [
        True,
        False,
        True,
    ]


# Time


@given(histories(NEW))
def test_the_seconds_at_the_steps_add_up_to_the_clock(events: list[Event]) -> None:
    state = NEW.with_events(events).state

    assert sum(state.seconds.values()) == pytest.approx(state.clock)
    assert state.clock == (events[-1].clock if events else 0.0)


@given(histories(NEW), st.lists(st.integers(-(10**6), 10**6), min_size=25, max_size=25))
def test_no_jump_of_the_wall_clock_moves_a_record_or_a_second(events: list[Event], jumps: list[int]) -> None:
    jumped = [
        replace(event, at=event.at + timedelta(seconds=jump))
        for event, jump in zip(events, jumps, strict=False)
    ]
    told_true, told_wrong = NEW.with_events(events).state, NEW.with_events(jumped).state

    assert told_wrong.seconds == told_true.seconds
    assert told_wrong.clock == told_true.clock
    assert {step: outcomes(told_wrong, step) for step in told_wrong.records} == {
        step: outcomes(told_true, step) for step in told_true.records
    }


def test_time_counts_for_the_step_that_the_examiner_was_at() -> None:
    made = Script()
    made.add(Started, step="wash")
    made.add(Moved, after=20.0, step="look")
    made.add(Recorded, after=7.5, step="look", results=(result("left", "right"),))
    made.add(Moved, after=2.0, step="wash")
    made.add(Retracted, after=1.0, event=3)
    state = NEW.with_events(made.events).state

    assert state.seconds == {"wash": 21.0, "look": 9.5}
    assert state.current == "wash"
    assert state.clock == 30.5


def test_pauses_absences_and_crashes_are_interruptions_and_no_examination_time() -> None:
    made = Script()
    made.add(Started, step="wash")  # at second 5
    made.add(Paused, after=10.0)
    made.add(Resumed, after=100.0)
    made.add(Left, after=1.0)
    made.add(Reopened, after=1000.0)
    made.add(Moved, after=2.0, step="look")  # at second 1118; the program dies
    made.add(Reopened, after=500.0)
    made.add(Interrupted, after=3.0, away_seconds=30.0)
    made.add(Paused, after=1.0)  # at second 1622
    made.add(Left, after=60.0)
    made.add(Reopened, after=60.0)
    made.add(Paused, after=4.0)  # at second 1746
    made.add(Finished, after=9.0)
    state = NEW.with_events(made.events).state

    def gap(cause: str, start: float, end: float) -> Interruption:
        return Interruption(cause=cause, start=at_second(start), end=at_second(end))

    assert state.seconds == {"wash": 13.0, "look": 8.0}
    assert state.interruptions == (
        gap("paused", 15, 115),
        gap("program closed", 116, 1116),
        gap("program ended unexpectedly", 1118, 1618),
        gap("machine or program stood still", 1591, 1621),
        gap("paused", 1622, 1682),
        gap("program closed", 1682, 1742),
        gap("paused", 1746, 1755),
    )
    assert state.finished_at == at_second(1755)


def test_after_a_crash_the_time_away_begins_where_the_clock_stood() -> None:
    """The last event was at second 5; the clock ran on for five minutes, and then ten seconds were lost."""
    events = [
        Started(n=1, at=at_second(5), clock=0.0, step="wash"),
        Reopened(n=2, at=at_second(315), clock=300.0),
    ]
    state = NEW.with_events(events).state

    assert state.seconds == {"wash": 300.0}
    assert state.interruptions == (
        Interruption(cause="program ended unexpectedly", start=at_second(305), end=at_second(315)),
    )


def test_a_pause_that_lasts_has_no_end() -> None:
    state = session_after(START, (Paused, {})).state
    assert state.interruptions == (Interruption(cause="paused", start=at_second(10)),)


def test_a_clock_that_runs_backwards_is_refused() -> None:
    session = session_after(START, (Moved, LOOK))
    with pytest.raises(IllegalEventError, match=r"event 3: its clock 4.0 is before the 5.0"):
        session.with_event(Moved(n=3, at=at_second(15), clock=4.0, step="wash"))


# What may follow

REACHED: dict[Stage, tuple[Part, ...]] = {
    Stage.NEW: (),
    Stage.RUNNING: (START, recorded(result("left"))),
    Stage.PAUSED: (START, recorded(result("left")), (Paused, {})),
    Stage.AWAY: (START, recorded(result("left")), (Left, {})),
    Stage.FINISHED: (START, recorded(result("left")), (Finished, {})),
}
MAY_FOLLOW = {
    Stage.NEW: "started",
    Stage.RUNNING: "moved recorded marked shown recalled remarked told retracted paused interrupted left"
    " reopened finished",
    Stage.PAUSED: "resumed told left reopened finished",
    Stage.AWAY: "reopened",
    Stage.FINISHED: "told amended signed",
}
FIELDS: dict[str, dict[str, Any]] = {
    "started": {"step": "wash"},
    "moved": {"step": "wash"},
    "recorded": {"step": "look", "results": (result("left"),)},
    "remarked": {"step": "look", "text": "cold"},
    "told": {"step": "look", "entries": ("left",), "findings": ("wound",), "whom": "N", "when": "10:00"},
    "retracted": {"event": 2},
    "interrupted": {"away_seconds": 20.0},
    "amended": {"step": "look", "results": (result("left"),), "who": "E-2", "why": "late"},
    "marked": {"step": "look", "mark": "not done", "detail": ""},
    "shown": {"step": "look", "what": "order", "steps": ("look", "pulse")},
    "recalled": {"step": "look", "what": "order", "how": "recalled", "hints": 0, "typed": ""},
    "signed": {"who": "E-2", "digest": "0" * 64},
}


@pytest.mark.parametrize("kind", [*EVENT_KINDS, "something new"])
@pytest.mark.parametrize("stage", Stage)
def test_what_may_not_follow_is_refused_and_changes_nothing(stage: Stage, kind: str) -> None:
    session = session_after(*REACHED[stage])
    before = deepcopy(session)
    base: dict[str, Any] = {"n": len(session.events) + 1, "at": at_second(99), "clock": session.state.clock}
    if kind in EVENT_KINDS:
        event = EVENT_KINDS[kind](**base, **FIELDS.get(kind, {}))
    else:
        event = Unknown(**base, name=kind, fields={"x": 1})
    if kind in MAY_FOLLOW[stage].split() or kind == "something new":
        assert session.with_event(event).events[-1] == event
    else:
        with pytest.raises(IllegalEventError):
            session.with_event(event)
        with pytest.raises(IllegalEventError):
            NEW.with_events([*session.events, event])
    assert session == before


def test_a_refusal_says_what_and_when() -> None:
    with pytest.raises(IllegalEventError) as caught:
        session_after((Moved, LOOK))
    assert str(caught.value) == "event 1: cannot be 'moved' while the session is not started"


@pytest.mark.parametrize(
    ("part", "message"),
    [
        ((Moved, {"step": "feet"}), "event 2: the protocol has no step 'feet'"),
        (recorded(result("left"), step="feet"), "event 2: the protocol has no step 'feet'"),
        (recorded(result("middle")), "event 2: step 'look' has no entry 'middle'"),
        (recorded(differs("left", findings=("absent",))), "event 2: step 'look' has no finding 'absent'"),
        (recorded(differs("left", detail="x", tell="soon")), "event 2: nothing is told 'soon'"),
        (recorded(differs("left", findings=("other",))), "event 2: step 'look' has no finding 'other'"),
        (
            (Told, {**FIELDS["told"], "findings": ("absent",)}),
            "event 2: step 'look' has no finding 'absent'",
        ),
        ((Told, {**FIELDS["told"], "entries": ("whole",)}), "event 2: step 'look' has no entry 'whole'"),
        ((Marked, {**FIELDS["marked"], "step": "feet"}), "event 2: the protocol has no step 'feet'"),
        ((Marked, {**FIELDS["marked"], "mark": "fair"}), "event 2: there is no mark 'fair'"),
        ((Shown, {**FIELDS["shown"], "steps": ("look", "foot")}), "event 2: the protocol has no step 'foot'"),
        ((Recalled, {**FIELDS["recalled"], "how": "easy"}), "event 2: there is no mark 'easy'"),
        ((Retracted, {"event": 1}), "event 2: event 1 cannot be taken back"),
        ((Retracted, {"event": 0}), "event 2: event 0 cannot be taken back"),
        ((Retracted, {"event": -1}), "event 2: event -1 cannot be taken back"),
        ((Retracted, {"event": 2}), "event 2: event 2 cannot be taken back"),
        ((Retracted, {"event": 3}), "event 2: event 3 cannot be taken back"),
    ],
)
def test_what_the_session_does_not_have_cannot_be_spoken_of(part: Part, message: str) -> None:
    with pytest.raises(IllegalEventError) as caught:
        session_after(START, part)
    assert str(caught.value) == message


def test_free_text_can_be_told_as_a_finding_of_its_own() -> None:
    session = session_after(START, (Told, {**FIELDS["told"], "findings": ("other",)}))
    assert session.state.told[0].findings == ("other",)


@pytest.mark.parametrize("n", [0, 1, 3])
def test_events_are_numbered_without_a_gap(n: int) -> None:
    with pytest.raises(IllegalEventError, match=f"event {n}: expected number 2"):
        session_after(START).with_event(Moved(n=n, at=BEGIN, clock=0.0, step="look"))


# Taking back


def test_undo_brings_back_what_stood_before() -> None:
    session = session_after(
        START, recorded(result("left")), recorded(differs("left", "right")), (Retracted, {"event": 3})
    )
    assert outcomes(session.state, "look") == {"left": Outcome.EXPECTED}
    assert session.state.undoable == (2,)
    assert session.state.clock == 15.0


def test_only_what_was_recorded_remarked_or_told_can_be_taken_back_and_only_once() -> None:
    remark = (Remarked, {**LOOK, "text": "cold"})
    parts = (START, (Moved, LOOK), recorded(result("left")), remark, (Told, FIELDS["told"]))
    session = session_after(*parts)
    undone = session_after(*parts, *[(Retracted, {"event": n}) for n in (5, 3, 4)])

    assert session.state.undoable == (3, 4, 5)
    assert undone.state.undoable == ()
    assert (undone.state.records, undone.state.remarks, undone.state.told) == ({}, (), ())
    for n in range(1, 9):
        with pytest.raises(IllegalEventError, match=f"event 9: event {n} cannot be taken back"):
            undone.with_event(Retracted(n=9, at=BEGIN, clock=undone.state.clock, event=n))


# Marks


def test_the_last_mark_of_a_step_stands() -> None:
    prompted = (Marked, {**LOOK, "mark": "done after a prompt", "detail": "asked for the other hand"})
    session = session_after(
        START, (Marked, FIELDS["marked"]), prompted, (Marked, {**FIELDS["marked"], "step": "wash"})
    )
    marks = session.state.marks

    assert {step: (mark.mark, mark.detail, mark.n) for step, mark in marks.items()} == {
        "look": ("done after a prompt", "asked for the other hand", 3),
        "wash": ("not done", "", 4),
    }
    assert session.state.undoable == (2, 3, 4)
    assert session.state.records == {}


def test_the_first_answer_counts_and_a_later_one_only_makes_less_of_it() -> None:
    def how(*said: str) -> list[tuple[str, str, int]]:
        parts = [(Recalled, {**FIELDS["recalled"], "how": each}) for each in said]
        other = (Recalled, {**FIELDS["recalled"], "what": "expect"})
        found = session_after(START, parts[0], other, *parts[1:])
        return [(each.what, each.how, each.n) for each in found.state.recalls]

    assert how("recalled", "not recalled") == [("order", "not recalled", 2), ("expect", "recalled", 3)]
    assert how("recalled", "recalled with a hint")[0] == ("order", "recalled with a hint", 2)
    assert how("not recalled", "recalled")[0] == ("order", "not recalled", 2)
    assert how("recalled with a hint", "recalled out of place")[0] == ("order", "recalled with a hint", 2)


def test_a_mark_taken_back_brings_back_the_one_before() -> None:
    again = (Marked, {**LOOK, "mark": "done", "detail": ""})
    undone = session_after(START, (Marked, FIELDS["marked"]), again, (Retracted, {"event": 3}))
    gone = session_after(START, (Marked, FIELDS["marked"]), (Retracted, {"event": 2}))

    assert {step: mark.mark for step, mark in undone.state.marks.items()} == {"look": "not done"}
    assert undone.state.undoable == (2,)
    assert (gone.state.marks, gone.state.undoable) == ({}, ())


def test_a_mark_from_before_the_end_stays() -> None:
    session = session_after(START, (Marked, FIELDS["marked"]), (Finished, {}))

    assert session.state.undoable == ()
    with pytest.raises(IllegalEventError, match="event 4: event 2 cannot be taken back"):
        session.with_event(Retracted(n=4, at=at_second(99), clock=10.0, event=2))


# After the end


@pytest.mark.parametrize("kind", [*EVENT_KINDS, "something new"])
def test_a_signed_session_takes_only_amendments_tellings_and_signatures(kind: str) -> None:
    told = (Told, FIELDS["told"])
    session = session_after(START, recorded(result("left")), (Finished, {}), told, (Signed, FIELDS["signed"]))
    base: dict[str, Any] = {"n": 6, "at": at_second(99), "clock": session.state.clock}
    fields = {**FIELDS, "retracted": {"event": 4}}.get(kind, {})
    known = kind in EVENT_KINDS
    event = EVENT_KINDS[kind](**base, **fields) if known else Unknown(**base, name=kind, fields={})
    if kind in {"amended", "told", "signed", "something new"}:
        assert session.with_event(event).events[-1] == event
    else:
        refused = "cannot be taken back" if kind == "retracted" else "the session is signed: it takes only"
        with pytest.raises(IllegalEventError, match=f"event 6: .*{refused}"):
            session.with_event(event)
        with pytest.raises(IllegalEventError, match=f"event 6: .*{refused}"):
            NEW.with_events([*session.events, event])


def test_everybody_who_signed_is_kept_in_order() -> None:
    second = (Signed, {"who": "T-1", "digest": "1" * 64})
    session = session_after(
        START, (Finished, {}), (Signed, FIELDS["signed"]), (Amended, FIELDS["amended"]), second
    )

    assert [(each.who, each.n) for each in session.state.signed] == [("E-2", 3), ("T-1", 5)]
    assert session.state.stage is Stage.FINISHED
    assert session.state.records["look"]["left"].amendment is session.events[3]


def test_an_amendment_keeps_what_it_corrects_and_shows_a_late_entry_as_such() -> None:
    amended = {"step": "look", "results": (differs("left", "right"),), "who": "E-2", "why": "misread"}
    session = session_after(START, recorded(result("left")), (Finished, {}), (Amended, amended))
    left, right = (session.state.records["look"][side] for side in ("left", "right"))

    assert left.result.outcome is right.result.outcome is Outcome.DIFFERS
    assert left.amendment is right.amendment is session.events[3]
    assert left.replaced is not None and left.replaced.result.outcome is Outcome.EXPECTED
    assert left.replaced.event == 2
    assert right.replaced is None
    assert session.state.undoable == ()


def test_a_record_made_again_before_the_end_is_no_amendment() -> None:
    declined = not_examined("left", reason="declined")
    session = session_after(START, recorded(result("left")), recorded(declined))
    record = session.state.records["look"]["left"]
    assert (record.event, record.amendment) == (3, None)


def test_a_record_made_again_keeps_what_stood_before_until_it_is_taken_back() -> None:
    """So that it stays legible what somebody was told of."""
    wound, again = recorded(differs("left", findings=("wound",))), recorded(result("left", "right"))
    corrected = session_after(START, wound, (Told, FIELDS["told"]), again)
    undone = session_after(START, wound, (Told, FIELDS["told"]), again, (Retracted, {"event": 4}))
    left, right = (corrected.state.records["look"][side] for side in ("left", "right"))

    assert left.replaced is not None and left.replaced.result.findings == ("wound",)
    assert left.replaced.event == 2
    assert right.replaced is None
    assert undone.state.records == session_after(START, wound).state.records


def test_only_a_telling_after_the_end_can_be_taken_back_after_it() -> None:
    told = (Told, FIELDS["told"])
    session = session_after(START, recorded(result("left")), told, (Finished, {}), told, told)
    undone = session.with_event(Retracted(n=7, at=at_second(99), clock=15.0, event=5))

    assert session.state.undoable == (5, 6)
    assert undone.state.undoable == (6,)
    assert [each.n for each in undone.state.told] == [3, 6]
    assert NEW.with_events(undone.events) == undone
    for n in (1, 2, 3, 4, 5, 7):
        with pytest.raises(IllegalEventError, match=f"event 8: event {n} cannot be taken back"):
            undone.with_event(Retracted(n=8, at=at_second(99), clock=15.0, event=n))


def test_an_amendment_cannot_be_taken_back() -> None:
    session = session_after(START, (Finished, {}), (Amended, FIELDS["amended"]))
    with pytest.raises(IllegalEventError, match="event 4: event 3 cannot be taken back"):
        session.with_event(Retracted(n=4, at=at_second(99), clock=5.0, event=3))


def test_unknown_events_are_kept_and_only_let_time_pass() -> None:
    session = session_after(START, (Unknown, {"name": "photographed", "fields": {"lens": 50}}), (Moved, LOOK))
    assert len(session.events) == 3
    assert session.state == session_after(START, (Moved, {"step": "wash"}), (Moved, LOOK)).state


def test_a_fold_can_go_on_from_a_state() -> None:
    events = [event for event in a_whole_examination() if not isinstance(event, Retracted)]
    assert fold(events[6:], fold(events[:6])) == fold(events)


def test_a_whole_examination_ends_finished_where_it_was() -> None:
    state = NEW.with_events(a_whole_examination()).state
    assert (state.stage, state.current, state.clock) == (Stage.FINISHED, "look", 55.0)
    assert outcomes(state, "look") == {"left": Outcome.DIFFERS}
