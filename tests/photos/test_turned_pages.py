"""A cup photographed all round, from the files to the measuring sheet. Outside is the formula of
the cup that was drawn (tests.camera.turned_scenes)."""

import io
import json
from dataclasses import replace

import numpy as np
import pytest
from django.utils import timezone
from PIL import Image

from studio.models import MatPrint, Photo, Reading, Turning
from studio.photos import mats, measuring_work, turned, turned_page, workers
from studio.photos.turned_findings import TurnedFound
from tests import factories
from tests.camera import turned_scenes as drawn
from tests.photos import odd_work
from tests.photos.photo_files import LEATHER, NO_SLIP, SIDE, rendered, upload

pytestmark = pytest.mark.django_db
JSON = {"accept": "application/json"}
CUP = drawn.Cup(tilt=2.0, tilt_to=np.radians(70), saddle=1.0, lean_x=3.0, lean_y=1.0, oval=1.0)
OTHER = drawn.Cup(foot=30.0, rim=37.0, height=80.0, x=0.0, y=0.0, colour=(0.1, 0.2, 0.3))
FOCAL_TAG, EXIF_IFD = 0xA405, 0x8769


def jpeg(photo) -> bytes:
    """A drawn photo as a phone's file, its focal length with it."""
    picture, out = Image.fromarray(photo.rgb), io.BytesIO()
    exif = picture.getexif()
    exif.get_ifd(EXIF_IFD)[FOCAL_TAG] = round(photo.f35_mm)
    picture.save(out, "JPEG", quality=95, exif=exif)
    return out.getvalue()


@pytest.fixture(scope="module")
def files():
    """Six from the side and one from above, by name."""
    return {photo.name: jpeg(photo) for photo in drawn.around(CUP)}


@pytest.fixture(scope="module")
def stranger():
    return jpeg(drawn.shoot(OTHER, drawn.camera(145.0), "stranger.jpg"))


@pytest.fixture(scope="module")
def cup(files, tmp_path_factory):
    """The cup as the camera tells it, its photos named 0, 1, ..."""
    folder = tmp_path_factory.mktemp("turned")
    photos = []
    for k, (name, data) in enumerate(files.items()):
        path = folder / name
        path.write_bytes(data)
        photos.append(measuring_work.KeptPhoto(str(k), name, str(path), 30.0))
    return measuring_work.turned(lambda *_: None, photos, 100.0)


@pytest.fixture
def page(client, school):
    client.force_login(school.teacher)
    return f"/pieces/{school.piece.pk}/photos/turned/?stage=bisque"


def send(client, page, data, name="image.jpg"):
    return client.post(page, {"files": upload(data, name)}, headers=JSON).json()


def lines(answer) -> list[dict]:
    return [json.loads(line) for line in b"".join(answer.streaming_content).splitlines()]


def measured(school, cup) -> tuple[Turning, list[Photo]]:
    """A turning with its photos' rows and what the camera told of them, as measuring keeps it."""
    turning = Turning.objects.create(piece=school.piece, stage="bisque")
    mat = mats.current(school.teacher)
    photos = []
    for _ in cup.used:
        photo = factories.make_photo(school.piece, stage="bisque")
        photo.turning, photo.mat = turning, mat
        photo.save()
        photos.append(photo)
    ids = [photo.pk for photo in photos]
    named = dict(zip(cup.used, ids, strict=True))
    found = TurnedFound.of_cup(
        replace(cup, used=tuple(str(named[name]) for name in cup.used)), ids, mat.bar_mm, {}
    )
    turned._keep(turning, found, school.teacher)
    turning.refresh_from_db()
    return turning, photos


def keep(client, page, turning, **more):
    found = turned.found_of(turning)
    keys = [str(k) for k, one in enumerate(found.readings) if turned.may_keep(one)]
    data = {"do": "keep", "mark": turned.read_mark(turning), "keep": keys} | more
    return client.post(page, data, follow=True).content.decode()


def current():
    return Reading.objects.current()


# -- from the files to the sheet -----------------------------------------------------------------


