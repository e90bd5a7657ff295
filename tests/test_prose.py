"""From records to phrases; each expected text is written from the format's description of chart wording."""

from collections.abc import Mapping

import pytest

from checklist.protocol.model import Reading, Step
from checklist.session.events import Result
from checklist.summary.document import Sentence
from checklist.summary.prose import region
from tests.note_sessions import Script, differs, not_done, protocol_of, same, step, unseen


def sentences(records: Mapping[str, tuple[Result, ...]], *steps: Step) -> list[Sentence]:
    script = Script(protocol_of(*steps)).start()
    for step_id, results in records.items():
        script.record(step_id, *results)
    return region(steps, script.session.state.records)


def said(records: Mapping[str, tuple[Result, ...]], *steps: Step) -> str:
    return " ".join(sentence.text for sentence in sentences(records, *steps))


EARDRUM = step(
    "eardrum",
    sides=True,
    subject="eardrum",
    subjects="eardrums",
    chart="pearl grey and translucent",
    may_be_unseen=True,
    findings={"red": "red and bulging", "hole": "with a hole", "wax": "wax hides {subject}"},
)
TRACHEA = step("trachea", subject="trachea", chart="in the midline", findings={"off": "off the midline"})
TOUCH = step(
    "touch",
    sides=True,
    sites=("forehead", "cheek", "chin"),
    subject="light touch",
    chart="felt over {side} {site}",
    findings={"less": "felt less over {side} {site}"},
)
SOUNDS = step(
    "sounds",
    sites=("upper half", "lower half"),
    every_site="both halves",
    subject="sounds",
    chart="heard in {site}",
    findings={"none": "not heard in {site}"},
)
SINUS = step(
    "sinus",
    sides=True,
    sites=("frontal", "maxillary"),
    subject="sinus",
    subjects="sinuses",
    chart="not tender",
    findings={"sore": "tender"},
)


class TestSides:
    """The side stands before the subject; both sides alike are said together."""

    def test_both_sides_alike(self) -> None:
        assert said({"eardrum": (same(),)}, EARDRUM) == "Eardrums pearl grey and translucent bilaterally."

    def test_no_sides(self) -> None:
        assert said({"trachea": (same(),)}, TRACHEA) == "Trachea in the midline."

    def test_sides_that_differ_are_each_named_and_what_differs_stands_first(self) -> None:
        results = (same("right"), differs("left", findings=("red",)))
        expected = "Left eardrum red and bulging. Right eardrum pearl grey and translucent."
        assert said({"eardrum": results}, EARDRUM) == expected

    def test_both_sides_differ_each_in_its_way(self) -> None:
        results = (differs("right", findings=("red",)), differs("left", findings=("hole",)))
        assert (
            said({"eardrum": results}, EARDRUM) == "Right eardrum red and bulging. Left eardrum with a hole."
        )

    def test_the_singular_serves_both_sides_where_the_protocol_gives_no_plural(self) -> None:
        nodes = step("nodes", sides=True, subject="deep nodes", chart="not palpable")
        assert said({"nodes": (same(),)}, nodes) == "Deep nodes not palpable bilaterally."

    def test_sides_recorded_one_after_the_other_are_merged_when_they_agree(self) -> None:
        script = Script(protocol_of(EARDRUM)).start()
        script.record("eardrum", same("left"))
        script.record("eardrum", same("right"))
        [found] = region([EARDRUM], script.session.state.records)
        assert found == Sentence(text="Eardrums pearl grey and translucent bilaterally.", rests_on=(2, 3))


