"""What became of each step, and the figures: they stay apart, and the totals add up."""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklist.practice.score import OPEN, Fate, Score, Standing, counts, score
from checklist.protocol.model import After, Assessment, Step
from checklist.session.events import MARKS, Result
from checklist.session.session import OBSERVATION
from tests import note_sessions
from tests.note_sessions import Script, differs, not_done, protocol_of, same, step, unseen
from tests.practice_sessions import MOUTH_AND_NECK, examined, mark, observed, row_of, visit


def fates(found: Score) -> dict[str, Fate]:
    return {item.step.id: item.fate for item in found.items}


def of_one(*results: Result, assess: Assessment | None = None, **fields: Any) -> Score:
    """The score of a finished examination of one step, to which these results were given."""
    protocol = protocol_of(step("one", **fields), assess=assess or Assessment())
    script = Script(protocol).start()
    if results:
        script.record("one", *results, seconds=15)
    return score(script.finish().session)


def of_marks(*marks: tuple[str, str], steps: tuple[Step, ...], **fields: Any) -> Score:
    """The score of a finished observation; what is not named has no mark."""
    script = Script(protocol_of(*steps, **fields), mode=OBSERVATION, observer="O-7").start()
    for step_id, given_mark in marks:
        mark(script, step_id, 10, given_mark)
    return score(script.finish().session)


class TestFates:
    def test_every_step_of_an_examination_has_one_fate_and_they_stay_apart(self) -> None:
        assert fates(score(examined())) == {
            "hands": Fate.DONE,
            "identity": Fate.DONE,
            "consent": Fate.DONE,
            "look": Fate.DONE,
            "listen": Fate.PARTIAL,
            "feel": Fate.OUT_OF_ORDER,
            "tongue": Fate.DONE,
            "gag": Fate.NOT_APPLICABLE,
            "gloves-off": Fate.OUT_OF_TIME,
            "hands-after": Fate.DONE,
            "thank": Fate.DEFERRED,
        }

    def test_every_step_of_an_observation_has_one_fate_and_they_stay_apart(self) -> None:
        assert fates(score(observed())) == {
            "hands": Fate.DONE,
            "identity": Fate.PROMPTED,
            "consent": Fate.NOT_DONE,
            "look": Fate.DONE,
            "listen": Fate.UNSEEN,
            "feel": Fate.INCORRECT,
            "tongue": Fate.NOT_APPLICABLE,
            "gag": Fate.NOT_APPLICABLE,
            "gloves-off": Fate.UNMARKED,
            "hands-after": Fate.DONE,
            "thank": Fate.DONE,
        }

    @pytest.mark.parametrize(
        ("result", "fate"),
        [
            (same(), Fate.DONE),
            (differs(detail="red"), Fate.DONE),
            (unseen(detail="wax"), Fate.DONE),
            (not_done(reason="declined"), Fate.DECLINED),
            (not_done(reason="unable"), Fate.UNABLE),
            (not_done(reason="not available"), Fate.UNAVAILABLE),
            (not_done(reason="not indicated"), Fate.NOT_INDICATED),
            (not_done(reason="deferred"), Fate.DEFERRED),
            (not_done(reason="out of time"), Fate.OUT_OF_TIME),
            (not_done(reason="the light failed"), Fate.OTHER_REASON),
        ],
    )
    def test_what_is_recorded_decides_the_fate(self, result: Result, fate: Fate) -> None:
        assert fates(of_one(result, may_be_unseen=True)) == {"one": fate}

    def test_what_was_not_reached_was_not_done(self) -> None:
        assert fates(of_one()) == {"one": Fate.NOT_DONE}

    def test_a_conditional_step_that_was_not_indicated_leaves_the_count_without_a_question(self) -> None:
        found = of_one(not_done(reason="not indicated"), only_if="it itches")

        assert fates(found) == {"one": Fate.NOT_APPLICABLE}
        assert found.to_rule == ()

    def test_of_entries_all_left_for_several_reasons_what_counts_against_it_names_the_step(self) -> None:
        found = of_one(not_done("right", reason="declined"), sides=True)

        assert fates(found) == {"one": Fate.NOT_DONE}
        assert found.per_cent == 0

    def test_what_was_written_after_the_end_is_asked_about_and_counts_as_not_done(self) -> None:
        script = Script(row_of(2)).start()
        visit(script, "s0", 10)
        script.finish()
        script.amend("s1", same(), away=60, why="forgot the key")
        script.amend("s0", not_done(reason="declined"), away=60, why="wrong key")
        found = score(script.session)

        assert fates(found) == {"s0": Fate.DONE, "s1": Fate.LATE}
        assert (found.per_cent, found.lowest, found.highest) == (50, 50, 50)
        assert [item.step.id for item in found.to_rule] == ["s1"]

    def test_a_mark_outranks_the_records(self) -> None:
        script = Script(row_of(1)).start()
        script.record("s0", same(), seconds=10)
        mark(script, "s0", 1, "done incorrectly", "one hand")

        assert fates(score(script.finish().session)) == {"s0": Fate.INCORRECT}

    def test_a_step_marked_as_done_before_its_time_is_out_of_order(self) -> None:
        script = Script(row_of(2, after={"s1": "s0"}), mode=OBSERVATION, observer="O-7").start()
        mark(script, "s1", 10, "done")
        mark(script, "s0", 10, "done")

        assert fates(score(script.finish().session)) == {"s0": Fate.DONE, "s1": Fate.OUT_OF_ORDER}


