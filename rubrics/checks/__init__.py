"""What the site knows of each craft check: one descriptor a check.

The mathematics is in ``craft``.
"""
