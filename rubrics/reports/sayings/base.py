"""What every check's saying is made of, and what is said of a figure and its limit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from rubrics.craft.results import OUTSIDE, TOO_CLOSE, WITHIN
from studio.ware.stages import FIRED_STAGES, SOFT_STAGES

from ..facts import Facts
from ..language import marked, said
from ..wording import expanded, limit_words, needs_view, size, unit_of, where


@dataclass(frozen=True, slots=True, kw_only=True)
class Saying:
    """One check in words. Each part is one or more whole sentences, or ""."""

    what: str
    why: str = ""
    verdict: str = ""
    do: str = ""
    phrase: str


def mendable(facts: Facts) -> bool:
    """Whether the clay is still soft enough to put it right."""
    return facts["stage"] in SOFT_STAGES


def fired(facts: Facts) -> bool:
    return facts["stage"] in FIRED_STAGES


def needs_work(facts: Facts) -> bool:
    """Whether there is something to do: not when all is within, nor when nothing was judged."""
    return facts.get("verdict") in (OUTSIDE, TOO_CLOSE)


def place(facts: Facts, azimuth_deg: float) -> str:
    return where(azimuth_deg, facts.get("seam_azimuth_deg"))


VIEW_NOTE = marked("Left and right are as you see them with the handle towards you.")


def with_view(sentence: str) -> str:
    """Add how the cup stands, where a sentence speaks of left or right."""
    return f"{sentence} {said(VIEW_NOTE)}" if needs_view(sentence) else sentence


# For each figure what is said of it within, too close to, and outside its limit.
_OF_FIGURES: dict[str, dict[str, str]] = {
    "spread_mm": {
        WITHIN: marked("The difference is {value}; up to {limit} is fine."),
        TOO_CLOSE: marked("The difference is {value}, give or take {doubt}; the limit is {limit}."),
        OUTSIDE: marked("The difference is {value}; the limit is {limit}."),
    },
    "plan_match_mm": {
        WITHIN: marked("On average it is {value} off the plan; up to {limit} is fine."),
        TOO_CLOSE: marked(
            "On average it is {value} off the plan, give or take {doubt}; the limit is {limit}."
        ),
        OUTSIDE: marked("On average it is {value} off the plan; the limit is {limit}."),
    },
    "rise_mm": {
        WITHIN: marked("The whole rise is {value}; up to {limit} is fine."),
        TOO_CLOSE: marked("The whole rise is {value}, give or take {doubt}; the limit is {limit}."),
        OUTSIDE: marked("The whole rise is {value}; the limit is {limit}."),
    },
    "tilt_deg": {
        WITHIN: marked("The tilt is {value}; up to {limit} is fine."),
        TOO_CLOSE: marked("The tilt is {value}, give or take {doubt}; the limit is {limit}."),
        OUTSIDE: marked("The tilt is {value}; the limit is {limit}."),
    },
    "flatness_mm": {
        WITHIN: marked("The waves are {value} high; up to {limit} is fine."),
        TOO_CLOSE: marked(
            "The waves are {value} high, give or take {doubt}; the limit is {limit}."
        ),
        OUTSIDE: marked("The waves are {value} high; the limit is {limit}."),
    },
    "open_fraction": {
        WITHIN: marked("In all, {value} of the joins is open; up to {limit} is fine."),
        TOO_CLOSE: marked(
            "In all, {value} of the joins is open, give or take {doubt}; the limit is {limit}."
        ),
        OUTSIDE: marked("In all, {value} of the joins is open; the limit is {limit}."),
    },
    "longest_open_mm": {
        WITHIN: marked("The longest open part is {value}; up to {limit} is fine."),
        TOO_CLOSE: marked(
            "The longest open part is {value}, give or take {doubt}; the limit is {limit}."
        ),
        OUTSIDE: marked("The longest open part is {value}; the limit is {limit}."),
    },
    "largest_step_mm": {
        WITHIN: marked("The largest step at a join is {value}; up to {limit} is fine."),
        TOO_CLOSE: marked(
            "The largest step at a join is {value}, give or take {doubt}; the limit is {limit}."
        ),
        OUTSIDE: marked("The largest step at a join is {value}; the limit is {limit}."),
    },
    "lean_deg": {
        WITHIN: marked("A lean of up to {limit} is fine."),
        TOO_CLOSE: marked("The lean is {value}, give or take {doubt}; the limit is {limit}."),
        OUTSIDE: marked("The limit for the lean is {limit}."),
    },
    "twist_deg": {
        WITHIN: marked("The twist is {value}; up to {limit} is fine."),
        TOO_CLOSE: marked("The twist is {value}, give or take {doubt}; the limit is {limit}."),
        OUTSIDE: marked("The twist is {value}; the limit is {limit}."),
    },
    "placement_deg": {
        WITHIN: marked("It sits {value} from its planned place; up to {limit} is fine."),
        TOO_CLOSE: marked(
            "It sits {value} from its planned place, give or take {doubt}; the limit is {limit}."
        ),
        OUTSIDE: marked("It sits {value} from its planned place; the limit is {limit}."),
    },
    "difference": {
        WITHIN: marked("That is {value} from the plan; up to {limit} is fine."),
        TOO_CLOSE: marked(
            "That is {value} from the plan, give or take {doubt}; the limit is {limit}."
        ),
        OUTSIDE: marked("That is {value} from the plan; the limit is {limit}."),
    },
    "side_spread_mm": {
        WITHIN: marked("The sides differ by {value}; up to {limit} is fine."),
        TOO_CLOSE: marked(
            "The sides differ by {value}, give or take {doubt}; the limit is {limit}."
        ),
        OUTSIDE: marked("The sides differ by {value}; the limit is {limit}."),
    },
    "diagonal_difference_mm": {
        WITHIN: marked("The diagonals differ by {value}; up to {limit} is fine."),
        TOO_CLOSE: marked(
            "The diagonals differ by {value}, give or take {doubt}; the limit is {limit}."
        ),
        OUTSIDE: marked("The diagonals differ by {value}; the limit is {limit}."),
    },
    "rock_mm": {
        WITHIN: marked("On a flat table it rocks by {value}; up to {limit} is fine."),
        TOO_CLOSE: marked(
            "On a flat table it rocks by {value}, give or take {doubt}; the limit is {limit}."
        ),
        OUTSIDE: marked("On a flat table it rocks by {value}; the limit is {limit}."),
    },
}
_OF_FIGURES["difference_fraction"] = _OF_FIGURES["difference"]
_OF_FIGURES["difference_ml"] = _OF_FIGURES["difference"]

_OF_ANY = {
    WITHIN: marked("The figure is {value}; up to {limit} is fine."),
    TOO_CLOSE: marked("The figure is {value}, give or take {doubt}; the limit is {limit}."),
    OUTSIDE: marked("The figure is {value}; the limit is {limit}."),
}

TOO_CLOSE_FOR = {
    "student": marked("That is too close to call, so it does not count against you."),
    "teacher": marked("That is too close to call: the doubt goes in the student's favour."),
}


def verdict_sentence(judged: dict[str, Any] | None) -> str:
    """What is said of one figure and its limit; more digits where they would look the same."""
    if judged is None:
        return ""
    figure, value, limit = judged["figure"], judged["value"], judged["limit"]
    templates = _OF_FIGURES.get(figure, _OF_ANY)
    template = templates[judged["verdict"]]
    return said(
        template,
        value=telling_size(figure, value, limit),
        doubt=doubt_words(figure, judged["u"]),
        limit=limit_words(figure, limit),
    )


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
