"""Which files the records name, which of them are there, and which nobody names."""

import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from django.apps import apps
from django.conf import settings
from django.db import models
from PIL import Image

from studio.models import Photo

FRESH_S = 3600
"""A file younger than this may belong to a photo that is being kept just now. [s]"""
_JPEG_END = b"\xff\xd9"


@dataclass(frozen=True, slots=True)
class Findings:
    """Names below the media folder, sorted."""

    missing: tuple[str, ...]
    """A record names them, and they are not there."""
    damaged: tuple[str, ...]
    """They are there, but are not the picture on record: cut off, or of another size."""
    orphans: tuple[str, ...]
    """No record names them, and they are older than an hour."""

    @property
    def is_whole(self) -> bool:
        return not (self.missing or self.damaged or self.orphans)


def named_files() -> Iterator[str]:
    """Every file that a record names, of any table."""
    for model in apps.get_models():
        fields = [f.name for f in model._meta.concrete_fields if isinstance(f, models.FileField)]
        if fields:
            for row in model._base_manager.values_list(*fields).iterator():
                yield from filter(None, row)


def present_files() -> Iterator[Path]:
    """Every file in the media folder, links aside."""
    root = Path(settings.MEDIA_ROOT)
    for path in root.rglob("*"):
        if path.is_file() and not path.is_symlink():
            yield path


def look() -> Findings:
    """Compare the records with the media folder; nothing is changed."""
    root = Path(settings.MEDIA_ROOT)
    named = set(named_files())
    now = time.time()
    missing = {name for name in named if not (root / name).is_file()}
    orphans = {
        str(path.relative_to(root))
        for path in present_files()
        if str(path.relative_to(root)) not in named and now - path.stat().st_mtime > FRESH_S
    }
    damaged = {
        name
        for name, size in _sizes_on_record()
        if name not in missing and not _is_whole_jpeg(root / name, size)
    }
    return Findings(tuple(sorted(missing)), tuple(sorted(damaged)), tuple(sorted(orphans)))


def sweep(orphans) -> int:
    """Delete files that no record names, looked up once more; return how many went."""
    root, named, gone = Path(settings.MEDIA_ROOT), set(named_files()), 0
    for name in orphans:
        if name not in named:
            (root / name).unlink(missing_ok=True)
            gone += 1
    return gone


def _sizes_on_record():
    """Each picture with its size on record [px]; None where only the larger one's is kept."""
    rows = Photo.objects.values_list("file", "middle", "small", "width", "height").iterator()
    for file, middle, small, width, height in rows:
        yield file, (width, height)
        yield from ((name, None) for name in (middle, small) if name)


def _is_whole_jpeg(path: Path, size: tuple[int, int] | None) -> bool:
    """Whether a picture has its size and its end; its middle is not decoded, for time."""
    try:
        with path.open("rb") as file:
            file.seek(-len(_JPEG_END), 2)
            if file.read() != _JPEG_END:
                return False
        with Image.open(path, formats=("JPEG",)) as image:
            return size is None or image.size == size
    except (OSError, ValueError, SyntaxError):
        return False
