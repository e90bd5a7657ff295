"""Opens the full-screen app: at home, at the preparation, or where a session stood."""

import gc
import os
import sys
from argparse import Namespace
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from checklist.errors import ChecklistError
from checklist.text import one_line, same_code

if TYPE_CHECKING:
    from checklist.practice.tasks import Wish
    from checklist.protocol.model import Protocol
    from checklist.session.recorder import Recorder
    from checklist.tui.app import ChecklistApp, Surroundings
    from checklist.tui.screen import DrawnScreen


class NoTerminalError(ChecklistError):
    """The app was asked for where there is no terminal to show it in."""


def home(_: Namespace) -> int:
    """Open the app at home."""

    def first(app: "ChecklistApp") -> "DrawnScreen":  # noqa: ARG001
        from checklist.tui.home import HomeScreen

        return HomeScreen()

    _hurry()
    return _run(first, _surroundings())


def examine(args: Namespace) -> int:
    """Open the app at the preparation of a protocol, or with `--begin` at its first step."""
    from checklist.session.session import EXAMINATION

    return _open(args, EXAMINATION, ("participant", "examiner"))


def observe(args: Namespace) -> int:
    """Open the app to mark how somebody else examines: at the preparation, or with `--begin` at once."""
    from checklist.session.session import OBSERVATION

    return _open(args, OBSERVATION, ("examiner", "observer"))


def rehearse(args: Namespace) -> int:
    """Begin a rehearsal by recall: no patient, no preparation; what is asked is written into its header."""
    from secrets import token_hex

    from checklist.practice.rehearsing import begin_recall
    from checklist.practice.tasks import task
    from checklist.protocol.library import find, load_table

    _hurry()
    loaded = load_table(find(args.protocol))
    wanted = task(loaded.protocol, _wish(args, loaded.protocol), token_hex())
    examiner = _code("examiner", one_line(args.examiner), is_begun=bool(args.examiner))
    surroundings = _surroundings()
    return _run(_examining(begin_recall(loaded, wanted, examiner)), surroundings)


def patient(args: Namespace) -> int:
    """Begin a rehearsal with a simulated patient: of a case file, or made from a seed."""
    from checklist.practice.library import find as find_case
    from checklist.practice.rehearsing import begin_patient, patient_of_case, patient_of_seed
    from checklist.protocol.library import find, load_table

    _hurry()
    loaded = load_table(find(args.protocol))
    examiner = _code("examiner", one_line(args.examiner), is_begun=bool(args.examiner))
    if args.case:
        chosen = patient_of_case(loaded.protocol, find_case(args.case))
    else:
        chosen = patient_of_seed(loaded.protocol, args.seed)
    surroundings = _surroundings()
    return _run(_examining(begin_patient(loaded, chosen, examiner)), surroundings)


def _wish(args: Namespace, protocol: "Protocol") -> "Wish":
    """Return what the options ask for; some of them do not go together."""
    from checklist.practice.rehearsal import CONTENT, GAPS, LEFT_OUT, ORDER
    from checklist.practice.rehearsing import missed_in
    from checklist.practice.tasks import Wish

    given = [name for name in ("content", "left_out", "gaps", "begin_at") if getattr(args, name)]
    if len(given) > 1:
        options = {"left_out": "--left-out", "begin_at": "--from"}
        names = " and ".join(options.get(name, f"--{name}") for name in given)
        raise ChecklistError(f"{names} do not go together")
    kinds = {"content": CONTENT, "left_out": LEFT_OUT, "gaps": GAPS}
    return Wish(
        kind=kinds.get(given[0], ORDER) if given else ORDER,
        section=args.section,
        begin_at=args.begin_at,
        around=missed_in(args.gaps, protocol, args.section) if args.gaps else (),
        is_typed=args.typed,
    )


def _open(args: Namespace, mode: str, needed: Sequence[str]) -> int:
    from checklist.protocol.library import find, load_table

    _hurry()
    loaded = load_table(find(args.protocol))
    answered: dict[str, Any] = {
        **_codes(args, needed),
        "age": _age(args.age, loaded.protocol.audience.ages),
        "setting": args.setting,
        "mode": mode,
        "assessed": args.assessed,
    }
    surroundings = _surroundings()
    if args.begin:
        from checklist.session.opening import Preparation, begin

        return _run(_examining(begin(loaded, Preparation(**answered))), surroundings)

    def first(app: "ChecklistApp") -> "DrawnScreen":  # noqa: ARG001
        from checklist.tui.prepare import Answers, PrepareScreen

        return PrepareScreen(loaded, Answers(**answered))

    return _run(first, surroundings)


