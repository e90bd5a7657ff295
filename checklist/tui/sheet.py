"""The sheets on which the examiner says what is not as expected: pure values, and how they look.

A sheet is changed by keys and confirmed by one; until then nothing is recorded.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from checklist.protocol.model import SIDES, Entry, Step
from checklist.session.events import Outcome, Result
from checklist.session.session import Session
from checklist.session.standing import open_entries
from checklist.tui.draw import BLANK, LABEL_WIDTH, Line, labelled
from checklist.tui.keys import DIGITS, SITE_LETTERS
from checklist.tui.step_view import TELL_WORDS, finding_line

REASON_KEYS = ("declined", "unable", "deferred", "not indicated", "not available", "out of time")
_URGENCY_AFTER = {"": "report", "report": "urgent", "urgent": ""}


@dataclass(frozen=True, kw_only=True, slots=True)
class Sheet:
    """What is marked so far, for one step."""

    step: Step
    outcome: Outcome
    sides: frozenset[str] = frozenset()
    sites: frozenset[str] = frozenset()
    findings: frozenset[str] = frozenset()
    words: str = ""
    tell: str = ""

    @property
    def entries(self) -> tuple[Entry, ...]:
        """The entries that are marked: marked sides × marked sites."""
        return tuple(
            entry
            for entry in self.step.entries
            if (not entry.side or entry.side in self.sides) and (not entry.site or entry.site in self.sites)
        )


def opened(session: Session, step: Step, outcome: Outcome, chosen: Entry | None) -> Sheet:
    """Return a new sheet.

    Marked from the start is what can only be meant: the chosen entry, the only entry, the only open side or
    site; for a reason not to examine, all that is open.
    A chosen entry that differs already brings its findings along.
    """
    entries = open_entries(session, step) or step.entries
    if chosen:
        entries = (chosen,)
    sides = {entry.side for entry in entries}
    sites = {entry.site for entry in entries}
    if outcome is Outcome.DIFFERS and not chosen:
        sides = sides if len(sides) == 1 else set()
        sites = sites if len(sites) == 1 else set()
    sheet = Sheet(step=step, outcome=outcome, sides=frozenset(sides), sites=frozenset(sites))
    record = session.state.records.get(step.id, {}).get(entries[0].key) if len(entries) == 1 else None
    if record and outcome is record.result.outcome is Outcome.DIFFERS:
        old = record.result
        return replace(sheet, findings=frozenset(old.findings), words=old.detail, tell=old.tell)
    return sheet


def toggled_finding(sheet: Sheet, key: str) -> Sheet:
    """Mark or unmark the finding with this number; a number without a finding changes nothing."""
    number = DIGITS.index(key)
    if number >= len(sheet.step.findings):
        return sheet
    return replace(sheet, findings=sheet.findings ^ {sheet.step.findings[number].id})


def toggled_side(sheet: Sheet, side: str) -> Sheet:
    return replace(sheet, sides=sheet.sides ^ {side}) if sheet.step.sides else sheet


def toggled_site(sheet: Sheet, key: str) -> Sheet:
    """Mark or unmark the site with this letter."""
    number = SITE_LETTERS.index(key)
    if number >= len(sheet.step.sites):
        return sheet
    return replace(sheet, sites=sheet.sites ^ {sheet.step.sites[number]})


def toggled_all(sheet: Sheet) -> Sheet:
    """Mark all sides and sites, or none when all are marked."""
    if sheet.entries == sheet.step.entries:
        return replace(sheet, sides=frozenset(), sites=frozenset())
    return replace(sheet, sides=frozenset(SIDES), sites=frozenset(sheet.step.sites))


def next_urgency(sheet: Sheet) -> Sheet:
    """Change how fast the examiner's own words must be told."""
    return replace(sheet, tell=_URGENCY_AFTER[sheet.tell]) if sheet.words else sheet


