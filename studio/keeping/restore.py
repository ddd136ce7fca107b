"""A backup put back into an empty place, after every sum of it was checked."""

import os
import zipfile
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.db import connection

from studio.keeping import backup
from studio.keeping.backup import MEDIA, POSTGRES, SQLITE, KeepingError

OWNER_ONLY, OWNER_ONLY_FOLDER = 0o600, 0o700


def restore(source: Path) -> int:
    """Put a backup back; return how many files came with the database.

    Raises
    ------
    KeepingError
        Not a backup, a sum that differs, another kind of database, or a place that is not empty.
    """
    try:
        with zipfile.ZipFile(source) as parcel:
            told = backup.read_manifest(parcel)
            _refuse_other_database(told["database"])
            _refuse_full_place()
            # All sums before the first byte is written: half a restore helps nobody.
            for name, (size, sha256) in told["files"].items():
                for _piece in backup.checked_pieces(parcel, name, size, sha256):
                    pass
            _unpack(parcel, told)
    except zipfile.BadZipFile as error:
        raise KeepingError(f"{source} is no backup of this site, or it was cut off.") from error
    except OSError as error:
        raise KeepingError(f"{error.filename or source}: {error.strerror or error}.") from error
    # A backup of an earlier version of the site gets what came since.
    call_command("migrate", verbosity=0, interactive=False)
    return len(told["files"]) - 1


def _refuse_other_database(kind: str) -> None:
    here = POSTGRES if connection.vendor == "postgresql" else SQLITE
    if kind != here:
        raise KeepingError(
            f"The backup holds {kind}, and DATABASE_URL names another kind of database. Set it to "
            "the kind that the backup was made of."
        )


def _refuse_full_place() -> None:
    database = Path(str(connection.settings_dict["NAME"]))
    # Asking SQLite would make the file.
    may_be_full = connection.vendor != "sqlite" or database.exists()
    if may_be_full and connection.introspection.table_names():
        raise KeepingError(
            "There are records in the database already, and nothing is ever written over them. "
            "Name an empty database in DATABASE_URL."
        )
    media = Path(settings.MEDIA_ROOT)
    if media.exists() and any(media.iterdir()):
        raise KeepingError(
            f"{media} is not empty. Name an empty folder in MEDIA_ROOT, so that nothing mixes."
        )


def _unpack(parcel: zipfile.ZipFile, told: dict) -> None:
    media = Path(settings.MEDIA_ROOT)
    media.mkdir(mode=OWNER_ONLY_FOLDER, parents=True, exist_ok=True)
    for name in told["files"]:
        if name.startswith(MEDIA):
            path = media / name.removeprefix(MEDIA)
            path.parent.mkdir(mode=OWNER_ONLY_FOLDER, parents=True, exist_ok=True)
            _write(parcel, told, name, path)
    # The database last: while it is not there, the place counts as not restored.
    if told["database"] == SQLITE:
        connection.close()
        target = Path(str(connection.settings_dict["NAME"]))
        target.parent.mkdir(mode=OWNER_ONLY_FOLDER, parents=True, exist_ok=True)
        part = target.with_name(f"{target.name}.part")
        _write(parcel, told, SQLITE, part)
        for tail in ("-wal", "-shm"):
            target.with_name(target.name + tail).unlink(missing_ok=True)
        part.replace(target)
        return
    dump = media.parent / f".{media.name}.pgdump"
    try:
        _write(parcel, told, POSTGRES, dump)
        name = connection.settings_dict["NAME"]
        backup.run_program(
            *("pg_restore", "--no-owner", "--no-acl", "--single-transaction", "--exit-on-error"),
            *("--dbname", name, str(dump)),
        )
    finally:
        dump.unlink(missing_ok=True)


def _write(parcel, told, name: str, path: Path) -> None:
    size, sha256 = told["files"][name]
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, OWNER_ONLY)
    with os.fdopen(handle, "wb") as sink:
        for piece in backup.checked_pieces(parcel, name, size, sha256):
            sink.write(piece)
        sink.flush()
        os.fsync(sink.fileno())
