"""The screen that all screens are: a head, a body, a line to speak, a line to type in, and the keys."""

from abc import abstractmethod
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, cast

from rich.cells import cell_len
from textual import events
from textual.app import ComposeResult
from textual.screen import Screen

from checklist.errors import ChecklistError
from checklist.session.state import IllegalEventError
from checklist.tui.draw import BLANK, Drawn, Line, Part, crop, wrap
from checklist.tui.keys import Key, View, meaning, shown
from checklist.tui.line import TypedLine, edited, line_parts, opened, pasted
from checklist.tui.views import SEARCH, TYPING

if TYPE_CHECKING:
    from checklist.tui.app import ChecklistApp

SMALLEST = (60, 20)
HEAD_ROWS = SPEAK_ROWS = FOOT_ROWS = 2
PAGE = 10
"""Rows that a page key moves by."""


class DrawnScreen(Screen[None]):
    """Draws values, and hands each key on to the method `do_<id>` that its view gives the key.

    A subclass says what is to be seen in `head`, `body` and `view`, and implements the `do_…` methods.
    """

    AUTO_FOCUS = ""

    def __init__(self) -> None:
        super().__init__()
        self.message: tuple[str, str] = ("", "")
        """What the last key did, and its look; shown until the next key."""
        self.is_helping = False
        self.offset_rows = 0
        self.rows_below = 0
        """How many lines of the body are still below the window."""
        self.successor: DrawnScreen | None = None
        """The screen that takes this one's place; it gets the keys that are pressed meanwhile."""
        self._is_stale = False
        self.line: TypedLine | None = None
        """The line that is being typed into, if one is open."""
        self.typing_view = TYPING
        """The view whose keys hold while a line is open."""
        self._on_typed: Callable[[str], None] = lambda _: None

    @property
    def checklist(self) -> "ChecklistApp":
        return cast("ChecklistApp", self.app)

    def compose(self) -> ComposeResult:
        yield Drawn(id="head")
        yield Drawn(id="body")
        yield Drawn(id="speak")
        line = Drawn(id="type")
        line.display = False
        yield line
        yield Drawn(id="foot")

    # What a subclass says.

    @property
    @abstractmethod
    def view(self) -> View:
        """The view whose keys hold when nothing is being typed."""

    @abstractmethod
    def head(self, width: int) -> Sequence[Line]:
        """The rows above everything, at most `HEAD_ROWS`."""

    @abstractmethod
    def body(self, width: int, height: int) -> Sequence[Line]:
        """What there is to read; `height` rows are seen at once."""

    def standing_message(self) -> tuple[str, str]:
        """What the line above the keys says when no key said anything."""
        return "", ""

    def useful(self, key: Key) -> bool:  # noqa: ARG002
        """Whether the footer should offer `key` now."""
        return True

    # Drawing.

    @property
    def current_view(self) -> View:
        return self.typing_view if self.line else self.view

    def draw(self) -> None:
        """Show everything as it is now."""
        if not self.is_mounted:
            return
        width, height = self.app.size
        if self.is_too_small:
            self._say_too_small(width)
            return
        rows = height - HEAD_ROWS - SPEAK_ROWS - FOOT_ROWS - bool(self.line)
        body = self._help_lines(width - 2) if self.is_helping else list(self.body(width - 2, rows))
        self.offset_rows = min(self.offset_rows, max(0, len(body) - rows))
        self.rows_below = max(0, len(body) - rows - self.offset_rows)
        self._show_line(width - 2)
        self._show("head", self.head(width - 2))
        self._show("body", _fitted(body, self.offset_rows, rows))
        self._show("speak", self._speak_lines(width - 2))
        self._show("foot", self._foot_lines(width - 2))

    def draw_soon(self) -> None:
        """Draw once all keys that already wait are done: a burst of keys is drawn once."""
        if not self._is_stale:
            self._is_stale = True
            self.call_later(self._draw_stale)

    def _draw_stale(self) -> None:
        self._is_stale = False
        self.draw()

    def _show(self, name: str, lines: Sequence[Line]) -> None:
        self.query_one(f"#{name}", Drawn).show([_framed(line) for line in lines])

    def _show_line(self, width: int) -> None:
        widget = self.query_one("#type", Drawn)
        widget.display = self.line is not None
        widget.show([_framed(line_parts(self.line, width))] if self.line else [])

    @property
    def is_too_small(self) -> bool:
        """Whether the window cannot show what a key would do."""
        return self.app.size.width < SMALLEST[0] or self.app.size.height < SMALLEST[1]

    def label(self, key: Key) -> str:
        """What the footer calls `key` now."""
        return key.label

    def key(self, name: str) -> str:
        """Return the key of `view.id` as a person reads it, for a text that names it."""
        return self.checklist.key_names[name]

    def _say_too_small(self, width: int) -> None:
        text = f"The window is too small: at least {SMALLEST[0]} × {SMALLEST[1]}. Nothing is lost."
        for name in ("head", "speak", "foot"):
            self.query_one(f"#{name}", Drawn).show(())
        self.query_one("#body", Drawn).show([((line, "strong"),) for line in wrap(text, max(8, width))])

    def _speak_lines(self, width: int) -> list[Line]:
        """What the last key did, above what waits; something wrong takes both rows."""
        text, look = self.message
        standing, standing_look = self.standing_message()
        said = wrap(text, width)
        if (text and look in {"urgent", "warn", "said"}) or not standing:
            lines = [((line, look),) for line in (*said, "", "")[:SPEAK_ROWS]]
        else:
            lines = [((crop(text, width), look),), ((crop(standing, width), standing_look),)]
        return list(lines)

    def _foot_lines(self, width: int) -> list[Line]:
        """Fill the foot with the keys of use now; for want of room, those before the help go first."""
        keys = [key for key in self.current_view.keys if key.shown and key.keys and self.useful(key)]
        while (
            len(lines := _packed([(shown(key, most=1), self.label(key)) for key in keys], width)) > FOOT_ROWS
        ):
            del keys[-3]
        return [*lines, *[()] * (FOOT_ROWS - len(lines))]

    def _help_lines(self, width: int) -> list[Line]:
        view = self.view
        lines: list[Line] = [((f"Keys: {view.title}", "title"),), BLANK]
        for key in view.keys:
            if key.keys:
                head = f"{shown(key):<18}"
                lines.append(((head, "strong"), (crop(key.help, width - 18), "")))
        lines += [
            BLANK,
            (
                ("ctrl+q", "strong"),
                ("            Close the program at any time; what is recorded is kept", ""),
            ),
            (("Any key closes this list.", "quiet"),),
        ]
        return lines

    # Keys.

    # Textual calls each of these after the one of the same name in a subclass.

    def on_mount(self) -> None:
        self.draw()

    def on_resize(self) -> None:
        self.draw()

    def on_screen_resume(self) -> None:
        self.draw()

    def on_key(self, event: events.Key) -> None:
        """Find what the key means here, do it, and show what came of it."""
        if self.successor:
            self.successor.post_message(event)
            return
        if self.checklist.is_leaving or self.is_too_small or event.key in _MODIFIERS:
            return
        if self.line and self._is_text(event) and (line := edited(self.line, event.key, event.character)):
            self.line = line
            self.line_changed()
            self.draw_soon()
        elif not event.key.startswith("ctrl+"):
            self.press(meaning(self.current_view, event.key, event.character), event.key)

    def _is_text(self, event: events.Key) -> bool:
        """Whether a key goes into the open line: all but a space at its begin that is a key of the view."""
        is_first_space = event.key == "space" and self.line is not None and not self.line.text
        return not (is_first_space and meaning(self.current_view, event.key))

    def on_paste(self, event: events.Paste) -> None:
        """Put a pasted text into the line that is open; there is nothing else that it could mean."""
        if self.line:
            self.line = pasted(self.line, event.text)
            self.line_changed()
        else:
            self.message = ("The pasted text was left out: no line is open to take it.", "warn")
        self.draw()

    def press(self, means: str, key: str) -> None:
        """Do what a key means; a key without a meaning is answered, never ignored."""
        self.message = ("", "")
        if self.is_helping and self.rows_below:
            self.offset_rows += PAGE
        elif self.is_helping:
            self.is_helping, self.offset_rows = False, 0
        elif not means:
            keys = self.key(f"{self.view.id}.help")
            self.message = (f"'{_readable(key)}' does nothing here. {keys} shows the keys.", "quiet")
        else:
            action = getattr(self, f"do_{means}")
            self.guarded(lambda: action(key) if means in _WITH_KEY else action())
        self.draw_soon()

    def guarded(self, action: Callable[[], None]) -> None:
        """Run an action; what is wrong with a file is said on the screen, and nothing else stands."""
        try:
            action()
        except ChecklistError as error:
            self.message = (f"NOT RECORDED. {error.what}", "urgent")
        except IllegalEventError as error:
            self.message = (f"NOT RECORDED. Not possible now: {error}", "urgent")

    def do_help(self) -> None:
        self.is_helping, self.offset_rows = True, 0

    # Typing.

    def type_text(self, label: str, value: str, on_typed: Callable[[str], None]) -> None:
        """Let the person type a line; `on_typed` gets it when it is taken."""
        self._open_line(TYPING, label, value, on_typed)

    def search(self, label: str, on_typed: Callable[[str], None]) -> None:
        """Let the person type while a list follows; `on_typed` gets the text when it is taken."""
        self._open_line(SEARCH, label, "", on_typed)

    def _open_line(self, view: View, label: str, value: str, on_typed: Callable[[str], None]) -> None:
        self.typing_view = view
        self._on_typed = on_typed
        self.line = opened(label, value)

    def line_changed(self) -> None:
        """Called after every change of the line."""

    def do_accept(self) -> None:
        text = self.line.text if self.line else ""
        self.line = None
        self._on_typed(text)

    def do_drop(self) -> None:
        self.line = None

    # Lists and long texts.

    def move_by(self, rows: int) -> None:
        """Scroll; a screen with a list moves its cursor instead."""
        self.offset_rows = max(0, self.offset_rows + rows)

    def do_up(self) -> None:
        self.move_by(-1)

    def do_down(self) -> None:
        self.move_by(1)

    def do_page_up(self) -> None:
        self.move_by(-PAGE)

    def do_page_down(self) -> None:
        self.move_by(PAGE)


