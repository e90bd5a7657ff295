"""The text of session files: what is written is read again, and what is torn or foreign is told apart."""

import tomllib
from dataclasses import fields
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklist.session.codec import (
    SessionFormatError,
    decode,
    decode_header,
    encode_event,
    encode_header,
    last_event,
    whole_events,
    whole_length,
)
from checklist.session.events import (
    EVENT_KINDS,
    Amended,
    Event,
    Outcome,
    Recorded,
    Remarked,
    Result,
    Unknown,
)
from checklist.session.session import Header
from tests.helpers import BEGIN, a_whole_examination, differs, header, protocol_table, result, script

# Everything but what is replaced on the way in and out: see checklist/text.py.
_RANGES = [(0, 8), (0x0B, 0x1F), (0x7F, 0x9F), (0x200E, 0x200F), (0x2028, 0x202E), (0x2066, 0x2069)]
UNSAFE = [chr(code) for first, last in _RANGES for code in range(first, last + 1)]
UNSAFE += ["\u061c", "\u200b", "\ufeff"]
SAFE_CHARACTERS = st.characters(exclude_characters=UNSAFE, exclude_categories=["Cs"])
HARD = st.sampled_from(
    [
        "# end of event 3",
        "\n# end of event 3\n",
        "\n# end of header\n",
        '\n\n[[event]]\nn = 4\nkind = "left"\n',
        '"""',
        "'''",
        "\\",
        "\\u0000",
        "🩺 → ½ 🇨🇭",
        "[event]",
        "",
    ]
)
TEXTS = st.text(SAFE_CHARACTERS, max_size=30) | HARD
OFFSETS = st.integers(-14 * 4, 14 * 4).map(lambda quarters: timezone(timedelta(minutes=15 * quarters)))
MOMENTS = st.datetimes(datetime(1900, 1, 2), datetime(8999, 1, 1), timezones=OFFSETS)
SECONDS = st.floats(0, 1e6) | st.integers(0, 100_000)
TUPLES = st.lists(TEXTS, max_size=3).map(tuple)
RESULTS = st.builds(
    Result,
    entries=TUPLES,
    outcome=st.sampled_from(Outcome),
    findings=TUPLES,
    detail=TEXTS,
    tell=st.sampled_from(["", "report", "urgent"]),
    reason=TEXTS,
    reading=TEXTS,
)
FIELDS: dict[str, st.SearchStrategy[Any]] = {
    "step": TEXTS,
    "text": TEXTS,
    "whom": TEXTS,
    "when": TEXTS,
    "who": TEXTS,
    "why": TEXTS,
    "mark": TEXTS,
    "detail": TEXTS,
    "digest": TEXTS,
    "what": TEXTS,
    "how": TEXTS,
    "hints": st.integers(0, 9),
    "typed": TEXTS,
    "entries": TUPLES,
    "findings": TUPLES,
    "steps": TUPLES,
    "results": st.lists(RESULTS, min_size=1, max_size=3).map(tuple),
    "event": st.integers(1, 10_000),
    "away_seconds": SECONDS,
}
# Lists of tables stand for themselves here; TOML has no null and no mixed empty tables in lists to care for.
PLAIN = TEXTS | st.booleans() | st.integers(-(2**62), 2**62) | MOMENTS | st.floats(allow_nan=False)
FREE = st.recursive(
    PLAIN, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXTS, inner, max_size=3), max_leaves=6
)
NAMES = TEXTS.filter(lambda name: name not in EVENT_KINDS)
FIELD_NAMES = TEXTS.filter(lambda name: name not in {"n", "kind", "at", "clock"})


def written(events: list[Event]) -> str:
    return encode_header(header(), protocol_table()) + "".join(map(encode_event, events))


@st.composite
def any_event(draw: st.DrawFn, n: int) -> Event:
    base: dict[str, Any] = {"n": n, "at": draw(MOMENTS), "clock": draw(SECONDS)}
    kind = draw(st.sampled_from(["", *EVENT_KINDS]))
    if not kind:
        return Unknown(**base, name=draw(NAMES), fields=draw(st.dictionaries(FIELD_NAMES, FREE, max_size=3)))
    cls = EVENT_KINDS[kind]
    own = [spec.name for spec in fields(cls) if spec.name not in base]
    return cls(**base, **{name: draw(FIELDS[name]) for name in own})


