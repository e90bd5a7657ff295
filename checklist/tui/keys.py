"""Every key of the app, declared once: the footer, the help and the README's table come from here.

A view is a state of the screen in which keys have one meaning.
Imports nothing of Textual, so that the table can be printed without it.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

DIGITS = tuple("123456789")
SITE_LETTERS = tuple("abcdefghij")


@dataclass(frozen=True, kw_only=True, slots=True)
class Key:
    """One thing that can be done in one view."""

    id: str
    keys: tuple[str, ...]
    label: str
    """As short as the footer needs."""
    help: str
    shown: bool = True
    """Whether the footer shows it; the help shows all."""
    fixed: bool = False
    """Whether its keys stand on the screen as numbers or letters, so that settings cannot move them."""


@dataclass(frozen=True, kw_only=True, slots=True)
class View:
    """A named set of keys."""

    id: str
    title: str
    keys: tuple[Key, ...]


def _key(id_: str, keys: str, label: str, help_: str, shown: bool = True) -> Key:
    return Key(id=id_, keys=tuple(keys.split()), label=label, help=help_, shown=shown)


def _fixed(id_: str, keys: Sequence[str], label: str, help_: str, shown: bool = True) -> Key:
    return Key(id=id_, keys=tuple(keys), label=label, help=help_, shown=shown, fixed=True)


_HELP = _key("help", "question_mark f1", "keys", "Show the keys that work here")
_UP = _key("up", "up", "up", "Go up in the list", shown=False)
_DOWN = _key("down", "down tab", "down", "Go down in the list", shown=False)
_PAGE_UP = _key("page_up", "pageup", "page up", "Go up by a screen", shown=False)
_PAGE_DOWN = _key("page_down", "pagedown", "page down", "Go down by a screen", shown=False)
_CANCEL = _key("cancel", "escape backspace", "back", "Go back without changing anything")
_WHERE = (
    _key("right", "r", "right", "Right side, or not"),
    _key("left", "l", "left", "Left side, or not"),
    _fixed("site", SITE_LETTERS, "site", "The site with this letter, or not"),
    _key("everywhere", "z", "all", "All sides and sites, or none", shown=False),
)
_LIST = (_UP, _DOWN, _PAGE_UP, _PAGE_DOWN)

HOME = View(
    id="home",
    title="Home",
    keys=(
        _key("open", "enter space", "open", "Take up, begin or read what is chosen"),
        _key("note", "n", "note", "Read the note of the chosen session"),
        _key("times", "t", "times", "Read the timeline of the chosen session"),
        _key("example", "e", "example", "Look at an invented, finished example"),
        *_LIST,
        _HELP,
        _key("quit", "q escape", "quit", "Close the program"),
    ),
)
PREPARE = View(
    id="prepare",
    title="Preparation",
    keys=(
        _key("begin", "b", "begin", "Start the clock at the first step"),
        _key("change", "enter space", "change", "Type, choose or tick what the mark stands at"),
        _key("all", "a", "all at hand", "Tick the whole list as at hand"),
        _key("cautions", "c", "cautions", "Read all cautions and adaptations, and go back"),
        _fixed("option", DIGITS, "choose", "Choose by number", shown=False),
        *_LIST,
        _HELP,
        _CANCEL,
    ),
)
STEP = View(
    id="step",
    title="Examining",
    keys=(
        _key("expected", "space pagedown", "as expected", "Record what is open as expected, go on"),
        _key("differs", "d", "differs", "Record what differs: finding, side, site, own words"),
        _fixed(
            "finding",
            DIGITS,
            "finding",
            "Mark the finding with this number; where a reading is open, begin to type it",
            shown=False,
        ),
        _key("reading", "enter", "reading", "Type the reading"),
        _key("time", "c", "tap or time", "Tap a rate, count against a silent clock, use a stop-watch"),
        _key("not_examined", "x", "not examined", "Record as not examined, with the reason"),
        _key("unseen", "v", "not seen", "Record as attempted, not seen (eardrum, fundus …)"),
        _key("done", "e", "as expected", "Record as expected what is chosen, or a conditional step"),
        _key("told", "t", "told", "Answer who was told of a finding, and when", shown=False),
        _key("remark", "m", "remark", "Add your own words about this step to the note"),
        _key("undo", "u", "undo", "Take back the last thing recorded"),
        _key("back", "left pageup", "back", "Go to the step before, recording nothing"),
        _key("forward", "right", "on", "Go to the next step, recording nothing"),
        _key("down", "down tab", "entry", "Choose one side or site, or all again", shown=False),
        _key("up", "up", "entry", "Choose the side or site before", shown=False),
        _key("read_on", "n", "read on", "Show the rest of a step that is too long", shown=False),
        _key("find", "f", "find", "Find a step by typing"),
        _key("pause", "p", "pause", "Stop the clock"),
        _key("finish", "w", "finish", "See what is left open, and finish"),
        _key("section", "s", "section", "Go to the next section, recording nothing"),
        _key("outline", "o", "outline", "Show all steps and what is recorded"),
        _key("together", "g", "together", "What is computed, and what belongs together, so far", shown=False),
        _HELP,
        _key("leave", "q", "leave", "Leave; the session can be resumed"),
    ),
)
SHEET = View(
    id="sheet",
    title="What differs",
    keys=(
        _fixed("finding", DIGITS, "finding", "Mark or unmark the finding with this number"),
        *_WHERE,
        _key("words", "t", "own words", "Say it in your own words"),
        _key("urgency", "y", "how fast", "How fast your own words, or the reading, must be told"),
        _key("reading", "m", "reading", "Type the reading"),
        _key("keep", "k", "as expected", "Record the reading as expected all the same"),
        _key("confirm", "enter", "record", "Record this; the rest stays open"),
        _key(
            "confirm_rest",
            "space",
            "record, open rest as expected",
            "Record this, and what is still open as expected",
        ),
        _HELP,
        _CANCEL,
    ),
)
REASON = View(
    id="reason",
    title="Why not examined",
    keys=(
        _fixed("reason", DIGITS[:6], "reason", "Record with this reason"),
        *_WHERE,
        _key("words", "t", "other reason", "Give another reason in your own words"),
        _HELP,
        _CANCEL,
    ),
)
UNSEEN = View(
    id="unseen",
    title="Attempted, not seen",
    keys=(
        *_WHERE,
        _key("words", "t", "what hindered", "Say what hindered the view"),
        _key("confirm", "enter space", "record", "Record as attempted, not seen"),
        _HELP,
        _CANCEL,
    ),
)
STEPS = View(
    id="steps",
    title="Outline",
    keys=(
        _key("go", "enter space", "go there", "Go to the chosen step"),
        _key("find", "f", "find", "Type a part of the title"),
        *_LIST,
        _HELP,
        _CANCEL,
    ),
)
TOLD = View(
    id="told",
    title="Who was told",
    keys=(
        _fixed("role", DIGITS, "told now", "This role was told, now"),
        _key("words", "t", "someone else", "Type a role or code, and the time if it was not now"),
        _key("down", "down tab", "next", "The next finding that waits", shown=False),
        _key("up", "up", "before", "The finding before", shown=False),
        _key("undo", "u", "undo", "Take back the last answer"),
        _HELP,
        _key("cancel", "escape backspace space", "later", "Answer later"),
    ),
)
READING = View(
    id="reading",
    title="Reading",
    keys=(
        _key("accept", "enter", "record", "Record the reading; what is out of range is asked about"),
        _key("skip", "space pagedown", "as expected, no value", "In an empty line: record without a value"),
        _key("with_finding", "tab", "and a finding", "Keep the reading, and say what differs"),
        _key("drop", "escape", "cancel", "Leave it as it was"),
    ),
)
TIMING = View(
    id="timing",
    title="Tapping and timing",
    keys=(
        _key(
            "tap", "space pagedown", "beat, start, stop", "One beat or breath; start or stop the stop-watch"
        ),
        _key("half_minute", "3", "30 s clock", "Start a silent clock of 30 seconds"),
        _key("minute", "6", "60 s clock", "Start a silent clock of 60 seconds"),
        _key("take", "enter", "take it", "Take what was timed, to confirm it"),
        _key("again", "backspace", "again", "Start again"),
        _key("pause", "p", "pause", "Stop the clock; what passes is not measured"),
        _HELP,
        _key("cancel", "escape q", "back", "Go back without a reading"),
    ),
)
TOGETHER = View(
    id="together",
    title="Computed and together",
    keys=(
        _key("down", "down", "down", "Go down by a line", shown=False),
        _key("up", "up", "up", "Go up by a line", shown=False),
        _key("page_down", "pagedown space", "page", "Go down by a screen"),
        _PAGE_UP,
        _HELP,
        _key("cancel", "escape backspace g", "back", "Go back to the step"),
    ),
)
PAUSED = View(
    id="paused",
    title="Paused",
    keys=(
        _key("go_on", "space p enter", "go on", "Start the clock again"),
        _key("leave", "q", "leave", "Leave; the session can be resumed"),
        _HELP,
    ),
)
FINISH = View(
    id="finish",
    title="Finish",
    keys=(
        _key("go", "enter", "go there", "Go to what is chosen"),
        _key("told", "t", "told", "Answer who was told of a finding, and when"),
        _key("finish", "y", "finish now", "Finish for good; what is listed stays not examined"),
        *_LIST,
        _HELP,
        _CANCEL,
    ),
)
NOTE = View(
    id="note",
    title="Note",
    keys=(
        _key("copy", "c", "copy", "Copy the note to the clipboard"),
        _key("save", "s", "save", "Save the note to a file"),
        _key("switch", "n", "note, times, debrief", "Change between note, timeline and debrief"),
        _key("told", "t", "told", "Answer who was told of a finding, and when"),
        _key("amend", "a", "amend", "Write a late entry or a correction, with who and why"),
        _key("sign", "z", "sign", "Close the session with your initials: then it is only amended"),
        _key("down", "down", "down", "Go down by a line", shown=False),
        _key("up", "up", "up", "Go up by a line", shown=False),
        _key("page_down", "pagedown space", "page", "Go down by a screen"),
        _PAGE_UP,
        _HELP,
        _key("cancel", "escape backspace q", "home", "Go back"),
    ),
)
_MARKS = (
    _key("done", "space pagedown", "done", "Mark as done, go on; a conditional step as not applicable"),
    _key("prompted", "p", "after a prompt", "Mark as done after a prompt"),
    _key("incorrect", "i", "incorrectly", "Mark as done incorrectly, and say what was"),
    _key("not_done", "x", "not done", "Mark as not done"),
    _key("unseen", "v", "not seen", "Mark as: could not be seen from where the observer was"),
    _key("not_applicable", "n", "not applicable", "Mark as not applicable"),
)
_DONE_INDEED = _key(
    "done_indeed", "e", "done", "Mark as done what is conditional, or has another mark", shown=False
)
OBSERVE = View(
    id="observe",
    title="Observing",
    keys=(
        *_MARKS,
        _DONE_INDEED,
        _key("range", "b", "several", "Choose several steps, for one mark"),
        _key("undo", "u", "undo", "Take back the last mark or remark"),
        _key("find", "f", "find", "Find the step that is performed now by typing"),
        _key("finish", "w", "finish", "See what has no mark, and finish"),
        _key("remark", "m", "remark", "Add your own words about this step"),
        _key("first_open", "g", "first open", "Go to the first step without a mark", shown=False),
        _key("down", "down right tab", "on", "Go to the next step, marking nothing", shown=False),
        _key("up", "up left pageup", "back", "Go to the step before, marking nothing", shown=False),
        _key("section", "s", "section", "Go to the next section, marking nothing", shown=False),
        _key("pause", "c", "pause", "Stop the clock", shown=False),
        _HELP,
        _key("leave", "q", "leave", "Leave; the session can be resumed"),
    ),
)
MARKING = View(
    id="marking",
    title="Marking several",
    keys=(
        _key("down", "down right tab", "one more", "Take in the next step"),
        _key("up", "up left pageup", "one less", "Leave out the last one, or take in the one before"),
        *_MARKS,
        _DONE_INDEED,
        _HELP,
        _key("cancel", "escape backspace b", "back", "Choose one step again, marking nothing"),
    ),
)
UNMARKED = View(
    id="unmarked",
    title="Finish observing",
    keys=(
        _key("go", "enter", "go there", "Go to the chosen step"),
        _key("finish", "y", "finish now", "Finish for good; what is listed stays without a mark"),
        *_LIST,
        _HELP,
        _CANCEL,
    ),
)
AMEND_LIST = View(
    id="amend_list",
    title="Amending: the steps",
    keys=(
        _key("go", "enter space", "open", "Open the chosen step"),
        _key("find", "f", "find", "Type a part of the title"),
        *_LIST,
        _HELP,
        _key("cancel", "escape backspace q", "note", "Go back to the note"),
    ),
)
AMEND = View(
    id="amend",
    title="Amending: a step",
    keys=(
        _key("down", "down tab", "entry", "Choose one side or site, or all again"),
        _key("up", "up", "entry", "Choose the side or site before", shown=False),
        _key("differs", "d", "differs", "Amend to what differs: finding, side, site, own words"),
        _fixed("finding", DIGITS, "finding", "Amend to the finding with this number", shown=False),
        _key("done", "e", "as expected", "Amend to as expected"),
        _key("reading", "enter", "reading", "Type the reading"),
        _key("not_examined", "x", "not examined", "Amend to not examined, with the reason"),
        _key("unseen", "v", "not seen", "Amend to attempted, not seen"),
        _PAGE_UP,
        _PAGE_DOWN,
        _HELP,
        _key("cancel", "escape backspace q", "steps", "Go back to the steps, writing nothing"),
    ),
)
TYPING = View(
    id="typing",
    title="Typing",
    keys=(
        _key("accept", "enter", "done", "Take what is typed"),
        _key("drop", "escape", "cancel", "Leave it as it was"),
    ),
)
SEARCH = View(
    id="search",
    title="Finding a step",
    keys=(
        _key("accept", "enter", "go there", "Go to the chosen step"),
        _key("up", "up", "up", "Go up in the list"),
        _key("down", "down", "down", "Go down in the list"),
        _key("drop", "escape", "cancel", "Stay where you are"),
    ),
)
VIEWS = (
    HOME,
    PREPARE,
    STEP,
    READING,
    TIMING,
    SHEET,
    REASON,
    UNSEEN,
    STEPS,
    TOLD,
    TOGETHER,
    PAUSED,
    FINISH,
    NOTE,
    AMEND_LIST,
    AMEND,
    OBSERVE,
    MARKING,
    UNMARKED,
    TYPING,
    SEARCH,
)
_FIXED = {READING.id, TYPING.id, SEARCH.id}

_NAMES = {
    "space": "space",
    "enter": "Enter",
    "escape": "Esc",
    "backspace": "Backspace",
    "pageup": "PgUp",
    "pagedown": "PgDn",
    "question_mark": "?",
    "f1": "F1",
    "left": "←",
    "right": "→",
    "up": "↑",
    "down": "↓",
    "tab": "Tab",
}


_OTHER_NAMES = {"home", "end", "delete", "insert", *(f"f{number}" for number in range(2, 13))}


class KeySettingError(ValueError):
    """Key settings that cannot be used; the text says which and what instead."""


def shown(key: Key, most: int = 9) -> str:
    """Return the keys of `key` as a person reads them: `space PgDn`, `1–9`."""
    if key.fixed:
        return f"{key.keys[0]}–{key.keys[-1]}"
    return " ".join(_NAMES.get(each, each) for each in key.keys[:most])


def names(views: Sequence[View]) -> dict[str, str]:
    """Return the first key of everything as a person reads it, by `view.id`; for texts that name a key."""
    return {f"{view.id}.{key.id}": shown(key, most=1) for view in views for key in view.keys}


def remapped(views: Sequence[View], settings: Mapping[str, Sequence[str]]) -> tuple[View, ...]:
    """Return the views with the keys that `settings` gives, by `view.id`: `step.differs = ["o"]`.

    Raises KeySettingError with everything that is wrong: unknown or fixed names, keys that do not exist,
    and two things in one view that would have the same key.
    """
    wrong = [text for name, keys in settings.items() for text in _faults(views, name, keys)]
    changed = tuple(
        replace(
            view,
            keys=tuple(
                replace(key, keys=tuple(settings.get(f"{view.id}.{key.id}", key.keys))) for key in view.keys
            ),
        )
        for view in views
    )
    wrong += [text for view in changed for text in _clashes(view)]
    if wrong:
        raise KeySettingError("; ".join(wrong))
    return changed


def _faults(views: Sequence[View], name: str, keys: Sequence[str]) -> Iterator[str]:
    key_of = {f"{view.id}.{key.id}": key for view in views for key in view.keys}
    key = key_of.get(name)
    if key is None:
        yield f"unknown key name '{name}'{_nearest(name, key_of)}"
    elif _is_fixed(name, key):
        yield f"the keys of '{name}' cannot be moved"
    elif not keys:
        yield f"'{name}' needs at least one key"
    for each in keys:
        if not (each in _NAMES or each in _OTHER_NAMES or (len(each) == 1 and each.isprintable())):
            yield f"'{each}' of '{name}' is no key; a key is one character, or a name such as 'space' or 'f2'"


def _is_fixed(name: str, key: Key) -> bool:
    return key.fixed or name.partition(".")[0] in _FIXED


def _nearest(name: str, known: Iterable[str]) -> str:
    from difflib import get_close_matches

    near = get_close_matches(name, sorted(known), n=1)
    return f" (did you mean '{near[0]}'?)" if near else ""


def _clashes(view: View) -> Iterator[str]:
    taken: dict[str, str] = {}
    for key in view.keys:
        for each in key.keys:
            if each in taken:
                yield f"'{each}' would mean both '{view.id}.{taken[each]}' and '{view.id}.{key.id}'"
            taken[each] = key.id


def meaning(view: View, *pressed: str | None) -> str:
    """Return the id of what a key means in `view`, by its name or its character; empty for nothing."""
    return next((key.id for key in view.keys for each in pressed if each in key.keys), "")


def _setting_name(view: View, key: Key) -> str:
    name = f"{view.id}.{key.id}"
    return "–" if _is_fixed(name, key) else f"`{name}`"


def markdown_table(views: tuple[View, ...] = VIEWS) -> str:
    """Return the keys as a Markdown table, for the README."""
    rows = ["| where | key | what it does | name |", "| --- | --- | --- | --- |"]
    for view in views:
        rows += [
            f"| {view.title} | {shown(key)} | {key.help} | {_setting_name(view, key)} |" for key in view.keys
        ]
    return "\n".join(rows) + "\n"
