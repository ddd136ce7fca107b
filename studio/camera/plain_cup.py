"""A round, upright cup of given sizes, and where its points appear on a photo."""

from dataclasses import dataclass

import numpy as np

from studio.camera.cup import FILLET_MM, FOOT_LEVEL_MM
from studio.camera.hand_points import RIM_POINTS, SIDE_POINTS, TOP_POINTS, UNKNOWNS
from studio.camera.pose import Camera
from studio.camera.scene import CameraAxes


@dataclass(frozen=True, slots=True)
class Body:
    """A plain cup to place the first points by: round, upright, its middle at (x, y). [mm]"""

    height: float
    rim_width: float
    foot_width: float
    max_width: float
    max_level: float
    handle_reach: float
    x: float = 0.0
    y: float = 0.0


USUAL_BODY = Body(92, 82, 64, 84, 60, 72)
"""A school mug as the camera expects it (common practice, no source)."""


def points_of(view: str, camera: Camera, body: Body = USUAL_BODY) -> dict[str, np.ndarray]:
    """Where the points of a body appear: the way back from sizes to points.

    Returns
    -------
    dict of str to ndarray, shape (2,)
        Pixels, by the names in ``POINTS[view]``.
    """
    return {"side": _side_points, "top": _top_points}[view](camera, body)


def _side_points(camera: Camera, body: Body) -> dict[str, np.ndarray]:
    scene, lip = CameraAxes(camera), UNKNOWNS["lip_mm"][0]
    middle = np.array([body.x, body.y, 0.0])
    up = np.array([0.0, 0.0, 1.0])

    def edges(width, z):
        # The place where the eye touches a round body, half a width across.
        depth = middle @ scene.away - scene.eye @ scene.away
        behind = depth + (scene.eye[2] - z) * np.tan(scene.down)
        angle = np.arcsin(np.clip(width / 2 / behind, -1, 1))
        half, before = width / 2 * np.cos(angle), width / 2 * np.sin(angle)
        return [middle + up * z - scene.away * before + s * half * scene.right for s in (-1, 1)]

    def top_of_lip(side):
        ring = middle + up * (body.height - lip)
        ring = ring + side * (body.rim_width / 2 - lip) * scene.away
        ray = ring - scene.eye
        fall = np.arctan2(-ray[2], ray @ scene.away)
        return ring + lip * (scene.away * np.sin(fall) + up * np.cos(fall))

    rim, widest = edges(body.rim_width, body.height - lip), edges(body.max_width, body.max_level)
    half = body.foot_width / 2
    foot = [middle + up * FOOT_LEVEL_MM + s * half * scene.right for s in (-1, 1)]
    ray = middle - half * scene.away - scene.eye
    fall = np.arctan2(-ray[2], ray @ scene.away)
    near = middle - (half - FILLET_MM * (1 - np.sin(fall))) * scene.away
    near = near + up * FILLET_MM * (1 - np.cos(fall))
    handle = middle + up * body.height / 2 + scene.right * body.handle_reach
    places = {
        "rim_left": rim[0], "rim_right": rim[1], "rim_near": top_of_lip(-1),
        "rim_far": top_of_lip(1), "max_left": widest[0], "max_right": widest[1],
        "foot_left": foot[0], "foot_right": foot[1], "foot_near": near, "handle_out": handle,
    }  # fmt: skip
    return {name: camera.project(places[name]) for name in SIDE_POINTS}


def _top_points(camera: Camera, body: Body) -> dict[str, np.ndarray]:
    angles = np.arange(len(RIM_POINTS)) * 2 * np.pi / len(RIM_POINTS)
    level = body.height - UNKNOWNS["lip_mm"][0]
    places = {
        name: (
            body.x + body.rim_width / 2 * np.cos(a),
            body.y + body.rim_width / 2 * np.sin(a),
            level,
        )
        for name, a in zip(RIM_POINTS, angles, strict=True)
    }
    for name, key, out in (
        ("handle_root", "root_share", body.rim_width / 2),
        ("handle_tip", "tip_share", body.handle_reach),
    ):
        places[name] = (body.x + out, body.y, UNKNOWNS[key][0] * body.height)
    return {name: camera.project(np.array(places[name], float)) for name in TOP_POINTS}
