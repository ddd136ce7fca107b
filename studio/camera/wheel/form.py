"""A cup of any outline all round: at every height a closed curve, on top a rim of any line.

The wall's distance from a straight axis is a sum of harmonics around it, each a natural cubic
spline up the wall. The same pieces of the wall hold the foot, the corners that fade on the way up,
both leans and a rim out of round; what no photograph tells is held by how smooth clay is.
"""

from dataclasses import dataclass, replace

import numpy as np

HARMONICS = (0, 1, 2, 3, 4, 5, 6, 8, 12)  # 4, 8, 12: a squared foot's sides and corners
RIM_HARMONICS = (0, 1, 2, 3, 4, 5)
KNOTS_U = np.array([0.0, 0.1, 0.22, 0.36, 0.5, 0.64, 0.77, 0.88, 0.95, 1.0])
"""Shares of the way from the foot's edge to where the lip's rounding begins."""

# What is known of a cup before it is seen, standard deviations in mm: of the whole wall, of its
# slope from foot to rim, of its bends. Wide where a pupil decides; common practice, no source.
PRIOR_SD_MM = {
    0: (25.0, 15.0, 4.0), 1: (6.0, 6.0, 0.5), 2: (2.0, 2.0, 0.4), 3: (0.7, 0.7, 0.25),
    4: (2.5, 2.5, 0.8), 5: (0.2, 0.2, 0.1), 6: (0.2, 0.2, 0.1), 8: (0.7, 0.7, 0.25),
    12: (0.3, 0.3, 0.1),
}  # fmt: skip
BEND_LENGTH_U = 0.3  # bends this far apart on the wall know little of each other
LIP_SWELL_SD_MM, LIP_SWELL_LENGTH_U = 0.8, 0.06  # a bead below the lip
FREE_SD_MM = 0.05  # knots are never held to less
RIM_PRIOR_SD_MM = {0: 40.0, 1: 4.0, 2: 1.5, 3: 1.5, 4: 0.3, 5: 0.15}
TOP_SD_MM = 0.5  # of single heights of the rim before a fit
WIDTH_FROM_U = 0.6  # from here up the wall follows a rim set wider
START_HEIGHT_MM, START_RADIUS_MM = 90.0, 40.0
LIP_MM, LIP_SD_MM, LIP_RANGE_MM = 2.4, 0.5, (1.0, 5.0)

FILLET_MM = 1.5  # the rounded edge under the foot
# Below this slope the rounding lies in its own shadow: a dark edge straight under it shows.
FILLET_SEEN = np.radians(-48)
FILLET_PSI = np.radians([-90, -90, -90, -48, -30, -14])
FILLET_LIFT_MM = np.array([0.0, 0.01, 0.06, 0.0, 0.0, 0.0])  # the dark edge stands upright ...
FILLET_INWARD_MM = np.array([1.0, 0.0, 0.0, 0.0, 0.0, 0.0])  # ... and turns in under the foot
LIP_PSI = np.radians([0, 12, 25, 38, 50, 62, 74, 86, 98, 110, 122, 134])
BODY_RINGS, ANGLES = 26, 120

RING_U = np.concatenate(
    [np.zeros(len(FILLET_PSI)), np.linspace(0, 1, BODY_RINGS), np.ones(len(LIP_PSI) - 1)]
)
RING_PSI = np.concatenate([FILLET_PSI, np.zeros(BODY_RINGS), LIP_PSI[1:]])
FIRST_BODY, FIRST_LIP = len(FILLET_PSI), len(FILLET_PSI) + BODY_RINGS - 1
RINGS = len(RING_U)
NEAR_LIP = FIRST_LIP + 6.0  # where the lip turns inward: the near rim's edge before the inside
_INWARD, _LIFT = (
    np.concatenate([a, np.zeros(RINGS - len(FILLET_PSI))])
    for a in (FILLET_INWARD_MM, FILLET_LIFT_MM)
)
_OUT_PSI, _UP_PSI = np.cos(np.maximum(RING_PSI, FILLET_SEEN)), np.sin(RING_PSI)
_FOOT_RING = RING_PSI < 0
THETA = np.arange(ANGLES) * 2 * np.pi / ANGLES


