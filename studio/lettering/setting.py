"""Setting a line of text in any script: fonts by letter, direction by the line, joined letters.

Order follows the Unicode bidirectional algorithm (python-bidi), shapes come from HarfBuzz through
ReportLab. Text in the page's own families takes neither way, and is as fast as without them.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from functools import lru_cache

from bidi import algorithm as bidi
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import ShapedStr, shapeStr
from reportlab.pdfgen.canvas import Canvas

from studio.lettering.fonts import SANS, STAND_IN, register_fonts
from studio.lettering.letters import font_of, is_plain, letters_of

HARD_SPACE = "\N{NO-BREAK SPACE}"
_RIGHT_TO_LEFT = ("R", "AL")
_BESIDE = ("Mn", "Mc", "Me", "Cf")
"""Marks and joiners stay in the font of the letter before them."""
MOST_LETTERS = 500
"""More than any line of ours holds; what is longer is cut before it is measured."""
_SIZE = 1000.0
"""Words are measured once at this size. [pt]"""


@dataclass(frozen=True, slots=True)
class Run:
    """Letters of one font and one direction, in the order they are read."""

    words: str
    font: str
    backwards: bool = False


def cleaned(words: str, font: str = SANS) -> tuple[str, frozenset[str]]:
    """Words that can be printed, and the letters that no font has.

    Letters are composed first (NFC), so that an accent typed apart finds its glyph. A letter that
    is lacking becomes :data:`STAND_IN`, for the caller to explain; controls become spaces.
    """
    register_fonts()
    words = unicodedata.normalize("NFC", words)
    if letters_of(font).issuperset(words):
        return words, frozenset()
    lacking = set()
    printed = []
    for letter in words:
        kind = unicodedata.category(letter)
        if letter == "\n" or kind == "Cf":
            printed.append(letter)
        elif kind in ("Cc", "Zs", "Zl", "Zp") and letter != HARD_SPACE:
            printed.append(" ")
        elif font_of(letter, font) is None:
            lacking.add(letter)
            printed.append(STAND_IN)
        else:
            printed.append(letter)
    return "".join(printed), frozenset(lacking)


def reads_backwards(words: str) -> bool:
    """Whether a text runs from right to left: its first letter of a direction says so."""
    for letter in words:
        direction = unicodedata.bidirectional(letter)
        if direction in _RIGHT_TO_LEFT:
            return True
        if direction == "L":
            return False
    return False


def is_tall(words: str, font: str = SANS) -> bool:
    """Whether a text reaches higher or deeper than the page's own families do."""
    if letters_of(font).issuperset(words):
        return False
    return any(not is_plain(font_of(letter, font) or font) for letter in words)


def width_of(words: str, size: float, font: str = SANS) -> float:
    """Width of words on one line, in the unit of ``size``."""
    return _width(words, font) * size / _SIZE


@lru_cache(maxsize=20_000)
def _width(words: str, font: str) -> float:
    register_fonts()
    if letters_of(font).issuperset(words):
        return pdfmetrics.stringWidth(words, font, _SIZE)
    return sum(_run_width(run, _SIZE) for run in ordered(words, font))


def shortened(words: str, size: float, room: float, font: str = SANS) -> str:
    """Words no wider than ``room``, in the unit of ``size``: cut at the end with an ellipsis."""
    kept = words[:MOST_LETTERS]
    words = kept if len(words) <= MOST_LETTERS else f"{kept}…"
    while kept and width_of(words, size, font) > room:
        # A letter goes with the marks that stand on it.
        while unicodedata.category(kept[-1]) in _BESIDE and len(kept) > 1:
            kept = kept[:-1]
        kept = kept[:-1]
        words = f"{kept.rstrip()}…"
    return words


def _run_width(run: Run, size: float) -> float:
    set_ = _shaped(run, size)
    if isinstance(set_, ShapedStr):
        return sum(each.x_advance for each in set_.__shapeData__) * size / 1000.0
    return pdfmetrics.stringWidth(set_, run.font, size)


