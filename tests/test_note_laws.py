"""Laws of the note over random legal sessions: nothing charted that was not recorded, nothing recorded lost.

The words of the invented protocol are made up, so that each tells which step, finding or record it came from.
"""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from checklist.protocol.model import Finding, Protocol, Section, Step
from checklist.session.events import (
    Amended,
    Event,
    Finished,
    Moved,
    Outcome,
    Recorded,
    Remarked,
    Result,
    Retracted,
    Told,
)
from checklist.session.session import Session
from checklist.session.standing import gaps, is_set_aside
from checklist.session.state import Record, Stage, fold
from checklist.summary.document import Block, Form, Note, Sentence, markdown, plain_text
from checklist.summary.note import note
from tests.note_sessions import Script, protocol_of

SITES = ("brim", "base")


def made_up(n: int, *, shares: bool = True, **fields: Any) -> Step:
    """Step number `n`: its words end in its letter; neighbours share words unless they must not."""
    own = chr(ord("a") + n)
    findings = tuple(
        Finding(
            id=f"f{k}",
            label="x",
            chart=f"find{k}{own} over {{site}}" if fields.get("sites") else f"find{k}{own}",
            tell=tell,
        )
        for k, tell in enumerate(("note", "report", "urgent"))
    )
    shared = {"subject": f"sub{own} lobe", "subjects": f"subs{own} lobes", "chart": f"pred{n // 3}shared"}
    apart = {"subject": f"sub{own}", "subjects": f"subs{own}", "chart": f"pred{own}"}
    usual = {"id": f"step{own}", "title": f"Title{own}", "technique": "inspect", "do": "x", "expect": "x"}
    return Step(**{**usual, **(shared if shares else apart), "findings": findings, **fields})


def steps(*, shares: bool) -> tuple[Step, ...]:
    sided: dict[str, Any] = {"sides": True}
    return (
        made_up(0, shares=shares, technique="hygiene", subject="", subjects="", chart="", expect=""),
        made_up(1, shares=shares, technique="tell", subjects=""),
        made_up(2, shares=shares, technique="ask", subjects=""),
        made_up(3, shares=shares, **sided),
        made_up(4, shares=shares, **sided),
        made_up(5, shares=shares, **sided, may_be_unseen=True),
        made_up(6, shares=shares, **sided, sites=SITES, every_site="brim with base"),
        made_up(7, shares=shares, **sided, sites=SITES, chart="predh over {side} {site}"),
        made_up(8, shares=shares, subjects="", sites=SITES),
        made_up(9, shares=shares, **sided, chart="predj hides {subject}"),
        made_up(10, shares=shares, subjects="", only_if="x"),
        made_up(11, shares=shares, subjects="", subject="subk lobe" if shares else "subl"),
        made_up(12, shares=shares, **sided),
        made_up(13, shares=shares, **sided, may_be_unseen=True),
    )


def protocol(*, shares: bool) -> Protocol:
    made = steps(shares=shares)
    sections = (
        Section(id="first", title="First", steps=made[:5], phase="prepare"),
        # Those that share words with each other stand apart.
        Section(id="second", title="Second", steps=(made[12], *made[5:9], made[13])),
        Section(id="third", title="Third", steps=made[9:12]),
    )
    return protocol_of(sections=sections, scope="Nothing.")


SHARING, APART = protocol(shares=True), protocol(shares=False)


@st.composite
def results(draw: st.DrawFn, step: Step, n: int) -> tuple[Result, ...]:
    """One or two results for different entries; own words tell the event, or are ones that several share."""
    keys = [entry.key for entry in step.entries]
    chosen = draw(st.lists(st.sampled_from(keys), min_size=1, unique=True))
    cut = draw(st.integers(1, len(chosen)))
    parts = [part for part in (chosen[:cut], chosen[cut:]) if part]
    own = [draw(st.sampled_from([f"own{n}part{index}", "ownshared"])) for index in range(len(parts))]
    return tuple(draw(result(step, tuple(part), text)) for part, text in zip(parts, own, strict=True))


