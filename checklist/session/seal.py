"""What a signed session file can show of itself: whether its bytes are those that were signed. Pure.

Each signature holds the digest of all bytes up to its own last line, earlier signatures included; only the
digest itself is left out.
That shows a change by somebody who did not make the digests anew; whoever can write the file can do that,
so that it is no proof of who signed, nor of when.
"""

import hashlib
import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from checklist.text import one_line

# An editor may have turned the line ends round: then the signature is found all the same, and does not fit.
_BLOCK = re.compile(rb"^\[\[event\]\]\r?\n", re.MULTILINE)
_END = re.compile(rb"^# end of event \d+\r?\n", re.MULTILINE)
_TABLE = re.compile(rb"^\[", re.MULTILINE)
_KIND = re.compile(rb'^kind = "signed"\r?$', re.MULTILINE)
_DIGEST = re.compile(rb'^digest = "([0-9a-f]{64})"\r?$', re.MULTILINE)
_WHO = re.compile(rb"^who = .*$", re.MULTILINE)


@dataclass(frozen=True, kw_only=True, slots=True)
class Seal:
    """One signature."""

    who: str
    is_unchanged: bool
    """Whether all bytes up to its end are those that were signed."""


def digest(data: bytes) -> str:
    """Return the SHA-256 of bytes, in hexadecimal."""
    return hashlib.sha256(data).hexdigest()


def seals(data: bytes) -> tuple[Seal, ...]:
    """Return the signatures of a session file's bytes, in order; a torn one is none."""
    return tuple(_seal(data, start, end) for start, end in _blocks(data) if _is_signature(data[start:end]))


def _blocks(data: bytes) -> Iterator[tuple[int, int]]:
    """Return where each event begins, after its first line, and where its closing line ends."""
    starts = [match.end() for match in _BLOCK.finditer(data)]
    for start, following in pairwise([*starts, len(data)]):
        if end := _END.search(data, start, following):
            yield start, end.end()


def _is_signature(block: bytes) -> bool:
    """Whether an event's own keys say so; a later version may write tables below them."""
    return bool(_KIND.search(_TABLE.split(block, maxsplit=1)[0]))


def _seal(data: bytes, start: int, end: int) -> Seal:
    found = _DIGEST.search(data, start, end)
    if found is None:
        return Seal(who=_who(data[start:end]), is_unchanged=False)
    signed = data[: found.start(1)] + data[found.end(1) : end]
    return Seal(who=_who(data[start:end]), is_unchanged=found[1].decode() == digest(signed))


def _who(block: bytes) -> str:
    """Return who signed; empty where that cannot be read."""
    line = _WHO.search(block)
    try:
        return one_line(str(tomllib.loads(line[0].decode().strip())["who"])) if line else ""
    except ValueError:
        return ""
