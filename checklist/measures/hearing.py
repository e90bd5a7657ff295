"""Hearing: whispered voice, Weber, Rinne. Pure; what they say together is in `forks`.

Rinne is kept as what was heard longer, never as positive or negative: the two words are read both ways.
"""

import re
from collections.abc import Callable, Mapping
from typing import NamedTuple

from checklist.measures.limits import remark
from checklist.measures.reading import Meaning, Options, ReadingError, Remark
from checklist.measures.typed import SHORT_NUMBER, match, plain, pointed, refused, rounded, short, within

ITEMS = 3
"""Items whispered in a set."""

_WHISPER_FORM = "type the right ones of each set of 3, such as 3/3; or 2/3 1/3"
_WHISPER_WORDS = ("of", "out", "then", "and")
_SET = r"([0-9]{1,2})(?: ?(?:/|of|out of) ?([0-9]{1,2}))?"


def whispered_voice(text: str, options: Options) -> Meaning:
    """Read items right of 3; when not all were, those of one new set of 3 as well."""
    form = match(
        rf"{_SET}(?:(?: ?[,;+] ?| then | and | ){_SET})?", plain(text), _WHISPER_FORM, _WHISPER_WORDS
    )
    if any(of not in (None, str(ITEMS)) for of in (form[2], form[4])):
        raise ReadingError(_WHISPER_FORM)
    first, second = int(form[1]), int(form[3]) if form[3] else None
    for right in (first, second or 0):
        within(right, 0, ITEMS, "a set", "right")
    if first == ITEMS:
        if second is not None:
            raise ReadingError("all 3 right at once is a pass: leave the second set out")
        return Meaning(
            text="3/3",
            words="3 of 3 whispered items right at once: a pass",
            chart="3/3 whispered items",
            classes=("passes", "passes-at-once"),
            figures={"items_right": 3, "items_whispered": 3},
        )
    if second is None:
        raise ReadingError(f"{first}/3 needs one new set of 3: type both, such as {first}/3 2/3")
    return _two_sets(first, second, options)


def _two_sets(first: int, second: int, options: Options) -> Meaning:
    needed, total = options.number("pass_of_six"), first + second
    passes = total >= needed
    limit = f"{short(needed)} of 6"
    fails = remark(f"fewer than {limit} whispered items", options, "tell_fails", "pass_of_six")
    verdict = f"a pass from {limit}" if passes else f"below the {limit} of a pass"
    return Meaning(
        text=f"{first}/3 {second}/3",
        words=f"{first} of 3, then {second} of a new set of 3: {total} of 6 whispered items right, {verdict}",
        chart=f"{total}/6 whispered items ({first}/3, then {second}/3)",
        classes=("passes",) if passes else ("fails",),
        remarks=() if passes else (fails,),
        figures={"items_right": total, "items_whispered": 6},
    )


_WEBER_FORM = "type m (midline), r, l, not heard, or vague when it cannot be placed"
_WEBER = {
    **dict.fromkeys(
        ("m", "mid", "middle", "midline", "centre", "center", "central", "both", "equal"), "midline"
    ),
    **dict.fromkeys(("same", "equally", "ml"), "midline"),
    **dict.fromkeys(("r", "rt", "right"), "right"),
    **dict.fromkeys(("l", "lt", "left"), "left"),
    **dict.fromkeys(("not heard", "none", "nothing", "nh"), "not heard"),
    **dict.fromkeys(("vague", "unsure", "not placed", "cannot place", "cannot tell"), "vague"),
}
_WEBER_FILLERS = re.compile(
    r"\b(?:heard|louder|better|loudest|lateral(?:iz|is)(?:es|ed|ing)|goes|to|on|in|the|ears?|side|head)\b"
)

_WEBER_EVEN = re.compile(r"(?:no|not|does not|non)[ -]?laterali[sz](?:ation|ed|es?|ing)")
_WEBER_WORDS = frozenset(" ".join(_WEBER).split())


