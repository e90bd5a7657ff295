"""What a protocol is, once it has been read: frozen values, no files, no rules of reading.

A field is named as its key in the TOML file; DEVELOPERS.md specifies the format.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from checklist.measures.reading import OptionValue

FORMAT = 1

PHASES = ("prepare", "examine", "close")
TECHNIQUES = ("ask", "inspect", "palpate", "percuss", "auscultate", "measure", "test", "tell", "hygiene")
URGENCIES = ("note", "report", "urgent")
"""How fast a finding is told, slowest first: only written down; told before leaving; told at once."""
HANDS = ("clean", "gloves on", "gloves off")
"""Cue shown with a step: clean hands now; put clean gloves on; take gloves off, then clean hands."""
LIMITS = ("soft", "hard")
"""Whether more than the target time fails a performance: only said, or fails."""
SIDES = ("right", "left")
WANTED = ("always", "differs")
"""When a reading or a computation is wanted: always, or only where something differs."""
OUTCOME_VALUES = ("expected", "differs")
"""What a pattern can ask for at every step."""
SIDE, OTHER_SIDE = "{side}", "{other}"
"""The variables of a pattern that serves the right and the left side."""
MOST_FINDINGS = 9
"""Of a step: each has a digit as its key."""
MOST_SITES = 10
"""Of a step: each has a letter from `a` to `j` as its key."""
OTHER = "other"
"""The id that no finding may have: it stands for the examiner's own words."""
WHOLE = "whole"
"""The name of the single entry of a step that has neither sides nor sites."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Equipment:
    """Something that must be at hand before the clock starts: an instrument, or a quality of the room."""

    id: str
    name: str
    room: bool = False


@dataclass(frozen=True, kw_only=True, slots=True)
class Finding:
    """One way in which a step can differ from what is expected."""

    id: str
    label: str
    """What the examiner picks on the screen, in observable words."""
    chart: str
    """Predicate for the note, read after the step's subject; see `Step.chart`."""
    tell: str = "note"
    to: str = ""
    """Who must be told; empty means the protocol's default for this urgency."""


@dataclass(frozen=True, kw_only=True, slots=True)
class After:
    """An order constraint: the step that carries it comes after `step`, for the reason `why`."""

    step: str
    why: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Entry:
    """One side × site of a step: the smallest thing that has an outcome."""

    side: str = ""
    site: str = ""

    @property
    def key(self) -> str:
        """Name of the entry inside its step, as session files hold it: `right/cheek`, `left`, `whole`."""
        return "/".join(filter(None, (self.side, self.site))) or WHOLE

    @property
    def label(self) -> str:
        """Name of the entry as a person reads it: `right cheek`."""
        return " ".join(filter(None, (self.side, self.site)))


@dataclass(frozen=True, kw_only=True, slots=True)
class Reading:
    """What is typed at a step: the `reading` table."""

    kind: str
    """Id of the kind of reading; `checklist.measures.catalogue` has them all."""
    wanted: str = "always"
    """One of `WANTED`."""
    options: tuple[tuple[str, "OptionValue"], ...] = ()
    """What the protocol sets, by name; the rest is as in the catalogue."""
    source: str = ""
    """Where the values that are set come from."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Computed:
    """What is computed over several steps: a `[[computed]]` table."""

    id: str
    """Shares the name space of the steps, so that patterns can ask for it."""
    kind: str
    title: str
    inputs: tuple[tuple[str, str], ...]
    """Name of the input → id of the step: the key `from`."""
    wanted: str = "always"
    """One of `WANTED`: whether the note says it always, or only where something is out of range."""
    options: tuple[tuple[str, "OptionValue"], ...] = ()
    source: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Condition:
    """One thing that a pattern asks for: an item of its lists `all`, `any` and `none`."""

    step: str
    values: tuple[str, ...]
    """Any of these: ids of findings, classes of the reading, `expected`, `differs`; the key `is`."""
    side: str = ""
    """`right`, `left`, `{side}`, `{other}`, or empty for any."""
    site: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Pattern:
    """Findings and readings of several steps that belong together, or that contradict each other."""

    id: str
    every: tuple[Condition, ...] = ()
    """The key `all`."""
    some: tuple[Condition, ...] = ()
    """The key `any`: at least one of them, when there are any."""
    none: tuple[Condition, ...] = ()
    """Each was examined, and is not so."""
    consider: str
    """What to consider and report; may hold `{side}` and `{other}`."""
    tell: str = "note"
    source: str
    contradiction: bool = False

    @property
    def conditions(self) -> tuple[Condition, ...]:
        return (*self.every, *self.some, *self.none)


@dataclass(frozen=True, kw_only=True)
class Step:
    """One manoeuvre, question or act, with its expected finding."""

    id: str
    title: str
    technique: str
    also: tuple[str, ...] = ()
    """Other names of the step that are taken for its title when it is typed from memory."""
    sides: bool = False
    sites: tuple[str, ...] = ()
    every_site: str = ""
    """How the note names all sites together, for instance `all four quadrants`."""
    after: tuple[After, ...] = ()
    only_if: str = ""
    do: str = ""
    say: str = ""
    expect: str = ""
    subject: str = ""
    """What the chart speaks of, such that `right` can stand before it: `eardrum`."""
    subjects: str = ""
    """The same for both sides together: `eardrums`; empty means as `subject`."""
    chart: str = ""
    """Predicate for the note when as expected, read after the subject: `pearl grey and translucent`."""
    seconds: int = 15
    weight: float = 1
    prompted: float | None = None
    """Share of the weight when done after a prompt, where that is not the protocol's."""
    incorrect: float | None = None
    """Share of the weight when done incorrectly, where that is not the protocol's."""
    critical: str = ""
    """Why leaving this out fails the examination; empty for most steps."""
    caution: str = ""
    hands: str = ""
    needs: tuple[str, ...] = ()
    covers: tuple[str, ...] = ()
    may_be_unseen: bool = False
    """Whether `attempted, not seen` is an outcome here."""
    reading: Reading | None = None
    findings: tuple[Finding, ...] = ()

    @cached_property
    def entries(self) -> tuple[Entry, ...]:
        """Every side × site, right before left, sites in the order listed; at least one."""
        sides = SIDES if self.sides else ("",)
        return tuple(Entry(side=side, site=site) for site in self.sites or ("",) for side in sides)

    @cached_property
    def finding_of(self) -> dict[str, Finding]:
        return {finding.id: finding for finding in self.findings}

    @property
    def is_asked(self) -> bool:
        """Whether the outcome is what the patient reports rather than what the examiner observes."""
        return self.technique == "ask"


