"""Shrinkage: how much, against what plan, and whether the making or the clay did it."""

from __future__ import annotations

from rubrics.craft import shrinkage
from rubrics.craft.results import Shrinkage
from rubrics.reports.drawings.shrinkage import picture
from rubrics.reports.wording import STAGE_WORDS, number, percent, quantity

from .descriptor import Advice, Check, Facts, Figure, Saying
from .saying import marked, said

WORTH_A_WORD_MM = 1.0
"""A miss below this [mm] is no more than a ruler's line."""

DIMENSION_WORDS = {
    "height": marked("height"),
    "rim_diameter": marked("rim diameter"),
    "rim_diameter_2": marked("rim diameter across"),
    "max_diameter": marked("greatest diameter"),
    "diameter": marked("diameter"),
    "foot_side": marked("foot side"),
    "foot_diagonal": marked("foot diagonal"),
    "base_thickness": marked("base"),
    "depth": marked("depth inside"),
    "mark": marked("shrinkage mark"),
}


def say(facts: Facts) -> Saying:
    """Say a result of ``shrinkage``."""
    why = (_odd_one(facts), _missed_words(_missed(facts)), _expected(facts))
    return Saying(
        what=_what(facts),
        why=" ".join(filter(None, why)),
        phrase=_phrase(facts),
        tells_limit=facts.get("planned_shrinkage") is not None,
    )


def _percent(share: float) -> str:
    return percent(number(share * 100, 1))


def _mm(value: float) -> str:
    return quantity("_mm", value)


def _name(dimension: Facts) -> str:
    return _words_for(dimension["name"])


def _what(facts: Facts) -> str:
    stage = STAGE_WORDS[facts["stage"]]
    named = {
        "stage": said(stage),
        "share": _percent(facts["linear_shrinkage"]),
    }
    planned = facts.get("planned_shrinkage")
    if planned is None:
        return said("From wet to {stage} the clay shrank by {share}.", **named)
    return said(
        "From wet to {stage} the clay shrank by {share}; the plan says {planned}.",
        planned=_percent(planned),
        **named,
    )


def _odd_one(facts: Facts) -> str:
    odd = facts.get("stands_out")
    if not odd:
        return ""
    return said(
        "One size does not fit the others: the {name}. It may be misread, or warped.",
        name=_words_for(odd),
    )


def _words_for(name: str) -> str:
    return said(DIMENSION_WORDS[name]) if name in DIMENSION_WORDS else name.replace("_", " ")


def _missed(facts: Facts) -> Facts | None:
    """The dimension that misses its planned size most, if by enough to matter.

    One that does not fit the others is not explained: it is measured again first.
    """
    planned = [
        d
        for d in facts["dimensions"]
        if d.get("miss_mm") is not None and d["name"] != facts.get("stands_out")
    ]
    worst = max(planned, key=lambda d: abs(d["miss_mm"]), default=None)
    return worst if worst and abs(worst["miss_mm"]) >= WORTH_A_WORD_MM else None


def _missed_words(missed: Facts | None) -> str:
    """How far one size missed, and whether the making or the clay did it."""
    if missed is None:
        return ""
    named = {"name": _name(missed), "miss": _mm(abs(missed["miss_mm"]))}
    if missed["miss_mm"] > 0:
        first = said("The {name} is {miss} larger than planned.", **named)
    else:
        first = said("The {name} is {miss} smaller than planned.", **named)
    return f"{first} {_who_did_it(missed['making_mm'], missed['clay_mm'])}"


def _who_did_it(making: float, clay: float) -> str:
    """The two sum to the miss, so that at least one of them is worth a word."""
    if abs(clay) < WORTH_A_WORD_MM:
        return said("It was made so; the clay shrank much as planned.")
    if abs(making) < WORTH_A_WORD_MM:
        if clay > 0:
            return said("It was made to size; the clay shrank less than planned.")
        return said("It was made to size; the clay shrank more than planned.")
    return _both_did_it(making, clay)


