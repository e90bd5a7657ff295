"""How far two records of the same items agree: figures with intervals. Judges nobody, and knows no session.

A figure that the formula does not give is None, never 0 or 1.
Everything is symmetric in the two raters.

Sources. Kappa: Cohen, Educ Psychol Meas 1960;20:37; weighted: Cohen, Psychol Bull 1968;70:213; their standard
errors: Fleiss, Cohen, Everitt, Psychol Bull 1969;72:323. AC1 and its standard error: Gwet, Br J Math Stat
Psychol 2008;61:29. Interval of a share: Wilson, J Am Stat Assoc 1927;22:209. Words for kappa: Landis, Koch,
Biometrics 1977;33:159. The formulas are from memory; the tests compare them with the printed output of a
package by the author of AC1 and with statistical libraries.
"""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import sqrt

FEWEST = 30
"""Items below which there are too few for an interval of kappa or AC1. Common practice, no source."""
Z_95 = 1.959963984540054
"""Quantile of the normal distribution for an interval of 95 %."""
BANDS = (
    (0.20, "slight"),
    (0.40, "fair"),
    (0.60, "moderate"),
    (0.80, "substantial"),
    (1.00, "almost perfect"),
)
"""Highest value and word, after Landis and Koch; below 0 is `poor`."""

Table = Sequence[Sequence[int]]
"""Counts of items: a row for each category of the first rater, a column for each of the second."""
Interval = tuple[float, float]


@dataclass(frozen=True, kw_only=True, slots=True)
class Figure:
    """A figure with its standard error and its 95 % interval; None where there is none."""

    value: float | None
    error: float | None = None
    interval: Interval | None = None


UNDEFINED = Figure(value=None)


@dataclass(frozen=True, kw_only=True, slots=True)
class Agreement:
    """All figures of one comparison."""

    n: int
    """How many items both rated."""
    same: int
    """How many of them alike."""
    share: Figure
    """The share rated alike, from 0 to 1, with Wilson's interval."""
    kappa: Figure
    linear: Figure | None
    """Weighted kappa; None where the categories have no order."""
    quadratic: Figure | None
    ac1: Figure

    @property
    def is_too_few(self) -> bool:
        return self.n < FEWEST


def agreement(
    pairs: Sequence[tuple[str, str]], categories: Sequence[str], *, ordered: bool = False
) -> Agreement:
    """Return the figures of pairs of categories; all categories count, used or not, in their order."""
    counted = Counter(pairs)
    return of_table([[counted[row, column] for column in categories] for row in categories], ordered=ordered)


def of_table(table: Table, *, ordered: bool = False) -> Agreement:
    """Return the figures of a square table of counts, of two categories or more."""
    n, same = sum(map(sum, table)), sum(table[i][i] for i in range(len(table)))
    return Agreement(
        n=n,
        same=same,
        share=share(same, n),
        kappa=kappa(table, unweighted),
        linear=kappa(table, linear) if ordered else None,
        quadratic=kappa(table, quadratic) if ordered else None,
        ac1=ac1(table),
    )


def share(same: int, n: int) -> Figure:
    """Return `same` of `n` with Wilson's interval, which holds for few items and at 0 and 1 too."""
    if not n:
        return UNDEFINED
    found, z2 = same / n, Z_95**2
    middle = (found + z2 / (2 * n)) / (1 + z2 / n)
    half = Z_95 / (1 + z2 / n) * sqrt(found * (1 - found) / n + z2 / (4 * n * n))
    low = 0.0 if same == 0 else middle - half
    high = 1.0 if same == n else middle + half
    return Figure(value=found, error=sqrt(found * (1 - found) / n), interval=(low, high))


def unweighted(i: int, j: int) -> int:
    """Every disagreement counts alike."""
    return int(i != j)


def linear(i: int, j: int) -> int:
    """A disagreement counts by its distance."""
    return abs(i - j)


def quadratic(i: int, j: int) -> int:
    """A disagreement counts by the square of its distance."""
    return (i - j) ** 2


def kappa(table: Table, weight: Callable[[int, int], int]) -> Figure:
    """Return Cohen's kappa, 1 - observed / expected disagreement, each weighted.

    Undefined when no disagreement is to be expected: both put every item into the same category.
    """
    cells = range(len(table))
    rows, columns, n = *_margins(table), sum(map(sum, table))
    observed = sum(weight(i, j) * table[i][j] for i in cells for j in cells)
    expected = sum(weight(i, j) * rows[i] * columns[j] for i in cells for j in cells)
    if not expected:
        return UNDEFINED
    found = 1 - Fraction(n * observed, expected)
    return _with_interval(found, _kappa_error(table, weight, found))


def _kappa_error(table: Table, weight: Callable[[int, int], int], found: Fraction) -> float:
    """Return the large-sample standard error; weights here are of agreement, from 0 to 1.

    In fractions, since the difference of nearly equal floats would pass for an error where there is none.
    """
    cells, n = range(len(table)), sum(map(sum, table))
    most = weight(0, len(table) - 1)
    rows, columns = ([Fraction(count, n) for count in counts] for counts in _margins(table))
    agreed = [[1 - Fraction(weight(i, j), most) for j in cells] for i in cells]
    of_row = [sum(columns[j] * agreed[i][j] for j in cells) for i in cells]
    of_column = [sum(rows[i] * agreed[i][j] for i in cells) for j in cells]
    by_chance = sum(rows[i] * of_row[i] for i in cells)
    squares = sum(
        Fraction(table[i][j], n) * (agreed[i][j] - (of_row[i] + of_column[j]) * (1 - found)) ** 2
        for i in cells
        for j in cells
    )
    spread = squares - (found - by_chance * (1 - found)) ** 2
    return sqrt(spread / n) / float(1 - by_chance)


def ac1(table: Table) -> Figure:
    """Return Gwet's AC1: chance is the share of items that would be rated at random. None without items."""
    cells, n = range(len(table)), sum(map(sum, table))
    if not n:
        return UNDEFINED
    rows, columns = _margins(table)
    used = [Fraction(rows[i] + columns[i], 2 * n) for i in cells]
    others = len(table) - 1
    by_chance = sum((share * (1 - share) for share in used), Fraction()) / others
    observed = Fraction(sum(table[i][i] for i in cells), n)
    found = (observed - by_chance) / (1 - by_chance)
    squares = sum(
        Fraction(table[i][j], n) * ((i == j) - 2 * (1 - found) * (1 - (used[i] + used[j]) / 2) / others) ** 2
        for i in cells
        for j in cells
    )
    spread = squares - (observed - 2 * (1 - found) * by_chance) ** 2
    return _with_interval(found, sqrt(spread / n) / float(1 - by_chance))


def _margins(table: Table) -> tuple[list[int], list[int]]:
    return [sum(row) for row in table], [sum(column) for column in zip(*table, strict=True)]


def _with_interval(found: Fraction, error: float) -> Figure:
    """Return the normal interval, cut off at -1 and 1; none where its width would be nought."""
    value = float(found)
    if not error:
        return Figure(value=value)
    interval = max(-1.0, value - Z_95 * error), min(1.0, value + Z_95 * error)
    return Figure(value=value, error=error, interval=interval)


def band(value: float) -> str:
    """Return the word of Landis and Koch for a kappa as it is printed, with two places."""
    shown = round(value, 2)
    if shown < 0:
        return "poor"
    return next(word for highest, word in BANDS if shown <= highest)
