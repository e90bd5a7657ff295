"""The handoff: what differs, most urgent first, with times; what is asked for is left to the person.

The golden texts were written by hand from the protocol and the script of each session; none is our output.
"""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklist.cli import main
from checklist.folders import bundled_protocols
from checklist.reasoning.alerts import alerts
from checklist.session.session import Session
from checklist.summary.document import markdown, plain_text
from checklist.summary.handoff import handoff
from checklist.summary.note import NoNoteError
from tests import note_sessions as made
from tests.helpers import histories, new_session
from tests.note_sessions import (
    ASK,
    GOLDEN,
    PROTOCOL,
    PUPIL,
    Script,
    differs,
    not_done,
    protocol_of,
    read_protocol,
    same,
)

SESSIONS: dict[str, Callable[[], Session]] = {
    "wholly-expected": made.wholly_expected,
    "two-differences": made.two_differences_and_a_declined_step,
    "interrupted": made.interrupted_and_resumed,
    "mostly-not-reached": made.mostly_not_reached,
}
READ_BACK = "Read back by ______________ at ______."
TOLD = "Told ______________ at ______."


@pytest.mark.parametrize("name", SESSIONS)
def test_the_handoff_reads_as_its_golden_text(name: str) -> None:
    golden = (GOLDEN / f"handoff-{name}.txt").read_text(encoding="utf-8")
    assert plain_text(handoff(SESSIONS[name]())) == golden


def test_the_handoff_in_markdown_reads_as_its_golden_text() -> None:
    golden = (GOLDEN / "handoff-two-differences.md").read_text(encoding="utf-8")
    assert markdown(handoff(made.two_differences_and_a_declined_step())) == golden


def items(script: Script, heading: str) -> list[str]:
    """The items under a heading, none when it is not there."""
    blocks = handoff(script.session).blocks
    return [sentence.text for each in blocks if each.heading == heading for sentence in each.sentences]


def test_the_most_urgent_comes_first_wherever_it_stands_in_the_protocol() -> None:
    script = Script(PROTOCOL).start()
    script.record("ask", differs(findings=("ache",)), seconds=60)
    script.record("pupil", differs("right", findings=("slow",)), seconds=60)
    script.record("neck", differs(findings=("stiff",)), seconds=60)

    assert items(script, "SITUATION")[1:] == [
        "(1) URGENT, tell at once: neck stiff. Recorded 14:08.",
        "(2) Report before leaving: patient reports headache. Recorded 14:06.",
        "(3) Report before leaving: right pupil slow to light. Recorded 14:07.",
    ]


def test_in_a_region_the_most_urgent_comes_first_with_its_other_side() -> None:
    script = Script(PROTOCOL).start()
    script.record("pupil", differs("right", findings=("oval",)), same("left"), seconds=60)
    script.record("neck", differs(findings=("stiff",)), seconds=60)

    assert items(script, "ASSESSMENT") == [
        "Region, 14:07 – Neck stiff.",
        "Region, 14:06 – Right pupil oval. Left pupil round.",
    ]


def test_a_finding_recorded_at_two_times_has_both() -> None:
    script = Script(PROTOCOL).start()
    script.record("pupil", differs("right", findings=("slow",)), seconds=60)
    script.record("pupil", differs("left", findings=("slow",)), seconds=120)

    told = "(1) Report before leaving: pupils slow to light bilaterally. Recorded 14:06 and 14:08."
    assert items(script, "SITUATION")[1:] == [told]


def test_own_words_beside_two_findings_are_said_once() -> None:
    script = Script(PROTOCOL).start()
    script.record("pupil", differs("right", findings=("slow", "fixed"), detail="3 mm"), seconds=60)

    assert items(script, "SITUATION")[1:] == [
        "(1) URGENT, tell at once: right pupil fixed: 3 mm. Recorded 14:06.",
        "(2) Report before leaving: right pupil slow to light. Recorded 14:06.",
    ]


def test_questions_lose_the_words_that_begin_all_of_them_or_keep_their_titles_whole() -> None:
    both = protocol_of(ASK, replace(ASK, id="sleep", title="Ask about sleep"))
    mixed = protocol_of(ASK, replace(ASK, id="since", title="Find out since when"))
    found = [items(Script(each).start().walk(), "BACKGROUND") for each in (both, mixed)]

    assert found == [
        ["Asked, answers as expected: headache; sleep."],
        ["Asked, answers as expected: ask about headache; find out since when."],
    ]


def test_what_the_patient_reports_is_background_and_no_assessment() -> None:
    script = Script(PROTOCOL).start()
    script.record("ask", differs(findings=("ache",), detail='"like a band"'), seconds=60)

    assert items(script, "BACKGROUND")[0] == 'Reported, 14:06 – Patient reports headache: "like a band".'
    assert items(script, "ASSESSMENT") == []


def test_an_act_that_was_done_otherwise_or_not_is_said() -> None:
    script = Script(PROTOCOL).start()
    script.record("wash", not_done(reason="not available"))
    script.record("agree", differs(findings=("part",)), seconds=60)

    assert items(script, "BACKGROUND")[:2] == [
        "Region, 14:06 – Consent given in part.",
        "Not done, not available: Clean hands.",
    ]


