"""Visual fields: all 256 full records against the pathway, and nothing from any other record."""

from collections.abc import Iterator
from itertools import combinations, product

import pytest

from checklist.measures import catalogue
from checklist.measures.reading import Fact, Facts, Meaning, OptionValue
from tests.measures.eyes import EXPECTED, SIDES, mirrored

OF = catalogue.COMPUTATIONS["visual-fields"]

Record = frozenset[tuple[str, str]]
"""Eye and quadrant of what was missed."""
RECORDS = [
    frozenset(each)
    for count in range(9)
    for each in combinations(
        list(product(SIDES, ("upper outer", "lower outer", "upper inner", "lower inner"))), count
    )
]


def compute(facts: Facts, **values: OptionValue) -> Meaning | None:
    return catalogue.compute(OF, {"fields": facts}, catalogue.options(OF, values, "a test"))


def computed(facts: Facts, **values: OptionValue) -> Meaning:
    found = compute(facts, **values)
    assert found is not None
    assert set(found.classes) <= set(OF.classes)
    return found


def facts(missed: Record, finding: str = "not-counted") -> dict[tuple[str, str], Fact]:
    odd = Fact(is_expected=False, classes=frozenset({finding}))
    return {
        (side, f"{level} {half} quadrant"): odd if (side, f"{level} {half}") in missed else EXPECTED
        for side, level, half in product(SIDES, ("upper", "lower"), ("outer", "inner"))
    }


# ------------------------------------------------------------------ the table, as the patient sees it

# The left eye, then the right, upper row first. The patient's left is left, so the left eye's outer
# (temporal) half stands first and its inner half second; for the right eye inner stands first. # is missed.
COLUMNS = {"left": ("outer", "inner"), "right": ("inner", "outer")}


def seen_as(left_upper: str, right_upper: str, left_lower: str, right_lower: str) -> Record:
    """Return the record of a picture: two columns for each eye, in each of two rows."""
    rows = {
        ("left", "upper"): left_upper,
        ("left", "lower"): left_lower,
        ("right", "upper"): right_upper,
        ("right", "lower"): right_lower,
    }
    return frozenset(
        (side, f"{level} {half}")
        for (side, level), row in rows.items()
        for half, mark in zip(COLUMNS[side], row, strict=True)
        if mark == "#"
    )


# Sites: AJNR 2007;28:3-8, table 1, read; binasal: Radiopaedia, visual pathway deficits, read; loss in both
# eyes above or below, and of everything: from memory, standard teaching. Right is given; left mirrors it.
NAMED: dict[Record, tuple[str, str]] = {
    seen_as("..", "..", "..", ".."): ("full", ""),
    seen_as("#.", ".#", "#.", ".#"): ("bitemporal-complete", "optic chiasm"),
    seen_as("#.", ".#", "..", ".."): ("bitemporal-upper", "optic chiasm"),
    seen_as("..", "..", "#.", ".#"): ("bitemporal-lower", "optic chiasm"),
    seen_as(".#", "#.", ".#", "#."): ("binasal-complete", "outer sides of the chiasm"),
    seen_as(".#", "#.", "..", ".."): ("binasal-upper", "outer sides of the chiasm"),
    seen_as("..", "..", ".#", "#."): ("binasal-lower", "outer sides of the chiasm"),
    seen_as(".#", ".#", ".#", ".#"): ("homonymous-right-complete", "behind the chiasm on the left"),
    seen_as(".#", ".#", "..", ".."): ("homonymous-right-upper", "left temporal lobe"),
    seen_as("..", "..", ".#", ".#"): ("homonymous-right-lower", "left parietal lobe"),
    seen_as("..", "##", "..", "##"): ("one-eye-right", "right retina or optic nerve"),
    seen_as("..", "##", "..", ".."): ("one-eye-right", "right retina or optic nerve"),
    seen_as("..", "..", "..", "##"): ("one-eye-right", "right retina or optic nerve"),
    seen_as("#.", "##", "..", "##"): ("junctional-right", "right optic nerve with the chiasm"),
    seen_as("#.", "##", "#.", "##"): ("junctional-right", "right optic nerve with the chiasm"),
    seen_as("##", "##", "..", ".."): ("altitudinal-upper", "both occipital lobes"),
    seen_as("..", "..", "##", "##"): ("altitudinal-lower", "both occipital lobes"),
    seen_as("##", "##", "##", "##"): ("whole-both", "not localised"),
}


def mirror(missed: Record) -> Record:
    return frozenset((mirrored(side), quadrant) for side, quadrant in missed)


# ------------------------------------------------------------------ an independent statement for every record


