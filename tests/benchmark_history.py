"""Measures how long it takes to look back on thousands of sessions, and prints a table.

    python tests/benchmark_history.py [--sessions 1000 5000] [--codes 1 20]

Not collected by the tests: the figures are of this machine, and of what else it does meanwhile.
The sessions are invented: of the head and neck, over two years, shared evenly by so many examiners' codes, a
tenth of them rehearsals with a simulated patient, each with a seed of its own, the others examinations,
observations and rehearsals of the order alike. What is asked is about one of the codes.
Few events are made and many files are written of them: the times of the day in them are those of the first.
Everything is written to a temporary folder, 300 kB a session.
"""

import argparse
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random
from statistics import median
from typing import TypedDict

ROOT = Path(__file__).parent.parent
sys.path.insert(0, str(ROOT))

from checklist.practice.cases import TASK  # noqa: E402  (run as a script, only its own folder is known)
from checklist.practice.library import named_seed  # noqa: E402
from checklist.practice.rehearsal import NOT_RECALLED, ORDER, RECALLED, scope  # noqa: E402
from checklist.protocol.library import load_table  # noqa: E402
from checklist.protocol.model import Protocol, Step  # noqa: E402
from checklist.session.codec import HEADER_END, encode_event, encode_header  # noqa: E402
from checklist.session.events import (  # noqa: E402
    Event,
    Finished,
    Marked,
    Moved,
    Outcome,
    Recalled,
    Recorded,
    Result,
    Started,
)
from checklist.session.session import EXAMINATION, OBSERVATION, REHEARSAL, Header  # noqa: E402

BEGIN = datetime(2024, 1, 8, 18, tzinfo=UTC)
DAYS = 730
VARIANTS = 8
"""Different lists of events of each kind."""
WRONG_SHARE = 0.1
ROUNDS = 5
PATIENT_EVERY = 10
KINDS = ((EXAMINATION, ""), (OBSERVATION, ""), (REHEARSAL, ORDER))
PATIENT = (REHEARSAL, TASK)
PROGRAM = "from checklist.cli import entry; entry()"


@dataclass(frozen=True, kw_only=True)
class Writer:
    """What all session files share, as text."""

    protocol: str
    """The protocol's table, with the line that ends a header."""
    events: Mapping[tuple[str, str], Sequence[str]]
    """Mode and task → the events of its variants."""

    def write(self, folder: Path, sessions: int, codes: int) -> None:
        """Write so many sessions, evenly over the two years."""
        for number in range(sessions):
            created = BEGIN + timedelta(days=DAYS) * number / sessions
            kind = PATIENT if number % PATIENT_EVERY == 0 else KINDS[number % len(KINDS)]
            name = f"{created:%Y%m%d-%H%M%S}-head-and-neck-{number:04x}"
            header = Header(
                id=name,
                created=created,
                app_version="0",
                participant="P-014",
                examiner=f"E-{number % codes:02}",
                age="18 to 64",
                mode=kind[0],
                task=kind[1],
                case=named_seed(number) if kind == PATIENT else "",
            )
            own = encode_header(header, {}).partition("\n[protocol]\n")[0]
            events = self.events[kind][number % VARIANTS]
            (folder / f"{name}.toml").write_text(own + self.protocol + events, encoding="utf-8")


def writer() -> Writer:
    """Return what all files share, made through the code that writes sessions."""
    loaded = load_table(ROOT / "protocols" / "head-and-neck.toml")
    header = Header(id="-", created=BEGIN, app_version="0", participant="", examiner="")
    _, mark, protocol = encode_header(header, loaded.table).partition("\n[protocol]\n")
    assert protocol.endswith(HEADER_END)
    events = {
        kind: ["".join(map(encode_event, _events(loaded.protocol, kind, Random(n)))) for n in range(VARIANTS)]
        for kind in (*KINDS, PATIENT)
    }
    return Writer(protocol=mark + protocol, events=events)