def circle(theta: np.ndarray, harmonics=HARMONICS) -> np.ndarray:
    """Columns 1, cos(m t), sin(m t) for each harmonic; shape (..., terms)."""
    columns = []
    for m in harmonics:
        columns += [np.ones_like(theta)] if m == 0 else [np.cos(m * theta), np.sin(m * theta)]
    return np.stack(columns, -1)


TERMS = 2 * len(HARMONICS) - 1
RIM_TERMS = 2 * len(RIM_HARMONICS) - 1
N_WALL = TERMS * len(KNOTS_U)
N_FORM = N_WALL + RIM_TERMS + 1
RIM_AT = slice(N_WALL, N_WALL + RIM_TERMS)
LIP_AT = N_WALL + RIM_TERMS


def _order_of(harmonics):
    return [m for m in harmonics for _ in range(1 if m == 0 else 2)]


def _natural_spline():
    """Second derivatives at the knots from the values there; shape (knots, knots)."""
    n, h = len(KNOTS_U), np.diff(KNOTS_U)
    a, b = np.eye(n), np.zeros((n, n))
    for i in range(1, n - 1):
        a[i, i - 1 : i + 2] = h[i - 1], 2 * (h[i - 1] + h[i]), h[i]
        b[i, i - 1 : i + 2] = 6 / h[i - 1], -6 / h[i - 1] - 6 / h[i], 6 / h[i]
    return np.linalg.solve(a, b)


_BEND = _natural_spline()


def upward(u: np.ndarray) -> np.ndarray:
    """Weights of the knots at shares u of the wall; shape (n, knots)."""
    n, h = len(KNOTS_U), np.diff(KNOTS_U)
    k = np.clip(np.searchsorted(KNOTS_U, u, side="right") - 1, 0, n - 2)
    w, t = h[k][:, None], ((u - KNOTS_U[k]) / h[k])[:, None]
    pick = np.eye(n)
    value = (1 - t) * pick[k] + t * pick[k + 1]
    return value + w**2 / 6 * (((1 - t) ** 3 - (1 - t)) * _BEND[k] + (t**3 - t) * _BEND[k + 1])


_RING_KNOTS, _RING_CIRCLE, _RIM_CIRCLE = (
    upward(RING_U), circle(THETA), circle(THETA, RIM_HARMONICS)
)  # fmt: skip


