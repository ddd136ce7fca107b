"""Writes to the readings. Nothing is overwritten: a correction supersedes, and both are kept."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from operator import attrgetter

from django.db import IntegrityError, transaction
from django.utils import timezone

from studio.measuring.entries import Entry, split_typed
from studio.models import Instrument, Piece, Reading

NEW, CORRECTED, SAME = "new", "corrected", "same"

TRIES = 3
"""So often a write starts again when another window came first between look and write."""

CHUNK = 500
"""Rows named in one statement; every database takes so many parameters."""


class _Anything:
    """Stands for: whatever is current there may be superseded."""


ANYTHING = _Anything()


class ConflictError(Exception):
    """Another window came first: the current reading is not the one that was looked at."""

    def __init__(self, current: Reading | None):
        super().__init__("Another window changed this reading.")
        self.current = current


@dataclass(frozen=True, slots=True)
class Saved:
    """What saving did: ``outcome`` is ``"new"``, ``"corrected"`` or ``"same"``."""

    reading: Reading
    outcome: str
    previous: Reading | None = None


def save_reading(
    piece: Piece,
    entry: Entry,
    *,
    by,
    instrument: Instrument | None = None,
    doubt: str = "",
    looked_at: int | _Anything | None = ANYTHING,
    source: str = Reading.Source.HAND,
    photo=None,
    own_u: float | None = None,
) -> Saved:
    """Save one reading; what is current at its station is superseded.

    Parameters
    ----------
    looked_at : int, None or ANYTHING
        The reading the writer saw there: its id, or None for an empty station. A slot that moved
        along its join is superseded by its id, although its station differs.
    doubt : str
        The question asked of a likely slip.

    Raises
    ------
    ConflictError
        Another reading is current there than the one looked at. Nothing was written.
    """
    row = _row(
        piece,
        entry,
        made_by=by,
        instrument=instrument,
        doubt=doubt,
        source=source,
        photo=photo,
        own_u=own_u,
    )
    for attempt in range(TRIES):
        try:
            with transaction.atomic():
                return _save(row, looked_at)
        except IntegrityError:
            # Somebody else's reading arrived between look and write; look again.
            if attempt == TRIES - 1:
                raise
    raise AssertionError("unreachable")


def _save(row: Reading, looked_at) -> Saved:
    there = list(
        Reading.objects.current()
        .filter(piece_id=row.piece_id, stage=row.stage, quantity=row.quantity, source=row.source)
        .select_for_update()
    )
    current = next((one for one in there if one.station == row.station), None)
    seen = next((one for one in there if one.pk == looked_at and one.name == row.name), None)
    if current is not None and says_the_same(current, row):
        return Saved(current, SAME)
    if looked_at is not ANYTHING:
        moved = seen is not None and seen.station != row.station
        if moved and current is not None:
            raise ConflictError(current)
        if not moved and (current.pk if current else None) != looked_at:
            raise ConflictError(current)
    previous = seen or current
    if previous is not None:
        _supersede([previous.pk])
        row.supersedes = previous
    row.save(force_insert=True)
    return Saved(row, CORRECTED if previous else NEW, previous)


def take_back(
    piece: Piece, stage: str, reading_id: int, *, by, source: str = Reading.Source.HAND
) -> Reading | None:
    """Take a reading back without another in its place; it stays in the history.

    Returns
    -------
    Reading or None
        The reading that was taken back; None where it was taken back before.

    Raises
    ------
    ConflictError
        It was corrected meanwhile; the correction stands.
    Reading.DoesNotExist
        There never was such a reading of this piece.
    """
    with transaction.atomic():
        reading = Reading.objects.select_for_update().get(
            pk=reading_id, piece=piece, stage=stage, source=source
        )
        if reading.superseded_at is None:
            reading.superseded_at, reading.taken_back_by = timezone.now(), by
            reading.save(update_fields=["superseded_at", "taken_back_by"])
            return reading
        successor = (
            Reading.objects.current()
            .filter(
                piece=piece,
                stage=stage,
                quantity=reading.quantity,
                station=reading.station,
                source=source,
            )
            .first()
        )
        if successor:
            raise ConflictError(successor)
        return None


def let_stand(piece: Piece, reading_id: int, *, source: str = "") -> bool:
    """Answer a question: the value stands as written. Tells whether there was one to answer.

    With ``source`` only a reading of that source is answered for: a student's hand answers for the
    student's own readings.
    """
    asked = Reading.objects.current().filter(pk=reading_id, piece=piece).exclude(doubt="")
    if source:
        asked = asked.filter(source=source)
    return bool(asked.update(doubt=""))


def says_the_same(one: Reading, other: Reading) -> bool:
    """Whether a reading would add nothing: same value, same text, same instrument, same side."""
    facts = attrgetter("value", "instrument_id", "azimuth_deg", "photo_id")
    if facts(one) != facts(other):
        return False
    return one.typed == other.typed or _parts(one) == _parts(other)


def _parts(reading: Reading) -> tuple[str, str]:
    return split_typed(reading.quantity, reading.typed, reading.value)


@dataclass(frozen=True, slots=True)
class NewReading:
    """One reading of a batch to save."""

    piece: Piece
    entry: Entry
    instrument: Instrument | None = None
    doubt: str = ""


@dataclass(frozen=True, slots=True)
class BatchSaved:
    """How many readings of a batch were new, corrected another, or changed nothing."""

    new: int
    corrected: int
    same: int


def compare(incoming: Sequence[NewReading], current: dict[tuple, Reading], by=None):
    """Sort a batch by what saving it would do, without saving it.

    Parameters
    ----------
    current : dict
        (piece id, stage, quantity, station) to the current reading; see ``current_by_station``.

    Returns
    -------
    list of (Incoming, outcome, row, previous)
        ``row`` is the unsaved reading.
    """
    sorted_out = []
    for one in incoming:
        row = _row(one.piece, one.entry, made_by=by, instrument=one.instrument, doubt=one.doubt)
        previous = current.get((row.piece_id, row.stage, row.quantity, row.station))
        if previous is not None and says_the_same(previous, row):
            outcome = SAME
        else:
            outcome = CORRECTED if previous else NEW
        sorted_out.append((one, outcome, row, previous))
    return sorted_out


def current_by_station(readings: Iterable[Reading]) -> dict[tuple, Reading]:
    """Current readings by hand, by (piece id, stage, quantity, station)."""
    return {
        (one.piece_id, one.stage, one.quantity, one.station): one
        for one in readings
        if one.source == Reading.Source.HAND
    }


@transaction.atomic
def save_batch(incoming: Sequence[NewReading], current: dict[tuple, Reading], *, by) -> BatchSaved:
    """Save a batch, all or nothing, against the current readings that were looked at.

    Raises
    ------
    ConflictError
        Another window wrote to one of the stations since ``current`` was read.
    """
    sorted_out = compare(incoming, current, by)
    outgoing = [previous.pk for _, outcome, _, previous in sorted_out if outcome == CORRECTED]
    if _supersede(outgoing) != len(outgoing):
        raise ConflictError(None)
    rows = []
    for _, outcome, row, previous in sorted_out:
        if outcome != SAME:
            row.supersedes = previous
            rows.append(row)
    try:
        with transaction.atomic():
            Reading.objects.bulk_create(rows, batch_size=CHUNK)
    except IntegrityError as error:
        raise ConflictError(None) from error
    return BatchSaved(
        new=len(rows) - len(outgoing),
        corrected=len(outgoing),
        same=len(sorted_out) - len(rows),
    )


def _supersede(ids: Sequence[int]) -> int:
    now = timezone.now()
    return sum(
        Reading.objects.current()
        .filter(pk__in=ids[start : start + CHUNK])
        .update(superseded_at=now)
        for start in range(0, len(ids), CHUNK)
    )


def _row(piece: Piece, entry: Entry, **facts) -> Reading:
    return Reading(
        piece=piece,
        stage=entry.stage,
        quantity=entry.quantity,
        name=entry.name,
        height_mm=entry.height_mm,
        azimuth_deg=entry.azimuth_deg,
        station=entry.station,
        value=entry.value,
        typed=entry.typed,
        **facts,
    )
