"""Where an examination stands: what is left, what must be told, what came too early, how the time runs."""

from dataclasses import replace
from typing import Any

import pytest

from checklist.protocol.model import Finding
from checklist.session.events import (
    NOT_INDICATED,
    Amended,
    Event,
    Finished,
    Moved,
    Outcome,
    Recorded,
    Retracted,
    Started,
    Told,
)
from checklist.session.session import Session
from checklist.session.standing import (
    Tally,
    alerts,
    findings_of,
    gaps,
    is_complete,
    is_set_aside,
    late_and_corrected,
    missing_equipment,
    open_alerts,
    open_entries,
    pace,
    section_target,
    tally,
    unmet,
)
from tests.helpers import (
    PROTOCOL,
    Script,
    differs,
    header,
    new_session,
    not_examined,
    protocol,
    protocol_table,
    result,
    script,
)

START = (Started, {"step": "wash"})
Part = tuple[type[Event], dict[str, Any]]


def recorded(step: str, *results: Any) -> Part:
    return Recorded, {"step": step, "results": results}


def told(step: str, entries: tuple[str, ...], *findings: str) -> Part:
    words = {"whom": "charge nurse", "when": "14:23"}
    return Told, {"step": step, "entries": entries, "findings": findings, **words}


def after(*parts: Part, **header: Any) -> Session:
    return new_session(**header).with_events(script(START, *parts))


def step(session: Session, name: str) -> Any:
    return session.protocol.step_of[name]


NOT_ASKED = recorded("grip", not_examined("whole", reason=NOT_INDICATED))


# What is left


def test_an_entry_is_open_until_it_has_an_outcome_whatever_that_is() -> None:
    fresh, half = after(), after(recorded("look", not_examined("left", reason="declined")))

    assert [entry.key for entry in open_entries(fresh, step(fresh, "look"))] == ["right", "left"]
    assert [entry.key for entry in open_entries(half, step(half, "look"))] == ["right"]
    assert not is_complete(half, step(half, "look"))
    assert is_complete(after(recorded("wash", result())), step(half, "wash"))


def test_gaps_are_what_was_not_reached_or_half_recorded_in_listed_order() -> None:
    """A conditional step is no gap."""
    session = after(recorded("pulse", result("ulnar")), recorded("wash", result()))
    found = [(gap.step.id, [entry.key for entry in gap.entries], gap.is_partial) for gap in gaps(session)]

    assert found == [("look", ["right", "left"], False), ("pulse", ["radial"], True)]


def test_taking_back_opens_a_gap_again() -> None:
    session = after(recorded("wash", result()), (Retracted, {"event": 2}))
    assert [gap.step.id for gap in gaps(session)] == ["wash", "look", "pulse"]


def test_a_conditional_step_is_set_aside_until_it_was_examined() -> None:
    declined = recorded("grip", not_examined("whole", reason="declined"))

    assert is_set_aside(after(), step(after(), "grip"))
    assert is_set_aside(after(NOT_ASKED), step(after(), "grip"))
    assert not is_set_aside(after(declined), step(after(), "grip"))
    assert not is_set_aside(after(recorded("grip", result())), step(after(), "grip"))
    assert not is_set_aside(after(), step(after(), "look"))


def test_the_tally_counts_whole_steps_and_leaves_out_what_is_set_aside() -> None:
    assert tally(after()) == Tally(done=0, of=3)
    assert tally(after(recorded("look", result("left")), NOT_ASKED)) == Tally(done=0, of=3)
    assert tally(after(recorded("look", result("left", "right")))) == Tally(done=1, of=3)
    assert tally(after(recorded("grip", result()), recorded("wash", result()))) == Tally(done=2, of=4)


# What came too early, what is missing


def test_a_step_names_what_should_have_come_before_it_and_why() -> None:
    early, late = after(), after(recorded("look", result("left")))

    assert [(before.id, why) for before, why in unmet(early, step(early, "pulse"))] == [
        ("look", "look before you touch")
    ]
    assert unmet(late, step(late, "pulse")) == ()
    assert unmet(early, step(early, "look")) == ()


def test_equipment_found_missing_is_named_at_the_steps_that_need_it() -> None:
    session = after(missing=("light",))
    assert missing_equipment(session, step(session, "look")) == ("Light",)
    assert missing_equipment(session, step(session, "pulse")) == ()
    assert missing_equipment(after(), step(session, "look")) == ()


# What must be told


def test_what_must_be_told_is_listed_urgent_first_with_where_it_was_found() -> None:
    """A finding that is only noted is not."""
    session = after(
        recorded("look", differs("left", findings=("wound", "scar")), differs("right", findings=("wound",))),
        recorded("pulse", differs("ulnar", findings=("absent",)), result("radial")),
    )
    found = [(alert.step.id, alert.finding.id, alert.entries, alert.is_open) for alert in alerts(session)]

    assert found == [("pulse", "absent", ("ulnar",), True), ("look", "wound", ("left", "right"), True)]


def test_an_alert_is_closed_when_every_place_of_it_was_told() -> None:
    wound = recorded("look", differs("left", "right", findings=("wound",)))
    half = after(wound, told("look", ("left",), "wound"))
    whole = after(wound, told("look", ("right", "left"), "wound"))
    other = after(wound, told("look", ("left", "right"), "blue"))

    assert len(open_alerts(half)) == len(open_alerts(other)) == 1
    assert open_alerts(whole) == ()
    assert alerts(half)[0].untold == ("right",)
    in_turn = after(wound, told("look", ("left",), "wound"), told("look", ("right",), "wound"))
    assert open_alerts(in_turn) == ()


