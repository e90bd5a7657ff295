"""The simulated patient: the examining screen, with a key that shows what would be seen, heard or felt.

How fast a finding is told and what belongs together are hidden before the end: the learner says so.
Nothing is recorded of a step before the learner has looked.
"""

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from checklist.practice.case_score import SAID, Tellable, tellable, whom
from checklist.practice.cases import Case, what_is_there
from checklist.practice.descriptions import revealed
from checklist.practice.fitting import with_values_if_done
from checklist.practice.library import descriptions_of
from checklist.protocol.model import Protocol, Step
from checklist.session.recorder import Recorder
from checklist.session.session import Session
from checklist.session.standing import tally
from checklist.session.state import Stage
from checklist.tui import lists
from checklist.tui.draw import Line, labelled, spread
from checklist.tui.examine import ExamineScreen
from checklist.tui.keys import Key, View
from checklist.tui.rehearsed import after_patient
from checklist.tui.step_view import step_lines

_SENSES = {
    "ask": "Answer",
    "inspect": "You see",
    "palpate": "You feel",
    "percuss": "You hear",
    "auscultate": "You hear",
}
_ACTS = ("tell", "hygiene")


def masked(protocol: Protocol) -> Protocol:
    """Return the protocol without what the learner has to say: how fast it is told, and what it means."""
    sections = tuple(
        replace(section, steps=tuple(_masked(step) for step in section.steps))
        for section in protocol.sections
    )
    return replace(protocol, sections=sections, computed=(), patterns=())


def _masked(step: Step) -> Step:
    return replace(step, findings=tuple(replace(each, tell="note") for each in step.findings))


