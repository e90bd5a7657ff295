"""Lines of styled text, and the one widget that paints them. No markup: what is in a text is only text."""

from collections.abc import Sequence
from textwrap import wrap as wrap_by_length

from rich.cells import cell_len, chop_cells
from rich.segment import Segment
from rich.style import Style
from textual.geometry import Region, Size
from textual.strip import Strip
from textual.widget import Widget

Part = tuple[str, str]
"""A text and the name of its look."""
Line = tuple[Part, ...]

BLANK: Line = ()
LOOKS = {
    "": Style(),
    "strong": Style(bold=True),
    "quiet": Style(dim=True),
    "title": Style(bold=True, underline=True),
    "bar": Style(bold=True, reverse=True),
    "cursor": Style(reverse=True),
    "warn": Style(bold=True, color="#e8b84a"),
    "urgent": Style(bold=True, reverse=True, color="#ff8a75"),
    "said": Style(italic=True),
}
"""Each look carries at most emphasis: what it means is always written as well."""


def wrap(text: str, width: int) -> list[str]:
    """Return `text` in lines of at most `width` cells, broken at spaces where there are any."""
    width = max(1, width)
    lines = [
        line
        for part in text.splitlines()
        for line in wrap_by_length(part, width, break_on_hyphens=False) or [""]
    ]
    if all(cell_len(line) <= width for line in lines):
        return lines or [""]
    return [piece for line in lines for piece in chop_cells(line, width)]


def crop(text: str, width: int) -> str:
    """Return `text` in at most `width` cells, with `…` where something was cut."""
    if cell_len(text) <= width:
        return text
    return chop_cells(text, max(1, width - 1))[0].rstrip() + "…"


def labelled(label: str, text: str, width: int, look: str = "", label_look: str = "quiet") -> list[Line]:
    """Return `text` wrapped in a column that hangs beside its label."""
    gap = LABEL_WIDTH
    lines = wrap(text, width - gap)
    first: Line = ((f"{label:<{gap}}", label_look), (lines[0], look))
    return [first, *(((" " * gap, ""), (line, look)) for line in lines[1:])]


LABEL_WIDTH = 10


def spread(left: Sequence[Part], right: Sequence[Part], width: int) -> Line:
    """Return one line with a part at each end; the left one is cropped when there is no room for both."""
    right_cells = sum(cell_len(text) for text, _ in right)
    room = max(0, width - right_cells - 1)
    parts: list[Part] = []
    for text, look in left:
        kept = crop(text, room) if room else ""
        parts.append((kept, look))
        room -= cell_len(kept)
    return (*parts, (" " * (room + 1), parts[-1][1] if parts else ""), *right)


def window(count: int, cursor: int, height: int) -> range:
    """Return which of `count` rows to show in `height` rows, so that the cursor is among them."""
    start = max(0, min(cursor - height // 2, count - height))
    return range(start, min(count, start + max(0, height)))


def _joined(line: Line) -> Line:
    """Join neighbours of one look: every part costs the terminal a change of style."""
    parts: list[Part] = []
    for text, look in line:
        if parts and parts[-1][1] == look:
            parts[-1] = (parts[-1][0] + text, look)
        elif text:
            parts.append((text, look))
    return tuple(parts)


class Drawn(Widget):
    """Paints the lines it was last given; repaints only the rows that changed."""

    can_focus = False

    def __init__(self, *, id: str) -> None:  # noqa: A002  (Textual's own name)
        super().__init__(id=id)
        self.lines: tuple[Line, ...] = ()

    def show(self, lines: Sequence[Line]) -> None:
        """Show these lines instead, from the top."""
        old, self.lines = self.lines, tuple(lines)
        rows = max(len(old), len(self.lines))
        changed = [y for y in range(rows) if old[y : y + 1] != self.lines[y : y + 1]]
        if not changed:
            return
        self.refresh(Region(0, changed[0], max(1, self.size.width), changed[-1] - changed[0] + 1))

    def get_content_width(self, container: Size, viewport: Size) -> int:  # noqa: ARG002
        return container.width

    def render_line(self, y: int) -> Strip:
        base = self.rich_style
        if y >= len(self.lines):
            return Strip.blank(self.size.width, base)
        segments = [Segment(text, base + LOOKS[look]) for text, look in _joined(self.lines[y])]
        tail = base + LOOKS["bar"] if self.lines[y] and self.lines[y][-1][1] == "bar" else base
        return Strip(segments).adjust_cell_length(self.size.width, tail)

    def plain(self) -> str:
        """Return what is shown, without looks."""
        return "\n".join("".join(text for text, _ in line) for line in self.lines)
