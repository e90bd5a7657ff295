"""Neck: what a lymph node feels like, how many regions have large ones, and the grade of a goitre. Pure."""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from checklist.measures.limits import remark
from checklist.measures.reading import Fact, Facts, Meaning, Options, ReadingError, Remark
from checklist.measures.typed import plain, refused, rounded, short, within

DRAINS: Mapping[str, str] = {
    "general": "",
    "preauricular": "eyelid, conjunctiva, temple, outer ear",
    "posterior-auricular": "scalp, outer ear",
    "occipital": "scalp",
    "tonsillar": "tonsil, pharynx",
    "submandibular": "cheek, lips, tongue sides, gums, gland below the jaw",
    "submental": "lower lip, tongue tip, floor of the mouth",
    "superficial-cervical": "skin of the neck, outer ear, parotid gland",
    "anterior-cervical": "throat, larynx, thyroid",
    "deep-cervical": "throat, tonsil, tongue, larynx, thyroid",
    "posterior-cervical": "scalp, nasopharynx, skin of the neck",
    "supraclavicular": "chest and gullet (right), abdomen and chest (left)",
    "infraclavicular": "arm, breast",
    "axillary": "arm, breast, chest wall",
    "epitrochlear": "inner side of forearm and hand",
    "inguinal": "leg, genitals, buttock, lower abdominal wall",
    "popliteal": "leg and foot",
    "iliac": "pelvis",
}
"""What each group drains: standard anatomy, in part quoted second hand, the rest from memory."""

REGIONS: Mapping[str, str] = {
    "axillary": "axilla",
    "infraclavicular": "below the clavicle",
    "epitrochlear": "elbow",
    "inguinal": "groin",
    "iliac": "pelvis",
    "popliteal": "knee",
}
"""Region of each group; all others are one, head and neck. After the regions of the Ann Arbor staging, from
memory: neighbouring chains of the neck are not two regions."""
_NECK = "head and neck"

_NODE_FORM = "type size and feel, such as 1.5 cm round rubbery mobile tender; or none"
_NONE = (
    *("none", "0", "not felt", "not palpable", "np", "nonpalpable", "non-palpable"),
    *("no node", "no node felt", "no nodes", "no nodes felt", "no nodes palpable", "no palpable nodes"),
    *("nodes not felt", "nodes not palpable"),
)
_COUNTS = {"a": 1, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6}
SEVERAL = 0
"""Several nodes that nobody counted."""

_SLOTS = {
    **dict.fromkeys(("round", "oval", "flat"), "shape"),
    **dict.fromkeys(("smooth", "irregular"), "surface"),
    **dict.fromkeys(("soft", "firm", "hard"), "consistency"),
    "rubbery": "rubbery",
    "shotty": "shotty",
    "fluctuant": "fluctuant",
    **dict.fromkeys(("discrete", "matted"), "grouping"),
    **dict.fromkeys(("mobile", "fixed"), "mobility"),
    **dict.fromkeys(("tender", "non-tender"), "tenderness"),
    **dict.fromkeys(("warm", "not-warm"), "warmth"),
}
_TERMS = tuple(_SLOTS)
_SYNONYMS = {
    **dict.fromkeys(("movable", "moveable", "mob", "non-fixed"), "mobile"),
    **dict.fromkeys(("immobile", "tethered", "non-mobile", "non-movable", "fix"), "fixed"),
    **dict.fromkeys(("tdr", "ttp", "painful", "sore"), "tender"),
    **dict.fromkeys(("nontender", "nt", "painless", "non-painful"), "non-tender"),
    **dict.fromkeys(("confluent", "clumped"), "matted"),
    **dict.fromkeys(("separate", "non-matted"), "discrete"),
    **dict.fromkeys(("rub", "elastic"), "rubbery"),
    **dict.fromkeys(("rd", "spherical"), "round"),
    "ovoid": "oval",
    "non-warm": "not-warm",
}
_FELT = ("felt", "palpable", "palp", "node", "nodes", "ln", "lns")
"""Words that say no more than that there is a node."""
_FILLERS = ("in", "size", "diameter", "lymph", "and", "with", "freely", "together", "a", "to")

_Size = tuple[float, ...]
"""Largest diameter first, in mm; of the second there may be none."""


