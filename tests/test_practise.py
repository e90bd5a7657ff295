"""`checklist practise`: the document, and the command that prints it."""

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklist.cli import main
from checklist.practice.history import history
from checklist.practice.past import past
from checklist.practice.run import Run
from checklist.protocol.model import Protocol
from checklist.session.codec import encode_event, encode_header
from checklist.session.events import Event, Finished, Outcome, Recalled, Recorded, Result, Started
from checklist.session.index import index_file
from checklist.session.session import REHEARSAL
from checklist.summary.document import plain_text
from checklist.summary.practise import practise
from tests.helpers import BEGIN, PROTOCOL, Script, header, protocol, protocol_table
from tests.practice_runs import NOW, a_run, examined

HAND = protocol()
UNWRAPPED = 9999
"""Characters a line, so that no sentence is broken."""
CRITICAL = protocol(PROTOCOL.replace('id = "look"', 'id = "look"\ncritical = "a wound is overlooked"', 1))


PLAIN = protocol(re.sub(r"only_if = .*\n", "", PROTOCOL))
"""Nothing in it is critical or conditional."""


def what_next(
    *runs: Run, minutes: float = 20, protocol: Protocol = HAND, unreadable: tuple[str, ...] = ()
) -> str:
    return plain_text(practise(history(protocol, runs, None, unreadable), minutes, NOW), UNWRAPPED)


def row(text: str, name: str) -> str:
    [found] = [line for line in text.splitlines() if line.strip(" !").startswith(name)]
    return found


