"""The debrief, word for word and promise by promise.

The golden texts were written by hand from the protocol and the script of each session; none is our output.
"""

import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from checklist.protocol.model import Assessment, Finding, Protocol
from checklist.session.events import MARKS, Marked, Moved
from checklist.session.session import OBSERVATION, Session
from checklist.summary.debrief import NOT_FOR_THE_RECORD, NoDebriefError, debrief
from checklist.summary.document import Form, markdown, plain_text
from checklist.summary.note import note
from tests import note_sessions
from tests.note_sessions import (
    GOLDEN,
    Script,
    differs,
    mostly_not_reached,
    not_done,
    protocol_of,
    same,
    step,
    wholly_expected,
)
from tests.practice_sessions import (
    MOUTH_AND_NECK,
    before_that,
    examined,
    mark,
    observed,
    row_of,
    visit,
)

NEXT_TIME = "WHAT TO DO DIFFERENTLY NEXT TIME"
CONDITIONS = "CONDITIONS, EACH FOR ITSELF"
STRENGTHS = "DONE AS PLANNED"
QUESTIONS = "FOR A MARKER TO RULE ON"
BECAME = "WHAT BECAME OF EACH STEP"
MADE: tuple[Callable[[], Session], ...] = (
    examined,
    observed,
    wholly_expected,
    mostly_not_reached,
    note_sessions.two_differences_and_a_declined_step,
    note_sessions.interrupted_and_resumed,
)


def golden(name: str) -> str:
    return (GOLDEN / name).read_text(encoding="utf-8")


def under(session: Session, heading: str) -> list[str]:
    """The sentences under a heading; none where there is no such heading."""
    return [
        sentence.text
        for each in debrief(session).blocks
        if each.heading.startswith(heading)
        for sentence in each.sentences
    ]


def marked(protocol: Protocol, *marks: tuple[str, str]) -> Session:
    script = Script(protocol, mode=OBSERVATION, observer="O-7").start()
    for step_id, given in marks:
        mark(script, step_id, 20, given)
    return script.finish().session


class TestWordForWord:
    def test_the_debrief_of_an_examination_reads_as_its_golden_text(self) -> None:
        history = before_that((10, 12, 12, 14, 16))

        assert plain_text(debrief(examined(), history)) == golden("debrief-examination.txt")

    def test_the_debrief_of_an_observation_reads_as_its_golden_text(self) -> None:
        assert plain_text(debrief(observed())) == golden("debrief-observation.txt")

    def test_markdown_says_the_same_and_keeps_the_picture(self) -> None:
        text = markdown(debrief(examined()))

        assert "## CRITICAL STEPS MISSED\n\n- Take gloves off" in text
        assert "```\n" in text
        assert "Neck               planned   1:10     ·······" in text


