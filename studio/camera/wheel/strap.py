"""The handle of a turned cup as a strap in space, fitted to its edges in all photos.

The strap leaves the wall below, runs out in a plane and comes back above. Photos from beside show
its curve, those from before it and from above show where it points, how it leans and is turned.
"""

from dataclasses import dataclass, field

import numpy as np

from studio.camera import edges, outline_points
from studio.camera.grid import points_at
from studio.camera.wheel import colours, fit, form, handle_cubes, masks, surface

NAMES = (
    "low_aside", "high_aside", "turn", "low", "high", "depth", "power", "sag", "width", "thick",
    "low_droop", "high_droop",
)  # fmt: skip
N = len(NAMES)
INDEX = {name: k for k, name in enumerate(NAMES)}
USUAL_POWER, USUAL_WIDTH_MM, USUAL_THICK_MM = 2.6, 14.5, 7.0
# Doubt before the edges are seen: places from the room of cubes, sizes of pulled straps and how
# hands set them (mm, rad, 1). Common practice, no source.
PRIOR_SD = np.array([8.0, 8.0, 0.25, 6.0, 6.0, 6.0, 0.6, 5.0, 2.0, 1.0, 8.0, 8.0])
RANGES = {"power": (1.6, 5.0), "width": (7.0, 26.0), "thick": (3.5, 12.0), "depth": (8.0, 80.0),
          "turn": (-0.9, 0.9)}  # fmt: skip
SECTION_POWER = 2.6  # between an ellipse and a rectangle with rounded corners
RINGS, ANGLES = 44, 28
BURIED_MM = 4.0  # the ends run on into the wall
_TAU = np.sin(np.linspace(-np.pi / 2, np.pi / 2, RINGS))
_ROUND = np.arange(ANGLES) * 2 * np.pi / ANGLES
BODY_MARGIN_MM = 1.2
SHARED_MM = 4.0  # neighbouring edges share their error so far
SIZES = np.array([1e-3, 1e-3, 1e-4, 1e-3, 1e-3, 1e-3, 1e-4, 1e-3, 1e-3, 1e-3, 1e-3, 1e-3])
_MASK = tuple(("mask", reach, 1.0, sd) for reach, sd in ((10.0, 3.0), (7.0, 2.0), (5.0, 1.5)))
_EDGE = (("edge", 4.0, 1.5, 0.8), ("edge", 3.0, 1.2, 0.6), ("edge", 2.5, 1.0, 0.4))
# Colours may add backdrop over the handle or its shadow under it, so it is begun shorter too; the
# start with the clearest outline is kept. Millimetres off the upper and the lower end, and how to
# go on from there.
STARTS = ((0.0, 0.0, _MASK + _EDGE), *((*off, _EDGE + _EDGE) for off in (
    (0.0, 0.0), (9.0, 0.0), (18.0, 0.0), (0.0, 9.0))))  # fmt: skip
FINE_STEPS = (("edge", 2.0, 0.8, 0.3), ("edge", 1.5, 0.8, 0.25), *(("limb", 1.3, 0.7, 0.2),) * 2)
RIVAL_SHARE = 0.75  # of the best start's clearness
LEAST_SPAN_MM = 18.0  # between the ends; two fingers need more
PHOTO_POINTS = 15
EDGE_SD_PX = 0.15
MOST_STEP = np.array([4.0, 4.0, 0.15, 4.0, 4.0, 4.0, 0.4, 3.0, 2.0, 1.0, 2.0, 2.0])
NEAR_MM = 0.7
DRAWS, SEED = 40, 1


