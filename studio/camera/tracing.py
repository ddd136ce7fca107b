"""The state of a fit, the outline traced in the pictures from it, and one step of the fit.

Every view adds the offsets between the outline drawn from the shape and the edges in the picture.
The cameras are unknowns too, held by their own covariances, so that what a side view tells about
size mends a top view's distance. Points closer together than the relief of a wall reaches share
their error and are weighed down accordingly.
"""

from typing import NamedTuple

import numpy as np

from studio.camera import cup, edges, outline_points
from studio.camera.outline import STEEP_DEG
from studio.camera.pose import N_POSE
from studio.camera.solution import N_PLACE, Traced, place

EDGE_SD_PX = 0.12
HANDLE_PROBE_MM = (3.0, 4.0, 5.0)  # the mask's handle begins 2.5 mm out
HANDLE_MARGIN_MM = 2.0
FOOT_CONTACT_SD_MM = 0.25  # the foot's own shadow blurs where clay meets paper
PRINTED_SHARE = 0.1
OUTER_MM = 1.0  # a highlight sits so near to the lip's own outline
OUTER_TOP_MM = 4.0  # from above it may lie anywhere on the lip, and outside is paper
# From above, the wall shows in a narrow strip whose outline hangs on how square turns into round.
FORESHORTENED_SD_MM = 0.8
SHOULDER_MM = 1.5  # a rim so near to the wall's outline may be hidden by it
CAUCHY = 2.5


class Search(NamedTuple):
    """How edges are looked for: on the mask, or in the picture; lengths in mm."""

    mode: str
    reach: float
    prefer: float
    sd_mm: float


class FitState:
    """Unknowns of the fit and how they lie in one vector."""

    def __init__(self, views, place_sds, start):
        self.views = views
        self.n = len(views)
        self.place_sds = place_sds
        self.shape = start.copy()
        self.outermost = True  # whether a weaker edge farther out outranks the strongest
        self.near = None  # a shape to stay near to, while only the mask is followed
        self.places = np.zeros((self.n, N_PLACE))
        self.deltas = np.zeros((self.n, N_POSE))
        self.size = cup.N_SHAPE + N_PLACE * self.n + N_POSE * self.n

    def place_at(self, k):
        return slice(cup.N_SHAPE + N_PLACE * k, cup.N_SHAPE + N_PLACE * (k + 1))

    def delta_at(self, k):
        first = cup.N_SHAPE + N_PLACE * self.n + N_POSE * k
        return slice(first, first + N_POSE)

    def prior(self):
        """Information matrix and the pull towards the prior mean."""
        info = np.zeros((self.size, self.size))
        away = np.zeros(self.size)
        info[: cup.N_SHAPE, : cup.N_SHAPE] = cup.prior_information(self.near is not None)
        away[: cup.N_SHAPE] = self.shape - (cup.prior_mean() if self.near is None else self.near)
        turn = cup.INDEX["foot_turn"]
        away[turn] = 0.0  # a turn has no preferred value; its prior only keeps the matrix regular
        for k, view in enumerate(self.views):
            sd = (
                self.place_sds[k] if k else np.full(N_PLACE, 1e-6)
            )  # the first view is the reference
            info[self.place_at(k), self.place_at(k)] = np.diag(1 / sd**2)
            away[self.place_at(k)] = self.places[k]
            info[self.delta_at(k), self.delta_at(k)] = np.linalg.inv(view.camera.covariance)
            away[self.delta_at(k)] = self.deltas[k]
        return info, away

    def strain(self):
        """How unlikely the shape is for a pot: squared distance from the prior [1]."""
        away = self.shape - cup.prior_mean()
        away[cup.INDEX["foot_turn"]] = 0.0
        return float(away @ cup.prior_information() @ away)

    def copy(self):
        """The same state to walk on its own."""
        out = FitState(self.views, list(self.place_sds), self.shape)
        out.take(self)
        return out

    def take(self, other):
        """Go to where another state of the same views stands."""
        self.near = other.near
        self.shape, self.places = other.shape.copy(), other.places.copy()
        self.deltas = other.deltas.copy()

    def camera(self, k):
        return self.views[k].camera.moved(self.deltas[k])

    def add(self, step):
        self.shape = self.shape + step[: cup.N_SHAPE]
        i = cup.INDEX
        self.shape[i["squareness"]] = np.clip(self.shape[i["squareness"]], 2.0, 12.0)
        self.shape[cup.RANGE_AT] = np.clip(self.shape[cup.RANGE_AT], *cup.RANGES.T)
        self.shape[i["round_from"]] = np.clip(self.shape[i["round_from"]], 0.5, 1.0)
        for k in range(self.n):
            self.places[k] += step[self.place_at(k)]
            self.deltas[k] += step[self.delta_at(k)]


