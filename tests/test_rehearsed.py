"""How a rehearsal went, as printed: counts and words, and nothing before it is over."""

import pytest

from checklist import cli
from tests.desk import Desk, Seat, desk
from tests.test_rehearsing import FREE, keys, rehearse

__all__ = ["desk"]


def printed(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    assert cli.main(["debrief", *arguments]) == 0
    return capsys.readouterr().out


def test_a_rehearsal_is_debriefed_in_counts_and_words(desk: Desk, capsys: pytest.CaptureFixture[str]) -> None:
    """Planned are 30, 40 and 10 seconds."""
    session = rehearse(
        desk, keys("space", "x", "space", "space", "h", "space", "space", "w", "y"), "order hand"
    )

    assert printed(capsys, session.header.id).splitlines() == [
        "PRACTICE – for the learner; no part of a patient's record",
        "Hand: how the rehearsal went. Rehearsed by S-07, 2026-03-02 14:00, without a patient.",
        "Task: the order, section Hand.",
        "",
        "HOW IT CAME TO MIND",
        "- 1 recalled.",
        "- 1 recalled with a hint.",
        "- 1 not recalled.",
        "",
        "TIME. 0:00. Planned to perform the 3 steps: 1:20. 1 marked as recalled in less than a",
        "second: too short to say it, and no sign that it is known.",
        "",
        "NOT RECALLED: HAND",
        "- Look at the skin.",
        "",
        "WITH A HINT",
        "- Test the grip: added on its condition.",
        "",
        "MARKED IN LESS THAN A SECOND",
        "- Feel the pulses.",
        "PRACTICE – for the learner; no part of a patient's record",
    ]


def test_what_was_typed_instead_is_told(desk: Desk, capsys: pytest.CaptureFixture[str]) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.type("feel the pulses")
        await seat.pilot.press("escape")
        await seat.press("w", "y")

    session = rehearse(desk, scenario, "order typed=yes", FREE)

    text = printed(capsys, session.header.id)
    assert "Task: the order, typed." in text
    assert "OUT OF PLACE\n- Feel the pulses; typed: feel the pulses." in text
    assert "4 not asked: neither known nor failed" in text


def test_what_is_not_over_gives_nothing_away(desk: Desk, capsys: pytest.CaptureFixture[str]) -> None:
    session = rehearse(desk, keys("space", "x", "q"))

    assert cli.main(["debrief", session.header.id]) == 1
    (line,) = capsys.readouterr().err.splitlines()
    assert line.endswith("this rehearsal is not finished; 'checklist resume' goes on with it")