@dataclass(frozen=True)
class Strap:
    """A strap before a cup's wall.

    Attributes
    ----------
    values : ndarray, shape (N,)
        Aside of the ends from the azimuth [mm], turn of the plane [rad], heights of the ends,
        depth, power of the curve, sag, width and thickness [mm], and how far the ends droop where
        they meet the wall [mm].
    azimuth : float
        Direction about the cup's axis against which the ends lie aside [rad].
    shape : form.Form
        The cup it stands on.
    """

    values: np.ndarray
    azimuth: float
    shape: form.Form

    def _get(self, name):
        return float(self.values[INDEX[name]])

    def ends(self) -> np.ndarray:
        """Where the centre line leaves the wall, low and high; shape (2, 3)."""
        out = []
        for z, aside in ((self._get("low"), self._get("low_aside")),
                         (self._get("high"), self._get("high_aside"))):  # fmt: skip
            theta = np.array([self.azimuth])
            u = np.clip(self.shape.level(z, theta), 0, 1)
            theta = theta + aside / self.shape.radius(u, theta)
            r = self.shape.radius(u, theta)
            xy = self.shape.axis(u)[0] + r * np.array([np.cos(theta[0]), np.sin(theta[0])])
            out.append((*xy, z))
        return np.array(out)

    def attachments(self) -> np.ndarray:
        """Where the centre line comes out of the wall, low and high; shape (2, 3)."""
        droop = np.array([self._get("low_droop"), self._get("high_droop")])
        return self.ends() - droop[:, None] * [0, 0, 1.0]

    def plane(self, ends: np.ndarray) -> np.ndarray:
        """Horizontal direction in which the strap runs out; shape (3,)."""
        middle = ends.mean(0)
        axis = self.shape.axis(np.clip(self.shape.level(middle[2], np.zeros(1)), 0, 1))[0]
        radial = np.arctan2(*(middle[:2] - axis)[::-1])
        a = radial + self._get("turn")
        return np.array([np.cos(a), np.sin(a), 0.0])

    def centre_line(self) -> np.ndarray:
        """Middle of the strap from its low to its high end; shape (RINGS, 3)."""
        ends = self.ends()
        out = self.plane(ends)
        tau = _TAU[:, None]
        power = self._get("power")
        run = (1 - np.abs(tau) ** power) ** (1 / power)
        run = self._get("depth") * run - BURIED_MM * (1 - run)
        droop = np.where(tau > 0, self._get("high_droop"), self._get("low_droop"))
        near_wall = np.clip(1 - run / self._get("depth"), 0, 1) ** 2
        rise = self._get("sag") * (1 - tau**2) - droop * near_wall
        return ends.mean(0) + tau / 2 * (ends[1] - ends[0]) + run * out + rise * [0, 0, 1.0]

    def grid(self) -> np.ndarray:
        """The strap's skin; shape (RINGS, ANGLES, 3)."""
        line = self.centre_line()
        along = np.gradient(line, axis=0)
        along /= np.linalg.norm(along, axis=1, keepdims=True)
        ends = line[-1] - line[0]
        across = np.cross(self.plane(self.ends()), ends)
        across /= np.linalg.norm(across)
        thick = np.cross(across, along)
        c, s = np.cos(_ROUND), np.sin(_ROUND)
        rho = (np.abs(c) ** SECTION_POWER + np.abs(s) ** SECTION_POWER) ** (-1 / SECTION_POWER)
        half_w, half_t = self._get("width") / 2, self._get("thick") / 2
        # Counter-clockwise seen from the end the rings run to, so that normals point outward.
        return (
            line[:, None]
            + (rho * c * half_w)[None, :, None] * across
            - (rho * s * half_t)[None, :, None] * thick[:, None]
        )

    def moved(self, step: np.ndarray) -> "Strap":
        """The strap with its values changed, within what straps are."""
        values = self.values + step
        for name, (low, high) in RANGES.items():
            values[INDEX[name]] = np.clip(values[INDEX[name]], low, high)
        return Strap(values, self.azimuth, self.shape)


