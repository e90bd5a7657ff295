"""A session as FHIR R4 in JSON: one collection of questionnaire, response, observations and note.

What is written has passed the rules of `fhir_rules`; what breaks one is refused, not written.
"""

import json

from checklist.errors import ChecklistError
from checklist.export.fhir_form import questionnaire, questionnaire_response
from checklist.export.fhir_note import document
from checklist.export.fhir_observations import observations
from checklist.export.fhir_parts import Json, entries, resource, written_at
from checklist.export.fhir_rules import problems
from checklist.session.session import EXAMINATION, Session


class FhirError(ChecklistError):
    """A session whose content cannot be said in FHIR."""


def collection(session: Session) -> Json:
    """Return all resources of a session; of an observation there are neither observations nor a note.

    Raises FhirError with the first rule that is broken.
    """
    resources = [questionnaire(session), questionnaire_response(session)]
    if session.header.mode == EXAMINATION:
        resources += [*observations(session), document(session)]
    found = resource(
        "Bundle",
        session,
        "collection",
        type="collection",
        timestamp=written_at(session),
        entry=entries(resources),
    )
    if broken := problems(found):
        raise FhirError(f"this session cannot be written as FHIR: {broken[0]}")
    return found


def fhir_json(session: Session) -> str:
    """Return the collection as JSON."""
    return json.dumps(collection(session), ensure_ascii=False, indent=1, allow_nan=False) + "\n"
