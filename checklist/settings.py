"""The user's own settings: reads `config.toml` in the configuration folder, and says what is wrong with it.

[keys]
"step.differs" = ["d", "o"]
"""

from dataclasses import dataclass, field
from pathlib import Path

from checklist.errors import ChecklistError
from checklist.folders import config_folder

FILE_NAME = "config.toml"


class SettingsError(ChecklistError):
    """The settings file cannot be used; the text is one line with the file's name."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Settings:
    """What the user set; everything has a default."""

    path: Path
    keys: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """Name of a key (`view.id`) → the keys it is to have."""


def load() -> Settings:
    """Return the settings; without a file, the defaults."""
    path = config_folder() / FILE_NAME
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        return Settings(path=path)
    except (OSError, UnicodeDecodeError) as error:
        raise SettingsError(f"{path}: cannot be read: {error}") from None
    import tomllib

    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise SettingsError(f"{path}: not valid TOML: {error}") from None
    unknown = sorted(table.keys() - {"keys"})
    if unknown:
        raise SettingsError(f"{path}: unknown key '{unknown[0]}'; the one table known is [keys]")
    return Settings(path=path, keys=_keys(path, table.get("keys", {})))


def _keys(path: Path, table: object) -> dict[str, tuple[str, ...]]:
    if not isinstance(table, dict):
        raise SettingsError(f"{path}: 'keys' must be a table")
    keys: dict[str, tuple[str, ...]] = {}
    for name, value in table.items():
        if not isinstance(value, list) or not all(isinstance(each, str) and each for each in value):
            raise SettingsError(f'{path}: keys.{name} must be a list of keys, such as ["d"]')
        keys[name] = tuple(value)
    return keys
