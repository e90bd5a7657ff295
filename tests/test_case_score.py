"""What was found, missed, not there, on the wrong side, not examined, and told how fast: each for itself."""

import pytest

from checklist.practice.case_score import CaseScore, Fate, Speed, due, score, tellable, whom
from checklist.practice.cases import Case, Due, Truth
from checklist.protocol.library import load
from checklist.session.events import Told
from checklist.session.session import REHEARSAL
from checklist.summary.case_report import case_report
from checklist.summary.document import plain_text
from tests.desk import HEAD_AND_NECK
from tests.note_sessions import Script, differs, not_done, same, unseen

PROTOCOL = load(HEAD_AND_NECK)
FACE = Case(
    id="face",
    title="A face",
    protocol=PROTOCOL.id,
    story="Nobody.",
    truths=(
        Truth(step="smile", side="left", findings=("weak",)),
        Truth(step="puff-cheeks", side="left", findings=("leak",)),
        Truth(step="measure-jaw-opening", reading="24 mm"),
        Truth(step="inspect-maculas", side="right", unseen=True),
    ),
    decoys=(Truth(step="palpate-jaw-joint", side="right", findings=("click",)),),
)
"""The forehead is spared: smile and cheek are weak on the left. A jaw opens less than 35 mm."""


def script() -> Script:
    return Script(PROTOCOL, mode=REHEARSAL, task="patient", case="face").start()


def judged(of: Script, case: Case = FACE) -> CaseScore:
    return score(of.session, case)


def fate(of: Script, step: str, case: Case = FACE) -> Fate:
    """Return what became of what was there at a step."""
    found = judged(of, case)
    (item,) = [each for each in (*found.items, *found.decoys) if each.there.step.id == step]
    return item.fate


class TestWhatWasThere:
    def test_is_not_examined_before_anything_is_recorded(self) -> None:
        found = judged(script())

        assert {item.fate for item in found.items} == {Fate.NOT_EXAMINED}
        assert len(found.items) == 4
        assert len(found.decoys) == 1

    def test_is_found_when_recorded_at_its_place(self) -> None:
        of = script()
        of.record("smile", differs("left", findings=("weak",)), same("right"))

        assert fate(of, "smile") is Fate.FOUND

    def test_is_missed_when_recorded_as_expected(self) -> None:
        of = script()
        of.record("smile", same())

        assert fate(of, "smile") is Fate.MISSED

    def test_is_neither_found_nor_missed_when_recorded_as_something_else(self) -> None:
        of = script()
        of.record("smile", differs("left", findings=("known",)), same("right"))

        assert fate(of, "smile") is Fate.OTHERWISE

    def test_is_left_to_be_compared_when_described_in_own_words(self) -> None:
        of = script()
        of.record("smile", differs("left", detail="corner stays low"), same("right"))

        assert fate(of, "smile") is Fate.IN_WORDS

    def test_is_found_in_part_when_one_of_two_findings_was_recorded(self) -> None:
        two = Case(
            id="two",
            title="Two",
            protocol=PROTOCOL.id,
            story="Nobody.",
            truths=(Truth(step="inspect-tonsils", side="left", findings=("grade-3", "exudate")),),
        )
        of = script()
        of.record("inspect-tonsils", differs("left", findings=("exudate",), reading="1+"), same("right"))

        assert fate(of, "inspect-tonsils", two) is Fate.IN_PART

    def test_is_on_the_other_side_when_only_that_was_recorded(self) -> None:
        of = script()
        of.record("smile", differs("right", findings=("weak",)), same("left"))
        found = judged(of)

        assert fate(of, "smile") is Fate.OTHER_SIDE
        assert found.false_alarms == (), "one error is said once"
        assert [item.fate for item in found.sided] == [Fate.OTHER_SIDE]

    def test_is_found_on_its_side_and_a_false_alarm_on_the_other_when_both_were_recorded(self) -> None:
        of = script()
        of.record("smile", differs(findings=("weak",)))
        found = judged(of)

        assert fate(of, "smile") is Fate.FOUND
        assert [(each.step.id, each.entry.key) for each in found.false_alarms] == [("smile", "right")]

    def test_is_not_examined_when_declined(self) -> None:
        of = script()
        of.record("smile", not_done(reason="declined"))

        assert fate(of, "smile") is Fate.NOT_EXAMINED

    def test_is_found_in_a_reading_out_of_range_that_was_recorded_to_differ(self) -> None:
        of = script()
        of.record("measure-jaw-opening", differs(reading="24 mm"))

        assert fate(of, "measure-jaw-opening") is Fate.FOUND
        assert judged(of).misread == ()

    def test_is_missed_in_a_reading_that_was_kept_as_expected(self) -> None:
        of = script()
        of.record("measure-jaw-opening", same(reading="24 mm"))

        assert fate(of, "measure-jaw-opening") is Fate.MISSED

    def test_is_named_when_a_reading_was_typed_otherwise(self) -> None:
        of = script()
        of.record("measure-jaw-opening", same(reading="42 mm"))

        (misread,) = judged(of).misread
        assert (misread.given, misread.typed) == ("24 mm", "42 mm")

    def test_what_cannot_be_seen_is_found_only_as_attempted_and_not_seen(self) -> None:
        right, wrong = script(), script()
        right.record("inspect-maculas", unseen("right"), same("left"))
        wrong.record("inspect-maculas", same())

        assert fate(right, "inspect-maculas") is Fate.FOUND
        assert fate(wrong, "inspect-maculas") is Fate.MISSED

    def test_what_could_be_seen_is_not_found_when_it_was_not_seen(self) -> None:
        macula = Case(
            id="m",
            title="M",
            protocol=PROTOCOL.id,
            story="Nobody.",
            truths=(
                Truth(
                    step="inspect-maculas",
                    side="right",
                    findings=(PROTOCOL.step_of["inspect-maculas"].findings[0].id,),
                ),
            ),
        )
        of = script()
        of.record("inspect-maculas", unseen())

        assert fate(of, "inspect-maculas", macula) is Fate.NOT_SEEN

    def test_a_decoy_is_counted_apart(self) -> None:
        of = script()
        of.record("palpate-jaw-joint", differs("right", findings=("click",)), same("left"))

        assert fate(of, "palpate-jaw-joint") is Fate.FOUND
        assert judged(of).false_alarms == ()


