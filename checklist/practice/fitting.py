"""Readings for simulated patients: ordinary ones, and ones that go with a finding. Invented values, pure.

The values are examples; whether one is in range is decided by the kind of reading with the protocol's limits.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from random import Random

from checklist.measures.reading import OTHER_SIDE_OF, Meaning, ReadingError
from checklist.practice.cases import There, Truth
from checklist.protocol.model import SIDES, Entry, Protocol, Step
from checklist.session import readings

INCONSISTENT = frozenset(
    (
        "whisper-disagrees",
        "inconsistent",
        "unclear",
        "not-explained",
        "swinging-contradicts",
        *(f"weber-contradicts-rinne-{side}" for side in SIDES),
    )
)
"""Classes of computations that say that their inputs do not fit each other."""

_SAMPLES: Mapping[str, tuple[str, ...]] = {
    "blood-pressure": ("116/72", "122/76", "124/78", "84/50", "168/98"),
    "body-height": ("168 cm", "172 cm", "175 cm"),
    "body-weight": ("63 kg", "66 kg", "68 kg"),
    "breathing-gas": ("air",),
    "capillary-refill": ("1.5 s", "2 s", "4 s"),
    "consciousness": ("alert", "new confusion", "voice"),
    "distance-acuity": ("20/20 sc", "20/25 sc", "20/60 sc", "20/100 sc", "20/400 sc"),
    "jaw-opening": ("44 mm", "47 mm", "50 mm", "24 mm"),
    "liver-span": ("8 cm", "9 cm", "10 cm", "14 cm"),
    "near-acuity": ("N5 at 40 cm", "N6 at 40 cm", "N12 at 40 cm"),
    "oxygen-saturation": ("96 %", "97 %", "98 %", "89 %"),
    "pain-score": ("0", "0/10", "7"),
    "pulse-rate": ("64", "70", "76", "128"),
    "pulse-strength": ("2+",),
    "pupil-size": ("3 mm", "3.5 mm", "4 mm"),
    "respiratory-rate": ("14", "15", "16", "27"),
    "temperature": ("36.6 C", "36.8 C", "37.0 C", "39.2 C"),
    "tonsil-grade": ("1+", "2+", "3+", "4+"),
    "whispered-voice": ("3/3", "1/3 1/3", "0/3 1/3"),
}
"""By kind of reading, ordinary ones first."""

_GOES_WITH: Mapping[tuple[str, str], str] = {
    ("whispered-voice", "known"): "1/3 1/3",
    ("whispered-voice", "sudden"): "0/3 1/3",
    ("distance-acuity", "two-lines"): "20/60 sc",
    ("distance-acuity", "no-line"): "20/400 sc",
    ("distance-acuity", "sudden-loss"): "20/400 sc",
    ("jaw-opening", "limited-swollen"): "24 mm",
    ("tonsil-grade", "larger"): "3+",
}
"""By kind of reading and finding, where no class of the reading has the finding's name."""

_LARGE_PUPIL_MM, _NEAR_PUPIL_MM, _NEXT_PUPIL_MM, _SMALL_PUPIL_MM = "5.5 mm", "4 mm", "3.5 mm", "3 mm"
_IN_TWO_LIGHTS_MM: Mapping[str, tuple[tuple[str, str], tuple[str, str]]] = {
    "larger-in-dark": (("2.5", "4.5"), ("3", "6")),
    "larger-in-light": (("2.5", "5.5"), ("5", "6")),
}
"""By class, the smaller and the larger pupil, each in bright and in dim light."""


def _meaning(step: Step, text: str) -> Meaning | None:
    assert step.reading is not None
    try:
        return readings.understood(step.reading, text)
    except ReadingError:
        return None


def _samples(step: Step) -> Sequence[tuple[str, Meaning]]:
    if step.reading is None:
        return ()
    texts = _SAMPLES.get(step.reading.kind, ())
    return [(meaning.text, meaning) for text in texts if (meaning := _meaning(step, text))]


def fitting(step: Step, value: str) -> str | None:
    """Return a reading that goes with a finding or a class of a step; None where one is needed and not known.

    It is empty where none need be typed.
    """
    if step.reading is None:
        return ""
    named = _GOES_WITH.get((step.reading.kind, value), "")
    if named and (meaning := _meaning(step, named)):
        return meaning.text
    of_class = [text for text, meaning in _samples(step) if value in meaning.classes]
    if of_class:
        return of_class[0]
    return None if readings.is_wanted(step) or value not in step.finding_of else ""


def ordinary(protocol: Protocol, truths: Sequence[Truth], rng: Random) -> tuple[Truth, ...]:
    """Return an ordinary reading for every entry that wants one and has none; both sides alike."""
    made: list[Truth] = []
    for step in protocol:
        texts = [text for text, meaning in _samples(step) if not meaning.tell]
        if not texts or step.only_if or not readings.is_wanted(step):
            continue
        text = rng.choice(texts)
        made += [
            Truth(step=step.id, side=entry.side, site=entry.site, reading=text)
            for entry in step.entries
            if not any(each.step == step.id and each.is_at(entry) for each in truths)
        ]
    return tuple(made)


