"""Murmurs, pulses, oedema, venous pressure, refill and ankle-brachial index, against what is published."""

from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklist.measures import catalogue
from checklist.measures.reading import Fact, Facts, Meaning, OptionValue
from checklist.measures.vessels import ankle_brachial, pit_grade, vein_height_cm, water_to_mercury
from tests.measures.head import SWAP, compute, expected, holds_the_laws, measured, read, refusal, texts

KINDS = ("murmur-grade", "pulse-strength", "oedema-grade", "venous-pressure", "capillary-refill")


@pytest.mark.parametrize("kind", KINDS)
@given(text=texts("0123456789.,+-<>/ ivcmsabovelw thrilnog45"))
def test_any_text_is_read_or_refused_in_a_line(kind: str, text: str) -> None:
    holds_the_laws(kind, text)


@pytest.mark.parametrize("kind", KINDS)
def test_what_is_accepted_fits_its_line_and_nothing_clinical_lacks_a_source(kind: str) -> None:
    known = catalogue.KINDS[kind]
    assert len(known.accepts) <= 70
    assert all(option.source for option in known.options)


def together(kind: str, facts: Facts, **options: OptionValue) -> Meaning | None:
    known = catalogue.KINDS[kind]
    meaning = catalogue.together(known, facts, catalogue.options(known, options))
    assert meaning is None or set(meaning.classes) <= set(known.together)
    return meaning


def swapped(facts: Facts) -> Facts:
    return {(SWAP.get(side, side), site): fact for (side, site), fact in facts.items()}


def swapped_names(names: tuple[str, ...]) -> set[str]:
    return {"-".join(SWAP.get(part, part) for part in name.split("-")) for name in names}


# ------------------------------------------------------------------ murmurs

# Freeman and Levine 1933, as an encyclopedic copy quotes the grades (read): thrill from grade 4 on.
MURMURS = [
    ("1/6", 1, "special attention", "note"),
    ("2/6", 2, "faint but heard at once", "note"),
    ("3/6", 3, "loud, without a thrill", "report"),
    ("4/6", 4, "loud, with a thrill", "report"),
    ("5/6", 5, "rim of the stethoscope", "report"),
    ("6/6", 6, "lifted off the chest", "report"),
]


@pytest.mark.parametrize(("text", "grade", "said", "tell"), MURMURS)
def test_a_murmur_is_said_with_what_its_grade_means(text: str, grade: int, said: str, tell: str) -> None:
    meaning = read("murmur-grade", text)
    assert (meaning.text, meaning.figures, meaning.tell) == (text, {"murmur_grade": grade}, tell)
    assert meaning.words.startswith(f"murmur grade {grade} of 6 (Levine): ") and said in meaning.words
    assert (meaning.chart, meaning.classes, meaning.doubt) == (text, (f"grade-{grade}",), "")


@pytest.mark.parametrize("typed", ["3", "3/6", "iii", "III/VI", "grade 3", "3 of 6", "iii/vi"])
def test_a_murmur_grade_is_read_in_figures_and_roman_numerals(typed: str) -> None:
    assert read("murmur-grade", typed).text == "3/6"


@pytest.mark.parametrize(("numeral", "grade"), [("i", 1), ("ii", 2), ("iv", 4), ("v", 5), ("vi", 6)])
def test_each_roman_numeral_is_its_grade(numeral: str, grade: int) -> None:
    assert read("murmur-grade", numeral).figures == {"murmur_grade": grade}


@pytest.mark.parametrize("grade", range(1, 7))
def test_a_thrill_that_does_not_fit_the_grade_is_asked_about(grade: int) -> None:
    with_thrill = read("murmur-grade", f"{grade}/6 thrill")
    without = read("murmur-grade", f"{grade}/6 no thrill")
    assert bool(with_thrill.doubt) == (grade in (1, 2, 3))
    assert bool(without.doubt) == (grade in (4, 5, 6))
    assert with_thrill.classes == (f"grade-{grade}", "thrill")
    assert without.classes == (f"grade-{grade}",)
    assert without.chart == f"{grade}/6, no thrill"


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("0", "possible from 1 to 6"),
        ("7", "possible from 1 to 6"),
        ("vv", "possible from 1 to 6"),
        ("2/4", "type 1/6"),
        ("loud", "type 1/6"),
        ("", "type 1/6"),
        ("3 no", "type 1/6"),
    ],
)
def test_what_is_no_murmur_grade_is_refused_with_what_is(typed: str, said: str) -> None:
    assert said in refusal("murmur-grade", typed)


