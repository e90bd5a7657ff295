"""Acuity at distance: notations, exact and nominal values, letters, screening line, both eyes in lines."""

import re
from importlib import import_module
from math import isclose, log10

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklist.measures.chart_lines import credited, decimal, logmar, nominal, with_letters
from checklist.measures.low_vision import CONVENTIONS, holladay
from checklist.measures.reading import Fact, ReadingError
from tests.measures.eyes import both, swapped
from tests.measures.sights import KIND, LOG_LINES, compared, distance, eyes, on_log_chart, together

outside = import_module("logmar")
"""Another converter between the notations; it ships no type information."""

# ------------------------------------------------------------------ conversion

# Rows of DICOM PS3.17 Table RR-1 (read): US, 6 m, decimal, logMAR of the line.
DICOM_ROWS = [
    ("20/10", "6/3", "2.0", -0.3),
    ("20/12.5", "6/3.75", "1.6", -0.2),
    ("20/16", "6/4.8", "1.25", -0.1),
    ("20/20", "6/6", "1.0", 0.0),
    ("20/125", "6/38", "0.16", 0.8),
    ("20/160", "6/48", "0.125", 0.9),
    ("20/200", "6/60", "0.1", 1.0),
    ("20/250", "6/75", "0.08", 1.1),
    ("20/320", "6/95", "0.063", 1.2),
    ("20/400", "6/120", "0.05", 1.3),
    ("20/500", "6/150", "0.04", 1.4),
    ("20/630", "6/190", "0.032", 1.5),
]


@pytest.mark.parametrize(("us", "six", "tenths", "line"), DICOM_ROWS)
def test_one_line_has_one_name_in_each_notation_of_the_standard(
    us: str, six: str, tenths: str, line: float
) -> None:
    for text in (us, six, tenths, f"{line} logmar"):
        assert distance(text).figures["line_logmar"] == line


# Exact values to three places: arithmetic, -log10 of the fraction (DICOM PS3.17 RR.2.2, read).
EXACT_ROWS = [
    ("20/10", -0.301),
    ("20/15", -0.125),
    ("20/16", -0.097),
    ("20/25", 0.097),
    ("20/30", 0.176),
    ("6/9", 0.176),
    ("20/32", 0.204),
    ("20/40", 0.301),
    ("20/60", 0.477),
    ("6/18", 0.477),
    ("20/63", 0.498),
    ("20/70", 0.544),
    ("20/200", 1.0),
    ("3/60", 1.301),
    ("10/200", 1.301),
    ("1/60", 1.778),
    ("20/1200", 1.778),
]


@pytest.mark.parametrize(("text", "expected"), EXACT_ROWS)
def test_the_exact_value_is_arithmetic_and_not_the_name_of_the_line(text: str, expected: float) -> None:
    found = distance(text)
    assert found.figures["exact_logmar"] == pytest.approx(expected, abs=0.0005)
    assert f"exact logMAR {expected:.3f}" in found.words


@pytest.mark.parametrize("text", ["20/30", "6/9", "20/60", "6/18", "20/70", "20/15", "20/13"])
def test_a_size_between_the_even_steps_has_no_nominal_value(text: str) -> None:
    found = distance(text)
    assert "line_logmar" not in found.figures
    assert ", line " not in found.words


@pytest.mark.parametrize("denominator", [10, 12.5, 13, 16, 20, 25, 30, 32, 40, 63, 70, 100, 200, 400, 630])
@pytest.mark.parametrize("top", [20, 6])
def test_the_value_is_that_of_another_converter(top: int, denominator: float) -> None:
    text = f"{top}/{denominator}"
    figures = distance(text).figures
    assert isclose(figures["exact_logmar"], outside.snellen_to_logmar(text), abs_tol=0.0006)
    assert isclose(figures["decimal"], outside.snellen_to_decimal(text), rel_tol=0.005)


def test_a_line_is_smaller_by_the_tenth_root_of_ten() -> None:
    # Holladay 2004 (read): the factor from line to line is 1.2589.
    assert decimal(0.1) / decimal(0.2) == pytest.approx(1.2589, abs=0.00005)
    assert logmar(20, 20) == 0


