"""Photos for print: upright, small enough, and without what a camera writes into them."""

from __future__ import annotations

import io
from collections.abc import Iterable

from PIL import Image as Picture
from PIL import ImageOps, UnidentifiedImageError
from reportlab.platypus import Image

LONGEST_SIDE_PX = 1100
"""Enough for 300 dots an inch at the largest size a photo is printed."""
QUALITY = 86
MOST_PHOTOS = 2


def readable(photos: Iterable[bytes]) -> list[bytes]:
    """The first two photos that can be read, made ready once for all trials of the layout."""
    ready = []
    for photo in photos:
        if len(ready) == MOST_PHOTOS:
            break
        prepared = _prepared(photo)
        if prepared is not None:
            ready.append(prepared)
    return ready


def _prepared(photo: bytes) -> bytes | None:
    try:
        with Picture.open(io.BytesIO(photo)) as opened:
            upright = ImageOps.exif_transpose(opened).convert("RGB")
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError):
        return None
    upright.thumbnail((LONGEST_SIDE_PX, LONGEST_SIDE_PX))
    written = io.BytesIO()
    upright.save(written, "JPEG", quality=QUALITY)
    return written.getvalue()


def placed(photo: bytes, width: float, height: float) -> Image:
    """A prepared photo as large as a frame allows, its proportions kept."""
    image = Image(io.BytesIO(photo))
    factor = min(width / image.imageWidth, height / image.imageHeight)
    image.drawWidth, image.drawHeight = image.imageWidth * factor, image.imageHeight * factor
    image.hAlign = "LEFT"
    return image
