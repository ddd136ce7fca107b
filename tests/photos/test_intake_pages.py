"""Photographs in: filed by slip, name or hand; one bad file stops nothing."""

import json
import re

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from PIL import Image

from studio.models import Photo
from studio.photos import filing, mats
from tests import factories
from tests.photos.photo_files import NO_SLIP, PHOTOS, SIDE, TOP, plain_picture, rendered, upload

TRUTH = json.loads((PHOTOS / "truth.json").read_text())

pytestmark = pytest.mark.django_db


@pytest.fixture
def page(school):
    return f"/projects/{school.project.pk}/photos/"


@pytest.fixture
def send(client, school, page):
    """Send one file as the page's script does; the answer as JSON."""
    client.force_login(school.teacher)

    def post(file):
        answer = client.post(page, {"files": file}, headers={"accept": "application/json"})
        assert answer.status_code == 200
        return answer.json()

    return post


def test_a_slip_files_a_photo_whatever_its_name_says(send, school):
    told = send(rendered(SIDE, "K3-02.jpg"))
    photo = Photo.objects.get()
    assert (photo.piece, photo.view) == (school.piece, "side")
    assert told["said"] == "Filed with K3-01 by its slip, from the side, wet."
    assert photo.found["code"] == "K3-01"


def test_a_name_files_a_photo_without_a_slip(send, school):
    told = send(rendered(NO_SLIP))
    assert told["piece"] == "K3-02"
    assert Photo.objects.get().piece == school.other_piece
    # The name says fired and the piece stands at wet: glazed is the likelier of the fired stages.
    assert Photo.objects.get().stage == "glazed"


def test_without_slip_and_code_a_photo_waits_in_the_tray(send):
    told = send(rendered(NO_SLIP, "IMG_2041.JPG"))
    assert (told["piece"], told["read"]) == (None, None)
    assert told["said"] == "In the tray: no slip was read and the name holds no code."
    assert Photo.objects.get().piece is None


def test_the_pose_tells_a_view_from_above(send):
    send(rendered(TOP, "a.jpg"))
    assert Photo.objects.get().view == "top"


@pytest.mark.parametrize("record", TRUTH[::5], ids=lambda r: r["file"])
def test_camera_height_and_code_agree_with_the_renderers_record(record):
    # Outside: truth.json, the record of what was rendered.
    found = filing.identify((PHOTOS / record["file"]).read_bytes(), record["exif"]["f35"], 100)
    assert found.view == record["view"]
    assert found.camera.elevation_deg == pytest.approx(record["camera"]["elevation_deg"], abs=0.5)
    if found.code:
        assert found.code == record["qr"]["code"]


def test_a_mat_printed_small_brings_the_eye_nearer_by_as_much():
    record = next(r for r in TRUTH if r["file"] == SIDE)
    data = (PHOTOS / SIDE).read_bytes()
    true, small = (filing.identify(data, record["exif"]["f35"], bar).camera for bar in (100, 95))
    assert small.distance_mm / true.distance_mm == pytest.approx(0.95, abs=0.001)


def test_the_bar_of_ones_own_mat_is_the_one_that_counts(send, school):
    mats.measure(mats.current(school.teacher), 97.5, school.teacher)
    send(rendered(SIDE))
    assert Photo.objects.get().found["bar_mm"] == 97.5


def test_the_same_photo_twice_is_recognised_whatever_it_is_called(send):
    send(rendered(SIDE))
    told = send(rendered(SIDE, "copy of a cup.jpg"))
    assert told["said"] == "Here already, filed with K3-01."
    assert Photo.objects.count() == 1


def test_what_is_kept_has_no_tags_and_lies_upright(send):
    data = (PHOTOS / TOP).read_bytes()
    with Image.open(PHOTOS / TOP) as came:
        assert came.getexif()[0x0112] == 6  # stored a quarter turn over, by the renderer's record
    send(upload(data, "top.jpg"))
    photo = Photo.objects.get()
    for file in (photo.file, photo.middle, photo.small):
        with Image.open(file) as kept:
            assert (dict(kept.getexif()), "xmp" in kept.info) == ({}, False)
            assert kept.width > kept.height
    assert (photo.width, photo.height, photo.focal_35mm) == (1600, 1200, 52)
    assert photo.taken_at.strftime("%Y-%m-%d %H:%M:%S") == "2025-03-14 10:05:07"


