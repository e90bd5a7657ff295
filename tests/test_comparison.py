"""Two records of one performance: what is paired, what is refused, and how it reads."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from checklist.cli import main
from checklist.practice.pairing import Comparison, ComparisonError, Item, Kind, compare
from checklist.session.events import Left, Marked, Moved
from checklist.session.opening import MACHINE, Preparation, begin
from checklist.session.recorder import Recorder
from checklist.session.session import Session
from checklist.summary.comparison import comparison
from checklist.summary.document import markdown, plain_text
from tests.note_sessions import (
    BEGIN,
    EARS_AND_NECK,
    GOLDEN,
    Script,
    differs,
    not_done,
    same,
    unseen,
)

LONG = 1000
"""A width at which no sentence of these is broken."""


def script(name: str, **header: Any) -> Script:
    made = Script(EARS_AND_NECK, **header)
    made.header = replace(made.header, id=name)
    return made.start()


def observed(
    name: str, marks: Mapping[str, tuple[str, str]] | None = None, pace: float = 1, **header: Any
) -> Session:
    """An observation in which all but conditional steps are done, or as `marks` say; empty for no mark."""
    made = script(name, **({"mode": "observation", "observer": f"O-{name}"} | header))
    for step in EARS_AND_NECK:
        usual = ("", "") if step.only_if else ("done", "")
        mark, detail = (marks or {}).get(step.id, usual)
        made.add(Moved, step=step.id)
        made.add(Moved, step.seconds * pace, step=step.id)
        if mark:
            made.add(Marked, step=step.id, mark=mark, detail=detail)
    return made.finish().session


def first_record() -> Session:
    made = script("one")
    red = differs("right", findings=("red",), detail="upper half")
    made.walk(
        but={
            "eardrum": (red, unseen("left", detail="wax in the way")),
            "sharp-touch": (not_done(reason="declined"),),
            "thyroid-look": (differs(detail="fuller on the left"),),
        }
    )
    return made.finish().session


def second_record() -> Session:
    made = script("two", examiner="E-03")
    pain = differs(findings=("pain",), detail="since Monday")
    made.walk(last="tragus", but={"ask-pain": (pain,)})
    fluid = differs("right", findings=("fluid",))
    made.walk("eardrum", "eardrum", but={"eardrum": (fluid, same("left"))}, pace=2)
    made.walk("whisper", "whisper", but={"whisper": (same("right"),)}, pace=0.5)
    made.walk("light-touch", but={"sharp-touch": (not_done(reason="declined"),)}).finish()
    made.amend("trachea", differs(detail="slightly to the right"), away=60, who="E-03", why="wrong key")
    return made.session


def lines(found: Comparison) -> list[str]:
    return plain_text(comparison(found), LONG).splitlines()


def under(heading: str, found: Comparison) -> list[str]:
    """The items under a heading, without their bullets."""
    (block,) = [block for block in comparison(found).blocks if block.heading == heading]
    return [each.text for each in block.sentences]


def marked(one: Mapping[str, tuple[str, str]], two: Mapping[str, tuple[str, str]]) -> Comparison:
    return compare(observed("one", one), observed("two", two))


# ------------------------------------------------------------------ documents


def test_two_records_read_as_their_golden_text() -> None:
    """36 of 40 alike; the table is 29 2 0 0 / 1 1 0 0 / 1 0 0 0 / 0 0 0 6.

    Kappa .7320 (.4903 to .9737) and the share's .7695 to .9604 by statsmodels; AC1 .8858 with the error
    .05525 by the Python package irrCAC.
    """
    document = comparison(compare(first_record(), second_record()))
    golden = (GOLDEN / "comparison-of-records.txt").read_text(encoding="utf-8")

    assert plain_text(document) == golden


def test_two_observers_are_compared_step_by_step() -> None:
    one = {"tragus": ("done incorrectly", "left only"), "whisper": ("not applicable", "")}
    two = {"tragus": ("done after a prompt", "which side?"), "thank": ("not done", "")}
    found = marked(one, two)

    assert found.kind is Kind.MARKS
    assert under("DIFFERENT", found) == [
        "Press the tragus – A: done incorrectly: left only; B: done after a prompt: which side?",
        "Thank the patient – A: done; B: not done.",
    ]
    assert under("LEFT OUT", found) == [
        "A not applicable, B done (1): Whispered numbers.",
        "No mark in both (1): Listen to the carotids.",
    ]
    assert "- The same: 18 of 20 steps, 90 % (95 % interval 70 to 97 %, n 20)." in lines(found)


def test_too_few_items_are_said_to_be_too_few_without_interval_and_word() -> None:
    """20 pairs: 18 done and done, one 1 and 2 on the scale, one 3 and 0.

    By hand: rows 0 1 0 19, columns 1 0 1 18 (not done … done). Kappa 1 - 20*2/(400 - 342) = 18/58 = .31.
    Linear: observed 1 + 3 = 4; expected 1*1 + 1*1 + 1*2*18 + 19*3 + 19*1 = 114; 1 - 80/114 = .30.
    Quadratic: observed 10; expected 1 + 1 + 4*18 + 9*19 + 19 = 264; 1 - 200/264 = .24.
    AC1: shares .025 .025 .025 .925; chance (3*.024375 + .069375)/3 = .0475; (.9 - .0475)/.9525 = .90.
    """
    found = marked(
        {"tragus": ("done incorrectly", ""), "whisper": ("could not be seen", "")},
        {"tragus": ("done after a prompt", ""), "thank": ("not done", "")},
    )

    few = "(n 20): too few for an interval or a word, which take 30."
    assert under("AGREEMENT", found)[1:] == [
        f"Kappa: 0.31 {few}",
        f"Kappa, linear weights: 0.30 {few}",
        f"Kappa, quadratic weights: 0.24 {few}",
        f"AC1: 0.90 {few}",
    ]


def test_kappa_of_two_who_tick_everything_is_undefined_and_few_are_few() -> None:
    found = marked({}, {})

    assert under("AGREEMENT", found)[:2] == [
        "The same: 21 of 21 steps, 100 % (95 % interval 85 to 100 %, n 21).",
        "Kappa: undefined (n 21, and too few: from 30 on): both used one category alone.",
    ]
    assert under("DIFFERENT", found) == ["None."]


def test_where_enough_entries_are_all_alike_no_interval_is_made_up() -> None:
    declined = {"sharp-touch": (not_done(reason="declined"),)}
    one = script("one").walk(but=declined).finish().session
    two = script("two").walk(but=declined).finish().session

    none = "no interval: it cannot be computed when all items agree, or none."
    assert under("AGREEMENT", compare(one, two))[1:] == [
        f"Kappa: 1.00 (n 41): {none}",
        f"AC1: 1.00 (n 41): {none}",
    ]


def test_of_nothing_rated_in_both_every_figure_is_undefined() -> None:
    found = compare(observed("one"), observed("two", {step.id: ("", "") for step in EARS_AND_NECK}))

    assert under("AGREEMENT", found)[:2] == [
        "The same: undefined (n 0): no step was rated in both.",
        "Kappa: undefined (n 0, and too few: from 30 on): nothing was rated in both.",
    ]


def test_entries_not_examined_for_different_reasons_have_the_same_outcome() -> None:
    one = script("one").walk(last="hands", but={"hands": (not_done(reason="declined"),)}).finish().session
    two = script("two").walk(last="hands", but={"hands": (not_done(reason="unable"),)}).finish().session
    found = compare(one, two)

    assert under("AGREEMENT", found)[0] == "The same: 1 of 1 entry, 100 % (95 % interval 21 to 100 %, n 1)."
    assert under("TIME", found)[1] == (
        "1 step is recorded and timed in both: median of A minus B 0 s; none differs."
    )
    assert under("SAME OUTCOME, OTHERWISE RECORDED", found) == [
        "Clean hands – A: not examined: declined; B: not examined: unable."
    ]


# ------------------------------------------------------------------ self against observer


def own_record() -> Session:
    made = script("own")
    made.walk(
        but={
            "consent": (),
            "tragus": (same("right"),),
            "sharp-touch": (not_done(reason="declined"),),
        }
    )
    made.finish()
    made.amend("consent", same(), away=60, why="forgot the key")
    return made.session


OBSERVER = {
    "hands": ("not done", ""),
    "consent": ("not done", "never asked"),
    "eardrum": ("done incorrectly", "wrong hand"),
    "whisper": ("done after a prompt", ""),
    "trachea": ("could not be seen", ""),
}


def test_what_the_own_record_says_done_and_the_observer_not_is_listed() -> None:
    found = compare(own_record(), observed("two", OBSERVER))

    assert found.kind is Kind.SELF
    assert under("OWN RECORD SAYS DONE, THE OBSERVER: NOT DONE", found) == [
        "Clean hands – A: done; B: not done.",
        "Ask consent – A: done (written after the end); B: not done: never asked.",
    ]
    assert under("OWN RECORD SAYS DONE, THE OBSERVER: INCORRECTLY", found) == [
        "Inspect eardrums – A: done; B: done incorrectly: wrong hand.",
    ]
    assert under("OWN RECORD SAYS DONE, THE OBSERVER: AFTER A PROMPT", found) == [
        "Whispered numbers – A: done; B: done after a prompt.",
    ]
    assert under("OWN RECORD SAYS DONE IN PART", found) == [
        "Press the tragus – A: done in part, without left; B: done.",
    ]
    assert under("THE OBSERVER SAYS DONE, OWN RECORD NOT", found) == [
        "Sharp touch – A: not done: declined; B: done.",
    ]
    assert under("THE OBSERVER SAYS AFTER A PROMPT OR INCORRECTLY, OWN RECORD NOT", found) == ["None."]
    assert under("LEFT OUT", found) == [
        "A done, B could not be seen (1): Feel the trachea.",
        "A not triggered, B no mark (1): Listen to the carotids.",
    ]


def test_the_figures_of_an_own_record_count_what_was_attempted() -> None:
    """22 steps, without the trachea not seen and the carotids not triggered; unlike are the hands, the
    consent and the sharp touch. Done after a prompt, incorrectly and in part are attempts.
    """
    found = compare(own_record(), observed("two", OBSERVER))

    assert len(EARS_AND_NECK.steps) == 22
    assert under("AGREEMENT", found)[0].startswith("The same, attempted or not: 17 of 20 steps, 85 % ")
    explained = " ".join(under("HOW TO READ THE FIGURES", found))
    assert "marked done, done after a prompt or done incorrectly" in explained


def test_an_attempt_of_which_the_own_record_has_nothing_is_a_difference_and_listed() -> None:
    own = script("own").walk(last="tragus").finish().session
    marks = {step.id: ("not done", "") for step in EARS_AND_NECK}
    early = [step.id for step in EARS_AND_NECK][: [step.id for step in EARS_AND_NECK].index("tragus") + 1]
    marks |= dict.fromkeys(early, ("done", ""))
    marks |= {"eardrum": ("done incorrectly", "wrong hand"), "whisper": ("done after a prompt", "")}
    marks |= {"trachea": ("done", "")}
    found = compare(own, observed("two", marks))

    assert under("THE OBSERVER SAYS AFTER A PROMPT OR INCORRECTLY, OWN RECORD NOT", found) == [
        "Inspect eardrums – A: nothing recorded; B: done incorrectly: wrong hand.",
        "Whispered numbers – A: nothing recorded; B: done after a prompt.",
    ]
    assert under("THE OBSERVER SAYS DONE, OWN RECORD NOT", found) == [
        "Feel the trachea – A: nothing recorded; B: done.",
    ]
    assert {item.step.id for item in found.items if item.differs} == {"eardrum", "whisper", "trachea"}


def test_a_step_recorded_in_part_and_marked_not_done_is_a_difference_and_listed() -> None:
    own = script("own").walk(but={"tragus": (same("right"),)}).finish().session
    found = compare(own, observed("two", {"tragus": ("not done", "")}))

    assert under("OWN RECORD SAYS DONE IN PART", found) == [
        "Press the tragus – A: done in part, without left; B: not done.",
    ]
    assert [item.step.id for item in found.items if item.differs] == ["tragus"]


def test_the_lists_keep_who_is_who_when_the_observer_is_named_first() -> None:
    found = compare(observed("two", OBSERVER), own_record())

    assert under("OWN RECORD SAYS DONE, THE OBSERVER: NOT DONE", found) == [
        "Clean hands – A: not done; B: done.",
        "Ask consent – A: not done: never asked; B: done (written after the end).",
    ]
    assert under("OWN RECORD SAYS DONE IN PART", found) == [
        "Press the tragus – A: done; B: done in part, without left.",
    ]


def test_a_conditional_step_is_left_out_where_it_was_recorded_as_not_indicated() -> None:
    own = script("own")
    own.walk(but={"carotid": (not_done(reason="not indicated"),)})
    found = compare(own.finish().session, observed("two", {"carotid": ("not done", "")}))

    assert under("LEFT OUT", found) == ["A not indicated, B not done (1): Listen to the carotids."]


# ------------------------------------------------------------------ mirror


def mirrored(item: Item) -> Item:
    rated = (item.rated[1], item.rated[0]) if item.rated else None
    return replace(item, said=(item.said[1], item.said[0]), rated=rated)


PAIRS = [
    (first_record(), second_record()),
    (own_record(), observed("two", OBSERVER)),
    (observed("one", {"tragus": ("not done", "")}, pace=1.25), observed("two", OBSERVER)),
]


@pytest.mark.parametrize(("one", "two"), PAIRS)
def test_the_other_order_gives_the_mirror_image(one: Session, two: Session) -> None:
    forth, back = compare(one, two), compare(two, one)

    assert back.kind is forth.kind
    assert back.items == tuple(map(mirrored, forth.items))
    assert back.left_out == tuple(map(mirrored, forth.left_out))
    assert [time.difference for time in back.times] == [-time.difference for time in forth.times]
    assert under("AGREEMENT", back) == under("AGREEMENT", forth)
    assert under("HOW TO READ THE FIGURES", back) == under("HOW TO READ THE FIGURES", forth)


def test_the_other_order_turns_the_words_and_the_signs() -> None:
    back = compare(second_record(), first_record())

    assert under("DIFFERENT", back)[0] == (
        "Ask about ear pain – A: differs: ear pain, since Monday; B: as expected."
    )
    assert under("LEFT OUT", back)[0] == "A nothing recorded, B as expected (1): Whispered numbers (left)."
    assert under("TIME", back) == [
        "Whole: A 5:45, B 5:20.",
        "21 steps are recorded and timed in both: median of A minus B 0 s; 2 differ.",
        "Inspect eardrums: A 1:20, B 0:40 (+40 s).",
        "Whispered numbers: A 0:15, B 0:30 (-15 s).",
    ]


# ------------------------------------------------------------------ time


def test_the_three_largest_differences_of_time_are_listed_and_the_median() -> None:
    """13 of 22 steps are planned at 10 s, 6 at 20, 2 at 30, the eardrums at 40; A took half as much again."""
    carotid = {"carotid": ("done", "")}
    found = compare(observed("one", carotid, pace=1.5), observed("two", carotid))

    assert under("TIME", found)[1:] == [
        "22 steps are recorded and timed in both: median of A minus B +5 s;"
        " 22 differ, of which these are the largest three.",
        "Inspect eardrums: A 1:00, B 0:40 (+20 s).",
        "Whispered numbers: A 0:45, B 0:30 (+15 s).",
        "Listen to the carotids: A 0:45, B 0:30 (+15 s).",
    ]


def test_the_time_of_passing_by_a_step_without_a_mark_is_not_compared() -> None:
    """Both passed the carotids; of the 22 steps, only one has marked the eardrums."""
    found = compare(observed("one", {"eardrum": ("", "")}, pace=1.5), observed("two"))

    said = under("TIME", found)
    assert said[1].startswith("20 steps are recorded and timed in both")
    assert not [line for line in said if "eardrums" in line or "carotids" in line]


def test_steps_without_a_time_in_both_are_not_compared_in_time() -> None:
    found = compare(observed("one", pace=0), observed("two"))

    assert under("TIME", found) == [
        "Whole: A 0:00, B 5:50.",
        "No step is recorded and timed in both.",
    ]


# ------------------------------------------------------------------ cautions


def test_an_unfinished_record_is_said_to_be_so_before_anything_else() -> None:
    made = script("two").walk(last="tragus")
    made.add(Left)

    assert lines(compare(first_record(), made.session))[1] == (
        "UNFINISHED – record B, left unfinished: this is what was recorded so far"
    )


APART = "DIFFERENT TIMES – the two records do not overlap in time: they may not be of one performance"


@pytest.mark.parametrize(("minutes_later", "is_apart"), [(5, False), (6, True)])
def test_records_that_do_not_overlap_in_time_are_said_to_be_so(minutes_later: int, is_apart: bool) -> None:
    """The first takes 5:20 from its start to its end."""
    begin = BEGIN + timedelta(minutes=minutes_later)
    late = Script(EARS_AND_NECK, begin=begin).start()
    late.header = replace(late.header, id="late")
    later = late.walk().finish().session

    for found in (compare(first_record(), later), compare(later, first_record())):
        assert (APART in comparison(found).banner) is is_apart


def test_what_was_written_after_the_end_is_no_time_of_the_performance() -> None:
    made = script("one").walk().finish()
    made.amend("consent", same(), away=3600, why="forgot the key")
    late = Script(EARS_AND_NECK, begin=BEGIN + timedelta(minutes=30)).start()
    late.header = replace(late.header, id="late")

    assert APART in comparison(compare(made.session, late.walk().finish().session)).banner


def test_one_simulated_record_marks_the_whole() -> None:
    cared = script("care", setting="care").walk().finish().session
    also = script("too", setting="care").walk().finish().session

    assert lines(compare(cared, first_record()))[0].startswith("SIMULATED RECORD")
    assert not lines(compare(cared, also))[0].startswith("SIMULATED")


@pytest.mark.parametrize(
    ("header", "caution"),
    [
        ({"participant": "P-099"}, "The participants differ: is this one performance?"),
        ({"examiner": "E-09"}, "The examiners differ: is this one performance?"),
    ],
)
def test_codes_that_speak_against_one_performance_are_said(header: dict[str, Any], caution: str) -> None:
    assert caution in under("", compare(observed("one"), observed("two", **header)))
    assert caution not in under("", compare(observed("one"), observed("two")))


def test_another_wording_under_the_same_version_is_said() -> None:
    other = observed("two")
    worded = replace(other, protocol=replace(other.protocol, scope="Worded otherwise."))

    assert "The wording of the protocol differs between the two, though its version does not." in under(
        "", compare(observed("one"), worded)
    )


def test_who_observed_whom_is_said_in_codes() -> None:
    assert under("", compare(observed("one"), observed("two", observer="")))[1:] == [
        "A: observer O-one on examiner E-02, participant P-014, 2026-03-02, session one.",
        "B: an observer without a code on examiner E-02, participant P-014, 2026-03-02, session two.",
    ]


# ------------------------------------------------------------------ refused


def test_the_same_session_twice_is_refused() -> None:
    with pytest.raises(ComparisonError, match=r"^both are the session one; name two$"):
        compare(observed("one"), observed("one"))


@pytest.mark.parametrize(
    ("change", "named"),
    [({"version": "0.4.0"}, "ears-and-neck 0.4.0"), ({"id": "ears"}, "ears 0.3.0")],
)
def test_different_protocols_are_refused_and_both_are_named(change: dict[str, Any], named: str) -> None:
    other = observed("two")
    changed = replace(other, protocol=replace(other.protocol, **change))

    with pytest.raises(ComparisonError) as refused:
        compare(observed("one"), changed)
    assert str(refused.value) == (
        f"the sessions are of different protocols: ears-and-neck 0.3.0 and {named}; name two of one"
    )


def test_different_steps_under_the_same_version_are_refused() -> None:
    other = observed("two")
    fewer = replace(other.protocol, sections=other.protocol.sections[:-1])

    with pytest.raises(ComparisonError, match="have different steps, though both say ears-and-neck"):
        compare(observed("one"), replace(other, protocol=fewer))


def test_a_mode_that_is_not_known_is_refused() -> None:
    with pytest.raises(ComparisonError, match="mode 'rehearsal' cannot be compared"):
        compare(observed("one"), observed("two", mode="rehearsal"))


# ------------------------------------------------------------------ command


def recorded(folder: Path, **preparation: Any) -> Recorder:
    from checklist.protocol.library import load_table

    prepared = Preparation(participant="P-014", examiner="E-02", **preparation)
    return begin(load_table(GOLDEN / "ears-and-neck.toml"), prepared, MACHINE, folder)


@pytest.fixture
def two_files(tmp_path: Path) -> tuple[str, str]:
    """The examinee's own record and an observer's, of which each has one step."""
    own, other = recorded(tmp_path), recorded(tmp_path, mode="observation", observer="O-1")
    own.record("hands", same("whole"))
    other.mark("hands", "not done", "went past the basin")
    for recorder in (own, other):
        recorder.finish()
        recorder.leave()
    names = [f"{recorder.session.header.id}.toml" for recorder in (own, other)]
    return str(tmp_path / names[0]), str(tmp_path / names[1])


def test_the_command_prints_the_comparison(
    two_files: tuple[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["compare", *two_files, "--width", "120"]) == 0

    assert "- Clean hands – A: done; B: not done: went past the basin." in capsys.readouterr().out


def test_the_command_writes_markdown_into_a_new_file(two_files: tuple[str, str], tmp_path: Path) -> None:
    written = tmp_path / "compared.md"

    assert main(["compare", *two_files, "--markdown", "--output", str(written)]) == 0
    assert "\n# Ears and neck: two records compared\n" in written.read_text(encoding="utf-8")


def test_markdown_holds_the_same_blocks() -> None:
    document = comparison(compare(first_record(), second_record()))

    assert [line for line in markdown(document).splitlines() if line.startswith("## ")] == [
        "## AGREEMENT",
        "## TIME",
        "## DIFFERENT",
        "## SAME OUTCOME, OTHERWISE RECORDED",
        "## LEFT OUT",
        "## HOW TO READ THE FIGURES",
    ]


def test_the_command_refuses_one_file_twice_in_one_line(
    two_files: tuple[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["compare", two_files[0], two_files[0]]) == 1

    said = capsys.readouterr()
    assert said.out == ""
    assert said.err == f"checklist: both are the session {Path(two_files[0]).stem}; name two\n"


def test_the_command_says_which_file_cannot_be_read(
    two_files: tuple[str, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    foreign = tmp_path / "foreign.toml"
    foreign.write_text('title = "something else"\n', encoding="utf-8")

    assert main(["compare", two_files[0], str(foreign)]) == 1
    said = capsys.readouterr().err
    assert said == f"checklist: {foreign}: not a session file, or its first part is damaged\n"
