"""A step typed from memory: slips and other names are tolerated, another step is not taken for it."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from checklist.practice.typed_step import is_slip, meant, words_of
from checklist.protocol.library import load_table
from checklist.protocol.model import Step

BUNDLED = sorted((Path(__file__).parent.parent / "protocols").glob("*.toml"))


def step(title: str, *also: str) -> Step:
    return Step(id=title.casefold().replace(" ", "-"), title=title, technique="inspect", also=also)


STEPS = (
    step("Clean hands before touch", "hand hygiene", "wash hands"),
    step("Inspect the sclera"),
    step("Palpate submental nodes"),
    step("Palpate occipital nodes"),
    step("Test shoulder shrug against resistance", "trapezius", "accessory nerve"),
    step("Shoulder abduction"),
    step("Shoulder adduction"),
    step("Listen over the carotid arteries"),
    step("Inspect the ear"),
    step("Inspect the eye"),
    step("Measure height"),
    step("Measure weight"),
    step("Pressure at 1 minute"),
    step("Pressure at 3 minutes"),
)


def titles(typed: str) -> list[str]:
    return [each.title for each in meant(typed, STEPS).steps]


@pytest.mark.parametrize(
    ("typed", "title"),
    [
        ("Inspect the sclera", "Inspect the sclera"),
        ("INSPECT SCLERA", "Inspect the sclera"),
        ("inspekt the sclerae", "Inspect the sclera"),
        ("look at the scleras", "Inspect the sclera"),
        ("sclera", "Inspect the sclera"),
        ("the sclera: inspect it", "Inspect the sclera"),
        ("palpate ocipital node", "Palpate occipital nodes"),
        ("feel the occipital nodes", "Palpate occipital nodes"),
        ("wash hands", "Clean hands before touch"),
        ("hand hygeine", "Clean hands before touch"),
        ("trapezius", "Test shoulder shrug against resistance"),
        ("trapézius", "Test shoulder shrug against resistance"),
        ("auscultate carotid arteries", "Listen over the carotid arteries"),
        ("shoulder adduction", "Shoulder adduction"),
        ("inspect ear", "Inspect the ear"),
        ("lisen over the carotids arteries", "Listen over the carotid arteries"),
        ("weight", "Measure weight"),
        ("mesure height", "Measure height"),
        ("pressure at 3 minutes", "Pressure at 3 minutes"),
    ],
)
def test_one_step_is_meant(typed: str, title: str) -> None:
    assert titles(typed) == [title]


@pytest.mark.parametrize("typed", ["", "   ", "?!", "palpate the spleen", "inspect the nose", "the"])
def test_nothing_is_near(typed: str) -> None:
    assert titles(typed) == []


def test_several_that_fit_alike_are_all_returned_and_said_to_be_unclear() -> None:
    found = meant("palpate nodes", STEPS)

    assert [each.title for each in found.steps] == ["Palpate submental nodes", "Palpate occipital nodes"]
    assert found.is_unclear


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ("resistance", ["Test shoulder shrug against resistance"]),
        ("shrug resistence", ["Test shoulder shrug against resistance"]),
        ("carotid", ["Listen over the carotid arteries"]),
        ("nodes", ["Palpate submental nodes", "Palpate occipital nodes"]),
        ("resistance of the knee", []),
    ],
)
def test_a_part_of_a_name_will_do_where_all_of_it_is_there(typed: str, found: list[str]) -> None:
    assert titles(typed) == found


def test_steps_of_one_name_are_not_unclear() -> None:
    before, after = step("Clean hands"), Step(id="after", title="Clean hands", technique="hygiene")

    found = meant("clean hands", (before, after))

    assert found.steps == (before, after)
    assert not found.is_unclear


@pytest.mark.parametrize(
    ("word", "other", "is_one"),
    [
        ("conjuctiva", "conjunctiva", True),
        ("nodes", "node", True),
        ("eye", "ear", False),
        ("eyes", "eye", True),
        ("arteries", "artery", True),
        ("test", "tets", True),
        ("reflex", "reflexes", True),
        ("abduction", "adduction", False),
        ("adduction", "abduction", False),
        ("inversion", "eversion", False),
        ("hypertension", "hypotension", False),
        ("upper", "lower", False),
        ("uncover", "cover", False),
        ("t12", "t10", False),
        ("1000", "1001", False),
        ("anterior", "posterior", False),
    ],
)
def test_a_slip_is_no_other_word(word: str, other: str, is_one: bool) -> None:
    assert is_slip(word, other) is is_one


def test_filling_words_alone_are_kept() -> None:
    assert words_of("Up and over") == ("up", "and", "over")
    assert words_of("Look at the Ærø-pupils, please!") == ("look", "ærø", "pupils")


def slips(title: str) -> Iterator[str]:
    """The title with a letter of its longest word left out, doubled, or changed for its neighbour."""
    word = max(title.split(), key=len)
    if len(word) < 5:
        return
    middle = len(word) // 2
    begin, letter, end = word[:middle], word[middle], word[middle + 1 :]
    for slip in (begin + end, begin + letter * 2 + end, begin + end[:1] + letter + end[1:]):
        yield title.replace(word, slip)


@pytest.mark.parametrize("path", BUNDLED, ids=lambda path: path.stem)
def test_each_step_of_a_bundled_protocol_is_known_by_its_title_and_with_a_slip_in_it(path: Path) -> None:
    steps = load_table(path).protocol.steps

    for wanted in steps:
        of_that_name = tuple(step for step in steps if step.title == wanted.title)
        for typed in (wanted.title, wanted.title.upper(), *slips(wanted.title)):
            found = meant(typed, steps)
            assert found.steps == of_that_name, typed


@pytest.mark.parametrize(
    ("typed", "named"),
    [("wash hands", "clean-hands-before"), ("murphy sign", "breathe-under-ribs"), ("LMP", "ask-period")],
)
def test_the_bundled_abdomen_knows_other_names_of_its_steps(typed: str, named: str) -> None:
    steps = load_table(BUNDLED[0]).protocol.steps
    assert named in {each.id for each in meant(typed, steps).steps}
