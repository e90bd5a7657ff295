"""Where a value lies among its limits, and whether it is a likely one. Pure."""

from math import inf
from typing import NamedTuple

from checklist.measures.reading import Options, Remark
from checklist.measures.spec import PRACTICE
from checklist.measures.typed import short


def unusual(value: float, options: Options, what: str) -> str:
    """Return why a value outside of `likely_low` and `likely_high` is asked about."""
    low = options.number("likely_low") if "likely_low" in options.values else -inf
    high = options.number("likely_high") if "likely_high" in options.values else inf
    return "" if low <= value <= high else f"{what} is unusual"


_STEPS = (("urgent", "urgent"), ("report", "report"), ("usual", "note"))


class Banded(NamedTuple):
    """Where a value lies among its limits."""

    remarks: tuple[Remark, ...]
    classes: tuple[str, ...]


def banded(value: float, options: Options, unit: str) -> Banded:
    """Return the remark that hurries most; the limits themselves are within the range."""
    for name, tell in _STEPS:
        for end, word in (("low", "below"), ("high", "above")):
            option = f"{name}_{end}"
            if option not in options.values:
                continue
            limit = options.number(option)
            if value < limit if end == "low" else value > limit:
                remark = Remark(text=f"{word} {short(limit)}{unit}", source=options.source(option), tell=tell)
                far = (f"far-{word}",) if tell == "urgent" else ()
                return Banded((remark,), (word, *far))
    return Banded((), ("in-range",))


def remark(text: str, options: Options, tell: str, limit: str = "") -> Remark:
    """Return what is told as fast as the option `tell` has it; the source is that of `limit`, or its own."""
    return Remark(text=text, source=options.source(limit or tell), tell=options.text(tell))


def source_of_both(options: Options, limit: str, tell: str) -> str:
    """Return where a limit comes from and where how fast it is told does; once when one says both."""
    sources = options.source(limit), options.source(tell)
    is_practice = sources[1] == PRACTICE and sources[0].startswith("common practice")
    is_once = is_practice or sources[1] in sources[0]
    return sources[0] if is_once else f"{sources[0]}; told: {sources[1]}"
