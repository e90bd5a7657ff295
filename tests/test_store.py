"""Sessions on disk: found by name, listed cheaply, read whole or refused with one clear line."""

import os
import re
import shutil
import subprocess
import sys
import tempfile
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest

from checklist.session import store
from checklist.session.codec import encode_event, encode_header
from checklist.session.events import (
    Amended,
    Event,
    Finished,
    Moved,
    Recorded,
    Remarked,
    Retracted,
    Started,
    Told,
)
from checklist.session.state import Stage
from checklist.session.store import SessionError, Summary
from tests.helpers import BEGIN, Script, a_whole_examination, header, protocol, protocol_table, result, script

FIRST = "20260302-142233-hand-4f2a"
SECOND = "20260302-142233-knee-77aa"
THIRD = "20261125-090000-hand-0001"


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The data folder of every test is its own."""
    monkeypatch.setenv("EXAM_CHECKLIST_HOME", str(tmp_path))
    sessions = tmp_path / "sessions"
    sessions.mkdir()
    return sessions


def save(folder: Path, name: str, events: list[Event], torn: bytes = b"", **changes: object) -> Path:
    path = folder / f"{name}.toml"
    text = encode_header(header(id=name, **changes), protocol_table()) + "".join(map(encode_event, events))
    path.write_bytes(text.encode() + torn)
    return path


def refusal(path: Path) -> str:
    """What is said of a file that is refused, after its name."""
    with pytest.raises(SessionError) as caught:
        store.load(path)
    where, _, what = str(caught.value).partition(": ")
    assert where == str(path)
    assert caught.value.what == what
    assert "\n" not in what
    return what


def test_sessions_live_under_the_folder_that_the_environment_names(tmp_path: Path) -> None:
    assert store.sessions_folder() == tmp_path / "sessions"


def test_an_id_tells_time_and_protocol_and_differs_from_the_next() -> None:
    made = {store.new_id("head-and-neck", datetime(2026, 11, 25, 14, 22, 33, tzinfo=UTC)) for _ in range(50)}

    assert len(made) > 40
    assert all(re.fullmatch(r"20261125-142233-head-and-neck-[0-9a-f]{4}", each) for each in made)


# Reading


def test_a_session_is_read_with_its_events_folded(folder: Path) -> None:
    events = a_whole_examination()
    loaded = store.load(save(folder, FIRST, events))

    assert loaded.session.header == header(id=FIRST)
    assert loaded.session.protocol == protocol()
    assert loaded.session.table == protocol_table()
    assert list(loaded.session.events) == events
    assert loaded.session.state.stage is Stage.FINISHED
    assert loaded.session.state.clock == 55.0
    assert (loaded.path, loaded.torn_bytes) == (folder / f"{FIRST}.toml", 0)


def test_a_torn_end_is_passed_over_and_reported_and_stays(folder: Path) -> None:
    """The bytes are half a character of a half-written event."""
    torn = b'\n[[event]]\nn = 15\ntext = "\xf0\x9f'
    path = save(folder, FIRST, a_whole_examination(), torn)
    before = path.read_bytes()
    loaded = store.load(path)

    assert len(loaded.session.events) == 14
    assert loaded.torn_bytes == len(torn)
    assert path.read_bytes() == before


def test_what_is_no_file_is_named(folder: Path) -> None:
    assert refusal(folder / "none.toml") == "no such session file"
    assert refusal(folder) == "a folder, not a session file"
    assert refusal(folder / ("x" * 300)) == "cannot be read: File name too long"
    os.mkfifo(folder / "pipe.toml")
    assert refusal(folder / "pipe.toml") == "no such session file"


NO_SESSION = "not a session file, or its first part is damaged"


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", NO_SESSION),
        (b'format = 1\nid = "hand"\ntitle = "Hand"\n', NO_SESSION),
        (b"\x89PNG\r\n\x1a\n", "not UTF-8 in line 1"),
        (b"format = 1\n# \xff\n# end of header\n", "not UTF-8 in line 2"),
        (b"format = 2\nsomething = 'new'\n", "session format 2; this version reads format 1"),
        (b"format = 2\n[protocol]\n# end of header\n", "session format 2; this version reads format 1"),
        (b"=\n# end of header\n", "not valid TOML: Invalid statement (at line 1, column 1)"),
    ],
)
def test_what_is_no_session_is_named(folder: Path, content: bytes, message: str) -> None:
    path = folder / "one.toml"
    path.write_bytes(content)
    assert refusal(path) == message


def test_a_file_too_large_to_be_a_session_is_not_read(folder: Path) -> None:
    path = folder / "one.toml"
    with path.open("wb") as file:
        file.truncate(50_000_001)
    assert refusal(path) == "larger than 50 MB, so not a session file"


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('step = "wash"', 'step = "wish"', "event 1: the protocol has no step 'wish'"),
        ('kind = "started"', 'kind = "paused"', "event 1: cannot be 'paused' while the session is not st"),
        ("clock = 15.0", "clock = 0.0", "event 4: its clock 0.0 is before the 10.0 of the event before it"),
        ("n = 2", "n = 3", "event 2: numbered 3"),
        ('technique = "hygiene"', 'technique = "magic"', "its protocol is damaged: "),
        ('id = "hand"\ntitle', "title", "its protocol is damaged: "),
        (
            'do = "Feel each pulse."',
            'reading = { kind = "gait-speed" }\ndo = "Feel each pulse."',
            "a later version made it: this one does not know the reading 'gait-speed' of its protocol",
        ),
    ],
)
def test_a_file_edited_into_contradiction_is_refused(folder: Path, old: str, new: str, message: str) -> None:
    events = script(
        (Started, {"step": "wash"}), (Moved, {"step": "look"}), (Moved, {"step": "pulse"}), (Finished, {})
    )
    path = save(folder, FIRST, events)
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")

    assert refusal(path).startswith(message)


UNPRIVILEGED = """
import os, sys
from pathlib import Path
from checklist.session.store import SessionError, load
if os.geteuid() == 0:
    os.setuid(65534)
