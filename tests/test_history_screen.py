"""What to practise next, and progress, by keys: for how many minutes, and from the plan to the rehearsal."""

from collections.abc import Awaitable, Callable

import pytest

from checklist.session import store
from checklist.session.opening import Preparation, begin
from checklist.session.session import REHEARSAL
from checklist.tui.app import ChecklistApp
from checklist.tui.home import HomeScreen
from checklist.tui.rehearse import RehearseScreen
from checklist.tui.screen import DrawnScreen
from tests.desk import Desk, Seat, desk

__all__ = ["desk"]

Scenario = Callable[[Seat], Awaitable[None]]


def look_back(desk: Desk, scenario: Scenario) -> None:
    """Open what to practise next of the own protocol, from home, and play a scenario."""

    async def from_home(seat: Seat) -> None:
        while "▸ Hand" not in seat.text("body"):
            await seat.press("down")
        await seat.press("w")
        await scenario(seat)

    def first(_: ChecklistApp) -> DrawnScreen:
        return HomeScreen()

    desk.loaded()
    desk.run(first, from_home)


def rehearsed(desk: Desk, *, examiner: str = "S-07") -> None:
    """Recall the whole order, a step in ten seconds."""
    preparation = Preparation(participant="", examiner=examiner, mode=REHEARSAL, task="order")
    recorder = begin(desk.loaded(), preparation, desk.time.clocks)

    def first(app: ChecklistApp) -> DrawnScreen:
        app.recorder = recorder
        return RehearseScreen(recorder)

    async def scenario(seat: Seat) -> None:
        screen = seat.app.screen
        assert isinstance(screen, RehearseScreen)
        while seat.place != "recall_finish":
            for _ in range(5):
                desk.time.passes(2)
                screen.tick()
            await seat.press("space", "space")
        await seat.press("w", "y")

    desk.run(first, scenario)


@pytest.mark.parametrize(
    ("keys", "minutes"),
    [
        ((), 20),
        (("left",), 10),
        (("left", "left"), 5),
        (("right",), 30),
        (("right", "right"), 45),
        (("right", "right", "right"), 60),
        (("right", "right", "right", "right"), 90),
        (("right", "left"), 20),
        (("left", "left", "left", "right"), 10),
    ],
)
def test_the_minutes_are_stepped_through_and_stop_at_the_ends(
    desk: Desk, keys: tuple[str, ...], minutes: int
) -> None:
    async def scenario(seat: Seat) -> None:
        await seat.press(*keys)
        assert f"What to practise in {minutes} minutes: Hand" in seat.text("head")
        assert f"TODAY, {minutes} MINUTES" in seat.text("body")

    look_back(desk, scenario)


def test_at_the_ends_the_footer_offers_one_way_and_the_command_is_named(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        assert "← fewer minutes" in seat.text("foot") and "→ more" in seat.text("foot")
        await seat.press("left", "left")
        assert "fewer minutes" not in seat.text("foot")
        await seat.press("left")
        assert "5 minutes; 'checklist practise' takes any number." in seat.text("speak")

    look_back(desk, scenario)


def test_ten_minutes_name_three_things_at_most(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        while "▸ Adult head and neck" not in seat.text("body"):
            await seat.press("down")
        await seat.press("w", "left")
        listed = [line for line in seat.text("body").splitlines() if "not yet tested" in line]
        assert "TODAY, 10 MINUTES" in seat.text("body")
        assert len(listed) == 3
        await seat.press("right")
        assert seat.text("body").count("not yet tested") > 3

    desk.run(lambda _: HomeScreen(), scenario)


def test_what_is_due_is_rehearsed_from_the_plan(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        assert "b recall what is due" in seat.text("foot")
        await seat.press("b")
        assert isinstance(seat.app.screen, RehearseScreen)

    look_back(desk, scenario)

    (summary,) = store.summaries()
    header = store.load(summary.path).session.header
    assert (header.mode, header.task) == (REHEARSAL, "gaps around=wash,look,pulse")


def test_what_is_due_is_rehearsed_under_the_code_of_the_history(desk: Desk) -> None:
    rehearsed(desk, examiner="S-12")
    desk.time.passes(30 * 24 * 3600)

    async def scenario(seat: Seat) -> None:
        await seat.press("b")

    look_back(desk, scenario)

    assert store.load(store.find()).session.header.examiner == "S-12"


def test_where_nothing_is_due_nothing_begins(desk: Desk) -> None:
    rehearsed(desk)

    async def scenario(seat: Seat) -> None:
        assert "recall what is due" not in seat.text("foot")
        await seat.press("b")
        assert "Nothing is due that a rehearsal asks for." in seat.text("speak")
        assert seat.place == "read"

    look_back(desk, scenario)

    assert len(store.summaries()) == 1


def test_progress_has_neither_minutes_nor_a_plan(desk: Desk) -> None:
    async def scenario(seat: Seat) -> None:
        assert "n progress" in seat.text("foot")
        await seat.press("n")
        assert "Progress: Hand" in seat.text("head")
        assert "n what next" in seat.text("foot")
        for label in ("minutes", "recall what is due"):
            assert label not in seat.text("foot")
        await seat.press("right")
        assert "Progress has no minutes; n shows the plan." in seat.text("speak")
        await seat.press("b")
        assert "n shows what is due first." in seat.text("speak")
        await seat.press("n")
        assert "What to practise in 20 minutes" in seat.text("head")

    look_back(desk, scenario)

    assert store.summaries() == []
