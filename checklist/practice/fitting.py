"""Readings for simulated patients: ordinary ones, and ones that go with a finding. Invented values, pure.

The values are examples; whether one is in range is decided by the kind of reading with the protocol's limits.
"""

from collections.abc import Iterator, Mapping, Sequence
from random import Random

from checklist.measures.reading import Meaning, ReadingError
from checklist.practice.cases import Truth
from checklist.protocol.model import SIDES, Protocol, Step
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

_LARGE_PUPIL_MM, _SMALL_PUPIL_MM = "5.5 mm", "3 mm"


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


def with_companions(protocol: Protocol, truths: tuple[Truth, ...]) -> tuple[Truth, ...]:
    """Give unequal pupils their sizes, a small pupil with a droop its lid; hide what lies behind a block."""
    right, left = SIDES
    made = list(truths)
    for side, other in ((right, left), (left, right)):
        has_droop = any(f"{side}-small-droop" in each.findings for each in truths)
        if has_droop:
            made += _droops(protocol, side)
        if has_droop or any(f"{other}-larger" in each.findings for each in truths):
            made += _sizes(protocol, other)
    made += _fixed_pupils(protocol, made)
    made += [hidden for truth in truths for hidden in _hidden(protocol, truth)]
    return tuple(made)


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


_DROOP = "droop-new"


def _droops(protocol: Protocol, side: str) -> Iterator[Truth]:
    for step in protocol:
        if _DROOP in step.finding_of and step.sides and not step.only_if:
            yield Truth(step=step.id, side=side, findings=(_DROOP,))


def _sizes(protocol: Protocol, larger: str) -> Iterator[Truth]:
    for step in protocol:
        if step.reading and step.reading.kind == "pupil-size" and not step.only_if:
            for entry in step.entries:
                size = _LARGE_PUPIL_MM if entry.side == larger else _SMALL_PUPIL_MM
                yield Truth(step=step.id, side=entry.side, site=entry.site, reading=size)
