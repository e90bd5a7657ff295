"""A protocol file becomes the values that it states, or a list of everything that is wrong with it."""

import tomllib
from collections.abc import Iterator
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest
import tomli_w
from hypothesis import given
from hypothesis import strategies as st

from checklist.protocol.model import After, Equipment, Finding, FreeOrder, Protocol
from checklist.protocol.problems import Flaw, Problem, ProtocolError
from checklist.protocol.reader import read, read_table
from checklist.text import clean
from checklist.tui.keys import DIGITS, SITE_LETTERS

PROTOCOLS = Path(__file__).parent / "protocols"
VALID = sorted((PROTOCOLS / "valid").glob("*.toml"))
INVALID = sorted((PROTOCOLS / "invalid").glob("*.toml"))
BUNDLED = sorted((Path(__file__).parent.parent / "protocols").glob("*.toml"))
EVERYTHING = (PROTOCOLS / "valid" / "everything.toml").read_text(encoding="utf-8")
SMALL = (PROTOCOLS / "valid" / "small.toml").read_text(encoding="utf-8")


def named(path: Path) -> str:
    return path.stem


def accepted(text: str) -> Protocol:
    protocol, problems = read(text, "file.toml")
    assert problems == []
    assert protocol is not None
    return protocol


def complaints(text: str) -> list[str]:
    protocol, problems = read(text, "file.toml")
    assert protocol is None
    return [str(problem) for problem in problems]


class TestValidFiles:
    @pytest.mark.parametrize("path", [*VALID, *BUNDLED], ids=named)
    def test_a_valid_or_bundled_file_has_no_problems(self, path: Path) -> None:
        protocol = accepted(path.read_text(encoding="utf-8"))

        assert protocol.id == path.stem

    def test_there_are_valid_and_bundled_files(self) -> None:
        assert VALID
        assert BUNDLED

    def test_every_key_of_the_top_level_becomes_its_field(self) -> None:
        protocol = accepted(EVERYTHING)

        assert protocol.format == 1
        assert protocol.id == "everything"
        assert protocol.version == "1.0.0-draft"
        assert protocol.reviewed == "2025-01-31"
        assert protocol.target_minutes == 7.5
        assert protocol.position == "sitting, then lying"
        assert protocol.cautions == ("Stop if it hurts.", 'Keep [brackets], {braces} and "quotes".')
        assert protocol.adaptations == ()
        assert protocol.sources == ("invented",)
        assert protocol.audience.population == "adults"
        assert protocol.audience.ages == ("18 to 64", "65 and over")
        assert protocol.audience.level == "pre-licensure"
        assert protocol.audience.setting == "skills laboratory"
        assert protocol.telling.report == "the nurse in charge"
        assert protocol.telling.urgent == "the physician on call"
        assert protocol.telling.roles == ("nurse in charge", "physician")
        assert protocol.equipment == (
            Equipment(id="otoscope", name="Otoscope", room=False),
            Equipment(id="dim-light", name="Dim light", room=True),
        )

    def test_every_key_of_a_section_and_a_step_becomes_its_field(self) -> None:
        protocol = accepted(EVERYTHING)
        opening, ears, closing = protocol.sections
        look = protocol.step_of["look"]

        assert [section.id for section in protocol.sections] == ["opening", "ears", "closing"]
        assert (opening.phase, ears.phase, closing.phase) == ("prepare", "examine", "close")
        assert ears.free_order == (FreeOrder(steps=("look", "whisper"), why="neither changes the other"),)
        assert look.technique == "inspect"
        assert look.sides
        assert look.sites == ("canal", "eardrum of C5")
        assert look.every_site == "canal and eardrum"
        assert look.after == (After(step="clean-hands", why="clean hands before touching"),)
        assert look.only_if == "the person agrees"
        assert look.say == "Hold still, please."
        assert look.expect == "Pearl grey, translucent"
        assert (look.subject, look.subjects) == ("ear", "ears")
        assert look.chart == "{subject} clear at {site} on the {side}"
        assert look.seconds == 3600
        assert look.weight == 0
        assert look.caution == "Never push against resistance."
        assert look.needs == ("otoscope", "dim-light")
        assert look.covers == ("CN VIII",)
        assert look.may_be_unseen
        assert look.findings == (
            Finding(id="wax", label="Wax in the way", chart="hidden by wax", tell="note", to=""),
            Finding(
                id="blood",
                label="Blood behind it",
                chart="blood behind {subject}",
                tell="urgent",
                to="the trauma team",
            ),
        )

    def test_a_key_that_is_left_out_has_its_documented_default(self) -> None:
        step = accepted(SMALL).steps[0]

        assert not step.sides
        assert step.sites == ()
        assert step.seconds == 15
        assert step.weight == 1
        assert not step.may_be_unseen
        assert step.findings == ()
        assert accepted(SMALL).sections[0].free_order == ()

    def test_white_space_and_line_breaks_in_a_text_count_as_one_space(self) -> None:
        protocol = accepted(EVERYTHING)

        assert protocol.title == "Every key"
        assert protocol.summary == "An invented example of every key."
        assert protocol.scope == "A file for tests. Not for use with patients."
        assert protocol.step_of["look"].do == (
            "Pull the auricle up and back. Brace your hand against the head."
        )


