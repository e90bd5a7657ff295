"""The chapters keep the rules of W3C WebVTT: read strictly here, and by a reader that is not ours."""

import io
import re
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path

import pytest
import webvtt
from hypothesis import given
from hypothesis import strategies as st

from checklist.cli import main
from checklist.demo import example
from checklist.export.chapters import NoChaptersError, chapters
from checklist.protocol.model import Section
from checklist.session.events import Left, Marked, Moved, Paused, Reopened, Resumed, Told
from checklist.session.session import OBSERVATION, Session
from tests import helpers
from tests import note_sessions as made
from tests.note_sessions import Script, protocol_of, same, step

TWO_SECTIONS = protocol_of(
    sections=(
        Section(id="eyes", title="Eyes", steps=(step("lid", title="Lid"), step("brow", title="Brow"))),
        Section(id="neck", title="Neck & nape", steps=(step("nape", title="Look <here> --> nape"),)),
    )
)


@dataclass(frozen=True)
class Cue:
    name: str
    start: float
    end: float
    text: str


_TIME = r"(\d{2,}):([0-5]\d):([0-5]\d)\.(\d{3})"


def strictly(text: str) -> list[Cue]:
    """Read a file of chapters as a validator does: what the syntax does not allow is refused.

    Written from the syntax of W3C, WebVTT: signature, blocks, times, order, chapters without tags that are
    disjoint or wholly one within the other.
    """
    signature, *blocks = text.removesuffix("\n").split("\n\n")
    assert signature == "WEBVTT"
    assert "\r" not in text and "\0" not in text
    cues = [_cue(block) for block in blocks if not _is_comment(block)]
    assert len({cue.name for cue in cues}) == len(cues)
    for before, after in pairwise(cues):
        assert before.start <= after.start
    for index, cue in enumerate(cues):
        for later in cues[index + 1 :]:
            assert later.start >= cue.end or later.end <= cue.end
    return cues


def _is_comment(block: str) -> bool:
    is_comment = re.match(r"NOTE[ \t\n]", block) is not None
    assert not is_comment or "-->" not in block
    return is_comment


def _cue(block: str) -> Cue:
    name, timing, text = block.split("\n")
    found = re.fullmatch(f"{_TIME} --> {_TIME}", timing)
    assert found, timing
    assert name and text
    assert "-->" not in name + text
    assert "<" not in text and not re.search(r"&(?!amp;|lt;|gt;|nbsp;|#)", text)
    h, m, s, ms, *end = map(int, found.groups())
    cue = Cue(name, _seconds(h, m, s, ms), _seconds(*end), text)
    assert cue.end > cue.start
    return cue


def _seconds(hours: int, minutes: int, seconds: int, milliseconds: int) -> float:
    return round(hours * 3600 + minutes * 60 + seconds + milliseconds / 1000, 3)


def walk(script: Script, *visits: tuple[str, float]) -> Script:
    for step_id, seconds in visits:
        script.add(Moved, step=step_id)
        script.record(step_id, same(), seconds=seconds)
    return script


def usual() -> Script:
    return walk(Script(TWO_SECTIONS).start(), ("lid", 10), ("brow", 5.25), ("nape", 20))


def test_a_file_of_chapters_reads_as_written_by_hand() -> None:
    assert chapters(usual().finish().session, 12.5) == (
        "WEBVTT\n"
        "\n"
        "NOTE SIMULATED RECORD – practice, not a patient's record\n"
        "\n"
        "NOTE Invented: chapters\n"
        "\n"
        "section.eyes\n00:00:12.500 --> 00:00:27.750\nEyes\n"
        "\n"
        "lid\n00:00:12.500 --> 00:00:22.500\nLid\n"
        "\n"
        "brow\n00:00:22.500 --> 00:00:27.750\nBrow\n"
        "\n"
        "section.neck\n00:00:27.750 --> 00:00:47.750\nNeck &amp; nape\n"
        "\n"
        "nape\n00:00:27.750 --> 00:00:47.750\nLook &lt;here&gt; --&gt; nape\n"
    )


def test_a_reader_that_is_not_ours_reads_the_same_cues(tmp_path: Path) -> None:
    text = chapters(example(), 3600)
    ours = strictly(text)

    theirs = list(webvtt.from_buffer(io.StringIO(text)))

    assert [cue.identifier for cue in theirs] == [cue.name for cue in ours]
    assert [(cue.start_in_seconds, cue.end_in_seconds) for cue in theirs] == [
        (int(cue.start), int(cue.end)) for cue in ours
    ]
    assert [cue.raw_text for cue in theirs] == [cue.text for cue in ours]


@pytest.mark.parametrize(
    "session",
    [example, made.wholly_expected, made.interrupted_and_resumed, made.mostly_not_reached],
    ids=lambda made: made.__name__,
)
def test_chapters_keep_the_rules(session: object) -> None:
    assert callable(session)
    assert strictly(chapters(session(), 0.0004))