class PatientScreen(ExamineScreen):
    """Examines a patient who is not there."""

    def __init__(self, recorder: Recorder, case: Case) -> None:
        self._protocol = masked(recorder.session.protocol)
        self._shown: tuple[Session, Session] | None = None
        self.case = case
        protocol = recorder.session.protocol
        self.there = with_values_if_done(protocol, what_is_there(case, protocol))
        self.described, self._undescribed = descriptions_of(recorder.session.protocol)
        self.looked: set[str] = set()
        """Steps at which the learner has looked since the screen was opened."""
        self._asked_end = False
        """Whether the last key asked to finish though not everything was decided about."""
        super().__init__(recorder)

    @property
    def session(self) -> Session:
        """The session as the learner may see it."""
        real = self.recorder.session
        if self._shown is None or self._shown[0] is not real:
            self._shown = real, replace(real, protocol=self._protocol)
        return self._shown[1]

    @property
    def view(self) -> View:
        view = super().view
        if view.id != "step":
            return view
        keys = tuple(key for key in view.keys if key.id not in {"told", "together"})
        return replace(view, title="Simulated patient", keys=(*self.checklist.views["patient"].keys, *keys))

    def useful(self, key: Key) -> bool:
        if key.id == "look":
            return not self.has_looked
        if key.id == "urgency":
            return False
        return super().useful(key)

    @property
    def has_looked(self) -> bool:
        """Whether there is nothing more to look at before this step is recorded."""
        recorded = self.step.id in self.session.state.records
        return recorded or self.step.id in self.looked or self._is_an_act

    @property
    def _is_an_act(self) -> bool:
        is_named = any(step == self.step.id for step, _ in self.there)
        return self.step.technique in _ACTS and not is_named

    # What is to be seen.

    def head(self, width: int) -> Sequence[Line]:
        _, clock = super().head(width)
        section = self.session.protocol.section_of[self.step.id]
        place, count = section.steps.index(self.step) + 1, tally(self.session)
        left = f"{section.title} {place} of {len(section.steps)}   {self.session.protocol.title}"
        name = self.session.header.case.partition(" #")[0]
        right = f"{count.done} of {count.of} done   {name}   SIMULATED PATIENT "
        return [spread([(left, "bar")], [(right, "bar")], width), clock]

    def body(self, width: int, height: int) -> Sequence[Line]:
        if self.sheet:
            return [line for line in map(_hushed, super().body(width, height)) if line is not None]
        if self.place not in {"step", "decide"}:
            return super().body(width, height)
        if self.place == "decide":
            return decide_lines(tellable(self.session), self.cursor, width, height)
        above = [*self._story_lines(width), *self._found_lines(width)]
        return [*above, *step_lines(self.sight, width, height - len(above))]

    def _story_lines(self, width: int) -> list[Line]:
        """What is known of the patient, at the first step."""
        is_first = self.session.protocol.position_of[self.step.id] == 0
        return labelled("Patient", self.case.story, width, "said") if is_first else []

    def _found_lines(self, width: int) -> list[Line]:
        """What would be seen, heard or felt here, once the learner has looked."""
        if self._is_an_act:
            return []
        if not self.has_looked:
            return labelled("Then", f"{self.key('patient.look')}: what there is to find", width, "quiet")
        lines: list[Line] = []
        label = _SENSES.get(self.step.technique, "It shows")
        for name, words in _briefly(revealed(self.step, self.there, self.described, self.case.id)):
            lines += labelled("" if lines else label, f"{name}: {words}" if name else words, width, "said")
        return lines

    def standing_message(self) -> tuple[str, str]:
        """Say why own descriptions are not shown, if so; who must be told is for the learner to say."""
        return self._undescribed, "warn" if self._undescribed else ""

    @property
    def rows(self) -> list[lists.Row]:
        """Who was told is no question here."""
        rows = super().rows
        if self.place != "finish":
            return rows
        return [row for row in rows if row.look != "warn" and not row.text.startswith("Who was told")]

    # Looking.

    def do_look(self) -> None:
        self.looked.add(self.step.id)
        self.offset_rows = 0

    def _looks_first(self) -> bool:
        """Look, when that was not done yet; the key then means nothing else."""
        if self.has_looked:
            return False
        self.do_look()
        return True

    def do_expected(self) -> None:
        if not self._looks_first():
            super().do_expected()

    def do_done(self) -> None:
        if not self._looks_first():
            super().do_done()

    def do_differs(self) -> None:
        if not self._looks_first():
            super().do_differs()

    def do_finding(self, key: str) -> None:
        if self.sheet or not self._looks_first():
            super().do_finding(key)

    def do_reading(self) -> None:
        if self.sheet or not self._looks_first():
            super().do_reading()

    def do_unseen(self) -> None:
        if not self._looks_first():
            super().do_unseen()

    def _say_what_is_new(self) -> None:
        """Say nothing: what belongs together is for the learner to find."""

    def do_urgency(self) -> None:
        self.do_told()

    def do_told(self) -> None:
        self.say("Before finishing you say what you would tell, and how fast.")

    def do_together(self) -> None:
        self.say("What belongs together is shown after the end.")

    # Saying what must be told.

    def do_finish(self) -> None:
        """Go from the steps to what is open, from there to what must be told, and then to the end."""
        if self.place not in {"finish", "decide"}:
            self._open_list("finish")
        elif self.place == "finish" and tellable(self.session):
            self.place, self.cursor, self.offset_rows = "decide", 0, 0
        elif (left := [each for each in tellable(self.session) if not each.said]) and not self._asked_end:
            self._asked_end = True
            key = self.key("decide.finish")
            self.say(
                f"{len(left)} left open, which count as not told. {key} again finishes for good.", "warn"
            )
        else:
            self._end()

    def press(self, means: str, key: str) -> None:
        if means != "finish":
            self._asked_end = False
        super().press(means, key)

    def _end(self) -> None:
        self.recorder.finish()
        session, path = self.recorder.session, self.recorder.path
        screen = after_patient(session, path, self.case)
        screen.message = (self.checklist.put_down(), "urgent")
        self.checklist.show(screen)

    def move_by(self, by: int) -> None:
        if self.place == "decide":
            self.cursor = max(0, min(len(tellable(self.session)) - 1, self.cursor + by))
        else:
            super().move_by(by)

    def do_tell_note(self) -> None:
        self._decide("note")

    def do_tell_report(self) -> None:
        self._decide("report")

    def do_tell_urgent(self) -> None:
        self._decide("urgent")

    def _decide(self, tell: str) -> None:
        """Keep how fast the chosen difference would be told, and go to the next."""
        chosen = tellable(self.session)[self.cursor]
        told = whom(self.recorder.session.protocol, tell)
        self.recorder.tell(chosen.step.id, chosen.entries, chosen.finding, told)
        self.say(f"Kept: {chosen.step.title}: {chosen.label}: {told}", "strong")
        self.move_by(1)

    def do_cancel(self) -> None:
        if self.place == "decide":
            self._open_list("finish")
        elif self.session.state.stage is Stage.FINISHED:
            self.checklist.go_home()
        else:
            super().do_cancel()


def _hushed(line: Line) -> Line | None:
    """Return a line of a sheet without how fast a reading is told; None where it says nothing else."""
    if line and line[0][0].startswith("How fast"):
        return None
    return tuple((_HOW_FAST.sub("", text), look) for text, look in line)


_HOW_FAST = re.compile(r" ?·? ?(?:\breport|TELL AT ONCE|\bwrite down)$| ·$")


def decide_lines(found: Sequence[Tellable], cursor: int, width: int, height: int) -> list[Line]:
    """Return the recorded differences, each with what the learner decided about it."""
    title = "What would you tell, and how fast? What is left open counts as not told."
    rows = [
        lists.Row(text=f"  {_where(each)}: {each.label}", note=SAID.get(each.said, "open"), step=each.step.id)
        for each in found
    ]
    return lists.list_lines(title, rows, cursor, width, height)


def _where(each: Tellable) -> str:
    labels = [entry.label for entry in each.step.entries if entry.key in each.entries and entry.label]
    every = len(labels) == len(each.step.entries) > 2
    return f"{each.step.title} ({', '.join(labels)})" if labels and not every else each.step.title


def _briefly(shown: Sequence[tuple[str, str]]) -> list[tuple[str, str]]:
    """Return what is shown with what is alike said once; of many places, the usual last, as elsewhere."""
    counts = Counter(words for _, words in shown)
    (usual, most), *rest = counts.most_common()
    if not rest:
        return [("", usual)]
    if most <= 2:
        return list(shown)
    return [*((name, words) for name, words in shown if words != usual), ("elsewhere", usual)]