@given(st.floats(0.25, 40), st.floats(0.01, 2000))
def test_acuity_depends_on_the_ratio_alone(start: float, end: float) -> None:
    assert logmar(start, end) == pytest.approx(logmar(2 * start, 2 * end))
    assert decimal(logmar(start, end)) == pytest.approx(start / end)


@pytest.mark.parametrize(
    ("text", "others"),
    [
        # DICOM PS3.17 Table RR-1 (read); 6 m values are the exact multiples.
        ("20/25", ["6/7.5", "decimal 0.8"]),
        ("6/12", ["20/40", "decimal 0.5"]),
        ("0.8", ["20/25", "6/7.5"]),
        ("1,25", ["20/16", "6/4.8"]),
        ("20/10", ["6/3", "decimal 2"]),
        ("10/200", ["letter for 200 at 10", "20/400", "decimal 0.05"]),
        ("0 logmar", ["20/20", "6/6", "decimal 1"]),
    ],
)
def test_the_echo_gives_the_other_notations(text: str, others: list[str]) -> None:
    words = distance(text).words
    assert [other for other in others if other not in words] == []


# ------------------------------------------------------------------ letters


@pytest.mark.parametrize(
    ("text", "scored"),
    [
        # 0.02 for each letter on a five-letter line (Bach, acuity cheat sheet, read): 20/25-2 = 20/32+3.
        ("20/25-2", 0.14),
        ("20/32+3", 0.14),
        ("0.14 logmar", 0.14),
        ("20/40+1", 0.28),
        ("20/20-1", 0.02),
        ("6/9.5-1", 0.22),
        ("20/16+2", -0.14),
    ],
)
def test_letters_count_where_the_chart_gives_them_a_size(text: str, scored: float) -> None:
    found = on_log_chart(text)
    assert found.figures["scored_logmar"] == pytest.approx(scored, abs=1e-9)


@given(st.integers(0, 55))
def test_a_letter_less_is_a_fiftieth_more(read_letters: int) -> None:
    # Bailey and Lovie 1976, from memory: logMAR = 1.10 - 0.02 x letters read from the 1.0 line down.
    lines, extra = divmod(read_letters, 5)
    line = round(1.1 - 0.1 * lines, 1)
    assert with_letters(line, -extra, 5) == pytest.approx(1.10 - 0.02 * read_letters)


@pytest.mark.parametrize("text", ["20/25-2", "20/32+3", "0.8-1", "6/9-1"])
def test_letters_of_a_traditional_chart_are_shown_as_recorded_and_have_no_number(text: str) -> None:
    # DICOM PS3.17 RR.2.3 (read): such suffixes have no defined value.
    found = distance(text)
    assert "scored_logmar" not in found.figures
    assert "letters not counted" in found.words
    assert found.chart.removeprefix("decimal ") == text
    assert re.search(r"(less|plus) \d letter", found.words)
    assert found.figures["exact_logmar"] == distance(re.split(r"[-+]", text)[0]).figures["exact_logmar"]


def test_letters_of_a_line_between_the_even_steps_have_no_number_either() -> None:
    assert "scored_logmar" not in on_log_chart("20/30-1").figures


def test_a_line_counts_when_more_than_half_of_it_is_read() -> None:
    # Common practice, no source. 20/32 with two of five missed is read, with three it is 20/40.
    assert on_log_chart("20/32-2").classes == on_log_chart("20/40+3").classes == ("in-range",)
    assert on_log_chart("20/32-3").classes == on_log_chart("20/40+2").classes == ("worse-than-screening",)
    assert [credited(value) for value in (0.24, 0.26, 0.25, -0.04)] == [0.2, 0.3, 0.3, 0]


@pytest.mark.parametrize(
    ("text", "is_doubted"), [("20/25-2", False), ("20/25-3", True), ("20/25+2", False), ("20/25+3", True)]
)
def test_most_of_another_line_is_asked_about(text: str, is_doubted: bool) -> None:
    assert bool(on_log_chart(text).doubt) is is_doubted


