"""Every place of a TOML value is found where its key is written."""

import tomllib
from collections.abc import Iterator
from datetime import date, datetime, time

import pytest
import tomli_w
from hypothesis import given
from hypothesis import strategies as st

from checklist.protocol.positions import latest_key, positions, repeated
from checklist.protocol.problems import Place

DOCUMENT = """\
# a comment with [brackets] and "quotes"
title = "Knee" # and another one = 1
"two words" = 1
'single' = 2
  dotted . "key"  .inner = 3
plain = 1979-05-27 07:32:00

long = \"\"\"
one = 1
[two] \\\"\"\"
three \"\"\"\"\"
literal = '''
it's = "4" ''
'''
after = true
quoted = "a \\" b = [" # "
back = 'C:\\'
flow = [ 1, "x = 1", # not = here
  [2.5, []],
  {a = 1, b.c = [3], 'd' = {}},
]
last = 5

[table]
"é" = "ü" ; "x"

[[ array ]]
id = 1
[[array.inner]]
[[array.inner]]
id = 2
[array.one]
id = 3

[[array]]
id = 4
  [[array . "inner"]]
  id = 5
[table.deep.deeper]
x = 0xFF
""".replace(' ; "x"', "")

WRITTEN: tuple[tuple[Place, int, int], ...] = (
    (("title",), 2, 1),
    (("two words",), 3, 1),
    (("single",), 4, 1),
    (("dotted",), 5, 3),
    (("dotted", "key"), 5, 12),
    (("dotted", "key", "inner"), 5, 20),
    (("plain",), 6, 1),
    (("long",), 8, 1),
    (("literal",), 12, 1),
    (("after",), 15, 1),
    (("quoted",), 16, 1),
    (("back",), 17, 1),
    (("flow",), 18, 1),
    (("flow", 0), 18, 10),
    (("flow", 1), 18, 13),
    (("flow", 2), 19, 3),
    (("flow", 2, 0), 19, 4),
    (("flow", 2, 1), 19, 9),
    (("flow", 3), 20, 3),
    (("flow", 3, "a"), 20, 4),
    (("flow", 3, "b"), 20, 11),
    (("flow", 3, "b", "c"), 20, 13),
    (("flow", 3, "b", "c", 0), 20, 18),
    (("flow", 3, "d"), 20, 22),
    (("last",), 22, 1),
    (("table",), 24, 2),
    (("table", "é"), 25, 1),
    (("array",), 27, 4),
    (("array", 0), 27, 1),
    (("array", 0, "id"), 28, 1),
    (("array", 0, "inner"), 29, 9),
    (("array", 0, "inner", 0), 29, 1),
    (("array", 0, "inner", 1), 30, 1),
    (("array", 0, "inner", 1, "id"), 31, 1),
    (("array", 0, "one"), 32, 8),
    (("array", 0, "one", "id"), 33, 1),
    (("array", 1), 35, 1),
    (("array", 1, "id"), 36, 1),
    (("array", 1, "inner"), 37, 13),
    (("array", 1, "inner", 0), 37, 3),
    (("array", 1, "inner", 0, "id"), 38, 3),
    (("table", "deep"), 39, 8),
    (("table", "deep", "deeper"), 39, 13),
    (("table", "deep", "deeper", "x"), 40, 1),
)


def places(value: object, at: Place = ()) -> Iterator[tuple[Place, object]]:
    """Yield every place inside a parsed value, with what is there."""
    inner: list[tuple[str | int, object]] = []
    if isinstance(value, dict):
        inner = list(value.items())
    elif isinstance(value, list):
        inner = list(enumerate(value))
    for part, each in inner:
        yield (*at, part), each
        yield from places(each, (*at, part))


class TestHandWrittenDocument:
    def test_every_kind_of_key_and_element_is_found_where_it_is_written(self) -> None:
        assert positions(DOCUMENT) == {place: (line, column) for place, line, column in WRITTEN}

    def test_every_place_of_the_parsed_value_is_among_them(self) -> None:
        assert {place for place, _ in places(tomllib.loads(DOCUMENT))} == {place for place, _, _ in WRITTEN}

    def test_lines_that_end_in_carriage_return_and_newline_count_alike(self) -> None:
        assert positions(DOCUMENT.replace("\n", "\r\n")) == positions(DOCUMENT)

    def test_columns_count_characters_and_not_bytes(self) -> None:
        assert positions('x = ["éüß", 1]')["x", 1] == (1, 13)

    @pytest.mark.parametrize("text", ["", "\n\n", "# only a comment"])
    def test_a_document_without_keys_has_no_positions(self, text: str) -> None:
        assert positions(text) == {}

    def test_a_value_nested_deeper_than_any_call_stack_is_read(self) -> None:
        depth = 5000

        found = positions("x = " + "[" * depth + "]" * depth + "\ny = 1")

        assert found["y",] == (2, 1)


