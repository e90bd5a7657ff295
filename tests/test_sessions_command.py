"""What is kept: listed, shown, archived, deleted, de-identified; nothing is lost unless it is asked for."""

import contextlib
import os
import pty
import re
import stat
import subprocess
import sys
import zipfile
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from checklist.cli import main
from checklist.session import archive, index
from checklist.session.codec import encode_event, encode_header
from checklist.session.events import Amended, Event, Finished, Recorded, Remarked, Signed, Started
from checklist.session.journal import Journal
from checklist.session.opening import resume
from checklist.session.store import load
from tests.helpers import a_whole_examination, differs, header, protocol_table, result, script

FIRST = "20260302-142233-hand-4f2a"
SECOND = "20260302-150000-hand-77aa"
THIRD = "20261125-090000-hand-0001"
CANNOT_UNDO = (
    "Deleting cannot be undone. It does not reach backups, copies, exports and archives,"
    " nor what the disk keeps of a file that was deleted."
)


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("EXAM_CHECKLIST_HOME", str(tmp_path))
    monkeypatch.setattr(sys, "stdin", None)
    sessions = tmp_path / "sessions"
    sessions.mkdir()
    return sessions


def save(folder: Path, name: str, events: list[Event], torn: bytes = b"", **changes: object) -> Path:
    path = folder / f"{name}.toml"
    text = encode_header(header(id=name, **changes), protocol_table()) + "".join(map(encode_event, events))
    path.write_bytes(text.encode() + torn)
    return path


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    """Exit code, what is printed, what is said on stderr."""
    exit_code = main(["sessions", *arguments])
    out, err = capsys.readouterr()
    return exit_code, out, err


def unfinished() -> list[Event]:
    return script((Started, {"step": "wash"}))


