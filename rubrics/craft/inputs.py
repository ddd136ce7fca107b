"""Reading numbers into a check, and the sentences for those that cannot be used."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from .readings import ReadingsError

LARGEST_VALUE = 1e9
"""No size [mm], angle [°] or mass [g] of a hand-built piece comes near it."""

SMALLEST_SIZE = 1e-3
"""Below a thousandth of a millimetre or gram nothing is measured; ratios of it say nothing."""


class TooFewError(ReadingsError):
    """Nothing is wrong with the readings; there are not enough of them."""


class NotReadError(ReadingsError):
    """The stage holds nothing that speaks to the check: it is absent, not refused."""


def is_size(value: float) -> bool:
    """Whether one number is a size that can be used; :func:`positive_numbers` says why not."""
    return SMALLEST_SIZE <= value <= LARGEST_VALUE


def finite_numbers(values: Iterable[float], what: str) -> list[float]:
    """Return the values as plain floats; refuse any that is not a finite, sensible number."""
    numbers = list(map(float, values))
    if sum(map(abs, numbers)) <= LARGEST_VALUE:  # what is not finite fails this as well
        return numbers
    for place, number in enumerate(numbers, 1):
        if -LARGEST_VALUE <= number <= LARGEST_VALUE:
            continue
        if math.isfinite(number):
            raise ReadingsError(f"{what} of {number:g} cannot be; it is far too large.")
        raise ReadingsError(f"{what} {place} is not a number; read that place again.")
    return numbers


def positive_numbers(values: Iterable[float], what: str) -> list[float]:
    """Return the values as plain floats; refuse any that is not above zero."""
    numbers = list(map(float, values))
    # Where none is negative the sum alone tells that all are finite and sensible.
    if numbers and min(numbers) >= SMALLEST_SIZE and sum(numbers) <= LARGEST_VALUE:
        return numbers
    numbers = finite_numbers(numbers, what)
    if numbers and min(numbers) < SMALLEST_SIZE:
        bad = next(number for number in numbers if number < SMALLEST_SIZE)
        raise ReadingsError(f"{what} of {bad:g} cannot be; it must be more than zero.")
    return numbers


def not_negative_numbers(values: Iterable[float], what: str) -> list[float]:
    """Return the values as plain floats; refuse any below zero."""
    numbers = list(map(float, values))
    if numbers and min(numbers) >= 0 and sum(numbers) <= LARGEST_VALUE:
        return numbers
    numbers = finite_numbers(numbers, what)
    if numbers and min(numbers) < 0:
        raise ReadingsError(f"{what} of {min(numbers):g} cannot be; it must not be negative.")
    return numbers


def uncertainties(u: float | Iterable[float], n: int) -> list[float]:
    """Return n standard uncertainties from one for all or one for each."""
    us = [float(u)] * n if isinstance(u, (int, float)) else list(map(float, u))
    if len(us) != n:
        raise ReadingsError(f"There are {n} readings but {len(us)} uncertainties.")
    # A sum is finite only where all are; the least alone could hide what is no number.
    if us and not (min(us) >= 0 and sum(us) < math.inf):
        raise ReadingsError("An uncertainty must be a number that is not negative.")
    return us


def same_length(n: int, others: Sequence, what: str) -> None:
    """Refuse stations that do not match the values read at them."""
    if len(others) != n:
        raise ReadingsError(f"There are {n} readings but {len(others)} {what}.")


def root_mean_square(values: Sequence[float]) -> float:
    return math.hypot(*values) / math.sqrt(len(values))
