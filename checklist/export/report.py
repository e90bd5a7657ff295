"""Note and timeline as one HTML page to print: no script, no request, no colour that means something.

An observation has no note: its page holds the debrief, which its banner keeps out of a patient's record.

The page holds the words of the note and the figures of the timeline, and adds bars of time to them.
The banner stands in the head and the foot of a table around everything, which browsers print on every page.
"""

from collections.abc import Iterable, Iterator, Sequence
from html import escape

from checklist.session.session import OBSERVATION, Session
from checklist.summary.debrief import debrief
from checklist.summary.document import Block, Form, Note, Sentence
from checklist.summary.note import note
from checklist.summary.timeline import SHOWN_SECONDS, Row, Table, minutes, no_time, tables
from checklist.text import clean, one_line


class Html(str):
    """Markup made here. Any other text is escaped before it goes into the page."""

    __slots__ = ()


BAR_WIDTH, BAR_HEIGHT = 160, 12
LEGEND = (
    "Times are minutes and seconds of examination. Bars: outline, planned; filled, spent; with an arrow,"
    " longer than there is room for. – not triggered; … recorded in part."
)
STYLE = """
@page { size: A4; margin: 14mm 15mm; @bottom-right { content: counter(page) " / " counter(pages); } }
body { margin: 0; font: 10.5pt/1.35 sans-serif; color: #000; background: #fff; }
h1 { font-size: 15pt; margin: 0 0 2mm; }
h2 { font-size: 11pt; margin: 4mm 0 1mm; break-after: avoid; }
h3 { font-size: 10.5pt; margin: 4mm 0 1mm; break-after: avoid; }
p { margin: 0 0 1.5mm; orphans: 2; widows: 2; overflow-wrap: anywhere; }
ul { margin: 0; padding-left: 5mm; }
li, tr { break-inside: avoid; }
pre { white-space: pre-wrap; margin: 0; }
.page { width: 100%; max-width: 179mm; margin: 0 auto; border-collapse: collapse; }
.page > tbody > tr { break-inside: auto; }
.page > * > tr > td { padding: 0; }
.banner { font-weight: bold; text-align: center; border: 0.4mm solid #000; padding: 1mm; margin: 0 0 3mm; }
tfoot .banner { margin: 3mm 0 0; }
.banner p { margin: 0; }
.times { width: 100%; table-layout: fixed; border-collapse: collapse; font-size: 9.5pt; }
.times th { text-align: left; border-bottom: 0.3mm solid #000; }
.times td { border-bottom: 0.1mm solid #999; vertical-align: middle; overflow-wrap: anywhere; }
.times th, .times td { padding: 0.4mm 2mm 0.4mm 0; }
.times .time { width: 16mm; text-align: right; white-space: nowrap; }
.times .outcome { width: 24mm; }
.times .bar { width: 48mm; padding-right: 0; }
svg { display: block; width: 100%; height: 3.2mm; }
.planned { fill: none; stroke: #000; stroke-width: 1; }
.spent { fill: #555; stroke: none; }
@media screen { body { padding: 5mm; } }
@media print { section.timeline { break-before: page; } }
"""
_POLICY = "default-src 'none'; style-src 'unsafe-inline'"
"""What a browser must refuse to load for this page: everything but its own style."""


def report(session: Session, history: Sequence[Session] = ()) -> str:
    """Return the page: of an examination its note, of an observation its debrief, compared with `history`.

    Raises NoNoteError for a session that yields neither.
    """
    document = debrief(session, history) if session.header.mode == OBSERVATION else note(session)
    head = _element(
        "head",
        Html('<meta charset="utf-8" />'),
        Html(f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}" />'),
        _element("title", document.title),
        # A style element holds its text as it is: there is nothing from outside in it.
        Html(f"<style>{STYLE}</style>"),
    )
    body = _element("body", _framed(document.banner, [_note(document), _timeline(session)]))
    return f"<!DOCTYPE html>\n{_element('html', head, body, lang='en')}\n"


def _element(tag: str, *inside: str, **attributes: str) -> Html:
    """Return an element; `class_` is the attribute `class`."""
    named = "".join(
        f' {name.rstrip("_").replace("_", "-")}="{escape(value)}"' for name, value in attributes.items()
    )
    content = "".join(each if isinstance(each, Html) else escape(clean(each)) for each in inside)
    return Html(f"<{tag}{named}>{content}</{tag}>")