def test_own_words_that_stand_again_were_not_told_when_others_stood() -> None:
    first = recorded("look", differs("left", detail="blister", tell="report"))
    second = recorded("look", differs("left", detail="two blisters", tell="report"))

    session = after(first, second, told("look", ("left",), "other"), (Retracted, {"event": 3}))

    assert [alert.finding.label for alert in open_alerts(session)] == ["blister"]


def test_an_alert_opens_again_when_the_telling_is_taken_back_or_another_place_is_found() -> None:
    wound = recorded("look", differs("left", findings=("wound",)))
    tell = told("look", ("left",), "wound")
    more = recorded("look", differs("right", findings=("wound",)))

    assert open_alerts(after(wound, tell)) == ()
    assert len(open_alerts(after(wound, tell, (Retracted, {"event": 3})))) == 1
    assert len(open_alerts(after(wound, tell, more))) == 1


def test_free_text_that_must_be_told_is_an_alert_of_its_own() -> None:
    session = after(recorded("look", differs("left", detail="blister 2 cm", tell="urgent")))
    (alert,) = open_alerts(session)

    assert alert.finding == Finding(id="other", label="blister 2 cm", chart="blister 2 cm", tell="urgent")
    assert open_alerts(session.with_event(script(START, START, told("look", ("left",), "other"))[2])) == ()


def test_free_text_that_was_not_marked_is_no_alert() -> None:
    assert alerts(after(recorded("look", differs("left", detail="blister 2 cm")))) == ()


def test_findings_of_a_result_keep_their_order_with_free_text_last() -> None:
    look = step(after(), "look")
    given = differs("left", findings=("blue", "scar"), detail="cool", tell="report")
    assert [finding.id for finding in findings_of(look, given)] == ["blue", "scar", "other"]


# How the time runs


def timed(*seconds: tuple[str, float]) -> Session:
    """Each step in turn, recorded after so many seconds at it."""
    made = Script()
    made.add(Started, step=seconds[0][0])
    for name, spent in seconds:
        if made.events[-1].kind == "recorded":
            made.add(Moved, after=0.0, step=name)
        keys = [entry.key for entry in new_session().protocol.step_of[name].entries]
        made.add(Recorded, after=spent, step=name, results=(result(*keys),))
    return new_session().with_events(made.events)


def test_the_pace_counts_step_section_and_whole_up_to_now() -> None:
    session = timed(("wash", 25.0), ("look", 12.0))
    now = pace(session, 40.0)

    assert (now.step, now.section, now.total) == (15.0, 15.0, 40.0)
    assert (now.section_target, now.total_target) == (70.0, 120.0)


def test_the_forecast_goes_by_the_plan_while_nothing_is_done() -> None:
    """20 s, 30 s and 40 s are planned; 5 of the first and 10 of the second are spent."""
    session = after((Moved, {"step": "look"}))
    assert pace(session, 15.0).forecast == 15.0 + 15.0 + 20.0 + 40.0


def test_time_spent_at_an_open_step_is_not_to_come_again() -> None:
    """20 s planned took 20, so the pace is as planned; 30 and 40 s are to come."""
    session = timed(("wash", 20.0))
    session = session.with_event(Moved(n=3, at=session.events[-1].at, clock=20.0, step="look"))
    assert pace(session, 30.0).forecast == 30.0 + 60.0
    assert pace(session, 90.0).forecast == 90.0 + 40.0


@pytest.mark.parametrize(
    ("planned", "spent", "factor"),
    [
        # 1 + (observed - 1) * planned / (planned + 300), the observed pace from 0.5 to 2.
        (20, 10.0, 0.96875),  # 1 - 0.5 * 20 / 320
        (20, 1.0, 0.96875),
        (20, 40.0, 1.0625),  # 1 + 1 * 20 / 320
        (300, 225.0, 0.875),  # 1 - 0.25 * 300 / 600
        (300, 600.0, 1.5),
        (300, 3000.0, 1.5),
        (2700, 1350.0, 0.55),  # 1 - 0.5 * 2700 / 3000
    ],
)
def test_the_forecast_goes_by_the_pace_so_far_the_more_of_it_is_known(
    planned: int, spent: float, factor: float
) -> None:
    """Cleaning hands is done, planned for so long; 30 s and 40 s are left."""
    text = PROTOCOL.replace("seconds = 20", f"seconds = {planned}")
    events = script(START, recorded("wash", result()))
    session = Session(header=header(), protocol=protocol(text), table=protocol_table(text)).with_events(
        [events[0], replace(events[1], clock=spent)]
    )
    assert pace(session, spent).forecast == pytest.approx(spent + 70.0 * factor)


def test_a_session_not_started_has_no_step_time() -> None:
    now = pace(new_session(), 0.0)
    assert (now.step, now.section, now.section_target, now.forecast) == (0.0, 0.0, 0.0, 90.0)


def test_a_section_plans_no_time_for_what_is_set_aside() -> None:
    session, asked = after(), after(recorded("grip", result()))
    hand = session.protocol.sections[1]
    assert section_target(session, hand) == 70.0
    assert section_target(asked, hand) == 80.0


# After the end


def test_late_entries_and_corrections_are_listed_as_they_stand() -> None:
    amended = {"step": "look", "results": (differs("left", "right"),), "who": "E-2", "why": "misread"}
    session = after(
        recorded("look", result("left")), recorded("wash", result()), (Finished, {}), (Amended, amended)
    )
    found = [
        (of.id, entry, record.result.outcome, record.replaced and record.replaced.result.outcome)
        for of, entry, record in late_and_corrected(session)
    ]

    assert found == [
        ("look", "left", Outcome.DIFFERS, Outcome.EXPECTED),
        ("look", "right", Outcome.DIFFERS, None),
    ]
