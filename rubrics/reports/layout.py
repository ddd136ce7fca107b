"""Laying words into a drawing so that none touches another or leaves the sheet."""

from __future__ import annotations

from collections.abc import Iterable

from studio.lettering.fonts import SANS, SANS_STRONG
from studio.lettering.setting import width_of

from .palette import Role
from .scene import Mark, Scene, Text

Box = tuple[float, float, float, float]

ASCENT, DESCENT = 0.74, 0.24
"""Height above and depth below the base line, as shares of the size: figures, capitals and tails
of the embedded sans (its ascender letters reach 0.73)."""

AIR = 2.0
"""Least room between two words' boxes, across. [unit]"""

ROUNDING = 1e-6
"""Words pushed exactly to an edge may miss it by this much. [unit]"""

ELLIPSIS = "…"


def text_box(text: Text) -> Box:
    """Left, top, right and bottom of words, by the real metrics of their font."""
    width = width_of(text.words, text.size, SANS_STRONG if text.strong else SANS)
    left = text.x - {"start": 0.0, "middle": width / 2, "end": width}[text.anchor]
    return (left, text.y - ASCENT * text.size, left + width, text.y + DESCENT * text.size)


def overlap(one: Box, other: Box, air: float = 0.0) -> bool:
    return (
        one[0] < other[2] + air
        and other[0] < one[2] + air
        and one[1] < other[3]
        and other[1] < one[3]
    )


def fitted(words: str, room: float, size: float, *, strong: bool = False) -> str:
    """Words cut to a width, with an ellipsis where something is left out."""
    font = SANS_STRONG if strong else SANS
    if width_of(words, size, font) <= room:
        return words
    while words and width_of(words + ELLIPSIS, size, font) > room:
        words = words[:-1]
    return words.rstrip() + ELLIPSIS


class DrawingSheet:
    """A scene in the making. Words laid by :meth:`label` never touch others; the rest may."""

    def __init__(self, width: float, height: float) -> None:
        self.width, self.height = width, height
        self._under: list[Mark] = []
        self._words: list[Text] = []
        self._boxes: list[Box] = []

    def add(self, *marks: Mark) -> None:
        self._under.extend(marks)

    def label(self, *candidates: Text) -> bool:
        """Lay the first candidate that has room; say whether one had."""
        for text in candidates:
            box = text_box(text)
            inside = (
                min(box[0], box[1]) >= -ROUNDING
                and box[2] <= self.width + ROUNDING
                and box[3] <= self.height + ROUNDING
            )
            if inside and not any(overlap(box, other, AIR) for other in self._boxes):
                self._words.append(text)
                self._boxes.append(box)
                return True
        return False

    def label_row(self, x: float, y: float, words: str, role: Role = Role.SOFT, **kind) -> bool:
        """A label moved sideways just as far as it must to stay on the sheet."""
        return self.label(self.inside(Text(x, y, words, role, **kind)))

    def inside(self, text: Text) -> Text:
        """The same words, pushed sideways onto the sheet."""
        left, _, right, _ = text_box(text)
        push = max(0.0, -left) - max(0.0, right - self.width)
        return Text(
            text.x + push, text.y, text.words, text.role, text.size, text.strong, text.anchor
        )

    def scene(self) -> Scene:
        return Scene(self.width, self.height, (*self._under, *self._words))


def around(text: Text, offsets: Iterable[tuple[float, float]]) -> list[Text]:
    """The same words at several places about one point, to choose from."""
    return [
        Text(text.x + dx, text.y + dy, text.words, text.role, text.size, text.strong, text.anchor)
        for dx, dy in offsets
    ]
