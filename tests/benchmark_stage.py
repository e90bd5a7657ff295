"""What the benchmark runs: a bare app, and a home with two protocols and a session of each."""

import itertools
import os
import re
import shutil
import tempfile
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from checklist.protocol.library import Loaded, load_table
from checklist.session.events import Outcome, Result
from checklist.session.opening import Preparation, begin
from checklist.session.recorder import Clocks, Recorder

ROOT = Path(__file__).parent.parent
AT_ONCE = 100
"""Keys that are sent at once."""
ENTRIES = 100
PROGRAM = "from checklist.cli import entry; entry()"
BEGIN = ("--participant", "P-014", "--examiner", "S-07", "--begin")
BARE = """
from textual.app import App, ComposeResult
from textual.widgets import Static


class Bare(App[None]):
    presses = 0

    def compose(self) -> ComposeResult:
        yield Static("bare app ready")

    def on_key(self) -> None:
        self.presses += 1
        self.query_one(Static).update(f"bare app, key {self.presses}")


Bare().run()
"""


@dataclass(frozen=True, kw_only=True)
class Case:
    """A way to start the program, and a text that is on its first screen; without one it only prints."""

    name: str
    arguments: tuple[str, ...]
    shows: str = ""
    lands: str = ""
    """What stands on the screen after `AT_ONCE` steps were recorded."""


@dataclass(frozen=True, kw_only=True)
class Stage:
    """A folder with a session of about a hundred entries of each protocol, and the bare app."""

    folder: Path
    bare: Case
    screens: tuple[Case, ...]
    commands: tuple[Case, ...]

    def home(self) -> Path:
        """Return a fresh copy of the home, so that every start finds the same."""
        home = Path(tempfile.mkdtemp(dir=self.folder)) / "home"
        shutil.copytree(self.folder / "home", home)
        return home

    def named(self, name: str) -> Case:
        return next(case for case in self.screens if case.name == name)


def program(*arguments: str) -> tuple[str, ...]:
    return ("-c", PROGRAM, *arguments)


def prepared(folder: Path) -> Stage:
    """Write protocol, sessions and bare app into `folder`."""
    home = folder / "home"
    thousand = home / "protocols" / "thousand.toml"
    thousand.parent.mkdir(parents=True)
    thousand.write_text(thousand_steps(), encoding="utf-8")
    bare = folder / "bare.py"
    bare.write_text(BARE, encoding="utf-8")
    screens = [Case(name="home", arguments=program(), shows="Exam checklist")]
    commands = [Case(name="--help", arguments=program("--help"))]
    for label, path in (("head and neck", _without_questions(thousand.parent)), ("1,000 steps", thousand)):
        of_screens, of_commands = _cases(label, path, home)
        screens += of_screens
        commands += of_commands
    return Stage(
        folder=folder,
        bare=Case(name="bare app", arguments=(str(bare),), shows="bare app ready"),
        screens=tuple(screens),
        commands=tuple(commands),
    )


def _without_questions(folder: Path) -> Path:
    """Write the head and neck with its readings not asked for, so that one key records one step."""
    text = (ROOT / "protocols" / "head-and-neck.toml").read_text(encoding="utf-8")
    path = folder / "head-and-neck.toml"
    asked = re.compile(r'(\[section\.step\.reading\]\n *kind = "[^"]+"\n)(?! *wanted)')
    path.write_text(asked.sub(r'\1wanted = "differs"\n', text), encoding="utf-8")
    return path


def _cases(label: str, path: Path, home: Path) -> tuple[list[Case], list[Case]]:
    loaded = load_table(path)
    recorder = begun(loaded, home / "sessions")
    record(recorder, ENTRIES)
    session, here = recorder.session.header.id, recorder.session.state.current
    recorder.leave()
    first, current = loaded.protocol.steps[0], loaded.protocol.step_of[here]
    screens = [
        Case(name=f"resume, {label}", arguments=program("resume", session), shows=current.title),
        Case(
            name=f"begin, {label}",
            arguments=program("examine", loaded.protocol.id, *BEGIN),
            shows=first.title,
            lands=loaded.protocol.steps[AT_ONCE].title,
        ),
    ]
    commands = [
        Case(name=f"note, {label}", arguments=program("note", session)),
        Case(name=f"timeline, {label}", arguments=program("timeline", session)),
        Case(name=f"protocol check, {label}", arguments=program("protocol", "check", str(path))),
    ]
    return screens, commands


def begun(loaded: Loaded, folder: Path) -> Recorder:
    seconds = iter(range(10**9))
    clocks = Clocks(counter=lambda: float(next(seconds)), now=lambda: datetime(2026, 3, 4, 18, 0, tzinfo=UTC))
    preparation = Preparation(participant="P-014", examiner="S-07", fictional=True)
    return begin(loaded, preparation, clocks, folder)


def record(recorder: Recorder, entries: int) -> None:
    """Record at least so many entries as expected, one step after the other."""
    steps = recorder.session.protocol.steps
    for step, onward in itertools.pairwise(steps):
        if entries <= 0:
            break
        keys = tuple(entry.key for entry in step.entries)
        recorder.record(step.id, Result(entries=keys, outcome=Outcome.EXPECTED), then=onward.id)
        entries -= len(keys)


def thousand_steps() -> str:
    """Return an invented protocol of 40 sections with 25 steps each."""
    top = (
        'format = 1\nid = "thousand"\ntitle = "A thousand steps"\nversion = "1.0.0"\nreviewed = 2026-03-04\n'
        'target_minutes = 300\nscope = "Invented, to measure with."\nsources = ["Invented"]\n'
        '[for]\npopulation = "Nobody"\n[tell]\nreport = "the nurse"\nurgent = "the team"\n'
    )
    sections = (
        f'[[section]]\nid = "section-{n}"\ntitle = "Section {n}"\n'
        + "".join(_step(25 * n + k) for k in range(25))
        for n in range(40)
    )
    return top + "".join(sections)


def _step(n: int) -> str:
    after = f'after = [{{ step = "step-{n - 1}", why = "one after the other" }}]\n' if n % 10 else ""
    sides = 'sides = "both"\n' if n % 2 else ""
    findings = "".join(
        f'[[section.step.finding]]\nid = "finding-{k}"\nlabel = "Differs in the way {k}"\n'
        f'chart = "different in the way {k}"\ntell = "{tell}"\n'
        for k, tell in enumerate(("note", "report", "urgent"))
    )
    return (
        f'[[section.step]]\nid = "step-{n}"\ntitle = "Look at place {n} of the thousand"\n'
        f'technique = "inspect"\n{sides}{after}do = "Stand in front, look at place {n}, and compare."\n'
        f'say = "Hold still."\nexpect = "As it should be at {n}"\nsubject = "place {n}"\n'
        f'chart = "as it should be"\nseconds = 12\n{findings}'
    )


def surroundings(home: Path) -> dict[str, str]:
    kept = {name: os.environ[name] for name in ("PATH", "HOME", "LANG") if name in os.environ}
    return {
        **kept,
        "TERM": "xterm-256color",
        "EXAM_CHECKLIST_HOME": str(home),
        "PYTHONPATH": str(ROOT),
    }
