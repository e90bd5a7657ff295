"""Reads a protocol: from text, as a file holds it, or from a table, as a session holds it. Pure.

Both ways go through `read_table`, so a session's protocol obeys the same rules as a file.
All that is wrong is reported at once; a protocol with anything wrong is not used.
"""

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from checklist import toml
from checklist.protocol.dotted import MOST_PARTS, long_key
from checklist.protocol.fields import MINUTES, SITE_LENGTH, TITLE_LENGTH, Fields, Notes
from checklist.protocol.model import (
    FORMAT,
    HANDS,
    LIMITS,
    PHASES,
    TECHNIQUES,
    URGENCIES,
    After,
    Assessment,
    Audience,
    Computed,
    Equipment,
    Finding,
    FreeOrder,
    Pattern,
    Protocol,
    Reading,
    Section,
    Step,
    Telling,
)
from checklist.protocol.problems import Flaw, Place, Problem, found, quoted
from checklist.protocol.rules import broken_rules

ACTS = ("tell", "hygiene")
"""Techniques that are acts of the examiner: nothing is expected of the patient, and nothing is charted."""

_AFTER = '[{ step = "…", why = "…" }]'
_FREE_ORDER = '[{ steps = ["…", "…"], why = "…" }]'


@dataclass(frozen=True, kw_only=True, slots=True)
class Parsed:
    """What a text turned out to hold: its table if it is TOML, and the protocol if nothing is wrong."""

    protocol: Protocol | None = None
    table: Mapping[str, Any] | None = None
    problems: tuple[Problem, ...] = ()


def read(text: str, name: str) -> tuple[Protocol | None, list[Problem]]:
    """Return the protocol that `text` holds, or all problems of it, in the order of the text.

    `name` is the name of the file, for the messages.
    """
    parsed = read_text(text, name)
    return parsed.protocol, list(parsed.problems)


def read_text(text: str, name: str, *, expected_id: str | None = None) -> Parsed:
    """Read as `read` does, and return the table too; `expected_id` is what the file is called after."""
    if line := long_key(text):
        what = f"a key has more than {MOST_PARTS} dotted parts"
        return Parsed(problems=(Problem(file=name, what=what, hint="a protocol needs two", line=line),))
    try:
        table = toml.loads(text)
    except tomllib.TOMLDecodeError as error:
        from checklist.protocol.syntax import syntax_problem

        return Parsed(problems=(syntax_problem(str(error), text, name),))
    except RecursionError:
        what = "lists or tables are nested too deeply"
        return Parsed(problems=(Problem(file=name, what=what, hint="a protocol needs few levels"),))
    except ValueError:
        # The one other error of the parser: more digits than Python converts.
        return Parsed(problems=(Problem(file=name, what="a number has too many digits"),))
    protocol, flaws = read_table(table)
    if expected_id is not None and table.get("id", expected_id) != expected_id:
        what = f"'id' is {found(table['id'])}, but the file is called {quoted(expected_id + '.toml')}"
        flaws.append(Flaw(at=("id",), what=what, hint="the file of a protocol is called after its id"))
    if flaws:
        return Parsed(table=table, problems=_located(flaws, text, name))
    return Parsed(protocol=protocol, table=table)


def read_table(table: Mapping[str, object]) -> tuple[Protocol | None, list[Flaw]]:
    """Return the protocol that a TOML table holds, or all flaws of it."""
    version = table.get("format")
    if isinstance(version, int) and not isinstance(version, bool) and version != FORMAT:
        what = f"'format' is {found(version)}, which is not supported"
        return None, [Flaw(at=("format",), what=what, hint=f"this version reads format {FORMAT}")]
    notes = Notes()
    protocol = _protocol(Fields(table, notes))
    flaws = notes.settle() + broken_rules(protocol)
    return (None, flaws) if flaws else (protocol, [])


def _located(flaws: Sequence[Flaw], text: str, name: str) -> tuple[Problem, ...]:
    # Only wanted when something is wrong: a file without problems is scanned once.
    from checklist.protocol.positions import positions

    places = positions(text)
    problems = [_problem(flaw, places, name) for flaw in flaws]
    return tuple(sorted(problems, key=lambda problem: (problem.line or 0, problem.column or 0)))


def _problem(flaw: Flaw, places: Mapping[Place, tuple[int, int]], name: str) -> Problem:
    # The table that holds all others is written nowhere: what it lacks has no line.
    line, column = places[flaw.at] if flaw.at else (None, None)
    see = f"see line {places[flaw.see][0]}" if flaw.see else ""
    hint = "; ".join(filter(None, (flaw.hint, see)))
    return Problem(file=name, what=flaw.what, hint=hint, line=line, column=column)


def _protocol(fields: Fields) -> Protocol:
    fields.require("format")
    protocol = Protocol(
        format=fields.whole("format", FORMAT, FORMAT, default=FORMAT),
        id=fields.id(),
        title=fields.text("title", needed=True, longest=TITLE_LENGTH),
        version=fields.text("version", needed=True),
        reviewed=fields.day("reviewed"),
        summary=fields.text("summary"),
        target_minutes=fields.number("target_minutes", *MINUTES),
        position=fields.text("position"),
        scope=fields.text("scope", needed=True),
        cautions=fields.texts("cautions"),
        adaptations=fields.texts("adaptations"),
        sources=fields.texts("sources", needed=True),
        audience=_audience(fields.table("for")),
        telling=_telling(fields.table("tell")),
        assess=_assess(fields.table_if_any("assess", "[assess]")),
        equipment=tuple(_equipment(each) for each in fields.tables("equipment", "[[equipment]]")),
        sections=tuple(_section(each) for each in fields.tables("section", "[[section]]", needed=True)),
        computed=_computed(fields.tables("computed", "[[computed]]")),
        patterns=_patterns(fields.tables("pattern", "[[pattern]]")),
    )
    fields.close()
    return protocol


