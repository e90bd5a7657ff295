"""The line that is typed into: each key changes it as a person expects, and it fits any window."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from checklist.tui.line import LONGEST, edited, inserted, line_parts, opened, pasted

KEYS = ("backspace", "delete", "left", "right", "home", "end", "ctrl+u", "ctrl+w")


def typed(text: str, *keys: str) -> tuple[str, int]:
    """Return text and cursor after `keys`; one character is typed, a longer name is a key."""
    line = opened("label", text)
    for key in keys:
        after = edited(line, key, key if len(key) == 1 else None)
        assert after is not None
        line = after
    return line.text, line.cursor


@pytest.mark.parametrize(
    ("text", "keys", "after"),
    [
        ("", ("a", "b"), ("ab", 2)),
        ("ab", ("left", "x"), ("axb", 2)),
        ("ab", ("backspace",), ("a", 1)),
        ("ab", ("home", "backspace"), ("ab", 0)),
        ("ab", ("home", "delete"), ("b", 0)),
        ("ab", ("delete",), ("ab", 2)),
        ("ab", ("left", "left", "left"), ("ab", 0)),
        ("ab", ("right",), ("ab", 2)),
        ("ab", ("home", "end"), ("ab", 2)),
        ("ab cd", ("left", "ctrl+u"), ("d", 0)),
        ("ab cd", ("ctrl+w",), ("ab", 2)),
        ("ab", ("ctrl+w",), ("", 0)),
    ],
)
def test_a_key_changes_the_line(text: str, keys: tuple[str, ...], after: tuple[str, int]) -> None:
    assert typed(text, *keys) == after


@pytest.mark.parametrize("key", ["enter", "escape", "up", "f1", "tab"])
def test_other_keys_are_not_the_lines(key: str) -> None:
    assert edited(opened("label", "ab"), key, None) is None


def test_a_control_character_is_not_typed() -> None:
    assert edited(opened("label"), "x", "\x1b") is None


def test_a_paste_becomes_one_clean_line_at_the_cursor() -> None:
    line = edited(opened("label", "ab"), "left", None)
    assert line is not None

    assert pasted(line, "one\r\ntwo\tthree\x1b[2J").text == "aone two three\ufffd[2Jb"


def test_a_line_has_an_end() -> None:
    assert len(inserted(opened("label", "x" * (LONGEST - 2)), "yyyy").text) == LONGEST


@given(
    st.text(max_size=60),
    st.lists(st.one_of(st.sampled_from(KEYS), st.characters(categories=["L", "N", "Zs"]))),
    st.integers(8, 80),
)
def test_the_cursor_stays_in_the_line_and_in_the_window(text: str, keys: list[str], width: int) -> None:
    line = opened("label", text)
    for key in keys:
        line = edited(line, key, key if len(key) == 1 else None) or line

        assert 0 <= line.cursor <= len(line.text)
        shown, under, _ = (*line_parts(line, width), ("", ""))[:3]
        assert under[1] == "cursor" or shown[1] == "cursor"
        assert cell_len(shown[0]) + cell_len(under[0]) <= width or not line.text
