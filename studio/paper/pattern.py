"""The paper pattern of a plan at true size, tiled where a part is larger than the paper."""

from __future__ import annotations

from dataclasses import dataclass

from reportlab.lib.units import mm

from studio.planning.pattern import CUT, FOLD, MARK, SEAM, Part, Word, parts
from studio.planning.solve import Planned
from studio.planning.tiling import OVERLAP_MM, Tile, clip, tiles

from .sheets import LIGHT_GREY, Paper, Sheet

MARGIN_MM = 10.0
"""Wider than the strip that a common printer leaves white."""
HEAD_MM, NAME_MM, FOOT_MM = 12.0, 6.0, 13.0
GAP_MM = 12.0
CHECK_BAR_MM, BAR_HEIGHT_MM = 100.0, 2.0
TITLE_PT, NOTE_PT, WORD_PT = 11.0, 8.0, 7.5
JOIN_GREY = 0.45
CROSS_MM = 4.0

WIDTHS_MM = {CUT: 0.4, FOLD: 0.2, MARK: 0.3, SEAM: 0.2}
DASHES_MM = {CUT: (), FOLD: (6, 1.5, 1, 1.5), MARK: (), SEAM: (2, 1.5)}
JOIN_DASH_MM = (1, 1)


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
    sheet = Sheet(width, height, origin=(MARGIN_MM, MARGIN_MM), title=f"Pattern: {heading.title}")
    for number, placed in enumerate(sheets):
        if number:
            sheet.next_page()
        _frame(sheet, room, heading, f"Sheet {number + 1} of {len(sheets)}")
        for part, tile, x, y in placed:
            _draw(sheet, part, tile, x, y)
    return sheet.finish()


def _spread(wanted: list[Part], room: tuple[float, float]) -> list[list[tuple]]:
    """Which part or tile goes on which sheet and where: (part, tile, x, y) by sheet.

    A part goes beside the one before where there is room left; paper is dear.
    """
    sheets: list[list[tuple]] = []
    used = room[0]
    for part in wanted:
        for tile in tiles(part.width_mm, part.height_mm, *room):
            # Two tiles of one part never share a sheet: nobody could lay them over each other.
            is_next_tile = tile.column + tile.row > 0
            if is_next_tile or used + GAP_MM + tile.width > room[0]:
                sheets.append([])
                used = -GAP_MM
            x = used + GAP_MM
            sheets[-1].append((part, tile, x, _bottom(room, tile)))
            used = x + tile.width
    return sheets


def _bottom(room: tuple[float, float], tile: Tile) -> float:
    """Where a tile's lower edge lies: in the middle of the sheet's height."""
    return FOOT_MM + (room[1] - tile.height) / 2


def _frame(sheet: Sheet, room: tuple[float, float], heading: Heading, number: str) -> None:
    top = FOOT_MM + room[1] + NAME_MM + HEAD_MM
    clay = f"{heading.clay}, shrinks {heading.shrinkage_percent:.4g} % from wet to glazed"
    sheet.fitted(0, top - 4.5, heading.title, size=TITLE_PT, room=room[0] * 0.62, strong=True)
    sheet.fitted(room[0], top - 4.5, number, size=NOTE_PT, room=room[0] * 0.3, at="right")
    note = f"{clay}. Sizes are wet; cut along the solid lines."
    sheet.fitted(0, top - 9.5, note, size=NOTE_PT, room=room[0])
    sheet.rectangle(0, 2.0, CHECK_BAR_MM, BAR_HEIGHT_MM)
    sheet.words(
        CHECK_BAR_MM + 3,
        2.2,
        f"This bar is {CHECK_BAR_MM:g} mm long when printed at 100 %, not “fit to page”.",
        size=NOTE_PT,
    )
    _legend(sheet, room[0])


LEGEND = ((CUT, "cut"), (FOLD, "centre"), (SEAM, "bevel"))
SAMPLE_MM, LEGEND_STEP_MM = 9.0, 22.0


def _legend(sheet: Sheet, right: float) -> None:
    x = right - LEGEND_STEP_MM * len(LEGEND)
    for kind, said in LEGEND:
        sheet.canvas.setDash([d * mm for d in DASHES_MM[kind]])
        grey = 0.0 if kind == CUT else JOIN_GREY
        sheet.line(x, 3.0, x + SAMPLE_MM, 3.0, width=WIDTHS_MM[kind], grey=grey)
        sheet.words(x + SAMPLE_MM + 1.5, 2.2, said, size=NOTE_PT)
        x += LEGEND_STEP_MM
    sheet.canvas.setDash([])


def _draw(sheet: Sheet, part: Part, tile: Tile, x: float, y: float) -> None:
    """One tile of a part with its lower left corner at (x, y)."""
    dx, dy = x - tile.x, y - tile.y
    for line in part.lines:
        seen = clip(line, tile)
        if seen is None:
            continue
        sheet.canvas.setDash([d * mm for d in DASHES_MM[seen.kind]])
        sheet.line(
            seen.x0 + dx,
            seen.y0 + dy,
            seen.x1 + dx,
            seen.y1 + dy,
            width=WIDTHS_MM[seen.kind],
            grey=0.0 if seen.kind in (CUT, MARK) else JOIN_GREY,
        )
    sheet.canvas.setDash([])
    for word in part.words:
        if tile.x <= word.x <= tile.x + tile.width and tile.y <= word.y <= tile.y + tile.height:
            _word(sheet, word, dx, dy)
    name = part.name
    if tile.columns * tile.rows > 1:
        name += f": piece {_letter(tile)} of {tile.columns * tile.rows}"
        _joins(sheet, tile, dx, dy)
    room = max(tile.width, 60.0)
    sheet.fitted(x, y + tile.height + 2.0, name, size=NOTE_PT, room=room, strong=True)


def _word(sheet: Sheet, word: Word, dx: float, dy: float) -> None:
    canvas = sheet.canvas
    canvas.saveState()
    canvas.translate((word.x + dx) * mm, (word.y + dy) * mm)
    canvas.rotate(word.turn_deg)
    sheet.words(0, -0.9, word.text, size=WORD_PT, at="middle", grey=0.25)
    canvas.restoreState()


def _letter(tile: Tile) -> str:
    return str(tile.row * tile.columns + tile.column + 1)


def _joins(sheet: Sheet, tile: Tile, dx: float, dy: float) -> None:
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
