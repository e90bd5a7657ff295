"""How amending looks: what stands for a step and what stood before, and what is about to be written."""

from collections.abc import Iterator, Mapping, Sequence

from rich.cells import cell_len

from checklist.protocol.model import Entry, Step
from checklist.session.events import Result
from checklist.session.session import Session
from checklist.session.standing import findings_of
from checklist.session.state import Record
from checklist.summary.amendments import LABELS
from checklist.summary.grouping import mark
from checklist.tui.draw import BLANK, Line, labelled, wrap
from checklist.tui.step_view import finding_line, receipt, result_words

LATE, CORRECTION = LABELS["late entry"], LABELS["corrected"]
FEW_ENTRIES = 4
"""Up to so many, every version of all of them is shown; of more, that of the chosen one."""


def amend_lines(session: Session, step: Step, chosen: Entry | None, width: int) -> list[Line]:
    """Return a step with what stands at each entry, every version of the chosen one, and the findings."""
    lines: list[Line] = [((step.title, "title"),)]
    if step.expect:
        lines += labelled("Expect", step.expect, width, "quiet")
    lines.append(BLANK)
    records = session.state.records.get(step.id, {})
    is_told_whole = len(step.entries) <= FEW_ENTRIES
    for entry in step.entries:
        versions = list(_versions(step, records.get(entry.key)))
        shown = versions if is_told_whole or entry == chosen else versions[:1]
        lines += _entry_lines(step, entry, shown, entry == chosen, width)
    if step.findings:
        lines.append(BLANK)
    lines += [finding_line(number, each, width) for number, each in enumerate(step.findings, start=1)]
    return lines


def _entry_lines(
    step: Step, entry: Entry, versions: Sequence[str], is_chosen: bool, width: int
) -> list[Line]:
    """Return an entry with what stands for it beside its name, and under that what stood before."""
    mark, name = "▸" if is_chosen else " ", entry.label
    cells = max(cell_len(each.label) for each in step.entries) + 3
    first, *more = (line for text in versions for line in wrap(text, width - cells))
    head = f"{mark} {name}{' ' * (cells - 2 - cell_len(name))}"
    look = "cursor" if is_chosen else "strong"
    return [((head, look), (first, "")), *(((" " * cells, ""), (line, "")) for line in more)]


def _versions(step: Step, record: Record | None) -> Iterator[str]:
    """Return what stands for an entry, then what stood before it, newest first."""
    if record is None:
        yield "nothing recorded"
    while record:
        amendment = record.amendment
        words = f"{record.at:%Y-%m-%d %H:%M}  {result_words(step, record.result)}"
        by = f"{LABELS[mark(record)]} by {amendment.who}: {amendment.why}" if amendment else ""
        yield f"{words} ({by})" if by else words
        # What was recorded anew before the end is no correction: the original is what stood then.
        record = record.replaced if amendment else None


def kind_of_amendment(records: Mapping[str, Record], results: Sequence[Result]) -> str:
    """Return whether results are a late entry, a correction, or both."""
    entries = [entry for result in results for entry in result.entries]
    corrected = [entry for entry in entries if entry in records]
    if not corrected:
        return LATE
    return CORRECTION if len(corrected) == len(entries) else f"{LATE} and {CORRECTION}"


def is_as_it_stands(records: Mapping[str, Record], results: Sequence[Result]) -> bool:
    """Whether results say at every entry what stands there already."""
    return all(
        entry in records and _content(records[entry].result) == _content(result)
        for result in results
        for entry in result.entries
    )


def _content(result: Result) -> tuple[object, ...]:
    told = (result.tell, result.reason, result.reading)
    return (result.outcome, frozenset(result.findings), result.detail, *told)


def pending_words(step: Step, records: Mapping[str, Record], results: Sequence[Result]) -> str:
    """Say what an amendment writes: `Late entry: Look at the skin: right as expected`."""
    said = receipt(step, results).removeprefix("Recorded: ")
    return f"{kind_of_amendment(records, results).capitalize()}: {said}"


def how_to_tell(step: Step, results: Sequence[Result]) -> str:
    """Say how fast somebody is to be told of what an amendment says; empty when nobody is."""
    tells = {finding.tell for result in results for finding in findings_of(step, result)}
    if "urgent" in tells:
        return "TELL IT AT ONCE"
    return "REPORT IT" if "report" in tells else ""
