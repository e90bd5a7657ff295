"""Where a person's own files are kept, and where the bundled protocols are."""

import os
from pathlib import Path

HOME_VARIABLE = "EXAM_CHECKLIST_HOME"
"""Environment variable that names one folder for all, in place of those that are usual on the system."""


def data_folder() -> Path:
    """Return the folder that holds a person's sessions and own protocols."""
    if named := os.environ.get(HOME_VARIABLE):
        return Path(named).expanduser()
    import platformdirs

    return platformdirs.user_data_path("exam-checklist", appauthor=False)


def config_folder() -> Path:
    """Return the folder that holds a person's settings."""
    if named := os.environ.get(HOME_VARIABLE):
        return Path(named).expanduser()
    import platformdirs

    return platformdirs.user_config_path("exam-checklist", appauthor=False)


def private_folder(path: Path) -> Path:
    """Make `path` with the folders above it, each that is missing for the owner alone, and return it."""
    for folder in (*reversed(path.parents), path):
        if not folder.is_dir():
            folder.mkdir(mode=0o700, exist_ok=True)
    return path


def own_protocols() -> Path:
    return data_folder() / "protocols"


def bundled_protocols() -> Path:
    """Return the folder of the protocols that come with the program."""
    package = Path(__file__).parent
    packaged = package / "bundled"
    # In a checkout they stand beside the package.
    return packaged if packaged.is_dir() else package.parent / "protocols"
