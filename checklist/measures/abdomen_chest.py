"""Chest and abdomen: liver span, how far the diaphragm moves, and bowel sounds a minute. Pure."""

import re
from collections.abc import Callable, Iterator, Mapping
from typing import NamedTuple

from checklist.measures.limits import remark, unusual
from checklist.measures.reading import SIDES, Facts, Meaning, Options, ReadingError, Remark, figures
from checklist.measures.timing import TAPPED_TEXT, counted
from checklist.measures.typed import SHORT_NUMBER, match, plain_text, rounded, short, within


def placed(value: float, lowest: float, highest: float) -> str:
    """Return `below`, `in-range` or `above`; the limits themselves are in range."""
    if value < lowest:
        return "below"
    return "above" if value > highest else "in-range"


def _told(
    value: float, options: Options, limits: tuple[str, str], unit: str
) -> tuple[str, tuple[Remark, ...]]:
    """Return where a value lies between two options, and the remark on it when it is outside of them."""
    place = placed(value, *(options.number(name) for name in limits))
    if place == "in-range":
        return place, ()
    limit = limits[0] if place == "below" else limits[1]
    text = f"{place} {short(options.number(limit))} {unit}"
    return place, (remark(text, options, f"tell_{place}", limit),)


def _centimetres(number: str, unit: str | None) -> float:
    """Return a typed length in cm, to a tenth."""
    return rounded(float(number) / (10 if unit == "mm" else 1), 1)


_LIVER_FORM = "type cm, such as 10; 105 mm; or 7 cm midsternal"
_LINES = {
    **dict.fromkeys(("mid-clavicular", "midclavicular", "mid clavicular", "mcl"), "mid-clavicular"),
    **dict.fromkeys(("midsternal", "mid-sternal", "mid sternal", "msl"), "midsternal"),
}
_LIVER_WORDS = ("cm", "mm", "in", "the", "line", *" ".join(_LINES).split())
_LIVER = rf"{SHORT_NUMBER} ?(cm|mm)?,?(?: (?:in the )?({'|'.join(_LINES)})(?: line)?)?"


def liver_span(text: str, options: Options) -> Meaning:
    """Read the height of liver dullness in cm or mm, from 1 to 40 cm, along one of two lines.

    The line is the one that is typed, or else the one of the option. Raises ReadingError for anything else.
    """
    form = match(_LIVER, plain_text(text), _LIVER_FORM, _LIVER_WORDS)
    cm = _centimetres(form[1], form[2])
    within(cm, 1, 40, "a liver span", "cm")
    usual = options.text("line")
    line = _LINES[form[3]] if form[3] else usual
    limits = _span_limits(line)
    place, remarks = _told(cm, options, limits, f"cm in the {line} line")
    lowest, highest = (short(options.number(name)) for name in limits)
    error = _percussion_error(options)
    return Meaning(
        text=f"{short(cm)} cm" + (f" {line}" if line != usual else ""),
        words=f"{short(cm)} centimetres in the {line} line; range {lowest} to {highest} cm; {error.text}",
        chart=f"{short(cm)} cm in the {line} line, by percussion",
        classes=(place,),
        remarks=(*remarks, error),
        doubt=unusual(cm, options, f"a liver span of {short(cm)} cm"),
        figures={"liver_span_cm": cm},
    )


def _span_limits(line: str) -> tuple[str, str]:
    return (
        ("lowest_cm", "highest_cm")
        if line == "mid-clavicular"
        else (
            "midsternal_lowest_cm",
            "midsternal_highest_cm",
        )
    )


def _percussion_error(options: Options) -> Remark:
    error = " to ".join(short(each) for each in options.numbers("percussion_error_cm"))
    return Remark(text=f"percussion is off by {error} cm", source=options.source("percussion_error_cm"))


_EXCURSION_FORM = "type cm, such as 4.5; 45 mm; or levels breathed out/in, such as 3/8 cm"
# One unit for both, after the second or after each.
_LEVELS = rf"{SHORT_NUMBER}(?: ?(?P<first>cm|mm))? ?/ ?{SHORT_NUMBER} ?(?(first)(?P=first)|(?P<both>cm|mm)?)"


def excursion(out_cm: float, in_cm: float) -> float:
    """Return how far the diaphragm moves, in cm, from its levels breathed fully out and fully in.

    Levels are measured downwards from one mark, so that the one breathed in is the larger number.
    """
    return in_cm - out_cm


