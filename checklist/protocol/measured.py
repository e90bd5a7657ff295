"""Reads the tables of a protocol that speak of readings: what is typed, computed, and put together. Pure.

Which keys such a table takes depends on its kind, and the catalogue says so.
"""

from collections.abc import Iterator, Sequence

from checklist.measures import catalogue
from checklist.measures.reading import OptionValue
from checklist.measures.spec import Option
from checklist.protocol.fields import Fields
from checklist.protocol.model import (
    OTHER_SIDE,
    SIDE,
    SIDES,
    URGENCIES,
    WANTED,
    Computed,
    Condition,
    Pattern,
    Reading,
)

_CONDITION = '[{ step = "…", is = "…" }]'
_FROM = '{ height = "measure-height" }'
_SOURCE = "missing key 'source': a value was set, so say where it comes from"

_Options = tuple[tuple[str, OptionValue], ...]


def reading(fields: Fields) -> Reading:
    kind = fields.kind(tuple(catalogue.KINDS))
    wanted = fields.choice("wanted", WANTED, default="always")
    known = catalogue.KINDS[kind].options if kind else ()
    found = Reading(kind=kind, wanted=wanted, options=_options(fields, known), source=fields.text("source"))
    fields.close()
    return found


def computed(fields: Fields) -> Computed:
    kind = fields.kind(tuple(catalogue.COMPUTATIONS))
    known = catalogue.COMPUTATIONS[kind].options if kind else ()
    found = Computed(
        id=fields.id(),
        kind=kind,
        title=fields.text("title", needed=True),
        inputs=fields.pairs("from", _FROM),
        wanted=fields.choice("wanted", WANTED, default="always"),
        options=_options(fields, known),
        source=fields.text("source"),
    )
    fields.close()
    return found


def _options(fields: Fields, known: Sequence[Option]) -> _Options:
    """Return what is set; where a clinical value is, its source is needed."""
    # All are asked for, so that each is known as a key of such a table.
    values = [(option, _value(fields, option)) for option in known]
    found = [(option, value) for option, value in values if fields.has(option.name)]
    if any(option.source for option, _ in found):
        fields.require("source", _SOURCE)
    return tuple((option.name, value) for option, value in found)


def _value(fields: Fields, option: Option) -> OptionValue:
    name, default = option.name, option.default
    match default:
        case bool():
            return fields.flag(name)
        case int() | float():
            return fields.number(name, option.lowest, option.highest, default=default)
        case str() if option.choices:
            return fields.choice(name, option.choices, default=default)
        case str():
            return fields.text(name)
        case (int() | float(), *_):
            return fields.numbers(name, option.lowest, option.highest)
        case _:
            return fields.texts(name)


def pattern(fields: Fields) -> Pattern:
    found = Pattern(
        id=fields.id(),
        every=tuple(_conditions(fields, "all")),
        some=tuple(_conditions(fields, "any")),
        none=tuple(_conditions(fields, "none")),
        consider=fields.text("consider", needed=True),
        tell=fields.choice("tell", URGENCIES, default="note"),
        source=fields.text("source", needed=True),
        contradiction=fields.flag("contradiction"),
    )
    if not (fields.has("all") or fields.has("any")):
        fields.require("all", "missing key 'all' or 'any' in [[pattern]]: a pattern asks for something")
    fields.close()
    return found


def _conditions(fields: Fields, key: str) -> Iterator[Condition]:
    for each in fields.inline_tables(key, _CONDITION, needed=fields.has(key)):
        yield Condition(
            step=each.id("step"),
            values=each.one_or_texts("is"),
            side=each.choice("side", (*SIDES, SIDE, OTHER_SIDE), default=""),
            site=each.text("site"),
        )
        each.close()
