"""One photograph of a turned cup made ready: markers, camera, slip, mask, linear light."""

from dataclasses import dataclass, replace

import cv2
import numpy as np

from studio.camera import edges, markers, outline, pose, slip
from studio.camera.intake import DecodedPhoto

WORK_SIDE_PX = 2000
"""A longer picture is reduced: relief and pose, not the pixel, limit what seven photos tell."""
LEAST_EYE_DEG = 4.0
_TOO_LOW = (
    "The camera looks along the paper, so sizes cannot be told. "
    "Hold it higher, looking 8 to 35 degrees down."
)
LUMINANCE = np.float32([0.2126, 0.7152, 0.0722])  # of linear sRGB, IEC 61966-2-1


@dataclass(frozen=True)
class SeenPhoto:
    """A photograph and what was seen in it before any cup is solved.

    Attributes
    ----------
    name : str
    markers : list of markers.Marker
    camera : Camera or None
        From this photo's markers alone.
    problem : str or None
        A sentence, where there is no camera.
    f35_mm : float or None
    code : str or None
        On the slip in the picture.
    silhouette : outline.Silhouette or None
    linear : ndarray, shape (h, w, 3), float32
    noise, blur_px : float
        Noise of a pixel in linear light; spread of an edge, from the markers.
    reduced : float
        File pixels per working pixel.
    size : (int, int)
        Of the file's picture [px].
    """

    name: str
    markers: list
    camera: pose.Camera | None
    problem: str | None = None
    f35_mm: float | None = None
    code: str | None = None
    silhouette: outline.Silhouette | None = None
    linear: np.ndarray | None = None
    noise: float = 0.0
    blur_px: float = 0.0
    reduced: float = 1.0
    size: tuple[int, int] = (0, 0)

    @property
    def from_above(self) -> bool:
        return self.camera is not None and eye_elevation_deg(self.camera) > outline.STEEP_DEG

    def at(self, camera: pose.Camera) -> "SeenPhoto":
        """The same photo through a better known camera."""
        return replace(self, camera=camera)


def look(photo: DecodedPhoto, scale: float = 1.0) -> SeenPhoto:
    """Find markers, camera, slip and mask.

    Parameters
    ----------
    photo : intake.Photo
    scale : float
        Printed over designed size of the mat.
    """
    rgb, reduced = _working_size(photo.rgb)
    grey = cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY)
    linear = markers.linear_light(rgb)
    found = markers.find_markers(grey, linear @ LUMINANCE)
    size = photo.rgb.shape[1::-1]
    try:
        # A wide lens shows the cup far below its axis: what counts is where the eye stands.
        camera = pose.solve(found, rgb.shape[1::-1], photo.f35_mm, scale, -90.0)
    except pose.PoseError as problem:
        return SeenPhoto(photo.name, found, None, str(problem), photo.f35_mm, size=size)
    if eye_elevation_deg(camera) < LEAST_EYE_DEG:
        return SeenPhoto(photo.name, found, None, _TOO_LOW, photo.f35_mm, size=size)
    return SeenPhoto(
        photo.name, found, camera, None, photo.f35_mm, slip.read_code(grey, camera),
        outline.separate(rgb, camera), linear, edges.pixel_noise(linear),
        float(np.median([m.blur_px for m in found])), reduced, size,
    )  # fmt: skip


def eye_elevation_deg(camera: pose.Camera) -> float:
    """How high the eye stands over the paper, seen from the mat's middle."""
    return float(np.degrees(np.arcsin(camera.position_mm[2] / camera.distance_mm)))


def _working_size(rgb):
    """The picture to work on and by how much it was reduced, by whole factors, cut evenly."""
    factor = int(np.ceil(max(rgb.shape[:2]) / WORK_SIDE_PX))
    if factor == 1:
        return rgb, 1.0
    h, w = (n // factor * factor for n in rgb.shape[:2])
    y, x = ((n - m) // 2 for n, m in zip(rgb.shape[:2], (h, w), strict=True))
    cut = rgb[y : y + h, x : x + w]
    small = cv2.resize(cut, (w // factor, h // factor), interpolation=cv2.INTER_AREA)
    return small, float(factor)
