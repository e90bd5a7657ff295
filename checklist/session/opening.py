"""Begins a session in a new file, or takes one up again where it stood."""

import contextlib
import time
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from checklist import __version__
from checklist.errors import ChecklistError
from checklist.folders import make_private
from checklist.session import store
from checklist.session.journal import Journal
from checklist.session.recorder import Clocks, Recorder
from checklist.session.session import EXAMINATION, PRACTICE, Header, Session
from checklist.session.state import Stage
from checklist.text import one_line

if TYPE_CHECKING:
    # Not needed to take a session up again.
    from checklist.protocol.library import Loaded

CODE_LENGTH = 24
"""Characters of a participant's or examiner's code."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Preparation:
    """What was answered before the clock starts; persons are codes."""

    participant: str
    examiner: str
    age: str = ""
    setting: str = PRACTICE
    missing: tuple[str, ...] = ()
    """Ids of the equipment that is not at hand."""
    fictional: bool = False
    mode: str = EXAMINATION
    assessed: bool = False
    observer: str = ""
    task: str = ""
    case: str = ""


def _counter() -> float:
    """Return seconds that never jump, and that run on while the machine sleeps where such a clock exists."""
    if hasattr(time, "CLOCK_BOOTTIME"):
        return time.clock_gettime(time.CLOCK_BOOTTIME)
    return time.monotonic()


def _now() -> datetime:
    return datetime.now().astimezone()


MACHINE = Clocks(counter=_counter, now=_now)
"""The clocks of this machine."""


def begin(
    loaded: "Loaded", preparation: Preparation, clocks: Clocks = MACHINE, folder: Path | None = None
) -> Recorder:
    """Create a session file, durable, and start the clock at the first step."""
    created = clocks.now().replace(microsecond=0)
    header = Header(
        id=store.new_id(loaded.protocol.id, created),
        created=created,
        app_version=__version__,
        participant=one_line(preparation.participant),
        examiner=one_line(preparation.examiner),
        age=one_line(preparation.age),
        setting=preparation.setting,
        missing=preparation.missing,
        fictional=preparation.fictional,
        mode=preparation.mode,
        assessed=preparation.assessed,
        observer=one_line(preparation.observer),
        task=one_line(preparation.task),
        case=one_line(preparation.case),
    )
    path = (folder or store.sessions_folder()) / f"{header.id}.toml"
    session = Session(header=header, protocol=loaded.protocol, table=loaded.table)
    journal = Journal.create(path, header, loaded.table)
    with _closed_on_failure(journal):
        recorder = Recorder(session, journal, clocks)
        recorder.start()
    return recorder


def resume(path: Path, clocks: Clocks = MACHINE, loaded: store.Loaded | None = None) -> Recorder:
    """Take a session up again at the step and second where it stood; a finished one for what comes after.

    A session that was `loaded` just now is not read once more, unless its file has grown since.
    """
    reopened = Journal.reopen(path)
    with _closed_on_failure(reopened.journal, keep_clock=True):
        _make_private(path)
        if loaded is None or loaded.whole_bytes != reopened.journal.size:
            loaded = store.load(path)
        session = loaded.session
        recorder = Recorder(session, reopened.journal, clocks, elapsed=reopened.clock)
        if session.state.stage is Stage.NEW:
            recorder.start()
        elif session.state.stage is not Stage.FINISHED:
            recorder.reopen()
        recorder.notice = _notice(reopened.cut)
    return recorder


@contextlib.contextmanager
def _closed_on_failure(journal: Journal, *, keep_clock: bool = False) -> Iterator[None]:
    try:
        yield
    except BaseException:
        with contextlib.suppress(ChecklistError):  # What came first says more.
            journal.close(keep_clock=keep_clock)
        raise


def _make_private(path: Path) -> None:
    """Take a session from the eyes of others, and with it the folder, unless that is one of the user's."""
    make_private(path)
    if path.absolute().parent == store.sessions_folder().absolute():
        make_private(path.parent)


def _notice(cut: Path | None) -> str:
    if cut is None:
        return ""
    torn = f"a torn event ({cut.stat().st_size} bytes), which is kept as {one_line(cut.name)}"
    return f"The file ended in {torn}; everything before it stands."
