"""A simulated patient on the examining screen: look, record, say what must be told, see what was there."""

from collections.abc import Awaitable, Callable
from dataclasses import replace
from pathlib import Path

import pytest

from checklist.cli import main
from checklist.errors import ChecklistError
from checklist.practice.case_score import Fate, Speed, score
from checklist.practice.cases import Case
from checklist.practice.library import bundled_cases, case_of, load, own_cases, own_descriptions, stamped
from checklist.protocol.library import load_table
from checklist.session import store
from checklist.session.opening import Preparation, begin, resume
from checklist.session.session import REHEARSAL, Session
from checklist.session.state import Stage
from checklist.tui.app import ChecklistApp, reading_screen, screen_of
from checklist.tui.patient import PatientScreen
from checklist.tui.screen import DrawnScreen
from tests.desk import HEAD_AND_NECK, LARGE, SMALL, Desk, Seat, desk

__all__ = ["desk"]

CASE = load(bundled_cases() / "quiet-left-ear.toml")


def sitting(
    desk: Desk,
    scenario: Callable[[Seat], Awaitable[None]],
    case: str = "quiet-left-ear",
    step: str = "",
    size: tuple[int, int] = SMALL,
) -> Session:
    """Begin with a simulated patient at a step, play a scenario, and return what the file then holds."""
    preparation = Preparation(participant="", examiner="S-07", mode=REHEARSAL, task="patient", case=case)
    recorder = begin(load_table(HEAD_AND_NECK), preparation, desk.time.clocks)
    if step:
        recorder.go(step)

    def first(app: ChecklistApp) -> DrawnScreen:
        app.recorder = recorder
        return screen_of(recorder)

    desk.run(first, scenario, size)
    return store.load(recorder.path).session


def records(session: Session, step: str) -> dict[str, tuple[str, tuple[str, ...]]]:
    of_step = session.state.records.get(step, {})
    return {key: (str(record.result.outcome), record.result.findings) for key, record in of_step.items()}


class TestLooking:
    def test_what_is_there_is_shown_by_a_key_and_not_before(self, desk: Desk) -> None:
        async def scenario(seat: Seat) -> None:
            assert "hums over here" not in seat.text("body")
            await seat.press("l")
            assert "It shows  Points to the left ear: “It hums over here”" in seat.text("body")

        sitting(desk, scenario, step="test-weber")

    def test_each_side_shows_its_own(self, desk: Desk) -> None:
        async def scenario(seat: Seat) -> None:
            await seat.press("l")
            body = seat.text("body")
            assert "You see   right: Skin pink and smooth" in body
            assert "left: Dark brown, dull mass" in body

        sitting(desk, scenario, step="inspect-ear-canals", size=LARGE)

    def test_of_many_places_only_what_is_not_as_elsewhere_stands_alone(self, desk: Desk) -> None:
        self._own('step = "test-face-light-touch"\nside = "left"\nsite = "chin"\nfinding = "absent"')

        async def scenario(seat: Seat) -> None:
            await seat.press("l")
            body = seat.text("body")
            assert body.index("It shows  left chin: ") < body.index("elsewhere: ")
            assert "right cheek: " not in body.partition("elsewhere: ")[0]
            assert "more lines below" not in body

        sitting(desk, scenario, case="own", step="test-face-light-touch")

    def test_the_label_of_a_finding_is_not_shown_when_it_is_described(self, desk: Desk) -> None:
        self._own('step = "smile"\nside = "left"\nfinding = "weak"')

        async def scenario(seat: Seat) -> None:
            await seat.press("l")
            shown, _, choices = seat.text("body").partition("Smile and show teeth")
            assert "left: " in shown
            assert "Rises less than the other side" not in shown
            assert "Rises less than the other side" in choices

        sitting(desk, scenario, case="own", step="smile")

    def test_own_descriptions_that_are_broken_are_said_to_be(self, desk: Desk) -> None:
        own = own_descriptions() / "head-and-neck.toml"
        own.parent.mkdir(parents=True)
        own.write_text("[[", encoding="utf-8")

        async def scenario(seat: Seat) -> None:
            assert "cannot be used; 'checklist case check' says why" in " ".join(seat.text("speak").split())

        sitting(desk, scenario, size=(200, 40))

    def _own(self, truth: str) -> None:
        """Keep a case called `own` with one truth."""
        own_cases().mkdir(parents=True)
        top = 'format = 1\nid = "own"\ntitle = "Own"\nprotocol = "head-and-neck"\nstory = "Nobody."\n'
        (own_cases() / "own.toml").write_text(f"{top}[[truth]]\n{truth}\n", encoding="utf-8")

    @pytest.mark.parametrize("key", ["space", "d", "2", "e"])
    def test_nothing_is_recorded_before_looking(self, desk: Desk, key: str) -> None:
        async def scenario(seat: Seat) -> None:
            await seat.press(key)
            assert "hums over here" in seat.text("body"), "the key looks first"
            assert seat.place == "step"

        assert records(sitting(desk, scenario, step="test-weber"), "test-weber") == {}

    def test_then_the_learner_records_as_usual(self, desk: Desk) -> None:
        async def scenario(seat: Seat) -> None:
            await seat.press("l", "3", "enter")

        session = sitting(desk, scenario, step="test-weber")

        assert records(session, "test-weber") == {"whole": ("differs", ("left",))}

    def test_a_step_that_only_acts_has_nothing_to_look_at(self, desk: Desk) -> None:
        async def scenario(seat: Seat) -> None:
            assert "what there is to find" not in seat.text("body")
            await seat.press("space")

        session = sitting(desk, scenario)

        assert records(session, "clean-hands-before") == {"whole": ("as expected", ())}

    def test_a_step_that_cannot_be_done_needs_no_look(self, desk: Desk) -> None:
        async def scenario(seat: Seat) -> None:
            await seat.press("x", "1")

        session = sitting(desk, scenario, step="test-weber")

        assert records(session, "test-weber")["whole"][0] == "not examined"


