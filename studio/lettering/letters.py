"""Which font prints a letter: the page's own family first, then a font of the letter's script.

The families of the page hold Latin, Greek and Cyrillic. Names come from everywhere: what is
missing is looked for in fonts that ship in packages, script by script. Han, kana and hangul come
from one large font with cubic outlines, which a PDF of ours cannot take; the 256 letters of a
block are turned into a small TrueType font when the first of them is needed.
"""

from __future__ import annotations

import io
from functools import cache
from pathlib import Path

import manimgx_fonts
import manimgx_fonts_cjk
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.cu2quPen import Cu2QuPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont as FontFile
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from studio.lettering.fonts import SANS, SANS_STRONG, SERIF_STRONG, register_fonts

_SCRIPT_FOLDER = Path(manimgx_fonts.__file__).parent
_SCRIPT_FILES = ("NotoSans[[]wght[]].ttf", "NotoSans[A-Z]*[[]wght[]].ttf", "NotoEmoji*.ttf")
"""In the order they are asked; glob patterns."""

_HAN_FILE = Path(manimgx_fonts_cjk.__file__).parent / "NotoSansCJK-VF.otf.ttc"
_HAN_FACE = 2
"""The face in the collection that is drawn the Simplified Chinese way; all five hold every
letter."""
_HAN_WEIGHT = {False: 400, True: 600}
_BLOCK = 256
_WORST_BEND = 1.0
"""How far a quadratic outline may stray from the cubic one, of 1000 to the em."""

PLAIN_FONTS = frozenset({SANS, SANS_STRONG, SERIF_STRONG, "Sans-Italic", "Script-NotoSans"})


def is_plain(font: str) -> bool:
    """Whether a font's letters stand side by side as they come: no joining, no stacking."""
    return font in PLAIN_FONTS or font.startswith("Han-")


@cache
def letters_of(font: str) -> frozenset[str]:
    """The letters of a registered font."""
    register_fonts()
    return frozenset(map(chr, pdfmetrics.getFont(font).face.charToGlyph))


@cache
def font_of(letter: str, font: str) -> str | None:
    """The font for a letter where the text is set in ``font``; None where none has it."""
    if letter in letters_of(font):
        return font
    for file in _script_files():
        if ord(letter) in _script_letters(file):
            return _script_font(file)
    strong = font in (SANS_STRONG, SERIF_STRONG)
    if ord(letter) in _han_letters():
        return _han_font(ord(letter) // _BLOCK, _HAN_WEIGHT[strong])
    return None


@cache
def _script_files() -> tuple[Path, ...]:
    found: list[Path] = []
    for pattern in _SCRIPT_FILES:
        found += [file for file in sorted(_SCRIPT_FOLDER.glob(pattern)) if file not in found]
    return tuple(found)


@cache
def _script_letters(file: Path) -> frozenset[int]:
    with FontFile(file, lazy=True) as opened:
        return frozenset(opened.getBestCmap())


@cache
def _script_font(file: Path) -> str:
    """Register a script's font; the outlines taken are those of its regular weight."""
    name = f"Script-{file.name.partition('[')[0]}"
    pdfmetrics.registerFont(TTFont(name, str(file)))
    return name


@cache
def _han_file() -> FontFile:
    return FontFile(_HAN_FILE, fontNumber=_HAN_FACE, lazy=True)


@cache
def _han_letters() -> dict[int, str]:
    return _han_file().getBestCmap()


@cache
def _han_font(block: int, weight: int) -> str:
    """Register a font of the 256 letters of a block; the same letters give the same bytes."""
    name = f"Han-{block:X}-{weight}"
    codes = range(block * _BLOCK, (block + 1) * _BLOCK)
    names = {code: _han_letters()[code] for code in codes if code in _han_letters()}
    drawn = _han_file().getGlyphSet(location={"wght": weight})
    outlines = {".notdef": TTGlyphPen(None).glyph()}
    widths = {".notdef": (1000, 0)}
    for glyph in dict.fromkeys(names.values()):
        pen = TTGlyphPen(None)
        drawn[glyph].draw(Cu2QuPen(pen, _WORST_BEND, reverse_direction=True))
        outlines[glyph] = pen.glyph()
        widths[glyph] = (round(drawn[glyph].width), 0)
    pdfmetrics.registerFont(TTFont(name, io.BytesIO(_truetype(name, names, outlines, widths))))
    return name


def _truetype(name: str, names: dict, outlines: dict, widths: dict) -> bytes:
    builder = FontBuilder(_han_file()["head"].unitsPerEm, isTTF=True)
    builder.setupGlyphOrder(list(outlines))
    builder.setupCharacterMap(names)
    builder.setupGlyf(outlines)
    builder.setupHorizontalMetrics(widths)
    builder.setupHorizontalHeader(ascent=880, descent=-120)
    builder.setupNameTable({"familyName": name, "styleName": "Regular", "psName": name})
    builder.setupOS2(sTypoAscender=880, sTypoDescender=-120)
    builder.setupPost()
    builder.updateHead(created=0, modified=0)
    written = io.BytesIO()
    builder.font.recalcTimestamp = False
    builder.font.save(written)
    return written.getvalue()
