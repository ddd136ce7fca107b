"""What the trade says of a piece at its stage, and what it waits for. Pure: no table, no clock.

The day limits are common practice, no source: they hold for a wall of a quarter inch under
loose plastic in a heated room, and are said as hints. The hand on the clay decides.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from studio.ware.stages import BISQUE, BONE_DRY, GLAZED, LEATHER_HARD, WET

WET_STIFFENS_DAYS = 2
"""A slab piece kept wet longer has mostly stiffened (common practice, no source). [days]"""

HANDLE_SOON_DAYS = 2
"""Leather-hard so long, a wall is soon too dry to join to (common practice, no source). [days]"""

HANDLE_LATE_DAYS = 4
"""Leather-hard so long, it is likely too dry to join to (common practice, no source). [days]"""

DRY_THROUGH_DAYS = 2
"""Bone dry so long, a wall under 9 mm has dried through; weight steady between two days says the
same (common practice, no source). [days]"""

BISQUE_DUSTY_DAYS = 7
"""Bisque that stood so long wants its dust wiped off again (common practice, no source). [days]"""


class Wait(StrEnum):
    """What a piece waits for, in the words of the board."""

    STIFFEN = "to stiffen"
    JOIN = "handle and mending"
    MEASURE = "measuring"
    DRY = "to dry through"
    PHOTO = "a photo"
    KILN = "the kiln"
    GLAZE = "glaze"
    OUTCOME = "an outcome"
    NOTHING = "nothing"


class Hurry(StrEnum):
    """How soon it spoils; the page shows the word's rank as order and shape."""

    NOW = "now"
    SOON = "soon"
    KEEPS = "keeps"


RANKS = {Hurry.NOW: 0, Hurry.SOON: 1, Hurry.KEEPS: 2}


@dataclass(frozen=True, slots=True)
class Standing:
    """A piece as the sayings need it. ``days`` at its stage; None where nobody noted since when."""

    stage: str
    days: int | None
    has_handle: bool = True
    """Whether the project plans one."""
    is_measured: bool = False
    has_photo: bool = False
    has_outcome: bool = False


@dataclass(frozen=True, slots=True)
class ClaySentence:
    """What the trade says of it: a sentence, what it waits for, how soon, and a word to count by.

    ``count_as`` is the short word of the project's Make step, "" where the stage says it all.
    """

    sentence: str
    waits: tuple[Wait, ...]
    hurry: Hurry
    count_as: str = ""

    @property
    def rank(self) -> int:
        return RANKS[self.hurry]


def say(standing: Standing) -> ClaySentence:
    """Say what the trade says of a piece."""
    return _SAY[standing.stage](standing, standing.days or 0)


def _wet(standing: Standing, days: int) -> ClaySentence:
    if days >= WET_STIFFENS_DAYS:
        return ClaySentence(
            "Feel it: it may be leather-hard by now. If not, loosen the plastic.",
            (Wait.STIFFEN,),
            Hurry.SOON,
            "may be leather-hard by now",
        )
    too_wet = "Too wet for a handle. " if standing.has_handle else ""
    return ClaySentence(f"{too_wet}Wrap it tonight, the rim as well.", (Wait.STIFFEN,), Hurry.KEEPS)


def _leather_hard(standing: Standing, days: int) -> ClaySentence:
    waits = (Wait.JOIN,) if standing.is_measured else (Wait.MEASURE, Wait.JOIN)
    work = "join the handle" if standing.has_handle else "mend and true it"
    if days >= HANDLE_LATE_DAYS:
        late = "too dry for a handle" if standing.has_handle else "too dry to mend"
        return ClaySentence(
            f"Likely {late}. Feel it first; if it is stiff, dampen it and wrap it overnight.",
            waits,
            Hurry.NOW,
            f"likely {late}",
        )
    if days >= HANDLE_SOON_DAYS:
        soon = "too dry for a handle soon" if standing.has_handle else "too dry to mend soon"
        return ClaySentence(f"{soon.capitalize()}: {work} today.", waits, Hurry.NOW, soon)
    return ClaySentence(f"Ready: {work} today or tomorrow. Wrap it tonight.", waits, Hurry.SOON)


def _bone_dry(standing: Standing, days: int) -> ClaySentence:
    photo = () if standing.has_photo else (Wait.PHOTO,)
    if days >= DRY_THROUGH_DAYS:
        return ClaySentence(
            "Ready for the kiln if it is pale, not cool on the cheek and its weight is steady.",
            (*photo, Wait.KILN),
            Hurry.KEEPS,
            "ready for the kiln",
        )
    return ClaySentence(
        "Not in the kiln yet: let it dry through. Lift it with both hands, never by the rim.",
        (*photo, Wait.DRY),
        Hurry.KEEPS,
    )


def _bisque(standing: Standing, days: int) -> ClaySentence:
    dust = "Wipe the dust off again" if days >= BISQUE_DUSTY_DAYS else "Wipe the dust off"
    return ClaySentence(
        f"{dust} with a damp sponge, wax the foot, then glaze.", (Wait.GLAZE,), Hurry.KEEPS
    )


def _glazed(standing: Standing, days: int) -> ClaySentence:
    measure = () if standing.is_measured else (Wait.MEASURE,)
    outcome = () if standing.has_outcome else (Wait.OUTCOME,)
    if not (measure or outcome):
        return ClaySentence("Done: measured, and its outcome noted.", (Wait.NOTHING,), Hurry.KEEPS)
    wanted = " and ".join(
        words
        for words, wait in (("measure it", measure), ("note how it came out", outcome))
        if wait
    )
    return ClaySentence(f"{wanted.capitalize()}.", measure + outcome, Hurry.KEEPS)


_SAY = {
    WET: _wet,
    LEATHER_HARD: _leather_hard,
    BONE_DRY: _bone_dry,
    BISQUE: _bisque,
    GLAZED: _glazed,
}


def counts(said: Iterable[ClaySentence]) -> tuple[str, ...]:
    """What of many pieces is worth a line: "3 too dry for a handle soon.", the soonest first."""
    said = [each for each in said if each.count_as]
    counted = Counter(each.count_as for each in said)
    ranks = {each.count_as: each.rank for each in said}
    ordered = sorted(counted, key=lambda word: ranks[word])
    return tuple(f"{counted[word]} {word}." for word in ordered)
