"""How much of a class misses each figure, and on which side: what to teach again, or the plan."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from rubrics.checks.descriptor import Figure
from rubrics.checks.register import judgeable
from rubrics.craft.results import OUTSIDE, TOO_CLOSE
from rubrics.evidence.check_facts import facts_by_check
from rubrics.evidence.collect import Evidence
from rubrics.stats.class_findings import Counted

LOW, HIGH = "low", "high"


def class_misses(found: Evidence) -> list[Counted]:
    """Count the pieces of a batch outside each limit; a piece too close to call is left out.

    Figures that no criterion may lean on are left out too.
    """
    figures = judgeable()
    counts: dict[str, Counter] = {}
    for piece in found.pieces:
        for check, facts in facts_by_check(found, piece).items():
            for judged in facts.get("judged") or ():
                key = f"{check}.{judged['figure']}"
                if key in figures and judged["verdict"] != TOO_CLOSE:
                    counts.setdefault(key, Counter()).update(_sides(figures[key], judged))
    return [
        Counted(
            name=figure.label,
            told=counts[key]["told"],
            low=counts[key][LOW],
            high=counts[key][HIGH],
            planned=figure.is_planned,
        )
        for key, figure in figures.items()
        if key in counts
    ]


def _sides(figure: Figure, judged: dict) -> Iterable[str]:
    yield "told"
    if judged["verdict"] == OUTSIDE:
        yield figure.only_side or (LOW if judged["value"] < 0 else HIGH)
