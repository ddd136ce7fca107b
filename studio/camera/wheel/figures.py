"""Figures of a solved form, each with its doubt.

A figure's doubt has three sources: what the edges leave open (draws from the solution's
covariance), what single photos do to it (each left out in turn), and what the model leaves out
(relief, shadow at the foot, a lip that is no exact round). The last two were weighed against
rendered cups of known form, four fifths of them at a time.
"""

import numpy as np

from studio.camera.wheel import fit, form

AZIMUTHS_DEG = np.arange(0, 360, 10)
FOOT_LEVEL_MM = 2.0
FINE = 360
LEVELS_MM = (10.0, 30.0, 50.0, 70.0)
TOP_CLEAR_MM = 8.0  # an outline nearer to the rim's lowest place is the lip's
SQUARED_SHARE = 0.02  # fourth harmonic over radius from which a foot has sides
WIDTH_LEVELS = 12  # at which the greatest width is looked for
DRAWS, SEED = 60, 1
_FINE = np.arange(FINE) * 2 * np.pi / FINE
_WAYS = np.stack([np.cos(_FINE), np.sin(_FINE)], -1)


def figures(shape: form.Form, levels: tuple = LEVELS_MM) -> dict[str, np.ndarray]:
    """Figures of one form.

    Returns
    -------
    dict of str to ndarray
        height_mm, rim_line_mm (36 azimuths about the rim's middle), rise_mm, tilt_deg,
        tilt_vector_mm (2), saddle_mm and lobes_mm (peak to valley of two and three waves),
        rim_diameter_mm, rim_widest_mm, rim_narrowest_mm, out_of_round_mm, max_diameter_mm,
        foot_flats_mm (2), foot_sides_mm (4), foot_diagonals_mm (2), foot_turn_deg,
        foot_square (fourth harmonic over radius), lean_mm (2, from foot to rim), lean_deg,
        foot_centre_mm (2), rim_centre_mm (2), outline_z_mm (36 each),
        diameter_z_mm (mean calliper width).
    """
    out = _rim(shape)
    foot = shape.outline_at(FOOT_LEVEL_MM, _FINE)
    out |= _foot(foot)
    run = out["rim_centre_mm"] - out["foot_centre_mm"]
    tall = float(shape.top_line().mean()) - shape.lip - FOOT_LEVEL_MM
    out["lean_mm"] = run
    out["lean_deg"] = np.degrees(np.arctan(np.hypot(*run) / tall))
    widths = [
        _caliper(shape.outline_at(z, _FINE)).max() for z in np.linspace(4, tall, WIDTH_LEVELS)
    ]
    out["max_diameter_mm"] = max(*widths, out["rim_widest_mm"])
    for z in levels:
        if z < float(shape.top_line().min()) - TOP_CLEAR_MM:
            line = shape.outline_at(z, _FINE)
            out[f"outline_{z:g}_mm"] = _polar(line, centroid(line))
            out[f"diameter_{z:g}_mm"] = _caliper(line).mean()
    return {name: np.atleast_1d(np.asarray(v, float)) for name, v in out.items()}


def _rim(shape):
    edge = shape.rim_outline(_FINE)
    middle = centroid(edge)
    top = shape.top_line(_FINE)
    angle = np.unwrap(np.arctan2(*(edge - middle).T[::-1]))
    line = np.interp(
        np.radians(AZIMUTHS_DEG), *_sorted(angle, top)
    )  # about the rim's own middle, as a gauge would be set
    width = _caliper(edge)
    columns = np.column_stack([np.ones(FINE), *(f(m * angle) for m in (2, 3)
                               for f in (np.cos, np.sin)), *(edge - middle).T])  # fmt: skip
    terms = np.linalg.lstsq(columns, top, rcond=None)[0]
    plane = np.linalg.lstsq(columns[:, [0, 5, 6]], top, rcond=None)[0][1:]  # as a gauge's heights
    return {
        "height_mm": top.mean(), "rim_line_mm": line, "rise_mm": np.ptp(top),
        "tilt_deg": np.degrees(np.arctan(np.hypot(*plane))),
        "tilt_vector_mm": plane * width.mean(),
        "saddle_mm": 2 * np.hypot(*terms[1:3]), "lobes_mm": 2 * np.hypot(*terms[3:5]),
        "rim_diameter_mm": width.mean(), "rim_widest_mm": width.max(),
        "rim_narrowest_mm": width.min(), "out_of_round_mm": np.ptp(width),
        "rim_centre_mm": middle,
    }  # fmt: skip


def _sorted(angle, values):
    """Values over a full turn and more, for interpolation."""
    angle = angle % (2 * np.pi)
    order = np.argsort(angle)
    turns = [angle[order] + k * 2 * np.pi for k in (-1, 0, 1)]
    return np.concatenate(turns), np.tile(values[order], 3)


