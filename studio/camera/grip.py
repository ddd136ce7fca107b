"""Where the handle points, from a top view: its azimuth and its twist.

From above and a little in front, the strap's upper and lower half lie side by side in the
picture. So a strap in space is fitted to the two edges of what is seen: it starts at the wall,
stands in an upright plane, may be turned in it, and may lean. Width and lean look much alike from
above; both are held by what hands make, and what they leave open widens the uncertainty.
"""

from dataclasses import dataclass, replace

import numpy as np

from studio.camera import cup, edges
from studio.camera.solution import Solution, View
from studio.camera.uncertainty import Measure, with_floor

SEARCH_MM = 24.0
WIDTH_RANGE_MM = (7.0, 34.0)
# Aside of the middle [mm], turn [1], lean [1], width [mm]: mean and standard deviation before
# seeing.
PRIOR_MEAN = np.array([0.0, 0.0, 0.0, 14.4])
PRIOR_SD = np.array([50.0, 1.0, np.tan(np.radians(3.0)), 1.5])
CURVE_POWER = 2.7  # a strap pulled into a D, between half an ellipse and half a square
CURVE_SD = np.array([1.5, 1.5, 1.5])  # top, bottom, reach [mm] where a side view told them
USUAL = (0.83, 0.29, 33.0)  # top and bottom as shares of the height; reach beyond the rim [mm]
USUAL_SD = np.array([3.5, 3.5, 4.0])
EDGE_SD_MM = 0.25
SHARED_MM = 4.0  # neighbouring edges share their error that far
END_MARGIN_MM, RIM_MARGIN_MM = 4.0, 3.0
MIN_LINES = 6
APART_SHARE = 0.25  # of the angle between strap and mask: a turned strap's mask lies aside a little
AZIMUTH_FLOOR_DEG, TWIST_FLOOR_DEG = 0.3, 0.5


@dataclass(frozen=True)
class Grip:
    """Where the handle points, seen from above.

    Attributes
    ----------
    azimuth_deg : Measure or None
        Of the attachments' middle about the cup's axis, counter-clockwise from the mat's x axis.
    twist_deg : Measure or None
        Turn of the handle's plane from the radial direction, counter-clockwise.
    seen : int
        0 where nothing sticks out that could be a handle.
    """

    azimuth_deg: Measure | None = None
    twist_deg: Measure | None = None
    seen: int = 1


@dataclass(frozen=True)
class _Bench:
    """The plane at the handle's middle height on which strap and picture are compared."""

    camera: object
    foot: np.ndarray
    run: np.ndarray
    z: float
    azimuth: float
    radius: float

    @property
    def out(self):
        return np.array([np.cos(self.azimuth), np.sin(self.azimuth), 0.0])

    @property
    def aside(self):
        return np.array([-np.sin(self.azimuth), np.cos(self.azimuth), 0.0])

    def axis(self, z):
        return self.foot + (np.asarray(z, float) - self.foot[2])[..., None] * self.run

    def flat(self, pixels):
        """Pixels to (out, aside) on the plane [mm]."""
        d = self.camera.on_plane(pixels, self.z) - self.axis(self.z)
        return np.stack([d @ self.out, d @ self.aside], -1)

    def pixels(self, flat):
        """Places (out, aside) on the plane to pixels."""
        place = self.axis(self.z) + flat[..., :1] * self.out + flat[..., 1:] * self.aside
        return self.camera.project(place)


