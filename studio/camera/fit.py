"""The cup's shape solved from the outlines in one or several photographs.

First the side views, from their masks and then from the edges in the pictures; then the top views,
set where their rims show, and all of them together. See :mod:`studio.camera.tracing` for one step.
"""

from dataclasses import replace

import numpy as np

from studio.camera import cup, edges, mat
from studio.camera.outline import STEEP_DEG, split_by_shape
from studio.camera.outline_points import px_per_mm
from studio.camera.solution import N_PLACE, Solution, View, place
from studio.camera.start import from_side, place_in_top
from studio.camera.tracing import (
    CAUCHY,
    FitState,
    Search,
    at_handle,
    iterate,
    normals_of,
    trace,
    trace_all,
    update,
)

PLACE_SD = np.array([0.3, 0.3, 0.01])  # not touched between the photos
MOVED_SD = np.array([12.0, 12.0, 2.0])  # taken up and put back
MOVED_SIGNAL = 9.0  # squared pull of the untouched placement, per unknown, that shows it was moved
RELIEF_SD_MM = 0.12  # stamped or thrown relief about the smooth wall, until the picture tells
MIN_RELIEF_MM = 0.15  # a rim is no exact round and a limb no exact edge, along whole arcs
MASK_STEPS = (
    (25, 4),
    (25, 3),
    (25, 2),
)  # reach and standard deviation of a mask edge [mm]
TURN_STEPS = ((25, 2), (20, 1.5), (15, 1), (6, 0.8), (6, 0.6), (6, 0.6))
# Edge search: reach, preferred distance, standard deviation of an edge [mm].
EDGE_STEPS = (
    (3.0, 1.5, 0.5),
    (2.5, 1.2, 0.3),
    (2.0, 1.0, 0.2),
    (1.5, 0.8, RELIEF_SD_MM),
    (1.3, 0.7, RELIEF_SD_MM),
)
# A side view does not tell how far a rim is from round: a top view may find it elsewhere.
JOIN_STEPS = ((4.0, 3.0, 2.0), (4.0, 2.0, 1.0))
GAP_REACH_MM, GAP_ROUNDS = 8.0, 8
GAP_SPREAD_MM = 1.0  # scatter about the fitted rim: above, it is no rim that was followed
RIM_LOOK_MM = np.arange(-2.0, 8.01, 0.25)
RIM_POINTS = 15
RIM_WIDEN_MM = 0.35  # less is left to the ordinary search
RIM_SHARE = (
    0.4  # of the strongest mean slope: outside of the last place that has it there is no rim
)
RIM_HALF_EDGE_MM = 0.35  # the slope of a blurred edge reaches that far beyond the edge
RIM_ROUNDS = 5
SUPPORT_MM, SUPPORT_SNR = 0.8, 10.0  # an edge that far from the rim and that clear carries it
SUPPORT_SLACK = 0.05
STRAIN_SLACK = 6.0  # 95 % of chi-square with two degrees of freedom: rim and slope may change
STRETCHES = 24  # of each outline: about 15 mm, longer than relief or the edge of a highlight
RIVAL_STEP = 2  # of the edge search: from here on another choice among edges is free
SUPPORT_STEPS = 3  # of the edge search, until a start shows what it is worth
WELL_CARRIED = 0.93  # of the outline: no other start is tried
LIMB_ROUNDS = 4
FOOT_TURNS = np.radians([0, 22.5, 45, 67.5])
RIM_STEP = Search("edge", 2.0, 1.0, 0.4)


