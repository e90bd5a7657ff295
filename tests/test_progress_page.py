"""The page of progress draws what its tables say, in places that were worked out by hand."""

import re
import xml.etree.ElementTree as ET
from collections import Counter
from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from scipy.optimize import curve_fit

from checklist.export.progress_page import WIDTH, progress_page
from checklist.practice.history import history
from checklist.practice.run import Run
from checklist.protocol.model import Protocol
from checklist.session.session import REHEARSAL
from checklist.summary.document import Form
from checklist.summary.progress import progress
from tests.helpers import PROTOCOL, protocol
from tests.practice_runs import a_run, examined
from tests.test_export_html import Loads, one, tree, words
from tests.test_progress import RUNS

HAND = protocol(PROTOCOL.replace('id = "look"', 'id = "look"\ncritical = "a wound is overlooked"', 1))
"""Its target time is two minutes."""
HOSTILE = "<script>alert('x')</script> & \"<b>\" </td></table>"
HALVED = (640, 360, 220, 150, 115, 97.5)
"""Seconds of six runs, 80 + 560 / 2^(n - 1): an exponential curve, so that the nearer curve is known."""
EIGHT = (620.0, 540.0, 470.0, 455.0, 430.0, 410.0, 400.0, 396.0)
"""Seconds of eight runs around two curves that were fitted with SciPy."""


def page_of(*runs: Run, protocol: Protocol = HAND) -> str:
    return progress_page(history(protocol, runs))


def in_row(seconds: Sequence[float], **changes: Any) -> list[Run]:
    """Examinations that took so long, three days apart."""
    return [examined(3 * (len(seconds) - place), each, **changes) for place, each in enumerate(seconds)]


TWO = (
    examined(6, 240, moved=4),
    examined(3, 60, coverage=50.0, critical_missed=("look",), moved=2),
)
HISTORIES = {
    "none": (),
    "two": TWO,
    "six": in_row(HALVED),
    "left out": [*in_row(HALVED), examined(1, 30, reach=40.0, coverage=None, moved=None)],
    "rehearsals": [a_run(day, {"look": day % 2 == 0}, seconds=50 + day) for day in range(9)],
    "patients": in_row(HALVED, mode=REHEARSAL, task="patient"),
    "long ago": [examined(day, 100) for day in (0, 7, 200)],
    "under way": [examined(1, 100, is_finished=False)],
    "no time at all": [examined(day, 0) for day in range(6)],
    "hours": [examined(day, 40_000.0) for day in range(2)],
    "two hundred": in_row([100 + 9000 / (place + 20) for place in range(200)], moved=300),
}


@pytest.fixture(params=HISTORIES)
def runs(request: pytest.FixtureRequest) -> Sequence[Run]:
    return HISTORIES[request.param]


def picture(page: str, name: str, place: int = 0) -> ET.Element:
    """Return the picture whose axis of figures is called so; of several kinds of run, the one at `place`."""
    found = [svg for svg in tree(page).iter("svg") if name in [words(text) for text in svg.iter("text")]]
    return found[place]


def places(drawn: ET.Element, kind: str) -> list[tuple[float, float]]:
    """Return the points of the line or area of a kind."""
    points = one(drawn, f"*[@class='{kind}']").get("points", "")
    return [(float(x), float(y)) for x, y in (pair.split(",") for pair in points.split())]


def bars(drawn: ET.Element) -> list[tuple[float, ...]]:
    """Return x, y, width and height of each bar."""
    return [
        tuple(float(bar.get(key, "")) for key in ("x", "y", "width", "height")) for bar in drawn.iter("rect")
    ]


def dots(drawn: ET.Element) -> list[tuple[float, float]]:
    return [(float(dot.get("cx", "")), float(dot.get("cy", ""))) for dot in drawn.iter("circle")]


def labels(drawn: ET.Element) -> dict[str, tuple[float, float]]:
    """Return where each text stands."""
    return {words(text): (float(text.get("x", "")), float(text.get("y", ""))) for text in drawn.iter("text")}


def rows(page: str) -> list[list[str]]:
    """Return the table of figures, its head first."""
    [table, *_] = [table for table in tree(page).iter("table") if table.get("class", "").startswith("runs")]
    return [[words(cell) for cell in row] for row in table.iter("tr")]


