"""The hand confirms: what it places becomes a reading, and nothing else does."""

import json
from pathlib import Path

import pytest

from studio.camera import by_hand
from studio.models import Instrument, Photo, Reading
from studio.photos import confirming, filing, seam_drawing
from studio.photos import reading as photo_reading
from studio.photos.camera_findings import Measure, PhotoFindings, sizes_now
from tests import factories
from tests.camera.test_by_hand import side_points
from tests.photos.photo_files import LEATHER, SIDE, TOP, plain_picture, rendered

TRUTH = {
    record["file"]: record
    for record in json.loads((Path(__file__).parents[2] / "fixtures/photos/truth.json").read_text())
}

pytestmark = pytest.mark.django_db


@pytest.fixture
def photo(school):
    """A side photo, filed and with its camera solved, that nobody measured yet."""
    return taken(school, SIDE)


def taken(school, file, stage="glazed") -> Photo:
    data = rendered(file).read()
    filed = filing.take_and_file(school.section, data, file, school.teacher)
    filed.photo.stage = stage
    filed.photo.save()
    return filed.photo


def true_points(file) -> dict:
    """Points at the places that the renderer's record tells."""
    points = {name: tuple(map(float, at)) for name, at in side_points(TRUTH[file]).items()}
    return points


def sizes(client, photo, points) -> dict:
    answer = client.post(
        f"/photos/{photo.pk}/sizes/", json.dumps({"points": points}), "application/json"
    )
    assert answer.status_code == 200
    return answer.json()


def confirm(client, photo, points, *keys, **more):
    return client.post(
        f"/photos/{photo.pk}/confirm/",
        {"points": json.dumps(points), "keep": keys, **more},
        follow=True,
    ).content.decode()


# -- sizes follow the points ---------------------------------------------------------------------


def test_points_where_the_record_has_them_give_the_sizes_of_the_rendered_cup(client, school, photo):
    client.force_login(school.teacher)
    told = sizes(client, photo, true_points(SIDE))
    assert told["problem"] == ""
    rows = {row["key"]: row for row in told["lines"]}
    cup = TRUTH[SIDE]["cup"]
    # Outside: the renderer's record. The camera is solved from the picture itself.
    for key, name in (("height_mm", "height_mm"), ("rim_width_mm", "rim_width_view_mm")):
        assert abs(float(rows[key]["value"]) - cup[name]) <= float(rows[key]["doubt"])
        assert (rows[key]["trusted"], rows[key]["keep"]) == (True, True)
    # A squared foot shows its side only when it stands square: kept when somebody ticks it.
    assert (rows["foot_width_mm"]["may_keep"], rows["foot_width_mm"]["keep"]) == (True, False)
    assert not Reading.objects.exists()


def test_points_of_a_usual_cup_are_nobodys_finding(client, school, photo):
    client.force_login(school.teacher)
    start = PhotoFindings.from_json(photo.found).start_points("side")
    assert sizes(client, photo, start)["lines"] == []
    foot = {name: at for name, at in true_points(SIDE).items() if name.startswith("foot")}
    told = sizes(client, photo, start | foot)
    assert [row["key"] for row in told["lines"]] == ["foot_width_mm"]


@pytest.mark.parametrize(
    "sent",
    [
        "not json",
        "[]",
        "{}",
        '{"points": [1, 2]}',
        '{"points": {"nose": [1, 2]}}',
        '{"points": {"rim_left": [1]}}',
        '{"points": {"rim_left": ["x", 2]}}',
        '{"points": {"rim_left": [1e9, 2]}}',
        '{"points": {"rim_left": [NaN, 2]}}',
    ],
)
def test_anything_else_than_points_is_answered_with_a_sentence(client, school, photo, sent):
    client.force_login(school.teacher)
    answer = client.post(f"/photos/{photo.pk}/sizes/", sent, "application/json")
    assert answer.status_code == 200
    assert answer.json()["problem"].endswith(".")
    assert answer.json()["lines"] == []


