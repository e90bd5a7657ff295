"""The full-screen app: opens screens on already loaded values, and leaves without losing anything."""

import asyncio
import contextlib
import gc
import os
import signal
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual.app import App
from textual.binding import Binding, BindingType
from textual.theme import Theme

from checklist.errors import ChecklistError
from checklist.session.recorder import Clocks, Recorder
from checklist.session.session import EXAMINATION, OBSERVATION, REHEARSAL, Session
from checklist.session.state import Stage
from checklist.text import one_line
from checklist.tui.keys import View, names
from checklist.tui.views import VIEWS

if TYPE_CHECKING:
    from checklist.practice.tasks import Wish
    from checklist.protocol.library import Loaded
    from checklist.tui.prepare import Answers
    from checklist.tui.rehearsals import Settings
    from checklist.tui.screen import DrawnScreen

THEME = Theme(
    name="bedside",
    primary="#d8d8d0",
    foreground="#e6e6df",
    background="#15181a",
    surface="#15181a",
    panel="#15181a",
    warning="#e0b040",
    error="#e06050",
    dark=True,
)


@dataclass(frozen=True, kw_only=True)
class Surroundings:
    """What the app needs of the world; tests hand in a still one."""

    clocks: Clocks
    views: Sequence[View] = field(default=VIEWS)
    ticks: bool = True
    """Whether the clock on the screen moves by itself."""


