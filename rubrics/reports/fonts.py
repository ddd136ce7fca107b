"""The two families that are embedded in every PDF, and how wide their words are.

They come from their packages and hold Latin, Greek and Cyrillic letters. A letter that a font
lacks is reported, never printed as an empty box without a word.
"""

from __future__ import annotations

import unicodedata
from functools import cache
from pathlib import Path

import font_source_sans_pro
import font_source_serif_pro
from reportlab.lib.fonts import addMapping
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

SANS, SANS_STRONG, SANS_ITALIC = "Sans", "Sans-Strong", "Sans-Italic"
SERIF_STRONG = "Serif-Strong"

_SANS_FILES = Path(font_source_sans_pro.font_directory)
_SERIF_FILES = Path(font_source_serif_pro.font_directory)

_FILES = {
    SANS: _SANS_FILES / "SourceSansPro-Regular.ttf",
    SANS_STRONG: _SANS_FILES / "SourceSansPro-Semibold.ttf",
    SANS_ITALIC: _SANS_FILES / "SourceSansPro-It.ttf",
    SERIF_STRONG: _SERIF_FILES / "SourceSerifPro-Semibold.ttf",
}

STAND_IN = "?"
"""Printed for a letter that the fonts lack (they have no box either); the page says so in words."""


@cache
def register_fonts() -> None:
    """Make the fonts known to ReportLab, once a process."""
    for name, file in _FILES.items():
        pdfmetrics.registerFont(TTFont(name, str(file)))
    addMapping(SANS, 0, 0, SANS)
    addMapping(SANS, 1, 0, SANS_STRONG)
    addMapping(SANS, 0, 1, SANS_ITALIC)
    addMapping(SANS, 1, 1, SANS_STRONG)


def words_width(words: str, size: float, font: str = SANS) -> float:
    """Width of words on one line, in the unit of ``size``."""
    register_fonts()
    return pdfmetrics.stringWidth(words, font, size)


def printable(words: str, font: str = SANS) -> tuple[str, frozenset[str]]:
    """Words that the font can print, and the letters it lacks.

    Letters are composed first (NFC), so that an accent typed apart finds its glyph. What is
    lacking becomes :data:`STAND_IN`, for the caller to explain; controls become spaces.
    """
    register_fonts()
    known = pdfmetrics.getFont(font).face.charToGlyph
    lacking = set()
    printed = []
    for letter in unicodedata.normalize("NFC", words):
        if letter == "\n" or ord(letter) in known:
            printed.append(letter)
        elif unicodedata.category(letter) in ("Cc", "Cf", "Zs", "Zl", "Zp"):
            if unicodedata.category(letter) != "Cf":
                printed.append(" ")
        else:
            lacking.add(letter)
            printed.append(STAND_IN)
    return "".join(printed), frozenset(lacking)