@dataclass(frozen=True)
class Form:
    """A cup's outer surface.

    Attributes
    ----------
    values : ndarray, shape (N_FORM,)
        Wall (knots by terms, row by row), rim line's terms, radius of the lip's rounding [mm].
    foot_xy, rim_xy : ndarray, shape (2,)
        Where the reference axis meets the foot and the beginning of the lip [mm].
    """

    values: np.ndarray
    foot_xy: np.ndarray
    rim_xy: np.ndarray

    @property
    def wall(self) -> np.ndarray:
        return self.values[:N_WALL].reshape(len(KNOTS_U), TERMS)

    @property
    def lip(self) -> float:
        return float(self.values[LIP_AT])

    def axis(self, u: np.ndarray) -> np.ndarray:
        """The reference axis at shares of the wall; shape (n, 2)."""
        return self.foot_xy + np.asarray(u, float)[..., None] * (self.rim_xy - self.foot_xy)

    def top_line(self, theta: np.ndarray = THETA) -> np.ndarray:
        """Height of the rim's top line around the axis [mm]."""
        return circle(theta, RIM_HARMONICS) @ self.values[RIM_AT]

    def radius(self, u: np.ndarray, theta: np.ndarray) -> np.ndarray:
        """The wall's distance from the axis, each u with its theta [mm]."""
        return ((upward(u) @ self.wall) * circle(theta)).sum(-1)

    def level(self, z_mm: float, theta: np.ndarray = THETA) -> np.ndarray:
        """Share of the wall that lies at a height, for each theta."""
        return (z_mm - FILLET_MM) / (self.top_line(theta) - self.lip - FILLET_MM)

    def outline_at(self, z_mm: float, theta: np.ndarray = THETA) -> np.ndarray:
        """The wall's closed curve at a height; shape (n, 2), mat coordinates [mm]."""
        u = self.level(z_mm, theta)
        way = np.stack([np.cos(theta), np.sin(theta)], -1)
        return self.axis(u) + self.radius(u, theta)[:, None] * way

    def rim_outline(self, theta: np.ndarray = THETA) -> np.ndarray:
        """The rim's outer edge, where the lip's rounding begins; shape (n, 2) [mm]."""
        way = np.stack([np.cos(theta), np.sin(theta)], -1)
        return self.rim_xy + self.radius(np.ones_like(theta), theta)[:, None] * way

    def grid(self) -> np.ndarray:
        """The surface as rings from under the foot to the inner side of the lip."""
        radius = _RING_KNOTS @ self.wall @ _RING_CIRCLE.T
        bend = np.where(_FOOT_RING, FILLET_MM, self.lip)
        radius = radius - (bend * (1 - _OUT_PSI) + _INWARD)[:, None]
        start = self.top_line() - self.lip - FILLET_MM  # from foot's edge to lip's rounding
        z = (_LIFT + FILLET_MM + bend * _UP_PSI)[:, None] + RING_U[:, None] * start
        axis = self.axis(RING_U)
        return np.stack(
            [
                axis[:, :1] + radius * np.cos(THETA),
                axis[:, 1:] + radius * np.sin(THETA),
                z,
            ],
            -1,
        )

    def moved(self, step: np.ndarray) -> "Form":
        """The form with its values changed; the lip's rounding stays one of clay."""
        values = self.values + step
        values[LIP_AT] = np.clip(values[LIP_AT], *LIP_RANGE_MM)
        return replace(self, values=values)

    def with_lip(self, lip_mm: float) -> "Form":
        """The form with another rounding of the lip."""
        values = self.values.copy()
        values[LIP_AT] = lip_mm
        return replace(self, values=values)

    def with_top(self, theta: np.ndarray, heights: np.ndarray) -> "Form":
        """The form with the rim line that runs best through given heights, strays weighed down."""
        columns = circle(theta, RIM_HARMONICS)
        mean = np.zeros(RIM_TERMS)
        mean[0] = np.median(heights)
        info = np.diag([1 / RIM_PRIOR_SD_MM[m] ** 2 for m in _order_of(RIM_HARMONICS)])
        terms, weight = mean, np.ones(len(theta))
        for _ in range(6):
            scaled = columns * (weight / TOP_SD_MM**2)[:, None]
            terms = mean + np.linalg.solve(
                scaled.T @ columns + info, scaled.T @ (heights - columns @ mean)
            )
            weight = 1 / (1 + ((heights - columns @ terms) / (2 * TOP_SD_MM)) ** 2)
        values = self.values.copy()
        values[RIM_AT] = terms
        return replace(self, values=values)

    def with_width(self, theta: np.ndarray, radii: np.ndarray) -> "Form":
        """The form with its rim as wide as given, strays weighed down; the wall below bends along.

        Parameters
        ----------
        theta, radii : ndarray, shape (n,)
            The rim's distance from the axis [rad, mm].
        """
        columns, change = circle(theta), radii - self.radius(np.ones_like(theta), theta)
        sds = [PRIOR_SD_MM[m][0] for m in _order_of(HARMONICS)]
        info, weight, terms = np.diag(1 / np.array(sds) ** 2), np.ones(len(theta)), 0.0
        for _ in range(6):
            scaled = columns * (weight / TOP_SD_MM**2)[:, None]
            terms = np.linalg.solve(scaled.T @ columns + info, scaled.T @ change)
            weight = 1 / (1 + ((change - columns @ terms) / (2 * TOP_SD_MM)) ** 2)
        values = self.values.copy()
        along = np.clip((KNOTS_U - WIDTH_FROM_U) / (1 - WIDTH_FROM_U), 0, 1) ** 2
        values[:N_WALL] += np.outer(along, terms).ravel()
        return replace(self, values=values)

    def recentred(self) -> "Form":
        """The same form about an axis through its foot's and rim's middles, to first order."""
        low, high = self.wall[0, 1:3], self.wall[-1, 1:3]
        values = self.values.copy()
        wall = values[:N_WALL].reshape(self.wall.shape)
        wall[:, 1:3] -= (1 - KNOTS_U)[:, None] * low + KNOTS_U[:, None] * high
        return Form(values, self.foot_xy + low, self.rim_xy + high)

    def change(self, ring: np.ndarray, angle: np.ndarray) -> np.ndarray:
        """How surface points follow the values.

        Parameters
        ----------
        ring, angle : ndarray, shape (n,)
            Fractional places on the grid.

        Returns
        -------
        ndarray, shape (n, 3, N_FORM)
        """
        i = np.clip(np.floor(ring).astype(int), 0, RINGS - 2)
        s = ring - i

        def between(per_ring):
            return (1 - s) * per_ring[i] + s * per_ring[i + 1]

        u = between(RING_U)
        theta = angle * 2 * np.pi / ANGLES
        out = np.zeros((len(ring), 3, N_FORM))
        radial = (upward(u)[:, :, None] * circle(theta)[:, None, :]).reshape(len(ring), -1)
        out[:, 0, :N_WALL] = radial * np.cos(theta)[:, None]
        out[:, 1, :N_WALL] = radial * np.sin(theta)[:, None]
        out[:, 2, RIM_AT] = u[:, None] * circle(theta, RIM_HARMONICS)
        lip = np.where(_FOOT_RING, 0.0, 1.0)
        inward = -between(lip * (1 - _OUT_PSI))
        out[:, 0, LIP_AT], out[:, 1, LIP_AT] = inward * np.cos(theta), inward * np.sin(theta)
        out[:, 2, LIP_AT] = between(lip * _UP_PSI) - u
        return out