def test_a_protocol_may_report_every_murmur() -> None:
    assert read("murmur-grade", "1", report_from=1.0).tell == "report"


# ------------------------------------------------------------------ pulses

# Both scales: common practice, no source.
PULSES = [
    ("0-4", "0", "absent", "report"),
    ("0-4", "1+", "weak", "report"),
    ("0-4", "2+", "in-range", ""),
    ("0-4", "3+", "strong", "note"),
    ("0-4", "4+", "bounding", "note"),
    ("0-3", "0", "absent", "report"),
    ("0-3", "1+", "weak", "report"),
    ("0-3", "2+", "in-range", ""),
    ("0-3", "3+", "bounding", "note"),
]


@pytest.mark.parametrize(("scale", "text", "kind", "tell"), PULSES)
def test_a_pulse_means_what_its_scale_says(scale: str, text: str, kind: str, tell: str) -> None:
    meaning = read("pulse-strength", text, scale=scale)
    assert (meaning.text, meaning.classes, meaning.tell) == (text, (kind,), tell)
    assert meaning.chart == f"{text} on the {scale}+ scale" and f"on the {scale}+ scale" in meaning.words


@pytest.mark.parametrize("typed", ["2", "2+", "+2", "2/4", "2+/4+", "grade 2"])
def test_a_pulse_is_read_with_and_without_the_plus(typed: str) -> None:
    assert read("pulse-strength", typed).text == "2+"


@pytest.mark.parametrize(
    ("typed", "scale", "said"),
    [
        ("4+", "0-3", "from 0 to 3"),
        ("5", "0-4", "from 0 to 4"),
        ("2/3", "0-4", "graded on the 0-4+ scale"),
        ("2/4", "0-3", "graded on the 0-3+ scale"),
        ("weak", "0-4", "type 0, 1+"),
        ("", "0-4", "type 0, 1+"),
    ],
)
def test_a_pulse_of_another_scale_is_refused(typed: str, scale: str, said: str) -> None:
    assert said in refusal("pulse-strength", typed, scale=scale)


@given(texts("01234+/ grade"))
def test_any_text_on_the_shorter_scale_is_read_or_refused(text: str) -> None:
    holds_the_laws("pulse-strength", text, scale="0-3")


def sided(kind: str, right: str, left: str, site: str = "") -> Facts:
    return {("right", site): measured(kind, right), ("left", site): measured(kind, left)}


@pytest.mark.parametrize(
    ("right", "left", "classes", "tell"),
    [
        ("2+", "2+", ("same",), ""),
        ("0", "0", ("same",), ""),
        ("1+", "2+", ("right-weaker",), "report"),
        ("3+", "2+", ("left-weaker",), "report"),
    ],
)
def test_a_pulse_weaker_on_one_side_is_told(
    right: str, left: str, classes: tuple[str, ...], tell: str
) -> None:
    meaning = together("pulse-strength", sided("pulse-strength", right, left))
    assert meaning is not None
    assert (meaning.classes, meaning.tell) == (classes, tell)
    assert meaning.chart.startswith(f"right {right}, left {left} (0-4+ scale), ")


def test_pulses_are_compared_site_by_site() -> None:
    facts = {
        **sided("pulse-strength", "1+", "2+", "dorsalis-pedis"),
        **sided("pulse-strength", "2+", "0", "posterior-tibial"),
        ("right", "radial"): measured("pulse-strength", "0"),
    }
    meaning = together("pulse-strength", facts)
    assert meaning is not None
    assert meaning.classes == ("right-weaker", "left-weaker")
    assert meaning.chart == (
        "dorsalis pedis: right 1+, left 2+; posterior tibial: right 2+, left 0 (0-4+ scale), "
        "weaker on the right and at another site on the left"
    )


@pytest.mark.parametrize("kind", ["pulse-strength", "oedema-grade"])
def test_one_side_alone_or_without_a_grade_is_not_compared(kind: str) -> None:
    right = measured(kind, "1+")
    assert together(kind, {("right", ""): right}) is None
    assert together(kind, {("right", ""): right, ("left", ""): expected()}) is None
    assert together(kind, {("right", "wrist"): right, ("left", "foot"): right}) is None
    assert together(kind, {("", ""): right}) is None


