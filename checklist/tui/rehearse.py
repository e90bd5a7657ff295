"""The rehearsing screen: the protocol is hidden, the person brings it to mind, looks, and marks honestly.

Before anything of an answer is seen, the file says so: taken up again, a rehearsal does not take it for
unseen. The clock stands still while it is read how it went.
"""

from collections.abc import Sequence

from checklist.practice import rehearsal
from checklist.practice.rehearsal import (
    BY_STEP,
    LEFT_OUT,
    NOT_RECALLED,
    ORDER,
    OUT_OF_PLACE,
    RECALLED,
    WITH_HINT,
    Question,
)
from checklist.practice.typed_answer import verdict
from checklist.session.recorder import Recorder
from checklist.session.state import Stage
from checklist.text import one_line
from checklist.tui import rehearse_view as sight
from checklist.tui.at_step import AtStep
from checklist.tui.draw import BLANK, Line, labelled
from checklist.tui.keys import Key, View


class RehearseScreen(AtStep):
    """Asks, shows and marks; each mark is written at once, and afterwards only lowered."""

    def __init__(self, recorder: Recorder) -> None:
        super().__init__(recorder)
        self.message = (recorder.notice, "warn")
        self.place = "recall"
        self._seen: frozenset[str] = frozenset()
        """Steps whose answers are on the screen, and wait for their marks."""
        self.is_typed = rehearsal.task_in(recorder.session).is_typed
        """Whether the line opens by itself for each step."""
        self._open: tuple[Question, ...] = rehearsal.open_questions(recorder.session)
        self._chosen = ""
        """Id of the step that is marked next, of several that are marked together."""
        self._is_last_try = False
        """Whether the text before this one was near to nothing."""
        self._asked_leave = False

    def on_mount(self) -> None:
        self.run_clock()
        self.guarded(self._ask)
        if self.hints:
            self.say("Something of this answer was seen before: with a hint at most.", "warn")

    # What is to be seen.

    @property
    def view(self) -> View:
        return self.checklist.views[self.place]

    @property
    def question(self) -> Question | None:
        """What is asked now: the first without an answer, or the chosen one of several."""
        chosen = (each for each in self._open if each.step.id == self._chosen)
        return next(chosen, self._open[0] if self._open else None)

    @property
    def _together(self) -> tuple[Question, ...]:
        return rehearsal.together(self.session, self.question) if self.question else ()

    @property
    def hints(self) -> int:
        """How often something of the answer was seen before it was given."""
        if self.question is None:
            return 0
        shown = rehearsal.shown_already(self.session, self.question)
        return shown - (self.question.step.id in self._seen)

    def label(self, key: Key) -> str:
        if self.hints and key.id == "recalled":
            return "with a hint"
        if self.hints and key.id == "run_on":
            return "with a hint, and show the next"
        if key.id == "reveal" and self.question and self.question.what == LEFT_OUT:
            return "show one"
        return key.label

    def useful(self, key: Key) -> bool:
        what = self.question.what if self.question else ""
        match key.id:
            case "out_of_place":
                return what == ORDER and not self.hints
            case "type":
                return what in BY_STEP
            case "hint":
                return bool(self.question) and self.hints < len(self._hints)
            case "lower":
                return bool(rehearsal.answers(self.session))
            case _:
                return True

    @property
    def _hints(self) -> tuple[str, ...]:
        return rehearsal.hints(self.session, self.question) if self.question else ()

    def head(self, width: int) -> Sequence[Line]:
        return sight.head_lines(self.session, self.recorder.seconds, width)

    def body(self, width: int, height: int) -> Sequence[Line]:
        match self.place:
            case "recall_back":
                return sight.back_lines(self.session, width)
            case "recall_finish":
                return sight.end_lines(self.session, width)
            case "paused":
                text = "The clock stands still. The rehearsal is kept, whatever happens to this window."
                return [(("Paused", "title"),), BLANK, *labelled("", text, width)]
            case _:
                shown = sight.Sight(
                    question=self.question, hints=self.hints, is_revealed=self.place == "recall_answer"
                )
                return sight.question_lines(self.session, shown, width, height)

    def standing_message(self) -> tuple[str, str]:
        if self.place != "recall_finish":
            return "", ""
        finish, back = self.key("recall_finish.finish"), self.key("recall_finish.cancel")
        if self.question is None:
            return f"Everything that was asked has an answer. {finish} finishes for good.", "quiet"
        return f"{finish} finishes for good, {back} goes on.", "quiet"

    def press(self, means: str, key: str) -> None:
        if means != "leave":
            self._asked_leave = False
        super().press(means, key)

    # Asking.

    def _ask(self) -> None:
        """Go to the first question without an answer, or to the end."""
        self._open = rehearsal.open_questions(self.session)
        self.place = "recall"
        if self.question is None or self.question.what != LEFT_OUT:
            self.offset_rows = 0
        if self.question is None:
            self._look_at_the_end()
            return
        self.recorder.go(self.question.step.id)
        if self.question.step.id in self._seen:
            self.place = "recall_answer"
        elif self.is_typed and self.question.what in BY_STEP:
            self.do_type()

    def do_type(self) -> None:
        """Open the line, and again at each step till it is closed: words must not become keys."""
        if self.question and self.question.what in BY_STEP:
            self.is_typed = True
            self._open_line(
                self.checklist.views["recall_typing"], "Type the step, Enter compares", "", self._compare
            )
        else:
            self.say("Only a step can be typed; say this one aloud.")

    def do_drop(self) -> None:
        super().do_drop()
        self.is_typed = False
        self.say(f"The line is closed; {self.key('recall.type')} opens it again.")

    def do_hint(self) -> None:
        if self.question is None or self.hints >= len(self._hints):
            self.say("There are no more hints.")
            return
        hint = self._hints[self.hints]
        self._note_shown([self.question.step.id])
        if self.question.what == LEFT_OUT:
            # The hints stand above the run, which may be scrolled: its place is kept.
            self.say(f"Hint. {hint}", "strong")
        else:
            self.offset_rows = 0

    def _note_shown(self, steps: Sequence[str]) -> None:
        """Write that something of the answer is about to be seen."""
        if self.question:
            self.recorder.show(self.question.step.id, self.question.what, steps)

    def do_reveal(self) -> None:
        if self.question is None:
            self._ask()
            return
        several = [each.step.id for each in self._together]
        self._note_shown(several)
        if self.question.what == LEFT_OUT:
            self._mark(NOT_RECALLED)
        else:
            self._seen |= frozenset(several)
            self.place, self.offset_rows = "recall_answer", 0

    # Marking.

    def do_recalled(self) -> None:
        self._mark(WITH_HINT if self.hints else RECALLED)

    def do_run_on(self) -> None:
        """Mark, and show the next step at once: it was said while this one was looked at.

        Only where nothing has to be read before it can be said.
        """
        self.do_recalled()
        if self.place == "recall" and not self.is_typed and self._can_be_said_ahead:
            self.do_reveal()

    @property
    def _can_be_said_ahead(self) -> bool:
        question = self.question
        is_alone = len(self._together) == 1
        return is_alone and question is not None and question.what == ORDER and question.cue is None

    def do_out_of_place(self) -> None:
        if self.hints:
            self.say("After a hint it is recalled with a hint, or not recalled.", "warn")
        elif self.question and self.question.what == ORDER:
            self._mark(OUT_OF_PLACE)
        else:
            self.say("Only a step has a place.", "warn")

    def do_not_recalled(self) -> None:
        self._mark(NOT_RECALLED)

    def _mark(self, how: str) -> None:
        """Write how the question was answered, then ask on."""
        question = self.question
        assert question is not None
        self._is_last_try = False
        counted = self.hints if how != RECALLED else 0
        self.recorder.recall(question.step.id, how, what=question.what, hints=counted)
        self._seen -= {question.step.id}
        self._chosen = self._next_seen(question.step.id)
        self.say(f"{how.capitalize()}: {question.step.title}", "strong")
        self._ask()

    def _next_seen(self, marked: str) -> str:
        """Return the step that is marked after this one, of those whose answers are on the screen."""
        order = [each.step.id for each in self._open]
        later = order[order.index(marked) :] + order
        return next((step for step in later if step in self._seen), "")

    def move_by(self, rows: int) -> None:
        """Choose which of several steps is marked; where one is shown, scroll."""
        several = [each.step.id for each in self._together]
        if self.place != "recall_answer" or len(several) == 1 or self.question is None or abs(rows) > 1:
            super().move_by(rows)
            return
        place = several.index(self.question.step.id) + rows
        self._chosen = several[max(0, min(len(several) - 1, place))]
        self.offset_rows = 0

    def do_lower(self) -> None:
        """Say that what was answered last was not recalled after all: a mark can be lowered, never raised."""
        last = next(reversed(rehearsal.answers(self.session)), None)
        if last is None:
            self.say("Nothing was answered yet.")
            return
        title = self.session.protocol.step_of[last.step].title
        if last.how == NOT_RECALLED:
            self.say(f"{title} is marked as not recalled; a mark is never raised.")
            return
        is_paused = self.session.state.stage is Stage.PAUSED
        if is_paused:
            self.recorder.go_on()
        self.recorder.recall(last.step, NOT_RECALLED, what=last.what)
        if is_paused:
            self.recorder.pause()
        self.say(f"Lowered: {title}: not recalled.", "warn")

    # Typing.

    def _compare(self, text: str) -> None:
        """Compare what was typed with the protocol, and do what comes of it."""
        typed, question = one_line(text), self.question
        if question is None:
            return
        if not typed:
            self._again("Nothing was typed. Esc closes the line, for all other keys.")
            return
        found = verdict(self.session, question, typed, is_last_try=self._is_last_try)
        for mark in found.marks:
            self.recorder.recall(mark.step.id, mark.how, what=mark.what, hints=mark.hints, typed=typed)
        if found.is_tried_again:
            self._give_one_more_try()
            self._again(found.note)
        elif found.marks:
            first = found.marks[0]
            self._is_last_try = False
            said = found.note or f"{first.how.capitalize()}: {first.step.title}"
            self.say(said, "warn" if found.note else "strong")
            self._ask()
        else:
            self._again(found.note)

    def _give_one_more_try(self) -> None:
        self._open = rehearsal.open_questions(self.session)
        if self.hints < len(self._hints):
            self.do_hint()
        self._is_last_try = True

    def _again(self, why: str) -> None:
        self.say(why, "warn")
        self.do_type()

    # Looking back, and stopping.

    def do_look_back(self) -> None:
        self.place, self.offset_rows = "recall_back", 0

    def do_cancel(self) -> None:
        self.offset_rows = 0
        if self.session.state.stage is Stage.PAUSED:
            self.recorder.go_on()
        self._ask()

    def do_pause(self) -> None:
        self.recorder.pause()
        self.place = "paused"

    def do_go_on(self) -> None:
        self.recorder.go_on()
        self._ask()

    def do_finish(self) -> None:
        if self.place != "recall_finish":
            self._look_at_the_end()
            return
        self.recorder.finish()
        self.checklist.read_finished()

    def _look_at_the_end(self) -> None:
        """Show how it went; to read that is no rehearsal, so the clock waits."""
        self.place, self.offset_rows = "recall_finish", 0
        if self.session.state.stage is Stage.RUNNING:
            self.recorder.pause()

    def do_leave(self) -> None:
        """Leave; an answer that is shown and not marked is asked for again, as one with a hint."""
        if self.place == "recall_answer" and not self._asked_leave:
            self._asked_leave = True
            leave = self.key("recall_answer.leave")
            self.say(f"Not marked yet. {leave} again leaves; it then counts as shown before.", "warn")
        else:
            self.checklist.go_home()
