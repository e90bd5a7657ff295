"""Words that clinicians write beside a vital sign: position, side, route, device. Pure."""

import re
from collections.abc import Mapping

from checklist.measures.reading import ReadingError
from checklist.measures.typed import refused


def known_words(text: str, slots: Mapping[str, str], accepted: str) -> list[str]:
    """Return the known words of `text`, each once, in the order of `slots`; the values are their groups."""
    found: dict[str, str] = {}
    for word in re.split(r"[ ,;]+", text.strip(" ,;")):
        meant = SYNONYMS.get(word, word)
        if not meant:
            continue
        if meant not in slots:
            raise refused(word, slots, accepted)
        if slots[meant] in found:
            raise ReadingError(accepted)
        found[slots[meant]] = meant
    return sorted(found.values(), key=list(slots).index)


SYNONYMS = {
    **dict.fromkeys(("", "mmhg", "arm", "by", "in", "the", "at", "from", "via", "cannula", "prongs"), ""),
    **dict.fromkeys(("sit", "sat", "seated"), "sitting"),
    **dict.fromkeys(("lie", "lay", "supine"), "lying"),
    **dict.fromkeys(("stand", "stood", "erect"), "standing"),
    **dict.fromkeys(("r", "rt"), "right"),
    **dict.fromkeys(("l", "lt"), "left"),
    **dict.fromkeys(("mouth", "tongue", "o"), "oral"),
    **dict.fromkeys(("tympanic",), "ear"),
    **dict.fromkeys(("armpit", "axillary", "ax"), "axilla"),
    **dict.fromkeys(("rectum",), "rectal"),
    **dict.fromkeys(("temporal",), "forehead"),
    **dict.fromkeys(("nc",), "nasal"),
    **dict.fromkeys(("nrb", "non-rebreather"), "reservoir"),
}
