"""A cup on a turned mat against drawn cups of known form, and figures against closed formulas."""

from dataclasses import replace

import cv2
import numpy as np
import pytest

from studio.camera.grid import points_at
from studio.camera.intake import DecodedPhoto
from studio.camera.wheel import figures, form, handle_cubes, lens, strap, surface, trust
from studio.camera.wheel.door import cup_of, read_looks, read_turned
from studio.camera.wheel.seen_photo import look
from studio.camera.wheel.together import Together, blurred_ones, other_slips, together
from studio.ware.quantities import QUANTITIES
from tests.camera import turned_scenes as drawn

CUP = drawn.Cup(
    tilt=2.0, tilt_to=np.radians(70), saddle=1.0, lean_x=3.0, lean_y=1.0, oval=1.0
)  # fmt: skip
OTHER = drawn.Cup(foot=30.0, rim=37.0, height=80.0, x=0.0, y=0.0, colour=(0.1, 0.2, 0.3))


@pytest.fixture(scope="module")
def looks():
    return [look(photo) for photo in drawn.around(CUP)]


@pytest.fixture(scope="module")
def solved(looks):
    return together(looks)


@pytest.fixture(scope="module")
def found(solved):
    return cup_of(solved)


def agrees(value: trust.Value, truth, off):
    """Within the stated U = 2u, or within `off`, what drawing on whole pixels costs."""
    return abs(value.value - truth) <= max(2 * value.u, off) and value.u < 0.6


def test_rim_of_a_drawn_cup(found):
    # The line is the drawing's own formula (tests.camera.turned_scenes.Cup.top).
    fine = np.radians(np.arange(360))
    top = CUP.top(fine)
    assert agrees(found.values["height_mm"], top.mean(), 0.2)
    assert agrees(found.values["rise_mm"], np.ptp(top), 0.3)
    # Tilt of the plane: amplitude over radius; the saddle and the offset of the middle add little.
    assert agrees(found.values["tilt_deg"], np.degrees(np.arctan(2.0 / 42.0)), 0.2)
    assert found.high_side_deg.value == pytest.approx(70.0, abs=3.0)
    assert agrees(found.values["saddle_mm"], 2.0, 0.2)
    assert found.values["lobes_mm"].value < 0.3


def test_sizes_of_a_drawn_cup(found):
    # Widths of r = 42 + cos 2t: 86 and 82 mm across, mean 84.
    assert agrees(found.values["rim_diameter_mm"], 84.0, 0.4)
    assert agrees(found.values["rim_widest_mm"], 86.0, 0.4)
    assert agrees(found.values["rim_narrowest_mm"], 82.0, 0.4)
    # 33 + (z / 88) 9 at z = 50, about the leaning axis.
    assert np.mean([v.value for v in found.outlines[50.0]]) == pytest.approx(38.1, abs=0.3)
    lean = np.degrees(np.arctan(np.hypot(3.0, 1.0) / 88.0))
    assert agrees(found.values["lean_deg"], lean, 0.15)


def test_readings_are_in_the_sheets_words(found):
    stations = [r.azimuth_deg for r in found.readings if r.quantity == "rim_height"]
    assert stations == [0, 45, 90, 135, 180, 225, 270, 315]
    for r in found.readings:
        quantity = QUANTITIES[r.quantity]
        assert quantity.lowest <= r.value <= quantity.highest
        assert quantity.names is None or not quantity.names or r.name in quantity.names
        assert quantity.has_azimuth or r.azimuth_deg is None
        assert quantity.has_height or r.height_mm is None
    heights = {r.azimuth_deg: r.value for r in found.readings if r.quantity == "rim_height"}
    assert heights[90.0] == pytest.approx(float(CUP.top(np.pi / 2)), abs=0.4)
    assert heights[270.0] == pytest.approx(float(CUP.top(3 * np.pi / 2)), abs=0.4)


def test_no_handle_and_a_round_foot_are_said_once(found):
    assert not found.handle_seen
    assert not any(r.quantity.startswith("handle") for r in found.readings)
    assert not any(r.quantity == "foot_side" for r in found.readings)
    assert found.message.count("No handle was seen.") == 1
    assert found.message.count("The foot is round") == 1


def test_stations_follow_the_planned_handle(solved, found):
    turned = cup_of(solved, zero_deg=90.0)
    before = {r.azimuth_deg: r.value for r in found.readings if r.quantity == "rim_height"}
    after = {r.azimuth_deg: r.value for r in turned.readings if r.quantity == "rim_height"}
    assert after[0.0] == pytest.approx(before[90.0], abs=1e-6)
    assert after[270.0] == pytest.approx(before[0.0], abs=1e-6)


