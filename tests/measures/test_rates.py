"""Pulse and respirations: how a rate was taken, its rhythm, and what rests on too little."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklist.measures import catalogue
from checklist.measures.reading import Meaning
from checklist.measures.timing import tapped, tapped_text


def read(kind: str, text: str) -> Meaning:
    of = catalogue.KINDS[kind]
    return catalogue.read(of, text, catalogue.options(of, {}))


@pytest.mark.parametrize(
    ("text", "canonical", "words", "chart"),
    [
        ("72", "72", "72 beats a minute", "72/min"),
        (
            "72 bpm irreg",
            "72 irregular",
            "72 beats a minute, irregular: count a full minute",
            "72/min irregular",
        ),
        ("72r", "72 regular", "72 beats a minute, regular", "72/min regular"),
        ("72 reg", "72 regular", "72 beats a minute, regular", "72/min regular"),
        (
            "72 ireg",
            "72 irregular",
            "72 beats a minute, irregular: count a full minute",
            "72/min irregular",
        ),
        (
            "72 irregularly irregular",
            "72 irregularly irregular",
            "72 beats a minute, irregularly irregular: count a full minute",
            "72/min irregularly irregular",
        ),
        (
            "18x4",
            "18 in 15 s",
            "18 beats in 15 seconds, 72 a minute; one more or less is 4 a minute",
            "72/min (18 in 15 s)",
        ),
        (
            "36 × 2 irreg",
            "36 in 30 s irregular",
            "36 beats in 30 seconds, 72 a minute; one more or less is 2 a minute,"
            " irregular: count a full minute",
            "72/min (36 in 30 s) irregular",
        ),
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
            "72 beats a minute, give or take 2 (95 %), tapped over 20 s",
            "72/min (tapped over 20 s, ±2)",
        ),
        (
            "72 +-2 over 20 s, variation 5 %",
            "72 +-2 over 20 s, variation 5 %",
            "72 beats a minute, give or take 2 (95 %), tapped over 20 s; intervals vary by 5 %",
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
    ("text", "is_short"),
    [
        ("72 irregular", True),
        ("18 in 15 s irregular", True),
        ("72 +-9 over 59 s, variation 20 % irregular", True),
        ("72 in 60 s irregular", False),
        ("72 +-9 over 60 s, variation 20 % irregular", False),
    ],
)
def test_an_irregular_pulse_is_reported_as_such_and_the_echo_says_to_count_a_full_minute(
    text: str, is_short: bool
) -> None:
    found = read("pulse-rate", text)
    (remark,) = found.remarks
    assert (remark.text, remark.source, remark.tell) == ("irregular", "common practice, no source", "report")
    assert found.words.endswith(", irregular: count a full minute" if is_short else ", irregular")
    assert "full minute" not in found.chart


def test_an_irregularly_irregular_pulse_is_irregular_and_keeps_its_words() -> None:
    found = read("pulse-rate", "80 irregularly irregular")
    assert found.classes == ("in-range", "irregular")
    assert [each.text for each in found.remarks] == ["irregularly irregular"]


@pytest.mark.parametrize(
    ("kind", "text", "doubt"),
    [
        # Fewer than 15 s, or fewer than 10 beats in less than 30 s: common practice, no source.
        ("pulse-rate", "72 +-3 over 7 s, variation 3 %", "tapped over 7 s: 30 s is usual"),
        ("pulse-rate", "72 +-3 over 14 s, variation 3 %", "tapped over 14 s: 30 s is usual"),
        ("pulse-rate", "72 +-3 over 15 s, variation 3 %", ""),
        # 8 beats and 10 beats, the first at 0 s.
        ("respiratory-rate", "21 +-3 over 20 s, variation 3 %", "tapped over 20 s: 30 s is usual"),
        ("respiratory-rate", "27 +-3 over 20 s, variation 3 %", ""),
        ("respiratory-rate", "12 +-1 over 30 s, variation 3 %", ""),
        ("pulse-rate", "250 +-3 over 7 s, variation 3 %", "a pulse rate of 250 is unusual"),
    ],
)
def test_a_rate_that_was_tapped_for_too_short_is_asked_about(kind: str, text: str, doubt: str) -> None:
    assert read(kind, text).doubt == doubt
