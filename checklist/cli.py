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
    from datetime import date

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


def _add_examine(commands: "Commands") -> None:
    parser = commands.add_parser(
        "examine",
        help="open the app at the preparation of a protocol",
        description="Open the app at the preparation of a protocol, or with --begin at its first step.",
    )
    parser.add_argument("protocol", metavar="ID", help="the id of a protocol, as listed, or a protocol file")
    parser.add_argument("--participant", default="", metavar="CODE", help="made-up code of the one examined")
    parser.add_argument("--examiner", default="", metavar="CODE", help="made-up code of the one examining")
    _add_preparation(parser, "needs both codes")
    parser.set_defaults(run=_examine)


def _add_preparation(parser: argparse.ArgumentParser, needs: str) -> None:
    parser.add_argument("--age", default="", metavar="BAND", help="age band, as the protocol has it")
    parser.add_argument(
        "--setting",
        default="practice",
        choices=("practice", "care"),
        help="practice (default) marks every output as a simulated record",
    )
    parser.add_argument(
        "--assessed",
        action="store_true",
        help="the performance counts: no hints on the examiner's screen before the end",
    )
    parser.add_argument(
        "--begin", action="store_true", help=f"start the clock at once, with everything at hand; {needs}"
    )


def _examine(args: argparse.Namespace) -> int:
    from checklist.commands.screen import examine

    return examine(args)


def _add_observe(commands: "Commands") -> None:
    parser = commands.add_parser(
        "observe",
        help="open the app to mark how somebody else examines",
        description="Open the app to mark, on the same protocol, how somebody else examines:"
        " at the preparation, or with --begin at the first step. An observation has no note.",
    )
    parser.add_argument("protocol", metavar="ID", help="the id of a protocol, as listed, or a protocol file")
    parser.add_argument("--examiner", default="", metavar="CODE", help="made-up code of the one observed")
    parser.add_argument("--observer", default="", metavar="CODE", help="made-up code of the one who marks")
    parser.add_argument("--participant", default="", metavar="CODE", help="made-up code of the one examined")
    _add_preparation(parser, "needs the codes of examiner and observer")
    parser.set_defaults(run=_observe)


def _observe(args: argparse.Namespace) -> int:
    from checklist.commands.screen import observe

    return observe(args)


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
    _add_output(parser)
    _add_width(parser)
    parser.set_defaults(run=run)


def _add_output(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--markdown", action="store_true", help="as Markdown (default: plain text)")
    parser.add_argument("--output", metavar="FILE", help="write to a new file (default: print)")


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


def _add_debrief(commands: "Commands") -> None:
    _add_document(commands, "debrief", "print how a performance went, and what to do differently", _debrief)


def _debrief(args: argparse.Namespace) -> int:
    from checklist.commands.summary import debrief

    return debrief(args)


def _add_handoff(commands: "Commands") -> None:
    _add_document(commands, "handoff", "print what differs, to hand over by, with blanks", _handoff)


def _handoff(args: argparse.Namespace) -> int:
    from checklist.commands.summary import handoff

    return handoff(args)


def _add_compare(commands: "Commands") -> None:
    parser = commands.add_parser(
        "compare",
        help="print two records of one performance side by side",
        description="Print two records of one performance side by side: how far they agree, where they"
        " differ, and what was left out. Two observers, examinee and observer, or two examination records.",
    )
    for name, metavar in (("first", "A"), ("second", "B")):
        parser.add_argument(name, metavar=metavar, help="a session file, its id or the beginning of its id")
    _add_output(parser)
    _add_width(parser)
    parser.set_defaults(run=_compare)


def _compare(args: argparse.Namespace) -> int:
    from checklist.commands.compare import compare

    return compare(args)


# checklist amend, checklist sign, checklist verify: after the end


def _add_amend(commands: "Commands") -> None:
    parser = commands.add_parser(
        "amend",
        help="open the app to write late entries and corrections",
        description="Open the app at the steps of a finished session, to write late entries and corrections"
        " with who and why. What is corrected stays legible.",
    )
    _add_session(parser, "the latest finished one")
    parser.set_defaults(run=_amend)


def _amend(args: argparse.Namespace) -> int:
    from checklist.commands.screen import amend

    return amend(args)


def _add_sign(commands: "Commands") -> None:
    parser = commands.add_parser(
        "sign",
        help="close a finished session with initials",
        description="Close a finished session with initials, after asking once more: from then on it is only"
        " amended, and 'checklist verify' says whether it was changed.",
    )
    _add_session(parser, "the latest finished one")
    parser.add_argument("--initials", required=True, metavar="XY", help="initials or a code, no name")
    parser.add_argument("--yes", action="store_true", help="sign without asking once more")
    parser.set_defaults(run=_sign)


def _sign(args: argparse.Namespace) -> int:
    from checklist.commands.sign import sign

    return sign(args)


def _add_verify(commands: "Commands") -> None:
    parser = commands.add_parser(
        "verify",
        help="say whether sessions are whole, signed and unchanged since",
        description="Say of each session, in one line, whether its file is whole, finished, signed, and"
        " unchanged since; and what that does not prove. The exit code is 1 if anything is wrong.",
    )
    parser.add_argument(
        "sessions", nargs="+", metavar="SESSION", help="a session file, its id or the beginning of its id"
    )
    parser.set_defaults(run=_verify)


def _verify(args: argparse.Namespace) -> int:
    from checklist.commands.verify import verify

    return verify(args)


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


# checklist export: formats that other programs read


def _add_export(commands: "Commands") -> None:
    parser = commands.add_parser(
        "export",
        help="print a session as CSV, HTML, WebVTT or FHIR",
        description="Print a session in a format that other programs read: its events or items as CSV, a"
        " report to print as HTML, chapters of a recording as WebVTT, or FHIR R4 resources as JSON.",
    )
    _add_session(parser, "the latest one")
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


def _offset(text: str) -> float:
    try:
        seconds = float(text)
    except ValueError:
        seconds = float("inf")
    if not abs(seconds) <= _LONGEST_OFFSET:
        raise argparse.ArgumentTypeError(f"{text!r} is no number of seconds, such as 12.5")
    return seconds


_LONGEST_OFFSET = 1e6
"""Seconds; more than eleven days of recording is a slip of the hand."""


def _export(args: argparse.Namespace) -> int:
    from checklist.commands.export import export

    return export(args)


# checklist sessions: retention and privacy


def _add_sessions(commands: "Commands") -> None:
    parser = commands.add_parser(
        "sessions",
        help="list, show, archive, delete or de-identify sessions",
        description="What is kept of examinations on this computer. A file about a real patient is a health"
        " record: how long it is kept, and where, is a matter of local policy.",
    )
    actions = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)
    known = actions.add_parser(
        "list",
        help="list all sessions, newest first",
        description="Print one line for each session: id, begin, size, state, mode, participant, protocol.",
    )
    known.set_defaults(run=_sessions_run, action="list_all")
    show = actions.add_parser(
        "show",
        help="show what a session file holds",
        description="Show what a session file holds: header, counts, whether words were typed, and whether it"
        " was signed. The words themselves are not repeated.",
    )
    _add_session(show, "the latest one")
    show.set_defaults(run=_sessions_run, action="show")
    _add_sessions_archive(actions)
    _add_sessions_delete(actions)
    _add_sessions_deidentify(actions)


