"""The file of a session under way: nothing confirmed is lost, whatever happens to program, disk or file."""

import contextlib
import errno
import fcntl
import json
import os
import random
import shutil
import signal
import stat
import subprocess
import sys
import tempfile
import threading
import time
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from checklist.session import durability, journal
from checklist.session.codec import decode, encode_event, encode_header, whole_length
from checklist.session.events import Event, Moved, Remarked, Started
from checklist.session.journal import Journal, JournalError
from checklist.session.lock import LockHeldError, acquire
from tests.helpers import a_whole_examination, header, protocol_table, script

ROOT = Path(__file__).parents[1]
EVENTS = script(
    (Started, {"step": "wash"}), (Moved, {"step": "look"}), (Remarked, {"step": "look", "text": "½ 🩺"})
)
SMALL = {"title": "Hand"}
"""A protocol table is only carried along here."""


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "sessions" / "one.toml"


@pytest.fixture
def opened(path: Path) -> Iterator[Journal]:
    made = Journal.create(path, header(), protocol_table())
    yield made
    with contextlib.suppress(JournalError):  # Of a disk that failed in the test.
        made.close()


def events_in(path: Path) -> list[Event]:
    """What a reader finds in the file, all of which must be whole."""
    data = path.read_bytes()
    assert whole_length(data) == len(data)
    return list(decode(data.decode())[2])


def lock_of(path: Path) -> Path:
    return path.with_name(path.name + ".lock")


def run_python(script: str, *arguments: object) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", script, *map(str, arguments)]
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=60, check=True)


def test_a_new_file_holds_the_header_and_the_protocol_and_is_private(path: Path, opened: Journal) -> None:
    found_header, table, events = decode(path.read_text(encoding="utf-8"))

    assert (found_header, table, events) == (header(), protocol_table(), ())
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert stat.S_IMODE(path.parent.stat().st_mode) == 0o700
    assert stat.S_IMODE(lock_of(path).stat().st_mode) == 0o600


def test_events_are_in_the_file_when_write_returns(path: Path, opened: Journal) -> None:
    opened.write(EVENTS[:1])
    assert events_in(path) == EVENTS[:1]

    opened.write(EVENTS[1:])
    assert events_in(path) == EVENTS


def test_all_events_of_one_act_go_out_in_one_write(
    path: Path, opened: Journal, monkeypatch: pytest.MonkeyPatch
) -> None:
    written = []
    real = os.write

    def write(fd: int, data: bytes) -> int:
        written.append(data)
        return real(fd, data)

    monkeypatch.setattr(os, "write", write)
    opened.write(EVENTS)

    assert written == ["".join(map(encode_event, EVENTS)).encode()]


def test_a_file_that_is_there_is_never_written_over(path: Path) -> None:
    path.parent.mkdir()
    path.write_text("mine")

    with pytest.raises(JournalError, match=r"one\.toml: cannot be created: File exists; move away what"):
        Journal.create(path, header(), protocol_table())

    assert path.read_text() == "mine"
    assert not lock_of(path).exists()


def test_a_reopened_file_goes_on_where_it_ended(path: Path) -> None:
    first = Journal.create(path, header(), protocol_table())
    first.write(EVENTS[:2])
    first.close()
    reopened = Journal.reopen(path)
    reopened.journal.write(EVENTS[2:])
    reopened.journal.close()

    assert events_in(path) == EVENTS
    assert reopened.cut is None
    assert reopened.clock == 5.0