def weber(text: str, options: Options) -> Meaning:
    """Read where the fork on the middle of the head was heard."""
    typed = plain(text)
    bare = plain(_WEBER_FILLERS.sub(" ", typed))
    place = "midline" if _WEBER_EVEN.fullmatch(typed) else _WEBER.get(typed) or _WEBER.get(bare)
    if not place:
        raise refused(bare, _WEBER_WORDS, _WEBER_FORM)
    words, said, tell = {
        "midline": ("heard in the midline, or the same in both ears", "", ""),
        "right": ("heard louder on the right", "heard louder on one side", "tell_side"),
        "left": ("heard louder on the left", "heard louder on one side", "tell_side"),
        "not heard": ("not heard", "not heard", "tell_not_heard"),
        "vague": ("heard, not placed by the patient", "not placed by the patient", ""),
    }[place]
    urgency = options.text(tell) if tell else "note"
    source = options.source(tell or "tell_side")
    return Meaning(
        text=place,
        words=words,
        chart="heard in the midline" if place == "midline" else words,
        classes=(place.replace(" ", "-"),),
        remarks=(Remark(text=said, source=source, tell=urgency),) if said else (),
    )


AIR, EQUAL, BONE, NOT_HEARD = "air", "equal", "bone", "not heard"
CHARTED = {
    AIR: "AC>BC",
    EQUAL: "AC=BC",
    BONE: "BC>AC",
    NOT_HEARD: "not heard by air or bone",
    "unsure": "answers change on repeat",
}
_RINNE_CLASSES = {AIR: "air-longer", EQUAL: "equal", BONE: "bone-longer"}
_RINNE_WORDS = {
    AIR: "heard longer by air than by bone",
    EQUAL: "heard equally long by air and bone",
    BONE: "heard longer by bone than by air; the other ear may be what hears the bone",
    NOT_HEARD: "not heard by air or by bone",
    "unsure": "answers change when repeated",
}
_RINNE_FORM = "type ac>bc, ac=bc or bc>ac; seconds by air/bone, such as 40/20; or not heard"
_RINNE_REFUSED = "positive and negative are read both ways: type ac>bc, ac=bc or bc>ac"
_RINNE_TWO_WAYS = re.compile(r"(?:rinne )?(?:positive|negative|pos|neg|\+|-|\+ve|-ve)")
_RELATION = re.compile(r"(ac|a|air|bc|b|bone)(>|=|<)(ac|a|air|bc|b|bone)")
_RINNE_TYPED = {
    **dict.fromkeys(("air", "ac", "a", "air longer", "air conduction longer"), AIR),
    **dict.fromkeys(("equal", "same", "=", "equally long"), EQUAL),
    **dict.fromkeys(("bone", "bc", "b", "bone longer", "bone conduction longer"), BONE),
    **dict.fromkeys(("not heard", "none", "nothing", "nh", CHARTED[NOT_HEARD]), NOT_HEARD),
    **dict.fromkeys(("unsure", "inconsistent", "vague", CHARTED["unsure"]), "unsure"),
}


def rinne(text: str, options: Options) -> Meaning:
    """Read what was heard longer, or for how many seconds each.

    `40/20` are the whole seconds by air and by bone. `bone 15 then air 20` is one stroke of the fork, timed
    at the bone until it stopped and then anew at the ear: by air it was heard for 35 s in all.
    """
    typed = pointed(plain(text))
    if _RINNE_TWO_WAYS.fullmatch(typed):
        raise ReadingError(_RINNE_REFUSED)
    if heard := _RINNE_TYPED.get(typed) or _relation(typed.replace(" ", "")):
        return _rinne(heard, _RINNE_TEXT.get(heard, heard), "", options)
    return _timed(_seconds(typed), options)


_RINNE_TEXT = {AIR: "AC>BC", EQUAL: "AC=BC", BONE: "BC>AC"}


def _relation(typed: str) -> str:
    """Return what was longer by a relation such as `ac>bc`; empty when it is none."""
    found = _RELATION.fullmatch(typed)
    if not found or found[1][0] == found[3][0]:
        return ""
    if found[2] == "=":
        return EQUAL
    longer = found[1] if found[2] == ">" else found[3]
    return AIR if longer[0] == "a" else BONE


class _Seconds(NamedTuple):
    air: float
    """The whole time by air."""
    bone: float
    then: float = 0
    """What of the time by air came after the bone had stopped; 0 when the two were timed apart."""


