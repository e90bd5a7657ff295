"""What every screen has that stands at a step of a session under way."""

from checklist.protocol.model import Entry, Step
from checklist.session.recorder import Recorder
from checklist.session.session import Session
from checklist.session.state import Stage
from checklist.tui.screen import DrawnScreen
from checklist.tui.sheet import Sheet


class AtStep(DrawnScreen):
    """Holds the recorder, and what the examiner has chosen and opened at the current step."""

    def __init__(self, recorder: Recorder) -> None:
        super().__init__()
        self.recorder = recorder
        self.place = "step"
        """Id of the view, when neither a sheet nor a line to type in is open."""
        self.sheet: Sheet | None = None
        self.chosen: Entry | None = None
        self.doubted = ""
        """The typed text that the last key asked about before keeping it."""

    @property
    def session(self) -> Session:
        return self.recorder.session

    @property
    def step(self) -> Step:
        return self.session.protocol.step_of[self.session.state.current]

    def run_clock(self) -> None:
        """Let the clock on the screen move by itself, where it does."""
        if self.checklist.surroundings.ticks:
            self.set_interval(1.0, self.tick)

    def tick(self) -> None:
        """Let a second pass: only the clock is drawn, unless the file is in trouble."""
        trouble = ""

        def read() -> None:
            nonlocal trouble
            trouble = self.recorder.tick()

        self.guarded(read)
        if trouble or self.message[0].startswith("NOT RECORDED"):
            self.message = (trouble or self.message[0], "urgent")
            self.draw()
        elif not self.is_too_small and self.session.state.stage is Stage.RUNNING:
            self.draw_clock()

    def draw_clock(self) -> None:
        """Draw what changes with the time alone."""
        self._show("head", self.head(self.app.size.width - 2))

    def warn_of_identity(self, words: str) -> None:
        """Say when own words look as if they named a person: they stay, and can be changed."""
        # Loaded with the first own words, since its patterns take a while to be made.
        from checklist.identity import text_warning

        if warning := text_warning(words):
            self.say(f"It {warning}: use codes only, and change it if so. “{words}”", "warn")

    def say(self, text: str, look: str = "quiet") -> None:
        self.message = (text, look)
