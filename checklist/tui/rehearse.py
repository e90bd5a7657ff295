"""The rehearsing screen: the protocol is hidden, the person brings it to mind, looks, and marks honestly.

Before anything of an answer is seen, the file says so: taken up again, a rehearsal does not take it for
unseen. The clock stands still while it is read how it went.
"""

from collections.abc import Sequence

from checklist.practice import rehearsal
from checklist.practice.rehearsal import (
    BY_STEP,
    LEFT_OUT,
    NAMED,
    NOT_RECALLED,
    ORDER,
    OUT_OF_PLACE,
    RECALLED,
    WITH_HINT,
    Question,
)
from checklist.practice.typed_step import Meant, meant
from checklist.protocol.model import Step
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
        self.hints = 0
        """How often something of the answer was seen before it was given."""
        self._seen: frozenset[str] = frozenset()
        """Steps whose answers are on the screen, and wait for their marks."""
        self.is_typed = rehearsal.task_in(recorder.session).is_typed
        """Whether the line opens by itself for each step."""
        self._open: tuple[Question, ...] = rehearsal.open_questions(recorder.session)
        self._is_last_try = False
        """Whether the text before this one was near to nothing."""
        self._asked_leave = False

    def on_mount(self) -> None:
        if self.checklist.surroundings.ticks:
            self.set_interval(1.0, self.tick)
        self.guarded(self._ask)

    # What is to be seen.

    @property
    def view(self) -> View:
        return self.checklist.views[self.place]

    @property
    def question(self) -> Question | None:
        return self._open[0] if self._open else None

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

    def body(self, width: int, height: int) -> Sequence[Line]:  # noqa: ARG002
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
                return sight.question_lines(self.session, shown, width)

    def standing_message(self) -> tuple[str, str]:
        if self.place != "recall_finish":
            return "", ""
        finish, back = self.key("recall_finish.finish"), self.key("recall_finish.cancel")
        if self.question is None:
            return f"Everything that was asked has an answer. {finish} finishes for good.", "quiet"
        return f"{finish} finishes for good, {back} goes on.", "quiet"

    def tick(self) -> None:
        """Let a second pass: only the head changes, unless the file is in trouble."""
        trouble = ""

        def read() -> None:
            nonlocal trouble
            trouble = self.recorder.tick()

        self.guarded(read)
        if trouble or self.message[0].startswith("NOT RECORDED"):
            self.message = (trouble or self.message[0], "urgent")
            self.draw()
        elif not self.is_too_small and self.session.state.stage is Stage.RUNNING:
            self._show("head", self.head(self.app.size.width - 2))

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
            self.hints = 0
            self._look_at_the_end()
            return
        self.recorder.go(self.question.step.id)
        self.hints = rehearsal.shown_already(self.session, self.question)
        if self.question.step.id in self._seen:
            self.hints -= 1
            self.place = "recall_answer"
        elif self.is_typed:
            self.do_type()

    def do_type(self) -> None:
        if self.question and self.question.what in BY_STEP:
            self._open_line(
                self.checklist.views["recall_typing"], "Type the step, Enter compares", "", self._compare
            )
        else:
            self.say("Only a step can be typed; say this one aloud.")

    def do_hint(self) -> None:
        if self.hints < len(self._hints):
            self._note_shown([self.question.step.id] if self.question else [])
            self.hints += 1
            self.offset_rows = 0
        else:
            self.say("There are no more hints.")

    def _note_shown(self, steps: Sequence[str]) -> None:
        """Write that something of the answer is about to be seen."""
        if self.question:
            self.recorder.show(self.question.step.id, self.question.what, steps)

    def do_reveal(self) -> None:
        if self.question is None:
            self._ask()
            return
        several = [each.step.id for each in rehearsal.together(self.session, self.question)]
        self._note_shown(several)
        if self.question.what == LEFT_OUT:
            self._mark(NOT_RECALLED)
        else:
            self._seen = frozenset(several)
            self.place, self.offset_rows = "recall_answer", 0

    # Marking.

    def do_recalled(self) -> None:
        self._mark(WITH_HINT if self.hints else RECALLED)

    def do_run_on(self) -> None:
        """Mark, and show the next step at once: it was said while this one was looked at."""
        self.do_recalled()
        if self.place == "recall" and not self.is_typed:
            self.do_reveal()

    def do_out_of_place(self) -> None:
        if self.hints:
            self.say("After a hint it is recalled with a hint, or not recalled.", "warn")
        elif self.question and self.question.what == ORDER:
            self._mark(OUT_OF_PLACE)
        else:
            self.say("Only a step has a place.", "warn")

    def do_not_recalled(self) -> None:
        self._mark(NOT_RECALLED)

    def _mark(self, how: str, typed: str = "", note: str = "", step: Step | None = None) -> None:
        """Write how the question, or a step that may come in its place, was answered; then ask on."""
        question = self.question
        assert question is not None
        answered = step or question.step
        self._is_last_try = False
        counted = self.hints if how != RECALLED else 0
        self.recorder.recall(answered.id, how, what=question.what, hints=counted, typed=typed)
        self._seen -= {answered.id}
        look = "warn" if note else "strong"
        self.say(f"{how.capitalize()}: {answered.title}{note}", look)
        self._ask()

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
        """Compare what was typed with the protocol; only what is near to nothing is tried once more."""
        typed, question = one_line(text), self.question
        if question is None:
            return
        found = self._found(typed)
        if not typed:
            self._again("Nothing was typed. Esc closes the line, for all other keys.")
        elif found.is_unclear and not self._is_exact(found, typed):
            self._again("That fits several steps alike: type more of it.")
        elif not found.steps:
            self._astray(typed, "Nothing in the protocol is near to it.")
        elif question.what == LEFT_OUT:
            self._compare_left_out(typed, found.steps)
        else:
            self._compare_step(typed, question, found.steps)

    def _found(self, typed: str) -> Meant:
        """Return the steps meant; those that have an answer only where no other is as near."""
        found = meant(typed, self.session.protocol)
        answered = {each.step for each in rehearsal.answers(self.session)}
        waiting = tuple(step for step in found.steps if step.id not in answered)
        return Meant(steps=waiting or found.steps)

    def _is_exact(self, found: Meant, typed: str) -> bool:
        names = (name for step in found.steps for name in (step.title, *step.also))
        return any(name.casefold() == typed.casefold() for name in names)

    def _compare_step(self, typed: str, question: Question, steps: Sequence[Step]) -> None:
        protocol, wanted = self.session.protocol, question.step
        answered = {each.step for each in self.session.state.recalls if each.what == question.what}
        free = rehearsal.in_any_order(protocol, wanted) if question.what == ORDER else ()
        open_ids = {each.step.id for each in self._open}
        instead = next((step for step in steps if step.id in free and step.id in open_ids), None)
        named = steps[0]
        if wanted in steps:
            self._mark(WITH_HINT if self.hints else RECALLED, typed)
        elif instead:
            self._mark(WITH_HINT if self.hints else RECALLED, typed, step=instead)
        elif question.what == ORDER and named.only_if:
            self._again(f"{named.title}: only if {named.only_if}. What comes next without it?")
        elif question.what == ORDER and named.id in answered:
            self._astray(typed, f"{named.title} was before.")
        elif question.what == ORDER and not self.hints and named.id in open_ids:
            self._mark(OUT_OF_PLACE, typed, step=named)
            self._once_more(f"{named.title} comes later, and is out of place.")
        elif question.what == ORDER and not self.hints:
            where = "later" if protocol.position_of[named.id] > protocol.position_of[wanted.id] else "before"
            self._once_more(f"{named.title} comes {where}.")
        else:
            self._mark(NOT_RECALLED, typed, f" was asked for, not {named.title}")

    def _compare_left_out(self, typed: str, steps: Sequence[Step]) -> None:
        missing = {each.step.id for each in self._open}
        named = next((step for step in steps if step.id in missing), None)
        if named is None:
            # A wrong name is told at the end; otherwise one could name all steps till some fit.
            self.recorder.recall(steps[0].id, NOT_RECALLED, what=NAMED, typed=typed)
            self._again(f"{steps[0].title} is not left out; it stands in the run.")
        else:
            hinted = self.hints and self.question and named == self.question.step
            self._mark(WITH_HINT if hinted else RECALLED, typed, step=named)

    def _astray(self, typed: str, why: str) -> None:
        """Give one more try with a hint; after it, show what was asked for."""
        if self.question is None or self.question.what == LEFT_OUT:
            self._again(why)
        elif self._is_last_try:
            self._mark(NOT_RECALLED, typed, " was asked for")
        else:
            self._once_more(why)

    def _once_more(self, why: str) -> None:
        if self.hints < len(self._hints):
            self.do_hint()
        self._is_last_try = True
        self._again(f"{why} One more try, with a hint.")

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
