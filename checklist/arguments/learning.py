"""What the commands on practising and on simulated patients take on the command line."""

import argparse
from collections.abc import Callable
from typing import TYPE_CHECKING

from checklist.arguments.shared import add_output, add_width, seed_number

if TYPE_CHECKING:
    # The type has parameters for the checker alone.
    Commands = argparse._SubParsersAction[argparse.ArgumentParser]


def add_practise(commands: "Commands") -> None:
    parser = commands.add_parser(
        "practise",
        help="print what to practise in the minutes that you have, and why",
        description="Print a plan for the minutes that you have, and of every step how well it is recalled,"
        " as far as past sessions tell. In ten minutes or less: three things at most.",
    )
    parser.add_argument(
        "--minutes", type=_practice_minutes, default=20, metavar="N", help="minutes today (default: 20)"
    )
    add_history(parser)
    parser.set_defaults(run=_practise)


def add_history(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "protocol",
        nargs="?",
        metavar="PROTOCOL",
        help="the id of a protocol, as listed, or a protocol file (default: that of the latest session)",
    )
    parser.add_argument(
        "--examiner", metavar="CODE", help="whose sessions (default: those of the code of the latest session)"
    )
    add_output(parser)
    add_width(parser)


def _practice_minutes(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 600:
        raise argparse.ArgumentTypeError(f"{text!r} is not a whole number of minutes from 1 to 600")
    return int(text)


def _practise(args: argparse.Namespace) -> int:
    from checklist.commands.practise import practise

    return practise(args)


def add_progress(commands: "Commands") -> None:
    parser = commands.add_parser(
        "progress",
        help="print how the sessions on a protocol went over time",
        description="Print how the sessions of one examiner on one protocol went over time: time with a"
        " fitted curve, steps done, critical steps missed, order, and steps that are getting worse.",
    )
    add_history(parser)
    parser.add_argument(
        "--as",
        dest="form",
        default="text",
        choices=("text", "html"),
        help="text, or a page with pictures to print (default: text)",
    )
    parser.set_defaults(run=_progress)


def _progress(args: argparse.Namespace) -> int:
    from checklist.commands.practise import progress

    return progress(args)


def add_case(commands: "Commands") -> None:
    parser = commands.add_parser(
        "case",
        help="list, check, show or make cases of simulated patients",
        description="Cases of simulated patients: files that say what would be seen, heard or felt.",
    )
    actions = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)
    known = actions.add_parser(
        "list",
        help="list the bundled cases and your own",
        description="List the cases on this computer, your own first: id, title, protocol, origin, and"
        " whether each can be used.",
    )
    known.set_defaults(run=_case_run, action="list_all")
    check = actions.add_parser(
        "check",
        help="check files of cases, or of descriptions",
        description="Print all problems of files, by line: cases, or descriptions of what the findings of a"
        " protocol look, sound or feel like. The exit code is 1 if there are any.",
    )
    check.add_argument("files", nargs="+", metavar="FILE", help="a case file, or a file of descriptions")
    check.set_defaults(run=_case_run, action="check")
    show = actions.add_parser(
        "show", help="print a case with all that it hides", description="Print a case with all that it hides."
    )
    show.add_argument("case", metavar="CASE", help="a case file, or the id of a case")
    add_width(show)
    show.set_defaults(run=_case_run, action="show")
    make = actions.add_parser(
        "make",
        help="make a case from a protocol and a seed",
        description="Print a case made from a protocol, or write it to a new file, to be changed and shared.",
    )
    make.add_argument("protocol", metavar="ID", help="the id of a protocol, as listed, or a protocol file")
    make.add_argument(
        "--seed", type=seed_number, required=True, metavar="N", help="the same number makes the same"
    )
    make.add_argument("--about", default="", metavar="TOPIC", help="what it shows, as 'case topics' lists it")
    make.add_argument("--output", metavar="FILE", help="write to a new file (default: print)")
    make.set_defaults(run=_case_run, action="make")
    topics = actions.add_parser(
        "topics",
        help="list what a case of a protocol can be about",
        description="List what a case of a protocol can be made about.",
    )
    topics.add_argument("protocol", metavar="ID", help="the id of a protocol, as listed, or a protocol file")
    topics.set_defaults(run=_case_run, action="topics")


def _case_run(args: argparse.Namespace) -> int:
    from checklist.commands import cases

    run: Callable[[argparse.Namespace], int] = getattr(cases, args.action)
    return run(args)
