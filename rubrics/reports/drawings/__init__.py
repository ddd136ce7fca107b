"""One module a craft check: frozen facts in, a scene out. No text smaller than 12 px."""

from __future__ import annotations

from rubrics.checks.register import check_named

from ..layout import DrawingSheet
from ..palette import Role
from ..result_json import Facts
from ..scene import Path, Scene, Text, cropped, moved, scaled, stacked
from ..wording import telling
from .interval import bars, unlimited

NARROWEST = 280.0
"""Below this the words no longer fit; a smaller drawing is :func:`glance`. [unit]"""
GAP = 14.0
INSET = 5.0
"""Left free on either side, so that a dot at the end of an axis stays on the sheet. [unit]"""


def draw(check: str, facts: Facts, *, width: float = 320, most_bars: int | None = None) -> Scene:
    """Draw a check: its picture, and under it each judged figure against its limit.

    Parameters
    ----------
    check : str
        Its name, as :func:`rubrics.checks.register.checks` knows it.
    facts : dict
        From :func:`rubrics.reports.result_json.as_facts`.
    width : float
        At least 280. [unit, one CSS pixel on the page]
    most_bars : int, optional
        Show only so many judged figures, the ones that carry the verdict first.

    Raises
    ------
    ValueError
        A narrower width, or a check that is not known.
    """
    if width < NARROWEST:
        raise ValueError(f"A drawing with words needs {NARROWEST:g} at least; take a glance.")
    known = check_named(check)
    if facts.get("refused"):
        return _nothing_yet(width)
    room = width - 2 * INSET
    picture = known.picture(facts, room)
    judged = _first(facts, most_bars)
    if judged:
        below = bars(known, judged, room)
    else:
        name = known.principal
        below = unlimited(known.figure(name), facts.get(name), facts.get(f"u_{name}"), room)
    whole = stacked(room, [picture, below], gap=GAP) if below.height else picture
    marks = tuple(moved(mark, INSET, 0.0) for mark in whole.marks)
    return Scene(width, whole.height, marks)


def _first(facts: Facts, most: int | None) -> list[Facts]:
    """The judged figures in their order, or only the most telling of them."""
    judged = list(facts.get("judged") or [])
    if most is None:
        return judged
    return sorted(judged, key=telling)[:most]


def glance(check: str, facts: Facts, *, width: float = 120) -> Scene:
    """The picture alone, small and without words: for a tile that has its phrase beside it."""
    if facts.get("refused"):
        return scaled(_nothing_yet(NARROWEST).without_words(), width / NARROWEST)
    picture = cropped(check_named(check).picture(facts, NARROWEST).without_words(), INSET)
    return scaled(picture, width / picture.width)


def _nothing_yet(width: float) -> Scene:
    """A cup in dashes: there is a place for this drawing, and no readings to fill it yet."""
    sheet = DrawingSheet(width, 120.0)
    x = width / 2
    sheet.add(
        Path(((x - 40, 16), (x + 40, 16), (x + 32, 84), (x - 32, 84)), Role.PLAN, closed=True),
        Path(((x + 39, 30), (x + 60, 32), (x + 56, 62), (x + 35, 64)), Role.PLAN, smooth=True),
    )
    sheet.label(Text(x, 110, "nothing to draw yet", Role.SOFT, 12.0, anchor="middle"))
    return sheet.scene()
