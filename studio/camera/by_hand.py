"""From points on a photograph to sizes, in one formula: for a hand that places or mends them.

The points of a side view are the foot (left, right, nearest), the rim (left, right, and the top
of its near and far lip), the widest places and the handle's outermost point; those of a top view
are eight on the rim's outer edge, and the strap at the wall and at its tip. What one picture
cannot tell (a lean towards the camera, the lip's rounding) enters as an unknown with a stated
spread, so that each size's uncertainty holds it.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from studio.camera.cup import FILLET_MM, FOOT_LEVEL_MM
from studio.camera.hand_points import NEEDS, POINTS, RIM_POINTS, UNKNOWNS
from studio.camera.plain_cup import USUAL_BODY, Body, points_of
from studio.camera.pose import N_POSE, Camera
from studio.camera.scene import CameraAxes

__all__ = [
    "NEEDS",
    "POINTS",
    "RIM_POINTS",
    "UNKNOWNS",
    "USUAL_BODY",
    "Body",
    "PointsError",
    "Sized",
    "body_of",
    "points_of",
    "sizes",
    "values",
]

Points = Mapping[str, tuple[float, float]]

HAND_SHARE = 0.0006
"""Standard deviation of a point placed by hand with the loupe, as a share of the longer side: one
pixel of 1600 (common practice, no source)."""
ALONG = 4.0
"""So much less sure is a point along the edge it sits on, where nothing tells it to stop."""

STEP = 1e-3  # of a standard deviation, for the numeric derivative
ROUNDS = 6  # rim height and width depend on each other; each round gains two digits


@dataclass(frozen=True, slots=True)
class Sized:
    """A size and its standard uncertainty, in the unit its name ends with."""

    value: float
    u: float


class PointsError(ValueError):
    """Points that give no size; the message is a sentence for the teacher."""


def sizes(
    view: str, camera: Camera, points: Points, *, rim_height: Sized | None = None
) -> dict[str, Sized]:
    """Every size that the points given allow.

    Parameters
    ----------
    view : str
        "side" or "top".
    camera : Camera
        Solved, with its covariance.
    points : mapping of str to (float, float)
        Pixels, by the names in ``POINTS[view]``; any may be missing.
    rim_height : Sized, optional
        The rim above the paper [mm], which a top view needs: from a side view or a calliper.

    Returns
    -------
    dict of str to Sized
        By the names of the measures (``height_mm``, ``rim_tilt_deg``, ...); empty when the points
        do not allow any.

    Raises
    ------
    PointsError
        The points contradict each other, as a foot above the rim.
    """
    names, place, known = _inputs(view, points, rim_height)
    still = np.zeros_like(place)
    compute = _formula(view, camera, names, place)
    value = _checked(compute(still, np.zeros(N_POSE), known))
    variance = _variance(
        value, compute, still, known, camera=camera, view=view, names=names, rim_height=rim_height
    )
    return {key: Sized(value[key], float(np.sqrt(variance[key]))) for key in value}


def values(
    view: str, camera: Camera, points: Points, *, rim_height: Sized | None = None
) -> dict[str, float]:
    """The sizes alone, as `sizes` tells them, for when nobody asks how sure they are."""
    names, place, known = _inputs(view, points, rim_height)
    compute = _formula(view, camera, names, place)
    return _checked(compute(np.zeros_like(place), np.zeros(N_POSE), known))


def _inputs(view: str, points: Points, rim_height: Sized | None):
    """Names and places of the points of a view, and the unknowns at their usual values."""
    names = [name for name in POINTS[view] if name in points]
    place = np.array([points[name] for name in names], float).reshape(-1, 2)
    known = {key: value for key, (value, _) in UNKNOWNS.items()}
    if rim_height is not None:
        known["rim_height_mm"] = rim_height.value
    return names, place, known


def _formula(view: str, camera: Camera, names, place) -> Callable:
    """Sizes as a function of shifted points, a moved camera and the unknowns."""
    formula = {"side": _side, "top": _top}[view]

    def compute(moved, turned, unknown) -> dict[str, float]:
        seen = dict(zip(names, place + moved, strict=True))
        return formula(camera.moved(turned), seen, unknown)

    return compute


def _checked(value: dict[str, float]) -> dict[str, float]:
    if not all(np.isfinite(one) for one in value.values()):
        raise PointsError(
            "The points cannot lie like this on a cup that stands on the mat. Check that each "
            "stands at the place its name says."
        )
    return value


def _variance(
    value, compute: Callable, still, known, *, camera, view, names, rim_height
) -> dict[str, float]:
    """Each input moved by a little: hand, camera and what the picture does not tell."""
    keys = list(value)
    base = np.array([value[key] for key in keys])
    none = np.zeros(N_POSE)
    angles = np.array([key.endswith("_deg") for key in keys], bool)

    def slope(moved, turned, unknown, step):
        other = compute(moved, turned, unknown)
        change = np.array([other[key] for key in keys]) - base
        # An azimuth that passes zero has not gone round.
        change[angles] = (change[angles] + 180) % 360 - 180
        return change / step

    total = np.zeros(len(keys))
    hand_px = HAND_SHARE * max(camera.size)
    for number, name in enumerate(names):
        for axis in range(2):
            moved = still.copy()
            moved[number, axis] = hand_px * STEP * 10
            spread = hand_px * (ALONG if _lies_along(view, name, axis) else 1.0)
            total += (slope(moved, none, known, moved[number, axis]) * spread) ** 2
    scale = np.sqrt(np.maximum(np.diag(camera.covariance), 1e-18))
    columns = []
    for k in range(N_POSE):
        turned = none.copy()
        turned[k] = scale[k] * STEP * 10
        columns.append(slope(still, turned, known, turned[k]))
    jacobian = np.array(columns).T
    total += np.einsum("ij,jk,ik->i", jacobian, camera.covariance, jacobian)
    spreads = {key: spread for key, (_, spread) in UNKNOWNS.items()}
    if rim_height is not None:
        spreads["rim_height_mm"] = rim_height.u
    for key, spread in spreads.items():
        # The whole spread at once: an angle about zero changes a size in the second order only.
        step = max(spread, 1e-6)
        shifted = known | {key: known[key] + step}
        total += (slope(still, none, shifted, step) * spread) ** 2
    return dict(zip(keys, np.maximum(total, 0), strict=True))


def _lies_along(view: str, name: str, axis: int) -> bool:
    """Whether a point can slide along its own edge in this direction of the picture (0 across)."""
    if view == "top":
        return False
    if name.endswith(("left", "right", "out")):
        return axis == 1
    return axis == 0


def _side(camera: Camera, seen, unknown) -> dict[str, float]:
    scene, out = CameraAxes(camera), {}
    foot = _foot(scene, seen, unknown)
    if foot is None:
        return out
    out["foot_width_mm"] = 2 * foot.half
    rim = _rim(scene, seen, unknown, foot)
    axis_depth = foot.depth
    if rim is not None:
        out["height_mm"] = rim.height
        out["rim_width_mm"] = 2 * rim.half
        out["rim_tilt_deg"] = float(np.degrees(np.arctan2(rim.rise, 2 * rim.half)))
        out["lean_deg"] = float(
            np.degrees(np.arctan2(rim.across - foot.across, rim.level - FOOT_LEVEL_MM))
        )
    if "max_left" in seen and "max_right" in seen:
        out["max_width_mm"] = 2 * _widest(scene, seen, axis_depth)
    if "handle_out" in seen:
        out["handle_reach_mm"] = _reach(scene, seen, unknown, foot, rim)
    return out


@dataclass(frozen=True, slots=True)
class _Ring:
    across: float
    depth: float
    half: float
    level: float = FOOT_LEVEL_MM
    height: float = 0.0
    rise: float = 0.0


def _foot(scene: CameraAxes, seen, unknown) -> _Ring | None:
    """The foot from its left, right and nearest points. A foot with four like sides, and a round
    one, is as deep as it is wide however it is turned, so the nearest point tells its middle."""
    if not {"foot_left", "foot_right", "foot_near"} <= seen.keys():
        return None
    left, _ = scene.on_level(seen["foot_left"], FOOT_LEVEL_MM)
    right, _ = scene.on_level(seen["foot_right"], FOOT_LEVEL_MM)
    half = (right - left) / 2
    if half <= 0:
        raise PointsError("The foot's left point stands right of its right one. Swap them.")
    fall = scene.fall(seen["foot_near"])
    # The foot's edge is rounded: the eye's ray touches it a little above the paper.
    _, depth = scene.on_level(seen["foot_near"], FILLET_MM * (1 - np.cos(fall)))
    near = depth - FILLET_MM * (1 - np.sin(fall))
    return _Ring((left + right) / 2, near + half + unknown["foot_depth_mm"], half)


def _rim(scene: CameraAxes, seen, unknown, foot: _Ring) -> _Ring | None:
    """The rim as a level circle over the foot, its lip a rounded solid.

    The eye's ray touches the lip where its surface is square to the ray: towards the back by
    lip sin(fall) and up by lip cos(fall) from the middle of the rounding, before and behind alike.
    """
    if not {"rim_left", "rim_right", "rim_near", "rim_far"} <= seen.keys():
        return None
    lip, depth = unknown["lip_mm"], foot.depth + unknown["lean_away_mm"]
    half, height, across, rise, before = foot.half, 0.0, foot.across, 0.0, 0.0
    for _ in range(ROUNDS):
        tops = []
        for name, side in (("rim_near", -1), ("rim_far", 1)):
            fall = scene.fall(seen[name])
            beside, _ = scene.at_depth(seen[name], depth)
            lip_ring = np.sqrt(max((half - lip) ** 2 - (beside - across) ** 2, 0.0))
            at = depth + side * lip_ring + lip * np.sin(fall)
            tops.append(scene.at_depth(seen[name], at)[1] + lip * (1 - np.cos(fall)))
        height = float(np.mean(tops))
        level = height - lip
        if level <= FOOT_LEVEL_MM:
            raise PointsError(
                "The rim's points stand no higher than the foot's. Check their places."
            )
        # Across at the depth where the eye touches the rim: where along the wall the point was put
        # hardly matters then.
        (left, low), (right, high) = (
            scene.at_depth(seen[name], depth - before) for name in ("rim_left", "rim_right")
        )
        half, before = scene.round_half_width((right - left) / 2, depth, level)
        if half <= lip:
            raise PointsError("The rim's left point stands right of its right one. Swap them.")
        across, rise = (left + right) / 2, high - low
    return _Ring(across, depth, half, level, height, rise)


def _widest(scene: CameraAxes, seen, depth) -> float:
    half, before = 0.0, 0.0
    for _ in range(ROUNDS):
        (left, low), (right, high) = (
            scene.at_depth(seen[name], depth - before) for name in ("max_left", "max_right")
        )
        half, before = scene.round_half_width((right - left) / 2, depth, (low + high) / 2)
    if half <= 0:
        raise PointsError("The widest place's left point stands right of its right one. Swap them.")
    return half


def _reach(scene: CameraAxes, seen, unknown, foot: _Ring, rim: _Ring | None) -> float:
    turn = np.radians(unknown["handle_turn_deg"])
    reach = 0.0
    for _ in range(ROUNDS):
        at = foot.depth + reach * np.sin(turn)
        across, z = scene.at_depth(seen["handle_out"], at)
        middle = foot.across
        if rim is not None:
            middle += (rim.across - foot.across) * z / rim.level
        reach = float(abs(across - middle) / np.cos(turn))
    return reach


def _top(camera: Camera, seen, unknown) -> dict[str, float]:
    if "rim_height_mm" not in unknown:
        return {}
    out: dict[str, float] = {}
    height, lip = unknown["rim_height_mm"], unknown["lip_mm"]
    on_rim = [seen[name] for name in RIM_POINTS if name in seen]
    if len(on_rim) < FEWEST_RIM_POINTS:
        return out
    ring = camera.on_plane(np.array(on_rim, float), height - lip)[:, :2]
    centre, radius, oval = fit_ring(ring)
    out["rim_diameter_mm"] = 2 * radius
    if len(on_rim) >= FEWEST_FOR_OVAL:
        # A width is twice the radius both ways, so it varies by twice twice the oval's amplitude.
        out["out_of_round_mm"] = 4 * oval
    if "handle_root" in seen and "handle_tip" in seen:
        levels = (unknown["root_share"] * height, unknown["tip_share"] * height)
        root, tip = (
            camera.on_plane(np.asarray(seen[name], float), z)[:2]
            for name, z in zip(("handle_root", "handle_tip"), levels, strict=True)
        )
        azimuth = _azimuth(root - centre)
        out["handle_azimuth_deg"] = azimuth
        out["handle_twist_deg"] = (_azimuth(tip - root) - azimuth + 180) % 360 - 180
    return out


FEWEST_RIM_POINTS, FEWEST_FOR_OVAL = 3, 6


def fit_ring(points: np.ndarray) -> tuple[np.ndarray, float, float]:
    """Centre, mean radius and amplitude of the second harmonic of points on a nearly round ring.

    Parameters
    ----------
    points : ndarray, shape (n, 2), n >= 3
        [mm]; with fewer than six the ring is taken as round.

    Returns
    -------
    centre : ndarray, shape (2,)
    radius, oval : float
        [mm]
    """
    centre, radius = points.mean(0), 1.0
    terms = 5 if len(points) >= FEWEST_FOR_OVAL else 3
    fit = np.zeros(5)
    for _ in range(ROUNDS):
        offset = points - centre
        angle = np.arctan2(offset[:, 1], offset[:, 0])
        columns = [np.ones_like(angle), np.cos(angle), np.sin(angle)]
        columns += [np.cos(2 * angle), np.sin(2 * angle)]
        design = np.array(columns[:terms]).T
        solved = np.linalg.lstsq(design, np.hypot(*offset.T), rcond=None)[0]
        fit[:terms] = solved
        radius = fit[0]
        centre = centre + fit[1:3]
    return centre, float(radius), float(np.hypot(fit[3], fit[4]))


def body_of(camera: Camera, points: Points) -> Body | None:
    """The plain cup that a side view's points tell; None where they do not suffice."""
    scene = CameraAxes(camera)
    known = {key: value for key, (value, _) in UNKNOWNS.items()}
    try:
        foot = _foot(scene, points, known)
        rim = _rim(scene, points, known, foot) if foot else None
    except PointsError:
        return None
    if rim is None:
        return None
    x, y, _ = foot.across * scene.right + foot.depth * scene.away
    width = 2 * max(rim.half, foot.half)
    reach = max(USUAL_BODY.handle_reach, rim.half)
    return Body(rim.height, 2 * rim.half, 2 * foot.half, width, rim.level, reach, x, y)


def _azimuth(direction) -> float:
    return float(np.degrees(np.arctan2(direction[1], direction[0])) % 360)