def test_a_file_cut_at_any_byte_loses_no_whole_event_and_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The cut bytes are kept beside the file, and nothing is invented from them."""
    # Hundreds of files would wait for the disk several times each, which is not what is tested here.
    monkeypatch.setattr(os, "fsync", lambda _: None)
    head = encode_header(header(), SMALL).encode()
    blocks = [encode_event(event).encode() for event in EVENTS]
    data = head + b"".join(blocks)
    ends = [len(head) + sum(map(len, blocks[:n])) for n in range(len(blocks) + 1)]
    for cut in range(len(head), len(data) + 1):
        path = tmp_path / f"{cut}.toml"
        path.write_bytes(data[:cut])
        whole = max(n for n, end in enumerate(ends) if end <= cut)

        reopened = Journal.reopen(path)
        kept = reopened.cut.read_bytes() if reopened.cut else b""
        next_event = script(*[(Moved, {"step": "look"})] * (whole + 1))[-1]
        reopened.journal.write([next_event])
        reopened.journal.close()

        assert events_in(path) == [*EVENTS[:whole], next_event]
        assert kept == data[ends[whole] : cut]
        assert len(tomllib.loads(path.read_text(encoding="utf-8"))["event"]) == whole + 1


def test_a_file_cut_inside_its_header_is_refused_and_left_as_it_is(tmp_path: Path) -> None:
    head = encode_header(header(), SMALL).encode()
    path = tmp_path / "one.toml"
    for cut in range(len(head)):
        path.write_bytes(head[:cut])
        with pytest.raises(JournalError, match=r"one\.toml: not a session file; it was left as it is"):
            Journal.reopen(path)
        assert path.read_bytes() == head[:cut]
    assert list(tmp_path.iterdir()) == [path]


def test_each_torn_end_is_kept_under_a_name_of_its_own(path: Path) -> None:
    Journal.create(path, header(), SMALL).close()
    kept = []
    for torn in (b"\n[[event]]\nn = 1", b"\n[[ev\xff\x00"):
        with path.open("ab") as file:
            file.write(torn)
        reopened = Journal.reopen(path)
        reopened.journal.close()
        assert reopened.cut is not None
        kept.append((reopened.cut.name, reopened.cut.read_bytes(), stat.S_IMODE(reopened.cut.stat().st_mode)))

    assert kept == [
        ("one.toml.torn-1", b"\n[[event]]\nn = 1", 0o600),
        ("one.toml.torn-2", b"\n[[ev\xff\x00", 0o600),
    ]


def test_a_torn_end_that_cannot_be_kept_is_not_cut(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    Journal.create(path, header(), SMALL).close()
    with path.open("ab") as file:
        file.write(b"\n[[event]]")
    before = path.read_bytes()
    monkeypatch.setattr(os, "write", failing(errno.ENOSPC))

    with pytest.raises(JournalError, match="No space left on device"):
        Journal.reopen(path)

    assert path.read_bytes() == before
    assert [each.name for each in path.parent.iterdir()] == ["one.toml"]


def test_what_is_no_session_file_is_not_reopened(tmp_path: Path) -> None:
    with pytest.raises(JournalError, match=r"two\.toml: cannot be reopened: No such file .*; put back what"):
        Journal.reopen(tmp_path / "two.toml")
    with pytest.raises(JournalError, match="cannot be reopened"):
        Journal.reopen(tmp_path)
    assert list(tmp_path.iterdir()) == []


# Failing disks


def failing(number: int) -> Callable[..., int]:
    def fail(*_: object) -> int:
        raise OSError(number, os.strerror(number))

    return fail


def writing_at_most(sizes: list[int], then: int) -> Callable[[int, bytes], int]:
    """A disk that takes so many bytes at each write, and then fails with the error `then`."""
    real = os.write
    left = list(sizes)

    def write(fd: int, data: bytes) -> int:
        if not left:
            raise OSError(then, os.strerror(then))
        return real(fd, data[: left.pop(0)])

    return write


def test_a_write_that_the_disk_takes_in_parts_is_finished(
    path: Path, opened: Journal, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "write", writing_at_most([1, 7, 30, 10_000], errno.EIO))
    opened.write(EVENTS)
    assert events_in(path) == EVENTS


@pytest.mark.parametrize(
    ("number", "message"),
    [
        (errno.ENOSPC, "No space left on device; free some space on this disk, then try again"),
        (errno.EDQUOT, "Disk quota exceeded; free some space on this disk, then try again"),
        (errno.EIO, "Input/output error; the disk may be failing: write on paper until it is mended"),
        (
            errno.EROFS,
            "Read-only file system; make it writable for you, or name another folder in EXAM_CHECKLIST_HOME",
        ),
    ],
)
@pytest.mark.parametrize("taken", [[], [1], [40, 50]])
def test_a_failed_write_says_what_to_do_and_leaves_the_file_whole(
    opened: Journal, monkeypatch: pytest.MonkeyPatch, taken: list[int], number: int, message: str
) -> None:
    opened.write(EVENTS[:1])
    before = opened.path.read_bytes()
    monkeypatch.setattr(os, "write", writing_at_most(taken, number))
    with pytest.raises(JournalError) as caught:
        opened.write(EVENTS[1:])
    monkeypatch.undo()

    assert str(caught.value) == f"{opened.path}: cannot be written: {message}"
    assert opened.path.read_bytes() == before
    opened.write(EVENTS[1:])
    assert events_in(opened.path) == EVENTS


def test_a_disk_that_takes_nothing_and_says_nothing_is_a_failing_one(
    opened: Journal, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "write", lambda *_: 0)
    with pytest.raises(JournalError, match="Input/output error"):
        opened.write(EVENTS)


def test_half_an_event_that_cannot_be_taken_back_at_once_is_taken_back_later(
    path: Path, opened: Journal, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened.write(EVENTS[:1])
    monkeypatch.setattr(os, "write", writing_at_most([60], errno.EIO))
    monkeypatch.setattr(os, "ftruncate", failing(errno.EIO))
    for _ in range(2):
        with pytest.raises(JournalError, match="Input/output error"):
            opened.write(EVENTS[1:])
    torn = path.read_bytes()
    monkeypatch.undo()
    opened.write(EVENTS[1:])

    assert whole_length(torn) == len(torn) - 60
    assert events_in(path) == EVENTS


LIMITED = """
import json, resource, sys
from pathlib import Path
from checklist.session.journal import Journal, JournalError
from tests.helpers import a_whole_examination, header, protocol_table
path = Path(sys.argv[1])
journal = Journal.create(path, header(), protocol_table())
limit = path.stat().st_size + 1000
resource.setrlimit(resource.RLIMIT_FSIZE, (limit, resource.RLIM_INFINITY))
events, message = a_whole_examination(), ""
for n, event in enumerate(events):
    try:
        journal.write([event])
    except JournalError as error:
        message = str(error)
        break
