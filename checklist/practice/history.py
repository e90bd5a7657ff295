"""The past runs of one person on one protocol, chosen from all that there are. Computes nothing of them."""

from collections.abc import Iterable
from dataclasses import dataclass

from checklist.practice.run import Run
from checklist.protocol.model import Protocol


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
    unreadable: int = 0
    """Session files that could not be read."""


def history(
    protocol: Protocol, runs: Iterable[Run], examiner: str | None = None, unreadable: int = 0
) -> History:
    """Return the runs of `examiner`; None: of the one with the latest run of the protocol.

    A session of which there are two files counts once.
    """
    by_id = {run.id: run for run in runs if run.protocol == protocol.id and not run.is_fictional}
    own = sorted(by_id.values(), key=lambda run: run.created)
    if examiner is None:
        examiner = own[-1].examiner if own else ""
    return History(
        protocol=protocol,
        examiner=examiner,
        runs=tuple(run for run in own if run.examiner == examiner),
        others=tuple(sorted({run.examiner for run in own} - {examiner})),
        unreadable=unreadable,
    )