class Nodes(NamedTuple):
    """What was typed of one node or of several."""

    number: int = 1
    sizes: tuple[_Size, ...] = ()
    terms: tuple[str, ...] = ()

    @property
    def largest_mm(self) -> float:
        """The largest diameter; 0 when no size was given."""
        return max((size[0] for size in self.sizes), default=0.0)


def lymph_node(text: str, options: Options) -> Meaning:
    """Read size, shape, consistency, mobility and tenderness of nodes, in any order; or that none was felt.

    A size is in cm or mm; without a unit only a number with a decimal point is taken, as cm.
    """
    typed = plain(text)
    if typed in _NONE:
        return Meaning(text="none", words="no node felt", chart="no node felt", classes=("not-felt",))
    nodes = parsed(typed)
    remarks, size_class = _size(nodes, options)
    feel = tuple(_feel_remarks(nodes, options))
    least = remark("felt", options, "tell_felt")
    described = ", ".join(_described(nodes))
    drains = DRAINS.get(options.text("group"), "")
    limit = "".join(f"; {each.text}" for each in remarks)
    largest = nodes.largest_mm
    return Meaning(
        text=_canonical(nodes),
        words=f"{described or 'felt'}{limit}{f'; drains {drains}' if drains else ''}",
        chart=described or "felt",
        classes=("felt", *size_class, *_feel_classes(nodes)),
        remarks=(*remarks, *feel) or (least,),
        doubt=f"a node of {_cm(largest)} cm is unusual" if largest > 60 else "",
        figures={"largest_cm": largest / 10} if nodes.sizes else {},
    )


def parsed(typed: str) -> Nodes:
    """Return what plain text says of nodes; raises ReadingError for what it cannot place."""
    count, rest = _counted(typed)
    if re.search(r"[0-9],[0-9]", rest):
        if count != 1 or re.search(r"[0-9],[0-9]+[.,][0-9]|\.[0-9]+,[0-9]", rest):
            raise ReadingError("with several sizes type points and spaces, such as 2 nodes 0.5 1 cm")
        rest = re.sub(r"(?<=[0-9]),(?=[0-9])", ".", rest)
    words = _words(rest)
    sizes = _sizes([word for word in words if _is_of_size(word)])
    if len(sizes) > 1 and 0 < count < len(sizes):
        raise ReadingError("type 1.5 x 1 cm for one node, or 2 nodes 1.5 1 cm")
    terms = _placed(word for word in words if not _is_of_size(word))
    if not (sizes or terms or set(_FELT) & set(words)):
        raise ReadingError(_NODE_FORM)
    return Nodes(count, sizes, terms)


_COUNT = re.compile(
    r"(?<![0-9.,])\b([0-9]{1,2}|a|one|two|three|four|five|six|several|multiple|many|few)"
    # What stands between the count and the word: no unit, as that would make the count a size.
    r"(?= (?:(?!cm\b|mm\b)[a-z-]+ )*(?:nodes?|lns?)\b)"
)


def _counted(typed: str) -> tuple[int, str]:
    """Return how many nodes were spoken of, and the rest of the text."""
    if found := _COUNT.search(typed):
        rest, word = typed[: found.start()] + typed[found.end() :], found[1]
        if not word.isdigit():
            return _COUNTS.get(word, SEVERAL), rest
        within(int(word), 1, 20, "a count of nodes", "nodes")
        return int(word), rest
    return SEVERAL if re.search(r"\b(?:nodes|lns)\b", typed) else 1, typed


def _words(rest: str) -> list[str]:
    """Return the words of a text, with numbers apart from what touches them."""
    rest = re.sub(r"(?<=[0-9])(?=[a-z])|(?<=[a-z])(?=[0-9])", " ", rest)
    rest = re.sub(r"(?<=[0-9])(?: ?- ?)(?=[0-9])", " ", rest)
    rest = re.sub(r"\b(?:not|non)[ -]+(?=[a-z])", "non-", rest)
    return [word for word in re.split(r"[ ,;]+", rest) if word]


_VALUE = re.compile(r"[0-9]{1,3}(?:\.[0-9]{1,2})?")


def _is_of_size(word: str) -> bool:
    return word in ("cm", "mm", "x", "by") or bool(_VALUE.fullmatch(word))


