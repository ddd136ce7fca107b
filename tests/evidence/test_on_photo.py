"""The finding on the piece's own photo: only what is to be worked on, only where it is known."""

import pytest

from rubrics.evidence.check_facts import facts_by_check
from rubrics.evidence.collect import evidence
from rubrics.evidence.on_photo import MEANT, MEASURED, on_photo
from studio.photos.confirming import found_of
from tests.factories import read_rim, read_wall
from tests.photos.photo_files import SIDE
from tests.photos.test_confirm_pages import taken
from tests.photos.test_on_cup import keep, with_handle

pytestmark = pytest.mark.django_db


@pytest.fixture
def side(school):
    """A glazed side view of the first piece that tells how the piece stands in it."""
    photo = taken(school, SIDE)
    photo.piece = school.piece
    return keep(photo, found_of(photo).with_hand(with_handle()))


def drawn(piece, check, photos):
    return on_photo(check, facts_by_check(evidence(piece.project), piece)[check], photos)


def test_a_rim_that_rises_is_drawn_with_the_level_it_should_have(school, side):
    read_rim(school.piece, 90, 86, 82, 86, stage="glazed")
    told = drawn(school.piece, "rim_level", [side])
    by_role = {line.role: line.points for line in told.lines}
    assert by_role.keys() == {MEASURED, MEANT}
    highest = {role: min(y for _, y in points) for role, points in by_role.items()}
    assert highest[MEASURED] < highest[MEANT]
    (spot,) = told.spots
    assert spot.words == "+8.0\N{NO-BREAK SPACE}mm"
    middle = told.box.x + told.box.width / 2
    assert spot.at[0] > middle  # by the handle, which points to the right
    assert all(told.box.y < y < told.box.y + told.box.height for y in highest.values())


def test_a_thin_place_behind_is_said_to_lie_behind(school, side):
    read_wall(school.piece, 6.0, 2.5, 6.0, 6.0, stage="glazed")
    (spot,) = drawn(school.piece, "wall_evenness", [side]).spots
    assert (spot.behind, spot.words) == (True, "thinnest 2.5\N{NO-BREAK SPACE}mm, behind")


def test_a_thin_place_in_front_is_marked_on_the_wall(school, side):
    read_wall(school.piece, 6.0, 6.0, 6.0, 2.5, stage="glazed")
    (spot,) = drawn(school.piece, "wall_evenness", [side]).spots
    assert (spot.behind, spot.words) == (False, "thinnest 2.5\N{NO-BREAK SPACE}mm")


def test_within_the_limits_nothing_is_drawn(school, side):
    read_rim(school.piece, 86, 86, 86, 86, stage="glazed")
    read_wall(school.piece, 6.0, 6.1, 6.0, 6.1, stage="glazed")
    assert drawn(school.piece, "rim_level", [side]) is None
    assert drawn(school.piece, "wall_evenness", [side]) is None


def test_a_photo_of_another_stage_carries_no_finding(school, side):
    read_rim(school.piece, 98, 94, 90, 94, stage="leather-hard")
    assert drawn(school.piece, "rim_level", [side]) is None


def test_the_feedback_page_shows_it_at_no_query_more(client, finished, side, count_queries):

    read_rim(finished.piece, 90, 86, 82, 86, stage="glazed")
    client.force_login(finished.teacher)
    path = f"/pieces/{finished.piece.pk}/feedback/"
    text = client.get(path).content.decode()
    assert "On the photo of this piece." in text
    assert "+8.0" in text
    with_drawing = count_queries(client, path)
    keep(side, found_of(side).with_hand({}))
    assert "On the photo of this piece." not in client.get(path).content.decode()
    assert count_queries(client, path) == with_drawing