@pytest.mark.parametrize("kind", ["pulse-strength", "oedema-grade"])
@given(st.integers(0, 4), st.integers(0, 4), st.integers(0, 4), st.integers(0, 4))
def test_sides_that_are_swapped_swap_what_is_said(kind: str, a: int, b: int, c: int, d: int) -> None:
    facts = {**sided(kind, str(a), str(b), "foot"), **sided(kind, str(c), str(d), "knee")}
    here, there = together(kind, facts), together(kind, swapped(facts))
    assert here is not None and there is not None
    assert swapped_names(here.classes) == set(there.classes) and here.tell == there.tell


# ------------------------------------------------------------------ oedema

# 2, 4, 6 and 8 mm: teaching texts, quoted second hand. A depth between has the nearer grade, half-way
# the higher, and any pit is 1+ at least: the rule of this kind.
PITS = [
    ("0 mm", 0),
    ("0.5 mm", 1),
    ("2 mm", 1),
    ("2.9 mm", 1),
    ("3 mm", 2),
    ("4 mm", 2),
    ("4.9 mm", 2),
    ("5 mm", 3),
    ("6 mm", 3),
    ("6.9 mm", 3),
    ("7 mm", 4),
    ("8 mm", 4),
    ("12 mm", 4),
]


@pytest.mark.parametrize(("text", "grade"), PITS)
def test_a_depth_has_the_nearest_grade(text: str, grade: int) -> None:
    meaning = read("oedema-grade", text)
    assert (meaning.text, meaning.figures) == (text, {"oedema_grade": grade})
    assert meaning.classes == ((f"grade-{grade}", "pitting") if grade else ("grade-0",))
    assert "by the nearest of 2, 4, 6, 8 mm" in meaning.words


@pytest.mark.parametrize(
    ("typed", "text", "tell"),
    [
        ("0", "0", ""),
        ("none", "0", ""),
        ("1", "1+", "note"),
        ("+2", "2+", "report"),
        ("3+/4", "3+", "report"),
        ("grade 4", "4+", "report"),
        ("0.4 cm", "4 mm", "report"),
        ("0,2 cm deep", "2 mm", "note"),
    ],
)
def test_oedema_is_read_as_a_grade_or_as_a_depth_with_its_unit(typed: str, text: str, tell: str) -> None:
    meaning = read("oedema-grade", typed)
    assert (meaning.text, meaning.tell) == (text, tell)
    assert "0-4+ scale" in meaning.words


def test_depths_of_another_text_are_used() -> None:
    # The other scheme, conflicting copies quoted second hand: 2, 3 to 4, 5 to 6, 8 mm and more.
    other = (2.0, 3.5, 5.5, 8.0)
    grades = [read("oedema-grade", f"{mm} mm", depths_mm=other).figures["oedema_grade"] for mm in range(2, 9)]
    assert grades == [1, 2, 2, 3, 3, 4, 4]


def test_a_scale_of_fewer_depths_has_fewer_grades() -> None:
    assert "from 0 to 2" in refusal("oedema-grade", "3+", depths_mm=(3.0, 6.0))
    assert read("oedema-grade", "30 mm", depths_mm=(3.0, 6.0)).figures == {"oedema_grade": 2}


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("5", "from 0 to 4"),
        ("50 mm", "from 0 to 40 mm"),
        ("3.5", "type 0 to 4+"),
        ("trace", "type 0 to 4+"),
        ("", "type 0 to 4+"),
    ],
)
def test_what_is_no_oedema_grade_is_refused_with_what_is(typed: str, said: str) -> None:
    assert said in refusal("oedema-grade", typed)


def test_a_very_deep_pit_is_asked_about() -> None:
    assert (read("oedema-grade", "15 mm").doubt, read("oedema-grade", "16 mm").doubt) == (
        "",
        "a pit of 16 mm is unusual",
    )


@given(st.floats(0, 40), st.floats(0, 40))
def test_a_deeper_pit_never_has_a_lower_grade(one: float, other: float) -> None:
    shallow, deep = sorted((one, other))
    assert pit_grade(shallow, [2, 4, 6, 8]) <= pit_grade(deep, [2, 4, 6, 8])


