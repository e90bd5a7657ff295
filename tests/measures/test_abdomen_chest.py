"""Chest and abdomen: liver span, how far the diaphragm moves, and bowel sounds a minute."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklist.measures import catalogue
from checklist.measures.abdomen_chest import excursion
from checklist.measures.reading import Facts, Meaning, OptionValue
from checklist.measures.timing import tapped, tapped_text
from tests.measures.head import SWAP, found, holds_the_laws, measured, read, refusal, texts

BANDS = ("below", "in-range", "above")


@pytest.mark.parametrize(
    ("typed", "text", "cm", "band"),
    [
        # 6 to 12 cm in the mid-clavicular line: physical diagnosis texts, quoted second hand.
        ("5.9", "5.9 cm", 5.9, "below"),
        ("6", "6 cm", 6, "in-range"),
        ("10 cm", "10 cm", 10, "in-range"),
        ("105 mm", "10.5 cm", 10.5, "in-range"),
        ("10,5 CM", "10.5 cm", 10.5, "in-range"),
        ("12", "12 cm", 12, "in-range"),
        ("121mm", "12.1 cm", 12.1, "above"),
        ("10 cm mcl", "10 cm", 10, "in-range"),
        # 4 to 8 cm in the midsternal line: physical diagnosis texts, from memory.
        ("3.9 cm midsternal", "3.9 cm midsternal", 3.9, "below"),
        ("4 midsternal line", "4 cm midsternal", 4, "in-range"),
        ("8 cm in the midsternal line", "8 cm midsternal", 8, "in-range"),
        ("81 mm msl", "8.1 cm midsternal", 8.1, "above"),
    ],
)
def test_a_liver_span_is_placed_in_the_range_of_its_line(typed: str, text: str, cm: float, band: str) -> None:
    meaning = read("liver-span", typed)
    assert (meaning.text, meaning.figures["liver_span_cm"], meaning.classes) == (text, cm, (band,))
    assert meaning.tell == ("" if band == "in-range" else "report")


def test_a_liver_span_says_line_range_and_the_error_of_percussion() -> None:
    # An error of 2 to 3 cm: physical diagnosis texts, quoted second hand.
    meaning = read("liver-span", "13")
    assert meaning.words == (
        "13 centimetres in the mid-clavicular line; range 6 to 12 cm; percussion is off by 2 to 3 cm"
    )
    above, error = meaning.remarks
    assert (above.text, above.tell) == ("above 12 cm in the mid-clavicular line", "report")
    assert (error.text, error.tell) == ("percussion is off by 2 to 3 cm", "")
    assert "second hand" in above.source and "second hand" in error.source


def test_a_protocol_names_the_line_and_the_limits_and_then_is_their_source() -> None:
    assert read("liver-span", "9", line="midsternal").classes == ("above",)
    assert read("liver-span", "9 mcl", line="midsternal").text == "9 cm mid-clavicular"
    meaning = read("liver-span", "13", highest_cm=15.0)
    assert meaning.classes == ("in-range",)
    assert read("liver-span", "15.1", highest_cm=15.0).remarks[0].source == "as set"


@pytest.mark.parametrize(
    ("kind", "typed", "said"),
    [
        ("liver-span", "", "type cm, such as 10"),
        ("liver-span", "two fingers", "type cm, such as 10"),
        ("liver-span", "-5", "type cm, such as 10"),
        ("liver-span", "0.9", "from 1 to 40 cm"),
        ("liver-span", "105", "from 1 to 40 cm"),
        ("diaphragm-excursion", "", "type cm, such as 4.5"),
        ("diaphragm-excursion", "8/3", "breathed out comes first"),
        ("diaphragm-excursion", "3 cm/80 mm", "type cm, such as 4.5"),
        ("diaphragm-excursion", "45", "from 0 to 15 cm"),
        ("diaphragm-excursion", "1/17", "from 0 to 15 cm"),
        ("diaphragm-excursion", "38/41", "from 0 to 40 cm"),
        ("bowel-sounds", "", "type sounds a minute"),
        ("bowel-sounds", "few", "type sounds a minute"),
        ("bowel-sounds", "none", "type sounds a minute"),
        ("bowel-sounds", "0", "none in how long"),
        ("bowel-sounds", "0 +-1 over 60 s, variation 3 %", "none in how long"),
        ("bowel-sounds", "201", "from 0 to 200 a minute"),
        ("bowel-sounds", "3 in 4 s", "from 5 to 3600 s"),
        ("bowel-sounds", "none in 61 min", "from 5 to 3600 s"),
    ],
)
def test_what_cannot_be_is_refused_with_what_can(kind: str, typed: str, said: str) -> None:
    assert said in refusal(kind, typed)


@pytest.mark.parametrize(
    ("kind", "typed", "doubt"),
    [
        ("liver-span", "3.9", "a liver span of 3.9 cm is unusual"),
        ("liver-span", "4", ""),
        ("liver-span", "20", ""),
        ("liver-span", "20.1", "a liver span of 20.1 cm is unusual"),
        # 7 to 8 cm in the fit: quoted second hand.
        ("diaphragm-excursion", "8", ""),
        ("diaphragm-excursion", "9.1", "an excursion of 9.1 cm is unusual"),
        ("bowel-sounds", "100", ""),
        ("bowel-sounds", "101", "101 sounds a minute is unusual"),
    ],
)
def test_unlikely_values_are_asked_about(kind: str, typed: str, doubt: str) -> None:
    assert read(kind, typed).doubt == doubt


@pytest.mark.parametrize(
    ("typed", "text", "cm", "band"),
    [
        # 3 to 5.5 cm: Bates, from memory.
        ("2.9", "2.9 cm", 2.9, "below"),
        ("3", "3 cm", 3, "in-range"),
        ("4,5 cm", "4.5 cm", 4.5, "in-range"),
        ("45 mm", "4.5 cm", 4.5, "in-range"),
        ("5.5", "5.5 cm", 5.5, "in-range"),
        ("5.6", "5.6 cm", 5.6, "above"),
        # Level breathed in less level breathed out: quoted second hand.
        ("3/8 cm", "3/8 cm", 5, "in-range"),
        ("3 cm / 8 cm", "3/8 cm", 5, "in-range"),
        ("30/80 mm", "3/8 cm", 5, "in-range"),
        ("3/5.9", "3/5.9 cm", 2.9, "below"),
        ("2.1/5.1", "2.1/5.1 cm", 3, "in-range"),
        ("0/5.5", "0/5.5 cm", 5.5, "in-range"),
        ("8/8", "8/8 cm", 0, "below"),
    ],
)
def test_an_excursion_is_read_in_cm_or_as_two_levels(typed: str, text: str, cm: float, band: str) -> None:
    meaning = read("diaphragm-excursion", typed)
    assert (meaning.text, meaning.figures["excursion_cm"], meaning.classes) == (text, cm, (band,))


def test_an_excursion_shows_its_levels_and_tells_only_of_a_small_one() -> None:
    meaning = read("diaphragm-excursion", "3/5 cm")
    assert meaning.words == (
        "2 centimetres, from a level of 3 cm breathed out to 5 cm breathed in; range 3 to 5.5 cm"
    )
    assert meaning.chart == "2 cm (levels 3/5 cm, breathed out/in)"
    (remark,) = meaning.remarks
    assert (remark.text, remark.tell) == ("below 3 cm", "report") and "from memory" in remark.source
    (remark,) = read("diaphragm-excursion", "7").remarks
    assert (remark.text, remark.tell) == ("above 5.5 cm", "") and "7 to 8 cm in the fit" in remark.source


@given(st.integers(0, 150), st.integers(0, 250))
def test_levels_give_their_difference(difference: int, out: int) -> None:
    assert excursion(out, out + difference) == difference
    meaning = read("diaphragm-excursion", f"{out}/{out + difference} mm")
    assert meaning.figures["excursion_cm"] == pytest.approx(difference / 10)
    assert meaning.classes == read("diaphragm-excursion", f"{difference} mm").classes


def sides(right: str, left: str) -> Facts:
    kind = "diaphragm-excursion"
    return {("right", ""): measured(kind, right), ("left", ""): measured(kind, left)}


def compared(facts: Facts, **options: OptionValue) -> Meaning | None:
    kind = catalogue.KINDS["diaphragm-excursion"]
    meaning = catalogue.together(kind, facts, catalogue.options(kind, options, "as set"))
    assert meaning is None or set(meaning.classes) <= set(kind.together)
    return meaning


@pytest.mark.parametrize(
    ("right", "left", "said", "tell"),
    [
        # 2 cm apart: common practice, no source.
        ("4.5", "4.5", "alike", ""),
        ("5", "3.1", "alike", ""),
        ("5", "3", "less-left", "report"),
        ("3/5.5", "4.5", "less-right", "report"),
    ],
)
def test_a_side_that_moves_less_is_told(right: str, left: str, said: str, tell: str) -> None:
    meaning = compared(sides(right, left))
    assert meaning is not None
    assert (meaning.classes, meaning.tell, meaning.text) == ((said,), tell, "")
    assert meaning.chart.startswith("right ") and ", left " in meaning.chart


def test_one_side_alone_or_one_not_measured_is_not_compared() -> None:
    one = ("right", ""), measured("diaphragm-excursion", "4")
    assert compared(dict([one])) is None
    assert compared(dict([one, (("left", ""), found("dull"))])) is None


@given(st.integers(0, 150), st.integers(0, 150))
def test_swapped_sides_swap_the_side_that_moves_less(right: int, left: int) -> None:
    here = compared(sides(f"{right} mm", f"{left} mm"))
    there = compared(sides(f"{left} mm", f"{right} mm"))
    assert here is not None and there is not None
    mirrored = tuple(f"less-{SWAP[each[5:]]}" if each.startswith("less-") else each for each in here.classes)
    assert there.classes == mirrored and there.tell == here.tell
    assert (here.classes == ("alike",)) == (abs(right - left) < 20)


@pytest.mark.parametrize(
    ("typed", "text", "rate", "band"),
    [
        # 5 to 34 a minute: nursing texts, from memory, on weak evidence.
        ("4", "4", 4, "below"),
        ("5", "5", 5, "in-range"),
        ("12", "12", 12, "in-range"),
        ("12/min", "12", 12, "in-range"),
        ("12 a minute", "12", 12, "in-range"),
        ("34 per minute", "34", 34, "in-range"),
        ("35", "35", 35, "above"),
        ("15 in 60 s", "15 in 60 s", 15, "in-range"),
        ("15 in 1 min", "15 in 60 s", 15, "in-range"),
        ("3 heard in 45 sec", "3 in 45 s", 4, "below"),
        ("2 in 5 min", "2 in 300 s", 0.4, "below"),
        ("9 over 15 s", "9 in 15 s", 36, "above"),
        ("12 +-2 over 60 s, variation 30 %", "12 +-2 over 60 s, variation 30 %", 12, "in-range"),
        ("12 ±2 over 60 s, variation 30 % irregular", "12 +-2 over 60 s, variation 30 %", 12, "in-range"),
        ("40 +-2 over 60 s, variation 30 %", "40 +-2 over 60 s, variation 30 %", 40, "above"),
    ],
)
def test_bowel_sounds_are_a_rate_a_count_or_tapped(typed: str, text: str, rate: float, band: str) -> None:
    meaning = read("bowel-sounds", typed)
    assert (meaning.text, meaning.figures["sounds_per_minute"], meaning.classes) == (text, rate, (band,))
    assert meaning.tell == {"below": "report", "in-range": "", "above": "note"}[band]


# The slope of tap time against tap number: 5 s when even; (-1*1 + 1*10 + 2*20) / 10 = 4.9 s when not.
@pytest.mark.parametrize("times", [(0.0, 5.0, 10.0, 15.0, 20.0), (0.0, 1.0, 9.0, 10.0, 20.0)])
def test_what_tapping_gives_is_read_as_bowel_sounds(times: tuple[float, ...]) -> None:
    rate = tapped(times)
    assert rate is not None
    meaning = read("bowel-sounds", tapped_text(rate))
    assert (meaning.figures["sounds_per_minute"], meaning.classes) == (12, ("in-range",))


@pytest.mark.parametrize(
    ("typed", "text", "said", "tell"),
    [
        # Absent after 5 minutes: nursing texts, from memory; 2, 3 or 7 in others, on weak evidence.
        ("none in 1 min", "none in 1 min", "below", "report"),
        ("0 in 60 s", "none in 1 min", "below", "report"),
        ("none in 299 s", "none in 299 s", "below", "report"),
        ("none in 4.9 min", "none in 294 s", "below", "report"),
        ("none in 5 min", "none in 5 min", "absent", "urgent"),
        ("silent for 300 s", "none in 5 min", "absent", "urgent"),
        ("no sounds heard in 7 minutes", "none in 7 min", "absent", "urgent"),
    ],
)
def test_none_is_absent_only_after_the_full_time(typed: str, text: str, said: str, tell: str) -> None:
    meaning = read("bowel-sounds", typed)
    assert (meaning.text, meaning.classes, meaning.tell) == (text, (said,), tell)
    assert ("listen for the full 5 min" in meaning.words) == (said != "absent")


def test_silence_names_how_long_and_that_the_evidence_is_weak() -> None:
    assert read("bowel-sounds", "none in 3 min", absent_minutes=3.0).classes == ("absent",)
    (remark,) = read("bowel-sounds", "none in 5 min").remarks
    assert remark.text == "none in the full 5 min" and "weak evidence" in remark.source
    below, listen = read("bowel-sounds", "none in 1 min").remarks
    assert below.text == "below 5 a minute" and "weak evidence" in below.source
    assert (listen.text, listen.tell) == ("not yet absent: listen for the full 5 min", "")


@pytest.mark.parametrize(
    ("kind", "unit"), [("liver-span", " mm"), ("diaphragm-excursion", " mm"), ("bowel-sounds", "")]
)
@given(st.integers(10, 150), st.integers(10, 150))
def test_a_larger_value_is_never_in_a_lower_class(kind: str, unit: str, one: int, other: int) -> None:
    low, high = sorted((one, other))
    bands = [BANDS.index(read(kind, f"{each}{unit}").classes[0]) for each in (low, high)]
    assert bands == sorted(bands)


@given(st.integers(5, 3600), st.integers(0, 60))
def test_counts_come_back_as_they_were_typed(seconds: int, count: int) -> None:
    assert holds_the_laws("bowel-sounds", f"{count} in {seconds} s") == (
        round(count * 60 / seconds, 6) <= 200.05
    )


@given(st.integers(10, 400))
def test_spans_come_back_as_they_were_typed(mm: int) -> None:
    for line in ("", " midsternal", " mcl"):
        assert holds_the_laws("liver-span", f"{mm} mm{line}")
        assert read("liver-span", f"{mm / 10} cm{line}") == read("liver-span", f"{mm} mm{line}")


@given(texts("0123456789 .,mcsternalid-"))
def test_any_text_is_read_as_a_liver_span_or_refused(text: str) -> None:
    holds_the_laws("liver-span", text)
    holds_the_laws("liver-span", text, line="midsternal")


@given(texts("0123456789 .,/mc"))
def test_any_text_is_read_as_an_excursion_or_refused(text: str) -> None:
    holds_the_laws("diaphragm-excursion", text)


@given(texts("0123456789 .,/inomesr+-%"))
def test_any_text_is_read_as_bowel_sounds_or_refused(text: str) -> None:
    holds_the_laws("bowel-sounds", text)