def _audience(fields: Fields) -> Audience:
    audience = Audience(
        population=fields.text("population", needed=True),
        ages=fields.texts("ages"),
        level=fields.text("level"),
        setting=fields.text("setting"),
    )
    fields.close()
    return audience


def _telling(fields: Fields) -> Telling:
    telling = Telling(
        report=fields.text("report", needed=True),
        urgent=fields.text("urgent", needed=True),
        roles=fields.texts("roles"),
    )
    fields.close()
    return telling


def _assess(fields: Fields | None) -> Assessment:
    if fields is None:
        return Assessment()
    usual = Assessment()
    found = Assessment(
        cut=fields.number("cut", 0, 100, default=usual.cut),
        limit=fields.choice("limit", LIMITS, default=usual.limit),
        prompted=fields.number("prompted", 0, 1, default=usual.prompted),
        incorrect=fields.number("incorrect", 0, 1, default=usual.incorrect),
    )
    fields.close()
    return found


def _equipment(fields: Fields) -> Equipment:
    item = Equipment(id=fields.id(), name=fields.text("name", needed=True), room=fields.flag("room"))
    fields.close()
    return item


def _section(fields: Fields) -> Section:
    section = Section(
        id=fields.id(),
        title=fields.text("title", needed=True, longest=TITLE_LENGTH),
        phase=fields.choice("phase", PHASES, default="examine"),
        free_order=tuple(_free_order(each) for each in fields.inline_tables("free_order", _FREE_ORDER)),
        steps=tuple(_step(each) for each in fields.tables("step", "[[section.step]]", needed=True)),
    )
    fields.close()
    return section


def _free_order(fields: Fields) -> FreeOrder:
    group = FreeOrder(steps=fields.ids("steps", needed=True), why=fields.text("why", needed=True))
    fields.close()
    return group


def _step(fields: Fields) -> Step:
    technique = fields.choice("technique", TECHNIQUES)
    is_finding_out = bool(technique) and technique not in ACTS
    step = Step(
        id=fields.id(),
        title=fields.text("title", needed=True, longest=TITLE_LENGTH),
        technique=technique,
        also=fields.texts("also", longest=TITLE_LENGTH),
        sides=fields.choice("sides", ("none", "both"), default="none") == "both",
        sites=fields.texts("sites", longest=SITE_LENGTH),
        every_site=fields.text("every_site"),
        after=tuple(_after(each) for each in fields.inline_tables("after", _AFTER)),
        only_if=fields.text("only_if"),
        do=fields.text("do", needed=True),
        say=fields.text("say"),
        expect=fields.text("expect", needed=is_finding_out),
        subject=fields.text("subject"),
        subjects=fields.text("subjects"),
        chart=fields.text("chart", needed=is_finding_out),
        seconds=fields.whole("seconds", 1, 3600, default=15),
        weight=fields.number("weight", 0, 100, default=1),
        prompted=_share(fields, "prompted"),
        incorrect=_share(fields, "incorrect"),
        critical=fields.text("critical"),
        caution=fields.text("caution"),
        hands=fields.choice("hands", HANDS, default=""),
        needs=fields.ids("needs"),
        covers=fields.texts("covers"),
        may_be_unseen=fields.flag("may_be_unseen"),
        reading=_reading(fields.table_if_any("reading", "[section.step.reading]")),
        findings=tuple(_finding(each) for each in fields.tables("finding", "[[section.step.finding]]")),
    )
    if step.chart or step.findings:
        # A chart is read after its subject.
        fields.require("subject")
    fields.close()
    return step


def _share(fields: Fields, key: str) -> float | None:
    share = fields.number(key, 0, 1, default=0)
    return share if fields.has(key) else None


# The catalogue of readings is loaded only where a protocol has any.


def _reading(fields: Fields | None) -> Reading | None:
    if fields is None:
        return None
    from checklist.protocol import measured

    return measured.reading(fields)


def _computed(tables: Sequence[Fields]) -> tuple[Computed, ...]:
    if not tables:
        return ()
    from checklist.protocol import measured

    return tuple(measured.computed(each) for each in tables)


def _patterns(tables: Sequence[Fields]) -> tuple[Pattern, ...]:
    if not tables:
        return ()
    from checklist.protocol import measured

    return tuple(measured.pattern(each) for each in tables)


def _after(fields: Fields) -> After:
    after = After(step=fields.id("step"), why=fields.text("why", needed=True))
    fields.close()
    return after


def _finding(fields: Fields) -> Finding:
    finding = Finding(
        id=fields.id(),
        label=fields.text("label", needed=True),
        chart=fields.text("chart", needed=True),
        tell=fields.choice("tell", URGENCIES, default="note"),
        to=fields.text("to"),
    )
    fields.close()
    return finding
