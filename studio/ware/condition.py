"""What can still be done to a piece: whether its clay is soft, bone dry or fired, or it is gone.

It follows from the piece as it is now, not from the stage at which something was read: a cup that
was measured leather-hard and has been through the kiln since is fired.
"""

from __future__ import annotations

from collections.abc import Iterable

from .stages import BONE_DRY, SOFT_STAGES, STAGE_PLACE

SOFT, DRY, FIRED, GONE = "soft", "dry", "fired", "gone"

CONDITIONS = (SOFT, DRY, FIRED, GONE)

GONE_STATES = frozenset({"lost", "broken"})
"""States of a piece of which nothing is left to work on."""


def condition(
    stage: str, state: str = "", later: Iterable[str] = (), *, is_lost: bool = False
) -> str:
    """Tell what can be done to a piece.

    Parameters
    ----------
    stage : str
        The stage that the piece is said to have reached.
    state : str
        Its state; "lost" and "broken" leave nothing to work on.
    later : iterable of str
        Stages at which something was read or happened: it has come as far as the last of them,
        whatever its own stage says.
    is_lost : bool
        Whether an outcome was a loss.

    Returns
    -------
    str
        One of :data:`CONDITIONS`.
    """
    if is_lost or state in GONE_STATES:
        return GONE
    farthest = max((stage, *later), key=STAGE_PLACE.__getitem__)
    if farthest in SOFT_STAGES:
        return SOFT
    return DRY if farthest == BONE_DRY else FIRED
