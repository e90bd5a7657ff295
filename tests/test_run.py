"""What one past session says of recall, coverage, order and time."""

import json
from dataclasses import fields
from typing import Any

import pytest

from checklist.practice.case_score import whom
from checklist.practice.cases import Case, Due, Truth
from checklist.practice.run import Run, from_plain, plain, run
from checklist.protocol.model import Section
from checklist.session.events import Marked, Recalled
from checklist.session.session import OBSERVATION, REHEARSAL
from tests.note_sessions import Script, differs, not_done, protocol_of, same, step, unseen
from tests.practice_sessions import MOUTH_AND_NECK, done_in_order, examined, mark, observed, row_of, visit

ROW = protocol_of(step("a"), step("b", critical="harm"), step("c", sides=True), step("d", only_if="asked"))


def outcome(found: Run) -> dict[str, bool]:
    return {step: mark == "+" for step, mark in zip(found.steps, found.marks, strict=True)}


def marks_of(found: Run) -> dict[str, str]:
    """Step → mark, of steps that were tested once."""
    return dict(zip(found.steps, found.marks, strict=True))


def rehearsed(*answers: tuple[str, str, str], task: str = "order") -> Run:
    """A finished rehearsal with these steps, things asked of them, and how they came to mind."""
    script = Script(ROW, mode=REHEARSAL, task=task).start()
    for step_id, what, how in answers:
        script.add(Recalled, 5, step=step_id, what=what, how=how, hints=0, typed="")
    return run(script.finish().session)


class TestRehearsal:
    def test_only_recalled_at_its_place_without_a_hint_is_recalled(self) -> None:
        found = rehearsed(
            ("a", "order", "recalled"),
            ("b", "order", "recalled with a hint"),
            ("c", "order", "recalled out of place"),
        )
        assert outcome(found) == {"a": True, "b": False, "c": False}
        assert found.coverage == pytest.approx(100 / 3)
        assert found.moved == 1
        assert found.marks == "+?~"
        assert found.critical_missed == ("b",)

    def test_a_full_rehearsal_of_the_order_is_full_without_the_conditional_steps(self) -> None:
        found = rehearsed(*((each, "order", "recalled") for each in "abc"))
        assert (found.coverage, found.reach) == (100, 100)

    def test_a_conditional_step_counts_where_it_was_asked_for(self) -> None:
        found = rehearsed(("a", "expect", "recalled"), ("d", "expect", "not recalled"), task="content")
        assert (found.coverage, found.reach) == (25, 50)

    def test_a_rehearsal_of_one_section_is_a_share_of_that_section(self) -> None:
        first = Section(id="first", title="First", steps=(step("a"), step("b"), step("e", only_if="asked")))
        then = Section(id="then", title="Then", steps=(step("c"), step("d")))
        script = Script(protocol_of(sections=(first, then)), mode=REHEARSAL, task="order first").start()
        script.add(Recalled, 5, step="a", what="order", how="recalled", hints=0, typed="")
        assert run(script.finish().session).reach == 50

    @pytest.mark.parametrize(("seconds", "marks"), [(0.9, "+"), (1.0, "++")])
    def test_what_is_marked_as_recalled_within_a_second_says_nothing(
        self, seconds: float, marks: str
    ) -> None:
        script = Script(ROW, mode=REHEARSAL, task="order").start()
        for step_id, taken in (("a", 5.0), ("b", seconds)):
            script.add(Recalled, taken, step=step_id, what="order", how="recalled", hints=0, typed="")
        found = run(script.finish().session)
        assert found.marks == marks
        assert found.critical_missed == ()

    @pytest.mark.parametrize(("how", "typed", "mark"), [("not recalled", "", "-"), ("recalled", "b", "+")])
    def test_a_miss_or_what_was_typed_counts_however_soon(self, how: str, typed: str, mark: str) -> None:
        script = Script(ROW, mode=REHEARSAL, task="order").start()
        script.add(Recalled, 5, step="a", what="order", how="recalled", hints=0, typed="")
        script.add(Recalled, 0.5, step="b", what="order", how=how, hints=0, typed=typed)
        assert run(script.finish().session).marks == f"+{mark}"

    def test_the_first_answer_counts_even_when_corrected_a_moment_later(self) -> None:
        found = rehearsed(("a", "order", "not recalled"), ("a", "order", "recalled"))
        assert found.marks == "-"

    def test_what_was_not_touched_says_nothing(self) -> None:
        assert outcome(rehearsed(("a", "order", "recalled"))) == {"a": True}

    def test_each_thing_that_was_asked_of_a_step_is_a_test_of_it(self) -> None:
        found = rehearsed(("a", "expect", "recalled"), ("a", "say", "not recalled"), task="content")
        assert (found.steps, found.marks) == (("a", "a"), "+-")
        assert found.coverage == 0
        assert found.moved is None

    def test_a_rehearsal_that_asked_for_nothing_says_nothing(self) -> None:
        found = rehearsed()
        assert (found.steps, found.coverage) == ((), 0)

    def test_a_step_that_was_named_wrongly_is_not_tested_by_that(self) -> None:
        found = rehearsed(
            ("a", "named", "not recalled"), ("b", "left-out", "recalled"), ("c", "named", "not recalled")
        )
        assert outcome(found) == {"b": True}
        assert found.reach == pytest.approx(100 / 3)

    def test_what_a_later_version_asks_of_a_step_is_a_test_of_it(self) -> None:
        assert outcome(rehearsed(("d", "its colour", "recalled"))) == {"d": True}


