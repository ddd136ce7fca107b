"""The kinds of text on a printed sheet, in the page's two families."""

from __future__ import annotations

from reportlab.lib.enums import TA_LEFT, TA_RIGHT

from studio.lettering.fonts import SANS_STRONG, SERIF_STRONG

from ..palette import CLAY, SOFT
from .paragraphs import Words


def plain(words: str, size: float, **kind) -> Words:
    return Words(words, size, **kind)


def soft(words: str, size: float, **kind) -> Words:
    return plain(words, size, colour=SOFT, **kind)


def strong(words: str, size: float, **kind) -> Words:
    return plain(words, size, font=SANS_STRONG, **kind)


def heading(words: str, size: float) -> Words:
    """A name or a title; it stands on the left whatever its script."""
    return plain(words, size, font=SERIF_STRONG, leading=1.15, align=TA_LEFT)


def label(words: str, size: float) -> Words:
    """A small heading over a text, in clay."""
    return plain(words, size, font=SANS_STRONG, colour=CLAY)


def to_right(words: str, size: float, **kind) -> Words:
    return plain(words, size, align=TA_RIGHT, **kind)
