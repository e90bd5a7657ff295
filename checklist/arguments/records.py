"""What the commands that change, check and keep session files take on the command line."""

import argparse
from collections.abc import Callable
from typing import TYPE_CHECKING

from checklist.arguments.shared import add_session

if TYPE_CHECKING:
    from datetime import date

    # The type has parameters for the checker alone.
    Commands = argparse._SubParsersAction[argparse.ArgumentParser]


def add_amend(commands: "Commands") -> None:
    parser = commands.add_parser(
        "amend",
        help="open the app to write late entries and corrections",
        description="Open the app at the steps of a finished session, to write late entries and corrections"
        " with who and why. What is corrected stays legible.",
    )
    add_session(parser, "the latest finished one")
    parser.set_defaults(run=_amend)


def _amend(args: argparse.Namespace) -> int:
    from checklist.commands.screen import amend

    return amend(args)


def add_sign(commands: "Commands") -> None:
    parser = commands.add_parser(
        "sign",
        help="close a finished session with initials",
        description="Close a finished session with initials, after asking once more: from then on it is only"
        " amended, and 'checklist verify' says whether it was changed.",
    )
    add_session(parser, "the latest finished one")
    parser.add_argument("--initials", required=True, metavar="XY", help="initials or a code, no name")
    parser.add_argument("--yes", action="store_true", help="sign without asking once more")
    parser.set_defaults(run=_sign)


def _sign(args: argparse.Namespace) -> int:
    from checklist.commands.sign import sign

    return sign(args)


def add_verify(commands: "Commands") -> None:
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


def add_sessions(commands: "Commands") -> None:
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
    add_session(show, "the latest one")
    show.set_defaults(run=_sessions_run, action="show")
    add_sessions_archive(actions)
    add_sessions_delete(actions)
    add_sessions_deidentify(actions)


def add_sessions_archive(actions: "Commands") -> None:
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


def add_sessions_delete(actions: "Commands") -> None:
    parser = actions.add_parser(
        "delete",
        help="delete sessions",
        description="Delete sessions with what lies beside them, after asking. That cannot be undone, and"
        " does not reach backups, copies, exports, archives, nor what the disk keeps of deleted files.",
    )
    parser.add_argument("sessions", nargs="+", metavar="SESSION", help="a session file, or an id")
    parser.add_argument("--yes", action="store_true", help="do not ask")
    parser.set_defaults(run=_sessions_run, action="delete")


def add_sessions_deidentify(actions: "Commands") -> None:
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
