"""The seam and the darts as strips from foot to rim: what is open, what goes through, the steps."""

from __future__ import annotations

from ..layout import DrawingSheet, fitted, text_box
from ..palette import Role
from ..result_json import Facts
from ..scene import Line, Path, Rect, Scene, Text
from ..wording import number

STRIP, BETWEEN = 18.0, 10.0
STEP_ROOM, FOUND_ROOM = 19.0, 14.0
"""Room over a strip for the words about its steps, and under it for what is open. [unit]"""
NAME_ROOM = 52.0
SMALLEST_GAP = 3.0
"""An open part is drawn at least this long, or a hairline of a millimetre would be lost. [unit]"""
LENS = 6.0
ZIGZAG = 5.0
MOST_ROWS = 7
SHORTEST_MM = 1.0
"""The strips are laid out for no less than this [mm]: nothing shorter is a join."""
DARTS_SHORTER = 0.45
"""A join without a known length is drawn this share of the longest one."""


def picture(facts: Facts, width: float) -> Scene:
    """Draw the joins of a result of ``seam_join``."""
    joins = facts["joins"][:MOST_ROWS]
    tops, below = [], 0.0
    for join in joins:
        below += STEP_ROOM if join["steps_mm"] else 0.0
        tops.append(below)
        found = _opened(join) or join["through_parts_mm"]
        below += STRIP + (FOUND_ROOM if found else 0.0) + BETWEEN
    sheet = DrawingSheet(width, below + 18.0)
    longest = max((_extent(join) for join in joins), default=0.0)
    longest = max(longest, SHORTEST_MM)
    per_mm = (width - NAME_ROOM - 2.0) / longest
    for top, join in zip(tops, joins, strict=True):
        _join(sheet, join, top, per_mm, longest)
    foot = below + 10.0
    sheet.label(Text(NAME_ROOM, foot, "foot", Role.SOFT))
    sheet.label(Text(width, foot, "rim" if _up(joins) else "", Role.SOFT, anchor="end"))
    _key(sheet, facts, foot)
    return sheet.scene()


def _up(joins: list[Facts]) -> bool:
    """Whether a join that goes up to the rim is among them."""
    return any(join["name"] == "seam" for join in joins)


def _key(sheet: DrawingSheet, facts: Facts, foot: float) -> None:
    if facts.get("through"):
        words = "dark: goes through; in mm"
    elif any(_opened(join) for join in facts["joins"]):
        words = "white: open; in mm"
    elif facts.get("open_mm") is None:
        words = "in mm"
    else:
        words = "all closed; in mm"
    sheet.label(Text((NAME_ROOM + sheet.width) / 2, foot, words, Role.SOFT, anchor="middle"))


def _opened(join: Facts) -> bool:
    return bool(join["open_parts_mm"] or join.get("unplaced_open_mm"))


def _unplaced(
    sheet: DrawingSheet, length: float, strip: tuple[float, float], top: float, per_mm: float
) -> None:
    """An open part of which nobody said where it starts: in the middle, and said so."""
    left, right = strip
    middle = (left + right) / 2
    half = min(max(length * per_mm, SMALLEST_GAP), right - left) / 2
    sheet.add(_lens(middle - half, middle + half, top + STRIP / 2))
    _said(sheet, middle, top + STRIP + 12, f"open {number(length, 1)} somewhere")


def _extent(join: Facts) -> float:
    """How long a join is, or at least how far along it something was found."""
    ends = [to for _, to in (*join["open_parts_mm"], *join["through_parts_mm"])]
    ends += [where for where, _ in join["steps_mm"] if where is not None]
    ends += [sum(join.get("unplaced_open_mm") or ())]
    return max([join["length_mm"] or 0.0, *ends])


