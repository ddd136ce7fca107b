"""Storing photographs: bytes are checked, turned upright, stripped and kept in three sizes.

What leaves ``take_in`` carries no tag at all: neither place nor camera. The two facts that the
measuring needs, when it was taken and the focal length, go into the record instead.
"""

import contextlib
import hashlib
import io
import logging
import os
import uuid
from dataclasses import dataclass
from datetime import datetime
from pathlib import PurePath

from django.core.files.base import ContentFile
from django.db import IntegrityError, transaction
from django.utils import timezone
from PIL import ExifTags, Image, ImageCms, ImageOps, UnidentifiedImageError

# Imported also because it teaches Pillow to read HEIC where the library is there.
from studio.camera.intake import F35_RANGE_MM, MAX_BYTES, MAX_PIXELS, PhotoError
from studio.models import Photo, Piece, Section
from studio.models.photos import MIDDLE_PX, SMALL_PX
from studio.photos import mats
from studio.photos.decoding_turns import turn

# A JPEG with companions is opened as JPEG too and calls itself MPO afterwards.
FORMATS = ("JPEG", "PNG", "WEBP", "HEIF")
# MPO and HEIF hold one photograph and its companions (depth, gain map); the first is the photo.
FORMATS_WITH_COMPANIONS = ("MPO", "HEIF")
# 90 leaves edges as the measuring needs them; a screen does not see 82 [JPEG quality of Pillow].
FULL_QUALITY, DISPLAY_QUALITY = 90, 82
LONGEST_SIDE_PX = 20_000
MEGA = 1_000_000
FIRST_YEAR, LAST_YEAR = 1980, 2200
"""Of a camera's clock; outside it was never set, and the photo counts as without a time."""
FEWEST_BYTES_PER_MEGAPIXEL = 2000
"""A JPEG of one even grey has 14 000. What packs far smaller was drawn by a rule, not photographed,
and such patterns cost the search for markers minutes."""
FEW_PIXELS = MEGA // 4
"""So small that whatever it shows costs nothing."""


CANNOT_WRITE = (
    "The site could not keep this photo: its disk is full, or the folder of the photographs cannot "
    "be written. Nothing was kept of it; keep it on the phone and tell whoever runs the site."
)
CANNOT_REMOVE = (
    "The photo was not taken away: the folder of the photographs cannot be written at present. "
    "Tell whoever runs the site, and try again."
)


class SamePhotoError(PhotoError):
    """The photo is in the section already, with another piece; ``photo`` is that record."""

    def __init__(self, sentence: str, photo: Photo):
        super().__init__(sentence)
        self.photo = photo


@dataclass(frozen=True, slots=True)
class Prepared:
    """A photograph ready to be kept: three JPEGs without a tag, and what is known of it.

    ``width`` and ``height`` [px] are those of ``full``, upright. ``sha256`` is of the bytes as
    they came in. ``taken_at`` knows its time zone; ``focal_35mm`` [mm] is None where not told.
    """

    full: bytes
    middle: bytes
    small: bytes
    width: int
    height: int
    sha256: str
    taken_at: datetime | None
    focal_35mm: float | None
    came_as: str


def take_in(data: bytes, name: str) -> Prepared:
    """Read a picture file as it came from a phone or a camera.

    Parameters
    ----------
    data : bytes
        JPEG, PNG, WebP or HEIC. What the file's name says is not trusted.
    name : str
        For the sentences and the record only; never opened.

    Raises
    ------
    PhotoError
        Empty, too many bytes or pixels, an animation, not a picture, cut off or damaged.
    """
    name = PurePath(name.replace("\\", "/")).name or "The file"
    if not data:
        raise PhotoError(f"{name} is empty. Copy it from the phone or camera again.")
    if len(data) > MAX_BYTES:
        raise PhotoError(
            f"{name} has {len(data) / MEGA:.0f} MB; up to {MAX_BYTES / MEGA:.0f} MB are taken. "
            "Send a smaller version."
        )
    try:
        with Image.open(io.BytesIO(data), formats=FORMATS) as image:
            _refuse_too_much(image, name, len(data))
            with turn(image.width * image.height):
                return _prepare(image, data, name)
    except PhotoError:
        raise
    except UnidentifiedImageError:
        raise PhotoError(
            f"{name} is not a picture that can be read here. Send it as JPEG, PNG, WebP or HEIC."
        ) from None
    except Image.DecompressionBombError:
        raise _too_many_pixels(name) from None
    except Exception:  # a damaged file may raise nearly anything inside a decoder
        raise PhotoError(
            f"{name} is damaged or was cut off on the way. Copy it from the phone or camera again."
        ) from None


