"""A made case shows one picture that fits in all its parts, and the same seed makes it again."""

from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from checklist.practice.cases import Case, Truth, flawless, read, what_is_there
from checklist.practice.fitting import with_values_if_done
from checklist.practice.generated import NoCaseError, generate, pictures
from checklist.practice.library import to_toml
from checklist.protocol.library import load
from checklist.protocol.model import Protocol
from checklist.reasoning.facts import known
from checklist.reasoning.patterns import matches
from checklist.session.events import Result
from tests.desk import HEAD_AND_NECK
from tests.note_sessions import PROTOCOL as WITHOUT_PATTERNS

BUNDLED = sorted(HEAD_AND_NECK.parent.glob("*.toml"))
SEEDS = st.integers(min_value=0, max_value=999_999_999)
SIDES = pytest.mark.parametrize(("side", "other"), [("left", "right"), ("right", "left")])
CONTRADICTING = {
    "whisper-disagrees",
    "inconsistent",
    "unclear",
    "not-explained",
    "swinging-contradicts",
    "weber-contradicts-rinne-right",
    "weber-contradicts-rinne-left",
}


@cache
def protocol_of(path: Path) -> Protocol:
    return load(path)


HEAD = protocol_of(HEAD_AND_NECK)


def findings(case: Case, step: str, entry: str = "whole") -> tuple[str, ...]:
    """Return what is found at an entry; nothing where all is as expected."""
    there = what_is_there(case, HEAD).get((step, entry))
    return there.findings if there else ()


def record(case: Case, step: str, entry: str) -> Result:
    return flawless(case, HEAD).state.records[step][entry].result


@pytest.mark.parametrize("path", BUNDLED, ids=lambda path: path.stem)
class TestEverySeed:
    @given(seed=SEEDS)
    @settings(max_examples=25, deadline=None)
    def test_shows_at_most_one_pattern_and_contradicts_nothing(self, path: Path, seed: int) -> None:
        protocol = protocol_of(path)
        found = known(flawless(generate(protocol, seed), protocol))
        complete = matches(protocol, found)

        assert len(complete) <= 1
        assert not any(match.pattern.contradiction for match in complete)
        for each in protocol.computed:
            if each.id in found and (together := found[each.id].together):
                assert not CONTRADICTING & set(together.classes)

    @given(seed=SEEDS)
    @settings(max_examples=15, deadline=None)
    def test_makes_the_same_case_again(self, path: Path, seed: int) -> None:
        protocol = protocol_of(path)

        assert generate(protocol, seed) == generate(protocol, seed)

    @given(seed=SEEDS)
    @settings(max_examples=15, deadline=None)
    def test_makes_a_case_that_can_be_written_and_read_again(self, path: Path, seed: int) -> None:
        protocol = protocol_of(path)
        case = generate(protocol, seed)

        again, problems = read(
            to_toml(case), "made.toml", lambda name: protocol if name == protocol.id else None
        )

        assert problems == []
        assert again == case

    @given(seed=SEEDS)
    @settings(max_examples=15, deadline=None)
    def test_makes_decoys_that_need_only_be_written_down(self, path: Path, seed: int) -> None:
        protocol = protocol_of(path)

        for decoy in generate(protocol, seed).decoys:
            step = protocol.step_of[decoy.step]
            assert {step.finding_of[finding].tell for finding in decoy.findings} == {"note"}

    def test_is_not_always_the_same(self, path: Path) -> None:
        protocol = protocol_of(path)

        assert len({generate(protocol, seed).explains for seed in range(12)}) > 1


def test_a_pattern_that_is_asked_for_is_the_one_that_is_complete() -> None:
    made = 0
    for protocol in map(protocol_of, BUNDLED):
        for picture in pictures(protocol):
            if picture.pattern is None:
                continue
            case = generate(protocol, 7, picture.name)
            complete = matches(protocol, known(flawless(case, protocol)))
            assert [(match.pattern.id, match.side) for match in complete] == [
                (picture.pattern.id, picture.side)
            ]
            made += 1
    assert made >= 45


