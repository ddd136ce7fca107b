"""What the starter rubrics say: criteria, weights, limits, and what may be seen at each level.

All of it is our proposal: common practice of school studios, no source; no published standard for
students' ware was found. A teacher copies a rubric and edits the copy. Where a criterion leans on
checks, its description ends with what no measure sees, which is for eye and hand.
"""

from __future__ import annotations

from decimal import Decimal

from rubrics.models import Criterion
from rubrics.rubric.versions import CriterionContent, LevelContent, LimitContent

# (number, name, points), the highest first.
STARTER_LEVELS = (
    (4, "Assured", "100"),
    (3, "Capable", "85"),
    (2, "On the way", "70"),
    (1, "At the start", "55"),
)

CRAFT, DESIGN = Criterion.Group.CRAFT, Criterion.Group.DESIGN
THINKING, HABITS = Criterion.Group.THINKING, Criterion.Group.HABITS


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


def _thinking(weight):
    return _criterion(
        "A",
        "Intent, revision and critique",
        weight,
        THINKING,
        "What you meant, what you changed and why, and what you say of your own piece and of "
        "others'. Judged by eye, from sketchbook, notes and talk; never from a photo of the "
        "finished piece.",
        levels=(
            "Your sketches show several ideas with sizes, you say why you chose one, and your "
            "notes name a change you made while building and what it did.",
            "Two sketches with sizes lead to the piece; you name one thing that worked and one "
            "that you will do otherwise.",
            "One sketch with few sizes; what you say of the piece could be said of many.",
            "There is no sketch to look back at, or nothing is said of the piece yet.",
        ),
    )


def _wall(letter, weight):
    return _criterion(
        letter,
        "Wall",
        weight,
        CRAFT,
        "How even the wall is all round, how near to the planned thickness, and whether a place "
        "is too thin to trust or too thick to carry. No measure sees dents, finger marks or a "
        "lump inside.",
        levels=(
            "The wall feels the same wherever you pinch it, and as thick as planned.",
            "A small difference from side to side; nowhere thin or heavy.",
            "One side or the foot is plainly heavier, or the whole wall is thicker or thinner "
            "than planned.",
            "A place is too thin to trust, or so thick that the piece is heavy in the hand.",
        ),
        limits=[
            ("wall_evenness.scaled_spread_mm", "1.5", "3", "4.5"),
            ("wall_evenness.too_thin_mm", "0.5", "1", "1.5"),
            ("wall_evenness.too_thick_mm", "0.5", "1.5", "2.5"),
            ("wall_evenness.plan_match_mm", "1", "2", "3"),
        ],
    )


def _surface(letter, weight):
    return _criterion(
        letter,
        "Surface",
        weight,
        DESIGN,
        "Where texture, slip and glaze lead the eye, and how they serve the form. Judged by eye. "
        "A fault of glaze or firing is noted as an outcome and is not judged here.",
        levels=(
            "Texture and glaze lead the eye to a place you chose and follow the form there.",
            "There is a clear place to look at; texture and glaze belong together.",
            "Texture or glaze covers the piece without leading anywhere.",
            "Little was decided about the surface.",
        ),
    )


def _habits(letter, weight):
    return _criterion(
        letter,
        "Studio habits",
        weight,
        HABITS,
        "Care for clay, tools, table and people; nothing of how the piece looks. Judged by eye "
        "and from the habit sheet.",
        levels=(
            "Wrapped, labelled and cleaned up without being asked, and you helped others do so.",
            "Mostly wrapped, labelled and clean; tools and kiln shelf used as shown.",
            "Needed reminders to wrap, label or clean up.",
            "Clay dust, tools or people were put at risk.",
        ),
    )


_RIM_LIMITS = (
    ("rim_level.rise_deg", "1.4", "2.9", "4.3"),
    ("rim_level.out_of_round_mm", "3", "6", "9"),
)
_STANDS_LIMITS = (
    ("squared_foot.rock_mm", "0.3", "1", "2"),
    ("squared_foot.largest_gap_mm", "0.3", "1", "2"),
)