def retina_to_brain(missed: Record) -> set[str]:
    """Return the main class of a record, by counting along the pathway rather than by matching shapes.

    A quadrant is given by its place in the world (left or right of the middle) and by its eye. Loss is in one
    eye; or crossing fibres alone (each eye's own side of the world); or fibres that stay alone (the other
    side); or one side of the world. Of those in both eyes, some level must be lost in both.
    """
    if not missed:
        return {"full"}
    eyes = {side for side, _ in missed}
    if len(eyes) == 1:
        return {f"one-eye-{min(eyes)}"}
    levels = [{quadrant.split()[0] for eye, quadrant in missed if eye == side} for side in SIDES]
    crossing = {quadrant.endswith("outer") for _, quadrant in missed}
    world = {side if quadrant.endswith("outer") else mirrored(side) for side, quadrant in missed}
    if not levels[0] & levels[1]:
        return {"other"}
    if len(crossing) == 1:
        return {"bitemporal" if crossing == {True} else "binasal"}
    if len(world) == 1:
        return {f"homonymous-{min(world)}"}
    return _both_sides_of_the_world(missed)


def _both_sides_of_the_world(missed: Record) -> set[str]:
    if len(missed) == 8:
        return {"whole-both"}
    for level in ("upper", "lower"):
        if len(missed) == 4 and all(quadrant.startswith(level) for _, quadrant in missed):
            return {f"altitudinal-{level}"}
    for blind in SIDES:
        rest = sorted(quadrant for side, quadrant in missed if side != blind)
        is_blind = sum(side == blind for side, _ in missed) == 4
        if is_blind and rest in (["upper outer"], ["lower outer", "upper outer"]):
            return {f"junctional-{blind}"}
    return {"other"}


MAIN = {
    "full",
    "other",
    "bitemporal",
    "binasal",
    "whole-both",
    *(f"{name}-{side}" for name in ("homonymous", "one-eye", "junctional") for side in SIDES),
}


def test_there_are_256_full_records() -> None:
    assert len(set(RECORDS)) == 256


@pytest.mark.parametrize("count", range(9))
def test_every_full_record_has_the_pattern_of_the_pathway(count: int) -> None:
    for missed in RECORDS:
        if len(missed) == count:
            classes = set(computed(facts(missed)).classes)
            expected = retina_to_brain(missed)
            both = {f"altitudinal-{level}" for level in ("upper", "lower")} & expected
            assert classes & (MAIN | both) == expected, sorted(missed)


def test_how_many_records_fall_under_each_pattern() -> None:
    """Counted by hand: a pair of halves has 9 records with both eyes, less 2 without a level in common."""
    counts: dict[str, int] = {}
    for missed in RECORDS:
        for name in set(computed(facts(missed)).classes) & MAIN:
            counts[name] = counts.get(name, 0) + 1
    halves = {"bitemporal": 7, "binasal": 7, "homonymous-right": 7, "homonymous-left": 7}
    eyes = {"one-eye-right": 15, "one-eye-left": 15, "junctional-right": 2, "junctional-left": 2}
    # Two records, altitudinal in both eyes, are in none of these.
    rest = {"full": 1, "whole-both": 1, "other": 256 - 2 - 28 - 34 - 2}
    assert counts == {**halves, **eyes, **rest}


@pytest.mark.parametrize("missed", list(NAMED), ids=[name for name, _ in NAMED.values()])
def test_the_patterns_that_have_a_name_and_a_site(missed: Record) -> None:
    name, site = NAMED[missed]
    found, other = computed(facts(missed)), computed(facts(mirror(missed)))
    assert name in found.classes
    assert mirrored(name) in other.classes
    if site:
        assert site in found.words
        assert any(site in remark.text and remark.source for remark in found.remarks)
        assert mirrored(site) in other.words


def test_the_mirror_of_every_record_means_the_mirror() -> None:
    for missed in RECORDS:
        one, other = computed(facts(missed)), computed(facts(mirror(missed)))
        assert set(other.classes) == {mirrored(each) for each in one.classes}
        assert {r.text for r in other.remarks} == {mirrored(r.text) for r in one.remarks}


def unequal() -> Iterator[Record]:
    """Right-sided losses of both eyes that share a level without being alike."""
    yield seen_as(".#", ".#", "..", ".#")
    yield seen_as("..", ".#", ".#", ".#")


@pytest.mark.parametrize("missed", list(unequal()))
def test_unlike_losses_of_one_side_point_to_the_tract(missed: Record) -> None:
    found = computed(facts(missed))
    assert "homonymous-right-unequal" in found.classes
    assert "optic tract" in found.words


@pytest.mark.parametrize(
    ("missed", "classes"),
    [
        (seen_as("..", "##", "..", "##"), {"one-eye-right", "whole-eye"}),
        (seen_as("..", "##", "..", ".."), {"one-eye-right", "altitudinal-upper"}),
        (seen_as("..", "..", "##", ".."), {"one-eye-left", "altitudinal-lower"}),
        (seen_as("#.", "..", "..", ".."), {"one-eye-left"}),
    ],
)
def test_shapes_of_a_loss_in_one_eye(missed: Record, classes: set[str]) -> None:
    assert set(computed(facts(missed)).classes) == classes


# ------------------------------------------------------------------ what is not known


