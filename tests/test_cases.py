"""A case file says what is there, is checked against its protocol by line, and is found again by its id."""

from pathlib import Path

import pytest

from checklist.cli import main
from checklist.practice import library
from checklist.practice.cases import Case, Truth, flawless, read, what_is_there
from checklist.practice.descriptions import revealed
from checklist.protocol.library import load
from checklist.protocol.model import Protocol
from checklist.reasoning.facts import known
from checklist.session.events import Outcome
from tests.desk import HEAD_AND_NECK

PROTOCOL = load(HEAD_AND_NECK)
BUNDLED = sorted((HEAD_AND_NECK.parent / "cases").glob("*.toml"))
TOP = """format = 1
id = "invented"
title = "Invented"
protocol = "head-and-neck"
story = "Nobody."
"""
WEBER = """
[[truth]]
step = "test-weber"
finding = "left"
"""


def find(name: str) -> Protocol | None:
    return PROTOCOL if name == PROTOCOL.id else None


def problems(text: str) -> list[str]:
    case, found = read(text, "c.toml", find)
    assert (case is None) == bool(found)
    return [str(each) for each in found]


class TestReading:
    def test_a_case_holds_what_its_file_says(self) -> None:
        case, found = read(TOP + WEBER, "c.toml", find)

        assert found == []
        assert case == Case(
            id="invented",
            title="Invented",
            protocol="head-and-neck",
            story="Nobody.",
            truths=(Truth(step="test-weber", findings=("left",)),),
        )

    @pytest.mark.parametrize(
        ("text", "problem"),
        [
            (TOP, "c.toml: no [[truth]]"),
            (
                TOP + '[[truth]]\nstep = "test-webber"\nfinding = "left"\n',
                "c.toml:7:1: the protocol has no step 'test-webber' (did you mean 'test-weber'?)",
            ),
            (
                TOP + '[[truth]]\nstep = "test-weber"\nfinding = "lefft"\n',
                "c.toml:8:1: step 'test-weber' has no finding 'lefft' (did you mean 'left'?)",
            ),
            (
                TOP + '[[truth]]\nstep = "test-weber"\nside = "left"\nfinding = "left"\n',
                "c.toml:8:1: step 'test-weber' has no sides (leave the key out)",
            ),
            (
                TOP + '[[truth]]\nstep = "smile"\nreading = "3"\n',
                "c.toml:8:1: step 'smile' takes no reading (describe it in 'seen')",
            ),
            (
                TOP + '[[truth]]\nstep = "smile"\nunseen = true\n',
                "c.toml:8:1: step 'smile' has no 'attempted, not seen' (leave the key out)",
            ),
            (
                TOP + WEBER + '[[decoy]]\nstep = "smile"\nfinding = "weak"\n',
                "c.toml:12:1: 'weak' must be told, so it is no decoy (write it as [[truth]])",
            ),
            (
                TOP + WEBER + '[[report]]\nwhat = "it"\ntell = "urgent"\nsteps = ["smyle"]\n',
                "c.toml:13:10: the protocol has no step 'smyle' (did you mean 'smile'?)",
            ),
            (
                TOP
                + WEBER
                + '[[report]]\nwhat = "it"\ntell = "urgent"\nsteps = ["test-weber"]\nside = "left"\n',
                "c.toml:14:1: none of these steps has sides (leave the key out)",
            ),
            (
                TOP + WEBER + '[[report]]\nwhat = "it"\ntell = "urgent"\nsteps = ["smile"]\nside = "both"\n',
                "c.toml:14:1: 'side' is the text 'both' (expected one of 'right', 'left')",
            ),
            (
                TOP + WEBER + '[[truth]]\nstep = "test-weber"\nseen = "In the middle"\n',
                "c.toml:11:1: something else is said of 'test-weber', whole, above"
                " (say all of one entry in one table)",
            ),
            (
                TOP.replace("head-and-neck", "elbow") + WEBER,
                "c.toml:4:1: there is no usable protocol 'elbow' ('checklist protocol list' names them)",
            ),
            (
                TOP.replace("format = 1", "format = 2") + WEBER,
                "c.toml:1:1: 'format' is the number 2, which is not supported (this version reads format 1)",
            ),
        ],
    )
    def test_what_the_protocol_does_not_have_is_named_with_its_line(self, text: str, problem: str) -> None:
        assert problems(text) == [problem]

    def test_a_reading_is_read_as_its_step_reads_it(self) -> None:
        (problem,) = problems(TOP + '[[truth]]\nstep = "test-whispered-voice"\nreading = "7/3"\n')

        assert problem.startswith("c.toml:8:1: '7/3' is no such reading (")

    def test_all_problems_are_named_at_once(self) -> None:
        text = TOP + '[[truth]]\nstep = "smile"\nfinding = "x"\n[[truth]]\nstep = "y"\nfinding = "z"\n'

        assert len(problems(text)) == 2

    @pytest.mark.parametrize(
        "text", ["", "format = ", "[[", "format = 1" + "0" * 5000, "a" * 50 + " = [" * 3000]
    )
    def test_no_text_makes_the_reader_fail(self, text: str) -> None:
        assert problems(text)