class TestToday:
    def test_with_no_history_it_says_so_and_names_what_is_critical_first(self) -> None:
        text = what_next(protocol=CRITICAL)
        assert "There is no history yet: nothing is known of any step." in text
        today = text.partition("TODAY, 20 MINUTES\n")[2].partition("\n\n")[0]
        assert today.splitlines() == [
            "- Look at the skin: critical; not yet tested.",
            "- Clean hands: not yet tested.",
            "- Feel the pulses: not yet tested.",
        ]
        assert "EVERY STEP" not in text

    def test_each_step_has_one_line_that_says_why(self) -> None:
        text = what_next(a_run(4, {"wash": True}), a_run(3, {"look": False, "pulse": True, "wash": True}))
        assert "- Look at the skin: not recalled last time, 3 days ago; recalled 0 of 1." in text
        # Half-life 2^1.5 days, three days ago: 2^(-3/2.8284) = 0.479.
        assert (
            "- Feel the pulses: last recalled 3 days ago, about 48 % of that is expected to be left;"
            " recalled 1 of 1." in text
        )
        # Two days of recall: half-life 4 days, three days ago: 2^(-3/4) = 0.595.
        assert (
            "- Clean hands: last recalled 3 days ago, about 59 % of that is expected to be left;"
            " recalled 2 of 2." in text
        )
        assert "- Test the grip:" not in text

    @pytest.mark.parametrize(
        ("mark", "words"),
        [
            ("-", "not recalled"),
            ("?", "recalled with a hint"),
            ("~", "recalled out of place"),
            ("/", "done at a simulated patient and recorded wrongly"),
            ("!", "done, but not as planned,"),
            ("o", "left out"),
        ],
    )
    def test_a_step_that_was_missed_says_in_which_way(self, mark: str, words: str) -> None:
        text = what_next(a_run(3, {"look": False}, marks=mark))
        assert f"- Look at the skin: {words} last time, 3 days ago; recalled 0 of 1." in text

    @pytest.mark.parametrize("mode", ["examination", "observation", "patient"])
    def test_what_was_done_is_not_called_recalled(self, mode: str) -> None:
        kept = {"mode": "rehearsal", "task": mode} if mode == "patient" else {"mode": mode, "task": ""}
        text = what_next(
            a_run(9, {"look": True, "wash": True}, **kept),
            a_run(8, {"look": False}, marks="!", **kept),
        )
        today = text.partition("TODAY")[2].partition("\n\n")[0]
        assert (
            "- Look at the skin: done, but not as planned, last time, 8 days ago; done as planned 1 of 2."
            in today
        )
        assert "- Clean hands: last done 9 days ago, " in today
        assert "recalled" not in today

    def test_where_counts_mix_both_words_stand(self) -> None:
        text = what_next(
            *(a_run(day, {"look": day != 7}) for day in (9, 8, 7)),
            a_run(6, {"look": True}, mode="examination", task=""),
            a_run(5, {"look": False}, mode="examination", task="", marks="o"),
        )
        assert "- Look at the skin: left out last time, 5 days ago; recalled or done 3 of 5." in text

    def test_what_is_not_due_was_recalled_or_done_recently(self) -> None:
        mixed = what_next(a_run(0, {"look": True}), examined(0.1, 100, steps=("wash",)))
        assert "2 steps, recalled or done recently:" in mixed
        assert "1 step, done recently:" in what_next(examined(0, 100))

    def test_the_only_recall_after_a_miss_is_improving(self) -> None:
        # A day of each: half-life 2 days; 2^(-1.5/2) = 0.595.
        text = what_next(a_run(3, {"look": False}), a_run(1.5, {"look": True}))
        assert (
            "- Look at the skin: improving; last recalled yesterday, about 59 % of that is expected to be"
            " left; recalled 1 of 2." in text
        )

    @pytest.mark.parametrize(
        "tests",
        [
            # 2^(-1.9/2^1.5) = 0.63 and 2^(-2.5/2^1.5) = 0.54.
            [(1.9, True)],
            [(2.5, True)],
            [(3, True), (1.5, False)],
            [(9, False), (8, True), (2, True)],
            [(400, False), (399, True)],
            # 2^(-2.1/2) = 0.48: less than half is expected to be left.
            [(3, False), (2.1, True)],
        ],
        ids=["only one", "only one, older", "missed last", "two recalls", "long ago", "half is gone"],
    )
    def test_nothing_else_is_improving(self, tests: list[tuple[float, bool]]) -> None:
        text = what_next(*(a_run(days, {"look": is_recalled}) for days, is_recalled in tests))
        assert "- Look at the skin: " in text.partition("IN WHICH ORDER")[0]
        assert "improving;" not in text

    def test_days_are_counted_by_the_calendar(self) -> None:
        assert "last time, today;" in what_next(a_run(0.5, {"look": False}))
        assert "last time, yesterday;" in what_next(a_run(0.9, {"look": False}))

    def test_one_recall_tonight_is_not_due_again_tonight(self) -> None:
        text = what_next(a_run(0, {"look": True, "pulse": True, "wash": True, "grip": True}))
        assert "No step is due." in text
        assert "4 steps, recalled recently" in text
        # 1.76 days after 20:00 on the 30th.
        assert "Next due: Clean hands, 2026-04-01." in text

    def test_the_order_names_what_comes_first_the_second_round_and_the_time(self) -> None:
        text = what_next(a_run(3, {"look": False, "pulse": True, "wash": True, "grip": True}))
        assert "Those missed last come first, then the rest, each part in the protocol's order." in text
        assert "Say each aloud from memory before you look; what you miss, take again at the end." in text
        assert "Planned: 1:20, and 20 s for each step taken again." in text

    def test_what_comes_first_is_said_of_what_there_is(self) -> None:
        missed = {"look": False, "wash": False}
        assert "Critical steps and those missed last come first, " in what_next(
            a_run(3, missed), protocol=CRITICAL
        )
        assert "Critical steps come first, " in what_next(protocol=CRITICAL)
        assert "The steps come in the protocol's order." in what_next()

    def test_ten_minutes_before_an_examination_it_says_whose_plan_it_is_and_three_things(self) -> None:
        text = what_next(a_run(3, {"look": False, "pulse": False, "wash": True}), minutes=10)
        assert text.splitlines()[1] == "Hand: what to practise next. Examiner E-2; 1 session."
        assert len([line for line in text.splitlines() if line.startswith("- ")]) == 3
        for more in ("tested", "EVERY STEP", "HOW TO READ", "FORMULAS", "WHICH ORDER", "NOT DUE", "aside"):
            assert more not in text

    def test_in_short_what_was_left_aside_is_named_on_the_same_line(self) -> None:
        runs = (a_run(-2, {"look": True}), a_run(2, {}), a_run(3, {}, examiner=""))
        text = what_next(*runs, minutes=5, unreadable=("a.toml", "b.toml"))
        assert text.splitlines()[1] == (
            "Hand: what to practise next. Examiner E-2; 1 session; left aside: codes no code,"
            " 1 dated after today, 2 unreadable files."
        )

    def test_in_short_that_there_is_no_history_is_said(self) -> None:
        [_, first, *_] = what_next(minutes=10).splitlines()
        assert first == "Hand: what to practise next. There is no history yet."


