"""What the fit takes and gives: a view, its traced outline, the solution over all views."""

from dataclasses import dataclass, field

import numpy as np

from studio.camera import cup
from studio.camera.outline import Silhouette
from studio.camera.pose import Camera

N_PLACE = 3  # shift x, y [mm], turn [rad] of a piece that was moved between two photos


@dataclass(frozen=True)
class View:
    """One photograph ready for the fit.

    Attributes
    ----------
    name : str
    camera : Camera
    linear : ndarray, shape (h, w, 3), float32
        Linear light, 0 to 1.
    silhouette : Silhouette
    noise : float
        Of a pixel, linear light.
    blur_px : float
        Spread of an edge, from the markers.
    printed : ndarray of bool, shape (h, w)
        Edges of the mat's own printing, thickened.
    """

    name: str
    camera: Camera
    linear: np.ndarray
    silhouette: Silhouette
    noise: float
    blur_px: float
    printed: np.ndarray

    def on_print(self, pixels: np.ndarray) -> np.ndarray:
        """Which places of the picture, shape (n, 2), lie on edges of the mat's printing."""
        at = np.round(pixels).astype(int)
        h, w = self.printed.shape
        return self.printed[np.clip(at[:, 1], 0, h - 1), np.clip(at[:, 0], 0, w - 1)]


@dataclass(frozen=True)
class Traced:
    """A view's outline points after the fit, with the edges found at them."""

    line: cup.Contour
    camera: Camera
    offset_px: np.ndarray
    snr: np.ndarray
    contrast: np.ndarray
    weight: np.ndarray
    px_per_mm: np.ndarray
    hidden: np.ndarray


@dataclass(frozen=True)
class Solution:
    """Shape, placements and cameras with their joint covariance.

    Attributes
    ----------
    shape : ndarray, shape (N_SHAPE,)
    places : list of ndarray, shape (3,)
        Of each view after the first; zero when the piece stayed.
    cameras : list of Camera
    covariance : ndarray
        Shape, then places, then camera changes, in this order.
    traced : list of Traced
    views : list of View
        As given, with the silhouettes split anew by the shape.
    moved : bool
        Whether the piece was found to have been moved between the photos.
    rim_gaps : list of (float, float)
        How far outside of the side views' rim each top view shows it, and the standard
        uncertainty [mm].
    """

    shape: np.ndarray
    places: list
    cameras: list
    covariance: np.ndarray
    traced: list = field(default_factory=list)
    views: list = field(default_factory=list)
    moved: bool = False
    rim_gaps: list = field(default_factory=list)

    def grid(self, k: int, shape: np.ndarray | None = None) -> np.ndarray:
        """Surface as it stood in view k, mat coordinates [mm]."""
        return place(cup.surface(self.shape if shape is None else shape), self.places[k])


def place(grid: np.ndarray, placement: np.ndarray) -> np.ndarray:
    """A surface turned about the origin and shifted on the mat."""
    c, s = np.cos(placement[2]), np.sin(placement[2])
    turn = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])
    return grid @ turn.T + np.array([placement[0], placement[1], 0.0])