def test_more_letters_than_a_line_has_are_refused() -> None:
    with pytest.raises(ReadingError, match="5 letters a line"):
        on_log_chart("20/25-5")
    with pytest.raises(ReadingError, match="possible from 1 to 9"):
        distance("20/25-12")
    assert distance("20/25-3").doubt == ""
    assert distance("20/25-4").doubt != ""


# ------------------------------------------------------------------ forms


@pytest.mark.parametrize(
    ("typed", "text", "chart"),
    [
        ("20/25-2", "20/25-2", "20/25-2"),
        (" 20 / 25 - 2 ", "20/25-2", "20/25-2"),
        ("20/25\u22122", "20/25-2", "20/25-2"),
        ("20/40+1", "20/40+1", "20/40+1"),
        ("6/9.5-1", "6/9.5-1", "6/9.5-1"),
        ("6/9,5", "6/9.5", "6/9.5"),
        ("0,8", "0.8", "decimal 0.8"),
        (".80", "0.8", "decimal 0.8"),
        ("decimal 0.8", "0.8", "decimal 0.8"),
        ("logMAR 0.3", "0.3 logmar", "0.3 logMAR"),
        ("0,30 LogMAR", "0.3 logmar", "0.3 logMAR"),
        ("-0.1 logmar", "-0.1 logmar", "-0.1 logMAR"),
        ("logmar -0", "0 logmar", "0 logMAR"),
        ("10/200", "10/200", "10/200 (equals 20/400)"),
        ("CF", "cf", "counting fingers"),
        ("count fingers at 2 feet", "cf 2 ft", "counting fingers at 2 feet"),
        ("cf 1'", "cf 1 ft", "counting fingers at 1 foot"),
        ("cf @ 1m", "cf 1 m", "counting fingers at 1 metre"),
        ("cf 20 ft", "cf 20 ft", "counting fingers at 20 feet"),
        ("hand movements", "hm", "hand motion"),
        ("hm 30 cm", "hm 30 cm", "hand motion at 30 centimetres"),
        ("LP", "lp", "light perception"),
        ("lp with proj", "lp with projection", "light perception with projection"),
        ("pl without projection", "lp without projection", "light perception without projection"),
        ("npl", "nlp", "no light perception"),
        ("20/25 cc", "20/25 cc", "20/25 with correction"),
        ("20/25-2 cc", "20/25-2 cc", "20/25-2 with correction"),
        ("20/25cc", "20/25 cc", "20/25 with correction"),
        ("cc 20/25", "20/25 cc", "20/25 with correction"),
        ("20/60 uncorrected", "20/60 sc", "20/60 without correction"),
        ("20/30 PH cc", "20/30 cc ph", "20/30 with correction through pinhole"),
        ("lp with projection without correction", "lp with projection sc", None),
    ],
)
def test_what_clinicians_write_is_read(typed: str, text: str, chart: str | None) -> None:
    found = distance(typed)
    assert found.text == text
    assert chart is None or found.chart == chart


@pytest.mark.parametrize(
    "text",
    [
        "",
        "fine",
        "20/",
        "/20",
        "20-25",
        "20/25/30",
        "25",
        "20",
        "5",
        "cf -1 ft",
        "logmar",
        "٢٠/٢٠",
        "lp +",
    ],
)
def test_what_is_no_acuity_says_what_is_accepted(text: str) -> None:
    with pytest.raises(ReadingError, match=r"type 20/25-2, 6/9, 0\.8"):
        distance(text)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("CF@2", "2 of which unit? type cf 2 ft, or cf 60 cm"),
        ("cf 2", "2 of which unit? type cf 2 ft, or cf 60 cm"),
        ("20/200 ph 20/40", "one value a line: type the one with usual correction; pinhole as its own"),
        ("20/40 sc, 20/20 cc", "one value a line: type the one with usual correction; pinhole as its own"),
        (
            "20/40 blurry",
            "unknown word 'blurry'; type 20/25-2, 6/9, 0.8, cf 2 ft, hm, lp or nlp; then sc, cc or ph",
        ),
    ],
)
def test_a_refusal_says_what_to_type_instead(text: str, said: str) -> None:
    with pytest.raises(ReadingError) as raised:
        distance(text)
    assert str(raised.value) == said


