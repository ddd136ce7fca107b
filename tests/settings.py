"""The site's own settings, with passwords hashed fast and files kept in a folder that is thrown away."""

import tempfile
from pathlib import Path

from studio.settings import *  # noqa: F403

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
MEDIA_ROOT = Path(tempfile.mkdtemp(prefix="rim-and-reason-test-media-"))
SECRET_KEY = "only for tests"
