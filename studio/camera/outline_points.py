"""Points of an outline in a picture: their scale, the way to a mask's edge, their neighbours."""

import cv2
import numpy as np

RELIEF_LENGTH_MM = 5.0  # along an outline the relief of two such neighbours is the same


def px_per_mm(camera, points: np.ndarray) -> np.ndarray:
    """Pixels per millimetre at points of the cup; shape (n,)."""
    return camera.f_px / (points @ camera.rotation[2] + camera.shift_mm[2])


def mask_offsets(silhouette, mask: np.ndarray, line, scale, reach_mm: float) -> np.ndarray:
    """Signed distance along the normals to the nearest way out of a mask [px]; nan if none.

    The mask lies on the silhouette's grid; ``scale`` is in pixels per millimetre.
    """
    steps = np.arange(-reach_mm, reach_mm + 0.01, 0.25)
    t = steps[None, :] * scale[:, None]
    where = line.pixels[:, None] + t[..., None] * line.normals[:, None]
    at = ((where - silhouette.origin + 0.5) / silhouette.step - 0.5).astype(np.float32)
    soft = cv2.GaussianBlur(mask.astype(np.float32), (0, 0), 0.7)
    v = cv2.remap(soft, at[..., 0], at[..., 1], cv2.INTER_LINEAR, borderValue=0)
    out = (v[:, :-1] >= 0.5) & (v[:, 1:] < 0.5)
    mid = (t[:, :-1] + t[:, 1:]) / 2
    distance = np.where(out, np.abs(mid), np.inf)
    k = distance.argmin(1)
    rows = np.arange(len(k))
    return np.where(np.isfinite(distance[rows, k]), mid[rows, k], np.nan)


def beside(pixels: np.ndarray, others: np.ndarray, reach_px) -> np.ndarray:
    """Which points lie within reach of any of the others."""
    if not len(others):
        return np.zeros(len(pixels), bool)
    return np.linalg.norm(pixels[:, None] - others[None], axis=-1).min(1) < reach_px


def crowding(line, scale: np.ndarray) -> np.ndarray:
    """How many outline points share one length of relief, at least 1."""
    gap = np.linalg.norm(line.pixels[:, None] - line.pixels[None], axis=-1)
    return np.maximum((gap < RELIEF_LENGTH_MM / 2 * scale[:, None]).sum(1), 1)