def at_handle(view, line, px_per_mm):
    """Contour points from which the handle grows, with a margin."""
    s = view.silhouette
    hit = np.zeros(len(line.pixels), bool)
    for mm in HANDLE_PROBE_MM:
        hit |= s.inside(s.handle, line.pixels + (mm * px_per_mm)[:, None] * line.normals)
    if not hit.any():
        return hit
    gap = np.linalg.norm(line.pixels[:, None] - line.pixels[None, hit], axis=-1).min(1)
    return gap < HANDLE_MARGIN_MM * px_per_mm


def trace(state: FitState, k: int, search: Search, px_per_mm: float = 1.0) -> Traced:
    """Contour of view k with offsets to the picture's edges [px] and weights [1/px^2]."""
    view, camera = state.views[k], state.camera(k)
    grid = place(cup.surface(state.shape), state.places[k])
    line = cup.contour(grid, camera)
    keep = cup.visible(grid, camera, line)
    keep &= line.ring < cup.LIP_TOP  # the near lip's inner edge is often one of glaze, not of clay
    wall = line.pixels[line.ring < cup.FIRST_LIP - 1]
    h, w = view.linear.shape[:2]
    keep &= (line.pixels > 3).all(1) & (line.pixels < np.array([w, h]) - 4).all(1)
    line = cup.Contour(*(getattr(line, f)[keep] for f in line.__dataclass_fields__))
    scale = outline_points.px_per_mm(camera, line.points_mm)
    if search.mode == "mask":
        offset = outline_points.mask_offsets(
            view.silhouette, view.silhouette.body, line, scale, search.reach
        )
        snr = contrast = np.zeros(len(offset))
    else:
        found = edges.find(
            view.linear, line.pixels, line.normals, half_px=search.reach * px_per_mm,
            noise=view.noise, prefer_px=search.prefer * px_per_mm,
            blur_px=view.blur_px if search.mode == "limb" else None,
            # About the foot lie shadows, and the near lip stands before the cup's own inside.
            outermost=(line.ring > len(cup.FILLET_PSI) + 2) & (line.ring < cup.LIP_TOP)
            if state.outermost and (search.mode == "limb" or camera.elevation_deg > STEEP_DEG)
            else None,
            outer_px=(OUTER_TOP_MM if camera.elevation_deg > STEEP_DEG else OUTER_MM) * px_per_mm,
        )  # fmt: skip
        offset, snr, contrast = found.offset_px, found.snr, found.contrast
    hidden = at_handle(view, line, scale)
    offset = np.where(hidden, np.nan, offset)
    contact = np.where(line.ring < len(cup.FILLET_PSI), FOOT_CONTACT_SD_MM, 0.0)
    if camera.elevation_deg > STEEP_DEG:
        doubtful = outline_points.beside(line.pixels, wall, SHOULDER_MM * scale)
        contact = np.where(doubtful, FORESHORTENED_SD_MM, 0.0)
    variance = (np.hypot(search.sd_mm, contact) * scale) ** 2 + EDGE_SD_PX**2
    weight = np.where(
        np.isfinite(offset), 1 / (variance * outline_points.crowding(line, scale)), 0.0
    )
    pull = np.where(np.isfinite(offset), offset / np.sqrt(variance), 0.0)
    weight = weight / (1 + (pull / CAUCHY) ** 2)
    if search.mode != "mask":  # an edge of the mat's own printing is one of the cup by chance only
        at = line.pixels + np.nan_to_num(offset)[:, None] * line.normals
        weight = np.where(view.on_print(at), PRINTED_SHARE * weight, weight)
    return Traced(line, camera, offset, snr, contrast, weight, scale, hidden)


