"""What a rehearsal with a simulated patient came to: the report at its end, with what was there. Pure."""

from collections.abc import Callable, Iterable, Iterator, Sequence

from checklist.practice.case_due import Aim, aims, in_order, must_be_told
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
    was_examined,
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
_COULD = f"could be told too; {_ENOUGH}"
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

    examined = [item for item in found.shown if item.fate is not Fate.NOT_EXAMINED]
    blocks = (
        Block(heading="The case", sentences=(Sentence(text=sentence(case.story)),)),
        Block(heading="In figures", sentences=tuple(_figures(found)), form=Form.ITEMS),
        Block(
            heading="Not examined, though something was there",
            sentences=tuple(_not_examined(session.protocol, found.shown)),
            form=Form.ITEMS,
        ),
        Block(
            heading="Left out after something was told at once",
            sentences=tuple(_left_out(session.protocol, found)),
            form=Form.ITEMS,
        ),
        Block(
            heading="To be told: what was there, and what became of it",
            sentences=tuple(_item(item, show) for item in examined if item.must_be_told),
            form=Form.ITEMS,
        ),
        Block(
            heading="To be written down: what was there, and what became of it",
            sentences=tuple(_item(item, show) for item in examined if not item.must_be_told),
            form=Form.ITEMS,
        ),
        Block(heading="Recorded, and not there", sentences=tuple(_false(found, show)), form=Form.ITEMS),
        Block(heading="Readings typed otherwise", sentences=tuple(_misread(found)), form=Form.ITEMS),
        Block(
            heading="What must be told",
            sentences=tuple(_telling(each, session) for each in found.tellings),
            form=Form.ITEMS,
        ),
        Block(heading="Told without need", sentences=tuple(_over_told(found, True)), form=Form.ITEMS),
        Block(heading="Could be told too", sentences=tuple(_over_told(found, False)), form=Form.ITEMS),
        Block(heading="What the case was built to show", sentences=tuple(_built(case))),
        Block(sentences=(Sentence(text=_CAUTION),)),
    )
    lines = tuple(dict.fromkeys((*banner(session), FICTIONAL)))
    title = f"Simulated patient: {case.title} ({session.protocol.title})"
    return Note(title=title, banner=lines, blocks=tuple(block for block in blocks if block.sentences))


def _figures(found: CaseScore) -> Iterator[Sentence]:
    of = len(found.counted)
    hidden = [item for item in found.shown if item.there.is_unseen]

    def count(*fates: Fate) -> int:
        return sum(item.fate in fates for item in found.counted)

    counts = (
        ("examined where something was", count(*IS_EXAMINED), of),
        ("found", count(*IS_FOUND), of),
        ("missed though examined", count(Fate.MISSED), of),
        ("right place, recorded as something else", count(Fate.OTHERWISE), of),
        ("side right", sum(item.fate in HAS_OWN_SIDE for item in found.sided), len(found.sided)),
        (
            "told as fast as needed",
            sum(each.speed is Speed.RIGHT for each in found.tellings),
            len(found.tellings),
        ),
    )
    for name, number, out_of in counts:
        yield Sentence(text=f"{name}: {number} of {out_of}" if out_of else f"{name}: none to judge")
    yield Sentence(text=f"recorded, and not there: {len(found.false_alarms)}")
    if hidden:
        unseen = sum(item.fate is Fate.FOUND for item in hidden)
        yield Sentence(text=f"recorded as not seen where nothing could be seen: {unseen} of {len(hidden)}")
    if left := len(found.left_out):
        yield Sentence(text=f"left out after something was told at once, and counted nowhere above: {left}")


def _where(step: Step, entry: Entry) -> str:
    return f"{step.title}, {entry.label}" if entry.label else step.title


def _not_examined(protocol: Protocol, items: Iterable[Item]) -> Iterator[Sentence]:
    """Say by section what was never looked at, and what was recorded as not examined."""
    missing = [item for item in items if item.fate is Fate.NOT_EXAMINED]
    missing.sort(key=lambda item: protocol.position_of[item.there.step.id])
    for section in protocol.sections:
        here = [item for item in missing if protocol.section_of[item.there.step.id] is section]
        if here:
            words = "; ".join(map(_left_words, here))
            rests_on = tuple(dict.fromkeys(event for item in here for event in item.rests_on))
            yield Sentence(text=sentence(f"{section.title}: {words}"), rests_on=rests_on)


