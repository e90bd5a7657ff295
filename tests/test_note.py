"""The note of an examination, block by block; expected texts are written by hand."""

import subprocess
import sys
from dataclasses import replace
from datetime import datetime, timedelta, timezone

import pytest

from checklist.folders import bundled_protocols
from checklist.protocol.model import Reading, Section
from checklist.session.events import Left, Moved, Paused
from checklist.summary.document import Block, Form, markdown, plain_text
from checklist.summary.note import NoNoteError, note
from tests.note_sessions import (
    EARS_AND_NECK,
    EXTRA,
    LENS,
    NECK,
    PROTOCOL,
    PUPIL,
    Script,
    block,
    differs,
    mostly_not_reached,
    not_done,
    protocol_of,
    read_protocol,
    same,
    step,
    two_differences_and_a_declined_step,
    unseen,
    wholly_expected,
)

SIMULATED = "SIMULATED RECORD – practice, not a patient's record"


class TestWhichSessions:
    @pytest.mark.parametrize("mode", ["rehearsal", "observation", "recording"])
    def test_only_an_examination_yields_a_note(self, mode: str) -> None:
        session = Script(PROTOCOL, mode=mode).start().session
        with pytest.raises(NoNoteError, match=f"this session's mode is '{mode}': only an examination yields"):
            note(session)

    def test_practice_is_marked_in_the_first_and_the_last_line(self) -> None:
        made = note(two_differences_and_a_declined_step())
        plain, marked = plain_text(made).splitlines(), markdown(made).splitlines()
        assert (plain[0], plain[-1]) == (SIMULATED, SIMULATED)
        assert (marked[0], marked[-1]) == (f"**{SIMULATED}**", f"**{SIMULATED}**")

    def test_care_is_not_marked(self) -> None:
        assert note(Script(PROTOCOL, setting="care").start().finish().session).banner == ()

    def test_an_unknown_setting_is_marked_as_practice(self) -> None:
        assert note(Script(PROTOCOL, setting="").start().finish().session).banner == (SIMULATED,)

    def test_an_invented_example_says_so(self) -> None:
        expected = (SIMULATED, "INVENTED EXAMPLE – no real person, place or event")
        assert note(wholly_expected()).banner == expected

    def test_an_unfinished_session_says_so(self) -> None:
        script = Script(PROTOCOL, setting="care")
        said: list[str] = []
        for add in (lambda: None, script.start, lambda: script.add(Paused), lambda: script.add(Left)):
            add()
            said += note(script.session).banner
        stages = ("not started", "under way", "paused", "left unfinished")
        assert said == [f"UNFINISHED – {stage}: this is what was recorded so far" for stage in stages]


