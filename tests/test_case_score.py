"""What was found, missed, not there, on the wrong side, not examined, and told how fast: each for itself."""

from dataclasses import replace
from typing import Any

import pytest

from checklist.practice.case_due import due
from checklist.practice.case_score import CaseScore, Fate, Speed, score, tellable, whom
from checklist.practice.cases import Case, Due, Truth
from checklist.practice.descriptions import Described, Descriptions
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
        assert self.speeds(of, both) == [Speed.RIGHT], "the fuller of the two is told, once"

        decide(of, "report", "smile")
        assert self.speeds(of, both) == [Speed.TOO_SLOW]


def case_of(*truths: Truth, decoys: tuple[Truth, ...] = (), report: tuple[Due, ...] = ()) -> Case:
    return Case(
        id="made",
        title="Made",
        protocol=PROTOCOL.id,
        story="Nobody.",
        truths=truths,
        decoys=decoys,
        report=report,
    )


def told(of: Script, case: Case) -> dict[tuple[str, ...], Speed]:
    """Return how fast what is due would be told, by the steps that it rests on."""
    return {each.aim.steps: each.speed for each in score(of.session, case).tellings}


class TestSides:
    """What is due is due at its own place; what was recorded elsewhere is told of elsewhere."""

    BOTH = (
        Truth(step="smile", side="left", findings=("weak",)),
        Truth(step="smile", side="right", findings=("known",)),
    )

    def test_what_was_on_the_other_side_too_does_not_stand_in_for_it(self) -> None:
        of = script()
        of.record("smile", same("left"), differs("right", findings=("known",)))
        decide(of, "urgent", "smile")
        case = case_of(*self.BOTH)
        found = score(of.session, case)

        assert told(of, case) == {("smile",): Speed.NOT_RECORDED}
        assert [each.entries for each in found.over_told] == [("right",)], "it is only written down"

    def test_what_was_missed_is_not_misplaced_when_the_other_side_had_the_same(self) -> None:
        case = case_of(Truth(step="smile", findings=("weak",)))
        of = script()
        of.record("smile", same("left"), differs("right", findings=("weak",)))

        assert {item.there.entry.side: item.fate for item in judged(of, case).items} == {
            "right": Fate.FOUND,
            "left": Fate.MISSED,
        }

    def test_what_follows_carries_the_entries_that_it_is_about(self) -> None:
        derived = {each.steps: dict(each.entries) for each in due(FACE, PROTOCOL)}

        assert derived["smile",] == {"smile": ("left",)}
        assert derived["smile", "puff-cheeks"] == {"smile": ("left",), "puff-cheeks": ("left",)}

    def test_a_reading_out_of_range_is_due_without_a_finding(self) -> None:
        (each,) = [each for each in due(FACE, PROTOCOL) if each.steps == ("measure-jaw-opening",)]

        assert each.tell == "report"

    @pytest.mark.parametrize(
        ("side", "speed"), [("left", Speed.NOT_RECORDED), ("right", Speed.RIGHT), ("", Speed.RIGHT)]
    )
    def test_a_case_can_say_the_side_of_what_is_due(self, side: str, speed: Speed) -> None:
        case = case_of(
            *self.BOTH, report=(Due(what="the mouth", tell="urgent", steps=("smile",), side=side),)
        )
        of = script()
        of.record("smile", same("left"), differs("right", findings=("known",)))
        decide(of, "urgent", "smile")

        assert told(of, case) == {("smile",): speed}

    def test_what_names_its_side_is_told_of_the_other_when_its_mirror_image_is(self) -> None:
        case = case_of(Truth(step="test-weber", findings=("left",)))
        of = script()
        of.record("test-weber", differs(findings=("right",)))
        decide(of, "report", "test-weber")
        found = judged(of, case)

        assert fate(of, "test-weber", case) is Fate.OTHER_SIDE
        assert [item.fate for item in found.sided] == [Fate.OTHER_SIDE]
        assert told(of, case) == {("test-weber",): Speed.OTHER_SIDE}
        assert found.over_told == ()

    def test_another_finding_that_names_the_other_side_is_on_the_other_side(self) -> None:
        """Left larger, known since long, in place of right larger: neither the same nor its mirror image."""
        case = case_of(Truth(step="compare-pupils", findings=("right-larger",)))
        of = script()
        of.record("compare-pupils", differs(findings=("left-known",)))

        assert fate(of, "compare-pupils", case) is Fate.OTHER_SIDE

    def test_another_place_on_the_same_side_is_told_of_another_place(self) -> None:
        case = case_of(Truth(step="test-face-light-touch", side="left", site="cheek", findings=("reduced",)))
        of = script()
        rest = tuple(
            entry.key
            for entry in PROTOCOL.step_of["test-face-light-touch"].entries
            if entry.key != "left/chin"
        )
        of.record("test-face-light-touch", differs("left/chin", findings=("reduced",)), same(*rest))
        decide(of, "report", "test-face-light-touch")

        text = " ".join(plain_text(case_report(of.finish().session, case), 120).split())
        assert "– recorded at another place, left chin." in text
        assert "; told of another place, left chin." in text
        assert fate(of, "test-face-light-touch", case) is Fate.OTHER_PLACE
        assert told(of, case) == {("test-face-light-touch",): Speed.OTHER_PLACE}

    def test_a_false_alarm_at_one_step_does_not_tell_what_was_at_another(self) -> None:
        both = Due(what="the face", tell="urgent", steps=("smile", "raise-brows"))
        case = case_of(Truth(step="smile", side="left", findings=("weak",)), report=(both,))
        of = script()
        of.record("raise-brows", differs("left", findings=("weak",)), same("right"))
        of.record("smile", same())
        decide(of, "urgent", "raise-brows")
        found = judged(of, case)

        assert [each.speed for each in found.tellings] == [Speed.NOT_RECORDED]
        assert [each.step.id for each in found.over_told] == ["raise-brows"]