class TestTold:
    """Who is to be told, who was, and the boxes for reading back."""

    def test_nobody_was_told_so_that_name_and_time_are_left_blank(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("pupil", differs("right", findings=("fixed",)))

        open_item = f"(1) Not yet told; to be told: rapid response team. {TOLD} {READ_BACK}"
        assert items(script, "RECOMMENDATION")[2:] == [open_item]

    def test_one_side_told_is_not_both(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("pupil", differs("right", "left", findings=("slow",)), seconds=60)
        script.told("pupil", ("right",), ("slow",), "N-12")

        assert items(script, "RECOMMENDATION")[2:] == [
            "(1) Not yet told of left; to be told: nurse in charge. Told of right: N-12, 14:06."
            f" {TOLD} {READ_BACK}"
        ]

    def test_what_was_told_to_one_person_at_one_time_is_read_back_once(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("ask", differs(findings=("ache",)))
        script.record("pupil", differs("right", findings=("slow",)))
        script.told("ask", ("whole",), ("ache",), "nurse in charge")
        script.told("pupil", ("right",), ("slow",), "nurse in charge")

        assert items(script, "RECOMMENDATION")[2:] == [
            f"(1) and (2) To be told: nurse in charge. Told nurse in charge, 14:05. {READ_BACK}"
        ]

    def test_what_was_told_and_changed_afterwards_is_not_lost(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("neck", differs(findings=("stiff",)))
        script.told("neck", ("whole",), ("stiff",), "physician on call")
        script.record("neck", same(), seconds=60)

        assert (
            items(script, "SITUATION")[1]
            == "Nothing that was recorded differs from what this protocol expects."
        )
        assert items(script, "RECOMMENDATION")[-1] == (
            "Told physician on call, 14:05, of what was changed afterwards: neck stiff."
            " Recorded anew at 14:06: neck bending freely."
        )


def test_what_is_asked_for_is_left_to_the_person() -> None:
    script = Script(PROTOCOL).start()
    script.record("neck", differs(findings=("stiff",)))
    asked_for, agreed, *_ = items(script, "RECOMMENDATION")

    assert asked_for.strip("_ ") == "Asked for:"
    assert agreed.replace("_", "").split() == ["Agreed:", "By", "when:"]


def test_nothing_recorded_is_not_nothing_different() -> None:
    assert items(Script(PROTOCOL).start(), "SITUATION")[1:] == ["Nothing was recorded."]


def test_a_difference_that_nobody_need_be_told_of_is_no_headline_and_stands_in_the_assessment() -> None:
    script = Script(protocol_of(PUPIL)).start()
    script.record("pupil", differs("right", "left", findings=("oval",)))

    assert items(script, "SITUATION")[1:] == ["Nothing was recorded that this protocol marks to be told."]
    assert items(script, "ASSESSMENT") == ["Region, 14:05 – Pupils oval bilaterally."]


def test_an_observation_yields_no_handoff() -> None:
    script = Script(PROTOCOL, mode="observation").start()
    with pytest.raises(NoNoteError, match=r"^this session's mode is 'observation': only an examination"):
        handoff(script.session)


def test_complete_patterns_and_computed_values_are_told_with_what_they_rest_on() -> None:
    """The ears of the bundled protocol: wax, and fork tests that hear the left ear through the bone."""
    protocol = read_protocol(bundled_protocols() / "head-and-neck.toml")
    script = Script(protocol).start()
    script.record("inspect-ear-canals", differs("left", findings=("wax-full",)), same("right"))
    script.record("test-weber", differs(findings=("left",)))
    script.record("test-rinne", differs("left", findings=("bone-longer",)), same("right"))
    situation = " ".join(items(script, "SITUATION"))

    assert (
        "Report before leaving: consider: fork tests in a pattern of conductive loss on the left" in situation
    )
    assert "Recorded: left ear canal blocked by wax; Weber left; Rinne right AC>BC, left BC>AC" in situation
    computed = [
        item for item in items(script, "ASSESSMENT") if item.startswith("Computed – Tuning fork tests:")
    ]
    assert len(computed) == 1
    assert "Weber left; Rinne right AC>BC, left BC>AC" in computed[0]


def test_each_sentence_from_the_record_names_its_events() -> None:
    for block in handoff(made.two_differences_and_a_declined_step()).blocks[1:4]:
        for sentence in block.sentences:
            is_fixed = sentence.text.startswith("Examiner ")
            assert bool(sentence.rests_on) is not is_fixed, sentence.text


@given(data=st.data())
def test_whatever_happened_each_thing_to_be_told_is_a_headline(data: st.DataObject) -> None:
    session = new_session()
    session = session.with_events(data.draw(histories(session)))
    blocks = {block.heading: [each.text for each in block.sentences] for block in handoff(session).blocks}
    headlines = [text for text in blocks["SITUATION"] if text.startswith("(")]

    assert len(headlines) == len(alerts(session))
    assert ["URGENT" in text for text in headlines] == [
        alert.finding.tell == "urgent" for alert in alerts(session)
    ]


def test_the_command_prints_it_and_writes_it_to_a_new_private_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("EXAM_CHECKLIST_HOME", str(tmp_path))
    assert main(["demo", "--keep", str(tmp_path / "sessions")]) == 0
    capsys.readouterr()
    assert main(["handoff"]) == 0
    printed = capsys.readouterr().out
    target = tmp_path / "handoff.txt"
    assert main(["handoff", "--output", str(target)]) == 0

    assert printed.startswith("SIMULATED RECORD")
    assert target.read_text(encoding="utf-8") == printed
    assert target.stat().st_mode & 0o077 == 0


def test_a_file_that_is_no_session_gives_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "other.toml"
    path.write_text("title = 'x'\n", encoding="utf-8")

    assert main(["handoff", str(path)]) == 1
    assert capsys.readouterr().err == f"checklist: {path}: not a session file, or its first part is damaged\n"
