"""Alignment of the eyes: corneal light reflex, cover and uncover test, near point of convergence. Pure.

Directions are those of the eye that is watched: in is towards the nose. An eye that moves in to fix had been
out. A phoria is named only where a cover test of both eyes showed no tropia.
"""

from collections.abc import Callable, Iterable, Mapping
from math import atan, degrees, radians, tan
from typing import NamedTuple

from checklist.measures.eye_parts import computation
from checklist.measures.limits import unusual
from checklist.measures.reading import SIDES, Facts, Meaning, Options, ReadingError, Remark
from checklist.measures.typed import NUMBER, match, plain_text, rounded, short, within


def prism_dioptres(degrees_turned: float) -> float:
    """Return an angle in degrees as prism dioptres: 100 times its tangent."""
    return 100 * tan(radians(degrees_turned))


def degrees_turned(prism_dioptres_turned: float) -> float:
    """Return prism dioptres as an angle in degrees."""
    return degrees(atan(prism_dioptres_turned / 100))


_DIRECTIONS = {
    **dict.fromkeys(("in", "inward", "inwards", "nasal", "nasally"), "in"),
    **dict.fromkeys(("out", "outward", "outwards", "temporal", "temporally"), "out"),
    **dict.fromkeys(("up", "upward", "upwards"), "up"),
    **dict.fromkeys(("down", "downward", "downwards"), "down"),
}
_DIRECTION = f"({'|'.join(_DIRECTIONS)})"
_AXES = {"in": "across", "out": "across", "up": "along", "down": "along"}


def _one_of_each_axis(directions: Iterable[str], accepted: str) -> None:
    axes = [_AXES[each] for each in directions]
    if len(set(axes)) < len(axes):
        raise ReadingError(accepted)


# ------------------------------------------------------------------ corneal light reflex

_REFLEX_FORM = "type mm and direction, such as 0; 1.5 in; 2 out; or 1 in 0.5 up"
_CENTRED = ("central", "centre", "centred", "center", "centered", "none")
_TURNED = {"in": "exo", "out": "eso", "up": "hypo", "down": "hyper"}
"""The reflex goes to the other side than the eye."""
_PLACED = {"in": "nasally", "out": "temporally", "up": "up", "down": "down"}
_FARTHEST = 6.0
"""About the radius of the cornea, in mm."""


def corneal_reflex(text: str, options: Options) -> Meaning:
    """Read how far the light reflex lies from the centre of the pupil, in mm, and to which side."""
    moved = _displaced(plain_text(text))
    if not moved:
        return Meaning(
            text="0",
            words="light reflex at the centre of the pupil",
            chart="at the centre of the pupil",
            classes=("centred", "in-range"),
            figures={"nasal_mm": 0, "up_mm": 0},
        )
    low, high = (short(options.number(f"spread_{end}")) for end in ("low", "high"))
    where, turned = _estimated(moved, options)
    remarks, classes = _reflex_range(moved, options)
    return Meaning(
        text=" ".join(f"{short(mm)} {each}" for each, mm in moved.items()),
        words=f"reflex {where}: {turned}, {low} to {high} between people",
        chart=f"displaced {where}: {turned}",
        classes=classes,
        remarks=remarks,
        doubt=unusual(max(moved.values()), options, "so large a displacement"),
        figures={"nasal_mm": _signed(moved, "in", "out"), "up_mm": _signed(moved, "up", "down")},
    )


def _displaced(text: str) -> dict[str, float]:
    """Return mm by direction; empty for a reflex at the centre."""
    if text in ("0", "0 mm", *_CENTRED):
        return {}
    one = rf"{NUMBER} ?(?:mm)? ?{_DIRECTION}"
    known = (*_DIRECTIONS, *_CENTRED, "mm", "and")
    form = match(rf"{one}(?:(?:,| and| \+|) {one})?", text, _REFLEX_FORM, known)
    pairs = [(float(form[i]), _DIRECTIONS[form[i + 1]]) for i in (1, 3) if form[i]]
    _one_of_each_axis((direction for _, direction in pairs), _REFLEX_FORM)
    moved = {direction: rounded(mm, 1) for mm, direction in pairs}
    for mm in moved.values():
        within(mm, 0, _FARTHEST, "a displacement in mm")
    return {each: moved[each] for each in _AXES if moved.get(each)}


def _signed(moved: Mapping[str, float], plus: str, minus: str) -> float:
    return moved.get(plus, 0) - moved.get(minus, 0)


