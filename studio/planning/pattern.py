"""The parts of a paper pattern at true size: lines and words in millimetres, no paper yet."""

from __future__ import annotations

import math

from .drawn import (
    CUT,
    FOLD,
    MARK,
    SEAM,
    PatternLine,
    PatternPart,
    Point,
    Spot,
    Word,
    closed,
    polyline,
)
from .formula_steps import n
from .making import wall_panel, wall_taper
from .solve import Planned
from .taper import ring
from .wish import BUILDINGS, JOINT_MM, PlanError

TICK_MM = 6.0
STOP_BELOW_RIM_MM = 10.0
"""Where a dart as long as the wall stops being cut, so that paper and clay hold together; the clay
closes the rest (common practice). [mm]"""

CORNER_STEPS = 12
"""Chords to a quarter turn: on a corner of 10 mm they miss the arc by 0.02 mm."""

CIRCLE_STEPS = 96
"""The same for a whole base: on one of 100 mm across they miss by 0.03 mm."""

WORD_BELOW_MM = 4.5
UPRIGHT_DEG = 90.0


def parts(planned: Planned) -> list[PatternPart]:
    """Wall, base and, where there is a handle, the strap of a plan that can be made.

    Raises
    ------
    PlanError
        The piece is not built from slabs, so nothing is cut.
    """
    if not planned.wish.is_slab:
        raise PlanError(no_pattern(planned.wish.building))
    found = [_squared(planned) if planned.wish.is_squared else _round(planned), base(planned)]
    if "strap_length_mm" in planned.steps:
        found.append(strap(planned))
    return found


def no_pattern(building: str) -> str:
    """Why a piece that is not cut from slabs has no pattern."""
    return (
        f"A piece that is built otherwise ({BUILDINGS[building]}) is not cut from a pattern; its "
        "wet sizes and the clay to weigh out stand on the plan."
    )


def mark_places(planned: Planned) -> list[float]:
    """Where along the pattern the marks stand, middle of the wall, first and last included.

    The bevelled ends overlap, so once around begins half an overlap in from the left end. With
    the seam on a corner the first and the last mark are the seam itself.
    """
    lap, around = planned["lap_mm"], planned["around_mm"]
    count = planned.wish.dart_count or 4
    if planned.wish.seam_on_corner:
        return [lap / 2 + around * k / count for k in range(count + 1)]
    return [lap / 2 + around * (k + 0.5) / count for k in range(count)]


def n1(value: float) -> str:
    """A size on paper: tenths of a millimetre, as fine as a pencil line."""
    return f"{value:.1f}"


# -- a round wall --------------------------------------------------------------------------------


def _round(planned: Planned) -> PatternPart:
    """A wall without darts: a straight strip, or a piece of a ring where it tapers."""
    conical = wall_taper(planned.wish, planned.cup)
    return _strip(planned) if conical is None else _ring(planned, conical)


def _strip(planned: Planned) -> PatternPart:
    length, height = planned["pattern_length_mm"], planned["pattern_height_mm"]
    outline = [(0.0, 0.0), (length, 0.0), (length, height), (0.0, height)]
    lines = closed(outline, CUT)
    lines.append(PatternLine(length / 2, 0, length / 2, height, FOLD))
    for x in mark_places(planned):
        inside = min(max(x, 0), length)
        lines.append(PatternLine(inside, height - TICK_MM, inside, height, MARK))
        lines.append(PatternLine(inside, 0, inside, TICK_MM, MARK))
    lap = planned["lap_mm"]
    words = _wall_words(length, height)
    if lap:
        lines += [PatternLine(x, 0, x, height, SEAM) for x in (lap, length - lap)]
        words += _bevel_words(planned, lap / 2, length - lap / 2, height / 2, 0.0)
    name = f"Wall, {n1(length)} × {n1(height)} mm"
    return PatternPart(name, length, height, tuple(outline), tuple(lines), tuple(words))


