"""What was odd about a log, in a sentence."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

LINES_NAMED = 3


@dataclass(frozen=True, slots=True)
class LogProblem:
    """One thing that was seen: its kind, what it is and what was done, the first lines of it."""

    kind: str
    sentence: str
    lines: tuple[int, ...] = ()


def lines_words(numbers: Sequence[int]) -> str:
    """“Line 7”, “Lines 7 and 9”, “214 lines, the first at 7,”."""
    named = [str(int(each)) for each in numbers[:LINES_NAMED]]
    if len(numbers) == 1:
        return f"Line {named[0]}"
    if len(numbers) <= LINES_NAMED:
        return f"Lines {', '.join(named[:-1])} and {named[-1]}"
    return f"{len(numbers)} lines, the first of them line {named[0]},"
