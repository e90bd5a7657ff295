"""What a step looks, sounds or feels like is said in other words than the label's, the same for a seed."""

from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from checklist.cli import main
from checklist.practice import library
from checklist.practice.cases import Case, There, Truth, what_is_there
from checklist.practice.descriptions import (
    JUDGED,
    NONE,
    Described,
    Descriptions,
    is_descriptions,
    neutral,
    read,
    read_for,
    revealed,
)
from checklist.practice.generated import generate
from checklist.protocol.library import load
from checklist.protocol.model import Protocol
from tests.desk import HEAD_AND_NECK

BUNDLED = sorted((HEAD_AND_NECK.parent / "descriptions").glob("*.toml"))
TOP = 'format = 1\nprotocol = "head-and-neck"\n'
SMILE = """[step.smile]
expected = ["Both corners climb."]
finding.weak = ["One corner hangs.", "It stays low."]
"""


@cache
def protocol_of(path: Path) -> Protocol:
    return load(HEAD_AND_NECK.parent / path.name)


PROTOCOL = protocol_of(HEAD_AND_NECK)


def find(name: str) -> Protocol | None:
    return PROTOCOL if name == PROTOCOL.id else None


def loaded(path: Path) -> Descriptions:
    found, problems = read(path.read_text(encoding="utf-8"), path.name, lambda _: protocol_of(path))
    assert problems == []
    assert found is not None
    return found


def problems(text: str) -> list[str]:
    found, wrong = read(text, "d.toml", find)
    assert (found is None) == bool(wrong)
    return [str(each) for each in wrong]


def shown(step: str, *truths: Truth, described: Descriptions = NONE, seed: str = "c") -> dict[str, str]:
    """Return what a case with these truths shows at a step, by entry."""
    case = Case(id=seed, title="C", protocol=PROTOCOL.id, story="Nobody.", truths=truths)
    there: dict[tuple[str, str], There] = what_is_there(case, PROTOCOL)
    return dict(revealed(PROTOCOL.step_of[step], there, described, seed))


def described(step: str, expected: tuple[str, ...] = (), **findings: tuple[str, ...]) -> Descriptions:
    by_id = {finding.replace("_", "-"): texts for finding, texts in findings.items()}
    return Descriptions(protocol=PROTOCOL.id, steps={step: Described(expected=expected, findings=by_id)})


class TestReading:
    def test_descriptions_hold_what_their_file_says(self) -> None:
        found, wrong = read(TOP + SMILE, "d.toml", find)

        assert wrong == []
        assert found == described(
            "smile", ("Both corners climb.",), weak=("One corner hangs.", "It stays low.")
        )

    def test_one_wording_needs_no_list(self) -> None:
        found, _ = read(TOP + '[step.smile]\nexpected = "Both climb."\n', "d.toml", find)

        assert found == described("smile", ("Both climb.",))

    @pytest.mark.parametrize(
        ("text", "problem"),
        [
            (TOP, "d.toml: missing table [step]"),
            (
                TOP + '[step.smyle]\nexpected = ["x"]\n',
                "d.toml:3:7: the protocol has no step 'smyle' (did you mean 'smile'?)",
            ),
            (
                TOP + '[step.smile]\nfinding.weke = ["x"]\n',
                "d.toml:4:9: step 'smile' has no finding 'weke' (did you mean 'weak'?)",
            ),
            (
                TOP + '[step.smile]\nexpcted = ["x"]\n',
                "d.toml:4:1: unknown key 'expcted' (did you mean 'expected'?)",
            ),
            (
                TOP + "[step.smile]\nfinding.weak = []\n",
                "d.toml:4:9: 'weak' is an empty list (write at least one item)",
            ),
            (
                TOP + "[step]\nsmile = 3\n",
                "d.toml:4:1: 'smile' is the number 3 (expected a table, written [step.<id>])",
            ),
            (
                TOP + '[step.smile]\nfinding = "weak"\n',
                "d.toml:4:1: 'finding' is the text 'weak' (expected a table, written finding.<id> = [\"…\"])",
            ),
            (
                TOP.replace("head-and-neck", "elbow") + SMILE,
                "d.toml:2:1: there is no usable protocol 'elbow' ('checklist protocol list' names them)",
            ),
            (
                TOP.replace("format = 1", "format = 9") + SMILE,
                "d.toml:1:1: 'format' is the number 9, which is not supported (this version reads format 1)",
            ),
        ],
    )
    def test_what_is_wrong_is_named_with_its_line(self, text: str, problem: str) -> None:
        assert problems(text) == [problem]

    def test_a_step_or_a_finding_that_is_missing_is_no_problem(self) -> None:
        assert problems(TOP + SMILE) == []

    def test_a_step_without_findings_has_none_to_describe(self) -> None:
        step = next(step for step in PROTOCOL if not step.findings)

        (problem,) = problems(TOP + f'[step.{step.id}]\nfinding.weak = ["x"]\n')
        assert problem == f"d.toml:4:9: step '{step.id}' has no finding 'weak' (it has none)"

    @pytest.mark.parametrize(
        "text", ["", "format = ", "[[", "format = 1" + "0" * 5000, "a" + ".a" * 50 + " = 1"]
    )
    def test_no_text_makes_the_reader_fail(self, text: str) -> None:
        assert problems(text)

    def test_a_case_is_not_taken_for_descriptions(self) -> None:
        case = (HEAD_AND_NECK.parent / "cases" / "quiet-left-ear.toml").read_text(encoding="utf-8")

        assert not is_descriptions(case, "c.toml")
        assert is_descriptions(TOP + SMILE, "d.toml")

    def test_a_session_with_another_version_of_the_protocol_uses_what_still_fits(self) -> None:
        assert read_for(TOP + SMILE + '[step.gone]\nexpected = ["x"]\n', "d.toml") is not None
        assert read_for("[[", "d.toml") is None


