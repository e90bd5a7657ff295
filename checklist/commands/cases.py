"""`checklist case`: simulated patients to write, check, make, share, and read about afterwards."""

import sys
from argparse import Namespace
from pathlib import Path

from checklist.errors import ChecklistError
from checklist.practice import library
from checklist.practice.case_score import due
from checklist.practice.cases import TASK, what_is_there
from checklist.practice.generated import generate, pictures
from checklist.protocol.library import find, load
from checklist.session.session import REHEARSAL
from checklist.summary.case_report import case_report, case_sheet
from checklist.summary.document import plain_text
from checklist.text import one_line


def check(args: Namespace) -> int:
    """Print all problems of all files; the exit code says whether there are any."""
    exit_code = 0
    for file in args.files:
        problems = library.check(Path(file))
        for problem in problems:
            print(problem)
        if problems:
            exit_code = 1
        else:
            print(one_line(f"{file}: no problems"))
    return exit_code


def show(args: Namespace) -> int:
    """Print a case with all that it hides."""
    case = library.load(library.find(args.case))
    protocol = load(find(case.protocol))
    there = what_is_there(case, protocol)
    in_order = [
        there[step.id, entry.key]
        for step in protocol
        for entry in step.entries
        if (step.id, entry.key) in there
    ]
    told = [f"{each.what.rstrip('.')} – {_HOW[each.tell]}" for each in due(case, protocol)]
    sys.stdout.write(plain_text(case_sheet(case, protocol, in_order, told), args.width))
    return 0


_HOW = {"report": "report before leaving", "urgent": "tell at once"}


def make(args: Namespace) -> int:
    """Print the case of a seed as a case file, or write it to a new one."""
    protocol = load(find(args.protocol))
    text = library.to_toml(generate(protocol, args.seed, args.about))
    if args.output:
        from checklist.output import write_new

        write_new(Path(args.output), text)
    else:
        sys.stdout.write(text)
    return 0


def topics(args: Namespace) -> int:
    """Print what a case of a protocol can be made about."""
    for each in pictures(load(find(args.protocol))):
        print(each.name)
    return 0


def report(args: Namespace) -> int:
    """Print how a rehearsal with a simulated patient went."""
    from checklist.commands.summary import load_session, put
    from checklist.session.state import Stage

    session = load_session(args.session)
    if session.header.mode != REHEARSAL or session.header.task != TASK:
        raise ChecklistError("this session is no rehearsal with a simulated patient")
    if session.state.stage is not Stage.FINISHED:
        raise ChecklistError("this rehearsal is not finished; 'checklist resume' goes on with it")
    return put(args, case_report(session, library.case_of(session)))