SLAB_CUP = (
    _thinking(15),
    _wall("B", 10),
    _criterion(
        "C",
        "Joins: seam, darts and base",
        15,
        CRAFT,
        "Whether every join is closed and the two lips meet. Showing the seam or hiding it is "
        "the maker's choice. No measure sees whether slip and scoring went all the way through, "
        "or how clean the inside is.",
        levels=(
            "Every join is closed; the lips meet within half a millimetre, and the inside is "
            "smooth to the finger.",
            "Closed but for a hairline of 5 mm at most; a step under a fingernail, up to 1.5 mm.",
            "A join is open for up to 12 mm, a step of up to 3 mm was left, or slip stands in "
            "ridges inside.",
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
        10,
        CRAFT,
        "How level and round the rim is, how square the foot, and whether it stands. No measure "
        "sees whether the edges are softened and the foot is clean.",
        levels=(
            "The rim is level and round, the foot square, nothing rocks; edges are softened.",
            "The rim rises by a few millimetres or is a little oval; the foot's sides or "
            "diagonals differ by up to 4 mm; a corner lifts by 1 mm at most.",
            "The rim plainly slopes or is oval, the foot has lost its square, or the cup rocks.",
            "The rim is far from level, or the cup does not stand on its own.",
        ),
        limits=[
            *_RIM_LIMITS,
            ("squared_foot.side_spread_mm", "2", "4", "6"),
            ("squared_foot.diagonal_difference_mm", "2", "4", "6"),
            *_STANDS_LIMITS,
        ],
    ),
    _criterion(
        "E",
        "Handle",
        10,
        CRAFT,
        "Whether the handle stands upright and untwisted, sits where it was meant to, and takes "
        "the fingers it is for. No measure sees how it flows out of the wall, or whether its "
        "joins are pressed home.",
        levels=(
            "The handle stands upright where you meant it, the fingers pass freely, and it flows "
            "out of the wall at both ends.",
            "A slight lean or twist, or a little off its place; the fingers fit.",
            "Plainly leaning, twisted or off its place, tight for the fingers, or thin at a join.",
            "It cannot be held as meant, or is cracked or came off.",
        ),
        limits=[
            ("handle_alignment.lean_deg", "3", "7", "12"),
            ("handle_alignment.twist_deg", "3", "7", "12"),
            ("handle_alignment.placement_deg", "5", "10", "20"),
            ("handle_alignment.opening_short_mm", "1", "3", "6"),
        ],
    ),
    _surface("F", 10),
    _habits("G", 5),
    _criterion(
        "H",
        "Form and proportion",
        15,
        DESIGN,
        "How height, width, foot and handle go together, seen from the side and from above. "
        "Judged by eye.",
        levels=(
            "Wall, foot and handle make one line; nothing could be larger or smaller without harm.",
            "The parts go together; one of them is a little large, small, high or low.",
            "One part pulls away from the rest: a handle too large, a foot too small, a wall "
            "that sags.",
            "The parts stand beside each other; the form was not decided.",
        ),
    ),
    _criterion(
        "I",
        "In use: lip, balance, weight",
        10,
        CRAFT,
        "Whether one would like to drink from it: the lip at the mouth, the balance when it is "
        "full, the weight in the hand, and what it holds beside the plan. No measure sees lip, "
        "balance and weight: lift it three quarters full.",
        levels=(
            "The lip is thin and soft to the mouth, the cup hangs steady when full, and is no "
            "heavier than it looks.",
            "It drinks well; it tips slightly when full, or is a little heavy or light.",
            "The lip is thick or sharp, it tips in the hand, or holds much more or less than "
            "planned.",
            "One would not drink from it: the edge hurts, it leaks, or it cannot be lifted full.",
        ),
        limits=[("capacity.difference_fraction", "0.1", "0.15", "0.25")],
    ),
)

PINCH_OR_COIL = (
    _thinking(15),
    _wall("B", 15),
    _criterion(
        "C",
        "Joins: coils and added parts",
        15,
        CRAFT,
        "Whether every coil and every added part is closed to the next, inside and out. No "
        "measure sees a coil that was smoothed over without being joined: look inside.",
        levels=(
            "Every join is worked together inside and out; no line opens when you run a nail "
            "along it.",
            "Closed but for a hairline of 5 mm at most.",
            "Coils or added parts are open for up to 12 mm, or were smoothed on one side only.",
            "A join is open for longer, a crack goes through, or a part came off.",
        ),
        limits=[("seam_join.longest_open_mm", "0", "5", "12")],
    ),
    _criterion(
        "D",
        "Rim and base",
        10,
        CRAFT,
        "How level and round the rim is, and whether the piece stands. A rim that was meant to "
        "wander is judged by eye. No measure sees whether the edge is compressed and soft.",
        levels=(
            "The rim runs as you meant it, its edge is compressed and soft; the piece stands "
            "without rocking.",
            "The rim rises by a few millimetres or is a little oval; it stands.",
            "The rim plainly slopes, is split or sharp, or the piece rocks.",
            "The rim is cracked through, or the piece does not stand on its own.",
        ),
        limits=[*_RIM_LIMITS, *_STANDS_LIMITS],
    ),
    _surface("E", 15),
    _habits("F", 5),
    _criterion(
        "G",
        "Form and proportion",
        15,
        DESIGN,
        "How belly, neck, rim and base go together, seen from the side and from above. Judged by "
        "eye.",
        levels=(
            "The outline runs from base to rim in one line that you meant.",
            "The outline is clear; in one place it swells or sags against your plan.",
            "The outline wavers: the clay decided where the form widens.",
            "The form was not decided, or has slumped.",
        ),
    ),
    _criterion(
        "H",
        "In use: lip, balance, weight",
        10,
        CRAFT,
        "How it is to hold, to pour or to drink from, and its weight in the hand. Judged by eye "
        "and hand.",
        levels=(
            "It sits well in the hand, is no heavier than it looks, and does what it is for.",
            "It does what it is for; it is a little heavy or light.",
            "It is heavy at the base, tips, or is awkward to hold.",
            "It cannot be used for what it is for.",
        ),
    ),
)

FREE_FORM = (
    _thinking(25),
    _criterion(
        "B",
        "Building",
        20,
        CRAFT,
        "Whether it was built to last: hollow where it is thick, walls of one thickness, joins "
        "closed. No measure sees air that cannot get out, or a join that was only smeared.",
        levels=(
            "Walls of one thickness, hollow where the form is thick; every join is closed and "
            "nothing moves when you lift it.",
            "Closed but for a hairline of 5 mm at most; one place is thicker than the rest.",
            "Joins are open for up to 12 mm, or thick places were left solid.",
            "A part came off, a crack goes through, or it cannot be lifted safely.",
        ),
        limits=[
            ("seam_join.longest_open_mm", "0", "5", "12"),
            ("wall_evenness.too_thick_mm", "0.5", "1.5", "2.5"),
        ],
    ),
    _criterion(
        "C",
        "Standing and balance",
        10,
        CRAFT,
        "Whether it stands or hangs as you meant it, from every side. No measure sees how near "
        "it is to falling: push it gently.",
        levels=(
            "It stands as you meant it and comes back when you push it gently.",
            "It stands; a corner lifts by 1 mm at most.",
            "It rocks, or leans further than you meant.",
            "It does not stand without help.",
        ),
        limits=_STANDS_LIMITS,
    ),
    _criterion(
        "D",
        "Form in space",
        25,
        DESIGN,
        "How volumes, openings and edges go together, seen from all sides. Judged by eye.",
        levels=(
            "It holds the eye from every side; each view leads on to the next.",
            "It is clear from two sides or more; the back was thought of.",
            "It was made for one side; the others repeat it or are empty.",
            "The parts stand beside each other; the form was not decided.",
        ),
    ),
    _surface("E", 15),
    _habits("F", 5),
)
