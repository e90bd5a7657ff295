"""Joints and feet: how far a joint moves beside a textbook range, and where a monofilament is felt. Pure."""

import re
from collections.abc import Callable, Iterator, Mapping
from typing import NamedTuple

from checklist.measures.limits import remark
from checklist.measures.reading import Facts, Meaning, Options, ReadingError, Remark, figures
from checklist.measures.typed import match, plain, plain_text, refused, rounded, short, within

_UPPER = ("AAOS, table in a goniometry textbook, read", "AMA, table in a goniometry textbook, read")
_NECK = ("AAOS 1965, from memory; later editions by age", "AMA, from memory")
_TRUNK = ("AAOS, quoted second hand", "AMA, quoted second hand")
_LOWER = ("AAOS 1965, from memory", "")


class Motion(NamedTuple):
    """What a textbook calls a full range of one motion, in degrees; people differ by age and sex."""

    full: float
    ama: float | None
    """The least that the AMA takes for full; None where none was met."""
    sources: tuple[str, str]
    """Of the full range and of the other."""


MOTIONS: Mapping[str, Motion] = {
    "neck-flexion": Motion(45, 50, _NECK),
    "neck-extension": Motion(45, 60, _NECK),
    "neck-side-bend": Motion(45, 45, _NECK),
    "neck-rotation": Motion(60, 80, _NECK),
    "trunk-flexion": Motion(80, 60, _TRUNK),
    "trunk-extension": Motion(25, 25, _TRUNK),
    "trunk-side-bend": Motion(35, 25, _TRUNK),
    "trunk-rotation": Motion(45, 30, _TRUNK),
    "shoulder-flexion": Motion(180, 180, _UPPER),
    "shoulder-extension": Motion(60, 50, _UPPER),
    "shoulder-abduction": Motion(180, 170, _UPPER),
    "shoulder-internal-rotation": Motion(70, 80, _UPPER),
    "shoulder-external-rotation": Motion(90, 60, _UPPER),
    "elbow-flexion": Motion(150, 140, _UPPER),
    "elbow-extension": Motion(0, 0, _UPPER),
    "forearm-pronation": Motion(80, 80, _UPPER),
    "forearm-supination": Motion(80, 80, _UPPER),
    "wrist-flexion": Motion(80, 60, _UPPER),
    "wrist-extension": Motion(70, 60, _UPPER),
    "wrist-radial-deviation": Motion(20, 20, _UPPER),
    "wrist-ulnar-deviation": Motion(30, 30, _UPPER),
    "hip-flexion": Motion(120, None, _LOWER),
    "hip-extension": Motion(30, None, ("AAOS 1965, from memory; 20 in a later edition", "")),
    "hip-abduction": Motion(45, None, _LOWER),
    "hip-adduction": Motion(30, None, _LOWER),
    "hip-internal-rotation": Motion(45, None, _LOWER),
    "hip-external-rotation": Motion(45, None, _LOWER),
    "knee-flexion": Motion(135, None, _LOWER),
    "knee-extension": Motion(0, None, _LOWER),
    "ankle-dorsiflexion": Motion(20, None, _LOWER),
    "ankle-plantarflexion": Motion(50, None, _LOWER),
    "foot-inversion": Motion(35, None, _LOWER),
    "foot-eversion": Motion(15, None, _LOWER),
}
"""Ranges by motion, as printed: references and no pass marks."""

_OPPOSITES = {
    **dict.fromkeys(("elbow-flexion", "hip-flexion", "knee-flexion", "wrist-flexion"), "extension"),
    **dict.fromkeys(("neck-flexion", "trunk-flexion", "shoulder-flexion"), "extension"),
    "ankle-plantarflexion": "dorsiflexion",
    "ankle-dorsiflexion": "plantarflexion",
}
"""What is lacking when a motion starts short of neutral."""

_JOINT_FORM = "type degrees, such as 60; 10-120 short of neutral; 5-0-130 past it"
_DEGREE = r"(\d{1,3}(?:\.\d)?)"
_ARC = rf"{_DEGREE} ?(?:-|to) ?(?:{_DEGREE} ?(?:-|to) ?)?{_DEGREE}"


class _Range(NamedTuple):
    """From where to where a joint moves, in degrees; below 0 is on the other side of neutral."""

    start: float
    end: float
    text: str
    words: str

    @property
    def arc(self) -> float:
        return self.end - self.start


def joint_range(text: str, options: Options) -> Meaning:
    """Read how far a joint moves, in degrees: to where, from where to where, or through neutral (5-0-130).

    A single value may lie below 0 when neutral is not reached. Raises ReadingError for anything else.
    """
    found = _range(text, options.text("motion"))
    full, reference = _reference(options)
    classes = (_placed(found, full),) if full is not None else ("no-reference",)
    told = _below_share(found, full, options) if full is not None else ()
    said = [f"{remark.text} ({remark.source})" for remark in reference[:1]]
    return Meaning(
        text=found.text,
        words="; ".join([found.words, *said]),
        chart="; ".join([found.words.removeprefix("to "), *(remark.text for remark in reference[:1])]),
        classes=(*classes, "short-of-neutral") if _is_short(found) else classes,
        remarks=(*told, *reference),
        doubt=_unlikely(found, full, options),
        figures={"from_degrees": found.start, "to_degrees": found.end, "arc_degrees": found.arc},
    )


