"""How much of a class misses each figure, and on which side: what to teach again, or the plan."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from rubrics.checks.figures import JUDGEABLE
from rubrics.craft.results import OUTSIDE, TOO_CLOSE
from rubrics.evidence.check_facts import facts_by_check
from rubrics.evidence.collect import Evidence
from rubrics.stats.class_findings import Counted

LOW, HIGH = "low", "high"

PLANNED = {
    "wall_evenness.plan_match_mm": "",
    "handle_alignment.placement_deg": "",
    "handle_alignment.opening_short_mm": LOW,
    "shrinkage.difference": "",
    "capacity.difference_ml": "",
}
"""Figures held against a planned size, which can be missed on either side; a side named here is
the only one that the figure knows, else its sign tells."""


def class_misses(found: Evidence) -> list[Counted]:
    """Count the pieces of a batch outside each limit; a piece too close to call is left out.

    Figures that no criterion may lean on are left out too.
    """
    counts: dict[str, Counter] = {}
    for piece in found.pieces:
        for check, facts in facts_by_check(found, piece).items():
            for judged in facts.get("judged") or ():
                key = f"{check}.{judged['figure']}"
                if key in JUDGEABLE and judged["verdict"] != TOO_CLOSE:
                    counts.setdefault(key, Counter()).update(_sides(key, judged))
    return [
        Counted(
            name=JUDGEABLE[key][0],
            told=counts[key]["told"],
            low=counts[key][LOW],
            high=counts[key][HIGH],
            planned=key in PLANNED,
        )
        for key in JUDGEABLE
        if key in counts
    ]


def _sides(key: str, judged: dict) -> Iterable[str]:
    yield "told"
    if judged["verdict"] == OUTSIDE:
        yield PLANNED.get(key) or (LOW if judged["value"] < 0 else HIGH)