size = path.stat().st_size
resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
journal.write(events[n:])
journal.close()
print(json.dumps([n, message, size, limit]))
"""


def test_a_file_that_may_not_grow_refuses_the_event_and_goes_on_when_it_may(path: Path) -> None:
    """The limit is a real one, set by the operating system, and is hit in the middle of an event."""
    done, message, size, limit = json.loads(run_python(LIMITED, path).stdout)

    advice = "raise the limit on the size of files, then try again"
    assert message == f"{path}: cannot be written: File too large; {advice}"
    assert 0 < done < 14 and size < limit
    assert events_in(path) == a_whole_examination()


def test_a_header_that_does_not_fit_leaves_no_file(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # The first write is the lock's own.
    monkeypatch.setattr(os, "write", writing_at_most([100, 500], errno.ENOSPC))
    with pytest.raises(JournalError, match="cannot be created: No space left on device; free some space"):
        Journal.create(path, header(), protocol_table())
    assert list(path.parent.iterdir()) == []


UNPRIVILEGED = """
import os, sys
from pathlib import Path
from checklist.session.journal import Journal, JournalError
from tests.helpers import header, protocol_table
if os.geteuid() == 0:
    os.setuid(65534)
try:
    Journal.create(Path(sys.argv[1]) / "sessions" / "one.toml", header(), protocol_table())
except JournalError as error:
    print(error)