class TestTheOtherSide:
    """A side without a finding is said to have none, in the words of its record if it has one."""

    def test_not_recorded(self) -> None:
        expected = "Right eardrum pearl grey and translucent (left not recorded)."
        assert said({"eardrum": (same("right"),)}, EARDRUM) == expected

    def test_not_examined_is_said_only_when_it_was_recorded(self) -> None:
        results = (same("left"), not_done("right", reason="declined"))
        [found] = sentences({"eardrum": results}, EARDRUM)
        assert found.text == "Left eardrum pearl grey and translucent (right not examined)."
        assert found.rests_on == (2,)

    def test_attempted_not_seen(self) -> None:
        results = (differs("right", findings=("red",)), unseen("left", detail="wax"))
        assert (
            said({"eardrum": results}, EARDRUM) == "Right eardrum red and bulging (left attempted, not seen)."
        )

    def test_a_step_without_any_finding_says_nothing_here(self) -> None:
        assert said({"eardrum": (unseen("right"), not_done("left", reason="declined"))}, EARDRUM) == ""

    def test_a_step_that_nobody_recorded_says_nothing(self) -> None:
        assert said({}, EARDRUM, TRACHEA, TOUCH) == ""

    def test_it_rests_on_the_event_that_recorded_the_other_side(self) -> None:
        script = Script(protocol_of(EARDRUM)).start()
        script.record("eardrum", not_done("right", reason="declined"))
        script.record("eardrum", same("left"))
        [found] = region([EARDRUM], script.session.state.records)
        assert found.rests_on == (2, 3)

    def test_several_sites_without_a_finding(self) -> None:
        expected = (
            "Light touch felt over right forehead "
            "(left forehead not examined; right and left cheek and chin not recorded)."
        )
        results = (same("right/forehead"), not_done("left/forehead", reason="unable"))
        assert said({"touch": results}, TOUCH) == expected

    def test_a_whole_side_without_a_finding_is_named_without_its_sites(self) -> None:
        results = (same("right/forehead", "right/cheek", "right/chin"),)
        expected = "Light touch felt over right forehead, cheek and chin (left not recorded)."
        assert said({"touch": results}, TOUCH) == expected


class TestPlaceholders:
    def test_subject_brings_its_side_and_nothing_is_put_in_front(self) -> None:
        results = (differs("right", findings=("wax",)), same("left"))
        expected = "Wax hides right eardrum. Left eardrum pearl grey and translucent."
        assert said({"eardrum": results}, EARDRUM) == expected

    def test_subject_of_both_sides(self) -> None:
        assert (
            said({"eardrum": (differs(findings=("wax",)),)}, EARDRUM) == "Wax hides right and left eardrums."
        )

    def test_side_and_site_stand_where_the_predicate_puts_them(self) -> None:
        expected = "Light touch felt over right and left forehead, cheek and chin."
        assert said({"touch": (same(),)}, TOUCH) == expected

    def test_sites_are_bundled_so_that_few_phrases_say_all(self) -> None:
        results = (
            differs("right/cheek", findings=("less",)),
            same("right/forehead", "left/forehead", "left/cheek", "right/chin", "left/chin"),
        )
        expected = (
            "Light touch felt less over right cheek. "
            "Light touch felt over right and left forehead and chin. "
            "Light touch felt over left cheek."
        )
        assert said({"touch": results}, TOUCH) == expected

    def test_what_one_side_has_more_of_is_a_phrase_of_its_own(self) -> None:
        results = (
            same("right/forehead", "right/cheek", "right/chin", "left/forehead"),
            not_done("left/cheek", "left/chin", reason="unable"),
        )
        expected = (
            "Light touch felt over right and left forehead. "
            "Light touch felt over right cheek and chin (left cheek and chin not examined)."
        )
        assert said({"touch": results}, TOUCH) == expected

    def test_sites_are_bundled_by_side_where_that_takes_fewer_phrases(self) -> None:
        results = (same("right/forehead", "left/forehead", "right/cheek", "left/chin"),)
        expected = (
            "Light touch felt over right forehead and cheek. "
            "Light touch felt over left forehead and chin (left cheek, right chin not recorded)."
        )
        assert said({"touch": results}, TOUCH) == expected

    def test_all_sites_together_have_the_name_that_the_protocol_gives_them(self) -> None:
        assert said({"sounds": (same(),)}, SOUNDS) == "Sounds heard in both halves."

    def test_some_sites_are_named_one_by_one(self) -> None:
        results = (same("upper half"), differs("lower half", findings=("none",)))
        assert (
            said({"sounds": results}, SOUNDS) == "Sounds not heard in lower half. Sounds heard in upper half."
        )

    def test_sites_follow_in_brackets_where_the_predicate_does_not_place_them(self) -> None:
        results = (
            differs("right/frontal", "left/frontal", findings=("sore",)),
            same("right/maxillary", "left/maxillary"),
        )
        expected = "Sinuses tender bilaterally (frontal). Sinuses not tender bilaterally (maxillary)."
        assert said({"sinus": results}, SINUS) == expected

    def test_all_sites_need_no_brackets(self) -> None:
        assert said({"sinus": (same(),)}, SINUS) == "Sinuses not tender bilaterally."

    def test_text_that_looks_like_a_placeholder_stays_as_it_is(self) -> None:
        results = (differs(detail="the {side} of it"),)
        assert said({"trachea": results}, TRACHEA) == "Trachea: the {side} of it."


