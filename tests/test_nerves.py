"""The roll-up of the cranial nerves says what was recorded of each, and never more than that.

The steps and the records are invented.
"""

from collections.abc import Mapping

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklist.measures.reading import Fact, Sided
from checklist.protocol.model import Entry, Protocol, Step
from checklist.reasoning.facts import Known
from checklist.reasoning.nerves import NUMBERS, Nerve, Part, cranial_nerves
from checklist.summary.nerves import roll_up_words
from tests.note_sessions import protocol_of, step

RIGHT, LEFT, WHOLE = ("right", ""), ("left", ""), ("", "")
ACUITY = step("acuity", title="Measure acuity", technique="measure", sides=True, covers=("CN II",))
FIELDS = step(
    "fields", title="Test fields", technique="test", sides=True, sites=("upper", "lower"), covers=("CN II",)
)
DISC = step("disc", title="View the disc", sides=True, may_be_unseen=True, covers=("CN II",))
GAZE = step("gaze", title="Test gaze", technique="test", covers=("CN III", "CN IV", "CN VI", "eye movements"))
SMELL = step("smell", title="Test smell", technique="test", sides=True, covers=("CN I",))
ASK_SMELL = step("ask-smell", title="Ask about smell", technique="ask", covers=("CN I",))
TONGUE = step("tongue", title="Watch the tongue", covers=("CN XII",))
PROTOCOL = protocol_of(GAZE, ASK_SMELL, ACUITY, FIELDS, DISC, SMELL, TONGUE)


def seen(*entries: Sided, differing: tuple[Sided, ...] = ()) -> Known:
    """Entries that were examined, of which some differ."""
    return Known(facts={entry: Fact(is_expected=entry not in differing) for entry in (*entries, *differing)})


BOTH = seen(RIGHT, LEFT)
ALL_FIELDS = seen(*((side, site) for side in ("right", "left") for site in ("upper", "lower")))


def of(number: str, found: Mapping[str, Known], protocol: Protocol = PROTOCOL) -> Nerve:
    [nerve] = (each for each in cranial_nerves(protocol, found) if each.number == number)
    return nerve


def words(found: Mapping[str, Known], *steps: Step) -> tuple[str, ...]:
    return roll_up_words(cranial_nerves(protocol_of(*steps), found))


class TestNerves:
    def test_those_that_the_protocol_tests_stand_in_the_order_of_their_numbers(self) -> None:
        numbers = [nerve.number for nerve in cranial_nerves(PROTOCOL, {})]

        assert numbers == ["I", "II", "III", "IV", "VI", "XII"]

    def test_a_protocol_that_tests_none_has_none(self) -> None:
        assert cranial_nerves(protocol_of(step("look", covers=("lymph nodes",))), {}) == ()

    def test_a_step_as_expected_at_every_entry_is_as_expected(self) -> None:
        nerve = of("II", {"acuity": BOTH, "fields": ALL_FIELDS, "disc": BOTH})

        assert nerve == Nerve(number="II", expected=(ACUITY, FIELDS, DISC))
        assert nerve.is_as_expected

    def test_what_differs_is_named_with_its_entries(self) -> None:
        nerve = of("II", {"acuity": seen(RIGHT, differing=(LEFT,))})

        assert nerve.differing == (Part(step=ACUITY, entries=(Entry(side="left"),)),)
        assert nerve.expected == ()

    @pytest.mark.parametrize(("examined", "missing"), [(RIGHT, "left"), (LEFT, "right")])
    def test_one_side_never_stands_for_the_other(self, examined: Sided, missing: str) -> None:
        nerve = of("II", {"acuity": seen(examined)})

        assert nerve.partial == (Part(step=ACUITY, entries=(Entry(side=missing),)),)
        assert nerve.expected == ()

    def test_a_side_that_differs_and_a_side_that_is_missing_are_both_said(self) -> None:
        nerve = of("II", {"acuity": seen(differing=(LEFT,))})

        assert nerve.differing == (Part(step=ACUITY, entries=(Entry(side="left"),)),)
        assert nerve.partial == (Part(step=ACUITY, entries=(Entry(side="right"),)),)

    def test_one_step_never_stands_for_another(self) -> None:
        nerve = of("II", {"acuity": BOTH})

        assert nerve.expected == (ACUITY,)
        assert nerve.unexamined == (FIELDS, DISC)
        assert not nerve.is_as_expected

    def test_a_step_that_covers_several_nerves_counts_for_each(self) -> None:
        found = {"gaze": seen(WHOLE)}

        assert [of(number, found).expected for number in ("III", "IV", "VI")] == [(GAZE,)] * 3

    def test_an_answer_of_the_patient_does_not_examine_a_nerve(self) -> None:
        nerve = of("I", {"ask-smell": seen(WHOLE)})

        assert not nerve.is_examined
        assert nerve.unexamined == (SMELL,)

    @pytest.mark.parametrize("technique", ["ask", "tell", "hygiene"])
    def test_a_nerve_that_is_only_spoken_of_is_not_tested(self, technique: str) -> None:
        only = step("only", technique=technique, covers=("CN I",))

        assert cranial_nerves(protocol_of(only), {"only": seen(WHOLE)}) == ()

    def test_a_nerve_of_which_nothing_is_known_is_not_as_expected(self) -> None:
        assert not Nerve(number="I").is_as_expected


