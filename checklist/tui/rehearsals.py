"""Choosing a rehearsal of a protocol: what, of which section, said or typed, and under whose code."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from checklist.identity import identity_warning
from checklist.practice import rehearsing, tasks
from checklist.practice.generated import pictures
from checklist.practice.library import CaseHeadline, case_headlines
from checklist.practice.rehearsal import CONTENT, GAPS, LEFT_OUT, ORDER, scope
from checklist.practice.rehearsing import LastTime
from checklist.practice.tasks import RANDOM, Wish
from checklist.protocol.library import Loaded
from checklist.protocol.model import Protocol
from checklist.session.opening import CODE_LENGTH
from checklist.session.store import Summary, summaries
from checklist.text import one_line
from checklist.tui.draw import BLANK, Line, crop, spread, window
from checklist.tui.keys import View
from checklist.tui.screen import DrawnScreen

LABEL_CELLS = 10


@dataclass(frozen=True, kw_only=True, slots=True)
class Settings:
    """How it is rehearsed; empty means the whole protocol, and no code."""

    section: str = ""
    is_typed: bool = False
    examiner: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Row:
    """One line of the list; a heading begins nothing."""

    text: str
    note: str = ""
    hint: str = ""
    """What it asks of the person."""
    why: str = ""
    """Why it cannot be begun now."""
    wish: Wish | None = None
    case: Path | None = None
    look: str = ""
    """The document to look back with."""
    is_heading: bool = False


def rows(
    protocol: Protocol, settings: Settings, last: LastTime | None, cases: Sequence[CaseHeadline]
) -> list[Row]:
    """Return all that can be begun, and what cannot, with the reason."""
    return [
        *_by_recall(protocol, settings, last),
        _patient(settings, Row(text="Simulated patient: any", hint=_PATIENT, why=_no_patient(protocol))),
        # A case that cannot be read says of no protocol that it is for it: it stands in every list.
        *(_patient(settings, _case_row(each)) for each in cases if each.protocol in {"", protocol.id}),
        Row(text="Look back", is_heading=True),
        Row(text="What to practise next", look="practise", hint="What past sessions say is due, and why."),
        Row(text="Progress", look="progress", hint="How the sessions on this protocol went over time."),
    ]


def _by_recall(protocol: Protocol, settings: Settings, last: LastTime | None) -> list[Row]:
    wish = Wish(section=settings.section, is_typed=settings.is_typed)
    no_order = "" if scope(protocol, settings.section) else "conditional steps only"
    around, why_not_around = _around(protocol, settings, last)
    few = "" if tasks.can_draw(protocol, settings.section) else "too few steps to draw one"
    return [
        Row(text="Recall the order", hint=_ORDER, why=no_order, wish=replace(wish, kind=ORDER)),
        Row(
            text="Recall the order from a random step",
            hint=_RANDOM,
            why=no_order or few,
            wish=replace(wish, kind=ORDER, begin_at=RANDOM),
        ),
        Row(
            text="Around what was left out last time",
            note=_last_words(last, len(around)),
            hint=_AROUND,
            why=no_order or why_not_around,
            wish=replace(wish, kind=GAPS, around=around),
        ),
        Row(
            text="What was left out? A run with gaps",
            note="always typed",
            hint=_GAPS,
            why=no_order,
            wish=replace(wish, kind=LEFT_OUT),
        ),
        Row(text="Recall the content", hint=_CONTENT, wish=replace(wish, kind=CONTENT)),
    ]


_ORDER = "Bring to mind which step comes next, look, and mark it honestly."
_RANDOM = "The same, from a step that is drawn now."
_AROUND = "Those steps alone, each with the one before and the one after it."
_GAPS = "A run is shown that lacks a few steps; name them."
_CONTENT = "One question a step, shuffled: what is expected, equipment, caution …"
_PATIENT = "Look at each step, record what is there, and say at the end what you tell."


def _around(protocol: Protocol, settings: Settings, last: LastTime | None) -> tuple[tuple[str, ...], str]:
    """Return the steps that were left out last time and belong here, and why there are none."""
    if last is None:
        code = f"under {settings.examiner}" if settings.examiner else "without a code"
        return (), f"nothing finished {code} yet"
    if not last.steps:
        return (), f"nothing left out on {last.created:%Y-%m-%d}"
    here = tasks.here(protocol, settings.section, last.steps)
    return here, "" if here else "none of it in this section"


def _last_words(last: LastTime | None, count: int) -> str:
    return f"{count} step{'' if count == 1 else 's'}, {_when(last)}" if last else ""


def _when(last: LastTime) -> str:
    return f"{last.mode} of {last.created:%Y-%m-%d}"


def _case_row(case: CaseHeadline) -> Row:
    """Name a case by its id: its title may say what there is to find, and is told at the end."""
    return Row(
        text=f"Simulated patient: {case.id}",
        note=case.origin,
        hint=_PATIENT,
        why=case.problem,
        case=case.path,
    )


def _no_patient(protocol: Protocol) -> str:
    """Say why none can be made: what it shows is a pattern, or a class of what is computed."""
    return "" if pictures(protocol) else "the protocol has no patterns"


def _patient(settings: Settings, row: Row) -> Row:
    """A patient is examined from head to end: the section cannot go with it."""
    return replace(row, why=row.why or ("a patient takes the whole protocol" if settings.section else ""))


class RehearsalsScreen(DrawnScreen):
    """The settings above, the list below, with a cursor."""

    def __init__(self, loaded: Loaded, settings: Settings | None = None) -> None:
        super().__init__()
        self.loaded = loaded
        self.cases = case_headlines()
        self.past: Sequence[Summary] = summaries()
        self.settings = settings or Settings(examiner=rehearsing.own_code(self.past))
        if self.settings.section not in self._sections:
            # The protocol was changed since.
            self.settings = replace(self.settings, section="")
        self.cursor = 0
        self._last: dict[str, LastTime | None] = {}
        """What was left out last time, by the code, as it was read."""
        self._doubted = ""
        """The code that the last key asked about."""

    @property
    def view(self) -> View:
        return self.checklist.views["rehearsals"]

    @property
    def _sections(self) -> list[str]:
        return ["", *(section.id for section in self.loaded.protocol.sections)]

    @property
    def rows(self) -> list[Row]:
        code = self.settings.examiner.casefold()
        if code not in self._last:
            self._last[code] = rehearsing.last_time(self.past, self.loaded.protocol, code)
        return rows(self.loaded.protocol, self.settings, self._last[code], self.cases)

    def head(self, width: int) -> Sequence[Line]:
        return [
            spread([(f"Rehearse: {self.loaded.protocol.title}", "bar")], [("NO PATIENT ", "bar")], width),
            BLANK,
        ]

    def body(self, width: int, height: int) -> Sequence[Line]:
        lines = [*self._setting_lines(width), BLANK]
        listed = self.rows
        for index in window(len(listed), self.cursor, height - len(lines)):
            lines.append(_row_line(listed[index], index == self.cursor, width))
        return lines

    def _setting_lines(self, width: int) -> list[Line]:
        return [
            self._setting_line("Section", self._section_words, "section", width),
            self._setting_line("Answers", self._answer_words, "typed", width),
            self._setting_line("Code", self.settings.examiner or "none", "code", width),
        ]

    def _setting_line(self, label: str, value: str, key: str, width: int) -> Line:
        left = [(f"{label:<{LABEL_CELLS}}", "quiet"), (value, "strong")]
        return spread(left, [(f"{self.key(f'rehearsals.{key}')} changes it", "quiet")], width)

    @property
    def _section_words(self) -> str:
        sections = self.loaded.protocol.sections
        titles = {section.id: section.title for section in sections}
        return titles.get(self.settings.section, f"all {len(sections)} sections")

    @property
    def _answer_words(self) -> str:
        return "typed, where a step is asked for" if self.settings.is_typed else "said aloud"

    def standing_message(self) -> tuple[str, str]:
        row = self.rows[self.cursor]
        return (f"Not now: {row.why}.", "warn") if row.why else (row.hint, "quiet")

    # Settings.

    def press(self, means: str, key: str) -> None:
        if not self.line and means != "begin":
            self._doubted = ""
        super().press(means, key)

    def do_section(self) -> None:
        self._step_section(1)

    def do_section_back(self) -> None:
        self._step_section(-1)

    def _step_section(self, by: int) -> None:
        ids = self._sections
        self._set(section=ids[(ids.index(self.settings.section) + by) % len(ids)])

    def do_typed(self) -> None:
        self._set(is_typed=not self.settings.is_typed)

    def do_code(self) -> None:
        self.type_text("Your code, then Enter; empty for none", self.settings.examiner, self._take_code)

    def _take_code(self, text: str) -> None:
        """Take a code; one that looks like an identity stays in the line until it is taken twice."""
        code = one_line(text)[:CODE_LENGTH]
        warning = identity_warning(code)
        if warning and self._doubted != code:
            self._doubted = code
            self.message = (f"'{code}' {warning}. Use a made-up code; Enter again keeps it.", "warn")
            self.type_text("Your code", code, self._take_code)
            return
        self._set(examiner=code)

    def _set(self, **changes: object) -> None:
        self.settings = replace(self.settings, **changes)  # type: ignore[arg-type]
        self.checklist.rehearsals[self.loaded.path] = self.settings

    # The list.

    def move_by(self, rows: int) -> None:
        """Move over the lines that begin something, stopping at the ends."""
        places = [place for place, row in enumerate(self.rows) if not row.is_heading]
        self.cursor = places[max(0, min(len(places) - 1, places.index(self.cursor) + rows))]

    def do_begin(self) -> None:
        row = self.rows[self.cursor]
        if row.why:
            self.message = (f"Not now: {row.why}.", "warn")
        elif row.look:
            self._look_back(row.look)
        elif self._is_code_agreed():
            self._begin(row)

    def _begin(self, row: Row) -> None:
        code = self.settings.examiner
        if row.wish:
            self.checklist.recall(self.loaded, row.wish, code)
        else:
            self.checklist.meet_patient(self.loaded, row.case, code)

    def _is_code_agreed(self) -> bool:
        """Whether the code looks like no identity, or was asked about: the second key begins all the same."""
        code = self.settings.examiner
        warning = identity_warning(code)
        if not warning or self._doubted == code:
            return True
        self._doubted = code
        begin = self.key("rehearsals.begin")
        self.message = (f"{begin} again begins, but: code {warning}: use a made-up code.", "warn")
        return False

    def do_practise(self) -> None:
        self._look_back("practise")

    def do_progress(self) -> None:
        self._look_back("progress")

    def _look_back(self, what: str) -> None:
        self.checklist.look_back(self.loaded.path, what, self.settings.examiner)

    def do_cancel(self) -> None:
        self.checklist.go_home()


def _row_line(row: Row, is_chosen: bool, width: int) -> Line:
    if row.is_heading:
        return ((row.text, "strong"),)
    look = "cursor" if is_chosen else ""
    note = crop(row.why or row.note, width // 2)
    text_look = look or ("quiet" if row.why else "")
    return spread([(f"{'▸' if is_chosen else ' '} {row.text}", text_look)], [(note, look or "quiet")], width)
