"""LogMAR of counted fingers and of hand motion, by the conventions that have been published for it. Pure.

They differ, for a hand at 2 ft by 0.7: none holds unless a protocol names it.
Light perception has no logMAR in any of them here, as it is no acuity.
"""

from typing import NamedTuple

from checklist.measures.acuity_text import Acuity
from checklist.measures.chart_lines import logmar


class Convention(NamedTuple):
    """The logMAR that a publication gives to fingers and to hand motion."""

    fingers: float | None
    hand: float | None
    source: str
    nearest: float = 0
    farthest: float = 99
    """Distances in metres that it was measured at."""
    is_any: bool = True
    """Whether it holds where no distance was recorded."""


CONVENTIONS = {
    "freiburg-2006": Convention(1.85, 2.30, "Schulze-Bonsel 2006", 0.29, 0.31, is_any=False),
    "freiburg-2009": Convention(1.98, 2.28, "Lange 2009"),
    # Neither is fixed here: both follow from the distance that was recorded.
    "holladay": Convention(None, None, "Holladay 2004: fingers quoted second hand, hand from memory"),
    "bach": Convention(1.9, 2.3, "Bach, acuity cheat sheet"),
    "survey": Convention(1.8, None, "RAAB survey reports, quoted second hand", 1, 2.99, is_any=False),
}


def holladay(feet: float, *, is_hand: bool) -> float:
    """Return the logMAR of fingers counted at so many feet, as letters for 200 ft; a hand ten times."""
    return logmar(feet, 2000 if is_hand else 200)


def by_convention(found: Acuity, name: str) -> float | None:
    """Return the logMAR of fingers or of hand motion by a named convention; None where it gives none."""
    if found.level not in ("cf", "hm") or name == "none":
        return None
    is_hand = found.level == "hm"
    if name == "holladay":
        return holladay(found.at.metres / 0.3048, is_hand=is_hand) if found.at else None
    given = CONVENTIONS[name]
    # Hand motion was measured at no stated distance.
    if not is_hand and not (given.nearest <= found.at.metres <= given.farthest if found.at else given.is_any):
        return None
    return given.hand if is_hand else given.fingers
