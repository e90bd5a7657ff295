"""Simulated patients made from a protocol and a seed: one picture, ordinary variants, decoys. Pure.

A picture is one pattern of the protocol, or one class of a computation, filled in so that everything fits.
What was made is examined without a flaw by the program's own reasoning: it counts only if exactly the picture
that was meant is complete, and nothing contradicts itself.
The same seed, protocol and version of the program give the same case.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from random import Random

from checklist.errors import ChecklistError
from checklist.measures import catalogue
from checklist.measures.reading import OTHER_SIDE_OF
from checklist.practice.cases import Case, Truth, flawless
from checklist.practice.companions import Household, whole, with_room
from checklist.practice.fits import Fits, filled
from checklist.practice.fitting import (
    INCONSISTENT,
    fitting,
    is_in_two_lights,
    ordinary,
    two_lights,
    with_companions,
)
from checklist.practice.pictures import RECIPES, Asked, Recipe, fallen, searched
from checklist.practice.rehearsal import drawn
from checklist.protocol.model import (
    OTHER_SIDE,
    OUTCOME_VALUES,
    SIDE,
    SIDES,
    Computed,
    Condition,
    Entry,
    Pattern,
    Protocol,
    Step,
)
from checklist.reasoning.facts import known
from checklist.reasoning.patterns import matches

_TRIES = 40
"""Attempts at one picture before another is tried."""
_MOST_FAILURES = 5
"""Attempts at a picture of which not even the parts were found."""
_MOST_SOUND = 6
"""Attempts that show the picture, while something that goes with it has to be left out."""
_LOOKS = 12
"""Attempts at one variant or decoy."""
_ACTS = ("tell", "hygiene")


class NoCaseError(ChecklistError):
    """No case can be made from what was asked for."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Picture:
    """What a case is to show: a pattern, or a class of a computation, for one side where it has one."""

    pattern: Pattern | None = None
    computed: Computed | None = None
    of_class: str = ""
    side: str = ""

    @property
    def name(self) -> str:
        """Return how it is asked for: `pattern-id:left`, `computation-id:class`."""
        if self.pattern:
            return ":".join(filter(None, (self.pattern.id, self.side)))
        return f"{self.computed.id if self.computed else ''}:{self.of_class}"


def pictures(protocol: Protocol) -> tuple[Picture, ...]:
    """Return all that a case of this protocol could show, in listed order."""
    return (*_of_patterns(protocol), *_of_computations(protocol))


def _of_patterns(protocol: Protocol) -> Iterator[Picture]:
    for pattern in protocol.patterns:
        if not pattern.contradiction:
            for side in SIDES if _isfilled(pattern) else ("",):
                yield Picture(pattern=pattern, side=side)


def _isfilled(pattern: Pattern) -> bool:
    texts = [pattern.consider]
    texts += [text for each in pattern.conditions for text in (each.side, each.site, *each.values)]
    return any(variable in text for text in texts for variable in (SIDE, OTHER_SIDE))


def _of_computations(protocol: Protocol) -> Iterator[Picture]:
    for computed in protocol.computed:
        for stem in RECIPES.get(computed.kind, {}):
            for side in SIDES:
                yield Picture(computed=computed, of_class=f"{stem}-{side}", side=side)


def generate(protocol: Protocol, seed: int, about: str = "", fits: Sequence[Fits] = ()) -> Case:
    """Return the case of a seed; `about` names the picture, and without it the seed chooses one.

    `fits` says what goes together in one person.
    Raises NoCaseError when there is nothing to make a case from.
    """
    rng = Random(f"{protocol.id}:{protocol.version}:{seed}")
    wanted = list(pictures(protocol))
    if about:
        named = [each for each in wanted if each.name == about]
        if not named:
            known_names = ", ".join(each.name for each in wanted) or "none"
            raise NoCaseError(f"no case can be about '{about}'; this protocol has: {known_names}")
        wanted = named
    rng.shuffle(wanted)
    for picture in wanted:
        if made := _made(Household(protocol=protocol, fits=fits, side=picture.side), picture, seed, rng):
            return made
    what = f"about '{about}'" if about else f"from the protocol '{protocol.id}'"
    raise NoCaseError(f"no consistent case could be made {what}; write one as a case file")


