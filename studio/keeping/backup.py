"""A backup as one file: the database as of one moment, the photographs, and a sum of each.

The database is copied by SQLite's own online backup or by ``pg_dump``, so that the site goes on
serving. Photographs are copied after it: a photo's files are written before its row, so each row of
the copy finds its files, unless the photo was taken away in between, which is told.
"""

import hashlib
import json
import os
import shutil
import sqlite3
import subprocess
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from django.conf import settings
from django.db import connection
from django.utils import timezone

from studio.keeping.stored_files import named_files

FORMAT = 1
MANIFEST, SQLITE, POSTGRES, MEDIA = "manifest.json", "database.sqlite3", "database.pgdump", "media/"
CHUNK = 1024 * 1024
OWNER_ONLY = 0o600


class KeepingError(Exception):
    """A backup that cannot be made or taken; the message is a sentence with what to do."""


@dataclass(frozen=True, slots=True)
class Made:
    """What went into a backup."""

    files: int
    size: int
    missing: tuple[str, ...]
    """Files that a record names and that were not there."""


def make(target: Path) -> Made:
    """Write a backup; the file stands under its name only once it is whole.

    Raises
    ------
    KeepingError
        The name is taken, the place cannot be written, the disk is full, or no ``pg_dump``.
    """
    if target.exists():
        raise KeepingError(f"{target} is there already. Name a new file: no backup is overwritten.")
    part = target.with_name(f"{target.name}.part")
    try:
        handle = os.open(part, os.O_RDWR | os.O_CREAT | os.O_TRUNC, OWNER_ONLY)
        with os.fdopen(handle, "w+b") as file, tempfile.TemporaryDirectory(dir=part.parent) as own:
            made = _write(file, Path(own))
            file.flush()
            os.fsync(file.fileno())
        part.rename(target)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise KeepingError(
            f"{target} could not be written: {error.strerror or error}. Look for room on the disk "
            "and for the right to write there; nothing was kept."
        ) from error
    except BaseException:
        part.unlink(missing_ok=True)
        raise
    return made


def _write(file, own: Path) -> Made:
    kind = POSTGRES if connection.vendor == "postgresql" else SQLITE
    copy = own / kind
    (_dump_postgres if kind == POSTGRES else _copy_sqlite)(copy)
    names = sorted(set(named_files()))
    sums: dict[str, dict] = {}
    missing = []
    with zipfile.ZipFile(file, "w", allowZip64=True) as parcel:
        sums[kind] = _add(parcel, copy, kind, zipfile.ZIP_DEFLATED)
        for name in names:
            path = Path(settings.MEDIA_ROOT) / name
            try:
                # Photographs are packed already.
                sums[MEDIA + name] = _add(parcel, path, MEDIA + name, zipfile.ZIP_STORED)
            except FileNotFoundError:
                missing.append(name)
        manifest = {
            "format": FORMAT,
            "version": settings.VERSION,
            "made_at": timezone.now().isoformat(),
            "database": kind,
            "files": sums,
            "missing": missing,
        }
        parcel.writestr(MANIFEST, json.dumps(manifest, indent=1))
    return Made(len(sums) - 1, file.tell(), tuple(missing))


def _add(parcel: zipfile.ZipFile, path: Path, name: str, packing: int) -> dict:
    """Add a file in pieces; its size [bytes] and its SHA-256."""
    summed, size = hashlib.sha256(), 0
    info = zipfile.ZipInfo(name, timezone.localtime().timetuple()[:6])
    info.compress_type = packing
    with path.open("rb") as source, parcel.open(info, "w", force_zip64=True) as sink:
        while chunk := source.read(CHUNK):
            summed.update(chunk)
            size += len(chunk)
            sink.write(chunk)
    return {"size": size, "sha256": summed.hexdigest()}


def _copy_sqlite(copy: Path) -> None:
    name = str(connection.settings_dict["NAME"])
    with (
        closing(sqlite3.connect(name, timeout=20)) as here,
        closing(sqlite3.connect(copy)) as there,
    ):
        here.backup(there)
        # Whole in one file, without a write-ahead log of its own.
        there.execute("PRAGMA journal_mode=DELETE")
        # The constraints call functions that only the site's own connection has.
        there.execute("PRAGMA ignore_check_constraints=ON")
        found = there.execute("PRAGMA integrity_check").fetchone()[0]
    if found != "ok":
        raise KeepingError(
            f"The database says of itself that it is damaged ({found}). No backup was made: keep "
            "the last one, and look at the disk."
        )


def postgres_environment(name: str | None = None) -> dict[str, str]:
    """The environment by which PostgreSQL's own programs find the database."""
    told = connection.settings_dict
    own = {
        "PGDATABASE": name or told["NAME"],
        "PGHOST": told["HOST"],
        "PGPORT": str(told["PORT"] or ""),
        "PGUSER": told["USER"],
        "PGPASSWORD": told["PASSWORD"],
    }
    return os.environ | {key: value for key, value in own.items() if value}


def run_program(*words: str) -> None:
    """Run one of PostgreSQL's programs.

    Raises
    ------
    KeepingError
        It is not installed, or it failed.
    """
    if shutil.which(words[0]) is None:
        raise KeepingError(
            f"{words[0]} is not installed on this computer. Install PostgreSQL's client programs, "
            "of the server's version or newer."
        )
    done = subprocess.run(
        words, env=postgres_environment(), capture_output=True, text=True, check=False
    )
    if done.returncode:
        raise KeepingError(f"{words[0]} failed: {done.stderr.strip()[:500]}")


def _dump_postgres(copy: Path) -> None:
    run_program("pg_dump", "--format=custom", "--no-owner", "--no-acl", f"--file={copy}")


def read_manifest(parcel: zipfile.ZipFile) -> dict:
    """What a backup says it holds.

    Raises
    ------
    KeepingError
        It is none of ours, or of a later version.
    """
    try:
        told = json.loads(parcel.read(MANIFEST))
        files = {str(name): (int(f["size"]), str(f["sha256"])) for name, f in told["files"].items()}
        known = told["format"] == FORMAT and told["database"] in files
    except (KeyError, ValueError, TypeError, AttributeError) as error:
        raise KeepingError("This file is no backup of this site, or it was cut off.") from error
    if not known or told["database"] not in (SQLITE, POSTGRES):
        raise KeepingError("This backup is of another version of the site; restore it there.")
    for name in files:
        inner = PurePosixPath(name.removeprefix(MEDIA))
        if inner.is_absolute() or ".." in inner.parts or "\\" in name:
            raise KeepingError(f"The backup names a file outside of its place: {name}.")
    return told | {"files": files}


def checked_pieces(parcel: zipfile.ZipFile, name: str, size: int, sha256: str) -> Iterator[bytes]:
    """The bytes of one file of a backup; at the end its sum is compared.

    Raises
    ------
    KeepingError
        It is missing, damaged, or not what was put in.
    """
    summed, came = hashlib.sha256(), 0
    try:
        with parcel.open(name) as source:
            while chunk := source.read(CHUNK):
                came += len(chunk)
                if came > size:
                    break
                summed.update(chunk)
                yield chunk
    except KeepingError:
        raise
    except Exception as error:  # a damaged archive may raise nearly anything
        raise KeepingError(f"{name} in the backup is damaged. Take an earlier backup.") from error
    if came != size or summed.hexdigest() != sha256:
        raise KeepingError(f"{name} in the backup is not what was put in. Take an earlier backup.")
