"""Likely slips of the pen, found when a reading is entered. Pure: no Django, no models.

A slip is asked about, never mended: the reading is kept as typed. A question costs a key; a wrong
correction costs a grade. One thing alone is no slip: who types ``64`` for every wall of 6.4 mm has
left the point out, and where nothing but 6.4 is possible it is taken so, and marked
(:func:`point_left_out`).
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from statistics import median

from studio.ware.units import ANGLE, FACTORS, LENGTH, format_measure

MM_PER_INCH = 25.4

MAD_TO_SD = 1.4826
"""Median absolute deviation to standard deviation for normal data: 1 / Φ⁻¹(3/4)."""

FAR_IN_SD = 4.0
"""Farther than this from the median, in robust standard deviations, asks a question.

Our choice (common practice, no source): with a floor under the spread, so that four equal
readings do not make the fifth, honest one suspect.
"""


@dataclass(frozen=True, slots=True)
class Floor:
    """How far from the others an honest reading may lie: share of the reference, and in mm or g."""

    share: float
    least: float


SAME_PIECE = {
    # Student walls run from 5 to 10 mm round one cup; half the median covers them.
    "wall_thickness": Floor(0.5, 2.0),
    # A rim that rises more than this is seen from across the room.
    "rim_height": Floor(0.06, 12.0),
    "foot_side": Floor(0.2, 8.0),
    "foot_diagonal": Floor(0.2, 10.0),
}
"""Several stations on one piece that should be alike. Ours (common practice, no source)."""

SAME_BATCH = {
    "wall_thickness": Floor(0.6, 3.0),
    # The two ends of a wall lie farther out than its stations do.
    "wall_end": Floor(0.7, 4.0),
    "rim_height": Floor(0.35, 20.0),
    "dimension": Floor(0.4, 3.0),
    "seam_length": Floor(0.4, 20.0),
    "seam_thickness": Floor(0.7, 4.0),
    "handle_top": Floor(0.5, 20.0),
    "handle_bottom": Floor(0.6, 20.0),
    "handle_opening": Floor(0.7, 15.0),
    "foot_side": Floor(0.4, 12.0),
    "foot_diagonal": Floor(0.4, 15.0),
    "water_mass": Floor(0.6, 80.0),
}
"""The same station on the batch's other pieces, or the plan. What is absent here, such as open
parts and gaps, is honestly anything from nothing up, and is not asked about."""

ENOUGH_OWN, ENOUGH_OTHERS = 3, 3
"""So many neighbours outvote one slip among themselves."""

WORST_FIT = {"point": 0.6, "inch": 0.6, "swapped": 0.25}
"""What a suggestion's distance from the others may be, as a share of the typed value's distance.
Strict for swapped digits, since any number has such a neighbour by chance."""

TIMES_TOO_LARGE = 5.0
"""A whole number so many times its neighbours' middle is no honest reading: walls that differ by a
factor of two are poor craft, of three a lump (our choice; common practice, no source)."""

HANDICAP = {"point": 1.0, "inch": 1.5, "swapped": 3.0}
"""How much nearer a rarer slip must come to be believed before a common one. Both ours."""


@dataclass(frozen=True, slots=True)
class TypingSlip:
    """A question about one value. ``suggestion`` is text to put in its place, "" if none."""

    kind: str
    question: str
    suggestion: str = ""


@dataclass(frozen=True)
class Reference:
    """What a value is compared with: its neighbours' values and how far apart they may lie."""

    # No slots: a batch asks the same reference for every piece, so the medians are kept.

    values: tuple[float, ...]
    floor: Floor
    whose: str = "the others here"

    @cached_property
    def middle(self) -> float:
        return median(self.values)

    @cached_property
    def reach(self) -> float:
        """How far from the middle a value may lie unasked."""
        middle = self.middle
        spread = MAD_TO_SD * median(abs(value - middle) for value in self.values)
        return max(FAR_IN_SD * spread, self.floor.share * abs(middle), self.floor.least)


def choose_reference(
    quantity: str,
    *,
    own: Sequence[float] = (),
    batch: Sequence[float] = (),
    planned: float | None = None,
) -> Reference | None:
    """Pick what to compare with: the piece's other stations, else the batch, else the plan.

    Parameters
    ----------
    own : sequence of float
        The same quantity at this piece's other stations. [base unit]
    batch : sequence of float
        The same quantity and name on the batch's other pieces. [base unit]
    planned : float, optional
        What the plan expects at this stage. [base unit]
    """
    alike = SAME_PIECE.get(quantity)
    if alike and len(own) >= ENOUGH_OWN:
        return Reference(tuple(own), alike, "the others on this piece")
    floor = SAME_BATCH.get(quantity)
    if floor is None:
        return None
    if len(batch) >= ENOUGH_OTHERS:
        return Reference(tuple(batch), floor, "the other pieces")
    if planned is not None:
        return Reference((planned,), floor, "the plan")
    if alike and own:
        return Reference(tuple(own), floor, "the others on this piece")
    return None


