"""What goes together in one person: the `[[fits]]` tables of a description file, and what follows from them.

Where one thing is so, others are so as well. Pure; nothing here chooses, and a case file is never changed.
"""

import contextlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from checklist.measures.reading import OTHER_SIDE_OF, ReadingError
from checklist.practice.cases import Truth, no_step
from checklist.protocol.fields import Fields
from checklist.protocol.model import OTHER_SIDE, SIDE, SIDES, Protocol, Step
from checklist.protocol.problems import Flaw, Place, did_you_mean, listed, quoted
from checklist.session import readings

SAME, OTHER, BOTH = "same", "other", "both"
_SIDES = (SAME, OTHER, *SIDES, BOTH)
ALL = "all"
"""As a site: every one, though what it follows from is at one of that name."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Then:
    """What is so as well: a `[[fits.then]]` table."""

    step: str
    finding: str = ""
    reading: str = ""
    seen: str = ""
    """How the finding is described there, or what is there though all is as expected."""
    side: str = SAME
    """`same` and `other` are meant from the side of what it follows from; where that has none, from the side
    of what the case is about; where that has none either, both."""
    site: str = ""
    """Empty means the site of what it follows from, where the step has one of that name; else every site."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Fits:
    """What goes with any of some findings of a step: a `[[fits]]` table."""

    step: str
    findings: tuple[str, ...]
    """The key `finding`: ids of findings, or classes of the step's reading."""
    why: str
    then: tuple[Then, ...]


def filled(text: str, side: str) -> str:
    """Return a text with `{side}` and `{other}` filled in."""
    return text.replace(SIDE, side).replace(OTHER_SIDE, OTHER_SIDE_OF.get(side, ""))


def _has_variable(text: str) -> bool:
    return SIDE in text or OTHER_SIDE in text


def _forms(finding: str) -> tuple[str, ...]:
    """Return the ids that a finding stands for: one for each side, where its side is left open."""
    return tuple(filled(finding, side) for side in SIDES) if _has_variable(finding) else (finding,)


def side_in(finding: str) -> str:
    """Return the side that the id of a finding says; empty when it says none."""
    return next((word for word in finding.split("-") if word in SIDES), "")


# ------------------------------------------------------------------ what follows


@dataclass(frozen=True, kw_only=True, slots=True)
class Companion:
    """What is so as well where something is."""

    truth: Truth
    follows: Truth
    """What it follows from."""


def following(
    fits: Sequence[Fits], protocol: Protocol, truth: Truth, about_side: str = ""
) -> Iterator[Companion]:
    """Yield what is so as well where a truth is; `about_side` is the side of what the case is about."""
    step = protocol.step_of.get(truth.step)
    if step is None or truth.unseen:
        return
    shown = _shown(step, truth)
    for each in fits:
        for finding in _matching(each, shown) if each.step == step.id else ():
            # At a step with sides no side means both.
            side = truth.side if step.sides else side_in(finding) or about_side
            for then in each.then:
                for made in _made(then, truth, side, protocol):
                    yield Companion(truth=made, follows=truth)


def _shown(step: Step, truth: Truth) -> frozenset[str]:
    """Return the findings that a truth names, and the classes of its reading."""
    classes: frozenset[str] = frozenset()
    if truth.reading and step.reading:
        with contextlib.suppress(ReadingError):
            classes = frozenset(readings.understood(step.reading, truth.reading).classes)
    return classes | frozenset(truth.findings)


def _matching(each: Fits, shown: frozenset[str]) -> list[str]:
    return [form for finding in each.findings for form in _forms(finding) if form in shown]


def _made(then: Then, truth: Truth, side: str, protocol: Protocol) -> Iterator[Truth]:
    """Yield a companion; where its words ask for a side and what it follows from is on both, one for each."""
    step = protocol.step_of.get(then.step)
    if step is None:
        return
    known: tuple[str, ...] = (side,)
    if not side and (_has_variable(then.finding) or _has_variable(then.seen)):
        known = SIDES if protocol.step_of[truth.step].sides else ()
    for each in known:
        finding = filled(then.finding, each)
        if not finding or finding in step.finding_of:
            yield Truth(
                step=step.id,
                side=_side(then, each) if step.sides else "",
                site=_site(then, truth, step),
                findings=(finding,) if finding else (),
                reading=then.reading,
                seen=filled(then.seen, each),
            )


