"""From the records of a step to phrases: who stands first, where the side goes, what is said together.

A phrase is made of nothing but what stands in the records that it rests on.
DEVELOPERS.md, "How chart wording is put together", is the specification.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from checklist.protocol.model import Entry, Step
from checklist.session.events import Outcome, Result
from checklist.summary.document import Sentence
from checklist.summary.grouping import Group, Place, Records, groups, numbers, place_words, places
from checklist.summary.measured import is_told, with_reading
from checklist.summary.words import joined, joined_nouns, joined_predicates, sentence
from checklist.text import one_line

BOTH = 2
BOTH_SIDES = "both sides: "


@dataclass(frozen=True, kw_only=True, slots=True)
class Clause:
    """Subjects and predicates that share a place; the examiner's own words come last."""

    nouns: tuple[str, ...]
    predicates: tuple[str, ...]
    """Wording of the protocol, placeholders and all; empty when only the examiner's words say what it is."""
    sides: tuple[str, ...] = ()
    sites: str = ""
    """Sites to be named, empty when there are none or need not be."""
    aside: str = ""
    mark: str = ""
    detail: str = ""
    rests_on: tuple[int, ...] = ()


_PLACEHOLDER = re.compile(r"\{(subject|side|site)\}")
_ONLY_HOW_IS_MISSING = "different from what is expected, how was not recorded"


def clauses(group: Group, *, is_report: bool = False) -> tuple[Clause, ...]:
    """Return what a group as expected or different says: a clause for each place and predicate.

    A reading that is told to somebody has its reference in the report alone.
    """
    predicates = _predicates(group.step, group.result, is_report)
    found = places(group.step, group.entries)
    return tuple(clause for place in found for clause in _clauses_at(group, place, predicates))


def _clauses_at(group: Group, place: Place, predicates: tuple[str, ...]) -> Iterator[Clause]:
    for index, predicate in enumerate(predicates or ("",)):
        yield Clause(
            nouns=(_noun(group.step, place, bool(predicate)),),
            predicates=(predicate,) if predicate else (),
            sides=place.sides,
            sites=_sites(group.step, place, predicate),
            mark=group.mark,
            detail=group.result.detail if index == max(0, len(predicates) - 1) else "",
            rests_on=group.rests_on,
        )


def _predicates(step: Step, result: Result, is_report: bool) -> tuple[str, ...]:
    expected = (step.chart or "as expected",) if result.outcome is Outcome.EXPECTED else ()
    found = (*expected, *(step.finding_of[finding].chart for finding in result.findings))
    if step.reading:
        has_reference = is_report or not is_told(step, result)
        found = with_reading(step, result, found, has_reference=has_reference)
    return found if found or result.detail else (_ONLY_HOW_IS_MISSING,)


def _noun(step: Step, place: Place, has_predicate: bool) -> str:
    if not step.subject:
        return f"{step.title} –" if has_predicate else step.title
    return step.subjects or step.subject if len(place.sides) == BOTH else step.subject


def _sites(step: Step, place: Place, predicate: str) -> str:
    if "{site}" in predicate and place.is_every_site and step.every_site:
        return step.every_site
    return joined(place.sites) if place.sites and ("{site}" in predicate or not place.is_every_site) else ""


def clause_text(clause: Clause) -> str:
    """Return a clause as it stands inside a sentence."""
    own_words = clause.detail and f": {clause.detail}"
    marked = clause.mark and f" [{clause.mark}]"
    return one_line(f"{_body(clause)}{_bracketed(clause.aside)}{marked}{own_words}")


def _bracketed(words: str) -> str:
    return words and f" ({words})"


def _body(clause: Clause) -> str:
    noun, sides = joined_nouns(clause.nouns), " and ".join(clause.sides)
    sided = f"{sides} {noun}".strip()
    if not clause.predicates:
        return f"{sided}{_bracketed(clause.sites)}"
    words = {"subject": sided, "side": sides, "site": clause.sites}
    filled = [_PLACEHOLDER.sub(lambda match: words[match[1]], each) for each in clause.predicates]
    where = "" if _holds(clause, "{site}") else _bracketed(clause.sites)
    if _holds(clause, "{subject}"):
        return f"{filled[0]}{where}"
    if _holds(clause, "{side}"):
        return f"{noun} {filled[0]}{where}"
    if len(clause.sides) == BOTH:
        return f"{noun} {joined_predicates(filled, f' bilaterally{where}')}"
    return f"{sided} {joined_predicates(filled, where)}"


def _holds(clause: Clause, placeholder: str) -> bool:
    return any(placeholder in predicate for predicate in clause.predicates)


def merged(items: Iterable[Clause], *, anywhere: bool = False) -> list[Clause]:
    """Say together what shares a predicate, then what shares a subject: neighbours, or `anywhere`.

    What is said together stands where its first clause stood.
    """
    return _said_together(_said_together(items, _by_predicate, anywhere), _by_subject, anywhere)


