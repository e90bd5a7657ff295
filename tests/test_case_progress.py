"""The block of `progress` on simulated patients."""

import pytest

from checklist.practice.run import Run
from checklist.summary.case_progress import HEADING, case_block
from checklist.summary.document import Note, plain_text
from tests.practice_runs import a_run, examined

FIGURES = {"case_there": 4, "case_found": 3, "case_false_alarms": 1, "case_due": 2, "case_told": 2}


def patient(days_ago: float, **changes: int | bool | None) -> Run:
    return a_run(days_ago, {"look": True}, task="patient", **(FIGURES | changes))


def text(*runs: Run) -> str:
    block = case_block(runs)
    assert block is not None
    return plain_text(Note(title="T", banner=(), blocks=(block,)), 80)


class TestBlock:
    def test_without_a_simulated_patient_there_is_none(self) -> None:
        assert case_block([]) is None
        assert case_block([a_run(1, {"look": True}), examined(1, 100)]) is None

    def test_one_without_its_case_or_not_finished_has_no_row(self) -> None:
        assert case_block([patient(1, **dict.fromkeys(FIGURES)), patient(2, is_finished=False)]) is None

    def test_each_has_its_day_what_was_found_false_alarms_and_what_was_told(self) -> None:
        # NOW is 30 March 2026.
        lines = text(patient(2), examined(1, 100), patient(0, case_found=4, case_false_alarms=0)).splitlines()
        rows = lines[lines.index(HEADING) + 1 :]
        assert rows[0].split() == ["found", "false", "alarms", "told"]
        assert rows[1].split() == ["2026-03-28", "3", "of", "4", "1", "2", "of", "2"]
        assert rows[2].split() == ["2026-03-30", "4", "of", "4", "0", "2", "of", "2"]

    def test_a_share_of_nothing_is_none(self) -> None:
        [row] = [
            line for line in text(patient(0, case_due=0, case_told=0)).splitlines() if line.startswith("2026")
        ]
        assert row.split() == ["2026-03-30", "3", "of", "4", "1", "none", "to", "judge"]

    def test_it_says_that_cases_differ(self) -> None:
        assert "Cases differ in difficulty, so that rows do not compare strictly." in " ".join(
            text(patient(1)).split()
        )

    @pytest.mark.parametrize(("runs", "earlier"), [(20, ""), (25, "… 5 earlier")])
    def test_of_many_the_latest_have_a_row(self, runs: int, earlier: str) -> None:
        found = text(*(patient(runs - number) for number in range(runs)))
        assert sum(line.startswith("2026") for line in found.splitlines()) == 20
        assert earlier in found
        assert ("earlier" in found) is bool(earlier)

    def test_it_fits_60_columns(self) -> None:
        wide = patient(1, case_there=999, case_found=999, case_false_alarms=999, case_due=999, case_told=999)
        assert max(map(len, text(wide).splitlines())) <= 60
