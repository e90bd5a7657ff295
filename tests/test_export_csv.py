"""The tables are read, without fixing, by the standard library, a database and a data frame."""

import csv
import io
import sqlite3
from pathlib import Path
from typing import Any

import pandas
import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklist.cli import main
from checklist.demo import example
from checklist.export.csv_tables import events_csv, guarded, items_csv
from checklist.session.events import Marked, Moved, Told
from checklist.session.session import OBSERVATION, Session
from tests import note_sessions as made
from tests.note_sessions import Script, differs, not_done, protocol_of, same, step

SITED = protocol_of(
    step("touch", title="Touch", sides=True, sites=("brow", "chin"), seconds=20),
    step("lid", title="Lid", findings={"red": "red", "wet": "wet"}, seconds=5),
    step("more", title="More", only_if="it itches"),
)


def rows(text: str) -> list[dict[str, str]]:
    """Read as RFC 4180 says, refusing anything else, and every row as long as the header."""
    lines = text.split("\r\n")
    assert lines.pop() == ""
    assert not any("\r" in line or "\n" in line for line in lines)
    header, *body = csv.reader(io.StringIO(text, newline=""), strict=True)
    assert len(set(header)) == len(header)
    return [dict(zip(header, row, strict=True)) for row in body]


def frame(text: str) -> Any:
    return pandas.read_csv(io.StringIO(text))


def sited() -> Script:
    script = Script(SITED).start()
    script.record(
        "touch", same("right/brow", "left/brow"), not_done("right/chin", reason="declined"), seconds=12
    )
    script.add(Moved, step="lid")
    script.record("lid", differs(findings=("red", "wet"), detail="since Monday"), seconds=3.5)
    script.finish()
    script.amend("touch", same("left/chin"), away=60, why="forgot the key")
    return script


def test_there_is_one_row_for_each_step_side_and_site() -> None:
    found = rows(items_csv(sited().session))

    places = [(row["step"], row["side"], row["site"], row["state"], row["outcome"]) for row in found]
    assert places == [
        ("touch", "right", "brow", "recorded", "as expected"),
        ("touch", "left", "brow", "recorded", "as expected"),
        ("touch", "right", "chin", "recorded", "not examined"),
        ("touch", "left", "chin", "recorded", "as expected"),
        ("lid", "", "", "recorded", "differs"),
        ("more", "", "", "only if indicated", ""),
    ]


def test_an_item_says_all_that_stands_for_it() -> None:
    found = rows(items_csv(sited().session))

    assert found[4] == {
        "session": "invented",
        "simulated": "true",
        "examiner": "E-02",
        "observer": "",
        "protocol": "invented",
        "version": "1",
        "step": "lid",
        "title": "Lid",
        "section": "Region",
        "side": "",
        "site": "",
        "state": "recorded",
        "outcome": "differs",
        "findings": "red; wet",
        "finding_labels": "red; wet",
        "reading": "",
        "reading_chart": "",
        "own_words": "since Monday",
        "reason": "",
        "tell": "note",
        "mark": "",
        "mark_words": "",
        "step_seconds": "3.500",
        "planned_seconds": "5",
        "event": "4",
        "at": "2026-03-02T14:05:15.500000+01:00",
        "amended": "false",
        "original_outcome": "",
        "original_findings": "",
        "amended_by": "",
        "amended_why": "",
    }
    assert [(row["reason"], row["event"], row["amended"]) for row in found[2:4]] == [
        ("declined", "2", "false"),
        ("", "6", "true"),
    ]
    assert [row["step_seconds"] for row in found[:4]] == ["12.000", "", "", ""]
    assert [row["planned_seconds"] for row in found[:4]] == ["20", "", "", ""]


def test_an_amended_item_keeps_what_stood_at_the_end() -> None:
    script = sited()
    script.amend("lid", same(), away=60, who="E-03", why="wrong key")
    script.amend("lid", differs(findings=("wet",)), away=60, who="E-04", why="wet after all")
    found = rows(items_csv(script.session))
    names = ("amended", "original_outcome", "original_findings", "amended_by", "amended_why")

    assert [found[3][name] for name in names] == ["true", "", "", "E-02", "forgot the key"]
    assert [found[4][name] for name in names] == ["true", "differs", "red; wet", "E-04", "wet after all"]