class TestOneTelling:
    """What belongs together is told once, and counted once."""

    FORKS = case_of(
        Truth(step="test-whispered-voice", side="left", findings=("fails",), reading="1/3 1/3"),
        Truth(step="test-whispered-voice", side="right", reading="3/3"),
        Truth(step="test-weber", findings=("left",)),
        Truth(step="test-rinne", side="left", findings=("bone-longer",)),
    )
    """A conductive loss on the left: three findings, what the forks mean together, and nothing urgent."""

    def found_forks(self) -> Script:
        of = script()
        of.record(
            "test-whispered-voice", differs("left", findings=("fails",), reading="1/3 1/3"), same("right")
        )
        of.record("test-weber", differs(findings=("left",)))
        of.record("test-rinne", differs("left", findings=("bone-longer",)), same("right"))
        return of

    def test_three_findings_that_mean_something_together_are_one(self) -> None:
        (each,) = judged(self.found_forks(), self.FORKS).tellings

        assert each.aim.steps == ("test-whispered-voice", "test-weber", "test-rinne")
        assert [part.steps for part in each.aim.parts] == [
            ("test-whispered-voice",),
            ("test-weber",),
            ("test-rinne",),
        ]
        assert each.aim.means, "what the forks come to is said with it, and not judged"

    def test_one_of_them_told_too_fast_is_said_once(self) -> None:
        of = self.found_forks()
        decide(of, "urgent", "test-whispered-voice")
        decide(of, "report", "test-weber")
        (each,) = judged(of, self.FORKS).tellings

        assert each.speed is Speed.TOO_FAST
        assert [told.step.id for told in each.by] == ["test-whispered-voice"]
        assert [told.step.id for told in each.untold] == ["test-rinne"]

    def test_one_told_of_the_wrong_side_is_named_beside_the_rest(self) -> None:
        of = script()
        of.record("test-weber", differs(findings=("left",)))
        of.record("test-rinne", differs("right", findings=("bone-longer",)), same("left"))
        decide(of, "report", "test-weber", "test-rinne")
        (each,) = judged(of, self.FORKS).tellings
        text = " ".join(plain_text(case_report(of.finish().session, self.FORKS), 120).split())

        assert each.speed is Speed.RIGHT
        assert [(told.step.id, told.entries) for told in each.elsewhere] == [("test-rinne", ("right",))]
        assert "; told of another side or place: Rinne test, right." in text

    def test_what_does_not_belong_together_stays_apart(self) -> None:
        jaw, mouth = sorted(judged(found_all()).tellings, key=lambda each: each.aim.tell)

        assert (jaw.aim.tell, jaw.aim.steps) == ("report", ("measure-jaw-opening",))
        assert (mouth.aim.tell, mouth.aim.steps) == ("urgent", ("smile", "puff-cheeks"))

    def test_the_same_finding_on_both_sides_is_one(self) -> None:
        case = case_of(Truth(step="smile", findings=("weak",)))
        of = script()
        of.record("smile", differs(findings=("weak",)))
        decide(of, "urgent", "smile")

        assert [each.speed for each in judged(of, case).tellings] == [Speed.RIGHT]


