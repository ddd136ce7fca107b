"""What has the cup's colours in a picture, once its body is known.

The first mask had to guess what is cup. A solved body teaches the cup's colours, and the picture
away from it the backdrop's; a pixel goes to the likelier. Where both look alike that errs, but not
at the same place in space from all sides.
"""

import cv2
import numpy as np

from studio.camera import mat
from studio.camera.wheel import form, surface
from studio.camera.wheel.seen_photo import SeenPhoto

CUP_CLUSTERS, OTHER_CLUSTERS = 4, 6
SAMPLES = 3000
KMEANS = (3, 12, 0.5)  # OpenCV's criteria: both, rounds, move of a centre
NOISE_LAB2 = 4.0  # variance of coding and noise on the reduced picture, Lab units squared
LEAST_CLUSTER = 9
ROOM_MM, ROOM_ABOVE_MM = 62.0, 22.0  # beyond wall and rim, where a handle may be
CORE_MM = 3.0  # well inside the body
OUTSIDE_MM = 1.5


def drawn_body(view: SeenPhoto, camera, grid: np.ndarray) -> tuple[np.ndarray, float]:
    """The body on the grid of the view's mask, and mask pixels per millimetre at the cup."""
    s = view.silhouette
    h, w = s.mask.shape
    body = surface.drawn([camera.project(grid)], s.origin, (w, h), s.step)
    depth = float(grid[form.FIRST_LIP].mean(0) @ camera.rotation[2] + camera.shift_mm[2])
    return body, camera.f_px / depth / s.step


def grown(mask: np.ndarray, radius_px: float) -> np.ndarray:
    """A mask widened (or, with a negative radius, narrowed) by a disc; bool."""
    r = max(round(abs(float(radius_px))), 1)
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * r + 1, 2 * r + 1))
    change = cv2.dilate if radius_px > 0 else cv2.erode
    return change(mask.astype(np.uint8), disc) > 0


def like_cup(view: SeenPhoto, camera, shape: form.Form) -> np.ndarray:
    """Where the picture is cup by its mask or by its colours; bool, on the mask's grid."""
    s = view.silhouette
    body, px = drawn_body(view, camera, shape.grid())
    other = ~_room(view, camera, shape) | _markers(view, camera)
    core = grown(body, -CORE_MM * px)
    other &= ~grown(body, OUTSIDE_MM * px)
    if min(core.sum(), other.sum()) < SAMPLES / 10:
        return s.mask | body
    picture = s.picture.astype(np.float64)
    ask = ~body & ~other
    likelier = np.zeros(body.shape, bool)
    cup = _likelihood(picture[ask], _clusters(picture[core], CUP_CLUSTERS))
    likelier[ask] = cup > _likelihood(picture[ask], _clusters(picture[other], OTHER_CLUSTERS))
    likelier = cv2.morphologyEx(likelier.astype(np.uint8), cv2.MORPH_CLOSE, np.ones((3, 3)))
    return s.mask | body | ((likelier > 0) & ask)


def _room(view, camera, shape):
    """Where a cup with its handle can be in the picture."""
    s = view.silhouette
    t = np.linspace(0, 2 * np.pi, 48, endpoint=False)
    reach = float(shape.wall[:, 0].max()) + ROOM_MM
    middle = (shape.foot_xy + shape.rim_xy) / 2
    ring = middle + reach * np.stack([np.cos(t), np.sin(t)], -1)
    top = float(shape.top_line().max()) + ROOM_ABOVE_MM
    points = np.concatenate([np.column_stack([ring, np.full(48, z)]) for z in (0.0, top)])
    hull = cv2.convexHull(((camera.project(points) - s.origin + 0.5) / s.step).astype(np.float32))
    out = np.zeros(s.mask.shape, np.uint8)
    cv2.fillConvexPoly(out, np.round(hull).astype(np.int32), 1)
    return out > 0


def _markers(view, camera):
    """Markers seen whole: nothing of the cup is before them."""
    s = view.silhouette
    out = np.zeros(s.mask.shape, np.uint8)
    for marker_id in camera.marker_ids:
        quad = (camera.project(mat.marker_corners(marker_id)) - s.origin + 0.5) / s.step - 0.5
        cv2.fillConvexPoly(out, np.round(quad).astype(np.int32), 1)
    return out > 0


def _clusters(colours, count):
    """Colours as a mixture: (share, mean, inverse covariance, ln determinant) of each cluster."""
    some = colours[np.linspace(0, len(colours) - 1, min(len(colours), SAMPLES)).astype(int)]
    cv2.setRNGSeed(0)
    _, labels, _ = cv2.kmeans(
        some.astype(np.float32), count, None, KMEANS, 1, cv2.KMEANS_PP_CENTERS
    )
    out = []
    for k in range(count):
        mine = some[labels.ravel() == k]
        if len(mine) < LEAST_CLUSTER:
            continue
        spread = np.cov(mine.T) + NOISE_LAB2 * np.eye(3)
        out.append((len(mine) / len(some), mine.mean(0), np.linalg.inv(spread),
                    float(np.linalg.slogdet(spread)[1])))  # fmt: skip
    return out


def _likelihood(colours, clusters):
    """Log likelihood under a mixture, to a constant."""
    parts = []
    for share, mean, inverse, log_det in clusters:
        d = colours - mean
        parts.append(np.log(share) - 0.5 * (np.einsum("ni,ij,nj->n", d, inverse, d) + log_det))
    return np.logaddexp.reduce(parts, axis=0)