def _both_did_it(making: float, clay: float) -> str:
    if making > 0:
        made = said("It was made {size} too large", size=_mm(making))
    else:
        made = said("It was made {size} too small", size=_mm(-making))
    if (making > 0) == (clay > 0):
        return said("{made}; the clay added the rest.", made=made)
    if abs(making) > abs(clay):
        return said("{made}; the clay made up for some of it.", made=made)
    if clay > 0:
        return said("{made}, but the clay shrank much less than planned.", made=made)
    return said("{made}, but the clay shrank much more than planned.", made=made)


def _expected(facts: Facts) -> str:
    """The glazed size to expect, while something can still be done about it."""
    if facts["stage"] == "glazed":
        return ""
    foretold = [d for d in facts["dimensions"] if d.get("expected_fired_mm") is not None]
    if not foretold:
        return ""
    first = foretold[0]
    return said(
        "When glazed, expect the {name} to be {low} to {high}.",
        name=_name(first),
        low=number(first["expected_low_mm"], 1),
        high=_mm(first["expected_high_mm"]),
    )


_MEASURE_TWO = marked("Measure two sizes again before you load the kiln, and note both.")


def advise(facts: Facts, _judged: Facts | None) -> Advice:
    """What to measure again, or what size to make the next one."""
    odd = facts.get("stands_out")
    if odd:
        again = said("Measure the {name} once more before you trust it.", name=_words_for(odd))
        return Advice(
            soft=again,
            dry=again,
            next_time=said("Next time, read the {name} twice and note both.", name=_words_for(odd)),
        )
    return Advice(
        soft=said(_MEASURE_TWO), dry=said(_MEASURE_TWO), next_time=_next_time(_missed(facts))
    )


def _next_time(missed: Facts | None) -> str:
    making = abs(missed["making_mm"]) if missed else 0.0
    if missed and missed.get("planned_wet_mm") and making >= WORTH_A_WORD_MM:
        return said(
            "Next time, make the {name} {wet} while it is wet.",
            name=_name(missed),
            wet=_mm(missed["planned_wet_mm"]),
        )
    return said("Next time, plan with the shrinkage of this firing: note the shelf and the cone.")


def praise(facts: Facts) -> str:
    """What was seen of a piece that came out as large as planned."""
    planned = [d for d in facts["dimensions"] if d.get("miss_mm") is not None]
    if facts["stage"] != "glazed" or not planned or _missed(facts) or facts.get("stands_out"):
        return ""
    worst = max(planned, key=lambda d: abs(d["miss_mm"]))
    return said(
        "It came out as large as planned: the {name} within {miss}.",
        name=_name(worst),
        miss=_mm(abs(worst["miss_mm"])),
    )


def _rung(result: Shrinkage) -> Facts:
    """What one stage tells, for the ladder of its drawing."""
    return {
        "stage": result.stage,
        "linear_shrinkage": result.linear_shrinkage,
        "u_linear_shrinkage": result.u_linear_shrinkage,
        "planned_shrinkage": result.planned_shrinkage,
    }


def _phrase(facts: Facts) -> str:
    planned = facts.get("planned_shrinkage")
    share = _percent(facts["linear_shrinkage"])
    if planned is None:
        return said("shrank {share}", share=share)
    return said("shrank {share}, planned {planned}", share=share, planned=_percent(planned))


CHECK = Check(
    name=Shrinkage.check,
    place=5,
    part="shrinkage",
    title="Shrinkage against the plan",
    result=Shrinkage,
    compute=shrinkage.from_sheet,
    needs=shrinkage.QUANTITIES,
    reads=shrinkage.QUANTITIES,
    figures=(
        Figure(
            name="difference",
            axis="Shrinkage minus plan",
            label="Shrinkage: away from the plan",
            short="off plan",
            signed=True,
            is_planned=True,
            ease=4,
            within=marked("Up to {limit} more or less is fine."),
            too_close=marked(
                "The difference is {value}, give or take {doubt}; the limit is {limit}."
            ),
            outside=marked("The difference is {value}; the limit is {limit}."),
        ),
        Figure(name="linear_shrinkage", axis="Shrinkage since wet"),
    ),
    principal="linear_shrinkage",
    picture=picture,
    say=say,
    advise=advise,
    praise=praise,
    settled_by="read two fine marks, 100 mm apart when wet, with a calliper",
    touched_by=frozenset({"bloat", "underfired", "overfired"}),
    rung=_rung,
)
