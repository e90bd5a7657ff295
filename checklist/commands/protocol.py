"""`checklist protocol`: check, list and show protocols."""

from collections.abc import Sequence
from pathlib import Path

from checklist.protocol import library
from checklist.text import one_line


def check(files: Sequence[str]) -> int:
    """Print all problems of all files; the exit code says whether there are any."""
    exit_code = 0
    for file in files:
        problems = library.check(Path(file))
        for problem in problems:
            print(problem)
        if problems:
            exit_code = 1
        else:
            print(one_line(f"{file}: no problems"))
    return exit_code


def list_all() -> int:
    """Print what there is to know of each protocol before it is opened, wrapped to the terminal."""
    from shutil import get_terminal_size
    from textwrap import wrap

    headlines = library.headlines()
    indent = max((len(each.id) for each in headlines), default=0) + 2
    width = max(get_terminal_size().columns, indent + 20)
    for each in headlines:
        for text, label in ((_headline(each), each.id), (each.summary, "")):
            first = one_line(label).ljust(indent)
            for line in wrap(text, width, initial_indent=first, subsequent_indent=" " * indent):
                print(line)
    return 0


def _headline(each: library.Headline) -> str:
    if each.problem:
        return one_line(f"cannot be used: {each.problem}")
    return f"{each.title} ({each.version}, {each.target_minutes:g} min, {each.origin})"


def show(name: str) -> int:
    """Print the outline of a protocol, as wide as the terminal."""
    from shutil import get_terminal_size

    from checklist.protocol.outline import outline

    print(outline(library.load(library.find(name)), get_terminal_size().columns), end="")
    return 0


def readings(kind: str, text: str) -> int:
    """Print all kinds of reading, or one, or what a text means by it."""
    from shutil import get_terminal_size

    from checklist.commands.readings import list_kinds, show_kind, try_text

    width = get_terminal_size().columns
    if not kind:
        return list_kinds(width)
    return try_text(kind, text, width) if text else show_kind(kind, width)
