"""Rubrics, suggestions, marks, grades and publishing."""
