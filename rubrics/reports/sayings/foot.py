"""The foot in words: its sides, its diagonals, and whether it stands."""

from __future__ import annotations

from ..facts import Facts
from ..wording import decisive, number, quantity
from .base import Saying, fired, mendable, needs_work, said, verdict_sentence

STEADY_MM = 0.1
"""Rock of no more than a sheet of paper. [mm]"""


def say(facts: Facts) -> Saying:
    """Say a result of ``squared_foot``."""
    judged = decisive(facts)
    return Saying(
        what=_what(facts),
        verdict=verdict_sentence(judged),
        why=_why(facts, judged),
        do=_do(facts, judged) if judged and needs_work(facts) else "",
        phrase=_phrase(facts, judged),
    )


def _mm(value: float) -> str:
    return quantity("_mm", value)


def _sides(facts: Facts) -> list[float]:
    return [side for side in facts.get("sides_mm") or () if side is not None]


def _what(facts: Facts) -> str:
    sides = _sides(facts)
    if len(sides) > 1:
        return said(
            "The sides of the foot measure {low} to {high}.",
            low=number(min(sides), 1),
            high=_mm(max(sides)),
        )
    apart = facts.get("diagonal_difference_mm")
    if apart is not None:
        return said("The two diagonals of the foot differ by {apart}.", apart=_mm(apart))
    rock = facts.get("rock_mm")
    if rock is not None:
        return said("On a flat table the foot rocks by {rock}.", rock=_mm(rock))
    return said("The foot has been read in part.")


def _why(facts: Facts, judged: Facts | None) -> str:
    if judged and judged["figure"] == "diagonal_difference_mm" and needs_work(facts):
        return said("The foot leans over like a diamond.")
    rock = facts.get("rock_mm")
    if rock is None or (judged and judged["figure"] == "rock_mm"):
        return ""
    if rock <= STEADY_MM:
        return said("It stands firm.")
    return said("On a flat table it rocks by {rock}.", rock=_mm(rock))


def _do(facts: Facts, judged: Facts) -> str:
    figure = judged["figure"]
    if figure == "rock_mm":
        if mendable(facts):
            return said(
                "Set the cup on a flat board and press the rim down over the corner that lifts."
            )
        if fired(facts):
            return said(
                "Ask to rub the foot flat on a wet stone: keep it wet, so that there is no dust."
            )
        return said("On your next cup, dry the foot on a flat board.")
    if mendable(facts):
        if figure == "diagonal_difference_mm":
            return said("Press the two far corners towards each other until the diagonals match.")
        return said("Pat the longest side in with a flat stick until all four sides match.")
    return said("On your next cup, cut all darts alike and centre each on its quarter mark.")


def _phrase(facts: Facts, judged: Facts | None) -> str:
    if judged and judged["figure"] == "rock_mm" and needs_work(facts):
        return said("rocks {rock}", rock=_mm(judged["value"]))
    if judged and judged["figure"] == "diagonal_difference_mm" and needs_work(facts):
        return said("diagonals differ by {apart}", apart=_mm(judged["value"]))
    sides = _sides(facts)
    if len(sides) > 1:
        return said("sides {low} to {high}", low=number(min(sides), 1), high=_mm(max(sides)))
    return said("read in part")