class TestInvalidFiles:
    @pytest.mark.parametrize("path", INVALID, ids=named)
    def test_all_problems_of_an_invalid_file_are_reported_in_these_words(self, path: Path) -> None:
        expected = path.with_suffix(".errors.txt").read_text(encoding="utf-8").splitlines()

        protocol, problems = read(path.read_text(encoding="utf-8"), path.name)

        assert [str(problem) for problem in problems] == expected
        assert protocol is None

    def test_there_are_invalid_files(self) -> None:
        assert len(INVALID) >= 25

    def test_lines_count_alike_when_they_end_in_carriage_return_and_newline(self) -> None:
        text = SMALL.replace('"hygiene"', '"hygene"')

        assert complaints(text.replace("\n", "\r\n")) == complaints(text)
        assert complaints(text) == [
            "file.toml:25:3: 'technique' is the text 'hygene' (did you mean 'hygiene'?)"
        ]

    def test_a_mistake_of_syntax_is_located_when_lines_end_in_carriage_return_and_newline(self) -> None:
        assert complaints('a = 1\r\nb = """\r\nx\r\n"""\r\na = 2\r\n') == [
            "file.toml:5:1: 'a' is written twice (see line 1)"
        ]

    @pytest.mark.parametrize(
        ("text", "complaint"),
        [
            ("a", "file.toml:1:2: no '=' after the key (write key = \"value\")"),
            ("a = 1\n= 3", 'file.toml:2:1: neither a key nor a [table] (write key = "value")'),
            ("[a", "file.toml:1:3: the header of the table is not closed (write [name] or [[name]])"),
            ('a = "\\d"', "file.toml:1:6: a '\\' that stands for nothing (write \\\\ for one '\\')"),
            ('a = "\\ud800"', "file.toml:1:6: a '\\u' that is no character (such as \\u00e9)"),
            ('a = "\\u12"', "file.toml:1:6: a '\\u' without four hexadecimal digits (such as \\u00e9)"),
            ('a = "b\x01"', "file.toml:1:7: a control character (delete it)"),
            ("# \x01", "file.toml:1:3: a control character (delete it)"),
            ("a = 2025-02-30", "file.toml:1:5: not a date (such as 2025-01-31)"),
            (
                "a = [[1, 2], [3, foo],\n]",
                'file.toml:1:18: not a value (text stands between straight double quotes: "…")',
            ),
            (
                'for.x = ["1",\n"2"\n\n[tell]\nb = 3',
                "file.toml:1:5: the value of 'x' is not closed"
                ' (close a text with its quotes, a list with "]", a table with "}")',
            ),
            (
                'for.x = ["1",\n"2",\n[[section]]\nb = 3',
                "file.toml:1:5: the value of 'x' is not closed"
                ' (close a text with its quotes, a list with "]", a table with "}")',
            ),
            ("a.? = 1", 'file.toml:1:3: not a key (write key = "value")'),
            (
                "a = [[1,\n2],\n\nb = 3",
                "file.toml:1:1: the value of 'a' is not closed"
                ' (close a text with its quotes, a list with "]", a table with "}")',
            ),
        ],
    )
    def test_a_mistake_of_syntax_is_told_in_an_authors_words(self, text: str, complaint: str) -> None:
        assert complaints(text) == [complaint]

    def test_lists_nested_too_deeply_are_a_problem_and_no_crash(self) -> None:
        assert complaints("a = " + "[" * 100_000) == [
            "file.toml: lists or tables are nested too deeply (a protocol needs few levels)"
        ]

    def test_a_number_of_too_many_digits_is_a_problem_and_no_crash(self) -> None:
        assert complaints("target_minutes = " + "9" * 5000) == ["file.toml: a number has too many digits"]

    @pytest.mark.parametrize(
        "text",
        [
            "a" + ".a" * 100_000 + " = 1",
            "[a" + ". a" * 100_000 + "]",
            '"a"' + " . 'b'" * 20_000 + " = 1",
            # The quote before the closing ones belongs to the text, and hides nothing after it.
            'a = ["""x"""", {a' + ".a" * 20_000 + ' = 1}, "y"]',
            "x = 1 # a.b\ny = {z" + ".a" * 20_000 + " = 1}",
        ],
    )
    def test_a_key_of_very_many_parts_is_refused_before_the_parser_takes_its_time_over_it(
        self, text: str
    ) -> None:
        """It would take minutes."""
        line = text.count("\n") + 1
        assert complaints(text) == [
            f"file.toml:{line}: a key has more than 20 dotted parts (a protocol needs two)"
        ]

    @pytest.mark.parametrize("quotes", ['"', "'", '"""', "'''", '"""\n'])
    def test_dots_in_a_text_or_a_comment_are_no_parts_of_a_key(self, quotes: str) -> None:
        dots = "a" + ".a" * 30
        text = SMALL.replace(
            "scope = ", f"# {dots}\nsummary = {quotes}{dots}{quotes[::-1]} # {dots}\nscope = ", 1
        )
        assert accepted(text).summary == dots

    def test_a_key_of_twenty_parts_is_for_the_parser(self) -> None:
        [complaint] = complaints(SMALL + "a" + ".a" * 19 + " = 1\n")
        assert "unknown key 'a'" in complaint

    def test_quotes_and_dots_without_end_take_no_time(self) -> None:
        """A text that is not closed is looked through once, not once for each of its quotes."""
        [complaint] = complaints('x = """' + '\\"""' * 200_000 + "." * 30)
        assert complaint.startswith("file.toml:1:1: the value of 'x' is not closed")

    def test_a_step_may_have_as_many_findings_and_sites_as_there_are_keys(self) -> None:
        sites, findings = (
            ", ".join(f'"place {key}"' for key in SITE_LETTERS),
            "".join(f'{{ id = "f{key}", label = "F", chart = "lax" }}, ' for key in DIGITS),
        )
        text = SMALL + f'sites = [{sites}]\nsubject = "knee"\nfinding = [{findings}]\n'
        step = accepted(text).steps[-1]
        assert (len(step.sites), len(step.findings)) == (10, 9)

    def test_a_number_too_large_to_be_written_in_digits_is_a_problem_and_no_crash(self) -> None:
        text = SMALL.replace("target_minutes = 2", "target_minutes = 0x" + "f" * 5000)

        assert complaints(text) == [
            "file.toml:6:1: 'target_minutes' is a number of very many digits"
            " (expected a number from 0.1 to 600)"
        ]

    @pytest.mark.parametrize("value", ["true", "1.0", '"1"'])
    def test_a_format_that_is_no_whole_number_is_of_the_wrong_type(self, value: str) -> None:
        [complaint] = complaints(SMALL.replace("format = 1", f"format = {value}"))

        assert complaint.endswith("(expected the number 1)")

    def test_a_later_format_is_one_problem_that_names_both_numbers(self) -> None:
        [complaint] = complaints("format = 73\nunheard_of = true")

        assert "73" in complaint
        assert "reads format 1" in complaint

    def test_a_text_from_the_file_cannot_command_the_terminal_from_a_message(self) -> None:
        text = SMALL.replace('"hygiene"', '"\\u001b[2Jhygiene"') + '"\\u001b[2J\\u202e" = 1\n'

        assert all(complaint.isprintable() for complaint in complaints(text))

    def test_a_long_value_is_cut_in_a_message(self) -> None:
        [complaint] = complaints(SMALL.replace('"hygiene"', f'"{"x" * 1000}"'))

        assert f"'{'x' * 39}…'" in complaint

    def test_many_problems_of_one_kind_are_cut_short(self) -> None:
        steps = "".join(
            f'\n[[section.step]]\nid = "s{n}"\ntitle = "S"\ntechnique = "tell"\ndo = "S"\nneeds = ["x{n}"]\n'
            for n in range(1000)
        )

        found = complaints(SMALL + steps)

        assert len(found) == 301
        assert found[-1].endswith("more problems of the same kind as the 300 before (put those right first)")

    def test_a_long_circle_is_named_by_its_first_steps(self) -> None:
        steps = "".join(
            f'\n[[section.step]]\nid = "s{n}"\ntitle = "S"\ntechnique = "tell"\ndo = "S"\n'
            f'after = [{{ step = "s{(n + 1) % 12}", why = "x" }}]\n'
            for n in range(12)
        )

        [complaint] = complaints(SMALL + steps)

        assert complaint.endswith(
            "steps come after each other in a circle: 's0' after 's1' after 's2' after 's3' after 's4'"
            " after 's5' after 's6' after 's7' after 's8' after 's9' after … after 's0'"
        )

    def test_many_unknown_keys_in_one_table_are_cut_short(self) -> None:
        found = complaints(SMALL + "".join(f"k{n} = 1\n" for n in range(1000)))

        assert len(found) == 101
        assert found[-1].endswith("1000 unknown keys in one table")


