"""`checklist protocol readings`: which kinds of reading there are, what can be typed, and what it means."""

from collections.abc import Iterator, Sequence
from difflib import get_close_matches
from textwrap import wrap

from checklist.errors import ChecklistError
from checklist.measures import catalogue
from checklist.measures.reading import Meaning, OptionValue, ReadingError
from checklist.measures.spec import Computation, Kind, Option
from checklist.text import one_line

_INDENT = "    "
_MORE = "`checklist protocol readings KIND` shows options and sources; with TEXT, what the text means."


class UnknownKindError(ChecklistError):
    """A kind of reading that there is not."""


def list_kinds(width: int) -> int:
    """Print all kinds of reading and of computation, one to a line or two."""
    for heading, lines in (
        ("Kinds of reading, for [section.step.reading]:", _kind_lines()),
        ("Kinds of computation, for [[computed]]:", _computation_lines()),
    ):
        print(heading)
        for line in lines:
            print(*wrap(line, width, initial_indent="  ", subsequent_indent=_INDENT), sep="\n")
        print()
    print(*wrap(_MORE, width), sep="\n")
    return 0


def _kind_lines() -> Iterator[str]:
    for kind in catalogue.KINDS.values():
        yield f"{kind.id}: {kind.title}; type {kind.accepts}"


def _computation_lines() -> Iterator[str]:
    for each in catalogue.COMPUTATIONS.values():
        inputs = (*each.needs, *(f"[{name}]" for name in each.takes))
        yield f"{each.id}: {each.title}; from {', '.join(inputs)}"


def show_kind(name: str, width: int) -> int:
    """Print what an author has to know of one kind."""
    kind = _found(name)
    lines = [f"{kind.id}: {kind.title}"]
    if isinstance(kind, Kind):
        lines += [f"type: {kind.accepts}", *([f"timed as: {kind.timing}"] if kind.timing else [])]
        lines.append(f"classes of one entry: {_listed(kind.classes)}")
        lines.append(f"classes of all entries together: {_listed(kind.together)}")
    else:
        lines += [f"needs: {_listed(kind.needs)}", f"takes: {_listed(kind.takes)}"]
        lines.append(f"classes: {_listed(kind.classes)}")
    lines += [line for option in kind.options for line in _option(option)]
    for line in lines:
        print(*wrap(line, width, subsequent_indent=_INDENT), sep="\n")
    return 0


def _listed(names: Sequence[str]) -> str:
    return ", ".join(names) or "none"


def _option(option: Option) -> Iterator[str]:
    choices = f"; one of {', '.join(option.choices)}" if option.choices else ""
    source = f" Source: {option.source}." if option.source else ""
    yield f"option {option.name} = {_written(option.default)}: {option.about}{choices}.{source}"


def _written(value: OptionValue) -> str:
    match value:
        case bool():
            return str(value).lower()
        case int() | float():
            return f"{value:g}"
        case str():
            return f'"{value}"'
        case _:
            return f"[{', '.join(_written(each) for each in value)}]"


def try_text(name: str, text: str, width: int) -> int:
    """Print what a typed text means by a kind with its defaults."""
    kind = _found(name)
    if not isinstance(kind, Kind):
        raise UnknownKindError(f"{kind.id} is computed, and nothing is typed for it")
    try:
        meaning = catalogue.read(kind, one_line(text), catalogue.options(kind, {}))
    except ReadingError as error:
        raise ChecklistError(f"{kind.id}: {error}") from None
    for line in _meaning_lines(meaning):
        print(*wrap(line, width, subsequent_indent=_INDENT), sep="\n")
    return 0


def _meaning_lines(meaning: Meaning) -> Iterator[str]:
    yield f"kept as: {meaning.text}"
    yield f"in words: {meaning.words}"
    yield f"in the note: {meaning.chart}"
    yield f"classes: {_listed(meaning.classes)}"
    for remark in meaning.remarks:
        how_fast = f", out of range: {remark.tell}" if remark.tell else ""
        yield f"{remark.text} ({remark.source}){how_fast}"
    if meaning.doubt:
        yield f"asked about once: {meaning.doubt}"


def _found(name: str) -> Kind | Computation:
    known: dict[str, Kind | Computation] = {**catalogue.KINDS, **catalogue.COMPUTATIONS}
    if name in known:
        return known[name]
    near = _near(name.casefold(), list(known))
    hint = f"did you mean {near}?" if near else "`checklist protocol readings` lists them"
    raise UnknownKindError(f"no kind of reading is called '{name}'; {hint}")


_LEAST_PART = 3
"""Letters from which a part of a name is looked for: fewer stand in too many."""
_MOST_NAMED = 3


def _near(name: str, known: Sequence[str]) -> str:
    """Return the names that begin with what was typed, else hold it, else are spelled like it."""
    found: Sequence[str] = ()
    if len(name) >= _LEAST_PART:
        found = [each for each in known if each.startswith(name)] or [each for each in known if name in each]
    found = found[:_MOST_NAMED] or get_close_matches(name, known, n=1)
    return " or ".join(f"'{each}'" for each in found)