def _add_sessions_archive(actions: "Commands") -> None:
    parser = actions.add_parser(
        "archive",
        help="put sessions into one new zip file",
        description="Put sessions into one new zip file for its owner alone, read it back and compare."
        " It is not encrypted. Unpacked into the folder of sessions, they are as they were.",
    )
    parser.add_argument("archive", metavar="FILE.zip", help="the new file")
    parser.add_argument("sessions", nargs="*", default=(), metavar="SESSION", help="a session file, or an id")
    parser.add_argument("--before", type=_day, metavar="YYYY-MM-DD", help="all begun before that day")
    parser.add_argument("--remove", action="store_true", help="then remove the originals (default: kept)")
    parser.set_defaults(run=_sessions_run, action="archive")


def _day(text: str) -> "date":
    from datetime import date

    try:
        return date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is no day such as 2026-11-25") from None


def _add_sessions_delete(actions: "Commands") -> None:
    parser = actions.add_parser(
        "delete",
        help="delete sessions",
        description="Delete sessions with what lies beside them, after asking. That cannot be undone, and"
        " does not reach backups, copies, exports, archives, nor what the disk keeps of deleted files.",
    )
    parser.add_argument("sessions", nargs="+", metavar="SESSION", help="a session file, or an id")
    parser.add_argument("--yes", action="store_true", help="do not ask")
    parser.set_defaults(run=_sessions_run, action="delete")


def _add_sessions_deidentify(actions: "Commands") -> None:
    parser = actions.add_parser(
        "deidentify",
        help="write a session without codes, dates and typed words",
        description="Write a session to a new session file without codes, dates and typed words, after the"
        " list of 45 CFR 164.514(b)(2). No certificate: what was recorded may be rare enough to be known.",
    )
    parser.add_argument("session", metavar="SESSION", help="a session file, or an id")
    parser.add_argument("--output", required=True, metavar="FILE", help="the new file")
    parser.add_argument("--keep-text", action="store_true", help="keep the words that were typed")
    parser.set_defaults(run=_sessions_run, action="deidentify")


def _sessions_run(args: argparse.Namespace) -> int:
    from checklist.commands import sessions

    run: Callable[[argparse.Namespace], int] = getattr(sessions, args.action)
    return run(args)


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
    readings.add_argument("text", nargs="*", metavar="TEXT", help="a reading, as it is typed")
    readings.set_defaults(run=_protocol_readings)


_COMMANDS: dict[str, Callable[["Commands"], None]] = {
    "examine": _add_examine,
    "observe": _add_observe,
    "resume": _add_resume,
    "note": _add_note,
    "timeline": _add_timeline,
    "debrief": _add_debrief,
    "handoff": _add_handoff,
    "export": _add_export,
    "compare": _add_compare,
    "amend": _add_amend,
    "sign": _add_sign,
    "verify": _add_verify,
    "demo": _add_demo,
    "sessions": _add_sessions,
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

    return readings(args.kind, " ".join(args.text))
