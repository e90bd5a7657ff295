"""A made case that holds together: what goes with its truths is added until nothing is missing. Pure.

A companion takes the place of an ordinary reading, and of a plain finding that was chosen for the picture:
a loss becomes one that came suddenly. Whether the picture still stands is for the caller to say.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from checklist.measures.reading import ReadingError
from checklist.practice.cases import Case, Truth
from checklist.practice.fits import Companion, Fits, following
from checklist.practice.fitting import fitting
from checklist.protocol.model import Entry, Protocol, Step
from checklist.session import readings

_MOST = 120
"""Companions of one case: far more than any person has; only to end in any case."""
Accepts = Callable[[Case], bool]


@dataclass(frozen=True, kw_only=True, slots=True)
class Household:
    """What is needed to say what goes together in one case."""

    protocol: Protocol
    fits: Sequence[Fits]
    side: str = ""
    """The side of what the case is about."""


def whole(home: Household, case: Case, accepts: Accepts) -> tuple[Case, frozenset[Truth]]:
    """Return a case with what goes with its picture, and what had to be left out."""
    base, refused = case, frozenset[Truth]()
    swapped: frozenset[Truth] = frozenset()
    placed: frozenset[Truth] = frozenset()
    for _ in range(_MOST):
        wanted = _missing(home, case, refused)
        if wanted is None:
            break
        # What is missing again was taken away by another companion: the two cannot both be.
        is_new = wanted.truth not in placed
        if is_new and (made := _instead(home, base, wanted)) and accepts(made):
            # Something else stands in the picture: what followed from what stood there goes with it.
            base = case = made
            swapped |= {wanted.truth}
            placed = swapped
        elif is_new and (made := _placed(home, case, wanted, beside=True)) and accepts(made):
            case = made
            placed |= {wanted.truth}
        else:
            refused |= {wanted.truth}
    return case, refused


def _instead(home: Household, base: Case, wanted: Companion) -> Case | None:
    """Return the picture with a companion in the place of another finding; None where no such one stands."""
    step = home.protocol.step_of[wanted.truth.step]
    stands = [each for each in _at(base, step, wanted.truth) if each.findings]
    if not wanted.truth.findings or not stands or _is_of_one_entry(wanted, step):
        return None
    if any(set(wanted.truth.findings) <= set(each.findings) for each in stands):
        return None
    return _placed(home, base, wanted, beside=False)


def with_room(home: Household, case: Case, refused: frozenset[Truth]) -> Case | None:
    """Return a case with what goes with what was added; None where it clashes with what stands."""
    for _ in range(_MOST):
        wanted = _missing(home, case, refused)
        if wanted is None:
            return case
        step = home.protocol.step_of[wanted.truth.step]
        is_own = _is_of_one_entry(wanted, step)
        stands = [each for each in _at(case, step, wanted.truth) if not _is_plain(step, each)]
        if (wanted.truth.findings or wanted.truth.reading) and stands and not is_own:
            return None
        if any(step.finding_of[each].tell != "note" for each in wanted.truth.findings):
            return None
        made = _placed(home, case, wanted, beside=True)
        if made is None:
            return None
        case = made
    return None


def _missing(home: Household, case: Case, refused: frozenset[Truth]) -> Companion | None:
    """Return the first companion that is not in the case yet."""
    for companion in _companions(home, case):
        step = home.protocol.step_of[companion.truth.step]
        if companion.truth not in refused and not all(
            _holds(step, companion, _content(case, step, entry))
            for entry in filter(companion.truth.is_at, step.entries)
        ):
            return companion
    return None


def _companions(home: Household, case: Case) -> Iterator[Companion]:
    for truth in (*case.truths, *case.decoys):
        yield from following(home.fits, home.protocol, truth, home.side)


def _is_of_one_entry(wanted: Companion, step: Step) -> bool:
    """Whether a companion is at the entry from which it follows, so that both stand there."""
    follows = wanted.follows
    return follows.step == step.id and any(
        wanted.truth.is_at(entry) for entry in filter(follows.is_at, step.entries)
    )


# What stands at one entry.


def _at(case: Case, step: Step, truth: Truth) -> list[Truth]:
    entries = filter(truth.is_at, step.entries)
    return [found for entry in entries if (found := _content(case, step, entry))]


def _content(case: Case, step: Step, entry: Entry) -> Truth | None:
    """Return all that a case says of one entry, as one truth of it."""
    said = [each for each in (*case.truths, *case.decoys) if each.step == step.id and each.is_at(entry)]
    if not said:
        return None
    return Truth(
        step=step.id,
        side=entry.side,
        site=entry.site,
        findings=tuple(dict.fromkeys(finding for each in said for finding in each.findings)),
        reading=next((each.reading for each in reversed(said) if each.reading), ""),
        seen=" ".join(dict.fromkeys(each.seen for each in said if each.seen)),
        unseen=any(each.unseen for each in said),
    )


def _is_plain(step: Step, content: Truth) -> bool:
    """Whether nothing but an ordinary reading stands there."""
    return not (content.findings or content.seen or content.unseen or _is_out_of_range(step, content.reading))


def _is_out_of_range(step: Step, reading: str) -> bool:
    if not reading or step.reading is None:
        return False
    return bool(readings.understood(step.reading, reading).tell)


def _holds(step: Step, companion: Companion, content: Truth | None) -> bool:
    """Whether a companion is so at an entry; what cannot be seen need not be so."""
    wanted = companion.truth
    if content is None:
        return False
    if content.unseen or _is_moot(companion, content):
        return True
    return (
        set(wanted.findings) <= set(content.findings)
        and (not wanted.reading or _reads_alike(step, wanted.reading, content.reading))
        and wanted.seen in content.seen
    )


def _is_moot(companion: Companion, content: Truth) -> bool:
    """Whether a companion only words what is as expected, where something differs by itself."""
    wanted, follows = companion.truth, companion.follows
    is_own = follows.step == wanted.step and follows.findings == content.findings
    return not (wanted.findings or wanted.reading or is_own) and bool(content.findings)


def _reads_alike(step: Step, one: str, other: str) -> bool:
    if step.reading is None or not other:
        return False
    try:
        return readings.understood(step.reading, one).text == readings.understood(step.reading, other).text
    except ReadingError:
        return False


# Placing a companion.


def _placed(home: Household, case: Case, wanted: Companion, *, beside: bool) -> Case | None:
    """Return a case with a companion at all of its entries; None where one of them has no room.

    With `beside`, findings that stand there stay; else the companion takes their place.
    """
    step = home.protocol.step_of[wanted.truth.step]
    made: list[Truth] = []
    for entry in step.entries:
        content = _content(case, step, entry)
        if wanted.truth.is_at(entry):
            content = _joined(step, entry, wanted, content, beside=beside)
            if content is None:
                return None
        if content:
            made.append(content)
    return _with_step(case, step, _together(step, made))


def _joined(
    step: Step, entry: Entry, companion: Companion, content: Truth | None, *, beside: bool
) -> Truth | None:
    wanted = companion.truth
    here = content or Truth(step=step.id, side=entry.side, site=entry.site)
    if here.unseen or _is_moot(companion, here):
        return here
    if wanted.findings:
        return _with_finding(step, wanted, here, beside=beside)
    has_reading = bool(wanted.reading) and not _reads_alike(step, wanted.reading, here.reading)
    if here.seen and wanted.seen not in here.seen:
        return None
    return replace(
        here,
        reading=wanted.reading if has_reading else here.reading,
        seen=wanted.seen or here.seen,
    )


def _with_finding(step: Step, wanted: Truth, here: Truth, *, beside: bool) -> Truth | None:
    reading = wanted.reading or _reading_with(step, wanted.findings[0], here)
    if reading is None:
        return None
    if not here.findings or not beside or set(wanted.findings) == set(here.findings):
        return replace(here, findings=wanted.findings, reading=reading, seen=wanted.seen)
    findings = tuple(dict.fromkeys((*here.findings, *wanted.findings)))
    seen = " ".join(dict.fromkeys(filter(None, (here.seen, wanted.seen))))
    return replace(here, findings=findings, reading=wanted.reading or here.reading or reading, seen=seen)


def _reading_with(step: Step, finding: str, here: Truth) -> str | None:
    """Return the reading beside a finding: one that is out of range stays; None where one is needed."""
    fits = fitting(step, finding)
    if fits and (here.findings or not _is_out_of_range(step, here.reading)):
        return fits
    return here.reading or fits


def _together(step: Step, made: list[Truth]) -> list[Truth]:
    """Return one truth for all entries of a step, where the same is so at each of them."""
    plain = [replace(each, side="", site="") for each in made]
    if len(made) == len(step.entries) and len(set(plain)) == 1:
        return plain[:1]
    return made


def _with_step(case: Case, step: Step, made: list[Truth]) -> Case:
    """Return a case that says this of a step, and nothing else of it; decoys stay decoys where only noted."""
    decoys = [each for each in case.decoys if each.step == step.id]

    def is_decoy(truth: Truth) -> bool:
        is_noted = all(step.finding_of[finding].tell == "note" for finding in truth.findings)
        return is_noted and any(_overlap(step, each, truth) for each in decoys)

    return replace(
        case,
        truths=(
            *(each for each in case.truths if each.step != step.id),
            *(each for each in made if not is_decoy(each)),
        ),
        decoys=(
            *(each for each in case.decoys if each.step != step.id),
            *(each for each in made if is_decoy(each)),
        ),
    )


def _overlap(step: Step, one: Truth, other: Truth) -> bool:
    return any(one.is_at(entry) and other.is_at(entry) for entry in step.entries)
