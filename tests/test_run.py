"""What one past session says of recall, coverage, order and time."""

import json
from typing import Any

import pytest

from checklist.practice.run import Run, from_plain, plain, run
from checklist.protocol.model import Section
from checklist.session.events import Marked, Recalled
from checklist.session.session import OBSERVATION, REHEARSAL
from tests.note_sessions import Script, not_done, protocol_of, same, step
from tests.practice_sessions import MOUTH_AND_NECK, done_in_order, examined, observed, row_of, visit

ROW = protocol_of(step("a"), step("b", critical="harm"), step("c", sides=True), step("d", only_if="asked"))


def outcome(found: Run) -> dict[str, bool]:
    return {trial.step: trial.is_recalled for trial in found.trials}


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
        assert found.kind == "rehearsal, order"

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
        assert [trial.is_recalled for trial in found.trials] == [False]

    def test_what_was_not_touched_says_nothing(self) -> None:
        assert outcome(rehearsed(("a", "order", "recalled"))) == {"a": True}

    def test_each_thing_that_was_asked_of_a_step_is_a_test_of_it(self) -> None:
        found = rehearsed(("a", "expect", "recalled"), ("a", "say", "not recalled"), task="content")
        assert [(trial.step, trial.is_recalled) for trial in found.trials] == [("a", True), ("a", False)]
        assert found.coverage == 0
        assert found.moved is None

    def test_a_rehearsal_that_asked_for_nothing_says_nothing(self) -> None:
        found = rehearsed(task="patient")
        assert (found.steps, found.coverage) == ((), 0)


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

    def test_a_side_that_could_not_be_examined_leaves_a_step_done(self) -> None:
        script = Script(ROW).start()
        visit(script, "c", 15, same("right"), not_done("left", reason="declined"))
        assert outcome(run(script.finish().session))["c"]

    def test_order_and_time_are_those_of_the_session(self) -> None:
        found = run(done_in_order(row_of(4), [0, 2, 1, 3]))
        assert (found.moved, found.coverage, found.seconds) == (1, 100, 60)
        assert [trial.seconds for trial in found.trials] == [15] * 4

    def test_a_mark_of_one_step_alone_has_no_order(self) -> None:
        script = Script(MOUTH_AND_NECK, mode=OBSERVATION, observer="O-7").start()
        script.add(Marked, 20, step="hands", mark="done", detail="")
        assert run(script.finish().session).moved is None


class TestPlain:
    @pytest.mark.parametrize("session", [examined(), observed()])
    def test_a_run_comes_back_from_json_as_it_was(self, session: Any) -> None:
        found = run(session)
        assert from_plain(json.loads(json.dumps(plain(found)))) == found

    def test_it_holds_no_word_of_what_was_found(self) -> None:
        written = json.dumps(plain(run(examined())))
        assert "weak" not in written
        assert "asleep" not in written
        assert "P-014" not in written

    def test_columns_of_different_length_are_refused(self) -> None:
        values = plain(run(examined()))
        with pytest.raises(ValueError, match="columns"):
            from_plain(values | {"marks": "+"})