class TestEveryDebrief:
    @pytest.mark.parametrize("make", MADE)
    def test_it_is_marked_as_simulated_and_as_no_patients_record(self, make: Callable[[], Session]) -> None:
        lines = plain_text(debrief(make())).splitlines()

        assert lines[0] == lines[-1] == "SIMULATED RECORD – practice, not a patient's record"
        assert lines.count(NOT_FOR_THE_RECORD) == 2

    @pytest.mark.parametrize("make", MADE)
    def test_it_describes_acts_and_judges_no_person(self, make: Callable[[], Session]) -> None:
        text = plain_text(debrief(make()))

        assert not re.search(
            r"\b(fail\w*|pass\w*|good|bad|poor|excellent|weak|careless|you|your)\b",
            text.replace('"Weak"', ""),
            re.IGNORECASE,
        )

    @pytest.mark.parametrize("make", MADE)
    def test_the_totals_add_up(self, make: Callable[[], Session]) -> None:
        session = make()
        *rows, total = under(session, BECAME)
        found = [int(match[1]) for row in rows if (match := re.search(r", (\d+)(?=[:.])", row))]
        counted = re.fullmatch(r"Together (\d+): (\d+) count, (\d+) do not\.", total)

        assert counted
        assert sum(found) == int(counted[1]) == len(session.protocol.steps)
        assert int(counted[2]) + int(counted[3]) == int(counted[1])

    @pytest.mark.parametrize("make", MADE)
    def test_it_names_a_strength_and_at_most_three_things_to_practise(
        self, make: Callable[[], Session]
    ) -> None:
        assert 1 <= len(under(make(), STRENGTHS)) <= 3
        assert 1 <= len([each for each in under(make(), NEXT_TIME) if "Why:" in each] or ["none"]) <= 3

    @pytest.mark.parametrize("make", MADE)
    def test_tables_and_picture_fit_eighty_columns(self, make: Callable[[], Session]) -> None:
        rows = [each for each in debrief(make()).blocks if each.form is Form.ROWS]

        assert max(len(sentence.text) for each in rows for sentence in each.sentences) <= 78
        assert all(len(each.heading) <= 78 for each in rows)

    @pytest.mark.parametrize("make", MADE)
    def test_what_is_said_to_rest_on_a_record_names_events_that_are_there(
        self, make: Callable[[], Session]
    ) -> None:
        session = make()
        numbers = {event.n for event in session.events}

        for each in debrief(session).blocks:
            for sentence in each.sentences:
                assert set(sentence.rests_on) <= numbers

    def test_strengths_rest_on_records(self) -> None:
        [block] = [each for each in debrief(examined()).blocks if each.heading == STRENGTHS]

        assert all(sentence.rests_on for sentence in block.sentences)

    @pytest.mark.parametrize("make", MADE)
    def test_the_banner_fits_eighty_columns(self, make: Callable[[], Session]) -> None:
        assert max(map(len, debrief(make()).banner)) <= 80

    def test_the_limits_of_a_count_are_said(self) -> None:
        text = " ".join(under(examined(), "LIMITS"))

        assert "A marker's ruling outranks the count." in text
        assert "Knowing the steps is not hands-on skill" in text

    def test_the_patients_note_reads_the_same_whatever_the_marks_are(self) -> None:
        script = Script(MOUTH_AND_NECK, assessed=True)
        script.events = list(examined().events[:-1])
        script.at, script.clock = script.events[-1].at, script.events[-1].clock
        for each in MOUTH_AND_NECK:
            script.add(Marked, step=each.id, mark="done incorrectly", detail="clumsy")
        session = script.finish().session

        assert plain_text(note(session)) == plain_text(note(examined()))
        assert "clumsy" in plain_text(debrief(session))

    def test_an_assessed_session_says_so(self) -> None:
        [words] = [each for each in under(observed_assessed(), "") if each.startswith("Assessed")]

        assert words == (
            "Assessed: the screen gave no open prerequisites, no list of gaps and nothing of what belongs"
            " together; do, say and expect were shown."
        )
        assert "Assessed" not in plain_text(debrief(observed()))

    @pytest.mark.parametrize("mode", ["rehearsal", "ex\x1b[2J\namination", ""])
    def test_another_mode_is_refused_in_one_line(self, mode: str) -> None:
        with pytest.raises(NoDebriefError, match="only an examination or an observation") as caught:
            debrief(Script(MOUTH_AND_NECK, mode=mode).start().session)

        assert "\n" not in str(caught.value)
        assert "\x1b" not in str(caught.value)

    def test_a_session_that_was_not_started_has_a_debrief_too(self) -> None:
        session = Script(MOUTH_AND_NECK).session

        assert "Nothing is recorded as done, so that no record supports one." in under(session, STRENGTHS)
        assert under(session, CONDITIONS)[3] == "All conditions must be met; together: not decided."
        assert plain_text(debrief(session))


def observed_assessed() -> Session:
    session = observed()
    return replace(session, header=replace(session.header, assessed=True))


