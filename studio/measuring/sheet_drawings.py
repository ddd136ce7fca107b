"""The small drawing over a measuring sheet: where each column is read. Pure: figures to paths.

Every drawing is 320 by 170 units. The cup seen from above has the handle's side at the
bottom, towards the reader; counter-clockwise goes to the right.
"""

from dataclasses import dataclass
from math import cos, radians, sin

from studio.ware.quantities import THICKEST, THINNEST
from studio.ware.stations import SIDE_LETTERS, Column, StationSet

ABOVE_X, ABOVE_Y, ABOVE_R, MIDDLE_R, LABEL_R = 84.0, 90.0, 52.0, 46.0, 68.0
SIDE_LEFT, SIDE_RIGHT, SIDE_TOP, SIDE_FOOT, FOOT_INSET = 190.0, 280.0, 26.0, 150.0, 12.0
QUARTER_DEG, HALF_TURN_DEG = 90.0, 180.0
SIDE_LABEL_R = 74.0
"""Words on either side need more room than those above. [unit]"""
BESIDE_HANDLE = 34.0
SQUARE_LEFT, SQUARE_TOP, SQUARE = 105.0, 32.0, 110.0


@dataclass(frozen=True, slots=True)
class StationMark:
    """One station: the column it belongs to, its path, and where its label stands."""

    column: str
    path: str
    x: float
    y: float
    label: str = ""
    anchor: str = "middle"


@dataclass(frozen=True, slots=True)
class StationWord:
    """A word that stays."""

    x: float
    y: float
    text: str


@dataclass(frozen=True, slots=True)
class StationDrawing:
    """Outlines and words that stay, and marks that light up."""

    title: str
    outlines: tuple[str, ...]
    marks: tuple[StationMark, ...]
    words: tuple[StationWord, ...] = ()


def drawing_of(chosen: StationSet) -> StationDrawing:
    """Draw a set."""
    outlines, marks = _MAKERS[chosen.drawing](chosen)
    title = f"{chosen.title}: where each column is read"
    return StationDrawing(title, tuple(outlines), tuple(marks), _side_words(chosen))


def _side_words(chosen: StationSet) -> tuple[StationWord, ...]:
    """The letters of the four sides, where a side is named."""
    if not any(column.by_side for column in chosen.columns):
        return ()
    sides = SIDE_LETTERS.items()
    return tuple(StationWord(*_label_at(azimuth), letter.upper()) for letter, azimuth in sides)


def _at(azimuth: float, radius: float) -> tuple[float, float]:
    turn = radians(azimuth)
    return ABOVE_X + radius * sin(turn), ABOVE_Y + radius * cos(turn)


def _circle(x: float, y: float, r: float) -> str:
    return f"M{x - r:.1f} {y:.1f}a{r:g} {r:g} 0 1 0 {2 * r:g} 0a{r:g} {r:g} 0 1 0 {-2 * r:g} 0"


def _segment(x1: float, y1: float, x2: float, y2: float) -> str:
    return f"M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}"


def _above_outlines() -> list[str]:
    handle_y = ABOVE_Y + ABOVE_R
    return [
        _circle(ABOVE_X, ABOVE_Y, ABOVE_R),
        _circle(ABOVE_X, ABOVE_Y, ABOVE_R - 12),
        # The handle's place: two short lines towards the reader.
        _segment(ABOVE_X - 6, handle_y - 1, ABOVE_X - 6, handle_y + 20),
        _segment(ABOVE_X + 6, handle_y - 1, ABOVE_X + 6, handle_y + 20),
    ]


def _side_outlines() -> list[str]:
    left, right, inset = SIDE_LEFT, SIDE_RIGHT, FOOT_INSET
    return [
        f"M{left} {SIDE_TOP}L{left + inset} {SIDE_FOOT}H{right - inset}L{right} {SIDE_TOP}Z",
        _segment(left - 24, SIDE_FOOT + 1, right + 30, SIDE_FOOT + 1),
    ]


