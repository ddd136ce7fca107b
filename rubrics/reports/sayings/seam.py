"""The joins in words: what is open, what goes through, and how the lips meet."""

from __future__ import annotations

from rubrics.craft.results import OUTSIDE, WITHIN

from ..facts import Facts
from ..wording import decisive, quantity
from .base import Saying, fired, marked, mendable, needs_work, said, verdict_sentence


def say(facts: Facts) -> Saying:
    """Say a result of ``seam_join``."""
    judged = decisive(facts)
    return Saying(
        what=_what(facts),
        verdict=verdict_sentence(judged) if _worth_a_word(facts, judged) else "",
        why=_why(facts),
        do=_do(facts, judged) if facts.get("through") or needs_work(facts) else "",
        phrase=_phrase(facts),
    )


def _mm(value: float) -> str:
    return quantity("_mm", value)


def _worth_a_word(facts: Facts, judged: Facts | None) -> bool:
    """Nothing open needs no share of it; a crack through is outside whatever the figures say."""
    if judged is None or (facts.get("through") and judged["verdict"] != OUTSIDE):
        return False
    return not (judged["figure"] == "open_fraction" and judged["value"] == 0)


def _worst(facts: Facts) -> Facts | None:
    joins = facts["joins"]
    if facts.get("through"):
        return max(joins, key=lambda j: j["longest_through_mm"], default=None)
    return max(joins, key=lambda j: j["longest_open_mm"], default=None)


def _dart(join: Facts) -> str | None:
    """The number of a dart; None for the seam."""
    return join["name"][4:] if join["name"].startswith("dart") else None


def _what(facts: Facts) -> str:
    worst = _worst(facts)
    if worst is None:
        return said("No join has been looked at yet.")
    dart = _dart(worst)
    if facts.get("through"):
        return _what_through(dart, _mm(worst["longest_through_mm"]))
    if worst["longest_open_mm"] > 0:
        return _what_open(dart, _mm(worst["longest_open_mm"]))
    if facts.get("open_mm") is None:
        return said("Nobody has read yet whether the joins are open.")
    return _what_closed(facts)


def _what_closed(facts: Facts) -> str:
    if any(_dart(join) for join in facts["joins"]):
        return said("The seam and the darts are closed all along.")
    return said("The seam is closed all along.")


def _what_through(dart: str | None, length: str) -> str:
    if dart:
        return said("A crack of {length} goes right through dart {dart}.", length=length, dart=dart)
    return said("A crack of {length} goes right through the seam.", length=length)


def _what_open(dart: str | None, length: str) -> str:
    if dart:
        return said("Dart {dart} is open for {length}.", length=length, dart=dart)
    return said("The seam is open for {length}.", length=length)


def _why(facts: Facts) -> str:
    if not facts.get("through"):
        return ""
    if fired(facts):
        return said(
            "A crack that goes through is outside, whatever its length. Do not drink from it."
        )
    return said("A crack that goes through is outside, whatever its length.")


_STEP_NOW = marked("Rib the two edges level, inside and outside, while the clay is leather-hard.")
_STEP_NEXT = marked("On your next cup, bevel both ends at the same slant, so that the edges meet.")
_OPEN_NOW = marked("Score the open part, add slip, press soft clay in, and rib it from both sides.")
_DART_NEXT = marked(
    "On your next cup, cut narrow darts, score and slip them, and back them with a coil."
)
_SEAM_NEXT = marked("On your next cup, score deep, add slip, and press the whole seam with a rib.")


def _do(facts: Facts, judged: Facts | None) -> str:
    if judged is not None and judged["figure"] == "largest_step_mm" and not facts["through"]:
        return said(_STEP_NOW if mendable(facts) else _STEP_NEXT)
    if mendable(facts):
        return said(_OPEN_NOW)
    worst = _worst(facts)
    return said(_DART_NEXT if worst is not None and _dart(worst) else _SEAM_NEXT)


def _phrase(facts: Facts) -> str:
    worst = _worst(facts)
    if worst is None:
        return said("too early to tell")
    dart = _dart(worst)
    if facts.get("through"):
        if dart:
            return said("crack through dart {dart}", dart=dart)
        return said("crack through the seam")
    if worst["longest_open_mm"] > 0:
        return _phrase_open(dart, _mm(worst["longest_open_mm"]))
    return _phrase_closed(facts)


def _phrase_open(dart: str | None, length: str) -> str:
    if dart:
        return said("dart {dart} open {length}", dart=dart, length=length)
    return said("seam open {length}", length=length)


def _phrase_closed(facts: Facts) -> str:
    judged = decisive(facts)
    step = facts.get("largest_step_mm")
    if step and judged and judged["figure"] == "largest_step_mm" and judged["verdict"] != WITHIN:
        return said("a step of {step}", step=_mm(step))
    if facts.get("open_mm") is None:
        return said("too early to tell")
    return said("closed all along")
