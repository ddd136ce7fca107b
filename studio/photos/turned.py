"""A cup photographed all round: its photos, what they tell together, and the readings it gives."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from django.db import transaction
from django.utils import timezone

from studio.camera.wheel.door import SheetReading as Told
from studio.measuring import readings
from studio.measuring.entries import Entry
from studio.models import Photo, Piece, Reading, Turning
from studio.photos import filing, mats, measuring_work, workers
from studio.photos.confirming import LEAST_U, VALUE_DIGITS, SentError, withdraw_turning
from studio.photos.reading import kept
from studio.photos.turned_findings import TurnedFound
from studio.ware.quantities import QUANTITIES

MOST = 16
"""More photos take longer and tell no more; so many stay within a measuring process's memory."""
NO_PHOTOS = "There are no photos yet. Take some in first."
OTHER_MAT = "This photo was taken on another printed mat than the others."
TOO_MANY = f"More than {MOST} photos were given; the latest are used."
STALE = "The photos changed since they were measured. Measure them again, then keep the readings."
MEANWHILE = "The photos were measured again meanwhile. Look at the figures below, then keep them."


def turning_of(piece: Piece, stage: str) -> Turning | None:
    """The piece's photos all round at a stage, if any were taken."""
    return piece.turnings.filter(stage=stage).first()


def photos_of(turning: Turning | None) -> list[Photo]:
    """Its photos in the order they were taken; one query."""
    return list(turning.photos.select_related("mat").in_order()) if turning else []


def found_of(turning: Turning | None) -> TurnedFound | None:
    """What its photos told, None until they are measured."""
    return TurnedFound.from_json(turning.found) if turning and turning.found else None


def is_stale(found: TurnedFound, photos: Iterable[Photo]) -> bool:
    """Whether photos came or went since they were measured, or their bar is another."""
    photos = list(photos)
    bars = {photo.mat.bar_mm if photo.mat else None for photo in photos if photo.pk in found.used}
    return {*found.looked_at} != {photo.pk for photo in photos} or not bars <= {found.bar_mm}


# -- the photos ----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Taken:
    """What became of a photo: whether it is one of the turning's, and a sentence."""

    photo: Photo
    is_here: bool
    said: str


def take(piece: Piece, stage: str, data: bytes, name: str, user) -> Taken:
    """Take one photo in for a turned cup. One whose slip names another piece is filed with that.

    Raises
    ------
    PhotoError
        The file cannot be taken; the sentence says why.
    """
    filed = filing.take_and_file(piece.section, data, name, user, piece=piece, slip_first=True)
    photo = filed.photo
    if photo.piece_id not in {piece.pk, None}:
        why = "by its slip" if filed.is_new else "before"
        return Taken(photo, False, f"Not one of these: filed with {photo.piece.code} {why}.")
    if photo.turning_id is None and photo.confirmed_at is not None:
        return Taken(photo, False, "Here already, and looked over by itself: left as it is.")
    if not filed.is_new and photo.stage and photo.stage != stage:
        return Taken(photo, False, f"Here already, at the stage {photo.stage}: left as it is.")
    _join(piece, stage, [photo])
    return Taken(photo, True, "In." if filed.is_new else "Here already; it is one of these.")


def loose_photos(piece: Piece, stage: str):
    """Photos of the piece and stage that may join those all round: nobody looked them over."""
    return piece.photos.filter(stage=stage, turning=None, confirmed_at=None).exclude(
        view=Photo.View.DETAIL
    )


@transaction.atomic
def gather(piece: Piece, stage: str) -> int:
    """Let the piece's other photos of the stage join; returns how many."""
    photos = list(loose_photos(piece, stage).select_for_update())
    if photos:
        _join(piece, stage, photos)
    return len(photos)


@transaction.atomic
def _join(piece: Piece, stage: str, photos: list[Photo]) -> None:
    turning, _ = Turning.objects.get_or_create(piece=piece, stage=stage)
    for photo in photos:
        if photo.turning_id == turning.pk:
            continue
        photo.piece, photo.turning, photo.stage = piece, turning, stage
        photo.save(update_fields=["piece", "turning", "stage"])


@transaction.atomic
def leave(photo: Photo, user) -> None:
    """Take a photo out of the turning: it is one by itself again, and readings are taken back."""
    withdraw_turning(photo.turning, user)
    photo.turning = None
    photo.confirmed_by = photo.confirmed_at = None
    photo.save(update_fields=["turning", "confirmed_by", "confirmed_at"])


# -- measuring -----------------------------------------------------------------------------------


