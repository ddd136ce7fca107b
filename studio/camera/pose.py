"""Where the camera stood: pose, focal length and first radial distortion from the mat's markers.

Corners carry covariances; Exif's focal length and a plain lens are priors, never facts. The
covariance of the solution goes with it, so that every measure can be moved along with the camera.
"""

from dataclasses import dataclass, replace

import cv2
import numpy as np

from studio.camera import mat
from studio.camera.markers import Marker

FULL_FRAME_DIAGONAL_MM = 43.266615  # 36 x 24 mm; CIPA DCG-001 takes the diagonal
F35_ROUNDING_MM = 0.29  # the tag holds whole millimetres: 1 / sqrt(12)
F35_CONVENTION_SD = (
    0.01  # makers' nominal values against what the lens does; common practice, no source
)
UNKNOWN_F35_MM = 35.0
UNKNOWN_F35_LOG_SD = 0.5  # 13 to 95 mm as 2 sd: any phone
START_F35_MM = (20.0, 26.0, 35.0, 52.0, 75.0)
K1_SD = (
    0.06  # phones correct their pictures; what is left bends the corners by a few pixels at most
)
# Of the longer side: a lens is centred better than that, with its stabiliser (common practice, no
# source); a picture whose corners ask for more was cropped or pulled into shape.
AXIS_SHARE, AXIS_SIGNAL = 0.02, 4.0
MIN_MARKERS = 4
CORNER_MODEL_SD_PX = 0.015  # paper and print are not perfect
SUSPECT_PX = 0.25  # of a 1600-pixel-wide picture; sound ones stay under 0.1
MENDED_SHARE = 0.6
MAX_REPROJECTION_PX = 1.5  # of a 1600-pixel-wide picture
MIN_ELEVATION_DEG = 4.0
N_POSE = 8  # small turn (3), shift (3), log focal length, k1


class PoseError(ValueError):
    """The camera's place cannot be told; the message is a sentence for the teacher."""


@dataclass(frozen=True)
class Camera:
    """A solved camera: mat coordinates to pixels.

    Attributes
    ----------
    size : (int, int)
        Width and height [px].
    f_px : float
        Focal length [px].
    k1 : float
        First radial distortion coefficient (Brown), 0 for none.
    rotation : ndarray, shape (3, 3)
    shift_mm : ndarray, shape (3,)
        x_camera = rotation @ x_mat + shift.
    covariance : ndarray, shape (8, 8)
        Of a small turn (rad, applied on the left of the rotation), the shift [mm], ln f, k1.
    reprojection_px : float
        Root mean square over the corners' coordinates.
    marker_ids : tuple of int
        The markers the solution stands on.
    off_axis : bool
        Whether the corners contradict an optical axis in the picture's middle.
    """

    size: tuple[int, int]
    f_px: float
    k1: float
    rotation: np.ndarray
    shift_mm: np.ndarray
    covariance: np.ndarray
    reprojection_px: float = 0.0
    marker_ids: tuple[int, ...] = ()
    off_axis: bool = False

    @property
    def centre_px(self) -> np.ndarray:
        """The optical axis: the middle of the picture."""
        return (np.array(self.size) - 1) / 2

    @property
    def position_mm(self) -> np.ndarray:
        """The eye in mat coordinates, shape (3,)."""
        return -self.rotation.T @ self.shift_mm

    @property
    def axis(self) -> np.ndarray:
        """Unit vector of the optical axis in mat coordinates."""
        return self.rotation[2]

    @property
    def distance_mm(self) -> float:
        """From the eye to the origin of the mat."""
        return float(np.linalg.norm(self.shift_mm))

    @property
    def elevation_deg(self) -> float:
        """How far down the camera looks: the optical axis against the paper's plane."""
        return float(np.degrees(np.arcsin(np.clip(-self.axis[2], -1, 1))))

    @property
    def azimuth_deg(self) -> float:
        """Where the eye stands around the origin, 0..360."""
        return float(np.degrees(np.arctan2(self.position_mm[1], self.position_mm[0])) % 360)

    @property
    def view_right(self) -> np.ndarray:
        """Horizontal unit vector across the view, to the right; shape (3,)."""
        across = np.array([-self.axis[1], self.axis[0], 0.0])
        if np.linalg.norm(across) < 1e-6:  # straight down: the picture's own right
            across = np.array([self.rotation[0, 0], self.rotation[0, 1], 0.0])
            return across / np.linalg.norm(across)
        return -across / np.linalg.norm(across)

    def project(self, points_mm: np.ndarray) -> np.ndarray:
        """Mat coordinates, shape (..., 3), to pixels, shape (..., 2)."""
        local = points_mm @ self.rotation.T + self.shift_mm
        xy = local[..., :2] / local[..., 2:]
        r2 = (xy * xy).sum(-1, keepdims=True)
        return self.f_px * xy * (1 + self.k1 * r2) + self.centre_px

    def rays(self, pixels: np.ndarray) -> np.ndarray:
        """Unit directions in mat coordinates through pixels, shape (..., 2) to (..., 3)."""
        bent = (np.asarray(pixels, float) - self.centre_px) / self.f_px
        xy = bent.copy()
        for _ in range(6):  # the bend is a few per cent, so each round gains more than a digit
            xy = bent / (1 + self.k1 * (xy * xy).sum(-1, keepdims=True))
        local = np.concatenate([xy, np.ones((*xy.shape[:-1], 1))], -1)
        out = local @ self.rotation
        return out / np.linalg.norm(out, axis=-1, keepdims=True)

    def on_plane(self, pixels: np.ndarray, z_mm: float = 0.0) -> np.ndarray:
        """Where the rays through pixels meet the level z; shape (..., 3), mm."""
        rays = self.rays(pixels)
        eye = self.position_mm
        return eye + rays * ((z_mm - eye[2]) / rays[..., 2:])

    def moved(self, delta: np.ndarray) -> "Camera":
        """The camera with its eight unknowns changed by `delta`, in the covariance's order."""
        return replace(
            self,
            rotation=cv2.Rodrigues(np.asarray(delta[:3], float))[0] @ self.rotation,
            shift_mm=self.shift_mm + delta[3:6],
            f_px=float(self.f_px * np.exp(delta[6])),
            k1=float(self.k1 + delta[7]),
        )