def _side_x(height_share: float) -> float:
    """How far the wall stands in at a share of the height."""
    return FOOT_INSET * (1 - height_share)


def _wall(chosen):
    heights = {column.height_mm for column in chosen.columns}
    # One height is drawn at the middle, several up to four fifths.
    top = 2 * max(heights) if len(heights) == 1 else 1.25 * max(heights)
    marks = []
    for column in chosen.columns:
        share = column.height_mm / top
        y = SIDE_FOOT - share * (SIDE_FOOT - SIDE_TOP)
        x, z = _at(column.azimuth_deg, MIDDLE_R)
        inset = _side_x(share)
        # Seen from the left: the back is at the left, the handle at the right.
        side_x = {
            180: SIDE_LEFT + inset,
            0: SIDE_RIGHT - inset,
        }.get(column.azimuth_deg, (SIDE_LEFT + SIDE_RIGHT) / 2)
        spot = _circle(x, z, 5) + _circle(side_x, y, 4)
        first = column.height_mm == chosen.columns[0].height_mm
        label = _side_label(column) if first else ""
        marks.append(StationMark(column.key, spot, *_label_at(column.azimuth_deg), label))
    return [*_above_outlines(), *_side_outlines(), _side_handle()], marks


def _side_label(column: Column) -> str:
    """The column's name at the four sides; between them there is no room for one."""
    return column.label if column.azimuth_deg % QUARTER_DEG == 0 else ""


def _label_at(azimuth: float) -> tuple[float, float]:
    # Beside the handle's place, not on it.
    x, y = _at(azimuth, SIDE_LABEL_R if azimuth % HALF_TURN_DEG else LABEL_R)
    return (x + BESIDE_HANDLE, y + 5) if azimuth == 0 else (x, y + 5)


def _side_handle() -> str:
    return f"M{SIDE_RIGHT - 2} 50c34 -6 34 66 -6 62"


def _ends(chosen):
    """Each end a place on the ring and on the side view."""
    spots = {THINNEST: (225.0, 0.8, 4), THICKEST: (45.0, 0.2, 8)}
    middle = (SIDE_LEFT + SIDE_RIGHT) / 2
    marks = []
    for column in chosen.columns:
        azimuth, share, r = spots[column.name]
        y = SIDE_FOOT - share * (SIDE_FOOT - SIDE_TOP)
        path = _circle(*_at(azimuth, MIDDLE_R), r) + _circle(middle, y, r)
        marks.append(StationMark(column.key, path, middle, y - r - 6, column.label))
    return [*_above_outlines(), *_side_outlines(), _side_handle()], marks


def _rim(chosen):
    marks = []
    for column in chosen.columns:
        x, y = _at(column.azimuth_deg, MIDDLE_R)
        # On the side view the rim is one line; the spot stands where it lies from the left.
        share = cos(radians(column.azimuth_deg))
        side_x = (SIDE_LEFT + SIDE_RIGHT) / 2 + share * (SIDE_RIGHT - SIDE_LEFT) / 2
        gauge = _segment(side_x, SIDE_TOP, side_x, SIDE_FOOT)
        path = _circle(x, y, 5) + gauge
        marks.append(
            StationMark(column.key, path, *_label_at(column.azimuth_deg), _side_label(column))
        )
    return [*_above_outlines(), *_side_outlines(), _side_handle()], marks


