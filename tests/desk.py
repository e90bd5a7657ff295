"""Drives the real app with keys: a still clock, a folder of its own, and what the screen shows as text."""

import asyncio
from collections.abc import Awaitable, Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from textual.events import Key
from textual.pilot import Pilot

from checklist.protocol.library import Loaded, load_table
from checklist.session import store
from checklist.session.opening import Preparation, begin
from checklist.session.recorder import Clocks
from checklist.session.session import Session
from checklist.tui.app import ChecklistApp, Surroundings
from checklist.tui.draw import Drawn
from checklist.tui.examine import ExamineScreen
from checklist.tui.keys import View
from checklist.tui.screen import DrawnScreen
from checklist.tui.views import VIEWS
from tests.helpers import PROTOCOL

SMALL, LARGE = (80, 24), (120, 40)
HEAD_AND_NECK = Path(__file__).parent.parent / "protocols" / "head-and-neck.toml"


class StillTime:
    """Time that passes only when it is told to."""

    def __init__(self) -> None:
        self.seconds = 1000.0
        self.wall = datetime(2026, 3, 2, 14, 0, tzinfo=UTC)

    @property
    def clocks(self) -> Clocks:
        return Clocks(counter=lambda: self.seconds, now=lambda: self.wall)

    def passes(self, seconds: float) -> None:
        self.seconds += seconds
        self.wall += timedelta(seconds=seconds)


class Desk:
    """An app under test, with its time."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.time = StillTime()
        self.views: tuple[View, ...] = VIEWS

    def loaded(self, text: str = PROTOCOL, name: str = "hand") -> Loaded:
        """Return a protocol that stands in the user's own folder."""
        path = self.folder / "protocols" / f"{name}.toml"
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8")
        return load_table(path)

    def run(
        self,
        first: Callable[[ChecklistApp], DrawnScreen],
        scenario: Callable[["Seat"], Awaitable[None]],
        size: tuple[int, int] = SMALL,
    ) -> None:
        """Open the app on a screen and play a scenario with it."""

        async def play() -> None:
            surroundings = Surroundings(clocks=self.time.clocks, views=self.views, ticks=False)
            app = ChecklistApp(first, surroundings)
            async with app.run_test(size=size) as pilot:
                await scenario(Seat(app, pilot))

        asyncio.run(play())

    def examine(
        self,
        scenario: Callable[["Seat"], Awaitable[None]],
        loaded: Loaded | None = None,
        size: tuple[int, int] = SMALL,
        missing: tuple[str, ...] = (),
    ) -> Session:
        """Begin a session, play a scenario at its first step, and return what its file then holds."""
        recorder = begin(
            loaded or self.loaded(),
            Preparation(participant="P-014", examiner="S-07", missing=missing),
            self.time.clocks,
        )

        def first(app: ChecklistApp) -> DrawnScreen:
            app.recorder = recorder
            return ExamineScreen(recorder)

        self.run(first, scenario, size)
        return store.load(recorder.path).session


class Seat:
    """What the person at the keyboard can do and see."""

    def __init__(self, app: ChecklistApp, pilot: Pilot[None]) -> None:
        self.app = app
        self.pilot = pilot

    async def press(self, *keys: str) -> None:
        """Press keys one after another; the screen is settled afterwards."""
        for key in keys:
            self.app.simulate_key(key)
        await self.pilot.pause()

    async def type(self, text: str) -> None:
        """Type into the line that is open, and take it."""
        await self.pilot.pause()
        for character in text:
            self.app.post_message(Key(character, character))
        await self.press("enter")

    def text(self, part: str = "") -> str:
        """Return what the screen shows: all of it, or its `head`, `body`, `speak` or `foot`."""
        parts = [part] if part else ["head", "body", "speak", "foot"]
        return "\n".join(self.app.screen.query_one(f"#{each}", Drawn).plain() for each in parts)

    @property
    def place(self) -> str:
        """Return the id of the view whose keys hold."""
        screen = self.app.screen
        assert isinstance(screen, DrawnScreen)
        return screen.current_view.id


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Desk:
    """Return a desk whose files are its own."""
    monkeypatch.setenv("EXAM_CHECKLIST_HOME", str(tmp_path))
    return Desk(tmp_path)
