"""The note, the timeline and the debrief of a session, to be read, copied and saved."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from checklist.reasoning.alerts import open_alerts
from checklist.session.closing import amend_fault, changed_words, code_fault, name_warning, sign_fault
from checklist.session.session import EXAMINATION, OBSERVATION, Session
from checklist.session.state import Stage
from checklist.summary.words import capitalised
from checklist.text import one_line
from checklist.tui.closing import WHO, closing_words, untold_words
from checklist.tui.draw import BLANK, Line, spread
from checklist.tui.keys import Key, View
from checklist.tui.screen import DrawnScreen

if TYPE_CHECKING:
    from checklist.summary.document import Note

TITLES = {"note": "Note", "times": "Timeline", "debrief": "Debrief"}
"""Documents in the order in which one key goes through them."""


def readable(session: Session, what: str) -> str:
    """Return what to show when `what` is asked for.

    What is no examination has no patient's note, and where nothing was performed there is no debrief.
    """
    if what == "note" and session.header.mode != EXAMINATION:
        what = "debrief"
    if what == "debrief" and session.header.mode not in {EXAMINATION, OBSERVATION}:
        what = "times"
    return what


class NoteScreen(DrawnScreen):
    """Shows one document at a time, as plain text."""

    def __init__(self, session: Session, path: Path | None, what: str = "note") -> None:
        super().__init__()
        self.session = session
        self.path = path
        self.what = readable(session, what)
        self._earlier: tuple[Session, ...] | None = None
        """What the debrief compares times with, once it was read."""
        self._changed = changed_words(path, session) if path else ""
        """What the file shows of a change since it was signed."""
        self._doubted = ""
        """The initials that the last key asked about, because they look like a person."""
        self._asked = ""
        """The initials for which it was asked whether the session is to be closed."""

    @property
    def view(self) -> View:
        return self.checklist.views["note"]

    def useful(self, key: Key) -> bool:
        match key.id:
            case "told":
                return self.can_be_told
            case "amend":
                return bool(self.path) and not amend_fault(self.session)
            case "sign":
                return bool(self.path) and not sign_fault(self.session)
            case _:
                return True

    @property
    def can_be_told(self) -> bool:
        """Whether a finished session still has somebody to tell, signed or not."""
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

        if self.what == "debrief":
            return plain_text(self._debrief(), width)
        make = note if self.what == "note" else timeline
        return plain_text(make(self.session), width)

    def _debrief(self) -> "Note":
        from checklist.session.earlier import earlier
        from checklist.summary.debrief import debrief

        if self._earlier is None:
            self._earlier = earlier(self.session) if self.path else ()
        return debrief(self.session, self._earlier)

    def standing_message(self) -> tuple[str, str]:
        if self.can_be_told or self._changed:
            waiting = len(open_alerts(self.session))
            told = f"{waiting} not yet told. {self.key('note.told')} answers whom and when."
            changed = f"{capitalised(self._changed)}."
            said = (told if self.can_be_told else "", changed if self._changed else "")
            return " ".join(filter(None, said)), "warn"
        return (f"Kept in {self.path}" if self.path else "An invented example, not kept."), "quiet"

    def do_switch(self) -> None:
        names = [each for each in TITLES if readable(self.session, each) == each]
        self.what = names[(names.index(self.what) + 1) % len(names)]
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

    def do_amend(self) -> None:
        if self.path is None:
            self.message = ("An invented example is not amended.", "quiet")
        elif fault := amend_fault(self.session):
            self.message = (f"Not amended: {fault}.", "warn")
        else:
            self.checklist.amend(self.path)

    def do_sign(self) -> None:
        """Ask who signs; what is not told yet is named first."""
        if self.path is None:
            self.message = ("An invented example is not signed.", "quiet")
        elif fault := sign_fault(self.session):
            self.message = (f"Not signed: {fault}.", "warn")
        else:
            self.message = (untold_words(self.session), "warn")
            self._doubted, self._asked = "", ""
            self.type_text(WHO, "", self._take_signature)

    def _take_signature(self, text: str) -> None:
        """Sign once the initials can stand and what follows from it was said."""
        code = one_line(text)
        warning = name_warning(code)
        if fault := code_fault(code) or sign_fault(self.session, code):
            self.message = (f"Not signed: {fault}.", "warn")
            return
        if warning and self._doubted != code:
            self._doubted = code
            self.message = (f"'{code}' {warning}. Use initials or a code; Enter again keeps it.", "warn")
        elif self._asked != code:
            self._asked = code
            self.message = (f"{closing_words(self.session)} Enter again signs as {code}.", "warn")
        else:
            assert self.path is not None
            self.checklist.sign(self.path, code)
            return
        self.type_text(WHO, code, self._take_signature)

    def do_cancel(self) -> None:
        self.checklist.go_home()
