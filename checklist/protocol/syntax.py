"""Says in an author's words why a text is not TOML, and where. Pure."""

import re

from checklist.protocol.positions import Position, latest_key, repeated
from checklist.protocol.problems import Place, Problem, quoted

_AT = re.compile(
    r"(?P<what>.*) \(at (?:line (?P<line>\d+), column (?P<column>\d+)|end of document)\)", re.DOTALL
)
_REPEATED = ("Cannot overwrite", "Cannot declare", "Cannot mutate", "Cannot redefine", "Duplicate inline")
_UNCLOSED = ("Unterminated string", "Unclosed array", "Unclosed inline table", "Expected \"'")
_ESCAPES = ("Unescaped", "Escaped character", "Invalid hex")
_STATEMENT = re.compile(r"[ \t]*(?:[\w.-]+[ \t]*=|\[\[?[\w.-]+\]\]?[ \t]*(?:#|$))", re.MULTILINE)
_CLOSE = 'close a text with its quotes, a list with "]", a table with "}"'

_WORDS: tuple[tuple[str, str, str], ...] = (
    ("Invalid statement", "neither a key nor a [table]", 'write key = "value"'),
    ("Invalid initial character", "not a key", 'write key = "value"'),
    ("Expected '='", "no '=' after the key", 'write key = "value"'),
    ("Invalid value", "not a value", 'text stands between straight double quotes: "…"'),
    ("Illegal character '\\n'", "the text does not end on its line", 'end it with ", or write it in """'),
    ("Illegal character", "a control character", "delete it"),
    ("Found invalid character", "a control character", "delete it"),
    ("Expected newline", "something follows the value", 'one key to a line; a quote within a text is \\"'),
    ("Expected ']", "the header of the table is not closed", "write [name] or [[name]]"),
    ("Unescaped '\\'", "a '\\' that stands for nothing", "write \\\\ for one '\\'"),
    ("Invalid hex value", "a '\\u' without four hexadecimal digits", "such as \\u00e9"),
    ("Escaped character is not", "a '\\u' that is no character", "such as \\u00e9"),
    ("Invalid date", "not a date", "such as 2025-01-31"),
)
"""How a message of the parser begins, what it means, and what would be right."""


def syntax_problem(message: str, text: str, name: str) -> Problem:
    """Turn the parser's message about `text` into a problem of the file `name`."""
    text = text.replace("\r\n", "\n")
    match = _AT.fullmatch(message)
    what = match["what"] if match else message
    offset = _offset(text, match)
    if what.startswith(_ESCAPES):
        # The parser points behind what it could not use.
        offset = text.rfind("\\", 0, offset)
    position = text.count("\n", 0, offset) + 1, offset - text.rfind("\n", 0, offset)
    again = repeated(text[:offset]) if what.startswith(_REPEATED) else None
    open_key = _open_key(what, text, offset)
    if again:
        place, position, (first, _) = again
        what, hint = f"{quoted(str(place[-1]))} is written twice", f"see line {first}"
    elif open_key:
        place, position = open_key
        what, hint = f"the value of {quoted(str(place[-1]))} is not closed", _CLOSE
    else:
        what, hint = _reworded(what)
    return Problem(file=name, what=what, hint=hint, line=position[0], column=position[1])


def _offset(text: str, match: re.Match[str] | None) -> int:
    """Return where the parser's message points; to the end of the text when it names no line."""
    if match is None or match["line"] is None:
        return len(text)
    start = 0
    for _ in range(int(match["line"]) - 1):
        start = text.index("\n", start) + 1
    return start + int(match["column"]) - 1


def _open_key(what: str, text: str, offset: int) -> tuple[Place, Position] | None:
    """Return the key whose value lacks its end, if that is what went wrong before `offset`."""
    if what.startswith(_UNCLOSED):
        return latest_key(text[:offset])
    # In a list that is not closed, the next key or header looks like a bad element.
    start = text.rfind("\n", 0, offset) + 1
    if what.startswith("Invalid value") and _STATEMENT.match(text, start):
        key = latest_key(text[:offset])
        return key if key and key[1][0] <= text.count("\n", 0, start) else None
    return None


def _reworded(what: str) -> tuple[str, str]:
    for begins, words, hint in _WORDS:
        if what.startswith(begins):
            return words, hint
    return f"not TOML: {what}", ""
