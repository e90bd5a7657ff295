"""What is exported as FHIR is valid by a reference library, and by the rules that the library does not check.

The library reads R4B, which is the same as R4 for these resources. Expected resources are written by hand.
"""

import copy
import json
import xml.etree.ElementTree as ET
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from fhir.resources.R4B.bundle import Bundle
from fhir.resources.R4B.observation import Observation
from fhir.resources.R4B.questionnaire import Questionnaire
from fhir.resources.R4B.questionnaireresponse import QuestionnaireResponse
from hypothesis import given

from checklist.cli import main
from checklist.demo import example
from checklist.export.fhir import collection, fhir_json
from checklist.export.fhir_note import document
from checklist.export.fhir_observations import observations
from checklist.export.fhir_rules import problems
from checklist.protocol.model import Computed, Reading
from checklist.session.events import Event, Marked, Moved, Signed
from checklist.session.session import CARE, OBSERVATION, Session
from checklist.summary.note import NoNoteError
from tests import helpers
from tests import note_sessions as made
from tests.note_sessions import Script, differs, not_done, protocol_of, same, step, unseen

Json = dict[str, Any]
VITAL_STEPS = {
    "pulse": ("pulse-rate", "72"),
    "breaths": ("respiratory-rate", "16"),
    "heat": ("temperature", "98.6 F"),
    "oxygen": ("oxygen-saturation", "97"),
    "pressure": ("blood-pressure", "118/76 sitting right arm"),
    "height": ("body-height", "172 cm"),
    "weight": ("body-weight", "70 kg"),
}
VITALS = protocol_of(
    *(
        step(name, title=name.capitalize(), subject=name, chart="{reading}", reading=Reading(kind=kind))
        for name, (kind, _) in VITAL_STEPS.items()
    ),
    computed=(
        Computed(
            id="bmi",
            kind="body-mass-index",
            title="Body mass index",
            inputs=(("height", "height"), ("weight", "weight")),
        ),
    ),
)
LIDS = protocol_of(
    step(
        "lid",
        title="Lid",
        sides=True,
        subject="lid",
        subjects="lids",
        chart="smooth",
        findings={"red": "red"},
    ),
    step("ask", title="Ask", technique="ask", subject="patient", chart="reports no itch"),
    step("wash", title="Wash", technique="hygiene"),
)


def vitals() -> Session:
    script = Script(VITALS).start()
    for name, (_, reading) in VITAL_STEPS.items():
        script.record(name, same(reading=reading), seconds=10)
    return script.finish().session


def lids() -> Script:
    script = Script(LIDS).start()
    script.record(
        "lid", differs("right", findings=("red",), detail="<itchy> & raw"), unseen("left"), seconds=7.5
    )
    script.add(Moved, step="ask")
    script.record("ask", not_done(reason="asleep"), seconds=2)
    script.record("wash", same(), seconds=1)
    script.remark("lid", "Seen twice.")
    return script


def observed() -> Session:
    script = Script(LIDS, mode=OBSERVATION, observer="O-7").start()
    script.add(Marked, 8, step="lid", mark="done incorrectly", detail="pressed too hard")
    return script.finish().session


SESSIONS: dict[str, Callable[[], Session]] = {
    "demonstration": example,
    "wholly expected": made.wholly_expected,
    "two differences": made.two_differences_and_a_declined_step,
    "interrupted and amended": made.interrupted_and_resumed,
    "mostly not reached": made.mostly_not_reached,
    "vital signs": vitals,
    "lids": lambda: lids().session,
    "observation": observed,
    "not started": lambda: Script(LIDS).session,
}


@pytest.fixture(params=SESSIONS)
def session(request: pytest.FixtureRequest) -> Session:
    return SESSIONS[request.param]()


def resources(bundle: Json, kind: str) -> list[Json]:
    found = [entry["resource"] for entry in bundle["entry"]]
    return [each for each in found if each["resourceType"] == kind]


def every(value: Any) -> Iterator[Json]:
    """Every object in a resource, itself first."""
    if isinstance(value, dict):
        yield value
        for each in value.values():
            yield from every(each)
    elif isinstance(value, list):
        for each in value:
            yield from every(each)


# ------------------------------------------------------------------ valid, and marked


