"""Acuity near: sizes of print, distance of the card, the limit for near vision."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklist.measures.near_vision import distance_equal, m_units
from checklist.measures.reading import ReadingError
from tests.measures.sights import KIND, near


@pytest.mark.parametrize(
    ("points", "units", "denominator"),
    [
        # Near equivalence sheet, quoted second hand: 6/60 = 4 M = N32; 6/30 = 2 M = N16; 6/15 = 1 M = N8.
        (32, 4, 200),
        (16, 2, 100),
        (8, 1, 50),
    ],
)
def test_points_m_units_and_the_angle_at_40_cm_agree(points: int, units: float, denominator: float) -> None:
    assert m_units(points) == units
    assert distance_equal(units, 40) == pytest.approx(denominator)
    assert near(f"N{points}").figures == {"card_cm": 40, "print_m_units": units}
    assert near(f"20/{denominator:g}").figures["print_m_units"] == pytest.approx(units)
    assert f"20/{denominator}" in near(f"{units} M").words


def test_the_name_of_a_size_is_not_its_arithmetic() -> None:
    # The same sheet gives N6 as 0.8 M and N3 as 0.4 M; an eighth of the points is 0.75 and 0.375.
    assert near("N6").figures["print_m_units"] == 0.75
    assert "0.75 M, called 0.8 M" in near("N6").words
    assert "called 0.4 M" in near("N3").words
    assert "called" not in near("N8").words


@pytest.mark.parametrize(
    ("text", "classes"),
    [
        # WHO fact sheet, quoted second hand: impaired when worse than N6 or 0.8 M at 40 cm.
        ("N5", ("in-range",)),
        ("N6", ("in-range",)),
        ("0.8 M", ("in-range",)),
        ("20/40", ("in-range",)),
        ("6/12", ("in-range",)),
        ("N8", ("worse-than-limit",)),
        ("1 M", ("worse-than-limit",)),
        ("20/50", ("worse-than-limit",)),
        ("N6 at 16 in", ("in-range",)),
        ("N6 at 60 cm", ("other-distance",)),
        ("N8 at 33 cm", ("other-distance",)),
        ("J2", ("unsized",)),
        ("none", ("worse-than-limit", "no-print")),
    ],
)
def test_the_limit_is_for_40_cm_and_for_sizes_that_are_known(text: str, classes: tuple[str, ...]) -> None:
    found = near(text)
    assert found.classes == classes
    assert found.tell == ("report" if "worse-than-limit" in classes else "")


def test_the_limit_and_how_fast_it_is_told_are_options() -> None:
    found = near("0.8 M", limit_m=0.4, tell="note")
    assert [(each.text, each.source, each.tell) for each in found.remarks] == [
        ("print above 0.4 M at 40 cm", "a test", "note")
    ]


def test_letters_named_by_their_angle_have_their_size_from_the_distance_of_the_card() -> None:
    # 20/20 at 40 cm is 0.4 M (M units are metres at which the size is 5 minutes of arc).
    assert near("20/20").figures["print_m_units"] == pytest.approx(0.4)
    assert near("20/20", card_distance_cm=33).figures["print_m_units"] == pytest.approx(0.33)
    assert "at 33 cm" in near("20/20", card_distance_cm=33).chart


def test_numbers_without_a_standard_size_are_kept_as_text() -> None:
    found = near("j2 at 14 in")
    assert (found.text, found.chart) == ("J2 at 14 in", "J2 print at 14 in")
    assert "no standard size" in found.words
    assert "print_m_units" not in found.figures
    assert near("J1+").text == "J1+"


@pytest.mark.parametrize(
    ("typed", "text"),
    [
        ("n 6", "N6"),
        ("n4.5", "N4.5"),
        ("0,4m", "0.4 M"),
        ("M 0.8", "0.8 M"),
        ("0.8 m @ 40cm", "0.8 M at 40 cm"),
        ("near 20/20", "20/20"),
        ("20/20 near cc", "20/20 cc"),
        ("N8 at 33 cm without correction", "N8 at 33 cm sc"),
        ("no print", "none"),
        ("n5 33cm", "N5 at 33 cm"),
        ("0.8 m 16 in", "0.8 M at 16 in"),
    ],
)
def test_what_clinicians_write_is_read(typed: str, text: str) -> None:
    assert near(typed).text == text


@pytest.mark.parametrize(
    "text", ["", "good", "N", "6", "0.8", "N6 at", "N6 at 40", "N6 0.8 M", "12/20", "J", "near"]
)
def test_what_is_no_near_acuity_says_what_is_accepted(text: str) -> None:
    with pytest.raises(ReadingError, match=r"type N6, 0\.8 M, 20/40 or J2"):
        near(text)


@pytest.mark.parametrize("text", ["N0", "N500", "0 M", "30 M", "20/2", "20/9000", "N6 at 1 cm", "N6 at 3 m"])
def test_the_impossible_is_refused_with_what_is_possible(text: str) -> None:
    with pytest.raises(ReadingError, match="possible from"):
        near(text)


def test_a_distance_that_cards_are_not_held_at_is_asked_about() -> None:
    assert near("N6 at 15 cm").doubt == "a card at 15 cm is unusual"
    assert near("N6 at 80 cm").doubt != ""
    assert near("N6 at 40 cm").doubt == near("N6").doubt == ""


SIZES = st.integers(1, 100).map(lambda n: f"N{n}") | st.integers(1, 250).map(lambda n: f"{n / 10} M")
OTHERS = st.sampled_from(["20/20", "6/12", "20/800", "J1", "J10", "none"])
AT = st.sampled_from(["", " at 33 cm", " @ 16 in", " at 0.5 m", " at 1 ft"])
WORN = st.sampled_from(["", " cc", " sc"])


@given(SIZES | OTHERS, AT, WORN)
def test_the_canonical_text_means_the_same_and_the_echo_is_short(size: str, at: str, worn: str) -> None:
    found = near(size + at + worn)
    assert near(found.text) == found
    assert len(found.words) <= 140


@given(st.text(max_size=20) | st.text("0123456789/.,nmj atc", max_size=14))
def test_any_text_is_read_or_refused(text: str) -> None:
    try:
        assert near(text).text
    except ReadingError as error:
        assert "\n" not in str(error)


@given(st.integers(1, 250), st.integers(1, 250))
def test_larger_print_is_never_the_better_class(one: int, other: int) -> None:
    small, large = (near(f"{value / 10} M").classes for value in sorted((one, other)))
    assert (small, large) != (("worse-than-limit",), ("in-range",))


def test_a_clinical_default_names_its_source() -> None:
    assert all(option.source for option in KIND["near-acuity"].options)
    assert len(KIND["near-acuity"].accepts) <= 70