class TestOwnWords:
    """The examiner's own words come last, after a colon, and are never joined with anything."""

    def test_after_a_finding(self) -> None:
        results = (differs("right", findings=("red",), detail="upper half, 3 mm."), same("left"))
        expected = "Right eardrum red and bulging: upper half, 3 mm. Left eardrum pearl grey and translucent."
        assert said({"eardrum": results}, EARDRUM) == expected

    def test_instead_of_a_finding(self) -> None:
        assert said({"trachea": (differs(detail="hard to feel"),)}, TRACHEA) == "Trachea: hard to feel."

    def test_about_both_sides(self) -> None:
        expected = "Right and left eardrums: dull."
        assert said({"eardrum": (differs(detail="dull"),)}, EARDRUM) == expected

    def test_about_one_site(self) -> None:
        expected = "Right and left sinuses (frontal): sore. Sinuses not tender bilaterally (maxillary)."
        results = (
            differs("right/frontal", "left/frontal", detail="sore"),
            same("right/maxillary", "left/maxillary"),
        )
        assert said({"sinus": results}, SINUS) == expected

    def test_sides_with_different_words_are_not_merged(self) -> None:
        results = (
            differs("right", findings=("hole",), detail="1 mm"),
            differs("left", findings=("hole",), detail="2 mm"),
        )
        expected = "Right eardrum with a hole: 1 mm. Left eardrum with a hole: 2 mm."
        assert said({"eardrum": results}, EARDRUM) == expected

    def test_sides_whose_words_differ_in_white_space_alone_are_merged(self) -> None:
        results = (differs("right", detail="1 mm"), differs("left", detail=" 1\tmm "))
        assert said({"eardrum": results}, EARDRUM) == "Right and left eardrums: 1 mm."

    def test_with_what_is_as_expected(self) -> None:
        assert (
            said({"trachea": (same(detail="scar above"),)}, TRACHEA) == "Trachea in the midline: scar above."
        )

    def test_neither_finding_nor_words(self) -> None:
        expected = "Trachea different from what is expected, how was not recorded."
        assert said({"trachea": (differs(),)}, TRACHEA) == expected

    def test_a_neighbour_does_not_come_under_them(self) -> None:
        throat = step("throat", subject="throat", chart="in the midline")
        records = {"trachea": (same(detail="barely"),), "throat": (same(),)}
        assert said(records, TRACHEA, throat) == "Trachea in the midline: barely. Throat in the midline."
        records = {"trachea": (same(),), "throat": (same(detail="barely"),)}
        assert said(records, TRACHEA, throat) == "Trachea in the midline. Throat in the midline: barely."

    def test_another_step_of_the_same_subject_does_not_come_under_them(self) -> None:
        soft = step("soft", subject="trachea", chart="soft")
        records = {"trachea": (same(),), "soft": (same(detail="left half"),)}
        assert said(records, TRACHEA, soft) == "Trachea in the midline. Trachea soft: left half."
        records = {"trachea": (same(detail="barely"),), "soft": (same(),)}
        assert said(records, TRACHEA, soft) == "Trachea in the midline: barely. Trachea soft."

    def test_two_findings_share_them(self) -> None:
        gland = step("gland", subject="gland", chart="soft", findings={"large": "large", "hard": "hard"})
        results = (differs(findings=("hard", "large"), detail="left half"),)
        assert said({"gland": results}, gland) == "Gland large and hard: left half."


