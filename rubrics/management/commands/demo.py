"""Show the site with an invented class, in a database of its own."""

import hashlib
import os
import secrets
import shutil
import subprocess
import sys

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from rubrics.demo import build as demo
from studio.people.sign_in_codes import make_code
from studio.web.serving import serve


class Command(BaseCommand):
    help = (
        "Build an invented class with its batch of cups and serve it on 127.0.0.1. Everything is "
        "kept in the folder .demo; the real database is never opened."
    )
    requires_system_checks = ()

    def add_arguments(self, parser):
        parser.add_argument("--port", type=int, default=8000, help="port to serve on")
        parser.add_argument("--no-serve", action="store_true", help="stop before serving")
        parser.add_argument("--fresh", action="store_true", help="throw the old demo away first")
        parser.add_argument(
            "--password", help="for all three people; made up and printed when not given"
        )

    def handle(self, *args, port, no_serve, fresh, password, **options):
        if password is not None and not password.strip():
            raise CommandError("An empty password opens nothing; give a word, or leave it out.")
        if not settings.IS_DEMO:
            self.run_apart(port, no_serve, fresh, password)
            return
        self.build(password)
        if not no_serve:
            try:
                serve("127.0.0.1", port, lambda address: self.stdout.write(f"\nOpen {address}"))
            except OSError as error:
                raise CommandError(
                    f"Port {port} cannot be opened ({error.strerror}). Another program may hold "
                    f"it: try --port {port + 1}. The demo itself is built."
                ) from error

    def run_apart(self, port, no_serve, fresh, password) -> None:
        """Run this command again in a process that knows only the demo's database and files."""
        folder = settings.DEMO_DIR
        stamp = self.stamp()
        if folder.exists() and (fresh or self.stamp_kept() != stamp):
            shutil.rmtree(folder)
        (folder / "media").mkdir(parents=True, exist_ok=True)
        key = folder / "secret-key"
        if not key.exists():
            key.write_text(secrets.token_urlsafe(50))
        (folder / "stamp").write_text(stamp)
        environment = os.environ | {
            "DATABASE_URL": f"sqlite:///{folder / 'demo.sqlite3'}",
            "MEDIA_ROOT": str(folder / "media"),
            "SECRET_KEY": key.read_text(),
            "ALLOWED_HOSTS": "127.0.0.1,localhost",
            "DJANGO_SETTINGS_MODULE": "studio.settings",
            "HTTPS": "0",
            "PYTHONPATH": os.pathsep.join(sys.path),
        }
        command = [sys.executable, "-m", "studio", "demo", f"--port={port}"]
        command += ["--no-serve"] if no_serve else []
        command += [f"--password={password}"] if password else []
        try:
            done = subprocess.run(command, env=environment, check=False)
        except KeyboardInterrupt:
            return
        if done.returncode:
            sys.exit(done.returncode)

    def build(self, password) -> None:
        self.stdout.write("Building the demo: the people and their marks are invented …")
        call_command("migrate", verbosity=0)
        built = demo.build(settings.FIXTURES_DIR)
        words = {name: password or f"{make_code()}-{make_code()}" for name in demo.SHOWN_NAMES}
        demo.set_passwords(words)
        if built.is_new:
            self.stdout.write(
                f"{built.pieces} pieces, {built.readings} readings, "
                f"{built.photos} rendered photographs."
            )
        else:
            self.stdout.write("The demo was there already and stands as you left it.")
        for name, word in words.items():
            self.stdout.write(f"  {name:<14} {word}")

    def stamp(self) -> str:
        """Changes when the scenario or the tables do: an old demo is then built anew."""
        files = [
            *sorted((settings.FIXTURES_DIR / "demo").glob("*.*")),
            *sorted(settings.BASE_DIR.glob("*/migrations/0*.py")),
        ]
        digest = hashlib.sha256()
        for file in files:
            digest.update(file.read_bytes())
        return digest.hexdigest()

    def stamp_kept(self) -> str:
        kept = settings.DEMO_DIR / "stamp"
        return kept.read_text() if kept.exists() else ""
