"""Six positions of gaze to muscles and nerves, all twelve cells; cover tests to tropia and phoria."""

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklist.measures.gaze import POSITIONS, muscle
from checklist.measures.reading import Fact, Facts, OptionValue
from tests.measures.eyes import EXPECTED, SIDES, both, compute, computed, differs, mirrored, read

# ------------------------------------------------------------------ six positions

# Positions: FRCOphth revision notes, read. Nerves: lateral rectus sixth, superior oblique fourth, the rest
# third (glossary of neuroanatomy, ditki.com, read).
MUSCLES = {
    ("right gaze", "right"): ("lateral rectus", "sixth"),
    ("right gaze", "left"): ("medial rectus", "third"),
    ("up-and-right gaze", "right"): ("superior rectus", "third"),
    ("up-and-right gaze", "left"): ("inferior oblique", "third"),
    ("down-and-right gaze", "right"): ("inferior rectus", "third"),
    ("down-and-right gaze", "left"): ("superior oblique", "fourth"),
    ("left gaze", "right"): ("medial rectus", "third"),
    ("left gaze", "left"): ("lateral rectus", "sixth"),
    ("up-and-left gaze", "right"): ("inferior oblique", "third"),
    ("up-and-left gaze", "left"): ("superior rectus", "third"),
    ("down-and-left gaze", "right"): ("superior oblique", "fourth"),
    ("down-and-left gaze", "left"): ("inferior rectus", "third"),
}
GAZES = tuple(dict.fromkeys(position for position, _ in MUSCLES))


def positions(**odd: Fact | None) -> dict[tuple[str, str], Fact]:
    """Return all six as expected but those given, with `_` for what stands between the words of a name."""
    named = {each.replace("-", "_").replace(" ", "_"): each for each in GAZES}
    facts = {("", each): EXPECTED for each in GAZES} | {("", named[name]): fact for name, fact in odd.items()}
    return {key: fact for key, fact in facts.items() if fact}


def short(position: str, finding: str) -> dict[tuple[str, str], Fact]:
    return {**positions(), ("", position): differs(finding)}


def test_all_twelve_cells_are_in_the_table() -> None:
    assert set(MUSCLES) == set(product(POSITIONS, SIDES))


@pytest.mark.parametrize(("cell", "expected"), list(MUSCLES.items()))
@pytest.mark.parametrize("how", ["short", "known"])
def test_each_position_tests_one_muscle_of_each_eye(
    cell: tuple[str, str], expected: tuple[str, str], how: str
) -> None:
    position, side = cell
    name, nerve = expected
    assert tuple(muscle(side, position)) == expected
    found = computed("eye-movements", {"positions": short(position, f"{side}-{how}")})
    assert found.classes == (f"{nerve}-{side}",)
    assert f"{side} eye short: {name} ({position})" in found.chart
    assert f"{side} {nerve} nerve" in found.chart
    assert found.tell == ("urgent" if how == "short" else "note")


@pytest.mark.parametrize("position", GAZES)
def test_both_eyes_short_in_one_position_may_be_gaze(position: str) -> None:
    found = computed("eye-movements", {"positions": short(position, "both-short")})
    nerves = {f"{MUSCLES[position, side][1]}-{side}" for side in SIDES}
    assert set(found.classes) == {*nerves, "gaze-short"}
    assert f"both eyes short in {position}: consider gaze itself" in found.chart


@pytest.mark.parametrize("side", SIDES)
def test_a_third_nerve_is_whole_when_all_four_of_its_muscles_fall_short(side: str) -> None:
    theirs = [position for position, eye in MUSCLES if eye == side and MUSCLES[position, eye][1] == "third"]
    assert len(theirs) == 4
    facts = {**positions(), **{("", each): differs(f"{side}-short") for each in theirs}}
    found = computed("eye-movements", {"positions": facts})
    assert found.classes == (f"third-{side}", f"third-{side}-whole")
    del facts["", theirs[0]]
    found = computed("eye-movements", {"positions": {**facts, ("", theirs[0]): EXPECTED}})
    assert found.classes == (f"third-{side}",)
    assert "in part" in found.chart


CELL = st.sampled_from(
    ("", "right-short", "left-short", "both-short", "double", "older-upgaze", "none-examined")
)