def _sizes(words: Sequence[str]) -> tuple[_Size, ...]:
    """Return sizes in mm from numbers, units and crosses: `1.5 x 1 cm`, `0.5 1 cm`."""
    sizes: list[list[float]] = []
    waiting: list[tuple[int, str]] = []
    crossed = False
    for word in words:
        if word in ("x", "by"):
            if crossed or not sizes:
                raise ReadingError(_NODE_FORM)
            crossed = True
        elif word in ("cm", "mm"):
            if not waiting or crossed:
                raise ReadingError(_NODE_FORM)
            _fill(sizes, waiting, 10 if word == "cm" else 1)
        else:
            if not crossed:
                sizes.append([])
            crossed = False
            waiting.append((len(sizes) - 1, word))
    _fill_bare(sizes, waiting)
    if crossed or any(len(size) > 2 for size in sizes):
        raise ReadingError("type a size as 1.5 cm, or 1.5 x 1 cm")
    return tuple(tuple(sorted(size, reverse=True)) for size in sizes)


def _fill(sizes: list[list[float]], waiting: list[tuple[int, str]], factor: int) -> None:
    """Give the numbers that wait for a unit their place, in mm."""
    for place, word in waiting:
        mm = rounded(factor * float(word), 1)
        if not 1 <= mm <= 200:
            raise ReadingError("a node is possible from 0.1 to 20 cm")
        sizes[place].append(mm)
    waiting.clear()


def _fill_bare(sizes: list[list[float]], waiting: list[tuple[int, str]]) -> None:
    if any("." not in word for _, word in waiting):
        raise ReadingError(f"type the size with its unit, such as {waiting[0][1]} cm or {waiting[0][1]} mm")
    _fill(sizes, waiting, 10)


def _placed(words: Iterable[str]) -> tuple[str, ...]:
    """Return the known terms in the order of the slots; two of one slot contradict each other."""
    found: dict[str, str] = {}
    for word in words:
        term = _SYNONYMS.get(word, word)
        if word in (*_FELT, *_FILLERS):
            continue
        if term not in _SLOTS:
            raise refused(word, _SLOTS, _NODE_FORM)
        if found.setdefault(_SLOTS[term], term) != term:
            raise ReadingError(f"{found[_SLOTS[term]]} and {term} contradict each other")
    return tuple(sorted(found.values(), key=_TERMS.index))


def _cm(mm: float) -> str:
    return short(mm / 10)


def _canonical(nodes: Nodes) -> str:
    count = {1: "", SEVERAL: "several nodes"}.get(nodes.number, f"{nodes.number} nodes")
    sizes = " ".join(" x ".join(_cm(each) for each in size) for size in nodes.sizes)
    parts = (count, f"{sizes} cm" if sizes else "", *nodes.terms)
    return " ".join(part for part in parts if part) or "felt"


def _described(nodes: Nodes) -> Iterator[str]:
    if nodes.number != 1:
        yield "several nodes" if nodes.number == SEVERAL else f"{nodes.number} nodes"
    if nodes.sizes:
        yield " and ".join(" x ".join(_cm(each) for each in size) for size in nodes.sizes) + " cm"
    yield from nodes.terms


def limit_cm(group: str, options: Options) -> tuple[float, str]:
    """Return the diameter in cm that a node of a group may have, and the name of the option it is from."""
    name = f"{group}_above_cm" if group in ("epitrochlear", "inguinal") else "general_above_cm"
    return options.number(name), name


def _size(nodes: Nodes, options: Options) -> tuple[tuple[Remark, ...], tuple[str, ...]]:
    """Return what the size rule of the group says."""
    group = options.text("group")
    limit, name = limit_cm(group, options)
    is_large = nodes.largest_mm > rounded(10 * limit, 1)
    classes = ("large",) if is_large else ("small",) if nodes.sizes else ()
    if group in options.texts("any_size"):
        text = "any node felt here is reported"
        return (remark(text, options, "tell_large", "any_size"),), (*classes, "any-size")
    if not is_large:
        return (), classes
    return (remark(f"above {short(limit)} cm", options, "tell_large", name),), classes


def _feel_classes(nodes: Nodes) -> tuple[str, ...]:
    kept = tuple(term for term in nodes.terms if term in ("hard", "matted", "tender"))
    still = ("not-mobile",) if {"fixed", "matted"} & set(nodes.terms) else ()
    return (*kept, *still, *(("several",) if nodes.number != 1 else ()))


