"""Blood pressure as it is typed: ranges, derived pressures, position and arm, and what was only felt."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklist.measures import catalogue
from checklist.measures.reading import Meaning, OptionValue, ReadingError


def read(kind: str, text: str, **values: OptionValue) -> Meaning:
    of = catalogue.KINDS[kind]
    return catalogue.read(of, text, catalogue.options(of, values, "a test"))


# ------------------------------------------------------------------ blood pressure


@pytest.mark.parametrize(
    ("text", "name", "tell"),
    [
        # Whelton 2018, categories of blood pressure; the 2025 guideline keeps them. Both quoted second hand.
        ("119/79", "in-range", ""),
        ("120/79", "elevated", "note"),
        ("129/79", "elevated", "note"),
        ("130/79", "stage-1", "note"),
        ("139/79", "stage-1", "note"),
        ("119/80", "stage-1", "note"),
        ("119/89", "stage-1", "note"),
        ("118/82", "stage-1", "note"),
        ("140/79", "stage-2", "report"),
        ("119/90", "stage-2", "report"),
        ("180/120", "stage-2", "report"),
        # 2025 guideline, severe: above 180 or above 120. Quoted second hand.
        ("181/79", "severe", "urgent"),
        ("170/121", "severe", "urgent"),
    ],
)
def test_the_higher_range_of_both_pressures_counts(text: str, name: str, tell: str) -> None:
    found = read("blood-pressure", text)
    assert found.classes == ((name,) if name == "in-range" else ("above", name))
    assert found.tell == tell


@pytest.mark.parametrize(
    ("text", "name"),
    [
        # ESC 2024, quoted second hand by three summaries and the society's own news.
        ("119/69", "in-range"),
        ("120/69", "elevated"),
        ("119/70", "elevated"),
        ("139/89", "elevated"),
        ("140/69", "hypertension-range"),
        ("119/90", "hypertension-range"),
    ],
)
def test_the_european_ranges_can_be_chosen(text: str, name: str) -> None:
    assert read("blood-pressure", text, scheme="esc-2024").classes[-1] == name


@given(st.integers(30, 300), st.integers(0, 200), st.integers(0, 60), st.integers(0, 60))
def test_a_higher_pressure_is_never_in_a_lower_range(
    systolic: int, diastolic: int, more: int, wider: int
) -> None:
    order = ["below", "in-range", "elevated", "stage-1", "stage-2", "severe"]
    try:
        low = read("blood-pressure", f"{systolic}/{diastolic}")
        high = read("blood-pressure", f"{systolic + more + wider}/{diastolic + more}")
    except ReadingError:
        return
    assert max(map(order.index, set(low.classes) - {"above"})) <= max(
        map(order.index, set(high.classes) - {"above"})
    )


def test_a_low_systolic_pressure_is_told_at_once() -> None:
    """NEWS2 chart 1: three points up to 90."""
    low = read("blood-pressure", "90/60")
    assert (low.classes, low.tell) == (("below",), "urgent")
    assert low.remarks[0].text == "systolic below 91 mmHg"
    assert read("blood-pressure", "91/60").classes == ("in-range",)


def test_a_range_is_named_as_a_range_with_its_limits() -> None:
    (remark,) = read("blood-pressure", "118/82").remarks
    assert remark.text == "in the range called stage 1 (systolic from 130 or diastolic from 80); one reading"
    assert "quoted second hand" in remark.source


def test_the_words_show_what_the_derived_pressures_come_from() -> None:
    """120/80 has a pulse pressure of 40 and a mean of 93.3."""
    words = read("blood-pressure", "120/80").words
    assert "120 over 80 mmHg; pulse pressure 40 (120 - 80), mean 93 (80 + 40/3)" in words


@pytest.mark.parametrize(
    ("text", "canonical", "chart"),
    [
        ("118/76", "118/76", "118/76 mmHg"),
        ("118 over 76 mmHg, Lying", "118/76 lying", "118/76 mmHg lying"),
        ("118 / 76 r arm seated", "118/76 sitting right arm", "118/76 mmHg sitting, right arm"),
        ("118/76 Left arm", "118/76 left arm", "118/76 mmHg left arm"),
    ],
)
def test_position_and_arm_are_read_in_any_order(text: str, canonical: str, chart: str) -> None:
    found = read("blood-pressure", text)
    assert (found.text, found.chart) == (canonical, chart)
    assert found.figures == {"systolic_mmhg": 118, "diastolic_mmhg": 76}


def test_right_and_left_are_read_alike() -> None:
    right, left = (read("blood-pressure", f"146/95 standing {side} arm") for side in ("right", "left"))
    assert right.words.replace("right", "left") == left.words
    assert right.chart.replace("right", "left") == left.chart
    assert (right.classes, right.remarks) == (left.classes, left.remarks)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("118", "type systolic/diastolic, such as 118/76; or 118/76 sitting right arm"),
        ("118/76 right left", "type systolic/diastolic, such as 118/76; or 118/76 sitting right arm"),
        (
            "118/76 leg",
            "unknown word 'leg'; type systolic/diastolic, such as 118/76; or 118/76 sitting right arm",
        ),
        ("76/118", "type the higher pressure first, such as 118/76"),
        ("80/80", "type the higher pressure first, such as 118/76"),
        ("301/80", "a systolic pressure is possible from 30 to 300"),
        ("250/201", "a diastolic pressure is possible from 0 to 200"),
    ],
)
def test_what_is_no_blood_pressure_is_refused(text: str, message: str) -> None:
    with pytest.raises(ReadingError) as raised:
        read("blood-pressure", text)
    assert str(raised.value) == message


@pytest.mark.parametrize(
    ("text", "doubt"),
    [
        ("90/76", "a pulse pressure of 14 mmHg is unusual"),
        ("91/76", ""),
        ("251/100", "a systolic pressure of 251 mmHg is unusual"),
        ("59/31", "a systolic pressure of 59 mmHg is unusual"),
        ("120/29", "a diastolic pressure of 29 mmHg is unusual"),
        ("190/151", "a diastolic pressure of 151 mmHg is unusual"),
    ],
)
def test_an_unlikely_blood_pressure_is_asked_about(text: str, doubt: str) -> None:
    assert read("blood-pressure", text).doubt == doubt


@pytest.mark.parametrize(
    ("text", "canonical"),
    [
        ("118 76", "118/76"),
        ("118-76 sitting", "118/76 sitting"),
        ("118 76 l arm", "118/76 left arm"),
        ("118/p", "118/palp"),
        ("120/palp standing", "120/palp standing"),
        ("120 palp", "120/palp"),
    ],
)
def test_a_pressure_is_read_as_it_is_written_at_the_bedside(text: str, canonical: str) -> None:
    assert read("blood-pressure", text).text == canonical


def test_a_pressure_that_was_felt_has_no_diastolic_and_nothing_that_needs_one() -> None:
    found = read("blood-pressure", "118/p")
    assert found.words == "systolic 118 mmHg by palpation; diastolic not measured, no mean"
    assert found.chart == "systolic 118 mmHg by palpation"
    assert (found.classes, found.remarks, found.figures) == ((), (), {"systolic_mmhg": 118})


@pytest.mark.parametrize(
    ("text", "classes", "remark"),
    [
        ("140/p", ("above", "stage-2"), "in the range called stage 2 (systolic from 140); one reading"),
        (
            "181/p",
            ("above", "severe"),
            "in the range called severe (systolic above 180); measure again",
        ),
        ("90/p", ("below",), "systolic below 91 mmHg"),
    ],
)
def test_a_pressure_that_was_felt_is_compared_by_systolic_alone(
    text: str, classes: tuple[str, ...], remark: str
) -> None:
    found = read("blood-pressure", text)
    assert (found.classes, [each.text for each in found.remarks]) == (classes, [remark])


def test_a_systolic_pressure_stands_alone() -> None:
    found = read("systolic-pressure", "128 mmHg")
    assert (found.text, found.chart) == ("128", "systolic 128 mmHg")
    assert found.words == "systolic pressure 128 millimetres of mercury"
    assert found.figures == {"systolic_mmhg": 128}
    assert read("systolic-pressure", "44").doubt == "a systolic pressure of 44 mmHg is unusual"
    with pytest.raises(ReadingError, match="possible from 20 to 350"):
        read("systolic-pressure", "19")