class TestFigures:
    def test_the_figures_of_an_examination_are_those_computed_by_hand(self) -> None:
        """Weights reached: 2 + 1 + 1 + 1 + 0.5 + 2 + 1 + 0 + 1 = 9.5 of 11; the deferred step weighs 1.

        One of the nine steps that count, of weight 1, was recorded too fast: a marker can rule it out.
        """
        found = score(examined())

        assert (found.reached, found.possible) == (9.5, 11)
        assert found.per_cent == pytest.approx(100 * 9.5 / 11)
        assert found.lowest == pytest.approx(100 * 8.5 / 12)
        assert found.highest == pytest.approx(100 * 10.5 / 12)
        assert found.coverage == pytest.approx(100 * 7.5 / 9)

    def test_the_figures_of_an_observation_are_those_computed_by_hand(self) -> None:
        """2 + 1 + 1 + 1 done, half of 1 prompted, nothing of 2 incorrect and of 1 not done: 5.5 of 9."""
        found = score(observed())

        assert found.per_cent == pytest.approx(100 * 5.5 / 9)
        assert found.lowest == pytest.approx(100 * 5.5 / 11)
        assert found.highest == pytest.approx(100 * 7.5 / 11)
        assert found.coverage == pytest.approx(100 * 6 / 7)

    def test_sides_and_sites_that_were_done_share_the_weight(self) -> None:
        found = of_one(same("right/a", "left/a", "right/b"), sides=True, sites=("a", "b"))

        assert found.per_cent == 75
        assert [key for key, _ in found.items[0].left_out] == ["left/b"]

    def test_a_side_that_was_declined_leaves_the_count_and_the_other_is_whole(self) -> None:
        found = of_one(same("right"), not_done("left", reason="declined"), sides=True)

        assert found.items[0].left_out == (("left", Fate.DECLINED),)
        assert found.per_cent == 100

    @pytest.mark.parametrize(
        ("mark_given", "shares", "per_cent"),
        [
            ("done after a prompt", {}, 50),
            ("done after a prompt", {"prompted": 0.25}, 25),
            ("done incorrectly", {}, 0),
            ("done incorrectly", {"incorrect": 0.4}, 40),
            ("done", {"prompted": 0.25}, 100),
            ("not done", {}, 0),
        ],
    )
    def test_a_mark_keeps_the_share_of_the_step_or_else_of_the_protocol(
        self, mark_given: str, shares: dict[str, Any], per_cent: float
    ) -> None:
        found = of_marks(("one", mark_given), steps=(step("one", **shares),))

        assert found.per_cent == pytest.approx(per_cent)

    def test_the_protocol_sets_shares_for_all_steps(self) -> None:
        assess = Assessment(prompted=0.75, incorrect=0.5)
        marks = (("one", "done after a prompt"), ("two", "done incorrectly"))
        found = of_marks(*marks, steps=(step("one"), step("two")), assess=assess)

        assert found.per_cent == pytest.approx(62.5)

    def test_where_nothing_counts_there_is_no_figure_and_not_a_zero(self) -> None:
        found = of_one(not_done(reason="declined"))

        assert (found.per_cent, found.coverage) == (None, None)
        assert found.cut is Standing.OPEN

    def test_steps_without_weight_are_covered_and_not_scored(self) -> None:
        found = of_one(same(), weight=0)

        assert (found.per_cent, found.coverage) == (None, 100)