class TestJoining:
    def test_neighbours_that_share_a_predicate_are_joined_by_subject(self) -> None:
        names = ("preauricular nodes", "occipital nodes", "submental nodes")
        steps = [
            step(f"s{i}", sides=True, subject=name, chart="not palpable") for i, name in enumerate(names)
        ]
        records = {each.id: (same(),) for each in steps}
        expected = "Preauricular, occipital and submental nodes not palpable bilaterally."
        assert said(records, *steps) == expected

    def test_a_joined_sentence_rests_on_all_its_events(self) -> None:
        steps = [step("a", subject="nose", chart="clear"), step("b", subject="mouth", chart="clear")]
        [found] = sentences({"a": (same(),), "b": (same(),)}, *steps)
        assert found == Sentence(text="Nose and mouth clear.", rests_on=(2, 3))

    def test_neighbours_that_share_a_subject_are_joined_by_predicate(self) -> None:
        steps = [
            step("a", subject="thyroid", chart="in the midline"),
            step("b", subject="thyroid", chart="soft"),
        ]
        assert said({"a": (same(),), "b": (same(),)}, *steps) == "Thyroid in the midline and soft."

    def test_what_is_as_expected_is_joined_from_anywhere_at_the_place_of_its_first(self) -> None:
        steps = [
            step("a", subject="nose", chart="clear"),
            step("b", subject="lip", chart="pink"),
            step("c", subject="mouth", chart="clear"),
        ]
        both = {"a": (same(),), "c": (same(),)}
        assert said(both, *steps) == "Nose and mouth clear."
        assert said({**both, "b": (same(),)}, *steps) == "Nose and mouth clear. Lip pink."

    def test_predicates_of_one_subject_are_joined_from_anywhere(self) -> None:
        steps = [
            step("a", subject="tongue", chart="soft"),
            step("b", subject="voice", chart="clear"),
            step("c", subject="tongue", chart="midline when out"),
        ]
        records = {each.id: (same(),) for each in steps}
        found = sentences(records, *steps)
        assert [each.text for each in found] == ["Tongue soft and midline when out.", "Voice clear."]
        assert [each.rests_on for each in found] == [(2, 4), (3,)]

    def test_what_differs_is_joined_with_its_neighbours_alone(self) -> None:
        steps = [
            step(name, subject=name, chart="clear", findings={"red": "red"})
            for name in ("nose", "lip", "gum")
        ]
        red, swollen = differs(findings=("red",)), differs(detail="swollen")
        records = {"nose": (red,), "lip": (swollen,), "gum": (red,)}
        assert said(records, *steps) == "Nose red. Lip: swollen. Gum red."
        assert (
            said({"nose": (red,), "lip": (red,), "gum": (same(),)}, *steps) == "Nose and lip red. Gum clear."
        )

    def test_own_words_between_do_not_come_under_what_is_joined_around_them(self) -> None:
        steps = [step(name, subject=name, chart="clear") for name in ("nose", "lip", "mouth")]
        records = {"nose": (same(),), "lip": (same(detail="one scar"),), "mouth": (same(),)}
        assert said(records, *steps) == "Nose and mouth clear. Lip clear: one scar."

    @pytest.mark.parametrize(
        ("first", "second", "expected"),
        [
            (
                same("right"),
                same("left"),
                "Right ear clear (left not recorded). Left eye clear (right not recorded).",
            ),
            (same("right"), same("right"), "Right ear and eye clear (left not recorded)."),
            (same(), same("right"), "Ears clear bilaterally. Right eye clear (left not recorded)."),
        ],
    )
    def test_only_what_holds_for_the_same_sides_is_joined(
        self, first: Result, second: Result, expected: str
    ) -> None:
        ear = step("ear", sides=True, subject="ear", subjects="ears", chart="clear")
        eye = step("eye", sides=True, subject="eye", subjects="eyes", chart="clear")
        assert said({"ear": (first,), "eye": (second,)}, ear, eye) == expected

    def test_different_sites_are_not_joined(self) -> None:
        other = step("other", sites=("upper half", "lower half"), subject="hums", chart="heard in {site}")
        records = {"sounds": (same("upper half"),), "other": (same("lower half"),)}
        expected = (
            "Sounds heard in upper half (lower half not recorded). "
            "Hums heard in lower half (upper half not recorded)."
        )
        assert said(records, SOUNDS, other) == expected

    def test_predicates_with_sites_of_one_subject_keep_each_their_own(self) -> None:
        soft = step(
            "soft", sites=("left", "right half"), every_site="all", subject="belly", chart="soft in {site}"
        )
        calm = step(
            "calm", sites=("left", "right half"), every_site="all", subject="belly", chart="calm in {site}"
        )
        records = {"soft": (same(),), "calm": (same(),)}
        assert said(records, soft, calm) == "Belly soft in all and calm in all."

    def test_predicates_that_bring_their_subject_are_joined_inside_it(self) -> None:
        steps = [
            step(
                "a", sides=True, subject="auricle", subjects="auricles", chart="no pain on moving {subject}"
            ),
            step("b", sides=True, subject="tragus", subjects="tragi", chart="no pain on moving {subject}"),
        ]
        records = {"a": (same(),), "b": (same(),)}
        assert said(records, *steps) == "No pain on moving right and left auricles and tragi."

    def test_a_predicate_that_brings_its_subject_is_not_joined_to_another(self) -> None:
        first = step("a", subject="jaw", chart="no click on moving {subject}")
        second = step("b", subject="jaw", chart="opening straight")
        records = {"a": (same(),), "b": (same(),)}
        assert said(records, first, second) == "No click on moving jaw. Jaw opening straight."

    def test_nor_is_another_joined_to_it(self) -> None:
        first = step("a", subject="jaw", chart="opening straight")
        second = step("b", subject="jaw", chart="no click on moving {subject}")
        records = {"a": (same(),), "b": (same(),)}
        assert said(records, first, second) == "Jaw opening straight. No click on moving jaw."

    def test_a_predicate_that_places_its_site_is_not_joined_to_one_that_does_not(self) -> None:
        loud = step("loud", sites=("upper half", "lower half"), subject="sounds", chart="loud")
        records = {"sounds": (same("upper half"),), "loud": (same("upper half"),)}
        expected = (
            "Sounds heard in upper half (lower half not recorded). "
            "Sounds loud (upper half) (lower half not recorded)."
        )
        assert said(records, SOUNDS, loud) == expected

    def test_a_step_that_differs_stands_before_all_others_of_its_region(self) -> None:
        steps = [step("a", subject="nose", chart="clear"), TRACHEA, step("c", subject="mouth", chart="clear")]
        records = {"a": (same(),), "trachea": (differs(findings=("off",)),), "c": (same(),)}
        assert said(records, *steps) == "Trachea off the midline. Nose and mouth clear."

    def test_several_findings_of_one_entry_are_in_one_sentence_in_listed_order(self) -> None:
        results = (differs("right", findings=("hole", "red")), same("left"))
        expected = "Right eardrum red and bulging; with a hole. Left eardrum pearl grey and translucent."
        assert said({"eardrum": results}, EARDRUM) == expected

    def test_what_is_missing_of_a_step_does_not_part_its_findings(self) -> None:
        results = (differs("right", findings=("hole", "red")),)
        expected = "Right eardrum red and bulging; with a hole (left not recorded)."
        assert said({"eardrum": results}, EARDRUM) == expected

    def test_the_same_phrase_of_two_steps_is_said_once(self) -> None:
        steps = [step("a", subject="nose", chart="clear"), step("b", subject="nose", chart="clear")]
        [found] = sentences({"a": (same(),), "b": (same(),)}, *steps)
        assert found == Sentence(text="Nose clear.", rests_on=(2, 3))