_SHAPE_STEP = 1e-4


def jacobian(state, k, traced):
    """Derivative of the contour's place along its normals by all unknowns; shape (n, size)."""
    line, camera = traced.line, traced.camera
    out = np.zeros((len(line.ring), state.size))

    def moved(points, cam=camera):
        return ((cam.project(points) - line.pixels) * line.normals).sum(-1)

    shapes = state.shape + _SHAPE_STEP * np.vstack([np.zeros(cup.N_SHAPE), np.eye(cup.N_SHAPE)])
    here = cup.points(shapes, line.ring, line.angle)
    ahead = moved(place(here, state.places[k]))
    out[:, : cup.N_SHAPE] = ((ahead[1:] - ahead[0]) / _SHAPE_STEP).T
    for m in range(N_PLACE):
        shifted = state.places[k].copy()
        shifted[m] += _SHAPE_STEP
        out[:, state.place_at(k).start + m] = (
            moved(place(here[0], shifted)) - ahead[0]
        ) / _SHAPE_STEP
    for m in range(N_POSE):
        delta = np.zeros(N_POSE)
        delta[m] = 1e-6
        out[:, state.delta_at(k).start + m] = moved(line.points_mm, camera.moved(delta)) / 1e-6
    return out


class Normals(NamedTuple):
    """The least-squares problem of one step, all of it at one state.

    ``normal`` and ``slope`` (of half the cost) hold the prior too; ``jacobians`` has one for each
    view, see `jacobian`.
    """

    normal: np.ndarray
    slope: np.ndarray
    cost: float
    jacobians: list


def trace_all(state, search):
    """All views traced from the state, see `trace`."""
    traced = []
    for k, view in enumerate(state.views):
        scale = float(outline_points.px_per_mm(view.camera, np.array([[0, 0, 45.0]]))[0])
        traced.append(trace(state, k, search, scale))
    return traced


def iterate(state, search, max_step_mm=8.0):
    """Trace all views and take one Gauss-Newton step; traced views and cost."""
    traced = trace_all(state, search)
    return traced, update(state, traced, max_step_mm)


def normals_of(state, traced):
    """The normal equations at the state from which the views were traced."""
    info, away = state.prior()
    normal, slope = info.copy(), info @ away
    cost, jacobians = float(away @ info @ away), []
    for k, t in enumerate(traced):
        jac = jacobian(state, k, t)
        offset = np.nan_to_num(t.offset_px)
        normal += jac.T @ (t.weight[:, None] * jac)
        slope -= jac.T @ (t.weight * offset)
        cost += float((t.weight * offset**2).sum()) + 4.0 * float(np.isnan(t.offset_px).mean())
        jacobians.append(jac)
    return Normals(normal, slope, cost, jacobians)


def update(state, traced, max_step_mm):
    """Take one Gauss-Newton step, no longer than `max_step_mm`; the cost before it."""
    here = normals_of(state, traced)
    step = -np.linalg.solve(here.normal, here.slope)
    size = np.abs(step[[cup.INDEX[n] for n in ("x", "y", "foot", "height", "rim")]]).max()
    state.add(step * min(1.0, max_step_mm / max(size, 1e-9)))
    return here.cost
