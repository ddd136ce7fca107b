"""What the cup holds, in words."""

from __future__ import annotations

from ..facts import Facts
from ..wording import decisive, expanded, quantity
from .base import Saying, mendable, needs_work, said, verdict_sentence


def say(facts: Facts) -> Saying:
    """Say a result of ``capacity``."""
    return Saying(
        what=_what(facts),
        verdict=verdict_sentence(decisive(facts)),
        why=_two_ways(facts),
        do=_do(facts) if needs_work(facts) else "",
        phrase=_phrase(facts),
    )


def _ml(value: float) -> str:
    return quantity("_ml", value)


def _held(facts: Facts) -> tuple[float, float | None]:
    if facts.get("fired_ml") is not None:
        return facts["fired_ml"], facts.get("u_fired_ml")
    return facts["capacity_ml"], facts.get("u_capacity_ml")


def _what(facts: Facts) -> str:
    held, u = _held(facts)
    named = {"held": _ml(held), "doubt": _ml(expanded(u))}
    planned = facts.get("planned_ml")
    if facts["stage"] != "glazed" and facts.get("fired_ml") is not None:
        if planned is None:
            return said("When glazed, the cup should hold {held}, give or take {doubt}.", **named)
        return said(
            "When glazed, the cup should hold {held}, give or take {doubt}; "
            "the plan says {planned}.",
            planned=_ml(planned),
            **named,
        )
    if planned is None:
        return said("The cup holds {held} to the brim.", **named)
    return said(
        "The cup holds {held} to the brim; the plan says {planned}.", planned=_ml(planned), **named
    )


def _two_ways(facts: Facts) -> str:
    if facts.get("water_and_geometry_agree") is not False:
        return ""
    return said(
        "Water gives {water} and the sizes give {sizes}: one of them is worth measuring again.",
        water=_ml(facts["capacity_water_ml"]),
        sizes=_ml(facts["capacity_geometry_ml"]),
    )


def _do(facts: Facts) -> str:
    more = (facts.get("difference_ml") or 0.0) > 0
    if mendable(facts):
        if more:
            return said("Trim the rim a little: a lower cup holds less.")
        return said("Leave this one as it is, and lengthen the pattern on your next cup.")
    if more:
        return said("On your next cup, make the pattern a little shorter.")
    return said("On your next cup, lengthen the pattern a little for a wider cup.")


def _phrase(facts: Facts) -> str:
    held, _ = _held(facts)
    planned = facts.get("planned_ml")
    if planned is None:
        return said("holds {held}", held=_ml(held))
    return said("holds {held}, planned {planned}", held=_ml(held), planned=_ml(planned))
