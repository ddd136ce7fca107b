"""Where the site keeps what it keeps, whatever stands in a folder's name. No settings are read."""

import os
from pathlib import Path
from urllib.parse import quote

from platformdirs import user_data_path

HOME_VARIABLE = "RIM_AND_REASON_HOME"


def home(checkout: Path | None) -> Path:
    """The folder under which data, demo and photographs lie.

    The one that ``RIM_AND_REASON_HOME`` names; else the checkout itself; an installed package
    keeps nothing beside its code, but where this system keeps a user's data.
    """
    named = os.environ.get(HOME_VARIABLE, "").strip()
    if named:
        return Path(named).expanduser().resolve()
    return checkout or user_data_path("rim-and-reason", appauthor=False)


def sqlite_url(file: Path) -> str:
    """The address of an SQLite file: ``#``, ``?``, ``%`` and blanks stay letters of a name."""
    return f"sqlite:///{quote(file.as_posix())}"
