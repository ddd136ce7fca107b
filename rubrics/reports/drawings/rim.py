"""The rim unrolled, on one scale for every piece: how far it stands over its lowest point."""

from __future__ import annotations

import math

from rubrics.craft.results import WITHIN

from ..layout import DrawingSheet, around, text_box
from ..palette import Role
from ..result_json import Facts
from ..scene import Circle, Line, Path, Rect, Scene, Text
from ..wording import judged_of, limit_words, number
from .unrolled import across, cut_at, name_places

UNITS_PER_MM = 8.0
"""One millimetre of rise on every page. [unit]"""
MOST_MM = 15.0
"""What stands higher is drawn at this height; its number tells the rest. [mm]"""
LEAST_MM = 3.0
"""Room is left for so much, so that a level rim looks level. [mm]"""
LABEL_ROOM, BODY, BELOW = 18.0, 16.0, 40.0
"""Over the highest point, clay under the level line, and words below. [unit]"""
STEEPEST_DEG = 45.0
"""A limit as steep as this is none: no rim stands so. [°]"""
MEANT = "drawn"


def picture(facts: Facts, width: float) -> Scene:
    """Draw the rim of a result of ``rim_level``."""
    lowest = min(s["value_mm"] for s in facts["stations"])
    readings = sorted((s["azimuth_deg"] % 360.0, s["value_mm"] - lowest) for s in facts["stations"])
    limit = _limit_mm(facts)
    highest = max(LEAST_MM, min(MOST_MM, max(above for _, above in readings)), limit or 0.0)
    level_y = LABEL_ROOM + min(highest, MOST_MM) * UNITS_PER_MM
    sheet = DrawingSheet(width, level_y + BODY + BELOW)
    at = across(cut_at(azimuth for azimuth, _ in readings), width)

    def y_of(above: float) -> float:
        return level_y - min(above, MOST_MM) * UNITS_PER_MM

    if limit is not None and limit <= MOST_MM:
        sheet.add(Rect(0, y_of(limit), width, level_y - y_of(limit), Role.BAND))
    outline = [(x, y_of(above)) for x, above in _outline(readings, at, width)]
    sheet.add(Path((*outline, (width, level_y + BODY), (0.0, level_y + BODY)), Role.CLAY, True))
    if _is_to_cut(facts):
        sheet.add(Path((*outline, (width, level_y), (0.0, level_y)), Role.TAKE_OFF, closed=True))
    sheet.add(Line(0, level_y, width, level_y, Role.PLAN))
    if limit is not None and limit <= MOST_MM:
        sheet.add(Line(0, y_of(limit), width, y_of(limit), Role.LIMIT))
    lines = [level_y, *([] if limit is None else [y_of(limit)])]
    _numbers(sheet, readings, at, y_of, lines)
    if limit is not None and limit <= MOST_MM:
        words = f"limit {limit_words('_mm', limit)}"
        # Where the rim is lowest there is most room about the limit's line.
        free = [x for x, _ in sorted(outline, key=lambda point: -point[1])]
        texts = [
            sheet.inside(Text(x, y_of(limit) - 4, words, Role.SOFT, anchor="middle")) for x in free
        ]
        sheet.label(*texts, Text(width, sheet.height - 4, words, Role.SOFT, anchor="end"))
    name_places(sheet, at, facts.get("seam_azimuth_deg"), level_y + BODY)
    sheet.label(Text(0, sheet.height - 4, "mm above the lowest point", Role.SOFT))
    return sheet.scene()


def _limit_mm(facts: Facts) -> float | None:
    """The limit of the rise [mm]; one given as an angle is drawn for this rim's width."""
    if (judged := judged_of(facts, "rise_mm")) is not None:
        return judged["limit"]
    judged, radius = judged_of(facts, "rise_deg"), facts.get("radius_mm")
    if judged is None or radius is None or judged["limit"] >= STEEPEST_DEG:
        return None
    return math.tan(math.radians(judged["limit"])) * 2 * radius


def _is_to_cut(facts: Facts) -> bool:
    """Whether clay is to come off: not of a rim within its limits, nor of one meant so."""
    figures = ("rise_mm", "rise_deg", "tilt_deg", "flatness_mm")
    judged = [each for name in figures if (each := judged_of(facts, name)) is not None]
    return facts.get("rim_meant") != MEANT and any(each["verdict"] != WITHIN for each in judged)


def _outline(readings, at, width: float) -> list[tuple[float, float]]:
    """(x, height) from edge to edge, straight from reading to reading: no bump is invented."""
    points = sorted((at(azimuth), above) for azimuth, above in readings)
    (first_x, first), (last_x, last) = points[0], points[-1]
    # The edges are one place: the cut between the last reading and the first.
    gap = first_x + width - last_x
    edge = last + (first - last) * ((width - last_x) / gap if gap > 0 else 0.5)
    return [(0.0, edge), *points, (width, edge)]


def _numbers(sheet: DrawingSheet, readings, at, y_of, lines: list[float]) -> None:
    """A dot and its number at every reading, the highest first; no line runs through a number
    that can stand elsewhere."""
    rise = max(above for _, above in readings)
    for azimuth, above in sorted(readings, key=lambda r: -r[1]):
        x, y = at(azimuth), y_of(above)
        sheet.add(Circle(x, y, 3.5, Role.MEASURE_DOT))
        strong = above == rise and rise > 0
        words = Text(
            x,
            y - 6,
            ("+" if above > 0 else "") + number(above, 1),
            Role.MEASURE_TEXT if strong else Role.INK,
            12.0,
            strong=strong,
            anchor="middle",
        )
        places = [sheet.inside(each) for each in around(words, [(0, 0), (0, 19), (0, -9)])]
        struck = [any(_strikes(line, each) for line in lines) for each in places]
        sheet.label(*(each for _, each in sorted(zip(struck, places, strict=True), key=_first)))


def _first(pair: tuple[bool, Text]) -> bool:
    return pair[0]


def _strikes(line_y: float, text: Text) -> bool:
    """Whether a line at this height runs through the words."""
    _, top, _, bottom = text_box(text)
    return top < line_y < bottom
