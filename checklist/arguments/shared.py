"""What several commands take on the command line."""

import argparse
from collections.abc import Callable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    # The type has parameters for the checker alone.
    Commands = argparse._SubParsersAction[argparse.ArgumentParser]


def add_session(parser: argparse.ArgumentParser, default: str) -> None:
    parser.add_argument(
        "session",
        nargs="?",
        metavar="SESSION",
        help=f"a session file, its id or the beginning of its id (default: {default})",
    )


def add_document(
    commands: "Commands", name: str, purpose: str, run: Callable[[argparse.Namespace], int]
) -> None:
    parser = commands.add_parser(name, help=purpose, description=f"{purpose.capitalize()}.")
    add_session(parser, "the latest one")
    add_output(parser)
    add_width(parser)
    parser.set_defaults(run=run)


def add_output(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--markdown", action="store_true", help="as Markdown (default: plain text)")
    parser.add_argument("--output", metavar="FILE", help="write to a new file (default: print)")


def add_width(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--width", type=width, default=88, metavar="N", help="characters a line, 40 to 200 (default: 88)"
    )


def width(text: str) -> int:
    if not text.isdecimal() or not 40 <= int(text) <= 200:
        raise argparse.ArgumentTypeError(f"{text!r} is not a whole number from 40 to 200")
    return int(text)


_LONGEST_SEED = 9
"""Digits."""


def seed_number(text: str) -> int:
    if not (text.isascii() and text.isdecimal() and len(text) <= _LONGEST_SEED):
        raise argparse.ArgumentTypeError(f"{text!r} is no whole number of at most {_LONGEST_SEED} digits")
    return int(text)
