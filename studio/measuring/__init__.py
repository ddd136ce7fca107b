"""Readings: typed, from a file, by the student; the sheet and its saving.

Not what the readings mean.
"""
