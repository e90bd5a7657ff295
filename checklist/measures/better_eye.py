"""Acuity of the better eye, and the range of vision impairment that it lies in. Pure.

Presenting acuity: with what the person wears, so that a value through a pinhole does not count. The range is
that of the better eye of two; it is not concluded from one. No code is given.
"""

from collections.abc import Callable, Iterator, Mapping
from math import log10
from typing import NamedTuple

from checklist.measures.eye_parts import Inputs, computation
from checklist.measures.reading import Facts, Meaning, Options, Remark
from checklist.measures.vision import Eyes, both_eyes, is_worse

_ORDER = ("letters", "counting-fingers", "hand-motion", "light-perception", "no-light-perception")
_LEVELS = frozenset(_ORDER)
_FINGERS_LETTER_M = 60
"""Fingers count as a letter for 60 m: 1/60 is fingers at 1 m in the classification (quoted second hand)."""


class Category(NamedTuple):
    """A range of vision impairment."""

    name: str
    classes: str
    range: str


_NONE = Category("no vision impairment", "impairment-none", "6/12 or better")
_MILD = Category("mild vision impairment", "impairment-mild", "worse than 6/12 to 6/18")
_MODERATE = Category("moderate vision impairment", "impairment-moderate", "worse than 6/18 to 6/60")
_SEVERE = Category("severe vision impairment", "impairment-severe", "worse than 6/60 to 3/60")
_BLINDNESS = Category("blindness", "blindness", "worse than 3/60")
_LIMITS = (
    ("blindness_below", _BLINDNESS),
    ("severe_below", _SEVERE),
    ("moderate_below", _MODERATE),
    ("mild_below", _MILD),
)


def category(judged_logmar: float, options: Options) -> Category:
    """Return the range that an acuity lies in; the limits themselves lie in the better one."""
    worse = (named for option, named in _LIMITS if is_worse(judged_logmar, -log10(options.number(option))))
    return next(worse, _NONE)


# ------------------------------------------------------------------ which eye, which range


def better_eye(inputs: Inputs, options: Options) -> Meaning | None:
    """Return which eye is the better and the range of its acuity; without a range when one eye is missing."""
    found = _presenting(inputs["acuity"], options.text("site"))
    eyes = both_eyes(found)
    if eyes:
        return _of_both(eyes[0], options)
    measured = [f"{side} {fact.meaning.chart}" for (side, _), fact in found.items() if fact.meaning]
    if not measured:
        return None
    other = "left" if measured[0].startswith("right") else "right"
    words = f"{measured[0]}, {other} eye not measured or through pinhole only: no range of impairment stated"
    return computation(words, words, ("incomplete",))


def _presenting(facts: Facts, site: str) -> Facts:
    """Return the acuities of one site that were not measured through a pinhole; other readings are none."""
    sites = [site] if site else list(dict.fromkeys(each for _, each in facts))
    return {
        key: fact
        for key, fact in facts.items()
        if len(sites) == 1
        and key[1] == sites[0]
        and key[0] in ("right", "left")
        and fact.meaning
        and "pinhole" not in fact.meaning.classes
        and ("judged_logmar" in fact.meaning.figures or not _LEVELS.isdisjoint(fact.meaning.classes))
    }


class _Rank(NamedTuple):
    """Where an acuity stands, best first."""

    order: int
    logmar: float = 0.0


def _rank(meaning: Meaning) -> _Rank:
    """Return the rank; fingers at a known distance stand among the letters."""
    if "judged_logmar" in meaning.figures:
        return _Rank(0, meaning.figures["judged_logmar"])
    level = next(name for name in _ORDER if name in meaning.classes)
    if level == "counting-fingers" and "cf_m" in meaning.figures:
        return _Rank(0, log10(_FINGERS_LETTER_M / meaning.figures["cf_m"]))
    return _Rank(_ORDER.index(level))


def _cannot_be_ranked(eyes: Eyes) -> bool:
    """Whether both count fingers, and for one of them it was not recorded how far away."""
    fingers = [eye for eye in (eyes.right, eyes.left) if "counting-fingers" in eye.classes]
    return len(fingers) == 2 and len({"cf_m" in eye.figures for eye in fingers}) == 2


def _of_both(eyes: Eyes, options: Options) -> Meaning:
    if _cannot_be_ranked(eyes):
        words = (
            f"right {eyes.right.chart}, left {eyes.left.chart}: no range stated, one distance not recorded"
        )
        return computation(words, words, ("no-category",))
    ranks = _rank(eyes.right), _rank(eyes.left)
    is_right = ranks[0] <= ranks[1]
    better = eyes.right if is_right else eyes.left
    which = "alike" if ranks[0] == ranks[1] else "right-better" if is_right else "left-better"
    lead = f"right {eyes.right.chart}, left {eyes.left.chart}; {_WHICH[which]}"
    found = _category_of(better, options)
    if found is None:
        words = f"{lead}: no range stated, fingers not below 3 m by record"
        return computation(words, words, (which, "no-category"))
    called = "no range of vision impairment" if found is _NONE else f"the range called {found.name}"
    words = f"{lead}: in {called} ({found.range})"
    return computation(
        words, words, (which, found.classes), _remarks(found, better, options), _figures(better)
    )


_WHICH = {"alike": "eyes alike", "right-better": "better eye right", "left-better": "better eye left"}


def _figures(better: Meaning) -> dict[str, float]:
    judged = better.figures.get("judged_logmar")
    return {} if judged is None else {"better_logmar": judged}


def _category_of(better: Meaning, options: Options) -> Category | None:
    """Return the range; None for fingers that the classification does not place."""
    if "judged_logmar" in better.figures:
        return category(better.figures["judged_logmar"], options)
    return _BLINDNESS if "worse-than-3-60" in better.classes else None


_OPTIONS = {named.classes: option for option, named in _LIMITS}


def _remarks(found: Category, better: Meaning, options: Options) -> Iterator[Remark]:
    if found is _NONE:
        return
    yield Remark(
        text=f"better eye in the range called {found.name}: {found.range}",
        source=options.source(_OPTIONS[found.classes]),
        tell=options.text("tell_mild" if found is _MILD else "tell"),
    )
    if found is _MILD and is_worse(better.figures["judged_logmar"], log10(18 / 6)):
        yield Remark(
            text=f"{better.chart} is worse than 6/18 by arithmetic; 6/18, 0.3 and 20/70 are printed as equal",
            source=options.source("moderate_below"),
        )
    if found is not _BLINDNESS:
        yield Remark(
            text="acuity alone: a field of no more than 10 degrees radius counts as blindness",
            source="ICD-10 2010, note to H54",
        )


COMPUTATIONS: Mapping[str, Callable[[Inputs, Options], Meaning | None]] = {"better-eye": better_eye}
