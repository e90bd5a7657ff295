"""The timeline: every step's time beside the plan, in aligned columns of monochrome characters."""

import pytest
from hypothesis import given

from checklist.protocol.model import Section
from checklist.session.events import Marked, Moved, Result
from checklist.session.session import Session
from checklist.summary.document import Block, markdown, plain_text
from checklist.summary.timeline import timeline
from tests.note_sessions import (
    Script,
    differs,
    interrupted_and_resumed,
    not_done,
    protocol_of,
    same,
    step,
    unseen,
    wholly_expected,
)
from tests.test_note_laws import SHARING, SOME, sessions

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


def row(name: str, outcome: str, spent: str, planned: str, bar: str) -> str:
    return f"{name:<33} {outcome:<11} {spent:>7} {planned:>7} {bar}".rstrip()


STEPS = "STEPS IN THE ORDER RECORDED"
LOOKED = "LOOKED AT, NOTHING RECORDED"
NO_TIME = "NO TIME SPENT"


def headings(script: Script) -> list[str]:
    return [each.heading for each in timeline(script.session).blocks]


def test_steps_stand_in_the_order_of_their_first_record_with_all_their_time() -> None:
    script = visited(("long", 20), ("short", 4), ("long", 12))
    # The start was at `short`, for no time; `long` was recorded once more at the end.
    assert rows(script, STEPS) == [
        row("Long step", "expected", "0:32", "0:40", "===."),
        row("Short step", "expected", "0:04", "0:10", "="),
    ]


def test_a_first_record_that_was_taken_back_gives_a_step_no_place() -> None:
    script = Script(PROTOCOL).start()
    script.undo(script.record("short", same(), seconds=10))
    script.add(Moved, step="long")
    script.record("long", same(), seconds=40)
    script.record("short", same())
    assert rows(script, STEPS) == [
        row("Long step", "expected", "0:40", "0:40", "===="),
        row("Short step", "expected", "0:10", "0:10", "="),
    ]


def test_what_was_only_looked_at_or_taken_back_is_not_among_the_recorded() -> None:
    script = Script(PROTOCOL).start()
    script.add(Moved, 3, step="extra")
    script.add(Moved, 2, step="long")
    script.undo(script.record("long", same(), seconds=5))
    script.add(Moved, step="last")
    script.record("last", same(), seconds=15)
    assert rows(script, STEPS) == [row("Last step", "expected", "0:15", "0:15", "========")]
    # Nothing is planned for a conditional step that was not triggered.
    assert rows(script, LOOKED) == [
        row("Short step", "", "0:03", "0:10", "="),
        row("Extra step", "", "0:02", "–", "+"),
        row("Long step", "", "0:05", "0:40", "=..."),
    ]
    assert NO_TIME not in headings(script)


def test_looking_begins_at_half_a_second() -> None:
    script = Script(PROTOCOL).start()
    script.add(Moved, 0.4, step="long")
    script.add(Moved, 0.5, step="last")
    assert rows(script, LOOKED) == [row("Long step", "", "0:01", "0:40", "=...")]
    [found] = [each for each in timeline(script.session).blocks if each.heading == NO_TIME]
    assert texts(found) == ["One: Short step.", "Three: whole section."]


def test_without_anything_looked_at_in_vain_there_is_no_such_table() -> None:
    assert headings(visited(("short", 1), ("long", 1), ("last", 1))) == ["", STEPS, "SECTIONS", "TOTAL"]


SIDED = step("sided", title="Sided step", sides=True)


@pytest.mark.parametrize(
    ("results", "outcome"),
    [
        ((same(),), "expected"),
        ((same("right"), not_done("left", reason="declined")), "not done"),
        ((not_done("right", reason="declined"), unseen("left")), "not seen"),
        ((unseen("right"), differs("left")), "differs"),
        ((same("right"),), "expected…"),
        ((differs("left"),), "differs…"),
        ((unseen("left"),), "not seen…"),
        ((not_done("right", reason="unable"),), "not done…"),
    ],
)
def test_of_several_outcomes_the_one_that_weighs_most_is_given(
    results: tuple[Result, ...], outcome: str
) -> None:
    script = Script(protocol_of(SIDED)).start()
    script.record("sided", *results, seconds=4)
    # 15 planned seconds at 2 s a mark are 8 marks.
    assert rows(script, STEPS) == [row("Sided step", outcome, "0:04", "0:15", "==......")]


