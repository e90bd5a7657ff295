"""Begins a session in a new file, or takes one up again where it stood."""

import time
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from checklist import __version__
from checklist.session import store
from checklist.session.journal import Journal
from checklist.session.recorder import Clocks, Recorder
from checklist.session.session import PRACTICE, Header, Session
from checklist.session.state import Stage

if TYPE_CHECKING:
    # Not needed to take a session up again.
    from checklist.protocol.library import Loaded


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
        participant=preparation.participant,
        examiner=preparation.examiner,
        age=preparation.age,
        setting=preparation.setting,
        missing=preparation.missing,
        fictional=preparation.fictional,
    )
    path = (folder or store.sessions_folder()) / f"{header.id}.toml"
    session = Session(header=header, protocol=loaded.protocol, table=loaded.table)
    recorder = Recorder(session, Journal.create(path, header, loaded.table), clocks)
    recorder.start()
    return recorder


def resume(path: Path, clocks: Clocks = MACHINE, loaded: store.Loaded | None = None) -> Recorder:
    """Take a session up again at the step and second where it stood; a finished one only to be told of.

    A session that was `loaded` just now is not read once more, unless its file has grown since.
    """
    reopened = Journal.reopen(path)
    try:
        if loaded is None or loaded.whole_bytes != reopened.journal.size:
            loaded = store.load(path)
        session = loaded.session
        recorder = Recorder(session, reopened.journal, clocks, elapsed=reopened.clock)
        if session.state.stage is Stage.NEW:
            recorder.start()
        elif session.state.stage is not Stage.FINISHED:
            recorder.reopen()
    except BaseException:
        reopened.journal.close()
        raise
    return recorder
