"""Reads TOML as `tomllib` does, several times faster for the plain lines that most of our files consist of.

Plain is one `key = value` to a line and `[table]` or `[[table]]` headers of bare keys.
A text that holds anything else goes to `tomllib` as a whole, so that it alone decides what is TOML and words
what is wrong.
Reading a large protocol is most of what starting the program costs beyond the screen itself.
"""

import re
from datetime import date, datetime
from typing import Any

_TEXT = r'"[^"\\\x00-\x08\x0a-\x1f\x7f]*"(?!")'
_INSIDE = r"""[^"'#\[\]]*"""
_LIST = rf"\[{_INSIDE}(?:{_TEXT}{_INSIDE})*\]"
_NESTED = rf"\[{_INSIDE}(?:(?:{_TEXT}|{_LIST}){_INSIDE})*\]"
_KEY = r"[A-Za-z0-9_-]+"
_PLAIN = re.compile(
    rf"""[ \t]*(?:
      ({_KEY})[ \t]*=[ \t]*(?: "([^"\\\x00-\x08\x0a-\x1f\x7f]*)"(?!") | ("(?:[^"\\\n]|\\.)+"(?!") | {_NESTED} | [-+.:\w]+(?:[ ][0-9][-+.:\w]*)?) )
      | \[({_KEY}(?:\.{_KEY})*)\]
      | \[\[({_KEY}(?:\.{_KEY})*)\]\]
    )?[ \t]*(?:\#[^\x00-\x08\x0a-\x1f\x7f]*)?(?:\n|\Z)
    | ([\s\S]+)""",
    re.VERBOSE,
)
"""One line: key with plain text, key with another value, table, table of a list; or all the rest, if not plain."""
_TEXTS = re.compile(rf"\[\s*(?:{_TEXT}\s*,\s*)*(?:{_TEXT}\s*)?\]".replace(r"\s", r"[ \t\n]"))
_WHOLE = re.compile(r"0|-?[1-9][0-9]{0,17}")
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_MOMENT = re.compile(rf"{_DATE.pattern}[ T](?:[01][0-9]|2[0-3]):[0-9]{{2}}:[0-9]{{2}}[+-][0-9]{{2}}:[0-9]{{2}}")


class _NotPlainError(ValueError):
    """The text needs the whole parser."""


def loads(text: str) -> dict[str, Any]:
    """Return the table that `text` holds; what `tomllib.loads` raises is raised."""
    try:
        return _plain(text.replace("\r\n", "\n"))
    except ValueError:
        import tomllib

        return tomllib.loads(text)


def _plain(text: str) -> dict[str, Any]:
    root: dict[str, Any] = {}
    table = root
    ours: set[int] = set()
    for key, plain, other, of_table, of_list, rest in _PLAIN.findall(text):
        if key:
            if key in table:
                raise _NotPlainError
            table[key] = _value(other) if other else plain
        elif of_table or of_list:
            table = _opened(root, of_table or of_list, bool(of_list), ours)
        elif rest:
            raise _NotPlainError
    return root


def _opened(root: dict[str, Any], path: str, is_list: bool, ours: set[int]) -> dict[str, Any]:
    """Make the table of a header, and return it; `ours` holds what headers made, which they alone may add to."""
    *outer, last = path.split(".")
    for key in outer:
        inner = root.get(key)
        if inner is None:
            inner = root[key] = {}
            ours.add(id(inner))
        elif id(inner) not in ours:
            raise _NotPlainError
        root = inner[-1] if isinstance(inner, list) else inner
    table: dict[str, Any] = {}
    if is_list:
        tables = root.setdefault(last, [])
        if not tables:
            ours.add(id(tables))
        elif id(tables) not in ours or not isinstance(tables, list):
            raise _NotPlainError
        tables.append(table)
    elif last in root:
        raise _NotPlainError
    else:
        root[last] = table
        ours.add(id(table))
    return table


def _value(written: str) -> Any:
    if written in _FLAGS:
        return _FLAGS[written]
    if _WHOLE.fullmatch(written):
        return int(written)
    if _TEXTS.fullmatch(written):
        return written.split('"')[1::2]
    if _MOMENT.fullmatch(written):
        return datetime.fromisoformat(written)
    if _DATE.fullmatch(written):
        return date.fromisoformat(written)
    import tomllib

    return tomllib.loads(f"value = {written}")["value"]


_FLAGS = {"true": True, "false": False}