@pytest.mark.parametrize(
    ("right", "left", "classes", "tell"),
    [
        ("0", "0", ("none",), ""),
        ("2+", "2+", ("same",), ""),
        ("2+", "4 mm", ("same",), ""),
        ("2+", "0", ("right-more", "right-only"), "report"),
        ("0", "1+", ("left-more", "left-only"), "report"),
        ("3+", "1+", ("right-more",), "report"),
        ("1+", "2+", ("left-more",), "report"),
    ],
)
def test_oedema_of_one_side_is_told(right: str, left: str, classes: tuple[str, ...], tell: str) -> None:
    meaning = together("oedema-grade", sided("oedema-grade", right, left))
    assert meaning is not None
    assert (meaning.classes, meaning.tell) == (classes, tell)
    assert "right" in meaning.words and "0-4+ scale" in meaning.chart


# ------------------------------------------------------------------ venous pressure

# Heart Fail Clin 2017;13:427-444, table 5 (read): cases with a depth of 5 cm, 0 above is 5 and 2 below is 3.
# 3 above is 8 cm of water, and 8 cm is 5.9 mmHg: teaching texts, quoted second hand.
VENOUS = [
    ("0", "0 cm", 5, "in-range"),
    ("-2", "-2 cm", 3, "below-the-angle"),
    ("2 below", "-2 cm", 3, "below-the-angle"),
    ("2 cm below the sternal angle", "-2 cm", 3, "below-the-angle"),
    ("3", "3 cm", 8, "in-range"),
    ("3 cm above", "3 cm", 8, "in-range"),
    ("+3 cm", "3 cm", 8, "in-range"),
    ("3,1", "3.1 cm", 8.1, "above"),
    ("-0.1", "-0.1 cm", 4.9, "below-the-angle"),
    ("0 below", "0 cm", 5, "in-range"),
]


@pytest.mark.parametrize(("typed", "text", "water", "kind"), VENOUS)
def test_a_height_gives_the_pressure_by_a_fixed_depth_of_5_cm(
    typed: str, text: str, water: float, kind: str
) -> None:
    meaning = read("venous-pressure", typed)
    assert (meaning.text, meaning.classes) == (text, (kind,))
    assert meaning.figures["venous_pressure_cm_water"] == pytest.approx(water)
    assert "sternal angle" in meaning.chart


def test_words_give_water_and_mercury_with_the_depth_that_was_added() -> None:
    assert read("venous-pressure", "3").words == (
        "3 cm above the sternal angle; about 8 cm H2O (5 added by a fixed depth), 5.9 mmHg"
    )
    assert water_to_mercury(1.36) == pytest.approx(1)


def test_another_depth_is_added_where_a_protocol_says_so() -> None:
    # The same table, cases 2 and 3: 10 + 10 = 20 and 8 + 7 = 15.
    assert read("venous-pressure", "10", add_cm=10.0).figures["venous_pressure_cm_water"] == 20
    assert read("venous-pressure", "7", add_cm=8.0).figures["venous_pressure_cm_water"] == 15


@pytest.mark.parametrize(("limit", "tell"), [(3.0, "report"), (4.0, ""), (5.0, "")])
def test_the_upper_limit_is_that_of_the_text_that_is_followed(limit: float, tell: str) -> None:
    meaning = read("venous-pressure", "4", upper_limit_cm=limit)
    assert meaning.tell == tell
    assert all(f"above {limit:g} cm over" in remark.text for remark in meaning.remarks)


@pytest.mark.parametrize(
    ("degrees", "share"), [(30, 1 / 2), (45, sqrt(2) / 2), (60, sqrt(3) / 2), (90, 1.0), (0, 0.0)]
)
def test_a_length_along_the_vein_is_taken_by_the_sine(degrees: int, share: float) -> None:
    assert vein_height_cm(8, degrees) == pytest.approx(8 * share)


@pytest.mark.parametrize(
    ("typed", "text", "height", "kind"),
    [
        ("4 cm along 45", "4 cm along 45", 2.8, "in-range"),  # 4 / sqrt 2 = 2.83
        ("4 along 45 deg", "4 cm along 45", 2.8, "in-range"),
        ("6 along 30", "6 cm along 30", 3.0, "in-range"),
        ("6.2 along at 30 degrees", "6.2 cm along 30", 3.1, "above"),
        ("10 cm along 90", "10 cm along 90", 10.0, "above"),
    ],
)
def test_a_length_is_said_with_its_angle_and_height(typed: str, text: str, height: float, kind: str) -> None:
    meaning = read("venous-pressure", typed)
    assert (meaning.text, meaning.classes) == (text, (kind,))
    assert meaning.figures["venous_height_cm"] == height
    assert "cm along the vein at" in meaning.words and text in meaning.chart
    assert len(meaning.words) <= 140


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("31", "from -15 to 30 cm"),
        ("-16", "from -15 to 30 cm"),
        ("4 along 5", "from 10 to 90 degrees"),
        ("4 along 95", "from 10 to 90 degrees"),
        ("41 along 45", "from 0 to 40 cm"),
        ("-2 below", "not both"),
        ("3 mmhg", "type cm above"),
        ("raised", "type cm above"),
        ("", "type cm above"),
    ],
)
def test_what_is_no_venous_pressure_is_refused_with_what_is(typed: str, said: str) -> None:
    assert said in refusal("venous-pressure", typed)