@st.composite
def any_events(draw: st.DrawFn) -> list[Event]:
    return [draw(any_event(n)) for n in range(1, draw(st.integers(0, 4)) + 1)]


@given(any_events())
def test_what_is_written_is_read_again(events: list[Event]) -> None:
    found_header, table, found = decode(written(events))

    assert found_header == header()
    assert table == protocol_table()
    assert list(found) == events


@given(any_events())
def test_the_whole_part_of_a_whole_file_is_all_of_it(events: list[Event]) -> None:
    data = written(events).encode()
    assert whole_length(data) == len(data)


@given(any_events().filter(bool), st.data())
def test_the_last_event_can_be_read_alone_from_any_end_that_holds_it(
    events: list[Event], data: st.DataObject
) -> None:
    text = written(events).encode()
    block = len(encode_event(events[-1]).encode())
    start = data.draw(st.integers(0, len(text) - block))

    assert last_event(whole_events(text[start:])) == events[-1]


def test_an_end_without_an_event_has_no_last_event() -> None:
    data = written([]).encode()

    assert last_event(whole_events(data)) is None
    assert last_event(b"\n[[event]]\nn = \n# end of event 1\n") is None
    assert last_event(b"\n[[event]]\nn = " + b"[" * 100_000) is None


def test_a_file_cut_at_any_byte_keeps_every_event_that_was_closed() -> None:
    events = a_whole_examination()
    blocks = [encode_event(event).encode() for event in events]
    head = encode_header(header(), protocol_table()).encode()
    data = head + b"".join(blocks)
    ends = [len(head)]
    for block in blocks:
        ends.append(ends[-1] + len(block))

    for cut in range(len(data)):
        assert whole_length(data[:cut]) == max([end for end in ends if end <= cut], default=0), cut


def test_control_characters_become_a_visible_mark_in_the_file_and_on_reading() -> None:
    remark = "a\x7fb\x1b[2Jc\u202ed\ud800e\rf\tg\nh"
    safe = "a\ufffdb\ufffd[2Jc\ufffdd\ufffde\ufffdf\tg\nh"
    (event,) = script((Remarked, {"step": "look", "text": remark}))
    text = written([event])
    (read,) = decode(text)[2]
    (read_raw,) = decode(text.replace("a\ufffdb", "a\\u007fb"))[2]

    assert isinstance(read, Remarked) and read.text == safe
    assert isinstance(read_raw, Remarked) and read_raw.text == safe
    assert "\x1b" not in text


def test_control_characters_and_line_ends_never_come_out_of_a_header() -> None:
    text = encode_header(header(), protocol_table()).replace("P-014", "P\\u001b]0;x\\n\\t y")
    assert decode(text)[0].participant == "P\ufffd]0;x y"


def test_an_event_is_written_as_specified() -> None:
    (event,) = script(
        (
            Recorded,
            {
                "step": "look",
                "results": (
                    result("right"),
                    differs("left", findings=("wound",), detail='3 mm "raw"'),
                ),
            },
        )
    )
    expected = """
[[event]]
n = 1
kind = "recorded"
at = 2026-03-02T14:22:38Z
clock = 0.0
step = "look"

[[event.results]]
entries = [
    "right",
]
outcome = "as expected"

[[event.results]]
entries = [
    "left",
]
outcome = "differs"
findings = [
    "wound",
]
detail = "3 mm \\"raw\\""
# end of event 1
"""
    assert tomllib.loads(encode_event(event)) == tomllib.loads(expected)
    assert encode_event(event).endswith('detail = "3 mm \\"raw\\""\n# end of event 1\n')
    assert encode_event(event).startswith('\n[[event]]\nn = 1\nkind = "recorded"\n')


