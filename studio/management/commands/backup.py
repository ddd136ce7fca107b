"""Write the database and the photographs into one file, while the site serves."""

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from studio.keeping import backup


class Command(BaseCommand):
    help = (
        "Write the database and the photographs into one file with a sum of each, while the site "
        "goes on serving. It holds everything about the students: keep it where nobody else reads."
    )
    requires_system_checks = ()

    def add_arguments(self, parser):
        parser.add_argument("file", type=Path, help="a file that does not exist yet")

    def handle(self, *args, file, **options):
        try:
            made = backup.make(file)
        except backup.KeepingError as error:
            raise CommandError(str(error)) from error
        self.stdout.write(
            f"{file}: the database and {made.files} files, {made.size / 1e6:.1f} MB. "
            f"Try it: python manage.py restore {file}, into an empty place."
        )
        for name in made.missing:
            self.stderr.write(f"A record names {name}, but the file is gone.")
