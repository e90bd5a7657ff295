"""`checklist protocol` and the outermost handler: what is printed where, and with which exit code."""

import errno
import io
import os
import subprocess
import sys
from pathlib import Path

import pytest

from checklist import __version__
from checklist.cli import main
from checklist.commands import protocol as command

PROTOCOLS = Path(__file__).parent / "protocols"
VALID = PROTOCOLS / "valid"
INVALID = PROTOCOLS / "invalid"
SMALL = (VALID / "small.toml").read_text(encoding="utf-8")
Captured = pytest.CaptureFixture[str]


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder of the own protocols is empty for every test, and the terminal has 80 columns."""
    monkeypatch.setenv("EXAM_CHECKLIST_HOME", str(tmp_path))
    monkeypatch.setenv("COLUMNS", "80")
    folder = tmp_path / "protocols"
    folder.mkdir()
    return folder


class TestCheck:
    @pytest.mark.parametrize("path", sorted(INVALID.glob("*.toml")), ids=lambda path: path.stem)
    def test_problems_are_the_output_and_the_exit_code_is_1(
        self, path: Path, capsys: Captured, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.chdir(INVALID)

        assert main(["protocol", "check", path.name]) == 1

        assert capsys.readouterr() == (path.with_suffix(".errors.txt").read_text(encoding="utf-8"), "")

    def test_a_file_without_problems_is_said_to_have_none(self, capsys: Captured) -> None:
        path = VALID / "small.toml"

        assert main(["protocol", "check", str(path)]) == 0

        assert capsys.readouterr() == (f"{path}: no problems\n", "")

    def test_all_files_are_checked_whatever_is_wrong_with_the_first(self, capsys: Captured) -> None:
        valid, invalid = VALID / "small.toml", INVALID / "key-twice.toml"

        assert main(["protocol", "check", "missing.toml", str(valid), str(invalid)]) == 1

        assert capsys.readouterr().out.splitlines() == [
            "missing.toml: no such file",
            f"{valid}: no problems",
            f"{invalid}:27:1: 'do' is written twice (see line 20)",
        ]

    def test_a_file_name_cannot_command_the_terminal(self, tmp_path: Path, capsys: Captured) -> None:
        path = tmp_path / "a\x1b[2J\nb.toml"
        path.write_text(SMALL, encoding="utf-8")

        assert main(["protocol", "check", str(path), str(path) + "x"]) == 1

        lines = capsys.readouterr().out.splitlines()
        assert len(lines) == 2
        assert all(line.isprintable() for line in lines)


class TestList:
    def test_each_protocol_has_a_line_of_its_own_and_its_summary(self, own: Path, capsys: Captured) -> None:
        text = SMALL.replace("scope", 'summary = "An invented example."\nscope', 1)
        (own / "small.toml").write_text(text, encoding="utf-8")

        assert main(["protocol", "list"]) == 0

        lines = [line.strip() for line in capsys.readouterr().out.splitlines()]
        assert lines[0].split(maxsplit=1) == ["small", "Small (1.0.0, 2 min, own)"]
        assert lines[1] == "An invented example."
        assert any(line.startswith("abdomen ") and line.endswith(", bundled)") for line in lines)

    def test_a_long_summary_is_wrapped(self, own: Path, capsys: Captured) -> None:
        text = SMALL.replace("scope", f'summary = "{"word " * 100}"\nscope', 1)
        (own / "small.toml").write_text(text, encoding="utf-8")

        main(["protocol", "list"])

        lines = capsys.readouterr().out.splitlines()
        assert max(map(len, lines)) <= 80
        assert sum(line.count("word") for line in lines) == 100

    def test_a_protocol_that_cannot_be_used_says_so_in_its_line(self, own: Path, capsys: Captured) -> None:
        (own / "broken.toml").write_text("title = ", encoding="utf-8")

        assert main(["protocol", "list"]) == 0

        first = capsys.readouterr().out.splitlines()[0]
        assert first.split(maxsplit=1) == ["broken", "cannot be used: not a value"]


class TestShow:
    def test_an_id_and_a_path_show_the_same(self, own: Path, capsys: Captured) -> None:
        (own / "small.toml").write_text(SMALL, encoding="utf-8")

        assert main(["protocol", "show", "small"]) == 0
        by_id = capsys.readouterr().out
        assert main(["protocol", "show", str(VALID / "small.toml")]) == 0

        assert capsys.readouterr().out == by_id
        assert by_id.startswith("SMALL\n")

    def test_an_unknown_id_is_one_line_with_the_nearest_spelling(self, capsys: Captured) -> None:
        assert main(["protocol", "show", "abdomne"]) == 1

        expected = "checklist: abdomne: no protocol has this id (did you mean 'abdomen'?)\n"
        assert capsys.readouterr() == ("", expected)

    def test_a_file_with_problems_is_one_line_that_says_how_to_see_all(self, capsys: Captured) -> None:
        path = INVALID / "used-twice.toml"

        assert main(["protocol", "show", str(path)]) == 1

        expected = (
            f"checklist: {path}: 5 problems, which 'checklist protocol check' lists;"
            f" the first: {path}:24:31: site 'medial' is used twice (see line 24)\n"
        )
        assert capsys.readouterr() == ("", expected)

    def test_the_outline_is_as_wide_as_the_terminal(
        self, capsys: Captured, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setenv("COLUMNS", "60")

        main(["protocol", "show", "abdomen"])

        assert 50 < max(map(len, capsys.readouterr().out.splitlines())) <= 60


class TestExitCodes:
    @pytest.mark.parametrize("arguments", [["--help"], ["protocol", "--help"], ["protocol", "check", "-h"]])
    def test_help_is_output_and_no_error(self, arguments: list[str], capsys: Captured) -> None:
        assert main(arguments) == 0

        out, err = capsys.readouterr()
        assert out.startswith("usage: checklist")
        assert err == ""

    def test_the_version_is_printed(self, capsys: Captured) -> None:
        assert main(["--version"]) == 0

        assert capsys.readouterr().out == f"checklist {__version__}\n"

    @pytest.mark.parametrize(
        "arguments", [["unknown"], ["--unknown"], ["protocol"], ["protocol", "check"], ["protocol", "show"]]
    )
    def test_a_wrong_argument_is_exit_code_2_with_the_usage(
        self, arguments: list[str], capsys: Captured
    ) -> None:
        assert main(arguments) == 2

        out, err = capsys.readouterr()
        assert out == ""
        assert err.startswith("usage: checklist")

    def test_an_interruption_is_exit_code_130_without_a_word(
        self, capsys: Captured, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def interrupted(files: list[str]) -> int:
            raise KeyboardInterrupt

        monkeypatch.setattr(command, "check", interrupted)

        assert main(["protocol", "check", "x"]) == 130
        assert capsys.readouterr() == ("", "")

    def test_output_that_nobody_reads_ends_without_a_word(self) -> None:
        reader, writer = os.pipe()
        os.close(reader)
        done = subprocess.run(
            [sys.executable, "-m", "checklist", "protocol", "show", "abdomen"],
            stdout=writer,
            stderr=subprocess.PIPE,
            cwd=PROTOCOLS.parent.parent,
            check=False,
        )
        os.close(writer)

        assert (done.returncode, done.stderr) == (141, b"")

    def test_output_that_cannot_be_written_is_one_line(
        self, capsys: Captured, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        class Full(io.StringIO):
            def write(self, _: str) -> int:
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

        monkeypatch.setattr(sys, "stdout", Full())

        assert main(["protocol", "list"]) == 1
        assert capsys.readouterr().err == f"checklist: {os.strerror(errno.ENOSPC)}\n"

    def test_a_terminal_that_cannot_show_a_character_shows_a_mark_instead(self, tmp_path: Path) -> None:
        path = tmp_path / "café.toml"
        path.write_text(SMALL, encoding="utf-8")
        done = subprocess.run(
            [sys.executable, "-m", "checklist", "protocol", "check", path.name],
            capture_output=True,
            cwd=tmp_path,
            env={**os.environ, "PYTHONIOENCODING": "ascii", "PYTHONPATH": str(PROTOCOLS.parent.parent)},
            check=False,
        )

        assert (done.returncode, done.stdout, done.stderr) == (0, b"caf?.toml: no problems\n", b"")


class TestReadings:
    def test_every_kind_and_every_computation_is_listed(self, capsys: Captured) -> None:
        assert main(["protocol", "readings"]) == 0
        shown = capsys.readouterr().out
        assert "\n  pulse-rate: " in shown
        assert "\n  body-mass-index: Body mass index; from height, weight\n" in shown
        assert max(map(len, shown.splitlines())) <= 80

    def test_a_kind_shows_its_options_with_their_sources(self, capsys: Captured) -> None:
        assert main(["protocol", "readings", "pulse-rate"]) == 0
        shown = " ".join(capsys.readouterr().out.split())
        assert "timed as: rate" in shown
        assert "option likely_high = 220: " in shown
        assert "Source: common practice, no source: adults." in shown

    def test_a_text_shows_what_it_means_and_why_it_is_told(self, capsys: Captured) -> None:
        """RCP 2017, NEWS2 chart 1: a pulse of 40 or less scores 3."""
        assert main(["protocol", "readings", "pulse-rate", "40"]) == 0
        shown = capsys.readouterr().out
        assert "in the note: 40/min\n" in shown
        assert "out of range: urgent\n" in shown

    def test_a_text_of_several_words_needs_no_quotes(self, capsys: Captured) -> None:
        assert main(["protocol", "readings", "blood-pressure", "118/76", "sitting", "right", "arm"]) == 0
        assert "kept as: 118/76 sitting right arm\n" in capsys.readouterr().out

    @pytest.mark.parametrize(
        ("arguments", "words"),
        [
            (["puls-rate"], "no kind of reading is called 'puls-rate'; did you mean 'pulse-rate'?"),
            (["pulse-rate", "fast"], "pulse-rate: unknown word 'fast'; type 72; 72 irregular; 18 in 15 s"),
            (["pulse"], "called 'pulse'; did you mean 'pulse-rate' or 'pulse-strength'?"),
            (["pressure"], "called 'pressure'; did you mean 'blood-pressure' or 'systolic-pressure'"),
            (["bp"], "called 'bp'; `checklist protocol readings` lists them"),
            (["zzzz"], "called 'zzzz'; `checklist protocol readings` lists them"),
            (["body-mass-index", "22"], "body-mass-index is computed, and nothing is typed for it"),
        ],
    )
    def test_what_cannot_be_shown_is_one_line(
        self, arguments: list[str], words: str, capsys: Captured
    ) -> None:
        assert main(["protocol", "readings", *arguments]) == 1
        captured = capsys.readouterr()
        assert captured.out == ""
        assert captured.err.count("\n") == 1
        assert words in captured.err
