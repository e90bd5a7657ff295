"""The history of somebody on a protocol, read from the session files through their index."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from checklist import __version__
from checklist.errors import ChecklistError
from checklist.practice.cases import Case
from checklist.practice.history import History, history, is_ahead
from checklist.practice.run import VERSION, from_plain, plain, run
from checklist.protocol import library
from checklist.protocol.model import Protocol
from checklist.protocol.problems import ProtocolError
from checklist.session.index import Entry, read
from checklist.session.session import Session
from checklist.session.store import find, load
from checklist.text import one_line, same_code

_NO_PROTOCOL = (
    "there is no session{whose} yet from which to take the protocol; name one after the command"
    " ('checklist protocol list' names them)"
)


class NoHistoryError(ChecklistError):
    """Nothing says which protocol is meant."""


def past(
    named: str | None,
    examiner: str | None,
    say: Callable[[int], None] = lambda _: None,
    now: datetime | None = None,
) -> History:
    """Return the history of an examiner on a protocol, each as named or else as in the latest session.

    `say` is told how many files have to be read, before they are. With `now`, what is dated after it is left
    aside, and is the latest session only where there is no other.
    """
    index = read(_Measure(), f"{__version__} {VERSION}", say)
    entries = [entry for entry in index.entries if not entry.is_fictional]
    protocol = _protocol(named, _of(entries, examiner), now, examiner)
    # A session of which there are two files counts once.
    by_id = {entry.id: entry for entry in entries if entry.protocol == protocol.id}
    if examiner is None:
        examiner = _latest(by_id.values(), now).examiner if by_id else ""
    runs = [from_plain(entry.value) for entry in _of(by_id.values(), examiner)]
    others = {each.examiner for each in by_id.values() if not same_code(each.examiner, examiner)}
    found = history(protocol, runs, examiner, index.unreadable, now)
    return replace(found, others=tuple(sorted(others)))


def _of(entries: Iterable[Entry], examiner: str | None) -> list[Entry]:
    return [each for each in entries if examiner is None or same_code(each.examiner, examiner)]


class _Measure:
    """Says what a session comes to; a case that several of one protocol have is made once."""

    def __init__(self) -> None:
        self._known: dict[tuple[int, str], tuple[Protocol, Case | None]] = {}
        """With the protocol, so that its number stays its own."""

    def __call__(self, session: Session) -> Mapping[str, Any]:
        return plain(run(session, self._case(session) if session.header.case else None))

    def _case(self, session: Session) -> Case | None:
        key = (id(session.protocol), session.header.case)
        if key not in self._known:
            self._known[key] = (session.protocol, _case_of(session))
        return self._known[key][1]


def _case_of(session: Session) -> Case | None:
    """Return what the simulated patient shows; where that is no longer there, its figures stay unknown."""
    # Cases are made or read anew only for sessions that are.
    from checklist.practice.library import case_of

    try:
        return case_of(session)
    except ChecklistError:
        return None


def _latest(entries: Iterable[Entry], now: datetime | None) -> Entry:
    return max(entries, key=lambda entry: (not is_ahead(entry.created, now), entry.created))


def _protocol(
    named: str | None, entries: Sequence[Entry], now: datetime | None, examiner: str | None
) -> Protocol:
    """Return the protocol as it is now; where it is no longer there, as the latest session of it has it."""
    if named is None:
        if not entries:
            whose = f" of examiner '{one_line(examiner)}'" if examiner else ""
            raise NoHistoryError(_NO_PROTOCOL.format(whose=whose))
        named = _latest(entries, now).protocol
    try:
        return library.load(library.find(named))
    except ProtocolError:
        own = [entry for entry in entries if entry.protocol == named]
        if not own:
            raise
        return load(find(_latest(own, now).id)).session.protocol
