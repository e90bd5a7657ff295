"""Hands busy: a beat tapped with a key, a count against a silent clock, a stop-watch. Pure.

All times are seconds of the examination clock, so that a pause or a sleeping machine is never measured.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from checklist.measures import timing as measure
from checklist.protocol.model import Entry, Step
from checklist.tui.draw import BLANK, Line, labelled

RATE, SECONDS = "rate", "seconds"
LETTING_GO_SECONDS = 1.0
"""A later press is no repeat of a key that is held down, even where repeats come late over a slow line."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Timing:
    """What is being timed for one entry of a step."""

    step: Step
    entry: Entry
    kind: str
    """`RATE` or `SECONDS`."""
    phases: tuple[str, ...] = ("",)
    """What the stop-watch takes one after another."""
    taken: tuple[float, ...] = ()
    """Seconds of the phases that are over."""
    presses: tuple[float, ...] = ()
    span: int = 0
    """Seconds of the silent clock; 0 while none runs."""
    since: float = 0.0

    @property
    def phase(self) -> str:
        return self.phases[len(self.taken)]


def pressed(timing: Timing, now: float) -> Timing:
    """Return the timing after a press; a stop-watch that was stopped stays so, lest it go on unseen."""
    if is_stopped(timing) and now - timing.presses[-1] >= LETTING_GO_SECONDS:
        return timing
    return replace(timing, presses=(*timing.presses, now))


def with_clock(timing: Timing, span: int, now: float) -> Timing:
    """Start the silent clock; what was tapped before does not count."""
    return replace(timing, span=span, since=now, presses=())


def again(timing: Timing) -> Timing:
    return replace(timing, presses=(), span=0)


def is_stopped(timing: Timing) -> bool:
    return timing.kind == SECONDS and len(timing.presses) > 1


def is_over(timing: Timing, now: float) -> bool:
    """Whether the silent clock has run out."""
    return timing.span > 0 and now - timing.since >= timing.span


def taken(timing: Timing) -> Timing | str:
    """Return the text of the reading, or the timing of the next phase; empty when too little was timed."""
    if timing.kind == RATE:
        rate = measure.tapped(timing.presses)
        return measure.tapped_text(rate) if rate else ""
    if len(timing.presses) < 2:
        return ""
    times = (*timing.taken, measure.held(timing.presses))
    if len(times) < len(timing.phases):
        return replace(timing, taken=times, presses=())
    return ", ".join(f"{phase} {seconds:.1f} s".strip() for phase, seconds in _named(timing, times))


def counted_text(timing: Timing) -> str:
    """Return what the silent clock leaves to be typed: the count in front, when it was tapped."""
    end = timing.since + timing.span
    count = _count([press for press in timing.presses if press <= end])
    return f"{count or ''} in {timing.span} s"


def _count(presses: Sequence[float]) -> int:
    return sum(1 for _ in measure.single_presses(presses))


def _named(timing: Timing, times: Sequence[float]) -> list[tuple[str, float]]:
    return list(zip(timing.phases, times, strict=False))


def timing_lines(timing: Timing, now: float, names: Mapping[str, str], width: int) -> list[Line]:
    """Return what to press, and what it comes to so far."""
    where = f" – {timing.entry.label}" if timing.entry.label else ""
    lines: list[Line] = [((f"{timing.step.title}{where}", "title"),), BLANK]
    if timing.span:
        lines += _clock_lines(timing, now, names, width)
    elif timing.kind == RATE:
        lines += _rate_lines(timing, names, width)
    else:
        lines += _watch_lines(timing, now, names, width)
    again_key = names["timing.again"]
    return [
        *lines,
        BLANK,
        *labelled("", f"{again_key} starts again. A pause is not measured.", width, "quiet"),
    ]


def _rate_lines(timing: Timing, names: Mapping[str, str], width: int) -> list[Line]:
    tap, half, whole = names["timing.tap"], names["timing.half_minute"], names["timing.minute"]
    do = (
        f"Tap {tap} on each beat, or {half} / {whole}: a silent clock of 30 / 60 s to count against; "
        "with it, taps are counted too."
    )
    lines = labelled("Do", do, width)
    rate = measure.tapped(timing.presses)
    beats = _count(timing.presses)
    if rate is None:
        return [*lines, *labelled("So far", f"{beats} beats; a rate takes at least 4", width, "strong")]
    found = f"{measure.tapped_text(rate).replace('+-', '±')} ({beats} beats)"
    lines += labelled("So far", found, width, "strong")
    if advice := measure.advice(rate):
        lines += labelled("Then", advice, width, "warn", "warn")
    return lines


def _clock_lines(timing: Timing, now: float, names: Mapping[str, str], width: int) -> list[Line]:
    left = max(0.0, timing.span - (now - timing.since))
    beats = _count(timing.presses)
    do = f"Count until the clock runs out; {names['timing.tap']} counts one, or keep the count in your head."
    lines = labelled("Do", do, width)
    lines += labelled("Clock", f"{left:.0f} s of {timing.span} s left", width, "strong")
    return [*lines, *labelled("Counted", str(beats), width, "strong")]


def _watch_lines(timing: Timing, now: float, names: Mapping[str, str], width: int) -> list[Line]:
    tap, take = names["timing.tap"], names["timing.take"]
    what = f" ({timing.phase})" if timing.phase else ""
    do = f"{tap} starts{what} and {tap} stops, or hold {tap} down all the while; {take} takes the time."
    lines = labelled("Do", do, width)
    for phase, seconds in _named(timing, timing.taken):
        lines += labelled(phase.capitalize(), f"{seconds:.1f} s", width)
    return [*lines, *labelled("Time", _watch_words(timing, now), width, "strong")]


def _watch_words(timing: Timing, now: float) -> str:
    match timing.presses:
        case ():
            return "not started"
        case (start,):
            return f"{now - start:.1f} s, running"
        case presses:
            return f"{measure.held(presses):.1f} s"
