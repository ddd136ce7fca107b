"""Times of a conference, one family after another with a break between."""

from __future__ import annotations

from datetime import datetime, time, timedelta

FEWEST_MINUTES, MOST_MINUTES = 3, 120
"""Of one family's talk: shorter is no talk, longer is a typing slip."""


class TimesError(ValueError):
    """Times that cannot be; the message is a sentence that says how to mend it."""


def slots(
    first: time, minutes: int, count: int, pause: tuple[time, time] | None = None
) -> list[time]:
    """Begin times of ``count`` talks of ``minutes`` each.

    A talk that would reach into the pause begins when the pause ends.

    Raises
    ------
    TimesError
        The pause ends before it begins, or the last talk would end after midnight.
    """
    if pause and pause[1] <= pause[0]:
        raise TimesError("The break ends before it begins: change one of its times.")
    day = datetime(2000, 1, 1)
    length, at = timedelta(minutes=minutes), datetime.combine(day, first)
    begun = []
    for _ in range(count):
        if pause:
            stop, on = (datetime.combine(day, each) for each in pause)
            at = on if at < on and at + length > stop else at
        if at + length > day + timedelta(days=1):
            raise TimesError(
                f"Only {len(begun)} of {count} talks end before midnight: begin earlier or take "
                "fewer minutes each."
            )
        begun.append(at.time())
        at += length
    return begun
