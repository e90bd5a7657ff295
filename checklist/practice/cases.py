"""A simulated patient: what is so at which step, as a case file says it; and an examination that finds it.

A case is invented. It says what would be seen, heard or felt, never what the patient has. Pure.
"""

import tomllib
from collections.abc import Callable, Container, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from checklist import toml
from checklist.measures.reading import OTHER_SIDE_OF
from checklist.protocol.dotted import MOST_PARTS, long_key
from checklist.protocol.fields import TITLE_LENGTH, Fields, Notes
from checklist.protocol.model import SIDES, URGENCIES, Entry, Protocol, Step
from checklist.protocol.problems import Flaw, Problem, did_you_mean, found, listed, quoted
from checklist.session import readings
from checklist.session.events import TELLS, Event, Outcome, Recorded, Result, Started
from checklist.session.session import REHEARSAL, Header, Session

FORMAT = 1
TASK = "patient"
"""The task of a rehearsal with a simulated patient."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Truth:
    """What is so at the entries of one step: a `[[truth]]` or a `[[decoy]]` table."""

    step: str
    side: str = ""
    """`right` or `left`; empty means both, where the step has sides."""
    site: str = ""
    """Empty means every site, where the step has sites."""
    findings: tuple[str, ...] = ()
    """The key `finding`."""
    reading: str = ""
    """What would be typed, by the kind of reading of the step."""
    seen: str = ""
    """What would be seen, heard or felt, described and not named."""
    unseen: bool = False
    """Whether what the step looks for cannot be seen here, so that *attempted, not seen* is right."""

    def is_at(self, entry: Entry) -> bool:
        return self.side in ("", entry.side) and self.site in ("", entry.site)


@dataclass(frozen=True, kw_only=True, slots=True)
class Due:
    """Something that must be told: a `[[report]]` table."""

    what: str
    tell: str
    """`report` or `urgent`."""
    steps: tuple[str, ...]
    """It is told when something recorded at any of these steps is."""
    side: str = ""
    """`right` or `left`, where the steps have sides; empty means where something is at them."""
    entries: tuple[tuple[str, tuple[str, ...]], ...] = ()
    """Step id → keys of the entries that it is about: of what follows from the truths; no file says it."""
    is_meaning: bool = False
    """Whether it is what others mean together, a computation or a pattern, so that nobody records it."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Case:
    """One simulated patient for one protocol."""

    id: str
    title: str
    protocol: str
    """Id of the protocol."""
    story: str
    """What the learner knows before the first step."""
    age: str = ""
    truths: tuple[Truth, ...] = ()
    """What differs, and what is worth describing though it does not; all else is as expected."""
    decoys: tuple[Truth, ...] = ()
    """What draws attention and only needs to be written down."""
    report: tuple[Due, ...] = ()
    """What must be told; when empty, it follows from the truths."""
    sources: tuple[str, ...] = ()
    explains: str = ""
    """What the case was built to show, told at the end."""


@dataclass(frozen=True, kw_only=True, slots=True)
class There:
    """What is so at one entry."""

    step: Step
    entry: Entry
    findings: tuple[str, ...] = ()
    reading: str = ""
    seen: str = ""
    unsaid: tuple[str, ...] = ()
    """Those of the findings of which `seen` says nothing."""
    is_unseen: bool = False
    is_decoy: bool = False
    is_if_done: bool = False
    """Whether the case asks nothing of it: a value stands there for whoever does the step all the same."""

    @property
    def result(self) -> Result:
        """What a flawless examiner records for it."""
        if self.is_unseen:
            return Result(entries=(self.entry.key,), outcome=Outcome.UNSEEN)
        out_of_range = _out_of_range(self.step, self.reading)
        return Result(
            entries=(self.entry.key,),
            outcome=Outcome.DIFFERS if self.findings or out_of_range else Outcome.EXPECTED,
            findings=self.findings,
            reading=self.reading,
            # A finding has its own urgency; of a reading alone the examiner says how fast it is told.
            tell=out_of_range if out_of_range in TELLS and not self.findings else "",
        )

    @property
    def has_a_side(self) -> bool:
        """Whether it is on one side: of its entry, or by the name of a finding such as `right-larger`."""
        return bool(self.entry.side) or any(mirrored(each) != each for each in self.findings)

    @property
    def differs(self) -> bool:
        return self.result.outcome is Outcome.DIFFERS

    @property
    def is_as_expected(self) -> bool:
        return self.result.outcome is Outcome.EXPECTED