def test_a_late_entry_stands_last_and_took_no_time() -> None:
    script = visited(("long", 40)).finish()
    script.amend("short", differs(), away=600, why="forgotten")
    assert rows(script, STEPS) == [
        row("Long step", "expected", "0:40", "0:40", "===="),
        row("Short step", "differs", "0:00", "0:10", "."),
    ]


@pytest.mark.parametrize(
    ("spent", "bar"),
    [
        (0, "...."),
        (0.4, "...."),
        (0.5, "=..."),
        (14, "=..."),
        (15, "==.."),
        (40, "===="),
        (50, "====+"),
        (154, "====+++++++++++"),
        (155, "====++++++++++>"),
        (4000, "====++++++++++>"),
    ],
)
def test_a_bar_shows_what_was_within_the_plan_beyond_it_or_left(spent: float, bar: str) -> None:
    [found] = rows(visited(("long", spent)), STEPS)
    minutes = f"{int(spent + 0.5) // 60}:{int(spent + 0.5) % 60:02}"
    assert found == row("Long step", "expected", minutes, "0:40", bar)


def test_the_head_of_a_table_names_its_columns_and_the_scale_that_follows_the_plan() -> None:
    script = visited(("long", 999))
    script.add(Moved, 3, step="short")
    script.add(Moved, 3, step="last")
    blocks = {each.heading: each for each in timeline(script.session).blocks}
    heads = {heading: blocks[heading].sentences[0].text for heading in (STEPS, LOOKED, "SECTIONS", "TOTAL")}
    assert heads == {
        STEPS: row("", "outcome", "spent", "planned", "one mark 10 s"),
        LOOKED: row("", "", "spent", "planned", "one mark 2 s"),
        "SECTIONS": row("", "recorded", "spent", "planned", "one mark 10 s"),
        "TOTAL": row("", "recorded", "spent", "planned", "one mark 20 s"),
    }


def test_sections_add_up_their_steps_in_listed_order() -> None:
    script = visited(("last", 15), ("long", 30), ("short", 35))
    assert rows(script, "SECTIONS") == [
        row("One", "2 of 2", "1:05", "0:50", "=====++"),
        row("Two", "–", "0:00", "–", ""),
        row("Three", "1 of 1", "0:15", "0:15", "=="),
    ]
    assert rows(script, "TOTAL") == [row("Whole examination", "3 of 3", "1:20", "2:00", "====..")]


def test_a_step_recorded_in_part_does_not_count_as_recorded() -> None:
    script = Script(protocol_of(SIDED, SHORT)).start()
    script.record("sided", same("right"))
    script.record("short", not_done(reason="declined"))
    assert rows(script, "SECTIONS")[0].startswith(f"{'Region':<33} {'1 of 2':<11} ")
    assert rows(script, "TOTAL")[0].startswith(f"{'Whole examination':<33} {'1 of 2':<11} ")


def test_a_conditional_step_counts_only_when_it_was_triggered() -> None:
    script = visited(("extra", 5))
    assert rows(script, "SECTIONS")[1] == row("Two", "1 of 1", "0:05", "0:15", "=.")
    script.record("extra", not_done(reason="not indicated"))
    # With nothing planned, all of the time is beyond the plan.
    assert rows(script, "SECTIONS")[1] == row("Two", "–", "0:05", "–", "+")
    assert rows(script, STEPS) == [row("Extra step", "not done", "0:05", "–", "+++++")]


def test_time_away_is_no_time_of_examination() -> None:
    script = visited(("short", 10))
    script.pause(600)
    script.leave(600)
    script.crash(600)
    script.stall(600)
    assert rows(script.finish(), "TOTAL") == [row("Whole examination", "1 of 3", "0:10", "2:00", "=.....")]


def test_where_no_time_was_spent_is_named_by_section() -> None:
    [found] = [each for each in timeline(visited(("short", 1)).session).blocks if each.heading == NO_TIME]
    assert texts(found) == ["One: Long step.", "Three: whole section."]
    assert NO_TIME not in [each.heading for each in timeline(wholly_expected()).blocks]


def texts(block: Block) -> list[str]:
    return [sentence.text for sentence in block.sentences]


