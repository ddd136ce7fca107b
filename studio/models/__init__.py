"""The records: people, plans, pieces, photos, firings.

Writes live in ``studio.measuring.readings``.
"""

from .clay_tests import AbsorptionTest, BarReading, ClayBar
from .firings import Firing, FiringLog, Kiln, Load, Outcome, RampSegment, WitnessCone
from .glazes import GlazeCoat
from .habits import HabitTick
from .people import (
    Enrolment,
    GradeBand,
    Membership,
    Section,
    SignInCode,
    Student,
)
from .photos import MatPrint, Photo, Turning
from .pieces import Instrument, Piece, Reading, Stage
from .plans import Clay, ClayShrinkage, Plan, PlannedSize, Project
from .trust import Act, FailedSignIn, PlaceRequest

__all__ = [
    "AbsorptionTest",
    "Act",
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
    "PlaceRequest",
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
