"""The mat's markers in a picture, with corners to a few hundredths of a pixel.

The detector finds the markers; their corners are then refined by fitting the whole printed
pattern, blurred as the picture is, to the pixels in linear light. At a low camera a marker's
black border is one or two pixels high: a search window about a corner, or an edge profile, would
reach the first bit and be pulled. The pattern knows its bits, so nothing is a stray neighbour.
Pixel centres are whole numbers throughout.
"""

from dataclasses import dataclass
from functools import cache

import cv2
import numpy as np

from studio.camera import mat

FIT_MARGIN_CELLS = 0.9  # 4.2 of the 5 mm of white around a marker
MAX_FIT_PIXELS = 1500
ITERATIONS = 12
STEP_DONE_PX = 0.005
START_BLUR_PX = 0.7
BLUR_RANGE_PX = (0.35, 6.0)
MAX_CORNER_MOVE_PX = 4.0  # the detector is never that wrong; more means the fit ran off
MIN_CONTRAST = 0.04  # linear light: white paper less black ink
MAX_PATTERN_MISFIT = 0.22  # rms over contrast; a covered or glared marker is above
MIN_CORNER_SD_PX = 0.01


@dataclass(frozen=True)
class Marker:
    """One marker as seen.

    Attributes
    ----------
    id : int
    corners : ndarray, shape (4, 2)
        Top left, top right, bottom right, bottom left of the print [px].
    covariance : ndarray, shape (8, 8)
        Of the corners in the order x0, y0, x1, ... [px^2].
    blur_px : float
        Standard deviation of the edge spread, the pixel's own box included.
    white, black : float
        Levels in linear light, 0 to 1.
    """

    id: int
    corners: np.ndarray
    covariance: np.ndarray
    blur_px: float
    white: float
    black: float


@cache
def _linear_table():
    v = np.arange(256) / 255
    return np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4).astype(np.float32)


def linear_light(rgb: np.ndarray) -> np.ndarray:
    """SRGB bytes to linear light 0..1, float32 (IEC 61966-2-1). Edges are mid-way only there."""
    return _linear_table()[rgb]


def find_markers(grey: np.ndarray, linear: np.ndarray) -> list[Marker]:
    """Find and refine the mat's markers.

    Parameters
    ----------
    grey : ndarray, shape (h, w), uint8
    linear : ndarray, shape (h, w), float32
        The same picture in linear light.

    Returns
    -------
    list of Marker
        In the order of their ids; those whose pattern does not fit (covered, glared) are left out.
    """
    found, ids = _detect(grey)
    out = {}
    for corners, number in zip(found, ids, strict=True):
        if number in mat.CENTRES_MM and number not in out:
            marker = refine(linear, int(number), corners.astype(float))
            if marker is not None:
                out[int(number)] = marker
    return [out[i] for i in sorted(out)]


def _detect(grey):
    settings = cv2.aruco.DetectorParameters()
    settings.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_NONE
    settings.minMarkerPerimeterRate = 0.02
    settings.adaptiveThreshWinSizeMin = 5
    settings.adaptiveThreshWinSizeMax = 45
    settings.adaptiveThreshWinSizeStep = 10
    detector = cv2.aruco.ArucoDetector(mat.dictionary(), settings)
    corners, ids, _ = detector.detectMarkers(grey)
    if ids is None:
        return [], []
    return [c.reshape(4, 2) for c in corners], ids.ravel().tolist()


@cache
def _padded_cells(marker_id):
    cells = mat.marker_cells(marker_id)
    padded = np.ones((mat.CELLS + 2, mat.CELLS + 2))  # the white around
    padded[1:-1, 1:-1] = cells
    return padded


def _step(x):
    """Normal distribution function, to 3e-4 (tanh approximation after Page, 1977)."""
    return 0.5 * (1 + np.tanh(0.7978846 * x * (1 + 0.044715 * x * x)))


def _homography(corners):
    n = float(mat.CELLS)
    to = np.array([(0, 0), (n, 0), (n, n), (0, n)])
    rows, right = [], []
    for (x, y), (u, v) in zip(corners, to, strict=True):
        rows.append([x, y, 1, 0, 0, 0, -u * x, -u * y])
        rows.append([0, 0, 0, x, y, 1, -v * x, -v * y])
        right += [u, v]
    return np.append(np.linalg.solve(np.array(rows), np.array(right)), 1).reshape(3, 3)


def _on_cells(h, pixels):
    """Pixels in cells of the pattern by a homography, and the divisor."""
    x, y = pixels
    w = h[2, 0] * x + h[2, 1] * y + h[2, 2]
    u = (h[0, 0] * x + h[0, 1] * y + h[0, 2]) / w
    v = (h[1, 0] * x + h[1, 1] * y + h[1, 2]) / w
    return u, v, w


def _pattern(cells, u, v, su, sv):
    """Share of white seen at places of the pattern under a Gaussian of su by sv cells."""
    edges = np.arange(mat.CELLS + 1)[:, None]
    wide = _step((u - edges) / su)
    high = _step((v - edges) / sv)
    across = np.vstack([1 - wide[:1], wide[:-1] - wide[1:], wide[-1:]])
    down = np.vstack([1 - high[:1], high[:-1] - high[1:], high[-1:]])
    return (down * (cells @ across)).sum(0)