class TestParticulars:
    def first(self, script: Script) -> str:
        return " ".join(sentence.text for sentence in note(script.session).blocks[0].sentences)

    def test_a_session_that_never_started_has_a_date_and_no_times(self) -> None:
        expected = "Participant P-014, age band 18 to 64, examiner E-02. 2026-03-02, not started."
        assert self.first(Script(PROTOCOL)) == expected

    def test_without_an_age_band_nothing_is_said_of_age(self) -> None:
        assert self.first(Script(PROTOCOL, age="")).startswith("Participant P-014, examiner E-02. ")

    @pytest.mark.parametrize(
        ("seconds", "expected"),
        [
            (29, "14:05 (UTC+01:00); less than a minute of examination."),
            (31, "14:05 (UTC+01:00); 1 minute of examination."),
            (600, "14:05–14:15 (UTC+01:00); 10 minutes of examination."),
        ],
    )
    def test_times_are_24_hour_and_minutes_are_rounded(self, seconds: float, expected: str) -> None:
        script = Script(PROTOCOL).start()
        script.add(Moved, seconds, step="ask")
        assert self.first(script.finish()).endswith(f"E-02. 2026-03-02, {expected}")

    def test_past_midnight_the_end_has_its_own_date(self) -> None:
        begin = datetime(2026, 3, 2, 23, 50, tzinfo=timezone(timedelta(hours=-5)))
        script = Script(PROTOCOL, begin=begin).start()
        script.add(Moved, 1200, step="ask")
        assert "2026-03-02, 23:50 to 2026-03-03 00:10 (UTC-05:00); 20 minutes" in self.first(script.finish())

    def test_a_change_of_offset_is_said_with_both(self) -> None:
        script = Script(PROTOCOL).start()
        script.add(Moved, 600, step="ask")
        script.at = script.at.astimezone(timezone(timedelta(hours=2)))
        expected = "2026-03-02, 14:05 (UTC+01:00) to 15:15 (UTC+02:00); 10 minutes of examination."
        assert self.first(script.finish()).endswith(expected)

    def test_without_an_offset_none_is_invented(self) -> None:
        script = Script(PROTOCOL, begin=datetime(2026, 3, 2, 14, 5)).start()
        assert "14:05; less than" in self.first(script.finish())

    def test_what_happens_after_the_end_adds_no_examination(self) -> None:
        script = Script(PROTOCOL).start().finish()
        script.clock += 600
        script.amend("neck", same(), away=600, why="forgotten")
        assert self.first(script).endswith("14:05 (UTC+01:00); less than a minute of examination.")

    def test_interruptions_are_grouped_by_cause(self) -> None:
        script = Script(PROTOCOL).start()
        script.pause(120)
        script.leave(60)
        script.pause(10)
        expected = "Interrupted: paused 14:05–14:07, 14:08; program closed 14:07–14:08."
        assert self.first(script.finish()).endswith(expected)

    def test_they_rest_on_the_events_that_tell_the_time(self) -> None:
        script = Script(PROTOCOL).start()
        script.pause(120)
        script.record("neck", same())
        who, when, gaps = note(script.finish().session).blocks[0].sentences
        assert (who.rests_on, when.rests_on, gaps.rests_on) == ((), (1, 5), (2, 3))