def start(height: float, foot: float, rim: float, foot_xy, rim_xy) -> Form:
    """A round, straight cup to begin with. [mm]"""
    values = np.zeros(N_FORM)
    wall = values[:N_WALL].reshape(len(KNOTS_U), TERMS)
    wall[:, 0] = foot + KNOTS_U * (rim - foot)
    values[N_WALL], values[LIP_AT] = height, LIP_MM
    return Form(values, np.asarray(foot_xy, float), np.asarray(rim_xy, float))


def prior(stiff: float = 1.0) -> tuple[np.ndarray, np.ndarray]:
    """Mean and inverse covariance of the values before anything is seen.

    Parameters
    ----------
    stiff : float
        How many times rounder the wall is held to be: a mask's handle must not become wall.
    """
    mean = start(START_HEIGHT_MM, START_RADIUS_MM, START_RADIUS_MM, (0, 0), (0, 0)).values
    info = np.zeros((N_FORM, N_FORM))
    apart = np.subtract.outer(KNOTS_U, KNOTS_U)
    middle = KNOTS_U - 0.5
    for term, order in enumerate(_order_of(HARMONICS)):
        whole, slope, bend = PRIOR_SD_MM[order]
        cov = whole**2 + slope**2 * np.outer(middle, middle)
        cov = cov + bend**2 * np.exp(-0.5 * (apart / BEND_LENGTH_U) ** 2)
        if order == 0:
            near = np.exp(-0.5 * ((1 - KNOTS_U) / LIP_SWELL_LENGTH_U) ** 2)
            cov = cov + LIP_SWELL_SD_MM**2 * np.outer(near, near)
        cov = cov + FREE_SD_MM**2 * np.eye(len(KNOTS_U))
        at = np.arange(len(KNOTS_U)) * TERMS + term
        info[np.ix_(at, at)] = np.linalg.inv(cov) * (stiff**2 if order > 1 else 1.0)
    for term, order in enumerate(_order_of(RIM_HARMONICS)):
        info[N_WALL + term, N_WALL + term] = 1 / RIM_PRIOR_SD_MM[order] ** 2
    info[LIP_AT, LIP_AT] = 1 / LIP_SD_MM**2
    return mean, info