@pytest.mark.parametrize(("typed", "asks"), [("-6", True), ("-5", False), ("15", False), ("16", True)])
def test_an_unlikely_height_is_asked_about(typed: str, asks: bool) -> None:
    assert bool(read("venous-pressure", typed).doubt) == asks


@given(st.integers(-150, 300), st.integers(-150, 300))
def test_a_higher_vein_never_has_a_lower_class(one: int, other: int) -> None:
    order = ["below-the-angle", "in-range", "above"]
    low, high = (
        order.index(read("venous-pressure", f"{each / 10}").classes[0]) for each in sorted((one, other))
    )
    assert low <= high


@given(st.integers(0, 400), st.integers(10, 90))
def test_a_length_along_the_vein_is_read_where_its_height_is_possible(tenths: int, degrees: int) -> None:
    if holds_the_laws("venous-pressure", f"{tenths / 10} along {degrees}"):
        height = read("venous-pressure", f"{tenths / 10} along {degrees}").figures["venous_height_cm"]
        assert 0 <= height <= tenths / 10


# ------------------------------------------------------------------ capillary refill


def test_a_source_that_is_common_practice_is_not_followed_by_the_same_for_how_fast_it_is_told() -> None:
    (remark,) = read("capillary-refill", "4 s").remarks
    assert remark.source.startswith("common practice; ")
    assert "told:" not in remark.source


REFILLS = [
    # Common practice; Schriger and Baraff, Ann Emerg Med 1988;17:932-935, abstract read: 4 in 100 healthy
    # children and adult men exceed 2 s.
    (2.0, "2 s", "in-range"),
    (2.0, "2.01 s", "slow"),
    (2.0, "1.4 s", "in-range"),
    # The same: 95 of 100 healthy women are within 2.9 s, and elderly within 4.5 s.
    (2.9, "2.9 s", "in-range"),
    (2.9, "3 s", "slow"),
    (4.5, "4.5 s", "in-range"),
    (4.5, "4.6 s", "slow"),
]


@pytest.mark.parametrize(("limit", "text", "kind"), REFILLS)
def test_a_time_at_the_limit_is_within_it(limit: float, text: str, kind: str) -> None:
    meaning = read("capillary-refill", text, limit_s=limit)
    assert (meaning.text, meaning.classes) == (text, (kind,))
    assert meaning.tell == ("report" if kind == "slow" else "")
    assert f"limit {limit:g} s" in meaning.words


@pytest.mark.parametrize(
    ("typed", "text", "kind"),
    [
        ("1.4", "1.4 s", "in-range"),
        ("1,4 sec", "1.4 s", "in-range"),
        ("3 seconds", "3 s", "slow"),
        ("<2", "<2 s", "in-range"),
        ("< 1.5 s", "<1.5 s", "in-range"),
        (">2", ">2 s", "slow"),
        ("> 4 s", ">4 s", "slow"),
    ],
)
def test_a_refill_is_read_as_a_time_or_as_a_bound(typed: str, text: str, kind: str) -> None:
    meaning = read("capillary-refill", typed)
    assert (meaning.text, meaning.classes) == (text, (kind,))
    assert meaning.chart == text


def test_a_bound_gives_no_figure_to_compute_with() -> None:
    assert read("capillary-refill", "<2").figures == {}
    assert read("capillary-refill", "1.4 s").figures == {"refill_seconds": 1.4}


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("<3", "<3 does not tell on which side of 2 s"),
        (">1", ">1 does not tell on which side of 2 s"),
        ("<0", "does not tell"),
        ("61", "from 0 to 60 s"),
        ("brisk", "type seconds"),
        ("", "type seconds"),
    ],
)
def test_what_does_not_tell_the_time_is_refused(typed: str, said: str) -> None:
    assert said in refusal("capillary-refill", typed)


