"""The parts of a paper pattern at true size: lines and words in millimetres, no paper yet.

In every part x runs along the slab and y up from the foot; (0, 0) is the lower left corner.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import pairwise

from .solve import Planned
from .steps import n
from .wish import JOINT_MM

CUT, FOLD, MARK, SEAM = "cut", "fold", "mark", "seam"
"""What a line is: cut along it, the middle, a mark to transfer, the edge of an overlap."""

TICK_MM = 6.0
STOP_BELOW_RIM_MM = 10.0
"""Where a dart as long as the wall stops being cut; the clay closes the rest (common practice)."""

CORNER_STEPS = 12
"""Chords to a quarter turn: on a corner of 10 mm they miss the arc by 0.02 mm."""

CIRCLE_STEPS = 96
"""The same for a whole base: on one of 100 mm across they miss by 0.03 mm."""

WORD_BELOW_MM = 4.5
UPRIGHT_DEG = 90.0


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line, with what it is for."""

    x0: float
    y0: float
    x1: float
    y1: float
    kind: str


@dataclass(frozen=True, slots=True)
class Word:
    """Words centred on a point, turned counter-clockwise by an angle [°]."""

    x: float
    y: float
    text: str
    turn_deg: float = 0.0


@dataclass(frozen=True, slots=True)
class Part:
    """One part to cut: its name, its size and what is drawn on it."""

    name: str
    width_mm: float
    height_mm: float
    lines: tuple[Line, ...]
    words: tuple[Word, ...] = field(default=())


def parts(planned: Planned) -> list[Part]:
    """Wall, base and, where there is a handle, the strap of a plan that can be made."""
    found = [wall(planned), base(planned)]
    if "strap_length_mm" in planned.steps:
        found.append(strap(planned))
    return found


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


def wall(planned: Planned) -> Part:
    """The wall with its darts, marks and overlap."""
    length, height = planned["pattern_length_mm"], planned["pattern_height_mm"]
    places = mark_places(planned)
    lines, words = [], []
    if planned.wish.dart_count:
        lines += _darted_outline(planned, places)
        lines += _dart_marks(planned, places)
        words += _dart_words(planned, places)
    else:
        lines += _closed([(0, 0), (length, 0), (length, height), (0, height)], CUT)
    middle = length / 2
    lines.append(Line(middle, 0, middle, height, FOLD))
    for x in places:
        inside = min(max(x, 0), length)
        lines.append(Line(inside, height - TICK_MM, inside, height, MARK))
        if not planned.wish.dart_count:
            lines.append(Line(inside, 0, inside, TICK_MM, MARK))
    if planned["lap_mm"]:
        lines += _bevels(planned)
        words += _bevel_words(planned)
    words.append(Word(middle + length / 8, height * 0.62, "outside of the cup, rim up"))
    words.append(Word(middle, height - TICK_MM - WORD_BELOW_MM, "centre", UPRIGHT_DEG))
    return Part(f"Wall, {n1(length)} × {n1(height)} mm", length, height, tuple(lines), tuple(words))


def _bevels(planned: Planned) -> list[Line]:
    """How far the bevel reaches in from either end, along the end as it is cut."""
    length, height, lap = (
        planned[key] for key in ("pattern_length_mm", "pattern_height_mm", "lap_mm")
    )
    half, depth = _half_on_seam(planned)
    edge = [(lap, height), (lap, depth), (lap + half, 0.0)]
    return [
        Line(*before, *after, SEAM)
        for points in (edge, [(length - x, y) for x, y in edge])
        for before, after in pairwise(points)
        if before != after
    ]


def _bevel_words(planned: Planned) -> list[Word]:
    length, height, lap = (
        planned[key] for key in ("pattern_length_mm", "pattern_height_mm", "lap_mm")
    )
    half, depth = _half_on_seam(planned)
    y = height / 2
    inward = lap / 2 + (half * (1 - y / depth) if depth > y else 0.0)
    lean = math.degrees(math.atan2(half, depth)) if depth > y else 0.0
    said = f"bevel {n(planned.wish.bevel_deg)}°, overlap {n1(lap)} mm"
    return [
        Word(inward, y, f"{said}, this face", UPRIGHT_DEG + lean),
        Word(length - inward, y, f"{said}, other face", UPRIGHT_DEG - lean),
    ]


