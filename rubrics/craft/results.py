"""What a craft check hands back: figures with their uncertainty, a verdict, and the facts.

Every result names its figures in ``FIGURES``. A figure ``x`` has beside it ``u_x``, its standard
uncertainty in the same unit, or None where there is none to give. Lengths are in millimetres,
angles in degrees, volumes in millilitres; fractions are fractions, not per cent. A figure that
the readings cannot tell is None; none is ever NaN.

Nothing changes a result once it is made. It is not frozen all the same: to set a frozen field
costs several times an ordinary one, and made a fifth of the time of all checks.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from .parts import DimensionShrinkage, Join, Judged, Refused, Station

WITHIN = "within"
TOO_CLOSE = "too close to call"
OUTSIDE = "outside"


@dataclass(slots=True, kw_only=True)
class WallEvenness:
    """How even the wall is, and in what pattern it is not.

    ``foot_to_rim_mm_per_10mm`` is positive where the wall thickens towards the rim.
    ``residual_mm`` is the standard deviation of what the pattern leaves: unevenness proper.
    ``plan_match_mm`` is the mean less the planned thickness at this stage.
    ``scaled_spread_mm`` is the spread that the habit of twelve readings would be expected to
    give: the spread grows with the number of readings, this does not. ``too_thin_mm`` is how far
    the thinnest place lies under ``floor_mm``, ``too_thick_mm`` how far the thickest lies over
    ``ceiling_mm``; 0 where neither is passed.
    """

    check: ClassVar[str] = "wall_evenness"
    FIGURES: ClassVar[tuple[str, ...]] = (
        "spread_mm",
        "scaled_spread_mm",
        "too_thin_mm",
        "too_thick_mm",
        "mean_mm",
        "sd_mm",
        "cv",
        "thick_side_deg",
        "thick_amplitude_mm",
        "foot_to_rim_mm_per_10mm",
        "residual_mm",
        "plan_match_mm",
    )
    stage: str
    spread_mm: float
    u_spread_mm: float
    mean_mm: float | None = None
    u_mean_mm: float | None = None
    sd_mm: float | None = None
    u_sd_mm: float | None = None
    cv: float | None = None
    u_cv: float | None = None
    thick_side_deg: float | None = None
    u_thick_side_deg: float | None = None
    thick_amplitude_mm: float | None = None
    u_thick_amplitude_mm: float | None = None
    foot_to_rim_mm_per_10mm: float | None = None
    u_foot_to_rim_mm_per_10mm: float | None = None
    residual_mm: float | None = None
    plan_match_mm: float | None = None
    u_plan_match_mm: float | None = None
    scaled_spread_mm: float | None = None
    u_scaled_spread_mm: float | None = None
    too_thin_mm: float | None = None
    u_too_thin_mm: float | None = None
    too_thick_mm: float | None = None
    u_too_thick_mm: float | None = None
    verdict: str | None = None
    judged: tuple[Judged, ...] = ()
    planned_mm: float | None = None
    floor_mm: float | None = None
    """A place under it is too thin to trust, at this stage and by this plan."""
    ceiling_mm: float | None = None
    """A place over it is heavy, and before the bisque firing may blow out."""
    largest_gap_deg: float | None = None
    """Widest part of the way round without a reading; None where the places are not known."""
    thinnest: Station | None = None
    thickest: Station | None = None
    stations: tuple[Station, ...] = ()
    residuals_mm: tuple[float, ...] = ()
    terms: tuple[str, ...] = ()
    """What could be told from these stations: "height" or "side"."""
    searched: bool = False
    """Whether the two ends were looked for all round, and not only read at stations."""


@dataclass(slots=True, kw_only=True)
class RimLevel:
    """How far the rim is from level, whether by tilt or by waviness, and where it is high.

    ``rise_deg`` is the rise as the angle of a line across the rim, by which small and large ware
    compare. ``out_of_round_mm`` is the difference of two diameters of the rim.
    ``tilt_rise_mm`` is the rise that the tilt alone makes across the rim. ``saddle_*`` is the
    second harmonic (two highs opposite each other), ``three_corner_*`` the third; the azimuth
    given is that of the first high. ``take_off_mm`` is, station by station, the clay above the
    lowest one.
    """

    check: ClassVar[str] = "rim_level"
    FIGURES: ClassVar[tuple[str, ...]] = (
        "rise_mm",
        "rise_deg",
        "out_of_round_mm",
        "tilt_deg",
        "high_side_deg",
        "flatness_mm",
        "tilt_rise_mm",
        "mean_height_mm",
        "saddle_mm",
        "saddle_deg",
        "three_corner_mm",
        "three_corner_deg",
    )
    stage: str
    rise_mm: float
    u_rise_mm: float
    tilt_deg: float | None
    u_tilt_deg: float | None
    high_side_deg: float | None
    u_high_side_deg: float | None
    flatness_mm: float | None
    u_flatness_mm: float | None
    tilt_rise_mm: float
    u_tilt_rise_mm: float
    mean_height_mm: float
    u_mean_height_mm: float
    saddle_mm: float | None = None
    u_saddle_mm: float | None = None
    saddle_deg: float | None = None
    three_corner_mm: float | None = None
    u_three_corner_mm: float | None = None
    three_corner_deg: float | None = None
    rise_deg: float | None = None
    u_rise_deg: float | None = None
    out_of_round_mm: float | None = None
    u_out_of_round_mm: float | None = None
    verdict: str | None = None
    judged: tuple[Judged, ...] = ()
    cause: str = ""
    """What makes the rise: "tilt", "waviness", "both", or "none" (no more than the readings' U)."""
    radius_mm: float | None = None
    radius_source: str = ""
    """Where the radius comes from: "given", "read", "scaled" (another stage's) or "plan"; ""
    where none is known, and then ``tilt_deg`` is None."""
    stations: tuple[Station, ...] = ()
    residuals_mm: tuple[float, ...] = ()
    take_off_mm: tuple[float, ...] = ()
    at_least: tuple[str, ...] = ()
    """Figures of which these stations show a part only: three places cannot see a rim with three
    waves, so that its waviness is not told and a small rise claims nothing."""
    hidden_waves: tuple[int, ...] = ()
    """Numbers of highs, 2 and 3, that a rim may have without these places showing it."""


@dataclass(slots=True, kw_only=True)
class SeamJoin:
    """How well the seam and the darts are closed. ``through`` outweighs every limit."""

    check: ClassVar[str] = "seam_join"
    FIGURES: ClassVar[tuple[str, ...]] = (
        "open_fraction",
        "open_mm",
        "longest_open_mm",
        "through_mm",
        "largest_step_mm",
        "mean_step_mm",
        "seam_mm",
        "beside_mm",
        "seam_to_beside",
    )
    stage: str
    open_fraction: float | None = None
    u_open_fraction: float | None = None
    open_mm: float | None = None
    u_open_mm: float | None = None
    longest_open_mm: float | None = None
    u_longest_open_mm: float | None = None
    through_mm: float | None = None
    u_through_mm: float | None = None
    largest_step_mm: float | None = None
    u_largest_step_mm: float | None = None
    mean_step_mm: float | None = None
    u_mean_step_mm: float | None = None
    seam_mm: float | None = None
    u_seam_mm: float | None = None
    beside_mm: float | None = None
    u_beside_mm: float | None = None
    seam_to_beside: float | None = None
    u_seam_to_beside: float | None = None
    verdict: str | None = None
    judged: tuple[Judged, ...] = ()
    through: bool = False
    joins: tuple[Join, ...] = ()
    length_mm: float | None = None
    worst_join: str | None = None
    """The join with the longest open part, or the largest step where nothing is open."""
    intended: str = ""
    """What the student means the seam to be: "shown", "hidden" or ""."""
    as_intended: bool | None = None
    """Whether a seam meant to be hidden is; None where it was not, or nobody can tell."""


@dataclass(slots=True, kw_only=True)
class HandleAlignment:
    """How straight the handle stands, where it sits, and whether the fingers fit.

    Positive ``lean_deg``: the top stands counter-clockwise of the bottom. ``placement_deg``: how
    far counter-clockwise of its planned place. ``finger_room_mm``: glazed height of the opening
    less what the planned fingers need; ``finger_depth_room_mm`` likewise for its depth.
    ``opening_short_mm`` is by how much the opening is too small, in height or in depth, whichever
    lacks more; 0 where the fingers fit.
    """

    check: ClassVar[str] = "handle_alignment"
    FIGURES: ClassVar[tuple[str, ...]] = (
        "lean_deg",
        "twist_deg",
        "placement_deg",
        "opening_height_mm",
        "opening_depth_mm",
        "finger_room_mm",
        "finger_depth_room_mm",
        "opening_short_mm",
    )
    stage: str
    lean_deg: float | None = None
    u_lean_deg: float | None = None
    twist_deg: float | None = None
    u_twist_deg: float | None = None
    placement_deg: float | None = None
    u_placement_deg: float | None = None
    opening_height_mm: float | None = None
    u_opening_height_mm: float | None = None
    opening_depth_mm: float | None = None
    u_opening_depth_mm: float | None = None
    finger_room_mm: float | None = None
    u_finger_room_mm: float | None = None
    finger_depth_room_mm: float | None = None
    u_finger_depth_room_mm: float | None = None
    opening_short_mm: float | None = None
    u_opening_short_mm: float | None = None
    verdict: str | None = None
    judged: tuple[Judged, ...] = ()
    decides: str | None = None
    """The judged figure that is nearest to, or furthest beyond, its limit."""
    top: Station | None = None
    bottom: Station | None = None
    radius_top_mm: float | None = None
    radius_bottom_mm: float | None = None
    radius_source: str = ""
    seam_azimuth_deg: float | None = None
    planned_from_seam_deg: float | None = None
    planned_by: str = ""
    """Whose plan the placement is held against: "student" (the stated intent) or "plan"."""
    fingers: int | None = None
    finger_breadth_mm: float | None = None
    """Breadth of one finger that the opening is held against."""
    opening_short_in: str | None = None
    """Whether "height" or "depth" lacks more."""
    finger_height_needed_mm: float | None = None
    finger_depth_needed_mm: float | None = None
    opening_source: str = ""
    """"read" for a glazed opening, "expected" where it is foretold from an earlier stage."""
    opening_stage: str | None = None
    """Stage of ``opening_height_mm`` and ``opening_depth_mm``."""


@dataclass(slots=True, kw_only=True)
class Shrinkage:
    """Shrinkage on the wet length, pooled over the dimensions, against the clay's plan."""

    check: ClassVar[str] = "shrinkage"
    FIGURES: ClassVar[tuple[str, ...]] = (
        "linear_shrinkage",
        "volume_shrinkage",
        "difference",
        "planned_shrinkage",
        "chi_squared",
        "chi_squared_p",
    )
    stage: str
    linear_shrinkage: float
    u_linear_shrinkage: float
    volume_shrinkage: float
    u_volume_shrinkage: float
    difference: float | None = None
    u_difference: float | None = None
    planned_shrinkage: float | None = None
    chi_squared: float | None = None
    chi_squared_p: float | None = None
    verdict: str | None = None
    judged: tuple[Judged, ...] = ()
    agree: bool | None = None
    """Whether the dimensions agree within their uncertainty; None with one dimension."""
    stands_out: str | None = None
    """The dimension that stands out, when they disagree and three or more are there to tell."""
    dimensions: tuple[DimensionShrinkage, ...] = ()
    left_out: tuple[str, ...] = ()
    """Dimensions that were not compared: a foot seen corner-on at one of the two stages."""


@dataclass(slots=True, kw_only=True)
class SquaredFoot:
    """How square the foot is and how firmly it stands.

    ``corners_deg`` are the angles before sides 1 .. 4; ``closure_deg`` is by how much their sum
    misses 360°. ``corner_radius_mm`` is the rounding that the sides and diagonals imply.
    ``rock_mm`` is how far a corner lifts when the piece rocks on the opposite pair; ``lifted_mm``
    how far all four corners stand off at once, because the base bulges between them.
    """

    check: ClassVar[str] = "squared_foot"
    FIGURES: ClassVar[tuple[str, ...]] = (
        "side_spread_mm",
        "diagonal_difference_mm",
        "mean_side_mm",
        "worst_corner_deg",
        "corner_radius_mm",
        "closure_deg",
        "rock_mm",
        "largest_gap_mm",
        "lifted_mm",
        "plan_match_mm",
    )
    stage: str
    side_spread_mm: float | None = None
    u_side_spread_mm: float | None = None
    diagonal_difference_mm: float | None = None
    u_diagonal_difference_mm: float | None = None
    mean_side_mm: float | None = None
    u_mean_side_mm: float | None = None
    worst_corner_deg: float | None = None
    u_worst_corner_deg: float | None = None
    corner_radius_mm: float | None = None
    u_corner_radius_mm: float | None = None
    closure_deg: float | None = None
    u_closure_deg: float | None = None
    rock_mm: float | None = None
    u_rock_mm: float | None = None
    largest_gap_mm: float | None = None
    u_largest_gap_mm: float | None = None
    lifted_mm: float | None = None
    u_lifted_mm: float | None = None
    plan_match_mm: float | None = None
    u_plan_match_mm: float | None = None
    verdict: str | None = None
    judged: tuple[Judged, ...] = ()
    sides_mm: tuple[float | None, ...] = ()
    diagonals_mm: tuple[float | None, ...] = ()
    gaps_mm: tuple[float | None, ...] = ()
    gap_stage: str | None = None
    """Stage of the gaps: another than ``stage`` where the piece was set on the table later."""
    corners_deg: tuple[float, ...] = ()
    planned_side_mm: float | None = None


@dataclass(slots=True, kw_only=True)
class Capacity:
    """What the piece holds: by the water it takes, by its sizes, and beside the plan.

    ``capacity_ml`` is at the result's stage, by water where there is water, else by geometry;
    ``fired_ml`` is what it is, or is expected to be, when glazed: the one that is judged.
    """

    check: ClassVar[str] = "capacity"
    FIGURES: ClassVar[tuple[str, ...]] = (
        "capacity_ml",
        "capacity_water_ml",
        "capacity_geometry_ml",
        "line_ml",
        "fired_ml",
        "planned_ml",
        "difference_ml",
        "difference_fraction",
    )
    stage: str
    capacity_ml: float
    u_capacity_ml: float
    capacity_water_ml: float | None = None
    u_capacity_water_ml: float | None = None
    capacity_geometry_ml: float | None = None
    u_capacity_geometry_ml: float | None = None
    line_ml: float | None = None
    u_line_ml: float | None = None
    fired_ml: float | None = None
    u_fired_ml: float | None = None
    planned_ml: float | None = None
    difference_ml: float | None = None
    u_difference_ml: float | None = None
    difference_fraction: float | None = None
    u_difference_fraction: float | None = None
    verdict: str | None = None
    judged: tuple[Judged, ...] = ()
    source: str = ""
    """"water" or "geometry": where ``capacity_ml`` comes from."""
    sizes_mm: tuple[tuple[str, float, str], ...] = ()
    """(name, size, source) of every size the geometry used; source as in ``radius_source``."""
    water_and_geometry_agree: bool | None = None


Result = (
    WallEvenness
    | RimLevel
    | SeamJoin
    | HandleAlignment
    | Shrinkage
    | SquaredFoot
    | Capacity
    | Refused
)


def as_figures(result: Result) -> dict[str, float | str | None]:
    """Flatten a result for JSON: its figures, their ``u_`` keys, its stage and its verdict.

    A refused check gives ``{"stage": ..., "refused": sentence}``.
    """
    if isinstance(result, Refused):
        return {"stage": result.stage, "refused": result.sentence}
    flat: dict[str, float | str | None] = {"stage": result.stage, "verdict": result.verdict}
    for figure in result.FIGURES:
        flat[figure] = getattr(result, figure)
        flat[f"u_{figure}"] = getattr(result, f"u_{figure}", None)
    return flat
