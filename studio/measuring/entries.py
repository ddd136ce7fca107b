"""Parse and check one reading as it was typed. Pure: no database."""

import re
from dataclasses import dataclass, replace
from decimal import Decimal
from difflib import get_close_matches

from studio.ware.quantities import DIMENSIONS, QUANTITIES, Quantity, station_of
from studio.ware.stages import STAGES
from studio.ware.units import (
    ANGLE,
    BASE_OF,
    LENGTH,
    UNITS_OF,
    UnitError,
    format_measure,
    parse_measure,
    unit_named,
)

HIGHEST_STATION_MM = 2000
"""No station lies higher than this over the table [mm]; the database holds the same bound."""

STATION_STEP = Decimal("0.01")
"""Stations are kept to 0.01 mm and 0.01°, finer than any hand places a calliper."""

WIDEST_ANGLE_DEG = 720
"""An azimuth may be written as -90 or 450; more than two turns is a slip [°]."""

_PLAIN_NUMBER = re.compile(r"-?[0-9]+(?:\.[0-9]+)?")
_NAME = re.compile(r"[a-z][a-z0-9_]{0,23}")


class EntryError(ValueError):
    """A reading cannot stand as written. ``field`` names the column, the message how to mend."""

    def __init__(self, field: str, sentence: str):
        super().__init__(sentence)
        self.field = field


@dataclass(frozen=True, slots=True)
class Entry:
    """One reading, checked: where it was taken, its value in the base unit, and as written."""

    stage: str
    quantity: str
    name: str
    height_mm: float | None
    azimuth_deg: float | None
    value: float
    typed: str

    @property
    def station(self) -> str:
        return station_of(QUANTITIES[self.quantity], self.name, self.height_mm, self.azimuth_deg)

    @property
    def key(self) -> tuple[str, str, str]:
        return self.stage, self.quantity, self.station


def read_entry(
    *,
    stage: str,
    quantity: str,
    value: str,
    name: str = "",
    height_mm: str = "",
    azimuth_deg: str = "",
    unit: str = "",
    default_unit: str = LENGTH,
    decimal_comma: bool = False,
) -> Entry:
    """Check a reading's parts, all of them text, and turn them into one.

    Raises
    ------
    EntryError
        For the first part that cannot stand.
    """
    kind = read_quantity(quantity)
    read_name = _read_name(kind, name)
    height = _read_height(kind, read_name, height_mm, decimal_comma=decimal_comma)
    azimuth = _read_azimuth(kind, azimuth_deg, decimal_comma=decimal_comma)
    number, typed = read_value(
        kind, value, unit, default_unit=default_unit, decimal_comma=decimal_comma
    )
    return Entry(read_stage(stage), kind.key, read_name, height, azimuth, number, typed)


def read_stage(word: str) -> str:
    """The stage that a word means, whatever its case and hyphens."""
    known = {_bare(stage): stage for stage in STAGES}
    if stage := known.get(_bare(word)):
        return stage
    raise EntryError("stage", _unknown("stage", word, STAGES))


def read_quantity(word: str) -> Quantity:
    """The quantity that a word means."""
    known = {_bare(key): key for key in QUANTITIES}
    if key := known.get(_bare(word)):
        return QUANTITIES[key]
    raise EntryError("quantity", _unknown("quantity", word, QUANTITIES))


def read_value(
    kind: Quantity,
    value: str,
    unit: str = "",
    *,
    default_unit: str = LENGTH,
    decimal_comma: bool = False,
) -> tuple[float, str]:
    """The value in the base unit, and its text with the unit.

    Raises
    ------
    EntryError
        No size, the wrong kind of unit, or out of the plausible range.
    """
    stated = _read_unit(kind, unit)
    fallback = stated or (default_unit if kind.unit == LENGTH else kind.unit)
    try:
        measured = parse_measure(
            value, kind.unit, fallback, decimal_comma=decimal_comma, unit_is_stated=bool(stated)
        )
    except UnitError as error:
        raise EntryError("value", str(error)) from error
    if stated and measured.unit != stated:
        raise EntryError(
            "unit",
            f"The value says {measured.unit} and the unit column says {stated}. Keep one.",
        )
    number = float(measured.value)
    if not kind.lowest <= number <= kind.highest:
        raise EntryError("value", _implausible(kind, number, measured))
    return number, measured.typed


def split_typed(quantity: str, typed: str, value: float) -> tuple[str, str]:
    """A reading's text as number and unit, such that the two read as ``value`` again.

    A text that does not, because another part of the site wrote it, gives way to the number; of
    one that was taken for another, the other counts.
    """
    kind = QUANTITIES[quantity]
    typed = typed.rpartition(TAKEN_AS)[2]
    number, _, unit = typed.rpartition(" ")
    # A plain number in the base unit says its value at sight; a sheet shows two thousand of them.
    if unit == kind.unit and _PLAIN_NUMBER.fullmatch(number) and float(number) == value:
        return number, unit
    for parts in ((number, unit), (typed, kind.unit)):
        try:
            again, written = read_value(kind, *parts)
        except EntryError:
            continue
        if again == value:
            # Written the one way, so that two spellings of one text are known as one.
            return tuple(written.rsplit(" ", 1)) if written.endswith(parts[1]) else parts
    return f"{Decimal(repr(value)):f}", kind.unit