class TestWhatIsShown:
    WEAK = Truth(step="smile", side="left", findings=("weak",))

    def test_the_words_of_the_case_go_before_a_description(self) -> None:
        own = Truth(step="smile", side="left", findings=("weak",), seen="As the case says")
        texts = described("smile", ("Both climb.",), weak=("It hangs.",))

        assert shown("smile", own, described=texts) == {"right": "Both climb.", "left": "As the case says"}

    def test_a_description_goes_before_the_label(self) -> None:
        assert (
            shown("smile", self.WEAK, described=described("smile", weak=("It hangs.",)))["left"]
            == "It hangs."
        )

    def test_without_a_description_the_label_and_what_is_expected_are_shown(self) -> None:
        assert shown("smile", self.WEAK) == {
            "right": "Mouth corner rises, fold deepens, same as the other side",
            "left": "Rises less than the other side, new",
        }

    def test_both_sides_alike_are_shown_alike(self) -> None:
        texts = described("smile", tuple(f"wording {number}" for number in range(9)))

        for seed in map(str, range(20)):
            right, left = shown("smile", described=texts, seed=seed).values()
            assert right == left

    def test_wordings_vary_with_the_case_and_are_the_same_for_the_same_case(self) -> None:
        texts = described("smile", weak=("It hangs.", "It stays low."))
        drawn = [shown("smile", self.WEAK, described=texts, seed=str(seed))["left"] for seed in range(30)]

        assert set(drawn) == {"It hangs.", "It stays low."}
        assert drawn == [
            shown("smile", self.WEAK, described=texts, seed=str(seed))["left"] for seed in range(30)
        ]

    def test_several_findings_are_described_one_after_another(self) -> None:
        truth = Truth(step="inspect-tonsils", side="left", findings=("plugs", "exudate"), reading="1+")
        texts = described("inspect-tonsils", plugs=("Crumbs in pits.",), exudate=("Creamy streaks",))

        assert shown("inspect-tonsils", truth, described=texts)["left"] == (
            "Crumbs in pits. Creamy streaks. Graded: 1+"
        )

    def test_a_finding_that_the_words_of_the_case_leave_out_is_shown_as_well(self) -> None:
        truths = (
            Truth(step="inspect-tonsils", side="left", findings=("plugs",), seen="Crumbs in pits"),
            Truth(step="inspect-tonsils", side="left", findings=("exudate",), reading="1+"),
        )
        texts = described("inspect-tonsils", exudate=("Creamy streaks.",))

        assert shown("inspect-tonsils", *truths, described=texts)["left"] == (
            "Crumbs in pits. Creamy streaks. Graded: 1+"
        )

    def test_what_is_to_be_done_is_no_part_of_a_label_that_is_shown(self) -> None:
        assert neutral("Clearly tender: stop here.") == "Clearly tender"


