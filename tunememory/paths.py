"""Where things are kept. Asking for a place never makes it."""

from __future__ import annotations

import os
from pathlib import Path

REPERTOIRE_VARIABLE = "TUNEMEMORY_REPERTOIRE"
NOW_VARIABLE = "TUNEMEMORY_NOW"


def repertoire_path(given: str | None) -> Path:
    """Return the repertoire file: the option, else the variable, else the data folder."""
    chosen = given or os.environ.get(REPERTOIRE_VARIABLE)
    if chosen:
        return Path(chosen).expanduser()
    return default_path()


def default_path() -> Path:
    """Return the player's own repertoire, where none is named."""
    return data_folder() / "my.tunes"


def data_folder() -> Path:
    """Return the platform's folder for the player's data."""
    import platformdirs  # noqa: PLC0415 - not needed when a file is given

    return platformdirs.user_data_path("tunememory", appauthor=False)


def log_folder() -> Path:
    """Return the platform's folder for error reports."""
    import platformdirs  # noqa: PLC0415 - only after a fault

    return platformdirs.user_log_path("tunememory", appauthor=False)
