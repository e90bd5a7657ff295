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
from checklist.measures.contradictions import contradictions
from checklist.protocol.model import Computed, Condition, Pattern, Protocol, Reading
from checklist.protocol.problems import Problem
from checklist.protocol.reader import read, read_table
from checklist.session.readings import of_a_later_version
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


def taking(name: str, kind: str = "", options: str = "") -> str:
    """A step with a reading of a kind, or without one."""
    sets = ", ".join(filter(None, (f'kind = "{kind}"', options)))
    table = f"reading = {{ {sets} }}\n" if kind else ""
    return f'\n[[section.step]]\nid = "{name}"\ntitle = "{name}"\ntechnique = "tell"\ndo = "Take."\n{table}'


def computed(kind: str, inputs: str, options: str = "") -> str:
    table = f'id = "c"\nkind = "{kind}"\ntitle = "C"\nfrom = {{ {inputs} }}\n{options}\n'
    return f"\n[[computed]]\n{table}"


def with_rules(step: str) -> str:
    """A protocol with a step, and with a pattern that asks for it."""
    asked = '[[pattern]]\nid = "p"\nany = [{ step = "look", is = "expected" }]\n'
    return f'{SMALL}{step}\n{asked}consider = "this"\nsource = "invented"\n'


def problems(text: str) -> list[Problem]:
    protocol, found = read(text, "file.toml")
    assert protocol is None
    return found


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
        named = (*known.needs, *known.takes)
        kinds = {name: (*known.reads.get(name, ()), *known.may_read.get(name, ())) for name in named}
        steps = "".join(taking(f"take-{name.replace('_', '-')}", *kinds[name][:1]) for name in named)
        inputs = ", ".join(f'{name} = "take-{name.replace("_", "-")}"' for name in named)

        assert accepted(SMALL + steps + computed(kind, inputs)).computed[0].kind == kind


class TestInputsOfComputations:
    """A step from which nothing could be computed is a problem at its name, with a step that would do."""

    def test_a_step_without_the_reading_that_is_needed(self) -> None:
        steps = taking("tall", "body-height") + taking("heavy") + taking("weigh", "body-weight")

        [problem] = problems(SMALL + steps + computed("body-mass-index", 'height = "tall", weight = "heavy"'))

        assert problem.what == "step 'heavy' takes no reading, from which 'weight' cannot be computed"
        assert problem.hint == "name a step with the reading 'body-weight', such as 'weigh'"

    def test_a_step_with_another_reading(self) -> None:
        steps = taking("tall", "body-height") + taking("weigh", "body-weight")

        [problem] = problems(SMALL + steps + computed("body-mass-index", 'height = "tall", weight = "tall"'))

        assert (
            problem.what
            == "step 'tall' takes the reading 'body-height', from which 'weight' cannot be computed"
        )
        assert problem.hint == "name a step with the reading 'body-weight', such as 'weigh'"

    def test_it_is_said_by_line_and_column(self) -> None:
        steps = taking("tall", "body-height")
        text = SMALL + steps + computed("body-mass-index", 'height = "tall", weight = "tall"')

        [problem] = problems(text)

        lines = text.splitlines()
        assert lines[(problem.line or 0) - 1] == 'from = { height = "tall", weight = "tall" }'
        # `from = { height = "tall", ` has 26 characters.
        assert problem.column == 27

    def test_where_no_step_would_do_the_kind_alone_is_named(self) -> None:
        [problem] = problems(SMALL + taking("tall") + computed("better-eye", 'acuity = "tall"'))

        assert problem.hint == "name a step with the reading 'distance-acuity'"

    @pytest.mark.parametrize("kind", ["blood-pressure", "systolic-pressure"])
    def test_one_of_several_kinds_does(self, kind: str) -> None:
        steps = taking("arm", kind) + taking("ankle", "systolic-pressure")

        assert accepted(SMALL + steps + computed("ankle-brachial-index", 'arms = "arm", ankles = "ankle"'))

    def test_several_kinds_that_would_do_are_all_named(self) -> None:
        steps = taking("arm", "pulse-rate") + taking("ankle", "systolic-pressure")

        [problem] = problems(
            SMALL + steps + computed("ankle-brachial-index", 'arms = "arm", ankles = "ankle"')
        )

        wanted = "'systolic-pressure' or 'blood-pressure'"
        assert problem.hint == f"name a step with the reading {wanted}, such as 'ankle'"

    def test_an_input_that_may_be_left_out_needs_its_kind_too(self) -> None:
        steps = taking("lie", "blood-pressure") + taking("stand", "blood-pressure")
        inputs = 'lying = "lie", standing = "stand", lying_pulse = "lie"'

        [problem] = problems(SMALL + steps + computed("orthostatic-change", inputs))

        assert problem.what.startswith("step 'lie' takes the reading 'blood-pressure'")
        assert "'lying_pulse'" in problem.what

    def test_findings_do_where_an_input_may_rest_on_them(self) -> None:
        steps = taking("weber") + taking("rinne", "rinne")

        assert accepted(SMALL + steps + computed("fork-tests", 'weber = "weber", rinne = "rinne"'))

    def test_another_reading_does_not_do_even_where_findings_would(self) -> None:
        steps = taking("weber", "weber") + taking("rinne", "rinne")

        found = problems(SMALL + steps + computed("fork-tests", 'weber = "rinne", rinne = "weber"'))

        assert [(each.what, each.hint) for each in found] == [
            (
                "step 'rinne' takes the reading 'rinne', from which 'weber' cannot be computed",
                "name a step with the reading 'weber', such as 'weber'",
            ),
            (
                "step 'weber' takes the reading 'weber', from which 'rinne' cannot be computed",
                "name a step with the reading 'rinne', such as 'rinne'",
            ),
        ]

    def test_a_kind_that_is_not_known_is_one_problem_and_not_two(self) -> None:
        steps = taking("tall", "body-height") + taking("heavy", "body-wait")

        [problem] = problems(SMALL + steps + computed("body-mass-index", 'height = "tall", weight = "heavy"'))

        assert problem.what == "'kind' is the text 'body-wait'"


