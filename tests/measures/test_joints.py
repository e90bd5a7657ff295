"""Joints and feet: a range beside its textbook value, and the sites where a monofilament is felt."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklist.measures import catalogue
from checklist.measures.joints import MOTIONS, is_felt
from checklist.measures.reading import Facts, Meaning, OptionValue
from tests.measures.head import SWAP, found, holds_the_laws, measured, read, refusal, texts

# Full range in degrees, and the least of the AMA. Upper limb: AAOS and AMA columns of the appendix of a
# goniometry textbook, table A.1, read. Trunk: quoted second hand. Neck, hip, knee, ankle and foot: AAOS
# 1965 and AMA, from memory.
REFERENCES: dict[str, tuple[float, float | None]] = {
    "shoulder-flexion": (180, 180),
    "shoulder-extension": (60, 50),
    "shoulder-abduction": (180, 170),
    "shoulder-internal-rotation": (70, 80),
    "shoulder-external-rotation": (90, 60),
    "elbow-flexion": (150, 140),
    "elbow-extension": (0, 0),
    "forearm-pronation": (80, 80),
    "forearm-supination": (80, 80),
    "wrist-flexion": (80, 60),
    "wrist-extension": (70, 60),
    "wrist-radial-deviation": (20, 20),
    "wrist-ulnar-deviation": (30, 30),
    "trunk-flexion": (80, 60),
    "trunk-extension": (25, 25),
    "trunk-side-bend": (35, 25),
    "trunk-rotation": (45, 30),
    "neck-flexion": (45, 50),
    "neck-extension": (45, 60),
    "neck-side-bend": (45, 45),
    "neck-rotation": (60, 80),
    "hip-flexion": (120, None),
    "hip-extension": (30, None),
    "hip-abduction": (45, None),
    "hip-adduction": (30, None),
    "hip-internal-rotation": (45, None),
    "hip-external-rotation": (45, None),
    "knee-flexion": (135, None),
    "knee-extension": (0, None),
    "ankle-dorsiflexion": (20, None),
    "ankle-plantarflexion": (50, None),
    "foot-inversion": (35, None),
    "foot-eversion": (15, None),
}


def test_every_motion_has_its_printed_reference() -> None:
    assert {name: (motion.full, motion.ama) for name, motion in MOTIONS.items()} == REFERENCES


def test_every_motion_that_a_protocol_may_choose_has_a_reference() -> None:
    (option,) = (each for each in catalogue.KINDS["joint-range"].options if each.name == "motion")
    assert set(option.choices) == {"", *REFERENCES}


@pytest.mark.parametrize("motion", REFERENCES)
def test_full_is_at_the_textbook_value_and_a_degree_less_or_more_is_not(motion: str) -> None:
    full, _ = REFERENCES[motion]
    steps = {full - 1: "less-than-full", full: "full", full + 1: "beyond"}
    for degrees, said in steps.items():
        meaning = read("joint-range", f"{degrees:g}", motion=motion)
        assert meaning.classes[0] == said and meaning.tell == "" and meaning.doubt == ""
        assert meaning.remarks[0].text == f"textbook full {full:g} degrees"


def test_a_range_names_its_textbook_value_and_how_sure_that_is_and_tells_nothing() -> None:
    meaning = read("joint-range", "40", motion="neck-rotation")
    assert meaning.words == (
        "to 40 degrees; textbook full 60 degrees (AAOS 1965, from memory; later editions by age)"
    )
    assert meaning.chart == "40 degrees; textbook full 60 degrees"
    assert [remark.text for remark in meaning.remarks] == [
        "textbook full 60 degrees",
        "another reference: full from 80 degrees",
    ]
    assert meaning.tell == ""
    assert read("joint-range", "40", motion="trunk-rotation").remarks[0].source == "AAOS, quoted second hand"
    assert read("joint-range", "40", motion="hip-flexion").remarks[0].source == "AAOS 1965, from memory"


@pytest.mark.parametrize(
    ("typed", "text", "start", "end"),
    [
        ("60", "60", 0, 60),
        ("60°", "60", 0, 60),
        ("60 deg", "60", 0, 60),
        ("62,5 degrees", "62.5", 0, 62.5),
        ("-10", "-10", 0, -10),
        ("\u221210", "-10", 0, -10),
        ("0-120", "0-120", 0, 120),
        ("0 - 120", "0-120", 0, 120),
        ("0 to 120 degrees", "0-120", 0, 120),
        ("10\u2013120", "10-120", 10, 120),
        ("10°-120°", "10-120", 10, 120),
        ("30-30", "30-30", 30, 30),
        # Through neutral, as the neutral-zero way of writing has it: common practice, no source.
        ("5-0-130", "5-0-130", -5, 130),
        ("0-10-120", "10-120", 10, 120),
        ("0-0-120", "0-120", 0, 120),
    ],
)
def test_ranges_are_read_by_their_ends(typed: str, text: str, start: float, end: float) -> None:
    meaning = read("joint-range", typed, motion="knee-flexion")
    assert meaning.text == text
    assert meaning.figures == {"from_degrees": start, "to_degrees": end, "arc_degrees": end - start}


def test_a_range_short_of_neutral_is_a_lack_of_the_opposite_motion_and_not_full() -> None:
    elbow = read("joint-range", "10-150", motion="elbow-flexion")
    assert elbow.chart.startswith("from 10 to 150 degrees, a lack of 10 degrees of extension")
    assert elbow.classes == ("less-than-full", "short-of-neutral")
    foot = read("joint-range", "5-50", motion="ankle-plantarflexion")
    assert "a lack of 5 degrees of dorsiflexion" in foot.words
    assert "a lack of 5 degrees to neutral" in read("joint-range", "5-40", motion="hip-abduction").words
    straight = read("joint-range", "-10", motion="knee-extension")
    assert straight.chart.startswith("10 degrees short of neutral")
    assert straight.classes == ("less-than-full", "short-of-neutral")
    assert read("joint-range", "0-150", motion="elbow-flexion").classes == ("full",)
    assert read("joint-range", "5-0-150", motion="elbow-flexion").classes == ("full",)


def test_a_motion_without_a_reference_is_measured_and_compared_with_nothing() -> None:
    meaning = read("joint-range", "35")
    assert (meaning.words, meaning.classes, meaning.remarks) == ("to 35 degrees", ("no-reference",), ())


def test_a_protocol_may_give_its_own_full_range_and_is_its_source() -> None:
    meaning = read("joint-range", "40", full_degrees=40.0, motion="neck-rotation")
    assert meaning.classes == ("full",)
    (remark,) = meaning.remarks
    assert (remark.text, remark.source) == ("full 40 degrees", "as set")


@pytest.mark.parametrize(
    ("typed", "share", "tell"),
    [
        ("0", 0.0, ""),
        ("-10", 0.0, ""),
        ("30", 50.0, ""),
        ("29.9", 50.0, "report"),
        ("10-39.9", 50.0, "report"),
        ("10-40", 50.0, ""),
        ("60", 100.0, ""),
    ],
)
def test_a_small_share_of_full_is_told_only_when_a_protocol_asks(typed: str, share: float, tell: str) -> None:
    assert read("joint-range", typed, motion="neck-rotation", report_below_percent=share).tell == tell


def test_a_told_share_names_its_limit() -> None:
    remark = read("joint-range", "20", motion="neck-rotation", report_below_percent=50.0).remarks[0]
    assert (remark.text, remark.source) == ("below 50 % of 60 degrees", "as set")


@pytest.mark.parametrize(
    ("typed", "doubt"),
    [
        ("165", ""),
        ("165.1", "165.1 degrees, with 135 for full, is unusual"),
        ("30-0-135", ""),
        ("31-0-135", "31 degrees past neutral is unusual"),
    ],
)
def test_ranges_far_beyond_full_are_asked_about(typed: str, doubt: str) -> None:
    assert read("joint-range", typed, motion="knee-flexion").doubt == doubt


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("", "type degrees"),
        ("stiff", "type degrees"),
        ("201", "from -90 to 200 degrees"),
        ("-91", "from -90 to 200 degrees"),
        ("0-201", "from 0 to 200 degrees"),
        ("120-10", "the smaller angle comes first"),
        # Some write a lack and some an excess with a minus: which one is asked for.
        ("-5-130", "10-120 short of neutral; 5-0-130 past it"),
        ("5-10-130", "5-0-130 or 0-10-120"),
    ],
)
def test_what_is_no_range_is_refused_with_what_is(typed: str, said: str) -> None:
    assert said in refusal("joint-range", typed)


def sides(right: str, left: str, site: str = "") -> Facts:
    return {("right", site): measured("joint-range", right), ("left", site): measured("joint-range", left)}


def compared(facts: Facts, **options: OptionValue) -> Meaning | None:
    kind = catalogue.KINDS["joint-range"]
    meaning = catalogue.together(kind, facts, catalogue.options(kind, options, "as set"))
    assert meaning is None or set(meaning.classes) <= set(kind.together)
    return meaning


@pytest.mark.parametrize(
    ("right", "left", "said", "tell"),
    [
        # 10 degrees apart: common practice, no source.
        ("60", "60", "alike", ""),
        ("60", "50.1", "alike", ""),
        ("60", "50", "less-left", "note"),
        ("10-120", "120", "less-right", "note"),
        ("5-0-130", "130", "alike", ""),
        ("-5", "5", "less-right", "note"),
    ],
)
def test_sides_are_told_apart_from_10_degrees_on(right: str, left: str, said: str, tell: str) -> None:
    meaning = compared(sides(right, left))
    assert meaning is not None
    assert (meaning.classes, meaning.tell, meaning.text) == ((said,), tell, "")


def test_sides_are_compared_site_by_site_and_shown() -> None:
    meaning = compared({**sides("60", "30", "neck"), **sides("100", "140", "knee")})
    assert meaning is not None
    assert meaning.classes == ("less-left", "less-right")
    assert meaning.words == (
        "neck: right 60, left 30 degrees in all, less on the left by 30; "
        "knee: right 100, left 140 degrees in all, less on the right by 40"
    )


def test_a_side_that_was_not_measured_is_not_compared() -> None:
    one = ("right", ""), measured("joint-range", "60")
    assert compared(dict([one])) is None
    assert compared(dict([one, (("left", ""), found("painful"))])) is None
    assert compared(dict([one, (("left", "knee"), measured("joint-range", "60"))])) is None


@given(st.integers(-90, 200), st.integers(-90, 200), st.integers(1, 90))
def test_swapped_sides_swap_the_side_that_moves_less(right: int, left: int, apart: int) -> None:
    here = compared(sides(str(right), str(left)), sides_apart=float(apart))
    there = compared(sides(str(left), str(right)), sides_apart=float(apart))
    assert here is not None and there is not None
    mirrored = tuple(f"less-{SWAP[each[5:]]}" if each.startswith("less-") else each for each in here.classes)
    assert there.classes == mirrored and there.tell == here.tell
    assert (here.classes == ("alike",)) == (abs(right - left) < apart)


@given(st.sampled_from(sorted(REFERENCES)), st.integers(-90, 200), st.integers(-90, 200))
def test_a_larger_range_is_never_in_a_lower_class(motion: str, one: int, other: int) -> None:
    scale = ("less-than-full", "full", "beyond")
    read_ones = (read("joint-range", str(each), motion=motion) for each in sorted((one, other)))
    places = [scale.index(each.classes[0]) for each in read_ones]
    assert places == sorted(places)


@given(st.integers(0, 900), st.integers(0, 2000), st.sampled_from(["", *REFERENCES]))
def test_ranges_come_back_as_they_were_typed(start: int, end: int, motion: str) -> None:
    assert holds_the_laws("joint-range", f"{start / 10}-{end / 10}", motion=motion) == (start <= end)
    assert holds_the_laws("joint-range", f"{start / 10}-0-{end / 10}", motion=motion)
    assert holds_the_laws("joint-range", f"-{start / 10}", motion=motion)


@given(texts("0123456789 .,-degrsto°"))
def test_any_text_is_read_as_a_range_or_refused(text: str) -> None:
    holds_the_laws("joint-range", text)
    holds_the_laws("joint-range", text, motion="elbow-flexion", report_below_percent=60.0)


# Two touches and one sham; present with 2 of 3 right, absent with 2 of 3 wrong: IWGDF guideline, quoted
# second hand. All eight triples.
TRIPLES = {
    "yyy": True,
    "yyn": True,
    "yny": True,
    "nyy": True,
    "ynn": False,
    "nyn": False,
    "nny": False,
    "nnn": False,
}


@pytest.mark.parametrize(("answers", "felt"), TRIPLES.items())
def test_a_site_is_felt_with_two_of_three_right(answers: str, felt: bool) -> None:
    assert is_felt(answers) == felt
    meaning = read("monofilament", f"yyy {answers} yyy")
    assert meaning.figures == {"sites_felt": 2 + felt, "sites_tested": 3}
    assert meaning.classes == (("felt-at-all",) if felt else ("not-felt-somewhere",))
    assert meaning.tell == ("" if felt else "report")
    assert ("not at: first metatarsal head" in meaning.chart) != felt


@pytest.mark.parametrize("answers", TRIPLES)
def test_a_protocol_may_ask_for_all_three_right(answers: str) -> None:
    meaning = read("monofilament", f"yyy yyy {answers}", right_needed=3.0)
    assert (meaning.classes == ("felt-at-all",)) == (answers == "yyy")


@pytest.mark.parametrize(
    ("typed", "text", "classes", "tell"),
    [
        ("3/3", "3/3", ("felt-at-all",), ""),
        ("3 of 3 sites felt", "3/3", ("felt-at-all",), ""),
        ("2/3", "2/3", ("not-felt-somewhere",), "report"),
        ("0/3", "0/3", ("not-felt-somewhere",), "report"),
        ("2/2", "2/2", ("sites-missing",), "note"),
        ("1/2", "1/2", ("not-felt-somewhere", "sites-missing"), "report"),
        ("YYN, YYY, YNY", "yyn yyy yny", ("felt-at-all",), ""),
        ("yyy - yyy", "yyy - yyy", ("sites-missing",), "note"),
        ("nnn - yyy", "nnn - yyy", ("not-felt-somewhere", "sites-missing"), "report"),
    ],
)
def test_sites_felt_are_counted_and_felt_at_all_needs_all_of_them(
    typed: str, text: str, classes: tuple[str, ...], tell: str
) -> None:
    meaning = read("monofilament", typed)
    assert (meaning.text, meaning.classes, meaning.tell) == (text, classes, tell)


def test_a_site_not_felt_names_the_rule_and_its_source() -> None:
    (remark,) = read("monofilament", "nny yyy yyy").remarks
    assert remark.text == "not felt at 1 of 3 sites (felt from 2 of 3 right answers on)"
    assert remark.source == "IWGDF guideline, quoted second hand"
    assert read("monofilament", "nny yyy nnn").words == (
        "10 gram monofilament felt at 1 of 3 sites, not at: great toe, fifth metatarsal head"
    )


@pytest.mark.parametrize(
    "typed", ["", "4/3", "3/4", "0/0", "yyy", "yyy yyy", "yy yyy yyy", "- - -", "y-y yyy n"]
)
def test_what_is_no_answer_for_each_site_is_refused_with_what_is(typed: str) -> None:
    assert refusal("monofilament", typed) == (
        "type sites felt of 3, such as 3/3; or answers, y right, n wrong: yyn yyy yny"
    )


def test_a_protocol_may_name_other_sites() -> None:
    meaning = read("monofilament", "yyy nnn", sites=("great toe", "heel"))
    assert "not at: heel" in meaning.words
    assert "felt of 2" in refusal("monofilament", "3/3", sites=("great toe", "heel"))


@given(st.lists(st.sampled_from([*TRIPLES, "-"]), min_size=3, max_size=3))
def test_answers_come_back_as_they_were_typed(answers: list[str]) -> None:
    tested = [each for each in answers if each != "-"]
    assert holds_the_laws("monofilament", " ".join(answers)) == bool(tested)
    if tested:
        felt = sum(TRIPLES[each] for each in tested)
        figures = read("monofilament", ",".join(answers)).figures
        assert figures == {"sites_felt": felt, "sites_tested": len(tested)}


@given(st.lists(st.sampled_from(sorted(TRIPLES)), min_size=3, max_size=3), st.integers(0, 8))
def test_a_further_right_answer_never_loses_a_site(answers: list[str], place: int) -> None:
    joined = "".join(answers)
    better = joined[:place] + "y" + joined[place + 1 :]
    sites = [" ".join(each[at : at + 3] for at in (0, 3, 6)) for each in (joined, better)]
    before, after = (read("monofilament", each).figures["sites_felt"] for each in sites)
    assert before <= after


@given(texts("0123/yn- ,✓✗"))
def test_any_text_is_read_as_sites_felt_or_refused(text: str) -> None:
    holds_the_laws("monofilament", text)
