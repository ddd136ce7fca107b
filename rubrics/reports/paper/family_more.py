"""The second page: the pieces before, a strip each."""

from __future__ import annotations

from studio.lettering.fonts import SERIF_STRONG

from ..drawings.levels import level_boxes
from ..family import FamilyPage, Told
from ..language import day_said, said
from ..outcomes import as_written, outcome_said
from ..palette import EDGE, INK
from ..print_drawing import POINTS_PER_UNIT, to_reportlab
from ..shown import ShownCriterion
from ..wording import decimal_said, percent
from . import styles
from .blocks import Flowable, Gap, Row, Rule, Stack
from .family_size import BETWEEN, Cuts, Size
from .family_top import caption
from .prints import Print, opened

MOST = 4
PHOTO_WIDTH, PHOTO_HEIGHT = 150.0, 112.0
COLUMNS = 2
MOST_CRITERIA = 8
SMALL_BOXES = 0.8
FIRST_COLUMN = 170.0


def earlier(page: FamilyPage, size: Size, cuts: Cuts, width: float, grey: bool) -> Flowable:
    """Up to four pieces before the latest one, the nearest first."""
    before = page.pieces[1:]
    heading = said("Pieces before this one")
    name = styles.plain(page.student, 13.0, font=SERIF_STRONG, most_lines=1, align=0)
    parts: list[Flowable] = [name, styles.soft(heading, size.text), Gap(5), Rule(1.2, INK)]
    for place, piece in enumerate(before[:MOST]):
        parts += [Rule(0.5, EDGE)] if place else []
        parts += [Gap(9), _strip(piece, size, cuts, width, grey), Gap(9)]
    if len(before) > MOST:
        parts.append(
            styles.soft(said("And {more} more, on the screen.", more=len(before) - MOST), 9)
        )
    return Stack(parts)


def _strip(piece: Told, size: Size, cuts: Cuts, width: float, grey: bool) -> Flowable:
    photo = next(filter(None, (opened(each.file) for each in piece.pictures[:1])), None)
    words = _about(piece, size, cuts, width - PHOTO_WIDTH - BETWEEN)
    if photo is None:
        return words
    printed = Print(photo, PHOTO_WIDTH, PHOTO_HEIGHT, grey=grey)
    left = Stack([printed, caption(piece.pictures[0])])
    return Row([left, words], [PHOTO_WIDTH, None], BETWEEN)


def _about(piece: Told, size: Size, cuts: Cuts, width: float) -> Flowable:
    shown = piece.shown
    project = as_written(shown["project"])
    title = f"{piece.number}  {project}"
    figure = percent(decimal_said(shown["percent"])) if shown["percent"] is not None else ""
    graded = f"{figure}  {shown['grade']}".strip()
    parts: list[Flowable] = [
        Row(
            [
                styles.plain(title, size.text + 2.0, font=SERIF_STRONG, most_lines=2),
                styles.to_right(graded, size.text + 2.0, font=SERIF_STRONG, most_lines=1),
            ],
            [None, 84.0],
            8.0,
        ),
        styles.soft(f"{day_said(shown['date'])} · {shown['piece']}", size.text - 1.0),
        Gap(4),
        _levels(shown["criteria"][:MOST_CRITERIA], size),
    ]
    for outcome in piece.outcomes[:2]:
        parts += [Gap(3), styles.plain(outcome_said(outcome), size.text - 0.5, most_lines=2)]
    if shown["words"].strip():
        heading = said("From the teacher")
        words = f"{heading}: {as_written(shown['words'].strip())}"
        told = styles.plain(words, size.text - 0.5, most_lines=4)
        parts += [Gap(3), cuts.watch(told, "the words on an earlier piece")]
    return Stack(parts)


def _levels(criteria: list[ShownCriterion], size: Size) -> Flowable:
    """Boxes with their names, in two columns."""
    half = -(-len(criteria) // COLUMNS)
    columns = [
        Stack([_level(each, size) for each in column])
        for column in (criteria[:half], criteria[half:])
    ]
    return Row(columns, [FIRST_COLUMN, None], 10.0)


def _level(criterion: ShownCriterion, size: Size) -> Flowable:
    boxes = level_boxes(criterion["level"])
    scene = to_reportlab(boxes, width=boxes.width * POINTS_PER_UNIT * SMALL_BOXES)
    name = styles.plain(as_written(criterion["name"]), size.text - 1.0, most_lines=1)
    return Row([Stack([Gap(1.8), scene]), name], [scene.width, None], 6.0)