class TestPerformance:
    def test_steps_done_as_planned_are_recalled_and_others_are_not(self) -> None:
        found = run(examined())
        # Before inspection: hands and consent were done before identity; one side of listening was left out.
        assert found.mode == "examination"
        assert found.is_finished
        assert outcome(found)["look"]
        assert not outcome(found)["listen"]

    def test_who_ran_out_of_time_or_deferred_a_step_may_have_known_it(self) -> None:
        found = outcome(run(examined()))
        assert "gloves-off" not in found
        assert "thank" not in found

    def test_an_observer_s_marks_are_tests(self) -> None:
        found = outcome(run(observed()))
        assert found["hands"] and found["look"]
        assert not found["identity"] and not found["consent"] and not found["feel"]
        assert "listen" not in found and "tongue" not in found

    def test_of_an_unfinished_one_what_was_not_touched_is_neither_known_nor_missed(self) -> None:
        script = Script(ROW).start()
        visit(script, "a", 15)
        visit(script, "c", 15, same("right"))
        found = run(script.session)
        assert outcome(found) == {"a": True}
        assert (found.is_finished, found.critical_missed) == (False, ())

    def test_a_finished_one_missed_what_it_left_out_but_for_conditional_steps(self) -> None:
        script = Script(ROW).start()
        visit(script, "a", 15)
        visit(script, "c", 15, same("right"))
        found = run(script.finish().session)
        assert outcome(found) == {"a": True, "b": False, "c": False}
        assert found.critical_missed == ("b",)

    def test_of_one_that_ended_early_what_was_still_to_come_says_nothing(self) -> None:
        script = Script(row_of(6)).start()
        for name in ("s0", "s2", "s3"):
            visit(script, name, 15)
        found = run(script.finish().session)
        assert marks_of(found) == {"s0": "+", "s1": "o", "s2": "+", "s3": "+"}
        assert found.coverage == 50, "steps that were not reached still count as not done"

    def test_what_was_done_last_but_stands_earlier_is_not_the_last_by_its_place(self) -> None:
        found = run(done_in_order(row_of(4), [2, 0]))
        assert marks_of(found) == {"s0": "+", "s1": "o", "s2": "+"}

    @pytest.mark.parametrize(
        ("done", "marks"),
        [
            ((0, 2), {"s0": "+", "s2": "+"}),
            ((0, 1), {"s0": "+", "s1": "+"}),
            ((0, 3), {"s0": "+", "s3": "+"}),
            ((2, 4), {"s0": "o", "s1": "o", "s2": "+", "s3": "o", "s4": "+"}),
        ],
    )
    def test_steps_in_any_order_are_passed_by_only_once_a_later_place_is_touched(
        self, done: tuple[int, ...], marks: dict[str, str]
    ) -> None:
        found = run(done_in_order(row_of(6, free=("s1", "s2", "s3")), done))
        assert marks_of(found) == marks

    def test_what_was_written_after_the_end_or_had_no_time_left_touches_nothing(self) -> None:
        script = Script(row_of(5)).start()
        visit(script, "s0", 15)
        visit(script, "s3", 5, not_done(reason="out of time"))
        script.finish()
        script.amend("s4", same(), away=60, why="late")
        assert marks_of(run(script.session)) == {"s0": "+"}

    def test_a_reason_recorded_for_a_later_step_shows_that_it_was_come_to(self) -> None:
        script = Script(row_of(4)).start()
        visit(script, "s0", 15)
        visit(script, "s2", 5, not_done(reason="declined"))
        assert marks_of(run(script.finish().session)) == {"s0": "+", "s1": "o"}

    def test_one_in_which_nothing_was_touched_says_nothing(self) -> None:
        assert run(Script(row_of(3)).start().finish().session).steps == ()

    def test_an_observer_s_mark_of_a_last_step_as_not_done_is_a_test(self) -> None:
        script = Script(row_of(4), mode=OBSERVATION, observer="O-7").start()
        mark(script, "s0", 20, "done")
        mark(script, "s2", 5, "not done")
        assert marks_of(run(script.finish().session)) == {"s0": "+", "s2": "o"}

    @pytest.mark.parametrize("given", ["done after a prompt", "done incorrectly"])
    def test_what_an_observer_saw_done_otherwise_was_done(self, given: str) -> None:
        script = Script(row_of(2), mode=OBSERVATION, observer="O-7").start()
        mark(script, "s0", 20, given)
        assert marks_of(run(script.session)) == {"s0": "!"}

    def test_what_was_done_before_what_it_must_follow_was_done_otherwise(self) -> None:
        found = run(done_in_order(row_of(3, after={"s1": "s2"}), [0, 1, 2]))
        assert marks_of(found) == {"s0": "+", "s1": "!", "s2": "+"}

    def test_half_a_step_was_done_otherwise_once_the_examination_is_over(self) -> None:
        script = Script(ROW).start()
        visit(script, "c", 15, same("right"))
        assert marks_of(run(script.session)) == {}
        assert marks_of(run(script.finish().session)) == {"a": "o", "b": "o", "c": "!"}

    def test_steps_are_done_where_they_are_not_recalled(self) -> None:
        assert run(examined()).is_performed
        assert run(observed()).is_performed
        assert run(with_patient().session).is_performed
        assert not rehearsed().is_performed

    def test_the_time_at_a_step_is_kept_to_a_hundredth_of_a_second(self) -> None:
        script = Script(ROW).start()
        visit(script, "a", 12.34)
        assert run(script.session).times == (12.34,)

    def test_a_side_that_could_not_be_examined_leaves_a_step_done(self) -> None:
        script = Script(ROW).start()
        visit(script, "c", 15, same("right"), not_done("left", reason="declined"))
        assert outcome(run(script.finish().session))["c"]

    def test_order_and_time_are_those_of_the_session(self) -> None:
        found = run(done_in_order(row_of(4), [0, 2, 1, 3]))
        assert (found.moved, found.coverage, found.seconds) == (1, 100, 60)
        assert found.times == (15, 15, 15, 15)

    def test_a_mark_of_one_step_alone_has_no_order(self) -> None:
        script = Script(MOUTH_AND_NECK, mode=OBSERVATION, observer="O-7").start()
        script.add(Marked, 20, step="hands", mark="done", detail="")
        assert run(script.finish().session).moved is None


