"""What is advised of a finding: an action on the piece only while its clay still takes it.

A sentence that tells someone to do something to clay is said of a piece that is soft enough now. Of
any other the same finding becomes what to do next time.
"""

from __future__ import annotations

from rubrics.reports.wording import decisive
from studio.ware.condition import DRY, SOFT

from .descriptor import Check, Facts
from .register import check_named
from .saying import clay_now, needs_work


def advised(check: Check, facts: Facts, judged: Facts | None) -> str:
    """The one thing to do about a finding, for the piece as it is now; "" where there is none."""
    advice = check.advise(facts, judged)
    return on_the_piece(check, facts, judged) or advice.next_time


def advice_on(name: str, facts: Facts) -> str:
    """The same of a check's deciding figure; "" where all is within or nothing was judged."""
    if facts.get("refused") or not has_work(facts):
        return ""
    return advised(check_named(name), facts, decisive(facts))


def on_the_piece(check: Check, facts: Facts, judged: Facts | None) -> str:
    """What can still be done to the piece itself; "" once nothing can."""
    advice = check.advise(facts, judged)
    return {SOFT: advice.soft, DRY: advice.dry}.get(clay_now(facts), "")


def has_work(facts: Facts) -> bool:
    """Whether a check found something to do: not when all is within, nor when nothing was judged;
    a crack that goes through is work whatever its figures say."""
    return needs_work(facts) or bool(facts.get("through"))
