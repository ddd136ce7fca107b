"""The room a cup can fill by its masks: where a fit starts, and which photo shows another cup.

A block of small cubes is looked up in every mask. What all masks hold is the hull. A photo of
another cup cuts the hull of the others down or stands out of it; without it they agree.
"""

from dataclasses import dataclass

import cv2
import numpy as np

from studio.camera.wheel.look import Look

STEP_MM = 3.0
HALF_MM, LEAST_Z_MM, MOST_Z_MM = 96.0, 1.5, 165.0
HANDLE_DISC_MM = 15.0  # wider than half a handle's opening with strap, narrower than half a cup
LEAST_LEVELS = 8  # 24 mm: no cup is lower
LEAST_AGREEMENT = 0.80  # of a mask with the hull of the others; sound ones reach 0.9
CLEAR_GAIN = 0.05  # so much better do the others agree without a foreign photo
FULL_SHARE = 0.35  # of the median area: a level below it is handle, slip or nothing


@dataclass(frozen=True)
class Block:
    """Cubes seen by every photo.

    Attributes
    ----------
    inside : ndarray of bool, shape (photos, levels, n, n)
        Rows run along y, columns along x.
    """

    inside: np.ndarray

    @property
    def axis_mm(self) -> np.ndarray:
        return _across()

    def hull(self, use: list[int]) -> np.ndarray:
        """What the masks of these photos all hold; bool, shape (levels, n, n)."""
        return self.inside[use].all(0)


@dataclass(frozen=True)
class Rough:
    """A round cup that fills the hull. [mm]"""

    height: float
    foot: float
    rim: float
    foot_xy: np.ndarray
    rim_xy: np.ndarray


def _across():
    return np.arange(-HALF_MM, HALF_MM + STEP_MM / 2, STEP_MM)


def _levels():
    return np.arange(LEAST_Z_MM, MOST_Z_MM, STEP_MM)


def block(looks: list[Look]) -> Block:
    """Look every cube up in every mask; what lies outside of a picture is unknown, so inside."""
    x, z = _across(), _levels()
    cubes = np.stack(np.broadcast_arrays(x, x[:, None], z[:, None, None]), -1)
    inside = []
    for view in looks:
        pixels = view.camera.project(cubes).reshape(-1, 2)
        seen = view.silhouette.inside(view.silhouette.mask | view.silhouette.body, pixels)
        beyond = (pixels < 0).any(1) | (pixels > np.array(view.camera.size) - 1).any(1)
        inside.append((seen | beyond).reshape(cubes.shape[:3]))
    return Block(np.array(inside))


def agreement(cubes: Block, looks: list[Look], use: list[int]) -> np.ndarray:
    """Share of each used mask that the hull of the used photos fills; shape (len(use),)."""
    hull = cubes.hull(use)
    k, j, i = np.nonzero(hull)
    places = np.stack([_across()[i], _across()[j], _levels()[k]], -1)
    out = []
    for n in use:
        view = looks[n]
        s = view.silhouette
        body = s.mask | s.body
        if not len(places):
            out.append(0.0)
            continue
        at = (view.camera.project(places) - s.origin + 0.5) / s.step - 0.5
        drawn = np.zeros(body.shape, np.uint8)
        h, w = body.shape
        at = np.round(at).astype(int)
        ok = (at >= 0).all(1) & (at < [w, h]).all(1)
        drawn[at[ok, 1], at[ok, 0]] = 1
        depth = float(places.mean(0) @ view.camera.rotation[2] + view.camera.shift_mm[2])
        cube_px = STEP_MM * view.camera.f_px / depth / s.step
        side = 2 * round(0.75 * cube_px) + 1  # a cube seen over its edge
        drawn = cv2.morphologyEx(
            cv2.dilate(drawn, np.ones((side, side), np.uint8)),
            cv2.MORPH_ERODE, np.ones((side // 2 | 1, side // 2 | 1), np.uint8),
        )  # fmt: skip
        out.append(float((body & (drawn > 0)).sum() / max(body.sum(), 1)))
    return np.array(out)


def foreign(cubes: Block, looks: list[Look]) -> list[int]:
    """Photos whose mask does not belong to the others' cup, the worst first."""
    use, out = list(range(len(looks))), []
    while len(use) > 3:
        now = agreement(cubes, looks, use)
        if now.min() > LEAST_AGREEMENT:
            break
        trials = [agreement(cubes, looks, [n for n in use if n != one]) for one in use]
        best = int(np.argmax([t.min() for t in trials]))
        if trials[best].min() < now.min() + CLEAR_GAIN:
            break
        out.append(use.pop(best))
    return out


def rough(cubes: Block, use: list[int]) -> Rough | None:
    """A round cup that fills the hull without its handle; None where there is none."""
    hull = cubes.hull(use)
    radius = round(HANDLE_DISC_MM / STEP_MM)
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * radius + 1, 2 * radius + 1))
    x = _across()
    areas, middles = [], []
    for level in hull:
        body = cv2.morphologyEx(level.astype(np.uint8), cv2.MORPH_OPEN, disc) > 0
        areas.append(body.sum() * STEP_MM**2)
        j, i = np.nonzero(body)
        middles.append((x[i].mean(), x[j].mean()) if len(i) else (np.nan, np.nan))
    areas, middles = np.array(areas), np.array(middles)
    some = areas[areas > 0]
    if len(some) < LEAST_LEVELS:
        return None
    full = np.nonzero(areas > FULL_SHARE * np.median(some))[0]
    full = full[: _first_gap(full)]
    if len(full) < LEAST_LEVELS:
        return None
    z, radii = _levels()[full], np.sqrt(areas[full] / np.pi)
    height = float(z[-1] + STEP_MM)
    keep = slice(0, max(len(z) - 2, 3))  # the hull narrows where only a wave of the rim reaches
    line = np.polyfit(z[keep], np.column_stack([radii, middles[full]])[keep], 1)
    low, high = line[1], line[0] * height + line[1]
    return Rough(height, float(low[0]), float(high[0]), low[1:], high[1:])


def _first_gap(numbers):
    gaps = np.nonzero(np.diff(numbers) > 1)[0]
    return int(gaps[0]) + 1 if len(gaps) else len(numbers)