def solve_together(views: list[View]) -> Solution:
    """Fit the cup to all views at once.

    The side views come first and tell the shape; top views are then joined where its rim shows.
    Views are taken as untouched between the photos, and as moved where that does not hold.

    Parameters
    ----------
    views : list of View
        Of one piece at one stage, side views first.
    """
    first = [v for v in views if v.camera.elevation_deg <= STEEP_DEG] or views[:1]
    state = _best_start(first)
    solution = _by_edges(state)
    if len(first) == len(views) == 1:
        return _with_rival(state, solution, EDGE_STEPS[RIVAL_STEP:])
    alone, gaps = solution, []
    if len(first) < len(views):
        state = _joined(state, views)
        gaps = [_rim_gap(state, k, alone) for k in range(len(first), state.n)]
        solution = _follow(state, JOIN_STEPS + EDGE_STEPS)
    pulls = [float(((p / PLACE_SD) ** 2).sum()) for p in solution.places]
    taken_up = [
        k for k in range(1, state.n)
        if pulls[k] > MOVED_SIGNAL * N_PLACE and state.place_sds[k] is PLACE_SD
    ]  # fmt: skip
    for k in taken_up:
        state.place_sds[k] = MOVED_SD
    if taken_up:
        solution = _follow(state, JOIN_STEPS + EDGE_STEPS)
    if len(first) < len(views):
        solution = _with_rival(state, solution, JOIN_STEPS + EDGE_STEPS)
    return replace(solution, rim_gaps=[gap for gap in gaps if gap is not None])


def _best_start(views):
    """State of the first views near their edges, from the start whose edges carry it best."""
    usual = cup.prior_mean()
    read_off = from_side(views[0]) if views[0].camera.elevation_deg <= STEEP_DEG else None
    best, carried = None, -1.0
    for shape in (usual,) if read_off is None else (read_off, usual):
        state = _started(views, shape)
        trial = state.copy()
        support = _support(_edge_steps(trial, EDGE_STEPS[:SUPPORT_STEPS]))
        if support > carried:
            best, carried = state, support
        if carried > WELL_CARRIED:
            break
    return best


def _started(views, shape):
    """State of the first views, fitted to their masks from a shape near which it stays."""
    state = FitState(views, [PLACE_SD] * len(views), shape)
    state.near = shape
    for reach, sd_mm in MASK_STEPS:
        iterate(state, Search("mask", reach, 1.0, sd_mm))
    state.views = [_split_again(state, k) for k in range(state.n)]
    state = _best_turn(state)
    state.near = None
    state.views = [_split_again(state, k) for k in range(state.n)]
    return state


def _joined(state, views):
    """The state with the other views, each cup set where its rim is found."""
    out = FitState(views, [PLACE_SD] * len(views), state.shape)
    out.views = state.views + views[state.n :]
    for k in range(out.n):
        if k < state.n:
            out.places[k], out.deltas[k] = state.places[k], state.deltas[k]
            continue
        out.places[k] = place_in_top(out.views[k], out.shape, out.camera(k))
        if out.places[k].any():
            out.place_sds[k] = MOVED_SD
        out.views[k] = _split_again(out, k)
    return out


def _rim_gap(state, k, alone):
    """How far outside of the rim that the side views tell a top view shows it, and its standard
    uncertainty [mm]; None where the top view's rim cannot be followed.

    A shift of the cup and an oval rim even out around the rim; another cup's size does not.
    """
    t = trace(state, k, Search("edge", GAP_REACH_MM, GAP_REACH_MM, 1.0), 1.0)
    per_mm = float(np.median(t.px_per_mm))
    t = trace(state, k, Search("edge", GAP_REACH_MM, GAP_REACH_MM, 1.0), per_mm)
    rim = (t.line.ring >= cup.FIRST_LIP - 1) & ~t.hidden & np.isfinite(t.offset_px)
    if rim.sum() < RIM_POINTS:
        return None
    off, n = t.offset_px[rim] / t.px_per_mm[rim], t.line.normals[rim]
    turn = 2 * np.arctan2(n[:, 1], n[:, 0])
    design = np.column_stack([np.ones(len(off)), n, np.cos(turn), np.sin(turn)])
    weight, fit = np.ones(len(off)), np.zeros(design.shape[1])
    for _ in range(GAP_ROUNDS):
        root = np.sqrt(weight)[:, None]
        fit = np.linalg.lstsq(design * root, off * root[:, 0], rcond=None)[0]
        miss = off - design @ fit
        spread = max(1.4826 * float(np.median(np.abs(miss))), MIN_RELIEF_MM)
        weight = 1 / (1 + (miss / (CAUCHY * spread)) ** 2)
    if spread > GAP_SPREAD_MM:
        return None
    i = [cup.INDEX[name] for name in ("rim", "height")]
    sds = np.sqrt(np.diag(alone.covariance)[i])
    eye = state.camera(k).position_mm[2]
    nearer = state.shape[i[0]] / (eye - state.shape[i[1]])  # a higher rim looks larger from above
    return float(fit[0]), float(np.hypot(np.hypot(sds[0], nearer * sds[1]), MIN_RELIEF_MM))


