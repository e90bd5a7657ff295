"""The app in a real terminal: killed, left, resumed, stopped, and asked for where it cannot be shown."""

import random
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from checklist.session import store
from checklist.session.events import Recorded
from checklist.session.state import Stage
from tests.helpers import PROTOCOL
from tests.terminal import Terminal

BEGIN = ["examine", "hand", "--participant", "P-014", "--examiner", "S-07", "--begin"]
ALTERNATE_SCREEN_OFF, CURSOR_ON = b"\x1b[?1049l", b"\x1b[?25h"
KILLS = 12


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("EXAM_CHECKLIST_HOME", str(tmp_path))
    (tmp_path / "protocols").mkdir()
    long = PROTOCOL + "".join(
        f"""
[[section.step]]
id = "extra-{number}"
title = "Extra look {number}"
technique = "inspect"
do = "Look."
expect = "Even"
subject = "place {number}"
chart = "even"
"""
        for number in range(60)
    )
    (tmp_path / "protocols" / "hand.toml").write_text(long, encoding="utf-8")
    return tmp_path


def only_session() -> store.Loaded:
    (summary,) = store.summaries()
    return store.load(summary.path)


def recorded_titles(loaded: store.Loaded) -> set[str]:
    protocol = loaded.session.protocol
    return {
        protocol.step_of[event.step].title for event in loaded.session.events if isinstance(event, Recorded)
    }


def test_every_confirmed_key_survives_a_kill_at_any_moment(home: Path) -> None:
    """Whatever the screen confirmed before a kill is in the file, and the app goes on from it."""
    chance = random.Random(20260304)
    confirmed: set[str] = set()
    arguments = BEGIN
    for _ in range(KILLS):
        with Terminal(arguments, home) as terminal:
            terminal.wait_for("d differs")
            terminal.send(" " * chance.randint(1, 5))
            terminal.settle(chance.uniform(0.0, 0.06))
            terminal.kill()
            while terminal.read(0.0):
                pass
            confirmed |= set(re.findall(r"Recorded: ([A-Z][a-z 0-9]+): as expected", terminal.text))
        arguments = ["resume"]

        assert confirmed <= recorded_titles(only_session())

    assert len(confirmed) >= KILLS // 2, "the kills came too early to prove anything"
    assert only_session().session.state.stage is Stage.RUNNING


def test_a_resumed_session_stands_at_its_step_and_second(home: Path) -> None:
    with Terminal(BEGIN, home) as terminal:
        terminal.wait_for("space as expected")
        terminal.send(" ")
        terminal.wait_for("step 0:02")
        terminal.kill()
    with Terminal(["resume"], home) as terminal:
        terminal.wait_for("Look at the skin")
        seconds = int(re.findall(r"step 0:(\d\d)", terminal.text)[0])
        assert seconds in {2, 3}


MEASURED = """
[[section.step]]
id = "warmth"
title = "Warmth by mouth"
technique = "measure"
do = "Measure."
expect = "In range"
subject = "temperature"
chart = "{reading}"
[section.step.reading]
kind = "temperature"

[[section.step]]
id = "beats"
title = "Beats of the heart"
technique = "measure"
do = "Tap."
expect = "In range"
subject = "heart"
chart = "{reading}"
[section.step.reading]
kind = "pulse-rate"
"""


def test_a_reading_is_typed_and_tapped_in_a_real_terminal_and_survives_a_kill(home: Path) -> None:
    (home / "protocols" / "hand.toml").write_text(PROTOCOL + MEASURED, encoding="utf-8")
    with Terminal(BEGIN, home) as terminal:
        terminal.wait_for("d differs")
        terminal.send("fWarmth\r")
        terminal.wait_for("Enter: type")
        terminal.send("\r37.2 oral")
        terminal.wait_for("degrees Fahrenheit")
        terminal.send("\r")
        terminal.wait_for("Recorded: Warmth by mouth: as expected: 37.2")
        terminal.send("c")
        terminal.wait_for("So far")
        sent = []
        for _ in range(6):
            sent.append(time.monotonic())
            terminal.send(" ")
            terminal.settle(0.75)
        terminal.send("\r")
        terminal.wait_for("Enter record")
        terminal.send("\r")
        terminal.wait_for("again keeps it")
        terminal.send("\r")
        terminal.wait_for("Recorded: Beats of the heart")
        terminal.kill()

    records = only_session().session.state.records
    assert records["warmth"]["whole"].result.reading == "37.2 C oral"
    rate = int(records["beats"]["whole"].result.reading.split()[0])
    assert rate == pytest.approx(60 * 5 / (sent[-1] - sent[0]), abs=3)


def test_ctrl_q_leaves_with_the_terminal_in_order(home: Path) -> None:
    with Terminal(BEGIN, home) as terminal:
        terminal.wait_for("space as expected")
        terminal.send(" \x11")
        assert terminal.wait() == 0
        assert ALTERNATE_SCREEN_OFF in terminal.painted
        assert CURSOR_ON in terminal.painted

    assert only_session().session.state.stage is Stage.AWAY


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP])
def test_a_polite_end_leaves_with_the_terminal_in_order(home: Path, number: signal.Signals) -> None:
    with Terminal(BEGIN, home) as terminal:
        terminal.wait_for("space as expected")
        assert terminal.kill(number) == 0
        assert ALTERNATE_SCREEN_OFF in terminal.painted

    assert only_session().session.state.stage is Stage.AWAY


