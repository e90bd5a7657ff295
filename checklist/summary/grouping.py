"""Entries of a step that say the same, and how to name them: right, left, these sites, all of them."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from checklist.protocol.model import Entry, Step
from checklist.session.events import Result
from checklist.session.state import Record
from checklist.summary.words import joined
from checklist.text import one_line

Records = Mapping[str, Record]
"""Of one step: entry key → what stands for it."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Group:
    """Entries of one step whose records say the same."""

    step: Step
    result: Result
    entries: tuple[Entry, ...]
    mark: str
    """`late entry`, `corrected`, or empty."""
    rests_on: tuple[int, ...]


def groups(step: Step, records: Records) -> tuple[Group, ...]:
    """Group the recorded entries of a step, in the order of their first entries."""
    found: dict[tuple[Result, str], list[Entry]] = {}
    for entry in step.entries:
        if record := records.get(entry.key):
            found.setdefault((comparable(step, record.result), mark(record)), []).append(entry)
    return tuple(
        Group(
            step=step,
            result=result,
            entries=tuple(entries),
            mark=marked,
            rests_on=numbers(records[entry.key].event for entry in entries),
        )
        for (result, marked), entries in found.items()
    )


def comparable(step: Step, result: Result) -> Result:
    """Return a result without its entries, its findings in listed order: equal when it says the same."""
    findings = tuple(finding.id for finding in step.findings if finding.id in result.findings)
    return replace(result, entries=(), findings=findings, detail=one_line(result.detail))


def mark(record: Record) -> str:
    """Say whether the record was written after the end of the examination."""
    if not record.amendment:
        return ""
    return "corrected" if record.replaced else "late entry"


def numbers(events: Iterable[int]) -> tuple[int, ...]:
    return tuple(sorted(set(events)))


@dataclass(frozen=True, kw_only=True, slots=True)
class Place:
    """A rectangle of entries: some sides × some sites."""

    sides: tuple[str, ...]
    sites: tuple[str, ...]
    is_every_site: bool


def places(step: Step, entries: Iterable[Entry]) -> tuple[Place, ...]:
    """Cut entries of a step into as few rectangles as rows of sites or rows of sides give."""
    entries = tuple(entries)
    by_sides = _bundled((entry.site, entry.side) for entry in entries)
    by_sites = _bundled((entry.side, entry.site) for entry in entries)
    if len(by_sides) <= len(by_sites):
        cut = [(sides, sites) for sides, sites in by_sides.items()]
    else:
        cut = [(sides, sites) for sites, sides in by_sites.items()]
    return tuple(_place(step, sides, sites) for sides, sites in cut)


def _bundled(pairs: Iterable[tuple[str, str]]) -> dict[tuple[str, ...], tuple[str, ...]]:
    """Bundle the first of each pair by all its seconds: seconds → firsts."""
    seconds: dict[str, tuple[str, ...]] = {}
    for first, second in pairs:
        seconds[first] = (*seconds.get(first, ()), second)
    bundles: dict[tuple[str, ...], tuple[str, ...]] = {}
    for first, row in seconds.items():
        bundles[row] = (*bundles.get(row, ()), first)
    return bundles


def _place(step: Step, sides: tuple[str, ...], sites: tuple[str, ...]) -> Place:
    named = tuple(filter(None, sites))
    return Place(sides=tuple(filter(None, sides)), sites=named, is_every_site=named == step.sites)


def place_words(step: Step, entries: Iterable[Entry]) -> str:
    """Name some entries of a step: `left`, `right cheek`, `cheek and chin`; empty when these are all."""
    entries = tuple(entries)
    if len(entries) == len(step.entries):
        return ""
    return ", ".join(_place_words(place) for place in places(step, entries))


def _place_words(place: Place) -> str:
    sites = "" if place.is_every_site else joined(place.sites)
    return " ".join(filter(None, (" and ".join(place.sides), sites)))


def titled(step: Step, entries: Iterable[Entry], marked: str = "") -> str:
    """Name a step by its title, with the entries in question in brackets unless they are all of them."""
    where = place_words(step, entries)
    return " ".join(filter(None, (step.title, where and f"({where})", marked and f"[{marked}]")))