@pytest.mark.parametrize(
    "text", ["20/0", "0", "20/4", "1/2000", "logmar 4", "-0.6 logmar", "0/20", "200/20", "cf 9 m"]
)
def test_the_impossible_is_refused_with_what_is_possible(text: str) -> None:
    with pytest.raises(ReadingError, match="possible"):
        distance(text)


@pytest.mark.parametrize("text", ["20/20 sc cc", "20/20 cc cc", "20/20 ph pinhole"])
def test_what_was_worn_is_said_once(text: str) -> None:
    with pytest.raises(ReadingError, match="sc or cc once"):
        distance(text)


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("20/8", "better than decimal 2"),
        ("20/35", "no line of the chart"),
        ("20/52", "no line of the chart"),
        ("25/20", "25/20 is unusual; 20/25 meant?"),
        ("9/6-1", "9/6 is unusual; 6/9 meant?"),
        ("2/20", "smaller letter than the largest"),
        ("cf 5 m", "beyond 3 m"),
        ("20/20", ""),
        ("20/10", ""),
        ("6/9", ""),
        ("0.8", ""),
        ("10/200", ""),
        ("3/60", ""),
        ("0.14 logmar", ""),
        ("cf 3 m", ""),
    ],
)
def test_the_unlikely_is_asked_about_and_the_usual_is_not(text: str, part: str) -> None:
    doubt = distance(text).doubt
    assert part in doubt
    assert bool(part) is bool(doubt)


FRACTIONS = st.builds(
    lambda top, end, letters: f"{top}/{end}{letters}",
    st.sampled_from(["20", "6", "4", "10", "3", "5"]),
    st.integers(8, 400).map(str) | st.sampled_from(["12.5", "9.5", "7,5"]),
    st.sampled_from(["", "-1", "-2", "+1", "+3", " - 4"]),
)
DECIMALS = st.integers(1, 200).map(lambda hundredths: f"{hundredths / 100}")
LOGMARS = st.integers(-30, 300).map(lambda hundredths: f"{hundredths / 100} logmar")
SHOWN = st.builds(
    lambda what, at: f"{what}{at}",
    st.sampled_from(["cf", "hm"]),
    st.sampled_from(["", " 2 ft", " at 0,5 m", " 12 in"]),
)
LIGHT = st.sampled_from(["lp", "nlp", "lp with projection", "light perception without proj"])
WORN = st.sampled_from(["", " sc", " cc", " ph", " cc ph", " without correction"])
TYPED = st.builds(lambda value, worn: value + worn, FRACTIONS | DECIMALS | LOGMARS | SHOWN | LIGHT, WORN)
LETTERS = st.sampled_from([0, 5])
CONVENTION = st.sampled_from(["none", *CONVENTIONS])


@given(TYPED, LETTERS, CONVENTION)
def test_the_canonical_text_means_the_same_and_the_echo_is_short(
    typed: str, letters: int, convention: str
) -> None:
    try:
        found = distance(typed, letters_per_line=letters, low_vision=convention)
    except ReadingError as error:
        assert "possible is" in str(error)
        return
    assert distance(found.text, letters_per_line=letters, low_vision=convention) == found
    # Two lines of the narrowest usual window.
    assert len(found.words) <= 156
    assert found.text.isascii()


@given(st.text(max_size=20) | st.text("0123456789/.,-+ cfhmlpsn", max_size=14))
def test_any_text_is_read_or_refused(text: str) -> None:
    try:
        assert distance(text).text
    except ReadingError as error:
        assert "\n" not in str(error)
        assert len(str(error)) <= 110


# ------------------------------------------------------------------ the screening line


