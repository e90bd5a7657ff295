"""Alignment: prism dioptres by their definition, directions of reflex and movement, the near point."""

from math import pi, tan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklist.measures import catalogue
from checklist.measures.alignment import degrees_turned, prism_dioptres
from checklist.measures.reading import TELLS, Fact, ReadingError
from tests.measures.eyes import EXPECTED, both, mirrored, read, together

# ------------------------------------------------------------------ angles


@pytest.mark.parametrize(
    ("angle", "prisms"),
    # 100 times the tangent: closed forms for 0, 30 and 45; 1 degree is 1.746 (Millodot, quoted second hand).
    [(0, 0), (1, 1.746), (30, 100 / 3**0.5), (45, 100), (0.573, 1.0)],
)
def test_prism_dioptres_are_a_hundred_times_the_tangent(angle: float, prisms: float) -> None:
    assert prism_dioptres(angle) == pytest.approx(prisms, abs=0.001)
    assert degrees_turned(prisms) == pytest.approx(angle, abs=0.001)


@given(st.floats(-80, 80))
def test_angles_go_to_prism_dioptres_and_back(angle: float) -> None:
    assert prism_dioptres(angle) == pytest.approx(100 * tan(angle * pi / 180), abs=1e-9)
    assert degrees_turned(prism_dioptres(angle)) == pytest.approx(angle, abs=1e-9)


# ------------------------------------------------------------------ corneal light reflex


@pytest.mark.parametrize(
    ("text", "canonical", "name"),
    [
        # Temporal is eso, nasal exo, down hyper, up hypo: from memory, standard teaching.
        ("1.5 in", "1.5 in", "exo"),
        ("1.5 nasal", "1.5 in", "exo"),
        ("1,5 mm nasally", "1.5 in", "exo"),
        ("2 out", "2 out", "eso"),
        ("2mm temporal", "2 out", "eso"),
        ("1 up", "1 up", "hypo"),
        ("1 down", "1 down", "hyper"),
    ],
)
def test_the_eye_is_turned_to_the_other_side_than_its_reflex(text: str, canonical: str, name: str) -> None:
    found = read("corneal-reflex", text)
    assert (found.text, found.classes) == (canonical, (name,))
    assert found.tell == "report"


@pytest.mark.parametrize(
    ("text", "prisms", "angle"),
    # 22 prism dioptres a mm (Carter 1977, abstract read); angles are atan of a hundredth, by table.
    [("1 out", 22, 12), ("1.5 in", 33, 18), ("2 out", 44, 24), ("3 out", 66, 33), ("4.5 out", 99, 45)],
)
def test_a_displacement_is_estimated_with_the_ratio_named(text: str, prisms: int, angle: int) -> None:
    found = read("corneal-reflex", text)
    assert f"{prisms} prism dioptres ({angle} degrees) at 22 per mm" in found.words
    assert "14 to 24 between people" in found.words
    assert "at 22 per mm" in found.chart


def test_the_ratio_is_an_option() -> None:
    assert (
        "15 prism dioptres (9 degrees) at 15 per mm" in read("corneal-reflex", "1 out", prism_per_mm=15).chart
    )


@pytest.mark.parametrize("text", ["0", "0 mm", "central", "centred", "0 in", "0 up 0 in"])
def test_a_reflex_at_the_centre_turns_the_eye_nowhere(text: str) -> None:
    found = read("corneal-reflex", text)
    assert (found.text, found.classes, found.remarks) == ("0", ("centred", "in-range"), ())


def test_a_little_towards_the_nose_is_usual_and_is_an_option() -> None:
    usual = read("corneal-reflex", "0.5 in")
    assert (usual.classes, usual.tell) == (("in-range",), "")
    assert read("corneal-reflex", "0.6 in").classes == ("exo",)
    assert read("corneal-reflex", "0.5 out").classes == ("eso",)
    assert read("corneal-reflex", "0.5 in", usual_nasal=0.3).classes == ("exo",)


@pytest.mark.parametrize(
    "text", ["1.5", "in", "1 sideways", "1 in 2 out", "1 up, 1 down", "1 in 1 in", "", "1 in 2"]
)
def test_a_displacement_without_one_clear_direction_is_refused(text: str) -> None:
    with pytest.raises(ReadingError, match="type mm and direction"):
        read("corneal-reflex", text)


def test_a_displacement_beyond_the_cornea_is_impossible_and_a_far_one_is_asked_about() -> None:
    with pytest.raises(ReadingError, match="possible from 0 to 6"):
        read("corneal-reflex", "7 in")
    assert read("corneal-reflex", "5.5 out").doubt
    assert not read("corneal-reflex", "5 out").doubt