def _codes(args: Namespace, needed: Sequence[str]) -> dict[str, str]:
    """Return the codes given; without those that are needed nothing can begin."""
    given = {
        kind: one_line(getattr(args, kind))
        for kind in ("participant", "examiner", "observer")
        if hasattr(args, kind)
    }
    if args.begin and not all(given[kind] for kind in needed):
        options = " and ".join(f"--{kind}" for kind in needed)
        raise ChecklistError(f"--begin needs {options}, each a made-up code")
    if args.begin and "observer" in needed and same_code(given["observer"], given["examiner"]):
        raise ChecklistError("the observer code is the examiner code; an observer marks somebody else")
    return {kind: _code(kind, code, args.begin) for kind, code in given.items()}


def _code(kind: str, code: str, is_begun: bool) -> str:
    """Return a code as the preparation would take it; what it would ask about once more cannot begin."""
    from checklist.session.opening import CODE_LENGTH

    if len(code) > CODE_LENGTH:
        raise ChecklistError(f"{kind} code has {len(code)} characters (at most {CODE_LENGTH})")
    from checklist.identity import identity_warning

    if is_begun and (warning := identity_warning(code)):
        advice = "use a made-up code such as P-014, or prepare without --begin"
        raise ChecklistError(f"{kind} code {warning}; {advice}")
    return code


def _age(text: str, bands: Sequence[str]) -> str:
    age = one_line(text)
    if age and bands and age not in bands:
        known = ", ".join(f"'{band}'" for band in bands)
        raise ChecklistError(f"'{age}' is no age band of this protocol; it has {known}")
    return age


def resume(args: Namespace) -> int:
    """Open the app where an unfinished session stood."""
    from checklist.session import opening, store
    from checklist.session.session import EXAMINATION, REHEARSAL

    _hurry()
    path = store.find(args.session) if args.session else _latest_unfinished()
    loaded = store.load(path)
    if loaded.session.state.finished_at:
        mode = loaded.session.header.mode
        if mode == REHEARSAL:
            raise ChecklistError(f"{path.name} is finished; 'checklist' opens it and says how it went")
        reads = "note" if mode == EXAMINATION else "debrief"
        raise ChecklistError(f"{path.name} is finished; 'checklist {reads}' reads it")
    surroundings = _surroundings()
    from checklist.tui.app import check_can_go_on

    check_can_go_on(loaded.session)
    return _run(_examining(opening.resume(path, loaded=loaded)), surroundings)


def amend(args: Namespace) -> int:
    """Open the app at the steps of a finished session, for late entries and corrections."""
    from checklist.session import closing, store

    _hurry()
    path = store.find(args.session) if args.session else closing.latest_finished()
    closing.demand_amendable(path)
    surroundings = _surroundings()
    recorder = closing.reopened_to_amend(path)

    def first(app: "ChecklistApp") -> "DrawnScreen":
        from checklist.tui.amend import AmendScreen

        app.recorder = recorder
        return AmendScreen(recorder)

    return _run(first, surroundings)


def _latest_unfinished() -> Path:
    from checklist.session import store

    for summary in store.summaries():
        if not summary.is_finished and not summary.problem:
            return summary.path
    raise ChecklistError("there is no unfinished session; 'checklist' begins one")


def _examining(recorder: "Recorder") -> "Callable[[ChecklistApp], DrawnScreen]":
    def first(app: "ChecklistApp") -> "DrawnScreen":
        from checklist.tui.app import screen_of

        app.recorder = recorder
        return screen_of(recorder)

    return first


def _has_terminal() -> bool:
    return sys.stdin.isatty() and sys.stdout.isatty() and os.environ.get("TERM") != "dumb"


def _hurry() -> None:
    """Put collections off till the app runs: during start-up nothing is garbage, so they only cost time."""
    if _has_terminal():
        gc.disable()


def _surroundings() -> "Surroundings":
    """Return what the app needs, before anything is written: a terminal, and settings that can be used."""
    if not _has_terminal():
        raise NoTerminalError(
            "the app needs a terminal; 'checklist note', 'timeline', 'demo' and 'protocol' work without one"
        )
    from checklist import settings
    from checklist.session import opening
    from checklist.tui.app import Surroundings
    from checklist.tui.keys import KeySettingError, remapped
    from checklist.tui.views import VIEWS

    chosen = settings.load()
    try:
        views = remapped(VIEWS, chosen.keys)
    except KeySettingError as error:
        raise settings.SettingsError(f"{chosen.path}: {error}") from None
    return Surroundings(clocks=opening.MACHINE, views=views)


def _run(first: "Callable[[ChecklistApp], DrawnScreen]", surroundings: "Surroundings") -> int:
    from checklist.tui.app import ChecklistApp

    app = ChecklistApp(first, surroundings)
    app.run(mouse=False)
    return app.return_code or 0
