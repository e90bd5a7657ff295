"""Prints two records of one performance side by side. Needs no terminal."""

from argparse import Namespace

from checklist.commands.summary import load_session, put


def compare(args: Namespace) -> int:
    """Print the comparison of two sessions, or write it to a file."""
    from checklist.practice import pairing
    from checklist.summary.comparison import comparison

    first, second = load_session(args.first), load_session(args.second)
    return put(args, comparison(pairing.compare(first, second)))