@contextlib.contextmanager
def open_elsewhere(path: Path) -> Iterator[int]:
    """Another program that has the session open; yields its process id."""
    code = (
        "import sys; from pathlib import Path; from checklist.session.opening import resume;"
        "resume(Path(sys.argv[1])); print('open', flush=True); sys.stdin.read()"
    )
    with subprocess.Popen(
        [sys.executable, "-c", code, str(path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    ) as other:
        assert other.stdout
        assert other.stdout.readline() == b"open\n"
        yield other.pid
        other.kill()


class TestList:
    def test_without_sessions_it_says_so(self, capsys: pytest.CaptureFixture[str], folder: Path) -> None:
        assert run(capsys, "list") == (0, f"There is no session yet in {folder}.\n", "")

    def test_each_session_is_a_line_newest_first_and_a_damaged_one_is_named(
        self, capsys: pytest.CaptureFixture[str], folder: Path
    ) -> None:
        save(folder, FIRST, a_whole_examination())
        save(folder, SECOND, unfinished(), participant="P-7", mode="observation")
        (folder / f"{THIRD}.toml").write_text("format = 9\n", encoding="utf-8")
        exit_code, out, err = run(capsys, "list")
        damaged, observed, finished = (line.split() for line in out.splitlines())

        assert (exit_code, err) == (0, "")
        assert (damaged[0], damaged[3:5]) == (THIRD, ["11", "B"])
        assert " ".join(damaged[5:]) == "damaged session format 9; this version reads format 1"
        assert observed[:3] == [SECOND, "2026-03-02", "14:22"]
        assert observed[4:] == ["kB", "unfinished", "observation", "P-7", "Hand"]
        assert (finished[0], finished[5:]) == (FIRST, ["finished", "examination", "P-014", "Hand"])

    def test_thousands_are_listed(self, capsys: pytest.CaptureFixture[str], folder: Path) -> None:
        text = save(folder, FIRST, unfinished()).read_text(encoding="utf-8")
        for number in range(2000):
            (folder / f"20260101-000000-hand-{number:04x}.toml").write_text(text, encoding="utf-8")
        exit_code, out, _ = run(capsys, "list")

        assert exit_code == 0
        assert len(out.splitlines()) == 2001


class TestShow:
    def lines(self, capsys: pytest.CaptureFixture[str], *arguments: str) -> dict[str, str]:
        exit_code, out, _ = run(capsys, "show", *arguments)
        assert exit_code == 0
        return {line[:12].strip(): line[13:] for line in out.splitlines()}

    def test_what_the_file_holds(self, capsys: pytest.CaptureFixture[str], folder: Path) -> None:
        events = a_whole_examination()
        path = save(folder, FIRST, events, participant="Mary Smith", age="18 to 64")
        found = self.lines(capsys, FIRST)

        assert found["id"] == FIRST
        assert found["file"] == f"{path}, {path.stat().st_size} bytes"
        assert found["protocol"] == "Hand, version 1.0.0"
        assert found["created"] == "2026-03-02 14:22 +0000"
        assert found["kind"] == "examination, practice (simulated)"
        assert found["codes"] == "participant Mary Smith (looks like a name), examiner E-2"
        assert found["age band"] == "18 to 64"
        assert found["state"] == "finished, 55 seconds of examination"
        assert found["events"].startswith(
            "14: 1 started, 3 recorded, 1 moved, 1 retracted, 1 remarked, 1 told"
        )
        assert found["own words"] == "2 texts"
        assert found["signed"] == "no"
        assert found["torn end"] == "none"

    def test_who_amended_or_signed_is_among_the_codes_and_a_name_is_flagged(
        self, capsys: pytest.CaptureFixture[str], folder: Path
    ) -> None:
        def amended(who: str) -> tuple[type[Event], dict[str, Any]]:
            return (Amended, {"step": "look", "results": (result("left"),), "who": who, "why": "late"})

        signed = (Signed, {"who": "ABC", "digest": "0" * 64})
        save(
            folder,
            FIRST,
            script(
                (Started, {"step": "wash"}), (Finished, {}), amended("E-2"), amended("Mary Smith"), signed
            ),
        )

        assert self.lines(capsys, FIRST)["codes"] == (
            "participant P-014, examiner E-2, amended by Mary Smith (looks like a name), signed by ABC"
        )

    def test_typed_words_are_not_repeated_but_what_they_look_like_is_said(
        self, capsys: pytest.CaptureFixture[str], folder: Path
    ) -> None:
        remark = (Remarked, {"step": "wash", "text": "Mr Miller, call 555-0123"})
        save(folder, FIRST, script((Started, {"step": "wash"}), remark))
        _, out, _ = run(capsys, "show")

        assert "own words    1 text; event 2 looks like a record or telephone number\n" in out
        assert "Miller" not in out

    def test_a_signature_is_shown_and_whether_the_file_was_changed_since(
        self, capsys: pytest.CaptureFixture[str], folder: Path
    ) -> None:
        path = save(folder, FIRST, script((Started, {"step": "wash"}), (Finished, {})))
        recorder = resume(path)
        recorder.sign("E-2")
        recorder.leave()
        assert self.lines(capsys)["signed"] == "by E-2, unchanged since"

        path.write_bytes(path.read_bytes().replace(b'participant = "P-014"', b'participant = "P-015"'))
        assert self.lines(capsys)["signed"] == "by E-2, CHANGED SINCE"

    def test_a_torn_end_and_torn_ends_beside_the_file_are_said(
        self, capsys: pytest.CaptureFixture[str], folder: Path
    ) -> None:
        path = save(folder, FIRST, unfinished(), torn=b"\n[[ev")
        path.with_name(f"{path.name}.torn-1").write_bytes(b"x")
        found = self.lines(capsys)

        assert found["torn end"] == "5 bytes, passed over"
        assert found["beside it"] == f"{FIRST}.toml.torn-1"

    def test_a_damaged_one_gives_one_line(self, capsys: pytest.CaptureFixture[str], folder: Path) -> None:
        path = folder / f"{FIRST}.toml"
        path.write_text("x", encoding="utf-8")
        said = f"checklist: {path}: not a session file, or its first part is damaged\n"
        assert run(capsys, "show", FIRST) == (1, "", said)


class TestArchive:
    def test_the_archive_holds_each_file_byte_for_byte_for_its_owner_alone(
        self, capsys: pytest.CaptureFixture[str], folder: Path, tmp_path: Path
    ) -> None:
        path = save(folder, FIRST, a_whole_examination(), torn=b"\n[[ev")
        torn = path.with_name(f"{path.name}.torn-1")
        torn.write_bytes(b"torn")
        target = tmp_path / "kept.zip"
        exit_code, out, err = run(capsys, "archive", str(target), FIRST, FIRST[:10])

        assert (exit_code, err) == (0, "")
        assert out == (
            f"{target}: 1 session, read back and compared. It is not encrypted.\n"
            "The originals are where they were.\n"
        )
        assert stat.S_IMODE(target.stat().st_mode) == 0o600
        with zipfile.ZipFile(target) as opened:
            assert {name: opened.read(name) for name in opened.namelist()} == {
                path.name: path.read_bytes(),
                torn.name: b"torn",
            }
            assert {info.external_attr >> 16 for info in opened.infolist()} == {stat.S_IFREG | 0o600}

    def test_unpacked_into_another_folder_it_can_be_read(
        self, capsys: pytest.CaptureFixture[str], folder: Path, tmp_path: Path
    ) -> None:
        session = load(save(folder, FIRST, a_whole_examination())).session
        run(capsys, "archive", str(tmp_path / "kept.zip"), FIRST)
        zipfile.ZipFile(tmp_path / "kept.zip").extractall(tmp_path / "elsewhere")

        assert load(tmp_path / "elsewhere" / f"{FIRST}.toml").session == session

    def test_no_file_is_written_over(
        self, capsys: pytest.CaptureFixture[str], folder: Path, tmp_path: Path
    ) -> None:
        save(folder, FIRST, unfinished())
        target = tmp_path / "kept.zip"
        target.write_bytes(b"mine")
        said = f"checklist: {target}: exists already; choose another name\n"

        assert run(capsys, "archive", str(target), FIRST, "--remove") == (1, "", said)
        assert target.read_bytes() == b"mine"
        assert (folder / f"{FIRST}.toml").exists()

    def test_before_a_day_takes_what_was_begun_earlier_and_leaves_damaged_ones(
        self, capsys: pytest.CaptureFixture[str], folder: Path, tmp_path: Path
    ) -> None:
        save(folder, FIRST, unfinished())
        save(folder, THIRD, unfinished(), created=datetime(2026, 11, 25, 9, tzinfo=UTC))
        (folder / f"{SECOND}.toml").write_text("x", encoding="utf-8")
        target = tmp_path / "kept.zip"
        exit_code, _, err = run(capsys, "archive", str(target), "--before", "2026-11-25")

        assert exit_code == 0
        assert err == f"checklist: {SECOND}: damaged, so it has no day; name it to archive it\n"
        assert zipfile.ZipFile(target).namelist() == [f"{FIRST}.toml"]
        early = run(capsys, "archive", str(tmp_path / "none.zip"), "--before", "2026-03-02")
        assert early[2].endswith("checklist: no session was begun before 2026-03-02\n")

    @pytest.mark.parametrize("arguments", [[], [FIRST, "--before", "2026-11-25"]])
    def test_either_sessions_or_a_day_are_named(
        self, capsys: pytest.CaptureFixture[str], folder: Path, tmp_path: Path, arguments: list[str]
    ) -> None:
        save(folder, FIRST, unfinished())
        said = "checklist: name the sessions to archive, or a day with --before, and not both\n"
        assert run(capsys, "archive", str(tmp_path / "kept.zip"), *arguments) == (1, "", said)

    def test_what_is_no_day_is_said_to_be_none(
        self, capsys: pytest.CaptureFixture[str], tmp_path: Path
    ) -> None:
        exit_code, _, err = run(capsys, "archive", str(tmp_path / "kept.zip"), "--before", "yesterday")
        assert exit_code == 2
        assert "'yesterday' is no day such as 2026-11-25" in err

    def test_remove_takes_the_originals_with_their_torn_ends_and_says_what_it_cannot_reach(
        self, capsys: pytest.CaptureFixture[str], folder: Path, tmp_path: Path
    ) -> None:
        path = save(folder, FIRST, unfinished())
        path.with_name(f"{path.name}.torn-1").write_bytes(b"torn")
        save(folder, SECOND, unfinished())
        exit_code, out, _ = run(capsys, "archive", str(tmp_path / "kept.zip"), FIRST, "--remove")

        assert exit_code == 0
        assert out.splitlines()[-1] == f"1 session removed from this disk. {CANNOT_UNDO}"
        assert [each.name for each in folder.iterdir()] == [f"{SECOND}.toml"]

    def test_an_archive_that_does_not_read_back_is_none_and_nothing_is_removed(
        self,
        capsys: pytest.CaptureFixture[str],
        folder: Path,
        tmp_path: Path,
        monkeypatch: pytest.MonkeyPatch,
    ) -> None:
        path = save(folder, FIRST, unfinished())
        target = tmp_path / "kept.zip"

        def break_it(fd: int) -> None:
            """What is to be made durable is overwritten, as by a failing disk."""
            os.pwrite(fd, b"\0" * 400, 60)

        monkeypatch.setattr(os, "fsync", break_it)
        exit_code, out, err = run(capsys, "archive", str(target), FIRST, "--remove")

        assert (exit_code, out) == (1, "")
        assert err.startswith(f"checklist: {target}: cannot be read back")
        assert not target.exists()
        assert path.exists()

    def test_what_was_changed_after_it_was_archived_is_not_removed(
        self, folder: Path, tmp_path: Path
    ) -> None:
        path = save(folder, FIRST, unfinished())
        digests = archive.write_archive(tmp_path / "kept.zip", [path])
        path.write_bytes(path.read_bytes() + b"\n")

        with pytest.raises(archive.ArchiveError, match="changed since it was archived"):
            archive.remove(path, digests)
        assert path.exists()

    def test_two_files_of_one_name_do_not_share_an_archive(
        self, capsys: pytest.CaptureFixture[str], folder: Path, tmp_path: Path
    ) -> None:
        one, other = save(folder, FIRST, unfinished()), tmp_path / f"{FIRST}.toml"
        other.write_bytes(one.read_bytes())
        target = tmp_path / "kept.zip"
        said = f"checklist: {target}: two sessions are called {FIRST}.toml; archive them apart\n"
        assert run(capsys, "archive", str(target), str(one), str(other)) == (1, "", said)

    def test_a_home_folder_of_nobody_gives_one_line(
        self, capsys: pytest.CaptureFixture[str], folder: Path
    ) -> None:
        save(folder, FIRST, unfinished())
        said = "checklist: ~nobody-at-all/kept.zip: there is no such user; write the folder in full\n"
        assert run(capsys, "archive", "~nobody-at-all/kept.zip", FIRST) == (1, "", said)

    def test_a_folder_that_is_not_there_gives_one_line(
        self, capsys: pytest.CaptureFixture[str], folder: Path, tmp_path: Path
    ) -> None:
        save(folder, FIRST, unfinished())
        target = tmp_path / "nowhere" / "kept.zip"
        said = f"checklist: {target}: cannot be written: No such file or directory\n"
        assert run(capsys, "archive", str(target), FIRST) == (1, "", said)


class TestDelete:
    def test_the_file_goes_with_its_lock_and_torn_ends_and_no_other(
        self, capsys: pytest.CaptureFixture[str], folder: Path
    ) -> None:
        path = save(folder, FIRST, unfinished())
        for beside in (f"{path.name}.lock", f"{path.name}.torn-1", f"{path.name}.torn-2"):
            (folder / beside).write_bytes(b"")
        save(folder, SECOND, unfinished())
        exit_code, out, err = run(capsys, "delete", FIRST, "--yes")

        assert (exit_code, err) == (0, "")
        assert out == f"{path} and 2 torn end(s) beside it\n{CANNOT_UNDO}\n1 session deleted.\n"
        assert [each.name for each in folder.iterdir()] == [f"{SECOND}.toml"]

    def test_several_are_deleted_each_once(self, capsys: pytest.CaptureFixture[str], folder: Path) -> None:
        for name in (FIRST, SECOND, THIRD):
            save(folder, name, unfinished())
        _, out, _ = run(capsys, "delete", FIRST, SECOND, str(folder / f"{FIRST}.toml"), "--yes")

        assert out.endswith("2 sessions deleted.\n")
        assert [each.name for each in folder.iterdir()] == [f"{THIRD}.toml"]

    def test_a_damaged_session_can_be_deleted(self, capsys: pytest.CaptureFixture[str], folder: Path) -> None:
        (folder / f"{FIRST}.toml").write_text("x", encoding="utf-8")
        assert run(capsys, "delete", FIRST, "--yes")[0] == 0
        assert list(folder.iterdir()) == []

    def test_a_file_elsewhere_that_is_no_session_is_never_deleted(
        self, capsys: pytest.CaptureFixture[str], tmp_path: Path
    ) -> None:
        path = tmp_path / "pyproject.toml"
        path.write_text("title = 'mine'\n", encoding="utf-8")
        said = f"checklist: {path}: not a session file\n"

        assert run(capsys, "delete", str(path), "--yes") == (1, "", said)
        assert path.exists()

    def test_a_link_is_not_deleted_in_place_of_what_it_points_to(
        self, capsys: pytest.CaptureFixture[str], folder: Path, tmp_path: Path
    ) -> None:
        path = save(tmp_path, SECOND, unfinished())
        link = folder / f"{FIRST}.toml"
        link.symlink_to(path)
        said = f"checklist: {link}: a link; name the file that it points to\n"
        assert run(capsys, "delete", FIRST, "--yes") == (1, "", said)
        assert link.is_symlink()

    def test_a_session_that_is_open_in_another_program_is_refused_and_so_are_those_named_with_it(
        self, capsys: pytest.CaptureFixture[str], folder: Path, tmp_path: Path
    ) -> None:
        path, other = save(folder, FIRST, unfinished()), save(folder, SECOND, unfinished())
        with open_elsewhere(path) as pid:
            said = f"checklist: {path}: open in the program with process id {pid}; close it there first\n"
            assert run(capsys, "delete", SECOND, FIRST, "--yes") == (1, "", said)
            kept = run(capsys, "archive", str(tmp_path / "kept.zip"), FIRST, "--remove")
            assert kept == (1, "", said)
            assert (folder / f"{FIRST}.toml.lock").exists()
        assert path.exists()
        assert other.exists()

    def test_a_refusal_leaves_the_clock_of_a_crash_where_it_was(
        self, capsys: pytest.CaptureFixture[str], folder: Path
    ) -> None:
        path = save(folder, FIRST, unfinished())
        path.with_name(f"{path.name}.lock").write_text(
            f"pid {7:>10}\nclock {77.5:>14.3f}\n", encoding="ascii"
        )
        assert run(capsys, "delete", FIRST)[0] == 1
        reopened = Journal.reopen(path)
        reopened.journal.close()

        assert reopened.clock == 77.5

    def test_without_a_terminal_nothing_is_deleted_unasked(
        self, capsys: pytest.CaptureFixture[str], folder: Path
    ) -> None:
        path = save(folder, FIRST, unfinished())
        exit_code, _, err = run(capsys, "delete", FIRST)

        assert exit_code == 1
        assert err == "checklist: there is no terminal to ask at; add --yes to delete without being asked\n"
        assert path.exists()

    @pytest.mark.parametrize(("typed", "is_deleted"), [("delete", True), ("yes", False), ("", False)])
    def test_at_a_terminal_the_word_is_typed(self, folder: Path, typed: str, is_deleted: bool) -> None:
        path = save(folder, FIRST, unfinished())
        keyboard, terminal = pty.openpty()
        os.write(keyboard, f"{typed}\n".encode())
        command = [sys.executable, "-m", "checklist", "sessions", "delete", FIRST]
        done = subprocess.run(command, stdin=terminal, capture_output=True, text=True, check=False)
        os.close(keyboard)
        os.close(terminal)

        asked = f"{path}\n{CANNOT_UNDO}\nType the word delete to delete 1 session: "
        ending = "1 session deleted.\n" if is_deleted else "Nothing was deleted.\n"
        assert done.stdout == asked + ending
        assert done.returncode == (0 if is_deleted else 1)
        assert path.exists() is not is_deleted

    def test_a_name_that_fits_several_deletes_none(
        self, capsys: pytest.CaptureFixture[str], folder: Path
    ) -> None:
        save(folder, FIRST, unfinished())
        save(folder, SECOND, unfinished())
        exit_code, _, err = run(capsys, "delete", "20260302", "--yes")

        assert exit_code == 1
        assert err.startswith("checklist: '20260302' begins the names of 2 sessions; type more of one:")
        assert len(list(folder.iterdir())) == 2


class TestDeidentify:
    def test_the_new_file_is_a_session_without_codes_words_and_dates(
        self, capsys: pytest.CaptureFixture[str], folder: Path, tmp_path: Path
    ) -> None:
        save(folder, FIRST, a_whole_examination())
        target = tmp_path / "shared.toml"
        exit_code, out, err = run(capsys, "deidentify", FIRST, "--output", str(target))

        assert (exit_code, out) == (0, "")
        assert err.startswith("checklist: after the list of 45 CFR 164.514(b)(2), and no certificate: ")
        assert stat.S_IMODE(target.stat().st_mode) == 0o600
        text = target.read_text(encoding="utf-8")
        for gone in ("P-014", "E-2", "Zwickt", "raw", FIRST, "2026-03-02"):
            assert gone not in text
        assert main(["note", str(target)]) == 0
        said = capsys.readouterr().out
        assert "Participant P-1, examiner E-1." in said
        assert said.splitlines()[1] == "DE-IDENTIFIED – codes and dates were replaced"

    def test_two_files_of_one_session_have_two_ids(
        self, capsys: pytest.CaptureFixture[str], folder: Path, tmp_path: Path
    ) -> None:
        save(folder, FIRST, a_whole_examination())
        targets = [tmp_path / "one.toml", tmp_path / "two.toml"]
        for target in targets:
            assert run(capsys, "deidentify", FIRST, "--output", str(target))[0] == 0
        ids = {load(target).session.header.id for target in targets}

        assert len(ids) == 2
        assert all(re.fullmatch("20000101-000000-hand-[0-9a-f]{8}", each) for each in ids)

    def test_kept_words_that_look_like_an_identity_are_warned_of(
        self, capsys: pytest.CaptureFixture[str], folder: Path, tmp_path: Path
    ) -> None:
        words = (Recorded, {"step": "look", "results": (differs("left", detail="as Mr Miller says"),)})
        save(folder, FIRST, script((Started, {"step": "wash"}), words))
        target = tmp_path / "shared.toml"
        _, _, err = run(capsys, "deidentify", FIRST, "--output", str(target), "--keep-text")

        warning = "checklist: the words of event 2 were kept, and something in them looks like a name"
        assert err.splitlines()[1:] == [warning]
        assert "as Mr Miller says" in target.read_text(encoding="utf-8")

    def test_no_file_is_written_over(self, capsys: pytest.CaptureFixture[str], folder: Path) -> None:
        path = save(folder, FIRST, unfinished())
        said = f"checklist: {path}: exists already; choose another name\n"
        assert run(capsys, "deidentify", FIRST, "--output", str(path)) == (1, "", said)


@pytest.mark.parametrize("action", ["list", "show", "archive", "delete", "deidentify"])
def test_every_command_has_a_help(action: str, capsys: pytest.CaptureFixture[str]) -> None:
    exit_code, out, _ = run(capsys, action, "--help")
    assert exit_code == 0
    assert len(out.splitlines()) > 3


@pytest.mark.parametrize("action", ["show", "delete"])
def test_a_session_that_is_not_there_gives_one_line(action: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(capsys, action, "2025") == (1, "", "checklist: no session is called '2025'\n")


def test_what_is_deleted_is_in_no_index_either(capsys: pytest.CaptureFixture[str], folder: Path) -> None:
    path = save(folder, "20260302-142233-hand-4f2a", a_whole_examination())
    assert main(["progress"]) == 0
    assert index.index_file().is_file()

    assert run(capsys, "delete", path.stem, "--yes")[0] == 0

    assert not index.index_file().exists()
