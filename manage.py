#!/usr/bin/env python
"""The command line of the site in a checkout."""

from studio.__main__ import main

if __name__ == "__main__":
    main()