class TestFuture:
    """A clock that was wrong must not silence the plan."""

    def test_what_is_dated_more_than_a_day_ahead_is_left_aside_and_counted(self) -> None:
        text = what_next(a_run(3, {"look": False}), a_run(-1.1, {"look": True}))
        assert "Examiner E-2; 1 session, 2026-03-27." in text
        assert "1 session is dated after today and was left aside." in text
        assert "- Look at the skin: not recalled last time, 3 days ago; recalled 0 of 1." in text
        more = what_next(a_run(3, {}), a_run(-300, {}), a_run(-3000, {}))
        assert "2 sessions are dated after today and were left aside." in more

    def test_what_is_dated_a_day_ahead_counts(self) -> None:
        text = what_next(a_run(3, {"look": False}), a_run(-1, {"look": True}))
        assert "2 sessions, 2026-03-27 to 2026-03-31." in text
        assert "aside" not in text

    def test_a_history_as_of_a_time_lacks_what_is_dated_after_it(self) -> None:
        runs = [a_run(3, {}), a_run(-2, {}), a_run(-9, {}, examiner="E-7")]
        found = history(HAND, runs, now=NOW)
        assert (found.examiner, found.ahead, found.others) == ("E-2", 1, ("E-7",))
        assert [run.id for run in found.runs] == ["run-3"]
        assert history(HAND, runs).examiner == "E-7", "without a time nothing is left aside"

    def test_where_all_is_dated_after_today_there_is_no_history(self) -> None:
        found = history(HAND, [a_run(-9, {})], now=NOW)
        text = plain_text(practise(found, 20, NOW), UNWRAPPED)
        assert "There is no history of examiner E-2 yet: nothing is known of any step." in text
        assert "1 session is dated after today and was left aside." in text


class TestTable:
    def test_it_has_estimate_interval_tests_and_day_of_each_step(self) -> None:
        text = what_next(a_run(0, {"look": True}), protocol=CRITICAL)
        # Beta(2, 1): mean 67 %, interval 16 to 99 %: cells 3 to 19 of 20, the estimate in cell 13.
        assert row(text, "Look at the skin").split() == [
            "!", "Look", "at", "the", "skin", "···──────────█──────", "67", "%", "1/1", "2026-03-30",
        ]  # fmt: skip
        assert row(text, "Feel the pulses").endswith("not yet tested")

    def test_the_ends_of_its_scale_stand_over_the_ends_of_the_bars(self) -> None:
        text = what_next(a_run(0, {"look": True}))
        scale, bar = row(text, "0 %"), row(text, "Look at the skin")
        assert scale.index("0 %") == bar.index("·")
        assert scale.index("100 %") + len("100 %") == bar.rindex("─") + 1

    def test_pace_is_the_time_beside_the_plan(self) -> None:
        # 45 s at a step planned for 30.
        text = what_next(examined(1, 100, times=(45.0,)))
        assert row(text, "Look at the skin").endswith("1.5 ×")
        assert text.index("pace: usual by planned time") < text.index("last seen") < text.index("1.5 ×\n")
        assert "- Pace: the median time" in text

    def test_where_no_step_has_a_pace_the_word_does_not_stand(self) -> None:
        assert "pace" not in what_next(a_run(1, {"look": True})).lower()

    @pytest.mark.parametrize("width", [60, 78])
    def test_on_narrow_lines_banner_and_rows_fit_60(self, width: int) -> None:
        past = history(CRITICAL, [examined(1, 100, times=(45.0,)), a_run(2, {"wash": False})])
        text = plain_text(practise(past, 30, NOW, width), 60)
        assert max(map(len, text.splitlines())) <= 60
        # Recalled a day ago, weight one half: a = 1 + 0.5 * 2^(-1/2^1.25) = 1.374, b = 1; mean 0.579 of 9
        # cells is cell 5; the line from 0.025^(1/1.374) = 0.068 to 0.975^(1/1.374) = 0.982.
        assert row(text, "Look at the skin") == "! Look at the skin   ─────█───  58 %   1/1 2026-03-29  1.5 ×"

    def test_steps_of_another_version_are_not_counted(self) -> None:
        assert "Of 4 steps, 1 tested, 3 not yet tested." in what_next(a_run(1, {"gone": True, "look": True}))