def test_photos_all_round_become_readings(client, school, page, files, stranger):
    for name, data in files.items():
        assert send(client, page, data, name) == {
            "is_here": True,
            "said": "In.",
            "small": f"/photos/{Photo.objects.latest('pk').pk}/small/",
        }
    send(client, page, stranger, "stranger.jpg")
    told = lines(client.post(page, {"do": "read"}, headers=JSON))
    count = len(files) + 1
    assert told[:-1] == [{"seen": k + 1, "of": count} for k in range(count)]
    assert told[-1] == {"done": True}

    shown = client.get(page).content.decode()
    assert "It may show another cup" in shown  # the stranger, named where it stands
    turning = Turning.objects.get()
    found = turned.found_of(turning)
    assert [Photo.objects.get(pk=pk).came_as for pk in found.left_out] == ["stranger.jpg"]
    # Outside: the drawn cup's own formula.
    top = CUP.top(np.radians(np.arange(360)))
    rise = found.values["rise_mm"]
    assert abs(rise.value - np.ptp(top)) <= max(2 * rise.u, 0.3)
    assert found.values["saddle_mm"].value == pytest.approx(2.0, abs=0.2)

    kept = keep(client, page, turning)
    assert "readings kept, as read all round" in kept
    heights = current().filter(quantity="rim_height", stage="bisque", source="photo")
    assert heights.count() == 8
    ninety = heights.get(azimuth_deg=90)
    assert ninety.value == pytest.approx(float(CUP.top(np.pi / 2)), abs=0.4)
    assert ninety.photo.turning == turning
    sheet = client.get(f"/projects/{school.project.pk}/measure/?set=rim-8&stage=bisque")
    assert f"photo {ninety.value:.1f}" in sheet.content.decode()
    assert set(turning.photos.exclude(confirmed_at=None).values_list("pk", flat=True)) == {
        *found.used
    }


def test_too_few_photos_get_a_sentence_and_no_figures(client, page, files):
    for name, data in list(files.items())[:2]:
        send(client, page, data, name)
    client.post(page, {"do": "read"})
    shown = client.get(page).content.decode()
    assert "At least 3 usable photos from the side are needed" in shown
    assert "What they tell together" not in shown
    assert "The photos changed" not in shown


# -- the photos ----------------------------------------------------------------------------------


def test_a_slip_of_another_piece_files_the_photo_there(client, school, page):
    school.other_piece.code = "K3-01"
    school.piece.code = "K3-09"
    school.piece.save()
    school.other_piece.save()
    told = send(client, page, rendered(SIDE).read())
    assert told["is_here"] is False
    assert told["said"] == "Not one of these: filed with K3-01 by its slip."
    assert Photo.objects.get().turning is None


def test_a_name_gainsays_nothing_here(client, school, page):
    assert send(client, page, rendered(NO_SLIP).read(), "K3-02.jpg")["is_here"]
    assert Photo.objects.get().piece == school.piece


def test_files_that_cannot_be_taken_are_named_and_stop_nothing(client, page, files):
    assert "not a picture" in send(client, page, b"x", "notes.jpg")["problem"]
    assert client.post(page, {}, headers=JSON).status_code == 400
    several = [upload(b"x", "notes.jpg"), upload(next(iter(files.values())), "a.jpg")]
    shown = client.post(page, {"files": several}, follow=True).content.decode()
    assert "notes.jpg is not a picture" in shown
    assert "1 photo taken in." in shown
    assert "No photo came" in client.post(page, {}, follow=True).content.decode()


def test_the_same_photo_twice_is_one(client, page, files):
    data = next(iter(files.values()))
    send(client, page, data)
    assert send(client, page, data) == send(client, page, data)
    assert Photo.objects.count() == 1


def test_a_photo_that_was_looked_over_by_itself_is_left(client, school, page):
    client.post(f"/projects/{school.project.pk}/photos/", {"files": rendered(LEATHER)})
    photo = Photo.objects.get()
    photo.confirmed_at = timezone.now()
    photo.save()
    told = send(client, page, rendered(LEATHER).read())
    assert (told["is_here"], "looked over by itself" in told["said"]) == (False, True)


