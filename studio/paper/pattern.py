"""The paper pattern of a plan at true size, tiled where a part is larger than the paper."""

from __future__ import annotations

from dataclasses import dataclass

from reportlab.lib.units import mm

from studio.planning.drawn import CUT, FOLD, MARK, SEAM, PatternPart, Spot, clip
from studio.planning.pattern import parts
from studio.planning.solve import Planned
from studio.planning.tiling import OVERLAP_MM, Tile, tiles
from studio.planning.word_places import TYPE_MM, Placed, place

from .sheets import LIGHT_GREY, Paper, PdfSheet

MARGIN_MM = 10.0
"""Wider than the strip that a common printer leaves white."""
HEAD_MM, NAME_MM, FOOT_MM, LEGEND_LINE_MM = 12.0, 6.0, 16.0, 5.0
GAP_MM = 12.0
CHECK_BAR_MM, BAR_HEIGHT_MM = 100.0, 2.0
TITLE_PT, NOTE_PT, WORD_PT = 11.0, 8.0, TYPE_MM * mm
JOIN_GREY = 0.45
CROSS_MM = 4.0

WIDTHS_MM = {CUT: 0.45, FOLD: 0.2, MARK: 0.35, SEAM: 0.2}
DASHES_MM = {CUT: (), FOLD: (6, 1.5, 1, 1.5), MARK: (1.4, 0.9), SEAM: (4, 2)}
"""Only what is cut is solid: a line style says it without colour, on any printer."""
JOIN_DASH_MM = (0.4, 1)


@dataclass(frozen=True, slots=True)
class Heading:
    """What stands on every sheet: the project, the clay's name and its shrinkage [%]."""

    title: str
    clay: str
    shrinkage_percent: float


def pattern_pdf(planned: Planned, paper: Paper, heading: Heading) -> bytes:
    """The pattern as landscape sheets at 1:1.

    Parameters
    ----------
    planned : Planned
        A plan that can be made.
    paper : Paper
        The sheet it is printed on.
    heading : Heading
        What every sheet names.

    Raises
    ------
    ValueError
        The plan cannot be made; the message says why.
    """
    if planned.problems:
        raise ValueError(planned.problems[0])
    width, height = paper.long_mm, paper.short_mm
    room = (width - 2 * MARGIN_MM, height - 2 * MARGIN_MM - HEAD_MM - NAME_MM - FOOT_MM)
    sheets = _spread(parts(planned), room)
    sheet = PdfSheet(
        width, height, origin=(MARGIN_MM, MARGIN_MM), title=f"Pattern: {heading.title}"
    )
    for number, placed in enumerate(sheets):
        if number:
            sheet.next_page()
        _frame(sheet, room, heading, f"Sheet {number + 1} of {len(sheets)}")
        for piece, x, y in placed:
            _draw(sheet, piece, x, y)
    return sheet.finish()


@dataclass(frozen=True, slots=True)
class _Piece:
    """What of a part one sheet shows: its window, its words, and how it is called."""

    part: PatternPart
    tile: Tile
    words: tuple[Placed, ...]
    name: str


def _pieces(part: PatternPart, room: tuple[float, float]) -> list[_Piece]:
    spread = tiles(part.width_mm, part.height_mm, *room)
    placed, left = place(part, [tile.own for tile in spread])
    name = "; ".join([part.name, *left])
    short = part.name.split(",")[0]
    return [
        _Piece(
            part,
            tile,
            tuple(each for each in placed if each.window == number),
            f"{short if number else name}: piece {number + 1} of {len(spread)}"
            if len(spread) > 1
            else name,
        )
        for number, tile in enumerate(spread)
    ]


def _spread(wanted: list[PatternPart], room: tuple[float, float]) -> list[list[tuple]]:
    """Which piece goes on which sheet and where: (piece, x, y) by sheet.

    A part goes beside the one before where there is room left; paper is dear.
    """
    sheets: list[list[tuple]] = []
    used = room[0]
    for part in wanted:
        for piece in _pieces(part, room):
            tile = piece.tile
            # Two tiles of one part never share a sheet: nobody could lay them over each other.
            is_next_tile = tile.column + tile.row > 0
            if is_next_tile or used + GAP_MM + tile.width > room[0]:
                sheets.append([])
                used = -GAP_MM
            x = used + GAP_MM
            sheets[-1].append((piece, x, _bottom(room, tile)))
            used = x + tile.width
    return sheets


def _bottom(room: tuple[float, float], tile: Tile) -> float:
    """Where a tile's lower edge lies: in the middle of the sheet's height."""
    return FOOT_MM + (room[1] - tile.height) / 2