class TestFindings:
    def test_what_is_reported_stands_apart_from_what_is_observed(self) -> None:
        script = Script(PROTOCOL).start().walk()
        assert block(script, "REPORTED BY THE PATIENT") == ["Region: Patient reports no headache."]
        assert block(script, "OBSERVED BY THE EXAMINER") == [
            "Region: Pupils round bilaterally. Neck bending freely."
        ]

    def test_regions_keep_the_order_of_the_protocol_whatever_the_order_of_recording(self) -> None:
        sections = (
            Section(id="one", title="One", steps=(PUPIL,)),
            Section(id="two", title="Two", steps=(NECK, EXTRA)),
        )
        script = Script(protocol_of(sections=sections)).start()
        for step_id in ("extra", "neck", "pupil"):
            script.record(step_id, same())
        expected = ["One: Pupils round bilaterally.", "Two: Neck bending freely. Lid smooth."]
        assert block(script, "OBSERVED BY THE EXAMINER") == expected

    def test_a_remark_ends_its_region_in_the_examiners_own_words(self) -> None:
        script = Script(PROTOCOL).start()
        script.remark("neck", "Warm room, two pauses.")
        script.record("pupil", same())
        expected = ["Region: Pupils round bilaterally. Remark (Bend the neck): Warm room, two pauses."]
        assert block(script, "OBSERVED BY THE EXAMINER") == expected

    def test_a_remark_on_a_question_stands_with_what_is_reported(self) -> None:
        script = Script(PROTOCOL).start()
        script.remark("ask", "answers slowly")
        assert block(script, "REPORTED BY THE PATIENT") == [
            "Region: Remark (Ask about headache): answers slowly."
        ]
        assert block(script, "OBSERVED BY THE EXAMINER") == []

    def test_a_remark_taken_back_leaves_no_trace(self) -> None:
        script = Script(PROTOCOL).start()
        script.undo(script.remark("neck", "nonsense"))
        assert "nonsense" not in plain_text(note(script.session))

    def test_of_a_record_made_again_only_the_last_one_stands(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("neck", differs(detail="nonsense"))
        script.record("neck", same())
        assert block(script, "OBSERVED BY THE EXAMINER") == ["Region: Neck bending freely."]
        assert "nonsense" not in plain_text(note(script.session))


class TestWithoutFinding:
    def test_attempted_and_not_seen_is_listed_with_the_examiners_words(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("pupil", unseen("right", detail="eye kept shut"), unseen("left"))
        script.record("neck", unseen())
        expected = ["Look at the pupils (left); Bend the neck.", "Look at the pupils (right): eye kept shut."]
        assert block(script, "ATTEMPTED, NOT SEEN") == expected
        assert block(script, "OBSERVED BY THE EXAMINER") == []

    def test_not_examined_is_grouped_by_reason(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("ask", not_done(reason="asleep"))
        script.record("pupil", not_done("left", reason="declined"), same("right"))
        script.record("neck", not_done(reason="declined"))
        assert block(script, "NOT EXAMINED") == [
            "Declined: Look at the pupils (left); Bend the neck.",
            "Asleep: Ask about headache.",
        ]

    def test_not_examined_without_a_reason_says_that(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("neck", not_done(reason=""))
        assert block(script, "NOT EXAMINED") == ["No reason recorded: Bend the neck."]

    def test_words_about_why_have_their_own_sentence(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("neck", not_done(reason="unable", detail="collar on"))
        script.record("pupil", not_done(reason="unable"))
        assert block(script, "NOT EXAMINED") == [
            "Unable: Look at the pupils.",
            "Unable: Bend the neck: collar on.",
        ]

    def test_a_side_and_words_that_several_share_are_said_once(self) -> None:
        script = Script(protocol_of(PUPIL, LENS, NECK)).start()
        wax = unseen("left", detail="lids swollen.")
        one = script.record("pupil", same("right"), wax)
        two = script.record("lens", same("right"), wax)
        script.record("neck", unseen())
        assert block(script, "ATTEMPTED, NOT SEEN") == [
            "Bend the neck.",
            "Left, lids swollen: Look at the pupils; Look at the lenses.",
        ]
        [found] = [each for each in note(script.session).blocks if each.heading == "ATTEMPTED, NOT SEEN"]
        assert found.sentences[1].rests_on == (one, two)

    def test_reason_side_and_words_stand_once_before_those_that_share_them(self) -> None:
        script = Script(protocol_of(PUPIL, LENS, NECK)).start()
        for step_id in ("pupil", "lens"):
            script.record(step_id, same("right"), not_done("left", reason="unable", detail="patch on"))
        script.record("neck", not_done(reason="unable", detail="patch on"))
        assert block(script, "NOT EXAMINED") == [
            "Unable, left, patch on: Look at the pupils; Look at the lenses.",
            "Unable: Bend the neck: patch on.",
        ]

    def test_a_side_shared_without_words_is_said_once_and_whole_steps_stand_apart(self) -> None:
        script = Script(protocol_of(PUPIL, LENS, NECK)).start()
        for step_id in ("pupil", "lens"):
            script.record(step_id, same("left"), not_done("right", reason="declined"))
        script.record("neck", not_done(reason="declined"))
        assert block(script, "NOT EXAMINED") == [
            "Declined: Bend the neck.",
            "Declined, right: Look at the pupils; Look at the lenses.",
        ]

    def test_titles_that_share_nothing_keep_the_order_of_the_protocol(self) -> None:
        script = Script(protocol_of(NECK, PUPIL, EXTRA)).start()
        script.record("extra", unseen())
        script.record("pupil", same("right"), unseen("left"))
        script.record("neck", unseen())
        expected = ["Bend the neck; Look at the pupils (left); Extra look."]
        assert block(script, "ATTEMPTED, NOT SEEN") == expected

    def test_words_that_would_not_read_as_one_label_stay_with_each_title(self) -> None:
        script = Script(protocol_of(PUPIL, LENS)).start()
        for step_id in ("pupil", "lens"):
            script.record(step_id, same("right"), unseen("left", detail="Lids swollen. Will try later."))
        assert block(script, "ATTEMPTED, NOT SEEN") == [
            "Look at the pupils (left): Lids swollen. Will try later.",
            "Look at the lenses (left): Lids swollen. Will try later.",
        ]

    def test_late_entries_that_share_a_side_keep_their_mark(self) -> None:
        script = Script(protocol_of(PUPIL, LENS)).start()
        script.record("pupil", same("right"), unseen("left"))
        script.finish()
        script.amend("lens", unseen("left"), away=60, why="forgotten")
        assert block(script, "ATTEMPTED, NOT SEEN") == [
            "Left: Look at the pupils; Look at the lenses [late entry]."
        ]

    def test_a_conditional_step_set_aside_is_not_listed(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("extra", not_done(reason="not indicated"))
        assert block(script, "NOT EXAMINED") == []
        assert "Extra look" not in plain_text(note(script.session))

    def test_a_conditional_step_that_was_triggered_is_listed(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("extra", not_done(reason="declined"))
        assert block(script, "NOT EXAMINED") == ["Declined: Extra look."]

    def test_an_unconditional_step_is_listed_whatever_the_reason(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("neck", not_done(reason="not indicated"))
        assert block(script, "NOT EXAMINED") == ["Not indicated: Bend the neck."]

    def test_a_session_without_records_reached_nothing(self) -> None:
        assert block(Script(PROTOCOL).start(), "NOT REACHED") == ["Whole section: Region."]

    def test_half_a_step_says_which_half_is_missing_and_was_reached(self) -> None:
        script = Script(PROTOCOL).start()
        right = script.record("pupil", same("right"))
        script.walk(but={"pupil": (), "neck": ()})
        [partly] = [each for each in note(script.session).blocks if each.heading == "RECORDED IN PART"]
        assert [each.rests_on for each in partly.sentences] == [(right,)]
        assert [each.text for each in partly.sentences] == ["Region: Look at the pupils (left not recorded)."]
        [left] = [each for each in note(script.session).blocks if each.heading == "NOT REACHED"]
        assert [each.rests_on for each in left.sentences] == [()]
        assert [each.text for each in left.sentences] == ["Region: Bend the neck."]
        assert block(script, "OBSERVED BY THE EXAMINER") == ["Region: Right pupil round (left not recorded)."]

    def test_with_nothing_but_half_a_step_open_nothing_was_not_reached(self) -> None:
        script = Script(PROTOCOL).start().walk(but={"pupil": (same("right"),)})
        assert block(script, "RECORDED IN PART") == ["Region: Look at the pupils (left not recorded)."]
        assert block(script, "NOT REACHED") == []

    def test_a_wholly_recorded_session_has_no_such_blocks(self) -> None:
        headings = [each.heading for each in note(wholly_expected()).blocks]
        assert headings == [
            *("", "TO REPORT", "REPORTED BY THE PATIENT", "History"),
            *("OBSERVED BY THE EXAMINER", "Ears", "Face", "Neck", "CONDUCT", "SCOPE", ""),
        ]


class TestConduct:
    def test_acts_done_are_one_sentence(self) -> None:
        script = Script(PROTOCOL).start().walk()
        assert block(script, "CONDUCT") == ["Done: clean hands; consent given."]

    def test_an_act_done_otherwise_has_its_own_sentence(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("wash", same(detail="gel only"))
        script.record("agree", differs(findings=("part",), detail="not the neck"))
        assert block(script, "CONDUCT") == ["Clean hands: gel only.", "Consent given in part: not the neck."]

    def test_an_act_not_done_says_why(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("wash", not_done(reason="not available"))
        assert block(script, "CONDUCT") == ["Not done, not available: Clean hands."]

    def test_what_was_measured_with_an_act_is_not_lost(self) -> None:
        act = replace(step("show"), title="Show the pulse", technique="tell", subject="", chart="")
        script = Script(protocol_of(replace(act, reading=Reading(kind="pulse-rate")))).start()
        script.record("show", replace(same(), reading="72"))
        assert block(script, "CONDUCT") == ["Done: Show the pulse – as expected (72/min)."]
        assert block(script, "NOT EXAMINED") == []

    def test_a_remark_on_an_act_stands_here(self) -> None:
        script = Script(PROTOCOL).start()
        script.remark("agree", "daughter present")
        assert block(script, "CONDUCT") == ["Remark (Ask consent): daughter present."]

    def test_an_act_written_down_late_is_marked(self) -> None:
        script = Script(PROTOCOL).start().finish()
        script.amend("wash", same(), away=60, why="forgotten")
        assert block(script, "CONDUCT") == ["Done: clean hands [late entry]."]
        assert block(script, "LATE ENTRIES AND CORRECTIONS") == [
            "Late entry of 2026-03-02 14:06 by E-02. Reason: forgotten. Clean hands, done. "
            "Nothing was recorded during the examination."
        ]


class TestAmendments:
    def items(self, script: Script) -> list[str]:
        return block(script, "LATE ENTRIES AND CORRECTIONS")

    def test_a_correction_keeps_the_original_legible(self) -> None:
        script = Script(PROTOCOL).start()
        first = script.record("pupil", same())
        script.finish()
        last = script.amend(
            "pupil", differs("right", findings=("oval",)), away=120, who="E-03", why="wrong key"
        )
        assert block(script, "OBSERVED BY THE EXAMINER") == [
            "Region: Right pupil oval [corrected]. Left pupil round."
        ]
        assert self.items(script) == [
            "Correction of 2026-03-02 14:07 by E-03. Reason: wrong key. Right pupil oval. "
            "Original of 2026-03-02 14:05: right pupil round."
        ]
        [item] = next(each for each in note(script.session).blocks if each.form is Form.ITEMS).sentences
        assert item.rests_on == (first, last)

    def test_the_original_is_what_stood_at_the_end_however_often_it_was_recorded(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("neck", differs(detail="nonsense"))
        stood = script.record("neck", same(), seconds=60)
        assert self.items(script) == []
        assert "[corrected]" not in plain_text(note(script.finish().session))
        last = script.amend("neck", differs(findings=("stiff",)), away=60, why="wrong key")
        assert self.items(script) == [
            "Correction of 2026-03-02 14:07 by E-02. Reason: wrong key. Neck stiff. "
            "Original of 2026-03-02 14:06: neck bending freely."
        ]
        blocks = {each.heading: each for each in note(script.session).blocks}
        [item] = blocks["LATE ENTRIES AND CORRECTIONS"].sentences
        assert item.rests_on == (stood, last)

    def test_both_sides_corrected_alike_are_one_item(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("pupil", same())
        script.finish()
        script.amend("pupil", not_done(reason="unable"), away=60, why="")
        assert self.items(script) == [
            "Correction of 2026-03-02 14:06 by E-02. Reason: none given. "
            "Look at the pupils not examined, unable. Original of 2026-03-02 14:05: pupils round bilaterally."
        ]

    def test_sides_with_different_originals_are_two_items(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("pupil", unseen("right", detail="shut"), not_done("left", reason=""))
        script.finish()
        script.amend("pupil", same(), away=60, why="opened later")
        head = "Correction of 2026-03-02 14:06 by E-02. Reason: opened later."
        original = "Original of 2026-03-02 14:05: Look at the pupils"
        assert self.items(script) == [
            f"{head} Right pupil round. {original} (right) attempted, not seen: shut.",
            f"{head} Left pupil round. {original} (left) not examined, no reason recorded.",
        ]

    def test_sides_recorded_at_different_times_are_two_items(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("pupil", same("right"))
        script.record("pupil", same("left"), seconds=60)
        script.finish()
        script.amend("pupil", unseen(), away=60, why="wrong key")
        assert [item.split("Original of ")[1] for item in self.items(script)] == [
            "2026-03-02 14:05: right pupil round.",
            "2026-03-02 14:06: left pupil round.",
        ]

    def test_every_version_of_a_late_entry_is_told_newest_first(self) -> None:
        script = Script(PROTOCOL).start().finish()
        script.amend("neck", same(), away=60, why="forgotten")
        script.amend("neck", differs(findings=("stiff",)), away=60, who="E-03", why="misread.")
        assert self.items(script) == [
            "Correction of 2026-03-02 14:07 by E-03. Reason: misread. Neck stiff. "
            "Before that, late entry of 2026-03-02 14:06 by E-02. Reason: forgotten. Neck bending freely. "
            "Nothing was recorded during the examination."
        ]

    def test_an_act_corrected_to_differ_keeps_its_original(self) -> None:
        script = Script(PROTOCOL).start()
        script.record("agree", same())
        script.finish()
        script.amend("agree", differs(findings=("part",)), away=60, why="misread")
        assert self.items(script)[0].endswith(
            "Consent given in part. Original of 2026-03-02 14:05: consent given, done."
        )


class TestSilence:
    """What never stands in a note."""

    def test_order_and_pace_change_nothing_but_the_times(self) -> None:
        quick, slow = Script(EARS_AND_NECK).start().walk().finish(), Script(EARS_AND_NECK).start()
        for each in reversed(EARS_AND_NECK.steps):
            slow.walk(each.id, each.id, pace=9)
        one, other = note(quick.session), note(slow.finish().session)
        assert [texts(each) for each in one.blocks[1:]] == [texts(each) for each in other.blocks[1:]]
        assert texts(one.blocks[0]) != texts(other.blocks[0])

    def test_weight_and_criticality_of_a_step_change_nothing(self) -> None:
        marked = replace(NECK, critical="fails without it", weight=9, seconds=99)
        sessions = [Script(protocol_of(PUPIL, each)).start().finish().session for each in (NECK, marked)]
        assert plain_text(note(sessions[0])) == plain_text(note(sessions[1]))


def texts(made: Block) -> list[str]:
    return [sentence.text for sentence in made.sentences]


def test_the_note_ends_with_scope_caution_source_and_a_signature_left_blank() -> None:
    *_, scope, signature = note(mostly_not_reached()).blocks
    assert scope.heading == "SCOPE"
    assert " ".join(texts(scope)) == (
        "For tests only; it describes and does not diagnose. An aid, no diagnosis: local policy, scope of "
        "practice and the licensed clinician decide; emergencies follow facility procedure. "
        "Protocol version 0.3.0, reviewed 2026-01-31."
    )
    [line] = texts(signature)
    assert line.replace("_", "") == "Signature  Name/role  Date/time "
    assert len(line) <= 72


def test_a_remark_after_what_holds_of_both_sides_opens_with_its_own_label() -> None:
    script = Script(protocol_of(PUPIL, LENS, NECK)).start().walk()
    script.remark("pupil", "Bright room.")
    assert block(script, "OBSERVED BY THE EXAMINER") == [
        "Region: Neck bending freely. Both sides: pupils round. Lenses clear. "
        "Remark (Look at the pupils): Bright room."
    ]


def test_a_wholly_expected_examination_of_110_steps_fits_a_page() -> None:
    names = ("left over", "upper", "lower", "inner", "outer")
    steps = tuple(
        step(f"s{i}", sides=True, subject=f"{names[i % 5]} part {i}", chart=f"even and calm, kind {i // 3}")
        for i in range(110)
    )
    text = plain_text(note(Script(protocol_of(*steps)).start().walk().finish().session))
    assert len(text.splitlines()) <= 66
    assert max(map(len, text.splitlines())) <= 88


@pytest.mark.parametrize(("name", "lines"), [("head-and-neck", 86), ("abdomen", 40)])
def test_a_bundled_protocol_with_all_as_expected_fits_a_page(name: str, lines: int) -> None:
    protocol = read_protocol(bundled_protocols() / f"{name}.toml")
    text = plain_text(note(Script(protocol).start().walk().finish().session))
    assert len(text.splitlines()) <= lines
    assert max(map(len, text.splitlines())) <= 88


def test_the_modules_of_the_note_load_no_screen_library_and_nothing_heavy() -> None:
    code = (
        "import sys, checklist.summary.note, checklist.summary.timeline;"
        "print([name for name in ('rich', 'textual', 'tomli_w', 'importlib.metadata', 'asyncio', 'json')"
        " if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"