class TestConditionalSteps:
    GAG = step("gag", title="Test the gag reflex", only_if="asked for", covers=("CN IX",))
    PALATE = step("palate", title="Watch the palate", covers=("CN IX",))
    BOTH_STEPS = protocol_of(PALATE, GAG)

    def test_one_that_was_not_called_for_is_not_missed(self) -> None:
        assert of("IX", {"palate": seen(WHOLE)}, self.BOTH_STEPS).is_as_expected

    def test_one_that_was_done_counts(self) -> None:
        found = {"palate": seen(WHOLE), "gag": seen(differing=(WHOLE,))}

        nerve = of("IX", found, self.BOTH_STEPS)

        assert nerve.expected == (self.PALATE,)
        assert nerve.differing == (Part(step=self.GAG, entries=(Entry(),)),)

    def test_one_of_two_that_was_done_leaves_the_other_unmissed(self) -> None:
        second = step("second", only_if="asked for", covers=("CN IX",))

        nerve = of("IX", {"gag": seen(WHOLE)}, protocol_of(self.GAG, second))

        assert nerve == Nerve(number="IX", expected=(self.GAG,))

    def test_a_nerve_with_no_other_says_that_it_was_not_examined(self) -> None:
        nerve = of("IX", {}, protocol_of(self.GAG))

        assert nerve.unexamined == (self.GAG,)
        assert not nerve.is_examined


class TestWords:
    def test_nerves_wholly_as_expected_share_a_sentence_and_so_do_those_not_examined(self) -> None:
        assert words({"gaze": seen(WHOLE)}, GAZE, SMELL, TONGUE) == (
            "as expected in all that was recorded: III, IV, VI",
            "not examined: I, XII",
        )

    def test_a_nerve_with_anything_else_says_what_differs_first_and_what_is_as_expected_last(self) -> None:
        near = step("near", title="Measure near acuity", sides=True, covers=("CN II",))
        fields = seen(
            ("right", "upper"), ("right", "lower"), ("left", "lower"), differing=(("left", "upper"),)
        )
        found = {"acuity": BOTH, "fields": fields, "disc": seen(RIGHT)}

        assert words(found, ACUITY, FIELDS, DISC, near) == (
            "II differs: Test fields (left upper);"
            " only in part: View the disc (left not examined or not seen);"
            " not examined: Measure near acuity; as expected: Measure acuity",
        )

    def test_both_sides_that_differ_are_named(self) -> None:
        assert words({"acuity": seen(differing=(RIGHT, LEFT))}, ACUITY) == (
            "II differs: Measure acuity (right and left)",
        )

    def test_a_step_without_sides_needs_no_place(self) -> None:
        assert words({"tongue": seen(differing=(WHOLE,))}, TONGUE) == ("XII differs: Watch the tongue",)

    def test_many_steps_are_counted_and_few_are_named(self) -> None:
        steps = [step(f"s{n}", title=f"Step {n}", covers=("CN VII",)) for n in range(9)]
        first_five = {f"s{n}": seen(WHOLE) for n in range(5)}

        assert words(first_five, *steps) == (
            "VII not examined: Step 5, Step 6, Step 7, Step 8; as expected: 5 steps",
        )

    def test_where_something_may_be_unseen_an_attempt_is_not_denied(self) -> None:
        assert words({}, DISC) == ("not examined or not seen: II",)

    def test_no_nerves_no_words(self) -> None:
        assert words({}, step("look")) == ()


_ENTRIES = {each.id: each.entries for each in PROTOCOL}


@st.composite
def records(draw: st.DrawFn) -> dict[str, Known]:
    found = {}
    for name in draw(st.lists(st.sampled_from(sorted(_ENTRIES)), unique=True)):
        entries = draw(st.lists(st.sampled_from(_ENTRIES[name]), min_size=1, unique=True))
        facts = {(each.side, each.site): Fact(is_expected=draw(st.booleans())) for each in entries}
        found[name] = Known(facts=facts)
    return found


class TestLaws:
    @given(records())
    def test_a_nerve_is_called_expected_only_when_each_entry_of_each_of_its_steps_is(
        self, found: dict[str, Known]
    ) -> None:
        for nerve in cranial_nerves(PROTOCOL, found):
            steps = [
                each for each in (*PROTOCOL,) if f"CN {nerve.number}" in each.covers and not each.is_asked
            ]
            facts = [
                found[each.id].facts.get((entry.side, entry.site)) if each.id in found else None
                for each in steps
                for entry in each.entries
            ]

            assert nerve.is_as_expected == all(fact is not None and fact.is_expected for fact in facts)

    @given(records())
    def test_no_nerve_is_ever_said_to_be_intact_and_each_is_spoken_of_once(
        self, found: dict[str, Known]
    ) -> None:
        said = roll_up_words(cranial_nerves(PROTOCOL, found))

        assert not any(word in " ".join(said) for word in ("intact", "normal"))
        numbers = [part.strip(",") for text in said for part in text.split() if part.strip(",") in NUMBERS]
        assert sorted(numbers) == sorted(["I", "II", "III", "IV", "VI", "XII"])