class TestOptionsTogether:
    """Options that contradict each other are a problem that names both, at the one that is set."""

    @pytest.mark.parametrize(
        ("kind", "options", "what", "hint"),
        [
            (
                "pulse-rate",
                "usual_low = 110",
                "'usual_low' is 110, above 'usual_high', which is 100 by default",
                "set 'usual_high' as well",
            ),
            (
                "pulse-rate",
                "usual_high = 40",
                "'urgent_low' is 41 by default, above 'usual_high', which is 40",
                "set 'urgent_low' as well",
            ),
            (
                "respiratory-rate",
                "urgent_low = 14, report_low = 10",
                "'urgent_low' is 14, above 'report_low', which is 10",
                "'urgent_low' is at most 'report_low'",
            ),
            (
                "oxygen-saturation",
                "usual_low = 90, report_low = 94",
                "'report_low' is 94, above 'usual_low', which is 90",
                "'report_low' is at most 'usual_low'",
            ),
            (
                "temperature",
                "likely_low = 42",
                "'likely_low' is 42, above 'likely_high', which is 41.5 by default",
                "set 'likely_high' as well",
            ),
            (
                "liver-span",
                "midsternal_lowest_cm = 9, midsternal_highest_cm = 7",
                "'midsternal_lowest_cm' is 9, above 'midsternal_highest_cm', which is 7",
                "'midsternal_lowest_cm' is at most 'midsternal_highest_cm'",
            ),
            (
                "tonsil-grade",
                "grade_3_from = 80",
                "'grade_3_from' is 80, above 'grade_4_above', which is 75 by default",
                "set 'grade_4_above' as well",
            ),
            (
                "coma-scale",
                "mild_from = 8",
                "'moderate_from' is 9 by default, above 'mild_from', which is 8",
                "set 'moderate_from' as well",
            ),
            (
                "oedema-grade",
                "depths_mm = [2, 6, 4, 8]",
                "item 3 of 'depths_mm' is 4, below the one before it",
                "from the lowest to the highest",
            ),
            (
                "lymph-node",
                'any_size = ["supraclavicular", "elbow"]',
                "item 2 of 'any_size' is 'elbow'",
                "known: preauricular, posterior-auricular, occipital, tonsillar, submandibular, submental, "
                "superficial-cervical, anterior-cervical, deep-cervical, posterior-cervical, "
                "supraclavicular, infraclavicular, axillary, epitrochlear, inguinal, popliteal, iliac",
            ),
            (
                "pupil-size",
                'dim_sites = ["dim", "bright"]',
                "'bright' stands in 'bright_sites' by default and 'dim_sites'",
                "set 'bright_sites' as well",
            ),
            (
                "distance-acuity",
                "lines = [200, 100, 50, 20, 50]",
                "item 5 of 'lines' is 50 again",
                "each item stands in it once",
            ),
            (
                # log10(70/20) is 0.544.
                "distance-acuity",
                "letters_per_line = 5",
                "'letters_per_line' is 5, but 'lines' by default holds 20/70",
                "letters have a size on lines of even steps of 0.1 logMAR alone; write 0 for other charts",
            ),
        ],
    )
    def test_of_a_reading(self, kind: str, options: str, what: str, hint: str) -> None:
        [problem] = problems(with_rules(taking("look", kind, f'{options}, source = "invented"')))

        assert (problem.what, problem.hint) == (what, hint)

    @pytest.mark.parametrize(
        ("kind", "options"),
        [
            ("pulse-rate", "usual_low = 100, usual_high = 100"),
            ("pulse-rate", "usual_low = 50"),
            ("respiratory-rate", "urgent_low = 9, report_low = 9"),
            ("tonsil-grade", "grade_3_from = 75"),
            ("coma-scale", "mild_from = 13, moderate_from = 13"),
            ("lymph-node", 'any_size = ["inguinal"]'),
            ("pupil-size", 'bright_sites = ["lamp"], dim_sites = ["bright"]'),
            # The usual lines of a chart with even steps, and one of them moved to 4 m.
            (
                "distance-acuity",
                "letters_per_line = 5, lines = [200, 160, 125, 100, 80, 63, 50, 40, 32, 25, 20]",
            ),
            (
                "distance-acuity",
                "chart_distance = 4, letters_per_line = 5, lines = [40, 32, 25, 20, 16, 12.5, 10]",
            ),
        ],
    )
    def test_what_does_not_contradict_is_taken(self, kind: str, options: str) -> None:
        assert accepted(with_rules(taking("look", kind, f'{options}, source = "invented"')))

    @pytest.mark.parametrize(
        ("kind", "inputs", "options", "what", "hint"),
        [
            (
                "visual-fields",
                'fields = "done"',
                'quadrants = ["a", "b", "c"]',
                "'quadrants' has 3 items",
                "it takes 4: names of the sites: upper outer, lower outer, upper inner, lower inner",
            ),
            (
                "visual-fields",
                'fields = "done"',
                'quadrants = ["a", "b", "c", "a"]',
                "item 4 of 'quadrants' is 'a' again",
                "each item stands in it once",
            ),
            (
                "fork-tests",
                'weber = "done", rinne = "done"',
                'rinne_air = ["air-longer", "longer"]\nrinne_bone = ["longer"]',
                "'longer' stands in 'rinne_air' and 'rinne_bone'",
                "a name stands in one of them",
            ),
            (
                "light-reflexes",
                'direct = "done", consensual = "done"',
                'constricting = ["slow"]',
                "'slow' stands in 'not_constricting' by default and 'constricting'",
                "set 'not_constricting' as well",
            ),
        ],
    )
    def test_of_a_computation(self, kind: str, inputs: str, options: str, what: str, hint: str) -> None:
        [problem] = problems(SMALL + taking("done") + computed(kind, inputs, options))

        assert (problem.what, problem.hint) == (what, hint)

    def test_an_item_that_was_reported_is_not_judged_again(self) -> None:
        items = 'any_size = ["", "inguinal"], source = "invented"'

        [problem] = problems(with_rules(taking("look", "lymph-node", items)))

        assert problem.what == "item 1 of 'any_size' is empty"

    def test_bands_of_a_computation_out_of_order(self) -> None:
        steps = taking("arm", "systolic-pressure")
        inputs = 'arms = "arm", ankles = "arm"'
        options = 'borderline_from = 0.3\nsource = "invented"'

        [problem] = problems(SMALL + steps + computed("ankle-brachial-index", inputs, options))

        assert problem.what == "'severe_below' is 0.4 by default, above 'borderline_from', which is 0.3"
        assert problem.hint == "set 'severe_below' as well"

    def test_it_is_said_by_line(self) -> None:
        text = with_rules(taking("look", "pulse-rate", 'usual_low = 110, source = "invented"'))

        [problem] = problems(text)

        assert "usual_low = 110" in text.splitlines()[(problem.line or 0) - 1]

    @pytest.mark.parametrize("kind", sorted({**catalogue.KINDS, **catalogue.COMPUTATIONS}))
    def test_no_default_contradicts_another(self, kind: str) -> None:
        of = catalogue.KINDS.get(kind) or catalogue.COMPUTATIONS[kind]

        assert contradictions(of, {option.name: option.default for option in of.options}) == ()


