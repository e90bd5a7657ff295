"""Light reflexes: all sixteen records of four cells; and the phrase that says only what was tested."""

from collections.abc import Mapping
from itertools import product

import pytest

from checklist.measures.reading import Fact, Facts
from tests.measures.eyes import EXPECTED, SIDES, compute, computed, differs, mirrored, read, sizes, swapped

# ------------------------------------------------------------------ light reflexes

CELLS = ("RR", "RL", "LR", "LL")
"""Lit eye, then pupil."""
AFFERENT, EFFERENT = "afferent", "efferent"

# Rows of the published table (neuroexam.com, pupillary responses, read), then what the rule adds to it,
# worked out by hand: a pupil constricts when the lit eye conducts and the pupil can. 1 is constricts.
TABLE = {
    "1111": {"all-constrict"},
    "0011": {"afferent-right"},
    "1100": {"afferent-left"},
    "0101": {"efferent-right"},
    "1010": {"efferent-left"},
    "0001": {"afferent-right", "efferent-right", "no-single-lesion"},
    "0010": {"afferent-right", "efferent-left", "no-single-lesion"},
    "0100": {"afferent-left", "efferent-right", "no-single-lesion"},
    "1000": {"afferent-left", "efferent-left", "no-single-lesion"},
    "0000": {"none-constrict", "no-single-lesion"},
    "0111": {"not-explained", "no-single-lesion"},
    "1011": {"not-explained", "no-single-lesion"},
    "1101": {"not-explained", "no-single-lesion"},
    "1110": {"not-explained", "no-single-lesion"},
    "1001": {"not-explained", "no-single-lesion"},
    "0110": {"not-explained", "no-single-lesion"},
}


def cells(record: str, finding: str = "none") -> dict[str, Facts]:
    """Return direct and consensual facts: their sides are those of the lit eye."""
    rr, rl, lr, ll = (EXPECTED if each == "1" else differs(finding) for each in record)
    return {
        "direct": {("right", ""): rr, ("left", ""): ll},
        "consensual": {("right", ""): rl, ("left", ""): lr},
    }


def test_all_sixteen_records_are_in_the_table() -> None:
    assert set(TABLE) == {"".join(each) for each in product("01", repeat=4)}


@pytest.mark.parametrize(("record", "classes"), list(TABLE.items()))
@pytest.mark.parametrize("finding", ["none", "slow", "known"])
def test_the_pattern_of_each_record(record: str, classes: set[str], finding: str) -> None:
    found = computed("light-reflexes", cells(record, finding))
    assert set(found.classes) == classes
    assert found.tell == ("" if record == "1111" else "note" if finding == "known" else "urgent")
    if record != "1111":
        assert ("consider and tell at once" in found.chart) == (finding != "known")
        assert "consider" in found.chart


@pytest.mark.parametrize("lost", list(product((False, True), repeat=4)))
def test_the_limbs_named_are_lost_in_every_cause_of_the_record(lost: tuple[bool, ...]) -> None:
    """From causes to record by the rule, and back: nothing is named that some cause of it spares."""
    limbs = [f"{limb}-{side}" for limb in (AFFERENT, EFFERENT) for side in SIDES]

    def record_of(out: set[str]) -> str:
        return "".join(
            "01"[f"afferent-{lit}" not in out and f"efferent-{pupil}" not in out]
            for lit, pupil in product(SIDES, SIDES)
        )

    true = {limb for limb, is_lost in zip(limbs, lost, strict=True) if is_lost}
    every = [
        {limb for limb, is_in in zip(limbs, each, strict=True) if is_in} for each in product((0, 1), repeat=4)
    ]
    causes = [cause for cause in every if record_of(cause) == record_of(true)]
    named = set(computed("light-reflexes", cells(record_of(true))).classes) & set(limbs)
    assert named == set.intersection(*causes)


def test_the_consensual_step_names_the_lit_eye() -> None:
    """Absent to light in the right eye means that the left pupil stayed as it was."""
    found = computed(
        "light-reflexes",
        {
            "direct": {("right", ""): EXPECTED, ("left", ""): differs("none")},
            "consensual": {("right", ""): differs("none"), ("left", ""): EXPECTED},
        },
    )
    assert found.classes == ("efferent-left",)
    assert "light in right eye: right pupil constricts, left pupil does not" in found.chart


@pytest.mark.parametrize("record", TABLE)
def test_records_of_the_other_side_mean_the_other_side(record: str) -> None:
    one = computed("light-reflexes", cells(record))
    other = computed("light-reflexes", cells(record[::-1]))
    assert set(other.classes) == {mirrored(each) for each in one.classes}


