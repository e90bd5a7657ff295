"""Measures the real program in a terminal of its own, beside a bare Textual app, and prints a table.

    python tests/benchmark.py [--rounds N]

Not collected by the tests: the figures are of this machine, and of what else it does meanwhile.
So all cases take turns, in reversed order every other round; figures are medians, and where a ratio to the
bare app judges, the best of three batches of rounds counts.
Start-up is the time from the start of the process to the first screen with a known text on it.
The time of a key is that from its byte to the last byte of the repaint, after which 30 ms are silent.
Needs Linux and no network; everything it writes is in a temporary folder.
"""

import argparse
import os
import pty
import re
import select
import signal
import subprocess
import sys
import tempfile
import termios
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from statistics import median

import pyte

ROOT = Path(__file__).parent.parent
sys.path.insert(0, str(ROOT))

from checklist.protocol.library import load_table  # noqa: E402  (run as a script, only its own folder is known)
from checklist.session import store  # noqa: E402
from checklist.session.events import Moved  # noqa: E402
from tests.benchmark_stage import AT_ONCE, Case, Stage, begun, prepared, surroundings  # noqa: E402

BATCHES = 3
CYCLES = 40
"""Steps that are recorded in each batch; with going back and on again, three keys each."""
SILENCE_SECONDS = 0.03
IDLE_SECONDS = 6.0
SMALL, LARGE = (80, 24), (120, 40)
ANSWERS = {b"\x1b[?2026$p": b"\x1b[?2026;2$y", b"\x1b[?2048$p": b"\x1b[?2048;0$y"}
"""What Textual asks of a terminal at its start: synchronized output, yes; news of the size, no."""
KEYS = {"record": b" ", "back": b"\x1b[D", "next": b"\x1b[C"}
PANELS = {"help": b"?", "sheet": b"d", "outline": b"o"}
BACK = b"\x7f"


# A program in a terminal


class Terminal:
    """Runs a program in a pty, and notes when which bytes came."""

    def __init__(self, arguments: Sequence[str], home: Path, size: tuple[int, int] = SMALL) -> None:
        self.size = size
        self.output = b""
        self._chunks: list[tuple[float, bytes]] = []
        self.started = time.perf_counter()
        self.pid, self._fd = pty.fork()
        if self.pid == 0:
            termios.tcsetwinsize(0, (size[1], size[0]))
            os.chdir(ROOT)
            os.execve(sys.executable, [sys.executable, *arguments], surroundings(home))

    def _read(self, seconds: float) -> bool:
        """Take what comes within `seconds`; answer what is asked."""
        if not select.select([self._fd], [], [], seconds)[0]:
            return False
        try:
            data = os.read(self._fd, 1 << 16)
        except OSError:  # The program is gone.
            return False
        self._chunks.append((time.perf_counter(), data))
        self.output += data
        for question, answer in ANSWERS.items():
            if question in data:
                os.write(self._fd, answer)
        return True

    def wait_for(self, text: str, seconds: float = 20.0) -> float:
        """Return the milliseconds from the start of the program until `text` was painted."""
        end = time.perf_counter() + seconds
        while text.encode() not in self.output:
            if time.perf_counter() > end or not self._read(seconds):
                raise RuntimeError(f"{text!r} is not on the screen:\n{self.screen()}")
        return (self._chunks[-1][0] - self.started) * 1000

    def settle(self, seconds: float = SILENCE_SECONDS) -> None:
        while self._read(seconds):
            pass

    def press(self, keys: bytes, silence: float = SILENCE_SECONDS) -> float:
        """Return the milliseconds from sending `keys` to the last byte that is painted for them."""
        self._chunks.clear()
        sent = time.perf_counter()
        os.write(self._fd, keys)
        if not self._read(2.0):
            raise RuntimeError(f"{keys!r} paints nothing:\n{self.screen()}")
        self.settle(silence)
        chunks = self._chunks
        while len(chunks) > 1 and chunks[-1][0] - chunks[-2][0] > 0.004 and _is_clock(chunks[-1][1]):
            chunks.pop()
        return (chunks[-1][0] - sent) * 1000

    def send_and_wait(self, keys: bytes, text: str) -> float:
        """Return the milliseconds from sending `keys` until `text` is painted."""
        self.output = b""
        sent = time.perf_counter()
        os.write(self._fd, keys)
        milliseconds = self.wait_for(text) - (sent - self.started) * 1000
        self.settle(0.3)
        return milliseconds

    def screen(self) -> str:
        """Return what stands on the screen."""
        emulated = pyte.Screen(*self.size)
        # The keyboard protocol's requests, which the emulator takes for something else.
        pyte.ByteStream(emulated).feed(re.sub(rb"\x1b\[[<>=][0-9;]*u", b"", self.output))
        return "\n".join(emulated.display)

    def idle(self, seconds: float) -> tuple[float, float]:
        """Return percent of a core and bytes a second while no key is pressed."""
        self.settle(0.1)
        before, size, began = _cpu_seconds(self.pid), len(self.output), time.perf_counter()
        while (left := began + seconds - time.perf_counter()) > 0:
            self._read(left)
        return (
            (_cpu_seconds(self.pid) - before) / seconds * 100,
            (len(self.output) - size) / seconds,
        )

    def peak_mebibytes(self) -> float:
        status = Path(f"/proc/{self.pid}/status").read_text(encoding="ascii")
        return int(status.partition("VmHWM:")[2].split()[0]) / 1024

    def kill(self) -> None:
        os.kill(self.pid, signal.SIGKILL)
        os.waitpid(self.pid, 0)
        os.close(self._fd)