try:
    load(Path(sys.argv[1]))
except SessionError as error:
    print(error)
"""


def test_a_file_that_may_not_be_read_is_named() -> None:
    """Permissions do not bind an administrator, so the attempt is made by a process that is none."""
    folder = Path(tempfile.mkdtemp())
    try:
        folder.chmod(0o755)
        path = save(folder, FIRST, [])
        path.chmod(0)
        printed = subprocess.run(
            [sys.executable, "-c", UNPRIVILEGED, str(path)],
            cwd=Path(__file__).parents[1],
            capture_output=True,
            text=True,
            check=True,
            timeout=60,
        ).stdout
    finally:
        shutil.rmtree(folder)

    assert printed == f"{path}: cannot be read: Permission denied\n"


# Listing


def test_sessions_are_listed_newest_first(folder: Path) -> None:
    zone = timezone(timedelta(hours=1))
    begun = datetime(2026, 11, 25, 9, tzinfo=zone)
    save(folder, FIRST, a_whole_examination())
    two = script((Started, {"step": "wash"}), (Moved, {"step": "look"}))
    save(folder, THIRD, two, b"\n[[ev", created=begun)
    save(folder, SECOND, [], setting="care", participant="P-9")
    (folder / f"{FIRST}.toml.lock").write_text("pid 1")
    (folder / f"{FIRST}.toml.torn-1").write_text("")

    assert store.summaries() == [
        Summary(
            id=THIRD,
            path=folder / f"{THIRD}.toml",
            created=begun,
            protocol="hand",
            title="Hand",
            setting="practice",
            mode="examination",
            participant="P-014",
            examiner="E-2",
            events=2,
            clock=5.0,
        ),
        Summary(
            id=SECOND,
            path=folder / f"{SECOND}.toml",
            created=BEGIN,
            protocol="hand",
            title="Hand",
            setting="care",
            mode="examination",
            participant="P-9",
            examiner="E-2",
        ),
        Summary(
            id=FIRST,
            path=folder / f"{FIRST}.toml",
            created=BEGIN,
            protocol="hand",
            title="Hand",
            setting="practice",
            mode="examination",
            participant="P-014",
            examiner="E-2",
            events=14,
            clock=55.0,
            is_finished=True,
        ),
    ]


def _ended(n_told: int, finished: bool) -> list[Event]:
    wound: dict[str, Any] = {"step": "look", "entries": ("left",), "findings": ("wound",)}
    made = Script()
    made.add(Started, step="wash")
    if finished:
        made.add(Finished)
    else:
        made.add(Moved, step="look")
    for _ in range(n_told):
        made.add(Told, **wound, whom="x" * 200, when="10:00")
    return made.events


@pytest.mark.parametrize("finished", [True, False])
@pytest.mark.parametrize("n_told", [0, 1, 300])
def test_the_end_is_found_behind_any_number_of_tellings(folder: Path, n_told: int, finished: bool) -> None:
    save(folder, FIRST, _ended(n_told, finished))
    (found,) = store.summaries()
    assert (found.is_finished, found.events, found.problem) == (finished, 2 + n_told, "")


def test_the_end_is_found_behind_tellings_that_were_taken_back(folder: Path) -> None:
    events = _ended(300, finished=True)
    retracted = Retracted(n=len(events) + 1, at=events[-1].at, clock=events[-1].clock, event=len(events))
    save(folder, FIRST, [*events, retracted])
    (found,) = store.summaries()
    assert (found.is_finished, found.events, found.problem) == (True, 303, "")


def test_a_long_amendment_is_an_end_too(folder: Path) -> None:
    results = {"step": "look", "results": (result("left", detail="y" * 20_000),), "who": "E-2", "why": "late"}
    save(folder, FIRST, script((Started, {"step": "wash"}), (Finished, {}), (Amended, results)))
    (found,) = store.summaries()
    assert (found.is_finished, found.events, found.problem) == (True, 3, "")


def test_words_of_the_examiner_cannot_pass_for_an_end(folder: Path) -> None:
    text = '\nkind = "finished"\n# end of event 9\n'
    save(folder, FIRST, script((Started, {"step": "wash"}), (Remarked, {"step": "wash", "text": text})))
    (found,) = store.summaries()
    assert (found.is_finished, found.events) == (False, 2)


def test_broken_files_are_listed_with_what_is_wrong_and_hide_no_other(folder: Path) -> None:
    save(folder, FIRST, [])
    changed = datetime(2026, 5, 4, 3, 2, 1, tzinfo=UTC)
    for name, content in {
        "a": b"",
        "b": b"format = 2\n",
        "c": b"\xff\xfe",
        "d": encode_header(header(), protocol_table()).replace('title = "Hand"\n', "", 1).encode(),
        "e": encode_header(header(), protocol_table()).replace('"P-014"', "14").encode(),
        "f": encode_header(header(), protocol_table()).replace('title = "Hand"', "title = Hand", 1).encode(),
    }.items():
        (folder / f"{name}.toml").write_bytes(content)
        os.utime(folder / f"{name}.toml", (changed.timestamp(), changed.timestamp()))
    (folder / "g.toml").mkdir()
    (folder / "h.toml").symlink_to("nowhere")
    found = store.summaries()

    assert [(each.id, each.problem[:42]) for each in found] == [
        (FIRST, ""),
        ("h", "no such session file"),
        ("g", "a folder, not a session file"),
        ("f", "not valid TOML: Invalid value (at line 1, "),
        ("e", "header: 'participant' is 14, which is not "),
        ("d", "its protocol has no title"),
        ("c", NO_SESSION[:42]),
        ("b", "session format 2; this version reads forma"),
        ("a", NO_SESSION[:42]),
    ]
    assert all(each.created == changed for each in found[3:])


def test_names_and_titles_from_outside_are_safe_to_show(folder: Path) -> None:
    text = encode_header(header(), protocol_table()).replace('title = "Hand"', 'title = "H\\u001b[2Jand"', 1)
    (folder / "a\x1b]0;b.toml").write_text(text, encoding="utf-8")
    (found,) = store.summaries()
    assert (found.id, found.title) == ("a\ufffd]0;b", "H\ufffd[2Jand")


def test_a_list_reads_little_of_a_long_session(folder: Path) -> None:
    """What is put in the middle of a megabyte would pass for an end, and the list does not see it."""
    look = {"step": "look", "results": (result("left", detail="z" * 1000),)}
    path = save(folder, FIRST, script((Started, {"step": "wash"}), *[(Recorded, look)] * 1000))
    data = bytearray(path.read_bytes())
    false = b'\nkind = "finished"\n'
    data[100_000:900_000] = false * (800_000 // len(false))
    path.write_bytes(data)
    (found,) = store.summaries()
    assert (found.events, found.clock, found.is_finished, found.problem) == (1001, 5000.0, False, "")


def test_no_folder_is_no_sessions(folder: Path) -> None:
    folder.rmdir()
    assert store.summaries() == []
    with pytest.raises(SessionError, match="sessions: there is no session yet"):
        store.find()


def test_a_folder_that_cannot_be_listed_is_named(folder: Path) -> None:
    shutil.rmtree(folder)
    folder.write_text("")
    for look in (store.summaries, store.find):
        with pytest.raises(SessionError, match="sessions: cannot be read: Not a directory"):
            look()


# Finding


def test_a_session_is_found_by_name_beginning_path_and_as_the_latest(folder: Path, tmp_path: Path) -> None:
    for name in (FIRST, SECOND, THIRD):
        save(folder, name, [])
    elsewhere = tmp_path / "copy.toml"
    elsewhere.write_text("")
    first, second, third = (folder / f"{name}.toml" for name in (FIRST, SECOND, THIRD))

    assert store.find() == third
    assert store.find(THIRD) == third
    assert store.find("20260302-142233-k") == second
    assert store.find("202611") == third
    assert store.find(str(first)) == first
    assert store.find(str(elsewhere)) == elsewhere


def test_a_name_that_begins_another_is_found_whole(folder: Path) -> None:
    path, _ = save(folder, "note", []), save(folder, "note-2", [])
    assert store.find("note") == path


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "20260302",
            f"'20260302' begins the names of 2 sessions; type more of one: {SECOND}, {FIRST}",
        ),
        (
            "2026",
            f"'2026' begins the names of 4 sessions; type more of one: {THIRD}, 20260401-000000-hand-0002, "
            f"{SECOND}, …",
        ),
        ("20260302-hans-4f2a", f"no session is called '20260302-hans-4f2a' (did you mean '{FIRST}'?)"),
        ("xyz", "no session is called 'xyz'"),
        ("", "no session is called ''"),
        ("a\x1b[2J", "no session is called 'a\ufffd[2J'"),
        ("../secret", "../secret: no such session file"),
        ("*", "no session is called '*'"),
        ("a\0.toml", "a\ufffd.toml: no such session file"),
    ],
)
def test_a_name_that_fits_none_or_several_says_what_would_fit(folder: Path, text: str, message: str) -> None:
    for name in (FIRST, SECOND, THIRD, "20260401-000000-hand-0002"):
        save(folder, name, [])
    (folder / "secret").write_text("")
    with pytest.raises(SessionError) as caught:
        store.find(text)
    assert str(caught.value) == message
