"""Photos at the size they are printed: upright, 200 dots an inch, in colour or grey."""

from __future__ import annotations

import io
from dataclasses import dataclass

from PIL import Image as Opened
from PIL import ImageOps, UnidentifiedImageError
from reportlab.lib.colors import HexColor
from reportlab.lib.utils import ImageReader
from reportlab.platypus import Flowable

from ..palette import EDGE

DOTS_AN_INCH = 200
POINTS_AN_INCH = 72.0
QUALITY = 80
FRAME = 0.5
"""Line round a photo, so that a pale cup on a pale table keeps its edge in a copier. [pt]"""
GAP_FACTOR = 2.0
"""How coarsely Pillow may shrink before it resamples; twice the size loses nothing to the eye."""


@dataclass(slots=True)
class OpenedPhoto:
    """A file that opened, how large its part to print is upright [px], and which part that is."""

    opened: Opened.Image
    width: float
    height: float
    window: tuple[float, float, float, float]


WHOLE = (0.0, 0.0, 1.0, 1.0)


def opened(
    file: bytes, window: tuple[float, float, float, float] | None = None
) -> OpenedPhoto | None:
    """A photo, or the ``window`` of it, to print; None where the file cannot be read.

    ``window`` is left, top, right, bottom as shares of the upright photo.
    """
    try:
        image = Opened.open(io.BytesIO(file))
        turned = image.getexif().get(0x0112, 1) in (5, 6, 7, 8)
        width, height = image.size[::-1] if turned else image.size
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError):
        return None
    if not (width and height):
        return None
    left, top, right, bottom = window = window or WHOLE
    return OpenedPhoto(image, width * (right - left), height * (bottom - top), window)


class Print(Flowable):
    """One photo, as large as a frame allows, its proportions kept."""

    def __init__(
        self, photo: OpenedPhoto, width: float, height: float, *, grey: bool = False
    ) -> None:
        super().__init__()
        factor = min(width / photo.width, height / photo.height)
        self.photo, self.grey = photo, grey
        self.width, self.height = photo.width * factor, photo.height * factor
        self.failed = False

    def wrap(self, _room: float, _height: float = 0.0) -> tuple[float, float]:
        return self.width, self.height

    def draw(self) -> None:
        file = self._file()
        if file is not None:
            self.canv.drawImage(ImageReader(file), 0, 0, self.width, self.height)
        self.canv.setDash()
        self.canv.setLineWidth(FRAME)
        self.canv.setStrokeColor(HexColor(EDGE))
        self.canv.rect(0, 0, self.width, self.height)

    def _file(self) -> io.BytesIO | None:
        """The photo at its size on paper, without what a camera writes into it."""
        size = [
            max(1, round(side / POINTS_AN_INCH * DOTS_AN_INCH))
            for side in (self.width, self.height)
        ]
        mode = "L" if self.grey else "RGB"
        image = self.photo.opened
        try:
            left, top, right, bottom = self.photo.window
            least = max(size) / min(right - left, bottom - top)
            image.draft(mode, (round(least), round(least)))
            upright = ImageOps.exif_transpose(image).convert(mode)
            wide, high = upright.size
            if self.photo.window != WHOLE:
                upright = upright.crop(
                    (
                        round(left * wide),
                        round(top * high),
                        round(right * wide),
                        round(bottom * high),
                    )
                )
        except (OSError, ValueError, SyntaxError):
            return None
        if upright.width > size[0]:
            upright = upright.resize(size, Opened.Resampling.LANCZOS, reducing_gap=GAP_FACTOR)
        written = io.BytesIO()
        upright.save(written, "JPEG", quality=QUALITY)
        written.seek(0)
        return written
