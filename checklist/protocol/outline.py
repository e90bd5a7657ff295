"""A protocol as plain text with boxes to tick: to be read through, or printed and used on paper. Pure."""

from collections.abc import Iterator, Sequence
from textwrap import TextWrapper

from checklist.protocol.model import OTHER_SIDE, SIDE, Finding, Protocol, Reading, Section, Step

NARROWEST = 40
"""Columns below which nothing is wrapped any closer."""
LABEL = 13
"""Columns of the labels before texts."""
BOX = "[ ]"
WANTED = {"always": "asked for", "differs": "if wanted"}
TELL = {"note": "", "report": "REPORT before leaving", "urgent": "URGENT, tell at once"}


def outline(protocol: Protocol, width: int) -> str:
    """Return everything that the protocol says, wrapped to `width` columns."""
    width = max(width, NARROWEST)
    lines = [*_head(protocol, width)]
    for number, section in enumerate(protocol.sections, start=1):
        lines += _section(protocol, section, number, width)
    lines += _beyond_the_steps(protocol, width)
    return "\n".join(lines) + "\n"


def _wrapped(text: str, width: int, first: str = "", rest: str | None = None) -> list[str]:
    """Wrap `text` behind `first`; the following lines begin with `rest`, or as deep as the first."""
    after = " " * len(first) if rest is None else rest
    wrapper = TextWrapper(width=width, initial_indent=first, subsequent_indent=after, break_on_hyphens=False)
    return wrapper.wrap(text)


def _labelled(label: str, text: str, width: int, indent: int = 0) -> list[str]:
    return _wrapped(text, width, " " * indent + f"{label}:".ljust(LABEL)) if text else []


def _list(label: str, texts: Sequence[str], width: int) -> Iterator[str]:
    if texts:
        yield f"{label}:"
        for text in texts:
            yield from _wrapped(text, width, "  - ")


def _head(protocol: Protocol, width: int) -> Iterator[str]:
    audience, telling = protocol.audience, protocol.telling
    yield from _wrapped(protocol.title.upper(), width)
    about = f"{protocol.id}, version {protocol.version}, reviewed {protocol.reviewed}"
    yield from _wrapped(f"{about}, {protocol.target_minutes:g} minutes", width)
    yield from _wrapped(protocol.summary, width)
    yield ""
    yield from _labelled("For", "; ".join(filter(None, (audience.population, audience.level))), width)
    yield from _labelled("Ages", "; ".join(audience.ages), width)
    yield from _labelled("Setting", audience.setting, width)
    yield from _labelled("Position", protocol.position, width)
    yield from _labelled("Scope", protocol.scope, width)
    yield from _labelled("Report to", telling.report, width)
    yield from _labelled("Urgent to", telling.urgent, width)
    yield from _labelled("Roles", "; ".join(telling.roles), width)
    for label, is_room in (("Equipment", False), ("Room", True)):
        items = [item.name for item in protocol.equipment if item.room is is_room]
        if items:
            yield f"{label}:"
        for item in items:
            yield from _wrapped(item, width, f"  {BOX} ")
    yield from _list("Cautions", protocol.cautions, width)
    yield from _list("Adaptations", protocol.adaptations, width)
    yield from _list("Sources", protocol.sources, width)


def _section(protocol: Protocol, section: Section, number: int, width: int) -> Iterator[str]:
    yield ""
    phase = "" if section.phase == "examine" else f" ({section.phase})"
    yield from _wrapped(f"{section.title.upper()}{phase}", width, f"{number}  ")
    for group in section.free_order:
        names = ", ".join(_number(protocol, step) for step in group.steps)
        yield from _wrapped(f"{names} in any order: {group.why}", width, "   ")
    for index, step in enumerate(section.steps, start=1):
        yield ""
        yield from _step(protocol, step, f"{number}.{index}", width)


def _number(protocol: Protocol, step_id: str) -> str:
    """Return the number of a step as the outline prints it."""
    section = protocol.section_of[step_id]
    places = [step.id for step in section.steps]
    return f"{protocol.sections.index(section) + 1}.{places.index(step_id) + 1}"


def _step(protocol: Protocol, step: Step, number: str, width: int) -> Iterator[str]:
    about = f"{step.technique}, {step.seconds} s" + (f", weight {step.weight:g}" if step.weight != 1 else "")
    yield from _wrapped(f"{step.title} ({about})", width, f"{number} ".ljust(5))
    for label, text in _texts(protocol, step):
        yield from _labelled(label, text, width, indent=5)
    yield from _boxes(step, width)
    for finding in step.findings:
        yield from _finding(protocol, finding, width)


def _texts(protocol: Protocol, step: Step) -> Iterator[tuple[str, str]]:
    yield "CRITICAL", step.critical
    yield "Caution", step.caution
    yield "Hands", step.hands
    yield "Only if", step.only_if
    for after in step.after:
        title = protocol.step_of[after.step].title
        yield "After", f"{_number(protocol, after.step)} {title}: {after.why}"
    yield "Needs", "; ".join(protocol.equipment_of[item].name for item in step.needs)
    yield "Do", step.do
    yield "Say", step.say and f"“{step.say}”"
    yield "Expect", step.expect
    yield "Chart", " ".join(filter(None, (step.subject if "{subject}" not in step.chart else "", step.chart)))
    yield "Covers", "; ".join(step.covers)
    if step.reading:
        yield "Reading", _reading(step.reading)


def _reading(reading: Reading) -> str:
    from checklist.measures import catalogue

    kind = catalogue.KINDS[reading.kind]
    return f"{kind.title.lower()}, {WANTED[reading.wanted]}; type {kind.accepts}"


def _beyond_the_steps(protocol: Protocol, width: int) -> Iterator[str]:
    """What is computed over the steps, and what belongs together."""
    if protocol.computed:
        yield from ("", "COMPUTED FROM THE RECORD")
    for computed in protocol.computed:
        titles = "; ".join(protocol.step_of[step].title for _, step in computed.inputs)
        yield from _wrapped(f"{computed.title}, from: {titles}", width, "  - ")
    if protocol.patterns:
        yield from ("", "CONSIDER AND REPORT (NO DIAGNOSIS)")
    for pattern in protocol.patterns:
        told = f" – {TELL[pattern.tell]}" if TELL[pattern.tell] else ""
        yield from _wrapped(
            f"{_either_side(pattern.consider)}{told} (source: {pattern.source})", width, "  - "
        )


def _either_side(words: str) -> str:
    return words.replace(SIDE, "one side").replace(OTHER_SIDE, "the other side")


def _boxes(step: Step, width: int) -> list[str]:
    """Return a box for each entry, and one for what was attempted in vain."""
    names = [entry.label or ("as expected" if step.expect else "done") for entry in step.entries]
    if step.may_be_unseen:
        names.append("attempted, not seen")
    # A box and its name stay together.
    boxes = "   ".join(f"{BOX} {name}".replace(" ", "\xa0") for name in names)
    return [line.replace("\xa0", " ") for line in _wrapped(boxes, width, " " * 5)]


def _finding(protocol: Protocol, finding: Finding, width: int) -> list[str]:
    told = TELL[finding.tell]
    if to := protocol.tell_to(finding):
        told += f": {to}"
    text = f"{finding.label} ({finding.chart})" + (f" – {told}" if told else "")
    return _wrapped(text, width, f"{' ' * 7}{BOX} ")