def measure(turning: Turning | None, user) -> Iterator[tuple[int, int]]:
    """Measure its photos together and keep what they tell; yields (photos looked at, of how many).

    Raises
    ------
    SentError
        There are no photos.
    workers.WorkError
        Nothing was measured; the sentence says why.
    """
    photos = photos_of(turning)
    if not photos:
        raise SentError(NO_PHOTOS)
    use, left_out = _chosen(photos)
    bar_mm = mats.bar_of(use[0])
    work = measuring_work.turned, [kept(photo) for photo in use], bar_mm
    for kind, content in workers.steps(*work, seconds=workers.seconds_for(len(use))):
        if kind == workers.SAID:
            yield content
        else:
            looked_at = [photo.pk for photo in photos]
            _keep(turning, TurnedFound.of_cup(content, looked_at, bar_mm, left_out), user)


def _chosen(photos: list[Photo]) -> tuple[list[Photo], dict[int, str]]:
    """The photos on the mat that most were taken on, and sentences for the others."""
    ours, _ = Counter(photo.mat_id for photo in reversed(photos)).most_common(1)[0]
    same = [photo for photo in photos if photo.mat_id == ours]
    left_out = {photo.pk: OTHER_MAT for photo in photos if photo.mat_id != ours}
    return same[-MOST:], left_out | {photo.pk: TOO_MANY for photo in same[:-MOST]}


@transaction.atomic
def _keep(turning: Turning, found: TurnedFound, user) -> None:
    row = Turning.objects.select_for_update().filter(pk=turning.pk).first()
    if row is None:
        return  # the piece went away while its photos were looked at
    withdraw_turning(row, user)
    row.found, row.read_at = found.to_json(), timezone.now()
    row.save(update_fields=["found", "read_at"])


# -- readings ------------------------------------------------------------------------------------


@transaction.atomic
def confirm(turning: Turning, keys: Iterable[str], looked_at: str, user) -> tuple[int, int]:
    """Keep the chosen readings of the piece at its stage.

    One that another photo of the piece tells more surely stays as that has it. Returns how many
    were kept, and how many stayed.

    Parameters
    ----------
    keys : iterable of str
        Places in ``readings``, as a page names them.
    looked_at : str
        ``read_mark`` of what the page showed.

    Raises
    ------
    SentError
        What was shown is not what is on record any more, or nothing that may be kept was chosen.
    """
    turning = Turning.objects.select_for_update().get(pk=turning.pk)
    found, photos = found_of(turning), photos_of(turning)
    if found is None or is_stale(found, photos):
        raise SentError(STALE)
    if looked_at != read_mark(turning):
        raise SentError(MEANWHILE)
    chosen = set(keys)
    told = [one for k, one in enumerate(found.readings) if str(k) in chosen and may_keep(one)]
    if not told:
        raise SentError("Tick at least one reading to keep.")
    withdraw_turning(turning, user)
    photo = next(one for one in photos if one.pk in found.used)
    kept_count = sum(_save(turning, photo, one, user) for one in told)
    now = timezone.now()
    turning.confirmed_by, turning.confirmed_at = user, now
    turning.save(update_fields=["confirmed_by", "confirmed_at"])
    turning.photos.filter(pk__in=found.used).update(confirmed_by=user, confirmed_at=now)
    return kept_count, len(told) - kept_count


def read_mark(turning: Turning) -> str:
    """Tells one measuring of a turning from the next."""
    return turning.read_at.isoformat() if turning.read_at else ""


def may_keep(one: Told) -> bool:
    """Whether a reading is sure enough, and such as a piece can have."""
    kind = QUANTITIES[one.quantity]
    return one.trusted and kind.lowest <= one.value <= kind.highest


def _save(turning: Turning, photo: Photo, one: Told, user) -> bool:
    unit = QUANTITIES[one.quantity].unit
    azimuth = None if one.azimuth_deg is None else round(one.azimuth_deg, STATION_DIGITS) % 360
    entry = Entry(
        stage=turning.stage,
        quantity=one.quantity,
        name=one.name,
        height_mm=one.height_mm,
        azimuth_deg=azimuth,
        value=round(one.value, VALUE_DIGITS),
        typed=f"{one.value:.1f} {unit}",
    )
    own_u = max(round(one.u, U_DIGITS), LEAST_U)
    surer = Reading.objects.current().filter(
        piece=turning.piece,
        stage=entry.stage,
        source=Reading.Source.PHOTO,
        quantity=entry.quantity,
        station=entry.station,
        own_u__lt=own_u,
    )
    if surer.exists():
        return False
    readings.save_reading(
        turning.piece, entry, by=user, source=Reading.Source.PHOTO, photo=photo, own_u=own_u
    )
    return True


STATION_DIGITS = 2
"""Stations are kept to a hundredth, as those that are typed are."""
U_DIGITS = 4