def focal_px(f35_mm: float, size: tuple[int, int]) -> float:
    """Focal length in pixels from its 35 mm equivalent, by the diagonal (CIPA DCG-001)."""
    return f35_mm / FULL_FRAME_DIAGONAL_MM * float(np.hypot(*size))


def solve(
    markers: list[Marker],
    size: tuple[int, int],
    f35_mm: float | None = None,
    scale: float = 1.0,
    least_elevation_deg: float = MIN_ELEVATION_DEG,
) -> Camera:
    """Pose, focal length and distortion from refined markers.

    Parameters
    ----------
    markers : list of Marker
    size : (int, int)
        Width and height of the picture [px].
    f35_mm : float or None
        Exif's focal length; a prior of about 1 %. None lets the slant of the sheet tell it.
    scale : float
        Printed over designed size of the mat.
    least_elevation_deg : float
        The optical axis must look down by this much.

    Returns
    -------
    Camera

    Raises
    ------
    PoseError
        Under four markers, or corners that do not lie as on the printed sheet.
    """
    if len(markers) < MIN_MARKERS:
        seen = {0: "none is", 1: "only one is"}.get(len(markers), f"only {len(markers)} are")
        raise PoseError(
            f"Of the mat's twelve markers {seen} seen whole; at least {MIN_MARKERS} are needed. "
            "Take the photo again with more of the sheet in the picture and nothing on the markers."
        )
    kept = list(markers)
    camera = _solve_kept(kept, size, f35_mm, scale)
    while camera.reprojection_px > SUSPECT_PX * max(size) / 1600 and len(kept) > MIN_MARKERS:
        # One wrong marker bends the solution for all: leave each out in turn and see what it mends.
        without = [kept[:k] + kept[k + 1 :] for k in range(len(kept))]
        trials = [_solve_kept(rest, size, f35_mm, scale) for rest in without]
        best = int(np.argmin([t.reprojection_px for t in trials]))
        if trials[best].reprojection_px > MENDED_SHARE * camera.reprojection_px:
            break
        kept, camera = without[best], trials[best]
    if camera.reprojection_px > MAX_REPROJECTION_PX * max(size) / 1600:
        raise PoseError(_NOT_FLAT)
    if camera.elevation_deg < least_elevation_deg:
        raise PoseError(
            "The camera looks along the paper, so sizes cannot be told. "
            "Hold it higher, looking 8 to 35 degrees down."
        )
    return camera


_NOT_FLAT = (
    "The markers do not lie as on the printed mat: the sheet is bent, cut, or not ours. "
    "Tape it flat and take the photo again."
)


def _solve_kept(markers, size, f35_mm, scale):
    """The solution from these markers."""
    points = np.concatenate([mat.marker_corners(m.id, scale) for m in markers])
    seen = np.concatenate([m.corners for m in markers])
    roots = [
        np.linalg.inv(np.linalg.cholesky(m.covariance + CORNER_MODEL_SD_PX**2 * np.eye(8)))
        for m in markers
    ]
    f_prior, f_sd = _focal_prior(f35_mm, size)
    start = _start(points, seen, size, f35_mm)
    prior_sd = np.array([1e3, 1e3, 1e3, 1e6, 1e6, 1e6, f_sd, K1_SD])

    def residuals(camera, axis_px=(0.0, 0.0)):
        r = (seen - camera.project(points) - axis_px).reshape(len(markers), 8)
        return np.concatenate([root @ row for root, row in zip(roots, r, strict=True)])

    def priors(camera):
        out = np.zeros(N_POSE)
        out[6], out[7] = np.log(camera.f_px / f_prior) / f_sd, camera.k1 / K1_SD
        return out

    camera, normal, r = _levenberg(start, residuals, priors, prior_sd)
    chi2 = r @ r / max(len(r) - N_POSE, 1)
    # Misfit widens what the corners say; the priors keep their weight.
    prior = np.diag(1 / prior_sd**2)
    covariance = np.linalg.inv((normal - prior) / max(chi2, 1.0) + prior)
    misfit = seen - camera.project(points)
    return replace(
        camera,
        covariance=covariance,
        reprojection_px=float(np.sqrt((misfit**2).mean())),
        marker_ids=tuple(m.id for m in markers),
        off_axis=_off_axis(camera, residuals, r, prior_sd, max(chi2, 1.0)),
    )