def _framed(banner: tuple[str, ...], inside: list[Html]) -> Html:
    """Put the banner above and below what is `inside`, and so on every page; its first line outermost."""

    def part(tag: str, lines: Iterable[str]) -> Html:
        texts = [_element("p", one_line(line)) for line in lines]
        return _element(
            tag,
            _element("tr", _element("td", _element("div", *texts, class_="banner") if texts else Html(""))),
        )

    middle = _element("tbody", _element("tr", _element("td", *inside)))
    parts = [part("thead", banner), middle, part("tfoot", banner[::-1])]
    return _element("table", *parts, class_="page", role="presentation")


# ------------------------------------------------------------------ the note


def _note(document: Note) -> Html:
    blocks = [element for block in document.blocks for element in _block(block)]
    return _element("section", _element("h1", one_line(document.title)), *blocks, class_="note")


def _block(block: Block) -> Iterator[Html]:
    texts = [one_line(sentence.text) for sentence in block.sentences]
    heading = one_line(block.heading)
    if block.form is Form.REGION:
        yield _element("p", _element("strong", f"{heading}:"), " ", " ".join(texts))
        return
    if heading:
        yield _element("h2", heading)
    if block.form is Form.ITEMS and texts:
        yield _element("ul", *(_element("li", text) for text in texts))
    elif block.form is Form.ROWS:
        yield _element("pre", "\n".join(clean(sentence.text) for sentence in block.sentences))
    elif texts:
        yield _element("p", " ".join(texts))


# ------------------------------------------------------------------ the timeline


def _timeline(session: Session) -> Html:
    parts = [_element("h2", "TIMELINE"), _element("p", LEGEND)]
    for table in tables(session):
        parts += [_element("h3", table.heading), _times(table)]
    if untouched := no_time(session):
        parts += [_element("h3", "NO TIME SPENT"), *_paragraphs(untouched)]
    return _element("section", *parts, class_="timeline")


def _paragraphs(sentences: tuple[Sentence, ...]) -> Iterator[Html]:
    yield from (_element("p", one_line(sentence.text)) for sentence in sentences)


def _times(table: Table) -> Html:
    heads = [
        _element("th", "", scope="col"),
        _element("th", table.outcome, class_="outcome", scope="col"),
        _element("th", "spent", class_="time", scope="col"),
        _element("th", "planned", class_="time", scope="col"),
        _element("th", "", class_="bar", scope="col"),
    ]
    whole = _scale([row.planned for row in table.rows])
    rows = [_row(row, whole) for row in table.rows]
    return _element(
        "table",
        _element("thead", _element("tr", *heads)),
        _element("tbody", *rows),
        class_="times",
    )


def _scale(plans: list[float]) -> float:
    """Return the seconds of the widest bar: twice a plan that nine of ten do not exceed.

    Time spent has no say in it: one forgotten pause would make every other bar a stub.
    """
    return 2 * sorted(plans)[(len(plans) * 9 - 1) // 10]


def _row(row: Row, whole: float) -> Html:
    planned = minutes(row.planned) if row.planned else "–"
    return _element(
        "tr",
        _element("td", one_line(row.name)),
        _element("td", row.outcome),
        _element("td", minutes(row.spent), class_="time"),
        _element("td", planned, class_="time"),
        _element("td", _bar(row, planned, whole), class_="bar"),
    )


def _bar(row: Row, planned: str, whole: float) -> Html:
    """Return plan and time spent as bars of `whole` seconds at most."""
    parts = []
    if row.planned:
        width = _width(row.planned, whole)
        parts.append(_rectangle("planned", 0.5, 0.5, max(1.0, width - 1), BAR_HEIGHT - 1))
    if row.spent >= SHOWN_SECONDS:
        parts.append(_rectangle("spent", 0, 3, _width(row.spent, whole), BAR_HEIGHT - 6))
    if max(row.spent, row.planned) > whole > 0:
        tip = f"{BAR_WIDTH - 8},0 {BAR_WIDTH},{BAR_HEIGHT / 2:g} {BAR_WIDTH - 8},{BAR_HEIGHT}"
        parts.append(_element("polygon", class_="spent", points=tip))
    said = f"spent {minutes(row.spent)}, planned {planned}"
    view = f"0 0 {BAR_WIDTH} {BAR_HEIGHT}"
    return _element("svg", *parts, viewBox=view, preserveAspectRatio="none", role="img", aria_label=said)


def _width(seconds: float, whole: float) -> float:
    """Return the width of a bar; any time has a width that can be seen."""
    share = min(1.0, seconds / whole) if whole else 1.0
    return max(1.0, share * BAR_WIDTH)


def _rectangle(kind: str, x: float, y: float, width: float, height: float) -> Html:
    return _element("rect", class_=kind, x=f"{x:g}", y=f"{y:g}", width=f"{width:.1f}", height=f"{height:g}")
