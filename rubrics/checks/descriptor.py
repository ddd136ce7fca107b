"""The shape of a descriptor: what the site needs to know of one craft check, and of its figures."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from rubrics.craft.results import OUTSIDE, TOO_CLOSE, WITHIN
from rubrics.reports.language import marked
from rubrics.reports.wording import SHARE, unit_of

Facts = dict[str, Any]
"""A result as plain JSON; see :mod:`rubrics.reports.result_json`."""

ANY_FIGURE = {
    WITHIN: marked("The figure is {value}; up to {limit} is fine."),
    TOO_CLOSE: marked("The figure is {value}, give or take {doubt}; the limit is {limit}."),
    OUTSIDE: marked("The figure is {value}; the limit is {limit}."),
}


HARDEST = 9
"""Ease of a figure that nobody placed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One figure of a check, under the name that its result gives it.

    The unit follows from the end of the name (``_mm``, ``_deg``, ``_ml``; a share otherwise).

    Attributes
    ----------
    label : str
        What a teacher reads where a criterion may lean on it; "" for a figure that none can.
    axis : str
        What stands at its bar under the drawing.
    short : str
        One word, for a tile that has no room for more.
    signed : bool
        Whether it can miss on either side; it is judged by its magnitude.
    is_planned : bool
        Whether it is held against a planned size, so that a whole class that misses it on one side
        points to the plan.
    only_side : str
        "low" or "high" where it knows one side only, as a lack of room does; else its sign tells.
    is_lack : bool
        Whether it is a lack or an excess that most pieces have none of: at nought it is neither
        drawn nor told.
    ease : int
        How easily the maker changes it next time, 1 the easiest: it settles which of two equally
        costly findings is the next step (our proposal, from memory of teaching).
    reads : tuple of str
        What has to be read for it, as ``"quantity"`` or ``"quantity:name"``; () where it takes all
        that its check reads. The measuring sheet asks for it first.
    within, too_close, outside : str
        What is said of it and its limit, with ``{value}``, ``{doubt}`` and ``{limit}``.
    """

    name: str
    axis: str
    reads: tuple[str, ...] = ()
    label: str = ""
    short: str = ""
    signed: bool = False
    is_planned: bool = False
    only_side: str = ""
    is_lack: bool = False
    ease: int = HARDEST
    within: str = ANY_FIGURE[WITHIN]
    too_close: str = ANY_FIGURE[TOO_CLOSE]
    outside: str = ANY_FIGURE[OUTSIDE]

    @property
    def unit(self) -> str:
        """Its unit as typed: "mm", "°", "ml"; "" for a share."""
        unit = unit_of(self.name)
        return "" if unit is SHARE else unit[0].strip()

    def template(self, verdict: str) -> str:
        """What is said of it at a verdict."""
        return {WITHIN: self.within, TOO_CLOSE: self.too_close, OUTSIDE: self.outside}[verdict]


@dataclass(frozen=True, slots=True, kw_only=True)
class Saying:
    """One check in words. Each part is one or more whole sentences, or ""; the phrase is not.

    ``tells_limit`` says whether the figure and its limit are worth a sentence of their own.
    """

    what: str
    phrase: str
    why: str = ""
    tells_limit: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """What to do about a finding: while the clay is soft, once it is bone dry, on the next piece.

    Each is a whole sentence, or "" where there is nothing to do. What is for the next piece begins
    with "Next time": it is said of pieces that nothing can be done to any more. Which of the three
    is said is ruled in :mod:`rubrics.checks.advice`.
    """

    soft: str = ""
    dry: str = ""
    next_time: str = ""


def _no_praise(_facts: Facts) -> str:
    return ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """Everything that the site needs to know of one craft check.

    Attributes
    ----------
    name : str
        As its result names itself.
    place : int
        Its place in the order in which a piece is looked over.
    part : str
        What it looks at, as in "the rim".
    title : str
        Over its drawing.
    result : type
        The frozen result, with ``FIGURES``.
    compute : callable
        (sheet, stage, plan) to a result; see :mod:`rubrics.checks.compute`.
    needs, also : tuple of str
        Quantities that say that a stage was read for it. A stage with one of ``needs`` comes before
        any that has only one of ``also``.
    reads : tuple of str
        All quantities that its result stands on.
    figures : tuple of Figure
    principal : str
        Name of the figure that is shown where nothing was judged.
    picture : callable
        (facts, width) to a scene.
    say : callable
        Facts to a :class:`Saying`.
    advise : callable
        (facts, judged figure or None) to an :class:`Advice`; asked only where there is work to do.
    praise : callable
        Facts to a sentence that names what was seen to be good; "" where nothing was. Asked only
        where all judged figures are within their limits.
    touched_by : frozenset of str
        Outcomes after which its readings show the kiln and not the hand.
    settled_by : str
        Which reading, with which instrument, settles it where it was read too roughly to suggest a
        level; goes on after "To settle it,".
    is_mendable : bool
        Whether anything can be mended before the bisque firing.
    unlike_drawn : frozenset of str
        Names of figures that suggest no level where the rim is meant to be drawn out of level.
    rung : callable or None
        Facts of the result at one stage, for a check that looks across the stages.
    """

    name: str
    place: int
    part: str
    title: str
    result: type
    compute: Callable[[Any, str, Any], Any]
    needs: tuple[str, ...]
    also: tuple[str, ...] = ()
    reads: tuple[str, ...]
    figures: tuple[Figure, ...]
    principal: str
    picture: Callable[[Facts, float], Any]
    say: Callable[[Facts], Saying]
    advise: Callable[[Facts, Facts | None], Advice]
    praise: Callable[[Facts], str] = _no_praise
    touched_by: frozenset[str] = frozenset()
    settled_by: str = "read it again with a finer instrument"
    is_mendable: bool = False
    unlike_drawn: frozenset[str] = frozenset()
    rung: Callable[[Any], Facts] | None = None

    def figure(self, name: str) -> Figure:
        """The figure of that name; a nameless one where a page frozen long ago knows another."""
        found = (each for each in self.figures if each.name == name)
        return next(found, Figure(name=name, axis=name.replace("_", " ")))
