"""Scores over several vital signs, against the published chart, worked examples and closed forms."""

from collections.abc import Mapping
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from checklist.measures import catalogue
from checklist.measures.reading import Fact, Facts, Meaning, OptionValue
from checklist.measures.scores import body_mass_index, mean_arterial, pulse_pressure

KINDS = {
    "respirations": "respiratory-rate",
    "saturation": "oxygen-saturation",
    "gas": "breathing-gas",
    "pressure": "blood-pressure",
    "pulse": "pulse-rate",
    "consciousness": "consciousness",
    "temperature": "temperature",
    "lying": "blood-pressure",
    "standing": "blood-pressure",
    "lying_pulse": "pulse-rate",
    "standing_pulse": "pulse-rate",
    "height": "body-height",
    "weight": "body-weight",
}
WELL = {
    "respirations": "16",
    "saturation": "97",
    "gas": "air",
    "pressure": "128/76",
    "pulse": "72",
    "consciousness": "alert",
    "temperature": "37.0",
}
"""Each in the band of the chart that has no points."""


def fact(kind: str, text: str) -> Fact:
    of = catalogue.KINDS[kind]
    meaning = catalogue.read(of, text, catalogue.options(of, {})) if text else None
    return Fact(is_expected=True, meaning=meaning)


def facts(name: str, typed: str | Mapping[str, str]) -> Facts:
    by_side = {"": typed} if isinstance(typed, str) else typed
    return {(side, ""): fact(KINDS[name], text) for side, text in by_side.items()}


def compute(
    kind: str, inputs: Mapping[str, str | Mapping[str, str]], **values: OptionValue
) -> Meaning | None:
    of = catalogue.COMPUTATIONS[kind]
    given_facts = {name: facts(name, typed) for name, typed in inputs.items()}
    return catalogue.compute(of, given_facts, catalogue.options(of, values, "a test"))


def score(scale: int = 1, **changed: str | Mapping[str, str]) -> Meaning:
    found = compute("early-warning-score", {**WELL, **changed}, saturation_scale=scale)
    assert found is not None
    return found


def total(scale: int = 1, **changed: str | Mapping[str, str]) -> float:
    return score(scale, **changed).figures["early_warning_score"]


# ------------------------------------------------------------------ early-warning score

CHART = [
    # RCP 2017, NEWS2 chart 1, read in a copy: both ends of each band.
    *(
        ("respirations", value, points)
        for value, points in (("0", 3), ("8", 3), ("9", 1), ("11", 1), ("12", 0))
    ),
    *(
        ("respirations", value, points)
        for value, points in (("20", 0), ("21", 2), ("24", 2), ("25", 3), ("60", 3))
    ),
    *(
        ("saturation", value, points)
        for value, points in (("70", 3), ("91", 3), ("92", 2), ("93", 2), ("94", 1))
    ),
    *(("saturation", value, points) for value, points in (("95", 1), ("96", 0), ("100", 0))),
    *(
        ("pressure", value, points)
        for value, points in (("60/30", 3), ("90/50", 3), ("91/50", 2), ("100/50", 2))
    ),
    *(("pressure", value, points) for value, points in (("101/50", 1), ("110/50", 1), ("111/50", 0))),
    *(("pressure", value, points) for value, points in (("219/90", 0), ("220/90", 3), ("250/90", 3))),
    *(
        ("pulse", value, points)
        for value, points in (("30", 3), ("40", 3), ("41", 1), ("50", 1), ("51", 0), ("90", 0))
    ),
    *(
        ("pulse", value, points)
        for value, points in (("91", 1), ("110", 1), ("111", 2), ("130", 2), ("131", 3))
    ),
    *(
        ("consciousness", value, points)
        for value, points in (("a", 0), ("c", 3), ("v", 3), ("p", 3), ("u", 3))
    ),
    *(("temperature", value, points) for value, points in (("34", 3), ("35.0", 3), ("35.1", 1), ("36.0", 1))),
    *(
        ("temperature", value, points)
        for value, points in (("36.1", 0), ("38.0", 0), ("38.1", 1), ("39.0", 1))
    ),
    *(("temperature", value, points) for value, points in (("39.1", 2), ("41", 2))),
    ("gas", "air", 0),
    ("gas", "2 L", 2),
    ("gas", "28 %", 2),
]


@pytest.mark.parametrize(("name", "value", "points"), CHART)
def test_each_boundary_of_the_chart_has_its_points(name: str, value: str, points: int) -> None:
    assert total(1, **{name: value}) == points