class TestWords:
    def test_what_is_read_first_needs_no_statistics(self) -> None:
        """The formulas stand last, each introduced by what it is."""
        text = what_next(a_run(3, {"look": False, "wash": True}), protocol=CRITICAL)
        first, _, formulas = text.partition("\nFORMULAS\n")
        assert not re.search(r"Beta|quantile|bound|interval|median|probab|2\^|95", first)
        items = formulas.splitlines()[:-1]
        assert len(items) > 5
        assert all(re.match(r"- [^:=]+: ", item) for item in items)

    def test_without_history_nothing_is_explained_that_is_not_there(self) -> None:
        text = what_next(protocol=PLAIN)
        assert text.partition("HOW TO READ THIS\n")[2].splitlines()[:-1] == [
            "- Due is a step that was never tested; critical ones are chosen rather than others."
        ]
        for more in ("FORMULAS", "est.", "pace", "estimate", "missed last", "Critical is", "improving"):
            assert more not in text

    def test_what_critical_means_stands_before_the_word_is_used(self) -> None:
        meaning = "Critical is a step of which the protocol says why it must not be left out."
        for text in (what_next(protocol=CRITICAL), what_next(a_run(3, {"look": False}), protocol=CRITICAL)):
            assert text.index(meaning) < text.index("critical;")
        assert meaning not in what_next(a_run(3, {"look": False}))

    def test_the_estimate_is_said_to_be_cautious_before_the_formulas(self) -> None:
        first, _, formulas = what_next(a_run(3, {"look": False})).partition("\nFORMULAS\n")
        assert "Est. is a cautious estimate" in first
        assert "it starts at 50 %, and what was missed fades more slowly than what was recalled" in first
        assert "got 24 % on average" in first and "got 61 %" in first
        assert "by this model, the line holds the share of recall with a probability of 95 %" in formulas

    def test_what_is_left_and_the_estimate_are_told_apart(self) -> None:
        text = what_next(a_run(399, {"look": True}))
        assert "last recalled 399 days ago, about 0 % of that is expected to be left" in text
        assert "where little of it is left and nothing was missed, est. is near 50 %" in text

    def test_ways_in_which_a_step_is_missed_are_named(self) -> None:
        text = what_next(a_run(3, {"look": False}))
        for way in (
            "with a hint",
            "left out",
            "done out of order",
            "after a prompt",
            "incorrectly",
            "in part",
        ):
            assert way in text.partition("HOW TO READ THIS")[2]

    @pytest.mark.parametrize(
        ("names", "said"),
        [
            ("a", "1 file could not be read. It is a.toml."),
            ("ab", "2 files could not be read. They are a.toml, b.toml."),
            ("abc", "3 files could not be read. They are a.toml, b.toml, c.toml."),
            ("abcde", "5 files could not be read. They are a.toml, b.toml, c.toml and 2 more."),
        ],
    )
    def test_up_to_three_files_that_could_not_be_read_are_named(self, names: str, said: str) -> None:
        assert said in what_next(unreadable=tuple(f"{name}.toml" for name in names))

    def test_sessions_without_a_code_are_named_so(self) -> None:
        assert ". No examiner code; 1 session, 2026-03-29." in what_next(a_run(1, {}, examiner=""))
        text = what_next(a_run(2, {}, examiner=""), a_run(1, {}), a_run(3, {}, examiner="E-3"))
        assert "Sessions of other examiners' codes were left aside: no code, E-3." in text


