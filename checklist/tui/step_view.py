"""The step that the examiner is at, as lines: what to do and say, what is expected, what is recorded."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from rich.cells import cell_len

from checklist.protocol.model import Entry, Finding, Step
from checklist.session import readings
from checklist.session.events import Event, Outcome, Recorded, Remarked, Result, Told
from checklist.session.session import Session
from checklist.session.standing import (
    Pace,
    Tally,
    is_set_aside,
    missing_equipment,
    open_entries,
    unmet,
)
from checklist.tui.draw import BLANK, LABEL_WIDTH, Line, Part, crop, labelled, spread, wrap
from checklist.tui.keys import names
from checklist.tui.lists import row_lines, step_rows
from checklist.tui.views import VIEWS

TELL_WORDS = {"note": "", "report": "report", "urgent": "TELL AT ONCE"}
HANDS_WORDS = {
    "clean": "Clean your hands now.",
    "gloves on": "Clean hands, put clean gloves on.",
    "gloves off": "Gloves off, then clean your hands.",
}
TECHNIQUE_WORDS = {
    "ask": "ask",
    "inspect": "look",
    "palpate": "feel",
    "percuss": "percuss",
    "auscultate": "listen",
    "measure": "measure",
    "test": "test",
    "tell": "tell",
    "hygiene": "hygiene",
}
WIDE = 104
"""From this width on, what is recorded stands beside what to do."""
SOON_STEPS = 4
"""How many of the next steps are looked at for equipment that will be needed."""


@dataclass(frozen=True, kw_only=True, slots=True)
class StepSight:
    """What the examining screen knows beyond the session itself."""

    session: Session
    step: Step
    chosen: Entry | None = None
    """The one entry that the next key means; None for all open ones."""
    names: Mapping[str, str] = field(default_factory=lambda: names(VIEWS))
    """Keys as a person reads them, by `view.id`."""


def minutes(seconds: float) -> str:
    """Return `m:ss`."""
    whole = int(seconds)
    return f"{whole // 60}:{whole % 60:02}"


def head_lines(session: Session, step: Step, tally: Tally, pace: Pace, width: int) -> list[Line]:
    """Return where we are, and how the time runs."""
    protocol = session.protocol
    section = protocol.section_of[step.id]
    place = section.steps.index(step) + 1
    marker = "PRACTICE" if session.header.is_simulated else "CARE"
    left = f"{section.title} {place} of {len(section.steps)}   {protocol.title}"
    done = f"{tally.done} done" if session.header.assessed else f"{tally.done} of {tally.of} done"
    right = f"{done}   {session.header.participant}   {marker} "
    return [spread([(left, "bar")], [(right, "bar")], width), clock_line(step, pace, width)]


def clock_line(step: Step, pace: Pace, width: int) -> Line:
    """Return the times of this step, the section and the whole, each against its plan."""
    times = (
        ("step", pace.step, float(step.seconds)),
        ("section", pace.section, pace.section_target),
        ("total", pace.total, pace.total_target),
    )
    parts: list[Part] = []
    for name, spent, planned in times:
        look = "warn" if spent > planned else "strong"
        parts += [(f"{name} ", "quiet"), (minutes(spent), look), (f"/{minutes(planned)}  ", "quiet")]
    over = pace.forecast > pace.total_target
    late = f" (+{minutes(pace.forecast - pace.total_target)})" if over else ""
    forecast: list[Part] = [
        ("forecast ", "quiet"),
        (minutes(pace.forecast) + late, "warn" if over else "strong"),
    ]
    return spread(parts, forecast, width)


def step_lines(sight: StepSight, width: int, height: int) -> list[Line]:
    """Return the whole step; what may be shortened is shortened when there is not room for all."""
    if width >= WIDE:
        return _beside(sight, width, height)
    task, recorded = list(_task(sight, width)), list(_recorded(sight, width))
    briefly = _findings_briefly(sight, width)
    short_task, short_record = list(_task(sight, width, is_brief=True)), list(_recorded_briefly(sight, width))
    layouts = (
        [*task, BLANK, *recorded, BLANK, *_findings(sight, width)],
        [*task, *recorded, *_findings(sight, width)],
        [*task, *recorded, *_findings_in_pairs(sight, width, is_whole=True)],
        [*task, *recorded, *_findings_in_pairs(sight, width, is_whole=False)],
        [*task, *recorded, *briefly],
        [*short_task, *recorded, *briefly],
        [*short_task, *short_record, *briefly],
    )
    return next((lines for lines in layouts if len(lines) <= height), layouts[-1])


def _beside(sight: StepSight, width: int, height: int) -> list[Line]:
    left_width = width * 11 // 20
    right_width = width - left_width - 3
    left = list(_task(sight, left_width))
    right = [*_recorded(sight, right_width), BLANK, *_findings_wrapped(sight, right_width), BLANK]
    right += _section(sight, right_width, height - len(right))
    rows = max(len(left), min(len(right), height))
    return [(*_at(left, row, left_width), ("   ", ""), *_at(right, row, right_width)) for row in range(rows)]


def _at(lines: Sequence[Line], row: int, width: int) -> list[Part]:
    """Return one line of a column, filled up to the column's width."""
    parts = list(lines[row]) if row < len(lines) else []
    used = sum(cell_len(text) for text, _ in parts)
    return [*parts, (" " * (width - used), "")]


