"""The wall unrolled: each reading a slice of clay between the jaws of its planned thickness."""

from __future__ import annotations

import itertools

from ..facts import Facts
from ..layout import Sheet, around
from ..palette import Role
from ..scene import Circle, Line, Rect, Scene, Text
from ..wording import number, wrap_half_turn

SLAB_TOP, SLAB_HEIGHT = 16.0, 132.0
SLICE = 9.0
"""Height of a slice. [unit]"""
UNITS_PER_MM = 4.0
COLUMN_SHARE = 0.62
"""A slice takes at most this share of the room between two columns."""
JAW = 7.0
NOTCH = 9.0
"""How far the mark of the seam reaches in from the rim and from the foot. [unit]"""
RIM_ROOM = 1.14
"""The slab reaches this much above the highest station."""
STRIP_TOP = SLAB_TOP + SLAB_HEIGHT + 36.0
HEIGHT = STRIP_TOP + 42.0
OPPOSITE_DEG = 180.0


def picture(facts: Facts, width: float) -> Scene:
    """Draw the wall of a result of ``wall_evenness``."""
    sheet = Sheet(width, HEIGHT)
    stations = _placed(facts["stations"])
    cut = _cut([s["azimuth_deg"] for s in stations])

    def across(azimuth_deg: float) -> float:
        return ((azimuth_deg - cut) % 360.0) / 360.0 * width

    placed = any(s["azimuth_deg"] is not None for s in facts["stations"])
    _slab(sheet, facts, across, placed)
    _slices(sheet, facts, stations, across)
    _strip(sheet, facts, width)
    return sheet.scene()


def _placed(stations: list[Facts]) -> list[Facts]:
    """The readings with a side; where none has one, all of them in a row, as they were taken."""
    placed = [s for s in stations if s["azimuth_deg"] is not None]
    if placed:
        return placed
    step = 360.0 / len(stations)
    return [s | {"azimuth_deg": OPPOSITE_DEG + step * (i + 0.5)} for i, s in enumerate(stations)]


def _cut(azimuths_deg: list[float]) -> float:
    """Where the wall is cut open: between two columns of readings, as near the back as can be."""
    columns = sorted({a % 360.0 for a in azimuths_deg})
    if not columns:
        return OPPOSITE_DEG
    around_once = [*columns, columns[0] + 360.0]
    gaps = [(b - a, (a + b) / 2) for a, b in itertools.pairwise(around_once) if b > a]
    widest = max(gap for gap, _ in gaps)
    open_enough = [middle for gap, middle in gaps if gap >= widest * 0.75]
    return min(open_enough, key=lambda m: (round(abs(wrap_half_turn(m - OPPOSITE_DEG)), 6), -m))


def _slab(sheet: Sheet, facts: Facts, across, placed: bool) -> None:
    foot = SLAB_TOP + SLAB_HEIGHT
    sheet.add(Rect(0.5, SLAB_TOP, sheet.width - 1, SLAB_HEIGHT, Role.CLAY, 2.0))
    sheet.label(Text(0, SLAB_TOP - 5, "rim", Role.SOFT))
    if not placed:
        sheet.label_row(sheet.width / 2, foot + 16, "places not noted", anchor="middle")
        return
    seam = facts.get("seam_azimuth_deg")
    if seam is not None:
        for top in (SLAB_TOP, foot - NOTCH):
            sheet.add(Line(across(seam), top, across(seam), top + NOTCH, Role.LIMIT))
    for azimuth, words in _places(seam):
        x = across(azimuth)
        sheet.add(Line(x, foot, x, foot + 4, Role.CLAY_LINE))
        role = Role.INK if words in ("handle", "seam") else Role.SOFT
        sheet.label_row(x, foot + 16, words, role, anchor="middle")
    sheet.label(
        Text(sheet.width, SLAB_TOP - 5, "unrolled, seen from outside", Role.SOFT, anchor="end")
    )


def _places(seam: float | None) -> list[tuple[float, str]]:
    places = [(0.0, "handle")]
    if seam is not None:
        places.append((seam, "seam"))
    return [*places, (90.0, "right"), (270.0, "left"), (180.0, "back")]