def test_photos_of_the_stage_may_join_and_leave_again(client, school, page):
    first = factories.make_photo(school.piece, stage="bisque")
    factories.make_photo(school.piece, stage="bisque", view="detail")
    shown = client.get(page).content.decode()
    assert "1 other photo of K3-01 at this stage" in shown
    client.post(page, {"do": "gather"})
    first.refresh_from_db()
    assert first.turning.stage == "bisque"
    client.post(page, {"do": "leave", "photo": first.pk})
    first.refresh_from_db()
    assert first.turning is None
    again = client.post(page, {"do": "leave", "photo": first.pk}, follow=True).content.decode()
    assert "not one of these any more" in again


def test_photos_all_round_are_not_measured_or_looked_over_one_by_one(client, school, cup, page):
    _, photos = measured(school, cup)
    board = client.get(f"/projects/{school.project.pk}/photos/").content.decode()
    assert board.count("one of those all round") == len(photos)
    assert "Measure 7" not in board
    answer = client.get(f"/photos/{photos[0].pk}/confirm/")
    assert (answer.status_code, answer.url) == (302, page)


def test_photos_on_another_mat_are_left_out(client, school, page, files):
    for name, data in list(files.items())[:3]:
        send(client, page, data, name)
    other = Photo.objects.latest("pk")
    other.mat = MatPrint.objects.create(owner=school.teacher, bar_mm=97)
    other.save()
    use, left_out = turned._chosen(turned.photos_of(Turning.objects.get()))
    assert (len(use), left_out) == (2, {other.pk: turned.OTHER_MAT})


# -- measuring that comes to nothing -------------------------------------------------------------


def test_a_process_that_dies_costs_a_sentence(client, page, files, monkeypatch):
    send(client, page, next(iter(files.values())))
    monkeypatch.setattr(measuring_work, "turned", odd_work.die_at_work)
    told = lines(client.post(page, {"do": "read"}, headers=JSON))
    assert told == [{"problem": workers.DIED}]
    assert workers.DIED in client.post(page, {"do": "read"}, follow=True).content.decode()
    assert Turning.objects.get().found is None


def test_nothing_to_measure_and_nothing_to_keep_get_a_sentence(client, school, page):
    assert lines(client.post(page, {"do": "read"}, headers=JSON)) == [{"problem": turned.NO_PHOTOS}]
    assert turned.NO_PHOTOS in client.post(page, {"do": "read"}, follow=True).content.decode()
    assert turned.STALE in client.post(page, {"do": "keep"}, follow=True).content.decode()


# -- keeping -------------------------------------------------------------------------------------


def test_only_what_is_ticked_is_kept(client, school, page, cup):
    turning, _ = measured(school, cup)
    assert "Tick at least one" in keep(client, page, turning, keep=[])
    keep(client, page, turning, keep=["0", "no", "999"])
    assert [reading.azimuth_deg for reading in current()] == [0]


def test_figures_of_another_measuring_are_not_kept_unseen(client, school, page, cup):
    turning, photos = measured(school, cup)
    assert turned.MEANWHILE in keep(client, page, turning, mark="2020-01-01")
    photos[0].turning = None
    photos[0].save()
    assert turned.STALE in keep(client, page, turning)
    assert not current().exists()


def test_what_is_kept_goes_back_with_what_it_stands_on(client, school, page, cup):
    turning, photos = measured(school, cup)
    keep(client, page, turning)
    count = current().count()
    assert count > 8
    # A photo that turns out to show another piece, though the readings name another photo.
    client.post(
        f"/projects/{school.project.pk}/photos/change/",
        {"photos": [photos[-1].pk], "piece": school.other_piece.pk},
    )
    assert not current().exists()
    turning.refresh_from_db()
    photos[-1].refresh_from_db()
    assert (turning.confirmed_at, photos[-1].turning) == (None, None)
    assert "The photos changed" in client.get(page).content.decode()


