"""The command line of the site: ``rim-and-reason``, ``python -m studio`` and ``manage.py``."""

import os
import sys

from django.core.exceptions import ImproperlyConfigured
from django.core.management import execute_from_command_line


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studio.settings")
    try:
        execute_from_command_line(sys.argv)
    except ImproperlyConfigured as error:
        # What is wrong with the surroundings is said to who runs the site, without a traceback.
        sys.exit(str(error))


if __name__ == "__main__":
    main()