@dataclass
class Fitted:
    """A strap with what every photo says about it.

    Attributes
    ----------
    strap, begin : Strap
        The fitted one, and the usual one about which doubt is measured.
    normal : ndarray, shape (N, N)
    left : ndarray, shape (N,)
    shares : list of (ndarray, ndarray)
        Each photo's part of both.
    cover : float
        Mean contrast, at most 1, over the visible outline, 0 where no edge lies near it.
    points : int
    photos : int
        That show a good stretch of it.
    rivals : list of Strap
        Where other starts ended with nearly as clear an outline.
    """

    strap: Strap
    begin: Strap
    normal: np.ndarray = None
    left: np.ndarray = None
    shares: list = field(default_factory=list)
    cover: float = 0.0
    points: int = 0
    photos: int = 0
    rivals: list = field(default_factory=list)

    @property
    def clearness(self) -> float:
        """How clearly and how far the outline was found: a short strap explains fewer edges."""
        return self.cover**2 * self.points

    @property
    def covariance(self) -> np.ndarray:
        return np.linalg.inv(self.normal)

    def without_each(self) -> list[Strap]:
        """The straps that the photos give, each photo left out in turn (one step)."""
        return [
            self.strap.moved(np.linalg.solve(self.normal - share, self.left - pull))
            for share, pull in self.shares
        ]


def start(where: handle_cubes.Room, shape: form.Form) -> Strap:
    """A usual strap in a room of cubes."""
    half = USUAL_THICK_MM / 2
    values = np.zeros(N)
    values[INDEX["low"]], values[INDEX["high"]] = where.low_mm + half, where.high_mm - half
    values[INDEX["depth"]] = max(where.reach_mm - half, 10.0)
    values[INDEX["power"]] = USUAL_POWER
    values[INDEX["width"]], values[INDEX["thick"]] = USUAL_WIDTH_MM, USUAL_THICK_MM
    return Strap(values, where.azimuth, shape)


def solve(solved: fit.Solved) -> Fitted | None:
    """Fit a strap to the handle whose room was found; None where there is none."""
    if solved.room is None:
        return None
    begin, cameras = start(solved.room, solved.form), solved.cameras
    bodies = [_body(solved, camera) for camera in cameras]
    tried = []
    for off_high, off_low, steps in STARTS:
        shorter = off_low * np.eye(N)[INDEX["low"]] - off_high * np.eye(N)[INDEX["high"]]
        shifted = begin.moved(shorter)
        if shifted.values[INDEX["high"]] - shifted.values[INDEX["low"]] < LEAST_SPAN_MM:
            continue
        state = Fitted(shifted, begin)
        for step in steps:
            _iterate(state, solved, cameras, bodies, step)
        tried.append(state)
    best = max(tried, key=lambda state: state.clearness)
    rivals = [t.strap for t in tried if t.clearness > RIVAL_SHARE * best.clearness]
    for step in FINE_STEPS:
        _iterate(best, solved, cameras, bodies, step)
    best.rivals = rivals
    return best


def _body(solved, camera):
    """Drawn body with a margin, its corner, in picture pixels."""
    pixels = camera.project(solved.form.grid())
    low = np.floor(pixels.min((0, 1))) - 12
    size = np.ceil(pixels.max((0, 1)) - low + 24).astype(int)
    mask = surface.drawn([pixels], low, size)
    scale = float(outline_points.px_per_mm(camera, solved.form.grid()[form.FIRST_LIP]).mean())
    return colours.grown(mask, BODY_MARGIN_MM * scale), low


def _covered(mask_low, pixels):
    mask, low = mask_low
    at = np.round(pixels - low).astype(int)
    h, w = mask.shape
    ok = (at >= 0).all(1) & (at < [w, h]).all(1)
    at = np.clip(at, 0, [w - 1, h - 1])
    return mask[at[:, 1], at[:, 0]] & ok


