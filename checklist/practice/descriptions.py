"""What a simulated patient shows at a step: described as eyes, ears and fingers get it, and not named. Pure.

A label gives the answer away to whoever only matches words, so a description file says it in others.
Which of several wordings is shown follows from the case and the step; nothing of it is stored.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from checklist.practice.cases import FORMAT, FindProtocol, There, located, no_protocol, no_step, table_of
from checklist.practice.fits import Fits, fits_in, unknown_in
from checklist.practice.rehearsal import drawn
from checklist.protocol.fields import Fields, Notes
from checklist.protocol.model import Protocol, Step
from checklist.protocol.problems import Flaw, Place, Problem, did_you_mean, found, listed, quoted
from checklist.session import readings

Texts = tuple[str, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Described:
    """What one step looks, sounds or feels like: a `[step.<id>]` table."""

    expected: Texts = ()
    """Wordings of what is there when all is as expected."""
    findings: Mapping[str, Texts] = field(default_factory=dict)
    """Id of the finding → its wordings: the key `finding`."""


_NOTHING = Described()


@dataclass(frozen=True, kw_only=True, slots=True)
class Descriptions:
    """The descriptions of one protocol; what it does not describe is shown by its label."""

    protocol: str = ""
    """Id of the protocol."""
    steps: Mapping[str, Described] = field(default_factory=dict)
    fits: tuple[Fits, ...] = ()
    """What goes together in one person, for the cases that are made."""

    def of_finding(self, seed: str, step: Step, finding: str) -> str:
        """Return the wording that a case shows of a finding; empty where there is none."""
        described = self.steps.get(step.id, _NOTHING)
        return _one_of(described.findings.get(finding, ()), f"{seed} {step.id} {finding}")

    def of_expected(self, seed: str, step: Step) -> str:
        """Return the wording that a case shows of what is as expected; empty where there is none."""
        return _one_of(self.steps.get(step.id, _NOTHING).expected, f"{seed} {step.id}")


NONE = Descriptions()
"""Of a protocol that nobody wrote descriptions for."""


def _one_of(wordings: Texts, seed: str) -> str:
    """Return one wording. Neither side nor site is in the seed: both sides alike are shown alike."""
    return drawn(seed, wordings)[0] if wordings else ""


# ------------------------------------------------------------------ what is shown

JUDGED = frozenset(
    (
        "afferent-defect",
        "coma-scale",
        "consciousness",
        "corneal-reflex",
        "cover-movement",
        "goitre-grade",
        "lymph-node",
        "muscle-power",
        "oedema-grade",
        "pulse-strength",
        "rinne",
        "tonsil-grade",
        "weber",
    )
)
"""Kinds of reading that the examiner judges: no instrument shows the value, and it would be the answer."""

_UNITS = {
    "blood-pressure": " mmHg",
    "pulse-rate": "/min",
    "pupil-size": " mm",
    "respiratory-rate": "/min",
}
"""By kind of reading, what an instrument shows beside the bare number."""

_LEADS = {"breathing-gas": "Breathing", "pain-score": "Given from 0 to 10"}
"""By kind of reading, what stands before the value where nothing is measured."""

_BARE = re.compile(r"[0-9./]+")


def neutral(label: str) -> str:
    """Return a finding's label as a description: without what is to be done, which stands after a colon."""
    words = label.partition(": ")[0]
    # Behind a grade such as `3+: ` stands what it means.
    return (words if any(map(str.isalpha, words)) else label).rstrip(".")


def revealed(
    step: Step, there: Mapping[tuple[str, str], There], described: Descriptions = NONE, seed: str = ""
) -> tuple[tuple[str, str], ...]:
    """Return what would be seen, heard or felt at each entry of a step: its name, and a description.

    What the case says itself goes first, then what is described, then labels; `seed` is the id of the case.
    """
    return tuple(
        (entry.label, shown(step, there.get((step.id, entry.key)), described, seed)) for entry in step.entries
    )


def shown(step: Step, there: There | None, described: Descriptions = NONE, seed: str = "") -> str:
    """Return what would be seen, heard or felt at one entry of a step."""
    if there and there.is_unseen:
        return there.seen or "The view is blocked: what the step looks for does not come into view"
    words, is_described = _words(step, there, described, seed)
    value = _value(step, there.reading) if there else ""
    if is_described and _tells_the_value(step, there):
        return words
    if not value and readings.is_wanted(step):
        value = "No value is given"
    return " ".join(part for part in (_ended(words) if value else words, value) if part)


_ENDS = (".", "!", "?", ".”", "!”", "?”")


def _ended(words: str) -> str:
    return words if not words or words.endswith(_ENDS) else f"{words}."


def _tells_the_value(step: Step, there: There | None) -> bool:
    """Whether the value is for the learner to judge from a description.

    A finding that is no grade, such as a coat on a tonsil, says nothing of the grade that is typed beside it.
    """
    if step.reading is None or step.reading.kind not in JUDGED:
        return False
    classes = readings.kind_of(step.reading).classes
    is_told = there is None or not there.findings or any(each in classes for each in there.findings)
    return is_told or not readings.is_wanted(step)