"""


def test_a_folder_that_may_not_be_written_is_named() -> None:
    """Permissions do not bind an administrator, so the attempt is made by a process that is none."""
    folder = Path(tempfile.mkdtemp())
    try:
        folder.chmod(0o555)
        printed = run_python(UNPRIVILEGED, folder).stdout
    finally:
        shutil.rmtree(folder)

    assert printed == (
        f"{folder}/sessions/one.toml: cannot be created: Permission denied ({folder}/sessions); "
        "make it writable for you, or name another folder in EXAM_CHECKLIST_HOME\n"
    )


def test_a_file_where_the_folder_should_be_is_named(tmp_path: Path) -> None:
    (tmp_path / "sessions").write_text("")
    with pytest.raises(JournalError) as caught:
        Journal.create(tmp_path / "sessions" / "one.toml", header(), protocol_table())

    assert str(caught.value) == (
        f"{tmp_path}/sessions/one.toml: cannot be created: File exists ({tmp_path}/sessions); "
        "move away what is there, then try again"
    )


# Somebody else at the file


def test_a_file_moved_away_is_missed_before_anything_is_confirmed(path: Path, opened: Journal) -> None:
    """Brought back, it is written again."""
    opened.write(EVENTS[:1])
    path.rename(path.with_name("away"))
    with pytest.raises(JournalError, match=r"one\.toml: cannot be written: No such file .*; put back what"):
        opened.write(EVENTS[1:])
    path.with_name("away").rename(path)
    opened.write(EVENTS[1:])

    assert events_in(path) == EVENTS


def test_a_file_replaced_by_another_is_noticed(path: Path, opened: Journal) -> None:
    copy = path.with_name("copy")
    copy.write_bytes(path.read_bytes())
    copy.replace(path)
    with pytest.raises(JournalError, match="was replaced by another file; leave, and take"):
        opened.write(EVENTS)
    assert events_in(path) == []


def test_a_file_that_another_program_wrote_to_is_noticed_and_left_alone(path: Path, opened: Journal) -> None:
    opened.write(EVENTS[:1])
    for change in (b"", path.read_bytes() + b"\n"):
        path.write_bytes(change)
        with pytest.raises(JournalError, match="was changed by another program; leave, and take the session"):
            opened.write(EVENTS[1:])
        assert path.read_bytes() == change


def test_what_another_program_wrote_is_left_alone_after_a_failed_write_too(
    opened: Journal, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "write", writing_at_most([60], errno.EIO))
    with pytest.raises(JournalError, match="Input/output error"):
        opened.write(EVENTS)
    monkeypatch.undo()
    changed = opened.path.read_bytes() + b"# mine\n"
    opened.path.write_bytes(changed)
    with pytest.raises(JournalError, match="was changed by another program"):
        opened.write(EVENTS)

    assert opened.path.read_bytes() == changed


LEAVING_NOTHING = """
import sys, threading
from pathlib import Path
from checklist.session.journal import Journal
from tests.helpers import header

def count():
    return len(list(Path("/dev/fd").iterdir())), threading.active_count()

path = Path(sys.argv[1])
before = count()
for _ in range(20):
    Journal.create(path, header(), {}).close()
    Journal.reopen(path).journal.close()
    path.unlink()
print(before == count())
"""


def test_closing_leaves_no_file_and_no_thread(path: Path) -> None:
    """Counted in a program of its own, because other tests open and forget files here."""
    assert run_python(LEAVING_NOTHING, path).stdout == "True\n"


def test_a_closed_journal_writes_nothing_and_may_be_closed_again(path: Path, opened: Journal) -> None:
    opened.close()
    opened.close()
    with pytest.raises(JournalError, match="cannot be written"):
        opened.write(EVENTS)
    assert events_in(path) == []


# Durability


def test_a_new_file_and_its_name_are_durable_before_it_is_used(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = []
    monkeypatch.setattr(journal, "make_durable", lambda fd: asked.append(os.fstat(fd).st_ino))
    monkeypatch.setattr(os, "fsync", lambda fd: asked.append(os.fstat(fd).st_ino))
    Journal.create(path, header(), SMALL).close()

    assert asked == [path.stat().st_ino, path.parent.stat().st_ino]


class SlowDisk:
    """Stands in for the disk's promise that all is on the medium: holds each until it is released."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self._let_go = threading.Semaphore(0)
        self._entered = threading.Semaphore(0)
        self.calls = 0
        monkeypatch.setattr(durability, "make_durable", self)

    def __call__(self, _fd: int) -> None:
        self.calls += 1
        self._entered.release()
        assert self._let_go.acquire(timeout=20)

    def wait_until_busy(self) -> None:
        assert self._entered.acquire(timeout=20)

    def release(self, rounds: int = 100) -> None:
        self._let_go.release(rounds)


