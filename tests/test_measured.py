"""Readings, computations and patterns of a protocol become values, or problems that say where and what.

The longer lists of problems stand in tests/protocols/invalid; here is what depends on the kind.
"""

import tomllib
from pathlib import Path

import pytest
import tomli_w
from hypothesis import given
from hypothesis import strategies as st

from checklist.measures import catalogue
from checklist.protocol.model import Computed, Condition, Pattern, Protocol, Reading
from checklist.protocol.reader import read, read_table
from tests.test_reader import anything, consistent, is_safe_line, parts

PROTOCOLS = Path(__file__).parent / "protocols"
READINGS = (PROTOCOLS / "valid" / "readings.toml").read_text(encoding="utf-8")
SMALL = (PROTOCOLS / "valid" / "small.toml").read_text(encoding="utf-8")

STEP = """
[[section.step]]
id = "count"
title = "Count"
technique = "measure"
sides = "both"
do = "Count."
expect = "60 to 100"
subject = "pulse"
chart = "{reading}"
"""
COUNTED = SMALL + STEP + 'reading = { kind = "pulse-rate" }\n'


def accepted(text: str) -> Protocol:
    protocol, problems = read(text, "file.toml")
    assert problems == []
    assert protocol is not None
    return protocol


def complaints(text: str) -> list[str]:
    protocol, problems = read(text, "file.toml")
    assert protocol is None
    return [problem.what + (f" ({problem.hint})" if problem.hint else "") for problem in problems]


def pattern(condition: str, consider: str = "this") -> str:
    return f"""
[[pattern]]
id = "p"
any = [{{ step = "count", {condition} }}]
consider = "{consider}"
source = "invented"
"""


class TestReadings:
    def test_a_kind_alone_is_wanted_always_and_sets_nothing(self) -> None:
        step = accepted(READINGS).step_of["measure-height"]

        assert step.reading == Reading(kind="body-height", wanted="always", options=(), source="")

    def test_what_is_set_is_kept_with_its_source_and_the_rest_is_not(self) -> None:
        reading = accepted(READINGS).step_of["count-pulse"].reading

        assert reading == Reading(
            kind="pulse-rate",
            wanted="differs",
            options=(("usual_low", 50), ("report_high", 105.5)),
            source="invented",
        )

    def test_a_step_without_the_table_takes_no_reading(self) -> None:
        assert accepted(READINGS).step_of["look"].reading is None

    @pytest.mark.parametrize("kind", sorted(catalogue.KINDS))
    def test_every_kind_of_the_catalogue_can_be_asked_for_with_nothing_set(self, kind: str) -> None:
        protocol = accepted(SMALL + STEP + f'reading = {{ kind = "{kind}" }}\n')

        assert protocol.step_of["count"].reading == Reading(kind=kind)

    def test_an_unknown_key_is_answered_with_the_keys_of_that_kind(self) -> None:
        reading = 'reading = { kind = "body-height", xyz = 1 }\n'

        [complaint] = complaints(SMALL + STEP + reading)

        assert complaint == (
            "unknown key 'xyz' (keys here: kind, wanted, "
            + ", ".join(option.name for option in catalogue.KINDS["body-height"].options)
            + ", source)"
        )

    def test_an_option_that_is_no_clinical_value_needs_no_source(self) -> None:
        computed = (
            'from = { height = "measure-height", weight = "measure-weight" }\nasian_action_points = true\n'
        )
        text = (
            f'{READINGS}\n[[computed]]\nid = "again"\nkind = "body-mass-index"\ntitle = "Again"\n{computed}'
        )

        assert accepted(text).computed[-1].options == (("asian_action_points", True),)

    @pytest.mark.parametrize("kind", ['"xyz"', "7", "true"])
    def test_what_is_near_no_kind_is_answered_with_where_to_find_them(self, kind: str) -> None:
        [complaint] = complaints(f"{SMALL}{STEP}reading = {{ kind = {kind} }}\n")

        assert complaint.startswith("'kind' is ")
        assert complaint.endswith("('checklist protocol readings' lists the kinds)")


class TestComputations:
    def test_every_key_becomes_its_field(self) -> None:
        assert accepted(READINGS).computed == (
            Computed(
                id="mass-index",
                kind="body-mass-index",
                title="Body mass index",
                inputs=(("height", "measure-height"), ("weight", "measure-weight")),
                options=(("asian_action_points", True), ("action_points", (23, 27.5, 32.5, 37.5))),
                source="invented",
            ),
        )

    @pytest.mark.parametrize("kind", sorted(catalogue.COMPUTATIONS))
    def test_every_computation_of_the_catalogue_is_taken_with_what_it_needs(self, kind: str) -> None:
        known = catalogue.COMPUTATIONS[kind]
        inputs = ", ".join(f'{name} = "count"' for name in known.needs or known.takes)
        table = f'[[computed]]\nid = "c"\nkind = "{kind}"\ntitle = "C"\nfrom = {{ {inputs} }}\n'

        assert accepted(f"{COUNTED}\n{table}").computed[0].kind == kind