def _urgencies(seat: Seat) -> list[str]:
    """Return the lines of the screen that end with how fast something is told."""
    lines = [line.rstrip() for line in seat.text("body").splitlines()]
    return [line for line in lines if line.endswith((" report", "AT ONCE"))]


class TestWhatIsHidden:
    def test_how_fast_and_what_belongs_together_are_not_said_before_the_end(self, desk: Desk) -> None:
        async def scenario(seat: Seat) -> None:
            assert not _urgencies(seat)
            await seat.press("l", "3")
            assert not _urgencies(seat)
            await seat.press("enter")
            await seat.press("l", "2", "l", "enter")
            assert "told" not in seat.text("speak")
            assert "pattern" not in seat.text()
            await seat.press("g")
            assert "pattern" not in seat.text()

        sitting(desk, scenario, step="test-weber")

    def test_a_reading_out_of_range_is_said_without_how_fast_it_is_told(self, desk: Desk) -> None:
        async def scenario(seat: Seat) -> None:
            await seat.press("l", "enter")
            await seat.type("24")
            assert seat.place == "sheet"
            assert "Range" in seat.text("body")
            assert not _urgencies(seat)
            assert "How fast" not in seat.text("body")

        sitting(desk, scenario, step="measure-jaw-opening")

    def test_the_screen_says_that_the_patient_is_simulated_and_which(self, desk: Desk) -> None:
        async def scenario(seat: Seat) -> None:
            assert "quiet-left-ear   SIMULATED PATIENT" in seat.text("head")

        sitting(desk, scenario, size=LARGE)

    def test_the_story_stands_at_the_first_step(self, desk: Desk) -> None:
        async def scenario(seat: Seat) -> None:
            assert "says that the left one has felt blocked" in " ".join(seat.text("body").split())
            await seat.press("right")
            assert "felt blocked" not in seat.text()

        sitting(desk, scenario)

    @pytest.mark.parametrize("size", [SMALL, LARGE])
    def test_a_step_fits_the_window_after_a_look(self, desk: Desk, size: tuple[int, int]) -> None:
        async def scenario(seat: Seat) -> None:
            await seat.press("l")
            assert "Record" in seat.text("body")
            assert "more lines below" not in seat.text("body")

        sitting(desk, scenario, step="test-rinne", size=size)


