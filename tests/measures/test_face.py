"""Facial weakness: forehead spared or not, on each side, and nothing said of what was not judged."""

from itertools import product

import pytest

from checklist.measures import catalogue
from checklist.measures.face import pattern_of
from checklist.measures.reading import Fact, Facts, Meaning
from tests.measures.head import SIDES, SWAP, compute, expected, findings, found

# Forehead spared with a weak lower face is called central, forehead weak as well peripheral; the eye can be
# weak in both: emergency medicine and neurology teaching pages (read). The rest fits neither.
# Letters: w weak, f full, of brow, eye closure, mouth.
TABLE = """
f f f  none
f f w  central
f w f  partial
f w w  central
w f f  partial
w f w  peripheral
w w f  partial
w w w  peripheral
"""
ROWS = {tuple(line.split()[:3]): line.split()[3] for line in TABLE.strip().splitlines()}
# What of it can still be said when one of the three was not judged (u), and nothing more.
OPEN = {
    ("u", "f", "f"): "undetermined",
    ("u", "f", "w"): "undetermined",
    ("u", "w", "w"): "undetermined",
    ("f", "u", "w"): "central",
    ("w", "u", "w"): "peripheral",
    ("f", "u", "f"): "undetermined",
    ("w", "u", "f"): "partial",
    ("f", "f", "u"): "undetermined",
    ("w", "w", "u"): "undetermined",
}
STATES = {"w": "weak", "f": "full", "u": "not judged"}
STEPS = ("brows", "eyes", "smile")


def face(right: tuple[str, ...], left: tuple[str, ...], **more: Facts) -> Meaning | None:
    facts = {
        step: {(side, ""): entry(state) for side, state in zip(SIDES, pair, strict=True)}
        for step, pair in zip(STEPS, zip(right, left, strict=True), strict=True)
    }
    return compute("facial-weakness", {**facts, **more})


def entry(state: str) -> Fact:
    return {"w": found("weak"), "f": expected(), "u": found("known")}[state]


def classes_of(pattern: str, side: str, eye: str) -> set[str]:
    shown = {f"{pattern}-{side}"} if pattern != "none" else set()
    return shown | ({f"eye-weak-{side}"} if eye == "w" else set())


FULL = ("f", "f", "f")


def test_the_table_has_every_side_once() -> None:
    assert set(ROWS) == set(product("fw", repeat=3))


@pytest.mark.parametrize(("states", "pattern"), [*ROWS.items(), *OPEN.items()])
def test_every_side_has_the_pattern_of_the_table(states: tuple[str, ...], pattern: str) -> None:
    brow, eye, mouth = (STATES[each] for each in states)
    assert pattern_of(brow, eye, mouth) == pattern


@pytest.mark.parametrize(("right", "left"), list(product(ROWS, ROWS)))
def test_each_side_is_judged_by_itself(right: tuple[str, ...], left: tuple[str, ...]) -> None:
    meaning = face(right, left)
    assert meaning is not None
    wanted = classes_of(ROWS[right], "right", right[1]) | classes_of(ROWS[left], "left", left[1])
    if "w" in right and "w" in left:
        wanted |= {"both-sides"}
    assert set(meaning.classes) == (wanted or {"none-weak"})
    assert meaning.tell == ("urgent" if wanted else "")


@pytest.mark.parametrize("states", list(ROWS))
def test_swapping_the_sides_swaps_the_pattern(states: tuple[str, ...]) -> None:
    one, other = face(states, FULL), face(FULL, states)
    assert one is not None and other is not None
    assert {swapped(each) for each in one.classes} == set(other.classes)


def swapped(name: str) -> str:
    head, _, side = name.rpartition("-")
    return f"{head}-{SWAP[side]}" if side in SWAP else name


def test_the_words_show_what_was_seen_and_call_it_a_pattern() -> None:
    meaning = face(("f", "f", "w"), FULL)
    assert meaning is not None
    assert meaning.words == (
        "right smile weak, brow, eye closure full; left brow, eye closure, smile full. "
        "right: forehead spared, pattern called central. Tell at once"
    )
    (remark,) = meaning.remarks
    assert "second hand" in remark.source


