"""A protocol as a FHIR R4 Questionnaire and a session as its QuestionnaireResponse.

An examination asks for each step, side and site what was found; an observation asks how a step was done.
The two are different questionnaires, so that no mark of a learner stands among the findings of a patient.
"""

from collections.abc import Iterable, Iterator

from checklist.export.fhir_parts import (
    URN,
    Json,
    code_of,
    examiner,
    extension,
    filled,
    number,
    observer,
    own_coding,
    participant,
    resource,
    session_identifier,
    status,
    written_at,
)
from checklist.protocol.model import Entry, Protocol, Section, Step
from checklist.session.events import MARKS, REASONS, Outcome
from checklist.session.session import OBSERVATION, Session
from checklist.session.state import Record
from checklist.text import one_line

# ------------------------------------------------------------------ the questions


def canonical(session: Session) -> str:
    """Return the name of the questionnaire that the session answers, with its version."""
    return f"{_url(session)}|{_version(session.protocol)}"


def _url(session: Session) -> str:
    kind = "observation" if _is_observation(session) else "examination"
    return f"{URN}:{kind}:{session.protocol.id}"


def _version(protocol: Protocol) -> str:
    # A bar would end the name before its version.
    return one_line(protocol.version).replace("|", "-")


def _is_observation(session: Session) -> bool:
    return session.header.mode == OBSERVATION


def questionnaire(session: Session) -> Json:
    """Return the protocol of a session as the questionnaire that fits its mode."""
    protocol = session.protocol
    words = "".join(part.capitalize() for part in protocol.id.split("-"))
    return resource(
        "Questionnaire",
        session,
        url=_url(session),
        version=_version(protocol),
        name=f"{'Observation' if _is_observation(session) else 'Examination'}{words}",
        title=one_line(protocol.title),
        status="active",
        subjectType=["Practitioner" if _is_observation(session) else "Patient"],
        description=one_line(protocol.scope),
        lastReviewDate=protocol.reviewed,
        item=[_section_item(session, section) for section in protocol.sections],
    )


def _section_item(session: Session, section: Section) -> Json:
    ask = _mark_questions if _is_observation(session) else _step_questions
    return {
        "linkId": f"section.{section.id}",
        "text": one_line(section.title),
        "type": "group",
        "item": [
            {
                "extension": [extension("planned-seconds", valueInteger=step.seconds)],
                "linkId": step.id,
                "text": one_line(step.title),
                "type": "group",
                "item": list(ask(session, step)),
            }
            for step in section.steps
        ],
    }


def _step_questions(session: Session, step: Step) -> Iterator[Json]:
    shown = (
        ("do", "", step.do),
        ("expect", "Expected: ", step.expect),
        ("only-if", "Only if ", step.only_if),
    )
    for name, label, text in shown:
        if one_line(text):
            yield {"linkId": f"{step.id}/{name}", "text": f"{label}{one_line(text)}", "type": "display"}
    for entry in step.entries:
        yield {
            "linkId": _link(step, entry),
            "text": one_line(entry.label or step.title),
            "type": "group",
            "item": list(_entry_questions(session, step, entry)),
        }
    yield _question(f"{step.id}/remarks", "Remarks", "text", repeats=True)


def _link(step: Step, entry: Entry) -> str:
    return f"{step.id}/entry/{one_line(entry.key)}"


def _entry_questions(session: Session, step: Step, entry: Entry) -> Iterator[Json]:
    link = _link(step, entry)
    outcomes = [_outcome(outcome) for outcome in Outcome]
    yield _choice(f"{link}/outcome", "Outcome", "choice", outcomes)
    if step.findings:
        findings = [_finding(session, step, finding.id) for finding in step.findings]
        yield _choice(f"{link}/findings", "Findings", "choice", findings, repeats=True)
    if step.reading:
        yield _question(f"{link}/reading", "Reading, as typed", "string")
    yield _question(f"{link}/words", "The examiner's own words", "text")
    reasons = [_reason(reason) for reason in REASONS]
    yield _choice(f"{link}/reason", "Why not examined", "open-choice", reasons)


def _mark_questions(_: Session, step: Step) -> Iterator[Json]:
    yield _choice(f"{step.id}/mark", "How it was performed", "choice", [_mark(mark) for mark in MARKS])
    yield _question(f"{step.id}/mark-words", "The observer's own words", "text")
    yield _question(f"{step.id}/remarks", "Remarks", "text", repeats=True)