def _range(text: str, motion: str) -> _Range:
    typed = plain_text(re.sub("[\u2212\u2013\u2014]", "-", text))
    typed = re.sub(r" ?(?:\u00b0|\u00ba|deg(?:rees?)?\b)(?=[ -]|to|$)", "", typed)
    if form := re.fullmatch(rf"(-?){_DEGREE}", typed, re.ASCII):
        end = float(form[2])
        return _single(-end if form[1] and end else end)
    form = match(_ARC, typed, _JOINT_FORM, ("deg", "degree", "degrees", "to"))
    first, last = float(form[1]), float(form[3])
    middle = float(form[2]) if form[2] else None
    if middle and first:
        raise ReadingError("of three values the first or the second is 0: 5-0-130 or 0-10-120")
    if middle is None or middle:
        return _between(middle or first, last, motion)
    return _between(-first if first else 0.0, last, motion)


def _single(end: float) -> _Range:
    within(end, -90, 200, "a joint range", "degrees")
    words = f"to {short(end)} degrees" if end >= 0 else f"{short(-end)} degrees short of neutral"
    return _Range(0.0, end, short(end), words)


def _between(start: float, end: float, motion: str) -> _Range:
    for value in (abs(start), end):
        within(value, 0, 200, "a joint range", "degrees")
    if start > end:
        raise ReadingError("the smaller angle comes first, such as 10-120")
    words = f"from {short(start)} to {short(end)} degrees"
    if start < 0:
        text = f"{short(-start)}-0-{short(end)}"
        return _Range(start, end, text, f"{short(-start)} degrees past neutral, and to {short(end)} degrees")
    lack = _OPPOSITES.get(motion, "")
    lacking = f", a lack of {short(start)} degrees{f' of {lack}' if lack else ' to neutral'}" if start else ""
    return _Range(start, end, f"{short(start)}-{short(end)}", f"{words}{lacking}")


def _is_short(found: _Range) -> bool:
    return found.start > 0 or found.end < 0


def _placed(found: _Range, full: float) -> str:
    if found.end < full or found.start > 0:
        return "less-than-full"
    return "beyond" if found.end > full else "full"


def _reference(options: Options) -> tuple[float | None, tuple[Remark, ...]]:
    """Return what is full, in degrees, and what is said of it; None when nothing is known of the motion."""
    if own := options.number("full_degrees"):
        return own, (Remark(text=f"full {short(own)} degrees", source=options.source("full_degrees")),)
    motion = MOTIONS.get(options.text("motion"))
    if motion is None:
        return None, ()
    full = Remark(text=f"textbook full {short(motion.full)} degrees", source=motion.sources[0])
    if motion.ama is None:
        return motion.full, (full,)
    ama = Remark(text=f"another reference: full from {short(motion.ama)} degrees", source=motion.sources[1])
    return motion.full, (full, ama)


def _below_share(found: _Range, full: float, options: Options) -> tuple[Remark, ...]:
    """Return the remark on a range below the share that a protocol asks for; nothing by default."""
    share = options.number("report_below_percent")
    # Compared without a division, so that a range at the limit is on it.
    if not share or not full or 100 * found.arc >= share * full:
        return ()
    text = f"below {short(share)} % of {short(full)} degrees"
    return (Remark(text=text, source=options.source("report_below_percent"), tell="report"),)


def _unlikely(found: _Range, full: float | None, options: Options) -> str:
    beyond = options.number("likely_beyond")
    if found.start < -beyond:
        return f"{short(-found.start)} degrees past neutral is unusual"
    if full is None or found.end <= full + beyond:
        return ""
    return f"{short(found.end)} degrees, with {short(full)} for full, is unusual"


def ranges_together(facts: Facts, options: Options) -> Meaning | None:
    """Return on which side a joint moves less, at each site where both sides were measured."""
    arcs = figures(facts, "arc_degrees")
    sites = dict.fromkeys(site for _, site in arcs)
    both = [site for site in sites if ("right", site) in arcs and ("left", site) in arcs]
    if not both:
        return None
    compared = [_compared(site, arcs["right", site], arcs["left", site], options) for site in both]
    words = "; ".join(said for said, _ in compared)
    classes = tuple(sorted({side for _, side in compared if side})) or ("alike",)
    least = f"sides {short(options.number('sides_apart'))} degrees or more apart"
    return Meaning(
        text="",
        words=words,
        chart=words,
        classes=classes,
        remarks=(remark(least, options, "tell_apart", "sides_apart"),) if classes != ("alike",) else (),
    )


