"""The rubric that ships with the site, for the lidless slab cup with a squared foot.

Criteria, weights and limits are our proposal: common practice of school studios, no source; no
published standard for students' cups was found. A teacher copies it and edits the copy.
"""

from __future__ import annotations

from decimal import Decimal

from django.db import transaction

from rubrics.models import Criterion, Rubric
from rubrics.rubric.versions import CriterionContent, LevelContent, LimitContent, make_rubric

STARTER_NAME = "Slab cup with a squared foot"

# (number, name, points), the highest first.
STARTER_LEVELS = (
    (4, "Assured", "100"),
    (3, "Sound", "85"),
    (2, "On the way", "70"),
    (1, "At the start", "55"),
)

CRAFT, DESIGN, HABITS = Criterion.Group.CRAFT, Criterion.Group.DESIGN, Criterion.Group.HABITS


def _criterion(letter, name, weight, group, description, *, levels, limits=()):
    return CriterionContent(
        letter=letter,
        name=name,
        weight=Decimal(weight),
        group=group,
        description=description,
        levels=[
            LevelContent(number, level, Decimal(points), descriptor)
            for (number, level, points), descriptor in zip(STARTER_LEVELS, levels, strict=True)
        ],
        limits=[
            LimitContent(figure, *(Decimal(bound) for bound in abc)) for figure, *abc in limits
        ],
    )


STARTER_CRITERIA = (
    _criterion(
        "A",
        "Plan and idea",
        10,
        DESIGN,
        "Sketches, sizes and reasons from before the clay was cut, and what changed on the way.",
        levels=(
            "Three or more sketches with sizes; you say why you chose one, and noted what changed "
            "while you built.",
            "Two sketches with their sizes lead to the cup that was built.",
            "One sketch, with few sizes; much was decided at the table.",
            "The cup was built without a plan to look back at.",
        ),
    ),
    _criterion(
        "B",
        "Wall",
        15,
        CRAFT,
        "How even the wall is all round: its thickest place less its thinnest.",
        levels=(
            "The wall feels the same all the way round: thickest and thinnest lie within 1 mm.",
            "A small difference from side to side, no more than 2 mm.",
            "One side is plainly heavier: up to 3 mm between thickest and thinnest.",
            "The wall changes by more than 3 mm, or has a place too thin to trust.",
        ),
        limits=[("wall_evenness.spread_mm", "1", "2", "3")],
    ),
    _criterion(
        "C",
        "Seam, darts and base",
        20,
        CRAFT,
        "Whether every join is closed and the two lips meet. Showing the seam or hiding it is "
        "the maker's choice.",
        levels=(
            "Every join is closed; the lips meet within half a millimetre, and the inside is "
            "clean.",
            "Closed but for a hairline of 5 mm at most; a step under a fingernail, up to 1.5 mm.",
            "A join is open for up to 12 mm, or a step of up to 3 mm was left.",
            "A join is open for longer, or a crack goes through.",
        ),
        limits=[
            ("seam_join.longest_open_mm", "0", "5", "12"),
            ("seam_join.largest_step_mm", "0.5", "1.5", "3"),
        ],
    ),
    _criterion(
        "D",
        "Rim and foot",
        15,
        CRAFT,
        "How level the rim is on a flat table, how square the foot, and whether it rocks.",
        levels=(
            "The rim is level within 2 mm, the four sides of the foot agree within 2 mm, and "
            "nothing rocks.",
            "The rim rises by up to 4 mm; the sides differ by up to 4 mm; a corner lifts by 1 mm "
            "at most.",
            "The rim rises by up to 6 mm, the foot has lost its square, or the cup rocks.",
            "The rim rises by more than 6 mm, or the cup does not stand on its own.",
        ),
        limits=[
            ("rim_level.rise_mm", "2", "4", "6"),
            ("squared_foot.side_spread_mm", "2", "4", "6"),
            ("squared_foot.rock_mm", "0.3", "1", "2"),
        ],
    ),
    _criterion(
        "E",
        "Handle",
        15,
        CRAFT,
        "Whether the handle stands upright, is well joined, and gives the planned fingers room.",
        levels=(
            "The handle stands upright within 3°, the fingers clear the wall, and a full cup "
            "hangs steady.",
            "A lean of up to 7°; the cup can be held well.",
            "A lean of up to 12°, or tight for the fingers, or thin at a join.",
            "A lean of more than 12°, or the handle is cracked or came off.",
        ),
        limits=[("handle_alignment.lean_deg", "3", "7", "12")],
    ),
    _criterion(
        "F",
        "Surface and glaze",
        15,
        DESIGN,
        "Where texture and glaze lead the eye, and how cleanly the glaze sits.",
        levels=(
            "Texture and glaze lead the eye to a place you chose; the foot is clean.",
            "There is a clear place to look at; the glaze has only small flaws.",
            "The texture covers the cup without leading anywhere; the glaze is thick or bare in "
            "patches.",
            "Little was done to the surface, or the glaze ran and stuck.",
        ),
    ),
    _criterion(
        "G",
        "Studio habits and reflection",
        10,
        HABITS,
        "Care for clay, tools and table, and what you say of your own cup.",
        levels=(
            "Wrapped, labelled and cleaned up without being asked; your reflection names what was "
            "measured and what you will do next.",
            "Mostly wrapped, labelled and clean; your reflection speaks of this cup.",
            "Needed reminders; the reflection could be about any cup.",
            "Clay, tools or people were put at risk, or there is no reflection yet.",
        ),
    ),
)


@transaction.atomic
def ensure_starter_rubric() -> Rubric:
    """The starter rubric; made now if it is not there. Running it again changes nothing."""
    found = Rubric.objects.filter(owner=None, name=STARTER_NAME).order_by("-version").first()
    return found or make_rubric(STARTER_NAME, STARTER_CRITERIA)
