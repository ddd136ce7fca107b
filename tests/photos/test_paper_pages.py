"""The paper from the site: who prints it, and how true a print counts."""

import pytest
from pypdf import PdfReader

from studio.models import Reading
from studio.photos import confirming, filing, mats, reading
from studio.photos.camera_findings import CROPPED, PhotoFindings
from tests import factories
from tests.photos.photo_files import SIDE, rendered

pytestmark = pytest.mark.django_db


def words(answer, tmp_path) -> list[str]:
    assert answer["Content-Type"] == "application/pdf"
    path = tmp_path / "answer.pdf"
    path.write_bytes(b"".join(answer) if answer.streaming else answer.content)
    return [w for page in PdfReader(path).pages for w in page.extract_text().split()]


def test_slips_name_every_piece_of_the_project_and_no_student(client, school, tmp_path):
    client.force_login(school.teacher)
    answer = client.get(f"/projects/{school.project.pk}/slips-letter.pdf")
    assert words(answer, tmp_path) == ["K3-01", "K3-02"]


def test_a_project_without_pieces_says_so(client, school):
    client.force_login(school.teacher)
    empty = factories.make_project(school.section, "Bowl", number=4)
    answer = client.get(f"/projects/{empty.pk}/slips-a4.pdf", follow=True)
    assert "There are no pieces yet." in answer.content.decode()


def test_anybody_signed_in_prints_the_mat(client, school, tmp_path):
    client.force_login(school.student)
    assert "Measured:" in words(client.get("/photo-mat-a4.pdf"), tmp_path)
    assert client.get("/photo-mat-a5.pdf").status_code == 404


def paper(school):
    return f"/projects/{school.project.pk}/paper/"


@pytest.mark.parametrize(("typed", "kept"), [("98.6", 98.6), ("9.86 cm", 98.6), ("97,5 mm", 97.5)])
def test_the_bar_is_typed_back_in_as_a_ruler_is_read(client, school, typed, kept):
    client.force_login(school.teacher)
    client.post(paper(school), {"bar_mm": typed})
    assert mats.latest(school.teacher).bar_mm == pytest.approx(kept)


@pytest.mark.parametrize("typed", ["", "79", "4 in", "130", "long"])
def test_what_no_printer_does_is_refused_and_what_was_typed_stays(client, school, typed):
    client.force_login(school.teacher)
    page = client.post(paper(school), {"bar_mm": typed})
    if typed == "4 in":  # 101.6 mm: a bar can be read in inches
        assert page.status_code == 302
        return
    assert 'aria-invalid="true"' in page.content.decode()
    assert f'value="{typed}"' in page.content.decode() or not typed
    assert mats.latest(school.teacher).bar_mm == 100


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("100.2", "printed true"),
        # 0.3 % is the limit that was asked for; 98 mm of 100 is 98.0 %.
        ("98", "printed at 98.0% of its size"),
    ],
)
def test_a_bar_off_by_more_than_three_in_a_thousand_is_said(client, school, typed, said):
    client.force_login(school.teacher)
    page = client.post(paper(school), {"bar_mm": typed}, follow=True).content.decode()
    assert said in page


def test_a_head_does_not_set_a_bar(client, school):
    client.force_login(school.head)
    assert 'name="bar_mm"' not in client.get(paper(school)).content.decode()
    assert client.post(paper(school), {"bar_mm": "98"}).status_code == 403


def test_a_mat_is_that_of_one_person(client, school):
    client.force_login(school.teacher)
    client.post(paper(school), {"bar_mm": "98"})
    assert mats.latest(school.teacher).bar_mm == 98
    assert mats.current(school.colleague).bar_mm is None


def test_the_database_refuses_a_bar_that_no_printer_makes(school):
    from django.db import IntegrityError, transaction

    with pytest.raises(IntegrityError, match="check_bar_plausible"), transaction.atomic():
        factories.make_mat(school.teacher, 60)


# -- the question, from the first photo on a new mat until a ruler told it -----------------------

ASKED = "How long is the black bar"


@pytest.fixture
def unmeasured(client, school):
    """A side view on a mat that was printed anew, measured."""
    client.force_login(school.teacher)
    client.post(paper(school), {"new_mat": "1"})
    photo = filing.take_and_file(school.section, rendered(SIDE).read(), SIDE, school.teacher).photo
    photo.stage = "glazed"
    photo.save()
    reading.measure_together(photo)
    photo.refresh_from_db()
    return photo


def test_the_first_photo_on_a_new_mat_asks_for_the_bar_once(client, school, unmeasured):
    photos = f"/projects/{school.project.pk}/photos/"
    assert ASKED in client.get(photos).content.decode()
    answer = client.post(paper(school), {"bar_mm": "100", "photos": "1"})
    assert answer.url == photos
    assert ASKED not in client.get(photos).content.decode()


def test_until_then_lengths_are_as_unsure_as_printers_are(client, unmeasured):
    found = PhotoFindings.from_json(unmeasured.found)
    height = found.measures["height_mm"]
    assert found.bar_mm is None
    # 1.5 % for "fit to page" (common practice, no source), of a cup of about 90 mm.
    assert height.u >= 0.015 * height.value
    assert not height.trusted
    page = client.get(f"/photos/{unmeasured.pk}/confirm/").content.decode()
    assert "Measure the check bar" in page


def test_a_bar_told_later_scales_the_photos_of_that_mat(client, school, unmeasured):
    before = PhotoFindings.from_json(unmeasured.found)
    client.post(paper(school), {"bar_mm": "98"})
    unmeasured.refresh_from_db()
    waiting = PhotoFindings.from_json(unmeasured.found)
    assert (waiting.measured, waiting.measures) == (False, {})
    assert waiting.camera.distance_mm == pytest.approx(0.98 * before.camera.distance_mm, rel=1e-6)
    reading.measure_together(unmeasured)
    unmeasured.refresh_from_db()
    after = PhotoFindings.from_json(unmeasured.found)
    ratio = after.measures["height_mm"].value / before.measures["height_mm"].value
    assert ratio == pytest.approx(0.98, abs=0.002)
    assert "98.0%" in after.note
    assert "98.0%" in client.get(f"/photos/{unmeasured.pk}/confirm/").content.decode()


def test_what_was_looked_over_on_another_length_waits_again(client, school, unmeasured):
    confirming.confirm(unmeasured, {}, ["height_mm"], school.teacher)
    page = client.post(paper(school), {"bar_mm": "98"}, follow=True).content.decode()
    assert "look over again" in page
    unmeasured.refresh_from_db()
    assert unmeasured.confirmed_at is None
    assert not Reading.objects.current().filter(photo=unmeasured).exists()


def test_a_photo_reshaped_after_it_was_taken_is_told_once(client, unmeasured):
    from dataclasses import replace

    found = PhotoFindings.from_json(unmeasured.found)
    crooked = replace(found, camera=replace(found.camera, off_axis=True))
    unmeasured.found = crooked.to_json()
    unmeasured.save()
    page = client.get(f"/photos/{unmeasured.pk}/confirm/").content.decode()
    assert page.count("cropped or reshaped") == 1
    assert replace(crooked, message=CROPPED).advice.count(CROPPED) == 1
