"""Sizes from points: against the truth of the rendered photographs, and the way there and back.

The cameras, the landmarks' pixels and the sizes come from the renderer's own record
(fixtures/photos/truth.json, values measured on the rendered meshes). The record has no pixel for
the lips' tops and the foot's nearest point: those are projected from its sizes by a rounded lip,
so that what is held against the truth there is the perspective, not the reading of the picture.
"""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from studio.camera import by_hand
from studio.camera.by_hand import Body, PointsError, Sized
from studio.camera.pose import Camera

TRUTH = json.loads((Path(__file__).parents[2] / "fixtures/photos/truth.json").read_text())
SIDES = [t for t in TRUTH if t["view"] == "side" and not t["hard"]]
TOPS = [t for t in TRUTH if t["view"] == "top" and not t["hard"]]
LIP_MM, FILLET_MM = 2.7, 1.5
LEVEL_ONLY = np.diag([1e-7] * 3 + [0.01] * 3 + [1e-6] * 2)


def camera_of(record) -> Camera:
    told = record["camera"]
    return Camera(
        size=(1600, 1200),
        f_px=told["K"][0][0],
        k1=told["dist"][0],
        rotation=np.array(told["R"]),
        shift_mm=np.array(told["t"]),
        covariance=LEVEL_ONLY,
    )


def side_points(record) -> dict:
    camera, cup = camera_of(record), record["cup"]
    away = np.array([*camera.axis[:2], 0.0]) / np.linalg.norm(camera.axis[:2])
    down = np.radians(camera.elevation_deg)
    lift = away * np.sin(down) + np.array([0, 0, np.cos(down)])
    axis = np.array([*cup["rim_centre_mm"][:2], cup["height_mm"] - LIP_MM])
    ring = cup["rim_width_view_mm"] / 2 - LIP_MM
    half = cup["foot_width_view_mm"] / 2 - FILLET_MM * (1 - np.sin(down))
    near = np.array([*cup["foot_centre_mm"], FILLET_MM * (1 - np.cos(down))]) - half * away
    pixels = {name: record["landmarks"][name]["px"] for name in ("rim_left", "rim_right")}
    pixels |= {name: record["landmarks"][name]["px"] for name in ("foot_left", "foot_right")}
    return pixels | {
        "rim_near": camera.project(axis - ring * away + LIP_MM * lift),
        "rim_far": camera.project(axis + ring * away + LIP_MM * lift),
        "foot_near": camera.project(near),
    }


WANTED = {
    "height_mm": ("height_mm", 0.7),
    "rim_width_mm": ("rim_width_view_mm", 0.9),
    "foot_width_mm": ("foot_width_view_mm", 1.5),
    "lean_deg": ("lean_view_deg", 0.5),
}


@pytest.mark.parametrize("record", SIDES, ids=lambda r: r["file"])
@pytest.mark.parametrize("key", WANTED)
def test_side_sizes_agree_with_the_rendered_cup_within_their_uncertainty(record, key):
    name, worst = WANTED[key]
    size = by_hand.sizes("side", camera_of(record), side_points(record))[key]
    error = abs(size.value - record["cup"][name])
    assert error <= worst
    assert error <= 3 * size.u
    assert size.u < worst


def test_stated_uncertainty_covers_the_errors_of_most_rendered_cups():
    within = [
        abs(size.value - record["cup"][name]) <= 2 * size.u
        for record in SIDES
        for key, (name, _) in WANTED.items()
        for size in [by_hand.sizes("side", camera_of(record), side_points(record))[key]]
    ]
    assert np.mean(within) >= 0.9


@pytest.mark.parametrize("record", TOPS, ids=lambda r: r["file"])
def test_top_sizes_agree_with_the_rendered_rim(record):
    camera, cup = camera_of(record), record["cup"]
    centre = np.array(cup["rim_centre_mm"])
    angles = np.radians(np.arange(8) * 45.0)
    mean, oval = cup["rim_diameter_mm"] / 2, cup["rim_out_of_round_mm"] / 4
    turn = np.radians(cup["rim_diameter_max_azimuth_deg"])
    radius = mean + oval * np.cos(2 * (angles - turn))
    level = cup["height_mm"] - LIP_MM
    ring = np.stack([np.cos(angles) * radius, np.sin(angles) * radius, 0 * angles], 1)
    pixels = camera.project(ring + np.array([*centre[:2], level]))
    points = dict(zip(by_hand.RIM_POINTS, pixels, strict=True))
    sizes = by_hand.sizes("top", camera, points, rim_height=Sized(cup["height_mm"], 0.3))
    # By construction on the renderer's sizes: perspective and fit must give them back.
    assert sizes["rim_diameter_mm"].value == pytest.approx(cup["rim_diameter_mm"], abs=0.05)
    assert sizes["out_of_round_mm"].value == pytest.approx(cup["rim_out_of_round_mm"], abs=0.05)


def test_a_top_view_without_the_rims_height_gives_no_size():
    camera = camera_of(TOPS[0])
    assert by_hand.sizes("top", camera, by_hand.points_of("top", camera)) == {}