def _frame(sheet: PdfSheet, room: tuple[float, float], heading: Heading, number: str) -> None:
    top = FOOT_MM + room[1] + NAME_MM + HEAD_MM
    clay = f"{heading.clay}, shrinks {heading.shrinkage_percent:.4g} % from wet to glazed"
    sheet.fitted(0, top - 4.5, heading.title, size=TITLE_PT, room=room[0] * 0.62, strong=True)
    sheet.fitted(room[0], top - 4.5, number, size=NOTE_PT, room=room[0] * 0.3, at="right")
    note = f"{clay}. Sizes are wet. Cut along solid lines only; broken lines are marks."
    sheet.fitted(0, top - 9.5, note, size=NOTE_PT, room=room[0])
    sheet.rectangle(0, 2.0 + LEGEND_LINE_MM, CHECK_BAR_MM, BAR_HEIGHT_MM)
    sheet.words(
        CHECK_BAR_MM + 3,
        2.2 + LEGEND_LINE_MM,
        f"This bar is {CHECK_BAR_MM:g} mm long when printed at 100 %, not “fit to page”.",
        size=NOTE_PT,
    )
    _legend(sheet, room[0])


LEGEND = ((CUT, "cut"), (MARK, "mark, do not cut"), (FOLD, "centre"), (SEAM, "bevel reaches here"))
SAMPLE_MM = 12.0


def _legend(sheet: PdfSheet, right: float) -> None:
    """Every line style with its meaning, at the right of the foot."""
    x = right
    for kind, said in reversed(LEGEND):
        x -= sheet.width_of(said, size=NOTE_PT)
        sheet.words(x, 2.2, said, size=NOTE_PT)
        x -= SAMPLE_MM + 1.5
        _style(sheet, kind)
        sheet.line(x, 3.0, x + SAMPLE_MM, 3.0, width=WIDTHS_MM[kind], grey=GREYS[kind])
        x -= 4.0
    sheet.canvas.setDash([])


GREYS = {CUT: 0.0, MARK: 0.0, FOLD: JOIN_GREY, SEAM: JOIN_GREY}


def _style(sheet: PdfSheet, kind: str) -> None:
    sheet.canvas.setDash([d * mm for d in DASHES_MM[kind]])


def _draw(sheet: PdfSheet, piece: _Piece, x: float, y: float) -> None:
    """One piece with its lower left corner at (x, y)."""
    tile = piece.tile
    dx, dy = x - tile.x, y - tile.y
    for line in piece.part.lines:
        seen = clip(line, tile.x, tile.y, tile.width, tile.height)
        if seen is None:
            continue
        _style(sheet, seen.kind)
        sheet.line(
            seen.x0 + dx,
            seen.y0 + dy,
            seen.x1 + dx,
            seen.y1 + dy,
            width=WIDTHS_MM[seen.kind],
            grey=GREYS[seen.kind],
        )
    sheet.canvas.setDash([])
    for word in piece.words:
        _word(sheet, word.text, word.spot, dx, dy)
    if tile.columns * tile.rows > 1:
        _joins(sheet, tile, dx, dy)
    room = max(tile.width, NARROWEST_NAME_MM)
    sheet.fitted(x, y + tile.height + 2.0, piece.name, size=NOTE_PT, room=room, strong=True)


NARROWEST_NAME_MM = 60.0


def _word(sheet: PdfSheet, text: str, spot: Spot, dx: float, dy: float) -> None:
    canvas = sheet.canvas
    canvas.saveState()
    canvas.translate((spot.x + dx) * mm, (spot.y + dy) * mm)
    canvas.rotate(spot.turn_deg)
    sheet.words(0, -0.9, text, size=WORD_PT, at="middle", grey=0.25)
    canvas.restoreState()


def _letter(tile: Tile) -> str:
    return str(tile.row * tile.columns + tile.column + 1)


def _joins(sheet: PdfSheet, tile: Tile, dx: float, dy: float) -> None:
    """The lines on which two sheets are laid over each other, half an overlap from either edge.

    Both sheets draw the same line with the same crosses: cut one, keep the other, lay them
    together.
    """
    left, right = tile.x, tile.x + tile.width
    low, high = tile.y, tile.y + tile.height
    half = OVERLAP_MM / 2
    sheet.canvas.setDash([d * mm for d in JOIN_DASH_MM])
    xs = [left + half] * (tile.column > 0) + [right - half] * (tile.column < tile.columns - 1)
    ys = [low + half] * (tile.row > 0) + [high - half] * (tile.row < tile.rows - 1)
    for x in xs:
        sheet.line(x + dx, low + dy, x + dx, high + dy, width=0.25, grey=JOIN_GREY)
    for y in ys:
        sheet.line(left + dx, y + dy, right + dx, y + dy, width=0.25, grey=JOIN_GREY)
    sheet.canvas.setDash([])
    for x in xs:
        name = "".join(sorted((_letter(tile), _neighbour(tile, x > (left + right) / 2))))
        for y in (low + tile.height / 4, high - tile.height / 4):
            sheet.line(x - CROSS_MM + dx, y + dy, x + CROSS_MM + dx, y + dy, width=0.25, grey=0)
            sheet.circle(x + dx, y + dy, CROSS_MM / 2, width=0.25, grey=0)
        sheet.words(
            x + dx,
            low + dy - 4,
            f"join {name[0]} to {name[1:]}",
            size=WORD_PT,
            at="middle",
            grey=JOIN_GREY,
        )
    for y in ys:
        sheet.circle(left + tile.width / 2 + dx, y + dy, CROSS_MM / 2, width=0.25, grey=LIGHT_GREY)


def _neighbour(tile: Tile, is_right: bool) -> str:
    return str(int(_letter(tile)) + (1 if is_right else -1))
