"""Home: what is unfinished, what can be examined, and what was examined, in one list."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from checklist.errors import ChecklistError
from checklist.protocol.library import Headline
from checklist.session.session import OBSERVATION, REHEARSAL
from checklist.session.store import Summary
from checklist.tui.draw import BLANK, Line, spread, window, wrap
from checklist.tui.keys import Key, View
from checklist.tui.screen import DrawnScreen
from checklist.tui.step_view import minutes

WELCOME = (
    "Examine by keyboard: choose a protocol, prepare, then one key a step. "
    "The record is written as you go, and the note is made from it."
)
MOST_SESSIONS = 50


@dataclass(frozen=True, kw_only=True, slots=True)
class Choice:
    """One line of the list: a protocol to examine by, or a session; a heading has neither."""

    text: str
    note: str = ""
    protocol: Path | None = None
    session: Path | None = None
    of: str = ""
    """Id of the session's protocol."""
    mode: str = ""
    """Of the session."""
    is_finished: bool = False
    hint: str = ""

    @property
    def can_be_chosen(self) -> bool:
        return bool(self.protocol or self.session)

    @property
    def can_be_read(self) -> bool:
        """Whether it is a session that may be shown: an unfinished rehearsal would give its answers away."""
        return self.session is not None and (self.is_finished or self.mode != REHEARSAL)

    @property
    def has_documents(self) -> bool:
        """Whether there is a timeline, with a note or a debrief; how a rehearsal went is opened."""
        return self.session is not None and self.mode != REHEARSAL


def choices(headlines: Sequence[Headline], summaries: Sequence[Summary], open_key: str) -> list[Choice]:
    """Return the list: unfinished sessions first, because they wait."""
    unfinished = [_session(each) for each in summaries if not each.is_finished]
    finished = [each for each in summaries if each.is_finished][:MOST_SESSIONS]
    rows = [Choice(text=f"Unfinished: {open_key} takes up where it stood"), *unfinished] if unfinished else []
    rows += [Choice(text="Examine, or rehearse"), *(_protocol(each) for each in headlines)]
    if finished:
        heading = f"Finished: {open_key} reads the note, or how it went"
        rows += [Choice(text=heading), *(_session(each) for each in finished)]
    return rows


def _protocol(headline: Headline) -> Choice:
    if headline.problem:
        return Choice(text=f"{headline.id}: {headline.problem}", protocol=headline.path)
    note = f"{headline.target_minutes:g} minutes, {headline.origin}"
    return Choice(text=headline.title, note=note, protocol=headline.path, hint=headline.summary)


def _session(summary: Summary) -> Choice:
    if summary.problem:
        return Choice(text=f"{summary.path.name}: {summary.problem}", session=summary.path)
    return Choice(
        text="  ".join(filter(None, (_when(summary), summary.title, summary.participant))),
        note=f"{_kind(summary)}, {minutes(summary.clock)} min",
        session=summary.path,
        of=summary.protocol,
        mode=summary.mode,
        is_finished=summary.is_finished,
    )


def _when(summary: Summary) -> str:
    return f"{summary.created:%Y-%m-%d %H:%M}" if summary.created else ""


def _kind(summary: Summary) -> str:
    """Say what the session was, and whose where it has no participant: it stands where nothing is cropped."""
    code = "" if summary.participant else summary.examiner
    if summary.mode == REHEARSAL:
        # Loaded only where there are rehearsals: at home every import delays the first screen.
        from checklist.practice.tasks import label

        return ", ".join(filter(None, (code, label(summary.task))))
    if summary.mode == OBSERVATION:
        return f"{OBSERVATION}{f' of {code}' if code else ''}, {summary.setting}"
    return ", ".join(filter(None, (code, summary.setting)))


