"""How a number and a direction are said: one place decides digits, units and sides."""

from __future__ import annotations

import math
from typing import Any

from rubrics.craft.angles import wrap_half_turn
from rubrics.craft.results import OUTSIDE, TOO_CLOSE, WITHIN
from studio.ware.uncertainty import COVERAGE_FACTOR

from .language import marked, said, spoken

MINUS = "\N{MINUS SIGN}"
HARD_SPACE = "\N{NO-BREAK SPACE}"

# Unit by the end of a figure's name: (shown after the number, factor, decimals).
UNITS = {
    "_mm": (f"{HARD_SPACE}mm", 1.0, 1),
    "_deg": ("°", 1.0, 1),
    "_ml": (f"{HARD_SPACE}ml", 1.0, 0),
}
SHARE = ("%", 100.0, 1)
"""A fraction is said in per cent."""

VERDICT_WORDS = {WITHIN: "within", TOO_CLOSE: "too close to call", OUTSIDE: "outside"}

STAGE_WORDS = {
    "wet": marked("wet"),
    "leather-hard": marked("leather-hard"),
    "bone dry": marked("bone dry"),
    "bisque": marked("bisque"),
    "glazed": marked("glazed"),
}

EIGHTH_DEG = 45.0


def unit_of(figure: str) -> tuple[str, float, int]:
    """Unit, factor and decimals of a figure by its name."""
    for ending, unit in UNITS.items():
        if figure.endswith(ending):
            return unit
    return SHARE


def number(value: float, decimals: int) -> str:
    """A number with so many decimals, a true minus sign, and no minus before nought."""
    return decimal_said(_plain(value, decimals))


def _plain(value: float, decimals: int) -> str:
    shown = f"{abs(value):.{decimals}f}"
    negative = value < 0 and float(shown) != 0
    return f"{MINUS}{shown}" if negative else shown


def decimal_said(figures: str) -> str:
    """A number as computers write it, with the decimal sign of the language spoken."""
    return figures.replace(".", spoken().decimal)


def percent(figures: str) -> str:
    """A number that was already said, with its sign for "per cent"."""
    return said("{number}%", number=figures)


def short_number(value: float, decimals: int) -> str:
    """The same without trailing noughts: limits are round numbers and read so."""
    shown = _plain(value, decimals)
    return decimal_said(shown.rstrip("0").rstrip(".") if "." in shown else shown)


def _with_unit(figures: str, unit: str) -> str:
    return percent(figures) if unit == SHARE[0] else figures + unit


def quantity(figure: str, value: float, *, decimals: int | None = None) -> str:
    """ "2.1 mm", "3.0°", "12.4%", "310 ml" """
    unit, factor, usual = unit_of(figure)
    return _with_unit(number(value * factor, usual if decimals is None else decimals), unit)


def size(figure: str, value: float, decimals: int | None = None) -> str:
    """A figure without its sign, for a sentence that says the side in words."""
    return quantity(figure, abs(value), decimals=decimals)


def expanded(u: float | None) -> float:
    """U = k u; nothing given counts as nothing."""
    return COVERAGE_FACTOR * (u or 0.0)


def with_doubt(figure: str, value: float, u: float | None) -> str:
    """ "2.1 ± 0.4 mm" """
    unit, factor, decimals = unit_of(figure)
    shown = number(value * factor, decimals)
    doubt = expanded(u) * factor
    if round(doubt, decimals) == 0:
        decimals += 1
    if round(doubt, decimals) == 0:
        return _with_unit(shown, unit)
    return _with_unit(f"{shown} ± {number(doubt, decimals)}", unit)


def limit_words(figure: str, limit: float) -> str:
    unit, factor, decimals = unit_of(figure)
    return _with_unit(short_number(limit * factor, decimals + 2), unit)


def where(azimuth_deg: float, seam_deg: float | None = None) -> str:
    """Say a direction round the cup, as one stands with the handle towards one.

    The answer is an adverbial ("by the handle", "on the right"), so that a whole sentence takes
    it as it stands. Azimuths run counter-clockwise from above; with the handle towards you they
    go to the right first. Near the seam it is the seam that is named.
    """
    if (
        seam_deg is not None
        and abs(wrap_half_turn(azimuth_deg - seam_deg)) < EIGHTH_DEG / 2
        and abs(wrap_half_turn(azimuth_deg)) >= EIGHTH_DEG / 2
    ):
        return said(BY_THE_SEAM)
    eighth = round((azimuth_deg % 360.0) / EIGHTH_DEG) % 8
    return said(EIGHTHS[eighth])


BY_THE_SEAM = marked("by the seam")

EIGHTHS = (
    marked("by the handle"),
    marked("just right of the handle"),
    marked("on the right"),
    marked("at the back right"),
    marked("opposite the handle"),
    marked("at the back left"),
    marked("on the left"),
    marked("just left of the handle"),
)

VIEW = "with the handle towards you"


_OF_A_SIDE = tuple(place for place in EIGHTHS if "right" in place or "left" in place)


def needs_view(sentence: str) -> bool:
    """Whether a sentence names a place that is only clear when one knows how the cup stands."""
    return any(said(place) in sentence for place in _OF_A_SIDE)


def finite(value: Any) -> bool:
    """Whether a fact is a number that can be drawn."""
    return isinstance(value, int | float) and math.isfinite(value)


def judged_of(facts: dict[str, Any], figure: str) -> dict[str, Any] | None:
    """The judged entry of one figure, where it was judged."""
    return next((each for each in facts.get("judged", ()) if each["figure"] == figure), None)


def decisive(facts: dict[str, Any]) -> dict[str, Any] | None:
    """The judged figure that is told: the worst, then the nearest to its limit.

    One that the rubric grades comes before any that it does not.
    """
    return min(facts.get("judged") or (), key=telling, default=None)


def telling(judged: dict[str, Any]) -> tuple:
    """Sorts judged figures by how much they tell: graded ones first, then by urgency."""
    return (not is_graded(judged), *urgency(judged))


def is_graded(judged: dict[str, Any]) -> bool:
    """Whether the rubric has a limit for a figure; pages frozen long ago kept only such."""
    return judged.get("graded", True)


_URGENCY = {OUTSIDE: 0, TOO_CLOSE: 1, WITHIN: 2}


def urgency(judged: dict[str, Any]) -> tuple[int, float]:
    """Sorts judged figures: outside first, and the furthest beyond or nearest to its limit."""
    return (_URGENCY[judged["verdict"]], -_share_of_limit(judged))


def _share_of_limit(judged: dict[str, Any]) -> float:
    limit = judged["limit"]
    return abs(judged["value"]) / limit if limit > 0 else math.inf