def _iterate(state, solved, cameras, bodies, search):
    """Trace the strap in all photos and take one step."""
    strap, grid = state.strap, state.strap.grid()
    moved_grids = [strap.moved(h * row).grid() for h, row in zip(SIZES, np.eye(N), strict=True)]
    state.normal = np.diag(1 / PRIOR_SD**2)
    state.left = -(strap.values - state.begin.values) / PRIOR_SD**2
    state.shares, near, count, photos = [], 0, 0, 0
    for k, camera in enumerate(cameras):
        line = _visible(grid, camera, bodies[k])
        if not len(line.ring):
            state.shares.append((np.zeros((N, N)), np.zeros(N)))
            continue
        scale = outline_points.px_per_mm(camera, line.points_mm)
        offset, contrast = _offsets(solved.looks[k], line, scale, solved.masks[k], search)
        weight = _weights(line, offset, scale, search[3])
        jac = np.stack(
            [((camera.project(points_at(g, line.ring, line.angle)) - line.pixels)
              * line.normals).sum(1) / h for g, h in zip(moved_grids, SIZES, strict=True)], 1,
        )  # fmt: skip
        share, pull = jac.T @ (weight[:, None] * jac), jac.T @ (weight * np.nan_to_num(offset))
        state.shares.append((share, pull))
        state.normal, state.left = state.normal + share, state.left + pull
        good = np.abs(np.nan_to_num(offset / scale, nan=9.0)) < NEAR_MM
        near, count = near + (good * np.minimum(contrast, 1.0)).sum(), count + len(good)
        photos += good.sum() >= PHOTO_POINTS
    state.cover, state.points, state.photos = near / max(count, 1), count, photos
    step = np.linalg.solve(state.normal, state.left)
    state.strap = strap.moved(np.clip(step, -MOST_STEP, MOST_STEP))


def _visible(grid, camera, body):
    """The strap's outline where it stands free of the body."""
    line = surface.outline(grid, camera)
    pixels = camera.project(grid)
    low = np.floor(pixels.min((0, 1))) - 6
    size = np.ceil(pixels.max((0, 1)) - low + 12).astype(int)
    keep = surface.in_front(line, surface.drawn([pixels], low, size), low)
    keep &= ~_covered(body, line.pixels)
    keep &= (line.pixels > masks.FRAME_PX).all(1)
    keep &= (line.pixels < np.array(camera.size) - 1 - masks.FRAME_PX).all(1)
    return line.pick(keep)


def _offsets(view, line, scale, mask, search):
    mode, reach, prefer, _ = search
    if mode == "mask":
        offset = outline_points.mask_offsets(view.silhouette, mask, line, scale, reach)
        return offset, np.zeros(len(offset))
    typical = float(np.median(scale))
    found = edges.find(
        view.linear, line.pixels, line.normals, half_px=reach * typical, noise=view.noise,
        prefer_px=prefer * typical, blur_px=view.blur_px if mode == "limb" else None,
    )  # fmt: skip
    return found.offset_px, found.contrast


def _weights(line, offset, scale, sd_mm):
    variance = (sd_mm * scale) ** 2 + EDGE_SD_PX**2
    gap = np.linalg.norm(line.pixels[:, None] - line.pixels[None], axis=-1)
    crowd = np.maximum((gap < SHARED_MM / 2 * scale[:, None]).sum(1), 1)
    good = np.isfinite(offset)
    pull = np.where(good, offset / np.sqrt(variance), 0.0)
    return np.where(good, 1 / (variance * crowd), 0.0) / (1 + (pull / fit.CAUCHY) ** 2)


