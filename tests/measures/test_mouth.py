"""Mouth and jaw: tonsil grades and their limits, and how far the jaw opens."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklist.measures import catalogue
from checklist.measures.mouth import grade_of, occlusion_percent
from checklist.measures.reading import Facts, Meaning
from tests.measures.head import found, holds_the_laws, measured, read, refusal, texts

# Brodsky 1989 as an algorithm collection quotes it (read): occlusion = (pillars - gap) / pillars x 100;
# 1+ up to 24.9 %, 2+ 25 to 49.9 %, 3+ 50 to 75 %, 4+ above 75 %. The rows on a limit are the rule itself.
WIDTHS = [
    ("28/28 mm", 0.0, "0"),
    ("22/28 mm", 600 / 28, "1+"),
    ("30.1/40 mm", 24.75, "1+"),
    ("30/40 mm", 25.0, "2+"),
    ("20.1/40 mm", 49.75, "2+"),
    ("20/40 mm", 50.0, "3+"),
    ("8/28 mm", 2000 / 28, "3+"),
    ("10/40 mm", 75.0, "3+"),
    ("9.9/40 mm", 75.25, "4+"),
    ("0/28 mm", 100.0, "4+"),
]


@pytest.mark.parametrize(("text", "percent", "grade"), WIDTHS)
def test_measured_widths_give_the_share_and_its_grade(text: str, percent: float, grade: str) -> None:
    meaning = read("tonsil-grade", text)
    assert meaning.figures["occlusion_percent"] == pytest.approx(percent)
    assert meaning.chart.startswith(f"{grade}, both together")
    assert set(meaning.classes) == {f"grade-{grade[0]}", "both-together"}


@pytest.mark.parametrize(
    ("typed", "text", "grade"),
    [
        ("0", "0", 0),
        ("1+", "1+", 1),
        ("2", "2+", 2),
        ("+3", "3+", 3),
        ("grade 4", "4+", 4),
        ("2+/4", "2+", 2),
    ],
)
def test_grades_are_read_with_and_without_the_plus(typed: str, text: str, grade: int) -> None:
    meaning = read("tonsil-grade", typed)
    assert (meaning.text, meaning.figures["tonsil_grade"]) == (text, grade)


def test_removed_tonsils_are_grade_0_and_said_to_be_removed() -> None:
    meaning = read("tonsil-grade", "removed")
    assert (meaning.chart, meaning.classes, meaning.tell) == ("removed", ("grade-0",), "")


def test_large_tonsils_are_said_in_shares_with_the_caution_and_the_source() -> None:
    meaning = read("tonsil-grade", "3+")
    assert meaning.words == "grade 3+: 50 to 75 % of the width between the pillars; gagging makes it larger"
    assert meaning.chart == "3+"
    (remark,) = meaning.remarks
    assert (
        remark.text == "3+ or more"
        and remark.source == "Brodsky 1989, quoted second hand; told: common practice, no source"
    )
    assert [read("tonsil-grade", each).tell for each in "01234"] == ["", "", "note", "report", "report"]


def test_widths_say_that_they_are_of_both_tonsils() -> None:
    words = read("tonsil-grade", "0.8/2.8 cm").words
    assert words.startswith("gap of 8 mm over 28 mm between the pillars: both tonsils together take 71.4 %")


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("5", "from 0 to 4"),
        ("30/28 mm", "the gap comes first"),
        ("1/5 mm", "from 10 to 80 mm"),
        ("big", "unknown word 'big'; type 0 to 4"),
        ("3+ exudate", "unknown word 'exudate'; type 0 to 4"),
        ("", "type 0 to 4"),
    ],
)
def test_what_is_no_tonsil_grade_is_refused_with_what_is(typed: str, said: str) -> None:
    assert said in refusal("tonsil-grade", typed)


def test_a_source_of_grade_and_of_how_fast_it_is_told_is_named_once() -> None:
    (remark,) = read("tonsil-grade", "3+", grade_2_from=25.0, report_from=3.0).remarks
    assert remark.source == "as set"


def test_a_protocol_may_put_the_limits_elsewhere() -> None:
    assert "grade-2" in read("tonsil-grade", "20/40 mm", grade_3_from=51.0).classes


@given(st.integers(100, 600), st.data())
def test_a_narrower_gap_never_has_a_lower_grade(pillars: int, data: st.DataObject) -> None:
    gaps = sorted(data.draw(st.tuples(st.integers(0, pillars), st.integers(0, pillars))))
    narrow, wide = (grade_of(occlusion_percent(gap, pillars), 25, 50, 75) for gap in gaps)
    assert 0 <= wide <= narrow <= 4


@given(st.integers(0, 800), st.integers(100, 800))
def test_widths_are_read_or_refused_by_whether_the_gap_fits(gap: int, pillars: int) -> None:
    assert holds_the_laws("tonsil-grade", f"{gap / 10}/{pillars / 10} mm") == (gap <= pillars)


def tonsils(right: str, left: str) -> Meaning | None:
    facts = {("right", ""): measured("tonsil-grade", right), ("left", ""): measured("tonsil-grade", left)}
    return together(facts)


def together(facts: Facts) -> Meaning | None:
    kind = catalogue.KINDS["tonsil-grade"]
    return catalogue.together(kind, facts, catalogue.options(kind, {}))


@pytest.mark.parametrize(
    ("right", "left", "classes", "tell"),
    [
        ("2+", "2+", ("same",), ""),
        ("3+", "1+", ("larger-right",), "report"),
        ("1+", "2+", ("larger-left",), "report"),
    ],
)
def test_one_larger_tonsil_is_told(right: str, left: str, classes: tuple[str, ...], tell: str) -> None:
    meaning = tonsils(right, left)
    assert meaning is not None
    assert (meaning.classes, meaning.tell) == (classes, tell)
    assert f"right {right}, left {left}" in meaning.words


def test_tonsils_are_not_compared_by_widths_of_both_or_when_one_was_not_graded() -> None:
    assert tonsils("8/28 mm", "2+") is None
    assert together({("right", ""): measured("tonsil-grade", "3+")}) is None
    assert together({("right", ""): measured("tonsil-grade", "3+"), ("left", ""): found("plugs")}) is None


@pytest.mark.parametrize(
    ("typed", "text", "classes"),
    [
        ("42", "42 mm", ("in-range",)),
        ("42 mm", "42 mm", ("in-range",)),
        ("4.2 cm", "42 mm", ("in-range",)),
        ("4,2cm", "42 mm", ("in-range",)),
        # Below 35 mm is restricted in some texts, quoted second hand.
        ("35", "35 mm", ("in-range",)),
        ("34.9", "34.9 mm", ("limited",)),
        # Three own fingers fitted in all of 140 healthy people: Zawawi et al. 2003, abstract read.
        ("3 fingers", "3 fingers", ("in-range",)),
        ("3fb", "3 fingers", ("in-range",)),
        ("2.5 fingers", "2.5 fingers", ("limited",)),
        ("1 finger", "1 finger", ("limited",)),
    ],
)
def test_jaw_opening_is_read_in_mm_cm_or_fingers(typed: str, text: str, classes: tuple[str, ...]) -> None:
    meaning = read("jaw-opening", typed)
    assert (meaning.text, meaning.classes) == (text, classes)
    assert meaning.tell == ("report" if classes == ("limited",) else "")


@pytest.mark.parametrize("typed", ["3", "4.2", "9"])
def test_a_small_bare_number_asks_of_what(typed: str) -> None:
    assert refusal("jaw-opening", typed) == f"{typed} of what? type mm, such as 42; 4.2 cm; or 3 fingers"


def test_openings_that_no_jaw_has_are_refused_and_unusual_ones_asked_about() -> None:
    assert "0 to 100 mm" in refusal("jaw-opening", "120")
    assert "0 to 4 fingers" in refusal("jaw-opening", "5 fingers")
    assert read("jaw-opening", "80").doubt == "a jaw opening of 80 mm is unusual"
    # The mean of 140 healthy people: Zawawi et al. 2003, abstract read.
    assert read("jaw-opening", "48.8").doubt == ""


def test_a_small_opening_names_the_limit_and_whose_it_is() -> None:
    (remark,) = read("jaw-opening", "30 mm").remarks
    assert remark.text == "less than 35 mm" and "40 in others" in remark.source
    (remark,) = read("jaw-opening", "2 fingers").remarks
    assert remark.text == "fewer than 3 own fingers" and "Zawawi" in remark.source
    assert read("jaw-opening", "37 mm", least_mm=40.0).classes == ("limited",)


@given(st.integers(0, 1000))
def test_openings_come_back_as_they_were_typed(tenths_mm: int) -> None:
    assert read("jaw-opening", f"{tenths_mm / 10} mm").figures["jaw_opening_mm"] == tenths_mm / 10
    assert holds_the_laws("jaw-opening", f"{tenths_mm / 100} cm")


@given(texts("01234+/ mc.gradeov"))
def test_any_text_is_read_as_tonsils_or_refused(text: str) -> None:
    holds_the_laws("tonsil-grade", text)


@given(texts("0123456789 .,mcfinger"))
def test_any_text_is_read_as_a_jaw_opening_or_refused(text: str) -> None:
    holds_the_laws("jaw-opening", text)
