"""Agreement of two raters: values of published tables, of reference libraries, and laws."""

from importlib import import_module

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from checklist.practice.agreement import (
    Agreement,
    Figure,
    agreement,
    band,
    of_table,
    share,
)

metrics = import_module("sklearn.metrics")
inter_rater = import_module("statsmodels.stats.inter_rater")
scipy_stats = import_module("scipy.stats")
"""References; none but the last ships type information."""

Table = list[list[int]]

ABSTRACTORS = [[13, 0, 0], [0, 20, 7], [0, 4, 56]]
FOUR = [[34, 10, 2, 0], [6, 8, 8, 2], [2, 5, 4, 12], [0, 1, 2, 14]]
ALTMAN = [[21, 12, 0, 0], [4, 17, 1, 0], [3, 9, 15, 2], [0, 0, 0, 1]]
RARE = [[118, 5], [2, 0]]
ALIKE = [[20, 0], [0, 0]]
HIGH = [[10, 1], [0, 9]]
TABLES: list[tuple[Table, float, float, float, float, float]] = [
    # table, share, kappa, linear, quadratic, AC1
    # Feinstein & Cicchetti, J Clin Epidemiol 1990;43:543: printed kappa .70 and .32 at the same share.
    ([[40, 9], [6, 45]], 0.85, 0.699519, 0.699519, 0.699519, 0.700748),
    ([[80, 10], [5, 5]], 0.85, 0.318182, 0.318182, 0.318182, 0.808000),
    # Gwet's R package irrCAC prints kappa .7964094 and AC1 .8493305.
    (ABSTRACTORS, 0.89, 0.7964094, 0.842902, 0.892157, 0.8493305),
    # Published as kappa .3713 and linear .5964.
    (FOUR, 0.545455, 0.371285, 0.596369, 0.764120, 0.402141),
    # Altman 1991, from memory: kappa .4728, linear .5684.
    (ALTMAN, 0.635294, 0.472789, 0.568399, 0.671371, 0.529198),
    # Nearly everything in one category: nearly all alike, and kappa below nought.
    (RARE, 0.944, -0.023392, -0.023392, -0.023392, 0.940776),
]


def values(found: Agreement) -> list[float | None]:
    figures = (found.share, found.kappa, found.linear, found.quadratic, found.ac1)
    return [figure.value if figure else None for figure in figures]


@pytest.mark.parametrize("row", TABLES)
def test_the_figures_are_those_of_published_tables(
    row: tuple[Table, float, float, float, float, float],
) -> None:
    table, *expected = row

    assert values(of_table(table, ordered=True)) == pytest.approx(expected, abs=1e-6)


def test_the_standard_errors_are_those_that_the_author_of_ac1_prints() -> None:
    """The R package irrCAC for its table of abstractors: kappa .05891072, AC1 .04321747."""
    found = of_table(ABSTRACTORS)

    assert found.kappa.error == pytest.approx(0.05891072, abs=5e-9)
    assert found.ac1.error == pytest.approx(0.04321747, abs=5e-9)


@pytest.mark.parametrize(
    ("table", "error"),
    [(FOUR, 0.06446), ([[80, 10], [5, 5]], 0.05213), (RARE, 0.02296), (ABSTRACTORS, 0.04322)],
)
def test_the_standard_error_of_ac1_is_that_of_another_library(table: Table, error: float) -> None:
    """Values of the Python package irrCAC 0.4.4, which rounds to five places."""
    assert of_table(table).ac1.error == pytest.approx(error, abs=5e-6)


@pytest.mark.parametrize("weights", [None, "linear", "quadratic"])
@pytest.mark.parametrize("table", [row[0] for row in TABLES])
def test_the_standard_errors_of_kappa_are_those_of_a_reference_library(
    table: Table, weights: str | None
) -> None:
    found = of_table(table, ordered=True)
    ours = {None: found.kappa, "linear": found.linear, "quadratic": found.quadratic}[weights]
    reference = inter_rater.cohens_kappa(table, wt=weights)

    assert ours is not None
    assert ours.value == pytest.approx(reference.kappa, abs=1e-9)
    assert ours.error == pytest.approx(reference.std_kappa, abs=1e-9)
    assert ours.interval == pytest.approx(
        (max(-1, reference.kappa_low), min(1, reference.kappa_upp)), abs=1e-6
    )


def test_an_interval_ends_at_one() -> None:
    """By the reference library the upper limit of this table would be 1.09."""
    reference = inter_rater.cohens_kappa(HIGH)
    interval = of_table(HIGH).kappa.interval

    assert reference.kappa_upp > 1
    assert interval == pytest.approx((reference.kappa_low, 1), abs=1e-6)


# ------------------------------------------------------------------ undefined, too few


def test_kappa_is_undefined_where_both_used_one_category_alone_and_ac1_is_one() -> None:
    found = of_table(ALIKE, ordered=True)

    assert found.kappa == found.linear == found.quadratic == Figure(value=None)
    assert found.ac1.value == 1


def test_of_no_items_nothing_is_said() -> None:
    found = agreement([], ["done", "not done"], ordered=True)

    assert found.n == 0
    assert values(found) == [None, None, None, None, None]


@pytest.mark.parametrize(("table", "kappa"), [([[20, 0], [0, 20]], 1.0), ([[0, 20], [20, 0]], -1.0)])
def test_there_is_no_interval_where_all_or_none_are_alike(table: Table, kappa: float) -> None:
    """The large-sample formula gives one without width, as if there were no doubt."""
    found = of_table(table)

    assert found.kappa.value == pytest.approx(kappa)
    assert found.kappa.interval is None
    assert found.ac1.interval is None