def _feel_remarks(nodes: Nodes, options: Options) -> Iterator[Remark]:
    found = [term for term in nodes.terms if term in ("hard", "matted", "fixed", "tender")]
    if found:
        yield remark(" and ".join(found), options, "tell_feel")


def generalised_nodes(inputs: Mapping[str, Facts], options: Options) -> Meaning | None:
    """Return in how many regions a node was felt that the size rule of its group calls large.

    Fewer than that are localised only where enough regions were felt for.
    """
    felt = {group: facts for group, facts in inputs.items() if facts}
    if not felt:
        return None
    large = [group for group, facts in felt.items() if _has_large(group, facts.values(), options)]
    regions = list(dict.fromkeys(REGIONS.get(group, _NECK) for group in large))
    examined = dict.fromkeys(REGIONS.get(group, _NECK) for group in felt)
    least = options.number("regions_from")
    extent = f"{len(examined)} region{'s' * (len(examined) > 1)} felt ({', '.join(examined)})"
    if not large:
        said = f"no node above the size rule in the {extent}"
        return Meaning(text="", words=said, chart=said, classes=("none-large",))
    said = f"large nodes in {', '.join(large)}: {len(regions)} of {extent}"
    if len(regions) < least:
        found = "localised" if len(examined) >= least else "too-few-felt"
        return Meaning(text="", words=said, chart=said, classes=(found,))
    text = f"large nodes in {len(regions)} regions, called generalised from {short(least)}"
    remarks = (remark(text, options, "tell_generalised", "regions_from"),)
    words = f"{said}; {short(least)} or more are called generalised"
    return Meaning(text="", words=words, chart=said, classes=("generalised",), remarks=remarks)


def _has_large(group: str, facts: Iterable[Fact], options: Options) -> bool:
    wanted = frozenset(options.texts("large"))
    if group in options.texts("any_size"):
        wanted |= frozenset(options.texts("felt"))
    return any(fact.classes & wanted for fact in facts)


_GOITRE_FORM = "type 0, 1 or 2: 0 none, 1 felt, 2 seen with the neck not extended"
_GOITRE_NAMES = ("goitre", "goiter", "who", "grade", "g")
# What stands in the answer is no unknown word: `none` alone is told that it is 0.
_GOITRE_WORDS = (*_GOITRE_NAMES, *re.findall("[a-z]+", _GOITRE_FORM))
_GOITRE = (
    "no goitre felt or seen; lobes no larger than the end of the patient's thumb",
    "felt, not seen with the neck not extended; a lump in a gland of usual size counts",
    "seen with the neck not extended",
)
_OLDER = {"0a": 0, "0b": 1, "1a": 1, "1b": 1, "3": 2, "4": 2}


def goitre_grade(text: str, options: Options) -> Meaning:
    """Read a grade of the scheme of 0, 1 and 2; grades of the older schemes are refused, not converted."""
    typed = plain(text)
    for name in _GOITRE_NAMES:
        typed = typed.removeprefix(name).strip()
    if typed in _OLDER:
        now = _OLDER[typed]
        raise ReadingError(f"{typed} is of an older scheme: type {now} if {_GOITRE[now].partition(';')[0]}")
    if typed not in ("0", "1", "2"):
        raise refused(typed, _GOITRE_WORDS, _GOITRE_FORM)
    grade = int(typed)
    source, told = options.source("report_from"), grade >= options.number("report_from")
    said = _GOITRE[grade].partition(";")[0]
    return Meaning(
        text=typed,
        words=f"grade {grade} of 0 to 2: {_GOITRE[grade]}",
        chart=f"grade {grade} (WHO 0 to 2)",
        classes=(f"grade-{grade}", *("felt", "visible")[:grade]),
        remarks=(Remark(text=said, source=source, tell="report"),) if told else (),
        figures={"goitre_grade": grade},
    )


READERS: Mapping[str, Callable[[str, Options], Meaning]] = {
    "lymph-node": lymph_node,
    "goitre-grade": goitre_grade,
}
COMPUTATIONS: Mapping[str, Callable[[Mapping[str, Facts], Options], Meaning | None]] = {
    "generalised-nodes": generalised_nodes,
}