def in_top_view(
    view: View,
    solution: Solution,
    k: int,
    curve: tuple[float, float, float] | None = None,
) -> Grip:
    """Azimuth and twist of the handle in top view k.

    Parameters
    ----------
    curve : (float, float, float), optional
        Heights of the top and bottom attachment and the reach from the axis, from a side view [mm].
    """
    y, x = np.nonzero(view.silhouette.handle)
    if len(x) < 20:
        return Grip(seen=0)
    grid, shape = solution.grid(k), solution.shape
    foot, ring = cup.foot_outline(grid).mean(0), grid[cup.FIRST_LIP].mean(0)
    height, radius = shape[cup.INDEX["height"]], shape[cup.INDEX["rim"]]
    sd = CURVE_SD if curve else USUAL_SD
    if curve is None:
        curve = USUAL[0] * height, USUAL[1] * height, radius + USUAL[2]
    z = (curve[0] + curve[1]) / 2
    run = (ring - foot) / (ring[2] - foot[2])
    bench = _Bench(solution.cameras[k], foot, run, z, 0.0, radius)
    aim = bench.flat(view.silhouette.to_picture(np.stack([x, y], 1))).mean(0)
    azimuth = aimed = float(np.arctan2(aim[1], aim[0]))
    for _ in range(3):
        bench = _Bench(solution.cameras[k], foot, run, z, azimuth, radius)
        seen = _edges(view, bench, height)
        if seen is None:
            return Grip()
        fit, spread = _fit(bench, seen, np.array(curve), sd)
        moved = float(np.arctan2(fit[0], radius))
        azimuth += moved
    found = _angles(fit, spread, azimuth, radius, solution)
    # A second way to the same direction: where the middle of the handle's mask lies.
    apart = abs(np.degrees(np.arctan2(np.sin(azimuth - aimed), np.cos(azimuth - aimed))))
    return Grip(*(replace(m, u=with_floor(m.u, APART_SHARE * apart)) for m in
                  (found.azimuth_deg, found.twist_deg)))  # fmt: skip


def _edges(view, bench, height):
    """Both edges of the seen strap: rows of (out, left edge, right edge) on the plane [mm]."""
    y, x = np.nonzero(view.silhouette.handle)
    flat = bench.flat(view.silhouette.to_picture(np.stack([x, y], 1)))
    eye = bench.camera.position_mm[2]
    first = bench.radius * (eye - bench.z) / (eye - height) + RIM_MARGIN_MM
    last = float(np.percentile(flat[:, 0], 99)) - END_MARGIN_MM
    out = np.arange(first, last, 0.75)
    if len(out) < MIN_LINES:
        return None
    aside = np.arange(-SEARCH_MM, SEARCH_MM + 0.1, 0.5)
    spots = bench.pixels(np.stack(np.meshgrid(out, aside, indexing="ij"), -1))
    inside = view.silhouette.inside(view.silhouette.mask, spots.reshape(-1, 2))
    runs = [_middle_run(row) for row in inside.reshape(len(out), len(aside))]
    rows = [
        (s, aside[r[0]] - 0.25, aside[r[1]] + 0.25)
        for s, r in zip(out, runs, strict=True)
        if r and WIDTH_RANGE_MM[0] < aside[r[1]] - aside[r[0]] < WIDTH_RANGE_MM[1]
    ]
    if len(rows) < MIN_LINES:
        return None
    rows = np.array(rows)
    for column, sign in ((1, -1.0), (2, 1.0)):
        at = bench.pixels(rows[:, [0, column]])
        step = bench.pixels(rows[:, [0, column]] + np.array([0.0, sign])) - at
        px = np.linalg.norm(step, axis=1)
        scale = float(px.mean())
        found = edges.find(
            view.linear, at, step / px[:, None], half_px=2.5 * scale, noise=view.noise,
            prefer_px=1.5 * scale, blur_px=view.blur_px,
        )  # fmt: skip
        rows[:, column] += sign * found.offset_px / px
    return rows


def _middle_run(inside):
    """The run of inside that covers the middle or lies nearest to it; (first, last) or None."""
    change = np.diff(np.concatenate([[0], inside.astype(np.int8), [0]]))
    starts, ends = np.nonzero(change == 1)[0], np.nonzero(change == -1)[0] - 1
    if not len(starts):
        return None
    middle = (len(inside) - 1) / 2
    gap = np.maximum(np.maximum(starts - middle, middle - ends), 0)
    k = int(gap.argmin())
    if starts[k] == 0 or ends[k] == len(inside) - 1:
        return None
    return int(starts[k]), int(ends[k])


