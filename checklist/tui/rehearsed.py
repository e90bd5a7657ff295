"""How a finished rehearsal went, to be read on the screen: the document that `checklist debrief` prints."""

from collections.abc import Sequence
from pathlib import Path

from checklist.practice.cases import Case
from checklist.practice.library import descriptions_of
from checklist.session.session import Session
from checklist.summary.case_report import case_report
from checklist.summary.document import Note, plain_text
from checklist.summary.rehearsed import rehearsed
from checklist.tui.draw import BLANK, Line, spread, wrap
from checklist.tui.keys import View
from checklist.tui.screen import DrawnScreen


class RehearsedScreen(DrawnScreen):
    """Shows the document, and where the session is kept."""

    def __init__(self, title: str, document: Note, path: Path | None) -> None:
        super().__init__()
        self.title_words = title
        self.document = document
        self.path = path

    @property
    def view(self) -> View:
        return self.checklist.views["rehearsed"]

    def head(self, width: int) -> Sequence[Line]:
        return [spread([(self.title_words, "bar")], [("NO PATIENT ", "bar")], width), BLANK]

    def body(self, width: int, height: int) -> Sequence[Line]:  # noqa: ARG002
        rows = plain_text(self.document, width).splitlines()
        return [((line, ""),) for row in rows for line in wrap(row, width)]

    def standing_message(self) -> tuple[str, str]:
        return (f"Kept in {self.path}" if self.path else ""), "quiet"

    def do_cancel(self) -> None:
        self.checklist.go_home()


def after_recall(session: Session, path: Path | None) -> RehearsedScreen:
    """Return the screen on a rehearsal by recall."""
    title = f"After the rehearsal: {session.protocol.title}   {session.header.examiner}"
    return RehearsedScreen(title, rehearsed(session), path)


def after_patient(session: Session, path: Path | None, case: Case) -> RehearsedScreen:
    """Return the screen on a rehearsal with a simulated patient."""
    described, _ = descriptions_of(session.protocol)
    name = session.header.case.partition(" #")[0]
    title = f"After the simulated patient: {session.protocol.title}   {name}"
    return RehearsedScreen(title, case_report(session, case, described), path)