@st.composite
def result(draw: st.DrawFn, step: Step, entries: tuple[str, ...], words: str) -> Result:
    outcome = draw(st.sampled_from([*Outcome, Outcome.EXPECTED, Outcome.DIFFERS]))
    found = outcome is Outcome.DIFFERS
    ids = draw(st.lists(st.sampled_from([each.id for each in step.findings]), unique=True)) if found else []
    detail = words if draw(st.booleans()) else ""
    return Result(
        entries=entries,
        outcome=outcome,
        findings=tuple(ids),
        detail=detail,
        tell=draw(st.sampled_from(["", "report", "urgent"])) if found and detail else "",
        reason=draw(st.sampled_from(["declined", "not indicated", f"reason{words}"]))
        if outcome is Outcome.NOT_EXAMINED
        else "",
    )


@st.composite
def sessions(draw: st.DrawFn, protocol: Protocol) -> Session:
    """Any legal examination, finished or not, with amendments after its end.

    Half of them begin with everything as expected, which few random acts would come to.
    """
    script = Script(protocol).start()
    is_walked = draw(st.booleans())
    if is_walked:
        script.walk()
    for _ in range(draw(st.integers(0, 8 if is_walked else 25))):
        _act(draw, script)
    if draw(st.booleans()):
        script.finish()
        for _ in range(draw(st.integers(0, 4))):
            step = draw(st.sampled_from(protocol.steps))
            given = draw(results(step, len(script.events) + 1))
            script.amend(step.id, *given, away=60, why=f"why{len(script.events) + 1}")
    return script.session


def _act(draw: st.DrawFn, script: Script) -> None:
    n = len(script.events) + 1
    step = draw(st.sampled_from(script.protocol.steps))
    match draw(
        st.sampled_from(["record"] * 6 + ["move", "remark", "told", "undo", "undo", "pause", "leave"])
    ):
        case "record":
            script.record(step.id, *draw(results(step, n)), seconds=draw(st.integers(0, 30)))
        case "move":
            script.add(Moved, 3, step=step.id)
        case "remark":
            script.remark(step.id, f"own{n}")
        case "told":
            entries = tuple(entry.key for entry in step.entries)
            chosen = draw(st.lists(st.sampled_from(entries), min_size=1, unique=True))
            script.told(step.id, tuple(chosen), ("f1", "f2", "other"), f"whom{n}")
        case "undo":
            if undoable := script.session.state.undoable:
                script.undo(undoable[-1])
        case "pause":
            script.pause(60)
        case _:
            script.leave(60)


def charting(made: Note) -> Iterator[Sentence]:
    """Sentences that say something of the session: all but the particulars, scope and signature."""
    yield from (sentence for block in made.blocks[1:-2] for sentence in block.sentences)


def words(text: str) -> set[str]:
    return set(re.findall(r"\w+", text))


def facts(session: Session, rests_on: Iterable[int]) -> set[str]:
    """Every made-up word that the given events can account for."""
    return {word for n in rests_on for word in _facts_of(session.protocol, session.events[n - 1])}


def _facts_of(protocol: Protocol, event: Event) -> Iterator[str]:
    match event:
        case Recorded() | Amended():
            step = protocol.step_of[event.step]
            yield from words(f"{step.title} {step.subject} {step.subjects}")
            for result in event.results:
                yield from words(f"{result.detail} {result.reason}")
                yield from words(step.chart) if result.outcome is Outcome.EXPECTED else ()
                for finding in result.findings:
                    yield from words(step.finding_of[finding].chart)
                for key in result.entries:
                    yield from key.split("/")
            if isinstance(event, Amended):
                yield event.why
        case Remarked():
            yield from words(f"{protocol.step_of[event.step].title} {event.text}")
        case Told():
            step = protocol.step_of[event.step]
            charts = (step.finding_of[each].chart for each in event.findings if each in step.finding_of)
            yield from words(f"{event.whom} {step.title} {step.subject} {step.subjects} {' '.join(charts)}")
            for key in event.entries:
                yield from key.split("/")


