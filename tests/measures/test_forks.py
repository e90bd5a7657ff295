"""Weber and Rinne together: every answer there is, and what contradicts what."""

from itertools import product

import pytest

from checklist.measures import catalogue
from checklist.measures.forks import fork_pattern
from checklist.measures.reading import Fact, Facts, Meaning, OptionValue
from tests.measures.head import SIDES, SWAP, compute, expected, findings, found, measured

# Written by hand, row by row, from:
# - a primary-care reference (read): conductive loss on the right goes to the right, sensorineural loss on the
#   right goes to the left; a dead right ear gives Rinne turned on the right and Weber to the left.
# - Burkey et al., Am J Otol 1998;19:59-62 (abstract read): air equal to bone counts as turned.
# - midline with both turned is conductive on both sides; Weber to a side with Rinne turned in neither ear is
#   sensorineural on the other (or conductive there, too small to turn Rinne): several texts, second hand.
# - one ear turned and Weber not to it: the two contradict each other. With bone longer and Weber away from
#   the ear that is the dead-ear row; with air equal to bone, or Weber midline, no row fits.
# Letters: m r l for Weber; a e b for Rinne air, equal, bone, of the right ear and of the left.
TABLE = """
m a a  no-difference
m a e  weber-contradicts-rinne-left inconsistent
m a b  weber-contradicts-rinne-left inconsistent
m e a  weber-contradicts-rinne-right inconsistent
m e e  conductive-both
m e b  conductive-both
m b a  weber-contradicts-rinne-right inconsistent
m b e  conductive-both
m b b  conductive-both
r a a  sensorineural-left
r a e  weber-contradicts-rinne-left inconsistent
r a b  weber-contradicts-rinne-left false-negative-left
r e a  conductive-right
r e e  conductive-both
r e b  conductive-both false-negative-left
r b a  conductive-right
r b e  conductive-both
r b b  conductive-both false-negative-left
l a a  sensorineural-right
l a e  conductive-left
l a b  conductive-left
l e a  weber-contradicts-rinne-right inconsistent
l e e  conductive-both
l e b  conductive-both
l b a  weber-contradicts-rinne-right false-negative-right
l b e  conductive-both false-negative-right
l b b  conductive-both false-negative-right
"""
WEBER = {"m": "midline", "r": "right", "l": "left"}
RINNE = {"a": "air", "e": "equal", "b": "bone"}
TYPED = {"a": "ac>bc", "e": "ac=bc", "b": "bc>ac"}
ROWS = [(*line.split()[:3], set(line.split()[3:])) for line in TABLE.strip().splitlines()]


def forks(weber: Fact, right: Fact, left: Fact, **options: OptionValue) -> Meaning:
    meaning = compute("fork-tests", {"weber": {("", ""): weber}, "rinne": ears(right, left)}, **options)
    assert meaning is not None
    return meaning


def ears(right: Fact, left: Fact) -> Facts:
    return {("right", ""): right, ("left", ""): left}


def with_whisper(weber: str, right: str, left: str, whisper: Facts) -> Meaning:
    rinne = ears(measured("rinne", TYPED[right]), measured("rinne", TYPED[left]))
    inputs = {"weber": {("", ""): measured("weber", weber)}, "rinne": rinne, "whisper": whisper}
    meaning = compute("fork-tests", inputs)
    assert meaning is not None
    return meaning


def test_the_table_has_every_answer_once() -> None:
    assert [row[:3] for row in ROWS] == list(product("mrl", "aeb", "aeb"))


@pytest.mark.parametrize(("weber", "right", "left", "classes"), ROWS)
def test_every_answer_gives_the_pattern_of_the_table(
    weber: str, right: str, left: str, classes: set[str]
) -> None:
    assert set(fork_pattern(WEBER[weber], RINNE[right], RINNE[left])) == classes
    meaning = forks(measured("weber", weber), measured("rinne", TYPED[right]), measured("rinne", TYPED[left]))
    assert set(meaning.classes) == classes
    assert meaning.tell == ("" if classes == {"no-difference"} else "report")


