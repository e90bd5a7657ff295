"""What a rehearsal with a simulated patient came to: the report at its end, with what was there. Pure."""

from collections.abc import Iterator, Sequence

from checklist.practice.case_score import (
    HAS_OWN_SIDE,
    IS_EXAMINED,
    IS_FOUND,
    CaseScore,
    Fate,
    Item,
    Speed,
    Tellable,
    Telling,
    score,
)
from checklist.practice.cases import Case, There
from checklist.protocol.model import Entry, Protocol, Step
from checklist.session import readings
from checklist.session.events import Result
from checklist.session.session import Session
from checklist.summary.document import Block, Form, Note, Sentence
from checklist.summary.particulars import FICTIONAL, banner
from checklist.summary.words import sentence

_TELL = {"report": "report before leaving", "urgent": "tell at once"}
_ENOUGH = "writing it down is enough"
_CAUTION = (
    "A case is invented and shows what was put into it; a real person shows more, and less clearly."
    " It judges recording and reporting, not hands."
)


def case_report(session: Session, case: Case) -> Note:
    """Return the report: counts first, then what to look at again, then what the case was."""
    found = score(session, case)
    blocks = (
        Block(heading="The case", sentences=(Sentence(text=sentence(case.story)),)),
        Block(heading="In figures", sentences=tuple(_figures(found)), form=Form.ITEMS),
        Block(heading="What was there", sentences=tuple(map(_item, found.items)), form=Form.ITEMS),
        Block(heading="Recorded, and not there", sentences=tuple(_false(found)), form=Form.ITEMS),
        Block(heading="Readings typed otherwise", sentences=tuple(_misread(found)), form=Form.ITEMS),
        Block(heading="What must be told", sentences=tuple(map(_telling, found.tellings)), form=Form.ITEMS),
        Block(heading="Told without need", sentences=tuple(_over_told(found)), form=Form.ITEMS),
        Block(heading="Only to be written down", sentences=tuple(map(_item, found.decoys)), form=Form.ITEMS),
        Block(heading="What the case was built to show", sentences=tuple(_built(case))),
        Block(sentences=(Sentence(text=_CAUTION),)),
    )
    lines = tuple(dict.fromkeys((*banner(session), FICTIONAL)))
    title = f"Simulated patient: {case.title} ({session.protocol.title})"
    return Note(title=title, banner=lines, blocks=tuple(block for block in blocks if block.sentences))


def _figures(found: CaseScore) -> Iterator[Sentence]:
    of = len(found.items)
    counts = (
        ("examined where something was", len(found.of(*IS_EXAMINED)), of),
        ("found", len(found.of(*IS_FOUND)), of),
        ("missed though examined", len(found.of(Fate.MISSED)), of),
        ("right place, recorded as something else", len(found.of(Fate.OTHERWISE)), of),
        ("side right", sum(item.fate in HAS_OWN_SIDE for item in found.sided), len(found.sided)),
        (
            "told as fast as needed",
            sum(each.speed is Speed.RIGHT for each in found.tellings),
            len(found.tellings),
        ),
    )
    for name, count, out_of in counts:
        yield Sentence(text=f"{name}: {count} of {out_of}" if out_of else f"{name}: none to judge")
    yield Sentence(text=f"recorded, and not there: {len(found.false_alarms)}")


def _where(step: Step, entry: Entry) -> str:
    return f"{step.title}, {entry.label}" if entry.label else step.title


def _item(item: Item) -> Sentence:
    there = item.there
    parts = [f"{_where(there.step, there.entry)}: {there_words(there)} – {item.fate}"]
    if item.recorded and item.fate in (Fate.OTHERWISE, Fate.IN_WORDS, Fate.IN_PART):
        parts.append(f"recorded: {_recorded(there.step, item.recorded)}")
    return Sentence(text=sentence("; ".join(parts)), rests_on=item.rests_on)


def there_words(there: There) -> str:
    """Return what was there, named as the protocol names it."""
    if there.is_unseen:
        return "cannot be seen"
    labels = [there.step.finding_of[finding].label for finding in there.findings]
    reading = readings.in_short(there.step, there.result)
    return "; ".join(filter(None, (*labels, reading)))


def _recorded(step: Step, result: Result) -> str:
    labels = [step.finding_of[finding].label for finding in result.findings]
    words = (*labels, readings.in_short(step, result), f"“{result.detail}”" if result.detail else "")
    return "; ".join(filter(None, words)) or str(result.outcome)


def _false(found: CaseScore) -> Iterator[Sentence]:
    for each in found.false_alarms:
        text = f"{_where(each.step, each.entry)}: {_recorded(each.step, each.recorded)}"
        expected = f"; there was: {each.step.expect}" if each.step.expect else ""
        yield Sentence(text=sentence(f"{text}{expected}"), rests_on=each.rests_on)


def _misread(found: CaseScore) -> Iterator[Sentence]:
    for each in found.misread:
        text = f"{_where(each.step, each.entry)}: given {each.given}, typed {each.typed}"
        yield Sentence(text=sentence(text), rests_on=each.rests_on)


def _telling(each: Telling) -> Sentence:
    text = f"{each.due.what.rstrip('.')} – {_TELL[each.due.tell]}; {each.speed}"
    return Sentence(text=sentence(text))


def _over_told(found: CaseScore) -> Iterator[Sentence]:
    for each in found.over_told:
        advice = _had_it_been_there(each) if found.is_false(each) else _ENOUGH
        yield Sentence(text=sentence(f"{each.step.title}: {each.label}; {advice}"))


def _had_it_been_there(each: Tellable) -> str:
    """Say what the protocol asks of a finding that was not there; own words and readings it does not name."""
    finding = each.step.finding_of.get(each.finding)
    advice = f"; had it been there: {_TELL.get(finding.tell, _ENOUGH)}" if finding else ""
    return f"it was not there{advice}"


def _built(case: Case) -> Iterator[Sentence]:
    if case.explains:
        yield Sentence(text=sentence(case.explains))
    yield from (Sentence(text=sentence(each)) for each in case.sources)


# The case itself, for the one who wrote it.


def case_sheet(case: Case, protocol: Protocol, all_there: Sequence[There], told: Sequence[str]) -> Note:
    """Return a case with all that it hides."""
    return Note(
        title=f"Case {case.id}: {case.title} ({protocol.title})",
        banner=(FICTIONAL,),
        blocks=tuple(
            block
            for block in (
                Block(heading="The case", sentences=(Sentence(text=sentence(case.story)),)),
                Block(heading="What differs", sentences=tuple(_sheet(all_there, False)), form=Form.ITEMS),
                Block(
                    heading="Only to be written down",
                    sentences=tuple(_sheet(all_there, True)),
                    form=Form.ITEMS,
                ),
                Block(
                    heading="What must be told",
                    sentences=tuple(Sentence(text=sentence(each)) for each in told),
                    form=Form.ITEMS,
                ),
                Block(heading="What it is built to show", sentences=tuple(_built(case))),
            )
            if block.sentences
        ),
    )


def _sheet(all_there: Sequence[There], is_decoy: bool) -> Iterator[Sentence]:
    for there in all_there:
        if not there.is_as_expected and there.is_decoy == is_decoy:
            seen = f" (seen: {there.seen})" if there.seen else ""
            text = f"{_where(there.step, there.entry)}: {there_words(there)}{seen}"
            yield Sentence(text=sentence(text))
