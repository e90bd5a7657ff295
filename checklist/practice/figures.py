"""Everything that is known of one performance, gathered once. Blends nothing."""

from collections.abc import Sequence
from dataclasses import dataclass

from checklist.practice.order import Order, order
from checklist.practice.pace import Pace, pace
from checklist.practice.score import Score, score
from checklist.session.session import Session


@dataclass(frozen=True, kw_only=True, slots=True)
class Figures:
    """Score, order and time of one session, each for itself."""

    session: Session
    score: Score
    order: Order
    pace: Pace


def figures(session: Session, history: Sequence[Session] = ()) -> Figures:
    """Return the figures of a session; `history` is what its times are compared with."""
    return Figures(session=session, score=score(session), order=order(session), pace=pace(session, history))