TESTS = st.dictionaries(
    st.sampled_from(["wash", "look", "pulse", "grip", "gone"]), st.sampled_from("+-?~/!o")
)


class TestLaws:
    @given(
        tests=st.lists(st.tuples(st.floats(-5, 4000), TESTS), max_size=8),
        task=st.sampled_from(["order", "patient"]),
        minutes=st.integers(1, 600),
    )
    def test_there_is_a_document_for_every_history_and_it_fits_80_columns(
        self, tests: Sequence[tuple[float, dict[str, str]]], task: str, minutes: int
    ) -> None:
        runs = [
            a_run(days, dict.fromkeys(marks, True), marks="".join(marks.values()), task=task)
            for days, marks in tests
        ]
        text = plain_text(practise(history(CRITICAL, runs), minutes, NOW), 80)
        assert text.startswith("PRACTICE – ")
        assert max(map(len, text.splitlines())) <= 80


CASE = """
format = 1
id = "sore"
title = "Sore"
protocol = "hand"
story = "An invented person."

[[truth]]
step = "look"
side = "left"
finding = "wound"
"""


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("EXAM_CHECKLIST_HOME", str(tmp_path))
    for folder in ("sessions", "protocols", "cases"):
        (tmp_path / folder).mkdir()
    (tmp_path / "protocols" / "hand.toml").write_text(PROTOCOL, encoding="utf-8")
    return tmp_path


def keep(home: Path, day: int, *events: tuple[type[Event], dict[str, Any]], **changes: Any) -> None:
    """Write a finished session of that day."""
    made = Script()
    made.add(Started, step="wash")
    for kind, values in events:
        made.add(kind, **values)
    made.add(Finished)
    created = BEGIN + timedelta(days=day)
    name = f"{created:%Y%m%d-%H%M%S}-hand-{day:04x}"
    own = replace(header(id=name, created=created), **changes)
    text = encode_header(own, protocol_table(PROTOCOL)) + "".join(map(encode_event, made.events))
    (home / "sessions" / f"{name}.toml").write_text(text, encoding="utf-8")


def recorded(step: str, *entries: str, findings: tuple[str, ...] = ()) -> tuple[type[Event], dict[str, Any]]:
    outcome = Outcome.DIFFERS if findings else Outcome.EXPECTED
    return Recorded, {
        "step": step,
        "results": (Result(entries=entries, outcome=outcome, findings=findings),),
    }


WASHED = recorded("wash", "whole")
OVERLOOKED = (WASHED, recorded("look", "right", "left"))
OF_PATIENT = {"mode": REHEARSAL, "task": "patient", "case": "sore"}


