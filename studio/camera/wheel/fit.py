"""The cup's form solved from the outlines in all photos of a turned cup at once.

Every photo adds the offsets between the outline drawn from the form and the edges in the picture.
The cameras move along, held by what the markers said. Points closer together than the relief of a
wall reaches share their error and are weighed down accordingly.
"""

from dataclasses import dataclass, field, replace
from typing import NamedTuple

import numpy as np

from studio.camera import edges, outline_points
from studio.camera.wheel import colours, form, masks, rim, surface
from studio.camera.wheel import handle_cubes as room_
from studio.camera.wheel.hull import Rough
from studio.camera.wheel.lens import Bundle
from studio.camera.wheel.seen_photo import SeenPhoto

MIN_RELIEF_MM, MAX_RELIEF_MM = 0.12, 0.6
EDGE_SD_PX = 0.12
FOOT_CONTACT_SD_MM = 0.25  # the foot's own shadow blurs where clay meets paper
SHOULDER_MM = 2.0  # a rim so near to the wall's outline may be hidden by it
SHOULDER_SD_MM = 0.8
NEAR_LIP_SD_MM = 0.25  # where a lip bends over is vaguer than where it ends
NEAR_SHARE, LEAST_ASIDE = 0.35, 0.7  # of the radius; of the eye's height over the paper
CAUCHY = 2.5
MASK_REACH_MM, MASK_SD_MM = (18.0, 12.0, 8.0, 6.0), (4.0, 2.5, 1.5, 1.0)
MASK_STIFF = 4.0  # masks know a cup's size and place; its corners and ovals are for the edges
# Edge search: reach, preferred distance, standard deviation of an edge [mm].
EDGE_STEPS = ((3.0, 1.0, 0.6), (2.5, 0.8, 0.4), (2.0, 0.8, 0.25), (1.5, 0.7, 0.2))
LIMB_STEPS = ((1.3, 0.7), (1.2, 0.7), (1.2, 0.7))
MAX_STEP_MM = 8.0


class _Search(NamedTuple):
    """How edges are looked for: on the mask, or in the picture; lengths in mm."""

    mode: str
    reach: float
    prefer: float
    sd_mm: float
    near: bool = True  # the near rim's edge before the inside too
    mask_above: bool = False  # in photos from above, the mask's


_OUTER = tuple(_Search("edge", *step, False) for step in ((2.5, 1.0, 0.5), (2.0, 0.8, 0.35)))
_BOTH = tuple(_Search("edge", *step) for step in ((2.5, 1.0, 0.5), (2.0, 0.8, 0.35)))
# A rim begun too narrow finds its inner edge from above; the mask there knows the outer one.
_WIDE = tuple(_Search("edge", *step, False, True) for step in ((2.5, 1.0, 0.8), (2.0, 0.8, 0.5)))
RIM_STEPS = (_OUTER + _BOTH, _WIDE + _WIDE + _BOTH, _WIDE + _BOTH)
RIM_CLEAR = 0.22  # share of the rim without an edge; lines beside the rim leave more
RIM_NEAR_MM = 0.4


@dataclass(frozen=True)
class TracedTurn:
    """A photo's outline points with the edges found at them.

    Attributes
    ----------
    line : surface.Outline
    offset_px : ndarray, shape (n,)
        Along the normals, nan where no edge stands out.
    snr, contrast : ndarray, shape (n,)
    weight : ndarray, shape (n,)
        Of a squared pixel; relief shared by neighbours and stray edges weigh less.
    px_per_mm : ndarray, shape (n,)
    hidden : ndarray of bool, shape (n,)
        Where a handle grows out of the wall.
    """

    line: surface.Outline
    offset_px: np.ndarray
    snr: np.ndarray
    contrast: np.ndarray
    weight: np.ndarray
    px_per_mm: np.ndarray
    hidden: np.ndarray

    @property
    def offset_mm(self) -> np.ndarray:
        return self.offset_px / self.px_per_mm