def _made(home: Household, picture: Picture, seed: int, rng: Random) -> Case | None:
    protocol, ages = home.protocol, home.protocol.audience.ages
    age = rng.choice(ages) if ages else ""
    empty = Case(
        id=f"seed-{seed}",
        title=f"Made from seed {seed}",
        protocol=protocol.id,
        story="",
        age=age,
        explains=_explains(picture),
    )
    best: tuple[Case, frozenset[Truth]] | None = None
    for case in _attempts(empty, protocol, picture, rng):
        made, left_out = _whole(home, case, picture)
        if best is None or len(left_out) < len(best[1]):
            best = made, left_out
        if not left_out:
            break
    if best is None:
        return None
    told = _told(protocol, best[0], seed)
    return _with_others(home, told, picture, best[1], rng)


def _attempts(empty: Case, protocol: Protocol, picture: Picture, rng: Random) -> Iterator[Case]:
    """Yield cases that show a picture, each made anew: a few, from which the one that fits best is taken."""
    failures = sound = 0
    for attempt in range(_TRIES):
        truths = _filled_in(protocol, picture, rng)
        if truths is None:
            failures += 1
            if failures == _MOST_FAILURES:
                return
            continue
        case = replace(empty, truths=with_companions(protocol, truths, attempt))
        measured = replace(case, truths=(*case.truths, *ordinary(protocol, case.truths, rng)))
        if shows_only(protocol, measured, picture):
            yield measured
            sound += 1
            if sound == _MOST_SOUND:
                return


def _whole(home: Household, case: Case, picture: Picture) -> tuple[Case, frozenset[Truth]]:
    """Return a case with what goes with its picture, and what was left out, as it would make another one."""
    quick, left_out = whole(home, case, lambda _: True)
    if shows_only(home.protocol, quick, picture):
        return quick, left_out
    return whole(home, case, lambda made: shows_only(home.protocol, made, picture))


# The story gives nothing away: who it is, where, and why an examination was asked for. All of it is invented.

# Each place has a door, a sign and chairs to wait on, and each reason is possible at each of them.
_PLACES = (
    "at a health centre",
    "at the practice of a small town",
    "at a teaching clinic",
    "at the day clinic of a hospital",
    "at a clinic in the suburbs",
)
_REASONS = (
    "A form asks for a check-up.",
    "The yearly check-up is due.",
    "An invitation to a check-up came by letter.",
    "A long journey is planned, and a check-up comes first.",
    "A relative had an appointment; a check-up was offered as well.",
    "The family asked for a check-up.",
    "A check-up was put off twice, and is done today.",
)
_AGREES = (
    "Agrees to all of it.",
    "Knows what will be done, and agrees.",
    "Has time for all of it, and agrees.",
)
_CAN_BE_PREGNANT = "of an age to be pregnant"
"""Part of `only_if`: such a step in a case says who it is about."""


def _told(protocol: Protocol, case: Case, seed: int) -> Case:
    """Return a case with its story, and with an age at which its steps make sense."""
    conditions = [protocol.step_of[truth.step].only_if for truth in case.truths]
    who, age = "a person", case.age
    if any(_CAN_BE_PREGNANT in each for each in conditions):
        who, age = "a woman", next(iter(protocol.audience.ages), "")
    place, reason, agrees = (
        drawn(f"{protocol.id} {seed}", texts)[0] for texts in (_PLACES, _REASONS, _AGREES)
    )
    aged = f" aged {age}" if age else ""
    story = f"Invented: {who}{aged}, {place}. {reason} Examination asked for: {protocol.title}. {agrees}"
    return replace(case, story=story, age=age)


def _explains(picture: Picture) -> str:
    if picture.pattern is None:
        title = picture.computed.title if picture.computed else ""
        return f"{title}: {picture.of_class.replace('-', ' ')}"
    return filled(picture.pattern.consider, picture.side)


def shows_only(protocol: Protocol, case: Case, picture: Picture) -> bool:
    """Whether a flawless examination completes this picture alone, and nothing contradicts itself."""
    # The other steps are many, and none of this rests on them.
    found = known(flawless(case, protocol, protocol.steps_put_together))
    complete = {(match.pattern.id, match.side) for match in matches(protocol, found)}
    meant = {(picture.pattern.id, picture.side)} if picture.pattern else set()
    classes = {
        each.id: frozenset(found[each.id].together.classes)  # type: ignore[union-attr]
        for each in protocol.computed
        if each.id in found
    }
    if picture.computed and picture.of_class not in classes.get(picture.computed.id, ()):
        return False
    return complete == meant and not any(of & INCONSISTENT for of in classes.values())


# The picture itself.


