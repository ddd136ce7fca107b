"""The handle, measured in its own upright plane through the cup's axis.

A side view is drawn anew on that plane, so that a pixel is a place (distance from the axis,
height); the strap is about 14 mm wide, and its near edge covers a little more than its middle
would: that is taken off.
"""

from dataclasses import dataclass

import cv2
import numpy as np

from studio.camera import cup, edges
from studio.camera.solution import Solution, View
from studio.camera.uncertainty import Measure, with_floor

STRAP_HALF_WIDTH_MM, STRAP_HALF_WIDTH_SD_MM = 7.2, 1.0  # pulled straps; common practice, no source
STRAP_HALF_THICKNESS_MM = 3.0
STRAP_RANGE_MM = (3.0, 9.0)  # thickness, with the slack of the two measures it is the rest of
STRAP_POWER = 2.8  # cross-section between an ellipse and a rectangle with rounded corners
PX_PER_MM = 4.0
REACH_RANGE_MM = (0.0, 110.0)
HEIGHT_RANGE_MM = (-5.0, 130.0)
LEAST_MASK_MM2 = 120.0
SEARCH_MM = 2.5
AZIMUTH_SD_DEG = 10.0  # of a cup set down with its handle along the mat
EDGE_FLOOR_MM = 0.2
ONE_SIDE = 0.85
LEAST_PROTRUSION_MM = 18.0  # two fingers and a strap; common practice, no source


@dataclass(frozen=True)
class SideHandle:
    """The handle in a side view; a height or distance that was not seen is None.

    Attributes
    ----------
    reach_mm, top_mm, bottom_mm, opening_height_mm, opening_depth_mm : Measure or None
        Greatest distance of the strap from the axis, heights of the attachments, clear opening.
    on_right : bool
    seen : int
        How many things that could be a handle stick out: 0, 1, or 2 for one on either side.
    """

    reach_mm: Measure | None = None
    top_mm: Measure | None = None
    bottom_mm: Measure | None = None
    opening_height_mm: Measure | None = None
    opening_depth_mm: Measure | None = None
    on_right: bool = True
    seen: int = 1

    @property
    def curve(self) -> tuple[float, float, float] | None:
        """Heights of top and bottom attachment and the reach [mm], where all were seen."""
        if self.reach_mm and self.top_mm and self.bottom_mm:
            return self.top_mm.value, self.bottom_mm.value, self.reach_mm.value
        return None


def strap_excess(angle_deg: float, half_width_mm: float = STRAP_HALF_WIDTH_MM) -> float:
    """How far the strap's near edge covers more than its middle, seen at an angle to its width.

    Support of a superellipse in the direction of sight less its half thickness [mm].
    """
    a = np.radians(abs(angle_deg))
    q = STRAP_POWER / (STRAP_POWER - 1)
    support = ((half_width_mm * np.sin(a)) ** q + (STRAP_HALF_THICKNESS_MM * np.cos(a)) ** q) ** (
        1 / q
    )
    return float(support / np.cos(a) - STRAP_HALF_THICKNESS_MM)


