"""Where the rim is, looked for in all photos at once before any fit may settle beside it.

A place on the rim is the far edge in some photos, before the backdrop, and the near edge in others,
before the cup's inside. A table's edge behind the cup, a glaze line or a ring on the wall shows in
one role only. So every height at every azimuth collects the edges of all photos in both roles, and
the closed line with the most of them is taken.
"""

import cv2
import numpy as np

from studio.camera.wheel import form
from studio.camera.wheel.seen_photo import SeenPhoto

AZIMUTHS = 72
STEP_MM = 0.5
BELOW_MM, ABOVE_MM = 22.0, 34.0  # about where the masks end
SMOOTH_MM = 0.5
BESIDE_MM = (-1.5, -0.75, 0.0, 0.75, 1.5)
LEAST_ROLE = 0.2  # cosine to the line of sight: in between, the rim's ends give no height
DARK_LEVEL = 0.02  # linear light
STEADY = 0.25  # of its own strongest edge: strength that counts half
OVER_MM = (1.5, 4.0)  # an edge so far over another makes the lower one a glaze line, or less likely
SLOPE_MM = 1.5  # most change of height over a step of the azimuth
SLOPE_COST = 0.25  # votes for a millimetre of change
TURNS = 2  # around the circle, so that the line closes
LOOK_DOWN_MM, LOOK_UP_MM = 2.0, 5.0  # beside the first line; no lip is thicker
ALIKE = 0.7  # of the votes of the best line
NEAR_MM = 1.5
NARROWER_MM, WIDER_MM = 6.0, 9.0  # of the rim, where it is begun: masks lose a lip, rarely add one


def votes(looks: list[SeenPhoto], cameras: list, shape: form.Form) -> tuple:
    """Edges of all photos at every height and azimuth, by role.

    Returns
    -------
    heights : ndarray, shape (levels,)
        [mm]
    far, near : ndarray, shape (AZIMUTHS, levels)
        0 to 1; 1 everywhere at an azimuth that no photo shows in this role.
    """
    theta = np.arange(AZIMUTHS) * 2 * np.pi / AZIMUTHS
    middle = float(shape.top_line().mean())
    heights = np.arange(middle - BELOW_MM, middle + ABOVE_MM, STEP_MM)
    far, near = np.zeros((2, AZIMUTHS, len(heights)))
    seen = np.zeros((2, AZIMUTHS))
    for view, camera in zip(looks, cameras, strict=True):
        if view.from_above:
            continue
        role, strength = _votes_of(view, camera, shape, theta, heights)
        weight = np.stack([role > LEAST_ROLE, role < -LEAST_ROLE]) * np.abs(role)
        far += weight[0][:, None] * strength
        near += weight[1][:, None] * strength
        seen += weight
    # Where a place was seen in one role only, that role alone must do.
    far = np.where(seen[0][:, None] > 0, far / np.maximum(seen[0], LEAST_ROLE)[:, None], 1.0)
    near = np.where(seen[1][:, None] > 0, near / np.maximum(seen[1], LEAST_ROLE)[:, None], 1.0)
    return heights, far, near


def _votes_of(view, camera, shape, theta, heights):
    way = np.stack([np.cos(theta), np.sin(theta)], -1)
    away = shape.rim_xy - camera.position_mm[:2]
    distance = float(np.hypot(*away))
    role = way @ (away / distance)  # 1 far, -1 near
    down = np.arctan2(camera.position_mm[2] - heights.mean(), distance)
    # Where a line of sight grazes the lip's rounding: short of its top line on the far side.
    inward = np.where(role > 0, 1 - np.sin(down), 1 + np.sin(down)) * shape.lip
    drop = (1 - np.cos(down)) * shape.lip
    top = float(shape.top_line().mean())
    slope = (shape.wall[-1, 0] - shape.wall[-4, 0]) / (
        (form.KNOTS_U[-1] - form.KNOTS_U[-4]) * (top - form.FILLET_MM)
    )
    radius = shape.radius(np.ones(AZIMUTHS), theta) - inward
    radius = radius[:, None] + slope * (heights - top)
    level = np.broadcast_to(heights - drop, radius.shape)
    return role, _strength(view, camera, shape, radius, level)


