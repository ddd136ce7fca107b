"""Show the site with an invented class, in a database of its own."""

import hashlib
import json
import os
import secrets
import shutil
import subprocess
import sys
import urllib.request
from http import HTTPStatus
from pathlib import Path

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from rubrics.demo import build as demo
from studio.keeping.places import sqlite_url
from studio.people.sign_in_codes import make_code
from studio.web.serving import serve

APART = "RIM_AND_REASON_DEMO_APART"
"""Set for the process that serves the demo."""
OWNER_ONLY = 0o600
ANSWER_S = 2.0


def answers(address: str) -> bool:
    """Whether the site answers at an address. [s]"""
    try:
        with urllib.request.urlopen(f"{address}health/", timeout=ANSWER_S) as answer:
            return answer.status == HTTPStatus.OK
    except OSError:
        return False


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
            if os.environ.get(APART):
                # A child that is not at home would call a child of its own, and so on.
                raise CommandError(
                    f"The demo does not find its own folder {settings.DEMO_DIR}. Move the site to "
                    "a folder with a plainer name, and try again."
                )
            self.run_apart(port, no_serve, fresh, password)
            return
        self.build(password)
        if not no_serve:
            try:
                serve("127.0.0.1", port, self.announce)
            except OSError as error:
                raise CommandError(self.why_not_open(port, error)) from error

    def announce(self, address: str) -> None:
        self.address.write_text(address)
        self.stdout.write(f"\nOpen {address}\nIt is kept in {settings.DEMO_DIR}.")

    @property
    def address(self) -> Path:
        return settings.DEMO_DIR / "address"

    def why_not_open(self, port: int, error: OSError) -> str:
        """Why a port cannot be opened; the demo itself may hold it."""
        address = f"http://127.0.0.1:{port}/"
        if self.address.exists() and self.address.read_text() == address and answers(address):
            return f"The demo runs already: open {address}, or stop it where it was started."
        return (
            f"Port {port} cannot be opened ({error.strerror}). Another program may hold it: "
            f"try --port {port + 1}. The demo itself is built."
        )

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
            APART: "1",
            "DATABASE_URL": sqlite_url(folder / "demo.sqlite3"),
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
        words = self.words(password)
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

    def words(self, password: str | None) -> dict[str, str]:
        """The passwords by name: those of the last time, where no other one is asked for."""
        kept = settings.DEMO_DIR / "passwords"
        if password is None and kept.exists():
            words = json.loads(kept.read_text())
            if words.keys() == set(demo.SHOWN_NAMES):
                return words
        words = {name: password or f"{make_code()}-{make_code()}" for name in demo.SHOWN_NAMES}
        kept.write_text(json.dumps(words))
        kept.chmod(OWNER_ONLY)
        return words

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