class _Plane:
    """The upright plane through the axis towards the handle, with the picture drawn on it."""

    def __init__(self, view: View, solution: Solution, k: int, azimuth_deg: float):
        self.camera = solution.cameras[k]
        grid = solution.grid(k)
        foot, rim = cup.foot_outline(grid).mean(0), grid[cup.FIRST_LIP].mean(0)
        self.foot, self.run = foot, (rim - foot) / (rim[2] - foot[2])
        a = np.radians(azimuth_deg)
        self.out = np.array([np.cos(a), np.sin(a), 0.0])
        self.s0, self.z1 = REACH_RANGE_MM[0], HEIGHT_RANGE_MM[1]
        s = np.arange(*REACH_RANGE_MM, 1 / PX_PER_MM)
        z = np.arange(HEIGHT_RANGE_MM[1], HEIGHT_RANGE_MM[0], -1 / PX_PER_MM)
        points = self.place(*np.meshgrid(s, z))
        where = self.camera.project(points).astype(np.float32)
        self.picture = cv2.remap(
            view.linear, where[..., 0], where[..., 1], cv2.INTER_LINEAR, borderValue=0
        )
        silhouette = view.silhouette
        at = ((where - silhouette.origin + 0.5) / silhouette.step - 0.5).astype(np.float32)

        def drawn(mask):
            soft = cv2.GaussianBlur(mask.astype(np.float32), (0, 0), 0.6)
            return cv2.remap(soft, at[..., 0], at[..., 1], cv2.INTER_LINEAR, borderValue=0) > 0.5

        self.mask, self.handle = drawn(silhouette.mask), drawn(silhouette.handle)
        self.blur_px = max(view.blur_px, 0.5) * PX_PER_MM / self.px_per_mm()
        self.noise = view.noise
        self.wall = self._wall(grid)

    def place(self, s, z):
        """Mat coordinates of a place on the plane."""
        z = np.asarray(z, float)
        axis = self.foot + (z - self.foot[2])[..., None] * self.run
        return axis + np.asarray(s, float)[..., None] * self.out

    def px_per_mm(self):
        p = self.camera.project(self.place(np.array([60.0, 61.0]), np.array([45.0, 45.0])))
        return float(np.linalg.norm(p[1] - p[0]))

    def _wall(self, grid):
        """Distance of the outer wall from the axis in the plane, by height; two arrays."""
        z = grid[..., 2].mean(1)
        axis = self.foot + (z - self.foot[2])[:, None] * self.run
        aside = grid - axis[:, None]
        return z, (aside @ self.out).max(1)

    def wall_at(self, z):
        heights, radii = self.wall
        body = slice(len(cup.FILLET_PSI), cup.FIRST_LIP + 1)
        return np.interp(z, heights[body], radii[body])

    def column(self, s):
        return round((s - self.s0) * PX_PER_MM)

    def row(self, z):
        return round((self.z1 - z) * PX_PER_MM)

    def edge(self, s, z, normal):
        """Sub-pixel edges near places, along unit normals (ds, dz); offsets in mm, nan if none."""
        pixels = np.stack([(s - self.s0) * PX_PER_MM, (self.z1 - z) * PX_PER_MM], 1)
        normals = np.broadcast_to(np.array([normal[0], -normal[1]], float), pixels.shape)
        found = edges.find(
            self.picture, pixels, normals, half_px=SEARCH_MM * PX_PER_MM, noise=self.noise,
            prefer_px=0.6 * SEARCH_MM * PX_PER_MM, blur_px=float(self.blur_px),
        )  # fmt: skip
        return found.offset_px / PX_PER_MM


def in_side_view(
    view: View, solution: Solution, k: int, azimuth: Measure | None = None
) -> SideHandle:
    """Measure the handle in side view k.

    Parameters
    ----------
    azimuth : Measure, optional
        Where the handle stands in this view's mat coordinates [deg], from a top view; else it
        is taken to lie along the mat's x axis, on the side where the mask grows.
    """
    camera = solution.cameras[k]
    right_deg = float(np.degrees(np.arctan2(camera.view_right[1], camera.view_right[0])))
    y, x = np.nonzero(view.silhouette.handle)
    if len(x) < 20:
        return SideHandle(seen=0)
    middle = camera.project(cup.foot_outline(solution.grid(k)).mean(0))
    mean = view.silhouette.to_picture(np.array([x.mean(), y.mean()]))
    on_right = bool(mean[0] > middle[0])
    there = view.silhouette.to_picture(np.stack([x, y], 1))[:, 0] > middle[0]
    if max(there.mean(), 1 - there.mean()) < ONE_SIDE:
        return SideHandle(on_right=on_right, seen=2)
    square_deg = right_deg if on_right else right_deg + 180
    given = azimuth is not None and abs(_wrap(azimuth.value - square_deg)) < 60
    azimuth_deg = azimuth.value if given else (0.0 if on_right else 180.0)
    sd_deg = azimuth.u if given else AZIMUTH_SD_DEG
    plane = _Plane(view, solution, k, azimuth_deg)
    if plane.handle.sum() / PX_PER_MM**2 < LEAST_MASK_MM2:
        return SideHandle(on_right=on_right, seen=0)
    reach = _reach(plane, sd_deg)
    top, bottom = _attachments(plane, sd_deg)
    opening_height, opening_depth = _opening(plane, sd_deg)
    wall = float(plane.wall_at(np.array([45.0]))[0])
    if reach and reach.value - wall < LEAST_PROTRUSION_MM:
        reach = None  # half hidden, turned away, or no handle at all
    if reach and opening_depth and not _strap(reach.value - opening_depth.value - wall):
        reach = opening_depth = None  # the strap was followed in pieces
    ends = top.value - bottom.value if top and bottom else None
    if ends and opening_height and not _strap(ends - opening_height.value):
        opening_height = None
    return SideHandle(reach, top, bottom, opening_height, opening_depth, on_right)


