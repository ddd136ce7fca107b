"""A seam drawn on a photo, its open parts marked: lengths, and the readings they become."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from django.db import transaction
from django.utils import timezone

from studio.camera import along, by_hand
from studio.camera.along import LineError, MarkedPart, Wall
from studio.camera.by_hand import Sized
from studio.measuring import readings
from studio.measuring.entries import Entry
from studio.models import Photo, Reading
from studio.photos.camera_findings import PhotoFindings, by_print
from studio.photos.confirming import (
    LEAST_U,
    NOT_UNDERSTOOD,
    VALUE_DIGITS,
    SentError,
    found_of,
    numbers_sent,
)

OPEN, THROUGH = "open", "through"
KINDS = {OPEN: "open", THROUGH: "a crack that goes through"}
QUANTITY = {OPEN: "seam_open", THROUGH: "seam_through"}
NAME = "seam"
MOST_POINTS, MOST_PARTS = 60, 24
MARK_LENGTH = 3
"""A mark as a page sends it: from, to, kind."""
STATION_DIGITS = 2


@dataclass(frozen=True, slots=True)
class Marked:
    """One part: its kind, its shares of the line, and its place and length in mm if known."""

    kind: str
    start_share: float
    end_share: float
    part: MarkedPart | None = None


@dataclass(frozen=True, slots=True)
class Seam:
    """A drawn seam. ``length`` is None where the mat is not seen and nothing tells it."""

    length: Sized | None
    parts: tuple[Marked, ...]
    from_calliper: bool = False

    @property
    def open_share(self) -> float:
        """Share of the line that is open or cracked through."""
        spans = along.shares([(0, 0), (100, 0)], [(p.start_share, p.end_share) for p in self.parts])
        return sum(end - start for start, end in spans)


def clean_seam(line: Sequence, parts: Sequence) -> tuple[list, list]:
    """A line and its parts as they came from a page.

    Raises
    ------
    SentError
        Not lists of numbers, too many of them, or a mark of an unknown kind.
    """
    if not (isinstance(line, list) and isinstance(parts, list)):
        raise SentError(NOT_UNDERSTOOD)
    if len(line) > MOST_POINTS or len(parts) > MOST_PARTS:
        raise SentError(f"Up to {MOST_POINTS} points and {MOST_PARTS} marked parts are kept.")
    corners = [numbers_sent(place, 2) for place in line]
    if not all(isinstance(part, list) and len(part) == MARK_LENGTH for part in parts):
        raise SentError(NOT_UNDERSTOOD)
    marked = [(*numbers_sent(part[:2], 2), str(part[2])) for part in parts]
    if any(kind not in KINDS for _, _, kind in marked):
        raise SentError("A marked part is either open or a crack that goes through.")
    return corners, marked


def measure(photo: Photo, line: Sequence, parts: Sequence) -> Seam:
    """Lengths along a seam: in mm on the wall where the mat is seen, else by the calliper's length
    of the seam, else as shares alone.

    Raises
    ------
    LineError
        The line has no length, or does not lie on the piece.
    """
    spans = [
        (kind, share)
        for kind in KINDS
        for share in along.shares(line, [(a, b) for a, b, k in parts if k == kind])
    ]
    found = found_of(photo)
    if found.camera is not None:
        length, measured = along.lengths(
            found.camera, line, [share for _, share in spans], _wall(found)
        )
        marks = [
            Marked(kind, *s, MarkedPart(by_print(found, part.start), by_print(found, part.length)))
            for (kind, s), part in zip(spans, measured, strict=True)
        ]
        return Seam(by_print(found, length), tuple(marks))
    length = _by_calliper(photo)
    marks = [
        Marked(
            kind,
            start,
            end,
            length
            and MarkedPart(
                Sized(start * length.value, SHARE_U * length.value),
                Sized((end - start) * length.value, SHARE_U * length.value),
            ),
        )
        for kind, (start, end) in spans
    ]
    return Seam(length, tuple(marks), from_calliper=length is not None)


SHARE_U = 0.02
"""How well a mark's share of a seam is told on a plain photo: the wall bends away from the eye, so
a share in the picture is not quite one on the wall (common practice, no source)."""


def _wall(found: PhotoFindings) -> Wall:
    """The piece's own wall where a side view's points tell it, else a usual cup's."""
    body = by_hand.body_of(found.camera, {**found.points, **found.placed})
    if body is None:
        return along.USUAL_WALL
    return Wall(body.foot_width / 2, body.rim_width / 2, body.height, body.x, body.y)


def _by_calliper(photo: Photo) -> Sized | None:
    if photo.piece_id is None:
        return None
    reading = (
        Reading.objects.current()
        .filter(piece=photo.piece, stage=photo.stage, quantity="seam_length", name=NAME)
        .exclude(source=Reading.Source.PHOTO)
        .select_related("instrument")
        .first()
    )
    return Sized(reading.value, reading.u) if reading else None


@transaction.atomic
def save(photo: Photo, line: Sequence, parts: Sequence, user) -> Seam:
    """Keep the drawn seam with the photo and, where lengths are known, as readings.

    The readings of an earlier drawing on this photo are taken back first. A seam without a marked
    part says that somebody looked and found none open.

    Raises
    ------
    LineError
        The line has no length, or does not lie on the piece.
    """
    seam = measure(photo, line, parts)
    found = PhotoFindings.from_json(photo.found)
    kept = {"line": [list(p) for p in line], "parts": [list(p) for p in parts]}
    photo.found = replace(found, seam=kept).to_json()
    photo.save(update_fields=["found"])
    if photo.piece_id is None or not photo.stage or seam.length is None:
        return seam
    _take_back_earlier(photo, user)
    if not seam.from_calliper:
        _write(photo, "seam_length", None, seam.length, user)
    for mark in seam.parts:
        _write(photo, QUANTITY[mark.kind], mark.part.start.value, mark.part.length, user)
    if not any(mark.kind == OPEN for mark in seam.parts):
        _write(photo, "seam_open", 0.0, Sized(0.0, seam.length.u), user)
    return seam


def _take_back_earlier(photo: Photo, user) -> None:
    Reading.objects.current().filter(
        photo=photo, quantity__in=["seam_length", *QUANTITY.values()]
    ).update(superseded_at=timezone.now(), taken_back_by=user)


def _write(photo: Photo, quantity: str, start: float | None, length: Sized, user) -> None:
    readings.save_reading(
        photo.piece,
        Entry(
            stage=photo.stage,
            quantity=quantity,
            name=NAME,
            height_mm=None if start is None else round(max(start, 0.0), STATION_DIGITS),
            azimuth_deg=None,
            value=round(length.value, VALUE_DIGITS),
            typed=f"{length.value:.1f} mm",
        ),
        by=user,
        source=Reading.Source.PHOTO,
        photo=photo,
        own_u=max(round(length.u, 4), LEAST_U),
    )


__all__ = ["KINDS", "LineError", "Marked", "Seam", "clean_seam", "measure", "save"]
