"""Every kind of reading and of computation by its id, and the way to run one.

A protocol is checked against the catalogue without loading the modules that do the work; those are loaded
when the first text is read.
"""

from collections.abc import Callable, Mapping
from functools import cache
from importlib import import_module
from typing import Any

from checklist.measures import eye_kinds, head_kinds, nerve_kinds, sight_kinds, trunk_kinds, vital_kinds
from checklist.measures.reading import Facts, Meaning, Options, OptionValue
from checklist.measures.spec import Computation, Kind

_PARTS = (sight_kinds, eye_kinds, head_kinds, vital_kinds, nerve_kinds, trunk_kinds)
KINDS: Mapping[str, Kind] = {kind.id: kind for part in _PARTS for kind in part.KINDS}
COMPUTATIONS: Mapping[str, Computation] = {each.id: each for part in _PARTS for each in part.COMPUTATIONS}


def options(of: Kind | Computation, values: Mapping[str, OptionValue], source: str = "") -> Options:
    """Return the options of a kind: its defaults, with `values` from `source` in their place."""
    return Options(
        values={option.name: values.get(option.name, option.default) for option in of.options},
        sources={
            option.name: source if source and option.name in values else option.source
            for option in of.options
        },
    )


def read(kind: Kind, text: str, given: Options) -> Meaning:
    """Return what `text` means; raises ReadingError when it is no such reading."""
    reader: Callable[[str, Options], Meaning] = _function(kind.module, "READERS", kind.id)
    return reader(text, given)


def together(kind: Kind, facts: Facts, given: Options) -> Meaning | None:
    """Return what the readings of a step mean together; None when there is nothing to compare."""
    if not kind.together:
        return None
    compare: Callable[[Facts, Options], Meaning | None] = _function(kind.module, "TOGETHER", kind.id)
    return compare(facts, given)


def compute(of: Computation, inputs: Mapping[str, Facts], given: Options) -> Meaning | None:
    """Return what the inputs come to; None when what is needed was not recorded."""
    if any(not inputs.get(name) for name in of.needs):
        return None
    work: Callable[[Mapping[str, Facts], Options], Meaning | None] = _function(
        of.module, "COMPUTATIONS", of.id
    )
    return work(inputs, given)


@cache
def _function(module: str, table: str, name: str) -> Any:
    return getattr(import_module(f"checklist.measures.{module}"), table)[name]
