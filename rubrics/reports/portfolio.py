"""Pages for families: one a student, a second with the year in pictures; a section in one file."""

from __future__ import annotations

import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from reportlab.lib.colors import Color, HexColor
from reportlab.pdfgen.canvas import Canvas

from studio.lettering.fonts import SANS, register_fonts
from studio.lettering.setting import draw_line, width_of

from .family import FamilyPage
from .language import said, speaking
from .palette import INK, SOFT
from .paper.blocks import Flowable, Gap, Stack
from .paper.family_foot import how_to_read, lower
from .paper.family_levels import levels
from .paper.family_more import has_more, year
from .paper.family_size import SIZES, Cuts, PageSizes
from .paper.family_top import opening, title
from .paper.sizes import page_size

MARGIN = 43.0
"""Three fifths of an inch: within what every school printer and copier can print. [pt]"""
FOOT = 16.0
FURNITURE = 7.5
LARGEST_SPREAD = 14.0
"""Room that is left over goes between the parts, so much at most to each. [pt]"""


@dataclass(frozen=True, slots=True)
class Printed:
    """A document, and for each student in order what was shortened to fit."""

    pdf: bytes
    cuts: tuple[tuple[str, ...], ...]


def portfolio_pdf(
    pages: Iterable[FamilyPage],
    *,
    title: str,
    pagesize: str = "letter",
    grey: bool = False,
    more_pieces: bool = True,
) -> Printed:
    """Print pages for families.

    Parameters
    ----------
    pages : iterable of FamilyPage
        Each in its own language, with one piece at least. Taken one after the other, so that a
        section's photos need not be in memory at once.
    title : str
        Of the document; names no student.
    pagesize : {"letter", "a4"}
    grey : bool
        Everything in greys, the photos too.
    more_pieces : bool
        Whether a second page shows the year in pictures, where there is more than one piece.

    Returns
    -------
    Printed
        A PDF with its fonts embedded and a bookmark a student; the same input gives the same
        bytes.

    Raises
    ------
    ValueError
        A page size that is not known, a page without a piece, or no page at all.
    """
    size = page_size(pagesize)
    register_fonts()
    written = io.BytesIO()
    canvas = Canvas(
        written,
        pagesize=size,
        invariant=1,
        initialFontName=SANS,
        enforceColorSpace=_grey if grey else None,
    )
    canvas.setTitle(title)
    canvas.setAuthor("")
    canvas.setSubject("What was made, how it went, what comes next")
    canvas.setCreator("Rim & Reason")
    cuts = []
    for place, page in enumerate(pages):
        if not page.pieces:
            raise ValueError(f"Nothing is published of {page.student}'s work yet.")
        with speaking(page.language):
            if place == 0:
                canvas.setCatalogEntry("Lang", page.language.code)
            cuts.append(_student(canvas, page, place, grey, more_pieces))
    if not cuts:
        raise ValueError("There is no page to print.")
    canvas.save()
    return Printed(written.getvalue(), tuple(cuts))


def _grey(colour: Color) -> Color:
    """The grey that a copier makes of a colour: its luma, Rec. 601, as the photos take theirs."""
    shade = 0.299 * colour.red + 0.587 * colour.green + 0.114 * colour.blue
    return Color(shade, shade, shade)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sheets:
    """One student's sheets on the canvas."""

    canvas: Canvas
    page: FamilyPage
    grey: bool
    count: int

    @property
    def room(self) -> tuple[float, float]:
        width, height = self.canvas._pagesize
        return (width - 2 * MARGIN, height - 2 * MARGIN - FOOT)

    def draw(self, number: int, block: Flowable, cuts: Cuts) -> list[str]:
        """Draw one sheet; say what was cut."""
        top = self.canvas._pagesize[1] - MARGIN
        block.drawOn(self.canvas, MARGIN, top - block.height)
        self._furniture(number, cuts)
        self.canvas.showPage()
        return cuts.settle()

    def _furniture(self, number: int, cuts: Cuts) -> None:
        """What keeps a loose sheet with its owner: the piece's code and the page, in plain ink."""
        notes = [said("Page {number} of {count}", number=number, count=self.count)]
        if cuts.settle():
            notes.append(said("Shortened (…) to fit; the whole is on the screen."))
        if cuts.lacking:
            notes.append(said("A letter printed as ? is in none of the typefaces."))
        if cuts.unread:
            notes.append(said("A photo could not be read for print."))
        code = self.page.pieces[0].shown["piece"]
        right = MARGIN + self.room[0] - width_of(code, FURNITURE)
        self.canvas.setFillColor(HexColor(SOFT))
        draw_line(self.canvas, MARGIN, MARGIN - 9.0, " · ".join(notes), size=FURNITURE)
        self.canvas.setFillColor(HexColor(INK))
        draw_line(self.canvas, right, MARGIN - 9.0, code, size=FURNITURE)


def _student(
    canvas: Canvas, page: FamilyPage, place: int, grey: bool, more_pieces: bool
) -> tuple[str, ...]:
    """Print one student's page or pages."""
    canvas.bookmarkPage(f"student-{place}")
    canvas.addOutlineEntry(page.student, f"student-{place}", 0, closed=True)
    second = more_pieces and has_more(page)
    sheets = _Sheets(canvas=canvas, page=page, grey=grey, count=1 + second)
    told = sheets.draw(1, *fitted(page, sheets.room, grey))
    if second:
        told += sheets.draw(2, *_fitted_year(page, sheets.room, grey))
    return tuple(dict.fromkeys(told))


def _fitted_year(page: FamilyPage, room: tuple[float, float], grey: bool) -> tuple[Flowable, Cuts]:
    for size in SIZES:
        cuts = Cuts()
        block = year(page, size, cuts, room[0], grey)
        block.wrap(*room)
        if block.height <= room[1]:
            break
    return block, cuts


def fitted(page: FamilyPage, room: tuple[float, float], grey: bool) -> tuple[Flowable, Cuts]:
    """The most generous page that fits."""
    for size in SIZES:
        cuts = Cuts()
        parts = _parts(page, size, cuts, room[0], grey)
        heights = [part.wrap(*room)[1] for part in parts]
        over = room[1] - sum(heights) - size.gap * (len(parts) - 1)
        if over >= 0 and not (cuts.settle() and size.is_whole):
            break
    gap = size.gap + min(max(over, 0.0) / len(parts), LARGEST_SPREAD)
    spread: list[Flowable] = []
    for part in parts:
        spread += [Gap(gap), part] if spread else [part]
    block = Stack(spread)
    block.wrap(*room)
    return block, cuts


def _parts(
    page: FamilyPage, size: PageSizes, cuts: Cuts, width: float, grey: bool
) -> Sequence[Flowable]:
    parts = (
        title(page, size, cuts, width),
        opening(page, size, cuts, width, grey),
        levels(page, size, cuts, width),
        lower(page, size, cuts, width),
        how_to_read(size),
    )
    return [part for part in parts if part is not None]
