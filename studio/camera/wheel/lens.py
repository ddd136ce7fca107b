"""All cameras of a turned cup at once: photos of one phone share focal length and distortion.

A photo from straight above cannot tell how far the eye was from how long the lens is; the side
photos can, and the pooled lens takes its doubt away.
"""

from dataclasses import dataclass, replace

import numpy as np

from studio.camera import mat, pose
from studio.camera.wheel.seen_photo import SeenPhoto

N_PLACE, N_LENS = 6, 2  # small turn and shift; ln f and k1
ROUNDS = 8
DONE = 1e-7
_STEPS = np.array([1e-6] * 3 + [1e-4] * 3 + [1e-6, 1e-6])
OWN_LENS_SD = 5.0
"""A focal length this many standard deviations from the others' is another phone or zoom."""
FOCAL_MODEL_SD = 0.0005  # what a lens of two figures leaves out of its focal length, relative


@dataclass(frozen=True)
class Bundle:
    """Cameras solved together.

    Attributes
    ----------
    cameras : list of Camera
    lens_of : ndarray of int, shape (photos,)
        Which lens a photo was taken with.
    information : ndarray, shape (6 photos + 2 lenses, the same)
        Inverse covariance of the changes of all places, then of all lenses.
    """

    cameras: list
    lens_of: np.ndarray
    information: np.ndarray

    @property
    def n(self) -> int:
        return len(self.cameras)

    def columns(self, k: int) -> np.ndarray:
        """Where the eight unknowns of photo k lie in the vector of changes."""
        first, lens = N_PLACE * k, N_PLACE * self.n + N_LENS * int(self.lens_of[k])
        return np.r_[first : first + N_PLACE, lens : lens + N_LENS]

    def moved(self, change: np.ndarray) -> list:
        """The cameras after a change of the unknowns."""
        return [c.moved(change[self.columns(k)]) for k, c in enumerate(self.cameras)]


def bundle(looks: list[SeenPhoto], scale: float = 1.0) -> Bundle:
    """Solve all cameras of the looks (each with a camera of its own to start from)."""
    lens_of = _lenses(looks)
    cameras = _common_start(looks, lens_of)
    solved = Bundle(cameras, lens_of, np.zeros((0, 0)))
    size = N_PLACE * len(looks) + N_LENS * (int(lens_of.max()) + 1)
    for _ in range(ROUNDS):
        normal, slope = np.zeros((size, size)), np.zeros(size)
        for lens in range(int(lens_of.max()) + 1):
            _add_prior(normal, slope, looks, solved, lens)
        for k, view in enumerate(looks):
            jac, left = _corners(view, solved.cameras[k], scale)
            at = solved.columns(k)
            worth = 1 / max(float(left @ left) / max(len(left) - pose.N_POSE, 1), 1.0)
            normal[np.ix_(at, at)] += worth * jac.T @ jac
            slope[at] += worth * jac.T @ left
        step = np.linalg.solve(normal, slope)
        solved = Bundle(solved.moved(step), lens_of, normal)
        if np.abs(step).max() < DONE:
            break
    return solved


def _lenses(looks):
    """Group photos by picture size and what the file tells of the lens, outliers apart."""
    keys, out = {}, []
    for view in looks:
        key = (view.camera.size, view.f35_mm)
        out.append(keys.setdefault(key, len(keys)))
    out = np.array(out)
    log_f = np.array([np.log(v.camera.f_px) for v in looks])
    sd = np.array([np.hypot(v.camera.covariance[6, 6] ** 0.5, FOCAL_MODEL_SD) for v in looks])
    for lens in range(len(keys)):
        mine = np.nonzero(out == lens)[0]
        if len(mine) < 3:
            continue
        middle = _weighted_median(log_f[mine], 1 / sd[mine] ** 2)
        for k in mine[np.abs(log_f[mine] - middle) > OWN_LENS_SD * sd[mine]]:
            out[k] = out.max() + 1
    return out


def _weighted_median(values, weights):
    order = np.argsort(values)
    summed = np.cumsum(weights[order])
    return float(values[order][np.searchsorted(summed, summed[-1] / 2)])


def _common_start(looks, lens_of):
    cameras = [v.camera for v in looks]
    for lens in set(lens_of.tolist()):
        mine = np.nonzero(lens_of == lens)[0]
        best = min(mine, key=lambda k: cameras[k].covariance[6, 6])
        for k in mine:
            cameras[k] = _with_lens(cameras[k], cameras[best])
    return cameras


def _with_lens(camera, other):
    """Another's lens, the eye moved so that the sheet keeps its size in the picture."""
    ratio = other.f_px / camera.f_px
    shift = camera.shift_mm * np.array([1.0, 1.0, ratio])
    return replace(camera, f_px=other.f_px, k1=other.k1, shift_mm=shift)


def _add_prior(normal, slope, looks, solved, lens):
    """What the file tells of the focal length counts once for a lens, as does a plain lens."""
    k = int(np.nonzero(solved.lens_of == lens)[0][0])
    camera, f35 = solved.cameras[k], looks[k].f35_mm
    mean = pose.focal_px(f35 or pose.UNKNOWN_F35_MM, camera.size)
    sd = np.hypot(pose.F35_CONVENTION_SD, pose.F35_ROUNDING_MM / f35) if f35 else (
        pose.UNKNOWN_F35_LOG_SD
    )  # fmt: skip
    at_f, at_k1 = solved.columns(k)[N_PLACE:]
    normal[at_f, at_f] += 1 / sd**2
    slope[at_f] -= np.log(camera.f_px / mean) / sd**2
    normal[at_k1, at_k1] += 1 / pose.K1_SD**2
    slope[at_k1] -= camera.k1 / pose.K1_SD**2


def _corners(view, camera, scale):
    """Whitened derivative and misfit of the marker corners the camera stands on."""
    kept = [m for m in view.markers if m.id in camera.marker_ids]
    points = np.concatenate([mat.marker_corners(m.id, scale) for m in kept])
    seen = np.concatenate([m.corners for m in kept])

    def projected(one):
        return one.project(points).reshape(len(kept), 8)

    base = projected(camera)
    change = np.stack(
        [
            (projected(camera.moved(_STEPS[j] * np.eye(pose.N_POSE)[j])) - base) / _STEPS[j]
            for j in range(pose.N_POSE)
        ],
        -1,
    )
    left = seen.reshape(len(kept), 8) - base
    extra = pose.CORNER_MODEL_SD_PX**2 * np.eye(8)
    roots = [np.linalg.inv(np.linalg.cholesky(m.covariance + extra)) for m in kept]
    jac = np.concatenate([r @ c for r, c in zip(roots, change, strict=True)])
    return jac, np.concatenate([r @ row for r, row in zip(roots, left, strict=True)])
