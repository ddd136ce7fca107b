"""The parts of a pattern against walls in space, unrolled numerically triangle by triangle.

The tolerance of 0.05 mm is a tenth of the width of the line that is cut along.
"""

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from studio.lettering.setting import width_of
from studio.paper.sheets import PAPERS
from studio.planning.drawn import CUT, FOLD, MARK, SEAM, Spot
from studio.planning.pattern import TICK_MM, mark_places, parts
from studio.planning.solve import plan
from studio.planning.tiling import tiles
from studio.planning.wish import PlanError, Wish
from studio.planning.word_places import ADVANCE_EM, TYPE_MM, _Box, place
from tests.planning.unrolled import cone, half_panel, lay_flat

CUP = Wish(shrinkage=0.12, height_mm=95, rim_diameter_mm=85, foot_side_mm=58, slab_mm=6.35)
WHOLE = replace(CUP, has_whole_wall_darts=True)
BOWL = Wish(
    shrinkage=0.12,
    height_mm=60,
    rim_diameter_mm=130,
    foot_side_mm=80,
    slab_mm=6.35,
    fingers=0,
    has_whole_wall_darts=True,
)
TUMBLER = replace(
    CUP, dart_count=0, foot_side_mm=None, foot_diameter_mm=60, rim_diameter_mm=90, fingers=0
)
CUT_CLOSE = 0.05
"""Paper is drawn with lines of 0.45 mm. [mm]"""


def in_space(planned):
    """Mid-wall, wet: radius of the rim, side and corner of the foot, height of the darts' tips."""
    cup, wet = planned.cup, 1 - planned.wish.shrinkage
    wall = cup.wall_mm
    tip = (cup.shoulder_mm or cup.height_mm) - cup.base_mm
    return (
        (cup.rim_diameter_mm - wall) / 2 / wet,
        (cup.foot_side_mm - wall) / wet,
        (cup.corner_mm - wall / 2) / wet,
        tip / wet,
    )


def walked(points):
    return float(np.sum(np.linalg.norm(np.diff(np.array(points), axis=0), axis=1)))


def panels(wall, planned):
    """The foot's edges between the darts, from left to right, with the overlap at both ends."""
    tip = planned["foot_hang_mm"] + planned["dart_depth_mm"]
    edges, edge = [], []
    for x, y in wall.outline:
        if math.isclose(y, tip):
            edges.append(edge)
            edge = []
        elif y < tip:
            edge.append((x, y))
    return [each for each in (*edges, edge) if each]


@pytest.mark.parametrize("wish", [CUP, WHOLE, BOWL, replace(CUP, seam_on_corner=False)])
def test_a_squared_wall_has_the_lengths_of_the_wall_in_space(wish):
    planned = plan(wish)
    radius, side, corner, depth = in_space(planned)
    foot, circle = half_panel(radius, side, corner, depth)
    wall = parts(planned)[0]
    lap = planned["lap_mm"]
    # Rim and foot once around, walked along points in space.
    assert wall.width_mm - lap == pytest.approx(8 * walked(circle), abs=CUT_CLOSE)
    on_paper = sum(walked(edge) for edge in panels(wall, planned)) - lap
    assert on_paper == pytest.approx(8 * walked(foot), abs=CUT_CLOSE)
    # The strip in the middle of a side, and both edges of every dart.
    upright = (planned.cup.height_mm - planned.cup.base_mm) / 0.88 - depth
    middle = upright + np.linalg.norm(foot[0] - circle[0])
    assert wall.height_mm == pytest.approx(middle, abs=CUT_CLOSE)
    seam = np.linalg.norm(foot[-1] - circle[-1])
    tip = planned["foot_hang_mm"] + planned["dart_depth_mm"]
    sides = [
        math.dist(p, q)
        for p, q in pairwise(wall.outline)
        if math.isclose(max(p[1], q[1]), tip) and min(p[1], q[1]) < tip / 2
        if min(p[0], q[0]) > 1e-6 and max(p[0], q[0]) < wall.width_mm - 1e-6
    ]
    assert len(sides) == (6 if wish.seam_on_corner else 8)
    assert sides == pytest.approx([seam] * len(sides), abs=CUT_CLOSE)