def _task(sight: StepSight, width: int, is_brief: bool = False) -> Iterator[Line]:
    """What comes before the hands move, then what to do and say, and what is expected."""
    step, session = sight.step, sight.session
    kind: list[Part] = [(joined_covers(step), "quiet")]
    yield spread([(step.title, "title")], kind, width)
    if step.critical:
        yield from labelled("Critical", step.critical, width, "strong", "warn")
    if step.only_if:
        yield from labelled("Only if", step.only_if, width, "strong")
    if not session.header.assessed and (open_before := unmet(session, step)):
        yield from labelled("Not yet", _not_yet(open_before, is_brief), width, "", "warn")
    if step.caution:
        yield from labelled("Caution", step.caution, width, "strong", "warn")
    if step.hands:
        yield from labelled("Hands", HANDS_WORDS[step.hands], width, "strong")
    yield from labelled("Do", step.do, width)
    if step.say:
        yield from labelled("Say", f"“{step.say}”", width, "said")
    if step.expect:
        yield from labelled("Expect", step.expect, width, "strong")
    yield from _equipment(sight, width)
    if not is_brief:
        yield from _coming_up(sight, width)


def _not_yet(steps: Sequence[tuple[Step, str]], is_brief: bool) -> str:
    """Return what should come first and is still open, each reason once."""
    titles_of: dict[str, list[str]] = {}
    for earlier, why in steps:
        titles_of.setdefault(why, []).append(earlier.title)
    parts = (", ".join(titles) + ("" if is_brief else f": {why}") for why, titles in titles_of.items())
    return "; ".join(parts) + "."


def joined_covers(step: Step) -> str:
    return " · ".join((TECHNIQUE_WORDS[step.technique], *step.covers))


def _equipment(sight: StepSight, width: int) -> Iterator[Line]:
    session, step = sight.session, sight.step
    names = [session.protocol.equipment_of[item].name for item in step.needs]
    missing = missing_equipment(session, step)
    if missing:
        without = f"{sight.names['step.not_examined']}, then 5 (not available)"
        text = f"Not at hand: {', '.join(missing)}. Without it: {without}."
        yield from labelled("Needs", text, width, "warn", "warn")
    elif names:
        yield from labelled("Needs", ", ".join(names), width)


def _coming_up(sight: StepSight, width: int) -> Iterator[Line]:
    if soon := _soon(sight.session, sight.step):
        yield from labelled("Soon", ", ".join(soon), width, "quiet")


