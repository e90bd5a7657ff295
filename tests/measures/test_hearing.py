"""Hearing: two rounds of whispers, where Weber is heard, what Rinne compares."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklist.measures.hearing import longer
from tests.measures.head import SWAP, holds_the_laws, read, refusal, texts

# WHO 2021, Hearing screening: considerations for implementation, annex 3, and Pirozzo et al. 2003, as a
# university's geriatrics card gives them (read): all 3 right passes; otherwise a new set, and 3 of 6 pass.
SETS = [
    ("3/3", "passes"),
    ("2/3 1/3", "passes"),
    ("1/3 2/3", "passes"),
    ("0/3 3/3", "passes"),
    ("2/3 0/3", "fails"),
    ("1/3 1/3", "fails"),
    ("0/3 2/3", "fails"),
    ("0/3 0/3", "fails"),
    ("2/3 3/3", "passes"),
]


@pytest.mark.parametrize(("text", "outcome"), SETS)
def test_whispers_pass_with_all_of_the_first_set_or_three_of_both(text: str, outcome: str) -> None:
    meaning = read("whispered-voice", text)
    assert outcome in meaning.classes
    assert meaning.tell == ("report" if outcome == "fails" else "")


def test_only_the_first_set_passes_at_once() -> None:
    assert "passes-at-once" in read("whispered-voice", "3/3").classes
    assert "passes-at-once" not in read("whispered-voice", "2/3 3/3").classes


@pytest.mark.parametrize("right", [0, 1, 2])
def test_a_first_set_that_was_not_all_right_asks_for_the_second(right: int) -> None:
    said = refusal("whispered-voice", f"{right}/3")
    assert "one new set of 3" in said and said.endswith(f"{right}/3 2/3")


@pytest.mark.parametrize(
    ("typed", "text"),
    [
        ("2 of 3 then 1 of 3", "2/3 1/3"),
        ("2/3, 1/3", "2/3 1/3"),
        ("2/3 + 1/3", "2/3 1/3"),
        ("2 1", "2/3 1/3"),
        ("3", "3/3"),
        (" 3 / 3 ", "3/3"),
    ],
)
def test_sets_are_read_in_the_forms_that_clinicians_write(typed: str, text: str) -> None:
    assert read("whispered-voice", typed).text == text


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("3/3 2/3", "leave the second set out"),
        ("4/3", "from 0 to 3"),
        ("2/3 4/3", "from 0 to 3"),
        ("3/6", "of each set of 3"),
        ("passed", "of each set of 3"),
    ],
)
def test_what_is_no_result_of_whispers_is_refused_with_what_is(typed: str, said: str) -> None:
    assert said in refusal("whispered-voice", typed)


def test_whispers_are_said_in_full_and_a_failed_test_names_its_limit_and_source() -> None:
    meaning = read("whispered-voice", "1/3 1/3")
    assert meaning.words.startswith("1 of 3, then 1 of a new set of 3: 2 of 6 whispered items right")
    assert meaning.chart == "2/6 whispered items (1/3, then 1/3)"
    (remark,) = meaning.remarks
    assert remark.text == "fewer than 3 of 6 whispered items"
    assert "Pirozzo" in remark.source and "WHO 2021" in remark.source


def test_whispers_give_what_was_right_and_of_how_many() -> None:
    assert read("whispered-voice", "3/3").figures == {"items_right": 3, "items_whispered": 3}
    assert read("whispered-voice", "2/3 1/3").figures == {"items_right": 3, "items_whispered": 6}


def test_a_protocol_may_ask_for_more_items() -> None:
    assert "fails" in read("whispered-voice", "2/3 1/3", pass_of_six=4).classes


@pytest.mark.parametrize(
    ("typed", "text", "tell"),
    [
        ("m", "midline", ""),
        ("mid", "midline", ""),
        ("Midline", "midline", ""),
        ("heard in the middle", "midline", ""),
        ("r", "right", "report"),
        ("lateralises to the right", "right", "report"),
        ("L", "left", "report"),
        ("louder in the left ear", "left", "report"),
        ("not heard", "not heard", "report"),
        ("vague", "vague", "note"),
        ("no lateralization", "midline", ""),
        ("does not lateralise", "midline", ""),
        ("central", "midline", ""),
    ],
)
def test_weber_is_read_as_where_it_was_heard(typed: str, text: str, tell: str) -> None:
    meaning = read("weber", typed)
    assert (meaning.text, meaning.tell) == (text, tell)
    assert meaning.classes == (text.replace(" ", "-"),)


def test_weber_says_what_it_accepts() -> None:
    assert refusal("weber", "up").startswith("unknown word 'up'; type m (midline), r, l, not heard")
    assert refusal("weber", "right left")


def test_weber_swaps_with_the_sides() -> None:
    for side, other in SWAP.items():
        swapped = read("weber", side).words.replace(side, other)
        assert swapped == read("weber", other).words


@pytest.mark.parametrize(
    ("typed", "text", "heard"),
    [
        ("ac>bc", "AC>BC", "air-longer"),
        ("BC < AC", "AC>BC", "air-longer"),
        ("air", "AC>BC", "air-longer"),
        ("ac=bc", "AC=BC", "equal"),
        ("equal", "AC=BC", "equal"),
        ("bc>ac", "BC>AC", "bone-longer"),
        ("ac<bc", "BC>AC", "bone-longer"),
        ("bone", "BC>AC", "bone-longer"),
        ("not heard", "not heard", "not-heard"),
        ("unsure", "unsure", "unsure"),
    ],
)
def test_rinne_is_kept_as_what_was_longer(typed: str, text: str, heard: str) -> None:
    meaning = read("rinne", typed)
    assert (meaning.text, meaning.classes) == (text, (heard,))
    # Equal counts as abnormal: Burkey et al., Am J Otol 1998;19:59-62, abstract read.
    assert bool(meaning.tell) == (heard != "air-longer")


@pytest.mark.parametrize("word", ["positive", "negative", "pos", "neg", "+", "-", "Rinne positive"])
def test_rinne_refuses_the_words_that_are_read_both_ways(word: str) -> None:
    assert refusal("rinne", word).endswith("type ac>bc, ac=bc or bc>ac")


# Air : bone about 2 : 1, common practice. The times are in seconds; the ratios are plain arithmetic.
@pytest.mark.parametrize(
    ("typed", "air", "bone", "heard"),
    [
        ("40/20", 40, 20, "air-longer"),
        ("ac 40 bc 20", 40, 20, "air-longer"),
        ("AC 40 s, BC 20 s", 40, 20, "air-longer"),
        ("bone 20 air 40", 40, 20, "air-longer"),
        ("15/30", 15, 30, "bone-longer"),
        ("20/20", 20, 20, "equal"),
        ("20,5/20", 20.5, 20, "equal"),
        # As the stop-watch gives it: by air after the bone stopped, so both times are of one stroke.
        ("bone 15.0 s, then air 15.3 s", 30.3, 15, "air-longer"),
        ("bone 15 + air 20", 35, 15, "air-longer"),
        # No further apart than a hand can time.
        ("bone 15 then air 0.8", 15.8, 15, "equal"),
        ("21/20", 21, 20, "equal"),
        ("21.1/20", 21.1, 20, "air-longer"),
        ("20/21.1", 20, 21.1, "bone-longer"),
    ],
)
def test_timed_rinne_gives_both_times_and_their_ratio(
    typed: str, air: float, bone: float, heard: str
) -> None:
    meaning = read("rinne", typed)
    assert meaning.classes == (heard,)
    assert meaning.figures["air_seconds"] == air
    assert meaning.figures["bone_seconds"] == bone
    assert meaning.figures["air_to_bone"] == pytest.approx(air / bone)


def test_timed_rinne_says_which_time_is_whose() -> None:
    assert read("rinne", "40/20").words == (
        "air 40 s, bone 20 s, air to bone 2.0 to 1: heard longer by air than by bone"
    )
    assert read("rinne", "bone 15 then air 20").words.startswith(
        "air 35 s (15 s as by bone, then 20 s more), bone 15 s, air to bone 2.3 to 1"
    )
    assert read("rinne", "40/20").chart == "AC>BC, air 40 s, bone 20 s (2.0 to 1)"


def test_a_ratio_below_the_usual_one_is_told_to_nobody_but_noted_with_its_limit() -> None:
    (remark,) = read("rinne", "30/20").remarks
    assert (remark.text, remark.tell) == ("air less than 2 times as long as bone", "")
    assert read("rinne", "40/20").remarks == ()


def test_times_that_a_fork_cannot_have_are_refused_and_long_ones_asked_about() -> None:
    assert "1 to 300 s" in refusal("rinne", "400/20")
    assert "1 to 300 s" in refusal("rinne", "20/0")
    assert "not heard again by air" in refusal("rinne", "bone 20 then air 0")
    assert read("rinne", "150/20").doubt == "150 s with a fork is unusual"
    assert read("rinne", "60/30").doubt == ""


def test_bone_longer_warns_of_the_other_ear() -> None:
    assert "other ear" in read("rinne", "bc>ac").words


@given(st.integers(10, 3000), st.integers(10, 3000))
def test_swapping_the_times_swaps_air_and_bone(air: int, bone: int) -> None:
    opposite = {"air": "bone", "bone": "air", "equal": "equal"}
    assert longer(bone / 10, air / 10, 1) == opposite[longer(air / 10, bone / 10, 1)]


@given(st.integers(10, 1500), st.integers(10, 1500))
def test_times_come_back_as_they_were_typed(air: int, bone: int) -> None:
    figures = read("rinne", f"ac {air / 10} bc {bone / 10}").figures
    assert (figures["air_seconds"], figures["bone_seconds"]) == (air / 10, bone / 10)
    assert holds_the_laws("rinne", f"{air / 10}/{bone / 10}")
    assert holds_the_laws("rinne", f"bone {bone / 10} then air {air / 10}")


@given(texts("0123/ ,of then"))
def test_any_text_is_read_as_whispers_or_refused(text: str) -> None:
    holds_the_laws("whispered-voice", text)


@given(texts("mrlidne hotvagu"))
def test_any_text_is_read_as_weber_or_refused(text: str) -> None:
    holds_the_laws("weber", text)


@given(texts("abc><=airone 0123456789./s+"))
def test_any_text_is_read_as_rinne_or_refused(text: str) -> None:
    holds_the_laws("rinne", text)