def test_a_reference_library_reads_the_collection(session: Session) -> None:
    text = fhir_json(session)

    read = Bundle.model_validate(json.loads(text))

    assert read.type == "collection"
    assert len(read.entry) == len(collection(session)["entry"])


def test_no_rule_that_the_library_passes_over_is_broken(session: Session) -> None:
    assert problems(collection(session)) == []


@given(helpers.histories(helpers.new_session()))
def test_any_history_gives_a_valid_collection(history: list[Event]) -> None:
    found = collection(helpers.new_session().with_events(history))

    Bundle.model_validate(found)
    assert problems(found) == []


def test_every_resource_of_practice_is_marked_as_practice_data(session: Session) -> None:
    for each in every(collection(session)):
        if "resourceType" in each:
            assert {"HTEST", "simulated"} <= {tag["code"] for tag in each["meta"]["tag"]}


def test_a_record_of_care_is_not_marked_as_practice() -> None:
    script = Script(LIDS, setting=CARE).start()
    script.record("lid", same())

    assert "HTEST" not in fhir_json(script.session)
    assert "SIMULATED" not in fhir_json(script.session)


def test_the_same_session_gives_the_same_resources_each_time() -> None:
    assert fhir_json(lids().session) == fhir_json(lids().session)


def test_no_name_of_a_server_is_made_up_for_what_is_ours(session: Session) -> None:
    systems = {each["system"] for each in every(collection(session)) if "system" in each}

    assert {system for system in systems if not system.startswith("urn:exam-checklist:")} <= {
        "http://loinc.org",
        "http://unitsofmeasure.org",
        "http://terminology.hl7.org/CodeSystem/v3-ActReason",
        "http://terminology.hl7.org/CodeSystem/observation-category",
        "urn:ietf:rfc:3986",
    }


# ------------------------------------------------------------------ observations


def test_a_vital_sign_is_written_as_hl7_writes_it() -> None:
    pulse = next(each for each in observations(vitals()))

    assert pulse["status"] == "final"
    assert pulse["category"][0]["coding"][0]["code"] == "vital-signs"
    assert pulse["code"]["coding"][0] == {
        "system": "http://loinc.org",
        "code": "8867-4",
        "display": "Heart rate",
    }
    assert pulse["valueQuantity"] == {
        "value": 72,
        "unit": "/min",
        "system": "http://unitsofmeasure.org",
        "code": "/min",
    }
    assert pulse["subject"] == {
        "type": "Patient",
        "identifier": {"system": "urn:exam-checklist:participant", "value": "P-014"},
        "display": "P-014",
    }
    assert pulse["effectiveDateTime"] == "2026-03-02T14:05:10.000+01:00"
    assert "valueString" not in pulse
    Observation.model_validate(pulse)


def test_each_vital_sign_has_its_code_its_value_and_its_unit() -> None:
    """98.6 °F are 37 °C; 70 kg at 1.72 m are 23.66 kg/m2 (70 / 2.9584)."""
    found = {}
    for each in observations(vitals()):
        code, quantity = each["code"]["coding"][0]["code"], each.get("valueQuantity")
        if quantity:
            found[code] = (round(quantity["value"], 1), quantity["code"])

    assert found == {
        "8867-4": (72, "/min"),
        "9279-1": (16, "/min"),
        "8310-5": (37, "Cel"),
        "2708-6": (97, "%"),
        "8302-2": (172, "cm"),
        "29463-7": (70, "kg"),
        "39156-5": (23.7, "kg/m2"),
    }


def test_blood_pressure_is_a_panel_without_a_value_of_its_own() -> None:
    panel = next(each for each in observations(vitals()) if "component" in each)

    assert panel["code"]["coding"][0]["code"] == "85354-9"
    assert not any(key.startswith("value") for key in panel)
    parts = [(part["code"]["coding"][0]["code"], part["valueQuantity"]) for part in panel["component"]]
    unit = {"unit": "mmHg", "system": "http://unitsofmeasure.org", "code": "mm[Hg]"}
    assert parts == [("8480-6", {"value": 118, **unit}), ("8462-4", {"value": 76, **unit})]


