"""Outline points against masks: the cup's by colour, the form's as drawn, the handle's."""

import cv2
import numpy as np

from studio.camera import outline_points
from studio.camera.wheel import surface

FRAME_PX = 4
HANDLE_LEAST_MM = 8.0  # what reaches so far out of the wall is handle ...
HANDLE_FROM_MM = 2.5  # ... from where it leaves the wall
HANDLE_PROBE_MM = (3.0, 4.5, 6.0)
HANDLE_MARGIN_MM = 2.5


def body_mask(grid, camera) -> tuple[np.ndarray, np.ndarray]:
    """The form drawn in a picture: its mask, and the mask's corner in the picture [px]."""
    pixels = camera.project(grid)
    low = np.floor(pixels.min((0, 1))) - FRAME_PX
    size = np.ceil(pixels.max((0, 1)) - low + 2 * FRAME_PX).astype(int)
    return surface.drawn([pixels], low, np.minimum(size, 4 * np.array(camera.size))), low


def handle_mask(silhouette, body: np.ndarray, low: np.ndarray, per_mm: float) -> np.ndarray:
    """What of the colour mask reaches far out of the drawn body; on the silhouette's grid."""
    h, w = silhouette.mask.shape
    grid_x, grid_y = np.meshgrid(np.arange(w), np.arange(h))
    pixels = silhouette.to_picture(np.stack([grid_x, grid_y], -1)) - low
    at = pixels.astype(np.float32)
    drawn = cv2.remap(body.astype(np.uint8), at[..., 0], at[..., 1], cv2.INTER_NEAREST)
    px = per_mm / silhouette.step
    beyond = silhouette.mask & (cv2.dilate(drawn, _disc(HANDLE_FROM_MM * px)) == 0)
    far = silhouette.mask & (cv2.dilate(drawn, _disc(HANDLE_LEAST_MM * px)) == 0)
    _, parts = cv2.connectedComponents(beyond.astype(np.uint8))
    return np.isin(parts, list(set(np.unique(parts[far])) - {0}))


def at_handle(silhouette, line, scale, body: np.ndarray, low: np.ndarray) -> np.ndarray:
    """Outline points from which the handle grows, with a margin."""
    if not len(scale):
        return np.zeros(0, bool)
    handle = handle_mask(silhouette, body, low, float(np.median(scale)))
    hit = np.zeros(len(scale), bool)
    for mm in HANDLE_PROBE_MM:
        hit |= silhouette.inside(handle, line.pixels + (mm * scale)[:, None] * line.normals)
    return hit | outline_points.beside(line.pixels, line.pixels[hit], HANDLE_MARGIN_MM * scale)


def _disc(radius):
    r = max(round(float(radius)), 1)
    return cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * r + 1, 2 * r + 1))
