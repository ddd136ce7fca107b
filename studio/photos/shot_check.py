"""Whether a photo that was just taken will do, told before the next cup is set on the mat.

A light look at a reduced picture: markers, sharpness, exposure, the cup whole, the slip. No size
is measured here. No database.
"""

from __future__ import annotations

import io
from dataclasses import dataclass

import cv2
import numpy as np
from PIL import Image, ImageOps, UnidentifiedImageError

from studio.camera import markers, mat, outline, pose, slip
from studio.camera.intake import F35_RANGE_MM, MAX_PIXELS, PhotoError

LOOK_PX = 1600
"""Longest side of the picture looked at: markers of a photo taken as the mat says have 40 px and
more there, and the whole look stays under a second."""
ENOUGH_MARKERS = 4
"""The mat's own terms."""
SIDE_DEG, TOP_FROM_DEG = (5.0, 40.0), 60.0
"""A side view looks 8 to 35 degrees down and a top view 65 or more (the mat's terms); a little
beyond does no harm."""
SHARP_SHARE = 0.35
"""Least `sharpness`. 62 sharp rendered photos have 0.43 to 8.7; the same moved by 9 px of 1600 in
any direction have 0.30 at most, and blurred by a Gaussian of 2 px 0.24. Not tried on real ones."""
REFERENCE_BLUR_PX = 0.6
"""What a sharp photo's edges are spread by, the pixel's own box included."""
BURNT, BURNT_SHARE = 253, 0.5
DIM = 70
"""Grey levels 0 to 255 on the sheet: more than half of it burnt out loses edges in white; a sheet
whose bright parts stay under 70 leaves noise (common practice, no source)."""
EDGE_PX = 2.0
"""A cup whose outline comes so near to the picture's edge is taken as cut off."""


@dataclass(frozen=True, slots=True)
class Shot:
    """What the look found.

    ``advice`` holds the sentences on what to change, the most urgent first; none means that the
    photo will do. ``hints`` are worth knowing and stop nothing. ``sharpness`` is None without
    markers.
    """

    markers: int = 0
    view: str = ""
    code: str = ""
    sharpness: float | None = None
    bright: int = 0
    burnt: float = 0.0
    cup_whole: bool | None = None
    advice: tuple[str, ...] = ()
    hints: tuple[str, ...] = ()

    @property
    def will_do(self) -> bool:
        return not self.advice


def look(data: bytes, name: str = "The photo") -> tuple[np.ndarray, float | None]:
    """A picture file, reduced while it is decoded: RGB upright, and the 35 mm focal length.

    Raises
    ------
    PhotoError
        Not a picture, too many pixels, or damaged.
    """
    try:
        with Image.open(io.BytesIO(data), formats=("JPEG", "PNG", "WEBP", "HEIF")) as image:
            if image.width * image.height > MAX_PIXELS:
                raise PhotoError(f"{name} has too many pixels. Send a smaller version.")
            focal = _focal(image)
            image.draft("RGB", (LOOK_PX, LOOK_PX))  # a JPEG is decoded at a half or a quarter
            upright = ImageOps.exif_transpose(image).convert("RGB")
    except PhotoError:
        raise
    except UnidentifiedImageError:
        raise PhotoError(f"{name} is not a picture that can be read. Take it again.") from None
    except Exception:  # a damaged file may raise nearly anything inside a decoder
        raise PhotoError(f"{name} was cut off on the way. Take it again.") from None
    rgb = np.asarray(upright)
    share = LOOK_PX / max(rgb.shape[:2])
    if share < 1:
        size = tuple(round(n * share) for n in rgb.shape[1::-1])
        rgb = cv2.resize(rgb, size, interpolation=cv2.INTER_AREA)
    return rgb, focal


def _focal(image) -> float | None:
    try:
        focal = float(image.getexif().get_ifd(0x8769).get(0xA405))
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    return focal if F35_RANGE_MM[0] <= focal <= F35_RANGE_MM[1] else None


def check(
    rgb: np.ndarray, focal_35mm: float | None = None, *, wanted: str = "", code: str = ""
) -> Shot:
    """Look at a photo.

    Parameters
    ----------
    rgb : ndarray, shape (h, w, 3), uint8
        As `look` gives it.
    wanted : str, optional
        "side" or "top", where one of them is asked for.
    code : str, optional
        Of the piece that is expected.
    """
    grey = cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY)
    seen = markers.find_markers(grey, markers.linear_light(grey))
    bright, burnt = _exposure(grey, seen)
    sharp = sharpness(grey, seen) if seen else None
    advice = _light(bright, burnt)
    if sharp is not None and sharp < SHARP_SHARE:
        advice.append(BLURRED)
    if len(seen) < ENOUGH_MARKERS:
        # In a blurred picture markers are lost by the blur: that is the cause to tell.
        advice += [] if BLURRED in advice else [_too_few(len(seen))]
        return Shot(len(seen), sharpness=sharp, bright=bright, burnt=burnt, advice=tuple(advice))
    try:
        camera = pose.solve(seen, rgb.shape[1::-1], focal_35mm, 1.0)
    except pose.PoseError as error:
        advice.append(str(error))
        return Shot(len(seen), "", "", sharp, bright, burnt, None, tuple(advice))
    view, turned = _view(camera.elevation_deg, wanted)
    whole = cup_whole(rgb, camera)
    read = slip.read_code(grey, camera) or ""
    advice += [*turned, *([] if whole else [CUT_OFF])]
    if code and read and read.casefold() != code.casefold():
        advice.append(
            f"The slip says {read}, but {code} is next. Change the slip or the cup, "
            f"or choose {read}."
        )
    hints = () if read else (f"{NO_SLIP} It is filed under {code}." if code else NO_SLIP,)
    return Shot(len(seen), view, read, sharp, bright, burnt, whole, tuple(advice), hints)


