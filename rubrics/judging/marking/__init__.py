"""Every write to a mark: levels, reasons, excuses, words, and taking them back.

A key press is never lost: a level that leaves the suggestion is saved at once, and its reason is
asked for afterwards; publishing is what refuses a missing reason. Two windows never overwrite
each other silently: every write names the version of the assessment that its page showed, and
raises :class:`Stale` where the same mark has changed since. After publishing every write needs a
``why`` and leaves a record with what was shown before.
"""

from rubrics.judging.marking.errors import GradingError, ReasonWanted, Stale, Unseen, WhyWanted
from rubrics.judging.marking.feedback_words import add_next_step, set_words
from rubrics.judging.marking.many_marks import InSight, KeptRest, Undone, keep_rest, undo
from rubrics.judging.marking.mark_record import state_of_mark
from rubrics.judging.marking.marks import (
    clear_mark,
    excuse,
    give_reason,
    open_assessment,
    set_level,
)

__all__ = [
    "GradingError",
    "InSight",
    "KeptRest",
    "ReasonWanted",
    "Stale",
    "Undone",
    "Unseen",
    "WhyWanted",
    "add_next_step",
    "clear_mark",
    "excuse",
    "give_reason",
    "keep_rest",
    "open_assessment",
    "set_level",
    "set_words",
    "state_of_mark",
    "undo",
]
