"""What the commands on protocols take on the command line."""

import argparse
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    # The type has parameters for the checker alone.
    Commands = argparse._SubParsersAction[argparse.ArgumentParser]


def add_protocol(commands: "Commands") -> None:
    parser = commands.add_parser(
        "protocol",
        help="check, list or show protocols",
        description="Protocols are the TOML files that say what is examined, in which order.",
    )
    actions = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)
    check = actions.add_parser(
        "check",
        help="report everything that is wrong with protocol files",
        description="Report everything that is wrong with protocol files, one problem to a line:"
        " file, line, column, what is wrong, and what would be right. The exit code is 1 if anything is.",
    )
    check.add_argument("files", nargs="+", metavar="FILE", help="a protocol file")
    check.set_defaults(run=_protocol_check)
    known = actions.add_parser(
        "list",
        help="list the bundled protocols and your own",
        description="List the protocols on this computer: your own, then the bundled ones.",
    )
    known.set_defaults(run=_protocol_list)
    show = actions.add_parser(
        "show",
        help="print a protocol as a plain-text outline",
        description="Print everything in a protocol as plain text, with boxes to tick, on paper too.",
    )
    show.add_argument("protocol", metavar="ID", help="the id of a protocol, as listed, or a protocol file")
    show.set_defaults(run=_protocol_show)
    readings = actions.add_parser(
        "readings",
        help="list the kinds of reading, or show one",
        description="List the kinds of reading that a protocol can declare; show the options and sources of"
        " one; or print what a typed text means by it.",
    )
    readings.add_argument("kind", nargs="?", default="", metavar="KIND", help="a kind, as listed")
    readings.add_argument("text", nargs="*", metavar="TEXT", help="a reading, as it is typed")
    readings.set_defaults(run=_protocol_readings)


def _protocol_check(args: argparse.Namespace) -> int:
    from checklist.commands.protocol import check

    return check(args.files)


def _protocol_list(_: argparse.Namespace) -> int:
    from checklist.commands.protocol import list_all

    return list_all()


def _protocol_show(args: argparse.Namespace) -> int:
    from checklist.commands.protocol import show

    return show(args.protocol)


def _protocol_readings(args: argparse.Namespace) -> int:
    from checklist.commands.protocol import readings

    return readings(args.kind, " ".join(args.text))