class TestStepsDoneOnlyIfIndicated:
    """Such a step is part of a case when the case names it, and something else in the case indicates it."""

    @SIDES
    @given(seed=SEEDS)
    @settings(max_examples=10, deadline=None)
    def test_a_droop_beside_a_smaller_pupil_differs_more_in_the_dark(
        self, side: str, other: str, seed: int
    ) -> None:
        case = generate(HEAD, seed, f"droop-beside-smaller-pupil:{side}")
        lids = findings(case, "inspect-eyelids", side)
        mm = {
            (eye, light): float(record(case, "measure-pupils-two-lights", f"{eye}/{light} light").reading)
            for eye in (side, other)
            for light in ("bright", "dim")
        }

        assert set(lids) <= {"droop-new", "droop-known"} and lids, "a droop indicates the step"
        assert mm[side, "bright"] < mm[other, "bright"]
        assert mm[other, "dim"] - mm[side, "dim"] > mm[other, "bright"] - mm[side, "bright"]
        assert findings(case, "measure-pupils-two-lights", f"{side}/dim light") == ("slow-to-widen",)
        assert (findings(case, "compare-pupils") == (f"{side}-small-droop",)) == (lids == ("droop-new",))

    @SIDES
    def test_a_large_pupil_that_does_not_narrow_differs_more_in_the_light(
        self, side: str, other: str
    ) -> None:
        case = generate(HEAD, 5, f"large-pupil-with-droop-or-gaze:{side}")
        mm = {
            (eye, light): float(record(case, "measure-pupils-two-lights", f"{eye}/{light} light").reading)
            for eye in (side, other)
            for light in ("bright", "dim")
        }

        assert mm[side, "bright"] - mm[other, "bright"] > mm[side, "dim"] - mm[other, "dim"] > 0

    @given(seed=SEEDS)
    @settings(max_examples=10, deadline=None)
    def test_faintness_with_a_fall_of_pressure_has_all_of_its_pressures(self, seed: int) -> None:
        protocol = protocol_of(HEAD_AND_NECK.with_name("vital-signs.toml"))
        case = generate(protocol, seed, "faintness-with-fall")
        records = flawless(case, protocol).state.records
        lying, one, three = (
            [int(part) for part in records[f"measure-pressure-{when}"]["whole"].result.reading.split("/")]
            for when in ("lying", "standing-1", "standing-3")
        )

        assert records["ask-faintness"]["whole"].result.findings, "what is reported indicates standing up"
        falls = [
            before[0] - after[0] >= 20 or before[1] - after[1] >= 10
            for before, after in ((lying, one), (lying, three))
        ]
        assert falls.count(True) == 1, "20 over 10, once"
        assert min(lying[0], one[0], three[0]) > 90, "no pressure that stops the standing"
        assert "count-pulse-standing" in records

    @pytest.mark.parametrize(
        ("picture", "indicates"),
        [
            ("breath-stops-with-fever-or-yellow", {("feel-light", "tender")}),
            (
                "shifting-dullness-swollen",
                {
                    ("inspect-contour", "distended"),
                    ("percuss-quadrants", "dull"),
                    ("percuss-quadrants", "dull-patch"),
                },
            ),
            (
                "shifting-dullness-with-danger-signs",
                {("inspect-contour", "distended"), ("percuss-quadrants", "dull-patch")},
            ),
        ],
    )
    @given(seed=SEEDS)
    @settings(max_examples=5, deadline=None)
    def test_something_else_indicates_the_step(
        self, picture: str, indicates: set[tuple[str, str]], seed: int
    ) -> None:
        case = generate(protocol_of(HEAD_AND_NECK.with_name("abdomen.toml")), seed, picture)

        so = {(truth.step, finding) for truth in case.truths for finding in truth.findings}
        assert so & indicates

    @given(seed=SEEDS)
    @settings(max_examples=5, deadline=None)
    def test_who_can_be_pregnant_is_said_to_be_of_that_age(self, seed: int) -> None:
        protocol = protocol_of(HEAD_AND_NECK.with_name("abdomen.toml"))
        case = generate(protocol, seed, "period-late-with-pain")

        assert case.age == "18 to 49"
        assert case.story.startswith("Invented: a woman aged 18 to 49, ")