def _by_edges(state):
    """Solution from the edges in the pictures, the lip's outer edge sought first."""
    narrow = state.copy()
    widened = [_widen_rim(state) and iterate(state, RIM_STEP, 4.0) for _ in range(RIM_ROUNDS)]
    if widened[0]:  # not onto nothing
        support, strain = [], []
        for trial in (state, narrow):
            support.append(_support(_edge_steps(trial, EDGE_STEPS), rim_only=True))
            strain.append(trial.strain())
        if support[0] < support[1] - SUPPORT_SLACK or strain[0] > strain[1] + STRAIN_SLACK:
            state.take(narrow)
    return _follow(state, EDGE_STEPS)


def _edge_steps(state, steps):
    """The views traced after the fit to the edges found with ever shorter reach."""
    for reach, prefer, sd_mm in steps:
        traced, _ = iterate(state, Search("edge", reach, prefer, sd_mm), 4.0)
    return traced


def _follow(state, steps):
    """Solution by the edges and then by the limb's own profile; the state moves along."""
    relief = _relief(_edge_steps(state, steps))
    limb = Search("limb", 1.2, 0.7, relief)
    for _ in range(LIMB_ROUNDS):
        iterate(state, limb, 1.0)
    traced = trace_all(state, limb)
    here = normals_of(state, traced)
    cameras = [state.camera(k) for k in range(state.n)]
    covariance = np.linalg.inv(here.normal) + _stretch_spread(traced, here)
    return Solution(
        state.shape, list(state.places), cameras, covariance, traced, state.views,
        any(sd is MOVED_SD for sd in state.place_sds),
    )  # fmt: skip


def _with_rival(state, solution, steps):
    """The solution with what another choice among the edges would change in its covariance.

    It stands on the outermost clear edges, the rival on the strongest. Where a highlight on a lip
    or a shadow beside it makes them differ, the shape that is likelier for a pot is taken, and the
    other stays in the covariance by its own likelihood.
    """
    rival = state.copy()
    rival.outermost = False
    changed = _follow(rival, steps)
    doubt = (state.strain() - rival.strain()) / 2
    if doubt > 0 and _support(changed.traced) >= _support(solution.traced) - SUPPORT_SLACK:
        state.take(rival)
        solution, changed = changed, solution
    away = np.zeros(len(solution.covariance))
    away[: cup.N_SHAPE] = changed.shape - solution.shape
    away[cup.INDEX["foot_turn"]] = 0.0  # the same foot has many turns
    share = 1 / (1 + np.exp(abs(doubt)))
    return replace(solution, covariance=solution.covariance + share * np.outer(away, away))


def _stretch_spread(traced, here):
    """Covariance of what the solution owes to single stretches of the outline.

    Where the model is wrong along a stretch, or its edges are those of a shadow, the stretch pulls
    at the solution: the pulls' own spread is the cluster-robust covariance of a least squares
    fit [1]_. The normal matrix keeps all stretches: without one, what it alone tells would run
    away along the step's straight line.

    References
    ----------
    .. [1] K.-Y. Liang, S. L. Zeger, Longitudinal data analysis using generalized linear models,
       Biometrika 73 (1986) 13-22.
    """
    pulls = []
    for t, jac in zip(traced, here.jacobians, strict=True):
        offset = np.nan_to_num(t.offset_px)
        turn = t.line.pixels - t.line.pixels.mean(0)
        part = ((np.arctan2(turn[:, 1], turn[:, 0]) / (2 * np.pi) + 0.5) * STRETCHES).astype(int)
        weighted = jac * (t.weight * offset)[:, None]
        pulls += [weighted[part == number].sum(0) for number in set(part)]
    pulls = np.array(pulls)
    steps = np.linalg.solve(here.normal, (pulls - pulls.mean(0)).T)
    return len(pulls) / (len(pulls) - 1) * steps @ steps.T