BAD = {
    "empty": (b"", "is empty"),
    "text": (b"K3-01;92.4\n" * 50, "is not a picture that can be read here"),
    "truncated": ((PHOTOS / SIDE).read_bytes()[:60_000], "is damaged or was cut off"),
    "svg": (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "is not a picture"),
}


@pytest.mark.parametrize("kind", BAD)
def test_a_bad_file_is_told_in_a_sentence_and_leaves_nothing(send, kind):
    data, sentence = BAD[kind]
    problem = send(upload(data, f"{kind}.jpg"))["problem"]
    assert sentence in problem
    assert not Photo.objects.exists()


def test_a_bomb_is_refused_by_its_header(send):
    # A PNG that says 60000 by 60000 in its header and holds nothing (PNG specification, 11.2.2).
    head = bytearray(plain_picture(form="PNG"))
    head[16:24] = (60_000).to_bytes(4, "big") * 2
    head[29:33] = _crc(head[12:29])
    assert "megapixels" in send(upload(bytes(head), "bomb.png"))["problem"]


def _crc(chunk) -> bytes:
    import zlib

    return zlib.crc32(bytes(chunk)).to_bytes(4, "big")


def test_a_picture_with_a_page_behind_it_is_kept_without_the_page(send):
    script = b"<script>alert(1)</script>"
    told = send(upload(plain_picture() + script, "two-in-one.html.jpg"))
    assert told["photo"]
    with Photo.objects.get().file.open() as kept:
        assert script not in kept.read()


def test_an_animation_is_refused(send):
    import io

    out = io.BytesIO()
    frames = [Image.new("RGB", (640, 480), colour) for colour in ("red", "blue")]
    frames[0].save(out, "WEBP", save_all=True, append_images=frames[1:])
    assert "is an animation" in send(upload(out.getvalue(), "a.webp"))["problem"]


def test_a_heic_photo_is_taken(send):
    import io

    out = io.BytesIO()
    with Image.open(PHOTOS / SIDE) as picture:
        picture.save(out, "HEIF", quality=90)
    told = send(upload(out.getvalue(), "IMG_0007.HEIC"))
    assert told["piece"] == "K3-01"
    with Image.open(Photo.objects.get().file) as kept:
        assert kept.format == "JPEG"


def test_no_file_at_all_is_told(client, school, page):
    client.force_login(school.teacher)
    answer = client.post(page, {}, headers={"accept": "application/json"})
    assert answer.status_code == 400
    assert answer.json()["problem"] == "No file came with this. Choose the photo again."


def test_without_a_script_one_bad_file_stops_nothing(client, school, page):
    client.force_login(school.teacher)
    files = [rendered(SIDE), upload(b"no", "notes.jpg"), rendered(TOP)]
    told = client.post(page, {"files": files}, follow=True).content.decode()
    assert Photo.objects.count() == 2
    assert "2 photos taken in." in told
    assert "notes.jpg is not a picture" in told


# -- the tray --------------------------------------------------------------------------------


def test_a_neighbour_of_the_same_minute_is_offered(client, school, send, page):
    send(rendered(SIDE))
    send(rendered(NO_SLIP, "IMG_2.jpg"))
    filed, lost = Photo.objects.order_by("pk")
    for gap, offered in ((50, True), (70, False)):
        lost.taken_at = filed.taken_at.replace(second=0) if gap == 0 else filed.taken_at
        lost.taken_at += filing.SAME_MINUTE * gap / 60
        lost.save()
        shown = client.get(page).content.decode()
        assert ("With K3-01?" in shown) is offered


def test_the_offer_is_taken_with_one_button(client, school, send, page):
    send(rendered(NO_SLIP, "IMG_2.jpg"))
    photo = Photo.objects.get()
    client.post(f"{page}change/", {"offered": f"{photo.pk}:{school.piece.pk}"})
    photo.refresh_from_db()
    assert (photo.piece, photo.stage) == (school.piece, "wet")


def test_stage_and_view_change_for_many_at_once(client, school, send, page):
    send(rendered(SIDE))
    send(rendered(TOP))
    ids = list(Photo.objects.values_list("pk", flat=True))
    client.post(f"{page}change/", {"photos": ids, "stage": "bisque", "view": "detail"})
    assert set(Photo.objects.values_list("stage", "view")) == {("bisque", "detail")}


