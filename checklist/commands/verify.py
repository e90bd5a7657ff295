"""Says of session files whether they are whole, signed, and unchanged since, and what that does not prove."""

from argparse import Namespace
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from checklist.errors import ChecklistError
from checklist.session import store
from checklist.session.closing import amendments_since, tellings_since
from checklist.session.codec import LARGEST_BYTES
from checklist.session.events import Unknown
from checklist.session.seal import Seal, seals
from checklist.session.session import Session
from checklist.session.state import Stage
from checklist.session.store import Loaded
from checklist.text import one_line

NOT_PROVED = (
    "Not proved: who typed the initials; that nobody who can write the file made it anew, digests and all, or"
    " took away what stood last; that the clock was right."
)


TURNED = ": only the line ends differ (an editor may have turned them)"


@dataclass(frozen=True, kw_only=True, slots=True)
class Verdict:
    """What a session file shows of itself, in one line."""

    text: str
    is_sound: bool
    """Whether nothing is wrong with it; an unfinished or unsigned session is not wrong."""


@dataclass(frozen=True, kw_only=True, slots=True)
class _Judged:
    """A signature, and whether it would fit if every line ended as the program writes it."""

    seal: Seal
    is_turned: bool = False


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
    torn = _torn(loaded)
    finished = "finished" if session.state.stage is Stage.FINISHED else "not finished"
    strange = sum(isinstance(event, Unknown) for event in session.events)
    events = f"{strange} EVENT{'' if strange == 1 else 'S'}"
    unknown = f"{events} OF A KIND THAT THIS VERSION CANNOT JUDGE" if strange else ""
    whole = f"whole{_blank_end(loaded)}"
    parts = [torn or whole, finished, *_seals_in_words(found, session), unknown, _added(session)]
    is_sound = not torn and not strange and _is_unchanged(found, session)
    return Verdict(text="; ".join(filter(None, parts)), is_sound=is_sound)


def _torn(loaded: Loaded) -> str:
    """Say that the file ends in part of an event; white space is none, and can stand after the last."""
    if not loaded.torn_bytes or _blank_end(loaded):
        return ""
    are = "is" if loaded.torn_bytes == 1 else "are"
    return f"TORN: the last {_bytes(loaded.torn_bytes)} {are} no whole event"


def _blank_end(loaded: Loaded) -> str:
    if not loaded.torn_bytes or _read(loaded.path)[loaded.whole_bytes :].strip():
        return ""
    return f"; {_bytes(loaded.torn_bytes)} after the last event"


def _bytes(count: int) -> str:
    return f"{count} byte{'' if count == 1 else 's'}"


def _read(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            return file.read(LARGEST_BYTES)
    except OSError:
        return b""


def _seals(path: Path) -> tuple[_Judged, ...]:
    """Return the signatures in the bytes, which can be looked for in a file that is damaged too."""
    data = _read(path)
    found = seals(data)
    if b"\r\n" not in data or all(seal.is_unchanged for seal in found):
        return tuple(_Judged(seal=seal) for seal in found)
    turned = seals(data.replace(b"\r\n", b"\n"))
    are_same = [seal.who for seal in turned] == [seal.who for seal in found]
    return tuple(
        _Judged(seal=seal, is_turned=are_same and turned[place].is_unchanged and not seal.is_unchanged)
        for place, seal in enumerate(found)
    )


def _is_unchanged(found: tuple[_Judged, ...], session: Session) -> bool:
    """Whether every signature stands as the program writes it, and fits what comes before it."""
    names = [each.seal.who for each in found if each.seal.is_unchanged]
    return names == [signed.who for signed in session.state.signed]


def _seals_in_words(found: tuple[_Judged, ...], session: Session | None) -> Iterator[str]:
    """Return who signed, when, and whether what was signed is unchanged; each signature for itself."""
    signed = session.state.signed if session else ()
    if session and len(found) != len(signed):
        yield f"{len(signed)} signed, CHANGED: the signatures are not as they were written"
        return
    if session and not signed:
        yield "not signed"
    for place, each in enumerate(found):
        at = f" {signed[place].at:%Y-%m-%d %H:%M}" if signed else ""
        state = "unchanged since" if each.seal.is_unchanged else "CHANGED since"
        turned = TURNED if each.is_turned else ""
        yield f"signed by {each.seal.who or '?'}{at}, {state}{turned}"


def _added(session: Session) -> str:
    """Return how many amendments and tellings came after the last signature, or amendments after the end."""
    count = amendments_since(session)
    if not count and not session.state.signed:
        return ""
    after = "the last signature" if session.state.signed else "the end"
    told = tellings_since(session)
    tellings = f" and {told} telling{'' if told == 1 else 's'}" if told else ""
    return f"{count or 'no'} amendment{'' if count == 1 else 's'}{tellings} after {after}"
