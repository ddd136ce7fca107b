"""Whose the records are on this computer: the owner of the process, and nobody else."""

import os
import stat
from pathlib import Path

from django.conf import settings

OTHERS = stat.S_IRWXG | stat.S_IRWXO


def places() -> list[Path]:
    """The folder of the data, the database's files and the folder of the photographs."""
    found = [settings.DATA_DIR]
    database = settings.DATABASES["default"]
    if database["ENGINE"].endswith("sqlite3"):
        name = str(database["NAME"])
        found += [Path(name + tail) for tail in ("", "-wal", "-shm")]
    if not settings.PHOTO_ACCEL_PREFIX:
        # Otherwise a web server of another user sends the photographs.
        found.append(Path(settings.MEDIA_ROOT))
    return [path for path in found if path.exists()]


def keep_private() -> list[Path]:
    """Take every right of others away from these places; return those that were open."""
    if os.name != "posix":
        return []
    opened = []
    for path in places():
        mode = path.stat().st_mode
        if mode & OTHERS and path.stat().st_uid == os.geteuid():
            path.chmod(stat.S_IMODE(mode) & ~OTHERS)
            opened.append(path)
    return opened
