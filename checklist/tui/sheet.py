"""The sheets on which the examiner says what is not as expected: pure values, and how they look.

A sheet is changed by keys and confirmed by one; until then nothing is recorded.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from checklist.protocol.model import SIDES, URGENCIES, Entry, Step
from checklist.session import readings
from checklist.session.events import REASONS, TELLS, Outcome, Result
from checklist.session.session import Session
from checklist.session.standing import open_entries
from checklist.tui.draw import BLANK, LABEL_WIDTH, Line, labelled
from checklist.tui.keys import DIGITS, SITE_LETTERS
from checklist.tui.step_view import TELL_WORDS, finding_line

if TYPE_CHECKING:
    from checklist.measures.reading import Meaning

_URGENCY_AFTER = {"": "report", "report": "urgent", "urgent": ""}


@dataclass(frozen=True, kw_only=True, slots=True)
class Sheet:
    """What is marked so far, for one step."""

    step: Step
    outcome: Outcome
    entries: tuple[Entry, ...] = ()
    """The entries that are marked."""
    is_preset: bool = False
    """Whether they were marked by opening the sheet: then the first side or site pressed is meant alone."""
    findings: frozenset[str] = frozenset()
    words: str = ""
    tell: str = ""
    reading: str = ""
    """What was measured, in its canonical form."""

    @property
    def sides(self) -> set[str]:
        return {entry.side for entry in self.entries}

    @property
    def sites(self) -> set[str]:
        return {entry.site for entry in self.entries}


def opened(session: Session, step: Step, outcome: Outcome, chosen: Entry | None) -> Sheet:
    """Return a new sheet.

    Marked from the start is what can only be meant: the chosen entry, the only open one, and for a reason
    not to examine all that is open.
    A chosen entry that was examined already brings along what was found there, and its reading.
    """
    entries = (chosen,) if chosen else open_entries(session, step)
    if not entries and (outcome is Outcome.DIFFERS or len(step.entries) == 1):
        entries = step.entries
    if outcome is Outcome.DIFFERS and len(entries) > 1:
        return Sheet(step=step, outcome=outcome)
    sheet = Sheet(step=step, outcome=outcome, entries=entries, is_preset=len(step.entries) > 1)
    record = session.state.records.get(step.id, {}).get(entries[0].key) if len(entries) == 1 else None
    return _with_what_stands(sheet, record.result) if record and outcome is Outcome.DIFFERS else sheet


def _with_what_stands(sheet: Sheet, old: Result) -> Sheet:
    """Return the sheet with what was recorded of its entry before, if that was examined."""
    match old.outcome:
        case Outcome.DIFFERS:
            # With a finding told as fast, what the reading asks for was not written down.
            tell = old.tell or (_told_for(sheet.step, old.reading) if old.findings else "")
            findings = frozenset(old.findings)
            return replace(sheet, findings=findings, words=old.detail, tell=tell, reading=old.reading)
        case Outcome.EXPECTED:
            return replace(sheet, reading=old.reading, tell=_told_for(sheet.step, old.reading))
        case _:
            return sheet


def with_reading(sheet: Sheet, meaning: "Meaning") -> Sheet:
    """Return the sheet with a reading; out of range, it brings along how fast that is told.

    What the reading before it brought along goes with that one, unless own words are told as fast.
    """
    before = _told_for(sheet.step, sheet.reading)
    kept = sheet.tell if sheet.words or sheet.tell != before else ""
    tell = max(kept, _told(meaning), key=("", *TELLS).index)
    return replace(sheet, reading=meaning.text, tell=tell)


def _told_for(step: Step, reading: str) -> str:
    """Return how fast a reading is told by its range; empty for one in range, or not understood."""
    meaning = readings.meaning(step, Result(entries=(), outcome=Outcome.DIFFERS, reading=reading))
    return _told(meaning) if meaning else ""


def _told(meaning: "Meaning") -> str:
    return meaning.tell if meaning.tell in TELLS else ""


def _remarked(sheet: Sheet, sides: set[str], sites: set[str]) -> Sheet:
    """Mark the given sides × sites; a sheet of differences keeps them until both are known."""
    entries = tuple(each for each in sheet.step.entries if each.side in sides and each.site in sites)
    return replace(sheet, entries=entries, is_preset=False)


def toggled_finding(sheet: Sheet, key: str) -> Sheet:
    """Mark or unmark the finding with this number; a number without a finding changes nothing."""
    number = DIGITS.index(key)
    if number >= len(sheet.step.findings):
        return sheet
    return replace(sheet, findings=sheet.findings ^ {sheet.step.findings[number].id})


def toggled_side(sheet: Sheet, side: str) -> Sheet:
    """Mark or unmark a side, at the sites that are marked, or at all of them while none is."""
    if not sheet.step.sides:
        return sheet
    sides = {side} if sheet.is_preset else sheet.sides ^ {side}
    sites = sheet.sites if sheet.sites and not sheet.is_preset else {each.site for each in sheet.step.entries}
    return _remarked(sheet, sides, sites)


def toggled_site(sheet: Sheet, key: str) -> Sheet:
    """Mark or unmark the site with this letter, on the sides that are marked, or on both while none is."""
    number = SITE_LETTERS.index(key)
    if number >= len(sheet.step.sites):
        return sheet
    site = sheet.step.sites[number]
    is_whole = sheet.sites == {each.site for each in sheet.step.entries}
    sites = {site} if sheet.is_preset or is_whole else sheet.sites ^ {site}
    sides = sheet.sides if sheet.sides and not sheet.is_preset else {each.side for each in sheet.step.entries}
    return _remarked(sheet, sides, sites)


def toggled_all(sheet: Sheet) -> Sheet:
    """Mark all sides and sites, or none when all are marked."""
    entries = () if sheet.entries == sheet.step.entries else sheet.step.entries
    return replace(sheet, entries=entries, is_preset=False)


def next_urgency(sheet: Sheet) -> Sheet:
    """Change how fast the examiner's own words must be told."""
    return replace(sheet, tell=_URGENCY_AFTER[sheet.tell]) if sheet.words or sheet.reading else sheet


