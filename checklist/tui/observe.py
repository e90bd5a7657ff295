"""The observing screen: somebody else performs, and one key a step marks how."""

from collections.abc import Sequence

from checklist.protocol.model import Step
from checklist.session.events import Event, Marked
from checklist.session.recorder import Recorder
from checklist.text import one_line
from checklist.tui import lists
from checklist.tui import observe_view as sight
from checklist.tui.draw import BLANK, Line, labelled
from checklist.tui.keys import Key, View
from checklist.tui.step_finder import StepFinder


class ObserveScreen(StepFinder):
    """Lets an observer mark steps in the order in which they are performed; every mark is written at once."""

    def __init__(self, recorder: Recorder) -> None:
        super().__init__(recorder)
        self.place = "observe"
        self.message = (recorder.notice, "warn")
        self.last: Step | None = None
        """The last of several steps that the next mark is for; the first is the current one."""
        self._together: dict[int, list[int]] = {}
        """By the last event, those that one key made; one key takes them back."""
        self._asked_undo = 0
        """Number of the event that the last key asked about before taking it back."""

    def on_mount(self) -> None:
        self.run_clock()

    # What is to be seen.

    @property
    def view(self) -> View:
        return self.checklist.views["marking" if self.last else self.place]

    @property
    def meant(self) -> tuple[Step, ...]:
        """The steps that the next mark is for, in the order of the protocol."""
        steps, position = self.session.protocol.steps, self.session.protocol.position_of
        ends = sorted((position[self.step.id], position[(self.last or self.step).id]))
        return steps[ends[0] : ends[1] + 1]

    @property
    def chosen_steps(self) -> list[Step]:
        """The same with the one that the list stands at as the last."""
        here = self.last or self.step
        return [*(step for step in self.meant if step is not here), here]

    def label(self, key: Key) -> str:
        if key.id == "done" and not self.last and self.step.only_if:
            return sight.by_rhythm(self.step)
        return key.label

    def useful(self, key: Key) -> bool:
        return bool(self.session.state.undoable) if key.id == "undo" else True

    def head(self, width: int) -> Sequence[Line]:
        return sight.head_lines(self.session, self.step, self.recorder.seconds, width)

    def body(self, width: int, height: int) -> Sequence[Line]:
        match self.place:
            case "steps":
                return lists.list_lines(self.list_title(), self.rows, self.cursor, width, height)
            case "unmarked":
                return sight.finish_lines(self._finish_title(), self.rows, self.cursor, width, height)
            case "paused":
                return self._paused_lines(width)
            case _:
                return sight.observe_lines(self.session, self.chosen_steps, width, height)

    @property
    def rows(self) -> list[lists.Row]:
        if self.place == "unmarked":
            return sight.finish_rows(self.session)
        return sight.search_rows(self.session, self.typed)

    def _finish_title(self) -> str:
        finish = self.key("unmarked.finish")
        if not self.rows:
            return f"Every step has a mark. {finish} finishes for good."
        go = self.key("unmarked.go")
        return f"Without a mark: {len(self.rows)}. {go} goes there; {finish} finishes for good all the same."

    def _paused_lines(self, width: int) -> list[Line]:
        text = "The clock stands still. The session is kept, whatever happens to this window."
        return [(("Paused", "title"),), BLANK, *labelled("", text, width)]

    def press(self, means: str, key: str) -> None:
        if means != "undo":
            self._asked_undo = 0
        super().press(means, key)

    # Marking.

    def do_done(self) -> None:
        """Mark as done, and go on; what is marked already stays as it is."""
        steps = [step for step in self.meant if not sight.mark_of(self.session, step)]
        if steps:
            self._mark([(step, sight.by_rhythm(step)) for step in steps])
        else:
            self.say("Already marked; nothing changed.")
            self._go(sight.next_unmarked(self.session, self.meant[-1]))

    def do_done_indeed(self) -> None:
        self._mark_all(sight.DONE)

    def do_prompted(self) -> None:
        self._mark_all(sight.PROMPTED)

    def do_incorrect(self) -> None:
        self.type_text(
            "What was done incorrectly (may stay empty)",
            "",
            lambda text: self._mark_all(sight.INCORRECT, one_line(text)),
        )

    def do_not_done(self) -> None:
        self._mark_all(sight.NOT_DONE)

    def do_unseen(self) -> None:
        self._mark_all(sight.UNSEEN)

    def do_not_applicable(self) -> None:
        self._mark_all(sight.NOT_APPLICABLE)

    def _mark_all(self, mark: str, detail: str = "") -> None:
        """Mark what is meant; of several, those that have a mark keep it."""
        steps = self.meant
        if self.last:
            steps = tuple(step for step in steps if not sight.mark_of(self.session, step))
        if steps:
            self._mark([(step, mark) for step in steps], detail)
        else:
            self.last = None
            self.say("Already marked; nothing changed.")

    def _mark(self, marks: Sequence[tuple[Step, str]], detail: str = "") -> None:
        """Write each mark, the last with the move to the next step, and say what was written."""
        kept = len(self.meant) - len(marks)
        onward = sight.next_unmarked(self.session, self.meant[-1])
        events: list[int] = []
        for step, mark in marks:
            is_last = step is marks[-1][0]
            self.recorder.mark(step.id, mark, detail, then=onward if is_last else "")
            events.append(self.session.state.marks[step.id].n)
            self._together[events[-1]] = list(events)
        self.last = None
        self._say_marked(marks, events, kept)
        if not onward:
            self._open_finish()

    def _say_marked(self, marks: Sequence[tuple[Step, str]], events: Sequence[int], kept: int) -> None:
        critical = [words for step, mark in marks if (words := sight.critical_words(step, mark))]
        if critical:
            self.say("; ".join(critical), "warn")
        elif len(marks) == 1 and not kept:
            self.say(f"Marked: {self._words(self.session.events[events[0] - 1])}", "strong")
        else:
            stay = f"; {sight.kept_words(kept)}" if kept else ""
            self.say(f"Marked: {sight.tally_words([mark for _, mark in marks])}{stay}", "strong")

    def _words(self, event: Event) -> str:
        return sight.marked_words(self.session, event)

    def do_remark(self) -> None:
        self.type_text("Remark about this step, in your own words", "", self._remark)

    def _remark(self, text: str) -> None:
        if words := one_line(text):
            self.recorder.remark(self.step.id, words)
            self.say(f"Remark kept: {words}", "strong")

    def do_undo(self) -> None:
        """Take back what the last key marked; words, which no key gives back, are asked about first."""
        undoable = self.session.state.undoable
        if not undoable:
            self.say("There is nothing to take back.")
            return
        event = self.session.events[undoable[-1] - 1]
        words = self._words(event)
        is_costly = not isinstance(event, Marked) or bool(event.detail)
        if is_costly and self._asked_undo != event.n:
            self._asked_undo = event.n
            self.say(f"{self.key('observe.undo')} again takes back: {words}", "warn")
            return
        events = self._together.get(event.n, [event.n])
        for _ in events:
            self.recorder.undo()
        self.say(f"Taken back: {words if len(events) == 1 else f'{len(events)} marks'}", "strong")

    # Moving about.

    def do_range(self) -> None:
        self.last = self.step
        down = self.key("marking.down")
        self.say(f"{down} takes in the next step; then one mark is for all that have none.")

    def do_first_open(self) -> None:
        """Go to the first step that wants a mark."""
        steps = sight.unmarked(self.session)
        if steps:
            self._go(steps[0].id)
        else:
            self.say("Every step has a mark.")

    def do_section(self) -> None:
        sections = self.session.protocol.sections
        place = sections.index(self.session.protocol.section_of[self.step.id]) + 1
        if place < len(sections):
            self._go(sections[place].steps[0].id)
        else:
            self.say("This is the last section.")

    def _go(self, step: str) -> None:
        if not step:
            self._open_finish()
            return
        self.recorder.go(step)
        self.place, self.typed, self.last = "observe", "", None

    def move_by(self, by: int) -> None:
        """Go to another step without marking; with several chosen, take in or leave out one at the end."""
        if self.place in {"steps", "unmarked"}:
            self.cursor = lists.moved(self.rows, self.cursor, by)
            return
        steps = self.session.protocol.steps
        here = self.last or self.step
        place = self.session.protocol.position_of[here.id] + by
        if not 0 <= place < len(steps):
            self.say(f"This is the {'last' if by > 0 else 'first'} step.")
        elif self.last:
            self.last = steps[place]
        else:
            self._go(steps[place].id)

    def do_go(self) -> None:
        rows = self.rows
        if self.cursor < len(rows) and rows[self.cursor].step:
            self._go(rows[self.cursor].step)
        else:
            self.place = "unmarked" if self.place == "unmarked" else "observe"
            self.say("Nothing is chosen.")

    def do_cancel(self) -> None:
        self.place, self.typed, self.last, self.offset_rows = "observe", "", None, 0

    # Stopping.

    def do_pause(self) -> None:
        self.recorder.pause()
        self.place = "paused"

    def do_go_on(self) -> None:
        self.recorder.go_on()
        self.place = "observe"

    def _open_finish(self) -> None:
        self.place, self.typed, self.last = "unmarked", "", None
        self.cursor = lists.first_choice(self.rows)

    def do_finish(self) -> None:
        if self.place != "unmarked":
            self._open_finish()
            return
        self.recorder.finish()
        self.checklist.read_finished()

    def do_leave(self) -> None:
        self.checklist.go_home()