def _join(sheet: DrawingSheet, join: Facts, top: float, per_mm: float, longest: float) -> None:
    length = _extent(join) or longest * DARTS_SHORTER
    left, right = NAME_ROOM, NAME_ROOM + max(length * per_mm, 4.0)
    middle = top + STRIP / 2
    sheet.add(
        Rect(left, top, right - left, STRIP, Role.CLAY, 2.0),
        Line(left + 1, middle, right - 1, middle, Role.CLAY_LINE),
    )
    sheet.label(Text(0, middle + 4, fitted(_name(join["name"]), NAME_ROOM - 6, 12.0), size=12.0))
    through = [tuple(part) for part in join["through_parts_mm"]]
    opened = [part for part in map(tuple, join["open_parts_mm"]) if part not in through]
    unplaced = sum(join.get("unplaced_open_mm") or ())
    for start, end in opened:
        sheet.add(_lens(*_span(left, right, start, end, per_mm), middle))
    if unplaced:
        _unplaced(sheet, unplaced, (left, right), top, per_mm)
    for start, end in through:
        a, b = _span(left, right, start, end, per_mm)
        sheet.add(_zigzag(a, b, middle))
        _said(sheet, (a + b) / 2, top + STRIP + 12, f"through {number(end - start, 1)}", True)
    for start, end in sorted(opened, key=lambda part: part[0] - part[1]):
        a, b = _span(left, right, start, end, per_mm)
        _said(sheet, (a + b) / 2, top + STRIP + 12, f"open {number(end - start, 1)}")
    for where, step in sorted(join["steps_mm"], key=lambda each: -each[1]):
        x = right - 10 if where is None else min(max(left + where * per_mm, left), right)
        _step(sheet, x, middle, step)
        _said(sheet, x, top - 5, f"step {number(step, 1)}")
    if join["length_mm"]:
        words = f"{number(join['length_mm'], 0)} long"
        sheet.label(
            Text(right + 8, middle + 4, words, Role.SOFT),
            Text(right, top + STRIP + 12, words, Role.SOFT, anchor="end"),
        )


def _name(name: str) -> str:
    """ "dart2" is said "dart 2"."""
    return f"dart {name[4:]}" if name.startswith("dart") and name[4:].isdigit() else name


def _span(left: float, right: float, start: float, end: float, per_mm: float) -> tuple:
    a, b = left + start * per_mm, left + end * per_mm
    if b - a < SMALLEST_GAP:
        middle = (a + b) / 2
        a, b = middle - SMALLEST_GAP / 2, middle + SMALLEST_GAP / 2
    return max(a, left), min(max(b, left + SMALLEST_GAP), max(right, left + SMALLEST_GAP))


def _lens(a: float, b: float, middle: float) -> Path:
    bulge = min(LENS, (b - a) / 2 + 1.5)
    third = (b - a) / 4
    return Path(
        (
            (a, middle),
            (a + third, middle - bulge * 0.8),
            ((a + b) / 2, middle - bulge),
            (b - third, middle - bulge * 0.8),
            (b, middle),
            (b - third, middle + bulge * 0.8),
            ((a + b) / 2, middle + bulge),
            (a + third, middle + bulge * 0.8),
        ),
        Role.OPEN,
        closed=True,
        smooth=True,
    )


def _zigzag(a: float, b: float, middle: float) -> Path:
    """A jagged dark gap across the strip's middle: a crack that goes through."""
    teeth = max(2, round((b - a) / ZIGZAG))
    upper = [
        (a + (b - a) * k / teeth, middle - (ZIGZAG if k % 2 else ZIGZAG / 4))
        for k in range(teeth + 1)
    ]
    lower = [(x, y + ZIGZAG * 0.8) for x, y in reversed(upper)]
    return Path((*upper, *lower), Role.CRACK, closed=True)


def _step(sheet: DrawingSheet, x: float, middle: float, step: float) -> None:
    """Two lips that miss each other."""
    rise = min(max(step * 2.5, 2.0), STRIP / 2 - 1)
    sheet.add(
        Path(
            ((x - 7, middle), (x, middle), (x, middle - rise), (x + 7, middle - rise)),
            Role.ASK,
        )
    )


def _said(sheet: DrawingSheet, x: float, y: float, words: str, strong: bool = False) -> None:
    text = sheet.inside(Text(x, y, words, Role.INK, 12.0, strong, "middle"))
    if text_box(text)[0] >= NAME_ROOM - 8:
        sheet.label(text)
    else:
        sheet.label(Text(NAME_ROOM, y, words, Role.INK, 12.0, strong))