def test_an_unknown_kind_and_an_unknown_key_are_passed_over() -> None:
    block = """
[[event]]
n = 1
kind = "photographed"
at = 2026-03-02 14:22:38+00:00
clock = 3
lens."n\\u001bame" = "macro"
# end of event 1

[[event]]
n = 2
kind = "left"
at = 2026-03-02 14:22:39+00:00
clock = 4.5
mood = "calm"
# end of event 2
"""
    _, _, (first, second) = decode(written([]) + block)

    at = datetime(2026, 3, 2, 14, 22, 38, tzinfo=UTC)
    lens = {"lens": {"n\ufffdame": "macro"}}
    assert first == Unknown(n=1, at=at, clock=3, name="photographed", fields=lens)
    assert second == EVENT_KINDS["left"](n=2, at=at + timedelta(seconds=1), clock=4.5)


def test_line_ends_turned_round_by_an_editor_are_read() -> None:
    events = a_whole_examination()
    data = written(events).replace("\n", "\r\n").encode()

    assert whole_length(data) == len(data)
    assert list(decode(data.decode())[2]) == events
    assert last_event(whole_events(data[-300:])) == events[-1]


def test_the_header_can_be_read_alone() -> None:
    text = encode_header(header(missing=("light",), fictional=True), protocol_table())
    assert decode_header(text[: text.index("[protocol]")]) == header(missing=("light",), fictional=True)


LEFT = '\n[[event]]\nn = 1\nkind = "left"\nat = 2026-03-02 14:22:38+00:00\nclock = 3.5\n# end of event 1\n'


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('format = 1\nid = "2', 'format = 2\nid = "2', "session format 2; this version reads format 1"),
        ('format = 1\nid = "2', 'format = true\nid = "2', "session format True; this version reads format 1"),
        ('format = 1\nid = "2', 'id = "2', "not a session file"),
        ('examiner = "E-2"', "", "header: missing key 'examiner'"),
        ('examiner = "E-2"', "examiner = 2", "header: 'examiner' is 2, which is not of the right type"),
        ("fictional = false", "fictional = 0", "header: 'fictional' is 0, which is not of the right type"),
        ("missing = []", "missing = [1]", "header: 'missing' is not a list of texts"),
        (
            "created = 2026-03-02 14:22:33+00:00",
            "created = 2026-03-02 14:22:33",
            "header: 'created' is 2026-03-02 14:22:33, which is no date and time with an offset",
        ),
        ("n = 1", "n = 2", "event 1: numbered 2"),
        ("n = 1", "n = true", "event 1: 'n' is True, which is not of the right type"),
        ("n = 1\n", "", "event 1: 'n' is None, which is not of the right type"),
        ('kind = "left"', "kind = 3", "event 1: 'kind' is 3, which is not of the right type"),
        ('kind = "left"', 'kind = "moved"', "event 1: missing key 'step'"),
        ('kind = "left"', 'kind = "moved"\nstep = 4', "event 1: 'step' is 4, which is not of the right type"),
        (
            'kind = "left"',
            'kind = "retracted"\nevent = "one"',
            "event 1: 'event' is 'one', which is not of the right type",
        ),
        ("clock = 3.5", "clock = nan", "event 1: 'clock' is nan, which is no time in seconds"),
        ("clock = 3.5", "clock = inf", "event 1: 'clock' is inf, which is no time in seconds"),
        ("clock = 3.5", "clock = -1", "event 1: 'clock' is -1, which is no time in seconds"),
        ("clock = 3.5", "clock = true", "event 1: 'clock' is True, which is not of the right type"),
        (
            'kind = "left"',
            'kind = "interrupted"\naway_seconds = 1e300',
            "event 1: 'away_seconds' is 1e+300, which is no time in seconds",
        ),
        ("at = 2026-03-02 14:22:38+00:00", "at = 12:30:00", "event 1: 'at' is datetime.time(12, 30), which"),
        (
            "at = 2026-03-02 14:22:38+00:00",
            "at = 0001-01-01 00:00:00+00:00",
            "event 1: 'at' is 0001-01-01 00:00:00+00:00, which is no date",
        ),
        (
            'kind = "left"',
            'kind = "recorded"\nstep = "look"\nresults = []',
            "event 1: 'results' is not a list of tables",
        ),
        (
            'kind = "left"',
            'kind = "recorded"\nstep = "look"\nresults = [3]',
            "event 1: a result is not a table",
        ),
        (
            'kind = "left"',
            'kind = "recorded"\nstep = "look"\nresults = [{ entries = ["right"], outcome = "fine" }]',
            "event 1: outcome 'fine' is none of 'as expected', 'differs', 'attempted, not seen',",
        ),
        (
            'kind = "left"',
            'kind = "recorded"\nstep = "look"\nresults = [{ outcome = "differs" }]',
            "event 1: 'entries' is not a list of texts",
        ),
        (
            'kind = "left"',
            'kind = "recorded"\nstep = "look"\nresults = [{ entries = [], outcome = "differs", tell = 1 }]',
            "event 1: 'tell' is 1, which is not of the right type",
        ),
        (
            'kind = "left"',
            'kind = "recorded"\nstep = "x"\nresults = [{ entries = [], outcome = "differs", tell = "soon" }]',
            "event 1: 'tell' is 'soon', which is none of 'report', 'urgent'",
        ),
        ("clock = 3.5", "clock = 3.5.5", "not valid TOML: "),
        ("clock = 3.5", "clock = " + "9" * 5000, "not valid TOML: "),
        ("clock = 3.5", "clock = " + "[" * 100_000, "not valid TOML: "),
    ],
)
def test_what_the_format_does_not_allow_is_named(old: str, new: str, message: str) -> None:
    text = written([]) + LEFT
    assert text.count(old) == 1

    with pytest.raises(SessionFormatError) as caught:
        decode(text.replace(old, new))

    assert str(caught.value).startswith(message)


