"""The better eye, and the range of vision impairment that its acuity lies in."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklist.measures.reading import Fact, Meaning
from tests.measures.eyes import both, swapped
from tests.measures.sights import BETTER, better, distance, eyes, on_log_chart

# ICD-11 9D90, quoted second hand: no impairment 6/12 (20/40, 0.5) or better; mild to 6/18 (20/70, 0.3);
# moderate to 6/60 (20/200, 0.1); severe to 3/60 (20/400, 0.05); worse than that, blindness.
RANGES = [
    ("20/20", "impairment-none"),
    ("6/12", "impairment-none"),
    ("20/40", "impairment-none"),
    ("0.5", "impairment-none"),
    ("20/50", "impairment-mild"),
    ("6/18", "impairment-mild"),
    ("6/19", "impairment-mild"),
    ("20/70", "impairment-mild"),
    ("0.3", "impairment-mild"),
    ("6/24", "impairment-moderate"),
    ("20/80", "impairment-moderate"),
    ("6/60", "impairment-moderate"),
    ("20/200", "impairment-moderate"),
    ("0.1", "impairment-moderate"),
    ("20/250", "impairment-severe"),
    ("5/60", "impairment-severe"),
    ("3/60", "impairment-severe"),
    ("10/200", "impairment-severe"),
    ("20/400", "impairment-severe"),
    ("20/500", "blindness"),
    ("1/60", "blindness"),
    ("cf 1 m", "blindness"),
    ("cf 2 ft", "blindness"),
    ("hm", "blindness"),
    ("lp", "blindness"),
    ("nlp", "blindness"),
]


@pytest.mark.parametrize(("text", "expected"), RANGES)
@pytest.mark.parametrize("side", ["right", "left"])
def test_the_range_is_that_of_the_better_eye(text: str, expected: str, side: str) -> None:
    found = better(eyes(text, "nlp") if side == "right" else eyes("nlp", text))
    assert found is not None
    assert expected in found.classes
    assert ({"alike"} if text == "nlp" else {f"{side}-better"}) <= set(found.classes)
    assert found.words.startswith("right ")
    assert ", left " in found.words


@pytest.mark.parametrize(
    ("text", "tell"), [("20/40", ""), ("20/50", "note"), ("20/80", "report"), ("hm", "report")]
)
def test_a_range_of_impairment_is_told_with_its_limits(text: str, tell: str) -> None:
    found = better(eyes(text, text))
    assert found is not None
    assert found.tell == tell
    assert bool(found.remarks) is bool(tell)


def test_where_the_printed_limits_are_not_equal_by_arithmetic_it_is_said_and_can_be_set() -> None:
    # 6/18 is 20/60, and is printed as equal to 20/70.
    found = better(eyes("20/70", "20/70"))
    assert found is not None
    assert any("worse than 6/18 by arithmetic" in each.text for each in found.remarks)
    exact = better(eyes("6/18", "6/18"))
    assert exact is not None
    assert not any("arithmetic" in each.text for each in exact.remarks)
    strict = better(eyes("20/70", "20/70"), moderate_below=0.3333)
    assert strict is not None
    assert "impairment-moderate" in strict.classes
    assert strict.remarks[0].source == "a test"


def test_no_code_and_no_diagnosis_is_given() -> None:
    found = better(eyes("20/80", "20/200"))
    assert found is not None
    assert found.words == (
        "right 20/80, left 20/200; better eye right:"
        " in the range called moderate vision impairment (worse than 6/18 to 6/60)"
    )
    assert "9D90" not in found.words + found.chart
    assert found.figures == {"better_logmar": pytest.approx(0.602, abs=0.0005)}
    assert any("field" in each.text and each.tell == "" for each in found.remarks)


@pytest.mark.parametrize(
    ("right", "left", "which"),
    [
        ("20/20", "20/25", "right-better"),
        ("20/400", "cf 1 m", "right-better"),
        ("cf 2 m", "cf 1 m", "right-better"),
        ("cf", "hm", "right-better"),
        ("hm", "lp", "right-better"),
        ("lp", "nlp", "right-better"),
        ("20/40", "6/12", "alike"),
        ("hm", "hm", "alike"),
    ],
)
def test_fingers_hand_and_light_stand_in_their_order(right: str, left: str, which: str) -> None:
    found, other = better(eyes(right, left)), better(eyes(left, right))
    assert found is not None
    assert other is not None
    assert which in found.classes
    assert {"right-better": "left-better"}.get(which, which) in other.classes


@pytest.mark.parametrize("text", ["cf", "cf 3 m", "cf 5 m"])
def test_fingers_from_far_or_from_nowhere_are_in_no_range(text: str) -> None:
    found = better(eyes(text, "hm"))
    assert found is not None
    assert "no-category" in found.classes
    assert "no range stated" in found.words


def test_fingers_at_a_distance_that_was_not_recorded_are_not_ranked_against_others() -> None:
    found = better(eyes("cf", "cf 1 m"))
    assert found is not None
    assert found.classes == ("no-category",)
    assert "better" not in found.words


def test_one_eye_gives_no_range() -> None:
    one = Fact(is_expected=True, meaning=distance("20/200"))
    pinhole = Fact(is_expected=True, meaning=distance("20/20 ph"))
    for facts in (both(one, None), both(one, pinhole), both(one, Fact(is_expected=True))):
        found = better(facts)
        assert found is not None
        assert found.classes == ("incomplete",)
        assert found.remarks == ()
        assert found.words.startswith("right 20/200, left eye not measured")
    left = better(both(None, one))
    assert left is not None
    assert left.words.startswith("left 20/200, right eye not measured")


def test_nothing_measured_gives_nothing() -> None:
    assert better({}) is None
    assert better(both(Fact(is_expected=True), None)) is None
    assert better(both(Fact(is_expected=True, meaning=distance("20/20 ph")), None)) is None


def test_of_several_sites_the_protocol_names_the_one_as_worn() -> None:
    facts = {
        (side, site): fact
        for site, texts in {"as worn": ("20/80", "20/80"), "without": ("20/200", "20/200")}.items()
        for (side, _), fact in eyes(*texts).items()
    }
    assert better(facts) is None
    found = better(facts, site="as worn")
    assert found is not None
    assert found.words.startswith("right 20/80, left 20/80; eyes alike")


def test_letters_of_a_chart_in_even_steps_decide_the_line() -> None:
    # 20/40 with two of five missed is read; with three missed it is 20/50.
    for text, expected in (("20/40-2", "impairment-none"), ("20/40-3", "impairment-mild")):
        fact = Fact(is_expected=True, meaning=on_log_chart(text))
        found = better(both(fact, fact))
        assert found is not None
        assert expected in found.classes


ORDER = ["impairment-none", "impairment-mild", "impairment-moderate", "impairment-severe", "blindness"]
HUNDREDTHS = st.integers(-30, 200)


@given(HUNDREDTHS, HUNDREDTHS, HUNDREDTHS)
def test_a_worse_other_eye_never_changes_the_range_and_sides_are_alike(
    one: int, two: int, three: int
) -> None:
    best, *others = sorted((one, two, three))
    texts = [f"{value / 100} logmar" for value in (best, *others)]
    ranges = []
    for facts in (eyes(texts[0], texts[1]), eyes(texts[0], texts[2]), swapped(eyes(texts[0], texts[2]))):
        found = better(facts)
        assert found is not None
        ranges.append(next(name for name in found.classes if name in ORDER))
    assert len(set(ranges)) == 1


@given(HUNDREDTHS, HUNDREDTHS)
def test_a_worse_acuity_is_never_in_a_better_range(one: int, other: int) -> None:
    places = []
    for value in sorted((one, other)):
        found = better(eyes(f"{value / 100} logmar", f"{value / 100} logmar"))
        assert found is not None
        places.append(next(ORDER.index(name) for name in found.classes if name in ORDER))
    assert places == sorted(places)


def test_a_limit_names_its_source() -> None:
    assert {option.name for option in BETTER.options if not option.source} == {"site"}


def test_readings_that_are_no_acuities_are_not_ranked() -> None:
    """A protocol may name any step for the acuity."""
    beats = Meaning(text="72", words="72 beats a minute", chart="72/min", classes=("in-range",))
    assert better({(side, ""): Fact(is_expected=True, meaning=beats) for side in ("right", "left")}) is None
