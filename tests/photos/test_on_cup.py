"""Where a direction and a height of a piece appear in its photo, against the renderer's record."""

import math
from dataclasses import replace

import pytest

from studio.photos.camera_findings import Measure
from studio.photos.confirming import found_of
from studio.photos.on_cup import handle_from_above, side_view
from studio.photos.reading import measure_together
from tests.photos.photo_files import SIDE, TOP
from tests.photos.test_confirm_pages import TRUTH, taken, true_points

pytestmark = pytest.mark.django_db

NEAR_PX = 8.0
"""A round, upright body stands in for the real one: two millimetres at these photos' scale."""


def keep(photo, found):
    photo.found = found.to_json()
    photo.save()
    return photo


def with_handle() -> dict:
    """The renderer's points of the side view, and the outermost one of its handle."""
    return true_points(SIDE) | {"handle_out": TRUTH[SIDE]["landmarks"]["handle_outermost"]["px"]}


@pytest.fixture
def side(school):
    """A side view whose points stand where the renderer put them, the handle's too."""
    photo = taken(school, SIDE)
    return keep(photo, found_of(photo).with_hand(with_handle()))


@pytest.mark.parametrize("name", ["rim_highest", "rim_lowest", "handle_top_attachment"])
def test_a_place_of_the_cup_appears_where_the_renderer_saw_it(side, name):
    record = TRUTH[SIDE]
    mark, cup = record["landmarks"][name], side_view([side])
    x, y, z = mark["xyz_mm"]
    middle_x, middle_y, _ = record["cup"]["rim_centre_mm"]
    azimuth = math.degrees(math.atan2(y - middle_y, x - middle_x))
    from_handle = azimuth - record["cup"]["handle"]["azimuth_deg"]
    radius = math.hypot(x - middle_x, y - middle_y)
    assert math.dist(cup.at(from_handle, z, radius), mark["px"]) < NEAR_PX
    box = cup.box
    assert box.x < mark["px"][0] < box.x + box.width
    assert box.y < mark["px"][1] < box.y + box.height


def test_the_side_of_the_handle_faces_neither_way_and_the_right_of_it_the_eye(side):
    # The eye stands in front, the handle points to the right: the readings' 270° is in front.
    cup = side_view([side])
    assert [cup.faces(azimuth) for azimuth in (270.0, 90.0)] == [True, False]


def test_a_handle_whose_direction_nobody_told_lets_nothing_be_drawn(side):
    keep(side, found_of(side).with_hand(true_points(SIDE)))
    assert side_view([side]) is None


@pytest.mark.parametrize(
    ("azimuth_deg", "is_told"), [(12.0, True), (181.0, True), (90.0, False), (295.0, False)]
)
def test_the_view_from_above_tells_where_the_handle_of_the_side_view_points(
    school, side, azimuth_deg, is_told
):
    keep(side, found_of(side).with_hand(true_points(SIDE)))
    top = taken(school, TOP)
    measures = {"handle_azimuth_deg": Measure(azimuth_deg, 1.0, trusted=True)}
    keep(top, replace(found_of(top), measures=measures))
    cup = side_view([side, top])
    assert (cup is not None) == is_told
    if cup is not None:
        middle = cup.at(0.0, 40.0, 0.0)[0]
        assert (cup.at(0.0, 40.0, 40.0)[0] > middle) == (azimuth_deg < 90)


def test_a_photo_without_points_or_mat_tells_nothing(school, side):
    keep(side, found_of(side).with_hand({}))
    assert side_view([side]) is None
    assert handle_from_above([side], 90.0) is None
    assert side_view([]) is None
    plain = taken(school, SIDE)
    plain.found = None
    assert side_view([plain]) is None


def test_the_true_line_of_a_handle_leads_away_from_the_middle(school):
    # Outside: the renderer's record of this cup's handle, twisted by less than half a degree.
    taken(school, SIDE)
    photo = taken(school, TOP)
    measure_together(photo)
    photo.refresh_from_db()
    told = handle_from_above([photo], TRUTH[TOP]["cup"]["height_mm"])
    twist = TRUTH[TOP]["cup"]["handle"]["twist_deg"]

    def direction(a, b):
        return math.degrees(math.atan2(a[1] - b[1], b[0] - a[0]))

    seen = direction(told.root, told.tip) - direction(told.root, told.true_tip)
    assert seen == pytest.approx(twist, abs=2.5)
    true_middle = TRUTH[TOP]["cup"]["rim_centre_mm"]
    camera = found_of(photo).camera
    assert math.dist(told.middle, camera.project([[*true_middle[:2], 74.0]])[0]) < NEAR_PX
