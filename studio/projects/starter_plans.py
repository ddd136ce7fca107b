"""Plans to start a project from: slab cups of growing difficulty, and other ways of building.

The sizes are ours (common practice, no source). The capacity follows from them, rounded to 5 ml,
for a clay that shrinks by 12 %: :mod:`studio.planning`.
"""

from dataclasses import dataclass

from studio.planning.wish import COIL, FREE, PINCH, SLAB, THROWN


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
    building: str = SLAB


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
        ("base_thickness", None, 5.5),
    ),
    slab_mm=QUARTER_INCH_MM,
    dart_count=0,
    fingers=0,
    handle_from_seam_deg=180.0,
    capacity_ml=315.0,
)

SQUARED_CUP = StarterPlan(
    key="squared-cup",
    title="Lidless slab cup with a squared foot",
    step="Second",
    about="Four darts square the foot, and a handle for two fingers stands opposite the seam.",
    brief=(
        "Texture the slab, trim it again and close the seam. Halve and quarter the foot, cut a V "
        "dart on each mark a third of the way up, all alike, and close them to square the foot. "
        "Make at least two handles, and put the better one on at leather-hard, opposite the seam."
    ),
    sizes=(
        ("height", None, 95.0),
        ("rim_diameter", None, 85.0),
        ("foot_side", None, 58.0),
        ("base_thickness", None, 5.5),
    ),
    slab_mm=QUARTER_INCH_MM,
    dart_count=4,
    fingers=2,
    handle_from_seam_deg=180.0,
    capacity_ml=350.0,
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
        ("base_thickness", None, 5.5),
    ),
    slab_mm=QUARTER_INCH_MM,
    dart_count=4,
    fingers=3,
    handle_from_seam_deg=180.0,
    capacity_ml=885.0,
)

TAPERED_TUMBLER = StarterPlan(
    key="tapered-tumbler",
    title="Tapered slab tumbler with a round foot",
    step="First, or a change",
    about="Narrow below, wide above: the pattern is a piece of a ring, so the edges are arcs.",
    brief=(
        "Cut the pattern along both arcs, bevel the ends at the same slant and close the seam. "
        "The rim must come out level, so keep the ring's edge true. No handle."
    ),
    sizes=(
        ("height", None, 110.0),
        ("rim_diameter", None, 85.0),
        ("foot_diameter", None, 65.0),
        ("base_thickness", None, 5.5),
    ),
    slab_mm=QUARTER_INCH_MM,
    dart_count=0,
    fingers=0,
    handle_from_seam_deg=180.0,
    capacity_ml=335.0,
)

PINCH_BOWL = StarterPlan(
    key="pinch-bowl",
    title="Pinched bowl",
    step="Without a pattern",
    about="One ball of clay, thinned between thumb and fingers. Wall and rim are looked at.",
    brief=(
        "Weigh the ball, open it with the thumb and pinch from the foot up in even turns. Keep "
        "the wall as thick at the rim as below, and let the rim be as level as you mean it."
    ),
    sizes=(
        ("height", None, 60.0),
        ("rim_diameter", None, 110.0),
        ("foot_diameter", None, 60.0),
        ("base_thickness", None, 6.0),
    ),
    slab_mm=6.5,
    dart_count=0,
    fingers=0,
    handle_from_seam_deg=180.0,
    capacity_ml=245.0,
    building=PINCH,
)

COIL_VASE = StarterPlan(
    key="coil-vase",
    title="Coiled vase with a belly",
    step="Without a pattern",
    about="Coils joined inside and out; the belly swings out and the neck comes in.",
    brief=(
        "Draw the outline first and hold it beside the vase as it grows. Score and slip every "
        "coil, join it inside and out, and let the foot stiffen before the belly weighs on it."
    ),
    sizes=(
        ("height", None, 180.0),
        ("rim_diameter", None, 75.0),
        ("diameter", 90.0, 130.0),
        ("foot_diameter", None, 85.0),
        ("base_thickness", None, 7.0),
    ),
    slab_mm=8.0,
    dart_count=0,
    fingers=0,
    handle_from_seam_deg=180.0,
    capacity_ml=1155.0,
    building=COIL,
)

THROWN_CUP = StarterPlan(
    key="thrown-cup",
    title="Thrown cup",
    step="Without a pattern",
    about="Centred, opened and pulled on the wheel; trimmed, with a pulled handle.",
    brief=(
        "Weigh the clay, centre, open and pull to the planned wet sizes: it is smaller when fired. "
        "Trim the foot at leather-hard and join the handle when it is as wet as the wall."
    ),
    sizes=(
        ("height", None, 95.0),
        ("rim_diameter", None, 85.0),
        ("foot_diameter", None, 65.0),
        ("base_thickness", None, 5.5),
    ),
    slab_mm=5.5,
    dart_count=0,
    fingers=2,
    handle_from_seam_deg=180.0,
    capacity_ml=305.0,
    building=THROWN,
)

FREE_FORM = StarterPlan(
    key="free-form",
    title="Free form",
    step="Without a pattern",
    about="A form of its own, hollow and even: the sizes keep it to the kiln, not to a shape.",
    brief=(
        "Sketch the form from three sides before you begin. Keep it hollow with a hole for air, "
        "the wall even, and no part thicker than a thumb."
    ),
    sizes=(
        ("height", None, 120.0),
        ("rim_diameter", None, 100.0),
        ("base_thickness", None, 6.0),
    ),
    slab_mm=7.0,
    dart_count=0,
    fingers=0,
    handle_from_seam_deg=180.0,
    capacity_ml=690.0,
    building=FREE,
)

STARTER_PLANS = {
    plan.key: plan
    for plan in (
        STRAIGHT_CUP,
        SQUARED_CUP,
        SOUP_MUG,
        TAPERED_TUMBLER,
        PINCH_BOWL,
        COIL_VASE,
        THROWN_CUP,
        FREE_FORM,
    )
}
