"""What readers of typed texts share: plain forms, numbers, rounding, ranges of what is possible. Pure."""

import re
from collections.abc import Container
from math import floor

from checklist.measures.reading import ReadingError

NUMBER = r"(\d{1,4}(?:\.\d{1,4})?)"
"""A number without sign, as a group of a pattern."""


SHORT_NUMBER = r"([0-9]{1,3}(?:\.[0-9]{1,2})?)"
"""The same for lengths and times."""


def plain(text: str) -> str:
    """Return the text in lower case, with single spaces and a multiplication sign as `x`."""
    return " ".join(text.casefold().replace("×", "x").split())


def pointed(text: str) -> str:
    """Return the text with a comma between digits as the decimal point that it is."""
    return re.sub(r"(?<=[0-9]),(?=[0-9])", ".", text)


def plain_text(text: str) -> str:
    """Return the text in lower case, with single spaces and a point as decimal mark."""
    return plain(pointed(text))


def match(pattern: str, text: str, accepted: str, known: Container[str] | None = None) -> re.Match[str]:
    """Return the match of the whole text; raises ReadingError with what is accepted.

    With the words that are `known`, the first other word of a refused text is named.
    """
    found = re.fullmatch(pattern, text, re.ASCII)
    if not found:
        raise ReadingError(accepted) if known is None else refused(text, known, accepted)
    return found


_LONGEST_NAMED = 20
"""Letters of a word that a refusal names at most, so that what is accepted stays in one line."""


def refused(text: str, known: Container[str], accepted: str) -> ReadingError:
    """Return the refusal of a text: its first word that is not known, and what is accepted."""
    return ReadingError(f"{unknown_word(text, known)}{accepted}")


def unknown_word(text: str, known: Container[str]) -> str:
    """Return what a refusal begins with: the first word that is not known; empty when there is none."""
    words = re.findall("[a-z]+(?:-[a-z]+)*", text)
    word = next((each for each in words if each not in known), "")
    return f"unknown word '{word}'; " if 0 < len(word) <= _LONGEST_NAMED else ""


def rounded(value: float, decimals: int = 0) -> float:
    """Return `value` rounded as a clinician does it, halves up: 36.05 is 36.1."""
    scale: int = 10**decimals
    # A half that was typed may lie a hair below one in binary.
    return floor(value * scale + 0.5 + 1e-9) / scale


def short(value: float) -> str:
    """Return a number of up to two decimals as briefly as it goes."""
    return f"{value:.2f}".rstrip("0").rstrip(".")


def plus(grade: int) -> str:
    """Return a grade of a scale that is counted in plus signs: `0`, `1+`."""
    return f"{grade}+" if grade else "0"


def within(value: float, low: float, high: float, what: str, unit: str = "") -> None:
    """Raise ReadingError, with the range, for a value that is not possible."""
    if not low <= value <= high:
        raise ReadingError(f"{what} is possible from {short(low)} to {short(high)} {unit}".rstrip())