def _ring(planned: Planned, conical) -> PatternPart:
    lap = planned["lap_mm"]
    placed = ring(conical, lap)
    outline = placed.outline
    lines = closed(outline, CUT)
    lines.append(PatternLine(*placed.at(0, 0), *placed.at(0, 1), FOLD))
    tick = TICK_MM / conical.slant
    for x in mark_places(planned):
        share = 2 * (x - lap / 2) / planned["around_mm"] - 1
        for low, high in ((0, tick), (1 - tick, 1)):
            lines.append(PatternLine(*placed.at(share, low), *placed.at(share, high), MARK))
    lean = math.degrees(conical.angle) / 2
    lean = lean if conical.is_wide_above else -lean
    words = [
        Word("outside of the cup, rim up", tuple(Spot(*placed.at(s, 0.55)) for s in (0.2, -0.2))),
        Word("centre", (Spot(*placed.at(0.02, 0.85), UPRIGHT_DEG),)),
    ]
    if lap:
        half = lap / 2
        for end in (-1, 1):
            lines.append(PatternLine(*placed.at(end, 0, -half), *placed.at(end, 1, -half), SEAM))
        (x0, y0), (x1, y1) = placed.at(-1, 0.5), placed.at(1, 0.5)
        words += _bevel_words(planned, x0, x1, (y0 + y1) / 2, lean)
    name = (
        f"Wall, piece of a ring: arcs of {n1(conical.outer)} and {n1(conical.inner)} mm, "
        f"{math.degrees(conical.angle):.1f}°"
    )
    return PatternPart(
        name, placed.width, placed.height, tuple(outline), tuple(lines), tuple(words)
    )


def _wall_words(length: float, height: float) -> list[Word]:
    middle = length / 2
    return [
        Word(
            "outside of the cup, rim up",
            tuple(Spot(middle + side * length / 8, height * 0.62) for side in (1, -1)),
        ),
        Word(
            "centre", (Spot(middle + WORD_BELOW_MM, height - TICK_MM - WORD_BELOW_MM, UPRIGHT_DEG),)
        ),
    ]


def _bevel_words(planned: Planned, left: float, right: float, y: float, lean: float) -> list[Word]:
    """Which face is bevelled at either end: in the overlap where it is wide enough, else beside."""
    lap = planned["lap_mm"]
    said = f"bevel {n(planned.wish.bevel_deg)}°, overlap {n1(lap)} mm"
    words = []
    for x, inward, face in ((left, 1, "this face"), (right, -1, "other face")):
        turn = UPRIGHT_DEG + inward * lean
        beside = tuple(Spot(x + inward * (lap / 2 + k * WORD_BELOW_MM), y, turn) for k in (1, 2))
        words.append(Word(f"{said}, {face}", (Spot(x, y, turn), *beside)))
    return words


# -- a wall whose darts square the foot ----------------------------------------------------------


def _squared(planned: Planned) -> PatternPart:
    """The wall with its darts, marks and overlap, and the foot's edge as it must be cut."""
    length, height = planned["pattern_length_mm"], planned["pattern_height_mm"]
    lap, places = planned["lap_mm"], mark_places(planned)
    laid = wall_panel(planned.wish, planned.cup)
    foot = _foot_edge(planned, places)
    outline = [*foot, (length, height), (0.0, height)]
    lines = _cut_and_marked(outline, _inner(planned, places), height - STOP_BELOW_RIM_MM)
    # With the seam on a corner the middle is a dart; else it is the middle of a side.
    low = laid.side_mm if planned.wish.seam_on_corner else 0.0
    lines += polyline([(length / 2, low), (length / 2, height)], FOLD)
    lines += [
        PatternLine(x, height - TICK_MM, x, height, MARK)
        for x in (min(max(x, 0), length) for x in places)
    ]
    lines += _dart_marks(planned, places)
    words = _wall_words(length, height) + _dart_words(planned, places)
    if lap:
        half = planned["dart_mouth_mm"] / 2 if planned.wish.seam_on_corner else 0.0
        low = planned["foot_hang_mm"] if planned.wish.seam_on_corner else 0.0
        edge = [(lap, height), (lap, laid.side_mm), (lap + half, low)]
        lines += polyline(edge, SEAM) + polyline([(length - x, y) for x, y in edge], SEAM)
        # Clear of a dart on the seam, whose end leans in.
        y = (height + laid.side_mm) / 2 if laid.side_mm < height / 2 else height / 2
        words += _bevel_words(planned, lap / 2, length - lap / 2, y, 0.0)
    name = f"Wall, {n1(length)} × {n1(height)} mm"
    return PatternPart(name, length, height, tuple(outline), tuple(lines), tuple(words))


