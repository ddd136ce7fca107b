"""The photos, and beside them what is strong and what comes next."""

from __future__ import annotations

from reportlab.platypus import Flowable, Spacer, Table

from ..shown import PublishedAssessment
from . import photos, styles
from .fit import Fit, Notes
from .rows import BETWEEN_COLUMNS, columns, stack

PHOTO_SHARE = {1: 0.42, 2: 0.58}
"""Share of the page's width for so many photos."""
BETWEEN_PHOTOS = 8.0


def picture_and_words(
    shown: PublishedAssessment, pictures: list[bytes], fit: Fit, notes: Notes, width: float
) -> Flowable | None:
    """The photos, and beside them what is strong and what comes next."""
    said: list[Flowable] = []
    if shown["strong"]:
        said += [
            styles.label("What is strong", fit.text),
            styles.plain(notes.text(shown["strong"], fit.step), fit.text + 1.0),
            Spacer(1, fit.gap * 0.7),
        ]
    steps = shown["next_steps"]
    if steps:
        said += [styles.label("Next step", fit.text)]
        said += [styles.strong(notes.text(steps[0], fit.step), fit.text + 1.0)]
        said += [styles.plain(notes.text(step, fit.step), fit.text) for step in steps[1:2]]
        notes.shortened = notes.shortened or len(steps) > 2
    if not pictures:
        return stack(said, width) if said else None
    framed = _photo_row(pictures, width * PHOTO_SHARE[len(pictures)], fit.photo_height)
    if not said:
        return framed
    room = width - framed.wrap(width, fit.photo_height)[0] - BETWEEN_COLUMNS
    return columns([framed, "", said], [width - room - BETWEEN_COLUMNS, BETWEEN_COLUMNS, room])


def _photo_row(pictures: list[bytes], width: float, height: float) -> Table:
    each = (width - BETWEEN_PHOTOS * (len(pictures) - 1)) / len(pictures)
    images = [photos.placed(picture, each, height) for picture in pictures]
    cells, widths = [], []
    for image in images:
        if cells:
            cells.append("")
            widths.append(BETWEEN_PHOTOS)
        cells.append(image)
        widths.append(image.drawWidth)
    return columns(cells, widths)
