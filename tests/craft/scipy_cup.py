"""The graded figures of a cup once more, as somebody would script them with SciPy.

Written apart from the product, for the pieces of :func:`tests.craft.pieces.full_piece`: every
figure that has a limit and those that explain it, each with its standard uncertainty, and the
verdicts. Linear fits by ``scipy.linalg``, means round a circle and tails by ``scipy.stats``,
volumes by ``scipy.integrate``, the rounding of a foot by ``scipy.optimize``; uncertainties by the
law of propagation with SciPy's own derivatives. Nothing is refused, no open parts are merged, and
no fact is kept for a drawing.
"""

import math
from functools import cache

import numpy as np
from scipy import integrate, linalg, optimize, stats

from rubrics.craft.capacity import LOFT_MODEL_U
from rubrics.craft.handle import FINGER_SLACK_MM
from rubrics.craft.plan import (
    WALL_CEILING_MM,
    WALL_CEILING_SHARE,
    WALL_FLOOR_MM,
    WALL_FLOOR_SHARE,
)
from rubrics.craft.shrinkage import DISAGREE_BELOW

from .pieces import PLAN

K = 2
"""Coverage factor of an expanded uncertainty (JCGM 100:2008, 6.2.1)."""


def propagated(function, values, us):
    """A function and its standard uncertainty (JCGM 100:2008, 5.1.2)."""
    values = np.asarray(values, dtype=float)
    slopes = optimize.approx_fprime(values, lambda at: function(*at))
    return function(*values), float(linalg.norm(slopes * np.asarray(us)))


def fitted(columns, values, u):
    """Coefficients, their covariance, and the residuals of a linear fit; never better than u."""
    matrix = np.column_stack(columns)
    solution, *_ = linalg.lstsq(matrix, values)
    residuals = values - matrix @ solution
    sigma = max(u, math.sqrt(residuals @ residuals / (len(values) - len(solution))))
    return solution, linalg.inv(matrix.T @ matrix) * sigma**2, residuals


def polar(pair, covariance):
    """Amplitude of a cos + b sin and its standard uncertainty."""
    amplitude = math.hypot(*pair)
    along = np.asarray(pair) / amplitude
    return amplitude, math.sqrt(along @ covariance @ along)


@cache
def expected_range(n):
    """Expected range of n normal values of unit standard deviation (Tippett 1925)."""
    return integrate.quad(lambda x: 1 - stats.norm.cdf(x) ** n - stats.norm.sf(x) ** n, -9, 9)[0]


@cache
def millilitres_per_gram():
    """Of water at 20 °C (Tanaka et al. 2001)."""
    t = 20.0
    density = 999.974950 * (1 - (t - 3.983035) ** 2 * (t + 301.797) / (522528.9 * (t + 69.34881)))
    return 1000 / density


def cup_volume(height, rim, foot, wall, base, *, corner):
    """Inside of a cup from a rounded square to a circle, drawn in square to its wall. [ml]"""
    inset = wall * math.hypot(1, (rim - foot) / 2 / height)
    half, radius = foot / 2 - inset, rim / 2 - inset
    rounded = max(corner - inset, 0)

    def area(level):
        up = level / height
        square = 4 * half**2 - (4 - math.pi) * rounded**2
        round_it = 8 * half - (8 - 2 * math.pi) * rounded
        return (
            (1 - up) ** 2 * square
            + up * (1 - up) * round_it * radius
            + (up * radius) ** 2 * math.pi
        )

    return integrate.quad(area, base, height)[0] / 1000


STAGE = "leather-hard"
GROWN = {stage: 1 - share for stage, share in PLAN.shrinkage.items()} | {"wet": 1.0}
GROWN_U = dict(PLAN.shrinkage_spread) | {"wet": 0.0}


def grown(value, u, before, after):
    """A length carried from one stage to another by the clay's plan, and its uncertainty."""
    return propagated(
        lambda length, start, end: length * end / start,
        (value, GROWN[before], GROWN[after]),
        (u, GROWN_U[before], GROWN_U[after]),
    )


def mean_of(readings):
    return float(np.mean([r.value for r in readings])), linalg.norm([r.u for r in readings]) / len(
        readings
    )


