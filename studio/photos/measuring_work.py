"""The measuring itself: paths of kept photos in, plain data out. No Django, no database.

Runs in the processes of :mod:`studio.photos.workers`. Each piece of work takes first a function
that it tells its progress.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from studio.camera import intake, mat, read
from studio.camera.wheel.door import TurnedCup, read_looks
from studio.camera.wheel.seen_photo import look

GONE = "The file of this photo is not where it was kept. Take the photo in again."

Tell = Callable[..., None]
"""Called with the count of photos done and the count of all; equal when the rest begins."""


@dataclass(frozen=True, slots=True)
class KeptPhoto:
    """A photo as it is kept.

    Attributes
    ----------
    key : str
        Under which the result names it.
    name : str
        As it came, for the sentences.
    path : str
    focal_35mm : float or None
        35 mm-equivalent focal length [mm].
    """

    key: str
    name: str
    path: str
    focal_35mm: float | None


def _picture(photo: KeptPhoto) -> intake.DecodedPhoto:
    """The decoded picture, or :class:`intake.PhotoError`."""
    try:
        data = Path(photo.path).read_bytes()
    except OSError:
        raise intake.PhotoError(GONE) from None
    return replace(intake.decode(photo.name, data), name=photo.key, f35_mm=photo.focal_35mm)


def together(
    tell: Tell, photos: Sequence[KeptPhoto], bar_mm: float | None
) -> dict[str, read.PhotoReading]:
    """Measure photos of one piece and stage together, by their keys; one that cannot be opened is
    told and does not keep the others."""
    told, pictures = {}, []
    for photo in photos:
        try:
            pictures.append(_picture(photo))
        except intake.PhotoError as error:  # kept well enough to look at, not to measure on
            told[photo.key] = read.PhotoReading(photo.key, message=str(error))
        tell(len(pictures) + len(told), len(photos))
    seen = read.read_together(pictures, check_bar_mm=bar_mm) if pictures else []
    return told | {one.file: one for one in seen}


def turned(tell: Tell, photos: Sequence[KeptPhoto], bar_mm: float | None) -> TurnedCup:
    """Measure one cup on a mat that was turned between the photos; they are named by their keys.

    With a bar that nobody measured the mat counts as printed true; the doubt is the reader's.
    """
    scale = mat.print_scale(bar_mm or mat.CHECK_BAR_MM)
    unread, looks = {}, []
    for photo in photos:
        try:
            looks.append(look(_picture(photo), scale))
        except intake.PhotoError as error:
            unread[photo.key] = str(error)
        tell(len(looks) + len(unread), len(photos))
    cup = read_looks(looks, scale)
    return replace(cup, left_out=unread | cup.left_out)
