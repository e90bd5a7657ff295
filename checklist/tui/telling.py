"""The question who was told of a finding: how it looks, and what its answer means."""

from collections.abc import Sequence
from datetime import datetime

from checklist.session.session import Session
from checklist.session.standing import Alert
from checklist.tui.draw import BLANK, Line, labelled
from checklist.tui.lists import alert_words


def told_lines(session: Session, waiting: Sequence[Alert], cursor: int, width: int) -> list[Line]:
    """Return the question for one of the findings that wait, with the roles that may have been told."""
    if not waiting:
        return [(("Nothing waits to be told.", "strong"),)]
    lines: list[Line] = [((f"Who was told? {cursor + 1} of {len(waiting)}", "title"),), BLANK]
    lines += [*labelled("What", alert_words(session, waiting[cursor]), width, "strong"), BLANK]
    roles = session.protocol.telling.roles
    lines += [((f"  {number}  {role}, now", ""),) for number, role in enumerate(roles, start=1)]
    lines += [(("  t  someone else or another time, for instance: N-12 14:05", ""),), BLANK]
    caution = "Say what you saw, felt or heard; the licensed clinician decides what it means."
    return [*lines, *labelled("", caution, width, "quiet")]


def whom_and_when(text: str) -> tuple[str, str]:
    """Split `N-12 14:05` into the code and the time; the time is empty when none is given."""
    *before, last = text.split(" ")
    try:
        when = datetime.strptime(last, "%H:%M")
    except ValueError:
        return text, ""
    return " ".join(before), f"{when:%H:%M}"
