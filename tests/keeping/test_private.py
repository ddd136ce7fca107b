"""The database and the photographs are the owner's alone."""

import stat
from pathlib import Path
from types import SimpleNamespace

import pytest

from studio.keeping import private


@pytest.fixture
def place(monkeypatch, tmp_path):
    """Settings of a site of its own, with its folders and files open to everybody."""
    own = SimpleNamespace(
        DATA_DIR=tmp_path / "data",
        MEDIA_ROOT=tmp_path / "media",
        PHOTO_ACCEL_PREFIX="",
        DATABASES={
            "default": {"ENGINE": "django.db.backends.sqlite3", "NAME": str(tmp_path / "a.sqlite3")}
        },
    )
    monkeypatch.setattr(private, "settings", own)
    for folder in (own.DATA_DIR, own.MEDIA_ROOT):
        folder.mkdir()
        folder.chmod(0o755)
    for tail in ("", "-wal"):
        path = Path(own.DATABASES["default"]["NAME"] + tail)
        path.write_text("x")
        path.chmod(0o644)
    return own


def test_what_others_could_read_is_shut(place):
    assert len(private.keep_private()) == 4
    modes = {stat.S_IMODE(path.stat().st_mode) for path in private.places()}
    assert modes == {0o700, 0o600}
    assert private.keep_private() == []


def test_a_web_server_that_sends_the_photographs_keeps_its_right(place):
    place.PHOTO_ACCEL_PREFIX = "/inside/"
    assert place.MEDIA_ROOT not in private.places()