@given(helpers.histories(helpers.new_session()), st.floats(-100, 100))
def test_chapters_of_any_history_keep_the_rules(history: list[object], offset: float) -> None:
    session = helpers.new_session().with_events(history)  # type: ignore[arg-type]
    try:
        text = chapters(session, offset)
    except NoChaptersError:
        return
    assert strictly(text)


def at(session: Session, offset: float = 0) -> list[tuple[str, float, float]]:
    return [(cue.name, cue.start, cue.end) for cue in strictly(chapters(session, offset))]


def test_a_pause_is_a_gap_and_the_recording_runs_on() -> None:
    script = walk(Script(TWO_SECTIONS).start(), ("lid", 10))
    script.pause(90)
    script.record("lid", same(), seconds=4)

    assert at(script.session) == [
        ("section.eyes", 0, 10),
        ("lid", 0, 10),
        ("section.eyes.2", 100, 104),
        ("lid.2", 100, 104),
    ]
    assert [cue.text for cue in strictly(chapters(script.session))][2:] == [
        "Eyes, continued",
        "Lid, continued",
    ]


def test_whatever_was_no_examination_is_a_gap() -> None:
    """A pause with a telling in it, then left for an hour; a machine that slept; a program that died."""
    script = walk(Script(TWO_SECTIONS).start(), ("lid", 10))
    script.add(Paused)
    script.add(Told, away=5, step="lid", entries=(), findings=(), whom="nurse", when="14:06")
    script.add(Left, away=5)
    script.add(Reopened, away=3600)
    walk(script, ("brow", 2))
    script.stall(30)
    walk(script, ("brow", 2))
    script.add(Reopened, 3, away=60)
    walk(script, ("nape", 1))

    steps = [each for each in at(script.session) if not each[0].startswith("section")]
    assert steps == [
        ("lid", 0, 10),
        ("brow", 3620, 3622),
        ("brow.2", 3652, 3657),
        ("nape", 3717, 3718),
    ]


def test_passing_by_a_step_is_no_chapter() -> None:
    script = walk(Script(TWO_SECTIONS).start(), ("lid", 10))
    script.add(Moved, 0, step="nape")
    script.add(Moved, 0.3, step="brow")
    script.record("brow", same(), seconds=0.2)
    script.add(Moved, step="nape")
    script.add(Moved, 0, step="lid")

    assert at(script.session) == [("section.eyes", 0, 10.5), ("lid", 0, 10.3), ("brow", 10.3, 10.5)]


def test_what_lies_before_the_recording_is_left_out() -> None:
    assert at(usual().session, -12) == [
        ("section.eyes", 0, 3.25),
        ("brow", 0, 3.25),
        ("section.neck", 3.25, 23.25),
        ("nape", 3.25, 23.25),
    ]


@pytest.mark.parametrize(
    ("session", "offset", "why"),
    [
        (usual().session, -60, "lies before the recording"),
        (Script(TWO_SECTIONS).start().session, 0, "no time was spent"),
        (Script(TWO_SECTIONS).session, 0, "no time was spent"),
    ],
)
def test_without_any_chapter_the_reason_is_said(session: Session, offset: float, why: str) -> None:
    with pytest.raises(NoChaptersError, match=why):
        chapters(session, offset)


def test_an_observation_has_chapters() -> None:
    script = Script(TWO_SECTIONS, mode=OBSERVATION, observer="O-7").start()
    script.add(Marked, 8, step="lid", mark="not done", detail="private to the learner")

    text = chapters(script.session)

    assert at(script.session) == [("section.eyes", 0, 8), ("lid", 0, 8)]
    assert "not done" not in text and "private" not in text


def test_a_title_cannot_end_a_cue() -> None:
    protocol = replace(TWO_SECTIONS, title="A\n\n00:00.000 --> 00:01.000\nB")
    script = walk(Script(protocol).start(), ("lid", 3))

    assert [cue.name for cue in strictly(chapters(script.session))] == ["section.eyes", "lid"]


def test_the_command_takes_an_offset(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["demo", "--keep", str(tmp_path)])
    (kept,) = tmp_path.glob("*.toml")
    capsys.readouterr()

    assert main(["export", str(kept), "--as", "vtt", "--offset", "61.25"]) == 0
    assert strictly(capsys.readouterr().out)[0].start == 61.25
    assert main(["export", str(kept), "--as", "vtt", "--offset", "-99999"]) == 1
    assert len(capsys.readouterr().err.splitlines()) == 1
    assert main(["export", str(kept), "--as", "vtt", "--offset", "nan"]) == 2
    assert "is no number of seconds" in capsys.readouterr().err


def test_a_resumed_pause_needs_no_record_to_be_seen() -> None:
    script = walk(Script(TWO_SECTIONS).start(), ("lid", 1))
    script.add(Paused)
    script.add(Resumed, away=2)
    script.add(Left, 5)

    assert at(script.session)[2:] == [("section.eyes.2", 3, 8), ("lid.2", 3, 8)]