def _slices(sheet: Sheet, facts: Facts, stations: list[Facts], across) -> None:
    if not stations:
        return
    columns = len({round(s["azimuth_deg"] % 360.0) for s in stations})
    thickest = max(s["value_mm"] for s in stations)
    planned = facts.get("planned_mm")
    room = COLUMN_SHARE * sheet.width / columns
    per_mm = min(UNITS_PER_MM, room / max(thickest, planned or 0.0, 1.0))
    heights = [s["height_mm"] for s in stations if s["height_mm"] is not None]
    top = max(heights) * RIM_ROOM if len(set(heights)) > 1 else 0.0
    thinnest, thickest = _extreme(facts, min), _extreme(facts, max)
    for station in sorted(stations, key=lambda s: s["value_mm"] not in (thinnest, thickest)):
        x = across(station["azimuth_deg"])
        y = _level(station["height_mm"], top)
        half = station["value_mm"] * per_mm / 2
        left, right = max(1.0, x - half), min(sheet.width - 1.0, x + half)
        is_thin = station["value_mm"] == thinnest and thinnest < thickest
        role = Role.CLAY_DARK if is_thin else Role.MEASURE_WASH
        sheet.add(Rect(left, y - SLICE, right - left, SLICE, role, 1.5))
        if planned:
            jaw = planned * per_mm / 2
            sheet.add(
                *(
                    Line(side, y - SLICE / 2 - JAW, side, y - SLICE / 2 + JAW, Role.AXIS)
                    for side in (x - jaw, x + jaw)
                    if 0 < side < sheet.width
                )
            )
        words = Text(
            x,
            y + 12,
            number(station["value_mm"], 1),
            Role.CLAY_TEXT if is_thin else Role.INK,
            11.5,
            strong=is_thin or station["value_mm"] == thickest > thinnest,
            anchor="middle",
        )
        sheet.label(*map(sheet.inside, around(words, ((0, 0), (0, -SLICE - 15)))))


def _extreme(facts: Facts, which) -> float:
    """The thinnest or the thickest reading; they get their numbers before the others do. [mm]"""
    return which(s["value_mm"] for s in facts["stations"])


def _level(height_mm: float | None, top: float) -> float:
    """Height on the page; in the middle where no height is known, or but one."""
    inner = SLAB_HEIGHT - 2 * 16.0
    share = 0.5 if height_mm is None or top <= 0 else min(max(height_mm / top, 0.0), 1.0)
    return SLAB_TOP + SLAB_HEIGHT - 18.0 - share * (inner - 4.0)


def _strip(sheet: Sheet, facts: Facts, width: float) -> None:
    """Every reading on one axis of thickness, with the plan beside: the spread is its length."""
    values = [s["value_mm"] for s in facts["stations"]]
    planned = facts.get("planned_mm")
    low, high = min([*values, planned or values[0]]), max([*values, planned or values[0]])
    room = max(high - low, 1.0) * 0.12
    low, high = low - room, high + room

    def along(value: float) -> float:
        return (value - low) / (high - low) * width

    y = STRIP_TOP + 18
    sheet.add(Line(0, y, width, y, Role.AXIS))
    if planned:
        sheet.add(Line(along(planned), y - 7, along(planned), y + 10, Role.PLAN))
    sheet.add(Line(along(min(values)), y, along(max(values)), y, Role.MEASURE))
    sheet.add(*(Line(along(v), y - 5, along(v), y + 5, Role.MEASURE) for v in values))
    sheet.add(Circle(along(min(values)), y, 4.0, Role.CLAY_DARK))
    thin = f"thinnest {number(min(values), 1)}\N{NO-BREAK SPACE}mm"
    thick = f"thickest {number(max(values), 1)}\N{NO-BREAK SPACE}mm"
    sheet.label_row(along(min(values)), y - 10, thin, Role.CLAY_TEXT, strong=True, anchor="middle")
    end = sheet.inside(Text(along(max(values)), y - 10, thick, Role.INK, anchor="middle"))
    right = Text(width, y - 10, thick, Role.INK, anchor="end")
    sheet.label(end, right, Text(0, y - 10, thick, Role.INK))
    if planned:
        words = f"jaws: planned {number(planned, 1)}\N{NO-BREAK SPACE}mm"
        sheet.label_row(along(planned), y + 20, words, anchor="middle")