def test_swapped_points_are_told_and_nothing_is_kept(client, school, photo):
    client.force_login(school.teacher)
    points = true_points(SIDE)
    points["foot_left"], points["foot_right"] = points["foot_right"], points["foot_left"]
    shown = confirm(client, photo, points, "height_mm")
    assert "left point stands right of its right one" in shown
    photo.refresh_from_db()
    assert (photo.confirmed_at, Reading.objects.count()) == (None, 0)


# -- confirmed measures become readings ----------------------------------------------------------


def test_what_is_confirmed_becomes_a_reading_with_its_own_uncertainty(client, school, photo):
    client.force_login(school.teacher)
    shown = confirm(client, photo, true_points(SIDE), "height_mm")
    assert "height kept as read from the photo" in shown
    reading = Reading.objects.get()
    assert (reading.piece, reading.stage, reading.source) == (school.piece, "glazed", "photo")
    assert (reading.quantity, reading.name, reading.photo) == ("dimension", "height", photo)
    assert (reading.made_by, reading.superseded_at) == (school.teacher, None)
    cup = TRUTH[SIDE]["cup"]
    assert abs(reading.value - cup["height_mm"]) <= 2 * reading.own_u
    assert 0.1 < reading.own_u < 0.6
    photo.refresh_from_db()
    assert photo.confirmed_by == school.teacher


def test_confirming_again_corrects_and_keeps_the_first(client, school, photo):
    client.force_login(school.teacher)
    points = true_points(SIDE)
    confirm(client, photo, points, "height_mm")
    points["rim_far"] = (points["rim_far"][0], points["rim_far"][1] - 6)
    confirm(client, photo, points, "height_mm")
    first, second = Reading.objects.order_by("pk")
    assert (first.superseded_at is None, second.supersedes) == (False, first)
    assert second.value > first.value


def test_nothing_ticked_keeps_the_points_alone(client, school, photo):
    client.force_login(school.teacher)
    shown = confirm(client, photo, true_points(SIDE))
    assert "the points are kept; no size became a reading" in shown
    photo.refresh_from_db()
    assert photo.found["placed"]["rim_left"] == pytest.approx(
        true_points(SIDE)["rim_left"], abs=0.01
    )
    assert not Reading.objects.exists()


def test_a_tick_for_what_is_no_reading_or_not_placed_keeps_nothing(client, school, photo):
    client.force_login(school.teacher)
    confirm(client, photo, true_points(SIDE), "lean_deg", "max_width_mm", "nonsense")
    assert not Reading.objects.exists()


def test_without_a_stage_nothing_is_kept_and_the_page_says_so(client, school, photo):
    photo.stage = ""
    photo.save()
    client.force_login(school.teacher)
    shown = confirm(client, photo, true_points(SIDE), "height_mm")
    assert "Say first at which stage the piece is" in shown
    assert not Reading.objects.exists()


@pytest.mark.parametrize("by", ["many", "one"])
def test_a_photo_moved_to_another_stage_takes_its_readings_back(client, school, photo, by):
    client.force_login(school.teacher)
    confirm(client, photo, true_points(SIDE), "height_mm")
    if by == "many":
        path = f"/projects/{school.project.pk}/photos/change/"
        client.post(path, {"photos": [photo.pk], "stage": "bisque"})
    else:
        client.post(f"/photos/{photo.pk}/edit/", {"view": "side", "stage": "bisque"})
    photo.refresh_from_db()
    assert (photo.stage, photo.confirmed_at) == ("bisque", None)
    assert not Reading.objects.current().exists()
    assert Reading.objects.get().taken_back_by == school.teacher


def test_a_photo_said_to_be_another_view_shows_nothing_of_the_first(client, school, photo):
    photo.found |= {"measures": {"height_mm": {"value": 85, "u": 0.2, "trusted": True}}}
    photo.view = "top"
    photo.save()
    assert confirming.sizes_of(photo) == []


def test_a_photo_added_at_its_piece_can_be_measured_too(client, school):
    client.force_login(school.teacher)
    client.post(
        f"/pieces/{school.piece.pk}/photos/",
        {"files": rendered(SIDE), "stage": "glazed", "view": "side"},
    )
    photo = Photo.objects.get()
    page = client.get(f"/photos/{photo.pk}/confirm/").content.decode()
    assert "Measure this photo" in page
    page = client.post(f"/photos/{photo.pk}/read/", follow=True).content.decode()
    assert 'data-line="height_mm"' in page


