"""What to practise next, and progress over time, to be read on the screen."""

from collections.abc import Sequence
from datetime import datetime

from checklist.practice.history import History
from checklist.tui.draw import BLANK, Line, spread
from checklist.tui.keys import View
from checklist.tui.screen import DrawnScreen

MINUTES = 20.0
"""For which the screen plans; the command takes any number."""
TITLES = {"practise": f"What to practise in {MINUTES:g} minutes", "progress": "Progress"}


class HistoryScreen(DrawnScreen):
    """Shows one of both documents on one protocol."""

    def __init__(self, history: History, what: str, now: datetime) -> None:
        super().__init__()
        self.history = history
        self.what = what
        self.now = now

    @property
    def view(self) -> View:
        return self.checklist.views["read"]

    def head(self, width: int) -> Sequence[Line]:
        title = f"{TITLES[self.what]}: {self.history.protocol.title}"
        return [spread([(title, "bar")], [(f"{self.history.examiner} ", "bar")], width), BLANK]

    def body(self, width: int, height: int) -> Sequence[Line]:  # noqa: ARG002
        from checklist.summary.document import plain_text
        from checklist.summary.practise import practise
        from checklist.summary.progress import progress

        is_plan = self.what == "practise"
        document = practise(self.history, MINUTES, self.now) if is_plan else progress(self.history)
        return [((line, ""),) for line in plain_text(document, width).splitlines()]

    def do_switch(self) -> None:
        self.what = "progress" if self.what == "practise" else "practise"
        self.offset_rows = 0

    def do_cancel(self) -> None:
        self.checklist.go_home()