def test_two_directions_are_across_first() -> None:
    found = read("corneal-reflex", "0.5 up and 1.5 in")
    assert (found.text, found.classes) == ("1.5 in 0.5 up", ("exo", "hypo"))
    assert "exo 33 and hypo 11 prism dioptres (18 and 6 degrees)" in found.words


def reflexes(right: str, left: str) -> dict[tuple[str, str], Fact]:
    return both(*(Fact(is_expected=True, meaning=read("corneal-reflex", text)) for text in (right, left)))


@pytest.mark.parametrize(
    ("right", "left", "classes", "prisms"),
    [
        ("0", "0", {"alike"}, ()),
        ("0.5 in", "0.5 in", {"alike"}, ()),
        ("0.5 in", "1 out", {"unlike", "eso"}, (33,)),
        ("1.5 in", "0.5 in", {"unlike", "exo"}, (22,)),
        ("0.5 in", "0", {"unlike"}, (11,)),  # both at a usual place: which eye fixes is not known
        ("0.5 up", "0.5 up", {"alike"}, ()),
        ("1 down", "0", {"unlike", "right-hyper"}, (22,)),
        ("1 up", "0", {"unlike", "left-hyper"}, (22,)),
        ("1 out 1 down", "0", {"unlike", "eso", "right-hyper"}, (22, 22)),
    ],
)
def test_what_both_eyes_have_alike_is_no_turn(
    right: str, left: str, classes: set[str], prisms: tuple[int, ...]
) -> None:
    one, other = (together("corneal-reflex", reflexes(*pair)) for pair in ((right, left), (left, right)))
    assert one is not None
    assert other is not None
    assert set(one.classes) == classes <= set(catalogue.KINDS["corneal-reflex"].together)
    assert set(other.classes) == {mirrored(each) for each in classes}
    assert one.words.count("prism dioptres") == len(prisms)
    assert all(f"about {each} prism dioptres" in one.words for each in prisms)
    assert other.words == mirrored(one.words)
    assert one.tell == ("" if "alike" in classes else "report")


@pytest.mark.parametrize(
    ("right", "left", "eye"), [("0.5 in", "1 out", "left eye eso"), ("1.5 in", "0", "right eye exo")]
)
def test_the_eye_with_the_reflex_farther_from_the_usual_place_is_the_turned_one(
    right: str, left: str, eye: str
) -> None:
    found = together("corneal-reflex", reflexes(right, left))
    assert found is not None
    assert f"{eye} 1.5 mm, about 33 prism dioptres" in found.words


def test_one_reflex_is_not_compared() -> None:
    facts = reflexes("1 in", "0")
    assert together("corneal-reflex", {("right", ""): facts["right", ""]}) is None
    assert together("corneal-reflex", {**facts, ("left", ""): EXPECTED}) is None


# ------------------------------------------------------------------ cover movement

# Bell 2013, quoted second hand: an eye that moves in, out, up, down had been exo, eso, hypo, hyper.
HAD_BEEN = {"in": "exo", "out": "eso", "up": "hypo", "down": "hyper"}


@pytest.mark.parametrize(("moved", "was"), list(HAD_BEEN.items()))
def test_an_eye_had_been_on_the_other_side_than_it_moves_to(moved: str, was: str) -> None:
    cover = read("cover-movement", moved)
    assert cover.classes == (moved, was)
    assert f"{was}tropia" in cover.words
    assert "phoria" not in cover.words
    uncover = read("cover-movement", moved, test="uncover")
    assert f"{was}phoria, if the cover test shows no tropia" in uncover.words
    assert (cover.tell, uncover.tell) == ("report", "note")


@pytest.mark.parametrize("typed", ["in and up", "up in", "Inward, up", "nasally + upwards"])
def test_two_directions_of_movement_are_read_in_any_order(typed: str) -> None:
    found = read("cover-movement", typed)
    assert (found.text, found.classes) == ("in up", ("in", "up", "exo", "hypo"))


@pytest.mark.parametrize("typed", ["none", "None", "0", "no movement", "steady"])
def test_no_movement_is_nothing_to_consider(typed: str) -> None:
    found = read("cover-movement", typed)
    assert (found.text, found.classes, found.remarks) == ("none", ("none",), ())


@pytest.mark.parametrize("typed", ["", "sideways", "in out", "up and down", "in up out", "2 in"])
def test_what_is_no_movement_says_what_is_accepted(typed: str) -> None:
    with pytest.raises(ReadingError, match="type none, in, out, up or down"):
        read("cover-movement", typed)


# ------------------------------------------------------------------ convergence


