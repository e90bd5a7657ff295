"""The derived index of the session files: quick, never the record, and back by itself."""

import os
import stat
from collections.abc import Mapping
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from checklist.session import store
from checklist.session.codec import encode_event, encode_header
from checklist.session.events import Event
from checklist.session.index import forget, index_file, read
from checklist.session.session import Session
from tests.helpers import BEGIN, PROTOCOL, a_whole_examination, header, protocol_table

EVENTS = a_whole_examination()
NAMES = ["a b", "a,b", "ä", *([] if os.name == "nt" else ['a"b', "a\tb", "a\nb", "a\\nb"])]
"""Names of files, odd ones where the system takes them."""


class Counter:
    """Measures sessions, and knows which."""

    def __init__(self) -> None:
        self.measured: list[str] = []

    def __call__(self, session: Session) -> Mapping[str, Any]:
        self.measured.append(session.header.id)
        return {"id": session.header.id, "events": len(session.events), "title": session.protocol.title}


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("EXAM_CHECKLIST_HOME", str(tmp_path))
    (tmp_path / "sessions").mkdir()
    return tmp_path / "sessions"


def put(
    folder: Path, number: int, events: list[Event] = EVENTS, text: str = PROTOCOL, **changes: Any
) -> Path:
    """Write session number so and so, and return its file."""
    name = f"20260302-1422{number:02}-hand-{number:04x}"
    own = header(id=name, created=BEGIN + timedelta(days=number), **changes)
    head = encode_header(own, protocol_table(text))
    path = folder / f"{name}.toml"
    path.write_text(head + "".join(map(encode_event, events)), encoding="utf-8")
    return path


def ask(version: str = "1") -> tuple[list[str], list[str], tuple[str, ...]]:
    """Return what was newly measured, all ids in the answer, and what was unreadable."""
    counter = Counter()
    found = read(counter, version)
    return counter.measured, [value["id"] for value in found.values], found.unreadable


class TestReading:
    def test_a_file_is_read_once(self, folder: Path) -> None:
        names = [put(folder, number).stem for number in (1, 2)]
        assert ask() == (names, names, ())
        assert ask() == ([], names, ())

    def test_a_new_file_is_read_alone(self, folder: Path) -> None:
        first = put(folder, 1).stem
        ask()
        second = put(folder, 2).stem
        assert ask() == ([second], [first, second], ())

    def test_a_session_that_grew_is_read_again(self, folder: Path) -> None:
        path = put(folder, 1, EVENTS[:3])
        assert read(Counter(), "1").values[0]["events"] == 3
        put(folder, 1)
        assert read(Counter(), "1").values[0]["events"] == len(EVENTS)
        assert ask() == ([], [path.stem], ())

    def test_a_change_that_keeps_the_size_is_seen_by_its_time(self, folder: Path) -> None:
        path = put(folder, 1)
        ask()
        status = path.stat()
        path.write_bytes(path.read_bytes().replace(b'title = "Hand"', b'title = "Foot"', 1))
        os.utime(path, ns=(status.st_atime_ns, status.st_mtime_ns + 1))
        assert path.stat().st_size == status.st_size
        assert read(Counter(), "1").values[0]["title"] == "Foot"

    def test_a_file_that_is_gone_is_gone_from_the_index_too(self, folder: Path) -> None:
        path, other = put(folder, 1), put(folder, 2)
        ask()
        path.unlink()
        assert ask() == ([], [other.stem], ())
        assert path.stem not in index_file().read_text(encoding="utf-8")

    def test_without_sessions_there_is_nothing(self, folder: Path) -> None:
        assert ask() == ([], [], ())
        folder.rmdir()
        assert ask() == ([], [], ())
        assert not index_file().exists()

    def test_what_is_no_session_is_named_and_not_read_again(self, folder: Path) -> None:
        (folder / "notes.toml").write_text("no session", encoding="utf-8")
        (folder / "later.toml").write_text(put(folder, 1).read_text().replace("format = 1", "format = 9", 1))
        (folder / "folder.toml").mkdir()
        for _ in range(2):
            assert ask()[2] == ("folder.toml", "later.toml", "notes.toml")

    def test_a_torn_end_is_passed_over(self, folder: Path) -> None:
        path = put(folder, 1)
        path.write_bytes(path.read_bytes()[:-10])
        assert read(Counter(), "1").values[0]["events"] == len(EVENTS) - 1

    def test_who_asks_is_told_how_many_files_have_to_be_read(self, folder: Path) -> None:
        for number in (1, 2):
            put(folder, number)
        told: list[int] = []
        read(Counter(), "1", told.append)
        read(Counter(), "1", told.append)
        assert told == [2]

    def test_what_was_read_before_it_was_stopped_need_not_be_read_again(self, folder: Path) -> None:
        first, second = (put(folder, number).stem for number in (1, 2))

        def stopped(session: Session) -> Mapping[str, Any]:
            if session.header.id == second:
                raise KeyboardInterrupt
            return {"id": session.header.id}

        with pytest.raises(KeyboardInterrupt):
            read(stopped, "1")
        assert ask() == ([second], [first, second], ())


