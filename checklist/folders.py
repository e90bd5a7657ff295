"""Where a person's own files are kept, and where the bundled protocols are."""

import contextlib
import os
import stat
import sys
from pathlib import Path

from checklist.errors import ChecklistError

HOME_VARIABLE = "EXAM_CHECKLIST_HOME"
"""Environment variable that names one folder for all, in place of those that are usual on the system."""


def data_folder() -> Path:
    """Return the folder that holds a person's sessions and own protocols."""
    if named := _named_home():
        return named
    import platformdirs

    return platformdirs.user_data_path("exam-checklist", appauthor=False)


def config_folder() -> Path:
    """Return the folder that holds a person's settings."""
    if named := _named_home():
        return named
    import platformdirs

    return platformdirs.user_config_path("exam-checklist", appauthor=False)


def _named_home() -> Path | None:
    named = os.environ.get(HOME_VARIABLE)
    if not named:
        return None
    try:
        return Path(named).expanduser()
    except RuntimeError:
        text = f"{HOME_VARIABLE} is '{named}', and there is no such user; write the folder in full"
        raise ChecklistError(text) from None


def private_folder(path: Path) -> Path:
    """Make `path` with the folders above it, each that is missing for the owner alone, and return it."""
    for folder in (*reversed(path.parents), path):
        if not folder.is_dir():
            folder.mkdir(mode=0o700, exist_ok=True)
    return path


def make_private(path: Path) -> None:
    """Take from others what they may do with a file or folder of this user; where that fails, it stays."""
    if sys.platform == "win32":
        return
    with contextlib.suppress(OSError):
        status = path.stat()
        if status.st_uid == os.getuid() and status.st_mode & 0o077:
            path.chmod(0o700 if stat.S_ISDIR(status.st_mode) else 0o600)


def own_protocols() -> Path:
    return data_folder() / "protocols"


def bundled_protocols() -> Path:
    """Return the folder of the protocols that come with the program."""
    package = Path(__file__).parent
    packaged = package / "bundled"
    # In a checkout they stand beside the package.
    return packaged if packaged.is_dir() else package.parent / "protocols"