def _estimated(moved: Mapping[str, float], options: Options) -> tuple[str, str]:
    """Return the place of the reflex, and how far the eye is turned by the ratio."""
    ratio = options.number("prism_per_mm")
    where = ", ".join(f"{short(mm)} mm {_PLACED[each]}" for each, mm in moved.items())
    prisms = " and ".join(f"{_TURNED[each]} {mm * ratio:.0f}" for each, mm in moved.items())
    angles = " and ".join(f"{degrees_turned(mm * ratio):.0f}" for mm in moved.values())
    return where, f"about {prisms} prism dioptres ({angles} degrees) at {short(ratio)} per mm"


def _reflex_range(moved: Mapping[str, float], options: Options) -> tuple[tuple[Remark, ...], tuple[str, ...]]:
    usual = options.number("usual_nasal")
    source = options.source("usual_nasal")
    if set(moved) == {"in"} and moved["in"] <= usual:
        text = f"up to {short(usual)} mm nasally is usual where both eyes are alike"
        return (Remark(text=text, source=source),), ("in-range",)
    text = f"more than {short(usual)} mm nasally, or to another side; compare with the other eye"
    return (Remark(text=text, source=source, tell="report"),), tuple(_TURNED[each] for each in moved)


def compared_reflexes(facts: Facts, options: Options) -> Meaning | None:
    """Return how far the reflexes of the two eyes differ, which leaves out what is usual in both alike."""
    both = [fact.meaning for side in SIDES if (fact := facts.get((side, ""))) and fact.meaning]
    if len(both) < len(SIDES):
        return None
    right, left = both
    usual = options.number("usual_nasal")
    across = _across(right.figures["nasal_mm"], left.figures["nasal_mm"], usual)
    along = _along(right.figures["up_mm"], left.figures["up_mm"])
    turns = [turn for turn in (across, along) if turn.mm]
    if not turns:
        words = "reflexes at the same place in both eyes"
        return computation(words, words, ("alike",))
    ratio, source = options.number("prism_per_mm"), options.source("prism_per_mm")
    parts = (f"{turn.name} {short(turn.mm)} mm, about {turn.mm * ratio:.0f} prism dioptres" for turn in turns)
    words = f"reflexes differ between the eyes: {', '.join(parts)}; at {short(ratio)} per mm"
    remark = Remark(text="not at the same place in both eyes", source=source, tell="report")
    return computation(words, words, ("unlike", *(turn.id for turn in turns if turn.id)), (remark,))


class _Turn(NamedTuple):
    """How far the reflexes differ along one axis, and what turn of an eye that is."""

    name: str
    id: str
    mm: float


def _across(right_nasal: float, left_nasal: float, usual: float) -> _Turn:
    """Return the turn of the eye whose reflex is farther from the usual place: the other one is fixing.

    Where both are equally far it is not known which eye fixes, and so neither the direction.
    """
    mm = round(abs(right_nasal - left_nasal), 1)
    off = [round(max(-nasal, nasal - usual, 0), 1) for nasal in (right_nasal, left_nasal)]
    if off[0] == off[1]:
        return _Turn("across, direction open,", "", mm)
    side = "right" if off[0] > off[1] else "left"
    nasal, fixing = (right_nasal, left_nasal) if side == "right" else (left_nasal, right_nasal)
    turn = "exo" if nasal > fixing else "eso"
    return _Turn(f"{side} eye {turn}", turn, mm)


def _along(right_up: float, left_up: float) -> _Turn:
    """Return which eye stands higher: its reflex is the lower one."""
    side = "left" if right_up > left_up else "right"
    return _Turn(f"{side} eye hyper", f"{side}-hyper", round(abs(right_up - left_up), 1))


# ------------------------------------------------------------------ cover and uncover

_COVER_FORM = "type none, in, out, up or down; or in and up"
MOVEMENTS = "Bell 2013, quoted second hand"
WAS = {"in": "exo", "out": "eso", "up": "hypo", "down": "hyper"}
"""Where an eye had been that moved to fix."""


def cover_movement(text: str, options: Options) -> Meaning:
    """Read how the watched eye moved: as the other was covered, or as its own cover was lifted."""
    moved = _moved(plain_text(text))
    is_cover = options.text("test") == "cover"
    when = "as the other was covered" if is_cover else "on uncovering"
    if not moved:
        words = f"no movement {when}"
        return Meaning(text="none", words=words, chart=words, classes=("none",))
    kind = "tropia" if is_cover else "phoria"
    pattern = " and ".join(f"{WAS[each]}{kind}" for each in moved)
    how = f"moved {' and '.join(moved)} {when}"
    means = pattern if is_cover else f"{pattern}, if the cover test shows no tropia"
    tell = "report" if is_cover else "note"
    return Meaning(
        text=" ".join(moved),
        words=f"{how}: pattern of {means}",
        chart=how,
        classes=(*moved, *(WAS[each] for each in moved)),
        remarks=(Remark(text=f"consider {means}", source=MOVEMENTS, tell=tell),),
    )


