"""What the site knows of each craft check: one descriptor a check, found by the register.

Pure: no table, no request. The mathematics is in ``craft``, what draws in ``reports``.
"""
