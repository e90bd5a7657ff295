"""Acuity at distance: its value in every notation, the screening line, both eyes in lines of the chart. Pure.

Letters missed or extra count only where the chart gives a letter a size. Fingers and hand motion get a logMAR
only by a convention that the protocol names, light perception never.
"""

from collections.abc import Callable, Iterator, Mapping
from typing import NamedTuple

from checklist.measures.acuity_text import Acuity, Worn, acuity, check_one, figures, full, plain_acuity, worn
from checklist.measures.chart_lines import (
    HALF_LETTER,
    OFF,
    STEP,
    Between,
    Chart,
    between,
    chart_of,
    credited,
    decimal,
    logmar,
    nominal,
    with_letters,
)
from checklist.measures.eye_parts import computation
from checklist.measures.low_vision import CONVENTIONS, by_convention
from checklist.measures.reading import SIDES, Facts, Meaning, Options, ReadingError, Remark
from checklist.measures.typed import rounded, short

LEVEL_CLASSES = {
    "cf": "counting-fingers",
    "hm": "hand-motion",
    "lp": "light-perception",
    "nlp": "no-light-perception",
}


def distance_acuity(text: str, options: Options) -> Meaning:
    """Read the acuity of one eye at distance, and what was worn."""
    plain = plain_acuity(text)
    check_one(plain)
    typed, before = worn(plain)
    found = acuity(typed)
    if found.exact is None:
        return _no_letter(found, before, options)
    return _letters(found, found.exact, before, options)


# ------------------------------------------------------------------ letters


def _letters(found: Acuity, exact: float, before: Worn, options: Options) -> Meaning:
    chart = chart_of(options)
    _check_letters(found, chart)
    scored = scored_logmar(found, chart)
    judged = exact if scored is None else credited(scored)
    remarks, classes = _screened(judged, chart, options)
    return Meaning(
        text=f"{found.text}{before.text}",
        words=f"{found.words}{before.words}{_moved(found, chart)}: {_equals(found, exact, scored, chart)}",
        chart=f"{found.chart}{_equal_in_chart(found, exact, chart)}{before.words}",
        classes=(*classes, *before.classes),
        remarks=remarks,
        doubt=_doubt(found, exact, chart, options),
        figures=_figures(exact, scored, judged),
    )


def scored_logmar(found: Acuity, chart: Chart) -> float | None:
    """Return the logMAR with the letters; None where the chart gives letters no size, or none were said."""
    if not chart.letters or found.exact is None:
        return None
    if found.is_logmar:
        return found.exact
    line = nominal(found.exact)
    if line is None or not found.missed:
        return None
    return rounded(with_letters(line, found.missed, chart.letters), 4)


def _figures(exact: float, scored: float | None, judged: float) -> dict[str, float]:
    known = {
        "exact_logmar": exact,
        "line_logmar": nominal(exact),
        "scored_logmar": scored,
        "judged_logmar": judged,
        "decimal": decimal(exact),
    }
    return {name: value for name, value in known.items() if value is not None}


def _check_letters(found: Acuity, chart: Chart) -> None:
    if chart.letters and abs(found.missed) >= chart.letters:
        raise ReadingError(f"this chart has {chart.letters} letters a line: less can be missed or extra")


def _is_moved(found: Acuity, chart: Chart) -> bool:
    """Whether the fraction starts with a test distance, and not with that of the chart or of a notation."""
    return found.distance is not None and found.distance not in (20, 6, chart.distance)


def _moved(found: Acuity, chart: Chart) -> str:
    if found.distance is None or found.size is None or not _is_moved(found, chart):
        return ""
    return f" (letter for {full(found.size)} at {full(found.distance)})"


