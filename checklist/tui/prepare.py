"""Preparation, before the clock starts: who, in codes; practice or care; what is at hand."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from checklist.identity import identity_warning
from checklist.protocol.library import Loaded
from checklist.protocol.model import Protocol
from checklist.session.opening import CODE_LENGTH
from checklist.session.session import CARE, EXAMINATION, OBSERVATION, PRACTICE
from checklist.text import one_line, same_code
from checklist.tui.draw import BLANK, Line, labelled, spread, window
from checklist.tui.keys import DIGITS, View
from checklist.tui.screen import DrawnScreen


@dataclass(frozen=True, kw_only=True, slots=True)
class Answers:
    """What has been answered so far."""

    participant: str = ""
    examiner: str = ""
    age: str = ""
    setting: str = PRACTICE
    at_hand: frozenset[str] = field(default_factory=frozenset)
    mode: str = EXAMINATION
    observer: str = ""
    """Code of the one who marks, in an observation."""
    assessed: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class Row:
    """One line of the form; `kind` says what changing it does."""

    kind: str
    text: str
    value: str = ""
    id: str = ""


LABELS = {
    "participant": "Participant code",
    "examiner": "Examiner code",
    "observer": "Observer code",
    "age": "Age band",
    "setting": "For",
    "mode": "Mode",
    "assessed": "Assessed",
}
MODE_WORDS = {
    EXAMINATION: "examination: you examine",
    OBSERVATION: "observation: you mark how the examiner does it",
}


def rows(loaded: Loaded, answers: Answers) -> list[Row]:
    """Return the form: who, then the tick list."""
    protocol = loaded.protocol
    lines = [
        Row(kind="participant", text=LABELS["participant"], value=answers.participant or "…"),
        Row(kind="examiner", text=LABELS["examiner"], value=answers.examiner or "…"),
    ]
    if answers.mode == OBSERVATION:
        lines.append(Row(kind="observer", text=LABELS["observer"], value=answers.observer or "…"))
    if protocol.audience.ages:
        lines.append(Row(kind="age", text=LABELS["age"], value=answers.age or "…"))
    care = "care: a patient's record" if answers.setting == CARE else "practice: every output says so"
    lines.append(Row(kind="setting", text=LABELS["setting"], value=care))
    lines.append(Row(kind="mode", text=LABELS["mode"], value=MODE_WORDS[answers.mode]))
    lines.append(Row(kind="assessed", text=LABELS["assessed"], value=_assessed_words(answers)))
    for heading, room in (("Room", True), ("Equipment at hand", False)):
        items = [item for item in protocol.equipment if item.room is room]
        if items:
            lines.append(Row(kind="heading", text=heading))
        for item in items:
            mark = "x" if item.id in answers.at_hand else " "
            lines.append(Row(kind="item", text=f"[{mark}] {item.name}", id=item.id))
    return lines


def _assessed_words(answers: Answers) -> str:
    if not answers.assessed:
        return "no"
    return "yes" if answers.mode == OBSERVATION else "yes: no hints on the screen before the end"


def codes(answers: Answers) -> tuple[str, ...]:
    """Return the kinds of the codes that must be given; an observer may not know who is examined."""
    return ("examiner", "observer") if answers.mode == OBSERVATION else ("participant", "examiner")


def doubts(loaded: Loaded, answers: Answers) -> list[str]:
    """Return what should be looked at once more before the clock starts; the clock may start all the same."""
    found = [
        f"{LABELS[kind]} {warning}: use a made-up code"
        for kind in dict.fromkeys(("participant", *codes(answers)))
        if (warning := identity_warning(getattr(answers, kind)))
    ]
    if answers.mode == OBSERVATION and same_code(answers.observer, answers.examiner):
        found.append("the observer code is the examiner code: an observer marks somebody else")
    missing = [item.name for item in loaded.protocol.equipment if item.id not in answers.at_hand]
    if len(missing) == len(loaded.protocol.equipment) and missing:
        found.append("nothing is ticked as at hand (a ticks all)")
    elif missing:
        found.append(f"not at hand: {', '.join(missing)}")
    return found


def lacking(answers: Answers) -> str:
    """Return the kind of the row that must be answered before the clock can start; empty when all is."""
    return next((kind for kind in codes(answers) if not getattr(answers, kind)), "")


class PrepareScreen(DrawnScreen):
    """The form, with a cursor; text is typed in the line above the keys."""

    def __init__(self, loaded: Loaded, answers: Answers | None = None) -> None:
        super().__init__()
        self.loaded = loaded
        self.answers = answers or Answers()
        self.cursor = 0
        self.is_reading = False
        """Whether the cautions are shown in place of the form."""
        self._was_warned: list[str] = []
        self._doubted = ""

    def on_mount(self) -> None:
        if kind := lacking(self.answers):
            if self.answers.mode == OBSERVATION:
                self._stand_at(kind)
            self.do_change()

    @property
    def view(self) -> View:
        return self.checklist.views["prepare"]

    @property
    def rows(self) -> list[Row]:
        return rows(self.loaded, self.answers)

    def head(self, width: int) -> Sequence[Line]:
        protocol = self.loaded.protocol
        conditional = sum(bool(step.only_if) for step in protocol)
        more = f" and {conditional} if indicated" if conditional else ""
        planned = f"{len(protocol.steps) - conditional} steps{more}, {protocol.target_minutes:g} minutes "
        return [spread([(f"Prepare: {protocol.title}", "bar")], [(planned, "bar")], width), BLANK]

    def body(self, width: int, height: int) -> Sequence[Line]:
        if self.is_reading:
            return _guidance(self.loaded.protocol, width)
        protocol = self.loaded.protocol
        lines: list[Line] = []
        if protocol.position:
            lines += labelled("Position", protocol.position, width)
        if protocol.cautions:
            lines += labelled("Caution", protocol.cautions[0], width, "strong", "warn")
            count = len(protocol.cautions)
            rest = f"{self.key('prepare.cautions')}: all {count} cautions, and adaptations"
            lines += labelled("", rest, width, "quiet")
        form = self.rows
        lines = [*lines[: height // 2], BLANK]
        for index in window(len(form), self.cursor, height - len(lines)):
            lines.append(_row_line(form[index], index == self.cursor, width))
        return lines

    def do_cautions(self) -> None:
        self.is_reading, self.offset_rows = not self.is_reading, 0

    def standing_message(self) -> tuple[str, str]:
        if self.is_reading:
            return f"{self.key('prepare.cautions')} goes back to the form.", "quiet"
        match self.rows[self.cursor].kind:
            case "participant" | "examiner" | "observer":
                return "A made-up code such as P-014: no name, date of birth or record number.", "quiet"
            case "age":
                bands = ", ".join(
                    f"{key} {band}"
                    for key, band in zip(DIGITS, self.loaded.protocol.audience.ages, strict=False)
                )
                return f"Age band: {bands}", "quiet"
            case "setting":
                change = self.key("prepare.change")
                return f"Practice marks every output as a simulated record. {change} changes it.", "quiet"
            case "mode":
                return f"Who holds the keyboard. {self.key('prepare.change')} changes it.", "quiet"
            case "assessed":
                return f"Whether the performance counts. {self.key('prepare.change')} changes it.", "quiet"
            case _:
                return "Tick what is at hand with space; what is not marks the steps that need it.", "quiet"

    def press(self, means: str, key: str) -> None:
        if means != "change":
            self._doubted = self._doubted if self.line else ""
        super().press(means, key)

    def do_change(self) -> None:
        row = self.rows[self.cursor]
        match row.kind:
            case "participant" | "examiner" | "observer":
                value = getattr(self.answers, row.kind)
                self.type_text(f"{row.text}, then Enter", value, lambda text: self._typed(row.kind, text))
            case "age":
                ages = self.loaded.protocol.audience.ages
                place = ages.index(self.answers.age) + 1 if self.answers.age in ages else 0
                self._answer(age=ages[place % len(ages)])
            case "setting":
                self._change_setting()
            case "mode":
                self._change_mode()
            case "assessed":
                self._answer(assessed=not self.answers.assessed)
            case "item":
                self._answer(at_hand=self.answers.at_hand ^ {row.id})
                self.move_by(1)

    def do_option(self, key: str) -> None:
        """Choose the age band with this number."""
        ages = self.loaded.protocol.audience.ages
        if self.rows[self.cursor].kind == "age" and int(key) <= len(ages):
            self._answer(age=ages[int(key) - 1])
            self.move_by(1)

    def do_all(self) -> None:
        self._answer(at_hand=frozenset(item.id for item in self.loaded.protocol.equipment))

    def _change_setting(self) -> None:
        """Change between practice and care; care, which makes a patient's record, is asked about first."""
        if self.answers.setting == CARE:
            self._answer(setting=PRACTICE)
        elif self._doubted != CARE:
            self._doubted = CARE
            change = self.key("prepare.change")
            self.message = (f"Care makes a patient's record. {change} again sets it.", "warn")
        else:
            self._doubted = ""
            self._answer(setting=CARE)

    def _change_mode(self) -> None:
        """Change who holds the keyboard; an observer is asked for a code at once."""
        is_observed = self.answers.mode == OBSERVATION
        self._answer(mode=EXAMINATION if is_observed else OBSERVATION)
        self._stand_at("mode")
        if self.answers.mode == OBSERVATION and (kind := lacking(self.answers)):
            self._stand_at(kind)
            self.do_change()

    def _stand_at(self, kind: str) -> None:
        self.cursor = next(index for index, row in enumerate(self.rows) if row.kind == kind)

    def _typed(self, kind: str, text: str) -> None:
        """Take a code; one that looks like an identity stays in the line until it is taken twice."""
        code = one_line(text)[:CODE_LENGTH]
        warning = identity_warning(code)
        if warning and self._doubted != code:
            self._doubted = code
            self.message = (f"'{code}' {warning}. Use a made-up code; Enter again keeps it.", "warn")
            self.type_text(LABELS[kind], code, lambda again: self._typed(kind, again))
            return
        self._answer(**{kind: code})
        if code:
            self.move_by(1)
            if self.rows[self.cursor].kind == lacking(self.answers):
                self.do_change()

    def _answer(self, **changes: object) -> None:
        self.answers = replace(self.answers, **changes)  # type: ignore[arg-type]
        self.checklist.answers[self.loaded.path] = self.answers

    def do_begin(self) -> None:
        """Start the clock; what is in doubt is said once, and the second key starts all the same."""
        if kind := lacking(self.answers):
            self._stand_at(kind)
            self.message = (f"{LABELS[kind]} is needed. {self.key('prepare.change')} types it.", "warn")
            return
        doubtful = doubts(self.loaded, self.answers)
        if doubtful and doubtful != self._was_warned:
            self._was_warned = doubtful
            begin = self.key("prepare.begin")
            self.message = (f"{begin} again begins, but: {'; '.join(doubtful)}.", "warn")
            return
        self.checklist.begin(self.loaded, self.answers)

    def do_cancel(self) -> None:
        if self.is_reading:
            self.do_cautions()
        else:
            self.checklist.go_home()

    def move_by(self, by: int) -> None:
        """Move over the rows that can be changed, stopping at the ends; in a long text, scroll."""
        if self.is_reading:
            super().move_by(by)
            return
        places = [index for index, row in enumerate(self.rows) if row.kind != "heading"]
        self.cursor = places[max(0, min(len(places) - 1, places.index(self.cursor) + by))]


def _guidance(protocol: Protocol, width: int) -> list[Line]:
    """Return everything that the protocol says before the first step."""
    lines: list[Line] = []
    parts = (("Cautions", protocol.cautions), ("Adapt", protocol.adaptations), ("Scope", (protocol.scope,)))
    for label, texts in parts:
        for index, text in enumerate(texts):
            lines += [*labelled("" if index else label, text, width), BLANK]
    return lines


def _row_line(row: Row, is_chosen: bool, width: int) -> Line:
    look = "cursor" if is_chosen else ""
    mark = "▸" if is_chosen else " "
    match row.kind:
        case "heading":
            return ((row.text, "strong"),)
        case "item":
            return spread([(f"{mark} {row.text}", look)], [], width)
        case _:
            return spread([(f"{mark} {row.text:<18}", look), (row.value, look or "strong")], [], width)