def test_an_unsure_height_makes_a_top_views_diameter_unsure():
    camera = camera_of(TOPS[0])
    points = by_hand.points_of("top", camera)

    def u(height_u):
        told = by_hand.sizes("top", camera, points, rim_height=Sized(92, height_u))
        return told["rim_diameter_mm"].u

    # By similar triangles a rim of width d seen from a distance z changes by d/z a millimetre.
    per_mm = 82 / (camera.position_mm[2] - 92)
    assert np.sqrt(u(3) ** 2 - u(0.001) ** 2) == pytest.approx(3 * per_mm, rel=0.05)


BODIES = [
    Body(92, 82, 64, 84, 60, 72),
    Body(70, 95, 60, 96, 55, 80, x=6, y=-9),
    Body(120, 75, 70, 90, 50, 70, x=-5, y=12),
]


@pytest.mark.parametrize("body", BODIES, ids=["usual", "bowl", "tall"])
@pytest.mark.parametrize("record", SIDES[:4], ids=lambda r: r["file"])
def test_points_of_a_body_give_its_sizes_back(body, record):
    camera = camera_of(record)
    told = by_hand.sizes("side", camera, by_hand.points_of("side", camera, body))
    found = {key: round(size.value, 1) for key, size in told.items()}
    assert found["height_mm"] == pytest.approx(body.height, abs=0.1)
    assert found["rim_width_mm"] == pytest.approx(body.rim_width, abs=0.1)
    assert found["foot_width_mm"] == pytest.approx(body.foot_width, abs=0.1)
    assert found["max_width_mm"] == pytest.approx(body.max_width, abs=0.1)
    assert found["handle_reach_mm"] == pytest.approx(body.handle_reach, abs=0.1)
    assert (found["lean_deg"], found["rim_tilt_deg"]) == (0.0, 0.0)


def test_moving_the_far_and_near_lip_up_makes_the_cup_taller_by_as_much_as_it_shows():
    camera = camera_of(SIDES[0])
    points = by_hand.points_of("side", camera)
    taller = by_hand.points_of("side", camera, replace(by_hand.USUAL_BODY, height=95))
    moved = points | {name: taller[name] for name in ("rim_near", "rim_far")}
    size = by_hand.sizes("side", camera, moved)["height_mm"]
    assert size.value == pytest.approx(95, abs=0.15)


def test_missing_points_leave_out_only_what_stands_on_them():
    camera = camera_of(SIDES[0])
    points = by_hand.points_of("side", camera)
    without = {name: at for name, at in points.items() if name != "rim_near"}
    assert set(by_hand.sizes("side", camera, without)) == {
        "foot_width_mm", "max_width_mm", "handle_reach_mm",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("one", "other", "sentence"),
    [
        ("foot_left", "foot_right", "The foot's left point stands right"),
        ("rim_left", "rim_right", "The rim's left point stands right"),
        ("max_left", "max_right", "The widest place's left point stands right"),
    ],
)
def test_swapped_points_are_refused_with_a_sentence(one, other, sentence):
    camera = camera_of(SIDES[0])
    points = by_hand.points_of("side", camera)
    points[one], points[other] = points[other], points[one]
    with pytest.raises(PointsError, match=sentence):
        by_hand.sizes("side", camera, points)


def test_a_rim_below_the_foot_is_refused_with_a_sentence():
    camera = camera_of(SIDES[0])
    points = by_hand.points_of("side", camera)
    for name in ("rim_left", "rim_right", "rim_near", "rim_far"):
        points[name] = points[name] + np.array([0, 600])
    with pytest.raises(PointsError, match=r"no higher than the foot|cannot lie like this"):
        by_hand.sizes("side", camera, points)


def test_the_uncertainty_is_that_of_points_thrown_about_by_a_hand():
    # Monte Carlo after JCGM 101: points, camera and unknowns drawn at their stated spreads.
    camera = camera_of(SIDES[2])
    points = by_hand.points_of("side", camera)
    stated = by_hand.sizes("side", camera, points)
    rng = np.random.default_rng(7)
    hand = by_hand.HAND_SHARE * 1600
    drawn = {key: [] for key in ("height_mm", "rim_width_mm", "foot_width_mm")}
    root = np.linalg.cholesky(LEVEL_ONLY)
    for _ in range(600):
        seen = {}
        for name, at in points.items():
            along = np.array(
                [by_hand.ALONG if by_hand._lies_along("side", name, k) else 1 for k in (0, 1)]
            )
            seen[name] = at + rng.normal(0, hand, 2) * along
        unknown = {key: rng.normal(*spread) for key, spread in by_hand.UNKNOWNS.items()}
        told = by_hand._side(camera.moved(root @ rng.normal(size=8)), seen, unknown)
        for key, values in drawn.items():
            values.append(told[key])
    for key, values in drawn.items():
        # 600 draws tell a standard deviation to 3 %; four of these.
        assert stated[key].u == pytest.approx(np.std(values), rel=0.12)


def test_a_ring_with_a_known_oval_is_fitted():
    angles = np.radians([3, 51, 88, 140, 177, 230, 266, 320])
    # By construction: radius 41, oval 0.4 towards 30 degrees, middle (5, -7).
    radius = 41 + 0.4 * np.cos(2 * (angles - np.radians(30)))
    points = np.stack([5 + radius * np.cos(angles), -7 + radius * np.sin(angles)], 1)
    centre, mean, oval = by_hand.fit_ring(points)
    assert centre == pytest.approx([5, -7], abs=0.01)
    assert (mean, oval) == pytest.approx((41, 0.4), abs=0.01)