scalars = (
    st.text()
    | st.integers()
    | st.booleans()
    | st.floats()
    | st.dates(min_value=date(1000, 1, 1))
    | st.datetimes(min_value=datetime(1000, 1, 1))
    | st.times()
)
values = st.recursive(
    scalars,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    max_leaves=25,
)
documents = st.dictionaries(st.text(max_size=8), values, max_size=6)


def beginnings(part: str | int, value: object) -> tuple[str, ...]:
    """Return how the text at the place of `value` may begin."""
    if isinstance(part, str):
        return (part, tomli_w.dumps({part: 1}).removesuffix(" = 1\n"))
    match value:
        case dict():
            return ("{", "[[")
        case list():
            return ("[",)
        case str():
            return ('"',)
        case bool():
            return ("true", "false")
        case date() | time():
            return (str(value),)
        case _:
            return (str(value), "nan")


class TestGeneratedDocuments:
    @given(documents, st.booleans())
    def test_every_place_has_a_position_where_its_key_or_value_begins(
        self, document: dict[str, object], multiline: bool
    ) -> None:
        text = tomli_w.dumps(document, multiline_strings=multiline)
        lines = text.split("\n")
        parsed = dict(places(tomllib.loads(text)))

        found = positions(text)

        assert found.keys() == parsed.keys()
        for place, (line, column) in found.items():
            assert lines[line - 1][column - 1 :].startswith(beginnings(place[-1], parsed[place]))

    @given(documents)
    def test_the_order_of_the_text_is_the_order_of_the_positions(self, document: dict[str, object]) -> None:
        text = tomli_w.dumps(document)
        scalars_only = {
            place: value
            for place, value in places(tomllib.loads(text))
            if not isinstance(value, dict | list) and not any(isinstance(part, int) for part in place)
        }

        found = [position for place, position in positions(text).items() if place in scalars_only]

        assert found == sorted(set(found))

    @given(st.text(alphabet="ab=[]{}\"'\\.,# \n1") | st.text())
    def test_a_text_that_is_not_toml_raises_nothing(self, text: str) -> None:
        for line, column in positions(text).values():
            assert 1 <= line <= text.count("\n") + 1
            assert column >= 1
        repeated(text)
        latest_key(text)

    def test_a_key_with_an_escape_that_toml_does_not_know_ends_the_search(self) -> None:
        assert positions('a = 1\n"\\z" = 1\nb = 2') == {("a",): (1, 1)}


class TestRepeated:
    @pytest.mark.parametrize(
        ("text", "place", "position", "first"),
        [
            ("a = 1\nb = 2\na = 3", ("a",), (3, 1), (1, 1)),
            ("a = {x = 1}\na = {x = 2}", ("a",), (2, 1), (1, 1)),
            ("a.b = 1\na.c = 2\na.b = 3", ("a", "b"), (3, 3), (1, 3)),
            ("a = 1\na.b = 2", ("a",), (2, 1), (1, 1)),
            ("[a]\nx = 1\n[b]\n[a]", ("a",), (4, 2), (1, 2)),
            ("[[a]]\nx = 1\n[[a]]\nx = 2\nx = 3", ("a", 1, "x"), (5, 1), (4, 1)),
            ("a = {x = 1, y = 2, x", ("a", "x"), (1, 20), (1, 6)),
        ],
    )
    def test_what_is_written_again_is_named_with_both_positions(
        self, text: str, place: Place, position: tuple[int, int], first: tuple[int, int]
    ) -> None:
        assert repeated(text) == (place, position, first)

    def test_nothing_is_named_when_nothing_is_written_again(self) -> None:
        assert repeated("a = 1\n[b]\na = 2") is None


class TestLatestKey:
    @pytest.mark.parametrize("value", ['"open', '"""open\n\n', "'open", "'''open\n", "[1,\n 2", "{ b = 1,"])
    def test_the_key_of_a_value_that_is_not_closed_is_found(self, value: str) -> None:
        assert latest_key(f"first = 1\nsecond.part = {value}") == (("second", "part"), (2, 8))

    def test_a_text_without_keys_has_none(self) -> None:
        assert latest_key("# nothing") is None