def test_writing_waits_for_no_slow_disk_and_a_backlog_is_made_durable_at_once(
    opened: Journal, monkeypatch: pytest.MonkeyPatch
) -> None:
    disk = SlowDisk(monkeypatch)
    opened.write(EVENTS[:1])
    disk.wait_until_busy()
    for event in EVENTS[1:] * 20:
        opened.write([event])
    waiting = opened.drain(0.01)
    disk.release()

    assert not waiting
    assert opened.drain(20)
    assert disk.calls == 2


def test_the_screen_is_told_when_the_disk_falls_behind(
    opened: Journal, monkeypatch: pytest.MonkeyPatch
) -> None:
    disk = SlowDisk(monkeypatch)
    real, late = time.monotonic, [0.0]
    monkeypatch.setattr(time, "monotonic", lambda: real() + late[0])
    quiet = opened.health()
    opened.write(EVENTS)
    at_once = opened.health()
    late[0] = 3.0
    behind = opened.health()
    disk.release()

    assert (quiet, at_once, behind) == ("", "", "not yet on disk for 3 s")
    assert opened.drain(20)
    assert opened.health() == ""


def test_how_far_behind_is_counted_from_the_oldest_event_that_is_not_durable(
    opened: Journal, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An event written while the disk works on those before it is met by the next round only."""
    disk = SlowDisk(monkeypatch)
    real, late = time.monotonic, [0.0]
    monkeypatch.setattr(time, "monotonic", lambda: real() + late[0])
    opened.write(EVENTS[:1])
    disk.wait_until_busy()
    late[0] = 3.0
    opened.write(EVENTS[1:2])
    first = opened.health()
    disk.release(1)
    disk.wait_until_busy()
    late[0] = 5.0
    opened.write(EVENTS[2:])
    disk.release(1)
    disk.wait_until_busy()
    late[0] = 9.0
    last = opened.health()
    disk.release()

    assert (first, last) == ("not yet on disk for 3 s", "not yet on disk for 6 s")


def test_a_disk_that_refuses_is_reported_for_good(opened: Journal, monkeypatch: pytest.MonkeyPatch) -> None:
    """After a refusal a later success says nothing about the bytes refused before."""
    monkeypatch.setattr(durability, "make_durable", failing(errno.EIO))
    opened.write(EVENTS[:1])
    drained = opened.drain(20)
    monkeypatch.undo()
    opened.write(EVENTS[1:])

    assert not drained
    assert not opened.drain(20)
    assert opened.health() == "the disk refused to make the record durable: Input/output error"


def test_everything_is_durable_when_closing_returns(opened: Journal, monkeypatch: pytest.MonkeyPatch) -> None:
    done = []

    def slowly(fd: int) -> None:
        time.sleep(0.05)
        done.append(fd)

    monkeypatch.setattr(durability, "make_durable", slowly)
    opened.write(EVENTS)
    opened.close()
    assert len(done) == 1


def test_a_disk_that_hangs_keeps_the_lock_until_the_program_ends(
    path: Path, opened: Journal, monkeypatch: pytest.MonkeyPatch
) -> None:
    disk = SlowDisk(monkeypatch)
    monkeypatch.setattr(journal, "_CLOSING_SECONDS", 0.01)
    opened.write(EVENTS)
    with pytest.raises(JournalError, match="closed, but what was recorded last may be lost: not yet"):
        opened.close()
    try:
        with pytest.raises(JournalError, match="already open in this program; close it there first"):
            Journal.reopen(path)
    finally:
        disk.release()
    assert events_in(path) == EVENTS


def test_closing_on_a_disk_that_refused_says_so_and_leaves_the_clock_behind(
    path: Path, opened: Journal, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(durability, "make_durable", failing(errno.EIO))
    opened.write(EVENTS)
    opened.tick(77.5)
    with pytest.raises(JournalError) as caught:
        opened.close()
    monkeypatch.undo()
    reopened = Journal.reopen(path)
    reopened.journal.close()

    assert caught.value.what == (
        "closed, but what was recorded last may be lost: "
        "the disk refused to make the record durable: Input/output error"
    )
    assert reopened.clock == 77.5


# Lock and clock

HOLDER = """
import os, signal, sys
from pathlib import Path
from checklist.session.journal import Journal
from tests.helpers import header, script
from checklist.session.events import Started
journal = Journal.create(Path(sys.argv[1]), header(), {})
journal.write(script((Started, {"step": "wash"})))
for second in range(1, 48):
    journal.tick(second + 0.25)
os.write(1, b"held\\n")
signal.pause()
"""


def test_a_second_program_is_refused_until_the_first_is_dead(path: Path) -> None:
    """The dead one's clock is handed on, though its last event was at second 0."""
    command = [sys.executable, "-c", HOLDER, str(path)]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE) as holder:
        assert holder.stdout is not None
        try:
            assert holder.stdout.readline() == b"held\n"
            with pytest.raises(JournalError) as caught:
                Journal.reopen(path)
        finally:
            holder.send_signal(signal.SIGKILL)
            holder.wait()
    left_behind = lock_of(path).exists()
    reopened = Journal.reopen(path)
    reopened.journal.close()

    assert str(caught.value) == (
        f"{path}: open by the program with process id {holder.pid}; close it there first"
    )
    assert left_behind
    assert reopened.clock == 47.25
    assert not lock_of(path).exists()