def _strap(thickness_mm):
    """Whether what is left between outside and opening can be a strap."""
    return STRAP_RANGE_MM[0] < thickness_mm < STRAP_RANGE_MM[1]


def _wrap(deg):
    return (deg + 180) % 360 - 180


def _sight_angles(plane, s, z):
    """Angle of the line of sight to the plane's normal, horizontal and upright [deg]."""
    ray = plane.camera.rays(plane.camera.project(plane.place(np.array(s), np.array(z))))
    normal = np.cross(plane.out, [0, 0, 1.0])
    along = abs(float(ray @ normal))
    return (
        float(np.degrees(np.arctan2(abs(float(ray @ plane.out)), along))),
        float(np.degrees(np.arctan2(abs(float(ray[2])), along))),
    )


def _obliquity_u(length_mm, sight_deg, sd_deg):
    """Uncertainty of a length along the plane whose azimuth is known to sd, to second order."""
    a = np.radians(sight_deg)  # of the line of sight to the plane's normal, perspective included
    first = length_mm * np.tan(a) * np.radians(sd_deg)
    second = length_mm * np.radians(sd_deg) ** 2 / 2
    return float(np.hypot(first, second))


def _reach(plane, sd_deg):
    """The farthest strap edge from the axis, over a run of heights about it."""
    rows = np.nonzero(plane.handle.any(1))[0]
    far = np.array([np.nonzero(plane.handle[r])[0].max() for r in rows])
    near_top = rows[far > far.max() - 2.0 * PX_PER_MM]
    if len(near_top) < 3:
        return None
    z = plane.z1 - near_top / PX_PER_MM
    s = np.array([np.nonzero(plane.handle[r])[0].max() for r in near_top]) / PX_PER_MM + plane.s0
    edge = s + plane.edge(s, z, (1.0, 0.0))
    good = np.isfinite(edge)
    if good.sum() < max(3, 0.4 * len(edge)):
        return None
    # A parabola through the edge's run takes its top without picking the noisiest point.
    centre = z[good].mean()
    fit = np.polyfit(z[good] - centre, edge[good], 2)
    residual = edge[good] - np.polyval(fit, z[good] - centre)
    keep = np.abs(residual) < 3 * (np.median(np.abs(residual)) * 1.48 + 0.05)
    if keep.sum() > 5:
        fit = np.polyfit((z[good] - centre)[keep], edge[good][keep], 2)
    at = np.linspace(z[good].min(), z[good].max(), 50) - centre
    top = float(np.polyval(fit, at).max())
    across, _ = _sight_angles(plane, top, centre)
    excess = strap_excess(across)
    spread = abs(strap_excess(across, STRAP_HALF_WIDTH_MM + STRAP_HALF_WIDTH_SD_MM) - excess)
    u = with_floor(
        float(residual[keep].std()) / 2, EDGE_FLOOR_MM, spread, _obliquity_u(top, across, sd_deg)
    )
    return Measure(top - excess, u)


def _strap_rows(plane, s):
    """Runs of the strap in one column of the handle mask, top first: (upper z, lower z)."""
    column = plane.mask[:, plane.column(s)].astype(np.int8)
    change = np.diff(np.concatenate([[0], column, [0]]))
    starts, ends = np.nonzero(change == 1)[0], np.nonzero(change == -1)[0]
    runs = [
        (plane.z1 - a / PX_PER_MM, plane.z1 - (b - 1) / PX_PER_MM)
        for a, b in zip(starts, ends, strict=True)
        if 2.5 < (b - a) / PX_PER_MM < 14.0
    ]
    return [r for r in runs if r[1] > 3.0]


