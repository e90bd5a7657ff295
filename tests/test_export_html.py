"""The report is one page that stands alone, passes two strict parsers, and lets no text become markup."""

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import html5lib
import hypothesis
import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklist.cli import main
from checklist.demo import example
from checklist.export.report import report
from checklist.session.events import Marked, Moved
from checklist.session.session import OBSERVATION, Session
from checklist.summary.note import NoNoteError, note
from checklist.text import clean
from tests import note_sessions as made
from tests.note_sessions import Script, differs, protocol_of, same, step

TWO = protocol_of(
    step("lid", title="Lid", findings={"red": "red"}, subject="lid", chart="smooth", seconds=20),
    step("brow", title="Brow", subject="brow", chart="even", seconds=10),
)


def tree(page: str) -> ET.Element:
    """Read the page as XML, and as HTML by a parser that refuses every parse error of the HTML standard."""
    html5lib.HTMLParser(strict=True).parse(page)
    return ET.fromstring(page)


def words(element: ET.Element) -> str:
    return " ".join("".join(element.itertext()).split())


def one(element: ET.Element, path: str) -> ET.Element:
    found = element.find(path)
    assert found is not None, path
    return found


def two(detail: str = "since Monday") -> Script:
    script = Script(TWO).start()
    script.record("lid", differs(findings=("red",), detail=detail), seconds=30)
    script.add(Moved, step="brow")
    script.record("brow", same(), seconds=5)
    return script.finish()


SESSIONS = {
    "demonstration": example,
    "wholly expected": made.wholly_expected,
    "interrupted": made.interrupted_and_resumed,
    "mostly not reached": made.mostly_not_reached,
}


@pytest.fixture(params=SESSIONS)
def session(request: pytest.FixtureRequest) -> Session:
    return SESSIONS[request.param]()


def test_the_page_is_well_formed_and_valid(session: Session) -> None:
    page = report(session)

    assert page.startswith("<!DOCTYPE html>\n")
    assert tree(page).get("lang") == "en"


def test_the_page_holds_every_sentence_of_the_note(session: Session) -> None:
    shown = words(one(tree(report(session)), ".//section[@class='note']"))

    for block in note(session).blocks:
        assert " ".join(block.heading.split()) in shown
        for sentence in block.sentences:
            assert " ".join(sentence.text.split()) in shown


