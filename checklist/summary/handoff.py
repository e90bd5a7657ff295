"""What a colleague is told when the patient is handed over: what differs, most urgent first, in SBAR order.

It says recorded facts with their times and values; it gives no diagnosis, and asks for nothing: what is asked
for, who was told and who read it back is written in by the person.

Order: situation, background, assessment, recommendation, after Shahid and Thomas, Safety in Health 2018;4:7
(a review, its abstract read), and the tool of Kaiser Permanente that the Institute for Healthcare Improvement
publishes (from memory). Reading back: common practice, no source.
What goes under which heading is our own choice.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from checklist.protocol.model import OTHER, URGENCIES, Step
from checklist.reasoning.alerts import alerts, is_derived
from checklist.session import readings
from checklist.session.events import Outcome
from checklist.session.session import Session
from checklist.session.standing import Alert, findings_of
from checklist.session.state import Record
from checklist.summary.conduct import is_act
from checklist.summary.document import Block, Form, Note, Sentence
from checklist.summary.grouping import numbers
from checklist.summary.note import EXAMINATION, SIGNATURE, NoNoteError, scope
from checklist.summary.observed import finding_words
from checklist.summary.particulars import banner, clock_time, day_of, particulars
from checklist.summary.prose import charted, clause_text
from checklist.summary.telling import (
    NOTHING,
    URGENCY,
    not_told_words,
    only_considered,
    tellings,
    told_words,
)
from checklist.summary.told import told_and_changed
from checklist.summary.undone import in_part, not_examined, not_reached, unseen
from checklist.summary.untold import untold_and_corrected
from checklist.summary.words import joined, sentence, uncapitalised
from checklist.text import one_line

if TYPE_CHECKING:
    # The code of computations and patterns is loaded only where a protocol has use for it.
    from checklist.summary.considered import Item

NOTHING_RECORDED = "Nothing was recorded."
NOTHING_DIFFERS = "Nothing that was recorded differs from what this protocol expects."
ASKED_FOR = f"Asked for: {'_' * 50}"
AGREED = f"Agreed: {'_' * 34} By when: {'_' * 10}"
_ASK = "Ask about "
COMPUTED = "computed –"
TOLD = f"Told {'_' * 14} at {'_' * 6}."
READ_BACK = f"Read back by {'_' * 14} at {'_' * 6}."


def handoff(session: Session) -> Note:
    """Return the sheet for handing over; raises NoNoteError for any mode but an examination."""
    mode = session.header.mode
    if mode != EXAMINATION:
        what = "only an examination yields a handoff"
        raise NoNoteError(f"this session's mode is '{one_line(mode)}': {what}")
    return Note(
        title=f"{session.protocol.title} handoff",
        banner=banner(session),
        blocks=tuple(_blocks(session)),
    )


def _blocks(session: Session) -> Iterator[Block]:
    urgent = tuple(_headlines(session))
    yield Block(sentences=particulars(session)[1:])
    yield from _items("SITUATION", _situation(session, urgent))
    yield from _items("BACKGROUND", _background(session))
    yield from _items("ASSESSMENT", _assessment(session))
    yield from _items("RECOMMENDATION", _recommendation(session, urgent))
    yield Block(heading="SCOPE", sentences=tuple(scope(session.protocol)))
    yield Block(sentences=(Sentence(text=SIGNATURE),))


def _items(heading: str, sentences: Iterable[Sentence]) -> Iterator[Block]:
    if sentences := tuple(sentences):
        yield Block(heading=heading, sentences=sentences, form=Form.ITEMS)


# Situation


@dataclass(frozen=True, kw_only=True, slots=True)
class _Headline:
    """Something to be told, or a complete pattern that nobody need be told of: that one has no alert."""

    said: Sentence
    alert: Alert | None = None


def _headlines(session: Session) -> Iterator[_Headline]:
    """Return what is to be told, most urgent first, what is computed and what belongs together included."""
    found = alerts(session)
    said_of: dict[str, tuple[str, ...]] = {}
    said: set[tuple[str, str, str]] = set()
    if any(is_derived(alert.finding) for alert in found):
        from checklist.summary.considered import derived_parts

        said_of = derived_parts(session)
    for alert in found:
        records = [session.state.records[alert.step.id][entry] for entry in alert.entries]
        if is_derived(alert.finding):
            first, *more = said_of[alert.finding.id]
        else:
            first, more = _what_is_new(session, alert, said), [f"recorded {_times(session, records)}"]
        text = " ".join(map(sentence, (f"{URGENCY[alert.finding.tell]}: {first}", *more)))
        yield _Headline(
            said=Sentence(text=text, rests_on=numbers(record.event for record in records)), alert=alert
        )
    yield from (_Headline(said=said) for said in only_considered(session))


def _what_is_new(session: Session, alert: Alert, said: set[tuple[str, str, str]]) -> str:
    """Say a finding, with the own words that stand beside it unless they were `said` with another one."""
    records = {entry: session.state.records[alert.step.id][entry] for entry in alert.entries}
    words = {
        (alert.step.id, entry, record.result.detail)
        for entry, record in records.items()
        if record.result.detail and not record.result.tell
    }
    if alert.finding.id != OTHER and words and words <= said:
        records = {
            entry: replace(record, result=replace(record.result, detail=""))
            for entry, record in records.items()
        }
    said |= words
    return finding_words(alert.step, alert.finding.id, records)


def _computed(session: Session) -> "tuple[Item, ...]":
    """Return what is computed and belongs in a note."""
    if not session.protocol.computed and not any(step.reading for step in session.protocol):
        return ()
    from checklist.summary.considered import computed

    return tuple(item for item in computed(session) if item.matters)


def _times(session: Session, records: Iterable[Record]) -> str:
    times = dict.fromkeys(clock_time(record.at, day_of(session)) for record in records)
    return joined(list(times))


def _situation(session: Session, urgent: Sequence[_Headline]) -> Iterator[Sentence]:
    header = session.header
    age = f", age band {header.age}" if header.age else ""
    whom = f"participant {header.participant}" if header.participant else "a participant without a code"
    who = f"examiner {header.examiner} calling about {whom}{age}"
    yield Sentence(text=sentence(f"{who}; setting: {header.setting}"))
    for number, each in enumerate(urgent, start=1):
        yield Sentence(text=f"({number}) {each.said.text}", rests_on=each.said.rests_on)
    corrected = untold_and_corrected(session)
    yield from corrected
    if not session.state.records:
        yield Sentence(text=NOTHING_RECORDED)
    elif not urgent and not corrected:
        differs = any(_differs(session, step) for step in session.protocol)
        differs = differs or any(item.meaning.tell for item in _computed(session))
        yield Sentence(text=NOTHING if differs else NOTHING_DIFFERS)


def _differs(session: Session, step: Step) -> bool:
    return any(_matters(step, record) for record in session.state.records.get(step.id, {}).values())


def _differed(session: Session, step: Step) -> bool:
    """Whether something that differed was corrected after the end: that is charted too, with its mark."""
    records = session.state.records.get(step.id, {}).values()
    return any(_matters(step, each.replaced) for each in records if each.amendment and each.replaced)


def _matters(step: Step, record: Record) -> bool:
    """Whether a record differs, or was accepted as expected with a reading that is out of range."""
    if record.result.outcome is not Outcome.EXPECTED:
        return record.result.outcome is Outcome.DIFFERS
    meaning = readings.meaning(step, record.result)
    return bool(meaning and meaning.tell)


# Background


def _background(session: Session) -> Iterator[Sentence]:
    """Say what the patient reported, and what has no finding and why."""
    yield from _region_items(session, lambda step: step.is_asked, label="reported")
    yield from _answered(session)
    yield from _region_items(session, is_act)
    looks = [step for step in session.protocol if not is_act(step)]
    acts = [step for step in session.protocol if is_act(step)]
    yield from _labelled("attempted, not seen", unseen(session))
    yield from not_examined(session, looks, "not examined, ")
    yield from not_examined(session, acts, "not done, ")
    yield from _labelled("recorded in part", in_part(session))
    yield from _labelled("not reached", not_reached(session))


def _labelled(label: str, sentences: Iterable[Sentence]) -> Iterator[Sentence]:
    for each in sentences:
        yield Sentence(text=sentence(f"{label} – {each.text}"), rests_on=each.rests_on)


def _answered(session: Session) -> Iterator[Sentence]:
    """Name the questions whose answers were all as expected; the answers stand in the note."""
    as_expected = [step for step in session.protocol if step.is_asked and _is_as_expected(session, step)]
    if as_expected:
        events = (record.event for step in as_expected for record in session.state.records[step.id].values())
        names = "; ".join(_topics([step.title for step in as_expected]))
        yield Sentence(text=sentence(f"asked, answers as expected: {names}"), rests_on=numbers(events))


def _topics(titles: Sequence[str]) -> list[str]:
    """Return what was asked about: the titles without the words that begin all of them, or whole."""
    if all(title.startswith(_ASK) for title in titles):
        return [title.removeprefix(_ASK) for title in titles]
    return [uncapitalised(title) for title in titles]


def _is_as_expected(session: Session, step: Step) -> bool:
    records = session.state.records.get(step.id, {}).values()
    outcomes = {record.result.outcome for record in records}
    return outcomes == {Outcome.EXPECTED} and not _differs(session, step) and not _differed(session, step)


# Assessment


def _assessment(session: Session) -> Iterator[Sentence]:
    """Say what was observed that differs, by region, and what was computed; it gives no diagnosis."""
    yield from _region_items(session, lambda step: not step.is_asked and not is_act(step))
    for item in _computed(session):
        yield Sentence(text=sentence(f"{COMPUTED} {item.chart}"), rests_on=item.events)


def _region_items(session: Session, belongs: Callable[[Step], bool], label: str = "") -> Iterator[Sentence]:
    """Return an item for each step that differs, most urgent first in its region, then the remarks there."""
    for section in session.protocol.sections:
        own = [step for step in section.steps if belongs(step)]
        differing = [step for step in own if _differs(session, step) or _differed(session, step)]
        differing.sort(key=lambda step: -_urgency(session, step))
        for step in differing:
            yield _step_item(session, step, label or section.title)
        yield from _remarks(session, own)


def _urgency(session: Session, step: Step) -> int:
    """Return how fast the most urgent finding of a step is told, as its place in `URGENCIES`."""
    records = session.state.records[step.id].values()
    found = (finding.tell for record in records for finding in findings_of(step, record.result))
    return max((URGENCIES.index(tell) for tell in found), default=0)


def _step_item(session: Session, step: Step, label: str) -> Sentence:
    """Chart a step that differs with its other side, and say when it was recorded."""
    records = session.state.records[step.id]
    _, found = charted(step, records)
    words = " ".join(sentence(clause_text(clause)) for clause in found)
    events = numbers(event for clause in found for event in clause.rests_on)
    return Sentence(text=sentence(f"{label}, {_times(session, records.values())} – {words}"), rests_on=events)


def _remarks(session: Session, steps: Sequence[Step]) -> Iterator[Sentence]:
    title_of = {step.id: step.title for step in steps}
    for remark in session.state.remarks:
        if remark.step in title_of:
            time = clock_time(remark.at, day_of(session))
            text = f"remark ({title_of[remark.step]}), {time} – {remark.text}"
            yield Sentence(text=sentence(text), rests_on=(remark.n,))


# Recommendation


def _recommendation(session: Session, urgent: Sequence[_Headline]) -> Iterator[Sentence]:
    """Leave the request to the person; say who is to be told and who was, with boxes for reading back."""
    yield Sentence(text=ASKED_FOR)
    yield Sentence(text=AGREED)
    yield from _tellings(session, urgent)
    said = {event.n for each in urgent if each.alert for event, _ in tellings(session, each.alert)}
    yield from told_and_changed(session, said)


def _tellings(session: Session, urgent: Sequence[_Headline]) -> Iterator[Sentence]:
    """Return an item for each telling, with the numbers of all that it was about."""
    about: dict[Sentence, list[str]] = {}
    for number, each in enumerate(urgent, start=1):
        if each.alert:
            about.setdefault(_telling(session, each.alert), []).append(f"({number})")
    for telling, numbered in about.items():
        yield replace(telling, text=f"{joined(numbered)} {telling.text}")
    if not about:
        yield Sentence(text=f"{TOLD} {READ_BACK}")


def _telling(session: Session, alert: Alert) -> Sentence:
    """Say who is to be told and who was."""
    told = tuple(tellings(session, alert))
    left = not_told_words(session, alert)
    parts = (
        left or f"to be told: {session.protocol.tell_to(alert.finding)}",
        *(told_words(session, alert, event, entries) for event, entries in told),
        TOLD if left else "",
        READ_BACK,
    )
    text = " ".join(sentence(part) for part in parts if part)
    # One telling may be several events, one for each finding: what counts is whom and when.
    return Sentence(text=text)