def _half_on_seam(planned: Planned) -> tuple[float, float]:
    """Half the width, and the depth, of a dart that sits on the seam; nothing where none does."""
    if not (planned.wish.dart_count and planned.wish.seam_on_corner):
        return 0.0, 0.0
    return planned["dart_width_mm"] / 2, planned["dart_depth_mm"]


def n1(value: float) -> str:
    """A size on paper: tenths of a millimetre, as fine as a pencil line."""
    return f"{value:.1f}"


def _inner_places(planned: Planned, places: list[float]) -> list[float]:
    """Darts that are whole on the pattern; one on the seam is half at either end."""
    return places[1:-1] if planned.wish.seam_on_corner else places


def _darted_outline(planned: Planned, places: list[float]) -> list[Line]:
    length, height = planned["pattern_length_mm"], planned["pattern_height_mm"]
    half, depth = planned["dart_width_mm"] / 2, planned["dart_depth_mm"]
    foot = [(0.0, 0.0)]
    if planned.wish.seam_on_corner:
        foot = [(0.0, depth), (half, 0.0)]
    for x in _inner_places(planned, places):
        foot += [(x - half, 0.0), (x, depth), (x + half, 0.0)]
    foot += (
        [(length - half, 0.0), (length, depth)] if planned.wish.seam_on_corner else [(length, 0.0)]
    )
    around = [*foot, (length, height), (0.0, height)]
    return _closed([p for p, q in pairwise([*around, around[0]]) if p != q], CUT)


def _dart_marks(planned: Planned, places: list[float]) -> list[Line]:
    """Lines across each dart where its depth ends, and where the knife stops below the rim."""
    half, depth = planned["dart_width_mm"] / 2, planned["dart_depth_mm"]
    stop = min(depth, planned["pattern_height_mm"] - STOP_BELOW_RIM_MM)
    inner = _inner_places(planned, places)
    across = [Line(x - half, stop, x + half, stop, MARK) for x in inner]
    return across + [Line(x, 0.0, x, min(TICK_MM, depth), MARK) for x in inner]


def _dart_words(planned: Planned, places: list[float]) -> list[Word]:
    depth, width = planned["dart_depth_mm"], planned["dart_width_mm"]
    full = depth > planned["pattern_height_mm"] - STOP_BELOW_RIM_MM
    stop = planned["pattern_height_mm"] - STOP_BELOW_RIM_MM if full else depth
    said = f"dart {n1(width)} wide, {n1(depth)} deep" + (
        ", stop cutting at the line" if full else ""
    )
    inner = _inner_places(planned, places)
    return [Word(x + width / 2 + WORD_BELOW_MM, stop / 2, said, UPRIGHT_DEG) for x in inner]


def base(planned: Planned) -> Part:
    """The base: the foot's square with its corners, or a disc."""
    side = planned["base_side_mm"]
    thick = planned["base_thickness_mm"]
    if planned.wish.dart_count:
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
        Line(half, 0, half, TICK_MM, MARK),
        Line(half, side - TICK_MM, half, side, MARK),
        Line(0, half, TICK_MM, half, MARK),
        Line(side - TICK_MM, half, side, half, MARK),
    ]
    return Part(said, side, side, (*_closed(outline, CUT), *marks), (Word(half, half, "base"),))


def strap(planned: Planned) -> Part:
    """The handle's strap: what goes into the two joints is marked."""
    length, width = planned["strap_length_mm"], planned["strap_width_mm"]
    corners = [(0, 0), (length, 0), (length, width), (0, width)]
    return Part(
        f"Handle strip, {n1(length)} × {n1(width)} mm, for {planned.wish.fingers} "
        f"finger{'s' if planned.wish.fingers > 1 else ''}",
        length,
        width,
        (
            *_closed(corners, CUT),
            Line(JOINT_MM, 0, JOINT_MM, width, SEAM),
            Line(length - JOINT_MM, 0, length - JOINT_MM, width, SEAM),
            Line(length / 2, 0, length / 2, TICK_MM, MARK),
        ),
        (Word(length / 2, width / 2 - 1, "handle: make at least two"),),
    )


def _rounded_square(side: float, radius: float) -> list[tuple[float, float]]:
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


def _closed(points: Iterable[tuple[float, float]], kind: str) -> list[Line]:
    around = list(points)
    return [Line(*before, *after, kind) for before, after in pairwise([*around, around[0]])]