@dataclass(frozen=True, kw_only=True, slots=True)
class FreeOrder:
    """Steps of one section that may be done in any order among themselves, for the reason `why`."""

    steps: tuple[str, ...]
    why: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Section:
    """A region or stage of the examination."""

    id: str
    title: str
    steps: tuple[Step, ...]
    phase: str = "examine"
    free_order: tuple[FreeOrder, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class Audience:
    """For whom the protocol is: the `[for]` table."""

    population: str
    ages: tuple[str, ...] = ()
    """Age bands that the preparation offers."""
    level: str = ""
    setting: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Telling:
    """To whom findings are told: the `[tell]` table."""

    report: str
    urgent: str
    roles: tuple[str, ...] = ()
    """Roles that the screen offers by number when it asks who was told."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Assessment:
    """How a performance is judged: the `[assess]` table."""

    cut: float = 80
    """Per cent of the weighted score from which on it passes; common practice, no source."""
    limit: str = "soft"
    """One of `LIMITS`: whether more than the target time fails."""
    prompted: float = 0.5
    """Share of a step's weight for doing it after a prompt; common practice, no source."""
    incorrect: float = 0
    """Share of a step's weight for doing it incorrectly."""


@dataclass(frozen=True, kw_only=True)
class Protocol:
    """One ordered examination of a body system or region."""

    format: int = FORMAT
    id: str
    title: str
    version: str
    reviewed: str
    """Date of the last review, ISO 8601."""
    summary: str = ""
    target_minutes: float
    position: str = ""
    scope: str
    audience: Audience
    telling: Telling
    cautions: tuple[str, ...] = ()
    adaptations: tuple[str, ...] = ()
    sources: tuple[str, ...]
    assess: Assessment = Assessment()
    equipment: tuple[Equipment, ...] = ()
    sections: tuple[Section, ...] = field(default=())
    computed: tuple[Computed, ...] = ()
    patterns: tuple[Pattern, ...] = ()

    def __iter__(self) -> Iterator[Step]:
        return iter(self.steps)

    @property
    def target_seconds(self) -> float:
        return self.target_minutes * 60

    @cached_property
    def steps(self) -> tuple[Step, ...]:
        """All steps in listed order."""
        return tuple(step for section in self.sections for step in section.steps)

    @cached_property
    def step_of(self) -> dict[str, Step]:
        return {step.id: step for step in self.steps}

    @cached_property
    def position_of(self) -> dict[str, int]:
        """Place of each step in the listed order, from 0."""
        return {step.id: index for index, step in enumerate(self.steps)}

    @cached_property
    def section_of(self) -> dict[str, Section]:
        """The section that holds each step, by step id."""
        return {step.id: section for section in self.sections for step in section.steps}

    @cached_property
    def inputs_of(self) -> dict[str, tuple[str, ...]]:
        """Ids of the steps that each computation takes, by the computation's id."""
        return {each.id: tuple(step for _, step in each.inputs) for each in self.computed}

    @cached_property
    def steps_put_together(self) -> frozenset[str]:
        """Ids of the steps whose record is compared, computed with, or part of a pattern."""
        compared = {step.id for step in self.steps if step.reading and len(step.entries) > 1}
        inputs = {step for steps in self.inputs_of.values() for step in steps}
        named = {condition.step for pattern in self.patterns for condition in pattern.conditions}
        return frozenset(compared | inputs | (named & self.step_of.keys()))

    @cached_property
    def equipment_of(self) -> dict[str, Equipment]:
        return {item.id: item for item in self.equipment}

    def tell_to(self, finding: Finding) -> str:
        """Who must be told of `finding`; empty when it is only noted."""
        match finding.tell:
            case "urgent":
                return finding.to or self.telling.urgent
            case "report":
                return finding.to or self.telling.report
            case _:
                return ""