def _filled_in(protocol: Protocol, picture: Picture, rng: Random) -> tuple[Truth, ...] | None:
    """Return truths that complete the picture, as far as its conditions tell; None where none can be."""
    if picture.pattern is None:
        assert picture.computed is not None
        return _of_computed(protocol, picture.computed, (picture.of_class,), picture.side, rng)
    pattern, side = picture.pattern, picture.side
    truths: list[Truth] = [*_in_two_lights(protocol, pattern, side)]
    measured = {truth.step for truth in truths}
    for condition in pattern.every:
        if condition.step in measured:
            continue
        chosen = _of_condition(protocol, condition, side, rng)
        if chosen is None:
            return None
        truths += chosen
    if pattern.some:
        chosen = _one_of(protocol, pattern.some, truths, side, rng)
        if chosen is None:
            return None
        truths += chosen
    return _merged(truths)


def _in_two_lights(protocol: Protocol, pattern: Pattern, side: str) -> Iterator[Truth]:
    """Yield both pupils in two lights, where the pattern asks how they compare."""
    for step in filter(is_in_two_lights, protocol):
        asked = [each for each in pattern.every if each.step == step.id]
        values = {filled(value, side) for each in asked for value in each.values}
        larger = [each for each in SIDES if f"{each}-larger" in values]
        trends = [each for each in ("larger-in-dark", "larger-in-light") if each in values]
        if len(larger) == 1 and trends:
            yield from two_lights(step, OTHER_SIDE_OF[larger[0]], trends[0])


def _one_of(
    protocol: Protocol, some: Sequence[Condition], so_far: Sequence[Truth], side: str, rng: Random
) -> tuple[Truth, ...] | None:
    """Return truths for one of the conditions: of an eye that conducts no light, that it sees less."""
    conditions = list(some)
    rng.shuffle(conditions)
    # What is done only if indicated comes last: something else would have to indicate it.
    conditions.sort(key=lambda each: _is_conditional(protocol, each.step))
    blind = any(_kind_in(protocol, each.step) == "light-reflexes" and each.findings for each in so_far)
    if blind:
        conditions.sort(key=lambda each: _reading_kind(protocol, each.step) != "distance-acuity")
    for condition in conditions:
        chosen = _of_condition(protocol, condition, side, rng)
        if chosen and _merged((*so_far, *chosen)) is not None:
            return chosen
    return None


def _is_conditional(protocol: Protocol, name: str) -> bool:
    return name in protocol.step_of and bool(protocol.step_of[name].only_if)


def _kind_in(protocol: Protocol, step: str) -> str:
    """Return the kind of the computation that takes the step as other than its last input."""
    for computed in protocol.computed:
        if step in [name for key, name in computed.inputs if key in ("direct", "consensual")]:
            return computed.kind
    return ""


def _reading_kind(protocol: Protocol, step: str) -> str:
    found = protocol.step_of.get(step)
    return found.reading.kind if found and found.reading else ""


def _of_condition(
    protocol: Protocol, condition: Condition, side: str, rng: Random
) -> tuple[Truth, ...] | None:
    values = [filled(value, side) for value in condition.values]
    rng.shuffle(values)
    step = protocol.step_of.get(condition.step)
    if step is None:
        computed = next(each for each in protocol.computed if each.id == condition.step)
        return _of_computed(protocol, computed, values, side, rng)
    wanted_side, site = filled(condition.side, side), condition.site
    if step.sides and not wanted_side:
        wanted_side = side or rng.choice(SIDES)
    if step.sites and not site:
        site = rng.choice(step.sites)
    for value in values:
        if (truth := _so(step, wanted_side if step.sides else "", site, value)) is not None:
            return truth
    return None


def _so(step: Step, side: str, site: str, value: str) -> tuple[Truth, ...] | None:
    """Return the truth that makes one value so at a step; nothing is needed for what is as expected."""
    if value == OUTCOME_VALUES[0]:
        return ()
    if value in step.finding_of:
        reading = fitting(step, value)
        if reading is None:
            return None
        return (Truth(step=step.id, side=side, site=site, findings=(value,), reading=reading),)
    if value == OUTCOME_VALUES[1] or step.reading is None:
        return None
    reading = fitting(step, value)
    return (Truth(step=step.id, side=side, site=site, reading=reading),) if reading else None


