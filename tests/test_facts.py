"""What is known of an examination: what was examined, and nothing else.

The protocol and the records are invented.
"""

from collections.abc import Mapping
from dataclasses import replace

import pytest

from checklist.measures.reading import Meaning
from checklist.protocol.model import Computed, Protocol, Reading
from checklist.reasoning.facts import Known, known
from checklist.session.events import Result
from tests.note_sessions import Script, differs, not_done, protocol_of, same, step, unseen

LOOK = step("look", sides=True, sites=("palm", "back"), findings={"scar": "scarred", "red": "red"})
HEIGHT = step("height", reading=Reading(kind="body-height"))
WEIGHT = step("weight", reading=Reading(kind="body-weight"))
PULSE = step("pulse", sides=True, reading=Reading(kind="pulse-rate"), findings={"weak": "weak"})
INDEX = Computed(
    id="index",
    kind="body-mass-index",
    title="Body mass index",
    inputs=(("height", "height"), ("weight", "weight")),
)
PROTOCOL = protocol_of(LOOK, HEIGHT, WEIGHT, PULSE, computed=(INDEX,))
RIGHT, LEFT = ("right", ""), ("left", "")


def script(protocol: Protocol = PROTOCOL) -> Script:
    return Script(protocol).start()


def recorded(*pairs: tuple[str, str]) -> Mapping[str, Known]:
    """What is known after readings were typed at steps without sides, and kept as expected."""
    made = script()
    for name, reading in pairs:
        made.record(name, replace(same(), entries=("whole",), reading=reading))
    return known(made.session)


def the_meaning(found: Mapping[str, Known], name: str) -> Meaning:
    meaning = found[name].together
    assert meaning is not None
    return meaning


class TestWhatWasExamined:
    def test_nothing_is_known_of_a_session_that_has_just_begun(self) -> None:
        assert known(script().session) == {}

    def test_an_entry_is_known_by_its_side_and_site_with_what_was_found(self) -> None:
        made = script()
        made.record("look", differs("right/palm", findings=("scar", "red")), same("left/back"))

        facts = known(made.session)["look"].facts

        assert set(facts) == {("right", "palm"), ("left", "back")}
        assert facts["right", "palm"].classes == {"scar", "red"}
        assert not facts["right", "palm"].is_expected
        assert facts["left", "back"].classes == frozenset()
        assert facts["left", "back"].is_expected

    @pytest.mark.parametrize(
        "nothing",
        [unseen("right/palm"), not_done("right/palm", reason="declined")],
        ids=["unseen", "declined"],
    )
    def test_what_was_not_examined_or_not_seen_is_not_known(self, nothing: Result) -> None:
        made = script()
        made.record("look", nothing, same("left/palm"))

        assert set(known(made.session)["look"].facts) == {("left", "palm")}

    def test_a_step_of_which_nothing_was_examined_is_not_known(self) -> None:
        made = script()
        made.record("look", not_done(reason="declined"))

        assert known(made.session) == {}

    def test_what_was_taken_back_is_not_known(self) -> None:
        made = script()
        made.undo(made.record("look", same()))

        assert known(made.session) == {}

    def test_a_late_entry_is_known(self) -> None:
        made = script().finish()
        made.amend("pulse", differs("left", findings=("weak",)), away=60, why="left out")

        assert known(made.session)["pulse"].facts[LEFT].classes == {"weak"}


class TestReadings:
    def test_classes_of_a_reading_stand_beside_the_findings(self) -> None:
        made = script()
        made.record("pulse", replace(differs("left", findings=("weak",)), reading="120"), same("right"))

        facts = known(made.session)["pulse"].facts

        assert {"weak", "above"} <= facts[LEFT].classes
        assert facts[LEFT].meaning is not None
        assert facts[RIGHT].meaning is None

    def test_a_reading_that_is_kept_as_expected_is_expected_and_has_its_class(self) -> None:
        made = script()
        made.record("pulse", replace(same("left"), reading="120"))

        fact = known(made.session)["pulse"].facts[LEFT]

        assert fact.is_expected
        assert "above" in fact.classes

    def test_the_limits_that_the_protocol_sets_hold(self) -> None:
        reading = Reading(
            kind="pulse-rate", options=(("usual_high", 130), ("report_high", 140)), source="invented"
        )
        made = script(protocol_of(replace(PULSE, reading=reading)))
        made.record("pulse", replace(same("left"), reading="120"))

        assert "in-range" in known(made.session)["pulse"].facts[LEFT].classes

    def test_a_reading_that_cannot_be_understood_means_nothing(self) -> None:
        """Only a file that was changed by hand holds one."""
        made = script()
        made.record("pulse", replace(same("left"), reading="quite fast"))

        fact = known(made.session)["pulse"].facts[LEFT]

        assert fact.meaning is None
        assert fact.classes == frozenset()

    def test_the_readings_of_a_step_are_compared_with_the_limits_that_the_protocol_sets(self) -> None:
        def compared(reading: Reading) -> Meaning:
            made = script(protocol_of(step("tonsils", sides=True, reading=reading)))
            made.record("tonsils", replace(same("right"), reading="1"), replace(same("left"), reading="3"))
            return the_meaning(known(made.session), "tonsils")

        usual = compared(Reading(kind="tonsil-grade"))
        wider = compared(Reading(kind="tonsil-grade", options=(("larger_by", 3),), source="invented"))

        assert usual.classes == wider.classes == ("larger-left",)
        assert [remark.tell for remark in usual.remarks] != []
        assert wider.remarks == ()

    def test_one_side_alone_is_compared_with_nothing(self) -> None:
        made = script(protocol_of(step("tonsils", sides=True, reading=Reading(kind="tonsil-grade"))))
        made.record("tonsils", replace(same("right"), reading="1"))

        assert known(made.session)["tonsils"].together is None


class TestComputations:
    def test_a_computation_is_known_when_all_that_it_needs_was_recorded(self) -> None:
        # 81 kg / (1.80 m)² = 25.0 kg/m², from which on the WHO speaks of overweight.
        found = recorded(("height", "180 cm"), ("weight", "81 kg"))

        assert found["index"].facts == {}
        assert "25.0" in the_meaning(found, "index").chart
        assert {"above", "pre-obese"} <= set(the_meaning(found, "index").classes)

    def test_a_computation_is_not_known_while_one_that_it_needs_is_missing(self) -> None:
        assert set(recorded(("height", "180 cm"))) == {"height"}

    def test_a_computation_is_not_known_when_a_step_was_examined_without_a_reading(self) -> None:
        assert "index" not in recorded(("height", "180 cm"), ("weight", ""))

    def test_what_the_protocol_sets_of_a_computation_holds_with_its_source(self) -> None:
        options = (("asian_action_points", True), ("action_points", (20.0, 30.0)))
        index = replace(INDEX, options=options, source="invented limit")
        made = script(replace(PROTOCOL, computed=(index,)))
        for name, reading in (("height", "180 cm"), ("weight", "70 kg")):
            made.record(name, replace(same(), reading=reading))

        # 70 kg / (1.80 m)² = 21.6 kg/m²: in range for the WHO, and above the first point that is set.
        remarks = the_meaning(known(made.session), "index").remarks

        assert "invented limit" in {remark.source for remark in remarks}
