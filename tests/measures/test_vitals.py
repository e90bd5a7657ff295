"""Vital signs: what is read, what is refused, and where the published limits lie."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from checklist.measures import catalogue, vital_kinds
from checklist.measures.reading import TELLS, Meaning, OptionValue, ReadingError
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


# ------------------------------------------------------------------ limits


def test_a_remark_names_the_source_of_the_limit_that_was_crossed_alone() -> None:
    """NEWS2 chart 1 has no fever limit at 38.0; below 35.1 it gives three points."""
    assert read("temperature", "35.0").remarks[0].source == "RCP 2017, NEWS2 chart 1"
    assert read("temperature", "38.0").remarks[0].source == "common practice, no source"
    assert read("temperature", "41.0").remarks[0].source == "common practice, no source"


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
        ("pulse-rate", "fast", "unknown word 'fast'; type 72; 72 irregular; 18 in 15 s"),
        ("pulse-rate", "72 ireglar", "unknown word 'ireglar'; type 72; 72 irregular; 18 in 15 s"),
        ("pulse-rate", "18x7", "type whole beats a minute, such as 72; 72 irregular; 18 in 15 s"),
        ("pulse-rate", "72.5", "type whole beats a minute, such as 72; 72 irregular; 18 in 15 s"),
        ("pulse-rate", "301", "a pulse rate is possible from 0 to 300"),
        ("pulse-rate", "18 in 4 s", "a count in seconds is possible from 5 to 120"),
        ("respiratory-rate", "", "type whole breaths a minute, such as 16; 16 irregular; 8 in 30 s"),
        ("respiratory-rate", "121", "a respiratory rate is possible from 0 to 120"),
        ("temperature", "warm", "unknown word 'warm'; type degrees, such as 37.2; 99 F; or 38.4 C ear"),
        ("temperature", "37 knee", "unknown word 'knee'; type degrees, such as 37.2; 99 F; or 38.4 C ear"),
        ("temperature", "60", "type degrees, such as 37.2; 99 F; or 38.4 C ear"),
        (
            "temperature",
            "372",
            "decimal point missing: 37.2 meant? type degrees, such as 37.2; 99 F; or 38.4 C ear",
        ),
        (
            "temperature",
            "986 F",
            "decimal point missing: 98.6 meant? type degrees, such as 37.2; 99 F; or 38.4 C ear",
        ),
        ("temperature", "600", "a temperature in Fahrenheit is possible from 77 to 113"),
        ("temperature", "24", "a temperature in Celsius is possible from 25 to 45"),
        ("temperature", "99 C", "a temperature in Celsius is possible from 25 to 45"),
        ("temperature", "37 F", "a temperature in Fahrenheit is possible from 77 to 113"),
        ("oxygen-saturation", "97.5", "type whole per cent, such as 97"),
        (
            "oxygen-saturation",
            "94 on 2 L",
            "type whole per cent, such as 97; air or oxygen is recorded apart",
        ),
        ("oxygen-saturation", "101", "a saturation in per cent is possible from 30 to 100"),
        ("breathing-gas", "20 %", "inspired oxygen in per cent is possible from 22 to 100"),
        (
            "breathing-gas",
            "2 L tent",
            "unknown word 'tent'; type air; 2 L; or 28 %; then nasal, mask, venturi or reservoir",
        ),
        (
            "consciousness",
            "ok",
            "unknown word 'ok'; type a alert, c new confusion, v voice, p pain or u unresponsive",
        ),
        (
            "pain-score",
            "4 awful",
            "unknown word 'awful'; type 0 to 10, such as 4; or 3 at rest, 6 on movement",
        ),
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
        (
            "37.2 o",
            "37.2 C oral",
            "37.2 degrees Celsius (99.0 degrees Fahrenheit) by mouth",
            "37.2 °C by mouth",
        ),
        (
            "37.2 ax",
            "37.2 C axilla",
            "37.2 degrees Celsius (99.0 degrees Fahrenheit) in the armpit",
            "37.2 °C in the armpit",
        ),
        (
            "38.4c, oral",
            "38.4 C oral",
            "38.4 degrees Celsius (101.1 degrees Fahrenheit) by mouth",
            "38.4 °C by mouth",
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
        ("ra", "air", "on air", ("air",)),
        ("2l nc", "2 L nasal", "on oxygen 2 L/min by nasal cannula", ("oxygen",)),
        ("15 l nrb", "15 L reservoir", "on oxygen 15 L/min by mask with reservoir", ("oxygen",)),
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


@pytest.mark.parametrize("text", ["94 on air", "94% RA", "94 room air"])
def test_air_beside_a_saturation_is_said_to_be_recorded_apart(text: str) -> None:
    found = read("oxygen-saturation", text)
    assert found.words == "oxygen saturation 94 per cent; air is recorded apart, not taken from here"
    assert found.chart == "94 %"
    assert (found.classes, found.figures) == (("below",), {"saturation_percent": 94})
    assert read("oxygen-saturation", "94").words == "oxygen saturation 94 per cent"


def test_a_bare_number_is_no_breathing_gas() -> None:
    with pytest.raises(ReadingError, match="type air; 2 L; or 28 %"):
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


@pytest.mark.parametrize("text", ["3 rest 6 moving", "3/10 rest 6/10 moving", "6 moving 3 rest"])
def test_pain_is_read_without_a_comma_between_rest_and_movement(text: str) -> None:
    assert read("pain-score", text).text == "3 at rest, 6 on movement"