@pytest.mark.parametrize(("typed", "asks"), [("0 s", True), ("0.1 s", False), ("10", False), ("10.1", True)])
def test_an_unlikely_time_is_asked_about(typed: str, asks: bool) -> None:
    assert bool(read("capillary-refill", typed).doubt) == asks


def test_a_stop_watch_can_take_it_and_the_limits_by_sex_and_age_are_named() -> None:
    kind = catalogue.KINDS["capillary-refill"]
    assert kind.timing == "seconds"
    (about,) = [option.about for option in kind.options if option.name == "limit_s"]
    assert "2.9" in about and "4.5" in about


# ------------------------------------------------------------------ ankle-brachial index


def pressure(systolic: float) -> Fact:
    figures = {"systolic_mmhg": systolic}
    return Fact(is_expected=True, meaning=Meaning(text="", words="", chart="", figures=figures))


def legs(
    right: tuple[float, float], left: tuple[float, float], arms: tuple[float, float]
) -> dict[str, Facts]:
    sites = ("dorsalis-pedis", "posterior-tibial")
    return {
        "arms": {("right", ""): pressure(arms[0]), ("left", ""): pressure(arms[1])},
        "ankles": {
            **{("right", site): pressure(value) for site, value in zip(sites, right, strict=True)},
            **{("left", site): pressure(value) for site, value in zip(sites, left, strict=True)},
        },
    }


def index(inputs: dict[str, Facts], **options: OptionValue) -> Meaning:
    meaning = compute("ankle-brachial-index", inputs, **options)
    assert meaning is not None
    return meaning


@pytest.mark.parametrize(
    ("ankle", "arm", "ratio"),
    [
        (110, 138, 0.80),  # a worked example of a handbook, quoted second hand
        (113, 125, 0.90),  # 0.904
        (453, 500, 0.91),  # 0.906
        (181, 200, 0.91),  # 0.905, a half goes up
        (1, 1, 1.00),
    ],
)
def test_the_index_is_a_ratio_to_two_decimals(ankle: float, arm: float, ratio: float) -> None:
    assert ankle_brachial(ankle, arm) == ratio


# 2016 AHA/ACC guideline on peripheral artery disease (read); the lowest band: Oxford American Handbook of
# Cardiology, quoted second hand. How fast each is told: common practice, no source.
BANDS = [
    (141, 1.41, ("noncompressible",), "report"),
    (140, 1.40, ("in-range",), ""),
    (100, 1.00, ("in-range",), ""),
    (99, 0.99, ("borderline",), "note"),
    (91, 0.91, ("borderline",), "note"),
    (90, 0.90, ("below",), "report"),
    (40, 0.40, ("below",), "report"),
    (39, 0.39, ("below", "severe"), "urgent"),
    (0, 0.00, ("below", "severe"), "urgent"),
    # The same guideline records the index to two decimals; that number is classed.
    (140.4, 1.40, ("in-range",), ""),
    (140.5, 1.41, ("noncompressible",), "report"),
    (99.5, 1.00, ("in-range",), ""),
    (90.4, 0.90, ("below",), "report"),
    (90.6, 0.91, ("borderline",), "note"),
    (39.5, 0.40, ("below",), "report"),
]


@pytest.mark.parametrize(("ankle", "ratio", "kinds", "tell"), BANDS)
def test_each_band_has_its_limits(ankle: float, ratio: float, kinds: tuple[str, ...], tell: str) -> None:
    meaning = index(legs((ankle, 0), (120, 0), (100, 100)))
    assert meaning.figures == {"right_ankle_brachial_index": ratio, "left_ankle_brachial_index": 1.2}
    assert meaning.classes == (*(f"right-{kind}" for kind in kinds), "left-in-range")
    assert meaning.tell == tell
    assert all(remark.text.startswith("right index") and remark.source for remark in meaning.remarks)


def test_each_leg_has_its_higher_ankle_artery_over_the_higher_arm_and_shows_both() -> None:
    meaning = index(legs((96, 110), (140, 128), (138, 130)))
    assert meaning.words == (
        "ankle-brachial index: right 110/138 = 0.80 (posterior tibial); "
        "left 140/138 = 1.01 (dorsalis pedis); arm 138 mmHg"
    )
    assert meaning.chart == (
        "ankle-brachial index right 0.80 (110/138 mmHg, posterior tibial); "
        "left 1.01 (140/138 mmHg, dorsalis pedis)"
    )
    assert meaning.classes == ("right-below", "left-in-range")
    (remark,) = meaning.remarks
    assert remark.text == "right index below 0.91"