def test_side_and_top_of_a_piece_are_measured_together_and_close_to_the_record(school, photo):
    top = taken(school, TOP)
    written = photo_reading.measure_together(top)
    assert {one.pk for one in written} == {photo.pk, top.pk}
    for one, file in ((photo, SIDE), (top, TOP)):
        one.refresh_from_db()
        told = {line.key: line.measure for line in confirming.sizes_of(one)}
        cup = TRUTH[file]["cup"]
        names = {"height_mm": "height_mm", "rim_diameter_mm": "rim_diameter_mm"}
        for key in names.keys() & told.keys():
            assert abs(told[key].value - cup[names[key]]) <= 3 * told[key].u
        assert len(one.found["outline"]) > 20
        assert one.found["points"].keys() <= by_hand.POINTS[one.view].keys()


@pytest.mark.parametrize(
    ("size", "sentence"), [((64, 48), "too small to measure on"), (None, "not where it was kept")]
)
def test_a_photo_that_cannot_be_measured_does_not_keep_the_others(school, photo, size, sentence):
    data = plain_picture(size=size or (640, 480))
    other = filing.take_and_file(school.section, data, "K3-01-side.jpg", school.teacher).photo
    other.stage = "glazed"
    other.save()
    if size is None:
        other.file.storage.delete(other.file.name)
    written = {one.pk: one.found for one in photo_reading.measure_together(photo)}
    assert sentence in written[other.pk]["message"]
    assert written[photo.pk]["measures"].keys() >= {"height_mm", "foot_width_mm"}


def test_measuring_leaves_alone_what_a_hand_confirmed(client, school, photo):
    client.force_login(school.teacher)
    confirm(client, photo, true_points(SIDE), "height_mm")
    photo.refresh_from_db()
    kept = photo.found
    assert photo_reading.measure_together(photo) == []
    photo.refresh_from_db()
    assert photo.found == kept


def test_a_surer_photo_stays_in_force(client, school, photo):
    other = taken(school, TOP)
    factories.read(
        school.piece, "dimension", 83.1, stage="glazed", name="rim_diameter",
        source="photo", photo=other, own_u=0.05,
    )  # fmt: skip
    client.force_login(school.teacher)
    shown = confirm(client, photo, true_points(SIDE), "rim_width_mm", "height_mm")
    assert "stays as another photo tells it more surely" in shown
    current = Reading.objects.current().values_list("name", "photo")
    assert set(current) == {("rim_diameter", other.pk), ("height", photo.pk)}


def test_a_view_from_above_takes_the_height_from_the_confirmed_side(client, school, photo):
    top = taken(school, TOP)
    client.force_login(school.teacher)
    assert "rim's height must be known" in client.get(f"/photos/{top.pk}/confirm/").content.decode()
    confirm(client, photo, true_points(SIDE), "height_mm")
    height = confirming.rim_height_of(top)
    assert height.value == Reading.objects.get().value
    page = client.get(f"/photos/{top.pk}/confirm/").content.decode()
    assert "rim's height must be known" not in page


# -- beside the calliper -------------------------------------------------------------------------


@pytest.mark.parametrize(("by_hand", "differs"), [(85.6, False), (90.0, True)])
def test_a_calliper_stands_beside_and_a_disagreement_is_pointed_out(
    client, school, photo, by_hand, differs
):
    calliper = Instrument.objects.create(name="Calliper", resolution=0.1, repeatability=0.1)
    factories.read(
        school.piece, "dimension", by_hand, stage="glazed", name="height", instrument=calliper
    )
    client.force_login(school.teacher)
    row = next(
        row for row in sizes(client, photo, true_points(SIDE))["lines"] if row["key"] == "height_mm"
    )
    assert (row["hand"], row["disagrees"]) == (f"{by_hand:.1f}", differs)
    confirm(client, photo, true_points(SIDE), "height_mm")
    # Both stand: neither supersedes the other.
    assert Reading.objects.current().count() == 2


