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
from checklist.arguments import app, documents, learning, protocols, records
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


# checklist, checklist examine, checklist observe, checklist resume: the full-screen app


def _home(args: argparse.Namespace) -> int:
    from checklist.commands.screen import home

    return home(args)


_COMMANDS: dict[str, Callable[["Commands"], None]] = {
    "examine": app.add_examine,
    "observe": app.add_observe,
    "rehearse": app.add_rehearse,
    "patient": app.add_patient,
    "case": learning.add_case,
    "resume": app.add_resume,
    "note": documents.add_note,
    "timeline": documents.add_timeline,
    "debrief": documents.add_debrief,
    "handoff": documents.add_handoff,
    "export": documents.add_export,
    "compare": documents.add_compare,
    "practise": learning.add_practise,
    "progress": learning.add_progress,
    "amend": records.add_amend,
    "sign": records.add_sign,
    "verify": records.add_verify,
    "demo": documents.add_demo,
    "sessions": records.add_sessions,
    "protocol": protocols.add_protocol,
}
