"""The keys of the sheets: what differs, why not examined, attempted and not seen.

What a confirmed sheet comes to is up to the screen: in an examination it is recorded, after the end amended.
"""

from dataclasses import replace

from checklist.session.events import REASONS, Outcome
from checklist.session.readings import is_wanted
from checklist.text import one_line
from checklist.tui import sheet
from checklist.tui.keys import Key, View
from checklist.tui.measuring import Measuring

SHEET_VIEWS = {
    Outcome.DIFFERS: "sheet",
    Outcome.NOT_EXAMINED: "reason",
    Outcome.UNSEEN: "unseen",
}


class SheetKeys(Measuring):
    """Adds sheets to a screen that stands at a step."""

    @property
    def sheet_view(self) -> View | None:
        """The view of the open sheet; None while none is open."""
        return self.checklist.views[SHEET_VIEWS[self.sheet.outcome]] if self.sheet else None

    def label(self, key: Key) -> str:
        return "no value" if key.id == "skip" and self.sheet else super().label(key)

    def useful(self, key: Key) -> bool:
        match key.id:
            case "finding":
                return bool(self.step.findings)
            case "urgency":
                return bool(self.sheet and (self.sheet.words or self.sheet.reading))
            case "reading":
                return self.step.reading is not None
            case "keep":
                return bool(self.sheet and self.sheet.reading)
            case "unseen":
                return self.step.may_be_unseen
            case "right" | "left":
                return self.step.sides
            case "site":
                return bool(self.step.sites)
            case _:
                return super().useful(key)

    def do_differs(self) -> None:
        self.sheet = sheet.opened(self.session, self.step, Outcome.DIFFERS, self.chosen)

    def do_not_examined(self) -> None:
        self.sheet = sheet.opened(self.session, self.step, Outcome.NOT_EXAMINED, self.chosen)

    def do_unseen(self) -> None:
        if self.step.may_be_unseen:
            self.sheet = sheet.opened(self.session, self.step, Outcome.UNSEEN, self.chosen)
        else:
            self.say("This step has no 'attempted, not seen'.")

    def do_finding(self, key: str) -> None:
        if not self.sheet:
            self.do_differs()
        if self.sheet:
            marked = sheet.toggled_finding(self.sheet, key)
            if marked is self.sheet:
                words = self.key("sheet.words")
                self.say(f"There is no finding {key} here; {words} says it in your own words.")
            self.sheet = marked

    def do_right(self) -> None:
        self._mark_side("right")

    def do_left(self) -> None:
        self._mark_side("left")

    def _mark_side(self, side: str) -> None:
        if self.sheet:
            self.sheet = sheet.toggled_side(self.sheet, side)

    def do_site(self, key: str) -> None:
        if self.sheet:
            self.sheet = sheet.toggled_site(self.sheet, key)

    def do_everywhere(self) -> None:
        if self.sheet:
            self.sheet = sheet.toggled_all(self.sheet)

    def do_urgency(self) -> None:
        if self.sheet:
            self.sheet = sheet.next_urgency(self.sheet)

    def do_reason(self, key: str) -> None:
        self._confirm(reason=REASONS[int(key) - 1])

    def do_confirm(self) -> None:
        self._confirm()

    def do_confirm_rest(self) -> None:
        self._confirm(with_rest=True)

    def do_words(self) -> None:
        """Type own words: what differs, what hindered, or another reason."""
        if self.sheet is None:
            return
        if self.sheet.outcome is Outcome.NOT_EXAMINED:
            self.type_text("Why it was not examined", "", self._reason_in_words)
        else:
            self.type_text(
                "In your own words: what was seen, felt, heard, measured", self.sheet.words, self._words
            )

    def _words(self, text: str) -> None:
        if self.sheet:
            words = one_line(text)
            tell = self.sheet.tell if words or self.sheet.reading else ""
            self.sheet = replace(self.sheet, words=words, tell=tell)
            self.warn_of_identity(words)

    def _reason_in_words(self, text: str) -> None:
        if reason := one_line(text):
            self._confirm(reason=reason)

    def _confirm(self, reason: str = "", with_rest: bool = False) -> None:
        """Record the sheet, once it says all that it must."""
        marked = self.sheet
        if marked is None:
            return
        if missing := sheet.lacking(marked, self.checklist.key_names):
            self.say(missing, "warn")
            return
        results = [sheet.result(marked, reason)]
        # Where readings are wanted, the rest is asked for one by one.
        with_rest = with_rest and not is_wanted(self.step)
        if with_rest and (rest := sheet.rest_as_expected(self.session, marked)):
            results.append(rest)
        self.record(*results)