def test_a_key_of_very_many_parts_is_refused_before_the_parser_takes_its_time_over_it() -> None:
    whole = written([])
    text = whole + LEFT.replace("clock", "clock" + ".a" * 50_000)
    with pytest.raises(SessionFormatError) as caught:
        decode(text)
    assert str(caught.value) == f"line {whole.count(chr(10)) + 6}: a key has more than 20 dotted parts"


def test_a_file_without_a_protocol_is_not_a_session_file() -> None:
    text = written([])
    with pytest.raises(SessionFormatError, match="not a session file"):
        decode(text[: text.index("[protocol]")])


@pytest.mark.parametrize("event", ["event = 3\n", 'event = ["left"]\n'])
def test_events_that_are_no_tables_are_refused(event: str) -> None:
    with pytest.raises(SessionFormatError, match="'event' is not a list of tables"):
        decode(event + written([]))


def test_an_amendment_keeps_who_and_why() -> None:
    amended = Amended(n=1, at=BEGIN, clock=0.0, step="look", results=(result("left"),), who="E-2", why="late")
    assert decode(written([amended]))[2] == (amended,)


SPECIFICATION = (
    (Path(__file__).parents[1] / "DEVELOPERS.md")
    .read_text(encoding="utf-8")
    .partition("## Session file, format 1\n")[2]
    .partition("\n## ")[0]
)


def test_the_example_in_the_specification_is_a_session_file() -> None:
    example = SPECIFICATION.partition("```toml\n")[2].partition("```")[0]
    found_header, table, events = decode(example)

    assert whole_length(example.encode()) == len(example.encode())
    assert found_header.id == "20261125-142233-hand-4f2a"
    assert table["title"] == "Hand"
    assert "".join(map(encode_event, events)) == example.partition("# end of header\n")[2]


@pytest.mark.parametrize("cls", [Header, Result, Event, *EVENT_KINDS.values()])
def test_the_specification_names_every_kind_and_key(cls: type) -> None:
    kind = getattr(cls, "kind", "")
    rows = [line for line in SPECIFICATION.splitlines() if line.startswith("|")]
    if kind:
        rows = [line for line in rows if f"`{kind}`" in line.split("|")[1]]
    assert rows
    own = {spec.name for spec in fields(cls)} - ({"n", "at", "clock"} if kind else set())
    assert all(any(f"`{name}`" in row or f"event.{name}]" in row for row in rows) for name in own)
