"""What the page of a turned cup shows: figures in words, form as lines, readings to keep."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from studio.camera.wheel.door import SheetReading as Told
from studio.camera.wheel.figures import AZIMUTHS_DEG
from studio.camera.wheel.trust import Value
from studio.photos.turned import may_keep
from studio.photos.turned_findings import TurnedFound
from studio.ware.quantities import DIMENSIONS, QUANTITIES
from studio.ware.stations import SIDES
from studio.ware.uncertainty import COVERAGE_FACTOR
from studio.ware.units import format_number

# In the order of the page; what the rim does comes first.
FIGURES = {
    "rise_mm": ("Rim, lowest to highest", "mm"),
    "tilt_deg": ("Rim tilt", "°"),
    "saddle_mm": ("Saddle, two waves round the rim", "mm"),
    "lobes_mm": ("Lobes, three waves", "mm"),
    "out_of_round_mm": ("Rim, out of round", "mm"),
    "rim_diameter_mm": ("Rim diameter", "mm"),
    "height_mm": ("Height", "mm"),
    "max_diameter_mm": ("Greatest diameter", "mm"),
    "lean_deg": ("Lean", "°"),
    "handle_lean_deg": ("Handle, lean", "°"),
    "handle_twist_deg": ("Handle twist", "°"),
}
ENDS = {"1": "first", "2": "second", "3": "third", "4": "fourth"}


@dataclass(frozen=True, slots=True)
class TurnedRow:
    """A line of a table, as text; ``why`` says why it is not sure. ``key`` names a reading."""

    label: str
    value: str
    doubt: str
    unit: str
    why: str = ""
    key: str = ""
    may_keep: bool = False


def figure_rows(found: TurnedFound) -> list[TurnedRow]:
    """The figures that the photos tell, with U."""
    return [
        TurnedRow(label, *_numbers(v), unit, _why(v))
        for name, (label, unit) in FIGURES.items()
        if (v := found.values.get(name)) is not None
    ]


def reading_rows(found: TurnedFound) -> list[TurnedRow]:
    """The readings that may be kept, those that are not sure last."""
    rows = [
        TurnedRow(_label(one), *_numbers(one), _unit(one), _why(one), str(k), may_keep(one))
        for k, one in enumerate(found.readings)
    ]
    return sorted(rows, key=lambda row: not row.may_keep)


def high_side(found: TurnedFound) -> str:
    """Where the rim stands highest, in words; empty where the tilt is too small to say."""
    if found.high_side is None or not found.high_side.trusted:
        return ""
    turned = (found.high_side.value - found.zero_deg) % 360
    side = SIDES[round(turned / 45) % 8 * 45]
    u = COVERAGE_FACTOR * found.high_side.u
    return f"{side} ({turned:.0f}° ± {u:.0f}°)"


def _why(figure: Value | Told) -> str:
    return "" if figure.trusted else figure.message or "not sure"


def _numbers(figure: Value | Told) -> tuple[str, str]:
    return tuple(
        format_number(number, "mm", places=1)
        for number in (figure.value, COVERAGE_FACTOR * figure.u)
    )


def _unit(one: Told) -> str:
    return "°" if QUANTITIES[one.quantity].unit == "deg" else QUANTITIES[one.quantity].unit


def _label(one: Told) -> str:
    words = [DIMENSIONS.get(one.name) or f"{QUANTITIES[one.quantity].label} {one.name}".strip()]
    if one.height_mm is not None:
        words = ["Diameter", f"{one.height_mm:g} mm up"]
    if one.azimuth_deg is not None and not QUANTITIES[one.quantity].azimuth_is_found:
        words.append(SIDES.get(round(one.azimuth_deg) % 360, f"at {one.azimuth_deg:.0f}°"))
    return ", ".join(words)


# -- drawings ------------------------------------------------------------------------------------

STEP_DEG = int(AZIMUTHS_DEG[1] - AZIMUTHS_DEG[0])


@dataclass(frozen=True, slots=True)
class OutlineRing:
    """The wall at a height, seen from above: the points of a closed line. [mm, y down]"""

    height_mm: float
    points: str


@dataclass(frozen=True, slots=True)
class FromAbove:
    """The outlines about their own middles, the handle's side to the right.

    ``scale`` lets the farthest of them reach RING_REACH; ``high`` is a point so far out in the
    direction in which the rim stands highest, None where it is not sure.
    """

    rings: tuple[OutlineRing, ...]
    scale: float
    high: tuple[float, float] | None

    @property
    def heights(self) -> str:
        """The heights in words, the lowest first."""
        return ", ".join(f"{ring.height_mm:g}" for ring in self.rings)


RING_REACH = 55.0
"""Of the drawing, which the template makes a little larger."""


def from_above(found: TurnedFound) -> FromAbove | None:
    """The drawing from above, None without outlines."""
    if not found.outlines:
        return None
    rings = tuple(
        OutlineRing(z, _points(_closed(line, found.zero_deg))) for z, line in found.outlines.items()
    )
    reach = max(v.value for line in found.outlines.values() for v in line)
    high = None
    if found.high_side is not None and found.high_side.trusted:
        high = _at(found.high_side.value - found.zero_deg, RING_REACH)
    return FromAbove(rings, RING_REACH / reach, high)


def _closed(line: Sequence[Value], zero_deg: float) -> list[tuple[float, float]]:
    return [_at(k * STEP_DEG - zero_deg, v.value) for k, v in enumerate(line)]


def _at(azimuth_deg: float, radius: float) -> tuple[float, float]:
    turn = math.radians(azimuth_deg)
    return round(radius * math.cos(turn), 2), round(-radius * math.sin(turn), 2)


def _points(points: Sequence[tuple[float, float]]) -> str:
    return " ".join(f"{x:g},{y:g}" for x, y in points)


WIDE, HIGH = 360.0, 120.0
"""Of the unrolled rim: a unit a degree, and so many for its heights."""
LEAST_SPAN_MM = 2.0
"""A level rim is drawn level: its heights fill the drawing only from so much on."""
MARGIN = 0.1


@dataclass(frozen=True, slots=True)
class Unrolled:
    """The rim's height all round, unrolled from the handle on: line, band of U, and a scale.

    ``low`` and ``top`` are the heights at the drawing's lower and upper edge [mm].
    """

    line: str
    band: str
    low: str
    top: str
    middle: float
    sides: tuple[tuple[float, str], ...]


def unrolled(found: TurnedFound) -> Unrolled | None:
    """The drawing of the rim's height, None where no rim was told."""
    if not found.rim_line:
        return None
    across = sorted(
        ((k * STEP_DEG - found.zero_deg) % 360, v) for k, v in enumerate(found.rim_line)
    )
    first, last = across[0], across[-1]
    across = [(last[0] - 360, last[1]), *across, (first[0] + 360, first[1])]
    doubts = [COVERAGE_FACTOR * v.u for _, v in across]
    low = min(v.value - d for (_, v), d in zip(across, doubts, strict=True))
    top = max(v.value + d for (_, v), d in zip(across, doubts, strict=True))
    spare = max(LEAST_SPAN_MM - (top - low), 0) / 2 + MARGIN * (top - low)
    low, top = low - spare, top + spare

    def y(height):
        return round(HIGH * (top - height) / (top - low), 2)

    upper = [(round(x, 1), y(v.value + d)) for (x, v), d in zip(across, doubts, strict=True)]
    lower = [(round(x, 1), y(v.value - d)) for (x, v), d in zip(across, doubts, strict=True)]
    mean = sum(v.value for v in found.rim_line) / len(found.rim_line)
    return Unrolled(
        line=_points([(round(x, 1), y(v.value)) for x, v in across]),
        band=_points([*upper, *reversed(lower)]),
        low=f"{low:.1f}",
        top=f"{top:.1f}",
        middle=y(mean),
        sides=tuple((float(at), SIDES[at]) for at in (0, 90, 180, 270)),
    )