def _inner(planned: Planned, places: list[float]) -> list[float]:
    """Darts that are whole on the pattern; one on the seam is half at either end."""
    return places[1:-1] if planned.wish.seam_on_corner else places


def _foot_edge(planned: Planned, places: list[float]) -> list[Point]:
    """The lower edge from left to right, with the darts; y = 0 in the middle of a side."""
    laid = wall_panel(planned.wish, planned.cup)
    length, lap, quarter = planned["pattern_length_mm"], planned["lap_mm"], planned["quarter_mm"]
    tip = laid.side_mm
    half = [(x, tip - below) for x, below in laid.edge]

    def panel_at(middle: float, *, left: bool = True, right: bool = True) -> list[Point]:
        points = [(middle - x, y) for x, y in reversed(half)] if left else []
        return points + [(middle + x, y) for x, y in half[1 if left else 0 :]] if right else points

    if planned.wish.seam_on_corner:
        edge: list[Point] = [(0.0, tip)]
        for k, place in enumerate(places[:-1]):
            points = panel_at(place + quarter / 2)
            if k == 0:
                edge.append((points[0][0] - lap / 2, points[0][1]))
            edge += points
            if k < len(places) - 2:
                edge.append((places[k + 1], tip))
        return [*edge, (edge[-1][0] + lap / 2, edge[-1][1]), (length, tip)]
    edge = [(0.0, 0.0), *panel_at(lap / 2, left=False)]
    for place in places[:-1]:
        edge += [(place, tip), *panel_at(place + quarter / 2)]
    return [*edge, (places[-1], tip), *panel_at(length - lap / 2, right=False), (length, 0.0)]


def _cut_and_marked(outline: list[Point], darts: list[float], stop: float) -> list[PatternLine]:
    """The outline to cut; of a dart that reaches the rim, what lies above the stop is marked."""
    lines = []
    for line in closed(outline, CUT):
        top = max(line.y0, line.y1)
        is_dart = any(min(abs(line.x0 - x), abs(line.x1 - x)) < 1e-9 for x in darts)
        if not is_dart or top <= stop or line.y0 == line.y1:
            lines.append(line)
            continue
        share = (stop - line.y0) / (line.y1 - line.y0)
        x = line.x0 + share * (line.x1 - line.x0)
        low, high = (CUT, MARK) if line.y1 > line.y0 else (MARK, CUT)
        lines += [
            PatternLine(line.x0, line.y0, x, stop, low),
            PatternLine(x, stop, line.x1, line.y1, high),
        ]
    return lines


def _dart_marks(planned: Planned, places: list[float]) -> list[PatternLine]:
    """Where each dart's cut ends."""
    tip, stop = _tip_and_stop(planned)
    half = planned["dart_mouth_mm"] / 2 * (1 - stop / tip) + TICK_MM / 2
    return [PatternLine(x - half, stop, x + half, stop, MARK) for x in _inner(planned, places)]


def _tip_and_stop(planned: Planned) -> tuple[float, float]:
    """Heights over the middle of a side of the darts' tips, and of where cutting stops. [mm]"""
    tip = planned["foot_hang_mm"] + planned["dart_depth_mm"]
    return tip, min(tip, planned["pattern_height_mm"] - STOP_BELOW_RIM_MM)


