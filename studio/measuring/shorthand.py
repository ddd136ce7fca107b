"""What a hand writes short on the sheet: a size without its point, and "+1" for 1 mm more."""

import re
from dataclasses import replace

from studio.measuring.entries import TAKEN_AS, Entry, EntryError, read_entry, with_point
from studio.measuring.neighbours import Neighbours, beside
from studio.models import Piece, Reading
from studio.ware.quantities import QUANTITIES
from studio.ware.stations import Column, station_set
from studio.ware.typing_slips import point_left_out
from studio.ware.units import UnitError, format_number, parse_measure

MOST_DIFFERENCE_MM = 20.0
"""A signed size over this is no difference but a whole size with its sign, as some callipers type
it: no rim that is read place by place rises so far (our choice). [mm]"""

KEPT_PLACES = 3
"""Decimals that a sum is written with: a hundredth of a millimetre, a thousandth of an inch."""

_SIGNED = re.compile(r"([+−-])\s*(.*\S)")


def sum_of(piece: Piece, sent, column: Column, *, unit: str) -> str:
    """The size that "+1" or "-0.5" stands for: so much more or less than the first of its kind on
    the piece; the text itself where it is nothing of that sort. One query at most.

    Raises
    ------
    EntryError
        The first was not read yet.
    """
    text = sent["value"].strip()
    match = _SIGNED.fullmatch(text) if column.is_alike else None
    if match is None:
        return text
    try:
        by = float(parse_measure(match[2], "mm", unit).value)
    except UnitError:
        return text
    if by > MOST_DIFFERENCE_MM:
        return text
    columns = station_set(sent["set"]).columns
    first = next(one for one in columns if one.quantity == column.quantity)
    if first.key == column.key:
        raise EntryError("value", f"{text}: this is the first here; write the whole size.")
    from_mm = (
        Reading.objects.current()
        .filter(
            piece=piece,
            stage=sent["stage"],
            quantity=column.quantity,
            station=first.station,
            source=Reading.Source.HAND,
        )
        .values_list("value", flat=True)
        .first()
    )
    if from_mm is None:
        raise EntryError(
            "value", f"{text} counts from the first ({first.said}); read that one first."
        )
    total = from_mm + by if match[1] == "+" else from_mm - by
    return format_number(total, unit, places=KEPT_PLACES).rstrip("0").rstrip(".")


def summed(entry: Entry, was: str) -> Entry:
    """An entry that was written as a difference, with both in its record."""
    return replace(entry, typed=f"{was}{TAKEN_AS}{entry.typed}")


def pointed_beyond(piece: Piece, parts: dict, *, unit: str) -> Entry | None:
    """The entry of a whole number that no such size can be, with the point that was left out.

    ``parts`` are those of ``read_entry``. None where a tenth of it does not sit among what it is
    compared with either, or where there is nothing to compare it with.
    """
    value = parts["value"]
    if not re.fullmatch(r"[1-9][0-9]+", value):
        return None
    try:
        entry = read_entry(**parts | {"value": f"{value[:-1]}.{value[-1]}"})
    except EntryError:
        return None
    reference = beside(piece, entry, unit=unit).reference(piece.pk, entry)
    if reference is None or abs(entry.value - reference.middle) > reference.reach:
        return None
    return replace(entry, typed=f"{value}{TAKEN_AS}{entry.typed}")


def pointed(piece: Piece, entry: Entry, value: str, around: Neighbours) -> Entry:
    """The entry with the point that was left out; as it is where a hand wrote point or unit."""
    if not value.isdecimal():
        return entry
    base = QUANTITIES[entry.quantity].unit
    taken = point_left_out(entry.typed, around.reference(piece.pk, entry), base=base)
    return with_point(entry, value, taken) if taken else entry
