"""Rubrics, assessments, marks, critiques and second looks. Writes live in
``rubrics.judging.marking``, ``rubrics.rubric.versions``, ``rubrics.critique`` and
``rubrics.fairness``."""

from .assessments import Assessment, Mark, MarkChange, NextStep
from .critique import (
    AnchorCup,
    Critique,
    EyeLevel,
    EyeSetting,
    KeptApart,
    Look,
    Remark,
    Shown,
)
from .fairness import (
    Exemplar,
    MeasuringStudy,
    SecondLook,
    SecondLookPiece,
    Settled,
    ShelfOrder,
)
from .reports import Report
from .rubrics import Criterion, Level, Limit, Rubric, RubricUse

__all__ = [
    "AnchorCup",
    "Assessment",
    "Criterion",
    "Critique",
    "Exemplar",
    "EyeLevel",
    "EyeSetting",
    "KeptApart",
    "Level",
    "Limit",
    "Look",
    "Mark",
    "MarkChange",
    "MeasuringStudy",
    "NextStep",
    "Remark",
    "Report",
    "Rubric",
    "RubricUse",
    "SecondLook",
    "SecondLookPiece",
    "Settled",
    "ShelfOrder",
    "Shown",
]
