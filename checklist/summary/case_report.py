"""What a rehearsal with a simulated patient came to: the report at its end, with what was there. Pure."""

from collections.abc import Callable, Iterable, Iterator, Sequence

from checklist.practice.case_score import (
    HAS_OWN_SIDE,
    IS_EXAMINED,
    IS_FOUND,
    SAID,
    CaseScore,
    Fate,
    Item,
    Speed,
    Tellable,
    Telling,
    score,
)
from checklist.practice.cases import Case, There, what_is_there
from checklist.practice.descriptions import NONE, Descriptions, shown
from checklist.practice.fitting import with_values_if_done
from checklist.protocol.model import Entry, Protocol, Step
from checklist.session import readings
from checklist.session.events import Outcome, Result
from checklist.session.session import Session
from checklist.summary.document import Block, Form, Note, Sentence
from checklist.summary.particulars import FICTIONAL, banner
from checklist.summary.words import sentence, uncapitalised

_TELL = {"report": "report before leaving", "urgent": "tell at once"}
_ENOUGH = "writing it down is enough"
_CAUTION = (
    "A case is invented and shows what was put into it; a real person shows more, and less clearly."
    " It judges recording and reporting, not hands."
)


def case_report(session: Session, case: Case, described: Descriptions = NONE) -> Note:
    """Return the report: counts first, then what to look at again, then what the case was.

    `described` is what the learner was shown; without it, labels and what is expected stand in its place.
    """
    found = score(session, case)
    there = with_values_if_done(session.protocol, what_is_there(case, session.protocol))

    def show(step: Step, entry: Entry) -> str:
        return shown(step, there.get((step.id, entry.key)), described, case.id)

    examined = [item for item in found.items if item.fate is not Fate.NOT_EXAMINED]
    blocks = (
        Block(heading="The case", sentences=(Sentence(text=sentence(case.story)),)),
        Block(heading="In figures", sentences=tuple(_figures(found)), form=Form.ITEMS),
        Block(
            heading="Not examined, though something was there",
            sentences=tuple(_not_examined(session.protocol, found.items)),
            form=Form.ITEMS,
        ),
        Block(
            heading="What was there, and what became of it",
            sentences=tuple(_item(item, show) for item in examined),
            form=Form.ITEMS,
        ),
        Block(heading="Recorded, and not there", sentences=tuple(_false(found, show)), form=Form.ITEMS),
        Block(heading="Readings typed otherwise", sentences=tuple(_misread(found)), form=Form.ITEMS),
        Block(
            heading="What must be told",
            sentences=tuple(_telling(each, session) for each in found.tellings),
            form=Form.ITEMS,
        ),
        Block(heading="Told without need", sentences=tuple(_over_told(found)), form=Form.ITEMS),
        Block(
            heading="Only to be written down",
            sentences=tuple(_item(item, show) for item in found.decoys),
            form=Form.ITEMS,
        ),
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


def _not_examined(protocol: Protocol, items: Iterable[Item]) -> Iterator[Sentence]:
    """Say by section what was never looked at, and what was recorded as not examined."""
    missing = [item for item in items if item.fate is Fate.NOT_EXAMINED]
    for section in protocol.sections:
        here = [item for item in missing if protocol.section_of[item.there.step.id] is section]
        if here:
            words = "; ".join(map(_left_words, here))
            rests_on = tuple(dict.fromkeys(event for item in here for event in item.rests_on))
            yield Sentence(text=sentence(f"{section.title}: {words}"), rests_on=rests_on)


def _left_words(item: Item) -> str:
    there = item.there
    notes = [there_words(there)]
    notes += [f"done only if {uncapitalised(there.step.only_if.rstrip('.'))}"] if there.step.only_if else []
    if item.recorded and item.recorded.outcome is Outcome.NOT_EXAMINED:
        notes.append(f"recorded as not examined, {item.recorded.reason}")
    return f"{_where(there.step, there.entry)} ({'; '.join(notes)})"


_Shown = Callable[[Step, Entry], str]
"""Returns what the learner was shown at an entry."""

_OF_THE_UNSEEN = {
    Fate.FOUND: "recorded as not seen",
    Fate.MISSED: "recorded as expected all the same",
    Fate.OTHERWISE: "recorded as differing all the same",
}
_NAMES_THE_RECORD = (Fate.OTHERWISE, Fate.IN_WORDS, Fate.IN_PART, Fate.OTHER_SIDE)
_SHOWS_AGAIN = (Fate.MISSED, Fate.OTHERWISE, Fate.IN_WORDS, Fate.IN_PART, Fate.NOT_SEEN)


def _item(item: Item, show: _Shown) -> Sentence:
    there, fate = item.there, str(item.fate)
    if there.is_unseen:
        fate = _OF_THE_UNSEEN.get(item.fate, fate)
    if item.recorded and item.fate in _NAMES_THE_RECORD and item.recorded.outcome is Outcome.DIFFERS:
        fate += f": {_recorded(there.step, item.recorded)}"
    text = f"{_where(there.step, there.entry)}: {there_words(there)} – {fate}"
    if item.fate in _SHOWS_AGAIN and not there.is_unseen:
        text += _shown_words(show(there.step, there.entry), there_words(there))
    return Sentence(text=sentence(text), rests_on=item.rests_on)


def _shown_words(words: str, but: str) -> str:
    """Return what was shown, unless it only repeats the label."""
    return "" if words == but else f"; shown: {words}"


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


def _false(found: CaseScore, show: _Shown) -> Iterator[Sentence]:
    for each in found.false_alarms:
        text = f"{_where(each.step, each.entry)}: {_recorded(each.step, each.recorded)}"
        text += f"; what was there: {show(each.step, each.entry)}"
        yield Sentence(text=sentence(text), rests_on=each.rests_on)


def _misread(found: CaseScore) -> Iterator[Sentence]:
    for each in found.misread:
        text = f"{_where(each.step, each.entry)}: it was {each.given}, and {each.typed} was typed"
        yield Sentence(text=sentence(text), rests_on=each.rests_on)


def _telling(each: Telling, session: Session) -> Sentence:
    words = _speed_words(each, session)
    if len(each.due.steps) > 1 and each.said not in {"", "note"}:
        # What rests on several steps counts as told with any of them, so that it is said which.
        words += f", with: {'; '.join(dict.fromkeys(told.step.title for told in each.by))}"
    return Sentence(text=sentence(f"{each.due.what.rstrip('.')} – {_TELL[each.due.tell]}; {words}"))


def _speed_words(each: Telling, session: Session) -> str:
    match each.speed:
        case Speed.TOO_SLOW | Speed.TOO_FAST:
            return f"{each.speed}, {SAID[each.said]}"
        case Speed.NOT_TOLD:
            return "recorded, and only written down" if each.said else "recorded, and left open"
        case Speed.NOT_RECORDED if not _was_examined(session, each.due.steps):
            return "not examined, so nothing could be told"
        case _:
            return str(each.speed)


def _was_examined(session: Session, steps: Iterable[str]) -> bool:
    records = session.state.records
    return any(
        record.result.outcome is not Outcome.NOT_EXAMINED
        for step in steps
        for record in records.get(step, {}).values()
    )


def _over_told(found: CaseScore) -> Iterator[Sentence]:
    for each in found.over_told:
        labels = [entry.label for entry in each.step.entries if entry.key in each.entries and entry.label]
        where = f"{each.step.title}, {' and '.join(labels)}" if labels else each.step.title
        yield Sentence(text=sentence(f"{where}: {each.label}; {_needless(each, found.is_false(each))}"))


def _needless(each: Tellable, is_false: bool) -> str:
    """Say why something need not be told: it was not there, something else was, or it is only noted.

    Of a finding that was not there, what the protocol asks; own words and readings it does not name.
    """
    finding = each.step.finding_of.get(each.finding)
    asked = _TELL.get(finding.tell, "") if finding else ""
    if is_false:
        return f"it was not there; had it been there: {asked or _ENOUGH}" if finding else "it was not there"
    if any(there.is_unseen for there in each.there):
        return "what the step looks for could not be seen here"
    is_there = not each.there or any(each.finding in there.findings for there in each.there)
    if is_there or not asked:
        return _ENOUGH
    return f"what was there is only written down; what was recorded, had it been there: {asked}"


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
