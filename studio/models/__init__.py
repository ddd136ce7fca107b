"""The records: people, plans, pieces, photos, firings. Writes live in ``studio.records``."""

from .firings import Firing, Kiln, Load, Outcome, WitnessCone
from .people import Enrolment, FailedSignIn, GradeBand, Membership, Section, Student
from .photos import Photo
from .pieces import Instrument, Piece, Reading, Stage
from .plans import Clay, ClayShrinkage, Plan, PlannedSize, Project

__all__ = [
    "Clay",
    "ClayShrinkage",
    "Enrolment",
    "FailedSignIn",
    "Firing",
    "GradeBand",
    "Instrument",
    "Kiln",
    "Load",
    "Membership",
    "Outcome",
    "Photo",
    "Piece",
    "Plan",
    "PlannedSize",
    "Project",
    "Reading",
    "Section",
    "Stage",
    "Student",
    "WitnessCone",
]