def diaphragm_excursion(text: str, options: Options) -> Meaning:
    """Read an excursion from 0 to 15 cm, in cm or mm, or two levels of which it is the difference."""
    typed = plain_text(text)
    if form := re.fullmatch(_LEVELS, typed, re.ASCII):
        unit = form["first"] or form["both"]
        return _levels(_centimetres(form[1], unit), _centimetres(form[3], unit), options)
    form = match(rf"{SHORT_NUMBER} ?(cm|mm)?", typed, _EXCURSION_FORM, ("cm", "mm"))
    cm = _centimetres(form[1], form[2])
    return _excursion(cm, f"{short(cm)} cm", f"{short(cm)} centimetres", "", options)


def _levels(out_cm: float, in_cm: float, options: Options) -> Meaning:
    if in_cm < out_cm:
        raise ReadingError("the level breathed out comes first and is no lower down: 3/8 cm")
    within(in_cm, 0, 40, "a level below the mark", "cm")
    cm = rounded(excursion(out_cm, in_cm), 1)
    words = (
        f"{short(cm)} centimetres, from a level of {short(out_cm)} cm breathed out "
        f"to {short(in_cm)} cm breathed in"
    )
    levels = f"{short(out_cm)}/{short(in_cm)} cm"
    return _excursion(cm, levels, words, f" (levels {levels}, breathed out/in)", options)


def _excursion(cm: float, text: str, words: str, levels: str, options: Options) -> Meaning:
    within(cm, 0, 15, "a diaphragm excursion", "cm")
    place, remarks = _told(cm, options, ("lowest_cm", "highest_cm"), "cm")
    lowest, highest = (short(options.number(name)) for name in ("lowest_cm", "highest_cm"))
    return Meaning(
        text=text,
        words=f"{words}; range {lowest} to {highest} cm",
        chart=f"{short(cm)} cm{levels}",
        classes=(place,),
        remarks=remarks,
        doubt=unusual(cm, options, f"an excursion of {short(cm)} cm"),
        figures={"excursion_cm": cm},
    )


def excursions_together(facts: Facts, options: Options) -> Meaning | None:
    """Return whether one side of the diaphragm moves less; None unless both were measured."""
    sides = {side: value for (side, _), value in figures(facts, "excursion_cm").items() if side}
    if set(sides) != set(SIDES):
        return None
    right, left = sides["right"], sides["left"]
    difference, least = rounded(abs(right - left), 1), options.number("sides_apart_cm")
    inputs = f"right {short(right)} cm, left {short(left)} cm"
    by = f"{short(difference)} cm apart"
    if difference < least or not difference:
        return Meaning(text="", words=f"{inputs}: {by}", chart=inputs, classes=("alike",))
    side = min(sides, key=lambda each: sides[each])
    said = f"less on the {side} by {short(difference)} cm"
    return Meaning(
        text="",
        words=f"{inputs}: {said}",
        chart=f"{inputs}, {said}",
        classes=(f"less-{side}",),
        remarks=(remark(f"{short(least)} cm or more apart", options, "tell_apart", "sides_apart_cm"),),
    )


_BOWEL_FORM = "type sounds a minute, such as 12; 15 in 60 s; or none in 5 min"
_TIME = r"(\d{1,4}(?:\.\d)?) ?(s|sec|secs|seconds?|m|min|mins|minutes?)"
_COUNT = rf"(\d{{1,3}}|none|absent|silent|no sounds?|nothing)(?: heard)? (?:in|for|over) {_TIME}"
_RATE = r"(\d{1,3})(?: ?/ ?min| a minute| per minute)?"
_BOWEL_WORDS = frozenset(
    (
        *("none", "absent", "silent", "no", "sound", "sounds", "nothing", "heard", "in", "for", "over"),
        *("s", "sec", "secs", "second", "seconds", "m", "min", "mins", "minute", "minutes", "a", "per"),
        *("variation", "irregular", "irreg", "regular", "reg"),
    )
)
# What tapping gives; the evenness of the sounds is kept and not judged, as they have no rhythm.
_TAPPED = rf"{TAPPED_TEXT}(?: (?:irregular|irreg|regular|reg))?"


class _Sounds(NamedTuple):
    """Sounds a minute, in the forms in which they are said."""

    per_minute: float
    text: str
    words: str
    chart: str


