"""Measure the photos of one piece at one stage together, and save the result with each photo."""

from __future__ import annotations

from dataclasses import replace

from django.db import transaction

from studio.camera import intake, read
from studio.models import Photo
from studio.photos import mats
from studio.photos.camera_findings import Found, Measure

AS_TOGETHER = 6
"""So many photos of one piece and stage are solved together; more add time, not certainty."""


def companions(photo: Photo) -> list[Photo]:
    """The photos that are measured together: same piece, stage and printed mat, no details.

    Of many, the photo itself and the latest others of both views are taken.
    """
    if photo.piece_id is None or not photo.stage:
        return [photo]
    others = (
        photo.piece.photos.filter(stage=photo.stage, mat=photo.mat_id)
        .exclude(view=Photo.View.DETAIL)
        .exclude(pk=photo.pk)
        .order_by("-pk")
    )
    return sorted([photo, *others[: AS_TOGETHER - 1]], key=lambda one: one.pk)


def measure_together(photo: Photo) -> list[Photo]:
    """Measure a photo with its companions and keep what was found.

    What a hand confirmed keeps its points and sizes; it still helps the others.

    Returns
    -------
    list of Photo
        Those that were written to.
    """
    together = companions(photo)
    bar_mm = mats.bar_of(photo)
    readings = _readings(together, bar_mm)
    written = []
    with transaction.atomic():
        # As they are now: looking took seconds, in which a hand may have confirmed one or drawn.
        rows = Photo.objects.select_for_update().in_bulk([one.pk for one in together])
        for one in together:
            row = rows.get(one.pk)
            if row is None or row.confirmed_at is not None or row.view != one.view:
                continue
            row.found = _found(row, readings[one.pk], bar_mm).to_json()
            row.save(update_fields=["found"])
            written.append(row)
    return written


def _readings(photos: list[Photo], bar_mm: float | None) -> dict[int, read.PhotoReading]:
    """The camera's word on each, by id; one that cannot be opened does not keep the others."""
    pictures, told = {}, {}
    for photo in photos:
        try:
            pictures[photo.pk] = _picture(photo)
        except intake.PhotoError as error:  # kept well enough to look at, not to measure on
            told[photo.pk] = read.PhotoReading(photo.came_as, message=str(error))
        except OSError:
            told[photo.pk] = read.PhotoReading(photo.came_as, message=GONE)
    seen = read.read_together(list(pictures.values()), check_bar_mm=bar_mm) if pictures else []
    return told | dict(zip(pictures, seen, strict=True))


GONE = "The file of this photo is not where it was kept. Take the photo in again."


def _picture(photo: Photo) -> intake.Photo:
    """The kept picture, with the focal length that its record holds."""
    with photo.file.open("rb") as file:
        picture = intake.decode(photo.came_as or f"photo {photo.pk}", file.read())
    return replace(picture, f35_mm=photo.focal_35mm)


def _found(photo: Photo, reading: read.PhotoReading, bar_mm: float | None) -> Found:
    """What to keep of a reading; the drawn seam stays, points of another view do not."""
    before = Found.from_json(photo.found)
    same_view = reading.view == photo.view
    return Found(
        code=reading.code or before.code,
        view=reading.view or "",
        camera=reading.solved,
        points={k: (float(x), float(y)) for k, (x, y) in reading.points.items()}
        if same_view
        else {},
        outline=tuple((float(x), float(y)) for x, y in reading.outline),
        measures={
            key: Measure(float(one.value), float(one.u), bool(one.trusted))
            for key, one in reading.measures.items()
            if same_view
        },
        message=reading.message or "",
        note=reading.note or "",
        bar_mm=bar_mm,
        measured=True,
        placed=before.placed if same_view else {},
        seam=before.seam,
    )