def _moved(text: str) -> tuple[str, ...]:
    """Return the directions, across before up or down; empty for no movement."""
    if text in ("none", "no", "0", "no movement", "steady"):
        return ()
    known = (*_DIRECTIONS, "none", "no", "movement", "steady", "and")
    form = match(rf"{_DIRECTION}(?:(?:,| and| \+|) {_DIRECTION})?", text, _COVER_FORM, known)
    directions = [_DIRECTIONS[word] for word in form.groups() if word]
    _one_of_each_axis(directions, _COVER_FORM)
    return tuple(each for each in _AXES if each in directions)


# ------------------------------------------------------------------ near point of convergence

_NEAR_FORM = "type cm, such as 6; break/recovery, such as 6/9; or nose"
_PER_CM = {"": 1.0, "cm": 1.0, "mm": 0.1, "in": 2.54, "inch": 2.54, "inches": 2.54}
_NEAR_WORDS = (*_PER_CM, "to", "the", "nose")
_NEAREST, _AWAY = 1.0, 100.0


def convergence(text: str, options: Options) -> Meaning:
    """Read the near point in cm: where one eye turns out or it doubles, and where both fix again."""
    typed = plain_text(text)
    if typed in ("nose", "to nose", "to the nose"):
        words = "both eyes on the target to the nose, no break"
        classes = ("within-research", "within-customary")
        return Meaning(text="nose", words=words, chart="to the nose, no break", classes=classes)
    units = "|".join(filter(None, _PER_CM))
    form = match(rf"{NUMBER} ?(?:/ ?{NUMBER} ?)?({units})?", typed, _NEAR_FORM, _NEAR_WORDS)
    factor = _PER_CM[form[3] or ""]
    points = [rounded(float(each) * factor, 1) for each in (form[1], form[2]) if each]
    for point in points:
        within(point, _NEAREST, _AWAY, "a near point in cm")
    if points != sorted(points):
        raise ReadingError("type the break first: recovery is as far away, or farther, such as 6/9")
    return _near_point(points, options)


def _near_point(points: list[float], options: Options) -> Meaning:
    row = "/".join(short(each) for each in points)
    is_both = len(points) > 1
    breaks = f"break at {short(points[0])} cm, " + (
        f"recovery at {short(points[1])} cm" if is_both else "recovery not measured"
    )
    remarks, classes = _limits(points, options)
    return Meaning(
        text=row,
        words=f"near point of convergence: {breaks}; {_against(points, options)}",
        chart=f"{breaks}; {_against(points, options)}",
        classes=classes,
        remarks=remarks,
        doubt=unusual(points[0], options, f"a break at {short(points[0])} cm"),
        figures=dict(zip(("break_cm", "recovery_cm"), points, strict=False)),
    )


def _is_beyond_research(points: list[float], options: Options) -> bool | None:
    """Whether break or recovery is beyond its limit; None when what was measured does not settle it."""
    limits = [options.number(f"research_{each}") for each in ("break", "recovery")]
    if any(point > limit for point, limit in zip(points, limits, strict=False)):
        return True
    return False if len(points) == len(limits) else None


_PLACED_AT = {True: "beyond", False: "within", None: "not settled by the break alone for"}


def _against(points: list[float], options: Options) -> str:
    """Return where the near point lies against both sets of limits, which disagree."""
    low, high = (short(options.number(f"research_{each}")) for each in ("break", "recovery"))
    research = _PLACED_AT[_is_beyond_research(points, options)]
    customary = options.number("customary_break")
    usual = _PLACED_AT[points[0] > customary]
    return f"{research} {low}/{high} (research), {usual} {short(customary)} (customary)"


def _limits(points: list[float], options: Options) -> tuple[tuple[Remark, ...], tuple[str, ...]]:
    remarks: list[Remark] = []
    classes: list[str] = []
    beyond = _is_beyond_research(points, options)
    if beyond is not None:
        classes.append("beyond-research" if beyond else "within-research")
    if beyond:
        limits = "/".join(short(options.number(f"research_{each}")) for each in ("break", "recovery"))
        remarks.append(Remark(text=f"beyond {limits} cm", source=options.source("research_break")))
    customary = options.number("customary_break")
    is_far = points[0] > customary
    classes.append("beyond-customary" if is_far else "within-customary")
    if is_far:
        text, source = f"break beyond {short(customary)} cm", options.source("customary_break")
        remarks.append(Remark(text=text, source=source, tell="report"))
    return tuple(remarks), tuple(classes)


READERS: Mapping[str, Callable[[str, Options], Meaning]] = {
    "corneal-reflex": corneal_reflex,
    "cover-movement": cover_movement,
    "convergence": convergence,
}
TOGETHER: Mapping[str, Callable[[Facts, Options], Meaning | None]] = {"corneal-reflex": compared_reflexes}
