"""The cup filled to its brim, and where the brim of the planned one would be."""

from __future__ import annotations

from ..layout import DrawingSheet, around
from ..palette import Role
from ..result_json import Facts
from ..scene import Circle, Line, Path, Scene, Text
from ..wording import HARD_SPACE, expanded, number, with_doubt

HEIGHT = 180.0
RIM_Y, FOOT_Y = 52.0, 166.0
"""Where the brim stands, unless the planned one or the doubt needs the room. [unit]"""
HALF_RIM, HALF_FOOT = 62.0, 50.0
WALL, BASE = 6.0, 10.0
HANDLE_OUT = ((8, 68), (-20, 68), (-32, 84), (-30, 108), (-14, 126), (12, 128))
HANDLE_IN = ((8, 77), (-14, 78), (-23, 88), (-21, 105), (-9, 117), (12, 119))
"""Points of the handle: [unit] from the rim's left end, and on the page."""
CAPS_FROM = 10.0
"""A shorter interval has no caps: they would cover its dot. [unit]"""
HIGHEST = 20.0
"""No brim is drawn above this. [unit]"""


def picture(facts: Facts, width: float) -> Scene:
    """Draw what a result of ``capacity`` holds."""
    sheet = DrawingSheet(width, HEIGHT)
    x = width * 0.34
    held = facts["fired_ml"] if facts.get("fired_ml") is not None else facts["capacity_ml"]
    u = facts["u_fired_ml"] if facts.get("fired_ml") is not None else facts["u_capacity_ml"]
    planned = facts.get("planned_ml")
    inside_foot = FOOT_Y - BASE
    most = max(held + expanded(u), planned or 0.0) / (held or 1.0)
    rim_y = max(RIM_Y, inside_foot - (inside_foot - HIGHEST) / max(most, 1.0))

    def level(volume_ml: float) -> float:
        """Where the brim of a cup as wide as this one would be if it held so much."""
        return inside_foot - max(volume_ml, 0.0) / (held or 1.0) * (inside_foot - rim_y)

    _cup(sheet, x, rim_y)
    left, right = _inner(rim_y, x)
    foot_left, foot_right = _inner(inside_foot, x)
    water = ((left, rim_y), (right, rim_y), (foot_right, inside_foot), (foot_left, inside_foot))
    sheet.add(Path(water, Role.MEASURE_WASH, closed=True))
    top = rim_y
    _whisker(sheet, level(held + expanded(u)), top, level(held - expanded(u)), x + HALF_RIM + 12)
    words_x = x + HALF_RIM + 24
    said = f"brim: {with_doubt('capacity_ml', held, u)}"
    nudges = [(0.0, d) for d in (0, -14, 14, -28, 28, -42, 42)]
    held_words = sheet.inside(Text(words_x, top + 4, said, Role.MEASURE_TEXT, 12.0, True))
    sheet.label(*around(held_words, nudges))
    if planned is not None:
        line = level(planned)
        a, _ = _inner(line, x)
        sheet.add(Line(a - WALL - 8, line, x + HALF_RIM + 18, line, Role.PLAN))
        words = f"planned {number(planned, 0)}{HARD_SPACE}ml"
        sheet.label(*around(Text(words_x, line + 4, words, Role.INK, 12.0), nudges))
    _two_ways(sheet, facts, words_x)
    return sheet.scene()


def _inner(y: float, x: float) -> tuple[float, float]:
    """Left and right inside of the wall at a height."""
    share = (y - RIM_Y) / (FOOT_Y - RIM_Y)
    half = HALF_RIM + (HALF_FOOT - HALF_RIM) * share - WALL
    return x - half, x + half


def _cup(sheet: DrawingSheet, x: float, rim_y: float) -> None:
    inside_foot = FOOT_Y - BASE
    drop = (rim_y - RIM_Y) / 2
    handle = [(x - HALF_RIM + dx, dy + drop) for dx, dy in HANDLE_OUT]
    hollow = [(x - HALF_RIM + dx, dy + drop) for dx, dy in HANDLE_IN]
    sheet.add(
        Path(tuple(handle), Role.CLAY, closed=True, smooth=True),
        Path(tuple(hollow), Role.PAPER, closed=True, smooth=True),
        Path(tuple(hollow), Role.CLAY_LINE, closed=True, smooth=True),
    )
    rim_left, rim_right = _inner(rim_y, x)
    foot_left, foot_right = _inner(inside_foot, x)
    inside = ((rim_left, rim_y), (rim_right, rim_y), (foot_right, inside_foot))
    sheet.add(Path((*inside, (foot_left, inside_foot)), Role.PAPER, closed=True))
    sheet.add(
        Path(
            (
                (rim_left - WALL, rim_y),
                (rim_left, rim_y),
                (foot_left, inside_foot),
                (foot_right, inside_foot),
                (rim_right, rim_y),
                (rim_right + WALL, rim_y),
                (x + HALF_FOOT, FOOT_Y),
                (x - HALF_FOOT, FOOT_Y),
            ),
            Role.CLAY,
            closed=True,
        )
    )


def _whisker(sheet: DrawingSheet, high: float, at: float, low: float, x: float) -> None:
    sheet.add(Line(x, high, x, low, Role.MEASURE), Circle(x, at, 3.5, Role.MEASURE_DOT))
    if low - high > CAPS_FROM:
        sheet.add(*(Line(x - 4, y, x + 4, y, Role.MEASURE) for y in (high, low)))


def _two_ways(sheet: DrawingSheet, facts: Facts, x: float) -> None:
    """By water and by sizes, where there are both."""
    rows = [
        (words, facts.get(key))
        for words, key in (
            ("by water", "capacity_water_ml"),
            ("by sizes", "capacity_geometry_ml"),
        )
        if facts.get(key) is not None
    ]
    for i, (words, value) in enumerate(rows):
        said = f"{words} {number(value, 0)}{HARD_SPACE}ml"
        sheet.label(Text(x, FOOT_Y - 2 - 15 * (len(rows) - 1 - i), said, Role.SOFT))