MADE_UP = re.compile(r"\b(?:sub|subs|pred|find|title|own|whom|why|reason)\w*\d*\w+\b", re.IGNORECASE)
PLACES = re.compile(r"\b(?:right|left|brim|base)\b")
OUTSIDE = re.compile(
    r"not yet told of [^.]*|[^(;]*not recorded|reason:|reasons?\b|no reason recorded|subject"
    r"|findings? to be told ha(?:s|ve)",
    re.I,
)


def made_up_words(text: str) -> set[str]:
    """The words of a sentence that only a record can account for; a capital in front does not matter."""
    text = OUTSIDE.sub("", text)
    return {word.lower() for word in MADE_UP.findall(text)} | set(PLACES.findall(text))


SOME = settings(max_examples=150, deadline=None)


@SOME
@given(sessions(SHARING))
def test_every_sentence_leads_back_to_events_that_stand_and_hold_its_words(session: Session) -> None:
    retracted = {event.event for event in session.events if isinstance(event, Retracted)}
    made = note(session)
    for block in made.blocks:
        for sentence in block.sentences:
            assert not retracted & set(sentence.rests_on)
            assert all(1 <= n <= len(session.events) for n in sentence.rests_on)
    for sentence in charting(made):
        if sentence.rests_on:
            known = {word.lower() for word in facts(session, sentence.rests_on)}
            assert made_up_words(sentence.text) - known - _not_reached(session) == set(), sentence


def _not_reached(session: Session) -> set[str]:
    return {gap.step.title.lower() for gap in gaps(session)}


@SOME
@given(sessions(SHARING))
def test_every_recorded_entry_is_represented(session: Session) -> None:
    said = list(charting(note(session)))
    for step in session.protocol:
        if is_set_aside(session, step):
            continue
        for record in session.state.records.get(step.id, {}).values():
            names = words(f"{step.title} {step.subject} {step.subjects}".lower()) - {"lobe", "lobes"}
            own = [each for each in said if record.event in each.rests_on]
            assert any(names & words(each.text.lower()) for each in own)
            for text in (record.result.detail, *_charted(step, record)):
                assert any(words(text) <= words(each.text.lower()) for each in own), text


def _charted(step: Step, record: Record) -> Iterator[str]:
    if record.result.outcome is Outcome.EXPECTED and step.subject:
        yield step.chart.split(" ", 1)[0]
    for finding in record.result.findings:
        yield step.finding_of[finding].chart.split(" ", 1)[0]


@SOME
@given(sessions(SHARING))
def test_every_telling_that_stands_is_said_with_whom_it_was_to(session: Session) -> None:
    [block] = [each for each in note(session).blocks if each.heading == "TO REPORT"]
    for told in session.state.told:
        own = [each.text for each in block.sentences if told.n in each.rests_on]
        assert any(told.whom in words(text) for text in own)
    is_nothing = [each.text for each in block.sentences if each.text.startswith("Nothing was recorded")]
    assert not (is_nothing and session.state.told)


@SOME
@given(sessions(SHARING))
def test_what_has_no_outcome_stands_under_the_heading_that_is_true_of_it(session: Session) -> None:
    blocks = {each.heading: words(" ".join(s.text for s in each.sentences)) for each in note(session).blocks}
    for step in session.protocol:
        recorded = len(session.state.records.get(step.id, {}))
        is_partial = 0 < recorded < len(step.entries)
        assert (step.title in blocks.get("RECORDED IN PART", set())) == is_partial
        if recorded:
            assert step.title not in blocks.get("NOT REACHED", set())


@SOME
@given(sessions(SHARING))
def test_what_stands_under_both_sides_was_recorded_as_expected_on_both(session: Session) -> None:
    for block in note(session).blocks:
        for row in _under_both_sides(block):
            assert len(row) > 1
            for sentence in row:
                assert not re.search(r"\b(right|left|bilaterally|own\w*)\b|not recorded|\[", sentence.text)
                _assert_expected_on_both_sides(session, sentence)