def _attachments(plane, sd_deg):
    """Heights at which the strap's centre line meets the wall, top and bottom."""
    wall = float(plane.wall_at(np.array([45.0]))[0])
    tops, bottoms = [], []
    for s in np.arange(wall + 3.0, wall + 40.0, 1.0):
        runs = _strap_rows(plane, s)
        if len(runs) != 2:
            continue
        for (upper, lower), out in zip(runs, (tops, bottoms), strict=True):
            pair = np.array([upper, lower])
            up = plane.edge(np.array([s]), pair[:1], (0, 1.0))[0]
            down = plane.edge(np.array([s]), pair[1:], (0, -1.0))[0]
            if np.isfinite(up) and np.isfinite(down):
                out.append((s, (upper + up + lower - down) / 2))
    return (
        _at_wall(plane, tops, sd_deg),
        _at_wall(plane, bottoms, sd_deg),
    )


def _at_wall(plane, centres, sd_deg):
    if len(centres) < 4:
        return None
    s, z = np.array(centres).T
    first = s < s.min() + 9.0
    s, z = s[first], z[first]
    if len(s) < 4:
        return None
    slope, level = np.polyfit(s, z, 1)
    height = level
    for _ in range(5):  # where the line meets the wall, whose place depends on the height
        height = slope * float(plane.wall_at(np.array([height]))[0]) + level
    scatter = float((z - slope * s - level).std())
    gap = s.min() - float(plane.wall_at(np.array([height]))[0])
    # A handle turned towards the eye is nearer, and what is nearer looks lower.
    _, up = _sight_angles(plane, 40.0, float(height))
    nearer = 40.0 * np.radians(sd_deg) * np.tan(np.radians(up))
    return Measure(float(height), with_floor(0.5, scatter, 0.15 * gap, float(nearer)))


def _opening(plane, sd_deg):
    """Greatest clear height and depth between wall and strap."""
    heights, depths = [], []
    for s in np.arange(*REACH_RANGE_MM, 1.0):
        runs = _strap_rows(plane, s)
        if len(runs) == 2 and s > float(plane.wall_at(np.array([45.0]))[0]) + 2:
            at = np.array([s])
            low = runs[0][1] - plane.edge(at, np.array([runs[0][1]]), (0, -1.0))[0]
            high = runs[1][0] + plane.edge(at, np.array([runs[1][0]]), (0, 1.0))[0]
            heights.append((s, low - high))
    z_values = np.arange(15.0, 100.0, 1.0)
    for z in z_values:
        row = plane.mask[plane.row(z)]
        first = plane.column(float(plane.wall_at(np.array([z]))[0]) + 3.0)
        if first >= len(row) or row[first : first + 8].any():
            continue
        hit = np.nonzero(row[first:])[0]
        if len(hit):
            s = plane.s0 + (first + hit[0]) / PX_PER_MM
            inner = s - plane.edge(np.array([s]), np.array([z]), (-1.0, 0))[0]
            depths.append((z, inner - float(plane.wall_at(np.array([z]))[0])))
    return (
        _greatest(plane, heights, True, sd_deg),
        _greatest(plane, depths, False, sd_deg),
    )


def _greatest(plane, rows, upright, sd_deg):
    rows = np.array([r for r in rows if np.isfinite(r[1])])
    if len(rows) < 6:
        return None
    values = np.sort(rows[:, 1])
    value = float(np.median(values[-5:]))  # not the single largest, which is the noisiest
    across, up = _sight_angles(plane, 60.0, 45.0)
    angle, sides = (up, 2) if upright else (across, 1)
    excess = sides * strap_excess(angle)
    wide = sides * strap_excess(angle, STRAP_HALF_WIDTH_MM + STRAP_HALF_WIDTH_SD_MM)
    u = with_floor(0.4, wide - excess, _obliquity_u(40.0 + value, across, sd_deg))
    return Measure(value + excess, u)