class TestConditions:
    def test_a_score_below_the_cut_never_looks_as_if_it_reached_it(self) -> None:
        """1,599 of 2,000: 79.95 %, which one digit would round to 80."""
        protocol = protocol_of(step("a", weight=79.95), step("b", weight=20.05))
        found = under(marked(protocol, ("a", "done"), ("b", "not done")), CONDITIONS)

        assert found[0] == "Weighted score 79.95 % (79.95 of 100); cut 80 %: not met."

    def test_what_a_step_counts_is_said_so_that_the_score_can_be_worked_out(self) -> None:
        """A quarter of 4 for the prompted step and 0.4 of 1 for the incorrect one: 1.4 of 5."""
        steps = (step("a", weight=4, prompted=0.25), step("b", incorrect=0.4))
        protocol = protocol_of(*steps, assess=Assessment(prompted=0.75))
        found = under(marked(protocol, ("a", "done after a prompt"), ("b", "done incorrectly")), CONDITIONS)

        assert found[0] == "Weighted score 28 % (1.4 of 5); cut 80 %: not met."
        assert found[5:] == [
            "Each step counts its weight (1 unless the protocol says otherwise); done after a prompt ¾, done"
            " incorrectly 0, done in part by the share of its sides and sites.",
            "Weights other than 1: a 4.",
            "Done after a prompt, other shares: a ¼.",
            "Done incorrectly, other shares: b 0.4.",
        ]

    def test_a_soft_limit_is_said_and_is_no_condition(self) -> None:
        found = under(wholly_expected(), CONDITIONS)

        assert found[2] == "Time 5:20 of 6:00; the limit is soft: no condition."
        assert found[1] == "Critical steps: none in the count: met."

    def test_where_no_step_counts_no_figure_is_given(self) -> None:
        found = under(marked(protocol_of(step("a")), ("a", "not applicable")), CONDITIONS)

        assert found[0] == "Weighted score: none, because no step counts; cut 80 %: not decided."
        assert found[4] == "Coverage, no condition: no step counts."

    def test_no_figure_blends_the_others(self) -> None:
        """Each is the score, its range, the cut, the coverage, the pairs in order or the rule of haste."""
        text = " ".join(plain_text(debrief(examined())).split())
        of_score, of_haste = {"86.4 %", "70.8 %", "87.5 %", "80 %"}, {"20 %", "10 %"}

        assert set(re.findall(r"[\d.]+ %", text)) == {*of_score, "83.3 %", "96.3 %", *of_haste}


