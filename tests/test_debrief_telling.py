"""What the debrief says of findings that had to be told, and of remarks."""

from dataclasses import replace
from datetime import timedelta

import pytest

from checklist.protocol.model import Finding
from checklist.session.events import Moved
from checklist.session.session import OBSERVATION
from checklist.summary.debrief import debrief
from tests.note_sessions import Script, differs, protocol_of, step, wholly_expected
from tests.practice_sessions import row_of
from tests.test_debrief import NEXT_TIME, under

URGENT = protocol_of(
    replace(
        step("neck", title="Bend"),
        findings=(Finding(id="stiff", label="Stiff", chart="stiff", tell="urgent"),),
    ),
    step("wash", title="Wash", critical="infection"),
)


class TestTelling:
    def test_an_urgent_finding_that_nobody_was_told_of_comes_first(self) -> None:
        script = Script(URGENT).start()
        script.record("neck", differs(findings=("stiff",)), seconds=15)
        session = script.finish().session

        assert under(session, NEXT_TIME)[:2] == [
            'Tell the physician on call at once of "Stiff" (bend; not told before the end).'
            " Why: nobody can act on what they were not told.",
            "Wash (not done). Why: infection.",
        ]
        assert under(session, "TELLING") == [
            'Bend: "Stiff", urgent. Not told at the end; to be told at once to the physician on call.'
        ]

    def test_it_is_said_how_long_after_its_record_an_urgent_finding_was_told(self) -> None:
        """Recorded at 14:05:15; told 30 s of examination and a pause of a minute later."""
        script = Script(URGENT).start()
        script.record("neck", differs(findings=("stiff",)), seconds=15)
        script.pause(60)
        script.add(Moved, 30, step="wash")
        script.told("neck", ("whole",), ("stiff",), "physician on call")

        assert under(script.finish().session, "TELLING") == [
            'Bend: "Stiff", urgent. Told physician on call, 14:06: written down 1:30 after the finding was.'
        ]

    def test_what_was_told_only_after_the_end_was_not_told_at_the_end(self) -> None:
        script = Script(URGENT).start()
        script.record("neck", differs(findings=("stiff",)), seconds=15)
        script.finish()
        script.at += timedelta(minutes=10)
        script.told("neck", ("whole",), ("stiff",), "physician on call")

        assert under(script.session, "TELLING") == [
            'Bend: "Stiff", urgent. Not told at the end; to be told at once to the physician on call.'
            " Told physician on call, 14:15: written down 10:00 after the finding was, after the end."
        ]
        assert under(script.session, NEXT_TIME)[0].startswith("Tell the physician on call at once")

    def test_where_nothing_had_to_be_told_nothing_is_said(self) -> None:
        assert under(wholly_expected(), "TELLING") == []


class TestRemarks:
    @pytest.mark.parametrize(
        ("mode", "heading"),
        [(OBSERVATION, "REMARKS OF THE OBSERVER"), ("examination", "REMARKS OF THE ONE WHO EXAMINED")],
    )
    def test_remarks_are_given_with_their_step_and_time(self, mode: str, heading: str) -> None:
        script = Script(row_of(1), mode=mode, observer="O-7").start()
        script.add(Moved, 65, step="s0")
        number = script.remark("s0", "Asked the patient\nto breathe out first")
        session = script.finish().session

        assert under(session, heading) == ["S0 (1:05): Asked the patient to breathe out first."]
        [block] = [each for each in debrief(session).blocks if each.heading == heading]
        assert block.sentences[0].rests_on == (number,)
