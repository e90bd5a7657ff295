"""Keys of the app as values: what a key is, what it means in a view, how settings move it, how it is shown.

The footer, the help and the README's table come from the views declared in `views`.
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


def movable(id_: str, keys: str, label: str, help_: str, shown: bool = True) -> Key:
    return Key(id=id_, keys=tuple(keys.split()), label=label, help=help_, shown=shown)


def fixed(id_: str, keys: Sequence[str], label: str, help_: str, shown: bool = True) -> Key:
    return Key(id=id_, keys=tuple(keys), label=label, help=help_, shown=shown, fixed=True)


_TYPED_INTO = {"reading", "recall_typing", "typing", "search"}
"""Ids of the views in which text is typed, so that their keys cannot be moved."""
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
    return key.fixed or name.partition(".")[0] in _TYPED_INTO


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


def markdown_table(views: Sequence[View]) -> str:
    """Return the keys as a Markdown table, for the README."""
    rows = ["| where | key | what it does | name |", "| --- | --- | --- | --- |"]
    for view in views:
        rows += [
            f"| {view.title} | {shown(key)} | {key.help} | {_setting_name(view, key)} |" for key in view.keys
        ]
    return "\n".join(rows) + "\n"