class TestEntries:
    """Whose each session is, is known without reading what was measured of it."""

    def test_an_entry_says_whose_session_of_what_it_is(self, folder: Path) -> None:
        put(folder, 1, examiner="E-7", fictional=True)
        for _ in range(2):
            [entry] = read(Counter(), "1").entries
            assert entry.id == "20260302-142201-hand-0001"
            assert entry.created == BEGIN + timedelta(days=1)
            assert (entry.protocol, entry.examiner, entry.is_fictional) == ("hand", "E-7", True)
            assert entry.value["events"] == len(EVENTS)

    @pytest.mark.parametrize("code", ["", "Ä-1", 'a "b"', "a, b", "\\t", "日"])
    def test_a_code_comes_back_as_it_is(self, folder: Path, code: str) -> None:
        put(folder, 1, examiner=code)
        assert [read(Counter(), "1").entries[0].examiner for _ in range(2)] == [code, code]

    @pytest.mark.parametrize("name", NAMES)
    def test_a_file_of_any_name_is_read_once(self, folder: Path, name: str) -> None:
        put(folder, 1).rename(folder / f"{name}.toml")
        put(folder, 2)
        assert len(ask()[0]) == 2
        assert ask()[0] == []

    def test_what_was_measured_comes_back_with_its_tabs_and_line_ends(self, folder: Path) -> None:
        put(folder, 1)
        value = {"text": "a\tb\nc\u2028d", "list": [1, 2.5, None, True]}
        for _ in range(2):
            assert read(lambda _: value, "1").values == (value,)


class TestSameAnswer:
    """A protocol that was read with one file is not read with the next; nothing else may follow from that."""

    def test_many_sessions_are_what_the_store_reads_of_each(self, folder: Path) -> None:
        other = PROTOCOL.replace('title = "Hand"', 'title = "Other hand"')
        paths = [put(folder, n, EVENTS[: n + 2], PROTOCOL if n % 2 else other) for n in range(8)]
        found: list[Session] = []

        def keep(session: Session) -> Mapping[str, Any]:
            found.append(session)
            return {}

        read(keep, "1")
        assert found == [store.load(path).session for path in paths]

    @pytest.mark.parametrize(
        ("old", "new"),
        [('step = "wash"', 'step = "gone"'), ("n = 2", "n = 7"), ('kind = "started"', "kind = 3")],
    )
    def test_a_damaged_one_after_a_good_one_is_unreadable(self, folder: Path, old: str, new: str) -> None:
        good, bad = put(folder, 1), put(folder, 2)
        bad.write_text(bad.read_text(encoding="utf-8").replace(old, new), encoding="utf-8")
        assert ask() == ([good.stem], [good.stem], (bad.name,))


class TestNeverTheRecord:
    def test_it_can_be_deleted_and_comes_back(self, folder: Path) -> None:
        names = [put(folder, number).stem for number in (1, 2)]
        ask()
        forget()
        assert not index_file().exists()
        assert ask() == (names, names, ())
        assert index_file().exists()
        forget()
        forget()

    def test_cut_at_any_place_it_gives_the_same_answer(self, folder: Path) -> None:
        names = [put(folder, number).stem for number in (1, 2)]
        ask()
        whole = index_file().read_bytes()
        for length in range(0, len(whole), 7):
            index_file().write_bytes(whole[:length])
            assert ask()[1] == names

    def test_with_any_byte_changed_it_gives_the_same_answer(self, folder: Path) -> None:
        names = [put(folder, number).stem for number in (1, 2)]
        ask()
        whole = index_file().read_bytes()
        for place in range(0, len(whole), 5):
            index_file().write_bytes(whole[:place] + bytes([whole[place] ^ 1]) + whole[place + 1 :])
            assert ask()[1] == names

    def test_of_another_version_it_is_made_anew(self, folder: Path) -> None:
        name = put(folder, 1).stem
        ask("1")
        assert ask("2") == ([name], [name], ())

    def test_where_it_cannot_be_written_the_answer_is_the_same(self, folder: Path) -> None:
        name = put(folder, 1).stem
        (folder.parent / "cache").write_text("a file where the folder should be", encoding="utf-8")
        assert ask() == ([name], [name], ())
        assert ask() == ([name], [name], ())

    def test_a_folder_in_its_place_is_no_obstacle(self, folder: Path) -> None:
        name = put(folder, 1).stem
        index_file().mkdir(parents=True)
        assert ask() == ([name], [name], ())
        assert [path.name for path in index_file().parent.iterdir()] == [index_file().name]

    def test_it_is_for_its_owner_alone(self, folder: Path) -> None:
        put(folder, 1)
        ask()
        assert stat.S_IMODE(index_file().stat().st_mode) == 0o600
        assert stat.S_IMODE(index_file().parent.stat().st_mode) == 0o700
