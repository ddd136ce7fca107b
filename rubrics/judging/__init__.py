"""Marks: suggestions, levels, reasons, grades, a student's own judgement. Not what is sent."""
