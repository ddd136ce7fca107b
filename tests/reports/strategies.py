"""Readings of pieces that nobody would plan, for drawings that must hold all the same."""

from __future__ import annotations

from hypothesis import strategies as st

from rubrics.checks.compute import check_piece
from rubrics.checks.register import check_named
from rubrics.craft.levels import Limit
from rubrics.craft.plan import STARTER_LIMITS, Plan
from rubrics.craft.readings import Reading
from rubrics.craft.results import Refused
from rubrics.reports.result_json import as_facts
from studio.ware.stages import STAGES

stages = st.sampled_from(STAGES)
azimuths = st.one_of(
    st.sampled_from([45.0 * k for k in range(8)]), st.floats(0, 359.9, allow_nan=False)
)
doubts = st.sampled_from([0.01, 0.1, 0.3, 2.0])


@st.composite
def plans(draw):
    """Limits from nought to far beyond, or none at all."""
    factor = draw(st.sampled_from([0.0, 0.01, 1.0, 40.0]))
    limits = {
        key: Limit(key, limit.a * factor, limit.b * factor, limit.c * factor)
        for key, limit in STARTER_LIMITS.items()
    }
    return Plan(
        limits=limits if draw(st.booleans()) else {},
        slab_mm=draw(st.sampled_from([2.0, 6.35, 30.0])),
        capacity_ml=draw(st.sampled_from([None, 20.0, 280.0, 9000.0])),
        fingers=draw(st.integers(0, 4)),
    )


def _floats(low, high):
    return st.floats(low, high, allow_nan=False, allow_infinity=False)


@st.composite
def wall(draw):
    stage, u = draw(stages), draw(doubts)
    heights = draw(st.lists(_floats(1, 300), min_size=1, max_size=4))
    sides = draw(st.lists(azimuths, min_size=1, max_size=9, unique=True))
    return [
        Reading(
            "wall_thickness", stage, draw(_floats(0.5, 60)), u, height_mm=z, azimuth_deg=azimuth
        )
        for z in heights
        for azimuth in sides
    ]


@st.composite
def rim(draw):
    stage, u = draw(stages), draw(doubts)
    base, span = draw(_floats(20, 900)), draw(st.sampled_from([0.0, 0.2, 5.0, 60.0]))
    sides = draw(st.lists(azimuths, min_size=3, max_size=14, unique=True))
    return [
        Reading("rim_height", stage, base + span * draw(_floats(0, 1)), u, azimuth_deg=azimuth)
        for azimuth in sides
    ]


@st.composite
def seam(draw):
    stage, u = draw(stages), draw(doubts)
    joins = draw(
        st.lists(st.sampled_from(["seam", "dart1", "dart2", "dart3", "dart4"]), unique=True)
    )
    out = [Reading("seam_length", stage, draw(_floats(1, 900)), u, name=name) for name in joins]
    for quantity, most in (("seam_open", 200), ("seam_through", 60), ("seam_step", 40)):
        for _ in range(draw(st.integers(0, 5))):
            out.append(
                Reading(
                    quantity,
                    stage,
                    draw(_floats(0, most)),
                    u,
                    name=draw(st.sampled_from(["seam", "dart1", "dart4"])),
                    height_mm=draw(st.one_of(st.none(), _floats(0, 300))),
                )
            )
    return out


@st.composite
def handle(draw):
    stage, u = draw(stages), draw(doubts)
    bottom = draw(_floats(0, 100))
    out = [
        Reading("handle_top", stage, bottom + draw(_floats(1, 200)), u, azimuth_deg=draw(azimuths)),
        Reading("handle_bottom", stage, bottom, u, azimuth_deg=draw(azimuths)),
    ]
    if draw(st.booleans()):
        out.append(Reading("handle_twist", stage, draw(_floats(-90, 90)), u))
    if draw(st.booleans()):
        out.append(Reading("handle_opening", stage, draw(_floats(0.5, 300)), u, name="height"))
    return out


@st.composite
def shrinkage(draw):
    u = draw(doubts)
    names = ["height", "rim_diameter", "foot_side", "mark", "a_very_long_dimension_name", "depth"]
    out = []
    for name in draw(st.lists(st.sampled_from(names), min_size=1, unique=True)):
        wet = draw(_floats(5, 1900))
        for stage in [*draw(st.lists(stages, unique=True)), "wet"]:
            out.append(Reading("dimension", stage, wet * draw(_floats(0.7, 1.05)), u, name=name))
    return out


@st.composite
def foot(draw):
    stage, u = draw(stages), draw(doubts)
    base = draw(_floats(5, 900))
    out = []
    for quantity, count, low, high in (
        ("foot_side", 4, 0.7, 1.3),
        ("foot_diagonal", 2, 1.0, 1.8),
    ):
        out += [
            Reading(quantity, stage, base * draw(_floats(low, high)), u, name=str(k))
            for k in range(1, count + 1)
            if draw(st.integers(0, 5))
        ]
    return out + [
        Reading("foot_gap", stage, draw(_floats(0, 40)), u, name=str(k))
        for k in range(1, 5)
        if draw(st.booleans())
    ]


@st.composite
def capacity(draw):
    stage = draw(st.sampled_from(["bisque", "glazed"]))
    out = [Reading("water_mass", stage, draw(_floats(1, 19000)), draw(doubts), name="brim")]
    if draw(st.booleans()):
        out += [
            Reading("dimension", stage, draw(_floats(20, 400)), 0.3, name=name)
            for name in ("height", "rim_diameter", "foot_side")
        ]
    return out


PIECES = {
    "wall_evenness": wall(),
    "rim_level": rim(),
    "seam_join": seam(),
    "handle_alignment": handle(),
    "shrinkage": shrinkage(),
    "squared_foot": foot(),
    "capacity": capacity(),
}


@st.composite
def facts(draw, check):
    """Facts of one check from such readings, or None where nothing was read for it."""
    readings, plan = draw(PIECES[check]), draw(plans())
    result = check_piece(readings, plan).get(check)
    if result is None:
        return None
    ladder = [check_piece(readings, plan, stage).get(check) for stage in STAGES]
    rung = check_named(check).rung
    return as_facts(
        result,
        seam_azimuth_deg=draw(st.one_of(st.none(), azimuths)),
        rungs=[rung(r) for r in ladder if r and not isinstance(r, Refused)] if rung else (),
    )