BROW = step("brow", sides=True, subject="brow", subjects="brows", chart="rising fully")
LID = step("lid", sides=True, subject="lid", subjects="lids", chart="closing fully, resisting opening")
MOUTH = step("mouth", sides=True, subject="mouth corner", subjects="mouth corners", chart="level")
TWO_SAME = {"brow": (same(),), "lid": (same(),)}
ALL_SAME = {**TWO_SAME, "mouth": (same(),)}


class TestBothSides:
    """Of what is as expected, two or more statements of both sides stand last and say so once."""

    def test_two_or_more_stand_last_under_one_label_and_stay_sentences(self) -> None:
        found = sentences({**ALL_SAME, "trachea": (same(),)}, BROW, LID, TRACHEA, MOUTH)
        assert found == [
            Sentence(text="Trachea in the midline.", rests_on=(5,)),
            Sentence(text="Both sides: brows rising fully.", rests_on=(2,)),
            Sentence(text="Lids closing fully, resisting opening.", rests_on=(3,)),
            Sentence(text="Mouth corners level.", rests_on=(4,)),
        ]

    def test_a_single_one_stays_in_its_place_and_says_bilaterally(self) -> None:
        records = {"brow": (same(),), "trachea": (same(),)}
        assert said(records, BROW, TRACHEA) == "Brows rising fully bilaterally. Trachea in the midline."

    def test_what_joins_into_one_is_a_single_one(self) -> None:
        nose = step("nose", sides=True, subject="nostril", subjects="nostrils", chart="rising fully")
        records = {"brow": (same(),), "trachea": (same(),), "nose": (same(),)}
        expected = "Brows and nostrils rising fully bilaterally. Trachea in the midline."
        assert said(records, BROW, TRACHEA, nose) == expected

    def test_joined_predicates_lose_the_word_at_each(self) -> None:
        lag = step("lag", sides=True, subject="lid", subjects="lids", chart="not lagging")
        records = {**ALL_SAME, "lag": (same(),)}
        assert said(records, BROW, LID, MOUTH, lag) == (
            "Both sides: brows rising fully. Lids closing fully, resisting opening; not lagging. "
            "Mouth corners level."
        )

    def test_what_differs_on_both_sides_says_bilaterally_and_stands_first(self) -> None:
        records = {**TWO_SAME, "eardrum": (differs(findings=("red",)),)}
        assert said(records, BROW, LID, EARDRUM) == (
            "Eardrums red and bulging bilaterally. "
            "Both sides: brows rising fully. Lids closing fully, resisting opening."
        )

    @pytest.mark.parametrize(
        ("result", "expected"),
        [
            (same("left"), "Left mouth corner level (right not recorded)."),
            (same(detail="dry"), "Mouth corners level bilaterally: dry."),
        ],
    )
    def test_one_side_and_own_words_stay_outside(self, result: Result, expected: str) -> None:
        assert said({**ALL_SAME, "mouth": (result,)}, MOUTH, BROW, LID) == (
            f"{expected} Both sides: brows rising fully. Lids closing fully, resisting opening."
        )

    def test_a_late_entry_stays_outside_with_its_mark(self) -> None:
        script = Script(protocol_of(BROW, LID, MOUTH)).start()
        for step_id in ("brow", "lid"):
            script.record(step_id, same())
        script.finish()
        script.amend("mouth", same(), away=60, why="forgotten")
        found = region((BROW, LID, MOUTH), script.session.state.records)
        assert [each.text for each in found] == [
            "Mouth corners level bilaterally [late entry].",
            "Both sides: brows rising fully.",
            "Lids closing fully, resisting opening.",
        ]

    @pytest.mark.parametrize(
        ("chart", "expected"),
        [
            ("brisk in {side} eye", "Reflex brisk in right and left eye."),
            ("no pain on pressing {subject}", "No pain on pressing right and left reflex."),
        ],
    )
    def test_a_predicate_that_names_the_sides_itself_stays_outside(self, chart: str, expected: str) -> None:
        reflex = step("reflex", sides=True, subject="reflex", chart=chart)
        assert said({**TWO_SAME, "reflex": (same(),)}, BROW, LID, reflex) == (
            f"{expected} Both sides: brows rising fully. Lids closing fully, resisting opening."
        )

    def test_sites_of_both_sides_are_named_as_elsewhere(self) -> None:
        fields = step("fields", sides=True, sites=("above", "below"), subject="eyes", chart="seeing {site}")
        expected = "Both sides: brows rising fully. Eyes seeing above and below."
        assert said({"brow": (same(),), "fields": (same(),)}, BROW, fields) == expected
        some = (
            same("right/frontal", "left/frontal"),
            same("right/maxillary", "left/maxillary", detail="dull"),
        )
        assert said({"brow": (same(),), "sinus": some}, BROW, SINUS) == (
            "Sinuses not tender bilaterally (maxillary): dull. "
            "Both sides: brows rising fully. Sinuses not tender (frontal)."
        )