ThereBy = Mapping[tuple[str, str], There]
_EQUAL_PUPILS_MM = {"bright": "3", "dim": "5"}


def with_values_if_done(protocol: Protocol, there: ThereBy) -> dict[tuple[str, str], There]:
    """Return what is there, with a value for each step that the case does not name and that may be done.

    A step that is done only if indicated is no part of such a case, yet who does it all the same reads
    something off: what was read at rest, at the other place, or an ordinary value. The same goes for one of
    which the case only words what is as expected.
    """
    found = dict(there)
    for step in protocol:
        if not step.only_if or not readings.is_wanted(step):
            continue
        for entry in step.entries:
            named = there.get((step.id, entry.key), There(step=step, entry=entry))
            is_open = named.is_as_expected and not named.reading
            if is_open and (reading := _if_done(step, entry, there)):
                found[step.id, entry.key] = replace(named, reading=reading, is_if_done=True)
    return found


def _if_done(step: Step, entry: Entry, there: ThereBy) -> str:
    assert step.reading is not None
    same = [
        each
        for each in there.values()
        if each.reading and each.step.reading and each.step.reading.kind == step.reading.kind
    ]
    if is_in_two_lights(step):
        if len({each.reading for each in same}) > 1:
            return ""  # Unequal in room light: by how much in two lights is not known.
        given = readings.options_of(step.reading)
        return _EQUAL_PUPILS_MM["dim" if entry.site in given.texts("dim_sites") else "bright"]
    texts = [each.reading for each in same if not entry.side or each.entry.side in ("", entry.side)]
    texts += [text for text, meaning in _samples(step) if not meaning.tell]
    return next((text for text in texts if _meaning(step, text)), "")


def with_companions(protocol: Protocol, truths: tuple[Truth, ...], attempt: int = 0) -> tuple[Truth, ...]:
    """Add what goes with a picture, and hide what lies behind a block.

    Unequal pupils get their sizes, a small pupil with a droop its lid, a step that is done only if indicated
    what indicates it (another with each attempt), a pressure after standing up what is measured next.
    """
    made = [*truths, *_small_with_droop(protocol, truths)]
    made += [each for side in SIDES for each in _unequal(protocol, made, side)]
    made += _fixed_pupils(protocol, made)
    made += _still_standing(protocol, made)
    made += [each for truth in truths for each in _indicated(protocol, truth, made, attempt)]
    made += [hidden for truth in truths for hidden in _hidden(protocol, truth)]
    return tuple(each for each in dict.fromkeys(made) if _can_be_read(protocol, each))


def _can_be_read(protocol: Protocol, truth: Truth) -> bool:
    """Whether a step takes the reading of a truth: a gauge of whole millimetres has no halves."""
    step = protocol.step_of[truth.step]
    return not truth.reading or (step.reading is not None and _meaning(step, truth.reading) is not None)


_INDICATED_BY: Mapping[str, tuple[tuple[str, str, tuple[str, ...]], ...]] = {
    "breathe-under-ribs": (("feel-light", "right upper quadrant", ("tender",)),),
    "percuss-shifting-dullness": (
        ("inspect-contour", "", ("distended",)),
        ("percuss-quadrants", "right lower quadrant", ("dull-patch", "dull")),
    ),
}
"""Id of a step that is done only if indicated → step, site and findings that indicate it, any one of them.

`only_if` is for people, so that what it asks for is written here again; in the other pictures that rest on
such a step, the picture itself indicates it.
"""


def _indicated(protocol: Protocol, truth: Truth, so_far: Sequence[Truth], attempt: int) -> Iterator[Truth]:
    """Yield what indicates the step of a truth, where nothing of it is so yet."""
    listed = [
        (step, site, finding)
        for step, site, findings in _INDICATED_BY.get(truth.step, ())
        for finding in findings
        if step in protocol.step_of and finding in protocol.step_of[step].finding_of
    ]
    is_so = any(
        each.step == step and finding in each.findings for each in so_far for step, _, finding in listed
    )
    if listed and not is_so:
        step, site, finding = listed[attempt % len(listed)]
        has_site = site in protocol.step_of[step].sites
        yield Truth(step=step, site=site if has_site else "", findings=(finding,))


_PRESSURE_LATER, _PULSE_STANDING = "112/72", "84"
"""Three minutes after standing up; a rise by less than 30 a minute."""


def _still_standing(protocol: Protocol, truths: Sequence[Truth]) -> Iterator[Truth]:
    """Yield ordinary readings for the other steps that belong to standing up, once one of them is named."""
    named = {truth.step for truth in truths}
    changes = [dict(each.inputs) for each in protocol.computed if each.kind == "orthostatic-change"]
    if not any(each["standing"] in named for each in changes):
        return
    for inputs in changes:
        for step, reading in (
            (inputs["standing"], _PRESSURE_LATER),
            (inputs.get("standing_pulse"), _PULSE_STANDING),
        ):
            if step and step not in named:
                yield Truth(step=step, reading=reading)