class ChecklistApp(App[None]):
    """One app for home, preparation, examination and note."""

    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+q", "quit", priority=True, show=False),
        Binding("ctrl+c", "say_how_to_quit", priority=True, show=False),
        Binding("ctrl+z", "stand_still", priority=True, show=False),
    ]
    CSS = """
    Screen { background: $background; color: $foreground; overflow: hidden; }
    Drawn { width: 100%; height: 1; }
    #head, #speak, #foot { height: 2; }
    #body { height: 1fr; }
    #type { width: 100%; height: 1; border: none; padding: 0 1; background: $background; }
    """

    def __init__(self, first: Callable[["ChecklistApp"], "DrawnScreen"], surroundings: Surroundings) -> None:
        is_plain = "NO_COLOR" in os.environ
        super().__init__(ansi_color=is_plain)
        self.surroundings = surroundings
        self.views = {view.id: view for view in surroundings.views}
        self.key_names = names(surroundings.views)
        self.answers: dict[Path, Answers] = {}
        """What was answered in a preparation that was left, by the protocol's path."""
        self.rehearsals: dict[Path, Settings] = {}
        """How it was last to be rehearsed, by the protocol's path."""
        self.recorder: Recorder | None = None
        self.finished_protocol = ""
        """Id of the protocol of the session that was finished last: home stands at it."""
        self.is_leaving = False
        self._first = first
        self.register_theme(THEME)
        self.theme = "ansi-dark" if is_plain else THEME.name

    def get_default_screen(self) -> "DrawnScreen":
        """Begin with the first screen itself: an empty one under it would be styled and painted first."""
        screen = self._first(self)
        # What `push_screen` does, and `switch_screen` takes back.
        screen._push_result_callback(screen, None)
        return screen

    def on_mount(self) -> None:
        if sys.platform != "win32":
            # Without a handler these would end the program with the terminal in disorder.
            for number in (signal.SIGTERM, signal.SIGHUP):
                asyncio.get_running_loop().add_signal_handler(number, self.leave)
        self.app_resume_signal.subscribe(self, self._paint_again)
        self.call_after_refresh(_spare_the_collector)

    def _paint_again(self, _: App[object]) -> None:
        """Paint everything when the shell gives the terminal back: nothing of it is there any more."""
        for widget in self.screen.query("Drawn"):
            widget.refresh()

    # Going from screen to screen. There is one screen at a time; what is under it is not kept.

    def show(self, screen: "DrawnScreen") -> None:
        from checklist.tui.screen import DrawnScreen

        if isinstance(self.screen, DrawnScreen):
            self.screen.successor = screen
        self.switch_screen(screen)

    def go_home(self) -> None:
        """Put the session down, and show what there is."""
        from checklist.tui.home import HomeScreen

        trouble = self.put_down()
        home = HomeScreen()
        home.message = (trouble, "urgent")
        self.show(home)

    def prepare(self, path: Path) -> None:
        from checklist.protocol.library import load_table
        from checklist.tui.prepare import PrepareScreen

        with self._explained():
            self.show(PrepareScreen(load_table(path), self.answers.get(path)))

    def begin(self, loaded: "Loaded", answers: "Answers") -> None:
        """Create the session, and examine."""
        from checklist.session.opening import Preparation, begin

        missing = tuple(item.id for item in loaded.protocol.equipment if item.id not in answers.at_hand)
        with self._explained():
            preparation = Preparation(
                participant=answers.participant,
                examiner=answers.examiner,
                age=answers.age,
                setting=answers.setting,
                missing=missing,
                mode=answers.mode,
                assessed=answers.assessed,
                observer=answers.observer if answers.mode == OBSERVATION else "",
            )
            self.examine(begin(loaded, preparation, self.surroundings.clocks))

    def rehearse(self, path: Path) -> None:
        """Show what can be rehearsed of a protocol."""
        from checklist.protocol.library import load_table
        from checklist.tui.rehearsals import RehearsalsScreen

        with self._explained():
            self.show(RehearsalsScreen(load_table(path), self.rehearsals.get(path)))

    def recall(self, loaded: "Loaded", wish: "Wish", examiner: str) -> None:
        """Begin a rehearsal by recall."""
        from secrets import token_hex

        from checklist.practice.rehearsing import begin_recall
        from checklist.practice.tasks import task

        with self._explained():
            wanted = task(loaded.protocol, wish, token_hex())
            self.examine(begin_recall(loaded, wanted, examiner, self.surroundings.clocks))

    def meet_patient(self, loaded: "Loaded", case: Path | None, examiner: str) -> None:
        """Begin a rehearsal with a simulated patient: of a case file, or any."""
        from checklist.practice.rehearsing import begin_patient, patient_of_case, patient_of_seed

        with self._explained():
            protocol = loaded.protocol
            patient = patient_of_case(protocol, case) if case else patient_of_seed(protocol)
            self.examine(begin_patient(loaded, patient, examiner, self.surroundings.clocks))

    def look_back(self, path: Path, what: str, examiner: str | None = None) -> None:
        """Show what to practise next of a protocol, or how it went: under a code, or that of the latest."""
        from checklist.practice.past import past
        from checklist.tui.history import HistoryScreen

        with self._explained():
            now, is_from_list = self.surroundings.clocks.now(), examiner is not None
            found = past(str(path), examiner, now=now)
            self.show(HistoryScreen(found, what, now, path, is_from_list=is_from_list))

    def recall_due(self, path: Path, steps: Sequence[str], examiner: str) -> None:
        """Begin to recall the steps that are due, each with its neighbours."""
        from checklist.practice.rehearsal import GAPS
        from checklist.practice.tasks import Wish
        from checklist.protocol.library import load_table

        with self._explained():
            self.recall(load_table(path), Wish(kind=GAPS, around=tuple(steps)), examiner)

    def take_up(self, path: Path) -> None:
        """Go on with an unfinished session."""
        with self._explained():
            self.examine(self._resumed(path))

    def tell_later(self, path: Path) -> None:
        """Ask who was told of what a finished session found."""
        with self._explained():
            self.examine(self._resumed(path))

    def amend(self, path: Path) -> None:
        """Write late entries and corrections into a finished session."""
        from checklist.session.closing import reopened_to_amend
        from checklist.tui.amend import AmendScreen

        with self._explained():
            self.recorder = reopened_to_amend(path, self.surroundings.clocks)
            self.show(AmendScreen(self.recorder))

    def sign(self, path: Path, who: str) -> None:
        """Close a finished session with initials, and show its note anew."""
        from checklist.session.closing import sign
        from checklist.tui.note import NoteScreen

        with self._explained():
            screen = NoteScreen(sign(path, who, self.surroundings.clocks), path)
            after = "From here on it takes only amendments and who was told."
            screen.message = (f"Signed by {who}. {after}", "strong")
            self.show(screen)

    def _resumed(self, path: Path) -> Recorder:
        from checklist.session.opening import resume
        from checklist.session.store import load

        loaded = load(path)
        check_can_go_on(loaded.session)
        return resume(path, self.surroundings.clocks, loaded)

    def examine(self, recorder: Recorder) -> None:
        self.recorder = recorder
        self.show(screen_of(recorder))

    def read(self, path: Path, what: str = "note") -> None:
        """Show the note or the timeline of a session."""
        from checklist.session.store import load

        with self._explained():
            self.show(reading_screen(load(path).session, path, what))

    def read_finished(self) -> None:
        """Close the session that was just finished, and show its note, or what there is in its place."""
        if self.recorder is None:
            return
        screen = reading_screen(self.recorder.session, self.recorder.path)
        screen.message = (self.put_down(), "urgent")
        self.show(screen)

    def read_example(self) -> None:
        """Show the note of an invented, finished session, which is not kept."""
        from checklist.demo import example
        from checklist.tui.note import NoteScreen

        with self._explained():
            self.show(NoteScreen(example(), None))

    @contextlib.contextmanager
    def _explained(self) -> Iterator[None]:
        """Say on the screen what is wrong with a file, instead of opening it."""
        try:
            yield
        except ChecklistError as error:
            self.say(error.what)

    def say(self, text: str, look: str = "urgent") -> None:
        """Show a message on the screen that is there."""
        from checklist.tui.screen import DrawnScreen

        if isinstance(self.screen, DrawnScreen):
            self.screen.message = (text, look)
            self.screen.draw()

    def leave(self) -> None:
        """Close the program; an examination under way is left so that it can be resumed."""
        self.is_leaving = True
        trouble = self.put_down()
        self.exit(return_code=1 if trouble else 0, message=trouble or None)

    async def action_quit(self) -> None:
        # In the screen's turn: keys that were pressed before this one are still waiting there.
        self.screen.call_later(self.leave)

    def action_say_how_to_quit(self) -> None:
        self.say("ctrl+q closes the program; what is recorded is kept.", "strong")

    def action_stand_still(self) -> None:
        """Give the terminal back to the shell for a while; that time is not examination."""
        if self.recorder:
            self.recorder.stand_still()
        self.action_suspend_process()

    def put_down(self) -> str:
        """Leave the session that is open, if there is one; return what went wrong."""
        recorder, self.recorder = self.recorder, None
        if recorder is None:
            return ""
        if recorder.session.state.stage is Stage.FINISHED:
            self.finished_protocol = recorder.session.protocol.id
        try:
            recorder.leave()
        except ChecklistError as error:
            return str(error)
        return ""

    def _fatal_error(self) -> None:
        """Show where the program broke, but not the values: they are what was recorded of a person."""
        from rich.segment import Segments
        from rich.traceback import Traceback

        self.put_down()
        trace = Traceback(show_locals=False)
        self._exit_renderables.append(Segments(self.console.render(trace, self.console.options)))
        self._close_messages_no_wait()


