"""`checklist practise` and `checklist progress`: the documents, and the commands that print them."""

import re
import sys
from dataclasses import replace
from datetime import timedelta
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


def over_time(*runs: Run, protocol: Protocol = HAND) -> str:
    return plain_text(progress(of(*runs, protocol=protocol)), UNWRAPPED)


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

    def test_invented_examples_say_nothing_of_anybody(self) -> None:
        assert of(a_run(1, {}, is_fictional=True)).runs == ()

    def test_a_session_of_which_there_are_two_files_counts_once(self) -> None:
        assert len(of(a_run(1, {}), a_run(1, {})).runs) == 1


class TestPractise:
    def test_with_no_history_it_says_so_and_which_steps_are_critical(self) -> None:
        text = what_next(protocol=CRITICAL)
        assert "There is no history yet: nothing is known of any step." in text
        today = text.partition("TODAY, 20 MINUTES\n")[2].partition("\n\n")[0]
        assert today.splitlines() == [
            "- Clean hands: not yet tested.",
            "- Look at the skin: critical; not yet tested.",
            "- Feel the pulses: not yet tested.",
        ]
        assert "EVERY STEP" not in text

    def test_each_step_has_one_line_that_says_why(self) -> None:
        text = what_next(a_run(4, {"wash": True}), a_run(3, {"look": False, "pulse": True, "wash": True}))
        assert "- Look at the skin: not recalled last time, 3 days ago; recalled 0 of 1." in text
        # Half-life 2^1.5 days, three days ago: 2^(-3/2.8284) = 0.479.
        assert (
            "- Feel the pulses: improving; last recalled 3 days ago, about 48 % is expected to be left;"
            " recalled 1 of 1." in text
        )
        # Two days of recall: half-life 4 days, three days ago: 2^(-3/4) = 0.595.
        assert (
            "- Clean hands: last recalled 3 days ago, about 59 % is expected to be left; recalled 2 of 2."
            in text
        )
        assert "- Test the grip:" not in text

    @pytest.mark.parametrize(
        ("mark", "words"),
        [("-", "not recalled"), ("?", "with a hint"), ("~", "recalled out of place")],
    )
    def test_a_step_that_was_missed_says_in_which_way(self, mark: str, words: str) -> None:
        text = what_next(a_run(3, {"look": False}, marks=mark))
        assert f"- Look at the skin: {words} last time, 3 days ago; recalled 0 of 1." in text

    def test_days_are_counted_by_the_calendar(self) -> None:
        assert "last time, today;" in what_next(a_run(0.5, {"look": False}))
        assert "last time, yesterday;" in what_next(a_run(0.9, {"look": False}))

    def test_one_recall_tonight_is_not_due_again_tonight(self) -> None:
        text = what_next(a_run(0, {"look": True, "pulse": True, "wash": True, "grip": True}))
        assert "No step is due." in text
        assert "4 steps, recalled recently" in text
        # 1.76 days after 20:00 on the 30th.
        assert "Next due: Clean hands, 2026-04-01." in text

    def test_the_order_names_the_second_round_and_the_time(self) -> None:
        text = what_next(a_run(3, {"look": False, "pulse": True, "wash": True, "grip": True}))
        assert "In the protocol's order, chosen by need: say each aloud from memory" in text
        assert "What you miss, take again at the end. Planned: 1:20, and 20 s for each step taken" in text

    def test_ten_minutes_before_an_examination_it_says_three_things_and_no_more(self) -> None:
        text = what_next(a_run(3, {"look": False, "pulse": False, "wash": True}), minutes=10)
        assert len([line for line in text.splitlines() if line.startswith("- ")]) == 3
        for more in ("sessions", "tested", "EVERY STEP", "HOW THIS IS COMPUTED", "IN WHICH ORDER", "NOT DUE"):
            assert more not in text

    def test_the_table_has_estimate_interval_tests_and_day_of_each_step(self) -> None:
        text = what_next(a_run(0, {"look": True}), protocol=CRITICAL)
        # Beta(2, 1): mean 67 %, interval 16 to 99 %: cells 3 to 19 of 20, the estimate in cell 13.
        assert row(text, "Look at the skin").split() == [
            "!", "Look", "at", "the", "skin", "···──────────█──────", "67", "%", "1/1", "2026-03-30",
        ]  # fmt: skip
        assert row(text, "Feel the pulses").endswith("not yet tested")

    def test_pace_is_the_time_beside_the_plan(self) -> None:
        # 45 s at a step planned for 30.
        assert row(what_next(examined(1, 100, times=(45.0,))), "Look at the skin").endswith("1.5 ×")

    def test_steps_of_another_version_are_not_counted(self) -> None:
        assert "Of 4 steps, 1 tested, 3 not yet tested." in what_next(a_run(1, {"gone": True, "look": True}))


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
        text = over_time(examined(2, 180), examined(1, 60, coverage=50.0, critical_missed=("look",), moved=2))
        assert "2026-03-28   3:00 ████████████████████|█████████  100 %     0     0" in text
        assert "2026-03-29   1:00 ██████████          |            50 %     1     2" in text

    def test_below_five_runs_there_is_no_curve(self) -> None:
        text = over_time(*eight(300, 250, 220, 200))
        assert "A curve is fitted from 5 runs on; there are 4." in text
        assert "FITTED" not in text

    def test_from_five_runs_on_both_curves_and_the_gap_between_them_are_shown(self) -> None:
        # Fitted with SciPy: exponential 392.8 s and power 381.2 s for the ninth run.
        text = over_time(*eight(620, 540, 470, 455, 430, 410, 400, 396))
        assert (
            "Improving: the times fall, nearest to the exponential curve, which levels off at 6:26." in text
        )
        assert "Next run: 6:33 by the exponential, 6:21 by the power curve; the 0:12 between them" in text
        assert "This is below the fastest time so far, and so beyond what was seen." in text
        assert "o FITTED CURVE" in text

    def test_when_the_limit_is_likely_to_be_met_is_a_run_and_a_day_and_says_that_it_goes_beyond(self) -> None:
        # 90 + 512, 256, 128, 64, 32: an exponential curve that gives 90 + 16 for run 6, within 120; the runs
        # are three days apart, and the last one was on 27 March.
        text = over_time(*eight(602, 346, 218, 154, 122))
        assert "The target time is likely to be met from run 6 " in text
        assert "about 2026-03-30" in text
        assert "No run was as fast so far: this follows the curves beyond what was seen." in text

    def test_a_limit_below_the_curves_is_not_promised(self) -> None:
        text = over_time(*eight(400, 300, 250, 225, 212, 206, 203, 202))
        assert "Neither curve comes down to the target time within 16 runs." in text

    def test_times_that_do_not_fall_get_no_curve(self) -> None:
        text = over_time(*eight(200, 210, 220, 230, 240))
        assert "The times are not falling, so no curve is shown." in text
        assert "mproving" not in text

    def test_times_of_runs_that_left_much_out_do_not_count(self) -> None:
        text = over_time(*eight(300, 290), examined(1, 30, reach=40.0))
        assert "1 run that came to fewer than 90 % of the steps is left out of the times." in text
        assert "Fastest 4:50, latest 4:50. Target 2:00; within it 0 of the latest 2 runs." in text

    def test_rehearsals_stand_apart_and_have_no_limit(self) -> None:
        text = over_time(examined(2, 100), a_run(1, {"look": True}))
        assert "REHEARSAL, ORDER: █ TIME\n" in text
        assert text.count("Target") == 1

    def test_of_many_runs_the_latest_have_a_row(self) -> None:
        text = over_time(*(examined(day, 100) for day in range(25)))
        assert "… 5 earlier runs" in text
        assert len(re.findall(r"^2026-\d\d-\d\d   1:40", text, re.MULTILINE)) == 20

    def test_a_session_under_way_has_no_row(self) -> None:
        assert "1:40" not in over_time(examined(1, 100, is_finished=False))

    def test_steps_that_get_worse_are_named_with_their_figures(self) -> None:
        runs = [a_run(20 - day, {"look": day < 5 or day == 6}) for day in range(1, 8)]
        assert "- Look at the skin: recalled 1 of the last 3, 4 of 4 before." in over_time(*runs)
        slow = [
            examined(20 - day, 100, times=(each,))
            for day, each in enumerate([10, 10, 11, 12, 12, 16, 16, 17])
        ]
        assert "- Look at the skin: takes 0:16, 0:11 before." in over_time(*slow)

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
    def test_pictures_fit_80_columns(self, runs: list[Run]) -> None:
        for note in (practise(of(*runs), 20, NOW), progress(of(*runs))):
            assert max(map(len, plain_text(note, 80).splitlines())) <= 80


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