def _words(step: Step, there: There | None, described: Descriptions, seed: str) -> tuple[str, bool]:
    """Return the words for what is there, and whether they describe all of it rather than name it."""
    if there is None or there.is_as_expected:
        own = there.seen if there else ""
        words = own or described.of_expected(seed, step)
        return words or step.expect or "Done, nothing remarkable", bool(words)
    parts = [(there.seen, True)] if there.seen else []
    for finding in there.unsaid:
        words = described.of_finding(seed, step, finding)
        parts.append((words or neutral(step.finding_of[finding].label), bool(words)))
    if not parts:
        of_class = (described.of_finding(seed, step, finding) for finding in _by_class(step, there))
        parts = [(words, True) for words in of_class if words][:1]
    return _together([words for words, _ in parts]), bool(parts) and all(is_so for _, is_so in parts)


def _together(words: list[str]) -> str:
    """Return descriptions as sentences, labels as a list."""
    is_ended = any(each.endswith(_ENDS) for each in words)
    return " ".join(map(_ended, words)) if is_ended and words[1:] else "; ".join(words)


def _by_class(step: Step, there: There) -> Iterator[str]:
    """Yield the findings that are called after a class of the reading, which alone says what is so."""
    if not there.reading or step.reading is None:
        return
    for of_class in readings.understood(step.reading, there.reading).classes:
        if of_class in step.finding_of:
            yield of_class


def _value(step: Step, reading: str) -> str:
    """Return a reading as an instrument shows it: no range, no judgement."""
    if not reading or step.reading is None:
        return ""
    kind, text = step.reading.kind, readings.understood(step.reading, reading).text
    unit = _UNITS.get(kind, "") if _BARE.fullmatch(text) else ""
    lead = _LEADS.get(kind, "Graded" if kind in JUDGED else "Measured")
    return f"{lead}: {text}{unit}"


# ------------------------------------------------------------------ reading


def is_descriptions(text: str, name: str) -> bool:
    """Whether a text holds descriptions rather than a case: it has steps, and no patient."""
    table = table_of(text, name)
    return not isinstance(table, Problem) and "step" in table and not {"truth", "story"} & set(table)


def read(text: str, name: str, find: FindProtocol) -> tuple[Descriptions | None, list[Problem]]:
    """Return the descriptions that a text holds, or all problems of it by line."""
    descriptions, flaws = _parsed(text, name)
    if descriptions is None:
        return None, flaws
    if protocol := find(descriptions.protocol) if descriptions.protocol else None:
        flaws += located(list(_unknown(descriptions, protocol)), text, name)
    elif descriptions.protocol:
        flaws += located([no_protocol(descriptions.protocol)], text, name)
    ordered = sorted(flaws, key=lambda problem: (problem.line or 0, problem.column or 0))
    return (None, ordered) if ordered else (descriptions, [])


def read_for(text: str, name: str) -> Descriptions | None:
    """Return the descriptions for a session, whose protocol may be an older version of theirs."""
    descriptions, problems = _parsed(text, name)
    return None if problems else descriptions


def _parsed(text: str, name: str) -> tuple[Descriptions | None, list[Problem]]:
    table = table_of(text, name)
    if isinstance(table, Problem):
        return None, [table]
    notes = Notes()
    fields = Fields(table, notes)
    fields.require("format")
    fields.whole("format", FORMAT, FORMAT, default=FORMAT)
    protocol = fields.id("protocol")
    fields.table("step")
    fits = fits_in(fields)
    fields.close()
    steps = table.get("step")
    named = steps if isinstance(steps, Mapping) else {}
    described = {step: _described(step, value, notes) for step, value in named.items()}
    found = Descriptions(protocol=protocol, steps=described, fits=fits)
    return found, located(notes.settle(), text, name)


def _described(step: str, value: object, notes: Notes) -> Described:
    at: Place = ("step", step)
    if not isinstance(value, Mapping):
        notes.add(at, f"{quoted(step)} is {found(value)}", "expected a table, written [step.<id>]")
        return Described()
    fields = Fields(value, notes, "[step.<id>]", at)
    expected = fields.one_or_texts("expected") if fields.has("expected") else fields.texts("expected")
    fields.table_if_any("finding", 'finding.<id> = ["…"]')
    fields.close()
    of_findings = value.get("finding")
    named = of_findings if isinstance(of_findings, Mapping) else {}
    inner = Fields(named, notes, "finding", (*at, "finding"))
    return Described(expected=expected, findings={key: inner.one_or_texts(key) for key in named})


# What the protocol does not have cannot be described.


def _unknown(descriptions: Descriptions, protocol: Protocol) -> Iterator[Flaw]:
    for name, described in descriptions.steps.items():
        yield from no_step(name, ("step", name), protocol)
        step = protocol.step_of.get(name)
        for finding in described.findings if step else ():
            if step and finding not in step.finding_of:
                what = f"step {quoted(name)} has no finding {quoted(finding)}"
                has = listed(step.finding_of)
                hint = did_you_mean(finding, step.finding_of) or (f"it has {has}" if has else "it has none")
                yield Flaw(at=("step", name, "finding", finding), what=what, hint=hint)
    yield from unknown_in(descriptions.fits, protocol)
