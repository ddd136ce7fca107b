"""Rubrics, assessments, marks and second looks. Writes live in ``rubrics.judging.marking``,
``rubrics.rubric.versions`` and ``rubrics.fairness``."""

from .assessments import Assessment, Mark, MarkChange, NextStep
from .fairness import Exemplar, MeasuringStudy, SecondLook, SecondLookPiece, Settled
from .reports import Report
from .rubrics import Criterion, Level, Limit, Rubric, RubricUse

__all__ = [
    "Assessment",
    "Criterion",
    "Exemplar",
    "Level",
    "Limit",
    "Mark",
    "MarkChange",
    "MeasuringStudy",
    "NextStep",
    "Report",
    "Rubric",
    "RubricUse",
    "SecondLook",
    "SecondLookPiece",
    "Settled",
]