TAKEN_AS = " taken as "
"""Between what a hand wrote and what it was taken for, in the record of a reading."""


def with_point(entry: Entry, was: str, taken: str) -> Entry:
    """An entry whose value is taken for another text, with both in its record.

    ``was`` is what the hand wrote, ``taken`` the text with its unit that it is taken for.
    """
    value, typed = read_value(QUANTITIES[entry.quantity], taken)
    return replace(entry, value=value, typed=f"{was}{TAKEN_AS}{typed}")


def taken_from(typed: str) -> str:
    """What the hand wrote, where a reading was taken for another text; "" elsewhere."""
    was, taken_as, _ = typed.partition(TAKEN_AS)
    return was if taken_as else ""


def _implausible(kind: Quantity, number: float, measured) -> str:
    shown = measured.unit if kind.unit == LENGTH else kind.unit
    low, high = (format_measure(edge, shown) for edge in (kind.lowest, kind.highest))
    read_as = format_measure(number, kind.unit)
    said = measured.typed if measured.unit == kind.unit else f"{measured.typed} ({read_as})"
    return f"{said} cannot be a {kind.label.lower()}; it lies between {low} and {high}."


def _read_unit(kind: Quantity, word: str) -> str:
    if not word.strip():
        return ""
    unit = unit_named(word)
    known = ", ".join(UNITS_OF[kind.unit])
    if unit is None:
        raise EntryError("unit", f"“{word.strip()}” is not a unit used here. Known here: {known}.")
    if BASE_OF[unit] != kind.unit:
        raise EntryError("unit", f"{kind.key} is read in {known}, not in {unit}.")
    return unit


def _read_name(kind: Quantity, word: str) -> str:
    name = "_".join(word.strip().lower().split())
    if kind.names == ():
        if name:
            raise EntryError("name", f"{kind.key} takes no name; leave it empty.")
        return ""
    if not name:
        example = ", ".join(kind.names or tuple(DIMENSIONS)[:3])
        raise EntryError("name", f"{kind.key} needs a name, such as {example}.")
    if kind.names is not None:
        if name not in kind.names:
            raise EntryError("name", _unknown(f"name for {kind.key}", word, kind.names))
        return name
    if not _NAME.fullmatch(name):
        raise EntryError(
            "name", f"“{word.strip()}” cannot be a name; write lower-case letters, figures and _."
        )
    family = re.sub(r"_?[0-9]+$", "", name)
    if family not in DIMENSIONS and (near := get_close_matches(name, DIMENSIONS, 1, NEARLY)):
        raise EntryError("name", f"“{word.strip()}” is not a known size. Did you mean {near[0]}?")
    return name


NEARLY, ROUGHLY = 0.85, 0.5
"""How alike (0 to 1, difflib's ratio) a word is to be taken for a misspelling, or offered."""


def _read_height(kind: Quantity, name: str, text: str, *, decimal_comma: bool) -> float | None:
    if not text.strip():
        if kind.needs_height:
            raise EntryError("height_mm", f"{kind.key} needs height_mm: where it was taken.")
        if (kind.key, name) == ("dimension", "diameter"):
            raise EntryError("height_mm", "A diameter needs height_mm, or is called max_diameter.")
        return None
    if not kind.has_height:
        raise EntryError("height_mm", f"{kind.key} takes no height_mm; leave it empty.")
    try:
        height = parse_measure(text, LENGTH, decimal_comma=decimal_comma).value
    except UnitError as error:
        raise EntryError("height_mm", f"height_mm: {error}") from error
    if height > HIGHEST_STATION_MM:
        raise EntryError("height_mm", f"height_mm {text.strip()} is above {HIGHEST_STATION_MM} mm.")
    return float(height.quantize(STATION_STEP))


def _read_azimuth(kind: Quantity, text: str, *, decimal_comma: bool) -> float | None:
    if not text.strip():
        if kind.needs_azimuth:
            raise EntryError("azimuth_deg", f"{kind.key} needs azimuth_deg: on which side it is.")
        return None
    if not kind.has_azimuth:
        raise EntryError("azimuth_deg", f"{kind.key} takes no azimuth_deg; leave it empty.")
    try:
        angle = parse_measure(text, ANGLE, decimal_comma=decimal_comma).value
    except UnitError as error:
        raise EntryError("azimuth_deg", f"azimuth_deg: {error}") from error
    if abs(angle) > WIDEST_ANGLE_DEG:
        raise EntryError("azimuth_deg", f"azimuth_deg {text.strip()} is more than two turns.")
    # Rounded before it is wrapped, so that 359.999 is 0 and never 360.
    turned = angle.quantize(STATION_STEP) % 360
    # Adding nothing takes the sign off a zero: -360 is 0 and not -0.
    return float(turned + 360 if turned < 0 else turned) + 0.0


def _unknown(what: str, word: str, known) -> str:
    said = word.strip()
    listed = ", ".join(known)
    if not said:
        return f"The {what} is empty; known are {listed}."
    near = get_close_matches(said.lower(), known, 1, ROUGHLY)
    hint = f"Did you mean {near[0]}?" if near else f"Known are {listed}."
    return f"“{said}” is not a known {what}. {hint}"


def _bare(word: str) -> str:
    return re.sub(r"[\s_-]+", "", word.strip().lower())
