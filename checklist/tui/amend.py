"""Amending a finished session: late entries and corrections, with who and why, beside what stands.

Nothing is written before both are typed; what is corrected stays in the file and in every document.
"""

from collections.abc import Mapping, Sequence

from checklist.protocol.model import Entry, Step
from checklist.session.closing import amender_fault
from checklist.session.events import Outcome, Result
from checklist.session.readings import is_wanted
from checklist.session.recorder import Recorder
from checklist.session.standing import open_entries
from checklist.session.state import Record
from checklist.text import one_line
from checklist.tui import lists, sheet
from checklist.tui.amend_view import amend_lines, how_to_tell, is_as_it_stands, pending_words
from checklist.tui.closing import WHO
from checklist.tui.draw import BLANK, Line, labelled, spread
from checklist.tui.keys import Key, View
from checklist.tui.screen import PAGE
from checklist.tui.sheet_keys import SheetKeys
from checklist.tui.step_finder import StepFinder

_VIEWS = {"steps": "amend_list", "step": "amend"}
WHY = "Why"
_ROWS_ABOVE = 6
"""Entries that stay in sight above the chosen one."""
DROPPED = "Nothing was written."


class AmendScreen(StepFinder, SheetKeys):
    """The list of steps, then one step; what is marked there is written once who and why are known."""

    def __init__(self, recorder: Recorder) -> None:
        super().__init__(recorder)
        self.place = "steps"
        self.message = (recorder.notice, "warn")
        self._step = recorder.session.protocol.steps[0]
        self._pending: tuple[Result, ...] = ()
        """What is to be written, while who and why are being typed."""
        self._who = ""
        """Who amended last, offered again."""

    @property
    def step(self) -> Step:
        return self._step

    # What is to be seen.

    @property
    def view(self) -> View:
        return self.sheet_view or self.checklist.views[_VIEWS[self.place]]

    @property
    def rows(self) -> list[lists.Row]:
        return lists.outline_rows(self.session, self.typed)

    def label(self, key: Key) -> str:
        if key.id in {"confirm", "accept"} and (self.sheet or self.is_measuring):
            return "go on"
        return super().label(key)

    def useful(self, key: Key) -> bool:
        if key.id in {"down", "up"} and self.place == "step":
            return len(self.step.entries) > 1
        return super().useful(key)

    def head(self, width: int) -> Sequence[Line]:
        header = self.session.header
        right = f"{header.participant}   {'PRACTICE' if header.is_simulated else 'CARE'} "
        return [spread([(f"Amend: {self.session.protocol.title}", "bar")], [(right, "bar")], width), BLANK]

    def body(self, width: int, height: int) -> Sequence[Line]:
        if self.sheet:
            return sheet.sheet_lines(self.sheet, self.checklist.key_names, width)
        if self.place == "steps":
            return lists.list_lines(self.list_title(), self.rows, self.cursor, width, height)
        lines = amend_lines(self.session, self.step, self.chosen, width)
        if self._pending:
            lines = [*labelled("To write", self._pending_words, width, "strong", "warn"), BLANK, *lines]
        return lines

    def standing_message(self) -> tuple[str, str]:
        if self._pending and self.line:
            # In the line itself it stands only while nothing is typed.
            return f"{self.line.label}:", "strong"
        is_list = self.place == "steps" and not self.sheet
        return ("What is corrected stays legible in every document." if is_list else ""), "quiet"

    # The list of steps.

    def on_mount(self) -> None:
        self.cursor = lists.first_choice(self.rows)

    def do_go(self) -> None:
        rows = self.rows
        if self.cursor < len(rows) and rows[self.cursor].step:
            self._step = self.session.protocol.step_of[rows[self.cursor].step]
            self.place, self.typed, self.chosen, self.offset_rows = "step", "", None, 0
        else:
            self.say("Nothing is chosen.")

    def do_cancel(self) -> None:
        """Go back by one: from the sheet to the step, to the list, to the note."""
        if self.sheet:
            self.sheet = None
        elif self.typed or self.place == "step":
            self.place, self.typed, self.chosen, self.offset_rows = "steps", "", None, 0
            self.cursor = lists.first_choice(self.rows, self.step.id)
        else:
            self.checklist.read_finished()

    def do_drop(self) -> None:
        """Close the line; with it goes what was to be written."""
        self.line = None
        if self._pending:
            self._pending = ()
            self.say(DROPPED, "warn")
        elif self.place == "steps":
            self.typed = ""
            self.cursor = lists.first_choice(self.rows, self.step.id)

    def move_by(self, by: int) -> None:
        if self.sheet:
            super().move_by(by)
        elif self.place == "steps":
            self.cursor = lists.moved(self.rows, self.cursor, by)
        else:
            self._choose_entry(by)

    def _choose_entry(self, by: int) -> None:
        ring: list[Entry | None] = [None, *self.step.entries]
        if len(ring) == 2:
            self.say("This step has one entry.")
        else:
            place = (ring.index(self.chosen) + by) % len(ring)
            self.chosen, self.offset_rows = ring[place], max(0, place - _ROWS_ABOVE)

    def do_page_up(self) -> None:
        self._page(-PAGE)

    def do_page_down(self) -> None:
        self._page(PAGE)

    def _page(self, rows: int) -> None:
        """Go through the list, or scroll a step whose entries and findings do not fit."""
        if self.place == "steps":
            self.move_by(rows)
        else:
            self.offset_rows = max(0, self.offset_rows + rows)

    # Amending.

    @property
    def _records(self) -> Mapping[str, Record]:
        return self.session.state.records.get(self.step.id, {})

    @property
    def _pending_words(self) -> str:
        return pending_words(self.step, self._records, self._pending)

    def do_done(self) -> None:
        """Amend to as expected what is chosen, or all that is open."""
        if is_wanted(self.step):
            self.do_reading()
            return
        meant = (self.chosen,) if self.chosen else open_entries(self.session, self.step) or self._only_entry
        if meant:
            self.record(Result(entries=tuple(entry.key for entry in meant), outcome=Outcome.EXPECTED))
        else:
            self.say(f"Nothing is open here. {self.key('amend.down')} chooses what to correct.")

    @property
    def _only_entry(self) -> tuple[Entry, ...]:
        return self.step.entries if len(self.step.entries) == 1 else ()

    def record(self, *results: Result) -> None:
        """Hold what is to be written, and ask who writes it and why."""
        self.sheet, self.offset_rows = None, 0
        if is_as_it_stands(self._records, results):
            self.say("That is what stands already; nothing was written.")
            return
        self._pending = results
        self.type_text(WHO, self._who, self._take_who)

    def _take_who(self, text: str) -> None:
        """Take initials or a code; what looks like a person is not kept, however often it is typed."""
        code = one_line(text)
        if fault := amender_fault(code):
            self.say(f"Not kept: {fault}.", "warn")
            self.type_text(WHO, code, self._take_who)
        else:
            self._who = code
            self._ask_why("")

    def _ask_why(self, text: str) -> None:
        self.type_text(WHY, text, self._take_why)

    def _take_why(self, text: str) -> None:
        if not one_line(text):
            self.say("An amendment says why: type a reason, or leave without writing.", "warn")
            self._ask_why("")
            return
        said, results = self._pending_words, self._pending
        # Before it is written: a write that fails leaves nothing half meant behind.
        self._pending = ()
        self.recorder.amend(self.step.id, results, self._who, text)
        self.chosen = None
        to_tell = self._to_tell(results)
        self.say(f"{to_tell}Written. {said}", "warn" if to_tell else "strong")

    def _to_tell(self, results: Sequence[Result]) -> str:
        how_fast = how_to_tell(self.step, results)
        if not how_fast:
            return ""
        return f"{how_fast}; {self.key('note.told')} in the note answers whom. "
