"""A correction after the end takes nothing away that was to be told and was not."""

from checklist.folders import bundled_protocols
from checklist.session.events import Retracted
from checklist.summary.handoff import NOTHING_DIFFERS, handoff
from tests.note_sessions import PROTOCOL, Script, block, differs, read_protocol, same

CORRECTED = (
    "Was to be told at once (physician on call) and was not, then corrected 14:16 by E-03 to: neck bending"
    " freely. Original: neck stiff. Reason: wrong key."
)


def stiff() -> Script:
    """A finding to be told at once, found at 14:06."""
    script = Script(PROTOCOL).start()
    script.record("neck", differs(findings=("stiff",)), seconds=60)
    return script


def situation(script: Script) -> list[str]:
    return [
        sentence.text
        for each in handoff(script.session).blocks
        if each.heading == "SITUATION"
        for sentence in each.sentences
    ][1:]


def corrected(script: Script, *, away: float = 600) -> int:
    return script.amend("neck", same(), away=away, who="E-03", why="wrong key")


def test_what_nobody_was_told_of_stays_in_sight_after_a_correction() -> None:
    script = stiff().finish()
    corrected(script)

    assert block(script, "TO REPORT") == [CORRECTED]
    assert situation(script) == [CORRECTED]


def test_the_correction_itself_is_marked_in_the_handoff() -> None:
    script = stiff().finish()
    corrected(script)
    texts = [each.text for part in handoff(script.session).blocks for each in part.sentences]

    assert "Region, 14:16 – Neck bending freely [corrected]." in texts
    assert NOTHING_DIFFERS not in texts


def test_only_the_side_that_was_taken_away_is_named() -> None:
    script = Script(PROTOCOL).start()
    script.record("pupil", differs("right", "left", findings=("fixed",)), seconds=60)
    script.finish()
    script.amend("pupil", same("right"), away=600, why="wrong side")
    still, gone = block(script, "TO REPORT")

    assert still == "URGENT, tell at once: left pupil fixed. Not yet told; to be told: rapid response team."
    assert gone == (
        "Was to be told at once (rapid response team) and was not, then corrected 14:16 by E-02 to: right"
        " pupil round. Original: right pupil fixed. Reason: wrong side."
    )


def test_own_words_that_were_to_be_told_count_too_and_urgent_ones_come_first() -> None:
    script = Script(PROTOCOL).start()
    script.record("ask", differs(findings=("ache",)), seconds=60)
    script.record("pupil", differs("left", detail="black rim", tell="urgent"))
    script.finish()
    script.amend("ask", same(), away=60, why="misheard")
    script.amend("pupil", same("left"), away=60, why="a shadow")

    assert block(script, "TO REPORT") == [
        "Was to be told at once (physician on call) and was not, then corrected 14:08 by E-02 to: left pupil"
        " round. Original: left pupil: black rim. Reason: a shadow.",
        "Was to be told before leaving (nurse in charge) and was not, then corrected 14:07 by E-02 to:"
        " patient reports no headache. Original: patient reports headache. Reason: misheard.",
    ]


def test_what_was_told_in_time_was_told_and_is_no_second_item() -> None:
    script = stiff()
    script.told("neck", ("whole",), ("stiff",), "N-12")
    script.finish()
    corrected(script)
    (only,) = block(script, "TO REPORT")

    assert only.startswith("Told N-12, 14:06, of what was changed afterwards: neck stiff.")


def test_a_telling_that_was_taken_back_told_nobody() -> None:
    script = stiff().finish()
    told = script.told("neck", ("whole",), ("stiff",), "N-12")
    corrected(script)
    script.add(Retracted, event=told)

    assert block(script, "TO REPORT") == [CORRECTED]


def test_what_followed_from_the_record_and_no_longer_does_is_kept_with_its_usual_words() -> None:
    """Wax and fork tests of the bundled protocol: without the fork to the left there is no pattern."""
    protocol = read_protocol(bundled_protocols() / "head-and-neck.toml")
    script = Script(protocol).start()
    script.record("inspect-ear-canals", differs("left", findings=("wax-full",)), same("right"))
    script.record("test-weber", differs(findings=("left",)))
    script.record("test-rinne", differs("left", findings=("bone-longer",)), same("right"))
    script.finish()
    script.amend("test-weber", same(), away=60, why="wrong key")
    gone = [text for text in block(script, "TO REPORT") if text.startswith("Was to be told")]

    begin = (
        "Was to be told before leaving (the supervising nurse or instructor) and was not, then corrected"
        " 14:06 by E-02 to: Weber test heard in the midline. Original: "
    )
    assert gone[0] == f"{begin}Weber test heard louder on the left. Reason: wrong key."
    assert gone[1].startswith(f"{begin}consider: fork tests in a pattern of conductive loss on the left")
    assert len(gone) == 2


def test_what_a_later_amendment_puts_back_stands_and_is_told_as_such() -> None:
    script = stiff().finish()
    corrected(script)
    script.amend("neck", differs(findings=("stiff",)), away=60, why="it was right")
    (only,) = block(script, "TO REPORT")

    assert (
        only == "URGENT, tell at once: neck stiff [corrected]. Not yet told; to be told: physician on call."
    )


def test_what_was_said_to_others_is_not_read_as_if_all_had_been_told() -> None:
    script = Script(PROTOCOL).start()
    script.record("agree", same())
    script.record("neck", differs(findings=("stiff",)))
    once = block(script, "CONDUCT")
    script.record("ask", differs(findings=("ache",)))
    twice = block(script, "CONDUCT")
    script.told("neck", ("whole",), ("stiff",), "N-12")
    script.told("ask", ("whole",), ("ache",), "N-12")

    assert once == ["Done: consent given.", "1 finding to be told has no record of being told."]
    assert twice[1:] == ["2 findings to be told have no record of being told."]
    assert block(script, "CONDUCT") == ["Done: consent given."]


def test_what_was_recorded_anew_before_the_end_is_no_correction() -> None:
    script = stiff()
    script.record("neck", same())
    script.finish()

    assert block(script, "TO REPORT") == ["Nothing was recorded that this protocol marks to be told."]
