"""What to practise next, and progress over time, to be read on the screen."""

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from checklist.practice.history import History
from checklist.practice.plan import plan
from checklist.practice.recall import estimates
from checklist.practice.tasks import here
from checklist.tui.draw import BLANK, Line, spread
from checklist.tui.keys import Key, View
from checklist.tui.screen import DrawnScreen

MINUTES = (5, 10, 20, 30, 45, 60, 90)
"""For which the screen plans, step by step; the command takes any number."""
USUAL = MINUTES.index(20)


class HistoryScreen(DrawnScreen):
    """Shows one of both documents on one protocol; from the plan, what is due can be rehearsed."""

    def __init__(
        self,
        history: History,
        what: str,
        now: datetime,
        path: Path | None = None,
        *,
        is_from_list: bool = False,
    ) -> None:
        super().__init__()
        self.is_from_list = is_from_list
        """Whether it was opened from the list of rehearsals, which is then gone back to."""
        self.history = history
        self.what = what
        self.now = now
        self.path = path
        """The protocol's file."""
        self.place = USUAL
        """Of the minutes."""
        self._lines: dict[tuple[str, int, int], list[Line]] = {}
        """What was shown, by document, minutes and width: to scroll computes nothing anew."""
        self._due: dict[int, tuple[str, ...]] = {}

    @property
    def view(self) -> View:
        return self.checklist.views["read"]

    @property
    def minutes(self) -> int:
        return MINUTES[self.place]

    @property
    def is_plan(self) -> bool:
        return self.what == "practise"

    @property
    def due(self) -> tuple[str, ...]:
        """Return the ids of the steps that are planned, as far as a rehearsal asks for them."""
        if self.minutes not in self._due:
            protocol = self.history.protocol
            planned = plan(protocol, estimates(self.history.runs, self.now), self.minutes)
            self._due[self.minutes] = here(protocol, "", (item.step.id for item in planned.items))
        return self._due[self.minutes]

    def useful(self, key: Key) -> bool:
        match key.id:
            case "shorter":
                return self.is_plan and self.place > 0
            case "longer":
                return self.is_plan and self.place < len(MINUTES) - 1
            case "begin":
                return self.is_plan and self.path is not None and bool(self.due)
            case _:
                return True

    def label(self, key: Key) -> str:
        if key.id == "switch":
            return "progress" if self.is_plan else "what next"
        return key.label

    def head(self, width: int) -> Sequence[Line]:
        title = f"What to practise in {self.minutes} minutes" if self.is_plan else "Progress"
        left = f"{title}: {self.history.protocol.title}"
        return [spread([(left, "bar")], [(f"{self.history.examiner} ", "bar")], width), BLANK]

    def body(self, width: int, height: int) -> Sequence[Line]:  # noqa: ARG002
        shown = (self.what, self.minutes, width)
        if shown not in self._lines:
            self._lines[shown] = self._text_lines(width)
        return self._lines[shown]

    def _text_lines(self, width: int) -> list[Line]:
        from checklist.summary.document import plain_text
        from checklist.summary.practise import practise
        from checklist.summary.progress import progress

        if self.is_plan:
            document = practise(self.history, self.minutes, self.now, width)
        else:
            document = progress(self.history, self.now)
        return [((line, ""),) for line in plain_text(document, width).splitlines()]

    def do_switch(self) -> None:
        self.what = "progress" if self.is_plan else "practise"
        self.offset_rows = 0

    def do_shorter(self) -> None:
        self._plan_for(self.place - 1)

    def do_longer(self) -> None:
        self._plan_for(self.place + 1)

    def _plan_for(self, place: int) -> None:
        """Plan for other minutes, if there are any that way."""
        if not self.is_plan:
            self.message = (f"Progress has no minutes; {self.key('read.switch')} shows the plan.", "quiet")
        elif 0 <= place < len(MINUTES):
            self.place, self.offset_rows = place, 0
        else:
            self.message = (f"{self.minutes} minutes; 'checklist practise' takes any number.", "quiet")

    def do_begin(self) -> None:
        if not self.is_plan:
            self.message = (f"{self.key('read.switch')} shows what is due first.", "quiet")
        elif self.path is None or not self.due:
            self.message = ("Nothing is due that a rehearsal asks for.", "quiet")
        else:
            self.checklist.recall_due(self.path, self.due, self.history.examiner)

    def do_cancel(self) -> None:
        if self.is_from_list and self.path:
            self.checklist.rehearse(self.path)
        else:
            self.checklist.go_home()
