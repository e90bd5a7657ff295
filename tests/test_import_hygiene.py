"""The layers hold while the program runs, where a static check cannot look."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

from checklist.measures.catalogue import COMPUTATIONS, KINDS

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "checklist"
EVERYTHING = ROOT / "tests" / "protocols" / "valid" / "everything.toml"
READINGS = ROOT / "tests" / "protocols" / "valid" / "readings.toml"

SCREEN_LIBRARIES = {"textual", "rich"}
PURE = sorted(
    path
    for path in [
        PACKAGE / "text.py",
        *(PACKAGE / "measures").glob("*.py"),
        *(PACKAGE / "protocol").glob("*.py"),
        *(PACKAGE / "reasoning").glob("*.py"),
        *(PACKAGE / "practice").glob("*.py"),
        *(PACKAGE / "summary").glob("*.py"),
    ]
    if path.name not in {"library.py", "past.py", "rehearsing.py"}
)
"""Modules that take values and return values."""


def fresh(code: str, *arguments: str) -> str:
    """Run `code` in an interpreter of its own, and return what it prints."""
    done = subprocess.run(
        [sys.executable, "-c", code, *arguments], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def module(path: Path) -> str:
    return ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


RUN = """
import sys
from checklist.cli import main
code = main(sys.argv[1:])
print("loaded:", *sorted({name.partition(".")[0] for name in sys.modules}))
print("code:", code)
"""


def loaded_by(*arguments: str) -> set[str]:
    """Return the top-level modules that a command has loaded when it is done."""
    *_, loaded, code = fresh(RUN, *arguments).splitlines()
    assert code == "code: 0"
    return set(loaded.split()[1:])


class TestCommandsWithoutAScreen:
    @pytest.mark.parametrize(
        "arguments",
        [
            ("--help",),
            ("--version",),
            ("protocol", "check", str(EVERYTHING)),
            ("protocol", "list"),
            ("protocol", "show", str(EVERYTHING)),
        ],
        ids=" ".join,
    )
    def test_a_command_that_shows_no_screen_loads_no_screen_library(self, arguments: tuple[str, ...]) -> None:
        assert not loaded_by(*arguments) & SCREEN_LIBRARIES

    def test_help_loads_neither_protocols_nor_the_parser_of_toml(self) -> None:
        code = "import sys; from checklist.cli import main; main(['--help']); print(*sys.modules)"

        loaded = set(fresh(code).splitlines()[-1].split())

        assert not loaded & {"checklist.protocol", "checklist.session", "tomllib", "dataclasses"}

    def test_a_file_without_problems_is_checked_without_what_only_problems_need(self) -> None:
        loaded = loaded_by_a_check_of(EVERYTHING)

        assert "checklist.protocol.reader" in loaded
        assert not loaded & {
            "checklist.protocol.positions",
            "checklist.protocol.syntax",
            "difflib",
            "tomli_w",
        }

    def test_a_protocol_without_readings_is_checked_without_the_code_of_readings(self) -> None:
        loaded = loaded_by_a_check_of(EVERYTHING)

        assert "checklist.protocol.reader" in loaded
        assert not {name for name in loaded if name.startswith(("checklist.measures", "checklist.reasoning"))}

    def test_a_protocol_with_readings_is_checked_against_the_catalogue_alone(self) -> None:
        loaded = loaded_by_a_check_of(READINGS)

        assert {"checklist.measures.catalogue", "checklist.protocol.measured_rules"} <= loaded
        modules = {kind.module for kind in KINDS.values()} | {each.module for each in COMPUTATIONS.values()}
        assert not loaded & {f"checklist.measures.{name}" for name in modules}


def loaded_by_a_check_of(path: Path) -> set[str]:
    """Return the modules that `checklist protocol check` has loaded when it is done with a sound file."""
    code = (
        "import sys; from checklist.cli import main;"
        "main(['protocol', 'check', sys.argv[1]]); print(*sys.modules)"
    )
    return set(fresh(code, str(path)).splitlines()[-1].split())


class TestPureModules:
    @pytest.mark.parametrize("path", PURE, ids=module)
    def test_a_pure_module_can_be_imported_without_a_screen_library(self, path: Path) -> None:
        loaded = fresh(f"import sys, {module(path)}; print(*sys.modules)").split()

        assert module(path) in loaded
        assert not set(loaded) & SCREEN_LIBRARIES

    @pytest.mark.parametrize("path", PURE, ids=module)
    def test_a_pure_module_names_nothing_that_opens_prints_or_tells_the_time(self, path: Path) -> None:
        tree = ast.parse(path.read_text(encoding="utf-8"))

        assert list(impurities(tree)) == []

    def test_the_check_recognises_what_it_looks_for(self) -> None:
        code = "import time\nfrom pathlib import Path\nopen('x')\nx.read_text()\ndatetime.now()\nprint(1)"

        assert len(list(impurities(ast.parse(code)))) == 6

    def test_reading_and_outlining_a_protocol_opens_no_file_and_asks_no_clock(self) -> None:
        code = """
import difflib, sys, time
from checklist.protocol import outline, positions, reader, syntax
text = sys.stdin.read()
events = []
sys.addaudithook(lambda event, _: events.append(event))
for name in ("time", "time_ns", "monotonic", "monotonic_ns", "perf_counter", "perf_counter_ns"):
    setattr(time, name, None)
protocol, problems = reader.read(text, "x.toml")
shown = outline.outline(protocol, 80)
_, problems = reader.read(text.replace("hygiene", "hygene"), "x.toml")
_, more = reader.read(text + "=", "x.toml")
print(len(shown) > 1000, len(problems), len(more), "open" in events)
"""
        done = subprocess.run(
            [sys.executable, "-c", code],
            cwd=ROOT,
            input=EVERYTHING.read_text(encoding="utf-8"),
            capture_output=True,
            text=True,
            check=False,
        )

        assert (done.stdout, done.stderr) == ("True 1 1 False\n", "")


IMPURE_MODULES = {
    "io",
    "os",
    "pathlib",
    "random",
    "shutil",
    "socket",
    "subprocess",
    "sys",
    "tempfile",
    "time",
}
IMPURE_NAMES = {"open", "print", "input"}
IMPURE_METHODS = {"now", "today", "utcnow", "open", "read_text", "read_bytes", "write_text", "write_bytes"}


def impurities(tree: ast.AST) -> "list[str]":
    found = []
    for node in ast.walk(tree):
        match node:
            case ast.Import(names=names):
                found += [name.name for name in names if name.name.partition(".")[0] in IMPURE_MODULES]
            case ast.ImportFrom(module="random", names=[ast.alias(name="Random")]):
                pass  # A generator with a seed gives the same values for the same seed.
            case ast.Call(func=ast.Name(id="Random"), args=[], keywords=[]):
                found.append("Random without a seed")
            case ast.ImportFrom(module=str(name)) if name.partition(".")[0] in IMPURE_MODULES:
                found.append(name)
            case ast.Call(func=ast.Name(id=name)) if name in IMPURE_NAMES:
                found.append(name)
            case ast.Call(func=ast.Attribute(attr=name)) if name in IMPURE_METHODS:
                found.append(name)
    return found