def _shaped(run: Run, size: float) -> str:
    """The glyphs of a run from left to right."""
    if is_plain(run.font):
        return _turned(run.words) if run.backwards else run.words
    return shapeStr(run.words, run.font, size)


def _turned(words: str) -> str:
    """Signs that are read backwards: turned round, and brackets to the other side (rule L4)."""
    return "".join(bidi.MIRRORED.get(letter, letter) for letter in reversed(words))


def draw_line(
    canvas: Canvas, x: float, y: float, words: str, *, size: float, font: str = SANS
) -> None:
    """Draw one line from ``x`` on; the colour is the canvas's."""
    if letters_of(font).issuperset(words):
        canvas.setFont(font, size)
        canvas.drawString(x, y, words)
        return
    for run in ordered(words, font):
        set_ = _shaped(run, size)
        line = canvas.beginText(x, y)
        line.setFont(run.font, size)
        line.textOut(set_)
        if isinstance(set_, ShapedStr):
            # What is copied or read aloud are the letters, not the shapes they take on paper.
            canvas.addLiteral(f"/Span <</ActualText <{_utf16(run.words)}>>> BDC")
            canvas.drawText(line)
            canvas.addLiteral("EMC")
        else:
            canvas.drawText(line)
        x += _run_width(run, size)


def _utf16(words: str) -> str:
    """A PDF text string in hexadecimal, byte order mark first (ISO 32000-1, 7.9.2.2)."""
    return ("\ufeff" + words).encode("utf-16-be").hex().upper()


def ordered(words: str, font: str) -> list[Run]:
    """The runs of a line from left to right."""
    levels = _levels(words)
    runs: list[tuple[int, Run]] = []
    held = font
    for letter, level in zip(words, levels, strict=True):
        held = _held_font(letter, font, held, level)
        if runs and runs[-1][0] == level and runs[-1][1].font == held:
            runs[-1] = (level, Run(runs[-1][1].words + letter, held, bool(level % 2)))
        else:
            runs.append((level, Run(letter, held, bool(level % 2))))
    return _left_to_right(runs)


def _held_font(letter: str, font: str, held: str, level: int) -> str:
    """The font of a letter; spaces, signs and marks stay with the letters before them."""
    if held != font and letter in letters_of(held):
        beside = unicodedata.category(letter) in _BESIDE
        if beside or (level % 2 and unicodedata.bidirectional(letter) not in ("L", "EN")):
            return held
    return font_of(letter, font) or (held if unicodedata.category(letter) in _BESIDE else font)


def _levels(words: str) -> list[int]:
    """The embedding level of every letter (Unicode bidirectional algorithm, rules P2 to I2)."""
    if not any(unicodedata.bidirectional(letter) in _RIGHT_TO_LEFT for letter in words):
        return [0] * len(words)
    storage = bidi.get_empty_storage()
    storage["base_level"] = int(reads_backwards(words))
    storage["base_dir"] = ("L", "R")[storage["base_level"]]
    bidi.get_embedding_levels(words, storage)
    bidi.explicit_embed_and_overrides(storage)
    bidi.resolve_weak_types(storage)
    bidi.resolve_neutral_types(storage, False)
    bidi.resolve_implicit_levels(storage, False)
    told = iter(storage["chars"])
    base = storage["base_level"]
    return [
        base if unicodedata.bidirectional(letter) in bidi.X9_REMOVED else next(told)["level"]
        for letter in words
    ]


def _left_to_right(runs: list[tuple[int, Run]]) -> list[Run]:
    """Turn round what is read backwards (rule L2): from the highest level to the lowest odd."""
    highest = max((level for level, _ in runs), default=0)
    for turned in range(highest, 0, -1):
        at = 0
        while at < len(runs):
            end = at
            while end < len(runs) and runs[end][0] >= turned:
                end += 1
            runs[at:end] = runs[at:end][::-1]
            at = end + 1
    return [run for _, run in runs]