def _unequal(protocol: Protocol, truths: Sequence[Truth], smaller: str) -> Iterator[Truth]:
    """Yield the sizes of unequal pupils, when the one of this side is the smaller, and the lid beside it."""
    larger = OTHER_SIDE_OF[smaller]
    findings = {finding for truth in truths for finding in truth.findings}
    if f"{smaller}-small-droop" in findings:
        yield from _droops(protocol, smaller)
        yield from _sizes(protocol, larger, _NEAR_PUPIL_MM)
    elif f"{larger}-larger" in findings:
        yield from _sizes(protocol, larger)
        for step in filter(is_in_two_lights, protocol):
            yield from two_lights(step, smaller, "larger-in-light")
    elif any(truth.side == smaller and _SLOW in truth.findings for truth in truths):
        yield from _sizes(protocol, larger, _NEXT_PUPIL_MM)


_BLOCKS = "blocks the view"


def _hidden(protocol: Protocol, truth: Truth) -> Iterator[Truth]:
    """Yield that what lies behind a finding that blocks the view cannot be seen on that side."""
    step = protocol.step_of[truth.step]
    if not any(_BLOCKS in step.finding_of[finding].label for finding in truth.findings):
        return
    steps = protocol.section_of[step.id].steps
    for later in steps[steps.index(step) + 1 :]:
        if later.may_be_unseen and later.sides and not later.only_if:
            yield Truth(step=later.id, side=truth.side, unseen=True)


def _fixed_pupils(protocol: Protocol, truths: Sequence[Truth]) -> list[Truth]:
    """Return that a pupil which no light moves, in either eye, is larger and does not move to near either.

    Only the nerve out of the brain and the iris are left to explain it, and both serve near as well: standard
    anatomy, from memory.
    """
    steps_of = {each.kind: dict(each.inputs) for each in protocol.computed}
    light, pupils = steps_of.get("light-reflexes", {}), steps_of.get("pupil-summary", {})
    still = {(each.step, each.side) for each in truths if _STILL in each.findings}
    made: list[Truth] = []
    for side, other in (SIDES, SIDES[::-1]):
        own, from_other = (light.get("direct", ""), side), (light.get("consensual", ""), other)
        moves = {(light.get("direct", ""), other), (light.get("consensual", ""), side)}
        if {own, from_other} <= still and not moves & still:
            made += _as_found(protocol, pupils.get("near", ""), side, _STILL)
            larger = _as_found(protocol, pupils.get("compare", ""), "", f"{side}-larger")
            made += (*larger, *(_sizes(protocol, side) if larger else ()))
    return made


_STILL = "none"


def _as_found(protocol: Protocol, step: str, side: str, finding: str) -> list[Truth]:
    has_it = step in protocol.step_of and finding in protocol.step_of[step].finding_of
    return [Truth(step=step, side=side, findings=(finding,))] if has_it else []


_DROOP, _SLOW = "droop-new", "slow-to-widen"


def _droops(protocol: Protocol, side: str) -> Iterator[Truth]:
    for step in protocol:
        if _DROOP in step.finding_of and step.sides and not step.only_if:
            yield Truth(step=step.id, side=side, findings=(_DROOP,))


def _sizes(protocol: Protocol, larger: str, large: str = _LARGE_PUPIL_MM) -> Iterator[Truth]:
    for step in protocol:
        if step.reading and step.reading.kind == "pupil-size" and not step.only_if:
            for entry in step.entries:
                size = large if entry.side == larger else _SMALL_PUPIL_MM
                yield Truth(step=step.id, side=entry.side, site=entry.site, reading=size)


def _small_with_droop(protocol: Protocol, truths: Sequence[Truth]) -> Iterator[Truth]:
    """Yield that a pupil which widens less is seen to be the smaller one, where a new droop is beside it."""
    slow = {each.side for each in truths if _SLOW in each.findings}
    for truth in truths:
        finding = f"{truth.side}-small-droop"
        if truth.side in slow and _DROOP in truth.findings:
            for step in protocol:
                yield from _as_found(protocol, step.id, "", finding)


def is_in_two_lights(step: Step) -> bool:
    """Whether pupils are measured at a step in bright and in dim light."""
    if step.reading is None or step.reading.kind != "pupil-size" or not step.sides:
        return False
    return readings.options_of(step.reading).flag("sites_are_light")


def two_lights(step: Step, smaller: str, trend: str) -> Iterator[Truth]:
    """Yield the sizes of unequal pupils that differ more in the dark, or more in the light.

    The one that widens or narrows less shows it where it should have done so.
    """
    assert step.reading is not None
    given = readings.options_of(step.reading)
    at_fault = ("larger-in-dark", "dim", True, _SLOW), ("larger-in-light", "bright", False, "large")
    for entry in step.entries:
        light = "dim" if entry.site in given.texts("dim_sites") else "bright"
        is_smaller = entry.side == smaller
        size = _IN_TWO_LIGHTS_MM[trend][not is_smaller][light == "dim"]
        findings = tuple(
            finding
            for *here, finding in at_fault
            if here == [trend, light, is_smaller] and finding in step.finding_of
        )
        yield Truth(step=step.id, side=entry.side, site=entry.site, findings=findings, reading=size)
