"""Whether the figures in a level's words are those of its limits, and the words put right.

"Up to 2 mm" beside a limit of 3 mm tells a student one thing and grades by another.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from rubrics.reports.wording import limit_words

FIGURE = re.compile(r"(?<![\w.,])(\d+(?:\.\d+)?)\s?(mm|ml|°|%)")
BOUND_OF_LEVEL = {4: 0, 3: 1, 2: 2, 1: 2}
"""Which of a limit's three bounds a level's words can name: the lowest level begins at the last."""


@dataclass(frozen=True, slots=True)
class Mismatch:
    """A level whose words name a figure that is none of its limits.

    ``offered`` is the descriptor with the figure put right; "" where nobody but the teacher can
    know which limit was meant.
    """

    level: int
    said: str
    limit: str
    offered: str

    @property
    def words(self) -> str:
        """What is wrong, in a sentence."""
        return f"The words say {self.said}; the limit is {self.limit}."


def mismatches(
    descriptors: Iterable[tuple[int, str]], limits: Iterable[tuple[str, Sequence[float]]]
) -> list[Mismatch]:
    """Compare the words of a criterion's levels with its limits.

    Parameters
    ----------
    descriptors : iterable of (level, words)
    limits : iterable of (figure's key, (a, b, c))

    Returns
    -------
    list of Mismatch
        One a level at most. Words that name no figure, and units that no limit has, are left alone.
    """
    limits = list(limits)
    found = (_mismatch(level, words, limits) for level, words in descriptors)
    return [each for each in found if each is not None]


def _mismatch(
    level: int, words: str, limits: Iterable[tuple[str, Sequence[float]]]
) -> Mismatch | None:
    place = BOUND_OF_LEVEL[level]
    bounds = [_plain(limit_words(key.partition(".")[2], abc[place])) for key, abc in limits]
    units = {bound.lstrip("0123456789.") for bound in bounds}
    named = [(match, f"{match[1]}{match[2]}") for match in FIGURE.finditer(words)]
    wrong = [(match, said) for match, said in named if match[2] in units and said not in bounds]
    if not wrong:
        return None
    match, said = wrong[0]
    unit = match[2]
    unnamed = [
        bound
        for bound in dict.fromkeys(bounds)
        if bound.endswith(unit) and bound not in {said for _, said in named}
    ]
    offered = ""
    if len(wrong) == len(unnamed) == 1:
        offered = f"{words[: match.start()]}{_spaced(unnamed[0], unit)}{words[match.end() :]}"
    shown = unnamed or [bound for bound in dict.fromkeys(bounds) if bound.endswith(unit)]
    limit = " or ".join(_spaced(bound, unit) for bound in shown)
    return Mismatch(level, _spaced(said, unit), limit, offered)


def _plain(bound: str) -> str:
    """A limit without the space before its unit."""
    return "".join(bound.split())


def _spaced(bound: str, unit: str) -> str:
    number = bound.removesuffix(unit)
    return f"{number}{unit}" if unit in "°%" else f"{number} {unit}"