class TestStopping:
    """After something was rightly told at once, what comes later in the order is no miss."""

    def stopped(self, tell: str) -> CaseScore:
        """The mouth is weak, and nothing after it was examined; nor was the jaw, which comes before it."""
        of = script()
        of.record("smile", differs("left", findings=("weak",)), same("right"))
        decide(of, tell, "smile")
        return judged(of)

    def test_what_comes_later_is_left_out_and_not_counted(self) -> None:
        found = self.stopped("urgent")

        assert [item.there.step.id for item in found.left_out] == ["puff-cheeks", "inspect-maculas"]
        assert [(item.there.step.id, item.fate) for item in found.items] == [
            ("measure-jaw-opening", Fate.NOT_EXAMINED),
            ("smile", Fate.FOUND),
        ]

    @pytest.mark.parametrize("tell", ["report", "note"])
    def test_what_was_not_told_at_once_excuses_nothing(self, tell: str) -> None:
        found = self.stopped(tell)

        assert found.left_out == ()
        assert len(found.items) == 4

    def test_what_could_not_be_told_any_more_is_no_telling_that_was_missed(self) -> None:
        case = case_of(
            Truth(step="smile", side="left", findings=("weak",)),
            Truth(step="inspect-ear-canals", side="left", findings=("wax-full",)),
        )
        of = script()
        of.record("smile", differs("left", findings=("weak",)), same("right"))
        decide(of, "urgent", "smile")
        found = judged(of, case)
        text = " ".join(plain_text(case_report(of.finish().session, case), 120).split())

        assert [each.speed for each in found.tellings] == [Speed.RIGHT]
        assert [each.aim.steps for each in found.left_untold] == [("inspect-ear-canals",)]
        assert "Left out after something was told at once" in text
        assert (
            "Could not be told any more: Inspect the ear canal with the otoscope, left: Wax blocks the view"
            " – report before leaving."
        ) in text
        assert "Not examined, though something was there" not in text

    def test_what_was_examined_later_and_missed_is_still_a_miss(self) -> None:
        of = script()
        of.record("smile", differs("left", findings=("weak",)), same("right"))
        of.record("puff-cheeks", same())
        decide(of, "urgent", "smile")

        assert fate(of, "puff-cheeks") is Fate.MISSED


class TestByItsReading:
    """A reading that was typed as given tells what it means, though no finding was marked."""

    CASE = case_of(
        Truth(step="test-whispered-voice", side="left", findings=("fails",), reading="1/3 1/3"),
        Truth(step="test-whispered-voice", side="right", reading="3/3"),
    )

    @pytest.mark.parametrize(
        ("recorded", "expected"),
        [
            ({"reading": "1/3 1/3"}, Fate.BY_READING),
            ({"reading": "1/3 1/3", "findings": ("fails",)}, Fate.FOUND),
            ({"reading": "0/3 1/3"}, Fate.BY_READING),
            ({"detail": "asks twice"}, Fate.IN_WORDS),
            ({"reading": "3/3"}, Fate.OTHERWISE),
        ],
    )
    def test_is_found(self, recorded: dict[str, Any], expected: Fate) -> None:
        of = script()
        of.record("test-whispered-voice", differs("left", **recorded), same("right"))

        (item,) = judged(of, self.CASE).items
        assert item.fate is expected

    def test_is_no_description_in_own_words(self) -> None:
        of = script()
        of.record("test-whispered-voice", differs("left", reading="1/3 1/3"), same("right"))
        text = plain_text(case_report(of.finish().session, self.CASE), 120)

        assert "– found, by its reading." in " ".join(text.split())
        assert "own words" not in text
        assert "- found: 1 of 1" in text


VITALS = load(HEAD_AND_NECK.with_name("vital-signs.toml"))


