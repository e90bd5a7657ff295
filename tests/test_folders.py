"""Where files are kept: folders that are named, private, and said when there are none."""

import stat
from pathlib import Path

import pytest

from checklist.cli import main
from checklist.errors import ChecklistError
from checklist.folders import config_folder, data_folder, make_private


def test_the_home_of_a_user_that_there_is_not_is_one_line(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("EXAM_CHECKLIST_HOME", "~nosuchuser/x")
    for folder in (data_folder, config_folder):
        with pytest.raises(ChecklistError):
            folder()

    assert main(["note"]) == 1
    assert capsys.readouterr().err == (
        "checklist: EXAM_CHECKLIST_HOME is '~nosuchuser/x', and there is no such user;"
        " write the folder in full\n"
    )


def test_the_own_home_may_be_written_short(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("EXAM_CHECKLIST_HOME", "~/x")
    assert data_folder() == config_folder() == tmp_path / "x"


@pytest.mark.parametrize("mode", [0o644, 0o660, 0o777, 0o601])
def test_what_others_may_do_with_a_file_or_folder_is_taken_away(tmp_path: Path, mode: int) -> None:
    file, folder = tmp_path / "file", tmp_path / "folder"
    file.write_text("")
    folder.mkdir()
    for path in (file, folder):
        path.chmod(mode)
        make_private(path)

    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700


def test_what_is_private_or_missing_is_left(tmp_path: Path) -> None:
    file = tmp_path / "file"
    file.write_text("")
    file.chmod(0o400)
    make_private(file)
    make_private(tmp_path / "none")

    assert stat.S_IMODE(file.stat().st_mode) == 0o400
    assert list(tmp_path.iterdir()) == [file]