class TestValues:
    """An instrument shows a number; what the examiner judges is described."""

    @pytest.mark.parametrize(
        ("step", "reading", "value"),
        [
            ("measure-jaw-opening", "24", "24 mm"),
            ("measure-pupil-size", "3.5 mm", "3.5 mm"),
            ("measure-distance-acuity", "20/60 sc", "20/60 sc"),
            ("test-whispered-voice", "1/3 1/3", "1/3 1/3"),
        ],
    )
    def test_a_value_is_shown_as_the_instrument_shows_it(self, step: str, reading: str, value: str) -> None:
        first = next(iter(shown(step, Truth(step=step, reading=reading)).values()))

        assert first.endswith(f"Measured: {value}")

    @pytest.mark.parametrize(
        ("words", "shows"),
        [
            ("Opens wide", "Opens wide. Measured: 44 mm"),
            ("Opens wide.", "Opens wide. Measured: 44 mm"),
            ("“It is fine.”", "“It is fine.” Measured: 44 mm"),
            ("“Fine”", "“Fine”. Measured: 44 mm"),
        ],
    )
    def test_a_value_is_a_sentence_after_the_words(self, words: str, shows: str) -> None:
        truth = Truth(step="measure-jaw-opening", reading="44 mm")

        assert shown("measure-jaw-opening", truth, described=described("measure-jaw-opening", (words,))) == {
            "": shows
        }

    def test_a_grade_that_is_described_is_left_to_the_learner(self) -> None:
        truth = Truth(step="inspect-tonsils", side="left", findings=("grade-3",), reading="3+")
        texts = described("inspect-tonsils", ("Hardly shows.",), grade_3=("Takes up over half of the gap.",))
        both = (truth, Truth(step="inspect-tonsils", side="right", reading="1+"))

        assert shown("inspect-tonsils", *both, described=texts) == {
            "right": "Hardly shows.",
            "left": "Takes up over half of the gap.",
        }

    def test_a_grade_without_a_description_is_shown(self) -> None:
        truth = Truth(step="inspect-tonsils", side="left", findings=("grade-3",), reading="3+")

        assert shown("inspect-tonsils", truth)["left"] == "3+: 50 to 75 % of the width. Graded: 3+"

    def test_a_grade_that_the_description_does_not_tell_is_shown_beside_it(self) -> None:
        truth = Truth(step="inspect-tonsils", side="left", findings=("plugs",), reading="1+")
        texts = described("inspect-tonsils", plugs=("Crumbs in pits.",))

        assert shown("inspect-tonsils", truth, described=texts)["left"] == "Crumbs in pits. Graded: 1+"

    def test_what_only_a_reading_says_is_described_by_the_finding_of_its_name(self) -> None:
        truth = Truth(step="inspect-tonsils", side="left", reading="3+")
        texts = described("inspect-tonsils", grade_3=("Takes up over half of the gap.",))

        assert shown("inspect-tonsils", truth, described=texts)["left"] == "Takes up over half of the gap."

    def test_a_value_that_the_case_does_not_give_is_said_to_be_missing(self) -> None:
        texts = described("measure-jaw-opening", ("Opens wide.",))

        assert shown("measure-jaw-opening", described=texts)[""] == "Opens wide. No value is given"

    @pytest.mark.parametrize("seed", range(20))
    def test_no_judgement_and_no_range_is_in_a_value(self, seed: int) -> None:
        case = generate(PROTOCOL, seed)
        there = what_is_there(case, PROTOCOL)
        texts, _ = library.descriptions_of(PROTOCOL)
        for each in there.values():
            words = dict(revealed(each.step, there, texts, case.id))[each.entry.label]
            _, _, value = words.partition("Measured: ")
            assert not any(word in value for word in ("range", "above", "below", "limit", "opening"))
            if each.step.reading and each.step.reading.kind in JUDGED and not each.findings:
                assert "Measured" not in words and "Graded" not in words


# What is bundled.