def test_ctrl_c_says_how_to_quit_and_does_not(home: Path) -> None:
    with Terminal(BEGIN, home) as terminal:
        terminal.wait_for("space as expected")
        terminal.send("\x03")
        terminal.wait_for("ctrl+q closes the program")
        terminal.send(" ")
        terminal.wait_for("Recorded: Clean hands")


def test_from_the_first_screen_to_the_note(home: Path) -> None:
    with Terminal([], home) as terminal:
        terminal.wait_for("Enter open")
        terminal.send("\r")
        terminal.wait_for("Participant code")
        terminal.send("P-014\r")
        terminal.wait_for("Examiner code, then Enter")
        terminal.send("S-07\r")
        terminal.wait_for("S-07")
        terminal.send("ab")
        terminal.wait_for("space as expected")
        terminal.send("  wy")
        terminal.wait_for("SIMULATED RECORD")
        terminal.send("\x11")
        assert terminal.wait() == 0

    assert only_session().session.state.stage is Stage.FINISHED


def test_a_hundred_keys_at_once_are_all_recorded(home: Path) -> None:
    with Terminal(BEGIN, home) as terminal:
        terminal.wait_for("space as expected")
        terminal.send(" " * 64)
        terminal.wait_for("finishes for good")

    assert len(recorded_titles(only_session())) == 64


def test_an_escape_sequence_pasted_into_a_remark_never_comes_back(home: Path) -> None:
    with Terminal(BEGIN, home) as terminal:
        terminal.wait_for("space as expected")
        terminal.send("m")
        terminal.wait_for("Remark for the note")
        terminal.send("\x1b[200~seen \x1b]0;title\x07 end\x1b[201~\r")
        terminal.wait_for("Remark kept")
        assert b"\x1b]0;title" not in terminal.painted

    remark = only_session().session.state.remarks[0].text
    assert "\x1b" not in remark
    assert "seen" in remark


def test_a_second_program_on_the_same_session_is_refused(home: Path) -> None:
    with Terminal(BEGIN, home) as terminal:
        terminal.wait_for("space as expected")
        run = subprocess.run(
            [sys.executable, "-m", "checklist", "resume"],
            capture_output=True,
            text=True,
            check=False,
            stdin=subprocess.DEVNULL,
        )
        assert run.returncode == 1
        with Terminal(["resume"], home) as second:
            second.wait()
            assert f"process id {terminal.pid}" in second.text.replace("\n", "")


@pytest.mark.parametrize("command", [[], ["examine", "hand"]])
def test_without_a_terminal_one_line_says_so(home: Path, command: list[str]) -> None:
    run = subprocess.run(
        [sys.executable, "-m", "checklist", *command],
        capture_output=True,
        text=True,
        check=False,
        stdin=subprocess.DEVNULL,
    )

    assert run.returncode == 1
    assert run.stderr.startswith("checklist: the app needs a terminal")
    assert run.stderr.count("\n") == 1


COLOURS = re.compile(rb"\x1b\[(?:[0-9;]*;)?(?:3[0-7]|4[0-7]|[39]8|48|9[0-7]|10[0-7])[;m]")


def test_no_colour_reaches_a_terminal_that_asks_for_none(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with Terminal(BEGIN, home) as terminal:
        terminal.wait_for("space as expected")
        assert COLOURS.search(terminal.painted), "otherwise the pattern proves nothing"
    with Terminal(BEGIN, home, no_color=True) as terminal:
        terminal.wait_for("space as expected")
        assert not COLOURS.search(terminal.painted)


def test_a_plain_console_shows_the_step(home: Path) -> None:
    with Terminal(BEGIN, home, term="linux") as terminal:
        terminal.wait_for("space as expected")
        assert "Clean hands" in terminal.text


def test_a_window_that_shrinks_and_grows_again_loses_nothing(home: Path) -> None:
    with Terminal(BEGIN, home) as terminal:
        terminal.wait_for("space as expected")
        terminal.resize(30, 8)
        terminal.wait_for("too small")
        terminal.send(" ")
        terminal.resize(100, 30)
        terminal.wait_for("Clean hands")
        terminal.wait_for("open; space: as expected")


def test_a_program_that_was_stopped_from_the_shell_paints_everything_again(home: Path) -> None:
    """The time in the shell is no examination, and nothing of the screen is left out."""
    shell = ("/bin/bash", "--norc", "--noprofile", "-i")
    with Terminal([], home, program=shell) as terminal:
        terminal.send(f"{sys.executable} -m checklist {' '.join(BEGIN)}\r")
        terminal.wait_for("q leave")
        terminal.send("\x1a")
        terminal.wait_for("Stopped")
        terminal.send("clear\r")
        terminal.settle(0.3)
        terminal.send("fg\r")
        terminal.wait_for("Clean hands")
        terminal.wait_for("q leave")
        terminal.send(" ")
        terminal.wait_for("Recorded: Clean hands")

    first = only_session().session.state.interruptions[0]
    assert first.cause == "machine or program stood still"
