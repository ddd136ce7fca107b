"""Whether the records can be served, and bringing them up to date with a backup before."""

import os
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.db import OperationalError, connection
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.recorder import MigrationRecorder
from django.utils import timezone

from studio.keeping import backup

BACKUPS = "backups"


@dataclass(frozen=True, slots=True)
class BroughtUp:
    """What bringing up to date did: how many steps, and the backup made before, if any."""

    steps: int
    backup: Path | None


def steps_missing() -> int:
    """How many migrations the database lacks."""
    executor = MigrationExecutor(connection)
    return len(executor.migration_plan(executor.loader.graph.leaf_nodes()))


def is_begun() -> bool:
    """Whether the database holds anything of the site."""
    return bool(MigrationRecorder(connection).applied_migrations())


def why_not_served() -> str:
    """A sentence on why the site cannot be served as it stands; empty where it can."""
    try:
        if not is_begun():
            return "There are no records here yet. First: python manage.py begin"
        if steps_missing():
            return (
                "The records are of another version of the site than this code. "
                "First: python manage.py upgrade"
            )
    except OperationalError as error:
        return f"The database cannot be opened: {error}. Look at DATABASE_URL and at its rights."
    locked = [path for path in _written() if not os.access(path, os.W_OK)]
    if locked:
        return (
            f"{locked[0]} cannot be written by this user, so nothing could be kept. Give the "
            "right to write there, or start the site as the user whose it is."
        )
    return ""


def _written() -> list[Path]:
    """What has to be written to while the site serves: the database's file and its folder, which
    takes the write-ahead log, and the folder of the photographs."""
    found = []
    if connection.vendor == "sqlite":
        file = Path(settings.DATABASES["default"]["NAME"])
        found += [file, file.parent]
    media = Path(settings.MEDIA_ROOT)
    return [*found, media] if media.exists() else found


def bring_up(folder: Path) -> BroughtUp:
    """Bring the records up to date; where there are any, a backup is made first.

    Parameters
    ----------
    folder : Path
        Where the backup goes.

    Raises
    ------
    backup.KeepingError
        The backup could not be made; nothing was changed then.
    """
    steps = steps_missing()
    if not steps:
        return BroughtUp(0, None)
    made = None
    if is_begun():
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        made = folder / f"before-upgrade-{timezone.localtime():%Y-%m-%d-%H%M%S}.zip"
        backup.make(made)
    call_command("migrate", verbosity=0, interactive=False)
    return BroughtUp(steps, made)