def likely_slip(
    value: float, typed: str, reference: Reference | None, *, base: str = LENGTH, unit: str = "mm"
) -> TypingSlip | None:
    """Ask about a value that does not sit with its neighbours.

    Parameters
    ----------
    value : float
        In the base unit. [mm, ° or g]
    typed : str
        As written, with its unit, such as ``"64 mm"``.
    reference : Reference or None
        None where there is nothing to compare with; then nothing is asked.
    base, unit : str
        The base unit, and the one to speak in.

    Returns
    -------
    Slip or None
        The best of: decimal point moved, inches and millimetres mixed up (a factor of 25.4), two
        neighbouring digits swapped; else that it lies far from the others.
    """
    if reference is None or abs(value - reference.middle) <= reference.reach:
        return None
    distance = abs(value - reference.middle)
    best = None
    for kind, candidate, text in _candidates(value, typed, base):
        off = abs(candidate - reference.middle)
        rank = off * HANDICAP[kind]
        if off <= min(reference.reach, WORST_FIT[kind] * distance) and (
            best is None or rank < best[0]
        ):
            best = rank, kind, text
    said = typed.removesuffix(f" {unit}")
    if best:
        return TypingSlip(
            best[1], f"{said}? Did you mean {best[2].removesuffix(f' {unit}')}?", best[2]
        )
    middle = format_measure(reference.middle, unit, places=1 if unit != "in" else 2)
    return TypingSlip(
        "far", f"{said} is far from {reference.whose}, about {middle}. Does it stand?"
    )


def point_left_out(typed: str, reference: Reference | None, *, base: str = LENGTH) -> str:
    """The text with the point that was left out, such as ``"6.4 mm"`` for ``"64 mm"``; "" else.

    Parameters
    ----------
    typed : str
        As written, a whole number with the unit that a bare number has here.
    reference : Reference or None
        What the value is compared with; with nothing to compare nothing is taken.

    Returns
    -------
    str
        Not empty only for a length of which the value as typed is impossible beside its
        neighbours (:data:`TIMES_TOO_LARGE`), a tenth of it sits among them, and no other reading
        of the text does.
    """
    number, _, unit = typed.rpartition(" ")
    if reference is None or base != LENGTH or not re.fullmatch(r"[1-9][0-9]+", number):
        return ""
    value = float(number) * FACTORS_FLOAT[unit]
    if value < TIMES_TOO_LARGE * reference.middle:
        return ""
    # 60 with its digits swapped is 06, which is no other size than 6.0.
    fitting = {
        round(candidate, 6)
        for _kind, candidate, _text in _candidates(value, typed, base)
        if abs(candidate - reference.middle) <= reference.reach
    }
    is_sole = fitting == {round(value / 10, 6)}
    return f"{_shifted(number, -1)} {unit}" if is_sole else ""


def _candidates(value: float, typed: str, base: str):
    """What the hand may have meant: (kind, value in the base unit, text)."""
    number, _, unit = typed.rpartition(" ")
    decimal = re.fullmatch(r"(-?)([0-9]+)(?:\.([0-9]+))?", number)
    if decimal:
        for shift in (-1, 1, -2, 2):
            yield "point", value * 10.0**shift, f"{_shifted(number, shift)} {unit}"
    if base == LENGTH:
        if unit in ("mm", "cm"):
            yield "inch", value / FACTORS_FLOAT[unit] * MM_PER_INCH, f"{number} in"
        elif unit == "in":
            yield "inch", value / MM_PER_INCH, f"{number} mm"
    if decimal and base != ANGLE:
        factor = FACTORS_FLOAT[unit]
        for text in _swaps(number):
            yield "swapped", float(text) * factor, f"{text} {unit}"


FACTORS_FLOAT = {unit: float(factor) for unit, factor in FACTORS.items()}


def _shifted(number: str, places: int) -> str:
    """Move the decimal point of a number written in digits."""
    sign = "-" if number.startswith("-") else ""
    whole, _, decimals = number.lstrip("-").partition(".")
    digits, point = whole + decimals, len(whole) + places
    if point <= 0:
        digits, point = "0" * (1 - point) + digits, 1
    digits = digits.ljust(point, "0")
    whole, decimals = digits[:point].lstrip("0") or "0", digits[point:].rstrip("0")
    return f"{sign}{whole}.{decimals}" if decimals else f"{sign}{whole}"


def _swaps(number: str):
    """The number with each pair of neighbouring digits swapped, across the point too.

    A nought before the point is no digit that a hand put in the wrong place.
    """
    at = [i for i, sign in enumerate(number) if sign.isdigit()]
    if re.match(r"-?0\.", number):
        at = at[1:]
    for left, right in pairwise(at):
        if number[left] != number[right]:
            signs = list(number)
            signs[left], signs[right] = signs[right], signs[left]
            yield "".join(signs)