def _strength(view, camera, shape, radius, level):
    """Edges along rows of places, each row's own strongest near 1, less where another is over it.

    `radius` and `level` have the shape (azimuths, places); over means later in the row.
    """
    theta = np.arange(AZIMUTHS) * 2 * np.pi / AZIMUTHS
    way = np.stack([np.cos(theta), np.sin(theta)], -1)
    colours = 0
    for aside in BESIDE_MM:
        place = np.stack(
            [
                shape.rim_xy[0] + radius * way[:, :1] - aside * way[:, 1:],
                shape.rim_xy[1] + radius * way[:, 1:] + aside * way[:, :1],
                level,
            ],
            -1,
        )
        at = camera.project(place).astype(np.float32)
        colours = colours + cv2.remap(
            view.linear, at[..., 0], at[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
        )
    colours = colours / len(BESIDE_MM)
    inside = (at >= 0).all(-1) & (at <= np.array(camera.size) - 1).all(-1)
    strength = np.where(inside, _slope(np.log(np.maximum(colours, 0) + DARK_LEVEL)), 0.0)
    strongest = strength.max(1, keepdims=True) + 1e-9
    strength = strength / (strength + STEADY * strongest)
    low, high = (round(mm / STEP_MM) for mm in OVER_MM)
    padded = np.pad(strength, ((0, 0), (0, high)))
    over = np.max([padded[:, k : k + strength.shape[1]] for k in range(low, high + 1)], 0)
    return strength / (1 + over)


def _slope(values):
    """Size of the change along the second axis over all colours, lightly smoothed."""
    sd = SMOOTH_MM / STEP_MM
    smooth = cv2.GaussianBlur(values.astype(np.float32), (0, 0), sigmaX=sd, sigmaY=1e-3)
    return np.linalg.norm(np.gradient(smooth, axis=1), axis=2)


def lines(looks: list[SeenPhoto], cameras: list, shape: form.Form) -> tuple[np.ndarray, list]:
    """Where the rim may run: by both roles together, and by the far edges alone.

    Returns
    -------
    theta : ndarray, shape (AZIMUTHS,)
        [rad]
    heights : list of ndarray, shape (AZIMUTHS,)
        [mm]
    """
    levels, far, near = votes(looks, cameras, shape)
    found = [_topmost(levels, gain) for gain in (far * near, far)]
    return np.arange(AZIMUTHS) * 2 * np.pi / AZIMUTHS, found


def widths(looks: list[SeenPhoto], cameras: list, shape: form.Form) -> np.ndarray | None:
    """The rim's distance from the axis as photos from above show it; shape (AZIMUTHS,) [mm].

    The outermost clear edge is taken: the lip's inner edge runs beside the outer one. None
    without a photo from above.
    """
    theta = np.arange(AZIMUTHS) * 2 * np.pi / AZIMUTHS
    away = np.arange(-NARROWER_MM, WIDER_MM, STEP_MM)
    now = shape.radius(np.ones(AZIMUTHS), theta)
    level = np.broadcast_to(shape.top_line(theta)[:, None] - shape.lip, (AZIMUTHS, len(away)))
    gain = np.zeros((AZIMUTHS, len(away)))
    for view, camera in zip(looks, cameras, strict=True):
        if view.from_above:
            gain += _strength(view, camera, shape, now[:, None] + away, level)
    return now + away[_closed_line(gain)] if gain.any() else None


def _topmost(levels, gain):
    """The line with most votes, or one above it with nearly as many: below a rim runs its glaze."""
    first = _closed_line(gain)
    shifts = np.arange(-round(LOOK_DOWN_MM / STEP_MM), round(LOOK_UP_MM / STEP_MM) + 1)
    rows = np.arange(AZIMUTHS)
    at = np.clip(first + shifts[:, None], 0, len(levels) - 1)
    along = gain[rows, at].mean(1)
    crest = np.r_[False, (along[1:-1] >= along[:-2]) & (along[1:-1] >= along[2:]), False]
    clear = np.nonzero(crest & (along >= ALIKE * along.max()))[0]
    shift = shifts[clear[-1]] if len(clear) else 0
    near = np.abs(np.arange(len(levels)) - (first + shift)[:, None]) * STEP_MM <= NEAR_MM
    return levels[_closed_line(np.where(near, gain, 0.0))]


def _closed_line(gain):
    """The closed line with most votes that nowhere climbs too fast; levels, by dynamic search."""
    reach = round(SLOPE_MM / STEP_MM)
    cost = SLOPE_COST * STEP_MM * np.abs(np.arange(-reach, reach + 1))
    best, came = gain[0].copy(), []
    order = [k % AZIMUTHS for k in range(1, (TURNS + 1) * AZIMUTHS)]
    for k in order:
        padded = np.pad(best, reach, constant_values=-np.inf)
        choices = np.stack([padded[j : j + len(best)] - cost[j] for j in range(2 * reach + 1)])
        pick = choices.argmax(0)
        came.append(pick - reach)
        best = choices[pick, np.arange(len(best))] + gain[k]
    at = int(best.argmax())
    found = np.zeros(AZIMUTHS, int)
    for n in range(len(order) - 1, -1, -1):
        if AZIMUTHS <= n + 1 < 2 * AZIMUTHS:  # the middle turn: both ends have closed
            found[order[n]] = at
        at = at + came[n][at]
    return found
