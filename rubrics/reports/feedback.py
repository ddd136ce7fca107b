"""A student's feedback on one printed page."""

from __future__ import annotations

import io
from collections.abc import Sequence
from datetime import date

from reportlab.lib.colors import HexColor
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, HRFlowable, Spacer

from studio.lettering.fonts import SANS, SERIF_STRONG, STAND_IN, register_fonts
from studio.lettering.setting import draw_line, width_of

from .palette import CLAY, INK, QUIET, SOFT
from .paper import photos, styles
from .paper.criteria import criteria
from .paper.fit import FITS, WHOLE, Fit, Notes
from .paper.opening import picture_and_words
from .paper.reasons import reasons
from .paper.rows import BETWEEN_COLUMNS, columns, stack
from .paper.sizes import page_size
from .shown import PublishedAssessment

MARGIN = 43.0
"""Three fifths of an inch: within what every school printer can print. [pt]"""
FOOT = 26.0

NAME_SIZE, LEAST_NAME_SIZE = 21.0, 11.0
GRADE_SIZE = 25.0
GRADE_ROOM = 128.0
SMALL = 8.0

BUTT_CAP = 0

LONGEST_LINE = 120
"""Characters of a name, a title or a label that are printed at most."""


def feedback_pdf(
    shown: PublishedAssessment, photo_files: Sequence[bytes], *, pagesize: str = "letter"
) -> bytes:
    """Print what a published assessment showed, on one page.

    Parameters
    ----------
    shown : Shown
        The frozen figures; see :mod:`rubrics.reports.shown`.
    photo_files : sequence of bytes
        Image files, the first one first; one or two are printed. A file that cannot be read is
        passed over with a word.
    pagesize : {"letter", "a4"}

    Returns
    -------
    bytes
        A PDF of one page with its fonts embedded; the same input gives the same bytes. Texts too
        long for the page are shortened, and the foot of the page says so.

    Raises
    ------
    ValueError
        A page size that is not known.
    """
    width, height = page_size(pagesize)
    register_fonts()
    pictures = photos.readable(photo_files)
    room = (width - 2 * MARGIN, height - 2 * MARGIN - FOOT)
    unread = bool(photo_files) and not pictures
    blocks, heights, notes = _fitted(shown, pictures, unread, room)
    written = io.BytesIO()
    canvas = Canvas(written, pagesize=(width, height), invariant=1, lang="en", initialFontName=SANS)
    _describe(canvas, shown)
    top = height - MARGIN
    for block, tall in zip(blocks, heights, strict=True):
        top -= tall
        block.drawOn(canvas, MARGIN, top)
    _foot(canvas, shown, notes, width)
    canvas.showPage()
    canvas.save()
    return written.getvalue()


def _fitted(
    shown: PublishedAssessment, pictures: list[bytes], unread: bool, room: tuple[float, float]
) -> tuple[list[Flowable], list[float], Notes]:
    """The most generous page that fits; one with all its words before one that is shortened."""
    for fit in FITS:
        notes = Notes(photo_unread=unread)
        blocks = _blocks(shown, pictures, fit, notes, room[0])
        heights = [block.wrap(*room)[1] for block in blocks]
        if sum(heights) <= room[1] and (not notes.shortened or fit not in WHOLE):
            break
    return blocks, heights, notes


def _describe(canvas: Canvas, shown: PublishedAssessment) -> None:
    """Title by the piece's code: a file's properties name no student and no author."""
    canvas.setTitle(f"Feedback on {shown['piece']}: {shown['project']}")
    canvas.setAuthor("")
    canvas.setSubject("Levels by criterion, with their reasons")
    canvas.setCreator("Rim & Reason")


def _blocks(
    shown: PublishedAssessment, pictures: list[bytes], fit: Fit, notes: Notes, width: float
) -> list[Flowable]:
    """The page from the top, for one fit."""
    parts = [
        _header(shown, notes, width),
        picture_and_words(shown, pictures, fit, notes, width),
        criteria(shown["criteria"], fit, notes, width),
        reasons(shown, fit, notes, width),
        _words(shown, fit, notes, width),
    ]
    blocks: list[Flowable] = []
    for part in filter(None, parts):
        if blocks:
            blocks.append(Spacer(width, fit.gap))
        blocks.append(part)
    return blocks


