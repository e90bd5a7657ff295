"""What is said before a session is signed: who is not told yet, and what cannot be done afterwards. Pure."""

from checklist.reasoning.alerts import open_alerts
from checklist.session.session import Session
from checklist.tui.lists import alert_words

WHO = "Your initials or code"


def untold_words(session: Session) -> str:
    """Name what nobody was told of yet; empty when nothing waits, or the session was signed before."""
    waiting = [] if session.state.signed else open_alerts(session)
    if not waiting:
        return ""
    more = f" (and {len(waiting) - 1} more)" if len(waiting) > 1 else ""
    return f"Not yet told{more}; once it is signed, that takes no answer. {alert_words(session, waiting[0])}"


def closing_words(session: Session) -> str:
    """Say what signing closes."""
    waiting = 0 if session.state.signed else len(open_alerts(session))
    untold = f", and {waiting} not yet told can no longer be answered" if waiting else ""
    return f"Signing closes the session: from then on it is only amended{untold}."
