"""What the commands that print or write documents take on the command line."""

import argparse
from typing import TYPE_CHECKING

from checklist.arguments.shared import add_document, add_output, add_session, add_width

if TYPE_CHECKING:
    # The type has parameters for the checker alone.
    Commands = argparse._SubParsersAction[argparse.ArgumentParser]


def add_note(commands: "Commands") -> None:
    add_document(commands, "note", "print the note of a session", _note)


def _note(args: argparse.Namespace) -> int:
    from checklist.commands.summary import note

    return note(args)


def add_timeline(commands: "Commands") -> None:
    add_document(commands, "timeline", "print every step's time against its plan", _timeline)


def _timeline(args: argparse.Namespace) -> int:
    from checklist.commands.summary import timeline

    return timeline(args)


def add_debrief(commands: "Commands") -> None:
    add_document(commands, "debrief", "print how a performance went, and what to do differently", _debrief)


def _debrief(args: argparse.Namespace) -> int:
    from checklist.commands.summary import debrief

    return debrief(args)


def add_handoff(commands: "Commands") -> None:
    add_document(commands, "handoff", "print what differs, to hand over by, with blanks", _handoff)


def _handoff(args: argparse.Namespace) -> int:
    from checklist.commands.summary import handoff

    return handoff(args)


def add_compare(commands: "Commands") -> None:
    parser = commands.add_parser(
        "compare",
        help="print two records of one performance side by side",
        description="Print two records of one performance side by side: how far they agree, where they"
        " differ, and what was left out. Two observers, examinee and observer, or two examination records.",
    )
    for name, metavar in (("first", "A"), ("second", "B")):
        parser.add_argument(name, metavar=metavar, help="a session file, its id or the beginning of its id")
    add_output(parser)
    add_width(parser)
    parser.set_defaults(run=_compare)


def _compare(args: argparse.Namespace) -> int:
    from checklist.commands.compare import compare

    return compare(args)


def add_demo(commands: "Commands") -> None:
    parser = commands.add_parser(
        "demo",
        help="print note and timeline of an invented example",
        description="Record an invented, finished examination and print its note and timeline."
        " No person was examined.",
    )
    parser.add_argument("--keep", metavar="FOLDER", help="keep the session file there (default: not kept)")
    add_width(parser)
    parser.set_defaults(run=_demo)


def _demo(args: argparse.Namespace) -> int:
    from checklist.commands.summary import demo

    return demo(args)


def add_export(commands: "Commands") -> None:
    parser = commands.add_parser(
        "export",
        help="print a session as CSV, HTML, WebVTT or FHIR",
        description="Print a session in a format that other programs read: its events or items as CSV, a"
        " report to print as HTML, chapters of a recording as WebVTT, or FHIR R4 resources as JSON.",
    )
    add_session(parser, "the latest one")
    parser.add_argument(
        "--as",
        dest="form",
        required=True,
        choices=("csv-events", "csv-items", "html", "vtt", "fhir"),
        help="the format",
    )
    parser.add_argument("--output", metavar="FILE", help="write to a new file (default: print)")
    parser.add_argument(
        "--offset",
        type=_offset,
        default=0.0,
        metavar="SECONDS",
        help="seconds of the recording before the examination began; negative when it began later (vtt)",
    )
    parser.set_defaults(run=_export)


_LONGEST_OFFSET = 1e6
"""Seconds; more than eleven days of recording is a slip of the hand."""


def _offset(text: str) -> float:
    try:
        seconds = float(text)
    except ValueError:
        seconds = float("inf")
    if not abs(seconds) <= _LONGEST_OFFSET:
        raise argparse.ArgumentTypeError(f"{text!r} is no number of seconds, such as 12.5")
    return seconds


def _export(args: argparse.Namespace) -> int:
    from checklist.commands.export import export

    return export(args)