@pytest.mark.parametrize("finding", ["known", "injections"])
def test_a_forehead_that_was_not_judged_is_never_called_spared(finding: str) -> None:
    facts = {
        "brows": {("right", ""): found(finding), ("left", ""): expected()},
        "eyes": {("right", ""): expected(), ("left", ""): expected()},
        "smile": {("right", ""): found("weak"), ("left", ""): expected()},
    }
    meaning = compute("facial-weakness", facts)
    assert meaning is not None
    assert meaning.classes == ("undetermined-right",)
    assert meaning.tell == "urgent"
    assert "brow not judged" in meaning.words


def test_a_side_that_was_not_examined_is_not_called_full() -> None:
    facts = {step: {("right", ""): expected()} for step in STEPS}
    meaning = compute("facial-weakness", facts)
    assert meaning is not None
    assert meaning.classes == ("undetermined-left",)
    assert "left brow, eye closure, smile not judged" in meaning.words
    assert meaning.tell == ""


def test_nothing_is_said_without_brows_eyes_and_smile() -> None:
    side = {("right", ""): found("weak")}
    assert compute("facial-weakness", {"smile": side, "brows": side}) is None
    unjudged = {("right", ""): found("known")}
    assert compute("facial-weakness", dict.fromkeys(STEPS, unjudged)) is None


@pytest.mark.parametrize(
    ("smile", "cheek", "classes"),
    [
        (expected(), found("leak"), ("central-right",)),
        (found("weak"), expected(), ("central-right",)),
        (found("known"), found("leak"), ("central-right",)),
        # A leak where teeth are missing says nothing, and a full cheek does not stand for the smile.
        (expected(), found("teeth"), ("none-weak",)),
        (found("known"), expected(), ("undetermined-right",)),
    ],
)
def test_cheeks_count_for_the_mouth(smile: Fact, cheek: Fact, classes: tuple[str, ...]) -> None:
    facts: dict[str, Facts] = {
        "brows": {("right", ""): expected(), ("left", ""): expected()},
        "eyes": {("right", ""): expected(), ("left", ""): expected()},
        "smile": {("right", ""): smile, ("left", ""): expected()},
        "cheeks": {("right", ""): cheek, ("left", ""): expected()},
    }
    meaning = compute("facial-weakness", facts)
    assert meaning is not None
    assert meaning.classes == classes


def test_a_protocol_may_say_how_fast_weakness_is_told() -> None:
    facts = {step: {(side, ""): found("weak") for side in SIDES} for step in STEPS}
    meaning = compute("facial-weakness", facts, tell="report")
    assert meaning is not None
    assert meaning.tell == "report" and meaning.words.endswith("Consider and report")
    assert "both sides weak, so neither can be compared with the other" in meaning.words


def test_a_lid_gap_counts_as_a_weak_eye() -> None:
    facts: dict[str, Facts] = {
        "brows": {("left", ""): found("none"), ("right", ""): expected()},
        "eyes": {("left", ""): found("gap"), ("right", ""): expected()},
        "smile": {("left", ""): found("none"), ("right", ""): expected()},
    }
    meaning = compute("facial-weakness", facts)
    assert meaning is not None
    assert set(meaning.classes) == {"peripheral-left", "eye-weak-left"}


@pytest.mark.parametrize(
    ("option", "step"),
    [
        ("brows_weak", "raise-brows"),
        ("eyes_weak", "close-eyes-tight"),
        ("smile_weak", "smile"),
        ("cheeks_weak", "puff-cheeks"),
    ],
)
def test_the_findings_that_count_are_those_of_the_protocol(option: str, step: str) -> None:
    options = {each.name: each.default for each in catalogue.COMPUTATIONS["facial-weakness"].options}
    ids = options[option]
    assert isinstance(ids, tuple) and ids
    assert {str(each) for each in ids} <= findings(step)