def test_a_session_that_never_started_has_no_steps_to_show() -> None:
    assert headings(Script(PROTOCOL)) == ["", "SECTIONS", "TOTAL", NO_TIME]


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
    assert [sentence.rests_on for sentence in steps.sentences] == [(), (2, 3), (1, 4, 5)]


def test_no_row_rests_on_what_was_taken_back() -> None:
    script = visited(("long", 20))
    script.undo(script.record("long", differs(), seconds=4))
    [steps] = [each for each in timeline(script.session).blocks if each.heading == STEPS]
    assert [sentence.rests_on for sentence in steps.sentences] == [(), (2, 3)]


def test_marks_of_an_observation_are_its_outcomes() -> None:
    script = Script(PROTOCOL, mode="observation", observer="O-7").start()
    script.add(Marked, 12, step="short", mark="done incorrectly", detail="")
    script.add(Marked, step="last", mark="done after a prompt", detail="")
    script.add(Marked, step="extra", mark="done", detail="")
    script.add(Moved, 1, step="long")
    script.add(Moved, 5, step="last")

    assert rows(script, "STEPS IN THE ORDER MARKED") == [
        row("Short step", "incorrect", "0:13", "0:10", "=====++"),
        row("Last step", "prompted", "0:00", "0:15", "........"),
        row("Extra step", "done", "0:00", "0:15", "........"),
    ]
    assert rows(script, "LOOKED AT, NOTHING MARKED") == [row("Long step", "", "0:05", "0:40", "=...")]
    assert [line[34:40] for line in rows(script, "SECTIONS")] == ["1 of 2", "1 of 1", "1 of 1"]
    assert rows(script, "TOTAL")[0][34:40] == "3 of 4"
    assert NO_TIME not in headings(script)


def test_marks_on_an_examiner_stand_in_no_timeline_of_an_examination() -> None:
    script = visited(("short", 10))
    before = plain_text(timeline(script.session))
    script.add(Marked, step="short", mark="done incorrectly", detail="clumsy")

    assert plain_text(timeline(script.session)) == before


@SOME
@given(sessions(SHARING))
def test_every_second_is_in_one_row_and_every_recorded_step_in_its_table(session: Session) -> None:
    tables = {each.heading: texts(each)[1:] for each in timeline(session).blocks}
    recorded, looked = tables.get(STEPS, []), tables.get(LOOKED, [])
    # Every event of these sessions takes whole seconds, so that no row is rounded.
    assert sum(map(seconds_of, [*recorded, *looked])) == sum(map(seconds_of, tables["TOTAL"]))
    assert sum(map(seconds_of, tables["SECTIONS"])) == sum(map(seconds_of, tables["TOTAL"]))
    assert {line.split()[0] for line in recorded} == {
        session.protocol.step_of[step_id].title for step_id in session.state.records
    }
    named = [line.split()[0] for line in [*recorded, *looked]]
    assert len(named) == len(set(named))


def seconds_of(line: str) -> int:
    minutes, seconds = line[46:53].split(":")
    return 60 * int(minutes) + int(seconds)


@pytest.mark.parametrize("title", ["A" * 60, "眼" * 30, "Ｆ" * 30, "é" * 40, "e\u0301" * 60, "Look\nhere"])
def test_columns_stay_aligned_and_fit_80_cells_whatever_the_title(title: str) -> None:
    import unicodedata

    protocol = protocol_of(step("one", title=title), SHORT)
    script = Script(protocol).start()
    script.record("one", same(), seconds=500)
    script.add(Moved, step="short")
    script.record("short", same(), seconds=5000)

    def cells(text: str) -> int:
        return sum(
            0 if unicodedata.combining(each) else 2 if unicodedata.east_asian_width(each) in "WF" else 1
            for each in text
        )

    lines = rows(script.finish(), STEPS)
    assert not any("\n" in line for line in lines)
    assert [cells(line.split(":")[0]) for line in lines] == [cells(lines[1].split(":")[0])] * 2
    assert max(map(cells, lines)) == 77
    assert max(cells(line) for line in plain_text(timeline(script.session), 77).splitlines()) == 77


def test_markdown_keeps_the_columns_in_a_block_of_their_own() -> None:
    text = markdown(timeline(visited(("short", 10)).session))
    assert f"## TOTAL\n\n```\n{'':<33} recorded      spent planned one mark 20 s\nWhole examination" in text