class TestLaterVersions:
    """A protocol with a kind that is not known is refused as of a later version, and other faults are not."""

    def test_a_kind_of_reading_that_is_not_known(self) -> None:
        table = tomllib.loads(COUNTED.replace("pulse-rate", "gait-speed"))

        assert of_a_later_version(table) == (
            "a later version made it: this one does not know the reading 'gait-speed' of its protocol"
        )

    def test_a_kind_of_computation_that_is_not_known(self) -> None:
        table = tomllib.loads(COUNTED + computed("frailty-index", 'pulse = "count"'))

        assert of_a_later_version(table) == (
            "a later version made it: this one does not know the computation 'frailty-index' of its protocol"
        )

    @pytest.mark.parametrize(
        "text",
        [
            READINGS,
            SMALL,
            COUNTED.replace('"pulse-rate"', "7"),
            COUNTED.replace('"pulse-rate"', '"Pulse rate"'),
            COUNTED.replace('{ kind = "pulse-rate" }', '"pulse-rate"'),
            "section = 7",
            "section = [{ step = 7 }, 8, { step = [9, {}] }]\ncomputed = [{}]",
        ],
    )
    def test_all_kinds_known_or_what_can_be_no_kind(self, text: str) -> None:
        assert of_a_later_version(tomllib.loads(text)) == ""

    @given(st.data(), anything)
    def test_any_table_is_looked_through(self, data: st.DataObject, value: object) -> None:
        table = tomllib.loads(READINGS)
        container, part = data.draw(st.sampled_from(list(parts(table))))
        container[part] = value

        said = of_a_later_version(table)

        assert said == "" or said.startswith("a later version made it: ")


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
