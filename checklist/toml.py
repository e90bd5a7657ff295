"""Reads TOML as `tomllib` does, several times faster where lines are plain, as nearly all of ours are.

Plain is `key = value` with a bare key, a `[table]` or `[[table]]` of bare keys, a comment, an empty line.
A text with anything else goes to `tomllib` as a whole: that alone decides what is TOML and words what is not.
Without this, reading a large protocol takes a fifth of the time in which the program starts.
"""

import re
import tomllib
from datetime import date, datetime
from typing import Any

_CHARACTER = r'[^"\\\x00-\x08\x0a-\x1f\x7f]'
_TEXT = rf'"{_CHARACTER}*"(?!")'
_KEY = r"[A-Za-z0-9_-]+"
_PATH = rf"{_KEY}(?:\.{_KEY})*"
_TEXT_LIST = rf"\[[ \t\n]*(?:{_TEXT}[ \t\n]*,[ \t\n]*)*(?:{_TEXT}[ \t\n]*)?\]"
_PAIR = rf"{_KEY}[ \t]*=[ \t]*(?:{_TEXT}|{_TEXT_LIST})"
_TABLE = rf"\{{[ \t]*{_PAIR}(?:[ \t]*,[ \t]*{_PAIR})*[ \t]*\}}"

# A list is found by its brackets, at most one pair in another, and a table by its braces; what is in them is
# for tomllib to judge.
_BETWEEN = r"""[^"'#\[\]]*"""
_INNER_LIST = rf"\[{_BETWEEN}(?:{_TEXT}{_BETWEEN})*\]"
_LIST = rf"\[{_BETWEEN}(?:(?:{_TEXT}|{_INNER_LIST}){_BETWEEN})*\]"
_BRACED = rf"\{{[^\"'#\[\]{{}}\n]*(?:(?:{_TEXT}|{_INNER_LIST})[^\"'#\[\]{{}}\n]*)*\}}"
_ESCAPED_TEXT = rf'"(?:{_CHARACTER}|\\.)+"(?!")'
_WORD = r"[-+A-Za-z0-9][-+.:\w]*(?:[ ][0-9][-+.:\w]*)?"
_OTHER = rf"{_ESCAPED_TEXT}|{_LIST}|{_BRACED}|{_WORD}"
_LINE = re.compile(
    rf"[ \t]*(?:(?:({_KEY})[ \t]*=[ \t]*(?:\"({_CHARACTER}*)\"(?!\")|({_OTHER}))"
    rf"|\[({_PATH})\]|\[\[({_PATH})\]\])[ \t]*)?"
    r"(?:#[^\x00-\x08\x0a-\x1f\x7f]*)?(?:\n|\Z)"
    # Takes all at once, so that a text that is not plain is not searched again at every character of it.
    r"|([\s\S]+)"
)
"""A line: key, and its plain text or its other value; a table; a table of a list. Or all that is left."""

_TEXTS = re.compile(_TEXT_LIST)
_TABLES = re.compile(rf"\[[ \t\n]*(?:{_TABLE}[ \t\n]*,[ \t\n]*)*(?:{_TABLE}[ \t\n]*)?\]")
_ONE_TABLE = re.compile(_TABLE)
_ONE_PAIR = re.compile(rf'({_KEY})[ \t]*=[ \t]*(?:"({_CHARACTER}*)"|({_TEXT_LIST}))')
_WHOLE = re.compile(r"0|[1-9][0-9]{0,17}")
_DECIMAL = re.compile(r"(?:0|[1-9][0-9]{0,17})\.[0-9]{1,18}")
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_MOMENT = re.compile(
    rf"{_DATE.pattern}[ T](?:[01][0-9]|2[0-3]):[0-5][0-9]:[0-5][0-9][+-](?:[01][0-9]|2[0-3]):[0-5][0-9]"
)
_FLAGS = {"true": True, "false": False}


class _NotPlainError(ValueError):
    """The text is for tomllib."""


def loads(text: str) -> dict[str, Any]:
    """Return the table that `text` holds, or raise what `tomllib.loads` raises."""
    try:
        return _plain(text.replace("\r\n", "\n"))
    except (ValueError, RecursionError):
        return tomllib.loads(text)


def _plain(text: str) -> dict[str, Any]:
    root: dict[str, Any] = {}
    table = root
    headed: set[int] = set()
    for key, plain, other, path, list_path, rest in map(re.Match.groups, _LINE.finditer(text)):
        if key:
            if key in table:
                raise _NotPlainError
            table[key] = _value(other) if other else plain
        elif path:
            table = _opened(root, path, headed)
        elif list_path:
            table = _appended(root, list_path, headed)
        elif rest:
            raise _NotPlainError
    return root


def _opened(root: dict[str, Any], path: str, headed: set[int]) -> dict[str, Any]:
    """Make the table of a header; `headed` knows what headers made, and to nothing else may they add."""
    above, _, key = path.rpartition(".")
    parent = _found(root, above, headed)
    if key in parent:
        raise _NotPlainError
    table = parent[key] = {}
    headed.add(id(table))
    return table


def _appended(root: dict[str, Any], path: str, headed: set[int]) -> dict[str, Any]:
    """Make the next table of a list."""
    above, _, key = path.rpartition(".")
    parent = _found(root, above, headed)
    tables = parent.get(key)
    if tables is None:
        tables = parent[key] = []
        headed.add(id(tables))
    elif id(tables) not in headed or not isinstance(tables, list):
        raise _NotPlainError
    table: dict[str, Any] = {}
    tables.append(table)
    return table


def _found(table: dict[str, Any], path: str, headed: set[int]) -> dict[str, Any]:
    """Return the table at `path`, made where it is missing; of a list, the last one."""
    for key in path.split(".") if path else ():
        inner = table.get(key)
        if inner is None:
            inner = table[key] = {}
            headed.add(id(inner))
        elif id(inner) not in headed:
            raise _NotPlainError
        table = inner[-1] if isinstance(inner, list) else inner
    return table


def _value(written: str) -> Any:
    if written in _FLAGS:
        return _FLAGS[written]
    if _WHOLE.fullmatch(written):
        return int(written)
    if _DECIMAL.fullmatch(written):
        return float(written)
    if _TEXTS.fullmatch(written):
        return written.split('"')[1::2]
    if _MOMENT.fullmatch(written):
        return datetime.fromisoformat(written)
    if _DATE.fullmatch(written):
        return date.fromisoformat(written)
    if _TABLES.fullmatch(written):
        return [_table(each) for each in _ONE_TABLE.findall(written)]
    if _ONE_TABLE.fullmatch(written):
        return _table(written)
    return tomllib.loads(f"value = {written}")["value"]


def _table(written: str) -> dict[str, Any]:
    pairs = _ONE_PAIR.findall(written)
    table = {key: _value(texts) if texts else text for key, text, texts in pairs}
    if len(table) < len(pairs):
        raise _NotPlainError
    return table
