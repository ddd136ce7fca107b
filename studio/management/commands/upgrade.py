"""Bring the records up to date with the code, with a backup before."""

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from studio.keeping import ready
from studio.keeping.backup import KeepingError
from studio.keeping.private import keep_private


class Command(BaseCommand):
    help = (
        "Bring the records up to date after new code was put in place: a backup into the folder "
        "of the data first, then every step that is missing. Stop the site before."
    )
    requires_system_checks = ()

    def handle(self, *args, **options):
        try:
            if not ready.is_begun():
                raise CommandError("There are no records here yet. First: python manage.py begin")
            done = ready.bring_up(settings.DATA_DIR / ready.BACKUPS)
        except KeepingError as error:
            raise CommandError(f"{error} The records stand as they were.") from error
        keep_private()
        self.stdout.write(told(done))


def told(done: ready.BroughtUp) -> str:
    """What bringing up to date did, in a sentence."""
    if not done.steps:
        return "The records are up to date; nothing was changed."
    steps = f"{done.steps} step{'' if done.steps == 1 else 's'}"
    if done.backup is None:
        return "The database is ready."
    return f"The records are up to date now ({steps}). As they were before: {done.backup}"
