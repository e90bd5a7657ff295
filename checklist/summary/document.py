"""A written document as a value, and its two renderings: plain text and Markdown.

What a sentence says is not decided here.
Both renderings hold the same words; neither lets a text from outside become markup or a terminal command.
"""

import re
import textwrap
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum

from checklist.text import clean, one_line

TEXT_WIDTH = 88


class Form(StrEnum):
    """How a block is laid out."""

    PARAGRAPH = "paragraph"
    """Its heading, then the sentences run together."""
    ITEMS = "items"
    """Its heading on a line of its own, then each sentence as an item of a list."""
    GROUP = "group"
    """A heading over the regions that follow; in plain text it opens the line of the first of them."""
    REGION = "region"
    """A paragraph under a group, its heading in front of the first sentence."""
    ROWS = "rows"
    """Its heading, then each sentence as a line whose columns are kept as they are."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Sentence:
    """A sentence, and the numbers of the events that it rests on.

    `rests_on` is empty for fixed text and for what says that nothing was recorded.
    """

    text: str
    rests_on: tuple[int, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class Block:
    """Sentences under one heading; the heading may be empty."""

    heading: str = ""
    sentences: tuple[Sentence, ...] = ()
    form: Form = Form.PARAGRAPH


@dataclass(frozen=True, kw_only=True, slots=True)
class Note:
    """A document: banner lines that open and close it, a title, and blocks."""

    title: str
    banner: tuple[str, ...] = ()
    """Most important line first: it is the very first and the very last line of the document."""
    blocks: tuple[Block, ...] = ()


def plain_text(note: Note, width: int = TEXT_WIDTH) -> str:
    """Return the document wrapped to `width` characters, without markup.

    A whole examination should fit about a page: blank lines stand only around groups, lists and tables, and
    before a block without a heading, such as the signature.
    """
    banner = [one_line(line) for line in note.banner]
    parts = ["\n".join([*banner, *_opening(note, width)])]
    before = Block()
    for block in _run_in(_rest(note)):
        text = _block_text(block, width)
        if _is_run_in(before) and _is_run_in(block) and block.heading and not _parts_groups(before, block):
            parts[-1] += f"\n{text}"
        else:
            parts.append(text)
        before = block
    return "\n".join(["\n\n".join(parts), *banner[::-1]]) + "\n"


def _opening(note: Note, width: int) -> list[str]:
    """Return the title with what belongs to it: the block without a heading that comes first, if any."""
    if not _opens_without_heading(note):
        return [_wrapped(one_line(note.title), width)]
    return [_block_text(replace(note.blocks[0], heading=note.title), width)]


def _rest(note: Note) -> tuple[Block, ...]:
    return note.blocks[1:] if _opens_without_heading(note) else note.blocks


def _opens_without_heading(note: Note) -> bool:
    return bool(note.blocks) and not note.blocks[0].heading


def _run_in(blocks: Iterable[Block]) -> Iterator[Block]:
    """Put the heading of a group on the line of its first region."""
    rest = list(blocks)
    while rest:
        block = rest.pop(0)
        if block.form is Form.GROUP and rest and rest[0].form is Form.REGION:
            first = rest.pop(0)
            yield replace(block, heading=f"{block.heading}. {first.heading}", sentences=first.sentences)
        else:
            yield block


def _is_run_in(block: Block) -> bool:
    """Whether the block is a paragraph that opens with its heading: it needs no blank line to be seen."""
    return block.form not in (Form.ITEMS, Form.ROWS)


_IN_GROUP = (Form.GROUP, Form.REGION)


def _parts_groups(before: Block, block: Block) -> bool:
    """Whether a group of regions begins or has ended here."""
    return block.form is Form.GROUP or (before.form in _IN_GROUP and block.form not in _IN_GROUP)


def _block_text(block: Block, width: int) -> str:
    heading, texts = one_line(block.heading), [one_line(sentence.text) for sentence in block.sentences]
    match block.form:
        case Form.ITEMS:
            return "\n".join([*filter(None, [heading]), *(_wrapped(text, width, "- ") for text in texts)])
        case Form.ROWS:
            return "\n".join([*filter(None, [heading]), *map(_row, block.sentences)])
        case Form.REGION | Form.GROUP if texts:
            return _wrapped(" ".join([f"{heading}:", *texts]), width)
        case _:
            start = [f"{heading}."] if heading and texts else [heading]
            return _wrapped(" ".join([*filter(None, start), *texts]), width)


def _row(sentence: Sentence) -> str:
    """Return a line that keeps its spaces, and stays one line."""
    return re.sub(r"\s", " ", clean(sentence.text)).rstrip()


def _wrapped(text: str, width: int, bullet: str = "") -> str:
    """Wrap at spaces only: a code with a hyphen, or a word longer than the line, stays whole."""
    return textwrap.fill(
        text,
        width,
        initial_indent=bullet,
        subsequent_indent=" " * len(bullet),
        break_on_hyphens=False,
        break_long_words=False,
    )


def markdown(note: Note) -> str:
    """Return the document as Markdown, every text from outside escaped."""
    banner = [f"**{escaped(line)}**" for line in note.banner]
    parts = [*banner, f"# {escaped(note.title)}"]
    for block in note.blocks:
        parts += _block_markdown(block)
    return "\n\n".join([*parts, *banner[::-1]]) + "\n"


def _block_markdown(block: Block) -> Iterator[str]:
    texts = [escaped(sentence.text) for sentence in block.sentences]
    if block.form is Form.REGION:
        yield " ".join([f"**{escaped(block.heading)}:**", *texts])
        return
    if block.heading:
        yield f"## {escaped(block.heading)}"
    if block.form is Form.ITEMS:
        yield "\n".join(f"- {text}" for text in texts)
    elif block.form is Form.ROWS:
        yield _fenced(map(_row, block.sentences))
    elif texts:
        yield " ".join(texts)


def _fenced(rows: Iterable[str]) -> str:
    """Return `rows` as a code block that no row of them can close."""
    text = "\n".join(rows)
    longest = max((len(run) for run in re.findall("`+", text)), default=0)
    fence = "`" * max(3, longest + 1)
    return f"{fence}\n{text}\n{fence}"


# Characters with a meaning anywhere in a line of Markdown or of its widespread dialects; then those with one
# in certain places: an address (`www.`, `https:`), an emoji code (`:x:`), and the first character of a line.
_ANYWHERE = re.compile(r"([\\`*_{}\[\]<>#|~&$^@!=+]|:(?=[A-Za-z/]))")
_ADDRESS = re.compile(r"\b(www)\.", re.IGNORECASE)
_LINE_START = re.compile(r"^(-|\d+(?=[.)]))")


def escaped(text: str) -> str:
    """Return one line of Markdown that shows `text` letter by letter."""
    text = _ANYWHERE.sub(r"\\\1", one_line(text))
    text = _ADDRESS.sub(r"\1\\.", text)
    return _LINE_START.sub(lambda match: "\\-" if match[0] == "-" else f"{match[0]}\\", text)
