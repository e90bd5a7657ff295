"""Begins a session in a new file, or takes one up again where it stood."""

import time
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from checklist import __version__
from checklist.protocol.library import Loaded
from checklist.session import store
from checklist.session.journal import Journal
from checklist.session.recorder import Recorder
from checklist.session.session import PRACTICE, Header, Session
from checklist.session.state import Stage


def counter() -> float:
    """Return seconds that never jump, and that run on while the machine sleeps where such a clock exists."""
    if hasattr(time, "CLOCK_BOOTTIME"):
        return time.clock_gettime(time.CLOCK_BOOTTIME)
    return time.monotonic()


def now() -> datetime:
    """Return the wall clock with its offset."""
    return datetime.now().astimezone()


def begin(
    loaded: Loaded,
    *,
    participant: str,
    examiner: str,
    age: str = "",
    setting: str = PRACTICE,
    missing: tuple[str, ...] = (),
    fictional: bool = False,
    counter: Callable[[], float] = counter,
    now: Callable[[], datetime] = now,
    folder: Path | None = None,
) -> Recorder:
    """Create a session file, durable, and start the clock at the first step."""
    created = now().replace(microsecond=0)
    header = Header(
        id=store.new_id(loaded.protocol.id, created),
        created=created,
        app_version=__version__,
        participant=participant,
        examiner=examiner,
        age=age,
        setting=setting,
        missing=missing,
        fictional=fictional,
    )
    path = (folder or store.sessions_folder()) / f"{header.id}.toml"
    session = Session(header=header, protocol=loaded.protocol, table=loaded.table)
    recorder = Recorder(session, Journal.create(path, header, loaded.table), counter=counter, now=now)
    recorder.start()
    return recorder


def resume(
    path: Path, *, counter: Callable[[], float] = counter, now: Callable[[], datetime] = now
) -> Recorder:
    """Take a session up again at the step and second where it stood; a finished one only to be told of."""
    reopened = Journal.reopen(path)
    try:
        session = store.load(path).session
        recorder = Recorder(session, reopened.journal, counter=counter, now=now, elapsed=reopened.clock)
        if session.state.stage is Stage.NEW:
            recorder.start()
        elif session.state.stage is not Stage.FINISHED:
            recorder.reopen()
    except BaseException:
        reopened.journal.close()
        raise
    return recorder