def _is_clock(data: bytes) -> bool:
    """Whether only the clock line is painted, which it is once a second without any key."""
    # Painting ends with the cursor in the corner.
    return re.findall(rb"\x1b\[(\d+);\d+H", data) == [b"2", b"1"]


def _cpu_seconds(pid: int) -> float:
    threads = Path(f"/proc/{pid}/task").glob("*/schedstat")
    return sum(int(each.read_text(encoding="ascii").split()[0]) for each in threads) / 1e9


# Measuring


def opened(stage: Stage, case: Case, size: tuple[int, int] = SMALL) -> Terminal:
    terminal = Terminal(case.arguments, stage.home(), size)
    terminal.wait_for(case.shows)
    return terminal


@dataclass
class Figures:
    """Milliseconds by case, each with its batch."""

    samples: dict[str, list[tuple[int, float]]] = field(default_factory=dict)

    def add(self, name: str, batch: int, value: float) -> None:
        self.samples.setdefault(name, []).append((batch, value))

    def all(self, name: str) -> list[float]:
        return sorted(value for _, value in self.samples[name])

    def batch(self, name: str, batch: int) -> list[float]:
        return [value for number, value in self.samples[name] if number == batch]

    def ratio(self, name: str, base: str) -> float:
        """Return the best of the batches' ratios of medians."""
        return min(median(self.batch(name, n)) / median(self.batch(base, n)) for n in range(BATCHES))


def turns(cases: Sequence[Case], rounds: int) -> Iterator[tuple[int, Case]]:
    """Yield the batch and the case; every other round goes backwards."""
    for number in range(rounds):
        for case in reversed(cases) if number % 2 else cases:
            yield number * BATCHES // rounds, case


def measure_starts(stage: Stage, rounds: int) -> Figures:
    figures = Figures()
    cases = (stage.bare, *stage.screens, *stage.commands)
    for case in cases:
        started(stage, case)  # Compiles what is not compiled, and fills the caches.
    for batch, case in turns(cases, rounds):
        figures.add(case.name, batch, started(stage, case))
    return figures


def started(stage: Stage, case: Case) -> float:
    """Return the milliseconds to the first screen, or to the end of a command."""
    home = stage.home()
    if not case.shows:
        began = time.perf_counter()
        command = [sys.executable, *case.arguments]
        env = surroundings(home)
        subprocess.run(command, env=env, cwd=ROOT, stdout=subprocess.DEVNULL, check=True)
        return (time.perf_counter() - began) * 1000
    terminal = Terminal(case.arguments, home)
    milliseconds = terminal.wait_for(case.shows)
    terminal.kill()
    return milliseconds