PATIENT = protocol_of(
    step("a", critical="harm"),
    step("b", sides=True, findings={"weak": "weak", "stiff": "stiff"}),
    step("c", findings={"red": "red"}, may_be_unseen=True),
    step("d", findings={"mole": "a mole"}),
    step("e", findings={"scar": "a scar"}),
    step("f", only_if="asked", findings={"late": "late"}),
)
WEAK = Case(
    id="weak",
    title="Weak",
    protocol=PATIENT.id,
    story="Nobody.",
    truths=(
        Truth(step="b", side="left", findings=("weak",)),
        Truth(step="c", findings=("red",)),
    ),
    decoys=(Truth(step="d", findings=("mole",)),),
    report=(
        Due(what="A weak side", tell="urgent", steps=("b",)),
        Due(what="Red", tell="report", steps=("c",)),
    ),
)
"""On the left there is weakness, and something is red; a mole draws attention."""


def with_patient() -> Script:
    return Script(PATIENT, mode=REHEARSAL, task="patient", case="weak").start()


def examining(script: Script, **records: Any) -> Script:
    """Record these steps, each as said."""
    for name, results in records.items():
        visit(script, name, 15, *(results if isinstance(results, tuple) else (results,)))
    return script


class TestPatient:
    def test_what_was_found_where_it_was_is_done_as_planned(self) -> None:
        found_it = (differs("left", findings=("weak",)), same("right"))
        found = run(examining(with_patient(), a=same(), b=found_it).session, WEAK)
        assert found.marks == "++"
        assert (found.case_there, found.case_found, found.case_false_alarms) == (2, 1, 0)

    @pytest.mark.parametrize(
        "records",
        [
            {"b": same()},
            {"b": (differs("left", findings=("stiff",)), same("right"))},
            {"b": (differs("right", findings=("weak",)), same("left"))},
            {"b": differs(findings=("weak",))},
            {"c": same()},
            {"c": unseen()},
            {"d": same()},
            {"e": differs(findings=("scar",))},
        ],
        ids=[
            "missed",
            "taken for something else",
            "put on the other side",
            "recorded on both sides",
            "missed where there are no sides",
            "said not to be seen",
            "missed though only to be written down",
            "recorded though not there",
        ],
    )
    def test_a_step_recorded_otherwise_than_it_was_there_is_missed(self, records: dict[str, Any]) -> None:
        of = examining(with_patient(), a=same(), **records)
        assert run(of.session, WEAK).marks == "+/"
        assert run(of.session).marks == "++", "without the case only what was performed is known"

    def test_words_of_one_s_own_are_found(self) -> None:
        """They are compared by the one who practises, as the report of a case says."""
        assert run(examining(with_patient(), c=differs(detail="reddish")).session, WEAK).marks == "+"

    def test_a_finished_one_missed_what_it_left_out_and_an_unfinished_one_did_not(self) -> None:
        of = examining(with_patient(), b=(differs("left", findings=("weak",)), same("right")))
        assert outcome(run(of.session, WEAK)) == {"b": True}
        found = run(of.finish().session, WEAK)
        assert outcome(found) == {"a": False, "b": True}, "what comes after the last one says nothing"
        assert found.marks == "o+"
        assert found.critical_missed == ("a",)
        assert found.coverage == 20

    def test_half_a_step_is_a_miss_and_what_was_declined_says_nothing(self) -> None:
        of = examining(
            with_patient(),
            b=(differs("left", findings=("weak",)),),
            c=not_done(reason="declined"),
        )
        found = outcome(run(of.finish().session, WEAK))
        assert found["b"] is False
        assert "c" not in found

    def test_what_was_there_and_what_was_not_and_what_was_told_are_counted(self) -> None:
        of = examining(
            with_patient(),
            b=(differs("left", findings=("weak",)), same("right")),
            c=differs(findings=("red",)),
            e=differs(findings=("scar",)),
        )
        of.told("b", ("left",), ("weak",), whom(PATIENT, "report"))
        of.told("c", ("whole",), ("red",), whom(PATIENT, "report"))
        found = run(of.finish().session, WEAK)
        assert (found.case_there, found.case_found, found.case_false_alarms) == (2, 2, 1)
        assert (found.case_due, found.case_told) == (2, 1), "what is urgent was told too slowly"

    def test_without_its_case_there_are_no_figures_of_it(self) -> None:
        found = run(examining(with_patient(), a=same()).finish().session)
        assert {getattr(found, each.name) for each in fields(Run) if each.name.startswith("case_")} == {None}

    def test_the_screen_names_the_next_step_to_whoever_examines_and_records(self) -> None:
        assert run(with_patient().session).is_named
        assert run(examined()).is_named
        assert not run(observed()).is_named
        assert not rehearsed().is_named

    def test_all_patients_are_of_one_kind_whatever_the_case(self) -> None:
        one, other = (
            run(Script(PATIENT, mode=REHEARSAL, task="patient", case=case).start().session)
            for case in ("seed 1", "weak")
        )
        assert one.is_of_patient and other.is_of_patient


