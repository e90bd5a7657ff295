"""Which step a person means who types one from memory. Pure; it never guesses where several fit alike.

Words are compared without case, accents, endings of one letter, filling words and repetition, and with small
slips of spelling. A step is known by its title and by the other names that the protocol gives it (`also`).
"""

import re
import unicodedata
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from functools import lru_cache

from checklist.protocol.model import Step

NEAR, NEAR_ASTRAY = 0.6, 0.75
"""Share of words in common from which on a name is near; more is asked for where each has words of its own.

By trial on the bundled protocols, no source.
"""
SLIP = 0.8
"""Likeness of two words from which on one is a slip of the other; by trial, no source."""
SHORTEST_WITH_SLIP = 4
"""Letters; in shorter words one letter makes another word: `ear`, `eye`."""
_FILLING = (
    "a about an and any are as at by check do each for from if in into is it its of on or over per please so"
    " the their them then this to up with"
)
FILLING = frozenset(_FILLING.split())
"""Words that say nothing of the step."""
_ALIKE = {
    **dict.fromkeys(("look", "observe", "view", "watch", "see", "inspection"), "inspect"),
    **dict.fromkeys(("feel", "touch", "palpation"), "palpate"),
    **dict.fromkeys(("listen", "hear", "auscultation"), "auscultate"),
    **dict.fromkeys(("tap", "percussion"), "percuss"),
}
"""Words for a technique, which say the same."""
_OPPOSED = (
    *(("ab", "ad"), ("in", "e"), ("hyper", "hypo"), ("intra", "extra"), ("intra", "inter")),
    *(("supra", "infra"), ("supra", "sub"), ("pre", "post"), ("un", "")),
)
"""Beginnings that make opposites of words that look alike: `abduction`, `adduction`; `uncover`, `cover`."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Meant:
    """The steps that a text fits best and alike, in the order in which they were handed in; often one."""

    steps: tuple[Step, ...] = ()

    @property
    def is_unclear(self) -> bool:
        """Whether steps of different names fit alike."""
        return len({_names(step)[0] for step in self.steps}) > 1


def meant(typed: str, steps: Iterable[Step]) -> Meant:
    """Return the steps that `typed` is nearest to; none when nothing is near."""
    words = words_of(typed)
    scored = [(max(_likeness(words, name) for name in _names(step)), step) for step in steps]
    best = max((score for score, _ in scored), default=0.0)
    if best:
        return Meant(steps=tuple(step for score, step in scored if score == best))
    # Too little of any name, but all of it in some: `vessels`.
    return Meant(steps=tuple(step for _, step in scored if any(_holds(name, words) for name in _names(step))))


def tells_technique(title: str, technique: str) -> bool:
    """Whether a title names its technique, by that word or one that says the same: `Look at the nails`."""
    return any(_is_same(word, technique) for word in words_of(title))


@lru_cache(maxsize=4096)
def words_of(text: str) -> tuple[str, ...]:
    """Return the words that tell: `Inspect the pupils` → `inspect`, `pupils`; filling words alone stay."""
    plain = unicodedata.normalize("NFKD", text.casefold())
    words = re.findall(r"[^\W_]+", "".join(each for each in plain if not unicodedata.combining(each)))
    told = dict.fromkeys(words)
    return tuple(word for word in told if word not in FILLING) or tuple(told)


def _names(step: Step) -> list[tuple[str, ...]]:
    return [words_of(name) for name in (step.title, *step.also)]


def _holds(name: Sequence[str], words: Sequence[str]) -> bool:
    """Whether a name has all these words, but for slips."""
    rest, left = _without_common(words, name, _is_same)
    return bool(words) and not _without_common(rest, left, is_slip)[0]


def _likeness(typed: Sequence[str], name: Sequence[str]) -> float:
    """Return the share of words in common (Dice: twice the common ones by all words), or 0 if not near.

    Among names that are near alike, one without a slip is nearer: `weight` may be a slip of `height`.
    """
    if not typed or not name:
        return 0.0
    rest, left = _without_common(typed, name, _is_same)
    astray, left = _without_common(rest, left, is_slip)
    share = 2 * (len(typed) - len(astray)) / (len(typed) + len(name))
    is_near = share >= (NEAR_ASTRAY if left and astray else NEAR)
    return share - SLIP_COST * (len(rest) - len(astray)) if is_near else 0.0


SLIP_COST = 0.001
"""Only to tell apart what is near alike."""


def _without_common(
    typed: Sequence[str], name: Sequence[str], are_alike: Callable[[str, str], bool]
) -> tuple[list[str], list[str]]:
    """Return the words of each that have no partner in the other."""
    rest, left = [], list(name)
    for word in typed:
        if found := next((other for other in left if are_alike(word, other)), None):
            left.remove(found)
        else:
            rest.append(word)
    return rest, left


def _is_same(word: str, other: str) -> bool:
    return _ALIKE.get(word, word) == _ALIKE.get(other, other)


@lru_cache(maxsize=65_536)
def is_slip(word: str, other: str) -> bool:
    """Whether one word is the other with a small slip of spelling, or in another number."""
    if any(each.isdigit() for each in word + other):
        return False
    if other in _plurals(word) or word in _plurals(other):
        return True
    if min(len(word), len(other)) < SHORTEST_WITH_SLIP or _are_opposed(word, other):
        return False
    if _is_swapped(word, other):
        return True
    likeness = SequenceMatcher(None, word, other, autojunk=False)
    # The first two are upper bounds, and quick.
    bounds = (likeness.real_quick_ratio, likeness.quick_ratio, likeness.ratio)
    return all(bound() >= SLIP for bound in bounds)


def _plurals(word: str) -> tuple[str, ...]:
    return (f"{word}s", f"{word}es", f"{word[:-1]}ies" if word.endswith("y") else f"{word}s")


def _is_swapped(word: str, other: str) -> bool:
    """Whether two neighbouring letters changed places, and nothing else differs."""
    differ = [place for place, (one, another) in enumerate(zip(word, other, strict=False)) if one != another]
    if len(word) != len(other) or len(differ) != 2 or differ[1] != differ[0] + 1:
        return False
    first, second = differ
    return (word[first], word[second]) == (other[second], other[first])


def _are_opposed(word: str, other: str) -> bool:
    pairs = {(word, other), (other, word)}
    return any(
        one.startswith(begin)
        and another.startswith(end)
        and one.removeprefix(begin) == another.removeprefix(end)
        for one, another in pairs
        for begin, end in _OPPOSED
    )