@pytest.mark.parametrize(("weber", "right", "left", "classes"), ROWS)
def test_swapping_the_sides_swaps_the_pattern(weber: str, right: str, left: str, classes: set[str]) -> None:
    mirrored = fork_pattern(SWAP.get(WEBER[weber], "midline"), RINNE[left], RINNE[right])
    assert {swapped(each) for each in mirrored} == classes


def swapped(name: str) -> str:
    head, _, side = name.rpartition("-")
    return f"{head}-{SWAP[side]}" if side in SWAP else name


def test_the_words_show_what_was_heard_and_never_a_diagnosis() -> None:
    meaning = forks(measured("weber", "r"), measured("rinne", "ac=bc"), measured("rinne", "ac>bc"))
    assert meaning.words == (
        "Weber right; Rinne right AC=BC, left AC>BC: pattern of conductive loss on the right: "
        "consider and report"
    )
    assert (
        meaning.chart == "Weber right; Rinne right AC=BC, left AC>BC: pattern of conductive loss on the right"
    )
    (remark,) = meaning.remarks
    assert "second hand" in remark.source and "Burkey" in remark.source


def test_a_turned_rinne_away_from_weber_warns_that_the_other_ear_hears() -> None:
    words = forks(measured("weber", "l"), measured("rinne", "bc>ac"), measured("rinne", "ac>bc")).words
    assert "Weber contradicts Rinne on the right" in words
    assert "the left ear may be what hears the bone" in words


def test_an_equal_rinne_can_be_set_not_to_count() -> None:
    facts = measured("weber", "m"), measured("rinne", "ac=bc"), measured("rinne", "ac>bc")
    assert forks(*facts, equal_counts=False).classes == ("no-difference",)


@pytest.mark.parametrize(
    ("weber", "right", "left", "classes"),
    [
        (expected(), expected(), expected(), {"no-difference"}),
        (found("right"), found("equal"), expected(), {"conductive-right"}),
        (found("left"), expected(), found("bone-longer"), {"conductive-left"}),
        (
            found("left"),
            found("bone-longer"),
            expected(),
            {"weber-contradicts-rinne-right", "false-negative-right"},
        ),
        (found("left-sudden"), expected(), expected(), {"sensorineural-right", "sudden"}),
        (found("right-sudden"), expected(), expected(), {"sensorineural-left", "sudden"}),
        (found("vague"), expected(), expected(), {"unclear"}),
        (found("not-heard"), expected(), expected(), {"unclear"}),
        (expected(), found("unsure"), expected(), {"unclear"}),
        (expected(), expected(), found("not-heard"), {"unclear"}),
        # Own words only: it differs, and nobody knows how.
        (found(), expected(), expected(), {"unclear"}),
        (found("right", "left"), expected(), expected(), {"unclear"}),
    ],
)
def test_findings_count_as_readings_do(weber: Fact, right: Fact, left: Fact, classes: set[str]) -> None:
    assert set(forks(weber, right, left).classes) == classes


def test_a_reading_kept_as_expected_is_not_taken_for_the_midline() -> None:
    kept = Fact(is_expected=True, classes=frozenset({"vague"}))
    assert forks(kept, expected(), expected()).classes == ("unclear",)


def test_what_was_not_heard_or_not_clear_is_said() -> None:
    words = forks(found("vague"), found("not-heard"), expected()).words
    assert words == (
        "Weber not clear; Rinne right not heard by air or bone, left AC>BC: no pattern from these answers"
    )


def test_sudden_loss_is_told_at_once() -> None:
    meaning = forks(found("left-sudden"), expected(), expected())
    assert meaning.tell == "urgent"
    assert meaning.words.endswith("sudden hearing loss reported: tell at once")


def test_without_both_ears_there_is_no_pattern_and_what_is_missing_is_said() -> None:
    meaning = compute(
        "fork-tests", {"weber": {("", ""): found("right")}, "rinne": {("right", ""): expected()}}
    )
    assert meaning is not None
    assert meaning.classes == ("incomplete",)
    assert "left not tested" in meaning.words


