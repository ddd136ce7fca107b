"""Constructed cups: what was read of each, and what a potter would say of it.

Each row is one fault, or none, put into an otherwise sound cup of the starter plan (95 mm high, 85
across the rim, a foot of 58, a slab of 6.35 mm at 12 % shrinkage), read on the glazed piece with a
calliper unless it says otherwise. The verdict is the check's, the level what the starter limits
suggest, None where nothing should be suggested. The reasons are ours: common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from rubrics.craft.readings import Reading
from studio.ware.instruments import STARTER_INSTRUMENTS
from studio.ware.uncertainty import reading_uncertainty

from .pieces import PLAN

GLAZED, LEATHER = "glazed", "leather-hard"
WITHIN, CLOSE, OUTSIDE = "within", "too close to call", "outside"
FINE = reading_uncertainty("wall_thickness", GLAZED, instrument=STARTER_INSTRUMENTS["calliper"])
"""Standard uncertainty of a reading with the calliper on fired clay. [mm]"""

NO_JAWS = reading_uncertainty("seam_step", GLAZED, instrument=STARTER_INSTRUMENTS["calliper"])
"""Of its depth rod, or of its jaws held beside something: the clay does not yield. [mm]"""

ROUND = {4: (0, 90, 180, 270), 3: (0, 120, 240), 8: tuple(range(0, 360, 45))}


@dataclass(frozen=True)
class Cup:
    """One constructed cup and what should be said of it."""

    name: str
    check: str
    readings: list
    verdict: str | None
    level: int | None
    why: str

    @property
    def decided_by(self) -> str:
        usual, others = DECIDED[self.check]
        return others.get(self.name, usual)


def wall(*values, at=(10, 45, 80), azimuths=ROUND[4], stage=GLAZED, u=FINE):
    """Thicknesses, height by height and round the cup at each."""
    places = [(z, az) for z in at for az in azimuths]
    values = values * len(places) if len(values) == 1 else values
    return [
        Reading("wall_thickness", stage, value, u, "", z, az)
        for value, (z, az) in zip(values, places, strict=True)
    ]


def four(*values, **more):
    """Thicknesses at four places at half height."""
    return wall(*values, at=(45,), **more)


def rim(height, *, tilt=0.0, saddle=0.0, lobes=0.0, phase=0.0, n=8, width=85, stage=GLAZED, u=0.25):
    """A rim that rises by ``tilt`` across, by ``saddle`` and ``lobes`` in two and three waves."""
    found = [Reading("dimension", stage, width, FINE, "rim_diameter")]
    for az in ROUND[n]:
        turn = math.radians(az - phase)
        lift = tilt * math.cos(turn) + saddle * math.cos(2 * turn) + lobes * math.cos(3 * turn)
        found.append(Reading("rim_height", stage, height + lift / 2, u, "", None, az))
    return found


def oval(one, other):
    """A level rim with two diameters."""
    return [
        *rim(95, width=one),
        Reading("dimension", GLAZED, other, FINE, "rim_diameter_2"),
    ]


def seam(*, open_mm=0.0, step=0.2, through=0.0, dart=None, dart_length=None, u=NO_JAWS):
    """A seam of 95 mm; ``dart`` is how far one dart has opened."""
    found = [
        Reading("seam_length", GLAZED, 95, 0.5, "seam"),
        Reading("seam_open", GLAZED, open_mm, u, "seam", 20),
        Reading("seam_step", GLAZED, step, u, "seam", 40),
    ]
    if through:
        found.append(Reading("seam_through", GLAZED, through, u, "seam", 60))
    if dart is not None:
        found.append(Reading("seam_open", GLAZED, dart, u, "dart2", 0))
    if dart_length is not None:
        found.append(Reading("seam_length", GLAZED, dart_length, 0.5, "dart2"))
    return found


def handle(*, lean=0.0, twist=0.0, off=0.0, high=44.0, deep=30.0, u_deg=0.5, u=FINE):
    """A handle leaning, twisted or off its place [°], with an opening [mm]."""
    # Half the turn between the ends that gives this lean, on a cup of radius 39 over 50 mm.
    half = math.degrees(math.asin(math.tan(math.radians(lean)) * 25 / 39))
    return [
        *rim(95),
        Reading("dimension", GLAZED, 95, FINE, "height"),
        Reading("dimension", GLAZED, 78, FINE, "diameter", 20),
        Reading("dimension", GLAZED, 78, FINE, "diameter", 90),
        Reading("dimension", GLAZED, 58, FINE, "foot_side"),
        Reading("handle_top", GLAZED, 80, u, "", None, off + half),
        Reading("handle_bottom", GLAZED, 30, u, "", None, off - half),
        Reading("handle_twist", GLAZED, twist, u_deg),
        Reading("handle_opening", GLAZED, high, u, "height"),
        Reading("handle_opening", GLAZED, deep, u, "depth"),
    ]


def foot(sides=(58, 58, 58, 58), diagonals=(75.4, 75.4), gaps=(0, 0, 0, 0), u_gap=0.05):
    """Sides, diagonals and the gaps over a flat table."""
    return [
        *[Reading("foot_side", GLAZED, v, FINE, str(k)) for k, v in enumerate(sides, 1)],
        *[Reading("foot_diagonal", GLAZED, v, FINE, str(k)) for k, v in enumerate(diagonals, 1)],
        *[Reading("foot_gap", GLAZED, v, u_gap, str(k)) for k, v in enumerate(gaps, 1)],
    ]


def holds(grams):
    """Water to the brim."""
    return [Reading("water_mass", GLAZED, grams, 1.0, "brim")]


def shrunk(percent, *, u=FINE):
    """Marks 100 mm apart when wet, read at the glazed stage."""
    return [
        Reading("dimension", "wet", 100, u, "mark"),
        Reading("dimension", GLAZED, 100 - percent, u, "mark"),
    ]


PLANNED = PLAN.planned_wall_mm(GLAZED)
SIXTEENTHS = reading_uncertainty(
    "wall_thickness", GLAZED, instrument=STARTER_INSTRUMENTS["ruler, sixteenths of an inch"]
)
"""Of a ruler in sixteenths of an inch there. [mm]"""

DECIDED = {
    "wall_evenness": ("scaled_spread_mm", {
        "a place of 2.6 mm": "too_thin_mm",
        "a place of 2 mm": "too_thin_mm",
        "2 mm all over": "too_thin_mm",
        "12 mm all over": "too_thick_mm",
        "12 mm all over, leather-hard": "plan_match_mm",
        "7.2 mm all over": "plan_match_mm",
        "8.2 mm all over": "plan_match_mm",
        "4.2 mm all over": "plan_match_mm",
        "four readings within 3 degrees": "",
        "four readings on one side": "",
        "three readings": "",
    }),
    "rim_level": ("rise_deg", {
        "oval by 5 mm": "out_of_round_mm",
        "oval by 8 mm": "out_of_round_mm",
        "oval by 12 mm": "out_of_round_mm",
    }),
    "seam_join": ("open_fraction", {
        "step of 1 mm": "largest_step_mm",
        "step of 2.2 mm": "largest_step_mm",
        "step of 4 mm": "largest_step_mm",
        "dart popped, length not read": "longest_open_mm",
    }),
    "handle_alignment": ("lean_deg", {
        "twisted by 15 degrees": "twist_deg",
        "twisted by 5 degrees": "twist_deg",
        "8 degrees off its place": "placement_deg",
        "a quarter turn off": "placement_deg",
        "opening 20 by 12": "opening_short_mm",
        "opening 40 high": "opening_short_mm",
        "opening 37.5 high": "opening_short_mm",
        "opening 18 deep": "opening_short_mm",
    }),
    "squared_foot": ("side_spread_mm", {
        "diagonals 12 mm apart": "diagonal_difference_mm",
        "diagonals 3 mm apart": "diagonal_difference_mm",
        "rocks by 1.5 mm": "rock_mm",
        "rocks by 3 mm": "rock_mm",
        "all corners 1.5 mm hollow": "largest_gap_mm",
        "all corners 3 mm hollow": "largest_gap_mm",
    }),
    "capacity": ("difference_fraction", {}),
    "shrinkage": ("difference", {}),
}  # fmt: skip
"""The reason: the figure that decides the level of a check's cups, and of those that differ; ""
where the readings are refused."""

CUPS = [
    Cup("even as planned", "wall_evenness", wall(PLANNED), WITHIN, 4, "nothing to say"),
    Cup("even at four places", "wall_evenness", four(5.5, 5.6, 5.7, 5.6), WITHIN, 4, "even"),
    Cup(
        "a side 1 mm thicker", "wall_evenness", four(5.1, 5.6, 6.1, 5.6), WITHIN, 4,
        "1 mm at four places is what a careful slab gives; 1.58 at twelve passes 1.5 by a hair",
    ),
    Cup("a side 1.6 mm thicker", "wall_evenness", four(4.8, 5.6, 6.4, 5.6), CLOSE, 3,
        "felt; four places leave room for a little more"),
    Cup("twelve within 1.4 mm", "wall_evenness", wall(*([5.0, 5.6, 6.2, 5.6] * 2), 5.0, 5.6, 6.4,
        5.6, u=FINE), WITHIN, 4, "as even as a hand makes it"),
    Cup("twelve within 2.4 mm", "wall_evenness", wall(*([5.0, 5.6, 6.2, 5.6] * 2), 4.4, 5.6, 6.8,
        5.6), WITHIN, 3, "one heavy place"),
    Cup("heavy on one side", "wall_evenness", four(4.5, 5.6, 6.9, 5.6), OUTSIDE, 2, "plainly"),
    Cup("a place of 2.6 mm", "wall_evenness", wall(*[5.6] * 11, 2.6), OUTSIDE, 2, "thin spot"),
    Cup("a place of 2 mm", "wall_evenness", wall(*[5.6] * 11, 2.0), OUTSIDE, 1, "will break"),
    Cup("2 mm all over", "wall_evenness", wall(2), OUTSIDE, 1, "even, and not to be trusted"),
    Cup("12 mm all over", "wall_evenness", wall(12), OUTSIDE, 1, "even, and a brick"),
    Cup("12 mm all over, leather-hard", "wall_evenness", wall(12, stage=LEATHER), OUTSIDE, 1,
        "will blow out"),
    Cup("7.2 mm all over", "wall_evenness", wall(7.2), WITHIN, 3, "stout for its plan"),
    Cup("8.2 mm all over", "wall_evenness", wall(8.2), OUTSIDE, 2, "heavy for its plan"),
    Cup("4.2 mm all over", "wall_evenness", wall(4.2), WITHIN, 3, "light for its plan"),
    Cup("foot 2 mm thicker than rim", "wall_evenness", wall(*[6.6] * 4, *[5.6] * 4, *[4.6] * 4),
        WITHIN, 3, "a foot may be stouter; here it is felt"),
    Cup("four readings within 3 degrees", "wall_evenness", four(5.6, azimuths=(0, 1, 2, 3)), None,
        None, "one place says nothing of all round"),
    Cup("four readings on one side", "wall_evenness", four(5.6, azimuths=(0, 40, 80, 120)), None,
        None, "the other side was not read"),
    Cup("three readings", "wall_evenness", wall(5.6, at=(45,), azimuths=ROUND[3]), None, None,
        "too few"),
    Cup("2.4 mm by calliper", "wall_evenness", wall(*[5.6] * 10, 4.4, 6.8), WITHIN, 3,
        "one place thick, one thin"),
    Cup("2.4 mm by sixteenths", "wall_evenness", wall(*[5.6] * 10, 4.4, 6.8, u=SIXTEENTHS), CLOSE,
        None, "the ruler cannot tell 4 from 2"),
    Cup("level", "rim_level", rim(95), WITHIN, 4, "stands true"),
    Cup("rises 1.5 mm", "rim_level", rim(95, tilt=1.5), WITHIN, 4, "not to be seen"),
    Cup("rises 3.2 mm", "rim_level", rim(95, tilt=3.2), WITHIN, 3, "seen on a table"),
    Cup("rises 5.4 mm", "rim_level", rim(95, tilt=5.4), OUTSIDE, 2, "seen from afar"),
    Cup("rises 9 mm", "rim_level", rim(95, tilt=9), OUTSIDE, 1, "the drink runs out"),
    Cup("4.2 mm across 60", "rim_level", rim(70, tilt=4.2, width=60), OUTSIDE, 2, "a small cup"),
    Cup("4.2 mm across 120", "rim_level", rim(95, tilt=4.2, width=120), WITHIN, 3, "a bowl"),
    Cup("saddle of 3.4 mm", "rim_level", rim(95, saddle=3.4), WITHIN, 3, "two highs"),
    Cup("saddle of 8 mm", "rim_level", rim(95, saddle=8), OUTSIDE, 1, "dried unevenly"),
    Cup("three waves of 6 mm", "rim_level", rim(95, lobes=6), OUTSIDE, 2, "three highs"),
    Cup("three waves seen at three places", "rim_level", rim(95, lobes=6, n=3, phase=30), None,
        None, "all three places lie alike: not told"),
    Cup("level at three places", "rim_level", rim(95, n=3), None, None, "may wave between them"),
    Cup("14 mm at three places", "rim_level", rim(95, tilt=14, n=3), OUTSIDE, 1, "enough is seen"),
    Cup("saddle of 8 mm across four places", "rim_level", rim(95, saddle=8, n=4), OUTSIDE, 1,
        "its highs stand where it was read"),
    Cup("level at four places", "rim_level", rim(95, n=4), WITHIN, 4, "the habit of a class"),
    Cup("oval by 2 mm", "rim_level", oval(86, 84), WITHIN, 4, "round to the eye"),
    Cup("oval by 5 mm", "rim_level", oval(87, 82), WITHIN, 3, "a little oval"),
    Cup("oval by 8 mm", "rim_level", oval(89, 81), OUTSIDE, 2, "plainly oval"),
    Cup("oval by 12 mm", "rim_level", oval(91, 79), OUTSIDE, 1, "squashed"),
    Cup("rises 4 +- 3 mm", "rim_level", rim(95, tilt=4, u=1.06), CLOSE, None, "read it again"),
    Cup("closed", "seam_join", seam(), WITHIN, 4, "nothing open"),
    Cup("hairline of 3 mm", "seam_join", seam(open_mm=3), WITHIN, 3, "press it shut"),
    Cup("open for 8 mm", "seam_join", seam(open_mm=8), OUTSIDE, 2, "did not hold"),
    Cup("open for 20 mm", "seam_join", seam(open_mm=20), OUTSIDE, 1, "came apart"),
    Cup("step of 1 mm", "seam_join", seam(step=1), WITHIN, 3, "under a nail"),
    Cup("step of 2.2 mm", "seam_join", seam(step=2.2), OUTSIDE, 2, "left standing"),
    Cup("step of 4 mm", "seam_join", seam(step=4), OUTSIDE, 1, "the lips do not meet"),
    Cup("crack through, 2 mm", "seam_join", seam(through=2), OUTSIDE, 1, "leaks"),
    Cup("dart popped, length not read", "seam_join", seam(dart=16), OUTSIDE, 1, "open"),
    Cup("dart popped, length read", "seam_join", seam(dart=16, dart_length=25), OUTSIDE, 1, "open"),
    Cup("hairline at a dart", "seam_join", seam(dart=3, dart_length=25), WITHIN, 3, "closed over"),
    Cup("upright", "handle_alignment", handle(), WITHIN, 4, "sits well"),
    Cup("leans 5 degrees", "handle_alignment", handle(lean=5), CLOSE, None,
        "a degree mat tells a lean to 2.3 degrees, and 5 lies between 3 and 7"),
    Cup("leans 2 degrees", "handle_alignment", handle(lean=2), WITHIN, 4, "nobody sees it"),
    Cup("leans 10 degrees", "handle_alignment", handle(lean=10), OUTSIDE, 2, "plainly"),
    Cup("leans 18 degrees", "handle_alignment", handle(lean=18), OUTSIDE, 1, "falls over"),
    Cup("leans the other way", "handle_alignment", handle(lean=-10), OUTSIDE, 2, "either side"),
    Cup("twisted by 15 degrees", "handle_alignment", handle(twist=15), OUTSIDE, 1, "wrings"),
    Cup("twisted by 5 degrees", "handle_alignment", handle(twist=-5), WITHIN, 3, "hardly"),
    Cup("8 degrees off its place", "handle_alignment", handle(off=8), CLOSE, 3, "near enough"),
    Cup("a quarter turn off", "handle_alignment", handle(off=90), OUTSIDE, 1, "not the plan"),
    Cup("opening 20 by 12", "handle_alignment", handle(high=20, deep=12), OUTSIDE, 1, "one finger"),
    Cup("opening 40 high", "handle_alignment", handle(high=40), WITHIN, 3, "snug"),
    Cup("opening 37.5 high", "handle_alignment", handle(high=37.5), OUTSIDE, 2, "pinches"),
    Cup("opening 18 deep", "handle_alignment", handle(deep=18), OUTSIDE, 2, "knuckles on the wall"),
    Cup("leans 23 degrees", "handle_alignment",
        [r for r in handle(lean=23, u_deg=0.5) if r.quantity != "handle_twist"], OUTSIDE, 1,
        "by a mat that tells degrees it is beyond doubt"),
    Cup("square and flat", "squared_foot", foot(), WITHIN, 4, "stands like a stone"),
    Cup("sides differ by 3 mm", "squared_foot", foot((58, 59.5, 58, 56.5)), WITHIN, 3, "a little"),
    Cup("sides differ by 5 mm", "squared_foot", foot((58, 60.5, 58, 55.5)), OUTSIDE, 2, "lost"),
    Cup("diagonals 12 mm apart", "squared_foot", foot(diagonals=(69.4, 81.4)), OUTSIDE, 1,
        "a lozenge"),
    Cup("diagonals 3 mm apart", "squared_foot", foot(diagonals=(73.9, 76.9)), WITHIN, 3, "nearly"),
    Cup("rocks by 1.5 mm", "squared_foot", foot(gaps=(1.5, 0, 0, 0)), OUTSIDE, 2, "wobbles"),
    Cup("rocks by 3 mm", "squared_foot", foot(gaps=(0, 3, 0, 0)), OUTSIDE, 1, "spills"),
    Cup("a paper under one corner", "squared_foot", foot(gaps=(0.1, 0, 0, 0)), WITHIN, 4, "stands"),
    Cup("all corners 1.5 mm hollow", "squared_foot", foot(gaps=(1.5, 1.5, 1.5, 1.5)), OUTSIDE, 2,
        "spins on its bulged base"),
    Cup("all corners 3 mm hollow", "squared_foot", foot(gaps=(3, 3, 3, 3)), OUTSIDE, 1, "a top"),
    Cup("holds what was planned", "capacity", holds(282), WITHIN, 4, "280 ml planned"),
    Cup("holds an eighth more", "capacity", holds(315), WITHIN, 3, "generous"),
    Cup("holds a fifth less", "capacity", holds(224), OUTSIDE, 2, "small"),
    Cup("holds half", "capacity", holds(140), OUTSIDE, 1, "another cup"),
    Cup("shrunk as planned", "shrinkage", shrunk(12.2), WITHIN, 4, "12 % planned"),
    Cup("shrunk 2 points too little", "shrinkage", shrunk(10), OUTSIDE, 2, "underfired, or thick"),
]  # fmt: skip
