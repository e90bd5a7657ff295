"""The note of an examination: what was found, in the order in which another clinician needs it.

It charts nothing that was not recorded, gives no diagnosis, and is silent on how the examiner performed.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence

from checklist.errors import ChecklistError
from checklist.protocol.model import Protocol, Section, Step
from checklist.session.session import Session
from checklist.summary.amendments import amendments
from checklist.summary.conduct import conduct, is_act
from checklist.summary.document import Block, Form, Note, Sentence
from checklist.summary.particulars import banner, particulars
from checklist.summary.prose import region
from checklist.summary.telling import to_report
from checklist.summary.undone import in_part, not_examined, not_reached, unseen
from checklist.summary.words import sentence
from checklist.text import one_line

EXAMINATION = "examination"

CAUTION = (
    "An aid, no diagnosis: local policy, scope of practice and the licensed clinician decide; "
    "emergencies follow facility procedure."
)
SIGNATURE = f"Signature {'_' * 14} Name/role {'_' * 14} Date/time {'_' * 12}"
"""72 characters: one line wherever the note is read."""


class NoNoteError(ChecklistError):
    """A session that must never yield a patient's note."""


def note(session: Session) -> Note:
    """Return the note of an examination.

    Raises NoNoteError for any other mode: in a rehearsal or an observation no patient was examined by this
    examiner.
    """
    mode = session.header.mode
    if mode != EXAMINATION:
        raise NoNoteError(f"this session's mode is '{one_line(mode)}': only an examination yields a note")
    return Note(
        title=f"{session.protocol.title} examination",
        banner=banner(session),
        blocks=tuple(_blocks(session)),
    )


def _blocks(session: Session) -> Iterator[Block]:
    acts = [step for step in session.protocol if is_act(step)]
    looks = [step for step in session.protocol if not is_act(step)]
    yield Block(sentences=particulars(session))
    yield to_report(session)
    yield from _group(session, "REPORTED BY THE PATIENT", lambda step: step.is_asked)
    yield from _group(session, "OBSERVED BY THE EXAMINER", _is_observed)
    yield from _filled("PUT TOGETHER FROM THE RECORD", _put_together(session), Form.ITEMS)
    yield from _filled("ATTEMPTED, NOT SEEN", unseen(session))
    yield from _filled("NOT EXAMINED", not_examined(session, looks))
    yield from _filled("RECORDED IN PART", in_part(session))
    yield from _filled("NOT REACHED", not_reached(session))
    yield from _filled("CONDUCT", [*conduct(session, acts), *_remarks(session, acts)])
    yield from _filled("LATE ENTRIES AND CORRECTIONS", amendments(session), Form.ITEMS)
    yield Block(heading="SCOPE", sentences=tuple(scope(session.protocol)))
    yield Block(sentences=(Sentence(text=SIGNATURE),))


def _filled(heading: str, sentences: Iterable[Sentence], form: Form = Form.PARAGRAPH) -> Iterator[Block]:
    if sentences := tuple(sentences):
        yield Block(heading=heading, sentences=sentences, form=form)


def _put_together(session: Session) -> Iterator[Sentence]:
    # The code of readings and patterns is loaded only where a protocol has use for it.
    if session.protocol.computed or any(step.reading or step.covers for step in session.protocol):
        from checklist.summary.considered import put_together

        yield from put_together(session)


def _is_observed(step: Step) -> bool:
    return not step.is_asked and not is_act(step)


def _group(session: Session, heading: str, belongs: Callable[[Step], bool]) -> Iterator[Block]:
    """Return a heading and, under it, a paragraph for each section that has something to say."""
    blocks = [block for section in session.protocol.sections for block in _region(session, section, belongs)]
    if blocks:
        yield Block(heading=heading, form=Form.GROUP)
        yield from blocks


def _region(session: Session, section: Section, belongs: Callable[[Step], bool]) -> Iterator[Block]:
    own = [step for step in section.steps if belongs(step)]
    sentences = [*region(own, session.state.records), *_remarks(session, own)]
    yield from _filled(section.title, sentences, Form.REGION)


def _remarks(session: Session, steps: Sequence[Step]) -> Iterator[Sentence]:
    """Return the examiner's own words about `steps`, in the order in which they were written."""
    title_of = {step.id: step.title for step in steps}
    for remark in session.state.remarks:
        if remark.step in title_of:
            text = f"remark ({title_of[remark.step]}): {remark.text}"
            yield Sentence(text=sentence(text), rests_on=(remark.n,))


def scope(protocol: Protocol) -> Iterator[Sentence]:
    """Return what the protocol is for, the usual caution, and which version was followed."""
    for text in (protocol.scope, CAUTION):
        yield Sentence(text=sentence(text))
    source = f"protocol version {protocol.version}, reviewed {protocol.reviewed}"
    yield Sentence(text=sentence(source))