def test_another_length_of_the_bar_asks_for_measuring_anew(client, school, page, cup):
    turning, _ = measured(school, cup)
    keep(client, page, turning)
    mats.measure(mats.current(school.teacher), 100.0, school.teacher)
    assert current().exists()
    mats.measure(mats.current(school.teacher), 98.0, school.teacher)
    turning.refresh_from_db()
    assert (turning.found, turning.confirmed_at, current().count()) == (None, None, 0)
    assert "98.0% of its size" in client.get(page).content.decode()


def test_keeping_twice_changes_nothing(client, school, page, cup):
    turning, _ = measured(school, cup)
    keep(client, page, turning)
    before = {(r.station, r.value) for r in current()}
    keep(client, page, turning)
    assert {(r.station, r.value) for r in current()} == before


def test_a_surer_reading_of_another_photo_stays(client, school, page, cup):
    turning, _ = measured(school, cup)
    Reading.objects.create(
        piece=school.piece,
        stage="bisque",
        quantity="dimension",
        name="height",
        station="height",
        value=90.0,
        typed="90 mm",
        source="photo",
        own_u=0.001,
    )
    assert "1 reading stays" in keep(client, page, turning)
    assert current().get(station="height").value == 90.0


# -- the page ------------------------------------------------------------------------------------


def test_the_page_tells_figures_with_u_and_draws_the_form(client, school, page, cup):
    measured(school, cup)
    shown = client.get(page).content.decode()
    for word in ("Rim, lowest to highest", "Rim tilt", "Saddle", "Lobes", "±", "rim-line", "rings"):
        assert word in shown
    # The drawn rim rises towards 70 degrees; without a handle the mat's right side counts as 0.
    assert "highest at the right (" in shown
    assert "<html" not in client.get(f"{page}&part").content.decode()


def test_the_drawings_are_true_to_the_form(cup):
    found = TurnedFound.of_cup(cup, range(len(cup.used)), 100.0, {})
    line = np.array([p.split(",") for p in turned_page.unrolled(found).line.split()], float)
    inner = line[(line[:, 0] >= 0) & (line[:, 0] < 360)]
    assert len(inner) == 36
    top = CUP.top(np.radians(inner[:, 0]))
    # Heights go up the drawing, one scale for all.
    slope, level = np.polyfit(inner[:, 1], top, 1)
    assert slope < 0
    assert np.abs(slope * inner[:, 1] + level - top).max() < 0.3
    drawing = turned_page.from_above(found)
    ring = np.array([p.split(",") for p in drawing.rings[0].points.split()], float)
    # 33 + (z / 88) 9 at z = 10 (tests.camera.turned_scenes.Cup.ring): 34.0 mm about its middle.
    assert np.hypot(*ring.T).mean() == pytest.approx(34.0, abs=0.4)


def test_a_record_says_the_same_after_it_was_kept(cup):
    found = TurnedFound.of_cup(cup, [3, 4], 100.0, {9: "Why."})
    again = TurnedFound.from_json(json.loads(json.dumps(found.to_json())))
    assert again.left_out == {9: "Why."}
    assert again.looked_at == (3, 4)
    assert turned_page.reading_rows(again) == turned_page.reading_rows(found)
    assert TurnedFound.from_json(again.to_json()) == again


def test_on_a_mat_that_nobody_measured_lengths_are_not_sure(cup):
    found = TurnedFound.of_cup(cup, [], None, {})
    # 1.5 % of 90 mm is 1.35 mm (studio.camera.mat: what "fit to page" takes).
    assert found.values["height_mm"].u == pytest.approx(1.35, abs=0.1)
    assert not found.values["height_mm"].trusted
    assert found.values["tilt_deg"] == cup.values["tilt_deg"]
    assert not any(turned.may_keep(one) for one in found.readings if one.quantity == "rim_height")


def test_more_photos_ask_no_more_queries(client, school, page, cup, count_queries):
    factories.make_photo(school.piece, stage="bisque")
    client.post(page, {"do": "gather"})
    before = count_queries(client, page)
    for _ in range(6):
        factories.make_photo(school.piece, stage="bisque")
    client.post(page, {"do": "gather"})
    assert count_queries(client, page) == before