class Loads(HTMLParser):
    """Collects whatever a browser would fetch or run."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in {"script", "link", "img", "iframe", "object", "embed", "base", "form", "image", "use", "a"}:
            self.found.append(tag)
        self.found += [name for name, _ in attrs if name in {"src", "href", "style", "srcset", "data"}]
        self.found += [name for name, _ in attrs if name.startswith("on") or ":" in name]


def test_the_page_runs_nothing_and_asks_nothing_of_a_network(session: Session) -> None:
    page = report(session)
    reader = Loads()
    reader.feed(page)

    assert reader.found == []
    assert "<script" not in page
    style = one(tree(page), "head/style").text or ""
    assert not re.search(r"url\(|@import|https?:|//", style)
    assert "http://" not in page
    assert "https://" not in page


def test_a_browser_is_told_to_refuse_anything_else() -> None:
    policy = one(tree(report(two().session)), "head/meta[@http-equiv]")

    assert policy.get("content") == "default-src 'none'; style-src 'unsafe-inline'"


HOSTILE = "<script>alert('x')</script> & \"<b>\" </td></table>"


def test_words_from_outside_are_shown_letter_by_letter() -> None:
    page = report(two(HOSTILE).session)

    assert "<script" not in page
    assert HOSTILE in words(tree(page))
    assert [each.tag for each in tree(page).iter() if each.tag in {"script", "b"}] == []


@given(st.text(max_size=40))
@hypothesis.example("\ufffe")
def test_no_text_breaks_the_page(detail: str) -> None:
    page = tree(report(two(detail).session))

    assert " ".join(clean(detail).split()).rstrip(" .,;:") in words(page)


def test_the_banner_opens_and_closes_every_printed_page() -> None:
    """Browsers repeat the head and the foot of a table that is broken over pages."""
    page = tree(report(made.mostly_not_reached()))
    simulated = "SIMULATED RECORD – practice, not a patient's record"
    unfinished = "UNFINISHED – left unfinished: this is what was recorded so far"

    frame = one(page, "body/table")
    assert [part.tag for part in frame] == ["thead", "tbody", "tfoot"]
    assert [words(line) for line in frame[0].iter("p")] == [simulated, unfinished]
    assert [words(line) for line in frame[2].iter("p")] == [unfinished, simulated]
    assert len(one(page, "body")) == 1


def test_the_page_is_made_for_paper() -> None:
    style = one(tree(report(two().session)), "head/style").text or ""

    assert "@page" in style
    assert "size: A4" in style
    colours = set(re.findall(r"#[0-9a-f]{3,6}", style))
    assert all(len(set(colour[1:])) == 1 for colour in colours), "greys only"


def test_each_step_has_its_time_its_plan_and_their_bars() -> None:
    """Nine of ten plans are within 20 s, so that the widest bar, 160 wide, stands for 40 s."""
    first, *_ = _tables(two().session)

    assert [cell for cell, _ in first] == [
        ["Lid", "differs", "0:30", "0:20"],
        ["Brow", "expected", "0:05", "0:10"],
    ]
    assert first[0][1] == {"planned": 80.0 - 1, "spent": 120.0}
    assert first[1][1] == {"planned": 40.0 - 1, "spent": 20.0}


def test_a_bar_that_does_not_fit_ends_in_an_arrow() -> None:
    script = Script(TWO).start()
    script.record("lid", same(), seconds=600)

    page = tree(report(script.session))
    bars = [one(row, ".//svg") for row in page.iter("tr") if row.findtext("td") == "Lid"]

    assert [[part.tag for part in bar] for bar in bars] == [["rect", "rect", "polygon"]]
    assert one(bars[0], "rect[@class='spent']").get("width") == "160.0"
    assert bars[0].get("aria-label") == "spent 10:00, planned 0:20"


def _tables(session: Session) -> Iterator[list[tuple[list[str], dict[str, float]]]]:
    for table in tree(report(session)).iter("table"):
        if table.get("class") == "times":
            yield [(_cells(row), _bars(row)) for row in one(table, "tbody")]


def _cells(row: ET.Element) -> list[str]:
    return [words(cell) for cell in row if cell.get("class") != "bar"]


def _bars(row: ET.Element) -> dict[str, float]:
    return {str(bar.get("class")): float(bar.get("width", "")) for bar in row.iter("rect")}


def test_marks_of_a_learner_are_not_in_the_report() -> None:
    script = Script(TWO).start()
    script.record("lid", same(), seconds=5)
    script.add(Marked, step="lid", mark="done incorrectly", detail="pressed too hard")

    assert "incorrect" not in report(script.session)
    assert "pressed" not in report(script.session)


def test_the_report_of_an_observation_is_its_debrief_and_no_part_of_a_record() -> None:
    script = Script(TWO, mode=OBSERVATION, observer="O-7").start()
    script.add(Marked, 5, step="lid", mark="done incorrectly", detail="pressed too hard")
    page = tree(report(script.finish().session))

    banner = [words(line) for line in one(page, "body/table")[0].iter("p")]
    assert any(each.endswith("no part of a patient's record") for each in banner)
    assert "Invented: debrief" in words(page)
    assert "pressed too hard" in words(page)
    assert "TIMELINE" in words(page)
    assert "Signature" not in words(page)


def test_a_rehearsal_yields_no_report() -> None:
    with pytest.raises(NoNoteError):
        report(Script(TWO, mode="rehearsal").start().session)


def test_the_command_writes_the_page(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["demo", "--keep", str(tmp_path)])
    (kept,) = tmp_path.glob("*.toml")
    out = tmp_path / "report.html"

    assert main(["export", str(kept), "--as", "html", "--output", str(out)]) == 0
    assert words(one(tree(out.read_text(encoding="utf-8")), ".//h1")) == "Adult head and neck examination"
    capsys.readouterr()
    assert main(["export", str(kept), "--as", "html", "--output", str(out)]) == 1
    assert capsys.readouterr().err == f"checklist: {out}: exists already; choose another name\n"
