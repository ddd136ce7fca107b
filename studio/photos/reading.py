"""Measure the photos of one piece at one stage together, and save the result with each photo."""

from __future__ import annotations

import time
from collections.abc import Iterable
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass, replace

from django.db import transaction

from studio.camera import read
from studio.models import Photo
from studio.photos import mats, measuring_work, workers
from studio.photos.camera_findings import Measure, PhotoFindings
from studio.photos.measuring_work import KeptPhoto
from studio.photos.workers import WorkError

AS_TOGETHER = 6
"""So many photos of one piece and stage are solved together; more add time, not certainty."""


def companions(photo: Photo) -> list[Photo]:
    """The photos that are measured together: same piece, stage and printed mat, no details and
    none of a cup that was turned.

    Of many, the photo itself and the latest others of both views are taken.
    """
    if photo.piece_id is None or not photo.stage:
        return [photo]
    others = (
        photo.piece.photos.filter(stage=photo.stage, mat=photo.mat_id, turning=None)
        .exclude(view=Photo.View.DETAIL)
        .exclude(pk=photo.pk)
        .order_by("-pk")
    )
    return sorted([photo, *others[: AS_TOGETHER - 1]], key=lambda one: one.pk)


def kept(photo: Photo) -> KeptPhoto:
    """A photo as a measuring process is handed it; its key is its id."""
    name = photo.came_as or f"photo {photo.pk}"
    return KeptPhoto(str(photo.pk), name, photo.file.path, photo.focal_35mm)


def measure_together(photo: Photo) -> list[Photo]:
    """Measure a photo with its companions and keep what was found.

    What a hand confirmed keeps its points and sizes; it still helps the others.

    Returns
    -------
    list of Photo
        Those that were written to.

    Raises
    ------
    WorkError
        Nothing was measured; the sentence is kept with the photos, which wait as before.
    """
    begun = _Begun.of(photo)
    try:
        seen = _measured(begun)
    except WorkError as error:
        _tell(begun, str(error))
        raise
    return _keep(begun, seen)


@dataclass(frozen=True, slots=True)
class Bulk:
    """What measuring many came to: ids of those measured, how many wait still, and the sentences
    on those that could not be."""

    done: frozenset[int]
    left: int
    problems: tuple[str, ...] = ()


def measure_all(photos: Iterable[Photo], seconds: float) -> Bulk:
    """Measure piece after piece, as many at once as there are cores, for so long at most."""
    until = time.monotonic() + seconds
    waiting, running = list(photos), []
    taken, done, problems = set(), set(), []
    # The threads wait for processes and touch no database; this one alone reads and writes it.
    with ThreadPoolExecutor(workers.count()) as pool:
        while waiting or running:
            while waiting and len(running) < workers.count() and time.monotonic() < until:
                photo = waiting.pop(0)
                if photo.pk not in taken:
                    begun = _Begun.of(photo)
                    taken.update(one.pk for one in begun.photos)
                    running.append((begun, pool.submit(_measured, begun)))
            if not running:
                break
            begun, result = running.pop(_first_done([result for _, result in running]))
            try:
                done.update(one.pk for one in _keep(begun, result.result()))
            except WorkError as error:
                _tell(begun, str(error))
                problems.append(f"{begun.photos[0].piece}: {error}")
    return Bulk(frozenset(done), sum(photo.pk not in taken for photo in waiting), tuple(problems))


def _first_done(results: list[Future]) -> int:
    finished, _ = wait(results, return_when=FIRST_COMPLETED)
    return next(k for k, one in enumerate(results) if one in finished)


@dataclass(frozen=True, slots=True)
class _Begun:
    """Photos that are measured together, and the check bar for their scale. [mm]"""

    photos: list[Photo]
    bar_mm: float | None

    @classmethod
    def of(cls, photo: Photo) -> _Begun:
        return cls(companions(photo), mats.bar_of(photo))


def _measured(begun: _Begun) -> dict[str, read.PhotoReading]:
    photos = [kept(one) for one in begun.photos]
    limit = workers.seconds_for(len(photos))
    return workers.run(measuring_work.together, photos, begun.bar_mm, seconds=limit)


def _as_they_are(begun: _Begun) -> list[Photo]:
    """The photos' rows that may be written to, held: looking took seconds, in which a hand may
    have confirmed one, drawn on it, or told the bar."""
    rows = (
        Photo.objects.select_for_update(of=("self",))
        .select_related("mat")
        .in_bulk([one.pk for one in begun.photos])
    )
    return [
        row
        for one in begun.photos
        if (row := rows.get(one.pk)) is not None
        and row.confirmed_at is None
        and (row.view, row.mat_id) == (one.view, one.mat_id)
        and mats.bar_of(row) == begun.bar_mm
    ]


@transaction.atomic
def _keep(begun: _Begun, seen: dict[str, read.PhotoReading]) -> list[Photo]:
    written = _as_they_are(begun)
    for row in written:
        row.found = _found(row, seen[str(row.pk)], begun.bar_mm).to_json()
        row.save(update_fields=["found"])
    return written


@transaction.atomic
def _tell(begun: _Begun, sentence: str) -> None:
    """Leave a sentence with photos that came to nothing; what was found before stays.

    One without a camera's place keeps none: there it would read as a photo without a mat.
    """
    for row in _as_they_are(begun):
        if PhotoFindings.from_json(row.found).camera is None:
            continue
        row.found = replace(PhotoFindings.from_json(row.found), message=sentence).to_json()
        row.save(update_fields=["found"])


def _found(photo: Photo, reading: read.PhotoReading, bar_mm: float | None) -> PhotoFindings:
    """What to keep of a reading; the drawn seam stays, points of another view do not."""
    before = PhotoFindings.from_json(photo.found)
    same_view = reading.view == photo.view
    return PhotoFindings(
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
