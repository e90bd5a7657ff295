"""Neck: what nodes feel like, which are large where, regions, and goitre grades."""

from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklist.measures import catalogue
from checklist.measures.neck import DRAINS
from checklist.measures.reading import Meaning
from tests.measures.head import compute, expected, found, holds_the_laws, measured, read, refusal, texts


@pytest.mark.parametrize(
    ("typed", "text"),
    [
        ("1.5 cm round rubbery mobile tender", "1.5 cm round rubbery mobile tender"),
        ("tender mobile rubbery round 1.5 cm", "1.5 cm round rubbery mobile tender"),
        ("Mobile, TTP; 15mm, rubbery, round", "1.5 cm round rubbery mobile tender"),
        ("1,5 cm soft", "1.5 cm soft"),
        ("1.5", "1.5 cm"),
        ("1.5x1cm firm", "1.5 x 1 cm firm"),
        ("1 × 1.5 cm firm", "1.5 x 1 cm firm"),
        ("15 by 10 mm", "1.5 x 1 cm"),
        ("8 mm non-tender", "0.8 cm non-tender"),
        ("8 mm not tender", "0.8 cm non-tender"),
        ("8 mm NT freely movable", "0.8 cm mobile non-tender"),
        ("8 mm immobile", "0.8 cm fixed"),
        ("2 nodes 0.5 1 cm", "2 nodes 0.5 1 cm"),
        ("2 nodes, 5 and 10 mm, soft", "2 nodes 0.5 1 cm soft"),
        ("two tender nodes 0.5-1 cm", "2 nodes 0.5 1 cm tender"),
        ("3 lns 8 mm 1.5 x 1 cm", "3 nodes 0.8 1.5 x 1 cm"),
        ("shotty nodes", "several nodes shotty"),
        ("2 cm nodes matted", "several nodes 2 cm matted"),
        ("palpable", "felt"),
        ("a tender node", "tender"),
        ("one node 1 cm", "1 cm"),
        ("three nodes", "3 nodes"),
        ("none", "none"),
        ("not felt", "none"),
        ("no palpable nodes", "none"),
    ],
)
def test_nodes_are_described_in_any_order_and_short_form(typed: str, text: str) -> None:
    assert read("lymph-node", typed).text == text


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("15 soft", "15 cm or 15 mm"),
        ("soft hard 1 cm", "soft and hard contradict each other"),
        ("tender non-tender", "contradict"),
        ("1 2 cm", "1.5 x 1 cm for one node"),
        ("one node 1 2 cm", "1.5 x 1 cm for one node"),
        ("2 nodes 1 2 3 cm", "2 nodes 1.5 1 cm"),
        ("2 nodes 1,2 cm", "points and spaces"),
        ("1 x 2 x 3 cm", "1.5 x 1 cm"),
        ("30 cm", "from 0.1 to 20 cm"),
        ("40 nodes", "from 1 to 20 nodes"),
        ("enlarged", "unknown word 'enlarged'"),
        ("no tender nodes", "unknown word 'no'"),
        ("1/2 cm", "type size and feel"),
        ("", "type size and feel"),
    ],
)
def test_what_cannot_be_placed_is_refused_with_what_can(typed: str, said: str) -> None:
    assert said in refusal("lymph-node", typed)


# Gaddey and Riegel, Am Fam Physician 2016;94:896-903 (abstract read): in general above 1 cm; epitrochlear
# above 5 mm; any supraclavicular, popliteal or iliac node. Inguinal above 1 to 1.5 cm: by text, second hand.
@pytest.mark.parametrize(
    ("group", "typed", "size", "tell"),
    [
        ("general", "1 cm", "small", "note"),
        ("general", "1.1 cm", "large", "report"),
        ("occipital", "11 mm", "large", "report"),
        ("epitrochlear", "5 mm", "small", "note"),
        ("epitrochlear", "6 mm", "large", "report"),
        ("inguinal", "1.5 cm", "small", "note"),
        ("inguinal", "1.6 cm", "large", "report"),
        ("supraclavicular", "3 mm", "small", "report"),
        ("popliteal", "3 mm", "small", "report"),
        ("iliac", "3 mm", "small", "report"),
        ("general", "0.5 x 1.2 cm", "large", "report"),
        ("general", "2 nodes 0.5 1.2 cm", "large", "report"),
    ],
)
def test_the_size_rule_is_that_of_the_group(group: str, typed: str, size: str, tell: str) -> None:
    meaning = read("lymph-node", typed, group=group)
    assert {"small", "large"} & set(meaning.classes) == {size}
    assert meaning.tell == tell
    assert ("any-size" in meaning.classes) == (group in ("supraclavicular", "popliteal", "iliac"))