def _too_many_pixels(name: str) -> PhotoError:
    return PhotoError(
        f"{name} has more than {MAX_PIXELS / MEGA:.0f} megapixels, the most that is taken. "
        "Send a smaller version."
    )


def _refuse_too_much(image: Image.Image, name: str, size: int) -> None:
    """Look at the header only: nothing is decoded before this."""
    width, height = image.size
    if width * height > MAX_PIXELS or max(width, height) > LONGEST_SIDE_PX:
        raise _too_many_pixels(name)
    if width * height > FEW_PIXELS and size < width * height / MEGA * FEWEST_BYTES_PER_MEGAPIXEL:
        raise PhotoError(
            f"{name} has {width} by {height} pixels in {size} bytes: that is a drawn pattern and "
            "no photograph. Send the photo as the camera took it."
        )
    if image.format not in FORMATS_WITH_COMPANIONS and getattr(image, "n_frames", 1) > 1:
        raise PhotoError(f"{name} is an animation. Send a single picture of it.")


def _prepare(image: Image.Image, data: bytes, name: str) -> Prepared:
    exif = image.getexif()
    taken_at, focal = _facts(exif)
    # In place, and no copy where none is needed: a picture of 48 megapixels is 144 MB each time.
    ImageOps.exif_transpose(image, in_place=True)
    upright = _to_srgb(image)
    middle = _fit(upright, MIDDLE_PX)
    return Prepared(
        full=_jpeg(upright, FULL_QUALITY),
        middle=_jpeg(middle, DISPLAY_QUALITY, optimize=True, progressive=True),
        small=_jpeg(_fit(middle, SMALL_PX), DISPLAY_QUALITY, optimize=True),
        width=upright.width,
        height=upright.height,
        sha256=hashlib.sha256(data).hexdigest(),
        taken_at=taken_at,
        focal_35mm=focal,
        came_as=name[-120:],
    )


def _to_srgb(image: Image.Image) -> Image.Image:
    """Colours as a screen takes them, on white where the picture is see-through, and no tags."""
    profile = image.info.get("icc_profile")
    if profile and image.mode in {"RGB", "CMYK", "L"}:
        # With a broken profile the numbers are most likely sRGB already.
        with contextlib.suppress(ImageCms.PyCMSError, OSError, ValueError):
            image = ImageCms.profileToProfile(
                image,
                ImageCms.ImageCmsProfile(io.BytesIO(profile)),
                ImageCms.createProfile("sRGB"),
                outputMode="RGB",
            )
    if image.mode in {"RGBA", "LA", "PA", "P"}:
        image = image.convert("RGBA")
        white = Image.new("RGBA", image.size, "white")
        image = Image.alpha_composite(white, image)
    if image.mode.startswith("I"):  # 16 bits a pixel, as some scanners write
        image = image.point(lambda value: value / 256).convert("L")
    plain = image if image.mode == "RGB" else image.convert("RGB")
    # Whatever is left in ``info`` (comment, XMP, resolution) would be written out again.
    plain.info.clear()
    return plain


def _fit(image: Image.Image, longest_px: int) -> Image.Image:
    """The picture no larger than this on its longer side; a smaller one stays as it is."""
    share = min(1.0, longest_px / max(image.size))
    size = tuple(max(1, round(side * share)) for side in image.size)
    return image.resize(size, Image.Resampling.LANCZOS, reducing_gap=3.0)


def _jpeg(image: Image.Image, quality: int, **how) -> bytes:
    out = io.BytesIO()
    image.save(out, "JPEG", quality=quality, **how)
    return out.getvalue()


def _facts(exif: Image.Exif) -> tuple[datetime | None, float | None]:
    detail = exif.get_ifd(ExifTags.IFD.Exif)
    return _taken_at(exif, detail), _focal(detail)


def _taken_at(exif, detail) -> datetime | None:
    """The camera's clock; in the school's time zone where the camera names none."""
    stamp = detail.get(ExifTags.Base.DateTimeOriginal) or exif.get(ExifTags.Base.DateTime)
    offset = str(detail.get(ExifTags.Base.OffsetTimeOriginal) or "").strip("\0 ")
    text = str(stamp or "").strip("\0 ")
    for words, how in ((text + offset, "%Y:%m:%d %H:%M:%S%z"), (text, "%Y:%m:%d %H:%M:%S")):
        try:
            taken = datetime.strptime(words, how)
        except ValueError:
            continue
        # Before anything is computed with it: a year at the calendar's ends has no time zone.
        if not FIRST_YEAR <= taken.year <= LAST_YEAR:
            return None
        return taken if taken.tzinfo else timezone.make_aware(taken)
    return None


