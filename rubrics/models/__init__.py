"""Rubrics, assessments, marks and critiques. Writes live in ``rubrics.judging.marking``,
``rubrics.rubric.versions`` and ``rubrics.critique``."""

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
from .reports import Report
from .rubrics import Criterion, Level, Limit, Rubric, RubricUse

__all__ = [
    "AnchorCup",
    "Assessment",
    "Criterion",
    "Critique",
    "EyeLevel",
    "EyeSetting",
    "KeptApart",
    "Level",
    "Limit",
    "Look",
    "Mark",
    "MarkChange",
    "NextStep",
    "Remark",
    "Report",
    "Rubric",
    "RubricUse",
    "Shown",
]