def told_apart(sheet: Sheet) -> str:
    """Return how fast words and reading are told on their own.

    A reading needs no telling of its own when a marked finding is told as fast already.
    """
    fastest = max(
        (sheet.step.finding_of[each].tell for each in sheet.findings), key=URGENCIES.index, default="note"
    )
    is_told = not sheet.words and URGENCIES.index(fastest) >= URGENCIES.index(sheet.tell or "note")
    return "" if is_told else sheet.tell


def lacking(sheet: Sheet, names: Mapping[str, str]) -> str:
    """Say what is still to be marked before the sheet can be recorded; empty when nothing is."""
    if not sheet.entries:
        parts = []
        if sheet.step.sides:
            parts.append(f"{names['sheet.right']} for right, {names['sheet.left']} for left")
        if sheet.step.sites:
            parts.append(f"a–{SITE_LETTERS[len(sheet.step.sites) - 1]} for a site")
        return f"Where? {', '.join(parts)}, {names['sheet.everywhere']} for all."
    if sheet.outcome is Outcome.DIFFERS and not (sheet.findings or sheet.words or sheet.reading):
        return f"What differs? A number for a finding, {names['sheet.words']} for your own words."
    return ""


def result(sheet: Sheet, reason: str = "") -> Result:
    """Return what the sheet records."""
    order = [finding.id for finding in sheet.step.findings]
    return Result(
        entries=tuple(entry.key for entry in sheet.entries),
        outcome=sheet.outcome,
        findings=tuple(sorted(sheet.findings, key=order.index)),
        detail=sheet.words,
        tell=told_apart(sheet),
        reason=reason,
        reading=sheet.reading,
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


def sheet_lines(sheet: Sheet, names: Mapping[str, str], width: int) -> list[Line]:
    """Return the sheet: where, what, and the examiner's own words."""
    lines: list[Line] = [((f"{_TITLES[sheet.outcome]}: {sheet.step.title}", "title"),)]
    if sheet.step.expect and sheet.outcome is Outcome.DIFFERS:
        lines += labelled("Expect", sheet.step.expect, width, "quiet")
    lines += [BLANK, *_where(sheet, names, width)]
    lines += _reading(sheet, names, width)
    match sheet.outcome:
        case Outcome.DIFFERS:
            lines += _marked_findings(sheet, names, width)
        case Outcome.NOT_EXAMINED:
            lines += [((f"  {number}  {reason}", ""),) for number, reason in enumerate(REASONS, start=1)]
            lines += [((f"  {names['reason.words']}  another reason, in your own words", ""),)]
    if sheet.words:
        lines += [BLANK, *labelled("Words", f"“{sheet.words}”", width, "strong")]
    if sheet.outcome is Outcome.DIFFERS and (sheet.words or told_apart(sheet) or _is_hushed(sheet)):
        urgency = TELL_WORDS[sheet.tell or "note"] or "write down only"
        lines += labelled("How fast", f"{urgency}  ({names['sheet.urgency']} changes it)", width, "strong")
    return lines


def _is_hushed(sheet: Sheet) -> bool:
    """Whether the examiner chose to tell nobody of a reading that its range asks to be told."""
    return not sheet.tell and bool(_told_for(sheet.step, sheet.reading))


def _where(sheet: Sheet, names: Mapping[str, str], width: int) -> list[Line]:
    """Which sides and sites are marked, with their keys."""
    lines: list[Line] = []
    if sheet.step.sides:
        boxes = (_box(names[f"sheet.{side}"], side, side in sheet.sides) for side in SIDES)
        lines += labelled("Side", "   ".join(boxes), width)
    if sheet.step.sites:
        boxes = (
            _box(letter, site, site in sheet.sites)
            for letter, site in zip(SITE_LETTERS, sheet.step.sites, strict=False)
        )
        lines += labelled("Site", "   ".join(box.replace(" ", "\u00a0") for box in boxes), width)
    if len(sheet.entries) not in {0, len(sheet.sides) * len(sheet.sites)}:
        lines += labelled("That is", ", ".join(entry.label for entry in sheet.entries), width)
    return [*lines, BLANK] if lines else []


def _reading(sheet: Sheet, names: Mapping[str, str], width: int) -> list[Line]:
    """What was measured, with each range that it is out of, the source, and how fast that is told."""
    meaning = readings.meaning(sheet.step, Result(entries=(), outcome=sheet.outcome, reading=sheet.reading))
    if not sheet.reading:
        return []
    lines = labelled("Reading", meaning.words if meaning else sheet.reading, width, "strong")
    for remark in meaning.remarks if meaning else ():
        how_fast = f" · {TELL_WORDS.get(remark.tell) or 'write down'}" if remark.tell else ""
        lines += labelled("Range" if remark.tell else "", f"{remark.text} ({remark.source}){how_fast}", width)
    decide = (
        f"{names['sheet.confirm']} records that it differs, {names['sheet.keep']} that it is as expected."
    )
    return [*lines, *labelled("Decide", decide, width, "quiet"), BLANK]


def _box(key: str, name: str, is_marked: bool) -> str:
    return f"{key} [{'x' if is_marked else ' '}] {name}"


def _marked_findings(sheet: Sheet, names: Mapping[str, str], width: int) -> Iterator[Line]:
    for number, finding in enumerate(sheet.step.findings, start=1):
        is_marked = finding.id in sheet.findings
        mark = f"{'':<{LABEL_WIDTH - 4}}[{'x' if is_marked else ' '}] "
        line = finding_line(number, finding, width, mark)
        yield tuple((text, "strong" if is_marked and not look else look) for text, look in line)
    yield ((f"{'':<{LABEL_WIDTH}}{names['sheet.words']} say it in your own words", "quiet"),)
