"""What a text from outside must pass before it is kept, shown or printed.

Everything that comes from a file or a keyboard is data.
This module decides which characters may reach a terminal.
It reads nothing and prints nothing.
"""

import re

VISIBLE_MARK = "\ufffd"
"""Stands where a control character stood, so that its removal can be seen."""

# Control characters but newline and tab, and the characters that reorder or hide text (bidirectional
# overrides and marks, zero-width and line separators): a terminal obeys them, a reader does not see them.
# The last two lines are the code points that stand for no character, which HTML and XML refuse.
_UNSAFE = re.compile(
    "[\u0000-\u0008\u000b-\u001f\u007f-\u009f\u061c\u200b\u200e\u200f\u2028\u2029\u202a-\u202e\u2066-\u2069\ufeff\ud800-\udfff"
    + "\ufdd0-\ufdef"
    + "".join(f"{chr(plane + 0xFFFE)}{chr(plane + 0xFFFF)}" for plane in range(0, 0x110000, 0x10000))
    + "]"
)


def clean(text: str) -> str:
    """Return `text` with every character that a terminal would obey replaced by a visible mark."""
    # No character of the pattern is printable, and this check takes a fraction of the time.
    return text if text.isprintable() else _UNSAFE.sub(VISIBLE_MARK, text)


def one_line(text: str) -> str:
    """Return `text` cleaned, with runs of white space folded into single spaces."""
    if text.isprintable() and "  " not in text:
        # The only white space that is printable is the plain space.
        return text.strip()
    return " ".join(clean(text).split())


def same_code(one: str, other: str) -> bool:
    """Whether two codes of persons are the same, typed in capitals or not."""
    return one.casefold() == other.casefold()
