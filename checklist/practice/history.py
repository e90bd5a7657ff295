"""The past runs of one person on one protocol, chosen from all that there are. Computes nothing of them."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from checklist.practice.run import Run
from checklist.protocol.model import Protocol
from checklist.text import same_code

AHEAD = timedelta(days=1)
"""A session dated farther after now than this was dated by a clock that was wrong; less may be another time
zone's. Our own rule, no source."""


@dataclass(frozen=True, kw_only=True, slots=True)
class History:
    """What there is to look back on."""

    protocol: Protocol
    examiner: str
    """The code whose runs these are; empty where there are none."""
    runs: tuple[Run, ...]
    """Oldest first; invented examples are not among them."""
    others: tuple[str, ...] = ()
    """Other codes with runs of the protocol."""
    unreadable: tuple[str, ...] = ()
    """Names of the session files that could not be read."""
    ahead: int = 0
    """Runs of the same code that were left aside, as they are dated after today."""


def history(
    protocol: Protocol,
    runs: Iterable[Run],
    examiner: str | None = None,
    unreadable: tuple[str, ...] = (),
    now: datetime | None = None,
) -> History:
    """Return the runs of `examiner`; None: of the one with the latest run of the protocol.

    A session of which there are two files counts once. With `now`, runs dated after it are left aside.
    """
    by_id = {run.id: run for run in runs if run.protocol == protocol.id and not run.is_fictional}
    own = sorted(by_id.values(), key=lambda run: run.created)
    if examiner is None:
        there = [run for run in own if not is_ahead(run.created, now)] or own
        examiner = there[-1].examiner if there else ""
    found = History(
        protocol=protocol,
        examiner=examiner,
        runs=tuple(run for run in own if same_code(run.examiner, examiner)),
        others=tuple(sorted({run.examiner for run in own if not same_code(run.examiner, examiner)})),
        unreadable=unreadable,
    )
    return found if now is None else up_to(found, now)


def up_to(past: History, now: datetime) -> History:
    """Return a history without the runs that are dated after `now`."""
    there = tuple(run for run in past.runs if not is_ahead(run.created, now))
    return replace(past, runs=there, ahead=past.ahead + len(past.runs) - len(there))


def is_ahead(created: datetime, now: datetime | None) -> bool:
    """Whether something made at that time is dated more than a day after `now`; never where that is None."""
    return now is not None and created - now > AHEAD