def _fit_pixels(shape, corners):
    """Whole pixels of the marker and its white margin, thinned to a bounded number."""
    back = np.linalg.inv(_homography(corners))
    m, n = FIT_MARGIN_CELLS, mat.CELLS
    quad = np.array([(-m, -m, 1), (n + m, -m, 1), (n + m, n + m, 1), (-m, n + m, 1)]) @ back.T
    quad = quad[:, :2] / quad[:, 2:]
    if (quad < 1).any() or (quad > np.array(shape[::-1]) - 2).any():
        return None
    low, high = np.floor(quad.min(0)).astype(int), np.ceil(quad.max(0)).astype(int) + 1
    mask = np.zeros((high - low)[::-1], np.uint8)
    cv2.fillConvexPoly(mask, np.round(quad - low).astype(np.int32), 1)
    y, x = np.nonzero(mask)
    if len(x) > MAX_FIT_PIXELS:
        keep = np.linspace(0, len(x) - 1, MAX_FIT_PIXELS).astype(int)
        # A walk by the golden ratio spreads the thinned pixels evenly over rows and columns.
        order = np.argsort((np.arange(len(x)) * 0.6180339887) % 1.0)
        x, y = x[order[keep]], y[order[keep]]
    return x + low[0], y + low[1]


def refine(linear: np.ndarray, marker_id: int, corners: np.ndarray) -> Marker | None:
    """Fit a marker's printed pattern to the picture, starting from the detector's corners.

    Gauss-Newton over the eight corner coordinates and the blur; the levels of ink and paper (the
    latter with a linear slope) follow linearly. None when the pattern does not fit or reaches out
    of the picture.
    """
    cells = _padded_cells(marker_id)
    xy = _fit_pixels(linear.shape, corners)
    if xy is None or len(xy[0]) < 60:
        return None
    values = linear[xy[1], xy[0]].astype(float)
    pixels = (xy[0].astype(float), xy[1].astype(float))
    state = np.append(corners.ravel(), START_BLUR_PX)
    weights = np.ones_like(values)
    levels = None
    for _ in range(ITERATIONS):
        jac, levels, fitted, design = _linearised(cells, state, pixels, values, weights)
        residual = values - fitted
        scale = 1.4826 * np.median(np.abs(residual)) + 1e-4
        weights = 1 / (1 + (residual / (4 * scale)) ** 2)  # Cauchy: a shadow's edge weighs little
        full = np.hstack([jac, design])
        normal = full.T @ (weights[:, None] * full)
        normal[np.diag_indices_from(normal)] *= 1 + 1e-9
        try:
            step = np.linalg.solve(normal, full.T @ (weights * residual))[:9]
        except np.linalg.LinAlgError:
            return None
        limit = np.abs(step[:8]).max()
        state += step * min(1.0, 1.0 / max(limit, 1e-9))
        state[8] = np.clip(state[8], *BLUR_RANGE_PX)
        if limit < STEP_DONE_PX:
            break
    fine = state[:8].reshape(4, 2)
    contrast = levels[1]
    misfit = np.sqrt(np.average(residual**2, weights=weights))
    if (
        np.abs(fine - corners).max() > MAX_CORNER_MOVE_PX
        or contrast < MIN_CONTRAST
        or misfit > MAX_PATTERN_MISFIT * contrast
    ):
        return None
    covariance = np.linalg.inv(normal)[:8, :8] * misfit**2
    # Neighbouring pixels share noise (demosaicing, JPEG): about four to a piece of news.
    covariance = 4 * covariance + MIN_CORNER_SD_PX**2 * np.eye(8)
    return Marker(marker_id, fine, covariance, float(state[8]), levels[0] + contrast, levels[0])


_CELL_STEP, _PX_STEP = 0.005, 0.01  # of the numeric derivatives


def _linearised(cells, state, pixels, values, weights):
    """Derivative by the nine unknowns, levels of ink and paper, fitted values, level design."""
    corners, blur = state[:8].reshape(4, 2), state[8]
    h = _homography(corners)
    u, v, w = _on_cells(h, pixels)
    # Cells per pixel at each place: the blur is round in the picture, not on the sheet.
    su = np.hypot(h[0, 0] - u * h[2, 0], h[0, 1] - u * h[2, 1]) / np.abs(w)
    sv = np.hypot(h[1, 0] - v * h[2, 0], h[1, 1] - v * h[2, 1]) / np.abs(w)
    pattern = _pattern(cells, u, v, blur * su, blur * sv)
    middle = mat.CELLS / 2
    design = np.stack(
        [np.ones_like(pattern), pattern, pattern * (u - middle), pattern * (v - middle)], 1
    )
    weighted = design * weights[:, None]
    levels = np.linalg.lstsq(weighted.T @ design, weighted.T @ values, rcond=None)[0]
    gain = levels[1] + levels[2] * (u - middle) + levels[3] * (v - middle)
    by_u = (_pattern(cells, u + _CELL_STEP, v, blur * su, blur * sv) - pattern) / _CELL_STEP
    by_v = (_pattern(cells, u, v + _CELL_STEP, blur * su, blur * sv) - pattern) / _CELL_STEP
    wider = blur + _PX_STEP
    jac = np.empty((len(pattern), 9))
    jac[:, 8] = (_pattern(cells, u, v, wider * su, wider * sv) - pattern) / _PX_STEP
    for k in range(8):  # a corner moves the pattern; what it changes of the blur is left out
        moved = state[:8].copy()
        moved[k] += _PX_STEP
        u1, v1, _ = _on_cells(_homography(moved.reshape(4, 2)), pixels)
        jac[:, k] = (by_u * (u1 - u) + by_v * (v1 - v)) / _PX_STEP
    return gain[:, None] * jac, levels, design @ levels, design