def test_the_foots_edge_hangs_as_the_unrolled_wall_tells():
    # Laid flat without stretching the wall has a curved rim; what it lacks there is cut off the
    # foot, because the rim on paper is straight. A straight foot would be 1.3 mm wrong on this cup.
    planned = plan(WHOLE)
    low, high = lay_flat(*half_panel(*in_space(planned)))
    hang = high[0, 1] - (high[-1, 1] - low[-1, 1])
    assert hang == pytest.approx(1.24, abs=0.005)
    assert planned["foot_hang_mm"] == pytest.approx(hang, abs=CUT_CLOSE)
    sharp = plan(replace(WHOLE, foot_corner_radius_mm=CUP.slab_mm * 0.44))
    low, high = lay_flat(*half_panel(*in_space(sharp)))
    assert high[0, 1] - high[-1, 1] == pytest.approx(1.263, abs=0.005)
    assert sharp["foot_hang_mm"] == pytest.approx(1.263, abs=CUT_CLOSE)


def test_lower_darts_and_lower_bowls_hang_more_and_say_so():
    # The unrolled walls: 3.3 mm for darts of a third, 6.4 mm on a bowl.
    for wish, exact in ((CUP, 3.34), (BOWL, 6.36)):
        planned = plan(wish)
        low, high = lay_flat(*half_panel(*in_space(planned)))
        hang = high[0, 1] - (high[-1, 1] - low[-1, 1])
        assert hang == pytest.approx(exact, abs=0.05)
        assert planned["foot_hang_mm"] == pytest.approx(hang, rel=0.06)
    low_bowl = plan(replace(BOWL, rim_diameter_mm=160))
    assert "mm lower in the middle of a side than at the darts" in " ".join(low_bowl.cautions)


@pytest.mark.parametrize(("foot", "rim"), [(60, 90), (90, 60), (79, 80), (40, 160)])
def test_a_tapered_wall_is_the_unrolled_cone(foot, rim):
    planned = plan(replace(TUMBLER, foot_diameter_mm=foot, rim_diameter_mm=rim))
    wall = planned.cup.wall_mm
    low, high = lay_flat(
        *cone((foot - wall) / 2 / 0.88, (rim - wall) / 2 / 0.88, (95 - planned.cup.base_mm) / 0.88)
    )
    centre, outer = _circle_through(high if rim > foot else low)
    inner = float(np.mean(np.linalg.norm((low if rim > foot else high) - centre, axis=1)))
    assert planned["outer_radius_mm"] == pytest.approx(outer, rel=1e-4)
    assert planned["inner_radius_mm"] == pytest.approx(inner, rel=1e-4)
    assert planned["slant_mm"] == pytest.approx(np.linalg.norm(high[0] - low[0]), abs=CUT_CLOSE)
    assert planned["around_mm"] == pytest.approx(walked(high), abs=CUT_CLOSE)
    assert planned["foot_around_mm"] == pytest.approx(walked(low), abs=CUT_CLOSE)
    # On paper: both edges less the overlap, and the whole as large as the unrolled cone.
    part = parts(planned)[0]
    half = len(part.outline) // 2
    lap = planned["lap_mm"]
    assert walked(part.outline[:half]) - lap == pytest.approx(walked(low), abs=CUT_CLOSE)
    assert walked(part.outline[half:]) - lap == pytest.approx(walked(high), abs=CUT_CLOSE)
    # The three corners of what is on paper lie as far apart as on the unrolled cone.
    corners = [part.outline[1], part.outline[half - 2], part.outline[half + 1], part.outline[-2]]
    flat = [low[0], low[-1], high[-1], high[0]]
    for a, b in ((0, 1), (1, 2), (0, 2), (2, 3)):
        assert math.dist(corners[a], corners[b]) == pytest.approx(
            math.dist(flat[a], flat[b]), abs=CUT_CLOSE
        )