def _under_both_sides(block: Block) -> Iterator[list[Sentence]]:
    """The sentences from the label to the end of the region or to its remarks."""
    starts = [i for i, each in enumerate(block.sentences) if each.text.startswith("Both sides: ")]
    for start in starts:
        rest = block.sentences[start:]
        yield [each for each in rest if not each.text.startswith("Remark (")]


def _assert_expected_on_both_sides(session: Session, sentence: Sentence) -> None:
    said = words(sentence.text.lower())
    named = [step for step in session.protocol if step.sides and step.subjects.split(" ")[0] in said]
    assert named
    for step in named:
        records = session.state.records[step.id]
        sides = {
            entry.side
            for entry in step.entries
            if entry.key in records and records[entry.key].result.outcome is Outcome.EXPECTED
        }
        assert sides == {"right", "left"}, step.id


@SOME
@given(sessions(SHARING))
def test_what_nobody_recorded_is_nowhere_in_the_note(session: Session) -> None:
    made = note(session)
    recorded = [step for step in session.protocol if step.id in session.state.records]
    known = {word for step in recorded for word in _vocabulary(step)}
    named = {remark.step for remark in session.state.remarks} | {told.step for told in session.state.told}
    not_reached = [block for block in made.blocks if block.heading == "NOT REACHED"]
    listed = words(" ".join(each.text for block in not_reached for each in block.sentences))
    text = words(plain_text(made).lower())
    for step in session.protocol:
        if step.id not in session.state.records:
            assert not (_vocabulary(step) - known) & text
            if step.title.lower() in text and step.id not in named:
                assert step.title in listed


def _vocabulary(step: Step) -> set[str]:
    """The made-up words that chart something of a step."""
    charts = " ".join(finding.chart for finding in step.findings)
    text = f"{step.subject} {step.subjects} {step.chart} {charts}".lower()
    return {word for word in words(text) if word.startswith(("sub", "pred", "find"))} - {"subject"}


@SOME
@given(sessions(SHARING))
def test_words_that_do_not_stand_are_nowhere_in_the_note(session: Session) -> None:
    text = plain_text(note(session))
    standing = {remark.text for remark in session.state.remarks} | set(_standing_words(session))
    assert {word for word in words(text) if word.startswith("own")} <= standing


def _standing_words(session: Session) -> Iterator[str]:
    for records in session.state.records.values():
        for record in records.values():
            version: Record | None = record
            while version:
                yield version.result.detail
                version = version.replaced


@SOME
@given(sessions(SHARING))
def test_plain_text_and_markdown_hold_the_same_words(session: Session) -> None:
    made = note(session)
    plain, marked = plain_text(made), markdown(made)
    assert re.findall(r"\w+", plain.replace("_", "")) == re.findall(r"\w+", marked.replace("_", ""))


@SOME
@given(sessions(SHARING))
def test_every_sentence_ends_in_one_stop(session: Session) -> None:
    for sentence in charting(note(session)):
        assert re.search(r"[^.]\.$", sentence.text)
        assert ".." not in sentence.text
        assert "  " not in sentence.text
        assert "{" not in sentence.text


@SOME
@given(sessions(APART))
def test_swapping_right_and_left_in_the_events_swaps_them_in_the_note(session: Session) -> None:
    mirrored = replace(session).with_events([_swapped(event) for event in session.events])
    assert [_fragments(each, swap=True) for each in note(session).blocks[1:]] == [
        _fragments(each, swap=False) for each in note(mirrored).blocks[1:]
    ]


OTHER_SIDE = {"right": "left", "left": "right"}


def _swapped(event: Event) -> Event:
    match event:
        case Recorded() | Amended():
            turned = tuple(replace(each, entries=tuple(map(_turned, each.entries))) for each in event.results)
            return replace(event, results=turned)
        case Told():
            return replace(event, entries=tuple(map(_turned, event.entries)))
        case _:
            return event


