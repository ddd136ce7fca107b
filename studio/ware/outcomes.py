"""What can come of a piece: each outcome in the trade's word, its usual stage, whose doing it is.

Whose doing is a default to rule from, never a verdict (common practice, no source): teachers
differ, and the photo before the fire, the place in the kiln and the neighbours decide.
"""

from dataclasses import dataclass

from studio.ware.stages import BISQUE, BONE_DRY, GLAZED

CRAFT, KILN, UNCLEAR = "craft", "kiln", "unclear"


@dataclass(frozen=True, slots=True)
class Defect:
    """An outcome: the trade's word, where it usually shows, and whose doing it usually is.

    ``cause`` is the usual cause, ``why`` what speaks for the proposed doing and what to look at
    before ruling, ``next_time`` an action for the next piece, said to its maker.
    """

    word: str
    stage: str
    doing: str
    cause: str
    why: str = ""
    next_time: str = ""


SOUND = "sound"
BLOW_OUT, HIT = "blow-out", "hit by shards"

MADE = "It was made before the kiln saw it; look at the photo before the fire."
KILN_ALONE = "The maker has no hand in it."

DEFECTS = {
    defect.word: defect
    for defect in (
        Defect(SOUND, GLAZED, CRAFT, "nothing to note"),
        Defect(
            "seam crack",
            BISQUE,
            CRAFT,
            "butt join, dry edges, not compressed",
            MADE + " An edge already open when leather-hard settles it.",
            "Bevel both edges alike, score them deep, slip, press, and compress the seam with a "
            "rib on both faces.",
        ),
        Defect(
            "base crack",
            BISQUE,
            CRAFT,
            "base and wall dried at different rates",
            "A crack like an S comes from drying, not from fire.",
            "Compress the base well, keep it as thick as the wall, and dry the piece on its rim.",
        ),
        Defect(
            "dart crack",
            BONE_DRY,
            CRAFT,
            "dart too wide, edges stiff",
            MADE,
            "Cut a narrower V, bevel both edges, and press a thin coil in from inside while the "
            "clay is still soft.",
        ),
        Defect(
            "rim crack",
            BONE_DRY,
            CRAFT,
            "thin rim, or the rim dried first",
            "A rim that cracks has dried ahead of the wall.",
            "Compress the rim with a chamois and wrap it so that it dries with the wall.",
        ),
        Defect(
            "warp",
            GLAZED,
            UNCLEAR,
            "slab bent, uneven compression or drying",
            "Out of shape before the fire, it is the making's; true before and bent after, the "
            "kiln's. Compare the two photos and the cone.",
            "Turn and flip the slab as you roll, compress both faces, and dry it slowly between "
            "boards.",
        ),
        Defect(
            "handle crack",
            BISQUE,
            CRAFT,
            "handle and wall were not equally wet",
            "Joins of clay that dries unequally part before the heat does it.",
            "Join the handle when it is as wet as the wall, then wrap the cup overnight.",
        ),
        Defect(
            "handle off",
            BISQUE,
            CRAFT,
            "handle and wall were not equally wet",
            "Joins of clay that dries unequally part before the heat does it.",
            "Make a spare handle, join it when it is as wet as the wall, and wrap the cup "
            "overnight.",
        ),
        Defect(
            BLOW_OUT,
            BISQUE,
            UNCLEAR,
            "steam: damp or thick, heated fast; trapped air alone is disputed",
            "Who loaded it damp matters: was it dry to the cheek, how thick was it, how fast "
            "passed the kiln 100 °C?",
            "Keep every part under 9 mm, hollow what is thicker, and wait until it is no longer "
            "cool on the cheek.",
        ),
        Defect(
            HIT,
            BISQUE,
            KILN,
            "a neighbour burst",
            KILN_ALONE,
            "Nothing to do differently: a neighbour burst.",
        ),
        Defect(
            "dunt",
            GLAZED,
            KILN,
            "cooled fast; uneven wall; glaze thick on one side",
            "A crack with sharp edges comes from cooling. What usually decides: where the log fell "
            "fast near 573 °C or the kiln was opened hot, or neighbours dunted too, it is the "
            "kiln's; one piece alone after a slow cooling speaks for an uneven wall, or for thick "
            "glaze on one side, which is the making's.",
            "Keep the wall even and glaze inside and outside alike; where the kiln cooled fast, "
            "there is nothing to do differently.",
        ),
        Defect(
            "bloat",
            GLAZED,
            KILN,
            "overfired, trapped gas",
            "Look at the cone of this shelf.",
            "Nothing to do differently: the next firing goes to a lower cone.",
        ),
        Defect(
            "crawling",
            GLAZED,
            UNCLEAR,
            "dust, grease, thick glaze in corners",
            "Dusty bisque or thick glaze is the making's; a glaze that crawls on every piece is "
            "not.",
            "Wipe the bisque with a damp sponge, touch it no more, and glaze in thinner coats.",
        ),
        Defect(
            "pinholes",
            GLAZED,
            KILN,
            "gas; bisque fired low",
            "Gas that leaves late: a hotter bisque or a soak helps, both the firing's. Thick "
            "glaze speaks for the making.",
            "Glaze in even coats; the next bisque goes hotter, the next glaze firing is held.",
        ),
        Defect(
            "glaze run",
            GLAZED,
            UNCLEAR,
            "thick, low on the wall, or overfired",
            "Where the cone lies flat the kiln did it; where it is right, the glaze was thick.",
            "Two coats, and 6 mm bare above the foot.",
        ),
        Defect(
            "stuck to the shelf",
            GLAZED,
            UNCLEAR,
            "glaze on the foot, or overfired",
            "Where the cone lies flat the kiln did it; where it is right, the foot carried glaze.",
            "Wax the foot, wipe it, and leave 6 mm bare above it.",
        ),
        Defect(
            "neighbour's glaze",
            GLAZED,
            KILN,
            "a drip or a touch in the kiln",
            KILN_ALONE,
            "Nothing to do differently: it was a neighbour's glaze.",
        ),
        Defect(
            "craze",
            GLAZED,
            KILN,
            "glaze and body do not fit; thick glaze; underfired body",
            "What usually decides: where all pieces with this glaze on this clay craze, the "
            "pairing does it, or a body that was underfired; where thinly glazed neighbours are "
            "whole, the glaze was thick, which is the making's.",
            "Glaze in the number of coats that was asked for, and try the glaze on this clay on a "
            "test tile first.",
        ),
        Defect(
            "shiver",
            GLAZED,
            KILN,
            "glaze and body do not fit; glaze thick on edges, or over slip; the flakes are sharp",
            "What usually decides: where it flakes on every piece with this glaze, the pairing "
            "does it; where only on sharp edges, thick runs, or over a slip or underglaze of the "
            "student's, the making has a hand in it.",
            "Round edges, glaze them thinly, and try the glaze on this clay on a test tile first. "
            "The flakes cut: bin this one.",
        ),
        Defect(
            "rough foot",
            GLAZED,
            CRAFT,
            "not cleaned at leather-hard",
            MADE,
            "Sponge the foot at leather-hard, and rub it wet on a stone after the fire.",
        ),
        Defect(
            "underfired",
            GLAZED,
            KILN,
            "the witness cone stood stiff",
            "The cone of its shelf says so. " + KILN_ALONE,
            "Nothing to do differently: it can be fired again, on another shelf.",
        ),
        Defect(
            "overfired",
            GLAZED,
            KILN,
            "the witness cone lay flat",
            "The cone of its shelf says so. " + KILN_ALONE,
            "Nothing to do differently: the kiln went too far on this shelf.",
        ),
        Defect(
            "chip",
            GLAZED,
            UNCLEAR,
            "a knock",
            "Chipped before the fire, its edge is glazed or worn; after, it is sharp.",
            "Lift the piece by its body with both hands, never by rim or handle.",
        ),
    )
}


GLAZE_FAULTS = frozenset(
    {"crawling", "pinholes", "glaze run", "stuck to the shelf", "craze", "shiver"}
)
"""Outcomes that a glaze, its thickness or its fit to the clay has a part in."""


def advice_on(kind: str) -> str:
    """What to do next time, for the piece's maker; "" where there is nothing to learn."""
    defect = DEFECTS.get(kind)
    return defect.next_time if defect else ""