class TestNextTime:
    def test_harm_comes_first_then_order_then_the_rest(self) -> None:
        urgent = Finding(id="stiff", label="Stiff", chart="stiff", tell="urgent")
        steps = (
            step("one", title="Plain look"),
            step("two", title="Bend the neck", findings={}),
            step("three", title="Wash", technique="hygiene"),
            step("four", title="Ask who", critical="the wrong person"),
        )
        protocol = protocol_of(steps[0], replace(steps[1], findings=(urgent,)), *steps[2:])
        acts = under(marked(protocol, *((each.id, "not done") for each in steps)), NEXT_TIME)

        assert acts == [
            "Ask who (not done). Why: the wrong person.",
            "Wash (not done). Why: what is not cleaned carries on what it touched.",
            'Bend the neck (not done). Why: it can find "Stiff", which must be told at once.',
            "After these, 1 more; all of it stands below.",
        ]

    def test_of_two_that_matter_alike_the_heavier_comes_first(self) -> None:
        protocol = protocol_of(step("light", title="Light"), step("heavy", title="Heavy", weight=5))
        acts = under(marked(protocol, ("light", "not done"), ("heavy", "not done")), NEXT_TIME)

        assert [each.split(" ")[0] for each in acts] == ["Heavy", "Light"]

    def test_a_side_left_out_is_to_be_done_because_one_says_nothing_of_the_other(self) -> None:
        script = Script(protocol_of(step("one", title="Look at the eyes", sides=True))).start()
        script.record("one", same("right"), seconds=15)

        assert under(script.finish().session, NEXT_TIME) == [
            "Look at the eyes, at every side and site. Why: one side says nothing of the other."
        ]

    def test_a_flaw_of_a_critical_step_comes_before_what_is_not_critical(self) -> None:
        steps = (
            step("plain", title="Plain", weight=9),
            step("both", title="Both", sides=True, critical="harm"),
        )
        script = Script(protocol_of(*steps)).start()
        visit(script, "both", 15, same("right"))

        assert under(script.finish().session, NEXT_TIME) == [
            "Both, at every side and site. Why: harm.",
            "Plain (not done). Why: what was not examined cannot be told from what is as expected.",
        ]

    def test_a_side_that_was_declined_is_nothing_to_practise(self) -> None:
        script = Script(protocol_of(step("one", sides=True))).start()
        script.record("one", same("right"), not_done("left", reason="declined"), seconds=15)
        session = script.finish().session

        assert under(session, NEXT_TIME) == [
            "Nothing that the record shows; repeat it, and have it observed."
        ]
        assert under(session, "SIDES AND SITES LEFT OUT") == ["One: left declined."]

    def test_time_over_the_target_names_where_most_of_it_went(self) -> None:
        script = Script(protocol_of(step("one", title="Look"), step("two", title="Feel"))).start()
        script.record("one", same(), seconds=60)
        visit(script, "two", 270)

        assert under(script.finish().session, NEXT_TIME) == [
            "Stay within 5:00 (0:30 over, most of it at: feel)."
            " Why: what stands last is hurried or left out when the time is over."
        ]

    def test_one_step_too_late_for_several_is_one_thing_to_practise(self) -> None:
        protocol = row_of(3, after={"s1": "s0", "s2": "s0"})
        script = Script(protocol).start()
        for each in ("s1", "s2", "s0"):
            visit(script, each, 15)
        session = script.finish().session

        assert under(session, NEXT_TIME) == ["S1; s2 came before s0: should come after it, because s0 first."]
        assert under(session, "ORDER")[0] == (
            "S1 (0:15); s2 (0:30) came before s0 (0:45): should come after it, because s0 first."
        )

    def test_a_step_that_another_waits_for_and_that_never_came_is_said(self) -> None:
        script = Script(row_of(2, after={"s1": "s0"})).start()
        visit(script, "s1", 15)
        session = script.finish().session

        assert under(session, NEXT_TIME) == [
            "S1 came, s0 never came: it should come first, because s0 first.",
            "S0 (not done). Why: s0 first.",
        ]
        assert under(session, "ORDER")[0] == (
            "S1 (0:15) came, s0 never came: it should come first, because s0 first."
        )

    @pytest.mark.parametrize(
        ("fields", "why"),
        [
            ({"critical": "saliva would be carried on"}, "saliva would be carried on"),
            (
                {"technique": "tell"},
                "what is not said, handed over or written down is lost to those who care next",
            ),
            ({"technique": "ask"}, "what nobody asks about is often not told"),
            ({"technique": "percuss"}, "what was not examined cannot be told from what is as expected"),
        ],
    )
    def test_a_reason_is_the_protocols_or_true_of_every_step_of_the_technique(
        self, fields: dict[str, Any], why: str
    ) -> None:
        session = marked(protocol_of(step("one", title="Document", **fields)), ("one", "not done"))

        assert under(session, NEXT_TIME) == [f"Document (not done). Why: {why}."]


class TestStrengths:
    def test_all_critical_steps_done_come_first(self) -> None:
        protocol = protocol_of(step("one", title="Wash hands", critical="infection"), step("two"))
        session = marked(protocol, ("one", "done"), ("two", "not done"))

        assert under(session, STRENGTHS) == ["The one critical step that counts done: wash hands."]

    def test_rules_of_order_that_were_kept_are_counted(self) -> None:
        script = Script(row_of(3, after={"s1": "s0", "s2": "s0"})).start()
        for each in ("s0", "s2", "s1"):
            visit(script, each, 15)
        found = under(script.finish().session, STRENGTHS)

        assert found[0] == "All 2 rules of order between steps that were done kept."

    def test_where_nothing_is_whole_what_was_done_is_named(self) -> None:
        assert under(mostly_not_reached(), STRENGTHS) == [
            "Recorded in time and in order: clean hands; check two identifiers; ask about ear pain."
        ]

    def test_what_was_recorded_too_fast_is_no_strength(self) -> None:
        protocol = row_of(3, after={"s1": "s0"})
        script = Script(protocol).start()
        for each, seconds in (("s0", 0.1), ("s1", 0.1), ("s2", 15)):
            visit(script, each, seconds)

        assert under(script.finish().session, STRENGTHS) == ["Recorded in time and in order: s2."]

    @pytest.mark.parametrize("given", ["done incorrectly", "done after a prompt"])
    def test_what_was_incorrect_or_prompted_is_no_strength(self, given: str) -> None:
        protocol = protocol_of(step("one", critical="harm", incorrect=0.5), step("two"))

        assert under(marked(protocol, ("one", given), ("two", "not done")), STRENGTHS) == [
            "Nothing is recorded as done in time and in order, so that no record supports one."
        ]