@pytest.mark.parametrize(
    ("saturation", "on_air", "on_oxygen"),
    [
        # RCP 2017, NEWS2 chart 1, scale 2, read in a copy; beside the points of the saturation, 2 for oxygen.
        (83, 3, 3 + 2),
        (84, 2, 2 + 2),
        (85, 2, 2 + 2),
        (86, 1, 1 + 2),
        (87, 1, 1 + 2),
        (88, 0, 0 + 2),
        (92, 0, 0 + 2),
        (93, 0, 1 + 2),
        (94, 0, 1 + 2),
        (95, 0, 2 + 2),
        (96, 0, 2 + 2),
        (97, 0, 3 + 2),
        (100, 0, 3 + 2),
    ],
)
def test_each_boundary_of_the_second_saturation_scale_has_its_points(
    saturation: int, on_air: int, on_oxygen: int
) -> None:
    assert total(2, saturation=str(saturation)) == on_air
    assert total(2, saturation=str(saturation), gas="2 L") == on_oxygen


def test_a_temperature_is_rounded_to_a_tenth_before_it_is_scored() -> None:
    """102.3 F are 39.06 C, so 39.1; 102.1 F are 38.94, so 38.9. A tenth is the chart's own step."""
    assert total(temperature="102.3 F") == 2
    assert total(temperature="102.1 F") == 1
    assert total(temperature="38.04") == 0
    assert total(temperature="38.05") == 1


def test_example_a_reaches_the_emergency_response() -> None:
    """Worked by hand from chart 1: 2 + 1 + 0 + 1 + 2 + 0 + 1 = 7."""
    found = score(
        respirations="22", saturation="94", gas="air", pressure="105/70", pulse="112", temperature="38.5"
    )
    assert found.figures == {"early_warning_score": 7}
    assert found.words == (
        "early-warning score 7: respirations 22 = 2, saturation 94 % on scale 1 = 1, air = 0, "
        "systolic 105 = 1, pulse 112 = 2, alert = 0, temperature 38.5 = 1"
    )
    assert found.chart == found.words.replace("score 7", "score (NEWS2) 7")
    assert found.classes == ("urgent-response", "emergency-response")
    assert found.remarks[0].text == "7 or more: emergency response, continuous observation"
    assert found.tell == "urgent"
    assert found.text == ""


def test_example_b_differs_between_the_scales() -> None:
    """Worked by hand from chart 1: on scale 2 two for 95 % and two for oxygen, on scale 1 one and two."""
    example: dict[str, str | Mapping[str, str]] = {
        "respirations": "18",
        "saturation": "95",
        "gas": "2 L",
        "pressure": "128/76",
        "pulse": "88",
    }
    assert total(2, **example) == 4
    assert total(1, **example) == 3
    assert score(1, **example).classes == ("low",)


def test_example_c_is_three_by_one_parameter_alone() -> None:
    """Chart 4: three in a single parameter asks for an urgent review."""
    found = score(consciousness="new confusion")
    assert found.figures == {"early_warning_score": 3}
    assert found.classes == ("low", "single-three")
    assert found.remarks[0].text == "3 in one parameter: urgent review, observations at least hourly"
    assert found.tell == "urgent"
    assert "newly confused = 3" in found.words


@pytest.mark.parametrize(
    ("changed", "points", "classes", "tell", "said"),
    [
        # RCP 2017, NEWS2 chart 4, read in a copy.
        ({}, 0, ("zero",), "", "every 12 hours"),
        ({"pulse": "95"}, 1, ("low",), "note", "every 4 to 6 hours"),
        ({"pulse": "115", "gas": "2 L"}, 4, ("low",), "note", "every 4 to 6 hours"),
        ({"pulse": "135"}, 3, ("low", "single-three"), "urgent", "urgent review"),
        (
            {"pulse": "115", "gas": "2 L", "saturation": "95"},
            5,
            ("urgent-response",),
            "urgent",
            "urgent response",
        ),
        ({"pulse": "135", "gas": "2 L"}, 5, ("urgent-response", "single-three"), "urgent", "urgent response"),
        ({"pulse": "135", "consciousness": "v"}, 6, ("urgent-response", "single-three"), "urgent", "hourly"),
    ],
)
def test_the_response_is_that_of_its_band(
    changed: dict[str, str], points: int, classes: tuple[str, ...], tell: str, said: str
) -> None:
    found = score(1, **changed)
    assert found.figures == {"early_warning_score": points}
    assert (found.classes, found.tell) == (classes, tell)
    assert said in found.remarks[0].text


