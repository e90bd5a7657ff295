"""Prints the documents of a session, and the invented example. Needs no terminal."""

import sys
from argparse import Namespace
from pathlib import Path

from checklist.errors import ChecklistError
from checklist.session.session import REHEARSAL, Session
from checklist.summary.document import Note, markdown, plain_text


def note(args: Namespace) -> int:
    """Print the note of a session, or write it to a file."""
    from checklist.summary.note import note

    return put(args, note(load_session(args.session)))


def timeline(args: Namespace) -> int:
    """Print the timeline of a session, or write it to a file."""
    from checklist.summary.timeline import timeline

    session = load_session(args.session)
    refuse_rehearsal(session, "a rehearsal has no timeline")
    return put(args, timeline(session))


def debrief(args: Namespace) -> int:
    """Print the debrief of a session, or how a rehearsal went, or write it to a file."""
    session = load_session(args.session)
    return put(args, _rehearsed(session) or _performed(session))


def _performed(session: Session) -> Note:
    """Return the debrief, with the times beside those of earlier sessions."""
    from checklist.session.earlier import earlier
    from checklist.summary.debrief import debrief

    return debrief(session, earlier(session))


def _rehearsed(session: Session) -> Note | None:
    """Return how a finished rehearsal went, with or without a simulated patient; None for anything else."""
    if session.header.mode != REHEARSAL:
        return None
    from checklist.practice.cases import TASK
    from checklist.practice.rehearsal import is_recall
    from checklist.summary.rehearsed import demand_finished, rehearsed

    if is_recall(session):
        demand_finished(session)
        return rehearsed(session)
    if session.header.task != TASK:
        return None
    from checklist.practice.library import case_of, descriptions_of
    from checklist.summary.case_report import case_report

    demand_finished(session)
    described, _ = descriptions_of(session.protocol)
    return case_report(session, case_of(session), described)


def handoff(args: Namespace) -> int:
    """Print what is told at a handoff, or write it to a file."""
    from checklist.summary.handoff import handoff

    return put(args, handoff(load_session(args.session)))


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


def load_session(named: str | None) -> Session:
    """Return a session by file, id or beginning of it; says on stderr what is wrong with its file."""
    from checklist.session.closing import changed_words
    from checklist.session.store import find, load

    loaded = load(find(named))
    if changed := changed_words(loaded.path, loaded.session):
        print(f"checklist: {changed}", file=sys.stderr)
    if loaded.torn_bytes:
        text = f"the last {loaded.torn_bytes} bytes of {loaded.path} are no whole event and were passed over"
        print(f"checklist: {text}", file=sys.stderr)
    return loaded.session


def refuse_rehearsal(session: Session, why: str) -> None:
    """Refuse what is made of an examination: in a rehearsal, nobody was examined."""
    if session.header.mode == REHEARSAL:
        raise ChecklistError(f"{why}; 'checklist debrief' prints how it went")


def put(args: Namespace, document: Note) -> int:
    """Print a document as the arguments say, or write it to a new file."""
    text = markdown(document) if args.markdown else plain_text(document, args.width)
    if args.output:
        from checklist.output import write_new

        write_new(Path(args.output), text)
    else:
        sys.stdout.write(text)
    return 0
