"""The examination clock: seconds of examination, whatever the machine does meanwhile.

Pure: readings of a monotonic counter come in as arguments, in seconds.
While it runs it is read at least once a second.
A long silence means that the machine slept or the program was stopped, and is not examination time.
"""

from dataclasses import dataclass, replace

LONGEST_SILENCE_SECONDS = 10.0
"""Between two readings; readings come once a second, and a busy machine may be late by a few."""

LONGEST_SECONDS = 1e9
"""No examination takes as long: what stands above it was written by no clock."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Clock:
    """`elapsed` seconds up to the counter reading `read_at`; stopped when that is None."""

    elapsed: float = 0.0
    read_at: float | None = None
    is_held: bool = False
    """Whether all that passes until the next reading is silence, however short."""

    @property
    def is_running(self) -> bool:
        return self.read_at is not None


def run(clock: Clock, counter: float) -> Clock:
    """Start or go on at this counter reading."""
    return replace(clock, read_at=counter)


def stop(clock: Clock) -> Clock:
    """Stand still at the last reading."""
    return replace(clock, read_at=None, is_held=False)


def hold(clock: Clock) -> Clock:
    """Leave out what passes until the next reading, as before the program is stopped; then it goes on."""
    return replace(clock, is_held=clock.is_running)


def read(clock: Clock, counter: float) -> tuple[Clock, float]:
    """Return the clock at this counter reading, and how many seconds were silence and are left out."""
    if clock.read_at is None:
        return clock, 0.0
    passed = max(0.0, counter - clock.read_at)
    if passed > LONGEST_SILENCE_SECONDS or clock.is_held:
        return replace(clock, read_at=counter, is_held=False), passed
    return replace(clock, elapsed=clock.elapsed + passed, read_at=counter), 0.0
