"""The line that is typed into: a pure value, changed key by key in the order in which the keys come.

It is not a widget with a focus of its own, because a focus moves later than a fast typist's next key.
"""

from dataclasses import dataclass, replace

from rich.cells import cell_len

from checklist.text import one_line
from checklist.tui.draw import Line

LONGEST = 500
"""Characters; more would be a text to write elsewhere."""


@dataclass(frozen=True, kw_only=True, slots=True)
class TypedLine:
    """What is typed so far, and where the next character goes."""

    label: str
    text: str = ""
    cursor: int = 0


def opened(label: str, text: str = "") -> TypedLine:
    return TypedLine(label=label, text=text, cursor=len(text))


def inserted(line: TypedLine, text: str) -> TypedLine:
    """Put `text` in at the cursor, as far as there is room."""
    text = text[: LONGEST - len(line.text)]
    whole = line.text[: line.cursor] + text + line.text[line.cursor :]
    return replace(line, text=whole, cursor=line.cursor + len(text))


def pasted(line: TypedLine, text: str) -> TypedLine:
    """Put a pasted text in: one line, without what a terminal would obey."""
    return inserted(line, one_line(" ".join(text.splitlines())))


def edited(line: TypedLine, key: str, character: str | None) -> TypedLine | None:
    """Return the line after a key; None when the key is none of the line's."""
    before, after = line.text[: line.cursor], line.text[line.cursor :]
    match key:
        case "backspace":
            return replace(line, text=before[:-1] + after, cursor=max(0, line.cursor - 1))
        case "delete":
            return replace(line, text=before + after[1:])
        case "left":
            return replace(line, cursor=max(0, line.cursor - 1))
        case "right":
            return replace(line, cursor=min(len(line.text), line.cursor + 1))
        case "home":
            return replace(line, cursor=0)
        case "end":
            return replace(line, cursor=len(line.text))
        case "ctrl+u":
            return replace(line, text=after, cursor=0)
        case "ctrl+w":
            kept = before.rstrip().rpartition(" ")[0]
            return replace(line, text=kept + after, cursor=len(kept))
        case _ if character and len(character) == 1 and character.isprintable():
            return inserted(line, character)
        case _:
            return None


def line_parts(line: TypedLine, width: int) -> Line:
    """Return the line as it looks, its cursor marked; what is left of a narrow window is left out."""
    if not line.text:
        return ((" ", "cursor"), (f" {line.label}", "quiet"))
    start = 0
    while cell_len(line.text[start : line.cursor]) > width - 2:
        start += 1
    under = line.text[line.cursor : line.cursor + 1] or " "
    shown = line.text[start : line.cursor]
    return ((shown, "strong"), (under, "cursor"), (line.text[line.cursor + 1 :], "strong"))
