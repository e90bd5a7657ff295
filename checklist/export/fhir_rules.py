"""Rules of FHIR R4 that a reader of resources may not check, for the resources that are written here.

Named as in the standard (HL7, FHIR R4): que-1, qrs-1, obs-6, cmp-1, bdl-7 …
Says what is broken and where, and mends nothing. Knows no session: resources are plain dictionaries.
"""

import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

Json = Mapping[str, Any]

STATUS: Mapping[str, frozenset[str]] = {
    "Questionnaire": frozenset({"draft", "active", "retired", "unknown"}),
    "QuestionnaireResponse": frozenset(
        {"in-progress", "completed", "amended", "entered-in-error", "stopped"}
    ),
    "Observation": frozenset(
        {
            "registered",
            "preliminary",
            "final",
            "amended",
            "corrected",
            "cancelled",
            "entered-in-error",
            "unknown",
        }
    ),
    "Composition": frozenset({"preliminary", "final", "amended", "entered-in-error"}),
}
BUNDLE_TYPES = frozenset(
    {
        "document",
        "message",
        "transaction",
        "transaction-response",
        "batch",
        "batch-response",
        "history",
        "searchset",
        "collection",
    }
)
VALUE_OF: Mapping[str, frozenset[str]] = {
    "boolean": frozenset({"valueBoolean"}),
    "decimal": frozenset({"valueDecimal"}),
    "integer": frozenset({"valueInteger"}),
    "date": frozenset({"valueDate"}),
    "dateTime": frozenset({"valueDateTime"}),
    "time": frozenset({"valueTime"}),
    "string": frozenset({"valueString"}),
    "text": frozenset({"valueString"}),
    "url": frozenset({"valueUri"}),
    "choice": frozenset({"valueCoding"}),
    "open-choice": frozenset({"valueCoding", "valueString"}),
    "attachment": frozenset({"valueAttachment"}),
    "reference": frozenset({"valueReference"}),
    "quantity": frozenset({"valueQuantity"}),
    "group": frozenset(),
    "display": frozenset(),
}
"""Type of a question → the elements that may answer it."""
_ID = re.compile(r"[A-Za-z0-9.-]{1,64}")


def problems(resource: Json) -> list[str]:
    """Return every rule that a resource, or one inside it, breaks: `Questionnaire: que-2: …`."""
    return [f"{resource.get('resourceType')}: {text}" for text in _problems(resource)]


def _problems(resource: Json) -> Iterator[str]:
    kind = str(resource.get("resourceType"))
    yield from _empty(resource, kind)
    if "id" in resource and not _ID.fullmatch(str(resource["id"])):
        yield f"id: {resource['id']!r} is no id"
    if kind in STATUS and resource.get("status") not in STATUS[kind]:
        yield f"status: {resource.get('status')!r} is not in the list"
    if kind in _CHECKS:
        yield from _CHECKS[kind](resource)


def _empty(value: Any, where: str) -> Iterator[str]:
    """ele-1: every element has a value or children."""
    if value in (None, "", [], {}) or (isinstance(value, str) and not value.strip()):
        yield f"ele-1: {where} is empty"
    elif isinstance(value, Mapping):
        for key, each in value.items():
            yield from _empty(each, f"{where}.{key}")
    elif isinstance(value, list):
        for index, each in enumerate(value):
            yield from _empty(each, f"{where}[{index}]")


# ------------------------------------------------------------------ questionnaires


def _items(items: Iterable[Json]) -> Iterator[Json]:
    for item in items:
        yield item
        yield from _items(item.get("item", ()))


def _questionnaire(resource: Json) -> Iterator[str]:
    items = list(_items(resource.get("item", ())))
    for link, count in Counter(item.get("linkId") for item in items).items():
        if count > 1:
            yield f"que-2: linkId {link!r} stands {count} times"
    for item in items:
        link, kind = item.get("linkId"), item.get("type")
        if kind not in VALUE_OF:
            yield f"type: {kind!r} at {link!r} is not in the list"
        if kind == "group" and not item.get("item"):
            yield f"que-1: group {link!r} holds no item"
        if kind == "display" and item.get("item"):
            yield f"que-1: display {link!r} holds items"
        if "answerOption" in item and "answerValueSet" in item:
            yield f"que-4: {link!r} has options and a value set"
        if "answerOption" in item and kind not in {
            "choice",
            "open-choice",
            "integer",
            "date",
            "time",
            "string",
        }:
            yield f"que-5: {link!r} of type {kind!r} has options"
        if kind == "display" and ("required" in item or "repeats" in item):
            yield f"que-6: display {link!r} is required or repeats"


def _response(resource: Json) -> Iterator[str]:
    for item in _items(resource.get("item", ())):
        if "answer" in item and "item" in item:
            yield f"qrs-1: {item.get('linkId')!r} has answers and items"
        for answer in item.get("answer", ()):
            if sum(key.startswith("value") for key in answer) != 1:
                yield f"value: an answer to {item.get('linkId')!r} has not exactly one value"


