"""Shrinkage in words: how much, against what plan, and whether the making or the clay did it."""

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
    missed = _missed(facts)
    return Saying(
        what=_what(facts),
        why=" ".join(filter(None, (_odd_one(facts), _split(missed), _expected(facts)))),
        phrase=_phrase(facts),
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


def _split(missed: Facts | None) -> str:
    """How far one size missed and who did it; the signs stay, the two sum to the miss."""
    if missed is None:
        return ""
    named = {
        "name": _name(missed),
        "miss": _mm(abs(missed["miss_mm"])),
        "making": _signed(missed["making_mm"]),
        "clay": _signed(missed["clay_mm"]),
    }
    if missed["miss_mm"] > 0:
        return said(
            "The {name} is {miss} over the plan: {making} from the making, {clay} from the clay.",
            **named,
        )
    return said(
        "The {name} is {miss} under the plan: {making} from the making, {clay} from the clay.",
        **named,
    )


def _signed(value: float) -> str:
    shown = _mm(value)
    return f"+{shown}" if value > 0 and float(f"{value:.1f}") else shown


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


def advise(facts: Facts, judged: Facts | None) -> Advice:
    """What to measure again, or what size to make the next one."""
    words = _advice(facts, judged)
    return Advice(soft=words, dry=words, next_time=words)


def _advice(facts: Facts, judged: Facts | None) -> str:
    odd = facts.get("stands_out")
    if odd:
        return said("Measure the {name} once more before you trust it.", name=_words_for(odd))
    missed = _missed(facts)
    if (
        missed
        and missed.get("planned_wet_mm")
        and (abs(missed["making_mm"]) >= max(abs(missed["clay_mm"]), WORTH_A_WORD_MM))
    ):
        return said(
            "On your next cup, make the {name} {wet} while it is wet.",
            name=_name(missed),
            wet=_mm(missed["planned_wet_mm"]),
        )
    if facts["stage"] == "glazed":
        return said(
            "This is the clay's and the kiln's doing: note shelf and cone for the next plan."
        )
    return said("Measure two sizes again before you load the kiln, and note both.")


def _phrase(facts: Facts) -> str:
    planned = facts.get("planned_shrinkage")
    share = _percent(facts["linear_shrinkage"])
    if planned is None:
        return said("shrank {share}", share=share)
    return said("shrank {share}, planned {planned}", share=share, planned=_percent(planned))


def _rung(result: Shrinkage) -> Facts:
    """What one stage tells, for the ladder of its drawing."""
    return {
        "stage": result.stage,
        "linear_shrinkage": result.linear_shrinkage,
        "u_linear_shrinkage": result.u_linear_shrinkage,
        "planned_shrinkage": result.planned_shrinkage,
    }


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
            axis="Shrinkage less the plan",
            label="Shrinkage: away from the plan",
            short="off plan",
            signed=True,
            within=marked("That is {value} from the plan; up to {limit} is fine."),
            too_close=marked(
                "That is {value} from the plan, give or take {doubt}; the limit is {limit}."
            ),
            outside=marked("That is {value} from the plan; the limit is {limit}."),
        ),
        Figure(
            name="linear_shrinkage",
            axis="Shrinkage since wet",
        ),
    ),
    principal="linear_shrinkage",
    picture=picture,
    say=say,
    advise=advise,
    touched_by=frozenset({"bloat", "underfired", "overfired"}),
    rung=_rung,
)