def _side(then: Then, side: str) -> str:
    if then.side == OTHER:
        return OTHER_SIDE_OF.get(side, "")
    return {SAME: side, BOTH: ""}.get(then.side, then.side)


def _site(then: Then, truth: Truth, step: Step) -> str:
    if then.site in step.sites:
        return then.site
    return truth.site if not then.site and truth.site in step.sites else ""


# ------------------------------------------------------------------ reading


def fits_in(fields: Fields) -> tuple[Fits, ...]:
    """Return the `[[fits]]` tables of a description file."""
    return tuple(_fits(each) for each in fields.tables("fits", "[[fits]]"))


def _fits(fields: Fields) -> Fits:
    made = Fits(
        step=fields.id("step"),
        findings=fields.one_or_texts("finding"),
        why=fields.text("why", needed=True),
        then=tuple(_then(each) for each in fields.tables("then", "[[fits.then]]", needed=True)),
    )
    fields.close()
    return made


def _then(fields: Fields) -> Then:
    made = Then(
        step=fields.id("step"),
        finding=fields.text("finding"),
        reading=fields.text("reading"),
        seen=fields.text("seen"),
        side=fields.choice("side", _SIDES, default=SAME),
        site=fields.text("site"),
    )
    fields.close()
    return made


# What the protocol does not have cannot go together.


def unknown_in(fits: Sequence[Fits], protocol: Protocol) -> Iterator[Flaw]:
    """Yield what is wrong with the tables beside the protocol."""
    for number, each in enumerate(fits):
        at: Place = ("fits", number)
        yield from no_step(each.step, (*at, "step"), protocol)
        if step := protocol.step_of.get(each.step):
            yield from _no_trigger(each, step, at)
        for place, then in enumerate(each.then):
            yield from _of_then(then, (*at, "then", place), protocol)


def _no_trigger(each: Fits, step: Step, at: Place) -> Iterator[Flaw]:
    classes = tuple(readings.kind_of(step.reading).classes) if step.reading else ()
    known = (*step.finding_of, *classes)
    for finding in each.findings:
        if not set(_forms(finding)) <= set(known):
            yield _no_finding(step, finding, (*at, "finding"), known)


def _no_finding(step: Step, finding: str, at: Place, known: Sequence[str]) -> Flaw:
    hint = did_you_mean(finding, known) or (f"it has {listed(known)}" if known else "it has none")
    return Flaw(at=at, what=f"step {quoted(step.id)} has no finding {quoted(finding)}", hint=hint)


def _of_then(then: Then, at: Place, protocol: Protocol) -> Iterator[Flaw]:
    yield from no_step(then.step, (*at, "step"), protocol)
    if not (then.finding or then.reading or then.seen):
        hint = "write 'finding', 'reading' or 'seen'"
        yield Flaw(at=at, what="this says nothing about the step", hint=hint)
    if step := protocol.step_of.get(then.step):
        yield from _not_at(then, step, at)


def _not_at(then: Then, step: Step, at: Place) -> Iterator[Flaw]:
    """Yield what the step of a companion does not have: its finding, reading, side or site."""
    if then.finding and not set(_forms(then.finding)) <= set(step.finding_of):
        yield _no_finding(step, then.finding, (*at, "finding"), tuple(step.finding_of))
    if then.reading:
        yield from _no_reading(then, step, at)
    if then.side in (OTHER, *SIDES) and not step.sides:
        yield Flaw(at=(*at, "side"), what=f"step {quoted(step.id)} has no sides", hint="leave the key out")
    if then.site and then.site not in (*step.sites, *((ALL,) if step.sites else ())):
        hint = f"sites: {listed(step.sites)}" if step.sites else "this step has none: leave the key out"
        what = f"step {quoted(step.id)} has no site {quoted(then.site)}"
        yield Flaw(at=(*at, "site"), what=what, hint=hint)


def _no_reading(then: Then, step: Step, at: Place) -> Iterator[Flaw]:
    if step.reading is None:
        what = f"step {quoted(step.id)} takes no reading"
        yield Flaw(at=(*at, "reading"), what=what, hint="describe it in 'seen'")
        return
    try:
        readings.understood(step.reading, then.reading)
    except ReadingError as error:
        what = f"{quoted(then.reading)} is no such reading"
        yield Flaw(at=(*at, "reading"), what=what, hint=str(error))
