"""The note of an examination as a FHIR R4 document: a Bundle that opens with a Composition.

Holds the words of the note; a session that yields no note yields no document.
"""

from html import escape
from uuid import UUID

from checklist.export.fhir_parts import (
    LOINC,
    Json,
    concept,
    entries,
    examiner,
    filled,
    identity,
    participant,
    resource,
    session_identifier,
    status,
    written_at,
)
from checklist.session.session import Session
from checklist.summary.document import Block, Form, Note
from checklist.summary.note import SIGNATURE, note
from checklist.text import clean, one_line

NOTE_TYPE = {"system": LOINC, "code": "34117-2", "display": "History and physical note"}
FINDINGS = {"system": LOINC, "code": "29545-1", "display": "Physical findings"}
OBSERVED = "OBSERVED BY THE EXAMINER"
"""The heading of the note whose section is coded as physical findings."""


def document(session: Session) -> Json:
    """Return the note as a document. Raises NoNoteError for a session that yields none."""
    written = note(session)
    moment = written_at(session)
    composition = resource(
        "Composition",
        session,
        identifier=session_identifier(session),
        status=status(session, unfinished="preliminary", finished="final"),
        type=concept(NOTE_TYPE),
        subject=participant(session),
        date=moment,
        author=[examiner(session)],
        title=" – ".join(one_line(part) for part in (written.title, *written.banner)),
        attester=[
            {
                "mode": "professional",
                "time": signed.at.isoformat(timespec="milliseconds"),
                "party": {"display": one_line(signed.who) or "not given"},
            }
            for signed in session.state.signed
        ],
        section=_sections(written),
    )
    return resource(
        "Bundle",
        session,
        "document",
        identifier={"system": "urn:ietf:rfc:3986", "value": _urn(identity(session, "document", moment))},
        type="document",
        timestamp=moment,
        entry=entries([composition]),
    )


def _urn(found: UUID) -> str:
    return f"urn:uuid:{found}"


def _sections(written: Note) -> list[Json]:
    """Return the banner as the first section, then the blocks; regions stand under their group."""
    sections = [_section(line, [_paragraph(line)]) for line in written.banner]
    for block in written.blocks:
        if any(sentence.text == SIGNATURE for sentence in block.sentences):
            # The line to sign on is for paper.
            continue
        if block.form is Form.REGION and sections:
            sections[-1].setdefault("section", []).append(_block(block))
        else:
            sections.append(_block(block))
    return sections


def _block(block: Block) -> Json:
    heading = one_line(block.heading) or "Particulars"
    section = _section(heading, _parts(block))
    return section | ({"code": concept(FINDINGS)} if heading == OBSERVED else {})


def _section(title: str, parts: list[str]) -> Json:
    text = {"status": "generated", "div": _div(parts)} if parts else None
    return filled({"title": one_line(title), "text": text})


def _div(parts: list[str]) -> str:
    return f'<div xmlns="http://www.w3.org/1999/xhtml">{"".join(parts)}</div>'


def _parts(block: Block) -> list[str]:
    texts = [one_line(sentence.text) for sentence in block.sentences]
    if not texts:
        return []
    match block.form:
        case Form.ITEMS:
            return ["<ul>", *(f"<li>{escape(text, quote=False)}</li>" for text in texts), "</ul>"]
        case Form.ROWS:
            rows = "\n".join(clean(sentence.text) for sentence in block.sentences)
            return [f"<pre>{escape(rows, quote=False)}</pre>"]
        case _:
            return [_paragraph(" ".join(texts))]


def _paragraph(text: str) -> str:
    return f"<p>{escape(one_line(text), quote=False)}</p>"
