"""Say whether the records and the files agree."""

from django.core.management.base import BaseCommand, CommandError

from studio.keeping import stored_files


class Command(BaseCommand):
    help = "Compare the records with the photographs' files: what is missing, damaged, or nobody's."
    requires_system_checks = ()

    def add_arguments(self, parser):
        parser.add_argument(
            "--sweep", action="store_true", help="delete files that no record names"
        )

    def handle(self, *args, sweep, **options):
        found = stored_files.look()
        for name in found.missing:
            self.stdout.write(f"missing   {name}: take it from a backup.")
        for name in found.damaged:
            self.stdout.write(f"damaged   {name}: take it from a backup.")
        for name in found.orphans:
            self.stdout.write(f"nobody's  {name}")
        if sweep:
            self.stdout.write(f"{stored_files.sweep(found.orphans)} files swept.")
        elif found.orphans:
            self.stdout.write("Say --sweep to delete what is nobody's.")
        if found.missing or found.damaged:
            raise CommandError(
                f"{len(found.missing)} missing, {len(found.damaged)} damaged.", returncode=1
            )
        if found.is_whole:
            self.stdout.write("Every record has its files, and every file its record.")