class TestReadTable:
    """A session holds its protocol as a table, which obeys the same rules as a file."""

    @pytest.mark.parametrize("path", VALID, ids=named)
    def test_a_table_gives_the_same_protocol_as_the_file_it_came_from(self, path: Path) -> None:
        text = path.read_text(encoding="utf-8")

        protocol, flaws = read_table(tomllib.loads(text))

        assert flaws == []
        assert protocol == accepted(text)

    @pytest.mark.parametrize("path", VALID, ids=named)
    def test_a_table_that_was_written_out_and_read_again_gives_the_same_protocol(self, path: Path) -> None:
        text = path.read_text(encoding="utf-8")
        again = tomllib.loads(tomli_w.dumps({"protocol": tomllib.loads(text)}))["protocol"]

        assert read_table(again) == (accepted(text), [])

    def test_a_flaw_of_a_table_names_its_place_as_a_person_counts(self) -> None:
        table = tomllib.loads(SMALL)
        table["section"][0]["step"][0]["hands"] = 5

        protocol, flaws = read_table(table)

        assert protocol is None
        assert [str(flaw) for flaw in flaws] == [
            "section 1, step 1, hands: 'hands' is the number 5"
            " (expected one of 'clean', 'gloves on', 'gloves off')"
        ]

    def test_a_flaw_of_the_whole_table_names_no_place(self) -> None:
        table = tomllib.loads(SMALL)
        del table["scope"]

        [flaw] = read_table(table)[1]

        assert str(flaw) == "missing key 'scope' at the top level, above the first [table]"

    def test_reading_leaves_the_table_as_it_was(self) -> None:
        table = tomllib.loads(EVERYTHING)
        before = deepcopy(table)

        read_table(table)

        assert table == before


