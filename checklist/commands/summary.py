"""Prints the note or the timeline of a session, and the invented example. Needs no terminal."""

import sys
from argparse import Namespace
from pathlib import Path

from checklist.session.session import Session
from checklist.summary.document import Note, markdown, plain_text


def note(args: Namespace) -> int:
    """Print the note of a session, or write it to a file."""
    from checklist.summary.note import note

    return _put(args, note(_session(args.session)))


def timeline(args: Namespace) -> int:
    """Print the timeline of a session, or write it to a file."""
    from checklist.summary.timeline import timeline

    return _put(args, timeline(_session(args.session)))


def demo(args: Namespace) -> int:
    """Record the invented example through the same code as a real one, and print its note and timeline."""
    from checklist.demo import example
    from checklist.summary.note import note
    from checklist.summary.timeline import timeline

    folder = Path(args.keep) if args.keep else None
    session = example(folder)
    sys.stdout.write(plain_text(note(session), args.width) + "\n" + plain_text(timeline(session), args.width))
    if folder:
        print(f"checklist: kept as {folder / f'{session.header.id}.toml'}", file=sys.stderr)
    return 0


def _session(named: str | None) -> Session:
    from checklist.session.store import find, load

    loaded = load(find(named))
    if loaded.torn_bytes:
        text = f"the last {loaded.torn_bytes} bytes of {loaded.path} are no whole event and were passed over"
        print(f"checklist: {text}", file=sys.stderr)
    return loaded.session


def _put(args: Namespace, document: Note) -> int:
    text = markdown(document) if args.markdown else plain_text(document, args.width)
    if args.output:
        from checklist.output import write_new

        write_new(Path(args.output), text)
    else:
        sys.stdout.write(text)
    return 0
