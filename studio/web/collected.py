"""Static files gathered in one folder, compressed, under names that change with their content."""

from __future__ import annotations

from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles.storage import StaticFilesStorage
from django.core.management import call_command
from whitenoise.storage import CompressedManifestStaticFilesStorage

MANIFEST = "staticfiles.json"
FOLDER = "static"
NOT_LOADED = "django_htmx/ext/"
"""htmx's extensions, which no page loads: they name files that their package does not carry."""


class CollectedFiles(CompressedManifestStaticFilesStorage):
    """Names with a digest once files were collected; before that, their own names."""

    manifest_name = MANIFEST
    manifest_strict = False
    # Modules load one another by name: those names change too.
    support_js_module_import_aggregation = True

    def post_process(self, paths, *args, **kwargs):
        loaded = {name: each for name, each in paths.items() if not name.startswith(NOT_LOADED)}
        return super().post_process(loaded, *args, **kwargs)

    def read_manifest(self):
        return super().read_manifest() if settings.STATIC_IS_COLLECTED else None

    def url(self, name, force=False):
        if settings.STATIC_IS_COLLECTED or force:
            return super().url(name, force)
        return StaticFilesStorage.url(self, name)


def collect() -> None:
    """Gather the static files for this process to send; into the folder of the data, where
    ``STATIC_ROOT`` names no other. Where that cannot be written to, they are sent as they lie.
    """
    folder = Path(settings.STATIC_ROOT or settings.DATA_DIR / FOLDER)
    before = settings.STATIC_ROOT
    settings.STATIC_ROOT = str(folder)
    try:
        call_command("collectstatic", interactive=False, clear=True, verbosity=0)
    except OSError:
        settings.STATIC_ROOT = before
        return
    settings.STATIC_IS_COLLECTED = True