def test_photo_of_another_cup_is_left_out(looks, found):
    stranger = look(drawn.shoot(OTHER, drawn.camera(145.0), "stranger.jpg"))
    mixed = read_looks([*looks[:2], stranger, *looks[3:]])
    assert set(mixed.left_out) == {"stranger.jpg"}
    assert "another" in mixed.left_out["stranger.jpg"]
    assert mixed.values["height_mm"].value == pytest.approx(
        found.values["height_mm"].value, abs=0.2
    )


def test_photo_with_another_slip_is_named(looks):
    named = [replace(v, code="K-1") for v in looks[:3]] + [replace(looks[3], code="K-2")]
    assert other_slips([*named, *looks[4:]]) == {
        looks[3].name: "The slip in this photo reads K-2, in the others K-1."
    }
    assert other_slips(named[2:]) == {}  # one against one: nobody knows which is right


def test_blurred_photo_is_named(looks):
    shaken = replace(looks[1], blur_px=3 * looks[1].blur_px + 1.0)
    assert set(blurred_ones([looks[0], shaken, *looks[2:]])) == {looks[1].name}
    assert blurred_ones(looks) == {}


def test_photos_without_the_mat_are_said():
    grey = DecodedPhoto("grey.jpg", np.full((600, 800, 3), 128, np.uint8), None, None)
    nothing = read_turned([grey, grey])
    assert not nothing.readings
    assert "photos from the side are needed" in nothing.message
    assert "markers" in nothing.left_out["grey.jpg"]
    assert read_turned([]).message == "No photo was given."


def test_pooled_lens_tells_how_far_away_a_camera_above_was(looks):
    above = looks[-1]
    truth = drawn.camera(268.0, 82.0, 480.0)
    alone = np.linalg.norm(above.camera.position_mm - truth.position_mm)
    pooled = lens.bundle(looks).cameras[-1]
    assert np.linalg.norm(pooled.position_mm - truth.position_mm) < max(0.5, alone)
    assert pooled.f_px == pytest.approx(truth.f_px, rel=0.001)


def test_another_phone_has_a_lens_of_its_own(looks):
    longer = replace(looks[0].camera, f_px=1.3 * looks[0].camera.f_px)
    changed = [replace(looks[0], camera=longer, f35_mm=None), *looks[1:]]
    assert lens.bundle(changed).lens_of.tolist() == [0, 1, 1, 1, 1, 1, 1]


# Figures of forms against closed formulas.


def shape_of(height=90.0, radius=40.0, **terms):
    """A cylinder with harmonics of wall (c2, c4) and rim (r1c, r2c, r3c), by name."""
    begin = form.start(height, radius, radius, (0.0, 0.0), (0.0, 0.0))
    values = begin.values.copy()
    wall = values[: form.N_WALL].reshape(len(form.KNOTS_U), form.TERMS)
    columns = {"c2": 3, "c4": 7}
    for name, size in terms.items():
        if name in columns:
            wall[:, columns[name]] = size
        else:
            values[form.RIM_AT][{"r1c": 1, "r2c": 3, "r3c": 5}[name]] = size
    return replace(begin, values=values)


def test_outline_of_a_cylinder_is_where_the_tangent_touches():
    # r 40 mm, eye 400 mm from the axis, level: tangent points r^2/D = 4.0 mm before the axis.
    camera = drawn.scenes.camera(0.0, 400.0, aim=(0, 0, 45.0))
    line = surface.outline(shape_of().grid(), camera)
    wall = (line.ring > form.FIRST_BODY) & (line.ring < form.FIRST_LIP)
    assert line.points_mm[wall, 1] == pytest.approx(-4.0, abs=0.05)


def test_change_of_the_surface_is_its_derivative():
    shape, rng = shape_of(r1c=1.0, c2=0.5), np.random.default_rng(3)
    ring, angle = np.floor(rng.uniform(6, 40, 30)), np.floor(rng.uniform(0, 119, 30))
    step = 1e-3 * rng.standard_normal(form.N_FORM)
    ahead = points_at(shape.moved(step).grid(), ring, angle)
    moved = ahead - points_at(shape.moved(-step).grid(), ring, angle)
    assert shape.change(ring, angle) @ step == pytest.approx(moved / 2, abs=1e-6)


