"""The question who was told of a finding: how it looks, and what its answer means."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from checklist.session.session import Session
from checklist.session.standing import Alert
from checklist.tui.draw import BLANK, Line, labelled
from checklist.tui.lists import alert_words

_TIME = re.compile(r"(?P<hour>[01]?\d|2[0-3]):(?P<minute>[0-5]\d)")
_LIKE_A_TIME = re.compile(r"\d{1,2}[:.h]?\d{2}")


def told_lines(
    session: Session, waiting: Sequence[Alert], cursor: int, words_key: str, width: int
) -> list[Line]:
    """Return the question for one of the findings that wait, with the roles that may have been told."""
    if not waiting:
        return [(("Nothing waits to be told.", "strong"),)]
    lines: list[Line] = [((f"Who was told? {cursor + 1} of {len(waiting)}", "title"),), BLANK]
    lines += [*labelled("What", alert_words(session, waiting[cursor]), width, "strong"), BLANK]
    roles = session.protocol.telling.roles
    lines += [((f"  {number}  {role}, now", ""),) for number, role in enumerate(roles, start=1)]
    lines += [((f"  {words_key}  someone else or another time, for instance: N-12 14:05", ""),), BLANK]
    caution = "Say what you saw, felt or heard; the licensed clinician decides what it means."
    return [*lines, *labelled("", caution, width, "quiet")]


@dataclass(frozen=True, kw_only=True, slots=True)
class Answer:
    """Who was told, and when by 24-hour time; an empty time means now."""

    whom: str = ""
    when: str = ""
    fault: str = ""
    """Why the answer cannot be kept."""
    doubt: str = ""
    """Why it should be looked at once more."""


def found_at(session: Session, alert: Alert) -> datetime:
    """Return when the first of the findings that wait was recorded."""
    records = session.state.records[alert.step.id]
    return min(records[entry].at for entry in alert.untold)


def told_answer(text: str, found: datetime, now: datetime) -> Answer:
    """Return what `N-12 14:05` says; the time must lie between the finding and now, on one day."""
    from checklist.identity import looks_like_a_person

    *before, last = text.split(" ")
    time = _TIME.fullmatch(last)
    if not time and _LIKE_A_TIME.fullmatch(last):
        return Answer(fault=f"'{last}' is no time of day; write it as 14:05, after the role or code.")
    whom = " ".join(before) if time else text
    if not whom:
        return Answer(fault="Nobody named: a role or code comes first, then the time.")
    when = f"{int(time['hour']):02}:{time['minute']}" if time else ""
    if when and found.date() == now.date() and not f"{found:%H:%M}" <= when <= f"{now:%H:%M}":
        return Answer(fault=f"{when} is not between the finding ({found:%H:%M}) and now ({now:%H:%M}).")
    doubt = f"'{whom}' looks like a person; a role or code is enough." if looks_like_a_person(whom) else ""
    return Answer(whom=whom, when=when, doubt=doubt)