def _sizes(chosen):
    middle = (SIDE_LEFT + SIDE_RIGHT) / 2 - 110
    shift = -110
    left, right = SIDE_LEFT + shift, SIDE_RIGHT + shift
    foot_left, foot_right = left + FOOT_INSET, right - FOOT_INSET
    spots = {
        "height": (_segment(left - 18, SIDE_TOP, left - 18, SIDE_FOOT), left - 24, 92, "end"),
        "depth": (_segment(middle, SIDE_TOP, middle, SIDE_FOOT - 9), middle + 6, 70, "start"),
        "rim_diameter": (_segment(left, SIDE_TOP - 8, right, SIDE_TOP - 8), right + 6, 22, "start"),
        "rim_diameter_2": (
            _segment(left, SIDE_TOP + 8, right, SIDE_TOP + 8),
            right + 6,
            40,
            "start",
        ),
        "max_diameter": (_segment(left + 3, 58, right - 3, 58), right + 6, 62, "start"),
        "base_thickness": (
            _segment(foot_right - 14, SIDE_FOOT - 9, foot_right - 14, SIDE_FOOT),
            right + 6,
            142,
            "start",
        ),
        "foot_side": (_segment(foot_left, 160, foot_right, 160), foot_right + 6, 165, "start"),
        "foot_diagonal": (_segment(foot_left, 160, foot_right, 160), foot_right + 6, 165, "start"),
        "mark": (_segment(middle - 20, 108, middle + 20, 108), right + 6, 112, "start"),
    }
    marks = []
    for column in chosen.columns:
        if column.height_mm is not None:
            share = min(column.height_mm / 100, 1)
            y = SIDE_FOOT - share * (SIDE_FOOT - SIDE_TOP)
            inset = _side_x(share)
            spot = (_segment(left + inset, y, right - inset, y), right + 6, y + 4, "start")
        else:
            spot = spots.get(column.name, spots["mark"])
        marks.append(StationMark(column.key, spot[0], spot[1], spot[2], column.label, spot[3]))
    outlines = [
        f"M{left} {SIDE_TOP}L{foot_left} {SIDE_FOOT}H{foot_right}L{right} {SIDE_TOP}",
        f"M{left + 8} {SIDE_TOP}L{foot_left + 8} {SIDE_FOOT - 9}H{foot_right - 8}"
        f"L{right - 8} {SIDE_TOP}",
        _segment(left - 24, SIDE_FOOT + 1, right + 30, SIDE_FOOT + 1),
    ]
    return outlines, marks


def _handle(chosen):
    shift = -90
    right = SIDE_RIGHT + shift
    spots = {
        "top": (_circle(right - 3, 52, 5), right + 70, 46),
        "bottom": (_circle(right - 8, 114, 5), right + 70, 128),
        "twist": (f"M{right + 46} 66a14 14 0 0 1 0 30", right + 70, 74),
        "opening-height": (_segment(right + 8, 62, right + 8, 104), right + 70, 100),
        "opening-depth": (_segment(right - 4, 84, right + 20, 84), right + 70, 100),
    }
    labels = {"top": "Top", "bottom": "Bottom", "twist": "Twist", "opening-height": "Opening"}
    marks = [
        StationMark(c.key, *spots[c.key], labels.get(c.key, ""), "start") for c in chosen.columns
    ]
    left, inset = SIDE_LEFT + shift, FOOT_INSET
    outlines = [
        f"M{left} {SIDE_TOP}L{left + inset} {SIDE_FOOT}H{right - inset}L{right} {SIDE_TOP}Z",
        _segment(left - 24, SIDE_FOOT + 1, right + 60, SIDE_FOOT + 1),
        f"M{right - 2} 46c58 -8 54 82 -6 74",
        f"M{right - 3} 58c34 -4 34 56 -4 50",
    ]
    return outlines, marks


