"""Django's app of static files, less those that no page loads."""

from django.contrib.staticfiles.apps import StaticFilesConfig


class StaticFiles(StaticFilesConfig):
    """htmx's extensions are left out: they name files that their package does not carry."""

    ignore_patterns = [*StaticFilesConfig.ignore_patterns, "ext"]
