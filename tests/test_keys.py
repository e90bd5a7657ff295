"""Keys are declared once: each can be done, none means two things, and settings can move them."""

from pathlib import Path

import pytest
from textual.events import Key

from checklist import settings
from checklist.folders import config_folder
from checklist.tui.amend import AmendScreen
from checklist.tui.examine import ExamineScreen
from checklist.tui.history import HistoryScreen
from checklist.tui.home import HomeScreen
from checklist.tui.keys import KeySettingError, View, markdown_table, meaning, remapped
from checklist.tui.note import NoteScreen
from checklist.tui.observe import ObserveScreen
from checklist.tui.patient import PatientScreen
from checklist.tui.prepare import PrepareScreen
from checklist.tui.rehearsals import RehearsalsScreen
from checklist.tui.rehearse import RehearseScreen
from checklist.tui.rehearsed import RehearsedScreen
from checklist.tui.views import VIEWS
from tests.desk import Desk, Seat, desk

__all__ = ["desk"]

SCREENS = {
    "amend_list": AmendScreen,
    "amend": AmendScreen,
    "home": HomeScreen,
    "prepare": PrepareScreen,
    "note": NoteScreen,
    "read": HistoryScreen,
    "observe": ObserveScreen,
    "patient": PatientScreen,
    "decide": PatientScreen,
    "recall": RehearseScreen,
    "recall_answer": RehearseScreen,
    "recall_back": RehearseScreen,
    "recall_finish": RehearseScreen,
    "recall_typing": RehearseScreen,
    "rehearsals": RehearsalsScreen,
    "rehearsed": RehearsedScreen,
    "marking": ObserveScreen,
    "unmarked": ObserveScreen,
}


@pytest.mark.parametrize("view", VIEWS, ids=lambda view: view.id)
def test_every_key_can_be_done_on_its_screen(view: View) -> None:
    screen = SCREENS.get(view.id, ExamineScreen)

    for key in view.keys:
        assert callable(getattr(screen, f"do_{key.id}")), f"{view.id}.{key.id}"


@pytest.mark.parametrize("view", VIEWS, ids=lambda view: view.id)
def test_no_key_means_two_things_in_one_view(view: View) -> None:
    pressed = [each for key in view.keys for each in key.keys]

    assert len(pressed) == len(set(pressed))


def test_the_common_things_take_one_unshifted_key() -> None:
    step = next(view for view in VIEWS if view.id == "step")

    assert meaning(step, "space") == "expected"
    assert meaning(step, "pagedown") == "expected", "a clicker or pedal sends this"
    for key in step.keys:
        assert any(each == each.lower() for each in key.keys), key.id


def test_escape_always_has_a_second_key() -> None:
    """In many terminals Escape is only understood after a tenth of a second."""
    for view in VIEWS:
        for key in view.keys:
            if "escape" in key.keys and view.id not in {"typing", "search", "reading"}:
                assert len(key.keys) > 1, f"{view.id}.{key.id}"


def test_a_setting_moves_a_key() -> None:
    views = {view.id: view for view in remapped(VIEWS, {"step.differs": ("j",)})}

    assert meaning(views["step"], "j") == "differs"
    assert meaning(views["step"], "d") == ""


@pytest.mark.parametrize(
    ("name", "keys", "message"),
    [
        ("step.difers", ("j",), "unknown key name 'step.difers' (did you mean 'step.differs'?)"),
        ("step.differs", ("x",), "'x' would mean both 'step.differs' and 'step.not_examined'"),
        ("step.finding", ("j",), "the keys of 'step.finding' cannot be moved"),
        ("typing.accept", ("j",), "the keys of 'typing.accept' cannot be moved"),
        ("step.leave", (), "'step.leave' needs at least one key"),
        (
            "step.told",
            ("tt",),
            "'tt' of 'step.told' is no key; a key is one character, or a name such as 'space' or 'f2'",
        ),
        (
            "step.told",
            ("ctrl+q",),
            "'ctrl+q' of 'step.told' is no key; a key is one character, or a name such as 'space' or 'f2'",
        ),
    ],
)
def test_a_setting_that_cannot_be_used_is_refused(name: str, keys: tuple[str, ...], message: str) -> None:
    with pytest.raises(KeySettingError) as caught:
        remapped(VIEWS, {name: keys})

    assert str(caught.value) == message


def test_all_that_is_wrong_with_settings_is_said_at_once() -> None:
    with pytest.raises(KeySettingError, match=r"^unknown .*; 'step\.leave' needs at least one key$"):
        remapped(VIEWS, {"step.nothing_like_it": ("j",), "step.leave": ()})


def test_a_character_can_be_a_key_though_the_terminal_gives_it_a_name(desk: Desk) -> None:
    desk.views = remapped(VIEWS, {"step.differs": (",",)})

    async def scenario(seat: Seat) -> None:
        seat.app.post_message(Key("comma", ","))
        await seat.pilot.pause()
        assert seat.place == "sheet"

    desk.examine(scenario)


def test_texts_name_the_keys_as_they_are_set(desk: Desk) -> None:
    desk.views = remapped(VIEWS, {"step.told": ("b",), "step.help": ("k",)})

    async def scenario(seat: Seat) -> None:
        await seat.press("space", "3", "r", "space")
        assert "b when told" in seat.text("speak")
        await seat.press("z")
        assert "k shows the keys" in seat.text("speak")

    desk.examine(scenario)


def test_moved_keys_work_and_the_footer_shows_them(desk: Desk) -> None:
    desk.views = remapped(VIEWS, {"step.expected": ("j",)})

    async def scenario(seat: Seat) -> None:
        assert "j as expected" in seat.text("foot")
        await seat.press("space")
        assert "does nothing here" in seat.text("speak")
        await seat.press("j")

    assert desk.examine(scenario).state.current == "look"


def test_the_readme_lists_the_keys_as_declared() -> None:
    readme = (Path(__file__).parent.parent / "README.md").read_text(encoding="utf-8")

    assert markdown_table(VIEWS) in readme


def write_settings(text: str) -> None:
    config_folder().mkdir(parents=True, exist_ok=True)
    (config_folder() / "config.toml").write_text(text, encoding="utf-8")


def test_settings_name_keys_by_view_and_id(desk: Desk) -> None:
    write_settings('[keys]\n"step.differs" = ["j", "o"]\n')

    assert settings.load().keys == {"step.differs": ("j", "o")}


def test_without_a_settings_file_there_are_no_settings(desk: Desk) -> None:
    assert settings.load().keys == {}


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("[keys\n", "not valid TOML"),
        ("keys = 3\n", "'keys' must be a table"),
        ("[kyes]\n", "unknown key 'kyes'; the one table known is [keys]"),
        ('[keys]\n"step.differs" = "d"\n', 'keys.step.differs must be a list of keys, such as ["d"]'),
    ],
)
def test_bad_settings_are_explained(desk: Desk, text: str, message: str) -> None:
    write_settings(text)

    with pytest.raises(settings.SettingsError) as caught:
        settings.load()

    assert message in str(caught.value)
    assert "config.toml" in str(caught.value)


def test_the_help_is_always_in_the_footer_of_a_step(desk: Desk) -> None:
    """Even when more keys are of use than there is room for."""
    loaded = desk.loaded()

    async def scenario(seat: Seat) -> None:
        await seat.press("space", "2", "r", "enter")
        for wanted in ("space as expected", "v not seen", "u undo", "? keys", "q leave"):
            assert wanted in seat.text("foot")

    desk.examine(scenario, loaded)
    desk.examine(scenario, loaded, size=(60, 20))