class TestWhatIsThere:
    CASE = Case(
        id="invented",
        title="Invented",
        protocol=PROTOCOL.id,
        story="Nobody.",
        truths=(
            Truth(step="smile", side="left", findings=("weak",), seen="The left corner stays low"),
            Truth(step="test-whispered-voice", side="left", findings=("fails",), reading="1/3 1/3"),
            Truth(step="measure-jaw-opening", reading="24 mm"),
            Truth(step="inspect-maculas", side="right", unseen=True),
        ),
    )

    def test_a_flawless_examination_records_it_and_all_else_as_expected(self) -> None:
        records = flawless(self.CASE, PROTOCOL).state.records

        assert records["smile"]["left"].result.findings == ("weak",)
        assert records["smile"]["right"].result.outcome is Outcome.EXPECTED
        assert records["raise-brows"]["left"].result.outcome is Outcome.EXPECTED
        assert records["measure-jaw-opening"]["whole"].result.outcome is Outcome.DIFFERS, "below 35 mm"
        assert records["measure-jaw-opening"]["whole"].result.tell == "report"
        assert records["inspect-maculas"]["right"].result.outcome is Outcome.UNSEEN
        assert "measure-pupils-two-lights" not in records, "only if indicated, and the case does not name it"

    def test_what_is_shown_is_described_and_not_named(self) -> None:
        there = what_is_there(self.CASE, PROTOCOL)

        assert revealed(PROTOCOL.step_of["smile"], there) == (
            ("right", "Mouth corner rises, fold deepens, same as the other side"),
            ("left", "The left corner stays low"),
        )
        assert revealed(PROTOCOL.step_of["test-whispered-voice"], there)[1] == (
            "left",
            "Fewer than 3 of 6 items right. Measured: 1/3 1/3",
        )
        assert revealed(PROTOCOL.step_of["measure-jaw-opening"], there) == (("", "Measured: 24 mm"),)

    def test_what_is_to_be_done_is_not_shown(self) -> None:
        case = Case(
            id="c",
            title="C",
            protocol=PROTOCOL.id,
            story="Nobody.",
            truths=(Truth(step="ask-neck-injury", findings=("not-cleared",)),),
        )

        ((_, words),) = revealed(PROTOCOL.step_of["ask-neck-injury"], what_is_there(case, PROTOCOL))

        assert words == "Recent injury, not cleared"


class TestBundledCases:
    @pytest.mark.parametrize("path", BUNDLED, ids=lambda path: path.stem)
    def test_each_is_without_problems_and_called_after_its_id(self, path: Path) -> None:
        assert library.check(path) == []
        assert library.load(path).id == path.stem

    @pytest.mark.parametrize("path", BUNDLED, ids=lambda path: path.stem)
    def test_each_says_that_it_is_invented(self, path: Path) -> None:
        assert path.read_text(encoding="utf-8").startswith("# Invented: no real person")

    def test_the_quiet_left_ear_is_a_conductive_loss_on_the_left(self) -> None:
        case = library.load(library.find("quiet-left-ear"))
        forks = known(flawless(case, PROTOCOL))["forks"].together

        assert forks is not None
        assert forks.classes == ("conductive-left",)

    def test_no_case_is_taken_for_a_protocol(self, capsys: pytest.CaptureFixture[str]) -> None:
        assert main(["protocol", "list"]) == 0
        assert "quiet-left-ear" not in capsys.readouterr().out


