"""`checklist practise` and `checklist progress`: the documents, and the commands that print them."""

import re
import sys
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklist.cli import main
from checklist.practice.history import History, history
from checklist.practice.run import Run
from checklist.protocol.model import Protocol
from checklist.session.codec import encode_event, encode_header
from checklist.session.events import Event, Finished, Recalled, Recorded, Started
from checklist.session.index import index_file
from checklist.session.session import REHEARSAL
from checklist.summary.document import plain_text
from checklist.summary.practise import practise
from checklist.summary.progress import progress
from tests.helpers import BEGIN, PROTOCOL, Script, header, protocol, protocol_table, result
from tests.practice_runs import NOW, a_run, examined

HAND = protocol()
UNWRAPPED = 9999
"""Characters a line, so that no sentence is broken."""
CRITICAL = protocol(PROTOCOL.replace('id = "look"', 'id = "look"\ncritical = "a wound is overlooked"', 1))
PRAISE = re.compile(
    r"\b(good|great|excellent|well done|perfect|mastered|fail\w*|pass(?:ed|ing|es)?|streak|badge|grade"
    r"|congrat\w*|poor)\b",
    re.IGNORECASE,
)


def of(*runs: Run, protocol: Protocol = HAND) -> History:
    return history(protocol, runs)


def what_next(*runs: Run, minutes: float = 20, protocol: Protocol = HAND) -> str:
    return plain_text(practise(of(*runs, protocol=protocol), minutes, NOW), UNWRAPPED)


def over_time(*runs: Run, protocol: Protocol = HAND, now: datetime | None = None) -> str:
    return plain_text(progress(of(*runs, protocol=protocol), now), UNWRAPPED)


def eight(*seconds: float) -> list[Run]:
    """Examinations that took so long, three days apart, the last one three days ago."""
    return [examined(3 * (len(seconds) - place), each) for place, each in enumerate(seconds)]


def row(text: str, name: str) -> str:
    [found] = [line for line in text.splitlines() if line.strip(" !").startswith(name)]
    return found


class TestHistory:
    def test_it_is_that_of_the_latest_code_and_the_others_are_named(self) -> None:
        runs = [a_run(1, {}), a_run(2, {}, examiner="E-3"), a_run(3, {}, protocol="foot", examiner="E-4")]
        found = of(*runs)
        assert (found.examiner, found.others, len(found.runs)) == ("E-2", ("E-3",), 1)

    def test_a_code_can_be_named(self) -> None:
        runs = [a_run(1, {}), a_run(2, {}, examiner="E-3")]
        assert history(HAND, runs, "E-3").runs == (runs[1],)
        assert history(HAND, runs, "E-9").runs == ()

    def test_a_code_is_the_same_in_capitals_and_without(self) -> None:
        codes = ("E-2", "e-2", "F-1")
        runs = [replace(run, examiner=code) for run, code in zip(eight(1, 2, 3), codes, strict=True)]
        found = history(HAND, runs, "e-2")
        assert [run.examiner for run in found.runs] == ["E-2", "e-2"]
        assert found.others == ("F-1",)

    def test_invented_examples_say_nothing_of_anybody(self) -> None:
        assert of(a_run(1, {}, is_fictional=True)).runs == ()

    def test_a_session_of_which_there_are_two_files_counts_once(self) -> None:
        assert len(of(a_run(1, {}), a_run(1, {})).runs) == 1