def _soon(session: Session, step: Step) -> list[str]:
    """Return the equipment that the next steps need and this one does not."""
    protocol = session.protocol
    place = protocol.position_of[step.id]
    ahead = protocol.steps[place + 1 : place + 1 + SOON_STEPS]
    items = dict.fromkeys(item for each in ahead for item in each.needs if item not in step.needs)
    return [protocol.equipment_of[item].name for item in items if not protocol.equipment_of[item].room]


def _recorded(sight: StepSight, width: int) -> Iterator[Line]:
    """One line for each entry: its outcome, or what the next key would make of it."""
    for index, entry in enumerate(sight.step.entries):
        label = "Record" if index == 0 else ""
        mark = "▸" if entry == sight.chosen else " "
        name = f"{mark}{entry.label}" if entry.label else mark.strip()
        text, look = entry_words(sight, entry)
        room = width - LABEL_WIDTH - _name_width(sight.step) - 1
        yield (
            (f"{label:<{LABEL_WIDTH}}", "quiet"),
            (f"{name:<{_name_width(sight.step)}} ", "strong"),
            (crop(text, room), look),
        )


def _recorded_briefly(sight: StepSight, width: int) -> Iterator[Line]:
    """The same in running text, for a step that leaves little room."""
    words = "; ".join(f"{entry.label}: {entry_words(sight, entry)[0]}" for entry in sight.step.entries)
    yield from labelled("Record", words, width)


def _name_width(step: Step) -> int:
    return max(cell_len(entry.label) + 1 for entry in step.entries) if step.entries[0].label else 0


def entry_words(sight: StepSight, entry: Entry) -> tuple[str, str]:
    """Return what stands for an entry, and its look."""
    record = sight.session.state.records.get(sight.step.id, {}).get(entry.key)
    if record:
        look = "warn" if record.result.outcome is Outcome.DIFFERS else "strong"
        return result_words(sight.step, record.result), look
    if sight.chosen and entry != sight.chosen:
        return "open", "quiet"
    space, done = sight.names["step.expected"], sight.names["step.done"]
    if readings.is_wanted(sight.step) and sight.step.reading:
        key = done if waits_for_its_condition(sight.session, sight.step) else sight.names["step.reading"]
        return f"open; {key}: type {readings.kind_of(sight.step.reading).accepts}", "quiet"
    if waits_for_its_condition(sight.session, sight.step):
        return f"open; {space}: not indicated, {done}: as expected", "quiet"
    return f"open; {space}: as expected", "quiet"


def waits_for_its_condition(session: Session, step: Step) -> bool:
    """Whether a step is only done if indicated, and nothing says yet that it is."""
    return bool(step.only_if) and is_set_aside(session, step)


def result_words(step: Step, result: Result) -> str:
    """Return a result in words: `differs: red and bulging`."""
    reading = readings.in_short(step, result)
    match result.outcome:
        case Outcome.DIFFERS:
            labels = [step.finding_of[finding].label for finding in result.findings]
            return (
                f"differs: {'; '.join([*filter(None, [reading]), *labels, *filter(None, [result.detail])])}"
            )
        case Outcome.NOT_EXAMINED:
            return f"not examined: {result.reason}"
        case Outcome.UNSEEN if result.detail:
            return f"{result.outcome}: {result.detail}"
        case Outcome.EXPECTED if reading:
            return f"{result.outcome}: {reading}"
        case Outcome.EXPECTED if readings.is_wanted(step):
            return f"{result.outcome}, no value"
        case _:
            return str(result.outcome)


def receipt(step: Step, results: Sequence[Result]) -> str:
    """Say what was just recorded, as it stands in the file."""
    words = []
    for result in results:
        labels = [entry.label for entry in step.entries if entry.key in result.entries and entry.label]
        where = f"{', '.join(labels)} " if 0 < len(labels) < len(step.entries) else ""
        words.append(f"{where}{result_words(step, result)}")
    return f"Recorded: {step.title}: {'; '.join(words)}"


def undo_words(session: Session, event: Event) -> str:
    """Say what taking back `event` takes back."""
    match event:
        case Recorded():
            return receipt(session.protocol.step_of[event.step], event.results).removeprefix("Recorded: ")
        case Remarked():
            return f"remark “{event.text}”"
        case Told():
            return f"told {event.whom}, {event.when}"
        case _:
            return event.kind