_TAU = np.sin(np.linspace(-np.pi / 2, np.pi / 2, 81))


def _strap_edges(bench, curve, unknowns, out):
    """Edges of the modelled strap's outline at distances `out`; arrays (left, right) [mm]."""
    top, bottom, reach = curve
    offset, turn, lean, width = unknowns
    z = (top + bottom) / 2 + _TAU * (top - bottom) / 2
    s = (reach - 3.0 - bench.radius) * (1 - np.abs(_TAU) ** CURVE_POWER) ** (1 / CURVE_POWER)
    middle = offset + turn * s + lean * (z - bench.z)
    low, high = [], []
    for half, pick in ((-width / 2, low), (width / 2, high)):
        place = (
            bench.axis(z)
            + (bench.radius + s)[:, None] * bench.out
            + (middle + half)[:, None] * bench.aside
        )
        flat = bench.flat(bench.camera.project(place))
        for branch in (slice(0, 41), slice(80, 39, -1)):  # both run outward
            part = flat[branch]
            rising = np.maximum.accumulate(part[:, 0])
            pick.append(np.interp(out, rising, part[:, 1]))
    return np.minimum(*low), np.maximum(*high)


def _fit(bench, seen, curve, curve_sd):
    """Offset, turn, lean and width by damped least squares; values and covariance (4, 4)."""
    out, left, right = seen.T
    measured = np.concatenate([left, right])
    good = np.isfinite(measured)

    def model(p, c=curve):
        return np.concatenate(_strap_edges(bench, c, p, out))

    p = PRIOR_MEAN.copy()
    info = np.diag(1 / PRIOR_SD**2)
    scatter = EDGE_SD_MM
    share = SHARED_MM / 0.75
    for round_ in range(12):
        miss = np.where(good, np.nan_to_num(measured) - model(p), 0.0)
        jac = np.stack([(model(p + h) - model(p)) / 1e-3 for h in 1e-3 * np.eye(4)], 1)
        pull = miss / (3 * scatter)
        weight = good / (share * scatter**2 * (1 + pull**2))
        normal = jac.T @ (weight[:, None] * jac) + info
        step = np.linalg.solve(normal, jac.T @ (weight * miss) - info @ (p - PRIOR_MEAN))
        p = p + np.clip(step, -3.0, 3.0)
        if round_ >= 2:
            scatter = max(1.4826 * float(np.median(np.abs(miss[good]))), EDGE_SD_MM)
    gain = np.linalg.solve(normal, (jac * weight[:, None]).T)
    covariance = np.linalg.inv(normal)
    for k, sd in enumerate(curve_sd):  # the curve is borrowed: its doubt comes along
        moved = curve.astype(float).copy()
        moved[k] += sd
        change = gain @ (model(p, moved) - model(p))
        covariance = covariance + np.outer(change, change)
    return p, covariance


def _angles(fit, spread, azimuth, radius, solution):
    """Azimuth and twist from the last fit, whose offset is against the azimuth before it."""
    twist = np.degrees(np.arctan(fit[1]) - np.arctan(fit[0] / radius))
    at = [cup.INDEX["lean_x"], cup.INDEX["lean_y"]]
    axis = np.trace(solution.covariance[np.ix_(at, at)]) / 2 / 4  # the axis half way up
    slope = np.array([-1 / radius, 1.0, 0.0, 0.0])
    u_azimuth = np.degrees(np.sqrt((spread[0, 0] + axis) / radius**2))
    u_twist = np.degrees(np.sqrt(slope @ spread @ slope + axis / radius**2))
    return Grip(
        Measure(float(np.degrees(azimuth) % 360), with_floor(float(u_azimuth), AZIMUTH_FLOOR_DEG)),
        Measure(float(twist), with_floor(float(u_twist), TWIST_FLOOR_DEG)),
    )