def measure_keys(stage: Stage) -> tuple[Figures, dict[str, float]]:
    """Press keys one at a time; return their times, and the peak of memory in MiB by case."""
    figures = Figures()
    peaks: dict[str, float] = {}
    seats = [
        (stage.bare, SMALL),
        (stage.named("resume, head and neck"), SMALL),
        (stage.named("resume, head and neck"), LARGE),
        (stage.named("resume, 1,000 steps"), SMALL),
        (stage.bare, LARGE),
    ]
    for batch in range(BATCHES):
        for case, size in reversed(seats) if batch % 2 else seats:
            terminal = opened(stage, case, size)
            terminal.settle(0.3)
            _press_all(terminal, figures, f"{case.name}, {size[0]}×{size[1]}", batch, case is stage.bare)
            peaks[case.name] = max(peaks.get(case.name, 0), terminal.peak_mebibytes())
            terminal.kill()
    return figures, peaks


def _press_all(terminal: Terminal, figures: Figures, name: str, batch: int, is_bare: bool) -> None:
    if is_bare:
        for _ in range(2 * CYCLES):
            figures.add(name, batch, terminal.press(b"x"))
        return
    for _ in range(CYCLES):
        for key, data in KEYS.items():
            figures.add(f"{key}, {name}", batch, terminal.press(data))
    for _ in range(CYCLES // 4):
        for panel, data in PANELS.items():
            figures.add(f"{panel}, {name}", batch, terminal.press(data))
            terminal.press(BACK)


def measure_at_once(stage: Stage, label: str) -> float:
    """Return the milliseconds that a hundred keys sent at once take, and check what became of them."""
    case = stage.named(f"begin, {label}")
    times = []
    for _ in range(3):
        terminal = opened(stage, case)
        terminal.settle(0.3)
        times.append(terminal.send_and_wait(b" " * AT_ONCE, case.lands))
        home = Path(f"/proc/{terminal.pid}/environ").read_bytes().partition(b"EXAM_CHECKLIST_HOME=")[2]
        folder = Path(home.partition(b"\0")[0].decode()) / "sessions"
        newest = max(folder.glob("*.toml"), key=lambda path: path.stat().st_mtime)
        kept = newest.read_text(encoding="utf-8").count('kind = "recorded"')
        if kept != AT_ONCE:
            raise RuntimeError(f"{kept} of {AT_ONCE} keys were recorded:\n{terminal.screen()}")
        terminal.kill()
    return median(times)


def measure_idle(stage: Stage, label: str) -> tuple[float, float]:
    terminal = opened(stage, stage.named(f"resume, {label}"))
    terminal.settle(0.5)
    figures = terminal.idle(IDLE_SECONDS)
    terminal.kill()
    return figures


def times_of(action: Callable[[], object], count: int) -> list[float]:
    """Return the milliseconds of each call, from the fastest to the slowest."""
    times = []
    for _ in range(count):
        began = time.perf_counter()
        action()
        times.append((time.perf_counter() - began) * 1000)
    return sorted(times)


def measure_inside(stage: Stage, label: str) -> dict[str, float]:
    """Measure in this process: reading a session again, appending, and recording late in a long session."""
    path = ROOT / "protocols" / "head-and-neck.toml"
    if label == "1,000 steps":
        path = stage.folder / "home" / "protocols" / "thousand.toml"
    recorder = begun(load_table(path), Path(tempfile.mkdtemp(dir=stage.folder)))
    steps = recorder.session.protocol.steps
    while len(recorder.session.events) < 150:
        recorder.go(steps[len(recorder.session.events) % 2 + 1].id)
    reload = median(times_of(lambda: store.load(recorder.path), 9))
    while len(recorder.session.events) < 2000:
        recorder.go(steps[len(recorder.session.events) % 2 + 1].id)
    late = median(times_of(lambda: recorder.go(steps[len(recorder.session.events) % 2 + 1].id), 100))
    event = Moved(n=1, at=datetime(2026, 3, 4, tzinfo=UTC), clock=0.0, step=steps[0].id)
    append = median(times_of(lambda: recorder._journal.write((event,)), 100))
    recorder._journal.close()
    return {"reload": reload, "late": late, "append": append}


# The table


def row(what: str, measured: str, budget: str, is_within: bool, ratio: str = "") -> None:
    print(f"| {what} | {measured} | {ratio} | {budget} | {'pass' if is_within else 'OVER'} |", flush=True)


def print_starts(stage: Stage, figures: Figures) -> None:
    base = stage.bare.name
    print(f"| start-up, bare app | {median(figures.all(base)):.0f} ms | 1.00 | | |")
    for cases, budget in ((stage.screens, 1.20), (stage.commands, 0.25)):
        for case in cases:
            ratio = figures.ratio(case.name, base)
            milliseconds = f"{median(figures.all(case.name)):.0f} ms"
            row(case.name, milliseconds, f"{budget:.2f} ×", ratio <= budget, f"{ratio:.2f}")


def print_keys(stage: Stage, figures: Figures) -> None:
    for name in figures.samples:
        times = figures.all(name)
        figures3 = median(times), times[int(len(times) * 0.95)], times[-1]
        measured = "{:.1f}, {:.1f}, {:.1f} ms".format(*figures3)
        kind, _, rest = name.partition(", ")
        size = name.rpartition(", ")[2]
        bare = f"{stage.bare.name}, {size}"
        if name == bare:
            print(f"| key, {name} | {measured} | 1.00 | | |")
            continue
        ratio = figures.ratio(name, bare)
        if kind in PANELS:
            row(f"{kind}, {rest}", measured, "p95 60 ms", figures3[1] <= 60, f"{ratio:.2f}")
            continue
        budget = (8, 15, 40) if size.startswith("80") else (12, 20, 50)
        within = ratio <= 2 and all(each <= most for each, most in zip(figures3, budget, strict=True))
        row(name, measured, "{}, {}, {} ms; 2 ×".format(*budget), within, f"{ratio:.2f}")


def print_rest(stage: Stage, label: str, peak: float) -> None:
    at_once = measure_at_once(stage, label)
    row(f"{AT_ONCE} keys at once, {label}", f"{at_once:.0f} ms", "100 ms", at_once <= 100)
    inside = measure_inside(stage, label)
    row(f"reload 150 events, {label}", f"{inside['reload']:.1f} ms", "8 ms", inside["reload"] <= 8)
    row(f"append, {label}", f"{inside['append']:.3f} ms", "0.1 ms", inside["append"] <= 0.1)
    row(f"record after 2,000 events, {label}", f"{inside['late']:.2f} ms", "1 ms", inside["late"] <= 1)
    cpu, flow = measure_idle(stage, label)
    measured = f"{cpu:.2f} %, {flow:.0f} bytes/s"
    row(f"idle, clock running, {label}", measured, "0.5 %, 300", cpu <= 0.5 and flow <= 300)
    row(f"peak memory, {label}", f"{peak:.1f} MiB", "40 MiB", peak <= 40)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--rounds", type=int, default=21, metavar="N", help="rounds of starts (default: 21)")
    rounds = max(BATCHES, parser.parse_args().rounds)
    with tempfile.TemporaryDirectory(prefix="exam-checklist-benchmark-") as folder:
        stage = prepared(Path(folder))
        print("| what | measured (keys: median, p95, max) | × bare app | budget | |\n|---|---|---|---|---|")
        print_starts(stage, measure_starts(stage, rounds))
        keys, peaks = measure_keys(stage)
        print_keys(stage, keys)
        for label in ("head and neck", "1,000 steps"):
            print_rest(stage, label, peaks[f"resume, {label}"])


if __name__ == "__main__":
    main()