def _focal(detail) -> float | None:
    try:
        focal = float(detail.get(ExifTags.Base.FocalLengthIn35mmFilm))
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    low, high = F35_RANGE_MM
    return focal if low <= focal <= high else None  # 0 means unknown (Exif 2.3, tag 0xA405)


def known(section: Section, sha256: str) -> Photo | None:
    """The photo of the same bytes that the section has already, if any."""
    return Photo.objects.filter(section=section, sha256=sha256).select_related("piece").first()


def store(
    section: Section,
    piece: Piece | None,
    prepared: Prepared,
    user,
    *,
    stage: str = "",
    view: str = Photo.View.SIDE,
    caption: str = "",
) -> Photo:
    """Keep a photo; the same photo twice in a section is kept once and returned as it is.

    A photo that was not filed yet is filed with ``piece``.

    Raises
    ------
    SamePhotoError
        The section has it with another piece.
    PhotoError
        The disk is full, or the folder of the photographs cannot be written.
    """
    before = known(section, prepared.sha256)
    if before is not None:
        return _file_known(before, piece)
    photo = Photo(
        section=section,
        piece=piece,
        stage=stage or (piece.stage if piece else ""),
        view=view,
        caption=caption,
        width=prepared.width,
        height=prepared.height,
        sha256=prepared.sha256,
        came_as=prepared.came_as,
        taken_at=prepared.taken_at,
        focal_35mm=prepared.focal_35mm,
        added_by=user,
        mat=mats.current(user) if user else None,
    )
    try:
        with transaction.atomic():
            _write_files(photo, prepared)
            photo.save()
    except IntegrityError:  # the same photo came in twice at one moment
        remove_files(photo)
        return _file_known(Photo.objects.get(section=section, sha256=prepared.sha256), piece)
    except OSError as error:
        with contextlib.suppress(OSError):
            remove_files(photo)
        logging.getLogger("django.request").error("a photo could not be kept: %s", error)
        raise PhotoError(CANNOT_WRITE) from error
    except BaseException:
        remove_files(photo)
        raise
    return photo


def _file_known(photo: Photo, piece: Piece | None) -> Photo:
    if piece is None or photo.piece_id == piece.pk:
        return photo
    if photo.piece_id is None:
        photo.piece = piece
        photo.stage = photo.stage or piece.stage
        photo.save(update_fields=["piece", "stage"])
        return photo
    raise SamePhotoError(f"This photo is filed with {photo.piece.code} already.", photo)


def _write_files(photo: Photo, prepared: Prepared) -> None:
    # A name that tells nothing: neither the student nor the piece.
    name = uuid.uuid4().hex
    photo.file.save(f"{name}.jpg", ContentFile(prepared.full), save=False)
    photo.middle.save(f"{name}-middle.jpg", ContentFile(prepared.middle), save=False)
    photo.small.save(f"{name}-small.jpg", ContentFile(prepared.small), save=False)


def remove_files(photo: Photo) -> None:
    """Delete the three files of a photo whose record is gone, or never came to be."""
    for field in (photo.file, photo.middle, photo.small):
        if field.name:
            field.storage.delete(field.name)


def erase(photo: Photo) -> None:
    """Take a photo away for good, files and all; readings taken from it stay.

    Raises
    ------
    PhotoError
        Its files cannot be removed; then its record stays too.
    """
    for field in (photo.file, photo.middle, photo.small):
        folder = os.path.dirname(field.path) if field.name else ""
        # Asked first: after the record is gone, nobody would know whose file it is.
        if os.path.isdir(folder) and not os.access(folder, os.W_OK | os.X_OK):
            raise PhotoError(CANNOT_REMOVE)
    with transaction.atomic():
        photo.delete()
        transaction.on_commit(lambda: remove_files(photo))


@transaction.atomic
def choose(photo: Photo) -> None:
    """Let a photo stand for its piece, on pages and on paper, in place of the one before."""
    Photo.objects.filter(piece=photo.piece_id, chosen=True).update(chosen=False)
    photo.chosen = True
    photo.save(update_fields=["chosen"])