_MODIFIERS = {
    f"{side}_{name}" for side in ("left", "right") for name in ("shift", "control", "alt", "super")
} | {"caps_lock", "num_lock"}
_WITH_KEY = {"finding", "site", "reason", "role", "option"}


def _fitted(lines: list[Line], offset: int, rows: int) -> list[Line]:
    """Return the rows that fit; when there are more below, the last one says so."""
    below = len(lines) - offset - rows
    if below <= 0:
        return lines[offset:]
    more: Line = ((f"… {below + 1} more lines below", "quiet"),)
    return [*lines[offset : offset + rows - 1], more]


def _framed(line: Line) -> Line:
    """Keep one cell free at the left edge, in the look of the line where a space can have it."""
    edge = line[0][1] if line and line[0][1] in {"bar", "quiet"} else ""
    return ((" ", edge), *line)


def _packed(keys: Sequence[tuple[str, str]], width: int) -> list[Line]:
    """Return keys and labels in as many lines as they need."""
    lines: list[list[Part]] = [[]]
    used = 0
    for name, label in keys:
        cells = cell_len(name) + cell_len(label) + 3
        if used + cells > width and used:
            lines.append([])
            used = 0
        lines[-1] += [(name, "strong"), (f" {label}  ", "quiet")]
        used += cells
    return [tuple(line) for line in lines]


def _readable(key: str) -> str:
    return shown(Key(id="", keys=(key,), label="", help=""))