def _off_axis(camera, residuals, r, prior_sd, chi2):
    """Whether the corners say clearly that the optical axis is not in the picture's middle.

    It is taken to be there; a picture that was cropped to one side or pulled into shape has it
    elsewhere, and then heights above the paper are wrong though the paper itself fits.
    """
    jac = np.stack([(residuals(camera.moved(h)) - r) / h.sum() for h in np.diag(_STEPS)], 1)
    aside = np.stack([residuals(camera, shift) - r for shift in np.eye(2)], 1)
    # What a shift of one pixel changes that no other pose answers, by least squares: a difference
    # of normal matrices loses it where the lens is long and the two are nearly the same.
    scaled = np.vstack([jac * prior_sd, np.eye(N_POSE)])
    padded = np.vstack([aside, np.zeros((N_POSE, 2))])
    answer = np.linalg.lstsq(scaled, padded, rcond=None)[0]
    left = (padded - scaled @ answer)[: len(r)]
    own = left.T @ left + np.eye(2) / max(camera.size) ** 2
    wished = -np.linalg.solve(own, left.T @ r)
    sd = np.sqrt(np.diag(np.linalg.inv(own)) * chi2)
    far = np.abs(wished) > AXIS_SHARE * max(camera.size)
    return bool((far & (np.abs(wished) > AXIS_SIGNAL * sd)).any())


def _focal_prior(f35_mm, size):
    if f35_mm is None:
        return focal_px(UNKNOWN_F35_MM, size), UNKNOWN_F35_LOG_SD
    return focal_px(f35_mm, size), float(np.hypot(F35_CONVENTION_SD, F35_ROUNDING_MM / f35_mm))


def _start(points, seen, size, f35_mm):
    """The best of the planar poses (IPPE, both candidates) over one or several focal lengths."""
    centre = (np.array(size) - 1) / 2
    best = None
    for f35 in (f35_mm,) if f35_mm else START_F35_MM:
        f = focal_px(f35, size)
        k = np.array([[f, 0, centre[0]], [0, f, centre[1]], [0, 0, 1]])
        # IPPE answers not-a-number for a view here and there; SQPnP then finds the pose.
        for method in (cv2.SOLVEPNP_IPPE, cv2.SOLVEPNP_SQPNP):
            ok, turns, shifts, errors = cv2.solvePnPGeneric(points, seen, k, None, flags=method)
            errors = np.ravel(errors) if ok else np.array([np.nan])
            if np.isfinite(errors).all():
                break
        else:
            continue
        for turn, shift, error in zip(turns, shifts, errors, strict=True):
            rotation = cv2.Rodrigues(turn)[0]
            if (-rotation.T @ shift)[2] > 0 and (best is None or error < best[0]):
                best = error, f, rotation, shift.ravel()
    if best is None:
        raise PoseError(_NOT_FLAT)
    return Camera(size, best[1], 0.0, best[2], best[3], np.eye(N_POSE))


_STEPS = np.array([1e-6] * 3 + [1e-4] * 3 + [1e-6, 1e-6])


def _levenberg(camera, residuals, priors, prior_sd):
    """Damped Gauss-Newton over the eight unknowns; camera, normal matrix, residuals."""
    damping = 1e-4
    r, p = residuals(camera), priors(camera)
    cost = r @ r + p @ p
    for _ in range(60):
        jac = np.stack(
            [
                (residuals(camera.moved(_STEPS[k] * np.eye(N_POSE)[k])) - r) / _STEPS[k]
                for k in range(N_POSE)
            ],
            1,
        )
        normal = jac.T @ jac + np.diag(1 / prior_sd**2)
        slope = jac.T @ r + p / prior_sd
        gained = 0.0
        while damping < 1e8:
            step = -np.linalg.solve(normal + damping * np.diag(np.diag(normal)), slope)
            trial = camera.moved(step)
            tr, tp = residuals(trial), priors(trial)
            new = tr @ tr + tp @ tp
            if new < cost:
                gained = cost - new
                camera, r, p, cost = trial, tr, tp, new
                damping = max(damping / 10, 1e-9)
                break
            damping *= 10
        if gained < 1e-9 * (1 + cost):
            break
        damping = min(damping, 1.0)
    return camera, normal, r