def figures(strap: Strap) -> dict[str, np.ndarray]:
    """Figures of a handle.

    Returns
    -------
    dict of str to ndarray, shape (1,)
        handle_azimuth_deg (of the attachments' middle about the cup's axis, in mat coordinates),
        handle_top_mm and handle_bottom_mm (heights), top_azimuth_deg, bottom_azimuth_deg,
        handle_lean_deg (positive with the top counter-clockwise of the bottom, the cup's own lean
        taken off), handle_twist_deg (of the plane from the radius, counter-clockwise),
        handle_reach_mm, opening_height_mm, opening_depth_mm.
    """
    ends, shape = strap.attachments(), strap.shape
    level = np.clip(
        [shape.level(z, np.zeros(1))[0] for z in (*ends[:, 2], ends[:, 2].mean())], 0, 1
    )
    axis = shape.axis(level)
    d = np.vstack([ends[:, :2], ends[:, :2].mean(0)]) - axis
    angle = np.arctan2(d[:, 1], d[:, 0])
    aside = [float(np.hypot(*d[k]) * np.sin(angle[k] - angle[2])) for k in (0, 1)]
    lean = np.arctan2(aside[1] - aside[0], ends[1, 2] - ends[0, 2])
    height, depth = _opening(strap)
    skin = strap.grid()
    u = np.clip((skin[..., 2] - form.FILLET_MM) / (shape.top_line().mean() - shape.lip), 0, 1)
    reach = np.hypot(*np.moveaxis(skin[..., :2] - shape.axis(u), -1, 0)).max()
    found = {
        "handle_azimuth_deg": np.degrees(angle[2]) % 360, "handle_bottom_mm": ends[0, 2],
        "handle_top_mm": ends[1, 2], "bottom_azimuth_deg": np.degrees(angle[0]) % 360,
        "top_azimuth_deg": np.degrees(angle[1]) % 360, "handle_lean_deg": np.degrees(lean),
        "handle_twist_deg": np.degrees(strap.values[INDEX["turn"]]), "handle_reach_mm": reach,
        "opening_height_mm": height, "opening_depth_mm": depth,
    }  # fmt: skip
    return {name: np.array([float(v)]) for name, v in found.items()}


def _opening(strap):
    """Greatest clear height and depth of the hole, in the handle's plane."""
    line, out = strap.centre_line(), strap.plane(strap.ends())
    s, z = (line - line[0]) @ out - BURIED_MM, line[:, 2]
    along = np.gradient(np.column_stack([s, z]), axis=0)
    along /= np.linalg.norm(along, axis=1, keepdims=True)
    inner = np.column_stack([s, z]) + strap.values[INDEX["thick"]] / 2 * np.column_stack(
        [-along[:, 1], along[:, 0]]
    )
    inner = inner[inner[:, 0] > 0]
    turn = int(inner[:, 0].argmax())
    at = np.linspace(0, inner[:, 0].max(), 80)
    lower = np.interp(at, inner[: turn + 1, 0], inner[: turn + 1, 1])
    upper = np.interp(at, inner[turn:, 0][::-1], inner[turn:, 1][::-1])
    theta = np.full(len(inner), strap.azimuth)
    u = np.clip((inner[:, 1] - form.FILLET_MM) / (strap.shape.top_line().mean() - strap.shape.lip),
                0, 1)  # fmt: skip
    wall = (strap.shape.axis(u) - strap.ends()[0, :2]) @ out[:2] + strap.shape.radius(u, theta)
    depth = inner[:, 0] - wall
    return float((upper - lower).max()), float(depth.max())


def spreads(fitted: Fitted) -> tuple[dict, dict, dict, dict]:
    """Figures of the handle, their spread by edges and by photos, and how far rivals are off.

    Returns
    -------
    values, by_edges, by_photos, rivals : dict of str to ndarray, shape (1,)
    """
    values = figures(fitted.strap)
    root = np.linalg.cholesky(fitted.covariance)
    noise = np.random.default_rng(SEED).standard_normal((DRAWS, N)) @ root.T
    drawn = [figures(fitted.strap.moved(step)) for step in noise]
    left_out = [figures(one) for one in fitted.without_each()]
    rivals = [figures(one) for one in fitted.rivals]
    by_edges, by_photos, off = {}, {}, {}
    for name, at in values.items():

        def away(found, name=name, at=at):
            d = np.array([one[name] - at for one in found])
            return (d + 180) % 360 - 180 if name.endswith("_deg") else d

        n = len(left_out)
        by_edges[name] = np.sqrt((away(drawn) ** 2).mean(0))
        by_photos[name] = np.sqrt((n - 1) / n * (away(left_out) ** 2).sum(0))
        off[name] = np.abs(away(rivals)).max(0) if rivals else np.zeros(1)
    return values, by_edges, by_photos, off
