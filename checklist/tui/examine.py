"""The examining screen: one step at a time, one key for what is common, and the sheets for what is not."""

from collections.abc import Sequence

from checklist.protocol.model import Entry, Step
from checklist.reasoning.alerts import open_alerts
from checklist.session.events import NOT_INDICATED, Event, Outcome, Recorded, Result
from checklist.session.readings import is_wanted, kind_of
from checklist.session.recorder import Recorder
from checklist.session.standing import open_entries, pace, tally
from checklist.session.state import Stage
from checklist.text import one_line
from checklist.tui import lists, sheet
from checklist.tui.draw import BLANK, Drawn, Line, labelled
from checklist.tui.keys import Key, View
from checklist.tui.screen import HEAD_ROWS, PAGE
from checklist.tui.sheet_keys import SheetKeys
from checklist.tui.step_finder import StepFinder
from checklist.tui.step_view import (
    StepSight,
    clock_line,
    head_lines,
    receipt,
    step_lines,
    undo_words,
    waits_for_its_condition,
)
from checklist.tui.telling import found_at, told_answer, told_lines
from checklist.tui.together import considered_words, together_lines


class ExamineScreen(StepFinder, SheetKeys):
    """Steps the examiner through a session; every key that records writes before it shows."""

    def __init__(self, recorder: Recorder) -> None:
        super().__init__(recorder)
        self.message = (recorder.notice, "warn")
        self._considered = considered_words(self.session) if self.session.state.records else []
        """What the complete patterns say, so that it is said once."""
        self._asked_undo = 0
        """Number of the event that the last key asked about before taking it back."""

    def on_mount(self) -> None:
        if self.session.state.stage is Stage.FINISHED:
            self.place = "told"
        self.run_clock()

    # What is to be seen.

    @property
    def view(self) -> View:
        return self.sheet_view or self.checklist.views[self.place]

    @property
    def sight(self) -> StepSight:
        names = self.checklist.key_names
        chosen = self.measured if self.is_measuring else self.chosen
        return StepSight(session=self.session, step=self.step, chosen=chosen, names=names)

    def label(self, key: Key) -> str:
        if key.id == "expected" and waits_for_its_condition(self.session, self.step):
            return NOT_INDICATED
        return super().label(key)

    def useful(self, key: Key) -> bool:
        match key.id:
            case "done":
                return bool(self.chosen) or waits_for_its_condition(self.session, self.step)
            case "time":
                return self.step.reading is not None and bool(kind_of(self.step.reading).timing)
            case "told":
                return bool(open_alerts(self.session))
            case "undo":
                return bool(self.session.state.undoable)
            case _:
                return super().useful(key)

    def head(self, width: int) -> Sequence[Line]:
        seconds = self.recorder.seconds
        return head_lines(self.session, self.step, tally(self.session), pace(self.session, seconds), width)

    def body(self, width: int, height: int) -> Sequence[Line]:
        if self.sheet:
            return sheet.sheet_lines(self.sheet, self.checklist.key_names, width)
        match self.place:
            case "steps":
                return lists.list_lines(self.list_title(), self.rows, self.cursor, width, height)
            case "finish":
                return lists.list_lines(self._finish_title(), self.rows, self.cursor, width, height)
            case "told":
                waiting = open_alerts(self.session)
                return told_lines(self.session, waiting, self.cursor, self.key("told.words"), width)
            case "paused":
                return self._paused_lines(width)
            case "timing":
                return self.timing_lines(width)
            case "together":
                return together_lines(self.session, width)
            case _:
                return step_lines(self.sight, width, height)

    def standing_message(self) -> tuple[str, str]:
        """What waits to be told stays in sight, whatever the keys said since."""
        waiting = open_alerts(self.session)
        if not waiting or self.place == "told":
            return "", ""
        more = f" (and {len(waiting) - 1} more)" if len(waiting) > 1 else ""
        look = "urgent" if waiting[0].finding.tell == "urgent" else "warn"
        key = self.key(f"{'finish' if self.place == 'finish' else 'step'}.told")
        return f"{key} when told{more}. {lists.alert_words(self.session, waiting[0])}", look

    @property
    def rows(self) -> list[lists.Row]:
        if self.place == "finish":
            return lists.finish_rows(self.session, self.key("finish.told"))
        return lists.outline_rows(self.session, self.typed)

    def _finish_title(self) -> str:
        if self.session.header.assessed:
            finish = self.key("finish.finish")
            return f"{finish} finishes for good, and what was not recorded stands as not examined."
        left = tally(self.session)
        if left.done == left.of and not self.rows:
            return f"Everything is recorded. {self.key('finish.finish')} finishes for good."
        done = f"{left.done} of {left.of} done. {self.key('finish.go')} goes there;"
        return (
            f"{done} {self.key('finish.finish')} finishes for good, and what is open stands as not examined."
        )

    def _paused_lines(self, width: int) -> list[Line]:
        text = "The clock stands still. The session is kept, whatever happens to this window."
        return [
            (("Paused", "title"),),
            BLANK,
            *labelled("", text, width),
            BLANK,
            *labelled("At", self.step.title, width),
        ]

    # Time.

    def draw_clock(self) -> None:
        """Draw the clock line alone: the one above it does not change with time."""
        head = self.query_one("#head", Drawn)
        if len(head.lines) == HEAD_ROWS:
            figures = pace(self.session, self.recorder.seconds)
            line = clock_line(self.step, figures, self.app.size.width - 2)
            head.show([head.lines[0], ((" ", "quiet"), *line)])

    def press(self, means: str, key: str) -> None:
        if means != "undo":
            self._asked_undo = 0
        super().press(means, key)

    # Recording.

    def do_expected(self) -> None:
        """Record what the screen says it will, and go on; with nothing open, only go on."""
        if self.rows_below:
            self.do_read_on()
            self.say("There is more to read before this is recorded.", "warn")
        elif entries := self._meant():
            result = self._by_rhythm(entries)
            if result.outcome is Outcome.EXPECTED and is_wanted(self.step):
                self.do_reading()
            else:
                self.record(result)
        elif self.chosen:
            self.say("Already recorded; the keys for what differs and not examined change it.")
        else:
            self.say("Already recorded; nothing changed.")
            self._go(self._after(self.step))

    def _by_rhythm(self, entries: tuple[str, ...]) -> Result:
        """Return what the common key records: a conditional step is not done by rhythm."""
        if waits_for_its_condition(self.session, self.step):
            return Result(entries=entries, outcome=Outcome.NOT_EXAMINED, reason=NOT_INDICATED)
        return Result(entries=entries, outcome=Outcome.EXPECTED)

    def _meant(self) -> tuple[str, ...]:
        """Return the open entries that a key means now: the chosen one, or all."""
        entries = open_entries(self.session, self.step)
        return tuple(entry.key for entry in entries if self.chosen in {None, entry})

    def do_finding(self, key: str) -> None:
        """Mark a finding; where a reading is still to be typed, the digit is its first character."""
        if not self.sheet and is_wanted(self.step) and self._meant():
            self.do_reading()
            self.begin_with(key)
        else:
            super().do_finding(key)

    def do_done(self) -> None:
        """Record as expected what is chosen, recorded before or not, or all that is open."""
        only = tuple(entry.key for entry in self.step.entries) if len(self.step.entries) == 1 else ()
        entries = (self.chosen.key,) if self.chosen else self._meant() or only
        if entries and is_wanted(self.step):
            self.do_reading()
        elif entries:
            self.record(Result(entries=entries, outcome=Outcome.EXPECTED))
        else:
            self.say(f"Nothing is open here. {self.key('step.down')} chooses what to change.")

    def record(self, *results: Result) -> None:
        """Record for the current step; go on when that leaves nothing open."""
        step, before = self.step, self.session.state.records.get(self.step.id, {})
        recorded = {entry for result in results for entry in result.entries}
        still_open = [entry for entry in open_entries(self.session, step) if entry.key not in recorded]
        onward = "" if still_open else self._after(step)
        self.recorder.record(step.id, *results, then=onward)
        self.sheet, self.chosen, self.offset_rows = None, None, 0
        self.say(f"{receipt(step, results)}{' (changed)' if recorded & before.keys() else ''}", "strong")
        if step.critical and any(result.outcome is Outcome.NOT_EXAMINED for result in results):
            self.say(f"CRITICAL and not done: {step.title}: {step.critical}. Stop, and ask first.", "warn")
        if step.id in self.session.protocol.steps_put_together and not self.session.header.assessed:
            self._say_what_is_new()
        if not still_open and not onward:
            self._open_list("finish")
        elif still_open and (is_wanted(step) or any(result.reading for result in results)):
            self.ask_for_next()

    def _say_what_is_new(self) -> None:
        """Show what follows from the record as soon as it does; what followed before was shown before."""
        before, self._considered = self._considered, considered_words(self.session)
        if new := [words for words in self._considered if words not in before]:
            key = self.key("step.together")
            more = f" ({key}: {len(new) - 1} more)" if len(new) > 1 else ""
            room = 2 * (self.app.size.width - 8) - len(more)
            cut = f" … ({key}: all of it)"
            words = new[0] if len(new[0]) <= room else f"{new[0][: room - len(cut)]}{cut}"
            self.say(f"{words}{more}", "warn")

    def _after(self, step: Step) -> str:
        """Return the id of the next step in order; empty after the last."""
        steps = self.session.protocol.steps
        place = self.session.protocol.position_of[step.id] + 1
        return steps[place].id if place < len(steps) else ""

    def do_remark(self) -> None:
        self.type_text("Remark for the note, in your own words", "", self._remark)

    def _remark(self, text: str) -> None:
        if words := one_line(text):
            self.recorder.remark(self.step.id, words)
            self.say(f"Remark kept: {words}", "strong")
            self.warn_of_identity(words)

    def do_undo(self) -> None:
        """Take back the last thing recorded; what cannot be had again by one key is asked about first."""
        undoable = self.session.state.undoable
        if not undoable:
            self.say("There is nothing to take back.")
            return
        event = self.session.events[undoable[-1] - 1]
        words = undo_words(self.session, event)
        if _is_costly(event) and self._asked_undo != event.n:
            self._asked_undo = event.n
            self.say(f"{self.key('step.undo')} again takes back: {words}", "warn")
            return
        self.recorder.undo()
        self.chosen = None
        self._considered = considered_words(self.session)
        self.say(f"Taken back: {words}", "strong")

    # Moving about.

    def _go(self, step: str) -> None:
        if not step:
            self._open_list("finish")
            return
        self.recorder.go(step)
        self.place, self.typed, self.chosen, self.offset_rows = "step", "", None, 0
        self.measured = None

    def do_forward(self) -> None:
        self._go(self._after(self.step))

    def do_back(self) -> None:
        place = self.session.protocol.position_of[self.step.id]
        if place:
            self._go(self.session.protocol.steps[place - 1].id)
        else:
            self.say("This is the first step.")

    def do_section(self) -> None:
        sections = self.session.protocol.sections
        place = sections.index(self.session.protocol.section_of[self.step.id]) + 1
        self._go(sections[place].steps[0].id if place < len(sections) else "")

    def do_read_on(self) -> None:
        """Show the next rows, and after the last ones the first again."""
        self.offset_rows = self.offset_rows + PAGE if self.rows_below else 0

    def do_together(self) -> None:
        if self.session.header.assessed:
            self.say("This performance is assessed: what belongs together is shown after the end.")
        else:
            self.place, self.offset_rows = "together", 0

    def do_outline(self) -> None:
        self._open_list("steps")

    def _open_list(self, place: str) -> None:
        self.place, self.typed, self.offset_rows = place, "", 0
        self.cursor = lists.first_choice(self.rows, self.step.id if place == "steps" else "")

    def do_go(self) -> None:
        rows = self.rows
        if self.cursor < len(rows) and rows[self.cursor].step:
            self._go(rows[self.cursor].step)
        else:
            self.say("Nothing is chosen.")

    def move_by(self, by: int) -> None:
        match self.place:
            case "steps" | "finish":
                self.cursor = lists.moved(self.rows, self.cursor, by)
            case "together":
                super().move_by(by)
            case "told":
                self.cursor = max(0, min(len(open_alerts(self.session)) - 1, self.cursor + by))
            case _:
                self._choose_entry(by)

    def _choose_entry(self, by: int) -> None:
        """Go round the entries of the step; between the last and the first, all open ones are meant."""
        ring: list[Entry | None] = [None, *self.step.entries]
        if len(ring) == 2:
            self.say("This step has one entry.")
            return
        self.chosen = ring[(ring.index(self.chosen) + by) % len(ring)]

    def do_cancel(self) -> None:
        """Go back to the step, or from the question who was told back to where it was asked."""
        if self.sheet:
            self.sheet = None
        elif self.timing:
            self.show_timing(None)
        elif self.session.state.stage is Stage.FINISHED:
            self.checklist.read_finished()
        else:
            self.place, self.typed, self.offset_rows = "step", "", 0

    # Telling.

    def do_words(self) -> None:
        """Type own words: on a sheet what differs, elsewhere who was told."""
        if self.sheet:
            super().do_words()
        else:
            self.type_text("Role or code, and the time if it was not now", "", self._told_by_name)

    def do_told(self) -> None:
        if open_alerts(self.session):
            self.place, self.cursor = "told", 0
        else:
            self.say("Nothing waits to be told.")

    def do_role(self, key: str) -> None:
        roles = self.session.protocol.telling.roles
        if int(key) > len(roles):
            self.say(f"There is no role {key}; {self.key('told.words')} takes any role or code.")
        else:
            self._tell(roles[int(key) - 1], "")

    def _told_by_name(self, text: str) -> None:
        alert = open_alerts(self.session)[self.cursor]
        answer = told_answer(
            one_line(text), found_at(self.session, alert), self.checklist.surroundings.clocks.now()
        )
        if answer.fault:
            self.say(answer.fault, "warn")
        elif answer.doubt and self.doubted != text:
            self.doubted = text
            self.type_text(f"{answer.doubt} Enter again keeps it.", text, self._told_by_name)
        else:
            self._tell(answer.whom, answer.when)

    def _tell(self, whom: str, when: str) -> None:
        """Record the answer and go back; the next finding that waits is asked about by the next key."""
        alert = open_alerts(self.session)[self.cursor]
        self.recorder.tell(alert.step.id, alert.untold, alert.finding.id, whom, when)
        self.say(f"Kept: {alert.finding.label}: told {whom}, {when or 'now'}.", "strong")
        self.do_cancel()

    # Stopping.

    def do_pause(self) -> None:
        self.recorder.pause()
        self.place = "paused"

    def do_go_on(self) -> None:
        self.recorder.go_on()
        self.place = "timing" if self.timing else "step"

    def do_finish(self) -> None:
        if self.place != "finish":
            self._open_list("finish")
            return
        self.recorder.finish()
        self.checklist.read_finished()

    def do_leave(self) -> None:
        self.checklist.go_home()


def _is_costly(event: Event) -> bool:
    """Whether an event holds more than one key can record again."""
    if not isinstance(event, Recorded):
        return True
    return any(result.findings or result.detail or result.reading for result in event.results)
