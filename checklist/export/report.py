"""Note and timeline as one HTML page to print: no script, no request, no colour that means something.

An observation has no note: its page holds the debrief, which its banner keeps out of a patient's record.

The page holds the words of the note and the figures of the timeline, and adds bars of time to them.
"""

from collections.abc import Iterator, Sequence

from checklist.export.markup import Html, block, element, page, table
from checklist.session.session import OBSERVATION, Session
from checklist.summary.debrief import debrief
from checklist.summary.document import Note, Sentence
from checklist.summary.note import note
from checklist.summary.timeline import SHOWN_SECONDS, Row, Table, minutes, no_time, tables
from checklist.text import one_line

BAR_WIDTH, BAR_HEIGHT = 160, 12
LEGEND = (
    "Times are minutes and seconds of examination. Bars: outline, planned; filled, spent; with an arrow,"
    " longer than there is room for. – not triggered; … recorded in part."
)
STYLE = """
.times .time { width: 16mm; text-align: right; white-space: nowrap; }
.times .outcome { width: 24mm; }
.times .bar { width: 48mm; padding-right: 0; }
.bar svg { height: 3.2mm; }
.planned { fill: none; stroke: #000; stroke-width: 1; }
.spent { fill: #555; stroke: none; }
@media print { section.timeline { break-before: page; } }
"""


def report(session: Session, history: Sequence[Session] = ()) -> str:
    """Return the page: of an examination its note, of an observation its debrief, compared with `history`.

    Raises NoNoteError for a session that yields neither.
    """
    document = debrief(session, history) if session.header.mode == OBSERVATION else note(session)
    return page(document.title, STYLE, document.banner, _note(document), _timeline(session))


# ------------------------------------------------------------------ the note


def _note(document: Note) -> Html:
    blocks = [made for each in document.blocks for made in block(each)]
    return element("section", element("h1", one_line(document.title)), *blocks, class_="note")


# ------------------------------------------------------------------ the timeline


def _timeline(session: Session) -> Html:
    parts = [element("h2", "TIMELINE"), element("p", LEGEND)]
    for each in tables(session):
        parts += [element("h3", each.heading), _times(each)]
    if untouched := no_time(session):
        parts += [element("h3", "NO TIME SPENT"), *_paragraphs(untouched)]
    return element("section", *parts, class_="timeline")


def _paragraphs(sentences: tuple[Sentence, ...]) -> Iterator[Html]:
    yield from (element("p", one_line(sentence.text)) for sentence in sentences)


def _times(of: Table) -> Html:
    heads = [("", ""), (of.outcome, "outcome"), ("spent", "time"), ("planned", "time"), ("", "bar")]
    whole = _scale([row.planned for row in of.rows])
    return table(heads, (_row(row, whole) for row in of.rows), "times")


def _scale(plans: list[float]) -> float:
    """Return the seconds of the widest bar: twice a plan that nine of ten do not exceed.

    Time spent has no say in it: one forgotten pause would make every other bar a stub.
    """
    return 2 * sorted(plans)[(len(plans) * 9 - 1) // 10]


def _row(row: Row, whole: float) -> Sequence[str]:
    planned = minutes(row.planned) if row.planned else "–"
    return one_line(row.name), row.outcome, minutes(row.spent), planned, _bar(row, planned, whole)


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
        parts.append(element("polygon", class_="spent", points=tip))
    said = f"spent {minutes(row.spent)}, planned {planned}"
    view = f"0 0 {BAR_WIDTH} {BAR_HEIGHT}"
    return element("svg", *parts, viewBox=view, preserveAspectRatio="none", role="img", aria_label=said)


def _width(seconds: float, whole: float) -> float:
    """Return the width of a bar; any time has a width that can be seen."""
    share = min(1.0, seconds / whole) if whole else 1.0
    return max(1.0, share * BAR_WIDTH)


def _rectangle(kind: str, x: float, y: float, width: float, height: float) -> Html:
    return element("rect", class_=kind, x=f"{x:g}", y=f"{y:g}", width=f"{width:.1f}", height=f"{height:g}")
