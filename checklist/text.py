"""What a text from outside must pass before it is kept, shown or printed.

Everything that comes from a file or a keyboard is data.
This module decides which characters may reach a terminal, and which words look like a person's identity.
It reads nothing and prints nothing.
"""

import re
from itertools import pairwise

VISIBLE_MARK = "\ufffd"
"""Stands where a control character stood, so that its removal can be seen."""

# Control characters but newline and tab, and the characters that reorder or hide text (bidirectional
# overrides and marks, zero-width and line separators): a terminal obeys them, a reader does not see them.
_UNSAFE = re.compile(
    "[\u0000-\u0008\u000b-\u001f\u007f-\u009f\u061c\u200b\u200e\u200f\u2028\u2029\u202a-\u202e\u2066-\u2069\ufeff\ud800-\udfff]"
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


_DATE = re.compile(r"\b\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}\b")
_LONG_NUMBER = re.compile(r"\d[\d\s-]{4,}\d")
_MAIL = re.compile(r"\S@\S")
_LETTERS = re.compile(r"[^\W\d_]{2,}")
_THREE_LETTERS = re.compile(r"[^\W\d_]{3}")


def identity_warning(code: str) -> str | None:
    """Say why a participant or examiner code looks like an identity, or return None.

    A code is a made-up label such as `P-014`.
    The answer is a reason to ask once more: a code of one's own may look like anything.
    The kinds follow the identifiers listed in 45 CFR 164.514(b)(2): names, dates, record numbers, mail.
    """
    if _MAIL.search(code):
        return "looks like an e-mail address"
    if _DATE.search(code):
        return "looks like a date"
    if _LONG_NUMBER.search(code):
        return "looks like a record or telephone number"
    has_digit = any(character.isdigit() for character in code)
    if len(_LETTERS.findall(code)) >= 2 or (_THREE_LETTERS.search(code) and not has_digit):
        return "looks like a name"
    return None


_SIX_DIGITS = re.compile(r"\d(?:[\s-]?\d){5}")
_INSIDE_A_NAME = re.compile(r"['’.,;-]")


def looks_like_a_person(text: str) -> bool:
    """Whether free text for a role or code holds a name in capitals, an e-mail address or a long number."""
    if _MAIL.search(text) or _SIX_DIGITS.search(text):
        return True
    words = [_is_capitalised(word) for word in text.split()]
    return any(first and second for first, second in pairwise(words))


def _is_capitalised(word: str) -> bool:
    """Whether a word is written as a name is: `Anna`, `O'Neill`; not `ICU`, nor `N-12`."""
    letters = _INSIDE_A_NAME.sub("", word)
    return letters.isalpha() and letters[0].isupper() and not letters.isupper()
