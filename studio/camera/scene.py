"""A camera's own directions over the paper: across the view, away from the eye, and up."""

import numpy as np

from studio.camera.pose import Camera

LEAST_FORWARD = 1e-3


class CameraAxes:
    """A camera's own directions over the paper: right, and away from the eye."""

    def __init__(self, camera: Camera):
        self.camera, self.eye = camera, camera.position_mm
        self.right = camera.view_right
        away = np.array([camera.axis[0], camera.axis[1], 0.0])
        self.away = away / max(float(np.linalg.norm(away)), LEAST_FORWARD)
        self.down = np.radians(camera.elevation_deg)

    def on_level(self, pixel, z) -> tuple[float, float]:
        """Across and depth where the ray through a pixel meets a level. [mm]"""
        point = self.camera.on_plane(np.asarray(pixel, float), z)
        return float(point @ self.right), float(point @ self.away)

    def at_depth(self, pixel, depth) -> tuple[float, float]:
        """Across and height where the ray through a pixel meets an upright plane. [mm]"""
        ray = self.camera.rays(np.asarray(pixel, float))
        point = self.eye + ray * ((depth - self.eye @ self.away) / (ray @ self.away))
        return float(point @ self.right), float(point[2])

    def fall(self, pixel) -> float:
        """How steeply the ray through a pixel falls. [rad]"""
        ray = self.camera.rays(np.asarray(pixel, float))
        return float(np.arctan2(-ray[2], ray @ self.away))

    def round_half_width(self, half_chord, depth, z) -> tuple[float, float]:
        """Radius of an upright round body, and how far before its axis the eye's tangents touch.

        A point is extreme in the picture where a plane through the eye and the picture's own
        upright touches; at the level z all these planes meet this far behind the eye's foot.
        """
        behind = (self.eye[2] - z) * np.tan(self.down)
        distance = depth - self.eye @ self.away + behind
        angle = np.arctan2(half_chord, distance)
        return float(half_chord / np.cos(angle)), float(half_chord * np.tan(angle))