def _out_of_range(step: Step, reading: str) -> str:
    """Return how fast a reading that is out of range is told; empty for one that is in range."""
    if not reading or step.reading is None:
        return ""
    return readings.understood(step.reading, reading).tell


def mirrored(finding: str) -> str:
    """Return the id that the same finding of the other side would have: `right-larger` → `left-larger`."""
    return "-".join(OTHER_SIDE_OF.get(word, word) for word in finding.split("-"))


def what_is_there(case: Case, protocol: Protocol) -> dict[tuple[str, str], There]:
    """Return what the case says, by step id and entry key; what it does not name is as expected."""
    there: dict[tuple[str, str], There] = {}
    for truth, is_decoy in (
        *((each, False) for each in case.truths),
        *((each, True) for each in case.decoys),
    ):
        step = protocol.step_of[truth.step]
        for entry in filter(truth.is_at, step.entries):
            before = there.get((step.id, entry.key), There(step=step, entry=entry, is_decoy=True))
            there[step.id, entry.key] = There(
                step=step,
                entry=entry,
                findings=tuple(dict.fromkeys((*before.findings, *truth.findings))),
                reading=truth.reading or before.reading,
                seen=" ".join(filter(None, (before.seen, truth.seen))),
                unsaid=(*before.unsaid, *(() if truth.seen else truth.findings)),
                is_unseen=truth.unseen or before.is_unseen,
                is_decoy=is_decoy and before.is_decoy,
            )
    return there


def flawless(case: Case, protocol: Protocol, only: Container[str] | None = None) -> Session:
    """Return the examination in which all that is there is found; conditional steps only where named.

    `only` names the steps that are examined, where not all of them are asked about.
    """
    there = what_is_there(case, protocol)
    at = datetime(2026, 1, 1, tzinfo=UTC)
    events: list[Event] = [Started(n=1, at=at, clock=0.0, step=protocol.steps[0].id)]
    for step in protocol:
        named = [there[step.id, entry.key] for entry in step.entries if (step.id, entry.key) in there]
        if (step.only_if and not named) or (only is not None and step.id not in only):
            continue
        taken = {each.entry for each in named}
        rest = tuple(entry.key for entry in step.entries if entry not in taken)
        results = [each.result for each in named]
        results += [Result(entries=rest, outcome=Outcome.EXPECTED)] if rest else []
        n = len(events) + 1
        events.append(Recorded(n=n, at=at, clock=0.0, step=step.id, results=tuple(results)))
    header = Header(
        id=case.id,
        created=at,
        app_version="",
        participant="",
        examiner="",
        mode=REHEARSAL,
        fictional=True,
        task=TASK,
        case=case.id,
    )
    return Session(header=header, protocol=protocol, table={}).with_events(events)


# ------------------------------------------------------------------ reading

FindProtocol = Callable[[str], Protocol | None]
"""Returns the protocol of an id; None when there is none that can be used."""


def read(text: str, name: str, find: FindProtocol) -> tuple[Case | None, list[Problem]]:
    """Return the case that a text holds, or all problems of it by line; `name` is for the messages."""
    table = table_of(text, name)
    if isinstance(table, Problem):
        return None, [table]
    notes = Notes()
    case = _case(Fields(table, notes))
    flaws = notes.settle()
    if protocol := find(case.protocol) if case.protocol else None:
        flaws += broken(case, protocol)
    elif case.protocol:
        flaws.append(no_protocol(case.protocol))
    return (None, located(flaws, text, name)) if flaws else (case, [])