class TestProgress:
    def test_with_no_history_it_says_so(self) -> None:
        assert "There is no history yet" in over_time()

    def test_weeks_begin_on_monday_and_those_without_a_session_stand_too(self) -> None:
        # NOW is Monday, 30 March 2026.
        text = over_time(a_run(0, {}), a_run(1, {}), a_run(2, {}), a_run(16, {}))
        assert "2026-03-09    1 ■\n2026-03-16    0\n2026-03-23    2 ■■\n2026-03-30    1 ■" in text

    def test_older_weeks_are_one_row(self) -> None:
        assert "earlier       1\n2026-01-12    0" in over_time(a_run(0, {}), a_run(200, {}))

    def test_a_bar_shows_the_time_beside_the_target(self) -> None:
        # Longest 180 s over 30 cells, the target of 120 s in cell 20.
        text = over_time(examined(2, 180), examined(1, 60))
        assert "   1 2026-03-28    3:00  ████████████████████|█████████\n" in text
        assert "   2 2026-03-29    1:00  ██████████          |\n" in text

    def test_steps_critical_misses_and_order_are_drawn_beside_their_figures(self) -> None:
        # 50 % of 14 cells are 7; of 11 and 10 cells the last one says that there are more.
        text = over_time(
            examined(3, 100, coverage=50.0, critical_missed=("look",), moved=2),
            examined(2, 100, coverage=100.0, critical_missed=(), moved=0),
            examined(1, 100, coverage=None, critical_missed=("look",) * 40, moved=None),
            examined(0, 100, coverage=10.0, moved=30),
        )
        rows = text.partition("EXAMINATION: STEPS\n")[2].splitlines()[:5]
        assert rows == [
            " run  steps done            critical missed  out of order",
            f"   1   50 % {'█' * 7}{'·' * 7}    1 ■              2 ■■",
            f"   2  100 % {'█' * 14}    0                0",
            f"   3      – {' ' * 14}   40 ■■■■■■■■■■+    –",
            f"   4   10 % █{'·' * 13}    0               30 {'■' * 9}+",
        ]

    def test_nearly_all_steps_are_not_all(self) -> None:
        """A protocol of many steps: 299 of 300 are not 100 %."""
        assert "   1   99 % " in over_time(examined(1, 100, coverage=100 * 299 / 300))

    def test_below_five_runs_there_is_no_curve(self) -> None:
        text = over_time(*eight(300, 250, 220, 200))
        assert "A curve is fitted from 5 runs on; there are 4." in text
        assert "NEARER" not in text
        assert "e^" not in text

    def test_from_five_runs_on_both_curves_and_what_is_uncertain_are_shown(self) -> None:
        # Fitted with SciPy: exponential 392.8 s and power 381.2 s for the ninth run; the squares add up to
        # 244.91, and the root of 244.91 / 5 is 7.
        text = over_time(*eight(620, 540, 470, 455, 430, 410, 400, 396))
        assert (
            "- Next run: 6:33 by the nearer curve, 6:21 by the other one; uncertain at least by the 0:12"
            " between them and by 0:07 of scatter on either side.\n"
            "- Both are below the fastest time so far, and so beyond what was seen.\n"
        ) in text
        assert "o NEARER CURVE" in text
        assert "- The nearer curve is: examination, the exponential one." in text

    def test_which_curve_goes_beyond_what_was_seen_is_said(self) -> None:
        # Fitted with SciPy: exponential 294.6 s, power 288.0 s for the ninth run; the fastest took 290 s.
        text = over_time(*eight(600, 400, 310, 290, 305, 295, 302, 298))
        assert "- The time by the other curve is below the fastest time so far, and so beyond what" in text
        assert "- The times fall; by the nearer curve they level off at 4:55.\n" in text

    def test_a_level_far_below_all_that_was_seen_is_not_named(self) -> None:
        # 386.2 s, and the fastest took 396 s, more than the scatter of 7 s above it.
        text = over_time(*eight(620, 540, 470, 455, 430, 410, 400, 396))
        assert "- The times fall.\n" in text
        assert "level off at" not in text

    def test_times_that_rise_again_are_not_said_to_fall(self) -> None:
        text = over_time(*eight(1900, 1600, 1400, 1250, 1200, 1230, 1300, 1400, 1500), now=NOW)
        assert "- The latest runs are slower than a curve through the times, so none is shown" in text
        assert not re.search(r"times fall|ext run:|NEARER CURVE|target time at", text)

    def test_when_the_limit_is_met_is_a_run_and_a_day_and_says_that_it_goes_beyond(self) -> None:
        # 90 + 512, 256, 128, 64, 32: an exponential curve that gives 90 + 16 for run 6, within 120, and a
        # power curve fitted with SciPy that gives 114; the runs are three days apart, the last on 27 March.
        text = over_time(*eight(602, 346, 218, 154, 122), now=NOW)
        assert (
            "- The target time is likely to be met: the curves come down to it at run 6 (about 2026-03-30"
            " with runs as often as so far).\n"
            "- No run was as fast so far: this follows the curves beyond what was seen.\n"
        ) in text

    def test_of_two_curves_both_runs_and_both_days_are_named(self) -> None:
        # Fitted with SciPy: the exponential curve gives 122.9 and 119.3 s for runs 10 and 11, the power curve
        # 120.6 and 117.9 s for runs 13 and 14; nine and eighteen days from 27 March on.
        text = over_time(*eight(260, 225, 200, 178, 164, 150, 141, 133), now=NOW)
        assert " at run 11 to 14 (about 2026-04-05 to 2026-04-14 with runs as often as so far).\n" in text

    def test_where_one_curve_alone_comes_down_nothing_is_likely(self) -> None:
        # Fitted with SciPy: the exponential curve levels off at 128.7 s; the power curve gives 122.5, 119.7 s
        # for runs 11 and 12. Nine days from 27 March on.
        text = over_time(*eight(240, 200, 175, 160, 150, 143, 138, 134, 131), now=NOW)
        assert (
            "- The other curve comes down to the target time at run 12 (about 2026-04-05 with runs as"
            " often as so far), the nearer one not within the next 9 runs.\n"
        ) in text
        assert "likely" not in text.partition("\nLIMITS\n")[0]

    def test_no_day_is_named_that_has_passed(self) -> None:
        # Run 6 would have been on 30 March; the usual gap is three days, and eight are less than three gaps.
        text = over_time(*eight(602, 346, 218, 154, 122), now=NOW + timedelta(days=5))
        assert "come down to it at run 6.\n- No day is named: with runs as often as so far it would" in text
        assert "about 2026" not in text

    def test_no_day_is_named_when_practice_has_stopped(self) -> None:
        text = over_time(*eight(602, 346, 218, 154, 122), now=NOW + timedelta(days=30))
        assert "- No day is named: the latest run was 33 days ago, and the usual gap is 3 days." in text
        assert "about 2026" not in text

    def test_a_run_that_is_not_compared_is_practice_all_the_same(self) -> None:
        # Eleven days from the last run compared, two from the last one.
        runs = [*eight(602, 346, 218, 154, 122), examined(-6, 30, reach=40.0)]
        text = over_time(*runs, now=NOW + timedelta(days=8))
        assert "- No day is named: with runs as often as so far it would have passed." in text

    def test_a_run_to_come_has_the_number_that_its_row_will_have(self) -> None:
        """A run that was left out of the times has a row, and so a number."""
        left_out = examined(30, 100, reach=40.0)
        text = over_time(left_out, *eight(602, 346, 218, 154, 122))
        assert "   6 2026-03-27    2:02 " in text
        assert "come down to it at run 7 " in text

    def test_days_far_off_are_not_named(self) -> None:
        # 400 days apart, so that run 7 is 800 days after the last one: 90 + 8 s, within 98.
        times = enumerate((602, 346, 218, 154, 122))
        runs = [examined(400 * (5 - place), each) for place, each in times]
        text = over_time(
            *runs, protocol=protocol(PROTOCOL.replace("target_minutes = 2", "target_minutes = 1.65"))
        )
        assert " (years from now with runs as often as so far)" in text

    def test_long_gaps_are_marked(self) -> None:
        # Three days are usual; five times three are 15, and 40 are more.
        runs = [examined(day, 200) for day in (52, 49, 46, 6, 3, 0)]
        text = over_time(*runs)
        assert "\n   3 2026-02-12    3:20  " in text
        assert "\n   … 40 days\n   4 2026-03-24 " in text
        assert "- Practice was uneven: 40 days before run 4; the usual gap is 3 days.\n" in text
        assert "- Days between two rows: " in text
        # Fourteen days are less than five times three.
        assert "neven" not in over_time(*(examined(day, 200) for day in (23, 20, 6, 3, 0)))

    def test_a_limit_below_the_curves_is_not_promised(self) -> None:
        text = over_time(*eight(400, 300, 250, 225, 212, 206, 203, 202))
        assert "Neither curve comes down to the target time within the next 8 runs." in text

    def test_times_that_do_not_fall_get_no_curve(self) -> None:
        text = over_time(*eight(200, 210, 220, 230, 240))
        assert "- The times do not fall, so no curve is shown." in text
        assert "ext run" not in text

    def test_curves_that_chance_may_have_made_are_drawn_and_nothing_is_concluded(self) -> None:
        text = over_time(*eight(200, 240, 190, 230, 195))
        assert (
            "- The times do not fall by more than chance would give: the curves show what fits so far,"
            in text
        )
        assert "NEARER CURVE" in text
        assert "ext run" not in text and "is likely" not in text

    def test_times_are_within_the_target_as_they_are_shown(self) -> None:
        """120.3 s are shown as 2:00, and so is the target."""
        text = over_time(examined(3, 120.3), examined(2, 121), examined(1, 300))
        assert "- Target 2:00; within it 1 of 3 runs.\n" in text

    @pytest.mark.parametrize(("seconds", "be"), [(120.3, "is"), (120.5, "is not")])
    def test_of_one_run_it_is_said_in_words(self, seconds: float, be: str) -> None:
        assert f"- Target 2:00; the one run {be} within it.\n" in over_time(examined(1, seconds))

    def test_a_time_over_the_target_goes_beyond_its_mark(self) -> None:
        """On a scale of ten seconds a cell, a second is drawn all the same."""
        text = over_time(examined(3, 300), examined(2, 121), examined(1, 120.4))
        assert "   2 2026-03-28    2:01  ████████████|█\n" in text
        assert "   3 2026-03-29    2:00  ████████████|\n" in text

    def test_times_of_runs_that_left_much_out_do_not_count(self) -> None:
        text = over_time(*eight(300, 290), examined(1, 30, reach=40.0))
        assert "- 1 run that did fewer than 90 % of the steps is left out of the times.\n" in text
        assert "- Fastest 4:50, latest 4:50.\n- Target 2:00; within it none of 2 runs compared.\n" in text
        assert "   3 2026-03-29   (0:30) " in text
        assert "- Time in brackets: the run did fewer than 90 % of the steps" in text
        assert "brackets" not in over_time(*eight(300, 290))

    def test_simulated_patients_have_neither_target_nor_curve(self) -> None:
        times = (620, 540, 470, 455, 430, 410)
        text = over_time(
            *(examined(9 - day, each, mode=REHEARSAL, task="patient") for day, each in enumerate(times))
        )
        assert "SIMULATED PATIENT: █ TIME\n" in text
        assert "- Cases differ, so no curve is fitted to these times." in text
        assert "times fall" not in text
        assert "- Target" not in text
        assert "steps done" in text
        assert "WHAT WAS FOUND" not in text

    def test_what_was_found_of_simulated_patients_stands_behind_the_kinds(self) -> None:
        changes = {"mode": REHEARSAL, "task": "patient", "case_there": 4, "case_found": 3}
        changes |= {"case_false_alarms": 1, "case_due": 2, "case_told": 2}
        kinds, behind = over_time(examined(1, 100, **changes)).split("\nSIMULATED PATIENTS: WHAT WAS FOUND\n")
        assert "SIMULATED PATIENT: STEPS\n" in kinds
        assert re.search(r"^2026-03-29 +3 of 4 +1 +2 of 2$", behind, re.MULTILINE)
        assert behind.index("3 of 4") < behind.index("GETTING WORSE")

    def test_what_is_read_first_needs_no_statistics(self) -> None:
        """The formulas stand last, each introduced by what it is."""
        text = over_time(*eight(620, 540, 470, 455, 430, 410, 400, 396))
        first, _, formulas = text.partition("\nFORMULAS\n")
        assert not re.search(r"AIC|square|quartile|median|exponential|power|e\^|interval", first)
        items = formulas.splitlines()[:-1]
        assert len(items) > 5
        assert all(re.match(r"- [^:=]+: ", item) for item in items)

    def test_both_curves_alike_are_not_called_certain(self) -> None:
        # Fitted with SciPy: 200.0 s by both.
        text = over_time(*eight(300, 200, 200, 200, 200))
        assert "- Next run: 3:20 by both curves; how uncertain this is they do not tell." in text
        assert "beyond what was seen" not in text

    def test_rehearsals_stand_apart_and_have_no_limit(self) -> None:
        text = over_time(examined(2, 100), a_run(1, {"look": True}))
        assert "REHEARSAL: ORDER: █ TIME\n" in text
        assert text.count("- Target 2:00") == 1
        assert "steps recalled" in text

    def test_of_many_runs_the_latest_have_a_row(self) -> None:
        text = over_time(*(examined(day, 100) for day in range(25)))
        assert "… 5 earlier runs" in text
        assert len(re.findall(r"^ +\d+ 2026-\d\d-\d\d    1:40", text, re.MULTILINE)) == 20
        assert "\n  25 2026-03-30    1:40 " in text

    def test_a_session_under_way_has_no_row(self) -> None:
        assert "1:40" not in over_time(examined(1, 100, is_finished=False))

    def test_typed_and_said_parts_of_one_kind_stand_together(self) -> None:
        tasks = ["order", "order typed=yes", "order from=look", "order one from=pulse", "order two"]
        tasks += ["gaps around=look", "gaps around=pulse", "left-out", "content", "content typed=yes"]
        text = over_time(*(a_run(20 - day, {"look": True}, task=task) for day, task in enumerate(tasks)))
        assert re.findall(r"^(.+): █ TIME$", text, re.MULTILINE) == [
            "REHEARSAL: ORDER",
            "REHEARSAL: PART OF THE ORDER",
            "REHEARSAL: AROUND SOME STEPS",
            "REHEARSAL: WHAT WAS LEFT OUT",
            "REHEARSAL: CONTENT",
        ]
        assert "- Rehearsals that are typed and said stand together" in text

    def test_parts_that_differ_have_no_curve_and_their_share_is_of_what_was_asked(self) -> None:
        times = enumerate((602, 346, 218, 154, 122))
        tests = {"look": True, "pulse": False}
        runs = (
            a_run(9 - day, tests, task="gaps around=look", seconds=each, reach=10.0, coverage=5.0)
            for day, each in times
        )
        text = over_time(*runs)
        assert "- What is asked differs from run to run, so no curve is fitted to these times." in text
        assert "NEARER" not in text
        assert "   1 2026-03-21   10:02  " in text
        assert "   1   50 % " in text

    def test_the_same_section_again_and_again_can_be_compared(self) -> None:
        times = enumerate((602, 346, 218, 154, 122))
        same = [a_run(9 - day, {"look": True}, task="order one", seconds=each) for day, each in times]
        assert "REHEARSAL: PART OF THE ORDER: █ TIME, o NEARER CURVE\n" in over_time(*same)

    def test_what_gets_worse_is_named_with_its_figures(self) -> None:
        # One order in 120, each.
        runs = [a_run(20 - day, {"look": day < 7}) for day in range(10)]
        assert "- Look at the skin: recalled or done in 0 of the last 3 tests, 7 of 7 before.\n" in over_time(
            *runs
        )
        times = (10, 11, 12, 10, 11, 12, 11, 16, 17, 15)
        slow = [examined(20 - day, 100, times=(each,)) for day, each in enumerate(times)]
        text = over_time(*slow)
        assert "- Look at the skin: about 0:16 the latest 3 times when it was done, 0:11 before.\n" in text
        # Ten tests, ten times at the step, ten whole times.
        assert (
            "- 3 comparisons were made for this; where nothing changes, chance alone names up to 0.03" in text
        )

    def test_a_whole_time_that_rose_is_named_too(self) -> None:
        # Medians 100 and 130, a fifth and 30 seconds more.
        seconds = (100, 101, 99, 100, 102, 98, 100, 130, 140, 125)
        text = over_time(*(examined(20 - day, each) for day, each in enumerate(seconds)))
        assert "- Whole time, examination: about 2:10 in the latest 3 runs, 1:40 before.\n" in text

    def test_too_few_tests_say_nothing_either_way(self) -> None:
        few = [a_run(20 - day, {"look": day < 6}) for day in range(9)]
        assert "- Nothing can be said yet: that takes 10 tests of a step at least.\n" in over_time(*few)
        enough = [a_run(20 - day, {"look": True}) for day in range(10)]
        assert "- Nothing, as far as these sessions tell.\n" in over_time(*enough)

    def test_a_critical_miss_beside_all_steps_done_is_explained(self) -> None:
        missed = examined(1, 100, critical_missed=("look",))
        why = "the share has these as done, so that 100 % can stand beside a miss"
        assert why in over_time(missed, protocol=CRITICAL)
        assert why not in over_time(examined(1, 100), protocol=CRITICAL)

    def test_words_are_explained_before_they_are_used_and_only_those_that_are(self) -> None:
        text = over_time(*eight(620, 540, 470, 455, 430, 410, 400, 396))
        for word in ("Run: ", "Critical step: ", "Target time: ", "Curves: ", "Scatter: "):
            assert text.index(f"- {word}") < text.index("SESSIONS IN EACH WEEK")
        one = over_time(a_run(1, {"look": True}))
        assert not re.search(r"[Cc]urves:|[Ss]catter|Target time:|brackets|steps done|AICc", one)

    def test_critical_misses_are_named_with_their_last_day(self) -> None:
        runs = [examined(day, 100, critical_missed=("look", "gone")) for day in (5, 3)]
        assert "- Look at the skin: in 2 sessions, last 2026-03-27." in over_time(*runs, protocol=CRITICAL)