class TestProtocolError:
    def test_one_problem_is_told_in_full(self) -> None:
        problem = Problem(file="a.toml", line=3, column=1, what="unknown key 'x'", hint="did you mean 'y'?")

        assert str(ProtocolError([problem])) == "a.toml:3:1: unknown key 'x' (did you mean 'y'?)"

    def test_several_problems_are_counted_and_the_first_is_told(self) -> None:
        problems = [Problem(file="a.toml", line=n, column=1, what="bad") for n in (3, 4)]

        assert str(ProtocolError(problems)) == (
            "a.toml: 2 problems, which 'checklist protocol check' lists; the first: a.toml:3:1: bad"
        )


def parts(value: object) -> Iterator[tuple[Any, Any]]:
    """Yield each container inside a table together with each of its keys or indices."""
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for part, each in inner:
        yield value, part
        yield from parts(each)


anything = st.recursive(
    st.none() | st.text() | st.integers() | st.floats() | st.booleans() | st.dates() | st.datetimes(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=5,
).filter(lambda value: value is not None)
snippets = st.sampled_from(
    [
        "[",
        "]",
        "[[section]]",
        "\n[[section.step]]\n",
        '"',
        "'''",
        '"""',
        "{",
        "}",
        "=",
        ",",
        "\n",
        "\r",
        "#",
        "step = 1",
        "for.x = 2",
        "\x00",
        "\x1b",
        "é",
        "nan",
        "-inf",
        "1e999",
        "0x" + "f" * 400,
        "2025-01-31",
    ]
)


WITHOUT_A_LINE = ("missing key", "missing table [", "no [[section]]", "a number has too many digits")


def is_safe_line(text: str) -> bool:
    return clean(text) == text and "\n" not in text


def consistent(text: str) -> None:
    protocol, problems = read(text, "file.toml")

    assert (protocol is None) == bool(problems)
    assert all(str(problem).startswith("file.toml:") for problem in problems)
    assert all(is_safe_line(str(problem)) for problem in problems)
    assert all(problem.line or problem.what.startswith(WITHOUT_A_LINE) for problem in problems)
    assert problems == sorted(problems, key=lambda problem: (problem.line or 0, problem.column or 0))


class TestAnyInput:
    @given(st.text())
    def test_no_text_raises(self, text: str) -> None:
        consistent(text)

    @given(st.data())
    def test_no_piece_cut_out_of_a_valid_file_raises(self, data: st.DataObject) -> None:
        start = data.draw(st.integers(0, len(EVERYTHING)))
        end = data.draw(st.integers(start, min(len(EVERYTHING), start + 200)))

        consistent(EVERYTHING[:start] + EVERYTHING[end:])

    @given(st.integers(0, len(EVERYTHING)), snippets | st.text(max_size=5))
    def test_nothing_put_into_a_valid_file_raises(self, at: int, snippet: str) -> None:
        consistent(EVERYTHING[:at] + snippet + EVERYTHING[at:])

    @given(st.integers(0, len(EVERYTHING)), st.integers(0, len(EVERYTHING)), st.integers(1, 80))
    def test_no_piece_of_a_valid_file_in_another_place_raises(self, source: int, at: int, size: int) -> None:
        consistent(EVERYTHING[:at] + EVERYTHING[source : source + size] + EVERYTHING[at:])

    @given(st.data(), anything)
    def test_no_value_in_place_of_a_right_one_raises(self, data: st.DataObject, value: object) -> None:
        table = tomllib.loads(EVERYTHING)
        container, part = data.draw(st.sampled_from(list(parts(table))))
        container[part] = value

        protocol, flaws = read_table(table)

        assert (protocol is None) == bool(flaws)
        assert all(isinstance(flaw, Flaw) and is_safe_line(str(flaw)) for flaw in flaws)

    @given(st.data())
    def test_no_missing_value_raises(self, data: st.DataObject) -> None:
        table = tomllib.loads(EVERYTHING)
        container, part = data.draw(st.sampled_from(list(parts(table))))
        del container[part]

        protocol, flaws = read_table(table)

        assert (protocol is None) == bool(flaws)
