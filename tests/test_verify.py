"""`checklist sign` and `checklist verify`: what a file shows of itself, and what it cannot prove."""

import io
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from checklist.cli import main
from checklist.commands.verify import NOT_PROVED, verdict
from checklist.session import closing, store
from checklist.session.events import Outcome, Result
from checklist.session.opening import Preparation, begin
from tests.desk import Desk, desk
from tests.test_seal import amend, finished, signed

__all__ = ["desk", "finished", "signed"]

CLOSES = "Signing closes the session: from then on it takes only amendments and who was told."


def verified(capsys: pytest.CaptureFixture[str], *named: Path | str) -> tuple[int, list[str]]:
    """What the command returns, and its lines without the name of the file and without the last one."""
    capsys.readouterr()
    code = main(["verify", *map(str, named)])
    *lines, last = capsys.readouterr().out.splitlines()
    assert last == NOT_PROVED
    return code, [line.partition(".toml: ")[2] or line for line in lines]


def changed(path: Path, old: bytes, new: bytes) -> Path:
    data = path.read_bytes()
    assert old in data
    path.write_bytes(data.replace(old, new))
    return path


def test_what_is_unfinished_or_unsigned_is_not_wrong(
    desk: Desk, finished: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    recorder = begin(desk.loaded(), Preparation(participant="P-015", examiner="E-2"), desk.time.clocks)
    recorder.leave()

    assert verified(capsys, finished, recorder.path) == (
        0,
        ["whole; finished; not signed", "whole; not finished; not signed"],
    )
    amend(desk, finished)
    assert verified(capsys, finished) == (0, ["whole; finished; not signed; 1 amendment after the end"])


def test_a_signed_session_says_by_whom_and_what_was_added_since(
    desk: Desk, signed: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    by = "whole; finished; signed by AB 2026-03-02 14:00, unchanged since"
    assert verified(capsys, signed) == (0, [f"{by}; no amendments after the last signature"])
    amend(desk, signed)
    amend(desk, signed)
    assert verified(capsys, signed.stem) == (0, [f"{by}; 2 amendments after the last signature"])


def test_a_change_is_said_and_is_an_exit_code(signed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, (line,) = verified(capsys, changed(signed, b'participant = "P-014"', b'participant = "P-015"'))

    assert code == 1
    assert line.startswith("whole; finished; signed by AB 2026-03-02 14:00, CHANGED since; ")


def test_an_editor_that_turns_line_ends_round_has_changed_the_file(
    signed: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, (line,) = verified(capsys, changed(signed, b"\n", b"\r\n"))

    assert code == 1
    assert "CHANGED since: only the line ends differ (an editor may have turned them)" in line
    _, (line,) = verified(capsys, changed(signed, b'participant = "P-014"', b'participant = "P-015"'))
    assert "CHANGED since" in line
    assert "line ends" not in line


@pytest.mark.parametrize(("end", "said"), [(b"\n", "1 byte"), (b" \n\n", "3 bytes")])
def test_white_space_after_the_last_event_is_no_torn_event(
    signed: Path, capsys: pytest.CaptureFixture[str], end: bytes, said: str
) -> None:
    signed.write_bytes(signed.read_bytes() + end)
    code, (line,) = verified(capsys, signed)

    assert code == 0
    assert line.startswith(f"whole; {said} after the last event; finished; signed by AB ")
    assert "unchanged since" in line


def test_documents_of_a_file_that_was_changed_since_it_was_signed_say_so_once(
    signed: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    commands = (["note"], ["handoff"], ["timeline"], ["debrief"], ["export", "--as", "html"])
    for command in commands:
        assert main([*command, str(signed)]) == 0
        assert capsys.readouterr().err == ""
    changed(signed, b'participant = "P-014"', b'participant = "P-015"')
    for command in commands:
        assert main([*command, str(signed)]) == 0
        assert capsys.readouterr().err == (
            "checklist: the file was changed since AB signed it; 'checklist verify' says more\n"
        )


def test_a_signature_written_otherwise_is_a_change(signed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """It counts as a signature for the session, and cannot be checked."""
    code, (line,) = verified(capsys, changed(signed, b'kind = "signed"', b"kind = 'signed'"))

    assert code == 1
    assert "1 signed, CHANGED: the signatures are not as they were written" in line


def test_a_signature_made_an_unknown_event_is_no_quiet_way_out(
    signed: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, (line,) = verified(capsys, changed(signed, b'kind = "signed"', b'kind = "sighed"'))

    assert code == 1
    assert "1 EVENT OF A KIND THAT THIS VERSION CANNOT JUDGE" in line


def test_a_torn_end_is_said(signed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    signed.write_bytes(signed.read_bytes() + b"\n[[event]]\nn = 6\n")
    code, (line,) = verified(capsys, signed)

    assert code == 1
    assert line.startswith("TORN: the last 17 bytes are no whole event; finished; signed by AB ")
    assert "unchanged since" in line


def test_what_cannot_be_read_still_says_what_its_signature_shows(
    signed: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, (line,) = verified(capsys, changed(signed, b"n = 2\n", b"n = 7\n"))

    assert code == 1
    assert line == "NOT READABLE (event 2: numbered 7); signed by AB, CHANGED since"


def test_each_session_has_its_line_whatever_the_others_are(
    signed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "other.toml").write_text("a = 1\n", encoding="utf-8")
    code, lines = verified(capsys, "1999", tmp_path / "other.toml", signed)

    assert code == 1
    assert lines[0] == "no session is called '1999'"
    assert lines[1] == "NOT READABLE (not a session file, or its first part is damaged)"
    assert lines[2].startswith("whole; finished; signed by AB ")


@given(data=st.data())
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_no_byte_up_to_the_last_signature_can_change_unseen(
    signed: Path, tmp_path: Path, data: st.DataObject
) -> None:
    whole = signed.read_bytes()
    place = data.draw(st.integers(0, len(whole) - 1))
    byte = bytes([data.draw(st.integers(0, 255))])
    kept = data.draw(st.sampled_from([whole[place:], whole[place + 1 :]]))
    copy = tmp_path / "copy.toml"
    copy.write_bytes(whole[:place] + data.draw(st.sampled_from([b"", byte])) + kept)

    changed = copy.read_bytes()
    if changed.rstrip() != whole.rstrip():
        assert not verdict(copy).is_sound
    elif changed.startswith(whole):
        # White space more after the last event changes nothing that was signed.
        assert verdict(copy).is_sound


# Signing from the command line


def said(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """What a refused `sign` says last."""
    capsys.readouterr()
    assert main(["sign", *arguments]) == 1
    return capsys.readouterr().err.splitlines()[-1].removeprefix("checklist: ")


def test_sign_asks_once_more_and_anything_but_yes_is_no(
    finished: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    before = finished.read_bytes()
    for answer in ("", "\n", "no\n"):
        monkeypatch.setattr("sys.stdin", io.StringIO(answer))
        assert said(capsys, "--initials", "AB").endswith(f"{finished.name}: not signed")
        assert finished.read_bytes() == before
    monkeypatch.setattr("sys.stdin", io.StringIO("yes\n"))

    assert main(["sign", "--initials", "AB"]) == 0
    out, err = capsys.readouterr()
    assert out.startswith(f"{finished.name}: signed by AB, ")
    assert err == f"{CLOSES}\nSign {finished.name} as AB? Type yes: "
    assert [each.who for each in store.load(finished).session.state.signed] == ["AB"]


def test_what_is_not_told_yet_is_named_before(desk: Desk, capsys: pytest.CaptureFixture[str]) -> None:
    recorder = begin(desk.loaded(), Preparation(participant="P-014", examiner="E-2"), desk.time.clocks)
    recorder.record("look", Result(entries=("left",), outcome=Outcome.DIFFERS, findings=("wound",)))
    recorder.finish()
    recorder.leave()

    assert main(["sign", recorder.path.stem, "--initials", "AB", "--yes"]) == 0
    assert capsys.readouterr().err.splitlines() == [
        "Not yet told: Open wound – Look at the skin (left)",
        "1 not yet told; that can still be recorded after signing.",
        CLOSES,
    ]


def test_who_was_told_after_signing_counts_as_added_and_leaves_the_signature_whole(
    desk: Desk, capsys: pytest.CaptureFixture[str]
) -> None:
    recorder = begin(desk.loaded(), Preparation(participant="P-014", examiner="E-2"), desk.time.clocks)
    recorder.record("look", Result(entries=("left",), outcome=Outcome.DIFFERS, findings=("wound",)))
    recorder.finish()
    recorder.sign("AB")
    recorder.tell("look", ("left",), "wound", "N-12")
    recorder.leave()

    code, (line,) = verified(capsys, recorder.path)
    assert code == 0
    assert line.endswith("unchanged since; no amendments and 1 telling after the last signature")
    assert main(["note", str(recorder.path)]) == 0
    assert "Told N-12, 14:00." in " ".join(capsys.readouterr().out.split())


def test_who_signs_is_no_person_by_name_and_a_session_is_finished(
    desk: Desk, finished: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    recorder = begin(desk.loaded(), Preparation(participant="P-015", examiner="E-2"), desk.time.clocks)
    recorder.leave()
    before = finished.read_bytes()

    assert said(capsys, str(finished), "--initials", "Mary Smith", "--yes").startswith(
        "'Mary Smith' looks like a name"
    )
    assert said(capsys, str(finished), "--initials", "Mary", "--yes").startswith("'Mary' looks like a name")
    assert said(capsys, str(finished), "--initials", " ", "--yes").endswith("initials or a code are needed")
    assert said(capsys, str(recorder.path), "--initials", "AB", "--yes").endswith(
        "the session is left unfinished: only a finished one is signed"
    )
    assert finished.read_bytes() == before


def test_without_a_finished_session_there_is_nothing_to_sign(
    desk: Desk, capsys: pytest.CaptureFixture[str]
) -> None:
    assert not (desk.folder / "sessions").exists()
    assert said(capsys, "--initials", "AB") == "there is no finished session; 'checklist' begins one"


def test_every_document_says_who_signed_and_whether_it_was_amended_since(
    desk: Desk, finished: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    def shown(command: str) -> str:
        assert main([command, str(finished)]) == 0
        return " ".join(capsys.readouterr().out.split())

    assert "Signed by" not in shown("note") + shown("timeline")
    closing.sign(finished, "AB", desk.time.clocks)
    for command in ("note", "timeline"):
        assert "Signed by AB, 2026-03-02 14:00." in shown(command)
    amend(desk, finished)
    for command in ("note", "timeline"):
        assert "Signed by AB, 2026-03-02 14:00; amended since then." in shown(command)
