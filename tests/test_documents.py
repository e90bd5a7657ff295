"""README and DEVELOPERS say what is so."""

import re
from pathlib import Path

import pytest

from checklist.cli import main

CHECKOUT = Path(__file__).parent.parent
README = (CHECKOUT / "README.md").read_text(encoding="utf-8")
COMMANDS = (
    "examine",
    "resume",
    "note",
    "timeline",
    "handoff",
    "debrief",
    "observe",
    "compare",
    "amend",
    "sign",
    "verify",
    "export",
    "sessions",
    "rehearse",
    "patient",
    "case",
    "practise",
    "progress",
    "demo",
    "protocol check",
    "protocol list",
    "protocol show",
    "protocol readings",
)


def test_the_readme_opens_with_the_job_in_one_paragraph() -> None:
    title, paragraph, heading = README.split("\n\n")[:3]

    assert title.startswith("# ")
    assert "examines a person" in paragraph
    assert heading.startswith("## ")


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_is_in_the_readme_and_has_a_help(
    command: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert f"`checklist {command}" in README
    assert main([*command.split(), "--help"]) == 0
    assert len(capsys.readouterr().out.splitlines()) > 3


def test_the_list_of_commands_is_whole(capsys: pytest.CaptureFixture[str]) -> None:
    main(["--help"])
    listed = set(re.findall(r"^    ([a-z]+) ", capsys.readouterr().out, re.MULTILINE))

    assert listed == {command.split()[0] for command in COMMANDS}


def test_every_picture_and_file_that_is_named_is_there() -> None:
    named = re.findall(r"\]\(([^)#]+)\)", README)

    assert named
    for each in named:
        assert (CHECKOUT / each).exists(), each


def test_a_picture_asks_nothing_of_a_network() -> None:
    """Names of formats may look like addresses; nothing is fetched from them."""
    for picture in (CHECKOUT / "screenshots").glob("*.svg"):
        addresses = set(re.findall(r"https?://[^\s\"'<)]+", picture.read_text(encoding="utf-8")))
        assert addresses <= {
            "http://www.w3.org/2000/svg",
            "https://www.textualize.io",
            "https://github.com/Textualize/rich",
        }, picture
