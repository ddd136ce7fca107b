"""Which part of a photo shows the piece, and which photo stands for it."""

import pytest
from django.db import IntegrityError, transaction

from studio.photos import filing, storing
from studio.photos.camera_findings import PhotoFindings
from studio.photos.framing import at_one_scale, cup_window
from tests import factories
from tests.photos.photo_files import LEATHER, SIDE, plain_picture
from tests.photos.test_confirm_pages import TRUTH, confirm, taken, true_points

pytestmark = pytest.mark.django_db


@pytest.fixture
def fired(client, school):
    """A side view whose points a teacher placed where the renderer put them."""
    photo = taken(school, SIDE)
    client.force_login(school.teacher)
    confirm(client, photo, true_points(SIDE), "height_mm")
    photo.refresh_from_db()
    return photo


def test_a_window_holds_the_cup_and_less_than_the_mat(fired):
    left, top, right, bottom = cup_window(fired)
    for x, y in true_points(SIDE).values():
        assert left < x / fired.width < right
        assert top < y / fired.height < bottom
    # The front row of markers lies before the cup: the outermost ones stay out of the window.
    camera = PhotoFindings.from_json(fired.found).camera
    for corner in ([-115, -78, 0], [115, -78, 0]):
        x, _ = camera.project([corner])[0]
        assert not left < x / fired.width < right


def test_a_photo_without_a_mat_is_shown_whole(school):
    prepared = storing.take_in(plain_picture(), "a.jpg")
    photo = storing.store(school.section, school.piece, prepared, school.teacher, stage="glazed")
    assert cup_window(photo) is None


def test_two_stages_are_cut_at_one_scale(client, school, fired):
    before = taken(school, LEATHER, "leather-hard")
    confirm(client, before, true_points(LEATHER), "height_mm")
    before.refresh_from_db()
    pair = at_one_scale([fired, before])
    assert [photo for photo, _ in pair] == [before, fired]
    spans = []
    for (photo, (left, _, right, _)), file in zip(pair, (LEATHER, SIDE), strict=True):
        camera = PhotoFindings.from_json(photo.found).camera
        axis = [*TRUTH[file]["cup"]["foot_centre_mm"], TRUTH[file]["cup"]["height_mm"] / 2]
        step = camera.project([axis, axis + camera.view_right * 10])
        px_per_mm = ((step[1] - step[0]) @ (step[1] - step[0])) ** 0.5 / 10
        spans.append((right - left) * photo.width / px_per_mm)
    # Outside: the renderer's cameras and cups; both windows span the same millimetres.
    assert spans[0] == pytest.approx(spans[1], rel=0.01)


def test_one_stage_alone_makes_no_pair(fired):
    assert at_one_scale([fired]) is None


# -- the picture that stands for a piece -------------------------------------------------------


def picture(school, colour, **kind):
    prepared = storing.take_in(plain_picture(colour), "a.jpg")
    return storing.store(school.section, school.piece, prepared, school.teacher, **kind)


def test_a_student_chooses_the_own_picture_and_it_leads(client, school):
    first = picture(school, "tan", stage="glazed")
    second = picture(school, "teal", stage="wet")
    client.force_login(school.student)
    client.post(f"/photos/{first.pk}/choose/")
    answer = client.post(f"/photos/{second.pk}/choose/", follow=True)
    assert answer.context["photos"][0] == second
    first.refresh_from_db()
    assert not first.chosen
    assert type(school.piece).objects.with_face().get(pk=school.piece.pk).face_id == second.pk


def test_a_head_chooses_nothing(client, school):
    photo = picture(school, "tan")
    client.force_login(school.head)
    assert client.post(f"/photos/{photo.pk}/choose/").status_code == 403
    photo.refresh_from_db()
    assert not photo.chosen


def test_a_piece_has_one_chosen_picture_at_most(school):
    for colour in ("tan", "teal"):
        photo = picture(school, colour)
        photo.chosen = True
        if colour == "teal":
            with pytest.raises(IntegrityError), transaction.atomic():
                photo.save()
        else:
            photo.save()


def test_a_chosen_picture_that_moves_to_another_piece_is_chosen_no_more(school):
    photo = picture(school, "tan")
    storing.choose(photo)
    other = factories.make_piece(school.project, school.amara, "K3-09")
    filing.change_many([photo], school.teacher, piece=other)
    photo.refresh_from_db()
    assert (photo.piece, photo.chosen) == (other, False)


def test_a_cup_that_nobody_measured_is_framed_by_the_mat(school):
    photo = taken(school, SIDE)
    left, top, right, bottom = cup_window(photo)
    for x, y in true_points(SIDE).values():
        assert left < x / photo.width < right
        assert top < y / photo.height < bottom
    assert at_one_scale([photo, taken(school, LEATHER, "leather-hard")]) is None
