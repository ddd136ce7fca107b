"""Make the database and the first teacher; all else is done in the browser."""

import getpass
import os
import sys

from django.conf import settings
from django.contrib.auth import get_user_model
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError
from django.core.management.utils import get_random_secret_key

from studio.keeping import ready
from studio.keeping.backup import KeepingError
from studio.keeping.private import keep_private
from studio.management.commands.upgrade import told


def keep_secret_key() -> None:
    """Write the key that signs the sessions, once, readable by this user alone."""
    if os.environ.get("SECRET_KEY") or settings.SECRET_KEY_FILE.exists():
        return
    settings.SECRET_KEY_FILE.parent.mkdir(mode=0o700, exist_ok=True)
    handle = os.open(settings.SECRET_KEY_FILE, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "w") as file:
        file.write(get_random_secret_key())


class Command(BaseCommand):
    help = "Make (or bring up to date) the database, and add a teacher."

    def add_arguments(self, parser):
        parser.add_argument("--teacher", help="the name the teacher signs in with")
        parser.add_argument("--full-name", default="", help="as pages and reports show it")
        parser.add_argument(
            "--password", help="asked for when not given; kept out of the shell's history then"
        )

    def handle(self, *args, teacher, full_name, password, **options):
        try:
            keep_secret_key()
            done = ready.bring_up(settings.DATA_DIR / ready.BACKUPS)
        except KeepingError as error:
            raise CommandError(f"{error} The records stand as they were.") from error
        except OSError as error:
            raise CommandError(
                f"{settings.DATA_DIR} cannot be written ({error.strerror}). Give this user the "
                "right to write there. Nothing was changed."
            ) from error
        keep_private()
        self.stdout.write(told(done))
        teachers = get_user_model().objects.filter(is_staff=True, is_active=True)
        if not teacher and (count := teachers.count()):
            who = "A teacher may" if count == 1 else f"{count} teachers may"
            self.stdout.write(
                f"{who} sign in already. To add one: python manage.py begin --teacher NAME"
            )
            return
        name = (teacher or self.ask("The name you sign in with: ")).strip()
        if not name:
            raise CommandError("A teacher needs a name to sign in with; say --teacher NAME.")
        users = get_user_model().objects
        if users.filter(username=name).exists():
            raise CommandError(
                f"{name} is there already, and the login was left as it is. "
                f"To set a new password: python manage.py changepassword {name}"
            )
        user = get_user_model()(username=name, is_staff=True)
        user.first_name, _, user.last_name = full_name.strip().partition(" ")
        user.set_password(self.good_password(password, user))
        user.save()
        self.stdout.write(
            f"{name} may sign in. Start the site with: python manage.py serve\n"
            "Then open http://127.0.0.1:8000/ and open your first section."
        )

    def ask(self, prompt: str) -> str:
        if not sys.stdin.isatty():
            raise CommandError("There is nobody to ask; say --teacher NAME --password WORD.")
        return input(prompt)

    def good_password(self, password: str | None, user) -> str:
        if password is None:
            if not sys.stdin.isatty():
                raise CommandError("There is nobody to ask; say --password WORD.")
            password = getpass.getpass("A password: ")
            if getpass.getpass("Once more: ") != password:
                raise CommandError("The two passwords differ. Nothing was changed; try again.")
        try:
            validate_password(password, user)
        except ValidationError as error:
            raise CommandError(" ".join(error.messages)) from error
        return password
