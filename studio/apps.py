"""The records as an app; what ships with the site is made sure of after every migration."""

from django.apps import AppConfig
from django.db.models.signals import post_migrate


def _ensure_starters(using, **kwargs):
    # Models are ready only once every app is loaded.
    from studio.measuring.starter_instruments import ensure_instruments  # noqa: PLC0415
    from studio.projects.starter_clays import ensure_starter_clays  # noqa: PLC0415

    if using == "default":
        ensure_instruments()
        ensure_starter_clays()


class StudioConfig(AppConfig):
    name = "studio"
    verbose_name = "Records"

    def ready(self):
        post_migrate.connect(_ensure_starters, sender=self)