def test_figures_of_a_tilted_rim():
    found = figures.figures(shape_of(r1c=2.0))
    assert found["rise_mm"][0] == pytest.approx(4.0, abs=1e-3)
    assert found["tilt_deg"][0] == pytest.approx(np.degrees(np.arctan(2 / 40)), abs=1e-3)
    assert found["tilt_vector_mm"] == pytest.approx([4.0, 0.0], abs=0.01)
    assert found["rim_line_mm"][[0, 9, 18]] == pytest.approx([92.0, 90.0, 88.0], abs=0.01)


def test_figures_of_waves():
    found = figures.figures(shape_of(r2c=1.5, r3c=0.5))
    assert found["saddle_mm"][0] == pytest.approx(3.0, abs=1e-3)
    assert found["lobes_mm"][0] == pytest.approx(1.0, abs=1e-3)
    assert found["tilt_deg"][0] == pytest.approx(0.0, abs=1e-3)


def test_figures_of_a_squared_foot():
    # r = 40 - 2 cos 4t: flats at 0, 90, .. 38 mm from the middle, corners 42 mm out.
    found = figures.figures(shape_of(c4=-2.0))
    assert found["foot_flats_mm"] == pytest.approx([76.0, 76.0], abs=0.1)
    assert found["foot_sides_mm"] == pytest.approx([76.0] * 4, abs=0.1)
    assert found["foot_diagonals_mm"] == pytest.approx([84.0, 84.0], abs=0.1)
    assert found["foot_square"][0] == pytest.approx(0.05, abs=1e-3)


def test_centroid_of_a_triangle():
    assert figures.centroid(np.array([[0.0, 0], [6, 0], [0, 3]])) == pytest.approx([2.0, 1.0])


def test_handle_leans_and_turns_as_it_was_set():
    where = handle_cubes.Room(np.zeros((1, 3)), 0.0, 30.0, 25.0, 75.0)
    begin = strap.start(where, shape_of())
    step = np.zeros(strap.N)
    # Ends 3 mm either way along the wall: atan(6 / 43) to first order; turned by 0.1 rad.
    step[[strap.INDEX["low_aside"], strap.INDEX["high_aside"], strap.INDEX["turn"]]] = -3, 3, 0.1
    found = strap.figures(begin.moved(step))
    span = found["handle_top_mm"][0] - found["handle_bottom_mm"][0]
    chord = 2 * 40 * np.sin(3 / 40)
    assert found["handle_lean_deg"][0] == pytest.approx(
        np.degrees(np.arctan(chord / span)), abs=0.05
    )
    assert found["handle_twist_deg"][0] == pytest.approx(np.degrees(0.1), abs=1e-6)
    assert found["handle_azimuth_deg"][0] % 360 == pytest.approx(0.0, abs=0.01)
    assert found["handle_reach_mm"][0] == pytest.approx(40 + 30, abs=0.7)
    assert found["opening_depth_mm"][0] == pytest.approx(30 - strap.USUAL_THICK_MM, abs=0.5)


def test_doubt_grows_where_the_rim_has_no_edge(looks):
    calm, blind = (np.full(12, 0.0), np.r_[0.3, np.zeros(11)])
    found = _together(calm), _together(blind)
    u = [trust.uncertainty(f, "rim_line_mm", 0.1) for f in found]
    assert u[1][1] > 3 * u[0][1]
    assert u[1][18] == pytest.approx(u[0][18])
    hopeless = _together(np.r_[0.9, np.zeros(11)])
    assert trust.judged(hopeless, "rise_mm")[0].message == trust.SENTENCES["rim"]
    assert not trust.judged(hopeless, "rise_mm")[0].trusted


def _together(gaps):
    ones = {"rim_line_mm": np.full(36, 0.05), "rise_mm": np.array([0.1])}
    misfit = {"rim": float(gaps.mean()), "wall": 0.0, "foot": 0.0}
    return Together(None, None, ones, ones, ones, {}, misfit, gaps)


def test_outlines_hidden_by_the_body_do_not_count():
    camera = drawn.camera(270.0)
    grid = shape_of().grid()
    line = surface.outline(grid, camera)
    pixels = camera.project(grid)
    low = np.floor(pixels.min((0, 1))) - 5
    size = np.ceil(pixels.max((0, 1)) - low + 10)
    seen = surface.in_front(line, surface.drawn([pixels], low, size), low)
    hull = cv2.convexHull(pixels.reshape(-1, 2).astype(np.float32))
    away = [cv2.pointPolygonTest(hull, tuple(map(float, p)), True) for p in line.pixels[seen]]
    assert max(away) < 6.0  # a cylinder's outer outline lies on its convex hull
    assert seen.any()
    assert not seen.all()