@given(st.tuples(*[CELL] * 6))
def test_movements_of_the_other_eye_mean_the_other_side(findings: tuple[str, ...]) -> None:
    facts = {
        ("", each): differs(finding) if finding else EXPECTED
        for each, finding in zip(GAZES, findings, strict=True)
        if finding != "none-examined"
    }
    other = {
        ("", mirrored(position)): Fact(
            is_expected=fact.is_expected, classes=frozenset(mirrored(each) for each in fact.classes)
        )
        for (_, position), fact in facts.items()
    }
    found, turned = (
        compute("eye-movements", {"positions": facts}),
        compute("eye-movements", {"positions": other}),
    )
    assert (found is None) == (turned is None) == (not facts)
    if found and turned:
        assert set(turned.classes) == {mirrored(each) for each in found.classes}


def test_full_is_said_of_all_six_positions_alone() -> None:
    assert computed("eye-movements", {"positions": positions()}).classes == ("full",)
    older = positions(up_and_right_gaze=differs("older-upgaze"))
    assert computed("eye-movements", {"positions": older}).classes == ("full",)


@pytest.mark.parametrize("position", GAZES)
def test_a_position_not_tested_or_without_an_eye_named_is_said(position: str) -> None:
    partial = {key: fact for key, fact in positions().items() if key[1] != position}
    found = computed("eye-movements", {"positions": partial})
    assert found.classes == ("incomplete",)
    assert f"not tested: {position}" in found.chart
    found = computed("eye-movements", {"positions": {**partial, ("", position): differs("double")}})
    assert found.classes == ("incomplete",)
    assert f"differs without an eye named: {position}" in found.chart


def test_what_was_found_stands_though_other_positions_were_not_tested() -> None:
    found = computed("eye-movements", {"positions": {("", "right gaze"): differs("right-short", "double")}})
    assert set(found.classes) == {"sixth-right", "incomplete"}
    assert "not tested: up-and-right gaze" in found.chart


def test_sites_and_findings_of_gaze_are_options() -> None:
    names = ("R", "RU", "RD", "L", "LU", "LD")
    facts = {("", each): EXPECTED for each in names} | {("", "LD"): differs("weak-right")}
    values: dict[str, OptionValue] = {"positions": names, "right_short": ("weak-right",)}
    assert computed("eye-movements", {"positions": facts}, **values).classes == ("fourth-right",)


# ------------------------------------------------------------------ cover tests together

STEADY = both(EXPECTED, EXPECTED)


@pytest.mark.parametrize(
    ("finding", "names"),
    [
        ("in", {"tropia", "tropia-{}", "exotropia-{}"}),
        ("out", {"tropia", "tropia-{}", "esotropia-{}"}),
        ("vertical", {"tropia", "tropia-{}", "vertical-tropia-{}"}),
        ("up", {"tropia", "tropia-{}", "hypotropia-{}"}),
        ("down", {"tropia", "tropia-{}", "hypertropia-{}"}),
        ("known", {"tropia", "tropia-{}"}),
        ("new-double", {"tropia", "tropia-{}"}),
    ],
)
def test_an_eye_that_moves_to_fix_had_a_tropia(finding: str, names: set[str]) -> None:
    for side, facts in (
        ("right", both(differs(finding), EXPECTED)),
        ("left", both(EXPECTED, differs(finding))),
    ):
        found = computed("eye-alignment", {"cover": facts, "uncover": STEADY})
        assert set(found.classes) == {name.format(side) for name in names}
        assert f"{side} eye" in found.chart
        assert found.tell == ("note" if finding == "known" else "report")


@pytest.mark.parametrize(
    ("finding", "name"),
    [
        ("back-in", "exophoria"),
        ("back-out", "esophoria"),
        ("vertical", "vertical-phoria"),
        ("up", "hypophoria"),
    ],
)
def test_a_phoria_is_named_when_no_tropia_was_seen(finding: str, name: str) -> None:
    found = computed("eye-alignment", {"cover": STEADY, "uncover": both(differs(finding), EXPECTED)})
    assert set(found.classes) == {"phoria", name}
    assert found.tell == "note"


@pytest.mark.parametrize(
    ("cover", "why"),
    [
        (both(differs("in"), EXPECTED), "beside a tropia"),
        (both(EXPECTED, differs("known")), "beside a tropia"),
        (both(EXPECTED, None), "without a cover test of both eyes"),
        (both(differs("own-words"), EXPECTED), "without a cover test of both eyes"),
    ],
)
def test_no_phoria_is_named_unless_both_eyes_were_steady_on_cover(cover: Facts, why: str) -> None:
    found = computed("eye-alignment", {"cover": cover, "uncover": both(differs("back-in"), EXPECTED)})
    assert "no phoria named" in found.chart
    assert why in found.chart
    assert not any("phoria" in each for each in found.classes)