@pytest.mark.parametrize("fact", [None, Fact(is_expected=False)], ids=["not tested", "own words alone"])
def test_nothing_is_concluded_while_a_quadrant_is_not_known(fact: Fact | None) -> None:
    for missed in RECORDS:
        known = facts(missed)
        for key in list(known):
            partial = {each: value for each, value in known.items() if each != key}
            if fact:
                partial[key] = fact
            found = computed(partial)
            assert found.classes == ("incomplete",)
            assert "no pattern concluded" in found.chart
            assert (
                f"{key[0]} eye {key[1].removesuffix(' quadrant')}" in found.chart.partition("not tested")[2]
            )
            assert not found.tell


def test_no_quadrant_at_all_gives_nothing() -> None:
    assert compute({}) is None


# ------------------------------------------------------------------ which findings count, and the words


@pytest.mark.parametrize(
    ("finding", "name"),
    [
        ("not-counted", "one-eye-right"),
        ("movement-only", "one-eye-right"),
        ("known-loss", "one-eye-right"),
        ("lid-or-brow", "full"),
    ],
)
def test_which_findings_count_as_missed(finding: str, name: str) -> None:
    assert name in computed(facts(frozenset({("right", "upper outer")}), finding)).classes


def test_a_quadrant_seen_only_after_lifting_lid_or_brow_is_not_passed_over() -> None:
    lifted = {("right", "upper outer quadrant"), ("left", "upper outer quadrant")}
    seen = facts(frozenset())
    for key in lifted:
        seen[key] = Fact(is_expected=False, classes=frozenset({"lid-or-brow"}))
    found = computed(seen)
    said = "in right eye upper outer; left eye upper outer only after lifting lid or brow"
    assert found.classes == ("full",)
    assert found.chart == f"fingers counted in all eight quadrants, {said}"
    assert said in found.words


def test_lifting_lid_or_brow_is_said_beside_a_loss_as_well() -> None:
    seen = facts(frozenset({("left", "lower outer")}))
    seen["right", "upper inner quadrant"] = Fact(is_expected=False, classes=frozenset({"lid-or-brow"}))
    found = computed(seen)
    assert "missed: left eye lower outer; counted in right eye upper inner only after lifting" in found.chart
    assert "one-eye-left" in found.classes


def test_another_finding_that_counts_as_seen_is_said_to_be_recorded() -> None:
    seen = facts(frozenset({("left", "lower outer")}), "slow")
    said = "fingers counted in all eight quadrants, in left eye lower outer with a finding recorded"
    assert computed(seen, seen=("slow",)).chart == said


def test_findings_and_sites_are_options() -> None:
    names = ("temporal up", "temporal down", "nasal up", "nasal down")
    seen: dict[tuple[str, str], Fact] = {(side, name): EXPECTED for side in SIDES for name in names}
    seen["left", "nasal up"] = seen["right", "temporal up"] = Fact(
        is_expected=False, classes=frozenset({"gone"})
    )
    found = computed(seen, quadrants=names, missed=("gone",))
    assert "homonymous-right-upper" in found.classes


def test_low_sensitivity_is_said_of_every_full_record_with_its_source() -> None:
    for missed in RECORDS:
        found = computed(facts(missed))
        assert "confrontation has low sensitivity" in found.words
        assert any(
            "low sensitivity" in r.text and "Johnson and Baloh 1991" in r.source for r in found.remarks
        )


def test_a_loss_is_something_to_consider_and_report_and_shows_what_was_missed() -> None:
    found = computed(facts(seen_as(".#", ".#", "..", "..")))
    assert found.chart == (
        "pattern of loss of the right-sided (homonymous) upper quadrants of both eyes: "
        "consider and tell at once; missed: right eye upper outer; left eye upper inner"
    )
    assert found.tell == "urgent"


def test_how_fast_is_an_option_and_a_loss_known_before_is_only_noted() -> None:
    missed = seen_as(".#", ".#", ".#", ".#")
    assert computed(facts(missed), tell="report").tell == "report"
    known = computed(facts(missed, "known-loss"))
    assert known.tell == "note"
    assert "recorded as known: consider;" in known.chart
    mixed = {
        **facts(missed, "known-loss"),
        ("right", "upper outer quadrant"): facts(missed)["right", "upper outer quadrant"],
    }
    assert computed(mixed).tell == "urgent"


def test_a_full_field_is_told_to_nobody() -> None:
    found = computed(facts(frozenset()))
    assert (found.tell, found.chart) == ("", "fingers counted in all eight quadrants")


@pytest.mark.parametrize(
    ("missed", "site"),
    [
        (seen_as(".#", ".#", ".#", ".#"), "behind the chiasm on the left, not localised further"),
        (seen_as(".#", ".#", "..", ".."), "left temporal lobe, or lower bank of the left occipital lobe"),
        (seen_as("..", "..", ".#", ".#"), "left parietal lobe, or upper bank of the left occipital lobe"),
        (seen_as("..", ".#", ".#", ".#"), "behind the chiasm on the left; optic tract or geniculate body"),
        (seen_as("..", "..", "##", "##"), "both retinas or optic nerves, or both occipital lobes"),
        (seen_as("#.", "..", "..", ".#"), "not localised"),
    ],
)
def test_the_site_to_consider_in_full(missed: Record, site: str) -> None:
    assert computed(facts(missed)).remarks[0].text == f"consider: {site}"
