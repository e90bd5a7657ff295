"""Vital signs: what is read, what is refused, and where the published limits lie."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from checklist.measures import catalogue, vital_kinds
from checklist.measures.reading import TELLS, Meaning, OptionValue, ReadingError
from checklist.measures.timing import tapped, tapped_text
from checklist.measures.typed import rounded
from checklist.measures.vitals import to_celsius, to_fahrenheit

IDS = [kind.id for kind in vital_kinds.KINDS]


def read(kind: str, text: str, **values: OptionValue) -> Meaning:
    of = catalogue.KINDS[kind]
    return catalogue.read(of, text, catalogue.options(of, values, "a test"))


PIECES = (
    *(
        "118/76",
        "190 over 130",
        "72",
        "18 in 15 s",
        "72 +-2 over 20 s, variation 4 %",
        "0",
        "37.2",
        "99",
        "99,5",
    ),
    *(
        "1.72",
        "1.725",
        "172",
        "5 ft",
        "8 in",
        "5'8",
        "11 st",
        "4",
        "150",
        "10",
        "/10",
        "at rest",
        ",",
        "3 on movement",
    ),
    *(
        "irregular",
        "reg",
        "sitting",
        "lying",
        "stand",
        "right",
        "left arm",
        "C",
        "F",
        "ear",
        "armpit",
        "%",
        "L",
        "kg",
    ),
    *(
        "lb",
        "m",
        "cm",
        "mmHg",
        "nasal",
        "venturi mask",
        "air",
        "alert",
        "v",
        "new confusion",
        "/min",
        "bpm",
        " ",
        "²",
    ),
)
TYPED = st.lists(st.sampled_from(PIECES), max_size=4).map(" ".join) | st.text(max_size=20)


@pytest.mark.parametrize("kind", IDS)
@given(text=TYPED)
def test_any_text_is_a_reading_that_stands_or_says_what_is_accepted(kind: str, text: str) -> None:
    try:
        found = read(kind, text)
    except ReadingError as error:
        assert 0 < len(str(error)) <= 110
        assert "\n" not in str(error)
        return
    assert read(kind, found.text) == found
    assert found.text.isascii()
    assert set(found.classes) <= set(catalogue.KINDS[kind].classes)
    assert all(remark.text and remark.source and remark.tell in TELLS for remark in found.remarks)
    assert len(found.words) <= 140


@pytest.mark.parametrize("kind", IDS)
def test_what_is_named_as_accepted_is_accepted(kind: str) -> None:
    examples = catalogue.KINDS[kind].accepts.partition(" (")[0].split("; ")
    if kind == "consciousness":
        examples = ["alert", "confusion", "voice", "pain", "unresponsive"]
    for text in examples:
        assert read(kind, text).text
    assert len(catalogue.KINDS[kind].accepts) <= 70


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
        ("118/76 leg", "type systolic/diastolic, such as 118/76; or 118/76 sitting right arm"),
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


def test_a_systolic_pressure_stands_alone() -> None:
    found = read("systolic-pressure", "128 mmHg")
    assert (found.text, found.chart) == ("128", "systolic 128 mmHg")
    assert found.words == "systolic pressure 128 millimetres of mercury"
    assert found.figures == {"systolic_mmhg": 128}
    assert read("systolic-pressure", "44").doubt == "a systolic pressure of 44 mmHg is unusual"
    with pytest.raises(ReadingError, match="possible from 20 to 350"):
        read("systolic-pressure", "19")


# ------------------------------------------------------------------ rates


@pytest.mark.parametrize(
    ("text", "canonical", "words", "chart"),
    [
        ("72", "72", "72 beats a minute", "72/min"),
        ("72 bpm irreg", "72 irregular", "72 beats a minute, irregular", "72/min irregular"),
        ("72/min regular", "72 regular", "72 beats a minute, regular", "72/min regular"),
        (
            "18 in 15 sec",
            "18 in 15 s",
            "18 beats in 15 seconds, 72 a minute; one more or less is 4 a minute",
            "72/min (18 in 15 s)",
        ),
        (
            "72 ± 2 over 20 s, variation 4%",
            "72 +-2 over 20 s, variation 4 %",
            "72 beats a minute, give or take 2 (95 %), tapped over 20 s; intervals vary by 4 %",
            "72/min (tapped over 20 s, ±2)",
        ),
    ],
)
def test_a_rate_keeps_how_it_was_taken(text: str, canonical: str, words: str, chart: str) -> None:
    found = read("pulse-rate", text)
    assert (found.text, found.words, found.chart) == (canonical, words, chart)
    assert found.figures == {"pulse_per_minute": 72}


@given(st.lists(st.floats(0.2, 8), min_size=3, max_size=40))
def test_a_tapped_rate_is_read_back_as_it_was_written(gaps: list[float]) -> None:
    rate = tapped([math.fsum(gaps[:i]) for i in range(len(gaps) + 1)])
    assert rate is not None
    text = tapped_text(rate)
    found = read("pulse-rate", text)
    assert found.text == text
    assert found.figures["pulse_per_minute"] == pytest.approx(rate.per_minute, abs=0.5 + 1e-9)
    assert ("irregular" in found.classes) == rate.is_irregular


def test_respirations_are_breaths() -> None:
    found = read("respiratory-rate", "8 in 30 s")
    assert found.words == "8 breaths in 30 seconds, 16 a minute; one more or less is 2 a minute"
    assert found.figures == {"respirations_per_minute": 16}


def test_respirations_counted_for_less_than_half_a_minute_are_said_to_be() -> None:
    assert [each.text for each in read("respiratory-rate", "4 in 15 s").remarks] == [
        "counted for less than 30 s"
    ]
    assert read("respiratory-rate", "8 in 30 s").remarks == ()
    assert read("pulse-rate", "18 in 15 s").remarks == ()


@pytest.mark.parametrize(
    "text", ["72 irregular", "18 in 15 s irregular", "72 +-9 over 59 s, variation 20 % irregular"]
)
def test_an_irregular_pulse_is_counted_for_a_full_minute(text: str) -> None:
    (remark,) = read("pulse-rate", text).remarks
    assert (remark.text, remark.tell) == ("irregular: count a full minute", "report")


@pytest.mark.parametrize("text", ["72 in 60 s irregular", "72 +-9 over 60 s, variation 20 % irregular"])
def test_an_irregular_pulse_over_a_full_minute_is_reported_as_such(text: str) -> None:
    (remark,) = read("pulse-rate", text).remarks
    assert (remark.text, remark.tell) == ("irregular, over a full minute", "report")


@pytest.mark.parametrize(
    ("kind", "text", "classes", "tell"),
    [
        # Usual ranges 60 to 100 and 12 to 20: common practice, no source.
        # Points: NEWS2 chart 1, read in a copy. Pulse: 3 up to 40 and from 131, 1 from 41 to 50, 2 from 111.
        # Respirations: 3 up to 8 and from 25, 2 from 21.
        ("pulse-rate", "40", ("below", "far-below"), "urgent"),
        ("pulse-rate", "41", ("below",), "report"),
        ("pulse-rate", "50", ("below",), "report"),
        ("pulse-rate", "51", ("below",), "note"),
        ("pulse-rate", "59", ("below",), "note"),
        ("pulse-rate", "60", ("in-range",), ""),
        ("pulse-rate", "100", ("in-range",), ""),
        ("pulse-rate", "101", ("above",), "note"),
        ("pulse-rate", "110", ("above",), "note"),
        ("pulse-rate", "111", ("above",), "report"),
        ("pulse-rate", "130", ("above",), "report"),
        ("pulse-rate", "131", ("above", "far-above"), "urgent"),
        ("respiratory-rate", "0", ("below", "far-below"), "urgent"),
        ("respiratory-rate", "8", ("below", "far-below"), "urgent"),
        ("respiratory-rate", "9", ("below",), "note"),
        ("respiratory-rate", "11", ("below",), "note"),
        ("respiratory-rate", "12", ("in-range",), ""),
        ("respiratory-rate", "20", ("in-range",), ""),
        ("respiratory-rate", "21", ("above",), "report"),
        ("respiratory-rate", "24", ("above",), "report"),
        ("respiratory-rate", "25", ("above", "far-above"), "urgent"),
        # NEWS2 chart 1, scale 1: 3 up to 91, 2 from 92, 1 from 94, 0 from 96.
        ("oxygen-saturation", "91", ("below", "far-below"), "urgent"),
        ("oxygen-saturation", "92", ("below",), "report"),
        ("oxygen-saturation", "93", ("below",), "report"),
        ("oxygen-saturation", "94", ("below",), "note"),
        ("oxygen-saturation", "95", ("below",), "note"),
        ("oxygen-saturation", "96", ("in-range",), ""),
        # NEWS2 chart 1 below: 3 up to 35.0, 1 up to 36.0. Above: common practice, no source; fever from 38.0.
        ("temperature", "35.0", ("below", "far-below"), "urgent"),
        ("temperature", "35.04", ("below", "far-below"), "urgent"),
        ("temperature", "35.05", ("below",), "note"),
        ("temperature", "36.0", ("below",), "note"),
        ("temperature", "36.1", ("in-range",), ""),
        ("temperature", "37.5", ("in-range",), ""),
        ("temperature", "37.6", ("above",), "note"),
        ("temperature", "37.94", ("above",), "note"),
        ("temperature", "37.95", ("above",), "report"),
        ("temperature", "100.4 F", ("above",), "report"),
        ("temperature", "41.0", ("above", "far-above"), "urgent"),
    ],
)
def test_limits_are_those_of_their_source(kind: str, text: str, classes: tuple[str, ...], tell: str) -> None:
    found = read(kind, text)
    assert (found.classes, found.tell) == (classes, tell)


@pytest.mark.parametrize("kind", ["pulse-rate", "respiratory-rate"])
@given(st.integers(0, 119))
def test_a_faster_rate_is_never_in_a_lower_class(kind: str, rate: int) -> None:
    order = [("below", "far-below"), ("below",), ("in-range",), ("above",), ("above", "far-above")]
    slower, faster = (order.index(read(kind, str(each)).classes) for each in (rate, rate + 1))
    assert slower <= faster


def test_a_protocol_may_set_the_limits() -> None:
    found = read("pulse-rate", "58", usual_low=55)
    assert found.classes == ("in-range",)
    (remark,) = read("pulse-rate", "54", usual_low=55).remarks
    assert (remark.text, remark.source) == ("below 55 a minute", "a test")


@pytest.mark.parametrize(
    ("kind", "text", "message"),
    [
        ("pulse-rate", "fast", "type whole beats a minute, such as 72; or 18 in 15 s"),
        ("pulse-rate", "72.5", "type whole beats a minute, such as 72; or 18 in 15 s"),
        ("pulse-rate", "301", "a pulse rate is possible from 0 to 300"),
        ("pulse-rate", "18 in 4 s", "a count in seconds is possible from 5 to 120"),
        ("respiratory-rate", "", "type whole breaths a minute, such as 16; or 8 in 30 s"),
        ("respiratory-rate", "121", "a respiratory rate is possible from 0 to 120"),
        ("temperature", "warm", "type degrees, such as 37.2; 99 F; or 38.4 C ear"),
        ("temperature", "37 knee", "type degrees, such as 37.2; 99 F; or 38.4 C ear"),
        ("temperature", "60", "type degrees, such as 37.2; 99 F; or 38.4 C ear"),
        ("temperature", "24", "a temperature in Celsius is possible from 25 to 45"),
        ("temperature", "99 C", "a temperature in Celsius is possible from 25 to 45"),
        ("temperature", "37 F", "a temperature in Fahrenheit is possible from 77 to 113"),
        ("oxygen-saturation", "97.5", "type whole per cent, such as 97"),
        ("oxygen-saturation", "101", "a saturation in per cent is possible from 30 to 100"),
        ("breathing-gas", "20 %", "inspired oxygen in per cent is possible from 22 to 100"),
        ("breathing-gas", "81 L", "oxygen in litres a minute is possible from 0.05 to 80"),
        ("pain-score", "11", "a pain score is possible from 0 to 10"),
        ("pain-score", "3, 4", "type 0 to 10, such as 4; or 3 at rest, 6 on movement"),
        ("pain-score", "3, 4 at rest", "type 0 to 10, such as 4; or 3 at rest, 6 on movement"),
        ("pain-score", "3 at rest, 4 at rest", "type 0 to 10, such as 4; or 3 at rest, 6 on movement"),
        ("body-height", "68", "type cm, such as 172; 1.72 m; or 5 ft 8 in"),
        ("body-height", "5 ft 12 in", "inches beside feet are below 12"),
        ("body-height", "281 cm", "a height in cm is possible from 20 to 280"),
        ("body-weight", "70", "type the unit as well, such as 70 kg; 154 lb; or 11 st 4 lb"),
        ("body-weight", "11 st 14 lb", "pounds beside stones are below 14"),
        ("body-weight", "651 kg", "a weight in kg is possible from 0.2 to 650"),
    ],
)
def test_what_is_no_such_reading_is_refused_with_what_is(kind: str, text: str, message: str) -> None:
    with pytest.raises(ReadingError) as raised:
        read(kind, text)
    assert str(raised.value) == message


@pytest.mark.parametrize(
    ("kind", "likely", "unlikely", "doubt"),
    [
        ("pulse-rate", "30", "29", "a pulse rate of 29 is unusual"),
        ("pulse-rate", "220", "221", "a pulse rate of 221 is unusual"),
        ("respiratory-rate", "60", "61", "a respiratory rate of 61 is unusual"),
        ("temperature", "34", "33.9", "a temperature of 33.9 °C is unusual"),
        ("temperature", "106.7 F", "107 F", "a temperature of 41.7 °C is unusual"),
        ("oxygen-saturation", "70", "69", "a saturation of 69 % is unusual"),
        ("breathing-gas", "15 L", "16 L", "a flow of 16 L/min is unusual"),
        ("body-height", "130", "129", "a height of 129 cm is unusual"),
        ("body-weight", "250 kg", "251 kg", "a weight of 251 kg is unusual"),
    ],
)
def test_an_unlikely_value_is_asked_about(kind: str, likely: str, unlikely: str, doubt: str) -> None:
    assert read(kind, likely).doubt == ""
    assert read(kind, unlikely).doubt == doubt


# ------------------------------------------------------------------ temperature


@given(st.floats(-80, 200))
def test_degrees_are_converted_as_elsewhere(degrees: float) -> None:
    there = float(constants.convert_temperature(degrees, "Celsius", "Fahrenheit"))
    assert to_fahrenheit(degrees) == pytest.approx(there)
    back = float(constants.convert_temperature(degrees, "Fahrenheit", "Celsius"))
    assert to_celsius(degrees) == pytest.approx(back)


@given(st.integers(770, 1130))
def test_a_temperature_in_fahrenheit_counts_as_the_nearest_tenth_in_celsius(tenths: int) -> None:
    found = read("temperature", f"{tenths / 10} F").figures["temperature_c"]
    exact = float(constants.convert_temperature(tenths / 10, "Fahrenheit", "Celsius"))
    assert abs(found - exact) <= 0.05 + 1e-9
    assert found == round(found, 1)


@pytest.mark.parametrize(
    ("text", "canonical", "words", "chart"),
    [
        ("37,2", "37.2 C", "37.2 degrees Celsius (99.0 degrees Fahrenheit)", "37.2 °C"),
        ("99", "99.0 F", "99.0 degrees Fahrenheit (37.2 degrees Celsius)", "99.0 °F (37.2 °C)"),
        (
            "38.4c EAR",
            "38.4 C ear",
            "38.4 degrees Celsius (101.1 degrees Fahrenheit) by ear",
            "38.4 °C by ear",
        ),
        (
            "37.0 by mouth",
            "37.0 C oral",
            "37.0 degrees Celsius (98.6 degrees Fahrenheit) by mouth",
            "37.0 °C by mouth",
        ),
    ],
)
def test_a_temperature_is_said_in_both_scales(text: str, canonical: str, words: str, chart: str) -> None:
    found = read("temperature", text)
    assert (found.text, found.words, found.chart) == (canonical, words, chart)


@pytest.mark.parametrize(
    ("route", "is_outside"),
    [("oral", False), ("ear", False), ("axilla", True), ("rectal", False), ("forehead", True)],
)
def test_a_temperature_from_the_skin_says_so(route: str, is_outside: bool) -> None:
    said = [each.text for each in read("temperature", f"37 {route}").remarks if not each.tell]
    expected = ["taken at the skin, which is often cooler than inside; limits are not adjusted"]
    assert said == (expected if is_outside else [])


@pytest.mark.parametrize(
    ("value", "expected"), [(36.05, 36.1), (38.05, 38.1), (37.25, 37.3), (36.04, 36.0), (37, 37)]
)
def test_halves_are_rounded_up(value: float, expected: float) -> None:
    assert rounded(value, 1) == expected


def test_a_half_that_binary_holds_a_hair_too_low_is_rounded_up_as_well() -> None:
    """As a binary fraction 1.005 times 100 is 100.49999999999999."""
    assert rounded(1.005, 2) == 1.01


# ------------------------------------------------------------------ oxygen, consciousness, pain


@pytest.mark.parametrize(
    ("text", "canonical", "chart", "classes"),
    [
        ("Room air", "air", "on air", ("air",)),
        ("21 %", "air", "on air", ("air",)),
        ("2L", "2 L", "on oxygen 2 L/min", ("oxygen",)),
        ("0,5 l/min nasal cannula", "0.5 L nasal", "on oxygen 0.5 L/min by nasal cannula", ("oxygen",)),
        ("28%", "28 %", "on oxygen 28 %", ("oxygen",)),
        ("40 % venturi mask", "40 % venturi", "on oxygen 40 % by venturi mask", ("oxygen",)),
        ("5 litres mask", "5 L mask", "on oxygen 5 L/min by mask", ("oxygen",)),
        ("15 L reservoir mask", "15 L reservoir", "on oxygen 15 L/min by mask with reservoir", ("oxygen",)),
    ],
)
def test_what_is_breathed_is_read(text: str, canonical: str, chart: str, classes: tuple[str, ...]) -> None:
    found = read("breathing-gas", text)
    assert (found.text, found.chart, found.classes) == (canonical, chart, classes)


def test_a_bare_number_is_no_breathing_gas() -> None:
    with pytest.raises(ReadingError, match="type air; litres, such as 2 L"):
        read("breathing-gas", "2")


@pytest.mark.parametrize(
    ("texts", "level", "chart"),
    [
        (("n", "c", "confused", "New confusion"), "new-confusion", "newly confused"),
        (("v", "VOICE"), "voice", "responds to voice"),
        (("p", "pain"), "pain", "responds to pain only"),
        (("u", "unresp"), "unresponsive", "responds neither to voice nor to pain"),
    ],
)
def test_less_than_alert_is_told_at_once(texts: tuple[str, ...], level: str, chart: str) -> None:
    for text in texts:
        found = read("consciousness", text)
        assert (found.classes, found.chart, found.tell) == (("not-alert", level), chart, "urgent")


def test_alert_is_read_by_its_first_letter() -> None:
    found = read("consciousness", "A")
    assert (found.text, found.classes, found.tell) == ("alert", ("alert",), "")


@pytest.mark.parametrize(
    ("score", "name", "tell"),
    # 0 none, 1 to 3 mild, 4 to 6 moderate, 7 to 10 severe: common practice, no source.
    [
        (0, "none", ""),
        (1, "mild", ""),
        (3, "mild", ""),
        (4, "moderate", "note"),
        (6, "moderate", "note"),
        (7, "severe", "report"),
        (10, "severe", "report"),
    ],
)
def test_a_pain_score_is_in_its_range(score: int, name: str, tell: str) -> None:
    found = read("pain-score", f"{score}/10")
    assert (found.text, found.chart, found.classes, found.tell) == (
        str(score),
        f"pain {score}/10",
        (name,),
        tell,
    )


def test_pain_at_rest_and_on_movement_are_kept_apart_and_the_worse_counts() -> None:
    found = read("pain-score", "7 moving and 2 resting")
    assert found.text == "2 at rest, 7 on movement"
    assert found.words == "pain 2 out of 10 at rest, 7 out of 10 on movement"
    assert found.classes == ("severe",)
    assert found.figures == {"pain_at_rest_0_to_10": 2, "pain_moving_0_to_10": 7, "pain_0_to_10": 7}
