"""The records: people, plans, pieces, photos, firings.

Writes live in ``studio.measuring.readings``.
"""

from .clay_tests import AbsorptionTest, BarReading, ClayBar
from .firings import Firing, FiringLog, Kiln, Load, Outcome, RampSegment, WitnessCone
from .glazes import GlazeCoat
from .habits import HabitTick
from .people import (
    Enrolment,
    FailedSignIn,
    GradeBand,
    Membership,
    Section,
    SignInCode,
    Student,
)
from .photos import MatPrint, Photo, Turning
from .pieces import Instrument, Piece, Reading, Stage
from .plans import Clay, ClayShrinkage, Plan, PlannedSize, Project

__all__ = [
    "AbsorptionTest",
    "BarReading",
    "Clay",
    "ClayBar",
    "ClayShrinkage",
    "Enrolment",
    "FailedSignIn",
    "Firing",
    "FiringLog",
    "GlazeCoat",
    "GradeBand",
    "HabitTick",
    "Instrument",
    "Kiln",
    "Load",
    "MatPrint",
    "Membership",
    "Outcome",
    "Photo",
    "Piece",
    "Plan",
    "PlannedSize",
    "Project",
    "RampSegment",
    "Reading",
    "Section",
    "SignInCode",
    "Stage",
    "Student",
    "Turning",
    "WitnessCone",
]