def _left_out(protocol: Protocol, found: CaseScore) -> Iterator[Sentence]:
    """Say what was not examined any more: to stop there can be right, so that none of it is a miss."""
    if found.left_out or found.left_untold:
        yield Sentence(text="What comes later in the order is not counted: stopping there can be right.")
    yield from _not_examined(protocol, found.left_out)
    for each in found.left_untold:
        yield Sentence(text=sentence(f"Could not be told any more: {_aim_words(each.aim)}"))


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
    if item.at and item.at.label:
        fate += f", {item.at.label}"
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
    if len(each.aim.steps) > 1 and each.said not in {"", "note"}:
        # What rests on several steps counts as told with any of them, so that it is said which.
        words += f", with: {_titles(each.by)}"
    if each.untold:
        words += f"; recorded and not told with it: {_titles(each.untold)}"
    if each.elsewhere:
        words += f"; told of another side or place: {'; '.join(map(_told_at, each.elsewhere))}"
    return Sentence(text=sentence(f"{_aim_words(each.aim)}; {words}"))


def _titles(told: Sequence[Tellable]) -> str:
    return "; ".join(dict.fromkeys(each.step.title for each in told))


def _aim_words(aim: Aim) -> str:
    """Return what is told as one, how fast, and what it means together."""
    means = "; ".join(dict.fromkeys(each.what.rstrip(".") for each in aim.means))
    together = f" (together: {means})" if means else ""
    return f"{aim.what}{together} – {_TELL[aim.tell]}"


def _speed_words(each: Telling, session: Session) -> str:
    match each.speed:
        case Speed.TOO_SLOW | Speed.TOO_FAST:
            return f"{each.speed}, {SAID[each.said]}"
        case Speed.NOT_TOLD:
            return "recorded, and only written down" if each.said else "recorded, and left open"
        case Speed.NOT_RECORDED if not was_examined(session, each.aim.steps):
            return "not examined, so nothing could be told"
        case Speed.OTHER_SIDE | Speed.OTHER_PLACE:
            places = [entry.label for told in each.by for entry in _entries(told) if entry.label]
            return ", ".join((str(each.speed), *dict.fromkeys(places)))
        case _:
            return str(each.speed)


def _entries(told: Tellable) -> list[Entry]:
    return [entry for entry in told.step.entries if entry.key in told.entries]


def _over_told(found: CaseScore, is_needless: bool) -> Iterator[Sentence]:
    """Say what was told of nothing or of something else, or what was there and need only be written down."""
    for each in found.over_told:
        reason = _needless(each, found.is_false(each))
        if bool(reason) == is_needless:
            yield Sentence(text=sentence(f"{_told_at(each)}: {each.label}; {reason or _COULD}"))


def _told_at(each: Tellable) -> str:
    labels = [entry.label for entry in _entries(each) if entry.label]
    return f"{each.step.title}, {' and '.join(labels)}" if labels else each.step.title


def _needless(each: Tellable, is_false: bool) -> str:
    """Say why something is not told: it was not there, or something else was; empty for what is only noted.

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
        return ""
    return f"what was there is only written down; what was recorded, had it been there: {asked}"


def _built(case: Case) -> Iterator[Sentence]:
    if case.explains:
        yield Sentence(text=sentence(case.explains))
    yield from (Sentence(text=sentence(each)) for each in case.sources)


# The case itself, for the one who wrote it.


def case_sheet(case: Case, protocol: Protocol) -> Note:
    """Return a case with all that it hides."""
    there = what_is_there(case, protocol)
    tellings = aims(case, protocol, there)
    differing = [each for each in in_order(protocol, there) if not each.is_as_expected]

    def sheet(is_told: bool) -> tuple[Sentence, ...]:
        return tuple(_sheet(each) for each in differing if must_be_told(each, tellings) == is_told)

    told = tuple(Sentence(text=sentence(_aim_words(each))) for each in tellings)
    blocks = (
        Block(heading="The case", sentences=(Sentence(text=sentence(case.story)),)),
        Block(heading="There, and to be told", sentences=sheet(True), form=Form.ITEMS),
        Block(heading="There, and to be written down", sentences=sheet(False), form=Form.ITEMS),
        Block(heading="What must be told", sentences=told, form=Form.ITEMS),
        Block(heading="What it is built to show", sentences=tuple(_built(case))),
    )
    return Note(
        title=f"Case {case.id}: {case.title} ({protocol.title})",
        banner=(FICTIONAL,),
        blocks=tuple(block for block in blocks if block.sentences),
    )


def _sheet(there: There) -> Sentence:
    seen = f" (seen: {there.seen})" if there.seen else ""
    return Sentence(text=sentence(f"{_where(there.step, there.entry)}: {there_words(there)}{seen}"))
