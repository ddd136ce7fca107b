"""Paragraphs of a printed sheet, in the page's two families."""

from __future__ import annotations

from xml.sax.saxutils import escape

from reportlab.lib.colors import HexColor
from reportlab.lib.enums import TA_LEFT, TA_RIGHT
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import Paragraph

from ..fonts import SANS, SANS_STRONG, SERIF_STRONG, register_fonts
from ..palette import CLAY, INK, SOFT

LEADING = 1.28


def style(
    size: float,
    *,
    colour: str = INK,
    font: str = SANS,
    align: int = TA_LEFT,
    leading: float = LEADING,
    before: float = 0.0,
) -> ParagraphStyle:
    """A paragraph style; the name is not used, so that none collides."""
    register_fonts()
    return ParagraphStyle(
        "",
        fontName=font,
        fontSize=size,
        leading=size * leading,
        textColor=HexColor(colour),
        alignment=align,
        spaceBefore=before,
        splitLongWords=1,
        allowWidows=0,
        allowOrphans=0,
    )


def plain(words: str, size: float, **kind) -> Paragraph:
    return Paragraph(escape(words), style(size, **kind))


def soft(words: str, size: float, **kind) -> Paragraph:
    return plain(words, size, colour=SOFT, **kind)


def strong(words: str, size: float, **kind) -> Paragraph:
    return plain(words, size, font=SANS_STRONG, **kind)


def heading(words: str, size: float) -> Paragraph:
    return plain(words, size, font=SERIF_STRONG, leading=1.15)


def label(words: str, size: float) -> Paragraph:
    """A small heading over a text, in clay."""
    return plain(words, size, font=SANS_STRONG, colour=CLAY)


def to_right(words: str, size: float, **kind) -> Paragraph:
    return plain(words, size, align=TA_RIGHT, **kind)