def test_a_large_node_names_the_limit_and_its_source() -> None:
    kind = catalogue.KINDS["lymph-node"]
    (remark,) = catalogue.read(kind, "1.5 cm", catalogue.options(kind, {})).remarks
    assert remark.text == "above 1 cm" and remark.source.startswith("Gaddey and Riegel 2016")


@pytest.mark.parametrize("feel", ["hard", "fixed", "matted", "tender"])
def test_a_small_node_is_reported_for_how_it_feels(feel: str) -> None:
    meaning = read("lymph-node", f"5 mm {feel}")
    assert meaning.tell == "report"
    assert [remark.text for remark in meaning.remarks] == [feel]


def test_a_node_that_was_felt_is_noted_and_none_is_not() -> None:
    assert read("lymph-node", "5 mm soft mobile non-tender").tell == "note"
    assert read("lymph-node", "none").tell == ""
    assert read("lymph-node", "none").classes == ("not-felt",)


def test_hard_and_fixed_are_told_together() -> None:
    assert [remark.text for remark in read("lymph-node", "5 mm fixed hard").remarks] == ["hard and fixed"]


def test_several_nodes_are_known_as_several() -> None:
    assert "several" in read("lymph-node", "2 nodes 5 mm").classes
    assert "several" not in read("lymph-node", "5 mm soft").classes


def test_fixed_and_matted_nodes_do_not_move() -> None:
    assert "not-mobile" in read("lymph-node", "1 cm fixed").classes
    assert "not-mobile" in read("lymph-node", "several nodes matted").classes
    assert "not-mobile" not in read("lymph-node", "1 cm mobile").classes


def test_the_words_say_what_the_group_drains() -> None:
    words = read("lymph-node", "1.5 cm tender", group="occipital").words
    assert words == "1.5 cm, tender; above 1 cm; drains scalp"
    assert "drains" not in read("lymph-node", "1.5 cm tender").words
    sides = read("lymph-node", "5 mm", group="supraclavicular").words
    # The thoracic duct ends on the left: standard anatomy, quoted second hand.
    assert "chest and gullet (right), abdomen and chest (left)" in sides


def test_an_unlikely_size_is_asked_about() -> None:
    assert read("lymph-node", "7 cm").doubt == "a node of 7 cm is unusual"
    assert read("lymph-node", "6 cm").doubt == ""


def test_every_group_has_its_drainage() -> None:
    (group,) = (each for each in catalogue.KINDS["lymph-node"].options if each.name == "group")
    assert set(group.choices) == set(DRAINS)
    assert set(catalogue.COMPUTATIONS["generalised-nodes"].takes) == set(DRAINS) - {"general"}


TERMS = (
    ("round", "oval", "flat"),
    ("smooth", "irregular"),
    ("soft", "firm", "hard"),
    ("rubbery",),
    ("discrete", "matted"),
    ("mobile", "fixed"),
    ("tender", "non-tender"),
)
WORDS = st.tuples(*(st.sampled_from(("", *slot)) for slot in TERMS))
SIZES = st.lists(st.integers(1, 200), min_size=1, max_size=2)


@given(WORDS, SIZES, st.randoms())
def test_the_order_of_the_words_does_not_matter(
    words: tuple[str, ...], sizes: list[int], random: Random
) -> None:
    parts = [word for word in words if word]
    size = " x ".join(str(each) for each in sizes) + " mm"
    shuffled = [*parts, size]
    random.shuffle(shuffled)
    assert read("lymph-node", " ".join(shuffled)) == read("lymph-node", " ".join([size, *parts]))
    assert holds_the_laws("lymph-node", " ".join(shuffled))


@given(st.integers(1, 200), st.integers(1, 200))
def test_sizes_come_back_in_cm_and_the_larger_one_counts(first: int, second: int) -> None:
    meaning = read("lymph-node", f"{first} x {second} mm")
    assert meaning.figures["largest_cm"] == max(first, second) / 10
    assert ("large" in meaning.classes) == (max(first, second) > 10)


@given(texts("0123456789 .,xcmnodestrahlbuiy"))
def test_any_text_is_read_as_nodes_or_refused(text: str) -> None:
    holds_the_laws("lymph-node", text)