class TestQuestions:
    @pytest.mark.parametrize(
        ("given", "question"),
        [
            ("could not be seen", "One: could not be seen. Was it done?"),
            ("", "Not marked: one. Was it done?"),
        ],
    )
    def test_what_a_marker_must_rule_on_is_asked(self, given: str, question: str) -> None:
        marks = [("one", given)] if given else []

        assert under(marked(protocol_of(step("one", title="One")), *marks), QUESTIONS) == [question]

    def test_of_a_critical_step_it_is_asked_whether_a_reason_excuses_it(self) -> None:
        protocol = protocol_of(step("one", title="One", critical="harm"))
        script = Script(protocol).start()
        script.record("one", not_done(reason="declined", detail="asleep"), seconds=5)

        assert under(script.finish().session, QUESTIONS) == [
            "One: declined (asleep). Does it count as missed?"
        ]

    def test_a_critical_step_done_incorrectly_with_a_share_left_is_asked_about(self) -> None:
        protocol = protocol_of(step("one", title="One", critical="harm", incorrect=0.5))

        assert under(marked(protocol, ("one", "done incorrectly")), QUESTIONS) == [
            "One: done incorrectly, and it is critical. Was it safe?"
        ]

    def test_an_entry_that_is_to_be_ruled_on_is_asked_about_with_its_reason(self) -> None:
        script = Script(protocol_of(step("one", title="One", sides=True))).start()
        script.record("one", same("right"), not_done("left", reason="deferred"), seconds=15)

        assert under(script.finish().session, QUESTIONS) == [
            "One: done in part, the rest not done, deferred. Does it count as done?"
        ]

    def test_late_entries_and_corrections_are_asked_about_and_not_counted(self) -> None:
        found = under(note_sessions.interrupted_and_resumed(), QUESTIONS)

        assert found == [
            "Press the sinuses: recorded only after the end; counted as not done. Was it done before?",
            "Feel the trachea: changed after the end; counted as it stood before. Which of the two stands?",
        ]

    def test_what_has_no_mark_is_asked_in_one_line_and_what_is_critical_first(self) -> None:
        protocol = protocol_of(step("a"), step("b"), step("wash", title="Clean hands", critical="infection"))

        assert under(marked(protocol), QUESTIONS) == [
            "Critical and not marked: clean hands. Was it done?",
            "Not marked: a; b. Were they done?",
        ]


class TestHaste:
    def test_a_key_pressed_through_everything_decides_nothing(self) -> None:
        protocol = protocol_of(*(step(f"s{number}", critical="harm") for number in range(3)))
        script = Script(protocol).start()
        for number in range(3):
            visit(script, f"s{number}", 0.1)
        session = script.finish().session
        why = "3 steps were recorded faster than they can be examined"

        assert under(session, CONDITIONS)[:4] == [
            f"Weighted score 100 % (3 of 3), by a marker's rulings from 0 % to 100 %; cut 80 %: not decided:"
            f" {why}; a marker rules.",
            f"Critical steps missed: 0 of 3: not decided: {why}; a marker rules.",
            "Time 0:00 of 5:00; the limit is soft: no condition.",
            "All conditions must be met; together: not decided.",
        ]
        assert under(session, QUESTIONS) == [f"{why}: s0; s1; s2. Were they examined?"]

    def test_of_many_steps_recorded_too_fast_the_question_names_the_list(self) -> None:
        script = Script(row_of(9)).start()
        for number in range(9):
            visit(script, f"s{number}", 0.1)

        assert under(script.finish().session, QUESTIONS) == [
            "9 steps were recorded faster than they can be examined, named under RECORDED FASTER THAN"
            " EXAMINED. Were they examined?"
        ]

    def test_marks_in_one_burst_are_said(self) -> None:
        script = Script(row_of(3), mode=OBSERVATION, observer="O-7").start()
        for number, seconds in enumerate((20, 20, 0)):
            mark(script, f"s{number}", seconds, "done")
        [text] = under(script.finish().session, "MARKED FASTER THAN PERFORMED")

        assert text.startswith("2 marks were made faster than the acts can be performed: s1; s2. Rule:")
        assert "Our own rule, no source" in text


