"""What the note says must be told, was told, and was changed afterwards; texts are written by hand."""

from dataclasses import replace
from datetime import datetime

import pytest

from checklist.protocol.model import Finding, Reading
from checklist.session.events import Told
from checklist.summary.document import plain_text
from checklist.summary.note import note
from tests.note_sessions import (
    ASK,
    PROTOCOL,
    Script,
    block,
    differs,
    not_done,
    protocol_of,
    same,
    step,
    unseen,
)


class TestToReport:
    def items(self, script: Script) -> list[str]:
        return block(script, "TO REPORT")

    def test_nothing_to_tell_is_said(self) -> None:
        expected = ["Nothing was recorded that this protocol marks to be told."]
        assert self.items(Script(PROTOCOL).start()) == expected

    def test_urgent_findings_come_first_with_whom_to_tell(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("pupil", differs("left", findings=("slow", "oval"), detail="since noon"), same("right"))
        script.record("neck", differs(findings=("stiff",)))
        assert self.items(script) == [
            "URGENT, tell at once: neck stiff. Not yet told; to be told: physician on call.",
            "Report before leaving: left pupil slow to light: since noon. "
            "Not yet told; to be told: nurse in charge.",
        ]

    def test_a_finding_can_name_its_own_person_to_tell(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("pupil", differs(findings=("fixed",)))
        assert self.items(script) == [
            "URGENT, tell at once: pupils fixed bilaterally. Not yet told; to be told: rapid response team."
        ]

    def test_once_somebody_is_told_the_item_says_whom_and_when_alone(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("pupil", differs(findings=("fixed",)))
        script.told("pupil", ("right", "left"), ("fixed",), "team leader")
        assert self.items(script) == [
            "URGENT, tell at once: pupils fixed bilaterally. Told team leader, 14:05."
        ]

    def test_telling_one_side_is_not_telling_both(self) -> None:
        script = Script(PROTOCOL).start()
        right = script.record("pupil", differs("right", findings=("slow",)))
        told = script.told("pupil", ("right",), ("slow",), "nurse in charge")
        left = script.record("pupil", differs("left", findings=("slow",)))
        assert self.items(script) == [
            "Report before leaving: pupils slow to light bilaterally. "
            "Told of right: nurse in charge, 14:05. Not yet told of left; to be told: nurse in charge."
        ]
        [item] = note(script.session).blocks[1].sentences
        assert item.rests_on == (right, told, left)
        script.told("pupil", ("left",), ("slow",), "instructor")
        assert self.items(script)[0].endswith(
            "Told of right: nurse in charge, 14:05. Told of left: instructor, 14:05."
        )

    def test_telling_of_another_finding_does_not_count(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("pupil", differs("right", findings=("slow", "fixed")), same("left"))
        script.told("pupil", ("right",), ("fixed",), "team leader")
        told, open_one = self.items(script)
        assert told == "URGENT, tell at once: right pupil fixed. Told team leader, 14:05."
        assert open_one == (
            "Report before leaving: right pupil slow to light. Not yet told; to be told: nurse in charge."
        )

    def test_a_telling_that_was_taken_back_does_not_count(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("neck", differs(findings=("stiff",)))
        script.undo(script.told("neck", ("whole",), ("stiff",), "physician"))
        assert self.items(script)[0].endswith("neck stiff. Not yet told; to be told: physician on call.")

    def test_own_words_marked_to_be_told_are_told_as_written(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("neck", differs(detail="lump, 2 cm, hard.", tell="report"))
        assert self.items(script) == [
            "Report before leaving: neck: lump, 2 cm, hard. Not yet told; to be told: nurse in charge."
        ]

    def test_own_words_marked_beside_a_listed_finding_are_an_item_of_their_own(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("neck", differs(findings=("stiff",), detail="lump, 2 cm", tell="report"))
        assert self.items(script) == [
            "URGENT, tell at once: neck stiff. Not yet told; to be told: physician on call.",
            "Report before leaving: neck: lump, 2 cm. Not yet told; to be told: nurse in charge.",
        ]

    def test_own_words_marked_at_one_side_do_not_part_a_finding_of_both(self) -> None:
        script = Script(PROTOCOL).start()
        right = differs("right", findings=("slow",), detail="clouded", tell="report")
        script.record("pupil", right, differs("left", findings=("slow",)))
        assert [item.split(". ")[0] for item in self.items(script)] == [
            "Report before leaving: pupils slow to light bilaterally",
            "Report before leaving: right pupil: clouded",
        ]

    def test_own_words_beside_what_is_as_expected_can_be_marked(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("neck", same(detail="rash", tell="report"))
        assert self.items(script)[0].startswith("Report before leaving: neck: rash. Not yet")

    def test_own_words_changed_after_the_telling_are_not_yet_told(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("neck", differs(detail="lump, 2 cm", tell="report"))
        script.told("neck", ("whole",), ("other",), "nurse in charge")
        assert self.items(script)[0].endswith("2 cm. Told nurse in charge, 14:05.")
        script.record("neck", differs(detail="lump, 2 cm, hard", tell="report"))
        assert self.items(script)[0].endswith("hard. Not yet told; to be told: nurse in charge.")

    def test_different_words_at_two_sides_are_kept_apart(self) -> None:
        script = Script(PROTOCOL).start()
        script.record(
            "pupil",
            differs("right", findings=("slow",), detail="3 mm."),
            differs("left", findings=("slow", "oval"), detail="4 mm."),
        )
        assert self.items(script) == [
            "Report before leaving: right pupil slow to light: 3 mm; left pupil slow to light: 4 mm. "
            "Not yet told; to be told: nurse in charge."
        ]

    def test_what_the_patient_reports_says_that_it_is_reported(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("ask", differs(findings=("ache",), detail='"like a band"'))
        assert self.items(script) == [
            'Report before leaving: patient reports headache: "like a band". '
            "Not yet told; to be told: nurse in charge."
        ]

    @pytest.mark.parametrize(
        ("subject", "chart", "expected"),
        [
            ("patient", "describes headache", "patient describes headache"),
            ("patient", "with headache", "reported by the patient: patient with headache"),
            ("headache", "felt", "reported by the patient: headache felt"),
            ("patients", "reports none", "reported by the patient: patients reports none"),
        ],
    )
    def test_an_answer_whose_words_do_not_say_so_is_said_to_be_reported(
        self, subject: str, chart: str, expected: str
    ) -> None:
        ache = Finding(id="ache", label="Headache", chart=chart, tell="report")
        asked = replace(ASK, subject=subject, findings=(ache,))
        script = Script(protocol_of(asked)).start()
        script.record("ask", differs(findings=("ache",)))
        assert self.items(script)[0].startswith(f"Report before leaving: {expected}. Not yet told")

    def test_own_words_about_an_answer_are_said_to_be_reported(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("ask", differs(detail="dizzy since Monday", tell="urgent"))
        assert self.items(script) == [
            "URGENT, tell at once: reported by the patient: dizzy since Monday. "
            "Not yet told; to be told: physician on call."
        ]
        script.finish()
        script.amend("ask", differs(detail="dizzy", tell="report"), away=60, why="misheard")
        expected = "Report before leaving: reported by the patient [corrected]: dizzy."
        assert self.items(script)[0].startswith(expected)

    def test_a_finding_written_after_the_end_is_marked(self) -> None:
        script = Script(PROTOCOL).start().finish()
        script.amend("neck", differs(findings=("stiff",)), away=60, why="forgotten")
        assert self.items(script)[0].startswith("URGENT, tell at once: neck stiff [late entry]. Not yet")


class TestToldAndChanged:
    """A person was told of what the record then stopped saying: both are facts, and both stand."""

    def items(self, script: Script) -> list[str]:
        return block(script, "TO REPORT")

    def test_a_telling_outlives_the_record_that_it_was_about(self) -> None:
        script = Script(PROTOCOL).start()
        first = script.record("pupil", differs("right", findings=("fixed",), detail="6 mm"), same("left"))
        told = script.told("pupil", ("right",), ("fixed",), "N-1")
        anew = script.record("pupil", same("right"), seconds=300)
        assert self.items(script) == [
            "Told N-1, 14:05, of what was changed afterwards: right pupil fixed: 6 mm. "
            "Recorded anew at 14:10: right pupil round."
        ]
        [item] = note(script.session).blocks[1].sentences
        assert item.rests_on == (first, told, anew)
        assert "corrected" not in plain_text(note(script.session))

    def test_of_a_finding_that_stands_at_one_side_both_parts_are_said(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("pupil", differs(findings=("slow",)))
        script.told("pupil", ("right", "left"), ("slow",), "N-1")
        script.record("pupil", same("left"), seconds=60)
        assert self.items(script) == [
            "Report before leaving: right pupil slow to light. Told N-1, 14:05.",
            "Told N-1, 14:05, of what was changed afterwards: left pupil slow to light. "
            "Recorded anew at 14:06: left pupil round.",
        ]

    def test_sides_changed_at_different_times_and_ways_are_said_apart(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("pupil", differs(findings=("slow",)))
        script.told("pupil", ("right", "left"), ("slow",), "N-1")
        script.record("pupil", unseen("right", detail="shut"), seconds=60)
        script.record("pupil", not_done("left", reason="declined"), seconds=60)
        assert self.items(script) == [
            "Told N-1, 14:05, of what was changed afterwards: pupils slow to light bilaterally. "
            "Recorded anew at 14:06: Look at the pupils (right) attempted, not seen: shut. "
            "Recorded anew at 14:07: Look at the pupils (left) not examined, declined."
        ]

    def test_a_finding_recorded_again_as_it_was_told_stays_told(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("neck", differs(findings=("stiff",)))
        script.told("neck", ("whole",), ("stiff",), "N-1")
        script.record("neck", differs(findings=("stiff",)), seconds=60)
        assert self.items(script) == ["URGENT, tell at once: neck stiff. Told N-1, 14:05."]

    def test_a_finding_with_another_reading_than_was_told_is_not_yet_told(self) -> None:
        pulse = step("pulse", subject="pulse", reading=Reading(kind="pulse-rate"), findings={"weak": "weak"})
        weak = replace(pulse.findings[0], tell="report")
        script = Script(protocol_of(replace(pulse, findings=(weak,)))).start()
        script.record("pulse", replace(differs(findings=("weak",)), reading="72"))
        script.told("pulse", ("whole",), ("weak",), "instructor")
        script.record("pulse", replace(differs(findings=("weak",)), reading="84"))
        assert block(script, "TO REPORT") == [
            "Report before leaving: pulse weak (84/min). Not yet told; to be told: nurse in charge.",
            "Told instructor, 14:05, of what was changed afterwards: pulse weak (72/min). "
            "Recorded anew at 14:05: pulse weak (84/min).",
        ]
        script.record("pulse", replace(differs(findings=("weak",)), reading="72"))
        assert block(script, "TO REPORT") == [
            "Report before leaving: pulse weak (72/min). Told instructor, 14:05."
        ]

    def test_after_its_record_was_taken_back_the_telling_still_stands(self) -> None:
        script = Script(PROTOCOL).start()
        record = script.record("neck", differs(findings=("stiff",), detail="nonsense"))
        told = script.told("neck", ("whole",), ("stiff",), "N-1")
        script.undo(record)
        # Own words that were taken back are nowhere in the note.
        assert self.items(script) == [
            "Told N-1, 14:05, of what was changed afterwards: neck stiff. "
            "That record was taken back, and none stands."
        ]
        [item] = note(script.session).blocks[1].sentences
        assert item.rests_on == (told,)

    def test_after_its_record_was_taken_back_the_one_before_it_stands(self) -> None:
        script = Script(PROTOCOL).start()
        before = script.record("neck", same())
        record = script.record("neck", differs(findings=("stiff",)), seconds=60)
        told = script.told("neck", ("whole",), ("stiff",), "N-1")
        script.undo(record)
        assert self.items(script) == [
            "Told N-1, 14:06, of what was changed afterwards: neck stiff. "
            "That record was taken back; what stands is of 14:05: neck bending freely."
        ]
        [item] = note(script.session).blocks[1].sentences
        assert item.rests_on == (before, told)

    def test_a_side_whose_record_was_taken_back_is_said_apart_from_one_recorded_anew(self) -> None:
        script = Script(PROTOCOL).start()
        record = script.record("pupil", differs(findings=("slow",)))
        script.told("pupil", ("right", "left"), ("slow",), "N-1")
        script.undo(record)
        script.record("pupil", same("right"), seconds=60)
        assert self.items(script) == [
            "Told N-1, 14:05, of what was changed afterwards: pupils slow to light bilaterally. "
            "Recorded anew at 14:06: right pupil round. That record (left) was taken back, and none stands."
        ]

    def test_several_findings_of_one_telling_are_one_item(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("pupil", differs("right", findings=("slow", "fixed")), same("left"))
        script.told("pupil", ("right",), ("slow", "fixed"), "N-1")
        script.record("pupil", differs("right", findings=("slow",)), seconds=60)
        assert self.items(script) == [
            "Report before leaving: right pupil slow to light. Told N-1, 14:05.",
            "Told N-1, 14:05, of what was changed afterwards: right pupil fixed. "
            "Recorded anew at 14:06: right pupil slow to light.",
        ]

    def test_own_words_that_were_told_are_kept_beside_those_that_stand(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("neck", differs(detail="lump, 2 cm", tell="report"))
        script.told("neck", ("whole",), ("other",), "N-1")
        script.record("neck", differs(detail="lump, 2 cm, hard", tell="report"), seconds=60)
        assert self.items(script) == [
            "Report before leaving: neck: lump, 2 cm, hard. Not yet told; to be told: nurse in charge.",
            "Told N-1, 14:05, of what was changed afterwards: neck: lump, 2 cm. "
            "Recorded anew at 14:06: neck: lump, 2 cm, hard.",
        ]

    def test_own_words_that_were_taken_back_are_not_repeated(self) -> None:
        script = Script(PROTOCOL).start()
        record = script.record("pupil", differs("right", detail="nonsense", tell="report"))
        script.told("pupil", ("right",), ("other",), "N-1")
        script.undo(record)
        assert self.items(script) == [
            "Told N-1, 14:05, of what was changed afterwards: own words about Look at the pupils (right). "
            "That record was taken back, and none stands."
        ]

    def test_an_answer_that_was_told_says_that_it_was_reported(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("ask", differs(detail="dizzy", tell="report"))
        script.told("ask", ("whole",), ("other",), "N-1")
        script.record("ask", same())
        assert self.items(script) == [
            "Told N-1, 14:05, of what was changed afterwards: reported by the patient: dizzy. "
            "Recorded anew at 14:05: patient reports no headache."
        ]

    def test_a_change_after_the_end_on_another_day_has_its_date(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("neck", differs(findings=("stiff",)))
        script.told("neck", ("whole",), ("stiff",), "N-1")
        script.finish()
        script.amend("neck", same(), away=2 * 24 * 3600, why="wrong key")
        assert self.items(script) == [
            "Told N-1, 14:05, of what was changed afterwards: neck stiff. "
            "Recorded anew at 2026-03-04 14:05: neck bending freely."
        ]

    def test_a_telling_without_a_finding_is_not_lost(self) -> None:
        script = Script(PROTOCOL).start()
        told = script.told("pupil", ("right",), ("slow",), "N-1")
        assert self.items(script) == ["Told N-1, 14:05, about Look at the pupils (right)."]
        [item] = note(script.session).blocks[1].sentences
        assert item.rests_on == (told,)

    def test_a_telling_that_was_taken_back_is_not_said(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("neck", differs(findings=("stiff",)))
        script.undo(script.told("neck", ("whole",), ("stiff",), "N-1"))
        script.record("neck", same())
        assert self.items(script) == ["Nothing was recorded that this protocol marks to be told."]


class TestWhenTold:
    def told(self, at: datetime, when: str) -> str:
        """What is said of a telling that was written down at `at`, of an examination of 2026-03-02."""
        script = Script(PROTOCOL).start()
        script.record("neck", differs(findings=("stiff",)))
        script.finish()
        script.at = at.replace(tzinfo=script.at.tzinfo)
        script.add(Told, step="neck", entries=("whole",), findings=("stiff",), whom="N-12", when=when)
        [item] = block(script, "TO REPORT")
        return item.removeprefix("URGENT, tell at once: neck stiff. ")

    def test_on_the_day_of_the_examination_the_time_is_enough(self) -> None:
        assert self.told(datetime(2026, 3, 2, 23, 59), "23:50") == "Told N-12, 23:50."

    def test_on_a_later_day_the_date_is_said(self) -> None:
        assert self.told(datetime(2026, 3, 5, 8, 15), "08:15") == "Told N-12, 2026-03-05 08:15."

    def test_a_time_later_than_the_clock_was_on_the_day_before(self) -> None:
        assert self.told(datetime(2026, 3, 5, 0, 10), "23:50") == "Told N-12, 2026-03-04 23:50."
        assert self.told(datetime(2026, 3, 3, 0, 10), "23:50") == "Told N-12, 23:50."

    def test_without_a_time_none_is_invented(self) -> None:
        assert self.told(datetime(2026, 3, 5, 8, 15), "") == "Told N-12."
