"""The commands that open the app: what is wrong is said before a terminal is asked for or a session made."""

from pathlib import Path

import pytest

from checklist.cli import main
from checklist.protocol.library import load_table
from checklist.session import store
from checklist.session.opening import Preparation, begin
from tests.helpers import PROTOCOL
from tests.terminal import Terminal

NO_TERMINAL = "checklist: the app needs a terminal; "
BANDS = PROTOCOL.replace('population = "adults"', 'population = "adults"\nages = ["18 to 64", "65 and over"]')
BEGIN = ["--participant", "P-014", "--examiner", "S-07", "--begin"]


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("EXAM_CHECKLIST_HOME", str(tmp_path))
    folder = tmp_path / "protocols"
    folder.mkdir()
    (folder / "hand.toml").write_text(PROTOCOL, encoding="utf-8")
    (folder / "bands.toml").write_text(BANDS.replace('"hand"', '"bands"', 1), encoding="utf-8")
    return tmp_path


def said(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """What a command says that does not open the app here, as there is no terminal."""
    assert main(arguments) == 1
    assert not (store.sessions_folder()).exists()
    return capsys.readouterr().err


def test_a_wrong_name_is_said_before_a_terminal_is_asked_for(capsys: pytest.CaptureFixture[str]) -> None:
    unknown = "checklist: hnad: no protocol has this id (did you mean 'hand'?)\n"
    assert said(capsys, "examine", "hnad") == unknown
    assert said(capsys, "resume", "2026") == "checklist: no session is called '2026'\n"
    assert said(capsys, "examine", "hand").startswith(NO_TERMINAL)


@pytest.mark.parametrize(
    ("participant", "examiner", "message"),
    [
        ("", "S-07", "--begin needs --participant and --examiner, each a made-up code"),
        ("P-014", " \n", "--begin needs --participant and --examiner, each a made-up code"),
        ("P" * 25, "S-07", "participant code has 25 characters (at most 24)"),
        (
            "MarySmith",
            "S-07",
            "participant code looks like a name;"
            " use a made-up code such as P-014, or prepare without --begin",
        ),
        (
            "P-014",
            "1980-02-29",
            "examiner code looks like a date; use a made-up code such as P-014, or prepare without --begin",
        ),
    ],
)
def test_what_the_preparation_would_not_take_does_not_begin(
    capsys: pytest.CaptureFixture[str], participant: str, examiner: str, message: str
) -> None:
    found = said(capsys, "examine", "hand", "--participant", participant, "--examiner", examiner, "--begin")
    assert found == f"checklist: {message}\n"


@pytest.mark.parametrize(
    ("examiner", "observer", "message"),
    [
        ("S-07", "", "--begin needs --examiner and --observer, each a made-up code"),
        ("", "T-1", "--begin needs --examiner and --observer, each a made-up code"),
        (
            "S-07",
            "MarySmith",
            "observer code looks like a name; use a made-up code such as P-014, or prepare without --begin",
        ),
        ("S-07", "T" * 25, "observer code has 25 characters (at most 24)"),
        ("S-07", "s-07", "the observer code is the examiner code; an observer marks somebody else"),
    ],
)
def test_an_observation_begins_with_the_codes_of_examiner_and_observer(
    capsys: pytest.CaptureFixture[str], examiner: str, observer: str, message: str
) -> None:
    found = said(capsys, "observe", "hand", "--examiner", examiner, "--observer", observer, "--begin")
    assert found == f"checklist: {message}\n"
    assert said(capsys, "observe", "hnad").startswith("checklist: hnad: no protocol has this id")
    assert said(capsys, "observe", "hand").startswith(NO_TERMINAL)


def test_an_observation_survives_a_kill_and_is_resumed_where_it_stood(home: Path) -> None:
    """What the screen said is marked is in the file; finished, it is read, and never as a note."""
    observed = ["observe", "hand", "--examiner", "S-07", "--observer", "T-1", "--assessed", "--begin"]
    with Terminal(observed, home) as terminal:
        terminal.wait_for("Observing S-07")
        terminal.send(" x")
        terminal.wait_for("Marked: Look at the skin: not done")
        terminal.kill()
    (summary,) = store.summaries()
    session = store.load(summary.path).session
    assert [event.mark for event in session.state.marks.values()] == ["done", "not done"]
    assert (session.header.mode, session.header.observer) == ("observation", "T-1")
    assert (session.header.assessed, session.header.participant) == (True, "")

    with Terminal(["resume"], home) as terminal:
        terminal.wait_for("2 of 3 marked")
        terminal.send("pwy")
        terminal.wait_for("Kept in")
        terminal.send("qq")
        assert terminal.wait() == 0
    assert len(store.load(summary.path).session.state.marks) == 3


def finished_observation(home: Path) -> str:
    preparation = Preparation(participant="", examiner="S-07", observer="T-1", mode="observation")
    recorder = begin(load_table(home / "protocols" / "hand.toml"), preparation)
    recorder.finish()
    recorder.leave()
    return recorder.path.name


def test_an_observation_has_no_note_and_is_not_resumed_once_finished(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    name = finished_observation(home)

    assert main(["timeline"]) == 0
    assert "Examiner S-07." in capsys.readouterr().out, "nobody is named as examined"
    assert main(["note"]) == 1
    assert "only an examination yields a note" in capsys.readouterr().err
    assert main(["resume", name.removesuffix(".toml")]) == 1
    said_so = capsys.readouterr().err
    assert said_so == f"checklist: {name} is finished; 'checklist debrief' reads it\n"


def test_a_rehearsal_is_not_amended_and_the_reason_is_its_own(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    preparation = Preparation(participant="", examiner="S-07", mode="rehearsal", task="order")
    recorder = begin(load_table(home / "protocols" / "hand.toml"), preparation)
    recorder.finish()
    recorder.leave()
    before = recorder.path.read_bytes()

    assert main(["amend", recorder.path.stem]) == 1

    said_so = capsys.readouterr().err
    assert "a rehearsal is not amended: it holds no patient's record" in said_so
    assert "observation" not in said_so
    assert recorder.path.read_bytes() == before


@pytest.mark.parametrize(
    ("step", "message"),
    [
        ("puls", "there is no step 'puls' to begin at (did you mean 'pulse'?)"),
        ("skin", "there is no step 'skin' to begin at (did you mean 'look'?)"),
        ("foot", "there is no step 'foot' to begin at (the protocol's file gives the id of each step)"),
    ],
)
def test_a_step_that_is_not_there_to_begin_at_is_answered_with_the_nearest(
    capsys: pytest.CaptureFixture[str], step: str, message: str
) -> None:
    assert said(capsys, "rehearse", "hand", "--from", step) == f"checklist: {message}\n"


@pytest.mark.parametrize("start", ["look", "random"])
def test_a_rehearsal_from_a_step_lacks_only_a_terminal(
    capsys: pytest.CaptureFixture[str], start: str
) -> None:
    assert said(capsys, "rehearse", "hand", "--from", start).startswith(NO_TERMINAL)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("--case", "nowhere"), "nowhere"),
        (("--case", "quiet-left-ear"), "the case 'quiet-left-ear' is for the protocol 'head-and-neck'"),
        (("--seed", "7"), "no consistent case could be made from the protocol 'hand'"),
        (("--examiner", "Jane Miller"), "examiner code looks like a name"),
    ],
)
def test_a_patient_that_cannot_be_begins_nothing(
    capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], message: str
) -> None:
    assert message in said(capsys, "patient", "hand", *arguments)