class TestThePage:
    def test_it_is_well_formed_and_valid(self, runs: Sequence[Run]) -> None:
        page = page_of(*runs)
        assert page.startswith("<!DOCTYPE html>\n")
        assert tree(page).get("lang") == "en"

    def test_it_runs_nothing_and_asks_nothing_of_a_network(self, runs: Sequence[Run]) -> None:
        page = page_of(*runs)
        reader = Loads()
        reader.feed(page)
        assert reader.found == []
        assert not re.search(r"<script|https?:|url\(|@import|href|src=", page)
        policy = one(tree(page), "head/meta[@http-equiv]").get("content")
        assert policy == "default-src 'none'; style-src 'unsafe-inline'"

    def test_it_says_all_that_the_text_says(self, runs: Sequence[Run]) -> None:
        shown = words(tree(page_of(*runs)))
        for block in progress(history(HAND, runs)).blocks:
            if block.form is not Form.ROWS:
                for sentence in block.sentences:
                    assert sentence.text in shown

    @settings(max_examples=25, deadline=None)
    @given(runs=RUNS)
    def test_there_is_a_page_for_every_history(self, runs: list[Run]) -> None:
        finished = Counter(run.mode for run in history(HAND, runs).runs if run.steps)
        points = [dot for svg in tree(page_of(*runs)).iter("svg") for dot in dots(svg)]
        # One run alone is no picture.
        assert len(points) == sum(number for number in finished.values() if number > 1)

    def test_the_banner_opens_and_closes_every_printed_page(self) -> None:
        frame = one(tree(page_of(*TWO)), "body/table")
        banner = "PRACTICE – for the learner; no part of a patient's record"
        assert [part.tag for part in frame] == ["thead", "tbody", "tfoot"]
        assert (words(frame[0]), words(frame[2])) == (banner, banner)

    def test_it_is_made_for_paper_and_grey(self) -> None:
        style = one(tree(page_of(*TWO)), "head/style").text or ""
        assert "size: A4" in style
        colours = re.findall(r"#[0-9a-f]{3,6}|rgb|hsl", style)
        assert colours
        assert all(len(set(colour[1:])) == 1 for colour in colours), "greys only"

    def test_without_a_run_it_says_so_and_draws_nothing(self) -> None:
        page = tree(page_of())
        assert "There is no history yet: nothing is known of any step." in words(page)
        assert [each.tag for each in page.iter() if each.tag in {"svg", "figure"}] == []

    def test_words_from_outside_are_shown_letter_by_letter(self) -> None:
        text = PROTOCOL.replace('title = "Hand"', f'title = """{HOSTILE[:-9]}"""', 1)
        text = text.replace('title = "Look at the skin"', 'title = "Look <b>at</b> & the skin"')
        run = examined(1, 60, examiner=f"E {HOSTILE}", task=HOSTILE, critical_missed=("look",))
        page = page_of(run, protocol=protocol(text))
        assert "<script" not in page
        assert "Look <b>at</b> & the skin: in 1 session" in words(tree(page))
        assert f"Examiner E {HOSTILE};" in words(tree(page))
        assert [each.tag for each in tree(page).iter() if each.tag in {"script", "b"}] == []

    def test_every_picture_says_in_words_what_it_shows(self, runs: Sequence[Run]) -> None:
        for svg in tree(page_of(*runs)).iter("svg"):
            assert svg.get("role") == "img"
            assert re.search(r"\d|no figure", svg.get("aria-label", ""))

    def test_a_time_is_the_same_in_each_place(self) -> None:
        """Half a second is rounded up: 100.5 s are 1:41."""
        page = page_of(examined(2, 100.5), examined(1, 100.5))
        assert rows(page)[1][2] == "1:41"
        assert "Fastest 1:41, latest 1:41." in words(tree(page))
        assert picture(page, "time, minutes:seconds").get("aria-label") == (
            "time by run: first 1:41, latest 1:41; target 2:00"
        )


