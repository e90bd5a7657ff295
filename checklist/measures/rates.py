"""Pulse and respirations: a rate as it was counted, for a minute or for less, or tapped. Pure."""

import re
from collections.abc import Callable, Mapping
from typing import NamedTuple

from checklist.measures.limits import PRACTICE, banded, unusual
from checklist.measures.reading import Meaning, Options, Remark
from checklist.measures.timing import FULL_COUNT, counted
from checklist.measures.typed import match, plain_text, rounded, short, within
from checklist.measures.vital_words import SYNONYMS

_PER_MINUTE = r"(?: ?/ ?min| a minute| per minute| ?bpm)?"
_RHYTHM = r"(?: (irregular|irreg|regular|reg))?"
_RATE = rf"(\d{{1,3}}){_PER_MINUTE}{_RHYTHM}"
_COUNT = rf"(\d{{1,3}}) in (\d{{1,3}}) ?(?:s|sec|seconds){_RHYTHM}"
_TAPPED = (
    rf"(\d{{1,3}}) ?(?:\+-|\+/-) ?(\d{{1,3}}) over (\d{{1,4}}) ?s ?[,.]? variation (\d{{1,4}}) ?%{_RHYTHM}"
)


class _Rate(NamedTuple):
    """A rate as it was typed: per minute, over how long, in its forms, and with its rhythm."""

    per_minute: int
    seconds: int
    text: str
    words: str
    chart: str
    rhythm: str


def pulse_rate(text: str, options: Options) -> Meaning:
    """Read a pulse: beats a minute, beats in some seconds, or as it was tapped."""
    rate = _rate(text, "beats", "72; or 18 in 15 s")
    within(rate.per_minute, 0, 300, "a pulse rate")
    return _rate_meaning(rate, options, "pulse", ())


def respiratory_rate(text: str, options: Options) -> Meaning:
    """Read respirations: breaths a minute, breaths in some seconds, or as they were tapped."""
    rate = _rate(text, "breaths", "16; or 8 in 30 s")
    within(rate.per_minute, 0, 120, "a respiratory rate")
    least = options.number("least_seconds")
    remark = Remark(text=f"counted for less than {short(least)} s", source=options.source("least_seconds"))
    return _rate_meaning(rate, options, "respirations", (remark,) if 0 < rate.seconds < least else ())


def _rate(text: str, what: str, example: str) -> _Rate:
    plain = plain_text(text.replace("±", "+-"))
    if form := re.fullmatch(_TAPPED, plain, re.ASCII):
        return _tapped(form, what)
    if form := re.fullmatch(_COUNT, plain, re.ASCII):
        return _counted(form, what)
    form = match(_RATE, plain, f"type whole {what} a minute, such as {example}")
    rhythm, value = SYNONYMS.get(form[2] or "", form[2] or ""), int(form[1])
    return _Rate(value, 0, str(value), f"{value} {what} a minute", f"{value}/min", rhythm)


def _counted(form: re.Match[str], what: str) -> _Rate:
    count, seconds = int(form[1]), int(form[2])
    within(seconds, 5, 120, "a count in seconds")
    value = int(rounded(counted(count, seconds)))
    text, one = f"{count} in {seconds} s", short(counted(1, seconds))
    words = f"{count} {what} in {seconds} seconds, {value} a minute; one more or less is {one} a minute"
    rhythm = SYNONYMS.get(form[3] or "", form[3] or "")
    return _Rate(value, seconds, text, words, f"{value}/min ({text})", rhythm)


def _tapped(form: re.Match[str], what: str) -> _Rate:
    value, error, seconds, variation = (int(form[i]) for i in range(1, 5))
    over = f"over {seconds} s"
    words = f"{value} {what} a minute, give or take {error} (95 %), tapped {over}"
    return _Rate(
        value,
        seconds,
        f"{value} +-{error} {over}, variation {variation} %",
        f"{words}; intervals vary by {variation} %",
        f"{value}/min (tapped {over}, ±{error})",
        SYNONYMS.get(form[5] or "", form[5] or ""),
    )


def _rate_meaning(rate: _Rate, options: Options, what: str, more: tuple[Remark, ...]) -> Meaning:
    remarks, classes = banded(rate.per_minute, options, " a minute")
    if rate.rhythm == "irregular":
        text = "irregular, over a full minute" if rate.seconds >= 60 else FULL_COUNT
        more = (Remark(text=text, source=PRACTICE, tell="report"), *more)
    name = "a pulse rate" if what == "pulse" else "a respiratory rate"
    return Meaning(
        text=f"{rate.text} {rate.rhythm}".strip(),
        words=", ".join((rate.words, rate.rhythm) if rate.rhythm else (rate.words,)),
        chart=f"{rate.chart} {rate.rhythm}".strip(),
        classes=(*classes, *((rate.rhythm,) if rate.rhythm else ())),
        remarks=(*remarks, *more),
        doubt=unusual(rate.per_minute, options, f"{name} of {rate.per_minute}"),
        figures={f"{what}_per_minute": rate.per_minute},
    )


READERS: Mapping[str, Callable[[str, Options], Meaning]] = {
    "pulse-rate": pulse_rate,
    "respiratory-rate": respiratory_rate,
}
