"""Which checks an outcome touches: their readings then show the kiln and not the hand."""

from __future__ import annotations

from studio.ware.outcomes import BLOW_OUT

from .register import checks

TOUCHES_ALL = frozenset({BLOW_OUT})
"""Outcomes that leave no check as it was."""


def checks_touched_by(kind: str, *, lost: bool = False) -> frozenset[str]:
    """Names of the checks that an outcome touches; all of them where the piece is lost."""
    if lost or kind in TOUCHES_ALL:
        return frozenset(checks())
    return frozenset(name for name, check in checks().items() if kind in check.touched_by)
