"""What goes together in one person is read from a description file, with problems by line."""

from functools import cache
from pathlib import Path

import pytest

from checklist.cli import main
from checklist.practice.cases import Truth
from checklist.practice.descriptions import read
from checklist.practice.fits import Companion, Fits, Then, following
from checklist.protocol.library import load
from checklist.protocol.model import Protocol
from tests.desk import HEAD_AND_NECK

TOP = """format = 1
protocol = "head-and-neck"
[step.smile]
expected = "Both corners climb."
"""
FITS = """[[fits]]
step = "ask-hearing"
finding = "sudden"
why = "one loss, one story"
[[fits.then]]
step = "test-whispered-voice"
finding = "sudden"
reading = "0/3 1/3"
"""


@cache
def protocol() -> Protocol:
    return load(HEAD_AND_NECK)


def problems(text: str) -> list[str]:
    found, wrong = read(text, "d.toml", lambda _: protocol())
    assert (found is None) == bool(wrong)
    return [str(each) for each in wrong]


class TestReading:
    def test_a_table_holds_what_the_file_says(self) -> None:
        more = '[[fits.then]]\nstep = "smile"\nseen = "{side} first"\nside = "other"\n'
        found, wrong = read(TOP + FITS + more, "d.toml", lambda _: protocol())

        assert wrong == []
        assert found is not None
        assert found.fits == (
            Fits(
                step="ask-hearing",
                findings=("sudden",),
                why="one loss, one story",
                then=(
                    Then(step="test-whispered-voice", finding="sudden", reading="0/3 1/3"),
                    Then(step="smile", seen="{side} first", side="other"),
                ),
            ),
        )

    @pytest.mark.parametrize(
        ("old", "new", "problem"),
        [
            ("ask-hearing", "ask-haering", "d.toml:6:1: the protocol has no step 'ask-haering'"),
            ('"sudden"\nwhy', '"suden"\nwhy', "d.toml:7:1: step 'ask-hearing' has no finding 'suden'"),
            ('why = "one loss, one story"\n', "", "d.toml:5:1: missing key 'why' in [[fits]]"),
            (
                "test-whispered",
                "test-wispered",
                "d.toml:10:1: the protocol has no step 'test-wispered-voice'",
            ),
            (
                '"sudden"\nreading',
                '"sudn"\nreading',
                "d.toml:11:1: step 'test-whispered-voice' has no finding 'sudn'",
            ),
            ("0/3 1/3", "soon", "d.toml:12:1: 'soon' is no such reading"),
            (
                'finding = "sudden"\nreading = "0/3 1/3"\n',
                "",
                "d.toml:9:1: this says nothing about the step",
            ),
            (
                "reading =",
                'site = "cheek"\nseen =',
                "d.toml:12:1: step 'test-whispered-voice' has no site 'cheek'",
            ),
            ("reading =", "readng =", "d.toml:12:1: unknown key 'readng'"),
            (
                '"test-whispered-voice"\nfinding = "sudden"\nreading = "0/3 1/3"',
                '"ask-hearing"\nfinding = "gradual"\nside = "left"',
                "d.toml:12:1: step 'ask-hearing' has no sides",
            ),
            (
                '"test-whispered-voice"\nfinding = "sudden"\nreading',
                '"smile"\nfinding = "weak"\nreading',
                "d.toml:12:1: step 'smile' takes no reading",
            ),
            (
                '[[fits.then]]\nstep = "test-whispered-voice"\nfinding = "sudden"\nreading = "0/3 1/3"\n',
                "",
                "d.toml:5:1: no [[fits.then]]",
            ),
        ],
    )
    def test_what_is_wrong_is_named_with_its_line(self, old: str, new: str, problem: str) -> None:
        text = TOP + FITS
        assert old in text

        assert any(each.startswith(problem) for each in problems(text.replace(old, new, 1)))

    @pytest.mark.parametrize("trigger", ["{side}-larger", "right-larger"])
    def test_a_side_may_be_left_open(self, trigger: str) -> None:
        fits = FITS.replace("ask-hearing", "compare-pupils").replace('"sudden"\nwhy', f'"{trigger}"\nwhy')

        assert problems(TOP + fits) == []

    def test_a_class_of_the_reading_is_a_finding_too(self) -> None:
        fits = FITS.replace("ask-hearing", "inspect-tonsils").replace('"sudden"\nwhy', '"grade-4"\nwhy')

        assert problems(TOP + fits) == []

    def test_the_command_checks_it(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
        file = tmp_path / "mine.toml"
        file.write_text(TOP + FITS.replace("ask-hearing", "ask-haering"), encoding="utf-8")

        assert main(["case", "check", str(file)]) == 1
        assert f"{file}:6:1: the protocol has no step 'ask-haering'" in capsys.readouterr().out


def companions(trigger: Truth, then: Then, finding: str, side: str = "") -> list[Truth]:
    """Return what follows from a truth by one table of one line."""
    fits = (Fits(step=trigger.step, findings=(finding,), why="so it is", then=(then,)),)
    found = list(following(fits, protocol(), trigger, side))
    assert all(each == Companion(truth=each.truth, follows=trigger) for each in found)
    return [each.truth for each in found]


class TestFollowing:
    LEFT = Truth(step="smile", side="left", findings=("weak",))

    @pytest.mark.parametrize(
        ("side", "expected"),
        [("same", "left"), ("other", "right"), ("both", ""), ("right", "right"), ("left", "left")],
    )
    def test_a_side_is_meant_from_that_of_what_it_follows_from(self, side: str, expected: str) -> None:
        then = Then(step="puff-cheeks", finding="leak", side=side)

        assert companions(self.LEFT, then, "weak") == [
            Truth(step="puff-cheeks", side=expected, findings=("leak",))
        ]

    def test_the_id_of_a_finding_says_its_side(self) -> None:
        trigger = Truth(step="compare-pupils", findings=("right-larger",))
        then = Then(step="inspect-eyelids", finding="droop-new", side="other")

        assert companions(trigger, then, "{side}-larger") == [
            Truth(step="inspect-eyelids", side="left", findings=("droop-new",))
        ]

    def test_a_side_left_open_in_a_finding_is_filled_in(self) -> None:
        trigger = Truth(step="test-whispered-voice", side="left", findings=("sudden",))

        assert companions(trigger, Then(step="test-weber", finding="{other}-sudden"), "sudden") == [
            Truth(step="test-weber", findings=("right-sudden",))
        ]

    @pytest.mark.parametrize(("about", "expected"), [("left", "left"), ("", "")])
    def test_where_nothing_says_a_side_it_is_that_of_the_case_and_else_both(
        self, about: str, expected: str
    ) -> None:
        trigger = Truth(step="ask-hearing", findings=("sudden",))
        then = Then(step="test-whispered-voice", finding="sudden")

        assert companions(trigger, then, "sudden", about) == [
            Truth(step="test-whispered-voice", side=expected, findings=("sudden",))
        ]

    def test_where_no_side_is_known_nothing_that_needs_one_follows(self) -> None:
        trigger = Truth(step="ask-hearing", findings=("sudden",))

        assert companions(trigger, Then(step="test-weber", finding="{other}-sudden"), "sudden") == []

    def test_both_sides_of_a_step_are_filled_in_one_by_one(self) -> None:
        trigger = Truth(step="test-whispered-voice", findings=("sudden",))
        found = companions(trigger, Then(step="ask-hearing", seen="The {side} one."), "sudden", "left")

        assert [each.seen for each in found] == ["The right one.", "The left one."]

    @pytest.mark.parametrize(("site", "expected"), [("", "chin"), ("cheek", "cheek"), ("all", "")])
    def test_a_site_is_that_of_what_it_follows_from_unless_another_is_named(
        self, site: str, expected: str
    ) -> None:
        trigger = Truth(step="test-face-light-touch", side="left", site="chin", findings=("reduced",))
        then = Then(step="test-face-light-touch", seen="“Dull.”", site=site)

        assert [each.site for each in companions(trigger, then, "reduced")] == [expected]

    def test_a_class_of_a_reading_is_followed_by_what_goes_with_it(self) -> None:
        trigger = Truth(step="inspect-tonsils", side="left", reading="4+")
        then = Then(step="inspect-soft-palate", seen="Hardly a gap.")

        assert companions(trigger, then, "grade-4") != []
        assert companions(Truth(step="inspect-tonsils", side="left", reading="1+"), then, "grade-4") == []

    def test_another_finding_has_none(self) -> None:
        known = Truth(step="smile", side="left", findings=("known",))

        assert companions(known, Then(step="puff-cheeks", finding="leak"), "weak") == []

    def test_what_another_version_of_the_protocol_lacks_is_passed_over(self) -> None:
        assert companions(self.LEFT, Then(step="gone", finding="leak"), "weak") == []
        assert companions(self.LEFT, Then(step="puff-cheeks", finding="gone"), "weak") == []