class HomeScreen(DrawnScreen):
    """The list, with a cursor."""

    def __init__(self) -> None:
        super().__init__()
        self.choices: list[Choice] = []
        self.path_of: dict[str, Path] = {}
        """Files of the protocols, by id."""
        self.cursor = 0

    def on_screen_resume(self) -> None:
        self.load()

    def load(self) -> None:
        """Read again what there is."""
        from checklist.protocol.library import headlines
        from checklist.session.store import summaries

        sessions: list[Summary] = []
        try:
            sessions = summaries()
        except ChecklistError as error:
            # Protocols can be looked at all the same; what is wrong is said again when one is begun.
            self.message = (str(error), "urgent")
        protocols = headlines()
        self.path_of = {each.id: each.path for each in protocols}
        self.choices = choices(protocols, sessions, self.key("home.open"))
        places = [place for place, row in enumerate(self.choices) if row.can_be_chosen]
        # What was just finished is likely to be wanted once more.
        at, self.checklist.finished_protocol = self.checklist.finished_protocol, ""
        if at in self.path_of:
            rows = [row.protocol for row in self.choices]
            self.cursor = rows.index(self.path_of[at])
        self.cursor = next((place for place in places if place >= self.cursor), places[-1] if places else 0)

    @property
    def view(self) -> View:
        return self.checklist.views["home"]

    @property
    def chosen(self) -> Choice:
        return self.choices[self.cursor] if self.choices else Choice(text="")

    def useful(self, key: Key) -> bool:
        if key.id in {"note", "times"}:
            return self.chosen.has_documents
        return True

    def label(self, key: Key) -> str:
        """Call by its name what there is: an observation has no note."""
        if key.id == "note" and self.chosen.mode == OBSERVATION:
            return "debrief"
        return key.label

    def head(self, width: int) -> Sequence[Line]:
        return [
            spread([("Exam checklist", "bar")], [("learning and documentation aid ", "bar")], width),
            BLANK,
        ]

    def body(self, width: int, height: int) -> Sequence[Line]:
        lines: list[Line] = [*(((line, "quiet"),) for line in wrap(WELCOME, width)), BLANK]
        for index in window(len(self.choices), self.cursor, height - len(lines)):
            row = self.choices[index]
            if not row.can_be_chosen:
                lines.append(((row.text, "strong"),))
                continue
            look = "cursor" if index == self.cursor else ""
            mark = "▸" if look else " "
            lines.append(spread([(f"{mark} {row.text}", look)], [(row.note, look or "quiet")], width))
        return lines

    def standing_message(self) -> tuple[str, str]:
        if self.chosen.protocol:
            return self.chosen.hint or f"{self.key('home.open')}: prepare and begin.", "quiet"
        return ("Local policy, your scope of practice and the licensed clinician decide.", "quiet")

    def do_open(self) -> None:
        row = self.chosen
        if row.protocol:
            self.checklist.prepare(row.protocol)
        elif row.session and row.is_finished:
            self.checklist.read(row.session)
        elif row.session:
            self.checklist.take_up(row.session)

    def do_note(self) -> None:
        self._read("note")

    def do_times(self) -> None:
        self._read("times")

    def _read(self, what: str) -> None:
        row = self.chosen
        if row.session and row.can_be_read:
            self.checklist.read(row.session, what)
        elif row.session:
            self.message = (f"Not finished; {self.key('home.open')} takes it up.", "warn")
        else:
            self.message = ("Choose a session to read.", "quiet")

    def do_rehearse(self) -> None:
        self._with_protocol(self.checklist.rehearse)

    def do_practise(self) -> None:
        self._with_protocol(lambda path: self.checklist.look_back(path, "practise"))

    def do_progress(self) -> None:
        self._with_protocol(lambda path: self.checklist.look_back(path, "progress"))

    def _with_protocol(self, action: Callable[[Path], None]) -> None:
        """Do something with the chosen protocol, or with that of the chosen session."""
        row = self.chosen
        path = row.protocol or self.path_of.get(row.of)
        if path:
            action(path)
        elif row.session:
            self.message = ("The protocol of this session is not on this computer.", "warn")
        else:
            self.message = ("Choose a protocol, or a session on it.", "quiet")

    def do_example(self) -> None:
        self.checklist.read_example()

    def move_by(self, rows: int) -> None:
        """Move over the lines that can be chosen, stopping at the ends."""
        places = [place for place, row in enumerate(self.choices) if row.can_be_chosen]
        if places:
            here = places.index(self.cursor) if self.cursor in places else 0
            self.cursor = places[max(0, min(len(places) - 1, here + rows))]

    def do_quit(self) -> None:
        self.checklist.leave()
