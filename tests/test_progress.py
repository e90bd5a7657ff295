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
        # 50 % of 20 cells are 10; of 12 and 18 cells the last one says that there are more.
        text = over_time(
            examined(3, 100, coverage=50.0, critical_missed=("look",), moved=2),
            examined(2, 100, coverage=100.0, critical_missed=(), moved=0),
            examined(1, 100, coverage=None, critical_missed=("look",) * 40, moved=None),
            examined(0, 100, coverage=5.0, moved=30),
        )
        rows = text.partition("EXAMINATION: STEPS\n")[2].splitlines()[:5]
        assert rows == [
            " run  steps done                  critical missed   out of order",
            f"   1   50 % {'█' * 10}{'·' * 10}    1 ■               2 ■■",
            f"   2  100 % {'█' * 20}    0                 0",
            f"   3      – {' ' * 20}   40 ■■■■■■■■■■■+    –",
            f"   4    5 % █{'·' * 19}    0                30 {'■' * 17}+",
        ]

    def test_below_five_runs_there_is_no_curve(self) -> None:
        text = over_time(*eight(300, 250, 220, 200))
        assert "A curve is fitted from 5 runs on; there are 4." in text
        assert "NEARER" not in text
        assert "e^" not in text

    def test_from_five_runs_on_both_curves_and_the_gap_between_them_are_shown(self) -> None:
        # Fitted with SciPy: exponential 392.8 s and power 381.2 s for the ninth run.
        text = over_time(*eight(620, 540, 470, 455, 430, 410, 400, 396))
        assert "Improving: the times fall; by the nearer curve they level off at 6:26." in text
        assert "Next run: 6:33 by the nearer curve, 6:21 by the other one; the 0:12 between them" in text
        # Most at the third run: 386.2 + 233.9 e^(-0.4466 × 2) = 482.0, and it took 470.
        assert "- Runs so far were up to 0:12 off the nearer curve." in text
        assert "This is below the fastest time so far, and so beyond what was seen." in text
        assert "o NEARER CURVE" in text
        assert "- The nearer curve is: examination, the exponential one." in text

    def test_when_the_limit_is_likely_to_be_met_is_a_run_and_a_day_and_says_that_it_goes_beyond(self) -> None:
        # 90 + 512, 256, 128, 64, 32: an exponential curve that gives 90 + 16 for run 6, within 120; the runs
        # are three days apart, and the last one was on 27 March.
        text = over_time(*eight(602, 346, 218, 154, 122))
        assert "The target time is likely to be met from run 6 " in text
        assert "about 2026-03-30" in text
        assert "No run was as fast so far: this follows the curves beyond what was seen." in text

    def test_a_run_to_come_has_the_number_that_its_row_will_have(self) -> None:
        """A run that was left out of the times has a row, and so a number."""
        left_out = examined(30, 100, reach=40.0)
        text = over_time(left_out, *eight(602, 346, 218, 154, 122))
        assert "   6 2026-03-27    2:02 " in text
        assert "The target time is likely to be met from run 7 " in text

    def test_a_limit_below_the_curves_is_not_promised(self) -> None:
        text = over_time(*eight(400, 300, 250, 225, 212, 206, 203, 202))
        assert "Neither curve comes down to the target time within the next 8 runs." in text

    def test_times_that_do_not_fall_get_no_curve(self) -> None:
        text = over_time(*eight(200, 210, 220, 230, 240))
        assert "The times are not falling, so no curve is shown." in text
        assert "mproving" not in text

    def test_times_of_runs_that_left_much_out_do_not_count(self) -> None:
        text = over_time(*eight(300, 290), examined(1, 30, reach=40.0))
        assert "- 1 run that came to fewer than 90 % of the steps is left out of the times.\n" in text
        assert "- Fastest 4:50, latest 4:50.\n- Target 2:00; within it 0 of the latest 2 runs.\n" in text
        assert "   3 2026-03-29   (0:30) " in text
        assert "- Time in brackets: the run came to fewer than 90 % of the steps" in text
        assert "brackets" not in over_time(*eight(300, 290))

    def test_simulated_patients_have_neither_target_nor_curve(self) -> None:
        times = (620, 540, 470, 455, 430, 410)
        text = over_time(
            *(examined(9 - day, each, mode=REHEARSAL, task="patient") for day, each in enumerate(times))
        )
        assert "REHEARSAL, PATIENT: █ TIME\n" in text
        assert "- Cases differ, so no curve is fitted to these times." in text
        assert "mproving" not in text
        assert "- Target" not in text
        assert "steps done" in text
        assert "SIMULATED PATIENTS" not in text

    def test_what_was_found_of_simulated_patients_stands_behind_the_kinds(self) -> None:
        changes = {"mode": REHEARSAL, "task": "patient", "case_there": 4, "case_found": 3}
        changes |= {"case_false_alarms": 1, "case_due": 2, "case_told": 2}
        kinds, behind = over_time(examined(1, 100, **changes)).split("\nSIMULATED PATIENTS\n")
        assert "REHEARSAL, PATIENT: STEPS\n" in kinds
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
        assert "REHEARSAL, ORDER: █ TIME\n" in text
        assert text.count("- Target 2:00") == 1
        assert "steps recalled" in text

    def test_of_many_runs_the_latest_have_a_row(self) -> None:
        text = over_time(*(examined(day, 100) for day in range(25)))
        assert "… 5 earlier runs" in text
        assert len(re.findall(r"^ +\d+ 2026-\d\d-\d\d    1:40", text, re.MULTILINE)) == 20
        assert "\n  25 2026-03-30    1:40 " in text

    def test_a_session_under_way_has_no_row(self) -> None:
        assert "1:40" not in over_time(examined(1, 100, is_finished=False))

    def test_steps_that_get_worse_are_named_with_their_figures(self) -> None:
        runs = [a_run(20 - day, {"look": day < 5 or day == 6}) for day in range(1, 8)]
        assert "- Look at the skin: recalled or done in 1 of the last 3, 4 of 4 before." in over_time(*runs)
        slow = [
            examined(20 - day, 100, times=(each,))
            for day, each in enumerate([10, 10, 11, 12, 12, 16, 16, 17])
        ]
        assert "- Look at the skin: takes 0:16 lately, 0:11 before." in over_time(*slow)

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
        for found in re.finditer(r"Next run: (\S+) by .*?, (\S+) by .*?; the (\S+) between", text):
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
