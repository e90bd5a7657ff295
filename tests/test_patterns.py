"""A pattern is complete when what was recorded says so, and never because of what was not examined.

The protocol and its patterns are invented for the tests, and say nothing about any patient.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklist.measures.reading import Fact, Facts, Meaning, Sided
from checklist.protocol.model import Computed, Condition, Pattern, Protocol, Reading
from checklist.reasoning.facts import Known
from checklist.reasoning.patterns import matches
from tests.note_sessions import protocol_of, step

LID = step("lid", sides=True, findings={"low": "low", "swollen": "swollen"})
PUPIL = step("pupil", sides=True, findings={"small": "small", "large": "large"})
TOUCH = step("touch", sides=True, sites=("forehead", "chin"), findings={"reduced": "reduced"})
GAZE = step("gaze", sites=("right gaze", "left gaze"), findings={"limited": "limited"})
FORK = step("fork", findings={"to-right": "heard right", "to-left": "heard left"})
PULSE = step("pulse", sides=True, reading=Reading(kind="pulse-rate"), findings={"weak": "weak"})
PULSE_OF_TWO = replace(
    PULSE, findings=step("pulse", findings={"weak": "weak", "skipping": "skipping"}).findings
)
SCORE = Computed(id="score", kind="body-mass-index", title="Index", inputs=())
STEPS = (LID, PUPIL, TOUCH, GAZE, FORK, PULSE)

RIGHT, LEFT, WHOLE = ("right", ""), ("left", ""), ("", "")
EXPECTED, DIFFERS = Fact(is_expected=True), Fact(is_expected=False)


def found_as(*classes: str, is_expected: bool = False) -> Fact:
    return Fact(is_expected=is_expected, classes=frozenset(classes))


def measured(*classes: str, is_expected: bool = True) -> Fact:
    meaning = Meaning(text="72", words="72", chart="72", classes=classes)
    return Fact(is_expected=is_expected, classes=frozenset(classes), meaning=meaning)


def known(facts: Facts | None = None, *together: str) -> Known:
    meaning = Meaning(text="", words="together", chart="together", classes=together) if together else None
    return Known(facts=facts or {}, together=meaning)


def asks(step_id: str, *values: str, side: str = "", site: str = "") -> Condition:
    return Condition(step=step_id, values=values, side=side, site=site)


def pattern(*every: Condition, **fields: Any) -> Pattern:
    usual = {"id": "p", "consider": "this", "source": "invented"}
    return Pattern(every=every, **(usual | fields))


def protocol(*patterns: Pattern) -> Protocol:
    return protocol_of(*STEPS, patterns=patterns, computed=(SCORE,))


def is_complete(one: Pattern, found: Mapping[str, Known]) -> bool:
    return bool(matches(protocol(one), found))


class TestACondition:
    def test_holds_when_one_entry_has_the_finding(self) -> None:
        assert is_complete(pattern(asks("lid", "low")), {"lid": known({LEFT: found_as("low")})})

    def test_does_not_hold_when_another_finding_was_recorded(self) -> None:
        assert not is_complete(pattern(asks("lid", "low")), {"lid": known({LEFT: found_as("swollen")})})

    def test_holds_when_the_entry_has_any_of_several_values(self) -> None:
        one = pattern(asks("lid", "low", "swollen"))

        assert is_complete(one, {"lid": known({LEFT: found_as("swollen")})})

    def test_of_a_side_is_not_met_by_the_other_side(self) -> None:
        one = pattern(asks("lid", "low", side="right"))

        assert is_complete(one, {"lid": known({RIGHT: found_as("low")})})
        assert not is_complete(one, {"lid": known({LEFT: found_as("low")})})

    def test_of_a_site_is_not_met_by_another_site(self) -> None:
        one = pattern(asks("touch", "reduced", site="chin"))

        assert is_complete(one, {"touch": known({("left", "chin"): found_as("reduced")})})
        assert not is_complete(one, {"touch": known({("left", "forehead"): found_as("reduced")})})

    def test_can_ask_for_what_is_as_expected_or_differs(self) -> None:
        expected, differs = pattern(asks("lid", "expected")), pattern(asks("lid", "differs"))

        assert is_complete(expected, {"lid": known({RIGHT: EXPECTED})})
        assert not is_complete(expected, {"lid": known({RIGHT: DIFFERS})})
        assert is_complete(differs, {"lid": known({RIGHT: DIFFERS})})
        assert not is_complete(differs, {"lid": known({RIGHT: EXPECTED})})

    def test_can_ask_for_the_class_of_a_reading_that_was_kept_as_expected(self) -> None:
        assert is_complete(pattern(asks("pulse", "above")), {"pulse": known({RIGHT: measured("above")})})

    def test_can_ask_for_what_the_entries_mean_together(self) -> None:
        found = {"pulse": known({RIGHT: measured(), LEFT: measured()}, "unequal")}

        [match] = matches(protocol(pattern(asks("pulse", "unequal"))), found)

        assert match.rests_on == (("pulse", (RIGHT, LEFT)),)

    def test_of_one_side_is_not_met_by_what_both_sides_mean_together(self) -> None:
        found = {"pulse": known({RIGHT: measured("in-range"), LEFT: measured("in-range")}, "above")}

        assert not is_complete(pattern(asks("pulse", "above", side="right")), found)

    def test_can_ask_for_what_a_computation_came_to(self) -> None:
        one = pattern(asks("score", "above"))

        assert is_complete(one, {"score": known({}, "above")})
        assert not is_complete(one, {"score": known({}, "below")})
        assert not is_complete(one, {})


class TestAPattern:
    def test_needs_all_of_all(self) -> None:
        one = pattern(asks("lid", "low"), asks("pupil", "small"))
        lid, pupil = known({LEFT: found_as("low")}), known({LEFT: found_as("small")})

        assert is_complete(one, {"lid": lid, "pupil": pupil})
        assert not is_complete(one, {"lid": lid})
        assert not is_complete(one, {"lid": lid, "pupil": known({LEFT: EXPECTED})})

    def test_needs_one_of_any_besides_all_of_all(self) -> None:
        one = pattern(asks("lid", "low"), some=(asks("pupil", "small"), asks("fork", "to-left")))
        lid, fork = known({LEFT: found_as("low")}), known({WHOLE: found_as("to-left")})

        assert is_complete(one, {"lid": lid, "fork": fork})
        assert not is_complete(one, {"lid": lid, "pupil": known({LEFT: EXPECTED})})
        assert not is_complete(one, {"fork": fork})

    def test_of_any_alone_is_not_complete_when_nothing_is_known(self) -> None:
        assert not is_complete(pattern(some=(asks("pupil", "small"),)), {})

    def test_rests_on_what_made_it_so_in_the_order_of_the_protocol(self) -> None:
        one = pattern(
            asks("score", "above"),
            asks("pupil", "small", side="left"),
            asks("pupil", "large", side="right"),
            some=(asks("lid", "low"), asks("fork", "to-left")),
            none=(asks("touch", "reduced", site="chin"),),
        )
        found = {
            "score": known({}, "above"),
            "pupil": known({LEFT: found_as("small"), RIGHT: found_as("large")}),
            "lid": known({LEFT: found_as("low"), RIGHT: EXPECTED}),
            "fork": known({WHOLE: EXPECTED}),
            "touch": known({("right", "chin"): EXPECTED, ("left", "chin"): EXPECTED}),
        }

        [match] = matches(protocol(one), found)

        assert match.rests_on == (
            ("lid", (LEFT,)),
            ("pupil", (RIGHT, LEFT)),
            ("touch", (("right", "chin"), ("left", "chin"))),
            ("score", ()),
        )


class TestNone:
    """What was not examined rules nothing out."""

    ONE = pattern(asks("lid", "low"), none=(asks("pupil", "small"),))
    LID = known({LEFT: found_as("low")})

    def with_pupils(self, facts: Facts) -> bool:
        return is_complete(self.ONE, {"lid": self.LID, "pupil": known(facts)})

    def test_holds_when_every_entry_was_examined_and_is_not_so(self) -> None:
        assert self.with_pupils({RIGHT: EXPECTED, LEFT: found_as("large")})

    def test_does_not_hold_when_one_entry_is_so(self) -> None:
        assert not self.with_pupils({RIGHT: EXPECTED, LEFT: found_as("small")})

    def test_does_not_hold_when_the_step_was_not_examined(self) -> None:
        assert not is_complete(self.ONE, {"lid": self.LID})

    @pytest.mark.parametrize("entry", [RIGHT, LEFT])
    def test_does_not_hold_when_one_side_was_not_examined(self, entry: Sided) -> None:
        assert not self.with_pupils({entry: EXPECTED})

    def test_of_a_side_needs_that_side_alone(self) -> None:
        one = replace(self.ONE, none=(asks("pupil", "small", side="left"),))

        assert is_complete(one, {"lid": self.LID, "pupil": known({LEFT: EXPECTED})})
        assert not is_complete(one, {"lid": self.LID, "pupil": known({RIGHT: EXPECTED})})

    def test_own_words_alone_do_not_rule_a_finding_out(self) -> None:
        assert not self.with_pupils({RIGHT: EXPECTED, LEFT: DIFFERS})

    def test_a_reading_beside_own_words_does_not_rule_a_finding_out(self) -> None:
        one = pattern(asks("lid", "low"), none=(asks("pulse", "weak"),))
        other_side = measured("in-range")

        for differs, is_ruled_out in ((("in-range",), False), (("in-range", "skipping"), True)):
            pulse = known({RIGHT: other_side, LEFT: measured(*differs, is_expected=False)})
            assert (
                bool(
                    matches(
                        protocol_of(LID, PULSE_OF_TWO, patterns=(one,)), {"lid": self.LID, "pulse": pulse}
                    )
                )
                is is_ruled_out
            )

    def test_own_words_alone_rule_out_that_it_is_as_expected(self) -> None:
        one = replace(self.ONE, none=(asks("pupil", "expected"),))

        assert is_complete(one, {"lid": self.LID, "pupil": known({RIGHT: DIFFERS, LEFT: DIFFERS})})

    @pytest.mark.parametrize("entry", [EXPECTED, found_as("weak")])
    def test_an_entry_without_a_reading_does_not_rule_a_class_out(self, entry: Fact) -> None:
        one = pattern(asks("lid", "low"), none=(asks("pulse", "above"),))
        measured_twice = known({RIGHT: measured("in-range"), LEFT: measured("in-range")})

        assert is_complete(one, {"lid": self.LID, "pulse": measured_twice})
        assert not is_complete(
            one, {"lid": self.LID, "pulse": known({RIGHT: measured("in-range"), LEFT: entry})}
        )

    def test_of_what_the_entries_mean_together_needs_that_they_were_compared(self) -> None:
        grade = step("grade", sides=True, reading=Reading(kind="tonsil-grade"))
        one = pattern(asks("lid", "low"), none=(asks("grade", "larger-left"),))
        of = protocol_of(LID, grade, patterns=(one,))
        facts = {RIGHT: measured(), LEFT: measured()}

        assert matches(of, {"lid": self.LID, "grade": known(facts, "same")})
        assert not matches(of, {"lid": self.LID, "grade": known(facts, "larger-left")})
        assert not matches(of, {"lid": self.LID, "grade": known(facts)})

    def test_of_a_computation_needs_that_it_came_to_something(self) -> None:
        one = pattern(asks("lid", "low"), none=(asks("score", "above"),))

        assert is_complete(one, {"lid": self.LID, "score": known({}, "below")})
        assert not is_complete(one, {"lid": self.LID, "score": known({}, "above")})
        assert not is_complete(one, {"lid": self.LID})


class TestSides:
    SIDED = pattern(
        asks("lid", "low", side="{side}"),
        asks("pupil", "small", side="{side}"),
        consider="the {side} face, and compare the {other}",
    )

    def test_a_pattern_serves_both_sides_and_says_which(self) -> None:
        found = {"lid": known({LEFT: found_as("low")}), "pupil": known({LEFT: found_as("small")})}

        [match] = matches(protocol(self.SIDED), found)

        assert (match.side, match.words) == ("left", "the left face, and compare the right")
        assert match.pattern == self.SIDED

    def test_facts_of_different_sides_do_not_add_up(self) -> None:
        found = {"lid": known({LEFT: found_as("low")}), "pupil": known({RIGHT: found_as("small")})}

        assert not is_complete(self.SIDED, found)

    def test_both_sides_are_two_matches_right_first(self) -> None:
        found = {
            "lid": known({LEFT: found_as("low"), RIGHT: found_as("low")}),
            "pupil": known({LEFT: found_as("small"), RIGHT: found_as("small")}),
        }

        assert [match.side for match in matches(protocol(self.SIDED), found)] == ["right", "left"]

    def test_a_value_and_a_site_can_speak_of_the_side(self) -> None:
        one = pattern(
            asks("fork", "to-{side}"), asks("gaze", "limited", site="{other} gaze"), consider="the {side}"
        )
        found = {
            "fork": known({WHOLE: found_as("to-left")}),
            "gaze": known({("", "right gaze"): found_as("limited")}),
        }

        [match] = matches(protocol(one), found)

        assert (match.side, match.words) == ("left", "the left")

    def test_a_pattern_that_speaks_of_no_side_is_tried_once(self) -> None:
        found = {"lid": known({LEFT: found_as("low"), RIGHT: found_as("low")})}

        [match] = matches(protocol(pattern(asks("lid", "low"))), found)

        assert (match.side, match.words) == ("", "this")
        assert match.rests_on == (("lid", (RIGHT, LEFT)),)


class TestOrder:
    def test_the_most_urgent_stand_first_and_the_rest_as_listed(self) -> None:
        low = asks("lid", "low")
        patterns = (
            pattern(low, id="noted"),
            pattern(low, id="reported", tell="report"),
            pattern(low, id="contradiction", tell="report", contradiction=True),
            pattern(low, id="urgent", tell="urgent"),
            pattern(low, id="reported-too", tell="report"),
            pattern(low, id="noted-too"),
        )

        found = matches(protocol(*patterns), {"lid": known({LEFT: found_as("low")})})

        assert [match.pattern.id for match in found] == [
            "urgent",
            "reported",
            "contradiction",
            "reported-too",
            "noted",
            "noted-too",
        ]


# Laws, over whatever may be recorded and asked for.

_VALUES = {
    "lid": ("low", "swollen"),
    "pupil": ("small", "large"),
    "touch": ("reduced",),
    "fork": ("to-right", "to-left"),
    "pulse": ("below", "above"),
}


@st.composite
def facts_of(draw: st.DrawFn, step_id: str) -> Facts:
    entries = next(each for each in STEPS if each.id == step_id).entries
    found = {}
    for entry in draw(st.lists(st.sampled_from(entries), min_size=1, unique=True)):
        classes = draw(st.frozensets(st.sampled_from(_VALUES[step_id])))
        fact = Fact(is_expected=draw(st.booleans()), classes=classes)
        if step_id == "pulse" and draw(st.booleans()):
            fact = replace(fact, meaning=Meaning(text="1", words="1", chart="1", classes=tuple(classes)))
        found[entry.side, entry.site] = fact
    return found


@st.composite
def records(draw: st.DrawFn) -> dict[str, Known]:
    chosen = draw(st.lists(st.sampled_from(sorted(_VALUES)), unique=True))
    return {step_id: known(draw(facts_of(step_id))) for step_id in chosen}


@st.composite
def conditions(draw: st.DrawFn) -> Condition:
    """A condition that does not prefer a side but by the variables."""
    step_id = draw(st.sampled_from(sorted(_VALUES)))
    sided = step_id != "fork"
    values = (*_VALUES[step_id], "expected", "differs") if sided else ("to-{side}", "to-{other}", "expected")
    return Condition(
        step=step_id,
        values=tuple(draw(st.lists(st.sampled_from(values), min_size=1, unique=True))),
        side=draw(st.sampled_from(["", "{side}", "{other}"])) if sided else "",
        site=draw(st.sampled_from(["", "chin"])) if step_id == "touch" else "",
    )


@st.composite
def patterns(draw: st.DrawFn) -> Pattern:
    some = st.lists(conditions(), max_size=2).map(tuple)
    return Pattern(
        id="p",
        every=draw(some),
        some=draw(some),
        none=draw(some),
        consider="the {side}, not the {other}",
        tell=draw(st.sampled_from(["note", "report", "urgent"])),
        source="invented",
    )


def mirrored(found: Mapping[str, Known]) -> dict[str, Known]:
    """The same records with right and left exchanged, in places and in names of classes."""
    swap = {"right": "left", "left": "right", "to-right": "to-left", "to-left": "to-right"}

    def turned(fact: Fact) -> Fact:
        return replace(fact, classes=frozenset(swap.get(each, each) for each in fact.classes))

    return {
        step_id: known(
            {(swap.get(side, side), site): turned(fact) for (side, site), fact in each.facts.items()}
        )
        for step_id, each in found.items()
    }


class TestLaws:
    @given(st.lists(patterns(), max_size=3), records())
    def test_exchanging_right_and_left_exchanges_the_sides_of_the_matches(
        self, asked: list[Pattern], found: dict[str, Known]
    ) -> None:
        swap = {"right": "left", "left": "right"}
        of = protocol(*(replace(each, id=f"p{n}") for n, each in enumerate(asked)))

        here = {(match.pattern.id, match.side) for match in matches(of, found)}
        there = {(match.pattern.id, swap[match.side]) for match in matches(of, mirrored(found))}

        assert here == there

    @given(st.lists(patterns(), max_size=3), records())
    def test_a_further_step_that_was_not_examined_changes_nothing(
        self, asked: list[Pattern], found: dict[str, Known]
    ) -> None:
        extra = step("extra", sides=True, findings={"low": "low"})
        of = protocol(*asked)
        longer = protocol_of(extra, *STEPS, patterns=of.patterns, computed=of.computed)

        assert matches(longer, found) == matches(of, found)

    @given(patterns(), records(), st.data())
    def test_the_order_in_which_things_were_recorded_and_asked_for_does_not_matter(
        self, asked: Pattern, found: dict[str, Known], data: st.DataObject
    ) -> None:
        shuffled = {
            step_id: known(dict(data.draw(st.permutations(list(found[step_id].facts.items())))))
            for step_id in data.draw(st.permutations(list(found)))
        }
        turned = replace(asked, every=asked.every[::-1], some=asked.some[::-1], none=asked.none[::-1])

        def said(one: Pattern, of: Mapping[str, Known]) -> list[tuple[str, object]]:
            return [(match.words, match.rests_on) for match in matches(protocol(one), of)]

        assert said(turned, shuffled) == said(asked, found)

    @given(patterns(), records())
    def test_what_a_match_rests_on_was_examined(self, asked: Pattern, found: dict[str, Known]) -> None:
        for match in matches(protocol(asked), found):
            for step_id, entries in match.rests_on:
                assert set(entries) <= set(found[step_id].facts)

    @given(patterns(), records(), st.data())
    def test_what_does_not_belong_to_the_evidence_can_be_left_out(
        self, asked: Pattern, found: dict[str, Known], data: st.DataObject
    ) -> None:
        """A match stands on what it rests on, and on nothing that happens to be missing."""
        complete = matches(protocol(asked), found)
        if not complete:
            return
        match = data.draw(st.sampled_from(complete))
        evidence = {
            step_id: known({entry: found[step_id].facts[entry] for entry in entries})
            for step_id, entries in match.rests_on
        }

        assert match in matches(protocol(asked), evidence)
