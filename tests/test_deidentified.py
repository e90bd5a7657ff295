"""A session without what points at a person: no code, date or typed word, and the same findings and times."""

from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklist.errors import ChecklistError
from checklist.session.codec import decode, encode_event, encode_header
from checklist.session.events import (
    REASONS,
    Amended,
    Event,
    Finished,
    Marked,
    Outcome,
    Recorded,
    Remarked,
    Retracted,
    Signed,
    Started,
    Told,
    Unknown,
)
from checklist.session.session import Session
from checklist.summary.deidentified import LEFT_OUT, NOT_NAMED, deidentified, typed_words
from checklist.summary.document import plain_text
from checklist.summary.note import note
from tests.helpers import (
    a_whole_examination,
    differs,
    histories,
    new_session,
    not_examined,
    result,
    script,
)

SECRET = "zzsecret"
WOUND: dict[str, Any] = {"step": "look", "entries": ("left",), "findings": ("wound",)}


def of(*parts: tuple[type[Event], dict[str, Any]], **header: Any) -> Session:
    return new_session(**header).with_events(script(*parts))


def as_file(session: Session) -> str:
    return encode_header(session.header, session.table) + "".join(map(encode_event, session.events))


def test_codes_become_others_and_one_person_keeps_one_code() -> None:
    session = of(
        (Started, {"step": "wash"}),
        (Finished, {}),
        (Amended, {"step": "look", "results": (result("left"),), "who": "E-2", "why": "forgotten"}),
        (Amended, {"step": "look", "results": (result("right"),), "who": "N-9", "why": "forgotten"}),
        participant="Anna",
        observer="Tutor",
    )
    made = deidentified(session)

    assert (made.header.participant, made.header.examiner, made.header.observer) == ("P-1", "E-1", "O-1")
    assert [event.who for event in made.events if isinstance(event, Amended)] == ["E-1", "E-2"]


def test_times_count_from_the_first_moment_of_2000_in_utc() -> None:
    created = datetime(2026, 3, 2, 23, 50, tzinfo=timezone(timedelta(hours=5, minutes=30)))
    begun = Started(n=1, at=created + timedelta(seconds=30), clock=0.0, step="wash")
    ended = Finished(n=2, at=created + timedelta(minutes=20), clock=1170.0)
    made = deidentified(new_session(created=created).with_events([begun, ended]))

    assert made.header.created == datetime(2000, 1, 1, tzinfo=UTC)
    assert [event.at for event in made.events] == [
        datetime(2000, 1, 1, 0, 0, 30, tzinfo=UTC),
        datetime(2000, 1, 1, 0, 20, tzinfo=UTC),
    ]
    assert all(event.at.utcoffset() == timedelta() for event in made.events)
    assert [event.clock for event in made.events] == [0.0, 1170.0]
    assert made.header.id == "20000101-000000-hand-0000"


def test_the_end_of_the_id_is_what_is_handed_in() -> None:
    assert deidentified(new_session(), mark="9af3").header.id == "20000101-000000-hand-9af3"


def test_the_time_of_a_telling_moves_with_all_times() -> None:
    """Created at 14:22:33; told at 14:23, which is half a minute later."""
    session = of(
        (Started, {"step": "wash"}),
        (Recorded, {"step": "look", "results": (differs("left", findings=("wound",)),)}),
        (Told, {**WOUND, "whom": "charge nurse", "when": "14:24"}),
        (Told, {**WOUND, "whom": "charge nurse", "when": "at noon"}),
    )
    assert [told.when for told in deidentified(session).state.told] == ["00:01", ""]


@pytest.mark.parametrize(
    ("whom", "expected"),
    [
        ("charge nurse", "charge nurse"),
        ("rapid response team", "rapid response team"),
        ("E-2", "E-1"),
        ("Anna Smith", NOT_NAMED),
        ("", ""),
    ],
)
def test_who_was_told_is_kept_only_as_a_role_of_the_protocol(whom: str, expected: str) -> None:
    session = of(
        (Started, {"step": "wash"}),
        (Recorded, {"step": "look", "results": (differs("left", findings=("wound",)),)}),
        (Told, {**WOUND, "whom": whom, "when": "14:23"}),
    )
    [told] = deidentified(session).state.told
    assert told.whom == expected


def with_words() -> Session:
    """A session with the secret wherever somebody can type."""
    return of(
        (Started, {"step": "wash"}),
        (Recorded, {"step": "look", "results": (differs("left", findings=("wound",), detail=SECRET),)}),
        (Recorded, {"step": "wash", "results": (not_examined(reason=SECRET),)}),
        (Recorded, {"step": "grip", "results": (not_examined(reason=REASONS[0]),)}),
        (Remarked, {"step": "look", "text": SECRET}),
        (Marked, {"step": "look", "mark": "done incorrectly", "detail": SECRET}),
        (Remarked, {"step": "look", "text": SECRET}),
        (Retracted, {"event": 7}),
        (Told, {**WOUND, "whom": SECRET, "when": "14:23"}),
        (Finished, {}),
        (
            Amended,
            {"step": "look", "results": (result("right", detail=SECRET),), "who": SECRET, "why": SECRET},
        ),
        (Signed, {"who": SECRET, "digest": "0" * 64}),
        participant=SECRET,
        examiner=SECRET,
        observer=SECRET,
    )