@pytest.mark.parametrize(
    ("text", "classes", "tell"),
    [
        # 5/7 cm: Scheiman 2003, abstract read. 10 cm: customary limit named in Hayes 1998.
        ("5/7", ("within-research", "within-customary"), ""),
        ("5/7.5", ("beyond-research", "within-customary"), ""),
        ("5.5/7", ("beyond-research", "within-customary"), ""),
        ("5", ("within-customary",), ""),
        ("6", ("beyond-research", "within-customary"), ""),
        ("10/12", ("beyond-research", "within-customary"), ""),
        ("10.5", ("beyond-research", "beyond-customary"), "report"),
        ("nose", ("within-research", "within-customary"), ""),
    ],
)
def test_the_near_point_is_compared_with_both_limits(text: str, classes: tuple[str, ...], tell: str) -> None:
    found = read("convergence", text)
    assert (found.classes, found.tell) == (classes, tell)


def test_both_limits_are_said_each_by_its_kind() -> None:
    assert "beyond 5/7 (research), within 10 (customary)" in read("convergence", "6/9").words
    assert "not settled by the break alone for 5/7 (research)" in read("convergence", "4").words
    assert "break at 4 cm, recovery not measured" in read("convergence", "4").chart


@pytest.mark.parametrize(
    ("typed", "text"),
    [
        ("6", "6"),
        ("6 cm", "6"),
        ("60 mm", "6"),
        ("4 in", "10.2"),
        ("6 / 9cm", "6/9"),
        ("6,5/9", "6.5/9"),
        ("to nose", "nose"),
    ],
)
def test_the_near_point_is_read_in_the_forms_that_are_written(typed: str, text: str) -> None:
    """4 in is 10.16 cm by definition of the inch."""
    assert read("convergence", typed).text == text


def test_a_recovery_nearer_than_the_break_is_refused() -> None:
    with pytest.raises(ReadingError, match="break first"):
        read("convergence", "9/6")
    assert read("convergence", "6/6").text == "6/6"


@pytest.mark.parametrize("text", ["", "near", "6/9/12", "6 m", "-6"])
def test_what_is_no_near_point_says_what_is_accepted(text: str) -> None:
    with pytest.raises(ReadingError, match="type cm, such as 6"):
        read("convergence", text)


@pytest.mark.parametrize("text", ["0", "0.5", "101", "6/200"])
def test_an_impossible_near_point_is_refused(text: str) -> None:
    with pytest.raises(ReadingError, match="possible from 1 to 100"):
        read("convergence", text)


def test_limits_are_options_and_a_far_break_is_asked_about() -> None:
    assert read("convergence", "9", customary_break=8).tell == "report"
    assert read("convergence", "6/8", research_break=6, research_recovery=8).classes[0] == "within-research"
    assert read("convergence", "45").doubt
    assert not read("convergence", "40").doubt


# ------------------------------------------------------------------ what holds of all three kinds

PIECES = (
    "1.5",
    "2",
    "0",
    "6/9",
    "6",
    "in",
    "out",
    "up",
    "down",
    "nasal",
    "temporal",
    "none",
    "and",
    ",",
    "cm",
    "nose",
)


@pytest.mark.parametrize("kind", ["corneal-reflex", "cover-movement", "convergence"])
@given(text=st.lists(st.sampled_from(PIECES), max_size=5).map(" ".join) | st.text(max_size=12))
def test_any_text_is_a_reading_that_stands_or_says_what_is_accepted(kind: str, text: str) -> None:
    try:
        found = read(kind, text)
    except ReadingError as error:
        assert 0 < len(str(error)) <= 110
        return
    assert read(kind, found.text) == found
    assert found.text.isascii()
    assert len(found.words) <= 145
    assert set(found.classes) <= set(catalogue.KINDS[kind].classes)
    assert all(remark.text and remark.source and remark.tell in TELLS for remark in found.remarks)


# ------------------------------------------------------------------ sentences in full, as in a note


def test_the_sentence_of_a_movement_says_direction_and_what_to_consider() -> None:
    found = read("cover-movement", "up in")
    assert found.chart == "moved in and up as the other was covered"
    assert found.words == f"{found.chart}: pattern of exotropia and hypotropia"
    assert read("cover-movement", "out", test="uncover").chart == "moved out on uncovering"


def test_the_sentence_of_the_near_point_at_the_customary_limit() -> None:
    assert read("convergence", "10/12").chart == (
        "break at 10 cm, recovery at 12 cm; beyond 5/7 (research), within 10 (customary)"
    )
    assert "beyond 10 (customary)" in read("convergence", "10.1").chart