class TestPlain:
    @pytest.mark.parametrize("session", [examined(), observed()])
    def test_a_run_comes_back_from_json_as_it_was(self, session: Any) -> None:
        found = run(session)
        assert from_plain(json.loads(json.dumps(plain(found)))) == found

    def test_so_does_one_with_a_simulated_patient(self) -> None:
        found = run(examining(with_patient(), a=same(), c=same()).finish().session, WEAK)
        assert found.case_there == 2
        assert from_plain(json.loads(json.dumps(plain(found)))) == found

    def test_it_holds_no_word_of_what_was_found(self) -> None:
        written = json.dumps(plain(run(examined())))
        assert "weak" not in written
        assert "asleep" not in written
        assert "P-014" not in written

    def test_it_holds_no_word_of_a_case(self) -> None:
        of = examining(with_patient(), c=differs(findings=("red",)), e=differs(findings=("scar",)))
        written = json.dumps(plain(run(of.finish().session, WEAK)))
        for word in ("weak", "red", "scar", "mole", "Nobody", "seed"):
            assert word not in written.lower().replace('"created"', "")

    def test_columns_of_different_length_are_refused(self) -> None:
        values = plain(run(examined()))
        with pytest.raises(ValueError, match="columns"):
            from_plain(values | {"marks": "+"})
