"""What all FHIR resources of a session share: systems, identifiers, the mark of practice data, references.

Resources are plain dictionaries as FHIR R4 spells them in JSON. Nothing here knows a protocol.
"""

from collections.abc import Iterable, Mapping
from typing import Any
from uuid import NAMESPACE_URL, UUID, uuid5

from checklist.session.events import Amended
from checklist.session.session import Session
from checklist.session.state import Stage
from checklist.summary.particulars import FICTIONAL, SIMULATED
from checklist.text import one_line

Json = dict[str, Any]

URN = "urn:exam-checklist"
"""Begins every name of the project's own. No registered namespace: it only keeps the names apart."""
LOINC = "http://loinc.org"
UCUM = "http://unitsofmeasure.org"
ACT_REASON = "http://terminology.hl7.org/CodeSystem/v3-ActReason"
_HERE = uuid5(NAMESPACE_URL, URN)


def identity(session: Session, *parts: str) -> UUID:
    """Return the same identity for the same part of the same session, however often it is exported."""
    return uuid5(_HERE, "\n".join((session.header.id, session.header.created.isoformat(), *parts)))


def resource(kind: str, session: Session, *parts: str, **elements: Any) -> Json:
    """Return a resource with its identity and, in practice, the mark that it is practice data."""
    own = {"resourceType": kind, "id": str(identity(session, kind, *parts)), "meta": {"tag": _tags(session)}}
    return {
        key: value for key, value in (own | elements).items() if value not in (None, "", [], {}, {"tag": []})
    }


def _tags(session: Session) -> list[Json]:
    tags = []
    if session.header.is_simulated:
        # HL7's own examples are tagged with this code.
        tags.append({"system": ACT_REASON, "code": "HTEST", "display": "test health data"})
        tags.append({"system": f"{URN}:tag", "code": "simulated", "display": SIMULATED})
    if session.header.fictional:
        tags.append({"system": f"{URN}:tag", "code": "invented", "display": FICTIONAL})
    return tags


def code_of(words: str) -> str:
    """Return words as a code: `as expected` → `as-expected`."""
    return "-".join(words.replace(",", " ").split())


def own_coding(system: str, code: str, display: str) -> Json:
    return {"system": f"{URN}:{system}", "code": code, "display": one_line(display)}


def concept(coding: Json, text: str = "") -> Json:
    return {"coding": [coding], "text": one_line(text) or coding["display"]}


def extension(name: str, **value: Any) -> Json:
    return {"url": f"{URN}:extension:{name}", **value}


def participant(session: Session) -> Json:
    return _person("participant", session.header.participant, "Patient")


def examiner(session: Session) -> Json:
    return _person("examiner", session.header.examiner, "Practitioner")


def observer(session: Session) -> Json:
    return _person("examiner", session.header.observer, "Practitioner")


def _person(role: str, code: str, kind: str) -> Json:
    """Refer to a person by code; a session knows no more of anybody, and may not even know that."""
    code = one_line(code) or "not given"
    return {"type": kind, "identifier": {"system": f"{URN}:{role}", "value": code}, "display": code}


def session_identifier(session: Session) -> Json:
    return {"system": f"{URN}:session", "value": one_line(session.header.id) or "not given"}


def written_at(session: Session) -> str:
    """Return the time of the last event, as FHIR writes a moment."""
    return (session.state.at or session.header.created).isoformat(timespec="milliseconds")


def is_amended(session: Session) -> bool:
    return any(isinstance(event, Amended) for event in session.events)


def status(session: Session, *, unfinished: str, finished: str) -> str:
    if session.state.stage is not Stage.FINISHED:
        return unfinished
    return "amended" if is_amended(session) else finished


def number(value: float) -> float:
    """Return a figure as JSON should show it: whole when it is, and without the noise of a computation."""
    rounded = round(value, 6)
    return int(rounded) if rounded == int(rounded) else rounded


def quantity(value: float, unit: str, code: str) -> Json:
    return {"value": number(value), "unit": unit, "system": UCUM, "code": code}


def entries(resources: Iterable[Json]) -> list[Json]:
    """Return resources as entries of a bundle."""
    return [{"fullUrl": f"urn:uuid:{each['id']}", "resource": each} for each in resources]


def filled(elements: Mapping[str, Any]) -> Json:
    """Leave out what is empty: FHIR has no empty texts, lists and objects."""
    return {key: value for key, value in elements.items() if value not in (None, "", [], {})}