def test_the_same_program_cannot_open_a_session_twice(path: Path, opened: Journal) -> None:
    with pytest.raises(JournalError, match=r"one\.toml: already open in this program; close it there first"):
        Journal.reopen(path)
    opened.write(EVENTS)
    assert events_in(path) == EVENTS


def test_a_disk_that_cannot_lock_is_not_used(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fcntl, "flock", failing(errno.ENOLCK))
    with pytest.raises(JournalError, match="cannot be created: No locks available; name another folder in"):
        Journal.create(path, header(), protocol_table())
    assert not path.exists()


@pytest.mark.parametrize(
    ("left", "clock"),
    [
        ("pid        123\nclock        300.125\n", 300.125),
        ("pid        123\nclock          4.999\n", 5.0),
        ("pid        123\nclock        300.1", 5.0),
        ("pid        123\nclock        300.125\n\0\0", 5.0),
        ("pid        123\nclock            nan\n", 5.0),
        ("pid        123\nclock  499999999.000\n", 499_999_999.0),
        ("pid        123\nclock  500000000.000\n", 5.0),
        ("pid        123\nclock 1000000000.000\n", 5.0),
        (f"pid        123\nclock {'9' * 60}.000\n", 5.0),
        ("\0" * 38, 5.0),
        ("", 5.0),
        (None, 5.0),
    ],
)
def test_the_clock_stands_where_the_crashed_program_noted_it(
    path: Path, left: str | None, clock: float
) -> None:
    """Without a readable note, or with one older than the last event, it stands at that event: second 5."""
    first = Journal.create(path, header(), SMALL)
    first.write(EVENTS[:2])
    first.close()
    if left is not None:
        lock_of(path).write_text(left)
    reopened = Journal.reopen(path)
    noted = lock_of(path).read_text()
    reopened.journal.close()

    assert reopened.clock == clock
    assert noted == f"pid {os.getpid():>10}\nclock {clock:>14.3f}\n"