class TestValuesThatTheScreenGave:
    """A step done only if indicated shows a value to whoever does it: what was measured at rest."""

    CASE = replace(
        case_of(Truth(step="measure-pressure-lying", findings=("low-signs",), reading="84/50")),
        protocol=VITALS.id,
    )

    def done(self, reading: str, **fields: Any) -> Script:
        of = Script(VITALS, mode=REHEARSAL, task="patient", case="low").start()
        of.record("measure-pressure-standing-1", differs(reading=reading, **fields))
        return of

    def test_recorded_as_shown_is_no_false_alarm_and_may_be_told(self) -> None:
        of = self.done("84/50")
        for each in tellable(of.session):
            of.add(
                Told,
                step=each.step.id,
                entries=each.entries,
                findings=(each.finding,),
                whom=whom(VITALS, "urgent"),
                when="14:10",
            )
        found = judged(of, self.CASE)

        assert found.false_alarms == ()
        assert found.over_told == ()
        assert found.misread == ()

    def test_is_nothing_that_the_case_asks_for(self) -> None:
        found = judged(self.done("84/50"), self.CASE)

        assert [item.there.step.id for item in found.items] == ["measure-pressure-lying"]

    def test_typed_otherwise_is_named(self) -> None:
        (each,) = judged(self.done("94/60"), self.CASE).misread

        assert (each.step.id, each.given, each.typed) == ("measure-pressure-standing-1", "84/50", "94/60")

    def test_an_ordinary_value_recorded_as_differing_is_a_false_alarm(self) -> None:
        calm = replace(case_of(Truth(step="measure-pressure-lying", reading="118/76")), protocol=VITALS.id)
        of = self.done("118/76", findings=("fall-no-signs",))

        (alarm,) = judged(of, calm).false_alarms
        assert alarm.step.id == "measure-pressure-standing-1"


class TestJudgedReadings:
    """A grade is judged from a description, so that only what would be told otherwise is named."""

    CASE = case_of(Truth(step="inspect-tonsils", reading="1+"))

    @pytest.mark.parametrize(("typed", "count"), [("0", 0), ("1+", 0), ("3+", 2)])
    def test_a_grade_counts_as_otherwise_when_it_is_told_otherwise(self, typed: str, count: int) -> None:
        of = script()
        of.record("inspect-tonsils", same(reading=typed))

        assert len(judged(of, self.CASE).misread) == count, "both sides"


