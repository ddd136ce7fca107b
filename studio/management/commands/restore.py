"""Put a backup back into an empty place."""

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from studio.keeping import backup, restore


class Command(BaseCommand):
    help = (
        "Put a backup back, after every sum in it was checked. DATABASE_URL and MEDIA_ROOT name "
        "the place, which has to be empty."
    )
    requires_system_checks = ()

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path, help="what backup wrote")

    def handle(self, *args, file, **options):
        try:
            count = restore.restore(file)
        except backup.KeepingError as error:
            raise CommandError(str(error)) from error
        self.stdout.write(
            f"The database and {count} files are back, every sum as it was. Sign-in codes that "
            "nobody used work only with the secret key they were made with; print new ones else."
        )