def test_without_weber_or_without_rinne_nothing_is_said() -> None:
    assert compute("fork-tests", {"weber": {("", ""): found("right")}}) is None
    assert compute("fork-tests", {"rinne": ears(expected(), expected())}) is None
    # Weber has no sides; what was recorded for one is no answer to it.
    sided = {("right", ""): found("right")}
    assert compute("fork-tests", {"weber": sided, "rinne": ears(expected(), expected())}) is None


MISSED, PASSED = found("fails"), measured("whispered-voice", "3/3")


@pytest.mark.parametrize(
    ("weber", "right", "left", "whisper", "classes"),
    [
        # Equal loss on both sides is the same to a fork as none: several texts, second hand.
        ("m", "a", "a", ears(MISSED, MISSED), {"equal-loss"}),
        ("m", "a", "a", ears(PASSED, PASSED), {"no-difference"}),
        ("m", "a", "a", ears(MISSED, PASSED), {"no-difference", "whisper-disagrees"}),
        ("r", "b", "a", ears(MISSED, PASSED), {"conductive-right"}),
        ("r", "b", "a", ears(PASSED, PASSED), {"conductive-right"}),
        ("r", "b", "a", ears(PASSED, MISSED), {"conductive-right", "whisper-disagrees"}),
        # Louder in the ear that hears worse, Rinne not turned: a conductive loss too small to turn it.
        ("r", "a", "a", ears(MISSED, PASSED), {"conductive-right"}),
        ("r", "a", "a", ears(PASSED, MISSED), {"sensorineural-left"}),
        ("r", "a", "a", {("right", ""): MISSED}, {"sensorineural-left"}),
        # Own words at the left ear: nobody knows whether it passed, so neither ear is the worse one.
        ("r", "a", "a", ears(MISSED, found()), {"sensorineural-left"}),
        ("l", "b", "a", ears(MISSED, PASSED), {"weber-contradicts-rinne-right", "false-negative-right"}),
        (
            "l",
            "b",
            "a",
            ears(PASSED, MISSED),
            {"weber-contradicts-rinne-right", "false-negative-right", "whisper-disagrees"},
        ),
        ("m", "b", "b", ears(MISSED, PASSED), {"conductive-both"}),
        ("m", "b", "a", ears(PASSED, MISSED), {"weber-contradicts-rinne-right", "inconsistent"}),
    ],
)
def test_the_whispered_voice_says_which_ear_hears_worse(
    weber: str, right: str, left: str, whisper: Facts, classes: set[str]
) -> None:
    assert set(with_whisper(weber, right, left, whisper).classes) == classes


def test_the_whispered_voice_is_shown_and_a_reading_counts_as_a_finding_does() -> None:
    failed = measured("whispered-voice", "1/3 1/3")
    meaning = with_whisper("r", "a", "a", ears(PASSED, failed))
    assert "whisper right passed, left missed" in meaning.words
    sudden = with_whisper("r", "a", "a", ears(expected(), found("sudden")))
    assert sudden.tell == "urgent" and "sensorineural-left" in sudden.classes


def test_the_findings_that_count_are_those_of_the_protocol() -> None:
    options = {each.name: each.default for each in catalogue.COMPUTATIONS["fork-tests"].options}
    for name, kind, step in (
        ("weber", "weber", "test-weber"),
        ("rinne", "rinne", "test-rinne"),
        ("whisper", "whispered-voice", "test-whispered-voice"),
    ):
        known = findings(step) | set(catalogue.KINDS[kind].classes)
        named = [
            each
            for option, ids in options.items()
            if option.startswith(f"{name}_")
            for each in named_ids(ids)
        ]
        assert named and set(named) <= known
    assert {f"{side}-sudden" for side in SIDES} <= findings("test-weber")


def named_ids(value: OptionValue) -> list[str]:
    return [str(each) for each in value] if isinstance(value, tuple) else []