class TestPatterns:
    def test_every_key_becomes_its_field(self) -> None:
        assert accepted(READINGS).patterns == (
            Pattern(
                id="one-sided",
                every=(
                    Condition(step="look", values=("flushed-{side}",)),
                    Condition(
                        step="count-pulse", values=("above", "weak"), side="{other}", site="{side} ankle"
                    ),
                ),
                some=(
                    Condition(step="mass-index", values=("above",)),
                    Condition(step="count-pulse", values=("differs",), side="right"),
                ),
                none=(Condition(step="look", values=("expected",)),),
                consider="the {side} face against the {other}; report",
                tell="report",
                source="invented",
                contradiction=False,
            ),
            Pattern(
                id="no-side",
                some=(Condition(step="look", values=("differs",)),),
                consider="the face",
                tell="note",
                source="invented",
                contradiction=True,
            ),
        )

    @pytest.mark.parametrize("value", ["expected", "differs", *catalogue.KINDS["pulse-rate"].classes])
    def test_can_ask_for_the_outcome_and_for_each_class_of_the_reading(self, value: str) -> None:
        protocol = accepted(COUNTED + pattern(f'is = "{value}", side = "{{side}}"'))

        assert protocol.patterns[0].some == (Condition(step="count", values=(value,), side="{side}"),)

    @pytest.mark.parametrize("value", ["expected", "differs"])
    def test_cannot_ask_whether_a_computation_is_as_expected(self, value: str) -> None:
        """Nobody recorded it, so that it has no outcome."""
        asked = f'[[pattern]]\nid = "p"\nall = [{{ step = "mass-index", is = "{value}" }}]\n'

        [complaint] = complaints(f'{READINGS}\n{asked}consider = "this"\nsource = "invented"\n')

        assert complaint.startswith(f"unknown value '{value}' of 'mass-index' (known: ")

    def test_cannot_ask_for_a_class_where_no_reading_is_taken(self) -> None:
        [complaint] = complaints(SMALL + STEP.replace("{reading}", "regular") + pattern('is = "above"'))

        assert complaint == "unknown value 'above' of 'count' (known: 'expected', 'differs')"

    def test_what_the_entries_mean_together_is_asked_for_without_a_side(self) -> None:
        text = SMALL + STEP + 'reading = { kind = "tonsil-grade" }\n'

        assert accepted(text + pattern('is = "larger-{side}"')).patterns
        assert complaints(text + pattern('is = ["same", "differs"], side = "right"')) == [
            "'same' is what all entries of step 'count' mean together (leave 'side' out)"
        ]

    @pytest.mark.parametrize("variable", ["{side}", "{other}"])
    def test_words_that_speak_of_a_side_need_a_condition_that_depends_on_it(self, variable: str) -> None:
        words = f"the {variable}"
        hint = 'write side = "{side}" in a condition, or leave it out'

        assert complaints(COUNTED + pattern('is = "above", side = "right"', words)) == [
            f"'{variable}' in 'consider', but no condition depends on a side ({hint})"
        ]
        assert accepted(COUNTED + pattern('is = "above", side = "{other}"', words))


class TestAnyInput:
    """Whatever stands in a file, it is read or refused in words, each with its line."""

    @given(st.data(), anything)
    def test_no_value_in_place_of_a_right_one_raises(self, data: st.DataObject, value: object) -> None:
        table = tomllib.loads(READINGS)
        container, part = data.draw(st.sampled_from(list(parts(table))))
        container[part] = value

        protocol, flaws = read_table(table)

        assert (protocol is None) == bool(flaws)
        assert all(is_safe_line(str(flaw)) for flaw in flaws)

    @given(st.data())
    def test_no_missing_value_raises(self, data: st.DataObject) -> None:
        table = tomllib.loads(READINGS)
        container, part = data.draw(st.sampled_from(list(parts(table))))
        del container[part]

        consistent(tomli_w.dumps(table))

    @given(st.data())
    def test_no_value_from_elsewhere_in_the_file_raises(self, data: st.DataObject) -> None:
        table = tomllib.loads(READINGS)
        places = list(parts(table))
        container, part = data.draw(st.sampled_from(places))
        other, where = data.draw(st.sampled_from(places))
        container[part] = tomllib.loads(tomli_w.dumps({"x": other[where]}))["x"]

        consistent(tomli_w.dumps(table))
