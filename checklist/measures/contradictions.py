"""Options of one kind that contradict each other, or that hold what means nothing. Pure.

What single values are possible is said by each option and checked elsewhere; here is what holds between them.
"""

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, pairwise
from typing import NamedTuple

from checklist.measures.chart_lines import logmar, nominal
from checklist.measures.reading import OptionValue
from checklist.measures.spec import Computation, Kind, Option

Values = Mapping[str, OptionValue]


class Contradiction(NamedTuple):
    """What is wrong with an option that a protocol sets, and what would do instead."""

    option: str
    what: str
    hint: str
    item: int | None = None
    """Which item of a list it is, from 0; None for the whole value."""


def contradictions(of: Kind | Computation, given: Values) -> tuple[Contradiction, ...]:
    """Return what contradicts in the values that a protocol sets, beside the defaults; once an option."""
    if not given:
        return ()
    values = {option.name: given.get(option.name, option.default) for option in of.options}
    found = (
        *(each for option in of.options if option.name in given for each in _in_list(option, values)),
        *(each for run in of.rising for pair in pairwise(run) for each in _falling(pair, values, given)),
        *(
            each
            for run in of.bands
            for pair in pairwise(_set(run, given))
            for each in _falling(pair, values, given)
        ),
        *(each for run in of.apart for pair in combinations(run, 2) for each in _shared(pair, values, given)),
        *_letters_without_even_lines(values, given),
    )
    return tuple({each.option: each for each in reversed(found)}.values())[::-1]


def _set(names: Sequence[str], given: Values) -> list[str]:
    return [name for name in names if name in given]


def _falling(pair: Sequence[str], values: Values, given: Values) -> Iterator[Contradiction]:
    """Yield that the first of two options is above the second, unless both are left as they are."""
    low, high = pair
    first, second = _number(values[low]), _number(values[high])
    if first <= second or not _set((low, high), given):
        return
    what = f"'{low}' is {_said(first, low, given)}, above '{high}', which is {_said(second, high, given)}"
    yield Contradiction(
        low if low in given else high, what, _instead(pair, given, f"'{low}' is at most '{high}'")
    )


def _said(value: float, name: str, given: Values) -> str:
    return f"{value:g}" + _by_default(name, given)


def _by_default(name: str, given: Values) -> str:
    return "" if name in given else " by default"


def _instead(pair: Sequence[str], given: Values, otherwise: str) -> str:
    """Return which option to set as well, where one of the two is left as it is."""
    return next((f"set '{name}' as well" for name in pair if name not in given), otherwise)


def _shared(pair: Sequence[str], values: Values, given: Values) -> Iterator[Contradiction]:
    """Yield the first name that stands in two lists which say different things of it."""
    one, other = pair
    both = [name for name in _items(values[one]) if name and name in _items(values[other])]
    if not both or not _set(pair, given):
        return
    where = " and ".join(f"'{name}'{_by_default(name, given)}" for name in pair)
    hint = _instead(pair, given, "a name stands in one of them")
    yield Contradiction(one if one in given else other, f"'{both[0]}' stands in {where}", hint)


def _items(value: OptionValue) -> tuple[str | float, ...]:
    return value if isinstance(value, tuple) else ()


def _in_list(option: Option, values: Values) -> Iterator[Contradiction]:
    """Yield what is wrong with the items of one list; nothing for what is no list, or an empty one."""
    items = _items(values[option.name])
    name = option.name
    for index, item in enumerate(items):
        if item == "":
            # It was no text, or empty, and was reported.
            continue
        shown = f"item {index + 1} of '{name}' is {_shown(item)}"
        if option.choices and item not in option.choices:
            yield Contradiction(name, shown, f"known: {', '.join(option.choices)}", index)
        elif item in items[:index]:
            yield Contradiction(name, f"{shown} again", "each item stands in it once", index)
        elif option.is_rising and index and _number(item) < _number(items[index - 1]):
            hint = "from the lowest to the highest"
            yield Contradiction(name, f"{shown}, below the one before it", hint, index)
    if items and option.items and len(items) != option.items:
        hint = f"it takes {option.items}: {option.about}"
        yield Contradiction(name, f"'{name}' has {len(items)} items", hint)


def _number(item: OptionValue) -> float:
    assert isinstance(item, int | float)
    return item


def _shown(item: str | float) -> str:
    return f"'{item}'" if isinstance(item, str) else f"{item:g}"


def _letters_without_even_lines(values: Values, given: Values) -> Iterator[Contradiction]:
    """Yield a line to which letters cannot be added: they have a size on charts with even steps alone."""
    if not values.get("letters_per_line") or not _set(_CHART, given):
        return
    letters, distance = _number(values["letters_per_line"]), _number(values["chart_distance"])
    sizes = (_number(size) for size in _items(values["lines"]))
    uneven = next((size for size in sizes if size > 0 and nominal(logmar(distance, size)) is None), None)
    if uneven is not None:
        holds = f"'lines'{_by_default('lines', given)} holds {distance:g}/{uneven:g}"
        hint = "letters have a size on lines of even steps of 0.1 logMAR alone; write 0 for other charts"
        yield Contradiction(_set(_CHART, given)[0], f"'letters_per_line' is {letters:g}, but {holds}", hint)


_CHART = ("letters_per_line", "lines", "chart_distance")
