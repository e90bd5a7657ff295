"""What was found, as FHIR R4 Observations: one for each step, side and site that was examined.

Vital signs have LOINC codes and UCUM units; all else has a code of the project and the words of the note.
What was not examined, or not seen, is no Observation.
Codes and displays of vital signs: HL7, FHIR R4, value set observation-vitalsignresult, whose LOINC content is
copyright 1995 Regenstrief Institute, Inc., and available at no cost under http://loinc.org/terms-of-use.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from checklist.export.fhir_parts import (
    LOINC,
    Json,
    concept,
    examiner,
    extension,
    filled,
    own_coding,
    participant,
    quantity,
    resource,
    session_identifier,
)
from checklist.protocol.model import Entry, Step
from checklist.session.events import Amended, Outcome
from checklist.session.readings import meaning
from checklist.session.session import Session
from checklist.session.state import Record, Stage
from checklist.summary.amendments import wording
from checklist.summary.conduct import is_act
from checklist.summary.words import sentence
from checklist.text import one_line


@dataclass(frozen=True, kw_only=True, slots=True)
class _Vital:
    """A LOINC code for a figure, and its unit in UCUM."""

    code: str
    display: str
    unit: str
    ucum: str
    factor: float = 1

    @property
    def coding(self) -> Json:
        return {"system": LOINC, "code": self.code, "display": self.display}

    def measured(self, value: float) -> Json:
        return {"valueQuantity": quantity(value * self.factor, self.unit, self.ucum)}


def _rate(code: str, display: str) -> _Vital:
    return _Vital(code=code, display=display, unit="/min", ucum="/min")


def _pressure(code: str, display: str) -> _Vital:
    return _Vital(code=code, display=display, unit="mmHg", ucum="mm[Hg]")


VITALS: Mapping[str, Mapping[str, _Vital]] = {
    "pulse-rate": {"pulse_per_minute": _rate("8867-4", "Heart rate")},
    "respiratory-rate": {"respirations_per_minute": _rate("9279-1", "Respiratory rate")},
    "temperature": {
        "temperature_c": _Vital(code="8310-5", display="Body temperature", unit="°C", ucum="Cel")
    },
    "oxygen-saturation": {
        "saturation_percent": _Vital(
            code="2708-6", display="Oxygen saturation in Arterial blood", unit="%", ucum="%"
        )
    },
    "body-height": {
        "height_m": _Vital(code="8302-2", display="Body height", unit="cm", ucum="cm", factor=100)
    },
    "body-weight": {"weight_kg": _Vital(code="29463-7", display="Body weight", unit="kg", ucum="kg")},
}
"""Kind of reading → its figure → how it is coded."""
PRESSURE = "blood-pressure"
PANEL = {"system": LOINC, "code": "85354-9", "display": "Blood pressure panel with all children optional"}
PRESSURES: Mapping[str, _Vital] = {
    "systolic_mmhg": _pressure("8480-6", "Systolic blood pressure"),
    "diastolic_mmhg": _pressure("8462-4", "Diastolic blood pressure"),
}
BODY_MASS = _Vital(code="39156-5", display="Body mass index (BMI) [Ratio]", unit="kg/m2", ucum="kg/m2")
_CATEGORIES = "http://terminology.hl7.org/CodeSystem/observation-category"
VITAL_SIGNS, EXAM, SURVEY = ("vital-signs", "Vital Signs"), ("exam", "Exam"), ("survey", "Survey")


def observations(session: Session) -> Iterator[Json]:
    """Return what was examined and asked, in listed order, then what was computed of it."""
    for step in session.protocol:
        records = session.state.records.get(step.id, {})
        for entry in step.entries if not is_act(step) else ():
            record = records.get(entry.key)
            if record and record.result.outcome in (Outcome.EXPECTED, Outcome.DIFFERS):
                yield _observation(session, step, entry, record)
    yield from _computed(session)


def _observation(session: Session, step: Step, entry: Entry, record: Record) -> Json:
    label = one_line(entry.label)
    said = sentence(wording(step, {entry.key: record}))
    own = own_coding(f"step:{session.protocol.id}", step.id, step.title)
    found = _vital(step, record)
    category = VITAL_SIGNS if found else SURVEY if step.is_asked else EXAM
    code = {"coding": [*found.pop("coding", []), own], "text": one_line(step.title)}
    value = {**found, "note": [{"text": said}]} if found else {"valueString": said}
    return _made(
        session,
        (step.id, entry.key),
        category,
        record.at,
        extension=[extension("event", valuePositiveInt=record.event)],
        status=_status(session, is_changed=bool(record.amendment and record.replaced)),
        code=code,
        bodySite={"text": label} if label else None,
        **value,
    )


def _status(session: Session, *, is_changed: bool) -> str:
    """Return the status of one observation; what was first written after the end was never another."""
    if session.state.stage is not Stage.FINISHED:
        return "preliminary"
    return "amended" if is_changed else "final"


def _made(
    session: Session, parts: tuple[str, ...], category: tuple[str, str], at: datetime, **more: Any
) -> Json:
    code, display = category
    coding = {"system": _CATEGORIES, "code": code, "display": display}
    return resource(
        "Observation",
        session,
        *parts,
        identifier=[session_identifier(session)],
        category=[concept(coding)],
        subject=participant(session),
        effectiveDateTime=at.isoformat(timespec="milliseconds"),
        performer=[examiner(session)],
        **more,
    )


def _vital(step: Step, record: Record) -> Json:
    """Return the codes and the value of a vital sign; empty for any other reading, and for none."""
    found = meaning(step, record.result)
    if found is None or step.reading is None:
        return {}
    figures = found.figures
    if step.reading.kind == PRESSURE and figures.keys() >= PRESSURES.keys():
        parts = [
            filled({"code": concept(vital.coding), **vital.measured(figures[name])})
            for name, vital in PRESSURES.items()
        ]
        return {"coding": [PANEL], "component": parts}
    for name, vital in VITALS.get(step.reading.kind, {}).items():
        if name in figures:
            return {"coding": [vital.coding], **vital.measured(figures[name])}
    return {}


def _computed(session: Session) -> Iterator[Json]:
    if not session.protocol.computed:
        return
    from checklist.summary.considered import computed

    for index, item in enumerate(computed(session)):
        figures = item.meaning.figures
        events = [session.events[n - 1] for n in item.events]
        shared: Json = {
            "status": _status(session, is_changed=any(isinstance(each, Amended) for each in events)),
            "note": [{"text": sentence(item.words)}],
        }
        if "bmi_kg_per_m2" in figures:
            value = BODY_MASS.measured(figures["bmi_kg_per_m2"])
            code = concept(BODY_MASS.coding)
        elif "early_warning_score" in figures:
            # No LOINC code is known for it.
            value = {"valueInteger": int(figures["early_warning_score"])}
            code = concept(own_coding("computed", "early-warning-score", item.title))
        else:
            continue
        category = VITAL_SIGNS if "bmi_kg_per_m2" in figures else EXAM
        yield _made(
            session,
            ("=computed", str(index)),
            category,
            max(each.at for each in events),
            code=code,
            **value,
            **shared,
        )