class TestCommands:
    @pytest.fixture(autouse=True)
    def own_home(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setenv("EXAM_CHECKLIST_HOME", str(tmp_path / "home"))

    def test_check_lists_problems_and_says_so_by_its_exit_code(
        self, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        bad = tmp_path / "bad.toml"
        bad.write_text(TOP + '[[truth]]\nstep = "smile"\nfinding = "x"\n', encoding="utf-8")

        assert main(["case", "check", str(BUNDLED[0]), str(bad), str(tmp_path / "none.toml")]) == 1
        out = capsys.readouterr().out.splitlines()
        assert out[0] == f"{BUNDLED[0]}: no problems"
        assert out[1].startswith(f"{bad}:8:1: step 'smile' has no finding 'x'")
        assert out[2] == f"{tmp_path / 'none.toml'}: no such file"

    def test_show_prints_what_a_case_hides(self, capsys: pytest.CaptureFixture[str]) -> None:
        assert main(["case", "show", "quiet-left-ear"]) == 0
        out = capsys.readouterr().out

        assert out.startswith("INVENTED EXAMPLE")
        assert "- Weber test: Louder on the left (seen: Points to the left ear" in out
        _, rest = out.split("There, and to be told\n")
        to_tell, rest = rest.split("There, and to be written down\n")
        to_write, told = rest.split("What must be told\n")
        assert [line.split(":")[0] for line in to_tell.splitlines() if line.startswith("- ")] == [
            "- Ask about hearing and balance",
            "- Inspect the ear canal with the otoscope, left",
            "- Whispered voice test, left",
            "- Weber test",
            "- Rinne test, left",
        ]
        assert to_write.count("cannot be seen") == 4, "the eardrum behind the wax"
        assert "Palpate jaw joint, right: Click" in to_write
        assert told.partition("What it is built to show")[0].count("\n- ") + 1 == 2, (
            "hearing, and the left ear"
        )

    def test_a_case_that_was_made_can_be_checked_and_shown(
        self, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        made = tmp_path / "made.toml"

        assert main(["case", "make", "head-and-neck", "--seed", "4", "--output", str(made)]) == 0
        assert main(["case", "check", str(made)]) == 0
        assert main(["case", "show", str(made)]) == 0
        assert capsys.readouterr().err == ""

    @pytest.mark.parametrize(
        "arguments",
        [
            ("show", "no-such-case"),
            ("make", "head-and-neck", "--seed", "1", "--about", "nothing"),
            ("make", "no-such-protocol", "--seed", "1"),
        ],
    )
    def test_what_cannot_be_done_is_one_line(
        self, arguments: tuple[str, ...], capsys: pytest.CaptureFixture[str]
    ) -> None:
        assert main(["case", *arguments]) == 1
        err = capsys.readouterr().err
        assert err.startswith("checklist: ")
        assert err.count("\n") == 1

    def test_a_case_from_elsewhere_is_kept_to_be_found_again(self, tmp_path: Path) -> None:
        file = tmp_path / "shared.toml"
        file.write_text(TOP + WEBER, encoding="utf-8")

        assert library.kept(file) == "invented"
        assert library.find("invented").read_text(encoding="utf-8") == TOP + WEBER
        assert library.kept(file) == "invented", "the same once more"

    def test_list_names_own_and_bundled_cases_and_what_is_wrong_with_them(
        self, capsys: pytest.CaptureFixture[str]
    ) -> None:
        own = library.own_cases()
        own.mkdir(parents=True)
        (own / "invented.toml").write_text(TOP + WEBER, encoding="utf-8")
        (own / "torn.toml").write_text(TOP, encoding="utf-8")

        assert main(["case", "list"]) == 0
        first, second, *bundled = capsys.readouterr().out.splitlines()
        assert first.split() == ["invented", "Invented", "head-and-neck", "own", "can", "be", "used"]
        assert second.split(maxsplit=2) == ["torn", "own", "cannot be used: no [[truth]]"]
        assert [line.split()[0] for line in bundled] == [path.stem for path in BUNDLED]

    def test_an_own_case_takes_the_place_of_a_bundled_one_in_the_list(self) -> None:
        own = library.own_cases()
        own.mkdir(parents=True)
        text = TOP.replace('"invented"', '"quiet-left-ear"') + WEBER
        (own / "quiet-left-ear.toml").write_text(text, encoding="utf-8")

        (headline,) = [each for each in library.case_headlines() if each.id == "quiet-left-ear"]
        assert (headline.title, headline.protocol) == ("Invented", "head-and-neck")
        assert (headline.origin, headline.problem) == ("own", "")
        assert headline.path == own / "quiet-left-ear.toml"

    def test_a_case_for_a_protocol_that_is_not_here_cannot_be_used(self) -> None:
        own = library.own_cases()
        own.mkdir(parents=True)
        (own / "elbow.toml").write_text(TOP.replace("head-and-neck", "elbow") + WEBER, encoding="utf-8")

        (headline,) = [each for each in library.case_headlines() if each.id == "elbow"]
        assert headline.problem == "there is no usable protocol 'elbow'"

    def test_another_case_of_the_same_id_is_refused(self, tmp_path: Path) -> None:
        file = tmp_path / "shared.toml"
        file.write_text(TOP + WEBER, encoding="utf-8")
        library.kept(file)
        file.write_text(TOP + WEBER.replace("left", "right"), encoding="utf-8")

        with pytest.raises(Exception, match="another case has the id 'invented' already"):
            library.kept(file)