def _of_computed(
    protocol: Protocol, computed: Computed, values: Sequence[str], side: str, rng: Random
) -> tuple[Truth, ...] | None:
    steps = {name: protocol.step_of[step] for name, step in computed.inputs}
    kind = catalogue.COMPUTATIONS[computed.kind]
    given = catalogue.options(kind, dict(computed.options), computed.source)
    recipes: Mapping[str, Recipe] = RECIPES.get(computed.kind, {})
    for value in values:
        stem, _, of_side = value.rpartition("-")
        if stem in recipes and of_side in SIDES:
            made = recipes[stem](Asked(computed.kind, steps, given, of_side, rng))
        elif computed.kind == "orthostatic-change":
            made = fallen(Asked(computed.kind, steps, given, side, rng), value)
        else:
            made = searched(Asked(computed.kind, steps, given, side, rng), value)
        if made:
            return made
    return None


def _merged(truths: Sequence[Truth]) -> tuple[Truth, ...] | None:
    """Return the truths without repetition; None where two say something different of one entry."""
    by_entry: dict[tuple[str, str, str], Truth] = {}
    for truth in truths:
        key = (truth.step, truth.side, truth.site)
        if key in by_entry and by_entry[key] != truth:
            return None
        by_entry[key] = truth
    return tuple(by_entry.values())


# What stands beside the picture.


def _with_others(
    home: Household, case: Case, picture: Picture, left_out: frozenset[Truth], rng: Random
) -> Case:
    """Add what is ordinary elsewhere, and what draws attention near the picture; both only noted.

    What clashes with what stands, itself or by what goes with it, is not added.
    """
    protocol = home.protocol
    taken = {each.step for each in case.truths if each.findings}
    taken |= _computed_from(protocol, picture)
    asked = protocol.steps_put_together
    elsewhere = [step for step in _with_a_note(protocol) if step.id not in asked | taken]
    near = [step for step in _with_a_note(protocol) if step.id in asked - taken]

    def fitting_in(added: Case | None) -> Case | None:
        made = with_room(home, added, left_out) if added else None
        if made is None:
            return None
        changed = {*made.truths, *made.decoys} ^ {*case.truths, *case.decoys}
        # What no pattern and no computation asks about changes none of them.
        is_apart = not {each.step for each in changed} & asked
        return made if is_apart or shows_only(protocol, made, picture) else None

    for steps, is_decoy, most in ((elsewhere, False, 3), (near, True, 2)):
        for _ in range(rng.randint(1, most) if steps else 0):
            tried = (fitting_in(_added(case, steps, is_decoy, rng)) for _ in range(_LOOKS))
            case = next((each for each in tried if each), case)
    return case


def _computed_from(protocol: Protocol, picture: Picture) -> set[str]:
    """Return the steps of the computations that the picture rests on: nothing else may differ there."""
    names = {each.step for each in picture.pattern.conditions} if picture.pattern else set()
    computed = [each for each in protocol.computed if each == picture.computed or each.id in names]
    return {step for each in computed for _, step in each.inputs}


def _with_a_note(protocol: Protocol) -> list[Step]:
    """Return the steps at which something can differ that needs only to be written down."""
    return [
        step for step in protocol if not step.only_if and step.technique not in _ACTS and any(_notes(step))
    ]


def _notes(step: Step) -> Iterator[tuple[str, str]]:
    """Yield the findings of a step that are only noted, each with the reading that fits it."""
    for finding in step.findings:
        reading = fitting(step, finding.id)
        if finding.tell == "note" and reading is not None:
            yield finding.id, reading


def _added(case: Case, steps: Sequence[Step], is_decoy: bool, rng: Random) -> Case | None:
    """Add one finding at one entry; None where more than an ordinary reading stands there already."""
    step = rng.choice(steps)
    entry = rng.choice(step.entries)
    finding, reading = rng.choice(list(_notes(step)))
    said = [each for each in (*case.truths, *case.decoys) if each.step == step.id]
    if any(each.findings for each in said) or any(
        (each.seen or each.unseen) and each.is_at(entry) for each in said
    ):
        return None
    truth = Truth(step=step.id, side=entry.side, site=entry.site, findings=(finding,), reading=reading)
    # The ordinary reading of the entry makes room; where one is said of several entries, for this one.
    kept = tuple(part for each in case.truths for part in _but_at(each, step, entry))
    if is_decoy:
        return replace(case, truths=kept, decoys=(*case.decoys, truth))
    return replace(case, truths=(*kept, truth))


def _but_at(truth: Truth, step: Step, entry: Entry) -> tuple[Truth, ...]:
    """Return what a truth says of the other entries of a step; all of it where it is about another."""
    if truth.step != step.id or not truth.is_at(entry):
        return (truth,)
    return tuple(
        replace(truth, side=each.side, site=each.site)
        for each in step.entries
        if each != entry and truth.is_at(each)
    )
