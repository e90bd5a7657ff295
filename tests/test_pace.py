"""Time of a performance: beside the plan, beside the person's own history, and what only time shows."""

from dataclasses import replace

import pytest

from checklist.practice.pace import comparable, pace
from checklist.session.events import Moved, Retracted
from checklist.session.session import Session
from tests.note_sessions import Script, not_done, protocol_of, same, step
from tests.practice_sessions import (
    MOUTH_AND_NECK,
    before_that,
    done_in_order,
    examined,
    mark,
    observed,
    row_of,
    visit,
)


def look(history: tuple[Session, ...]) -> tuple[float | None, float | None, bool]:
    """Usual time, fence and verdict of the step that takes 20 seconds."""
    [found] = [each for each in pace(examined(), history).steps if each.step.id == "look"]
    return found.usual, found.fence, found.is_slow


class TestHistory:
    @pytest.mark.parametrize(
        ("earlier", "usual", "fence", "slow"),
        [
            # Quartiles 12 and 14 (linear between the values): 14 + 1.5 × 2.
            ((10, 12, 12, 14, 16), 12, 17, True),
            # Quartiles 12 and 18: 18 + 1.5 × 6.
            ((10, 12, 15, 18, 20), 15, 27, False),
            # No spread: 20 is not above 20.
            ((20, 20, 20, 20, 20), 20, 20, False),
            ((10, 10, 10, 10), 10, None, False),
            ((), None, None, False),
        ],
    )
    def test_slow_is_above_the_upper_quartile_by_more_than_one_and_a_half_ranges(
        self, earlier: tuple[float, ...], usual: float | None, fence: float | None, slow: bool
    ) -> None:
        assert look(before_that(earlier)) == (usual, fence, slow)

    def test_only_earlier_finished_sessions_of_the_same_protocol_mode_and_code_compare(self) -> None:
        session = examined()
        [good, *rest] = before_that((10, 11, 12, 13, 14))
        other_code = replace(rest[0], header=replace(rest[0].header, examiner="E-03"))
        other_mode = replace(rest[1], header=replace(rest[1].header, mode="observation"))
        later = replace(rest[2], header=replace(rest[2].header, created=session.header.created))
        other_protocol = replace(rest[3], protocol=replace(MOUTH_AND_NECK, id="other"))
        unfinished = Script(MOUTH_AND_NECK, begin=good.header.created).start().session
        history = (other_code, other_mode, later, other_protocol, unfinished, session, good)

        assert comparable(session, history) == (good,)

    def test_history_stands_oldest_first_whatever_order_it_comes_in(self) -> None:
        history = before_that((10, 11, 12))

        assert [other.header.created for other in comparable(examined(), history)] == sorted(
            other.header.created for other in history
        )

    def test_a_step_is_compared_with_the_sessions_in_which_it_was_done(self) -> None:
        found = {each.step.id: each for each in pace(examined(), before_that((10, 12))).steps}

        assert found["look"].earlier == (12, 10)
        assert found["feel"].earlier == ()


class TestPlan:
    def test_steps_sections_and_the_whole_have_their_time_and_plan(self) -> None:
        found = pace(examined())

        assert (found.total, found.target) == (160, 240)
        assert [(each.seconds, each.planned) for each in found.sections] == [
            (40, 40),
            (80, 70),
            (10, 30),
            (30, 30),
        ]
        times = {each.step.id: (each.seconds, each.planned) for each in found.steps}
        assert times["feel"] == (30, 20)
        assert "gag" not in times

    def test_the_sections_of_an_observation_have_a_plan_of_what_was_to_be_done(self) -> None:
        assert [each.planned for each in pace(observed()).sections] == [40, 70, 30, 30]

    def test_a_conditional_step_that_was_marked_as_done_has_its_time_in_the_plan(self) -> None:
        script = Script(MOUTH_AND_NECK, mode="observation", observer="O-7").start()
        mark(script, "gag", 12, "done")
        found = pace(script.session)

        assert found.sections[2].planned == 40
        assert [each.planned for each in found.steps if each.step.id == "gag"] == [10]

    def test_a_pause_is_no_time_of_a_section(self) -> None:
        script = Script(row_of(2)).start()
        script.record("s0", same(), seconds=10)
        script.pause(500)
        visit(script, "s1", 20)
        [section] = pace(script.finish().session).sections

        assert section.seconds == 30
        assert section.spans[0][0] == 0
        assert section.spans[-1][1] == 30

    def test_a_section_that_was_left_and_taken_up_again_has_its_spans(self) -> None:
        script = Script(MOUTH_AND_NECK).start()
        script.record("hands", same(), seconds=20)
        visit(script, "look", 5)
        visit(script, "consent", 7)
        opening = pace(script.session).sections[0]

        assert opening.spans == ((0, 20), (25, 32))


