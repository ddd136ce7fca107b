"""Sections, students, sign-in codes, class lists, removal: every write and look-up of people.

No grades.
"""