def test_a_difference_where_all_was_as_expected_is_a_false_alarm() -> None:
    of = script()
    of.record("raise-brows", differs("left", findings=("weak",)), same("right"))

    (alarm,) = judged(of).false_alarms
    assert (alarm.step.id, alarm.entry.key) == ("raise-brows", "left")


def decide(of: Script, tell: str, *steps: str) -> None:
    """Say how fast the difference that is recorded at each step would be told."""
    for each in tellable(of.session):
        if each.step.id in steps:
            of.add(
                Told,
                step=each.step.id,
                entries=each.entries,
                findings=(each.finding,),
                whom=whom(PROTOCOL, tell),
                when="14:10",
            )


def found_all() -> Script:
    of = script()
    of.record("palpate-jaw-joint", differs("right", findings=("click",)), same("left"))
    of.record("measure-jaw-opening", differs(reading="24 mm"))
    of.record("smile", differs("left", findings=("weak",)), same("right"))
    of.record("puff-cheeks", differs("left", findings=("leak",)), same("right"))
    return of


REPORT = Case(
    id="face",
    title="A face",
    protocol=PROTOCOL.id,
    story="Nobody.",
    truths=FACE.truths,
    decoys=FACE.decoys,
    report=(
        Due(what="left side of the mouth weak", tell="urgent", steps=("smile", "puff-cheeks")),
        Due(what="jaw opens 24 mm", tell="report", steps=("measure-jaw-opening",)),
    ),
)


