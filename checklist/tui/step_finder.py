"""Finding a step by typing, on the list of all steps."""

from abc import abstractmethod

from checklist.text import one_line
from checklist.tui import lists
from checklist.tui.at_step import AtStep


class StepFinder(AtStep):
    """Adds the list of steps, which follows what is typed while its place is `steps`."""

    cursor = 0
    typed = ""
    """What the titles in the list hold."""

    @property
    @abstractmethod
    def rows(self) -> list[lists.Row]:
        """The rows of the list that is shown."""

    @abstractmethod
    def do_go(self) -> None:
        """Go to the chosen step."""

    @abstractmethod
    def do_cancel(self) -> None:
        """Leave the list without choosing."""

    def list_title(self) -> str:
        if not self.typed:
            return "All steps"
        return f"{'Steps' if self.rows else 'No step'} with “{self.typed}”"

    def do_find(self) -> None:
        self.place, self.typed = "steps", ""
        self.cursor = lists.first_choice(self.rows, self.step.id)
        self.search("Type a part of the title, ↑ ↓ choose, Enter goes there", self._found)

    def line_changed(self) -> None:
        """Let the list follow what is typed while a step is being looked for."""
        super().line_changed()
        if self.place == "steps" and self.line:
            self._narrow(self.line.text)

    def _narrow(self, typed: str) -> None:
        if one_line(typed) != self.typed:
            self.typed = one_line(typed)
            self.cursor = lists.best_choice(self.rows, self.typed)

    def _found(self, _: str) -> None:
        self.do_go()

    def do_drop(self) -> None:
        super().do_drop()
        if self.place == "steps":
            self.do_cancel()