def check_can_go_on(session: Session) -> None:
    """Raise for a session that no screen can go on with, before anything is written into it.

    It is one of a mode that a later version knows, or its simulated patient is not on this computer.
    """
    mode = session.header.mode
    if mode not in {EXAMINATION, OBSERVATION} and not (_is_recall(session) or _has_patient(session)):
        raise ChecklistError(f"this session's mode is '{one_line(mode)}', which cannot be gone on with here")
    if _has_patient(session):
        from checklist.practice.library import case_of

        case_of(session)


def _is_recall(session: Session) -> bool:
    """Whether a session asks by recall; what that means is loaded only for a rehearsal."""
    if session.header.mode != REHEARSAL:
        return False
    from checklist.practice.rehearsal import is_recall

    return is_recall(session)


def _has_patient(session: Session) -> bool:
    """Whether a session is a rehearsal with a simulated patient."""
    return session.header.mode == REHEARSAL and session.header.task == "patient"


def reading_screen(session: Session, path: Path | None, what: str = "note") -> "DrawnScreen":
    """Return the screen on which a session of this mode is read: a rehearsal has no note."""
    if _is_recall(session):
        from checklist.tui.rehearsed import after_recall

        return after_recall(session, path)
    if _has_patient(session):
        from checklist.practice.library import case_of
        from checklist.tui.rehearsed import after_patient

        return after_patient(session, path, case_of(session))
    from checklist.tui.note import NoteScreen

    return NoteScreen(session, path, what)


def screen_of(recorder: Recorder) -> "DrawnScreen":
    """Return the screen on which a session of this mode is recorded."""
    if recorder.session.header.mode == OBSERVATION:
        from checklist.tui.observe import ObserveScreen

        return ObserveScreen(recorder)
    if _is_recall(recorder.session):
        from checklist.tui.rehearse import RehearseScreen

        return RehearseScreen(recorder)
    if _has_patient(recorder.session):
        from checklist.practice.library import case_of
        from checklist.tui.patient import PatientScreen

        return PatientScreen(recorder, case_of(recorder.session))
    from checklist.tui.examine import ExamineScreen

    return ExamineScreen(recorder)


def _spare_the_collector() -> None:
    """Take what start-up made out of the garbage collector's sight; a full collection costs 20 to 40 ms."""
    gc.freeze()
    gc.enable()
