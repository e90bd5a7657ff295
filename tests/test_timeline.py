"""The timeline: every step's time beside the plan, in aligned columns of monochrome characters."""

import pytest

from checklist.protocol.model import Section
from checklist.session.events import Moved
from checklist.summary.document import Block, markdown, plain_text
from checklist.summary.timeline import timeline
from tests.note_sessions import (
    Script,
    interrupted_and_resumed,
    not_done,
    protocol_of,
    same,
    step,
    wholly_expected,
)

SHORT = step("short", title="Short step", seconds=10)
LONG = step("long", title="Long step", seconds=40)
EXTRA = step("extra", title="Extra step", seconds=15, only_if="it itches")
PROTOCOL = protocol_of(
    target_minutes=2,
    sections=(
        Section(id="one", title="One", steps=(SHORT, LONG)),
        Section(id="two", title="Two", steps=(EXTRA,)),
        Section(id="three", title="Three", steps=(step("last", title="Last step"),)),
    ),
)


def rows(script: Script, heading: str) -> list[str]:
    """The rows of a table without the head that gives its scale."""
    [found] = [each for each in timeline(script.session).blocks if each.heading == heading]
    return [sentence.text for sentence in found.sentences[1:]]


def visited(*visits: tuple[str, float]) -> Script:
    """A session that stays at each step for some seconds."""
    script = Script(PROTOCOL).start()
    for step_id, seconds in visits:
        script.add(Moved, step=step_id)
        script.record(step_id, same(), seconds=seconds)
    return script


def row(name: str, spent: str, planned: str, bar: str) -> str:
    return f"{name:<40} {spent:>7} {planned:>7} {bar}".rstrip()


STEPS = "STEPS IN THE ORDER PERFORMED"


def test_steps_stand_in_the_order_of_their_first_visit_with_all_their_time() -> None:
    script = visited(("long", 20), ("short", 4), ("long", 12))
    # The start was at `short`, for no time.
    assert rows(script, STEPS) == [
        row("Short step", "0:04", "0:10", "=."),
        row("Long step", "0:32", "0:40", "======.."),
    ]


@pytest.mark.parametrize(
    ("spent", "bar"),
    [
        (0, "........"),
        (0.4, "=......."),
        (12, "==......"),
        (13, "===....."),
        (40, "========"),
        (50, "========++"),
        (100, "========++++++++++++"),
        (103, "========+++++++++++>"),
        (4000, "========+++++++++++>"),
    ],
)
def test_a_bar_shows_what_was_within_the_plan_beyond_it_or_left(spent: float, bar: str) -> None:
    [_, found] = rows(visited(("long", spent)), STEPS)
    minutes = f"{int(spent + 0.5) // 60}:{int(spent + 0.5) % 60:02}"
    assert found == row("Long step", minutes, "0:40", bar)


def test_the_scale_of_a_table_is_given_and_follows_the_plan() -> None:
    blocks = {each.heading: each for each in timeline(visited(("long", 999)).session).blocks}
    heads = {
        heading: each.sentences[0].text.split("planned ")[1]
        for heading, each in blocks.items()
        if heading in (STEPS, "SECTIONS", "TOTAL")
    }
    assert heads == {
        STEPS: "one character 5 s",
        "SECTIONS": "one character 5 s",
        "TOTAL": "one character 15 s",
    }


def test_sections_add_up_their_steps_in_listed_order() -> None:
    script = visited(("last", 15), ("long", 30), ("short", 35))
    assert rows(script, "SECTIONS") == [
        row("One", "1:05", "0:50", "==========+++"),
        row("Two", "0:00", "–", ""),
        row("Three", "0:15", "0:15", "==="),
    ]
    assert rows(script, "TOTAL") == [row("Whole examination", "1:20", "2:00", "=====...")]


def test_a_conditional_step_counts_only_when_it_was_triggered() -> None:
    script = visited(("extra", 5))
    assert rows(script, "SECTIONS")[1] == row("Two", "0:05", "0:15", "=..")
    script.record("extra", not_done(reason="not indicated"))
    # With nothing planned, all of the time is beyond the plan.
    assert rows(script, "SECTIONS")[1] == row("Two", "0:05", "–", "+")
    assert rows(script, STEPS)[1] == row("Extra step", "0:05", "–", "+++++")


def test_time_away_is_no_time_of_examination() -> None:
    script = visited(("short", 10))
    script.pause(600)
    script.leave(600)
    script.crash(600)
    script.stall(600)
    assert rows(script.finish(), "TOTAL") == [row("Whole examination", "0:10", "2:00", "=.......")]


def test_what_was_never_visited_is_named_by_section() -> None:
    [found] = [
        each for each in timeline(visited(("short", 1)).session).blocks if each.heading == "NEVER VISITED"
    ]
    assert texts(found) == ["One: Long step.", "Three: whole section."]
    assert "NEVER VISITED" not in [each.heading for each in timeline(wholly_expected()).blocks]


def texts(block: Block) -> list[str]:
    return [sentence.text for sentence in block.sentences]


def test_a_session_that_never_started_has_no_steps_to_show() -> None:
    headings = [each.heading for each in timeline(Script(PROTOCOL).session).blocks]
    assert headings == ["", "SECTIONS", "TOTAL", "NEVER VISITED"]


def test_interruptions_are_told() -> None:
    text = " ".join(plain_text(timeline(interrupted_and_resumed())).split())
    assert "Interrupted: paused 14:06–14:08; program closed 14:08 to 2026-03-03 10:08;" in text


@pytest.mark.parametrize("mode", ["examination", "rehearsal", "observation", "recording"])
def test_every_mode_has_a_timeline_and_practice_marks_it(mode: str) -> None:
    session = Script(PROTOCOL, mode=mode).start().finish().session
    assert plain_text(timeline(session)).startswith(
        "SIMULATED RECORD – practice, not a patient's record\nInvented"
    )


def test_a_row_rests_on_the_events_at_its_step() -> None:
    script = visited(("long", 20), ("short", 4))
    [steps] = [each for each in timeline(script.session).blocks if each.heading == STEPS]
    assert [sentence.rests_on for sentence in steps.sentences] == [(), (1, 4, 5), (2, 3)]


@pytest.mark.parametrize("title", ["A" * 60, "眼" * 30, "Ｆ" * 30, "é" * 40, "e\u0301" * 60, "Look\nhere"])
def test_columns_stay_aligned_and_fit_80_cells_whatever_the_title(title: str) -> None:
    import unicodedata

    protocol = protocol_of(step("one", title=title), SHORT)
    script = Script(protocol).start()
    script.add(Moved, 500, step="short")
    script.add(Moved, 5000, step="one")

    def cells(text: str) -> int:
        return sum(
            0 if unicodedata.combining(each) else 2 if unicodedata.east_asian_width(each) in "WF" else 1
            for each in text
        )

    lines = rows(script.finish(), STEPS)
    assert not any("\n" in line for line in lines)
    assert [cells(line.split(":")[0]) for line in lines] == [cells(lines[1].split(":")[0])] * 2
    assert max(cells(line) for line in plain_text(timeline(script.session), 78).splitlines()) <= 78


def test_markdown_keeps_the_columns_in_a_block_of_their_own() -> None:
    text = markdown(timeline(visited(("short", 10)).session))
    assert f"## TOTAL\n\n```\n{'':<40}   spent planned one character 15 s\nWhole examination" in text
