"""Draws the pictures in this folder by driving the real app: python screenshots/make.py

The time is a still one and the sessions are invented, so that the pictures change only when the screens do.
"""

import asyncio
import os
import re
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from textual.events import Key

from checklist.session.recorder import Clocks
from checklist.tui.app import ChecklistApp, Surroundings
from checklist.tui.home import HomeScreen

FOLDER = Path(__file__).parent
_WEB_FONTS = re.compile(r"@font-face \{.*?\}\s*", re.DOTALL)


class Scene:
    """A time that passes a few seconds with every key."""

    def __init__(self) -> None:
        self.seconds = 0.0

    def counter(self) -> float:
        return self.seconds

    def now(self) -> datetime:
        return datetime(2026, 3, 4, 9, 30, tzinfo=UTC) + timedelta(seconds=self.seconds)


@dataclass(frozen=True)
class Picture:
    """What is pressed on the way to a picture: key names, and `"text` to be typed."""

    name: str
    keys: Sequence[str]
    seconds: float = 3.0
    """What passes with every key."""


_PREPARED = ["down", "enter", '"P-014', "enter", '"S-07', "enter", "2", "a"]
_BEGUN = [*_PREPARED, "b"]


def _at(title: str) -> list[str]:
    return ["f", f'"{title}', "enter"]


def _measured() -> list[str]:
    """Invented readings from which score and index are computed; what is out of range is confirmed."""
    typed = {
        "level of consciousness": ("alert", False),
        "measure height": ("172", False),
        "measure weight": ("82 kg", False),
        "measure temperature": ("38.6", True),
        "count pulse": ("112", True),
        "count breaths": ("22 in 60 s", True),
        "oxygen saturation": ("94", True),
        "what is breathed": ("air", False),
        "pressure lying": ("105/70 right arm", False),
    }
    return [
        key
        for title, (text, is_out) in typed.items()
        for key in (*_at(title), "enter", f'"{text}', "enter", *["enter"] * is_out)
    ]


_VITAL_SIGNS = ["down", "down", "enter", '"P-014', "enter", '"S-07', "enter", "1", "a", "b"]
_TO_THE_HEAD = ["space"] * 31
"""Opening, history and the first steps of the head, all as expected."""
PICTURES = (
    Picture("home", []),
    Picture("prepare", _PREPARED),
    Picture("step", [*_BEGUN, *_TO_THE_HEAD]),
    Picture(
        "differs",
        [*_BEGUN, *_TO_THE_HEAD, *_at("temporal arteries"), "d", "r", "1", "t", '"cord-like, 2 cm', "enter"],
    ),
    Picture("told", [*_BEGUN, *_TO_THE_HEAD, *_at("temporal arteries"), "5", "r", "space", "t"]),
    Picture("reading", [*_VITAL_SIGNS, *_at("pressure lying"), "enter", '"148/96 right arm', "enter"]),
    Picture("timing", [*_VITAL_SIGNS, *_at("count pulse"), "c", *["space"] * 14], seconds=0.83),
    Picture("together", [*_VITAL_SIGNS, *_measured(), "g"]),
    Picture("outline", [*_BEGUN, *_TO_THE_HEAD, "o"]),
    Picture("finish", [*_BEGUN, *_TO_THE_HEAD, *_at("eardrum colour"), "d", "l", "1", "enter", "w"]),
    Picture("note", ["e"]),
    Picture("debrief", ["e", "n", "n"]),
    Picture("choose", ["down", "r"]),
    Picture("rehearse", ["down", "r", "enter", "enter", "enter", "enter", "space", "space"]),
    Picture("help", [*_BEGUN, "question_mark"]),
)


async def draw(picture: Picture, size: tuple[int, int]) -> None:
    """Play one picture's keys in a folder of its own, and write what is then on the screen."""
    with tempfile.TemporaryDirectory() as home:
        os.environ["EXAM_CHECKLIST_HOME"] = home
        scene = Scene()
        app = ChecklistApp(
            lambda _: HomeScreen(),
            Surroundings(clocks=Clocks(counter=scene.counter, now=scene.now), ticks=False),
        )
        async with app.run_test(size=size) as pilot:
            await pilot.pause()
            for key in picture.keys:
                scene.seconds += picture.seconds
                if key.startswith('"'):
                    for character in key[1:]:
                        app.post_message(Key(character, character))
                else:
                    app.simulate_key(key)
                await pilot.pause()
            await pilot.pause(0.05)
            svg = app.export_screenshot(title="checklist")
    target = FOLDER / f"{picture.name}-{size[0]}x{size[1]}.svg"
    # Without the lines that name fonts on the web: a picture asks nothing of a network.
    svg = _WEB_FONTS.sub("", svg).replace("<svg ", '<svg xml:space="preserve" ', 1)
    target.write_text(svg, encoding="utf-8")


if __name__ == "__main__":
    for each in PICTURES:
        for cells in ((80, 24), (120, 40)):
            asyncio.run(draw(each, cells))