@pytest.mark.parametrize(("step", "side"), list(product(("direct", "consensual"), SIDES)))
@pytest.mark.parametrize("fact", [None, differs("own-words")], ids=["not examined", "not clear"])
def test_fewer_than_four_cells_give_no_pattern(step: str, side: str, fact: Fact | None) -> None:
    facts = {name: dict(each) for name, each in cells("0011").items()}
    del facts[step][side, ""]
    if fact:
        facts[step][side, ""] = fact
    found = computed("light-reflexes", facts)
    assert found.classes == ("incomplete",)
    assert "no pattern concluded" in found.chart
    assert found.chart.count("not known") == 1


def test_findings_that_differ_otherwise_count_as_constricting() -> None:
    facts = cells("1111")
    facts["direct"] = {("right", ""): differs("wavers"), ("left", ""): differs("small-older")}
    assert computed("light-reflexes", facts).classes == ("all-constrict",)


def test_which_findings_count_is_an_option() -> None:
    facts = cells("0011", finding="fixed")
    assert computed("light-reflexes", facts).classes == ("incomplete",)
    assert computed("light-reflexes", facts, not_constricting=("fixed",)).classes == ("afferent-right",)


def test_without_one_of_both_steps_nothing_is_computed() -> None:
    for name, facts in cells("0011").items():
        assert compute("light-reflexes", {name: facts}) is None


@pytest.mark.parametrize(
    ("right", "left", "classes"),
    [
        (EXPECTED, EXPECTED, {"all-constrict"}),
        (differs("wavers"), EXPECTED, {"all-constrict"}),
        (differs("dilates"), EXPECTED, {"all-constrict", "relative-afferent-right"}),
        (EXPECTED, differs("escape"), {"all-constrict", "relative-afferent-left"}),
        (EXPECTED, differs("known"), {"all-constrict", "relative-afferent-left"}),
        (differs("present"), EXPECTED, {"all-constrict", "relative-afferent-right"}),  # class of a grade
        (differs("dilates"), differs("dilates"), {"all-constrict"}),  # relative: of one eye
    ],
)
def test_the_swinging_light_adds_a_relative_defect(right: Fact, left: Fact, classes: set[str]) -> None:
    swinging = {("right", ""): right, ("left", ""): left}
    assert set(computed("light-reflexes", {**cells("1111"), "swinging": swinging}).classes) == classes


def test_a_swinging_light_that_points_to_the_other_eye_is_said() -> None:
    agrees = {("right", ""): differs("dilates"), ("left", ""): EXPECTED}
    found = computed("light-reflexes", {**cells("0011"), "swinging": agrees})
    assert "swinging-contradicts" not in found.classes
    found = computed("light-reflexes", {**cells("0011"), "swinging": swapped(agrees)})
    assert "swinging-contradicts" in found.classes
    assert "test again" in found.chart


def test_both_pupils_widening_is_said_to_be_no_relative_defect() -> None:
    swinging = {(side, ""): differs("dilates") for side in SIDES}
    assert "test again" in computed("light-reflexes", {**cells("1111"), "swinging": swinging}).chart


# ------------------------------------------------------------------ the phrase

ALL = ("compare", "shape", "light", "consensual", "near")
BOTH: Facts = {(side, ""): EXPECTED for side in SIDES}
WHOLE: Facts = {("", ""): EXPECTED}


def examined(*names: str) -> dict[str, Facts]:
    return {name: WHOLE if name == "compare" else BOTH for name in names}


def phrase(inputs: Mapping[str, Facts]) -> str:
    return computed("pupil-summary", inputs).chart.split("; ")[0]


def test_the_whole_phrase_when_all_was_tested_and_as_expected() -> None:
    found = computed("pupil-summary", examined(*ALL))
    assert found.chart == "pupils equal, round, reactive to light and to near"
    assert found.classes == ("all-as-expected",)


# Written by hand: what may be said, and what has to be named, for every set of what was tested.
SAID = {"compare": "equal", "shape": "round"}
LIGHT = {"": "", "l": "to direct light", "c": "to consensual light", "lc": "to light"}
UNSAID = {
    "compare": "equality",
    "shape": "shape",
    "light": "direct light",
    "consensual": "consensual light",
    "near": "near response",
}


@pytest.mark.parametrize("is_tested", [each for each in product((True, False), repeat=5) if any(each)])
def test_the_phrase_says_what_was_tested_and_names_the_rest(is_tested: tuple[bool, ...]) -> None:
    names = [name for name, was in zip(ALL, is_tested, strict=True) if was]
    found = computed("pupil-summary", examined(*names)).chart
    light = LIGHT["l" * ("light" in names) + "c" * ("consensual" in names)]
    reactive = " and ".join(filter(None, (light, "to near" * ("near" in names))))
    elements = [SAID[name] for name in names if name in SAID] + ([f"reactive {reactive}"] if reactive else [])
    missing = [UNSAID[name] for name in ALL if name not in names]
    parts = [f"pupils {', '.join(elements)}"] + ([f"not tested: {', '.join(missing)}"] if missing else [])
    assert found == "; ".join(parts)