def test_the_highest_score_is_20() -> None:
    """RCP 2017: the score runs from 0 to 20."""
    worst = {"respirations": "30", "saturation": "85", "gas": "15 L", "pressure": "80/50", "pulse": "140"}
    assert total(1, **worst, consciousness="u", temperature="34.5") == 20
    assert total(1, **worst, consciousness="u", temperature="40") == 19


def test_for_whom_it_is_not_is_always_said() -> None:
    assert "not for under 16s or pregnancy" in [each.text for each in score().remarks]
    said = [each.text for each in score(2).remarks]
    assert "not for under 16s or pregnancy" in said
    assert "scale 2 only by a clinician's decision, for a saturation target of 88 to 92 %" in said
    assert not any("scale 2" in each.text for each in score().remarks)


@pytest.mark.parametrize("name", list(WELL))
def test_without_all_seven_parameters_there_is_no_score(name: str) -> None:
    assert compute("early-warning-score", {key: text for key, text in WELL.items() if key != name}) is None
    assert compute("early-warning-score", {**WELL, name: ""}) is None


def test_of_two_arms_the_one_with_more_points_counts_on_whichever_side() -> None:
    first = score(pressure={"right": "95/60", "left": "118/70"})
    second = score(pressure={"right": "118/70", "left": "95/60"})
    assert first == second
    assert first.figures == {"early_warning_score": 2}
    assert "systolic 95 = 2" in first.words
    assert score(pressure={"right": "95/60", "left": "98/60"}) == score(
        pressure={"right": "98/60", "left": "95/60"}
    )


def test_a_protocol_may_set_when_to_respond() -> None:
    found = compute("early-warning-score", {**WELL, "pulse": "115"}, urgent_from=2)
    assert found is not None
    assert (found.tell, found.remarks[0].source) == ("urgent", "a test")


@given(
    st.fixed_dictionaries(
        {
            "respirations": st.integers(0, 60).map(str),
            "saturation": st.integers(60, 100).map(str),
            "gas": st.sampled_from(["air", "2 L", "40 %"]),
            "pressure": st.integers(60, 250).map(lambda systolic: f"{systolic}/40"),
            "pulse": st.integers(20, 250).map(str),
            "consciousness": st.sampled_from("acvpu"),
            "temperature": st.integers(300, 420).map(lambda tenths: str(tenths / 10)),
        }
    ),
    st.sampled_from([1, 2]),
)
def test_the_points_that_are_written_down_add_up_to_the_score(texts: dict[str, str], scale: int) -> None:
    found = score(scale, **texts)
    written = [int(part.rpartition("= ")[2]) for part in found.words.partition(": ")[2].split(", ")]
    assert len(written) == 7
    assert sum(written) == found.figures["early_warning_score"] <= 20
    assert ("emergency-response" in found.classes) == (sum(written) >= 7)
    assert ("urgent-response" in found.classes) == (sum(written) >= 5)
    assert ("single-three" in found.classes) == (3 in written)
    assert set(found.classes) <= set(catalogue.COMPUTATIONS["early-warning-score"].classes)


# ------------------------------------------------------------------ pressures


def test_mean_and_pulse_pressure_are_those_of_the_textbook() -> None:
    """120/80: pulse pressure 40, mean 93.3. The mean is also (systolic + 2 diastolic) / 3."""
    assert pulse_pressure(120, 80) == 40
    assert mean_arterial(120, 80) == pytest.approx(93.3, abs=0.05)
    assert mean_arterial(90, 60) == 70


@given(st.integers(30, 300), st.integers(0, 200))
def test_the_mean_pressure_has_two_parts_diastolic_and_one_systolic(systolic: int, diastolic: int) -> None:
    assert mean_arterial(systolic, diastolic) == pytest.approx((systolic + 2 * diastolic) / 3)


@pytest.mark.parametrize(
    ("lying", "standing", "classes", "tell"),
    [
        # Freeman 2011, quoted second hand: systolic by 20 or diastolic by 10.
        ("130/80", "111/71", ("in-range",), ""),
        ("130/80", "110/71", ("drop", "drop-systolic"), "report"),
        ("130/80", "111/70", ("drop", "drop-diastolic"), "report"),
        ("130/80", "110/70", ("drop", "drop-systolic", "drop-diastolic"), "report"),
        ("130/80", "150/90", ("in-range",), ""),
    ],
)
def test_a_drop_is_one_of_20_systolic_or_10_diastolic(
    lying: str, standing: str, classes: tuple[str, ...], tell: str
) -> None:
    found = compute("orthostatic-change", {"lying": lying, "standing": standing})
    assert found is not None
    assert (found.classes, found.tell) == (classes, tell)


