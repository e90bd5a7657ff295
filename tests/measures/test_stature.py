"""Height and weight in each unit, against the constants of another package."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from checklist.measures import catalogue
from checklist.measures.reading import Meaning


def read(kind: str, text: str) -> Meaning:
    of = catalogue.KINDS[kind]
    return catalogue.read(of, text, catalogue.options(of, {}))


@pytest.mark.parametrize(
    ("text", "canonical", "metres"),
    [
        ("172", "172 cm", 1.72),
        ("172.5cm", "172.5 cm", 1.725),
        ("1,72", "1.72 m", 1.72),
        ("1.725 m", "1.725 m", 1.725),
        ("2 m", "2.00 m", 2),
        ("5 ft 8 in", "5 ft 8 in", 68 * constants.inch),
        ("5'8", "5 ft 8 in", 68 * constants.inch),
        ("6 ft", "6 ft 0 in", 6 * constants.foot),
        ("68 inches", "68 in", 68 * constants.inch),
    ],
)
def test_a_height_is_read_in_its_unit(text: str, canonical: str, metres: float) -> None:
    found = read("body-height", text)
    assert found.text == canonical
    assert found.figures["height_m"] == pytest.approx(metres)


@pytest.mark.parametrize(
    ("text", "canonical", "kg"),
    [
        ("70kg", "70 kg", 70),
        ("70,5 kg", "70.5 kg", 70.5),
        ("154 lbs", "154 lb", 154 * constants.pound),
        ("11 st 4", "11 st 4 lb", 158 * constants.pound),
        ("11 stone", "11 st 0 lb", 11 * constants.stone),
    ],
)
def test_a_weight_is_read_in_its_unit(text: str, canonical: str, kg: float) -> None:
    found = read("body-weight", text)
    assert found.text == canonical
    assert found.figures["weight_kg"] == pytest.approx(kg)


def test_height_and_weight_are_said_in_both_systems() -> None:
    """5 ft 8 in are 172.72 cm, and 180 cm are 70.87 in; 70 kg are 154.32 lb."""
    assert read("body-height", "5 ft 8 in").words == "5 feet 8 inches (172.7 cm)"
    assert read("body-height", "180 cm").words == "180 centimetres (5 ft 10.9 in)"
    assert read("body-weight", "70 kg").words == "70 kilograms (154.3 lb)"
    assert read("body-weight", "11 st 4 lb").words == "11 stone 4 pounds (71.7 kg)"
    assert read("body-weight", "11 st 1 lb").words == "11 stone 1 pound (70.3 kg)"
    assert read("body-weight", "154 lb").chart == "154 lb (69.9 kg)"


@given(st.integers(200, 2800))
def test_feet_and_inches_beside_a_height_are_true_to_a_tenth_of_an_inch(mm: int) -> None:
    words = read("body-height", f"{mm / 10} cm").words
    feet, inches = words.partition("(")[2].removesuffix(" in)").split(" ft ")
    assert 0 <= float(inches) < 12
    assert int(feet) * 12 + float(inches) == pytest.approx(mm / 1000 / constants.inch, abs=0.05001)
