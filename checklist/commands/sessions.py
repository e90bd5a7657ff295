"""Lists, shows, archives, deletes and de-identifies sessions. Needs a terminal only to ask."""

import os
import sys
from argparse import Namespace
from collections.abc import Iterator, Sequence
from datetime import date
from pathlib import Path

from checklist.errors import ChecklistError
from checklist.session import index
from checklist.session.archive import (
    ArchiveError,
    beside,
    demand_closed,
    demand_session,
    remove,
    write_archive,
)
from checklist.session.store import Loaded, Summary, find, load, sessions_folder, summaries
from checklist.text import one_line

CANNOT_UNDO = (
    "Deleting cannot be undone. It does not reach backups, copies, exports and archives,"
    " nor what the disk keeps of a file that was deleted."
)
NO_CERTIFICATE = (
    "after the list of 45 CFR 164.514(b)(2), and no certificate: readings, findings and times since the start"
    " are kept, and so is the protocol with all its words; read the file before you pass it on"
)
WORD = "delete"


class SessionsError(ChecklistError):
    """What was asked of the sessions cannot be done."""


# checklist sessions list


def list_all(_: Namespace) -> int:
    """Print a line for each session, newest first; damaged ones are said to be so."""
    found = summaries()
    if not found:
        print(f"There is no session yet in {one_line(str(sessions_folder()))}.")
        return 0
    rows = [_row(each) for each in found]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        print("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip())
    return 0


def _row(each: Summary) -> tuple[str, ...]:
    size, day = _size(each.path), f"{each.created:%Y-%m-%d %H:%M}"
    if each.problem:
        return (each.id, day, size, "damaged", "", "", each.problem)
    state = "finished" if each.is_finished else "unfinished"
    return (each.id, day, size, state, each.mode, each.participant, each.title)


def _size(path: Path) -> str:
    try:
        size = path.stat().st_size
    except OSError:
        return "?"
    return f"{size} B" if size < 1000 else f"{size / 1000:.0f} kB"


# checklist sessions show


def show(args: Namespace) -> int:
    """Print what a session file holds, without the words that were typed."""
    from checklist.commands.session_facts import facts

    loaded = load(find(args.session))
    for name, text in facts(loaded):
        print(f"{name:<12} {text}")
    return 0


# checklist sessions archive


def archive(args: Namespace) -> int:
    """Write sessions to a new zip file, read it back, and with `--remove` take the originals away."""
    paths = _to_archive(args)
    target = _target(args.archive)
    for path in paths if args.remove else ():
        demand_session(path)
        demand_closed(path)
    digests = write_archive(target, paths)
    print(f"{target}: {_counted(len(paths))}, read back and compared. It is not encrypted.")
    if not args.remove:
        print("The originals are where they were.")
        return 0
    left = _removed(paths, digests)
    print(f"{_counted(len(paths) - len(left))} removed from this disk. {CANNOT_UNDO}")
    return 1 if left else 0


def _target(named: str) -> Path:
    try:
        return Path(named).expanduser()
    except RuntimeError:
        raise SessionsError(f"{named}: there is no such user; write the folder in full") from None


def _to_archive(args: Namespace) -> list[Path]:
    if bool(args.sessions) == bool(args.before):
        raise SessionsError("name the sessions to archive, or a day with --before, and not both")
    if args.sessions:
        return _found(args.sessions)
    chosen = list(_before(args.before))
    if not chosen:
        raise SessionsError(f"no session was begun before {args.before}")
    return chosen


def _before(day: date) -> Iterator[Path]:
    """Return the sessions begun before a day; of a damaged one the day is not known."""
    for each in summaries():
        if each.problem:
            print(f"checklist: {each.id}: damaged, so it has no day; name it to archive it", file=sys.stderr)
        elif each.created.date() < day:
            yield each.path


def _removed(paths: Sequence[Path], digests: dict[Path, str] | None = None) -> list[Path]:
    """Remove files; say which cannot be, and return those."""
    left = []
    for path in paths:
        try:
            remove(path, digests)
        except ArchiveError as error:
            print(f"checklist: {error}", file=sys.stderr)
            left.append(path)
    # What the index says of them goes with them; it comes back without them.
    index.forget()
    return left


# checklist sessions delete


def delete(args: Namespace) -> int:
    """Delete sessions with what lies beside them, after asking."""
    paths = _found(args.sessions)
    for path in paths:
        demand_session(path)
        demand_closed(path)
    for path in paths:
        torn = len(beside(path))
        print(f"{one_line(str(path))}{f' and {torn} torn end(s) beside it' if torn else ''}")
    print(CANNOT_UNDO)
    if not args.yes and not _is_agreed(len(paths)):
        print("Nothing was deleted.")
        return 1
    left = _removed(paths)
    print(f"{_counted(len(paths) - len(left))} deleted.")
    return 1 if left else 0


def _is_agreed(count: int) -> bool:
    if not (sys.stdin and sys.stdin.isatty()):
        raise SessionsError("there is no terminal to ask at; add --yes to delete without being asked")
    print(f"Type the word {WORD} to delete {_counted(count)}: ", end="", flush=True)
    return sys.stdin.readline().strip() == WORD


def _found(named: Sequence[str]) -> list[Path]:
    """Return the files of the sessions that are named, each once."""
    return list({path.absolute(): path for path in map(find, named)}.values())


def _counted(count: int) -> str:
    return f"{count} session{'' if count == 1 else 's'}"


# checklist sessions deidentify


def deidentify(args: Namespace) -> int:
    """Write a session without what points at a person to a new session file."""
    from checklist.output import write_new
    from checklist.session.closing import changed_words
    from checklist.session.codec import encode_event, encode_header
    from checklist.summary.deidentified import deidentified

    loaded = load(find(args.session))
    if changed := changed_words(loaded.path, loaded.session):
        print(f"checklist: {changed}", file=sys.stderr)
    session = deidentified(loaded.session, keep_text=args.keep_text, mark=os.urandom(4).hex())
    text = encode_header(session.header, session.table) + "".join(map(encode_event, session.events))
    write_new(Path(args.output), text)
    print(f"checklist: {NO_CERTIFICATE}", file=sys.stderr)
    for warning in _doubts(loaded) if args.keep_text else ():
        print(f"checklist: {warning}", file=sys.stderr)
    return 0


def _doubts(loaded: Loaded) -> Iterator[str]:
    from checklist.identity import text_warning
    from checklist.summary.deidentified import typed_words

    for number, text in typed_words(loaded.session):
        if warning := text_warning(text):
            yield f"the words of event {number} were kept, and something in them {warning}"