RUNS = st.lists(
    st.builds(
        lambda days, tests, mode, seconds, done: a_run(
            days,
            tests,
            mode=mode,
            task="",
            seconds=seconds,
            coverage=done,
            reach=done,
            id=f"{days}-{seconds}",
        ),
        days=st.floats(-5, 4000),
        tests=st.dictionaries(st.sampled_from(["wash", "look", "pulse", "grip", "gone"]), st.booleans()),
        mode=st.sampled_from(["examination", "observation", "rehearsal"]),
        seconds=st.floats(0, 1e6),
        done=st.floats(0, 100),
    ),
    max_size=12,
)


class TestLaws:
    @given(seconds=st.lists(st.floats(60, 900), min_size=5, max_size=9))
    def test_the_time_between_two_times_is_what_a_reader_finds_it_to_be(self, seconds: list[float]) -> None:
        text = over_time(*eight(*sorted(seconds, reverse=True)))
        for found in re.finditer(r"Next run: (\S+) by .*?, (\S+) by .*?; .*?by the (\S+) between", text):
            nearer, other, apart = (60 * int(m) + int(s) for m, s in (t.split(":") for t in found.groups()))
            assert abs(nearer - other) == apart > 0

    @given(runs=RUNS, minutes=st.integers(1, 600))
    def test_there_is_a_document_for_every_history_and_it_neither_praises_nor_predicts(
        self, runs: list[Run], minutes: int
    ) -> None:
        for text in (
            what_next(*runs, minutes=minutes, protocol=CRITICAL),
            over_time(*runs, protocol=CRITICAL),
        ):
            assert text.startswith("PRACTICE – ")
            assert not PRAISE.search(text), PRAISE.search(text)

    @given(runs=RUNS)
    def test_pictures_fit_60_columns(self, runs: list[Run]) -> None:
        for line in plain_text(progress(of(*runs)), 60).splitlines():
            assert len(line) <= 60, line


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("EXAM_CHECKLIST_HOME", str(tmp_path))
    (tmp_path / "sessions").mkdir()
    (tmp_path / "protocols").mkdir()
    (tmp_path / "protocols" / "hand.toml").write_text(PROTOCOL, encoding="utf-8")
    return tmp_path