def test_only_what_was_examined_is_an_observation() -> None:
    """The left lid was not seen, the question not asked, and hands are no finding."""
    (right,) = observations(lids().session)

    assert right["bodySite"] == {"text": "right"}
    assert right["valueString"] == "Right lid red: <itchy> & raw."
    assert right["status"] == "preliminary"
    assert right["category"][0]["coding"][0]["code"] == "exam"
    assert right["code"]["coding"] == [
        {"system": "urn:exam-checklist:step:invented", "code": "lid", "display": "Lid"}
    ]


def test_what_the_patient_reports_is_a_survey() -> None:
    script = Script(LIDS).start()
    script.record("ask", same())

    (asked,) = observations(script.session)

    assert asked["category"][0]["coding"][0]["code"] == "survey"


def test_what_was_amended_says_so() -> None:
    script = lids().finish()
    script.amend("lid", same("left"), away=60, why="forgot")

    right, left = observations(script.session)
    (response,) = resources(collection(script.session), "QuestionnaireResponse")

    assert (right["status"], left["status"]) == ("final", "amended")
    assert response["status"] == "amended"
    assert document(script.session)["entry"][0]["resource"]["status"] == "amended"


def test_a_late_entry_was_never_another() -> None:
    script = Script(LIDS).start().finish()
    script.amend("ask", same(), away=60, why="forgot the key")

    (asked,) = observations(script.session)

    assert asked["status"] == "final"


LOINC = {
    "8867-4",
    "9279-1",
    "8310-5",
    "2708-6",
    "8302-2",
    "29463-7",
    "39156-5",
    "85354-9",
    "8480-6",
    "8462-4",
    "34117-2",
    "29545-1",
}
"""The codes whose meaning was looked up in HL7's value sets and examples."""


def test_no_other_loinc_code_is_used(session: Session) -> None:
    codings = [each for each in every(collection(session)) if each.get("system") == "http://loinc.org"]

    assert {each["code"] for each in codings} <= LOINC


# ------------------------------------------------------------------ questionnaire and response


def test_the_response_is_written_as_by_hand() -> None:
    found = collection(lids().session)
    (response,) = resources(found, "QuestionnaireResponse")
    lid, ask, wash = response["item"][0]["item"]

    assert response["status"] == "in-progress"
    assert response["questionnaire"] == "urn:exam-checklist:examination:invented|1"
    assert lid["extension"] == [{"url": "urn:exam-checklist:extension:step-seconds", "valueDecimal": 7.5}]
    assert answers(lid) == {
        "lid/entry/right/outcome": ["differs"],
        "lid/entry/right/findings": ["lid/red"],
        "lid/entry/right/words": ["<itchy> & raw"],
        "lid/entry/left/outcome": ["attempted-not-seen"],
        "lid/remarks": ["Seen twice."],
    }
    assert answers(ask) == {
        "ask/entry/whole/outcome": ["not-examined"],
        "ask/entry/whole/reason": ["asleep"],
    }
    assert answers(wash) == {"wash/entry/whole/outcome": ["as-expected"]}
    QuestionnaireResponse.model_validate(response)


def answers(item: Json) -> dict[str, list[str]]:
    found = {}
    for each in every(item):
        if "answer" in each:
            values = [answer.get("valueString") or answer["valueCoding"]["code"] for answer in each["answer"]]
            found[each["linkId"]] = values
    return found


def test_the_questionnaire_asks_for_each_side_and_offers_the_findings() -> None:
    (form,) = resources(collection(lids().session), "Questionnaire")
    lid = form["item"][0]["item"][0]

    assert form["name"] == "ExaminationInvented"
    assert form["lastReviewDate"] == "2026-01-31"
    assert [(each["linkId"], each["type"]) for each in lid["item"]] == [
        ("lid/do", "display"),
        ("lid/expect", "display"),
        ("lid/entry/right", "group"),
        ("lid/entry/left", "group"),
        ("lid/remarks", "text"),
    ]
    findings = next(each for each in every(lid) if each.get("linkId") == "lid/entry/left/findings")
    assert findings["type"] == "choice"
    assert findings["answerOption"] == [
        {
            "valueCoding": {
                "system": "urn:exam-checklist:finding:invented",
                "code": "lid/red",
                "display": "red",
            }
        }
    ]
    Questionnaire.model_validate(form)