class TestOneKindOfRun:
    """The plot is 480 wide from 50 on; that of times is 160 high, the others 60, from 20 on downwards."""

    def test_times_are_points_and_the_target_is_a_line(self) -> None:
        drawn = picture(page_of(*TWO), "time, minutes:seconds")
        # Two places of 240; the upper edge is 240 s.
        assert dots(drawn) == [(170, 20), (410, 140)]
        target = one(drawn, "line[@class='target']")
        assert [target.get(key) for key in ("x1", "y1", "x2", "y2")] == ["50", "100", "530", "100"]
        assert labels(drawn)["target 2:00"] == (541, 104)
        assert drawn.find("*[@class='nearer']") is None

    def test_axes_have_few_round_ticks_and_names(self) -> None:
        drawn = picture(page_of(*TWO), "time, minutes:seconds")
        beside = {"0:00": 184, "1:00": 144, "2:00": 104, "3:00": 64, "4:00": 24}
        found = labels(drawn)
        assert {name: found[name] for name in beside} == {name: (44, y) for name, y in beside.items()}
        assert found["1"] == (170, 194)
        assert found["2"] == (410, 194)
        assert "run" in found

    def test_steps_critical_misses_and_order_are_bars(self) -> None:
        page = page_of(*TWO)
        assert bars(picture(page, "steps done, per cent")) == [(163, 20, 14, 60), (403, 50, 14, 30)]
        assert bars(picture(page, "critical steps missed")) == [(403, 20, 14, 60)]
        assert bars(picture(page, "steps out of order")) == [(163, 20, 14, 60), (403, 50, 14, 30)]

    def test_the_figures_stand_beside_the_pictures(self) -> None:
        assert rows(page_of(*TWO)) == [
            ["run", "day", "time", "steps done", "critical missed", "out of order"],
            ["1", "2026-03-24", "4:00", "100 %", "0", "4"],
            ["2", "2026-03-27", "1:00", "50 %", "1", "2"],
        ]

    def test_of_six_runs_the_nearer_curve_goes_through_their_points_and_on_to_the_next(self) -> None:
        slowest = examined(30, 800, reach=40.0)
        drawn = picture(page_of(slowest, *in_row(HALVED)), "time, minutes:seconds")
        # Eight places of 60, the first one left out; ticks of five minutes, so that the upper edge is 900 s;
        # the next run is 88.75 s.
        across = [140, 200, 260, 320, 380, 440, 500]
        down = [180 - 160 * seconds / 900 for seconds in (*HALVED, 88.75)]
        expected = list(zip(across, down, strict=True))
        assert np.allclose(at_runs(places(drawn, "nearer"), 7), expected, atol=0.06)
        assert np.allclose(dots(drawn), [(80, 37.8), *expected[:6]], atol=0.06)

    def test_between_two_runs_the_curve_is_curved(self) -> None:
        drawn = picture(page_of(*in_row(HALVED)), "time, minutes:seconds")
        between = places(drawn, "nearer")
        middle = between[(len(between) - 1) // 12]
        # 80 + 560 / 2^0.5 s at run one and a half; seven places of 480 / 7, and 720 s high.
        assert np.allclose(middle, (50 + 480 / 7, 180 - 160 * 475.98 / 720), atol=0.06)

    def test_the_other_curve_is_that_of_an_outside_fit_and_the_area_lies_between_both(self) -> None:
        drawn = picture(page_of(*in_row(HALVED)), "time, minutes:seconds")
        power = fitted_outside(lambda n, a, b, c: a + b * n**-c, HALVED)
        # Ticks of three minutes, so that the upper edge is 720 s.
        assert 640 < power(1) < 720
        expected = [180 - 160 / 720 * power(run) for run in range(1, 8)]
        assert np.allclose([y for _, y in at_runs(places(drawn, "other"), 7)], expected, atol=0.3)
        assert places(drawn, "between") == [*places(drawn, "nearer"), *places(drawn, "other")[::-1]]

    def test_the_scatter_of_the_runs_is_drawn_around_both_curves(self) -> None:
        page = page_of(*in_row(EIGHT))
        band = places(picture(page, "time, minutes:seconds"), "scatter")
        upper, lower = band[: len(band) // 2], band[len(band) // 2 :]
        # By SciPy the curves give 620.1 and 622.7 s for the first run, 392.8 and 381.2 s for the ninth, and
        # the scatter is 7.0 s; the upper edge is 720 s.
        ends = [upper[0][1], upper[-1][1], lower[0][1], lower[-1][1]]
        seconds = [629.7, 399.8, 374.2, 613.1]
        assert np.allclose(ends, [180 - 160 * each / 720 for each in seconds], atol=0.1)
        assert (
            "dark grey: between both; light grey: by how much runs scatter around them, 0:07 to either side;"
            " the times of runs to come are at least as uncertain as both greys together."
        ) in words(tree(page))

    def test_each_line_is_named_in_words_and_no_name_covers_another(self) -> None:
        found = labels(picture(page_of(*in_row(HALVED)), "time, minutes:seconds"))
        heights = sorted(y for name, (_, y) in found.items() if re.match(r"target|nearer|other", name))
        assert {"target 2:00", "nearer curve 1:29"} <= set(found)
        assert len(heights) == 3
        assert all(below - above >= 13 for above, below in pairwise(heights))
        assert max(heights) <= 184

    def test_figures_of_both_curves_stand_in_the_table(self) -> None:
        head, first, *_, last = rows(page_of(*in_row(HALVED)))
        assert head[3:5] == ["by nearer curve", "by other curve"]
        assert first[:4] == ["1", "2026-03-12", "10:40", "10:40"]
        assert last[:4] == ["next", "", "", "1:29"]

    def test_a_run_that_is_left_out_of_the_times_is_a_ring_and_stands_in_brackets(self) -> None:
        page = page_of(*in_row((240, 60)), examined(1, 30, reach=40.0, coverage=None, moved=None))
        drawn = picture(page, "time, minutes:seconds")
        assert [dot.get("class") for dot in drawn.iter("circle")] == ["point", "point", "left-out"]
        assert rows(page)[3] == ["3", "2026-03-29", "(0:30)", "–", "0", "–"]
        assert "ring: left out of the times" in words(tree(page))

    def test_kinds_are_drawn_apart_and_a_rehearsal_has_no_target(self) -> None:
        runs = [a_run(day, {"look": True}) for day in (2, 1)]
        page = page_of(examined(4, 100), examined(3, 100), *runs)
        rehearsal = picture(page, "time, minutes:seconds", 1)
        assert "REHEARSAL: ORDER" in words(tree(page))
        assert rehearsal.find("line[@class='target']") is None
        assert picture(page, "steps recalled, per cent")

    def test_simulated_patients_have_no_curve(self) -> None:
        drawn = picture(page_of(*HISTORIES["patients"]), "time, minutes:seconds")
        assert len(dots(drawn)) == 6
        assert drawn.find("polyline") is None

    def test_what_was_found_of_simulated_patients_stands_behind_the_kinds(self) -> None:
        changes = {"mode": REHEARSAL, "task": "patient", "case_there": 4, "case_found": 3}
        changes |= {"case_false_alarms": 1, "case_due": 2, "case_told": 2}
        shown = words(tree(page_of(examined(1, 100, **changes))))
        kinds, behind = shown.split("SIMULATED PATIENTS: WHAT WAS FOUND")
        assert "SIMULATED PATIENT" in kinds
        assert behind.index("2026-03-29 3 of 4 1 2 of 2") < behind.index("GETTING WORSE")

    def test_one_run_is_a_row_and_no_picture(self) -> None:
        page = page_of(examined(1, 100))
        assert len(rows(page)) == 2
        assert [svg.get("aria-label") for svg in tree(page).iter("svg")] == ["Sessions in each of 1 week"]

    def test_of_what_nothing_is_known_there_is_no_picture(self) -> None:
        page = page_of(*in_row((100, 90), moved=None, coverage=None))
        names = [svg.get("aria-label", "") for svg in tree(page).iter("svg")]
        assert not [name for name in names if re.match("steps|no figure", name)]
        assert len(names) == 3

    def test_a_long_gap_is_an_upright_line_before_the_run_after_it(self) -> None:
        # Three days are usual, and 40 more than five times three; six places of 80, the fourth run at 330.
        runs = [examined(day, 200) for day in (52, 49, 46, 6, 3, 0)]
        page = page_of(*runs)
        gap = one(picture(page, "time, minutes:seconds"), "line[@class='gap']")
        assert [gap.get(key) for key in ("x1", "y1", "x2", "y2")] == ["290", "20", "290", "180"]
        assert words(gap) == "40 days without a run"
        assert "upright dotted line: a long time without a run" in words(tree(page))
        assert "dotted" not in words(tree(page_of(*in_row((200, 200, 200)))))

    def test_a_short_table_stays_on_one_page(self) -> None:
        short, long = page_of(*in_row((200,) * 12)), page_of(*in_row((200,) * 13))
        assert '<table class="runs few">' in short
        assert '<table class="runs">' in long
        assert ".few { break-inside: avoid; }" in short

    def test_days_are_not_broken_at_their_hyphens(self) -> None:
        page = page_of(*TWO)
        missed = next(item for item in tree(page).iter("li") if "last 2026" in words(item))
        assert words(one(missed, "span[@class='date']")) == "2026-03-27"
        assert ".date { white-space: nowrap; }" in page
        assert len(tree(page).findall(".//td[@class='day']")) == 2
        assert ".runs .day { width: 22mm; white-space: nowrap; }" in page


class TestManyRuns:
    def test_no_bar_or_point_or_curve_goes_above_the_highest_tick(self, runs: Sequence[Run]) -> None:
        for svg in tree(page_of(*runs)).iter("svg"):
            highest = min(float(line.get("y1", "")) for line in svg.findall("line[@class='tick']"))
            heights = [y for _, y in dots(svg)] + [y for _, y, _, _ in bars(svg)]
            for line in svg.findall("polygon"):
                heights += [float(pair.split(",")[1]) for pair in line.get("points", "").split()]
            assert highest == 20
            assert min(heights, default=20) >= 20

    def test_the_name_of_the_axis_keeps_apart_from_the_next_run(self) -> None:
        found = labels(picture(page_of(*HISTORIES["two hundred"]), "time, minutes:seconds"))
        # 11 px sans-serif: `next` is 24 wide at most, half of it beyond its middle.
        assert found["run"][0] - found["next"][0] >= 12 + 8

    def test_nothing_lies_beside_the_picture(self, runs: Sequence[Run]) -> None:
        for svg in tree(page_of(*runs)).iter("svg"):
            _, _, width, height = map(float, svg.get("viewBox", "").split())
            assert width == WIDTH
            for each in svg.iter():
                for key, most in (("x", width), ("cx", width), ("x2", width), ("y", height), ("cy", height)):
                    assert 0 <= float(each.get(key, 0)) <= most
            for text in svg.iter("text"):
                # 11 px sans-serif: 6.5 units a letter are more than any line needs.
                room = 6.5 * len(words(text)) / {"end": 1, "mid": 2}.get(text.get("class", ""), 1)
                x = float(text.get("x", ""))
                assert text.get("class") == "end" or x + room <= width
                assert text.get("class") != "end" or x - room >= 0

    def test_two_hundred_runs_have_a_point_and_a_row_each(self) -> None:
        page = page_of(*HISTORIES["two hundred"])
        drawn = picture(page, "time, minutes:seconds")
        assert len(dots(drawn)) == 200
        assert len(rows(page)) == 1 + 200 + 1
        across = [x for x, _ in dots(drawn)]
        assert all(before < after for before, after in pairwise(across))

    def test_numbers_under_the_axis_keep_apart(self, runs: Sequence[Run]) -> None:
        for svg in tree(page_of(*runs)).iter("svg"):
            middles = [float(text.get("x", "")) for text in svg.iter("text") if text.get("class") == "mid"]
            assert all(after - before >= 20 for before, after in pairwise(middles))
            assert len(middles) <= 13


class TestWeeks:
    def test_sessions_of_each_week_are_bars_with_their_figures(self) -> None:
        # Mondays are 16, 23 and 30 March 2026: three places of 160, of one, none and two sessions.
        page = page_of(examined(0, 100), examined(0.1, 100), examined(14, 100))
        drawn = picture(page, "sessions")
        assert bars(drawn) == [(123, 50, 14, 30), (443, 20, 14, 60)]
        assert labels(drawn)["03-23"] == (290, 94)
        assert "2026-03-16: 1; 2026-03-23: 0; 2026-03-30: 2." in words(tree(page))

    def test_what_lies_before_the_last_weeks_is_counted(self) -> None:
        page = tree(page_of(*HISTORIES["long ago"]))
        assert "earlier: 1; 2026-01-12: 0;" in words(page)
        assert "1 earlier session is not drawn." in [words(caption) for caption in page.iter("figcaption")]
        assert "not drawn" not in words(tree(page_of(*TWO)))


def at_runs(points: Sequence[tuple[float, float]], runs: int) -> Sequence[tuple[float, float]]:
    """Return the points of a smooth curve at the runs, the first and the last of which are its ends."""
    return points[:: (len(points) - 1) // (runs - 1)]


def fitted_outside(curve: Callable[..., Any], seconds: Sequence[float]) -> Callable[[int], float]:
    """Return the curve of smallest squares that SciPy finds, from several beginnings."""
    numbers, times = np.arange(1.0, len(seconds) + 1), np.array(seconds, float)
    bounds = ([0, 0, 1e-3], [1e5, 1e5, 10])
    found = [
        curve_fit(curve, numbers, times, p0=(50, 600, rate), bounds=bounds, max_nfev=20_000)[0]
        for rate in (0.1, 0.5, 1.0, 2.0)
    ]
    best = min(found, key=lambda values: float(((curve(numbers, *values) - times) ** 2).sum()))
    return lambda run: float(curve(float(run), *best))