def _dart_words(planned: Planned, places: list[float]) -> list[Word]:
    tip, stop = _tip_and_stop(planned)
    half = planned["dart_mouth_mm"] / 2
    said = f"dart {n1(2 * half)} wide, {n1(planned['dart_depth_mm'])} deep"
    words = []
    for x in _inner(planned, places):
        beside = tuple(
            Spot(x + side * (half + WORD_BELOW_MM), tip / 2, UPRIGHT_DEG) for side in (1, -1)
        )
        above = tuple(Spot(x, tip + k * WORD_BELOW_MM) for k in (1, 2, 3))
        words.append(Word(said, above if stop == tip else beside))
        if stop < tip:
            further = Spot(x + half + 2 * WORD_BELOW_MM, tip / 2, UPRIGHT_DEG)
            words.append(Word("cut to the mark, not on to the rim", (further,)))
    hang = f"{n1(planned['foot_hang_mm'])} lower here"
    middle = _inner(planned, places)[0] + planned["quarter_mm"] / 2
    words.append(Word(hang, (Spot(middle, WORD_BELOW_MM), Spot(middle, 2 * WORD_BELOW_MM))))
    return words


# -- base and strap ------------------------------------------------------------------------------


def base(planned: Planned) -> PatternPart:
    """The base: the foot's square with its corners, or a disc."""
    side = planned["base_side_mm"]
    thick = planned["base_thickness_mm"]
    if planned.wish.is_squared:
        radius = planned.cup.corner_mm / (1 - planned.wish.shrinkage)
        outline = _rounded_square(side, radius)
        said = f"Base, {n1(side)} mm square, {n1(thick)} mm thick"
    else:
        outline = [
            (side / 2 * (1 + math.cos(a)), side / 2 * (1 + math.sin(a)))
            for a in (2 * math.pi * k / CIRCLE_STEPS for k in range(CIRCLE_STEPS))
        ]
        said = f"Base, {n1(side)} mm across, {n1(thick)} mm thick"
    half = side / 2
    marks = [
        PatternLine(half, 0, half, TICK_MM, MARK),
        PatternLine(half, side - TICK_MM, half, side, MARK),
        PatternLine(0, half, TICK_MM, half, MARK),
        PatternLine(side - TICK_MM, half, side, half, MARK),
    ]
    words = (Word("base", (Spot(half, half),)),)
    return PatternPart(said, side, side, tuple(outline), (*closed(outline, CUT), *marks), words)


def strap(planned: Planned) -> PatternPart:
    """The handle's strap: what goes into the two joints is marked."""
    length, width = planned["strap_length_mm"], planned["strap_width_mm"]
    corners = ((0.0, 0.0), (length, 0.0), (length, width), (0.0, width))
    name = (
        f"Handle strip, {n1(length)} × {n1(width)} mm, for {planned.wish.fingers} "
        f"finger{'s' if planned.wish.fingers > 1 else ''}"
    )
    lines = (
        *closed(corners, CUT),
        PatternLine(JOINT_MM, 0, JOINT_MM, width, SEAM),
        PatternLine(length - JOINT_MM, 0, length - JOINT_MM, width, SEAM),
        PatternLine(length / 2, 0, length / 2, TICK_MM, MARK),
    )
    spot = Spot(length / 2, (width + TICK_MM) / 2)
    return PatternPart(
        name, length, width, corners, lines, (Word("handle: make at least two", (spot,)),)
    )


def _rounded_square(side: float, radius: float) -> list[Point]:
    centres = [
        (side - radius, radius, -90),
        (side - radius, side - radius, 0),
        (radius, side - radius, 90),
        (radius, radius, 180),
    ]
    if radius <= 0:
        return [(x, y) for x, y, _ in centres]
    points = []
    for x, y, begin in centres:
        for k in range(CORNER_STEPS + 1):
            angle = math.radians(begin + 90 * k / CORNER_STEPS)
            points.append((x + radius * math.cos(angle), y + radius * math.sin(angle)))
    return points