def _said_together(
    items: Iterable[Clause], join: Callable[[Clause, Clause], Clause | None], anywhere: bool
) -> list[Clause]:
    result: list[Clause] = []
    for clause in items:
        for index in range(0 if anywhere else max(0, len(result) - 1), len(result)):
            if together := join(result[index], clause):
                result[index] = together
                break
        else:
            result.append(clause)
    return result


def _by_predicate(one: Clause, other: Clause) -> Clause | None:
    if not one.predicates or one.predicates != other.predicates or one.detail or other.detail:
        return None
    if not _same_place(one, other):
        return None
    return _together(one, nouns=_once(one.nouns + other.nouns), predicates=one.predicates, other=other)


def _by_subject(one: Clause, other: Clause) -> Clause | None:
    if one.nouns != other.nouns or not one.predicates or not other.predicates or one.detail:
        return None
    if not _same_place(one, other) or (other.detail and one.rests_on != other.rests_on):
        return None
    if any(_holds(clause, word) for clause in (one, other) for word in ("{subject}", "{side}")):
        return None
    if _holds(one, "{site}") != _holds(other, "{site}"):
        return None
    return _together(one, nouns=one.nouns, predicates=_once(one.predicates + other.predicates), other=other)


def _same_place(one: Clause, other: Clause) -> bool:
    return (one.sides, one.sites, one.aside, one.mark) == (other.sides, other.sites, other.aside, other.mark)


def _once(words: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(words))


def _together(one: Clause, *, nouns: tuple[str, ...], predicates: tuple[str, ...], other: Clause) -> Clause:
    rests_on = numbers(one.rests_on + other.rests_on)
    return replace(one, nouns=nouns, predicates=predicates, detail=other.detail, rests_on=rests_on)


def charted(step: Step, records: Records) -> tuple[bool, list[Clause]]:
    """Return whether anything of a step differs, and its clauses: what differs, then what does not.

    The last one says in brackets what of the step has no finding: the other side is never left to be guessed.
    """
    told = [group for group in groups(step, records) if group.result.outcome in _CHARTED]
    told.sort(key=lambda group: group.result.outcome is Outcome.EXPECTED)
    found = merged(clause for group in told for clause in clauses(group))
    if found:
        aside, rests_on = _aside(step, records)
        last = found[-1]
        found[-1] = replace(last, aside=aside, rests_on=numbers(last.rests_on + rests_on))
    return any(group.result.outcome is Outcome.DIFFERS for group in told), found


_CHARTED = (Outcome.EXPECTED, Outcome.DIFFERS)


def _aside(step: Step, records: Records) -> tuple[str, tuple[int, ...]]:
    """Say which entries of a charted step have no finding, and on which events that rests."""
    missing: dict[str, list[Entry]] = {Outcome.UNSEEN: [], Outcome.NOT_EXAMINED: [], "not recorded": []}
    for entry in step.entries:
        record = records.get(entry.key)
        outcome = record.result.outcome if record else "not recorded"
        if outcome not in _CHARTED:
            missing[outcome].append(entry)
    said = [f"{place_words(step, entries)} {how}" for how, entries in missing.items() if entries]
    events = (records[entry.key].event for some in missing.values() for entry in some if entry.key in records)
    return "; ".join(said), numbers(events)


def region(steps: Iterable[Step], records: Mapping[str, Records]) -> list[Sentence]:
    """Return the sentences of one region: steps that differ first, then what is as expected, joined.

    What differs stays in step order with its other side; the rest is joined from anywhere in the region.
    """
    first: list[Clause] = []
    rest: list[Clause] = []
    for step in steps:
        differs, found = charted(step, records.get(step.id, {}))
        (first if differs else rest).extend(found)
    return [*map(_sentence, merged(first)), *_as_expected(merged(rest, anywhere=True))]


def _sentence(clause: Clause, label: str = "") -> Sentence:
    return Sentence(text=sentence(f"{label}{clause_text(clause)}"), rests_on=clause.rests_on)


def _as_expected(found: list[Clause]) -> Iterator[Sentence]:
    """Return what holds of both sides last, under a label that stands for each `bilaterally`."""
    both = [clause for clause in found if _is_plainly_of_both_sides(clause)]
    if len(both) < BOTH:
        yield from map(_sentence, found)
        return
    yield from (_sentence(clause) for clause in found if clause not in both)
    for index, clause in enumerate(both):
        yield _sentence(replace(clause, sides=()), "" if index else BOTH_SIDES)


def _is_plainly_of_both_sides(clause: Clause) -> bool:
    """Whether the sides of a clause can be said once for a row: it says nothing of them but `bilaterally`."""
    placed = _holds(clause, "{subject}") or _holds(clause, "{side}")
    added = clause.aside or clause.mark or clause.detail
    return len(clause.sides) == BOTH and bool(clause.predicates) and not placed and not added