def lacking(sheet: Sheet) -> str:
    """Say what is still to be marked before the sheet can be recorded; empty when nothing is."""
    if not sheet.entries:
        side = "r for right, l for left" if sheet.step.sides and not sheet.sides else ""
        last = SITE_LETTERS[len(sheet.step.sites) - 1] if sheet.step.sites else ""
        site = f"a–{last} for the site" if sheet.step.sites and not sheet.sites else ""
        return f"Where? {' and '.join(filter(None, (side, site)))}, z for all."
    if sheet.outcome is Outcome.DIFFERS and not (sheet.findings or sheet.words):
        return "What differs? A number for a finding, t for your own words."
    return ""


def result(sheet: Sheet, reason: str = "") -> Result:
    """Return what the sheet records."""
    order = [finding.id for finding in sheet.step.findings]
    return Result(
        entries=tuple(entry.key for entry in sheet.entries),
        outcome=sheet.outcome,
        findings=tuple(sorted(sheet.findings, key=order.index)),
        detail=sheet.words,
        tell=sheet.tell,
        reason=reason,
    )


def rest_as_expected(session: Session, sheet: Sheet) -> Result | None:
    """Return a result that records all other open entries as expected; None when there are none."""
    marked = set(sheet.entries)
    rest = tuple(entry.key for entry in open_entries(session, sheet.step) if entry not in marked)
    return Result(entries=rest, outcome=Outcome.EXPECTED) if rest else None


_TITLES = {
    Outcome.DIFFERS: "What differs",
    Outcome.NOT_EXAMINED: "Why not examined",
    Outcome.UNSEEN: "Attempted, not seen",
}


def sheet_lines(sheet: Sheet, width: int) -> list[Line]:
    """Return the sheet: where, what, and the examiner's own words."""
    lines: list[Line] = [((f"{_TITLES[sheet.outcome]}: {sheet.step.title}", "title"),)]
    if sheet.step.expect and sheet.outcome is Outcome.DIFFERS:
        lines += labelled("Expect", sheet.step.expect, width, "quiet")
    lines += [BLANK, *_where(sheet, width)]
    match sheet.outcome:
        case Outcome.DIFFERS:
            lines += _marked_findings(sheet, width)
        case Outcome.NOT_EXAMINED:
            lines += [((f"  {number}  {reason}", ""),) for number, reason in enumerate(REASON_KEYS, start=1)]
            lines += [(("  t  another reason, in your own words", ""),)]
    if sheet.words:
        urgency = TELL_WORDS[sheet.tell or "note"] or "write down only"
        tail = f"  [{urgency}; y changes it]" if sheet.outcome is Outcome.DIFFERS else ""
        lines += [BLANK, *labelled("Words", f"“{sheet.words}”{tail}", width, "strong")]
    return lines


def _where(sheet: Sheet, width: int) -> list[Line]:
    """Which sides and sites are marked, with their keys."""
    lines: list[Line] = []
    if sheet.step.sides:
        lines += labelled(
            "Side", "   ".join(_box(side[0], side, side in sheet.sides) for side in SIDES), width
        )
    if sheet.step.sites:
        boxes = (
            _box(letter, site, site in sheet.sites)
            for letter, site in zip(SITE_LETTERS, sheet.step.sites, strict=False)
        )
        lines += labelled("Site", "   ".join(box.replace(" ", "\u00a0") for box in boxes), width)
    return [*lines, BLANK] if lines else []


def _box(key: str, name: str, is_marked: bool) -> str:
    return f"{key} [{'x' if is_marked else ' '}] {name}"


def _marked_findings(sheet: Sheet, width: int) -> Iterator[Line]:
    for number, finding in enumerate(sheet.step.findings, start=1):
        is_marked = finding.id in sheet.findings
        mark = f"{'':<{LABEL_WIDTH - 4}}[{'x' if is_marked else ' '}] "
        line = finding_line(number, finding, width, mark)
        yield tuple((text, "strong" if is_marked and not look else look) for text, look in line)
    yield ((f"{'':<{LABEL_WIDTH}}t say it in your own words", "quiet"),)
