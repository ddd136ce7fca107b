"""A squared foot with a corner to the camera: its width is told as such and compared with none."""

import pytest

from tests import factories
from tests.pages import page_text
from tests.photos.photo_files import LEATHER, SIDE
from tests.photos.test_confirm_pages import confirm, sizes, taken, true_points

pytestmark = pytest.mark.django_db

CORNER_ON = 1.3
"""A square turned by 23° is so much broader than its side."""


def with_foot(file, broader):
    """Points of the record, the foot's two ends so much further apart."""
    points = true_points(file)
    left, right = points["foot_left"], points["foot_right"]
    middle = [(a + b) / 2 for a, b in zip(left, right, strict=True)]
    for name, at in (("foot_left", left), ("foot_right", right)):
        points[name] = tuple(m + broader * (p - m) for p, m in zip(at, middle, strict=True))
    return points


def foot_row(client, photo, points):
    return next(
        row for row in sizes(client, photo, points)["lines"] if row["key"] == "foot_width_mm"
    )


@pytest.mark.parametrize(
    ("broader", "note", "differs"),
    [(1.0, "if square", False), (CORNER_ON, "seen corner-on", False), (0.8, "if square", True)],
)
def test_a_foot_seen_corner_on_is_not_compared_with_its_sides(
    client, school, broader, note, differs
):
    photo = taken(school, SIDE)
    client.force_login(school.teacher)
    side = float(foot_row(client, photo, true_points(SIDE))["value"])
    for number, off in enumerate((0.2, -0.2, 0.1, -0.1), 1):
        factories.read(
            school.piece, "foot_side", side + off, stage="glazed", name=str(number), own_u=0.2
        )
    row = foot_row(client, photo, with_foot(SIDE, broader))
    assert row["hand"] == f"{side:.1f}"
    assert row["note"].startswith(note)
    assert row["disagrees"] is differs
    assert row["keep"] is False


def test_three_sides_are_no_foot_to_compare_with(client, school):
    photo = taken(school, SIDE)
    client.force_login(school.teacher)
    for number in (1, 2, 3):
        factories.read(school.piece, "foot_side", 58, stage="glazed", name=str(number))
    assert foot_row(client, photo, true_points(SIDE))["hand"] is None


@pytest.mark.parametrize(("broader", "compared"), [(1.0, True), (CORNER_ON, False)])
def test_two_photos_do_not_tell_a_shrinkage_from_a_side_and_a_diagonal(
    client, school, broader, compared
):
    after, before = taken(school, SIDE), taken(school, LEATHER, "leather-hard")
    client.force_login(school.teacher)
    confirm(client, before, true_points(LEATHER))
    confirm(client, after, with_foot(SIDE, broader))
    page = client.get(f"/pieces/{school.piece.pk}/photos/compare/")
    labels = {size.label for size in page.context["shown"].sizes}
    assert "Height" in labels
    assert ("Foot width" in labels) is compared
    assert ("stood with a corner to the camera" in page_text(page)) is not compared