def keep(home: Path, day: int, *, how: str = "", text: str = PROTOCOL, **changes: str) -> Path:
    """Write a finished session of that day: an examination of one step, or a rehearsal of one."""
    made = Script()
    made.add(Started, step="wash")
    if how:
        made.add(Recalled, step="look", what="order", how=how, hints=0, typed="")
        changes |= {"mode": REHEARSAL, "task": "order"}
    else:
        made.add(Recorded, step="wash", results=(result(),))
    made.add(Finished)
    created = BEGIN + timedelta(days=day)
    name = f"{created:%Y%m%d-%H%M%S}-hand-{day:04x}"
    head = encode_header(replace(header(id=name, created=created), **changes), protocol_table(text))  # type: ignore[arg-type]
    return write(home / "sessions" / f"{name}.toml", head, made.events)


def write(path: Path, head: str, events: list[Event]) -> Path:
    path.write_text(head + "".join(map(encode_event, events)), encoding="utf-8")
    return path


class TestCommands:
    def test_practise_takes_protocol_and_code_from_the_latest_session(
        self, home: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        keep(home, 1, how="not recalled")
        keep(home, 2)
        assert main(["practise", "--minutes", "30", "--width", "100"]) == 0
        out = capsys.readouterr().out
        assert "Hand: what to practise next. Examiner E-2; 2 sessions, 2026-03-03 to 2026-03-04." in out
        assert "TODAY, 30 MINUTES" in out
        assert "- Look at the skin: not recalled last time, " in out

    def test_progress_shows_another_code_when_asked(
        self, home: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        keep(home, 1, examiner="E-7")
        keep(home, 2)
        assert main(["progress", "hand", "--examiner", "E-7", "--width", "200"]) == 0
        out = capsys.readouterr().out
        assert "Examiner E-7; 1 session, 2026-03-03." in out
        assert "Sessions of other examiners' codes were left aside: E-2." in out

    def test_a_code_without_a_session_has_no_history(
        self, home: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        keep(home, 1)
        assert main(["practise", "hand", "--examiner", "E-9"]) == 0
        assert "There is no history of examiner E-9 yet" in capsys.readouterr().out

    @pytest.mark.usefixtures("home")
    def test_a_protocol_that_nobody_ran_can_be_named(self, capsys: pytest.CaptureFixture[str]) -> None:
        for command in ("practise", "progress"):
            assert main([command, "hand"]) == 0
            assert "There is no history yet" in capsys.readouterr().out

    def test_a_protocol_that_is_no_longer_there_is_taken_from_its_latest_session(
        self, home: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        keep(home, 1)
        keep(home, 2, text=PROTOCOL.replace('title = "Hand"', 'title = "Hand, later"'))
        (home / "protocols" / "hand.toml").unlink()
        assert main(["progress", "hand"]) == 0
        assert "Hand, later: progress." in capsys.readouterr().out

    def test_files_that_cannot_be_read_are_counted(
        self, home: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        keep(home, 1)
        (home / "sessions" / "notes.toml").write_text("no session", encoding="utf-8")
        assert main(["progress"]) == 0
        assert "1 file could not be read." in capsys.readouterr().out

    def test_markdown_goes_to_a_new_file_and_never_over_one(
        self, home: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        keep(home, 1)
        target = home / "progress.md"
        assert main(["progress", "--markdown", "--output", str(target)]) == 0
        assert "# Hand: progress" in target.read_text(encoding="utf-8")
        assert main(["progress", "--output", str(target)]) == 1
        assert len(capsys.readouterr().err.splitlines()) == 1

    def test_progress_is_a_page_when_asked(self, home: Path, capsys: pytest.CaptureFixture[str]) -> None:
        keep(home, 1)
        target = home / "progress.html"
        assert main(["progress", "--as", "html"]) == 0
        page = capsys.readouterr().out
        assert page.startswith("<!DOCTYPE html>\n")
        assert "<h1>Hand: progress</h1>" in page
        assert main(["progress", "hand", "--examiner", "E-2", "--as", "html", "--output", str(target)]) == 0
        assert target.read_text(encoding="utf-8") == page
        assert target.stat().st_mode & 0o777 == 0o600
        assert main(["progress", "--as", "html", "--output", str(target)]) == 1
        assert capsys.readouterr().err == f"checklist: {target}: exists already; choose another name\n"

    def test_text_is_what_it_is_without_a_form(self, home: Path, capsys: pytest.CaptureFixture[str]) -> None:
        keep(home, 1)
        assert main(["progress"]) == 0
        text = capsys.readouterr().out
        assert main(["progress", "--as", "text"]) == 0
        assert capsys.readouterr().out == text
        assert text.startswith("PRACTICE")

    def test_a_page_is_no_markdown(self, home: Path, capsys: pytest.CaptureFixture[str]) -> None:
        keep(home, 1)
        assert main(["progress", "--as", "html", "--markdown"]) == 1
        shown = capsys.readouterr()
        assert shown.out == ""
        assert shown.err == "checklist: --markdown is a form of text, so it does not go with --as html\n"

    @pytest.mark.usefixtures("home")
    @pytest.mark.parametrize("arguments", [["practise"], ["progress"], ["practise", "nowhere"]])
    def test_what_cannot_be_shown_gets_one_line(
        self, arguments: list[str], capsys: pytest.CaptureFixture[str]
    ) -> None:
        assert main(arguments) == 1
        shown = capsys.readouterr()
        assert shown.out == ""
        assert len(shown.err.splitlines()) == 1
        assert shown.err.startswith("checklist: ")

    @pytest.mark.usefixtures("home")
    @pytest.mark.parametrize("minutes", ["0", "601", "-5", "ten", "1.5"])
    def test_minutes_are_a_whole_number(self, minutes: str, capsys: pytest.CaptureFixture[str]) -> None:
        assert main(["practise", "hand", "--minutes", minutes]) == 2
        assert "minutes" in capsys.readouterr().err

    def test_the_second_time_no_session_file_is_opened(
        self, home: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        for day in range(1, 4):
            keep(home, day)
        assert main(["progress"]) == 0
        first = capsys.readouterr().out
        opened: list[str] = []
        watching = True
        sys.addaudithook(
            lambda event, args: opened.append(str(args[0])) if watching and event == "open" else None
        )
        assert main(["progress"]) == 0
        watching = False
        assert capsys.readouterr().out == first
        assert str(index_file()) in opened
        assert not [name for name in opened if "/sessions/" in name]
