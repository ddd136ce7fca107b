"""A study of the measuring: readings as typed, what they tell, and taking it into an instrument."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from django.db import transaction
from django.utils import timezone

from rubrics.checks.register import checks, figure_of
from rubrics.models import Limit, MeasuringStudy
from rubrics.stats.estimates import Estimate
from rubrics.stats.measuring_study import MeasuringStudy as Told
from rubrics.stats.measuring_study import measuring_study
from studio.models import Instrument
from studio.ware.quantities import QUANTITIES
from studio.ware.units import UnitError, format_number, parse_measure

MOST_LINES, MOST_CUPS, LONGEST_NAME = 200, 40, 40
"""What a study takes: ten people who measure twenty times are far inside of it."""

PLACES = 3
"""Decimals of a repeatability taken over: finer than any instrument reads."""


class StudyError(ValueError):
    """A sentence that says what of the typed grid cannot be read, and how to mend it."""


@dataclass(frozen=True, slots=True)
class Readings:
    """A row a reading: who, which cup, and the value in the quantity's base unit."""

    people: Sequence[str]
    cups: Sequence[str]
    values: Sequence[float]


def empty_grid(people: Sequence[str], cups: int, repeats: int) -> str:
    """The lines to fill in: a head with the cups, then each person so many times."""
    head = "\t".join(["person", *(f"cup {number}" for number in range(1, cups + 1))])
    return "\n".join([head, *(name + "\t" * cups for name in people for _ in range(repeats))])


def read_grid(typed: str, quantity: str) -> Readings:
    """Read a grid: the first line names the cups, every other line is one person's round.

    Columns are parted by tabs, as a spreadsheet copies them, or by semicolons. A cell left empty
    is no reading.

    Raises
    ------
    StudyError
        With the line and the cell, and how to mend it.
    """
    lines = [line for line in typed.splitlines() if line.strip(" \t;")]
    if len(lines) < 2:
        raise StudyError("Write the cups in the first line, and a line for every round measured.")
    if len(lines) > MOST_LINES:
        raise StudyError(f"A study takes {MOST_LINES} lines; this has {len(lines)}.")
    cups = _cells(lines[0])[1:]
    while cups and not cups[-1]:
        cups.pop()
    _check_cups(cups)
    people, which, values = [], [], []
    for number, line in enumerate(lines[1:], start=2):
        person, *cells = _cells(line)
        if not person or len(person) > LONGEST_NAME:
            raise StudyError(
                f"Line {number} does not begin with a person's name of at most {LONGEST_NAME} "
                "letters; initials or a number will do."
            )
        if any(cells[len(cups) :]):
            raise StudyError(f"Line {number} has more readings than there are cups in line 1.")
        for cup, cell in zip(cups, cells, strict=False):
            if cell:
                people.append(person)
                which.append(cup)
                values.append(_value(cell, quantity, f"Line {number}, {cup}"))
    return Readings(people, which, values)


def _cells(line: str) -> list[str]:
    return [" ".join(cell.split()) for cell in re.split(r"[\t;]", line)]


def _check_cups(cups: Sequence[str]) -> None:
    if not cups or not all(cups) or len(set(cups)) < len(cups):
        raise StudyError("Line 1 names each cup once, after the word “person”: no gap, none twice.")
    if len(cups) > MOST_CUPS or max(map(len, cups)) > LONGEST_NAME:
        raise StudyError(f"A study takes {MOST_CUPS} cups, each named in {LONGEST_NAME} letters.")


def _value(cell: str, quantity: str, where: str) -> float:
    known = QUANTITIES[quantity]
    try:
        value = float(parse_measure(cell, known.unit).value)
    except UnitError as error:
        raise StudyError(f"{where}: {error}") from None
    if not known.lowest <= value <= known.highest:
        raise StudyError(
            f"{where}: {cell} is no likely {known.label.lower()}; it lies between "
            f"{known.lowest:g} and {known.highest:g} {known.unit}."
        )
    return value


def tell(study: MeasuringStudy) -> Told:
    """Split the spread of what was typed.

    Raises
    ------
    StudyError, CannotTellError
    """
    found = read_grid(study.typed, study.quantity)
    return measuring_study(found.people, found.cups, found.values)


@dataclass(frozen=True, slots=True)
class Eaten:
    """How much of a band between two levels one reading leaves open."""

    label: str
    band: float
    share: Estimate


def bands_eaten(told: Told, quantity: str, limits: Sequence[Limit]) -> list[Eaten]:
    """Of every figure in the quantity's unit whose check stands on such readings.

    The narrowest band between two neighbouring limits counts. It is as if the figure moved with one
    reading; a figure made of several readings moves less with each.
    """
    unit = QUANTITIES[quantity].unit
    reading = {check.name for check in checks().values() if quantity in check.reads}
    narrowest: dict[str, float] = {}
    for limit in limits:
        check, _, figure = limit.figure.partition(".")
        if check in reading and figure.endswith(f"_{unit}"):
            steps = [float(limit.a), float(limit.b - limit.a), float(limit.c - limit.b)]
            band = min((step for step in steps if step > 0), default=0.0)
            if band:
                narrowest[limit.figure] = min(band, narrowest.get(limit.figure, band))
    return [
        Eaten(figure_of(key).label, band, told.share_of(band)) for key, band in narrowest.items()
    ]


@transaction.atomic
def take_over(study: MeasuringStudy) -> Instrument:
    """Give an own instrument the repeatability that the study found.

    Raises
    ------
    StudyError
        No own instrument in the quantity's unit is named.
    CannotTellError
    """
    instrument = (
        Instrument.objects.select_for_update()
        .filter(pk=study.instrument_id, owner=study.owner_id)
        .first()
    )
    if instrument is None:
        raise StudyError(
            "An instrument that ships with the site stays as it is: name one of your own."
        )
    unit = QUANTITIES[study.quantity].unit
    if instrument.unit != unit:
        raise StudyError(f"{instrument} reads {instrument.unit}, and the study is in {unit}.")
    instrument.repeatability = round(tell(study).repeatability.value, PLACES)
    instrument.save(update_fields=["repeatability"])
    study.taken_over_at = timezone.now()
    study.save(update_fields=["taken_over_at"])
    return instrument


def said(value: float, quantity: str) -> str:
    """A figure with its unit, fine enough to tell instruments apart."""
    unit = QUANTITIES[quantity].unit
    return f"{format_number(value, unit, places=PLACES)} {'°' if unit == 'deg' else unit}"