def excess(by, u):
    """How far a bound is passed, never less than nothing; well within it nothing is in doubt."""
    return (by, u) if by >= 0 else (0.0, max(0.0, u + by / K))


def wall(at):
    """Spread, bounds, plan, and the pattern over height and side."""
    read = at["wall_thickness", STAGE]
    t, us = np.array([r.value for r in read]), np.array([r.u for r in read])
    z, az = np.array([r.height_mm for r in read]), np.radians([r.azimuth_deg for r in read])
    low, high, u = t.argmin(), t.argmax(), math.sqrt(np.mean(us**2))
    pattern, covariance, _ = fitted([np.ones(len(t)), z, np.cos(az), np.sin(az)], t, u)
    spread, u_spread = np.ptp(t), math.hypot(us[low], us[high])
    scale = expected_range(12) / expected_range(len(t))
    planned = PLAN.slab_mm * GROWN[STAGE]
    floor = min(WALL_FLOOR_MM * GROWN[STAGE] / GROWN["glazed"], WALL_FLOOR_SHARE * planned)
    ceiling = min(WALL_CEILING_MM, WALL_CEILING_SHARE * planned)
    return {
        "spread_mm": (spread, u_spread),
        "scaled_spread_mm": (scale * spread, scale * u_spread),
        "too_thin_mm": excess(floor - t[low], us[low]),
        "too_thick_mm": excess(t[high] - ceiling, us[high]),
        "mean_mm": (t.mean(), u / math.sqrt(len(t))),
        "sd_mm": (t.std(ddof=1), u / math.sqrt(len(t) - 1)),
        "plan_match_mm": (t.mean() - planned, u / math.sqrt(len(t))),
        "foot_to_rim_mm_per_10mm": (10 * pattern[1], 10 * math.sqrt(covariance[1, 1])),
        "thick_amplitude_mm": polar(pattern[2:], covariance[2:, 2:]),
    }


def rim(at):
    """Rise, tilt and waves over the table."""
    read = at["rim_height", STAGE]
    h, us = np.array([r.value for r in read]), np.array([r.u for r in read])
    az, u = np.radians([r.azimuth_deg for r in read]), math.sqrt(np.mean(us**2))
    waves = [wave(k * az) for k in (1, 2, 3) for wave in (np.cos, np.sin)]
    plane, covariance, left = fitted([np.ones(len(h)), *waves[:2]], h, u)
    all_waves, all_covariance, _ = fitted([np.ones(len(h)), *waves], h, u)
    across = next(r for r in at["dimension", STAGE] if r.name == "rim_diameter")
    rise, u_rise = np.ptp(h), math.hypot(us[h.argmin()], us[h.argmax()])
    slope, u_slope = polar(plane[1:], covariance[1:, 1:])
    return {
        "rise_mm": (rise, u_rise),
        "rise_deg": propagated(
            lambda up, wide: math.degrees(math.atan(up / wide)),
            (rise, across.value),
            (u_rise, across.u),
        ),
        "tilt_deg": propagated(
            lambda up, wide: math.degrees(math.atan(2 * up / wide)),
            (slope, across.value),
            (u_slope, across.u),
        ),
        "tilt_rise_mm": (2 * slope, 2 * u_slope),
        "flatness_mm": (np.ptp(left), None),
        "saddle_mm": polar(all_waves[3:5], all_covariance[3:5, 3:5]),
        "three_corner_mm": polar(all_waves[5:], all_covariance[5:, 5:]),
    }


def joins(at):
    """How much of the seam and the darts is open, and how they are thickened."""
    lengths = at["seam_length", STAGE]
    (opened,), steps = at["seam_open", STAGE], at["seam_step", STAGE]
    on, beside = sorted(at["seam_thickness", STAGE], key=lambda r: r.name != "seam")
    step = max(steps, key=lambda r: r.value)
    return {
        "open_mm": (opened.value, opened.u),
        "longest_open_mm": (opened.value, opened.u),
        "open_fraction": propagated(
            lambda part, *whole: part / sum(whole),
            [opened.value, *(r.value for r in lengths)],
            [opened.u, *(r.u for r in lengths)],
        ),
        "largest_step_mm": (step.value, step.u),
        "mean_step_mm": mean_of(steps),
        "seam_to_beside": propagated(
            lambda one, other: one / other, (on.value, beside.value), (on.u, beside.u)
        ),
    }