class TestCommand:
    def test_a_simulated_patient_says_what_was_overlooked(
        self, home: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        (home / "cases" / "sore.toml").write_text(CASE, encoding="utf-8")
        keep(home, 1, *OVERLOOKED, **OF_PATIENT)
        [run] = past("hand", None).runs
        assert dict(zip(run.steps, run.marks, strict=True)) == {
            "wash": "+", "look": "/",
        }  # fmt: skip
        assert (run.case_there, run.case_found) == (1, 0)
        assert main(["practise", "hand", "--width", "200"]) == 0
        assert (
            "- Look at the skin: done at a simulated patient and recorded wrongly" in capsys.readouterr().out
        )

    def test_without_its_case_only_what_was_performed_is_known(self, home: Path) -> None:
        keep(home, 1, *OVERLOOKED, **OF_PATIENT)
        [run] = past("hand", None).runs
        assert dict(zip(run.steps, run.marks, strict=True))["look"] == "+"
        assert run.case_there is None

    def test_one_of_a_seed_that_no_case_can_be_made_of_is_known_as_performed(self, home: Path) -> None:
        keep(home, 1, *OVERLOOKED, **(OF_PATIENT | {"case": "seed 7"}))
        keep(home, 2, *OVERLOOKED, **(OF_PATIENT | {"case": "seed 7"}))
        assert [run.case_there for run in past("hand", None).runs] == [None, None]

    def test_nothing_that_was_found_and_no_case_goes_into_the_index(self, home: Path) -> None:
        (home / "cases" / "sore.toml").write_text(CASE, encoding="utf-8")
        keep(home, 1, WASHED, recorded("look", "left", findings=("wound",)), **OF_PATIENT)
        assert past("hand", None).runs[0].case_found == 1
        assert not re.search("wound|sore", index_file().read_text(encoding="utf-8"))

    def test_the_second_time_the_history_is_the_same(self, home: Path) -> None:
        (home / "cases" / "sore.toml").write_text(CASE, encoding="utf-8")
        keep(home, 1, *OVERLOOKED, **OF_PATIENT)
        keep(home, 2, WASHED, examiner="Ä-3")
        keep(home, 3, WASHED, fictional=True, examiner="E-9")
        for examiner in (None, "E-2", "Ä-3", "E-9", ""):
            assert past("hand", examiner) == past("hand", examiner)
        assert past("hand", "E-2").others == ("Ä-3",)
        assert past("hand", "E-9").runs == ()
        assert past(None, None).examiner == "Ä-3"

    def test_a_copy_of_a_session_counts_once(self, home: Path) -> None:
        keep(home, 1, WASHED)
        [path] = (home / "sessions").iterdir()
        path.with_name("copy.toml").write_bytes(path.read_bytes())
        assert len(past("hand", None).runs) == 1

    def test_what_is_dated_after_now_neither_counts_nor_chooses(self, home: Path) -> None:
        for day, examiner in ((1, "E-2"), (2, "E-2"), (9, "E-2"), (30, "E-7")):
            keep(home, day, WASHED, examiner=examiner)
        now = BEGIN + timedelta(days=3)
        found = past(None, None, now=now)
        assert (found.examiner, len(found.runs), found.ahead, found.others) == ("E-2", 2, 1, ("E-7",))
        assert past(None, None).examiner == "E-7"
        only = past(None, "E-7", now=now)
        assert (only.protocol.id, only.runs, only.ahead) == ("hand", (), 1)

    def test_the_names_of_files_that_cannot_be_read_are_kept(self, home: Path) -> None:
        keep(home, 1, WASHED)
        for name in ("b.toml", "a.toml"):
            (home / "sessions" / name).write_text("no session", encoding="utf-8")
        assert past("hand", None).unreadable == ("a.toml", "b.toml")

    def test_recalled_steps_of_all_days_are_counted(
        self, home: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        for day in (1, 2):
            how = {"step": "look", "what": "order", "how": "recalled", "hints": 0, "typed": ""}
            keep(home, day, (Recalled, how), mode=REHEARSAL, task="order")
        assert main(["practise", "hand", "--width", "100"]) == 0
        assert " 2/2 2026-03-04" in row(capsys.readouterr().out, "Look at the skin ")

    @pytest.mark.usefixtures("home")
    def test_where_nothing_says_which_protocol_it_says_where_they_are_named(
        self, capsys: pytest.CaptureFixture[str]
    ) -> None:
        assert main(["practise"]) == 1
        [line] = capsys.readouterr().err.splitlines()
        assert "'checklist protocol list' names them" in line