@pytest.mark.parametrize(("n", "too_few"), [(0, True), (29, True), (30, False)])
def test_below_thirty_items_there_are_too_few(n: int, too_few: bool) -> None:
    assert of_table([[n, 0], [0, 0]]).is_too_few is too_few


def test_unordered_categories_have_no_weighted_kappa() -> None:
    found = of_table(ABSTRACTORS)

    assert found.linear is None
    assert found.quadratic is None


def test_pairs_are_counted_by_the_order_of_the_categories() -> None:
    pairs = [("low", "low")] * 40 + [("low", "high")] * 9 + [("high", "low")] * 6 + [("high", "high")] * 45

    assert agreement(pairs, ["low", "high"]) == of_table([[40, 9], [6, 45]])


# ------------------------------------------------------------------ share


@pytest.mark.parametrize(
    ("same", "n", "low", "high"),
    # Wilson's interval by the closed formula; at the ends z²/(n+z²) = 3.841459/(20+3.841459) = .161125.
    [(3, 4, 0.300642, 0.954413), (20, 20, 0.838875, 1.0), (0, 20, 0.0, 0.161125)],
)
def test_the_interval_of_the_share_is_wilsons(same: int, n: int, low: float, high: float) -> None:
    interval = share(same, n).interval

    assert interval == pytest.approx((low, high), abs=1e-6)


@given(n=st.integers(1, 400), data=st.data())
def test_the_interval_of_the_share_is_that_of_a_reference_library(n: int, data: st.DataObject) -> None:
    same = data.draw(st.integers(0, n))
    expected = scipy_stats.binomtest(same, n).proportion_ci(method="wilson")

    assert share(same, n).interval == pytest.approx((expected.low, expected.high), abs=1e-9)


# ------------------------------------------------------------------ bands


@pytest.mark.parametrize(
    ("value", "word"),
    [
        (-0.01, "poor"),
        (0.0, "slight"),
        (0.20, "slight"),
        (0.204, "slight"),
        (0.206, "fair"),
        (0.40, "fair"),
        (0.41, "moderate"),
        (0.60, "moderate"),
        (0.61, "substantial"),
        (0.80, "substantial"),
        (0.81, "almost perfect"),
        (1.0, "almost perfect"),
    ],
)
def test_the_words_are_those_of_landis_and_koch(value: float, word: str) -> None:
    assert band(value) == word


# ------------------------------------------------------------------ laws


@st.composite
def tables(draw: st.DrawFn) -> Table:
    size = draw(st.integers(2, 5))
    row = st.lists(st.integers(0, 30), min_size=size, max_size=size)
    return draw(st.lists(row, min_size=size, max_size=size).filter(lambda rows: any(map(any, rows))))


def raters(table: Table) -> tuple[list[int], list[int]]:
    cells = [(i, j) for i, row in enumerate(table) for j, n in enumerate(row) for _ in range(n)]
    return [i for i, _ in cells], [j for _, j in cells]


@given(tables())
def test_kappa_is_that_of_a_reference_library(table: Table) -> None:
    found = of_table(table, ordered=True)
    first, second = raters(table)
    labels = list(range(len(table)))
    for figure, weights in ((found.kappa, None), (found.linear, "linear"), (found.quadratic, "quadratic")):
        assert figure is not None
        if figure.value is None:
            assert set(first) == set(second)
            assert len(set(first)) == 1
        else:
            expected = metrics.cohen_kappa_score(first, second, labels=labels, weights=weights)
            assert figure.value == pytest.approx(expected, abs=1e-9)


def flat(found: Agreement) -> list[float | None]:
    figures = [found.share, found.kappa, found.linear, found.quadratic, found.ac1]
    limits = [limit for figure in figures if figure for limit in figure.interval or (None, None)]
    return [*values(found), *limits]


def assert_alike(one: list[float | None], other: list[float | None]) -> None:
    assert [value is None for value in one] == [value is None for value in other]
    known = zip(one, other, strict=True)
    assert all(a == pytest.approx(b, abs=1e-6) for a, b in known if a is not None and b is not None)


@given(tables())
@example([[0, 0, 1], [0, 1, 1], [0, 0, 0]])
def test_it_does_not_matter_who_is_named_first(table: Table) -> None:
    turned = [list(column) for column in zip(*table, strict=True)]

    assert_alike(flat(of_table(table, ordered=True)), flat(of_table(turned, ordered=True)))


@given(tables(), st.data())
def test_names_of_categories_do_not_matter(table: Table, data: st.DataObject) -> None:
    order = data.draw(st.permutations(range(len(table))))
    shuffled = [[table[i][j] for j in order] for i in order]

    assert_alike(flat(of_table(table)), flat(of_table(shuffled)))


@given(tables())
def test_a_scale_read_from_its_other_end_gives_the_same(table: Table) -> None:
    turned = [row[::-1] for row in table[::-1]]

    assert_alike(flat(of_table(table, ordered=True)), flat(of_table(turned, ordered=True)))


@given(tables())
def test_every_figure_lies_within_its_interval_and_both_from_minus_one_to_one(table: Table) -> None:
    found = of_table(table, ordered=True)
    for figure in (found.share, found.kappa, found.linear, found.quadratic, found.ac1):
        assert figure is not None
        if figure.value is not None:
            low, high = figure.interval or (figure.value, figure.value)
            assert -1 - 1e-12 <= low <= figure.value <= high <= 1


@given(tables())
def test_one_is_reached_only_where_all_are_alike(table: Table) -> None:
    found = of_table(table, ordered=True)
    for figure in (found.kappa, found.linear, found.quadratic, found.ac1):
        if figure and figure.value is not None:
            assert (figure.value == 1) is (found.same == found.n)