def foot_width(at):
    """The foot at the stage of the handle: its four sides, with the width where they agree."""
    sides, u_sides = mean_of(at["foot_side", STAGE])
    width = next(r for r in at["dimension", STAGE] if r.name == "foot_side")
    if abs(sides - width.value) > K * math.hypot(u_sides, width.u):
        return sides, u_sides
    weights = np.array([u_sides, width.u]) ** -2.0
    return np.average([sides, width.value], weights=weights), weights.sum() ** -0.5


def handle(at):
    """Lean, place, twist, and whether the fingers pass."""
    (top,), (bottom,) = at["handle_top", STAGE], at["handle_bottom", STAGE]
    (twist,) = at["handle_twist", STAGE]
    sizes = {r.name: r for r in at["dimension", STAGE]}
    foot, u_foot = foot_width(at)
    corner = PLAN.foot_corner_radius_mm * GROWN[STAGE] / GROWN["glazed"]
    below = (4 * foot - (8 - 2 * math.pi) * corner) / (2 * math.pi)
    diagonal = foot * math.sqrt(2) - 2 * (math.sqrt(2) - 1) * corner
    u_shape = stats.uniform(scale=(diagonal - foot) / 2).std()
    levels = np.array([top.value, bottom.value])
    height, rim_wide = sizes["height"].value, sizes["rim_diameter"]
    radii = np.interp(levels, [0, height], [below, rim_wide.value / 2])
    shares = 1 - levels / height
    u_radii = np.sqrt(
        (u_shape * shares) ** 2 + (u_foot / 2 * shares) ** 2 + (rim_wide.u / 2 * (1 - shares)) ** 2
    )
    turn = top.azimuth_deg - bottom.azimuth_deg
    middle = stats.circmean([top.azimuth_deg, bottom.azimuth_deg], high=180, low=-180)
    u_turn, u_up = PLAN.azimuth_u_deg * math.sqrt(2), max(top.u, bottom.u) * math.sqrt(2)
    short = []
    for r in at["handle_opening", "glazed"]:
        fingers = PLAN.fingers if r.name == "height" else 1
        short.append((fingers * PLAN.finger_breadth_mm + FINGER_SLACK_MM - r.value, r.u))
    return {
        "lean_deg": propagated(
            lambda turned, up, wide: math.degrees(
                math.atan2(wide * math.sin(math.radians(turned) / 2), up)
            ),
            (turn, top.value - bottom.value, radii.sum()),
            (u_turn, u_up, 2 * u_radii.max()),
        ),
        "placement_deg": (middle, PLAN.azimuth_u_deg * math.sqrt(3 / 2)),
        "twist_deg": (twist.value, twist.u),
        "opening_short_mm": excess(*max(short)),
    }


def shrinkage(at):
    """The pooled shrinkage from wet to glazed beside the plan's."""
    wet = {r.name: r for r in at["dimension", "wet"]}
    pairs = [(wet[r.name], r) for r in at["dimension", "glazed"]]
    logs = np.array([math.log(now.value / was.value) for was, now in pairs])
    us = np.array([math.hypot(now.u / now.value, was.u / was.value) for was, now in pairs])
    mean, u_mean = np.average(logs, weights=us**-2), np.sum(us**-2) ** -0.5
    chi2 = float(np.sum(((logs - mean) / us) ** 2))
    p = stats.chi2.sf(chi2, len(logs) - 1)
    if p < DISAGREE_BELOW:
        u_mean *= math.sqrt(chi2 / (len(logs) - 1))
    linear, u_linear = propagated(lambda log: -math.expm1(log), [mean], [u_mean])
    return {
        "linear_shrinkage": (linear, u_linear),
        "volume_shrinkage": propagated(lambda s: 1 - (1 - s) ** 3, [linear], [u_linear]),
        "chi_squared_p": (p, None),
        "difference": (linear - PLAN.shrinkage["glazed"], u_linear),
    }


