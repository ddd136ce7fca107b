"""A paragraph in any script, broken into lines, for a table's cell or a place on the page."""

from __future__ import annotations

from math import inf

from reportlab.lib.colors import HexColor
from reportlab.lib.enums import TA_LEFT, TA_RIGHT
from reportlab.platypus import Flowable

from studio.lettering.fonts import SANS, register_fonts
from studio.lettering.letters import letters_of
from studio.lettering.setting import cleaned, draw_line, is_tall, reads_backwards, width_of

from ..palette import INK

LEADING = 1.28
TALL_LEADING = 1.55
"""For scripts that stack marks or reach deep, Arabic and Thai among them."""
RISE = 0.98
"""How far below the top of its line the letters stand, as a share of the size: the height of
the embedded fonts' tallest letters, accents on capitals included."""
_ROUNDING = 1e-6
MOST_LETTERS = 500
"""A line of more letters is none: on the widest page they would be under half a millimetre each.
A longer word is broken without being measured whole, so that it costs in proportion to its length.
"""


class Words(Flowable):
    """Words of one font, size and colour.

    Parameters
    ----------
    words : str
        Printed as they are; a line break starts a line.
    size : float
        Of the letters. [pt]
    align : int, optional
        ``TA_LEFT`` or ``TA_RIGHT``; where the text begins when left out: on the right for
        scripts that run that way.
    most_lines : int, optional
        What is longer ends in an ellipsis, and :attr:`is_cut` says so once it was wrapped.
    """

    def __init__(
        self,
        words: str,
        size: float,
        *,
        font: str = SANS,
        colour: str = INK,
        leading: float = LEADING,
        align: int | None = None,
        most_lines: int | None = None,
    ) -> None:
        super().__init__()
        register_fonts()
        self.words, _ = cleaned(words, font)
        if is_tall(self.words, font):
            leading = max(leading, TALL_LEADING)
        self.size, self.font, self.colour, self.leading = size, font, colour, size * leading
        backwards = not self.words.isascii() and reads_backwards(self.words)
        self.align = align if align is not None else (TA_RIGHT if backwards else TA_LEFT)
        self.most_lines, self.is_cut = most_lines, False
        self.lines: list[str] = []
        self.width = self.height = 0.0

    def wrap(self, room: float, _height: float = 0.0) -> tuple[float, float]:
        if room != self.width or not self.lines:
            self.width = room
            self.lines = broken(self.words, self.size, self.font, room)
            self._cut(room)
        self.height = len(self.lines) * self.leading
        return room, self.height

    def _cut(self, room: float) -> None:
        most = self.most_lines
        self.is_cut = most is not None and len(self.lines) > most
        if not self.is_cut:
            return
        last = self.lines[most - 1]
        while last and width_of(f"{last} …", self.size, self.font) > room:
            last = last[:-1].rstrip()
        self.lines = [*self.lines[: most - 1], f"{last.rstrip(' ,;:')} …"]

    @property
    def longest(self) -> float:
        """Width of the longest line, once wrapped. [pt]"""
        return max((width_of(line, self.size, self.font) for line in self.lines), default=0.0)

    def draw(self) -> None:
        canvas = self.canv
        canvas.setFillColor(HexColor(self.colour))
        y = self.height - self.size * RISE
        if self.align == TA_LEFT and letters_of(self.font).issuperset(self.words):
            written = canvas.beginText(0, y)
            written.setFont(self.font, self.size, self.leading)
            for line in self.lines:
                written.textLine(line)
            canvas.drawText(written)
            return
        for line in self.lines:
            over = self.width - width_of(line, self.size, self.font)
            x = over if self.align == TA_RIGHT else 0.0
            draw_line(canvas, x, y, line, size=self.size, font=self.font)
            y -= self.leading


def broken(words: str, size: float, font: str, room: float) -> list[str]:
    """Lines no wider than ``room``; a word that is wider by itself is broken within."""
    lines = []
    for paragraph in words.split("\n"):
        lines += _broken_paragraph(paragraph, size, font, room + _ROUNDING)
    return lines


def _broken_paragraph(words: str, size: float, font: str, room: float) -> list[str]:
    space = width_of(" ", size, font)
    lines, line, used = [], "", 0.0
    for word in words.split(" "):
        wide = _width_up_to(word, size, font)
        if line and used + space + wide > room:
            lines.append(line)
            line, used = "", 0.0
        rest, at = word, 0
        while wide > room and len(rest) > 1:
            fits = _that_fit(rest[:MOST_LETTERS], size, font, room)
            lines.append(rest[:fits])
            at += fits
            # A slice of a bounded length, or the rest of a long word were copied for every line.
            rest = word[at : at + MOST_LETTERS + 1]
            wide = _width_up_to(rest, size, font)
        line, used = (f"{line} {rest}", used + space + wide) if line else (rest, wide)
    return [*lines, line]


def _width_up_to(word: str, size: float, font: str) -> float:
    """Width of a word; without end where it has more letters than any line."""
    return inf if len(word) > MOST_LETTERS else width_of(word, size, font)


def _that_fit(word: str, size: float, font: str, room: float) -> int:
    """How many letters of a word that is too wide go on a line; one at least."""
    low, high = 1, len(word)
    while low < high:
        middle = (low + high + 1) // 2
        if width_of(word[:middle], size, font) <= room:
            low = middle
        else:
            high = middle - 1
    return low