@given(st.integers(70, 200), st.integers(70, 200), st.integers(10, 60), st.integers(10, 60))
def test_the_drop_is_the_difference_of_both(before: int, after: int, low: int, lower: int) -> None:
    found = compute("orthostatic-change", {"lying": f"{before}/{low}", "standing": f"{after}/{lower}"})
    assert found is not None
    assert found.figures == {"systolic_drop_mmhg": before - after, "diastolic_drop_mmhg": low - lower}
    assert ("drop" in found.classes) == (before - after >= 20 or low - lower >= 10)


def test_the_change_shows_its_inputs_and_the_pulse() -> None:
    inputs = {"lying": "130/80", "standing": "108/82", "lying_pulse": "70", "standing_pulse": "100"}
    found = compute("orthostatic-change", inputs)
    assert found is not None
    assert (
        found.words
        == "lying 130/80, standing 108/82 mmHg: systolic down 22, diastolic up 2; pulse 70 to 100: up 30"
    )
    assert found.chart == found.words
    assert found.classes == ("drop", "drop-systolic", "pulse-rise")
    assert [each.text for each in found.remarks] == [
        "systolic down 20 mmHg or more",
        "pulse up 30 a minute or more",
    ]
    calmer = compute("orthostatic-change", {**inputs, "standing_pulse": "99"})
    assert calmer is not None
    assert "pulse-rise" not in calmer.classes


def test_without_both_pulses_none_is_compared() -> None:
    found = compute("orthostatic-change", {"lying": "130/80", "standing": "130/80", "lying_pulse": "70"})
    assert found is not None
    assert found.words.endswith("systolic unchanged, diastolic unchanged; pulse not compared")


@pytest.mark.parametrize(
    "inputs",
    [
        {"lying": "130/80"},
        {"lying": "130/80", "standing": ""},
        {"lying": {"right": "130/80"}, "standing": {"left": "100/60"}},
        {"lying": "130/80 standing", "standing": "110/70 lying"},
    ],
    ids=["not stood", "not measured standing", "other arm", "positions swapped"],
)
def test_what_cannot_be_compared_is_not(inputs: dict[str, str | Mapping[str, str]]) -> None:
    assert compute("orthostatic-change", inputs) is None


def test_arms_are_compared_with_themselves_whichever_side() -> None:
    def both(first: str, second: str) -> Meaning | None:
        return compute(
            "orthostatic-change",
            {
                "lying": {first: "150/90", second: "128/80"},
                "standing": {first: "140/88", second: "104/78"},
            },
        )

    found = both("right", "left")
    assert found is not None
    assert found == both("left", "right")
    assert found.words.startswith("lying 128/80, standing 104/78 mmHg: systolic down 24")


def test_readings_that_compare_badly_say_so() -> None:
    sitting = compute("orthostatic-change", {"lying": "130/80 sitting", "standing": "128/80"})
    arms = compute("orthostatic-change", {"lying": "130/80 right arm", "standing": "128/80 left arm"})
    assert sitting is not None
    assert arms is not None
    assert [each.text for each in sitting.remarks] == [
        "one reading was taken sitting; the limits are for lying to standing"
    ]
    assert [each.text for each in arms.remarks] == ["taken at different arms, which may differ by themselves"]


# ------------------------------------------------------------------ body mass index


def mass(height: str, weight: str, **values: OptionValue) -> Meaning:
    found = compute("body-mass-index", {"height": height, "weight": weight}, **values)
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("kg", "metres", "expected"),
    # The first two are worked examples of WHO pages, read in copies.
    [(70, 1.75, 22.9), (58, 1.70, 20.1), (82, 1.80, 25.3)],
)
def test_the_index_is_that_of_worked_examples(kg: float, metres: float, expected: float) -> None:
    assert body_mass_index(kg, metres) == pytest.approx(expected, abs=0.05)


@given(st.integers(80, 400), st.integers(50, 80))
def test_pounds_and_inches_come_to_the_same_index(pounds: int, inches: int) -> None:
    """The usual factor is 703.07: kilograms of a pound over the square metres of a square inch."""
    index = mass(f"{inches} in", f"{pounds} lb").figures["bmi_kg_per_m2"]
    assert index == pytest.approx(pounds / inches**2 * constants.pound / constants.inch**2, abs=1e-5)
    assert index == pytest.approx(703.07 * pounds / inches**2, rel=1e-5)


