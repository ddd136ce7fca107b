"""Squared foot: are the sides alike, the corners square, and does the piece stand."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from studio.ware.stages import STAGES

from .geometry import ROUNDING_OF_DIAGONAL, corner_angle, rounding_allowance
from .inputs import TooFewError, not_negative_numbers, positive_numbers, uncertainties
from .levels import Limit
from .plan import Plan
from .readings import Reading, ReadingsError
from .results import SquaredFoot
from .sheet import Sheet
from .verdict import judge

QUANTITIES = ("foot_side", "foot_diagonal")
ALSO = ("foot_gap",)
SIDES, DIAGONALS = 4, 2
RIGHT_ANGLE_DEG, FULL_TURN_DEG = 90.0, 360.0

# The corner before side k lies between sides k − 1 and k and faces diagonal 2 for odd corners,
# 1 for even ones: diagonal 1 joins corners 1 and 3, diagonal 2 joins corners 2 and 4.
_CORNERS = ((3, 0, 1), (0, 1, 0), (1, 2, 1), (2, 3, 0))


def squared_foot(
    sides_mm: Sequence[float | None] = (),
    diagonals_mm: Sequence[float | None] = (),
    gaps_mm: Sequence[float | None] = (),
    *,
    u_side_mm: float = 0.0,
    u_diagonal_mm: float = 0.0,
    u_gap_mm: float = 0.0,
    planned_side_mm: float | None = None,
    stage: str = "",
    gap_stage: str | None = None,
    limits: Mapping[str, Limit] | None = None,
) -> SquaredFoot:
    """Tell how square a foot is and how firmly it stands.

    Parameters
    ----------
    sides_mm : sequence of 4
        Sides over the flats, counter-clockwise; None for one that was not read. [mm]
    diagonals_mm : sequence of 2
        From the corner before side 1 to that before side 3, and from 2 to 4. [mm]
    gaps_mm : sequence of 4
        Gap over a flat table at the corner before side 1 .. 4; None for one that was not read,
        which is then taken to touch. [mm]
    u_side_mm, u_diagonal_mm, u_gap_mm : float
        Standard uncertainties of one reading of each kind. [mm]
    planned_side_mm : float, optional
        Planned side at this stage. [mm]
    stage, gap_stage : str
        Carried into the result.
    limits : mapping, optional
        Limits by "squared_foot.figure".

    Raises
    ------
    ReadingsError
        A value not finite or negative, or neither all sides, nor both diagonals, nor a gap.
    """
    sides = _padded(sides_mm, SIDES, "sides")
    diagonals = _padded(diagonals_mm, DIAGONALS, "diagonals")
    gaps = _padded(gaps_mm, SIDES, "gaps")
    positive_numbers(_known(sides), "A foot side")
    positive_numbers(_known(diagonals), "A diagonal of the foot")
    not_negative_numbers(_known(gaps), "A gap under the foot")
    uncertainties([u_side_mm, u_diagonal_mm, u_gap_mm], 3)
    whole_sides, whole_diagonals = None not in sides, None not in diagonals
    if not (whole_sides or whole_diagonals or _known(gaps)):
        raise TooFewError("The squared foot needs all four sides, or both diagonals.")

    figures: dict[str, object] = {}
    if whole_sides:
        mean = math.fsum(sides) / SIDES
        figures |= {
            "side_spread_mm": max(sides) - min(sides),
            "u_side_spread_mm": math.sqrt(2) * u_side_mm,
            "mean_side_mm": mean,
            "u_mean_side_mm": u_side_mm / math.sqrt(SIDES),
        }
        if planned_side_mm is not None:
            figures["plan_match_mm"] = mean - planned_side_mm
            figures["u_plan_match_mm"] = figures["u_mean_side_mm"]
    if whole_diagonals:
        figures["diagonal_difference_mm"] = abs(diagonals[0] - diagonals[1])
        figures["u_diagonal_difference_mm"] = math.sqrt(2) * u_diagonal_mm
    if whole_sides and whole_diagonals:
        figures |= _corners(sides, diagonals, u_side_mm, u_diagonal_mm)
    if _known(gaps):
        figures |= _rock(gaps, u_gap_mm)
    verdict, judged = judge(SquaredFoot, figures, limits)
    return SquaredFoot(
        stage=stage,
        verdict=verdict,
        judged=judged,
        sides_mm=tuple(sides),
        diagonals_mm=tuple(diagonals),
        gaps_mm=tuple(gaps),
        gap_stage=gap_stage,
        planned_side_mm=planned_side_mm,
        **figures,
    )


def _padded(values: Sequence[float | None], n: int, plural: str) -> list[float | None]:
    if len(values) > n:
        raise ReadingsError(f"A squared foot has {n} {plural}, and {len(values)} were given.")
    return [*values, *[None] * (n - len(values))]


def _known(values: Sequence[float | None]) -> list[float]:
    return [value for value in values if value is not None]


def _corners(
    sides: Sequence[float], diagonals: Sequence[float], u_side: float, u_diagonal: float
) -> dict[str, object]:
    """Corner angles, each told both ways round, and the rounding that they imply.

    Straight: by the law of cosines from the two sides and the diagonal that faces the corner.
    The other way: as the sum of the two angles into which the other diagonal cuts it. The mean
    of both is given. Rounded corners shorten what can be read of a diagonal; the shortening is
    found from the readings themselves.
    """
    allowance = rounding_allowance(sides, diagonals)
    full = [diagonal + allowance for diagonal in diagonals]
    angles, straight = [], []
    for before, after, facing in _CORNERS:
        direct = corner_angle(sides[before], sides[after], full[facing])
        through = full[1 - facing]
        opposite = (sides[before - 1], sides[(after + 1) % SIDES])
        parts = (
            corner_angle(sides[before], through, opposite[0]),
            corner_angle(sides[after], through, opposite[1]),
        )
        if direct is None or None in parts:
            raise ReadingsError(
                "These sides and diagonals cannot meet in a four-sided foot; read them again."
            )
        straight.append(direct)
        angles.append((direct + math.fsum(parts)) / 2)
    # Near a right angle an angle changes by 1/side for a shift of a side or √2/side of a diagonal.
    side = math.fsum(sides) / SIDES
    u_angle = math.degrees(math.hypot(u_side, u_side, math.sqrt(2) * u_diagonal) / side)
    u_radius = math.hypot(
        math.sqrt(2) * u_side / math.sqrt(SIDES), u_diagonal / math.sqrt(DIAGONALS)
    )
    return {
        "corners_deg": tuple(angles),
        "worst_corner_deg": max((a - RIGHT_ANGLE_DEG for a in angles), key=abs),
        "u_worst_corner_deg": u_angle,
        "corner_radius_mm": allowance / ROUNDING_OF_DIAGONAL,
        "u_corner_radius_mm": u_radius / ROUNDING_OF_DIAGONAL,
        "closure_deg": math.fsum(straight) - FULL_TURN_DEG,
        "u_closure_deg": 2 * u_angle,
    }


def _rock(gaps: Sequence[float | None], u_gap: float) -> dict[str, float]:
    """How far a corner lifts when the piece rocks on the opposite pair.

    For four feet on a table g1 − g2 + g3 − g4 does not depend on how the piece happens to stand,
    and is the gap at one corner when the three others touch. A gap that was not read touches.
    """
    signed = math.fsum(sign * (gap or 0.0) for sign, gap in zip((1, -1, 1, -1), gaps, strict=True))
    known = _known(gaps)
    all_read = len(known) == SIDES
    return {
        # A foot that stands on the middle of a bulged base has a gap at every corner and no rock.
        "lifted_mm": min(known) if all_read else None,
        "u_lifted_mm": u_gap if all_read else None,
        "rock_mm": abs(signed),
        "u_rock_mm": u_gap * math.sqrt(len(known)),
        "largest_gap_mm": max(known),
        "u_largest_gap_mm": u_gap,
    }


def from_sheet(sheet: Sheet, stage: str, plan: Plan) -> SquaredFoot:
    """Squared foot of the readings of one piece at a stage.

    Gaps are taken from the stage itself or, failing that, from the latest at which the piece
    was set on a flat table.
    """
    sides, u_side = _numbered(sheet.at(stage, "foot_side"), SIDES)
    diagonals, u_diagonal = _numbered(sheet.at(stage, "foot_diagonal"), DIAGONALS)
    gap_stage = next((at for at in (stage, *reversed(STAGES)) if sheet.at(at, "foot_gap")), None)
    gaps, u_gap = _numbered(sheet.at(gap_stage, "foot_gap") if gap_stage else (), SIDES)
    return squared_foot(
        sides,
        diagonals,
        gaps,
        u_side_mm=u_side,
        u_diagonal_mm=u_diagonal,
        u_gap_mm=u_gap,
        planned_side_mm=plan.planned_mm("foot_side", stage),
        stage=stage,
        gap_stage=gap_stage,
        limits=plan.limits,
    )


def _numbered(readings: Sequence[Reading], n: int) -> tuple[list[float | None], float]:
    """Values in the places that their names number, and the largest of their uncertainties."""
    values: list[float | None] = [None] * n
    for r in readings:
        if r.name not in _NUMBERS[:n]:
            raise ReadingsError(
                f"A reading of the foot is named “{r.name}”; name it by its number, 1 to {n}."
            )
        values[int(r.name) - 1] = r.value
    return values, max([r.u for r in readings], default=0.0)


_NUMBERS = ("1", "2", "3", "4")
