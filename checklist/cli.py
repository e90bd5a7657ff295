"""The command line: arguments in, exit code out.

Each command has a function that declares its arguments and one that runs it; the module that does the work is
imported when the command is called, so that no command waits for what another one needs.
"""

import argparse
import os
import sys
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from checklist import __version__
from checklist.errors import ChecklistError
from checklist.text import one_line

EXIT_PROBLEM = 1
EXIT_USAGE = 2
EXIT_INTERRUPTED = 130
EXIT_PIPE_CLOSED = 141

if TYPE_CHECKING:
    # The type has parameters for the checker alone.
    Commands = argparse._SubParsersAction[argparse.ArgumentParser]


def entry() -> None:
    """Run the command of this process."""
    for stream in (sys.stdout, sys.stderr):
        # A terminal that cannot show a character shows a question mark; it is no reason to stop.
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    sys.exit(main(sys.argv[1:]))


def main(argv: Sequence[str]) -> int:
    """Run a command and return its exit code; the one place that turns errors into a line on stderr."""
    try:
        exit_code = _run(argv)
        if sys.stdout is not None:
            sys.stdout.flush()
        return exit_code
    except KeyboardInterrupt:
        return EXIT_INTERRUPTED
    except BrokenPipeError:
        _give_up_output()
        return EXIT_PIPE_CLOSED
    except ChecklistError as error:
        return _report(str(error))
    except OSError as error:
        _give_up_output()
        return _report(": ".join(str(part) for part in (error.filename, error.strerror) if part))


def _run(argv: Sequence[str]) -> int:
    try:
        args = _parser(argv).parse_args(argv)
    except SystemExit as leaving:
        # The parser leaves after --help and --version (0), and after a wrong argument (2).
        return leaving.code if isinstance(leaving.code, int) else EXIT_USAGE
    exit_code: int = args.run(args)
    return exit_code


def _report(what: str) -> int:
    print(f"checklist: {one_line(what)}", file=sys.stderr)
    return EXIT_PROBLEM


def _give_up_output() -> None:
    """Write what is still to be written; what cannot be goes nowhere, or Python complains of it at exit."""
    if sys.stdout is None:
        return
    try:
        sys.stdout.flush()
    except OSError:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)


def _parser(argv: Sequence[str]) -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="checklist",
        description="Run an ordered physical examination from the keyboard: examine, record, time, write up.",
        epilog="A learning and documentation aid."
        " Local policy, scope of practice and the licensed clinician decide.",
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=f"checklist {__version__}")
    parser.set_defaults(run=_home)
    commands = parser.add_subparsers(title="commands", metavar="COMMAND")
    # Each takes half a millisecond, so the one that is called is declared alone.
    called = argv[0] if argv and argv[0] in _COMMANDS else ""
    for name, add in _COMMANDS.items():
        if called in {"", name}:
            add(commands)
    return parser


# checklist, checklist examine, checklist resume: the full-screen app


def _home(args: argparse.Namespace) -> int:
    from checklist.commands.screen import home

    return home(args)


def _add_examine(commands: "Commands") -> None:
    parser = commands.add_parser(
        "examine",
        help="open the app at the preparation of a protocol",
        description="Open the app at the preparation of a protocol, or with --begin at its first step.",
    )
    parser.add_argument("protocol", metavar="ID", help="the id of a protocol, as listed, or a protocol file")
    parser.add_argument("--participant", default="", metavar="CODE", help="made-up code of the one examined")
    parser.add_argument("--examiner", default="", metavar="CODE", help="made-up code of the one examining")
    parser.add_argument("--age", default="", metavar="BAND", help="age band, as the protocol has it")
    parser.add_argument(
        "--setting",
        default="practice",
        choices=("practice", "care"),
        help="practice (default) marks every output as a simulated record",
    )
    parser.add_argument(
        "--begin",
        action="store_true",
        help="start the clock at once, with everything at hand; needs both codes",
    )
    parser.set_defaults(run=_examine)


def _examine(args: argparse.Namespace) -> int:
    from checklist.commands.screen import examine

    return examine(args)


def _add_resume(commands: "Commands") -> None:
    parser = commands.add_parser(
        "resume",
        help="open the app where an unfinished session stood",
        description="Open the app at the step and second where an unfinished session stood.",
    )
    _add_session(parser, "the latest unfinished one")
    parser.set_defaults(run=_resume)


def _resume(args: argparse.Namespace) -> int:
    from checklist.commands.screen import resume

    return resume(args)


def _add_session(parser: argparse.ArgumentParser, default: str) -> None:
    parser.add_argument(
        "session",
        nargs="?",
        metavar="SESSION",
        help=f"a session file, its id or the beginning of its id (default: {default})",
    )


# checklist note, checklist timeline, checklist demo: documents


def _add_document(
    commands: "Commands", name: str, purpose: str, run: Callable[[argparse.Namespace], int]
) -> None:
    parser = commands.add_parser(name, help=purpose, description=f"{purpose.capitalize()}.")
    _add_session(parser, "the latest one")
    parser.add_argument("--markdown", action="store_true", help="as Markdown (default: plain text)")
    parser.add_argument("--output", metavar="FILE", help="write to a new file (default: print)")
    _add_width(parser)
    parser.set_defaults(run=run)


def _add_width(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--width", type=_width, default=88, metavar="N", help="characters a line, 40 to 200 (default: 88)"
    )


def _width(text: str) -> int:
    if not text.isdecimal() or not 40 <= int(text) <= 200:
        raise argparse.ArgumentTypeError(f"{text!r} is not a whole number from 40 to 200")
    return int(text)


def _add_note(commands: "Commands") -> None:
    _add_document(commands, "note", "print the note of a session", _note)


def _note(args: argparse.Namespace) -> int:
    from checklist.commands.summary import note

    return note(args)


def _add_timeline(commands: "Commands") -> None:
    _add_document(commands, "timeline", "print every step's time against its plan", _timeline)


def _timeline(args: argparse.Namespace) -> int:
    from checklist.commands.summary import timeline

    return timeline(args)


def _add_demo(commands: "Commands") -> None:
    parser = commands.add_parser(
        "demo",
        help="print note and timeline of an invented example",
        description="Record an invented, finished examination and print its note and timeline."
        " No person was examined.",
    )
    parser.add_argument("--keep", metavar="FOLDER", help="keep the session file there (default: not kept)")
    _add_width(parser)
    parser.set_defaults(run=_demo)


def _demo(args: argparse.Namespace) -> int:
    from checklist.commands.summary import demo

    return demo(args)


# checklist protocol


def _add_protocol(commands: "Commands") -> None:
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
    readings.add_argument("text", nargs="?", default="", metavar="TEXT", help="a reading, as it is typed")
    readings.set_defaults(run=_protocol_readings)


_COMMANDS: dict[str, Callable[["Commands"], None]] = {
    "examine": _add_examine,
    "resume": _add_resume,
    "note": _add_note,
    "timeline": _add_timeline,
    "demo": _add_demo,
    "protocol": _add_protocol,
}


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

    return readings(args.kind, args.text)