def _compared(site: str, right: float, left: float, options: Options) -> tuple[str, str]:
    """Return both ranges in words, and the class of the side that moves less when they are apart."""
    difference = rounded(abs(right - left), 1)
    words = f"{site}: " * bool(site) + f"right {short(right)}, left {short(left)} degrees in all"
    if difference < options.number("sides_apart"):
        return f"{words}, {short(difference)} apart", ""
    side = "right" if right < left else "left"
    return f"{words}, less on the {side} by {short(difference)}", f"less-{side}"


_FELT = r"(\d{1,2}) ?(?:/|of|out of) ?(\d{1,2})(?: (?:sites )?felt| sites)?"
_FEET_WORDS = ("of", "out", "sites", "felt")
_ANSWERS = {"y": "y", "n": "n", "✓": "y", "✗": "n", "-": "-"}


def is_felt(answers: str, right_needed: float = 2) -> bool:
    """Return whether a site is felt, from the answers to two touches and one sham: `y` right, `n` wrong.

    The right answer to the sham is that nothing was felt. IWGDF guideline, quoted second hand.
    """
    return answers.count("y") >= right_needed


def monofilament(text: str, options: Options) -> Meaning:
    """Read sites felt of those tested on one foot, or three answers for each site; `-` for one not tested."""
    names, typed = options.texts("sites"), plain(text)
    if form := re.fullmatch(_FELT, typed, re.ASCII):
        felt, tested = int(form[1]), int(form[2])
        if not 1 <= tested <= len(names) or felt > tested:
            raise ReadingError(_feet_form(len(names)))
        return _feet(f"{felt}/{tested}", felt, tested, "", options)
    sites = list(_sites(typed))
    if len(sites) != len(names) or not any(sites) or "?" in "".join(sites):
        # Answers are no words that could be unknown.
        raise refused(re.sub(r"\b[yn]+\b", " ", typed), _FEET_WORDS, _feet_form(len(names)))
    needed = options.number("right_needed")
    felt = sum(is_felt(each, needed) for each in sites if each)
    named = zip(names, sites, strict=True)
    not_felt = ", ".join(name for name, each in named if each and not is_felt(each, needed))
    canonical = " ".join(each or "-" for each in sites)
    return _feet(canonical, felt, sum(map(bool, sites)), not_felt, options)


def _feet_form(count: int) -> str:
    answers = " ".join(("yyn", "yyy", "yny")[site % 3] for site in range(min(count, 5)))
    return f"type sites felt of {count}, such as {count}/{count}; or answers, y right, n wrong: {answers}"


def _sites(typed: str) -> Iterator[str]:
    """Return three answers for each site, none for one that was not tested, and `?` for what is neither."""
    for word in re.split(r"[ ,;/]+", typed.strip(" ,;/")):
        answers = "".join(_ANSWERS.get(letter, "?") for letter in word)
        yield answers.strip("-") if answers == "-" or re.fullmatch("[yn]{3}", answers) else "?"


def _feet(text: str, felt: int, tested: int, not_felt: str, options: Options) -> Meaning:
    sites = len(options.texts("sites"))
    words = f"felt at {felt} of {tested} site{'s' * (tested != 1)}"
    without = f", not at: {not_felt}" if not_felt else ""
    missing = f"; {sites - tested} of {sites} sites not tested" if tested < sites else ""
    return Meaning(
        text=text,
        words=f"10 gram monofilament {words}{without}{missing}",
        chart=f"10 g monofilament {words}{without}{missing}",
        classes=tuple(_feet_classes(felt, tested, sites)),
        remarks=tuple(_feet_remarks(felt, tested, sites, options)),
        figures={"sites_felt": felt, "sites_tested": tested},
    )


def _feet_classes(felt: int, tested: int, sites: int) -> Iterator[str]:
    """Return the classes: felt at all is said only when all sites were tested."""
    if felt < tested:
        yield "not-felt-somewhere"
    elif tested == sites:
        yield "felt-at-all"
    if tested < sites:
        yield "sites-missing"


def _feet_remarks(felt: int, tested: int, sites: int, options: Options) -> Iterator[Remark]:
    if felt < tested:
        needed = short(options.number("right_needed"))
        text = f"not felt at {tested - felt} of {tested} sites (felt from {needed} of 3 right answers on)"
        yield remark(text, options, "tell_not_felt", "right_needed")
    if tested < sites:
        text = f"{sites - tested} of {sites} sites not tested"
        yield remark(text, options, "tell_missing", "sites")


READERS: Mapping[str, Callable[[str, Options], Meaning]] = {
    "joint-range": joint_range,
    "monofilament": monofilament,
}
TOGETHER: Mapping[str, Callable[[Facts, Options], Meaning | None]] = {"joint-range": ranges_together}