def test_what_was_not_measured_is_said() -> None:
    arms: Facts = {("right", ""): pressure(138), ("left", ""): expected()}
    ankles: Facts = {("left", "dorsalis-pedis"): pressure(110), ("right", "dorsalis-pedis"): expected()}
    meaning = index({"arms": arms, "ankles": ankles})
    assert meaning.classes == ("left-below",)
    assert "left 110/138 = 0.80 (dorsalis pedis, only artery measured)" in meaning.words
    assert meaning.words.endswith(", only the right arm measured")
    assert meaning.chart.endswith("only artery measured), only the right arm measured")


def test_a_leg_without_side_or_artery_has_an_index_without_a_side() -> None:
    meaning = index({"arms": {("left", ""): pressure(120)}, "ankles": {("", ""): pressure(120)}})
    assert (meaning.classes, meaning.figures) == (("in-range",), {"ankle_brachial_index": 1.0})
    assert "120/120 = 1.00 (artery not named, only artery measured)" in meaning.words


def test_equal_arteries_are_both_named() -> None:
    assert "(dorsalis pedis and posterior tibial)" in index(legs((120, 120), (120, 99), (120, 120))).words


@pytest.mark.parametrize("missing", ["arms", "ankles"])
@pytest.mark.parametrize("left", [{}, {("right", ""): Fact(is_expected=True)}])
def test_without_an_arm_or_an_ankle_there_is_no_index(missing: str, left: Facts) -> None:
    assert compute("ankle-brachial-index", {**legs((99, 99), (99, 99), (99, 99)), missing: left}) is None


def test_an_arm_without_pressure_gives_no_index() -> None:
    assert compute("ankle-brachial-index", legs((99, 99), (99, 99), (0, 0))) is None


def test_readings_of_pressure_are_what_it_takes() -> None:
    inputs: dict[str, Facts] = {
        "arms": {("right", ""): measured("blood-pressure", "138/80")},
        "ankles": {("right", "posterior-tibial"): measured("systolic-pressure", "110")},
    }
    assert index(inputs).figures == {"right_ankle_brachial_index": 0.80}


def test_an_older_limit_may_be_set() -> None:
    # Older charts have 1.30 as the upper limit.
    inputs = legs((131, 99), (130, 99), (100, 100))
    meaning = index(inputs, noncompressible_above=1.30)
    assert meaning.classes == ("right-noncompressible", "left-in-range")
    assert meaning.remarks[0].source.startswith("as set")


PRESSURES = st.tuples(st.integers(20, 300), st.integers(20, 300))


@given(PRESSURES, PRESSURES, PRESSURES)
def test_swapping_the_sides_swaps_the_index(
    right: tuple[int, int], left: tuple[int, int], arms: tuple[int, int]
) -> None:
    here, there = index(legs(right, left, arms)), index(legs(left, right, (arms[1], arms[0])))
    assert swapped_names(here.classes) == set(there.classes)
    assert here.figures["right_ankle_brachial_index"] == there.figures["left_ankle_brachial_index"]
    assert here.tell == there.tell


@given(st.integers(20, 300), st.integers(20, 300), st.integers(60, 250))
def test_a_higher_ankle_pressure_never_has_a_lower_band(one: int, other: int, arm: int) -> None:
    order = ["severe", "below", "borderline", "in-range", "noncompressible"]
    low, high = (
        order.index(index(legs((each, 0), (arm, 0), (arm, arm))).classes[:-1][-1].removeprefix("right-"))
        for each in sorted((one, other))
    )
    assert low <= high


def test_a_height_may_name_the_angle_at_which_it_was_seen() -> None:
    meaning = read("venous-pressure", "3 cm at 45")
    assert (meaning.text, meaning.classes) == ("3 cm at 45", ("in-range",))
    assert meaning.words.startswith("head up 45 degrees: 3 cm above the sternal angle")
    assert meaning.chart.startswith("3 cm above the sternal angle (3 cm at 45)")
    assert read("venous-pressure", "3 cm at 45") == read("venous-pressure", "3 above at 45 deg")