@pytest.mark.parametrize("name", ALL)
@pytest.mark.parametrize("side", SIDES)
def test_what_differs_or_was_tested_on_one_side_alone_is_left_out_and_named(name: str, side: str) -> None:
    key = ("", "") if name == "compare" else (side, "")
    where = "" if name == "compare" else f" {side}"
    full = examined(*ALL)
    odd = computed("pupil-summary", {**full, name: {**full[name], key: differs("odd")}})
    assert f"not as expected: {UNSAID[name]}{where}" in odd.chart
    assert "not tested" not in odd.chart
    assert odd.classes == ("differs",)
    half = {each: fact for each, fact in full[name].items() if each != key}
    partial = computed("pupil-summary", {**full, name: half})
    assert f"not tested: {UNSAID[name]}{where}" in partial.chart
    assert partial.classes == ("incomplete",)
    without = {each: facts for each, facts in full.items() if each != name}
    assert odd.chart.split("; ")[0] == partial.chart.split("; ")[0] == phrase(without)


def test_a_side_that_differs_and_a_side_not_tested_are_each_named() -> None:
    found = computed("pupil-summary", {**examined(*ALL), "near": {("left", ""): differs("none")}})
    assert "not as expected: near response left; not tested: near response right" in found.chart
    assert found.classes == ("differs", "incomplete")


def test_sizes_say_whether_the_pupils_are_equal_and_are_shown() -> None:
    found = computed("pupil-summary", {"size": sizes(3, 3)})
    assert found.chart.startswith("pupils equal; right 3 mm, left 3 mm; not tested: shape")
    assert phrase({"size": sizes(3, 3.5)}) == "pupils equal within 0.5 mm"
    wide = computed("pupil-summary", {"size": sizes(3, 4.5), "compare": WHOLE})
    assert "not as expected: equality" in wide.chart
    assert "pupils equal" not in wide.chart


def test_equal_sizes_do_not_outweigh_a_comparison_that_differs() -> None:
    found = computed(
        "pupil-summary", {"size": sizes(3, 3), "compare": {("", ""): differs("right-small-droop")}}
    )
    assert "not as expected: equality" in found.chart


def test_a_size_that_differs_is_named_though_the_phrase_does_not_speak_of_size() -> None:
    large = Fact(is_expected=False, classes=frozenset({"above"}), meaning=read("pupil-size", "8"))
    found = computed("pupil-summary", {**examined(*ALL), "size": dict.fromkeys(BOTH, large)})
    assert "not as expected: size" in found.chart
    assert "differs" in found.classes


def test_nothing_tested_gives_no_phrase() -> None:
    assert compute("pupil-summary", {}) is None
    assert compute("pupil-summary", {"light": {}}) is None
    assert "pupils" not in computed("pupil-summary", {"near": {("left", ""): EXPECTED}}).chart


# ------------------------------------------------------------------ sentences in full, as in a note


@pytest.mark.parametrize(
    ("record", "said", "site"),
    [
        ("0011", "right afferent loss", "consider: right retina or optic nerve"),
        ("1010", "left efferent loss", "consider: left third nerve or iris, or drops"),
        (
            "0010",
            "right afferent and left efferent loss",
            "consider: right retina or optic nerve and left third nerve or iris, or drops",
        ),
        (
            "0000",
            "two-sided afferent loss, or of two-sided efferent loss",
            "consider: retina or optic nerve on both sides; or third nerve or iris on both sides, or drops",
        ),
        (
            "0111",
            "light responses that no loss of nerve in or out explains",
            "one response alone does not fit: test again",
        ),
    ],
)
def test_the_sentence_of_a_pattern_names_what_to_consider(record: str, said: str, site: str) -> None:
    found = computed("light-reflexes", cells(record))
    assert found.chart.startswith(f"pattern of {said}: consider and tell at once; light in right eye: ")
    (remark,) = found.remarks
    assert remark.text == site
    assert remark.source.startswith("neuroexam.com, pupillary responses")


def test_the_sentence_of_the_swinging_light_says_only_what_was_seen() -> None:
    whole = computed("light-reflexes", {**cells("1111"), "swinging": BOTH})
    assert whole.chart.endswith("no pupil widens on swinging light")
    half = computed("light-reflexes", {**cells("1111"), "swinging": {("right", ""): EXPECTED}})
    assert "swinging" not in half.chart


def test_a_swinging_light_contradicts_no_loss_that_may_lie_elsewhere() -> None:
    swinging: Facts = {("right", ""): differs("dilates"), ("left", ""): EXPECTED}
    for record in ("0000", "0101", "0111"):
        found = computed("light-reflexes", {**cells(record), "swinging": swinging})
        assert "swinging-contradicts" not in found.classes


def test_pupils_that_differ_by_the_limit_are_still_said_to_be_equal_within_it() -> None:
    assert phrase({"size": sizes(3, 4)}) == "pupils equal within 1 mm"
    assert "not as expected: equality" in computed("pupil-summary", {"size": sizes(3, 4.5)}).chart