def _tell_look(finding: Finding) -> str:
    return "urgent" if finding.tell == "urgent" else "warn"


def finding_line(number: int, finding: Finding, width: int, label: str = "") -> Line:
    urgency = TELL_WORDS[finding.tell]
    tail: list[Part] = [(urgency, _tell_look(finding))] if urgency else []
    text = f"{number} {finding.label}"
    return spread([(f"{label:<{LABEL_WIDTH}}", "quiet"), (text, "")], tail, width)


def _differs_label(sight: StepSight) -> str:
    """Where a reading is typed first, its digits are no findings: the sheet has to be opened for these."""
    is_typed_first = readings.is_wanted(sight.step) and bool(open_entries(sight.session, sight.step))
    return f"{sight.names['step.differs']}, then" if is_typed_first else "Differs"


def _findings(sight: StepSight, width: int) -> list[Line]:
    return [
        finding_line(number, finding, width, _differs_label(sight) if number == 1 else "")
        for number, finding in enumerate(sight.step.findings, start=1)
    ]


def _findings_wrapped(sight: StepSight, width: int) -> Iterator[Line]:
    """Return the findings whole, in a narrow column; how fast they are told stands under them."""
    for number, finding in enumerate(sight.step.findings, start=1):
        label = _differs_label(sight) if number == 1 else ""
        line = finding_line(number, finding, width, label)
        if "…" not in "".join(text for text, _ in line):
            yield line
            continue
        first, *more = wrap(f"{number} {finding.label}", width - LABEL_WIDTH)
        yield ((f"{label:<{LABEL_WIDTH}}", "quiet"), (first, ""))
        yield from (((" " * (LABEL_WIDTH + 2), ""), (rest, "")) for rest in more)
        if urgency := TELL_WORDS[finding.tell]:
            yield ((" " * (LABEL_WIDTH + 2), ""), (urgency, _tell_look(finding)))


def _findings_in_pairs(sight: StepSight, width: int, is_whole: bool) -> list[Line]:
    """Return the findings in two columns: whole, in as many rows as they need, or cropped to one row each."""
    half = (width - LABEL_WIDTH - 2) // 2
    cells = [
        _finding_cell(number, each, half, is_whole) for number, each in enumerate(sight.step.findings, 1)
    ]
    rows = (len(cells) + 1) // 2
    lines: list[Line] = []
    for row in range(rows):
        left, right = cells[row], cells[rows + row] if rows + row < len(cells) else []
        for part in range(max(len(left), len(right))):
            label = f"{'' if lines else _differs_label(sight):<{LABEL_WIDTH}}"
            lines.append(((label, "quiet"), *_at(left, part, half + 2), *_at(right, part, half)))
    return lines


def _finding_cell(number: int, finding: Finding, width: int, is_whole: bool) -> list[Line]:
    mark = {"note": "", "report": " · report", "urgent": " · AT ONCE"}[finding.tell]
    text = f"{number} {finding.label}"
    if not is_whole:
        return [((crop(text, width - len(mark)), ""), (mark, _tell_look(finding)))]
    *most, last = wrap(text + mark, width)
    kept, found, _ = last.rpartition(mark.strip()) if mark else (last, "", "")
    return [*(((line, ""),) for line in most), ((kept, ""), (found, _tell_look(finding)))]


def _findings_briefly(sight: StepSight, width: int) -> list[Line]:
    if not sight.step.findings:
        return []
    count = len(sight.step.findings)
    return labelled("Differs", f"{sight.names['step.differs']}, or 1–{count} for a finding", width, "quiet")


def _section(sight: StepSight, width: int, height: int) -> list[Line]:
    """Return the steps of this section with what is recorded, as far as there is room."""
    section = sight.session.protocol.section_of[sight.step.id]
    rows = step_rows(sight.session, section.steps)
    return row_lines(rows, section.steps.index(sight.step), width, height, "strong")
