"""The sessions that came before one: read from the store, to compare times with. Writes nothing.

A file that cannot be read is passed over: it says nothing of how long anything took.
"""

from contextlib import suppress

from checklist.session.session import Session
from checklist.session.store import SessionError, load, summaries

MOST = 50
"""How many files are read at most, newest first, so that a large store costs no long wait."""


def earlier(session: Session) -> tuple[Session, ...]:
    """Return the latest finished sessions of the same protocol and mode before this one, newest first."""
    own = session.header
    files = [
        summary.path
        for summary in summaries()
        if summary.is_finished
        and (summary.title, summary.mode) == (session.protocol.title, own.mode)
        and summary.created < own.created
    ]
    found = []
    for path in files[:MOST]:
        with suppress(SessionError):
            found.append(load(path).session)
    return tuple(found)