def _events(protocol: Protocol, kind: tuple[str, str], rng: Random) -> Iterator[Event]:
    """Yield a finished session in which some of the steps go wrong."""
    clock = 0.0
    yield Started(n=1, at=BEGIN, clock=clock, step=protocol.steps[0].id)
    steps = scope(protocol)
    for place, step in enumerate(steps, start=1):
        stamp: Stamp = {"at": BEGIN + timedelta(seconds=int(clock)), "clock": clock}
        yield Moved(n=2 * place, **stamp, step=step.id)
        clock = round(clock + rng.uniform(2, 10), 3)
        stamp = {"at": BEGIN + timedelta(seconds=int(clock)), "clock": clock}
        yield _tried(kind, step, 2 * place + 1, stamp, is_done=rng.random() > WRONG_SHARE)
    yield Finished(n=2 * len(steps) + 2, **stamp)


class Stamp(TypedDict):
    """When something happened."""

    at: datetime
    clock: float


def _tried(kind: tuple[str, str], step: Step, n: int, stamp: Stamp, *, is_done: bool) -> Event:
    if kind[0] == OBSERVATION:
        mark = "done" if is_done else "not done"
        return Marked(n=n, **stamp, step=step.id, mark=mark, detail="")
    if kind == (REHEARSAL, ORDER):
        how = RECALLED if is_done else NOT_RECALLED
        return Recalled(n=n, **stamp, step=step.id, what=ORDER, how=how, hints=0, typed="")
    entries = tuple(entry.key for entry in step.entries)
    as_expected = Result(entries=entries, outcome=Outcome.EXPECTED)
    differs = replace(as_expected, outcome=Outcome.DIFFERS, detail="as seen")
    return Recorded(n=n, **stamp, step=step.id, results=(as_expected if is_done else differs,))


# Measuring


def seconds_of(home: Path, *arguments: str) -> float:
    """Return how long a start of the program with these arguments takes."""
    begun = time.perf_counter()
    subprocess.run(
        [sys.executable, *arguments],
        cwd=ROOT,
        env=os.environ | {"EXAM_CHECKLIST_HOME": str(home)},
        stdout=subprocess.DEVNULL,
        check=True,
    )
    return time.perf_counter() - begun


def command(what: str) -> tuple[str, ...]:
    return ("-c", PROGRAM, what, "--examiner", "E-00", "head-and-neck")


def measure(shared: Writer, sessions: int, codes: int) -> None:
    """Print a row: the first build, and both commands afterwards, also as a ratio to a bare interpreter."""
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        (home / "sessions").mkdir()
        shared.write(home / "sessions", sessions, codes)
        first = seconds_of(home, *command("progress"))
        taken: dict[str, list[float]] = {"bare": [], "practise": [], "progress": []}
        for _ in range(ROUNDS):
            taken["bare"].append(seconds_of(home, "-c", "pass"))
            for what in ("practise", "progress"):
                taken[what].append(seconds_of(home, *command(what)))
        size = (home / "cache" / "sessions.index").stat().st_size / 1e6
    bare, practise, progress = (median(each) for each in taken.values())
    print(
        f"{sessions:8} {codes:5} {first:9.1f} s {1000 * first / sessions:8.1f} ms {practise:6.2f} s"
        f" {practise / bare:6.1f} × {progress:6.2f} s {progress / bare:6.1f} × {size:5.1f} MB",
        flush=True,
    )


def main() -> None:
    parser = argparse.ArgumentParser(description="Measures how long it takes to look back on many sessions.")
    parser.add_argument("--sessions", type=int, nargs="+", default=[1000, 5000])
    parser.add_argument("--codes", type=int, nargs="+", default=[1, 20])
    args = parser.parse_args()
    print("sessions codes first build   a session       practise          progress        index")
    shared = writer()
    for sessions in args.sessions:
        for codes in args.codes:
            measure(shared, sessions, codes)


if __name__ == "__main__":
    main()
