"""Runs for the tests of recall, plan, learning and progress, made by hand. All invented."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

from checklist.practice.run import Run

NOW = datetime(2026, 3, 30, 20, 0, tzinfo=UTC)
WHOLE = 120.0


def a_run(days_ago: float, tests: Mapping[str, bool], **changes: Any) -> Run:
    """A rehearsal of the order so many days before NOW, in which these steps were recalled or not."""
    made = Run(
        id=f"run-{days_ago}",
        created=NOW - timedelta(days=days_ago),
        protocol="hand",
        mode="rehearsal",
        task="order",
        examiner="E-2",
        is_finished=True,
        is_fictional=False,
        seconds=WHOLE,
        coverage=100.0,
        reach=100.0,
        critical_missed=(),
        moved=0,
        steps=tuple(tests),
        marks="".join("+" if is_recalled else "-" for is_recalled in tests.values()),
        times=(0.0,) * len(tests),
    )
    return replace(made, **changes)


def examined(days_ago: float, seconds: float, **changes: Any) -> Run:
    """A finished examination that took so long."""
    usual = {"mode": "examination", "task": "", "seconds": seconds}
    return a_run(days_ago, {"look": True}, **(usual | changes))


def timed(days_ago: float, seconds: float) -> Run:
    """An examination in which the step `look` was done and took so long."""
    return examined(days_ago, seconds=100.0, times=(seconds,))
