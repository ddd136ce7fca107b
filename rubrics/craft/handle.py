"""Handle alignment: does it stand straight, sit where it was planned, and take the fingers."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from studio.ware.hands import USUAL_HAND
from studio.ware.stages import GLAZED, STAGES
from studio.ware.volume import rounded_square

from .angles import SAME_DIRECTION_DEG, wrap_full_turn, wrap_half_turn
from .fits import one_sided, propagate
from .geometry import DIAGONAL_OF_UNIT_SQUARE, ROUNDING_OF_DIAGONAL, profile_radius
from .inputs import (
    SMALLEST_SIZE,
    TooFewError,
    finite_numbers,
    not_negative_numbers,
    positive_numbers,
)
from .levels import Limit
from .plan import Plan
from .readings import Reading, ReadingsError
from .results import HandleAlignment, Judged, Station
from .sheet import PLANNED, READ, SCALED, Sheet, Size
from .verdict import judge

QUANTITIES = ("handle_top", "handle_bottom", "handle_twist")
ALSO = ("handle_opening",)

FINGER_SLACK_MM = 3.0
"""Room beside the fingers so that they slide in: common practice, no source. [mm]"""


def _lean_of(turn_deg: float, rise_mm: float, both_radii_mm: float) -> float:
    """Lean of a handle from upright, seen square on. [°]

    lean = atan((s_top − s_bottom) / (z_top − z_bottom)), s = R sin(az − az_mid), az_mid being
    the circular mean of the two azimuths: it does not change when the cup is turned. Positive:
    the top stands counter-clockwise of the bottom, by ``turn_deg`` seen from above.
    """
    sideways = both_radii_mm * math.sin(math.radians(turn_deg / 2))
    return math.degrees(math.atan2(sideways, rise_mm))


def finger_room(fingers: int, breadth_mm: float, *, slack: float = FINGER_SLACK_MM) -> float:
    """Height of opening that a number of fingers side by side needs. [mm]

    References
    ----------
    .. [1] FAA Human Factors Design Standard, appendix B, for breadths of adults' fingers. No
       percentiles for ages 13 to 18 are at hand: the plan's breadth is the teacher's to set.
    """
    return fingers * breadth_mm + slack


def handle_alignment(
    top: tuple[float, float] | None = None,
    bottom: tuple[float, float] | None = None,
    *,
    radius_top_mm: float | None = None,
    radius_bottom_mm: float | None = None,
    twist_deg: float | None = None,
    opening_height: Size | None = None,
    opening_depth: Size | None = None,
    glazed_growth: tuple[float, float] = (1.0, 0.0),
    seam_azimuth_deg: float | None = 180.0,
    planned_from_seam_deg: float = 180.0,
    either_way: bool = False,
    planned_by: str = "plan",
    fingers: int | None = None,
    finger_breadth_mm: float = USUAL_HAND.finger_breadth_mm,
    u_height_mm: float = 0.0,
    u_azimuth_deg: float = 0.0,
    u_radius_mm: float = 0.0,
    u_twist_deg: float = 0.0,
    radius_source: str = "given",
    stage: str = "",
    opening_stage: str | None = None,
    limits: Mapping[str, Limit] | None = None,
) -> HandleAlignment:
    """Tell how straight a handle stands, where it sits, and whether the fingers fit.

    Parameters
    ----------
    top, bottom : (azimuth, height), optional
        Middle of each attachment [°, mm]; both or neither.
    radius_top_mm, radius_bottom_mm : float, optional
        The cup's radius at each attachment [mm]; without them there is no lean.
    twist_deg : float, optional
        Angle between the handle's plane and the radius through its attachment. [°]
    opening_height, opening_depth : Size, optional
        Inside of the handle. [mm]
    glazed_growth : (ratio, its standard uncertainty)
        What an opening still shrinks by until it is glazed.
    seam_azimuth_deg, planned_from_seam_deg : float
        Where the seam is, None where nobody knows, and then there is no placement; how far
        counter-clockwise of it the handle was planned. [°]
    either_way : bool
        Whether the plan leaves open on which side of the seam the handle sits.
    planned_by : str
        Carried into the result.
    fingers, finger_breadth_mm : int, float
        Planned fingers and the breadth of one. [mm]
    u_height_mm, u_azimuth_deg, u_radius_mm, u_twist_deg : float
        Standard uncertainties of one reading of each kind.
    radius_source, stage, opening_stage : str
        Carried into the result.
    limits : mapping, optional
        Limits by "handle_alignment.figure"; the verdict is the worst.

    Raises
    ------
    ReadingsError
        A value not finite, one attachment without the other, or a top that is not above the
        bottom.
    """
    figures: dict[str, object] = {}
    if (top is None) != (bottom is None):
        missing = "upper" if top is None else "lower"
        raise TooFewError(f"The {missing} attachment of the handle was not read; read both.")
    if top is not None:
        _refuse_impossible(top, bottom)
        figures |= _lean(
            top,
            bottom,
            (radius_top_mm, radius_bottom_mm),
            (u_azimuth_deg, u_height_mm, u_radius_mm),
        )
        if seam_azimuth_deg is not None:
            middle = bottom[0] + wrap_half_turn(top[0] - bottom[0]) / 2
            figures["placement_deg"] = _placement(
                middle - seam_azimuth_deg, planned_from_seam_deg, either_way=either_way
            )
            # The mean of two azimuths, and the mat's zero set against the seam by the same eye.
            figures["u_placement_deg"] = u_azimuth_deg * math.sqrt(1 / 2 + 1)
        figures |= {
            "top": Station(top[1], top[1], wrap_full_turn(top[0])),
            "bottom": Station(bottom[1], bottom[1], wrap_full_turn(bottom[0])),
            "radius_top_mm": radius_top_mm,
            "radius_bottom_mm": radius_bottom_mm,
        }
    if twist_deg is not None:
        (twist,) = finite_numbers([twist_deg], "Twist of the handle")
        figures |= {"twist_deg": twist, "u_twist_deg": u_twist_deg}
    if opening_height or opening_depth:
        figures |= _openings(
            opening_height, opening_depth, glazed_growth, fingers, finger_breadth_mm
        )
    if not figures:
        raise TooFewError("Nothing was read at the handle at this stage.")
    verdict, judged = judge(HandleAlignment, figures, limits)
    return HandleAlignment(
        stage=stage,
        verdict=verdict,
        judged=judged,
        decides=_decides(judged),
        seam_azimuth_deg=None if seam_azimuth_deg is None else wrap_full_turn(seam_azimuth_deg),
        planned_from_seam_deg=planned_from_seam_deg,
        planned_by=planned_by,
        fingers=fingers,
        finger_breadth_mm=finger_breadth_mm if fingers else None,
        radius_source=radius_source if "lean_deg" in figures else "",
        opening_stage=opening_stage,
        **figures,
    )


def _placement(from_seam_deg: float, planned_deg: float, *, either_way: bool) -> float:
    """How far counter-clockwise of its planned place a handle sits. [°]

    A plan that holds for either side of the seam is compared with the nearer one.
    """
    planned = (planned_deg, -planned_deg) if either_way else (planned_deg,)
    return min((wrap_half_turn(from_seam_deg - each) for each in planned), key=abs)


def _lean(
    top: tuple[float, float],
    bottom: tuple[float, float],
    radii: tuple[float | None, float | None],
    us: tuple[float, float, float],
) -> dict[str, object]:
    """Lean with its uncertainty; ``us`` are those of azimuth, height and radius.

    Nothing where nobody knows how large the cup is.
    """
    if None in radii:
        return {}
    positive_numbers(radii, "A radius at the handle")
    # Two azimuths, two heights: each difference has √2 of one reading's u.
    u_turn, u_rise, u_radius = us[0] * math.sqrt(2), us[1] * math.sqrt(2), us[2]
    rise, turn = top[1] - bottom[1], wrap_half_turn(top[0] - bottom[0])

    value, u = propagate(
        _lean_of, (turn, rise, radii[0] + radii[1]), (u_turn, u_rise, 2 * u_radius)
    )
    return {"lean_deg": value, "u_lean_deg": u}


def _refuse_impossible(top: tuple[float, float], bottom: tuple[float, float]) -> None:
    finite_numbers([*top, *bottom], "Attachment reading")
    not_negative_numbers([top[1], bottom[1]], "A height of the handle's attachment")
    if top[1] - bottom[1] < SMALLEST_SIZE:
        raise ReadingsError(
            f"The handle's upper attachment ({top[1]:g} mm) is not above its lower one "
            f"({bottom[1]:g} mm); see whether the two were exchanged."
        )


def _openings(
    height: Size | None,
    depth: Size | None,
    glazed_growth: tuple[float, float],
    fingers: int | None,
    breadth: float,
) -> dict[str, object]:
    """The opening, and what room a glazed one leaves beside the planned fingers."""
    figures: dict[str, object] = {}
    ratio, u_ratio = glazed_growth
    # One finger's breadth and its slack is what any hand needs between handle and wall.
    needs = {"height": fingers, "depth": 1 if fingers else None}
    for name, size in (("height", height), ("depth", depth)):
        if size is None:
            continue
        (value,) = not_negative_numbers([size.value_mm], f"A {name} of the handle's opening")
        figures[f"opening_{name}_mm"], figures[f"u_opening_{name}_mm"] = value, size.u_mm
        if needs[name]:
            needed = finger_room(needs[name], breadth)
            key = "finger_room_mm" if name == "height" else "finger_depth_room_mm"
            figures[f"finger_{name}_needed_mm"] = needed
            figures[key] = value * ratio - needed
            figures[f"u_{key}"] = math.hypot(size.u_mm * ratio, value * u_ratio)
    lacking = [
        (-figures[key], figures[f"u_{key}"], name)
        for name, key in (("height", "finger_room_mm"), ("depth", "finger_depth_room_mm"))
        if key in figures
    ]
    if lacking:
        excess, u, figures["opening_short_in"] = max(lacking)
        figures["opening_short_mm"], figures["u_opening_short_mm"] = one_sided(excess, u)
    figures["opening_source"] = "read" if glazed_growth == (1.0, 0.0) else "expected"
    return figures


def _decides(judged: Sequence[Judged]) -> str | None:
    """The figure nearest to its limit, or furthest beyond it."""
    if not judged:
        return None
    return max(judged, key=lambda j: abs(j.value) / j.limit if j.limit else math.inf).figure


_FROM_BEST = (READ, SCALED, PLANNED)


def cup_radii(
    heights_mm: Sequence[float], stage: str, sheet: Sheet, plan: Plan
) -> list[Size] | None:
    """Outside radii of the cup at some heights, between foot and rim by straight lines.

    A squared foot counts with the circle of the same perimeter. Its own radius runs from half
    its side to half its diagonal, and nobody says which of them the handle stands over: that
    range is taken as a rectangular uncertainty, fading towards the round rim. Diameters
    read at a height on the way are used as they are.
    """
    sizes = {key: sheet.size(key, stage, plan) for key in ("height", "rim_diameter", "foot_side")}
    if None in sizes.values():
        return None
    top, rim, foot = (sizes[key] for key in ("height", "rim_diameter", "foot_side"))
    growth = plan.growth(GLAZED, stage) or (1.0, 0.0)
    corner = min(plan.foot_corner_radius_mm * growth[0], foot.value_mm / 2)
    foot_radius = rounded_square(foot.value_mm, corner).perimeter / (2 * math.pi)
    diagonal = foot.value_mm * DIAGONAL_OF_UNIT_SQUARE - ROUNDING_OF_DIAGONAL * corner
    u_shape = (diagonal - foot.value_mm) / 2 / math.sqrt(12)
    between = [(z, size.value_mm / 2) for z, size in sheet.diameters(stage, top.value_mm)]
    shoulder = None if between else plan.shoulder_at(stage, top.value_mm)
    if shoulder is not None:
        between = [(shoulder, rim.value_mm / 2)]
    profile = [(0.0, foot_radius), *between, (top.value_mm, rim.value_mm / 2)]
    first_round = profile[1][0]
    source = max((size.source for size in (top, rim, foot)), key=_FROM_BEST.index)
    radii = []
    for height in heights_mm:
        share = max(0.0, 1 - height / first_round)
        u = math.hypot(u_shape * share, foot.u_mm / 2 * share, rim.u_mm / 2 * (1 - share))
        radii.append(Size(profile_radius(height, profile), u, source))
    return radii


def from_sheet(sheet: Sheet, stage: str, plan: Plan) -> HandleAlignment:
    """Handle alignment of the readings of one piece at a stage."""
    top, bottom = sheet.at(stage, "handle_top"), sheet.at(stage, "handle_bottom")
    twist = sheet.at(stage, "handle_twist")
    for r in (*top, *bottom):
        if r.azimuth_deg is None:
            raise ReadingsError(
                "A handle attachment lacks its place round the cup; say at which angle it sits."
            )
    radii = None
    if top and bottom:
        radii = cup_radii((top[-1].value, bottom[-1].value), stage, sheet, plan)
    opening_stage, openings = _opening(sheet, stage)
    growth = plan.growth(opening_stage, GLAZED) if opening_stage else None
    ends = [*top[-1:], *bottom[-1:]]
    return handle_alignment(
        _place(top),
        _place(bottom),
        radius_top_mm=radii[0].value_mm if radii else None,
        radius_bottom_mm=radii[1].value_mm if radii else None,
        radius_source=radii[0].source if radii else "",
        u_radius_mm=max(size.u_mm for size in radii) if radii else 0.0,
        twist_deg=twist[-1].value if twist else None,
        u_twist_deg=twist[-1].u if twist else 0.0,
        opening_height=openings.get("height"),
        opening_depth=openings.get("depth"),
        opening_stage=opening_stage,
        glazed_growth=growth or (1.0, 0.0),
        seam_azimuth_deg=_seam_azimuth(sheet, stage, plan),
        planned_from_seam_deg=plan.handle_wanted_deg,
        either_way=plan.handle_either_way,
        planned_by="plan" if plan.handle_intent_deg is None else "student",
        fingers=plan.fingers or None,
        finger_breadth_mm=plan.finger_breadth_mm,
        u_height_mm=max((r.u for r in ends), default=0.0),
        u_azimuth_deg=plan.azimuth_u_deg,
        stage=stage,
        limits=plan.limits,
    )


def _place(readings: Sequence[Reading]) -> tuple[float, float] | None:
    return (readings[-1].azimuth_deg, readings[-1].value) if readings else None


def _opening(sheet: Sheet, stage: str) -> tuple[str | None, dict[str, Size]]:
    """The opening and its stage: glazed where it was read then, for that is the one that counts."""
    for at in (GLAZED, stage, *reversed(STAGES)):
        readings = sheet.at(at, "handle_opening")
        if readings:
            return at, {r.name: Size(r.value, r.u, READ) for r in readings}
    return None, {}


def _seam_azimuth(sheet: Sheet, stage: str, plan: Plan) -> float | None:
    """Where the seam is: as read with its length, else where the planned handle puts it.

    Azimuths count from where the handle is planned, so the plan has the seam at minus the
    handle's angle from it. Where the student planned it elsewhere, the zero may stand by either
    plan, and only a seam that was read says where it is.
    """
    for r in sheet.at(stage, "seam_length"):
        if r.name in {"", "seam"} and r.azimuth_deg is not None:
            return r.azimuth_deg
    agree = abs(wrap_half_turn(plan.handle_wanted_deg - plan.handle_from_seam_deg))
    if agree > SAME_DIRECTION_DEG:
        return None
    return -plan.handle_from_seam_deg
