"""Pupils: sizes, the difference between the two in each light, grades of a relative afferent defect."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklist.measures import catalogue
from checklist.measures.reading import ReadingError
from tests.measures.eyes import EXPECTED, mirrored, read, sizes, swapped, together

# ------------------------------------------------------------------ size

HALVES = st.integers(1, 20).map(lambda halves: halves / 2)


@pytest.mark.parametrize("text", ["3.5", "3,5", "3.5mm", " 3.5 MM ", "3.50 millimetres", "3.5 millimeters"])
def test_a_size_is_read_in_the_forms_that_are_written(text: str) -> None:
    found = read("pupil-size", text)
    assert (found.text, found.chart, found.figures) == ("3.5", "3.5 mm", {"pupil_mm": 3.5})


@pytest.mark.parametrize("text", ["", "wide", "3 cm", "-3", "3/4", "3 4", "3.5.5", "٣"])
def test_what_is_no_size_says_what_is_accepted(text: str) -> None:
    with pytest.raises(ReadingError, match="type the size in mm, such as 3 or"):
        read("pupil-size", text)


@pytest.mark.parametrize("text", ["0", "0.4", "10.5", "40"])
def test_an_impossible_size_is_refused_with_what_is_possible(text: str) -> None:
    with pytest.raises(ReadingError, match=r"possible from 0\.5 to 10"):
        read("pupil-size", text)


def test_a_size_between_the_marks_of_the_gauge_is_refused_unless_the_gauge_is_finer() -> None:
    with pytest.raises(ReadingError, match=r"nearest 0\.5 mm"):
        read("pupil-size", "3.2")
    assert read("pupil-size", "3.2", step=0.1).figures == {"pupil_mm": 3.2}
    with pytest.raises(ReadingError, match="nearest 1 mm"):
        read("pupil-size", "3.5", step=1.0)


@pytest.mark.parametrize(
    ("text", "classes", "tell"),
    [
        # 2 to 6 mm in room light: common practice, no source. The limits are within the range.
        ("1.5", ("below",), "report"),
        ("2", ("in-range",), ""),
        ("6", ("in-range",), ""),
        ("6.5", ("above",), "report"),
    ],
)
def test_sizes_in_room_light(text: str, classes: tuple[str, ...], tell: str) -> None:
    found = read("pupil-size", text)
    assert (found.classes, found.tell) == (classes, tell)


def test_out_of_range_says_the_limit_and_its_source() -> None:
    (remark,) = read("pupil-size", "7").remarks
    assert (remark.text, remark.source) == ("above 6 mm in room light", "common practice, no source")
    (remark,) = read("pupil-size", "5.5", high=5.0).remarks
    assert (remark.text, remark.source) == ("above 5 mm in room light", "a test")


@pytest.mark.parametrize(
    ("text", "classes"), [("1.5", ("below",)), ("2", ("in-range",)), ("8", ("in-range",))]
)
def test_where_the_sites_are_lights_one_size_is_compared_with_the_range_of_all(
    text: str, classes: tuple[str, ...]
) -> None:
    """2 to 4 mm in bright light, 4 to 8 mm in the dark: Spector 1990, quoted second hand."""
    assert read("pupil-size", text, sites_are_light=True).classes == classes


@pytest.mark.parametrize(("text", "is_asked"), [("0.5", True), ("1", False), ("9", False), ("9.5", True)])
def test_an_unusual_size_is_asked_about(text: str, is_asked: bool) -> None:
    assert bool(read("pupil-size", text).doubt) == is_asked


# ------------------------------------------------------------------ both pupils


@pytest.mark.parametrize(
    ("right", "left", "classes"),
    [
        (3, 3, {"equal"}),
        (3.5, 3, {"right-larger"}),
        (3, 4, {"left-larger"}),  # up to 1 mm: Walsh and Hoyt, quoted second hand
        (4.5, 3, {"right-larger", "anisocoria"}),
    ],
)
def test_the_difference_of_the_pupils(right: float, left: float, classes: set[str]) -> None:
    found = together("pupil-size", sizes(right, left))
    assert found is not None
    assert set(found.classes) == classes
    assert found.figures == {"largest_difference_mm": abs(right - left)}
    assert bool(found.remarks) == ("anisocoria" in classes)
    assert f"right {right:g} mm, left {left:g} mm" in found.chart


def test_the_limit_of_a_difference_is_an_option() -> None:
    found = together("pupil-size", sizes(3.5, 3), anisocoria_limit=0.4)
    assert found is not None
    assert "anisocoria" in found.classes
    assert [(each.text, each.source) for each in found.remarks] == [("differ by more than 0.4 mm", "a test")]


@pytest.mark.parametrize(
    ("bright", "dim", "expected"),
    [
        # Larger in the dark: the small pupil; larger in the light: the large one. Calgary scheme.
        ((3, 3), (6, 4.5), {"larger-in-dark"}),
        ((3, 2.5), (6, 4.5), {"larger-in-dark"}),
        ((5, 3), (6, 6), {"larger-in-light"}),
        ((4, 2), (6.5, 6), {"larger-in-light"}),
        ((3.5, 3), (6, 5.5), set()),
        ((3, 3), (6, 6), set()),
        ((3.5, 3), (5, 6), set()),
    ],
)
def test_in_which_light_the_difference_is_larger(
    bright: tuple[float, float], dim: tuple[float, float], expected: set[str]
) -> None:
    found = together("pupil-size", {**sizes(*bright, "bright light"), **sizes(*dim, "dim light")})
    assert found is not None
    assert set(found.classes) & {"larger-in-dark", "larger-in-light"} == expected
    pupils = {"larger-in-dark": "smaller pupil", "larger-in-light": "larger pupil"}
    for each in expected:
        assert any(pupils[each] in remark.text and remark.source for remark in found.remarks)


def test_when_the_larger_pupil_changes_with_the_light_nothing_is_concluded_from_it() -> None:
    found = together("pupil-size", {**sizes(3.5, 3, "bright"), **sizes(5, 6, "dark")})
    assert found is not None
    assert "measure again" in found.words
    assert {"right-larger", "left-larger"} <= set(found.classes)


def test_one_light_does_not_say_in_which_the_difference_is_larger() -> None:
    for site in ("", "bright", "dark", "by the window"):
        found = together("pupil-size", sizes(6, 4, site))
        assert found is not None
        assert set(found.classes) == {"right-larger", "anisocoria"}


def test_each_size_is_compared_with_the_range_of_its_light() -> None:
    found = together("pupil-size", {**sizes(5, 4, "bright"), **sizes(4, 3.5, "dim")}, sites_are_light=True)
    assert found is not None
    texts = [remark.text for remark in found.remarks]
    assert "right above 4 mm in bright light" in texts
    assert "left below 4 mm in dim light" in texts
    assert not any(text.startswith(("left above", "right below")) for text in texts)


def test_what_was_measured_on_one_side_alone_is_not_compared() -> None:
    facts = sizes(3, 5)
    assert together("pupil-size", {("right", ""): facts["right", ""]}) is None
    assert together("pupil-size", {**facts, ("left", ""): EXPECTED}) is None, (
        "an entry without a reading is not measured"
    )
    assert (
        together("pupil-size", {("right", "bright"): facts["right", ""], ("left", "dim"): facts["left", ""]})
        is None
    )


@given(HALVES, HALVES, HALVES, HALVES)
def test_sizes_of_the_other_side_mean_the_same_of_the_other_side(
    a: float, b: float, c: float, d: float
) -> None:
    facts = {**sizes(a, b, "bright"), **sizes(c, d, "dim")}
    one, other = together("pupil-size", facts), together("pupil-size", swapped(facts))
    assert one is not None
    assert other is not None
    assert set(other.classes) == {mirrored(each) for each in one.classes}
    assert set(one.classes) <= set(catalogue.KINDS["pupil-size"].together)
    assert {r.text for r in other.remarks} == {mirrored(r.text) for r in one.remarks}


# ------------------------------------------------------------------ relative afferent defect


@pytest.mark.parametrize(
    ("text", "log_units"),
    # Bell 1993, abstract read; grade V balances with no filter.
    [("I", "0.4"), ("II", "0.7"), ("III", "1.1"), ("IV", "2.0"), ("V", "infinite")],
)
def test_grades_of_bell_have_the_published_filters(text: str, log_units: str) -> None:
    found = read("afferent-defect", text)
    assert f"filter of {log_units} log units" in found.words
    assert found.figures == ({} if text == "V" else {"filter_log_units": float(log_units)})
    assert found.remarks[0].source == "Bell 1993"


@pytest.mark.parametrize(
    ("text", "log_units"),
    # Yotharak and Aui-Aree 2012, abstract read.
    [("1+", "up to 0.6"), ("2+", "0.6 to 0.9"), ("3+", "1.2 to 1.5"), ("4+", "1.8 or more")],
)
def test_plus_grades_have_the_published_filters(text: str, log_units: str) -> None:
    found = read("afferent-defect", text)
    assert f"filter of {log_units} log units" in found.words
    assert "Yotharak and Aui-Aree 2012" in found.remarks[0].source


@pytest.mark.parametrize(
    ("typed", "scale", "text"),
    [
        ("0", "either", "0"),
        ("None", "bell", "0"),
        ("grade iii", "either", "III"),
        ("IV", "bell", "IV"),
        ("4", "bell", "IV"),
        ("4", "plus", "4+"),
        ("2 +", "plus", "2+"),
    ],
)
def test_grades_are_read_on_the_scale_of_the_step(typed: str, scale: str, text: str) -> None:
    assert read("afferent-defect", typed, scale=scale).text == text


@pytest.mark.parametrize(
    ("typed", "scale"),
    [
        ("3", "either"),
        ("2+", "bell"),
        ("II", "plus"),
        ("VI", "bell"),
        ("5", "plus"),
        ("5+", "either"),
        ("", "bell"),
    ],
)
def test_a_grade_of_no_scale_or_of_the_other_is_refused(typed: str, scale: str) -> None:
    with pytest.raises(ReadingError, match="type 0, "):
        read("afferent-defect", typed, scale=scale)


@pytest.mark.parametrize("grades", [("0", "I", "II", "III", "IV", "V"), ("0", "1+", "2+", "3+", "4+")])
def test_a_higher_grade_has_all_classes_of_a_lower_one(grades: tuple[str, ...]) -> None:
    found = [set(read("afferent-defect", each).classes) - {"none"} for each in grades]
    assert all(lower <= higher for lower, higher in pairwise(found))
    assert found[0] == set()
    assert found[-1] == {"present", "immediate", "no-constriction"}


# ------------------------------------------------------------------ what holds of both kinds

PIECES = (
    "3",
    "3.5",
    "3,5",
    "9.5",
    "mm",
    "0",
    "I",
    "iii",
    "V",
    "2+",
    "+",
    "none",
    "grade",
    " ",
    "/",
    "-",
    "1e3",
)


@pytest.mark.parametrize("kind", ["pupil-size", "afferent-defect"])
@given(text=st.lists(st.sampled_from(PIECES), max_size=4).map(" ".join) | st.text(max_size=12))
def test_any_text_is_a_reading_that_stands_or_says_what_is_accepted(kind: str, text: str) -> None:
    try:
        found = read(kind, text)
    except ReadingError as error:
        assert 0 < len(str(error)) <= 110
        return
    assert read(kind, found.text) == found
    assert found.text.isascii()
    assert len(found.words) <= 140
    assert set(found.classes) <= set(catalogue.KINDS[kind].classes)


# ------------------------------------------------------------------ sentences in full, as in a note


def test_the_sentence_of_sizes_says_each_light_and_the_difference() -> None:
    found = together("pupil-size", {**sizes(3, 3, "bright"), **sizes(6, 4.5, "dim")})
    assert found is not None
    assert found.chart == (
        "bright: right 3 mm, left 3 mm (equal); dim: right 6 mm, left 4.5 mm (right larger by 1.5 mm); "
        "difference larger in dim light (0 mm bright, 1.5 mm dim)"
    )
    assert "equal" not in found.classes, "equal in one light is not equal"
    found = together("pupil-size", sizes(3, 3.5))
    assert found is not None
    assert found.chart == "right 3 mm, left 3.5 mm (left larger by 0.5 mm)"
    same = together("pupil-size", {**sizes(3.5, 3, "bright"), **sizes(6, 5.5, "dim")})
    assert same is not None
    assert same.chart.endswith("difference the same in bright and dim light (0.5 mm)")


def test_the_sentence_of_a_grade_says_the_sign() -> None:
    assert read("afferent-defect", "0").chart == "no relative afferent defect seen"
    found = read("afferent-defect", "II")
    assert found.chart == "relative afferent defect grade II of V (stalls, then widens more)"
    assert found.words.startswith("relative afferent defect, grade II of V: stalls, then widens more; ")
