"""The wheel carries all that it needs: a copy installed from it runs without the checkout."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

CHECKOUT = Path(__file__).parent.parent


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder into which the built wheel was installed, without its dependencies."""
    dist, target = tmp_path_factory.mktemp("dist"), tmp_path_factory.mktemp("site")
    build = [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", str(dist), str(CHECKOUT)]
    subprocess.run(build, check=True, capture_output=True)
    (wheel,) = dist.glob("*.whl")
    install = [
        sys.executable,
        "-m",
        "pip",
        "install",
        "--quiet",
        "--no-deps",
        "--no-index",
        "--target",
        str(target),
    ]
    subprocess.run([*install, str(wheel)], check=True, capture_output=True)
    return target


def run(installed: Path, home: Path, *arguments: str) -> str:
    """Run a command of the installed copy, far from the checkout, and return what it prints."""
    environment = {**os.environ, "PYTHONPATH": str(installed), "EXAM_CHECKLIST_HOME": str(home)}
    done = subprocess.run(
        [sys.executable, *arguments], cwd=home, env=environment, capture_output=True, text=True, check=True
    )
    return done.stdout


def test_the_installed_copy_is_the_one_that_runs(installed: Path, tmp_path: Path) -> None:
    place = run(installed, tmp_path, "-c", "import checklist; print(checklist.__file__)")

    assert Path(place.strip()).is_relative_to(installed)


def test_the_bundled_protocols_are_in_the_wheel(installed: Path, tmp_path: Path) -> None:
    listed = run(installed, tmp_path, "-m", "checklist", "protocol", "list")

    assert {path.stem for path in (CHECKOUT / "protocols").glob("*.toml")} == {
        line.split()[0] for line in listed.splitlines() if line[:1].strip()
    }


def test_the_example_runs_from_the_wheel(installed: Path, tmp_path: Path) -> None:
    text = run(installed, tmp_path, "-m", "checklist", "demo")

    assert text.startswith("SIMULATED RECORD")
    assert "INVENTED EXAMPLE" in text


def test_the_command_is_installed_under_its_name(installed: Path) -> None:
    (names,) = installed.glob("exam_checklist-*.dist-info/entry_points.txt")

    assert "checklist = checklist.cli:entry" in names.read_text(encoding="utf-8")
