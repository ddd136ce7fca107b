"""The wall cut open on each side: its section, thickness drawn on one scale for every piece."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import groupby

from rubrics.craft.results import OUTSIDE

from ..layout import DrawingSheet, around
from ..palette import Role
from ..result_json import Facts
from ..scene import Line, Path, Rect, Scene, Text
from ..wording import HARD_SPACE, judged_of, number
from .unrolled import OPPOSITE_DEG, across, cut_at, name_places

TOP, TALL, BELOW = 20.0, 128.0, 56.0
"""Words over the rim, height of a section, words under the foot. [unit]"""
UNITS_PER_MM = (5.0, 2.5, 1.0)
"""Thickness is drawn on the first of these scales on which the sections stand free. [unit/mm]"""
ROOM_MM = 11.0
"""So thick a wall must find room beside its neighbour. [mm]"""
MOST_MM = 24.0
"""A section is drawn no thicker; its number tells the rest. [mm]"""
ALONE = 22.0
"""Half the height of a section that was read at one height only. [unit]"""
BAR = 9.0
"""Half the length of the mark of a place outside. [unit]"""
RIM_SHARE, FOOT_SHARE = 0.92, 0.08
"""Where the highest and the lowest station stand on the section."""


def picture(facts: Facts, width: float) -> Scene:
    """Draw the wall of a result of ``wall_evenness``."""
    stations = _placed(facts["stations"])
    columns = [
        (azimuth, list(rows))
        for azimuth, rows in groupby(
            sorted(stations, key=lambda s: (s["azimuth_deg"] % 360.0, s["height_mm"] or 0.0)),
            key=lambda s: s["azimuth_deg"] % 360.0,
        )
    ]
    at = across(cut_at(azimuth for azimuth, _ in columns), width)
    per_mm = _scale(len(columns), width)
    heights = [s["height_mm"] for s in stations if s["height_mm"] is not None]
    low, high = min(heights, default=0.0), max(heights, default=0.0)
    tall = TALL if high > low else 2 * ALONE
    sheet = DrawingSheet(width, TOP + tall + BELOW)

    def level(height_mm: float | None) -> float:
        share = 0.5
        if height_mm is not None and high > low:
            share = FOOT_SHARE + (height_mm - low) / (high - low) * (RIM_SHARE - FOOT_SHARE)
        return TOP + tall * (1 - share)

    laid = _Laid(sheet, level, tall, per_mm, facts.get("planned_mm"), _outside(facts))
    sections = [(rows, _section(laid, at(azimuth), rows)) for azimuth, rows in columns]
    for rows, left in sections:
        for row in sorted(rows, key=lambda s: s["value_mm"] not in laid.marked):
            _number(laid, left, row)
    _words(laid, facts, at, any(s["azimuth_deg"] is not None for s in facts["stations"]))
    return sheet.scene()


def _placed(stations: list[Facts]) -> list[Facts]:
    """The readings with a side; where none has one, all of them in a row, as they were taken."""
    placed = [s for s in stations if s["azimuth_deg"] is not None]
    if placed:
        return placed
    step = 360.0 / len(stations)
    return [s | {"azimuth_deg": OPPOSITE_DEG + step * (i + 0.5)} for i, s in enumerate(stations)]


def _scale(columns: int, width: float) -> float:
    room = width / max(columns, 1)
    return next((s for s in UNITS_PER_MM if ROOM_MM * s <= room), UNITS_PER_MM[-1])


def _outside(facts: Facts) -> set[float]:
    """Thicknesses to mark: past floor or ceiling, and the two ends of a spread outside. [mm]"""
    values = [s["value_mm"] for s in facts["stations"]]
    floor, ceiling = facts.get("floor_mm"), facts.get("ceiling_mm")
    found = {
        v
        for v in values
        if (floor is not None and v < floor) or (ceiling is not None and v > ceiling)
    }
    for name in ("spread_mm", "scaled_spread_mm"):
        judged = judged_of(facts, name)
        if judged is not None and judged["verdict"] == OUTSIDE:
            found |= {min(values), max(values)}
    return found


@dataclass(frozen=True, slots=True)
class _Laid:
    """How sections are laid out: the height of a station on the sheet, that of a section, the scale
    of thickness, the planned thickness [mm], and the thicknesses to mark."""

    sheet: DrawingSheet
    level: Callable[[float | None], float]
    tall: float
    per_mm: float
    planned_mm: float | None
    marked: set[float]

    def thick(self, value_mm: float) -> float:
        """A thickness on the sheet."""
        return min(value_mm, MOST_MM) * self.per_mm


def _section(laid: _Laid, x: float, rows: list[Facts]) -> float:
    """Clay between a straight outer face and a face as far in as the wall is thick; a bar on that
    face where the place is outside. Returns where the outer face stands."""
    sheet = laid.sheet
    thick = [(laid.level(row["height_mm"]), laid.thick(row["value_mm"])) for row in rows]
    (_, foot), (_, rim) = thick[0], thick[-1]
    foot_y, rim_y = TOP + laid.tall, TOP
    planned = laid.thick(laid.planned_mm or 0.0)
    widest = max(planned, *(t for _, t in thick))
    left = min(max(x - widest / 2, 0.5), sheet.width - widest - 0.5)
    inner = [(left + foot, foot_y), *((left + t, y) for y, t in thick), (left + rim, rim_y)]
    sheet.add(Path((*inner, (left, rim_y), (left, foot_y)), Role.CLAY, closed=True))
    for row, (y, t) in zip(rows, thick, strict=True):
        if row["value_mm"] in laid.marked:
            high, low = max(y - BAR, rim_y), min(y + BAR, foot_y)
            sheet.add(Rect(left + t - 1.5, high, 3.0, low - high, Role.CLAY_DARK))
    if planned:
        sheet.add(Line(left + planned, rim_y, left + planned, foot_y, Role.PLAN))
    return left


def _number(laid: _Laid, left: float, row: Facts) -> None:
    """The thickness, inside the clay where it has room."""
    is_marked = row["value_mm"] in laid.marked
    words = Text(
        left + laid.thick(row["value_mm"]) / 2 - 1.0,
        laid.level(row["height_mm"]) + 4,
        number(row["value_mm"], 1),
        Role.CLAY_TEXT if is_marked else Role.INK,
        12.0,
        strong=is_marked,
        anchor="middle",
    )
    laid.sheet.label(*map(laid.sheet.inside, around(words, ((0, 0), (0, 14), (0, -14)))))


def _words(laid: _Laid, facts: Facts, at, placed: bool) -> None:
    sheet, foot = laid.sheet, TOP + laid.tall
    sheet.label(Text(0, TOP - 6, "rim", Role.SOFT))
    sheet.label(Text(sheet.width, TOP - 6, "sections, in mm", Role.SOFT, anchor="end"))
    if placed:
        name_places(sheet, at, facts.get("seam_azimuth_deg"), foot)
    else:
        sheet.label_row(sheet.width / 2, foot + 17, "places not noted", anchor="middle")
    planned = facts.get("planned_mm")
    if planned:
        y = sheet.height - 9
        sheet.add(Line(0, y + 6, 0, y - 8, Role.PLAN))
        words = f"planned {number(planned, 1)}{HARD_SPACE}mm"
        sheet.label(Text(8, y + 4, words, Role.SOFT))
