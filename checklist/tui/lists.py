"""The lists that a step is chosen from: the outline, what was found by typing, what is left open."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from checklist.protocol.model import Section, Step
from checklist.reasoning.alerts import open_alerts
from checklist.session.events import Outcome
from checklist.session.session import Session
from checklist.session.standing import Alert, gaps, is_set_aside, open_entries
from checklist.tui.draw import BLANK, Line, Part, spread, window, wrap


@dataclass(frozen=True, kw_only=True, slots=True)
class Row:
    """One line of a list; a row without a step is a heading, and cannot be chosen."""

    text: str
    note: str = ""
    step: str = ""
    look: str = ""


def outline_rows(session: Session, typed: str = "") -> list[Row]:
    """Return all steps by section with what is recorded, or those whose title holds all words typed."""
    words = typed.casefold().split()
    rows: list[Row] = []
    for section in session.protocol.sections:
        steps = [step for step in section.steps if _holds(_searched(section, step), words)]
        if steps:
            rows += [Row(text=section.title, look="strong"), *step_rows(session, steps)]
    return rows


def step_rows(session: Session, steps: Iterable[Step]) -> list[Row]:
    """Return a row for each step, with what is recorded."""
    return [Row(text=f"  {step.title}", note=_standing(session, step), step=step.id) for step in steps]


def _searched(section: Section, step: Step) -> str:
    """Return the words by which a step can be found."""
    return " ".join(
        (section.title, step.title, step.subject, step.subjects, *step.covers, *step.sites, step.do)
    )


def _holds(title: str, words: Sequence[str]) -> bool:
    return all(word in title.casefold() for word in words)


def _standing(session: Session, step: Step) -> str:
    """Return in a few words what is recorded for a step."""
    records = session.state.records.get(step.id, {})
    if is_set_aside(session, step):
        return "not indicated" if records else "only if indicated"
    outcomes = [outcome for outcome in Outcome if any(r.result.outcome is outcome for r in records.values())]
    words = [str(outcome) for outcome in outcomes]
    if session.header.assessed:
        # What is still open would be a hint.
        return "; ".join(words)
    if not records:
        return "open"
    if missing := open_entries(session, step):
        words.append(f"{', '.join(entry.label for entry in missing)} open")
    return "; ".join(words)


def finish_rows(session: Session, told_key: str) -> list[Row]:
    """Return what is still to be answered: who was told, then what was half recorded or not reached.

    When the performance counts, what was left out is not listed before the end.
    """
    rows: list[Row] = []
    if waiting := open_alerts(session):
        rows.append(Row(text=f"Who was told? ({told_key} answers)", look="strong"))
        rows += [
            Row(text=f"  {alert_words(session, alert)}", step=alert.step.id, look="warn") for alert in waiting
        ]
    left = () if session.header.assessed else gaps(session)
    for title, partial in (("Half recorded", True), ("Not reached", False)):
        chosen = [gap for gap in left if gap.is_partial is partial]
        if chosen:
            rows.append(Row(text=f"{title}: {len(chosen)}", look="strong"))
        for gap in chosen:
            missing = ", ".join(entry.label for entry in gap.entries if entry.label) if partial else ""
            note = f"{missing} open" if missing else session.protocol.section_of[gap.step.id].title
            rows.append(Row(text=f"  {gap.step.title}", note=note, step=gap.step.id))
    return rows


def alert_words(session: Session, alert: Alert) -> str:
    """Return an alert in one line: how fast, what, where, and to whom."""
    where = ", ".join(
        entry.label
        for entry in alert.step.entries
        if entry.key in (alert.untold or alert.entries) and entry.label
    )
    urgency = "TELL AT ONCE" if alert.finding.tell == "urgent" else "Report"
    place = f" ({where})" if where else ""
    whom = session.protocol.tell_to(alert.finding)
    return f"{urgency}: {alert.finding.label} – {alert.step.title}{place} → {whom}"


def first_choice(rows: Sequence[Row], step: str = "") -> int:
    """Return the row of `step`, or the first that can be chosen; 0 when there is none."""
    choices = [index for index, row in enumerate(rows) if row.step]
    return next((index for index in choices if rows[index].step == step), choices[0] if choices else 0)


def best_choice(rows: Sequence[Row], typed: str) -> int:
    """Return the first row whose own text holds what was typed, or else the first that can be chosen."""
    return next(
        (index for index, row in enumerate(rows) if row.step and typed.casefold() in row.text.casefold()),
        first_choice(rows),
    )


def moved(rows: Sequence[Row], cursor: int, by: int) -> int:
    """Return the cursor moved over `by` rows that can be chosen, stopping at the ends."""
    choices = [index for index, row in enumerate(rows) if row.step]
    if not choices:
        return 0
    place = min(range(len(choices)), key=lambda each: abs(choices[each] - cursor))
    return choices[max(0, min(len(choices) - 1, place + by))]


def list_lines(title: str, rows: Sequence[Row], cursor: int, width: int, height: int) -> list[Line]:
    """Return the part of a list around its cursor, under its title."""
    lines: list[Line] = [*(((line, "strong"),) for line in wrap(title, width)), BLANK]
    return lines + row_lines(rows, cursor, width, height - len(lines), "cursor")


def row_lines(rows: Sequence[Row], cursor: int, width: int, height: int, cursor_look: str) -> list[Line]:
    """Return the rows around the cursor that fit in `height` rows."""
    lines: list[Line] = []
    for index in window(len(rows), cursor, height):
        row = rows[index]
        is_here = index == cursor and bool(row.step)
        look = cursor_look if is_here else row.look
        note: list[Part] = [(row.note, look or "quiet")] if row.note else []
        lines.append(spread([(("▸" if is_here else " ") + row.text, look)], note, width))
    return lines
