"""Lists, capitals, full stops, shared nouns."""

import pytest

from checklist.summary.words import (
    capitalised,
    in_row,
    joined,
    joined_nouns,
    joined_predicates,
    sentence,
    uncapitalised,
)


@pytest.mark.parametrize(
    ("items", "expected"),
    [
        (["one"], "one"),
        (["one", "two"], "one and two"),
        (["one", "two", "three"], "one, two and three"),
        (["hair and scalp", "skull", "face"], "hair and scalp, skull, and face"),
        (["red, swollen", "warm"], "red, swollen, and warm"),
    ],
)
def test_a_list_has_a_comma_before_and_only_where_an_item_needs_it(items: list[str], expected: str) -> None:
    assert joined(items) == expected


@pytest.mark.parametrize(
    ("nouns", "expected"),
    [
        (["trachea"], "trachea"),
        (
            ["preauricular nodes", "occipital nodes", "submental nodes"],
            "preauricular, occipital and submental nodes",
        ),
        (["posterior cervical nodes", "deep cervical nodes"], "posterior and deep cervical nodes"),
        (["eyelid", "cornea"], "eyelid and cornea"),
        (["nodes", "deep nodes"], "nodes and deep nodes"),
        (["deep cervical nodes", "cervical nodes"], "deep cervical and cervical nodes"),
        (["skin of the face", "bones of the face"], "skin and bones of the face"),
        (["lobe of ear", "hair near ear"], "lobe of ear and hair near ear"),
        (["hair and scalp", "deep scalp"], "hair and scalp, and deep scalp"),
        (
            ["inner lips", "hard palate", "soft palate", "tongue"],
            "inner lips, hard and soft palate, and tongue",
        ),
        (["hard palate", "tongue", "soft palate"], "hard palate, tongue and soft palate"),
        (
            ["occipital nodes", "posterior cervical nodes", "deep cervical nodes", "scalene nodes"],
            "occipital, posterior and deep cervical, and scalene nodes",
        ),
        (["lobe of ear", "hair near ear", "lips"], "lobe of ear, hair near ear and lips"),
    ],
)
def test_nouns_say_a_shared_end_once_and_stay_whole_where_that_is_no_english(
    nouns: list[str], expected: str
) -> None:
    assert joined_nouns(nouns) == expected


@pytest.mark.parametrize(
    ("predicates", "expected"),
    [
        (["pink"], "pink on the palm"),
        (["pink", "moist"], "pink and moist on the palm"),
        (["pink", "moist", "not swollen"], "pink, moist and not swollen on the palm"),
        (["not swollen", "not tender"], "not swollen and not tender on the palm"),
        # Not "not swollen and tender", which says the opposite of the second.
        (["not swollen", "tender"], "not swollen on the palm; tender on the palm"),
        (
            ["free of scars", "without rash", "warm"],
            "free of scars on the palm; without rash on the palm; warm on the palm",
        ),
        (["red and hot", "swollen"], "red and hot on the palm; swollen on the palm"),
        (["pink, moist", "soft"], "pink, moist on the palm; soft on the palm"),
    ],
)
def test_predicates_share_and_only_where_no_negation_or_list_is_stretched(
    predicates: list[str], expected: str
) -> None:
    assert joined_predicates(predicates, " on the palm") == expected


def test_what_a_patient_reports_says_the_verb_once() -> None:
    assert joined_predicates(["reports no pain", "reports no fever"]) == "reports: no pain; no fever"
    assert joined_predicates(["reports no pain"]) == "reports no pain"
    assert joined_predicates(["reports no pain", "takes aspirin"]) == "reports no pain; takes aspirin"
    assert joined_predicates(["reportsx no", "reports no"]) == "reportsx no; reports no"


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("scar on the left", "Scar on the left."),
        ("ends already.", "Ends already."),
        ("asks why?", "Asks why?"),
        ('says "it hurts."', 'Says "it hurts."'),
        ('says "it hurts"', 'Says "it hurts".'),
        ("waits …", "Waits …"),
        ("dangling, ", "Dangling."),
        ("two\nlines\tof  text", "Two lines of text."),
        ("pH 7", "pH 7."),
        ("CN VII", "CN VII."),
        ("3 mm", "3 mm."),
    ],
)
def test_a_sentence_is_one_line_with_a_capital_and_one_stop(text: str, expected: str) -> None:
    assert sentence(text) == expected


def test_a_control_character_in_a_sentence_is_replaced_by_a_visible_mark() -> None:
    assert sentence("red\x1b[31m") == "Red\ufffd[31m."


@pytest.mark.parametrize(
    ("title", "expected"),
    [("Clean hands", "clean hands"), ("CN V, motor", "CN V, motor"), ("A look", "a look"), ("", "")],
)
def test_a_title_loses_its_capital_unless_the_word_is_spelled_with_capitals(
    title: str, expected: str
) -> None:
    assert uncapitalised(title) == expected


def test_a_word_with_capitals_of_its_own_keeps_its_spelling() -> None:
    assert capitalised("iOS device") == "iOS device"
    assert capitalised("right eye") == "Right eye"


def test_texts_in_a_row_lose_the_stops_that_would_stand_before_a_semicolon() -> None:
    assert in_row(["right red: 3 mm.", "left red"]) == "right red: 3 mm; left red"
    assert in_row(["alone."]) == "alone."
