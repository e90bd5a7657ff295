"""What is said before a session is signed: what is not told yet, and what may be done afterwards. Pure."""

from checklist.reasoning.alerts import open_alerts
from checklist.session.session import Session
from checklist.tui.lists import alert_words

WHO = "Your initials or code"


def untold_words(session: Session) -> str:
    """Name what nobody was told of yet; empty when nothing waits."""
    waiting = open_alerts(session)
    if not waiting:
        return ""
    more = f" (and {len(waiting) - 1} more)" if len(waiting) > 1 else ""
    return f"Not yet told{more}. {alert_words(session, waiting[0])}"


def closing_words(session: Session) -> str:
    """Say what signing closes."""
    waiting = len(open_alerts(session))
    untold = f" {waiting} not yet told; that can still be recorded after signing." if waiting else ""
    return f"Signing closes the session: from then on it takes only amendments and who was told.{untold}"
