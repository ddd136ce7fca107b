"""The handle as one faces it, with its lean, and from above, with its twist and its place."""

from __future__ import annotations

import math

from ..layout import DrawingSheet, around
from ..palette import Role
from ..result_json import Facts
from ..scene import Circle, Line, Path, Scene, Text, arc
from ..wording import judged_of, quantity

HEIGHT = 214.0
CUP_TOP, CUP_FOOT = 26.0, 160.0
HANDLE_TOP, HANDLE_FOOT = 46.0, 138.0
HANDLE_HALF = 6.0
RING = 36.0
STUB = 34.0
MOST_DRAWN_DEG = 40.0
"""Beyond this a lean or a twist is drawn as this much, so that it stays on the sheet."""


def picture(facts: Facts, width: float) -> Scene:
    """Draw the handle of a result of ``handle_alignment``."""
    sheet = DrawingSheet(width, HEIGHT)
    _facing(sheet, facts, width * 0.27)
    _from_above(sheet, facts, width * 0.76)
    return sheet.scene()


def _facing(sheet: DrawingSheet, facts: Facts, x: float) -> None:
    lean = facts.get("lean_deg")
    sheet.label(Text(x, 12, "facing the handle", Role.SOFT, anchor="middle"))
    sheet.add(
        Path(
            ((x - 56, CUP_TOP), (x + 56, CUP_TOP), (x + 45, CUP_FOOT), (x - 45, CUP_FOOT)),
            Role.CLAY,
            closed=True,
        )
    )
    if lean is None:
        sheet.label(Text(x, 92, "lean not read", Role.SOFT, anchor="middle"))
        return
    middle = (HANDLE_TOP + HANDLE_FOOT) / 2
    reach = (HANDLE_FOOT - HANDLE_TOP) / 2 + 12

    def along(angle_deg: float, way: float) -> tuple[float, float]:
        turn = math.radians(angle_deg)
        return (x + way * math.sin(turn), middle - way * math.cos(turn))

    judged = judged_of(facts, "lean_deg")
    if judged:
        limit = min(judged["limit"], MOST_DRAWN_DEG)
        for way in (reach, -reach):
            wedge = ((x, middle), along(-limit, way), along(limit, way))
            sheet.add(Path(wedge, Role.PAPER, closed=True))
        for side in (-limit, limit):
            sheet.add(Line(*along(side, -reach), *along(side, reach), Role.BAND_EDGE))
    drawn = _bounded(lean)
    top, foot = along(drawn, reach - 12), along(drawn, 12 - reach)
    normal = math.radians(drawn)
    nx, ny = HANDLE_HALF * math.cos(normal), HANDLE_HALF * math.sin(normal)
    strap = tuple(
        (px + side * nx, py + side * ny)
        for (px, py), side in ((top, -1), (top, 1), (foot, 1), (foot, -1))
    )
    sheet.add(
        Path(strap, Role.MEASURE_WASH, closed=True),
        Line(x, middle - reach - 2, x, middle + reach + 2, Role.PLAN),
        Line(*top, *foot, Role.MEASURE),
        Circle(*top, 3.5, Role.MEASURE_DOT),
        Circle(*foot, 3.5, Role.MEASURE_DOT),
    )
    words = f"leans {quantity('lean_deg', abs(lean))} {_side(lean)}"
    sheet.label_row(x, CUP_FOOT + 18, words, Role.INK, size=12.0, strong=True, anchor="middle")
    if judged is None:
        return
    sheet.label_row(x, CUP_FOOT + 33, "shaded: within the limit", Role.SOFT, anchor="middle")


def _bounded(angle_deg: float) -> float:
    return min(max(angle_deg, -MOST_DRAWN_DEG), MOST_DRAWN_DEG)


def _side(angle_deg: float) -> str:
    """The side to which the top goes, for who faces the handle."""
    if float(f"{angle_deg:.1f}") == 0:
        return ""
    return "right" if angle_deg > 0 else "left"


def _from_above(sheet: DrawingSheet, facts: Facts, x: float) -> None:
    y = 72.0
    sheet.label(Text(x, 12, "from above", Role.SOFT, anchor="middle"))
    placement, twist = facts.get("placement_deg"), facts.get("twist_deg")

    def at(azimuth_deg: float, radius: float) -> tuple[float, float]:
        turn = math.radians(azimuth_deg)
        return (x + radius * math.sin(turn), y + radius * math.cos(turn))

    stands = placement or 0.0
    root = at(stands, RING - 2)
    points_to = math.radians(stands + _bounded(twist or 0.0))
    end = (root[0] + STUB * math.sin(points_to), root[1] + STUB * math.cos(points_to))
    sideways = (5.0 * math.cos(points_to), -5.0 * math.sin(points_to))
    stub = tuple(
        (px + way * sideways[0], py + way * sideways[1])
        for (px, py), way in ((root, -1), (root, 1), (end, 1), (end, -1))
    )
    judged = judged_of(facts, "placement_deg")
    if judged:
        limit = min(judged["limit"], 90.0)
        edge = arc(x, y, RING + STUB + 6, 90 - limit, 90 + limit)
        sheet.add(Path(((x, y), *edge), Role.BAND, closed=True))
        sheet.add(Line(x, y, *edge[0], Role.BAND_EDGE), Line(x, y, *edge[-1], Role.BAND_EDGE))
    sheet.add(
        Path(stub, Role.MEASURE_WASH, closed=True),
        Circle(x, y, RING, Role.CLAY),
        Circle(x, y, RING - 6, Role.PAPER),
        Path(arc(x, y, RING - 6, 0, 350), Role.CLAY_LINE, closed=True, smooth=True),
        Line(x, y, *at(0, RING + STUB + 8), Role.PLAN),
        Line(*root, *end, Role.MEASURE),
        Circle(*root, 3.5, Role.MEASURE_DOT),
    )
    _seam(sheet, facts, at)
    rows = []
    if twist is not None:
        rows.append(f"twist {quantity('twist_deg', abs(twist))}")
    if placement is not None:
        side = f" {_side(placement)}" if _side(placement) else ""
        rows.append(f"off its place {quantity('placement_deg', abs(placement))}{side}")
    for row, words in enumerate(rows):
        sheet.label_row(
            x, CUP_FOOT + 18 + 15 * row, words, Role.INK, size=12.0, strong=True, anchor="middle"
        )
    _fingers(sheet, facts, x)


def _seam(sheet: DrawingSheet, facts: Facts, at) -> None:
    seam = facts.get("seam_azimuth_deg")
    if seam is None:
        return
    sheet.add(Line(*at(seam, RING - 9), *at(seam, RING + 1), Role.LIMIT))
    near = at(seam, RING - 18)
    text = Text(near[0], near[1] + 4, "seam", Role.SOFT, anchor="middle")
    sheet.label(*around(text, ((0, 0), (0, -6), (0, 6))))


def _fingers(sheet: DrawingSheet, facts: Facts, x: float) -> None:
    room = facts.get("finger_room_mm")
    if room is None:
        return
    said = quantity("finger_room_mm", abs(room))
    words = f"finger room: {said} {'to spare' if room >= 0 else 'too tight'}"
    sheet.label_row(x, CUP_FOOT + 49, words, Role.SOFT, anchor="middle")