def answers_fit(response: Json, questionnaire: Json) -> list[str]:
    """Return what a response says that its questionnaire does not ask, or asks in another way."""
    own = f"{questionnaire.get('url')}|{questionnaire.get('version')}"
    named = [] if response.get("questionnaire") == own else [f"questionnaire: answers are not to {own!r}"]
    return [*named, *_fit(response.get("item", ()), questionnaire.get("item", ()))]


def _fit(answered: Iterable[Json], asked: Iterable[Json]) -> Iterator[str]:
    asked_of = {item.get("linkId"): item for item in asked}
    answered = list(answered)
    for link, count in Counter(item.get("linkId") for item in answered).items():
        if count > 1:
            yield f"linkId: {link!r} is answered {count} times"
    for item in answered:
        question = asked_of.get(item.get("linkId"))
        if question is None:
            yield f"linkId: {item.get('linkId')!r} is not asked here"
            continue
        yield from _fit_answers(item, question)
        yield from _fit(item.get("item", ()), question.get("item", ()))


def _fit_answers(item: Json, question: Json) -> Iterator[str]:
    link, answers = item.get("linkId"), item.get("answer", [])
    allowed = VALUE_OF.get(str(question.get("type")), frozenset())
    if len(answers) > 1 and not question.get("repeats"):
        yield f"repeats: {link!r} has {len(answers)} answers"
    for answer in answers:
        if not allowed & answer.keys():
            yield f"type: {link!r} asks for {question.get('type')!r}"
        elif "valueCoding" in answer and not _is_option(answer["valueCoding"], question):
            yield f"answerOption: {answer['valueCoding'].get('code')!r} is no option of {link!r}"


def _is_option(coding: Json, question: Json) -> bool:
    options = (option.get("valueCoding", {}) for option in question.get("answerOption", ()))
    return any(
        (option.get("system"), option.get("code")) == (coding.get("system"), coding.get("code"))
        for option in options
    )


# ------------------------------------------------------------------ observations, compositions, bundles


def _observation(resource: Json) -> Iterator[str]:
    has_value = any(key.startswith("value") for key in resource)
    if has_value and "dataAbsentReason" in resource:
        yield "obs-6: a value and a reason why it is absent"
    codes = _codes(resource)
    if has_value and any(codes & _codes(part) for part in resource.get("component", ())):
        yield "obs-7: a value beside a component of the same code"
    for part in (resource, *resource.get("component", ())):
        quantity = part.get("valueQuantity")
        if quantity is not None and "code" in quantity and "system" not in quantity:
            yield "qty-3: a unit's code without its system"


def _codes(part: Json) -> set[tuple[Any, Any]]:
    return {(each.get("system"), each.get("code")) for each in part.get("code", {}).get("coding", ())}


def _composition(resource: Json) -> Iterator[str]:
    if not resource.get("author"):
        yield "author: nobody is named"
    for section in _sections(resource.get("section", ())):
        if not any(section.get(key) for key in ("text", "entry", "section")):
            yield f"cmp-1: section {section.get('title')!r} holds nothing"


def _sections(sections: Iterable[Json]) -> Iterator[Json]:
    for section in sections:
        yield section
        yield from _sections(section.get("section", ()))


def _bundle(resource: Json) -> Iterator[str]:
    if resource.get("type") not in BUNDLE_TYPES:
        yield f"type: {resource.get('type')!r} is not in the list"
    entries = resource.get("entry", [])
    for url, count in Counter(entry.get("fullUrl") for entry in entries if "fullUrl" in entry).items():
        if count > 1:
            yield f"bdl-7: fullUrl {url!r} stands {count} times"
    if resource.get("type") == "document":
        yield from _document(resource, entries)
    for entry in entries:
        yield from problems(entry.get("resource", {}))
    yield from _answers_in(entry.get("resource", {}) for entry in entries)


def _document(resource: Json, entries: list[Json]) -> Iterator[str]:
    identifier = resource.get("identifier", {})
    if not identifier.get("system") or not identifier.get("value"):
        yield "bdl-9: a document without an identifier of system and value"
    if not resource.get("timestamp"):
        yield "bdl-10: a document without a timestamp"
    if not entries or entries[0].get("resource", {}).get("resourceType") != "Composition":
        yield "bdl-11: a document that does not open with a composition"


def _answers_in(resources: Iterable[Json]) -> Iterator[str]:
    """Hold every response against the questionnaire that stands in the same bundle."""
    found = list(resources)
    forms = {
        f"{each.get('url')}|{each.get('version')}": each
        for each in found
        if each.get("resourceType") == "Questionnaire"
    }
    for response in found:
        if response.get("resourceType") == "QuestionnaireResponse":
            form = forms.get(str(response.get("questionnaire")))
            if form is None:
                yield f"questionnaire: {response.get('questionnaire')!r} is not in the bundle"
            else:
                yield from answers_fit(response, form)


_CHECKS: Mapping[str, Callable[[Json], Iterable[str]]] = {
    "Questionnaire": _questionnaire,
    "QuestionnaireResponse": _response,
    "Observation": _observation,
    "Composition": _composition,
    "Bundle": _bundle,
}
