"""What can come of a piece: each outcome in the trade's word, its usual stage, whose doing it is.

Whose doing is a default to rule from, never a verdict (common practice, no source): teachers
differ, and the photo before the fire, the place in the kiln and the neighbours decide.
"""

from dataclasses import dataclass

from studio.quantities import STAGES

CRAFT, KILN, UNCLEAR = "craft", "kiln", "unclear"
WET, LEATHER_HARD, BONE_DRY, BISQUE, GLAZED = STAGES


@dataclass(frozen=True, slots=True)
class Defect:
    """An outcome: the trade's word, where it usually shows, and whose doing it usually is."""

    word: str
    stage: str
    doing: str
    cause: str


SOUND = "sound"

DEFECTS = {
    defect.word: defect
    for defect in (
        Defect(SOUND, GLAZED, CRAFT, "nothing to note"),
        Defect("seam crack", BISQUE, CRAFT, "butt join, dry edges, not compressed"),
        Defect("base crack", BISQUE, CRAFT, "base and wall dried at different rates"),
        Defect("dart crack", BONE_DRY, CRAFT, "dart too wide, edges stiff"),
        Defect("rim crack", BONE_DRY, CRAFT, "thin rim, or the rim dried first"),
        Defect("warp", GLAZED, UNCLEAR, "slab bent, uneven compression or drying"),
        Defect("handle crack", BISQUE, CRAFT, "handle and wall were not equally wet"),
        Defect("handle off", BISQUE, CRAFT, "handle and wall were not equally wet"),
        Defect("blow-out", BISQUE, UNCLEAR, "steam: damp or thick, heated fast"),
        Defect("hit by shards", BISQUE, KILN, "a neighbour burst"),
        Defect("dunt", GLAZED, KILN, "cooled fast"),
        Defect("bloat", GLAZED, KILN, "overfired, trapped gas"),
        Defect("crawling", GLAZED, UNCLEAR, "dust, grease, thick glaze in corners"),
        Defect("pinholes", GLAZED, KILN, "gas; bisque fired low"),
        Defect("glaze run", GLAZED, UNCLEAR, "thick, low on the wall, or overfired"),
        Defect("stuck to the shelf", GLAZED, UNCLEAR, "glaze on the foot, or overfired"),
        Defect("neighbour's glaze", GLAZED, KILN, "a drip or a touch in the kiln"),
        Defect("craze", GLAZED, KILN, "glaze and body do not fit"),
        Defect("shiver", GLAZED, KILN, "glaze and body do not fit; the flakes are sharp"),
        Defect("rough foot", GLAZED, CRAFT, "not cleaned at leather-hard"),
        Defect("underfired", GLAZED, KILN, "the witness cone stood stiff"),
        Defect("overfired", GLAZED, KILN, "the witness cone lay flat"),
        Defect("chip", GLAZED, UNCLEAR, "a knock"),
    )
}
