"""Prints what to practise next, and how the sessions went over time. Needs no terminal."""

import sys
from argparse import Namespace

from checklist.commands.summary import put
from checklist.errors import ChecklistError
from checklist.output import put_as_is
from checklist.practice.history import History
from checklist.practice.past import past
from checklist.session.opening import MACHINE

MANY = 100
"""From so many files on, it is said that they are read."""


def practise(args: Namespace) -> int:
    """Print what to practise in the minutes that there are, or write it to a file."""
    from checklist.summary.practise import practise

    return put(args, practise(_history(args), args.minutes, MACHINE.now(), args.width))


def progress(args: Namespace) -> int:
    """Print how the sessions went over time, or write it to a file; as HTML with pictures."""
    if args.form == "html":
        return _progress_page(args)
    from checklist.summary.progress import progress

    return put(args, progress(_history(args), MACHINE.now()))


def _progress_page(args: Namespace) -> int:
    if args.markdown:
        raise ChecklistError("--markdown is a form of text, so it does not go with --as html")
    from checklist.export.progress_page import progress_page

    put_as_is(progress_page(_history(args), MACHINE.now()), args.output)
    return 0


def _history(args: Namespace) -> History:
    return past(args.protocol, args.examiner, _say, MACHINE.now())


def _say(files: int) -> None:
    if files >= MANY:
        print(f"checklist: reading {files} sessions; the next time this is quicker", file=sys.stderr)
