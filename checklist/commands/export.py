"""Prints a session in a format that other programs read, or writes it to a file. Needs no terminal."""

from argparse import Namespace

from checklist.commands.summary import load_session, refuse_rehearsal
from checklist.errors import ChecklistError
from checklist.session.session import OBSERVATION, Session


class ExportError(ChecklistError):
    """An export that cannot be made with what was asked for."""


def export(args: Namespace) -> int:
    """Print the export of a session, or write it to a file."""
    if args.offset and args.form != "vtt":
        raise ExportError("--offset moves chapters, so it goes with --as vtt only")
    session = load_session(args.session)
    refuse_rehearsal(session, "a rehearsal is not exported")
    from checklist.output import put_as_is

    put_as_is(_text(args, session), args.output)
    return 0


def _text(args: Namespace, session: Session) -> str:
    match args.form:
        case "csv-events":
            from checklist.export.csv_tables import events_csv

            return events_csv(session)
        case "csv-items":
            from checklist.export.csv_tables import items_csv

            return items_csv(session)
        case "html":
            from checklist.export.report import report
            from checklist.session.earlier import earlier

            return report(session, earlier(session) if session.header.mode == OBSERVATION else ())
        case "vtt":
            from checklist.export.chapters import chapters

            return chapters(session, args.offset)
        case _:
            from checklist.export.fhir import fhir_json

            return fhir_json(session)