class TestTheEnd:
    async def _examine(self, seat: Seat) -> None:
        """Find the fork on the left, call Rinne turned on the wrong side, and leave the rest."""
        await seat.press("l", "3", "enter")
        await seat.press("l", "2", "r", "enter")

    def test_the_learner_says_what_must_be_told_and_sees_what_was_there(self, desk: Desk) -> None:
        async def scenario(seat: Seat) -> None:
            await self._examine(seat)
            await seat.press("w")
            assert "Who was told" not in seat.text("body")
            await seat.press("y")
            assert seat.place == "decide"
            assert "Louder on the left" in seat.text("body")
            await seat.press("r")
            assert "before leaving" in seat.text("body")
            await seat.press("y")
            assert "1 left open, which count as not told. y again finishes" in seat.text("speak")
            await seat.press("y")
            body = seat.text("body")
            assert "In figures" in body
            assert "found: 1 of 7" in body, "four eardrum views are hidden by the wax; two things are decoys"

        session = sitting(desk, scenario, step="test-weber", size=LARGE)
        found = score(session, CASE)

        assert session.state.stage is Stage.FINISHED
        fates = {item.there.step.id: item.fate for item in found.items}
        assert fates["test-weber"] is Fate.FOUND
        assert fates["test-rinne"] is Fate.OTHER_SIDE
        assert fates["ask-hearing"] is Fate.NOT_EXAMINED
        assert {each.aim.steps: each.speed for each in found.tellings} == {
            ("ask-hearing",): Speed.NOT_RECORDED,
            # What the forks mean is told with any of them.
            ("inspect-ear-canals", "test-whispered-voice", "test-weber", "test-rinne"): Speed.RIGHT,
        }

    def test_with_nothing_found_there_is_nothing_to_decide(self, desk: Desk) -> None:
        async def scenario(seat: Seat) -> None:
            await seat.press("w", "y")
            assert "found: 0 of 7" in seat.text("body")

        assert sitting(desk, scenario, size=LARGE).state.stage is Stage.FINISHED

    def test_the_report_is_read_again_and_printed(
        self, desk: Desk, capsys: pytest.CaptureFixture[str]
    ) -> None:
        async def scenario(seat: Seat) -> None:
            await self._examine(seat)
            await seat.press("w", "y", "a", "r", "y")

        session = sitting(desk, scenario, step="test-weber")

        assert main(["debrief", session.header.id]) == 0
        assert "Weber test: Louder on the left – found." in capsys.readouterr().out
        assert main(["note", session.header.id]) == 1, "no patient's note comes of it"

    @pytest.mark.parametrize(
        "command",
        [
            ["timeline"],
            *(["export", "--as", form] for form in ("csv-events", "csv-items", "vtt", "fhir", "html")),
        ],
    )
    def test_no_record_of_an_examination_comes_of_it(
        self, desk: Desk, capsys: pytest.CaptureFixture[str], command: list[str]
    ) -> None:
        async def scenario(seat: Seat) -> None:
            await seat.press("w", "y")

        session = sitting(desk, scenario)
        capsys.readouterr()

        assert main([*command, session.header.id]) == 1
        printed = capsys.readouterr()
        assert printed.out == ""
        (line,) = printed.err.splitlines()
        assert "a rehearsal " in line
        assert line.endswith("'checklist debrief' prints how it went")

    def test_is_not_read_from_home_before_it_is_finished(self, desk: Desk) -> None:
        async def leave(seat: Seat) -> None:
            await seat.press("q")
            chosen = ""
            for _ in seat.text("body").splitlines():
                chosen = next(line for line in seat.text("body").splitlines() if "▸" in line)
                if "simulated patient, " in chosen:
                    break
                await seat.press("up")
            assert "simulated patient, " in chosen
            for key in ("n", "t"):
                await seat.press(key)
                assert seat.place == "home"
                assert "Not finished; Enter takes it up." in seat.text("speak")

        assert sitting(desk, leave, size=LARGE).state.stage is not Stage.FINISHED


class TestTakingUpAgain:
    def test_a_rehearsal_goes_on_with_the_same_patient(self, desk: Desk) -> None:
        async def leave(seat: Seat) -> None:
            await seat.press("q")

        session = sitting(desk, leave, case="seed 42")
        path = store.find(session.header.id)
        recorder = resume(path, desk.time.clocks)
        screen = screen_of(recorder)
        recorder.leave()

        assert isinstance(screen, PatientScreen)
        assert screen.case == case_of(session)

    def test_a_case_that_is_gone_is_said_in_one_line(self, desk: Desk) -> None:
        async def nothing(seat: Seat) -> None:
            await seat.press("q")

        session = sitting(desk, nothing)
        gone = Session(
            header=session.header.__class__(
                **{
                    each: getattr(session.header, each)
                    for each in session.header.__dataclass_fields__
                    if each != "case"
                },
                case="thrown-away",
            ),
            protocol=session.protocol,
            table=session.table,
        )

        with pytest.raises(
            Exception, match="the case 'thrown-away' is not on this computer; put its file into"
        ):
            reading_screen(gone, None)

    def test_an_own_case_is_found_by_its_id(self, desk: Desk) -> None:
        own_cases().mkdir(parents=True)
        text = (bundled_cases() / "quiet-left-ear.toml").read_text(encoding="utf-8")
        own: Path = own_cases() / "my-case.toml"
        own.write_text(text.replace('"quiet-left-ear"', '"my-case"'), encoding="utf-8")

        async def scenario(seat: Seat) -> None:
            await seat.press("l")
            assert "hums over here" in seat.text("body")

        session = sitting(desk, scenario, case="my-case", step="test-weber")

        found: Case = case_of(session)
        assert found.id == "my-case"


def test_a_case_that_is_another_one_by_now_is_not_taken_for_the_one_shown(desk: Desk) -> None:
    async def leave(seat: Seat) -> None:
        await seat.press("q")

    session = sitting(desk, leave, case="seed 42")
    case = case_of(session)
    same, other = (
        replace(session, header=replace(session.header, case=named))
        for named in (stamped("seed 42", case), "seed 42 #00000000")
    )

    assert case_of(same) == case
    with pytest.raises(ChecklistError) as caught:
        case_of(other)
    assert str(caught.value) == (
        "the simulated patient 'seed 42' is no longer the one shown: another version of the program made it"
    )