def _seam(chosen):
    x, foot, rim = 150.0, 154.0, 18.0
    spots = {
        "seam-length": (_segment(x - 24, foot, x - 24, rim), x - 30, 90, "end"),
        "seam-open1": (_segment(x, 136, x, 112), x + 14, 128, "start"),
        "seam-open2": (_segment(x, 100, x, 84), x + 14, 96, "start"),
        "seam-through": (_segment(x - 4, 78, x + 4, 66), x + 14, 76, "start"),
        "seam-step": (f"M{x - 12} 54h12v-7h12", x + 18, 54, "start"),
        "on": (_circle(x, 30, 4), x + 14, 34, "start"),
        "beside": (_circle(x + 80, 30, 4), x + 92, 34, "start"),
    }
    labels = {"on": "On", "beside": "Beside"}
    marks = []
    for column in chosen.columns:
        path, lx, ly, anchor = spots[column.key]
        label = labels.get(column.key, column.label)
        marks.append(StationMark(column.key, path, lx, ly, label, anchor))
    return [
        _segment(40, rim, 280, rim),
        _segment(40, foot, 280, foot),
        _segment(x, rim, x, foot),
    ], marks


def _square_outline() -> str:
    return f"M{SQUARE_LEFT} {SQUARE_TOP}h{SQUARE}v{SQUARE}h-{SQUARE}z"


def _darts(chosen):
    cx, cy = SQUARE_LEFT + SQUARE / 2, SQUARE_TOP + SQUARE / 2
    directions = {1: (0, 1), 2: (1, 0), 3: (0, -1), 4: (-1, 0)}
    marks = []
    for column in chosen.columns:
        number = int(column.name[-1])
        dx, dy = directions[number]
        near, far = 14, SQUARE / 2
        path = _segment(cx + dx * near, cy + dy * near, cx + dx * far, cy + dy * far)
        label = str(number) if column.quantity == "seam_length" else ""
        marks.append(
            StationMark(column.key, path, cx + dx * (far + 14), cy + dy * (far + 12) + 4, label)
        )
    return [_square_outline()], marks


def _foot(chosen):
    left, top = SQUARE_LEFT, SQUARE_TOP
    right, low = left + SQUARE, top + SQUARE
    # Counter-clockwise from the handle's side; corner n stands before side n.
    sides = {
        1: ((left, low, right, low), (left + SQUARE / 2, low + 16)),
        2: ((right, low, right, top), (right + 12, top + SQUARE / 2 + 4)),
        3: ((right, top, left, top), (left + SQUARE / 2, top - 8)),
        4: ((left, top, left, low), (left - 12, top + SQUARE / 2 + 4)),
    }
    # Diagonal 1 joins the corner of sides 4 and 1 to that of 2 and 3.
    diagonals = {1: (left, low, right, top), 2: (right, low, left, top)}
    marks = []
    for column in chosen.columns:
        number = int(column.name)
        if column.quantity == "foot_side":
            line, (x, y) = sides[number]
            marks.append(StationMark(column.key, _segment(*line), x, y, str(number)))
        elif column.quantity == "foot_diagonal":
            marks.append(StationMark(column.key, _segment(*diagonals[number]), 0, 0))
        else:
            x, y = sides[number][0][:2]
            marks.append(StationMark(column.key, _circle(x, y, 6), 0, 0))
    return [_square_outline()], marks


def _water(chosen):
    shift = -75
    left, right = SIDE_LEFT + shift, SIDE_RIGHT + shift
    levels = {"brim": SIDE_TOP, "line": SIDE_TOP + 20}
    marks = []
    for column in chosen.columns:
        y = levels[column.name]
        inset = _side_x(1 - (y - SIDE_TOP) / (SIDE_FOOT - SIDE_TOP))
        path = _segment(left + inset, y, right - inset, y)
        marks.append(StationMark(column.key, path, right + 8, y + 5, column.label, "start"))
    inset = FOOT_INSET
    return [
        f"M{left} {SIDE_TOP}L{left + inset} {SIDE_FOOT}H{right - inset}L{right} {SIDE_TOP}",
        _segment(left - 24, SIDE_FOOT + 1, right + 30, SIDE_FOOT + 1),
    ], marks


_MAKERS = {
    "wall": _wall,
    "ends": _ends,
    "rim": _rim,
    "sizes": _sizes,
    "handle": _handle,
    "seam": _seam,
    "darts": _darts,
    "foot": _foot,
    "water": _water,
}