@dataclass
class Solved:
    """Form and cameras with what every photo says about them.

    Attributes
    ----------
    form : form.Form
    change : ndarray
        Of the cameras: all places, then all lenses, as in `Bundle`.
    traced : list of Traced
    normal : ndarray
        Information of form and cameras together, priors included.
    left : ndarray
        Right side of the normal equations.
    shares, pulls : list
        Each photo's own part of the information, and of the right side.
    relief_mm : float
        Scatter of edges about the smooth form.
    room : Room or None
        Where the handle is.
    masks : list of ndarray
        Where each photo looks like the cup, on the grid of its mask.
    """

    looks: list[SeenPhoto]
    cameras_at: Bundle
    form: form.Form
    change: np.ndarray
    traced: list = field(default_factory=list)
    normal: np.ndarray | None = None
    left: np.ndarray | None = None
    shares: list = field(default_factory=list)
    pulls: list = field(default_factory=list)
    relief_mm: float = MAX_RELIEF_MM
    room: room_.Room | None = None
    masks: list = field(default_factory=list)

    @property
    def cameras(self) -> list:
        return self.cameras_at.moved(self.change)

    @property
    def covariance(self) -> np.ndarray:
        """Of the form's values, the cameras' doubt included."""
        return np.linalg.inv(self.normal)[: form.N_FORM, : form.N_FORM]

    def without_each(self) -> list[form.Form]:
        """The forms that the photos give, each photo left out in turn (one step)."""
        out = []
        for (at, share), pull in zip(self.shares, self.pulls, strict=True):
            normal, slope = self.normal.copy(), self.left.copy()
            normal[np.ix_(at, at)] -= share
            slope[at] -= pull
            out.append(self.form.moved(np.linalg.solve(normal, slope)[: form.N_FORM]))
        return out


def solve(looks: list[SeenPhoto], cameras: Bundle, rough: Rough) -> Solved:
    """Fit the form to all photos.

    Parameters
    ----------
    looks : list of Look
    cameras : lens.Bundle
        Of the same photos in the same order.
    rough : hull.Rough
        Where to begin.
    """
    begin = form.start(rough.height, rough.foot, rough.rim, rough.foot_xy, rough.rim_xy)
    state = Solved(looks, cameras, begin, np.zeros(len(cameras.information)))
    for reach, sd_mm in zip(MASK_REACH_MM, MASK_SD_MM, strict=True):
        _iterate(state, _Search("mask", reach, 1.0, sd_mm))
        state.form = state.form.recentred()
    state = _at_rim(state)
    state.masks = [
        colours.like_cup(view, camera, state.form)
        for view, camera in zip(looks, state.cameras, strict=True)
    ]
    state.room = room_.find(looks, state.cameras, state.masks, state.form)
    for reach, prefer, sd_mm in EDGE_STEPS:
        _iterate(state, _Search("edge", reach, prefer, sd_mm))
    state.form = state.form.recentred()
    state.room = room_.find(looks, state.cameras, state.masks, state.form)
    state.relief_mm = _relief(state.traced)
    for reach, prefer in LIMB_STEPS:
        _iterate(state, _Search("limb", reach, prefer, state.relief_mm))
        state.relief_mm = _relief(state.traced)
    _retrace(state, _Search("limb", *LIMB_STEPS[-1], state.relief_mm))
    _assemble(state)
    return state


def _at_rim(state):
    """The state with its rim where most of the rim's outline has edges.

    Begun from where the masks end and from the lines that the rim may run along; looked for anew
    from the best of them while much of the rim is still without an edge.
    """
    usual = state.form.with_lip(form.LIP_MM)  # a mask tells nothing of the lip
    best, begins = (1.0, state), [usual]
    for steps in RIM_STEPS:
        theta, heights = rim.lines(state.looks, state.cameras, usual)
        begins = [*(usual.with_top(theta, z) for z in heights), *begins]
        wide = rim.widths(state.looks, state.cameras, begins[0])
        if wide is not None:
            begins += [one.with_width(theta, wide) for one in begins[:2]]
        for begin in begins:
            trial = replace(state, form=begin)
            for search in steps:
                _iterate(trial, search)
            best = min(best, (_rim_misfit(trial), trial), key=lambda pair: pair[0])
        if best[0] < RIM_CLEAR:
            break
        usual, begins = best[1].form, []
    return best[1]


