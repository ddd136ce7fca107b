"""What drying and firing did to a piece, in a sentence for the family, and what it teaches."""

from __future__ import annotations

import re

from studio.ware.outcomes import CRAFT, KILN, advice_on

from .family import CameOut
from .language import as_written, marked, said

SOUND = "sound"

KINDS = {
    "seam crack": marked("a crack along the seam"),
    "base crack": marked("a crack in the base"),
    "dart crack": marked("a crack at a dart"),
    "rim crack": marked("a crack at the rim"),
    "warp": marked("the shape warped"),
    "handle crack": marked("a crack at the handle"),
    "handle off": marked("the handle came off"),
    "blow-out": marked("a part burst off"),
    "hit by shards": marked("it was hit by shards of another piece"),
    "dunt": marked("a crack from cooling"),
    "bloat": marked("blisters in the clay"),
    "crawling": marked("the glaze drew back in places"),
    "pinholes": marked("small pits in the glaze"),
    "glaze run": marked("the glaze ran"),
    "stuck to the shelf": marked("it stuck to the shelf"),
    "neighbour's glaze": marked("a drip of another piece's glaze"),
    "craze": marked("a net of fine cracks in the glaze"),
    "shiver": marked("the glaze flakes off; the flakes are sharp"),
    "rough foot": marked("the foot stayed rough"),
    "underfired": marked("the kiln stayed too cool"),
    "overfired": marked("the kiln got too hot"),
    "chip": marked("a chip"),
}

WHEN = {
    "wet": marked("While it was wet: {what}."),
    "leather-hard": marked("While it was leather-hard: {what}."),
    "bone dry": marked("While it dried: {what}."),
    "bisque": marked("In the first firing: {what}."),
    "glazed": marked("In the glaze firing: {what}."),
}

# What is not ruled yet is between the teacher and the shelf: a family is told nothing of it.
WHOSE = {
    CRAFT: marked("The teacher says it comes from the making."),
    KILN: marked("The teacher says the kiln did it."),
}

CRACKS = frozenset(
    {"seam crack", "base crack", "dart crack", "rim crack", "handle crack", "handle off", "bloat"}
)
SHARP = frozenset({"chip", "shiver", "hit by shards", "dunt", "blow-out"})
NOT_FOR_USE = CRACKS | SHARP | {"craze"}
"""After these a piece is set aside (common practice of school studios, no source)."""

SURFACE_OUTCOMES = frozenset(
    {
        "hit by shards",
        "dunt",
        "bloat",
        "crawling",
        "pinholes",
        "glaze run",
        "stuck to the shelf",
        "neighbour's glaze",
        "craze",
        "shiver",
        "underfired",
        "overfired",
        "chip",
    }
)
"""What touches what the eye judges of glaze and texture; no check reads it."""

SURFACE_WORDS = re.compile(r"\b(glaz\w*|surface\w*|texture\w*|colou?r\w*)\b", re.IGNORECASE)
"""Words by which a criterion judged by eye says that it looks at what the glaze fire made."""

NOTHING_TO_LEARN = "Nothing to do differently"


def lesson_of(kind: str) -> str:
    """What an outcome teaches its maker; "" where there is nothing to learn."""
    advice = advice_on(kind)
    return "" if advice.startswith(NOTHING_TO_LEARN) else advice


def outcome_said(outcome: CameOut) -> str:
    """ "In the glaze firing: the glaze ran. The teacher says it comes from the making." """
    if outcome.kind == SOUND:
        return said("It came through the kiln whole.")
    what = said(KINDS[outcome.kind]) if outcome.kind in KINDS else as_written(outcome.kind)
    parts = [
        said(WHEN.get(outcome.stage, WHEN["glazed"]), what=what),
        said(WHOSE[outcome.doing]) if outcome.doing in WHOSE else "",
        _what_follows(outcome),
    ]
    if outcome.note:
        parts.append(as_written(outcome.note))
    return " ".join(filter(None, parts))


def _what_follows(outcome: CameOut) -> str:
    if outcome.lost:
        return said(
            "The piece could not be saved. That happens to every potter, and what was learned "
            "goes into the next one."
        )
    if outcome.kind in SHARP:
        return said("It is to look at, not to use: edges may be sharp.")
    return said("It is to look at, not to use.") if outcome.kind in NOT_FOR_USE else ""