def _polar(line, middle):
    """Distance of a closed curve from a point at AZIMUTHS_DEG."""
    d = line - middle
    return np.interp(np.radians(AZIMUTHS_DEG), *_sorted(np.arctan2(d[:, 1], d[:, 0]),
                                                        np.hypot(*d.T)))  # fmt: skip


def _support(line):
    """Farthest reach of a closed curve in every direction of _FINE."""
    return (line @ _WAYS.T).max(0)


def _caliper(line):
    """Widths between parallel jaws over half a turn."""
    reach = _support(line)
    return reach[: FINE // 2] + reach[FINE // 2 :]


def centroid(line: np.ndarray) -> np.ndarray:
    """Centroid of the area inside a closed polygon; shape (2,)."""
    ahead = np.roll(line, -1, 0)
    cross = line[:, 0] * ahead[:, 1] - ahead[:, 0] * line[:, 1]
    return ((line + ahead) * cross[:, None]).sum(0) / (3 * cross.sum())


def _foot(line):
    """Sides over the flats, diagonals, and whether there are any."""
    middle = centroid(line)
    d = line - middle
    angle, radius = np.arctan2(d[:, 1], d[:, 0]), np.hypot(*d.T)
    step = np.gradient(np.unwrap(angle))
    fourth = (radius * np.exp(-4j * angle) * step).sum() / np.pi
    mean = (radius * step).sum() / (2 * np.pi)
    corner = -np.angle(fourth) / 4 if abs(fourth) else 0.0  # of the corners, mod a quarter turn
    reach = _support(d)
    normals = corner + np.pi / 4 + np.arange(4) * np.pi / 2
    flats = np.array([_flat(reach, n) for n in normals])  # direction and distance of each side
    corners = np.array([_crossing(flats[k - 1], flats[k]) for k in range(4)])
    sides = np.linalg.norm(np.roll(corners, -1, 0) - corners, axis=1)
    return {
        "foot_centre_mm": middle, "foot_square": abs(fourth) / mean,
        "foot_flats_mm": flats[:2, 1] + flats[2:, 1], "foot_sides_mm": sides,
        "foot_diagonals_mm": [_across(reach, corners[k + 2] - corners[k]) for k in (0, 1)],
        "foot_turn_deg": np.degrees(flats[0, 0]) % 90,
    }  # fmt: skip


FLAT_LOOK = 12  # degrees about the expected normal where the flat's own may lie


def _flat(reach, normal):
    """The side that a straight edge laid against the foot rests on: least reach near a normal."""
    around = np.arange(-FLAT_LOOK, FLAT_LOOK + 1)
    at = (round(np.degrees(normal)) + around) % FINE
    k = int(reach[at].argmin())
    return np.radians(at[k]), reach[at][k]


def _crossing(one, other):
    """Where two sides, each (direction of its normal, distance), cross."""
    rows = np.array([[np.cos(a), np.sin(a)] for a in (one[0], other[0])])
    return np.linalg.solve(rows, np.array([one[1], other[1]]))


def _across(reach, way):
    """Width between jaws along a direction."""
    k = round(np.degrees(np.arctan2(way[1], way[0]))) % FINE
    return reach[k] + reach[(k + FINE // 2) % FINE]


def spreads(solved: fit.Solved, levels: tuple = LEVELS_MM) -> tuple[dict, dict, dict]:
    """Figures of the solution, their spread by its covariance, and by leaving photos out.

    Returns
    -------
    values, by_edges, by_photos : dict of str to ndarray
        The latter two as standard deviations.
    """
    values = figures(solved.form, levels)
    root = np.linalg.cholesky(solved.covariance)
    noise = np.random.default_rng(SEED).standard_normal((DRAWS, form.N_FORM)) @ root.T
    drawn = [figures(solved.form.moved(step), levels) for step in noise]
    left_out = [figures(f, levels) for f in solved.without_each()]
    by_edges, by_photos = {}, {}
    for name, at in values.items():
        off = np.array([_away(d.get(name, at) - at, name) for d in drawn])
        by_edges[name] = np.sqrt((off**2).mean(0))
        off = np.array([_away(d.get(name, at) - at, name) for d in left_out])
        n = len(left_out)
        # The jackknife's variance about the solution (Efron and Stein, 1981).
        by_photos[name] = np.sqrt((n - 1) / n * (off**2).sum(0)) if n > 1 else by_edges[name]
    return values, by_edges, by_photos


def _away(off, name):
    return (off + 45) % 90 - 45 if name == "foot_turn_deg" else off
