"""Measure the photos of one piece at one stage together, and save the result with each photo."""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Iterable
from concurrent.futures import Future
from dataclasses import dataclass

from django.db import transaction

from studio.camera import read
from studio.models import Photo
from studio.photos import mats, workers
from studio.photos.camera_findings import Found, Measure
from studio.photos.workers import Kept

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
    return _finish(_begin(photo))


def measure_all(photos: Iterable[Photo], seconds: float) -> tuple[set[int], int]:
    """Measure piece after piece, as many at once as there are cores, for so long at most.

    Returns
    -------
    (set of int, int)
        The ids of the photos measured, and how many of those given wait still.
    """
    until = time.monotonic() + seconds
    waiting, running, done = list(photos), deque(), set()
    taken: set[int] = set()
    while waiting or running:
        while waiting and len(running) < max(workers.count(), 1) and time.monotonic() < until:
            photo = waiting.pop(0)
            if photo.pk not in taken:
                running.append(_begin(photo))
                taken.update(one.pk for one in running[-1].together)
        if not running:
            break
        done.update(one.pk for one in _finish(running.popleft()))
    return done, sum(photo.pk not in taken for photo in waiting)


@dataclass(frozen=True, slots=True)
class _Begun:
    """Photos that are being measured together, and those whose file is gone."""

    together: list[Photo]
    opened: list[Photo]
    work: tuple
    future: Future
    bar_mm: float | None


def _begin(photo: Photo) -> _Begun:
    together = companions(photo)
    bar_mm = mats.bar_of(photo)
    opened, kept = [], []
    for one in together:
        try:
            with one.file.open("rb") as file:
                data = file.read()
        except OSError:
            continue
        opened.append(one)
        kept.append(Kept(one.came_as or f"photo {one.pk}", data, one.focal_35mm))
    work = (workers.compute, kept, bar_mm)
    return _Begun(together, opened, work, workers.begin(*work), bar_mm)


def _finish(begun: _Begun) -> list[Photo]:
    """Wait for the measuring and keep what was found."""
    seen = workers.result(begun.future, *begun.work)
    readings = {one.pk: read.PhotoReading(one.came_as, message=GONE) for one in begun.together}
    readings |= {one.pk: told for one, told in zip(begun.opened, seen, strict=True)}
    written = []
    with transaction.atomic():
        # As they are now: looking took seconds, in which a hand may have confirmed one or drawn.
        rows = (
            Photo.objects.select_for_update(of=("self",))
            .select_related("mat")
            .in_bulk([one.pk for one in begun.together])
        )
        for one in begun.together:
            row = rows.get(one.pk)
            if row is None or row.confirmed_at is not None or row.view != one.view:
                continue
            if row.mat_id != one.mat_id or mats.bar_of(row) != begun.bar_mm:
                continue  # the bar was told meanwhile: this photo waits to be measured anew
            row.found = _found(row, readings[one.pk], begun.bar_mm).to_json()
            row.save(update_fields=["found"])
            written.append(row)
    return written


GONE = "The file of this photo is not where it was kept. Take the photo in again."


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
