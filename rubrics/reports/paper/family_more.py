"""The second page: the year in pictures, every piece in the order it was made, each with a line."""

from __future__ import annotations

from studio.lettering.fonts import SERIF_STRONG

from ..family import FamilyPage, PublishedPiece
from ..language import as_written, day_said, said
from ..palette import INK
from ..wording import decimal_said, percent
from . import styles
from .blocks import Flowable, Gap, Row, Rule, Stack
from .family_size import Cuts, PageSizes
from .family_top import strong_points
from .prints import Print, opened

COLUMNS = 2
MOST = 8
"""A year has three to eight projects; four rows of two fill a sheet."""
BETWEEN = 20.0
LARGEST_PHOTO = 190.0
"""Few pieces get large pictures. [pt]"""
ROOM_FOR_PHOTOS = 560.0
"""Of a sheet's height, what may go to pictures and their lines. [pt]"""
LINES = 66.0
"""Height of the lines below a picture. [pt]"""
LINE = 3
"""Lines of text for the one sentence."""


def has_more(page: FamilyPage) -> bool:
    """Whether a year has two pictures at least: a single one stands on the first page already."""
    return sum(bool(piece.pictures) for piece in page.pieces) > 1


def year(page: FamilyPage, size: PageSizes, cuts: Cuts, width: float, grey: bool) -> Flowable:
    """Every piece, the first one first, in two columns."""
    pieces = page.pieces[:MOST][::-1]
    name = styles.plain(page.student, 13.0, font=SERIF_STRONG, most_lines=1, align=0)
    heading = styles.soft(said("The year in pictures"), size.text)
    rows = -(-len(pieces) // COLUMNS)
    photo = min(LARGEST_PHOTO, ROOM_FOR_PHOTOS / rows - LINES)
    column = (width - BETWEEN) / COLUMNS
    parts: list[Flowable] = [name, heading, Gap(5), Rule(1.2, INK), Gap(12)]
    for place in range(0, len(pieces), COLUMNS):
        cells = [
            _cell(page, piece, size, cuts, box=(column, photo), grey=grey)
            for piece in pieces[place : place + COLUMNS]
        ]
        cells += [Gap(0)] * (COLUMNS - len(cells))
        parts += [Row(cells, [column] * COLUMNS, BETWEEN), Gap(14)]
    if len(page.pieces) > MOST:
        more = len(page.pieces) - MOST
        parts.append(styles.soft(said("And {more} more, on the screen.", more=more), 9))
    return Stack(parts)


def _cell(
    page: FamilyPage,
    piece: PublishedPiece,
    size: PageSizes,
    cuts: Cuts,
    *,
    box: tuple[float, float],
    grey: bool,
) -> Flowable:
    """One piece: its picture within ``box`` (width, height) [pt], and its line."""
    parts: list[Flowable] = []
    for each in piece.pictures[:1]:
        photo = opened(each.file, each.window)
        if photo is None:
            cuts.unread = True
        else:
            parts += [Print(photo, *box, grey=grey), Gap(4)]
    shown = piece.shown
    project = as_written(piece.title or shown["project"])
    figure = percent(decimal_said(shown["percent"])) if shown["percent"] is not None else ""
    parts += [
        styles.plain(
            f"{piece.number}  {project}", size.text + 1.0, font=SERIF_STRONG, most_lines=2
        ),
        styles.soft(
            " · ".join(
                filter(None, (day_said(shown["date"]), f"{figure} {shown['grade']}".strip()))
            ),
            size.text - 1.0,
            most_lines=1,
        ),
    ]
    line = _line(page, piece)
    if line:
        words = styles.plain(line, size.text - 0.5, most_lines=LINE)
        parts.append(cuts.watch(words, "the line below a picture"))
    return Stack(parts)


def _line(page: FamilyPage, piece: PublishedPiece) -> str:
    """What was strong about a piece, in one line; the teacher's words where nothing was."""
    mine = (
        page
        if piece is page.pieces[0]
        else FamilyPage(student=page.student, section=page.section, day=page.day, pieces=(piece,))
    )
    points = strong_points(mine)
    return points[0] if points else _words(piece)


def _words(piece: PublishedPiece) -> str:
    words = piece.shown["words"].strip()
    return as_written(words) if words else ""
