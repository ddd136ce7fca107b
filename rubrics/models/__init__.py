"""Rubrics, assessments and marks. Writes live in ``rubrics.judging.marking`` and
``rubrics.rubric.versions``."""

from .assessments import Assessment, Mark, MarkChange, NextStep
from .reports import Report
from .rubrics import Criterion, Level, Limit, Rubric, RubricUse

__all__ = [
    "Assessment",
    "Criterion",
    "Level",
    "Limit",
    "Mark",
    "MarkChange",
    "NextStep",
    "Report",
    "Rubric",
    "RubricUse",
]