def test_a_tick_is_noted_in_place(path: Path, opened: Journal) -> None:
    before = lock_of(path).stat()
    for clock in (1.0, 3599.5, 2.0):
        opened.tick(clock)
    after = lock_of(path).stat()

    assert lock_of(path).read_text().splitlines()[1].split() == ["clock", "2.000"]
    assert (after.st_ino, after.st_size) == (before.st_ino, before.st_size)


def test_a_tick_that_cannot_be_noted_is_no_matter(opened: Journal, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "write", failing(errno.ENOSPC))
    opened.tick(7.0)
    assert opened.health() == ""


def test_a_tick_after_closing_writes_nowhere(path: Path, opened: Journal) -> None:
    """Not into a file either that was opened meanwhile and got the number of the lock's."""
    opened.close()
    others = [path.with_name(name).open("w+b") for name in "abcdef"]
    opened.tick(7.0)
    for other in others:
        other.close()

    assert [path.with_name(name).stat().st_size for name in "abcdef"] == [0] * 6
    assert not lock_of(path).exists()


def test_a_lock_never_has_two_holders_though_its_file_comes_and_goes(tmp_path: Path) -> None:
    holders, most, taken = [0], [0], [0]
    guard = threading.Lock()

    def contend() -> None:
        for _ in range(300):
            try:
                lock = acquire(tmp_path / "lock")
            except LockHeldError:
                continue
            with guard:
                holders[0] += 1
                taken[0] += 1
                most[0] = max(most[0], holders[0])
            time.sleep(0)
            with guard:
                holders[0] -= 1
            lock.release()

    threads = [threading.Thread(target=contend) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert most[0] == 1 and taken[0] > 20
    assert list(tmp_path.iterdir()) == []


# Killed programs

KILLED = """
import json, os, random, signal, sys, time
from pathlib import Path
from checklist.session.journal import Journal
from tests.helpers import header, script
from checklist.session.events import Remarked

def child(path, out):
    journal = Journal.create(path, header(), {})
    events = script(*[(Remarked, {"step": "look", "text": "x" * 90})] * 4000)
    os.write(out, b"0\\n")
    for event in events:
        journal.write([event])
        os.write(out, b"%d\\n" % event.n)

seed = int(sys.argv[2])
chance = random.Random(seed)
for number in range(30):
    path = Path(sys.argv[1]) / f"{number}.toml"
    into, out = os.pipe()
    pid = os.fork()
    if pid == 0:
        child(path, out)
        os._exit(0)
    os.close(out)
    with os.fdopen(into, "rb", buffering=0) as printed:
        first = printed.read(2)
        time.sleep(chance.uniform(0, 0.01))
        os.kill(pid, signal.SIGKILL)
        os.waitpid(pid, 0)
        rest = printed.read()
        while more := printed.read():
            rest += more
    numbers = (first + rest).split(b"\\n")[:-1]
    print(json.dumps([str(path), int(numbers[-1])]))
"""


def test_a_program_killed_at_any_moment_loses_nothing_that_it_confirmed(tmp_path: Path) -> None:
    seed = random.randrange(10**6)
    rounds = [json.loads(line) for line in run_python(KILLED, tmp_path, seed).stdout.splitlines()]
    confirmed_in_all = 0
    for name, confirmed in rounds:
        reopened = Journal.reopen(Path(name))
        reopened.journal.close()
        numbers = [event.n for event in events_in(Path(name))]
        confirmed_in_all += confirmed

        assert numbers == list(range(1, len(numbers) + 1)), seed
        # One more may be in the file: written, and killed before it could be confirmed.
        assert confirmed <= len(numbers) <= confirmed + 1, seed

    assert len(rounds) == 30 and confirmed_in_all > 30, seed


def test_a_journal_takes_any_sequence_of_events(path: Path, opened: Journal) -> None:
    events: Any = tuple(a_whole_examination())
    opened.write(())
    opened.write(events)
    assert events_in(path) == list(events)