def foot(at):
    """Sides, diagonals, corners and rock of the foot."""
    sides = sorted(at["foot_side", STAGE], key=lambda r: r.name)
    diagonals = sorted(at["foot_diagonal", STAGE], key=lambda r: r.name)
    gaps = sorted(at["foot_gap", STAGE], key=lambda r: r.name)
    lengths, across = [r.value for r in sides], [r.value for r in diagonals]
    u_side, u_across, u_gap = sides[0].u, diagonals[0].u, gaps[0].u
    squares = float(np.sum(np.square(lengths)))

    def lack(allowance):
        return squares - float(np.sum((np.array(across) + allowance) ** 2))

    rounding = optimize.brentq(lack, 0, max(across), xtol=1e-12) if lack(0) > 0 else 0.0
    p, q = (each + rounding for each in across)
    a, b, c, d = lengths

    def angle(one, other, facing):
        return math.degrees(math.acos((one**2 + other**2 - facing**2) / (2 * one * other)))

    # Diagonal p joins the corner of d and a to that of b and c; q the two others.
    corners = [
        (angle(d, a, q) + angle(d, p, c) + angle(a, p, b)) / 2,
        (angle(a, b, p) + angle(a, q, d) + angle(b, q, c)) / 2,
        (angle(b, c, q) + angle(b, p, a) + angle(c, p, d)) / 2,
        (angle(c, d, p) + angle(c, q, b) + angle(d, q, a)) / 2,
    ]
    return {
        "side_spread_mm": (np.ptp(lengths), math.hypot(u_side, u_side)),
        "mean_side_mm": mean_of(sides),
        "diagonal_difference_mm": (abs(np.diff(across)[0]), math.hypot(u_across, u_across)),
        "worst_corner_deg": (max(np.array(corners) - 90, key=abs), None),
        "corner_radius_mm": (rounding / (2 * (math.sqrt(2) - 1)), None),
        "rock_mm": (
            abs(np.dot([1, -1, 1, -1], [r.value for r in gaps])),
            linalg.norm([r.u for r in gaps]),
        ),
        "largest_gap_mm": (max(r.value for r in gaps), u_gap),
    }


def capacity(at):
    """What it holds by water and by its sizes, beside the plan."""
    (water,) = at["water_mass", "glazed"]
    sizes = {r.name: r for r in at["dimension", "glazed"]}
    held = water.value * millilitres_per_gram()
    u_held = math.hypot(water.u * millilitres_per_gram(), stats.uniform(-5, 10).std())
    used = [sizes[name] for name in ("height", "rim_diameter", "foot_side", "base_thickness")]
    wall_now = grown(*mean_of(at["wall_thickness", STAGE]), STAGE, "glazed")
    by_sizes, u_by_sizes = propagated(
        lambda high, wide, side, base, thick: cup_volume(
            high, wide, side, thick, base, corner=PLAN.foot_corner_radius_mm
        ),
        [*(r.value for r in used), wall_now[0]],
        [*(r.u for r in used), wall_now[1]],
    )
    return {
        "capacity_water_ml": (held, u_held),
        "capacity_geometry_ml": (by_sizes, math.hypot(u_by_sizes, LOFT_MODEL_U * by_sizes)),
        "difference_fraction": (held / PLAN.capacity_ml - 1, u_held / PLAN.capacity_ml),
    }


CHECKS = {
    "wall_evenness": wall,
    "rim_level": rim,
    "seam_join": joins,
    "handle_alignment": handle,
    "shrinkage": shrinkage,
    "squared_foot": foot,
    "capacity": capacity,
}


def verdict(value, u, limit):
    """Within, outside, or too close to call, by the expanded uncertainty (JCGM 106:2012, 8.3)."""
    if abs(value) + K * u <= limit:
        return "within"
    return "too close to call" if abs(value) - K * u <= limit else "outside"


def check_cup(readings):
    """Figures with their uncertainty by check, and the verdicts of those that have a limit."""
    at = {}
    for r in readings:
        at.setdefault((r.quantity, r.stage), []).append(r)
    figures = {name: check(at) for name, check in CHECKS.items()}
    verdicts = {}
    for key, limit in PLAN.limits.items():
        check, _, name = key.partition(".")
        if name in figures[check]:
            verdicts[key] = verdict(*figures[check][name], limit.b)
    return figures, verdicts
