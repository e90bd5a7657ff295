"""Rules that hold between the parts of a protocol: one small function each, listed in `RULES`. Pure.

Every rule takes a protocol that may lack parts (what could not be read is empty, and was reported) and
yields what is wrong with it.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from itertools import islice

from checklist.protocol.model import MOST_FINDINGS, MOST_SITES, OTHER, SIDES, WHOLE, Protocol, Step
from checklist.protocol.problems import Flaw, Place, did_you_mean, listed, quoted

PLACEHOLDERS = ("subject", "side", "site", "reading")
RESERVED_SITES = (*SIDES, WHOLE)

MOST = 300
"""Flaws that are listed of one rule. Naming the nearest spelling for each takes time."""
LONGEST_CHAIN = 10
"""Steps of a circle that a message names."""

Rule = Callable[[Protocol], Iterator[Flaw]]


def _steps(protocol: Protocol) -> Iterator[tuple[Place, Step]]:
    for i, section in enumerate(protocol.sections):
        for j, step in enumerate(section.steps):
            yield ("section", i, "step", j), step


def _places_of(protocol: Protocol) -> dict[str, Place]:
    """Return the place of each step by its id; of two with one id, the first."""
    places: dict[str, Place] = {}
    for at, step in _steps(protocol):
        places.setdefault(step.id, at)
    return places


def _twice(kind: str, named: Iterable[tuple[Place, str]]) -> Iterator[Flaw]:
    first: dict[str, Place] = {}
    for at, name in named:
        if name in first:
            yield Flaw(at=at, what=f"{kind} {quoted(name)} is used twice", see=first[name])
        elif name:
            first[name] = at


def ids_are_used_once(protocol: Protocol) -> Iterator[Flaw]:
    equipment = enumerate(protocol.equipment)
    yield from _twice("equipment id", ((("equipment", i, "id"), item.id) for i, item in equipment))
    sections = enumerate(protocol.sections)
    yield from _twice("section id", ((("section", i, "id"), section.id) for i, section in sections))
    yield from _twice("step id", (((*at, "id"), step.id) for at, step in _steps(protocol)))
    for at, step in _steps(protocol):
        findings = enumerate(step.findings)
        yield from _twice("finding id", (((*at, "finding", k, "id"), each.id) for k, each in findings))


def no_finding_is_called_other(protocol: Protocol) -> Iterator[Flaw]:
    for at, step in _steps(protocol):
        for k, finding in enumerate(step.findings):
            if finding.id == OTHER:
                what = f"a finding cannot have the id {quoted(OTHER)}"
                hint = "the program uses it for what is not listed"
                yield Flaw(at=(*at, "finding", k, "id"), what=what, hint=hint)


def sites_are_told_apart(protocol: Protocol) -> Iterator[Flaw]:
    for at, step in _steps(protocol):
        sites = [((*at, "sites", k), site) for k, site in enumerate(step.sites)]
        yield from _twice("site", sites)
        for place, site in sites:
            if site in RESERVED_SITES:
                what = f"a site cannot be called {quoted(site)}"
                yield Flaw(at=place, what=what, hint=f"the program uses {listed(RESERVED_SITES)} itself")
            elif "/" in site:
                yield Flaw(at=place, what=f"site {quoted(site)} holds a '/'", hint="write 'or', 'and' or '-'")
            elif any(word[0].isupper() and word[1:].islower() for word in site.split()):
                hint = "write it as it stands inside a sentence"
                yield Flaw(at=place, what=f"site {quoted(site)} is not in lower case", hint=hint)


def findings_and_sites_have_keys(protocol: Protocol) -> Iterator[Flaw]:
    for at, step in _steps(protocol):
        if (count := len(step.findings)) > MOST_FINDINGS:
            what = f"step {quoted(step.id)} has {count} findings"
            hint = f"at most {MOST_FINDINGS}, since their keys are 1 to 9; split the step, or join findings"
            yield Flaw(at=(*at, "finding", MOST_FINDINGS), what=what, hint=hint)
        if (count := len(step.sites)) > MOST_SITES:
            what = f"step {quoted(step.id)} has {count} sites"
            hint = f"at most {MOST_SITES}, since their keys are a to j; split the step, or join sites"
            yield Flaw(at=(*at, "sites", MOST_SITES), what=what, hint=hint)


def words_fit_the_entries(protocol: Protocol) -> Iterator[Flaw]:
    for at, step in _steps(protocol):
        if step.every_site and not step.sites:
            yield Flaw(at=(*at, "every_site"), what="'every_site' in a step without 'sites'", hint=_NO_SITES)
        if step.subjects and not step.sides:
            yield Flaw(at=(*at, "subjects"), what="'subjects' in a step without sides", hint=_NO_SIDES)


_NO_SITES = "list the sites, or leave it out"
_NO_SIDES = 'write sides = "both", or leave it out'


def findings_are_told_to_someone(protocol: Protocol) -> Iterator[Flaw]:
    for at, step in _steps(protocol):
        for k, finding in enumerate(step.findings):
            if finding.to and finding.tell == "note":
                what = f"'to' in finding {quoted(finding.id)}, which is only noted"
                hint = 'write tell = "report" or tell = "urgent" as well'
                yield Flaw(at=(*at, "finding", k, "to"), what=what, hint=hint)


_BRACES = re.compile(r"\{([^{}]*)\}|[{}]")


def placeholders_are_known(protocol: Protocol) -> Iterator[Flaw]:
    for at, step in _steps(protocol):
        yield from _placeholders((*at, "chart"), step, step.chart)
        for k, finding in enumerate(step.findings):
            yield from _placeholders((*at, "finding", k, "chart"), step, finding.chart)


def _placeholders(at: Place, step: Step, chart: str) -> Iterator[Flaw]:
    if "{" not in chart and "}" not in chart:
        return
    known = [f"{{{name}}}" for name in PLACEHOLDERS]
    for written, name in ((match[0], match[1]) for match in _BRACES.finditer(chart)):
        if name is None:
            what = f"a single {quoted(written)} in 'chart'"
            yield Flaw(at=at, what=what, hint=f"placeholders are {', '.join(known)}")
        elif name not in PLACEHOLDERS:
            hint = did_you_mean(written, known) or f"placeholders are {', '.join(known)}"
            yield Flaw(at=at, what=f"unknown placeholder {quoted(written)} in 'chart'", hint=hint)
        elif name == "reading" and step.reading is None:
            hint = "write a table [section.step.reading], or leave it out"
            yield Flaw(at=at, what="'{reading}' in a step without a reading", hint=hint)
        elif name == "site" and not step.sites:
            yield Flaw(at=at, what="'{site}' in a step without 'sites'", hint=_NO_SITES)
        elif name == "side" and not step.sides:
            yield Flaw(at=at, what="'{side}' in a step without sides", hint=_NO_SIDES)


def _unknown(at: Place, kind: str, name: str, known: Iterable[str]) -> Flaw:
    names = [each for each in known if each]
    hint = did_you_mean(name, names) or (f"known: {listed(names)}" if 0 < len(names) <= 12 else "")
    return Flaw(at=at, what=f"unknown {kind} {quoted(name)}", hint=hint)


def references_are_known(protocol: Protocol) -> Iterator[Flaw]:
    for at, step in _steps(protocol):
        for k, name in enumerate(step.needs):
            if name and name not in protocol.equipment_of:
                yield _unknown((*at, "needs", k), "equipment", name, protocol.equipment_of)
        for k, after in enumerate(step.after):
            if after.step and after.step not in protocol.step_of:
                yield _unknown((*at, "after", k, "step"), "step", after.step, protocol.step_of)


def free_orders_stay_in_their_section(protocol: Protocol) -> Iterator[Flaw]:
    for i, section in enumerate(protocol.sections):
        own = {step.id for step in section.steps}
        for k, group in enumerate(section.free_order):
            at = ("section", i, "free_order", k, "steps")
            yield from _twice("step", (((*at, m), name) for m, name in enumerate(group.steps)))
            for m, name in enumerate(group.steps):
                if name in own or not name:
                    continue
                if name in protocol.step_of:
                    what = f"step {quoted(name)} is in section {quoted(protocol.section_of[name].id)}"
                    yield Flaw(at=(*at, m), what=what, hint="a free order is among steps of its own section")
                else:
                    yield _unknown((*at, m), "step", name, [step.id for step in section.steps])


def _links(protocol: Protocol) -> dict[str, dict[str, Place]]:
    """Return, for each step, the steps it comes after, with the place that says so."""
    links: dict[str, dict[str, Place]] = {}
    for at, step in _steps(protocol):
        named = links.setdefault(step.id, {})
        for k, after in enumerate(step.after):
            if after.step and after.step in protocol.step_of:
                named.setdefault(after.step, (*at, "after", k, "step"))
    return links


def order_holds_no_circle(protocol: Protocol) -> Iterator[Flaw]:
    links = _links(protocol)
    for circle in _circles(links):
        at = links[circle[0]][circle[1] if len(circle) > 1 else circle[0]]
        if len(circle) == 1:
            yield Flaw(at=at, what=f"step {quoted(circle[0])} comes after itself")
        else:
            shown = [quoted(name) for name in circle[:LONGEST_CHAIN]] + ["…"] * (len(circle) > LONGEST_CHAIN)
            chain = " after ".join([*shown, quoted(circle[0])])
            yield Flaw(at=at, what=f"steps come after each other in a circle: {chain}")


def _circles(links: Mapping[str, Iterable[str]]) -> Iterator[list[str]]:
    """Yield each circle that a walk along the links closes; without recursion, since chains may be long."""
    done: set[str] = set()
    for start in links:
        if start in done:
            continue
        trail: dict[str, Iterator[str]] = {start: iter(links[start])}
        while trail:
            node, onward = next(reversed(trail.items()))
            for step in onward:
                if step in trail:
                    names = list(trail)
                    yield names[names.index(step) :]
                elif step not in done:
                    trail[step] = iter(links[step])
                    break
            else:
                done.add(node)
                del trail[node]


def order_agrees_with_the_listing(protocol: Protocol) -> Iterator[Flaw]:
    links = _links(protocol)
    places = _places_of(protocol)
    # These contradict each other, and were reported for that.
    in_circle = {name for circle in islice(_circles(links), MOST) for name in circle}
    for name, earlier in links.items():
        for other, at in earlier.items():
            is_later = protocol.position_of[other] > protocol.position_of[name]
            if is_later and not {name, other} <= in_circle:
                what = f"step {quoted(name)} comes after {quoted(other)}, which is listed later"
                yield Flaw(at=at, what=what, hint="list it earlier", see=places[other])


def free_orders_are_free(protocol: Protocol) -> Iterator[Flaw]:
    links = _links(protocol)
    for i, section in enumerate(protocol.sections):
        for k, group in enumerate(section.free_order):
            for m, name in enumerate(group.steps):
                before = _before(links, name)
                for other in dict.fromkeys(group.steps):
                    if other in before and other != name:
                        what = f"steps {quoted(name)} and {quoted(other)} are in free order, but"
                        what += f" {quoted(name)} comes after {quoted(other)}"
                        at = ("section", i, "free_order", k, "steps", m)
                        yield Flaw(at=at, what=what, hint="leave out one of the two", see=before[other])


def _before(links: Mapping[str, Mapping[str, Place]], name: str) -> dict[str, Place]:
    """Return all steps that come before `name`, directly or not, with the place that says so."""
    found: dict[str, Place] = {}
    pending = [name]
    while pending:
        for other, at in links.get(pending.pop(), {}).items():
            if other not in found:
                found[other] = at
                pending.append(other)
    return found


RULES: tuple[Rule, ...] = (
    ids_are_used_once,
    no_finding_is_called_other,
    sites_are_told_apart,
    findings_and_sites_have_keys,
    words_fit_the_entries,
    findings_are_told_to_someone,
    placeholders_are_known,
    references_are_known,
    free_orders_stay_in_their_section,
    order_holds_no_circle,
    order_agrees_with_the_listing,
    free_orders_are_free,
)


def _rules(protocol: Protocol) -> tuple[Rule, ...]:
    if not (protocol.computed or protocol.patterns or any(step.reading for step in protocol)):
        return RULES
    # Only now, since it takes the catalogue of readings.
    from checklist.protocol import measured_rules

    return (*RULES, *measured_rules.RULES)


def broken_rules(protocol: Protocol) -> list[Flaw]:
    flaws: list[Flaw] = []
    for rule in _rules(protocol):
        broken = list(islice(rule(protocol), MOST + 1))
        flaws += broken[:MOST]
        if len(broken) > MOST:
            what = f"more problems of the same kind as the {MOST} before"
            flaws.append(Flaw(at=broken[MOST].at, what=what, hint="put those right first"))
    return flaws