def test_changing_nothing_is_asked_about(client, school, send, page):
    send(rendered(SIDE))
    told = client.post(
        f"{page}change/", {"photos": [Photo.objects.get().pk]}, follow=True
    ).content.decode()
    assert "Choose a piece, a stage or a view" in told
    told = client.post(f"{page}change/", {"stage": "wet"}, follow=True).content.decode()
    assert "Tick the photos" in told


def test_photos_and_pieces_of_others_cannot_be_named(client, school, send, page):
    send(rendered(SIDE))
    photo = Photo.objects.get()
    section = factories.make_section(school.colleague, name="Bell 6")
    project = factories.make_project(section)
    foreign = factories.make_piece(project, factories.make_student(section, "Cy"), "K9-01")
    client.post(f"{page}change/", {"photos": [photo.pk], "piece": foreign.pk})
    photo.refresh_from_db()
    assert photo.piece == school.piece
    client.force_login(school.colleague)
    client.post(f"/projects/{project.pk}/photos/change/", {"photos": [photo.pk], "stage": "wet"})
    photo.refresh_from_db()
    assert photo.section == school.section
    assert client.post(f"{page}change/", {}).status_code == 404


def test_a_head_sees_what_is_filed_and_no_tray(client, school, send, page):
    send(rendered(SIDE))
    send(rendered(NO_SLIP, "IMG_2.jpg"))
    client.force_login(school.head)
    shown = client.get(page).content.decode()
    assert "K3-01" in shown
    assert "IMG_2.jpg" not in shown
    assert "<form" not in shown.split("</header>")[1]
    assert client.post(page, {"files": rendered(TOP)}).status_code == 403


def test_more_photos_ask_no_more_queries(client, school, page, django_assert_num_queries):
    client.force_login(school.teacher)

    def queries():
        with CaptureQueriesContext(
            connection,
        ) as seen:
            client.get(page)
        return len(seen)

    factories_photo(school, 1)
    first = queries()
    for number in range(2, 9):
        factories_photo(school, number)
    assert queries() == first


def factories_photo(school, number):
    return Photo.objects.create(
        section=school.section,
        piece=school.piece if number % 2 else None,
        stage="wet",
        width=640,
        height=480,
        sha256=f"{number:064d}",
        file="photos/none.jpg",
        middle="photos/none.jpg",
        small="photos/none.jpg",
    )


# -- names ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "code"),
    [
        ("K3-01-fired-top.jpg", "K3-01"),
        ("2025_K3-01.JPG", "K3-01"),
        ("k3-1.jpg", "K3-1"),
        ("K3-12.jpg", "K3-12"),
        ("K3-1-b side.heic", "K3-1-b"),
        ("AK3-01.jpg", None),
        ("K3-011.jpg", None),
        ("IMG_3012.jpg", None),
        ("K3-01 and K3-12.jpg", None),
    ],
)
def test_a_code_in_a_name_is_read_whole_or_not_at_all(school, name, code):
    pieces = [school.piece] + [
        factories.make_piece(school.project, school.amara, c) for c in ("K3-1", "K3-12", "K3-1-b")
    ]
    found = filing.piece_named(name, pieces)
    assert (found.code if found else None) == code


@pytest.mark.parametrize(
    ("name", "own", "stage"),
    [
        ("K3-01-leather-side.jpg", "wet", "leather-hard"),
        ("K3-01-bisque.jpg", "wet", "bisque"),
        ("K3-01-fired.jpg", "bisque", "bisque"),
        ("K3-01-fired.jpg", "leather-hard", "glazed"),
        ("K3-01.jpg", "bone dry", "bone dry"),
        ("weather.jpg", "wet", "wet"),
    ],
)
def test_the_stage_is_guessed_from_the_name_else_the_piece(school, name, own, stage):
    school.piece.stage = own
    assert filing.guess_stage(name, school.piece) == stage


def test_nothing_private_stands_in_the_addresses_of_files(send):
    send(rendered(SIDE))
    photo = Photo.objects.get()
    assert re.fullmatch(r"photos/[0-9a-f]{32}\.jpg", photo.file.name)
