"""The site's own settings, with passwords hashed fast and files in a folder that is thrown away."""

import tempfile
from pathlib import Path

from studio.settings import *  # noqa: F403

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
MEDIA_ROOT = Path(tempfile.mkdtemp(prefix="rim-and-reason-test-media-"))
SECRET_KEY = "only for tests"

# A file, as the site itself keeps it: the memory that a live server's threads would share locks
# whole tables, whatever the timeout, and a page that saves while it loads then fails at random.
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":  # noqa: F405
    DATABASES["default"]["TEST"] = {  # noqa: F405
        "NAME": str(Path(tempfile.mkdtemp(prefix="rim-and-reason-test-db-")) / "test.sqlite3")
    }

# The tests run two at a time as it is.
PHOTO_WORKERS = 1