_S = r" ?(?:s|sec|secs|seconds)?"
_A, _B, _GAP = "(?:ac|air|a)", "(?:bc|bone|b)", r" ?[,;/]? ?"
_RINNE_KNOWN = frozenset(("then", "more", "s", "sec", "secs", "seconds", *" ".join(_RINNE_TYPED).split()))
_TIMED = (
    (rf"{SHORT_NUMBER}{_S} ?/ ?{SHORT_NUMBER}{_S}", "air", "bone"),
    (rf"{_A} ?{SHORT_NUMBER}{_S}{_GAP}{_B} ?{SHORT_NUMBER}{_S}", "air", "bone"),
    (rf"{_B} ?{SHORT_NUMBER}{_S}{_GAP}{_A} ?{SHORT_NUMBER}{_S}", "bone", "air"),
    (rf"{_B} ?{SHORT_NUMBER}{_S} ?(?:[,;]? ?then|\+) ?{_A} ?{SHORT_NUMBER}{_S}(?: more)?", "bone", "then"),
)


def _seconds(typed: str) -> _Seconds:
    for pattern, first, second in _TIMED:
        if form := re.fullmatch(pattern, typed):
            times = {first: rounded(float(form[1]), 1), second: rounded(float(form[2]), 1)}
            return _checked(times)
    raise refused(typed, _RINNE_KNOWN, _RINNE_FORM)


def _checked(times: Mapping[str, float]) -> _Seconds:
    bone, then = times["bone"], times.get("then", 0.0)
    if times.get("then") == 0:
        raise ReadingError("not heard again by air: type bc>ac, or ac=bc when they were equally long")
    air = times["air"] if "air" in times else rounded(bone + then, 1)
    for seconds in (air, bone):
        within(seconds, 1, 300, "a time with a fork", "s")
    return _Seconds(air, bone, then)


def _timed(seconds: _Seconds, options: Options) -> Meaning:
    air, bone, then = (short(each) for each in seconds)
    heard = longer(seconds.air, seconds.bone, options.number("equal_within_seconds"))
    ratio = f"{rounded(seconds.air / seconds.bone, 1):.1f} to 1"
    text = f"bone {bone} s then air {then} s" if seconds.then else f"air {air} s bone {bone} s"
    more = f" ({bone} s as by bone, then {then} s more)" if seconds.then else ""
    times = f"air {air} s{more}, bone {bone} s, air to bone {ratio}"
    found = _rinne(heard, text, times, options)
    low = heard == AIR and seconds.air < options.number("usual_ratio") * seconds.bone
    return Meaning(
        text=found.text,
        words=found.words,
        chart=f"{found.chart}, air {air} s, bone {bone} s ({ratio})",
        classes=found.classes,
        remarks=(*found.remarks, *(_low_ratio(options) if low else ())),
        doubt=f"{short(max(seconds[:2]))} s with a fork is unusual" if max(seconds[:2]) > 120 else "",
        figures={
            "air_seconds": seconds.air,
            "bone_seconds": seconds.bone,
            "air_to_bone": seconds.air / seconds.bone,
        },
    )


def longer(air_seconds: float, bone_seconds: float, equal_within_seconds: float) -> str:
    """Return `air`, `bone` or `equal`: times that a hand cannot tell apart are equal."""
    # Of times in tenths, the difference may miss the limit by a hair in binary.
    difference = rounded(air_seconds - bone_seconds, 1)
    if abs(difference) <= equal_within_seconds:
        return EQUAL
    return AIR if difference > 0 else BONE


def _low_ratio(options: Options) -> tuple[Remark, ...]:
    text = f"air less than {short(options.number('usual_ratio'))} times as long as bone"
    return (Remark(text=text, source=options.source("usual_ratio")),)


def _rinne(heard: str, text: str, times: str, options: Options) -> Meaning:
    told = {
        EQUAL: ("equally long by air and bone", "tell_equal"),
        BONE: ("longer by bone than by air", "tell_bone"),
        NOT_HEARD: ("not heard by air or bone", "tell_bone"),
        "unsure": ("answers change on repeat", "tell_unsure"),
    }
    words, remarks = _RINNE_WORDS[heard], list[Remark]()
    if heard in told:
        what, option = told[heard]
        remarks.append(remark(what, options, option))
    return Meaning(
        text=text,
        words=f"{times}: {words}" if times else words,
        chart=CHARTED[heard],
        classes=(_RINNE_CLASSES.get(heard, heard.replace(" ", "-")),),
        remarks=tuple(remarks),
    )


READERS: Mapping[str, Callable[[str, Options], Meaning]] = {
    "whispered-voice": whispered_voice,
    "weber": weber,
    "rinne": rinne,
}
