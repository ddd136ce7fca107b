"""What every check's saying is made of, and what is said of a figure and its limit."""

from __future__ import annotations

from typing import Any

from rubrics.craft.results import OUTSIDE, WITHIN
from rubrics.reports.language import marked, said
from rubrics.reports.wording import (
    decisive,
    expanded,
    is_graded,
    limit_words,
    needs_view,
    size,
    unit_of,
    where,
)
from studio.ware.condition import FIRED

from .descriptor import Check, Facts


def clay_now(facts: Facts) -> str:
    """What can be done to the piece now, one of ``CONDITIONS``.

    Facts that do not say are from a page frozen before this was kept: nothing is mended by them.
    """
    return facts.get("clay", FIRED)


def needs_work(facts: Facts) -> bool:
    """Whether there is something to do: a figure is over its limit, for certain or most likely.

    Not where nothing was judged, nor where a figure within its limit is merely in doubt.
    """
    judged = decisive(facts)
    if judged is None or judged["verdict"] == WITHIN:
        return False
    return judged["verdict"] == OUTSIDE or abs(judged["value"]) > judged["limit"]


def place(facts: Facts, azimuth_deg: float) -> str:
    return where(azimuth_deg, facts.get("seam_azimuth_deg"))


VIEW_NOTE = marked("Left and right are as you face the handle.")


def with_view(sentence: str) -> str:
    """Add how the cup stands, where a sentence speaks of left or right."""
    return f"{sentence} {said(VIEW_NOTE)}" if needs_view(sentence) else sentence


NOT_GRADED = marked("The rubric does not grade that.")
TOO_CLOSE_SAID = marked("That is too close to call.")


def limit_sentence(check: Check, judged: dict[str, Any] | None) -> str:
    """What is said of one figure and its limit; more digits where they would look the same."""
    if judged is None or is_nothing(check, judged):
        return ""
    figure, value, limit = judged["figure"], judged["value"], judged["limit"]
    words = said(
        check.figure(figure).template(judged["verdict"]),
        value=telling_size(figure, value, limit),
        doubt=doubt_words(figure, judged["u"]),
        limit=limit_words(figure, limit),
    )
    return (
        words if is_graded(judged) or judged["verdict"] == WITHIN else f"{words} {said(NOT_GRADED)}"
    )


def is_nothing(check: Check, judged: dict[str, Any]) -> bool:
    """Whether a figure is a lack that the piece has none of."""
    lacks = check.figure(judged["figure"]).is_lack
    return lacks and judged["verdict"] == WITHIN and not judged["value"]


def telling_size(figure: str, value: float, limit: float) -> str:
    """A figure with one digit more, where the usual ones cannot tell it from its limit."""
    shown = size(figure, value)
    if shown == size(figure, limit) and abs(value) != limit:
        _, _, decimals = unit_of(figure)
        return size(figure, value, decimals + 1)
    return shown


def doubt_words(figure: str, u: float) -> str:
    """U with its unit; as many digits as it needs not to read as nothing."""
    _, factor, decimals = unit_of(figure)
    shown = expanded(u) * factor
    if shown and round(shown, decimals) == 0:
        decimals += 1
    return size(figure, expanded(u), decimals)