class TestHands:
    def test_a_touch_without_clean_hands_is_said_with_its_time(self) -> None:
        script = Script(protocol_of(step("feel", title="Feel", technique="palpate"))).start()
        script.record("feel", same(), seconds=15)

        assert under(script.finish().session, "HANDS") == [
            "No cleaning of hands recorded before the first touch: feel, 0:15.",
            "No cleaning of hands recorded after the last touch: feel, 0:15.",
        ]

    def test_without_a_touch_there_is_nothing_to_clean_for(self) -> None:
        assert under(marked(protocol_of(step("look")), ("look", "done")), "HANDS") == [
            "No step was done that as a rule touches the patient."
        ]


class TestTimes:
    def test_the_plans_of_all_sections_add_up_to_the_whole(self) -> None:
        """Planned are 40, 70, 30 and 30 s, without the conditional step; two sections were not visited."""
        script = Script(MOUTH_AND_NECK).start()
        script.record("hands", same(), seconds=20)
        visit(script, "look", 30)
        rows = [each.split() for each in under(script.finish().session, "TIME") if each[:4].isupper()]

        assert [row[:3] for row in rows[:4]] == [
            ["OPENING", "0:20", "0:40"],
            ["NECK", "0:30", "1:10"],
            ["MOUTH", "0:00", "0:30"],
            ["CLOSING", "0:00", "0:30"],
        ]
        assert rows[4] == ["WHOLE", "EXAMINATION", "0:50", "2:50"]


class TestPicture:
    def test_planned_and_actual_stand_on_one_axis_and_a_return_shows(self) -> None:
        """Two sections of 40 s: first 20 s, then the second for 30 s, then the first again for 10 s."""
        script = Script(MOUTH_AND_NECK).start()
        script.record("hands", same(), seconds=20)
        visit(script, "look", 30)
        visit(script, "consent", 10)
        rows = under(script.finish().session, "TIMELINE")

        assert rows[1:5] == [
            "Opening            planned   0:40 ····",
            "                   actual    0:30 ██   █",
            "Neck               planned   1:10     ·······",
            "                   actual    0:30   ███",
        ]

    def test_two_seconds_in_a_section_show_and_a_key_on_the_way_does_not(self) -> None:
        script = Script(MOUTH_AND_NECK).start()
        script.record("hands", same(), seconds=20)
        visit(script, "look", 2)
        script.add(Moved, step="tongue")
        script.add(Moved, 0.4, step="thank")
        rows = under(script.finish().session, "TIMELINE")

        assert rows[4] == "                   actual    0:02   █"
        assert rows[6] == "                   actual    0:00"

    @pytest.mark.parametrize("hours", [1, 6, 16, 24 * 9])
    def test_a_long_examination_still_fits(self, hours: int) -> None:
        script = Script(protocol_of(step("one"), target_minutes=5)).start()
        script.record("one", same(), seconds=3600 * hours)

        assert max(map(len, under(script.finish().session, "TIMELINE"))) <= 80

    def test_text_from_a_protocol_stays_in_its_row(self) -> None:
        protocol = protocol_of(step("one", title="Look\x1b[31m\nat it"), title="A\nB")
        script = Script(protocol).start()
        script.record("one", differs(detail="x"), seconds=10)
        text = plain_text(debrief(script.finish().session))

        assert "\x1b" not in text
        assert "\nat it" not in text


def test_every_mark_and_fate_has_its_own_line() -> None:
    protocol = protocol_of(
        *(step(f"s{number}", title=f"S{number}") for number in range(len(MARKS))), assess=Assessment()
    )
    session = marked(protocol, *((f"s{number}", given) for number, given in enumerate(MARKS)))

    assert under(session, BECAME) == [
        "Done, 1.",
        "Done after a prompt, 1: s1.",
        "Done incorrectly, 1: s2.",
        "Not done, 1: s3.",
        "Could not be seen (out of the count until ruled on), 1: s4.",
        "Not applicable (out of the count), 1: s5.",
        "Together 6: 4 count, 2 do not.",
    ]
