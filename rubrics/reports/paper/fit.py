"""How much of everything a one-page sheet takes, from generous to spare."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace

from studio.lettering.setting import cleaned

SHORTENED = " …"

_SPACES = re.compile(r"[ \t\r\n]+")
"""Spaces that may become one; a hard space keeps its number and its unit together."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """Sizes in points, lengths of texts in characters."""

    text: float = 9.5
    photo_height: float = 176.0
    drawings: int = 2
    drawing_width: float = 212.0
    gap: float = 13.0
    words: int = 2400
    step: int = 400
    sentence: int = 700
    descriptor: int = 400
    remark: int = 400
    criteria: int = 14


WHOLE = (
    Fit(),
    Fit(photo_height=150.0, drawing_width=190.0),
    Fit(photo_height=132.0, drawing_width=176.0, text=9.0, gap=11.0),
    Fit(photo_height=112.0, drawing_width=164.0, text=8.5, gap=9.0),
    Fit(photo_height=96.0, drawing_width=156.0, text=8.5, gap=8.0),
    Fit(photo_height=84.0, drawing_width=150.0, text=8.0, gap=6.0),
    Fit(photo_height=84.0, drawing_width=150.0, text=8.0, gap=6.0, drawings=1),
)
"""All words, on less and less room."""

_SMALL = Fit(photo_height=84.0, drawing_width=150.0, text=8.0, gap=6.0)

SHORT = (
    replace(_SMALL, words=900, step=260, sentence=300, descriptor=200, remark=160),
    replace(_SMALL, words=600, step=200, sentence=240, descriptor=140, remark=120),
    replace(
        _SMALL,
        drawings=1,
        words=420,
        step=200,
        sentence=420,
        descriptor=110,
        remark=80,
        criteria=12,
    ),
    replace(
        _SMALL,
        drawings=0,
        photo_height=72.0,
        gap=5.0,
        words=300,
        step=150,
        descriptor=80,
        remark=60,
        criteria=10,
    ),
    replace(
        _SMALL,
        drawings=0,
        photo_height=60.0,
        gap=4.0,
        words=160,
        step=120,
        descriptor=48,
        remark=0,
        criteria=8,
    ),
    replace(
        _SMALL,
        drawings=0,
        photo_height=48.0,
        gap=3.0,
        words=120,
        step=90,
        descriptor=0,
        remark=0,
        criteria=7,
    ),
)
"""Words shortened; the last one fits whatever the texts, since every length in it is bounded."""

FITS = WHOLE + SHORT


@dataclass(slots=True)
class Notes:
    """What the foot of the sheet has to explain."""

    shortened: bool = False
    photo_unread: bool = False
    lacking: set[str] = field(default_factory=set)

    def text(self, words: str, room: int) -> str:
        """Words that can be printed, cut at a word's end to so many characters."""
        printed, lacking = cleaned(_SPACES.sub(" ", words).strip())
        self.lacking |= lacking
        if len(printed) <= room:
            return printed
        self.shortened = True
        kept = printed[:room].rsplit(" ", 1)[0] if " " in printed[:room] else printed[:room]
        return kept.rstrip(" ,;:") + SHORTENED if room else ""

    def sentences(self) -> list[str]:
        said = []
        if self.shortened:
            said.append("Shortened (…) to fit one page; the whole is on the screen.")
        if self.lacking:
            said.append("A letter printed as ? is in none of the typefaces; the screen shows it.")
        if self.photo_unread:
            said.append("The photo could not be read for print; look for it on the screen.")
        return said
