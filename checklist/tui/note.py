"""The note and the timeline of a session, to be read, copied and saved."""

from collections.abc import Sequence
from pathlib import Path

from checklist.session.session import Session
from checklist.session.standing import open_alerts
from checklist.session.state import Stage
from checklist.tui.draw import BLANK, Line, spread
from checklist.tui.keys import Key, View
from checklist.tui.screen import DrawnScreen

TITLES = {"note": "Note", "times": "Timeline"}


class NoteScreen(DrawnScreen):
    """Shows one document at a time, as plain text."""

    def __init__(self, session: Session, path: Path | None, what: str = "note") -> None:
        super().__init__()
        self.session = session
        self.path = path
        self.what = what

    @property
    def view(self) -> View:
        return self.checklist.views["note"]

    def useful(self, key: Key) -> bool:
        return key.id != "told" or self.can_be_told

    @property
    def can_be_told(self) -> bool:
        """Whether a finished session still has somebody to tell."""
        return self.session.state.stage is Stage.FINISHED and bool(open_alerts(self.session))

    def head(self, width: int) -> Sequence[Line]:
        header = self.session.header
        right = "EXAMPLE " if header.fictional else "PRACTICE " if header.is_simulated else "CARE "
        return [
            spread(
                [(f"{TITLES[self.what]}: {self.session.protocol.title}   {header.participant}", "bar")],
                [(right, "bar")],
                width,
            ),
            BLANK,
        ]

    def body(self, width: int, height: int) -> Sequence[Line]:  # noqa: ARG002
        return [((line, ""),) for line in self.text(width).splitlines()]

    def text(self, width: int) -> str:
        from checklist.summary.document import plain_text
        from checklist.summary.note import note
        from checklist.summary.timeline import timeline

        make = note if self.what == "note" else timeline
        return plain_text(make(self.session), width)

    def standing_message(self) -> tuple[str, str]:
        if self.can_be_told:
            waiting = len(open_alerts(self.session))
            return f"{waiting} not yet told. {self.key('note.told')} answers whom and when.", "warn"
        return (f"Kept in {self.path}" if self.path else "An invented example, not kept."), "quiet"

    def do_switch(self) -> None:
        self.what = "times" if self.what == "note" else "note"
        self.offset_rows = 0

    def do_copy(self) -> None:
        self.app.copy_to_clipboard(self.text(88))
        self.message = (
            f"Copied, where the terminal allows it. {self.key('note.save')} saves it to a file.",
            "strong",
        )

    def do_save(self) -> None:
        name = f"{self.session.header.id}-{self.what}.txt"
        self.type_text("File to write", str(Path.cwd() / name), self._save)

    def _save(self, name: str) -> None:
        from checklist.output import OutputError, write_new

        target = Path(name.strip())
        try:
            write_new(target, self.text(88))
        except OutputError as error:
            self.message = (str(error), "urgent")
        else:
            self.message = (f"Saved: {target}", "strong")

    def do_told(self) -> None:
        if self.can_be_told and self.path:
            self.checklist.tell_later(self.path)
        else:
            self.message = ("Nothing waits to be told.", "quiet")

    def do_cancel(self) -> None:
        self.checklist.go_home()