def _equals(found: Acuity, exact: float, scored: float | None, chart: Chart) -> str:
    """Return the value in the other notations, exact and nominal logMAR apart."""
    others = (20,) if _is_moved(found, chart) else (20, 6)
    parts = [
        *(f"{top}/{_size(top, exact, chart)}" for top in others if found.distance != top),
        *([f"decimal {figures(decimal(exact))}"] if found.distance or found.is_logmar else []),
        *([] if found.is_logmar else [f"exact logMAR {exact:.3f}"]),
    ]
    line = nominal(exact)
    if line is not None and not found.is_logmar:
        parts.append(f"line {line:.1f}")
    if scored is not None and not found.is_logmar:
        parts.append(f"with letters {scored:.2f}")
    if found.missed and scored is None:
        parts.append("letters not counted")
    return ", ".join(parts)


def _size(top: int, exact: float, chart: Chart) -> str:
    """Return the letter size of a notation: that of the chart's own line where it has it."""
    line = chart.line_at(exact)
    return short(line) if line is not None and chart.distance == top else figures(top / decimal(exact))


def _equal_in_chart(found: Acuity, exact: float, chart: Chart) -> str:
    return f" (equals 20/{_size(20, exact, chart)})" if _is_moved(found, chart) else ""


def _doubt(found: Acuity, exact: float, chart: Chart, options: Options) -> str:
    """Return why the value is unlikely, the first reason of several."""
    return next(_doubts(found, exact, chart, options), "")


def _doubts(found: Acuity, exact: float, chart: Chart, options: Options) -> Iterator[str]:
    if swapped := _swapped(found, chart):
        yield swapped
    if decimal(exact) > options.number("likely_best") + 1e-6:
        yield f"better than decimal {short(options.number('likely_best'))} is unusual"
    if _is_moved(found, chart) and not _is_largest(found, chart):
        yield f"{found.words}: from another distance, a smaller letter than the largest is unusual"
    elif not found.is_logmar and not _is_moved(found, chart) and chart.sizes and chart.line_at(exact) is None:
        yield f"{found.words}: no line of the chart that the protocol names"
    if _is_other_line(found.missed, chart.letters):
        yield "half a line of letters or more: another line may be the one read"


def _swapped(found: Acuity, chart: Chart) -> str:
    """Return that a fraction looks turned round, as 25/20 does; empty when it does not."""
    if found.distance is None or found.size is None or found.distance <= found.size:
        return ""
    if not _is_moved(found, chart) or found.size not in (20, 6, chart.distance):
        return ""
    start, end = full(found.distance), full(found.size)
    return f"{start}/{end} is unusual; {end}/{start} meant?"


def _is_other_line(missed: int, letters: int) -> bool:
    """Whether half the line was missed or most of the next one read; above 3 where none are counted."""
    if not letters:
        return abs(missed) > _MOST_LETTERS
    return missed * 2 >= letters if missed > 0 else -missed * 2 > letters


_MOST_LETTERS = 3
"""Letters added or taken off at most in DICOM PS3.17 RR.2.3."""


def _is_largest(found: Acuity, chart: Chart) -> bool:
    """Whether a letter that was read from closer is the largest of the chart, in feet or in metres."""
    if not chart.sizes or found.size is None:
        return True
    ratio = chart.sizes[0] / chart.distance
    return any(abs(found.size / (ratio * top) - 1) < 0.02 for top in (20, 6, chart.distance))


# ------------------------------------------------------------------ the screening line

_LINES = {
    "adult": "line_adult",
    "36-to-47-months": "line_36_months",
    "48-to-59-months": "line_48_months",
    "60-months-and-over": "line_60_months",
}
_WORSE = {"worse-than-6-12": (6, 12), "worse-than-6-60": (6, 60), "worse-than-3-60": (3, 60)}
_ALIKE = 0.03
"""A chart has 20/30 or 20/32, and what is said of one is meant of the other (AAP: 20/32 or 20/30)."""


class Screening(NamedTuple):
    """The smallest line that must be read: its name, its logMAR, and the option that it comes from."""

    name: str
    exact: float
    option: str