class TestReport:
    def text(self, of: Script, case: Case = REPORT) -> str:
        return plain_text(case_report(of.finish().session, case), 120)

    def test_names_by_section_what_was_never_examined(self) -> None:
        of = script()
        of.record("smile", not_done(reason="declined"))
        text = " ".join(self.text(of).split())

        assert "Not examined, though something was there" in text
        assert (
            "Face and jaw: Palpate jaw joint, right (Click, no pain, no catching); Measure jaw opening"
            " (opening 24 mm); Smile, left (Rises less than the other side, new; recorded as not examined,"
            " declined)"
        ) in text.replace(PROTOCOL.step_of["smile"].title, "Smile").replace(
            PROTOCOL.step_of["measure-jaw-opening"].title, "Measure jaw opening"
        )
        assert "Left side of the mouth weak – tell at once; not examined, so nothing could be told." in text

    def test_says_what_indicates_a_step_that_was_not_examined(self) -> None:
        truth = Truth(step="auscultate-thyroid", side="left", findings=("hum",))
        text = " ".join(self.text(script(), case_of(truth)).split())

        assert "; done only if the thyroid is enlarged or holds a nodule)" in text

    def test_says_how_fast_it_was_told_instead(self) -> None:
        of = found_all()
        decide(of, "report", "smile")
        decide(of, "urgent", "measure-jaw-opening")
        text = " ".join(self.text(of).split())

        assert "tell at once; told too slowly, before leaving, with: Smile" in text.replace(
            PROTOCOL.step_of["smile"].title, "Smile"
        )
        assert "report before leaving; told faster than needed, at once." in text

    @pytest.mark.parametrize(
        ("label", "heading", "advice"),
        [
            ("click", "Could be told too", "could be told too; writing it down is enough"),
            ("grating", "Could be told too", "could be told too; writing it down is enough"),
            (
                "tender",
                "Told without need",
                "what was there is only written down; what was recorded, had it been there:"
                " report before leaving",
            ),
        ],
    )
    def test_what_is_told_at_a_decoy_is_judged_by_what_was_recorded(
        self, label: str, heading: str, advice: str
    ) -> None:
        of = script()
        of.record("palpate-jaw-joint", differs("right", findings=(label,)), same("left"))
        decide(of, "report", "palpate-jaw-joint")
        text = self.text(of)
        _, told = text.split(heading)

        assert f"; {advice}." in " ".join(told.split())
        assert ("Told without need" in text) == (heading == "Told without need")

    def test_is_divided_by_what_must_be_told_and_what_is_written_down(self) -> None:
        case = case_of(
            Truth(step="smile", side="left", findings=("weak",)),
            Truth(step="ask-ear-pain", findings=("past-surgery",)),
            decoys=FACE.decoys,
        )
        of = script()
        of.record("palpate-jaw-joint", differs("right", findings=("click",)), same("left"))
        of.record("ask-ear-pain", differs(findings=("past-surgery",)))
        of.record("smile", differs("left", findings=("weak",)), same("right"))
        text = plain_text(case_report(of.finish().session, case), 120)
        _, rest = text.split("To be told: what was there, and what became of it")
        to_tell, rest = rest.split("To be written down: what was there, and what became of it")
        to_write, _ = rest.split("What must be told")

        assert to_tell.count("– found.") == 1
        assert "new – found." in " ".join(to_tell.split())
        assert to_write.count("– found.") == 2, "an ordinary variant, and what draws attention"
        assert "- found: 3 of 3" in text

    def test_says_of_what_could_not_be_seen_what_was_made_of_it(self) -> None:
        right, wrong = script(), script()
        right.record("inspect-maculas", unseen("right"), same("left"))
        wrong.record("inspect-maculas", same())

        assert "cannot be seen – recorded as not seen." in " ".join(self.text(right).split())
        assert "cannot be seen – recorded as expected all the same." in " ".join(self.text(wrong).split())

    def test_shows_again_what_was_shown_and_not_found(self) -> None:
        of = script()
        of.record("smile", same())
        of.record("puff-cheeks", differs("right", findings=("leak",)), same("left"))
        weak = {"weak": ("One corner hangs.",)}
        described = Descriptions(
            protocol=PROTOCOL.id,
            steps={"smile": Described(findings=weak), "puff-cheeks": Described(expected=("Both tight.",))},
        )
        document = case_report(of.finish().session, case_of(FACE.truths[0]), described)
        text = " ".join(plain_text(document, 120).split())

        assert "– examined, and recorded as expected; shown: One corner hangs." in text
        assert "Air leaks at the mouth corner, new; what was there: Both tight." in text

    def test_says_each_figure_for_itself(self) -> None:
        of = found_all()
        decide(of, "urgent", "smile")
        of.record("raise-brows", differs("left", findings=("weak",)), same("right"))
        text = self.text(of)

        assert "- examined where something was: 4 of 4" in text
        assert "- found: 4 of 4" in text
        assert "- missed though examined: 0 of 4" in text
        assert "- side right: 3 of 3" in text
        assert "- told as fast as needed: 1 of 2" in text
        assert "- recorded, and not there: 1" in text
        assert "- left out after something was told at once, and counted nowhere above: 1" in text
        assert "%" not in text

    def test_counts_apart_what_was_recorded_as_something_else(self) -> None:
        of = script()
        of.record("smile", differs("left", findings=("known",)), same("right"))
        of.record("puff-cheeks", same())
        text = self.text(of)

        assert "- missed though examined: 1 of 4" in text, "three that must be told, and a click"
        assert "- right place, recorded as something else: 1 of 4" in text
        assert "– recorded as something else: Rises less, long known." in " ".join(text.split())

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
        assert "– Eyes: Inspect the macula, right (cannot be seen)." in text.replace("- Eyes", "– Eyes")
        assert "Left side of the mouth weak – tell at once; recorded, and left open." in text

    @pytest.mark.parametrize("line", [0, -1])
    def test_is_marked_as_simulated_and_invented(self, line: int) -> None:
        text = self.text(found_all()).splitlines()

        assert text[line] == "SIMULATED RECORD – practice, not a patient's record"
        assert "INVENTED EXAMPLE – no real person, place or event" in text