@pytest.mark.parametrize(
    ("age", "passing", "failing"),
    [
        # Adults: common practice, no source. Children: Cotter 2015, summary read; AAP 2016, from memory.
        ("adult", "20/30", "20/40"),
        ("36-to-47-months", "20/50", "20/70"),
        ("48-to-59-months", "20/40", "20/50"),
        ("60-months-and-over", "20/30", "20/40"),
    ],
)
def test_the_line_by_age_decides(age: str, passing: str, failing: str) -> None:
    assert distance(passing, age=age).classes[0] == "in-range"
    assert distance(passing, age=age).remarks == ()
    found = distance(failing, age=age)
    assert found.classes[0] == "worse-than-screening"
    assert [(each.text, each.tell) for each in found.remarks] == [
        (f"worse than {passing}, the screening line", "report")
    ]


def test_on_a_chart_in_even_steps_the_line_is_the_one_beside_it() -> None:
    assert on_log_chart("20/32").classes == ("in-range",)
    assert on_log_chart("20/40").remarks[0].text == "worse than 20/32, the screening line"
    assert distance("20/32").classes == ("worse-than-screening",)


def test_a_protocol_sets_the_line_and_how_fast_it_is_told() -> None:
    found = distance("20/50", line_adult=40, tell="urgent")
    assert [(each.source, each.tell) for each in found.remarks] == [("a test", "urgent")]
    assert found.tell == "urgent"
    assert distance("20/40", line_adult=40).classes == ("in-range",)


def test_without_lines_of_a_chart_the_fraction_itself_is_the_limit() -> None:
    found = distance("20/40", lines=())
    assert found.remarks[0].text == "worse than 20/30, the screening line"
    assert found.doubt == distance("10/100", lines=()).doubt == ""


def test_a_six_metre_chart_is_a_list_of_its_own_lines() -> None:
    lines = (60.0, 36.0, 24.0, 18.0, 12.0, 9.0, 6.0, 5.0)
    found = distance("6/12", chart_distance=6, lines=lines)
    assert found.remarks[0].text == "worse than 6/9, the screening line"
    assert distance("6/36", chart_distance=6, lines=lines).doubt == ""
    assert "6/9" in distance("20/30", chart_distance=6, lines=lines).words
    assert distance("4/60", chart_distance=6, lines=lines).doubt == ""


ORDER = ["in-range", "worse-than-screening", "worse-than-6-12", "worse-than-6-60", "worse-than-3-60"]


@given(st.integers(-30, 200), st.integers(-30, 200))
def test_worse_acuity_never_has_fewer_of_the_worse_classes(one: int, other: int) -> None:
    better, worse = (set(distance(f"{value / 100} logmar").classes) for value in sorted((one, other)))
    assert better - {"in-range"} <= worse


@pytest.mark.parametrize(
    ("text", "worse"),
    [
        ("6/12", []),
        ("20/40", []),
        ("20/50", ["worse-than-6-12"]),
        ("6/60", ["worse-than-6-12"]),
        ("20/250", ["worse-than-6-12", "worse-than-6-60"]),
        ("3/60", ["worse-than-6-12", "worse-than-6-60"]),
        ("2/60", ["worse-than-6-12", "worse-than-6-60", "worse-than-3-60"]),
    ],
)
def test_the_lines_of_the_impairment_ranges_lie_in_the_better_one(text: str, worse: list[str]) -> None:
    assert [name for name in distance(text).classes if name in ORDER[2:]] == worse


# ------------------------------------------------------------------ no letter


@pytest.mark.parametrize(
    ("text", "level"),
    [
        ("cf 2 ft", "counting-fingers"),
        ("hm", "hand-motion"),
        ("lp with projection", "light-perception"),
        ("nlp", "no-light-perception"),
    ],
)
def test_an_eye_that_reads_no_letter_has_no_logmar_of_its_own(text: str, level: str) -> None:
    found = distance(text)
    assert {"no-letter", level, "worse-than-screening", "worse-than-3-60"} <= set(found.classes)
    assert not any("logmar" in name or "decimal" in name for name in found.figures)
    assert found.tell == "report"
    assert distance(text, tell_no_letter="urgent").tell == "urgent"


