"""Serve the site from this computer."""

from django.core.management.base import BaseCommand, CommandError

from studio.web.serving import serve


class Command(BaseCommand):
    help = "Serve the site from this computer until Ctrl-C."

    def add_arguments(self, parser):
        parser.add_argument("--host", default="127.0.0.1", help="address to listen on")
        parser.add_argument("--port", type=int, default=8000, help="port to listen on")

    def handle(self, *args, host, port, **options):
        try:
            serve(host, port, lambda address: self.stdout.write(f"Rim & Reason is at {address}"))
        except OSError as error:
            raise CommandError(
                f"Port {port} on {host} cannot be opened ({error.strerror}). "
                "Another program may hold it: try --port 8001."
            ) from error