class TestConditions:
    def test_one_condition_that_is_not_met_decides_whatever_the_others_say(self) -> None:
        found = score(examined())

        assert (found.cut, found.critical, found.time) == (Standing.OPEN, Standing.NOT_MET, Standing.MET)
        assert found.verdict is Standing.NOT_MET

    def test_a_critical_step_left_out_is_not_bought_back_by_weight(self) -> None:
        steps = (step("wash", critical="infection", weight=1), step("rest", weight=99))
        found = of_marks(("wash", "not done"), ("rest", "done"), steps=steps)

        assert found.per_cent == 99
        assert (found.cut, found.critical, found.verdict) == (
            Standing.MET,
            Standing.NOT_MET,
            Standing.NOT_MET,
        )

    def test_all_met_is_met(self) -> None:
        found = of_one(same(), critical="harm", assess=Assessment(limit="hard"))

        assert (found.cut, found.critical, found.time) == (Standing.MET,) * 3
        assert found.verdict is Standing.MET

    @pytest.mark.parametrize(
        ("given_mark", "missed", "open_"),
        [
            ("done", 0, 0),
            ("done after a prompt", 0, 0),
            ("done incorrectly", 1, 0),
            ("not done", 1, 0),
            ("could not be seen", 0, 1),
            ("not applicable", 0, 0),
        ],
    )
    def test_a_critical_step_is_done_missed_or_to_be_ruled_on(
        self, given_mark: str, missed: int, open_: int
    ) -> None:
        found = of_marks(("one", given_mark), steps=(step("one", critical="harm"),))

        assert (len(found.critical_missed), len(found.critical_open)) == (missed, open_)

    @pytest.mark.parametrize("reason", ["declined", "unable", "not available"])
    def test_a_critical_step_that_could_not_be_done_is_ruled_on_by_a_marker(self, reason: str) -> None:
        found = of_one(not_done(reason=reason), critical="harm")

        assert found.critical is Standing.OPEN
        assert [item.step.id for item in found.to_rule] == ["one"]
        assert of_one(not_done(reason=reason)).to_rule == ()

    def test_a_critical_step_done_on_one_side_is_ruled_on_by_a_marker(self) -> None:
        assert of_one(same("right"), critical="harm", sides=True).critical is Standing.OPEN

    @pytest.mark.parametrize(("done", "standing"), [(4, Standing.MET), (3, Standing.NOT_MET)])
    def test_the_cut_itself_is_enough(self, done: int, standing: Standing) -> None:
        """Four of five steps are 80 %, which is the cut."""
        script = Script(row_of(5)).start()
        for number in range(done):
            visit(script, f"s{number}", 10)

        assert score(script.finish().session).cut is standing

    def test_the_cut_is_met_where_binary_fractions_fall_a_hair_short(self) -> None:
        """0.9 of 1.2 is 75 %, though the sum of the binary fractions makes it 74.99999999999999."""
        steps = (step("a", weight=0.2), step("b", weight=0.7), step("c", weight=0.3))
        marks = (("a", "done"), ("b", "done"), ("c", "not done"))
        found = of_marks(*marks, steps=steps, assess=Assessment(cut=75))

        assert found.cut is Standing.MET

    @pytest.mark.parametrize(
        ("limit", "seconds", "standing"),
        [
            ("soft", 400, Standing.NOT_ASKED),
            ("hard", 300, Standing.MET),
            ("hard", 301, Standing.NOT_MET),
        ],
    )
    def test_time_is_a_condition_only_where_the_limit_is_hard(
        self, limit: str, seconds: float, standing: Standing
    ) -> None:
        script = Script(protocol_of(step("one"), assess=Assessment(limit=limit))).start()
        script.record("one", same(), seconds=seconds)

        assert score(script.finish().session).time is standing

    def test_time_after_the_end_is_no_time_of_the_examination(self) -> None:
        script = Script(protocol_of(step("one"), assess=Assessment(limit="hard"))).start()
        script.record("one", same(), seconds=290)
        script.finish()
        script.clock += 60
        script.amend("one", differs(detail="red"), away=60, why="wrong key")

        assert score(script.session).time is Standing.MET

    def test_of_an_unfinished_session_nothing_is_decided(self) -> None:
        script = Script(protocol_of(step("one", critical="harm"), assess=Assessment(limit="hard"))).start()
        found = score(script.session)

        assert (found.cut, found.critical, found.time) == (Standing.OPEN,) * 3


