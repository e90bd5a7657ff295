"""Says of session files whether they are whole, signed, and unchanged since, and what that does not prove."""

from argparse import Namespace
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from checklist.errors import ChecklistError
from checklist.session import store
from checklist.session.closing import amendments_since
from checklist.session.codec import LARGEST_BYTES
from checklist.session.events import Unknown
from checklist.session.seal import Seal, seals
from checklist.session.session import Session
from checklist.session.state import Stage
from checklist.text import one_line

NOT_PROVED = (
    "Not proved: who typed the initials; that nobody who can write the file made it anew, digests and all, or"
    " took away what stood last; that the clock was right."
)


@dataclass(frozen=True, kw_only=True, slots=True)
class Verdict:
    """What a session file shows of itself, in one line."""

    text: str
    is_sound: bool
    """Whether nothing is wrong with it; an unfinished or unsigned session is not wrong."""


def verify(args: Namespace) -> int:
    """Print a line for each session, and last what none of them can prove; 1 when something is wrong."""
    verdicts = [_verdict(named) for named in args.sessions]
    for verdict in verdicts:
        print(verdict.text)
    print(NOT_PROVED)
    return 0 if all(verdict.is_sound for verdict in verdicts) else 1


def _verdict(named: str) -> Verdict:
    try:
        path = store.find(named)
    except ChecklistError as error:
        return Verdict(text=str(error), is_sound=False)
    found = verdict(path)
    return Verdict(text=f"{one_line(path.name)}: {found.text}", is_sound=found.is_sound)


def verdict(path: Path) -> Verdict:
    """Return what a session file shows of itself."""
    try:
        loaded = store.load(path)
    except ChecklistError as error:
        parts = [f"NOT READABLE ({error.what})", *_seals_in_words(_seals(path), None)]
        return Verdict(text="; ".join(parts), is_sound=False)
    session, found = loaded.session, _seals(path)
    torn = f"TORN: the last {loaded.torn_bytes} bytes are no whole event" if loaded.torn_bytes else ""
    finished = "finished" if session.state.stage is Stage.FINISHED else "not finished"
    strange = sum(isinstance(event, Unknown) for event in session.events)
    events = f"{strange} EVENT{'' if strange == 1 else 'S'}"
    unknown = f"{events} OF A KIND THAT THIS VERSION CANNOT JUDGE" if strange else ""
    parts = [torn or "whole", finished, *_seals_in_words(found, session), unknown, _added(session)]
    is_sound = not torn and not strange and _is_unchanged(found, session)
    return Verdict(text="; ".join(filter(None, parts)), is_sound=is_sound)


def _seals(path: Path) -> tuple[Seal, ...]:
    """Return the signatures in the bytes, which can be looked for in a file that is damaged too."""
    try:
        with path.open("rb") as file:
            return seals(file.read(LARGEST_BYTES))
    except OSError:
        return ()


def _is_unchanged(found: tuple[Seal, ...], session: Session) -> bool:
    """Whether every signature stands as the program writes it, and fits what comes before it."""
    names = [seal.who for seal in found if seal.is_unchanged]
    return names == [signed.who for signed in session.state.signed]


def _seals_in_words(found: tuple[Seal, ...], session: Session | None) -> Iterator[str]:
    """Return who signed, when, and whether what was signed is unchanged; each signature for itself."""
    signed = session.state.signed if session else ()
    if session and len(found) != len(signed):
        yield f"{len(signed)} signed, CHANGED: the signatures are not as they were written"
        return
    if session and not signed:
        yield "not signed"
    for place, seal in enumerate(found):
        at = f" {signed[place].at:%Y-%m-%d %H:%M}" if signed else ""
        state = "unchanged since" if seal.is_unchanged else "CHANGED since"
        yield f"signed by {seal.who or '?'}{at}, {state}"


def _added(session: Session) -> str:
    """Return how many amendments came after the last signature, or after the end."""
    count = amendments_since(session)
    if not count and not session.state.signed:
        return ""
    after = "the last signature" if session.state.signed else "the end"
    return f"{count or 'no'} amendment{'' if count == 1 else 's'} after {after}"
