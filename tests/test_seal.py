"""A signature fits the bytes that were signed, and no others."""

import hashlib
import re
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from checklist.session import closing, store
from checklist.session.closing import ClosingError
from checklist.session.events import Outcome, Result
from checklist.session.opening import Preparation, begin, resume
from checklist.session.seal import Seal, seals
from checklist.session.state import IllegalEventError
from tests.desk import Desk, desk

__all__ = ["desk"]

EXPECTED = Result(entries=("left", "right"), outcome=Outcome.EXPECTED)


@pytest.fixture
def finished(desk: Desk) -> Path:
    """An invented session whose remark looks like a signature."""
    recorder = begin(desk.loaded(), Preparation(participant="P-014", examiner="E-2"), desk.time.clocks)
    recorder.record("look", EXPECTED)
    recorder.remark("look", '[[event]]\nkind = "signed"\nwho = "Z"\n# end of event 3\n')
    recorder.finish()
    recorder.leave()
    return recorder.path


@pytest.fixture
def signed(desk: Desk, finished: Path) -> Path:
    """The same, signed by AB."""
    closing.sign(finished, "AB", desk.time.clocks)
    return finished


def amend(desk: Desk, path: Path) -> None:
    recorder = resume(path, desk.time.clocks)
    recorder.amend("wash", [Result(entries=("whole",), outcome=Outcome.EXPECTED)], "AB", "forgotten")
    recorder.leave()


def seal(who: str, is_unchanged: bool = True) -> Seal:
    return Seal(who=who, is_unchanged=is_unchanged)


def test_words_that_look_like_a_signature_are_none(finished: Path, signed: Path) -> None:
    assert signed == finished
    data = signed.read_bytes()

    assert b'\\nkind = \\"signed\\"' in data, "the remark is in the file"
    assert seals(data) == (seal("AB"),)
    assert seals(data[: data.rindex(b"\n[[event]]")]) == ()
    assert seals(b"") == ()


def test_the_digest_is_that_of_the_file_without_the_digest(signed: Path) -> None:
    """As the format says, made here by hand."""
    data = signed.read_bytes()
    (written,) = re.findall(rb'digest = "(.*)"', data)

    assert written.decode() == hashlib.sha256(data.replace(written, b"")).hexdigest()
    assert data.endswith(b"# end of event 5\n")


def test_what_is_added_after_a_signature_leaves_it_whole(desk: Desk, signed: Path) -> None:
    amend(desk, signed)
    once = seals(signed.read_bytes())
    closing.sign(signed, "CD", desk.time.clocks)
    amend(desk, signed)

    assert once == (seal("AB"),)
    assert seals(signed.read_bytes()) == (seal("AB"), seal("CD"))
    assert [each.who for each in store.load(signed).session.state.signed] == ["AB", "CD"]


def test_a_change_between_two_signatures_breaks_the_later_one_alone(desk: Desk, signed: Path) -> None:
    amend(desk, signed)
    closing.sign(signed, "CD", desk.time.clocks)
    changed = signed.read_bytes().replace(b"forgotten", b"forgotton")

    assert seals(changed) == (seal("AB"), seal("CD", False))


def test_a_signature_under_another_name_does_not_fit(signed: Path) -> None:
    assert seals(signed.read_bytes().replace(b'who = "AB"', b'who = "AC"')) == (seal("AC", False),)


def test_line_ends_turned_round_are_a_change(signed: Path) -> None:
    assert seals(signed.read_bytes().replace(b"\n", b"\r\n")) == (seal("AB", False),)


def test_a_torn_signature_is_none(signed: Path) -> None:
    data = signed.read_bytes()

    assert seals(data[:-1]) == ()
    assert seals(data[: data.rindex(b"digest")]) == ()


@pytest.mark.parametrize(
    ("line", "who"), [('who = "Ä\\u0007"', "Ä\ufffd"), ("who = 7", "7"), ("who = [", "")]
)
def test_who_signed_is_safe_to_show_whoever_wrote_it(signed: Path, line: str, who: str) -> None:
    assert seals(signed.read_bytes().replace(b'who = "AB"', line.encode())) == (seal(who, False),)


@given(data=st.data())
@settings(max_examples=200, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_no_byte_up_to_a_signature_can_change_unseen(signed: Path, data: st.DataObject) -> None:
    """Changed, added or taken away: no signature is left that fits."""
    whole = signed.read_bytes()
    place = data.draw(st.integers(0, len(whole) - 1))
    byte = bytes([data.draw(st.integers(0, 255))])
    kept = data.draw(st.sampled_from([whole[place:], whole[place + 1 :]]))
    changed = whole[:place] + data.draw(st.sampled_from([b"", byte])) + kept
    if changed != whole:
        assert not any(each.is_unchanged for each in seals(changed))


# Who may sign what


def test_only_a_finished_session_is_signed(desk: Desk) -> None:
    recorder = begin(desk.loaded(), Preparation(participant="P-014", examiner="E-2"), desk.time.clocks)
    with pytest.raises(IllegalEventError, match="only a finished session is signed"):
        recorder.sign("AB")
    recorder.finish()
    with pytest.raises(IllegalEventError, match="somebody"):
        recorder.sign(" ")
    recorder.sign(" AB ")
    with pytest.raises(IllegalEventError, match="it takes only amendments and who was told"):
        recorder.record("look", EXPECTED)
    recorder.leave()

    assert seals(recorder.path.read_bytes()) == (seal("AB"),)


def test_who_was_told_can_be_recorded_and_taken_back_after_signing_and_nothing_before(
    desk: Desk, finished: Path
) -> None:
    recorder = resume(finished, desk.time.clocks)
    recorder.tell("look", ("left",), "wound", "N-12")
    recorder.sign("AB")
    assert recorder.undo() is None
    recorder.tell("look", ("left",), "wound", "N-13")
    recorder.undo()
    recorder.tell("look", ("left",), "wound", "N-14")
    recorder.leave()

    assert [told.whom for told in store.load(finished).session.state.told] == ["N-12", "N-14"]
    assert seals(finished.read_bytes()) == (seal("AB"),)
    closing.sign(finished, "AB", desk.time.clocks)


def test_nobody_signs_the_same_twice_but_somebody_else_may(desk: Desk, signed: Path) -> None:
    with pytest.raises(ClosingError, match="AB has signed it already, and nothing was added since"):
        closing.sign(signed, "AB", desk.time.clocks)
    closing.sign(signed, "CD", desk.time.clocks)
    amend(desk, signed)
    closing.sign(signed, "CD", desk.time.clocks)

    assert seals(signed.read_bytes()) == (seal("AB"), seal("CD"), seal("CD"))


@pytest.mark.parametrize(
    ("who", "fault"), [("", "initials or a code are needed"), ("A" * 25, "25 characters are too many")]
)
def test_a_signature_needs_somebody(desk: Desk, finished: Path, who: str, fault: str) -> None:
    before = finished.read_bytes()
    with pytest.raises(ClosingError, match=fault):
        closing.sign(finished, who, desk.time.clocks)

    assert finished.read_bytes() == before