def _rim_misfit(state):
    """Share of the rim's outline without an edge near the form, over all photos."""
    near = [np.zeros(0)]
    for traced in state.traced:
        edge = (traced.line.ring >= form.FIRST_LIP - 0.5) & ~traced.hidden
        near.append(np.abs(np.nan_to_num(traced.offset_mm[edge], nan=np.inf)) < RIM_NEAR_MM)
    near = np.concatenate(near)
    return 1 - float(near.mean()) if len(near) else 1.0


def _iterate(state, search):
    """Trace all photos and take one Gauss-Newton step."""
    _retrace(state, search)
    _step(state, MASK_STIFF if search.mode == "mask" else 1.0)


def _retrace(state, search):
    cameras = state.cameras
    state.traced = [_trace(state, k, search, cameras[k]) for k in range(len(state.looks))]


def _assemble(state, stiff=1.0):
    """The normal equations of the traced edges about the state."""
    mean, info = form.prior(stiff)
    mean[form.N_WALL] = state.form.values[form.N_WALL]  # no height is likelier than another
    n = form.N_FORM + len(state.change)
    normal, slope = np.zeros((n, n)), np.zeros(n)
    normal[: form.N_FORM, : form.N_FORM] = info
    slope[: form.N_FORM] = -info @ (state.form.values - mean)
    normal[form.N_FORM :, form.N_FORM :] = state.cameras_at.information
    slope[form.N_FORM :] = -state.cameras_at.information @ state.change
    state.shares, state.pulls = [], []
    cameras = state.cameras
    for k, traced in enumerate(state.traced):
        at = np.r_[: form.N_FORM, form.N_FORM + state.cameras_at.columns(k)]
        jac = _change(state.form, traced, cameras[k])
        share = jac.T @ (traced.weight[:, None] * jac)
        pull = jac.T @ (traced.weight * np.nan_to_num(traced.offset_px))
        state.shares.append((at, share))
        state.pulls.append(pull)
        normal[np.ix_(at, at)] += share
        slope[at] += pull
    state.normal, state.left = normal, slope


def _step(state, stiff):
    """One Gauss-Newton step on the traced edges."""
    _assemble(state, stiff)
    step = np.linalg.solve(state.normal, state.left)
    largest = max(np.abs(step[: form.N_WALL]).max(), np.abs(step[form.RIM_AT]).max())
    step *= min(1.0, MAX_STEP_MM / max(largest, 1e-9))
    state.form = state.form.moved(step[: form.N_FORM])
    state.change = state.change + step[form.N_FORM :]