TRADE = ("2", "1.5", "cm", "mm", "x", "nodes", "node", "soft", "hard", "tender", ",", "several", "none")


@given(st.lists(st.sampled_from(TRADE), max_size=7))
def test_any_words_of_the_trade_are_read_as_nodes_or_refused(words: list[str]) -> None:
    holds_the_laws("lymph-node", " ".join(words))


def regions(**groups: str) -> Meaning | None:
    facts = {
        group.replace("_", "-"): {("right", ""): measured("lymph-node", text)}
        for group, text in groups.items()
    }
    return compute("generalised-nodes", facts)


# Generalised is two or more regions: Gaddey and Riegel 2016 (abstract read). Chains of the neck are one
# region: after the Ann Arbor staging, from memory.
@pytest.mark.parametrize(
    ("groups", "classes"),
    [
        ({"occipital": "none", "axillary": "none"}, ("none-large",)),
        ({"occipital": "5 mm", "axillary": "8 mm"}, ("none-large",)),
        ({"occipital": "2 cm", "axillary": "none"}, ("localised",)),
        ({"occipital": "2 cm", "submental": "2 cm"}, ("too-few-felt",)),
        ({"occipital": "2 cm", "axillary": "2 cm"}, ("generalised",)),
        ({"deep_cervical": "2 cm", "inguinal": "2 cm"}, ("generalised",)),
        ({"supraclavicular": "5 mm", "axillary": "2 cm"}, ("generalised",)),
        ({"supraclavicular": "none", "axillary": "2 cm"}, ("localised",)),
    ],
)
def test_two_regions_with_large_nodes_are_called_generalised(
    groups: dict[str, str], classes: tuple[str, ...]
) -> None:
    meaning = regions(**groups)
    assert meaning is not None
    assert meaning.classes == classes
    assert meaning.tell == ("report" if classes == ("generalised",) else "")


def test_regions_say_what_was_felt_and_where_it_was_large() -> None:
    meaning = regions(occipital="2 cm", axillary="2 cm", inguinal="none")
    assert meaning is not None
    assert meaning.chart == (
        "large nodes in occipital, axillary: 2 of 3 regions felt (head and neck, axilla, groin)"
    )


def test_findings_count_as_readings_do_and_what_was_not_felt_for_does_not() -> None:
    side = ("left", "")
    inputs = {"occipital": {side: found("large")}, "axillary": {side: expected()}}
    meaning = compute("generalised-nodes", inputs)
    assert meaning is not None and meaning.classes == ("localised",)
    assert "of 2 regions felt" in meaning.words
    any_size = compute("generalised-nodes", {"supraclavicular": {side: found("small")}})
    assert any_size is not None and any_size.classes == ("too-few-felt",)
    assert compute("generalised-nodes", {}) is None
    assert compute("generalised-nodes", {"occipital": {}}) is None


# WHO, UNICEF and ICCIDD, as a surgery text quotes them (read): 0 no palpable or visible goitre; 1 palpable
# and not visible with the neck in normal position; 2 visible there; 1a and 1b became 1, 2 and 3 became 2.
@pytest.mark.parametrize(
    ("typed", "text", "classes", "tell"),
    [
        ("0", "0", ("grade-0",), ""),
        ("1", "1", ("grade-1", "felt"), "report"),
        ("grade 1", "1", ("grade-1", "felt"), "report"),
        ("G2", "2", ("grade-2", "felt", "visible"), "report"),
        ("WHO grade 2", "2", ("grade-2", "felt", "visible"), "report"),
    ],
)
def test_goitre_grades_grow_with_the_goitre(
    typed: str, text: str, classes: tuple[str, ...], tell: str
) -> None:
    meaning = read("goitre-grade", typed)
    assert (meaning.text, meaning.classes, meaning.tell) == (text, classes, tell)


@pytest.mark.parametrize(("typed", "now"), [("1a", 1), ("1b", 1), ("1B", 1), ("3", 2)])
def test_grades_of_the_older_scheme_are_refused_with_what_they_are_now(typed: str, now: int) -> None:
    assert f"older scheme: type {now} if" in refusal("goitre-grade", typed)


def test_what_is_no_goitre_grade_is_refused_with_what_is() -> None:
    assert refusal("goitre-grade", "5").startswith("type 0, 1 or 2")
    assert refusal("goitre-grade", "").startswith("type 0, 1 or 2")


@given(texts("0123abgrde "))
def test_any_text_is_read_as_a_goitre_grade_or_refused(text: str) -> None:
    holds_the_laws("goitre-grade", text)