RESULTS = st.sampled_from(
    [
        (),
        (same(),),
        (same("right"),),
        (not_done(reason="declined"),),
        (not_done(reason="deferred"),),
        (not_done(reason="out of time"),),
        (not_done(reason="own words"),),
        (same("left"), not_done("right", reason="declined")),
        (same("left"), not_done("right", reason="deferred")),
    ]
)
"""What an examiner may record of a step with two sides."""
AMENDABLE = protocol_of(
    *(
        step(
            f"s{number}",
            sides=True,
            weight=number + 1,
            critical="harm" if number == 1 else "",
            only_if="it itches" if number == 2 else "",
            after=(After(step="s0", why="first"),) if number == 3 else (),
        )
        for number in range(6)
    )
)
SIDED = protocol_of(*(step(f"s{number}", sides=True, weight=number + 1) for number in range(5)))


def sided(each: list[tuple[Result, ...]]) -> Score:
    script = Script(SIDED).start()
    for number, results in enumerate(each):
        if results:
            visit(script, f"s{number}", 10, *results)
    return score(script.finish().session)


@given(st.lists(RESULTS, min_size=5, max_size=5), st.integers(0, 4))
def test_doing_one_step_more_never_lowers_a_figure(each: list[tuple[Result, ...]], number: int) -> None:
    before = sided(each)
    after = sided([*each[:number], (same(),), *each[number + 1 :]])

    assert (after.per_cent or 0) >= (before.per_cent or 0) - 1e-9
    assert (after.coverage or 0) >= (before.coverage or 0) - 1e-9
    assert (after.lowest or 0) >= (before.lowest or 0) - 1e-9


@given(
    st.lists(RESULTS, min_size=6, max_size=6),
    st.lists(st.tuples(st.integers(0, 5), RESULTS.filter(bool)), max_size=4),
)
def test_amending_never_changes_score_coverage_or_verdict(
    each: list[tuple[Result, ...]], amendments: list[tuple[int, tuple[Result, ...]]]
) -> None:
    script = Script(AMENDABLE).start()
    for number, results in enumerate(each):
        if results:
            visit(script, f"s{number}", 10, *results)
    before = score(script.finish().session)
    for number, results in amendments:
        script.amend(f"s{number}", *results, away=60, why="wrong key")
    after = score(script.session)

    assert (after.per_cent, after.lowest, after.highest) == (before.per_cent, before.lowest, before.highest)
    assert (after.coverage, after.verdict) == (before.coverage, before.verdict)
    assert (after.cut, after.critical) == (before.cut, before.critical)