def bowel_sounds(text: str, options: Options) -> Meaning:
    """Read sounds a minute, sounds or none in some time, or a rate as it was tapped.

    None is absent only after the full time of the option; before, it is below and says to go on listening.
    """
    typed = plain_text(text.replace("±", "+-"))
    if form := re.fullmatch(_TAPPED, typed, re.ASCII):
        return _rate_meaning(_tapped(form), options)
    if form := re.fullmatch(_COUNT, typed, re.ASCII):
        count = int(form[1]) if form[1].isdecimal() else 0
        seconds = rounded(float(form[2]) * (60 if form[3][0] == "m" else 1))
        within(seconds, 5, 3600, "listening", "s")
        return _rate_meaning(_count(count, seconds), options) if count else _silence(seconds, options)
    rate = int(match(_RATE, typed, _BOWEL_FORM, _BOWEL_WORDS)[1])
    if not rate:
        raise ReadingError("none in how long? type such as none in 5 min")
    chart = f"{rate}/min"
    return _rate_meaning(_Sounds(rate, str(rate), f"{rate} sounds a minute", chart), options)


def _tapped(form: re.Match[str]) -> _Sounds:
    rate, error, seconds, variation = (int(form[group]) for group in range(1, 5))
    if not rate:
        raise ReadingError("none in how long? type such as none in 5 min")
    return _Sounds(
        rate,
        f"{rate} +-{error} over {seconds} s, variation {variation} %",
        f"{rate} sounds a minute, give or take {error} (95 %), tapped over {seconds} s",
        f"{rate}/min (tapped {seconds} s, ±{error})",
    )


def _count(count: int, seconds: float) -> _Sounds:
    rate, text = rounded(counted(count, seconds), 1), f"{count} in {short(seconds)} s"
    words = f"{count} sound{'s' * (count != 1)} in {short(seconds)} seconds, {short(rate)} a minute"
    return _Sounds(rate, text, words, f"{short(rate)}/min ({text})")


def _rate_meaning(sounds: _Sounds, options: Options) -> Meaning:
    rate, limits = sounds.per_minute, ("lowest_per_minute", "highest_per_minute")
    within(rate, 0, 200, "a rate", "a minute")
    place, remarks = _told(rate, options, limits, "a minute")
    lowest, highest = (short(options.number(name)) for name in limits)
    return Meaning(
        text=sounds.text,
        words=f"{sounds.words}; range {lowest} to {highest} a minute, on weak evidence",
        chart=sounds.chart,
        classes=(place,),
        remarks=remarks,
        doubt=unusual(rate, options, f"{short(rate)} sounds a minute"),
        figures={"sounds_per_minute": rate},
    )


def _duration(seconds: float) -> str:
    return f"{short(seconds / 60)} min" if seconds % 60 == 0 else f"{short(seconds)} s"


def _silence(seconds: float, options: Options) -> Meaning:
    """Say that nothing was heard: absent after the full time, and until then to be listened for."""
    minutes = options.number("absent_minutes")
    is_absent = seconds >= 60 * minutes
    full = f"the full {short(minutes)} min"
    after = f"which is {full}" if is_absent else f"not yet absent: listen for {full}"
    return Meaning(
        text=f"none in {_duration(seconds)}",
        words=f"none heard in {_duration(seconds)}, {after}",
        chart=f"none heard in {_duration(seconds)}",
        classes=("absent",) if is_absent else ("below",),
        remarks=tuple(_silence_remarks(is_absent, full, options)),
        figures={"sounds_per_minute": 0.0, "silent_s": seconds},
    )


def _silence_remarks(is_absent: bool, full: str, options: Options) -> Iterator[Remark]:
    if is_absent:
        yield remark(f"none in {full}", options, "tell_absent", "absent_minutes")
        return
    lowest = f"below {short(options.number('lowest_per_minute'))} a minute"
    yield remark(lowest, options, "tell_below", "lowest_per_minute")
    yield Remark(text=f"not yet absent: listen for {full}", source=options.source("absent_minutes"))


READERS: Mapping[str, Callable[[str, Options], Meaning]] = {
    "liver-span": liver_span,
    "diaphragm-excursion": diaphragm_excursion,
    "bowel-sounds": bowel_sounds,
}
TOGETHER: Mapping[str, Callable[[Facts, Options], Meaning | None]] = {
    "diaphragm-excursion": excursions_together
}