def test_a_step_without_chart_wording_is_named_by_its_title() -> None:
    bare = step("bare", title="Second look", technique="tell", expect="", findings={"half": "half done"})
    assert said({"bare": (same(),)}, bare) == "Second look – as expected."
    assert said({"bare": (differs(findings=("half",), detail="phone rang"),)}, bare) == (
        "Second look – half done: phone rang."
    )
    assert said({"bare": (differs(detail="phone rang"),)}, bare) == "Second look: phone rang."


class TestReadings:
    """A reading is said once, and what was to stand around it says no more than before."""

    PUPIL = step(
        "pupil",
        subject="pupil",
        chart="{reading}",
        reading=Reading(kind="pupil-size"),
        findings={"drops": "after drops, {reading}", "large": "large, {reading}", "bare": "{reading}"},
    )

    @pytest.mark.parametrize(
        ("findings", "expected"),
        [
            (("large",), "Pupil large, 4 mm."),
            (("drops", "large"), "Pupil after drops, 4 mm; large."),
            (("drops", "bare"), "Pupil after drops, 4 mm."),
        ],
    )
    def test_a_second_place_for_it_leaves_no_comma_behind(
        self, findings: tuple[str, ...], expected: str
    ) -> None:
        assert said({"pupil": (differs(findings=findings, reading="4"),)}, self.PUPIL) == expected