@pytest.mark.parametrize(
    ("kg", "classes", "tell"),
    # At 2 m the index is a quarter of the weight. WHO database, table 1, read in a copy.
    [
        (63.96, ("below", "severe-thinness"), "report"),
        (64, ("below", "moderate-thinness"), "note"),
        (67.96, ("below", "moderate-thinness"), "note"),
        (68, ("below", "mild-thinness"), "note"),
        (73.96, ("below", "mild-thinness"), "note"),
        (74, ("in-range",), ""),
        (99.96, ("in-range",), ""),
        (100, ("above", "pre-obese"), "note"),
        (119.96, ("above", "pre-obese"), "note"),
        (120, ("above", "obese-1"), "note"),
        (139.96, ("above", "obese-1"), "note"),
        (140, ("above", "obese-2"), "note"),
        (159.96, ("above", "obese-2"), "note"),
        (160, ("above", "obese-3"), "note"),
    ],
)
def test_each_range_begins_where_the_table_says(kg: float, classes: tuple[str, ...], tell: str) -> None:
    found = mass("2 m", f"{kg} kg")
    assert (found.classes, found.tell) == (classes, tell)


def test_the_range_is_that_of_the_value_before_it_is_rounded() -> None:
    """99.99 kg at 2 m are 24.9975: below 25, and shown so. 42.25 kg at 1.30 m are 25."""
    below = mass("2 m", "99.99 kg")
    assert below.classes == ("in-range",)
    assert below.words == "body mass index 24.99 (100.0 kg at 2.00 m), in the range 18.5 to below 25"
    assert mass("1.30 m", "42.25 kg").classes == ("above", "pre-obese")
    assert mass("1.80 m", "81 kg").words.startswith("body mass index 25.00 (81.0 kg at 1.80 m)")


def test_the_words_show_the_inputs_and_name_the_range() -> None:
    words = mass("180 cm", "82 kg").words
    assert (
        words == "body mass index 25.30 (82.0 kg at 1.80 m), in the range called pre-obese (25 to below 30)"
    )
    assert mass("2 m", "160 kg").words.endswith("in the range called obese class III (from 40)")
    assert mass("2 m", "60 kg").words.endswith("in the range called severe thinness (below 16)")


@pytest.mark.parametrize(
    ("kg", "asian", "shown"),
    # At 2 m the index is a quarter of the weight. Limits are 18.5 and 25; of the action points one is 23.
    [
        (101.2, False, "25.3"),
        (99.76, False, "24.9"),
        (99.8, False, "24.95"),
        (99.96, False, "24.99"),
        (100.2, False, "25.05"),
        (100.24, False, "25.1"),
        (74.12, False, "18.53"),
        (91.88, False, "23.0"),
        (91.88, True, "22.97"),
    ],
)
def test_the_note_has_one_decimal_except_beside_a_limit(kg: float, asian: bool, shown: str) -> None:
    found = mass("2 m", f"{kg} kg", asian_action_points=asian)
    assert found.chart.startswith(f"body mass index {shown} (")


@pytest.mark.parametrize(
    ("kg", "point"),
    # WHO expert consultation 2004, read in a copy; at 2 m.
    [(91.96, ""), (92, "23"), (109.96, "23"), (110, "27.5"), (130, "32.5"), (150, "37.5")],
)
def test_action_points_are_named_only_when_asked_for(kg: float, point: str) -> None:
    asked = [
        each.text
        for each in mass("2 m", f"{kg} kg", asian_action_points=True).remarks
        if "Asian" in each.text
    ]
    assert asked == ([f"at or above the action point {point} for Asian populations"] if point else [])
    assert not any("Asian" in each.text for each in mass("2 m", f"{kg} kg").remarks)


def test_without_one_height_and_one_weight_there_is_no_index() -> None:
    assert compute("body-mass-index", {"height": "180 cm"}) is None
    assert compute("body-mass-index", {"height": "180 cm", "weight": ""}) is None
    assert (
        compute("body-mass-index", {"height": {"right": "180 cm", "left": "179 cm"}, "weight": "82 kg"})
        is None
    )


def test_every_class_of_a_computation_is_listed() -> None:
    listed = set(catalogue.COMPUTATIONS["body-mass-index"].classes)
    for tenths, asian in product(range(120, 480, 5), (False, True)):
        assert set(mass("1 m", f"{tenths / 10} kg", asian_action_points=asian).classes) <= listed
