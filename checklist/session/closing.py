"""What may come after the end of a session: an amendment, and the signature that closes it.

Says in one line why one of them cannot be; what is written goes through the recorder.
"""

import re
from pathlib import Path

from checklist.errors import ChecklistError
from checklist.identity import identity_warning
from checklist.session import store
from checklist.session.events import Amended, Signed
from checklist.session.opening import CODE_LENGTH, MACHINE, resume
from checklist.session.recorder import Clocks, Recorder
from checklist.session.seal import seals
from checklist.session.session import EXAMINATION, REHEARSAL, Session
from checklist.session.state import Stage
from checklist.text import one_line

_MORE = "'checklist verify' says more"


class ClosingError(ChecklistError):
    """A session that cannot be amended or signed, or a code that cannot stand under it."""


def amend_fault(session: Session) -> str:
    """Say why a session cannot be amended; empty when it can."""
    if session.state.stage is not Stage.FINISHED:
        return f"the session is {session.state.stage}: it is changed by going on with it, and amended after"
    if session.header.mode == REHEARSAL:
        return "a rehearsal is not amended: it holds no patient's record, and what was answered in it stands"
    if session.header.mode != EXAMINATION:
        return "marks of an observation are not amended: what was marked stands as it was marked"
    return ""


def sign_fault(session: Session, who: str = "") -> str:
    """Say why a session cannot be signed, or not by `who`; empty when it can."""
    if session.state.stage is not Stage.FINISHED:
        return f"the session is {session.state.stage}: only a finished one is signed"
    last = last_signature(session)
    if who and last and last.who == one_line(who) and not _is_added_to(session):
        return f"{last.who} has signed it already, and nothing was added since"
    return ""


def code_fault(text: str) -> str:
    """Say why a text cannot be the initials or code of somebody who amends or signs; empty when it can."""
    code = one_line(text)
    if not code:
        return "initials or a code are needed"
    if len(code) > CODE_LENGTH:
        return f"{len(code)} characters are too many for initials or a code (at most {CODE_LENGTH})"
    return ""


# Initials: two letters, or up to four capitals, with or without dots.
_INITIALS = re.compile(r"[^\W\d_]\.?[^\W\d_]\.?|(?:[A-ZÀ-ÖØ-Þ]\.?){1,4}")


def name_warning(code: str) -> str | None:
    """Say why a code looks like a person's identity, or return None; initials do not."""
    return None if _INITIALS.fullmatch(code) else identity_warning(code)


def amender_fault(text: str) -> str:
    """Say why a text cannot stand as who amends; empty when it can. A name is not kept."""
    code = one_line(text)
    if fault := code_fault(code):
        return fault
    warning = name_warning(code)
    return f"'{code}' {warning}; type initials (up to four capitals) or a code" if warning else ""


def latest_finished() -> Path:
    """Return the newest session file that is finished; raises ChecklistError when there is none."""
    for summary in store.summaries():
        if summary.is_finished and not summary.problem:
            return summary.path
    raise ClosingError("there is no finished session; 'checklist' begins one")


def last_signature(session: Session) -> Signed | None:
    return session.state.signed[-1] if session.state.signed else None


def amendments_since(session: Session) -> int:
    """Return how many amendments were written since the last signature, or since the end."""
    last = last_signature(session)
    after = session.events[last.n :] if last else session.events
    return sum(isinstance(event, Amended) for event in after)


def tellings_since(session: Session) -> int:
    """Return how many tellings that stand were written since the last signature; 0 while there is none."""
    last = last_signature(session)
    return sum(told.n > last.n for told in session.state.told) if last else 0


def _is_added_to(session: Session) -> bool:
    return bool(amendments_since(session) or tellings_since(session))


def changed_words(path: Path, session: Session) -> str:
    """Say that a file is no longer what was signed; empty when it is, or when nobody signed it."""
    signed = session.state.signed
    if not signed:
        return ""
    try:
        found = seals(path.read_bytes())
    except OSError:
        return ""
    broken = [seal.who for seal in found if not seal.is_unchanged]
    if not broken and [seal.who for seal in found] == [each.who for each in signed]:
        return ""
    return f"the file was changed since {broken[0] if broken else signed[-1].who} signed it; {_MORE}"


def reopened_to_amend(path: Path, clocks: Clocks = MACHINE) -> Recorder:
    """Open a finished session for amendments; raises ChecklistError when it cannot be amended."""
    return resume(path, clocks, demand_amendable(path))


def demand_amendable(path: Path) -> store.Loaded:
    """Read a session; raises ChecklistError when it cannot be amended."""
    loaded = store.load(path)
    if fault := amend_fault(loaded.session):
        raise ClosingError(f"{path.name}: {fault}", fault)
    return loaded


def sign(path: Path, who: str, clocks: Clocks = MACHINE) -> Session:
    """Sign a finished session and return it; raises ChecklistError when it cannot be signed."""
    loaded = store.load(path)
    if fault := sign_fault(loaded.session, who) or code_fault(who):
        raise ClosingError(f"{path.name}: {fault}", fault)
    recorder = resume(path, clocks, loaded)
    try:
        recorder.sign(who)
    finally:
        recorder.leave()
    return recorder.session
