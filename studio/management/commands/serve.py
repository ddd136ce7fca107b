"""Serve the site from this computer."""

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from studio.keeping.private import keep_private
from studio.keeping.ready import why_not_served
from studio.web.serving import serve


class Command(BaseCommand):
    help = "Serve the site from this computer until Ctrl-C."

    def add_arguments(self, parser):
        parser.add_argument("--host", default="127.0.0.1", help="address to listen on")
        parser.add_argument("--port", type=int, default=8000, help="port to listen on")

    def handle(self, *args, host, port, **options):
        if why := why_not_served():
            raise CommandError(why)
        keep_private()
        if settings.HTTPS:
            self.stdout.write(
                f"HTTPS=1: open it through your proxy, which speaks HTTPS; the word of "
                f"{settings.TRUSTED_PROXY} is trusted, set TRUSTED_PROXY where it is another."
            )
        try:
            serve(host, port, lambda address: self.stdout.write(f"Rim & Reason is at {address}"))
        except OSError as error:
            raise CommandError(
                f"Port {port} on {host} cannot be opened ({error.strerror}). "
                "Another program may hold it: try --port 8001."
            ) from error