def test_no_typed_word_and_no_code_is_left_anywhere_in_the_file() -> None:
    assert SECRET in as_file(with_words())
    assert SECRET not in as_file(deidentified(with_words()))


def test_words_that_were_left_out_are_said_to_be() -> None:
    made = deidentified(with_words())
    record = made.state.records["look"]["left"].result

    assert (record.outcome, record.findings, record.detail) == (Outcome.DIFFERS, ("wound",), LEFT_OUT)
    assert made.state.records["wash"]["whole"].result.reason == LEFT_OUT
    assert made.state.records["grip"]["whole"].result.reason == REASONS[0]
    assert [remark.text for remark in made.state.remarks] == [LEFT_OUT]
    assert list(typed_words(made)) == []


def test_where_nothing_was_typed_nothing_is_put() -> None:
    session = of(
        (Started, {"step": "wash"}), (Recorded, {"step": "look", "results": (result("left", "right"),)})
    )
    assert LEFT_OUT not in as_file(deidentified(session))


def test_words_are_kept_when_they_are_asked_for_but_no_code_and_no_name_of_who_was_told() -> None:
    session = of(
        (Started, {"step": "wash"}),
        (Recorded, {"step": "look", "results": (differs("left", detail="3 mm"),)}),
        (Told, {**WOUND, "whom": "Anna Smith", "when": "14:23"}),
    )
    text = as_file(deidentified(session, keep_text=True))

    assert "3 mm" in text
    assert "Anna" not in text
    assert "P-014" not in text


def test_typed_words_are_listed_with_their_events() -> None:
    assert [n for n, text in typed_words(with_words()) if text == SECRET] == [2, 3, 5, 6, 7, 11, 11]


def test_a_signature_and_an_unknown_event_go_and_the_rest_is_numbered_anew() -> None:
    strange = (Unknown, {"name": "weighed", "fields": {"by": SECRET}})
    session = of(
        (Started, {"step": "wash"}),
        strange,
        (Remarked, {"step": "wash", "text": "one"}),
        (Retracted, {"event": 3}),
        (Finished, {}),
        (Signed, {"who": "E-2", "digest": "0" * 64}),
    )
    made = deidentified(session)

    assert [(event.n, event.kind) for event in made.events] == [
        (1, "started"),
        (2, "remarked"),
        (3, "retracted"),
        (4, "finished"),
    ]
    assert made.state.remarks == ()


def test_age_band_setting_mode_equipment_and_protocol_are_kept() -> None:
    session = new_session(
        age="18 to 64", setting="care", mode="observation", assessed=True, fictional=True, missing=("light",)
    )
    made = deidentified(session)

    assert (session.header.deidentified, made.header.deidentified) == (False, True)
    kept = ("age", "setting", "mode", "assessed", "fictional", "missing", "app_version")
    assert [getattr(made.header, each) for each in kept] == [getattr(session.header, each) for each in kept]
    assert made.protocol == session.protocol
    assert made.table == session.table


def test_times_that_no_examination_has_are_refused_in_a_line() -> None:
    far = datetime(2400, 1, 1, tzinfo=UTC)
    session = new_session().with_events([Started(n=1, at=far, clock=0.0, step="wash")])
    with pytest.raises(ChecklistError, match="more than a hundred years apart"):
        deidentified(session)


def test_the_note_of_it_differs_in_codes_times_and_words_alone() -> None:
    text = plain_text(note(deidentified(new_session().with_events(a_whole_examination()))), width=200)

    assert text.splitlines()[1] == "DE-IDENTIFIED – codes and dates were replaced"
    assert "Participant P-1, examiner E-1." in text
    assert "left hand with an open wound: [words left out]. Told charge nurse, 00:00." in text
    assert "2026" not in text.replace("2026-01-31", "")


@given(data=st.data())
def test_whatever_happened_it_can_be_read_again_and_stands_the_same(data: st.DataObject) -> None:
    session = new_session()
    session = session.with_events(data.draw(histories(session)))
    made = deidentified(session)
    header, table, events = decode(as_file(made))

    assert (header, table, events) == (made.header, dict(made.table), made.events)
    assert made.state.stage is session.state.stage
    assert made.state.clock == session.state.clock
    assert dict(made.state.seconds) == dict(session.state.seconds)
    assert outcomes(made) == outcomes(session)


def outcomes(session: Session) -> dict[tuple[str, str], tuple[str, tuple[str, ...]]]:
    return {
        (step, entry): (record.result.outcome, record.result.findings)
        for step, records in session.state.records.items()
        for entry, record in records.items()
    }
