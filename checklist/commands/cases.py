"""`checklist case`: simulated patients to write, list, check, make and share."""

import sys
from argparse import Namespace
from pathlib import Path

from checklist.practice import library
from checklist.practice.generated import pictures
from checklist.protocol.library import find, load
from checklist.summary.case_report import case_sheet
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


def list_all(_: Namespace) -> int:
    """Print the cases on this computer in columns: own ones first, then the bundled ones."""
    rows = [tuple(map(one_line, _row(each))) for each in library.case_headlines()]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        print("  ".join(cell.ljust(size) for cell, size in zip(row, widths, strict=True)).rstrip())
    return 0


def _row(each: library.CaseHeadline) -> tuple[str, ...]:
    state = f"cannot be used: {each.problem}" if each.problem else "can be used"
    return (each.id, each.title, each.protocol, each.origin, state)


def show(args: Namespace) -> int:
    """Print a case with all that it hides."""
    case = library.load(library.find(args.case))
    protocol = load(find(case.protocol))
    sys.stdout.write(plain_text(case_sheet(case, protocol), args.width))
    return 0


def make(args: Namespace) -> int:
    """Print the case of a seed as a case file, or write it to a new one."""
    protocol = load(find(args.protocol))
    text = library.to_toml(library.made(protocol, args.seed, args.about))
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
