#!/usr/bin/env python
"""The command line entry of the site."""

import os
import sys


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studio.settings")
    from django.core.management import execute_from_command_line  # noqa: PLC0415 - after the line above

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