def test_the_normalised_error_is_that_of_the_standard():
    kind = confirming.KINDS["height_mm"]

    def line(photo_value, u, hand_value, u_hand):
        return confirming.PhotoSize(
            "height_mm", kind, Measure(photo_value, u, True), hand_value, u_hand
        )

    # ISO 13528:2022, 9.7: E = (x1 - x2) / sqrt(U1^2 + U2^2); worked by hand with 3-4-5:
    # u = 0.3 and 0.4, U = 0.6 and 0.8, both together 1.0.
    assert line(90.99, 0.3, 90.0, 0.4).disagrees is False
    assert line(91.01, 0.3, 90.0, 0.4).disagrees is True


# -- on to the next ------------------------------------------------------------------------------


def test_confirming_goes_on_to_the_next_and_round_again(client, school, photo):
    second = taken(school, LEATHER, "leather-hard")
    client.force_login(school.teacher)
    page = client.post(f"/photos/{photo.pk}/confirm/", {"points": "{}"})
    assert page.url == f"/photos/{second.pk}/confirm/"
    page = client.post(f"/photos/{second.pk}/confirm/", {"points": "{}"})
    assert page.url == f"/projects/{school.project.pk}/photos/"


def test_without_the_mat_the_page_says_what_to_do(client, school):
    filed = filing.take_and_file(school.section, plain_picture(), "K3-01-side.jpg", school.teacher)
    client.force_login(school.teacher)
    page = client.get(f"/photos/{filed.photo.pk}/confirm/").content.decode()
    assert "Of the mat&#x27;s twelve markers none is seen whole" in page
    assert "data-form" not in page


def test_an_unfiled_photo_is_filed_first(client, school):
    filed = filing.take_and_file(school.section, plain_picture(), "x.jpg", school.teacher)
    client.force_login(school.teacher)
    page = client.get(f"/photos/{filed.photo.pk}/confirm/", follow=True).content.decode()
    assert "File this photo with a piece first" in page


# -- found and kept ------------------------------------------------------------------------------


def test_what_was_found_survives_the_record(photo):
    found = PhotoFindings.from_json(photo.found)
    again = PhotoFindings.from_json(json.loads(json.dumps(found.to_json())))
    assert again.to_json() == found.to_json()
    assert again.camera.project(again.camera.on_plane([800, 900])) == pytest.approx([800, 900])


def test_a_trusted_size_moves_by_what_its_points_change(photo):
    from dataclasses import replace

    found = PhotoFindings.from_json(photo.found)
    points = true_points(SIDE)
    found = replace(found, points=points, measures={"height_mm": Measure(85.3, 0.2, True)})
    assert sizes_now(found, "side", points)["height_mm"] == Measure(85.3, 0.2, True)
    moved = points | {"rim_near": (points["rim_near"][0], points["rim_near"][1] - 4)}
    then, now = (sizes_now(replace(found, measures={}), "side", p) for p in (points, moved))
    told = sizes_now(found, "side", moved)["height_mm"]
    change = now["height_mm"].value - then["height_mm"].value
    assert change > 0.3
    assert told.value == pytest.approx(85.3 + change)
    assert told.u > 0.2


def test_what_the_camera_does_not_trust_comes_from_the_points_and_is_not_kept_unasked(photo):
    from dataclasses import replace

    found = PhotoFindings.from_json(photo.found)
    points = true_points(SIDE)
    found = replace(found, points=points, measures={"height_mm": Measure(70.0, 0.2, False)})
    told = sizes_now(found, "side", points)["height_mm"]
    assert told.value == pytest.approx(TRUTH[SIDE]["cup"]["height_mm"], abs=0.5)
    assert told.trusted is False


# -- the seam ------------------------------------------------------------------------------------


def draw(client, photo, line, parts, *, keep=False) -> dict:
    answer = client.post(
        f"/photos/{photo.pk}/seam/",
        json.dumps({"line": line, "parts": parts, "keep": keep}),
        "application/json",
    )
    assert answer.status_code == 200
    return answer.json()


@pytest.fixture
def seam_line(photo):
    """A line up the front of the rendered cup's wall, from its foot to its rim."""
    points = true_points(SIDE)
    return [points["foot_near"], points["rim_near"]]


