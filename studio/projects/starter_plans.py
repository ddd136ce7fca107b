"""Three plans to start a project from, of growing difficulty.

The sizes are ours (common practice, no source). The capacity follows from them, rounded to 5 ml,
for a clay that shrinks by 12 %: :mod:`studio.ware.volume`.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class StarterPlan:
    """A plan as it ships. Lengths in mm; ``sizes`` are fired: (name, height or None, size)."""

    key: str
    title: str
    step: str
    about: str
    brief: str
    sizes: tuple[tuple[str, float | None, float], ...]
    slab_mm: float
    dart_count: int
    fingers: int
    handle_from_seam_deg: float
    capacity_ml: float


# A slab rolled on quarter-inch sticks (common practice, no source). [mm]
QUARTER_INCH_MM = 6.35

STRAIGHT_CUP = StarterPlan(
    key="straight-cup",
    title="Straight slab cup with a round foot",
    step="First",
    about="One seam, a round base, no handle. Wall, rim and seam are looked at.",
    brief=(
        "Roll a slab on quarter-inch sticks and compress both faces. Cut the pattern, bevel both "
        "ends at the same slant, score, slip and close the seam. Set it on a round base. "
        "Keep the wall even and the rim level."
    ),
    sizes=(
        ("height", None, 90.0),
        ("rim_diameter", None, 80.0),
        ("base_thickness", None, 6.0),
    ),
    slab_mm=QUARTER_INCH_MM,
    dart_count=0,
    fingers=0,
    handle_from_seam_deg=180.0,
    capacity_ml=310.0,
)

SQUARED_CUP = StarterPlan(
    key="squared-cup",
    title="Lidless slab cup with a squared foot",
    step="Second",
    about="Four darts square the foot, and a handle for two fingers stands opposite the seam.",
    brief=(
        "Texture the slab, trim it again and close the seam. Halve and quarter the foot, cut a V "
        "dart on each mark, all alike, and close them to square the foot. Make at least two "
        "handles, and put the better one on at leather-hard, opposite the seam."
    ),
    sizes=(
        ("height", None, 95.0),
        ("rim_diameter", None, 85.0),
        ("foot_side", None, 58.0),
        ("base_thickness", None, 6.0),
    ),
    slab_mm=QUARTER_INCH_MM,
    dart_count=4,
    fingers=2,
    handle_from_seam_deg=180.0,
    capacity_ml=295.0,
)

SOUP_MUG = StarterPlan(
    key="soup-mug",
    title="Wide slab mug with a squared foot",
    step="Third",
    about="Wider and heavier: the rim wants to warp, the darts are long, three fingers carry it.",
    brief=(
        "The same way of building at a size where it is harder: a wide rim stays round only when "
        "slab and drying are even, and a full mug shows at once whether the handle is balanced."
    ),
    sizes=(
        ("height", None, 110.0),
        ("rim_diameter", None, 120.0),
        ("foot_side", None, 80.0),
        ("base_thickness", None, 7.0),
    ),
    slab_mm=QUARTER_INCH_MM,
    dart_count=4,
    fingers=3,
    handle_from_seam_deg=180.0,
    capacity_ml=745.0,
)

STARTER_PLANS = {plan.key: plan for plan in (STRAIGHT_CUP, SQUARED_CUP, SOUP_MUG)}
