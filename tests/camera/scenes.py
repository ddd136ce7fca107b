"""The mat drawn from a known camera, pixel by pixel, as a check on what reads it.

Every pixel is the mean of a grid of lines of sight met with the printed sheet; then the picture is
blurred in linear light, given noise and coded as sRGB.
"""

import io
from functools import cache

import cv2
import numpy as np
from PIL import Image

from studio.camera import mat
from studio.camera.pose import Camera

SHEET = (139.7, 107.95)  # US Letter, half sides [mm]
CELLS_PER_MM = 16
PAPER, INK, TABLE = 0.82, 0.03, 0.35


def camera(elevation_deg, distance_mm=420.0, *, azimuth_deg=270.0, f35_mm=35.0, roll_deg=0.0,
           size=(1600, 1200), k1=0.0, aim=(0.0, 0.0, 20.0)) -> Camera:  # fmt: skip
    """A camera that looks at a point over the mat from a given side."""
    e, a = np.radians(elevation_deg), np.radians(azimuth_deg)
    back = np.array([np.cos(e) * np.cos(a), np.cos(e) * np.sin(a), np.sin(e)])
    eye = np.array(aim) + distance_mm * back
    right = np.cross([0, 0, 1.0], back)
    right = right / np.linalg.norm(right) if elevation_deg < 89.9 else np.array([1.0, 0, 0])
    down = -np.cross(back, right)
    r = np.radians(roll_deg)
    x, y = np.cos(r) * right + np.sin(r) * down, -np.sin(r) * right + np.cos(r) * down
    rotation = np.stack([x, y, -back])
    f = f35_mm / 43.266615 * np.hypot(*size)
    return Camera(size, float(f), k1, rotation, -rotation @ eye, np.eye(8) * 1e-12)


def _axes():
    """Places of the fine picture's columns and rows on the paper [mm]."""
    x = (np.arange(2 * 160 * CELLS_PER_MM) + 0.5) / CELLS_PER_MM - 160
    y = 125 - (np.arange(2 * 125 * CELLS_PER_MM) + 0.5) / CELLS_PER_MM
    return x, y


@cache
def _plain_sheet():
    """Linear reflectance of sheet and table as a fine picture, rows from the rear."""
    x, y = _axes()
    on = (np.abs(y) < SHEET[1])[:, None] & (np.abs(x) < SHEET[0])
    out = np.where(on, PAPER, TABLE).astype(np.float32)
    half = mat.MARKER_SIDE_MM / 2
    for marker_id, (cx, cy) in mat.CENTRES_MM.items():
        columns, rows = np.nonzero(np.abs(x - cx) < half)[0], np.nonzero(np.abs(y - cy) < half)[0]
        u = ((x[columns] - cx + half) / mat.MARKER_SIDE_MM * mat.CELLS).astype(int)
        v = ((cy + half - y[rows]) / mat.MARKER_SIDE_MM * mat.CELLS).astype(int)
        cells = mat.marker_cells(marker_id)[v][:, u]
        out[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1] = np.where(cells, PAPER, INK)
    return out


def _sheet(extra):
    """The sheet with what `extra(x, y, reflectance)` paints on its middle."""
    out = _plain_sheet()
    if extra is None:
        return out
    x, y = _axes()
    columns, rows = np.nonzero(np.abs(x) < 105)[0], np.nonzero(np.abs(y) < 90)[0]
    window = slice(rows[0], rows[-1] + 1), slice(columns[0], columns[-1] + 1)
    out = out.copy()
    out[window] = extra(*np.meshgrid(x[window[1]], y[window[0]]), out[window])
    return out


def draw(seen_by: Camera, *, blur_px=0.6, noise=0.004, grid=4, extra=None, seed=1) -> np.ndarray:
    """The mat as this camera sees it; RGB, uint8."""
    w, h = seen_by.size
    sheet = _sheet(extra)
    rays = seen_by.rays(np.stack(np.meshgrid(np.arange(w), np.arange(h)), -1).astype(float))
    eye = seen_by.position_mm
    far = -eye[2] / np.minimum(rays[..., 2], -1e-3)  # sight above the horizon meets the far table
    x, y = eye[0] + far * rays[..., 0], eye[1] + far * rays[..., 1]
    (x_down, x_along), (y_down, y_along) = np.gradient(x), np.gradient(y)
    total = np.zeros((h, w))
    offsets = (np.arange(grid) + 0.5) / grid - 0.5  # pixel centres at whole numbers
    for dx in offsets:
        for dy in offsets:
            column = (x + dx * x_along + dy * x_down + 160) * CELLS_PER_MM
            row = (125 - y - dx * y_along - dy * y_down) * CELLS_PER_MM
            column = np.clip(column, 0, sheet.shape[1] - 1).astype(int)
            total += sheet[np.clip(row, 0, sheet.shape[0] - 1).astype(int), column]
    light = cv2.GaussianBlur(total / grid**2, (0, 0), blur_px)
    light = light + np.random.default_rng(seed).normal(0, noise, light.shape)
    light = np.clip(light, 0, 1)
    coded = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    return np.repeat(np.round(255 * coded).astype(np.uint8)[..., None], 3, 2)


def jpeg(rgb: np.ndarray, *, f35=None, orientation=None, quality=92) -> bytes:
    """A JPEG file of a picture, with the Exif entries asked for."""
    exif = Image.Exif()
    if orientation:
        exif[0x0112] = orientation
    if f35 is not None:
        exif.get_ifd(0x8769)[0xA405] = f35
    out = io.BytesIO()
    Image.fromarray(rgb).save(out, "JPEG", quality=quality, exif=exif)
    return out.getvalue()
