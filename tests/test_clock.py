"""The examination clock counts examination: not pauses, not sleep, and no second twice."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklist.session.clock import Clock, hold, read, run, stop

AWAKE = st.tuples(st.just("awake"), st.floats(0, 9.999))
ASLEEP = st.tuples(st.just("asleep"), st.floats(10.001, 1e6))
PAUSED = st.tuples(st.just("paused"), st.floats(0, 1e6))


def test_a_new_clock_stands_at_nothing() -> None:
    clock = Clock()
    assert not clock.is_running
    assert read(clock, 1e9) == (clock, 0.0)


def test_a_running_clock_counts_what_passes_between_readings() -> None:
    clock, away = read(run(Clock(elapsed=30.0), 100.0), 101.5)
    assert clock.is_running
    assert (clock.elapsed, away) == (31.5, 0.0)
    assert read(clock, 103.0)[0].elapsed == 33.0


def test_a_stopped_clock_stands_at_its_last_reading() -> None:
    clock, _ = read(run(Clock(), 100.0), 105.0)
    stopped = stop(clock)
    later, away = read(stopped, 5000.0)
    again, _ = read(run(later, 6000.0), 6001.0)

    assert (later.elapsed, away) == (5.0, 0.0)
    assert again.elapsed == 6.0


@pytest.mark.parametrize(
    ("passed", "counted", "away"), [(10.0, 10.0, 0.0), (10.5, 0.0, 10.5), (3600, 0.0, 3600)]
)
def test_a_silence_longer_than_ten_seconds_is_left_out_whole(
    passed: float, counted: float, away: float
) -> None:
    clock, left_out = read(run(Clock(), 1.0), 1.0 + passed)
    assert (clock.elapsed, left_out) == (counted, away)
    assert read(clock, 2.0 + passed)[0].elapsed == counted + 1.0


@pytest.mark.parametrize("passed", [0.25, 9.0, 3600.0])
def test_a_clock_that_is_held_leaves_out_what_passes_until_the_next_reading(passed: float) -> None:
    clock, away = read(hold(run(Clock(elapsed=7.0), 1.0)), 1.0 + passed)
    assert (clock.elapsed, away) == (7.0, passed)
    assert read(clock, 3.0 + passed)[0].elapsed == 9.0


def test_a_stopped_clock_that_is_held_is_only_stopped() -> None:
    clock = hold(stop(run(Clock(elapsed=7.0), 1.0)))
    assert read(run(clock, 50.0), 52.0)[0].elapsed == 9.0
    assert read(run(stop(hold(run(Clock(), 1.0))), 50.0), 52.0)[0].elapsed == 2.0


def test_a_counter_that_goes_backwards_takes_no_second_away() -> None:
    clock, away = read(run(Clock(elapsed=7.0), 100.0), 40.0)
    assert (clock.elapsed, away) == (7.0, 0.0)
    assert read(clock, 41.0)[0].elapsed == 8.0


@given(st.lists(AWAKE | ASLEEP | PAUSED))
def test_only_time_awake_and_running_is_examination(stretches: list[tuple[str, float]]) -> None:
    counter = 1000.0
    clock, silence = run(Clock(), counter), 0.0
    for how, seconds in stretches:
        counter += seconds
        if how == "paused":
            clock = run(stop(clock), counter)
        clock, away = read(clock, counter)
        silence += away
    awake = sum(seconds for how, seconds in stretches if how == "awake")
    asleep = sum(seconds for how, seconds in stretches if how == "asleep")

    assert clock.elapsed == pytest.approx(awake, abs=1e-6)
    assert silence == pytest.approx(asleep, abs=1e-6)
