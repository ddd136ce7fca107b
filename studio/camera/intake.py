"""The only door for picture files: bytes in, an upright sRGB array and two facts out.

Size in bytes and in pixels is checked before anything is decoded. Pillow and numpy alone.
"""

import io
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from PIL import ExifTags, Image, ImageOps, UnidentifiedImageError

try:  # HEIC is what some phones write; without the library those files are refused with a sentence
    from pillow_heif import register_heif_opener
except ImportError:
    HEIC_READABLE = False
else:
    register_heif_opener()
    HEIC_READABLE = True

MAX_BYTES = 40 * 1024 * 1024  # a 50-megapixel phone JPEG is about 25 MB
MAX_PIXELS = 64_000_000  # three bytes each: 192 MB in memory
MIN_SIDE_PX = 400  # a marker would be under 20 pixels
FORMATS = ("JPEG", "PNG", "WEBP", "TIFF", *(("HEIF",) if HEIC_READABLE else ()))  # JPEG brings MPO
F35_RANGE_MM = (8.0, 400.0)  # outside of it the tag is a slip, not a lens


class PhotoError(ValueError):
    """A photograph that cannot be read; the message is a sentence for the teacher."""


@dataclass(frozen=True)
class DecodedPhoto:
    """A decoded photograph.

    Attributes
    ----------
    name : str
    rgb : ndarray, shape (height, width, 3), uint8
        Upright, sRGB.
    f35_mm : float or None
        Focal length as the file's 35 mm equivalent [mm].
    taken_at : datetime or None
        Local time of the camera, without zone.
    """

    name: str
    rgb: np.ndarray
    f35_mm: float | None
    taken_at: datetime | None


def decode(name: str, data: bytes) -> DecodedPhoto:
    """Decode a picture file to an upright sRGB array.

    Parameters
    ----------
    name : str
        For the sentences only; not opened.
    data : bytes

    Raises
    ------
    PhotoError
        Empty, too large, not a picture, or damaged.
    """
    if not data:
        raise PhotoError(f"{name} is empty. Copy it from the camera again.")
    if len(data) > MAX_BYTES:
        raise PhotoError(
            f"{name} has {len(data) / 1e6:.0f} MB; up to {MAX_BYTES / 1e6:.0f} MB are read. "
            "Send a smaller version."
        )
    try:
        with Image.open(io.BytesIO(data), formats=FORMATS) as image:
            return _decoded(name, image)
    except (PhotoError, MemoryError):  # the latter is no fault of the file
        raise
    except (UnidentifiedImageError, Image.DecompressionBombError):
        raise PhotoError(
            f"{name} is not a picture that can be read. Save it as JPEG and try again."
        ) from None
    except Exception:  # a damaged file may raise nearly anything inside a decoder
        raise PhotoError(
            f"{name} is damaged and cannot be decoded. Copy it from the camera again."
        ) from None


def _decoded(name, image):
    width, height = image.size
    if width * height > MAX_PIXELS:
        raise PhotoError(
            f"{name} has {width * height / 1e6:.0f} megapixels; up to {MAX_PIXELS / 1e6:.0f} "
            "are read. Send a smaller version."
        )
    if min(width, height) < MIN_SIDE_PX:
        raise PhotoError(
            f"{name} is only {width} by {height} pixels: too small to measure on. "
            "Send the photo as the camera took it."
        )
    exif = image.getexif()
    f35, taken_at = _focal_and_time(exif)
    upright = ImageOps.exif_transpose(image).convert("RGB")
    return DecodedPhoto(name, np.ascontiguousarray(np.asarray(upright)), f35, taken_at)


def _focal_and_time(exif):
    detail = exif.get_ifd(ExifTags.IFD.Exif)
    raw = detail.get(ExifTags.Base.FocalLengthIn35mmFilm)
    try:
        f35 = float(raw)
    except (TypeError, ValueError, ZeroDivisionError):
        f35 = 0.0
    low, high = F35_RANGE_MM
    stamp = detail.get(ExifTags.Base.DateTimeOriginal) or exif.get(ExifTags.Base.DateTime)
    try:
        taken_at = datetime.strptime(str(stamp).strip("\0 "), "%Y:%m:%d %H:%M:%S")
    except ValueError:
        taken_at = None
    return (f35 if low <= f35 <= high else None), taken_at  # 0 means unknown (Exif 0xA405)