def _question(link: str, text: str, kind: str, *, repeats: bool = False) -> Json:
    return {"linkId": link, "text": text, "type": kind, **({"repeats": True} if repeats else {})}


def _choice(link: str, text: str, kind: str, codings: Iterable[Json], *, repeats: bool = False) -> Json:
    options = [{"valueCoding": coding} for coding in codings]
    return {**_question(link, text, kind, repeats=repeats), "answerOption": options}


def _outcome(outcome: Outcome) -> Json:
    return own_coding("outcome", code_of(outcome.value), outcome.value)


def _finding(session: Session, step: Step, finding: str) -> Json:
    system = f"finding:{session.protocol.id}"
    return own_coding(system, f"{step.id}/{finding}", step.finding_of[finding].label)


def _reason(reason: str) -> Json:
    return own_coding("reason", code_of(reason), reason)


def _mark(mark: str) -> Json:
    return own_coding("mark", code_of(mark), mark)


# ------------------------------------------------------------------ the answers


def questionnaire_response(session: Session) -> Json:
    """Return what was recorded, or marked; what was not is left out, and never an empty answer."""
    observes = _is_observation(session)
    who = {"subject": examiner(session), "author": observer(session)}
    if not observes:
        who = {"subject": participant(session), "author": examiner(session)}
    sections = (_section_answers(session, section) for section in session.protocol.sections)
    return resource(
        "QuestionnaireResponse",
        session,
        identifier=session_identifier(session),
        questionnaire=canonical(session),
        status=status(session, unfinished="in-progress", finished="completed"),
        authored=written_at(session),
        item=[section for section in sections if "item" in section],
        **who,
    )


def _section_answers(session: Session, section: Section) -> Json:
    steps = (_step_answers(session, step) for step in section.steps)
    return filled({"linkId": f"section.{section.id}", "item": [step for step in steps if step]})


def _step_answers(session: Session, step: Step) -> Json:
    answers = list(_marks(session, step) if _is_observation(session) else _findings(session, step))
    remarks = [one_line(each.text) for each in session.state.remarks if each.step == step.id]
    answers += _answer(f"{step.id}/remarks", [{"valueString": text} for text in remarks if text])
    seconds = session.state.seconds.get(step.id, 0.0)
    if not answers and not seconds:
        return {}
    spent = extension("step-seconds", valueDecimal=number(seconds))
    return filled({"extension": [spent], "linkId": step.id, "item": answers})


def _findings(session: Session, step: Step) -> Iterator[Json]:
    records = session.state.records.get(step.id, {})
    for entry in step.entries:
        if record := records.get(entry.key):
            yield {
                "extension": [
                    extension("event", valuePositiveInt=record.event),
                    extension("recorded", valueDateTime=record.at.isoformat(timespec="milliseconds")),
                    extension("amended", valueBoolean=record.amendment is not None),
                ],
                "linkId": _link(step, entry),
                "item": list(_entry_answers(session, step, entry, record)),
            }


def _entry_answers(session: Session, step: Step, entry: Entry, record: Record) -> Iterator[Json]:
    link, result = _link(step, entry), record.result
    yield from _answer(f"{link}/outcome", [{"valueCoding": _outcome(result.outcome)}])
    findings = [{"valueCoding": _finding(session, step, each)} for each in dict.fromkeys(result.findings)]
    yield from _answer(f"{link}/findings", findings)
    yield from _words(f"{link}/reading", result.reading)
    yield from _words(f"{link}/words", result.detail)
    if result.reason in REASONS:
        yield from _answer(f"{link}/reason", [{"valueCoding": _reason(result.reason)}])
    else:
        yield from _words(f"{link}/reason", result.reason)


def _marks(session: Session, step: Step) -> Iterator[Json]:
    if mark := session.state.marks.get(step.id):
        yield from _answer(f"{step.id}/mark", [{"valueCoding": _mark(mark.mark)}])
        yield from _words(f"{step.id}/mark-words", mark.detail)


def _words(link: str, text: str) -> Iterator[Json]:
    if one_line(text):
        yield from _answer(link, [{"valueString": one_line(text)}])


def _answer(link: str, answers: list[Json]) -> Iterator[Json]:
    if answers:
        yield {"linkId": link, "answer": answers}
