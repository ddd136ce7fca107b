"""A backup made while the site serves, put back into an empty place, sum by sum."""

import io
import os
import sqlite3
import stat
import subprocess
import sys
import zipfile
from pathlib import Path
from urllib.parse import quote

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.db import connection
from PIL import Image

from studio.keeping import backup, stored_files
from studio.models import Photo, Reading
from studio.photos import storing
from tests.factories import read_rim

pytestmark = pytest.mark.django_db(transaction=True)
IS_POSTGRES = settings.DATABASES["default"]["ENGINE"].endswith("postgresql")
ROOT = Path(__file__).parents[2]


@pytest.fixture
def kept(school, settings, tmp_path):
    """A school with readings that no checkpoint has seen, and a photo."""
    settings.MEDIA_ROOT = tmp_path / "media"
    read_rim(school.piece, *range(80, 100))
    picture = io.BytesIO()
    Image.new("RGB", (64, 48), "tan").save(picture, "JPEG")
    taken = storing.take_in(picture.getvalue(), "a.jpg")
    school.photo = storing.store(school.section, school.piece, taken, school.teacher)
    return school


@pytest.fixture
def elsewhere(tmp_path):
    """The environment of an empty place, and a way to ask its database."""
    media = tmp_path / "elsewhere" / "media"
    if not IS_POSTGRES:
        file = tmp_path / "elsewhere" / "studio.sqlite3"
        yield {"DATABASE_URL": f"sqlite:///{file}", "MEDIA_ROOT": str(media)}
        return
    told = connection.settings_dict
    with connection.cursor() as cursor:
        cursor.execute("DROP DATABASE IF EXISTS restored")
        cursor.execute("CREATE DATABASE restored")
    who = f"{quote(told['USER'])}:{quote(told['PASSWORD'] or '')}@{told['HOST']}:{told['PORT']}"
    yield {"DATABASE_URL": f"postgres://{who}/restored", "MEDIA_ROOT": str(media)}
    with connection.cursor() as cursor:
        cursor.execute("DROP DATABASE IF EXISTS restored WITH (FORCE)")


def run(elsewhere, *words):
    """A command of the site in that place, in a process of its own."""
    own = os.environ | elsewhere | {"DJANGO_SETTINGS_MODULE": "studio.settings"}
    done = subprocess.run(
        [sys.executable, "manage.py", *map(str, words)],
        cwd=ROOT,
        env=own,
        capture_output=True,
        text=True,
        check=False,
    )
    return done.returncode, done.stdout + done.stderr


COUNT = "from studio.models import Reading; print('READINGS', Reading.objects.count())"


def test_a_backup_comes_back_whole_in_an_empty_place(kept, elsewhere, tmp_path):
    file = tmp_path / "kept.zip"
    made = backup.make(file)
    assert (made.files, made.missing) == (3, ())
    code, said = run(elsewhere, "restore", file)
    assert code == 0, said
    # Every reading was acknowledged before the backup began.
    assert f"READINGS {Reading.objects.count()}" in run(elsewhere, "shell", "-c", COUNT)[1]
    for name in (kept.photo.file.name, kept.photo.middle.name, kept.photo.small.name):
        here, there = Path(settings.MEDIA_ROOT) / name, Path(elsewhere["MEDIA_ROOT"]) / name
        assert here.read_bytes() == there.read_bytes()
    code, said = run(elsewhere, "check_store")
    assert (code, "Every record has its files" in said) == (0, True), said
    # A place that holds records is never written over.
    code, said = run(elsewhere, "restore", file)
    assert code == 1
    assert "nothing is ever written over them" in said


@pytest.mark.skipif(IS_POSTGRES, reason="a file of SQLite")
def test_what_is_only_in_the_write_ahead_log_is_in_the_backup(kept, tmp_path):
    file, own = tmp_path / "kept.zip", tmp_path / "own.sqlite3"
    name = connection.settings_dict["NAME"]
    assert Path(f"{name}-wal").stat().st_size > 0
    backup.make(file)
    with zipfile.ZipFile(file) as parcel:
        own.write_bytes(parcel.read(backup.SQLITE))
    with sqlite3.connect(own) as there:
        found = there.execute("SELECT count(*) FROM studio_reading").fetchone()[0]
    assert found == Reading.objects.count() == 20


