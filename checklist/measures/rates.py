"""Pulse and respirations: a rate as it was counted, for a minute or for less, or tapped. Pure."""

import re
from collections.abc import Callable, Mapping
from typing import NamedTuple

from checklist.measures.limits import banded, unusual
from checklist.measures.reading import Meaning, Options, Remark
from checklist.measures.spec import PRACTICE
from checklist.measures.timing import TAPPED_TEXT, counted
from checklist.measures.typed import match, plain_text, refused, rounded, short, unknown_word, within

_PER_MINUTE = r"(?: ?/ ?min| a minute| per minute| ?bpm)?"
_RHYTHMS = {
    **dict.fromkeys(("regular", "reg", "r"), "regular"),
    **dict.fromkeys(("irregular", "irreg", "ireg", "irr"), "irregular"),
    "irregularly irregular": "irregularly irregular",
}
_RHYTHM = rf"(?: ?({'|'.join(_RHYTHMS)}))?"
_RATE = rf"(\d{{1,3}}){_PER_MINUTE}{_RHYTHM}"
_COUNT = rf"(\d{{1,3}}) in (\d{{1,3}}) ?(?:s|sec|seconds){_RHYTHM}"
_TIMES = rf"(\d{{1,3}}) ?x ?(\d{{1,2}}){_RHYTHM}"
_TAPPED = f"{TAPPED_TEXT}{_RHYTHM}"

_WORDS = frozenset(" ".join((*_RHYTHMS, "in s sec seconds a per minute min bpm x over variation")).split())
_PARTS_OF_A_MINUTE = (2, 3, 4, 6, 10, 12)
"""What a count is multiplied by: of 30, 20, 15, 10, 6 or 5 s."""


class _Rate(NamedTuple):
    """A rate as it was typed: per minute, over how long, in its forms, and with its rhythm."""

    per_minute: int
    seconds: int
    text: str
    words: str
    chart: str
    rhythm: str
    doubt: str = ""


def pulse_rate(text: str, options: Options) -> Meaning:
    """Read a pulse: beats a minute, beats in some seconds, or as it was tapped."""
    rate = _rate(text, "beats", "72; 72 irregular; 18 in 15 s")
    within(rate.per_minute, 0, 300, "a pulse rate")
    return _rate_meaning(rate, options, "pulse", ())


def respiratory_rate(text: str, options: Options) -> Meaning:
    """Read respirations: breaths a minute, breaths in some seconds, or as they were tapped."""
    rate = _rate(text, "breaths", "16; 16 irregular; 8 in 30 s")
    within(rate.per_minute, 0, 120, "a respiratory rate")
    least = options.number("least_seconds")
    remark = Remark(text=f"counted for less than {short(least)} s", source=options.source("least_seconds"))
    return _rate_meaning(rate, options, "respirations", (remark,) if 0 < rate.seconds < least else ())


def _rate(text: str, what: str, example: str) -> _Rate:
    plain = plain_text(text.replace("±", "+-"))
    if form := re.fullmatch(_TAPPED, plain, re.ASCII):
        return _tapped(form, what)
    if form := re.fullmatch(_COUNT, plain, re.ASCII):
        return _counted(int(form[1]), int(form[2]), _rhythm(form[3]), what)
    if (form := re.fullmatch(_TIMES, plain, re.ASCII)) and int(form[2]) in _PARTS_OF_A_MINUTE:
        return _counted(int(form[1]), 60 // int(form[2]), _rhythm(form[3]), what)
    if unknown_word(plain, _WORDS):
        raise refused(plain, _WORDS, f"type {example}")
    form = match(_RATE, plain, f"type whole {what} a minute, such as {example}")
    rhythm, value = _rhythm(form[2]), int(form[1])
    return _Rate(value, 0, str(value), f"{value} {what} a minute", f"{value}/min", rhythm)


def _rhythm(typed: str | None) -> str:
    return _RHYTHMS[typed] if typed else ""


def _counted(count: int, seconds: int, rhythm: str, what: str) -> _Rate:
    within(seconds, 5, 120, "a count in seconds")
    value = int(rounded(counted(count, seconds)))
    text, one = f"{count} in {seconds} s", short(counted(1, seconds))
    words = f"{count} {what} in {seconds} seconds, {value} a minute; one more or less is {one} a minute"
    return _Rate(value, seconds, text, words, f"{value}/min ({text})", rhythm)


def _tapped(form: re.Match[str], what: str) -> _Rate:
    value, error, seconds, variation = (int(form[i]) for i in range(1, 5))
    over = f"over {seconds} s"
    words = f"{value} {what} a minute, give or take {error} (95 %), tapped {over}"
    return _Rate(
        value,
        seconds,
        f"{value} +-{error} {over}, variation {variation} %",
        f"{words}; intervals vary by {variation} %" if variation >= _LEAST_VARIATION else words,
        f"{value}/min (tapped {over}, ±{error})",
        _rhythm(form[5]),
        _too_short(value, seconds),
    )


_LEAST_VARIATION = 5
"""Per cent: less is the unevenness of the hand that taps."""
_SHORTEST, _USUAL, _FEWEST = 15, 30, 10
"""Seconds below which a tapped rate is asked about; those that are usual; taps that are needed in fewer than
those. Common practice, no source."""


def _too_short(per_minute: int, seconds: int) -> str:
    """Return why a tapped rate rests on little, from the taps that rate and time come to."""
    taps = round(per_minute * seconds / 60) + 1
    if seconds >= _USUAL or (seconds >= _SHORTEST and taps >= _FEWEST):
        return ""
    return f"tapped over {seconds} s: {_USUAL} s is usual"


def _rate_meaning(rate: _Rate, options: Options, what: str, more: tuple[Remark, ...]) -> Meaning:
    remarks, classes = banded(rate.per_minute, options, " a minute")
    rhythm = _RHYTHM_CLASSES.get(rate.rhythm, ())
    if "irregular" in rhythm:
        more = (Remark(text=rate.rhythm, source=PRACTICE, tell="report"), *more)
    name = "a pulse rate" if what == "pulse" else "a respiratory rate"
    return Meaning(
        text=f"{rate.text} {rate.rhythm}".strip(),
        words=f"{rate.words}{_rhythm_words(rate)}",
        chart=f"{rate.chart} {rate.rhythm}".strip(),
        classes=(*classes, *rhythm),
        remarks=(*remarks, *more),
        doubt=unusual(rate.per_minute, options, f"{name} of {rate.per_minute}") or rate.doubt,
        figures={f"{what}_per_minute": rate.per_minute},
    )


_RHYTHM_CLASSES = {
    "regular": ("regular",),
    **dict.fromkeys(("irregular", "irregularly irregular"), ("irregular",)),
}


def _rhythm_words(rate: _Rate) -> str:
    """Return the rhythm, and what to do about one that is not known to be counted over a full minute."""
    if not rate.rhythm:
        return ""
    is_short = rate.rhythm != "regular" and rate.seconds < 60
    return f", {rate.rhythm}{': count a full minute' * is_short}"


READERS: Mapping[str, Callable[[str, Options], Meaning]] = {
    "pulse-rate": pulse_rate,
    "respiratory-rate": respiratory_rate,
}