@pytest.mark.parametrize(
    ("version", "cell"), [("1.1.0", "1.1.0"), ("2.0-rc1", "2.0-rc1"), ("=1+1", "'=1+1"), ("NA", "'NA")]
)
def test_a_version_is_written_as_it_is_unless_it_could_be_taken_for_something_else(
    version: str, cell: str
) -> None:
    script = Script(protocol_of(step("lid"), version=version)).start()
    assert rows(items_csv(script.session))[0]["version"] == cell


def test_what_was_not_reached_is_said_and_is_not_left_out() -> None:
    found = rows(items_csv(made.mostly_not_reached()))

    by_step = {(row["step"], row["side"], row["site"]): (row["state"], row["outcome"]) for row in found}
    assert by_step["auricle", "left", ""] == ("not reached", "")
    assert by_step["auricle", "right", ""] == ("recorded", "as expected")
    assert by_step["trachea", "", ""] == ("not reached", "")


def test_an_act_of_recording_has_a_row_for_each_result_and_other_events_one() -> None:
    found = rows(events_csv(sited().session))

    assert [(row["event"], row["result"], row["kind"]) for row in found] == [
        ("1", "", "started"),
        ("2", "1", "recorded"),
        ("2", "2", "recorded"),
        ("3", "", "moved"),
        ("4", "1", "recorded"),
        ("5", "", "finished"),
        ("6", "1", "amended"),
    ]
    assert found[1]["entries"] == "right/brow; left/brow"
    assert found[1]["clock_seconds"] == "12.000"
    assert found[2]["reason"] == "declined"
    assert (found[6]["who"], found[6]["reason"]) == ("E-02", "forgot the key")


def test_what_was_taken_back_is_marked_and_stays() -> None:
    script = Script(SITED).start()
    script.undo(script.record("lid", same()))

    found = rows(events_csv(script.session))

    assert [row["taken_back"] for row in found] == ["false", "true", "false"]
    assert found[2]["refers_to"] == "2"
    assert rows(items_csv(script.session))[4]["state"] == "not reached"


def test_when_somebody_was_told_is_a_time_unless_it_is_none() -> None:
    script = Script(SITED).start()
    script.told("lid", ("whole",), ("red",), "nurse in charge")
    script.add(Told, step="lid", entries=("whole",), findings=(), whom="=A1", when="-1")

    found = rows(events_csv(script.session))

    assert [(row["who"], row["told_at"]) for row in found[1:]] == [
        ("nurse in charge", "14:05"),
        ("'=A1", "'-1"),
    ]


def test_an_observation_gives_marks_and_no_outcome_of_the_patient() -> None:
    script = Script(SITED, mode=OBSERVATION, observer="O-7").start()
    script.add(Marked, 8, step="touch", mark="done after a prompt", detail="which side first")

    found = rows(items_csv(script.session))

    assert {row["outcome"] for row in found} == {""}
    assert (found[0]["mark"], found[0]["mark_words"]) == ("done after a prompt", "which side first")
    assert (found[0]["examiner"], found[0]["observer"], found[0]["event"]) == ("E-02", "O-7", "2")
    assert found[0]["at"] == "2026-03-02T14:05:08+01:00"
    assert [row["state"] for row in found] == [*["recorded"] * 4, "not reached", "only if indicated"]
    assert rows(events_csv(script.session))[1]["mark"] == "done after a prompt"


@pytest.mark.parametrize(
    ("text", "cell"),
    [
        ("=1+1", "'=1+1"),
        ("+red", "'+red"),
        ("-2 dioptres", "'-2 dioptres"),
        ("@home", "'@home"),
        ("  =A1", "'=A1"),
        ("\t=A1", "'=A1"),
        ("'quoted'", "''quoted'"),
        ("3/3", "'3/3"),
        ("118/76", "'118/76"),
        ("0042", "'0042"),
        ("1e5", "'1e5"),
        ("14:05", "'14:05"),
        ("1.1.0", "'1.1.0"),
        ("(5)", "'(5)"),
        ("$5", "'$5"),
        ("5 pm", "'5 pm"),
        ("may 5", "'may 5"),
        ("2026-03-02T14:05Z", "'2026-03-02T14:05Z"),
        ("5 mm", "5 mm"),
        ("marked on the left", "marked on the left"),
        ("may", "may"),
        ("declined", "declined"),
        ("None", "'None"),
        ("NA", "'NA"),
        ("true", "'true"),
        ("", ""),
        ("two\nlines", "two lines"),
        ("20/20 sc", "20/20 sc"),
        ("a = b", "a = b"),
    ],
)
def test_a_text_cell_is_never_a_formula_a_number_or_a_missing_value(text: str, cell: str) -> None:
    assert guarded(text) == cell