def screening(chart: Chart, options: Options) -> Screening:
    """Return the screening line for the age; 20/32 on a chart that has it in place of 20/30."""
    option = _LINES[options.text("age")]
    wanted = logmar(20, options.number(option))
    nearest = min(chart.sizes, key=lambda size: abs(logmar(chart.distance, size) - wanted), default=None)
    if nearest is not None and abs(logmar(chart.distance, nearest) - wanted) <= _ALIKE:
        return Screening(chart.name(nearest), logmar(chart.distance, nearest), option)
    return Screening(f"20/{short(options.number(option))}", wanted, option)


def is_worse(judged: float, limit: float) -> bool:
    """Whether an acuity is worse than a line, in logMAR; sizes within half a letter are one line."""
    return judged > limit + HALF_LETTER


def _screened(judged: float, chart: Chart, options: Options) -> tuple[tuple[Remark, ...], tuple[str, ...]]:
    line = screening(chart, options)
    worse = tuple(name for name, (top, size) in _WORSE.items() if is_worse(judged, logmar(top, size)))
    if not is_worse(judged, line.exact):
        return (), ("in-range", *worse)
    remark = Remark(
        text=f"worse than {line.name}, the screening line",
        source=options.source(line.option),
        tell=options.text("tell"),
    )
    return (remark,), ("worse-than-screening", *worse)


# ------------------------------------------------------------------ no letter


def _no_letter(found: Acuity, before: Worn, options: Options) -> Meaning:
    value = by_convention(found, options.text("low_vision"))
    worse = ["worse-than-screening", "worse-than-6-12", "worse-than-6-60"]
    if found.level != "cf" or (found.at and found.at.metres < 3):
        worse.append("worse-than-3-60")
    return Meaning(
        text=f"{found.text}{before.text}",
        words=f"{found.words}{before.words}; no letter read; {_convention_words(found, value, options)}",
        chart=f"{found.words}{before.words}",
        classes=(*worse, "no-letter", LEVEL_CLASSES[found.level], *before.classes),
        remarks=tuple(_no_letter_remarks(value, options)),
        doubt="counting fingers beyond 3 m is unusual"
        if found.level == "cf" and found.at and found.at.metres > 3
        else "",
        figures={
            **({f"{found.level}_m": found.at.metres} if found.at else {}),
            **({} if value is None else {"convention_logmar": value}),
        },
    )


def _convention_words(found: Acuity, value: float | None, options: Options) -> str:
    if found.level in ("lp", "nlp"):
        return "not an acuity, no logMAR"
    if value is not None:
        return f"logMAR {value:.2f} by convention ({options.text('low_vision')})"
    return "no logMAR without a convention that covers it"


def _no_letter_remarks(value: float | None, options: Options) -> Iterator[Remark]:
    yield Remark(
        text="no letter read: tell at once if this is new",
        source=options.source("tell_no_letter"),
        tell=options.text("tell_no_letter"),
    )
    if value is not None:
        source = CONVENTIONS[options.text("low_vision")].source
        yield Remark(text=f"logMAR {value:.2f} by convention, not measured", source=source)


# ------------------------------------------------------------------ both eyes


class Eyes(NamedTuple):
    """Both eyes as measured in one way."""

    site: str
    right: Meaning
    left: Meaning

    @property
    def words(self) -> str:
        both = f"right {self.right.chart}, left {self.left.chart}"
        return f"{self.site}: {both}" if self.site else both


def both_eyes(facts: Facts) -> list[Eyes]:
    """Return each site at which both eyes were measured."""
    found = {key: fact.meaning for key, fact in facts.items() if fact.meaning}
    sites = dict.fromkeys(site for _, site in facts)
    return [
        Eyes(site, *(found[side, site] for side in SIDES))
        for site in sites
        if all((side, site) in found for side in SIDES)
    ]