def test_what_is_prefilled_is_asked_about_in_the_preparation(capsys: pytest.CaptureFixture[str]) -> None:
    """But for what it could not show."""
    assert said(capsys, "examine", "hand", "--participant", "MarySmith").startswith(NO_TERMINAL)
    long = said(capsys, "examine", "hand", "--examiner", "P" * 25)
    assert long == "checklist: examiner code has 25 characters (at most 24)\n"


@pytest.mark.parametrize("begin", [[], BEGIN])
def test_an_age_is_one_of_the_protocols_bands(capsys: pytest.CaptureFixture[str], begin: list[str]) -> None:
    wrong = "checklist: '70' is no age band of this protocol; it has '18 to 64', '65 and over'\n"
    assert said(capsys, "examine", "bands", "--age", "70", *begin) == wrong
    assert said(capsys, "examine", "bands", "--age", "18  to 64", *begin).startswith(NO_TERMINAL)
    assert said(capsys, "examine", "hand", "--age", "70", *begin).startswith(NO_TERMINAL)
    assert said(capsys, "examine", "bands", *begin).startswith(NO_TERMINAL)


@pytest.mark.parametrize(
    "setting", ["[keys]\n'step.nothing' = ['d']\n", "[keys\n"], ids=["a key", "not TOML"]
)
def test_no_session_is_begun_with_settings_that_cannot_be_used(home: Path, setting: str) -> None:
    (home / "config.toml").write_text(setting, encoding="utf-8")
    with Terminal(["examine", "hand", *BEGIN], home) as terminal:
        assert terminal.wait() == 1
        assert "config.toml: " in terminal.text.replace("\n", "")
    assert not (home / "sessions").exists()


def test_no_session_is_taken_up_with_settings_that_cannot_be_used(home: Path) -> None:
    recorder = begin(
        load_table(home / "protocols" / "hand.toml"), Preparation(participant="P-014", examiner="S-07")
    )
    recorder.leave()
    before = recorder.path.read_bytes()
    (home / "config.toml").write_text("[keys\n", encoding="utf-8")
    with Terminal(["resume"], home) as terminal:
        assert terminal.wait() == 1
    assert recorder.path.read_bytes() == before
