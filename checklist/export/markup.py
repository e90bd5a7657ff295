"""Elements of a page to print, its frame and its style: the one way from text to markup. Decides no words.

A page has no script, makes no request, and uses no colour that means something. What is not an element is
escaped. The banner stands in the head and the foot of a table around everything, which browsers print on
every page.
"""

import re
from collections.abc import Iterable, Iterator, Sequence
from html import escape

from checklist.summary.document import Block, Form
from checklist.text import clean, one_line


class Html(str):
    """Markup made here. Any other text is escaped before it goes into the page."""

    __slots__ = ()


STYLE = """
@page { size: A4; margin: 14mm 15mm; @bottom-right { content: counter(page) " / " counter(pages); } }
body { margin: 0; font: 10.5pt/1.35 sans-serif; color: #000; background: #fff; overflow-wrap: anywhere; }
h1 { font-size: 15pt; margin: 0 0 2mm; }
h2 { font-size: 11pt; margin: 4mm 0 1mm; break-after: avoid; }
h3 { font-size: 10.5pt; margin: 4mm 0 1mm; break-after: avoid; }
p { margin: 0 0 1.5mm; orphans: 2; widows: 2; }
ul { margin: 0; padding-left: 5mm; }
li, tr { break-inside: avoid; }
pre { white-space: pre-wrap; margin: 0; }
.page { width: 100%; max-width: 179mm; margin: 0 auto; border-collapse: collapse; }
.page > tbody > tr { break-inside: auto; }
.page > * > tr > td { padding: 0; }
.banner { font-weight: bold; text-align: center; border: 0.4mm solid #000; padding: 1mm; margin: 0 0 3mm; }
tfoot .banner { margin: 3mm 0 0; }
.banner p { margin: 0; }
section table { width: 100%; table-layout: fixed; border-collapse: collapse; font-size: 9.5pt; }
section th { text-align: left; border-bottom: 0.3mm solid #000; }
section td { border-bottom: 0.1mm solid #999; vertical-align: middle; }
section th, section td { padding: 0.4mm 2mm 0.4mm 0; }
svg { display: block; width: 100%; }
.date { white-space: nowrap; }
@media screen { body { padding: 5mm; } }
"""
"""What all pages have in common."""
_POLICY = "default-src 'none'; style-src 'unsafe-inline'"
"""What a browser must refuse to load for a page: everything but its own style."""


def page(title: str, style: str, banner: Sequence[str], *sections: Html) -> str:
    """Return the page; `style` is added to what all pages have, and holds nothing from outside."""
    head = element(
        "head",
        Html('<meta charset="utf-8" />'),
        Html(f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}" />'),
        element("title", title),
        # A style element holds its text as it is: there is nothing from outside in it.
        Html(f"<style>{STYLE}{style}</style>"),
    )
    body = element("body", _framed(banner, sections))
    return f"<!DOCTYPE html>\n{element('html', head, body, lang='en')}\n"


def element(tag: str, *inside: str, **attributes: str) -> Html:
    """Return an element; `class_` is the attribute `class`."""
    named = "".join(
        f' {name.rstrip("_").replace("_", "-")}="{escape(clean(value))}"'
        for name, value in attributes.items()
    )
    content = "".join(each if isinstance(each, Html) else escape(clean(each)) for each in inside)
    return Html(f"<{tag}{named}>{content}</{tag}>")


def worded(text: str) -> Iterator[str]:
    """Return a text in parts of which the days are elements, so that no line ends at their hyphens."""
    for place, part in enumerate(_DATE.split(text)):
        yield element("span", part, class_="date") if place % 2 else part


_DATE = re.compile(r"(\b\d{4}-\d\d-\d\d\b)")


def _framed(banner: Sequence[str], inside: Iterable[Html]) -> Html:
    """Put the banner above and below what is `inside`, and so on every page; its first line outermost."""

    def part(tag: str, lines: Iterable[str]) -> Html:
        texts = [element("p", one_line(line)) for line in lines]
        return element(
            tag,
            element("tr", element("td", element("div", *texts, class_="banner") if texts else Html(""))),
        )

    middle = element("tbody", element("tr", element("td", *inside)))
    parts = [part("thead", banner), middle, part("tfoot", banner[::-1])]
    return element("table", *parts, class_="page", role="presentation")


def block(of: Block) -> Iterator[Html]:
    """Return a block of a document, as its form asks."""
    texts = [one_line(sentence.text) for sentence in of.sentences]
    heading = one_line(of.heading)
    if of.form is Form.REGION:
        yield element("p", element("strong", f"{heading}:"), " ", " ".join(texts))
        return
    if heading:
        yield element("h2", heading)
    if of.form is Form.ITEMS and texts:
        yield element("ul", *(element("li", *worded(text)) for text in texts))
    elif of.form is Form.ROWS:
        yield element("pre", "\n".join(clean(sentence.text) for sentence in of.sentences))
    elif texts:
        yield element("p", *worded(" ".join(texts)))


def table(heads: Sequence[tuple[str, str]], rows: Iterable[Sequence[str]], class_: str) -> Html:
    """Return a table of figures; a head is its words and the class of its column, empty for none."""
    classes = [name for _, name in heads]
    top = [_cell("th", text, name, scope="col") for text, name in heads]
    body = (
        element("tr", *(_cell("td", text, name) for text, name in zip(row, classes, strict=True)))
        for row in rows
    )
    parts = element("thead", element("tr", *top)), element("tbody", *body)
    return element("table", *parts, class_=class_)


def _cell(tag: str, text: str, name: str, **attributes: str) -> Html:
    return element(tag, text, **({"class_": name} if name else {}), **attributes)