def test_steady_eyes_and_what_was_not_tested() -> None:
    assert computed("eye-alignment", {"cover": STEADY, "uncover": STEADY}).classes == ("steady",)
    found = computed("eye-alignment", {"cover": STEADY})
    assert set(found.classes) == {"steady", "incomplete"}
    assert "uncover test not tested: right and left" in found.chart
    found = computed("eye-alignment", {"cover": both(EXPECTED, None), "uncover": STEADY})
    assert found.classes == ("incomplete",)
    assert "cover test not tested or not clear: left" in found.chart
    assert compute("eye-alignment", {"uncover": STEADY}) is None


def test_an_eye_that_stays_turned_asks_for_the_cover_test_again() -> None:
    found = computed("eye-alignment", {"cover": STEADY, "uncover": both(EXPECTED, differs("stays"))})
    assert "stays-turned-left" in found.classes
    assert "steady" not in found.classes
    assert any("repeat the cover test" in remark.text for remark in found.remarks)


def test_typed_movements_serve_as_well_as_findings() -> None:
    moved, still = read("cover-movement", "in"), read("cover-movement", "none")
    cover = both(
        Fact(is_expected=False, classes=frozenset(moved.classes), meaning=moved),
        Fact(is_expected=False, classes=frozenset(still.classes), meaning=still),
    )
    found = computed("eye-alignment", {"cover": cover, "uncover": STEADY})
    assert set(found.classes) == {"tropia", "tropia-right", "exotropia-right"}


COVERED = st.sampled_from(
    (None, EXPECTED, *(differs(each) for each in ("in", "out", "vertical", "known", "odd")))
)
LIFTED = st.sampled_from(
    (None, EXPECTED, *(differs(each) for each in ("back-in", "back-out", "vertical", "stays")))
)


@given(COVERED, COVERED, LIFTED, LIFTED)
def test_cover_tests_of_the_other_eye_mean_the_other_side(
    a: Fact | None, b: Fact | None, c: Fact | None, d: Fact | None
) -> None:
    one = compute("eye-alignment", {"cover": both(a, b), "uncover": both(c, d)})
    other = compute("eye-alignment", {"cover": both(b, a), "uncover": both(d, c)})
    assert (one is None) == (other is None) == (a is None and b is None)
    if one and other:
        assert set(other.classes) == {mirrored(each) for each in one.classes}
        assert {r.text for r in other.remarks} == {mirrored(r.text) for r in one.remarks}


def test_naming_sites_or_findings_does_not_change_the_source_of_what_they_mean() -> None:
    facts: Facts = {("", "R"): differs("right-short")}
    found = computed("eye-movements", {"positions": facts}, positions=("R", "RU", "RD", "L", "LU", "LD"))
    assert [remark.source for remark in found.remarks] == [
        "FRCOphth revision notes, cardinal positions; nerves: standard anatomy"
    ]
    found = computed("eye-alignment", {"cover": both(differs("inward"), EXPECTED)}, **{"in": ("inward",)})
    assert [remark.source for remark in found.remarks] == ["Bell 2013, quoted second hand"]


# ------------------------------------------------------------------ sentences in full, as in a note


@pytest.mark.parametrize(
    ("finding", "said"),
    [
        (differs("in"), "pattern of exotropia, left eye: consider and report"),
        (
            differs("in", "vertical"),
            "pattern of exotropia and vertical tropia, left eye: consider and report",
        ),
        (differs("new-double"), "pattern of tropia, left eye: consider and report"),
        (differs("known"), "pattern of tropia, left eye, recorded as known: consider"),
    ],
)
def test_the_sentence_of_a_tropia(finding: Fact, said: str) -> None:
    found = computed("eye-alignment", {"cover": both(EXPECTED, finding), "uncover": STEADY})
    assert found.chart == said


def test_the_sentence_of_gaze_names_eye_muscle_position_and_nerve() -> None:
    found = computed("eye-movements", {"positions": short("right gaze", "right-short")})
    assert found.chart == (
        "pattern of right sixth nerve weakness: consider and tell at once; "
        "right eye short: lateral rectus (right gaze)"
    )