class TestTelling:
    def speeds(self, of: Script, case: Case = REPORT) -> list[Speed]:
        return [each.speed for each in score(of.session, case).tellings]

    def test_nothing_recorded_cannot_be_told(self) -> None:
        assert self.speeds(script()) == [Speed.NOT_RECORDED, Speed.NOT_RECORDED]

    def test_what_is_recorded_and_undecided_or_only_written_down_is_not_told(self) -> None:
        of = found_all()
        assert self.speeds(of) == [Speed.NOT_TOLD, Speed.NOT_TOLD]

        decide(of, "note", "smile", "puff-cheeks", "measure-jaw-opening")
        assert self.speeds(of) == [Speed.NOT_TOLD, Speed.NOT_TOLD]

    def test_as_fast_as_the_case_says_is_right(self) -> None:
        of = found_all()
        decide(of, "urgent", "smile")
        decide(of, "report", "measure-jaw-opening")

        assert self.speeds(of) == [Speed.RIGHT, Speed.RIGHT], "one of the steps that it rests on is enough"

    def test_slower_and_faster_are_told_apart(self) -> None:
        of = found_all()
        decide(of, "report", "smile")
        decide(of, "urgent", "measure-jaw-opening")

        assert self.speeds(of) == [Speed.TOO_SLOW, Speed.TOO_FAST]

    def test_the_last_decision_stands(self) -> None:
        of = found_all()
        decide(of, "report", "smile")
        decide(of, "urgent", "smile")

        assert self.speeds(of)[0] is Speed.RIGHT

    def test_a_decoy_that_is_told_is_told_without_need(self) -> None:
        of = found_all()
        decide(of, "report", "palpate-jaw-joint")

        assert [each.step.id for each in score(of.session, REPORT).over_told] == ["palpate-jaw-joint"]

    def test_what_is_told_of_the_other_side_is_not_told_as_needed(self) -> None:
        of = script()
        of.record("smile", differs("right", findings=("weak",)), same("left"))
        assert self.speeds(of)[0] is Speed.NOT_TOLD, "nothing was decided"

        decide(of, "urgent", "smile")
        assert self.speeds(of)[0] is Speed.OTHER_SIDE

    def test_a_false_alarm_on_the_other_side_does_not_stand_in_for_what_was_there(self) -> None:
        of = script()
        of.record("smile", same("left"), differs("right", findings=("known",)))
        decide(of, "urgent", "smile")
        found = score(of.session, REPORT)

        assert found.tellings[0].speed is Speed.NOT_RECORDED
        assert [(each.step.id, each.entries) for each in found.over_told] == [("smile", ("right",))]

    def test_telling_both_sides_tells_the_one_where_it_was(self) -> None:
        of = script()
        of.record("smile", differs(findings=("weak",)))
        decide(of, "urgent", "smile")

        assert self.speeds(of)[0] is Speed.RIGHT

    def test_what_must_be_told_follows_from_the_protocol_when_the_case_does_not_say(self) -> None:
        derived = [(each.tell, each.steps) for each in due(FACE, PROTOCOL)]

        assert ("urgent", ("smile",)) in derived, "the finding 'weak' is to be told at once"
        assert ("urgent", ("puff-cheeks",)) in derived
        assert ("urgent", ("smile", "puff-cheeks")) in derived, "the two with the forehead spared"
        assert not any("palpate-jaw-joint" in steps for _, steps in derived)

    def test_what_belongs_to_something_urgent_may_be_told_with_it(self) -> None:
        both = Case(
            id="both",
            title="Both",
            protocol=PROTOCOL.id,
            story="Nobody.",
            truths=FACE.truths,
            report=(
                Due(what="smile", tell="report", steps=("smile",)),
                Due(what="face", tell="urgent", steps=("smile", "puff-cheeks")),
            ),
        )
        of = found_all()
        decide(of, "urgent", "smile")

        assert self.speeds(of, both) == [Speed.RIGHT, Speed.RIGHT]


class TestReport:
    def text(self, of: Script) -> str:
        return plain_text(case_report(of.finish().session, REPORT), 120)

    def test_says_each_figure_for_itself(self) -> None:
        of = found_all()
        decide(of, "urgent", "smile")
        of.record("raise-brows", differs("left", findings=("weak",)), same("right"))
        text = self.text(of)

        assert "- examined where something was: 3 of 4" in text
        assert "- found: 3 of 4" in text
        assert "- missed though examined: 0 of 4" in text
        assert "- side right: 2 of 2" in text
        assert "- told as fast as needed: 1 of 2" in text
        assert "- recorded, and not there: 1" in text
        assert "%" not in text

    def test_counts_apart_what_was_recorded_as_something_else(self) -> None:
        of = script()
        of.record("smile", differs("left", findings=("known",)), same("right"))
        of.record("puff-cheeks", same())
        text = self.text(of)

        assert "- missed though examined: 1 of 4" in text
        assert "- right place, recorded as something else: 1 of 4" in text
        assert "recorded as something else; recorded:" in text

    def test_a_false_alarm_that_was_told_is_said_to_have_been_urgent_if_it_had_been_there(self) -> None:
        of = script()
        of.record("raise-brows", differs("left", findings=("weak",)), same("right"))
        decide(of, "urgent", "raise-brows")
        text = " ".join(self.text(of).split())

        assert PROTOCOL.step_of["raise-brows"].finding_of["weak"].tell == "urgent"
        assert "it was not there; had it been there: tell at once." in text
        assert "writing it down is enough" not in text

    def test_a_decoy_that_was_told_needs_only_writing_down(self) -> None:
        of = found_all()
        decide(of, "report", "palpate-jaw-joint")
        text = " ".join(self.text(of).split())

        assert "writing it down is enough" in text
        assert "had it been there" not in text

    def test_names_what_was_there_and_what_became_of_it(self) -> None:
        text = self.text(found_all())

        assert "- Smile, left: Rises less than the other side, new – found." in text.replace(
            PROTOCOL.step_of["smile"].title, "Smile"
        )
        assert "cannot be seen – not examined." in text
        assert "Left side of the mouth weak – tell at once; recorded, and not told." in text

    @pytest.mark.parametrize("line", [0, -1])
    def test_is_marked_as_simulated_and_invented(self, line: int) -> None:
        text = self.text(found_all()).splitlines()

        assert text[line] == "SIMULATED RECORD – practice, not a patient's record"
        assert "INVENTED EXAMPLE – no real person, place or event" in text