def test_only_the_owner_reads_a_backup_and_no_other_is_overwritten(kept, tmp_path):
    file = tmp_path / "kept.zip"
    backup.make(file)
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    before = file.read_bytes()
    with pytest.raises(backup.KeepingError, match="no backup is overwritten"):
        backup.make(file)
    assert file.read_bytes() == before
    assert [path.name for path in tmp_path.glob("kept*")] == ["kept.zip"]


def test_a_place_that_cannot_be_written_is_told_and_leaves_nothing(kept, tmp_path):
    with pytest.raises(CommandError, match="could not be written"):
        call_command("backup", str(tmp_path / "no-such-folder" / "kept.zip"))


@pytest.mark.parametrize("damage", ["photo", "database", "end", "manifest", "nothing of ours"])
def test_a_damaged_backup_is_refused_before_anything_is_written(kept, elsewhere, tmp_path, damage):
    file = tmp_path / "kept.zip"
    backup.make(file)
    data = bytearray(file.read_bytes())
    with zipfile.ZipFile(file) as parcel:
        names = {
            "photo": backup.MEDIA + kept.photo.file.name,
            "database": next(n for n in parcel.namelist() if n.startswith("database")),
            "manifest": backup.MANIFEST,
        }
        if damage in names:
            at = parcel.getinfo(names[damage]).header_offset + 200
            data[at] ^= 0xFF
    if damage == "end":
        del data[-100:]
    elif damage == "nothing of ours":
        data = bytearray(b"name,number\n")
    file.write_bytes(data)
    code, said = run(elsewhere, "restore", file)
    assert code == 1, said
    assert "Traceback" not in said
    assert any(word in said for word in ("damaged", "not what was put in", "no backup of this"))
    assert not Path(elsewhere["MEDIA_ROOT"]).exists()


def test_a_backup_that_names_a_file_outside_is_refused(tmp_path):
    file = tmp_path / "bad.zip"
    with zipfile.ZipFile(file, "w") as parcel:
        entry = '{"size": 1, "sha256": "0"}'
        parcel.writestr(
            backup.MANIFEST,
            '{"format": 1, "database": "database.sqlite3", "files": {"database.sqlite3": '
            f'{entry}, "media/../../x": {entry}}}}}',
        )
    with zipfile.ZipFile(file) as parcel, pytest.raises(backup.KeepingError, match="outside"):
        backup.read_manifest(parcel)


def test_a_photo_whose_file_is_gone_is_told_and_the_rest_is_kept(kept, tmp_path, capsys):
    (Path(settings.MEDIA_ROOT) / kept.photo.small.name).unlink()
    call_command("backup", str(tmp_path / "kept.zip"))
    assert kept.photo.small.name in capsys.readouterr().err


def test_what_is_missing_damaged_and_nobody_s_is_found(kept, capsys):
    root = Path(settings.MEDIA_ROOT)
    assert stored_files.look().is_whole
    (root / kept.photo.small.name).unlink()
    full = root / kept.photo.file.name
    full.write_bytes(full.read_bytes()[:-50])
    old, new = root / "photos" / "old.jpg", root / "photos" / "new.jpg"
    for path in (old, new):
        path.write_bytes(b"x")
    long_ago = old.stat().st_mtime - 2 * stored_files.FRESH_S
    os.utime(old, (long_ago, long_ago))
    found = stored_files.look()
    assert found.missing == (kept.photo.small.name,)
    assert found.damaged == (kept.photo.file.name,)
    # One that was just written may belong to a photo that is being kept.
    assert found.orphans == ("photos/old.jpg",)
    with pytest.raises(CommandError, match="1 missing, 1 damaged"):
        call_command("check_store", "--sweep")
    assert "1 files swept" in capsys.readouterr().out
    assert not old.exists()
    assert new.exists()
    assert Photo.objects.count() == 1


def test_a_picture_of_another_size_is_not_the_one_on_record(kept):
    path = Path(settings.MEDIA_ROOT) / kept.photo.file.name
    Image.new("RGB", (32, 32), "tan").save(path, "JPEG")
    assert stored_files.look().damaged == (kept.photo.file.name,)


def test_photographs_are_the_owner_s_alone(kept):
    path = Path(settings.MEDIA_ROOT) / kept.photo.file.name
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert stat.S_IMODE(path.parent.stat().st_mode) == 0o700
