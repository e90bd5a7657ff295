"""The quick reader of TOML is told apart from `tomllib` by its speed alone."""

import math
import tomllib
from collections.abc import Callable
from datetime import UTC, date, datetime, time, timedelta, timezone
from pathlib import Path
from time import monotonic
from typing import Any

import pytest
import tomli_w
from hypothesis import given, settings
from hypothesis import strategies as st

from checklist import toml

ROOT = Path(__file__).parent.parent
FILES = sorted([*(ROOT / "protocols").glob("*.toml"), *(ROOT / "tests" / "protocols").rglob("*.toml")])

_OFFSETS = st.integers(-1439, 1439).map(lambda minutes: timezone(timedelta(minutes=minutes)))
_KEYS = st.text("ab-_1é. \"'", max_size=4)
_SCALARS = st.one_of(
    st.text(st.characters(exclude_categories=["Cs"]), max_size=12),
    st.sampled_from(['a "quoted" word', "back\\slash", "", "# none", "[table]", "}", "]", '"""', "\x7f"]),
    st.integers(),
    st.booleans(),
    st.floats(allow_nan=False),
    st.dates(),
    st.times(),
    st.datetimes(timezones=st.one_of(st.none(), st.just(UTC), _OFFSETS)),
)
_VALUES: st.SearchStrategy[Any] = st.recursive(
    _SCALARS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(_KEYS, inner, max_size=4),
    max_leaves=20,
)
TABLES = st.dictionaries(_KEYS, _VALUES, max_size=6)

LINES = st.sampled_from(
    [
        *(
            "a = 1",
            "a = 'b'",
            'b = "x"',
            'b = "x" # said',
            "  c=true",
            "c = false # no",
            "d = 2026-03-04",
            "",
        ),
        *(
            "e = 2026-03-04T05:06:07+08:00",
            "e = 2026-03-04 24:00:00+00:00",
            "e = 2026-02-30",
            "f = -1",
            "f = 01",
        ),
        *(
            "f = 1_000",
            "f = 1.5",
            "f = nan",
            'g = ["x", "y"]',
            'g = [\n  "x", # why\n  "y",\n]',
            "g = [",
            "]",
        ),
        'h = [{ s = "x", w = "y" }]',
        'h = [{ s = "x", s = "y" }]',
        'h = [{ s = ["x"], w = "y" },]',
        *(
            'i = { s = "x", w = ["y", "z"] }',
            'i = { s = "}", w = [] } # said',
            'i = { s = ["x",\n  "y",\n] }',
            'i = { s = "x", s = "y" }',
            'i = { s = "x", }',
            'i = { s = "x" # no',
            'i = { s.t = "x" }',
            "i = { s = 1 }",
            'i = { s = { t = "x" } }',
            'i = { s = "x"\n}',
        ),
        *(
            "i = {}",
            "i.j = 1",
            '"a" = 1',
            "[a]",
            "[b]",
            "[a.b]",
            "[[a]]",
            "[[a.b]]",
            "[b.c]",
            "[[b.c]]",
            "[ a ]",
        ),
        *(
            "[b.c.d]",
            "[[h]]",
            "[h.s]",
            "[[g]]",
            "[i]",
            "# only said",
            "# \x01",
            'k = "\x01"',
            'k = "\\u00e9"',
        ),
        *(
            'k = "\\q"',
            'k = """x',
            'y"""',
            'k = "x" y',
            "k",
            "= 1",
            "\r",
            "k = 1\r",
            "\ufeff",
            "[a",
            "[[a]",
            "[]",
        ),
        *(
            'a = "tab\there"',
            "k = inf",
            "k = 0x1f",
            "k = 9" + "9" * 5000,
            "é = 1",
            "k = [[[[1]]]]",
            "[a-b_1]",
        ),
    ]
)


def outcome(read: Callable[[str], dict[str, Any]], text: str) -> object:
    """Return what a reader makes of a text: the table with its types, or the error with its words."""
    try:
        return typed(read(text))
    except (ValueError, RecursionError) as error:
        return type(error), str(error)


def typed(value: object) -> object:
    """Return a value such that `1`, `1.0` and `True` differ, as do two moments that are the same instant."""
    match value:
        case dict():
            return [(key, typed(each)) for key, each in value.items()]
        case list():
            return [typed(each) for each in value]
        case datetime() | time():
            return type(value), value.isoformat()
        case float() if math.isnan(value):
            return "nan"
        case _:
            return type(value), value