def _circle_through(points):
    """Centre and radius through the first, middle and last point."""
    p, q, r = points[0], points[len(points) // 2], points[-1]
    system = 2 * np.array([q - p, r - p])
    centre = np.linalg.solve(system, [q @ q - p @ p, r @ r - p @ p])
    return centre, float(np.linalg.norm(p - centre))


def test_a_foot_as_wide_as_the_rim_is_a_straight_strip():
    planned = plan(replace(TUMBLER, foot_diameter_mm=90))
    assert parts(planned)[0].outline == (
        (0, 0),
        (planned["pattern_length_mm"], 0),
        (planned["pattern_length_mm"], planned["pattern_height_mm"]),
        (0, planned["pattern_height_mm"]),
    )
    assert planned["pattern_height_mm"] == pytest.approx((95 - 5.588) / 0.88)


def test_a_dart_as_long_as_the_wall_is_cut_to_a_stop_and_marked_above():
    planned = plan(WHOLE)
    wall = parts(planned)[0]
    rim = wall.height_mm
    places = mark_places(planned)[1:-1]
    for place_x in places:
        near = [
            line
            for line in wall.lines
            if {line.x0, line.x1} != {place_x}
            and abs(line.x0 - place_x) + abs(line.x1 - place_x) > 0
            if max(abs(line.x0 - place_x), abs(line.x1 - place_x)) < planned["dart_mouth_mm"]
            if abs(line.y0 - line.y1) > 1
        ]
        cut = [line for line in near if line.kind == CUT]
        above = [line for line in near if line.kind == MARK]
        assert len(cut) == 2
        assert max(max(line.y0, line.y1) for line in cut) == pytest.approx(rim - 10)
        assert len(above) == 2
        assert max(max(line.y0, line.y1) for line in above) == pytest.approx(rim)


def test_a_short_dart_is_cut_to_its_tip_and_the_paper_hangs_together():
    planned = plan(CUP)
    wall = parts(planned)[0]
    cut = [line for line in wall.lines if line.kind == CUT]
    tip = planned["foot_hang_mm"] + planned["dart_depth_mm"]
    inside = [line for line in cut if 1 < line.x0 < wall.width_mm - 1 and line.y0 < wall.height_mm]
    assert max(max(line.y0, line.y1) for line in inside) == pytest.approx(tip)
    assert tip < wall.height_mm / 2


WORDED = {
    "third": CUP,
    "side": replace(CUP, seam_on_corner=False),
    "whole": WHOLE,
    "tumbler": TUMBLER,
    "straight": replace(TUMBLER, foot_diameter_mm=None),
    "square-cut": replace(CUP, bevel_deg=90),
    "mug": replace(CUP, height_mm=110, rim_diameter_mm=120, foot_side_mm=80),
}


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("wish", WORDED.values(), ids=WORDED)
def test_words_stand_clear_of_every_line_in_the_typeface_itself(wish, paper):
    room = (PAPERS[paper].long_mm - 20, PAPERS[paper].short_mm - 54)
    for part in parts(plan(wish)):
        spread = tiles(part.width_mm, part.height_mm, *room)
        placed, left = place(part, [tile.own for tile in spread])
        assert left == []
        assert len(placed) == len(part.words)
        for word in placed:
            points = TYPE_MM / 25.4 * 72
            width = width_of(word.text, points) / 72 * 25.4
            assert width <= len(word.text) * ADVANCE_EM * TYPE_MM
            angle = math.radians(word.spot.turn_deg)
            along = np.array([math.cos(angle), math.sin(angle)])
            middle = np.array([word.spot.x, word.spot.y])
            baseline = middle + np.linspace(-width / 2, width / 2, 60)[:, None] * along
            window = spread[word.window]
            assert np.all(baseline[:, 0] > window.x)
            assert np.all(baseline[:, 0] < window.x + window.width)
            begin = np.array([[line.x0, line.y0] for line in part.lines])
            way = np.array([[line.x1, line.y1] for line in part.lines]) - begin
            share = np.einsum("pli,li->pl", baseline[:, None] - begin, way) / np.sum(way**2, axis=1)
            nearest = begin + np.clip(share, 0, 1)[..., None] * way
            gaps = np.linalg.norm(baseline[:, None] - nearest, axis=2)
            # Half the height of a capital letter, and then some paper.
            assert gaps.min() > 0.9 + 0.5, word.text


@settings(max_examples=25, deadline=None)
@given(
    rim=st.floats(60, 140),
    share=st.floats(0.55, 0.95),
    height=st.floats(60, 160),
    corner=st.booleans(),
    whole=st.booleans(),
)
def test_no_plan_that_can_be_made_loses_a_word_or_a_part(rim, share, height, corner, whole):
    planned = plan(
        replace(
            CUP,
            height_mm=height,
            rim_diameter_mm=rim,
            foot_side_mm=rim * share,
            fingers=0,
            seam_on_corner=corner,
            has_whole_wall_darts=whole,
        )
    )
    if planned.problems:
        return
    for part in parts(planned):
        spread = tiles(part.width_mm, part.height_mm, 259.4, 161.9)
        placed, left = place(part, [tile.own for tile in spread])
        assert len(placed) + len(left) == len(part.words)
        # Only where a panel is narrower than its words: they stand in the heading then.
        assert not left or planned["quarter_mm"] < 60


def test_what_is_not_cut_from_slabs_has_no_pattern():
    for building in ("pinch", "coil", "thrown", "free"):
        planned = plan(replace(TUMBLER, building=building, fingers=0))
        assert planned.is_possible
        with pytest.raises(PlanError, match="is not cut from a pattern"):
            parts(planned)


def test_a_strap_is_marked_across_where_each_joint_takes_it():
    planned = plan(CUP)
    strap = next(part for part in parts(planned) if part.name.startswith("Handle"))
    length, width = planned["strap_length_mm"], planned["strap_width_mm"]
    seams = sorted((s.x0, s.y0, s.x1 - s.x0, s.y1) for s in strap.lines if s.kind == SEAM)
    # Square across, as far from one end as from the other, from edge to edge.
    assert [(y1, lean, y2) for _, y1, lean, y2 in seams] == [(0, 0, width)] * 2
    assert seams[0][0] == pytest.approx(length - seams[1][0])


def named(planned, text):
    return next(part for part in parts(planned) if part.words[0].text == text)


def test_a_round_base_is_a_disc_of_the_wet_foot_within_its_part():
    planned = plan(TUMBLER)
    base = named(planned, "base")
    across = planned["base_side_mm"]
    middle = np.array([base.width_mm, base.height_mm]) / 2
    assert (base.width_mm, base.height_mm) == (across, across)
    distances = np.linalg.norm(np.array(base.outline) - middle, axis=1)
    assert distances == pytest.approx(np.full(len(distances), across / 2))
    # A polygon in a circle: by the shoelace formula its area lies within a thousandth of it.
    x, y = np.array(base.outline).T
    area = abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2
    assert area == pytest.approx(math.pi * across**2 / 4, rel=1e-3)


@pytest.mark.parametrize("wish", [CUP, TUMBLER], ids=["square", "round"])
def test_ticks_of_a_base_stand_in_the_middle_of_its_four_sides(wish):
    base = named(plan(wish), "base")
    half = base.width_mm / 2
    marks = [line for line in base.lines if line.kind == MARK]
    outer = {
        max(((s.x0, s.y0), (s.x1, s.y1)), key=lambda p: math.hypot(p[0] - half, p[1] - half))
        for s in marks
    }
    assert outer == {(half, 0), (0, half), (half, 2 * half), (2 * half, half)}
    # Each runs inwards, towards the middle, by the same length.
    assert {round(math.hypot(s.x1 - s.x0, s.y1 - s.y0), 9) for s in marks} == {TICK_MM}


@pytest.mark.parametrize(("foot", "rim"), [(60, 90), (90, 60)], ids=["wide above", "wide below"])
def test_a_ring_has_its_fold_in_the_middle_from_foot_to_rim(foot, rim):
    wall = parts(plan(replace(TUMBLER, foot_diameter_mm=foot, rim_diameter_mm=rim)))[0]
    (fold,) = [line for line in wall.lines if line.kind == FOLD]
    assert fold.x0 == fold.x1 == pytest.approx(wall.width_mm / 2)
    low, high = sorted((fold.y0, fold.y1))
    # From the outline below to the outline above, both met in the middle.
    points = np.array(wall.outline)
    near = points[np.abs(points[:, 0] - fold.x0) < 2][:, 1]
    assert low == pytest.approx(near.min(), abs=0.1)
    assert high == pytest.approx(near.max(), abs=0.1)


def test_a_bases_corners_run_into_its_sides():
    base = next(part for part in parts(plan(CUP)) if part.words[0].text == "base")
    points = np.array(base.outline)
    steps = np.diff(np.vstack([points, points[:1]]), axis=0)
    turns = np.degrees(np.arctan2(steps[:, 1], steps[:, 0])) % 90
    # The sides lie square; nowhere does the edge turn by more than a step of the rounding.
    longest = np.linalg.norm(steps, axis=1) > 10
    assert longest.sum() == 4
    assert np.abs((turns[longest] + 45) % 90 - 45).max() < 1e-9
    whole = np.unwrap(np.arctan2(steps[:, 1], steps[:, 0]))
    assert np.degrees(np.abs(np.diff(whole))).max() < 15


@pytest.mark.parametrize("turn", [0, 30, 90, -120])
def test_the_box_of_turned_words_is_turned_about_its_middle(turn):
    box = _Box(Spot(10, 20, turn), 8, 2)
    way = np.exp(1j * math.radians(turn))
    expected = 10 + 20j + way * np.array([-4 - 1j, 4 - 1j, 4 + 1j, -4 + 1j])
    assert np.array(box.corners) @ [1, 1j] == pytest.approx(expected)