def table_of(text: str, name: str) -> Mapping[str, Any] | Problem:
    """Return the table that a text holds, of a format that this version reads; or what is wrong with it."""
    if line := long_key(text):
        return Problem(file=name, what=f"a key has more than {MOST_PARTS} dotted parts", line=line)
    try:
        table = toml.loads(text)
    except tomllib.TOMLDecodeError as error:
        from checklist.protocol.syntax import syntax_problem

        return syntax_problem(str(error), text, name)
    except (RecursionError, ValueError):
        return Problem(file=name, what="this cannot be read as TOML: too deep, or a number too long")
    version = table.get("format")
    if isinstance(version, int) and not isinstance(version, bool) and version != FORMAT:
        what = f"'format' is {found(version)}, which is not supported"
        flaw = Flaw(at=("format",), what=what, hint=f"this version reads format {FORMAT}")
        return located([flaw], text, name)[0]
    return table


def no_protocol(name: str) -> Flaw:
    what = f"there is no usable protocol {quoted(name)}"
    return Flaw(at=("protocol",), what=what, hint="'checklist protocol list' names them")


def located(flaws: Sequence[Flaw], text: str, name: str) -> list[Problem]:
    if not flaws:
        return []
    from checklist.protocol.positions import positions

    places = positions(text)
    problems = []
    for flaw in flaws:
        line, column = places.get(flaw.at, (None, None)) if flaw.at else (None, None)
        problems.append(Problem(file=name, what=flaw.what, hint=flaw.hint, line=line, column=column))
    return sorted(problems, key=lambda problem: (problem.line or 0, problem.column or 0))


def _case(fields: Fields) -> Case:
    fields.require("format")
    fields.whole("format", FORMAT, FORMAT, default=FORMAT)
    case = Case(
        id=fields.id(),
        title=fields.text("title", needed=True, longest=TITLE_LENGTH),
        protocol=fields.id("protocol"),
        story=fields.text("story", needed=True),
        age=fields.text("age"),
        explains=fields.text("explains"),
        sources=fields.texts("sources"),
        truths=tuple(_truth(each) for each in fields.tables("truth", "[[truth]]", needed=True)),
        decoys=tuple(_truth(each) for each in fields.tables("decoy", "[[decoy]]")),
        report=tuple(_due(each) for each in fields.tables("report", "[[report]]")),
    )
    fields.close()
    return case


def _truth(fields: Fields) -> Truth:
    truth = Truth(
        step=fields.id("step"),
        side=fields.choice("side", SIDES, default=""),
        site=fields.text("site"),
        findings=_findings(fields),
        reading=fields.text("reading"),
        seen=fields.text("seen"),
        unseen=fields.flag("unseen"),
    )
    fields.close()
    return truth


def _findings(fields: Fields) -> tuple[str, ...]:
    # Asked for without being needed when it is not there, so that messages know the key.
    return fields.one_or_texts("finding") if fields.has("finding") else fields.texts("finding")


def _due(fields: Fields) -> Due:
    due = Due(
        what=fields.text("what", needed=True),
        tell=fields.choice("tell", URGENCIES[1:]),
        steps=fields.ids("steps", needed=True),
        side=fields.choice("side", SIDES, default=""),
    )
    fields.close()
    return due


# What the protocol does not have, a case cannot speak of.


def broken(case: Case, protocol: Protocol) -> list[Flaw]:
    """Return what a case says that the protocol does not have, or says twice."""
    flaws: list[Flaw] = []
    ages = protocol.audience.ages
    if case.age and ages and case.age not in ages:
        flaws.append(Flaw(at=("age",), what=f"'age' is {found(case.age)}", hint=f"one of {listed(ages)}"))
    for kind, truths in (("truth", case.truths), ("decoy", case.decoys)):
        for number, truth in enumerate(truths):
            flaws += _of_truth(truth, (kind, number), protocol)
    for number, decoy in enumerate(case.decoys):
        flaws += _of_decoy(decoy, number, protocol)
    for number, due in enumerate(case.report):
        flaws += _of_due(due, number, protocol)
    return flaws or list(_twice(case, protocol))


def no_step(step: str, at: tuple[str | int, ...], protocol: Protocol) -> Iterator[Flaw]:
    if step and step not in protocol.step_of:
        what = f"the protocol has no step {quoted(step)}"
        yield Flaw(at=at, what=what, hint=did_you_mean(step, protocol.step_of))


