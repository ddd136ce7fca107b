"""What takes the trust from a view or a measure, each by itself, on a drawn cup that has it."""

from dataclasses import replace

import numpy as np
import pytest

from studio.camera import cup, trust
from studio.camera.grid import covered
from studio.camera.outline import Silhouette
from studio.camera.solution import Solution, Traced, View
from tests.camera import scenes

STEP = 4.0
GOOD = trust.SeenPart(cover=0.95, snr=200.0, contrast=0.8, points=12)


def shape_of(**sizes):
    shape = cup.prior_mean()
    for name, value in sizes.items():
        shape[cup.INDEX[name]] = value
    return shape


def solution_of(shape=None, *, offset_mm=0.0, touches=False, off_axis=False, mask_shift=0):
    """A solved side view whose edges lie on the shape, and whose mask is the shape's."""
    camera = replace(scenes.camera(25, 430), off_axis=off_axis)
    shape = shape_of() if shape is None else shape
    grid = cup.surface(shape)
    line = cup.contour(grid, camera)
    keep = cup.visible(grid, camera, line)
    line = cup.Contour(*(getattr(line, f)[keep] for f in line.__dataclass_fields__))
    n, scale = len(line.ring), np.full(keep.sum(), 4.0)
    body = covered((camera.project(grid) + 0.5) / STEP - 0.5, (400, 300))
    body = np.roll(body, mask_shift, 1) > 0
    none = np.zeros_like(body)
    silhouette = Silhouette(body, body, none, none, np.zeros(2), STEP, touches, none)
    view = View("drawn", camera, np.zeros((1, 1, 3)), silhouette, 0.004, 0.7, none)
    sign = np.where(np.arange(n) % 2, 1.0, -1.0)
    traced = Traced(
        line, camera, offset_mm * sign * scale, np.full(n, 200.0), np.full(n, 0.8), np.ones(n),
        scale, np.zeros(n, bool),
    )  # fmt: skip
    return Solution(shape, [np.zeros(3)], [camera], np.eye(cup.N_SHAPE), [traced], [view])


def doubt_of(solution):
    return trust.view_trust(solution, 0, top_view=False).doubt


def test_a_drawn_cup_with_edges_on_its_outline_is_trusted():
    verdict = trust.view_trust(solution_of(), 0, top_view=False)
    assert verdict.doubt is None
    assert all(trust.trusted(name, 0.1, verdict) for name in ("height_mm", "rim_width_mm"))


@pytest.mark.parametrize(
    ("solution", "words"),
    [
        (lambda: solution_of(shape_of(x=60.0)), "does not stand on the mat's middle"),
        (lambda: solution_of(shape_of(height=24.0)), "too flat for the camera"),
        (lambda: solution_of(shape_of(height=305.0)), "at the end of what the camera looks for"),
        (lambda: solution_of(shape_of(lip=cup.RANGE["lip"][1])), "at the end of what"),
        (lambda: solution_of(touches=True), "touches the cup"),
        (lambda: solution_of(offset_mm=0.6), "not one of a single cup"),
        (lambda: solution_of(mask_shift=9), "not one of a single cup"),
        (lambda: solution_of(shape_of(slope_y=0.08)), "slants more than a rim does"),
        (lambda: solution_of(off_axis=True), "cropped or reshaped"),
    ],
)
def test_each_doubt_takes_the_trust_of_the_whole_view(solution, words):
    assert words in doubt_of(solution())
    verdict = trust.view_trust(solution(), 0, top_view=False)
    assert not trust.trusted("rim_width_mm", 0.1, verdict)


@pytest.mark.parametrize(
    "sizes", [{"x": 40.0}, {"height": 60.0}, {"height": 250.0}, {"slope_y": 0.05}]
)
def test_unusual_but_likely_pots_raise_no_doubt(sizes):
    assert doubt_of(solution_of(shape_of(**sizes))) is None


@pytest.mark.parametrize("worse", [{"cover": 0.7}, {"snr": 10.0}, {"contrast": 0.1}, {"points": 2}])
def test_a_part_must_be_found_along_most_of_it_and_stand_out(worse):
    assert GOOD.good
    assert not replace(GOOD, **worse).good


@pytest.mark.parametrize("side", [-1, 1])
def test_a_measure_hangs_on_its_own_parts_only(side):
    """What hides one wall takes the greatest width, and leaves the height."""
    solution = solution_of()
    t = solution.traced[0]
    middle = np.median(t.line.pixels[:, 0])
    wall = (t.line.ring > len(cup.FILLET_PSI) + 5) & (t.line.ring < cup.FIRST_LIP - 1)
    hidden = wall & (side * (t.line.pixels[:, 0] - middle) > 0)
    assert hidden.any()
    t.offset_px[hidden] = np.nan
    verdict = trust.view_trust(solution, 0, top_view=False)
    assert verdict.doubt is None
    assert trust.trusted("height_mm", 0.3, verdict)
    assert not trust.trusted("max_width_mm", 0.3, verdict)


