"""The foot from above: its four sides, its two diagonals, and what stands off the table."""

from __future__ import annotations

import math

from ..layout import DrawingSheet
from ..palette import Role
from ..result_json import Facts
from ..scene import Circle, Line, Path, Point, Scene, Text
from ..wording import expanded, number

HEIGHT = 216.0
CENTRE_Y = 102.0
HALF = 66.0
"""Half of the side of the square into which the foot is drawn. [unit]"""
OUT = 12.0
NEAR, BESIDE = 0.3, 14.0
"""Where along a diagonal, as a share, and how far beside it [unit] its number stands."""
SHOWN_GAP_MM = 0.05
"""A gap below this [mm] is no gap: thinner than paper."""


def picture(facts: Facts, width: float) -> Scene:
    """Draw the foot of a result of ``squared_foot``."""
    sheet = DrawingSheet(width, HEIGHT)
    x = width / 2
    corners = _placed(_corners(facts), x)
    sheet.add(Path(corners, Role.CLAY, closed=True))
    _diagonals(sheet, facts, corners)
    _sides(sheet, facts, corners, x)
    _gaps(sheet, facts, corners, x)
    planned = facts.get("planned_side_mm")
    if planned:
        words = f"planned side {number(planned, 1)} mm"
        sheet.label(Text(0, HEIGHT - 4, words, Role.SOFT))
    sheet.label(Text(width, HEIGHT - 4, "mm, seen from above", Role.SOFT, anchor="end"))
    return sheet.scene()


def _four(facts: Facts, name: str, count: int) -> list[float | None]:
    values = list(facts.get(name) or ())
    return (values + [None] * count)[:count]


def _corners(facts: Facts) -> list[Point]:
    """Corners 1 .. 4 as the sides and a diagonal place them, y upwards; else a plain square."""
    sides = _four(facts, "sides_mm", 4)
    first, second = _four(facts, "diagonals_mm", 2)
    square = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)]
    if any(not side for side in sides) or not (first or second):
        return square
    s1, s2, s3, s4 = sides
    known = [d for d in (first, second) if d]
    first = first or second
    # Rounded corners shorten both diagonals alike: drawn as they are, a square foot would lean.
    first *= math.sqrt(2) * (sum(sides) / 4) / (sum(known) / len(known))
    # Corner 1 at the origin, corner 3 along the diagonal; 2 below it, 4 above.
    two, four = _apex(first, s1, s2), _apex(first, s4, s3)
    if two is None or four is None:
        return square
    return [(0.0, 0.0), (two[0], -two[1]), (first, 0.0), four]


def _apex(base: float, left: float, right: float) -> Point | None:
    """Third corner of a triangle over its base; None where the three cannot close."""
    x = (base**2 + left**2 - right**2) / (2 * base)
    rest = left**2 - x**2
    return (x, math.sqrt(rest)) if rest > 0 else None


def _placed(corners: list[Point], centre_x: float) -> tuple[Point, ...]:
    """Side 1 level at the bottom, the whole centred and as large as there is room for."""
    (x1, y1), (x2, y2) = corners[0], corners[1]
    turn = -math.atan2(y2 - y1, x2 - x1)
    turned = [
        (x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn))
        for x, y in corners
    ]
    left, right = min(x for x, _ in turned), max(x for x, _ in turned)
    low, high = min(y for _, y in turned), max(y for _, y in turned)
    factor = 2 * HALF / max(right - left, high - low)
    return tuple(
        (
            centre_x + (x - (left + right) / 2) * factor,
            CENTRE_Y - (y - (low + high) / 2) * factor,
        )
        for x, y in turned
    )


def _diagonals(sheet: DrawingSheet, facts: Facts, corners: tuple[Point, ...]) -> None:
    values = _four(facts, "diagonals_mm", 2)
    known = [v for v in values if v]
    for (a, b), value in zip(((0, 2), (1, 3)), values, strict=True):
        if value is None:
            continue
        sheet.add(Line(*corners[a], *corners[b], Role.MEASURE))
        longest = len(known) > 1 and value == max(known) and known[0] != known[1]
        run, drop = corners[b][0] - corners[a][0], corners[b][1] - corners[a][1]
        length = math.hypot(run, drop) or 1.0
        # Beside the line, on the side of the upper edge of the foot.
        beside = BESIDE if run > 0 else -BESIDE
        x = corners[a][0] + run * NEAR + beside * drop / length
        y = corners[a][1] + drop * NEAR - beside * run / length + 4
        words = number(value, 1)
        sheet.label(Text(x, y, words, Role.MEASURE_TEXT, 12.0, longest, "middle"))


def _sides(sheet: DrawingSheet, facts: Facts, corners: tuple[Point, ...], centre_x: float) -> None:
    sides = _four(facts, "sides_mm", 4)
    known = [side for side in sides if side is not None]
    told = expanded(facts.get("u_side_spread_mm"))
    uneven = len(known) > 1 and max(known) - min(known) > told
    for i, side in enumerate(sides):
        if side is None:
            continue
        a, b = corners[i], corners[(i + 1) % 4]
        x, y = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
        sheet.add(Line(*a, *b, Role.MEASURE))
        most, least = uneven and side == max(known), uneven and side == min(known)
        word = " longest" if most else " shortest" if least else ""
        words = number(side, 1) + word
        away = math.hypot(x - centre_x, y - CENTRE_Y) or 1.0
        dx, dy = (x - centre_x) / away, (y - CENTRE_Y) / away
        anchor = "start" if dx > 0.5 else "end" if dx < -0.5 else "middle"
        drop = 10.0 if dy > 0.5 else 0.0
        place = (x + OUT * dx, y + OUT * dy + 4 + drop * 0.4)
        role = Role.CLAY_TEXT if most or least else Role.INK
        text = Text(*place, words, role, 12.0, bool(word), anchor)
        sheet.label(sheet.inside(text), Text(*place, number(side, 1), role, 12.0, False, anchor))


def _gaps(sheet: DrawingSheet, facts: Facts, corners: tuple[Point, ...], centre_x: float) -> None:
    """Say at a corner how far it stands off the table."""
    for corner, gap in zip(corners, _four(facts, "gaps_mm", 4), strict=True):
        if gap is None:
            continue
        stands = gap >= SHOWN_GAP_MM
        sheet.add(Circle(*corner, 5.0 if stands else 3.0, Role.OPEN))
        if not stands:
            continue
        right, low = corner[0] >= centre_x, corner[1] >= CENTRE_Y
        text = Text(
            corner[0] + (10 if right else -10),
            corner[1] + (14 if low else -6),
            f"gap {number(gap, 2 if gap < 1 else 1)}",
            Role.INK,
            12.0,
            anchor="start" if right else "end",
        )
        sheet.label(sheet.inside(text))