def _turned(key: str) -> str:
    side, *site = key.split("/")
    return "/".join([OTHER_SIDE.get(side, side), *site])


def _fragments(block: Block, *, swap: bool) -> list[str]:
    """What a block says, piece by piece: which side is named first is no matter of this law."""
    text = " ".join(sentence.text for sentence in block.sentences).lower()
    text = re.sub(r"right and left|left and right", "both", text)
    if swap:
        text = re.sub(r"\b(right|left)\b", lambda match: OTHER_SIDE[match[0]], text)
    return sorted(filter(None, map(str.strip, re.split(r"[][.;:,()–]", text))))


@SOME
@given(sessions(SHARING), st.data())
def test_a_record_that_was_taken_back_changes_nothing(session: Session, data: st.DataObject) -> None:
    runs = [
        index
        for index in range(1, len(session.events) + 1)
        if fold(session.events[:index]).stage is Stage.RUNNING
    ]
    index = data.draw(st.sampled_from(runs))
    step = data.draw(st.sampled_from(session.protocol.steps))
    given_results = data.draw(results(step, 900))
    before = session.events[index - 1]
    at: dict[str, Any] = {"at": before.at, "clock": before.clock}
    pair = (
        Recorded(n=index + 1, step=step.id, results=given_results, **at),
        Retracted(n=index + 2, event=index + 1, **at),
    )
    later = [_shifted(event, index) for event in session.events[index:]]
    other = session.with_events([*session.events[:index], *pair, *later])
    assert plain_text(note(other)) == plain_text(note(session))


def _shifted(event: Event, index: int) -> Event:
    moved = replace(event, n=event.n + 2)
    if isinstance(moved, Retracted) and moved.event > index:
        return replace(moved, event=moved.event + 2)
    return moved


CONTROL = re.compile(
    "[\x00-\x09\x0b-\x1f\x7f-\x9f\u200b\u200e\u200f\u2028\u2029\u202a-\u202e\u2066-\u2069\ufeff]"
)
NASTY = st.text(st.sampled_from([*"ab \n\t\r\x00\x07\x1b[\x9b\u202e\u2028\ufeff`*#.:;"]), min_size=1)


@SOME
@given(st.lists(NASTY, min_size=9, max_size=9))
def test_control_characters_never_reach_a_document(texts: Sequence[str]) -> None:
    title, subject, chart, detail, remark, whom, reason, why, person = texts
    look = Step(
        id="look",
        title=title,
        technique="inspect",
        sides=True,
        do="x",
        subject=subject,
        chart=chart,
        expect="x",
    )
    made = protocol_of(look, replace(look, id="other"), title=title, scope=why)
    script = Script(made, participant=person, examiner=person, age=person).start()
    told = Result(entries=("left",), outcome=Outcome.DIFFERS, detail=detail, tell="urgent")
    script.record("look", told, Result(entries=("right",), outcome=Outcome.NOT_EXAMINED, reason=reason))
    script.remark("look", remark)
    script.told("look", ("left",), ("other",), whom)
    script.add(Finished)
    script.amend(
        "other", Result(entries=(), outcome=Outcome.UNSEEN, detail=detail), away=1, who=person, why=why
    )
    document = note(script.session)
    assert not CONTROL.search(plain_text(document))
    assert not CONTROL.search(markdown(document))


@pytest.mark.parametrize("form", [Form.PARAGRAPH, Form.ITEMS])
def test_the_laws_look_at_the_blocks_they_mean_to(form: Form) -> None:
    """The sentences under the laws are the ones between the particulars and the scope."""
    script = Script(SHARING).start()
    script.record("stepd", Result(entries=("left",), outcome=Outcome.DIFFERS, findings=("f2",)))
    made = note(script.session)
    assert [block.heading for block in made.blocks[-2:]] == ["SCOPE", ""]
    assert any(block.form is form for block in made.blocks[1:-2])
    first = next(charting(made))
    assert first.text.startswith("URGENT, tell at once: left subd lobe find2d.")
