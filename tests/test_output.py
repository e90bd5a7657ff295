"""A document is written whole to a new private file, or not at all, with one line that says why."""

import stat
import subprocess
import sys
from pathlib import Path

import pytest

from checklist.cli import main
from checklist.output import OutputError, write_new

ROOT = Path(__file__).parents[1]


def test_a_document_is_a_new_file_that_only_its_owner_reads(tmp_path: Path) -> None:
    path = tmp_path / "note.txt"
    write_new(path, "Ear: clear – both.\n")

    assert path.read_text(encoding="utf-8") == "Ear: clear – both.\n"
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_a_file_that_is_there_is_not_written_over(tmp_path: Path) -> None:
    path = tmp_path / "note.txt"
    path.write_text("mine")
    with pytest.raises(OutputError, match=r"note\.txt: exists already; choose another name"):
        write_new(path, "x")
    assert path.read_text() == "mine"


def test_the_home_folder_may_be_written_short(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    write_new(Path("~/note.txt"), "x")
    assert (tmp_path / "note.txt").read_text() == "x"


def test_the_home_of_a_user_that_there_is_not_is_named() -> None:
    with pytest.raises(
        OutputError, match=r"^~nosuchuser/x: there is no such user; write the folder in full$"
    ):
        write_new(Path("~nosuchuser/x"), "x")


def test_the_command_writes_to_the_home_folder_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("EXAM_CHECKLIST_HOME", str(tmp_path))
    assert main(["demo", "--keep", str(tmp_path / "sessions")]) == 0
    said = capsys.readouterr().out

    assert main(["note", "--output=~/note.txt"]) == 0
    assert (tmp_path / "note.txt").read_text(encoding="utf-8").splitlines()[0] == said.splitlines()[0]


LIMITED = """
import resource, sys
from pathlib import Path
from checklist.output import OutputError, write_new
resource.setrlimit(resource.RLIMIT_FSIZE, (100, resource.RLIM_INFINITY))
try:
    write_new(Path(sys.argv[1]), "x" * 100_000)
except OutputError as error:
    print(error)
"""


def test_a_document_that_does_not_fit_is_said_and_not_left_half(tmp_path: Path) -> None:
    """The limit is a real one, set by the operating system, and is hit in the middle of the text."""
    path = tmp_path / "note.txt"
    command = [sys.executable, "-c", LIMITED, str(path)]
    run = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=60, check=True)

    assert run.stdout == f"{path}: cannot be written: File too large\n"
    assert list(tmp_path.iterdir()) == []