@pytest.mark.parametrize("path", BUNDLED, ids=lambda path: path.stem)
class TestBundled:
    def test_is_without_problems_and_called_after_its_protocol(self, path: Path) -> None:
        assert library.check(path) == []
        assert loaded(path).protocol == path.stem

    def test_says_that_it_is_invented(self, path: Path) -> None:
        assert "# All wording is invented." in path.read_text(encoding="utf-8")

    def test_describes_every_finding(self, path: Path) -> None:
        steps = loaded(path).steps
        missing = [
            f"{step.id}/{finding.id}"
            for step in protocol_of(path)
            for finding in step.findings
            if not steps.get(step.id, Described()).findings.get(finding.id)
        ]

        assert missing == []

    def test_describes_what_is_expected_wherever_something_is(self, path: Path) -> None:
        steps = loaded(path).steps
        missing = [
            step.id
            for step in protocol_of(path)
            if step.expect and not steps.get(step.id, Described()).expected
        ]

        assert missing == []

    def test_never_holds_the_label_or_what_is_expected(self, path: Path) -> None:
        steps = loaded(path).steps
        named = [
            f"{step.id}/{finding.id}"
            for step in protocol_of(path)
            for finding in step.findings
            for text in steps[step.id].findings[finding.id]
            if neutral(finding.label).casefold() in text.casefold()
        ]
        named += [
            step.id
            for step in protocol_of(path)
            for text in steps.get(step.id, Described()).expected
            if step.expect.casefold() in text.casefold()
        ]

        assert named == []

    def test_no_step_shows_the_same_for_two_findings(self, path: Path) -> None:
        for step_id, each in loaded(path).steps.items():
            texts = [text for of_one in (each.expected, *each.findings.values()) for text in set(of_one)]
            assert len(texts) == len(set(texts)), step_id


def test_every_bundled_protocol_is_described() -> None:
    assert {path.stem for path in BUNDLED} == {path.stem for path in HEAD_AND_NECK.parent.glob("*.toml")}


@pytest.mark.parametrize("path", BUNDLED, ids=lambda path: path.stem)
def test_a_seed_shows_the_same_again_and_another_seed_something_else(path: Path) -> None:
    protocol, texts = protocol_of(path), loaded(path)

    def all_shown(seed: int) -> list[tuple[tuple[str, str], ...]]:
        case = generate(protocol, seed)
        there = what_is_there(case, protocol)
        return [revealed(step, there, texts, case.id) for step in protocol]

    assert all_shown(5) == all_shown(5)
    assert all_shown(5) != all_shown(6)


class TestLibrary:
    @pytest.fixture(autouse=True)
    def own_home(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setenv("EXAM_CHECKLIST_HOME", str(tmp_path / "home"))

    def _own(self, text: str) -> Path:
        path = library.own_descriptions() / "head-and-neck.toml"
        path.parent.mkdir(parents=True)
        path.write_text(text, encoding="utf-8")
        return path

    def test_own_descriptions_take_the_place_of_bundled_ones(self) -> None:
        self._own(TOP + SMILE)

        found, problem = library.descriptions_of(PROTOCOL)
        assert list(found.steps) == ["smile"]
        assert problem == ""

    def test_own_descriptions_that_are_broken_are_passed_over_and_it_is_said(self) -> None:
        path = self._own("[[")

        found, problem = library.descriptions_of(PROTOCOL)
        assert found == loaded(BUNDLED[[each.stem for each in BUNDLED].index("head-and-neck")])
        assert problem == (
            f"head-and-neck.toml in {path.parent} cannot be used; 'checklist case check' says why"
        )

    def test_an_own_protocol_without_descriptions_is_shown_by_its_labels(self) -> None:
        own = replace(PROTOCOL, id="mine")

        assert library.descriptions_of(own) == (NONE, "")

    def test_check_takes_descriptions_as_well_as_cases(
        self, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        good, bad = tmp_path / "good.toml", tmp_path / "bad.toml"
        good.write_text(TOP + SMILE, encoding="utf-8")
        bad.write_text(TOP + SMILE.replace("smile", "smyle"), encoding="utf-8")

        assert main(["case", "check", str(good)]) == 0
        assert main(["case", "check", str(good), str(bad)]) == 1
        out = capsys.readouterr().out.splitlines()
        assert out[:2] == [f"{good}: no problems"] * 2
        assert out[2:] == [f"{bad}:3:7: the protocol has no step 'smyle' (did you mean 'smile'?)"]

    def test_own_descriptions_under_another_name_are_said_not_to_be_found(self) -> None:
        path = self._own(TOP + SMILE)
        other = path.rename(path.with_name("other.toml"))

        (problem,) = library.check(other)
        assert str(problem) == (
            f"{other}: it is for the protocol 'head-and-neck', and the file is not called so"
            " (call it head-and-neck.toml)"
        )
