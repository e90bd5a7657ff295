"""Opens the full-screen app: at home, at the preparation, or where a session stood."""

import gc
import os
import sys
from argparse import Namespace
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from checklist.errors import ChecklistError

if TYPE_CHECKING:
    from checklist.session.recorder import Recorder
    from checklist.tui.app import ChecklistApp
    from checklist.tui.screen import DrawnScreen


class NoTerminalError(ChecklistError):
    """The app was asked for where there is no terminal to show it in."""


def home(_: Namespace) -> int:
    """Open the app at home."""

    def first(app: "ChecklistApp") -> "DrawnScreen":  # noqa: ARG001
        from checklist.tui.home import HomeScreen

        return HomeScreen()

    return _run(first)


def examine(args: Namespace) -> int:
    """Open the app at the preparation of a protocol, or with `--begin` at its first step."""
    from checklist.protocol.library import find, load_table

    _demand_terminal()
    loaded = load_table(find(args.protocol))
    if args.begin:
        if not (args.participant and args.examiner):
            raise ChecklistError("--begin needs --participant and --examiner, each a made-up code")
        from checklist.session.opening import Preparation, begin

        preparation = Preparation(
            participant=args.participant, examiner=args.examiner, age=args.age, setting=args.setting
        )
        return _run(_examining(begin(loaded, preparation)))

    def first(app: "ChecklistApp") -> "DrawnScreen":  # noqa: ARG001
        from checklist.tui.prepare import Answers, PrepareScreen

        answers = Answers(
            participant=args.participant, examiner=args.examiner, age=args.age, setting=args.setting
        )
        return PrepareScreen(loaded, answers)

    return _run(first)


def resume(args: Namespace) -> int:
    """Open the app where an unfinished session stood."""
    from checklist.session import opening, store

    _demand_terminal()
    path = store.find(args.session) if args.session else _latest_unfinished()
    loaded = store.load(path)
    if loaded.session.state.finished_at:
        raise ChecklistError(f"{path.name} is finished; 'checklist note' reads it")
    return _run(_examining(opening.resume(path, loaded=loaded)))


def _latest_unfinished() -> Path:
    from checklist.session import store

    for summary in store.summaries():
        if not summary.is_finished and not summary.problem:
            return summary.path
    raise ChecklistError("there is no unfinished session; 'checklist' begins one")


def _examining(recorder: "Recorder") -> "Callable[[ChecklistApp], DrawnScreen]":
    def first(app: "ChecklistApp") -> "DrawnScreen":
        from checklist.tui.examine import ExamineScreen

        app.recorder = recorder
        return ExamineScreen(recorder)

    return first


def _demand_terminal() -> None:
    if not (sys.stdin.isatty() and sys.stdout.isatty()) or os.environ.get("TERM") == "dumb":
        raise NoTerminalError(
            "the app needs a terminal; 'checklist note', 'timeline', 'demo' and 'protocol' work without one"
        )
    # Collections during start-up only cost time: nothing made then is garbage. The app turns them on again.
    gc.disable()


def _run(first: "Callable[[ChecklistApp], DrawnScreen]") -> int:
    _demand_terminal()
    from checklist import settings
    from checklist.session import opening
    from checklist.tui.app import ChecklistApp, Surroundings
    from checklist.tui.keys import VIEWS, KeySettingError, remapped

    chosen = settings.load()
    try:
        views = remapped(VIEWS, chosen.keys)
    except KeySettingError as error:
        raise settings.SettingsError(f"{chosen.path}: {error}") from None
    app = ChecklistApp(first, Surroundings(clocks=opening.MACHINE, views=views))
    app.run(mouse=False)
    return app.return_code or 0