class TestEqualToTheStandardReader:
    @given(TABLES)
    def test_what_is_written_by_tomli_w_is_read_alike(self, table: dict[str, Any]) -> None:
        text = tomli_w.dumps(table)

        assert outcome(toml.loads, text) == outcome(tomllib.loads, text)

    @settings(max_examples=600)
    @given(st.lists(LINES, max_size=8))
    def test_lines_in_any_order_are_read_alike_or_refused_with_the_same_words(self, lines: list[str]) -> None:
        text = "\n".join(lines)

        assert outcome(toml.loads, text) == outcome(tomllib.loads, text)

    @settings(max_examples=300)
    @given(st.text("a1 =\"\\[]{},.#\n\r\t-:T+_'", max_size=30))
    def test_any_characters_are_read_alike_or_refused_with_the_same_words(self, text: str) -> None:
        assert outcome(toml.loads, text) == outcome(tomllib.loads, text)

    @pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
    def test_every_protocol_in_the_repository_is_read_alike(self, path: Path) -> None:
        text = path.read_bytes().decode("utf-8", errors="replace")

        assert outcome(toml.loads, text) == outcome(tomllib.loads, text)

    @settings(max_examples=200)
    @given(st.data())
    def test_a_damaged_protocol_is_read_alike_or_refused_with_the_same_words(
        self, data: st.DataObject
    ) -> None:
        """A piece of a bundled file, with one cut taken out and one line put in."""
        whole = (ROOT / "protocols" / "head-and-neck.toml").read_text(encoding="utf-8")
        begin = data.draw(st.integers(0, len(whole)))
        text = whole[begin : begin + 4000]
        start, length = data.draw(st.integers(0, len(text))), data.draw(st.integers(0, 40))
        damaged = text[:start] + data.draw(LINES | st.just("")) + text[start + length :]

        assert outcome(toml.loads, damaged) == outcome(tomllib.loads, damaged)


@pytest.mark.parametrize(
    ("text", "table"),
    [
        ('a = "x"\n[b]\nc = 1\n[[b.d]]\ne = true\n', {"a": "x", "b": {"c": 1, "d": [{"e": True}]}}),
        ("[[a]]\n[a.b]\n[[a]]\n[a.b]\nc = 2026-03-04", {"a": [{"b": {}}, {"b": {"c": date(2026, 3, 4)}}]}),
        ('a = [{ s = "x, }", w = "y" }]', {"a": [{"s": "x, }", "w": "y"}]}),
        ('a = [{ s = "x", w = ["y", "= z"] }]', {"a": [{"s": "x", "w": ["y", "= z"]}]}),
        ('a = { s = "", w = [], v = ["{y}"] } # said', {"a": {"s": "", "w": [], "v": ["{y}"]}}),
    ],
)
def test_plain_lines_are_read_without_the_standard_reader(
    text: str, table: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Otherwise the quick way might be lost without anyone noticing."""
    monkeypatch.setattr(tomllib, "loads", None)

    assert toml.loads(text) == table


@pytest.mark.parametrize("path", sorted((ROOT / "protocols").rglob("*.toml")), ids=lambda path: path.name)
def test_a_bundled_file_is_read_by_lines(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One line that is not plain would send the whole of it to the standard reader."""
    text, lengths = path.read_text(encoding="utf-8"), [0]

    def noticed(part: str) -> dict[str, Any]:
        lengths.append(len(part))
        return _STANDARD(part)

    monkeypatch.setattr(tomllib, "loads", noticed)
    toml.loads(text)

    assert max(lengths) < 1000


_STANDARD = tomllib.loads
_MANY = 40_000


@pytest.mark.parametrize(
    "text",
    [
        "a" * _MANY,
        " " * _MANY + "?",
        "a = 1" + " " * _MANY + "?",
        "a = [" * _MANY,
        'a = ["x"' + " " * _MANY + "1]",
        "a = [" + '"x", ' * _MANY + "?]",
        "a = [{" + ' b = "x",' * _MANY + "}]",
        "a = {" + ' b = "x",' * _MANY + "}",
        "a = {" * _MANY,
        'a = { b = "x"' + " " * _MANY + "?",
        "[a" + ".a" * _MANY + "]?",
        "a = 1" + "1" * _MANY + " 1?",
    ],
    ids=range(12),
)
def test_a_text_made_to_be_slow_is_refused_at_once(text: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A pattern that tries every way to divide a run of spaces would take half a minute."""
    monkeypatch.setattr(tomllib, "loads", _refuse)
    began = monotonic()

    with pytest.raises(tomllib.TOMLDecodeError):
        toml.loads(text)

    assert monotonic() - began < 2


def _refuse(_: str) -> dict[str, Any]:
    raise tomllib.TOMLDecodeError
