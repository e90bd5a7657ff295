"""Lines of an acuity chart: their exact and their nominal size, letters missed, lines between two. Pure.

Acuity is logMAR here, larger for worse: log10 of letter size over test distance (DICOM PS3.17 RR.2.2).
Exact and nominal values are kept apart: 20/32 is 0.204 by arithmetic, and the 0.2 line by name.
"""

from math import ceil, floor, log10
from typing import NamedTuple

from checklist.measures.reading import Options
from checklist.measures.typed import rounded, short

STEP = 0.1
"""Steps between the lines of a chart with even steps, logMAR (Ferris 1982, from memory)."""
HALF_LETTER = 0.01
"""Sizes that differ by no more, in logMAR, are one line: 6/9.5 and 20/32; but not 20/30 and 20/32."""


def logmar(distance: float, size: float) -> float:
    """Return the exact logMAR of a fraction: its test distance over its letter size, in one unit."""
    return log10(size / distance)


def decimal(exact: float) -> float:
    """Return the decimal acuity of a logMAR."""
    return float(10**-exact)


def nominal(exact: float) -> float | None:
    """Return the name that a line has on a chart with even steps; None for a size between those lines."""
    line = rounded(exact, 1)
    return line if abs(line - exact) <= HALF_LETTER else None


def with_letters(line: float, missed: int, letters_per_line: int) -> float:
    """Return the logMAR of a line less `missed` letters; extra letters are negative.

    0.02 for each letter at five letters a line (Bach, acuity cheat sheet). `line` is the nominal value.
    """
    return line + missed * STEP / letters_per_line


def credited(scored: float) -> float:
    """Return the line of which more than half the letters were read: the credit of common practice."""
    return rounded(scored, 1)


class Chart(NamedTuple):
    """The lines of a chart, as a protocol lists them."""

    distance: float
    """What its fractions start with."""
    sizes: tuple[float, ...]
    """What they end with, largest first."""
    letters: int
    """Letters of each line on a chart with even steps; 0 where letters have no size of their own."""

    def line_at(self, exact: float) -> float | None:
        """Return the size of the line with this acuity; None where the chart has none."""
        return next((size for size in self.sizes if self._is_at(size, exact)), None)

    def _is_at(self, size: float, exact: float) -> bool:
        return abs(logmar(self.distance, size) - exact) <= HALF_LETTER

    def name(self, size: float) -> str:
        """Return a line as its fraction."""
        return f"{short(self.distance)}/{short(size)}"

    def place(self, exact: float) -> float:
        """Return where an acuity stands: 0 for the largest line, 1.5 for between the second and the third."""
        for index, size in enumerate(self.sizes):
            if self._is_at(size, exact):
                return index
        return sum(logmar(self.distance, size) > exact for size in self.sizes) - 0.5

    def is_off(self, place: float) -> bool:
        """Whether a place is beyond the largest or the smallest line."""
        return not 0 <= place <= len(self.sizes) - 1


def chart_of(options: Options) -> Chart:
    """Return the chart that the options describe; the order in which its lines are listed is free."""
    return Chart(
        options.number("chart_distance"),
        tuple(sorted({size for size in options.numbers("lines") if size > 0}, reverse=True)),
        round(options.number("letters_per_line")),
    )


class Between(NamedTuple):
    """How many lines of the chart lie between two acuities."""

    lines: int
    """Whole lines, which is the least that it can be when `is_more`."""
    is_more: bool
    """Whether one of the two is no line of the chart, so that it is this many and a part."""


OFF = -0.5
"""Place of an eye that reads no letter: beyond the largest line."""


def between(chart: Chart, one: float, other: float) -> Between | None:
    """Return the lines between two places; None when both are off the same end of the chart."""
    low, high = sorted((one, other))
    if not chart.sizes or (low == high and chart.is_off(low)):
        return None
    is_more = low != high and (low != floor(low) or high != floor(high))
    return Between(max(0, floor(high) - ceil(low)), is_more)
