"""The rim in words: how much it rises, whether it tilts or waves, where to take clay off."""

from __future__ import annotations

from ..facts import Facts
from ..wording import decisive, quantity
from .base import Saying, mendable, needs_work, place, said, verdict_sentence, with_view


def say(facts: Facts) -> Saying:
    """Say a result of ``rim_level``."""
    return Saying(
        what=with_view(_what(facts)),
        verdict=verdict_sentence(decisive(facts)),
        why=_why(facts),
        do=_do(facts) if needs_work(facts) else "",
        phrase=_phrase(facts),
    )


def _mm(value: float) -> str:
    return quantity("_mm", value)


def _ends(facts: Facts) -> tuple[str, str]:
    """Where the highest and the lowest reading stand."""
    low = min(facts["stations"], key=lambda s: s["value_mm"])
    high = max(facts["stations"], key=lambda s: s["value_mm"])
    return place(facts, high["azimuth_deg"]), place(facts, low["azimuth_deg"])


def _what(facts: Facts) -> str:
    rise = _mm(facts["rise_mm"])
    if facts.get("cause") == "none":
        return said("The rim is level as far as the readings tell: it rises by {rise}.", rise=rise)
    high, low = _ends(facts)
    if high == low:
        return said(
            "The rim is highest {high}, {rise} above its lowest point.", high=high, rise=rise
        )
    return said(
        "The rim is highest {high}, {rise} above its lowest point {low}.",
        high=high,
        rise=rise,
        low=low,
    )


def _why(facts: Facts) -> str:
    cause = facts.get("cause")
    if cause == "tilt":
        return said("That is a tilt: the whole rim leans one way.")
    if cause == "waviness":
        return said("That is waviness: the rim goes up and down on its way round.")
    if cause == "both":
        return said("It is both tilted and wavy.")
    return ""


def _do(facts: Facts) -> str:
    if not mendable(facts):
        return said("On your next cup, true the rim on a flat board while it is leather-hard.")
    high, _ = _ends(facts)
    side = facts.get("high_side_deg")
    if facts.get("cause") == "tilt" and side is not None:
        return said(
            "Shave up to {rise} off {where}, less and less towards the low side, "
            "then smooth the rim with a damp chamois.",
            rise=_mm(facts["tilt_rise_mm"]),
            where=place(facts, side),
        )
    return said(
        "Shave the high places down to the lowest one, {rise} at most {where}, "
        "then smooth the rim with a damp chamois.",
        rise=_mm(facts["rise_mm"]),
        where=high,
    )


def _phrase(facts: Facts) -> str:
    if facts.get("cause") == "none":
        return said("level, within {rise}", rise=_mm(facts["rise_mm"]))
    high, _ = _ends(facts)
    return said("rises {rise} {where}", rise=_mm(facts["rise_mm"]), where=high)