class TestHasty:
    @pytest.mark.parametrize(
        ("seconds", "is_hasty"), [(0, True), (2.9, True), (3.0, False), (2.0, True), (5, False)]
    )
    def test_less_than_a_fifth_of_the_plan_and_three_seconds_is_hasty(
        self, seconds: float, is_hasty: bool
    ) -> None:
        script = Script(protocol_of(step("one", seconds=20))).start()
        script.record("one", same(), seconds=seconds)

        assert bool(pace(script.session).hasty) is is_hasty

    def test_a_short_step_can_be_done_in_three_seconds(self) -> None:
        """A fifth of 10 seconds is 2."""
        script = Script(protocol_of(step("one", seconds=10))).start()
        script.record("one", same(), seconds=2)

        assert pace(script.session).hasty == ()

    def test_time_at_the_step_before_a_quick_second_entry_counts(self) -> None:
        script = Script(protocol_of(step("one", seconds=20, sides=True))).start()
        script.record("one", same("right"), seconds=15)
        script.record("one", same("left"), seconds=1)

        assert pace(script.session).hasty == ()

    def test_a_row_of_keys_is_hasty_at_every_step(self) -> None:
        found = pace(done_quickly(4)).hasty

        assert [each.step.id for each in found] == ["s0", "s1", "s2", "s3"]
        assert all(each.seconds == 1 for each in found)

    def test_what_was_not_done_or_taken_back_is_not_hasty(self) -> None:
        script = Script(row_of(2)).start()
        script.record("s0", not_done(reason="declined"), seconds=1)
        script.add(Moved, step="s1")
        script.add(Retracted, event=script.record("s1", same(), seconds=1))

        assert pace(script.session).hasty == ()

    def test_marks_are_no_entries_of_the_one_who_examines(self) -> None:
        assert pace(observed()).hasty == ()

    def test_marks_in_one_burst_are_named_and_single_ones_are_not(self) -> None:
        script = Script(row_of(6), mode="observation", observer="O-7").start()
        for number, seconds in enumerate((10, 0.4, 1.0, 1.1, 10, 0)):
            mark(script, f"s{number}", seconds, "done")

        assert [each.step for each in pace(script.session).bursts] == ["s0", "s1", "s2", "s4", "s5"]

    def test_a_mark_changed_at_once_or_taken_back_is_no_burst(self) -> None:
        script = Script(row_of(3), mode="observation", observer="O-7").start()
        mark(script, "s0", 10, "done")
        mark(script, "s0", 0.5, "not done")
        script.undo(mark(script, "s1", 0.2, "done"))

        assert pace(script.session).bursts == ()


def done_quickly(count: int) -> Session:
    script = Script(row_of(count)).start()
    for number in range(count):
        visit(script, f"s{number}", 1)
    return script.finish().session


class TestHygiene:
    def test_hands_are_cleaned_before_the_first_touch_and_after_the_last(self) -> None:
        found = pace(examined()).hygiene

        assert found.first_touch is not None
        assert found.last_touch is not None
        assert (found.first_touch.step.id, found.last_touch.step.id) == ("feel", "tongue")
        assert found.before_first_touch is not None
        assert found.after_last_touch is not None
        assert (found.before_first_touch.clock, found.after_last_touch.clock) == (20, 150)
        assert [each.id for each in found.missed] == ["gloves-off"]

    def test_gloves_are_kept_until_a_step_takes_them_off(self) -> None:
        kept = pace(examined()).hygiene.gloves_kept
        assert kept is not None
        assert kept.step.id == "tongue"

        script = Script(MOUTH_AND_NECK).start()
        visit(script, "tongue", 20)
        visit(script, "gloves-off", 10)
        assert pace(script.session).hygiene.gloves_kept is None

    def test_a_protocol_that_never_takes_gloves_off_is_not_asked_about_them(self) -> None:
        script = Script(protocol_of(step("one", hands="gloves on"))).start()
        script.record("one", same(), seconds=20)

        assert pace(script.session).hygiene.gloves_kept is None

    def test_cleaning_between_touches_is_neither_before_nor_after(self) -> None:
        steps = (
            step("feel", technique="palpate"),
            step("wash", technique="hygiene"),
            step("press", technique="palpate"),
        )
        script = Script(protocol_of(*steps)).start()
        for each in ("feel", "wash", "press"):
            visit(script, each, 15)
        found = pace(script.session).hygiene

        assert (found.before_first_touch, found.after_last_touch) == (None, None)
        assert [each.step.id for each in found.done] == ["wash"]

    def test_cleaning_equipment_is_no_cleaning_of_hands(self) -> None:
        steps = (
            step("wash", technique="hygiene", hands="clean"),
            step("feel", technique="palpate"),
            step("wipe", title="Clean equipment", technique="hygiene"),
        )
        script = Script(protocol_of(*steps)).start()
        for each in ("wash", "feel", "wipe"):
            visit(script, each, 15)
        found = pace(script.session).hygiene

        assert [each.step.id for each in found.done] == ["wash"]
        assert found.after_last_touch is None

    def test_without_a_touch_there_is_no_first_one(self) -> None:
        found = pace(done_in_order(row_of(2), [0, 1])).hygiene

        assert (found.first_touch, found.last_touch, found.before_first_touch) == (None, None, None)
