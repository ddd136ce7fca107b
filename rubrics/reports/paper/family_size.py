"""How large everything on a page for the family is, and what had to be shortened for it."""

from __future__ import annotations

from dataclasses import dataclass, field

from .paragraphs import Words

BETWEEN = 18.0
"""Room between two columns. [pt]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class PageSizes:
    """How large everything is on one trial of the page. Lengths in points, texts in lines."""

    text: float = 10.0
    photo: float = 196.0
    small_photo: float = 84.0
    gap: float = 13.0
    row: float = 3.4
    phrase: int = 3
    point: int = 5
    words: int = 60
    outcome: int = 8
    progress: float = 124.0
    is_whole: bool = True
    """Whether a text that would be cut asks for the next size instead."""


SIZES = (
    PageSizes(),
    PageSizes(photo=172.0, small_photo=72.0, gap=11.0, row=2.8, progress=110.0),
    PageSizes(text=9.5, photo=156.0, small_photo=66.0, gap=9.0, row=2.2, progress=98.0),
    PageSizes(text=9.0, photo=138.0, small_photo=58.0, gap=8.0, row=1.8, progress=84.0),
    PageSizes(text=8.5, photo=120.0, small_photo=50.0, gap=6.0, row=1.4, progress=76.0),
    PageSizes(
        text=8.5,
        photo=112.0,
        small_photo=44.0,
        gap=5.0,
        row=1.2,
        progress=72.0,
        phrase=2,
        point=3,
        words=14,
        outcome=4,
        is_whole=False,
    ),
    PageSizes(
        text=8.0,
        photo=96.0,
        small_photo=40.0,
        gap=4.0,
        row=1.0,
        progress=64.0,
        phrase=2,
        point=2,
        words=9,
        outcome=3,
        is_whole=False,
    ),
    PageSizes(
        text=8.0,
        photo=84.0,
        small_photo=32.0,
        gap=3.0,
        row=0.8,
        progress=56.0,
        phrase=1,
        point=2,
        words=5,
        outcome=2,
        is_whole=False,
    ),
)
"""From generous to spare: the first five keep every word, the last one fits whatever the texts,
since every length in it is bounded."""


@dataclass(slots=True)
class Cuts:
    """What had to be shortened or left out, for the teacher to see before printing."""

    cut: list[str] = field(default_factory=list)
    lacking: set[str] = field(default_factory=set)
    unread: bool = False
    _watched: list[tuple[Words, str]] = field(default_factory=list)

    def watch(self, words: Words, what: str) -> Words:
        """Remember a text that may turn out too long."""
        self._watched.append((words, what))
        return words

    def settle(self) -> list[str]:
        """What was cut, once everything was wrapped."""
        self.cut = list(dict.fromkeys(what for words, what in self._watched if words.is_cut))
        return self.cut
