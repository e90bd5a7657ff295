"""The one module on practising that reads session files: the history of somebody on a protocol."""

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from typing import Any

from checklist import __version__
from checklist.errors import ChecklistError
from checklist.practice.history import History, history
from checklist.practice.run import VERSION, from_plain, plain, run
from checklist.protocol import library
from checklist.protocol.model import Protocol
from checklist.protocol.problems import ProtocolError
from checklist.session.index import read
from checklist.session.session import Session
from checklist.session.store import find, load


class NoHistoryError(ChecklistError):
    """Nothing says which protocol is meant."""


def past(named: str | None, examiner: str | None, say: Callable[[int], None] = lambda _: None) -> History:
    """Return the history of an examiner on a protocol, each as named or else as in the latest session.

    `say` is told how many files have to be read, before they are.
    """
    index = read(_measured, f"{__version__} {VERSION}", say)
    values = [value for value in index.values if not value["is_fictional"]]
    protocol = _protocol(named, _of_examiner(values, examiner))
    runs = [from_plain(value) for value in values if value["protocol"] == protocol.id]
    return history(protocol, runs, examiner, len(index.unreadable))


def _measured(session: Session) -> Mapping[str, Any]:
    return plain(run(session))


def _of_examiner(values: Sequence[Mapping[str, Any]], examiner: str | None) -> list[Mapping[str, Any]]:
    return [value for value in values if examiner in (None, value["examiner"])]


def _protocol(named: str | None, values: Sequence[Mapping[str, Any]]) -> Protocol:
    """Return the protocol as it is now; where it is no longer there, as the latest session of it has it."""
    if named is None:
        if not values:
            raise NoHistoryError("there is no session yet that names a protocol; name one, as listed")
        named = str(max(values, key=_begun)["protocol"])
    try:
        return library.load(library.find(named))
    except ProtocolError:
        own = [value for value in values if value["protocol"] == named]
        if not own:
            raise
        return load(find(str(max(own, key=_begun)["id"]))).session.protocol


def _begun(value: Mapping[str, Any]) -> float:
    return datetime.fromisoformat(value["created"]).timestamp()