@given(st.text(max_size=30))
def test_own_words_come_back_from_the_table_as_one_text(words: str) -> None:
    script = Script(SITED).start()
    script.record("lid", differs(detail=words))

    cell = rows(items_csv(script.session))[4]["own_words"]
    read = frame(items_csv(script.session))["own_words"][4]

    assert not cell.startswith(("=", "+", "-", "@", "\t", "\r"))
    assert read == cell or (cell == "" and pandas.isna(read))
    assert cell.removeprefix("'").split() == made_visible(words).split()


def made_visible(words: str) -> str:
    from checklist.text import clean

    return clean(words)


def test_a_data_frame_finds_one_type_in_each_column(invented: Session) -> None:
    """Pandas guesses types from the cells: what it guesses here is what each column holds."""
    found = frame(items_csv(invented))

    text = ["session", "protocol", "version", "step", "title", "section", "outcome", "findings", "own_words"]
    assert all(pandas.api.types.is_string_dtype(found[name].dropna()) for name in [*text, "reading"])
    assert all(pandas.api.types.is_bool_dtype(found[name]) for name in ("simulated", "amended"))
    assert all(pandas.api.types.is_numeric_dtype(found[name]) for name in ("step_seconds", "event"))
    assert set(found["at"].dropna().str[-6:]) == {"+00:00"}
    assert len(found) == sum(len(step.entries) for step in invented.protocol)


def test_a_data_frame_reads_the_events(invented: Session) -> None:
    found = frame(events_csv(invented))

    assert found["event"].max() == len(invented.events)
    assert found["clock_seconds"].is_monotonic_increasing
    assert pandas.api.types.is_bool_dtype(found["taken_back"])
    assert pandas.to_datetime(found["at"], utc=True).is_monotonic_increasing


def test_a_database_takes_the_items(invented: Session) -> None:
    header, *body = csv.reader(io.StringIO(items_csv(invented), newline=""), strict=True)
    with sqlite3.connect(":memory:") as base:
        base.execute(f"create table items ({', '.join(header)})")
        base.executemany(f"insert into items values ({', '.join('?' * len(header))})", body)
        unseen = base.execute("select count(*) from items where outcome = 'attempted, not seen'").fetchone()
    base.close()

    # The demonstration: four steps at the left eardrum behind wax, and one macula.
    assert unseen == (5,)


@pytest.fixture(scope="module")
def invented() -> Session:
    return example()


@pytest.mark.parametrize("form", ["csv-events", "csv-items"])
def test_the_command_writes_the_same_bytes_that_it_prints(
    form: str, tmp_path: Path, capsysbinary: pytest.CaptureFixture[bytes]
) -> None:
    main(["demo", "--keep", str(tmp_path)])
    (session,) = tmp_path.glob("*.toml")
    capsysbinary.readouterr()

    assert main(["export", str(session), "--as", form]) == 0
    printed = capsysbinary.readouterr().out
    assert main(["export", str(session), "--as", form, "--output", str(tmp_path / "out.csv")]) == 0

    assert (tmp_path / "out.csv").read_bytes() == printed
    assert rows(printed.decode())


def test_bad_input_is_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    foreign = tmp_path / "foreign.toml"
    foreign.write_text("a = 1", encoding="utf-8")

    assert main(["export", str(foreign), "--as", "csv-items"]) == 1
    assert len(capsys.readouterr().err.splitlines()) == 1
    assert main(["export", str(foreign), "--as", "html", "--offset", "3"]) == 1
    assert "--offset" in capsys.readouterr().err