def _header(shown: PublishedAssessment, notes: Notes, width: float) -> Flowable:
    """Who and what at the left, the grade at the right."""
    left = width - GRADE_ROOM - BETWEEN_COLUMNS
    name = _name(shown, notes)
    size = NAME_SIZE
    while size > LEAST_NAME_SIZE and width_of(name, size, SERIF_STRONG) > left:
        size -= 1.0
    where = [shown["project"], shown.get("section", ""), shown["piece"]]
    line = notes.text(" · ".join(filter(None, where)), LONGEST_LINE)
    who = [styles.heading(name, size), Spacer(1, 3), styles.soft(line, 10.0)]
    row = columns([who, _grade(shown, notes)], [left + BETWEEN_COLUMNS, GRADE_ROOM])
    rule = HRFlowable(width, 1.2, color=HexColor(INK), spaceBefore=0, spaceAfter=0)
    return stack([row, Spacer(1, 7), rule], width)


def _name(shown: PublishedAssessment, notes: Notes) -> str:
    """The student's name; the piece's code where no typeface has most of the name's letters."""
    printed = notes.text(shown["student"], LONGEST_LINE)
    if printed.count(STAND_IN) * 2 > len(printed):
        return notes.text(f"Piece {shown['piece']}", LONGEST_LINE)
    return printed


def _grade(shown: PublishedAssessment, notes: Notes) -> list[Flowable]:
    if shown["percent"] is None:
        return [styles.to_right("not graded yet", 10.0, colour=SOFT)]
    said = notes.text(shown["grade"], 12)
    percent = f"{notes.text(shown['percent'], 8)}%"
    words = f"{percent}  {said}" if said else percent
    size = GRADE_SIZE
    while width_of(words, size, SERIF_STRONG) > GRADE_ROOM:
        size -= 1.0
    cell: list[Flowable] = [
        styles.to_right(words, size, font=SERIF_STRONG, leading=1.1),
    ]
    if shown["weight_counted"] != shown["weight_total"]:
        counted = f"of {shown['weight_counted']} weight counted, of {shown['weight_total']} in all"
        cell += [Spacer(1, 2), styles.to_right(notes.text(counted, 60), SMALL, colour=SOFT)]
    return cell


def _words(shown: PublishedAssessment, fit: Fit, notes: Notes, width: float) -> Flowable | None:
    """What the teacher says, on a quiet ground."""
    if not shown["words"].strip():
        return None
    cell = [
        styles.label("From your teacher", fit.text),
        styles.plain(notes.text(shown["words"], fit.words), fit.text + 0.5),
    ]
    return columns(
        [cell],
        [width],
        ("BACKGROUND", (0, 0), (-1, -1), HexColor(QUIET)),
        ("LINEBEFORE", (0, 0), (0, -1), 2.0, HexColor(CLAY), BUTT_CAP),
        ("LEFTPADDING", (0, 0), (-1, -1), 10),
        ("RIGHTPADDING", (0, 0), (-1, -1), 10),
        ("TOPPADDING", (0, 0), (-1, -1), 6),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 7),
    )


def _foot(canvas: Canvas, shown: PublishedAssessment, notes: Notes, width: float) -> None:
    """Rubric and day, and what has to be explained."""
    room = width - 2 * MARGIN
    told = (
        f"Judged by “{shown['rubric']}”, version {shown['rubric_version']}. {_day(shown['date'])}"
    )
    canvas.setFillColor(HexColor(SOFT))
    lines = [told, *notes.sentences()]
    for row, line in enumerate(reversed(lines)):
        y = MARGIN - 9.0 + row * 9.0
        draw_line(canvas, MARGIN, y, _one_line(line, room, notes), size=SMALL - 0.5)


def _one_line(line: str, room: float, notes: Notes) -> str:
    words = notes.text(line, 200)
    while words and width_of(words, SMALL - 0.5) > room:
        words = words[:-2].rstrip() + "…"
    return words


def _day(iso: str) -> str:
    """ "14 March 2026"; what is no date is printed as it stands."""
    try:
        day = date.fromisoformat(iso)
    except ValueError:
        return iso
    return f"{day.day} {day:%B %Y}."