def _trace(state, k, search, camera):
    """Outline of photo k with offsets to the picture's edges and weights."""
    view, grid = state.looks[k], state.form.grid()
    line = surface.outline(grid, camera)
    mask, low = masks.body_mask(grid, camera)
    inner = _near_lip(line, state.form, camera) & search.near
    keep = surface.in_front(line, mask, low) | inner
    keep &= (line.pixels > masks.FRAME_PX).all(1)
    keep &= (line.pixels < np.array(camera.size) - 1 - masks.FRAME_PX).all(1)
    line, inner = line.pick(keep), inner[keep]
    scale = outline_points.px_per_mm(camera, line.points_mm)
    if search.mode == "mask" or (search.mask_above and view.from_above):
        reach = max(search.reach, MASK_REACH_MM[-1])
        offset = outline_points.mask_offsets(
            view.silhouette, view.silhouette.mask, line, scale, reach
        )
        snr = contrast = np.zeros(len(offset))
    else:
        typical = float(np.median(scale)) if len(scale) else 1.0
        found = edges.find(
            view.linear, line.pixels, line.normals, half_px=search.reach * typical,
            noise=view.noise, prefer_px=search.prefer * typical,
            blur_px=view.blur_px if search.mode == "limb" else None,
        )  # fmt: skip
        offset, snr, contrast = found.offset_px, found.snr, found.contrast
    if state.room is None:
        hidden = masks.at_handle(view.silhouette, line, scale, mask, low)
    else:
        hidden = room_.covers(state.room, camera, line.pixels)
    extra = np.where(line.ring < form.FIRST_BODY, FOOT_CONTACT_SD_MM, 0.0)
    extra = np.where(inner, NEAR_LIP_SD_MM, extra)
    if view.from_above:
        wall = line.pixels[line.ring < form.FIRST_LIP - 1]
        extra = np.where(
            outline_points.beside(line.pixels, wall, SHOULDER_MM * scale), SHOULDER_SD_MM, 0.0
        )
    variance = (np.hypot(search.sd_mm, extra) * scale) ** 2 + EDGE_SD_PX**2
    good = np.isfinite(offset) & ~hidden
    pull = np.where(good, offset / np.sqrt(variance), 0.0)
    weight = np.where(good, 1 / (variance * outline_points.crowding(line, scale)), 0.0) / (
        1 + (pull / CAUCHY) ** 2
    )
    return TracedTurn(line, np.where(hidden, np.nan, offset), snr, contrast, weight, scale, hidden)


def _near_lip(line, shape, camera):
    """Outline points where the near rim stands before the cup's inside."""
    to_eye = camera.position_mm[:2] - shape.rim_xy
    distance = float(np.hypot(*to_eye))
    if distance < LEAST_ASIDE * camera.position_mm[2]:
        return np.zeros(len(line.ring), bool)  # from above the whole lip turns inward
    out = (line.points_mm[:, :2] - shape.rim_xy) @ to_eye / distance
    radius = np.hypot(*(line.points_mm[:, :2] - shape.rim_xy).T)
    return (line.ring > form.NEAR_LIP) & (out > NEAR_SHARE * radius)


def _change(shape, traced, camera):
    """How outline points move along their normals [px] with the form and this camera; (n, ..)."""
    line = traced.line
    local = line.points_mm @ camera.rotation.T + camera.shift_mm
    z = local[:, 2]
    xy = local[:, :2] / z[:, None]
    r2 = (xy * xy).sum(1)
    # Derivative of the bent picture place by the camera's coordinates (Brown, one term).
    bend = 1 + camera.k1 * r2
    by_xy = bend[:, None, None] * np.eye(2) + 2 * camera.k1 * xy[:, :, None] * xy[:, None, :]
    by_local = np.zeros((len(z), 2, 3))
    by_local[:, 0, 0] = by_local[:, 1, 1] = 1 / z
    by_local[:, :, 2] = -xy / z[:, None]
    across = camera.f_px * np.einsum("ni,nij,njk->nk", line.normals, by_xy, by_local)
    in_mat = across @ camera.rotation
    shape_part = np.einsum("nk,nkm->nm", in_mat, shape.change(line.ring, line.angle))
    turn = np.cross(local - camera.shift_mm, across)
    focal = camera.f_px * (line.normals * xy).sum(1) * bend
    k1 = camera.f_px * (line.normals * xy).sum(1) * r2
    return np.column_stack([shape_part, turn, across, focal, k1])


def _relief(traced):
    """Relief of the wall as the scatter of edges about the smooth form [mm]."""
    offsets = np.concatenate([t.offset_mm[np.isfinite(t.offset_mm)] for t in traced])
    if len(offsets) < 20:
        return MAX_RELIEF_MM
    return float(np.clip(1.4826 * np.median(np.abs(offsets)), MIN_RELIEF_MM, MAX_RELIEF_MM))
