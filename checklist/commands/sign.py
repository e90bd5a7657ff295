"""Signs a finished session with initials, after saying what that closes. Needs no terminal with `--yes`."""

import sys
from argparse import Namespace
from pathlib import Path

from checklist.reasoning.alerts import open_alerts
from checklist.session import closing, store
from checklist.session.closing import ClosingError
from checklist.session.session import Session
from checklist.session.standing import Alert
from checklist.text import one_line

_CLOSES = "Signing closes the session: from then on it takes only amendments and who was told."


def sign(args: Namespace) -> int:
    """Sign the session, once it was said what is not told yet and what is left to do afterwards."""
    path = store.find(args.session) if args.session else closing.latest_finished()
    session = store.load(path).session
    who = _who(path, session, args.initials)
    for line in _said_before(session):
        print(line, file=sys.stderr)
    if not (args.yes or _agrees(path, who)):
        raise ClosingError(f"{path.name}: not signed")
    signed = closing.sign(path, who).state.signed[-1]
    print(f"{path.name}: signed by {signed.who}, {signed.at:%Y-%m-%d %H:%M}")
    return 0


def _who(path: Path, session: Session, initials: str) -> str:
    code = one_line(initials)
    if fault := closing.code_fault(code) or closing.sign_fault(session, code):
        raise ClosingError(f"{path.name}: {fault}", fault)
    if warning := closing.name_warning(code):
        raise ClosingError(f"'{code}' {warning}; use initials or a code, or keep it by signing in the app")
    return code


def _said_before(session: Session) -> list[str]:
    waiting = open_alerts(session)
    untold = [f"Not yet told: {_words(each)}" for each in waiting]
    count = [f"{len(waiting)} not yet told; that can still be recorded after signing."] if waiting else []
    return [*untold, *count, _CLOSES]


def _words(alert: Alert) -> str:
    where = ", ".join(
        entry.label for entry in alert.step.entries if entry.key in alert.untold and entry.label
    )
    return f"{alert.finding.label} – {alert.step.title}{f' ({where})' if where else ''}"


def _agrees(path: Path, who: str) -> bool:
    """Ask once more; anything but yes, and no answer at all, is no."""
    print(f"Sign {path.name} as {who}? Type yes: ", end="", file=sys.stderr, flush=True)
    return sys.stdin is not None and sys.stdin.readline().strip().casefold() in {"y", "yes"}