@pytest.mark.parametrize(
    ("convention", "text", "expected"),
    [
        # Abstracts of Schulze-Bonsel 2006 (fingers at 30 cm: decimal 0.014; hand 0.005) and Lange 2009, read.
        ("freiburg-2006", "cf 30 cm", 1.85),
        ("freiburg-2006", "cf 1 ft", 1.85),
        ("freiburg-2006", "cf 1 m", None),
        ("freiburg-2006", "cf", None),
        ("freiburg-2006", "hm", 2.30),
        ("freiburg-2009", "cf", 1.98),
        ("freiburg-2009", "hm", 2.28),
        ("bach", "cf", 1.9),
        ("bach", "hm", 2.3),
        # Holladay 2004, quoted second hand: fingers at 2 ft are 20/2000; a hand 20/20000, from memory.
        ("holladay", "cf 2 ft", 2.0),
        ("holladay", "hm 2 ft", 3.0),
        ("holladay", "cf", None),
        ("holladay", "hm", None),
        # Survey reports, quoted second hand: 1.8 for worse than 3/60 to 1/60.
        ("survey", "cf 1 m", 1.8),
        ("survey", "cf 50 cm", None),
        ("survey", "hm", None),
        ("none", "cf 2 ft", None),
        *((name, light, None) for name in CONVENTIONS for light in ("lp", "nlp")),
    ],
)
def test_a_named_convention_gives_a_logmar_only_for_what_it_covers(
    convention: str, text: str, expected: float | None
) -> None:
    found = distance(text, low_vision=convention)
    assert found.figures.get("convention_logmar") == pytest.approx(expected)
    assert ("by convention" in found.words) is (expected is not None)
    assert any("not measured" in each.text for each in found.remarks) is (expected is not None)


def test_fingers_by_distance_follow_the_letter_for_200_feet() -> None:
    assert holladay(10, is_hand=False) == pytest.approx(log10(200 / 10))
    assert holladay(10, is_hand=True) - holladay(10, is_hand=False) == pytest.approx(1)


# ------------------------------------------------------------------ both eyes


@pytest.mark.parametrize(
    ("right", "left", "lines", "classes"),
    [
        # Counted on the usual chart of 11 lines: 200 100 70 50 40 30 25 20 15 13 10.
        ("20/20", "20/20", "0 lines", {"same-line"}),
        ("20/20", "6/6-2", "0 lines", {"same-line"}),
        ("20/20", "20/25", "1 line", {"one-line-apart", "left-worse"}),
        # 0.176 logMAR, and two lines all the same.
        ("20/20", "20/30", "2 lines", {"one-line-apart", "two-lines-apart", "apart", "left-worse"}),
        ("20/40", "20/25", "2 lines", {"one-line-apart", "two-lines-apart", "apart", "right-worse"}),
        # 0.301 logMAR, and one line all the same.
        ("20/200", "20/100", "1 line", {"one-line-apart", "right-worse"}),
        ("20/20", "20/200", "7 lines", {"one-line-apart", "two-lines-apart", "apart", "left-worse"}),
        (
            "20/20",
            "10/200",
            "more than 7 lines",
            {"one-line-apart", "two-lines-apart", "apart", "left-worse"},
        ),
        ("20/32", "20/50", "more than 1 line", {"one-line-apart", "two-lines-apart", "apart", "left-worse"}),
        ("20/30", "20/32", "no whole line", {"left-worse"}),
        ("20/32", "20/33", "0 lines", {"same-line"}),
    ],
)
def test_the_eyes_are_compared_in_lines_of_the_chart(
    right: str, left: str, lines: str, classes: set[str]
) -> None:
    found = compared(right, left)
    assert set(found.classes) == classes
    assert f"({lines}" in found.chart
    assert bool(found.remarks) is ("apart" in classes)
    assert re.search("right .*, left ", found.words)


def test_the_same_two_acuities_are_other_lines_on_another_chart() -> None:
    assert "two-lines-apart" not in compared("20/20", "20/25", lines=LOG_LINES).classes
    assert "(3 lines apart, limit 2 lines)" in compared("20/40", "20/20", lines=LOG_LINES).words
    # The usual chart has 30 between the two as well: 40, 30, 25, 20.
    assert "(3 lines apart, limit 2 lines)" in compared("20/40", "20/20").words
    assert "(2 lines apart, limit 2 lines)" in compared("20/40", "20/20", lines=(40.0, 30.0, 20.0)).words