BLURRED = (
    "The photo is blurred. Hold the phone still or rest it on something, and tap the cup to focus."
)
CUT_OFF = "The cup is cut off at the picture's edge. Step back until all of it is in the picture."
FROM_ABOVE = "This is a view from above; one from the side is next."
NO_SLIP = "No slip was read."
DARK = "The photo is too dark. Bring more light to the table, not from behind the cup."
BRIGHT = "The sheet is burnt out to white. Take the lamp further away or tap on the sheet."


def _too_few(count: int) -> str:
    if not count:
        return "The mat was not found. Get all of it into the picture, hold still and tap to focus."
    many = "marker is" if count == 1 else "markers are"
    return (
        f"Only {count} {many} seen whole; {ENOUGH_MARKERS} are needed. Clear the sheet, avoid "
        "glare on it, and get all of it into the picture."
    )


def _light(bright: int, burnt: float) -> list[str]:
    if bright < DIM:
        return [DARK]
    return [BRIGHT] if burnt > BURNT_SHARE else []


def _exposure(grey: np.ndarray, seen) -> tuple[int, float]:
    """The 95th percentile of grey and the share burnt out, on the sheet where it is seen."""
    part = grey
    if seen:
        corners = np.concatenate([m.corners for m in seen])
        (x0, y0), (x1, y1) = (
            np.floor(corners.min(0)).astype(int),
            np.ceil(corners.max(0)).astype(int),
        )
        part = grey[max(y0, 0) : y1 + 1, max(x0, 0) : x1 + 1]
    histogram = np.bincount(part.ravel(), minlength=256)
    below = np.cumsum(histogram) / part.size
    return int(np.searchsorted(below, 0.95)), float(histogram[BURNT:].sum() / part.size)


def sharpness(grey: np.ndarray, seen) -> float:
    """Variance of the Laplacian over the markers, as a share of what a sharp print would give.

    Its two terms, across and down, are taken apart and the lesser counts: a phone that moved blurs
    one way only.

    The pattern is known, so the same markers are drawn as a sharp camera sees them from there:
    size, slant and contrast then drop out. The median over the markers. About 1 is sharp.
    """
    shares = []
    for marker in seen:
        low = np.floor(marker.corners.min(0)).astype(int) - 2
        high = np.ceil(marker.corners.max(0)).astype(int) + 3
        x0, y0 = np.maximum(low, 0)
        window = grey[y0 : high[1], x0 : high[0]].astype(np.float32)
        drawn = _drawn(marker, (x0, y0), window.shape)
        ink, paper = np.percentile(window, (5, 95))
        axes = [
            cv2.Sobel(window, cv2.CV_32F, *axis).var()
            / max(cv2.Sobel(drawn, cv2.CV_32F, *axis).var() * (paper - ink) ** 2, TINY)
            for axis in ((2, 0), (0, 2))
        ]
        shares.append(min(axes))
    return float(np.median(shares)) if shares else 0.0


TINY = 1e-6
"""Of a drawing without an edge, which no marker is: keeps a quotient finite."""
CELL_PX, FINE = 8, 4
"""Pixels of a cell in the drawing, and how much finer than the picture it is laid down first."""


def _drawn(marker, origin, shape) -> np.ndarray:
    """The marker as a sharp camera sees it from there, ink 0 and paper 1."""
    cells = np.pad(mat.marker_cells(marker.id), 1, constant_values=1.0)
    pattern = np.kron(cells, np.ones((CELL_PX, CELL_PX))).astype(np.float32)
    inner = np.float32([[1, 1], [7, 1], [7, 7], [1, 7]]) * CELL_PX - 0.5
    place = (marker.corners - origin + 0.5) * FINE - 0.5
    to_picture = cv2.getPerspectiveTransform(inner, place.astype(np.float32))
    size = (shape[1] * FINE, shape[0] * FINE)
    fine = cv2.warpPerspective(pattern, to_picture, size, borderValue=1.0)
    fine = cv2.GaussianBlur(fine, (0, 0), REFERENCE_BLUR_PX * FINE)
    return cv2.resize(fine, shape[::-1], interpolation=cv2.INTER_AREA)


def _view(elevation_deg: float, wanted: str) -> tuple[str, list[str]]:
    """The view that a pose means, and what to change for the one that is wanted."""
    if elevation_deg >= TOP_FROM_DEG:
        turned = (
            ["This is a view from above; one from the side is next."] if wanted == "side" else []
        )
        return "top", turned
    low, high = SIDE_DEG
    if wanted == "top":
        return "side", ["Look more steeply down: 65 degrees or more, nearly straight from above."]
    if elevation_deg > high:
        return "side", ["Lower the phone: a side view looks 8 to 35 degrees down."]
    if elevation_deg < low:
        return "side", ["Raise the phone a little: a side view looks 8 to 35 degrees down."]
    return "side", []


def cup_whole(rgb: np.ndarray, camera: pose.Camera) -> bool:
    """Whether the piece keeps clear of the picture's edges."""
    cup = outline.separate(rgb, camera)
    rows, columns = np.nonzero(cup.body | cup.handle)
    if not len(rows):
        return True  # nothing stood out: that is the measuring's to tell
    where = np.stack([columns, rows], 1) * cup.step + np.asarray(cup.origin)
    low, high = where.min(0), where.max(0) + cup.step
    edge = np.array(rgb.shape[1::-1]) - EDGE_PX
    return bool((low > EDGE_PX).all() and (high < edge).all())