class TestValuesIfDone:
    """A step that the case does not name has a value for whoever does it all the same."""

    @pytest.mark.parametrize("path", BUNDLED, ids=lambda path: path.stem)
    @given(seed=SEEDS)
    @settings(max_examples=10, deadline=None)
    def test_what_the_case_says_is_left_as_it_is(self, path: Path, seed: int) -> None:
        protocol = protocol_of(path)
        there = what_is_there(generate(protocol, seed), protocol)
        found = with_values_if_done(protocol, there)

        assert {key: each for key, each in found.items() if key in there} == there
        for key in found.keys() - there.keys():
            assert protocol.step_of[key[0]].only_if
            assert not found[key].findings

    def test_a_pressure_standing_is_that_at_rest(self) -> None:
        protocol = protocol_of(HEAD_AND_NECK.with_name("vital-signs.toml"))
        case = Case(
            id="c",
            title="C",
            protocol=protocol.id,
            story="Nobody.",
            truths=(Truth(step="measure-pressure-lying", reading="124/78"),),
        )
        found = with_values_if_done(protocol, what_is_there(case, protocol))

        assert found["measure-pressure-standing-1", "whole"].reading == "124/78"
        assert found["compare-arm-pressures", "left"].reading == "124/78"

    def test_other_words_for_what_is_as_expected_take_no_value_away(self) -> None:
        protocol = protocol_of(HEAD_AND_NECK.with_name("vital-signs.toml"))
        case = Case(
            id="c",
            title="C",
            protocol=protocol.id,
            story="Nobody.",
            truths=(
                Truth(step="measure-pressure-lying", reading="124/78"),
                Truth(step="measure-pressure-standing-1", seen="Stands firmly."),
            ),
        )
        found = with_values_if_done(protocol, what_is_there(case, protocol))

        standing = found["measure-pressure-standing-1", "whole"]
        assert (standing.reading, standing.seen) == ("124/78", "Stands firmly.")

    def test_pupils_of_one_size_are_so_in_both_lights_and_of_others_nothing_is_said(self) -> None:
        def lights(right: str) -> list[str]:
            truths = (
                Truth(step="measure-pupil-size", side="right", reading=right),
                Truth(step="measure-pupil-size", side="left", reading="3"),
            )
            case = Case(id="c", title="C", protocol=HEAD.id, story="Nobody.", truths=truths)
            found = with_values_if_done(HEAD, what_is_there(case, HEAD))
            return [each.reading for (step, _), each in found.items() if step == "measure-pupils-two-lights"]

        bright_right, bright_left, dim_right, dim_left = map(float, lights("3"))
        assert bright_right == bright_left < dim_right == dim_left
        assert lights("3.5") == []


