"""Static files that are made here: the fonts of the pages, once, where the site keeps its data."""

from __future__ import annotations

import os
import shutil
import tempfile
from functools import cache
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles import utils
from django.contrib.staticfiles.finders import BaseFinder
from django.core.files.storage import FileSystemStorage

from studio.lettering import web

PREFIX = "fonts"


@cache
def font_folder() -> Path:
    """The folder with the fonts, made where it is not there yet.

    Where the site's own folder cannot be written to, they lie in a temporary one.
    """
    folder = settings.DATA_DIR / f"fonts-{web.key()}"
    if folder.is_dir():
        return folder
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        made = Path(tempfile.mkdtemp(dir=folder.parent, prefix="fonts-"))
    except OSError:
        made = Path(tempfile.mkdtemp(prefix="rim-and-reason-fonts-"))
        web.make(made)
        return made
    web.make(made)
    made.chmod(0o755)
    try:
        os.rename(made, folder)
    except OSError:  # another process was faster
        shutil.rmtree(made)
    return folder


class WebFontFinder(BaseFinder):
    """Finds the made fonts under ``fonts/``, for serving and for collecting."""

    def check(self, **kwargs):
        return []

    def find(self, path, find_all=False, **kwargs):
        head, _, name = path.partition("/")
        found = font_folder() / name if head == PREFIX and name and "/" not in name else None
        if found is None or not found.is_file():
            return []
        return [str(found)] if find_all else str(found)

    def list(self, ignore_patterns):
        storage = FileSystemStorage(location=font_folder())
        storage.prefix = PREFIX
        for name in utils.get_files(storage, ignore_patterns):
            yield name, storage
