"""Rubrics, their versions and the starter rubrics. No marks."""