class TestStories:
    @pytest.mark.parametrize("path", BUNDLED, ids=lambda path: path.stem)
    def test_vary_with_the_seed_and_name_age_and_examination(self, path: Path) -> None:
        protocol = protocol_of(path)
        cases = [generate(protocol, seed) for seed in range(30)]

        assert len({case.story for case in cases}) >= 20
        for case in cases:
            assert case.story.startswith("Invented: ")
            assert f" aged {case.age}, " in case.story
            assert f"Examination asked for: {protocol.title}." in case.story

    @pytest.mark.parametrize("path", BUNDLED, ids=lambda path: path.stem)
    def test_are_told_of_places_that_have_a_waiting_room_and_a_sign(self, path: Path) -> None:
        """What is shown speaks of both, and of having come, which nobody does at home or on a ward."""
        stories = [generate(protocol_of(path), seed).story for seed in range(40)]

        assert not [story for story in stories if "at home" in story or "ward" in story or "visit" in story]
        assert all("clinic" in story or "health centre" in story or "practice" in story for story in stories)

    def test_give_nothing_away(self) -> None:
        """The same seed tells the same story, but for the age, whatever the case is about."""
        about = ("forks:conductive-left", "face-weak-forehead-spared:left")
        names = [each.name for each in pictures(HEAD) if each.name in about]
        stories = {generate(HEAD, 3, name).story.partition(", ")[2] for name in names}

        assert len(names) == 2
        assert len(stories) == 1


class TestTuningForks:
    @SIDES
    @given(seed=SEEDS)
    @settings(max_examples=10, deadline=None)
    def test_a_conductive_loss_gives_weber_rinne_and_whisper_that_fit(
        self, side: str, other: str, seed: int
    ) -> None:
        case = generate(HEAD, seed, f"forks:conductive-{side}")

        assert findings(case, "test-weber") == (side,), "louder in the ear with the loss"
        assert findings(case, "test-rinne", side) == ("bone-longer",)
        assert findings(case, "test-rinne", other) == ()
        assert findings(case, "test-whispered-voice", side) == ("fails",)
        assert record(case, "test-whispered-voice", side).reading in {"1/3 1/3", "0/3 1/3"}
        assert record(case, "test-whispered-voice", other).reading == "3/3"

    @SIDES
    @given(seed=SEEDS)
    @settings(max_examples=10, deadline=None)
    def test_a_sensorineural_loss_is_louder_in_the_other_ear(self, side: str, other: str, seed: int) -> None:
        case = generate(HEAD, seed, f"forks:sensorineural-{side}")

        assert findings(case, "test-weber") == (other,)
        assert findings(case, "test-rinne", side) == findings(case, "test-rinne", other) == ()
        assert findings(case, "test-whispered-voice", side) == ("fails",)
        assert findings(case, "test-whispered-voice", other) == ()

    @SIDES
    def test_behind_wax_that_blocks_the_view_no_eardrum_is_seen(self, side: str, other: str) -> None:
        about = f"conductive-side-with-ear-finding:{side}"
        cases = (generate(HEAD, seed, about) for seed in range(200))
        case = next(each for each in cases if findings(each, "inspect-ear-canals", side) == ("wax-full",))

        assert record(case, "inspect-eardrum-colour", side).outcome == "attempted, not seen"
        assert record(case, "inspect-eardrum-colour", other).outcome == "as expected"