def _of_truth(truth: Truth, at: tuple[str, int], protocol: Protocol) -> Iterator[Flaw]:
    yield from no_step(truth.step, (*at, "step"), protocol)
    step = protocol.step_of.get(truth.step)
    if step is None:
        return
    if truth.side and not step.sides:
        yield Flaw(at=(*at, "side"), what=f"step {quoted(step.id)} has no sides", hint="leave the key out")
    if truth.site and truth.site not in step.sites:
        hint = f"sites: {listed(step.sites)}" if step.sites else "this step has none: leave the key out"
        yield Flaw(
            at=(*at, "site"), what=f"step {quoted(step.id)} has no site {quoted(truth.site)}", hint=hint
        )
    for finding in truth.findings:
        if finding not in step.finding_of:
            what = f"step {quoted(step.id)} has no finding {quoted(finding)}"
            hint = did_you_mean(finding, step.finding_of) or f"it has {listed(step.finding_of)}"
            yield Flaw(at=(*at, "finding"), what=what, hint=hint)
    if truth.reading:
        yield from _of_reading(truth, step, at)
    if truth.unseen and not step.may_be_unseen:
        what = f"step {quoted(step.id)} has no 'attempted, not seen'"
        yield Flaw(at=(*at, "unseen"), what=what, hint="leave the key out")
    if truth.unseen and (truth.findings or truth.reading):
        yield Flaw(at=(*at, "unseen"), what="what cannot be seen shows no finding and no reading")
    if not (truth.findings or truth.reading or truth.seen or truth.unseen):
        hint = "write 'finding', 'reading', 'seen' or 'unseen'; what is not named is as expected anyway"
        yield Flaw(at=at, what="this says nothing about the step", hint=hint)


def _of_reading(truth: Truth, step: Step, at: tuple[str, int]) -> Iterator[Flaw]:
    from checklist.measures.reading import ReadingError

    if step.reading is None:
        what = f"step {quoted(step.id)} takes no reading"
        yield Flaw(at=(*at, "reading"), what=what, hint="describe it in 'seen'")
        return
    try:
        readings.understood(step.reading, truth.reading)
    except ReadingError as error:
        yield Flaw(at=(*at, "reading"), what=f"{quoted(truth.reading)} is no such reading", hint=str(error))


def _of_decoy(decoy: Truth, number: int, protocol: Protocol) -> Iterator[Flaw]:
    step = protocol.step_of.get(decoy.step)
    known = step.finding_of if step else {}
    for finding in decoy.findings:
        if finding in known and known[finding].tell != "note":
            what = f"{quoted(finding)} must be told, so it is no decoy"
            yield Flaw(at=("decoy", number, "finding"), what=what, hint="write it as [[truth]]")


def _of_due(due: Due, number: int, protocol: Protocol) -> Iterator[Flaw]:
    for place, step in enumerate(due.steps):
        yield from no_step(step, ("report", number, "steps", place), protocol)
    if due.side and not any(step in protocol.step_of and protocol.step_of[step].sides for step in due.steps):
        what = "none of these steps has sides"
        yield Flaw(at=("report", number, "side"), what=what, hint="leave the key out")


def _twice(case: Case, protocol: Protocol) -> Iterator[Flaw]:
    """Note a reading that is given twice for one entry, and an entry that both differs and does not."""
    taken: dict[tuple[str, str], Truth] = {}
    for kind, truths in (("truth", case.truths), ("decoy", case.decoys)):
        for number, truth in enumerate(truths):
            for entry in filter(truth.is_at, protocol.step_of[truth.step].entries):
                before = taken.setdefault((truth.step, entry.key), truth)
                if before is not truth and _clash(before, truth):
                    what = f"something else is said of {quoted(truth.step)}, {entry.label or 'whole'}, above"
                    hint = "say all of one entry in one table"
                    yield Flaw(at=(kind, number, "step"), what=what, hint=hint)
                    break


def _clash(first: Truth, second: Truth) -> bool:
    if (first.reading and second.reading) or first.unseen != second.unseen:
        return True
    return bool(first.findings) != bool(second.findings)