def test_the_lines_between_the_eyes_are_said_once_and_for_whom_the_limit_was_made_in_its_source() -> None:
    found = compared("20/20", "20/50")
    (remark,) = found.remarks
    assert found.chart == "right 20/20, left 20/50 (4 lines apart, limit 2 lines)"
    assert remark.text in found.chart
    assert remark.source.endswith("; limit made for children")
    assert "children" not in found.words + found.chart + remark.text


def test_how_many_lines_are_told_is_set_by_the_protocol() -> None:
    assert compared("20/20", "20/30", lines_between_eyes=3).remarks == ()
    (remark,) = compared("20/20", "20/25", lines_between_eyes=1).remarks
    assert (remark.source, remark.tell) == ("a test", "report")


@pytest.mark.parametrize(("right", "left"), [("hm", "cf 1 m"), ("10/200", "5/200"), ("nlp", "nlp")])
def test_beyond_the_chart_no_lines_are_counted(right: str, left: str) -> None:
    found = compared(right, left)
    assert found.classes == ("not-counted",)
    assert found.remarks == ()


def test_without_lines_of_a_chart_none_are_counted() -> None:
    assert compared("20/20", "20/200", lines=()).classes == ("not-counted",)


def test_one_eye_without_letters_is_told() -> None:
    found = compared("20/200", "cf 1 m")
    assert {"left-worse", "apart", "two-lines-apart"} <= set(found.classes)
    assert found.tell == "report"


def test_eyes_that_were_not_measured_alike_are_not_compared() -> None:
    assert compared("20/20 cc", "20/60 sc").classes == ("not-counted",)
    assert compared("20/20 ph", "20/60").classes == ("not-counted",)


def test_one_eye_alone_is_not_compared() -> None:
    one = Fact(is_expected=True, meaning=distance("20/20"))
    assert together(both(one, None)) is None
    assert together(both(one, Fact(is_expected=True))) is None
    assert together({}) is None


def test_each_site_is_compared_in_itself() -> None:
    facts = {
        (side, site): fact
        for site, texts in {"as worn": ("20/20", "20/40"), "pinhole": ("20/20 ph", "20/20 ph")}.items()
        for (side, _), fact in eyes(*texts).items()
    }
    found = together(facts)
    assert found is not None
    assert found.chart.startswith(
        "as worn: right 20/20, left 20/40 (3 lines apart, limit 2 lines); pinhole: right"
    )
    assert {"apart", "same-line"} <= set(found.classes)
    across = {("right", "as worn"): facts["right", "as worn"], ("left", "pinhole"): facts["left", "pinhole"]}
    assert together(across) is None


MIRROR = {"right-worse": "left-worse", "left-worse": "right-worse"}


@given(TYPED, TYPED, LETTERS)
def test_swapping_the_eyes_swaps_what_is_said(right: str, left: str, letters: int) -> None:
    try:
        facts = eyes(right, left, letters_per_line=letters)
    except ReadingError:
        return
    found, other = (
        together(facts, letters_per_line=letters),
        together(swapped(facts), letters_per_line=letters),
    )
    assert found is not None
    assert other is not None
    assert {MIRROR.get(name, name) for name in found.classes} == set(other.classes)
    assert [each.text for each in found.remarks] == [each.text for each in other.remarks]


# ------------------------------------------------------------------ catalogue


def test_a_clinical_default_names_its_source() -> None:
    unsourced = {option.name for option in KIND["distance-acuity"].options if not option.source}
    assert unsourced == {"age"}
    assert len(KIND["distance-acuity"].accepts) <= 70


def test_a_nominal_value_is_within_half_a_letter_of_the_exact_one() -> None:
    assert nominal(logmar(20, 32)) == 0.2
    assert nominal(logmar(20, 30)) is None
