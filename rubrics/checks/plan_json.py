"""A plan as JSON.

A plan as JSON is one object; every field may be left out and then takes the starter plan's::

    {
      "name": "Lidless slab cup with a squared foot",
      "sizes_mm": {"height": 95, "rim_diameter": 85, "foot_side": 58, "base_thickness": 6,
                   "diameter@45": 72},
      "foot_corner_radius_mm": 8,
      "slab_mm": 6.35,
      "shrinkage": {"leather-hard": 0.025, "bone dry": 0.06, "bisque": 0.065, "glazed": 0.12},
      "shrinkage_spread": {"leather-hard": 0.005, "bone dry": 0.005, "bisque": 0.005,
                           "glazed": 0.005},
      "handle_from_seam_deg": 180,
      "handle_intent_deg": null,
      "handle_either_way": false,
      "seam_intent": "",
      "fingers": 2,
      "finger_breadth_mm": 19.5,
      "capacity_ml": 280,
      "join_lengths_mm": {"seam": 95},
      "limits": {"rim_level.rise_mm": [2, 4, 6], "wall_evenness.scaled_spread_mm": 2},
      "instruments": {"calliper": {"resolution": 0.1, "repeatability": 0.1}}
    }

``sizes_mm`` and ``join_lengths_mm`` are fired sizes; "diameter@45" is the diameter at a height of
45 mm. ``shrinkage`` is linear, on the wet length, as a fraction, with its standard deviation in
``shrinkage_spread``. A limit is three rising numbers (up to the first is level 4, to the second
3, to the third 2; the check's verdict is on the second), or one number that is all three.
``limits``, ``instruments``, ``shrinkage`` and ``shrinkage_spread`` add to the starter plan's;
``sizes_mm`` and ``join_lengths_mm`` replace them. A limit of null takes a limit away.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from rubrics.craft.levels import Limit
from rubrics.craft.plan import (
    SEAM_INTENTS,
    STARTER_LIMITS,
    STARTER_SHRINKAGE,
    STARTER_SHRINKAGE_SPREAD,
    Plan,
)
from studio.ware.instruments import STARTER_INSTRUMENTS, Instrument
from studio.ware.quantities import ANGLE, LENGTH, MASS
from studio.ware.shrinkage import LARGEST_SHRINKAGE
from studio.ware.stages import LATER_STAGES

from .register import checks

LARGEST_NUMBER = 1e6
"""No size, mass or angle of a hand-built piece comes near it."""


class PlanFileError(ValueError):
    """A plan that cannot be used; the message is a sentence that names the field."""


def plan_from_dict(data: Any) -> Plan:
    """Read a plan from its JSON object.

    Raises
    ------
    PlanError
        A field that is not known, or a value that cannot be; the sentence names the field.
    """
    given = _object("The plan", data)
    unknown = sorted(set(given) - set(_READERS))
    if unknown:
        raise PlanFileError(
            f"The plan has a field “{unknown[0]}” that is not known; "
            f"known are {', '.join(_READERS)}."
        )
    return Plan(**{name: _READERS[name](name, value) for name, value in given.items()})


def _object(where: str, value: Any) -> Mapping[str, Any]:
    if not isinstance(value, Mapping):
        raise PlanFileError(f"{where} must be an object in curly brackets.")
    return value


def _text(where: str, value: Any) -> str:
    if not isinstance(value, str):
        raise PlanFileError(f"{where} must be a text in quotes.")
    return value


def _number(where: str, value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise PlanFileError(f"{where} must be a number.")
    if not -LARGEST_NUMBER <= value <= LARGEST_NUMBER:  # not-a-number fails this too
        raise PlanFileError(f"{where} must be a number of a plausible size.")
    return float(value)


def _not_negative(where: str, value: Any) -> float:
    number = _number(where, value)
    if number < 0:
        raise PlanFileError(f"{where} must not be negative.")
    return number


def _positive(where: str, value: Any) -> float:
    number = _number(where, value)
    if number <= 0:
        raise PlanFileError(f"{where} must be more than zero.")
    return number


def _positive_or_none(where: str, value: Any) -> float | None:
    return None if value is None else _positive(where, value)


def _number_or_none(where: str, value: Any) -> float | None:
    return None if value is None else _number(where, value)


def _flag(where: str, value: Any) -> bool:
    if not isinstance(value, bool):
        raise PlanFileError(f"{where} must be true or false.")
    return value


def _seam_intent(where: str, value: Any) -> str:
    if value not in SEAM_INTENTS:
        raise PlanFileError(f"{where} must be “shown”, “hidden” or empty.")
    return value


def _fingers(where: str, value: Any) -> int:
    number = _not_negative(where, value)
    if number != int(number):
        raise PlanFileError(f"{where} must be a whole number.")
    return int(number)


def _fraction(where: str, value: Any) -> float:
    number = _number(where, value)
    if not -LARGEST_SHRINKAGE < number < LARGEST_SHRINKAGE:
        raise PlanFileError(
            f"{where} must be a fraction, as 0.12 for 12 %, and under {LARGEST_SHRINKAGE:g}."
        )
    return number


def _spread(where: str, value: Any) -> float:
    return _fraction(where, _not_negative(where, value))


def _each(
    read: Callable[[str, Any], Any], starter: Mapping[str, Any] | None = None
) -> Callable[[str, Any], dict[str, Any]]:
    """Return a reader of an object whose every value is read by ``read``."""

    def read_all(where: str, value: Any) -> dict[str, Any]:
        read_values = {
            key: read(f"{where}, {key}", each) for key, each in _object(where, value).items()
        }
        return {**(starter or {}), **read_values}

    return read_all


def _by_stage(
    read: Callable[[str, Any], float], starter: Mapping[str, float]
) -> Callable[[str, Any], dict[str, float]]:
    """Return a reader of an object whose keys are stages after wet."""

    def read_all(where: str, value: Any) -> dict[str, float]:
        for stage in _object(where, value):
            if stage not in LATER_STAGES:
                raise PlanFileError(
                    f"{where} has “{stage}”, which is not one of {', '.join(LATER_STAGES)}."
                )
        return _each(read, starter)(where, value)

    return read_all


def _limits(where: str, value: Any) -> dict[str, Limit]:
    limits = dict(STARTER_LIMITS)
    for figure, bounds in _object(where, value).items():
        if bounds is None:
            limits.pop(figure, None)
        else:
            limits[figure] = _limit(f"{where}, {figure}", figure, bounds)
    return limits


def _limit(where: str, figure: str, bounds: Any) -> Limit:
    check, _, name = figure.partition(".")
    known = checks().get(check)
    if known is None or name not in known.result.FIGURES:
        raise PlanFileError(f"{where} is not a figure of a check; an example is rim_level.rise_mm.")
    listed = bounds if isinstance(bounds, list) else [bounds] * 3
    if len(listed) != 3:
        raise PlanFileError(f"{where} must be one number or three that rise, as [2, 4, 6].")
    a, b, c = (_not_negative(where, bound) for bound in listed)
    if not a <= b <= c:
        raise PlanFileError(f"{where} must rise, as [2, 4, 6].")
    return Limit(figure, a, b, c)


def _instrument(where: str, value: Any) -> Instrument:
    given = _object(where, value)
    unknown = sorted(set(given) - {"resolution", "repeatability", "unit"})
    if unknown or "resolution" not in given:
        raise PlanFileError(
            f"{where} must have a resolution and may have a repeatability and a unit, no more."
        )
    unit = given.get("unit", LENGTH)
    if unit not in (LENGTH, ANGLE, MASS):
        raise PlanFileError(f"{where}, unit must be {LENGTH}, {ANGLE} or {MASS}.")
    return Instrument(
        _not_negative(f"{where}, resolution", given["resolution"]),
        _not_negative(f"{where}, repeatability", given.get("repeatability", 0.0)),
        unit,
    )


_READERS: dict[str, Callable[[str, Any], Any]] = {
    "name": _text,
    "sizes_mm": _each(_positive),
    "foot_corner_radius_mm": _not_negative,
    "shoulder_mm": _positive_or_none,
    "slab_mm": _positive,
    "shrinkage": _by_stage(_fraction, STARTER_SHRINKAGE),
    "shrinkage_spread": _by_stage(_spread, STARTER_SHRINKAGE_SPREAD),
    "handle_from_seam_deg": _number,
    "handle_intent_deg": _number_or_none,
    "handle_either_way": _flag,
    "seam_intent": _seam_intent,
    "fingers": _fingers,
    "finger_breadth_mm": _positive,
    "azimuth_u_deg": _not_negative,
    "capacity_ml": _positive_or_none,
    "join_lengths_mm": _each(_positive),
    "limits": _limits,
    "instruments": _each(_instrument, STARTER_INSTRUMENTS),
}
