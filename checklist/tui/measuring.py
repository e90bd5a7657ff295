"""Readings at the bedside: typed with an echo, tapped, counted or timed, and confirmed by one key.

A reading out of range never decides anything: it opens the sheet, and the examiner says what it is.
"""

from abc import abstractmethod
from dataclasses import replace
from typing import TYPE_CHECKING

from textual.timer import Timer

from checklist.errors import ChecklistError
from checklist.measures.reading import OTHER_SIDE_OF, Meaning, ReadingError
from checklist.protocol.model import Entry, Step
from checklist.session import readings
from checklist.session.events import Outcome, Result
from checklist.session.standing import open_entries
from checklist.text import one_line
from checklist.tui import sheet
from checklist.tui.at_step import AtStep
from checklist.tui.draw import Line
from checklist.tui.views import READING

if TYPE_CHECKING:
    from checklist.tui.timing import Timing

_TICK_SECONDS = 0.1


class Measuring(AtStep):
    """Adds the entry of readings to a screen that stands at a step."""

    timing: "Timing | None" = None
    measured: Entry | None = None
    """The entry whose reading is being typed."""
    _ticking: Timer | None = None

    @abstractmethod
    def record(self, *results: Result) -> None:
        """Record results for the current step."""

    # Typed.

    def do_reading(self) -> None:
        """Type the reading of what is chosen, of the next open entry, or of the sheet."""
        if self.step.reading is None:
            self.say("No reading is taken at this step.")
        elif self.sheet:
            self._ask(None, self.sheet.reading)
        elif entry := self._entry_to_measure():
            record = self.session.state.records.get(self.step.id, {}).get(entry.key)
            self._ask(entry, record.result.reading if record else "")
        else:
            self.say(f"All is recorded. {self.key('step.down')} chooses what to measure again.")

    def _entry_to_measure(self) -> Entry | None:
        candidates = open_entries(self.session, self.step)
        if self.chosen:
            return self.chosen
        if not candidates and len(self.step.entries) == 1:
            return self.step.entries[0]
        return candidates[0] if candidates else None

    def _ask(self, entry: Entry | None, text: str = "") -> None:
        """Open the line; the reading is that of `entry`, or of the sheet."""
        assert self.step.reading is not None
        self.measured, self.place, self.doubted = entry, "step", ""
        skip = "" if self.sheet else f"; {self.key('reading.skip')}: as expected, no value"
        where = f"{entry.label}: " if entry and entry.label else ""
        label = f"{where}{readings.kind_of(self.step.reading).accepts}{skip}"
        self._open_line(READING, label, text, self._typed)
        if text:
            self.line_changed()

    def begin_with(self, text: str) -> None:
        """Put the first characters into the line that was just opened; what stands there is typed anew."""
        if self.line and self.is_measuring:
            self.line = replace(self.line, text=text, cursor=len(text))
            self.line_changed()

    def line_changed(self) -> None:
        """Echo the reading in full words at once."""
        if self.line and self.is_measuring and self.step.reading:
            self.message = echo(self.step, self.measured, self.line.text)

    @property
    def is_measuring(self) -> bool:
        """Whether the open line takes a reading."""
        return self.line is not None and self.typing_view is READING

    def _typed(self, text: str) -> None:
        if (meaning := self._understood(text)) is None:
            return
        if self.sheet:
            self.sheet = sheet.with_reading(self.sheet, meaning)
        elif meaning.tell or self._has_more_than_a_reading():
            self._open_sheet(meaning)
        else:
            self._record_as_expected(meaning)

    def _record_as_expected(self, meaning: Meaning) -> None:
        """Record the reading; when it cannot be written, it stands in the line again."""
        assert self.measured is not None
        entries = (self.measured.key,)
        try:
            self.record(Result(entries=entries, outcome=Outcome.EXPECTED, reading=meaning.text))
        except ChecklistError:
            self._ask(self.measured, meaning.text)
            raise

    def _has_more_than_a_reading(self) -> bool:
        """Whether findings or words stand for the entry: a reading taken anew must not wipe them out."""
        of_step = self.session.state.records.get(self.step.id, {})
        record = of_step.get(self.measured.key) if self.measured else None
        return bool(record and (record.result.findings or record.result.detail))

    def _understood(self, text: str) -> Meaning | None:
        """Return what was typed; when that is nothing, wrong or doubtful, say so and ask again."""
        if not one_line(text):
            self.say("Nothing was typed, and nothing is recorded.")
            return None
        assert self.step.reading is not None
        try:
            meaning = readings.understood(self.step.reading, one_line(text))
        except ReadingError as error:
            self._ask(self.measured, text)
            self.say(f"Not kept: {error}", "warn")
            return None
        other = OTHER_SIDE_OF.get(self.measured.side) if self.measured else ""
        if other and other in meaning.text.split():
            self._ask(self.measured, text)
            self.say(f"Not kept: this is the {self.measured.side if self.measured else ''} side.", "warn")
            return None
        if meaning.doubt and self.doubted != text:
            self._ask(self.measured, text)
            self.doubted = text
            self.say(f"{meaning.doubt}. {self.key('reading.accept')} again keeps it.", "warn")
            return None
        return meaning

    def do_with_finding(self) -> None:
        """Take what is typed to the sheet, where findings and own words are added."""
        text = self.line.text if self.line else ""
        self.line = None
        if meaning := self._understood(text):
            if self.sheet:
                self.sheet = sheet.with_reading(self.sheet, meaning)
            else:
                self._open_sheet(meaning)

    def _open_sheet(self, meaning: Meaning) -> None:
        opened = sheet.opened(self.session, self.step, Outcome.DIFFERS, self.measured)
        self.sheet = sheet.with_reading(opened, meaning)

    def do_skip(self) -> None:
        """Record as expected without a value: the note will say that none was recorded.

        A clicker has this key too, and what is typed already is never thrown away by it.
        """
        if self.line and one_line(self.line.text):
            self.say(f"A reading is typed: {self.key('reading.accept')} takes it.", "warn")
            return
        if self.sheet or self.measured is None:
            self.say("The sheet is kept as it is.")
            self.line = None
            return
        self.line = None
        self.record(Result(entries=(self.measured.key,), outcome=Outcome.EXPECTED))

    def do_keep(self) -> None:
        """Record the reading on the sheet as expected all the same."""
        if self.sheet is None or not self.sheet.reading:
            self.say("There is no reading on this sheet.")
            return
        if missing := sheet.lacking(self.sheet, self.checklist.key_names):
            self.say(missing, "warn")
        elif self.sheet.findings or self.sheet.words:
            self.say("A finding or own words are marked, so it differs; unmark them first.", "warn")
        elif self.sheet.tell == "urgent" and self.doubted != self.sheet.reading:
            self.doubted = self.sheet.reading
            keep = self.key("sheet.keep")
            self.say(f"Out of range to be told at once. {keep} again records it as expected.", "warn")
        else:
            entries = tuple(entry.key for entry in self.sheet.entries)
            self.record(Result(entries=entries, outcome=Outcome.EXPECTED, reading=self.sheet.reading))

    def ask_for_next(self) -> None:
        """Open the line for the next open entry, after the reading of one was recorded."""
        entries = open_entries(self.session, self.step)
        if entries:
            message = self.message
            self._ask(entries[0])
            self.message = message

    # Timed.

    def do_time(self) -> None:
        """Tap, count or time the reading instead of typing it."""
        kind = readings.kind_of(self.step.reading) if self.step.reading else None
        entry = self._entry_to_measure()
        if kind is None or not kind.timing:
            self.say("Nothing is tapped or timed at this step.")
        elif entry is None:
            self.say(f"All is recorded. {self.key('step.down')} chooses what to measure again.")
        else:
            from checklist.tui.timing import Timing

            phases = kind.phases or ("",)
            self.show_timing(Timing(step=self.step, entry=entry, kind=kind.timing, phases=phases))

    def show_timing(self, timing: "Timing | None") -> None:
        self.timing = timing
        self.place = "timing" if timing else "step"
        if timing and self._ticking is None and self.checklist.surroundings.ticks:
            self._ticking = self.set_interval(_TICK_SECONDS, self.timing_ticked)
        elif timing is None and self._ticking:
            self._ticking.stop()
            self._ticking = None

    def timing_ticked(self) -> None:
        """Show the running time; a silent clock that has run out asks for the count."""
        from checklist.tui.timing import counted_text, is_over

        if self.timing is None or self.place != "timing":
            return
        if is_over(self.timing, self.recorder.seconds):
            self._type_timed(counted_text(self.timing), "The clock has run out: type the count.")
            assert self.line is not None
            if self.line.text.startswith(" "):
                self.line = replace(self.line, cursor=0)
        self.draw()

    def _type_timed(self, text: str, words: str = "") -> None:
        """Put what was timed into the line, where it is confirmed or changed."""
        entry = self.timing.entry if self.timing else None
        self.show_timing(None)
        self._ask(entry, text)
        if words:
            self.say(words, "strong")

    def timing_lines(self, width: int) -> list[Line]:
        from checklist.tui.timing import timing_lines

        assert self.timing is not None
        return timing_lines(self.timing, self.recorder.seconds, self.checklist.key_names, width)

    def do_tap(self) -> None:
        from checklist.tui.timing import pressed

        if self.timing is None:
            return
        before, self.timing = self.timing, pressed(self.timing, self.recorder.seconds)
        if self.timing is before:
            take, again = self.key("timing.take"), self.key("timing.again")
            self.say(f"It was stopped: {take} takes the time, {again} starts again.", "warn")

    def do_half_minute(self) -> None:
        self._count(30)

    def do_minute(self) -> None:
        self._count(60)

    def _count(self, span: int) -> None:
        from checklist.tui.timing import RATE, with_clock

        if self.timing and self.timing.kind == RATE:
            self.timing = with_clock(self.timing, span, self.recorder.seconds)
        else:
            self.say("A stop-watch needs no silent clock.")

    def do_again(self) -> None:
        from checklist.tui.timing import again

        if self.timing:
            self.timing = again(self.timing)

    def do_take(self) -> None:
        """Take what was timed, or go on to what is timed next."""
        from checklist.tui.timing import taken

        if self.timing is None:
            return
        came_to = taken(self.timing)
        if isinstance(came_to, str) and came_to:
            self._type_timed(came_to)
        elif came_to:
            assert not isinstance(came_to, str)
            self.timing = came_to
            self.say(f"Kept. Next: {came_to.phase}.", "strong")
        else:
            self.say("Too little was timed so far.", "warn")


def echo(step: Step, entry: Entry | None, text: str) -> tuple[str, str]:
    """Return what a typed text means in full words, or what is accepted instead; and its look."""
    assert step.reading is not None
    where = f"{entry.label}: " if entry and entry.label else ""
    if not one_line(text):
        return "", ""
    try:
        meaning = readings.understood(step.reading, one_line(text))
    except ReadingError as error:
        return f"{where}{error}", "quiet"
    if meaning.tell:
        # In front, since the end of long words may find no room.
        return f"OUT OF RANGE: {where}{meaning.words}", "warn"
    return f"{where}{meaning.words}", "said"
