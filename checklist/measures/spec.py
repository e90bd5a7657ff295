"""What the catalogue says of a kind of reading or of computation, before any of its code is loaded."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from checklist.measures.reading import TELLS, OptionValue

PRACTICE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Option:
    """One thing that a protocol may set; the type of its value is that of the default."""

    name: str
    default: OptionValue
    about: str
    source: str = ""
    """Where the default comes from, and how sure that is; needed for clinical values."""
    lowest: float = 0
    highest: float = 1_000_000
    choices: tuple[str, ...] = ()
    """What it is one of; of a list, what each item is one of."""
    items: int = 0
    """How many items a list has; 0 for any number."""
    is_rising: bool = False
    """Whether each number of a list is above the one before it."""


def told(
    name: str, default: str, what: str, source: str = PRACTICE, choices: tuple[str, ...] = TELLS
) -> Option:
    """Return the option of how fast something is told."""
    return Option(name, default, f"how fast {what} is told", source, choices=choices)


Run = tuple[str, ...]
"""Names of options of one kind."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Kind:
    """A kind of reading: what is typed for one entry of a step."""

    id: str
    module: str
    """The module of this package whose `READERS` holds it."""
    title: str
    accepts: str
    """What can be typed, by example, in at most 70 characters."""
    timing: str = ""
    """`rate` when it can be tapped or counted, `seconds` when a stop-watch can take it."""
    phases: tuple[str, ...] = ()
    """What the stop-watch takes one after another, when that is more than one time."""
    classes: tuple[str, ...] = ()
    """What patterns can ask for at one entry."""
    together: tuple[str, ...] = ()
    """What patterns can ask for at all entries of the step together; empty when nothing is compared."""
    options: tuple[Option, ...] = ()
    rising: tuple[Run, ...] = ()
    """Options of which none is above the next, those included that a protocol leaves as they are."""
    bands: tuple[Run, ...] = ()
    """The same of those alone that a protocol sets: between limits left as they are, the one that hurries
    more holds."""
    apart: tuple[Run, ...] = ()
    """Lists of which no two hold the same name."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Computation:
    """A kind of computation over what was recorded at several steps."""

    id: str
    module: str
    """The module of this package whose `COMPUTATIONS` holds it."""
    title: str
    needs: tuple[str, ...]
    """Names of the inputs without which nothing is computed."""
    takes: tuple[str, ...] = ()
    """Names of further inputs."""
    reads: Mapping[str, tuple[str, ...]] = field(default_factory=dict, hash=False)
    """Kinds of reading, one of which an input is computed from, by its name; from findings nothing comes."""
    may_read: Mapping[str, tuple[str, ...]] = field(default_factory=dict, hash=False)
    """Kinds of reading that do beside findings; any other kind says nothing for such an input."""
    classes: tuple[str, ...] = ()
    options: tuple[Option, ...] = ()
    rising: tuple[Run, ...] = ()
    bands: tuple[Run, ...] = ()
    apart: tuple[Run, ...] = ()
