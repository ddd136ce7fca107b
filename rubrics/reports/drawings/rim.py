"""The rim from above, the handle towards you: how high it stands over its lowest point."""

from __future__ import annotations

import math

from ..facts import Facts
from ..layout import Sheet, around
from ..palette import Role
from ..scene import Circle, Line, Path, Rect, Scene, Text, arc
from ..wording import number, wrap_half_turn

HEIGHT = 250.0
CENTRE_Y = 116.0
NOMINAL, HIGHEST = 46.0, 76.0
"""Radius at which the lowest point and the highest point are drawn. [unit]"""
WALL = 6.0
LABEL_OUT, LABEL_OUT_ACROSS = 11.0, 8.0
SEAM_IN, SEAM_BEYOND = NOMINAL - WALL - 13.0, 25.0
ON_THE_HANDLE_DEG = 12.0
"""Nearer to the handle than this, a number stands beside its stub and not upon it. [°]"""
ARROW = 34.0
SMALLEST_SCALE_MM = 1.0
"""A rise below this [mm] is not blown up to the full width of the drawing: it looks level."""
STEPS = 72


def picture(facts: Facts, width: float) -> Scene:
    """Draw the rim of a result of ``rim_level``."""
    sheet = Sheet(width, HEIGHT)
    x = width / 2
    lowest = min(s["value_mm"] for s in facts["stations"])
    rise = max(s["value_mm"] for s in facts["stations"]) - lowest
    per_mm = (HIGHEST - NOMINAL) / max(rise, SMALLEST_SCALE_MM)

    def at(azimuth_deg: float, radius: float) -> tuple[float, float]:
        turn = math.radians(azimuth_deg)
        return (x + radius * math.sin(turn), CENTRE_Y + radius * math.cos(turn))

    _cup(sheet, x, facts, at)
    readings = sorted((s["azimuth_deg"] % 360.0, s["value_mm"] - lowest) for s in facts["stations"])
    outline = tuple(at(a, NOMINAL + above * per_mm) for a, above in _between(readings))
    sheet.add(Path(outline, Role.MEASURE, closed=True))
    _high_side(sheet, facts, at)
    for azimuth, above in sorted(readings, key=lambda r: -r[1]):
        dot = at(azimuth, NOMINAL + above * per_mm)
        sheet.add(Circle(*dot, 3.5, Role.MEASURE_DOT))
        highest = above == rise and rise > 0
        sine, cosine = math.sin(math.radians(azimuth)), math.cos(math.radians(azimuth))
        away = LABEL_OUT + LABEL_OUT_ACROSS * abs(sine)
        out = at(azimuth, NOMINAL + above * per_mm + away)
        words = Text(
            out[0],
            out[1] + 4,
            ("+" if above > 0 else "") + number(above, 1),
            Role.MEASURE_TEXT if highest else Role.INK,
            11.5,
            strong=highest,
            anchor="middle",
        )
        places = [(0.0, 0.0), (sine * 9, cosine * 9)]
        if abs(wrap_half_turn(azimuth)) < ON_THE_HANDLE_DEG:
            places = [(22.0, 5.0), (-22.0, 5.0), (0.0, 8.0)]
        sheet.label(*around(words, places))
    sheet.label(
        Text(0, HEIGHT - 4, "mm above the lowest point", Role.SOFT),
    )
    sheet.label(Text(width, HEIGHT - 4, "seen from above", Role.SOFT, anchor="end"))
    _seam_word(sheet, facts, at, lambda azimuth: NOMINAL + per_mm * _at(readings, azimuth))
    return sheet.scene()


def _seam_word(sheet: Sheet, facts: Facts, at, drawn_radius) -> None:
    """Name the seam inside the ring, or beyond the number that stands outside it."""
    seam = facts.get("seam_azimuth_deg")
    if seam is None:
        return
    beyond = drawn_radius(seam) + SEAM_BEYOND
    places = [at(seam, radius) for radius in (SEAM_IN, beyond, beyond + 12.0)]
    sheet.label(*(Text(x, y + 4, "seam", Role.SOFT, 10.5, anchor="middle") for x, y in places))


def _at(readings: list[tuple[float, float]], azimuth_deg: float) -> float:
    """Height of the drawn rim near an azimuth: that of the nearest point of its outline."""
    return min(_between(readings), key=lambda point: abs(wrap_half_turn(point[0] - azimuth_deg)))[1]


def _cup(sheet: Sheet, x: float, facts: Facts, at) -> None:
    """The ring of clay, the handle's stub below, the seam as a notch."""
    sheet.add(
        Rect(x - 6, CENTRE_Y + NOMINAL - 3, 12, HIGHEST - NOMINAL + 20, Role.CLAY, 5.0),
        Circle(x, CENTRE_Y, NOMINAL, Role.CLAY),
        Circle(x, CENTRE_Y, NOMINAL - WALL, Role.PAPER),
        Path(arc(x, CENTRE_Y, NOMINAL - WALL, 0, 350), Role.CLAY_LINE, closed=True, smooth=True),
    )
    handle_y = CENTRE_Y + HIGHEST + 31
    sheet.label(Text(x - 14, handle_y - 9, "handle", Role.SOFT, anchor="end"))
    seam = facts.get("seam_azimuth_deg")
    if seam is not None:
        inner, outer = at(seam, NOMINAL - WALL - 3), at(seam, NOMINAL + 1)
        sheet.add(Line(*inner, *outer, Role.LIMIT))


def _between(readings: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Round the rim in small steps, straight from reading to reading: no bump is invented."""
    points = []
    count = len(readings)
    for i, (azimuth, above) in enumerate(readings):
        to_azimuth, to_above = readings[(i + 1) % count]
        turn = (to_azimuth - azimuth) % 360.0 or (360.0 if count == 1 else 0.0)
        parts = max(1, round(turn / 360.0 * STEPS))
        points += [
            (azimuth + turn * k / parts, above + (to_above - above) * k / parts)
            for k in range(parts)
        ]
    return points


def _high_side(sheet: Sheet, facts: Facts, at) -> None:
    """An arrow from the middle to the side that the tilt lifts, where there is a tilt to tell."""
    side = facts.get("high_side_deg")
    if side is None or facts.get("cause") not in ("tilt", "both"):
        words = "level" if facts.get("cause") == "none" else "wavy"
        middle = at(0, 0)
        sheet.label(Text(middle[0], middle[1] + 4, words, Role.INK, 12.0, True, "middle"))
        return
    tail, tip = at(side, 3.0), at(side, ARROW)
    barbs = tuple(at_point(tip, side, spread) for spread in (150.0, -150.0))
    sheet.add(
        Line(*tail, *tip, Role.ASK),
        Path((barbs[0], tip, barbs[1]), Role.ASK),
    )
    x, y = at(side, -15.0)
    for words, drop in (("high", -1.0), ("side", 11.0)):
        sheet.label(Text(x, y + drop, words, Role.CLAY_TEXT, 11.5, True, "middle"))
    sheet.keep_clear(tuple(f(tail[i], tip[i]) for f in (min, max) for i in (0, 1)))


def at_point(tip: tuple[float, float], side_deg: float, spread_deg: float) -> tuple[float, float]:
    """The end of a barb of an arrow that points to a side."""
    turn = math.radians(side_deg + spread_deg)
    return (tip[0] + 7 * math.sin(turn), tip[1] + 7 * math.cos(turn))
