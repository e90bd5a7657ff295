"""Finds keys with so many dotted parts that the parser would take minutes over them. Pure; parses nothing."""

import re

MOST_PARTS = 20
"""Of a dotted key. The parser's time grows with their square, and a protocol needs two."""

_MANY_DOTS = re.compile(rf"\.(?:[^.\n]*\.){{{MOST_PARTS - 1}}}")
# A text that is not closed reaches to its end: the parser stops there too.
_OPAQUE = (
    r'"""(?:[^\\]|\\[\s\S])*?(?:"{3,5}|\Z)'
    r"|'{3}[\s\S]*?(?:'{3,5}|\Z)"
    r'|"(?:[^"\\\n]|\\.)*"?'
    r"|'[^'\n]*'?"
    r"|#[^\n]*"
)
_LONG_KEY = rf"(?<![\w-])[\w-]+(?:[ \t]*\.[ \t]*[\w-]+){{{MOST_PARTS}}}"


def long_key(text: str) -> int:
    """Return the line of the first key with more than MOST_PARTS dotted parts, or 0."""
    # Hardly a line has as many dots at all, and only then texts are told apart from keys.
    if not _MANY_DOTS.search(text):
        return 0
    bare = re.sub(_OPAQUE, _blank, text)
    key = re.search(_LONG_KEY, bare)
    return bare.count("\n", 0, key.start()) + 1 if key else 0


def _blank(opaque: re.Match[str]) -> str:
    """Return what stands for a comment, or for a text, which may be part of a key."""
    return "" if opaque[0].startswith("#") else "x" + "\n" * opaque[0].count("\n")