def compared_acuities(facts: Facts, options: Options) -> Meaning | None:
    """Return how many lines of the chart the eyes are apart; never a difference of decimals."""
    eyes = both_eyes(facts)
    if not eyes:
        return None
    found = [_compared(each, options) for each in eyes]
    words = "; ".join(each.words for each in found)
    return computation(
        words,
        words,
        (name for each in found for name in each.classes),
        (remark for each in found for remark in each.remarks),
    )


class _Compared(NamedTuple):
    words: str
    classes: tuple[str, ...]
    remarks: tuple[Remark, ...] = ()


_CORRECTIONS = {"without-correction", "with-correction", "pinhole"}


def _compared(eyes: Eyes, options: Options) -> _Compared:
    if set(eyes.right.classes) & _CORRECTIONS != set(eyes.left.classes) & _CORRECTIONS:
        return _Compared(f"{eyes.words} (not worn alike, lines not counted)", ("not-counted",))
    if ("no-letter" in eyes.right.classes) != ("no-letter" in eyes.left.classes):
        return _one_without_letters(eyes, options)
    chart = chart_of(options)
    apart = between(chart, _place(eyes.right, chart), _place(eyes.left, chart))
    if apart is None:
        return _Compared(f"{eyes.words} (no line of the chart, lines not counted)", ("not-counted",))
    said = f"{_apart_words(apart, abs(_difference(eyes)))} apart"
    limit = options.number("lines_between_eyes")
    classes = tuple(_apart_classes(apart, eyes))
    if _counted(apart, eyes) < limit:
        return _Compared(f"{eyes.words} ({said})", classes)
    said = f"{said}, limit {short(limit)} line{'s' * (limit != 1)}"
    return _Compared(f"{eyes.words} ({said})", (*classes, "apart"), (_apart_remark(said, options),))


def _apart_remark(text: str, options: Options) -> Remark:
    return Remark(text=text, source=options.source("lines_between_eyes"), tell="report")


def _one_without_letters(eyes: Eyes, options: Options) -> _Compared:
    """Return the comparison when one eye reads letters and the other none: more than lines can say."""
    side = "right" if "no-letter" in eyes.right.classes else "left"
    return _Compared(
        f"{eyes.words} (only one eye reads letters)",
        ("one-line-apart", "two-lines-apart", f"{side}-worse", "apart"),
        (_apart_remark("one eye reads letters and the other none", options),),
    )


def _place(meaning: Meaning, chart: Chart) -> float:
    judged = meaning.figures.get("judged_logmar")
    return OFF if judged is None else chart.place(judged)


def _difference(eyes: Eyes) -> float:
    """Return how much worse the right eye is than the left, in logMAR; 0 when neither reads letters."""
    right, left = (each.figures.get("judged_logmar", 0.0) for each in (eyes.right, eyes.left))
    return right - left


def _apart_words(apart: Between, difference: float) -> str:
    lines = f"{apart.lines} line{'' if apart.lines == 1 else 's'}"
    if not apart.is_more:
        return lines
    return f"{f'more than {lines}' if apart.lines else 'no whole line'}, {difference:.2f} logMAR"


def _counted(apart: Between, eyes: Eyes) -> int:
    """Return the lines that count: where one eye is at no line of the chart, even steps if they are more.

    Without that, 20/32 and 20/50 on a chart that has no line like 20/32 would pass as one line.
    """
    if not apart.is_more:
        return apart.lines
    return max(apart.lines, int((abs(_difference(eyes)) + HALF_LETTER) / STEP))


def _apart_classes(apart: Between, eyes: Eyes) -> Iterator[str]:
    if not apart.lines and not apart.is_more:
        yield "same-line"
        return
    counted = _counted(apart, eyes)
    if counted >= 1:
        yield "one-line-apart"
    if counted >= 2:
        yield "two-lines-apart"
    yield "right-worse" if _difference(eyes) > 0 else "left-worse"


READERS: Mapping[str, Callable[[str, Options], Meaning]] = {"distance-acuity": distance_acuity}
TOGETHER: Mapping[str, Callable[[Facts, Options], Meaning | None]] = {"distance-acuity": compared_acuities}