def _support(traced, rim_only=False):
    """Share of the outline's visible points with a clear edge near by, the least of all views."""
    shares = []
    for t in traced:
        rim = (t.line.ring >= cup.FIRST_LIP - 1) & ~t.hidden if rim_only else ~t.hidden
        near = np.abs(np.nan_to_num(t.offset_px, nan=np.inf)) < SUPPORT_MM * t.px_per_mm
        shares.append(float((near & (t.snr > SUPPORT_SNR))[rim].mean()) if rim.any() else 0.0)
    return min(shares)


def _widen_rim(state):
    """Go out to the lip's outer edge where colour took the lip for backdrop.

    A lip of another colour has two edges that run side by side all along the rim; backdrops have
    none that do. The mean slope over all rim points, at each distance outward, shows them; the
    outermost clear one is taken. Returns whether the rim was moved.
    """
    traced, widest = [], 0.0
    for k, view in enumerate(state.views):
        t = trace(state, k, Search("mask", 6.0, 1.0, 0.8))
        rim = (t.line.ring >= cup.FIRST_LIP) & ~at_handle(view, t.line, t.px_per_mm)
        out = _common_edge(view, t, rim) if rim.sum() >= RIM_POINTS else 0.0
        widest = max(widest, out)
        traced.append(replace(t, offset_px=np.where(rim, out * t.px_per_mm, t.offset_px)))
    if widest > RIM_WIDEN_MM:
        update(state, traced, 10.0)
    return widest > RIM_WIDEN_MM


def _common_edge(view, traced, rim):
    """Distance outward [mm] of the outermost edge shared by the rim's points; 0 if at home."""
    line, scale = traced.line, traced.px_per_mm[rim]
    slopes = []
    for mm in RIM_LOOK_MM:
        at = line.pixels[rim] + (mm * scale)[:, None] * line.normals[rim]
        slopes.append(edges.slope_at(view.linear, at, line.normals[rim]))
    slopes = np.array(slopes)
    mean = np.clip(slopes, 0, 3 * np.median(slopes.max(0))).mean(1)
    floor = np.percentile(mean, 20)
    clear = np.nonzero(mean > floor + RIM_SHARE * (mean.max() - floor))[0]
    return float(RIM_LOOK_MM[clear[-1]] - RIM_HALF_EDGE_MM)


def _split_again(state, k):
    """Tell handle from body by the shape now known, which leans as the cup does."""
    view, camera = state.views[k], state.camera(k)
    rings = camera.project(place(cup.surface(state.shape), state.places[k]))
    per_mm = float(px_per_mm(camera, np.array([[0, 0, 45.0]]))[0])
    markers = [mat.marker_corners(i) for i in mat.CENTRES_MM]
    printed = camera.project(np.array(markers)) if camera.elevation_deg > STEEP_DEG else None
    return replace(view, silhouette=split_by_shape(view.silhouette, rings, per_mm, printed))


def _best_turn(state):
    """The foot's turn is one of several valleys: walk into each on the mask, keep the deepest."""
    best = None
    for turn in FOOT_TURNS:
        trial = state.copy()
        for name in ("squareness", "foot"):
            trial.shape[cup.INDEX[name]] = trial.near[cup.INDEX[name]]
        trial.shape[cup.INDEX["foot_turn"]] = turn
        for reach, sd_mm in TURN_STEPS:
            _, cost = iterate(trial, Search("mask", reach, 1.0, sd_mm))
        if best is None or cost < best[0]:
            best = cost, trial
    return best[1]


def _relief(traced):
    """Relief of the wall as the scatter of edges about the smooth shape [mm]."""
    offsets = np.concatenate(
        [(t.offset_px / t.px_per_mm)[np.isfinite(t.offset_px)] for t in traced]
    )
    if len(offsets) < 20:
        return 2 * RELIEF_SD_MM
    return float(np.clip(1.4826 * np.median(np.abs(offsets)), MIN_RELIEF_MM, 1.0))