def test_an_observation_has_marks_and_neither_findings_nor_a_note() -> None:
    found = collection(observed())
    (response,) = resources(found, "QuestionnaireResponse")

    assert [entry["resource"]["resourceType"] for entry in found["entry"]] == [
        "Questionnaire",
        "QuestionnaireResponse",
    ]
    assert answers(response) == {"lid/mark": ["done-incorrectly"], "lid/mark-words": ["pressed too hard"]}
    assert (response["subject"]["display"], response["author"]["display"]) == ("E-02", "O-7")
    with pytest.raises(NoNoteError):
        document(observed())


def test_marks_of_a_learner_are_not_in_an_examination() -> None:
    script = lids()
    script.add(Marked, step="lid", mark="done incorrectly", detail="pressed too hard")

    assert "incorrect" not in fhir_json(script.session)
    assert "pressed" not in fhir_json(script.session)


# ------------------------------------------------------------------ the note


def test_the_document_holds_the_note_with_its_banner_first() -> None:
    composition = document(made.two_differences_and_a_declined_step())["entry"][0]["resource"]
    first, *rest = composition["section"]

    assert first["title"] == "SIMULATED RECORD – practice, not a patient's record"
    assert composition["title"].endswith("SIMULATED RECORD – practice, not a patient's record")
    observed_by = next(each for each in rest if each["title"] == "OBSERVED BY THE EXAMINER")
    assert observed_by["code"]["coding"][0]["code"] == "29545-1"
    ears = next(each for each in observed_by["section"] if each["title"] == "Ears")
    assert "Right eardrum red and bulging: upper half, no discharge." in shown(ears)
    assert [each["title"] for each in rest][-1] == "SCOPE"


def shown(section: Json) -> str:
    """The words of a narrative, which is read as the XML that it must be."""
    return "".join(ET.fromstring(section["text"]["div"]).itertext())


def test_own_words_are_no_markup_in_the_narrative() -> None:
    composition = document(lids().session)["entry"][0]["resource"]
    words = " ".join(
        shown(each) for each in every(composition["section"]) if "text" in each and "title" in each
    )

    assert "<itchy> & raw" in words


def test_who_signed_attests_the_note() -> None:
    script = lids().finish()
    script.add(Signed, who="E-02", digest="0" * 64)

    (attester,) = document(script.session)["entry"][0]["resource"]["attester"]

    assert attester["party"] == {"display": "E-02"}


# ------------------------------------------------------------------ the rules

FORM: Json = {
    "resourceType": "Questionnaire",
    "url": "urn:x:form",
    "version": "1",
    "status": "draft",
    "item": [
        {
            "linkId": "1",
            "text": "General survey",
            "type": "group",
            "item": [
                {"linkId": "1.1", "text": "Introduces self", "type": "boolean"},
                {
                    "linkId": "1.2",
                    "text": "Where",
                    "type": "choice",
                    "answerOption": [{"valueCoding": {"system": "urn:x", "code": "a"}}],
                },
            ],
        }
    ],
}
RESPONSE: Json = {
    "resourceType": "QuestionnaireResponse",
    "questionnaire": "urn:x:form|1",
    "status": "completed",
    "item": [
        {
            "linkId": "1",
            "item": [
                {"linkId": "1.1", "answer": [{"valueBoolean": True}]},
                {"linkId": "1.2", "answer": [{"valueCoding": {"system": "urn:x", "code": "a"}}]},
            ],
        }
    ],
}
VITAL: Json = {
    "resourceType": "Observation",
    "status": "final",
    "code": {"coding": [{"system": "http://loinc.org", "code": "8867-4"}]},
    "valueQuantity": {"value": 72, "system": "http://unitsofmeasure.org", "code": "/min"},
}
COMPOSITION: Json = {
    "resourceType": "Composition",
    "status": "final",
    "author": [{"display": "Student"}],
    "section": [{"title": "Findings", "text": {"status": "generated", "div": "<div>text</div>"}}],
}


def bundle(kind: str, *inside: Json) -> Json:
    return {
        "resourceType": "Bundle",
        "type": kind,
        "identifier": {
            "system": "urn:ietf:rfc:3986",
            "value": "urn:uuid:0c3201bd-1cbf-4d64-b04d-cd9187a4c6e0",
        },
        "timestamp": "2024-01-05T10:00:00Z",
        "entry": [{"fullUrl": f"urn:x:{n}", "resource": each} for n, each in enumerate(inside)],
    }


