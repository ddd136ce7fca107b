"""The two families that every PDF is set in.

They come from their packages and hold Latin, Greek and Cyrillic letters; for the others see
:mod:`studio.lettering.letters`.
"""

from __future__ import annotations

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
"""Printed for a letter that no font has; the page says so in words."""


@cache
def register_fonts() -> None:
    """Make the fonts known to ReportLab, once a process."""
    for name, file in _FILES.items():
        pdfmetrics.registerFont(TTFont(name, str(file)))
    addMapping(SANS, 0, 0, SANS)
    addMapping(SANS, 1, 0, SANS_STRONG)
    addMapping(SANS, 0, 1, SANS_ITALIC)
    addMapping(SANS, 1, 1, SANS_STRONG)
