"""Clays, projects, plans and pieces: every write to them and what their pages show.

No readings, no photographs.
"""