WHOLE = bundle("collection", FORM, RESPONSE, VITAL, bundle("document", COMPOSITION))


def test_a_bundle_that_keeps_all_rules_has_no_problem() -> None:
    assert problems(WHOLE) == []


FORM_AT: tuple[Any, ...] = ("entry", 0, "resource")
ITEMS_AT = (*FORM_AT, "item", 0, "item")
RESPONSE_AT: tuple[Any, ...] = ("entry", 1, "resource")
ANSWERS_AT = (*RESPONSE_AT, "item", 0, "item")
VITAL_AT: tuple[Any, ...] = ("entry", 2, "resource")
NOTE_AT: tuple[Any, ...] = ("entry", 3, "resource")
COMPOSITION_AT = (*NOTE_AT, "entry", 0, "resource")
GONE = object()
BROKEN: list[tuple[str, tuple[Any, ...], Any]] = [
    ("status", (*FORM_AT, "status"), "in-use"),
    ("status", (*VITAL_AT, "status"), "done"),
    ("status", (*COMPOSITION_AT, "status"), "signed"),
    ("type", (*ITEMS_AT, 0, "type"), "checkbox"),
    ("type", ("type",), "folder"),
    ("que-1", (*FORM_AT, "item", 0, "item"), GONE),
    ("que-1", (*FORM_AT, "item", 0, "type"), "display"),
    ("que-2", (*ITEMS_AT, 1, "linkId"), "1.1"),
    ("que-5", (*ITEMS_AT, 1, "type"), "boolean"),
    ("qrs-1", (*ANSWERS_AT, 0, "item"), [{"linkId": "1.1"}]),
    ("value", (*ANSWERS_AT, 0, "answer", 0, "valueString"), "yes"),
    ("linkId", (*ANSWERS_AT, 0, "linkId"), "1.9"),
    ("linkId", (*ANSWERS_AT, 1, "linkId"), "1.1"),
    ("type", (*ANSWERS_AT, 0, "answer"), [{"valueString": "yes"}]),
    ("answerOption", (*ANSWERS_AT, 1, "answer", 0, "valueCoding", "code"), "b"),
    ("repeats", (*ANSWERS_AT, 0, "answer"), [{"valueBoolean": True}, {"valueBoolean": False}]),
    ("questionnaire", (*RESPONSE_AT, "questionnaire"), "urn:x:form|2"),
    ("obs-6", (*VITAL_AT, "dataAbsentReason"), {"text": "not done"}),
    ("obs-7", (*VITAL_AT, "component"), [{"code": VITAL["code"], "valueInteger": 1}]),
    ("qty-3", (*VITAL_AT, "valueQuantity", "system"), GONE),
    ("cmp-1", (*COMPOSITION_AT, "section", 0, "text"), GONE),
    ("author", (*COMPOSITION_AT, "author"), GONE),
    ("bdl-7", ("entry", 1, "fullUrl"), "urn:x:0"),
    ("bdl-9", (*NOTE_AT, "identifier", "system"), GONE),
    ("bdl-10", (*NOTE_AT, "timestamp"), GONE),
    ("bdl-11", (*NOTE_AT, "entry", 0, "resource"), VITAL),
    ("ele-1", (*FORM_AT, "title"), " "),
    ("id", (*FORM_AT, "id"), "a b"),
]


@pytest.mark.parametrize(("rule", "place", "value"), BROKEN)
def test_each_rule_that_is_broken_is_named(rule: str, place: tuple[Any, ...], value: Any) -> None:
    found = copy.deepcopy(WHOLE)
    inside: Any = found
    for key in place[:-1]:
        inside = inside[key]
    if value is GONE:
        del inside[place[-1]]
    else:
        inside[place[-1]] = copy.deepcopy(value)

    assert any(f" {rule}: " in text for text in problems(found)), problems(found)


def test_the_command_prints_what_a_library_reads(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["demo", "--keep", str(tmp_path)])
    (kept,) = tmp_path.glob("*.toml")
    capsys.readouterr()

    assert main(["export", str(kept), "--as", "fhir"]) == 0
    assert Bundle.model_validate(json.loads(capsys.readouterr().out)).type == "collection"