class TestPupils:
    """Side of a light test = the eye that is lit; consensual = the pupil of the other eye."""

    @SIDES
    @pytest.mark.parametrize(
        ("picture", "still"),
        [
            # An eye that does not conduct moves neither pupil.
            ("afferent", {("direct", "own"), ("consensual", "own")}),
            # A pupil that cannot move stays, whichever eye is lit.
            ("efferent", {("direct", "own"), ("consensual", "other")}),
            ("relative-afferent", set()),
        ],
    )
    @given(seed=SEEDS)
    @settings(max_examples=5, deadline=None)
    def test_a_picture_gives_its_four_cells(
        self, side: str, other: str, picture: str, still: set[tuple[str, str]], seed: int
    ) -> None:
        case = generate(HEAD, seed, f"light-reactions:{picture}-{side}")
        lit = {"own": side, "other": other}

        for test in ("direct", "consensual"):
            for whose in ("own", "other"):
                expected = ("none",) if (test, whose) in still else ()
                assert findings(case, f"test-{test}-light", lit[whose]) == expected

    @SIDES
    @given(seed=SEEDS)
    @settings(max_examples=5, deadline=None)
    def test_a_pupil_that_cannot_move_is_larger_and_does_not_move_to_near(
        self, side: str, other: str, seed: int
    ) -> None:
        case = generate(HEAD, seed, f"light-reactions:efferent-{side}")

        assert findings(case, "test-near-response", side) == ("none",)
        assert "none" not in findings(case, "test-near-response", other)
        assert findings(case, "compare-pupils") == (f"{side}-larger",)

    @SIDES
    def test_an_eye_that_does_not_conduct_leaves_the_pupils_equal_and_moving_to_near(
        self, side: str, other: str
    ) -> None:
        case = generate(HEAD, 11, f"light-reactions:afferent-{side}")

        assert not {"right-larger", "left-larger"} & set(findings(case, "compare-pupils"))
        assert "none" not in findings(case, "test-near-response", side)
        assert "none" not in findings(case, "test-near-response", other)

    @SIDES
    def test_the_light_swung_onto_the_eye_that_conducts_less_widens_its_pupil(
        self, side: str, other: str
    ) -> None:
        case = generate(HEAD, 3, f"light-reactions:relative-afferent-{side}")

        assert set(findings(case, "test-swinging-light", side)) <= {"escape", "dilates"}
        assert findings(case, "test-swinging-light", side)
        assert findings(case, "test-swinging-light", other) == ()

    @SIDES
    def test_unequal_pupils_have_unequal_sizes(self, side: str, other: str) -> None:
        case = generate(HEAD, 5, f"large-pupil-with-droop-or-gaze:{side}")
        size = {each: record(case, "measure-pupil-size", each).reading for each in (side, other)}

        assert float(size[side].split()[0]) >= float(size[other].split()[0]) + 1

    @SIDES
    def test_a_small_pupil_with_a_droop_has_its_drooping_lid(self, side: str, other: str) -> None:
        case = generate(HEAD, 5, f"small-pupil-with-droop-and-pain:{side}")

        assert findings(case, "inspect-eyelids", side) == ("droop-new",)
        assert findings(case, "inspect-eyelids", other) == ()


class TestFaces:
    @SIDES
    @given(seed=SEEDS)
    @settings(max_examples=10, deadline=None)
    def test_a_stroke_face_spares_the_forehead(self, side: str, other: str, seed: int) -> None:
        case = generate(HEAD, seed, f"face-weak-forehead-spared:{side}")

        assert record(case, "raise-brows", side).outcome == "as expected"
        assert record(case, "close-eyes-tight", side).outcome == "as expected"
        assert set(findings(case, "smile", side)) & {"weak", "none"}
        assert findings(case, "puff-cheeks", side) == ("leak",)
        assert not set(findings(case, "smile", other)) & {"weak", "none"}

    @SIDES
    @given(seed=SEEDS)
    @settings(max_examples=10, deadline=None)
    def test_a_whole_side_is_weak_with_its_forehead(self, side: str, other: str, seed: int) -> None:
        case = generate(HEAD, seed, f"face:peripheral-{side}")

        assert set(findings(case, "raise-brows", side)) & {"weak", "none"}
        assert set(findings(case, "close-eyes-tight", side)) & {"weak", "gap"}
        assert set(findings(case, "smile", side)) & {"weak", "none"}
        assert not set(findings(case, "raise-brows", other)) & {"weak", "none"}


class TestWhatCannotBeMade:
    def test_nothing_is_made_from_a_protocol_without_patterns(self) -> None:
        with pytest.raises(
            NoCaseError, match="no consistent case could be made from the protocol 'invented'"
        ):
            generate(WITHOUT_PATTERNS, 1)

    def test_a_picture_that_is_not_there_is_named_with_those_that_are(self) -> None:
        with pytest.raises(NoCaseError, match="no case can be about 'gout'; this protocol has: face-weak"):
            generate(HEAD, 1, "gout")
