"""What the catalogue says of a kind of reading or of computation, before any of its code is loaded."""

from dataclasses import dataclass

from checklist.measures.reading import OptionValue


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
    classes: tuple[str, ...] = ()
    options: tuple[Option, ...] = ()