def test_a_seam_and_its_open_parts_become_readings_in_mm(client, school, photo, seam_line):
    client.force_login(school.teacher)
    confirm(client, photo, true_points(SIDE))
    told = draw(client, photo, seam_line, [[0.5, 0.25, "open"], [0.9, 1, "through"]], keep=True)
    assert told["problem"] == ""
    rows = {r.quantity: r for r in Reading.objects.current()}
    assert set(rows) == {"seam_length", "seam_open", "seam_through"}
    height = TRUTH[SIDE]["cup"]["height_mm"]
    length = rows["seam_length"]
    # The wall of the cup is as high as the cup and slants outward a little.
    assert height - 4 <= length.value <= 1.05 * height
    assert rows["seam_open"].value == pytest.approx(length.value / 4, rel=0.05)
    assert rows["seam_open"].height_mm == pytest.approx(length.value / 4, rel=0.05)
    assert {r.source for r in rows.values()} == {"photo"}


def test_drawing_anew_takes_the_earlier_parts_back(client, school, photo, seam_line):
    client.force_login(school.teacher)
    draw(client, photo, seam_line, [[0.1, 0.2, "open"], [0.5, 0.6, "open"]], keep=True)
    draw(client, photo, seam_line, [], keep=True)
    openings = Reading.objects.current().filter(quantity="seam_open")
    # Nothing open is a finding too: somebody looked.
    assert [(r.value, r.height_mm) for r in openings] == [(0.0, 0.0)]
    assert Reading.objects.filter(quantity="seam_open").count() == 3


@pytest.mark.parametrize(
    "sent",
    [
        "",
        "[]",
        '{"line": 3}',
        '{"line": [[1]], "parts": []}',
        '{"line": [[1, 2], ["x", 2]], "parts": []}',
        '{"line": [[1, 2], [NaN, 2]], "parts": []}',
        '{"line": [[1, 2], [3, 4]], "parts": ["open"]}',
        '{"line": [[1, 2], [3, 4]], "parts": [[0, 1, "torn"]]}',
        '{"line": [[1, 2], [3, 4]], "parts": [[0, null, "open"]]}',
    ],
)
def test_anything_else_than_a_seam_is_answered_with_a_sentence(client, school, photo, sent):
    client.force_login(school.teacher)
    answer = client.post(f"/photos/{photo.pk}/seam/", sent, "application/json")
    assert answer.status_code == 200
    assert answer.json()["problem"].endswith(".")


@pytest.fixture(params=[TypeError, AttributeError, ValueError])
def faulty(request, monkeypatch):
    """The work behind the drawing fails inside."""

    def broken(*_args):
        raise request.param("inside")

    monkeypatch.setattr(seam_drawing, "measure", broken)
    monkeypatch.setattr(confirming, "sizes_of", broken)


@pytest.mark.usefixtures("faulty")
def test_a_fault_of_ours_is_logged_and_not_taken_for_the_readers(
    client, school, photo, seam_line, caplog
):
    """Only what was sent can be the sender's mistake: an error inside is never told as one."""
    client.force_login(school.teacher)
    client.raise_request_exception = False
    drawn = json.dumps({"line": seam_line, "parts": []})
    for path, sent in (("seam", drawn), ("sizes", '{"points": {}}')):
        caplog.clear()
        answer = client.post(f"/photos/{photo.pk}/{path}/", sent, "application/json")
        assert answer.status_code == 500
        assert "inside" in caplog.text


def test_only_keeping_keeps(client, school, photo, seam_line):
    client.force_login(school.teacher)
    told = draw(client, photo, seam_line, [[0.1, 0.2, "open"]])
    assert "mm, from" in told["parts"][0]["text"]
    photo.refresh_from_db()
    assert photo.found["seam"] == {}
    assert not Reading.objects.exists()


def test_without_the_mat_the_share_is_told_and_no_length(client, school):
    filed = filing.take_and_file(
        school.section, plain_picture(), "K3-01-detail.jpg", school.teacher
    )
    client.force_login(school.teacher)
    told = draw(client, filed.photo, [[100, 400], [100, 200]], [[0, 0.25, "open"]], keep=True)
    assert told["said"].startswith("25 % of the seam is marked. The mat is not in the picture")
    assert told["parts"][0]["text"] == "open: 0 to 25 % of the seam"
    assert not Reading.objects.exists()