class TestHaste:
    """A step is planned to take 15 s; less than 3 s, a fifth of it, is too fast."""

    def raced(self, fast: int, of: int, **first: Any) -> Score:
        steps = tuple(step(f"s{number}", **(first if number == 0 else {})) for number in range(of))
        script = Script(protocol_of(*steps)).start()
        for number in range(of):
            visit(script, f"s{number}", 0.1 if number < fast else 15)
        return score(script.finish().session)

    def test_of_a_key_pressed_through_everything_nothing_is_decided(self) -> None:
        found = self.raced(46, 46)

        assert (found.per_cent, found.lowest, found.highest) == (100, 0, 100)
        assert (found.cut, found.critical, found.verdict) == (Standing.OPEN,) * 3
        assert len(found.hasty) == 46

    @pytest.mark.parametrize(("fast", "standing"), [(1, Standing.MET), (2, Standing.OPEN)])
    def test_a_tenth_of_the_steps_that_count_is_enough(self, fast: int, standing: Standing) -> None:
        assert self.raced(fast, 20).cut is standing
        assert self.raced(fast, 20).is_rushed is (standing is Standing.OPEN)

    def test_a_critical_condition_is_not_met_by_steps_recorded_too_fast(self) -> None:
        assert self.raced(5, 20, critical="harm").critical is Standing.OPEN

    def test_haste_makes_up_for_nothing_that_was_left_out(self) -> None:
        script = Script(protocol_of(step("a"), step("b", critical="harm"), step("c"))).start()
        visit(script, "a", 0.1)

        found = score(script.finish().session)
        assert (found.cut, found.critical) == (Standing.NOT_MET, Standing.NOT_MET)

    def test_a_marker_who_has_marked_a_step_has_ruled_on_it(self) -> None:
        script = Script(row_of(1)).start()
        visit(script, "s0", 0.1)
        mark(script, "s0", 1, "done")

        assert score(script.finish().session).cut is Standing.MET


@given(st.lists(RESULTS, min_size=5, max_size=5))
def test_the_fates_add_up_to_all_steps_and_the_score_lies_in_its_range(
    each: list[tuple[Result, ...]],
) -> None:
    found = sided(each)

    assert sum(counts(found).values()) == 5
    assert [item.step.id for item in found.items] == [f"s{number}" for number in range(5)]
    if found.per_cent is not None:
        assert found.lowest is not None
        assert found.highest is not None
        assert found.lowest - 1e-9 <= found.per_cent <= found.highest + 1e-9
        assert 0 <= found.per_cent <= 100


@given(st.lists(st.sampled_from([*MARKS, ""]), min_size=11, max_size=11))
def test_the_marks_of_an_observation_add_up_too(marks: list[str]) -> None:
    script = Script(MOUTH_AND_NECK, mode=OBSERVATION, observer="O-7").start()
    for each, given_mark in zip(MOUTH_AND_NECK, marks, strict=True):
        if given_mark:
            mark(script, each.id, 5, given_mark)
    found = score(script.finish().session)

    assert sum(counts(found).values()) == 11
    assert sum(item.fate in OPEN for item in found.items) <= len(found.to_rule)
    assert all(item.counts == (item.share.now is not None) for item in found.items)


def test_figures_do_not_hang_on_who_was_examined() -> None:
    session = examined()
    other = replace(session, header=replace(session.header, participant="P-99", setting="care"))

    assert score(other) == score(session)
    assert score(note_sessions.wholly_expected()).per_cent == 100