@pytest.mark.parametrize("name", sorted(trust.MAX_U))
def test_a_measure_that_is_too_unsure_is_not_trusted(name):
    verdict = trust.ViewTrust(dict.fromkeys(trust.WORDS, GOOD), None)
    assert trust.trusted(name, 0.9 * trust.MAX_U[name], verdict)
    assert not trust.trusted(name, 1.1 * trust.MAX_U[name], verdict)
    assert not trust.trusted(name, float("nan"), verdict)


def test_of_a_bowl_that_leaves_its_foot_flatly_the_foot_is_not_told():
    steep, flat = (
        solution_of(shape_of(foot=32, rim=48)),
        solution_of(shape_of(foot=30, rim=55, height=50.0, belly0=4.0, belly1=8.0)),
    )
    for solution, told in ((steep, True), (flat, False)):
        verdict = trust.view_trust(solution, 0, top_view=False)
        verdict = replace(verdict, parts=dict.fromkeys(trust.WORDS, GOOD), doubt=None)
        assert trust.trusted("foot_width_mm", 0.5, verdict) is told
        assert trust.trusted("rim_width_mm", 0.5, verdict)
    assert "so flat a wall" in trust.missing_sentence(["foot_width_mm"], verdict)


@pytest.mark.parametrize(("share", "is_free"), [(0.85, True), (1.2, False)])
def test_edges_may_scatter_about_the_shape_only_so_far(share, is_free):
    """Scatter of a known standard deviation, as a share of the largest."""
    solution = solution_of()
    t = solution.traced[0]
    scatter = np.random.default_rng(3).normal(0, 1, len(t.offset_px))
    scatter *= share * trust.MAX_RELIEF_MM / (np.median(np.abs(scatter)) / 0.6745)
    t.offset_px[:] = scatter * t.px_per_mm
    assert (doubt_of(solution) is None) is is_free


@pytest.mark.parametrize(("share", "is_doubted"), [(0.97, False), (1.03, True)])
def test_a_rim_may_slant_away_from_the_eye_only_so_far(share, is_doubted):
    axis = scenes.camera(25, 430).axis[:2]
    slope = share * trust.MAX_RIM_SLOPE * axis / np.linalg.norm(axis)
    doubt = doubt_of(solution_of(shape_of(slope_x=slope[0], slope_y=slope[1])))
    assert ("slants more than a rim does" in (doubt or "")) is is_doubted


@pytest.mark.parametrize(("lost", "relied_on"), [("both", False), ("left", True), ("right", True)])
def test_a_wall_is_relied_on_where_it_is_followed_to_an_end_of_the_foot(lost, relied_on):
    solution = solution_of()
    t = solution.traced[0]
    low = t.line.ring < len(cup.FILLET_PSI) + 5
    ends = low & (t.line.ring > len(cup.FILLET_PSI) - 1)
    at_left = t.line.pixels[:, 0] < np.median(t.line.pixels[ends, 0])
    ends &= {"both": True, "left": at_left, "right": ~at_left}[lost]
    assert ends.any()
    t.offset_px[ends] = np.nan
    assert (doubt_of(solution) is None) is relied_on


def test_what_hides_the_rim_is_told_from_what_blends_with_it():
    covered = solution_of()
    half = np.arange(len(covered.traced[0].offset_px)) % 2 == 0
    covered.traced[0].offset_px[half] = np.nan
    assert "something covers it" in doubt_of(covered)
    faint = solution_of()
    faint.traced[0].contrast[:] = 0.05
    assert "hardly stands out" in doubt_of(faint)


@pytest.mark.parametrize(
    ("gap", "u", "cover", "said"),
    [
        (5.0, 0.5, 0.95, True),
        (-5.0, 0.5, 0.95, True),
        (0.6, 0.1, 0.95, False),
        (2.0, 1.0, 0.95, False),
        (3.0, 1.0, 0.95, False),
        (3.0, 1.0, 0.5, True),
    ],
)
def test_another_rim_from_above_means_two_cups(gap, u, cover, said):
    parts = {name: replace(GOOD, cover=cover) for name in trust.WORDS}
    solution = replace(solution_of(), rim_gaps=[(gap, u)])
    assert trust.two_cups(solution, [trust.ViewTrust(parts, None)]) is said