def test_without_the_mat_a_measured_seam_lends_its_length(client, school):
    filed = filing.take_and_file(
        school.section, plain_picture(), "K3-01-detail.jpg", school.teacher
    )
    factories.read(school.piece, "seam_length", 92, stage="wet", name="seam")
    client.force_login(school.teacher)
    draw(client, filed.photo, [[100, 400], [100, 200]], [[0.5, 0.75, "open"]], keep=True)
    reading = Reading.objects.get(quantity="seam_open")
    # By hand: a quarter of 92 mm, from the middle up.
    assert (reading.value, reading.height_mm) == (23.0, 46.0)
    assert Reading.objects.filter(quantity="seam_length").count() == 1


@pytest.mark.parametrize(
    ("line", "parts"),
    [
        ([], []),
        ([[1, 2]], []),
        ([[1, 2], [1, 2]], []),
        ([[1, 2], [1, "x"]], []),
        ([[1, 2], [9, 9]], [[0, 1, "ajar"]]),
        ([[1, 2], [9, 9]], [[0, 1]]),
        ([[0, k] for k in range(90)], []),
    ],
)
def test_a_line_that_is_none_is_answered_with_a_sentence(client, school, photo, line, parts):
    client.force_login(school.teacher)
    assert draw(client, photo, line, parts, keep=True)["problem"].endswith(".")
    assert not Reading.objects.exists()


# -- side by side --------------------------------------------------------------------------------


def test_two_stages_stand_side_by_side_at_one_scale_with_the_shrinkage(client, school, photo):
    before = taken(school, LEATHER, "leather-hard")
    client.force_login(school.teacher)
    confirm(client, photo, true_points(SIDE), "height_mm")
    confirm(client, before, true_points(LEATHER), "height_mm")
    shown = client.get(f"/pieces/{school.piece.pk}/photos/compare/")
    compared = shown.context["shown"]
    height = next(size for size in compared.sizes if size.label == "Height")
    # Outside: the renderer's record of the same cup at both stages.
    one, two = (TRUTH[file]["cup"]["height_mm"] for file in (LEATHER, SIDE))
    assert abs(height.percent - 100 * (1 - two / one)) <= height.doubt
    first, second = compared.windows
    for photo_, window, file in ((before, first, LEATHER), (photo, second, SIDE)):
        camera = PhotoFindings.from_json(photo_.found).camera
        axis = [*TRUTH[file]["cup"]["foot_centre_mm"], 45]
        step = camera.project([axis, axis + camera.view_right * 10])
        shown_mm = window.width / ((step[1] - step[0]) @ (step[1] - step[0])) ** 0.5 * 10
        assert shown_mm == pytest.approx(compared_width(compared, camera), rel=0.02)


def compared_width(compared, camera) -> float:
    first = PhotoFindings.from_json(compared.first.found).camera
    axis = [*TRUTH[LEATHER]["cup"]["foot_centre_mm"], 45]
    step = first.project([axis, axis + first.view_right * 10])
    return compared.windows[0].width / ((step[1] - step[0]) @ (step[1] - step[0])) ** 0.5 * 10


def test_a_student_sees_the_pictures_and_no_unconfirmed_size(client, school, photo):
    taken(school, LEATHER, "leather-hard")
    client.force_login(school.student)
    page = client.get(f"/pieces/{school.piece.pk}/photos/compare/")
    assert page.context["shown"].windows is not None
    assert "Shrinkage" not in page.content.decode()
    client.force_login(school.other_student)
    assert client.get(f"/pieces/{school.piece.pk}/photos/compare/").status_code == 404


def test_one_stage_alone_has_nothing_beside_it(client, school, photo):
    client.force_login(school.teacher)
    page = client.get(f"/pieces/{school.piece.pk}/photos/compare/").content.decode()
    assert "There are none yet." in page
    assert client.get(f"/pieces/{school.piece.pk}/photos/compare/?pair=1-2").status_code in {
        200,
        404,
    }
